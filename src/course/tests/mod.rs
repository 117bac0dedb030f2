//! Courses in a few words each, held to the rules one by one.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic
)]

mod belonging;
mod days;
mod endings;
mod figures;
mod gathered;
mod others;
mod rules;

use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Utc};

use crate::course::{
    Course, Ended, Ending, Facts, Instruction, MarkGate, Order, OtherDose, Outcome, Record, State,
    Verdict, What, judge,
};
use crate::quantity::span::Span;
use crate::schedule::{
    AfterLate, Count, Form, Length, Phase, Rhythm, Schedule, Start, Zone, moment,
};

/// A zone by its name.
fn zone(name: &str) -> Zone {
    name.parse().unwrap()
}

/// A course that is put together step by step and then judged.
#[derive(Clone)]
struct Case {
    schedule: Schedule,
    start: Start,
    zone: Zone,
    valid_until: Option<NaiveDate>,
    if_brought_up: bool,
    records: Vec<Record>,
    other_doses: Vec<OtherDose>,
    instructions: Vec<Instruction>,
    ended: Option<Ended>,
}

/// A course of one phase from 2026-05-01 at 08:00 in UTC.
fn course(rhythm: Rhythm, doses: u32, after_late: AfterLate) -> Case {
    let form = Form::Repeating {
        rhythm,
        length: Length::Doses(doses),
    };
    formed(form, Count::Slots, after_late)
}

/// Every 12 hours, 4 doses, keeping the calendar.
fn twice_a_day() -> Case {
    course(hours(12), 4, AfterLate::KeepCalendar)
}

fn formed(form: Form, count: Count, after_late: AfterLate) -> Case {
    let phase = Phase {
        dose: 0,
        gap_before: None,
        form,
    };
    Case::new(Schedule::new(vec![phase], count, after_late, None).unwrap())
}

fn hours(n: u32) -> Rhythm {
    Rhythm::Every(Span::hours(n).unwrap())
}

fn days(n: u32) -> Rhythm {
    Rhythm::Every(Span::days(n).unwrap())
}

fn eight_and_twenty() -> Rhythm {
    Rhythm::Daily(
        ["08:00", "20:00"]
            .map(|text| text.parse::<NaiveTime>().unwrap())
            .to_vec(),
    )
}

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

impl Case {
    fn new(schedule: Schedule) -> Self {
        Self {
            schedule,
            start: Start {
                date: date("2026-05-01"),
                time: NaiveTime::from_hms_opt(8, 0, 0),
            },
            zone: Zone::UTC,
            valid_until: None,
            if_brought_up: false,
            records: vec![],
            other_doses: vec![],
            instructions: vec![],
            ended: None,
        }
    }

    fn from(mut self, day: &str, hour: Option<&str>, zone: Zone) -> Self {
        self.start = Start {
            date: date(day),
            time: hour.map(|text| text.parse().unwrap()),
        };
        self.zone = zone;
        self
    }

    fn by_date(self) -> Self {
        self.from("2026-05-01", None, Zone::UTC)
    }

    fn valid_until(mut self, day: &str) -> Self {
        self.valid_until = Some(date(day));
        self
    }

    /// A local time, "05-02 08:00" being in 2026.
    fn when(&self, text: &str) -> DateTime<Utc> {
        let full = if text.len() > 11 {
            text.to_owned()
        } else {
            format!("2026-{text}")
        };
        moment(
            NaiveDateTime::parse_from_str(&full, "%Y-%m-%d %H:%M").unwrap(),
            self.zone,
        )
        .0
    }

    fn then(mut self, outcome: Outcome, at: &str) -> Self {
        let (id, happened) = (self.records.len() as u64 + 1, self.when(at));
        self.records.push(Record {
            id,
            happened,
            outcome,
            at_mark: true,
            slot_asked: None,
        });
        self
    }

    fn given(self, at: &str) -> Self {
        self.then(Outcome::Given, at)
    }

    /// The same as the last record, but said to be for this slot.
    fn for_slot(mut self, slot: u32) -> Self {
        self.records.last_mut().unwrap().slot_asked = Some(slot);
        self
    }

    fn given_each(self, times: &[&str]) -> Self {
        times.iter().fold(self, |case, at| case.given(at))
    }

    fn other(mut self, at: &str, gap: Option<TimeDelta>) -> Self {
        let (happened, outcome) = (self.when(at), Outcome::Given);
        self.other_doses.push(OtherDose {
            happened,
            gap,
            outcome,
        });
        self
    }

    fn told(mut self, at: &str, order: Order) -> Self {
        let at = self.when(at);
        self.instructions.push(Instruction { at, order });
        self
    }

    fn ended(mut self, how: Ending, at: &str) -> Self {
        let at = self.when(at);
        self.ended = Some(Ended { how, at });
        self
    }

    fn facts(&self) -> Facts<'_> {
        Facts {
            schedule: &self.schedule,
            start: self.start,
            laid_out_in: self.zone,
            zone: self.zone,
            valid_until: self.valid_until,
            if_brought_up: self.if_brought_up,
            records: &self.records,
            other_doses: &self.other_doses,
            instructions: &self.instructions,
            ended: self.ended,
        }
    }

    fn at(&self, now: &str) -> Course {
        judge(&self.facts(), self.when(now)).unwrap()
    }

    fn state(&self, slot: u32, now: &str) -> State {
        self.at(now).slot(slot).unwrap().state
    }

    fn gate(&self, slot: u32, now: &str) -> MarkGate {
        self.at(now).slot(slot).unwrap().gate
    }

    /// When a slot opens and closes, "05-01 20:35" in local time.
    fn window(&self, slot: u32, now: &str) -> (String, String) {
        let judged = self.at(now);
        let standing = judged.slot(slot).unwrap();
        let say = |at: DateTime<Utc>| {
            at.with_timezone(&self.zone)
                .format("%m-%d %H:%M")
                .to_string()
        };
        (
            standing.opens.map_or("unknown".to_owned(), say),
            say(standing.closes),
        )
    }

    /// What needs attention, with its slot.
    fn attention(&self, now: &str) -> Vec<(Option<u32>, What)> {
        match self.at(now).verdict {
            Verdict::NeedsAttention(why) => why.iter().map(|r| (r.slot, r.what)).collect(),
            _ => vec![],
        }
    }

    /// The exceptions of a course that is over, with their slots.
    fn exceptions(&self, now: &str) -> Vec<(Option<u32>, What)> {
        match self.at(now).verdict {
            Verdict::CompleteWithExceptions(all) => all.iter().map(|r| (r.slot, r.what)).collect(),
            other => panic!("{other:?}"),
        }
    }
}

fn pair(opens: &str, closes: &str) -> (String, String) {
    (opens.to_owned(), closes.to_owned())
}
