//! What was planned against what became of it, dose by dose.
//!
//! Promises: the rate really given comes from the volume, the label and the weight in the record;
//! the band is how far that may be from the vet's dose: the difference from the calculated dose,
//! the instrument's tolerance and half a step of the scale.

use crate::course::{State, Timing, What};
use crate::entry::Outcome;
use crate::ledger::{Dose, Ledger};
use crate::notation::Written;
use crate::quantity::{BodyWeight, DoseRate, Exact, Measure};
use crate::rack::Instrument;
use crate::round::unsettled::mended;
use crate::round::weighed::weight_behind;
use crate::round::{Standing, dose_now, measured, rate_given, stayed_in};
use crate::schedule::Due;
use chrono::{DateTime, Utc};

/// One line of the record: a slot, or a dose beside the schedule.
#[derive(Debug)]
pub struct Row<'l> {
    /// The slot; none for a dose beside the schedule.
    pub number: Option<u32>,
    /// When it was due.
    pub due: Option<Due>,
    /// Where the slot stands.
    pub state: Option<State>,
    /// When it was given, against the window.
    pub timing: Option<Timing>,
    /// The record; none where nobody has said anything.
    pub given: Option<Given<'l>>,
    /// What there is to remark.
    pub remarks: Vec<What>,
}

/// A record with what it came to.
#[derive(Debug)]
pub struct Given<'l> {
    /// The record.
    pub dose: &'l Dose,
    /// What was measured out; none where it is not known, as of a dose of which only a part went
    /// in and nobody said how much was drawn.
    pub measured: Option<Measure>,
    /// The weight it went by, where it went by one.
    pub weight: Option<Written<BodyWeight>>,
    /// What is to be said where the book has since put another weight in the place of the one that
    /// it was measured by.
    pub mended: Option<String>,
    /// What it came to by body weight; none for one that did not all go in or stay in, since
    /// nobody knows how much did.
    pub rate: Option<DoseRate>,
    /// How far it may be from the calculated dose in all, as a share of it.
    pub band: Option<Exact>,
}

/// Every slot that somebody has spoken of or that has come due, then what lies beside.
pub(super) fn rows<'l>(
    ledger: &Ledger,
    standing: &Standing<'l>,
    now: DateTime<Utc>,
) -> Vec<Row<'l>> {
    let course = &standing.course;
    let mut rows = Vec::new();
    for slot in &course.slots {
        let number = slot.slot.number;
        let ahead = matches!(slot.state, State::Planned | State::TooSoon | State::Gone);
        if slot.records.is_empty() && ahead {
            continue;
        }
        let row = |given: Option<Given<'l>>, remarks| Row {
            number: Some(number),
            due: Some(slot.due),
            state: Some(slot.state),
            timing: slot.timing,
            given,
            remarks,
        };
        let remarks_on = |record: Option<u64>| {
            let all = course.remarks.iter();
            let of = all.filter(|r| r.slot == Some(number) && r.record == record);
            of.map(|remark| remark.what).collect::<Vec<_>>()
        };
        if slot.records.is_empty() {
            rows.push(row(None, remarks_on(None)));
        }
        for record in &slot.records {
            let given = given(ledger, standing, record.id, slot, now);
            rows.push(row(given, remarks_on(Some(record.id))));
        }
    }
    for extra in &course.extras {
        let slot = course.slot(extra.nearest);
        rows.push(Row {
            number: None,
            due: None,
            state: None,
            timing: None,
            given: slot.and_then(|slot| given(ledger, standing, extra.record.id, slot, now)),
            remarks: vec![extra.why],
        });
    }
    rows
}

fn given<'l>(
    ledger: &Ledger,
    standing: &Standing<'l>,
    entry: u64,
    slot: &crate::course::Standing,
    now: DateTime<Utc>,
) -> Option<Given<'l>> {
    let patient = standing.patient;
    let mut doses = patient.doses.iter();
    let dose = doses.find(|dose| dose.entry == entry && dose.happened <= now)?;
    let went_in = dose.record.outcome.went_in();
    let written = dose_now(patient, standing.script, slot, dose.happened);
    let whole = stayed_in(slot, dose);
    let said = dose.record.outcome != Outcome::PartlyGiven || dose.record.drawn.is_some();
    let rate = written.rate().filter(|_| whole);
    let number = slot.slot.number;
    Some(Given {
        dose,
        measured: measured(&dose.record).filter(|_| went_in && said),
        weight: weight_behind(standing, dose),
        mended: mended(ledger, standing, dose),
        rate: rate.and_then(|rate| rate_given(ledger, standing, dose, number, rate)),
        band: whole.then(|| band(standing, dose, slot)).flatten(),
    })
}

/// The share of the calculated dose by which the dose may have been out.
fn band(standing: &Standing, dose: &Dose, slot: &crate::course::Standing) -> Option<Exact> {
    let (patient, script) = (standing.patient, standing.script);
    let record = &dose.record;
    let mark = record.mark.as_ref()?;
    let weight = weight_behind(standing, dose);
    let weight = weight.as_ref().map(Written::value);
    let strength = mark.strength.as_ref().map(Written::value);
    let written = dose_now(patient, script, slot, dose.happened);
    let limit = script.prescription.greatest_dose();
    let limit = limit.as_ref().map(Written::value);
    let calculated = written.calculated(weight).ok()??.held_to(limit).ok()?;
    let calculated = calculated.measure(strength).ok()?.figure();
    let total = measured(record)?;
    let off = total.figure().minus(calculated).ok()?.abs();
    let draws = Exact::whole(i64::from(mark.draws.max(1)));
    let tolerance = match &record.syringe {
        Some(syringe) => {
            let each = total.times(Exact::ONE.over(draws).ok()?).ok()?;
            let instrument = Instrument::Syringe(syringe.clone());
            instrument.tolerance(each).ok()?.times(draws).ok()?
        }
        None => Exact::ZERO,
    };
    let measuring = off.plus(tolerance).ok()?.over(calculated).ok()?;
    let scale = weight.and_then(|weight| {
        let weighed = patient.weights.all().iter().rev();
        let mut before = weighed.filter(|weighing| weighing.at <= dose.happened);
        let weighing = before.find(|weighing| weighing.weight.value() == weight)?;
        let step = weighing.readability.value().over(weight).ok()?;
        step.over(Exact::whole(2)).ok()
    });
    measuring.plus(scale.unwrap_or(Exact::ZERO)).ok()
}
