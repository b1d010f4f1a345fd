//! What may stand inside a `<script>` or `<style>` element without an escape.
//!
//! The HTML standard (§ "Restrictions for contents of script elements", § "Raw text elements") gives no way to
//! escape text in them: the element ends at the first end tag of its own name, and `<!--` in a script can turn
//! a later `<script` into a nested one. Carriage returns and NUL are changed while parsing, which would change
//! the text under its hash.

use crate::fault::Fault;

const IN_SCRIPT: [&str; 5] = ["</script", "<script", "<!--", "\r", "\0"];
const IN_STYLE: [&str; 4] = ["</style", "<!--", "\r", "\0"];

/// A script, style or data block whose text stands in the page exactly as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Inline<'a> {
    text: &'a str,
}

impl<'a> Inline<'a> {
    /// Text for a `<script>` element, also one that holds data; `block` names it in the error.
    pub fn script(block: &'static str, text: &'a str) -> Result<Self, Fault> {
        Self::checked(block, text, &IN_SCRIPT)
    }

    /// Text for a `<style>` element.
    pub fn style(block: &'static str, text: &'a str) -> Result<Self, Fault> {
        Self::checked(block, text, &IN_STYLE)
    }

    fn checked(block: &'static str, text: &'a str, refused: &[&'static str]) -> Result<Self, Fault> {
        let lower_case = text.to_ascii_lowercase();
        match refused.iter().find(|found| lower_case.contains(**found)) {
            Some(found) => Err(Fault::Unsafe { block, found }),
            None => Ok(Self { text }),
        }
    }

    /// The text, as it stands in the page.
    pub fn text(self) -> &'a str {
        self.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_text_passes_unchanged() {
        let text = "if (a < b && c > d) { s = '<p>' }\n";
        assert_eq!(Inline::script("glue", text).map(Inline::text), Ok(text));
        assert_eq!(
            Inline::style("style", "main > p { margin: 0 }").map(Inline::text),
            Ok("main > p { margin: 0 }")
        );
    }

    #[test]
    fn what_ends_or_changes_a_script_is_refused_in_any_case() {
        for (text, found) in [
            ("'</script>'", "</script"),
            ("'</ScRiPt '", "</script"),
            ("'<SCRIPT>'", "<script"),
            ("a <!-- b", "<!--"),
            ("a\r\nb", "\r"),
            ("a\0b", "\0"),
        ] {
            assert_eq!(Inline::script("glue", text), Err(Fault::Unsafe { block: "glue", found }), "{text:?}");
        }
    }

    #[test]
    fn a_style_is_ended_by_its_own_tag_only() {
        assert!(Inline::style("style", "/* </script> */").is_ok());
        assert_eq!(
            Inline::style("style", "/* </Style> */"),
            Err(Fault::Unsafe { block: "style", found: "</style" })
        );
    }
}
