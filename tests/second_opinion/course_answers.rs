//! A course as the program judges it and as it is judged by hand, side by side.
//!
//! Promises: the program gets a prescription in text and plain facts; every slot, window, gate and
//! the verdict are compared.

use crate::calendar::Clocks;
use crate::courses::{Case, date};
use crate::judged::{Due, Gate, Outcome, Remark, State, Timing, Verdict};
use chrono::{DateTime, NaiveTime, TimeDelta, Utc};
use scruple::course::{self, Course, Ended, Ending, Facts, MarkGate, OtherDose, Record, What};
use scruple::prescription::Prescription;
use scruple::schedule::{self, Start, Zone};

/// The kinds of answer that the cases must have among them.
pub const EVERY_KIND: [&str; 32] = [
    "extra",
    "moved",
    "Planned",
    "TooSoon",
    "Open",
    "Late",
    "NotRecorded",
    "Held",
    "Gone",
    "Given",
    "Partly",
    "Unsure",
    "Refused",
    "Missed",
    "Withheld",
    "may give",
    "may give late",
    "not before",
    "too soon until",
    "gate held",
    "blocked",
    "late call",
    "gate not recorded",
    "past valid",
    "ended",
    "NotStarted",
    "OnTrack",
    "Attention",
    "Complete",
    "WithExceptions",
    "EndedEarly",
    "given late",
];

impl Case {
    /// What comes out by hand, in names.
    pub fn kinds(&self) -> Vec<String> {
        let planned = self.plan.judge(i64::MIN / 2);
        let Some((planned, answer)) = planned.zip(self.plan.judge(self.now)) else {
            return vec!["not laid out".to_owned()];
        };
        let verdict = match &answer.verdict {
            Verdict::Attention(_) => "Attention".to_owned(),
            other => format!("{other:?}"),
        };
        let mut kinds = vec![verdict];
        kinds.extend((answer.extras > 0).then(|| "extra".to_owned()));
        kinds.extend(answer.states.iter().map(|state| match state {
            State::Said(outcome) => format!("{outcome:?}"),
            other => format!("{other:?}"),
        }));
        for (slot, before) in answer.slots.iter().zip(&planned.slots) {
            kinds.extend((slot.due != before.due).then(|| "moved".to_owned()));
            kinds.extend((slot.timing == Some(Timing::Late)).then(|| "given late".to_owned()));
        }
        let gate = |gate: &Gate| match gate {
            Gate::Allowed => "may give",
            Gate::AllowedLate => "may give late",
            Gate::NotBefore(_) => "not before",
            Gate::TooSoonUntil(_) => "too soon until",
            Gate::Held => "gate held",
            Gate::BlockedBy(_) => "blocked",
            Gate::LateCall => "late call",
            Gate::NotRecorded => "gate not recorded",
            Gate::Answered => "answered",
            Gate::PastValid => "past valid",
            Gate::Ended => "ended",
        };
        kinds.extend(answer.gates.iter().map(|one| gate(one).to_owned()));
        kinds
    }

    pub fn differences(&self) -> Vec<String> {
        let mut found = Vec::new();
        let mut hold = |what: String, theirs: String, ours: String| {
            if theirs != ours {
                found.push(format!("{what}: the program {theirs}, by hand {ours}"));
            }
        };
        let (theirs, ours) = (self.ask(), self.plan.judge(self.now));
        let (Some(theirs), Some(ours)) = (&theirs, &ours) else {
            let laid_out = theirs.is_some() == ours.is_some();
            hold(
                "laid out".to_owned(),
                laid_out.to_string(),
                "true".to_owned(),
            );
            return found;
        };
        hold(
            "slots".to_owned(),
            theirs.slots.len().to_string(),
            ours.slots.len().to_string(),
        );
        for (i, standing) in theirs.slots.iter().enumerate() {
            let slot = &ours.slots[i];
            let mut hold = |what: &str, theirs: String, ours: String| {
                hold(format!("{what} of {}", i + 1), theirs, ours);
            };
            hold(
                "due",
                format!("{:?}", due(standing.due)),
                format!("{:?}", slot.due),
            );
            let slack = standing.slot.slack.num_milliseconds();
            hold("slack", slack.to_string(), slot.slack.to_string());
            let opens = standing.opens.map(|at| at.timestamp_millis());
            hold(
                "opens",
                format!("{opens:?}"),
                format!("{:?}", ours.opens[i]),
            );
            // The last moment of a day is a nanosecond before the next, of an instant its own.
            let ends = standing.closes + TimeDelta::nanoseconds(1_000_000);
            hold(
                "ends",
                ends.timestamp_millis().to_string(),
                ours.ends[i].to_string(),
            );
            let state = state(standing.state);
            hold(
                "state",
                format!("{state:?}"),
                format!("{:?}", ours.states[i]),
            );
            let gate = gate(standing.gate);
            hold("gate", format!("{gate:?}"), format!("{:?}", ours.gates[i]));
            let timing = standing.timing.map(timing);
            hold(
                "timing",
                format!("{timing:?}"),
                format!("{:?}", slot.timing),
            );
        }
        hold(
            "extras".to_owned(),
            theirs.extras.len().to_string(),
            ours.extras.to_string(),
        );
        let open = |gate: &Gate| matches!(gate, Gate::Allowed | Gate::AllowedLate);
        let actionable = ours.gates.iter().position(open).map(|i| i + 1);
        let theirs_now = theirs.actionable.map(|number| number as usize);
        hold(
            "actionable".to_owned(),
            format!("{theirs_now:?}"),
            format!("{actionable:?}"),
        );
        let verdict = verdict(theirs);
        hold(
            "verdict".to_owned(),
            format!("{verdict:?}"),
            format!("{:?}", ours.verdict),
        );
        found
    }

    fn ask(&self) -> Option<Course> {
        let script = Prescription::read(&self.script, "case.ron");
        let script = script.unwrap_or_else(|faults| panic!("{faults}\n{}", self.script));
        let records: Vec<Record> = (1..)
            .zip(&self.plan.records)
            .map(|(id, (at, outcome, at_mark))| Record {
                id,
                happened: moment(*at),
                outcome: told(*outcome),
                at_mark: *at_mark,
                slot_asked: None,
            })
            .collect();
        let other_doses: Vec<OtherDose> = self
            .plan
            .others
            .iter()
            .map(|(at, gap)| OtherDose {
                happened: moment(*at),
                gap: gap.map(TimeDelta::milliseconds),
                outcome: course::Outcome::Given,
            })
            .collect();
        let hour = self.plan.hour.map(|hour| (hour / 1_000) as u32);
        let zone = match self.plan.clocks {
            Clocks::Utc => Zone::UTC,
            Clocks::Warsaw => "Europe/Warsaw".parse().unwrap(),
            Clocks::NewYork => "America/New_York".parse().unwrap(),
        };
        let facts = Facts {
            schedule: &script.schedule,
            start: Start {
                date: date(self.plan.date),
                time: hour.map(|s| NaiveTime::from_num_seconds_from_midnight_opt(s, 0).unwrap()),
            },
            zone,
            laid_out_in: zone,
            valid_until: script.valid_until,
            if_brought_up: false,
            records: &records,
            other_doses: &other_doses,
            instructions: &[],
            ended: self.plan.ended.map(|at| Ended {
                how: Ending::Died,
                at: moment(at),
            }),
        };
        course::judge(&facts, moment(self.now)).ok()
    }
}

fn moment(at: i64) -> DateTime<Utc> {
    DateTime::from_timestamp_millis(at).unwrap()
}

fn due(due: schedule::Due) -> Due {
    match due {
        schedule::Due::At(at) => Due::At(at.timestamp_millis()),
        schedule::Due::On(day) => Due::On((day - date(0)).num_days()),
    }
}

fn told(outcome: Outcome) -> course::Outcome {
    match outcome {
        Outcome::Given => course::Outcome::Given,
        Outcome::Partly => course::Outcome::PartlyGiven,
        Outcome::Unsure => course::Outcome::Unsure,
        Outcome::Refused => course::Outcome::Refused,
        Outcome::Missed => course::Outcome::Missed,
        Outcome::Withheld => course::Outcome::Withheld,
    }
}

fn state(state: course::State) -> State {
    match state {
        course::State::Planned => State::Planned,
        course::State::TooSoon => State::TooSoon,
        course::State::Open => State::Open,
        course::State::Late => State::Late,
        course::State::NotRecorded => State::NotRecorded,
        course::State::Held => State::Held,
        course::State::Gone => State::Gone,
        course::State::Given => State::Said(Outcome::Given),
        course::State::PartlyGiven => State::Said(Outcome::Partly),
        course::State::Unsure => State::Said(Outcome::Unsure),
        course::State::Refused => State::Said(Outcome::Refused),
        course::State::Missed => State::Said(Outcome::Missed),
        course::State::Withheld => State::Said(Outcome::Withheld),
        course::State::BroughtUp => panic!("nothing was brought up"),
    }
}

fn gate(gate: MarkGate) -> Gate {
    match gate {
        MarkGate::Allowed => Gate::Allowed,
        MarkGate::AllowedLate => Gate::AllowedLate,
        MarkGate::NotBefore(at) => Gate::NotBefore(at.timestamp_millis()),
        MarkGate::TooSoonUntil(at) => Gate::TooSoonUntil(at.timestamp_millis()),
        MarkGate::Held => Gate::Held,
        MarkGate::BlockedBy(number) => Gate::BlockedBy(number as usize),
        MarkGate::LateCall => Gate::LateCall,
        MarkGate::NotRecorded => Gate::NotRecorded,
        MarkGate::Answered => Gate::Answered,
        MarkGate::ValidUntilPassed(_) => Gate::PastValid,
        MarkGate::Ended => Gate::Ended,
        MarkGate::ReviewPassed(_) => panic!("no review was written"),
    }
}

fn timing(timing: course::Timing) -> Timing {
    match timing {
        course::Timing::InWindow => Timing::InWindow,
        course::Timing::TooSoon => Timing::TooSoon,
        course::Timing::Late => Timing::Late,
        course::Timing::Instructed => panic!("nothing was instructed"),
    }
}

fn verdict(judged: &Course) -> Verdict {
    match &judged.verdict {
        course::Verdict::NotStarted => Verdict::NotStarted,
        course::Verdict::OnTrack => Verdict::OnTrack,
        course::Verdict::Complete => Verdict::Complete,
        course::Verdict::CompleteWithExceptions(_) => Verdict::WithExceptions,
        course::Verdict::EndedEarly(_) => Verdict::EndedEarly,
        course::Verdict::NeedsAttention(why) => {
            let each = why
                .iter()
                .map(|remark| (remark.slot.unwrap() as usize, remark_of(remark.what)));
            let mut each: Vec<_> = each.collect();
            each.sort_unstable();
            Verdict::Attention(each)
        }
    }
}

fn remark_of(what: What) -> Remark {
    match what {
        What::LateNow => Remark::LateNow,
        What::NotRecorded => Remark::NotRecorded,
        What::Held => Remark::Held,
        What::GivenTooSoon | What::GivenBeforeItsWindow => Remark::TooSoon,
        What::PartlyGiven => Remark::Partly,
        What::Unsure => Remark::Unsure,
        What::Refused => Remark::Refused,
        What::Missed => Remark::Missed,
        What::Extra | What::UnsureExtra => Remark::Extra,
        What::AfterTheEnd => Remark::AfterTheEnd,
        What::AgainstInstruction | What::UnsureAgainstInstruction => Remark::WithheldBefore,
        What::ValidUntilPassed => Remark::PastValid,
        other => panic!("a remark that no case here has: {other:?}"),
    }
}
