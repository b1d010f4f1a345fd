//! The nearest state to any place in the plane, exactly; for settings of a part `Cells` finds it sooner.

use super::bits_changed;
use super::cells::TIE;
use crate::control::Word;
use num_complex::Complex64;

/// One frequency's states, sorted so that the nearest to any target is found without looking at most of them.
///
/// The plane is cut into rings that hold equally many states, and each ring is sorted by angle. The states of a part
/// that sets gain and phase lie evenly along both, which columns and rows do not follow: near the origin they would
/// be crowded, and far from it empty. Both cuts follow the states, so clusters, repeated states and far-out ones cost
/// little, and targets may lie anywhere.
///
/// What is passed over is passed over for a reason: a state at radius r is at least | r − |t| | from a target t, and
/// one whose angle differs from the target's by δ is at least |t|·sin δ away, or |t| from a right angle on.
#[derive(Clone, Debug)]
pub struct Finder<'a> {
    words: &'a [Word],
    states: &'a [Complex64],
    /// States ring by ring, counter-clockwise within a ring from the negative real axis.
    points: Vec<Point>,
    /// The inner radius of each ring: the smallest in it.
    inner: Vec<f64>,
    /// The outer radius of each ring: the largest in it.
    outer: Vec<f64>,
    per_ring: usize,
    /// Where each state stands among the points.
    standing: Vec<u32>,
}

#[derive(Clone, Copy, Debug)]
struct Point {
    value: Complex64,
    radius: f64,
    turn: f64,
    state: u32,
}

/// A number that grows with the angle of a value from −2 at −180° to 2 at 180°, without trigonometry.
fn turn(value: Complex64) -> f64 {
    let size = value.re.abs() + value.im.abs();
    let from_real_axis = if size > 0.0 { 1.0 - value.re / size } else { 0.0 };
    from_real_axis.copysign(value.im)
}

/// A target and how far around it states still matter.
struct Search {
    target: Complex64,
    radius: f64,
    /// The squared distance within which states still matter.
    limit: f64,
    /// The distance itself, widened so that rounding of a bound cannot hide a state.
    reach: f64,
}

impl Search {
    fn new(target: Complex64, limit: f64) -> Self {
        let mut search = Self { target, radius: target.norm_sqr().sqrt(), limit, reach: 0.0 };
        search.narrow(limit);
        search
    }

    fn narrow(&mut self, limit: f64) {
        self.limit = limit;
        self.reach = limit.sqrt() * (1.0 + 4.0 * f64::EPSILON) + 8.0 * f64::EPSILON * self.radius;
    }

    /// Whether no state at the angle of `point`, nor any farther from the target's angle, is within reach.
    fn turned_past(&self, point: &Point) -> bool {
        let (t, z) = (self.target, point.value);
        // A state at the origin has no angle and ends no walk.
        if t.re * z.re + t.im * z.im >= 0.0 {
            (t.re * z.im - t.im * z.re).abs() > self.reach * point.radius
        } else {
            self.radius > self.reach
        }
    }

    fn meet(&mut self, point: &Point, meet: &mut impl FnMut(&Point, f64) -> f64) {
        let limit = meet(point, (point.value - self.target).norm_sqr());
        if limit < self.limit {
            self.narrow(limit);
        }
    }
}

impl<'a> Finder<'a> {
    /// Sorts the states; `states[p]` is the place of the state at position `p`, divided by a reference or not, and
    /// `words[p]` its word. States whose place is not finite are never found.
    pub fn new(states: &'a [Complex64], words: &'a [Word]) -> Self {
        let point = |(state, &value): (u32, &Complex64)| Point {
            value,
            radius: value.norm_sqr().sqrt(),
            turn: turn(value),
            state,
        };
        let mut points: Vec<Point> =
            (0_u32..).zip(states).filter(|(_, value)| value.is_finite()).map(point).collect();
        points.sort_unstable_by(|a, b| a.radius.total_cmp(&b.radius));
        let per_ring = points.len().isqrt().max(1);
        let (mut inner, mut outer) = (Vec::new(), Vec::new());
        for ring in points.chunks_mut(per_ring) {
            inner.push(ring[0].radius);
            outer.push(ring[ring.len() - 1].radius);
            ring.sort_unstable_by(|a, b| a.turn.total_cmp(&b.turn));
        }
        let mut standing = vec![0; states.len()];
        for (at, point) in (0_u32..).zip(&points) {
            standing[point.state as usize] = at;
        }
        Self { words, states, points, inner, outer, per_ring, standing }
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
        let state_beside = beside.and_then(|state| self.states.get(state as usize));
        let squared =
            state_beside.map(|state| (state - target).norm_sqr()).filter(|squared| squared.is_finite());
        // Widened, so that rounding cannot hide the state itself.
        let limit = squared.map_or(f64::INFINITY, |squared| squared * (1.0 + 4.0 * TIE));
        let start = self.start(target, beside);
        let mut nearest = Nearest { squared: f64::INFINITY, runner_up: f64::INFINITY, state: None };
        self.visit(start, target, limit, |point, squared| nearest.meet(point.state, squared).min(limit));
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
        self.visit(start, target, tied_up_to, |point, squared| {
            if squared <= tied_up_to {
                best = best.min((rank(point.state), point.state));
            }
            tied_up_to
        });
        Some(best.1)
    }

    /// Where the walk to a target's own ring and angle begins: at a state beside it, or at a guess.
    fn start(&self, target: Complex64, beside: Option<u32>) -> Start {
        let standing = beside.and_then(|state| self.standing.get(state as usize));
        if let Some(&at) = standing {
            return Start { ring: at as usize / self.per_ring, within: at as usize % self.per_ring };
        }
        let radius = target.norm_sqr().sqrt();
        let ring = self.inner.partition_point(|&inner| inner <= radius).saturating_sub(1);
        // A turn lies within −2 and 2, so this lies within the ring; one that is no number becomes 0.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let within = ((turn(target) + 2.0) / 4.0 * self.per_ring as f64) as usize;
        Start { ring, within }
    }

    /// Shows `meet` every state that may lie within the squared distance `limit`, nearest rings first. `meet`
    /// returns the limit to go on with, which may only shrink.
    fn visit(&self, start: Start, target: Complex64, limit: f64, mut meet: impl FnMut(&Point, f64) -> f64) {
        if self.inner.is_empty() {
            return;
        }
        let mut search = Search::new(target, limit);
        let (radius, target_turn) = (search.radius, turn(target));
        let home = foot(&self.inner, start.ring + 1, |&inner| inner <= radius).saturating_sub(1);
        let (mut inwards, mut outwards) = (home, home);
        let mut within = self.visit_ring(home, target_turn, start.within, &mut search, &mut meet);
        loop {
            // Rings ascend, so once one is out of reach on a side, so are all beyond it.
            let below = inwards.checked_sub(1).map(|ring| radius - self.outer[ring]);
            let above = self.inner.get(outwards + 1).map(|inner| inner - radius);
            let reach = search.reach;
            let ring = match (below.filter(|&gap| gap <= reach), above.filter(|&gap| gap <= reach)) {
                (Some(gap), other) if other.is_none_or(|above| gap <= above) => {
                    inwards -= 1;
                    inwards
                }
                (_, Some(_)) => {
                    outwards += 1;
                    outwards
                }
                _ => return,
            };
            within = self.visit_ring(ring, target_turn, within, &mut search, &mut meet);
        }
    }

    /// Walks a ring both ways from the target's angle, each way until the rest is turned past reach. Returns where in
    /// the ring that angle is, which is about where it is in the next ring.
    fn visit_ring(
        &self,
        ring: usize,
        target_turn: f64,
        guess: usize,
        search: &mut Search,
        meet: &mut impl FnMut(&Point, f64) -> f64,
    ) -> usize {
        let first = ring * self.per_ring;
        let points = &self.points[first..self.points.len().min(first + self.per_ring)];
        let within = foot(points, guess, |point| point.turn < target_turn);
        let mut left = points.len();
        let mut at = within;
        while left > 0 {
            at = if at == points.len() { 0 } else { at };
            if search.turned_past(&points[at]) {
                break;
            }
            search.meet(&points[at], meet);
            at += 1;
            left -= 1;
        }
        let mut at = within;
        while left > 0 {
            at = if at == 0 { points.len() - 1 } else { at - 1 };
            if search.turned_past(&points[at]) {
                break;
            }
            search.meet(&points[at], meet);
            left -= 1;
        }
        within
    }
}

/// A place to begin at, which saves steps and changes no answer.
#[derive(Clone, Copy)]
struct Start {
    ring: usize,
    /// How far into the ring.
    within: usize,
}

/// What `partition_point` finds, walked to from a guess that is mostly right or nearly so.
fn foot<T>(sorted: &[T], guess: usize, below: impl Fn(&T) -> bool) -> usize {
    let mut at = guess.min(sorted.len());
    while at < sorted.len() && below(&sorted[at]) {
        at += 1;
    }
    while at > 0 && !below(&sorted[at - 1]) {
        at -= 1;
    }
    at
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
