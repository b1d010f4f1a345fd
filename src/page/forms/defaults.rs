//! Which settings are still the tool's own: said beside each control, until the user sets it.

use crate::page::dom::{self, by_id};
use crate::pipeline::Settings;
use web_sys::Element;

/// Whether something is as it is without the user.
type IsDefault = fn(&Settings) -> bool;

/// Controls that share one parent, and whether what they show is the default.
const DEFAULTS: [(&[&str], IsDefault); 12] = [
    (&["held-codes"], |settings| settings.held_codes.is_empty()),
    (&["reference"], |settings| settings.reference == Settings::default().reference),
    (&["rule"], |settings| settings.rule == Settings::default().rule),
    (&["tolerance-gain"], |settings| settings.tolerance.is_none()),
    (&["tolerance-percent"], |settings| settings.tolerance.is_none()),
    (&["tolerance-phase"], |settings| settings.tolerance.is_none()),
    (&["band-low", "band-high"], |settings| settings.design_band_hz.is_none()),
    (&["every-gain"], |settings| settings.target_grid.every_gain == 1),
    (&["every-phase"], |settings| settings.target_grid.every_phase == 1),
    (&["transmission"], |settings| settings.transmission == Settings::default().transmission),
    (&["band-error"], |settings| settings.band_error == Settings::default().band_error),
    (&["usable-share"], |settings| {
        settings.usable_share_pct.total_cmp(&Settings::default().usable_share_pct).is_eq()
    }),
];

/// Puts the marks beside the controls.
pub fn listen() {
    for (controls, _) in DEFAULTS {
        let id = mark_of(controls);
        let mark = dom::make("small", "default");
        mark.set_class_name("default");
        dom::attribute(&mark, "id", &id);
        // It stands in the control's label and is no part of its name: whoever hears the page hears it as a description.
        dom::attribute(&mark, "aria-hidden", "true");
        for control in controls {
            let control: Element = by_id(control);
            dom::describe(&control, &id, true);
            if let Some(parent) = control.parent_element() {
                dom::append(&parent, &mark);
            }
        }
    }
}

/// Shows the mark where it is true.
pub fn show(settings: &Settings) {
    for (controls, is_default) in DEFAULTS {
        let (id, is_default) = (mark_of(controls), is_default(settings));
        dom::show(&id, is_default);
        for control in controls {
            dom::describe(&by_id(control), &id, is_default);
        }
    }
}

fn mark_of(controls: &[&str]) -> String {
    format!("{}-default", controls.first().copied().unwrap_or_default())
}
