//! What waits in the courses: doses late, not recorded, held or open, what the vet is to be asked,
//! and what the vet wants beside the doses.
//!
//! Promises: nothing is judged here; a dose that has no mark says why, and is never offered.

use crate::caution::NoMark;
use crate::course::{Remark, What};
use crate::round::morning::{Kind, Waiting, whose};
use crate::round::{Checked, DayDose, FollowUpState, Round, Standing, Step};
use crate::round::{said, say, step_about, typed_name};
use crate::schedule::Zone;

/// What a verdict rests on, and the doses that went in with something wrong about how.
pub(super) fn reasons<'l>(checked: &[Checked<'l>], zone: Zone, waiting: &mut Vec<Waiting<'l>>) {
    for course in checked {
        let standing = &course.standing;
        for (remark, step) in course.reasons() {
            let Some(step) = step else { continue };
            waiting.push(Waiting {
                kind: kind(remark),
                patient: Some(standing.patient),
                script: Some(standing.script),
                dose: remark.slot,
                words: words(standing, remark, zone),
                step,
            });
        }
        for flagged in &course.flagged {
            let dose = flagged.dose;
            waiting.push(Waiting {
                kind: Kind::ForTheVet,
                patient: Some(standing.patient),
                script: Some(standing.script),
                dose: dose.record.slot,
                words: format!(
                    "{}, entry {}: {}",
                    whose(standing.patient, standing.script),
                    dose.entry,
                    flagged.words
                ),
                step: step_about(standing, dose),
            });
        }
    }
}

fn kind(remark: &Remark) -> Kind {
    match remark.what {
        What::LateNow => Kind::Late,
        What::NotRecorded => Kind::NotRecorded,
        What::Held => Kind::Held,
        _ => Kind::ForTheVet,
    }
}

/// "Quillo, DEMO-0002 (Madeup Cobalt), dose 2, due Wed 7 March 11:30: late".
fn words(standing: &Standing, remark: &Remark, zone: Zone) -> String {
    let whose = whose(standing.patient, standing.script);
    let slot = remark.slot.and_then(|number| standing.course.slot(number));
    let dose = slot.map(|slot| {
        let due = say::due(slot.due, zone);
        format!(", dose {}, due {due}", slot.slot.number)
    });
    // What to do is said in the step.
    let what = remark.what.fact();
    format!("{whose}{}: {what}", dose.unwrap_or_default())
}

/// The doses that may be given now.
pub(super) fn open_doses<'l>(round: &Round<'l>, waiting: &mut Vec<Waiting<'l>>) {
    for dose in &round.doses {
        if dose.is_late() || !dose.slot.gate.is_open() {
            continue;
        }
        waiting.push(Waiting {
            kind: Kind::Open,
            patient: Some(dose.patient),
            script: Some(dose.script),
            dose: Some(dose.slot.slot.number),
            words: format!(
                "{}, {}: {}{}",
                whose(dose.patient, dose.script),
                say::dose_of(dose),
                say::when(dose, round),
                before(dose)
            ),
            step: step(dose),
        });
    }
}

/// What stands against giving it at once; it is said of every dose, whatever advice they share.
fn before(dose: &DayDose) -> String {
    let phone = &dose.script.prescription.vet.phone;
    match dose.no_mark.first() {
        Some(reason) => format!(". No mark. {}.", say::instead_of_a_mark(reason)),
        None if dose.call_first() => format!(". Call {phone} before you give it."),
        None => String::new(),
    }
}

/// What comes next for a dose that may be given.
fn step(dose: &DayDose) -> Step {
    let prescription = &dose.script.prescription;
    let phone = &prescription.vet.phone;
    let animal = typed_name(&dose.patient.animal.name);
    let whose = format!("{animal} {}", typed_name(&prescription.reference));
    let give = format!("scruple give {whose}");
    let weigh = format!("scruple weigh {animal} WEIGHT");
    if let Some(reason) = dose.no_mark.first() {
        let (words, commands) = match reason {
            NoMark::NoWeight | NoMark::WeightTooOld { .. } => {
                ("To weigh it:".to_owned(), vec![weigh])
            }
            NoMark::WrongStrength { .. } => (
                format!("Call {phone}, and record what was said:"),
                vec![format!(
                    "scruple instruct {whose} --strength STRENGTH --said-by NAME --taken-by INITIALS --read-back yes"
                )],
            ),
            NoMark::BottleExpired { .. }
            | NoMark::BottlePastDiscard { .. }
            | NoMark::BottleGone { .. } => (
                "With another bottle in your hand:".to_owned(),
                vec![open_bottle(&prescription.medicine.name)],
            ),
            reason if reason.asks_the_vet() => (
                format!("Call {phone}; the reasons are on the card."),
                Vec::new(),
            ),
            _ => (
                "The reasons, and what to do about them, are on the card.".to_owned(),
                Vec::new(),
            ),
        };
        return Step { words, commands };
    }
    let words = if dose.call_first() {
        "If your vet says so, look at the card, give it, record it:"
    } else {
        "Look at the card, give it, record it:"
    };
    Step {
        words: words.to_owned(),
        commands: vec![give],
    }
}

/// The command that opens a bottle into the book; what its label reads is typed from the label.
pub(super) fn open_bottle(medicine: &str) -> String {
    format!(
        "scruple bottle open {} --reads STRENGTH --expiry DATE",
        typed_name(medicine)
    )
}

/// Follow-ups that are due, and instructions that are not finished with.
pub(super) fn beside<'l>(checked: &[Checked<'l>], zone: Zone, waiting: &mut Vec<Waiting<'l>>) {
    for course in checked {
        let standing = &course.standing;
        let (patient, script) = (standing.patient, standing.script);
        let mut wait = |kind, words, step| {
            waiting.push(Waiting {
                kind,
                patient: Some(patient),
                script: Some(script),
                dose: None,
                words,
                step,
            });
        };
        for follow_up in &course.follow_ups {
            let overdue = match follow_up.state {
                FollowUpState::Due => "due today".to_owned(),
                FollowUpState::Overdue(1) => "overdue by 1 day".to_owned(),
                FollowUpState::Overdue(days) => format!("overdue by {days} days"),
                _ => continue,
            };
            let command = format!(
                "scruple done {} {} {}",
                typed_name(&patient.animal.name),
                typed_name(&script.prescription.reference),
                follow_up.number
            );
            wait(
                Kind::FollowUp,
                format!(
                    "{}: \"{}\", {overdue}",
                    whose(patient, script),
                    follow_up.what
                ),
                Step {
                    words: "When it has been done:".to_owned(),
                    commands: vec![command],
                },
            );
        }
        for said in &course.unfinished {
            let instruction = &said.instruction;
            let (mut wants, mut command) = (Vec::new(), format!("scruple confirm {}", said.entry));
            if !instruction.read_back {
                wants.push("Read it back to your vet.");
                command.push_str(" --read-back");
            }
            if instruction.paper_awaited {
                wants.push("Its paper has not come.");
                command.push_str(" --paper-came");
            }
            wait(
                Kind::Instruction,
                format!(
                    "{}, what your vet said: {}",
                    whose(patient, script),
                    said::in_full(said, zone)
                ),
                Step {
                    words: format!("{} Then:", wants.join(" ")),
                    commands: vec![command],
                },
            );
        }
    }
}
