//! Faults of a bench, planted into a run of a made-up part that is captured in counting order.

use num_complex::Complex64;
use sweepfold::checks::OrderOfFiles;
use sweepfold::control::Word;
use sweepfold::demo::Part;
use sweepfold::network::TwoPort;

/// A fault, and its name on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Planted {
    /// The sweep of the middle word shows 25 % of the word before at its start, gone with a time constant of a tenth of
    /// the sweep.
    Unsettled,
    /// The part did not take the middle word.
    Missed,
    /// The middle word's file repeats the one before, byte for byte but for the comments.
    Repeated,
    /// The word after a third of the run has 1 dB more gain.
    Outlier,
    /// From five eighths and a sixteenth of the run on, everything has 0.5 dB less gain.
    Step,
    /// Something 40 dB below the zero word goes around the part.
    Leakage,
    /// Bit 1 is stuck low.
    Idle,
    /// Bits 0 and 1 are exchanged.
    Exchanged,
    /// Bit 1 works the other way.
    Inverted,
    /// The files' words went through a list sorted as text.
    Lexicographic,
}

impl Planted {
    /// Every fault with its name.
    pub const ALL: [(&str, Self); 10] = [
        ("unsettled", Self::Unsettled),
        ("missed", Self::Missed),
        ("repeated", Self::Repeated),
        ("outlier", Self::Outlier),
        ("step", Self::Step),
        ("leakage", Self::Leakage),
        ("idle", Self::Idle),
        ("exchanged", Self::Exchanged),
        ("inverted", Self::Inverted),
        ("lexicographic", Self::Lexicographic),
    ];

    /// The file of a word in a run with this fault.
    pub fn file(self, part: &Part, word: Word) -> Vec<u8> {
        let words = u32::try_from(part.plan().layout.word_count()).unwrap_or(u32::MAX);
        let middle = word.0 == words / 2;
        let before = Word(word.0.saturating_sub(1));
        match self {
            Self::Unsettled if middle => {
                let points = part.plan().sweep.points as f64;
                let share = |point: usize| 0.25 * (-10.0 * point as f64 / points).exp();
                let mixed = part.two_ports(word).zip(part.two_ports(before)).enumerate();
                part.file_of(word, mixed.map(|(point, (own, other))| mix(own, other, share(point))))
            }
            Self::Missed if middle => part.file_of(word, part.two_ports(before)),
            Self::Repeated if middle => part.file(before),
            Self::Outlier if word.0 == words / 3 => amplified(part, word, 1.0),
            Self::Step if word.0 >= words / 8 * 5 + words / 16 => amplified(part, word, -0.5),
            Self::Leakage => {
                let around = part.two_ports(word).zip(part.two_ports(part.plan().layout.zero_word()));
                let around = around.map(|(own, zero)| {
                    let leak = Complex64::from(0.01 * zero.s21.norm());
                    TwoPort { s21: own.s21 + leak, s12: own.s12 + leak, ..own }
                });
                part.file_of(word, around)
            }
            Self::Idle => seeing(part, word, word.0 & !2),
            Self::Exchanged => seeing(part, word, word.0 & !3 | word.0 >> 1 & 1 | (word.0 & 1) << 1),
            Self::Inverted => seeing(part, word, word.0 ^ 2),
            Self::Lexicographic => {
                let all: Vec<Word> = (0..words).map(Word).collect();
                let seen = OrderOfFiles::Lexicographic.words(&all, part.plan().layout.bits());
                seeing(part, word, seen.map_or(word.0, |seen| seen[word.0 as usize].0))
            }
            _ => part.file(word),
        }
    }
}

fn seeing(part: &Part, word: Word, seen: u32) -> Vec<u8> {
    part.file_of(word, part.two_ports(Word(seen)))
}

fn amplified(part: &Part, word: Word, gain_db: f64) -> Vec<u8> {
    let gain = 10_f64.powf(gain_db / 20.0);
    part.file_of(word, part.two_ports(word).map(|t| TwoPort { s21: t.s21 * gain, s12: t.s12 * gain, ..t }))
}

fn mix(own: TwoPort, other: TwoPort, share: f64) -> TwoPort {
    let mean = |own: Complex64, other: Complex64| own * (1.0 - share) + other * share;
    TwoPort {
        s11: mean(own.s11, other.s11),
        s12: mean(own.s12, other.s12),
        s21: mean(own.s21, other.s21),
        s22: mean(own.s22, other.s22),
    }
}
