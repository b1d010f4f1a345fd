//! The whole path in turn, without workers: for tests, and for a page whose workers were refused.

use super::conductor::Conductor;
use super::protocol::{Reply, Request};
use super::report::Report;
use super::settings::Settings;
use super::share::Share;
use super::stage::Stage;
use crate::run::Offer;
use sha2::{Digest, Sha256};

/// A file's path and how to get its bytes.
pub trait Source {
    /// The paths and sizes of all files.
    fn offers(&self) -> Vec<Offer>;
    /// The bytes of the file with this path.
    fn bytes(&self, path: &str) -> Vec<u8>;
    /// When the file with this path was last changed, in seconds from any start.
    fn modified_s(&self, _path: &str) -> Option<f64> {
        None
    }
}

/// Takes a run from files to the report with a number of shares, as the page does with as many workers, and gives
/// back the conductor with the shares so that more can be asked.
pub fn run(name: &str, source: &impl Source, settings: Settings, workers: usize) -> (Conductor, Vec<Share>) {
    let mut conductor = Conductor::new(name, source.offers(), settings, workers);
    let mut shares: Vec<Share> = (0..workers.max(1)).map(|_| Share::default()).collect();
    drive(&mut conductor, &mut shares, source);
    (conductor, shares)
}

/// Answers the conductor's requests until it has no more, and tells it the times and the rest that it waits for.
pub fn drive(conductor: &mut Conductor, shares: &mut [Share], source: &impl Source) {
    drive_watched(conductor, shares, source, |_| {});
}

/// The same; `watch` sees every request before it is answered.
pub fn drive_watched(
    conductor: &mut Conductor,
    shares: &mut [Share],
    source: &impl Source,
    mut watch: impl FnMut(&Request),
) {
    loop {
        drive_until_waiting(conductor, shares, source, &mut watch);
        if !conductor.wants_rest() {
            return;
        }
        conductor.rest();
    }
}

/// Answers until the conductor has no more requests, or waits for the settings to come to rest.
pub fn drive_until_waiting(
    conductor: &mut Conductor,
    shares: &mut [Share],
    source: &impl Source,
    mut watch: impl FnMut(&Request),
) {
    loop {
        let mut idle = true;
        for (worker, share) in shares.iter_mut().enumerate() {
            let Some(assignment) = conductor.next(worker) else { continue };
            idle = false;
            watch(&assignment.request);
            let reply = match assignment.request {
                Request::Read(tickets) => {
                    let read = tickets.iter().map(|ticket| {
                        let bytes = source.bytes(conductor.path(ticket.file));
                        share.read_file(ticket, &bytes, digest(&bytes))
                    });
                    Reply::Read(read.collect())
                }
                request => share.answer(request),
            };
            conductor.accept(assignment.id, reply);
        }
        if idle && !conductor.wants_times() {
            return;
        }
        if idle {
            let times = (0..conductor.files()).map(|file| source.modified_s(conductor.path(file))).collect();
            conductor.give_times(times);
        }
    }
}

/// SHA-256 of a file's contents.
pub fn digest(bytes: &[u8]) -> [u8; 32] {
    Sha256::digest(bytes).into()
}

/// The report of a run that is known to be complete.
pub fn report(conductor: &Conductor) -> Result<&Report, String> {
    match (conductor.report(), conductor.stage()) {
        (Some(report), Stage::Checked) => Ok(report),
        (_, stage) => Err(format!("stopped at {stage:?}: {}", conductor.failure())),
    }
}
