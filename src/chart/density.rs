//! Thousands of traces as a density: how many of them pass through each pixel.
//!
//! A column's counts depend on the traces inside that column alone, so columns may be counted anywhere, in any order
//! and by anyone who holds the frequencies around them, and the sum is the same to the last count.

use super::{Axis, ChartError, Paper, density_colour};
use std::ops::Range;

/// What the values are, which decides how a trace runs between two frequencies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Values {
    /// Plain values such as decibels: a trace runs straight.
    Plain,
    /// Degrees in (−180°, +180°]: a trace takes the shorter way round, leaving at one edge and coming back at the
    /// other, never straight across.
    WrappedDegrees,
}

/// The traces at neighbouring frequencies, frequency-major: all states at one frequency lie together.
#[derive(Clone, Copy, Debug)]
pub struct Slabs<'a> {
    /// Grid index of the first frequency in `values`.
    pub first_frequency: usize,
    /// Number of traces (states).
    pub traces: usize,
    /// `values[(frequency − first_frequency)·traces + trace]`; a trace has a gap where it is not finite.
    pub values: &'a [f64],
    /// What the values are.
    pub kind: Values,
}

impl Slabs<'_> {
    fn frequencies(&self) -> Range<usize> {
        let count = self.values.len().checked_div(self.traces).unwrap_or(0);
        self.first_frequency..self.first_frequency + count
    }

    fn slab(&self, frequency: usize) -> &[f64] {
        let start = (frequency - self.first_frequency) * self.traces;
        &self.values[start..start + self.traces]
    }
}

/// Counts of traces per pixel.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct DensityRaster {
    width: usize,
    height: usize,
    counts: Vec<u32>,
}

/// The columns that the holder of these grid frequencies counts: those whose left edge lies from its first frequency up
/// to the first one of the next holder. Together the holders count every column once.
///
/// `column_px` places every frequency of the grid, ascending, in pixels from the raster's left edge.
pub fn columns_of(column_px: &[f64], frequencies: Range<usize>, width: usize) -> Range<usize> {
    let edge = |frequency: usize| match column_px.get(frequency) {
        _ if frequency == 0 => 0,
        Some(px) => pixel(px.ceil()).min(width),
        None => width,
    };
    edge(frequencies.start)..edge(frequencies.end).max(edge(frequencies.start))
}

/// The grid frequencies that decide these columns, for the holder to ask for: from the last one at or left of the
/// columns to the first one at or right of them. Empty where there are no columns or no frequencies.
pub fn frequencies_for(column_px: &[f64], columns: &Range<usize>) -> Range<usize> {
    if columns.is_empty() || column_px.is_empty() {
        return 0..0;
    }
    let (left, right) = (columns.start as f64, columns.end as f64);
    let first = column_px.partition_point(|&px| px <= left).saturating_sub(1);
    let end = column_px.partition_point(|&px| px < right) + 1;
    first..end.min(column_px.len())
}

impl DensityRaster {
    /// A raster without traces.
    pub fn new(width: usize, height: usize) -> Self {
        Self { width, height, counts: vec![0; width * height] }
    }

    /// Width and height in pixels.
    pub fn size(&self) -> (usize, usize) {
        (self.width, self.height)
    }

    /// Counts, row by row from the top, each row from the left.
    pub fn counts(&self) -> &[u32] {
        &self.counts
    }

    /// Adds traces to a range of columns. Each trace counts once in every pixel of a column that it passes, so that a
    /// steep stretch is as visible as a level one.
    ///
    /// `column_px` places every frequency of the grid (ascending) in pixels from the left edge; `vertical` runs
    /// linearly from the bottom edge to the top. `slabs` must hold [`frequencies_for`] these columns.
    pub fn accumulate(
        &mut self,
        columns: Range<usize>,
        column_px: &[f64],
        vertical: Axis,
        slabs: &Slabs,
    ) -> Result<(), ChartError> {
        let columns = columns.start.min(self.width)..columns.end.min(self.width);
        let needed = frequencies_for(column_px, &columns);
        let held = slabs.frequencies();
        if needed.is_empty() || slabs.traces == 0 {
            return Ok(());
        }
        if needed.start < held.start || needed.end > held.end {
            return Err(ChartError::FrequenciesMissing { first: needed.start, last: needed.end - 1 });
        }
        let mut walk = Walk::new(column_px, slabs);
        let mut rows = Rows::new(self.height, vertical);
        for column in columns {
            walk.cross(column, &mut rows);
            let mut passing = 0;
            for (row, change) in rows.changes[..self.height].iter_mut().enumerate() {
                passing += std::mem::take(change);
                self.counts[row * self.width + column] += passing.unsigned_abs();
            }
        }
        Ok(())
    }

    /// Adds another raster of the same size.
    pub fn add(&mut self, other: &Self) -> Result<(), ChartError> {
        if self.size() != other.size() {
            return Err(ChartError::SizesDiffer { one: self.size(), other: other.size() });
        }
        for (count, more) in self.counts.iter_mut().zip(&other.counts) {
            *count += more;
        }
        Ok(())
    }

    /// Screen bytes, four a pixel (red, green, blue, opacity); pixels without a trace are clear.
    ///
    /// `traces` is the count that takes the full colour, normally the number of states, so that a colour means the same
    /// number in every plot of a run.
    pub fn to_rgba(&self, paper: Paper, traces: u32) -> Vec<u8> {
        let shades: Vec<[u8; 4]> = (0..=traces.max(1))
            .map(|count| {
                let colour = density_colour(paper, density_fraction(count, traces));
                [colour.0, colour.1, colour.2, if count == 0 { 0 } else { 255 }]
            })
            .collect();
        let full = shades.len() - 1;
        self.counts.iter().flat_map(|&count| shades[(count as usize).min(full)]).collect()
    }
}

/// Up to so many traces a single one is told from the paper as a line of a drawing is.
const FEW_TRACES: f64 = 128.0;

/// From so many traces on the ramp is kept whole for what lies upon one another.
const MANY_TRACES: f64 = 1024.0;

/// Where on the ramp a colour stands out from the paper by 3 : 1, which WCAG 2.2, criterion 1.4.11, asks of drawings.
const STANDS_OUT: f64 = 0.42;

/// Where a count stands on the colour ramp: logarithmic, 1 for all traces; one trace at its foot where there are many, and
/// higher where there are few, which are looked at one by one.
pub(super) fn density_fraction(count: u32, traces: u32) -> f64 {
    if traces <= 1 {
        return 1.0;
    }
    let all = f64::from(traces);
    let few = ((MANY_TRACES / all).ln() / (MANY_TRACES / FEW_TRACES).ln()).clamp(0.0, 1.0);
    let foot = STANDS_OUT * few;
    let part = (f64::from(count.max(1)).ln() / all.ln()).min(1.0);
    foot + (1.0 - foot) * part
}

/// The extent of every trace in one column after another.
struct Walk<'a> {
    column_px: &'a [f64],
    slabs: &'a Slabs<'a>,
    /// Where each trace has got to; wrapped degrees are followed beyond ±180°.
    at: Vec<f64>,
    /// Raw values at the last column's right edge, and which column begins there.
    edge: Vec<f64>,
    edge_column: Option<usize>,
    /// Extents in the column so far; +∞ and −∞ where a trace has no value yet.
    lowest: Vec<f64>,
    highest: Vec<f64>,
}

impl<'a> Walk<'a> {
    fn new(column_px: &'a [f64], slabs: &'a Slabs<'a>) -> Self {
        let empty = || vec![f64::NAN; slabs.traces];
        let (at, edge, lowest, highest) = (empty(), empty(), empty(), empty());
        Self { column_px, slabs, at, edge, edge_column: None, lowest, highest }
    }

    /// Notes the rows that every trace covers between a column's edges.
    fn cross(&mut self, column: usize, rows: &mut Rows) {
        let (left, right) = (column as f64, (column + 1) as f64);
        if self.edge_column != Some(column) {
            let mut edge = std::mem::take(&mut self.edge);
            self.values_at(left, &mut edge);
            self.edge = edge;
        }
        std::mem::swap(&mut self.at, &mut self.edge);
        let extents = self.lowest.iter_mut().zip(&mut self.highest);
        for (&at, (lowest, highest)) in self.at.iter().zip(extents) {
            *lowest = if at.is_nan() { f64::INFINITY } else { at };
            *highest = if at.is_nan() { f64::NEG_INFINITY } else { at };
        }
        let first = self.column_px.partition_point(|&px| px <= left);
        let end = self.column_px.partition_point(|&px| px < right);
        for frequency in first..end {
            self.visit(frequency);
        }
        let mut edge = std::mem::take(&mut self.edge);
        self.values_at(right, &mut edge);
        self.edge = edge;
        self.edge_column = Some(column + 1);
        self.cover(rows);
    }

    /// Extends every trace to its value at a frequency.
    fn visit(&mut self, frequency: usize) {
        let slab = self.slabs.slab(frequency);
        let extents = self.lowest.iter_mut().zip(&mut self.highest);
        let traces = self.at.iter_mut().zip(slab).zip(extents);
        match self.slabs.kind {
            Values::Plain => {
                for ((at, &value), (lowest, highest)) in traces {
                    *at = value;
                    extend(lowest, highest, value);
                }
            }
            Values::WrappedDegrees => {
                for ((at, &value), (lowest, highest)) in traces {
                    *at = follow(*at, value);
                    extend(lowest, highest, *at);
                }
            }
        }
    }

    /// Extends every trace to the column's right edge and notes its rows.
    fn cover(&self, rows: &mut Rows) {
        let extents = self.lowest.iter().zip(&self.highest);
        let traces = self.at.iter().zip(&self.edge).zip(extents);
        match self.slabs.kind {
            Values::Plain => {
                for ((_, &edge), (&lowest, &highest)) in traces {
                    let (mut low, mut high) = (lowest, highest);
                    extend(&mut low, &mut high, edge);
                    rows.cover(low, high);
                }
            }
            Values::WrappedDegrees => {
                for ((&at, &edge), (&lowest, &highest)) in traces {
                    let (mut low, mut high) = (lowest, highest);
                    extend(&mut low, &mut high, follow(at, edge));
                    rows.cover(low, high);
                    if low < -180.0 || high > 180.0 {
                        rows.cover_other_turn(low, high);
                    }
                }
            }
        }
    }

    /// Values where the traces cross a column's edge; NaN outside the grid and in gaps.
    fn values_at(&self, edge_px: f64, values: &mut [f64]) {
        let after = self.column_px.partition_point(|&px| px <= edge_px);
        let Some(before) = after.checked_sub(1) else {
            values.fill(f64::NAN);
            return;
        };
        let start = self.column_px[before];
        if start == edge_px {
            values.copy_from_slice(self.slabs.slab(before));
            return;
        }
        if after == self.column_px.len() {
            values.fill(f64::NAN);
            return;
        }
        let part = (edge_px - start) / (self.column_px[after] - start);
        let pairs = self.slabs.slab(before).iter().zip(self.slabs.slab(after));
        match self.slabs.kind {
            Values::Plain => {
                for (value, (&from, &to)) in values.iter_mut().zip(pairs) {
                    *value = from + (to - from) * part;
                }
            }
            Values::WrappedDegrees => {
                for (value, (&from, &to)) in values.iter_mut().zip(pairs) {
                    *value = from + shorter_way(to - from) * part;
                }
            }
        }
    }
}

/// Widens an extent to a value; what is not a number widens nothing.
fn extend(lowest: &mut f64, highest: &mut f64, value: f64) {
    *lowest = if value < *lowest { value } else { *lowest };
    *highest = if value > *highest { value } else { *highest };
}

/// The turn of `value` nearest to where the trace is; after a gap the value itself.
fn follow(at: f64, value: f64) -> f64 {
    if at.is_nan() { value } else { at + shorter_way(value - at) }
}

/// The difference of two angles as the shorter way round, for differences up to a turn and a half.
fn shorter_way(difference_deg: f64) -> f64 {
    let up = if difference_deg < -180.0 { 360.0 } else { 0.0 };
    let down = if difference_deg > 180.0 { 360.0 } else { 0.0 };
    difference_deg + up - down
}

/// Where values fall on the rows of a raster, and which rows change their count where.
struct Rows {
    top_value: f64,
    per_unit: f64,
    changes: Vec<i32>,
}

impl Rows {
    fn new(height: usize, vertical: Axis) -> Self {
        Self {
            top_value: vertical.high,
            per_unit: height as f64 / (vertical.high - vertical.low),
            changes: vec![0; height + 1],
        }
    }

    /// Notes that a trace covers the rows from `high` down to `low`.
    fn cover(&mut self, low: f64, high: f64) {
        let height = self.changes.len() - 1;
        let top = (self.top_value - high) * self.per_unit;
        let bottom = (self.top_value - low) * self.per_unit;
        // False too for a trace without values here, whose top is below its bottom.
        if bottom >= 0.0 && top <= height as f64 && top <= bottom && height > 0 {
            self.changes[pixel(top).min(height - 1)] += 1;
            self.changes[pixel(bottom).min(height - 1) + 1] -= 1;
        }
    }

    /// Notes the part of a wrapped trace beyond ±180°, brought back by a turn, where it does not meet what is noted
    /// already.
    #[cold]
    fn cover_other_turn(&mut self, low: f64, high: f64) {
        // One row apart, so that the two parts never count the same pixel.
        let row = 1.0 / self.per_unit;
        if low < -180.0 {
            self.cover((low + 360.0).max(high + row), 180.0);
        }
        if high > 180.0 {
            self.cover(-180.0, (high - 360.0).min(low - row));
        }
    }
}

/// The pixel that a position lies in; 0 left of or above the raster.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast saturates")]
fn pixel(px: f64) -> usize {
    // By way of 32 bits, which processors convert to in one step.
    px as u32 as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Theme;
    use crate::chart::colour::contrast;

    #[test]
    fn a_single_trace_of_few_stands_out_and_of_many_leaves_the_ramp_whole() {
        for theme in [Theme::LIGHT, Theme::DARK, Theme::PRINT] {
            for traces in [1, 2, 16, 64, 128] {
                let lone = density_colour(theme.paper_kind, density_fraction(1, traces));
                assert!(contrast(lone, theme.paper) >= 3.0, "{traces} traces: {lone:?} on {:?}", theme.paper);
            }
        }
        assert_eq!(density_fraction(1, 4096), 0.0);
        for traces in [2, 64, 500, 4096] {
            let fractions: Vec<f64> = (1..=traces).map(|count| density_fraction(count, traces)).collect();
            assert!(fractions.windows(2).all(|pair| pair[0] < pair[1]), "{traces}");
            assert!((fractions[fractions.len() - 1] - 1.0).abs() < 1e-12);
        }
    }
}
