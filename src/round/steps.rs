//! What to do next about something that stands out in a course, as the commands to type.
//!
//! Promises: every command can be typed as it stands once its capital words are filled in; none of
//! them gives or doses anything that the vet has not been asked about.

use crate::course::{Course, MarkGate, Remark, Standing as Slot, State, What};
use crate::ledger::Dose;
use crate::round::{Standing, say};
use crate::schedule::{Due, Zone, local_date};
use chrono::{DateTime, Utc};

/// A name as it can be typed after a command: in quotation marks unless it is one plain word.
pub fn typed_name(name: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
    if !name.is_empty() && name.chars().all(plain) {
        name.to_owned()
    } else {
        format!("\"{}\"", name.replace('"', "\\\""))
    }
}

/// A slot that waits: "dose 2, due Thu 22 March 08:00, not before Thu 22 March 02:05", or what it
/// waits for.
pub fn waiting(slot: &Slot, zone: Zone, now: DateTime<Utc>) -> String {
    let due = say::due_from(slot.due, now, zone);
    let number = slot.slot.number;
    match (slot.state, slot.opens) {
        (State::Planned | State::TooSoon, Some(opens)) => {
            let opens = match slot.due {
                Due::At(_) => say::moment_from(opens, now, zone),
                Due::On(_) => say::due_from(Due::On(local_date(opens, zone)), now, zone),
            };
            let hidden = match slot.state {
                State::TooSoon => ": its mark is shown from then on",
                _ => "",
            };
            format!("dose {number}, due {due}, not before {opens}{hidden}")
        }
        (state, _) => format!("dose {number}, due {due} ({state})"),
    }
}

/// What to do about a remark: first in words, then the commands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// In words.
    pub words: String,
    /// The commands, each without `--book` and `--now`.
    pub commands: Vec<String>,
}

/// What to do about a dose that went in though something was wrong with how.
pub fn step_about(standing: &Standing, dose: &Dose) -> Step {
    let prescription = &standing.script.prescription;
    Step {
        words: settle_words(&prescription.vet.phone),
        commands: vec![instruct(standing, &format!("--settled {}", dose.entry))],
    }
}

fn settle_words(phone: &str) -> String {
    format!("Call {phone}. When your vet has said how to go on, record it:")
}

fn instruct(standing: &Standing, order: &str) -> String {
    let animal = typed_name(&standing.patient.animal.name);
    let reference = typed_name(&standing.script.prescription.reference);
    format!(
        "scruple instruct {animal} {reference} {order} --said-by NAME --taken-by INITIALS --read-back yes"
    )
}

/// What to do next about a remark that needs attention; nothing for the others.
pub fn step(standing: &Standing, remark: &Remark) -> Option<Step> {
    if !remark.needs_attention {
        return None;
    }
    let prescription = &standing.script.prescription;
    let animal = typed_name(&standing.patient.animal.name);
    let whose = format!("{animal} {}", typed_name(&prescription.reference));
    let dose = remark.slot.unwrap_or_default();
    let phone = &prescription.vet.phone;
    let instruct = |order: &str| {
        format!(
            "scruple instruct {whose} {order} --said-by NAME --taken-by INITIALS --read-back yes"
        )
    };
    let (words, commands) = match remark.what {
        What::LateNow if needs_a_call(&standing.course, dose) => (
            format!("Do not give it without a call: {phone}. Then record what was said:"),
            vec![
                instruct(&format!("--dose-now {dose}")),
                instruct(&format!("--skip {dose}")),
            ],
        ),
        What::LateNow => (
            "Ask everyone who could have given it. If nobody did, look at its mark, which says LATE, and give it; then record it:".to_owned(),
            vec![
                "scruple today".to_owned(),
                format!("scruple give {whose} --dose {dose}"),
            ],
        ),
        What::NotRecorded => (
            format!("Ask everyone who could have given it; if unsure do not give, call {phone}. Then record what they say:"),
            vec![
                format!("scruple give {whose} --dose {dose} --at TIME --by INITIALS"),
                format!("scruple missed {whose} --dose {dose}"),
                format!("scruple unsure {whose} --dose {dose} --at TIME"),
            ],
        ),
        What::Held => (
            format!("Call {phone}. Then record what was said:"),
            vec![
                instruct(&format!("--dose-now {dose}")),
                instruct(&format!("--skip {dose}")),
            ],
        ),
        What::ReviewPassed => (
            format!("Call {phone}. Then record what was said:"),
            vec![
                instruct("--review DATE"),
                instruct(&format!("--stop-from {}", stop_at(&standing.course))),
            ],
        ),
        What::ValidUntilPassed => (
            format!("Call {phone} for a new prescription, or record that it ends here:"),
            vec![
                "scruple enter FILE".to_owned(),
                instruct(&format!("--stop-from {dose}")),
            ],
        ),
        What::AfterTheEnd => (
            "Check the time. If it is wrong, strike the entry out and record it anew:".to_owned(),
            correct(remark),
        ),
        What::Extra | What::UnsureExtra => (
            format!("Call {phone}. When your vet has said how to go on, record it; or, if it was only written down twice, strike the entry out:"),
            settle(remark, instruct).into_iter().chain(correct(remark)).collect(),
        ),
        _ => (settle_words(phone), settle(remark, instruct)),
    };
    Some(Step { words, commands })
}

fn settle(remark: &Remark, instruct: impl Fn(&str) -> String) -> Vec<String> {
    let entry = remark.record;
    entry
        .map(|entry| instruct(&format!("--settled {entry}")))
        .into_iter()
        .collect()
}

fn needs_a_call(course: &Course, dose: u32) -> bool {
    let slot = course.slot(dose);
    slot.is_some_and(|slot| matches!(slot.gate, MarkGate::LateCall))
}

/// The first dose that a stop would take away.
fn stop_at(course: &Course) -> u32 {
    let last = course.slots.last().map_or(0, |slot| slot.slot.number);
    course.next.unwrap_or(last + 1)
}

fn correct(remark: &Remark) -> Vec<String> {
    let entry = remark.record.unwrap_or_default();
    vec![format!("scruple correct {entry} --because WORDS")]
}
