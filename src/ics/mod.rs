//! Calendars for other programs: a plan, or what lies ahead in every course, as RFC 5545.
//!
//! Promises: times are in UTC, so that they are right in any reader's zone and across clock
//! changes; the same dose always has the same UID, whether it came from a plan or from the book;
//! a prescription entered anew keeps those of the one it replaces; a dose that is not to be given
//! any more is cancelled, also where its prescription was struck out; an alarm says to look at the day's card
//! first. Does not: print a mark or a volume, which a calendar would keep after it is wrong.

mod write;

use crate::course::State;
use crate::ics::write::{Event, Kind, calendar};
use crate::ledger::Ledger;
use crate::notation::fold::fold;
use crate::prescription::Prescription;
use crate::round::{FollowUp, FollowUpState, Plan, Standing, courses, follow_ups};
use crate::schedule::{Due, ScheduleError, Zone, local_date};
use chrono::{DateTime, Utc};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;

/// A plan as a calendar: every dose for every animal, and what comes beside.
pub fn plan(plan: &Plan, now: DateTime<Utc>) -> String {
    let prescription = plan.prescription;
    let mut events = Vec::new();
    for animal in &prescription.animals {
        let about = About {
            prescription,
            animal,
            sequence: 0,
        };
        for slot in &plan.slots {
            events.push(about.dose(slot.number, slot.due, Kind::Ahead));
        }
        events.extend(
            plan.follow_ups
                .iter()
                .filter_map(|f| about.beside(f, Kind::Ahead)),
        );
    }
    calendar(&events, now)
}

/// What lies ahead from today on in every course, as a calendar; and the cancellation of what was
/// to come and is not to be given any more.
///
/// # Errors
/// [`ScheduleError`], as [`courses`].
pub fn ahead(ledger: &Ledger, zone: Zone, now: DateTime<Utc>) -> Result<String, ScheduleError> {
    let today = local_date(now, zone);
    let mut events = Vec::new();
    // Also of doses that are behind, which are not written any more.
    let mut in_force = BTreeSet::new();
    for standing in courses(ledger, zone, now)? {
        let about = About {
            prescription: &standing.script.prescription,
            animal: &standing.patient.animal.name,
            // It must never fall, and rises with whatever is recorded.
            sequence: ledger.entries,
        };
        for slot in &standing.course.slots {
            in_force.insert(about.uid(slot.slot.number, "dose"));
            let cancelled = matches!(slot.state, State::Gone | State::Withheld);
            let ended = slot.state.is_pending() && !slot.waits();
            // What is behind has had its alarm; a cancellation takes it out of a calendar anyhow.
            if slot.due.date(zone) < today && !(cancelled || ended || slot.waits()) {
                continue;
            }
            let kind = match (cancelled || ended, slot.waits()) {
                (true, _) => Kind::Cancelled,
                (false, true) => Kind::Ahead,
                (false, false) => Kind::Answered(slot.state.to_string()),
            };
            events.push(about.dose(slot.slot.number, slot.due, kind));
        }
        events.extend(beside(&standing, &about, zone, now));
    }
    in_force.extend(events.iter().map(|event: &Event| event.uid.clone()));
    withdrawn(ledger, zone, now, in_force, &mut events)?;
    Ok(calendar(&events, now))
}

/// The cancellation of what prescriptions that were struck out had put into calendars,
/// but for what is in force.
fn withdrawn(
    ledger: &Ledger,
    zone: Zone,
    now: DateTime<Utc>,
    mut known: BTreeSet<String>,
    events: &mut Vec<Event>,
) -> Result<(), ScheduleError> {
    for script in ledger.withdrawn.iter().rev() {
        let prescription = &script.prescription;
        let slots = prescription.schedule.expand(script.start, script.zone)?;
        let today = Due::On(local_date(now, zone));
        for animal in &prescription.animals {
            let about = About {
                prescription,
                animal,
                sequence: ledger.entries,
            };
            let doses = slots.iter();
            let doses = doses.map(|slot| about.dose(slot.number, slot.due, Kind::Cancelled));
            let beside = (1..).zip(&prescription.follow_ups).map(|(number, wanted)| {
                about.event(number, "beside", &wanted.what, today, Kind::Cancelled)
            });
            for event in doses.chain(beside) {
                if known.insert(event.uid.clone()) {
                    events.push(event);
                }
            }
        }
    }
    Ok(())
}

/// What the vet wants beside the doses; after the animal's stay has ended, its cancellation.
fn beside(standing: &Standing, about: &About, zone: Zone, now: DateTime<Utc>) -> Vec<Event> {
    let ended = standing.patient.end.as_ref();
    if ended.is_some_and(|(at, _)| *at <= now) {
        let wanted = &about.prescription.follow_ups;
        let today = Due::On(local_date(now, zone));
        let each = (1..).zip(wanted);
        return each
            .map(|(number, wanted)| {
                about.event(number, "beside", &wanted.what, today, Kind::Cancelled)
            })
            .collect();
    }
    let each = follow_ups(standing, zone, now);
    let each = each.iter().filter_map(|follow_up| {
        let kind = match follow_up.state {
            FollowUpState::Done { .. } => Kind::Answered("done".to_owned()),
            _ => Kind::Ahead,
        };
        about.beside(follow_up, kind)
    });
    each.collect()
}

/// Whose events they are.
struct About<'a> {
    prescription: &'a Prescription,
    animal: &'a str,
    sequence: u64,
}

impl About<'_> {
    fn dose(&self, number: u32, due: Due, kind: Kind) -> Event {
        let what = format!("dose {number} of {}", self.prescription.medicine.name);
        self.event(number, "dose", &what, due, kind)
    }

    fn beside(&self, follow_up: &FollowUp, kind: Kind) -> Option<Event> {
        let what = format!("\"{}\"", follow_up.what.trim());
        Some(self.event(follow_up.number, "beside", &what, follow_up.due?, kind))
    }

    fn event(&self, number: u32, part: &str, what: &str, due: Due, kind: Kind) -> Event {
        let prescription = self.prescription;
        let vet = &prescription.vet;
        let out_of_hours = vet.out_of_hours.iter();
        let out_of_hours: String = out_of_hours
            .map(|number| format!(", out of hours {number}"))
            .collect();
        let demonstration = match prescription.demonstration {
            true => "DEMONSTRATION: ",
            false => "",
        };
        Event {
            uid: self.uid(number, part),
            sequence: self.sequence,
            due,
            summary: format!("{demonstration}{}, {what}", self.animal),
            call: format!("{}, {}{out_of_hours}", vet.name, vet.phone),
            reference: prescription.reference.clone(),
            kind,
        }
    }

    /// From the prescription's reference, the animal and the number: the same on any machine, in
    /// any book, and for a prescription that was mended and entered anew.
    fn uid(&self, number: u32, part: &str) -> String {
        let mut digest = Sha256::new();
        digest.update(fold(&self.prescription.reference));
        digest.update(format!("\0{}\0{part}\0{number}", fold(self.animal)));
        let hex = digest.finalize();
        let hex: Vec<String> = hex
            .iter()
            .take(16)
            .map(|byte| format!("{byte:02x}"))
            .collect();
        format!("{}@scruple.invalid", hex.concat())
    }
}
