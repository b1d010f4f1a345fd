//! Everything that the user may set, with a default for each so that a folder alone is enough.

use crate::control::Layout;
use crate::plane::{ReferencePolicy, Tolerance};
use serde::{Deserialize, Serialize};

pub use crate::table::ControllerMap;

/// Which S-parameter is the transmission.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum TransmissionParameter {
    /// From port 1 to port 2.
    #[default]
    S21,
    /// From port 2 to port 1.
    S12,
}

/// The user's settings. `None` means "as the tool proposes".
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Settings {
    /// Format of this file.
    pub settings_version: u32,
    /// The part's name, printed on the sheet.
    pub part_name: String,
    /// The operator's name, printed on the sheet.
    pub operator: String,
    /// Which S-parameter is the transmission.
    pub transmission: TransmissionParameter,
    /// The layout of the control word; guessed from the bit weights where `None`.
    pub layout: Option<Layout>,
    /// What all states are divided by.
    pub reference: ReferencePolicy,
    /// Tolerances; half a step of the finest gain and of the finest phase field where `None`.
    pub tolerance: Option<Tolerance>,
    /// The chosen frequency in hertz; the design band's centre where `None`.
    pub frequency_hz: Option<f64>,
    /// The design band in hertz, both ends included; the whole grid where `None`.
    pub design_band_hz: Option<(f64, f64)>,
    /// No exported table may hold a state with more gain than this, in dB of the transmission's own magnitude.
    pub gain_ceiling_db: Option<f64>,
    /// How words travel to the controller.
    pub controller_map: ControllerMap,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            settings_version: Self::VERSION,
            part_name: String::new(),
            operator: String::new(),
            transmission: TransmissionParameter::default(),
            layout: None,
            reference: ReferencePolicy::ZeroWord,
            tolerance: None,
            frequency_hz: None,
            design_band_hz: None,
            gain_ceiling_db: None,
            controller_map: ControllerMap::default(),
        }
    }
}

/// Why a settings file cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SettingsError {
    /// It is not the JSON that this tool writes.
    NotSettings(String),
    /// It was written by a newer version.
    NewerVersion(u32),
    /// Its values contradict each other or are out of range.
    Unusable(String),
}

impl std::fmt::Display for SettingsError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotSettings(detail) => write!(f, "This is not a settings file of Sweepfold ({detail})."),
            Self::NewerVersion(version) => {
                write!(
                    f,
                    "The settings file has version {version}; this page reads up to {}.",
                    Settings::VERSION
                )
            }
            Self::Unusable(detail) => write!(f, "The settings file cannot be used: {detail}"),
        }
    }
}

impl std::error::Error for SettingsError {}

impl Settings {
    /// The settings format that this version writes.
    pub const VERSION: u32 = 1;
}
