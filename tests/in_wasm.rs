//! The same library in WebAssembly: its mathematical functions come from another library there than natively, and
//! its counts are 32 bits wide, so what the page computes is checked where the page computes it.
//!
//! `cargo test --target wasm32-unknown-unknown --test in_wasm` runs this in Node.
#![cfg(target_arch = "wasm32")]

use num_complex::Complex64;
use sweepfold::control::Setting;
use sweepfold::plane::{StateError, target_gain, wrap_deg};
use wasm_bindgen_test::wasm_bindgen_test;

/// Common logarithms of the primes (Abramowitz and Stegun, Handbook of Mathematical Functions, table 1.1).
#[allow(clippy::approx_constant, reason = "the handbook's digits, not the library's")]
const LOG10_2: f64 = 0.301_029_995_663_981_2;
const LOG10_3: f64 = 0.477_121_254_719_662_4;

fn assert_close(value: f64, expected: f64) {
    assert!((value - expected).abs() <= 1e-12, "{value} is not {expected}");
}

#[wasm_bindgen_test]
fn decibels_are_those_of_the_handbook() {
    let nominal = Setting { gain_db: -6.0, phase_deg: 0.0 };
    let halved = StateError::of(Complex64::new(0.5, 0.0), nominal);
    assert_close(halved.gain_db, -20.0 * LOG10_2 + 6.0);
    let sixfold = StateError::of(Complex64::new(6.0, 0.0), nominal);
    assert_close(sixfold.gain_db, 20.0 * (LOG10_2 + LOG10_3) + 6.0);
}

/// cos 30° = √3/2 and sin 30° = 1/2; 20·log10 2 dB is a factor of two.
#[wasm_bindgen_test]
fn a_setting_lands_where_the_definition_puts_it() {
    let landed = target_gain(Setting { gain_db: 20.0 * LOG10_2, phase_deg: 30.0 });
    assert_close(landed.re, 1.732_050_807_568_877_2);
    assert_close(landed.im, 1.0);
}

#[wasm_bindgen_test]
fn phase_errors_wrap_at_half_a_turn() {
    assert_close(wrap_deg(-180.0), 180.0);
    assert_close(wrap_deg(359.0), -1.0);
    let turned = StateError::of(Complex64::new(0.0, -1.0), Setting { gain_db: 0.0, phase_deg: 180.0 });
    assert_close(turned.phase_deg, 90.0);
}
