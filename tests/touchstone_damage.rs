//! Damaged files never make the reader panic, and what it still accepts is a sound network. The damage comes from a
//! seeded generator, so that a failure can be repeated.

use sweepfold::touchstone::read;

const FILES: [(&str, &str); 6] = [
    (
        "a.s2p",
        "! phase = 20\n# GHz S RI R 50\n1 0.1 0.2 0.3 0.4 0.5 0.6 0.7 0.8\n2 0.1 0.2 0.3 0.4 0.5 0.6 0.7 0.8\n\
         1 0.7 0.64 69 0.38\n2 0.7 0.64 69 0.38\n",
    ),
    ("a.s1p", "# MHz Z MA R 75\r\n100 0.99 -4\r\n200 0.80 -22\r\n300 0.707 -45e-1\r\n"),
    ("a.h2p", "#kHz H DB R 1\r2 0.95 -26 3.57 157 0.04 76 0.66 -14"),
    (
        "a.s3p",
        "# Hz S DB R 50 75 100\n5 -1 1 -2 2 -3 3\n-1 1 -2 2 -3 3\n-1 1 -2 2 -3 3\n6 -1 1 -2 2 -3 3\n-1 1 -2 2 -3 3\n-1 1 -2 2 -3 3\n",
    ),
    (
        "a.ts",
        "[Version] 2.1\n# GHz S MA\n[Number of Ports] 2\n[Two-Port Data Order] 12_21\n[Number of Frequencies] 2\n\
         [Number of Noise Frequencies] 1\n[Reference] 50\n75\n[Matrix Format] Lower\n[Begin Information]\n[X] y\n\
         [End Information]\n[Network Data]\n1 1 0 2 0 3 0\n2 1 0 2 0 3 0\n[Noise Data]\n1 0.7 0.64 69 19\n[End]\n!\n",
    ),
    ("a.ts", "# GHz S RI\n1 0.1 0.2 ! b\n2 0.3 0.4\n# again\n3 0.1 0.1\n"),
];

/// Pieces that have a meaning somewhere.
const PIECES: [&[u8]; 24] = [
    b"[",
    b"]",
    b"#",
    b"!",
    b"\n",
    b"\r",
    b"\t",
    b" ",
    b"nan",
    b"inf",
    b"1e999",
    b"-",
    b"e",
    b",",
    b"\0",
    b"\xFF",
    b"\xEF\xBB\xBF",
    b"[Network Data]\n",
    b"[End]\n",
    b"[Number of Ports] 9999\n",
    b"[Reference]",
    b"99999999999999999999",
    b"R 0 -1 (1+j)",
    b".",
];

struct Generator(u64);

impl Generator {
    fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 >> 33).unwrap() % limit.max(1)
    }
}

/// Reads, and checks what the reader promises of every network and every error.
fn check(name: &str, bytes: &[u8]) -> bool {
    let shown = || String::from_utf8_lossy(bytes).into_owned();
    match read(name, bytes) {
        Ok(network) => {
            let points = network.frequency_hz.len();
            assert!(points > 0 && network.ports > 0, "{}", shown());
            assert_eq!(network.s.len(), points * network.ports * network.ports, "{}", shown());
            assert_eq!(network.reference_ohm.len(), network.ports);
            assert!(network.reference_ohm.iter().all(|ohm| *ohm > 0.0 && ohm.is_finite()));
            assert!(network.frequency_hz.iter().all(|hz| *hz >= 0.0 && hz.is_finite()));
            assert!(network.frequency_hz.windows(2).all(|pair| pair[0] < pair[1]), "{}", shown());
            assert!(network.s.iter().all(|value| value.is_finite()), "{}", shown());
            true
        }
        Err(error) => {
            let lines = bytes.iter().filter(|byte| matches!(byte, b'\n' | b'\r')).count() + 1;
            assert!(error.line.is_none_or(|line| (1..=lines).contains(&line)), "{error} {}", shown());
            assert!(error.column.is_none_or(|column| (1..=bytes.len() + 1).contains(&column)), "{error}");
            assert!(error.sentence().ends_with('.') && error.to_string().len() < 500, "{error}");
            assert!(!error.sentence().contains(char::is_control), "{error}");
            false
        }
    }
}

#[test]
fn whole_files_are_read_and_every_beginning_of_them_is_survived() {
    for (name, text) in FILES {
        assert!(check(name, text.as_bytes()), "{name}");
        for cut in 0..text.len() {
            check(name, &text.as_bytes()[..cut]);
            check("a", &text.as_bytes()[cut..]);
        }
    }
}

#[test]
fn changed_files_are_survived() {
    let mut generator = Generator(0x9E37_79B9_7F4A_7C15);
    let mut accepted = 0;
    for round in 0..60_000 {
        let (name, text) = FILES[generator.below(FILES.len())];
        let mut bytes = text.as_bytes().to_vec();
        for _ in 0..=generator.below(4) {
            let at = generator.below(bytes.len());
            match generator.below(5) {
                0 => bytes[at] = u8::try_from(generator.below(256)).unwrap(),
                1 => drop(bytes.remove(at)),
                2 => {
                    let piece = PIECES[generator.below(PIECES.len())];
                    bytes.splice(at..at, piece.iter().copied());
                }
                3 => {
                    let end = (at + generator.below(40)).min(bytes.len());
                    let part = bytes[at..end].to_vec();
                    let to = generator.below(bytes.len());
                    bytes.splice(to..to, part);
                }
                _ => {
                    let end = (at + generator.below(40)).min(bytes.len());
                    bytes.drain(at..end);
                }
            }
            if bytes.is_empty() {
                break;
            }
        }
        let name = if round % 3 == 0 { "a" } else { name };
        accepted += usize::from(check(name, &bytes));
    }
    // The damage is neither harmless nor fatal throughout, so both ways out were tried.
    assert!((3_000..57_000).contains(&accepted), "{accepted}");
}

#[test]
fn noise_of_bytes_is_survived() {
    let mut generator = Generator(42);
    for _ in 0..20_000 {
        let length = generator.below(60);
        let bytes: Vec<u8> = (0..length)
            .flat_map(|_| {
                if generator.below(3) == 0 {
                    PIECES[generator.below(PIECES.len())].to_vec()
                } else {
                    vec![u8::try_from(generator.below(256)).unwrap()]
                }
            })
            .collect();
        check("a.s2p", &bytes);
    }
}
