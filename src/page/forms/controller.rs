//! What the controller takes: the gain ceiling and the map from measured bits to its bus.

use super::input::{exact_input, number, numbers, positions};
use crate::page::app::{self, Handle};
use crate::page::dom::{self, by_id};
use crate::pipeline::Settings;
use crate::table::ControllerMap;
use web_sys::HtmlInputElement;

/// Listens to the form.
pub fn listen(app: &Handle) {
    for id in ["ceiling", "bus-bits", "bus-inverted", "bus-reversed"] {
        let handle = app.clone();
        dom::on_id(id, "change", move |_| {
            let message = match controller(&handle) {
                Ok((ceiling, map)) => {
                    app::change_settings(&handle, |settings| {
                        settings.gain_ceiling_db = ceiling;
                        settings.controller_map = map;
                    });
                    None
                }
                Err(reason) => Some(reason),
            };
            dom::set_message("controller-message", message.as_deref());
        });
    }
}

/// Writes the ceiling and the map.
pub fn show(settings: &Settings) {
    dom::set_input("ceiling", &settings.gain_ceiling_db.map(exact_input).unwrap_or_default());
    let map = &settings.controller_map;
    dom::set_input("bus-bits", &numbers(map.bus_bit.iter()));
    let inverted: Vec<u32> = (0..u32::BITS).filter(|bit| map.inverted >> bit & 1 == 1).collect();
    dom::set_input("bus-inverted", &numbers(inverted.iter()));
    by_id::<HtmlInputElement>("bus-reversed").set_checked(map.reversed);
}

fn controller(app: &Handle) -> Result<(Option<f64>, ControllerMap), String> {
    let bus_bit = positions("bus-bits")?;
    let inverted = positions("bus-inverted")?.iter().fold(0_u32, |mask, bit| mask | 1 << bit);
    let map =
        ControllerMap { bus_bit, inverted, reversed: by_id::<HtmlInputElement>("bus-reversed").checked() };
    let bits = app.borrow().shown.as_ref().map(|shown| shown.report.intake.bits);
    if let Some(bits) = bits {
        map.check(bits).map_err(|error| error.to_string())?;
    }
    Ok((number("ceiling")?, map))
}
