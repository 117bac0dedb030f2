//! The weight that a dose is held against: the one it was measured by, unless the book has since
//! put another in its place.
//!
//! Promises: a weight struck out gives way to the one that stands from then; a weight
//! that was newer at the time of the dose, but was written down only after it, takes the place of
//! the older one. A weight that the vet wrote gives way to none, nor one that the vet accepted to a
//! newer one. Deliberately does not judge how far two weights may be apart.

use crate::animal::Weighing;
use crate::entry::Order;
use crate::ledger::{Dose, Said};
use crate::notation::Written;
use crate::prescription::WeightBasis;
use crate::quantity::BodyWeight;
use crate::round::Standing;
use crate::round::dose::said_by;
use chrono::{DateTime, Utc};
use std::borrow::Cow;

/// Why a dose is held against another weight than the one that it was measured by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Why {
    /// That weight was struck out.
    TakenOut,
    /// Another was newer when the dose was given, and was written down after it.
    WrittenLater,
}

/// The weight behind a dose as the book has it now; none where it went by none.
pub fn weight_behind(standing: &Standing, dose: &Dose) -> Option<Written<BodyWeight>> {
    let used = dose.record.mark.as_ref()?.weight.as_ref()?;
    match behind(standing, dose, None) {
        None => Some(used.clone()),
        Some((_, stands)) => stands.map(|weighing| weighing.weight),
    }
}

/// The weighing that has taken the place of the weight a dose was measured by, and why, as the book
/// has it or had it before an entry; no weighing where none is left, and nothing where the dose
/// stands by its own weight.
pub(super) fn behind(
    standing: &Standing,
    dose: &Dose,
    before: Option<u64>,
) -> Option<(Why, Option<Weighing>)> {
    let used = dose.record.mark.as_ref()?.weight.as_ref()?;
    let moment = weighed_by(standing, dose, used)?;
    let is_used = |weighing: &Weighing| weighing.weight.value() == used.value();
    let weighings = stood(standing, before);
    let by_then = weighings.partition_point(|weighing| weighing.at <= moment);
    let by_then = weighings.get(..by_then).unwrap_or_default();
    // What is written down for the very moment of the dose may as well have been just after it.
    let known = |weighing: &&Weighing| weighing.at < moment || weighing.entry < dose.entry;
    let newest = by_then.iter().rev().find(known);
    if newest.is_some_and(is_used) {
        return None;
    }
    if weighings.iter().any(is_used) {
        let later = newest.filter(|newest| newest.entry > dose.entry)?;
        let later = (Why::WrittenLater, Some(later.clone()));
        return (!is_accepted(standing, dose, used)).then_some(later);
    }
    let mut gone = standing.patient.withdrawn.iter();
    let gone =
        gone.any(|gone| is_used(&gone.weighing) && before.is_none_or(|before| gone.by < before));
    let stands = by_then.last().or(weighings.first());
    gone.then(|| (Why::TakenOut, stands.cloned()))
}

/// Whether the book held the same against a dose before an entry was written: what the vet said
/// with that entry covers it.
pub(super) fn knew(standing: &Standing, dose: &Dose, entry: u64) -> bool {
    let weight = |before| {
        let found = behind(standing, dose, before);
        found.map(|(_, weighing)| weighing.map(|weighing| weighing.weight.value()))
    };
    weight(None) == weight(Some(entry))
}

/// When the vet spoke about a dose after something had gone wrong with it.
pub(super) fn spoken_about<'l>(
    standing: &Standing<'l>,
    dose: &Dose,
    now: DateTime<Utc>,
) -> impl Iterator<Item = &'l Said> + use<'l> {
    let settles = Order::Settled { entry: dose.entry };
    said_by(standing.patient, standing.script, now)
        .filter(move |said| said.instruction.order == settles)
}

/// The weighings that a dose is, or was, held against, by their entries: from them alone all of
/// this comes out the same.
pub(super) fn held_against(standing: &Standing, dose: &Dose) -> Vec<u64> {
    let Some(used) = dose.record.mark.as_ref().and_then(|m| m.weight.as_ref()) else {
        return Vec::new();
    };
    let all = standing.patient.weights.all();
    let same = |weighing: &&Weighing| weighing.weight.value() == used.value();
    let moment = weighed_by(standing, dose, used).unwrap_or(dose.happened);
    let before = all.iter().rev().find(|weighing| weighing.at < moment);
    let mut entries: Vec<u64> = all
        .iter()
        .rev()
        .find(same)
        .into_iter()
        .chain(standing.patient.weights.latest(moment).or(all.first()))
        .chain(before)
        .map(|weighing| weighing.entry)
        .collect();
    for said in spoken_about(standing, dose, DateTime::<Utc>::MAX_UTC) {
        let then = behind(standing, dose, Some(said.entry));
        entries.extend(then.and_then(|(_, weighing)| Some(weighing?.entry)));
        let first_written = all.iter().filter(same).map(|weighing| weighing.entry).min();
        entries.extend(first_written);
    }
    entries
}

/// The weighings that stood, oldest first.
fn stood<'l>(standing: &Standing<'l>, before: Option<u64>) -> Cow<'l, [Weighing]> {
    let patient = standing.patient;
    let Some(before) = before else {
        return Cow::Borrowed(patient.weights.all());
    };
    let since = patient.withdrawn.iter().filter(|gone| gone.by > before);
    let all = patient.weights.all().iter();
    let all = all.chain(since.map(|gone| &gone.weighing));
    let mut stood: Vec<Weighing> = all.filter(|w| w.entry < before).cloned().collect();
    stood.sort_by_key(|weighing| (weighing.at, weighing.entry));
    Cow::Owned(stood)
}

/// The moment whose weight a dose goes by; none for a weight that the vet wrote.
fn weighed_by(
    standing: &Standing,
    dose: &Dose,
    used: &Written<BodyWeight>,
) -> Option<DateTime<Utc>> {
    match &standing.script.prescription.weight_basis {
        WeightBasis::Fixed(weight) if weight.value() == used.value() => None,
        WeightBasis::Start => Some(standing.course.first_dose.unwrap_or(dose.happened)),
        WeightBasis::Latest | WeightBasis::Fixed(_) => Some(dose.happened),
    }
}

/// Whether the vet had said to go by this weight.
fn is_accepted(standing: &Standing, dose: &Dose, used: &Written<BodyWeight>) -> bool {
    let mut said = said_by(standing.patient, standing.script, dose.happened);
    said.any(|said| match &said.instruction.order {
        Order::AcceptWeight { weight, .. } => weight.value() == used.value(),
        _ => false,
    })
}
