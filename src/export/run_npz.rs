//! `run.npz`: the whole run as `NumPy` arrays, which opens in a script and drops back on the page.

use super::refused::ExportRefused;
use crate::npz::{Parts, RunWriter};
use crate::pipeline::protocol::{Parameters, Reply, Request};
use crate::pipeline::{Conductor, Report, Share};
use num_complex::{Complex32, Complex64};

/// A run's file while it is written, one state after the other in the order of the report's states.
///
/// S21 and S12 are written as they were read. S11 and S22 have passed through single precision (24 bits of
/// significance, about 6·10⁻⁸ of the value) and are widened.
pub struct RunArchive {
    writer: RunWriter,
}

impl RunArchive {
    /// Begins the file; refused where the run is empty or too large for the format.
    pub fn new(report: &Report) -> Result<Self, ExportRefused> {
        let intake = &report.intake;
        if intake.states.is_empty() {
            return Err(ExportRefused::NoStates);
        }
        let files: Vec<&str> = intake.states.iter().map(|state| intake.paths[state.file].as_str()).collect();
        let writer = RunWriter::new(&intake.frequency_hz, &intake.words(), &files, intake.reference_ohm);
        Ok(Self { writer: writer.map_err(ExportRefused::Npz)? })
    }

    /// The bytes of the next state.
    pub fn push(&mut self, state: &Parameters) -> Result<Vec<u8>, ExportRefused> {
        let wide = |s: &Complex32| Complex64::new(s.re.into(), s.im.into());
        let reflections = state.s11.iter().zip(&state.s22);
        let through = state.s12.iter().zip(&state.s21);
        let points =
            reflections.zip(through).map(|((s11, s22), (s12, s21))| [wide(s11), *s12, *s21, wide(s22)]);
        self.writer.push(points).map_err(ExportRefused::Npz)
    }

    /// What stands before and after the states, once all have been pushed.
    pub fn finish(self) -> Result<Parts, ExportRefused> {
        self.writer.finish().map_err(ExportRefused::Npz)
    }

    /// The whole file of a complete run whose workers are at hand, as [`crate::pipeline::in_turn`] leaves them.
    pub fn in_turn(conductor: &Conductor, shares: &mut [Share]) -> Result<Vec<u8>, ExportRefused> {
        let report = conductor.report().ok_or(ExportRefused::NotFetched)?;
        let states = &report.intake.states;
        let mut parameters: Vec<Option<Parameters>> = vec![None; states.len()];
        for (share, positions) in shares.iter_mut().zip(conductor.states_by_worker()) {
            let files = positions.iter().map(|&position| states[position].file).collect();
            let Reply::Parameters(kept) = share.answer(Request::Parameters { files }) else {
                return Err(ExportRefused::NotFetched);
            };
            for (position, kept) in positions.into_iter().zip(kept) {
                parameters[position] = Some(kept);
            }
        }
        let mut archive = Self::new(report)?;
        let mut middle = Vec::new();
        for state in &parameters {
            middle.extend(archive.push(state.as_ref().ok_or(ExportRefused::NotFetched)?)?);
        }
        let Parts { head, tail } = archive.finish()?;
        Ok([head, middle, tail].concat())
    }
}
