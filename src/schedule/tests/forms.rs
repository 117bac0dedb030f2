//! Every form and what it expands to.

use super::{
    daily, date, dates, days, hours, just, phase, said, schedule, start, then, time, times, until,
    weekly, zone,
};
use crate::quantity::span::Span;
use crate::schedule::{AfterLate, Count, Due, Form, Length, Rhythm, Schedule, Zone};
use chrono::{TimeDelta, Weekday};

#[test]
fn leap_days_are_days() {
    // 2028 has a 29 February; 2100 has none (Gregorian rule).
    let slots = just(times(days(1), 3))
        .expand(start("2028-02-28"), Zone::UTC)
        .unwrap();
    assert_eq!(
        said(&slots, Zone::UTC),
        ["2028-02-28", "2028-02-29", "2028-03-01"]
    );
    let slots = just(times(days(1), 2))
        .expand(start("2100-02-28"), Zone::UTC)
        .unwrap();
    assert_eq!(said(&slots, Zone::UTC)[1], "2100-03-01");
}

#[test]
fn clock_times_for_so_many_days_are_days_times_doses_when_the_first_day_is_short() {
    let form = Form::Repeating {
        rhythm: daily(&["20:00", "08:00"]),
        length: Length::Days(3),
    };
    let slots = just(form)
        .expand(start("2026-05-01 12:00"), Zone::UTC)
        .unwrap();
    assert_eq!(slots.len(), 6);
    assert_eq!(said(&slots, Zone::UTC)[0], "2026-05-01 20:00 +00:00");
    assert_eq!(said(&slots, Zone::UTC)[5], "2026-05-04 08:00 +00:00");
}

#[test]
fn clock_times_need_no_hour_from_the_start() {
    let slots = just(times(daily(&["08:00", "20:00"]), 3)).expand(start("2026-05-01"), Zone::UTC);
    assert_eq!(
        said(&slots.unwrap(), Zone::UTC)[0],
        "2026-05-01 08:00 +00:00"
    );
}

#[test]
fn named_days_begin_on_the_first_of_them_that_is_not_past() {
    // 2026-01-01 is a Thursday (2026-W01-4, ISO 8601 week date computed with Python's datetime).
    let form = times(weekly(&[Weekday::Mon, Weekday::Fri]), 3);
    let slots = just(form).expand(start("2026-01-01"), Zone::UTC).unwrap();
    assert_eq!(
        said(&slots, Zone::UTC),
        ["2026-01-02", "2026-01-05", "2026-01-09"]
    );
    let rhythm = Rhythm::Weekly {
        days: vec![Weekday::Thu],
        time: Some(time("09:00")),
    };
    let slots = just(times(rhythm, 2))
        .expand(start("2026-01-01 10:00"), Zone::UTC)
        .unwrap();
    assert_eq!(said(&slots, Zone::UTC)[0], "2026-01-08 09:00 +00:00");
}

#[test]
fn weekdays_are_those_of_iso_8601() {
    // Week dates computed with Python's datetime; the last is the textbook pair, from memory.
    let known = [
        ("2027-01-01", 5),
        ("2024-12-30", 1),
        ("2021-01-03", 7),
        ("2010-01-03", 7),
    ];
    for (day, weekday) in known {
        let named = Weekday::try_from(weekday as u8 - 1).unwrap();
        let slots = just(times(weekly(&[named]), 1))
            .expand(start(day), Zone::UTC)
            .unwrap();
        assert_eq!(said(&slots, Zone::UTC), [day]);
    }
}

#[test]
fn listed_days_and_once_then_again() {
    let slots = just(Form::OnDays(vec![0, 14, 28]))
        .expand(start("2026-05-01"), Zone::UTC)
        .unwrap();
    assert_eq!(
        said(&slots, Zone::UTC),
        ["2026-05-01", "2026-05-15", "2026-05-29"]
    );
    let slots = just(Form::OnDays(vec![0, 14]))
        .expand(start("2026-05-01 09:00"), Zone::UTC)
        .unwrap();
    assert_eq!(said(&slots, Zone::UTC)[1], "2026-05-15 09:00 +00:00");
    assert_eq!(
        just(Form::Once)
            .expand(start("2026-05-01"), Zone::UTC)
            .unwrap()
            .len(),
        1
    );
}

#[test]
fn phases_follow_at_the_written_gap_each_with_its_own_dose() {
    // Daily twice, then every second day for 3 weeks: the shape of a published coccidia course
    // (WikiVet, Lizard Endoparasites).
    let course = schedule(vec![
        phase(times(days(1), 2)),
        then(1, Span::Days(2), times(days(2), 11)),
    ]);
    let slots = course.expand(start("2026-05-01 08:00"), Zone::UTC).unwrap();
    assert_eq!(slots.len(), 13);
    assert_eq!(said(&slots, Zone::UTC)[1], "2026-05-02 08:00 +00:00");
    assert_eq!(said(&slots, Zone::UTC)[2], "2026-05-04 08:00 +00:00");
    assert_eq!(said(&slots, Zone::UTC)[12], "2026-05-24 08:00 +00:00");
    let which = slots
        .iter()
        .map(|slot| (slot.number, slot.phase, slot.dose))
        .collect::<Vec<_>>();
    assert_eq!(which[..4], [(1, 0, 0), (2, 0, 0), (3, 1, 1), (4, 1, 1)]);
}

#[test]
fn loading_then_maintenance_by_elapsed_hours() {
    // "5 mg/kg, then 2.5 mg/kg every 72 h" (formulary table 4-1, gopher snakes), with six doses.
    let course = schedule(vec![
        phase(Form::Once),
        then(1, Span::Hours(72), times(hours(72), 6)),
    ]);
    let slots = course
        .expand(start("2027-03-22 08:00"), zone("Europe/Warsaw"))
        .unwrap();
    assert_eq!(slots.len(), 7);
    assert_eq!(
        said(&slots, zone("Europe/Warsaw"))[2],
        "2027-03-28 09:00 +02:00"
    );
}

#[test]
fn a_phase_by_the_clock_begins_at_its_first_time_that_is_not_sooner_than_the_gap() {
    let twice = Form::Repeating {
        rhythm: daily(&["08:00", "20:00"]),
        length: Length::Days(2),
    };
    let once = times(daily(&["08:00"]), 3);
    let at = |gap| {
        let course = schedule(vec![phase(twice.clone()), then(0, gap, once.clone())]);
        // The night in which Warsaw goes forward: 12 hours by the clock are 11 hours.
        let slots = course
            .expand(start("2027-03-26"), zone("Europe/Warsaw"))
            .unwrap();
        said(&slots, zone("Europe/Warsaw"))[4].clone()
    };
    assert_eq!(at(Span::Hours(12)), "2027-03-28 08:00 +02:00");
    assert_eq!(at(Span::Days(1)), "2027-03-29 08:00 +02:00");
}

#[test]
fn an_open_end_goes_to_the_review_date_and_no_further() {
    let course = just(until(days(2), "2026-05-08"));
    let slots = course.expand(start("2026-05-01"), Zone::UTC).unwrap();
    assert_eq!(said(&slots, Zone::UTC).last().unwrap(), "2026-05-07");
    assert_eq!(
        (course.slots(), course.review()),
        (None, Some(date("2026-05-08")))
    );
    let later = course
        .reviewed_on(date("2026-05-09"))
        .expand(start("2026-05-01"), Zone::UTC);
    assert_eq!(later.unwrap().len(), 5);
}

#[test]
fn more_slots_follow_in_the_last_rhythm_and_listed_days_repeat_their_last_gap() {
    let more = |form, n| {
        let slots = just(form)
            .expand_with(start("2026-05-01"), Zone::UTC, n)
            .unwrap();
        said(&slots, Zone::UTC).split_off(2)
    };
    assert_eq!(more(times(days(3), 2), 2), ["2026-05-07", "2026-05-10"]);
    assert_eq!(
        more(Form::OnDays(vec![0, 14]), 2),
        ["2026-05-29", "2026-06-12"]
    );
    let phases = vec![phase(Form::Once), then(0, Span::Days(10), Form::Once)];
    let slots = schedule(phases)
        .expand_with(start("2026-05-01"), Zone::UTC, 1)
        .unwrap();
    assert_eq!(
        said(&slots, Zone::UTC),
        ["2026-05-01", "2026-05-11", "2026-05-21"]
    );
}

/// Interval patterns printed in published tables; the source stands beside each. Figures only.
#[test]
fn published_patterns_have_the_right_number_of_slots() {
    let formulary = [
        // every 72 h x 5 treatments: sea turtles, formulary table 4-1
        (just(times(hours(72), 5)), 5, TimeDelta::hours(4 * 72)),
        // every 7 days x 2 to 3 doses, the longer: Exotic Animal Formulary 5th edition, page 140
        (just(times(days(7), 3)), 3, TimeDelta::days(14)),
        // repeat in 14 days: the same page
        (just(Form::OnDays(vec![0, 14])), 2, TimeDelta::days(14)),
        // daily for 21 days: WikiVet, Lizard Endoparasites
        (just(times(days(1), 21)), 21, TimeDelta::days(20)),
        // every 24 h for 4 weeks: WikiVet, Lizard Formulary
        (just(times(hours(24), 28)), 28, TimeDelta::days(27)),
        // every 2 weeks until a negative test, reviewed after 8 weeks: WikiVet, as above
        (just(until(days(14), "2026-06-26")), 5, TimeDelta::days(56)),
    ];
    for (course, doses, from_first_to_last) in formulary {
        let slots = course.expand(start("2026-05-01 09:00"), Zone::UTC).unwrap();
        assert_eq!(slots.len(), doses, "{course}");
        let (Due::At(first), Due::At(last)) = (slots[0].due, slots[doses - 1].due) else {
            panic!("{course} has no hours")
        };
        assert_eq!(last - first, from_first_to_last, "{course}");
    }
}

/// Days 0, 14 and 42 that count doses given: what is added goes on by the last step, 28 days.
#[test]
fn added_doses_go_on_by_the_last_step() {
    let listed = vec![phase(Form::OnDays(vec![0, 14, 42]))];
    let course = Schedule::new(listed, Count::Given, AfterLate::Call, None).unwrap();
    let slots = course
        .expand_with(start("2026-05-01"), Zone::UTC, 2)
        .unwrap();
    // 1 and 15 May; 42 days is 12 June, then 10 July and 7 August.
    let days = [
        "2026-05-01",
        "2026-05-15",
        "2026-06-12",
        "2026-07-10",
        "2026-08-07",
    ];
    assert_eq!(dates(&slots, Zone::UTC), days.map(date));
}
