//! Slack by the rule, and windows that the vet wrote.

use super::{daily, date, days, hours, just, phase, start, times, utc, weekly, windowed, zone};
use crate::quantity::span::Span;
use crate::schedule::{AfterLate, Count, Due, Form, Schedule, ScheduleError, Zone};
use chrono::{TimeDelta, Weekday};

fn slack_minutes(form: Form, from: &str) -> Vec<i64> {
    let slots = just(form).expand(start(from), Zone::UTC).unwrap();
    slots.iter().map(|slot| slot.slack.num_minutes()).collect()
}

#[test]
fn slack_is_an_eighth_of_the_smaller_neighbouring_gap_and_at_most_six_hours() {
    assert_eq!(
        slack_minutes(times(hours(12), 3), "2026-05-01 08:00"),
        [90, 90, 90]
    );
    assert_eq!(
        slack_minutes(times(hours(48), 2), "2026-05-01 08:00"),
        [360, 360]
    );
    assert_eq!(
        slack_minutes(times(hours(72), 2), "2026-05-01 08:00"),
        [360, 360]
    );
    assert_eq!(slack_minutes(Form::Once, "2026-05-01 08:00"), [360]);
    // Gaps of 8, 16, 8 hours: each slot takes the smaller of its neighbours.
    let uneven = times(daily(&["08:00", "16:00"]), 4);
    assert_eq!(slack_minutes(uneven, "2026-05-01"), [60, 60, 60, 60]);
    let sparse = Form::OnDays(vec![0, 1, 3]);
    assert_eq!(slack_minutes(sparse, "2026-05-01 08:00"), [180, 180, 360]);
}

#[test]
fn slack_of_a_date_is_a_day_where_neighbours_are_a_week_apart_and_none_where_closer() {
    const DAY: i64 = 24 * 60;
    assert_eq!(slack_minutes(times(days(7), 2), "2026-05-01"), [DAY, DAY]);
    assert_eq!(slack_minutes(times(days(6), 2), "2026-05-01"), [0, 0]);
    assert_eq!(slack_minutes(Form::Once, "2026-05-01"), [DAY]);
    assert_eq!(
        slack_minutes(Form::OnDays(vec![0, 3, 17]), "2026-05-01"),
        [0, 0, DAY]
    );
}

#[test]
fn a_week_of_167_hours_is_still_a_week_of_dates() {
    let zone = zone("Europe/Warsaw");
    let slots = just(times(days(7), 2))
        .expand(start("2027-03-22"), zone)
        .unwrap();
    assert_eq!(slots[1].slack, TimeDelta::days(1));
    let opens = slots[1].due.opens(slots[1].slack, zone);
    let closes = slots[1].due.closes(slots[1].slack, zone);
    assert_eq!(opens, utc("2027-03-27 23:00")); // midnight, an hour ahead of UTC
    assert_eq!(closes, utc("2027-03-30 22:00") - TimeDelta::nanoseconds(1)); // two hours ahead
}

#[test]
fn a_window_of_half_the_gap_is_not_accepted() {
    let twelve = || times(hours(12), 3);
    assert!(windowed(twelve(), Span::Hours(5)).is_ok());
    let too_wide = Err(ScheduleError::WindowTooWide {
        window: Span::Hours(6),
    });
    assert_eq!(windowed(twelve(), Span::Hours(6)), too_wide);
    assert!(windowed(times(days(7), 2), Span::Days(3)).is_ok());
    assert!(windowed(times(days(7), 2), Span::Days(4)).is_err());
    assert!(windowed(times(daily(&["08:00", "20:00"]), 4), Span::Hours(6)).is_err());
    assert!(
        windowed(
            times(weekly(&[Weekday::Mon, Weekday::Wed]), 4),
            Span::Days(1)
        )
        .is_err()
    );
    let spaced = windowed(times(days(7), 2), Span::Days(3)).unwrap();
    let slots = spaced.expand(start("2026-05-01"), Zone::UTC).unwrap();
    assert_eq!(slots[0].slack, TimeDelta::days(3));
    assert_eq!(
        windowed(times(days(7), 2), Span::Hours(12))
            .unwrap()
            .expand(start("2026-05-01"), Zone::UTC),
        Err(ScheduleError::WindowInHours)
    );
}

#[test]
fn a_window_is_measured_against_the_real_gap_of_a_changing_day() {
    // 6 hours 30 by the clock are 6 on the night in which Lord Howe goes forward.
    let form = times(daily(&["00:30", "07:00"]), 4);
    let course = windowed(form, Span::Hours(3)).unwrap();
    assert!(
        course
            .expand(start("2026-09-01"), zone("Australia/Lord_Howe"))
            .is_ok()
    );
    assert_eq!(
        course.expand(start("2026-10-03 08:00"), zone("Australia/Lord_Howe")),
        Err(ScheduleError::WindowTooWide {
            window: Span::Hours(3)
        })
    );
}

#[test]
fn the_vets_window_is_kept() {
    let five = windowed(times(hours(12), 3), Span::Hours(5)).unwrap();
    assert_eq!(five.window(), Some(Span::Hours(5)));
    assert_eq!(just(times(hours(12), 3)).window(), None);
}

/// Days 0, 14 and 15: the shortest gap is the day between the last two.
#[test]
fn a_window_is_measured_against_the_shortest_gap_of_listed_days() {
    let listed = || Form::OnDays(vec![0, 14, 15]);
    let window = Span::Hours(12);
    let too_wide = Err(ScheduleError::WindowTooWide { window });
    assert_eq!(windowed(listed(), window), too_wide);
    assert!(windowed(listed(), Span::Hours(11)).is_ok());
}

#[test]
fn how_far_a_moment_is_from_due_is_the_same_both_ways() {
    let due = Due::At(utc("2027-05-01 08:00"));
    let zone = zone("Europe/Warsaw");
    for at in ["2027-05-01 06:30", "2027-05-01 09:30"] {
        assert_eq!(due.apart(utc(at), zone), TimeDelta::minutes(90), "{at}");
    }
    // 23:30 in UTC on 1 May is 01:30 on 2 May in Warsaw, two dates from 4 May and from 30 April.
    for day in ["2027-05-04", "2027-04-30"] {
        let apart = Due::On(date(day)).apart(utc("2027-05-01 23:30"), zone);
        assert_eq!(apart, TimeDelta::days(2), "{day}");
    }
}

#[test]
fn a_moment_opens_its_slack_before_and_closes_its_slack_after() {
    let due = Due::At(utc("2027-05-01 08:00"));
    let slack = TimeDelta::minutes(90);
    assert_eq!(due.opens(slack, Zone::UTC), utc("2027-05-01 06:30"));
    assert_eq!(due.closes(slack, Zone::UTC), utc("2027-05-01 09:30"));
}

/// At 07:00, 12:00 and 22:00 the gaps are 5, 10 and 9 hours. The last of three doses is due at
/// 22:00: in a course that counts slots its only neighbour is 10 hours off, an eighth of which is
/// 75 minutes. Where doses given are counted one may be added 9 hours later, and its window is the
/// 67.5 minutes of that from the first, so that it closes no sooner once one is.
#[test]
fn the_last_window_is_the_same_once_a_dose_is_added() {
    let last_slack = |from: &str, doses: u32, count: Count, more: u32| {
        let form = times(daily(&["07:00", "12:00", "22:00"]), doses);
        let course = Schedule::new(vec![phase(form)], count, AfterLate::KeepCalendar, None);
        let slots = course.unwrap().expand_with(start(from), Zone::UTC, more);
        slots.unwrap()[doses as usize - 1].slack.num_seconds()
    };
    let slack = |count: Count, more: u32| last_slack("2026-05-01", 3, count, more);
    assert_eq!(slack(Count::Slots, 0), 75 * 60);
    assert_eq!(slack(Count::Given, 0), 67 * 60 + 30);
    assert_eq!(slack(Count::Given, 1), 67 * 60 + 30);
    // From 08:00 on the first of two is at 12:00.
    let of_two = last_slack("2026-05-01 08:00", 2, Count::Given, 0);
    assert_eq!(of_two, 67 * 60 + 30);
}
