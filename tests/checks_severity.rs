//! How much findings matter: the written table, and the grades that are made from it.

use sweepfold::checks::{
    Bound, Certainty, Fault, FaultKind, Figure, Finding, RunVerdict, Severity, WhyUntold, table, verdict,
};
use sweepfold::control::Word;

/// A finding that concerns so many words of a run of 1000.
fn of_words(fault: Fault, words: u32) -> Finding {
    Finding {
        fault,
        words: (0..words).map(Word).collect(),
        band_hz: None,
        certainty: Certainty::Certain,
        correction: None,
        run_words: Some(1000),
    }
}

/// Worked from the table by hand: below, at and above each limit.
#[test]
fn grades_by_kind_size_and_number_of_words() {
    use Severity::{Care, NotToBeTrusted, Note};
    let unsettled = |share| Fault::Unsettled { share, time_constant_points: None };
    let step = |gain_db, phase_deg| Fault::StepInTime { after: Word(3), gain_db, phase_deg };
    let drift = |gain_db, phase_deg| Fault::Drift { gain_db, phase_deg };
    let outlier = |relative| Fault::Outlier { relative };
    let passive = |largest_singular_value| Fault::NotPassive { largest_singular_value };
    let reciprocal = |largest| Fault::NotReciprocal { largest };
    let floor = |smallest_snr_db| Fault::NearFloor { smallest_snr_db };
    for (fault, words, expected) in [
        (Fault::MissedWord, 1, Care),
        (Fault::MissedWord, 20, Care),
        (Fault::MissedWord, 21, NotToBeTrusted),
        (Fault::RepeatedBuffer, 20, Care),
        (Fault::RepeatedBuffer, 21, NotToBeTrusted),
        (unsettled(0.019), 20, Note),
        (unsettled(0.019), 21, Care),
        (unsettled(0.02), 1, Care),
        (unsettled(0.049), 900, Care),
        (unsettled(0.05), 20, Care),
        (unsettled(0.05), 21, NotToBeTrusted),
        (outlier(0.02), 20, Note),
        (outlier(0.02), 21, Care),
        (outlier(0.02), 900, Care),
        (outlier(0.05), 100, Care),
        (outlier(0.05), 101, NotToBeTrusted),
        (step(0.05, -0.6), 1, Note),
        (step(-0.06, 0.0), 1, Care),
        (step(0.0, -0.7), 1, Care),
        (step(-1.0, 0.0), 1, NotToBeTrusted),
        (step(0.5, 11.0), 1, NotToBeTrusted),
        (drift(0.05, 0.6), 0, Note),
        (drift(-0.2, 0.0), 0, Care),
        (drift(-0.2, -12.0), 0, NotToBeTrusted),
        (passive(1.02), 20, Note),
        (passive(1.02), 21, Care),
        (passive(3.0), 1000, Care),
        (reciprocal(0.01), 20, Note),
        (reciprocal(0.05), 20, Care),
        (floor(9.0), 500, Care),
        (floor(9.0), 501, NotToBeTrusted),
        (floor(12.0), 900, Care),
        (Fault::Leakage { relative_db: -20.5 }, 0, Care),
        (Fault::Leakage { relative_db: -19.5 }, 0, NotToBeTrusted),
        (Fault::OnePath, 1000, Note),
        (Fault::DriftUntold(WhyUntold::TooFewStates), 0, Note),
        (Fault::ExchangedBits { low: 0, high: 1 }, 0, Care),
        (Fault::IdleBit { bit: 0, gain_db: 0.0, phase_deg: 0.0, stuck: None }, 0, NotToBeTrusted),
    ] {
        assert_eq!(of_words(fault.clone(), words).severity(), expected, "{fault:?} in {words} words");
    }
}

/// One word of 64 (1.6 %) is few and one of 32 (3.1 %) is not; of a run of unknown size any word is too many, and what
/// names no word concerns all of them.
#[test]
fn words_count_by_their_share_of_the_run() {
    let one = |run_words| Finding { run_words, ..of_words(Fault::MissedWord, 1) };
    assert_eq!(one(Some(64)).severity(), Severity::Care);
    assert_eq!(one(Some(32)).severity(), Severity::NotToBeTrusted);
    assert_eq!(one(None).severity(), Severity::NotToBeTrusted);
    assert_eq!(of_words(Fault::MissedWord, 0).words_pct(), 100.0);
}

/// Every kind of fault has its rows together, the last of them without a condition, so that nothing is graded by
/// accident; and the graver come first, so that more words or a larger figure never make a finding milder.
#[test]
fn the_table_is_whole_and_in_order() {
    let mut kinds: Vec<FaultKind> = table().iter().map(|row| row.kind).collect();
    kinds.dedup();
    let mut sorted = kinds.clone();
    sorted.sort_unstable();
    sorted.dedup();
    assert_eq!(kinds.len(), sorted.len(), "a kind's rows are apart");
    // The last kind of the enumeration, so that a new one makes this fail until it has its rows.
    assert_eq!(kinds.len(), FaultKind::OnePath as usize + 1);
    for &kind in &kinds {
        let rows: Vec<_> = table().iter().filter(|row| row.kind == kind).collect();
        assert!(rows.windows(2).all(|pair| pair[0].severity >= pair[1].severity), "{kind:?}");
        for (place, row) in rows.iter().enumerate() {
            let is_last = place + 1 == rows.len();
            assert_eq!(row.any_of.is_empty() && row.words_over_pct.is_none(), is_last, "{kind:?}");
            for limit in row.any_of {
                // Only of the signal-to-noise ratio is less worse.
                let downwards = matches!(limit.bound, Bound::Below(_));
                assert_eq!(downwards, limit.figure == Figure::SnrDb);
            }
        }
    }
}

#[test]
fn the_gravest_finding_decides() {
    let note = of_words(Fault::OnePath, 0);
    let care = of_words(Fault::MissedWord, 1);
    let worthless = of_words(Fault::MissedWord, 100);
    assert_eq!(verdict(&[]), RunVerdict::Sound);
    assert_eq!(verdict(std::slice::from_ref(&note)), RunVerdict::Sound);
    assert_eq!(verdict(&[care.clone(), note.clone()]), RunVerdict::WithCare);
    assert_eq!(verdict(&[note, worthless, care]), RunVerdict::NotToBeTrusted);
}
