//! The reading stage: which files are still to be read, by whom the others were, and what they gave.

use super::protocol::Ticket;
use crate::control::Word;
use crate::control::naming;
use crate::run::{FileFault, FileReport, Intake, Offer, State, assemble};
use std::collections::VecDeque;

/// Files of one request: enough to keep several reads under way, few enough for a lively progress bar.
const FILES_AT_A_TIME: usize = 16;

/// How often workers may die before the run is given up.
const DEATHS_ALLOWED: usize = 8;

/// The files of a run while they are read.
pub struct Reading {
    source: String,
    naming: String,
    offers: Vec<Offer>,
    words: Vec<Option<Word>>,
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
    pub fn new(source: &str, mut offers: Vec<Offer>, workers: usize) -> Self {
        offers.sort_by(|a, b| naming::natural_order(&a.path, &b.path));
        let (words, naming) = read_names(&offers);
        Self::queued(source, naming, offers, words, workers)
    }

    /// The same where the words are known and the names need not be read.
    pub fn with_words(source: &str, mut offers: Vec<(Offer, Word)>, naming: &str, workers: usize) -> Self {
        offers.sort_by(|a, b| naming::natural_order(&a.0.path, &b.0.path));
        let (offers, words) = offers.into_iter().map(|(offer, word)| (offer, Some(word))).unzip();
        Self::queued(source, naming.to_owned(), offers, words, workers)
    }

    fn queued(
        source: &str,
        naming: String,
        offers: Vec<Offer>,
        words: Vec<Option<Word>>,
        workers: usize,
    ) -> Self {
        let tickets: Vec<Ticket> = offers
            .iter()
            .enumerate()
            .filter(|(_, offer)| offer.is_s_parameter_file)
            .map(|(file, offer)| Ticket { file, name: file_name(&offer.path).to_owned(), bytes: offer.bytes })
            .collect();
        // A short run is still spread over all workers.
        let at_a_time = FILES_AT_A_TIME.min(tickets.len().div_ceil(workers)).max(1);
        Self {
            source: source.to_owned(),
            naming,
            waiting: tickets.chunks(at_a_time).map(<[Ticket]>::to_vec).collect(),
            deaths: vec![0; offers.len()],
            all_deaths: 0,
            reader: vec![None; offers.len()],
            reports: vec![None; offers.len()],
            words,
            offers,
        }
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
            self.reports[file] = Some(FileReport { file, bytes: ticket.bytes, digest: [0; 32], outcome });
        }
        for file in 0..self.offers.len() {
            if self.reader[file] == Some(worker) {
                self.reader[file] = None;
                self.reports[file] = None;
                let Offer { path, bytes, .. } = &self.offers[file];
                self.waiting.push_back(vec![Ticket {
                    file,
                    name: file_name(path).to_owned(),
                    bytes: *bytes,
                }]);
            }
        }
        Ok(())
    }

    /// The path of a file.
    pub fn path(&self, file: usize) -> &str {
        &self.offers[file].path
    }

    /// How the names were read, as a sentence.
    pub fn naming(&self) -> &str {
        &self.naming
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

    /// Bytes read, of all that are to be read.
    pub fn bytes(&self) -> (u64, u64) {
        let read = self.reports.iter().flatten().map(|report| report.bytes).sum();
        (read, self.to_read().map(|(_, offer)| offer.bytes).sum())
    }

    /// What came in so far.
    pub fn assemble(&self) -> Intake {
        assemble(&self.source, &self.naming, &self.offers, &self.words, &self.reports)
    }

    fn to_read(&self) -> impl Iterator<Item = (usize, &Offer)> {
        self.offers.iter().enumerate().filter(|(_, offer)| offer.is_s_parameter_file)
    }
}

/// The likeliest reading of the S-parameter files' names, and the sentence that says how they were read.
fn read_names(offers: &[Offer]) -> (Vec<Option<Word>>, String) {
    let named: Vec<usize> = (0..offers.len()).filter(|&file| offers[file].is_s_parameter_file).collect();
    let paths: Vec<String> = named.iter().map(|&file| offers[file].path.clone()).collect();
    let mut words = vec![None; offers.len()];
    match naming::readings(&paths) {
        Ok(readings) => {
            let Some(reading) = readings.into_iter().next() else { return (words, String::new()) };
            for (file, word) in named.into_iter().zip(reading.words) {
                words[file] = word;
            }
            (words, reading.sentence)
        }
        Err(reason) => (words, reason.to_string()),
    }
}

fn file_name(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or(path)
}
