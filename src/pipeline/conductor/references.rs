//! The references: the best fits, searched for in rounds, and what every policy makes of every frequency.
//!
//! A best fit in use is searched for before the frequencies are analysed; all others once the settings have come to rest, to be
//! compared. What was found is kept until what it rests on changes, the chosen frequency not being among that.

use super::asking::{slices, slices_of};
use super::compared::{Compared, Under};
use super::{Conductor, Expected};
use crate::control::{ControlModel, Target};
use crate::pipeline::comparing::{Comparison, comparison};
use crate::pipeline::protocol::{Beside, FittedAt, Reference, ReferenceScores, Request, Starts};
use crate::pipeline::report::NoAnalysis;
use crate::plane::{Anchor, ReferencePolicy};
use crate::table::{BandFit, Fit, FitSums, Trials, starts};
use num_complex::Complex64;
use std::ops::{Range, RangeInclusive};
use std::sync::Arc;

/// What is known of the references.
#[derive(Default)]
pub(super) struct References {
    each: EachFit,
    turn: TurnFit,
    compared: Compared,
    /// Where a policy by rule serves a frequency better than what was searched for.
    bettered: Option<Bettered>,
    /// The present stage has no further round.
    is_settled: bool,
}

/// What came of a search that is over; it may be nothing.
#[derive(Clone, Copy)]
struct Outcome<T>(Option<T>);

/// What the best fit of a frequency rests on.
type Basis = (ControlModel, Vec<Target>, Anchor);

/// The best fit with the references that served some frequencies better than what its search had found, and under what.
struct Bettered {
    basis: Basis,
    under: Option<Under>,
    references: Vec<Complex64>,
}

/// The best fit at each frequency.
#[derive(Default)]
struct EachFit {
    basis: Option<Basis>,
    /// From the frequency's own starts; `None` until it is found.
    own: Vec<Option<Outcome<FittedAt>>>,
    /// The better of that and what its neighbours' lead to.
    best: Vec<Option<Outcome<FittedAt>>>,
}

/// The best turn and scale for the design band.
#[derive(Default)]
struct TurnFit {
    basis: Option<(Basis, RangeInclusive<usize>)>,
    search: Option<BandFit>,
    /// Per frequency of the grid, what was summed of the present trials.
    sums: Vec<Option<Outcome<Vec<FitSums>>>>,
    found: Option<Outcome<Fit>>,
}

impl References {
    pub(super) fn is_settled(&self) -> bool {
        self.is_settled
    }

    pub(super) fn take_own(&mut self, range: Range<usize>, fits: Vec<Option<FittedAt>>) {
        for (index, fit) in range.zip(fits) {
            self.each.own[index] = Some(Outcome(fit));
        }
    }

    pub(super) fn take_best(&mut self, range: Range<usize>, fits: Vec<Option<FittedAt>>) {
        for (index, beside) in range.zip(fits) {
            let own = self.each.own[index].and_then(|own| own.0);
            let fits: Vec<Fit> = [own, beside].into_iter().flatten().filter_map(|at| at.fit).collect();
            self.each.best[index] = Some(Outcome(own.map(|at| FittedAt { fit: Fit::best(&fits), ..at })));
        }
    }

    pub(super) fn take_sums(&mut self, range: Range<usize>, sums: Vec<Option<Vec<FitSums>>>) {
        for (index, sums) in range.zip(sums) {
            self.turn.sums[index] = Some(Outcome(sums));
        }
    }

    pub(super) fn take_compared(&mut self, range: Range<usize>, scores: Vec<Vec<Option<ReferenceScores>>>) {
        for (index, scores) in range.zip(scores) {
            self.compared.scores[index] = Some(scores);
        }
    }
}

impl EachFit {
    /// The reference at each frequency, zero where there is none; `None` until all are found, or where none is.
    fn reference(&self) -> Option<Reference> {
        let all: Option<Vec<Outcome<FittedAt>>> = self.best.iter().copied().collect();
        let at = |at: Outcome<FittedAt>| at.0.and_then(|at| Some(at.fit?.ratio * at.ring_median));
        let at = |fit| at(fit).filter(|reference| reference.is_finite());
        let references: Vec<Option<Complex64>> = all?.into_iter().map(at).collect();
        references.iter().any(Option::is_some).then(|| {
            Reference::EachFrequency(references.into_iter().map(Option::unwrap_or_default).collect())
        })
    }

    /// Where a frequency and its neighbours were led from their own starts.
    fn beside(&self, index: usize) -> Beside {
        let found = |index: Option<usize>| Some(self.own.get(index?).copied()??.0?.fit?.ratio);
        let neighbours = [index.checked_sub(1), Some(index + 1)];
        Beside { here: found(Some(index)), neighbours: neighbours.into_iter().filter_map(found).collect() }
    }
}

impl TurnFit {
    /// Goes on as far as what was summed allows; the trials to be summed next, `None` when the search is over.
    fn step(&mut self, band: &RangeInclusive<usize>) -> Option<Trials> {
        let search = self.search.as_mut()?;
        loop {
            let Some(trials) = search.asks() else {
                self.found = Some(Outcome(search.fit()));
                return None;
            };
            let asked = self.sums[band.clone()].iter().enumerate();
            let asked = asked.filter(|(place, _)| trials.are_at(*place)).map(|(_, sums)| sums.clone());
            let Some(summed) = asked.collect::<Option<Vec<_>>>() else { return Some(trials) };
            self.sums.fill(None);
            // In the order of the frequencies, so that the sums do not depend on how the grid is cut.
            let mut sums = vec![FitSums::default(); trials.ratios.len()];
            for at in summed.into_iter().filter_map(|at| at.0) {
                sums = sums.iter().zip(&at).map(|(sum, at)| sum.and(at)).collect();
            }
            search.take(&sums);
        }
    }

    fn anchor(&self, ring_median: Anchor) -> Option<Anchor> {
        let ratio = self.found?.0.map(|fit| fit.ratio).filter(|ratio| ratio.inv().is_finite())?;
        match ring_median {
            Anchor::Word { word } => Some(Anchor::Turned { word, scale: ratio.inv() }),
            _ => None,
        }
    }
}

impl Conductor {
    /// Searches for the best fit in use, if one is; a round at a time.
    pub(super) fn fit_in_use(&mut self) {
        let Some(policy) = self.plan.as_ref().map(|(_, decisions)| decisions.reference) else {
            self.references.is_settled = true;
            return;
        };
        // Only where all are compared is it known that no other reference serves a frequency better.
        let goes_on = match policy {
            ReferencePolicy::BestFitEachFrequency => self.compare_round(),
            policy => policy.is_fitted() && self.fit_round(policy),
        };
        self.references.is_settled = !goes_on;
        if !self.references.is_settled || !policy.is_fitted() {
            return;
        }
        let everywhere = |reference: &Reference| match reference {
            Reference::EachFrequency(references) => references.iter().all(|one| *one != Complex64::ZERO),
            Reference::Anchor(_) => true,
        };
        let Some(reference) = self.fitted(policy).filter(everywhere) else {
            self.plan = None;
            return self.conclude(Err(NoAnalysis::NoReference(policy)));
        };
        if let Some((plan, _)) = &mut self.plan {
            plan.reference = reference.clone();
        }
        self.for_owners(|_, _| vec![(Request::Refer(reference.clone()), Expected::Done)]);
    }

    /// Completes the best fits, then scores every policy at every frequency; a round at a time.
    pub(super) fn compare(&mut self) {
        self.publish_survey();
        let analysed = self.report.as_ref().is_some_and(|report| report.analysis.is_ok());
        self.references.is_settled = !analysed || !self.compare_round();
        if analysed && self.references.is_settled {
            self.publish_comparison();
        }
    }

    /// The comparison of the references as the settings are, where it is known.
    pub(super) fn comparison(&self) -> Option<Arc<Comparison>> {
        let ((plan, _), band) = (self.plan.as_ref()?, self.band.as_ref()?);
        let compared = &self.references.compared;
        let under = compared.under.as_ref()?;
        let stands = (&under.0, &under.1, under.2, under.3)
            == (&plan.model, &plan.targets, plan.tolerance, plan.rule)
            && self.is_compared(&self.references_to_compare()?);
        let scores: Vec<_> = stands.then(|| compared.scores.iter().cloned().collect::<Option<_>>())??;
        let policies: Vec<ReferencePolicy> = compared.references.iter().map(|(policy, _)| *policy).collect();
        let zero_word: Vec<Option<Complex64>> =
            self.scores.iter().map(|at| at.as_ref().and_then(|at| at.zero_word)).collect();
        comparison(&plan.model, band, &policies, &scores, &zero_word).map(Arc::new)
    }

    fn publish_comparison(&mut self) {
        let comparison = self.comparison();
        self.revision += 1;
        if let Some(report) = self.report.as_mut().map(Arc::make_mut) {
            report.comparison = comparison;
        }
    }

    fn compare_round(&mut self) -> bool {
        for policy in ReferencePolicy::OFFERED.into_iter().filter(|policy| policy.is_fitted()) {
            if self.fit_round(policy) {
                return true;
            }
        }
        let (Some(references), Some((plan, _))) = (self.references_to_compare(), &self.plan) else {
            return false;
        };
        let under = (plan.model.clone(), plan.targets.clone(), plan.tolerance, plan.rule);
        let points = self.scores.len();
        let compared = &mut self.references.compared;
        if compared.under.as_ref() != Some(&under) || compared.references != references {
            *compared = Compared { references, under: Some(under), scores: vec![None; points] };
        }
        let missing: Vec<bool> = compared.scores.iter().map(Option::is_none).collect();
        if !missing.contains(&true) {
            self.better();
            return false;
        }
        let references: Vec<Reference> =
            compared.references.iter().map(|(_, reference)| reference.clone()).collect();
        self.for_owners(|_, range| {
            slices(range)
                .filter(|part| part.clone().any(|index| missing[index]))
                .map(|range| {
                    let request = Request::Compare { references: references.clone(), range: range.clone() };
                    (request, Expected::Compared(range))
                })
                .collect()
        });
        true
    }

    /// Gives the best fit the reference of any other policy that serves a frequency better.
    fn better(&mut self) {
        let Some((basis, _)) = self.fits_basis() else { return };
        if let Some(references) = self.references.compared.better() {
            let under = self.references.compared.under.clone();
            self.references.bettered = Some(Bettered { basis, under, references });
        }
    }

    fn is_compared(&self, references: &[(ReferencePolicy, Reference)]) -> bool {
        let compared = &self.references.compared;
        compared.references == references && compared.scores.iter().all(Option::is_some)
    }

    /// Every policy that the words allow, with its reference; `None` before there is a plan.
    fn references_to_compare(&self) -> Option<Vec<(ReferencePolicy, Reference)>> {
        let (_, decisions) = self.plan.as_ref()?;
        let by_rule = |policy: ReferencePolicy| {
            let anchor = decisions.anchors.iter().find(|(other, _)| *other == policy);
            anchor.map(|(_, anchor)| Reference::Anchor(*anchor))
        };
        let named = decisions.anchors.iter().map(|(policy, _)| *policy);
        let named = named.filter(|policy| matches!(policy, ReferencePolicy::Word(_)));
        let policies = ReferencePolicy::OFFERED.into_iter().chain(named);
        let with_reference = |policy: ReferencePolicy| {
            let reference = if policy.is_fitted() { self.fitted(policy) } else { by_rule(policy) };
            Some((policy, reference?))
        };
        Some(policies.filter_map(with_reference).collect())
    }

    /// A best fit that was found under what is in use now.
    fn fitted(&self, policy: ReferencePolicy) -> Option<Reference> {
        let (basis, _) = self.fits_basis()?;
        match policy {
            ReferencePolicy::BestFitEachFrequency => {
                let each = &self.references.each;
                let (plan, _) = self.plan.as_ref()?;
                let under = Some((plan.model.clone(), plan.targets.clone(), plan.tolerance, plan.rule));
                let bettered = self.references.bettered.as_ref();
                match bettered.filter(|found| found.basis == basis && found.under == under) {
                    Some(found) => Some(Reference::EachFrequency(found.references.clone())),
                    None => (each.basis.as_ref() == Some(&basis)).then(|| each.reference())?,
                }
            }
            ReferencePolicy::BestFitOneTurn => {
                let (turn, design) = (&self.references.turn, self.band.as_ref()?.design.clone());
                let ring_median = basis.2;
                let stands = turn.basis.as_ref() == Some(&(basis, design));
                stands.then(|| turn.anchor(ring_median))?.map(Reference::Anchor)
            }
            _ => None,
        }
    }

    /// What the fits rest on, and the zero word's reference at the band's centre, as a ratio to the ring median's.
    fn fits_basis(&self) -> Option<(Basis, Option<Complex64>)> {
        let (plan, decisions) = self.plan.as_ref()?;
        let (_, ring_median) =
            decisions.anchors.iter().find(|(policy, _)| *policy == ReferencePolicy::RingMedian)?;
        let basis = (plan.model.clone(), plan.targets.clone(), *ring_median);
        Some((basis, decisions.zero_word_ratio))
    }

    /// Queues the next round of the search for a best fit; whether there is one.
    fn fit_round(&mut self, policy: ReferencePolicy) -> bool {
        let Some((basis, zero_word)) = self.fits_basis() else { return false };
        match policy {
            ReferencePolicy::BestFitEachFrequency => self.fit_each(basis),
            ReferencePolicy::BestFitOneTurn => self.fit_turn(basis, zero_word),
            _ => false,
        }
    }

    fn fit_each(&mut self, basis: Basis) -> bool {
        let (points, ring_median) = (self.scores.len(), basis.2);
        let each = &mut self.references.each;
        if each.basis.as_ref() != Some(&basis) {
            *each = EachFit { basis: Some(basis), own: vec![None; points], best: vec![None; points] };
        }
        let from_own = each.own.iter().any(Option::is_none);
        let missing: Vec<bool> =
            if from_own { &each.own } else { &each.best }.iter().map(Option::is_none).collect();
        let beside: Vec<Beside> = (0..points).map(|index| each.beside(index)).collect();
        self.for_owners(|_, range| {
            // One at a time: a search takes as long as many choices.
            let asked = slices_of(range, 1).filter(|part| missing[part.start]);
            asked
                .map(|range| {
                    let (starts, expected) = if from_own {
                        (Starts::Own, Expected::OwnFits(range.clone()))
                    } else {
                        let beside = beside[range.clone()].to_vec();
                        (Starts::Neighbours(beside), Expected::BestFits(range.clone()))
                    };
                    (Request::Fit { ring_median, range, starts }, expected)
                })
                .collect()
        });
        missing.contains(&true)
    }

    fn fit_turn(&mut self, basis: Basis, zero_word: Option<Complex64>) -> bool {
        let Some(design) = self.band.as_ref().map(|band| band.design.clone()) else { return false };
        let ring_median = basis.2;
        let turn = &mut self.references.turn;
        let under = (basis, design.clone());
        if turn.basis.as_ref() != Some(&under) {
            let (model, targets, _) = &under.0;
            let search =
                BandFit::new(&starts(model, zero_word.as_slice()), targets.len(), design.clone().count());
            let sums = vec![None; self.scores.len()];
            *turn = TurnFit { basis: Some(under), search: Some(search), sums, found: None };
        }
        if turn.found.is_some() {
            return false;
        }
        let Some(trials) = turn.step(&design) else { return false };
        let is_asked = |(index, sums): (usize, &Option<_>)| {
            sums.is_none() && design.contains(&index) && trials.are_at(index - design.start())
        };
        let asked: Vec<bool> = turn.sums.iter().enumerate().map(is_asked).collect();
        self.for_owners(|_, range| {
            slices_of(range, 1)
                .filter(|part| asked[part.start])
                .map(|range| {
                    let request =
                        Request::FitSums { ring_median, range: range.clone(), trials: trials.clone() };
                    (request, Expected::FitSums(range))
                })
                .collect()
        });
        true
    }
}
