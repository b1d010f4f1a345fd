//! Question 5 on the page: errors of the mappings, the ladder, and the look-up of one setting.

use super::app::{Handle, Shown};
use super::dom::{self, by_id};
use super::{canvas, looking, numbers, terms};
use crate::control::Setting;
use crate::export::plots::{self, MAPPINGS};
use crate::export::{View, numbers as drawn};
use crate::pipeline::{Analysis, Conductor, Report};
use crate::plane::{Score, target_gain, wrap_deg};
use crate::sheet::band::{over_band, score_of};
use crate::sheet::picked::also_called;
use crate::sheet::wording::{decibels, degrees, frequency, percent, ratio_percent};
use crate::sheet::{Answer, Figure, LadderRow, captions, tables};
use web_sys::Element;

/// Shows the question.
pub fn show(app: &Handle, shown: &Shown) {
    dom::show("words", true);
    dom::show("words-detail", shown.report.analysis.is_ok());
    // The answer first: a term is explained where it is first written.
    tell_here(app, &shown.report, shown.sheet.answer("words"));
    show_errors(app, &shown.report);
    let Ok(analysis) = &shown.report.analysis else { return };
    dom::show("references-figure", shown.report.comparison.is_some());
    canvas::draw("references-canvas", |pad| {
        plots::references(&mut pad.surface, pad.frame, pad.theme, &shown.report, analysis)
    });
    if let Some(caption) = captions::references(&shown.report, analysis) {
        dom::set_caption("references", &caption);
    }
    numbers::show("references", "RMS relative vector error under every reference", || {
        drawn::references(&shown.report, analysis)
    });
    show_ladder(&shown.sheet.ladder);
    show_tables(&shown.report);
}

/// Shows the errors of the mappings and of the state picked out, as plots and as tables.
pub fn show_errors(app: &Handle, report: &Report) {
    draw_errors(app, report);
    let Ok(analysis) = &report.analysis else { return };
    let view = looking::view(app);
    caption_errors(report, analysis, &view);
    numbers::show("error", "RMS relative vector error of the mappings", || {
        drawn::errors(report, analysis, &view)
    });
    numbers::show("share", "settings within tolerance", || drawn::shares(report, analysis, &view));
}

/// Draws the errors of the mappings against frequency, with the chosen one.
pub fn draw_errors(app: &Handle, report: &Report) {
    let Ok(analysis) = &report.analysis else { return };
    let view = looking::view(app);
    canvas::draw("error-canvas", |pad| {
        plots::errors(&mut pad.surface, pad.frame, pad.theme, report, analysis, &view)
    });
    canvas::draw("share-canvas", |pad| {
        plots::share(&mut pad.surface, pad.frame, pad.theme, report, analysis, &view)
    });
}

fn caption_errors(report: &Report, analysis: &Analysis, view: &View) {
    let (mut error, mut share) = (captions::errors(report, analysis), captions::shares(report, analysis));
    if let Some((trace, setting)) = view.served(report, analysis) {
        let errors_pct = trace.vector_errors_pct(setting);
        error += &captions::picked_error(trace.label(), setting, &errors_pct, analysis.service.index);
        share += &captions::picked_within(trace.label(), setting);
    }
    dom::set_caption("error", &error);
    dom::set_caption("share", &share);
}

/// Writes what is said of them at the chosen frequency.
pub fn tell_here(app: &Handle, report: &Report, answer: Option<&Answer>) {
    dom::show_answer(answer);
    let Ok(analysis) = &report.analysis else { return };
    caption_errors(report, analysis, &looking::view(app));
    show_scores(report, analysis);
    show_lookup(report);
}

/// How far the tables for the design band are.
pub fn show_progress(app: &Handle) {
    let made_pct = app.borrow().conductor().and_then(Conductor::tables_made_pct);
    let text = made_pct.map(|pct| format!("Tables for the design band: {pct:.0} % made.", pct = pct.floor()));
    dom::set_message("tables-progress", text.as_deref());
}

/// The tables for the design band, once they are worked out.
fn show_tables(report: &Report) {
    let rows = tables::rows(report);
    dom::show("tables-block", rows.is_some());
    if let Some((head, rows)) = rows {
        dom::fill_table(&by_id::<Element>("tables"), &head, &rows);
    }
}

fn show_scores(report: &Report, analysis: &Analysis) {
    let grid = &report.intake.frequency_hz;
    let at = &analysis.frequencies[analysis.service.index];
    let here = frequency(grid[analysis.service.index]);
    let head = [
        "Mapping",
        "RMS gain error",
        "RMS phase error",
        "RMS vector error",
        "Within gain",
        "Within phase",
        "Within both",
    ];
    let cells = |label: String, score: &Score| {
        vec![
            label,
            decibels(score.rms_gain_error_db),
            degrees(score.rms_phase_error_deg),
            ratio_percent(score.rms_vector_error),
            percent(score.within_gain_pct),
            percent(score.within_phase_pct),
            percent(score.within_both_pct),
        ]
    };
    let mut rows: Vec<Vec<String>> = MAPPINGS
        .iter()
        .filter_map(|&(mapping, name, _)| Some(cells(format!("{name}, at {here}"), score_of(at, mapping)?)))
        .collect();
    rows.extend(MAPPINGS.iter().filter_map(|&(mapping, name, _)| {
        let band = over_band(&analysis.frequencies, &analysis.design_band, mapping)?;
        Some(cells(format!("{name}, over the design band"), &band.score))
    }));
    dom::fill_table(&by_id::<Element>("scores"), &head.map(str::to_owned), &rows);
}

fn show_ladder(ladder: &[LadderRow]) {
    let sentences: Vec<&str> = ladder.iter().map(|row| row.sentence.as_str()).collect();
    let text =
        if ladder.is_empty() { "The references are being compared.".to_owned() } else { sentences.join(" ") };
    terms::say("ladder-sentence", &text);
    let (head, rows) = ladder_table(ladder);
    dom::fill_table(&by_id::<Element>("ladder"), &head, &rows);
}

/// The ladder as a head and rows of texts.
pub fn ladder_table(ladder: &[LadderRow]) -> (Vec<String>, Vec<Vec<String>>) {
    let names = ladder.iter().max_by_key(|row| row.figures.len()).map_or(&[][..], |row| &row.figures);
    let head = std::iter::once("Step".to_owned()).chain(names.iter().map(|figure| figure.label.to_owned()));
    let cell = |row: &LadderRow, name: &Figure| {
        row.figures
            .iter()
            .find(|figure| figure.name == name.name)
            .map_or("–".to_owned(), |figure| figure.text.clone())
    };
    let rows = ladder.iter().map(|row| {
        std::iter::once(row.label.clone()).chain(names.iter().map(|name| cell(row, name))).collect()
    });
    (head.collect(), rows.collect())
}

/// The chosen word for the setting typed in.
pub fn show_lookup(report: &Report) {
    let wanted =
        (dom::input_value("lookup-gain").parse::<f64>(), dom::input_value("lookup-phase").parse::<f64>());
    let text = match (wanted, &report.analysis) {
        ((Ok(gain_db), Ok(phase_deg)), Ok(analysis)) if gain_db.is_finite() && phase_deg.is_finite() => {
            lookup(report, analysis, Setting { gain_db, phase_deg })
        }
        _ => "Give a gain in dB and a phase in degrees as plain numbers.".to_owned(),
    };
    terms::say("lookup-answer", &text);
}

fn lookup(report: &Report, analysis: &Analysis, wanted: Setting) -> String {
    let z = target_gain(wanted);
    let service = &analysis.service;
    let relative = service.transmission.iter().map(|t| t / service.reference);
    let nearest = relative.enumerate().min_by(|a, b| (a.1 - z).norm_sqr().total_cmp(&(b.1 - z).norm_sqr()));
    let Some((state, gain)) = nearest else { return String::new() };
    let word = report.intake.states[state].word;
    format!(
        "At {} the nearest state is word {}{}: {} and {} relative to the reference, {} from what was asked.",
        frequency(report.intake.frequency_hz[service.index]),
        word.0,
        also_called(report, analysis, word),
        decibels(20.0 * gain.norm().log10()),
        degrees(wrap_deg(gain.arg().to_degrees())),
        ratio_percent((gain - z).norm() / z.norm())
    )
}
