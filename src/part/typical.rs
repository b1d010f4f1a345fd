//! A typical curve that the user read off a data sheet: points of frequency and value.
//!
//! The table has a column `frequency_ghz` (or `_hz`, `_khz`, `_mhz`, or `frequency` with the unit in a column
//! `frequency_unit`) and a column `value`; the value's unit may stand in a column `unit`, a remark in `note`.

use super::typed_table::TypedTable;
use super::{TableError, TableErrorKind, Unit};
use crate::csv::push_number;
use serde::{Deserialize, Serialize};

/// A curve through points.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TypicalCurve {
    /// Frequency in hertz and value, at least one, frequencies strictly ascending.
    points: Vec<(f64, f64)>,
    /// What the values are counted in, where the table says it.
    pub unit: Option<Unit>,
}

impl TypicalCurve {
    /// Frequency in hertz and value of each point, ascending.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Checks that frequencies ascend and every value is a number. The error is a sentence.
    pub fn check(&self) -> Result<(), String> {
        let is_number = |&(hz, value): &(f64, f64)| hz.is_finite() && hz >= 0.0 && value.is_finite();
        let ascends = self.points.windows(2).all(|pair| pair[0].0 < pair[1].0);
        if self.points.is_empty() || !ascends || !self.points.iter().all(is_number) {
            return Err("A typical curve needs points of number against ascending frequency.".to_owned());
        }
        Ok(())
    }

    /// The value at a frequency, on the straight line between the points around it; `None` outside their span, since
    /// nothing is known there. A frequency a relative 1e-9 beyond an end takes the end's value.
    pub fn at(&self, frequency_hz: f64) -> Option<f64> {
        let (&first, &last) = (self.points.first()?, self.points.last()?);
        if frequency_hz < first.0 * (1.0 - 1e-9) || frequency_hz > last.0 * (1.0 + 1e-9) {
            return None;
        }
        let after = self.points.partition_point(|point| point.0 <= frequency_hz);
        let Some(&(low_hz, low)) = after.checked_sub(1).and_then(|before| self.points.get(before)) else {
            return Some(first.1);
        };
        let Some(&(high_hz, high)) = self.points.get(after) else { return Some(last.1) };
        Some(low + (high - low) * (frequency_hz - low_hz) / (high_hz - low_hz))
    }

    /// The curve on a grid; `None` outside its span.
    pub fn on(&self, frequency_hz: &[f64]) -> Vec<Option<f64>> {
        frequency_hz.iter().map(|&hz| self.at(hz)).collect()
    }

    /// Measured minus typical at each point of a grid; `None` outside the curve's span and where nothing was measured.
    pub fn difference(&self, frequency_hz: &[f64], measured: &[f64]) -> Vec<Option<f64>> {
        let one = |(&hz, &value): (&f64, &f64)| Some(value - self.at(hz)?).filter(|value| !value.is_nan());
        frequency_hz.iter().zip(measured).map(one).collect()
    }
}

/// Reads the points, in any order. Cells are separated as in the header: by commas, else by semicolons or tabs.
pub fn read_typical_curve(text: &str) -> Result<TypicalCurve, TableError> {
    let table = TypedTable::read(text, &["frequency"], &["value", "unit", "note"])?;
    table.need("frequency")?;
    table.need("value")?;
    let mut unit = None;
    let mut points = Vec::with_capacity(table.rows.len());
    for row in &table.rows {
        let empty = |name| table.error(row, name, TableErrorKind::EmptyCell);
        let frequency_hz = table.frequency_hz(row, "frequency")?.ok_or_else(|| empty("frequency"))?;
        let value = table.number(row, "value")?.ok_or_else(|| empty("value"))?;
        if points.iter().any(|point: &(f64, f64)| point.0 == frequency_hz) {
            return Err(table.error(row, "frequency", TableErrorKind::FrequencyTwice));
        }
        if let Some(found) = table.unit(row, "unit")? {
            let expected = *unit.get_or_insert(found);
            if found != expected {
                return Err(table.error(row, "unit", TableErrorKind::OtherUnit { found, expected }));
            }
        }
        points.push((frequency_hz, value));
    }
    if points.is_empty() {
        return Err(table.error_at_header(TableErrorKind::NoRows));
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(TypicalCurve { points, unit })
}

/// Writes the points, frequencies in gigahertz; [`read_typical_curve`] gives the same curve again.
pub fn write_typical_curve(curve: &TypicalCurve) -> String {
    let mut text = String::from("frequency_ghz,value,unit\n");
    for (frequency_hz, value) in &curve.points {
        push_number(&mut text, frequency_hz / 1e9);
        text.push(',');
        push_number(&mut text, *value);
        text.push(',');
        text.push_str(curve.unit.map_or("", Unit::name));
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: from 2 dB at 8 GHz to 3 dB at 10 GHz is 2.5 dB at 9 GHz.
    #[test]
    fn a_curve_is_straight_between_its_points_and_ends_at_its_ends() {
        let curve = read_typical_curve("Frequency (GHz);Value;Unit\n10;3,0;dB\n8;2,0;dB\n10,5;4;\n").unwrap();
        assert_eq!(curve.points(), [(8e9, 2.0), (10e9, 3.0), (10.5e9, 4.0)]);
        assert_eq!(curve.unit, Some(Unit::Decibel));
        let grid = [7.9e9, 8e9, 9e9, 10e9, 10.25e9, 10.5e9, 10.6e9];
        let expected = [None, Some(2.0), Some(2.5), Some(3.0), Some(3.5), Some(4.0), None];
        assert_eq!(curve.on(&grid), expected);
        let measured = [1.0, 2.25, f64::NAN, 2.0, 3.5, 4.0, 5.0];
        let difference = [None, Some(0.25), None, Some(-1.0), Some(0.0), Some(0.0), None];
        assert_eq!(curve.difference(&grid, &measured), difference);
        assert_eq!(curve.at(8e9 * (1.0 - 1e-10)), Some(2.0));
        assert_eq!(read_typical_curve(&write_typical_curve(&curve)), Ok(curve));
    }

    #[test]
    fn a_single_point_is_a_curve_at_its_frequency() {
        let curve = read_typical_curve("frequency,frequency_unit,value\n900,MHz,-1.5\n").unwrap();
        assert_eq!(curve.on(&[899e6, 900e6, 901e6]), [None, Some(-1.5), None]);
        assert_eq!(read_typical_curve(&write_typical_curve(&curve)), Ok(curve));
    }

    #[test]
    fn faults_are_told_with_their_line_and_column() {
        for (text, line, column, kind) in [
            ("", 1, 1, TableErrorKind::Empty),
            ("frequency_ghz,value\n", 1, 1, TableErrorKind::NoRows),
            ("frequency_ghz,gain\n", 1, 2, TableErrorKind::UnknownColumn("gain".into())),
            ("value\n1\n", 1, 1, TableErrorKind::NoColumn("frequency")),
            ("frequency_ghz\n1\n", 1, 1, TableErrorKind::NoColumn("value")),
            ("frequency_ghz,value\n1,\n", 2, 2, TableErrorKind::EmptyCell),
            ("frequency_ghz,value\n1,2\n\n,3\n", 4, 1, TableErrorKind::EmptyCell),
            ("frequency_ghz,value\n1,2\n1.0,3\n", 3, 1, TableErrorKind::FrequencyTwice),
            ("frequency_ghz,value\n1,nan\n", 2, 2, TableErrorKind::NotANumber("nan".into())),
            ("frequency,value\n1,2\n", 2, 1, TableErrorKind::NoFrequencyUnit),
            (
                "frequency_ghz,value,unit\n1,2,dB\n2,3,deg\n",
                3,
                3,
                TableErrorKind::OtherUnit { found: Unit::Degree, expected: Unit::Decibel },
            ),
        ] {
            assert_eq!(read_typical_curve(text), Err(TableError { line, column, kind }), "{text}");
        }
    }
}
