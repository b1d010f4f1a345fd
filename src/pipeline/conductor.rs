//! Puts the stages of a run in order: hands requests to workers, takes their replies, and ends with a [`Report`].
//!
//! The conductor never waits and never reads: whoever carries its messages asks [`Conductor::next`] for work and
//! gives back replies with [`Conductor::accept`]. So the same code runs with workers, and in turn without them.

use super::overlap::with_overlap;
use super::planning::{self, Band};
use super::protocol::{FrequencyScores, Parcel, Plan, Reply, Request, Ticket};
use super::reading::Reading;
use super::report::{Analysis, NoAnalysis, Report, Service};
use super::settings::Settings;
use super::stage::{Progress, Stage};
use crate::control::Word;
use crate::plane::Score;
use crate::run::{BitWeight, Intake, LeftOutReason, Offer};
use num_complex::Complex64;
use std::collections::{HashMap, VecDeque};
use std::ops::Range;

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
}

/// Frequencies that one request covers: small enough to show progress and, without workers, to let a page breathe.
const FREQUENCIES_AT_A_TIME: usize = 4;

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

    intake: Option<Intake>,
    ranges: Vec<Range<usize>>,
    parcels: Vec<Vec<Parcel>>,
    weights: Vec<Vec<BitWeight>>,
    band: Option<Band>,
    plan: Option<(Plan, planning::Decisions)>,
    scores: Vec<Option<FrequencyScores>>,
    service: Option<Service>,
    held: Vec<Option<Score>>,
    report: Option<Report>,
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
            report: None,
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
                self.report = None;
                self.advance_if_idle();
            }
            Err(reason) => self.fail(&reason),
        }
    }

    /// Takes new settings; redoes only what depends on those that changed.
    pub fn set_settings(&mut self, settings: Settings) {
        let from = planning::first_stage_affected(&self.settings, &settings);
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
                if let Some(report) = &mut self.report {
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
        if self.restart.is_some() && self.stage == Stage::Ready { Stage::Planning } else { self.stage }
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
    pub fn intake(&self) -> Intake {
        self.intake.clone().unwrap_or_else(|| self.reading.assemble())
    }

    /// The latest complete report.
    pub fn report(&self) -> Option<&Report> {
        self.report.as_ref()
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
        self.stage == Stage::Ready && self.restart.is_none()
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
                (None, Stage::Planning) => Stage::Analysing,
                (None, Stage::Analysing) => Stage::Serving,
                (None, Stage::Serving) => Stage::Holding,
                (None, Stage::Holding) => Stage::Ready,
                (None, Stage::Ready | Stage::Failed) => return,
            };
            self.stage = next;
            self.enter(next);
        }
    }

    fn enter(&mut self, stage: Stage) {
        match stage {
            Stage::Adapting => self.adapt(),
            Stage::Gathering => self.gather(),
            Stage::Placing => self.place(),
            Stage::Weighing => self.weigh(),
            Stage::Centring => self.centre(),
            Stage::Planning => {
                if let Some((plan, _)) = &self.plan {
                    let plan = plan.clone();
                    self.for_owners(|_, _| vec![(Request::Plan(Box::new(plan.clone())), Expected::Done)]);
                }
            }
            Stage::Analysing => {
                self.scores.fill(None);
                self.for_owners(|_, range| {
                    slices(range)
                        .map(|part| (Request::Analyse(part.clone()), Expected::Scores(part)))
                        .collect()
                });
            }
            Stage::Serving => self.serve(),
            Stage::Holding => {
                self.held.fill(None);
                let chosen = self.service.iter().flat_map(|service| &service.chosen);
                let states: Vec<u32> = chosen.filter_map(|served| u32::try_from(served.state).ok()).collect();
                self.for_owners(|_, range| {
                    let request = |part: Range<usize>| Request::Held { states: states.clone(), range: part };
                    slices(range).map(|part| (request(part.clone()), Expected::Held(part))).collect()
                });
            }
            Stage::Ready => {
                if let Some(analysis) = self.analysis() {
                    self.conclude(Ok(analysis));
                }
            }
            Stage::Reading | Stage::Failed => {}
        }
    }

    fn adapt(&mut self) {
        let intake = self.reading.assemble();
        // What was made to fit under other settings has to be forgotten too.
        let before = self.intake.as_ref().is_some_and(|intake| !intake.adapted.is_empty());
        if before || !intake.adapted.is_empty() {
            for (worker, queue) in self.queues.iter_mut().enumerate() {
                let files = intake.adapted.iter().map(|adapted| adapted.file);
                let request = Request::Adapt {
                    files: files.filter(|file| self.reading.was_read_by(*file, worker)).collect(),
                    frequency_hz: intake.frequency_hz.clone(),
                    reference_ohm: intake.reference_ohm,
                };
                queue.push_back((request, Expected::Done));
            }
        }
        self.intake = Some(intake);
    }

    fn gather(&mut self) {
        let Some(intake) = self.intake.take() else { return };
        let points = intake.frequency_hz.len();
        self.ranges = shares(points, self.workers);
        self.parcels = self.ranges.iter().map(|_| Vec::new()).collect();
        self.weights = vec![Vec::new(); points];
        self.scores = vec![None; points];
        self.held = vec![None; points];
        if intake.states.len() < 2 {
            // A single file has no other name to compare its own with, and so no word; it is a state all the same.
            let nameless = intake.left_out.iter().filter(|file| file.reason == LeftOutReason::NoWord).count();
            let one = intake.states.len() + nameless == 1;
            let reason = if one { NoAnalysis::OneState } else { NoAnalysis::NoStates };
            self.intake = Some(intake);
            return self.conclude(Err(reason));
        }
        let held = |range: &Range<usize>| with_overlap(&intake.frequency_hz, range);
        let ranges: Vec<Range<usize>> = self.ranges.iter().map(held).collect();
        for (worker, queue) in self.queues.iter_mut().enumerate() {
            let (files, positions): (Vec<usize>, Vec<u32>) = intake
                .states
                .iter()
                .zip(0..)
                .filter(|(state, _)| self.reading.was_read_by(state.file, worker))
                .map(|(state, position)| (state.file, position))
                .unzip();
            let transmission = self.settings.transmission;
            let request = Request::Gather { files, transmission, ranges: ranges.clone() };
            queue.push_back((request, Expected::Gathered { positions }));
        }
        self.intake = Some(intake);
    }

    fn place(&mut self) {
        let Some(intake) = &self.intake else { return };
        for (worker, parcels) in std::mem::take(&mut self.parcels).into_iter().enumerate() {
            let request = Request::Place {
                frequency_hz: intake.frequency_hz.clone(),
                range: self.ranges[worker].clone(),
                words: intake.words(),
                parcels,
            };
            self.queues[worker].push_back((request, Expected::Done));
        }
    }

    fn weigh(&mut self) {
        let Some(intake) = &self.intake else { return };
        let bits = intake.word_bits();
        self.for_owners(|_, range| vec![(Request::Weights { bits }, Expected::Weights(range))]);
    }

    fn centre(&mut self) {
        let Some(intake) = &self.intake else { return };
        self.plan = None;
        let band = Band::of(&intake.frequency_hz, &self.settings);
        if let Some(owner) = self.owner_of(band.centre) {
            self.queues[owner].push_back((Request::StatesAt { index: band.centre }, Expected::States));
        }
        self.band = Some(band);
    }

    fn serve(&mut self) {
        let Some(intake) = &self.intake else { return };
        let band = Band::of(&intake.frequency_hz, &self.settings);
        if let Some(owner) = self.owner_of(band.chosen) {
            self.queues[owner].push_back((Request::ServiceAt { index: band.chosen }, Expected::Service));
        }
        self.band = Some(band);
    }

    /// Decides layout, tolerances and references from the states at the band's centre.
    fn decide(&mut self, states: &[Complex64]) -> Result<(Plan, planning::Decisions), NoAnalysis> {
        let (Some(intake), Some(band)) = (&mut self.intake, &self.band) else {
            return Err(NoAnalysis::NoStates);
        };
        let decided = planning::decide(&self.settings, intake, band, &self.weights, states)?;
        match decided.0.model.layout() {
            Some(layout) => intake.expect_bits(layout.bits()),
            None => intake.expect_what_names_say(),
        }
        Ok(decided)
    }

    fn analysis(&self) -> Option<Analysis> {
        let (plan, decisions) = self.plan.as_ref()?;
        let scores: Option<Vec<FrequencyScores>> = self.scores.iter().cloned().collect();
        let held: Option<Vec<Score>> = self.held.iter().copied().collect();
        planning::analysis(plan, decisions, self.band.as_ref()?, &scores?, &held?, self.service.clone()?)
    }

    fn conclude(&mut self, analysis: Result<Analysis, NoAnalysis>) {
        self.stage = Stage::Ready;
        self.queues.iter_mut().for_each(VecDeque::clear);
        if let Some(intake) = &self.intake {
            let settings = self.settings.clone();
            self.report = Some(Report { settings, intake: intake.clone(), analysis });
        }
    }

    /// Queues requests for every worker that owns frequencies.
    fn for_owners(&mut self, requests: impl Fn(usize, Range<usize>) -> Vec<(Request, Expected)>) {
        for (worker, range) in self.ranges.iter().enumerate().filter(|(_, range)| !range.is_empty()) {
            self.queues[worker].extend(requests(worker, range.clone()));
        }
    }
}

/// Cuts `0..points` into one range a worker, as even as can be.
fn shares(points: usize, workers: usize) -> Vec<Range<usize>> {
    (0..workers).map(|worker| points * worker / workers..points * (worker + 1) / workers).collect()
}

fn slices(range: Range<usize>) -> impl Iterator<Item = Range<usize>> {
    let end = range.end;
    range.step_by(FREQUENCIES_AT_A_TIME).map(move |start| start..(start + FREQUENCIES_AT_A_TIME).min(end))
}
