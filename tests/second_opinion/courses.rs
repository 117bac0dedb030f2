//! One course at random: as a prescription in text and facts for the program, and as a plan for
//! the second opinion.

use crate::calendar::{Clocks, DAY, HOUR, MINUTE, day_number};
use crate::chance::Chance;
use crate::judged::{AfterLate, Due, Form, Outcome, Plan};
use chrono::{NaiveDate, TimeDelta};

/// A plan, its prescription in text, and the moment of looking at it.
#[derive(Debug)]
pub struct Case {
    pub plan: Plan,
    pub script: String,
    pub now: i64,
}

const WEEKDAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

fn clock(hour: i64) -> String {
    format!("{:02}:{:02}", hour / HOUR, hour % HOUR / MINUTE)
}

/// The date so many days after 1970 began.
pub fn date(number: i64) -> NaiveDate {
    NaiveDate::from_ymd_opt(1970, 1, 1).unwrap() + TimeDelta::days(number)
}

fn form(hour: Option<i64>, chance: &mut Chance) -> (Form, String) {
    let doses = chance.from(1, 7);
    let quarter = |chance: &mut Chance| chance.from(0, 95) * 15 * MINUTE;
    match chance.from(0, 5) {
        0 => (Form::Once, "Once".to_owned()),
        1 if hour.is_some() => {
            let hours = chance.one(&[4, 6, 8, 11, 12, 23, 24, 48, 60, 72, 100, 168]);
            let text = format!("Every(interval: \"{hours} hours\", doses: {doses})");
            (Form::Hours(hours, doses), text)
        }
        2 => {
            let mut hours: Vec<i64> = (0..chance.from(1, 3)).map(|_| quarter(chance)).collect();
            hours.sort_unstable();
            hours.dedup();
            let names: Vec<String> = hours
                .iter()
                .rev()
                .map(|hour| format!("\"{}\"", clock(*hour)))
                .collect();
            let times = names.join(", ");
            if chance.once_in(2) {
                let text = format!("AtTimes(times: [{times}], doses: {doses})");
                return (Form::Times(hours, doses), text);
            }
            let days = chance.from(1, 4);
            let text = format!("AtTimes(times: [{times}], days: {days})");
            let doses = days * hours.len() as i64;
            (Form::Times(hours, doses), text)
        }
        3 => {
            let mut named: Vec<i64> = (0..chance.from(1, 3)).map(|_| chance.from(0, 6)).collect();
            named.sort_unstable();
            named.dedup();
            let names: Vec<String> = named
                .iter()
                .map(|day| format!("\"{}\"", WEEKDAYS[*day as usize]))
                .collect();
            let time = chance.once_in(2).then(|| quarter(chance));
            let hour = time.map_or(String::new(), |time| format!(", time: \"{}\"", clock(time)));
            let text = format!("Weekly(days: [{}]{hour}, doses: {doses})", names.join(", "));
            (Form::Weekly(named, time, doses), text)
        }
        4 => {
            let (mut days, mut last) = (vec![0], 0);
            for _ in 1..doses {
                last += chance.one(&[1, 2, 6, 7, 8, 14]);
                days.push(last);
            }
            (Form::Listed(days.clone()), format!("OnDays({days:?})"))
        }
        _ => {
            let days = chance.one(&[1, 1, 2, 3, 6, 7, 8, 14]);
            let text = format!("Every(interval: \"{days} days\", doses: {doses})");
            (Form::Days(days, doses), text)
        }
    }
}

impl Case {
    pub fn new(case: u64) -> Case {
        let chance = &mut Chance::of_case(case ^ 0xc0_0000_0000);
        let clocks = chance.one(&[Clocks::Utc, Clocks::Warsaw, Clocks::NewYork]);
        let year = chance.from(2010, 2025);
        let near_a_change = chance.one(&[(3, 1), (3, 15), (10, 20), (10, 28), (6, 1)]);
        let first = day_number(year, near_a_change.0, near_a_change.1) + chance.from(0, 14);
        let hour = (!chance.once_in(3)).then(|| chance.from(0, 95) * 15 * MINUTE);
        let (form, text) = form(hour, chance);
        let by_the_clock = matches!(form, Form::Times(..) | Form::Weekly(..));
        let (late, after_late) = match chance.from(0, 2) {
            0 if !by_the_clock => ("CountFromGiven", AfterLate::CountFromGiven),
            1 => ("KeepCalendar", AfterLate::KeepCalendar),
            _ => ("Call", AfterLate::Call),
        };
        let mut plan = Plan {
            form,
            clocks,
            date: first,
            hour,
            after_late,
            window: None,
            valid_until: None,
            records: vec![],
            others: vec![],
            ended: None,
        };
        let Some(planned) = plan.judge(i64::MIN / 2) else {
            // Two doses fall on one moment where the clocks jump: neither side may lay it out.
            let script = script(&text, late, "");
            let now = first * DAY;
            return Case { plan, script, now };
        };
        let dues: Vec<i64> = planned
            .slots
            .iter()
            .map(|slot| middle(slot.due, clocks))
            .collect();
        let mut more = String::new();
        let least = least_gap(&plan);
        let dated = matches!(planned.slots[0].due, Due::On(_));
        if !dated && chance.once_in(4) && least > 3 * HOUR {
            // Nearly half way to the next at the most; a change of the clocks may make it too far.
            let hours = chance.from(1, (least / 2 - 1) / HOUR);
            // Read against the shortest gap by the clock, so only where that is far enough.
            if 2 * hours * HOUR + HOUR < least {
                plan.window = Some(hours * HOUR);
                more += &format!("window: \"{hours} hours\",");
            }
        } else if dated && chance.once_in(4) && least > 4 * DAY {
            let days = chance.from(1, least / DAY / 2 - 1);
            plan.window = Some(days * DAY);
            more += &format!("window: \"{days} days\",");
        }
        if chance.once_in(4) {
            let last = first + chance.from(0, 30);
            plan.valid_until = Some(last);
            more += &format!("valid_until: \"{}\",", date(last));
        }
        let slack = |i: usize| planned.slots[i].slack.max(HOUR);
        for (i, due) in dues.iter().enumerate() {
            let reach = match chance.from(0, 9) {
                0..=5 => slack(i),
                6..=7 => 2 * slack(i),
                _ => least.min(20 * DAY),
            };
            let times = chance.one(&[0, 1, 1, 1, 1, 1, 1, 2]);
            for _ in 0..times {
                let at = due + chance.from(-reach / MINUTE, reach / MINUTE) * MINUTE;
                let outcome = chance.one(&[
                    Outcome::Given,
                    Outcome::Given,
                    Outcome::Given,
                    Outcome::Given,
                    Outcome::Given,
                    Outcome::Given,
                    Outcome::Given,
                    Outcome::Given,
                    Outcome::Partly,
                    Outcome::Unsure,
                    Outcome::Refused,
                    Outcome::Missed,
                    Outcome::Withheld,
                ]);
                plan.records.push((at, outcome, !chance.once_in(15)));
            }
        }
        plan.records.sort_by_key(|(at, ..)| *at);
        plan.records.dedup_by_key(|(at, ..)| *at);
        let any = |chance: &mut Chance| chance.one(&dues) + chance.from(-2_000, 2_000) * MINUTE;
        if chance.once_in(5) {
            let gap = chance.one(&[None, Some(12 * HOUR), Some(72 * HOUR), Some(9 * DAY + HOUR)]);
            // At half a minute, so that no two doses stand at one moment.
            plan.others.push((any(chance) + MINUTE / 2, gap));
        }
        if chance.once_in(10) {
            plan.ended = Some(any(chance) + MINUTE / 3);
        }
        let now = match chance.from(0, 3) {
            0 => dues[dues.len() - 1] + chance.from(0, 40) * DAY,
            _ => any(chance),
        };
        let script = script(&text, late, &more);
        Case { plan, script, now }
    }
}

fn script(schedule: &str, after_late: &str, more: &str) -> String {
    format!(
        "Prescription(reference: \"CASE-1\", written: \"2001-03-05\", \
         vet: Vet(name: \"Dr A. Example\", phone: \"555 0134\"), animals: [\"Thimblo\"], \
         medicine: Medicine(name: \"Madeup Amber\"), dose: Fixed(\"0.1 mL\"), route: ByMouth, \
         schedule: {schedule}, after_late: {after_late}, {more})"
    )
}

/// The shortest gap of the form, however few of its doses there are.
fn least_gap(plan: &Plan) -> i64 {
    let mut longer = plan.clone();
    match &mut longer.form {
        Form::Times(_, doses) | Form::Weekly(_, _, doses) => *doses = 20,
        Form::Once | Form::Hours(..) | Form::Days(..) | Form::Listed(_) => {}
    }
    let Some(longer) = longer.judge(i64::MIN / 2) else {
        return HOUR;
    };
    let dues: Vec<i64> = longer
        .slots
        .iter()
        .map(|slot| middle(slot.due, plan.clocks))
        .collect();
    let gaps = dues.windows(2).map(|two| two[1] - two[0]);
    gaps.min().unwrap_or(10 * DAY)
}

/// Of a date, about noon.
fn middle(due: Due, clocks: Clocks) -> i64 {
    match due {
        Due::At(at) => at,
        Due::On(date) => clocks.day_start(date) + 12 * HOUR,
    }
}
