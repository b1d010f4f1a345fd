//! One worker's share of a run: first the files that it read, then the frequencies that it owns.

use super::analysis::{FrequencyWork, reference_at, score_frequency, score_held, service_at};
use super::overlap::with_overlap;
use super::protocol::{DensityFrame, Parameters, Parcel, Reflections, Reply, Request, TraceQuantity};
use super::settings::TransmissionParameter;
use crate::chart::{Axis, DensityRaster, Slabs, Values, columns_of};
use crate::control::{Word, naming};
use crate::npz;
use crate::plane::wrap_deg;
use crate::run::{FileFacts, FileFault, FileReport, bit_weights};
use crate::touchstone::{self, Network};
use num_complex::{Complex32, Complex64};
use std::collections::HashMap;
use std::ops::Range;

/// What a worker holds.
#[derive(Default)]
pub struct Share {
    files: HashMap<usize, Parameters>,
    slab: Option<Slab>,
    work: Option<FrequencyWork>,
    /// Per owned frequency: the reference in use, and the chosen state of every target.
    analysed: HashMap<usize, (Complex64, Vec<u32>)>,
}

/// The transmission of all states over a range of frequencies, the states of one frequency contiguous.
struct Slab {
    frequency_hz: Vec<f64>,
    /// The frequencies owned.
    range: Range<usize>,
    words: Vec<Word>,
    /// For `range`, and for the frequencies after it that traces join at.
    transmission: Vec<Complex64>,
}

impl Slab {
    fn at(&self, index: usize) -> Option<&[Complex64]> {
        let start = index.checked_sub(self.range.start)? * self.words.len();
        self.transmission.get(start..start + self.words.len())
    }
}

impl Share {
    /// Reads one file, or one word of an `.npz` file in [packed form](npz::pack_head), and keeps its S-parameters.
    pub fn read_file(&mut self, file: usize, name: &str, bytes: &[u8], digest: [u8; 32]) -> FileReport {
        let size = bytes.len() as u64;
        let read = npz::unpack(bytes).unwrap_or_else(|| {
            touchstone::read(name, bytes).map_err(|error| FileFault {
                line: error.line,
                column: error.column,
                message: error.kind.to_string(),
            })
        });
        let outcome = match read {
            Ok(network) => {
                let facts = facts_of(&network);
                if network.ports == 2 {
                    self.files.insert(file, parameters_of(&network));
                }
                Ok(facts)
            }
            Err(fault) => Err(fault),
        };
        FileReport { file, bytes: size, digest, outcome }
    }

    /// Answers any request but [`Request::Read`], whose bytes only the carrier has.
    pub fn answer(&mut self, request: Request) -> Reply {
        self.try_answer(request).unwrap_or_else(|refusal| Reply::Refused(refusal.to_owned()))
    }

    fn try_answer(&mut self, request: Request) -> Result<Reply, &'static str> {
        match request {
            Request::Read(_) => Err("The files' contents did not come with the request."),
            Request::Gather { files, transmission, ranges } => self.gather(&files, transmission, &ranges),
            Request::Place { frequency_hz, range, words, parcels } => {
                self.place(frequency_hz, range, words, &parcels)
            }
            Request::Weights { bits } => {
                let slab = self.slab()?;
                let at = |index| slab.at(index).map(|states| bit_weights(&slab.words, states, bits));
                slab.range.clone().map(at).collect::<Option<_>>().map(Reply::Weights).ok_or(NOT_OWNED)
            }
            Request::StatesAt { index } => Ok(Reply::States(self.states_at(index)?.to_vec())),
            Request::Plan(plan) => {
                self.work = Some(FrequencyWork::new(&plan, &self.slab()?.words));
                self.analysed.clear();
                Ok(Reply::Done)
            }
            Request::Analyse(range) => self.analyse(range),
            Request::ServiceAt { index } => {
                let states = self.states_at(index)?;
                let work = self.work.as_ref().ok_or(NO_PLAN)?;
                let (reference, chosen) = self.analysed.get(&index).ok_or(NOT_ANALYSED)?;
                Ok(Reply::Service(Box::new(service_at(work, index, *reference, states, chosen))))
            }
            Request::Held { states: held, range } => {
                let work = self.work.as_ref().ok_or(NO_PLAN)?;
                let scores = range.map(|index| {
                    let (reference, _) = self.analysed.get(&index).ok_or(NOT_ANALYSED)?;
                    Ok(score_held(work, *reference, self.states_at(index)?, &held))
                });
                scores.collect::<Result<_, _>>().map(Reply::Held)
            }
            Request::Density(frame) => self.density(&frame),
            Request::Trace { state } => {
                let slab = self.slab()?;
                let at = |index| {
                    let (reference, _) = self.analysed.get(&index).ok_or(NOT_ANALYSED)?;
                    let states = slab.at(index).ok_or(NOT_OWNED)?;
                    Ok(states.get(state).ok_or("The run has no such state.")? / reference)
                };
                slab.range.clone().map(at).collect::<Result<_, _>>().map(Reply::Trace)
            }
            Request::Parameters { files } => {
                let kept = files.iter().map(|file| self.file(*file).cloned());
                kept.collect::<Result<_, _>>().map(Reply::Parameters)
            }
            Request::Reflections { files, index } => {
                let at = |values: &[Complex32]| values.get(index).map(|s| f64::from(s.re).hypot(s.im.into()));
                let reflections = files.iter().map(|file| {
                    let kept = self.file(*file)?;
                    let both = at(&kept.s11).zip(at(&kept.s22)).ok_or(FEWER_POINTS)?;
                    Ok(Reflections { s11: both.0, s22: both.1 })
                });
                reflections.collect::<Result<_, _>>().map(Reply::Reflections)
            }
        }
    }

    fn file(&self, file: usize) -> Result<&Parameters, &'static str> {
        self.files.get(&file).ok_or("A file asked for was not read here.")
    }

    fn slab(&self) -> Result<&Slab, &'static str> {
        self.slab.as_ref().ok_or(NOT_OWNED)
    }

    fn states_at(&self, index: usize) -> Result<&[Complex64], &'static str> {
        self.slab()?.at(index).ok_or(NOT_OWNED)
    }

    fn gather(
        &mut self,
        files: &[usize],
        transmission: TransmissionParameter,
        ranges: &[Range<usize>],
    ) -> Result<Reply, &'static str> {
        self.slab = None;
        self.work = None;
        self.analysed.clear();
        let parcels = ranges.iter().map(|range| {
            let mut values = Vec::with_capacity(files.len() * range.len());
            for file in files {
                let kept = self.file(*file)?;
                let all = match transmission {
                    TransmissionParameter::S21 => &kept.s21,
                    TransmissionParameter::S12 => &kept.s12,
                };
                values.extend_from_slice(all.get(range.clone()).ok_or(FEWER_POINTS)?);
            }
            Ok(Parcel { positions: Vec::new(), transmission: values })
        });
        parcels.collect::<Result<_, _>>().map(Reply::Gathered)
    }

    fn place(
        &mut self,
        frequency_hz: Vec<f64>,
        range: Range<usize>,
        words: Vec<Word>,
        parcels: &[Parcel],
    ) -> Result<Reply, &'static str> {
        let states = words.len();
        let points = with_overlap(&frequency_hz, &range).len();
        let mut transmission = vec![Complex64::ZERO; points * states];
        for parcel in parcels {
            for (position, values) in parcel.positions.iter().zip(parcel.transmission.chunks_exact(points)) {
                let slots = transmission.iter_mut().skip(*position as usize).step_by(states);
                for (slot, value) in slots.zip(values) {
                    *slot = *value;
                }
            }
        }
        let placed: usize = parcels.iter().map(|parcel| parcel.positions.len()).sum();
        if placed != states {
            return Err("Some states did not arrive.");
        }
        self.slab = Some(Slab { frequency_hz, range, words, transmission });
        Ok(Reply::Done)
    }

    fn analyse(&mut self, range: Range<usize>) -> Result<Reply, &'static str> {
        let work = self.work.as_ref().ok_or(NO_PLAN)?;
        let slab = self.slab.as_ref().ok_or(NOT_OWNED)?;
        let mut scores = Vec::with_capacity(range.len());
        for index in range {
            let states = slab.at(index).ok_or(NOT_OWNED)?;
            let (score, chosen) =
                score_frequency(work, states).ok_or("A word that the reference needs is missing.")?;
            self.analysed.insert(index, (score.reference, chosen));
            scores.push(score);
        }
        Ok(Reply::Scores(scores))
    }

    /// Counts the traces over this worker's own columns of the picture.
    fn density(&self, frame: &DensityFrame) -> Result<Reply, &'static str> {
        let slab = self.slab()?;
        let work = self.work.as_ref().ok_or(NO_PLAN)?;
        let value: fn(Complex64) -> f64 = match frame.quantity {
            TraceQuantity::RelativeGainDb => |relative| 20.0 * relative.norm().log10(),
            TraceQuantity::RelativePhaseDeg => |relative| wrap_deg(relative.arg().to_degrees()),
        };
        let mut values = Vec::with_capacity(slab.transmission.len());
        for states in slab.transmission.chunks_exact(slab.words.len().max(1)) {
            // A point where the reference is zero has no relative gain: a gap in every trace.
            let reference = reference_at(work, states).unwrap_or(Complex64::new(f64::NAN, f64::NAN));
            values.extend(states.iter().map(|state| value(state / reference)));
        }
        let axis = Axis::linear(frame.frequency_ghz.0, frame.frequency_ghz.1);
        let column_px: Vec<f64> =
            slab.frequency_hz.iter().map(|hz| axis.fraction(hz / 1e9) * frame.width as f64).collect();
        let slabs = Slabs {
            first_frequency: slab.range.start,
            traces: slab.words.len(),
            values: &values,
            kind: match frame.quantity {
                TraceQuantity::RelativeGainDb => Values::Plain,
                TraceQuantity::RelativePhaseDeg => Values::WrappedDegrees,
            },
        };
        let mut raster = DensityRaster::new(frame.width, frame.height);
        let columns = columns_of(&column_px, slab.range.clone(), frame.width);
        let vertical = Axis::linear(frame.values.0, frame.values.1);
        raster.accumulate(columns, &column_px, vertical, &slabs).map_err(|_| NOT_OWNED)?;
        Ok(Reply::Density(raster))
    }
}

const NOT_OWNED: &str = "These frequencies are not held here.";
const FEWER_POINTS: &str = "A file has fewer points than the run.";
const NO_PLAN: &str = "There is no plan yet.";
const NOT_ANALYSED: &str = "This frequency has not been analysed yet.";

fn parameters_of(network: &Network) -> Parameters {
    let points = 0..network.frequency_hz.len();
    let exact = |row, column| points.clone().map(|index| network.s(index, row, column)).collect();
    #[expect(clippy::cast_possible_truncation, reason = "reflections are kept in single precision")]
    let narrow = |s: Complex64| Complex32::new(s.re as f32, s.im as f32);
    let single = |port| points.clone().map(|index| narrow(network.s(index, port, port))).collect();
    Parameters { s11: single(1), s12: exact(1, 2), s21: exact(2, 1), s22: single(2) }
}

fn facts_of(network: &Network) -> FileFacts {
    let largest = |row, column| {
        (0..network.frequency_hz.len()).map(|index| network.s(index, row, column).norm()).fold(0.0, f64::max)
    };
    FileFacts {
        ports: network.ports,
        reference_ohm: network.reference_ohm.first().copied().unwrap_or(50.0),
        one_path: network.is_one_path(),
        largest_s11: largest(1, 1),
        largest_s22: if network.ports >= 2 { largest(2, 2) } else { 0.0 },
        noise_rows: network.noise_rows,
        settings_in_comments: settings_in_comments(&network.comments),
        warnings: network.warnings.iter().map(|warning| (warning.line, warning.message.clone())).collect(),
        frequency_hz: network.frequency_hz.clone(),
    }
}

/// The comments that may hold the state's setting. They stand at the head of a file and are short; what is not is
/// no setting, and thousands of files' comments would add up.
fn settings_in_comments(comments: &[String]) -> Vec<String> {
    const MOST: usize = 32;
    const LONGEST: usize = 120;
    let short = comments.iter().filter(|line| line.len() <= LONGEST && naming::looks_like_setting(line));
    short.take(MOST).cloned().collect()
}
