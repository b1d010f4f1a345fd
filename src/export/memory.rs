//! Word tables laid out by address, as every memory image writes them: one, or several one after the other.

use super::band_tables::{SpanTables, WhichTable};
use super::ceiling::refuse_above_ceiling;
use super::refused::{ExportRefused, analysis_of};
use super::word_table::ChosenAt;
use crate::control::{Direction, Layout, Quantity, Word};
use crate::pipeline::Report;
use crate::sheet::Sheet;
use crate::table::{Image, image};

/// Tables by address, with what is needed to check a file made of them.
pub(super) struct Memory<'a> {
    report: &'a Report,
    /// Where tables for a band come from; `None` of the table of the chosen frequency.
    spans: Option<SpanTables<'a>>,
    /// Per table the measured word that serves each target.
    tables: Vec<Vec<Word>>,
    /// Per table the bus words by address; there is at least one table.
    pub(super) images: Vec<Image>,
}

impl<'a> Memory<'a> {
    /// Lays out the tables asked for; refused above the gain ceiling.
    pub(super) fn of(report: &'a Report, which: WhichTable) -> Result<Self, ExportRefused> {
        let analysis = analysis_of(report)?;
        let layout = analysis.layout().ok_or(ExportRefused::NoBits)?;
        let (spans, tables) = if which == WhichTable::AtFrequency {
            (None, vec![Self::chosen_here(report)?])
        } else {
            let spans = SpanTables::of(report, which)?;
            let tables = spans.tables.iter().map(|table| spans.words(table)).collect();
            (Some(spans), tables)
        };
        let map = &report.settings.controller_map;
        let images = tables.iter().map(|words: &Vec<Word>| image(layout, &analysis.targets, words, map));
        let images = images.collect::<Result<Vec<Image>, _>>().map_err(ExportRefused::Image)?;
        if images.is_empty() {
            return Err(ExportRefused::NoBandTable);
        }
        Ok(Self { report, spans, tables, images })
    }

    /// The words chosen at the chosen frequency.
    fn chosen_here(report: &Report) -> Result<Vec<Word>, ExportRefused> {
        let analysis = analysis_of(report)?;
        let chosen = ChosenAt::from(&analysis.service);
        let hertz = *report.intake.frequency_hz.get(chosen.index).ok_or(ExportRefused::OtherRun)?;
        refuse_above_ceiling(report, &analysis.targets, chosen, hertz)?;
        Ok(chosen.served.iter().map(|served| report.intake.states[served.state].word).collect())
    }

    /// The words of one table have this form in all of them.
    pub(super) fn form(&self) -> &Image {
        &self.images[0]
    }

    /// Bus words of all tables, one after the other.
    pub(super) fn bus_words(&self) -> impl Iterator<Item = u32> {
        self.images.iter().flat_map(|image| &image.words).copied()
    }

    /// One fact a line: provenance, address rule, bit order.
    pub(super) fn header(&self, sheet: &Sheet) -> Vec<String> {
        let mut lines = match &self.spans {
            Some(spans) => spans.comment_lines(sheet),
            None => sheet.provenance.comment_lines(),
        };
        let Image { bits, gain_codes, phase_codes, .. } = *self.form();
        let tables = match self.images.len() {
            1 => String::new(),
            _ => format!("table * {} + ", gain_codes * phase_codes),
        };
        let map = &self.report.settings.controller_map;
        lines.push(format!(
        "address: {tables}gain index * {phase_codes} + phase index; gain index 0 to {}, 0 the highest gain, each next one \
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
        let settings = analysis.targets.len();
        let words: usize = self.tables.iter().map(Vec::len).sum();
        if read.len() != words || words != settings * self.tables.len() {
            let detail = format!("{} words instead of {words}", read.len());
            return Err(ExportRefused::ReadBack(detail));
        }
        let map = &self.report.settings.controller_map;
        let wanted = self.tables.iter().enumerate().flat_map(|(number, table)| {
            analysis.targets.iter().zip(table).map(move |(target, word)| (number, target, *word))
        });
        for (number, target, word) in wanted {
            let Some(nominal) = target.nominal_word else {
                return Err(ExportRefused::ReadBack("a setting has no address".to_owned()));
            };
            let address = number * settings + address(layout, nominal);
            let found = read.get(address).map(|&bus| map.measured_word(bus, self.form().bits));
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
