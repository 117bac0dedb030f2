//! Why a schedule cannot be laid out, in plain words.

use chrono::NaiveDate;
use thiserror::Error;

use crate::quantity::span::{Span, SpanError};

/// A schedule that cannot be laid out.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ScheduleError {
    /// No phase at all.
    #[error("the schedule has no doses: write when they are due")]
    NoPhase,
    /// A gap before the first phase.
    #[error("there is nothing before the first part of the schedule: leave out the gap before it")]
    GapBeforeFirst,
    /// No gap between two phases.
    #[error(
        "part {0} of the schedule needs the vet's gap between the last dose before it and its first"
    )]
    NoGap(usize),
    /// A span out of its bounds.
    #[error(transparent)]
    Span(#[from] SpanError),
    /// A count or number of days of zero, or an empty list.
    #[error("the schedule lists no {0}: write at least one")]
    Empty(&'static str),
    /// The same item twice in a list.
    #[error("the schedule lists some of its {0} twice: write each once")]
    Repeated(&'static str),
    /// Listed days not counted from the first dose.
    #[error(
        "listed days count from the first dose, which is day 0, and go up: write 0 first, then the others in order"
    )]
    DayList,
    /// A clock time with seconds.
    #[error("a dose time has hours and minutes only, without seconds")]
    Seconds,
    /// So many days, of a rhythm whose last dose that leaves open.
    #[error("only clock times can be written for so many days: write the number of doses")]
    DaysOfOther,
    /// An open end before the last phase.
    #[error(
        "only the last part of the schedule can run until the vet says stop: write how many doses"
    )]
    OpenMiddle,
    /// `CountFromGiven` on a schedule tied to clock times or weekdays.
    #[error(
        "doses at clock times or on named days cannot be counted from a late one: ask the vet to \
         choose between keeping the calendar and a call"
    )]
    CannotCountFromGiven,
    /// `count: given` where nothing says how a further dose would follow.
    #[error("doses given can only be counted where the number and the gap are written")]
    CannotCountGiven,
    /// More slots than [`MOST_SLOTS`].
    #[error(
        "the schedule has more than 2,000 doses: check the numbers, or ask for an earlier review"
    )]
    TooMany,
    /// Longer than [`MOST_DAYS`].
    #[error("the schedule runs for more than ten years: check the numbers")]
    TooLong,
    /// A start that no course of today can have.
    #[error("the start is not between the years 1970 and 2199: check the date")]
    StartYear,
    /// An hour is needed and none was given.
    #[error("this schedule goes by the hour: give the start an hour as well as a date")]
    HourNeeded,
    /// A review date before the first dose.
    #[error("the review date comes before the first dose: check both dates")]
    ReviewFirst,
    /// Two slots in the wrong order, by a change of the clocks.
    #[error("the clocks change on {} and put two doses on top of each other: ask the vet for other times", .0.format("%-d %B %Y"))]
    Crossed(NaiveDate),
    /// A window in hours around a date.
    #[error(
        "the window is in hours but the doses have no hour: write it in days, or start with an hour"
    )]
    WindowInHours,
    /// A window that reaches half way to a neighbour.
    #[error("a window of {window} either way reaches half way to the next dose: it must be less")]
    WindowTooWide {
        /// The window as written.
        window: Span,
    },
}
