//! A score over a band of frequencies.

use super::{LargestError, Score};
use serde::{Deserialize, Serialize};

/// A score over a band: root mean squares of the per-frequency root mean squares, unweighted means of the shares,
/// and the worst frequency of each.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BandScore {
    /// RMS over the band for errors, mean for shares, the largest over the band for largest errors and
    /// for the count of unserved targets.
    pub score: Score,
    /// Grid index of the largest RMS relative vector error; of equal ones the lowest.
    pub worst_vector_index: usize,
    /// That error, linear.
    pub worst_vector_error: f64,
    /// Grid index of the smallest share within both tolerances; of equal ones the lowest.
    pub worst_share_index: usize,
    /// That share, percent.
    pub worst_share_pct: f64,
}

/// Sums up the scores at a band's grid points; `first_index` is the grid index of `scores[0]`. `None` where there
/// are no scores.
pub fn band_summary(first_index: usize, scores: &[Score]) -> Option<BandScore> {
    let first = scores.first()?;
    let rms = |of: fn(&Score) -> f64| {
        (scores.iter().map(|score| of(score).powi(2)).sum::<f64>() / scores.len() as f64).sqrt()
    };
    let mean = |of: fn(&Score) -> f64| scores.iter().map(of).sum::<f64>() / scores.len() as f64;
    let (mut worst_vector, mut worst_share) = ((0, first), (0, first));
    for (index, score) in scores.iter().enumerate() {
        if score.rms_vector_error > worst_vector.1.rms_vector_error {
            worst_vector = (index, score);
        }
        if score.within_both_pct < worst_share.1.within_both_pct {
            worst_share = (index, score);
        }
    }
    let score = Score {
        rms_gain_error_db: rms(|score| score.rms_gain_error_db),
        rms_phase_error_deg: rms(|score| score.rms_phase_error_deg),
        rms_vector_error: rms(|score| score.rms_vector_error),
        largest_gain_error_db: largest(scores, |score| score.largest_gain_error_db),
        largest_phase_error_deg: largest(scores, |score| score.largest_phase_error_deg),
        largest_vector_error: largest(scores, |score| score.largest_vector_error),
        within_gain_pct: mean(|score| score.within_gain_pct),
        within_phase_pct: mean(|score| score.within_phase_pct),
        within_both_pct: mean(|score| score.within_both_pct),
        missing: scores.iter().map(|score| score.missing).max().unwrap_or(0),
    };
    Some(BandScore {
        score,
        worst_vector_index: first_index + worst_vector.0,
        worst_vector_error: worst_vector.1.rms_vector_error,
        worst_share_index: first_index + worst_share.0,
        worst_share_pct: worst_share.1.within_both_pct,
    })
}

fn largest(scores: &[Score], of: fn(&Score) -> Option<LargestError>) -> Option<LargestError> {
    // max_by keeps the last of equal ones; reversed, that is the lowest frequency's.
    scores.iter().rev().filter_map(of).max_by(|a, b| a.error.abs().total_cmp(&b.error.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn score(error: f64, share: f64, missing: usize) -> Score {
        Score {
            rms_gain_error_db: error,
            rms_phase_error_deg: 2.0 * error,
            rms_vector_error: error / 10.0,
            largest_gain_error_db: Some(LargestError { target: missing, error: -3.0 * error }),
            largest_phase_error_deg: None,
            largest_vector_error: None,
            within_gain_pct: share,
            within_phase_pct: share + 1.0,
            within_both_pct: share - 1.0,
            missing,
        }
    }

    /// 3 and 4 have the root mean square √12.5, by hand.
    #[test]
    fn errors_add_as_squares_and_shares_as_means() {
        let band = band_summary(7, &[score(3.0, 90.0, 5), score(4.0, 80.0, 7), score(4.0, 80.0, 6)])
            .expect("a summary");
        let expected = (41.0_f64 / 3.0).sqrt();
        assert!((band.score.rms_gain_error_db - expected).abs() < 1e-12);
        assert!((band.score.rms_phase_error_deg - 2.0 * expected).abs() < 1e-12);
        assert!((band.score.within_both_pct - 247.0 / 3.0).abs() < 1e-12);
        assert_eq!((band.worst_vector_index, band.worst_vector_error), (8, 0.4));
        assert_eq!((band.worst_share_index, band.worst_share_pct), (8, 79.0));
        assert_eq!(band.score.largest_gain_error_db, Some(LargestError { target: 7, error: -12.0 }));
        assert_eq!(band.score.missing, 7);
        assert_eq!(band_summary(0, &[]), None);
    }
}
