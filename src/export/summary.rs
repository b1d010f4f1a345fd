//! `summary.json`: the whole sheet for scripts.

use super::refused::ExportRefused;
use super::summary_fine;
use crate::control::{ControlModel, Layout, Listing, WantedSettings};
use crate::pipeline::{
    Analysis, BandError, Comparison, HeldError, LayoutOrigin, Mapping, Report, Settings, TableForPiece,
};
use crate::plane::{BandScore, ReferencePolicy, Score};
use crate::run::{Adapted, PortPath};
use crate::sheet::band::{over_band, score_of};
use crate::sheet::{
    Answer, FindingLine, LeftOutLine, Provenance, RunVerdict, Sheet, SpecificationLine, ToolFacts,
};
use serde::Serialize;

pub(super) fn make(report: &Report, sheet: &Sheet) -> Result<Vec<u8>, ExportRefused> {
    let grid = &report.intake.frequency_hz;
    let analysis = report.analysis.as_ref().ok();
    let file = SummaryFile {
        tool: &sheet.tool,
        provenance: &sheet.provenance,
        inputs: Inputs {
            files: report.intake.paths.len(),
            bytes: report.intake.bytes,
            digest: &report.intake.digest,
            words: report.intake.states.len(),
            missing_words: report.intake.missing.iter().map(|word| word.0).collect(),
            left_out: &sheet.left_out,
            interpolated: adapted_paths(report, |adapted| adapted.interpolated),
            renormalised: adapted_paths(report, |adapted| adapted.renormalised_from.is_some()),
            path: (report.intake.most_ports > 2).then_some(report.intake.path),
        },
        grid: Grid {
            points: grid.len(),
            first_hz: grid.first().copied(),
            last_hz: grid.last().copied(),
            reference_ohm: report.intake.reference_ohm,
        },
        layout: analysis.and_then(|analysis| {
            Some(LayoutInUse {
                layout: analysis.layout()?,
                guessed: matches!(analysis.layout_origin, LayoutOrigin::Guessed(_)),
                reason: match &analysis.layout_origin {
                    LayoutOrigin::Guessed(reason) => Some(reason),
                    _ => None,
                },
            })
        }),
        listed: analysis.and_then(|analysis| listed(&analysis.model)),
        settings: &report.settings,
        findings: report.checks.as_ref().map(|_| sheet.findings.as_slice()),
        specification: &sheet.specification,
        verdict: sheet.provenance.verdict,
        is_checked_in_part: sheet.provenance.is_checked_in_part,
        answers: &sheet.answers,
        scores: analysis.map(|analysis| scores(analysis, grid)),
        resolution: summary_fine::resolution(report),
        constellations: summary_fine::constellations(report),
        ladder: report
            .comparison
            .as_ref()
            .map_or_else(Vec::new, |comparison| ladder(comparison, sheet, grid)),
        band_table: band_table(report),
    };
    let mut json =
        serde_json::to_vec_pretty(&file).map_err(|error| ExportRefused::Json(error.to_string()))?;
    json.push(b'\n');
    Ok(json)
}

#[derive(Serialize)]
struct SummaryFile<'a> {
    tool: &'a ToolFacts,
    provenance: &'a Provenance,
    inputs: Inputs<'a>,
    grid: Grid,
    layout: Option<LayoutInUse<'a>>,
    /// In place of the layout in a run without bits.
    #[serde(skip_serializing_if = "Option::is_none")]
    listed: Option<ListedInUse<'a>>,
    settings: &'a Settings,
    /// Null where the run has not been checked: that nothing was found must not be read into it.
    findings: Option<&'a [FindingLine]>,
    /// Every row that the fields were held against; a verdict is null until it is judged.
    specification: &'a [SpecificationLine],
    verdict: RunVerdict,
    /// Some of what was to be checked could not be, so that a sound run is sound in the rest.
    is_checked_in_part: bool,
    answers: &'a [Answer],
    scores: Option<Scores>,
    /// Null where there is no resolution map.
    resolution: Option<summary_fine::Resolution>,
    /// Null where none can be formed.
    constellations: Option<summary_fine::Constellations>,
    ladder: Vec<LadderStep<'a>>,
    /// Null where there is no table for the band.
    band_table: Option<BandTableValues>,
}

#[derive(Serialize)]
struct Inputs<'a> {
    files: usize,
    bytes: u64,
    digest: &'a str,
    words: usize,
    missing_words: Vec<u32>,
    left_out: &'a [LeftOutLine],
    /// Files whose values were interpolated to the run's frequencies.
    interpolated: Vec<&'a str>,
    /// Files that were renormalised to the run's reference impedance.
    renormalised: Vec<&'a str>,
    /// The path through files of more than two ports.
    path: Option<PortPath>,
}

fn adapted_paths(report: &Report, which: fn(&Adapted) -> bool) -> Vec<&str> {
    let adapted = report.intake.adapted.iter().filter(|adapted| which(adapted));
    adapted.filter_map(|adapted| report.intake.paths.get(adapted.file)).map(String::as_str).collect()
}

#[derive(Serialize)]
struct Grid {
    points: usize,
    first_hz: Option<f64>,
    last_hz: Option<f64>,
    reference_ohm: f64,
}

#[derive(Serialize)]
struct LayoutInUse<'a> {
    #[serde(flatten)]
    layout: &'a Layout,
    guessed: bool,
    reason: Option<&'a String>,
}

#[derive(Serialize)]
struct ListedInUse<'a> {
    words: usize,
    has_nominal_settings: bool,
    wanted: Option<&'a WantedSettings>,
}

#[derive(Serialize)]
struct Scores {
    at_frequency: AtChosenFrequency,
    design_band: OverDesignBand,
}

#[derive(Serialize)]
struct AtChosenFrequency {
    frequency_hz: f64,
    nominal: Option<ScoreValues>,
    chosen: Option<ScoreValues>,
    held: Option<ScoreValues>,
}

#[derive(Serialize)]
struct OverDesignBand {
    first_hz: f64,
    last_hz: f64,
    nominal: Option<BandValues>,
    chosen: Option<BandValues>,
    held: Option<BandValues>,
}

/// A score under the names of the CSV columns; the vector error in percent.
#[derive(Serialize)]
struct ScoreValues {
    rms_gain_error_db: f64,
    rms_phase_error_deg: f64,
    rms_vector_error_pct: f64,
    within_gain_pct: f64,
    within_phase_pct: f64,
    within_both_pct: f64,
    missing: usize,
}

#[derive(Serialize)]
struct BandValues {
    #[serde(flatten)]
    score: ScoreValues,
    worst_vector_error_hz: f64,
    worst_vector_error_pct: f64,
    worst_within_both_hz: f64,
    worst_within_both_pct: f64,
}

#[derive(Serialize)]
struct LadderStep<'a> {
    mapping: Mapping,
    reference: ReferencePolicy,
    /// What all states are divided by at the chosen frequency: real and imaginary part.
    divisor: [f64; 2],
    gain_given_up_db: Option<f64>,
    at_frequency: ScoreValues,
    design_band: BandValues,
    sentence: &'a str,
}

impl From<&Score> for ScoreValues {
    fn from(score: &Score) -> Self {
        Self {
            rms_gain_error_db: score.rms_gain_error_db,
            rms_phase_error_deg: score.rms_phase_error_deg,
            rms_vector_error_pct: 100.0 * score.rms_vector_error,
            within_gain_pct: score.within_gain_pct,
            within_phase_pct: score.within_phase_pct,
            within_both_pct: score.within_both_pct,
            missing: score.missing,
        }
    }
}

fn scores(analysis: &Analysis, grid: &[f64]) -> Scores {
    let at = &analysis.frequencies[analysis.service.index];
    let value = |mapping| score_of(at, mapping).map(ScoreValues::from);
    let band = |mapping| {
        over_band(&analysis.frequencies, &analysis.design_band, mapping)
            .map(|summary| band_values(&summary, grid))
    };
    Scores {
        at_frequency: AtChosenFrequency {
            frequency_hz: grid[analysis.service.index],
            nominal: value(Mapping::Nominal),
            chosen: value(Mapping::Chosen),
            held: value(Mapping::Held),
        },
        design_band: OverDesignBand {
            first_hz: grid[*analysis.design_band.start()],
            last_hz: grid[*analysis.design_band.end()],
            nominal: band(Mapping::Nominal),
            chosen: band(Mapping::Chosen),
            held: band(Mapping::Held),
        },
    }
}

#[derive(Serialize)]
struct BandTableValues {
    first_hz: f64,
    last_hz: f64,
    /// What was made smallest, and what both errors are of all settings.
    error: BandError,
    vector_error_pct: f64,
    per_frequency_vector_error_pct: f64,
    /// Null where no error is given or proposed.
    fewest: Option<FewestValues>,
}

#[derive(Serialize)]
struct FewestValues {
    held_error_pct: f64,
    proposed: bool,
    /// Null where no number of tables holds the error.
    tables: Option<Vec<PieceValues>>,
    out_of_reach: Option<OutOfReachValues>,
}

#[derive(Serialize)]
struct PieceValues {
    first_hz: f64,
    last_hz: f64,
    worst_vector_error_pct: f64,
}

#[derive(Serialize)]
struct OutOfReachValues {
    frequency_hz: f64,
    settings: usize,
}

fn band_table(report: &Report) -> Option<BandTableValues> {
    let one = report.tables.band.as_deref()?;
    let grid = &report.intake.frequency_hz;
    let (vector_error, per_frequency) = one.table.penalty(one.error)?;
    let piece = |table: &TableForPiece| PieceValues {
        first_hz: grid[*table.piece.start()],
        last_hz: grid[*table.piece.end()],
        worst_vector_error_pct: 100.0 * table.errors.iter().copied().fold(0.0, f64::max),
    };
    let fewest = report.tables.fewest.as_deref().map(|fewest| FewestValues {
        held_error_pct: fewest.limit.pct(),
        proposed: !matches!(fewest.limit, HeldError::Given { .. }),
        tables: fewest.tables.as_ref().ok().map(|tables| tables.iter().map(piece).collect()),
        out_of_reach: fewest
            .tables
            .as_ref()
            .err()
            .map(|out| OutOfReachValues { frequency_hz: grid[out.frequency], settings: out.targets.len() }),
    });
    Some(BandTableValues {
        first_hz: grid[*one.band.start()],
        last_hz: grid[*one.band.end()],
        error: one.error,
        vector_error_pct: 100.0 * vector_error,
        per_frequency_vector_error_pct: 100.0 * per_frequency,
        fewest,
    })
}

fn listed(model: &ControlModel) -> Option<ListedInUse<'_>> {
    let ControlModel::Listed(listing) = model else { return None };
    let wanted = match listing {
        Listing::Settings(_) => None,
        Listing::Marks(_, wanted) => Some(wanted),
    };
    Some(ListedInUse { words: listing.words(), has_nominal_settings: model.has_nominal(), wanted })
}

fn band_values(summary: &BandScore, grid: &[f64]) -> BandValues {
    BandValues {
        score: ScoreValues::from(&summary.score),
        worst_vector_error_hz: grid[summary.worst_vector_index],
        worst_vector_error_pct: 100.0 * summary.worst_vector_error,
        worst_within_both_hz: grid[summary.worst_share_index],
        worst_within_both_pct: summary.worst_share_pct,
    }
}

fn ladder<'a>(comparison: &Comparison, sheet: &'a Sheet, grid: &[f64]) -> Vec<LadderStep<'a>> {
    let steps = comparison.ladder.iter().zip(&sheet.ladder);
    steps
        .map(|(rung, row)| LadderStep {
            mapping: rung.mapping,
            reference: rung.reference,
            divisor: [rung.divisor.re, rung.divisor.im],
            gain_given_up_db: rung.gain_given_up_db,
            at_frequency: ScoreValues::from(&rung.at_frequency),
            design_band: band_values(&rung.band, grid),
            sentence: &row.sentence,
        })
        .collect()
}
