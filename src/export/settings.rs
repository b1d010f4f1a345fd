//! `settings.json`: layout and every setting, offered only if it reads back as what was meant.

use super::refused::ExportRefused;
use crate::pipeline::{Report, Settings};
use crate::sheet::Sheet;

pub(super) fn make(report: &Report, _sheet: &Sheet) -> Result<Vec<u8>, ExportRefused> {
    // Where the layout was guessed, the guess is written, so that the file restores what the answers stand on.
    let mut settings = report.settings.clone();
    if settings.layout.is_none()
        && let Ok(analysis) = &report.analysis
    {
        settings.layout = Some(analysis.layout.clone());
    }
    let json = settings.write().map_err(ExportRefused::Settings)?;
    let read = Settings::read(&json).map_err(ExportRefused::Settings)?;
    if read == settings {
        Ok(json.into_bytes())
    } else {
        Err(ExportRefused::ReadBack("a setting changed".to_owned()))
    }
}
