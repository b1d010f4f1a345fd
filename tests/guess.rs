//! The layout that bit weights suggest. Layouts and weights are written out in the tests' own tables.

use sweepfold::control::guess::{BitRole, Guess, GuessError, MeasuredBit, guess};
use sweepfold::control::{Direction, Quantity};

fn gain(gain_db: f64) -> MeasuredBit {
    MeasuredBit { gain_db, phase_deg: 0.0 }
}

fn phase(phase_deg: f64) -> MeasuredBit {
    MeasuredBit { gain_db: 0.0, phase_deg }
}

fn guessed(bits: &[MeasuredBit]) -> Guess {
    let guess = guess(bits).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(guess.layout.check(), Ok(()), "{}", guess.reason);
    assert_eq!(guess.bits.len(), bits.len());
    guess
}

type Fields = Vec<(Quantity, Vec<u8>, f64, Direction)>;

fn fields(guess: &Guess) -> Fields {
    let positions = |field: &sweepfold::control::Field| field.bits.iter().map(|bit| bit.position).collect();
    guess
        .layout
        .fields
        .iter()
        .map(|field| (field.quantity, positions(field), field.step, field.direction))
        .collect()
}

use Direction::{Down, Up};
use Quantity::{Gain, Phase};

const PHASE_7: [f64; 7] = [-2.8125, -5.625, -11.25, -22.5, -45.0, -90.0, 180.0];
const GAIN_5: [f64; 5] = [-0.5, -1.0, -2.0, -4.0, -8.0];

#[test]
fn ideal_parts_give_back_their_layout() {
    let phases: Vec<_> = PHASE_7.map(phase).to_vec();
    let gains: Vec<_> = GAIN_5.map(gain).to_vec();
    let attenuator: Vec<_> = [-0.5, -1.0, -2.0, -4.0, -8.0, -16.0].map(gain).to_vec();
    let reversed: Vec<_> = attenuator.iter().rev().copied().collect();
    let leading: Vec<_> = [22.5, 45.0, 90.0, 180.0].map(phase).to_vec();
    let fine = [-0.125, -0.25, -0.5, -1.0, -2.0, -4.0, -8.0, -16.0].map(gain);
    let finer = [1.40625, 2.8125, 5.625, 11.25, 22.5, 45.0, 90.0, 180.0].map(phase);
    let table: Vec<(Vec<MeasuredBit>, Fields)> = vec![
        (
            [phases.clone(), gains.clone()].concat(),
            vec![(Phase, vec![0, 1, 2, 3, 4, 5, 6], 2.8125, Down), (Gain, vec![7, 8, 9, 10, 11], 0.5, Down)],
        ),
        (
            [gains, phases.clone()].concat(),
            vec![(Gain, vec![0, 1, 2, 3, 4], 0.5, Down), (Phase, vec![5, 6, 7, 8, 9, 10, 11], 2.8125, Down)],
        ),
        (attenuator, vec![(Gain, vec![0, 1, 2, 3, 4, 5], 0.5, Down)]),
        (reversed, vec![(Gain, vec![5, 4, 3, 2, 1, 0], 0.5, Down)]),
        (phases, vec![(Phase, vec![0, 1, 2, 3, 4, 5, 6], 2.8125, Down)]),
        (leading, vec![(Phase, vec![0, 1, 2, 3], 22.5, Up)]),
        (
            [fine.to_vec(), finer.to_vec()].concat(),
            vec![
                (Gain, vec![0, 1, 2, 3, 4, 5, 6, 7], 0.125, Down),
                (Phase, vec![8, 9, 10, 11, 12, 13, 14, 15], 1.40625, Up),
            ],
        ),
        (vec![phase(180.0)], vec![(Phase, vec![0], 180.0, Down)]),
        (vec![phase(-179.0)], vec![(Phase, vec![0], 180.0, Down)]),
        (vec![gain(-16.2)], vec![(Gain, vec![0], 16.0, Down)]),
        ([3.0, 6.0, 12.0].map(gain).to_vec(), vec![(Gain, vec![0, 1, 2], 3.0, Up)]),
        // Bits of both kinds in turn.
        (
            vec![gain(-1.0), phase(-45.0), gain(-2.0), phase(-90.0), gain(-4.0), phase(180.0)],
            vec![(Gain, vec![0, 2, 4], 1.0, Down), (Phase, vec![1, 3, 5], 45.0, Down)],
        ),
    ];
    for (bits, expected) in table {
        let guess = guessed(&bits);
        assert_eq!(fields(&guess), expected, "{}", guess.reason);
        assert!(guess.bits.iter().all(|bit| !bit.inverted && bit.role != BitRole::Idle));
    }
}

/// Phase bits up to a fifth off, gain bits that turn the phase, phase bits that lose gain.
#[test]
fn distorted_weights_keep_their_places() {
    let bits = [
        (-0.10, -3.3),
        (0.15, -4.6),
        (-0.2, -12.9),
        (0.1, -19.0),
        (-0.3, -52.0),
        (0.2, -78.0),
        (-0.4, 152.0),
        (-0.46, 0.6),
        (-1.07, -1.1),
        (-1.93, 2.5),
        (-4.2, -7.0),
        (-7.8, 19.0),
    ]
    .map(|(gain_db, phase_deg)| MeasuredBit { gain_db, phase_deg });
    let guess = guessed(&bits);
    let expected =
        vec![(Phase, vec![0, 1, 2, 3, 4, 5, 6], 2.8125, Down), (Gain, vec![7, 8, 9, 10, 11], 0.5, Down)];
    assert_eq!(fields(&guess), expected);
    assert_eq!(guess.bits[10].nominal, -4.0);
    assert!((guess.bits[10].above_nominal_pct.unwrap() - 5.0).abs() < 1e-9);
}

/// 15 % above its design frequency a switched line turns by 207°, which is measured as 153° the other way.
#[test]
fn a_phase_beyond_half_a_turn_is_recognised() {
    let bits = [-6.46875, -12.9375, -25.875, -51.75, -103.5, 153.0].map(phase);
    let guess = guessed(&bits);
    assert_eq!(fields(&guess), vec![(Phase, vec![0, 1, 2, 3, 4, 5], 5.625, Down)]);
    assert!((guess.bits[5].above_nominal_pct.unwrap() - 15.0).abs() < 1e-9);
    assert!(!guess.bits[5].inverted);
}

#[test]
fn a_bit_that_moves_both_alike_goes_where_the_series_needs_it() {
    // The 0.5 dB bit (0.0576 Np) turns the phase by 4° (0.0698 rad): alone it would pass for a phase bit.
    let mut bits = GAIN_5.map(gain);
    bits[0].phase_deg = 4.0;
    assert_eq!(fields(&guessed(&bits)), vec![(Gain, vec![0, 1, 2, 3, 4], 0.5, Down)]);
    // The 2.8125° bit (0.0491 rad) changes the gain by 0.6 dB (0.0691 Np).
    let mut bits = PHASE_7.map(phase);
    bits[0].gain_db = 0.6;
    assert_eq!(fields(&guessed(&bits)), vec![(Phase, vec![0, 1, 2, 3, 4, 5, 6], 2.8125, Down)]);
}

#[test]
fn steps_that_the_trade_does_not_know_are_kept_as_measured() {
    let guess = guessed(&[-0.7012, -1.4024, -2.8048].map(gain));
    assert_eq!(fields(&guess), vec![(Gain, vec![0, 1, 2], 0.701, Down)]);
    let guess = guessed(&[-4.2, -8.4, -16.8].map(phase));
    assert_eq!(fields(&guess), vec![(Phase, vec![0, 1, 2], 4.2, Down)]);
}

#[test]
fn a_bit_of_the_other_sign_is_inverted() {
    let mut weights = GAIN_5;
    weights[3] = 4.0;
    let guess = guessed(&weights.map(gain));
    let inverted: Vec<bool> = guess.layout.fields[0].bits.iter().map(|bit| bit.inverted).collect();
    assert_eq!(inverted, [false, false, false, true, false]);
    assert_eq!(guess.layout.fields[0].direction, Down);
    assert_eq!(guess.bits[3].nominal, 4.0);
    assert!(guess.reason.contains("Bit 3 works against the others"), "{}", guess.reason);
    // The majority goes by weight: one inverted 8 dB bit outweighs the rest.
    let mut weights = GAIN_5;
    weights[4] = 8.0;
    let guess = guessed(&weights.map(gain));
    assert_eq!(guess.layout.fields[0].direction, Up);
    assert_eq!(guess.layout.fields[0].bits.iter().filter(|bit| bit.inverted).count(), 4);
}

#[test]
fn idle_bits_fill_gaps_or_become_least_significant() {
    let table: [(&[f64], Vec<u8>, f64); 5] = [
        // A dead 4 dB bit between its neighbours.
        (&[-0.5, -1.0, -2.0, 0.0, -8.0], vec![0, 1, 2, 3, 4], 0.5),
        // Two dead ones side by side, in a reversed field.
        (&[-16.0, -8.0, 0.004, -0.003, -1.0, -0.5], vec![5, 4, 3, 2, 1, 0], 0.5),
        // A dead least significant bit.
        (&[0.0, -1.0, -2.0, -4.0], vec![0, 1, 2, 3], 0.5),
        // A dead bit above the rest has no gap to fill.
        (&[-1.0, -2.0, -4.0, 0.0], vec![3, 0, 1, 2], 0.5),
        (&[0.0, 0.0, -1.0, -2.0], vec![0, 1, 2, 3], 0.25),
    ];
    for (weights, expected, step) in table {
        let bits: Vec<_> = weights.iter().map(|&weight| gain(weight)).collect();
        let guess = guessed(&bits);
        assert_eq!(fields(&guess), vec![(Gain, expected, step, Down)], "{weights:?}: {}", guess.reason);
        for (bit, weight) in guess.bits.iter().zip(weights) {
            assert_eq!(bit.role == BitRole::Idle, weight.abs() < 0.01);
        }
        assert!(guess.reason.contains("change"), "{}", guess.reason);
    }
    // A dead phase bit does not go to the gain field beside it.
    let guess = guessed(&[phase(-45.0), phase(0.0), phase(180.0), gain(-1.0), gain(-2.0)]);
    assert_eq!(fields(&guess), vec![(Phase, vec![0, 1, 2], 45.0, Down), (Gain, vec![3, 4], 1.0, Down)]);
}

#[test]
fn what_is_no_doubling_series_is_refused_with_the_weights() {
    for weights in [
        vec![-1.0, -1.0, -1.0],
        vec![-0.5, -1.0, -2.0, -4.0, -8.0, -8.0],
        vec![-1.0, -4.0],
        vec![-1.0, -3.0, -9.0],
        vec![-1.0, -2.0, -8.0, -16.0],
        vec![-1.0, -1.2],
    ] {
        let bits: Vec<_> = weights.iter().map(|&weight| gain(weight)).collect();
        match guess(&bits) {
            Err(GuessError::NotDoubling { quantity: Gain, weights: told }) => {
                assert_eq!(told.iter().map(|bit| -bit.1).collect::<Vec<_>>(), weights);
            }
            other => panic!("{weights:?}: {other:?}"),
        }
    }
    let error = guess(&[-22.5, -23.0].map(phase)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "The phase bits do not double from one to the next (bit 0: 22.50°, bit 1: 23.00°), \
         so the layout has to be given."
    );
}

#[test]
fn inputs_that_say_nothing_are_refused() {
    assert_eq!(guess(&[]), Err(GuessError::NoBits));
    assert_eq!(guess(&[gain(0.0), phase(0.05)]), Err(GuessError::AllIdle));
    assert_eq!(guess(&[gain(-1.0), phase(f64::NAN)]), Err(GuessError::NotFinite(1)));
    assert_eq!(guess(&[gain(-1.0); 17]), Err(GuessError::TooManyBits(17)));
}

#[test]
fn the_reason_reads_as_sentences() {
    let bits: Vec<_> = PHASE_7.map(|deg| phase(deg * 1.02)).into_iter().chain(GAIN_5.map(gain)).collect();
    assert_eq!(
        guessed(&bits).reason,
        "Bits 0 to 6 turn the phase in a doubling series from 2.869°: a phase field with a step of 2.8125°, the \
         nearest usual one; a larger code lags (or all of its bits are inverted: phase alone cannot tell). \
         Bits 7 to 11 change the gain in a doubling series from 0.500 dB: a gain field with a step of 0.5 dB, the \
         nearest usual one; a larger code attenuates more."
    );
    assert_eq!(
        guessed(&[-1.4024, 0.0, 0.7012].map(gain)).reason,
        "Bits 2 and 0 in this order change the gain in a doubling series from 0.701 dB: a gain field with a step of \
         0.3505 dB, as measured, near no usual one; a larger code attenuates more. Bit 2 works against the others of \
         its field and is taken to be inverted. Bit 1 changes nothing; it is put where it does the least harm."
    );
}

/// Two attenuators in cascade, 0.5 to 16 dB each, and a phase shifter above them.
#[test]
fn two_parts_of_one_kind_in_cascade_are_two_fields() {
    let gains = [0.5, 1.0, 2.0, 4.0, 8.0, 16.0].map(|db| MeasuredBit { gain_db: -1.02 * db, phase_deg: 0.4 });
    let phases = [22.5, 45.0, 90.0].map(|deg| MeasuredBit { gain_db: 0.02, phase_deg: -deg });
    let bits: Vec<MeasuredBit> = gains.into_iter().chain(gains).chain(phases).collect();
    let guess = guess(&bits).expect("a layout");
    assert_eq!(guess.layout.check(), Ok(()));
    let found: Vec<(Quantity, u8, usize, f64)> = guess
        .layout
        .fields
        .iter()
        .map(|field| (field.quantity, field.bits[0].position, field.bits.len(), field.step))
        .collect();
    assert_eq!(found, [(Gain, 0, 6, 0.5), (Gain, 6, 6, 0.5), (Phase, 12, 3, 22.5)]);
    assert!(
        guess.reason.contains("Bits 0 to 5 ") && guess.reason.contains("Bits 6 to 11 "),
        "{}",
        guess.reason
    );
}

/// One bad bit, or one left out, makes no second part of a single series: the layout has to be given.
#[test]
fn one_bad_bit_does_not_make_a_second_part() {
    for sizes in [[0.5, 1.0, 2.0, 6.5, 8.0], [0.5, 1.0, 2.0, 8.0, 16.0]] {
        let bits = sizes.map(|db| MeasuredBit { gain_db: -db, phase_deg: 0.1 });
        assert!(matches!(guess(&bits), Err(GuessError::NotDoubling { .. })), "{sizes:?}");
    }
}
