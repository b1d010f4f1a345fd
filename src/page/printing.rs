//! The sheet on paper: its plots are drawn again when printing begins, so that they are vector graphics there.

use super::app::Handle;
use super::{dom, view_sheet};

/// Listens for the print button and for printing by any other way.
pub fn listen(app: &Handle) {
    dom::on_id("print", "click", |_| {
        let _ = dom::window().print();
    });
    let handle = app.clone();
    // The handler cannot wait for a worker, so it draws from what the page already holds.
    dom::on(&dom::window(), "beforeprint", move |_| {
        let (shown, is_moving) = {
            let state = handle.borrow();
            (state.shown.clone(), state.is_moving)
        };
        if let Some(shown) = shown {
            if is_moving {
                view_sheet::show(&shown);
            }
            view_sheet::draw(&shown);
        }
    });
}
