//! How long the tables for the design band take for the 4,096 words × 401 points of the made-up part, beside scoring its
//! frequencies; both shares on one core, one request after the other, messages encoded and decoded as on the page.
//!
//! `cargo run --release --example bands_speed`

use std::collections::HashMap;
use std::time::{Duration, Instant};
use sweepfold::control::Word;
use sweepfold::demo;
use sweepfold::pipeline::protocol::{Reply, Request, decode, encode};
use sweepfold::pipeline::{BandError, Conductor, Settings, Share, TablesRequest, in_turn};
use sweepfold::run::Offer;

/// What one kind of request took: all of them, and the longest one.
#[derive(Clone, Copy, Default)]
struct Took {
    requests: u32,
    all: Duration,
    longest: Duration,
}

impl Took {
    fn note(&mut self, took: Duration) {
        self.requests += 1;
        self.all += took;
        self.longest = self.longest.max(took);
    }
}

const KINDS: [&str; 5] = ["score", "bound", "narrow", "cut", "all else for tables"];

fn kind(request: &Request) -> Option<usize> {
    match request {
        Request::Analyse(_) => Some(0),
        Request::Tables(asked) => Some(match **asked {
            TablesRequest::Bound(_) => 1,
            TablesRequest::List(_) | TablesRequest::Narrow(_) => 2,
            TablesRequest::Cut(_) => 3,
            _ => 4,
        }),
        _ => None,
    }
}

/// The made-up part on a grid of 401 points.
fn part() -> Result<demo::Part, String> {
    let plan = demo::rain_radar();
    let sweep = demo::Sweep { points: 401, ..plan.sweep };
    demo::Part::new(demo::PartPlan { sweep, ..plan }).map_err(|error| error.to_string())
}

/// Answers all requests; per kind what they took, and what the conductor took over the tables.
fn drive(conductor: &mut Conductor, shares: &mut [Share]) -> Result<([Took; 5], Duration), String> {
    let part = part()?;
    let words: HashMap<String, Word> =
        (0..).take(demo::word_count()).map(|word| (part.file_name(Word(word)), Word(word))).collect();
    let (mut took, mut conducting) = ([Took::default(); 5], Duration::ZERO);
    loop {
        let mut idle = true;
        for (worker, share) in shares.iter_mut().enumerate() {
            let Some(assignment) = conductor.next(worker) else { continue };
            idle = false;
            let kind = kind(&assignment.request);
            let start = Instant::now();
            let reply = match assignment.request {
                Request::Read(tickets) => {
                    let read = tickets.iter().map(|ticket| {
                        let bytes = part.file(words[conductor.path(ticket.file)]);
                        share.read_file(ticket, &bytes, in_turn::digest(&bytes))
                    });
                    Reply::Read(read.collect())
                }
                request if kind.is_some() => {
                    let sent = encode(&request).map_err(|error| error.to_string())?;
                    let reply = share.answer(decode(&sent).map_err(|error| error.to_string())?);
                    let back = encode(&reply).map_err(|error| error.to_string())?;
                    decode(&back).map_err(|error| error.to_string())?
                }
                request => share.answer(request),
            };
            let answered = Instant::now();
            conductor.accept(assignment.id, reply);
            if let Some(kind) = kind {
                took[kind].note(answered - start);
                if kind > 0 {
                    conducting += answered.elapsed();
                }
            }
        }
        if idle && conductor.wants_rest() {
            conductor.rest();
        } else if idle && !conductor.wants_times() {
            return Ok((took, conducting));
        } else if idle {
            conductor.give_times(vec![None; conductor.files()]);
        }
    }
}

fn main() -> Result<(), String> {
    let part = part()?;
    let offer = |word| Offer {
        path: part.file_name(Word(word)),
        bytes: None,
        is_s_parameter_file: true,
        contents: None,
    };
    let offers = (0..).take(demo::word_count()).map(offer).collect();
    let mut conductor = Conductor::new(demo::SOURCE_NAME, offers, Settings::default(), 2);
    let mut shares = [Share::default(), Share::default()];
    let whole = Settings::default();
    let runs = [
        ("the whole grid, worst error", whole.clone()),
        ("the whole grid, RMS error", Settings { band_error: BandError::Rms, ..whole.clone() }),
        ("8 to 12 GHz, worst error", Settings { design_band_hz: Some((8e9, 12e9)), ..whole.clone() }),
        (
            "8 to 12 GHz, RMS error",
            Settings { design_band_hz: Some((8e9, 12e9)), band_error: BandError::Rms, ..whole.clone() },
        ),
        ("9.5 to 10.5 GHz, worst error", Settings { design_band_hz: Some((9.5e9, 10.5e9)), ..whole.clone() }),
        ("the whole grid, 50 % held", Settings { held_error_pct: Some(50.0), ..whole }),
    ];
    for (name, settings) in runs {
        conductor.set_settings(settings);
        let (took, conducting) = drive(&mut conductor, &mut shares)?;
        let report = in_turn::report(&conductor)?;
        println!("{name}");
        if let Err(reason) = &report.analysis {
            return Err(format!("{reason:?}"));
        }
        for (kind, took) in KINDS.iter().zip(took) {
            println!("  {kind}: {} requests, {:?}, the longest {:?}", took.requests, took.all, took.longest);
        }
        println!("  the conductor over the tables: {conducting:?}");
        let one = report.tables.band.as_ref().ok_or("no table")?;
        println!("  {:?}: {:?}", one.error, one.table.penalty(one.error));
        match report.tables.fewest.as_deref() {
            Some(fewest) => match &fewest.tables {
                Ok(tables) => println!("  {:?}: {} tables", fewest.limit, tables.len()),
                Err(out) => println!(
                    "  {:?}: out of reach at {}, {} targets",
                    fewest.limit,
                    out.frequency,
                    out.targets.len()
                ),
            },
            None => println!("  no limit suggests itself"),
        }
    }
    Ok(())
}
