//! Where terms stand in a text, and which numbers keep their units.

use super::{GLOSSARY, Term};
use std::collections::BTreeSet;

/// A piece of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piece<'t> {
    /// Words as they stand.
    Plain(&'t str),
    /// A number with its unit, which no line end should part.
    Measure(&'t str),
    /// A term as it is written there.
    Term(&'t str, &'static Term),
}

/// Cuts a text of one question into its pieces. Each term is marked once: those in `marked` no more, and those found
/// are added to it.
pub fn pieces<'t>(text: &'t str, question: &str, marked: &mut BTreeSet<&'static str>) -> Vec<Piece<'t>> {
    let mut pieces = Vec::new();
    let mut plain_from = 0;
    let mut at = 0;
    while at < text.len() {
        let found = if starts_word(text, at) { piece_at(text, at, question, marked) } else { None };
        let Some((piece, length)) = found else {
            at += text[at..].chars().next().map_or(1, char::len_utf8);
            continue;
        };
        if let Piece::Term(_, term) = piece {
            marked.insert(term.key);
        }
        if plain_from < at {
            pieces.push(Piece::Plain(&text[plain_from..at]));
        }
        pieces.push(piece);
        at += length;
        plain_from = at;
    }
    if plain_from < text.len() {
        pieces.push(Piece::Plain(&text[plain_from..]));
    }
    pieces
}

/// Whether two texts differ in nothing but their numbers, and so mostly have the same pieces.
pub fn differ_in_numbers_alone(one: &str, other: &str) -> bool {
    let words = |text: &'_ str| -> String { text.chars().filter(|c| !is_of_a_number(*c)).collect() };
    words(one) == words(other)
}

fn is_of_a_number(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '.' | ',' | '−' | '+' | '±')
}

fn starts_word(text: &str, at: usize) -> bool {
    let before = text[..at].chars().next_back();
    before.is_none_or(|before| {
        !before.is_alphanumeric() && !matches!(before, '-' | '.' | ',' | '−' | '+' | '±')
    })
}

/// The longest term that begins here, else a measure.
fn piece_at<'t>(
    text: &'t str,
    at: usize,
    question: &str,
    marked: &BTreeSet<&'static str>,
) -> Option<(Piece<'t>, usize)> {
    let terms =
        GLOSSARY.iter().filter(|term| term.questions.is_empty() || term.questions.contains(&question));
    let found =
        terms.flat_map(|term| term.written.iter().map(move |written| (term, written.len(), *written)));
    let found = found.filter(|(_, length, written)| {
        text.get(at..at + length).is_some_and(|here| here.eq_ignore_ascii_case(written))
            && ends_word(text, at + length)
    });
    let longest = found.max_by_key(|(_, length, _)| *length);
    if let Some((term, length, _)) = longest.filter(|(term, ..)| !marked.contains(term.key)) {
        return Some((Piece::Term(&text[at..at + length], term), length));
    }
    let length = measure_length(&text[at..])?;
    Some((Piece::Measure(&text[at..at + length]), length))
}

fn ends_word(text: &str, at: usize) -> bool {
    text[at..].chars().next().is_none_or(|next| !next.is_alphanumeric() && next != '-')
}

/// Units that stand behind a number and a space.
const UNITS: [&str; 9] = ["%", "dB", "GHz", "MHz", "kHz", "Hz", "ns", "V", "Ω"];

/// How long the number with its unit is that a text begins with.
fn measure_length(text: &str) -> Option<usize> {
    let number = text.split(' ').next().filter(|number| {
        number.chars().any(|c| c.is_ascii_digit()) && number.chars().all(|c| is_of_a_number(c) || c == '(')
    })?;
    let behind = text.get(number.len() + 1..)?;
    let unit = UNITS.iter().find(|unit| behind.starts_with(**unit) && ends_word(behind, unit.len()))?;
    Some(number.len() + 1 + unit.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn terms(text: &str, question: &str) -> Vec<&'static str> {
        let pieces = pieces(text, question, &mut BTreeSet::new());
        pieces
            .iter()
            .filter_map(|piece| match piece {
                Piece::Term(_, term) => Some(term.key),
                _ => None,
            })
            .collect()
    }

    fn text_of(pieces: &[Piece]) -> String {
        pieces
            .iter()
            .map(|piece| match piece {
                Piece::Plain(text) | Piece::Measure(text) | Piece::Term(text, _) => *text,
            })
            .collect()
    }

    #[test]
    fn the_longest_term_is_marked_once_and_nothing_is_lost() {
        let text = "Choosing makes the RMS vector error 9.8 times smaller, the vector error being small.";
        let mut marked = BTreeSet::new();
        let found = pieces(text, "words", &mut marked);
        assert_eq!(text_of(&found), text);
        assert_eq!(terms(text, "words"), ["vector-error"]);
        assert!(matches!(found[1], Piece::Term("RMS vector error", _)));
        assert!(pieces(text, "words", &mut marked).iter().all(|piece| !matches!(piece, Piece::Term(..))));
    }

    #[test]
    fn only_whole_words_are_terms_and_some_mean_another_thing_elsewhere() {
        assert_eq!(terms("The upstate statement restates nothing.", "words"), [""; 0]);
        assert_eq!(terms("formed cleanly", "use"), ["clean-constellation"]);
        assert_eq!(terms("resolved cleanly", "reach"), ["clean-bits"]);
        assert_eq!(terms("read cleanly", "came-in"), [""; 0]);
    }

    #[test]
    fn other_numbers_are_not_other_words() {
        assert!(differ_in_numbers_alone("At 9.5 GHz, −0.3 dB.", "At 10 GHz, 1.25 dB."));
        assert!(!differ_in_numbers_alone("At 9.5 GHz, 1 state.", "At 9.5 GHz, 2 states."));
        assert!(!differ_in_numbers_alone("1.4 dB", "1.4°"));
    }

    #[test]
    fn numbers_stay_with_their_units() {
        let measures = |text: &'static str| -> Vec<&'static str> {
            let found = pieces(text, "", &mut BTreeSet::new());
            assert_eq!(text_of(&found), text);
            found
                .into_iter()
                .filter_map(|piece| if let Piece::Measure(text) = piece { Some(text) } else { None })
                .collect()
        };
        assert_eq!(
            measures("At 10 GHz within ±0.25 dB and ±1.4°; 91.2 %."),
            ["10 GHz", "±0.25 dB", "91.2 %"]
        );
        assert_eq!(measures("from −16.2 to +0.65 dB"), ["+0.65 dB"]);
        assert_eq!(measures("2 Vipers, Ω 3 dBm, word 4"), [""; 0]);
    }
}
