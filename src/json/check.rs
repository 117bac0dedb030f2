//! The verdict on courses for programs, with all there is to say about each.

use crate::course::{Remark, Verdict, What};
use crate::entry::Order;
use crate::json::quantity;
use crate::json::round::{due, reason};
use crate::json::text_with_commands;
use crate::ledger::Said;
use crate::quantity::Measure;
use crate::round::{Actual, Checked, FollowUp, FollowUpState, Need};
use crate::round::{said, say, step};
use serde_json::{Value, json};

/// The verdicts.
///
/// `common` is what every next command needs after its own words, such as `--book room.scruple`.
pub fn check(courses: &[Checked], demonstration: bool, common: &str) -> String {
    let courses: Vec<Value> = courses.iter().map(checked).collect();
    let value = json!({ "demonstration": demonstration, "courses": courses });
    text_with_commands(value, common)
}

/// One course with all there is to say about it.
pub(super) fn checked(checked: &Checked) -> Value {
    let standing = &checked.standing;
    let course = &standing.course;
    let kept = course.adherence;
    json!({
        "animal": standing.patient.animal.name,
        "prescription": standing.script.prescription.reference,
        "medicine": standing.script.prescription.medicine.name,
        "needs_attention": checked.needs_attention(),
        "verdict": verdict(&course.verdict),
        "remarks": course.remarks.iter().map(|found| remark(checked, found)).collect::<Vec<_>>(),
        "next": course.next,
        "flagged": checked.flagged.iter().map(|flagged| json!({
            "entry": flagged.dose.entry,
            "flags": flagged.dose.record.flags,
            "words": flagged.words,
        })).collect::<Vec<_>>(),
        "adherence": {
            "in_window": kept.in_window, "late": kept.late, "too_soon": kept.too_soon,
            "in_part": kept.in_part, "unsure": kept.unsure, "not_given": kept.not_given,
            "not_recorded": kept.not_recorded, "extra": kept.extra,
            "longest_gap_minutes": kept.longest_gap.map(|gap| gap.num_minutes()),
        },
        "really_given": checked.actual.as_ref().map(actual),
        "left": checked.left.as_ref().map(need),
        "held_for_your_vet": checked.is_held,
        "calls_before_the_next_dose": checked.calls,
        "instructions_unfinished":
            checked.unfinished.iter().map(|said| instruction(said)).collect::<Vec<_>>(),
        "follow_ups": checked.follow_ups.iter().map(follow_up).collect::<Vec<_>>(),
        "doses": course.slots.iter().map(|slot| json!({
            "dose": slot.slot.number, "due": due(slot.due), "opens": slot.opens,
            "closes": slot.closes, "state": slot.state.to_string(),
            "entry": slot.filled_by.map(|record| record.id),
        })).collect::<Vec<_>>(),
    })
}

fn actual(actual: &Actual) -> Value {
    json!({
        "least": actual.range.map(|(least, _)| quantity::rate(least)),
        "most": actual.range.map(|(_, most)| quantity::rate(most)),
        "known": actual.known,
        "unknown": actual.unknown,
        "words": actual.words(),
    })
}

/// What some doses take from a bottle.
pub(super) fn need(need: &Need) -> Value {
    json!({
        "doses": need.doses,
        "draws": need.draws,
        "marks": need.total.map(quantity::measure),
        "hub_loss": quantity::measure(Measure::Volume(need.hub_loss)),
        "in_all": need.in_all().map(quantity::measure),
        "without_mark": need.without_mark,
        "no_mark": need.why.as_ref().map(reason),
    })
}

/// One instruction of the vet.
pub(super) fn instruction(said: &Said) -> Value {
    let instruction = &said.instruction;
    json!({
        "entry": said.entry,
        "at": said.at,
        "order": order(&instruction.order),
        "words": said::order(&instruction.order),
        "said_by": instruction.said_by,
        "taken_by": instruction.taken_by,
        "read_back": instruction.read_back,
        "paper_awaited": instruction.paper_awaited,
        "vet_words": instruction.words,
    })
}

fn order(order: &Order) -> &'static str {
    match order {
        Order::Rate { .. } => "rate",
        Order::Fixed { .. } => "fixed",
        Order::Application { .. } => "application",
        Order::Strength { .. } => "strength",
        Order::Stop { .. } => "stop",
        Order::Resume { .. } => "resume",
        Order::Skip { .. } => "skip",
        Order::AcceptWeight { .. } => "accept_weight",
        Order::DoseNow { .. } => "dose_now",
        Order::Settled { .. } => "settled",
        Order::Review { .. } => "review",
    }
}

/// One follow-up.
pub(super) fn follow_up(follow_up: &FollowUp) -> Value {
    let (state, days) = match follow_up.state {
        FollowUpState::Waits => ("waits", None),
        FollowUpState::Ahead => ("ahead", None),
        FollowUpState::Due => ("due", None),
        FollowUpState::Overdue(days) => ("overdue", Some(days)),
        FollowUpState::Done { .. } => ("done", None),
    };
    let (entry, at) = match follow_up.state {
        FollowUpState::Done { entry, at } => (Some(entry), Some(at)),
        _ => (None, None),
    };
    json!({
        "number": follow_up.number,
        "what": follow_up.what,
        "rule": follow_up.rule,
        "due": follow_up.due.map(due),
        "provisional": follow_up.provisional,
        "state": state,
        "days_overdue": days,
        "entry": entry,
        "done_at": at,
    })
}

fn remark(checked: &Checked, remark: &Remark) -> Value {
    let next = step(&checked.standing, remark);
    json!({
        "dose": remark.slot,
        "entry": remark.record,
        "code": code(remark.what),
        "words": remark.words(),
        "needs_attention": remark.needs_attention,
        "next": next.map(|next| json!({ "words": next.words, "commands": next.commands })),
    })
}

/// A stable name for machines.
fn code(what: What) -> &'static str {
    match what {
        What::LateNow => "late_now",
        What::NotRecorded => "not_recorded",
        What::Held => "held",
        What::GivenTooSoon | What::GivenBeforeItsWindow => "given_too_soon",
        What::GivenLate => "given_late",
        What::GivenAsInstructed => "given_as_instructed",
        What::AgainstInstruction => "against_instruction",
        What::UnsureAgainstInstruction => "unsure_against_instruction",
        What::NotAtMark => "not_at_mark",
        What::PartlyGiven => "partly_given",
        What::BroughtUp => "brought_up",
        What::Refused => "refused",
        What::Missed => "missed",
        What::Withheld | What::RecordedAsWithheld => "withheld",
        What::Unsure => "unsure",
        What::Extra => "extra",
        What::UnsureExtra => "unsure_extra",
        What::AfterTheEnd => "after_the_end",
        What::ReviewPassed => "review_passed",
        What::ValidUntilPassed => "valid_until_passed",
    }
}

/// Where a course stands.
pub(super) fn verdict(verdict: &Verdict) -> Value {
    let name = match verdict {
        Verdict::NotStarted => "not_started",
        Verdict::OnTrack => "on_track",
        Verdict::NeedsAttention(_) => "needs_attention",
        Verdict::Complete => "complete",
        Verdict::CompleteWithExceptions(_) => "complete_with_exceptions",
        Verdict::EndedEarly(_) => "ended_early",
    };
    let ending = match verdict {
        Verdict::EndedEarly(how) => Some(how),
        _ => None,
    };
    json!({ "code": name, "ending": ending, "words": say::verdict(verdict) })
}
