//! The reading stage: which files are still to be read, by whom the others were, and what they gave.

use super::protocol::Ticket;
use crate::control::{Word, naming};
use crate::run::{FileFault, FileReport, Intake, IntakeRules, Names, NamingChoice, Offer, State, assemble};
use std::collections::VecDeque;

/// Files of one request: enough to keep several reads under way, few enough for a lively progress bar.
const FILES_AT_A_TIME: usize = 16;

/// How often workers may die before the run is given up.
const DEATHS_ALLOWED: usize = 8;

/// The files of a run while they are read.
pub struct Reading {
    source: String,
    names: Names,
    /// How the user wants files to be taken.
    rules: IntakeRules,
    offers: Vec<Offer>,
    workers: usize,
    waiting: VecDeque<Vec<Ticket>>,
    /// Times that a worker died with this file in hand.
    deaths: Vec<u8>,
    all_deaths: usize,
    /// The worker that holds each file.
    reader: Vec<Option<usize>>,
    reports: Vec<Option<FileReport>>,
}

impl Reading {
    /// Sorts the offers, reads their names, and queues the S-parameter files among them.
    pub fn new(source: &str, mut offers: Vec<Offer>, rules: IntakeRules, workers: usize) -> Self {
        offers.sort_by(|a, b| naming::natural_order(&a.path, &b.path));
        let names = Names::of(&offers);
        Self::queued(source, offers, names, rules, workers)
    }

    /// The same where the words are known: the names are followed where they say the same, since they may say more.
    pub fn with_words(
        source: &str,
        mut offers: Vec<(Offer, Word)>,
        naming: &str,
        rules: IntakeRules,
        workers: usize,
    ) -> Self {
        offers.sort_by(|a, b| naming::natural_order(&a.0.path, &b.0.path));
        let (offers, words): (Vec<Offer>, Vec<Word>) = offers.into_iter().unzip();
        let names = Names::given(&offers, &words, naming);
        Self::queued(source, offers, names, rules, workers)
    }

    fn queued(source: &str, offers: Vec<Offer>, names: Names, rules: IntakeRules, workers: usize) -> Self {
        let files = offers.len();
        let mut reading = Self {
            source: source.to_owned(),
            names,
            rules,
            workers,
            waiting: VecDeque::new(),
            deaths: vec![0; files],
            all_deaths: 0,
            reader: vec![None; files],
            reports: vec![None; files],
            offers,
        };
        reading.queue_all();
        reading
    }

    fn queue_all(&mut self) {
        let tickets: Vec<Ticket> = self.to_read().map(|(file, _)| self.ticket(file)).collect();
        // A short run is still spread over all workers.
        let at_a_time = FILES_AT_A_TIME.min(tickets.len().div_ceil(self.workers)).max(1);
        self.waiting = tickets.chunks(at_a_time).map(<[Ticket]>::to_vec).collect();
    }

    fn ticket(&self, file: usize) -> Ticket {
        Ticket { file, name: file_name(&self.offers[file].path).to_owned(), path: self.rules.path }
    }

    /// The next files to be read.
    pub fn take(&mut self) -> Option<Vec<Ticket>> {
        self.waiting.pop_front()
    }

    /// Notes what a worker read.
    pub fn accept(&mut self, worker: usize, reports: Vec<FileReport>) {
        for report in reports {
            let file = report.file;
            if file < self.reports.len() {
                self.reader[file] = Some(worker);
                self.reports[file] = Some(report);
            }
        }
        self.read_comments_when_complete();
    }

    fn read_comments_when_complete(&mut self) {
        if self.is_complete() {
            self.names.read_comments(&self.reports);
        }
    }

    /// Takes files in another way from now on; another path through them needs them [read again](Self::read_again).
    pub fn follow(&mut self, rules: IntakeRules) {
        self.rules = rules;
    }

    /// Forgets what was read and begins again.
    pub fn read_again(&mut self) {
        self.reader.fill(None);
        self.reports.fill(None);
        self.queue_all();
    }

    /// A worker died with the files of `in_hand` unread; what it had read is gone too. The files in hand are read
    /// again one by one, and one in whose hands a worker dies twice is given up.
    pub fn worker_died(&mut self, worker: usize, in_hand: Vec<Vec<Ticket>>) -> Result<(), String> {
        self.all_deaths += 1;
        if self.all_deaths > DEATHS_ALLOWED {
            return Err(
                "The workers that read the files stopped too often. Close other pages and try again.".into(),
            );
        }
        for ticket in in_hand.into_iter().flatten() {
            self.deaths[ticket.file] += 1;
            if self.deaths[ticket.file] < 2 {
                self.waiting.push_front(vec![ticket]);
                continue;
            }
            let message = "Reading this file stopped the reader twice, so it is left out.".to_owned();
            let outcome = Err(FileFault { line: None, column: None, message });
            let file = ticket.file;
            self.reports[file] = Some(FileReport { file, bytes: 0, digest: [0; 32], outcome });
        }
        for file in 0..self.offers.len() {
            if self.reader[file] == Some(worker) {
                self.reader[file] = None;
                self.reports[file] = None;
                self.waiting.push_back(vec![self.ticket(file)]);
            }
        }
        self.read_comments_when_complete();
        Ok(())
    }

    /// The number of files offered.
    pub fn offered(&self) -> usize {
        self.offers.len()
    }

    /// The path of a file.
    pub fn path(&self, file: usize) -> &str {
        &self.offers[file].path
    }

    /// How the names were read, as a sentence.
    pub fn naming(&self) -> &str {
        self.names.sentence(self.rules.naming)
    }

    /// Every reading of the names.
    pub fn naming_choices(&self) -> Vec<NamingChoice> {
        self.names.choices(self.rules.naming)
    }

    /// Whether every S-parameter file has been read.
    pub fn is_complete(&self) -> bool {
        self.waiting.is_empty() && self.to_read().all(|(file, _)| self.reports[file].is_some())
    }

    /// Whether a file is held by a worker.
    pub fn was_read_by(&self, file: usize, worker: usize) -> bool {
        self.reader[file] == Some(worker)
    }

    /// The positions of the states whose files each of `workers` workers holds.
    pub fn states_by_worker(&self, states: &[State], workers: usize) -> Vec<Vec<usize>> {
        let mut held = vec![Vec::new(); workers];
        for (position, state) in states.iter().enumerate() {
            if let Some(positions) = self.reader[state.file].and_then(|worker| held.get_mut(worker)) {
                positions.push(position);
            }
        }
        held
    }

    /// Files read, of all that are to be read.
    pub fn files(&self) -> (usize, usize) {
        (self.reports.iter().flatten().count(), self.to_read().count())
    }

    /// Bytes read.
    pub fn bytes(&self) -> u64 {
        self.reports.iter().flatten().map(|report| report.bytes).sum()
    }

    /// Bytes of all that are to be read, where every size is known.
    pub fn all_bytes(&self) -> Option<u64> {
        self.to_read().map(|(_, offer)| offer.bytes).sum()
    }

    /// What came in so far.
    pub fn assemble(&self) -> Intake {
        assemble(&self.source, &self.offers, &self.names, self.rules, &self.reports)
    }

    fn to_read(&self) -> impl Iterator<Item = (usize, &Offer)> {
        self.offers.iter().enumerate().filter(|(_, offer)| offer.is_s_parameter_file)
    }
}

fn file_name(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or(path)
}
