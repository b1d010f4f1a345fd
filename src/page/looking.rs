//! What the user looks at: the selects that choose what plots show.

use super::app::Handle;
use super::dom::{self, by_id};
use super::{picking, showing};
use crate::export::View;
use crate::sheet::signal::name;
use crate::signal::ORDERS;
use web_sys::{Element, HtmlSelectElement};

/// Offers every order of constellation and listens to the choice.
pub fn listen(app: &Handle) {
    let select: Element = by_id("use-order");
    for order in ORDERS {
        let option = dom::make("option", &name(order));
        dom::attribute(&option, "value", &order.to_string());
        dom::append(&select, &option);
    }
    let handle = app.clone();
    dom::on_id("use-order", "change", move |_| showing::render_soon(&handle));
}

/// The choices as they stand.
pub fn view(app: &Handle) -> View {
    let state = app.borrow();
    View {
        field: usize::try_from(by_id::<HtmlSelectElement>("parts-field").selected_index()).unwrap_or(0),
        figure: dom::selected("parts-figure"),
        order: dom::selected("use-order").parse().ok(),
        picked: state.picking.state,
        pointed: state.picking.pointed,
        trace: picking::known_trace(&state),
        window: state.picking.window,
    }
}
