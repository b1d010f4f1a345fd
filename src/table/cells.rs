//! One frequency's states in cells of equal height in decibels and equal width in degrees.
//!
//! Targets and states of a part lie evenly in these two, so a target's neighbours are in the few cells around it, and the
//! states are sorted by counting. Beside the nearest state a search can tell how far every other one is at least, and all
//! states in a rectangle of gain and phase can be visited; `Finder`, whose targets may lie anywhere, offers neither.

use super::bits_changed;
use super::spot::{NEPERS_PER_DB, Spot, within_turn};
use crate::control::Word;
use crate::plane::Place;
use num_complex::Complex64;
use std::f64::consts::{FRAC_PI_2, TAU};
use std::ops::Range;

/// Two squared distances count as equal when they agree to this part of the larger.
pub(super) const TIE: f64 = 1e-12;

/// A search looks so much farther than the nearest state lies, so that the answer stands while the spot moves a little.
const WIDER: f64 = 1.1;

/// Where the state beside a spot is so many times as far as the cells around the spot reach, these are thought to be empty.
const FAR: f64 = 3.0;

/// More than an angle in radians is rounded, or a magnitude as a part of it.
const ROUNDING: f64 = 1e-12;

/// No farther than ties and rounding need.
const NO_WIDER: f64 = 1.0 + 1e-9;

/// A cell holds this many states where they lie evenly: with fewer the cells around a target often hold none that is near
/// enough, with more there are more to look at. Found by trying.
const STATES_PER_CELL: f64 = 1.0;

/// One frequency's states, sorted into cells.
#[derive(Clone, Debug)]
pub struct Cells<'a> {
    words: &'a [Word],
    states: &'a [Complex64],
    /// Cell by cell along a row of equal gain, row after row upwards.
    points: Vec<Point>,
    /// Where each cell's points begin, and the end of the last.
    first: Vec<u32>,
    rows: usize,
    columns: usize,
    /// Lower edge of the lowest row, nepers; what lies below or above all rows is in the outermost one.
    lowest: f64,
    /// Height of a row, nepers.
    height: f64,
    /// Width of a column, radians; the columns fill the circle.
    width: f64,
    /// Rows in a neper, and columns in a radian.
    per_neper: f64,
    per_radian: f64,
    /// Smallest and largest magnitude of each row's states; its edges where it has none.
    radii: Vec<(f64, f64)>,
    /// A quarter of the inverse of each row's smallest magnitude.
    narrowing: Vec<f64>,
}

#[derive(Clone, Copy, Debug)]
struct Point {
    value: Complex64,
    state: u32,
}

/// The nearest state, and how much nearer it is than the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Near {
    /// Position of the state.
    pub state: u32,
    /// Its distance.
    pub distance: f64,
    /// No other state is nearer than this.
    pub others: f64,
}

/// Cells around a spot, the same number of them to every side.
#[derive(Clone, Copy, Debug)]
pub(super) struct Block {
    rows: (usize, usize),
    first_column: usize,
    columns: usize,
    /// No state outside the block is nearer to the spot than this.
    border: f64,
}

impl Block {
    /// Covers nothing.
    pub(super) const NONE: Self =
        Self { rows: (0, 0), first_column: 0, columns: 0, border: f64::NEG_INFINITY };
}

impl<'a> Cells<'a> {
    /// Sorts the states; `states[p]` is the state at position `p`, divided by a reference or not, and `words[p]` its word.
    /// States that are not finite are never found.
    pub fn new(states: &'a [Complex64], words: &'a [Word]) -> Self {
        Self::placed(states, words, &Place::all(states, Complex64::ONE))
    }

    /// The same for states whose places (undivided like the states) are known already, which saves the trigonometry.
    pub fn placed(states: &'a [Complex64], words: &'a [Word], places: &[Place]) -> Self {
        let found = || (0_u32..).zip(places).filter(|(_, place)| place.relative.is_finite());
        let nepers_of = |place: &Place| place.gain_db * NEPERS_PER_DB;
        let count = found().count().max(1) as f64;
        let nepers = found().map(|(_, place)| nepers_of(place)).filter(|nepers| nepers.is_finite()).collect();
        let (lowest, highest) = trimmed_range(nepers);
        let range = highest - lowest;
        let side = (range * TAU * STATES_PER_CELL / count).sqrt().max(TAU / count);
        // At most as many as states, so that no spread of them makes more cells than a few per state.
        let rows = whole(range / side, count);
        let columns = whole(TAU / side, count);
        let (height, width) = ((range / rows as f64).max(f64::MIN_POSITIVE), TAU / columns as f64);
        let mut cells = Self {
            words,
            states,
            points: Vec::new(),
            first: vec![0; rows * columns + 1],
            rows,
            columns,
            lowest,
            height,
            width,
            per_neper: height.recip(),
            per_radian: width.recip(),
            radii: vec![(f64::INFINITY, f64::NEG_INFINITY); rows],
            narrowing: Vec::new(),
        };
        let cell = |place: &Place| {
            let row = cells.row(nepers_of(place));
            row * columns + cells.column(within_turn(place.phase_deg.to_radians()))
        };
        let cell_of: Vec<usize> = found().map(|(_, place)| cell(place)).collect();
        cells.points = vec![Point { value: Complex64::ZERO, state: 0 }; cell_of.len()];
        for &cell in &cell_of {
            cells.first[cell + 1] += 1;
        }
        for cell in 1..cells.first.len() {
            cells.first[cell] += cells.first[cell - 1];
        }
        let mut next = cells.first.clone();
        for ((state, place), cell) in found().zip(cell_of) {
            cells.points[next[cell] as usize] = Point { value: place.relative, state };
            next[cell] += 1;
            let (inner, outer) = &mut cells.radii[cell / columns];
            let magnitude = place.relative.norm_sqr().sqrt();
            (*inner, *outer) = (smaller(*inner, magnitude), larger(*outer, magnitude));
        }
        let edge = |row: usize| (lowest + row as f64 * height).exp();
        for (row, radii) in cells.radii.iter_mut().enumerate().filter(|(_, (inner, outer))| inner > outer) {
            *radii = (edge(row), edge(row + 1));
        }
        cells.narrowing = cells.radii.iter().map(|(inner, _)| (4.0 * inner).recip()).collect();
        cells
    }

    /// The states, as they were given.
    pub fn states(&self) -> &'a [Complex64] {
        self.states
    }

    /// The words of the states, as they were given.
    pub fn words(&self) -> &'a [Word] {
        self.words
    }

    fn row(&self, nepers: f64) -> usize {
        whole_below((nepers - self.lowest) * self.per_neper, self.rows)
    }

    /// A column counted on round the circle; a division would take longer.
    fn within_circle(&self, column: usize) -> usize {
        let mut column = column;
        while column >= self.columns {
            column -= self.columns;
        }
        column
    }

    fn column(&self, radians: f64) -> usize {
        whole_below(radians * self.per_radian, self.columns)
    }

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
        Some(self.look(spot, nominal_word, beside, NO_WIDER)?.0.state)
    }

    /// The nearest state by the same rule, and how much nearer it is than the others.
    pub fn near(&self, spot: &Spot, nominal_word: Option<Word>) -> Option<Near> {
        Some(self.near_and_block(spot, nominal_word, [])?.0)
    }

    /// The same, with the cells that hold it, to be [searched again](Self::near_in) while the spot moves little; no cells
    /// where they hold none that is near enough, or several that are equally near. The closer the state `beside` is, the fewer others are looked at; the answer does not
    /// depend on it.
    pub(super) fn near_and_block(
        &self,
        spot: &Spot,
        nominal_word: Option<Word>,
        beside: impl IntoIterator<Item = u32>,
    ) -> Option<(Near, Block)> {
        self.look(spot, nominal_word, beside, WIDER)
    }

    /// Where the cells around the spot hold no state that is near enough, it looks `wider` times as far as the nearest lies.
    fn look(
        &self,
        spot: &Spot,
        nominal_word: Option<Word>,
        beside: impl IntoIterator<Item = u32>,
        wider: f64,
    ) -> Option<(Near, Block)> {
        if self.points.is_empty() {
            return None;
        }
        let away = |state: u32| (self.states[state as usize] - spot.value).norm_sqr();
        // A distance that is no number is passed over.
        let mut within = beside.into_iter().map(away).fold(f64::INFINITY, smaller);
        let block = self.block(spot, 1);
        // Less than the border by more than is rounded, so that no tied state is outside.
        let covered = block.border * (1.0 - 1e-9);
        let is_far = within < f64::INFINITY && within > FAR * FAR * covered * covered;
        if !is_far {
            let mut two = Two::NONE;
            self.visit(&block, |point| two.meet(point, spot.value));
            if two.squared <= covered * covered && !two.tied() {
                let (distance, others) = (two.squared.sqrt(), smaller(covered, two.runner_up.sqrt()));
                return Some((Near { state: two.state, distance, others }, block));
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
        (within < f64::INFINITY).then_some(())?;
        Some((self.near_within(spot, nominal_word, within, wider), Block::NONE))
    }

    /// The nearest state, which is known to be no farther than the root of `within`.
    fn near_within(&self, spot: &Spot, nominal_word: Option<Word>, within: f64, wider: f64) -> Near {
        let wider = wider * wider;
        // What is not within reach is of no interest, so it need not be told apart.
        let mut two = Two { runner_up: (wider * within).max(f64::MIN_POSITIVE), ..Two::NONE };
        self.visit_disc(spot, |points| {
            for point in points {
                two.meet(point, spot.value);
            }
            smaller(two.runner_up, wider * two.squared)
        });
        let distance = two.squared.sqrt();
        if !two.tied() {
            let others = two.runner_up.min(wider * two.squared * (1.0 - 1e-9)).sqrt();
            return Near { state: two.state, distance, others };
        }
        let (limit, tied_up_to) = (wider * two.squared, two.tied_up_to());
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
        Near { state: best.2, distance, others: distance }
    }

    /// Shows `meet` every state within a distance of a spot, and some beyond: row by row from the spot's own inwards, then
    /// outwards. `meet` returns the squared distance to go on with, also when it is shown no states; what it returns last is
    /// the smallest that counts.
    ///
    /// Two places at radii r and m whose angles differ by b are √((r − m)² + 4·r·m·sin²(b/2)) apart (law of cosines).
    fn visit_disc(&self, spot: &Spot, mut meet: impl FnMut(&[Point]) -> f64) {
        let mut limit = meet(&[]);
        let home = self.row(spot.nepers);
        let (mut below, mut above) = (home, home);
        let mut row = Some(home);
        while let Some(here) = row {
            if let Some(columns) = self.columns_within(spot, here, limit) {
                let [some, others] = self.runs(here, columns);
                limit = meet(some);
                if !others.is_empty() {
                    limit = meet(others);
                }
            }
            let reached = |row: &usize| self.gap_to_row(spot.magnitude, *row).powi(2) <= limit;
            row = if let Some(inwards) = below.checked_sub(1).filter(reached) {
                below = inwards;
                Some(inwards)
            } else {
                above += 1;
                Some(above).filter(|row| *row < self.rows).filter(reached)
            };
        }
    }

    /// The columns of a row that a disc touches, the first and how many; `None` where it does not reach the row.
    fn columns_within(&self, spot: &Spot, row: usize, squared_distance: f64) -> Option<(usize, usize)> {
        let gap = self.gap_to_row(spot.magnitude, row);
        let room = squared_distance - gap * gap;
        if room < 0.0 {
            return None;
        }
        let half_sine = (room * self.narrowing[row] * spot.inverse_magnitude).sqrt() * (1.0 + 1e-9);
        // The arc sine of s is at most s + (π/2 − 1)·s³ from 0 to 1.
        let radians = 2.0 * half_sine * (1.0 + (FRAC_PI_2 - 1.0) * half_sine * half_sine) + ROUNDING;
        if !(half_sine < 1.0 && 2.0 * (radians + self.width) < TAU) {
            return Some((0, self.columns));
        }
        // A turn on, so that neither is negative.
        let column = |radians: f64| whole_below((radians + TAU) * self.per_radian, 3 * self.columns);
        let (first, last) = (column(spot.radians - radians), column(spot.radians + radians));
        Some((self.within_circle(first), last + 1 - first))
    }

    /// How far a magnitude is from those of a row, less what is rounded.
    fn gap_to_row(&self, magnitude: f64, row: usize) -> f64 {
        let (inner, outer) = self.radii[row];
        let gap = larger(inner - magnitude, magnitude - outer) - ROUNDING * magnitude;
        larger(0.0, gap) * (1.0 - 1e-9)
    }

    /// The nearest state of a block and how far every other state is at least, at a value that is `moved` away from the
    /// spot around which the block lies; `None` where it may lie outside of the block or is tied.
    pub(super) fn near_in(&self, block: &Block, moved: f64, value: Complex64) -> Option<Near> {
        // With less left the nearest mostly lies outside, so that looking is in vain.
        if moved > 0.6 * block.border {
            return None;
        }
        let mut two = Two::NONE;
        self.visit(block, |point| two.meet(point, value));
        let covered = (block.border - moved) * (1.0 - 1e-9);
        let distance = two.squared.sqrt();
        let found = distance <= covered && !two.tied();
        found.then(|| Near { state: two.state, distance, others: smaller(covered, two.runner_up.sqrt()) })
    }

    fn block(&self, spot: &Spot, reach: usize) -> Block {
        let (row, column) = (self.row(spot.nepers), self.column(spot.radians));
        let rows = row.saturating_sub(reach)..(row + reach + 1).min(self.rows);
        let edge = |row: usize| self.lowest + row as f64 * self.height;
        let below = if rows.start == 0 { f64::INFINITY } else { spot.nepers - edge(rows.start) };
        let above = if rows.end == self.rows { f64::INFINITY } else { edge(rows.end) - spot.nepers };
        let gap = larger(0.0, smaller(below, above));
        // A state x nepers away is at least 1 − e^(−x) ≥ x/(1 + x) of the spot's magnitude away, since e^x ≥ 1 + x.
        let by_gain = if gap == f64::INFINITY { gap } else { gap / (1.0 + gap) };
        let (first_column, columns, by_phase) = if 2 * reach + 1 >= self.columns {
            (0, self.columns, f64::INFINITY)
        } else {
            let inside = spot.radians - column as f64 * self.width;
            let gap = reach as f64 * self.width + smaller(inside, self.width - inside);
            // A ray x radians away is at least sin x of the magnitude away, and sin x ≥ x − x³/6; from a quarter turn on,
            // the whole magnitude. At 1.5 the first is below it.
            let gap = gap.clamp(0.0, 1.5);
            let first = self.within_circle(column + self.columns - reach);
            (first, 2 * reach + 1, gap - gap * gap * gap / 6.0)
        };
        let rows = (rows.start, rows.end);
        Block { rows, first_column, columns, border: spot.magnitude * smaller(by_gain, by_phase) }
    }

    /// Shows `meet` every state within `gain` nepers and `phase` radians of a spot, and some beyond.
    pub(super) fn visit_around(
        &self,
        spot: &Spot,
        gain: f64,
        phase: f64,
        mut meet: impl FnMut(u32, Complex64),
    ) {
        let rows = (self.row(spot.nepers - gain), self.row(spot.nepers + gain) + 1);
        let reach = (phase / self.width).ceil();
        let (first_column, columns) = if 2.0 * reach + 1.0 < self.columns as f64 {
            let reach = whole_below(reach, self.columns);
            ((self.column(spot.radians) + self.columns - reach) % self.columns, 2 * reach + 1)
        } else {
            (0, self.columns)
        };
        let block = Block { rows, first_column, columns, border: 0.0 };
        self.visit(&block, |point| meet(point.state, point.value));
    }

    fn visit(&self, block: &Block, mut meet: impl FnMut(&Point)) {
        for row in block.rows.0..block.rows.1 {
            self.visit_row(row, (block.first_column, block.columns), &mut meet);
        }
    }

    /// Shows `meet` the states in so many cells of a row from one on, round the circle.
    fn visit_row(&self, row: usize, columns: (usize, usize), mut meet: impl FnMut(&Point)) {
        self.runs(row, columns).into_iter().flatten().for_each(&mut meet);
    }

    /// The states in so many cells of a row from one on: those up to the end of the row, and those from its begin on.
    fn runs(&self, row: usize, (first, columns): (usize, usize)) -> [&[Point]; 2] {
        let end = first + columns;
        let run = |columns: Range<usize>| {
            let points = self.run(row, columns);
            &self.points[points.start as usize..points.end as usize]
        };
        [run(first..end.min(self.columns)), run(0..end.saturating_sub(self.columns))]
    }

    /// The points of neighbouring cells of a row.
    fn run(&self, row: usize, columns: Range<usize>) -> Range<u32> {
        let cell = row * self.columns;
        self.first[cell + columns.start]..self.first[cell + columns.end]
    }
}

/// The two smallest squared distances, and whose the smallest is.
struct Two {
    squared: f64,
    runner_up: f64,
    state: u32,
}

impl Two {
    const NONE: Self = Self { squared: f64::INFINITY, runner_up: f64::INFINITY, state: 0 };

    fn meet(&mut self, point: &Point, value: Complex64) {
        let squared = (point.value - value).norm_sqr();
        if squared < self.runner_up {
            if squared < self.squared {
                (self.runner_up, self.squared, self.state) = (self.squared, squared, point.state);
            } else {
                self.runner_up = squared;
            }
        }
    }

    fn tied_up_to(&self) -> f64 {
        self.squared * const { 1.0 / (1.0 - TIE) }
    }

    fn tied(&self) -> bool {
        self.runner_up <= self.tied_up_to()
    }
}

/// The smaller of two numbers; the first where the second is none. In WebAssembly [`f64::min`] is a call.
fn smaller(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// The larger of two numbers; the first where the second is none.
fn larger(a: f64, b: f64) -> f64 {
    if b > a { b } else { a }
}

/// The range of these values less the lowest and the highest fiftieth: a few states without transmission must not stretch
/// the rows. Zero and zero of none.
fn trimmed_range(mut values: Vec<f64>) -> (f64, f64) {
    let trimmed = values.len() / 50;
    let Some(last) = values.len().checked_sub(1 + trimmed) else { return (0.0, 0.0) };
    let lowest = *values.select_nth_unstable_by(trimmed, f64::total_cmp).1;
    let highest = *values.select_nth_unstable_by(last, f64::total_cmp).1;
    (lowest, highest)
}

/// A count of at least one and at most `most`.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped first")]
fn whole(value: f64, most: f64) -> usize {
    value.clamp(1.0, most) as usize
}

/// The cell that a coordinate in cells falls into, the outermost ones for what lies beyond or is no number.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped first")]
fn whole_below(value: f64, count: usize) -> usize {
    value.clamp(0.0, (count - 1) as f64) as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::Setting;
    use crate::plane::PreparedTarget;
    use crate::table::Finder;

    /// A fixed sequence of even numbers in 0..1 (the 64-bit linear congruence of Knuth's MMIX).
    struct Sequence(u64);

    impl Sequence {
        fn next(&mut self) -> f64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 11) as f64 / (1_u64 << 53) as f64
        }
    }

    /// Planes of several shapes: spread in gain and phase, on a ring, on a line, in a lattice with ties, with dead states.
    fn planes(sequence: &mut Sequence) -> Vec<Vec<Complex64>> {
        let polar = |gain_db: f64, degrees: f64| {
            Complex64::from_polar(10_f64.powf(gain_db / 20.0), degrees.to_radians())
        };
        let mut planes = Vec::new();
        for count in [1, 2, 3, 7, 64, 500, 2000] {
            let mut spread = |gain_db: f64, degrees: f64| -> Vec<Complex64> {
                (0..count).map(|_| polar(-gain_db * sequence.next(), degrees * sequence.next())).collect()
            };
            planes.extend([spread(31.5, 360.0), spread(0.2, 360.0), spread(31.5, 20.0), spread(0.0, 360.0)]);
            let mut dead = spread(20.0, 360.0);
            dead[count / 2] = Complex64::ZERO;
            dead[count / 3] = Complex64::new(f64::NAN, 1.0);
            planes.push(dead);
        }
        planes.push((0..400).map(|k| polar(-0.5 * f64::from(k / 40), 9.0 * f64::from(k % 20))).collect());
        planes
    }

    /// Against the search by columns, which is checked against looking at all; far targets included.
    #[test]
    fn the_nearest_state_and_the_distance_of_all_others() {
        let mut sequence = Sequence(3);
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
                let near = cells.near(&spot, nominal);
                assert_eq!(
                    near.map(|near| near.state),
                    finder.nearest_beside(target.gain * reference, nominal, None)
                );
                assert_eq!(near.is_some(), finite);
                let Some(near) = near else { continue };
                let away = |state: u32| (states[state as usize] - target.gain * reference).norm();
                let all = (0_u32..).zip(&states).filter(|(_, state)| state.is_finite());
                let others = all.filter(|(state, _)| *state != near.state).map(|(state, _)| away(state));
                let others = others.fold(f64::INFINITY, f64::min);
                assert!((near.distance - away(near.state)).abs() <= 1e-12 * near.distance);
                assert!(near.others <= others * (1.0 + 1e-12) && near.others >= near.distance);

                // The block looked at here, searched a little farther on.
                let (_, block) = cells.near_and_block(&spot, nominal, []).expect("found before");
                let step =
                    Complex64::from_polar(0.05 * sequence.next() * spot.magnitude, 7.0 * sequence.next());
                let there = spot.value + step;
                if let Some(near) = cells.near_in(&block, step.norm(), there) {
                    assert_eq!(Some(near.state), finder.nearest(there, None));
                    let others = (0_u32..).zip(&states).filter(|(s, v)| *s != near.state && v.is_finite());
                    let others =
                        others.map(|(_, value)| (value - there).norm()).fold(f64::INFINITY, f64::min);
                    assert!(near.others <= others * (1.0 + 1e-12) && near.others >= near.distance);
                }
            }
        }
    }

    #[test]
    fn everything_in_a_rectangle_is_visited() {
        let mut sequence = Sequence(4);
        for states in planes(&mut sequence) {
            let words: Vec<Word> = (0_u32..).zip(&states).map(|(word, _)| Word(word)).collect();
            let cells = Cells::new(&states, &words);
            for _ in 0..50 {
                let (gain, phase) = (2.0 * sequence.next().powi(3), 4.0 * sequence.next().powi(3));
                let centre = Complex64::from_polar((-4.0 * sequence.next()).exp(), TAU * sequence.next());
                let mut met = vec![0; states.len()];
                cells.visit_around(&Spot::of(centre), gain, phase, |state, value| {
                    assert_eq!(value, states[state as usize]);
                    met[state as usize] += 1;
                });
                for (state, met) in states.iter().zip(met) {
                    let off = (state / centre).ln();
                    let inside = off.re.abs() <= gain * (1.0 - 1e-9) && off.im.abs() <= phase * (1.0 - 1e-9);
                    assert!(met == 1 || met == 0 && !inside, "{state} {centre} {gain} {phase} {met}");
                }
            }
        }
    }
}
