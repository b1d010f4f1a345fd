//! The rules of the word table: reference, tolerances, design band, transmission.

use super::input::{exact_input, number};
use crate::control::Word;
use crate::page::app::{self, Handle};
use crate::page::dom::{self, by_id};
use crate::pipeline::{Settings, TransmissionParameter};
use crate::plane::{ReferencePolicy, Tolerance};
use crate::sheet::{reference_name, reference_name_in, rule_name};
use crate::table::SelectionRule;
use web_sys::{Element, HtmlSelectElement};

const RULES: [SelectionRule; 3] =
    [SelectionRule::Nearest, SelectionRule::ToleranceFirst, SelectionRule::Weighted];

/// A change that an input asks for.
type Change = Box<dyn FnOnce(&mut Settings)>;

/// Listens to the form.
pub fn listen(app: &Handle) {
    let reference: Element = by_id("reference");
    for policy in ReferencePolicy::OFFERED {
        let option = dom::make("option", reference_name(policy));
        dom::attribute(&option, "value", reference_name(policy));
        dom::append(&reference, &option);
    }
    let option = dom::make("option", "a word");
    dom::attribute(&option, "value", reference_name(ReferencePolicy::Word(Word(0))));
    dom::append(&reference, &option);
    let rule: Element = by_id("rule");
    for offered in RULES {
        let option = dom::make("option", rule_name(offered));
        dom::attribute(&option, "value", rule_name(offered));
        dom::append(&rule, &option);
    }
    for id in [
        "reference",
        "reference-word",
        "rule",
        "tolerance-gain",
        "tolerance-percent",
        "tolerance-phase",
        "band-low",
        "band-high",
        "transmission",
    ] {
        let handle = app.clone();
        dom::on_id(id, "change", move |_| {
            let message = match rules(id) {
                Ok(change) => {
                    app::change_settings(&handle, change);
                    None
                }
                Err(reason) => Some(reason),
            };
            dom::set_message("rules-message", message.as_deref());
        });
    }
    let handle = app.clone();
    dom::on_id("rules-reset", "click", move |_| {
        app::change_settings(&handle, |settings| {
            let proposed = Settings::default();
            settings.reference = proposed.reference;
            settings.rule = proposed.rule;
            settings.target_grid = proposed.target_grid;
            settings.tolerance = None;
            settings.design_band_hz = None;
            settings.transmission = proposed.transmission;
        });
        dom::set_message("rules-message", None);
    });
}

/// Writes the settings that are no proposals.
pub fn show(settings: &Settings) {
    by_id::<HtmlSelectElement>("transmission").set_value(settings.transmission.name());
    by_id::<HtmlSelectElement>("rule").set_value(rule_name(settings.rule));
}

/// Writes what the analysis uses.
pub fn show_in_use(shown: &app::Shown) {
    let grid = &shown.report.intake.frequency_hz;
    let Ok(analysis) = &shown.report.analysis else { return };
    let reference: HtmlSelectElement = by_id("reference");
    for (policy, index) in ReferencePolicy::OFFERED.into_iter().zip(0..) {
        if let Some(option) = reference.item(index) {
            option.set_text_content(Some(&reference_name_in(policy, &analysis.model)));
        }
    }
    reference.set_value(reference_name(analysis.reference));
    let named = match analysis.reference {
        ReferencePolicy::Word(word) => Some(word.0),
        _ => None,
    };
    dom::show("reference-word-line", named.is_some());
    dom::set_input("reference-word", &named.map_or_else(String::new, |word| word.to_string()));
    let tolerance = &analysis.tolerance;
    dom::set_input("tolerance-gain", &exact_input(tolerance.gain_db));
    dom::set_input("tolerance-percent", &exact_input(tolerance.gain_pct_of_setting));
    dom::set_input("tolerance-phase", &exact_input(tolerance.phase_deg));
    dom::set_input("band-low", &exact_input(grid[*analysis.design_band.start()] / 1e9));
    dom::set_input("band-high", &exact_input(grid[*analysis.design_band.end()] / 1e9));
}

/// The change that one of the rule inputs asks for.
fn rules(id: &str) -> Result<Change, String> {
    match id {
        "reference" => {
            let name = dom::selected("reference");
            let word = ReferencePolicy::Word(Word(0));
            let mut offered = ReferencePolicy::OFFERED.into_iter().chain([word]);
            let policy = offered.find(|&policy| reference_name(policy) == name);
            let policy = policy.ok_or("There is no such reference.")?;
            Ok(Box::new(move |settings| settings.reference = policy))
        }
        "reference-word" => {
            let word = dom::input_value("reference-word").trim().parse::<u32>();
            let word = word.map_err(|_| "A word is a whole number from 0 up.")?;
            Ok(Box::new(move |settings| settings.reference = ReferencePolicy::Word(Word(word))))
        }
        "rule" => {
            let name = dom::selected("rule");
            let rule = RULES.into_iter().find(|&rule| rule_name(rule) == name);
            let rule = rule.ok_or("There is no such rule.")?;
            Ok(Box::new(move |settings| settings.rule = rule))
        }
        "transmission" => {
            let transmission = match dom::selected("transmission").as_str() {
                "S12" => TransmissionParameter::S12,
                _ => TransmissionParameter::S21,
            };
            Ok(Box::new(move |settings| settings.transmission = transmission))
        }
        "band-low" | "band-high" => {
            let (low, high) = (
                positive("band-low", "The band's lower end")?,
                positive("band-high", "The band's upper end")?,
            );
            if low > high {
                return Err("The band's lower end lies above its upper end.".to_owned());
            }
            Ok(Box::new(move |settings| settings.design_band_hz = Some((low * 1e9, high * 1e9))))
        }
        _ => {
            let tolerance = Tolerance {
                gain_db: limit("tolerance-gain", "The gain tolerance")?,
                gain_pct_of_setting: number("tolerance-percent")?.unwrap_or(0.0),
                phase_deg: limit("tolerance-phase", "The phase tolerance")?,
            };
            if tolerance.gain_pct_of_setting < 0.0 {
                return Err("The gain tolerance cannot shrink with the setting.".to_owned());
            }
            Ok(Box::new(move |settings| settings.tolerance = Some(tolerance)))
        }
    }
}

/// A tolerance; an empty input limits nothing.
fn limit(id: &str, name: &str) -> Result<f64, String> {
    match number(id)? {
        None => Ok(f64::INFINITY),
        Some(value) if value >= 0.0 => Ok(value),
        Some(_) => Err(format!("{name} cannot be negative.")),
    }
}

fn positive(id: &str, name: &str) -> Result<f64, String> {
    number(id)?
        .filter(|value| *value > 0.0)
        .ok_or_else(|| format!("{name} has to be a positive number of GHz."))
}
