//! Under the plots of question 7.

use crate::pipeline::{LargestClean, Report};
use crate::sheet::signal::{guide_limit, name};
use crate::sheet::wording::{counted, decibels, degrees, exact, frequency, joined, ratio_percent, whole};
use crate::signal::{Constellation, NR_BASE_STATION_SOURCE};

/// Of one constellation drawn with its states.
pub fn constellation(report: &Report, one: &Constellation) -> String {
    let at = report.signal.as_ref().map_or_else(String::new, |signal| {
        format!(" at {}", frequency(report.intake.frequency_hz[signal.index]))
    });
    let clean = if one.is_clean() {
        "It is clean.".to_owned()
    } else {
        let (sharing, misread) = (counted(one.sharing, "point shares", "points share"), whole(one.misread));
        format!(
            "It is not clean: {sharing} a state and {misread} have one that is nearer to another point; their discs are open."
        )
    };
    format!(
        "{}{at}, turned upright by {} and scaled to its corner, which lies {} below the full ring. Crosses are the ideal \
         points, discs the states that make them, and the lines between are the error: {} EVM over average power, {} over \
         peak power. {clean}",
        name(one.order),
        degrees(-one.turn_deg),
        decibels(-one.corner_gain_db),
        ratio_percent(one.evm),
        ratio_percent(one.evm_of_peak)
    )
}

/// Of the errors of all constellations beside their limits.
pub fn evm(formed: &[Constellation]) -> String {
    let one = |one: &Constellation| {
        let limit = guide_limit(one.order).map(|limit| {
            let from_memory = if limit.from_memory { ", from memory" } else { "" };
            format!(" (limit {} %{from_memory})", exact(100.0 * limit.evm))
        });
        format!("{} {}{}", name(one.order), ratio_percent(one.evm), limit.unwrap_or_default())
    };
    let all: Vec<String> = formed.iter().map(one).collect();
    format!(
        "Error vector magnitude over average power: {}. The limits are a guide: {NR_BASE_STATION_SOURCE}, sets them for a \
         whole base station, and the static error of the states is only one part of a transmitter's.",
        joined(&all)
    )
}

/// Of the largest clean constellation over frequency.
pub fn largest_clean(report: &Report, found: &LargestClean) -> String {
    let grid = &report.intake.frequency_hz;
    let said = |place: usize| {
        let order = found.orders[place].map_or_else(|| "none".to_owned(), name);
        format!("{order} at {}", frequency(grid[found.looked_at[place]]))
    };
    // Of equal ones the lowest frequency.
    let places = || 0..found.orders.len();
    let least = places().min_by_key(|&place| found.orders[place]).map(said);
    let most = places().rev().max_by_key(|&place| found.orders[place]).map(said);
    let extent = match least.zip(most) {
        Some((least, most)) if least != most => format!(": between {least} and {most}"),
        Some((least, _)) => format!(": {least} and everywhere else"),
        None => String::new(),
    };
    let looked_at = match found.looked_at.get(1) {
        Some(&every) if every > 1 => {
            format!(
                " So far it was looked for at {} of the {} frequencies; the others follow.",
                whole(found.looked_at.len()),
                whole(grid.len())
            )
        }
        _ => String::new(),
    };
    format!("The largest clean constellation against frequency{extent}.{looked_at}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_complex::Complex64;

    fn one(order: u16, evm: f64, sharing: usize) -> Constellation {
        Constellation {
            order,
            scale: Complex64::new(0.5, 0.0),
            corner_gain_db: -1.5,
            turn_deg: -10.5,
            evm,
            evm_of_peak: evm / 2.0,
            states: Vec::new(),
            sharing,
            misread: 0,
        }
    }

    #[test]
    fn errors_stand_beside_their_limits() {
        let said = evm(&[one(4, 0.449, 0), one(1024, 0.05, 0), one(4096, 0.06, 2)]);
        assert!(
            said.starts_with(
                "Error vector magnitude over average power: QPSK 44.9 % (limit 17.5 %), 1,024-QAM 5.0 % (limit 2.5 %, from \
                 memory) and 4,096-QAM 6.0 %. The limits are a guide: 3GPP TS 38.104, Table 6.5.2.2-1, "
            ),
            "{said}"
        );
    }
}
