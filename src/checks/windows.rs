//! The windows of a sweep in which evidence is summed.

/// Windows that divide a grid, the first of them short: what has not settled shows at the start of a sweep.
///
/// They depend on the number of points alone, so that every worker cuts its share in the same places.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Windows {
    /// First point of each window, ascending from 0.
    starts: Vec<usize>,
    points: usize,
}

impl Windows {
    /// Points of the first window.
    const FIRST: usize = 4;
    /// No window is much longer than the grid over this.
    const LONG: usize = 8;

    /// The windows of a grid: 4, 4, 8, 16 … points until they are as long as an eighth of the grid, then equal ones.
    pub fn of(points: usize) -> Self {
        let long = (points / Self::LONG).max(Self::FIRST);
        let mut starts = vec![0];
        let mut end = Self::FIRST;
        while 2 * end <= points && starts.last().is_some_and(|last| end - last < long) {
            starts.push(end);
            end *= 2;
        }
        let last = starts.last().copied().unwrap_or(0);
        let rest = points.saturating_sub(last);
        let equal = (rest / long).max(1);
        starts.extend((1..equal).map(|index| last + rest * index / equal));
        Self { starts, points }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.starts.len()
    }

    /// The window that holds a point.
    pub fn of_point(&self, point: usize) -> usize {
        self.starts.partition_point(|&start| start <= point).saturating_sub(1)
    }

    /// The points of a window.
    pub fn points(&self, window: usize) -> std::ops::Range<usize> {
        let end = self.starts.get(window + 1).copied().unwrap_or(self.points);
        self.starts.get(window).copied().unwrap_or(end)..end
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counted by hand.
    #[test]
    fn windows_double_and_then_go_on_evenly() {
        assert_eq!(Windows::of(41).starts, [0, 4, 8, 13, 19, 24, 30, 35]);
        assert_eq!(Windows::of(401).starts, [0, 4, 8, 16, 32, 64, 120, 176, 232, 288, 344]);
        assert_eq!(Windows::of(3).starts, [0]);
    }

    #[test]
    fn every_point_is_in_one_window() {
        for points in [1, 2, 7, 8, 9, 16, 41, 101, 161, 201, 401, 1601] {
            let windows = Windows::of(points);
            let all: Vec<usize> = (0..windows.count()).flat_map(|window| windows.points(window)).collect();
            assert_eq!(all, (0..points).collect::<Vec<_>>());
            assert!(all.iter().all(|&point| windows.points(windows.of_point(point)).contains(&point)));
            assert!((0..windows.count()).all(|window| !windows.points(window).is_empty()));
        }
    }
}
