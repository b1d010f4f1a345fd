//! `word-table.h`: the words of one table, or of several one after the other, as a C99 array, with the numbers and the address rule of
//! `word-table.hex`.

use super::band_tables::WhichTable;
use super::memory::{Memory, without_comments};
use super::refused::ExportRefused;
use crate::control::Layout;
use crate::pipeline::Report;
use crate::sheet::Sheet;
use std::fmt::Write;

// Every word fits the array's element.
const _: () = assert!(Layout::MAX_BITS <= 16);

/// Numbers on a line.
const NUMBERS_A_LINE: usize = 8;

/// The longest part of an identifier that comes from the part's name; C99 (5.2.4.1) tells identifiers apart by their
/// first 63 characters.
const LONGEST_NAME: usize = 31;

pub(super) fn make(report: &Report, sheet: &Sheet, which: WhichTable) -> Result<Vec<u8>, ExportRefused> {
    let memory = Memory::of(report, which)?;
    let image = memory.form();
    let words: Vec<u32> = memory.bus_words().collect();
    let name = identifier(&report.settings.part_name);
    let upper = name.to_ascii_uppercase();
    let mut text = String::new();
    let mut line = |line: std::fmt::Arguments<'_>| writeln!(text, "{line}");
    let mut write = || {
        for fact in memory.header(sheet) {
            line(format_args!("// {fact}"))?;
        }
        line(format_args!("#ifndef {upper}_H\n#define {upper}_H\n\n#include <stdint.h>\n"))?;
        if memory.images.len() > 1 {
            line(format_args!("#define {upper}_TABLES {}", memory.images.len()))?;
        }
        line(format_args!("#define {upper}_GAIN_CODES {}", image.gain_codes))?;
        line(format_args!("#define {upper}_PHASE_CODES {}\n", image.phase_codes))?;
        line(format_args!("static const uint16_t {name}[{}] = {{", words.len()))?;
        let digits = image.bits.div_ceil(4);
        for numbers in words.chunks(NUMBERS_A_LINE) {
            let numbers: Vec<String> = numbers.iter().map(|word| format!("0x{word:0digits$X}")).collect();
            line(format_args!("    {},", numbers.join(", ")))?;
        }
        line(format_args!("}};\n\n#endif"))
    };
    write().map_err(|_| ExportRefused::ReadBack("no room".to_owned()))?;
    let read = read_c_array(&text).map_err(ExportRefused::ReadBack)?;
    memory.check(&read)?;
    Ok(text.into_bytes())
}

/// `word_table`, and the part's name where it has letters or digits: lower case, anything else an underscore. The
/// fixed beginning keeps it clear of keywords and of names that C reserves.
fn identifier(part_name: &str) -> String {
    let mut name = "word_table".to_owned();
    for piece in part_name.split(|c: char| !c.is_ascii_alphanumeric()).filter(|piece| !piece.is_empty()) {
        name.push('_');
        name.push_str(&piece.to_ascii_lowercase());
    }
    name.truncate("word_table_".len() + LONGEST_NAME);
    name
}

/// Reads the one array of a header as a C compiler does: comments and directives aside, `static const uint16_t
/// NAME[COUNT] = { … };` with integer constants (ISO/IEC 9899:1999, 6.4.4.1: decimal, octal after 0, hexadecimal
/// after 0x) that fit 16 bits, as many as COUNT says, a comma allowed after the last.
pub fn read_c_array(text: &str) -> Result<Vec<u32>, String> {
    let code = without_comments(text)?;
    let code: Vec<&str> = code.lines().filter(|line| !line.trim_start().starts_with('#')).collect();
    let code = code.join("\n");
    let (declaration, rest) = code.split_once('=').ok_or("there is no array")?;
    let (head, count) =
        declaration.trim().strip_suffix(']').and_then(|text| text.split_once('[')).ok_or("no array")?;
    let words: Vec<&str> = head.split_whitespace().collect();
    let is_identifier = |name: &str| {
        name.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_')
            && !name.starts_with(|c: char| c.is_ascii_digit())
    };
    if !matches!(words[..], ["static", "const", "uint16_t", name] if is_identifier(name)) {
        return Err(format!("“{}” declares no array of constants", declaration.trim()));
    }
    let list = rest.trim().strip_prefix('{').and_then(|text| text.strip_suffix(';'));
    let list = list.and_then(|text| text.trim_end().strip_suffix('}')).ok_or("the braces do not match")?;
    let list = list.trim();
    let list = list.strip_suffix(',').unwrap_or(list);
    let values =
        list.split(',').map(|number| integer_constant(number.trim())).collect::<Result<Vec<u32>, _>>()?;
    let count = integer_constant(count.trim())?;
    if u32::try_from(values.len()) == Ok(count) {
        Ok(values)
    } else {
        Err(format!("{} numbers in an array of {count}", values.len()))
    }
}

fn integer_constant(text: &str) -> Result<u32, String> {
    let (digits, radix) = match text.strip_prefix("0x").or_else(|| text.strip_prefix("0X")) {
        Some(digits) => (digits, 16),
        None if text.len() > 1 && text.starts_with('0') => (text, 8),
        None => (text, 10),
    };
    let is_number = !digits.is_empty() && digits.chars().all(|c| c.is_digit(radix));
    let value =
        u32::from_str_radix(digits, radix).ok().filter(|&value| is_number && u16::try_from(value).is_ok());
    value.ok_or_else(|| format!("“{text}” is no constant of 16 bits"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The forms of integer constants are those of ISO/IEC 9899:1999, 6.4.4.1.
    #[test]
    fn an_array_is_read_as_a_compiler_does() {
        let text =
            "#ifndef A\n/* = 7 */ static const uint16_t a_1[4] = { 10, 010, // = 9\n 0x1F,0XfF , };\n#endif";
        assert_eq!(read_c_array(text), Ok(vec![10, 8, 31, 255]));
        for bad in [
            "static const uint16_t a[2] = { 1 };",
            "static const uint16_t a[1] = { 0x10000 };",
            "static const uint16_t a[1] = { 08 };",
            "static const uint16_t a[1] = { -1 };",
            "static const uint16_t a[1] = { 1 }",
            "static const uint16_t a[1] = { 1, , };",
            "static const uint16_t 1a[1] = { 1 };",
            "static uint16_t a[1] = { 1 };",
            "static const uint16_t a[1] = { };",
            "",
        ] {
            assert!(read_c_array(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn identifiers_are_safe_whatever_the_part_is_called() {
        for (part, name) in [
            ("", "word_table"),
            ("  ", "word_table"),
            ("Demo 12-bit*/", "word_table_demo_12_bit"),
            ("int", "word_table_int"),
            ("µ-Ω", "word_table"),
            ("a\\\n#error", "word_table_a_error"),
        ] {
            assert_eq!(identifier(part), name);
        }
        assert_eq!(identifier(&"x".repeat(99)).len(), 42);
    }
}
