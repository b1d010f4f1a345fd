//! How long each kind of request takes over a whole run: where a second goes, natively and on one core.
//!
//! `cargo run --release --example stages_speed -- FOLDER`

use std::collections::BTreeMap;
use std::path::Path;
use std::time::{Duration, Instant};
use sweepfold::pipeline::protocol::{Reply, Request};
use sweepfold::pipeline::{Conductor, Settings, Share, in_turn};
use sweepfold::run::Offer;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("usage: FOLDER")?;
    let mut offers = Vec::new();
    for entry in std::fs::read_dir(&folder)? {
        let entry = entry?;
        let path = entry.file_name().to_string_lossy().into_owned();
        let bytes = Some(entry.metadata()?.len());
        offers.push(Offer { path, bytes, is_s_parameter_file: true, contents: None });
    }
    let mut conductor = Conductor::new("folder", offers, Settings::default(), 1);
    let mut share = Share::default();
    let mut taken: BTreeMap<String, (usize, Duration)> = BTreeMap::new();
    loop {
        while let Some(assignment) = conductor.next(0) {
            // The variant's name is what comes before its values.
            let name = format!("{:?} {:?}", conductor.stage(), KindOf(&assignment.request));
            let start = Instant::now();
            let reply = match assignment.request {
                Request::Read(tickets) => {
                    let mut reports = Vec::new();
                    for ticket in &tickets {
                        let bytes = std::fs::read(Path::new(&folder).join(conductor.path(ticket.file)))?;
                        reports.push(share.read_file(ticket, &bytes, in_turn::digest(&bytes)));
                    }
                    Reply::Read(reports)
                }
                request => share.answer(request),
            };
            conductor.accept(assignment.id, reply);
            let entry = taken.entry(name).or_default();
            *entry = (entry.0 + 1, entry.1 + start.elapsed());
        }
        if conductor.wants_rest() {
            conductor.rest();
        } else if conductor.wants_times() {
            conductor.give_times(vec![None; conductor.files()]);
        } else {
            break;
        }
    }
    println!("ended at {:?}", conductor.stage());
    for (name, (count, time)) in taken {
        println!("{name}: {count} requests, {time:.2?}");
    }
    Ok(())
}

/// Writes the name of a request's kind.
struct KindOf<'a>(&'a Request);

impl std::fmt::Debug for KindOf<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let kind = match self.0 {
            Request::Read(_) => "Read",
            Request::Gather { .. } => "Gather",
            Request::Place { .. } => "Place",
            Request::Weights { .. } => "Weights",
            Request::Fit { .. } => "Fit",
            Request::FitSums { .. } => "FitSums",
            Request::Compare { .. } => "Compare",
            Request::Analyse(_) => "Analyse",
            Request::Held { .. } => "Held",
            Request::CleanBits(_) => "CleanBits",
            Request::Examine(_) => "Examine",
            Request::Grade { .. } => "Grade",
            _ => "other",
        };
        f.write_str(kind)
    }
}
