//! Question 1 on the page: what came in, while files are read and afterwards.

use super::app::{Handle, Shown};
use super::dom::{self, by_id};
use super::{canvas, forms};
use crate::pipeline::{Analysis, LayoutOrigin, Progress, Stage};
use crate::run::NamingChoice;
use crate::sheet;
use crate::sheet::wording::{as_sentence, bytes, counted, whole};
use web_sys::Element;

/// Missing words named on the page; the rest are counted.
const MISSING_SHOWN: usize = 200;

/// Moves the progress bar.
pub fn show_progress(progress: &Progress, elapsed_ms: f64) {
    let (done, total) = match progress.stage {
        Stage::Reading => (progress.files.0 as f64, progress.files.1 as f64),
        _ => (progress.frequencies.0 as f64, progress.frequencies.1 as f64),
    };
    let fraction = if total > 0.0 { (done / total).min(1.0) } else { 0.0 };
    let text = match progress.stage {
        Stage::Reading => format!(
            "Reading: {} of {}, {}{}{}.",
            whole(progress.files.0),
            counted(progress.files.1, "file", "files"),
            bytes(progress.bytes),
            of_all_bytes(progress),
            time_left(fraction, elapsed_ms)
        ),
        Stage::Gathering | Stage::Placing | Stage::Weighing => "Sorting the states by frequency.".to_owned(),
        _ => format!(
            "Scoring: {} of {} frequencies.",
            whole(progress.frequencies.0),
            whole(progress.frequencies.1)
        ),
    };
    dom::set_text("progress-text", &text);
    let bar: Element = by_id("progress-bar");
    dom::attribute(&bar, "aria-valuenow", &format!("{:.0}", 100.0 * fraction));
    if let Some(fill) = bar.first_element_child() {
        canvas::scale_across(&fill, fraction);
    }
}

/// Sizes that were not asked for are guessed from the files read so far.
fn of_all_bytes(progress: &Progress) -> String {
    match (progress.all_bytes, progress.files) {
        (Some(all), _) => format!(" of {}", bytes(all)),
        (None, (0, _)) => String::new(),
        (None, (read, files)) => format!(" of about {}", bytes(progress.bytes / read as u64 * files as u64)),
    }
}

/// Nothing is said in the first second and below a tenth: the guess would jump about.
fn time_left(fraction: f64, elapsed_ms: f64) -> String {
    if fraction < 0.1 || elapsed_ms < 1000.0 {
        return String::new();
    }
    let seconds = (elapsed_ms / fraction * (1.0 - fraction) / 1000.0).ceil();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small whole number")]
    let seconds = seconds as usize;
    match seconds {
        0..=90 => format!(", about {} left", counted(seconds, "second", "seconds")),
        _ => format!(", about {} left", counted(seconds.div_ceil(60), "minute", "minutes")),
    }
}

/// The question as far as it can be answered while files are being read.
pub fn show_reading(app: &Handle) {
    let state = app.borrow();
    let Some(conductor) = state.conductor() else { return };
    let progress = conductor.progress();
    dom::show("came-in", true);
    for id in ["strip", "plane", "words", "reach", "sheet", "layout-block", "left-out-block", "missing-block"]
    {
        dom::show(id, false);
    }
    let sentence = format!(
        "So far {} of {} have been read.",
        whole(progress.files.0),
        counted(progress.files.1, "S-parameter file", "S-parameter files")
    );
    dom::set_answer("came-in", &sentence);
    let wanted = conductor.settings().naming;
    let note = sheet::naming_note(conductor.naming(), &conductor.naming_choices(), wanted);
    dom::show_notes("came-in", note.as_slice());
}

/// The complete answer.
pub fn show(shown: &Shown) {
    let report = &shown.report;
    dom::show("came-in", true);
    dom::show_answer(shown.sheet.answer("came-in"));

    show_naming(&report.intake.naming_choices);
    let left_out: Element = by_id("left-out");
    left_out.set_text_content(None);
    for line in &shown.sheet.left_out {
        dom::append(&left_out, &dom::row("td", &[line.path.clone(), line.sentence.clone()], usize::MAX));
    }
    dom::show("left-out-block", !shown.sheet.left_out.is_empty());
    let count = shown.sheet.left_out.len();
    dom::set_text(
        "left-out-summary",
        &format!("{}, each with the reason", counted(count, "file left out", "files left out")),
    );

    let missing = sheet::missing(&report.intake, MISSING_SHOWN);
    dom::show("missing-block", missing.is_some());
    if let Some(missing) = missing {
        dom::set_text("missing-summary", &missing.summary);
        dom::set_text("missing", &missing.names);
    }

    dom::show("layout-block", !report.intake.states.is_empty());
    if let Ok(analysis) = &report.analysis
        && let Some(layout) = analysis.layout()
    {
        forms::show_layout(layout);
    }
    dom::set_text("layout-origin", &layout_origin(report.analysis.as_ref().ok()));
}

/// Offers the readings of the names where there are several, each with what it would mean.
fn show_naming(choices: &[NamingChoice]) {
    dom::show("naming-block", choices.len() > 1);
    let select: Element = by_id("naming");
    if dom::document().active_element().is_some_and(|active| active == select) {
        return;
    }
    select.set_text_content(None);
    for choice in choices {
        let words = counted(choice.words, "word", "words");
        let bits = choice
            .bits
            .map_or(" without bits".to_owned(), |bits| format!(" of {}", counted(bits, "bit", "bits")));
        let option =
            dom::make("option", &format!("{} This gives {words}{bits}.", as_sentence(&choice.sentence)));
        if choice.in_use {
            dom::attribute(&option, "selected", "");
        }
        dom::append(&select, &option);
    }
}

fn layout_origin(analysis: Option<&Analysis>) -> String {
    match analysis.map(|analysis| &analysis.layout_origin) {
        Some(LayoutOrigin::Guessed(_)) => {
            "This is a guess from the data, for the reason in the margin. Correct it here where it is wrong."
                .to_owned()
        }
        Some(LayoutOrigin::Given) => "As you gave it.".to_owned(),
        Some(LayoutOrigin::Listed { .. } | LayoutOrigin::Marks { .. }) => {
            "This run has listed settings and no bits. Give a layout only if the ranks are control words."
                .to_owned()
        }
        None => "Give the layout of the control word here.".to_owned(),
    }
}
