//! The density of traces: counted as a hand count would, and the same however the work is shared.

use crate::scenes::{gain_slabs, grid, phase_slabs};
use sweepfold::chart::{
    Axis, ChartError, DensityRaster, Paper, Slabs, Values, columns_of, density_colour, frequencies_for,
};

fn raster(
    size: (usize, usize),
    column_px: &[f64],
    range: (f64, f64),
    traces: usize,
    values: &[f64],
    kind: Values,
) -> DensityRaster {
    let mut raster = DensityRaster::new(size.0, size.1);
    let slabs = Slabs { first_frequency: 0, traces, values, kind };
    raster.accumulate(0..size.0, column_px, Axis::linear(range.0, range.1), &slabs).expect("all there");
    raster
}

fn column(raster: &DensityRaster, column: usize) -> Vec<u32> {
    raster.counts().iter().skip(column).step_by(raster.size().0).copied().collect()
}

/// Columns and rows worked out on squared paper: a level trace at 2.5, one from 0.5 to 4.5 over four columns, and one
/// that leaps from 0.5 to 4.5 within the second column.
#[test]
fn counts_are_those_of_squared_paper() {
    let px = [0.0, 1.25, 1.75, 4.0];
    let rising = |x: f64| 0.5 + x;
    let traces =
        [[2.5, 2.5, 2.5, 2.5], [rising(0.0), rising(1.25), rising(1.75), rising(4.0)], [0.5, 0.5, 4.5, 4.5]];
    let values: Vec<f64> = (0..4).flat_map(|frequency| traces.map(|trace| trace[frequency])).collect();
    let raster = raster((4, 5), &px, (0.0, 5.0), 3, &values, Values::Plain);
    // Rows from the top: values 4…5, 3…4, 2…3, 1…2, 0…1.
    assert_eq!(column(&raster, 0), [0, 0, 1, 1, 2]);
    assert_eq!(column(&raster, 1), [1, 1, 3, 2, 1]);
    assert_eq!(column(&raster, 2), [1, 1, 2, 0, 0]);
    assert_eq!(column(&raster, 3), [2, 1, 1, 0, 0]);
}

#[test]
fn a_steep_trace_covers_every_row_of_its_column_once() {
    // 64 frequencies within one column, up and down: still one trace.
    let px: Vec<f64> = (0..64).map(|index| f64::from(index) / 64.0).collect();
    let values: Vec<f64> = (0..64).map(|index| if index % 2 == 0 { 0.5 } else { 9.5 }).collect();
    let raster = raster((1, 10), &px, (0.0, 10.0), 1, &values, Values::Plain);
    assert_eq!(column(&raster, 0), [1; 10]);
}

/// From 170° to −170° is 20° upwards: out at the top edge, in at the bottom, nothing between.
#[test]
fn a_wrapped_trace_goes_the_shorter_way_round() {
    let raster = raster((2, 36), &[0.0, 2.0], (-180.0, 180.0), 1, &[165.0, -165.0], Values::WrappedDegrees);
    let mut left = [0; 36];
    left[0] = 1;
    left[1] = 1;
    // The left column ends at exactly 180°; the right one starts there and comes back in below.
    assert_eq!(column(&raster, 0), left);
    let right = column(&raster, 1);
    assert_eq!((right[34], right[35]), (1, 1));
    assert_eq!(right[1..34].iter().sum::<u32>(), 0, "{right:?}");
}

#[test]
fn plain_values_that_leap_are_joined_and_gaps_are_not() {
    let leap = raster((2, 10), &[0.0, 2.0], (0.0, 10.0), 1, &[0.5, 9.5], Values::Plain);
    assert_eq!(leap.counts().iter().sum::<u32>(), 11);
    let gap = raster((4, 10), &[0.0, 2.0, 4.0], (0.0, 10.0), 1, &[0.5, f64::NAN, 9.5], Values::Plain);
    assert_eq!(column(&gap, 0).iter().sum::<u32>(), 1);
    assert_eq!(column(&gap, 1).iter().sum::<u32>(), 0);
    assert_eq!(column(&gap, 2).iter().sum::<u32>(), 0);
    // The last frequency stands on the right edge of the last column.
    assert_eq!(column(&gap, 3).iter().sum::<u32>(), 1);
}

#[test]
fn traces_outside_the_range_are_cut_not_squeezed() {
    let outside =
        raster((1, 10), &[0.0, 1.0], (0.0, 10.0), 3, &[-5.0, 15.0, -5.0, -1.0, 11.0, 25.0], Values::Plain);
    assert_eq!(column(&outside, 0), [1; 10]);
}

/// Every way of sharing the grid gives what one worker alone gives, to the last count.
#[test]
fn shares_add_up_to_the_whole() {
    let traces = 300;
    for (count, width) in [(401, 700), (401, 210), (37, 500)] {
        let frequency_hz = grid(count);
        let px: Vec<f64> = (0..count).map(|index| width as f64 * index as f64 / (count - 1) as f64).collect();
        for (kind, range, values) in [
            (Values::Plain, (-22.0, 0.0), gain_slabs(&frequency_hz, traces)),
            (Values::WrappedDegrees, (-180.0, 180.0), phase_slabs(&frequency_hz, traces)),
        ] {
            let whole = raster((width, 300), &px, range, traces, &values, kind);
            assert!(whole.counts().iter().any(|&count| count > 1));
            for cuts in [vec![0, count], vec![0, 1, count], vec![0, 13, 14, count / 2, count - 1, count]] {
                let mut sum = DensityRaster::new(width, 300);
                let mut columns_done = 0;
                for share in cuts.windows(2).map(|pair| pair[0]..pair[1]) {
                    let columns = columns_of(&px, share.clone(), width);
                    assert_eq!(columns.start, columns_done);
                    columns_done = columns.end;
                    let needed = frequencies_for(&px, &columns);
                    let slabs = Slabs {
                        first_frequency: needed.start,
                        traces,
                        values: &values[needed.start * traces..needed.end * traces],
                        kind,
                    };
                    let mut part = DensityRaster::new(width, 300);
                    part.accumulate(columns, &px, Axis::linear(range.0, range.1), &slabs).expect("all there");
                    sum.add(&part).expect("one size");
                }
                assert_eq!(columns_done, width);
                assert!(sum == whole, "{count} frequencies, {width} columns, cut at {cuts:?}");
            }
        }
    }
}

#[test]
fn missing_frequencies_are_named() {
    let slabs = Slabs { first_frequency: 1, traces: 1, values: &[0.0, 0.0], kind: Values::Plain };
    let mut raster = DensityRaster::new(10, 10);
    let refused = raster.accumulate(0..10, &[0.0, 5.0, 10.0], Axis::linear(0.0, 1.0), &slabs);
    assert_eq!(refused, Err(ChartError::FrequenciesMissing { first: 0, last: 2 }));
    assert_eq!(
        raster.add(&DensityRaster::new(9, 10)),
        Err(ChartError::SizesDiffer { one: (10, 10), other: (9, 10) })
    );
}

#[test]
fn nothing_makes_nothing() {
    let empty = raster((10, 10), &[], (0.0, 1.0), 0, &[], Values::Plain);
    assert!(empty.counts().iter().all(|&count| count == 0));
    assert!(empty.to_rgba(Paper::Light, 0).chunks(4).all(|pixel| pixel[3] == 0));
}

#[test]
fn a_pixel_without_traces_is_clear_and_the_fullest_has_the_deepest_shade() {
    let level = raster((1, 2), &[0.0, 1.0], (0.0, 2.0), 5, &[0.5; 10], Values::Plain);
    let bytes = level.to_rgba(Paper::Light, 5);
    assert_eq!(bytes[3], 0);
    let full = density_colour(Paper::Light, 1.0);
    assert_eq!(bytes[4..8], [full.0, full.1, full.2, 255]);
}
