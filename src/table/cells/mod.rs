//! One frequency's states in cells of equal height in decibels and equal width in degrees.
//!
//! Targets and states of a part lie evenly in these two, so a target's neighbours are in the few cells around it, and the
//! states are sorted by counting. Beside the nearest state a search can tell how far every other one is at least, and all
//! states in a rectangle of gain and phase can be visited; `Finder`, whose targets may lie anywhere, offers neither.

mod nearest;

pub(super) use nearest::{Around, TIE};

use super::spot::{NEPERS_PER_DB, Spot, within_turn};
use crate::control::Word;
use crate::plane::Place;
use num_complex::Complex64;
use std::f64::consts::{FRAC_PI_2, TAU};
use std::ops::Range;

/// More than an angle in radians is rounded, or a magnitude as a part of it.
pub(super) const ROUNDING: f64 = 1e-12;

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

/// Cells around a spot, the same number of them to every side.
#[derive(Clone, Copy, Debug)]
struct Block {
    rows: (usize, usize),
    first_column: usize,
    columns: usize,
    /// No state outside the block is nearer to the spot than this.
    border: f64,
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

    /// Shows `meet` every state within a distance of a spot, and some beyond: row by row from the spot's own inwards, then
    /// outwards. `meet` returns the squared distance to go on with, also when it is shown no states; what it returns last is
    /// the smallest that counts.
    ///
    /// Two places at radii r and m whose angles differ by b are √((r − m)² + 4·r·m·sin²(b/2)) apart (law of cosines).
    #[inline]
    fn visit_disc(&self, spot: &Spot, mut meet: impl FnMut(&[Point]) -> f64) {
        let mut limit = meet(&[]);
        let home = self.row(spot.nepers);
        for row in (0..=home).rev() {
            let room = limit - self.squared_gap_to_row(spot.magnitude, row);
            if room >= 0.0 {
                limit = self.visit_arc(spot, row, room, &mut meet);
            } else if row < home {
                // The states of the spot's own row may be farther than those of the next.
                break;
            }
        }
        for row in home + 1..self.rows {
            let room = limit - self.squared_gap_to_row(spot.magnitude, row);
            if room < 0.0 {
                break;
            }
            limit = self.visit_arc(spot, row, room, &mut meet);
        }
    }

    /// Shows `meet` the states of a row that are in the arc that a disc cuts out, and some beyond. `room` is the disc's squared
    /// radius less the squared gap to the row.
    #[inline]
    fn visit_arc(&self, spot: &Spot, row: usize, room: f64, meet: &mut impl FnMut(&[Point]) -> f64) -> f64 {
        let half_sine = (room * self.narrowing[row] * spot.inverse_magnitude).sqrt() * (1.0 + 1e-9);
        // The arc sine of s is at most s + (π/2 − 1)·s³ from 0 to 1.
        let radians = 2.0 * half_sine * (1.0 + (FRAC_PI_2 - 1.0) * half_sine * half_sine) + ROUNDING;
        if !(half_sine < 1.0 && 2.0 * (radians + self.width) < TAU) {
            return meet(self.run(row, 0..self.columns));
        }
        // A turn on, so that neither is negative.
        let column = |radians: f64| whole_below((radians + TAU) * self.per_radian, 3 * self.columns);
        let (first, last) = (column(spot.radians - radians), column(spot.radians + radians));
        let begin = self.within_circle(first);
        let end = begin + (last + 1 - first);
        if end <= self.columns {
            return meet(self.run(row, begin..end));
        }
        meet(self.run(row, begin..self.columns));
        meet(self.run(row, 0..end - self.columns))
    }

    /// How far a magnitude is from those of a row, less what is rounded, squared.
    #[inline]
    fn squared_gap_to_row(&self, magnitude: f64, row: usize) -> f64 {
        let (inner, outer) = self.radii[row];
        let gap = larger(inner - magnitude, magnitude - outer) - ROUNDING * magnitude;
        let gap = larger(0.0, gap) * (1.0 - 1e-9);
        gap * gap
    }

    #[inline]
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
    #[inline]
    fn runs(&self, row: usize, (first, columns): (usize, usize)) -> [&[Point]; 2] {
        let end = first + columns;
        [self.run(row, first..end.min(self.columns)), self.run(row, 0..end.saturating_sub(self.columns))]
    }

    /// The points of neighbouring cells of a row.
    #[inline]
    fn run(&self, row: usize, columns: Range<usize>) -> &[Point] {
        let cell = row * self.columns;
        let (start, end) = (self.first[cell + columns.start], self.first[cell + columns.end]);
        &self.points[start as usize..end as usize]
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
mod planes {
    use num_complex::Complex64;

    /// A fixed sequence of even numbers in 0..1 (the 64-bit linear congruence of Knuth's MMIX).
    pub(super) struct Sequence(pub u64);

    impl Sequence {
        pub(super) fn next(&mut self) -> f64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 11) as f64 / (1_u64 << 53) as f64
        }
    }

    /// Planes of several shapes: spread in gain and phase, on a ring, on a line, in a lattice with ties, with dead states.
    pub(super) fn planes(sequence: &mut Sequence) -> Vec<Vec<Complex64>> {
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
        // A crowd of far more than are listed around a place, every state of it twice, among others.
        let crowd: Vec<Complex64> =
            (0..60).map(|_| polar(-5.0 + 0.05 * sequence.next(), 0.4 * sequence.next())).collect();
        let others = (0..200).map(|_| polar(-31.5 * sequence.next(), 360.0 * sequence.next()));
        planes.push(crowd.iter().copied().chain(others).chain(crowd.iter().copied()).collect());
        planes.push((0..400).map(|k| polar(-0.5 * f64::from(k / 40), 9.0 * f64::from(k % 20))).collect());
        planes
    }
}

#[cfg(test)]
mod tests {
    use super::planes::{Sequence, planes};
    use super::*;

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
