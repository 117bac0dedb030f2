//! Dates and times as a person types them, in the book's zone.
//!
//! Promises: the 24-hour clock only; a local time that does not exist or exists twice is read as
//! the schedule reads it; nothing here looks at the clock.

use crate::cli::failure::Failure;
use crate::notation::fold::is_unseen;
use crate::schedule::{Zone, moment};
use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, Utc};

/// Reads "2001-03-08 14:00", "2001-03-08T14:00", "14:00" (on the day of `now`), or an instant
/// with its offset.
pub fn read_moment(text: &str, now: DateTime<Utc>, zone: Zone) -> Result<DateTime<Utc>, Failure> {
    let text = text.trim();
    if let Ok(instant) = DateTime::parse_from_rfc3339(text) {
        return Ok(instant.with_timezone(&Utc));
    }
    if let Some(time) = read_clock(text) {
        let day = now.with_timezone(&zone).date_naive();
        return Ok(moment(day.and_time(time), zone).0);
    }
    let spaced = text.replacen('T', " ", 1);
    let (day, time) = spaced.split_once(' ').unwrap_or((spaced.as_str(), ""));
    match (read_day(day), read_clock(time)) {
        (Ok(day), Some(time)) => Ok(moment(NaiveDateTime::new(day, time), zone).0),
        _ => Err(Failure::not_accepted(format!(
            "'{}' is not a time: write it on the 24-hour clock, as in 14:00 or 2001-03-08 14:00",
            shown(text)
        ))),
    }
}

/// Reads "2001-03-08".
pub fn read_day(text: &str) -> Result<NaiveDate, Failure> {
    let well_formed = text.len() == 10 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    NaiveDate::parse_from_str(text, "%Y-%m-%d")
        .ok()
        .filter(|_| well_formed)
        .ok_or_else(|| {
            Failure::not_accepted(format!(
                "'{}' is not a date: write year, month and day, as in 2001-03-08",
                shown(text)
            ))
        })
}

/// The expiry on a label: "2001-03-08", or "2001-03" for the last day of that month.
pub fn read_expiry(text: &str) -> Result<NaiveDate, Failure> {
    if text.len() != 7 {
        return read_day(text);
    }
    let first = read_day(&format!("{text}-01"))?;
    first
        .checked_add_months(chrono::Months::new(1))
        .and_then(|next| next.pred_opt())
        .ok_or_else(|| Failure::not_accepted("that expiry is too far away: read the label again"))
}

/// Reads "14:00".
pub fn read_clock(text: &str) -> Option<NaiveTime> {
    let (hour, minute) = text.split_once(':')?;
    let digits = |part: &str| part.len() <= 2 && part.bytes().all(|b| b.is_ascii_digit());
    if !digits(hour) || minute.len() != 2 || !digits(minute) || hour.is_empty() {
        return None;
    }
    NaiveTime::from_hms_opt(hour.parse().ok()?, minute.parse().ok()?, 0)
}

/// "Thu 8 March 14:00", in the zone.
pub fn say(at: DateTime<Utc>, zone: Zone) -> String {
    at.with_timezone(&zone)
        .format("%a %-d %B %H:%M")
        .to_string()
}

/// What was typed, without anything that could steer a terminal.
pub fn shown(text: &str) -> String {
    text.chars().filter(|c| !is_unseen(*c)).take(60).collect()
}

/// A person's own words, whole, without anything that could steer a terminal.
pub fn shown_words(text: &str) -> String {
    text.chars().filter(|c| !is_unseen(*c)).collect()
}

/// "8 March 2001".
pub fn say_day(day: NaiveDate) -> String {
    day.format("%-d %B %Y").to_string()
}
