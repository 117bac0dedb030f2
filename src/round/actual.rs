//! What was really given by body weight, from the volumes, strengths and weights in the records.
//!
//! Promises: only doses that were given whole count; where a volume, a strength or a weight is
//! not known, the dose is counted as not known instead of being guessed.

use crate::course::{Record, Standing as Slot};
use crate::entry::Outcome;
use crate::ledger::{Dose, Ledger};
use crate::notation::{Written, print};
use crate::quantity::{DoseRate, Exact, Strength};
use crate::round::Standing;
use crate::round::dose::{measured, strength_now};
use crate::round::weighed::weight_behind;

/// The doses really given in a course, by body weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Actual {
    /// The smallest and the greatest; none where nothing is known of any.
    pub range: Option<(DoseRate, DoseRate)>,
    /// Of so many doses it is known.
    pub known: u32,
    /// Of so many it is not.
    pub unknown: u32,
}

/// What was really given in a course; nothing where the dose does not go by body weight or none
/// was given.
pub fn actual(ledger: &Ledger, standing: &Standing) -> Option<Actual> {
    let course = &standing.course;
    let mut actual = Actual {
        range: None,
        known: 0,
        unknown: 0,
    };
    let tied = course.slots.iter().flat_map(|slot| {
        let each = slot.records.iter();
        each.map(move |record| (record.id, slot.slot.number))
    });
    let extra = course.extras.iter();
    let extra = extra.map(|extra| (extra.record.id, extra.nearest));
    for (id, number) in tied.chain(extra) {
        let mut doses = standing.patient.doses.iter();
        let given = doses.find(|dose| dose.entry == id).filter(|dose| {
            let slot = course.slot(number);
            slot.is_some_and(|slot| stayed_in(slot, dose))
        });
        let written = course
            .slot(number)
            .and_then(|slot| standing.script.prescription.dose(slot.slot.dose));
        let (Some(dose), Some(written)) = (given, written.and_then(|dose| dose.rate())) else {
            continue;
        };
        match rate_given(ledger, standing, dose, number, written) {
            Some(rate) => {
                actual.known += 1;
                actual.range = Some(widen(actual.range, rate));
            }
            None => actual.unknown += 1,
        }
    }
    (actual.known + actual.unknown > 0).then_some(actual)
}

/// Whether a dose was given whole and nobody said since that it was brought up again.
pub fn stayed_in(slot: &Slot, dose: &Dose) -> bool {
    let is_of_slot = slot.records.iter().any(|record| record.id == dose.entry);
    let brought_up =
        |record: &Record| record.outcome == Outcome::BroughtUp && record.happened >= dose.happened;
    dose.record.outcome == Outcome::Given && !(is_of_slot && slot.records.iter().any(brought_up))
}

fn widen(range: Option<(DoseRate, DoseRate)>, rate: DoseRate) -> (DoseRate, DoseRate) {
    let less = |a: DoseRate, b: DoseRate| a.over(b).is_some_and(|ratio| ratio < Exact::ONE);
    let (least, most) = range.unwrap_or((rate, rate));
    (
        if less(rate, least) { rate } else { least },
        if less(most, rate) { rate } else { most },
    )
}

/// What one dose came to by body weight; nothing where a volume, a strength or a weight is not
/// known, or where it would be of another kind than the vet wrote.
pub fn rate_given(
    ledger: &Ledger,
    standing: &Standing,
    dose: &Dose,
    number: u32,
    written: DoseRate,
) -> Option<DoseRate> {
    let (patient, script) = (standing.patient, standing.script);
    let measure = measured(&dose.record)?;
    let bottle = dose.record.bottle;
    let bottle = bottle.and_then(|number| ledger.bottle(number).ok());
    let mark = dose.record.mark.as_ref();
    // A bottle's own label first: it is what was drawn from.
    let strength: Option<Written<Strength>> = match bottle {
        Some(open) => open.bottle.strength.clone(),
        None => match mark {
            Some(mark) => mark.strength.clone(),
            None => strength_now(patient, script, number, dose.happened),
        },
    };
    let strength = match written {
        DoseRate::Volume(_) => None,
        DoseRate::Mass(_) | DoseRate::Activity(_) => Some(strength?.value()),
    };
    let weight = match weight_behind(standing, dose) {
        Some(weight) => weight.value(),
        None => patient.weights.latest(dose.happened)?.weight.value(),
    };
    let held = measure.holds(strength).ok()?;
    let rate = held.per_weight(weight).ok()??;
    // Of another kind than the vet wrote, it would say nothing.
    rate.over(written).map(|_| rate)
}

impl Actual {
    /// "12.5 mg/kg to 13.04 mg/kg each time, in 3 doses; of 1 more it is not known".
    pub fn words(&self) -> String {
        let doses = |n: u32| {
            format!(
                "{} {}",
                print::count(u64::from(n)),
                if n == 1 { "dose" } else { "doses" }
            )
        };
        let unknown = match self.unknown {
            0 => String::new(),
            n if self.known == 0 => return format!("not known of {}", doses(n)),
            n => format!("; of {} more it is not known", print::count(u64::from(n))),
        };
        let Some((least, most)) = self.range else {
            return "not known".to_owned();
        };
        let range = if least == most {
            print::rate(least).to_string()
        } else {
            format!("{} to {}", print::rate(least), print::rate(most))
        };
        let each = if self.known == 1 { "" } else { " each time," };
        format!("{range}{each} in {}{unknown}", doses(self.known))
    }
}
