//! What the courses need and what is in hand, for programs.

use crate::bottle::Batch;
use crate::json::quantity;
use crate::json::text;
use crate::ledger::Ledger;
use crate::quantity::Measure;
use crate::round::stock::{InBottle, Lasts, Supply};
use chrono::{DateTime, NaiveDate, Utc};
use serde_json::{Value, json};

/// Every supply.
pub fn stock(
    supplies: &[Supply],
    ledger: &Ledger,
    now: DateTime<Utc>,
    day: NaiveDate,
    demonstration: bool,
) -> String {
    text(&json!({
        "demonstration": demonstration,
        "now": now,
        "day": day,
        "needs": supplies.iter().map(supply).collect::<Vec<Value>>(),
        "damaged": ledger.damaged,
    }))
}

/// One supply.
pub(super) fn supply(supply: &Supply) -> Value {
    json!({
        "medicine": supply.medicine,
        "must_read": supply.must_read.as_ref().map(quantity::strength),
        "doses": supply.doses.len(),
        "draws": supply.need.draws,
        "marks": supply.need.total.map(quantity::measure),
        "hub_loss": quantity::measure(Measure::Volume(supply.need.hub_loss)),
        "in_all": supply.need.in_all().map(quantity::measure),
        "without_mark": supply.without_mark.iter().map(|left_out| json!({
            "animal": left_out.patient.animal.name,
            "prescription": left_out.script.prescription.reference,
            "doses": left_out.doses,
            "words": left_out.why,
        })).collect::<Vec<Value>>(),
        "bottles": supply.bottles.iter().map(bottle).collect::<Vec<Value>>(),
        "in_hand": supply.in_hand.map(quantity::measure),
        "lasts": lasts(supply),
    })
}

fn bottle(held: &InBottle) -> Value {
    json!({
        "number": held.bottle.number,
        "reads": held.bottle.strength.as_ref().map(quantity::strength),
        "counts": held.counts(),
        "left": held.left.map(quantity::measure),
        "overdrawn": held.overdrawn,
        "unmeasured": held.unmeasured,
        "frozen": held.bottle.batch.as_ref().and_then(Batch::frozen),
        "use_through": held.bottle.last_day(),
    })
}

fn lasts(supply: &Supply) -> Value {
    match supply.lasts {
        Lasts::NotKnown => json!({ "code": "not_known" }),
        Lasts::ToTheEnd => json!({ "code": "to_the_end" }),
        Lasts::RunsOut {
            on,
            first,
            doses,
            lacking,
        } => {
            let dose = supply.doses.get(first);
            json!({
                "code": "runs_out",
                "on": on,
                "animal": dose.map(|dose| &dose.patient.animal.name),
                "prescription": dose.map(|dose| &dose.script.prescription.reference),
                "dose": dose.map(|dose| dose.number),
                "doses": doses,
                "lacking": lacking.map(quantity::measure),
            })
        }
    }
}
