//! Neighbouring frequencies of one kind, drawn as one piece.

use super::Plot;

/// The columns that each frequency owns: half-way to its neighbours.
pub(super) fn owned_columns(plot: &Plot, frequency_hz: &[f64]) -> Vec<(f64, f64)> {
    let columns: Vec<f64> = frequency_hz.iter().map(|&hz| plot.x_of(hz)).collect();
    let own = |(index, &x): (usize, &f64)| {
        let from = index.checked_sub(1).map_or(plot.area.left, |before| f64::midpoint(columns[before], x));
        let to = columns.get(index + 1).map_or(plot.area.right, |&after| f64::midpoint(x, after));
        (from.round(), to.round())
    };
    columns.iter().enumerate().map(own).collect()
}

/// Neighbours of the same kind as one run each: where it begins, where it ends, and its kind; what has none is left out.
pub(super) fn runs<K: PartialEq>(
    owned: &[(f64, f64)],
    kind: impl Iterator<Item = Option<K>>,
) -> Vec<(f64, f64, K)> {
    let mut runs: Vec<(f64, f64, K)> = Vec::new();
    let mut is_open = false;
    for (&(from, to), kind) in owned.iter().zip(kind) {
        let Some(kind) = kind else {
            is_open = false;
            continue;
        };
        match runs.last_mut() {
            Some((_, end, open)) if is_open && *open == kind => *end = to,
            _ => runs.push((from, to, kind)),
        }
        is_open = true;
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_of_one_kind_are_one_run_and_gaps_part_them() {
        let owned = [(0.0, 1.0), (1.0, 2.0), (2.0, 3.0), (3.0, 4.0), (4.0, 5.0)];
        let kinds = [Some('a'), Some('a'), None, Some('a'), Some('b')];
        assert_eq!(runs(&owned, kinds.into_iter()), [(0.0, 2.0, 'a'), (3.0, 4.0, 'a'), (4.0, 5.0, 'b')]);
        assert_eq!(runs::<char>(&[], [].into_iter()), []);
    }
}
