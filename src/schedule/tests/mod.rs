//! Schedules in a few words each, and what the layout is checked against.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic
)]

mod clocks;
mod forms;
mod published;
mod refusals;
mod windows;
mod words;

use crate::quantity::span::Span;
use crate::schedule::{
    AfterLate, Count, Due, Form, Length, Phase, Rhythm, Schedule, ScheduleError, Slot, Start, Zone,
};
use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, Utc, Weekday};

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn time(text: &str) -> NaiveTime {
    NaiveTime::parse_from_str(text, "%H:%M").unwrap()
}

fn local(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap()
}

fn utc(text: &str) -> DateTime<Utc> {
    local(text).and_utc()
}

/// A zone by its name.
fn zone(name: &str) -> Zone {
    name.parse().unwrap()
}

/// A start from "2027-03-22 08:00", or without an hour from "2027-03-22".
fn start(text: &str) -> Start {
    match text.split_once(' ') {
        Some((day, hour)) => Start {
            date: date(day),
            time: Some(time(hour)),
        },
        None => Start {
            date: date(text),
            time: None,
        },
    }
}

fn hours(n: u32) -> Rhythm {
    Rhythm::Every(Span::hours(n).unwrap())
}

fn days(n: u32) -> Rhythm {
    Rhythm::Every(Span::days(n).unwrap())
}

fn daily(times: &[&str]) -> Rhythm {
    Rhythm::Daily(times.iter().map(|text| time(text)).collect())
}

fn weekly(days: &[Weekday]) -> Rhythm {
    Rhythm::Weekly {
        days: days.to_vec(),
        time: None,
    }
}

fn times(rhythm: Rhythm, doses: u32) -> Form {
    Form::Repeating {
        rhythm,
        length: Length::Doses(doses),
    }
}

fn until(rhythm: Rhythm, review: &str) -> Form {
    Form::Repeating {
        rhythm,
        length: Length::UntilStopped {
            review: date(review),
        },
    }
}

fn phase(form: Form) -> Phase {
    Phase {
        dose: 0,
        gap_before: None,
        form,
    }
}

fn then(dose: usize, gap: Span, form: Form) -> Phase {
    Phase {
        dose,
        gap_before: Some(gap),
        form,
    }
}

fn schedule(phases: Vec<Phase>) -> Schedule {
    Schedule::new(phases, Count::Slots, AfterLate::Call, None).unwrap()
}

fn just(form: Form) -> Schedule {
    schedule(vec![phase(form)])
}

fn windowed(form: Form, window: Span) -> Result<Schedule, ScheduleError> {
    Schedule::new(
        vec![phase(form)],
        Count::Slots,
        AfterLate::Call,
        Some(window),
    )
}

/// Each due time as "2027-03-25 08:00 +01:00", or as a date where there is no hour.
fn said(slots: &[Slot], zone: Zone) -> Vec<String> {
    let one = |slot: &Slot| match slot.due {
        Due::At(at) => at
            .with_timezone(&zone)
            .format("%Y-%m-%d %H:%M %:z")
            .to_string(),
        Due::On(date) => date.to_string(),
    };
    slots.iter().map(one).collect()
}

fn dates(slots: &[Slot], zone: Zone) -> Vec<NaiveDate> {
    slots.iter().map(|slot| slot.due.date(zone)).collect()
}

fn month_days(year_month: &str, days: &[u32]) -> Vec<NaiveDate> {
    days.iter()
        .map(|day| date(&format!("{year_month}-{day:02}")))
        .collect()
}
