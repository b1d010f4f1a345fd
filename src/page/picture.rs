//! Plots saved in pixels: drawn again on white paper apart from the page, twice as fine as on the screen.

use super::app::{Handle, Shown};
use super::canvas::{self, Pad};
use super::view_plane::{self, MadeOf};
use super::{downloads, looking, picking, saving, strip, surface};
use crate::chart::{Curve, DensityData, DensityRaster, Paper};
use crate::export::LinePlot;
use crate::export::Picture;
use crate::export::traces::{density_data, density_frame, density_svg, drawing_density_frame};
use crate::pipeline::protocol::{DensityFrame, TraceQuantity};
use crate::pipeline::{Conductor, Report};
use js_sys::{Array, Uint8Array};
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use web_sys::Blob;

/// How much finer than the screen a picture is.
const FINER: f64 = 2.0;

/// Saves a plot under a name.
pub fn save(app: &Handle, shown: &Rc<Shown>, name: &'static str, picture: Picture) {
    let Ok(analysis) = &shown.report.analysis else { return };
    let Some(mut pad) = canvas::paper_like(canvas_of(picture), FINER) else {
        return saving::say(&format!("{name} was not made: the page shows no such plot of this run."), true);
    };
    match picture {
        Picture::Lines(plot) => {
            let frame = if plot == LinePlot::Strip { strip::frame(pad.frame) } else { pad.frame };
            let view = looking::view(app);
            match plot.draw(&mut pad.surface, frame, pad.theme, &shown.report, analysis, &view) {
                Ok(()) => hand_out(name, &pad),
                Err(error) => saving::say(&format!("{name} was not made: {error}"), true),
            }
        }
        Picture::Density(quantity) => save_density_pixels(app, shown, name, quantity, pad),
        Picture::DensityDrawing(quantity) => save_density_drawing(app, shown, name, quantity),
    }
}

fn save_density_pixels(
    app: &Handle,
    shown: &Rc<Shown>,
    name: &'static str,
    quantity: TraceQuantity,
    mut pad: Pad,
) {
    let frame = pad.frame;
    let frame_for = |data: &DensityData| density_frame(frame, data, quantity);
    save_density(
        app,
        shown,
        name,
        quantity,
        frame_for,
        move |_, raster, data| match view_plane::paint_density(&mut pad, Some(raster), data) {
            Ok(()) => hand_out(name, &pad),
            Err(error) => saving::say(&format!("{name} was not made: {error}"), true),
        },
    );
}

fn save_density_drawing(app: &Handle, shown: &Rc<Shown>, name: &'static str, quantity: TraceQuantity) {
    let frame_for = |data: &DensityData| drawing_density_frame(data, quantity);
    save_density(app, shown, name, quantity, frame_for, move |report, raster, data| {
        let rgba = raster.to_rgba(Paper::Light, data.traces);
        let Some(image) = surface::png_address(&rgba, raster.size().0) else {
            return saving::say(&no_picture(name), true);
        };
        match density_svg(report, data, &image) {
            Ok(text) => {
                let parts = Array::of1(&Uint8Array::from(&text[..]).into());
                downloads::hand_out(name, "image/svg+xml", &parts);
            }
            Err(refused) => saving::say(&format!("{name} was not made: {refused}"), true),
        }
    });
}

fn no_picture(name: &str) -> String {
    format!("{name} was not made: the browser could not make a picture of it.")
}

/// The plot's canvas on the page, whose size the picture takes.
fn canvas_of(picture: Picture) -> &'static str {
    match picture {
        Picture::Lines(LinePlot::Plane) => "plane-canvas",
        Picture::Lines(LinePlot::Errors) => "error-canvas",
        Picture::Lines(LinePlot::Share) => "share-canvas",
        Picture::Lines(LinePlot::References) => "references-canvas",
        Picture::Lines(LinePlot::Strip) => "strip-canvas",
        Picture::Lines(LinePlot::BitWeights) => "weights-canvas",
        Picture::Lines(LinePlot::Resolution) => "resolution-canvas",
        Picture::Lines(LinePlot::CleanBits) => "clean-canvas",
        Picture::Lines(LinePlot::Constellation) => "constellation-canvas",
        Picture::Lines(LinePlot::Evm) => "evm-canvas",
        Picture::Lines(LinePlot::LargestClean) => "largest-canvas",
        Picture::Lines(LinePlot::StateErrors) => "codes-canvas",
        Picture::Lines(LinePlot::CrossEffects) => "cross-canvas",
        Picture::Lines(LinePlot::FieldFigure) => "figure-canvas",
        Picture::Lines(LinePlot::TypicalDifference) => "difference-canvas",
        Picture::Lines(LinePlot::CodeTraces) => "traces-canvas",
        Picture::Lines(LinePlot::ErrorMap) => "map-canvas",
        Picture::Density(quantity) | Picture::DensityDrawing(quantity) => match quantity {
            TraceQuantity::RelativeGainDb => "gain-canvas",
            TraceQuantity::RelativePhaseDeg => "phase-canvas",
        },
    }
}

/// A finer picture has other pixels, so the workers count anew.
fn save_density(
    app: &Handle,
    shown: &Rc<Shown>,
    name: &'static str,
    quantity: TraceQuantity,
    frame_for: impl FnOnce(&DensityData) -> DensityFrame,
    finish: impl FnOnce(&Report, &DensityRaster, &DensityData) + 'static,
) {
    let Ok(analysis) = &shown.report.analysis else { return };
    let trace = picking::trace(app, &shown.report, analysis);
    let curves: Vec<Curve> = trace.iter().map(|trace| trace.curve(quantity)).collect();
    let frame = frame_for(&density_data(&shown.report, analysis, quantity, &curves));
    let (shown, made_of) = (shown.clone(), MadeOf::of(&shown.report, analysis, frame));
    view_plane::count(app, frame, move |app, counted| {
        let Ok(analysis) = &shown.report.analysis else { return };
        match counted.filter(|_| still_stands(app, &made_of)) {
            Some(raster) => {
                let curves: Vec<Curve> = trace.iter().map(|trace| trace.curve(quantity)).collect();
                let data = density_data(&shown.report, analysis, quantity, &curves);
                finish(&shown.report, &raster, &data);
            }
            None => saving::say_interrupted(name),
        }
    });
}

/// Whether the workers still hold what a picture was asked of.
fn still_stands(app: &Handle, made_of: &MadeOf) -> bool {
    let state = app.borrow();
    let Some(report) = state.conductor().filter(|c| c.is_ready()).and_then(Conductor::report) else {
        return false;
    };
    report.analysis.as_ref().is_ok_and(|analysis| MadeOf::of(report, analysis, made_of.frame) == *made_of)
}

fn hand_out(name: &'static str, pad: &Pad) {
    let callback = Closure::once_into_js(move |blob: JsValue| match blob.dyn_into::<Blob>() {
        Ok(blob) => downloads::hand_out_blob(name, blob),
        Err(_) => {
            saving::say(&no_picture(name), true);
        }
    });
    if pad.element.to_blob(callback.unchecked_ref()).is_err() {
        saving::say(&format!("{name} was not made: the browser makes no picture of a canvas."), true);
    }
}
