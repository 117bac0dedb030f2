//! What is not accepted, and why.

use super::{
    daily, date, days, hours, just, phase, schedule, start, then, times, until, weekly, zone,
};
use crate::quantity::span::Span;
use crate::schedule::{
    AfterLate, Count, Form, Length, MOST_DAYS, MOST_SLOTS, Phase, Rhythm, Schedule, ScheduleError,
    Zone, after_date,
};
use chrono::{NaiveTime, Weekday};

fn refused(phases: Vec<Phase>, count: Count, after: AfterLate) -> ScheduleError {
    Schedule::new(phases, count, after, None).unwrap_err()
}

#[test]
fn what_would_need_a_guess_is_not_accepted() {
    let no = |form: Form| refused(vec![phase(form)], Count::Slots, AfterLate::Call);
    assert_eq!(
        refused(vec![], Count::Slots, AfterLate::Call),
        ScheduleError::NoPhase
    );
    assert_eq!(no(Form::OnDays(vec![])), ScheduleError::Empty("days"));
    assert_eq!(no(Form::OnDays(vec![1, 14])), ScheduleError::DayList);
    assert_eq!(no(Form::OnDays(vec![0, 14, 14])), ScheduleError::DayList);
    assert_eq!(no(Form::OnDays(vec![0, 9_999])), ScheduleError::TooLong);
    assert_eq!(no(times(days(1), 0)), ScheduleError::Empty("doses"));
    assert_eq!(no(times(daily(&[]), 1)), ScheduleError::Empty("times"));
    assert_eq!(
        no(times(daily(&["08:00", "08:00"]), 1)),
        ScheduleError::Repeated("times")
    );
    assert_eq!(no(times(weekly(&[]), 1)), ScheduleError::Empty("days"));
    assert_eq!(no(times(days(1), MOST_SLOTS + 1)), ScheduleError::TooMany);
    let three_weeks = Form::Repeating {
        rhythm: days(2),
        length: Length::Days(21),
    };
    assert_eq!(no(three_weeks), ScheduleError::DaysOfOther);
    let seconds = Rhythm::Daily(vec![NaiveTime::from_hms_opt(8, 0, 1).unwrap()]);
    assert_eq!(no(times(seconds, 1)), ScheduleError::Seconds);
    assert!(matches!(
        no(times(Rhythm::Every(Span::Hours(0)), 1)),
        ScheduleError::Span(_)
    ));
}

#[test]
fn phases_need_the_vets_gap_and_only_the_last_is_open() {
    let call = AfterLate::Call;
    let gap = Span::Days(1);
    let no_gap = vec![phase(Form::Once), phase(Form::Once)];
    assert_eq!(refused(no_gap, Count::Slots, call), ScheduleError::NoGap(2));
    let first = vec![then(0, gap, Form::Once)];
    assert_eq!(
        refused(first, Count::Slots, call),
        ScheduleError::GapBeforeFirst
    );
    let open = vec![
        phase(until(days(1), "2026-05-08")),
        then(0, gap, Form::Once),
    ];
    assert_eq!(refused(open, Count::Slots, call), ScheduleError::OpenMiddle);
}

#[test]
fn clock_times_and_named_days_cannot_be_counted_from_a_late_dose() {
    for rhythm in [daily(&["08:00"]), weekly(&[Weekday::Mon])] {
        let error = refused(
            vec![phase(times(rhythm, 3))],
            Count::Slots,
            AfterLate::CountFromGiven,
        );
        assert_eq!(error, ScheduleError::CannotCountFromGiven);
    }
    let by_date = vec![phase(times(days(3), 3))];
    assert!(Schedule::new(by_date, Count::Slots, AfterLate::CountFromGiven, None).is_ok());
}

#[test]
fn doses_given_are_counted_only_where_a_number_and_a_gap_are_written() {
    for form in [Form::Once, until(days(1), "2026-05-08")] {
        let error = refused(vec![phase(form)], Count::Given, AfterLate::Call);
        assert_eq!(error, ScheduleError::CannotCountGiven);
    }
}

#[test]
fn what_depends_on_the_start_is_refused_there() {
    let no = |form: Form, from: &str| just(form).expand(start(from), Zone::UTC).unwrap_err();
    assert_eq!(
        no(times(hours(72), 7), "2026-05-01"),
        ScheduleError::HourNeeded
    );
    assert_eq!(
        no(until(days(1), "2026-04-30"), "2026-05-01"),
        ScheduleError::ReviewFirst
    );
    assert_eq!(
        no(until(hours(1), "2026-08-01"), "2026-05-01 08:00"),
        ScheduleError::TooMany
    );
    assert_eq!(
        no(times(days(30), 200), "2026-05-01"),
        ScheduleError::TooLong
    );
    assert_eq!(no(Form::Once, "1969-12-31"), ScheduleError::StartYear);
    assert_eq!(no(Form::Once, "2200-01-01"), ScheduleError::StartYear);
    let mixed = schedule(vec![
        phase(Form::Once),
        then(0, Span::Days(1), times(daily(&["08:00"]), 2)),
    ]);
    assert_eq!(
        mixed.expand(start("2026-05-01"), Zone::UTC),
        Err(ScheduleError::HourNeeded)
    );
    // 02:30 is read as 03:30 on that night, which is after 03:15.
    let crossed = just(times(daily(&["02:30", "03:15"]), 4));
    assert_eq!(
        crossed.expand(start("2026-03-07"), zone("America/New_York")),
        Err(ScheduleError::Crossed(date("2026-03-08")))
    );
}

#[test]
fn slots_after_the_last_valid_day_can_be_pointed_out() {
    let slots = just(times(days(1), 5))
        .expand(start("2026-05-01 23:30"), zone("Europe/Warsaw"))
        .unwrap();
    let late =
        after_date(&slots, date("2026-05-03"), zone("Europe/Warsaw")).map(|slot| slot.number);
    assert_eq!(late.collect::<Vec<_>>(), [4, 5]);
}

#[test]
fn no_days_of_clock_times_are_no_course() {
    let none = Form::Repeating {
        rhythm: daily(&["08:00"]),
        length: Length::Days(0),
    };
    assert_eq!(
        refused(vec![phase(none)], Count::Slots, AfterLate::Call),
        ScheduleError::Empty("days")
    );
}

/// The last day is as many days after the start as a course can be long; one more is too many.
#[test]
fn a_course_is_as_long_as_a_course_can_be_and_no_longer() {
    let longest = || phase(Form::OnDays(vec![0, MOST_DAYS]));
    let from = start("2026-05-01");
    let slots = schedule(vec![longest()]).expand(from, Zone::UTC).unwrap();
    assert_eq!(slots.len(), 2);
    let longer = schedule(vec![longest(), then(0, Span::Days(1), Form::Once)]);
    assert_eq!(longer.expand(from, Zone::UTC), Err(ScheduleError::TooLong));
}
