//! The nearest state to a target, exactly.

use super::bits_changed;
use crate::control::Word;
use num_complex::Complex64;

/// Two squared distances count as equal when they agree to this part of the larger.
const TIE: f64 = 1e-12;

/// One frequency's states, sorted so that the nearest to any target is found without looking at most of them.
///
/// The plane is cut into columns that hold equally many states, and each column is sorted upwards. Both cuts follow
/// the states, so clusters, repeated states and far-out ones cost little, and targets may lie anywhere.
#[derive(Clone, Debug)]
pub struct Finder<'a> {
    words: &'a [Word],
    states: &'a [Complex64],
    /// States column by column, upwards within a column.
    points: Vec<Point>,
    /// The left edge of each column: the smallest real part in it.
    left: Vec<f64>,
    /// The right edge of each column: the largest real part in it.
    right: Vec<f64>,
    per_column: usize,
}

#[derive(Clone, Copy, Debug)]
struct Point {
    re: f64,
    im: f64,
    state: u32,
}

impl Point {
    fn squared_distance(&self, target: Complex64) -> f64 {
        let (re, im) = (self.re - target.re, self.im - target.im);
        re * re + im * im
    }
}

impl<'a> Finder<'a> {
    /// Sorts the states; `states[p]` is the place of the state at position `p`, divided by a reference or not, and
    /// `words[p]` its word. States whose place is not finite are never found.
    pub fn new(states: &'a [Complex64], words: &'a [Word]) -> Self {
        let mut points: Vec<Point> = (0_u32..)
            .zip(states)
            .filter(|(_, value)| value.is_finite())
            .map(|(state, value)| Point { re: value.re, im: value.im, state })
            .collect();
        points.sort_unstable_by(|a, b| a.re.total_cmp(&b.re));
        let per_column = points.len().isqrt().max(1);
        let (mut left, mut right) = (Vec::new(), Vec::new());
        for column in points.chunks_mut(per_column) {
            left.push(column[0].re);
            right.push(column[column.len() - 1].re);
            column.sort_unstable_by(|a, b| a.im.total_cmp(&b.im));
        }
        Self { words, states, points, left, right, per_column }
    }

    /// The position of the state nearest to `target`. Of states equally near (squared distances that agree to 1e-12
    /// of the larger) the one whose word differs in fewer bits from `nominal_word`, then the one of the lower word.
    /// Without a nominal word, the lower word. `None` where there are no states.
    pub fn nearest(&self, target: Complex64, nominal_word: impl Into<Option<Word>>) -> Option<u32> {
        self.nearest_beside(target, nominal_word.into(), None)
    }

    /// The same, begun beside a state that is thought to be near: the closer it is, the fewer others are looked at.
    /// The answer does not depend on it.
    pub fn nearest_beside(
        &self,
        target: Complex64,
        nominal_word: Option<Word>,
        beside: Option<u32>,
    ) -> Option<u32> {
        let beside = beside.and_then(|state| self.states.get(state as usize));
        let squared = beside.map(|state| (state - target).norm_sqr()).filter(|squared| squared.is_finite());
        // Widened, so that rounding cannot hide the state itself.
        let limit = squared.map_or(f64::INFINITY, |squared| squared * (1.0 + 4.0 * TIE));
        let mut nearest = Nearest { squared: f64::INFINITY, runner_up: f64::INFINITY, state: None };
        self.visit(target, limit, |point, squared| nearest.meet(point.state, squared).min(limit));
        let state = nearest.state?;
        let tied_up_to = nearest.squared / (1.0 - TIE);
        if nearest.runner_up > tied_up_to {
            return Some(state);
        }
        let rank = |state: u32| {
            let word = self.words[state as usize];
            (nominal_word.map_or(0, |nominal| bits_changed(nominal, word)), word)
        };
        let mut best = (rank(state), state);
        self.visit(target, tied_up_to, |point, squared| {
            if squared <= tied_up_to {
                best = best.min((rank(point.state), point.state));
            }
            tied_up_to
        });
        Some(best.1)
    }

    /// Shows `meet` every state that may lie within the squared distance `limit`, nearest columns first. `meet`
    /// returns the limit to go on with, which may only shrink.
    fn visit(&self, target: Complex64, mut limit: f64, mut meet: impl FnMut(&Point, f64) -> f64) {
        let home = self.left.partition_point(|&left| left <= target.re).saturating_sub(1);
        let (mut down, mut up) = (home, home);
        if self.left.is_empty() {
            return;
        }
        limit = self.visit_column(home, target, limit, &mut meet);
        loop {
            // Columns ascend, so once one is out of reach on a side, so are all beyond it.
            let below = down.checked_sub(1).map(|column| (target.re - self.right[column]).max(0.0).powi(2));
            let above = self.left.get(up + 1).map(|left| (left - target.re).max(0.0).powi(2));
            match (below.filter(|&gap| gap <= limit), above.filter(|&gap| gap <= limit)) {
                (Some(gap), other) if other.is_none_or(|above| gap <= above) => {
                    down -= 1;
                    limit = self.visit_column(down, target, limit, &mut meet);
                }
                (_, Some(_)) => {
                    up += 1;
                    limit = self.visit_column(up, target, limit, &mut meet);
                }
                _ => return,
            }
        }
    }

    fn visit_column(
        &self,
        column: usize,
        target: Complex64,
        mut limit: f64,
        meet: &mut impl FnMut(&Point, f64) -> f64,
    ) -> f64 {
        let first = column * self.per_column;
        let points = &self.points[first..self.points.len().min(first + self.per_column)];
        let start = points.partition_point(|point| point.im < target.im);
        for point in &points[start..] {
            if (point.im - target.im).powi(2) > limit {
                break;
            }
            limit = meet(point, point.squared_distance(target));
        }
        for point in points[..start].iter().rev() {
            if (point.im - target.im).powi(2) > limit {
                break;
            }
            limit = meet(point, point.squared_distance(target));
        }
        limit
    }
}

/// The smallest squared distance met so far and the next one, which tells whether there is a tie to settle.
struct Nearest {
    squared: f64,
    runner_up: f64,
    state: Option<u32>,
}

impl Nearest {
    /// Takes note of a state; returns the squared distance within which others still matter.
    fn meet(&mut self, state: u32, squared: f64) -> f64 {
        if squared < self.squared {
            self.runner_up = self.squared;
            self.squared = squared;
            self.state = Some(state);
        } else if squared < self.runner_up {
            self.runner_up = squared;
        }
        // Twice the tie's width, so that rounding in the limit itself cannot hide a tied state.
        self.squared * (1.0 + 2.0 * TIE)
    }
}
