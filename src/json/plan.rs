//! A plan for programs.

use crate::json::check::{follow_up, need};
use crate::json::round::due;
use crate::json::text;
use crate::round::{Amount, Plan};
use crate::schedule::{Due, Reckoning};
use crate::zone::EDITION;
use serde_json::{Value, json};

/// The whole plan.
pub fn plan(
    plan: &Plan,
    amounts: &[Amount],
    together: Option<&Amount>,
    notes: &[String],
) -> String {
    let prescription = plan.prescription;
    let by_hours = matches!(plan.slots.first().map(|slot| slot.due), Some(Due::At(_)));
    let phases = prescription.schedule.phases();
    let local = |slot: &crate::schedule::Slot| match slot.due {
        Due::At(at) => at
            .with_timezone(&plan.zone)
            .format("%Y-%m-%d %H:%M")
            .to_string(),
        Due::On(day) => day.to_string(),
    };
    let doses = plan.slots.iter().map(|slot| {
        json!({
            "dose": slot.number,
            "due": due(slot.due),
            "local": local(slot),
            "weekday": slot.due.date(plan.zone).format("%A").to_string(),
            "written_dose": prescription.dose(slot.dose).map(|dose| dose.text()),
            "reckoning": phases.get(slot.phase).map(|p| reckoning(p.form.reckoning(by_hours))),
            "clock_note": slot.clock_note.map(|note| note.to_string()),
        })
    });
    let clocks = plan.clock.iter().map(|shift| {
        json!({
            "at": shift.change.at,
            "forward_minutes": shift.change.by.num_minutes(),
            "first_dose_after": shift.first_after.map(|(number, _)| number),
        })
    });
    text(&json!({
        "demonstration": prescription.demonstration,
        "prescription": prescription.reference,
        "medicine": prescription.medicine.name,
        "animals": prescription.animals,
        "zone": plan.zone.name(),
        "notes": notes,
        "doses": doses.collect::<Vec<Value>>(),
        "after_validity": plan.after_validity,
        "clock_changes": clocks.collect::<Vec<Value>>(),
        "clock_rules": EDITION,
        "amounts": amounts.iter().map(amount).collect::<Vec<Value>>(),
        "together": together.map(amount),
        "follow_ups": plan.follow_ups.iter().map(follow_up).collect::<Vec<Value>>(),
        "kept": false,
    }))
}

fn amount(amount: &Amount) -> Value {
    json!({ "whose": amount.whose, "takes": need(&amount.need) })
}

fn reckoning(reckoning: Reckoning) -> &'static str {
    match reckoning {
        Reckoning::Elapsed => "elapsed",
        Reckoning::WallClock => "wall_clock",
        Reckoning::Dates => "dates",
    }
}
