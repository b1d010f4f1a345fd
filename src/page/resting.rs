//! Tells the conductor when the settings, the chosen frequency among them, have come to rest.

use super::app::{self, Handle};
use super::dom;

/// Settings that have not changed for so long are at rest.
const REST_MS: f64 = 300.0;

/// Waits for rest after a change; a later change begins the wait anew.
pub fn await_rest(app: &Handle) {
    let change = {
        let mut state = app.borrow_mut();
        state.changes += 1;
        state.is_moving = true;
        state.changes
    };
    let handle = app.clone();
    dom::after_ms(REST_MS, move || {
        {
            let mut state = handle.borrow_mut();
            if state.changes != change {
                return;
            }
            state.is_moving = false;
            if let Some(conductor) = state.conductor_mut() {
                conductor.rest();
            }
        }
        app::pump(&handle);
    });
}
