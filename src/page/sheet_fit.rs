//! What has to go so that the sheet stays one page, and is counted where it was.

use super::dom;
use crate::sheet::parts::LineVerdict;
use crate::sheet::wording::counted;
use web_sys::Element;

/// On a row of the specification: what became of it, in words.
pub const VERDICT: &str = "data-row-verdict";

/// So many notes stay, their count among them, as long as lower plots make room for them, and as long as plots would get so
/// low that they are hard to read.
const FEW_NOTES: u32 = 4;
const FEWEST_NOTES: u32 = 2;

/// Takes lines away from their ends, and counts them, until everything fits on the page. Notes go first, as long as there
/// are more than a few; then plots get lower and rows of the specification that hold go; the last few notes, and rows that
/// do not hold, go when nothing else is left.
pub fn fit(article: &Element) {
    let is_full = || article.scroll_height() > article.client_height();
    let found = |selector: &str| article.query_selector(selector).ok().flatten();
    let mut notes = found("[data-notes]").map(Notes::of);
    let mut rows = found("[data-rows]").map(Rows::of);
    let lower_plots = |class: &str| {
        let classes = article.class_name();
        let is_new = !classes.split(' ').any(|one| one == class);
        if is_new {
            article.set_class_name(&format!("{classes} {class}"));
        }
        is_new
    };
    while is_full() {
        let gave_way = notes.as_mut().is_some_and(|notes| notes.left() > FEW_NOTES && notes.drop_last())
            || lower_plots("tight")
            || rows.as_mut().is_some_and(|rows| rows.last_holds() && rows.drop_last())
            || notes.as_mut().is_some_and(|notes| notes.left() > FEWEST_NOTES && notes.drop_last())
            || lower_plots("tightest")
            || notes.as_mut().is_some_and(Notes::drop_last)
            || rows.as_mut().is_some_and(Rows::drop_last);
        if !gave_way {
            return;
        }
    }
    // Lower plots may have made more room than was wanted.
    if let Some(notes) = &mut notes {
        while notes.put_back() {
            if is_full() {
                notes.drop_last();
                return;
            }
        }
    }
}

/// A list whose last item counts what was taken away.
struct Notes {
    list: Element,
    count: Element,
    /// In the order in which they were taken away.
    removed: Vec<Element>,
}

impl Notes {
    fn of(list: Element) -> Self {
        Self { list, count: dom::make("li", ""), removed: Vec::new() }
    }

    fn left(&self) -> u32 {
        self.list.child_element_count()
    }

    /// Whether there was one to take away.
    fn drop_last(&mut self) -> bool {
        let last = if self.removed.is_empty() {
            self.list.last_element_child()
        } else {
            self.count.previous_element_sibling()
        };
        let Some(last) = last else { return false };
        last.remove();
        self.removed.push(last);
        self.count_removed();
        true
    }

    /// Whether there was one to put back.
    fn put_back(&mut self) -> bool {
        let Some(last) = self.removed.pop() else { return false };
        dom::append(&self.list, &last);
        self.count_removed();
        true
    }

    /// Counts at the list's end what was taken away.
    fn count_removed(&self) {
        self.count.remove();
        if !self.removed.is_empty() {
            let lines = self.removed.len();
            let text = counted(lines, "more line stands on the page.", "more lines stand on the page.");
            self.count.set_text_content(Some(&text));
            dom::append(&self.list, &self.count);
        }
    }
}

/// A table of verdicts, and under it how many of each were taken away.
struct Rows {
    table: Element,
    count: Element,
    /// The verdicts taken away.
    removed: Vec<String>,
}

impl Rows {
    fn of(table: Element) -> Self {
        Self { table, count: dom::make("p", ""), removed: Vec::new() }
    }

    /// The last row and its verdict; the first row stays, and what fails stands first.
    fn last(&self) -> Option<(Element, String)> {
        let last = self.table.query_selector("tbody tr:last-child:not(:first-child)").ok().flatten()?;
        let verdict = last.get_attribute(VERDICT)?;
        Some((last, verdict))
    }

    fn last_holds(&self) -> bool {
        self.last().is_some_and(|(_, verdict)| verdict == LineVerdict::Holds.word())
    }

    fn drop_last(&mut self) -> bool {
        let Some((last, verdict)) = self.last() else { return false };
        last.remove();
        self.removed.push(verdict);
        let kinds =
            [LineVerdict::Fails, LineVerdict::NotDecidable, LineVerdict::NotMeasured, LineVerdict::Holds];
        let number =
            |kind: &LineVerdict| self.removed.iter().filter(|verdict| *verdict == kind.word()).count();
        let told = kinds.iter().filter(|kind| number(kind) > 0);
        let told: Vec<String> = told.map(|kind| format!("{}: {}", kind.word(), number(kind))).collect();
        let more = counted(self.removed.len(), "more row stands on the page", "more rows stand on the page");
        self.count.set_text_content(Some(&format!("{more} ({}).", told.join(", "))));
        if self.removed.len() == 1 {
            let _ = self.table.insert_adjacent_element("afterend", &self.count);
        }
        true
    }
}
