//! Random histories of random courses, held to what must be true of every one of them.
//!
//! Every form, four zones, starts around the changes of the clocks. What is expected is worked out
//! here from the slots and the records alone, not by asking the room again.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic
)]

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc, Weekday};
use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop_oneof, proptest};
use proptest::{collection, option, prop_assert, prop_assert_eq};

use scruple::course::{
    Course, Facts, MarkGate, OtherDose, Outcome, Record, State, Timing, Verdict, judge,
};
use scruple::quantity::span::Span;
use scruple::schedule::{
    AfterLate, Count, Due, Form, Length, Phase, Rhythm, Schedule, Slot, Start, Zone, local_date,
};

/// A zone by its name.
fn zone(name: &str) -> Zone {
    name.parse().unwrap()
}

#[derive(Debug, Clone)]
struct Plan {
    schedule: Schedule,
    start: Start,
    zone: Zone,
    slots: Vec<Slot>,
}

/// What happens at one moment: minutes after the first slot is due, and what.
#[derive(Debug, Clone, Copy)]
enum Event {
    /// Somebody looks, and gives what may be given, with this outcome.
    Look(Outcome),
    /// Something is recorded whatever the gate says.
    Record(Outcome),
    /// A dose of another course.
    Other(Option<i64>),
}

fn rhythms() -> impl Strategy<Value = Rhythm> {
    let clock = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    prop_oneof![
        (4_u32..=96).prop_map(|n| Rhythm::Every(Span::Hours(n))),
        (1_u32..=14).prop_map(|n| Rhythm::Every(Span::Days(n))),
        Just(Rhythm::Daily(vec![clock(8), clock(20)])),
        Just(Rhythm::Daily(vec![clock(7), clock(12), clock(22)])),
        Just(Rhythm::Weekly {
            days: vec![Weekday::Mon, Weekday::Thu],
            time: Some(clock(9))
        }),
    ]
}

fn forms() -> impl Strategy<Value = Form> {
    prop_oneof![
        6 => (rhythms(), 1_u32..=8)
            .prop_map(|(rhythm, n)| Form::Repeating { rhythm, length: Length::Doses(n) }),
        1 => Just(Form::OnDays(vec![0, 14, 28])),
        1 => Just(Form::OnDays(vec![0, 1, 4])),
        1 => Just(Form::Once),
    ]
}

fn phases() -> impl Strategy<Value = Vec<Phase>> {
    let gaps = prop_oneof![
        (6_u32..=72).prop_map(Span::Hours),
        (1_u32..=10).prop_map(Span::Days),
    ];
    (forms(), option::of((gaps, forms()))).prop_map(|(first, second)| {
        let first = Phase {
            dose: 0,
            gap_before: None,
            form: first,
        };
        let second = second.map(|(gap, form)| Phase {
            dose: 1,
            gap_before: Some(gap),
            form,
        });
        std::iter::once(first).chain(second).collect()
    })
}

fn plans() -> impl Strategy<Value = Plan> {
    let zones = prop_oneof![
        Just(Zone::UTC),
        Just(zone("Europe/Warsaw")),
        Just(zone("America/New_York")),
        Just(zone("Australia/Lord_Howe"))
    ];
    let after = prop_oneof![
        Just(AfterLate::CountFromGiven),
        Just(AfterLate::KeepCalendar),
        Just(AfterLate::Call)
    ];
    let dates = prop_oneof![Just("2027-03-10"), Just("2027-03-25"), Just("2026-10-30")];
    let count = prop_oneof![Just(Count::Slots), Just(Count::Given)];
    (
        phases(),
        count,
        after,
        zones,
        dates,
        0_i64..20,
        option::of(0_u32..24),
    )
        .prop_filter_map(
            "a schedule that this start can have",
            |(phases, count, after, zone, date, later, hour)| {
                let date = date.parse::<NaiveDate>().unwrap() + TimeDelta::days(later);
                let time = hour.map(|hour| NaiveTime::from_hms_opt(hour, 30, 0).unwrap());
                let start = Start { date, time };
                let schedule = Schedule::new(phases, count, after, None).ok()?;
                let slots = schedule.expand(start, zone).ok()?;
                Some(Plan {
                    schedule,
                    start,
                    zone,
                    slots,
                })
            },
        )
}

fn outcomes() -> impl Strategy<Value = Outcome> {
    prop_oneof![
        6 => Just(Outcome::Given),
        1 => Just(Outcome::PartlyGiven),
        1 => Just(Outcome::BroughtUp),
        1 => Just(Outcome::Unsure),
        1 => Just(Outcome::Refused),
        1 => Just(Outcome::Missed),
        1 => Just(Outcome::Withheld),
    ]
}

/// Times as parts of the course's length in thousandths, before it to after it.
fn events() -> impl Strategy<Value = Vec<(i64, Event)>> {
    let event = prop_oneof![
        8 => outcomes().prop_map(Event::Look),
        2 => outcomes().prop_map(Event::Record),
        1 => option::of(1_i64..100).prop_map(Event::Other),
    ];
    collection::vec((-100_i64..1_200, event), 0..40)
}

fn moment_of(due: Due, zone: Zone) -> DateTime<Utc> {
    due.opens(TimeDelta::zero(), zone)
}

impl Plan {
    /// A moment so many thousandths of the way through the course.
    fn at(&self, thousandths: i64) -> DateTime<Utc> {
        let first = moment_of(self.slots[0].due, self.zone);
        let last = moment_of(self.slots[self.slots.len() - 1].due, self.zone);
        let length = (last - first).max(TimeDelta::days(1));
        first + TimeDelta::minutes(length.num_minutes() * thousandths / 1_000)
    }

    fn judge(&self, records: &[Record], other_doses: &[OtherDose], now: DateTime<Utc>) -> Course {
        let facts = Facts {
            schedule: &self.schedule,
            start: self.start,
            laid_out_in: self.zone,
            zone: self.zone,
            valid_until: None,
            if_brought_up: false,
            records,
            other_doses,
            instructions: &[],
            ended: None,
        };
        judge(&facts, now).unwrap()
    }

    /// Whether `next` comes at least this gap, less this slack, after `last`: in time for slots at
    /// an instant, in local dates for slots on a date.
    fn far_enough(
        &self,
        slot: &Slot,
        last: DateTime<Utc>,
        next: DateTime<Utc>,
        least: TimeDelta,
    ) -> bool {
        match slot.due {
            Due::At(_) => next - last >= least,
            Due::On(_) => local_date(next, self.zone) - local_date(last, self.zone) >= least,
        }
    }

    /// The gap a slot must keep from the last dose, less the larger slack, worked out from the plan.
    fn least(&self, course: &Course, slot: &Slot, other: Option<TimeDelta>) -> Option<TimeDelta> {
        let before = course
            .slots
            .iter()
            .find(|s| s.slot.number + 1 == slot.number);
        let slack = before.map_or(slot.slack, |before| before.slot.slack.max(slot.slack));
        let gap = match before {
            Some(_) => slot.gap_before,
            None => slot.gap_after.max(other),
        };
        gap.map(|gap| gap - slack)
    }
}

/// The records and other doses of a history in which somebody gives what the gate lets through.
struct Lived {
    records: Vec<Record>,
    others: Vec<OtherDose>,
}

fn live(
    plan: &Plan,
    events: &[(i64, Event)],
    mut look: impl FnMut(&Course, &Lived, DateTime<Utc>),
) -> Lived {
    let mut lived = Lived {
        records: vec![],
        others: vec![],
    };
    let mut events = events.to_vec();
    events.sort_by_key(|(at, _)| *at);
    for (thousandths, event) in events {
        let now = plan.at(thousandths);
        let course = plan.judge(&lived.records, &lived.others, now);
        look(&course, &lived, now);
        let id = lived.records.len() as u64 + 1;
        let record = |outcome, slot_asked| Record {
            id,
            happened: now,
            outcome,
            at_mark: true,
            slot_asked,
        };
        match event {
            Event::Look(outcome) => {
                lived
                    .records
                    .extend(course.actionable.map(|slot| record(outcome, Some(slot))));
                // Somebody answers for what nobody recorded.
                let waiting = course.slots.iter().find(|s| s.state == State::NotRecorded);
                if let (None, Some(waiting)) = (course.actionable, waiting) {
                    lived
                        .records
                        .push(record(Outcome::Missed, Some(waiting.slot.number)));
                }
            }
            Event::Record(outcome) => lived.records.push(record(outcome, None)),
            Event::Other(hours) => lived.others.push(OtherDose {
                happened: now,
                gap: hours.map(TimeDelta::hours),
                outcome: Outcome::Given,
            }),
        }
    }
    lived
}

/// The last dose before a moment in any course, and the gap of the other course if it is from one.
fn last_dose(lived: &Lived, now: DateTime<Utc>) -> Option<(DateTime<Utc>, Option<TimeDelta>)> {
    // That a dose was brought up after it was given is no dose of its own.
    let given_before = |at| {
        lived
            .records
            .iter()
            .any(|r| r.outcome == Outcome::Given && r.happened <= at)
    };
    let own = lived.records.iter().filter(|r| {
        r.outcome.closes_the_gate()
            && !(r.outcome == Outcome::BroughtUp && given_before(r.happened))
    });
    let own = own.map(|r| (r.happened, None));
    let others = lived.others.iter().map(|dose| (dose.happened, dose.gap));
    own.chain(others).filter(|(at, _)| *at <= now).max()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// No mark is shown for a dose closer to the last one than its gap less the larger slack.
    #[test]
    fn never_two_marks_too_close(plan in plans(), events in events()) {
        let mut wrong = None;
        live(&plan, &events, |course, lived, now| {
            let last = last_dose(lived, now);
            for standing in &course.slots {
                let from = match standing.gate {
                    MarkGate::Allowed | MarkGate::AllowedLate => now,
                    MarkGate::NotBefore(from) => from,
                    _ => continue,
                };
                let slot = &standing.slot;
                // The last dose that was given, and the one that another mark shown may become.
                let shown = course.slots.iter().filter(|s| s.slot.number + 1 == slot.number);
                let shown = shown.filter(|s| s.gate == MarkGate::Allowed || matches!(s.gate, MarkGate::NotBefore(_)));
                let shown = shown.map(|s| (s.closes, None));
                for (last, gap) in last.into_iter().chain(shown) {
                    let least = plan.least(course, slot, gap);
                    if !least.is_some_and(|least| plan.far_enough(slot, last, from, least)) {
                        wrong = Some(format!("slot {} from {from} after {last}, at {now}", slot.number));
                    }
                }
            }
            if course.slots.iter().filter(|s| s.gate.is_open()).count() > 1 {
                wrong = Some(format!("two slots open at {now}"));
            }
        });
        prop_assert!(wrong.is_none(), "{}", wrong.unwrap());
    }

    /// A dose inside its window never holds the next: that one opens no later than it is due.
    #[test]
    fn a_dose_in_its_window_never_holds_the_next(plan in plans(), places in collection::vec(0_i64..=1_000, 16)) {
        let mut records = vec![];
        for (slot, place) in plan.slots.iter().zip(places.iter().cycle()) {
            let opens = slot.due.opens(slot.slack, plan.zone);
            let before = plan.judge(&records, &[], opens);
            let standing = &before.slot(slot.number).unwrap();
            let opens = standing.opens.unwrap();
            prop_assert!(opens <= slot.due.closes(TimeDelta::zero(), plan.zone));
            prop_assert!(standing.state != State::Held);
            let length = standing.closes - opens;
            let happened = opens + length * i32::try_from(*place).unwrap() / 1_000;
            let now = plan.judge(&records, &[], happened);
            prop_assert_eq!(now.slot(slot.number).unwrap().gate, MarkGate::Allowed);
            let id = u64::from(slot.number);
            records.push(Record { id, happened, outcome: Outcome::Given, at_mark: true, slot_asked: None });
        }
        let end = plan.judge(&records, &[], records.last().unwrap().happened);
        prop_assert_eq!(end.verdict, Verdict::Complete);
    }

    /// The order in which things were written down changes nothing; only when they happened does.
    #[test]
    fn the_order_of_writing_changes_nothing(plan in plans(), events in events(), seed in any::<u64>()) {
        let Lived { mut records, mut others } = live(&plan, &events, |_, _, _| {});
        let now = plan.at(1_300);
        let expected = plan.judge(&records, &others, now);
        records.sort_by_key(|record| record.id.wrapping_mul(seed | 1));
        others.sort_by_key(|dose| dose.happened.timestamp().cast_unsigned().wrapping_mul(seed | 1));
        prop_assert_eq!(plan.judge(&records, &others, now), expected);
    }

    /// What was given stays given at every later time, unless a person says that it was brought
    /// up, and nothing recorded is ever lost.
    #[test]
    fn nothing_recorded_is_taken_back(plan in plans(), events in events(), first in -100_i64..1_300, more in 0_i64..300) {
        let Lived { records, others } = live(&plan, &events, |_, _, _| {});
        let (early, late) = (plan.at(first), plan.at(first + more));
        let (before, after) = (plan.judge(&records, &others, early), plan.judge(&records, &others, late));
        for standing in before.slots.iter().filter(|s| s.state == State::Given) {
            let later = after.slot(standing.slot.number).unwrap();
            let brought_up = later.filled_by.is_some_and(|by| by.outcome == Outcome::BroughtUp && by.happened > early);
            if brought_up {
                prop_assert_eq!(later.state, State::BroughtUp);
            } else {
                prop_assert_eq!(later.state, State::Given);
                prop_assert_eq!(later.filled_by, standing.filled_by);
            }
            prop_assert_eq!(later.timing, standing.timing);
        }
        for (course, now) in [(&before, early), (&after, late)] {
            let tied = course.slots.iter().flat_map(|s| &s.records).map(|r| r.id);
            let mut seen = tied.chain(course.extras.iter().map(|e| e.record.id)).collect::<Vec<_>>();
            seen.sort_unstable();
            let mut all = records.iter().filter(|r| r.happened <= now).map(|r| r.id).collect::<Vec<_>>();
            all.sort_unstable();
            prop_assert_eq!(seen, all);
        }
    }

    /// Complete if and only if every slot was given, in its window, at its mark, and nothing beside.
    /// The windows are worked out here: every so many hours, none moved.
    #[test]
    fn complete_is_all_given_in_window_at_the_mark(
        gap in 4_i64..=96,
        doses in collection::vec((-1_100_i64..=1_100, 0_u32..20, 0_u32..30), 1..6),
        left_out in option::weighted(0.1, 0_usize..6),
        twice in option::weighted(0.1, 0_usize..6),
    ) {
        let count = u32::try_from(doses.len()).unwrap();
        let rhythm = Rhythm::Every(Span::Hours(u32::try_from(gap).unwrap()));
        let form = Form::Repeating { rhythm, length: Length::Doses(count) };
        let phase = Phase { dose: 0, gap_before: None, form };
        let schedule = Schedule::new(vec![phase], Count::Slots, AfterLate::KeepCalendar, None).unwrap();
        let date = "2026-05-01".parse().unwrap();
        let start = Start { date, time: NaiveTime::from_hms_opt(8, 0, 0) };
        let slots = schedule.expand(start, Zone::UTC).unwrap();
        let plan = Plan { schedule, start, zone: Zone::UTC, slots };

        let slack = match count {
            1 => TimeDelta::hours(6),
            _ => (TimeDelta::hours(gap) / 8).min(TimeDelta::hours(6)),
        };
        let first = "2026-05-01T08:00:00Z".parse::<DateTime<Utc>>().unwrap();
        let (mut records, mut all_well, mut last) = (vec![], true, None::<DateTime<Utc>>);
        for (index, (jitter, off_the_mark, outcome)) in doses.iter().enumerate() {
            let due = first + TimeDelta::hours(gap) * i32::try_from(index).unwrap();
            let happened = due + slack * i32::try_from(*jitter).unwrap() / 1_000;
            let outcome = if *outcome == 0 { Outcome::PartlyGiven } else { Outcome::Given };
            let at_mark = *off_the_mark != 0;
            if left_out == Some(index) {
                all_well = false;
                continue;
            }
            let opens = last.map_or(due - slack, |last| (due - slack).max(last + TimeDelta::hours(gap) - slack));
            let in_window = happened >= opens && happened <= due + slack;
            all_well &= in_window && at_mark && outcome == Outcome::Given;
            let record = Record { id: records.len() as u64, happened, outcome, at_mark, slot_asked: None };
            records.push(record);
            last = Some(happened);
            if twice == Some(index) {
                records.push(Record { id: records.len() as u64, ..record });
                all_well = false;
            }
        }
        let now = first + TimeDelta::hours(gap) * i32::try_from(count).unwrap() + TimeDelta::hours(12);
        let verdict = plan.judge(&records, &[], now).verdict;
        prop_assert_eq!(verdict == Verdict::Complete, all_well, "{:?}", verdict);
    }

    /// The clock alone never says that a dose was missed, refused, withheld or given.
    #[test]
    fn the_clock_alone_answers_for_nobody(plan in plans(), at in -1_000_i64..10_000) {
        let course = plan.judge(&[], &[], plan.at(at));
        for standing in &course.slots {
            prop_assert!(!standing.state.is_answered());
            prop_assert_eq!(standing.timing, None::<Timing>);
        }
        prop_assert_eq!(course.adherence.in_window, 0);
    }
}
