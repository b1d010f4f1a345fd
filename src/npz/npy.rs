//! The head of a `.npy` file (`NumPy` enhancement proposal 1): a magic string, a version, and a Python dictionary with
//! the type, the order and the shape.

const MAGIC: &[u8] = b"\x93NUMPY";

/// Heads are padded so that the data begins at a multiple of this.
const ALIGNMENT: usize = 64;

/// What an array is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Head {
    /// The type, such as `<f8`.
    pub descr: String,
    /// The last index runs fastest.
    pub c_order: bool,
    /// Length along each axis; none for a single number.
    pub shape: Vec<u64>,
    /// Bytes before the data.
    pub bytes: usize,
}

impl Head {
    /// How many elements; `None` where that overflows.
    pub fn elements(&self) -> Option<u64> {
        self.shape.iter().try_fold(1_u64, |product, &length| product.checked_mul(length))
    }
}

/// Writes a head in version 1.0 of the format, for an array in C order.
pub(super) fn write_head(descr: &str, shape: &[u64]) -> Vec<u8> {
    let axes: Vec<String> = shape.iter().map(u64::to_string).collect();
    // A tuple of one keeps its comma.
    let axes = if let [only] = &axes[..] { format!("{only},") } else { axes.join(", ") };
    let mut dictionary = format!("{{'descr': '{descr}', 'fortran_order': False, 'shape': ({axes}), }}");
    let before = MAGIC.len() + 2 + 2;
    let padded = (before + dictionary.len() + 1).next_multiple_of(ALIGNMENT);
    dictionary.extend(std::iter::repeat_n(' ', padded - before - dictionary.len() - 1));
    dictionary.push('\n');
    let mut bytes = MAGIC.to_vec();
    bytes.extend_from_slice(&[1, 0]);
    // A dictionary of fixed keys and a few axes stays far below 65 536 bytes.
    bytes.extend_from_slice(&u16::try_from(dictionary.len()).unwrap_or(u16::MAX).to_le_bytes());
    bytes.extend_from_slice(dictionary.as_bytes());
    bytes
}

/// Reads a head of version 1 to 3 from the beginning of an array's bytes; `None` if it is none.
pub(super) fn read_head(bytes: &[u8]) -> Option<Head> {
    let rest = bytes.strip_prefix(MAGIC)?;
    let (start, length): (usize, usize) = match *rest.first()? {
        1 => (4, usize::from(u16::from_le_bytes(rest.get(2..4)?.try_into().ok()?))),
        2 | 3 => (6, usize::try_from(u32::from_le_bytes(rest.get(2..6)?.try_into().ok()?)).ok()?),
        _ => return None,
    };
    let dictionary = std::str::from_utf8(rest.get(start..start.checked_add(length)?)?).ok()?;
    let inner = dictionary.trim().strip_prefix('{')?.strip_suffix('}')?;
    let descr = after(inner, "descr")?.strip_prefix(['\'', '"'])?.split(['\'', '"']).next()?;
    let c_order = match after(inner, "fortran_order")?.split([',', ' ']).next()? {
        "False" => true,
        "True" => false,
        _ => return None,
    };
    let tuple = after(inner, "shape")?.strip_prefix('(')?.split_once(')')?.0;
    let axes = tuple.split(',').map(str::trim).filter(|axis| !axis.is_empty());
    let shape: Option<Vec<u64>> = axes.map(|axis| axis.parse().ok()).collect();
    Some(Head { descr: descr.to_owned(), c_order, shape: shape?, bytes: MAGIC.len() + start + length })
}

/// What follows a key and its colon.
fn after<'a>(dictionary: &'a str, key: &str) -> Option<&'a str> {
    let quoted = [format!("'{key}'"), format!("\"{key}\"")];
    let rest = quoted.iter().find_map(|quoted| dictionary.split_once(quoted.as_str()))?.1;
    Some(rest.trim_start().strip_prefix(':')?.trim_start())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of the format's description in `NumPy`'s documentation: magic, version, length, dictionary, spaces and
    /// a line feed, a multiple of 64 bytes together.
    #[test]
    fn heads_are_written_as_numpy_writes_them() {
        let head = write_head("<f8", &[3]);
        assert_eq!(head.len(), 128);
        assert_eq!(&head[..10], b"\x93NUMPY\x01\x00\x76\x00");
        let text = std::str::from_utf8(&head[10..]).expect("ASCII");
        assert_eq!(text.trim_end(), "{'descr': '<f8', 'fortran_order': False, 'shape': (3,), }");
        assert!(text.ends_with(" \n"));
    }

    #[test]
    fn heads_read_back() {
        for shape in [&[][..], &[7], &[4096, 161, 2, 2], &[0]] {
            let written = write_head("<c16", shape);
            let head = read_head(&written).expect("a head");
            assert_eq!((head.descr.as_str(), head.c_order, head.bytes), ("<c16", true, written.len()));
            assert_eq!(head.shape, shape);
        }
        let mut second = b"\x93NUMPY\x02\x00".to_vec();
        let dictionary = "{\"shape\": (2, 3), \"fortran_order\": True, \"descr\": \"|u1\"}\n";
        second.extend_from_slice(&u32::try_from(dictionary.len()).expect("short").to_le_bytes());
        second.extend_from_slice(dictionary.as_bytes());
        let head = read_head(&second).expect("a head");
        assert_eq!((head.descr.as_str(), head.c_order, head.elements()), ("|u1", false, Some(6)));
        for cut in 0..second.len() - 2 {
            assert_eq!(read_head(&second[..cut]), None, "{cut} bytes");
        }
    }
}
