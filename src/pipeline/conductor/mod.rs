//! Puts the stages of a run in order: hands requests to workers, takes their replies, and ends with a [`Report`].
//!
//! The conductor never waits and never reads: whoever carries its messages asks [`Conductor::next`] for work and
//! gives back replies with [`Conductor::accept`]. So the same code runs with workers, and in turn without them.

mod again;
mod asking;
mod bands;
mod checks;
mod compared;
mod parts;
mod reach;
mod references;
mod signal;

use super::planning::{self, Band};
use super::protocol::{FrequencyScores, Parcel, Plan, Reply, Request, Ticket};
use super::reading::Reading;
use super::report::{Report, Service};
use super::settings::Settings;
use super::stage::{Progress, Stage};
use crate::control::Word;
use crate::plane::Score;
use crate::run::{BitWeight, Intake, NamingChoice, Offer};
use bands::Banding;
use checks::Checking;
use parts::Grading;
use reach::Reaching;
use references::References;
use signal::Signals;
use std::collections::{HashMap, VecDeque};
use std::ops::Range;
use std::sync::Arc;

/// A request for one worker, to be answered under its number.
#[derive(Clone, Debug, PartialEq)]
pub struct Assignment {
    /// The number to give back with the reply.
    pub id: u64,
    /// What is asked.
    pub request: Request,
}

/// What a reply is expected to fill.
enum Expected {
    Read { worker: usize, tickets: Vec<Ticket> },
    Gathered { positions: Vec<u32> },
    Done,
    Weights(Range<usize>),
    States,
    Scores(Range<usize>),
    Service,
    Held(Range<usize>),
    Graded { field: usize, range: Range<usize> },
    WorstReflections(usize),
    Examined(Range<usize>),
    Evidence,
    Repeats(Vec<usize>),
    Judged,
    Physics(Vec<Word>),
    Reach,
    CleanBits(Range<usize>),
    OwnFits(Range<usize>),
    BestFits(Range<usize>),
    FitSums(Range<usize>),
    Compared(Range<usize>),
    Signal,
    LargestClean(Vec<usize>),
    Tables { worker: usize, frequencies: usize },
}

/// A run on its way from offered files to a report.
pub struct Conductor {
    settings: Settings,
    reading: Reading,
    workers: usize,
    stage: Stage,
    /// Where to go on from once nothing is outstanding, after settings changed.
    restart: Option<Stage>,
    queues: Vec<VecDeque<(Request, Expected)>>,
    outstanding: HashMap<u64, Expected>,
    next_id: u64,
    failure: String,

    intake: Option<Arc<Intake>>,
    ranges: Vec<Range<usize>>,
    parcels: Vec<Vec<Parcel>>,
    weights: Vec<Vec<BitWeight>>,
    band: Option<Band>,
    plan: Option<(Plan, planning::Decisions)>,
    scores: Vec<Option<FrequencyScores>>,
    service: Option<Service>,
    held: Vec<Option<Score>>,
    grading: Grading,
    checking: Checking,
    reaching: Reaching,
    references: References,
    signals: Signals,
    banding: Banding,
    report: Option<Arc<Report>>,
    /// The report was made under the plan in use; at most the chosen frequency has moved since.
    plan_is_reported: bool,
    /// Counts the changes of the report.
    revision: u64,
}

impl Conductor {
    /// Starts on the files of a dropped folder called `source`, for a number of workers of at least one.
    pub fn new(source: &str, offers: Vec<Offer>, settings: Settings, workers: usize) -> Self {
        let reading = Reading::new(source, offers, settings.intake_rules(), workers.max(1));
        Self::start(reading, settings, workers.max(1))
    }

    /// The same for files whose words are known; `naming` says how, as a sentence.
    pub fn with_words(
        source: &str,
        offers: Vec<(Offer, Word)>,
        naming: &str,
        settings: Settings,
        workers: usize,
    ) -> Self {
        let reading = Reading::with_words(source, offers, naming, settings.intake_rules(), workers.max(1));
        Self::start(reading, settings, workers.max(1))
    }

    fn start(reading: Reading, settings: Settings, workers: usize) -> Self {
        let mut conductor = Self {
            reading,
            settings,
            workers,
            stage: Stage::Reading,
            restart: None,
            queues: (0..workers).map(|_| VecDeque::new()).collect(),
            outstanding: HashMap::new(),
            next_id: 0,
            failure: String::new(),
            intake: None,
            ranges: Vec::new(),
            parcels: Vec::new(),
            weights: Vec::new(),
            band: None,
            plan: None,
            scores: Vec::new(),
            service: None,
            held: Vec::new(),
            grading: Grading::default(),
            checking: Checking::default(),
            reaching: Reaching::default(),
            references: References::default(),
            signals: Signals::default(),
            banding: Banding::default(),
            report: None,
            plan_is_reported: false,
            revision: 0,
        };
        conductor.advance_if_idle();
        conductor
    }

    /// The next request for a worker; `None` while it has to wait for others, or when all is done.
    pub fn next(&mut self, worker: usize) -> Option<Assignment> {
        let (request, expected) = if self.stage == Stage::Reading {
            let tickets = self.reading.take()?;
            (Request::Read(tickets.clone()), Expected::Read { worker, tickets })
        } else {
            self.queues.get_mut(worker)?.pop_front()?
        };
        let id = self.next_id;
        self.next_id += 1;
        self.outstanding.insert(id, expected);
        Some(Assignment { id, request })
    }

    /// Takes a reply. Replies to assignments that are no longer expected are ignored.
    pub fn accept(&mut self, id: u64, reply: Reply) {
        let Some(expected) = self.outstanding.remove(&id) else { return };
        if let Err(reason) = self.file_away(expected, reply) {
            self.fail(&reason);
        }
        self.advance_if_idle();
    }

    /// A worker has died and an empty one stands in its place: what it read is read again.
    pub fn worker_died(&mut self, worker: usize) {
        if self.stage == Stage::Failed {
            return;
        }
        let lost: Vec<Vec<Ticket>> = self
            .outstanding
            .extract_if(
                |_, expected| matches!(expected, Expected::Read { worker: who, .. } if *who == worker),
            )
            .filter_map(|(_, expected)| match expected {
                Expected::Read { tickets, .. } => Some(tickets),
                _ => None,
            })
            .collect();
        if self.stage > Stage::Reading {
            self.outstanding.clear();
            self.queues.iter_mut().for_each(VecDeque::clear);
        }
        match self.reading.worker_died(worker, lost) {
            Ok(()) => {
                self.stage = Stage::Reading;
                self.restart = None;
                self.revision += 1;
                self.report = None;
                self.advance_if_idle();
            }
            Err(reason) => self.fail(&reason),
        }
    }

    /// Takes new settings; redoes only what depends on those that changed.
    pub fn set_settings(&mut self, settings: Settings) {
        let from = planning::first_stage_affected(&self.settings, &settings);
        let known = |settings: &Settings| {
            (settings.zero_word_loss_db, settings.part_is_active, settings.capture_order)
        };
        if from.is_some_and(|from| from < Stage::Serving) || known(&self.settings) != known(&settings) {
            self.checking.forget_judgement();
        }
        if from.is_some_and(|from| from < Stage::Tabling) {
            self.signals.disturb();
        }
        if from.is_some() {
            self.banding.interrupt();
        }
        self.reading.follow(settings.intake_rules());
        self.settings = settings;
        match from {
            Some(Stage::Reading) if self.stage != Stage::Failed => {
                // Replies that are still on their way belong to the files as they were read before.
                self.outstanding.clear();
                self.queues.iter_mut().for_each(VecDeque::clear);
                self.restart = None;
                self.stage = Stage::Reading;
                self.reading.read_again();
            }
            Some(from) if self.stage > Stage::Reading && self.stage != Stage::Failed => {
                // Parcels are handed on, not kept: half placed, they have to be collected again.
                let done = if self.stage == Stage::Placing { Stage::Gathering } else { self.stage };
                self.restart = Some(self.restart.map_or(from, |other| other.min(from)).min(done));
                self.queues.iter_mut().for_each(VecDeque::clear);
            }
            Some(_) => {}
            None => {
                self.revision += 1;
                if let Some(report) = self.report.as_mut().map(Arc::make_mut) {
                    report.settings = self.settings.clone();
                }
            }
        }
        self.advance_if_idle();
    }

    /// The settings in use.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// What is being done.
    pub fn stage(&self) -> Stage {
        self.restart.filter(|_| self.stage.is_ready()).unwrap_or(self.stage)
    }

    /// Whether all that is being redone is what follows the chosen frequency. The report then shows the states there as
    /// soon as they are fetched; what takes longer is missing from it until [`Stage::Ready`].
    pub fn follows_frequency(&self) -> bool {
        self.plan_is_reported && matches!(self.stage(), Stage::Serving | Stage::Holding)
    }

    /// Whether the work cannot go on.
    pub fn has_failed(&self) -> bool {
        self.stage == Stage::Failed
    }

    /// Why the work cannot go on; empty unless it failed.
    pub fn failure(&self) -> &str {
        &self.failure
    }

    /// How far the work is.
    pub fn progress(&self) -> Progress {
        let points = self.scores.len();
        let done = match self.stage {
            Stage::Analysing => self.scores.iter().flatten().count(),
            Stage::Holding => self.held.iter().flatten().count(),
            Stage::Examining => self.checking.examined(),
            stage if stage > Stage::Analysing => points,
            _ => 0,
        };
        Progress {
            stage: self.stage(),
            files: self.reading.files(),
            bytes: self.reading.bytes(),
            all_bytes: self.reading.all_bytes(),
            frequencies: (done, points),
        }
    }

    /// What came in so far: complete once reading is over.
    pub fn intake(&self) -> Arc<Intake> {
        self.intake.clone().unwrap_or_else(|| Arc::new(self.reading.assemble()))
    }

    /// A number that changes whenever the report does.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// The latest complete report.
    pub fn report(&self) -> Option<&Report> {
        self.report.as_deref()
    }

    /// The same to be kept: it stays as it is whatever comes after.
    pub fn shared_report(&self) -> Option<Arc<Report>> {
        self.report.clone()
    }

    /// The number of files offered.
    pub fn files(&self) -> usize {
        self.reading.offered()
    }

    /// The path of a file.
    ///
    /// # Panics
    /// If there is no such file.
    pub fn path(&self, file: usize) -> &str {
        self.reading.path(file)
    }

    /// How the names were read.
    pub fn naming(&self) -> &str {
        self.reading.naming()
    }

    /// Every reading of the names, as far as they are known.
    pub fn naming_choices(&self) -> Vec<NamingChoice> {
        self.reading.naming_choices()
    }

    /// The worker that owns a frequency index.
    pub fn owner_of(&self, index: usize) -> Option<usize> {
        self.ranges.iter().position(|range| range.contains(&index))
    }

    /// The frequency indices that each worker owns.
    pub fn ranges(&self) -> &[Range<usize>] {
        &self.ranges
    }

    /// The positions of the run's states whose files each worker holds.
    pub fn states_by_worker(&self) -> Vec<Vec<usize>> {
        let states = self.intake.as_ref().map_or(&[][..], |intake| &intake.states);
        self.reading.states_by_worker(states, self.workers)
    }

    /// Whether the workers hold a finished analysis that can be asked for details.
    pub fn is_ready(&self) -> bool {
        self.stage.is_ready() && self.restart.is_none()
    }

    fn fail(&mut self, reason: &str) {
        self.stage = Stage::Failed;
        reason.clone_into(&mut self.failure);
        self.queues.iter_mut().for_each(VecDeque::clear);
        self.outstanding.clear();
    }

    fn file_away(&mut self, expected: Expected, reply: Reply) -> Result<(), String> {
        match (expected, reply) {
            (Expected::Read { worker, .. }, Reply::Read(reports)) => self.reading.accept(worker, reports),
            (Expected::Gathered { positions }, Reply::Gathered(parcels)) => {
                for (destination, mut parcel) in parcels.into_iter().enumerate() {
                    parcel.positions.clone_from(&positions);
                    self.parcels[destination].push(parcel);
                }
            }
            (Expected::Done, Reply::Done) => {}
            (Expected::Graded { field, range }, Reply::Graded(graded)) => {
                self.grading.take(field, range, graded);
            }
            (Expected::WorstReflections(field), Reply::WorstReflections(worst)) => {
                self.grading.take_reflections(field, worst);
            }
            (Expected::Examined(range), Reply::Done) => self.checking.note_examined(range),
            (Expected::Evidence, Reply::Evidence(evidence)) => self.checking.take_evidence(*evidence),
            (Expected::Repeats(files), Reply::Parameters(parameters)) => {
                let transmission = self.settings.transmission;
                self.checking.take_repeats(files.into_iter().zip(parameters), transmission);
            }
            (Expected::Judged, Reply::Judged(judgement)) => self.checking.take_judgement(*judgement),
            (Expected::Physics(words), Reply::Physics(physics)) => {
                self.checking.take_physics(words.into_iter().zip(physics));
            }
            (Expected::Weights(range), Reply::Weights(weights)) => {
                for (index, weights) in range.zip(weights) {
                    self.weights[index] = weights;
                }
            }
            (Expected::States, Reply::States(states)) => match self.decide(&states) {
                Ok(plan) => self.plan = Some(plan),
                Err(reason) => self.conclude(Err(reason)),
            },
            (Expected::Scores(range), Reply::Scores(scores)) => {
                for (index, score) in range.zip(scores) {
                    self.scores[index] = Some(score);
                }
            }
            (Expected::Service, Reply::Service(service)) => self.service = Some(*service),
            (Expected::Signal, Reply::Signal(signal)) => self.signals.take(*signal),
            (Expected::LargestClean(indices), Reply::LargestClean(orders)) => {
                self.signals.take_largest_clean(indices, orders);
            }
            (Expected::Tables { worker, frequencies }, Reply::Tables(reply)) => {
                self.banding.take(worker, frequencies, *reply);
            }
            (Expected::Reach, Reply::Reach(reach)) => self.reaching.take_here(*reach),
            (Expected::CleanBits(range), Reply::CleanBits(bits)) => {
                self.reaching.take_clean_bits(range, bits);
            }
            (Expected::OwnFits(range), Reply::Fitted(fits)) => self.references.take_own(range, fits),
            (Expected::BestFits(range), Reply::Fitted(fits)) => self.references.take_best(range, fits),
            (Expected::FitSums(range), Reply::FitSums(sums)) => self.references.take_sums(range, sums),
            (Expected::Compared(range), Reply::Compared(scores)) => {
                self.references.take_compared(range, scores);
            }
            (Expected::Held(range), Reply::Held(scores)) => {
                for (index, score) in range.zip(scores) {
                    self.held[index] = Some(score);
                }
            }
            (_, Reply::Refused(reason)) => return Err(format!("A worker could not go on: {reason}")),
            _ => return Err("A worker answered something else than it was asked.".to_owned()),
        }
        Ok(())
    }

    /// Goes on to the next stage while nothing is queued or outstanding.
    fn advance_if_idle(&mut self) {
        while self.outstanding.is_empty() && self.queues.iter().all(VecDeque::is_empty) {
            let next = match (self.restart.take(), self.stage) {
                (Some(stage), _) => stage,
                (None, Stage::Reading) if !self.reading.is_complete() => return,
                (None, Stage::Reading) => Stage::Adapting,
                (None, Stage::Adapting) => Stage::Gathering,
                (None, Stage::Gathering) => Stage::Placing,
                (None, Stage::Placing) => Stage::Weighing,
                (None, Stage::Weighing) => Stage::Centring,
                (None, Stage::Centring) => Stage::Planning,
                (None, Stage::Planning) => Stage::Fitting,
                (None, Stage::Fitting) if !self.references.is_settled() => Stage::Fitting,
                (None, Stage::Fitting) => Stage::Analysing,
                (None, Stage::Analysing) => Stage::Serving,
                (None, Stage::Serving) => Stage::Holding,
                (None, Stage::Holding) => Stage::Ready,
                (None, Stage::Ready) => Stage::Grading,
                (None, Stage::Grading) if self.wants_times() => return,
                (None, Stage::Grading) => Stage::Examining,
                (None, Stage::Examining) => Stage::Collecting,
                (None, Stage::Collecting) => Stage::Judging,
                (None, Stage::Judging) => Stage::Verifying,
                (None, Stage::Verifying) => Stage::Resolving,
                (None, Stage::Resolving) if self.wants_rest() => return,
                (None, Stage::Resolving) => Stage::Modulating,
                (None, Stage::Modulating) => Stage::Tabling,
                (None, Stage::Tabling) if self.banding.goes_on() => Stage::Tabling,
                (None, Stage::Tabling) => Stage::Surveying,
                (None, Stage::Surveying) => Stage::Comparing,
                (None, Stage::Comparing) if !self.references.is_settled() => Stage::Comparing,
                (None, Stage::Comparing) => Stage::Completing,
                (None, Stage::Completing) => Stage::Checked,
                (None, Stage::Checked | Stage::Failed) => return,
            };
            self.stage = next;
            self.enter(next);
        }
    }
}
