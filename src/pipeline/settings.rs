//! Everything that the user may set, with a default for each so that a folder alone is enough.

use super::tables::HeldError;
use crate::control::{Field, Layout, TargetGrid, WantedSettings};
use crate::part::{Figure, SpecificationRow, TypicalCurve};
use crate::plane::{ReferencePolicy, Tolerance};
use crate::run::{CaptureOrder, IntakeRules, Naming, OrderOfFiles, PortPath};
use serde::{Deserialize, Serialize};

pub use crate::table::{BandError, ControllerMap, SelectionRule};

/// Which S-parameter is the transmission.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum TransmissionParameter {
    /// From port 1 to port 2.
    #[default]
    S21,
    /// From port 2 to port 1.
    S12,
}

impl TransmissionParameter {
    /// As the trade writes it.
    pub fn name(self) -> &'static str {
        match self {
            Self::S21 => "S21",
            Self::S12 => "S12",
        }
    }
}

/// What listed phases mean that carry no sign.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UnsignedPhases {
    /// Lags or leads, whichever fits the measurements better.
    #[default]
    AsProposed,
    /// Lags: 90 stands for −90°.
    Lags,
    /// Leads.
    Leads,
}

/// A typical curve off a data sheet, and what it is typical of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Typical {
    /// The figure; of one with a value per code the curve is held against the largest.
    pub figure: Figure,
    /// The points.
    pub curve: TypicalCurve,
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
    /// The path through files of more than two ports; from port 1 to port 2 where `None`.
    pub path: Option<PortPath>,
    /// Files on another grid are interpolated to the run's. Never unless asked for.
    pub interpolate: bool,
    /// Files of another reference impedance are left out; otherwise they are renormalised to the run's.
    pub leave_out_other_references: bool,
    /// How the files' names are read; as proposed where `None`, or where a run has no such reading.
    pub naming: Option<Naming>,
    /// The files have their words in another order than their names say; as they say where `None`.
    pub file_order: Option<OrderOfFiles>,
    /// In which order the files were captured.
    pub capture_order: CaptureOrder,
    /// The part amplifies or is not reciprocal by design: passivity and reciprocity are not asked for.
    pub part_is_active: bool,
    /// The loss that the part should have at its zero word, in dB, positive: from its data sheet, or another unit.
    pub zero_word_loss_db: Option<f64>,
    /// The layout of the control word; where `None`, guessed from the bit weights, or none in a run of listed settings.
    pub layout: Option<Layout>,
    /// The settings that are wanted where names say nothing of gain or phase; proposed from the measurements where
    /// `None`.
    pub wanted: Option<WantedSettings>,
    /// What the phases of a run of listed settings mean where none of them carries a sign.
    pub unsigned_phases: UnsignedPhases,
    /// What all states are divided by.
    pub reference: ReferencePolicy,
    /// How a state is chosen for a target.
    pub rule: SelectionRule,
    /// Which of the nominal settings are wanted.
    pub target_grid: TargetGrid,
    /// Tolerances; half a step of the finest gain and of the finest phase field where `None`.
    pub tolerance: Option<Tolerance>,
    /// The chosen frequency in hertz; the design band's centre where `None`.
    pub frequency_hz: Option<f64>,
    /// The design band in hertz, both ends included; the whole grid where `None`.
    pub design_band_hz: Option<(f64, f64)>,
    /// The share of settings within both tolerances, in percent, that makes a frequency usable.
    pub usable_share_pct: f64,
    /// Which error of a word over the design band one table for it makes smallest.
    pub band_error: BandError,
    /// The largest relative vector error, in percent, that the fewest tables for the design band keep; proposed where `None`.
    pub held_error_pct: Option<f64>,
    /// No exported table may hold a state with more gain than this, in dB of the transmission's own magnitude.
    pub gain_ceiling_db: Option<f64>,
    /// How words travel to the controller.
    pub controller_map: ControllerMap,
    /// What each field has to keep.
    pub specification: Vec<SpecificationRow>,
    /// The code at which each field is held while another is graded, in the layout's order; all at 0 where empty.
    pub held_codes: Vec<u32>,
    /// A curve to hold the measurement against.
    pub typical: Option<Typical>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            settings_version: Self::VERSION,
            part_name: String::new(),
            operator: String::new(),
            transmission: TransmissionParameter::default(),
            path: None,
            interpolate: false,
            leave_out_other_references: false,
            naming: None,
            file_order: None,
            capture_order: CaptureOrder::default(),
            part_is_active: false,
            zero_word_loss_db: None,
            layout: None,
            wanted: None,
            unsigned_phases: UnsignedPhases::default(),
            reference: ReferencePolicy::ZeroWord,
            rule: SelectionRule::default(),
            target_grid: TargetGrid::default(),
            tolerance: None,
            frequency_hz: None,
            design_band_hz: None,
            usable_share_pct: 90.0,
            band_error: BandError::default(),
            held_error_pct: None,
            gain_ceiling_db: None,
            controller_map: ControllerMap::default(),
            specification: Vec::new(),
            held_codes: Vec::new(),
            typical: None,
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

    /// The most characters that a name may have.
    const LONGEST_NAME: usize = 200;

    /// The most rows that a specification may have.
    const MOST_ROWS: usize = 1000;

    /// What they say of how files are taken.
    pub fn intake_rules(&self) -> IntakeRules {
        IntakeRules {
            naming: self.naming,
            path: self.path.unwrap_or_default(),
            interpolate: self.interpolate,
            leave_out_other_references: self.leave_out_other_references,
            file_order: self.file_order,
        }
    }

    /// The settings as the JSON that [`Settings::read`] takes.
    pub fn write(&self) -> Result<String, SettingsError> {
        self.check()?;
        let json = serde_json::to_string_pretty(self);
        json.map(|json| json + "\n").map_err(|error| SettingsError::Unusable(error.to_string()))
    }

    /// Reads a settings file and checks every value in it. A value that is absent takes its default; the version
    /// may not be absent, so that other JSON is not taken for settings.
    pub fn read(json: &str) -> Result<Self, SettingsError> {
        let not_settings = |error: serde_json::Error| SettingsError::NotSettings(error.to_string());
        let json = json.strip_prefix('\u{feff}').unwrap_or(json);
        // The version first: a newer file may hold what this version does not know.
        let value: serde_json::Value = serde_json::from_str(json).map_err(not_settings)?;
        let version = value.get("settings_version").and_then(serde_json::Value::as_u64);
        match version.map(u32::try_from) {
            None => return Err(SettingsError::NotSettings("it has no settings_version".to_owned())),
            Some(Ok(0)) => return Err(SettingsError::NotSettings("there is no version 0".to_owned())),
            Some(Ok(version)) if version > Self::VERSION => return Err(SettingsError::NewerVersion(version)),
            Some(Err(_)) => return Err(SettingsError::NewerVersion(u32::MAX)),
            Some(Ok(_)) => {}
        }
        let settings: Self = serde_json::from_str(json).map_err(not_settings)?;
        settings.check()?;
        Ok(settings)
    }

    /// Checks that every value is in range and that they fit together.
    pub fn check(&self) -> Result<(), SettingsError> {
        let unusable = |detail: String| Err(SettingsError::Unusable(detail));
        for (what, name) in [("part's", &self.part_name), ("operator's", &self.operator)] {
            if name.chars().count() > Self::LONGEST_NAME || name.contains(char::is_control) {
                return unusable(format!(
                    "The {what} name must be one line of at most {} characters.",
                    Self::LONGEST_NAME
                ));
            }
        }
        if let Some(layout) = &self.layout {
            if layout.fields.is_empty() {
                return unusable("The layout has no field.".to_owned());
            }
            layout.check().or_else(|error| unusable(error.to_string()))?;
        }
        if let Some(path) = self.path
            && (path.input == 0 || path.output == 0 || path.input == path.output)
        {
            return unusable("The path must lead from one port to another, counted from 1.".to_owned());
        }
        if let Some(wanted) = &self.wanted {
            wanted.check().or_else(unusable)?;
        }
        self.target_grid.check().or_else(unusable)?;
        if let Some(tolerance) = &self.tolerance {
            for (what, value) in [
                ("gain tolerance", tolerance.gain_db),
                ("gain tolerance's share of the setting", tolerance.gain_pct_of_setting),
                ("phase tolerance", tolerance.phase_deg),
            ] {
                // No limit at all is infinite; only the growth has to be a plain number.
                if !(value >= 0.0 && (value.is_finite() || what != "gain tolerance's share of the setting")) {
                    return unusable(format!("The {what} must be a number from 0 up, not {value}."));
                }
            }
        }
        let is_frequency = |hertz: f64| hertz.is_finite() && hertz >= 0.0;
        if let Some(hertz) = self.frequency_hz
            && !is_frequency(hertz)
        {
            return unusable(format!(
                "The chosen frequency must be a number of hertz from 0 up, not {hertz}."
            ));
        }
        if let Some((low, high)) = self.design_band_hz
            && !(is_frequency(low) && is_frequency(high) && low <= high)
        {
            return unusable(format!("The design band must rise, from 0 Hz up, not {low} Hz to {high} Hz."));
        }
        if !(0.0..=100.0).contains(&self.usable_share_pct) {
            return unusable(format!(
                "The usable share must lie from 0 to 100 %, not {}.",
                self.usable_share_pct
            ));
        }
        if let Some(held) = self.held_error_pct
            && !(held > 0.0 && held <= HeldError::LARGEST_PCT)
        {
            return unusable(format!(
                "The error that tables keep must lie above 0 and not above {} %, not at {held}.",
                HeldError::LARGEST_PCT
            ));
        }
        if let Some(ceiling) = self.gain_ceiling_db
            && !ceiling.is_finite()
        {
            return unusable(format!("The gain ceiling must be a number of decibels, not {ceiling}."));
        }
        if let Some(loss) = self.zero_word_loss_db
            && !loss.is_finite()
        {
            return unusable(format!("The zero word's loss must be a number of decibels, not {loss}."));
        }
        self.check_parts().or_else(unusable)?;
        // Without a layout the map itself tells the number of bits, as far as it does.
        let map = &self.controller_map;
        let bits = match (&self.layout, map.bus_bit.len()) {
            (Some(layout), _) => layout.bits(),
            (None, 0) => Layout::MAX_BITS,
            (None, entries) => entries.min(Layout::MAX_BITS),
        };
        map.check(bits).or_else(|error| unusable(error.to_string()))
    }

    /// Checks what the fields are graded by. The error is a sentence.
    fn check_parts(&self) -> Result<(), String> {
        if self.specification.len() > Self::MOST_ROWS {
            return Err(format!("A specification has at most {} rows.", Self::MOST_ROWS));
        }
        for (row, number) in self.specification.iter().zip(1..) {
            row.check().map_err(|reason| format!("Row {number} of the specification: {reason}"))?;
        }
        if let Some(typical) = &self.typical {
            let figure = typical.figure;
            typical.curve.check()?;
            if typical.curve.unit.is_some_and(|unit| unit != figure.unit()) {
                return Err(format!(
                    "The typical curve is not in {}, as {} is.",
                    figure.unit().name(),
                    figure.name()
                ));
            }
        }
        let Some(layout) = &self.layout else { return Ok(()) };
        let (held, fields) = (self.held_codes.len(), layout.fields.len());
        if held != 0 && held != fields {
            return Err(format!("{held} codes are given at which to hold the {fields} fields."));
        }
        let beyond = |(code, field): &(&u32, &Field)| **code >= field.codes();
        match self.held_codes.iter().zip(&layout.fields).find(beyond) {
            Some((code, field)) => {
                Err(format!("A field of {} codes cannot be held at code {code}.", field.codes()))
            }
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::naming::NameStyle;
    use crate::control::{Direction, Field, Quantity};
    use crate::part::{read_specification, read_typical_curve};
    use crate::run::NamingSource;

    fn full() -> Settings {
        let layout =
            Layout { fields: vec![Field::contiguous(Quantity::Phase, 0, 6, 5.625, Direction::Down)] };
        Settings {
            part_name: "Part “7”".to_owned(),
            operator: "A. N. Other".to_owned(),
            transmission: TransmissionParameter::S12,
            path: Some(PortPath { input: 3, output: 1 }),
            interpolate: true,
            leave_out_other_references: true,
            naming: Some(Naming { source: NamingSource::Names, style: NameStyle::Hexadecimal, nth: 1 }),
            file_order: Some(OrderOfFiles::Gray),
            capture_order: CaptureOrder::Counting,
            part_is_active: true,
            zero_word_loss_db: Some(4.5),
            layout: Some(layout),
            wanted: Some(WantedSettings { gains_db: vec![0.0, -0.1], phases_deg: vec![0.0, 22.5] }),
            unsigned_phases: UnsignedPhases::Lags,
            reference: ReferencePolicy::FullRing,
            rule: SelectionRule::Weighted,
            target_grid: TargetGrid { every_gain: 2, every_phase: 4, gain_range_db: Some((-12.0, 0.0)) },
            // Decimals whose nearest doubles a fast reader misses by one digit in the last place.
            tolerance: Some(Tolerance {
                gain_db: 0.1 + 0.2,
                gain_pct_of_setting: 1.0 / 3.0,
                phase_deg: 2.8125,
            }),
            frequency_hz: Some(10.000_000_000_000_002e9),
            design_band_hz: Some((8e9, 12e9)),
            band_error: BandError::Rms,
            held_error_pct: Some(4.2),
            gain_ceiling_db: Some(-3.0),
            controller_map: ControllerMap {
                bus_bit: vec![5, 4, 3, 2, 1, 0],
                inverted: 0b10_0000,
                reversed: true,
            },
            specification: read_specification(
                "figure,from_ghz,to_ghz,plus_minus,percent_of_setting\ngain state error,8,10.025,0.3,3\n",
            )
            .expect("a specification"),
            held_codes: vec![63],
            typical: Some(Typical {
                figure: Figure::InsertionLoss,
                curve: read_typical_curve("frequency_ghz,value,unit\n8,3.1,dB\n10,3.4,dB\n")
                    .expect("a curve"),
            }),
            ..Settings::default()
        }
    }

    #[test]
    fn settings_read_back_to_the_bit() {
        let mut unlimited = full();
        unlimited.tolerance =
            Some(Tolerance { gain_db: 0.5, gain_pct_of_setting: 0.0, phase_deg: f64::INFINITY });
        for settings in [Settings::default(), full(), unlimited] {
            let json = settings.write().expect("usable settings");
            assert_eq!(Settings::read(&json), Ok(settings));
        }
    }

    #[test]
    fn what_is_absent_takes_its_default() {
        assert_eq!(Settings::read(r#"{"settings_version": 1}"#), Ok(Settings::default()));
        assert_eq!(Settings::read("\u{feff}{\"settings_version\": 1}"), Ok(Settings::default()));
    }

    #[test]
    fn other_files_and_other_versions_are_told_apart() {
        for json in ["", "{", "[]", "{}", "3", r#"{"settings_version": "1"}"#, r#"{"settings_version": 0}"#] {
            assert!(matches!(Settings::read(json), Err(SettingsError::NotSettings(_))), "{json}");
        }
        assert!(matches!(
            Settings::read(r#"{"settings_version": 1, "colour": 3}"#),
            Err(SettingsError::NotSettings(_))
        ));
        let newer = Settings::read(r#"{"settings_version": 2, "colour": 3}"#);
        assert_eq!(newer, Err(SettingsError::NewerVersion(2)));
    }

    #[test]
    fn every_unusable_value_is_refused() {
        let spoil: [fn(&mut Settings); 35] = [
            |s| s.zero_word_loss_db = Some(f64::NAN),
            |s| s.path = Some(PortPath { input: 2, output: 2 }),
            |s| s.path = Some(PortPath { input: 0, output: 2 }),
            |s| s.part_name = "two\nlines".to_owned(),
            |s| s.operator = "x".repeat(201),
            |s| s.layout = Some(Layout { fields: Vec::new() }),
            |s| s.layout.as_mut().expect("a layout").fields[0].step = f64::NAN,
            |s| s.layout.as_mut().expect("a layout").fields[0].bits[0].position = 255,
            |s| s.tolerance.as_mut().expect("a tolerance").gain_db = -0.1,
            |s| s.tolerance.as_mut().expect("a tolerance").phase_deg = f64::NAN,
            |s| s.tolerance.as_mut().expect("a tolerance").gain_pct_of_setting = f64::NAN,
            |s| s.wanted.as_mut().expect("wanted").gains_db.clear(),
            |s| s.wanted.as_mut().expect("wanted").phases_deg[0] = f64::INFINITY,
            |s| s.frequency_hz = Some(f64::NAN),
            |s| s.design_band_hz = Some((12e9, 8e9)),
            |s| s.design_band_hz = Some((f64::NAN, 8e9)),
            |s| s.target_grid.every_phase = 0,
            |s| s.target_grid.gain_range_db = Some((0.0, -1.0)),
            |s| s.usable_share_pct = 100.5,
            |s| s.held_error_pct = Some(0.0),
            |s| s.held_error_pct = Some(f64::NAN),
            |s| s.held_error_pct = Some(50.1),
            |s| s.gain_ceiling_db = Some(f64::NEG_INFINITY),
            |s| s.controller_map.bus_bit.truncate(5),
            |s| s.controller_map.bus_bit[0] = 255,
            |s| s.controller_map.inverted = 1 << 6,
            |s| s.held_codes[0] = 64,
            |s| s.held_codes.push(0),
            |s| s.specification = vec![s.specification[0].clone(); 1001],
            |s| s.specification[0].limits.at_least = Some(f64::NAN),
            |s| s.specification[0].limits.at_most = Some(-1.0),
            |s| s.specification[0].figure = Figure::InsertionLoss,
            |s| s.specification[0].to_hz = Some(7e9),
            |s| s.typical.as_mut().expect("a curve").figure = Figure::GroupDelay,
            |s| {
                s.typical.as_mut().expect("a curve").curve =
                    serde_json::from_str(r#"{"points": [], "unit": null}"#).expect("a curve");
            },
        ];
        for (index, spoil) in spoil.iter().enumerate() {
            let mut settings = full();
            spoil(&mut settings);
            assert!(matches!(settings.write(), Err(SettingsError::Unusable(_))), "case {index}");
        }
        let json =
            full().write().expect("usable settings").replace("\"phase_deg\": 2.8125", "\"phase_deg\": -1.0");
        assert!(matches!(Settings::read(&json), Err(SettingsError::Unusable(_))));
    }
}
