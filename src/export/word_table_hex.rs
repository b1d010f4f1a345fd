//! `word-table.hex`: the chosen words at the chosen frequency as a memory image for `$readmemh` (IEEE Std 1364 and
//! 1800): white space, `//` comments and hexadecimal numbers, the first at address 0.

use super::ceiling::refuse_above_ceiling;
use super::refused::{ExportRefused, analysis_of};
use super::word_table::ChosenAt;
use crate::control::{Direction, Layout, Quantity, Word};
use crate::pipeline::{ControllerMap, Report};
use crate::sheet::Sheet;
use crate::table::{Image, image};
use std::fmt::Write;

pub(super) fn make(report: &Report, sheet: &Sheet) -> Result<Vec<u8>, ExportRefused> {
    let analysis = analysis_of(report)?;
    let layout = analysis.layout().ok_or(ExportRefused::NoBits)?;
    let chosen = ChosenAt::from(&analysis.service);
    let hertz = *report.intake.frequency_hz.get(chosen.index).ok_or(ExportRefused::OtherRun)?;
    refuse_above_ceiling(report, &analysis.targets, chosen, hertz)?;

    let map = &report.settings.controller_map;
    let words: Vec<Word> =
        chosen.served.iter().map(|served| report.intake.states[served.state].word).collect();
    let image = image(layout, &analysis.targets, &words, map).map_err(ExportRefused::Image)?;

    let mut text = String::new();
    for line in header(sheet, &image, map) {
        text.push_str("// ");
        text.push_str(&line);
        text.push('\n');
    }
    let digits = image.bits.div_ceil(4);
    for bus_word in &image.words {
        writeln!(text, "{bus_word:0digits$X}").map_err(|_| ExportRefused::ReadBack("no room".to_owned()))?;
    }
    check(&text, report, layout, &words, image.bits)?;
    Ok(text.into_bytes())
}

/// Reads the text back and compares every address with the word that the table gives the setting there. The address
/// comes from the setting's nominal codes here, not from the order in which the image was laid out.
fn check(
    text: &str,
    report: &Report,
    layout: &Layout,
    words: &[Word],
    bits: usize,
) -> Result<(), ExportRefused> {
    let analysis = analysis_of(report)?;
    let read = read_memory_image(text).map_err(ExportRefused::ReadBack)?;
    if read.len() != words.len() {
        return Err(ExportRefused::ReadBack(format!("{} words instead of {}", read.len(), words.len())));
    }
    for (target, &word) in analysis.targets.iter().zip(words) {
        let Some(nominal) = target.nominal_word else {
            return Err(ExportRefused::ReadBack("a setting has no address".to_owned()));
        };
        let address = address(layout, nominal);
        let found = read.get(address).map(|&bus| report.settings.controller_map.measured_word(bus, bits));
        if found != Some(word) {
            return Err(ExportRefused::ReadBack(format!("address {address} does not hold word {}", word.0)));
        }
    }
    Ok(())
}

/// The address of the setting that a word nominally makes, from its codes.
fn address(layout: &Layout, word: Word) -> usize {
    let axis = |quantity| {
        let field = layout.of(quantity).next();
        field.map_or((0, 1, Direction::Down), |field| (field.code(word), field.codes(), field.direction))
    };
    let (gain_code, gain_codes, direction) = axis(Quantity::Gain);
    let (phase_code, phase_codes, _) = axis(Quantity::Phase);
    let gain_index = if direction == Direction::Down { gain_code } else { gain_codes - 1 - gain_code };
    (gain_index * phase_codes + phase_code) as usize
}

fn header(sheet: &Sheet, image: &Image, map: &ControllerMap) -> Vec<String> {
    let mut lines = sheet.provenance.comment_lines();
    let Image { bits, gain_codes, phase_codes, .. } = *image;
    lines.push(format!(
        "address: gain index * {phase_codes} + phase index; gain index 0 to {}, 0 the highest gain, each next one \
         step down; phase index 0 to {}, index k at k nominal steps",
        gain_codes - 1,
        phase_codes - 1
    ));
    let order: Vec<String> = if map.bus_bit.is_empty() {
        vec!["measured bit k drives bus bit k".to_owned()]
    } else {
        map.bus_bit
            .iter()
            .enumerate()
            .map(|(bit, bus)| format!("measured bit {bit} drives bus bit {bus}"))
            .collect()
    };
    let inverted: Vec<String> =
        (0..bits).filter(|bit| map.inverted >> bit & 1 == 1).map(|bit| bit.to_string()).collect();
    lines.push(format!("bit order: {bits} bits, {}", order.join(", ")));
    let inverted = match inverted.as_slice() {
        [] => "none".to_owned(),
        [only] => format!("measured bit {only}"),
        several => format!("measured bits {}", several.join(", ")),
    };
    lines.push(format!("inverted on the bus: {inverted}"));
    lines.push(
        if map.reversed {
            "serial order: reversed, bus bit 0 is written as the most significant bit"
        } else {
            "serial order: as is, bus bit 0 is the least significant bit"
        }
        .to_owned(),
    );
    lines
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

/// Every comment replaced by a space.
fn without_comments(text: &str) -> Result<String, String> {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(start) = rest.find("//").into_iter().chain(rest.find("/*")).min() {
        out.push_str(&rest[..start]);
        out.push(' ');
        let comment = &rest[start..];
        rest = if comment.starts_with("//") {
            comment.find('\n').map_or("", |end| &comment[end..])
        } else {
            let end = comment[2..].find("*/").ok_or("a comment is not closed")?;
            &comment[2 + end + 2..]
        };
    }
    out.push_str(rest);
    Ok(out)
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
