//! A numeric axis: where values fall, and round ticks on it.

/// How an axis runs and where its ticks fall.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Evenly, with ticks at 1, 2 or 5 times a power of ten.
    Linear,
    /// Evenly, with ticks that divide a turn.
    Degrees,
    /// By ratios; both ends are positive.
    Logarithmic,
}

/// An axis from `low` to `high`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    /// Value at the start of the axis.
    pub low: f64,
    /// Value at its end, greater than `low`.
    pub high: f64,
    /// How it runs.
    pub scale: Scale,
}

/// A tick: its value and how it is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// Where it stands.
    pub value: f64,
    /// Its number.
    pub text: String,
}

impl Axis {
    /// An axis over these ends; equal or unusable ends are spread so that something can be drawn.
    pub fn linear(low: f64, high: f64) -> Self {
        let (low, high) = match (low.is_finite(), high.is_finite()) {
            (true, true) if low < high => (low, high),
            (true, true) if high < low => (high, low),
            (true, _) => spread(low),
            (_, true) => spread(high),
            _ => (0.0, 1.0),
        };
        Self { low, high, scale: Scale::Linear }
    }

    /// A linear axis whose ends are widened to whole ticks.
    pub fn linear_rounded(low: f64, high: f64, most_ticks: usize) -> Self {
        let axis = Self::linear(low, high);
        let step = nice_step((axis.high - axis.low) / most_ticks.max(1) as f64);
        Self {
            low: (axis.low / step + 1e-9).floor() * step,
            high: (axis.high / step - 1e-9).ceil() * step,
            ..axis
        }
    }

    /// A logarithmic axis over whole numbers 1, 2 or 5 of a decade; falls back to a decade under 1 without positive
    /// ends.
    pub fn logarithmic_rounded(low: f64, high: f64) -> Self {
        let usable = low.is_finite() && high.is_finite() && low > 0.0 && high >= low;
        let (low, high) = if usable { (low, high) } else { (0.1, 1.0) };
        let below = |value: f64| {
            let decade = 10_f64.powf(value.log10().floor());
            [5.0, 2.0, 1.0]
                .map(|m| m * decade)
                .into_iter()
                .find(|&v| v <= value * (1.0 + 1e-9))
                .unwrap_or(decade)
        };
        let above = |value: f64| {
            let decade = 10_f64.powf(value.log10().floor());
            [1.0, 2.0, 5.0, 10.0]
                .map(|m| m * decade)
                .into_iter()
                .find(|&v| v >= value * (1.0 - 1e-9))
                .unwrap_or(10.0 * decade)
        };
        let (low, mut high) = (below(low), above(high));
        if high <= low {
            high = low * 10.0;
        }
        Self { low, high, scale: Scale::Logarithmic }
    }

    /// Where a value stands between the start (0) and the end (1); not finite for values that the scale lacks.
    pub fn fraction(&self, value: f64) -> f64 {
        if self.scale == Scale::Logarithmic {
            (value / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        }
    }

    /// The value at a fraction; the inverse of [`Self::fraction`].
    pub fn value(&self, fraction: f64) -> f64 {
        if self.scale == Scale::Logarithmic {
            self.low * (self.high / self.low).powf(fraction)
        } else {
            self.low + (self.high - self.low) * fraction
        }
    }

    /// The same axis with ticks that divide a turn.
    #[must_use]
    pub fn in_degrees(self) -> Self {
        Self { scale: Scale::Degrees, ..self }
    }

    /// At most about `most` round ticks, none outside the ends.
    pub fn ticks(&self, most: usize) -> Vec<Tick> {
        let most = most.max(2);
        if self.scale == Scale::Logarithmic {
            return self.logarithmic_ticks(most);
        }
        let rough = (self.high - self.low) / most as f64;
        let step = if self.scale == Scale::Degrees { turn_step(rough) } else { nice_step(rough) };
        let mut index = (self.low / step - 1e-6).ceil();
        let decimals = decimals(step);
        let mut ticks = Vec::new();
        while index * step <= self.high + step * 1e-6 {
            let value = index * step;
            ticks.push(Tick { value, text: written(value, decimals) });
            index += 1.0;
        }
        ticks
    }

    fn logarithmic_ticks(&self, most: usize) -> Vec<Tick> {
        let within = |value: f64| value >= self.low * (1.0 - 1e-9) && value <= self.high * (1.0 + 1e-9);
        for multiples in [&[1.0, 2.0, 5.0][..], &[1.0, 3.0], &[1.0]] {
            let mut ticks = Vec::new();
            let mut exponent = self.low.log10().floor();
            while exponent <= self.high.log10() + 1e-9 {
                for multiple in multiples {
                    let value = multiple * 10_f64.powf(exponent);
                    if within(value) {
                        ticks.push(Tick { value, text: written(value, decimals(value)) });
                    }
                }
                exponent += 1.0;
            }
            if ticks.len() <= most || multiples.len() == 1 {
                return ticks;
            }
        }
        Vec::new()
    }
}

/// A range around one value.
fn spread(value: f64) -> (f64, f64) {
    let half = if value == 0.0 { 0.5 } else { value.abs() * 0.05 };
    (value - half, value + half)
}

/// The smallest of 1, 2, 5 × 10ⁿ that is at least `rough`.
pub(super) fn nice_step(rough: f64) -> f64 {
    let decade = 10_f64.powf(rough.log10().floor());
    let multiple = rough / decade;
    let round = [1.0, 2.0, 5.0].into_iter().find(|&m| multiple <= m * (1.0 + 1e-9)).unwrap_or(10.0);
    round * decade
}

/// The smallest step of degrees for the eye that is at least `rough`.
pub(super) fn turn_step(rough: f64) -> f64 {
    let steps = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 45.0, 60.0, 90.0];
    steps.into_iter().find(|&step| step >= rough * (1.0 - 1e-9)).unwrap_or(90.0)
}

/// Decimals that write a multiple of a round step exactly.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0 … 12")]
pub(super) fn decimals(step: f64) -> usize {
    (-(step.log10() + 1e-9).floor()).clamp(0.0, 12.0) as usize
}

/// A number with a true minus sign and no negative zero.
pub(super) fn written(value: f64, decimals: usize) -> String {
    let plain = format!("{:.decimals$}", value.abs());
    let is_zero = plain.bytes().all(|byte| byte == b'0' || byte == b'.');
    if value < 0.0 && !is_zero { format!("\u{2212}{plain}") } else { plain }
}

/// A share in percent, as it reads everywhere: one decimal, but for nothing and everything, which read "0" and "100" and
/// which nothing else reads: it has as many more decimals as that takes.
pub(super) fn share(share_pct: f64) -> String {
    let text = |decimals| written(share_pct, decimals);
    let shown = (1..=6).map(text).find(|text| text.parse() != Ok(0.0) && text.parse() != Ok(100.0));
    shown.filter(|_| share_pct > 0.0 && share_pct < 100.0).unwrap_or_else(|| text(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(axis: Axis, most: usize) -> Vec<String> {
        axis.ticks(most).into_iter().map(|tick| tick.text).collect()
    }

    #[test]
    fn ticks_are_round_and_stay_inside() {
        assert_eq!(texts(Axis::linear(8.0, 12.0), 5), ["8", "9", "10", "11", "12"]);
        assert_eq!(texts(Axis::linear(0.0, 0.37), 5), ["0.0", "0.1", "0.2", "0.3"]);
        assert_eq!(texts(Axis::linear(-15.5, 0.4), 4), ["−15", "−10", "−5", "0"]);
        assert_eq!(texts(Axis::linear_rounded(0.0, 0.37, 4), 4), ["0.0", "0.1", "0.2", "0.3", "0.4"]);
    }

    #[test]
    fn degrees_are_ticked_in_parts_of_a_turn() {
        let turn = Axis::linear(-180.0, 180.0).in_degrees();
        assert_eq!(texts(turn, 5), ["−180", "−90", "0", "90", "180"]);
        assert_eq!(texts(turn, 9).len(), 9);
    }

    #[test]
    fn logarithmic_ticks_thin_out_with_the_span() {
        assert_eq!(texts(Axis::logarithmic_rounded(0.13, 1.7), 6), ["0.1", "0.2", "0.5", "1", "2"]);
        let axis = Axis::logarithmic_rounded(0.001, 900.0);
        assert_eq!(texts(axis, 8), ["0.001", "0.01", "0.1", "1", "10", "100", "1000"]);
    }

    #[test]
    fn a_single_value_or_none_still_makes_an_axis() {
        for (low, high) in [(9.5, 9.5), (f64::NAN, f64::NAN), (f64::INFINITY, f64::NEG_INFINITY), (0.0, 0.0)]
        {
            for axis in [
                Axis::linear(low, high),
                Axis::linear_rounded(low, high, 5),
                Axis::logarithmic_rounded(low, high),
            ] {
                assert!(axis.low < axis.high && !axis.ticks(5).is_empty(), "{axis:?}");
            }
        }
    }

    #[test]
    fn fraction_and_value_are_inverse() {
        for axis in [Axis::linear(-3.0, 7.0), Axis::logarithmic_rounded(0.02, 50.0)] {
            for fraction in [0.0, 0.25, 0.7, 1.0] {
                assert!((axis.fraction(axis.value(fraction)) - fraction).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn a_share_reads_whole_only_when_it_is() {
        let shares = [0.0, 0.02, 18.0, 99.98, 100.0].map(share);
        assert_eq!(shares, ["0", "0.02", "18.0", "99.98", "100"]);
    }
}
