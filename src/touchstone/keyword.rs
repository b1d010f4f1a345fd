//! The keywords of version 2.

use super::cursor::{Cursor, ends_line, shown};
use super::error::{Fault, ReadErrorKind};

/// A keyword of the standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Keyword {
    Version,
    NumberOfPorts,
    TwoPortDataOrder,
    NumberOfFrequencies,
    NumberOfNoiseFrequencies,
    Reference,
    MatrixFormat,
    MixedModeOrder,
    BeginInformation,
    EndInformation,
    NetworkData,
    NoiseData,
    End,
}

impl Keyword {
    pub(super) const ALL: [Self; 13] = [
        Self::Version,
        Self::NumberOfPorts,
        Self::TwoPortDataOrder,
        Self::NumberOfFrequencies,
        Self::NumberOfNoiseFrequencies,
        Self::Reference,
        Self::MatrixFormat,
        Self::MixedModeOrder,
        Self::BeginInformation,
        Self::EndInformation,
        Self::NetworkData,
        Self::NoiseData,
        Self::End,
    ];

    /// As the standard spells it, without brackets.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Version => "Version",
            Self::NumberOfPorts => "Number of Ports",
            Self::TwoPortDataOrder => "Two-Port Data Order",
            Self::NumberOfFrequencies => "Number of Frequencies",
            Self::NumberOfNoiseFrequencies => "Number of Noise Frequencies",
            Self::Reference => "Reference",
            Self::MatrixFormat => "Matrix Format",
            Self::MixedModeOrder => "Mixed-Mode Order",
            Self::BeginInformation => "Begin Information",
            Self::EndInformation => "End Information",
            Self::NetworkData => "Network Data",
            Self::NoiseData => "Noise Data",
            Self::End => "End",
        }
    }

    /// Case does not count, and one blank or one dash separates the parts.
    fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let same =
            |a: u8, b: u8| a.eq_ignore_ascii_case(&b) || matches!(a, b' ' | b'-') && matches!(b, b' ' | b'-');
        Self::ALL.into_iter().find(|keyword| {
            let name = keyword.name().as_bytes();
            name.len() == bytes.len() && name.iter().zip(bytes).all(|(&a, &b)| same(a, b))
        })
    }
}

/// What a bracket encloses.
pub(super) enum Bracketed {
    Known(Keyword),
    Unknown(String),
}

/// Passes the bracket at the cursor, which stands on its `[`.
pub(super) fn bracketed(cursor: &mut Cursor) -> Result<Bracketed, Fault> {
    let rest = &cursor.rest()[1..];
    let end = rest.iter().position(|&byte| byte == b']' || ends_line(byte));
    let Some(length) = end.filter(|&length| rest[length] == b']') else {
        return Err(cursor.fault(ReadErrorKind::KeywordOpen));
    };
    cursor.pass(length + 2);
    let name = &rest[..length];
    Ok(Keyword::from_bytes(name).map_or_else(|| Bracketed::Unknown(shown(name)), Bracketed::Known))
}

/// The one argument of a keyword on its line.
pub(super) fn argument<'a>(
    cursor: &mut Cursor<'a>,
    keyword: Keyword,
    expected: &'static str,
) -> Result<&'a [u8], Fault> {
    let fault =
        |cursor: &Cursor| cursor.fault(ReadErrorKind::KeywordArgument { keyword: keyword.name(), expected });
    let word = cursor.word_in_line().ok_or_else(|| fault(cursor))?;
    cursor.peek();
    let after = cursor.clone();
    match cursor.word_in_line() {
        None => Ok(word),
        Some(_) => Err(fault(&after)),
    }
}

/// The positive integer that follows a keyword on its line.
pub(super) fn count(cursor: &mut Cursor, keyword: Keyword) -> Result<usize, Fault> {
    const EXPECTED: &str = "one positive whole number";
    let before = cursor.clone();
    let word = argument(cursor, keyword, EXPECTED)?;
    let digits = std::str::from_utf8(word).ok().filter(|text| text.bytes().all(|b| b.is_ascii_digit()));
    digits.and_then(|text| text.parse().ok()).filter(|&count: &usize| count > 0).ok_or_else(|| {
        before.fault(ReadErrorKind::KeywordArgument { keyword: keyword.name(), expected: EXPECTED })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spelling_is_free_in_case_and_dash_only() {
        for (text, keyword) in [
            ("Number of Ports", Some(Keyword::NumberOfPorts)),
            ("NUMBER OF PORTS", Some(Keyword::NumberOfPorts)),
            ("two port data order", Some(Keyword::TwoPortDataOrder)),
            ("Mixed-Mode Order", Some(Keyword::MixedModeOrder)),
            ("Number  of Ports", None),
            (" Version", None),
            ("", None),
        ] {
            assert_eq!(Keyword::from_bytes(text.as_bytes()), keyword, "{text}");
        }
    }
}
