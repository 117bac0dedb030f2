//! Adherence, the first dose, and what the order of writing may not change.

use chrono::TimeDelta;

use super::{course, hours, zone};
use crate::course::{Adherence, Outcome, State, Verdict};
use crate::schedule::AfterLate;

#[test]
fn how_closely_the_schedule_was_kept() {
    let case = course(hours(12), 8, AfterLate::KeepCalendar)
        .given("05-01 08:00") // in its window
        .given("05-01 22:00") // late
        .then(Outcome::Missed, "05-02 08:00")
        .then(Outcome::PartlyGiven, "05-02 20:00")
        .then(Outcome::Unsure, "05-03 08:00")
        .given("05-03 16:00") // too soon
        .given("05-03 17:00") // extra
        .then(Outcome::Withheld, "05-04 08:00");
    let expected = Adherence {
        in_window: 1,
        late: 1,
        too_soon: 1,
        in_part: 1,
        unsure: 1,
        not_given: 2, // missed on 2 May, withheld on 4 May
        not_recorded: 0,
        extra: 1,
        // 1 May 22:00 to 2 May 20:00 are 22 hours; 2 May 20:00 to 3 May 16:00 are 20.
        longest_gap: Some(TimeDelta::hours(22)),
    };
    assert_eq!(case.at("05-04 09:00").adherence, expected);
}

#[test]
fn the_first_dose_that_went_in_sets_the_start_weight() {
    let case = course(hours(12), 4, AfterLate::KeepCalendar);
    assert_eq!(case.at("05-01 08:00").first_dose, None);
    for outcome in [Outcome::Given, Outcome::PartlyGiven, Outcome::BroughtUp] {
        let case = case
            .clone()
            .then(Outcome::Refused, "05-01 07:00")
            .then(Outcome::Unsure, "05-01 08:00")
            .then(outcome, "05-01 20:00");
        assert_eq!(
            case.at("05-02 08:00").first_dose,
            Some(case.when("05-01 20:00"))
        );
    }
}

#[test]
fn the_order_of_writing_changes_nothing() {
    let case = course(hours(12), 4, AfterLate::CountFromGiven)
        .given_each(&["05-01 08:00", "05-01 23:00", "05-02 11:00"])
        .then(Outcome::Refused, "05-02 10:00");
    let expected = case.at("05-02 12:00");
    let mut turned = case.clone();
    turned.records.reverse();
    assert_eq!(turned.at("05-02 12:00"), expected);
}

#[test]
fn a_history_can_be_judged_as_it_stood() {
    let case =
        course(hours(12), 2, AfterLate::KeepCalendar).given_each(&["05-01 08:00", "05-01 20:00"]);
    assert_eq!(case.state(2, "05-01 19:00"), State::Open);
    assert_eq!(case.at("05-01 19:00").verdict, Verdict::OnTrack);
    assert_eq!(case.at("05-01 20:00").verdict, Verdict::Complete);
}

#[test]
fn seven_doses_over_a_change_of_the_clocks_are_complete_at_their_shifted_hour() {
    // Every 72 hours in Warsaw from 2027-03-22 08:00: from 28 March on at 09:00.
    let case = course(hours(72), 7, AfterLate::Call)
        .from("2027-03-22", Some("08:00"), zone("Europe/Warsaw"))
        .given_each(&[
            "2027-03-22 08:00",
            "2027-03-25 08:00",
            "2027-03-28 09:00",
            "2027-03-31 09:00",
            "2027-04-03 09:00",
            "2027-04-06 09:00",
            "2027-04-09 09:00",
        ]);
    assert_eq!(case.at("2027-04-09 09:00").verdict, Verdict::Complete);
    assert_eq!(
        case.at("2027-04-09 09:00").adherence.longest_gap,
        Some(TimeDelta::hours(72))
    );
    assert_eq!(case.window(3, "2027-04-09 09:00").1, "03-28 15:00");
}
