//! Charts, drawn natively as SVG and read back: what is written, and that marks stand where their values say.

mod density;
mod scenes;
mod svg;

use num_complex::Complex64;
use scenes::{THEMES, curves_data, curves_of, draw, gallery, lines, states};
use svg::{Element, hex, parse, text_box, texts};
use sweepfold::chart::{
    BitMark, ChartError, CurvesData, Frame, Highlight, Lane, LimitedBand, Paper, PlaneData, PlaneWindow,
    ResolutionData, Rgb, Role, StatePalette, StripData, Theme, Vertical, bit_weights, curves, plane,
    resolution, strip,
};

const FRAME: (u32, u32) = (700, 420);

#[test]
fn no_text_leaves_the_frame_and_none_runs_into_another() {
    for (name, frame, drawing) in gallery() {
        let elements = parse(&drawing);
        let height = if name.starts_with("strip") { 100.0 } else { f64::from(frame.height_px) };
        let boxes: Vec<_> = elements
            .iter()
            .filter(|element| element.tag == "text")
            .map(|element| (element.text.clone(), text_box(element)))
            .collect();
        assert!(!boxes.is_empty(), "{name} has no text");
        for (index, (text, one)) in boxes.iter().enumerate() {
            assert!(
                one.0 >= -0.5
                    && one.1 >= -0.5
                    && one.2 <= f64::from(frame.width_px) + 0.5
                    && one.3 <= height + 0.5,
                "{name}: '{text}' at {one:?} leaves the frame"
            );
            for (other_text, other) in &boxes[index + 1..] {
                let apart =
                    one.2 <= other.0 || other.2 <= one.0 || one.3 <= other.1 + 1.0 || other.3 <= one.1 + 1.0;
                assert!(apart, "{name}: '{text}' {one:?} and '{other_text}' {other:?} overlap");
            }
        }
    }
}

/// The rectangle of the data as the drawing shows it: its axis lines, from the numbers at their ticks.
struct Ticks {
    /// (number, pixel) of the first and the last tick.
    horizontal: [(f64, f64); 2],
    vertical: [(f64, f64); 2],
}

fn number(text: &str) -> Option<f64> {
    text.replace('\u{2212}', "-").parse().ok()
}

fn ticks(elements: &[Element]) -> Ticks {
    let along = |anchor: &str, axis: &str| {
        let found: Vec<(f64, f64)> = elements
            .iter()
            .filter(|element| element.is("text", "text-anchor", anchor))
            .filter_map(|element| Some((number(&element.text)?, element.number(axis))))
            .collect();
        [found[0], found[found.len() - 1]]
    };
    Ticks { horizontal: along("middle", "x"), vertical: along("end", "y") }
}

fn interpolate([(value_a, px_a), (value_b, px_b)]: [(f64, f64); 2], value: f64) -> f64 {
    px_a + (value - value_a) / (value_b - value_a) * (px_b - px_a)
}

/// Pixel positions are worked out from the printed tick numbers alone.
#[test]
fn a_line_runs_where_its_axes_say() {
    let lines = lines();
    let shown = curves_of(&lines);
    let data = curves_data(&lines, &shown);
    for (name, theme) in THEMES {
        let frame = Frame::svg(FRAME.0, FRAME.1);
        let (drawing, plot) = draw(frame, |surface| curves(surface, frame, &theme, &data));
        let plot = plot.expect("drawn");
        let elements = parse(&drawing);
        let ticks = ticks(&elements);
        let colour = hex(theme.line(Role::First).colour);
        let pieces: Vec<_> = elements
            .iter()
            .filter(|element| element.is("polyline", "stroke", &colour))
            .map(Element::points)
            .collect();
        assert_eq!(pieces.len(), 2, "{name}: one gap, so two pieces");
        assert_eq!(pieces[0].len(), 120);
        assert_eq!(pieces[1].len(), 71);
        for (index, &(x, y)) in pieces[0].iter().enumerate() {
            let ghz = lines.frequency_hz[index] / 1e9;
            let value = lines.chosen[index].expect("before the gap");
            assert!((x - interpolate(ticks.horizontal, ghz)).abs() <= 1.1, "{name} {index}");
            assert!((y - interpolate(ticks.vertical, value)).abs() <= 1.1, "{name} {index}");
        }
        assert!((plot.frequency_at(interpolate(ticks.horizontal, 9.5)) - 9.5e9).abs() < 1e7);
        assert!((plot.value_at(interpolate(ticks.vertical, 0.25)) - 0.25).abs() < 2e-3);
    }
}

#[test]
fn lines_are_named_at_their_ends_and_differ_without_colour() {
    let lines = lines();
    let shown = curves_of(&lines);
    let data = curves_data(&lines, &shown);
    let frame = Frame::svg(FRAME.0, FRAME.1);
    let (drawing, _) = draw(frame, |surface| curves(surface, frame, &Theme::PRINT, &data).expect("drawn"));
    let elements = parse(&drawing);
    let found = texts(&elements);
    for wanted in ["chosen", "nominal", "held", "limit", "9.5 GHz", "RMS gain error, dB", "frequency, GHz"] {
        assert!(found.contains(&wanted), "{wanted} is missing from {found:?}");
    }
    let pieces = |role: Role| {
        let colour = hex(Theme::PRINT.line(role).colour);
        elements.iter().filter(|element| element.is("polyline", "stroke", &colour)).count()
    };
    assert!(pieces(Role::First) < 5 && pieces(Role::Second) > 20 && pieces(Role::Third) > 50);
}

/// Twice the pixels at twice the scale is the same drawing, twice as large.
#[test]
fn the_device_pixel_ratio_scales_everything() {
    let lines = lines();
    let shown = curves_of(&lines);
    let data = curves_data(&lines, &shown);
    let drawn = |frame: Frame| {
        parse(&draw(frame, |surface| curves(surface, frame, &Theme::LIGHT, &data).expect("drawn")).0)
    };
    let once = drawn(Frame::canvas(FRAME.0, FRAME.1, 1.0));
    let twice = drawn(Frame::canvas(2 * FRAME.0, 2 * FRAME.1, 2.0));
    assert_eq!(texts(&once), texts(&twice));
    let written = |elements: &[Element]| -> Vec<[f64; 3]> {
        let places = elements.iter().filter(|element| element.tag == "text");
        places.map(|text| ["x", "y", "font-size"].map(|name| text.number(name))).collect()
    };
    for (small, large) in written(&once).iter().zip(written(&twice)) {
        for (one, two) in small.iter().zip(large) {
            assert!((2.0 * one - two).abs() <= 3.0, "{small:?} {large:?}");
        }
    }
}

/// ln 0.5 / ln 0.1 of the way from 1 down to 0.1.
#[test]
fn a_logarithmic_axis_is_one() {
    let lines = lines();
    let shown = curves_of(&lines);
    let data = CurvesData { vertical: Vertical::Logarithmic, ..curves_data(&lines, &shown) };
    let frame = Frame::svg(FRAME.0, FRAME.1);
    let (drawing, _) = draw(frame, |surface| curves(surface, frame, &Theme::LIGHT, &data).expect("drawn"));
    let elements = parse(&drawing);
    let row = |text: &str| {
        let label = elements.iter().find(|e| e.is("text", "text-anchor", "end") && e.text == text);
        label.expect("the tick is there").number("y")
    };
    let part = (row("0.5") - row("1")) / (row("0.1") - row("1"));
    assert!((part - 0.5_f64.ln() / 0.1_f64.ln()).abs() < 0.01, "{part}");
}

fn plane_scene<'a>(
    states: &'a [Complex64],
    colours: &'a [Rgb],
    targets: &'a [Complex64],
    window: PlaneWindow,
) -> PlaneData<'a> {
    PlaneData {
        states,
        colours,
        palette: None,
        targets,
        tolerance: None,
        holes: &[],
        highlight: None,
        pointed: None,
        window,
    }
}

/// All 4,096 states are drawn, each as one square of its own colour, where equal axes put it.
#[test]
fn every_state_stands_where_its_gain_and_phase_say() {
    let (measured, _, nominal) = states(0.0);
    let palette = StatePalette::spanning(Paper::Light, nominal.iter().map(|setting| setting.0));
    let colours: Vec<Rgb> = nominal.iter().map(|&(gain, phase)| palette.colour(gain, phase)).collect();
    let frame = Frame::svg(FRAME.0, FRAME.1);
    let window = PlaneWindow { centre: Complex64::ZERO, half_side: 1.25 };
    let data = plane_scene(&measured, &colours, &[], window);
    let (drawing, geometry) = draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &data));
    let geometry = geometry.expect("drawn");
    let elements = parse(&drawing);
    let squares: Vec<_> = elements.iter().filter(|e| e.tag == "rect" && e.number("width") <= 3.0).collect();
    assert_eq!(squares.len(), 4096);
    // 420 pixels high, 1.25 from the middle to the edge: 168 pixels to the unit.
    for ((square, state), colour) in squares.iter().zip(&measured).zip(&colours) {
        let side = square.number("width");
        let (x, y) = (square.number("x") + side / 2.0, square.number("y") + side / 2.0);
        assert!(
            (x - (350.0 + 168.0 * state.re)).abs() <= 1.01 && (y - (210.0 - 168.0 * state.im)).abs() <= 1.01
        );
        assert_eq!(square.attributes["fill"], hex(*colour));
        assert!((geometry.at((x, y)) - state).norm() < 1.5 / 168.0);
    }
    assert!(elements.len() < 4096 + 120, "{} elements besides the states", elements.len() - 4096);
}

/// Radii 10^(dB/20): 1, 0.5623, 0.3162, 0.1778 for 0, −5, −10, −15 dB.
#[test]
fn circles_and_spokes_carry_decibels_and_degrees() {
    let frame = Frame::svg(FRAME.0, FRAME.1);
    let data = plane_scene(&[], &[], &[], PlaneWindow { centre: Complex64::ZERO, half_side: 1.25 });
    let (drawing, _) = draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &data).expect("drawn"));
    let elements = parse(&drawing);
    let found = texts(&elements);
    for wanted in ["0 dB", "−5 dB", "−10 dB", "0°", "90°", "180°", "−90°", "reference"] {
        assert!(found.contains(&wanted), "{wanted} is missing from {found:?}");
    }
    let grid = hex(Theme::LIGHT.grid);
    let radii: Vec<f64> =
        elements.iter().filter(|e| e.is("circle", "stroke", &grid)).map(|e| e.number("r")).collect();
    for (radius, unit) in radii.iter().zip([1.0, 0.562_34, 0.316_23, 0.177_83]) {
        assert!((radius - 168.0 * unit).abs() <= 0.5, "{radii:?}");
    }
    assert!(radii.len() >= 3);
}

#[test]
fn a_magnified_plane_shows_targets_cells_and_the_state_picked_out() {
    let (measured, wanted, nominal) = states(0.0);
    let palette = StatePalette::spanning(Paper::Light, nominal.iter().map(|setting| setting.0));
    let colours: Vec<Rgb> = nominal.iter().map(|&(gain, phase)| palette.colour(gain, phase)).collect();
    let frame = Frame::svg(FRAME.0, FRAME.1);
    let picked = 1044;
    let window = PlaneWindow { centre: wanted[picked], half_side: 0.05 };
    let data = PlaneData {
        tolerance: Some((0.25, 1.406_25)),
        holes: &[],
        highlight: Some(Highlight {
            state: picked,
            target: Some(picked),
            tolerance: Some((0.25, 1.406_25)),
            label: "word 1044",
        }),
        ..plane_scene(&measured, &colours, &wanted, window)
    };
    let (drawing, _) = draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &data).expect("drawn"));
    let elements = parse(&drawing);
    assert!(texts(&elements).contains(&"word 1044"));
    let accent = hex(Theme::LIGHT.accent);
    let ring = elements.iter().find(|e| e.is("circle", "stroke", &accent)).expect("a ring");
    // 4,200 pixels to the unit.
    let from_middle = measured[picked] - wanted[picked];
    assert!((ring.number("cx") - (350.0 + 4200.0 * from_middle.re)).abs() <= 1.0);
    assert!((ring.number("cy") - (210.0 - 4200.0 * from_middle.im)).abs() <= 1.0);
    // The cell's corner: 0.25 dB out and half a step round.
    let corner = wanted[picked] * Complex64::from_polar(10_f64.powf(0.25 / 20.0), 1.406_25_f64.to_radians())
        - wanted[picked];
    let (x, y) = (350.0 + 4200.0 * corner.re, 210.0 - 4200.0 * corner.im);
    let cell = elements.iter().filter(|e| e.is("polyline", "stroke", &accent)).any(|outline| {
        outline.points().iter().any(|&(px, py)| (px - x).abs() <= 1.0 && (py - y).abs() <= 1.0)
    });
    assert!(cell, "no outline passes the cell's corner");

    // The state under the pointer has its own cell, dashed, beside the one picked out.
    let other = picked + 1;
    let pointed = Highlight {
        state: other,
        target: Some(other),
        tolerance: Some((0.25, 1.406_25)),
        label: "word 1045",
    };
    let window = PlaneWindow { half_side: 0.1, ..window };
    let both = PlaneData { pointed: Some(pointed), window, ..data };
    let (drawing, _) = draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &both).expect("drawn"));
    let elements = parse(&drawing);
    let rings = elements.iter().filter(|e| e.is("circle", "stroke", &accent));
    let middles: Vec<(f64, f64)> = rings.map(|ring| (ring.number("cx"), ring.number("cy"))).collect();
    let away = measured[other] - wanted[picked];
    let at = (350.0 + 2100.0 * away.re, 210.0 - 2100.0 * away.im);
    assert_eq!(middles.len(), 2);
    assert!((middles[1].0 - at.0).abs() <= 1.0 && (middles[1].1 - at.1).abs() <= 1.0, "{middles:?} {at:?}");
    assert!(texts(&elements).contains(&"word 1045"));
    let corner = wanted[other] * Complex64::from_polar(10_f64.powf(0.25 / 20.0), -1.406_25_f64.to_radians())
        - wanted[picked];
    let (x, y) = (350.0 + 2100.0 * corner.re, 210.0 - 2100.0 * corner.im);
    let dashes = elements.iter().filter(|e| e.is("polyline", "stroke", &accent));
    let begins = |dash: &&Element| {
        dash.points().iter().any(|&(px, py)| (px - x).abs() <= 1.0 && (py - y).abs() <= 1.0)
    };
    let at_corner: Vec<_> = dashes.filter(begins).collect();
    assert!(!at_corner.is_empty(), "no dash begins at the other cell's corner");
}

#[test]
fn what_does_not_fit_together_is_refused() {
    let frame = Frame::svg(FRAME.0, FRAME.1);
    let states = [Complex64::ONE];
    let window = PlaneWindow::whole(&states);
    let unequal = plane_scene(&states, &[], &[], window);
    let (_, result) = draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &unequal));
    assert!(matches!(result, Err(ChartError::LengthsDiffer { expected: 1, found: 0, .. })));
    let missing = PlaneData {
        holes: &[],
        highlight: Some(Highlight { state: 1, target: None, tolerance: None, label: "" }),
        ..plane_scene(&states, &[Rgb(0, 0, 0)], &[], window)
    };
    let (_, result) = draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &missing));
    assert!(matches!(result, Err(ChartError::OutOfRange { index: 1, count: 1, .. })));
    let beyond = PlaneData { highlight: None, pointed: missing.highlight, ..missing };
    let (_, result) = draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &beyond));
    assert!(matches!(result, Err(ChartError::OutOfRange { index: 1, count: 1, .. })));
    let share = StripData {
        name: "",
        frequency_hz: &[1e9],
        share_pct: &[],
        cursor_hz: None,
        design_band_hz: None,
        usable_share_pct: None,
        usable_band_hz: None,
        limited: &[],
        is_broken: &[],
    };
    let (_, result) = draw(frame, |surface| strip(surface, frame, &Theme::LIGHT, &share));
    assert!(matches!(result, Err(ChartError::LengthsDiffer { what: "shares", .. })));
    let lines = lines();
    let lane = CurvesData {
        curves: &[],
        lane: Some(Lane { label: "", holds: &[true, true, false] }),
        ..curves_data(&lines, &[])
    };
    let (_, result) = draw(frame, |surface| curves(surface, frame, &Theme::LIGHT, &lane));
    assert!(matches!(result, Err(ChartError::LengthsDiffer { what: "values of a bar", .. })));
    let broken = StripData { share_pct: &[None], is_broken: &[false, true], ..share };
    let (_, result) = draw(frame, |surface| strip(surface, frame, &Theme::LIGHT, &broken));
    assert!(matches!(result, Err(ChartError::LengthsDiffer { what: "broken limits", .. })));
}

#[test]
fn the_strip_shows_its_share_as_shade_and_as_height() {
    let frequency_hz = [8e9, 9e9, 10e9, 11e9, 12e9];
    let share = [Some(0.0), Some(50.0), Some(100.0), None, Some(25.0)];
    let narrow = ["a label that is much too long for its band", "1 limit"].map(str::to_owned);
    let wide = ["2 limits, 1 broken", "2 limits"].map(str::to_owned);
    let data = StripData {
        name: "chosen words within tolerance",
        frequency_hz: &frequency_hz,
        share_pct: &share,
        cursor_hz: Some(9e9),
        design_band_hz: Some((8e9, 10e9)),
        usable_share_pct: Some(40.0),
        usable_band_hz: Some((8.8e9, 10e9)),
        limited: &[
            LimitedBand { from_hz: 8e9, to_hz: 9e9, labels: &narrow },
            LimitedBand { from_hz: 9e9, to_hz: 12e9, labels: &wide },
        ],
        is_broken: &[false, true, true, false, false],
    };
    let frame = Frame::svg(700, 100);
    for (name, theme) in THEMES {
        let (drawing, plot) = draw(frame, |surface| strip(surface, frame, &theme, &data));
        let plot = plot.expect("drawn");
        let elements = parse(&drawing);
        let found = texts(&elements);
        for wanted in [
            "0 %",
            "100 %",
            "9 GHz  50.0 %",
            "GHz",
            "chosen words within tolerance",
            "design band",
            "usable",
            "specified",
            "1 limit",
            "2 limits, 1 broken",
        ] {
            assert!(found.contains(&wanted), "{name}: {wanted} is missing from {found:?}");
        }
        assert!(!found.contains(&narrow[0].as_str()), "{name}: what has no room is not written");
        let accent = format!("#{:02X}{:02X}{:02X}", theme.accent.0, theme.accent.1, theme.accent.2);
        let broken: Vec<_> =
            elements.iter().filter(|e| e.tag == "rect" && e.attributes["fill"] == accent).collect();
        let [broken] = broken[..] else { panic!("{name}: one run is broken, not {}", broken.len()) };
        assert!(broken.number("y") >= plot.area.bottom, "{name}: the broken limit is under the strip");
        // Half-way to the neighbours: from 8.5 to 10.5 GHz.
        assert!((broken.number("x") - plot.x_of(8.5e9)).abs() <= 1.0);
        assert!((broken.number("x") + broken.number("width") - plot.x_of(10.5e9)).abs() <= 1.0);
        let shades = elements
            .iter()
            .filter(|e| e.tag == "rect" && e.number("y") > 0.0 && e.number("y") < plot.area.bottom)
            .map(|e| (e.number("x"), e.number("width"), e.attributes["fill"].clone()))
            .collect::<Vec<_>>();
        for (band, edges) in [("design", [8e9, 10e9]), ("usable", [8.8e9, 10e9]), ("specified", [9e9, 12e9])]
        {
            for edge_hz in edges {
                let stands = |e: &&Element| {
                    let ends: Vec<f64> = match e.tag.as_str() {
                        "line" => vec![e.number("x1"), e.number("x2")],
                        "polyline" => e.points().iter().map(|point| point.0).collect(),
                        _ => Vec::new(),
                    };
                    !ends.is_empty() && ends.iter().all(|x| (x - plot.x_of(edge_hz)).abs() <= 1.0)
                };
                assert!(
                    elements.iter().any(|e| stands(&e)),
                    "{name}: no mark at {edge_hz} of the {band} band"
                );
            }
        }
        assert_eq!(shades.len(), 4, "{name}: a frequency without a share stays paper");
        assert!(shades[0].2 != shades[1].2 && shades[1].2 != shades[2].2);
        let line = elements.iter().find(|e| e.tag == "polyline").expect("a height line").points();
        let heights: Vec<f64> =
            line.iter().map(|&(_, y)| (plot.area.bottom - y) / (plot.area.bottom - plot.area.top)).collect();
        assert!(heights[0].abs() < 0.03 && (heights[1] - 0.5).abs() < 0.03 && heights[2] > 0.97);
        assert!((plot.frequency_at(plot.x_of(9e9)) - 9e9).abs() < 1.0);
    }
}

#[test]
fn bit_weights_show_nominal_and_measured() {
    let marks = [
        BitMark {
            bit: 0,
            nominal_gain_db: 0.0,
            gain_db: Some(0.1),
            nominal_phase_deg: -90.0,
            phase_deg: Some(-95.0),
            is_set: false,
        },
        BitMark {
            bit: 1,
            nominal_gain_db: -4.0,
            gain_db: Some(-4.2),
            nominal_phase_deg: 0.0,
            phase_deg: None,
            is_set: true,
        },
    ];
    let frame = Frame::svg(FRAME.0, FRAME.1);
    let (drawing, ()) =
        draw(frame, |surface| bit_weights(surface, frame, &Theme::LIGHT, &marks).expect("drawn"));
    let elements = parse(&drawing);
    let found = texts(&elements);
    for wanted in ["−4.20", "0.10", "−95.0", "Gain, dB", "Phase, °", "bit", "nominal", "measured"] {
        assert!(found.contains(&wanted), "{wanted} is missing from {found:?}");
    }
    let accent = hex(Theme::LIGHT.accent);
    let disc_rows: Vec<f64> = elements
        .iter()
        .filter(|e| e.is("circle", "fill", &accent) && e.number("cy") > 20.0)
        .map(|e| e.number("cy"))
        .collect();
    assert_eq!(disc_rows.len(), 3, "one weight could not be measured");
    // Bit 1 is set in the word picked out: four lines frame its number in either panel.
    let number =
        elements.iter().rfind(|e| e.is("text", "text-anchor", "middle") && e.text == "1").expect("bit 1");
    let frames: Vec<&Element> = elements.iter().filter(|e| e.is("line", "stroke", &accent)).collect();
    assert_eq!(frames.len(), 8);
    let ends = |name: &str| {
        frames[4..]
            .iter()
            .flat_map(|line| [line.number(&format!("{name}1")), line.number(&format!("{name}2"))])
            .collect::<Vec<_>>()
    };
    for (name, place) in [("x", number.number("x")), ("y", number.number("y"))] {
        let ends = ends(name);
        assert!(
            ends.iter().any(|end| *end < place) && ends.iter().any(|end| *end > place),
            "{name}: {ends:?}"
        );
    }
    // Gain axis: rows of the printed 0 and −4 place the disc of −4.2.
    let row = |text: &str| {
        let label = elements.iter().find(|e| e.is("text", "text-anchor", "end") && e.text == text);
        label.expect("a tick").number("y")
    };
    let wanted = row("0.0") + 4.2 / 4.0 * (row("−4.0") - row("0.0"));
    assert!((disc_rows[1] - wanted).abs() <= 1.5, "{disc_rows:?} {wanted}");
}

/// One phase bit and two gain bits; what is written in the cells is what was given, the lowest row first.
#[test]
fn a_resolution_map_writes_its_numbers_into_its_cells() {
    let served_pct = [100.0, 100.0, 75.0, 100.0, 87.5, 0.0];
    let data = ResolutionData {
        phase_bits: 1,
        gain_bits: 2,
        served_pct: &served_pct,
        picked: Some((0, 1)),
        marked: &[false, false, true, false, false, true],
    };
    let frame = Frame::svg(FRAME.0, FRAME.1);
    let (drawing, ()) =
        draw(frame, |surface| resolution(surface, frame, &Theme::LIGHT, &data).expect("drawn"));
    let elements = parse(&drawing);
    let cells = texts(&elements);
    assert_eq!(cells[..6], ["100", "100", "75.0", "100", "87.5", "0"]);
    let at = |text: &str| {
        let found = elements.iter().find(|element| element.tag == "text" && element.text == text);
        found.map(|element| (element.number("x"), element.number("y"))).expect("written")
    };
    assert!(
        at("87.5").0 < at("75.0").0 && at("87.5").1 < at("75.0").1,
        "more gain bits right, more phase bits up"
    );
    assert!(cells.contains(&"phase bits kept; cells: settings served, %"), "{cells:?}");
    // The setting of the state picked out needs both gain bits: a disc in either cell of theirs, beside its number.
    let discs: Vec<f64> = elements.iter().filter(|e| e.tag == "circle").map(|e| e.number("cx")).collect();
    assert!(discs.len() == 2 && discs.iter().all(|x| *x > at("75.0").0), "{discs:?}");
    // What does not fit is not cut off.
    let narrow = Frame::svg(FRAME.0 / 5, FRAME.1);
    let (drawing, ()) =
        draw(narrow, |surface| resolution(surface, narrow, &Theme::LIGHT, &data).expect("drawn"));
    let elements = parse(&drawing);
    let written = texts(&elements);
    assert!(written.contains(&"phase bits kept"), "{written:?}");
    let short = ResolutionData { served_pct: &served_pct[1..], ..data };
    draw(frame, |surface| assert!(resolution(surface, frame, &Theme::LIGHT, &short).is_err()));
}

/// Discs of few states, the first under the place where the label of no phase would stand: none is under a label.
#[test]
fn no_label_of_the_plane_covers_one_of_few_states() {
    let near_zero = [(0.0, 0.0), (-0.5, 0.9), (-1.0, 1.8)];
    let around = (0..32).map(|index| (-0.4 * f64::from(index % 4), 11.25 * f64::from(index)));
    let states: Vec<Complex64> = near_zero
        .into_iter()
        .chain(around)
        .map(|(gain_db, deg): (f64, f64)| {
            Complex64::from_polar(10_f64.powf(gain_db / 20.0), deg.to_radians())
        })
        .collect();
    let colours = vec![Rgb(10, 20, 30); states.len()];
    let picked = Highlight { state: 7, target: None, tolerance: None, label: "word 7" };
    for picked in [None, Some(picked)] {
        let scene = plane_scene(&states, &colours, &[], PlaneWindow::whole(&states));
        let data = PlaneData { highlight: picked, ..scene };
        let frame = Frame::svg(FRAME.0, FRAME.1);
        let (drawing, _) = draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &data).expect("drawn"));
        let elements = parse(&drawing);
        let discs: Vec<&Element> =
            elements.iter().filter(|e| e.is("circle", "fill", &hex(colours[0]))).collect();
        assert_eq!(discs.len(), states.len());
        let labels: Vec<&Element> = elements.iter().filter(|e| e.tag == "text").collect();
        assert_eq!(labels.iter().any(|label| label.text == "word 7"), picked.is_some());
        for label in labels {
            let (left, top, right, bottom) = text_box(label);
            for disc in &discs {
                let (x, y) = (disc.number("cx"), disc.number("cy"));
                let is_under = x > left && x < right && y > top && y < bottom;
                assert!(!is_under, "{} covers the state at {x}, {y}", label.text);
            }
        }
    }
}

/// More holes than states would leave any in sight lie under the states; a few lie over them.
#[test]
fn many_holes_lie_under_the_states() {
    let states = [Complex64::ONE];
    let colours = [Rgb(1, 2, 3)];
    let holes: Vec<Complex64> =
        (0..300).map(|index| Complex64::from_polar(0.9, 0.02 * f64::from(index))).collect();
    for (holes, are_under) in [(&holes[..], true), (&holes[..3], false)] {
        let data = PlaneData { holes, ..plane_scene(&states, &colours, &[], PlaneWindow::whole(&states)) };
        let frame = Frame::svg(FRAME.0, FRAME.1);
        let (drawing, _) = draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &data).expect("drawn"));
        let elements = parse(&drawing);
        let accent = hex(Theme::LIGHT.accent);
        let hole = elements.iter().position(|e| e.is("polyline", "stroke", &accent)).expect("a hole");
        let state = elements.iter().position(|e| e.is("circle", "fill", &hex(colours[0]))).expect("a state");
        assert_eq!(hole < state, are_under);
    }
}

/// A hole is drawn as a closed line of four sides around its place.
#[test]
fn holes_are_marked_where_they_are() {
    let states = [Complex64::ONE];
    let colours = [Rgb(0, 0, 0)];
    let hole = [Complex64::new(-0.4, 0.3)];
    let data = PlaneData { holes: &hole, ..plane_scene(&states, &colours, &[], PlaneWindow::whole(&states)) };
    let frame = Frame::svg(FRAME.0, FRAME.1);
    let (drawing, geometry) =
        draw(frame, |surface| plane(surface, frame, &Theme::LIGHT, &data).expect("drawn"));
    let (x, y) = geometry.to_px(hole[0]);
    let elements = parse(&drawing);
    let lines = elements.iter().filter(|element| element.tag == "polyline").map(Element::points);
    let diamonds = lines.filter(|points| {
        points.len() == 5
            && points.iter().all(|point| ((point.0 - x).abs() + (point.1 - y).abs() - 4.0).abs() < 1.5)
    });
    assert_eq!(diamonds.count(), 1);
}
