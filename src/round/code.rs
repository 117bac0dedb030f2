//! The book code of a card: made from just what the day's marks depend on.
//!
//! Promises: recording the first dose of the day does not change it; a new weighing, bottle,
//! instruction, syringe, setting or a dose that moves another does.

use crate::course::State;
use crate::dose::InHand;
use crate::entry::short_code;
use crate::ledger::{Ledger, Patient, Script};
use crate::round::DayDose;
use crate::round::{DoneToday, bottle_for};
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};
use std::fmt::Write;

/// The code of a day's card.
pub(super) fn of(
    ledger: &Ledger,
    settings: &Settings,
    doses: &[DayDose],
    done: &[DoneToday],
    day: NaiveDate,
    now: DateTime<Utc>,
) -> String {
    let mut lines: Vec<String> = Vec::new();
    for dose in doses {
        lines.push(line(
            ledger,
            dose.patient,
            dose.script,
            dose.slot.slot.number,
            day,
            now,
        ));
    }
    for dose in done {
        // A dose given as planned is on the card that was printed for it.
        if matches!(dose.state, State::Given) {
            lines.push(line(
                ledger,
                dose.patient,
                dose.script,
                dose.number,
                day,
                now,
            ));
        } else {
            lines.push(format!(
                "{} {} {}",
                dose.patient.animal.name, dose.number, dose.state
            ));
        }
    }
    lines.sort();
    let mut text = format!("{day}\n");
    for syringe in &ledger.syringes {
        let _ = writeln!(text, "{}", syringe.words());
    }
    let _ = writeln!(
        text,
        "{} {} {:?} {:?} {:?} {:?} {:?}",
        settings.zone,
        settings.readability,
        settings.weight_age_days,
        settings.rounding_caution_percent,
        settings.rounding_most_percent,
        settings.loss_percent,
        settings.loss_since_start_percent
    );
    short_code((text + &lines.join("\n")).as_bytes())
}

/// What the mark of one slot depends on.
fn line(
    ledger: &Ledger,
    patient: &Patient,
    script: &Script,
    number: u32,
    day: NaiveDate,
    now: DateTime<Utc>,
) -> String {
    let prescription = &script.prescription;
    let reference = &prescription.reference;
    let weighing = patient
        .weights
        .all()
        .last()
        .map_or(0, |weighing| weighing.entry);
    let instructions = patient
        .instructions
        .iter()
        .filter(|s| s.instruction.prescription == *reference);
    let instruction = instructions.map(|said| said.entry).max().unwrap_or(0);
    // A record that was not simply given as planned may move what follows.
    let odd = patient.doses.iter().filter(|dose| {
        dose.course == *reference && !(dose.record.at_mark && dose.record.flags.is_empty())
    });
    let odd = odd.map(|dose| dose.entry).max().unwrap_or(0);
    let must_read = crate::round::strength_now(patient, script, number, now);
    let bottle = match bottle_for(ledger, prescription, must_read.as_ref(), None, day, now) {
        InHand::Bottle(bottle) | InHand::Gone(bottle) => bottle.number,
        InHand::Unopened | InHand::Reads(_) | InHand::OnPaper => 0,
    };
    format!(
        "{} {reference} {} {number} {weighing} {instruction} {odd} {bottle}",
        patient.animal.name, script.entry
    )
}
