//! Evidence from shares of the frequencies, and the noise of a run.

mod planted;

use num_complex::Complex64;
use planted::{Bench, Run, evidence};
use sweepfold::checks::{Evidence, Noise};

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * (1.0 + a.abs().max(b.abs()))
}

fn same(a: &Evidence, b: &Evidence) {
    assert_eq!(a.second_differences, b.second_differences);
    assert_eq!(a.repeats_before, b.repeats_before);
    assert_eq!(a.frequencies, b.frequencies);
    for (a, b) in a.windows.iter().flatten().zip(b.windows.iter().flatten()) {
        assert!(close(a.points, b.points) && close(a.power, b.power));
        assert!(
            close(a.mix.re, b.mix.re) && close(a.mix.im, b.mix.im) && close(a.jump_square, b.jump_square)
        );
        assert!(close(a.residual.re, b.residual.re) && close(a.residual_square, b.residual_square));
        assert!(close(a.change_square, b.change_square));
        assert!(close(a.expected_change_square, b.expected_change_square));
    }
}

/// Single points, shares that end inside a window, and many shares give what one share gives.
#[test]
fn evidence_does_not_depend_on_how_the_grid_is_cut() {
    let bench = Bench::gain_phase(3, 41);
    let run = bench.run().with_noise(&bench, -60.0, 5);
    let whole = evidence(&run, &[]);
    for cuts in [vec![20], vec![1, 2, 3, 4], vec![5, 6, 17, 39, 40], (1..41).collect()] {
        same(&evidence(&run, &cuts), &whole);
    }
}

/// A line of this delay in front of the part.
fn behind_line(mut run: Run, delay_s: f64) -> Run {
    for trace in &mut run.traces {
        for (value, hz) in trace.iter_mut().zip(&run.frequency_hz) {
            *value *= Complex64::cis(-std::f64::consts::TAU * hz * delay_s);
        }
    }
    run
}

/// The noise is that which was added, whose root mean square is known relative to the zero word at each frequency. The
/// line's delay, which turns each trace by up to 72 degrees from point to point, does not come into it.
#[test]
fn noise_is_found_within_a_decibel_behind_any_line() {
    let benches = [
        Bench::attenuator(201),
        Bench::phase_shifter(6, 201),
        Bench::phase_shifter(7, 401),
        Bench::gain_phase(3, 201),
        Bench::gain_phase(4, 301),
    ];
    for bench in &benches {
        for noise_db in [-60.0, -50.0, -40.0] {
            for delay_s in [0.0, 1.3e-9, 5e-9] {
                let run = behind_line(bench.run(), delay_s).with_noise(bench, noise_db, 11);
                let evidence = evidence(&run, &[]);
                let noise = Noise::of(&evidence).unwrap();
                // Relative to the common trace it is another number at each frequency; the median is compared.
                let zero = &bench.clean[bench.layout.zero_word().0 as usize];
                let mut ratios: Vec<f64> =
                    evidence.frequencies.iter().zip(zero).map(|(at, zero)| zero.norm() / at.common).collect();
                ratios.sort_by(f64::total_cmp);
                let planted = 10_f64.powf(noise_db / 20.0) * ratios[ratios.len() / 2] / 2_f64.sqrt();
                let off_db = 20.0 * (noise.sigma / planted).log10();
                assert!(off_db.abs() < 1.0, "{noise_db} dB, {delay_s} s: off by {off_db} dB");
            }
        }
    }
}
