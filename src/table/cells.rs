//! One frequency's states in cells of equal height in decibels and equal width in degrees.
//!
//! Targets and states of a part lie evenly in these two, so a target's neighbours are in the few cells around it. Beside
//! the nearest state a search tells how far every other one is at least, and all states in a rectangle of gain and phase
//! can be visited; `Finder` offers neither.

use super::bits_changed;
use crate::control::Word;
use crate::plane::PreparedTarget;
use num_complex::Complex64;
use std::f64::consts::{FRAC_PI_2, TAU};
use std::ops::Range;

/// Two squared distances count as equal when they agree to this part of the larger.
pub(super) const TIE: f64 = 1e-12;

/// A search looks so much farther than the nearest state lies, so that the answer stands while the spot moves a little.
const WIDER: f64 = 1.1;

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
    /// Smallest and largest magnitude of each row's states; its edges where it has none.
    radii: Vec<(f64, f64)>,
}

#[derive(Clone, Copy, Debug)]
struct Point {
    value: Complex64,
    state: u32,
}

/// A place in the plane as the cells need it.
#[derive(Clone, Copy, Debug)]
pub struct Spot {
    value: Complex64,
    magnitude: f64,
    nepers: f64,
    /// Within [0, 2π).
    radians: f64,
}

impl Spot {
    /// Any place but the origin.
    pub fn of(value: Complex64) -> Self {
        Self {
            value,
            magnitude: value.norm(),
            nepers: value.norm().ln(),
            radians: value.arg().rem_euclid(TAU),
        }
    }

    /// Where a target lies among states that are not divided by the reference yet, `reference` being its spot; costs no
    /// trigonometry.
    pub fn under(target: &PreparedTarget, reference: &Self) -> Self {
        let radians = target.phase_deg.to_radians() + reference.radians;
        Self {
            value: target.gain * reference.value,
            magnitude: reference.magnitude / target.inverse_magnitude,
            nepers: target.gain_db * NEPERS_PER_DB + reference.nepers,
            radians: radians - TAU * (radians / TAU).floor(),
        }
    }
}

/// ln10/20: nepers in a decibel.
pub(super) const NEPERS_PER_DB: f64 = std::f64::consts::LN_10 / 20.0;

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
    /// Sorts the states; `states[p]` is the place of the state at position `p`, divided by a reference or not, and
    /// `words[p]` its word. States whose place is not finite are never found.
    pub fn new(states: &'a [Complex64], words: &'a [Word]) -> Self {
        let spots: Vec<(u32, Spot)> = (0_u32..)
            .zip(states)
            .filter(|(_, value)| value.is_finite())
            .map(|(state, value)| (state, Spot::of(*value)))
            .collect();
        let count = spots.len().max(1) as f64;
        // A few states without transmission must not stretch the rows.
        let mut nepers: Vec<f64> =
            spots.iter().map(|(_, spot)| spot.nepers).filter(|nepers| nepers.is_finite()).collect();
        nepers.sort_unstable_by(f64::total_cmp);
        let trimmed = nepers.len() / 50;
        let (lowest, highest) = match nepers.get(trimmed..nepers.len() - trimmed) {
            Some([first, .., last]) => (*first, *last),
            Some([only]) => (*only, *only),
            _ => (0.0, 0.0),
        };
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
            radii: vec![(f64::INFINITY, f64::NEG_INFINITY); rows],
        };
        let cell_of: Vec<usize> = spots
            .iter()
            .map(|(_, spot)| cells.row(spot.nepers) * columns + cells.column(spot.radians))
            .collect();
        for &cell in &cell_of {
            cells.first[cell + 1] += 1;
        }
        for cell in 1..cells.first.len() {
            cells.first[cell] += cells.first[cell - 1];
        }
        let mut next = cells.first.clone();
        cells.points = vec![Point { value: Complex64::ZERO, state: 0 }; spots.len()];
        for ((state, spot), cell) in spots.iter().zip(cell_of) {
            cells.points[next[cell] as usize] = Point { value: spot.value, state: *state };
            next[cell] += 1;
            let (inner, outer) = &mut cells.radii[cell / columns];
            (*inner, *outer) = (inner.min(spot.magnitude), outer.max(spot.magnitude));
        }
        let edge = |row: usize| (lowest + row as f64 * height).exp();
        for (row, radii) in cells.radii.iter_mut().enumerate().filter(|(_, (inner, outer))| inner > outer) {
            *radii = (edge(row), edge(row + 1));
        }
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
        whole_below((nepers - self.lowest) / self.height, self.rows)
    }

    fn column(&self, radians: f64) -> usize {
        whole_below(radians / self.width, self.columns)
    }

    /// The nearest state, by the rule of [`Finder::nearest`](super::Finder::nearest): of states equally near the one whose
    /// word changes fewer bits from `nominal_word`, then the lower word. `None` where there are no states.
    pub fn near(&self, spot: &Spot, nominal_word: Option<Word>) -> Option<Near> {
        Some(self.near_and_block(spot, nominal_word, None)?.0)
    }

    /// The same, with the cells that hold it, to be [searched again](Self::near_in) while the spot moves little; no cells
    /// where there are none near. The closer the state `beside` is, the fewer others are looked at; the answer does not
    /// depend on it.
    pub(super) fn near_and_block(
        &self,
        spot: &Spot,
        nominal_word: Option<Word>,
        beside: Option<u32>,
    ) -> Option<(Near, Block)> {
        if self.points.is_empty() {
            return None;
        }
        let block = self.block(spot, 1);
        let mut two = Two::NONE;
        self.visit(&block, |point| two.meet(point, spot.value));
        // Less than the border by more than is rounded, so that no tied state is outside.
        let covered = block.border * (1.0 - 1e-9);
        if two.squared <= covered * covered && !two.tied() {
            let (distance, others) = (two.squared.sqrt(), two.runner_up.sqrt().min(covered));
            return Some((Near { state: two.state, distance, others }, block));
        }
        let away = |state: u32| (self.states[state as usize] - spot.value).norm_sqr();
        let beside = beside.map(away).filter(|squared| squared.is_finite());
        let mut within = two.squared.min(beside.unwrap_or(f64::INFINITY));
        let mut reach = 1;
        while within == f64::INFINITY {
            reach *= 2;
            let block = self.block(spot, reach);
            self.visit(&block, |point| within = within.min((point.value - spot.value).norm_sqr()));
        }
        Some((self.near_within(spot, nominal_word, within.sqrt()), Block::NONE))
    }

    /// The nearest state, which is known to be no farther than `within`.
    fn near_within(&self, spot: &Spot, nominal_word: Option<Word>, within: f64) -> Near {
        let mut two = Two::NONE;
        self.visit_disc(spot, WIDER * within, |point| {
            two.meet(point, spot.value);
            WIDER * two.squared.sqrt()
        });
        let distance = two.squared.sqrt();
        if !two.tied() {
            return Near {
                state: two.state,
                distance,
                others: two.runner_up.sqrt().min(WIDER * distance * (1.0 - 1e-9)),
            };
        }
        let mut best = (u32::MAX, Word(u32::MAX), two.state);
        self.visit_disc(spot, WIDER * distance, |point| {
            if (point.value - spot.value).norm_sqr() <= two.tied_up_to() {
                let word = self.words[point.state as usize];
                let changed = nominal_word.map_or(0, |nominal| bits_changed(nominal, word));
                best = best.min((changed, word, point.state));
            }
            WIDER * distance
        });
        Near { state: best.2, distance, others: distance }
    }

    /// Shows `meet` every state within a distance of a spot, and some beyond. `meet` returns the distance to go on with, which
    /// may only shrink.
    ///
    /// Two places at radii r and m whose angles differ by b are √((r − m)² + 4·r·m·sin²(b/2)) apart (law of cosines).
    fn visit_disc(&self, spot: &Spot, within: f64, mut meet: impl FnMut(&Point) -> f64) {
        let mut within = within;
        let home = self.row(spot.nepers);
        let column = (spot.radians / self.width).floor();
        let mut visit_row = |row: usize, within: &mut f64| {
            let gap = self.gap_to_row(spot.magnitude, row);
            let room = *within * *within - gap * gap;
            if room < 0.0 {
                return;
            }
            let half_sine = (room / (4.0 * self.radii[row].0 * spot.magnitude)).sqrt() * (1.0 + 1e-9);
            // The arc sine of s is at most s + (π/2 − 1)·s³ from 0 to 1.
            let radians = 2.0 * (half_sine + (FRAC_PI_2 - 1.0) * half_sine.powi(3));
            let inside = spot.radians - column * self.width;
            let back = ((radians - inside) / self.width).ceil().max(0.0);
            let on = ((inside + radians) / self.width).floor();
            let columns = if half_sine < 1.0 && back + on + 1.0 < self.columns as f64 {
                let first = column - back;
                let first = if first < 0.0 { first + self.columns as f64 } else { first };
                (whole_below(first, self.columns), whole_below(back + on, self.columns) + 1)
            } else {
                (0, self.columns)
            };
            self.visit_row(row, columns, |point| *within = within.min(meet(point)));
        };
        visit_row(home, &mut within);
        let (mut below, mut above) = (home, home);
        loop {
            let inwards = below.checked_sub(1).filter(|row| self.gap_to_row(spot.magnitude, *row) <= within);
            if let Some(row) = inwards {
                below = row;
                visit_row(row, &mut within);
            }
            let outwards = Some(above + 1).filter(|row| *row < self.rows);
            let outwards = outwards.filter(|row| self.gap_to_row(spot.magnitude, *row) <= within);
            if let Some(row) = outwards {
                above = row;
                visit_row(row, &mut within);
            }
            if inwards.is_none() && outwards.is_none() {
                return;
            }
        }
    }

    /// How far a magnitude is from those of a row.
    fn gap_to_row(&self, magnitude: f64, row: usize) -> f64 {
        let (inner, outer) = self.radii[row];
        (inner - magnitude).max(magnitude - outer).max(0.0) * (1.0 - 1e-9)
    }

    /// The nearest state of a block and how far every other state is at least, at a value that is `moved` away from the
    /// spot around which the block lies; `None` where it may lie outside of the block or is tied.
    pub(super) fn near_in(&self, block: &Block, moved: f64, value: Complex64) -> Option<Near> {
        let mut two = Two::NONE;
        self.visit(block, |point| two.meet(point, value));
        let covered = (block.border - moved) * (1.0 - 1e-9);
        let distance = two.squared.sqrt();
        let found = distance <= covered && !two.tied();
        found.then(|| Near { state: two.state, distance, others: two.runner_up.sqrt().min(covered) })
    }

    fn block(&self, spot: &Spot, reach: usize) -> Block {
        let (row, column) = (self.row(spot.nepers), self.column(spot.radians));
        let rows = row.saturating_sub(reach)..(row + reach + 1).min(self.rows);
        let edge = |row: usize| self.lowest + row as f64 * self.height;
        let below = if rows.start == 0 { f64::INFINITY } else { spot.nepers - edge(rows.start) };
        let above = if rows.end == self.rows { f64::INFINITY } else { edge(rows.end) - spot.nepers };
        let gap = below.min(above).max(0.0);
        // A state x nepers away is at least 1 − e^(−x) ≥ x/(1 + x) of the spot's magnitude away, since e^x ≥ 1 + x.
        let by_gain = if gap == f64::INFINITY { gap } else { gap / (1.0 + gap) };
        let (first_column, columns, by_phase) = if 2 * reach + 1 >= self.columns {
            (0, self.columns, f64::INFINITY)
        } else {
            let inside = spot.radians - column as f64 * self.width;
            let gap = reach as f64 * self.width + inside.min(self.width - inside);
            // A ray x radians away is at least sin x of the magnitude away, and sin x ≥ x − x³/6; from a quarter turn on,
            // the whole magnitude. At 1.5 the first is below it.
            let gap = gap.clamp(0.0, 1.5);
            ((column + self.columns - reach) % self.columns, 2 * reach + 1, gap - gap.powi(3) / 6.0)
        };
        let rows = (rows.start, rows.end);
        Block { rows, first_column, columns, border: spot.magnitude * by_gain.min(by_phase) }
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
    fn visit_row(&self, row: usize, (first, columns): (usize, usize), mut meet: impl FnMut(&Point)) {
        let end = first + columns;
        let points = self.run(row, first..end.min(self.columns));
        self.points[points.start as usize..points.end as usize].iter().for_each(&mut meet);
        if end > self.columns {
            let points = self.run(row, 0..end - self.columns);
            self.points[points.start as usize..points.end as usize].iter().for_each(&mut meet);
        }
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
        self.squared / (1.0 - TIE)
    }

    fn tied(&self) -> bool {
        self.runner_up <= self.tied_up_to()
    }
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
                let (_, block) = cells.near_and_block(&spot, nominal, None).expect("found before");
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
