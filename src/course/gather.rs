//! From the ledger to the facts that a course is judged from.
//!
//! Promises: every record of the course is there, and every dose of the same medicine to the same
//! animal in any other course, with that course's own gap around it.

use crate::course::{Course, Ended, Facts, Instruction, Order, OtherDose, Record, judge};
use crate::entry;
use crate::ledger::{Ledger, Patient, Script};
use crate::schedule::{ScheduleError, Zone};
use chrono::{DateTime, Utc};

/// Judges the course of one prescription for one animal from what the book says.
///
/// # Errors
/// [`ScheduleError`] where the schedule cannot be laid out from its start.
pub fn judge_in(
    ledger: &Ledger,
    patient: &Patient,
    script: &Script,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Course, ScheduleError> {
    let mut others = Vec::new();
    for other in ledger.scripts_of(patient) {
        let same = other.prescription.shares_medicine(&script.prescription);
        if other.entry != script.entry && same {
            others.extend(judge_alone(patient, other, &[], zone, now)?.doses());
        }
    }
    judge_alone(patient, script, &others, zone, now)
}

fn judge_alone(
    patient: &Patient,
    script: &Script,
    other_doses: &[OtherDose],
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Course, ScheduleError> {
    let prescription = &script.prescription;
    let of_course = patient
        .doses
        .iter()
        .filter(|dose| dose.course == prescription.reference);
    let records: Vec<Record> = of_course
        .map(|dose| Record {
            id: dose.entry,
            happened: dose.happened,
            outcome: dose.record.outcome,
            at_mark: dose.record.at_mark,
            slot_asked: dose.record.slot,
        })
        .collect();
    let said = patient.instructions.iter();
    let instructions: Vec<Instruction> = said
        .filter(|said| said.instruction.prescription == prescription.reference)
        .filter_map(|said| {
            Some(Instruction {
                at: said.at,
                order: order(&said.instruction.order)?,
            })
        })
        .collect();
    judge(
        &Facts {
            schedule: &prescription.schedule,
            start: script.start,
            laid_out_in: script.zone,
            zone,
            valid_until: prescription.valid_until,
            if_brought_up: prescription.if_brought_up.is_some(),
            records: &records,
            other_doses,
            instructions: &instructions,
            ended: patient.end.as_ref().map(|(at, end)| Ended {
                how: end.how,
                at: *at,
            }),
        },
        now,
    )
}

/// The instructions that change which doses are given; the others change what a dose is.
fn order(order: &entry::Order) -> Option<Order> {
    Some(match *order {
        entry::Order::Stop { from } => Order::Stop { from },
        entry::Order::Resume { from } => Order::Resume { from },
        entry::Order::Skip { slot } => Order::Skip { slot },
        entry::Order::DoseNow { slot } => Order::DoseNow { slot },
        entry::Order::Settled { entry } => Order::Settled { record: entry },
        entry::Order::Review { on } => Order::Review { on },
        entry::Order::Rate { .. }
        | entry::Order::Fixed { .. }
        | entry::Order::Application { .. }
        | entry::Order::Strength { .. }
        | entry::Order::AcceptWeight { .. } => return None,
    })
}
