//! Names compared with each other: the text that they share, and the places where their values stand.

use std::collections::BTreeMap;
use std::ops::Range;

/// A name to be read: the part of a path that a reading looks at.
pub(super) struct Name<'a> {
    /// Index of its path.
    pub(super) path: usize,
    /// The text without the file's ending.
    pub(super) text: &'a str,
}

/// The names of one shape: those that become the same text when their values are blotted out.
pub(super) struct Shape<'a> {
    /// The text around the values in lower case: one more than there are values.
    pub(super) texts: Vec<String>,
    /// The names' paths and values, all of the same number.
    pub(super) members: Vec<Member<'a>>,
}

/// One name and where its values stand.
pub(super) struct Member<'a> {
    /// Index of its path.
    pub(super) path: usize,
    text: &'a str,
    ranges: Vec<Range<usize>>,
}

impl<'a> Member<'a> {
    /// The value at one place.
    pub(super) fn value(&self, place: usize) -> &'a str {
        &self.text[self.ranges[place].clone()]
    }
}

/// Finds the values of a name, as byte ranges in rising order.
pub(super) type Lexer = fn(&str) -> Vec<Range<usize>>;

impl<'a> Shape<'a> {
    /// The shape that most of the names share; among as many, the first in plain order of the text.
    ///
    /// Names of other shapes are what lies beside a run (a through line, a second copy with `(1)` in its name), so
    /// they must not be allowed to blur what the run's own names have in common. `None` without names, or where the
    /// commonest shape has no values.
    pub(super) fn commonest(names: &[Name<'a>], lexer: Lexer) -> Option<Self> {
        let mut shapes: BTreeMap<Vec<String>, Vec<Member<'a>>> = BTreeMap::new();
        for name in names {
            let ranges = lexer(name.text);
            let mut texts = Vec::with_capacity(ranges.len() + 1);
            let mut at = 0;
            for range in &ranges {
                texts.push(name.text[at..range.start].to_lowercase());
                at = range.end;
            }
            texts.push(name.text[at..].to_lowercase());
            shapes.entry(texts).or_default().push(Member { path: name.path, text: name.text, ranges });
        }
        let (texts, members) =
            shapes.into_iter().rev().max_by_key(|(texts, members)| (texts.len() > 1, members.len()))?;
        (texts.len() > 1).then_some(Self { texts, members })
    }

    /// The places whose values are not the same in all names.
    pub(super) fn varying(&self) -> Vec<usize> {
        let varies = |&place: &usize| {
            let mut values = self.values(place);
            let first = values.next();
            values.any(|value| Some(value) != first)
        };
        (0..self.texts.len() - 1).filter(varies).collect()
    }

    /// The values at one place, in the order of the members.
    pub(super) fn values(&self, place: usize) -> impl Iterator<Item = &'a str> {
        self.members.iter().map(move |member| member.value(place))
    }

    /// Gives letters that all values at a place share to the text around it, where a word runs on: the `e` of
    /// `state3A7` is no hexadecimal digit, nor are the letters of `12dB`.
    ///
    /// In front a letter runs on when the text ends in a letter of the same case (`stateA0` keeps its A); behind,
    /// any letter that all values share is text.
    pub(super) fn give_back_shared_letters(&mut self, place: usize) {
        while let Some(letter) = self.shared_letter(place, |value| value.chars().next()) {
            let runs_on = self.members.first().is_some_and(|member| {
                let before = member.text[..member.ranges[place].start].chars().next_back();
                before.is_some_and(|before| same_case(before, letter))
            });
            if !runs_on {
                break;
            }
            for member in &mut self.members {
                member.ranges[place].start += 1;
            }
            self.texts[place].push(letter.to_ascii_lowercase());
        }
        while let Some(letter) = self.shared_letter(place, |value| value.chars().next_back()) {
            for member in &mut self.members {
                member.ranges[place].end -= 1;
            }
            self.texts[place + 1].insert(0, letter.to_ascii_lowercase());
        }
    }

    fn shared_letter(&self, place: usize, pick: impl Fn(&str) -> Option<char>) -> Option<char> {
        let letter = pick(self.values(place).next()?)?;
        let shared = self.values(place).all(|value| value.len() > 1 && pick(value) == Some(letter));
        (shared && letter.is_ascii_alphabetic()).then_some(letter)
    }
}

fn same_case(a: char, b: char) -> bool {
    a.is_ascii_lowercase() && b.is_ascii_lowercase() || a.is_ascii_uppercase() && b.is_ascii_uppercase()
}

/// Finds runs of decimal digits.
pub(super) fn digit_runs(text: &str) -> Vec<Range<usize>> {
    runs(text, u8::is_ascii_digit)
}

/// Finds what may be hexadecimal numbers: the longest tail of hexadecimal digits of every run of letters and
/// digits, a last `h` aside (`3A7`, `0x3A7`, `dut3A7`, `3A7h`).
pub(super) fn hexadecimal_tails(text: &str) -> Vec<Range<usize>> {
    let bytes = text.as_bytes();
    let tail = |chunk: Range<usize>| {
        let is_digit = |at: usize| bytes[at].is_ascii_hexdigit();
        let marked = chunk.len() > 1
            && bytes[chunk.end - 1].eq_ignore_ascii_case(&b'h')
            && (chunk.start..chunk.end - 1).all(is_digit);
        let end = if marked { chunk.end - 1 } else { chunk.end };
        let start = (chunk.start..end).rev().take_while(|&at| is_digit(at)).last()?;
        Some(start..end)
    };
    runs(text, u8::is_ascii_alphanumeric).into_iter().filter_map(tail).collect()
}

/// Finds the longest runs of bytes of one kind.
fn runs(text: &str, belongs: impl Fn(&u8) -> bool) -> Vec<Range<usize>> {
    let mut found: Vec<Range<usize>> = Vec::new();
    for (at, byte) in text.bytes().enumerate() {
        if !belongs(&byte) {
            continue;
        }
        match found.last_mut() {
            Some(last) if last.end == at => last.end += 1,
            _ => found.push(at..at + 1),
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape<'a>(texts: &[&'a str], lexer: Lexer) -> Shape<'a> {
        let names: Vec<Name> = texts.iter().enumerate().map(|(path, text)| Name { path, text }).collect();
        Shape::commonest(&names, lexer).unwrap()
    }

    #[test]
    fn strays_do_not_blur_the_commonest_shape() {
        let found = shape(&["X_6GHz_01", "x_6GHz_02", "x_6GHz_02 (1)", "thru"], digit_runs);
        assert_eq!(found.texts, ["x_", "ghz_", ""]);
        assert_eq!(found.members.iter().map(|member| member.path).collect::<Vec<_>>(), [0, 1]);
        assert_eq!(found.varying(), [1]);
    }

    #[test]
    fn hexadecimal_tails_stop_at_other_letters() {
        let pieces = |text: &'static str| -> Vec<&str> {
            hexadecimal_tails(text).into_iter().map(|range| &text[range]).collect()
        };
        assert_eq!(pieces("dut_0x3A7"), ["3A7"]);
        assert_eq!(pieces("x3A7_7fh"), ["3A7", "7f"]);
        assert_eq!(pieces("thru"), [""; 0]);
    }

    #[test]
    fn letters_that_run_on_go_back_to_the_text() {
        for (names, expected) in [
            (["state3A", "state4F"], ["3A", "4F"]),
            (["stateA0", "stateA1"], ["A0", "A1"]),
            (["x_12dB", "x_13dB"], ["12", "13"]),
            (["x_A0", "x_A1"], ["A0", "A1"]),
        ] {
            let mut found = shape(&names, hexadecimal_tails);
            let place = found.varying()[0];
            found.give_back_shared_letters(place);
            assert_eq!(found.values(place).collect::<Vec<_>>(), expected);
        }
    }
}
