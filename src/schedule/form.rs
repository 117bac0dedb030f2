//! The forms that one phase of a course can take.
//!
//! Promises: a form says how many doses it has, how many a day, and its shortest gap, without
//! knowing when it starts. It lays out no date; that is `expand`.

use chrono::{NaiveDate, NaiveTime, TimeDelta, Timelike, Weekday};

use super::{MOST_DAYS, Reckoning, ScheduleError, nominal};
use crate::quantity::span::Span;

/// The forms that a phase can take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Form {
    /// One dose.
    Once,
    /// Listed days counted from the first dose, which is day 0: 0, 14, 28. "Once, then again
    /// after 14 days" is 0, 14.
    OnDays(Vec<u32>),
    /// The same rhythm over and over.
    Repeating {
        /// How the doses follow each other.
        rhythm: Rhythm,
        /// When it ends.
        length: Length,
    },
}

/// How repeated doses follow each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Rhythm {
    /// Every so many hours of elapsed time, or every so many days at the same hour by the clock.
    Every(Span),
    /// At these times by the clock on every day.
    Daily(Vec<NaiveTime>),
    /// On these days of every week, at a time by the clock or, without one, at the start's.
    Weekly {
        /// The named days.
        days: Vec<Weekday>,
        /// The hour, where the vet wrote one.
        time: Option<NaiveTime>,
    },
}

/// When a repeated rhythm ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Length {
    /// After so many doses.
    Doses(u32),
    /// After so many days' worth of clock times: days x times doses, also when the first day is
    /// short.
    Days(u32),
    /// When the vet says so. The slots go up to and including the review date.
    UntilStopped {
        /// The day on which the vet looks again. There is no mark after it.
        review: NaiveDate,
    },
}

impl Form {
    pub(super) fn check(&self) -> Result<(), ScheduleError> {
        match self {
            Self::Once => Ok(()),
            Self::OnDays(days) => {
                let rising = days.iter().zip(days.iter().skip(1)).all(|(a, b)| a < b);
                match (days.first(), days.last()) {
                    (None, _) => Err(ScheduleError::Empty("days")),
                    (Some(0), Some(&last)) if rising && last <= MOST_DAYS => Ok(()),
                    (Some(0), _) if rising => Err(ScheduleError::TooLong),
                    _ => Err(ScheduleError::DayList),
                }
            }
            Self::Repeating { rhythm, length } => {
                rhythm.check()?;
                match length {
                    Length::Doses(0) => Err(ScheduleError::Empty("doses")),
                    Length::Days(0) => Err(ScheduleError::Empty("days")),
                    Length::Days(_) if !matches!(rhythm, Rhythm::Daily(_)) => {
                        Err(ScheduleError::DaysOfOther)
                    }
                    _ => Ok(()),
                }
            }
        }
    }

    pub(super) fn slots(&self) -> Option<u64> {
        match self {
            Self::Once => Some(1),
            Self::OnDays(days) => Some(days.len() as u64),
            Self::Repeating { rhythm, length } => match (length, rhythm) {
                (Length::UntilStopped { .. }, _) => None,
                (Length::Days(n), Rhythm::Daily(times)) => Some(u64::from(*n) * times.len() as u64),
                (Length::Doses(n) | Length::Days(n), _) => Some(u64::from(*n)),
            },
        }
    }

    pub(super) fn review(&self) -> Option<NaiveDate> {
        match self {
            Self::Repeating {
                length: Length::UntilStopped { review },
                ..
            } => Some(*review),
            _ => None,
        }
    }

    pub(super) fn follows_the_calendar(&self) -> bool {
        matches!(
            self,
            Self::Repeating {
                rhythm: Rhythm::Daily(_) | Rhythm::Weekly { .. },
                ..
            }
        )
    }

    pub(super) fn doses_per_day(&self) -> Option<u32> {
        let Self::Repeating { rhythm, .. } = self else {
            return None;
        };
        match rhythm {
            Rhythm::Every(Span::Hours(h)) => 24u32.is_multiple_of(*h).then(|| 24 / h),
            Rhythm::Every(Span::Days(d)) => (*d == 1).then_some(1),
            Rhythm::Daily(times) => u32::try_from(times.len()).ok(),
            Rhythm::Weekly { .. } => None,
        }
    }

    /// The shortest time between two doses of this form on days when the clocks do not change.
    pub(super) fn shortest_gap(&self) -> Option<TimeDelta> {
        if self.slots() == Some(1) {
            return None;
        }
        match self {
            Self::Once => None,
            Self::OnDays(days) => {
                let steps = days.iter().zip(days.iter().skip(1)).map(|(a, b)| b - a);
                steps.min().map(|d| TimeDelta::days(d.into()))
            }
            Self::Repeating {
                rhythm: Rhythm::Every(span),
                ..
            } => Some(nominal(*span)),
            Self::Repeating {
                rhythm: Rhythm::Daily(times),
                ..
            } => {
                let minutes = times.iter().map(|t| t.hour() * 60 + t.minute()).collect();
                shortest_step(minutes, 24 * 60).map(|m| TimeDelta::minutes(m.into()))
            }
            Self::Repeating {
                rhythm: Rhythm::Weekly { days, .. },
                ..
            } => {
                let numbers = days.iter().map(Weekday::num_days_from_monday).collect();
                shortest_step(numbers, 7).map(|d| TimeDelta::days(d.into()))
            }
        }
    }

    /// By what the distance between two doses is measured, given whether the course goes by hours.
    #[must_use]
    pub fn reckoning(&self, by_hours: bool) -> Reckoning {
        match self {
            Self::Repeating {
                rhythm: Rhythm::Every(Span::Hours(_)),
                ..
            } => Reckoning::Elapsed,
            _ if by_hours => Reckoning::WallClock,
            _ => Reckoning::Dates,
        }
    }
}

impl Rhythm {
    fn check(&self) -> Result<(), ScheduleError> {
        match self {
            Self::Every(span) => span.checked().map(|_| ()).map_err(ScheduleError::from),
            Self::Daily(times) => {
                times.iter().try_for_each(|time| whole_minute(*time))?;
                distinct(times, "times")
            }
            Self::Weekly { days, time } => {
                time.map_or(Ok(()), whole_minute)?;
                distinct(days, "days")
            }
        }
    }
}

pub(super) fn whole_minute(time: NaiveTime) -> Result<(), ScheduleError> {
    let whole = time.second() == 0 && time.nanosecond() == 0;
    whole.then_some(()).ok_or(ScheduleError::Seconds)
}

fn distinct<T: PartialEq>(list: &[T], what: &'static str) -> Result<(), ScheduleError> {
    if list.is_empty() {
        return Err(ScheduleError::Empty(what));
    }
    let again = list
        .iter()
        .enumerate()
        .any(|(i, item)| list.iter().skip(i + 1).any(|x| x == item));
    if again {
        Err(ScheduleError::Repeated(what))
    } else {
        Ok(())
    }
}

/// The shortest step between neighbours on a circle, the last one leading to the first.
fn shortest_step(mut places: Vec<u32>, circle: u32) -> Option<u32> {
    places.sort_unstable();
    let first = *places.first()?;
    let next = places.iter().skip(1).copied().chain([first + circle]);
    places.iter().zip(next).map(|(a, b)| b - a).min()
}
