//! The order in which people expect file names.

use std::cmp::Ordering;

/// Compares two names with runs of decimal digits taken as numbers, so that `V2` stands before `V10`.
///
/// A total order: names that differ only in leading zeros are told apart by their plain text, and only equal
/// names compare as equal. Numbers may be of any length. A number stands where its first digit would, so signs and
/// spaces come before it and letters after it. Upper case comes before lower case, as in plain text.
pub fn natural_order(a: &str, b: &str) -> Ordering {
    Elements(a).cmp(Elements(b)).then_with(|| a.cmp(b))
}

/// What is compared at one place of a name. The order of the variants is the order of the values.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Element<'a> {
    /// A character below `0`.
    Before(char),
    /// A number without its leading zeros: more digits are more, and among as many the text decides.
    Number(usize, &'a str),
    /// A character above `9`.
    After(char),
}

struct Elements<'a>(&'a str);

impl<'a> Iterator for Elements<'a> {
    type Item = Element<'a>;

    fn next(&mut self) -> Option<Element<'a>> {
        let first = self.0.chars().next()?;
        if first.is_ascii_digit() {
            let end = self.0.find(|c: char| !c.is_ascii_digit()).unwrap_or(self.0.len());
            let (digits, rest) = self.0.split_at(end);
            self.0 = rest;
            let significant = digits.trim_start_matches('0');
            return Some(Element::Number(significant.len(), significant));
        }
        self.0 = &self.0[first.len_utf8()..];
        Some(if first < '0' { Element::Before(first) } else { Element::After(first) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_count_as_numbers() {
        let mut names = ["V10.5", "V2", "V10", "V0.5", "V0", "V1", "W1", "V"];
        names.sort_by(|a, b| natural_order(a, b));
        assert_eq!(names, ["V", "V0", "V0.5", "V1", "V2", "V10", "V10.5", "W1"]);
    }

    #[test]
    fn longer_numbers_than_any_integer_type_still_compare() {
        assert_eq!(natural_order("99999999999999999999999", "100000000000000000000000"), Ordering::Less);
    }

    /// Every pair is antisymmetric, every triple is transitive, and only equal names are equal.
    #[test]
    fn the_order_is_total() {
        let names =
            ["", "0", "00", "1", "01", "a", "a1", "a01", "a1b", "a_", "a-1", "a 1", "ä1", "A1", "1a", "a10"];
        for a in names {
            for b in names {
                assert_eq!(natural_order(a, b), natural_order(b, a).reverse());
                assert_eq!(natural_order(a, b) == Ordering::Equal, a == b);
                for c in names {
                    if natural_order(a, b).is_le() && natural_order(b, c).is_le() {
                        assert!(natural_order(a, c).is_le(), "{a:?} {b:?} {c:?}");
                    }
                }
            }
        }
    }
}
