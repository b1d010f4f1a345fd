//! `word-table.hex`: the words of one table, or of several one after the other, as a memory image for `$readmemh` (IEEE Std 1364 and
//! 1800): white space, `//` comments and hexadecimal numbers, the first at address 0.

use super::band_tables::WhichTable;
use super::memory::{Memory, without_comments};
use super::refused::ExportRefused;
use crate::pipeline::Report;
use crate::sheet::Sheet;
use std::fmt::Write;

pub(super) fn make(report: &Report, sheet: &Sheet, which: WhichTable) -> Result<Vec<u8>, ExportRefused> {
    let memory = Memory::of(report, which)?;
    let mut text = String::new();
    for line in memory.header(sheet) {
        text.push_str("// ");
        text.push_str(&line);
        text.push('\n');
    }
    let digits = memory.form().bits.div_ceil(4);
    for bus_word in memory.bus_words() {
        writeln!(text, "{bus_word:0digits$X}").map_err(|_| ExportRefused::ReadBack("no room".to_owned()))?;
    }
    memory.check(&read_memory_image(&text).map_err(ExportRefused::ReadBack)?)?;
    Ok(text.into_bytes())
}

/// Reads a memory image as `$readmemh` does: comments of both kinds, white space, `_` within numbers, and `@`
/// addresses that have to follow on (an image of this tool has no gaps). Unknown bits (`x`, `z`) are refused.
pub fn read_memory_image(text: &str) -> Result<Vec<u32>, String> {
    let mut words = Vec::new();
    for token in without_comments(text)?.split_ascii_whitespace() {
        if let Some(address) = token.strip_prefix('@') {
            let address = usize::from_str_radix(address, 16).map_err(|_| format!("{token} is no address"))?;
            if address != words.len() {
                return Err(format!("the address {token} leaves a gap or goes back"));
            }
            continue;
        }
        let digits = token.replace('_', "");
        let is_hexadecimal = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_hexdigit());
        let value = u32::from_str_radix(&digits, 16).ok().filter(|_| is_hexadecimal);
        words.push(value.ok_or_else(|| format!("“{token}” is no hexadecimal word"))?);
    }
    Ok(words)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The forms that IEEE Std 1364-2005, 17.2.9, allows in a memory file.
    #[test]
    fn a_memory_file_is_read_as_the_standard_says() {
        let text = "// head @7 FF\n0A /* two\nlines */ ff\n@2 1_2\n//end";
        assert_eq!(read_memory_image(text), Ok(vec![0x0A, 0xFF, 0x12]));
        assert_eq!(read_memory_image("/* // */ 3 // /* \n 4"), Ok(vec![3, 4]));
        for bad in ["@5 01", "xx", "0g", "+1", "/* open", "1FFFFFFFF", "_"] {
            assert!(read_memory_image(bad).is_err(), "{bad}");
        }
    }
}
