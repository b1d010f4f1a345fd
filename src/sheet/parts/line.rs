//! A row of the specification as a line: what page, sheet and exports say of it.

use super::field_name;
use crate::control::Quantity;
use crate::part::{Deciding, Figure, Judgement, Limits, SpecificationRow, Undecided, Unit, Verdict};
use crate::pipeline::{GradedField, Parts, Report};
use crate::sheet::wording::{as_sentence, counted, exact, exact_in_unit, frequency, in_unit};
use serde::Serialize;

/// What became of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LineVerdict {
    /// It is kept.
    Holds,
    /// It is not.
    Fails,
    /// The data cannot tell.
    NotDecidable,
    /// Nothing was measured that it is about.
    NotMeasured,
}

impl LineVerdict {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::Fails => "fails",
            Self::NotDecidable => "not decidable",
            Self::NotMeasured => "not measured",
        }
    }
}

/// One row of the specification.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SpecificationLine {
    /// The figure's name.
    pub figure: &'static str,
    /// Ends of the sub-band in hertz; `None` where it has none.
    pub from_hz: Option<f64>,
    /// The upper one.
    pub to_hz: Option<f64>,
    /// The limits as a phrase: "at most 3°".
    pub limits: String,
    /// What became of it; `None` until it is judged.
    pub verdict: Option<LineVerdict>,
    /// The field on which that rests, where there are several.
    pub field: Option<String>,
    /// The word that decides; `None` of a figure over all codes.
    pub word: Option<u32>,
    /// Where it does.
    pub frequency_hz: Option<f64>,
    /// The value there.
    pub value: Option<f64>,
    /// The limit nearest to it.
    pub limit: Option<f64>,
    /// How far inside it lies; negative outside.
    pub margin: Option<f64>,
    /// One standard deviation of its noise.
    pub noise: Option<f64>,
    /// What all of these are counted in.
    pub unit: &'static str,
    /// The user's note.
    pub note: String,
    /// What decides, as a sentence; empty until it is judged.
    pub sentence: String,
    /// The same to be put into another sentence.
    #[serde(skip)]
    pub(super) clause: String,
}

impl SpecificationLine {
    /// The sub-band as a phrase: "8 to 12 GHz", "up to 10 GHz"; "all" where the row has none.
    pub fn band_text(&self) -> String {
        match (self.from_hz, self.to_hz) {
            (Some(from), Some(to)) => format!("{} to {}", frequency(from), frequency(to)),
            (Some(from), None) => format!("from {}", frequency(from)),
            (None, Some(to)) => format!("up to {}", frequency(to)),
            (None, None) => "all".to_owned(),
        }
    }

    /// What decides, for a table: "0.41 dB, word 12, 11 GHz"; empty where nothing does.
    pub fn deciding_text(&self) -> String {
        let unit = Unit::named(self.unit);
        let value = self.value.zip(unit).map(|(value, unit)| in_unit(value, unit));
        let word = self.word.map(|word| format!("word {word}"));
        let parts = [value, self.field.clone(), word, self.frequency_hz.map(frequency)];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    /// The margin as a share of the limit, by which rows in different units are compared.
    pub(super) fn share_of_limit_left(&self) -> f64 {
        let share = self.margin.zip(self.limit).map(|(margin, limit)| margin / limit.abs());
        share.filter(|share| !share.is_nan()).unwrap_or(f64::INFINITY)
    }
}

/// The line of a row, by its number in the specification.
pub(super) fn of(row: &SpecificationRow, number: usize, report: &Report) -> SpecificationLine {
    let judged = report.parts.as_deref().filter(|parts| parts.is_judged).map(|parts| worst(number, parts));
    let found = judged.as_ref().and_then(|found| found.as_ref());
    let deciding = found.and_then(|(_, judgement, _)| judgement.deciding);
    let clause = match (&judged, found) {
        (None, _) => String::new(),
        (Some(_), None) => no_such_field(row.figure),
        (_, Some((_, judgement, name))) => clause(row, judgement, name.as_deref()),
    };
    SpecificationLine {
        figure: row.figure.name(),
        from_hz: row.from_hz,
        to_hz: row.to_hz,
        limits: limit_text(&row.limits, row.figure.unit()),
        verdict: judged
            .as_ref()
            .map(|found| found.as_ref().map_or(LineVerdict::NotMeasured, |(verdict, ..)| *verdict)),
        field: found.and_then(|(.., name)| name.clone()),
        word: deciding.and_then(|deciding| deciding.word).map(|word| word.0),
        frequency_hz: deciding.map(|deciding| deciding.frequency_hz),
        value: deciding.map(|deciding| deciding.value),
        limit: deciding.map(|deciding| deciding.limit),
        margin: deciding.map(|deciding| deciding.margin),
        noise: deciding.and_then(|deciding| deciding.noise),
        unit: row.figure.unit().name(),
        note: row.note.clone(),
        sentence: if clause.is_empty() { String::new() } else { as_sentence(&clause) },
        clause,
    }
}

/// The judgement of the field that keeps the row worst, and the field's name where another was judged otherwise.
fn worst(number: usize, parts: &Parts) -> Option<(LineVerdict, &Judgement, Option<String>)> {
    let judged: Vec<(&GradedField, &Judgement)> = parts
        .fields
        .iter()
        .filter_map(|field| Some((field, field.judgements.get(number)?.as_ref()?)))
        .collect();
    let rank = |judgement: &Judgement| match judgement.verdict {
        Verdict::Holds => 0,
        Verdict::NotMeasured => 1,
        Verdict::NotDecidable(_) => 2,
        Verdict::Fails => 3,
    };
    let margin = |judgement: &Judgement| judgement.deciding.map_or(0.0, |deciding| deciding.margin);
    let &(field, judgement) =
        judged.iter().max_by(|(_, a), (_, b)| rank(a).cmp(&rank(b)).then(margin(b).total_cmp(&margin(a))))?;
    let verdict = match judgement.verdict {
        Verdict::Holds => LineVerdict::Holds,
        Verdict::NotMeasured => LineVerdict::NotMeasured,
        Verdict::NotDecidable(_) => LineVerdict::NotDecidable,
        Verdict::Fails => LineVerdict::Fails,
    };
    let differ = judged.iter().any(|(_, other)| *other != judgement);
    Some((verdict, judgement, differ.then(|| field_name(field, parts))))
}

fn clause(row: &SpecificationRow, judgement: &Judgement, field: Option<&str>) -> String {
    let figure = row.figure;
    let name = match field {
        Some(field) => format!("{} of the {field}", figure.name()),
        None => figure.name().to_owned(),
    };
    match (judgement.verdict, &judgement.deciding) {
        (Verdict::NotMeasured, _) | (_, None) if !matches!(judgement.verdict, Verdict::NotDecidable(_)) => {
            format!("nothing was measured of {name} in that band")
        }
        (Verdict::NotDecidable(Undecided::Refused(refusal)), _) => {
            format!("{name} cannot be told ({})", inside_a_sentence(&refusal.to_string()))
        }
        (Verdict::NotDecidable(Undecided::Unmeasured(count)), _) => {
            format!("of {name}, {} not measured", counted(count, "value was", "values were"))
        }
        (verdict, Some(deciding)) => decided(&name, verdict, deciding, row),
        (_, None) => format!("nothing was measured of {name} in that band"),
    }
}

fn decided(name: &str, verdict: Verdict, deciding: &Deciding, row: &SpecificationRow) -> String {
    let unit = row.figure.unit();
    let of_word = deciding.word.map_or_else(String::new, |word| format!(" at word {}", word.0));
    let value = format!(
        "{name} is {}{of_word} at {}",
        in_unit(deciding.value, unit),
        frequency(deciding.frequency_hz)
    );
    let limit = format!("{} {}", side(&row.limits, deciding.limit), exact_in_unit(deciding.limit, unit));
    let apart = in_unit(deciding.margin.abs(), unit);
    match verdict {
        Verdict::Fails => format!("{value}, outside its limit of {limit} by {apart}"),
        Verdict::NotDecidable(_) => format!(
            "{value}, only {apart} {} its limit of {limit}, with a noise of {}",
            if deciding.margin < 0.0 { "outside" } else { "inside" },
            deciding.noise.map_or_else(|| "unknown size".to_owned(), |noise| in_unit(noise, unit))
        ),
        _ => format!("{value}, inside its limit of {limit} by {apart}"),
    }
}

/// Whether one of the limits, which may be wider than the row has it, is the lower or the upper one.
fn side(limits: &Limits, limit: f64) -> &'static str {
    match (limits.at_least, limits.at_most) {
        (Some(low), Some(high)) if (limit - low).abs() < (limit - high).abs() => "at least",
        (Some(_), None) => "at least",
        _ => "at most",
    }
}

fn no_such_field(figure: Figure) -> String {
    match figure.quantity() {
        Some(Quantity::Gain) => "no gain field could be graded".to_owned(),
        Some(Quantity::Phase) => "no phase field could be graded".to_owned(),
        None => "no field could be graded".to_owned(),
    }
}

fn inside_a_sentence(sentence: &str) -> String {
    let mut characters = sentence.trim_end_matches('.').chars();
    let first: String = characters.next().into_iter().flat_map(char::to_lowercase).collect();
    first + characters.as_str()
}

/// Limits as a phrase: "within ±(0.3 dB + 3 % of the setting)".
pub fn limit_text(limits: &Limits, unit: Unit) -> String {
    let Limits { at_least, at_most, percent_of_setting } = *limits;
    let wider = exact(percent_of_setting);
    let is_wider = percent_of_setting > 0.0;
    let grown = if is_wider { format!(", and {wider} % of the setting wider") } else { String::new() };
    match (at_least, at_most) {
        (Some(low), Some(high)) if low == -high => {
            let own = exact_in_unit(high, unit);
            if is_wider {
                format!("within ±({own} + {wider} % of the setting)")
            } else {
                format!("within ±{own}")
            }
        }
        (Some(low), Some(high)) => {
            format!("from {} to {}{grown}", exact_in_unit(low, unit), exact_in_unit(high, unit))
        }
        (Some(low), None) => format!("at least {}{grown}", exact_in_unit(low, unit)),
        (None, Some(high)) => format!("at most {}{grown}", exact_in_unit(high, unit)),
        (None, None) => "no limit".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ±(0.3 dB + 3 % of 10 dB) is ±0.6 dB.
    #[test]
    fn a_limit_is_known_for_the_lower_or_the_upper_one() {
        let limits = |at_least, at_most| Limits { at_least, at_most, percent_of_setting: 0.0 };
        assert_eq!(side(&limits(Some(10.0), None), 10.0), "at least");
        assert_eq!(side(&limits(None, Some(10.0)), 10.0), "at most");
        let both = Limits::plus_minus(0.3, 3.0);
        assert_eq!([side(&both, -0.6), side(&both, 0.6)], ["at least", "at most"]);
    }
}
