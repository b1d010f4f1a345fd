//! The numbers behind the plots, as tables for people: what is drawn, row by row, from the same answers.

use super::part_traces::every_code;
use super::parts::{figure_for, limits, of_code};
use super::plots::{MAPPINGS, bit_marks};
use super::view::{FieldInView, View};
use crate::control::{Quantity, Setting};
use crate::part::{Figure, Unit};
use crate::pipeline::{Analysis, AtFrequency, Graded, Report};
use crate::plane::{Score, wrap_deg};
use crate::sheet::band::score_of;
use crate::sheet::parts::{against_frequency as extremes, from_typical, is_broken_at};
use crate::sheet::reach::usable_band_of;
use crate::sheet::reference_name_in;
use crate::sheet::signal::name as constellation_name;
use crate::sheet::wording::{
    capital, decibels, degrees, exact, exact_in_unit, frequency, in_unit, percent, ratio_percent, rounded,
};
use crate::signal::{Constellation, Qam};
use num_complex::Complex64;

/// A head and rows of texts.
pub type Numbers = (Vec<String>, Vec<Vec<String>>);

/// Stands where there is no value.
const NONE: &str = "–";

/// States are counted in sectors of so many degrees.
const SECTOR_DEG: u16 = 30;

/// The three mappings' RMS relative vector error at every frequency, and the error of the state picked out.
pub fn errors(report: &Report, analysis: &Analysis, view: &View) -> Numbers {
    let own = view.served(report, analysis).map(|(trace, setting)| {
        let text = |error: Option<f64>| error.map_or(NONE.to_owned(), |pct| ratio_percent(pct / 100.0));
        (trace.label(), trace.vector_errors_pct(setting).into_iter().map(text).collect())
    });
    by_mapping(report, analysis, |score| ratio_percent(score.rms_vector_error), own.as_ref())
}

/// The three mappings' share of settings within tolerance at every frequency, and whether the state picked out is.
pub fn shares(report: &Report, analysis: &Analysis, view: &View) -> Numbers {
    let own = view.served(report, analysis).map(|(trace, setting)| {
        let within = trace.within(setting, &analysis.tolerance);
        let text = |is: Option<bool>| match is {
            Some(true) => "within".to_owned(),
            Some(false) => "outside".to_owned(),
            None => NONE.to_owned(),
        };
        (trace.label(), within.into_iter().map(text).collect())
    });
    by_mapping(report, analysis, |score| percent(score.within_both_pct), own.as_ref())
}

/// A column for each mapping, and one with a name of its own.
fn by_mapping(
    report: &Report,
    analysis: &Analysis,
    text: fn(&Score) -> String,
    own: Option<&(&str, Vec<String>)>,
) -> Numbers {
    let names = MAPPINGS.iter().map(|(_, name, _)| *name).chain(own.map(|(name, _)| *name));
    let head = std::iter::once("Frequency").chain(names);
    let row = |(index, (&hz, at)): (usize, (&f64, &AtFrequency))| {
        let cells = MAPPINGS.iter().map(|(mapping, ..)| score_of(at, *mapping).map_or(NONE.to_owned(), text));
        let own = own.map(|(_, texts)| texts[index].clone());
        std::iter::once(frequency(hz)).chain(cells).chain(own).collect()
    };
    let rows = report.intake.frequency_hz.iter().zip(&analysis.frequencies).enumerate().map(row);
    (head.map(capital).collect(), rows.collect())
}

/// What the frequency strip shows at every frequency: the share within tolerance, which bands it lies in, and, where there is
/// a specification, how many of its sub-bands and whether a limit is broken.
pub fn strip(report: &Report, analysis: &Analysis) -> Numbers {
    let usable = usable_band_of(report, analysis);
    let usable = usable.map(|band| band.low.frequency_hz..=band.high.frequency_hz);
    let rows_of = &report.settings.specification;
    let is_broken = is_broken_at(report);
    let is_judged = report.parts.as_deref().is_some_and(|parts| parts.is_judged);
    let yes = |is: bool| if is { "yes" } else { NONE }.to_owned();
    let row = |(index, &hz): (usize, &f64)| {
        let mut cells = vec![
            frequency(hz),
            percent(analysis.frequencies[index].chosen.within_both_pct),
            yes(analysis.design_band.contains(&index)),
            yes(usable.as_ref().is_some_and(|band| band.contains(&hz))),
        ];
        if !rows_of.is_empty() {
            cells.push(rows_of.iter().filter(|row| row.covers(hz)).count().to_string());
            cells.push(if is_judged { yes(is_broken[index]) } else { "not judged yet".to_owned() });
        }
        cells
    };
    let rows = report.intake.frequency_hz.iter().enumerate().map(row).collect();
    let specified: &[&str] = if rows_of.is_empty() { &[] } else { &["Limits specified", "Broken"] };
    let head = ["Frequency", "Chosen words within tolerance", "Design band", "Usable band"];
    (head.iter().chain(specified).map(|&name| name.to_owned()).collect(), rows)
}

/// The RMS relative vector error of the words chosen under every reference at every frequency; empty until they are
/// compared.
pub fn references(report: &Report, analysis: &Analysis) -> Numbers {
    let policies = report.comparison.as_ref().map_or(&[][..], |comparison| &comparison.policies);
    let names = policies.iter().map(|scores| reference_name_in(scores.policy, &analysis.model));
    let head = std::iter::once("Frequency".to_owned()).chain(names.map(|name| capital(&name)));
    let rows = report.intake.frequency_hz.iter().enumerate().map(|(index, &hz)| {
        let error = |score: &Option<Score>| {
            score.map_or(NONE.to_owned(), |score| ratio_percent(score.rms_vector_error))
        };
        let cells = policies.iter().map(|scores| scores.chosen.get(index).map_or(NONE.to_owned(), error));
        std::iter::once(frequency(hz)).chain(cells).collect()
    });
    (head.collect(), rows.collect())
}

/// Where every state lies at the chosen frequency, beside where it is meant to lie.
pub fn plane(report: &Report, analysis: &Analysis) -> Numbers {
    let service = &analysis.service;
    let has_nominal = analysis.model.has_nominal();
    let nominal: &[&str] = if has_nominal { &["Nominal gain", "Nominal phase"] } else { &[] };
    let head = ["Word", "Gain", "Phase"].iter().chain(nominal).map(|&name| name.to_owned());
    let row = |(state, transmission): (&crate::run::State, &Complex64)| {
        let gain = transmission / service.reference;
        let mut cells = vec![
            state.word.0.to_string(),
            decibels(20.0 * gain.norm().log10()),
            degrees(gain.arg().to_degrees()),
        ];
        if has_nominal {
            let setting = analysis.model.nominal(state.word);
            let cell = |of: fn(Setting) -> String| setting.map_or(NONE.to_owned(), of);
            cells.push(cell(|setting| format!("{} dB", exact(setting.gain_db))));
            cells.push(cell(|setting| format!("{}°", exact(setting.phase_deg))));
        }
        cells
    };
    let rows = report.intake.states.iter().zip(&service.transmission).map(row);
    (head.collect(), rows.collect())
}

/// The lowest and the highest relative gain of all states at every frequency.
pub fn gain_traces(report: &Report, analysis: &Analysis) -> Numbers {
    let row = |(&hz, at): (&f64, &AtFrequency)| {
        let (low, high) = at
            .gain_range_db
            .map_or((NONE.to_owned(), NONE.to_owned()), |(low, high)| (decibels(low), decibels(high)));
        vec![frequency(hz), low, high]
    };
    let rows = report.intake.frequency_hz.iter().zip(&analysis.frequencies).map(row);
    (["Frequency", "Lowest gain", "Highest gain"].map(str::to_owned).to_vec(), rows.collect())
}

/// How many states lie in each sector of phase at the chosen frequency.
pub fn phase_traces(analysis: &Analysis) -> Numbers {
    let service = &analysis.service;
    let phases: Vec<f64> =
        service.transmission.iter().map(|t| wrap_deg((t / service.reference).arg().to_degrees())).collect();
    let width = f64::from(SECTOR_DEG);
    let row = |sector: u16| {
        let low = -180.0 + width * f64::from(sector);
        // A wrapped phase is above −180° and may be +180°, so sectors hold their upper ends.
        let inside = phases.iter().filter(|&&phase| phase > low && phase <= low + width).count();
        vec![
            format!("above {}° to {}°", exact(low), exact(low + width)),
            crate::sheet::wording::whole(inside),
        ]
    };
    (["Relative phase", "States"].map(str::to_owned).to_vec(), (0..360 / SECTOR_DEG).map(row).collect())
}

/// What each bit is meant to do, and does.
pub fn bit_weights(analysis: &Analysis) -> Numbers {
    let head = ["Bit", "Gain, nominal", "Gain, measured", "Phase, nominal", "Phase, measured"];
    let measured = |value: Option<f64>, text: fn(f64) -> String| value.map_or(NONE.to_owned(), text);
    let row = |mark: crate::chart::BitMark| {
        vec![
            mark.bit.to_string(),
            format!("{} dB", exact(mark.nominal_gain_db)),
            measured(mark.gain_db, decibels),
            format!("{}°", exact(mark.nominal_phase_deg)),
            measured(mark.phase_deg, degrees),
        ]
    };
    (head.map(str::to_owned).to_vec(), bit_marks(analysis, None).into_iter().map(row).collect())
}

/// The state error of every code at the chosen frequency, and between what it should lie.
pub fn state_errors(report: &Report, analysis: &Analysis, graded: &Graded) -> Numbers {
    let figure = Figure::StateError(graded.slice.quantity);
    over_codes(report, analysis, graded, figure, &graded.at[analysis.service.index].state_errors)
}

/// What every code does to the other quantity at the chosen frequency, and between what that should lie.
pub fn cross_effects(report: &Report, analysis: &Analysis, graded: &Graded) -> Numbers {
    let figure = Figure::OverCodes(graded.slice.quantity);
    over_codes(report, analysis, graded, figure, &graded.at[analysis.service.index].other)
}

fn over_codes(
    report: &Report,
    analysis: &Analysis,
    graded: &Graded,
    figure: Figure,
    values: &[f64],
) -> Numbers {
    let (lower, upper) = limits(report, analysis, graded, figure);
    let is_limited = lower.iter().chain(&upper).any(Option::is_some);
    let limit_names: &[&str] = if is_limited { &["At least", "At most"] } else { &[] };
    let head = ["Code", "Setting", "Value"].iter().chain(limit_names).map(|&name| name.to_owned());
    let setting_unit = match graded.slice.quantity {
        Quantity::Gain => " dB",
        Quantity::Phase => "°",
    };
    let rows = values.iter().enumerate().map(|(code, &value)| {
        let setting = graded
            .slice
            .nominal
            .get(code)
            .map_or(NONE.to_owned(), |&setting| format!("{}{setting_unit}", exact(setting)));
        let mut cells = vec![code.to_string(), setting, in_unit(value, figure.unit())];
        if is_limited {
            let limit = |limits: &[Option<f64>]| {
                limits
                    .get(code)
                    .copied()
                    .flatten()
                    .map_or(NONE.to_owned(), |limit| exact_in_unit(limit, figure.unit()))
            };
            cells.extend([limit(&lower), limit(&upper)]);
        }
        cells
    });
    (head.collect(), rows.collect())
}

/// The lowest and the highest value of a figure at every frequency, with the code marked, the typical curve where there
/// is one and how far the measurement, of several codes the highest, is from it.
pub fn figure(report: &Report, field: FieldInView, name: &str) -> Numbers {
    let graded = field.graded;
    let grid = &report.intake.frequency_hz;
    let figure = figure_for(name, graded, report);
    let typical = report.settings.typical.as_ref().filter(|typical| typical.figure == figure);
    let typical = typical.map(|typical| typical.curve.on(grid));
    let difference = from_typical(report, graded).filter(|(of, _)| *of == figure).map(|(_, values)| values);
    let marked =
        field.marked.and_then(|code| Some((of_code(graded, figure, grid, code)?, format!("Code {code}"))));
    let beside = marked.iter().map(|(values, name)| (values, name.as_str()));
    let beside = beside.chain(typical.iter().zip(["Typical"]));
    let beside: Vec<(&Vec<Option<f64>>, &str)> =
        beside.chain(difference.iter().zip(["Highest minus typical"])).collect();
    let head = ["Frequency", "Lowest", "Highest"].into_iter().chain(beside.iter().map(|(_, name)| *name));
    let text = |value: Option<f64>| value.map_or(NONE.to_owned(), |value| in_unit(value, figure.unit()));
    let measured = extremes(&graded.measured(grid, None), figure);
    let rows = grid.iter().zip(&measured).enumerate().map(|(index, (&hz, both))| {
        let ends = [text(both.map(|both| both.0)), text(both.map(|both| both.1))];
        let beside = beside.iter().map(|(values, _)| text(values[index]));
        std::iter::once(frequency(hz)).chain(ends).chain(beside).collect()
    });
    (head.map(str::to_owned).collect(), rows.collect())
}

/// The traces drawn: per frequency the relative gain or phase of every code drawn, with the signs of the plane.
pub fn code_traces(report: &Report, graded: &Graded) -> Numbers {
    let slice = &graded.slice;
    let unit = match slice.quantity {
        Quantity::Gain => Unit::Decibel,
        Quantity::Phase => Unit::Degree,
    };
    let codes: Vec<usize> = (0..slice.codes()).step_by(every_code(slice.codes())).collect();
    let head = codes.iter().map(|code| format!("Code {code}"));
    let rows = report.intake.frequency_hz.iter().zip(&graded.at).map(|(&hz, at)| {
        let value = |&code: &usize| slice.sign * (slice.nominal[code] + at.state_errors[code]);
        let cells = codes.iter().map(|code| in_unit(value(code), unit));
        std::iter::once(frequency(hz)).chain(cells).collect()
    });
    (std::iter::once("Frequency".to_owned()).chain(head).collect(), rows.collect())
}

/// The lowest and the highest state error of every code over the grid, and where they are.
pub fn error_map(report: &Report, graded: &Graded) -> Numbers {
    let unit = Figure::StateError(graded.slice.quantity).unit();
    let grid = &report.intake.frequency_hz;
    let rows = (0..graded.slice.codes()).map(|code| {
        let errors = || grid.iter().zip(&graded.at).map(|(hz, at)| (*hz, at.state_errors[code]));
        let by_error = |a: &(f64, f64), b: &(f64, f64)| a.1.total_cmp(&b.1);
        let ends = [errors().min_by(by_error), errors().max_by(by_error)];
        let cells = ends.into_iter().flat_map(|end| {
            end.map_or([NONE.to_owned(), NONE.to_owned()], |(hz, error)| {
                [in_unit(error, unit), frequency(hz)]
            })
        });
        std::iter::once(code.to_string()).chain(cells).collect()
    });
    let head = ["Code", "Lowest state error", "at", "Highest state error", "at"];
    (head.map(str::to_owned).to_vec(), rows.collect())
}

/// Every point of a constellation, in units of the root mean square of all points, with the word that makes it and how far off.
pub fn constellation(report: &Report, analysis: &Analysis, one: &Constellation) -> Numbers {
    let qam = Qam::new(one.order);
    let points = qam.as_ref().map_or(&[][..], Qam::points);
    let rms = (points.iter().map(Complex64::norm_sqr).sum::<f64>() / points.len() as f64).sqrt();
    let place = |value: Complex64| format!("{} {}j", rounded(value.re), signed(value.im));
    let rows = points.iter().zip(&one.states).map(|(point, &state)| {
        let made =
            analysis.service.transmission.get(state as usize).map(|transmission| transmission / one.scale);
        let word = report.intake.states.get(state as usize);
        vec![
            place(point / rms),
            word.map_or(NONE.to_owned(), |state| state.word.0.to_string()),
            made.map_or(NONE.to_owned(), |made| place(made / rms)),
            made.map_or(NONE.to_owned(), |made| ratio_percent((made - point).norm() / rms)),
        ]
    });
    let head = ["Ideal point", "Word", "Made", "Error of the mean power"];
    (head.map(str::to_owned).to_vec(), rows.collect())
}

/// With its sign, written as a sum's second part.
fn signed(value: f64) -> String {
    let text = rounded(value.abs());
    if value < 0.0 && text != "0" { format!("− {text}") } else { format!("+ {text}") }
}

/// The largest clean constellation at every frequency looked at.
pub fn largest_clean(report: &Report) -> Numbers {
    let found = report.largest_clean.as_ref();
    let rows = found.into_iter().flat_map(|found| found.looked_at.iter().zip(&found.orders)).map(
        |(&index, order)| {
            let hz = report.intake.frequency_hz[index];
            vec![frequency(hz), order.map_or("none".to_owned(), constellation_name)]
        },
    );
    (["Frequency", "Largest clean constellation"].map(str::to_owned).to_vec(), rows.collect())
}

/// The clean bits of phase and of gain at every frequency.
pub fn clean_bits(report: &Report) -> Numbers {
    let clean = report.reach.clean_bits.as_deref().unwrap_or_default();
    let rows = report.intake.frequency_hz.iter().zip(clean).map(|(&hz, bits)| {
        let text = |bits: Option<u8>| bits.map_or("none".to_owned(), |bits| bits.to_string());
        vec![frequency(hz), text(bits.map(|bits| bits.phase)), text(bits.map(|bits| bits.gain))]
    });
    (["Frequency", "Clean bits of phase", "Clean bits of gain"].map(str::to_owned).to_vec(), rows.collect())
}
