//! The small runs that are kept beside this generator: an attenuator, a phase shifter, and a run with planted faults.

use std::path::Path;
use sweepfold::control::Word;
use sweepfold::demo::{Form, Part, PartPlan, Unit, attenuator, phase_shifter};

/// Frequencies of a small run.
const POINTS: usize = 81;

/// Frequencies of the run with planted faults, and of the one file in it that has others.
const FAULTY_POINTS: usize = 41;
const OTHER_POINTS: usize = 31;

/// The folder of the run with planted faults.
pub const FAULTY: &str = "planted-faults";

/// A file's path below the samples' folder, and its contents.
pub type SmallFile = (String, Vec<u8>);

/// Every file of the small runs.
pub fn files() -> Result<Vec<SmallFile>, String> {
    let mut attenuator_5 = attenuator(5).map_err(|error| error.to_string())?;
    attenuator_5.sweep.points = POINTS;
    let mut shifter_7 = phase_shifter(7).map_err(|error| error.to_string())?;
    shifter_7.sweep.points = POINTS;
    // Another unit and another form than the attenuator's: both are common.
    shifter_7.unit = Unit::GHz;
    shifter_7.form = Form::DecibelAngle;
    let mut files = whole_run("attenuator-5-bit", attenuator_5)?;
    files.extend(whole_run("phase-shifter-7-bit", shifter_7)?);
    files.extend(faulty_run()?);
    Ok(files)
}

fn whole_run(folder: &str, plan: PartPlan) -> Result<Vec<SmallFile>, String> {
    let part = Part::new(plan).map_err(|error| error.to_string())?;
    let words = u32::try_from(part.plan().layout.word_count()).map_err(|error| error.to_string())?;
    Ok((0..words)
        .map(Word)
        .map(|word| (format!("{folder}/{}", part.file_name(word)), part.file(word)))
        .collect())
}

/// A 4-bit attenuator whose run went wrong: word 2 was measured twice, word 5's file is cut short, word 9 is missing,
/// word 12 was swept over another grid, and a note lies in the folder.
fn faulty_run() -> Result<Vec<SmallFile>, String> {
    let mut plan = attenuator(4).map_err(|error| error.to_string())?;
    plan.sweep.points = FAULTY_POINTS;
    let mut other_plan = plan.clone();
    other_plan.sweep.points = OTHER_POINTS;
    let mut files = whole_run(FAULTY, plan.clone())?;
    let part = Part::new(plan).map_err(|error| error.to_string())?;
    let path = |word| format!("{FAULTY}/{}", part.file_name(Word(word)));
    files.retain(|(name, _)| *name != path(9));
    for (name, contents) in &mut files {
        if *name == path(5) {
            // In the middle of a number.
            contents.truncate(contents.len() / 2);
        } else if *name == path(12) {
            *contents = Part::new(other_plan.clone()).map_err(|error| error.to_string())?.file(Word(12));
        }
    }
    files.push((format!("{FAULTY}/again/{}", part.file_name(Word(2))), part.file(Word(2))));
    files.push((
        format!("{FAULTY}/notes.txt"),
        b"Supply 5.0 V, 23 degrees. Word 9: bench ran out of time.\n".to_vec(),
    ));
    Ok(files)
}

/// Writes them below a folder, which keeps what else it holds.
pub fn write(folder: &Path) -> Result<String, String> {
    let failed = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    let files = files()?;
    for (name, contents) in &files {
        let path = folder.join(name);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(|error| failed(parent, error))?;
        }
        std::fs::write(&path, contents).map_err(|error| failed(&path, error))?;
    }
    let bytes: usize = files.iter().map(|(_, contents)| contents.len()).sum();
    Ok(format!("{} files, {bytes} bytes in {}", files.len(), folder.display()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    /// All files below a folder, by path.
    fn kept(folder: &Path, prefix: &str, found: &mut BTreeMap<String, Vec<u8>>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let entry = entry.unwrap();
            let name = format!("{prefix}{}", entry.file_name().into_string().unwrap());
            if entry.file_type().unwrap().is_dir() {
                kept(&entry.path(), &format!("{name}/"), found);
            } else {
                found.insert(name, std::fs::read(entry.path()).unwrap());
            }
        }
    }

    #[test]
    fn the_kept_runs_are_what_this_generator_makes() {
        let made: BTreeMap<String, Vec<u8>> = files().unwrap().into_iter().collect();
        let mut found = BTreeMap::new();
        kept(&Path::new(env!("CARGO_MANIFEST_DIR")).join("samples"), "", &mut found);
        found.retain(|name, _| name.contains('/'));
        let names = |files: &BTreeMap<String, Vec<u8>>| files.keys().cloned().collect::<Vec<_>>();
        assert_eq!(names(&found), names(&made), "run samples/make");
        for (name, contents) in &made {
            assert!(found[name] == *contents, "{name} differs: run samples/make");
        }
        let bytes: usize = made.values().map(Vec::len).sum();
        assert!(bytes < 3_000_000, "{bytes} bytes");
    }
}
