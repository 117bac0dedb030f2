//! A schedule and a start, laid out as numbered slots.
//!
//! Promises: slots come out in order, never more than [`MOST_SLOTS`] and never beyond [`MOST_DAYS`]
//! after the first; the local time of a wall-clock slot is remembered as it was meant, so one day's
//! change of the clocks never shifts the days after it.

use std::cmp::Ordering;

use chrono::{DateTime, Datelike, Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Utc};

use super::clock::{ClockNote, local_date, moment};
use super::form::whole_minute;
use super::{
    Count, Due, Form, Length, MOST_DAYS, MOST_SLOTS, Phase, Rhythm, Schedule, ScheduleError,
};
use super::{Slot, Start, nominal};
use crate::quantity::span::Span;
use crate::zone::Zone;

/// A due time while it is being worked out.
#[derive(Debug, Clone, Copy)]
enum Point {
    /// What the clock should show.
    Clock(NaiveDateTime),
    /// A moment reached by counting elapsed hours.
    Elapsed(DateTime<Utc>),
    /// A date without an hour.
    Date(NaiveDate),
}

/// A point with the phase and dose it belongs to.
struct Planned {
    phase: usize,
    dose: usize,
    due: Due,
    note: Option<ClockNote>,
}

impl Schedule {
    /// The numbered slots from this start on; up to and including the review date where it runs
    /// until the vet says stop.
    ///
    /// # Errors
    /// A [`ScheduleError`] that depends on the start: a missing hour, a review date that comes
    /// first, too many slots, a window too wide on a day when the clocks change.
    pub fn expand(&self, start: Start, zone: Zone) -> Result<Vec<Slot>, ScheduleError> {
        self.expand_with(start, zone, 0)
    }

    /// As [`Schedule::expand`], with so many more slots at the end in the last phase's own rhythm,
    /// for a course that counts doses given. Listed days repeat their last gap.
    ///
    /// # Errors
    /// As [`Schedule::expand`].
    pub fn expand_with(
        &self,
        start: Start,
        zone: Zone,
        more: u32,
    ) -> Result<Vec<Slot>, ScheduleError> {
        let planned = self.plan(start, zone, more)?;
        self.number(&planned, self.may_follow(&planned, start, zone, more), zone)
    }

    /// When a dose would be due that is added at the end because another is not given. The last
    /// slot's window is from the first what it is with that one behind it: else it would close
    /// sooner once one is added, and a dose that was in its window would be late afterwards.
    fn may_follow(&self, planned: &[Planned], start: Start, zone: Zone, more: u32) -> Option<Due> {
        if self.count != Count::Given {
            return None;
        }
        let longer = self.plan(start, zone, more.checked_add(1)?).ok()?;
        longer.get(planned.len()).map(|slot| slot.due)
    }

    fn plan(&self, start: Start, zone: Zone, more: u32) -> Result<Vec<Planned>, ScheduleError> {
        if !(1970..2200).contains(&start.date.year()) {
            return Err(ScheduleError::StartYear);
        }
        start.time.map_or(Ok(()), whole_minute)?;
        let mut anchor = match start.time {
            Some(time) => Point::Clock(start.date.and_time(time)),
            None => Point::Date(start.date),
        };
        let limit = start.date + Days::new(u64::from(MOST_DAYS));
        let mut planned: Vec<Planned> = Vec::new();
        for (index, phase) in self.phases.iter().enumerate() {
            if let Some(gap) = phase.gap_before {
                let by_clock = phase.form.follows_the_calendar();
                anchor = if by_clock {
                    anchor.clock_after(gap, zone)?
                } else {
                    anchor.after(gap, zone)?
                };
            }
            let is_last = index + 1 == self.phases.len();
            let more = if is_last { more } else { 0 };
            for step in 0.. {
                let Some(point) = phase.point(step, more, anchor, zone)? else {
                    break;
                };
                let (due, note) = point.due(zone);
                if due.date(zone) > limit {
                    return Err(ScheduleError::TooLong);
                }
                if planned.len() as u64 >= u64::from(MOST_SLOTS) {
                    return Err(ScheduleError::TooMany);
                }
                planned.push(Planned {
                    phase: index,
                    dose: phase.dose,
                    due,
                    note,
                });
            }
            anchor = phase.last_point(anchor, zone)?.unwrap_or(anchor);
        }
        if planned.is_empty() {
            return Err(ScheduleError::ReviewFirst);
        }
        Ok(planned)
    }

    fn number(
        &self,
        planned: &[Planned],
        follows: Option<Due>,
        zone: Zone,
    ) -> Result<Vec<Slot>, ScheduleError> {
        let gaps = planned
            .iter()
            .zip(planned.iter().skip(1))
            .map(|(a, b)| gap(a.due, b.due, zone))
            .collect::<Result<Vec<_>, _>>()?;
        let before = std::iter::once(None).chain(gaps.iter().copied().map(Some));
        let after = gaps.iter().copied().map(Some).chain([None]);
        let last = planned.last().zip(follows);
        let added = last.and_then(|(last, follows)| gap(last.due, follows, zone).ok());
        (1..)
            .zip(planned)
            .zip(before.zip(after))
            .map(|((number, slot), (before, after))| {
                Ok(Slot {
                    number,
                    phase: slot.phase,
                    dose: slot.dose,
                    due: slot.due,
                    slack: {
                        let added = added.filter(|_| after.is_none());
                        let gap = before.into_iter().chain(after).min();
                        self.slack(slot.due, gap, added)?
                    },
                    gap_before: before,
                    gap_after: after,
                    clock_note: slot.note,
                })
            })
            .collect()
    }

    /// How far either way of due a dose may be given, from the smaller of its neighbouring gaps,
    /// and of the gap to one that may be added behind it. A window that the vet wrote stays as it is.
    fn slack(
        &self,
        due: Due,
        gap: Option<TimeDelta>,
        added: Option<TimeDelta>,
    ) -> Result<TimeDelta, ScheduleError> {
        const SIX_HOURS: TimeDelta = TimeDelta::hours(6);
        const WEEK: TimeDelta = TimeDelta::days(7);
        match (self.window, due) {
            (Some(Span::Hours(_)), Due::On(_)) => Err(ScheduleError::WindowInHours),
            (Some(window), _) if gap.is_some_and(|gap| nominal(window) * 2 >= gap) => {
                Err(ScheduleError::WindowTooWide { window })
            }
            (Some(window), _) => Ok(nominal(window)),
            (None, due) => {
                let gap = gap.into_iter().chain(added).min();
                Ok(match due {
                    Due::At(_) => gap.map_or(SIX_HOURS, |gap| (gap / 8).min(SIX_HOURS)),
                    Due::On(_) if gap.is_none_or(|gap| gap >= WEEK) => TimeDelta::days(1),
                    Due::On(_) => TimeDelta::zero(),
                })
            }
        }
    }
}

impl Phase {
    /// The due point number `step` of this phase, counted from 0, or none when it has ended. `more`
    /// lengthens it.
    fn point(
        &self,
        step: u32,
        more: u32,
        anchor: Point,
        zone: Zone,
    ) -> Result<Option<Point>, ScheduleError> {
        let listed = match &self.form {
            Form::Once => &[0],
            Form::OnDays(days) => days.as_slice(),
            Form::Repeating { rhythm, length } => {
                let point = rhythm.point(step, anchor, zone)?;
                let goes_on = match length {
                    Length::UntilStopped { review } => point.due(zone).0.date(zone) <= *review,
                    _ => u64::from(step) < self.form.slots().unwrap_or(0) + u64::from(more),
                };
                return Ok(goes_on.then_some(point));
            }
        };
        let Some(last) = listed.last() else {
            return Ok(None);
        };
        if let Some(&day) = listed.get(step as usize) {
            return anchor.days_on(day, zone).map(Some);
        }
        let past_the_end = step - u32::try_from(listed.len()).unwrap_or(step) + 1;
        if past_the_end > more {
            return Ok(None);
        }
        match (listed.iter().nth_back(1), self.gap_before) {
            (Some(second_last), _) => {
                let day = last + (last - second_last) * past_the_end;
                anchor.days_on(day, zone).map(Some)
            }
            (None, Some(gap)) => (0..past_the_end)
                .try_fold(anchor, |point, _| point.after(gap, zone))
                .map(Some),
            (None, None) => Ok(None),
        }
    }

    /// Where the phase ends, for the gap to the next one.
    fn last_point(&self, anchor: Point, zone: Zone) -> Result<Option<Point>, ScheduleError> {
        let last = self.form.slots().and_then(|n| n.checked_sub(1));
        match last.and_then(|step| u32::try_from(step).ok()) {
            Some(step) => self.point(step, 0, anchor, zone),
            None => Ok(None),
        }
    }
}

impl Rhythm {
    fn point(&self, step: u32, anchor: Point, zone: Zone) -> Result<Point, ScheduleError> {
        match self {
            Self::Every(Span::Days(n)) => anchor.days_on(step.saturating_mul(*n), zone),
            Self::Every(Span::Hours(_)) if step == 0 => anchor.with_an_hour(),
            Self::Every(Span::Hours(n)) => {
                let Due::At(first) = anchor.due(zone).0 else {
                    return Err(ScheduleError::HourNeeded);
                };
                let hours = i64::from(*n) * i64::from(step);
                let at = first.checked_add_signed(TimeDelta::hours(hours));
                at.map(Point::Elapsed).ok_or(ScheduleError::TooLong)
            }
            Self::Daily(times) => {
                let mut sorted = times.clone();
                sorted.sort_unstable();
                let places = sorted
                    .iter()
                    .map(|time| (0, Some(*time)))
                    .collect::<Vec<_>>();
                anchor.nth_place(&places, 1, step, zone)
            }
            Self::Weekly { days, time } => {
                let (date, hour) = anchor.local(zone);
                let mut ahead = days
                    .iter()
                    .map(|day| day.days_since(date.weekday()))
                    .collect::<Vec<_>>();
                ahead.sort_unstable();
                let time = time.or(hour);
                let places = ahead.iter().map(|day| (*day, time)).collect::<Vec<_>>();
                anchor.nth_place(&places, 7, step, zone)
            }
        }
    }
}

impl Point {
    fn due(self, zone: Zone) -> (Due, Option<ClockNote>) {
        match self {
            Self::Clock(local) => {
                let (at, note) = moment(local, zone);
                (Due::At(at), note)
            }
            Self::Elapsed(at) => (Due::At(at), None),
            Self::Date(date) => (Due::On(date), None),
        }
    }

    /// What the clock shows, as it was meant.
    fn local(self, zone: Zone) -> (NaiveDate, Option<NaiveTime>) {
        match self {
            Self::Clock(local) => (local.date(), Some(local.time())),
            Self::Elapsed(at) => (local_date(at, zone), Some(at.with_timezone(&zone).time())),
            Self::Date(date) => (date, None),
        }
    }

    fn with_an_hour(self) -> Result<Self, ScheduleError> {
        match self {
            Self::Date(_) => Err(ScheduleError::HourNeeded),
            point => Ok(point),
        }
    }

    /// The same hour by the clock, so many dates later.
    fn days_on(self, days: u32, zone: Zone) -> Result<Self, ScheduleError> {
        if days == 0 {
            return Ok(self);
        }
        let (date, time) = self.local(zone);
        let date = later_date(date, u64::from(days))?;
        Ok(time.map_or(Self::Date(date), |time| Self::Clock(date.and_time(time))))
    }

    /// A span later: hours by elapsed time, days by the clock.
    fn after(self, span: Span, zone: Zone) -> Result<Self, ScheduleError> {
        match (span, self.due(zone).0) {
            (Span::Days(n), _) => self.days_on(n, zone),
            (Span::Hours(_), Due::On(_)) => Err(ScheduleError::HourNeeded),
            (Span::Hours(n), Due::At(at)) => at
                .checked_add_signed(TimeDelta::hours(i64::from(n)))
                .map(Self::Elapsed)
                .ok_or(ScheduleError::TooLong),
        }
    }

    /// A span later by what the clock shows, hours too: for a phase that goes by the clock, so that
    /// 12 hours after 20:00 is 08:00 in a night when the clocks change as well.
    fn clock_after(self, span: Span, zone: Zone) -> Result<Self, ScheduleError> {
        match (span, self.local(zone)) {
            (Span::Days(n), _) => self.days_on(n, zone),
            (Span::Hours(_), (_, None)) => Err(ScheduleError::HourNeeded),
            (Span::Hours(n), (date, Some(time))) => date
                .and_time(time)
                .checked_add_signed(TimeDelta::hours(i64::from(n)))
                .map(Self::Clock)
                .ok_or(ScheduleError::TooLong),
        }
    }

    /// The `step`th of the given places in a cycle of so many days, not sooner than this point. A
    /// place is days from this point's date, with a time by the clock where there is one.
    fn nth_place(
        self,
        places: &[(u32, Option<NaiveTime>)],
        cycle: u64,
        step: u32,
        zone: Zone,
    ) -> Result<Self, ScheduleError> {
        let (date, hour) = self.local(zone);
        let too_soon = |(day, time): &&(u32, Option<NaiveTime>)| *day == 0 && *time < hour;
        let passed = places.iter().take_while(too_soon).count() as u64;
        let (turns, index) = match places.len() as u64 {
            0 => return Err(ScheduleError::Empty("times")),
            n => (
                (u64::from(step) + passed) / n,
                (u64::from(step) + passed) % n,
            ),
        };
        let place = usize::try_from(index).ok().and_then(|i| places.get(i));
        let (day, time) = place.copied().ok_or(ScheduleError::Empty("times"))?;
        let date = later_date(date, u64::from(day) + turns * cycle)?;
        Ok(time.map_or(Self::Date(date), |time| Self::Clock(date.and_time(time))))
    }
}

fn later_date(date: NaiveDate, days: u64) -> Result<NaiveDate, ScheduleError> {
    // A bound here keeps every later sum far inside the calendar.
    if days > 2 * u64::from(MOST_DAYS) {
        return Err(ScheduleError::TooLong);
    }
    date.checked_add_days(Days::new(days))
        .ok_or(ScheduleError::TooLong)
}

/// Planned time between two neighbours, which must be in order and of one kind.
fn gap(a: Due, b: Due, zone: Zone) -> Result<TimeDelta, ScheduleError> {
    let gap = match (a, b) {
        (Due::At(a), Due::At(b)) => b - a,
        (Due::On(a), Due::On(b)) => b - a,
        _ => return Err(ScheduleError::HourNeeded),
    };
    match gap.cmp(&TimeDelta::zero()) {
        Ordering::Greater => Ok(gap),
        _ => Err(ScheduleError::Crossed(b.date(zone))),
    }
}
