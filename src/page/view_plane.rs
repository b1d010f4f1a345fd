//! Question 4 on the page: the gain-phase plane at the chosen frequency and all traces as density.

use super::app::{self, Handle, Shown};
use super::canvas;
use super::dom;
use crate::chart::{self, DensityRaster};
use crate::export::plots;
use crate::export::traces::{GainSpan, density_data, density_frame};
use crate::pipeline::protocol::{DensityFrame, Reply, Request, TraceQuantity};
use crate::pipeline::{Analysis, TransmissionParameter};
use crate::plane::Anchor;
use crate::sheet::wording::{decibels, frequency};

/// The density pictures that workers have counted.
#[derive(Default)]
pub struct Pictures {
    gain: Option<Picture>,
    phase: Option<Picture>,
}

/// One picture, complete once nothing is pending.
struct Picture {
    made_of: MadeOf,
    raster: DensityRaster,
    pending: usize,
}

/// What a picture depends on: while this stays the same it need not be counted again.
#[derive(Clone, PartialEq)]
struct MadeOf {
    frame: DensityFrame,
    anchor: Anchor,
    transmission: TransmissionParameter,
    states: usize,
}

impl Pictures {
    fn of(&mut self, quantity: TraceQuantity) -> &mut Option<Picture> {
        match quantity {
            TraceQuantity::RelativeGainDb => &mut self.gain,
            TraceQuantity::RelativePhaseDeg => &mut self.phase,
        }
    }
}

/// Shows the question.
pub fn show(app: &Handle, shown: &Shown) {
    dom::show("plane", true);
    dom::show_answer(shown.sheet.answer("plane"));
    dom::show("plane-detail", shown.report.analysis.is_ok());
    let Ok(analysis) = &shown.report.analysis else { return };
    canvas::draw("plane-canvas", |pad| {
        plots::plane(&mut pad.surface, pad.frame, pad.theme, &shown.report, analysis)
    });
    let here = frequency(shown.report.intake.frequency_hz[analysis.service.index]);
    let colours = if analysis.model.has_nominal() {
        "hue follows the nominal phase, lightness the nominal gain"
    } else {
        "hue follows the phase, lightness the gain"
    };
    dom::set_caption("plane", &format!("Every state at {here}, relative to the reference; {colours}."));
    for quantity in [TraceQuantity::RelativeGainDb, TraceQuantity::RelativePhaseDeg] {
        show_density(app, shown, analysis, quantity);
    }
    let span = GainSpan::of(&analysis.frequencies);
    let cut = if span.is_cut {
        format!(" States that fall below {} are cut off there.", decibels(span.low_db))
    } else {
        String::new()
    };
    dom::set_caption("gain", &format!("Relative gain of all states against frequency.{cut}"));
    dom::set_caption("phase", "Relative phase of all states against frequency.");
}

fn show_density(app: &Handle, shown: &Shown, analysis: &Analysis, quantity: TraceQuantity) {
    let id = match quantity {
        TraceQuantity::RelativeGainDb => "gain-canvas",
        TraceQuantity::RelativePhaseDeg => "phase-canvas",
    };
    let drawn = canvas::draw(id, |pad| {
        let data = density_data(&shown.report, analysis, quantity);
        let frame = density_frame(pad.frame, &data, quantity);
        let made_of = MadeOf {
            frame,
            anchor: analysis.anchor,
            transmission: shown.report.settings.transmission,
            states: shown.report.intake.states.len(),
        };
        let theme = pad.theme;
        let mut state = app.borrow_mut();
        let picture = state.pictures.of(quantity).as_ref().filter(|picture| picture.made_of == made_of);
        let is_under_way = picture.is_some();
        if let Some(picture) = picture.filter(|picture| picture.pending == 0) {
            let plot = chart::density_plot(pad.frame, &data);
            let rgba = picture.raster.to_rgba(theme.paper_kind, data.traces);
            pad.image(&rgba, frame.width, (plot.area.left, plot.area.top));
        }
        chart::density_axes(&mut pad.surface, pad.frame, theme, &data)?;
        Ok((made_of, is_under_way))
    });
    if let Some((made_of, false)) = drawn {
        count(app, &made_of, quantity);
    }
}

/// Asks every worker for its columns and adds them up.
fn count(app: &Handle, made_of: &MadeOf, quantity: TraceQuantity) {
    let owners: Vec<usize> = app::worker_ranges(app)
        .iter()
        .enumerate()
        .filter(|(_, range)| !range.is_empty())
        .map(|(worker, _)| worker)
        .collect();
    let frame = made_of.frame;
    *app.borrow_mut().pictures.of(quantity) = Some(Picture {
        raster: DensityRaster::new(frame.width, frame.height),
        pending: owners.len(),
        made_of: made_of.clone(),
    });
    for worker in owners {
        let made_of = made_of.clone();
        app::ask(app, worker, Request::Density(frame), move |app, reply| {
            let mut state = app.borrow_mut();
            let slot = state.pictures.of(quantity);
            let Some(picture) = slot.as_mut().filter(|picture| picture.made_of == made_of) else { return };
            match reply {
                Some(Reply::Density(raster)) if picture.raster.add(&raster).is_ok() => picture.pending -= 1,
                // The workers hold something newer by now: the next report asks again.
                _ => *slot = None,
            }
        });
    }
}
