//! Question 7: what does it do to a signal?

use super::Provenance;
use super::answer::{Answer, Figure, Note};
use super::no_analysis::no_analysis_sentence;
use super::wording::{decibels, degrees, exact, frequency, joined, ratio_percent, whole};
use crate::pipeline::Report;
use crate::signal::{
    Constellation, EvmLimit, NR_BASE_STATION, NR_BASE_STATION_SOURCE, NoConstellation, evm_db, largest_clean,
};
use std::collections::HashSet;

pub(super) fn answer(report: &Report, _provenance: &Provenance) -> Answer {
    let (sentence, figures, notes) = match (&report.analysis, &report.signal) {
        (Err(reason), _) => {
            (format!("No signal can be formed. {}", no_analysis_sentence(reason)), Vec::new(), Vec::new())
        }
        (Ok(_), None) => {
            let waiting = "What the states make of a signal is not worked out yet.".to_owned();
            (waiting, Vec::new(), Vec::new())
        }
        (Ok(_), Some(signal)) => match &signal.constellations {
            Ok(formed) => {
                let at = frequency(report.intake.frequency_hz[signal.index]);
                (sentence(formed, &at), figures(formed), notes())
            }
            Err(why) => (no_constellation_sentence(*why).to_owned(), Vec::new(), Vec::new()),
        },
    };
    Answer {
        key: "use",
        number: 7,
        question: "What does it do to a signal?",
        sentence,
        verdict: None,
        figures,
        notes,
    }
}

/// "64-QAM"; four points are QPSK.
pub fn name(order: u16) -> String {
    if order == 4 { "QPSK".to_owned() } else { format!("{}-QAM", whole(order.into())) }
}

fn largest(formed: &[Constellation]) -> Option<&Constellation> {
    let order = largest_clean(formed)?;
    formed.iter().find(|one| one.order == order)
}

fn sentence(formed: &[Constellation], at: &str) -> String {
    match largest(formed) {
        Some(one) => format!(
            "{} is the largest square constellation that the states form cleanly at {at}, with {} EVM (average power){}.",
            name(one.order),
            ratio_percent(one.evm),
            beyond_guide(one).map_or_else(String::new, |beyond| format!(", {beyond}"))
        ),
        None => format!("The states form no square constellation cleanly at {at}, not even QPSK."),
    }
}

/// That an error lies beyond the guide limit of its order: clean says only which point a state is nearest to.
fn beyond_guide(one: &Constellation) -> Option<String> {
    let limit = guide_limit(one.order).filter(|limit| one.evm > limit.evm)?;
    let percent = exact(100.0 * limit.evm);
    Some(format!("beyond the guide limit of {percent} % for a whole base station"))
}

/// The limit that an order is compared with.
pub fn guide_limit(order: u16) -> Option<&'static EvmLimit> {
    NR_BASE_STATION.iter().find(|limit| limit.order == order)
}

fn figures(formed: &[Constellation]) -> Vec<Figure> {
    let Some(one) = largest(formed) else { return Vec::new() };
    vec![
        Figure::count("largest_clean_order", "Largest clean constellation, points", one.order.into()),
        Figure::ratio("evm_pct", "EVM over average power", one.evm),
        Figure::ratio("evm_of_peak_pct", "EVM over peak power", one.evm_of_peak),
    ]
}

fn notes() -> Vec<Note> {
    let limit = |from_memory: bool| {
        let of = NR_BASE_STATION.iter().filter(move |limit| limit.from_memory == from_memory);
        let text = of.map(|limit| format!("{} % for {}", exact(100.0 * limit.evm), name(limit.order)));
        joined(&text.collect::<Vec<_>>())
    };
    vec![
        Note::remark(
            "Each point is made by its nearest state. A constellation is clean when no two points share a state and each \
             state is nearer to its own point than to any other.",
        )
        .for_page_alone(),
        Note::remark(
            "This is the static error of the states alone, one part of a transmitter's EVM: no transition, noise or \
             compression is in it.",
        ),
        Note::remark(format!(
            "As a guide, {NR_BASE_STATION_SOURCE}, allows a whole base station {} over average power, as publications \
             quote the table, and {} from memory.",
            limit(false),
            limit(true)
        )),
    ]
}

fn guide_text(limit: &EvmLimit) -> String {
    let from_memory = if limit.from_memory { ", from memory" } else { "" };
    format!("{} %{from_memory}", exact(100.0 * limit.evm))
}

/// Every order as a head and rows of texts.
pub fn constellation_rows(report: &Report) -> Option<(Vec<String>, Vec<Vec<String>>)> {
    let formed = report.signal.as_ref()?.constellations.as_ref().ok()?;
    let head = [
        "Constellation",
        "EVM, average power",
        "the same in dB",
        "Guide limit",
        "EVM, peak power",
        "Corner below the full ring",
        "Turn",
        "Clean",
        "States used",
    ];
    let row = |one: &Constellation| {
        let used: HashSet<u32> = one.states.iter().copied().collect();
        let clean = if one.is_clean() {
            "yes".to_owned()
        } else {
            format!("no: {} share a state, {} misread", whole(one.sharing), whole(one.misread))
        };
        vec![
            name(one.order),
            ratio_percent(one.evm),
            decibels(evm_db(one.evm)),
            guide_limit(one.order).map_or_else(|| "–".to_owned(), guide_text),
            ratio_percent(one.evm_of_peak),
            decibels(one.corner_gain_db),
            degrees(one.turn_deg),
            clean,
            whole(used.len()),
        ]
    };
    Some((head.map(str::to_owned).to_vec(), formed.iter().map(row).collect()))
}

fn no_constellation_sentence(why: NoConstellation) -> &'static str {
    match why {
        NoConstellation::NoPhase => "No constellation can be formed, since nothing sets the phase.",
        NoConstellation::NoZeroWord => {
            "No constellation can be formed, since the word of zero gain and phase did not come in."
        }
        NoConstellation::NoGain => {
            "No constellation can be formed, since the full ring transmits nothing here."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_complex::Complex64;

    fn clean(order: u16, evm: f64) -> Constellation {
        Constellation {
            order,
            scale: Complex64::ONE,
            corner_gain_db: 0.0,
            turn_deg: 0.0,
            evm,
            evm_of_peak: evm,
            states: Vec::new(),
            sharing: 0,
            misread: 0,
        }
    }

    /// 17.5 % for QPSK, as publications quote the table.
    #[test]
    fn clean_is_not_good_enough_by_itself() {
        assert_eq!(
            sentence(&[clean(4, 0.449)], "10 GHz"),
            "QPSK is the largest square constellation that the states form cleanly at 10 GHz, with 44.9 % EVM (average \
             power), beyond the guide limit of 17.5 % for a whole base station."
        );
        let within = "QPSK is the largest square constellation that the states form cleanly at 10 GHz, with 17.4 % EVM \
                      (average power).";
        assert_eq!(sentence(&[clean(4, 0.174)], "10 GHz"), within);
        assert!(sentence(&[clean(4096, 0.5)], "10 GHz").ends_with("(average power)."), "no limit is known");
    }
}
