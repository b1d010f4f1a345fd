//! Parts whose bits do not disturb each other: their figures follow from the errors of their bits.

mod graded;

use graded::{Sequence, all_close, attenuator, close, graded, judged, of_bits, phase_shifter, row};
use sweepfold::control::{Quantity, Word};
use sweepfold::part::{Figure, Limits, Measured, Reading, RmsVariant, Verdict, read_specification};
use sweepfold::plane::{bits_of_sigma, phase_effective_bits};

/// Six bits off by 0.2, −0.3, 0.5, −1, 1.5, −2°. The errors' mean is Σδ/2 and their deviation ½√Σδ²; the circular mean is the
/// arithmetic one, since the errors lie in pairs about it. Largest where all positive, smallest where all negative bits are
/// on. The other root mean squares with numpy; increments into each bit are the step + its δ − Σ of the δ below, by hand.
#[test]
fn a_six_bit_phase_shifter() {
    let slice = phase_shifter(6);
    let at = graded(&slice, &of_bits(5.625, &[0.2, -0.3, 0.5, -1.0, 1.5, -2.0]));
    close(at.state_errors.iter().sum::<f64>() / 64.0, -0.55, 1e-10);
    close(at.state_errors.iter().copied().fold(f64::MIN, f64::max), 2.2, 1e-10);
    close(at.state_errors.iter().copied().fold(f64::MAX, f64::min), -3.3, 1e-10);
    let rms = RmsVariant::all(Quantity::Phase).iter().map(|variant| variant.of(&slice, &at.state_errors));
    all_close(&rms.collect::<Vec<_>>(), &[1.381_123, 1.486_607, 1.498_359, 1.392_041], 1e-6);
    let increments = at.increments(&slice).expect("ascending");
    let into = |bit: usize| increments[(1 << bit) - 1];
    all_close(&(0..6).map(into).collect::<Vec<_>>(), &[5.825, 5.125, 6.225, 4.225, 7.725, 2.725], 1e-10);
    close(increments.iter().copied().fold(0.0, f64::max), 7.725, 1e-10);
    // The step that closes the circle: 5.625 less what all bits have too much, −1.1.
    assert_eq!(increments.len(), 64);
    close(increments[63], 6.725, 1e-10);
    assert_eq!(at.reverse_steps(&slice), Ok(Vec::new()));
}

/// Six bits off by 0.2, −0.3, 0.5, −3, 4, −6°: ½√Σδ² = 3.917269°, which put into log2(360/(√12·σ)) makes 4.7295 bits. Chosen
/// words do better: 5.805370 bits from the gaps between the sorted phases, with numpy.
#[test]
fn a_state_error_is_not_a_resolution() {
    let slice = phase_shifter(6);
    let phases_deg = of_bits(5.625, &[0.2, -0.3, 0.5, -3.0, 4.0, -6.0]);
    let rms_deg = RmsVariant::PhaseMeanRemoved.of(&slice, &graded(&slice, &phases_deg).state_errors);
    close(rms_deg, 3.917_269, 1e-6);
    close(bits_of_sigma(360.0, rms_deg), 4.729_5, 5e-5);
    close(phase_effective_bits(&phases_deg).expect("phases"), 5.805_370, 1e-6);
}

/// Six bits of 0.5 dB, the largest 0.8 dB short: with numpy, one step of the carries goes back, and against ±(0.3 dB + 3 % of the
/// setting) only codes 32 and 34 fail, both by 0.02 dB.
#[test]
fn an_attenuator_that_is_not_monotonic_fails_its_specification_at_two_codes() {
    let slice = attenuator(6, 0.5);
    let at = graded(&slice, &of_bits(0.5, &[0.02, -0.03, 0.05, 0.1, -0.15, -0.8]));
    close(RmsVariant::GainFromReference.of(&slice, &at.state_errors), 0.577_148, 1e-6);
    close(RmsVariant::GainReferenceNotCounted.of(&slice, &at.state_errors), 0.581_711, 1e-6);
    let reverse = at.reverse_steps(&slice).expect("ascending");
    assert_eq!(reverse.iter().map(|step| (step.from, step.to)).collect::<Vec<_>>(), [(31, 32)]);
    let increments = at.increments(&slice).expect("ascending");
    let into = |bit: usize| increments[(1 << bit) - 1];
    all_close(&(0..6).map(into).collect::<Vec<_>>(), &[0.52, 0.45, 0.56, 0.56, 0.21, -0.29], 1e-10);
    close(reverse[0].increment, -0.29, 1e-10);

    let table = "figure,plus_minus,percent_of_setting,unit\nattenuation state error,0.3,3,dB\n";
    let rows = read_specification(table).expect("a specification");
    let all = std::slice::from_ref(&at);
    let judgement = judged(&slice, all, None, &rows[0]).expect("its own row");
    assert_eq!(judgement.verdict, Verdict::Fails);
    let deciding = judgement.deciding.expect("a value");
    assert!([Word(32), Word(34)].contains(&deciding.word.expect("a word")));
    close(deciding.margin, -0.02, 1e-10);
    let measured = Measured { slice: &slice, frequency_hz: &[1e9], at: all, sigma: None, reflections: None };
    let readings = measured.readings(rows[0].figure, 0).expect("readings");
    let margin_db = |reading: &Reading| 0.3 + 0.03 * reading.setting - reading.value.abs();
    let failing: Vec<(u32, f64)> = readings
        .iter()
        .map(|reading| (reading.word.expect("a word").0, margin_db(reading)))
        .filter(|(_, margin_db)| *margin_db < 0.0)
        .collect();
    assert_eq!(failing.iter().map(|(word, _)| *word).collect::<Vec<_>>(), [32, 34]);
    for (_, margin_db) in failing {
        close(margin_db, -0.02, 1e-10);
    }

    // One side alone: too little attenuation is allowed, too much is not, and the largest there is, 0.17 dB, is allowed.
    let at_most = Limits { at_least: None, at_most: Some(0.17 + 1e-9), percent_of_setting: 0.0 };
    let judgement = judged(&slice, all, None, &row(Figure::StateError(Quantity::Gain), at_most));
    assert_eq!(judgement.map(|judgement| judgement.verdict), Some(Verdict::Holds));
    // Monotonic or not is a row too, and the later word of the step is the one to look at.
    let ascending = Limits { at_least: Some(0.0), at_most: None, percent_of_setting: 0.0 };
    let judgement =
        judged(&slice, all, None, &row(Figure::Increment(Quantity::Gain), ascending)).expect("one");
    assert_eq!(judgement.verdict, Verdict::Fails);
    assert_eq!(judgement.deciding.and_then(|deciding| deciding.word), Some(Word(32)));
}

/// For bits that do not disturb each other, of errors δ: the mean error is Σδ/2, the deviation about it ½√Σδ², and the
/// increment into bit k is the step + δ of bit k − Σ of the δ below. Derived from the errors being sums over bits that are on in
/// half of the codes each.
#[test]
fn bits_that_do_not_disturb_each_other_have_closed_forms() {
    let mut sequence = Sequence(13);
    for round in 0..60 {
        let bits = 2 + round % 7;
        let slice = phase_shifter(bits);
        let step = slice.even_step.expect("even");
        let delta: Vec<f64> = (0..bits).map(|_| sequence.between(-0.02, 0.02)).collect();
        let at = graded(&slice, &of_bits(step, &delta));
        all_close(&at.bit_errors(&slice).expect("bits"), &delta, 1e-9);
        let (sum, squares) = (delta.iter().sum::<f64>(), delta.iter().map(|d| d * d).sum::<f64>());
        let rms = |variant: RmsVariant| variant.of(&slice, &at.state_errors);
        // The circular mean of errors below 0.2° is off the arithmetic one by less than 1e-7°.
        close(rms(RmsVariant::PhaseMeanRemoved), 0.5 * squares.sqrt(), 1e-8);
        close(rms(RmsVariant::PhaseFromReference), (0.25 * (sum * sum + squares)).sqrt(), 1e-9);
        let increments = at.increments(&slice).expect("ascending");
        for bit in 0..usize::from(bits) {
            let below: f64 = delta[..bit].iter().sum();
            close(increments[(1 << bit) - 1], step + delta[bit] - below, 1e-9);
        }
        close(increments.iter().sum::<f64>(), 360.0, 1e-8);
    }
}
