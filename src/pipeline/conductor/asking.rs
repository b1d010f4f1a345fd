//! What each stage asks of the workers, and what is made of their replies.

use super::bands::Banding;
use super::reach::Reaching;
use super::references::References;
use super::{Conductor, Expected};
use crate::pipeline::overlap::with_overlap;
use crate::pipeline::planning::{self, Band};
use crate::pipeline::protocol::{FrequencyScores, Plan, Request};
use crate::pipeline::reaching::Reach;
use crate::pipeline::report::{Analysis, NoAnalysis, Report};
use crate::pipeline::signalling::frequencies_looked_at_first;
use crate::pipeline::stage::Stage;
use crate::pipeline::tables::Tables;
use crate::plane::Score;
use crate::run::LeftOutReason;
use num_complex::Complex64;
use std::collections::VecDeque;
use std::ops::Range;
use std::sync::Arc;

/// Frequencies that one request covers: small enough to show progress and, without workers, to let a page breathe.
const FREQUENCIES_AT_A_TIME: usize = 4;

/// The same of requests that carry the words held, which are longer to send than to score at a few frequencies.
const HELD_AT_A_TIME: usize = 16;

impl Conductor {
    pub(super) fn enter(&mut self, stage: Stage) {
        if stage < Stage::Serving {
            self.plan_is_reported = false;
        }
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
            Stage::Fitting => self.fit_in_use(),
            Stage::Analysing => {
                self.scores.fill(None);
                self.for_owners(|_, range| {
                    slices(range)
                        .map(|part| (Request::Analyse(part.clone()), Expected::Scores(part)))
                        .collect()
                });
            }
            Stage::Serving => self.serve(),
            // Nothing can be fetched of a run that was not analysed.
            Stage::Holding if !self.is_analysed() => {}
            Stage::Holding => {
                self.publish_moved();
                self.hold();
            }
            Stage::Ready => {
                let analysis = self.analysis();
                if let Some(analysis) = analysis {
                    self.conclude(Ok(analysis));
                } else if let Some(report) = self.report.as_mut().map(Arc::make_mut) {
                    report.settings = self.settings.clone();
                    self.revision += 1;
                }
            }
            Stage::Grading => self.grade(),
            Stage::Examining => {
                self.publish_parts(false);
                self.examine();
            }
            Stage::Collecting => self.collect_evidence(),
            Stage::Judging => self.judge(),
            Stage::Verifying => self.verify(),
            Stage::Resolving => self.resolve(),
            Stage::Modulating => self.modulate(),
            Stage::Tabling => {
                if !self.banding.goes_on() {
                    self.publish_signal();
                }
                self.tabulate();
            }
            Stage::Surveying => {
                self.publish_tables();
                self.publish_signal();
                self.survey(&frequencies_looked_at_first(self.scores.len()));
            }
            Stage::Comparing => self.compare(),
            Stage::Completing => self.survey(&(0..self.scores.len()).collect::<Vec<_>>()),
            Stage::Checked => self.publish_survey(),
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
        self.intake = Some(Arc::new(intake));
    }

    fn gather(&mut self) {
        let Some(intake) = self.intake.take() else { return };
        let points = intake.frequency_hz.len();
        self.ranges = shares(points, self.workers);
        self.parcels = self.ranges.iter().map(|_| Vec::new()).collect();
        self.weights = vec![Vec::new(); points];
        self.scores = vec![None; points];
        self.held = vec![None; points];
        self.checking.begin(points);
        self.reaching = Reaching::default();
        self.references = References::default();
        self.plan = None;
        self.service = None;
        self.signals.forget();
        self.banding = Banding::default();
        self.grading.begin();
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

    /// Whether every frequency was scored under the plan in use.
    fn is_analysed(&self) -> bool {
        self.plan.is_some() && self.scores.iter().all(Option::is_some)
    }

    fn serve(&mut self) {
        if !self.is_analysed() {
            return;
        }
        let Some(intake) = &self.intake else { return };
        let band = Band::of(&intake.frequency_hz, &self.settings);
        if let Some(owner) = self.owner_of(band.chosen) {
            self.queues[owner].push_back((Request::ServiceAt { index: band.chosen }, Expected::Service));
        }
        self.band = Some(band);
    }

    /// Asks what follows from the states fetched at the chosen frequency.
    fn hold(&mut self) {
        self.held.fill(None);
        let Some(service) = &self.service else { return };
        let index = service.index;
        let states: Vec<u32> =
            service.chosen.iter().filter_map(|served| u32::try_from(served.state).ok()).collect();
        if let Some(owner) = self.owner_of(index) {
            self.queues[owner].push_back((Request::ReachAt { index }, Expected::Reach));
        }
        self.for_owners(|_, range| {
            let request = |part: Range<usize>| Request::Held { states: states.clone(), range: part };
            slices_of(range, HELD_AT_A_TIME)
                .map(|part| (request(part.clone()), Expected::Held(part)))
                .collect()
        });
    }

    /// Puts the states of a frequency that was moved to into the report, and takes out what they make untrue.
    fn publish_moved(&mut self) {
        let Some(report) = self.report.as_mut().filter(|_| self.plan_is_reported).map(Arc::make_mut) else {
            return;
        };
        let (Ok(analysis), Some(service)) = (&mut report.analysis, &self.service) else { return };
        if analysis.service.index == service.index {
            return;
        }
        analysis.service.clone_from(service);
        for at in &mut analysis.frequencies {
            at.held = None;
        }
        report.reach.here = None;
        report.signal = None;
        report.settings.clone_from(&self.settings);
        self.revision += 1;
    }

    /// Decides layout, tolerances and references from the states at the band's centre.
    pub(super) fn decide(&mut self, states: &[Complex64]) -> Result<(Plan, planning::Decisions), NoAnalysis> {
        let (Some(intake), Some(band)) = (&mut self.intake, &self.band) else {
            return Err(NoAnalysis::NoStates);
        };
        let decided = planning::decide(&self.settings, intake, band, &self.weights, states)?;
        let intake = Arc::make_mut(intake);
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
        let (band, service) = (self.band.as_ref()?, self.service.clone()?);
        Some(planning::analysis(plan, decisions, band, &scores?, &held?, service))
    }

    pub(super) fn conclude(&mut self, analysis: Result<Analysis, NoAnalysis>) {
        self.stage = Stage::Ready;
        self.plan_is_reported = analysis.is_ok();
        self.queues.iter_mut().for_each(VecDeque::clear);
        if let Some(intake) = &self.intake {
            let settings = self.settings.clone();
            let checks = self.checks();
            let comparison = if analysis.is_ok() { self.comparison() } else { None };
            let reach = if analysis.is_ok() { self.reach() } else { Reach::default() };
            let largest_clean = if analysis.is_ok() { self.largest_clean() } else { None };
            let tables = if analysis.is_ok() { self.tables() } else { Tables::default() };
            self.revision += 1;
            self.report = Some(Arc::new(Report {
                settings,
                intake: intake.clone(),
                analysis,
                checks,
                reach,
                comparison,
                signal: None,
                largest_clean,
                tables,
                parts: None,
            }));
        }
    }

    /// Queues requests for every worker that owns frequencies.
    pub(super) fn for_owners(&mut self, requests: impl Fn(usize, Range<usize>) -> Vec<(Request, Expected)>) {
        for (worker, range) in self.ranges.iter().enumerate().filter(|(_, range)| !range.is_empty()) {
            self.queues[worker].extend(requests(worker, range.clone()));
        }
    }
}

/// Cuts `0..points` into one range a worker, as even as can be.
fn shares(points: usize, workers: usize) -> Vec<Range<usize>> {
    (0..workers).map(|worker| points * worker / workers..points * (worker + 1) / workers).collect()
}

pub(super) fn slices(range: Range<usize>) -> impl Iterator<Item = Range<usize>> {
    slices_of(range, FREQUENCIES_AT_A_TIME)
}

/// Cuts a range into pieces of at most so many.
pub(super) fn slices_of(range: Range<usize>, most: usize) -> impl Iterator<Item = Range<usize>> {
    let end = range.end;
    range.step_by(most).map(move |start| start..(start + most).min(end))
}
