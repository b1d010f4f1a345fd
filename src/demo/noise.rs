//! Repeatable noise: the same seed gives the same values on every machine.

use num_complex::Complex64;

/// A stream of noise.
///
/// The bits come from splitmix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014;
/// constants as in the public-domain reference code, from memory). Gaussian values are sums of twelve uniform ones,
/// which have unit variance, never exceed six deviations, and need no function whose last digit differs between a
/// browser and a desktop. They are a little flatter than a true Gaussian: excess kurtosis −6/(5·12) = −0.1.
pub struct Noise {
    state: u64,
}

impl Noise {
    /// The stream of one word of one part.
    pub fn new(seed: u64, word: u32) -> Self {
        let mut start = Self { state: seed };
        // The seed is scrambled first, so that neighbouring seeds do not share streams shifted by some words.
        let state = start.next_bits() ^ u64::from(word).wrapping_mul(0xD6E8_FEB8_6659_FD93);
        Self { state }
    }

    /// The next 64 bits.
    pub fn next_bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut bits = self.state;
        bits = (bits ^ bits >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        bits = (bits ^ bits >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        bits ^ bits >> 31
    }

    /// A Gaussian value of zero mean and unit variance.
    fn next_gaussian(&mut self) -> f64 {
        let mut sum = 0_u64;
        for _ in 0..3 {
            let bits = self.next_bits();
            sum += (bits & 0xFFFF) + (bits >> 16 & 0xFFFF) + (bits >> 32 & 0xFFFF) + (bits >> 48);
        }
        // Each sixteen-bit value is taken at the middle of its step.
        (sum as f64 + 6.0) / 65_536.0 - 6.0
    }

    /// A complex Gaussian value of zero mean whose mean square magnitude is 1.
    pub fn next_complex(&mut self) -> Complex64 {
        let (re, im) = (self.next_gaussian(), self.next_gaussian());
        Complex64::new(re, im) * std::f64::consts::FRAC_1_SQRT_2
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first values of splitmix64 from seed 1234567, as many libraries print them in their tests (from memory).
    #[test]
    fn the_reference_stream() {
        let mut noise = Noise { state: 1_234_567 };
        let stream: Vec<u64> = (0..3).map(|_| noise.next_bits()).collect();
        assert_eq!(stream, [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]);
    }

    /// Mean 0, mean square 1, as much in the real as in the imaginary part, and 39.3 % inside half a Rayleigh
    /// deviation squared: P(|n|² < 0.5) = 1 − e^(−½) of a complex Gaussian. A sum of twelve is half a percent short
    /// of that, being flatter.
    #[test]
    fn complex_gaussian() {
        let count = 200_000;
        let mut noise = Noise::new(1, 0);
        let values: Vec<Complex64> = (0..count).map(|_| noise.next_complex()).collect();
        let mean = values.iter().sum::<Complex64>() / f64::from(count);
        let square = values.iter().map(Complex64::norm_sqr).sum::<f64>() / f64::from(count);
        let real = values.iter().map(|n| n.re * n.re).sum::<f64>() / f64::from(count);
        let inside = values.iter().filter(|n| n.norm_sqr() < 0.5).count() as f64 / f64::from(count);
        assert!(mean.norm() < 0.01 && (square - 1.0).abs() < 0.01 && (real - 0.5).abs() < 0.005);
        assert!((inside - (1.0 - (-0.5_f64).exp())).abs() < 0.01, "{inside}");
    }

    #[test]
    fn words_and_seeds_have_their_own_streams() {
        let first = |seed, word| Noise::new(seed, word).next_bits();
        assert_eq!(first(1, 5), first(1, 5));
        assert_ne!(first(1, 5), first(1, 6));
        assert_ne!(first(1, 5), first(2, 5));
    }
}
