//! Colours: perceptual coordinates to screen bytes, the colour of a state, and the ramp of densities.
//!
//! `OKLab` is Björn Ottosson's colour space ("A perceptual color space for image processing", 2020,
//! <https://bottosson.github.io/posts/oklab/>); OKLCH is its polar form. The matrices are the ones published there,
//! the transfer curve is that of IEC 61966-2-1.

use std::sync::LazyLock;

/// A colour as screen bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rgb(pub u8, pub u8, pub u8);

/// What lies under the drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// Dark marks on light paper.
    Light,
    /// Light marks on dark paper.
    Dark,
}

/// A colour in OKLCH: lightness 0 … 1, chroma from 0, hue in degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Oklch {
    /// Lightness, 0 black, 1 white.
    pub lightness: f64,
    /// Chroma, 0 grey; sRGB ends between about 0.1 and 0.3, depending on hue and lightness.
    pub chroma: f64,
    /// Hue in degrees.
    pub hue_deg: f64,
}

impl Oklch {
    /// Screen bytes. Where the colour lies outside sRGB its chroma is reduced until it fits; lightness and hue stay,
    /// so that order by lightness survives.
    pub fn to_rgb(self) -> Rgb {
        let fits = |chroma: f64| {
            let linear = Self { chroma, ..self }.to_linear();
            linear.iter().all(|channel| (-1e-6..=1.0 + 1e-6).contains(channel))
        };
        let mut chroma = self.chroma;
        if !fits(chroma) {
            let (mut inside, mut outside) = (0.0, chroma);
            for _ in 0..24 {
                let middle = f64::midpoint(inside, outside);
                if fits(middle) { inside = middle } else { outside = middle }
            }
            chroma = inside;
        }
        let [red, green, blue] = Self { chroma, ..self }.to_linear().map(encode);
        Rgb(red, green, blue)
    }

    /// Linear sRGB channels, outside 0 … 1 where the colour lies outside sRGB.
    fn to_linear(self) -> [f64; 3] {
        let (sin, cos) = self.hue_deg.to_radians().sin_cos();
        let (a, b) = (self.chroma * cos, self.chroma * sin);
        let long = (self.lightness + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
        let medium = (self.lightness - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
        let short = (self.lightness - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
        [
            4.076_741_662_1 * long - 3.307_711_591_3 * medium + 0.230_969_929_2 * short,
            -1.268_438_004_6 * long + 2.609_757_401_1 * medium - 0.341_319_396_5 * short,
            -0.004_196_086_3 * long - 0.703_418_614_7 * medium + 1.707_614_701_0 * short,
        ]
    }
}

/// Where a linear channel goes from one byte on the sRGB curve to the next. Thousands of colours are made for a picture
/// that follows the pointer, and raising to a power is slow.
static STEPS: LazyLock<[f64; 255]> = LazyLock::new(|| {
    std::array::from_fn(|byte| {
        let curve = (byte as f64 + 0.5) / 255.0;
        if curve <= 0.040_45 { curve / 12.92 } else { ((curve + 0.055) / 1.055).powf(2.4) }
    })
});

/// A linear channel as a byte on the sRGB curve.
fn encode(linear: f64) -> u8 {
    u8::try_from(STEPS.partition_point(|step| *step <= linear)).unwrap_or(u8::MAX)
}

/// The colours of states: hue from the nominal phase, lightness from the nominal gain.
///
/// The highest gain has the most ink: darkest on light paper, lightest on dark paper. The chroma is the same for all
/// phases, so that none looks heavier than another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StatePalette {
    /// What lies under the states.
    pub paper: Paper,
    /// The highest nominal gain of the run, dB.
    pub highest_gain_db: f64,
    /// The lowest nominal gain of the run, dB.
    pub lowest_gain_db: f64,
}

impl StatePalette {
    /// A palette that spans the nominal gains given; one gain, or none, takes the full ink.
    pub fn spanning(paper: Paper, nominal_gain_db: impl IntoIterator<Item = f64>) -> Self {
        let mut lowest_gain_db = f64::INFINITY;
        let mut highest_gain_db = f64::NEG_INFINITY;
        for gain in nominal_gain_db.into_iter().filter(|gain| gain.is_finite()) {
            lowest_gain_db = lowest_gain_db.min(gain);
            highest_gain_db = highest_gain_db.max(gain);
        }
        Self { paper, highest_gain_db, lowest_gain_db }
    }

    /// The colour of a state with this nominal gain in dB and nominal phase in degrees (wrapped or not).
    pub fn colour(&self, gain_db: f64, phase_deg: f64) -> Rgb {
        let span = self.highest_gain_db - self.lowest_gain_db;
        let depth = if span > 0.0 { ((self.highest_gain_db - gain_db) / span).clamp(0.0, 1.0) } else { 0.0 };
        let (most_ink, least_ink) = match self.paper {
            Paper::Light => (0.49, 0.72),
            Paper::Dark => (0.80, 0.52),
        };
        let lightness = most_ink + (least_ink - most_ink) * depth;
        Oklch { lightness, chroma: even_chroma(lightness), hue_deg: 30.0 + phase_deg }.to_rgb()
    }
}

/// The largest chroma, less a little, that sRGB has at this lightness for every hue: going round at a larger one would
/// meet the gamut's edge, at 200° in the dark and at 267° in the light, and look uneven there.
fn even_chroma(lightness: f64) -> f64 {
    (0.168 * lightness).min(0.120 - 0.545 * (lightness - 0.76)).max(0.0)
}

/// The ramp of densities at `fraction` 0 (a single trace) … 1 (all of them).
///
/// One family of blues, so that the accent stands out on it; lightness runs one way only, which keeps the order for
/// every kind of colour vision and in grey print.
pub fn density_colour(paper: Paper, fraction: f64) -> Rgb {
    let fraction = fraction.clamp(0.0, 1.0);
    let between = |from: f64, to: f64| from + (to - from) * fraction;
    let colour = match paper {
        Paper::Light => Oklch {
            lightness: between(0.81, 0.24),
            chroma: 0.035 + 0.30 * fraction * (1.0 - fraction),
            hue_deg: between(205.0, 275.0),
        },
        Paper::Dark => Oklch {
            lightness: between(0.40, 0.95),
            chroma: 0.045 + 0.26 * fraction * (1.0 - fraction),
            hue_deg: between(265.0, 195.0),
        },
    };
    colour.to_rgb()
}

/// The colours of a signed difference at `fraction` −1 … +1: blue below zero, orange above, and about zero a grey near the
/// paper.
///
/// Lightness runs evenly away from the paper on either side, so that the size shows in grey print too; blue and orange
/// stay apart for every common kind of colour vision.
pub fn difference_colour(paper: Paper, fraction: f64) -> Rgb {
    let size = fraction.abs().min(1.0);
    let (least, most) = match paper {
        Paper::Light => (0.94, 0.42),
        Paper::Dark => (0.30, 0.82),
    };
    let lightness = least + (most - least) * size;
    let hue_deg = if fraction < 0.0 { 255.0 } else { 50.0 };
    Oklch { lightness, chroma: 0.13 * size, hue_deg }.to_rgb()
}

/// Relative luminance and contrast as WCAG 2.2 defines them.
#[cfg(test)]
pub(super) fn contrast(one: Rgb, other: Rgb) -> f64 {
    let channel = |byte: u8| {
        let value = f64::from(byte) / 255.0;
        if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    let luminance =
        |colour: Rgb| 0.2126 * channel(colour.0) + 0.7152 * channel(colour.1) + 0.0722 * channel(colour.2);
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decode(byte: u8) -> f64 {
        let value = f64::from(byte) / 255.0;
        if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    }

    /// The transfer curve of IEC 61966-2-1 the way it is written there, rounded to a byte.
    #[test]
    fn bytes_are_the_rounded_curve() {
        for step in -1000..=101_000 {
            let linear = f64::from(step) / 1e5;
            let inside = linear.clamp(0.0, 1.0);
            let curve =
                if inside <= 0.003_130_8 { 12.92 * inside } else { 1.055 * inside.powf(1.0 / 2.4) - 0.055 };
            assert_eq!(f64::from(encode(linear)), (curve * 255.0).round(), "{linear}");
        }
        assert_eq!(encode(f64::NAN), 0);
    }

    fn linear(colour: Rgb) -> [f64; 3] {
        [decode(colour.0), decode(colour.1), decode(colour.2)]
    }

    /// Relative luminance as WCAG 2 defines it.
    fn luminance([red, green, blue]: [f64; 3]) -> f64 {
        0.2126 * red + 0.7152 * green + 0.0722 * blue
    }

    /// Full-severity matrices of Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of
    /// color vision deficiency", IEEE TVCG 15(6), 2009; numbers as the R package prismatic carries them. They act on
    /// linear channels.
    const DEFICIENCIES: [(&str, [[f64; 3]; 3]); 3] = [
        (
            "protan",
            [
                [0.152_286, 1.052_583, -0.204_868],
                [0.114_503, 0.786_281, 0.099_216],
                [-0.003_882, -0.048_116, 1.051_998],
            ],
        ),
        (
            "deutan",
            [
                [0.367_322, 0.860_646, -0.227_968],
                [0.280_085, 0.672_501, 0.047_413],
                [-0.011_820, 0.042_940, 0.968_881],
            ],
        ),
        (
            "tritan",
            [
                [1.255_528, -0.076_749, -0.178_779],
                [-0.078_411, 0.930_809, 0.147_602],
                [0.004_733, 0.691_367, 0.303_900],
            ],
        ),
    ];

    fn seen_with(matrix: &[[f64; 3]; 3], colour: Rgb) -> [f64; 3] {
        let channels = linear(colour);
        matrix.map(|row| row.iter().zip(channels).map(|(m, c)| m * c).sum::<f64>().clamp(0.0, 1.0))
    }

    /// Expected bytes: what a browser's own CSS Color 4 `oklch()` paints (Chromium, canvas read back).
    #[test]
    fn conversion_agrees_with_a_browsers_own() {
        for (lightness, chroma, hue_deg, expected) in [
            (0.6, 0.1, 30.0, Rgb(180, 104, 92)),
            (0.6, 0.1, 150.0, Rgb(81, 145, 96)),
            (0.7, 0.1, 270.0, Rgb(134, 155, 221)),
            (0.45, 0.08, 90.0, Rgb(102, 83, 23)),
            (0.85, 0.05, 200.0, Rgb(168, 216, 219)),
            (0.3, 0.05, 330.0, Rgb(60, 36, 58)),
        ] {
            let got = Oklch { lightness, chroma, hue_deg }.to_rgb();
            let near = |a: u8, b: u8| a.abs_diff(b) <= 1;
            assert!(
                near(got.0, expected.0) && near(got.1, expected.1) && near(got.2, expected.2),
                "{got:?} {expected:?}"
            );
        }
    }

    /// The definition's own ends: lightness 1 is white, 0 is black, and grey has equal channels.
    #[test]
    fn greys_are_grey() {
        assert_eq!(Oklch { lightness: 1.0, chroma: 0.0, hue_deg: 77.0 }.to_rgb(), Rgb(255, 255, 255));
        assert_eq!(Oklch { lightness: 0.0, chroma: 0.0, hue_deg: 0.0 }.to_rgb(), Rgb(0, 0, 0));
        let Rgb(red, green, blue) = Oklch { lightness: 0.5, chroma: 0.0, hue_deg: 0.0 }.to_rgb();
        assert!(red == green && green == blue);
    }

    #[test]
    fn the_density_ramp_keeps_its_order_for_every_kind_of_colour_vision() {
        for (paper, sign) in [(Paper::Light, -1.0), (Paper::Dark, 1.0)] {
            let ramp: Vec<Rgb> = (0..=32).map(|step| density_colour(paper, f64::from(step) / 32.0)).collect();
            for pair in ramp.windows(2) {
                let rise = |of: &dyn Fn(Rgb) -> f64| sign * (of(pair[1]) - of(pair[0]));
                assert!(rise(&|colour| luminance(linear(colour))) > 0.0, "{pair:?}");
                for (name, matrix) in &DEFICIENCIES {
                    assert!(rise(&|colour| luminance(seen_with(matrix, colour))) > 0.0, "{name} {pair:?}");
                }
            }
        }
    }

    #[test]
    fn states_of_more_gain_have_more_ink_for_every_kind_of_colour_vision() {
        for (paper, sign) in [(Paper::Light, 1.0), (Paper::Dark, -1.0)] {
            let palette = StatePalette::spanning(paper, [0.0, -15.5]);
            for phase in (0..360).step_by(15) {
                let shades: Vec<Rgb> = (0..=8)
                    .map(|step| palette.colour(-15.5 * f64::from(step) / 8.0, f64::from(phase)))
                    .collect();
                for pair in shades.windows(2) {
                    for (name, matrix) in &DEFICIENCIES {
                        let rise =
                            luminance(seen_with(matrix, pair[1])) - luminance(seen_with(matrix, pair[0]));
                        assert!(sign * rise > 0.0, "{name} at {phase}° {pair:?}");
                    }
                }
            }
        }
    }

    /// `OKLab` coordinates of screen bytes, by the published matrices of the other direction.
    fn oklab(colour: Rgb) -> [f64; 3] {
        oklab_of(linear(colour))
    }

    fn oklab_of(channels: [f64; 3]) -> [f64; 3] {
        let apply = |matrix: [[f64; 3]; 3], vector: [f64; 3]| {
            matrix.map(|row| row.iter().zip(vector).map(|(m, v)| m * v).sum::<f64>())
        };
        let cones = apply(
            [
                [0.412_221_470_8, 0.536_332_536_3, 0.051_445_992_9],
                [0.211_903_498_2, 0.680_699_545_1, 0.107_396_956_6],
                [0.088_302_461_9, 0.281_718_837_6, 0.629_978_700_5],
            ],
            channels,
        );
        apply(
            [
                [0.210_454_255_3, 0.793_617_785_0, -0.004_072_046_8],
                [1.977_998_495_1, -2.428_592_205_0, 0.450_593_709_9],
                [0.025_904_037_1, 0.782_771_766_2, -0.808_675_766_0],
            ],
            cones.map(f64::cbrt),
        )
    }

    #[test]
    fn hue_goes_round_once_without_a_seam_and_evenly() {
        for (paper, gain) in
            [(Paper::Light, 0.0), (Paper::Light, -15.5), (Paper::Dark, 0.0), (Paper::Dark, -15.5)]
        {
            let palette = StatePalette::spanning(paper, [0.0, -15.5]);
            assert_eq!(palette.colour(gain, 0.0), palette.colour(gain, -360.0));
            let around: Vec<[f64; 3]> =
                (0..=60).map(|step| oklab(palette.colour(gain, 6.0 * f64::from(step)))).collect();
            let chroma = |[_, a, b]: [f64; 3]| a.hypot(b);
            let mean = around.iter().copied().map(chroma).sum::<f64>() / around.len() as f64;
            let chord = 2.0 * mean * 3.0_f64.to_radians().sin();
            assert!(around.iter().all(|&colour| (chroma(colour) / mean - 1.0).abs() < 0.05));
            for (step, pair) in around.windows(2).enumerate() {
                let distance = pair[0].iter().zip(pair[1]).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt();
                let ratio = distance / chord;
                assert!((0.7..1.3).contains(&ratio), "{paper:?} {gain} dB at {}°: {ratio}", 6 * step);
            }
        }
    }

    fn distance(one: [f64; 3], other: [f64; 3]) -> f64 {
        one.iter().zip(other).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    }

    /// The same colours as everyone sees them: without a deficiency first, then with each.
    fn as_seen(colours: &[Rgb]) -> Vec<(&'static str, Vec<[f64; 3]>)> {
        let plain = ("none", colours.iter().map(|&colour| oklab(colour)).collect());
        let seen = DEFICIENCIES.iter().map(|(name, matrix)| {
            (*name, colours.iter().map(|&colour| oklab_of(seen_with(matrix, colour))).collect())
        });
        std::iter::once(plain).chain(seen).collect()
    }

    /// Neighbours of a ramp of `least` or more apart, evenly to `evenness` of the mean, and lighter one way only.
    fn check_ramp(what: &str, colours: &[Rgb], least: f64, evenness: f64) {
        for (who, seen) in as_seen(colours) {
            let steps: Vec<f64> = seen.windows(2).map(|pair| distance(pair[0], pair[1])).collect();
            let mean = steps.iter().sum::<f64>() / steps.len() as f64;
            for (step, apart) in steps.iter().enumerate() {
                assert!(*apart >= least, "{what}, {who}: step {step} is {apart} apart");
                assert!(
                    (apart / mean - 1.0).abs() < evenness,
                    "{what}, {who}: step {step} is {apart} of {mean}"
                );
            }
            let rises: Vec<f64> = seen.windows(2).map(|pair| pair[1][0] - pair[0][0]).collect();
            assert!(rises.iter().all(|rise| rise * rises[0] > 0.0), "{what}, {who}: {rises:?}");
        }
    }

    /// CSS Color Module Level 4, "Gamut Mapping", takes a distance of 0.02 in `OKLab` as just noticeable; neighbours here
    /// are at least twice that apart.
    #[test]
    fn neighbouring_steps_stay_apart_and_even_for_every_kind_of_colour_vision() {
        for paper in [Paper::Light, Paper::Dark] {
            let ramp: Vec<Rgb> = (0..=8).map(|step| density_colour(paper, f64::from(step) / 8.0)).collect();
            check_ramp("density", &ramp, 0.04, 0.25);
            let palette = StatePalette::spanning(paper, [0.0, -15.5]);
            for phase in (0..360).step_by(15) {
                let shades: Vec<Rgb> = (0..=4)
                    .map(|step| palette.colour(-15.5 * f64::from(step) / 4.0, f64::from(phase)))
                    .collect();
                check_ramp(&format!("states at {phase}°"), &shades, 0.04, 0.35);
            }
        }
    }

    #[test]
    fn differences_grow_evenly_and_their_signs_stay_apart_for_every_kind_of_colour_vision() {
        for (paper, sign) in [(Paper::Light, -1.0), (Paper::Dark, 1.0)] {
            for side in [-1.0, 1.0] {
                let ramp: Vec<Rgb> =
                    (0..=12).map(|step| difference_colour(paper, side * f64::from(step) / 12.0)).collect();
                let steps: Vec<f64> =
                    ramp.windows(2).map(|two| distance(oklab(two[0]), oklab(two[1]))).collect();
                let mean = steps.iter().sum::<f64>() / 12.0;
                assert!(
                    steps.iter().all(|step| (0.7..1.3).contains(&(step / mean))),
                    "{paper:?} {side} {steps:?}"
                );
                for (name, matrix) in &DEFICIENCIES {
                    for pair in ramp.windows(2) {
                        let rise =
                            luminance(seen_with(matrix, pair[1])) - luminance(seen_with(matrix, pair[0]));
                        assert!(sign * rise > 0.0, "{name} {paper:?} {side} {pair:?}");
                    }
                }
            }
            for (name, matrix) in &DEFICIENCIES {
                let ends = [-1.0, 1.0].map(|end| oklab_of(seen_with(matrix, difference_colour(paper, end))));
                // Ten times what is just told apart in this space, about 0.01.
                assert!(distance(ends[0], ends[1]) > 0.1, "{name} {paper:?} {ends:?}");
            }
        }
    }
}
