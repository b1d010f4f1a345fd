//! Files that do not fit the run as they are: what is done with them, and the path through more than two ports.

use crate::page::app::{self, Handle, Shown};
use crate::page::dom::{self, by_id};
use crate::page::terms;
use crate::run::{Intake, Interpolation, LeftOutReason, PortPath};
use crate::sheet::wording::counted;
use web_sys::HtmlInputElement;

/// Listens to the form.
pub fn listen(app: &Handle) {
    let handle = app.clone();
    dom::on_id("interpolate", "change", move |_| {
        let wanted = by_id::<HtmlInputElement>("interpolate").checked();
        app::change_settings(&handle, |settings| settings.interpolate = wanted);
    });
    let handle = app.clone();
    dom::on_id("renormalise", "change", move |_| {
        let wanted = by_id::<HtmlInputElement>("renormalise").checked();
        app::change_settings(&handle, |settings| settings.leave_out_other_references = !wanted);
    });
    for id in ["path-input", "path-output"] {
        let handle = app.clone();
        dom::on_id(id, "change", move |_| {
            let message = match path_in_form() {
                Ok(path) => {
                    app::change_settings(&handle, |settings| settings.path = Some(path));
                    None
                }
                Err(reason) => Some(reason),
            };
            dom::set_message("fitting-message", message.as_deref());
        });
    }
}

fn path_in_form() -> Result<PortPath, String> {
    let port = |id: &str| {
        let port = dom::input_value(id).trim().parse::<u8>().ok().filter(|&port| port > 0);
        port.ok_or_else(|| "A port is a whole number, counted from 1.".to_owned())
    };
    let path = PortPath { input: port("path-input")?, output: port("path-output")? };
    if path.input == path.output {
        return Err("The path has to lead from one port to another.".to_owned());
    }
    Ok(path)
}

/// Shows what the run has use for, with what is in use.
pub fn show_in_use(shown: &Shown) {
    let Intake { adapted, left_out, most_ports, path, .. } = &*shown.report.intake;
    let settings = &shown.report.settings;
    let interpolated = adapted.iter().filter(|adapted| adapted.interpolated).count();
    let could_be = left_out.iter().filter(|file| {
        let offered = |interpolation: &Interpolation| matches!(interpolation, Interpolation::Offered { .. });
        matches!(&file.reason, LeftOutReason::OtherGrid { interpolation, .. } if offered(interpolation))
    });
    let on_other_grid = interpolated + could_be.count();
    let renormalised = adapted.iter().filter(|adapted| adapted.renormalised_from.is_some()).count();
    let not_allowed = left_out
        .iter()
        .filter(|file| matches!(&file.reason, LeftOutReason::OtherReference { one_path: false, .. }));
    let of_other_reference = renormalised + not_allowed.count();

    dom::show("interpolate-line", on_other_grid > 0);
    dom::show("renormalise-line", of_other_reference > 0);
    dom::show("path-line", *most_ports > 2);
    dom::show("fitting", on_other_grid + of_other_reference > 0 || *most_ports > 2);
    let files = |count| counted(count, "file", "files");
    terms::label(
        "interpolate-label",
        &format!("Interpolate the {} measured at other frequencies", files(on_other_grid)),
    );
    terms::label(
        "renormalise-label",
        &format!("Renormalise the {} of another reference impedance", files(of_other_reference)),
    );
    by_id::<HtmlInputElement>("interpolate").set_checked(settings.interpolate);
    by_id::<HtmlInputElement>("renormalise").set_checked(!settings.leave_out_other_references);
    dom::set_input("path-input", &path.input.to_string());
    dom::set_input("path-output", &path.output.to_string());
}
