//! One table for a band and the fewest tables, as far as the worker that owns some of its frequencies is asked: the searches
//! of [`table`](crate::table) in slices, so that one request takes no longer than scoring a few frequencies.

use super::analysis::{FrequencyWork, places_under};
use super::tables::Along;
use crate::control::Word;
use crate::plane::{PreparedTarget, StateError};
use crate::table::{AtFrequency, BandError, Bounds, Candidates, FewestTables, Floors, OutOfReach};
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// What a worker is asked about tables for a band.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum TablesRequest {
    /// The states chosen at a frequency owned.
    Chosen {
        /// Grid index.
        index: usize,
    },
    /// Begin to bound the errors of the best table by those of proposed ones.
    Propose {
        /// Which error counts.
        error: BandError,
        /// Per proposal the state that serves each target.
        proposals: Vec<Vec<u32>>,
    },
    /// Bound them over the next of the frequencies owned: one after the other, from the lowest.
    Bound(Range<usize>),
    /// Hand the bounds over.
    Bounds,
    /// Begin to list states within these limits of each target.
    Limit(Vec<f64>),
    /// List those of the targets that are hardest to serve at some of the frequencies bounded.
    List(Range<usize>),
    /// Go on with some of the frequencies bounded, each once, by grid index.
    Narrow(Vec<usize>),
    /// Hand the list over.
    Candidates,
    /// Go on cutting the band into the fewest pieces.
    Search(FewestTables),
    /// Cut along the next frequencies.
    Cut(Range<usize>),
    /// Hand the cut over.
    Searched,
    /// What tables do along some of the frequencies owned: the frequencies, and the state that serves each target.
    Along(Vec<(Range<usize>, Vec<u32>)>),
}

/// What it answers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum TablesReply {
    /// To requests that only go on with the work.
    Done,
    /// To [`TablesRequest::Chosen`].
    Chosen(Vec<u32>),
    /// To [`TablesRequest::Bounds`]; `None` where some frequency has no states.
    Bounds(Option<Bounds>),
    /// To [`TablesRequest::Candidates`].
    Candidates(Candidates),
    /// To [`TablesRequest::Searched`].
    Searched(Result<FewestTables, OutOfReach>),
    /// To [`TablesRequest::Along`]: per table, per target; nothing of a table without frequencies.
    Along(Vec<Vec<Along>>),
}

/// One frequency owned: its states under its reference, and those chosen there.
pub type Owned<'a> = (AtFrequency<'a>, &'a [u32]);

/// Work under way at one worker.
#[derive(Debug, Default)]
pub enum Tabling {
    /// None.
    #[default]
    Idle,
    /// Bounding; `bounds` is `None` where some frequency had no states.
    Bounding {
        /// Which error counts.
        error: BandError,
        /// Per proposal the state that serves each target.
        proposals: Vec<Vec<u32>>,
        /// Over the frequencies so far.
        bounds: Option<Bounds>,
        /// Frequency by frequency.
        floors: Floors,
        /// Grid index of the first.
        first: Option<usize>,
    },
    /// Listing states within limits.
    Listing {
        /// Of the frequencies bounded.
        floors: Floors,
        /// Grid index of the first.
        first: usize,
        /// Per target.
        limits: Vec<f64>,
        /// Over the frequencies so far.
        candidates: Candidates,
    },
    /// Cutting.
    Cutting(Result<FewestTables, OutOfReach>),
}

impl Tabling {
    /// Answers a request. `at` gives a frequency owned, once it was analysed. `None` where one is asked for that is not, or
    /// work goes on that was not begun.
    pub fn answer<'a>(
        &mut self,
        request: TablesRequest,
        work: &FrequencyWork,
        words: &[Word],
        at: impl Fn(usize) -> Option<Owned<'a>>,
    ) -> Option<TablesReply> {
        let targets = &work.targets;
        let states = |index: usize| at(index).map(|(states, _)| states);
        match (request, &mut *self) {
            (TablesRequest::Chosen { index }, _) => return Some(TablesReply::Chosen(at(index)?.1.to_vec())),
            (TablesRequest::Along(tables), _) => {
                let along = tables.iter().map(|(range, table)| along(work, range.clone(), table, &states));
                return along.collect::<Option<_>>().map(TablesReply::Along);
            }
            (TablesRequest::Propose { error, proposals }, _) => {
                let bounds = Bounds::of(error, targets, words, &[], &proposals);
                let floors = Floors::new(error, targets.len());
                *self = Self::Bounding { error, proposals, bounds, floors, first: None };
            }
            (TablesRequest::Bound(range), Self::Bounding { error, proposals, bounds, floors, first }) => {
                first.get_or_insert(range.start);
                for index in range {
                    let here = Bounds::of(*error, targets, words, &[states(index)?], proposals);
                    if let Some(here) = &here {
                        floors.note(&here.nearest);
                    }
                    *bounds = bounds.take().zip(here).map(|(bounds, here)| bounds.and(&here));
                }
            }
            (TablesRequest::Bounds, Self::Bounding { error, bounds, floors, first, .. }) => {
                let candidates = Candidates::new(*error, targets.len());
                let (bounds, first) = (bounds.take(), first.unwrap_or(0));
                *self = Self::Listing { floors: floors.clone(), first, limits: Vec::new(), candidates };
                return Some(TablesReply::Bounds(bounds));
            }
            (TablesRequest::Limit(given), Self::Listing { limits, .. }) => *limits = given,
            (TablesRequest::List(range), Self::Listing { floors, first, limits, candidates }) => {
                for index in range {
                    let place = index.checked_sub(*first)?;
                    let hardest_here = floors.hardest_at(place).into_iter();
                    let limits = floors.alone(place, limits);
                    candidates.begin(targets, words, &states(index)?, &limits, hardest_here);
                }
            }
            (TablesRequest::Narrow(indices), Self::Listing { floors, first, limits, candidates }) => {
                let places = indices.iter().map(|index| index.checked_sub(*first));
                let limits = floors.after(&places.collect::<Option<Vec<usize>>>()?, limits);
                let share: Vec<AtFrequency> = indices.into_iter().map(states).collect::<Option<_>>()?;
                candidates.narrow(targets, &share, &limits);
            }
            (TablesRequest::Candidates, Self::Listing { candidates, .. }) => {
                let candidates = candidates.clone();
                *self = Self::Idle;
                return Some(TablesReply::Candidates(candidates));
            }
            (TablesRequest::Search(search), _) => *self = Self::Cutting(Ok(search)),
            (TablesRequest::Cut(range), Self::Cutting(search)) => {
                for index in range {
                    let here = states(index)?;
                    // Once a frequency is out of reach there is nothing more to cut.
                    if let Ok(going) = search
                        && let Err(stopped) = going.take(targets, words, &here)
                    {
                        *search = Err(stopped);
                    }
                }
            }
            (TablesRequest::Searched, Self::Cutting(search)) => {
                let search = search.clone();
                *self = Self::Idle;
                return Some(TablesReply::Searched(search));
            }
            _ => return None,
        }
        Some(TablesReply::Done)
    }
}

/// What a table does along some frequencies, per target; nothing without frequencies.
fn along<'a>(
    work: &FrequencyWork,
    range: Range<usize>,
    table: &[u32],
    states: &impl Fn(usize) -> Option<AtFrequency<'a>>,
) -> Option<Vec<Along>> {
    let mut all: Vec<Along> = Vec::new();
    for index in range {
        let here = states(index)?;
        let places = places_under(here.transmission, here.reference);
        let at = |(target, &state): (&PreparedTarget, &u32)| {
            let error = StateError::between(places.get(state as usize)?, target);
            let transmission_db = 20.0 * here.transmission[state as usize].norm().log10();
            Some(Along::at(index, &error, transmission_db))
        };
        let here: Vec<Along> = work.targets.prepared.iter().zip(table).map(at).collect::<Option<_>>()?;
        all = if all.is_empty() {
            here
        } else {
            all.into_iter().zip(here).map(|(so_far, here)| so_far.and(here)).collect()
        };
    }
    Some(all)
}
