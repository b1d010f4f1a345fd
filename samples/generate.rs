//! Writes a folder of Touchstone files of a made-up part, for tests and for trying the page:
//! `cargo run --release --example generate -- demo target/rain`.

mod faults;
mod small_runs;

use faults::Planted;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use sweepfold::control::Word;
use sweepfold::demo::{Form, Part, PartPlan, Unit, attenuator, phase_shifter, rain_radar};

const HELP: &str = "\
Writes a folder of Touchstone files of a made-up part, one file per control word.

usage: generate PART FOLDER [options]

parts
  demo             the page's demo: 7 phase and 5 gain bits, 4,096 words
  attenuator       1 to 6 bits from 0.5 dB (6)
  phase-shifter    1 to 7 bits that fill the circle (7)
  small-runs       the three small runs kept in samples/, one a folder; takes no options

options, with their defaults
  --bits N         bits of an attenuator or a phase shifter
  --every N        every N-th word only, from word 0 (1)
  --points N       frequencies from 6 to 14 GHz (161)
  --seed N         seed of the noise (20231107)
  --noise-db X     noise relative to the transmission of word 0 (-60)
  --unit U         Hz, kHz, MHz or GHz (Hz)
  --format F       RI, MA or DB (RI)
  --fault F        a fault of the bench: unsettled, missed, repeated, outlier, step, leakage, idle, exchanged,
                   inverted or lexicographic (none)
  --help           this text

The folder is made; one that exists must be empty, but for small-runs.";

/// What the command line asks for.
#[derive(Debug, PartialEq)]
struct Order {
    plan: PartPlan,
    folder: PathBuf,
    every: usize,
    fault: Option<Planted>,
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if arguments.is_empty() || arguments.iter().any(|argument| argument == "--help" || argument == "-h") {
        println!("{HELP}");
        return ExitCode::SUCCESS;
    }
    let done = match arguments.as_slice() {
        [part, folder] if part == "small-runs" => small_runs::write(Path::new(folder)),
        _ => order(&arguments).and_then(|order| fill(&order)),
    };
    match done {
        Ok(summary) => {
            println!("{summary}");
            ExitCode::SUCCESS
        }
        Err(message) => {
            eprintln!("{message}\nTry --help.");
            ExitCode::FAILURE
        }
    }
}

/// Reads the command line.
fn order(arguments: &[String]) -> Result<Order, String> {
    let mut names = Vec::new();
    let mut options = Vec::new();
    let mut rest = arguments.iter();
    while let Some(argument) = rest.next() {
        if argument.starts_with("--") {
            let value = rest.next().ok_or_else(|| format!("The option {argument} needs a value."))?;
            options.push((argument.as_str(), value.as_str()));
        } else {
            names.push(argument.as_str());
        }
    }
    let [part, folder] = names[..] else {
        return Err(format!("A part and a folder are needed, in this order; given were: {names:?}."));
    };
    let bits = match options.iter().find(|option| option.0 == "--bits") {
        Some((name, value)) => Some(number::<u8>(name, value)?),
        None => None,
    };
    let mut plan = match (part, bits) {
        ("demo", None) => rain_radar(),
        ("demo", Some(_)) => return Err("The demo's bits are fixed; leave --bits out.".to_owned()),
        ("attenuator", bits) => attenuator(bits.unwrap_or(6)).map_err(|error| error.to_string())?,
        ("phase-shifter", bits) => phase_shifter(bits.unwrap_or(7)).map_err(|error| error.to_string())?,
        _ => return Err(format!("There is no part \"{part}\": demo, attenuator or phase-shifter.")),
    };
    let mut every = 1;
    let mut planted = None;
    for (name, value) in options {
        match name {
            "--bits" => {}
            "--every" => every = number(name, value)?,
            "--fault" => planted = Some(fault(value)?),
            "--points" => plan.sweep.points = number(name, value)?,
            "--seed" => plan.seed = number(name, value)?,
            "--noise-db" => plan.noise_db = number(name, value)?,
            "--unit" => plan.unit = unit(value)?,
            "--format" => plan.form = form(value)?,
            _ => return Err(format!("There is no option {name}.")),
        }
    }
    if every == 0 {
        return Err("--every must be at least 1.".to_owned());
    }
    plan.check().map_err(|error| error.to_string())?;
    Ok(Order { plan, folder: PathBuf::from(folder), every, fault: planted })
}

fn number<T: std::str::FromStr>(name: &str, value: &str) -> Result<T, String> {
    value.parse().map_err(|_| format!("\"{value}\" is not a number that {name} takes."))
}

fn unit(value: &str) -> Result<Unit, String> {
    [Unit::Hz, Unit::KHz, Unit::MHz, Unit::GHz]
        .into_iter()
        .find(|unit| unit.name().eq_ignore_ascii_case(value))
        .ok_or_else(|| format!("\"{value}\" is no unit of frequency: Hz, kHz, MHz or GHz."))
}

fn fault(value: &str) -> Result<Planted, String> {
    let named = Planted::ALL.into_iter().find(|(name, _)| name.eq_ignore_ascii_case(value));
    named.map(|(_, fault)| fault).ok_or_else(|| {
        let names: Vec<&str> = Planted::ALL.into_iter().map(|(name, _)| name).collect();
        format!("\"{value}\" is no fault: {}.", names.join(", "))
    })
}

fn form(value: &str) -> Result<Form, String> {
    [Form::RealImaginary, Form::MagnitudeAngle, Form::DecibelAngle]
        .into_iter()
        .find(|form| form.name().eq_ignore_ascii_case(value))
        .ok_or_else(|| format!("\"{value}\" is no format: RI, MA or DB."))
}

/// Writes the files and says what was written.
fn fill(order: &Order) -> Result<String, String> {
    let failed = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    std::fs::create_dir_all(&order.folder).map_err(|error| failed(&order.folder, error))?;
    let mut entries = std::fs::read_dir(&order.folder).map_err(|error| failed(&order.folder, error))?;
    if entries.next().is_some() {
        return Err(format!("{} is not empty; name another folder or empty it.", order.folder.display()));
    }
    let part = Part::new(order.plan.clone()).map_err(|error| error.to_string())?;
    let (mut files, mut bytes) = (0_usize, 0_usize);
    for word in (0..order.plan.layout.word_count()).step_by(order.every) {
        let word = Word(u32::try_from(word).map_err(|error| error.to_string())?);
        let path = order.folder.join(part.file_name(word));
        let contents = order.fault.map_or_else(|| part.file(word), |fault| fault.file(&part, word));
        std::fs::write(&path, &contents).map_err(|error| failed(&path, error))?;
        files += 1;
        bytes += contents.len();
    }
    Ok(format!("{files} files, {bytes} bytes in {}", order.folder.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ordered(line: &str) -> Result<Order, String> {
        order(&line.split_whitespace().map(str::to_owned).collect::<Vec<String>>())
    }

    #[test]
    fn options_reach_the_plan() {
        let order =
            ordered("attenuator out --bits 5 --unit ghz --format db --points 11 --seed 7 --every 2").unwrap();
        assert_eq!(order.folder, PathBuf::from("out"));
        assert_eq!(order.every, 2);
        assert_eq!(order.plan.layout.bits(), 5);
        assert_eq!((order.plan.unit, order.plan.form), (Unit::GHz, Form::DecibelAngle));
        assert_eq!((order.plan.sweep.points, order.plan.seed), (11, 7));
        assert_eq!(ordered("demo out").unwrap().plan, rain_radar());
    }

    #[test]
    fn mistakes_are_named() {
        for (line, said) in [
            ("demo", "A part and a folder"),
            ("radio out", "no part \"radio\""),
            ("demo out --bits 4", "leave --bits out"),
            ("attenuator out --bits 7", "no plan for 7 bits, only for 1 to 6"),
            ("demo out --points", "--points needs a value"),
            ("demo out --points ten", "\"ten\" is not a number that --points takes"),
            ("demo out --points 1", "at least 2 points"),
            ("demo out --noise-db nan", "0 dB or less"),
            ("demo out --every 0", "at least 1"),
            ("demo out --unit THz", "no unit of frequency"),
            ("demo out --format XY", "no format"),
            ("demo out --fault fire", "\"fire\" is no fault: unsettled, missed"),
            ("demo out --colour red", "no option --colour"),
        ] {
            let message = ordered(line).unwrap_err();
            assert!(message.contains(said), "{line}: {message}");
        }
    }

    /// Files land under their own names, and a folder that holds something is left alone.
    #[test]
    fn a_folder_is_filled_once() {
        let folder = std::env::temp_dir().join(format!("generate-{}", std::process::id()));
        let line = format!("phase-shifter {} --bits 3 --points 2 --every 3", folder.display());
        let order = ordered(&line).unwrap();
        let first = fill(&order);
        let second = fill(&order);
        let mut names: Vec<String> = std::fs::read_dir(&folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        std::fs::remove_dir_all(&folder).unwrap();
        assert!(first.unwrap().starts_with("3 files, "));
        assert!(second.unwrap_err().contains("is not empty"));
        assert_eq!(names, ["turn3_0x0.s2p", "turn3_0x3.s2p", "turn3_0x6.s2p"]);
    }

    /// Every planted fault changes some file of a run, and no file where it should not; what the detectors make of them is
    /// tested with them.
    #[test]
    fn every_fault_changes_files() {
        let mut plan = attenuator(4).unwrap();
        plan.sweep.points = 11;
        let part = Part::new(plan).unwrap();
        let changed = |fault: Planted| {
            (0..16)
                .map(Word)
                .filter(|&word| fault.file(&part, word) != part.file(word))
                .map(|word| word.0)
                .collect()
        };
        let of: Vec<(&str, Vec<u32>)> =
            Planted::ALL.into_iter().map(|(name, fault)| (name, changed(fault))).collect();
        assert_eq!(
            of[..4],
            [("unsettled", vec![8]), ("missed", vec![8]), ("repeated", vec![8]), ("outlier", vec![5])]
        );
        assert_eq!(of[4], ("step", (11..16).collect()));
        assert!(of[5..].iter().all(|(_, words)| words.len() > 3), "{of:?}");
    }
}
