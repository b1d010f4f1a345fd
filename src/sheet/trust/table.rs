//! The written table of severities, in words.

use super::fault::kind_name;
use crate::checks::{self, Bound, Figure, Limit, Severity};
use crate::sheet::wording::exact;

/// One row as it is read: a kind of fault, when, and how much it then matters.
#[derive(Clone, Debug, PartialEq)]
pub struct SeverityRow {
    /// The kind of fault.
    pub fault: &'static str,
    /// The condition: "a share of at least 5 %, more than 2 % of the words", "else", "always".
    pub condition: String,
    /// How much it then matters.
    pub severity: &'static str,
}

/// The table from which severities and the run's verdict follow, in its order.
pub fn severity_rows() -> Vec<SeverityRow> {
    let rows = checks::table();
    let row = |(index, row): (usize, &checks::Row)| {
        let mut conditions: Vec<String> = Vec::new();
        if !row.any_of.is_empty() {
            let any: Vec<String> = row.any_of.iter().map(limit_text).collect();
            conditions.push(any.join(" or "));
        }
        conditions.extend(row.words_over_pct.map(|pct| format!("more than {} % of the words", exact(pct))));
        let is_first = index == 0 || rows[index - 1].kind != row.kind;
        let condition = match (conditions.is_empty(), is_first) {
            (true, true) => "always".to_owned(),
            (true, false) => "otherwise".to_owned(),
            (false, _) => conditions.join(", "),
        };
        SeverityRow { fault: kind_name(row.kind), condition, severity: severity_word(row.severity) }
    };
    rows.iter().enumerate().map(row).collect()
}

/// A severity as it is read.
pub fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Care => "care",
        Severity::NotToBeTrusted => "not to be trusted",
    }
}

fn limit_text(of: &Limit) -> String {
    let (name, unit) = match of.figure {
        Figure::SharePct => ("share of the state before", " %"),
        Figure::DistancePct => ("distance", " %"),
        Figure::GainDb => ("change of gain", " dB"),
        Figure::PhaseDeg => ("change of phase", "°"),
        Figure::SingularValue => ("singular value", ""),
        Figure::DifferencePct => ("difference", " %"),
        Figure::SnrDb => ("signal-to-noise ratio", " dB"),
        Figure::LeakageDb => ("leakage", " dB"),
    };
    match of.bound {
        Bound::AtLeast(least) => format!("{name} of {}{unit} or more", exact(least)),
        Bound::Below(bound) => format!("{name} below {}{unit}", exact(bound)),
    }
}
