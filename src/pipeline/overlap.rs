//! How far a worker's frequencies reach into the next one's, so that traces join where two workers meet.

use std::ops::Range;

/// A density picture may be this narrow, in pixels, before its columns reach further than workers' frequencies do.
const NARROWEST_PX: f64 = 64.0;

/// The frequencies to hold for owning `range`: a column of pixels that begins in it may end beyond its last frequency, by
/// less than the column's width, and the trace in that column goes on to the first frequency at or after its end.
pub fn with_overlap(frequency_hz: &[f64], range: &Range<usize>) -> Range<usize> {
    let (Some(first_hz), Some(last_hz), Some(next_hz)) =
        (frequency_hz.first(), frequency_hz.last(), frequency_hz.get(range.end))
    else {
        return range.clone();
    };
    let reach_hz = next_hz + (last_hz - first_hz) / NARROWEST_PX;
    let end = frequency_hz.partition_point(|hz| *hz < reach_hz);
    range.start..(end + 1).min(frequency_hz.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 129 points over 128 GHz: a 64th of the span is 2 GHz.
    #[test]
    fn a_column_beyond_the_next_frequency_is_held() {
        let grid: Vec<f64> = (0..129).map(|point| 1e9 * f64::from(point)).collect();
        // Point 40 is the next one; 41 lies within a column of it, and 42 is the first at or after the column's end.
        assert_eq!(with_overlap(&grid, &(10..40)), 10..43);
        assert_eq!(with_overlap(&grid, &(90..129)), 90..129);
        assert_eq!(with_overlap(&grid, &(90..128)), 90..129);
        assert_eq!(with_overlap(&[], &(0..0)), 0..0);
    }
}
