//! Specifications and typical curves among what the user drops.

use super::files::{self, Offered};
use crate::part::TableKind;
use crate::pipeline::Settings;
use crate::run::Offer;

/// Tables that were found, each with its path.
pub struct Tables(Vec<(String, String)>);

/// Takes the tables out of the files. Only small texts are looked into, and only their headers count, so that an index
/// of the files stays where it is.
pub async fn among(files: Vec<Offered>) -> (Tables, Vec<Offered>) {
    let (mut tables, mut others) = (Vec::new(), Vec::with_capacity(files.len()));
    for offered in files {
        let text =
            if Offer::may_be_index(&offered.path, 0) { files::offer(&offered).await.contents } else { None };
        match text.filter(|text| TableKind::of(text).is_some()) {
            Some(text) => tables.push((offered.path, text)),
            None => others.push(offered),
        }
    }
    (Tables(tables), others)
}

impl Tables {
    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Enters the tables into settings, and says what became of each; the last of a kind stays.
    pub fn enter(&self, settings: &mut Settings) -> Vec<String> {
        let one = |(path, text): &(String, String)| {
            Some(match settings.take_table(text)? {
                Ok(TableKind::Specification) => format!("The specification in {path} is taken."),
                Ok(TableKind::TypicalCurve) => format!("The typical curve in {path} is taken."),
                Err(reason) => format!("{path} is not taken: {reason}"),
            })
        };
        self.0.iter().filter_map(one).collect()
    }
}
