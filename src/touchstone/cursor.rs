//! A place in the bytes of a file, with the line and column that a person would give it.

use super::error::{Fault, ReadErrorKind};

/// Walks over bytes once; knows blanks, comments, words and the three line ends.
#[derive(Clone)]
pub(super) struct Cursor<'a> {
    bytes: &'a [u8],
    position: usize,
    line: usize,
    line_start: usize,
    comments_end: usize,
}

/// Line and column, both from 1; the column counts bytes.
pub(super) type Place = (usize, usize);

impl<'a> Cursor<'a> {
    /// At the first byte after a byte-order mark. A last byte 1Ah, the end mark of old disks, is left out.
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
        let bytes = bytes.strip_suffix(b"\x1A").unwrap_or(bytes);
        Self { bytes, position: 0, line: 1, line_start: 0, comments_end: 0 }
    }

    /// Passes blanks and returns the byte after them, which stays unread; `None` at the end.
    #[inline]
    pub(super) fn peek(&mut self) -> Option<u8> {
        loop {
            match self.bytes.get(self.position) {
                Some(b' ' | b'\t') => self.position += 1,
                other => return other.copied(),
            }
        }
    }

    /// Passes one line end: CR, LF, or the two together. Does nothing elsewhere.
    #[inline]
    pub(super) fn pass_line_end(&mut self) {
        let length = match self.rest() {
            [b'\r', b'\n', ..] => 2,
            [b'\r' | b'\n', ..] => 1,
            _ => return,
        };
        self.position += length;
        self.line += 1;
        self.line_start = self.position;
    }

    /// Passes everything up to the line end, which stays unread.
    pub(super) fn pass_rest_of_line(&mut self) {
        let rest = self.rest();
        self.position += rest.iter().position(|&byte| ends_line(byte)).unwrap_or(rest.len());
    }

    /// Passes a comment up to the line end, which stays unread.
    pub(super) fn pass_comment(&mut self) {
        self.pass_rest_of_line();
        self.comments_end = self.position;
    }

    /// The next word of this line, passed; `None` where only blanks or a comment are left, which are passed too.
    pub(super) fn word_in_line(&mut self) -> Option<&'a [u8]> {
        match self.peek()? {
            b'\r' | b'\n' => None,
            b'!' => {
                self.pass_comment();
                None
            }
            _ => {
                let word = self.peek_word();
                self.position += word.len();
                Some(word)
            }
        }
    }

    /// The word that begins here, unread: up to a blank, a comment or a line end.
    pub(super) fn peek_word(&self) -> &'a [u8] {
        let rest = self.rest();
        &rest[..rest.iter().position(|&byte| ends_word(byte)).unwrap_or(rest.len())]
    }

    /// Passes `length` bytes of this line.
    #[inline]
    pub(super) fn pass(&mut self, length: usize) {
        self.position += length;
    }

    /// What is not read yet.
    #[inline]
    pub(super) fn rest(&self) -> &'a [u8] {
        &self.bytes[self.position..]
    }

    /// Everything up to the end of the last comment passed.
    pub(super) fn commented_part(&self) -> &'a [u8] {
        &self.bytes[..self.comments_end]
    }

    /// The line, from 1.
    #[inline]
    pub(super) fn line(&self) -> usize {
        self.line
    }

    /// Line and column.
    pub(super) fn place(&self) -> Place {
        (self.line, self.position - self.line_start + 1)
    }

    /// A fault at this place.
    pub(super) fn fault(&self, kind: ReadErrorKind) -> Fault {
        Fault::at(self.place(), kind)
    }
}

/// True of CR and LF.
#[inline]
pub(super) fn ends_line(byte: u8) -> bool {
    matches!(byte, b'\r' | b'\n')
}

/// True of blanks, of line ends, and of the mark that begins a comment.
#[inline]
pub(super) fn ends_word(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r' | b'\n' | b'!')
}

/// A word as it can be shown to a person: at most 24 characters, bytes above ASCII as Latin-1.
pub(super) fn shown(word: &[u8]) -> String {
    const LONGEST: usize = 24;
    let start: String = word.iter().take(LONGEST).flat_map(|&byte| char::from(byte).escape_debug()).collect();
    if word.len() > LONGEST { format!("{start}…") } else { start }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_line_ends_count_as_one_line() {
        for text in ["a\nb\nc", "a\r\nb\r\nc", "a\rb\rc", "a\r\nb\rc"] {
            let mut cursor = Cursor::new(text.as_bytes());
            let mut lines = Vec::new();
            while let Some(byte) = cursor.peek() {
                lines.push((byte, cursor.line()));
                cursor.pass_rest_of_line();
                cursor.pass_line_end();
            }
            assert_eq!(lines, [(b'a', 1), (b'b', 2), (b'c', 3)], "{text:?}");
        }
    }

    #[test]
    fn words_end_at_blanks_and_comments() {
        let mut cursor = Cursor::new(b" one\ttwo!three\nfour");
        assert_eq!(cursor.word_in_line(), Some(&b"one"[..]));
        assert_eq!(cursor.place(), (1, 5));
        assert_eq!(cursor.word_in_line(), Some(&b"two"[..]));
        assert_eq!(cursor.word_in_line(), None);
        assert_eq!(cursor.peek(), Some(b'\n'));
        assert_eq!(cursor.commented_part(), b" one\ttwo!three");
    }

    #[test]
    fn what_is_shown_of_a_word_is_short_and_printable() {
        assert_eq!(shown(b"1\xB0\x00"), "1°\\0");
        assert_eq!(shown(&[b'7'; 1000]).chars().count(), 25);
    }
}
