//! A finding as a line: what page, sheet and exports say of it.

use super::fault;
use crate::checks::{Certainty, Correction, Finding, Severity};
use crate::control::Word;
use crate::pipeline::Report;
use crate::sheet::wording::{as_sentence, frequency_range, times};
use serde::Serialize;

/// One finding as it is listed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FindingLine {
    /// Its name in exports: `missed word`.
    pub name: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// What was found, in one or two sentences, with the words and frequencies concerned.
    pub sentence: String,
    /// How sure that is; empty where the finding is that it cannot be told.
    pub certainty: String,
    /// What to do about it; empty where nothing is to be done.
    pub advice: &'static str,
    /// The words concerned, ascending; empty where it concerns the run as a whole.
    pub words: Vec<Word>,
    /// First and last frequency in hertz at which it shows; `None` where it shows at all of them.
    pub band_hz: Option<(f64, f64)>,
    /// What pressing its button does, if there is a correction: "Use the layout that fits".
    pub correction: Option<String>,
}

impl FindingLine {
    /// How sure the finding is, where that has to be said: a plain note is meant as certain.
    pub fn certainty_said(&self) -> Option<&str> {
        let is_plain = self.severity == Severity::Note && self.certainty == CERTAIN;
        Some(self.certainty.as_str()).filter(|certainty| !certainty.is_empty() && !is_plain)
    }
}

/// What certainty is called.
const CERTAIN: &str = "certain";

/// The line of a finding.
pub(super) fn of(finding: &Finding, report: &Report) -> FindingLine {
    let at = finding.band_hz.map(|(low, high)| format!(" It shows {}.", frequency_range(low, high)));
    FindingLine {
        name: fault::name(&finding.fault),
        severity: finding.severity(),
        sentence: format!(
            "{}{}",
            as_sentence(&fault::clause(finding, report)),
            fault::detail(finding).map(|detail| format!(" {detail}")).unwrap_or_default()
        ) + &at.unwrap_or_default(),
        certainty: certainty(finding.certainty),
        advice: fault::advice(finding),
        words: finding.words.clone(),
        band_hz: finding.band_hz,
        correction: finding.correction.as_ref().map(|correction| match correction {
            Correction::Layout(_) => "Use the layout that fits".to_owned(),
            Correction::Order(order) => format!("Take the files in {}", super::order_name(*order)),
        }),
    }
}

fn certainty(certainty: Certainty) -> String {
    match certainty {
        Certainty::Certain => CERTAIN.to_owned(),
        Certainty::Sigmas(sigmas) => format!("{} times its own scatter", times(sigmas)),
        Certainty::ResidualRatio(ratio) => format!("explains the data {} times better", times(ratio)),
        Certainty::CannotTell => String::new(),
    }
}
