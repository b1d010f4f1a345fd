//! Grading one field: figures against values worked by hand and with numpy, laws that hold for any part, the noise of
//! every figure against trials with planted noise, and verdicts.

mod graded;

use graded::{
    Sequence, all_close, alone, attenuator, close, from_db_deg, graded, judged, of_bits, part, phase_shifter,
    row,
};
use num_complex::{Complex32, Complex64};
use sweepfold::control::{ControlModel, Direction, Field, Layout, Listing, Quantity, Setting, Word};
use sweepfold::part::{
    CrossRms, FieldAt, FieldSlice, Figure, IntegralLine, Limits, Measured, Port, Refusal, RmsVariant,
    SpecificationRow, Undecided, Verdict, WorstReflections,
};
use sweepfold::plane::StateIndex;

/// Phases 0, 92, 177, 274°: errors 0, 2, −3, 4, of mean 0.75. By hand from each definition.
#[test]
fn phase_errors_have_four_root_mean_squares() {
    let slice = phase_shifter(2);
    let at = graded(&slice, &[0.0, 92.0, 177.0, 274.0]);
    all_close(&at.state_errors, &[0.0, 2.0, -3.0, 4.0], 1e-11);
    let rms = RmsVariant::all(Quantity::Phase).iter().map(|variant| variant.of(&slice, &at.state_errors));
    // The mean is taken out on the circle, which is off the arithmetic one by less than 1e-3°.
    all_close(&rms.collect::<Vec<_>>(), &[2.586_020, 2.692_582, 3.109_126, 2.986_079], 2e-6);
    assert_eq!(RmsVariant::trade(Quantity::Phase), RmsVariant::PhaseMeanRemoved);
}

/// The mean is a direction: errors of 179, −179 and 180° lie 1° and 0° about 180°.
#[test]
fn the_mean_phase_error_is_circular() {
    let slice = phase_shifter(2);
    let errors = [179.0, -179.0, 180.0, 180.0];
    close(RmsVariant::PhaseMeanRemoved.of(&slice, &errors), 0.5_f64.sqrt(), 1e-9);
}

/// Attenuations 0, 0.48, 1.05, … of a 3-bit attenuator of 0.5 dB: differential nonlinearity by hand, the lines with
/// numpy's polyfit.
#[test]
fn an_attenuator_is_linear_in_three_ways() {
    let slice = attenuator(3, 0.5);
    let at = graded(&slice, &[0.0, 0.48, 1.05, 1.40, 2.10, 2.55, 3.02, 3.49]);
    all_close(&at.state_errors, &[0.0, -0.02, 0.05, -0.10, 0.10, 0.05, 0.02, -0.01], 1e-12);
    all_close(&at.bit_errors(&slice).expect("bits"), &[-0.02, 0.05, 0.10], 1e-12);
    let dnl = at.differential_nonlinearity(&slice).expect("steps");
    all_close(&dnl, &[-0.04, 0.14, -0.30, 0.40, -0.10, -0.06, -0.06], 1e-11);
    let off = |at: &FieldAt, line| at.integral_nonlinearity(&slice, line).expect("a line");
    let from_ends = [0.0, -0.037_249, 0.106_017, -0.191_977, 0.212_034, 0.114_613, 0.057_307, 0.0];
    all_close(&off(&at, IntegralLine::EndCodes), &from_ends, 1e-6);
    let best = [0.004_961, -0.042_523, 0.088_590, -0.216_867, 0.172_218, 0.065_202, -0.002_126, -0.069_454];
    all_close(&off(&at, IntegralLine::LeastSquares), &best, 1e-6);
    assert_eq!(at.reverse_steps(&slice), Ok(Vec::new()));

    let mut codes = part(&slice, &[0.0, 0.48, 1.05, 1.40, 2.10, 2.55, 3.02, 3.49], &[0.0; 8]);
    codes[3] = None;
    let without_three = FieldAt::of(&slice, &codes);
    let best = off(&without_three, IntegralLine::LeastSquares);
    assert!(best[3].is_nan());
    all_close(&best[..3], &[-0.036_739, -0.081_385, 0.053_098], 1e-6);
    all_close(&best[4..], &[0.142_935, 0.038_580, -0.025_970, -0.090_519], 1e-6);
    codes[7] = None;
    let line = FieldAt::of(&slice, &codes).integral_nonlinearity(&slice, IntegralLine::EndCodes);
    assert_eq!(line, Err(Refusal::EndCodeMissing));
}

/// Attenuations off by 0, 0.1, −0.1 and 0.2 dB. The linear form, of the gain's error, is smaller the way attenuations err.
#[test]
fn attenuation_errors_have_three_root_mean_squares() {
    for (direction, linear) in [(Direction::Down, 0.120_703), (Direction::Up, 0.122_556)] {
        let slice = alone(Quantity::Gain, 2, 1.0, direction);
        let at = graded(&slice, &[0.0, 1.1, 1.9, 3.2]);
        let rms = RmsVariant::all(Quantity::Gain).iter().map(|variant| variant.of(&slice, &at.state_errors));
        all_close(&rms.collect::<Vec<_>>(), &[0.141_421, 0.122_474, linear], 1e-6);
    }
    assert_eq!(RmsVariant::trade(Quantity::Gain), RmsVariant::GainReferenceNotCounted);
}

/// Gains of −10, −10.4, −9.7 and −10.3 dB over the codes of a phase shifter; with numpy.
#[test]
fn gain_over_phase_codes_has_five_root_mean_squares() {
    let slice = phase_shifter(2);
    let at = FieldAt::of(&slice, &part(&slice, &[0.0, 90.0, 180.0, 270.0], &[-10.0, -10.4, -9.7, -10.3]));
    let rms = CrossRms::all(Quantity::Phase).iter().map(|variant| at.cross_rms(&slice, *variant));
    all_close(&rms.collect::<Vec<_>>(), &[0.273_861, 0.291_548, 0.336_650, 0.273_896, 0.273_999], 1e-6);
    let effect = at.cross_effect(&slice).expect("measured");
    assert_eq!(effect.peak_code, 1);
    close(effect.peak, -0.4, 1e-12);
    // Half of it is what some data sheets call the imbalance, ±0.35 dB.
    close(effect.peak_to_peak, 0.7, 1e-12);
}

/// By hand. Beyond 180° the phase of an attenuator's codes wraps, but the arc that holds all of them stays 200°.
#[test]
fn phase_over_gain_codes_is_an_arc() {
    let slice = attenuator(2, 1.0);
    let at = FieldAt::of(&slice, &part(&slice, &[0.0, 1.0, 2.0, 3.0], &[0.0, 60.0, 130.0, 200.0]));
    all_close(&at.other, &[0.0, 60.0, 130.0, -160.0], 1e-11);
    let effect = at.cross_effect(&slice).expect("measured");
    assert_eq!(effect.peak_code, 3);
    close(effect.peak_to_peak, 200.0, 1e-10);
    let expected = (2.0 * (3600.0 + 16_900.0 + 25_600.0) / 8.0_f64).sqrt();
    close(at.cross_rms(&slice, CrossRms::all(Quantity::Gain)[0]), expected, 1e-10);
}

/// A part at random: bits off by so much and codes off by a little more, and the other quantity as well.
fn random_part(sequence: &mut Sequence, bits: u8) -> (FieldSlice, Vec<Option<Complex64>>) {
    let direction = if sequence.next() < 0.5 { Direction::Down } else { Direction::Up };
    let (slice, step) = if sequence.next() < 0.5 {
        (alone(Quantity::Gain, bits, 0.5, direction), 0.5)
    } else {
        let step = 360.0 / f64::from(1_u32 << bits);
        (alone(Quantity::Phase, bits, step, direction), step)
    };
    let mut random =
        |size: f64| -> Vec<f64> { (0..slice.codes()).map(|_| sequence.between(-size, size)).collect() };
    let (errors, other) = (random(0.4 * step), random(3.0));
    let values: Vec<f64> =
        slice.nominal.iter().zip(&errors).map(|(nominal, error)| nominal + error).collect();
    let codes = part(&slice, &values, &other);
    (slice, codes)
}

#[test]
fn turning_and_scaling_all_codes_changes_nothing() {
    let mut sequence = Sequence(11);
    for round in 0..200 {
        let (slice, codes) = random_part(&mut sequence, 1 + round % 6);
        let factor = from_db_deg(sequence.between(-60.0, 20.0), sequence.between(-180.0, 180.0));
        let turned: Vec<Option<Complex64>> =
            codes.iter().map(|code| code.map(|code| code * factor)).collect();
        let (plain, turned) = (FieldAt::of(&slice, &codes), FieldAt::of(&slice, &turned));
        all_close(&turned.state_errors, &plain.state_errors, 1e-10);
        all_close(&turned.other, &plain.other, 1e-10);
        let lost_db = -20.0 * factor.norm().log10();
        close(turned.insertion_loss_db() - plain.insertion_loss_db(), lost_db, 1e-10);
    }
}

#[test]
fn a_part_and_its_inverse_have_the_same_errors_in_opposite_directions() {
    let mut sequence = Sequence(12);
    for round in 0..200 {
        let (slice, codes) = random_part(&mut sequence, 1 + round % 6);
        let inverse: Vec<Option<Complex64>> = codes.iter().map(|code| code.map(Complex64::finv)).collect();
        let opposite = FieldSlice { sign: -slice.sign, ..slice.clone() };
        let (plain, inverse) = (FieldAt::of(&slice, &codes), FieldAt::of(&opposite, &inverse));
        all_close(&inverse.state_errors, &plain.state_errors, 1e-10);
        all_close(&inverse.other, &plain.other.iter().map(|value| -value).collect::<Vec<_>>(), 1e-10);
    }
}

#[test]
fn lines_take_out_what_is_straight() {
    let mut sequence = Sequence(14);
    for _ in 0..100 {
        let slice = attenuator(4, 0.5);
        let values: Vec<f64> =
            (0..16).map(|code| 0.5 * f64::from(code) + sequence.between(-0.1, 0.1)).collect();
        let values: Vec<f64> = values.iter().map(|value| value - values[0]).collect();
        let stretched: Vec<f64> = values.iter().map(|value| 1.3 * value).collect();
        let (plain, stretched) = (graded(&slice, &values), graded(&slice, &stretched));
        for line in [IntegralLine::EndCodes, IntegralLine::LeastSquares] {
            let off = |at: &FieldAt| at.integral_nonlinearity(&slice, line).expect("a line");
            all_close(&off(&stretched), &off(&plain), 1e-9);
        }
        // The normal equations: distances from the least-squares line sum to nothing, alone and times the code.
        let off = plain.integral_nonlinearity(&slice, IntegralLine::LeastSquares).expect("a line");
        close(off.iter().sum(), 0.0, 1e-9);
        close(off.iter().zip(0_u32..).map(|(off, code)| off * f64::from(code)).sum(), 0.0, 1e-8);
        let ends = plain.integral_nonlinearity(&slice, IntegralLine::EndCodes).expect("a line");
        all_close(&[ends[0], ends[15]], &[0.0, 0.0], 1e-12);
    }
    let dead = graded(&attenuator(2, 0.5), &[0.0; 4]);
    let line = dead.integral_nonlinearity(&attenuator(2, 0.5), IntegralLine::EndCodes);
    assert_eq!(line, Err(Refusal::NoSlope));
}

/// A part wired backwards, one with its largest bit stuck, and one off by most of a turn: a state that is right has no
/// error whatever its neighbours do, and no step is a turn off.
#[test]
fn large_phase_errors_keep_to_their_own_turn() {
    let slice = phase_shifter(3);
    let stuck = graded(&slice, &[0.0, 45.0, 90.0, 135.0, 0.0, 45.0, 90.0, 135.0]);
    all_close(&stuck.state_errors.iter().map(|e| e.abs()).collect::<Vec<_>>()[4..], &[180.0; 4], 1e-9);
    for (index, error) in stuck.step_errors(&slice).iter().enumerate() {
        close(error.abs(), if index == 3 || index == 7 { 180.0 } else { 0.0 }, 1e-9);
    }
    let wild = graded(&slice, &[0.0, 45.0 + 100.0, 90.0 + 200.0, 135.0 + 300.0, 180.0, 225.0, 270.0, 315.0]);
    all_close(&wild.state_errors, &[0.0, 100.0, -160.0, -60.0, 0.0, 0.0, 0.0, 0.0], 1e-9);
    all_close(&wild.step_errors(&slice), &[100.0, 100.0, 100.0, 60.0, 0.0, 0.0, 0.0, 0.0], 1e-9);
}

#[test]
fn uneven_codes_have_errors_but_no_steps() {
    let mut field = Field::contiguous(Quantity::Gain, 0, 2, 1.0, Direction::Down);
    field.levels = Some(vec![0.0, 1.0, 4.0, 16.0]);
    let slice_of =
        |field: &Field| FieldSlice::of(&Layout { fields: vec![field.clone()] }, 0, &[]).expect("a slice");
    let slice = slice_of(&field);
    let at = graded(&slice, &[0.0, 1.1, 3.8, 16.3]);
    all_close(&at.state_errors, &[0.0, 0.1, -0.2, 0.3], 1e-11);
    all_close(&at.step_errors(&slice), &[0.1, -0.3, 0.5], 1e-11);
    all_close(&at.increments(&slice).expect("ascending"), &[1.1, 2.7, 12.5], 1e-11);
    assert_eq!(at.differential_nonlinearity(&slice), Err(Refusal::UnevenSteps));
    let line = at.integral_nonlinearity(&slice, IntegralLine::LeastSquares);
    assert_eq!(line, Err(Refusal::UnevenSteps));
    // The bits are there all the same, whatever they are worth.
    all_close(&at.bit_errors(&slice).expect("bits"), &[0.1, -0.2], 1e-11);
    let figure = Figure::DifferentialNonlinearity(Quantity::Gain);
    let judgement = judged(&slice, &[at], None, &row(figure, Limits::plus_minus(0.5, 0.0))).expect("its own");
    assert_eq!(judgement.verdict, Verdict::NotDecidable(Undecided::Refused(Refusal::UnevenSteps)));
    field.levels = Some(vec![0.0, 4.0, 1.0, 16.0]);
    let slice = slice_of(&field);
    assert_eq!(graded(&slice, &[0.0, 4.0, 1.0, 16.0]).reverse_steps(&slice), Err(Refusal::NotAscending));
}

/// An attenuator whose files are named by settings, one of them (2 dB) not there: the errors stand, steps and bits do not.
#[test]
fn listed_settings_are_graded_without_bits() {
    let setting = |gain_db| Setting { gain_db, phase_deg: 0.0 };
    let settings = [-3.0, -1.0, 0.0, -4.0].map(setting);
    let model = ControlModel::Listed(Listing::Settings(settings.to_vec()));
    let slice = FieldSlice::of_settings(&model, Quantity::Gain, 0.0).expect("a slice");
    let positions = slice.states(&StateIndex::new(&[0, 1, 2, 3].map(Word))).expect("complete");
    let states = [-5.9, -4.2, -3.0, -7.1].map(|gain_db| from_db_deg(gain_db, 10.0));
    let at = FieldAt::of(&slice, &FieldSlice::pick(&positions, &states));
    close(at.insertion_loss_db(), 3.0, 1e-12);
    all_close(&at.state_errors, &[0.0, 0.2, -0.1, 0.1], 1e-11);
    assert_eq!(at.bit_errors(&slice), Err(Refusal::NoBits));
    assert_eq!(at.differential_nonlinearity(&slice), Err(Refusal::UnevenSteps));
}

/// In a 6-bit cascade whose gain and phase codes disturb each other, either field is graded with the other held at a code
/// of the user's choice, and the slice finds its own words whatever the order of the states.
#[test]
fn a_field_is_graded_out_of_a_cascade() {
    let mut phase = Field::contiguous(Quantity::Phase, 0, 3, 45.0, Direction::Down);
    phase.bits[1].inverted = true;
    let gain = Field::contiguous(Quantity::Gain, 3, 3, 1.0, Direction::Down);
    let layout = Layout { fields: vec![phase, gain] };
    // Each phase code takes 0.1 dB more than the one before, and 0.02° more of every gain code.
    let transmission = |word: Word| {
        let (p, g) = (f64::from(layout.fields[0].code(word)), f64::from(layout.fields[1].code(word)));
        from_db_deg(-5.0 - 1.01 * g - 0.1 * p, 20.0 - 45.0 * p - 1.5 * g - 0.02 * p * g)
    };
    let words: Vec<Word> = (0..64).map(Word).collect();
    let index = StateIndex::new(&words);
    let states: Vec<Complex64> = words.iter().map(|&word| transmission(word)).collect();
    let graded = |field: usize, held: &[u32]| {
        let slice = FieldSlice::of(&layout, field, held).expect("a slice");
        let positions = slice.states(&index).expect("complete");
        let at = FieldAt::of(&slice, &FieldSlice::pick(&positions, &states));
        (slice, at)
    };
    for held in [0, 5] {
        let (_, at) = graded(1, &[held, 0]);
        let codes: Vec<f64> = (0..8).map(f64::from).collect();
        all_close(&at.state_errors, &codes.iter().map(|g| 0.01 * g).collect::<Vec<_>>(), 1e-10);
        let turn = 1.5 + 0.02 * f64::from(held);
        all_close(&at.other, &codes.iter().map(|g| -turn * g).collect::<Vec<_>>(), 1e-10);
        close(at.insertion_loss_db(), 5.0 + 0.1 * f64::from(held), 1e-10);
    }
    let (slice, at) = graded(0, &[0, 7]);
    assert!(slice.fills_circle());
    all_close(&at.state_errors, &(0..8).map(|p| 0.14 * f64::from(p)).collect::<Vec<_>>(), 1e-10);
    close(at.cross_effect(&slice).expect("measured").peak_to_peak, 0.7, 1e-10);
}

/// Noise of a known deviation is planted into the transmission of a part many times over; the deviation of every reading
/// must be the one that is told.
#[test]
fn the_noise_of_every_figure_is_that_of_trials() {
    const TRIALS: usize = 4000;
    let sigma = 2e-4;
    let grid = [1.00e9, 1.01e9, 1.02e9];
    let mut sequence = Sequence(15);
    for slice in [attenuator(3, 2.0), phase_shifter(3)] {
        let error = if slice.quantity == Quantity::Gain { 0.2 } else { 4.0 };
        let values: Vec<f64> =
            slice.nominal.iter().map(|nominal| nominal + sequence.between(-error, error)).collect();
        let other: Vec<f64> = (0..8).map(|_| sequence.between(-4.0, 4.0)).collect();
        let clean = part(&slice, &values, &other);
        let mut observe = |size: f64| -> Vec<FieldAt> {
            let mut noisy = || -> Vec<Option<Complex64>> {
                clean.iter().map(|code| code.map(|code| code + size * sequence.normal())).collect()
            };
            (0..3).map(|_| FieldAt::of(&slice, &noisy())).collect()
        };
        let sigmas = [sigma; 3];
        let readings = |at: &[FieldAt], figure: Figure| {
            let measured =
                Measured { slice: &slice, frequency_hz: &grid, at, sigma: Some(&sigmas), reflections: None };
            measured.readings(figure, 1).expect("no refusal")
        };
        let truth = observe(0.0);
        let trials: Vec<Vec<FieldAt>> = (0..TRIALS).map(|_| observe(sigma)).collect();
        let own = Figure::all().filter(|figure| figure.quantity().is_none_or(|own| own == slice.quantity));
        let mut compared = 0;
        for figure in own.filter(|figure| !matches!(figure, Figure::ReturnLoss(_))) {
            let told = readings(&truth, figure);
            let (mut sums, mut squares) = (vec![0.0; told.len()], vec![0.0; told.len()]);
            for trial in &trials {
                for (index, (reading, told)) in readings(trial, figure).iter().zip(&told).enumerate() {
                    let off = reading.value - told.value;
                    sums[index] += off;
                    squares[index] += off * off;
                }
            }
            for (index, told) in told.iter().enumerate() {
                let mean = sums[index] / TRIALS as f64;
                let seen = (squares[index] / TRIALS as f64 - mean * mean).sqrt();
                let noise = told.noise.expect("noise is known");
                // A deviation from 4000 trials is itself off by 1/√8000, 1.1 %; four times that, and the first order.
                close(seen / noise, 1.0, 0.06);
                compared += 1;
            }
        }
        assert!(compared > 50, "{compared}");
    }
}

/// A limit three times the noise away is told from the value, a nearer one is not, on either side of it.
#[test]
fn a_verdict_needs_three_times_the_noise() {
    let slice = attenuator(1, 1.0);
    let at = graded(&slice, &[0.0, 1.0]);
    // At −3 dB, by hand: 8.6859 · 1e-3 / 0.70795 = 0.012269 dB; three times that is 0.036808.
    let verdict = |at_most: f64, sigma: Option<f64>| {
        let limits = Limits { at_least: None, at_most: Some(at_most), percent_of_setting: 0.0 };
        let judgement = judged(&slice, std::slice::from_ref(&at), sigma, &row(Figure::InsertionLoss, limits));
        judgement.expect("any field has it").verdict
    };
    let undecided = Verdict::NotDecidable(Undecided::Noise);
    for (at_most, expected) in [
        (3.0369, Verdict::Holds),
        (3.0367, undecided),
        (3.0, undecided),
        (2.9633, undecided),
        (2.9631, Verdict::Fails),
    ] {
        assert_eq!(verdict(at_most, Some(1e-3)), expected, "{at_most}");
    }
    // Without a known noise a value decides by itself, onto the limit included.
    assert_eq!([verdict(3.0, None), verdict(2.9999, None)], [Verdict::Holds, Verdict::Fails]);
}

#[test]
fn the_worst_frequency_decides_and_beyond_the_grid_nothing_is_said() {
    let slice = attenuator(1, 1.0);
    let at: Vec<FieldAt> =
        [0.1, 0.2, -0.3, 0.05, 0.4].iter().map(|error| graded(&slice, &[0.0, 1.0 + error])).collect();
    let judge = |band: (f64, f64), limits: Limits| {
        let row = SpecificationRow {
            from_hz: Some(band.0),
            to_hz: Some(band.1),
            ..row(Figure::StateError(Quantity::Gain), limits)
        };
        judged(&slice, &at, None, &row).expect("its own")
    };
    let judgement = judge((1e9, 4e9), Limits::plus_minus(0.31, 0.0));
    assert_eq!((judgement.verdict, judgement.measured_hz), (Verdict::Holds, Some((1e9, 4e9))));
    let deciding = judgement.deciding.expect("a value");
    assert_eq!((deciding.word, deciding.index, deciding.frequency_hz), (Some(Word(1)), 2, 3e9));
    close(deciding.margin, 0.01, 1e-10);
    close(deciding.limit, -0.31, 1e-12);
    // Beyond the last of the grid's points the row's sub-band is not measured.
    let judgement = judge((4.5e9, 9e9), Limits::plus_minus(0.31, 0.0));
    assert_eq!((judgement.verdict, judgement.measured_hz), (Verdict::Fails, Some((5e9, 5e9))));
    let judgement = judge((5.5e9, 9e9), Limits::plus_minus(0.31, 0.0));
    assert_eq!((judgement.verdict, judgement.deciding), (Verdict::NotMeasured, None));
    let other = row(Figure::StateError(Quantity::Phase), Limits::plus_minus(1.0, 0.0));
    assert_eq!(judged(&slice, &at, None, &other), None);
}

#[test]
fn codes_that_are_missing_stand_in_the_way_of_holding_but_not_of_failing() {
    let slice = attenuator(2, 1.0);
    let mut codes = part(&slice, &[0.0, 1.1, 2.0, 3.0], &[0.0; 4]);
    codes[2] = None;
    let at = [FieldAt::of(&slice, &codes)];
    for figure in [
        Figure::StateError(Quantity::Gain),
        Figure::Rms(RmsVariant::GainFromReference),
        Figure::BitError(Quantity::Gain),
    ] {
        let verdict = |limit: f64| {
            judged(&slice, &at, None, &row(figure, Limits::plus_minus(limit, 0.0))).expect("its own").verdict
        };
        assert_eq!(verdict(0.2), Verdict::NotDecidable(Undecided::Unmeasured(1)));
        assert_eq!(verdict(0.01), Verdict::Fails);
    }
    // Both steps of the missing code are gone, but a step back over it still shows.
    let mut codes = part(&slice, &[0.0, 1.0, 2.0, 0.9], &[0.0; 4]);
    codes[2] = None;
    let reverse = FieldAt::of(&slice, &codes).reverse_steps(&slice).expect("ascending");
    assert_eq!((reverse.len(), reverse[0].from, reverse[0].to), (1, 1, 3));
    close(reverse[0].increment, -0.1, 1e-10);
    let dead =
        [FieldAt::of(&slice, &[Some(Complex64::ONE), Some(Complex64::ZERO), Some(Complex64::ONE), None])];
    let fails = row(Figure::StateError(Quantity::Gain), Limits::plus_minus(50.0, 0.0));
    assert_eq!(judged(&slice, &dead, Some(1e-6), &fails).expect("its own").verdict, Verdict::Fails);
}

/// Standing-wave ratios of 20, 10, 15 and 12 dB of return loss, from the usual conversion table.
#[test]
fn return_loss_is_the_worst_of_all_states() {
    let ratios: [f32; 4] = [1.222_222, 1.924_951, 1.432_581, 1.670_9];
    let reflection = |ratio: f32| Complex32::from_polar((ratio - 1.0) / (ratio + 1.0), 1.0);
    let state = |word: u32| {
        let s11 = [reflection(ratios[word as usize]), reflection(ratios[3 - word as usize])];
        WorstReflections::of_state(Word(word), &s11, Some(&[reflection(1.2), reflection(1.2)]))
    };
    let merged = |order: [u32; 4]| {
        let mut worst = state(order[0]);
        for word in &order[1..] {
            worst.merge(&state(*word));
        }
        worst
    };
    let worst = merged([0, 1, 2, 3]);
    // Whatever worker read which file: the same, to the state that is named.
    assert_eq!(worst, merged([3, 1, 0, 2]));
    let first = worst.at(Port::Input, 0).expect("measured");
    assert_eq!(first.word, Word(1));
    close(first.return_loss_db(), 10.0, 1e-5);
    assert_eq!(worst.at(Port::Input, 1).map(|at| at.word), Some(Word(2)));
    assert_eq!(worst.worst(Port::Input, 0..2).map(|(index, at)| (index, at.word)), Some((0, Word(1))));
    assert_eq!(worst.worst(Port::Output, 0..2).map(|(index, at)| (index, at.word)), Some((0, Word(0))));

    let slice = attenuator(2, 1.0);
    let at = [graded(&slice, &[0.0, 1.0, 2.0, 3.0]), graded(&slice, &[0.0, 1.0, 2.0, 3.0])];
    let judge = |reflections: Option<&WorstReflections>, port: Port, at_least: f64| {
        let limits = Limits { at_least: Some(at_least), at_most: None, percent_of_setting: 0.0 };
        let measured = Measured {
            slice: &slice,
            frequency_hz: &[1e9, 2e9],
            at: &at,
            sigma: Some(&[1e-3; 2]),
            reflections,
        };
        measured.judge(&row(Figure::ReturnLoss(port), limits)).expect("any field has it")
    };
    // By hand: 8.6859 · 1e-3 / 0.31623 = 0.02747 dB; three times that is 0.0824.
    let undecided = Verdict::NotDecidable(Undecided::Noise);
    assert_eq!(judge(Some(&worst), Port::Input, 9.91).verdict, Verdict::Holds);
    assert_eq!(judge(Some(&worst), Port::Input, 9.92).verdict, undecided);
    assert_eq!(judge(Some(&worst), Port::Input, 10.08).verdict, undecided);
    let fails = judge(Some(&worst), Port::Input, 10.09);
    assert_eq!((fails.verdict, fails.deciding.and_then(|it| it.word)), (Verdict::Fails, Some(Word(1))));
    // Where a one-path analyser did not measure the output, nothing is said of it.
    let mut one_path = worst.clone();
    one_path.merge(&WorstReflections::of_state(Word(4), &[Complex32::ZERO; 2], None));
    assert_eq!(judge(Some(&one_path), Port::Output, 9.9).verdict, Verdict::NotMeasured);
    assert_eq!(judge(Some(&one_path), Port::Input, 9.9).verdict, Verdict::Holds);
    assert_eq!(judge(None, Port::Input, 9.99).verdict, Verdict::NotMeasured);
}

/// The same for a reflection: what noise of the real and of the imaginary part does to a return loss.
#[test]
fn the_noise_of_a_return_loss_is_that_of_trials() {
    const TRIALS: usize = 4000;
    let (sigma, reflection) = (5e-4, Complex64::from_polar(0.08, 2.0));
    let slice = attenuator(1, 1.0);
    let at = [graded(&slice, &[0.0, 1.0])];
    let mut sequence = Sequence(16);
    #[expect(clippy::cast_possible_truncation, reason = "reflections are kept in single precision")]
    let reading = |value: Complex64| {
        let single = Complex32::new(value.re as f32, value.im as f32);
        let reflections = WorstReflections::of_state(Word(0), &[single], None);
        let measured = Measured {
            slice: &slice,
            frequency_hz: &[1e9],
            at: &at,
            sigma: Some(&[sigma]),
            reflections: Some(&reflections),
        };
        measured.readings(Figure::ReturnLoss(Port::Input), 0).expect("no refusal")[0]
    };
    let told = reading(reflection);
    let offs: Vec<f64> =
        (0..TRIALS).map(|_| reading(reflection + sigma * sequence.normal()).value - told.value).collect();
    let mean = offs.iter().sum::<f64>() / TRIALS as f64;
    let seen = (offs.iter().map(|off| off * off).sum::<f64>() / TRIALS as f64 - mean * mean).sqrt();
    close(seen / told.noise.expect("noise is known"), 1.0, 0.06);
}

/// A line of 1 ns: its delay holds 1.1 ns; on a grid so coarse that the phase turns by more than 90° it is not told.
#[test]
fn a_delay_that_the_grid_is_too_coarse_for_is_not_told() {
    let slice = attenuator(1, 1.0);
    let judge = |spacing_hz: f64| {
        let grid: Vec<f64> = (0..5).map(|index| 1e9 + spacing_hz * f64::from(index)).collect();
        let line = |hz: &f64| Complex64::cis(-std::f64::consts::TAU * hz * 1e-9);
        let at: Vec<FieldAt> =
            grid.iter().map(|hz| FieldAt::of(&slice, &[Some(line(hz)), Some(0.9 * line(hz))])).collect();
        let limits = Limits { at_least: None, at_most: Some(1.1), percent_of_setting: 0.0 };
        let measured = Measured {
            slice: &slice,
            frequency_hz: &grid,
            at: &at,
            sigma: Some(&[1e-5; 5]),
            reflections: None,
        };
        measured.judge(&row(Figure::GroupDelay, limits)).expect("any field has it")
    };
    let fine = judge(10e6);
    assert_eq!(fine.verdict, Verdict::Holds);
    close(fine.deciding.expect("a value").value, 1.0, 1e-9);
    assert_eq!(judge(260e6).verdict, Verdict::NotDecidable(Undecided::Unmeasured(1)));
}

/// What a worker sends for one frequency: two numbers a code, and code 0.
#[test]
fn what_travels_for_a_frequency_is_small() {
    let slice = phase_shifter(8);
    let at = graded(&slice, &of_bits(1.40625, &[0.1; 8]));
    let bytes = postcard::to_allocvec(&at).expect("encoded");
    assert!(bytes.len() < 16 * 256 + 32, "{}", bytes.len());
    assert_eq!(postcard::from_bytes::<FieldAt>(&bytes).expect("decoded"), at);
}
