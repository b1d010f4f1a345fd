//! The changes of settings that can be taken back.

use super::settings::Settings;

/// So many changes are kept.
const MOST: usize = 200;

/// A change of the same thing within so many milliseconds goes on with the one before, as while something is dragged.
const ONE_CHANGE_MS: f64 = 1000.0;

/// A change, with the settings to go to when it is taken back or made again.
#[derive(Clone, Debug)]
struct Step {
    what: String,
    settings: Settings,
}

/// The changes made and taken back.
#[derive(Clone, Debug, Default)]
pub struct History {
    made: Vec<Step>,
    taken_back: Vec<Step>,
    /// When the last one was noted.
    noted_ms: f64,
}

impl History {
    /// Notes that settings were changed, `before` being what they were and `what` what changed in words. A change of the
    /// same thing soon after the last is part of it.
    pub fn note(&mut self, before: &Settings, what: &str, now_ms: f64) {
        let goes_on = self.taken_back.is_empty()
            && now_ms - self.noted_ms < ONE_CHANGE_MS
            && self.made.last().is_some_and(|last| last.what == what);
        self.noted_ms = now_ms;
        self.taken_back.clear();
        if goes_on {
            return;
        }
        self.made.push(Step { what: what.to_owned(), settings: before.clone() });
        if self.made.len() > MOST {
            self.made.remove(0);
        }
    }

    /// What would be taken back next.
    pub fn undoes(&self) -> Option<&str> {
        self.made.last().map(|step| step.what.as_str())
    }

    /// What would be made again next.
    pub fn redoes(&self) -> Option<&str> {
        self.taken_back.last().map(|step| step.what.as_str())
    }

    /// Takes the last change back; the settings to go to.
    pub fn undo(&mut self, now: &Settings) -> Option<Settings> {
        exchange(&mut self.made, &mut self.taken_back, now)
    }

    /// Makes the change taken back last again.
    pub fn redo(&mut self, now: &Settings) -> Option<Settings> {
        exchange(&mut self.taken_back, &mut self.made, now)
    }
}

/// What is looked at and the names on the sheet are no corrections and stay as they are.
fn exchange(from: &mut Vec<Step>, to: &mut Vec<Step>, now: &Settings) -> Option<Settings> {
    let Step { what, settings } = from.pop()?;
    to.push(Step { what, settings: now.clone() });
    Some(Settings {
        frequency_hz: now.frequency_hz,
        part_name: now.part_name.clone(),
        operator: now.operator.clone(),
        ..settings
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(usable_share_pct: f64) -> Settings {
        Settings { usable_share_pct, ..Settings::default() }
    }

    #[test]
    fn changes_are_taken_back_and_made_again_in_order() {
        let mut history = History::default();
        assert_eq!(history.undoes(), None);
        assert_eq!(history.undo(&share(90.0)), None);
        history.note(&share(90.0), "the usable share", 0.0);
        history.note(&share(80.0), "the usable share", 5000.0);
        let back = history.undo(&share(70.0)).expect("a change");
        assert_eq!(back, share(80.0));
        assert_eq!(history.undo(&back), Some(share(90.0)));
        assert_eq!((history.undoes(), history.redoes()), (None, Some("the usable share")));
        assert_eq!(history.redo(&share(90.0)), Some(share(80.0)));
        assert_eq!(history.redo(&share(80.0)), Some(share(70.0)));
        assert_eq!(history.redoes(), None);
        // Another change ends what could be made again.
        history.undo(&share(70.0));
        history.note(&share(80.0), "the reference", 9000.0);
        assert_eq!(history.redoes(), None);
        assert_eq!(history.undoes(), Some("the reference"));
    }

    #[test]
    fn a_drag_is_one_change_and_two_things_are_two() {
        let mut history = History::default();
        for (at, now_ms) in [(90.0, 0.0), (89.0, 300.0), (88.0, 900.0), (87.0, 1800.0)] {
            history.note(&share(at), "the design band", now_ms);
        }
        history.note(&share(86.0), "the reference", 1900.0);
        assert_eq!(history.undo(&share(85.0)), Some(share(86.0)));
        assert_eq!(history.undo(&share(86.0)), Some(share(90.0)));
    }

    #[test]
    fn what_is_looked_at_stays() {
        let mut history = History::default();
        history.note(&share(90.0), "the usable share", 0.0);
        let now = Settings { frequency_hz: Some(9e9), part_name: "Unit".to_owned(), ..share(70.0) };
        let back = history.undo(&now).expect("a change");
        assert_eq!((back.frequency_hz, back.part_name.as_str()), (Some(9e9), "Unit"));
        assert!((back.usable_share_pct - 90.0).abs() < 1e-12);
    }
}
