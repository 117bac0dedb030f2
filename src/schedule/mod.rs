//! When the doses of a course are due: the forms a schedule can take, and its numbered slots.
//!
//! Promises: the same schedule, start and zone always give the same slots, in order, each with its
//! due time and its slack; what would need a guess (an hour nobody wrote, a gap between phases, a
//! window that overlaps the next) is an error. "Every 72 hours" is elapsed time, "every 3 days" the
//! same hour by the clock, and [`Reckoning`] says which. It knows no animal, no dose and no record,
//! and does not know what day it is.

mod clock;
mod error;
mod expand;
mod form;
#[cfg(test)]
mod tests;
mod words;

use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, Utc};

use crate::quantity::span::Span;

pub use crate::zone::Zone;
pub use clock::{ClockChange, ClockNote, clock_changes, day_end, day_start, local_date, moment};
pub use error::ScheduleError;
pub use form::{Form, Length, Rhythm};

/// The most slots a course may have.
pub const MOST_SLOTS: u32 = 2_000;

/// The most days between the first and the last slot: ten years.
pub const MOST_DAYS: u32 = 3_653;

/// Everything the vet wrote about when: phases in a row, how they are counted, and the windows.
///
/// Made by [`Schedule::new`] alone, so one that exists has been checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule {
    phases: Vec<Phase>,
    count: Count,
    after_late: AfterLate,
    window: Option<Span>,
}

/// One stretch of a course with one dose and one form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phase {
    /// Which of the prescription's doses is given in this phase, counted from 0.
    pub dose: usize,
    /// From the last dose of the phase before to the first of this one, at the least: a phase with
    /// its own clock times or weekdays begins at the first of them that is not sooner. The first
    /// phase has none, every other phase must have one.
    pub gap_before: Option<Span>,
    /// When its doses are due.
    pub form: Form,
}

/// What is counted up to the number of doses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Count {
    /// Slots, whatever became of them.
    #[default]
    Slots,
    /// Doses given: a slot that was refused for good, missed or withheld adds one at the end.
    Given,
}

/// What the vet wants after a dose that was given late.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AfterLate {
    /// Later doses move with it, by elapsed time.
    CountFromGiven,
    /// Later doses stay where they are. After a very late dose the next one is then held.
    KeepCalendar,
    /// No late dose without a call: a late slot has no mark.
    Call,
}

/// By what the distance between two doses is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reckoning {
    /// By elapsed hours, so the hour on the clock shifts when the clocks change.
    Elapsed,
    /// By the clock, so the elapsed hours differ when the clocks change.
    WallClock,
    /// By dates: no hour was written.
    Dates,
}

/// Where a course begins: a date, with the hour of its first dose if there is one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Start {
    /// The local date of the start.
    pub date: NaiveDate,
    /// The local time of the start, to the minute.
    pub time: Option<NaiveTime>,
}

/// When a slot is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Due {
    /// At a moment.
    At(DateTime<Utc>),
    /// On a local date, at no particular hour.
    On(NaiveDate),
}

/// One numbered dose of a course, as planned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slot {
    /// Counted from 1.
    pub number: u32,
    /// Its phase, counted from 0.
    pub phase: usize,
    /// Which of the prescription's doses it is, counted from 0.
    pub dose: usize,
    /// When it is due.
    pub due: Due,
    /// How far from due it may be given, either way. Whole days where it is due on a date.
    pub slack: TimeDelta,
    /// Planned time since the slot before; for dates nominal days of 24 hours.
    pub gap_before: Option<TimeDelta>,
    /// Planned time to the slot after; for dates nominal days of 24 hours.
    pub gap_after: Option<TimeDelta>,
    /// What is odd about its local time, if anything.
    pub clock_note: Option<ClockNote>,
}

impl Schedule {
    /// Checks what can be checked without knowing the start; [`Schedule::expand`] checks the rest.
    ///
    /// # Errors
    /// Any [`ScheduleError`] that does not depend on the start.
    pub fn new(
        phases: Vec<Phase>,
        count: Count,
        after_late: AfterLate,
        window: Option<Span>,
    ) -> Result<Self, ScheduleError> {
        let last = phases.len().checked_sub(1).ok_or(ScheduleError::NoPhase)?;
        for (i, phase) in phases.iter().enumerate() {
            match (i, phase.gap_before) {
                (0, Some(_)) => return Err(ScheduleError::GapBeforeFirst),
                (0, None) => {}
                (_, Some(gap)) => _ = gap.checked()?,
                (_, None) => return Err(ScheduleError::NoGap(i + 1)),
            }
            phase.form.check()?;
            if i < last && phase.form.review().is_some() {
                return Err(ScheduleError::OpenMiddle);
            }
            if after_late == AfterLate::CountFromGiven && phase.form.follows_the_calendar() {
                return Err(ScheduleError::CannotCountFromGiven);
            }
        }
        if let Some(window) = window {
            window.checked()?;
        }
        let schedule = Self {
            phases,
            count,
            after_late,
            window,
        };
        if schedule.slots().is_some_and(|n| n > u64::from(MOST_SLOTS)) {
            return Err(ScheduleError::TooMany);
        }
        if count == Count::Given && (schedule.slots().is_none() || schedule.slots() == Some(1)) {
            return Err(ScheduleError::CannotCountGiven);
        }
        schedule.check_window()?;
        Ok(schedule)
    }

    /// The phases, in order.
    #[must_use]
    pub fn phases(&self) -> &[Phase] {
        &self.phases
    }

    /// What is counted up to the number of doses.
    #[must_use]
    pub fn count(&self) -> Count {
        self.count
    }

    /// What the vet wants after a late dose.
    #[must_use]
    pub fn after_late(&self) -> AfterLate {
        self.after_late
    }

    /// The window that the vet wrote, either way of due.
    #[must_use]
    pub fn window(&self) -> Option<Span> {
        self.window
    }

    /// The number of slots; none where it runs until the vet says stop.
    #[must_use]
    pub fn slots(&self) -> Option<u64> {
        self.phases.iter().map(|phase| phase.form.slots()).sum()
    }

    /// The date on which the vet looks again, where it runs until the vet says stop.
    #[must_use]
    pub fn review(&self) -> Option<NaiveDate> {
        self.phases.last().and_then(|phase| phase.form.review())
    }

    /// The same schedule with a later review date, as the vet said. One with an end stays as it is.
    #[must_use]
    pub fn reviewed_on(mut self, date: NaiveDate) -> Self {
        if let Some(Phase {
            form: Form::Repeating { length, .. },
            ..
        }) = self.phases.last_mut()
            && let Length::UntilStopped { review } = length
        {
            *review = date;
        }
        self
    }

    /// Doses in a day of every phase that gives this dose, where a day always has the same number:
    /// what a dose written per day must be divided into. `None` where no day has a fixed number.
    #[must_use]
    pub fn doses_per_day(&self, dose: usize) -> Option<u32> {
        let mut each = self
            .phases
            .iter()
            .filter(|p| p.dose == dose)
            .map(|p| p.form.doses_per_day());
        let first = each.next()??;
        each.all(|n| n == Some(first)).then_some(first)
    }

    /// The window against the shortest nominal gap, so that a prescription can be refused where it
    /// is read; the changes of the clocks come in when it is laid out.
    fn check_window(&self) -> Result<(), ScheduleError> {
        let gaps = self
            .phases
            .iter()
            .flat_map(|phase| [phase.gap_before.map(nominal), phase.form.shortest_gap()]);
        let Some((window, gap)) = self.window.zip(gaps.flatten().min()) else {
            return Ok(());
        };
        if nominal(window) * 2 >= gap {
            Err(ScheduleError::WindowTooWide { window })
        } else {
            Ok(())
        }
    }
}

impl Due {
    /// The local date it falls on.
    #[must_use]
    pub fn date(self, zone: Zone) -> NaiveDate {
        match self {
            Self::At(at) => local_date(at, zone),
            Self::On(date) => date,
        }
    }

    /// How far a moment is from due, either way: of a date in whole days.
    #[must_use]
    pub fn apart(self, at: DateTime<Utc>, zone: Zone) -> TimeDelta {
        match self {
            Self::At(due) => (at - due).abs(),
            Self::On(date) => (local_date(at, zone) - date).abs(),
        }
    }

    /// The first moment that is no more than `slack` early: for a date, the start of a local day.
    #[must_use]
    pub fn opens(self, slack: TimeDelta, zone: Zone) -> DateTime<Utc> {
        match self {
            Self::At(at) => at - slack,
            Self::On(date) => day_start(date - whole_days(slack), zone),
        }
    }

    /// The last moment that is no more than `slack` late: for a date, the end of a local day.
    #[must_use]
    pub fn closes(self, slack: TimeDelta, zone: Zone) -> DateTime<Utc> {
        match self {
            Self::At(at) => at + slack,
            Self::On(date) => day_end(date + whole_days(slack), zone),
        }
    }
}

/// The slots that fall after a date, such as the last day on which a prescription is valid.
pub fn after_date(slots: &[Slot], date: NaiveDate, zone: Zone) -> impl Iterator<Item = &Slot> {
    slots.iter().filter(move |slot| slot.due.date(zone) > date)
}

/// A span as time, with days of 24 hours.
fn nominal(span: Span) -> TimeDelta {
    match span {
        Span::Hours(n) => TimeDelta::hours(i64::from(n)),
        Span::Days(n) => TimeDelta::days(i64::from(n)),
    }
}

/// The whole days in a time that is not negative.
fn whole_days(time: TimeDelta) -> Days {
    Days::new(u64::try_from(time.num_days()).unwrap_or(0))
}
