//! Slots on dates without an hour. Dates worked by hand.

use chrono::TimeDelta;

use super::{Case, course, days, formed, pair, zone};
use crate::course::{MarkGate, Outcome, State};
use crate::quantity::span::Span;
use crate::schedule::{AfterLate, Count, Due, Form, Phase, Schedule, Zone};

#[test]
fn a_week_apart_the_day_before_to_the_day_after() {
    let case = course(days(7), 3, AfterLate::KeepCalendar).by_date();
    assert_eq!(
        case.window(1, "05-01 12:00"),
        pair("04-30 00:00", "05-02 23:59")
    );
    let case = case.given("05-01 12:00");
    assert_eq!(case.state(2, "05-06 23:59"), State::Planned);
    assert_eq!(case.state(2, "05-07 00:00"), State::Open);
    assert_eq!(case.state(2, "05-09 23:59"), State::Open);
    // Half of seven days, rounded up: late on the 10th and 11th, not recorded from the 12th.
    assert_eq!(case.state(2, "05-10 00:00"), State::Late);
    assert_eq!(case.state(2, "05-11 23:59"), State::Late);
    assert_eq!(case.state(2, "05-12 00:00"), State::NotRecorded);
}

#[test]
fn given_on_the_last_day_of_its_window_the_next_opens_on_the_day_it_is_due() {
    let case = course(days(7), 3, AfterLate::KeepCalendar)
        .by_date()
        .given("05-02 23:00");
    assert_eq!(
        case.window(2, "05-05 12:00"),
        pair("05-08 00:00", "05-09 23:59")
    );
    assert_eq!(
        case.gate(2, "05-07 12:00"),
        MarkGate::TooSoonUntil(case.when("05-08 00:00"))
    );
    assert_eq!(case.gate(2, "05-08 00:00"), MarkGate::Allowed);
}

#[test]
fn closer_dates_are_open_on_that_day_only() {
    let case = course(days(3), 3, AfterLate::KeepCalendar)
        .by_date()
        .given("05-01 23:00");
    assert_eq!(
        case.window(2, "05-02 12:00"),
        pair("05-04 00:00", "05-04 23:59")
    );
    // Half of three days, rounded up to two: late on the 5th alone.
    assert_eq!(case.state(2, "05-05 23:59"), State::Late);
    assert_eq!(case.state(2, "05-06 00:00"), State::NotRecorded);
}

#[test]
fn a_daily_date_is_never_late_but_not_recorded_the_next_day() {
    let case = course(days(1), 3, AfterLate::KeepCalendar).by_date();
    assert_eq!(case.state(1, "05-01 23:59"), State::Open);
    assert_eq!(case.state(1, "05-02 00:00"), State::NotRecorded);
    assert_eq!(case.gate(2, "05-02 00:00"), MarkGate::BlockedBy(1));
}

#[test]
fn a_dose_is_no_sooner_than_the_days_between() {
    // A second dose on the 2nd by mistake: the one due on the 4th waits until the 5th, which is
    // after its day.
    let case = course(days(3), 3, AfterLate::KeepCalendar)
        .by_date()
        .given("05-01 09:00");
    let case = case.given("05-02 09:00");
    assert_eq!(case.at("05-03 09:00").extras.len(), 1);
    assert_eq!(case.state(2, "05-04 09:00"), State::Held);
}

#[test]
fn a_late_date_moves_the_later_ones_by_whole_days() {
    let case = course(days(7), 3, AfterLate::CountFromGiven)
        .by_date()
        .given("05-04 07:00");
    let judged = case.at("05-05 12:00");
    assert_eq!(
        judged.slot(2).unwrap().due,
        Due::On(super::date("2026-05-11"))
    );
    assert_eq!(
        judged.slot(3).unwrap().due,
        Due::On(super::date("2026-05-18"))
    );
}

#[test]
fn once_and_again_in_a_fortnight_has_no_six_hour_window() {
    let case = formed(Form::OnDays(vec![0, 14]), Count::Slots, AfterLate::Call).by_date();
    let case = case.given("05-01 21:40");
    assert_eq!(
        case.window(2, "05-05 12:00"),
        pair("05-14 00:00", "05-16 23:59")
    );
    assert_eq!(case.state(2, "05-16 23:59"), State::Open);
    assert_eq!(case.gate(2, "05-17 00:00"), MarkGate::LateCall);
}

#[test]
fn a_single_date_has_a_day_each_way() {
    let case = formed(Form::Once, Count::Slots, AfterLate::Call).by_date();
    assert_eq!(
        case.window(1, "05-01 12:00"),
        pair("04-30 00:00", "05-02 23:59")
    );
}

#[test]
fn local_days_are_those_of_the_zone() {
    let case = course(days(7), 2, AfterLate::KeepCalendar)
        .from("2027-03-21", None, zone("Europe/Warsaw"))
        .given("2027-03-21 23:30");
    // 28 March 2027 has 23 hours there.
    assert_eq!(
        case.window(2, "2027-03-25 12:00"),
        pair("03-27 00:00", "03-29 23:59")
    );
    let judged = case.at("2027-03-25 12:00");
    let standing = judged.slot(2).unwrap();
    let length = standing.closes - standing.opens.unwrap();
    assert_eq!(length, TimeDelta::hours(71) - TimeDelta::nanoseconds(1));
}

#[test]
fn another_courses_gap_in_hours_is_rounded_up_to_days() {
    let case = course(days(3), 2, AfterLate::Call).by_date();
    let case = case.other("04-28 20:00", Some(TimeDelta::hours(73)));
    assert_eq!(case.state(1, "05-01 12:00"), State::Held);
    let case = course(days(3), 2, AfterLate::Call).by_date();
    let case = case.other("04-28 20:00", Some(TimeDelta::hours(72)));
    assert_eq!(case.state(1, "05-01 12:00"), State::Open);
}

/// Due on 5 May, 4 days each way: from 1 May. A dose of another course on 3 May whose gap is 12
/// hours, a day of dates, less those 4 days pushes nothing.
#[test]
fn a_slack_wider_than_another_courses_gap_pushes_nothing() {
    let phase = Phase {
        dose: 0,
        gap_before: None,
        form: Form::Once,
    };
    let window = Some(Span::days(4).unwrap());
    let schedule = Schedule::new(vec![phase], Count::Slots, AfterLate::Call, window).unwrap();
    let case = Case::new(schedule)
        .from("2026-05-05", None, Zone::UTC)
        .other("05-03 20:00", Some(TimeDelta::hours(12)));
    assert_eq!(
        case.window(1, "05-04 12:00"),
        pair("05-01 00:00", "05-09 23:59")
    );
    assert_eq!(case.state(1, "05-04 12:00"), State::Open);
}

#[test]
fn a_refusal_leaves_a_date_open_to_its_last_minute() {
    let case = course(days(7), 2, AfterLate::Call)
        .by_date()
        .then(Outcome::Refused, "05-01 09:00");
    assert_eq!(case.state(1, "05-02 23:59"), State::Open);
    assert_eq!(case.state(1, "05-03 00:00"), State::Refused);
}
