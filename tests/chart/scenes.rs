//! Charts of made-up data, drawn natively. With `SWEEPFOLD_CHART_DIR` set they are also written there, to be looked at.

use num_complex::Complex64;
use plotters::prelude::SVGBackend;
use std::fmt::Write as _;
use sweepfold::chart::{
    BesideLimitsData, BitMark, CodeTrace, CodeTracesData, CodesData, ConstellationData, Curve, CurvesData,
    DensityData, DensityRaster, ErrorMapData, Frame, Highlight, KindMark, Lane, LevelsData, Limit,
    LimitedBand, Paper, PlaneData, PlaneWindow, ResolutionData, Role, Slabs, StatePalette, StripData, Theme,
    Values, Vertical, beside_limits, bit_weights, code_traces, codes, constellation, curves, density_axes,
    density_plot, error_map, frequencies_for, levels, plane, resolution, strip,
};
use sweepfold::signal::Qam;

pub const THEMES: [(&str, Theme); 3] =
    [("light", Theme::LIGHT), ("dark", Theme::DARK), ("print", Theme::PRINT)];
pub const SIZES: [(u32, u32); 2] = [(700, 420), (340, 240)];

/// An SVG drawing by a chart function.
pub fn draw<T>(frame: Frame, chart: impl FnOnce(&mut SVGBackend) -> T) -> (String, T) {
    let mut svg = String::new();
    let result = chart(&mut SVGBackend::with_string(&mut svg, (frame.width_px, frame.height_px)));
    (svg, result)
}

pub fn save(name: &str, text: &str) {
    if let Ok(folder) = std::env::var("SWEEPFOLD_CHART_DIR") {
        std::fs::write(format!("{folder}/{name}"), text).expect("the folder can be written");
    }
}

/// An attenuator and a phase shifter in cascade: 5 bits of 0.5 dB, 7 bits of 2.8125°, with errors and a little coupling.
pub fn states(offset: f64) -> (Vec<Complex64>, Vec<Complex64>, Vec<(f64, f64)>) {
    let mut measured = Vec::new();
    let mut wanted = Vec::new();
    let mut nominal = Vec::new();
    for gain_code in 0..32 {
        for phase_code in 0..128 {
            let (gain_db, phase_deg) = (-0.5 * f64::from(gain_code), -2.8125 * f64::from(phase_code));
            let wobble = (phase_deg * 2.0 + 40.0 + offset).to_radians().sin();
            let real_gain = gain_db * 1.02 - 0.35 * wobble + 0.1 * (f64::from(phase_code) * 0.9).sin();
            let real_phase = phase_deg + 2.0 * wobble + gain_db * 0.4 + offset * 0.1;
            let complex =
                |gain: f64, phase: f64| Complex64::from_polar(10_f64.powf(gain / 20.0), phase.to_radians());
            measured.push(complex(real_gain, real_phase));
            wanted.push(complex(gain_db, phase_deg));
            nominal.push((gain_db, phase_deg));
        }
    }
    (measured, wanted, nominal)
}

pub fn grid(count: usize) -> Vec<f64> {
    (0..count).map(|index| 8e9 + 4e9 * index as f64 / (count - 1) as f64).collect()
}

pub struct Lines {
    pub frequency_hz: Vec<f64>,
    pub nominal: Vec<Option<f64>>,
    pub chosen: Vec<Option<f64>>,
    pub held: Vec<Option<f64>>,
    pub holds: Vec<bool>,
}

pub fn lines() -> Lines {
    let frequency_hz = grid(201);
    let curve = |f: &dyn Fn(f64) -> f64| frequency_hz.iter().map(|&hz| Some(f(hz / 1e9))).collect::<Vec<_>>();
    let nominal = curve(&|f| 0.62 + 0.08 * (f * 2.1).sin() + 0.02 * (f - 10.0).powi(2));
    let mut chosen = curve(&|f| 0.11 + 0.02 * (f * 3.3).cos());
    let held = curve(&|f| 0.11 + 0.02 * (f * 3.3).cos() + 0.028 * (f - 9.5).powi(2));
    for gap in &mut chosen[120..130] {
        *gap = None;
    }
    let holds = frequency_hz.iter().map(|hz| (8.6e9..=10.4e9).contains(hz)).collect();
    Lines { frequency_hz, nominal, chosen, held, holds }
}

pub fn curves_of(lines: &Lines) -> [Curve<'_>; 3] {
    [
        Curve { label: "chosen", values: &lines.chosen, role: Role::First },
        Curve { label: "nominal", values: &lines.nominal, role: Role::Second },
        Curve { label: "held", values: &lines.held, role: Role::Third },
    ]
}

pub fn curves_data<'a>(lines: &'a Lines, curves: &'a [Curve<'a>]) -> CurvesData<'a> {
    CurvesData {
        name: "RMS gain error, dB",
        frequency_hz: &lines.frequency_hz,
        curves,
        vertical: Vertical::Linear { from_zero: true },
        limits: &[Limit { label: "limit", value: 0.25, over_hz: None }],
        design_band_hz: Some((8.5e9, 11e9)),
        cursor_hz: Some(9.5e9),
        lane: Some(Lane { label: "word 12", holds: &lines.holds }),
    }
}

/// Traces in dB, frequency-major.
pub fn gain_slabs(frequency_hz: &[f64], traces: usize) -> Vec<f64> {
    let mut values = Vec::with_capacity(frequency_hz.len() * traces);
    for &hz in frequency_hz {
        let f = hz / 1e9;
        for trace in 0..traces {
            let level = -15.5 * (trace / 128) as f64 / 31.0;
            let phase = (trace % 128) as f64 * 0.049;
            values.push(
                level - 3.0 - 0.3 * (f - 8.0) + 0.25 * (f * 1.7 + phase * 2.0).sin() * (1.0 + 0.2 * f.cos()),
            );
        }
    }
    values
}

/// Traces in wrapped degrees, frequency-major.
pub fn phase_slabs(frequency_hz: &[f64], traces: usize) -> Vec<f64> {
    let mut values = Vec::with_capacity(frequency_hz.len() * traces);
    for &hz in frequency_hz {
        for trace in 0..traces {
            let raw = -2.8125 * (trace % 128) as f64 + 20.0 * (hz / 1e9 - 10.0) + (trace / 128) as f64 * 0.15;
            values.push(raw - 360.0 * ((raw - 180.0) / 360.0).ceil());
        }
    }
    values
}

pub fn raster(frame: Frame, data: &DensityData, values: &[f64], traces: usize) -> DensityRaster {
    let plot = density_plot(frame, data);
    let (width, height) = plot.raster_size();
    let columns = plot.raster_columns(data.frequency_hz);
    let mut raster = DensityRaster::new(width, height);
    let needed = frequencies_for(&columns, &(0..width));
    assert_eq!(needed, 0..data.frequency_hz.len());
    let slabs = Slabs { first_frequency: 0, traces, values, kind: data.kind };
    raster.accumulate(0..width, &columns, plot.vertical, &slabs).expect("all frequencies are there");
    raster
}

fn density_page(name: &str, frame: Frame, theme: &Theme, data: &DensityData, values: &[f64], traces: usize) {
    let (svg, plot) = draw(frame, |surface| density_axes(surface, frame, theme, data));
    let plot = plot.expect("drawn");
    let raster = raster(frame, data, values, traces);
    let (width, height) = raster.size();
    let bytes = raster.to_rgba(theme.paper_kind, data.traces);
    let mut hex = String::with_capacity(2 * bytes.len());
    for byte in &bytes {
        write!(hex, "{byte:02x}").expect("a string takes it");
    }
    let Theme { paper, .. } = theme;
    let page = format!(
        "<body style='margin:0;background:rgb({},{},{})'><canvas id=c width={width} height={height} \
         style='position:absolute;left:{}px;top:{}px'></canvas><div style='position:absolute'>{svg}</div><script>\
         const h='{hex}';const d=new Uint8ClampedArray(h.length/2);for(let i=0;i<d.length;i++)\
         d[i]=parseInt(h.substr(2*i,2),16);c.getContext('2d').putImageData(new ImageData(d,{width},{height}),0,0)\
         </script>",
        paper.0, paper.1, paper.2, plot.area.left, plot.area.top
    );
    save(&format!("{name}.html"), &page);
}

/// Draws every chart in every theme and size; returns the SVG texts by name.
pub fn gallery() -> Vec<(String, Frame, String)> {
    let mut drawn = Vec::new();
    for (theme_name, theme) in THEMES {
        for (width, height) in SIZES {
            let frame = Frame::svg(width, height);
            let mut keep = |chart: &str, svg: String| {
                let name = format!("{chart}-{theme_name}-{width}");
                save(&format!("{name}.svg"), &svg);
                drawn.push((name, frame, svg));
            };
            draw_lines(frame, &theme, &mut keep);
            draw_planes(frame, &theme, &mut keep);
            draw_rest(frame, &theme, &mut keep);
            draw_nothing(frame, &theme, &mut keep);
        }
    }
    drawn
}

fn draw_lines(frame: Frame, theme: &Theme, keep: &mut impl FnMut(&str, String)) {
    let lines = lines();
    let curves_drawn = curves_of(&lines);
    let data = curves_data(&lines, &curves_drawn);
    let (svg, plot) = draw(frame, |surface| curves(surface, frame, theme, &data));
    plot.expect("drawn");
    keep("curves", svg);
    let logarithmic = CurvesData { vertical: Vertical::Logarithmic, ..data };
    let (svg, plot) = draw(frame, |surface| curves(surface, frame, theme, &logarithmic));
    plot.expect("drawn");
    keep("curves-log", svg);
}

fn draw_planes(frame: Frame, theme: &Theme, keep: &mut impl FnMut(&str, String)) {
    let (measured, wanted, nominal) = states(0.0);
    let palette = StatePalette::spanning(theme.paper_kind, nominal.iter().map(|setting| setting.0));
    let colours: Vec<_> = nominal.iter().map(|&(gain, phase)| palette.colour(gain, phase)).collect();
    let highlighted = 128 * 8 + 20;
    let data = PlaneData {
        states: &measured,
        colours: &colours,
        palette: Some(&palette),
        targets: &wanted,
        tolerance: Some((0.25, 1.40625)),
        holes: &[],
        highlight: Some(Highlight {
            state: highlighted,
            target: Some(highlighted),
            tolerance: Some((0.25, 1.40625)),
            label: "word 1044",
        }),
        pointed: None,
        window: PlaneWindow::whole(&measured),
    };
    let (svg, geometry) = draw(frame, |surface| plane(surface, frame, theme, &data));
    geometry.expect("drawn");
    keep("plane", svg);
    let window = PlaneWindow { centre: wanted[highlighted], half_side: 0.09 };
    let zoomed = PlaneData { window, ..data };
    let (svg, geometry) = draw(frame, |surface| plane(surface, frame, theme, &zoomed));
    geometry.expect("drawn");
    keep("plane-zoomed", svg);
}

fn draw_rest(frame: Frame, theme: &Theme, keep: &mut impl FnMut(&str, String)) {
    let frequency_hz = grid(201);
    let share: Vec<Option<f64>> = frequency_hz
        .iter()
        .map(|hz| Some((112.0 - 22.0 * (hz / 1e9 - 9.6).powi(2)).clamp(3.0, 100.0)))
        .collect();
    let one_limit = ["RMS phase error at most 3°, broken", "1 limit, broken"].map(str::to_owned);
    let two_limits = ["2 limits, 1 broken".to_owned()];
    let is_broken: Vec<bool> = frequency_hz.iter().map(|hz| !(8.4e9..=11.5e9).contains(hz)).collect();
    let data = StripData {
        name: "chosen words within tolerance",
        frequency_hz: &frequency_hz,
        share_pct: &share,
        cursor_hz: Some(10.5e9),
        design_band_hz: Some((8.5e9, 11e9)),
        usable_share_pct: Some(90.0),
        usable_band_hz: Some((8.2e9, 10.9e9)),
        limited: &[
            LimitedBand { from_hz: 8e9, to_hz: 9e9, labels: &one_limit },
            LimitedBand { from_hz: 9e9, to_hz: 12e9, labels: &two_limits },
        ],
        is_broken: &is_broken,
    };
    let low = Frame { height_px: 100, ..frame };
    let (svg, plot) = draw(low, |surface| strip(surface, low, theme, &data));
    plot.expect("drawn");
    keep("strip", svg);
    let marks: Vec<BitMark> = (0..12_u8)
        .map(|bit| BitMark {
            bit,
            is_set: bit % 3 == 0,
            nominal_gain_db: if bit < 7 { 0.0 } else { -0.5 * 2_f64.powi(i32::from(bit) - 7) },
            gain_db: Some(if bit < 7 {
                0.02 * f64::from(bit)
            } else {
                -0.52 * 2_f64.powi(i32::from(bit) - 7)
            }),
            nominal_phase_deg: if bit < 7 { -2.8125 * 2_f64.powi(i32::from(bit)) } else { 0.0 },
            phase_deg: (bit != 3).then_some(if bit < 7 { -2.9 * 2_f64.powi(i32::from(bit)) } else { 0.8 }),
        })
        .collect();
    let (svg, result) = draw(frame, |surface| bit_weights(surface, frame, theme, &marks));
    result.expect("drawn");
    keep("bits", svg);
    draw_densities(frame, theme, keep);
    draw_fields(frame, theme, keep);
    draw_signals(frame, theme, keep);
}

/// 32 codes of 0.5 dB whose errors grow upwards in code and frequency, one of them not measured.
fn draw_fields(frame: Frame, theme: &Theme, keep: &mut impl FnMut(&str, String)) {
    let frequency_hz = grid(81);
    let error =
        |code: usize, hz: f64| if code == 9 { f64::NAN } else { (hz / 1e9 - 10.0) * code as f64 / 70.0 };
    let trace = |code: usize, limit: f64| {
        let nominal = -0.5 * code as f64;
        CodeTrace {
            label: code.to_string(),
            nominal,
            values: frequency_hz.iter().map(|&hz| nominal - error(code, hz)).collect(),
            lowest: vec![nominal - limit; 81],
            highest: vec![nominal + limit; 81],
            is_marked: code == 11,
        }
    };
    for (name, limit) in [("code-traces", f64::NAN), ("code-traces-limited", 0.3)] {
        let traces: Vec<CodeTrace> = (0..32).map(|code| trace(code, limit)).collect();
        let data = CodeTracesData {
            name: "relative gain, dB",
            in_degrees: false,
            frequency_hz: &frequency_hz,
            traces: &traces,
            design_band_hz: Some((8.5e9, 11e9)),
            cursor_hz: Some(9.5e9),
        };
        keep(name, draw(frame, |surface| code_traces(surface, frame, theme, &data).expect("drawn")).0);
    }
    let errors: Vec<f64> =
        frequency_hz.iter().flat_map(|&hz| (0..32).map(move |code| error(code, hz))).collect();
    let data = ErrorMapData {
        name: "code",
        scale_name: "state error, dB",
        frequency_hz: &frequency_hz,
        codes: 32,
        errors: &errors,
        marked: Some(11),
        cursor_hz: Some(9.5e9),
    };
    keep("error-map", draw(frame, |surface| error_map(surface, frame, theme, &data).expect("drawn")).0);
}

fn draw_signals(frame: Frame, theme: &Theme, keep: &mut impl FnMut(&str, String)) {
    for order in [4, 16, 64, 4096] {
        let qam = Qam::new(order).expect("a square");
        let points = qam.points();
        let off = |index: usize| Complex64::from_polar(0.25 / f64::from(order).sqrt(), 2.4 * index as f64);
        let made: Vec<Complex64> =
            points.iter().enumerate().map(|(index, point)| point + off(index)).collect();
        let unclean: Vec<bool> = (0..made.len()).map(|index| index % 7 == 3).collect();
        let others: Vec<Complex64> = (0..200)
            .map(|index| Complex64::from_polar(0.9 - 0.004 * f64::from(index), 2.4 * f64::from(index)))
            .collect();
        let data =
            ConstellationData { points, made: &made, unclean: &unclean, others: &others, picked: None };
        keep(
            &format!("constellation-{order}"),
            draw(frame, |surface| constellation(surface, frame, theme, &data).expect("drawn")).0,
        );
    }
    let names = ["none", "QPSK", "16-QAM", "64-QAM", "256-QAM", "1,024-QAM", "4,096-QAM"];
    let limits = [Some(17.5), Some(12.5), Some(8.0), Some(3.5), Some(2.5), None];
    let marks: Vec<KindMark> = names[1..]
        .iter()
        .zip(limits)
        .zip([44.9, 2.1, 2.8, 3.4, 3.6, 3.7])
        .map(|((name, limit), value)| KindMark {
            name,
            value,
            filled: value < 3.0,
            limit,
            is_marked: *name == "16-QAM",
        })
        .collect();
    let data = BesideLimitsData {
        name: "EVM over average power, %",
        kinds_name: "constellation",
        limit_name: "guide limit",
        filled_name: "clean",
        open_name: "not clean",
        marks: &marks,
    };
    keep("evm", draw(frame, |surface| beside_limits(surface, frame, theme, &data).expect("drawn")).0);
    let frequency_hz = grid(101);
    let at: Vec<usize> = (0..101).map(|index: usize| (index.abs_diff(50) / 9).min(6)).collect();
    let data = LevelsData {
        name: "Largest clean constellation",
        levels: &names,
        frequency_hz: &frequency_hz,
        at: &at,
        whole_hz: (8e9, 12e9),
        design_band_hz: Some((8.5e9, 11e9)),
        cursor_hz: Some(9.5e9),
    };
    keep("levels", draw(frame, |surface| levels(surface, frame, theme, &data).expect("drawn")).0);
}

fn draw_densities(frame: Frame, theme: &Theme, keep: &mut impl FnMut(&str, String)) {
    let frequency_hz = grid(401);
    let trace: Vec<Option<f64>> =
        frequency_hz.iter().map(|hz| Some(-7.0 - 0.3 * (hz / 1e9 - 8.0) + 0.2 * (hz / 3e8).sin())).collect();
    let picked = [Curve { label: "word 1044", values: &trace, role: Role::First }];
    let gain = DensityData {
        name: "gain, dB",
        frequency_hz: &frequency_hz,
        range: (-22.0, 0.0),
        kind: Values::Plain,
        traces: 4096,
        curves: &picked,
        limits: &[Limit { label: "limit", value: -2.0, over_hz: None }],
        design_band_hz: Some((8.5e9, 11e9)),
        cursor_hz: Some(9.5e9),
    };
    let tag = format!(
        "{}-{}",
        if theme.paper_kind == Paper::Dark {
            "dark"
        } else if *theme == Theme::PRINT {
            "print"
        } else {
            "light"
        },
        frame.width_px
    );
    density_page(&format!("density-{tag}"), frame, theme, &gain, &gain_slabs(&frequency_hz, 4096), 4096);
    let wrapped: Vec<Option<f64>> =
        phase_slabs(&frequency_hz, 128).iter().skip(64).step_by(128).map(|&value| Some(value)).collect();
    let picked = [Curve { label: "word 64", values: &wrapped, role: Role::First }];
    let phase = DensityData {
        name: "phase, degrees",
        range: (-180.0, 180.0),
        kind: Values::WrappedDegrees,
        traces: 128,
        curves: &picked,
        limits: &[],
        ..gain
    };
    density_page(&format!("phase-{tag}"), frame, theme, &phase, &phase_slabs(&frequency_hz, 128), 128);
    let (svg, _) = draw(frame, |surface| density_axes(surface, frame, theme, &gain).expect("drawn"));
    keep("density-axes", svg);
    let (svg, _) = draw(frame, |surface| density_axes(surface, frame, theme, &phase).expect("drawn"));
    keep("phase-axes", svg);
}

/// A run of nothing, and a run of one state at one frequency.
fn draw_nothing(frame: Frame, theme: &Theme, keep: &mut impl FnMut(&str, String)) {
    let one = [Some(0.3)];
    for (tag, frequency_hz, values) in [("empty", &[][..], &[][..]), ("single", &[9.5e9][..], &one[..])] {
        let lines = [Curve { label: "chosen", values, role: Role::First }];
        let holds = vec![true; frequency_hz.len()];
        let data = CurvesData {
            name: "RMS gain error, dB",
            frequency_hz,
            curves: &lines,
            vertical: Vertical::Linear { from_zero: true },
            limits: &[],
            design_band_hz: None,
            cursor_hz: frequency_hz.first().copied(),
            lane: Some(Lane { label: "word 0", holds: &holds }),
        };
        keep(
            &format!("curves-{tag}"),
            draw(frame, |surface| curves(surface, frame, theme, &data).expect("drawn")).0,
        );
        let states: Vec<Complex64> = values.iter().map(|_| Complex64::new(0.6, 0.5)).collect();
        let palette = StatePalette::spanning(theme.paper_kind, states.iter().map(|_| 0.0));
        let colours: Vec<_> = states.iter().map(|_| palette.colour(0.0, 0.0)).collect();
        let data = PlaneData {
            states: &states,
            colours: &colours,
            palette: Some(&palette),
            targets: &states,
            tolerance: Some((0.25, 1.4)),
            holes: &[],
            highlight: None,
            pointed: None,
            window: PlaneWindow::whole(&states),
        };
        keep(
            &format!("plane-{tag}"),
            draw(frame, |surface| plane(surface, frame, theme, &data).expect("drawn")).0,
        );
        let data = StripData {
            name: "nominal words within tolerance",
            frequency_hz,
            share_pct: values,
            cursor_hz: frequency_hz.first().copied(),
            design_band_hz: None,
            usable_share_pct: Some(90.0),
            usable_band_hz: None,
            limited: &[],
            is_broken: &[],
        };
        let low = Frame { height_px: 100, ..frame };
        keep(
            &format!("strip-{tag}"),
            draw(low, |surface| strip(surface, low, theme, &data).expect("drawn")).0,
        );
    }
    keep("bits-empty", draw(frame, |surface| bit_weights(surface, frame, theme, &[]).expect("drawn")).0);
    draw_no_codes(frame, theme, keep);
    draw_no_signal(frame, theme, keep);
}

/// A field that was measured nowhere, and one of two codes at one frequency.
fn draw_no_codes(frame: Frame, theme: &Theme, keep: &mut impl FnMut(&str, String)) {
    for (tag, frequency_hz, errors) in
        [("empty", &[][..], &[][..]), ("single", &[9.5e9][..], &[0.0, 0.2][..])]
    {
        let data = CodesData {
            name: "State error of gain, dB",
            values: errors,
            lower: &[],
            upper: &[],
            marked: None,
        };
        keep(
            &format!("codes-{tag}"),
            draw(frame, |surface| codes(surface, frame, theme, &data).expect("drawn")).0,
        );
        let trace = |(code, error): (usize, &f64)| CodeTrace {
            label: code.to_string(),
            nominal: -(code as f64),
            values: vec![-(code as f64) + error],
            lowest: vec![f64::NAN],
            highest: vec![f64::NAN],
            is_marked: code == 1,
        };
        let traces: Vec<CodeTrace> = errors.iter().enumerate().map(trace).collect();
        let cursor_hz = frequency_hz.first().copied();
        let data = CodeTracesData {
            name: "relative gain, dB",
            in_degrees: false,
            frequency_hz,
            traces: &traces,
            design_band_hz: None,
            cursor_hz,
        };
        keep(
            &format!("code-traces-{tag}"),
            draw(frame, |surface| code_traces(surface, frame, theme, &data).expect("drawn")).0,
        );
        let data = ErrorMapData {
            name: "code",
            scale_name: "state error, dB",
            frequency_hz,
            codes: errors.len(),
            errors,
            marked: None,
            cursor_hz,
        };
        keep(
            &format!("error-map-{tag}"),
            draw(frame, |surface| error_map(surface, frame, theme, &data).expect("drawn")).0,
        );
    }
}

/// No constellation at all, the smallest with one state, and a map of a part that sets nothing.
fn draw_no_signal(frame: Frame, theme: &Theme, keep: &mut impl FnMut(&str, String)) {
    let nothing = ConstellationData { points: &[], made: &[], unclean: &[], others: &[], picked: None };
    let one = [Complex64::new(0.7, 0.7)];
    let single =
        ConstellationData { points: &one, made: &one, unclean: &[true], picked: Some(one[0]), ..nothing };
    let names = ["none", "QPSK"];
    let marks = [KindMark { name: "QPSK", value: 3.0, filled: true, limit: Some(17.5), is_marked: true }];
    let place = [9.5e9];
    for (tag, data, marks, place) in
        [("empty", nothing, &[][..], &[][..]), ("single", single, &marks[..], &place[..])]
    {
        keep(
            &format!("constellation-{tag}"),
            draw(frame, |surface| constellation(surface, frame, theme, &data).expect("drawn")).0,
        );
        let data = BesideLimitsData {
            name: "EVM over average power, %",
            kinds_name: "constellation",
            limit_name: "guide limit",
            filled_name: "clean",
            open_name: "not clean",
            marks,
        };
        keep(
            &format!("evm-{tag}"),
            draw(frame, |surface| beside_limits(surface, frame, theme, &data).expect("drawn")).0,
        );
        let at = vec![1; place.len()];
        let data = LevelsData {
            name: "Largest clean constellation",
            levels: &names,
            frequency_hz: place,
            at: &at,
            whole_hz: (
                place.first().copied().unwrap_or(f64::NAN),
                place.first().copied().unwrap_or(f64::NAN),
            ),
            design_band_hz: None,
            cursor_hz: place.first().copied(),
        };
        keep(
            &format!("levels-{tag}"),
            draw(frame, |surface| levels(surface, frame, theme, &data).expect("drawn")).0,
        );
    }
    let map = ResolutionData {
        phase_bits: 0,
        gain_bits: 0,
        served_pct: &[100.0],
        picked: Some((0, 0)),
        marked: &[true],
    };
    keep(
        "resolution-single",
        draw(frame, |surface| resolution(surface, frame, theme, &map).expect("drawn")).0,
    );
}
