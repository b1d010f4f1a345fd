//! The usable band: where a score keeps its limit.

/// One end of a usable band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Frequency in hertz, interpolated between the grid points around it.
    pub frequency_hz: f64,
    /// The grid ends here while the score still keeps its limit, so the band may reach further.
    pub grid_ends: bool,
}

/// An interval of frequency in which a score keeps its limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsableBand {
    /// Lower end.
    pub low: Edge,
    /// Upper end.
    pub high: Edge,
    /// It holds the centre; if not it is the widest interval anywhere.
    pub holds_centre: bool,
}

impl UsableBand {
    /// Width in hertz.
    pub fn width_hz(&self) -> f64 {
        self.high.frequency_hz - self.low.frequency_hz
    }
}

/// The interval around the grid index `centre` in which `score` is at least `limit`, its ends interpolated linearly
/// between grid points (common practice for the band edges of a measured curve). If the centre fails, the widest
/// interval anywhere, the lower of two; `None` where no grid point keeps the limit.
///
/// `frequency_hz` ascends; `score` runs beside it. A score that is not a number does not keep the limit, and an end
/// beside it is its last good grid point, since nothing can be interpolated.
pub fn usable_band(frequency_hz: &[f64], score: &[f64], limit: f64, centre: usize) -> Option<UsableBand> {
    let keeps = |index: usize| score[index] >= limit * (1.0 - 1e-9);
    let last = frequency_hz.len().min(score.len()).checked_sub(1)?;
    let mut widest: Option<UsableBand> = None;
    let mut start = 0;
    while start <= last {
        if !keeps(start) {
            start += 1;
            continue;
        }
        let end = (start..=last).take_while(|&index| keeps(index)).last().unwrap_or(start);
        let band = UsableBand {
            low: edge(frequency_hz, score, limit, start, start.checked_sub(1)),
            high: edge(frequency_hz, score, limit, end, Some(end + 1).filter(|&next| next <= last)),
            holds_centre: (start..=end).contains(&centre),
        };
        if band.holds_centre {
            return Some(band);
        }
        if widest.is_none_or(|widest| band.width_hz() > widest.width_hz()) {
            widest = Some(band);
        }
        start = end + 1;
    }
    widest
}

/// Where the score crosses its limit between the last good grid point and its failing neighbour.
fn edge(frequency_hz: &[f64], score: &[f64], limit: f64, good: usize, failing: Option<usize>) -> Edge {
    let Some(failing) = failing else { return Edge { frequency_hz: frequency_hz[good], grid_ends: true } };
    let fraction = (score[good] - limit) / (score[good] - score[failing]);
    let fraction = if fraction.is_finite() { fraction.clamp(0.0, 1.0) } else { 0.0 };
    let frequency_hz = frequency_hz[good] + fraction * (frequency_hz[failing] - frequency_hz[good]);
    Edge { frequency_hz, grid_ends: false }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GRID: [f64; 7] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];

    /// Worked by hand: 80 → 100 crosses 90 halfway, 95 → 75 a quarter of the way.
    #[test]
    fn ends_are_interpolated_between_grid_points() {
        let band =
            usable_band(&GRID, &[0.0, 80.0, 100.0, 98.0, 95.0, 75.0, 99.0], 90.0, 3).expect("there is one");
        assert_eq!(band.low, Edge { frequency_hz: 2.5, grid_ends: false });
        assert_eq!(band.high, Edge { frequency_hz: 5.25, grid_ends: false });
        assert!(band.holds_centre);
    }

    #[test]
    fn the_grid_may_end_first() {
        let band = usable_band(&GRID, &[91.0; 7], 90.0, 3).expect("there is one");
        assert_eq!(band.low, Edge { frequency_hz: 1.0, grid_ends: true });
        assert_eq!(band.high, Edge { frequency_hz: 7.0, grid_ends: true });
    }

    #[test]
    fn where_the_centre_fails_the_widest_interval_is_given() {
        let score = [95.0, 80.0, 50.0, 50.0, 92.0, 93.0, 85.0];
        let band = usable_band(&GRID, &score, 90.0, 3).expect("there is one");
        assert!(!band.holds_centre);
        assert!((band.low.frequency_hz - (5.0 - 2.0 / 42.0)).abs() < 1e-12);
        assert!((band.high.frequency_hz - (6.0 + 3.0 / 8.0)).abs() < 1e-12);
        assert_eq!(usable_band(&GRID, &[10.0; 7], 90.0, 3), None);
        assert_eq!(usable_band(&[], &[], 90.0, 0), None);
    }

    #[test]
    fn a_gap_ends_the_band_at_its_last_good_point() {
        let score = [f64::NAN, f64::NAN, 95.0, 96.0, 97.0, f64::NAN, 99.0];
        let band = usable_band(&GRID, &score, 90.0, 3).expect("there is one");
        assert_eq!((band.low.frequency_hz, band.high.frequency_hz), (3.0, 5.0));
    }

    #[test]
    fn a_score_onto_the_limit_keeps_it() {
        let band =
            usable_band(&GRID, &[0.0, 0.0, 90.0, 90.0, 90.0, 0.0, 0.0], 90.0, 3).expect("there is one");
        assert_eq!((band.low.frequency_hz, band.high.frequency_hz), (3.0, 5.0));
    }
}
