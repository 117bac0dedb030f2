//! A plan on a terminal: dates, clocks, amounts, and what comes beside.

use crate::notation::print;
use crate::round::tell::{follow_up_line, need};
use crate::round::{Amount, ClockShift, Plan};
use crate::schedule::{Due, Reckoning, Slot, Zone};
use crate::terminal::wrapped;
use chrono::TimeDelta;

/// The whole plan. `notes` are what there is to say before it: a start that nobody wrote, a
/// prescription past its date.
pub fn plan(
    plan: &Plan,
    amounts: &[Amount],
    together: Option<&Amount>,
    notes: &[String],
) -> String {
    let prescription = plan.prescription;
    let mut lines = Vec::new();
    let mut row = |text: &str| lines.push(wrapped(text, "", "  "));
    row(&format!(
        "Plan of {}: {}, for {}. Nothing of it is kept.",
        prescription.reference,
        prescription.medicine.name,
        prescription.animals.join(", ")
    ));
    row(&format!(
        "Check its dates and amounts with your vet: {}, {}",
        prescription.vet.name, prescription.vet.phone
    ));
    for note in notes {
        row(note);
    }
    row(&format!("When: {}", prescription.schedule));
    row(&format!("Zone: {}", plan.zone.name()));
    let mut said: Vec<Reckoning> = Vec::new();
    let by_hours = matches!(plan.slots.first().map(|slot| slot.due), Some(Due::At(_)));
    for phase in prescription.schedule.phases() {
        let reckoning = phase.form.reckoning(by_hours);
        if plan.slots.len() > 1 && !said.contains(&reckoning) {
            row(&format!(
                "Reckoned {}",
                reckoning.to_string().replacen("counted ", "", 1)
            ));
            said.push(reckoning);
        }
    }
    lines.push(String::new());
    dates(plan, &mut lines);
    for shift in &plan.clock {
        lines.push(wrapped(&clock(plan, shift), "", "  "));
    }
    lines.push(String::new());
    lines.push("What it takes, by the syringes at hand".to_owned());
    for amount in amounts.iter().chain(together) {
        let text = format!("{}: {}", amount.whose, need(&amount.need));
        lines.push(wrapped(&text, "   ", "      "));
    }
    if amounts.is_empty() {
        let text = "No weight is known: add --weight, once for each animal.";
        lines.push(wrapped(text, "   ", "      "));
    }
    if !plan.follow_ups.is_empty() {
        lines.push(String::new());
        lines.push("Beside the doses".to_owned());
    }
    for follow_up in &plan.follow_ups {
        lines.push(wrapped(
            &follow_up_line(follow_up, plan.zone),
            "   ",
            "      ",
        ));
    }
    lines.join("\n")
}

fn dates(plan: &Plan, lines: &mut Vec<String>) {
    let doses = &plan.prescription.doses;
    let mut phase = None;
    lines.push(if plan.slots.len() > 3 {
        "The first three, to be checked first".to_owned()
    } else {
        "The dates, to be checked".to_owned()
    });
    for (at, slot) in plan.slots.iter().enumerate() {
        if at == 3 {
            lines.push("Then".to_owned());
        }
        let dose = doses
            .get(slot.dose)
            .filter(|_| doses.len() > 1 && phase != Some(slot.phase));
        let dose = dose.map(|dose| format!("   {}", dose.text()));
        phase = Some(slot.phase);
        lines.push(format!(
            "{:>6}  {}{}",
            slot.number,
            full(slot, plan.zone),
            dose.unwrap_or_default()
        ));
        if let Some(note) = slot.clock_note {
            lines.push(wrapped(&note.to_string(), "        ", "        "));
        }
    }
    if plan.after_validity > 0
        && let Some(until) = plan.prescription.valid_until
    {
        let text = format!(
            "Caution: no mark for {} of the doses: due after {}, the last day of this prescription (your vet's date). Ask your vet.",
            plan.after_validity,
            until.format("%-d %B %Y")
        );
        lines.push(wrapped(&text, "", "  "));
    }
}

/// "Monday 22 March 2027 at 08:00".
fn full(slot: &Slot, zone: Zone) -> String {
    match slot.due {
        Due::At(at) => at
            .with_timezone(&zone)
            .format("%A %-d %B %Y at %H:%M")
            .to_string(),
        Due::On(day) => day.format("%A %-d %B %Y").to_string(),
    }
}

fn clock(plan: &Plan, shift: &ClockShift) -> String {
    let day = shift
        .change
        .at
        .with_timezone(&plan.zone)
        .format("%A %-d %B %Y");
    let way = if shift.change.by > TimeDelta::zero() {
        "forward"
    } else {
        "back"
    };
    let head = format!(
        "Clocks: on {day} they go {way} by {}",
        length(shift.change.by.abs())
    );
    let Some((number, reckoning)) = shift.first_after else {
        return format!("{head}; no hour is written, so nothing changes.");
    };
    let of = |number: u32| plan.slots.iter().find(|slot| slot.number == number);
    let hour = |slot: &Slot| match slot.due {
        Due::At(at) => at.with_timezone(&plan.zone).format("%H:%M").to_string(),
        Due::On(day) => day.to_string(),
    };
    let before = number.checked_sub(1).and_then(of);
    match (reckoning, before, of(number)) {
        (Reckoning::Elapsed, Some(before), Some(after)) => format!(
            "{head}: counted in elapsed hours, dose {} is at {} and dose {number} at {}.",
            before.number,
            hour(before),
            hour(after)
        ),
        (Reckoning::WallClock, Some(before), Some(after)) => format!(
            "{head}: by the clock the hour stays, and from dose {} to dose {number} it is {}.",
            before.number,
            after.gap_before.map_or("so long".to_owned(), length)
        ),
        _ => format!("{head}."),
    }
}

/// "71 hours", "30 minutes", "10 hours 30 minutes".
fn length(time: TimeDelta) -> String {
    let part = |n: i64, one: &str| {
        let shown = print::count(n.unsigned_abs());
        format!("{shown} {one}{}", if n == 1 { "" } else { "s" })
    };
    let (hours, minutes) = (time.num_hours(), time.num_minutes() % 60);
    match (hours, minutes) {
        (0, minutes) => part(minutes, "minute"),
        (hours, 0) => part(hours, "hour"),
        (hours, minutes) => format!("{} {}", part(hours, "hour"), part(minutes, "minute")),
    }
}
