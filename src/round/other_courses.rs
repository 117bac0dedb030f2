//! What another course of the same medicine for the same animal has against a dose.
//!
//! Promises: a dose that nobody has answered for may have been given, so no later dose of that
//! medicine has a mark, whichever course it is of; where more of the medicine went in than the vet
//! wrote, that holds for every course of it. Does not: know of a medicine under a name that nobody
//! said was the same.

use crate::caution::{Caution, NoMark};
use crate::course::{Standing as Slot, State, judge_in};
use crate::ledger::Ledger;
use crate::round::unsettled::before_the_next_mark;
use crate::round::{Standing, say};
use crate::schedule::Zone;
use crate::settings::Settings;
use chrono::{DateTime, Utc};

/// Why a slot waits for another course, and what to call about before it.
pub(super) fn against(
    ledger: &Ledger,
    settings: &Settings,
    standing: &Standing,
    slot: &Slot,
    zone: Zone,
    now: DateTime<Utc>,
) -> (Vec<NoMark>, Vec<Caution>) {
    let (patient, script) = (standing.patient, standing.script);
    let (mut no_mark, mut calls) = (Vec::new(), Vec::new());
    let others = ledger.scripts_of(patient).filter(|other| {
        other.entry != script.entry && other.prescription.shares_medicine(&script.prescription)
    });
    for other in others {
        // A schedule was laid out before it was accepted.
        let Ok(course) = judge_in(ledger, patient, other, zone, now) else {
            continue;
        };
        let theirs = Standing {
            patient,
            script: other,
            course,
        };
        let (stops, asks) = before_the_next_mark(&theirs, settings, now);
        no_mark.extend(stops);
        calls.extend(asks);
        // Of two that are both unanswered only the later one waits for the other.
        let this = (slot.closes, script.entry);
        let mut slots = theirs.course.slots.iter();
        let unanswered = slots.find(|earlier| {
            matches!(earlier.state, State::Late | State::NotRecorded)
                && (earlier.closes, other.entry) < this
        });
        no_mark.extend(unanswered.map(|slot| NoMark::Held {
            why: format!(
                "Dose {} of course {}, of the same medicine, due {}, is not answered for: ask everyone who could have given it, then record it.",
                slot.slot.number,
                other.prescription.reference,
                say::due_from(slot.due, now, zone)
            ),
        }));
    }
    (no_mark, calls)
}
