//! A schedule in plain words, for reading back to the person who typed it.
//!
//! Promises: safe notation throughout (numbers in figures, units in full, no slash), and for every
//! part whether it goes by elapsed hours, by the clock or by dates. It prints nothing itself.

use std::fmt;

use chrono::{NaiveTime, Weekday};

use super::{AfterLate, Count, Form, Length, Phase, Reckoning, Rhythm, Schedule};
use crate::quantity::span::{Span, grouped};

impl fmt::Display for Schedule {
    /// "every 72 hours, 7 doses"; parts are joined by "; then, 48 hours later, ".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for Phase {
            gap_before, form, ..
        } in self.phases()
        {
            match gap_before {
                Some(gap) if form.follows_the_calendar() => {
                    write!(f, "; then, {gap} later at the soonest, {form}")?;
                }
                Some(gap) => write!(f, "; then, {gap} later, {form}")?,
                None => write!(f, "{form}")?,
            }
        }
        match self.count() {
            Count::Slots => Ok(()),
            Count::Given => f.write_str("; a dose that is not given is added at the end"),
        }
    }
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (rhythm, length) = match self {
            Self::Once => return f.write_str("once"),
            Self::OnDays(days) => match days.as_slice() {
                [_] => return f.write_str("once"),
                [_, again] => return write!(f, "once, then again after {}", Span::Days(*again)),
                _ => {
                    let list = listed(days.iter().map(|day| grouped(u64::from(*day))));
                    return write!(f, "on days {list}, the first dose being day 0");
                }
            },
            Self::Repeating { rhythm, length } => (rhythm, length),
        };
        match rhythm {
            Rhythm::Every(Span::Hours(1)) => write!(f, "every hour")?,
            Rhythm::Every(Span::Days(1)) => write!(f, "every day")?,
            Rhythm::Every(span) => write!(f, "every {span}")?,
            Rhythm::Daily(times) => write!(f, "every day at {}", clock_times(times))?,
            Rhythm::Weekly { days, time } => {
                write!(
                    f,
                    "every week on {}",
                    listed(days.iter().map(|day| day_name(*day)))
                )?;
                if let Some(time) = time {
                    write!(f, " at {}", clock_times(&[*time]))?;
                }
            }
        }
        match length {
            Length::Doses(n) => write!(f, ", {}", doses(u64::from(*n))),
            Length::Days(n) => {
                let slots = self.slots().unwrap_or_default();
                write!(f, ", for {} ({})", Span::Days(*n), doses(slots))
            }
            Length::UntilStopped { review } => {
                write!(
                    f,
                    ", until the vet says stop; to be reviewed on {}",
                    review.format("%-d %B %Y")
                )
            }
        }
    }
}

impl fmt::Display for Reckoning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Elapsed => {
                "counted in elapsed hours: when the clocks change, the hour of the dose shifts"
            }
            Self::WallClock => {
                "by the clock: the hour of the dose stays the same when the clocks change"
            }
            Self::Dates => "by dates: no hour is written",
        })
    }
}

impl fmt::Display for AfterLate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::CountFromGiven => "after a late dose, the later doses are counted from it",
            Self::KeepCalendar => {
                "after a late dose, the later doses stay where they are; after a very late one the \
                 next is held until the vet has spoken"
            }
            Self::Call => "a late dose is not given without calling the vet",
        })
    }
}

fn clock_times(times: &[NaiveTime]) -> String {
    let mut sorted = times.to_vec();
    sorted.sort_unstable();
    listed(sorted.iter().map(|time| time.format("%H:%M").to_string()))
}

fn day_name(day: Weekday) -> String {
    let name = match day {
        Weekday::Mon => "Monday",
        Weekday::Tue => "Tuesday",
        Weekday::Wed => "Wednesday",
        Weekday::Thu => "Thursday",
        Weekday::Fri => "Friday",
        Weekday::Sat => "Saturday",
        Weekday::Sun => "Sunday",
    };
    name.to_owned()
}

fn doses(n: u64) -> String {
    format!("{} {}", grouped(n), if n == 1 { "dose" } else { "doses" })
}

/// "0, 14 and 28".
fn listed(items: impl Iterator<Item = String>) -> String {
    let items = items.collect::<Vec<_>>();
    match items.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
