//! What the vet wants beside the doses: each follow-up with its date and whether it was done.
//!
//! Promises: a date that hangs on a dose is taken from what was given, and is provisional until
//! that dose has been; after an animal's stay has ended there are none. Only a person says that
//! one was done.

use crate::course::{Verdict, What};
use crate::ledger::Followed;
use crate::prescription::{self, FollowUpDate};
use crate::quantity::Span;
use crate::round::Standing;
use crate::schedule::{Due, Slot, Zone, local_date};
use chrono::{DateTime, Days, NaiveDate, TimeDelta, Utc};

/// One follow-up of one course.
#[derive(Clone, Debug)]
pub struct FollowUp<'l> {
    /// Its number in the prescription, from 1.
    pub number: u32,
    /// What, in the vet's words.
    pub what: &'l str,
    /// When, in words: "14 days after the last dose given".
    pub rule: String,
    /// When it is due, where that can be said.
    pub due: Option<Due>,
    /// The date hangs on a dose that has not been given yet.
    pub provisional: bool,
    /// Where it stands.
    pub state: FollowUpState,
}

/// Where a follow-up stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FollowUpState {
    /// It has no date yet, or a provisional one.
    Waits,
    /// It is to come.
    Ahead,
    /// It is due today.
    Due,
    /// It was due so many days ago.
    Overdue(u32),
    /// It was done, as this entry says.
    Done {
        /// The entry.
        entry: u64,
        /// When.
        at: DateTime<Utc>,
    },
}

impl FollowUp<'_> {
    /// Whether it is to be done on a day: due on it, or, of today, overdue.
    pub fn wants_doing_on(&self, day: NaiveDate, now: DateTime<Utc>, zone: Zone) -> bool {
        let today = local_date(now, zone) == day;
        match self.state {
            FollowUpState::Due | FollowUpState::Overdue(_) if today => true,
            FollowUpState::Waits | FollowUpState::Done { .. } => false,
            _ => self.due.is_some_and(|due| due.date(zone) == day),
        }
    }
}

/// The follow-ups of a course as they stand.
pub fn follow_ups<'l>(
    standing: &Standing<'l>,
    zone: Zone,
    now: DateTime<Utc>,
) -> Vec<FollowUp<'l>> {
    let ended = standing.patient.end.as_ref();
    if ended.is_some_and(|(at, _)| *at <= now) {
        return Vec::new();
    }
    let wanted = (1..).zip(&standing.script.prescription.follow_ups);
    wanted
        .map(|(number, wanted)| {
            let (due, provisional) = due(standing, wanted.when, zone);
            let state = match done(standing, number, now) {
                Some(done) => FollowUpState::Done {
                    entry: done.entry,
                    at: done.at,
                },
                None => state(due, provisional, zone, now),
            };
            FollowUp {
                number,
                what: &wanted.what,
                rule: rule(wanted.when),
                due,
                provisional,
                state,
            }
        })
        .collect()
}

/// The follow-ups of a prescription if every dose is given when it is due.
pub fn as_planned<'p>(
    wanted: &'p [prescription::FollowUp],
    slots: &[Slot],
    ends: bool,
    zone: Zone,
) -> Vec<FollowUp<'p>> {
    let first = slots.first().map(|slot| slot.due);
    let last = slots.last().filter(|_| ends).map(|slot| slot.due);
    let planned = (1..).zip(wanted).map(|(number, wanted)| {
        let due = match wanted.when {
            FollowUpDate::On(date) => Some(Due::On(date)),
            FollowUpDate::AfterFirstDose(span) => first.map(|due| after(due, span, zone)),
            FollowUpDate::AfterLastDose(span) => last.map(|due| after(due, span, zone)),
        };
        FollowUp {
            number,
            what: &wanted.what,
            rule: rule(wanted.when),
            due,
            provisional: !matches!(wanted.when, FollowUpDate::On(_)),
            state: FollowUpState::Waits,
        }
    });
    planned.collect()
}

fn done<'l>(standing: &Standing<'l>, number: u32, now: DateTime<Utc>) -> Option<&'l Followed> {
    let reference = &standing.script.prescription.reference;
    let followed = standing.patient.followed.iter().rev();
    followed
        .filter(|followed| followed.at <= now && followed.course == *reference)
        .find(|followed| followed.done.number == number)
}

fn state(due: Option<Due>, provisional: bool, zone: Zone, now: DateTime<Utc>) -> FollowUpState {
    let Some(due) = due.filter(|_| !provisional) else {
        return FollowUpState::Waits;
    };
    let days = (local_date(now, zone) - due.date(zone)).num_days();
    match u32::try_from(days) {
        Ok(0) => FollowUpState::Due,
        Ok(days) => FollowUpState::Overdue(days),
        Err(_) => FollowUpState::Ahead,
    }
}

/// When a follow-up is due, and whether that hangs on a dose still to be given.
fn due(standing: &Standing, when: FollowUpDate, zone: Zone) -> (Option<Due>, bool) {
    let course = &standing.course;
    let planned = |slot: Option<&crate::course::Standing>, span| {
        (slot.map(|slot| after(slot.due, span, zone)), true)
    };
    match when {
        FollowUpDate::On(date) => (Some(Due::On(date)), false),
        FollowUpDate::AfterFirstDose(span) => match course.first_dose {
            Some(at) => (Some(after(Due::At(at), span, zone)), false),
            None if over(standing) => (None, false),
            None => planned(course.slots.first(), span),
        },
        FollowUpDate::AfterLastDose(span) => match (over(standing), last_given(standing)) {
            (true, Some(at)) => (Some(after(Due::At(at), span, zone)), false),
            (true, None) => (None, false),
            (false, _) if standing.script.prescription.schedule.review().is_some() => (None, true),
            (false, _) => planned(course.slots.last(), span),
        },
    }
}

/// Whether no dose of the course is left to give.
fn over(standing: &Standing) -> bool {
    let course = &standing.course;
    let waits_for_review = course
        .remarks
        .iter()
        .any(|remark| remark.what == What::ReviewPassed);
    let running = matches!(course.verdict, Verdict::NotStarted | Verdict::OnTrack);
    course.next.is_none() && !running && !waits_for_review
}

fn last_given(standing: &Standing) -> Option<DateTime<Utc>> {
    let course = &standing.course;
    let tied = course.slots.iter().flat_map(|slot| &slot.records);
    let all = tied.chain(course.extras.iter().map(|extra| &extra.record));
    all.filter(|record| record.outcome.went_in())
        .map(|record| record.happened)
        .max()
}

/// So long after; days are counted by the calendar, so they leave no hour.
fn after(due: Due, span: Span, zone: Zone) -> Due {
    match (due, span) {
        (Due::At(at), Span::Hours(hours)) => Due::At(at + TimeDelta::hours(i64::from(hours))),
        (due, Span::Days(days)) => Due::On(due.date(zone) + Days::new(u64::from(days))),
        (Due::On(date), Span::Hours(hours)) => {
            Due::On(date + Days::new(u64::from(hours.div_ceil(24))))
        }
    }
}

fn rule(when: FollowUpDate) -> String {
    match when {
        FollowUpDate::On(_) => "on a date".to_owned(),
        FollowUpDate::AfterFirstDose(span) => format!("{span} after the first dose given"),
        FollowUpDate::AfterLastDose(span) => format!("{span} after the last dose given"),
    }
}
