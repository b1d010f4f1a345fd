//! The chosen words at the chosen frequency laid out by address, as every memory image writes them.

use super::ceiling::refuse_above_ceiling;
use super::refused::{ExportRefused, analysis_of};
use super::word_table::ChosenAt;
use crate::control::{Direction, Layout, Quantity, Word};
use crate::pipeline::Report;
use crate::sheet::Sheet;
use crate::table::{Image, image};

/// One table by address, with what is needed to check a file made of it.
pub(super) struct Memory<'a> {
    report: &'a Report,
    /// The measured word that serves each target.
    words: Vec<Word>,
    /// The bus words by address.
    pub(super) image: Image,
}

impl<'a> Memory<'a> {
    /// Lays out the words chosen at the chosen frequency; refused above the gain ceiling.
    pub(super) fn of(report: &'a Report) -> Result<Self, ExportRefused> {
        let analysis = analysis_of(report)?;
        let layout = analysis.layout().ok_or(ExportRefused::NoBits)?;
        let chosen = ChosenAt::from(&analysis.service);
        let hertz = *report.intake.frequency_hz.get(chosen.index).ok_or(ExportRefused::OtherRun)?;
        refuse_above_ceiling(report, &analysis.targets, chosen, hertz)?;
        let words: Vec<Word> =
            chosen.served.iter().map(|served| report.intake.states[served.state].word).collect();
        let image = image(layout, &analysis.targets, &words, &report.settings.controller_map)
            .map_err(ExportRefused::Image)?;
        Ok(Self { report, words, image })
    }

    /// One fact a line: provenance, address rule, bit order.
    pub(super) fn header(&self, sheet: &Sheet) -> Vec<String> {
        let mut lines = sheet.provenance.comment_lines();
        let Image { bits, gain_codes, phase_codes, .. } = self.image;
        let map = &self.report.settings.controller_map;
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

    /// Compares what was read back from a file with the word that the table gives each setting. The address comes from
    /// the setting's nominal codes here, not from the order in which the image was laid out.
    pub(super) fn check(&self, read: &[u32]) -> Result<(), ExportRefused> {
        let analysis = analysis_of(self.report)?;
        let layout = analysis.layout().ok_or(ExportRefused::NoBits)?;
        if read.len() != self.words.len() {
            let detail = format!("{} words instead of {}", read.len(), self.words.len());
            return Err(ExportRefused::ReadBack(detail));
        }
        let map = &self.report.settings.controller_map;
        for (target, &word) in analysis.targets.iter().zip(&self.words) {
            let Some(nominal) = target.nominal_word else {
                return Err(ExportRefused::ReadBack("a setting has no address".to_owned()));
            };
            let address = address(layout, nominal);
            let found = read.get(address).map(|&bus| map.measured_word(bus, self.image.bits));
            if found != Some(word) {
                return Err(ExportRefused::ReadBack(format!(
                    "address {address} does not hold word {}",
                    word.0
                )));
            }
        }
        Ok(())
    }
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

/// Every comment replaced by a space: `//` to the line's end, and `/* */`, as in Verilog and in C.
pub(super) fn without_comments(text: &str) -> Result<String, String> {
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
