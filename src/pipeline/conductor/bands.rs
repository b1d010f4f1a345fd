//! The tables for the design band, worked out last of all and only at rest: one table for the whole of it, then the fewest
//! that keep a stated error. Each is made again only where something that it rests on has changed.

use super::asking::slices_of;
use super::{Conductor, Expected};
use crate::control::{ControlModel, Target};
use crate::pipeline::protocol::{Reference, Request};
use crate::pipeline::stage::Stage;
use crate::pipeline::tables::{Along, FewestForBand, HeldError, TableForBand, TableForPiece, Tables};
use crate::pipeline::tabling::{TablesReply, TablesRequest};
use crate::plane::{PreparedTargets, StateIndex};
use crate::reach::cell_corner;
use crate::table::{
    BandError, BandTable, Bounds, Candidates, FewestTables, OutOfReach, Piece, band_table, from_both_ends,
};
use std::ops::{Range, RangeInclusive};
use std::sync::Arc;

/// Frequencies that one request covers, by how long one takes: bounding them finds the nearest state of every target.
const BOUND_AT_A_TIME: usize = 4;
const NARROW_AT_A_TIME: usize = 2;
const CUT_AT_A_TIME: usize = 16;
const FOLLOW_AT_A_TIME: usize = 16;

/// The states chosen at so many frequencies, from end to end of the band, are proposed for the whole of it.
const PROPOSALS: usize = 9;

/// What tables for a band rest on.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Basis {
    model: ControlModel,
    targets: Vec<Target>,
    reference: Reference,
    band: RangeInclusive<usize>,
}

/// One table as it stands, with the largest relative vector error of a table per frequency.
struct One {
    under: (Basis, BandError),
    farthest: f64,
    table: Option<Arc<TableForBand>>,
}

/// The fewest tables as they stand.
struct Fewest {
    under: (Basis, Option<HeldError>),
    tables: Option<Arc<FewestForBand>>,
}

/// How far the tables are.
#[derive(Default)]
pub(super) struct Banding {
    one: Option<One>,
    fewest: Option<Fewest>,
    step: Step,
    /// Frequencies that are through, and that there are to go through, both counted in each of the steps.
    through: (usize, usize),
    /// The table that is followed along the band, before it stands.
    fresh: Option<BandTable>,
}

/// What is under way.
#[derive(Default)]
enum Step {
    #[default]
    None,
    Proposing(Vec<Vec<u32>>),
    /// By worker.
    Bounding(Vec<(usize, Option<Bounds>)>),
    Listing(Bounds, Vec<(usize, Candidates)>),
    /// The worker whose turn it is, and the cut as far as it was handed over.
    Cutting(usize, HeldError, Result<FewestTables, OutOfReach>),
    /// Per table its frequencies, its states, and what they do there.
    Following(Vec<(Range<usize>, Vec<u32>, Vec<Along>)>, Option<(HeldError, Cut)>),
}

/// The fewest tables, before they were followed.
type Cut = Result<Vec<Piece>, OutOfReach>;

impl Banding {
    /// Something changes while tables are made: what was begun is begun anew, what stands is looked at again.
    pub(super) fn interrupt(&mut self) {
        self.step = Step::None;
        // What was put together but not followed to its end does not stand.
        if self.fresh.take().is_some() {
            self.one = None;
        }
    }

    /// Whether the tables that were begun are still being made.
    pub(super) fn goes_on(&self) -> bool {
        !matches!(self.step, Step::None)
    }

    /// Takes a reply of `worker`, over so many frequencies; one that answers what was interrupted is too late and ignored.
    pub(super) fn take(&mut self, worker: usize, frequencies: usize, reply: TablesReply) {
        match (&mut self.step, reply) {
            (Step::Proposing(proposals), TablesReply::Chosen(states)) => proposals.push(states),
            (Step::Bounding(by_worker), TablesReply::Bounds(bounds)) => by_worker.push((worker, bounds)),
            (Step::Listing(_, by_worker), TablesReply::Candidates(candidates)) => {
                by_worker.push((worker, candidates));
            }
            (Step::Cutting(turn, _, search), TablesReply::Searched(found)) => {
                *search = found;
                *turn += 1;
            }
            (Step::Following(tables, _), TablesReply::Along(along)) => {
                for ((_, _, so_far), along) in tables.iter_mut().zip(along) {
                    if so_far.is_empty() {
                        *so_far = along;
                    } else {
                        for (so_far, along) in so_far.iter_mut().zip(along) {
                            *so_far = so_far.and(along);
                        }
                    }
                }
            }
            (Step::None, _) => return,
            _ => {}
        }
        self.through.0 += frequencies;
    }
}

impl Conductor {
    fn tables_basis(&self) -> Option<Basis> {
        let (plan, _) = self.plan.as_ref()?;
        let band = self.band.as_ref()?.design.clone();
        let (model, targets) = (plan.model.clone(), plan.targets.clone());
        Some(Basis { model, targets, reference: plan.reference.clone(), band })
    }

    /// The limit of the fewest tables; `None` where none suggests itself. `farthest` is the largest relative vector error of
    /// a table per frequency.
    fn held_error(&self, farthest: f64) -> Option<HeldError> {
        let (plan, _) = self.plan.as_ref()?;
        HeldError::of(self.settings.held_error_pct, cell_corner(&plan.tolerance, 0.0), farthest)
    }

    /// The tables that stand under what they rest on now.
    pub(super) fn tables(&self) -> Tables {
        let Some(basis) = self.tables_basis() else { return Tables::default() };
        let band = self.one_under(&basis).and_then(|one| one.table.clone());
        let fewest = self.fewest_under(&basis).and_then(|fewest| fewest.tables.clone());
        let band_on_second_capture = band.as_ref().and_then(|one| self.band_on_second_capture(one, &basis));
        Tables { band, fewest, second_capture: self.on_second_capture(), band_on_second_capture }
    }

    fn one_under(&self, basis: &Basis) -> Option<&One> {
        let stands = |one: &&One| one.under.0 == *basis && one.under.1 == self.settings.band_error;
        self.banding.one.as_ref().filter(stands)
    }

    fn fewest_under(&self, basis: &Basis) -> Option<&Fewest> {
        let limit = self.held_error(self.one_under(basis)?.farthest);
        self.banding.fewest.as_ref().filter(|fewest| fewest.under == (basis.clone(), limit))
    }

    /// How much of the tables for the band is made, in percent, while they are being made.
    pub fn tables_made_pct(&self) -> Option<f64> {
        let (through, all) = self.banding.through;
        let share = 100.0 * through as f64 / all.max(1) as f64;
        (self.stage == Stage::Tabling && self.banding.goes_on()).then_some(share.min(100.0))
    }

    /// Takes the next step towards the tables, if there is one.
    pub(super) fn tabulate(&mut self) {
        let analysed = self.report.as_ref().is_some_and(|report| report.analysis.is_ok());
        let Some(basis) = self.tables_basis().filter(|_| analysed) else { return self.banding.interrupt() };
        match std::mem::take(&mut self.banding.step) {
            Step::None => match self.one_under(&basis).map(|one| one.farthest) {
                None => self.propose(&basis),
                Some(farthest) => self.cut_unless_standing(&basis, farthest),
            },
            Step::Proposing(proposals) => self.bound(&basis, proposals),
            Step::Bounding(by_worker) => self.list(basis, by_worker),
            Step::Listing(bounds, by_worker) => self.put_together(basis, &bounds, by_worker),
            Step::Cutting(turn, limit, search) => self.cut(&basis, turn, limit, search),
            Step::Following(tables, cut) => self.stand(basis, tables, cut),
        }
    }

    /// Queues requests for every worker that owns frequencies of the band.
    fn ask_along(
        &mut self,
        band: &RangeInclusive<usize>,
        requests: impl Fn(usize, Range<usize>) -> Vec<(TablesRequest, usize)>,
    ) {
        for (worker, range) in self.ranges.clone().iter().enumerate() {
            let range = overlap(range, band);
            if !range.is_empty() {
                for (request, frequencies) in requests(worker, range) {
                    self.ask_for_tables(worker, frequencies, request);
                }
            }
        }
    }

    fn ask_for_tables(&mut self, worker: usize, frequencies: usize, request: TablesRequest) {
        let expected = Expected::Tables { worker, frequencies };
        self.queues[worker].push_back((Request::Tables(Box::new(request)), expected));
    }

    fn propose(&mut self, basis: &Basis) {
        // Bounding, narrowing, cutting and following.
        self.banding.through = (0, 4 * basis.band.clone().count());
        self.banding.step = Step::Proposing(Vec::new());
        let (first, last) = (*basis.band.start(), *basis.band.end());
        let mut indices: Vec<usize> =
            (0..PROPOSALS).map(|part| first + (last - first) * part / (PROPOSALS - 1)).collect();
        indices.dedup();
        for index in indices {
            if let Some(owner) = self.owner_of(index) {
                self.ask_for_tables(owner, 0, TablesRequest::Chosen { index });
            }
        }
    }

    fn bound(&mut self, basis: &Basis, mut proposals: Vec<Vec<u32>>) {
        // Workers answer in any order.
        proposals.sort_unstable();
        proposals.dedup();
        if let Some(targets) = self.prepared_targets(basis) {
            proposals.extend(targets.nominal_state.iter().copied().collect::<Option<Vec<u32>>>());
        }
        self.banding.step = Step::Bounding(Vec::new());
        let error = self.settings.band_error;
        self.ask_along(&basis.band, |_, range| {
            let begin = TablesRequest::Propose { error, proposals: proposals.clone() };
            let go_on = slices_of(range, BOUND_AT_A_TIME)
                .map(|part| (TablesRequest::Bound(part.clone()), part.len()));
            [(begin, 0)].into_iter().chain(go_on).chain([(TablesRequest::Bounds, 0)]).collect()
        });
    }

    fn list(&mut self, basis: Basis, mut by_worker: Vec<(usize, Option<Bounds>)>) {
        by_worker.sort_unstable_by_key(|(worker, _)| *worker);
        let all = by_worker.iter().map(|(_, bounds)| bounds.clone()).reduce(|a, b| Some(a?.and(&b?)));
        let Some(all) = all.flatten() else { return self.no_table(basis) };
        let limits = |worker: usize| {
            let own = by_worker.iter().find(|(own, _)| *own == worker);
            own.and_then(|(_, bounds)| bounds.as_ref()).map_or_else(Vec::new, |own| all.limits(own))
        };
        self.ask_along(&basis.band, |worker, range| {
            let order = from_both_ends(&range.clone().collect::<Vec<usize>>());
            let go_on =
                order.chunks(NARROW_AT_A_TIME).map(|part| (TablesRequest::Narrow(part.to_vec()), part.len()));
            let begin = (TablesRequest::Limit(limits(worker)), 0);
            let list = slices_of(range, BOUND_AT_A_TIME).map(|part| (TablesRequest::List(part), 0));
            [begin].into_iter().chain(list).chain(go_on).chain([(TablesRequest::Candidates, 0)]).collect()
        });
        self.banding.step = Step::Listing(all, Vec::new());
    }

    /// Some frequency has no states, so that there is no table for the band.
    fn no_table(&mut self, basis: Basis) {
        let under = (basis.clone(), self.settings.band_error);
        self.banding.one = Some(One { under, farthest: f64::INFINITY, table: None });
        self.banding.fewest = Some(Fewest { under: (basis, self.held_error(f64::INFINITY)), tables: None });
    }

    fn put_together(&mut self, basis: Basis, bounds: &Bounds, mut by_worker: Vec<(usize, Candidates)>) {
        by_worker.sort_unstable_by_key(|(worker, _)| *worker);
        let candidates = by_worker.into_iter().map(|(_, candidates)| candidates).reduce(|a, b| a.and(&b));
        let words = self.intake.as_ref().map_or_else(Vec::new, |intake| intake.words());
        let table = self
            .prepared_targets(&basis)
            .zip(candidates)
            .and_then(|(targets, candidates)| band_table(&targets, &words, bounds, &candidates));
        let Some(table) = table else { return self.no_table(basis) };
        let farthest = bounds.farthest.sqrt();
        let under = (basis.clone(), self.settings.band_error);
        // It stands once it was followed.
        self.banding.one = Some(One { under, farthest, table: None });
        self.banding.fresh = Some(table);
        self.cut_unless_standing(&basis, farthest);
    }

    fn cut_unless_standing(&mut self, basis: &Basis, farthest: f64) {
        match self.held_error(farthest) {
            _ if self.fewest_under(basis).is_some() => self.follow(basis, None),
            None => {
                self.banding.fewest = Some(Fewest { under: (basis.clone(), None), tables: None });
                self.follow(basis, None);
            }
            Some(limit) => {
                if self.banding.fresh.is_none() {
                    self.banding.through = (0, 2 * basis.band.clone().count());
                }
                let search = FewestTables::new(limit.pct() / 100.0, *basis.band.start());
                self.cut(basis, 0, limit, Ok(search));
            }
        }
    }

    /// Lets the workers cut one after the other, those of the lowest frequencies first.
    fn cut(
        &mut self,
        basis: &Basis,
        turn: usize,
        limit: HeldError,
        search: Result<FewestTables, OutOfReach>,
    ) {
        let search = match search {
            Ok(search) => search,
            Err(stopped) => return self.follow(basis, Some((limit, Err(stopped)))),
        };
        let of_band = |worker: &usize| !overlap(&self.ranges[*worker], &basis.band).is_empty();
        let Some(worker) = (turn..self.ranges.len()).find(of_band) else {
            let words = self.intake.as_ref().map_or_else(Vec::new, |intake| intake.words());
            let pieces = self.prepared_targets(basis).map(|targets| search.pieces(&targets, &words));
            return self.follow(basis, pieces.map(|pieces| (limit, Ok(pieces))));
        };
        let range = overlap(&self.ranges[worker], &basis.band);
        self.ask_for_tables(worker, 0, TablesRequest::Search(search.clone()));
        for part in slices_of(range, CUT_AT_A_TIME) {
            self.ask_for_tables(worker, part.len(), TablesRequest::Cut(part));
        }
        self.ask_for_tables(worker, 0, TablesRequest::Searched);
        self.banding.step = Step::Cutting(worker, limit, Ok(search));
    }

    /// Asks what the fresh tables do along their frequencies.
    fn follow(&mut self, basis: &Basis, cut: Option<(HeldError, Cut)>) {
        let range = |piece: &RangeInclusive<usize>| *piece.start()..*piece.end() + 1;
        let one = self.banding.fresh.iter().map(|table| (range(&basis.band), table.states.clone()));
        let pieces = cut.iter().filter_map(|(_, cut)| cut.as_ref().ok()).flatten();
        let tables: Vec<(Range<usize>, Vec<u32>)> =
            one.chain(pieces.map(|piece| (range(&piece.frequencies), piece.states.clone()))).collect();
        if !tables.is_empty() {
            self.ask_along(&basis.band, |_, range| {
                slices_of(range, FOLLOW_AT_A_TIME)
                    .map(|part| (TablesRequest::Along(within(&tables, &part)), part.len()))
                    .collect()
            });
        }
        if !tables.is_empty() || cut.is_some() {
            let tables = tables.into_iter().map(|(range, states)| (range, states, Vec::new())).collect();
            self.banding.step = Step::Following(tables, cut);
        }
    }

    /// All is known of the fresh tables.
    fn stand(
        &mut self,
        basis: Basis,
        tables: Vec<(Range<usize>, Vec<u32>, Vec<Along>)>,
        cut: Option<(HeldError, Cut)>,
    ) {
        let mut along = tables.into_iter().map(|(_, _, along)| along);
        if let Some(table) = self.banding.fresh.take()
            && let Some(along) = along.next()
            && let Some(one) = &mut self.banding.one
        {
            let (band, error) = (basis.band.clone(), one.under.1);
            one.table = Some(Arc::new(TableForBand { band, error, table, along }));
        }
        let Some((limit, cut)) = cut else { return };
        let follow = |(piece, along): (Piece, Vec<Along>)| TableForPiece {
            piece: piece.frequencies,
            states: piece.states,
            errors: piece.errors,
            along,
        };
        let tables = cut.map(|pieces| pieces.into_iter().zip(along).map(follow).collect());
        let fewest = FewestForBand { band: basis.band.clone(), limit, tables };
        self.banding.fewest = Some(Fewest { under: (basis, Some(limit)), tables: Some(Arc::new(fewest)) });
    }

    pub(super) fn prepared_targets(&self, basis: &Basis) -> Option<PreparedTargets> {
        let words = self.intake.as_ref()?.words();
        Some(PreparedTargets::new(basis.targets.clone(), &StateIndex::new(&words)))
    }

    pub(super) fn publish_tables(&mut self) {
        let tables = self.tables();
        self.revision += 1;
        if let Some(report) = self.report.as_mut().map(Arc::make_mut) {
            report.settings = self.settings.clone();
            if report.analysis.is_ok() {
                report.tables = tables;
            }
        }
    }
}

/// What of a range lies in the band.
fn overlap(range: &Range<usize>, band: &RangeInclusive<usize>) -> Range<usize> {
    range.start.max(*band.start())..range.end.min(*band.end() + 1)
}

/// Tables with what of their frequencies lies in a part of the band; one without any keeps its place, and no states.
fn within(tables: &[(Range<usize>, Vec<u32>)], part: &Range<usize>) -> Vec<(Range<usize>, Vec<u32>)> {
    let here = |(range, states): &(Range<usize>, Vec<u32>)| {
        let range = range.start.max(part.start)..range.end.min(part.end);
        if range.is_empty() { (0..0, Vec::new()) } else { (range, states.clone()) }
    };
    tables.iter().map(here).collect()
}
