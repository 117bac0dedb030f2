//! The read-back.

use super::{daily, days, hours, just, phase, schedule, then, time, times, until};
use crate::quantity::span::Span;
use crate::schedule::{AfterLate, Count, Form, Length, Reckoning, Rhythm, Schedule};
use chrono::Weekday;

#[test]
fn doses_in_a_day_are_known_where_every_day_has_the_same() {
    assert_eq!(just(times(hours(8), 9)).doses_per_day(0), Some(3));
    assert_eq!(just(times(hours(5), 9)).doses_per_day(0), None);
    assert_eq!(just(times(hours(48), 9)).doses_per_day(0), None);
    assert_eq!(just(times(days(1), 9)).doses_per_day(0), Some(1));
    assert_eq!(just(times(days(2), 9)).doses_per_day(0), None);
    assert_eq!(
        just(times(daily(&["08:00", "20:00"]), 9)).doses_per_day(0),
        Some(2)
    );
    assert_eq!(just(Form::Once).doses_per_day(0), None);
    let uneven = schedule(vec![
        phase(times(hours(12), 4)),
        then(0, Span::Hours(12), times(hours(24), 4)),
    ]);
    assert_eq!(uneven.doses_per_day(0), None);
    assert_eq!(uneven.doses_per_day(7), None);
}

#[test]
fn a_schedule_is_read_back_in_words() {
    let say = |form: Form| just(form).to_string();
    assert_eq!(say(times(hours(72), 7)), "every 72 hours, 7 doses");
    assert_eq!(say(times(days(1), 1)), "every day, 1 dose");
    assert_eq!(say(times(hours(1), 1_000)), "every hour, 1,000 doses");
    let twice = Form::Repeating {
        rhythm: daily(&["20:00", "08:00"]),
        length: Length::Days(5),
    };
    assert_eq!(
        say(twice),
        "every day at 08:00 and 20:00, for 5 days (10 doses)"
    );
    let rhythm = Rhythm::Weekly {
        days: vec![Weekday::Mon, Weekday::Fri],
        time: Some(time("09:00")),
    };
    assert_eq!(
        say(times(rhythm, 4)),
        "every week on Monday and Friday at 09:00, 4 doses"
    );
    assert_eq!(
        say(Form::OnDays(vec![0, 14])),
        "once, then again after 14 days"
    );
    assert_eq!(
        say(Form::OnDays(vec![0, 14, 28])),
        "on days 0, 14 and 28, the first dose being day 0"
    );
    assert_eq!(
        say(until(days(14), "2026-06-26")),
        "every 14 days, until the vet says stop; to be reviewed on 26 June 2026"
    );
    let phases = vec![
        phase(Form::Once),
        then(1, Span::Hours(72), times(hours(72), 6)),
    ];
    let counted = Schedule::new(phases, Count::Given, AfterLate::Call, None).unwrap();
    assert_eq!(
        counted.to_string(),
        "once; then, 72 hours later, every 72 hours, 6 doses; a dose that is not given is added at \
         the end"
    );
}

#[test]
fn the_reckoning_says_whether_the_hour_shifts() {
    assert_eq!(times(hours(72), 7).reckoning(true), Reckoning::Elapsed);
    assert_eq!(times(days(3), 7).reckoning(true), Reckoning::WallClock);
    assert_eq!(times(days(3), 7).reckoning(false), Reckoning::Dates);
    assert!(
        Reckoning::Elapsed
            .to_string()
            .contains("hour of the dose shifts")
    );
    assert!(Reckoning::WallClock.to_string().contains("stays the same"));
    assert!(Reckoning::Dates.to_string().contains("no hour is written"));
}

#[test]
fn a_phase_by_the_calendar_begins_at_the_soonest_after_its_gap() {
    let phases = vec![
        phase(Form::OnDays(vec![0])),
        then(0, Span::Days(3), times(daily(&["08:00"]), 6)),
    ];
    assert_eq!(
        schedule(phases).to_string(),
        "once; then, 3 days later at the soonest, every day at 08:00, 6 doses"
    );
}

#[test]
fn what_follows_a_late_dose_is_said() {
    for (after, words) in [
        (
            AfterLate::CountFromGiven,
            "the later doses are counted from it",
        ),
        (
            AfterLate::KeepCalendar,
            "the later doses stay where they are",
        ),
        (AfterLate::Call, "is not given without calling the vet"),
    ] {
        assert!(after.to_string().contains(words), "{after}");
    }
}

#[test]
fn every_day_of_the_week_has_its_name() {
    let week = [
        Weekday::Sun,
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
        Weekday::Sat,
    ];
    assert_eq!(
        just(times(super::weekly(&week), 7)).to_string(),
        "every week on Sunday, Monday, Tuesday, Wednesday, Thursday, Friday and Saturday, 7 doses"
    );
}
