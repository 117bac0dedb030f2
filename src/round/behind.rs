//! What of an animal's other courses a course is held by.
//!
//! Promises: of the doses of the same medicine in other courses, the last one before the course's
//! own first record and every later one are named: no mark of the course can hang on one before
//! that, since of earlier doses only the last holds a gate. So it is the same whether the book is
//! read whole or only as far as the day's work needs.

use crate::ledger::{Dose, Ledger, Patient, Script};
use chrono::{DateTime, Utc};

/// The doses of other courses that a course of this animal is held by, each with its prescription,
/// in the order they were written down.
pub(super) fn doses_behind<'l>(
    ledger: &'l Ledger,
    patient: &'l Patient,
    script: &Script,
    now: DateTime<Utc>,
) -> Vec<(&'l Dose, &'l Script)> {
    let own = &script.prescription.reference;
    let first = patient.doses.iter().filter(|dose| dose.course == *own);
    let first = first.map(|dose| dose.happened).min().unwrap_or(now);
    let mut others: Vec<(&Dose, &Script)> = (patient.doses.iter())
        .filter(|dose| dose.course != *own)
        .flat_map(|dose| ledger.scripts_called(&dose.course).map(move |s| (dose, s)))
        .filter(|(_, other)| other.prescription.shares_medicine(&script.prescription))
        .collect();
    let gating = others
        .iter()
        .filter(|(dose, _)| dose.record.outcome.closes_the_gate() && dose.happened <= first);
    let last = gating.map(|(dose, _)| dose.happened).max();
    others.retain(|(dose, _)| last.is_none_or(|last| dose.happened >= last));
    others
}
