//! Question 4 on the page: the gain-phase plane at the chosen frequency and all traces as density.

use super::app::{self, Handle, Shown};
use super::canvas::{self, Pad};
use super::{dom, hovering, looking, numbers, picking};
use crate::chart::{self, ChartError, Curve, DensityData, DensityRaster};
use crate::export::numbers as drawn;
use crate::export::plane_plot;
use crate::export::traces::{GainSpan, density_data, density_frame};
use crate::pipeline::protocol::{DensityFrame, Reference, Reply, Request, TraceQuantity};
use crate::pipeline::{Analysis, AtFrequency, Report, TransmissionParameter};
use crate::run::Intake;
use crate::sheet::wording::{decibels, frequency, whole};
use crate::sheet::{Answer, captions};
use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

/// The density pictures that workers have counted.
#[derive(Default)]
pub struct Pictures {
    gain: Option<Picture>,
    phase: Option<Picture>,
}

/// One picture; without a raster while workers count.
struct Picture {
    made_of: MadeOf,
    raster: Option<DensityRaster>,
}

/// What the traces of states rest on: while this stays the same they need not be asked for again.
#[derive(Clone)]
pub struct Basis {
    reference: Reference,
    /// The reference at the first frequency, to the bit: what words mean may change it under one anchor.
    first_reference: Option<(u64, u64)>,
    transmission: TransmissionParameter,
    /// Which file is which word: another order of files or reading of names moves no state and changes whose it is.
    intake: Arc<Intake>,
}

impl PartialEq for Basis {
    fn eq(&self, other: &Self) -> bool {
        let same_states =
            || Arc::ptr_eq(&self.intake, &other.intake) || self.intake.states == other.intake.states;
        self.reference == other.reference
            && self.first_reference == other.first_reference
            && self.transmission == other.transmission
            && same_states()
    }
}

impl Basis {
    /// What the traces of a report rest on.
    pub fn of(report: &Report, analysis: &Analysis) -> Self {
        let bits = |at: &AtFrequency| (at.reference.re.to_bits(), at.reference.im.to_bits());
        Self {
            reference: analysis.anchor.clone(),
            first_reference: analysis.frequencies.first().map(bits),
            transmission: report.settings.transmission,
            intake: report.intake.clone(),
        }
    }
}

/// What a picture depends on: while this stays the same it need not be counted again.
#[derive(Clone, PartialEq)]
pub struct MadeOf {
    /// The picture itself.
    pub frame: DensityFrame,
    basis: Basis,
}

impl MadeOf {
    /// What a picture of this size depends on.
    pub fn of(report: &Report, analysis: &Analysis, frame: DensityFrame) -> Self {
        Self { frame, basis: Basis::of(report, analysis) }
    }
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
    dom::show("plane-detail", shown.report.analysis.is_ok());
    draw_here(app, &shown.report);
    picking::show(app, &shown.report);
    tell_here(&shown.report, shown.sheet.answer("plane"));
    let Ok(analysis) = &shown.report.analysis else { return };
    show_traces(app, shown, analysis);
    // The states may have moved under a pointer that rests.
    picking::point_anew(app);
    hovering::say(app);
}

/// Draws the states at the chosen frequency.
pub fn draw_here(app: &Handle, report: &Report) {
    let Ok(analysis) = &report.analysis else { return };
    let view = looking::view(app);
    let geometry = canvas::draw("plane-canvas", |pad| {
        plane_plot::plane(&mut pad.surface, pad.frame, pad.theme, report, analysis, &view)
    });
    app.borrow_mut().picking.geometry = geometry;
}

/// Writes what is said of them.
pub fn tell_here(report: &Report, answer: Option<&Answer>) {
    dom::show_answer(answer);
    let Ok(analysis) = &report.analysis else { return };
    let here = frequency(report.intake.frequency_hz[analysis.service.index]);
    let colours = if analysis.model.has_nominal() {
        "hue follows the nominal phase, lightness the nominal gain"
    } else {
        "hue follows the phase, lightness the gain"
    };
    let near_floor = plane_plot::near_floor(report, analysis).into_iter().filter(|near| *near).count();
    let grey = match near_floor {
        0 => String::new(),
        1 => " One state less than 20 dB above the noise is grey.".to_owned(),
        several => format!(" The {} states less than 20 dB above the noise are grey.", whole(several)),
    };
    let has_holes = report.reach.here.as_ref().is_some_and(|here| !here.holes.is_empty());
    let holes = if has_holes { "; diamonds mark settings that no state comes near" } else { "" };
    dom::set_caption(
        "plane",
        &format!(
            "Every state at {here}, relative to the reference, which is ringed; {colours}{holes}. Crosses, where they have \
             room, mark the settings.{grey}"
        ),
    );
    tell_traces(report, analysis);
    numbers::show("plane", &format!("every state at {here}"), || drawn::plane(report, analysis));
    numbers::show("phase", &format!("states by phase at {here}"), || drawn::phase_traces(analysis));
}

fn show_traces(app: &Handle, shown: &Shown, analysis: &Analysis) {
    for quantity in [TraceQuantity::RelativeGainDb, TraceQuantity::RelativePhaseDeg] {
        show_density(app, shown, analysis, quantity);
    }
    dom::set_caption("phase", &captions::phases(&shown.report, analysis));
    let ends = "lowest and highest relative gain";
    numbers::show("gain", ends, || drawn::gain_traces(&shown.report, analysis));
}

/// What is said under the traces of all states, which tells of the chosen frequency.
fn tell_traces(report: &Report, analysis: &Analysis) {
    let span = GainSpan::of(&analysis.frequencies);
    let cut = if span.is_cut {
        format!(" States that fall below {} are cut off there.", decibels(span.low_db))
    } else {
        String::new()
    };
    dom::set_caption("gain", &format!("{}{cut}", captions::gains(report, analysis)));
    // Sorting thousands of phases anew with every move is for those who see them.
    if canvas::is_near(&dom::by_id("phase-canvas")) {
        dom::set_caption("phase", &captions::phases(report, analysis));
    }
}

fn show_density(app: &Handle, shown: &Shown, analysis: &Analysis, quantity: TraceQuantity) {
    let id = match quantity {
        TraceQuantity::RelativeGainDb => "gain-canvas",
        TraceQuantity::RelativePhaseDeg => "phase-canvas",
    };
    let drawn = canvas::draw(id, |pad| {
        let trace = picking::trace(app, &shown.report, analysis);
        let curves: Vec<Curve> = trace.iter().map(|trace| trace.curve(quantity)).collect();
        let data = density_data(&shown.report, analysis, quantity, &curves);
        let made_of = MadeOf::of(&shown.report, analysis, density_frame(pad.frame, &data, quantity));
        let mut state = app.borrow_mut();
        *state.hovering.plot(quantity) = Some(chart::density_plot(pad.frame, &data));
        let picture = state.pictures.of(quantity).as_ref().filter(|picture| picture.made_of == made_of);
        let is_under_way = picture.is_some();
        paint_density(pad, picture.and_then(|picture| picture.raster.as_ref()), &data)?;
        Ok((made_of, is_under_way))
    });
    if let Some((made_of, false)) = drawn {
        let frame = made_of.frame;
        *app.borrow_mut().pictures.of(quantity) = Some(Picture { made_of: made_of.clone(), raster: None });
        count(app, frame, move |app, counted| {
            let mut state = app.borrow_mut();
            let slot = state.pictures.of(quantity);
            let Some(picture) = slot.as_mut().filter(|picture| picture.made_of == made_of) else { return };
            match counted {
                Some(raster) => picture.raster = Some(raster),
                // The workers hold something newer by now: the next report asks again.
                None => *slot = None,
            }
        });
    }
}

/// Draws a density that was counted for this pad, or its axes alone.
pub fn paint_density(
    pad: &mut Pad,
    raster: Option<&DensityRaster>,
    data: &DensityData,
) -> Result<(), ChartError> {
    if let Some(raster) = raster {
        let plot = chart::density_plot(pad.frame, data);
        let rgba = raster.to_rgba(pad.theme.paper_kind, data.traces);
        pad.image(&rgba, raster.size().0, (plot.area.left, plot.area.top));
    }
    chart::density_axes(&mut pad.surface, pad.frame, pad.theme, data).map(|_| ())
}

/// Hears the density that all workers counted together; `None` where it did not come about.
type Counted = Box<dyn FnOnce(&Handle, Option<DensityRaster>)>;

/// A density while workers count.
struct Counting {
    raster: DensityRaster,
    pending: usize,
    done: Option<Counted>,
}

/// Asks every worker for its columns and adds them up.
pub fn count(app: &Handle, frame: DensityFrame, done: impl FnOnce(&Handle, Option<DensityRaster>) + 'static) {
    let owners: Vec<usize> = app::worker_ranges(app)
        .iter()
        .enumerate()
        .filter(|(_, range)| !range.is_empty())
        .map(|(worker, _)| worker)
        .collect();
    if owners.is_empty() {
        return done(app, None);
    }
    let counting = Rc::new(RefCell::new(Counting {
        raster: DensityRaster::new(frame.width, frame.height),
        pending: owners.len(),
        done: Some(Box::new(done)),
    }));
    for worker in owners {
        let counting = counting.clone();
        app::ask(app, worker, Request::Density(frame), move |app, reply| {
            let ended = counting.borrow_mut().take(reply);
            if let Some((done, raster)) = ended {
                done(app, raster);
            }
        });
    }
}

impl Counting {
    /// Adds a worker's columns; gives what came of it once all are there, or one cannot come.
    fn take(&mut self, reply: Option<Reply>) -> Option<(Counted, Option<DensityRaster>)> {
        match reply {
            Some(Reply::Density(part)) if self.raster.add(&part).is_ok() => {
                self.pending -= 1;
                if self.pending > 0 {
                    return None;
                }
                let raster = std::mem::replace(&mut self.raster, DensityRaster::new(0, 0));
                Some((self.done.take()?, Some(raster)))
            }
            _ => Some((self.done.take()?, None)),
        }
    }
}
