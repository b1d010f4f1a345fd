//! The stages of a run, and how far it is.

/// What the conductor is doing. In the order of the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Files are being read.
    Reading,
    /// Files on another grid or of another reference impedance are made to fit.
    Adapting,
    /// Transmissions are collected from the workers that read them.
    Gathering,
    /// Transmissions go to the workers that own their frequencies.
    Placing,
    /// Bit weights are measured.
    Weighing,
    /// The states at the band's centre are fetched, where the layout and the references are decided.
    Centring,
    /// The plan goes to all workers.
    Planning,
    /// A best fit in use as reference is searched for.
    Fitting,
    /// Every frequency is scored.
    Analysing,
    /// The states at the chosen frequency are fetched.
    Serving,
    /// How fine they reach is told, and the words chosen there are scored at every frequency.
    Holding,
    /// The report is complete but for what the checks say, and can be shown; the times of the files are awaited.
    Ready,
    /// Every field is graded at every frequency.
    Grading,
    /// Every frequency is searched for faults of the run.
    Examining,
    /// What was found is put together.
    Collecting,
    /// It is judged.
    Judging,
    /// Each file's own S-parameters are looked at.
    Verifying,
    /// The clean bits are counted at every frequency.
    Resolving,
    /// The constellations at the chosen frequency are formed, once it has come to rest.
    Modulating,
    /// The tables for the design band are made.
    Tabling,
    /// The largest clean constellation is looked for at some frequencies over the whole grid.
    Surveying,
    /// The reference policies are compared, best fits among them.
    Comparing,
    /// The largest clean constellation is looked for at every other frequency.
    Completing,
    /// The report is complete.
    Checked,
    /// The work cannot go on.
    Failed,
}

impl Stage {
    /// Whether there is a report, complete or still being checked.
    pub fn is_ready(self) -> bool {
        (Self::Ready..=Self::Checked).contains(&self)
    }
}

/// How far the work is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// What is being done.
    pub stage: Stage,
    /// Files read, of all that are to be read.
    pub files: (usize, usize),
    /// Bytes read.
    pub bytes: u64,
    /// Bytes of all files that are to be read, where every size is known.
    pub all_bytes: Option<u64>,
    /// Frequencies done in the present stage, of all.
    pub frequencies: (usize, usize),
}
