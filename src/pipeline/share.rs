//! One worker's share of a run: first the files that it read, then the frequencies that it owns.

use super::analysis::{FrequencyWork, compare, reference_at, score_frequency, score_held, service_at};
use super::checking::{Examination, judge, physics};
use super::fitting::{fit, fit_sums_at};
use super::grading::{grade, worst_reflections};
use super::one_file::{FileRead, facts_of};
use super::overlap::with_overlap;
use super::protocol::{
    DensityFrame, Parameters, Parcel, Reference, Reflections, Reply, Request, Starts, Ticket, TraceQuantity,
};
use super::reaching::{clean_bits, reach_at};
use super::settings::TransmissionParameter;
use super::signalling::Signalling;
use super::tabling::{TablesRequest, Tabling};
use crate::chart::{Axis, DensityRaster, Slabs, Values, columns_of};
use crate::control::Word;
use crate::npz;
use crate::plane::{Anchor, wrap_deg};
use crate::run::{BitWeight, FileFacts, FileFault, FileReport, PortPath, bit_weights};
use crate::table::{AtFrequency, Trials};
use crate::touchstone::{self, Network};
use num_complex::{Complex32, Complex64};
use std::collections::HashMap;
use std::ops::Range;
use std::rc::Rc;

/// What a worker holds.
#[derive(Default)]
pub struct Share {
    files: HashMap<usize, FileRead>,
    /// Files that were made to fit the run, which stand in for what was read.
    adapted: HashMap<usize, Parameters>,
    /// The grid of the file read last, shared by all files that have the same.
    grid: Rc<[f64]>,
    slab: Option<Slab>,
    /// The bit weights at each frequency owned, once they were asked for.
    weights: Vec<Vec<BitWeight>>,
    examination: Examination,
    work: Option<FrequencyWork>,
    signalling: Signalling,
    tabling: Tabling,
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
    pub fn read_file(&mut self, ticket: &Ticket, bytes: &[u8], digest: [u8; 32]) -> FileReport {
        let (file, size) = (ticket.file, bytes.len() as u64);
        let read = npz::unpack(bytes).unwrap_or_else(|| {
            touchstone::read(&ticket.name, bytes).map_err(|error| FileFault {
                line: error.line,
                column: error.column,
                message: error.kind.to_string(),
            })
        });
        let outcome = match read {
            Ok(network) => {
                let ports = network.ports;
                let path = if ports == 2 { PortPath::default() } else { ticket.path };
                let between =
                    if ports == 2 { None } else { network.between(path.input.into(), path.output.into()) };
                let two_port = between.as_ref().or((ports == 2).then_some(&network));
                if let Some(two_port) = two_port {
                    self.keep(file, two_port);
                }
                Ok(FileFacts {
                    ports,
                    path: two_port.map(|_| path),
                    ..facts_of(two_port.unwrap_or(&network))
                })
            }
            Err(fault) => Err(fault),
        };
        FileReport { file, bytes: size, digest, outcome }
    }

    fn keep(&mut self, file: usize, two_port: &Network) {
        if *self.grid != two_port.frequency_hz[..] {
            self.grid = two_port.frequency_hz.as_slice().into();
        }
        self.files.insert(file, FileRead::new(two_port, self.grid.clone()));
    }

    /// Answers any request but [`Request::Read`], whose bytes only the carrier has.
    pub fn answer(&mut self, request: Request) -> Reply {
        self.try_answer(request).unwrap_or_else(|refusal| Reply::Refused(refusal.to_owned()))
    }

    fn try_answer(&mut self, request: Request) -> Result<Reply, &'static str> {
        match request {
            Request::Read(_) => Err("The files' contents did not come with the request."),
            Request::Adapt { files, frequency_hz, reference_ohm } => {
                self.adapted.clear();
                for file in files {
                    let read = self.files.get(&file).ok_or(NOT_READ)?;
                    self.adapted.insert(file, read.adapted(&frequency_hz, reference_ohm));
                }
                Ok(Reply::Done)
            }
            Request::Gather { files, transmission, ranges } => self.gather(&files, transmission, &ranges),
            Request::Place { frequency_hz, range, words, parcels } => {
                self.place(frequency_hz, range, words, &parcels)
            }
            Request::Weights { bits } => self.weigh(bits),
            Request::Grade { slice, range } => {
                let slab = self.slab()?;
                let at: Option<Vec<&[Complex64]>> = range.map(|index| slab.at(index)).collect();
                let graded = grade(&slice, &slab.words, at.ok_or(NOT_OWNED)?.into_iter());
                graded.map(Reply::Graded).map_err(|_| "The field's code 0 is missing.")
            }
            Request::WorstReflections(states) => {
                let kept = states.into_iter().map(|(file, word)| Ok((word, self.file(file)?)));
                let kept: Vec<_> = kept.collect::<Result<_, &str>>()?;
                Ok(Reply::WorstReflections(worst_reflections(kept.into_iter())))
            }
            Request::Examination { capture_order, has_bits } => {
                self.examination = Examination::new(capture_order, has_bits);
                Ok(Reply::Done)
            }
            Request::Examine(range) => self.examine(range),
            Request::Evidence => Ok(Reply::Evidence(Box::new(self.examination.found().clone()))),
            Request::Judge(case) => Ok(Reply::Judged(Box::new(judge(&case)))),
            Request::Physics { files, noise_at } => {
                let of = files.iter().map(|file| Ok(physics(self.file(*file)?, &noise_at)));
                of.collect::<Result<_, _>>().map(Reply::Physics)
            }
            Request::StatesAt { index } => Ok(Reply::States(self.states_at(index)?.to_vec())),
            Request::Plan(plan) => {
                self.work = Some(FrequencyWork::new(&plan, &self.slab()?.words));
                self.signalling.follow(&plan);
                self.analysed.clear();
                Ok(Reply::Done)
            }
            Request::Analyse(range) => self.analyse(range),
            Request::Fit { ring_median, range, starts } => self.fit(ring_median, range, &starts),
            Request::FitSums { ring_median, range, trials } => self.fit_sums(ring_median, range, &trials),
            Request::Refer(reference) => {
                self.work.as_mut().ok_or(NO_PLAN)?.refer(&reference);
                Ok(Reply::Done)
            }
            Request::Compare { references, range } => self.compare(&references, range),
            Request::ServiceAt { index } => {
                let states = self.states_at(index)?;
                let work = self.work.as_ref().ok_or(NO_PLAN)?;
                let (reference, chosen) = self.analysed.get(&index).ok_or(NOT_ANALYSED)?;
                Ok(Reply::Service(Box::new(service_at(work, index, *reference, states, chosen))))
            }
            Request::ReachAt { index } => {
                let (work, states) = (self.work.as_ref().ok_or(NO_PLAN)?, self.states_at(index)?);
                let (reference, chosen) = self.analysed.get(&index).ok_or(NOT_ANALYSED)?;
                Ok(Reply::Reach(Box::new(reach_at(work, index, *reference, states, chosen))))
            }
            Request::SignalAt { index } => {
                let slab = self.slab.as_ref().ok_or(NOT_OWNED)?;
                let states = slab.at(index).ok_or(NOT_OWNED)?;
                let signal = self.signalling.at(index, &slab.words, states).ok_or(NO_PLAN)?;
                Ok(Reply::Signal(Box::new(signal)))
            }
            Request::LargestClean(indices) => self.largest_clean(&indices),
            Request::CleanBits(range) => {
                let work = self.work.as_ref().ok_or(NO_PLAN)?;
                let bits = range.map(|index| {
                    let (reference, _) = self.analysed.get(&index).ok_or(NOT_ANALYSED)?;
                    Ok(clean_bits(work, *reference, self.states_at(index)?))
                });
                bits.collect::<Result<_, _>>().map(Reply::CleanBits)
            }
            Request::Held { states: held, range } => {
                let work = self.work.as_ref().ok_or(NO_PLAN)?;
                let scores = range.map(|index| {
                    let (reference, _) = self.analysed.get(&index).ok_or(NOT_ANALYSED)?;
                    Ok(score_held(work, *reference, self.states_at(index)?, &held))
                });
                scores.collect::<Result<_, _>>().map(Reply::Held)
            }
            Request::Tables(request) => self.tables(*request),
            Request::Density(frame) => self.density(&frame),
            Request::Trace { state } => self.trace(state),
            Request::Parameters { files } => {
                let kept = files.iter().map(|file| self.file(*file).cloned());
                kept.collect::<Result<_, _>>().map(Reply::Parameters)
            }
            Request::Reflections { files, index } => self.reflections(&files, index),
        }
    }

    fn tables(&mut self, request: TablesRequest) -> Result<Reply, &'static str> {
        let slab = self.slab.as_ref().ok_or(NOT_OWNED)?;
        let work = self.work.as_ref().ok_or(NO_PLAN)?;
        let at = |index: usize| {
            let (reference, chosen) = self.analysed.get(&index)?;
            let at = AtFrequency { transmission: slab.at(index)?, reference: *reference };
            Some((at, chosen.as_slice()))
        };
        let reply = self.tabling.answer(request, work, &slab.words, at);
        reply.map(|reply| Reply::Tables(Box::new(reply))).ok_or(NOT_ANALYSED)
    }

    fn file(&self, file: usize) -> Result<&Parameters, &'static str> {
        let read = || self.files.get(&file).map(|read| &read.parameters);
        self.adapted.get(&file).or_else(read).ok_or(NOT_READ)
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
        self.examination = Examination::default();
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
            let before = index.checked_sub(1).and_then(|before| self.analysed.get(&before));
            let likely = before.map_or(&[][..], |(_, chosen)| chosen);
            let (score, chosen) = score_frequency(work, index, states, likely)
                .ok_or("A word that the reference needs is missing.")?;
            self.analysed.insert(index, (score.reference, chosen));
            scores.push(score);
        }
        Ok(Reply::Scores(scores))
    }

    fn weigh(&mut self, bits: usize) -> Result<Reply, &'static str> {
        let slab = self.slab()?;
        let at = |index| slab.at(index).map(|states| bit_weights(&slab.words, states, bits));
        self.weights = slab.range.clone().map(at).collect::<Option<_>>().ok_or(NOT_OWNED)?;
        Ok(Reply::Weights(self.weights.clone()))
    }

    fn fit(&self, ring_median: Anchor, range: Range<usize>, starts: &Starts) -> Result<Reply, &'static str> {
        let work = self.work.as_ref().ok_or(NO_PLAN)?;
        let at = range.map(|index| self.states_at(index)).collect::<Result<Vec<_>, _>>()?;
        Ok(Reply::Fitted(fit(work, ring_median, &at, starts)))
    }

    fn fit_sums(
        &self,
        ring_median: Anchor,
        range: Range<usize>,
        trials: &Trials,
    ) -> Result<Reply, &'static str> {
        let work = self.work.as_ref().ok_or(NO_PLAN)?;
        let at = range.map(|index| Ok((index, self.states_at(index)?)));
        let at = at.collect::<Result<Vec<_>, &str>>()?;
        Ok(Reply::FitSums(fit_sums_at(work, ring_median, &at, trials)))
    }

    fn compare(&self, references: &[Reference], range: Range<usize>) -> Result<Reply, &'static str> {
        let work = self.work.as_ref().ok_or(NO_PLAN)?;
        let resolved: Vec<_> = references.iter().map(|reference| work.resolve(reference)).collect();
        let scores = range.map(|index| Ok(compare(work, index, self.states_at(index)?, &resolved)));
        scores.collect::<Result<_, _>>().map(Reply::Compared)
    }

    fn examine(&mut self, range: Range<usize>) -> Result<Reply, &'static str> {
        let slab = self.slab.as_ref().ok_or(NOT_OWNED)?;
        let from = range.start.checked_sub(slab.range.start).ok_or(NOT_OWNED)?;
        let weights = self.weights.get(from..from + range.len()).ok_or(NOT_OWNED)?;
        let points = slab.frequency_hz.len();
        let states = slab.words.len();
        // Where the grid goes on, one frequency more.
        let until = (from + range.len() + 1).min(points - slab.range.start);
        let transmission = slab.transmission.get(from * states..until * states).ok_or(NOT_OWNED)?;
        self.examination.examine(points, range, &slab.words, transmission, weights);
        Ok(Reply::Done)
    }

    fn largest_clean(&mut self, indices: &[usize]) -> Result<Reply, &'static str> {
        self.work.as_ref().ok_or(NO_PLAN)?;
        let slab = self.slab.as_ref().ok_or(NOT_OWNED)?;
        let orders = indices.iter().map(|&index| {
            let states = slab.at(index).ok_or(NOT_OWNED)?;
            Ok(self.signalling.largest_clean_at(&slab.words, states))
        });
        orders.collect::<Result<_, _>>().map(Reply::LargestClean)
    }

    fn trace(&self, state: usize) -> Result<Reply, &'static str> {
        let slab = self.slab()?;
        let at = |index| {
            let (reference, _) = self.analysed.get(&index).ok_or(NOT_ANALYSED)?;
            let states = slab.at(index).ok_or(NOT_OWNED)?;
            Ok(states.get(state).ok_or("The run has no such state.")? / reference)
        };
        slab.range.clone().map(at).collect::<Result<_, _>>().map(Reply::Trace)
    }

    fn reflections(&self, files: &[usize], index: usize) -> Result<Reply, &'static str> {
        let at = |values: &[Complex32]| values.get(index).map(|s| f64::from(s.re).hypot(s.im.into()));
        let reflections = files.iter().map(|file| {
            let kept = self.file(*file)?;
            let both = at(&kept.s11).zip(at(&kept.s22)).ok_or(FEWER_POINTS)?;
            Ok(Reflections { s11: both.0, s22: both.1 })
        });
        reflections.collect::<Result<_, _>>().map(Reply::Reflections)
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
        let chunks = slab.transmission.chunks_exact(slab.words.len().max(1));
        for (index, states) in (slab.range.start..).zip(chunks) {
            // A point where the reference is zero has no relative gain: a gap in every trace.
            let reference = reference_at(work, index, states).unwrap_or(Complex64::new(f64::NAN, f64::NAN));
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

const NOT_READ: &str = "A file asked for was not read here.";
const NOT_OWNED: &str = "These frequencies are not held here.";
const FEWER_POINTS: &str = "A file has fewer points than the run.";
const NO_PLAN: &str = "There is no plan yet.";
const NOT_ANALYSED: &str = "This frequency has not been analysed yet.";
