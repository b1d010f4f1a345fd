//! The nearest state of a place, and how much nearer it is than all others.

use super::super::{bits_changed, spot::Spot};
use super::{Cells, Point, ROUNDING, smaller};
use crate::control::Word;
use num_complex::Complex64;

/// Two squared distances count as equal when they agree to this part of the larger.
pub(in super::super) const TIE: f64 = 1e-12;

/// A search looks so much farther than the nearest state lies, so that the answer stands while the spot moves a little.
const WIDER: f64 = 1.1;

/// Where the state beside a spot is so many times as far as the cells around the spot reach, these are thought to be empty.
const FAR: f64 = 3.0;

/// No farther than ties and rounding need.
const NO_WIDER: f64 = 1.0 + 1e-9;

/// So many of the states around a place are listed at most. Found by trying.
const LISTED: usize = 8;

/// The nearest state, and how much nearer it is than the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in super::super) struct Near {
    /// Position of the state.
    pub(in super::super) state: u32,
    /// Its distance.
    pub(in super::super) distance: f64,
    /// No other state is nearer than this.
    pub(in super::super) others: f64,
}

/// The few states around a place, to be looked at first when the place moves.
#[derive(Clone, Copy, Debug)]
pub(in super::super) struct Around {
    states: [u32; LISTED],
    count: usize,
    /// No other state is nearer to the place than this.
    border: f64,
}

impl Around {
    /// Nobody, and nothing known of the others.
    pub(in super::super) const NOBODY: Self =
        Self { states: [0; LISTED], count: 0, border: f64::NEG_INFINITY };

    /// Nobody yet; all others are farther than anything.
    const EMPTY: Self = Self { border: f64::INFINITY, ..Self::NOBODY };

    /// Another state, at this squared distance.
    fn list(&mut self, state: u32, squared: f64) {
        if let Some(free) = self.states.get_mut(self.count) {
            *free = state;
            self.count += 1;
        } else {
            self.border = smaller(self.border, squared.sqrt());
        }
    }
}

impl Cells<'_> {
    /// The nearest state. Of states equally near (squared distances that agree to 1e-12 of the larger) the one whose word
    /// differs in fewer bits from `nominal_word`, then the one of the lower word; without a nominal word, the lower word.
    /// `None` where there are no states.
    ///
    /// The nearer `beside` is, a state thought to be near such as the one chosen for the target before, the fewer others
    /// are looked at where the cells around the spot hold none. The answer does not depend on it.
    pub fn nearest(
        &self,
        spot: &Spot,
        nominal_word: Option<Word>,
        beside: impl IntoIterator<Item = u32>,
    ) -> Option<u32> {
        match self.look(spot, beside, |_, _| {})? {
            Looked::Near(near, _) => Some(near.state),
            Looked::Within(squared) => {
                let two = self.two_within(spot, squared, NO_WIDER, |_, _| {});
                Some(if two.tied() { self.of_tied(spot, nominal_word, &two).state } else { two.state })
            }
        }
    }

    /// The nearest state by the same rule, how much nearer it is than the others, and the states around the spot, to be
    /// [looked at first](Self::near_in) while it moves little. The closer the state `beside` is, the fewer others are looked at; the answer does not depend on it.
    pub(in super::super) fn near_and_around(
        &self,
        spot: &Spot,
        nominal_word: Option<Word>,
        beside: impl IntoIterator<Item = u32>,
    ) -> Option<(Near, Around)> {
        let mut around = Around::EMPTY;
        let near = match self.look(spot, beside, |state, squared| around.list(state, squared))? {
            Looked::Near(near, covered) => {
                around.border = smaller(around.border, covered);
                near
            }
            Looked::Within(squared) => {
                around = Around::EMPTY;
                let two = self.two_within(spot, squared, WIDER, |state, squared| around.list(state, squared));
                let border = two.border(WIDER);
                around.border = smaller(around.border, border);
                if two.tied() { self.of_tied(spot, nominal_word, &two) } else { two.near(border) }
            }
        };
        Some((near, around))
    }

    /// Looks into the cells around the spot, and if they hold no state that is near enough, for any that is not far.
    /// `list` is shown the states of these cells that are nearer than any outside of them, with their squared distance.
    fn look(
        &self,
        spot: &Spot,
        beside: impl IntoIterator<Item = u32>,
        mut list: impl FnMut(u32, f64),
    ) -> Option<Looked> {
        if self.points.is_empty() {
            return None;
        }
        let away = |state: u32| {
            self.states.get(state as usize).map_or(f64::INFINITY, |state| (state - spot.value).norm_sqr())
        };
        // A distance that is no number is passed over.
        let mut within = beside.into_iter().map(away).fold(f64::INFINITY, smaller);
        let block = self.block(spot, 1);
        // Less than the border by more than is rounded, so that no tied state is outside.
        let covered = block.border * (1.0 - 1e-9);
        let is_far = within < f64::INFINITY && within > FAR * FAR * covered * covered;
        if !is_far {
            let mut two = Two::within(f64::INFINITY);
            self.visit(&block, |point| {
                let squared = two.meet(point, spot.value);
                if squared <= covered * covered {
                    list(point.state, squared);
                }
            });
            if two.squared <= covered * covered && !two.tied() {
                return Some(Looked::Near(two.near(covered), covered));
            }
            within = smaller(within, two.squared);
        }
        let (mut reach, whole) = (1, self.rows.max(self.columns));
        while within == f64::INFINITY && reach < whole {
            reach *= 2;
            let block = self.block(spot, reach);
            self.visit(&block, |point| within = smaller(within, (point.value - spot.value).norm_sqr()));
        }
        // Places so large that squares overflow are nowhere near.
        (within < f64::INFINITY).then_some(Looked::Within(within))
    }

    /// The two nearest states, of which one is known to be no farther than the root of `within`; told apart up to `wider`
    /// times as far as the nearest lies. `list` is shown all states up to there, and some beyond.
    fn two_within(&self, spot: &Spot, within: f64, wider: f64, mut list: impl FnMut(u32, f64)) -> Two {
        let wider = wider * wider;
        let mut two = Two::within((wider * within).max(f64::MIN_POSITIVE));
        let mut limit = two.runner_up;
        self.visit_disc(spot, |points| {
            for point in points {
                let squared = two.meet(point, spot.value);
                if squared < limit {
                    limit = smaller(limit, wider * squared);
                    list(point.state, squared);
                }
            }
            limit
        });
        two
    }

    /// The nearest of states that are equally near.
    fn of_tied(&self, spot: &Spot, nominal_word: Option<Word>, two: &Two) -> Near {
        let (limit, tied_up_to) = (NO_WIDER * NO_WIDER * two.squared, two.tied_up_to());
        let mut best = (u32::MAX, Word(u32::MAX), two.state);
        self.visit_disc(spot, |points| {
            for point in points {
                if (point.value - spot.value).norm_sqr() <= tied_up_to {
                    let word = self.words[point.state as usize];
                    let changed = nominal_word.map_or(0, |nominal| bits_changed(nominal, word));
                    best = best.min((changed, word, point.state));
                }
            }
            limit
        });
        let distance = two.squared.sqrt();
        Near { state: best.2, distance, others: distance }
    }

    /// The nearest state and how far every other state is at least, found among those that were around a place, at a value that
    /// is `moved` away from it; `None` where the nearest may be another or is tied.
    pub(in super::super) fn near_in(&self, around: &Around, moved: f64, value: Complex64) -> Option<Near> {
        let mut two = Two::within(f64::INFINITY);
        for &state in &around.states[..around.count] {
            two.meet(&Point { value: self.states[state as usize], state }, value);
        }
        // Less by more than any of these is rounded, and the value that they are taken from.
        let rounding = ROUNDING * (value.re.abs() + value.im.abs());
        let covered = around.border * (1.0 - 1e-9) - moved * (1.0 + 1e-9) - rounding;
        let is_found = two.squared.sqrt() <= covered && !two.tied();
        is_found.then(|| two.near(covered))
    }
}

/// What came of looking into the cells around a spot.
enum Looked {
    /// They hold the nearest state, and all that are nearer than this.
    Near(Near, f64),
    /// The nearest state is no farther than the root of this, and may lie elsewhere.
    Within(f64),
}

/// The two smallest squared distances, and whose the smallest is.
struct Two {
    squared: f64,
    runner_up: f64,
    state: u32,
}

impl Two {
    /// Of nobody yet: who is not within the root of `squared` need not be told apart.
    fn within(squared: f64) -> Self {
        Self { squared: f64::INFINITY, runner_up: squared, state: 0 }
    }

    /// Returns how far the state is, squared.
    fn meet(&mut self, point: &Point, value: Complex64) -> f64 {
        let squared = (point.value - value).norm_sqr();
        if squared < self.runner_up {
            if squared < self.squared {
                (self.runner_up, self.squared, self.state) = (self.squared, squared, point.state);
            } else {
                self.runner_up = squared;
            }
        }
        squared
    }

    /// No state but those that were told apart is nearer than this, where it was looked `wider` times as far as the nearest.
    fn border(&self, wider: f64) -> f64 {
        (wider * wider * self.squared * (1.0 - 1e-9)).sqrt()
    }

    /// The nearest, where none but these two is nearer than `border`.
    fn near(&self, border: f64) -> Near {
        let others = smaller(border, self.runner_up.sqrt());
        Near { state: self.state, distance: self.squared.sqrt(), others }
    }

    fn tied_up_to(&self) -> f64 {
        self.squared * const { 1.0 / (1.0 - TIE) }
    }

    fn tied(&self) -> bool {
        self.runner_up <= self.tied_up_to()
    }
}

#[cfg(test)]
mod tests {
    use super::super::planes::{Sequence, planes};
    use super::*;
    use crate::control::Setting;
    use crate::plane::PreparedTarget;
    use crate::table::Finder;

    /// Against the search by columns, which is checked against looking at all; far targets included.
    #[test]
    fn the_nearest_state_and_the_distance_of_all_others() {
        let mut sequence = Sequence(3);
        let (mut asked, mut found) = (0, 0);
        for states in planes(&mut sequence) {
            let words: Vec<Word> = (0_u32..).zip(&states).map(|(word, _)| Word(word)).collect();
            let (cells, finder) = (Cells::new(&states, &words), Finder::new(&states, &words));
            let finite = states.iter().any(|state| state.is_finite());
            for turn in 0..400 {
                let setting = if turn % 2 == 0 {
                    Setting {
                        gain_db: 10.0 - 60.0 * sequence.next(),
                        phase_deg: 720.0 * sequence.next() - 360.0,
                    }
                } else {
                    Setting { gain_db: -0.25 * f64::from(turn / 8), phase_deg: -4.5 * f64::from(turn) }
                };
                let reference = Complex64::from_polar(0.5 + sequence.next(), 7.0 * sequence.next());
                let target = PreparedTarget::of(setting);
                let spot = Spot::under(&target, &Spot::of(reference));
                let nominal = Some(Word(turn % 64));
                // Whichever state the search is begun beside.
                let beside = (turn % 3 > 0).then(|| words[turn as usize % words.len()].0);
                let looked = cells.near_and_around(&spot, nominal, beside);
                assert_eq!(
                    looked.map(|(near, _)| near.state),
                    finder.nearest_beside(target.gain * reference, nominal, None)
                );
                assert_eq!(looked.is_some(), finite);
                let Some((near, around)) = looked else { continue };
                let away = |state: u32| (states[state as usize] - target.gain * reference).norm();
                let all = (0_u32..).zip(&states).filter(|(_, state)| state.is_finite());
                let others = all.filter(|(state, _)| *state != near.state).map(|(state, _)| away(state));
                let others = others.fold(f64::INFINITY, f64::min);
                assert!((near.distance - away(near.state)).abs() <= 1e-12 * near.distance);
                assert!(near.others <= others * (1.0 + 1e-12) && near.others >= near.distance);

                // What was around it is looked at a little farther on.
                let step =
                    Complex64::from_polar(0.05 * sequence.next() * spot.magnitude, 7.0 * sequence.next());
                let there = spot.value + step;
                asked += 1;
                if let Some(near) = cells.near_in(&around, step.norm(), there) {
                    found += 1;
                    assert_eq!(Some(near.state), finder.nearest(there, None));
                    let others = (0_u32..).zip(&states).filter(|(s, v)| *s != near.state && v.is_finite());
                    let others =
                        others.map(|(_, value)| (value - there).norm()).fold(f64::INFINITY, f64::min);
                    assert!(near.others <= others * (1.0 + 1e-12) && near.others >= near.distance);
                }
            }
        }
        assert!(3 * found > asked, "{found} of {asked}");
    }
}
