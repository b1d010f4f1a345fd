//! How much of a band's error is left to come at least, so that states drop out before all frequencies are looked at.
//!
//! While a worker narrows its candidates for the root mean square error, what a state has summed up so far grows by no less
//! than the smallest squared error that any state has at each frequency still to come. Its share stays within the limit only
//! if the sum so far is within the limit less those: the same argument that gives a worker its limit (`band_table`), carried
//! on inside it. For the worst error nothing is added, so there is nothing to take off.

use super::band_table::BandError;

/// Per frequency of a worker, in the order in which they were bounded, and per target the squared error of the nearest state.
#[derive(Clone, Debug, PartialEq)]
pub struct Floors {
    error: BandError,
    nearest: Vec<Vec<f64>>,
    /// Per target, the sum over the frequencies that are not narrowed yet.
    left: Vec<f64>,
}

impl Floors {
    /// Of no frequency.
    pub fn new(error: BandError, targets: usize) -> Self {
        Self { error, nearest: Vec::new(), left: vec![0.0; targets] }
    }

    /// Takes the next frequency's squared errors of the nearest states.
    pub fn note(&mut self, nearest: &[f64]) {
        self.left.iter_mut().zip(nearest).for_each(|(left, nearest)| *left += nearest);
        self.nearest.push(nearest.to_vec());
    }

    /// The targets that are hardest to serve at a frequency, by its place: there the fewest states are within reach. Of two
    /// equally hard frequencies the first.
    pub fn hardest_at(&self, place: usize) -> Vec<usize> {
        let here = |target: &usize| {
            let error = self.nearest[place][*target];
            self.nearest[..place].iter().all(|before| before[*target] < error)
                && self.nearest[place + 1..].iter().all(|after| after[*target] <= error)
        };
        (0..self.left.len()).filter(here).collect()
    }

    /// What a state may err at one frequency, by its place, before any is narrowed.
    pub fn alone(&self, place: usize, limits: &[f64]) -> Vec<f64> {
        let others = self.left.iter().zip(&self.nearest[place]).map(|(left, here)| left - here);
        self.less(limits, others)
    }

    /// What a state may have summed up when it comes through more frequencies, by their places, which are narrowed thereby.
    pub fn after(&mut self, places: &[usize], limits: &[f64]) -> Vec<f64> {
        for place in places {
            self.left.iter_mut().zip(&self.nearest[*place]).for_each(|(left, nearest)| *left -= nearest);
        }
        self.less(limits, self.left.iter().copied())
    }

    fn less(&self, limits: &[f64], to_come: impl Iterator<Item = f64>) -> Vec<f64> {
        match self.error {
            BandError::Worst => limits.to_vec(),
            // A little less than all, since sums and differences are rounded; the limits are wider by as much of the whole.
            BandError::Rms => limits
                .iter()
                .zip(to_come)
                .map(|(limit, to_come)| limit - to_come.max(0.0) * (1.0 - 1e-9))
                .collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three frequencies, two targets; by hand.
    #[test]
    fn what_is_to_come_is_taken_off_the_limit_of_a_sum_only() {
        let floors = |error| {
            let mut floors = Floors::new(error, 2);
            for nearest in [[1.0, 4.0], [2.0, 4.0], [5.0, 0.5]] {
                floors.note(&nearest);
            }
            floors
        };
        let limits = [10.0, 9.0];
        let near = |found: Vec<f64>, expected: [f64; 2]| {
            assert!(found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-7), "{found:?} {expected:?}");
        };
        let mut rms = floors(BandError::Rms);
        assert_eq!([0, 1, 2].map(|place| rms.hardest_at(place)), [vec![1], vec![], vec![0]]);
        near(rms.alone(2, &limits), [10.0 - 3.0, 9.0 - 8.0]);
        near(rms.after(&[2], &limits), [10.0 - 3.0, 9.0 - 8.0]);
        near(rms.after(&[0, 1], &limits), limits);
        let mut worst = floors(BandError::Worst);
        near(worst.alone(2, &limits), limits);
        near(worst.after(&[0, 1], &limits), limits);
    }

    /// A target whose nearest state is no number anywhere is still listed once.
    #[test]
    fn every_target_is_hardest_somewhere() {
        let mut floors = Floors::new(BandError::Worst, 3);
        for nearest in [[f64::INFINITY, 0.0, 1.0], [f64::INFINITY, 0.0, 2.0]] {
            floors.note(&nearest);
        }
        assert_eq!([0, 1].map(|place| floors.hardest_at(place)), [vec![0, 1], vec![2]]);
    }
}
