//! How long the resolution map and the constellations of one frequency take for 4,096 states, on one core; and how the
//! search from the most promising starts compares with the search from all of them, on made-up parts.
//!
//! `cargo run --release --example signal_speed`; with an order as argument, that order and those below it are also
//! searched from every start, which takes minutes for the large ones.

#[path = "../reach_and_signal/mod.rs"]
mod reach_and_signal;

use reach_and_signal::{Sequence, measured_part, two_fields};
use std::time::{Duration, Instant};
use sweepfold::control::{ControlModel, Word};
use sweepfold::plane::{Place, StateIndex};
use sweepfold::reach::{EvenSteps, ResolutionMap};
use sweepfold::signal::{Constellations, ORDERS, largest_clean};
use sweepfold::table::Finder;

const PARTS: [((u8, f64), (u8, f64)); 4] =
    [((6, 5.625), (6, 0.5)), ((7, 2.8125), (5, 1.0)), ((5, 11.25), (5, 0.5)), ((4, 22.5), (4, 1.0))];

/// The fastest of nine times, since the machine may be busy.
fn fastest<T>(work: impl Fn() -> Option<T>) -> Option<(T, Duration)> {
    let timed = (0..9).map(|_| {
        let start = Instant::now();
        work().map(|value| (value, start.elapsed()))
    });
    timed.flatten().min_by_key(|(_, took)| *took)
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let highest: u16 = std::env::args().nth(1).map_or(Ok(0), |order| order.parse())?;
    for (phase, gain) in PARTS {
        for off in [0.0, 0.02, 0.08] {
            let layout = two_fields(phase, gain);
            let states = measured_part(&layout, off, &mut Sequence(u64::from(phase.0) + 100));
            let words: Vec<Word> = (0..1 << layout.bits()).map(Word).collect();
            let model: ControlModel = layout.into();
            println!("{} phase and {} gain bits, off by {off}", phase.0, gain.0);

            let steps = EvenSteps::new(&model).map_err(|reason| format!("{reason:?}"))?;
            let places = Place::all(&states, 1.0.into());
            let (map, took) = fastest(|| Some(ResolutionMap::new(&steps, &places))).ok_or("no map")?;
            println!("  resolution map {took:?}, clean {:?}", map.clean_bits());

            let index = StateIndex::new(&words);
            let start = Instant::now();
            let prepared =
                Constellations::new(&model, &words, &index).map_err(|reason| format!("{reason:?}"))?;
            let once = start.elapsed();
            let finder = Finder::new(&states, &words);
            let (found, took) = fastest(|| prepared.at(&states, &finder)).ok_or("no constellations")?;
            let clean = largest_clean(&found);
            println!("  constellations prepared {once:?}, all orders {took:?}, largest clean {clean:?}");
            let (alone, took) =
                fastest(|| Some(prepared.largest_clean_at(&states, &finder))).ok_or("no constellations")?;
            println!("  the largest clean one alone {took:?}");
            if alone != clean {
                return Err(format!("found {alone:?} instead").into());
            }
            for one in &found {
                print!(
                    "  {:5}: {:.5} %, corner {:.3} dB, turn {:.3}°",
                    one.order,
                    100.0 * one.evm,
                    one.corner_gain_db,
                    one.turn_deg
                );
                if ORDERS.contains(&one.order) && one.order <= highest {
                    let start = Instant::now();
                    let all = prepared.at_from_every_start(&states, &finder, one.order).ok_or("none")?;
                    print!("; from every start {:.5} % in {:?}", 100.0 * all.evm, start.elapsed());
                    print!(", {:+.3} % of it", 100.0 * (one.evm / all.evm - 1.0));
                }
                println!();
            }
        }
    }
    Ok(())
}
