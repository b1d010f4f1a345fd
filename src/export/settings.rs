//! `settings.json`: layout and every setting, offered only if it reads back as what was meant.

use super::refused::ExportRefused;
use crate::control::{ControlModel, Listing};
use crate::pipeline::{LayoutOrigin, ListedPhases, Report, Settings, UnsignedPhases};
use crate::sheet::Sheet;

pub(super) fn make(report: &Report, _sheet: &Sheet) -> Result<Vec<u8>, ExportRefused> {
    // Where the layout was guessed, or settings proposed, the guess is written, so that the file restores what the answers stand on.
    let mut settings = report.settings.clone();
    if let Ok(analysis) = &report.analysis {
        match &analysis.model {
            ControlModel::Bits(layout) => settings.layout = Some(layout.clone()),
            ControlModel::Listed(Listing::Marks(_, wanted)) => settings.wanted = Some(wanted.clone()),
            ControlModel::Listed(Listing::Settings(_)) => match analysis.layout_origin {
                LayoutOrigin::Listed(ListedPhases::Guessed { lags: true }) => {
                    settings.unsigned_phases = UnsignedPhases::Lags;
                }
                LayoutOrigin::Listed(ListedPhases::Guessed { lags: false }) => {
                    settings.unsigned_phases = UnsignedPhases::Leads;
                }
                _ => {}
            },
        }
    }
    let json = settings.write().map_err(ExportRefused::Settings)?;
    let read = Settings::read(&json).map_err(ExportRefused::Settings)?;
    if read == settings {
        Ok(json.into_bytes())
    } else {
        Err(ExportRefused::ReadBack("a setting changed".to_owned()))
    }
}
