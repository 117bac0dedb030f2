//! A course looked at from all sides: the verdict, what to do next, how closely it was kept, what
//! it still takes, what else the vet wants.
//!
//! Promises: everything a face says about a course is here, so that text and JSON say the same.

use crate::course::{Remark, Verdict};
use crate::entry::Order;
use crate::ledger::{Dose, Ledger, Said};
use crate::round::dose::said_by;
use crate::round::said::unfinished;
use crate::round::{Actual, FollowUp, FollowUpState, Need, Standing, Step};
use crate::round::{actual, courses, follow_ups, left, step};
use crate::schedule::{ScheduleError, Zone};
use crate::settings::Settings;
use chrono::{DateTime, Utc};

/// One course with all there is to say about it.
#[derive(Debug)]
pub struct Checked<'l> {
    /// The course and its verdict.
    pub standing: Standing<'l>,
    /// What was really given by body weight.
    pub actual: Option<Actual>,
    /// What the slots that wait still take.
    pub left: Option<Need>,
    /// What the vet wants beside the doses.
    pub follow_ups: Vec<FollowUp<'l>>,
    /// Instructions that were not read back, or whose paper has not come.
    pub unfinished: Vec<&'l Said>,
    /// Doses that went in though something was wrong with how: from an expired bottle, by too old
    /// a weight, another volume; until the vet has spoken about them.
    pub flagged: Vec<&'l Dose>,
}

impl Checked<'_> {
    /// Whether somebody has to do something: about a dose, or a follow-up that is overdue.
    pub fn needs_attention(&self) -> bool {
        let overdue = |follow_up: &FollowUp| matches!(follow_up.state, FollowUpState::Overdue(_));
        matches!(self.standing.course.verdict, Verdict::NeedsAttention(_))
            || !self.flagged.is_empty()
            || self.follow_ups.iter().any(overdue)
    }

    /// What the verdict rests on, each with what to do next.
    pub fn reasons(&self) -> Vec<(&Remark, Option<Step>)> {
        let remarks: &[Remark] = match &self.standing.course.verdict {
            Verdict::NeedsAttention(remarks) | Verdict::CompleteWithExceptions(remarks) => remarks,
            _ => &[],
        };
        let each = remarks.iter();
        each.map(|remark| (remark, step(&self.standing, remark)))
            .collect()
    }
}

/// Looks at every course.
///
/// # Errors
/// [`ScheduleError`], as [`courses`].
pub fn check<'l>(
    ledger: &'l Ledger,
    settings: &Settings,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Vec<Checked<'l>>, ScheduleError> {
    let standings = courses(ledger, zone, now)?;
    let each = standings.into_iter().map(|standing| Checked {
        actual: actual(ledger, &standing),
        left: left(ledger, settings, &standing, now, zone),
        follow_ups: follow_ups(&standing, zone, now),
        unfinished: unfinished(&standing, now),
        flagged: flagged(&standing, now),
        standing,
    });
    Ok(each.collect())
}

/// What the calendar had against a dose is the verdict's to say, not that of these flags.
const BY_THE_CALENDAR: [&str; 8] = [
    "too_soon",
    "held",
    "earlier_unanswered",
    "late_call",
    "not_recorded",
    "past_validity",
    "past_review",
    "clock_behind",
];

/// What is flagged about a course's doses and not settled.
pub(super) fn flagged<'l>(standing: &Standing<'l>, now: DateTime<Utc>) -> Vec<&'l Dose> {
    let (patient, script) = (standing.patient, standing.script);
    if patient.end.as_ref().is_some_and(|(at, _)| *at <= now) {
        return Vec::new();
    }
    let settled = |dose: &Dose| {
        let settles = Order::Settled { entry: dose.entry };
        said_by(patient, script, now).any(|said| said.instruction.order == settles)
    };
    let wrong = |dose: &Dose| {
        let mut flags = dose.record.flags.iter();
        flags.any(|flag| !BY_THE_CALENDAR.contains(&flag.as_str()))
    };
    let doses = patient.doses.iter();
    doses
        .filter(|dose| dose.course == script.prescription.reference && dose.happened <= now)
        .filter(|dose| wrong(dose) && !settled(dose))
        .collect()
}
