//! The checks of a run: they follow its report, which they complete, and are made again only where something that they
//! rest on has changed.

use super::asking::slices_of;
use super::{Conductor, Expected};
use crate::checks::{self, Certainty, Evidence, Fault, FilePhysics, Finding, physics_findings, verdict};
use crate::control::Word;
use crate::pipeline::checking::facts;
use crate::pipeline::protocol::{Case, Judgement, Known, Parameters, Request};
use crate::pipeline::report::{Checks, LayoutOrigin};
use crate::pipeline::settings::TransmissionParameter;
use crate::pipeline::stage::Stage;
use crate::run::{Capture, CaptureOrder, Repeat, State};
use num_complex::Complex64;
use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

/// Frequencies that one request covers. Each has its own sums over all states, so it is worth more than a few.
const FREQUENCIES_AT_A_TIME: usize = 16;

/// How far the checks of a run are.
#[derive(Default)]
pub(super) struct Checking {
    /// When each file was last changed, in seconds, as far as it is known; `None` until that was told.
    modified_s: Option<Vec<Option<f64>>>,
    capture: Option<Capture>,
    /// Whether the words were examined as words of bits.
    has_bits: bool,
    /// The order of capture that the user gave for it.
    given_order: CaptureOrder,
    /// The frequencies searched, by grid index.
    examined: Vec<bool>,
    evidence: Option<Evidence>,
    /// The transmission of files that hold captures of repeated words.
    repeats: HashMap<usize, Vec<Complex64>>,
    judgement: Option<Judgement>,
    /// What the files' own parameters say, as far as they have been asked.
    physics: Option<Vec<(Word, FilePhysics)>>,
}

impl Checking {
    /// Other states, or another grid: nothing that was found holds any more.
    pub(super) fn begin(&mut self, points: usize) {
        let modified_s = self.modified_s.take();
        *self = Self { modified_s, examined: vec![false; points], ..Self::default() };
    }

    /// The evidence stands, but what it is held against has changed.
    pub(super) fn forget_judgement(&mut self) {
        self.judgement = None;
    }

    /// How many frequencies were searched.
    pub(super) fn examined(&self) -> usize {
        self.examined.iter().filter(|examined| **examined).count()
    }

    pub(super) fn note_examined(&mut self, range: Range<usize>) {
        range.for_each(|index| self.examined[index] = true);
    }

    pub(super) fn take_evidence(&mut self, evidence: Evidence) {
        self.evidence = Some(match self.evidence.take() {
            Some(other) => other.merge(evidence),
            None => evidence,
        });
    }

    pub(super) fn take_repeats(
        &mut self,
        files: impl Iterator<Item = (usize, Parameters)>,
        transmission: TransmissionParameter,
    ) {
        self.repeats.extend(files.map(|(file, parameters)| match transmission {
            TransmissionParameter::S21 => (file, parameters.s21),
            TransmissionParameter::S12 => (file, parameters.s12),
        }));
    }

    /// The captures of repeated words.
    fn repeated(&self) -> Vec<checks::Capture> {
        let repeats = self.capture.iter().flat_map(|capture| &capture.repeats);
        let of = |repeat: &Repeat| {
            let transmission = self.repeats.get(&repeat.file)?.clone();
            Some(checks::Capture {
                word: repeat.word,
                place: repeat.place,
                time_s: repeat.time_s,
                transmission,
            })
        };
        repeats.filter_map(of).collect()
    }

    /// Of every word that was captured more than once the first capture that is not its state's, and which the run's tables
    /// were hence not chosen from: its transmission at every frequency.
    pub(super) fn second_captures(&self, states: &[State]) -> HashMap<Word, &[Complex64]> {
        let own: HashMap<Word, usize> = states.iter().map(|state| (state.word, state.file)).collect();
        let mut second = HashMap::new();
        for repeat in self.capture.iter().flat_map(|capture| &capture.repeats) {
            if own.get(&repeat.word).is_some_and(|own| *own != repeat.file)
                && let Some(transmission) = self.repeats.get(&repeat.file)
            {
                second.entry(repeat.word).or_insert(transmission.as_slice());
            }
        }
        second
    }

    pub(super) fn take_judgement(&mut self, judgement: Judgement) {
        self.judgement = Some(judgement);
    }

    /// The noise at each frequency, linear, where it could be told.
    pub(super) fn noise_at(&self) -> Option<&[f64]> {
        let judgement = self.judgement.as_ref()?;
        Some(&judgement.noise_at[..]).filter(|noise_at| !noise_at.is_empty())
    }

    pub(super) fn take_physics(&mut self, physics: impl Iterator<Item = (Word, FilePhysics)>) {
        self.physics.get_or_insert_default().extend(physics);
    }
}

impl Conductor {
    /// Whether the checks wait to be told when the files were last changed. That is asked for only now, because asking
    /// takes a browser as long as reading a small file.
    pub fn wants_times(&self) -> bool {
        self.stage.is_ready() && self.has_states() && self.checking.modified_s.is_none()
    }

    /// Whether a report stands that the checks have yet to complete; all but the references' comparison belongs to them.
    pub fn is_being_checked(&self) -> bool {
        self.stage.is_ready() && self.has_states() && self.stage < Stage::Surveying
    }

    /// Whether a report stands in which something is still missing.
    pub fn is_being_completed(&self) -> bool {
        self.stage.is_ready() && self.has_states() && self.stage != Stage::Checked
    }

    /// Tells when each file was last changed, in seconds, as far as it is known: `modified_s` runs beside the files.
    pub fn give_times(&mut self, modified_s: Vec<Option<f64>>) {
        self.checking.modified_s = Some(modified_s);
        self.advance_if_idle();
    }

    /// What the checks say, if they are complete.
    pub(super) fn checks(&self) -> Option<Checks> {
        let judgement = self.checking.judgement.as_ref()?;
        let capture = self.checking.capture.clone()?;
        let mut findings = judgement.findings.clone();
        if self.asks_for_physics() {
            let physics = self.checking.physics.as_ref()?;
            findings.extend(physics_findings(physics, &facts(&self.known()?)));
        }
        if self.intake.as_ref().is_some_and(|intake| intake.one_path) {
            findings.push(Finding {
                fault: Fault::OnePath,
                words: Vec::new(),
                band_hz: None,
                certainty: Certainty::Certain,
                correction: None,
                run_words: None,
            });
        }
        findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity()));
        Some(Checks {
            verdict: verdict(&findings),
            findings,
            capture,
            noise: judgement.noise.clone(),
            snr_db: judgement.snr_db.clone(),
        })
    }

    pub(super) fn examine(&mut self) {
        if !self.has_states() {
            return;
        }
        let Some(intake) = &self.intake else { return };
        let has_bits = self.settings.layout.is_some() || intake.listed.is_none();
        let given = self.settings.capture_order;
        if (self.checking.has_bits, self.checking.given_order) != (has_bits, given) {
            self.checking.begin(intake.frequency_hz.len());
        }
        if self.checking.capture.is_none() {
            let times = self.checking.modified_s.as_deref().unwrap_or_default();
            let capture = Capture::of(&intake.states, &intake.repeats, intake.index.as_ref(), times, given);
            let request = Request::Examination { capture_order: capture.order.clone(), has_bits };
            self.checking.capture = Some(capture);
            self.checking.has_bits = has_bits;
            self.checking.given_order = given;
            self.for_owners(|_, _| vec![(request.clone(), Expected::Done)]);
        }
        let examined = self.checking.examined.clone();
        self.for_owners(|_, range| {
            slices_of(range, FREQUENCIES_AT_A_TIME)
                .filter(|part| part.clone().any(|index| !examined[index]))
                .map(|part| (Request::Examine(part.clone()), Expected::Examined(part)))
                .collect()
        });
    }

    pub(super) fn collect_evidence(&mut self) {
        if !self.has_states() || self.checking.evidence.is_some() {
            return;
        }
        self.for_owners(|_, _| vec![(Request::Evidence, Expected::Evidence)]);
        let repeats = self.checking.capture.iter().flat_map(|capture| &capture.repeats);
        for (worker, queue) in self.queues.iter_mut().enumerate() {
            let files: Vec<usize> = repeats
                .clone()
                .map(|repeat| repeat.file)
                .filter(|file| self.reading.was_read_by(*file, worker))
                .collect();
            if !files.is_empty() {
                queue.push_back((Request::Parameters { files: files.clone() }, Expected::Repeats(files)));
            }
        }
    }

    pub(super) fn judge(&mut self) {
        if self.checking.judgement.is_none()
            && let Some((evidence, known)) = self.checking.evidence.clone().zip(self.known())
        {
            let case = Case { evidence, known, repeats: self.checking.repeated() };
            self.queues[0].push_back((Request::Judge(Box::new(case)), Expected::Judged));
        }
    }

    pub(super) fn verify(&mut self) {
        if !self.asks_for_physics() || self.checking.physics.is_some() {
            return;
        }
        let (Some(intake), Some(judgement)) = (&self.intake, &self.checking.judgement) else { return };
        for (worker, queue) in self.queues.iter_mut().enumerate() {
            let held = intake.states.iter().filter(|state| self.reading.was_read_by(state.file, worker));
            let (files, words): (Vec<usize>, Vec<Word>) = held.map(|state| (state.file, state.word)).unzip();
            let request = Request::Physics { files, noise_at: judgement.noise_at.clone() };
            queue.push_back((request, Expected::Physics(words)));
        }
    }

    pub(super) fn publish_checks(&mut self) {
        let checks = self.checks();
        self.revision += 1;
        if let Some(report) = self.report.as_mut().map(Arc::make_mut) {
            report.settings = self.settings.clone();
            report.checks = checks;
        }
        self.publish_parts(true);
    }

    /// Whether the states were placed with workers, where they can be examined.
    fn has_states(&self) -> bool {
        self.intake.as_ref().is_some_and(|intake| intake.states.len() > 1)
    }

    /// Passivity and reciprocity are asked of passive parts that were measured both ways.
    fn asks_for_physics(&self) -> bool {
        let one_path = self.intake.as_ref().is_some_and(|intake| intake.one_path);
        !self.settings.part_is_active && !one_path
    }

    fn known(&self) -> Option<Known> {
        let (intake, band) = (self.intake.as_ref()?, self.band.as_ref()?);
        let grid = &intake.frequency_hz;
        let in_use = self.plan.as_ref().and_then(|(plan, decisions)| {
            let guessed = matches!(decisions.layout_origin, LayoutOrigin::Guessed(_));
            Some((plan.model.layout()?.clone(), guessed))
        });
        Some(Known {
            words: intake.words(),
            frequency_hz: grid.clone(),
            design_band_hz: (*grid.get(*band.design.start())?, *grid.get(*band.design.end())?),
            capture: self.checking.capture.clone()?,
            layout: in_use,
            zero_word_loss_db: self.settings.zero_word_loss_db,
        })
    }
}
