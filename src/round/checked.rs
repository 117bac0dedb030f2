//! A course looked at from all sides: the verdict, what to do next, how closely it was kept, what
//! it still takes, what else the vet wants.
//!
//! Promises: everything a face says about a course is here, so that text and JSON say the same.

use crate::course::{Remark, Verdict};
use crate::ledger::{Ledger, Said};
use crate::round::off_card::before_the_next;
use crate::round::said::unfinished;
use crate::round::unsettled::{Flagged, before_the_next_mark, flagged, mended_doses};
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
    pub flagged: Vec<Flagged<'l>>,
    /// Whether the next dose has no mark until the vet has spoken.
    pub is_held: bool,
    /// Why to call before the next dose all the same: a loss of weight, a large change of the dose.
    pub calls: Vec<String>,
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
    let each = standings.into_iter().map(|mut standing| {
        let flagged = flagged(&standing, settings, now);
        let mended = mended_doses(&standing, settings, now);
        let verdict = &mut standing.course.verdict;
        // By the weight that stands now it was not at its mark, whatever the vet has said since.
        if *verdict == Verdict::Complete && !mended.is_empty() {
            *verdict = Verdict::CompleteWithExceptions(mended);
        }
        if !flagged.is_empty() && !matches!(verdict, Verdict::NeedsAttention(_)) {
            let beside = match verdict {
                Verdict::CompleteWithExceptions(remarks) => std::mem::take(remarks),
                _ => Vec::new(),
            };
            *verdict = Verdict::NeedsAttention(beside);
        }
        Checked {
            actual: actual(ledger, &standing),
            left: left(ledger, settings, &standing, now, zone),
            follow_ups: follow_ups(&standing, zone, now),
            unfinished: unfinished(&standing, now),
            flagged,
            is_held: standing.course.next.is_some()
                && !before_the_next_mark(&standing, settings, now).0.is_empty(),
            calls: before_the_next(ledger, settings, &standing, now, zone),
            standing,
        }
    });
    Ok(each.collect())
}
