//! Where the numbers came from: the same few facts on the sheet and in every export.

use super::wording::{counted, exact, frequency};
pub use crate::checks::RunVerdict;
use crate::control::{ControlModel, Direction, Field, Layout, Listing, Quantity};
use crate::pipeline::{LayoutOrigin, ListedPhases, Report};
use crate::plane::{ReferencePolicy, Tolerance};
use crate::table::SelectionRule;
use serde::Serialize;

/// The values of uneven codes are written out up to so many.
const MOST_LEVELS: usize = 8;

/// The line that goes with every table.
pub const CHECK_LINE: &str = "check against the part's limits before driving hardware";

/// What the sheet has to be told about the tool, which knows no clock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ToolFacts {
    /// The tool's name.
    pub name: &'static str,
    /// Its version.
    pub version: &'static str,
    /// The date on which the sheet is made, as YYYY-MM-DD.
    pub date: String,
}

impl ToolFacts {
    /// This build of the tool, used on `date`.
    pub fn on(date: &str) -> Self {
        Self { name: "Sweepfold", version: env!("CARGO_PKG_VERSION"), date: date.to_owned() }
    }
}

/// Where the numbers of a sheet or an export came from. Texts are plain ASCII, since memory images carry them as
/// comments, and hold nothing from file names.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Provenance {
    /// Name and version.
    pub tool: String,
    /// The run's input digest, lower-case hexadecimal.
    pub input_digest: String,
    /// What is taken as the transmission: S21 or S12.
    pub transmission: &'static str,
    /// The fields with bits, steps, directions and polarity, and whether they were guessed; in a run without bits, what
    /// is listed; `None` without analysis.
    pub layout: Option<String>,
    /// The reference rule in use; `None` without analysis.
    pub reference_rule: Option<String>,
    /// How a word is picked for a target.
    pub mapping_rule: String,
    /// What a setting may be off by; `None` without analysis.
    pub tolerance: Option<String>,
    /// The chosen frequency in hertz; `None` without analysis.
    pub frequency_hz: Option<f64>,
    /// First and last frequency of the design band in hertz; `None` without analysis.
    pub design_band_hz: Option<(f64, f64)>,
    /// The run's verdict.
    pub verdict: RunVerdict,
    /// Whether something could not be checked that was to be, so that the verdict is of the rest alone.
    #[serde(skip)]
    pub is_checked_in_part: bool,
    /// The gain ceiling in dB, if the user set one.
    pub gain_ceiling_db: Option<f64>,
    /// [`CHECK_LINE`].
    pub check: &'static str,
}

impl Provenance {
    /// The facts of a report. The verdict is `unchecked` until the checks are complete.
    pub fn of(report: &Report, tool: &ToolFacts) -> Self {
        let analysis = report.analysis.as_ref().ok();
        let grid = &report.intake.frequency_hz;
        Self {
            tool: format!("{} {}", tool.name, tool.version),
            input_digest: report.intake.digest.clone(),
            transmission: report.settings.transmission.name(),
            layout: analysis.map(|analysis| {
                let origin = match analysis.layout_origin {
                    LayoutOrigin::Guessed(_) => "guessed",
                    LayoutOrigin::Given | LayoutOrigin::Marks { proposed: false } => "given",
                    LayoutOrigin::Listed(ListedPhases::AsWritten) => "as listed",
                    LayoutOrigin::Listed(ListedPhases::Guessed { lags: true }) => {
                        "as listed, phases taken as lags"
                    }
                    LayoutOrigin::Listed(ListedPhases::Guessed { lags: false }) => {
                        "as listed, phases taken as leads"
                    }
                    LayoutOrigin::Listed(ListedPhases::Given { lags: true }) => {
                        "as listed, phases given as lags"
                    }
                    LayoutOrigin::Listed(ListedPhases::Given { lags: false }) => {
                        "as listed, phases given as leads"
                    }
                    LayoutOrigin::Marks { proposed: true } => "proposed",
                };
                format!("{} ({origin})", model_text(&analysis.model))
            }),
            reference_rule: analysis.map(|analysis| reference_name_in(analysis.reference, &analysis.model)),
            mapping_rule: mapping_text(report),
            tolerance: analysis.map(|analysis| tolerance_text(&analysis.tolerance)),
            frequency_hz: analysis.map(|analysis| grid[analysis.service.index]),
            design_band_hz: analysis
                .map(|analysis| (grid[*analysis.design_band.start()], grid[*analysis.design_band.end()])),
            verdict: super::trust::verdict(report),
            is_checked_in_part: super::trust::is_checked_in_part(report),
            gain_ceiling_db: report.settings.gain_ceiling_db,
            check: CHECK_LINE,
        }
    }

    /// The verdict for people, who are not to take it for more than it is.
    pub fn verdict_text(&self) -> String {
        match self.verdict {
            RunVerdict::Sound if self.is_checked_in_part => "sound in what could be checked".to_owned(),
            other => other.to_string(),
        }
    }

    /// One fact a line, for the comments of a file that holds a single table at the chosen frequency.
    pub fn comment_lines(&self) -> Vec<String> {
        let frequency = self.frequency_hz.map_or_else(|| "none".to_owned(), |hertz| format!("{hertz} Hz"));
        self.comment_lines_of(&self.mapping_rule, &frequency)
    }

    /// The same for the printed sheet, which tells of the design band too and writes signs and units as people do.
    pub fn lines_on_paper(&self) -> Vec<String> {
        // To the last digit, as the files have it: the paper names the same point.
        let gigahertz = |hertz: f64| format!("{} GHz", hertz / 1e9);
        let band = self
            .design_band_hz
            .map(|(first, last)| format!("design band: {} to {}", gigahertz(first), gigahertz(last)));
        let here = self.frequency_hz.map_or_else(|| "none".to_owned(), gigahertz);
        let mut lines = self.comment_lines_of(&self.mapping_rule, &here);
        lines.splice(lines.len() - 1..lines.len() - 1, band);
        let written = |line: String| line.replace("+-", "±").replace(" deg", "°").replace(" -", " −");
        lines.into_iter().map(written).collect()
    }

    /// The same of tables made by another rule and for other frequencies.
    pub fn comment_lines_of(&self, mapping: &str, frequency: &str) -> Vec<String> {
        let none = || "none".to_owned();
        vec![
            format!("tool: {}", self.tool),
            format!("input digest: {}", self.input_digest),
            format!("transmission: {}", self.transmission),
            format!("layout: {}", self.layout.clone().unwrap_or_else(none)),
            format!("reference: {}", self.reference_rule.clone().unwrap_or_else(none)),
            format!("mapping: {mapping}"),
            format!("tolerance: {}", self.tolerance.clone().unwrap_or_else(none)),
            format!("frequency: {frequency}"),
            format!("verdict of the run: {}", self.verdict_text()),
            format!(
                "gain ceiling: {}",
                self.gain_ceiling_db.map_or_else(none, |ceiling| format!("{ceiling} dB"))
            ),
            self.check.to_owned(),
        ]
    }
}

/// A reference rule as the sheet names it.
pub fn reference_name(policy: ReferencePolicy) -> &'static str {
    match policy {
        ReferencePolicy::ZeroWord => "zero word",
        ReferencePolicy::RingMedian => "ring median",
        ReferencePolicy::RingMedianEachFrequency => "ring median, each frequency",
        ReferencePolicy::FullRing => "full ring",
        ReferencePolicy::Word(_) => "a word",
        ReferencePolicy::BestFitEachFrequency => "best fit, each frequency",
        ReferencePolicy::BestFitOneTurn => "best fit, one turn and scale",
    }
}

/// A rule by which states are chosen, as the sheet names it.
pub fn rule_name(rule: SelectionRule) -> &'static str {
    match rule {
        SelectionRule::Nearest => "nearest state",
        SelectionRule::ToleranceFirst => "tolerance first",
        SelectionRule::Weighted => "weighted errors",
    }
}

/// How words are picked, and of which settings where not all are wanted: "nearest state, one gain step in 2, gains from -12
/// to 0 dB". Plain ASCII.
fn mapping_text(report: &Report) -> String {
    let analysis = report.analysis.as_ref().ok();
    let rule = rule_name(analysis.map_or(report.settings.rule, |analysis| analysis.rule));
    let grid = &report.settings.target_grid;
    let has_steps = analysis.is_none_or(|analysis| analysis.layout().is_some());
    let steps =
        |count: usize, what: &str| (has_steps && count > 1).then(|| format!("one {what} step in {count}"));
    // An end beyond any part stands for none.
    let range = grid.gain_range_db.map(|(low, high)| match (low > -1e3, high < 1e3) {
        (true, false) => format!("gains from {low} dB up"),
        (false, true) => format!("gains up to {high} dB"),
        _ => format!("gains from {low} to {high} dB"),
    });
    let wanted = [steps(grid.every_gain, "gain"), steps(grid.every_phase, "phase"), range];
    std::iter::once(rule.to_owned()).chain(wanted.into_iter().flatten()).collect::<Vec<_>>().join(", ")
}

/// "+-0.25 dB and +-2.8125 deg"; a limit that is not finite limits nothing.
fn tolerance_text(tolerance: &Tolerance) -> String {
    let Tolerance { gain_db, gain_pct_of_setting, phase_deg } = *tolerance;
    let gain = gain_db.is_finite().then(|| match gain_pct_of_setting {
        0.0 => format!("+-{gain_db} dB"),
        percent => format!("+-({gain_db} dB + {percent} % of the setting)"),
    });
    let phase = phase_deg.is_finite().then(|| format!("+-{phase_deg} deg"));
    let both: Vec<String> = gain.into_iter().chain(phase).collect();
    if both.is_empty() { "none".to_owned() } else { both.join(" and ") }
}

/// A reference rule as the sheet of a run names it.
pub fn reference_name_in(policy: ReferencePolicy, model: &ControlModel) -> String {
    match policy {
        ReferencePolicy::ZeroWord => zero_word_name(model).to_owned(),
        ReferencePolicy::Word(word) => format!("word {}", word.0),
        other => reference_name(other).to_owned(),
    }
}

/// A reference rule within a sentence: "the ring median", "word 5".
pub(super) fn the_reference(policy: ReferencePolicy, model: &ControlModel) -> String {
    match policy {
        ReferencePolicy::Word(_) => reference_name_in(policy, model),
        ReferencePolicy::RingMedianEachFrequency => "the ring median of each frequency".to_owned(),
        ReferencePolicy::BestFitEachFrequency => "the best fit of each frequency".to_owned(),
        ReferencePolicy::BestFitOneTurn => "the best fit with one turn and scale".to_owned(),
        other => format!("the {}", reference_name_in(other, model)),
    }
}

/// What stands for no gain and no phase: the zero word, or the lowest mark where marks are names only.
pub fn zero_word_name(model: &ControlModel) -> &'static str {
    if model.has_nominal() { reference_name(ReferencePolicy::ZeroWord) } else { "lowest mark" }
}

/// What words mean, in plain ASCII: the layout, or "no bits: 64 listed settings", or "no bits: 44 marks; wanted: 0 dB
/// at 16 phases from 0 to 337.5 deg".
pub fn model_text(model: &ControlModel) -> String {
    match model {
        ControlModel::Bits(layout) => layout_text(layout),
        ControlModel::Listed(listing @ Listing::Settings(_)) => {
            format!("no bits: {}", counted(listing.words(), "listed setting", "listed settings"))
        }
        ControlModel::Listed(Listing::Marks(marks, wanted)) => format!(
            "no bits: {}; wanted: {} at {}",
            counted(*marks, "mark", "marks"),
            several(&wanted.gains_db, "dB", "gains"),
            several(&wanted.phases_deg, "deg", "phases")
        ),
    }
}

/// "0 dB", "16 phases from 0 to 337.5 deg".
fn several(values: &[f64], unit: &str, kind: &str) -> String {
    match values {
        [] => format!("no {kind}"),
        [only] => format!("{only} {unit}"),
        [first, .., last] => format!("{} {kind} from {first} to {last} {unit}", values.len()),
    }
}

/// "phase: bits 0 to 6, step 2.8125 deg, larger code lags, no bit inverted; gain: …" in plain ASCII.
pub fn layout_text(layout: &Layout) -> String {
    let fields: Vec<String> = layout.fields.iter().map(field_text).collect();
    fields.join("; ")
}

fn field_text(field: &Field) -> String {
    let (name, unit) = match field.quantity {
        Quantity::Gain => ("gain", "dB"),
        Quantity::Phase => ("phase", "deg"),
    };
    let effect = match (field.quantity, field.direction) {
        (Quantity::Gain, Direction::Up) => "larger code amplifies",
        (Quantity::Gain, Direction::Down) => "larger code attenuates",
        (Quantity::Phase, Direction::Up) => "larger code leads",
        (Quantity::Phase, Direction::Down) => "larger code lags",
    };
    let values = match &field.levels {
        None => format!("step {} {unit}", field.step),
        Some(levels) => format!("codes worth {} {unit}", levels_text(levels)),
    };
    format!("{name}: {}, {values}, {effect}, {}", bits_text(field), polarity_text(field))
}

/// The values of the codes: all of a few, of many how many and between which.
fn levels_text(levels: &[f64]) -> String {
    if levels.len() <= MOST_LEVELS {
        return levels.iter().map(f64::to_string).collect::<Vec<_>>().join(" ");
    }
    let (low, high) =
        levels.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &l| (low.min(l), high.max(l)));
    format!("{} uneven values from {low} to {high}", levels.len())
}

/// Positions from the least significant of the code, a rising run of neighbours shortened.
fn bits_text(field: &Field) -> String {
    let positions: Vec<u8> = field.bits.iter().map(|bit| bit.position).collect();
    let rising = positions.windows(2).all(|pair| u16::from(pair[0]) + 1 == u16::from(pair[1]));
    match positions.as_slice() {
        [] => "no bits".to_owned(),
        [only] => format!("bit {only}"),
        [first, second] if rising => format!("bits {first} and {second}"),
        [first, .., last] if rising => format!("bits {first} to {last}"),
        several => {
            let names: Vec<String> = several.iter().map(ToString::to_string).collect();
            format!("bits {} from least significant", names.join(", "))
        }
    }
}

fn polarity_text(field: &Field) -> String {
    let inverted: Vec<String> =
        field.bits.iter().filter(|bit| bit.inverted).map(|bit| bit.position.to_string()).collect();
    match inverted.as_slice() {
        [] => "no bit inverted".to_owned(),
        [only] => format!("bit {only} inverted"),
        several => format!("bits {} inverted", several.join(", ")),
    }
}

/// "at 10 GHz, nearest state, reference: zero word" for the printed sheet.
pub(super) fn settings_line(provenance: &Provenance) -> Option<String> {
    let ceiling = provenance.gain_ceiling_db.map_or_else(
        || "no gain ceiling set".to_owned(),
        |ceiling| format!("gain ceiling {} dB", exact(ceiling)),
    );
    Some(format!(
        "Chosen frequency {}, reference rule {}, mapping rule {}, {ceiling}.",
        frequency(provenance.frequency_hz?),
        provenance.reference_rule.as_ref()?,
        provenance.mapping_rule.replace(" -", " −")
    ))
}
