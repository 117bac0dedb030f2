//! Which slot a record belongs to, and how long the vet's word for one slot stands.

use super::{Case, course, eight_and_twenty, formed, hours, twice_a_day};
use crate::course::{MarkGate, Order, Outcome, State, Timing, What};
use crate::schedule::{AfterLate, Count, Form, Length, Rhythm, Zone};
use std::collections::BTreeSet;

/// The slots that records filled, by record.
fn filled(case: &Case, now: &str) -> Vec<(u64, u32)> {
    let course = case.at(now);
    let slots = course.slots.iter();
    let pairs = slots.filter_map(|s| Some((s.filled_by?.id, s.slot.number)));
    let mut pairs: Vec<(u64, u32)> = pairs.collect();
    pairs.sort_unstable();
    pairs
}

/// The number of the slot that an outcome at a moment would belong to.
fn belongs(case: &Case, outcome: Outcome, at: &str) -> u32 {
    let course = case.at(at);
    let standing = course.belongs_to(outcome, case.when(at), Zone::UTC);
    standing.unwrap().slot.number
}

/// Due at 08:00, 20:00 and 08:00: 14:00 is as far from the first as from the second.
#[test]
fn a_new_record_belongs_to_the_nearest_slot_and_the_later_of_two() {
    let case = twice_a_day().given("05-01 08:00");
    for (at, slot) in [("05-01 13:59", 1), ("05-01 14:00", 2), ("05-01 20:00", 2)] {
        assert_eq!(belongs(&case, Outcome::Given, at), slot, "{at}");
        assert_eq!(belongs(&case, Outcome::Refused, at), slot, "{at}");
    }
}

/// Half of 12 hours after 20:00 is 02:00, which is as near to the slot of 08:00.
#[test]
fn what_was_brought_up_belongs_to_the_dose_shortly_before() {
    let case = twice_a_day().given_each(&["05-01 08:00", "05-01 20:00"]);
    assert_eq!(belongs(&case, Outcome::BroughtUp, "05-02 02:00"), 2);
    assert_eq!(belongs(&case, Outcome::Given, "05-02 02:00"), 3);
    assert_eq!(belongs(&case, Outcome::BroughtUp, "05-02 02:01"), 3);
}

#[test]
fn a_dose_that_the_vet_wants_now_belongs_to_its_slot() {
    let case = twice_a_day()
        .given("05-01 08:00")
        .told("05-01 12:00", Order::DoseNow { slot: 3 });
    assert_eq!(belongs(&case, Outcome::Given, "05-01 12:00"), 3);
    // A refusal is no dose, and 12:00 is nearest to the first slot.
    assert_eq!(belongs(&case, Outcome::Refused, "05-01 12:00"), 1);
    let given = case.given("05-01 12:30");
    assert_eq!(filled(&given, "05-01 13:00"), [(1, 1), (2, 3)]);
    let third = given.at("05-01 13:00").slot(3).unwrap().timing;
    assert_eq!(third, Some(Timing::Instructed));
}

#[test]
fn a_second_dose_half_a_gap_after_the_first_is_not_about_the_first() {
    let case = twice_a_day().given_each(&["05-01 08:00", "05-01 14:00"]);
    assert_eq!(filled(&case, "05-01 15:00"), [(1, 1), (2, 2)]);
    assert!(case.at("05-01 15:00").extras.is_empty());
    let second = case.at("05-01 15:00").slot(2).unwrap().timing;
    assert_eq!(second, Some(Timing::TooSoon));
}

/// Only a dose that was given in full can be brought up again as the same dose.
#[test]
fn a_part_and_then_something_brought_up_are_two_things() {
    let case = twice_a_day()
        .then(Outcome::PartlyGiven, "05-01 08:00")
        .then(Outcome::BroughtUp, "05-01 08:30");
    let course = case.at("05-01 09:00");
    assert_eq!(course.slot(1).unwrap().state, State::PartlyGiven);
    let extras: Vec<_> = (course.extras.iter())
        .map(|extra| (extra.record.id, extra.nearest, extra.why))
        .collect();
    assert_eq!(extras, [(2, 1, What::Extra)]);
}

/// The vet may want a dose now, but of a slot that was given it is one more.
#[test]
fn a_slot_that_was_given_is_never_filled_again() {
    let case = twice_a_day()
        .given("05-01 08:00")
        .told("05-01 09:00", Order::DoseNow { slot: 1 })
        .given("05-01 09:10");
    assert_eq!(filled(&case, "05-01 10:00"), [(1, 1)]);
    assert_eq!(case.at("05-01 10:00").extras[0].why, What::Extra);
}

#[test]
fn a_dose_of_another_course_ends_the_vets_word_to_give_one_now() {
    let told = twice_a_day()
        .given("05-01 08:00")
        .told("05-01 12:00", Order::DoseNow { slot: 3 });
    assert_eq!(told.gate(3, "05-01 12:30"), MarkGate::Allowed);
    let case = told.other("05-01 12:10", None);
    assert_ne!(case.gate(3, "05-01 12:30"), MarkGate::Allowed);
}

#[test]
fn a_dose_at_the_moment_of_the_end_is_not_after_it() {
    let case = twice_a_day()
        .given_each(&["05-01 08:00", "05-01 20:00"])
        .ended(crate::course::Ending::Died, "05-01 20:00");
    assert_eq!(filled(&case, "05-01 21:00"), [(1, 1), (2, 2)]);
    let after = twice_a_day()
        .given_each(&["05-01 08:00", "05-01 20:01"])
        .ended(crate::course::Ending::Died, "05-01 20:00");
    assert_eq!(filled(&after, "05-01 21:00"), [(1, 1)]);
    assert_eq!(after.at("05-01 21:00").extras[0].why, What::AfterTheEnd);
}

#[test]
fn after_a_stop_doses_go_on_from_the_slot_the_vet_says() {
    let case = twice_a_day()
        .given("05-01 08:00")
        .told("05-01 10:00", Order::Stop { from: 2 })
        .told("05-01 23:00", Order::Resume { from: 3 });
    assert_eq!(case.state(2, "05-01 12:00"), State::Gone);
    assert_eq!(case.state(3, "05-01 12:00"), State::Gone);
    assert_eq!(case.state(2, "05-02 08:00"), State::Withheld);
    assert_eq!(case.state(3, "05-02 08:00"), State::Open);
    assert_eq!(case.state(4, "05-02 08:00"), State::Planned);
}

/// Four doses are to be given; the third slot, of 2 May at 08:00, goes without, which adds a fifth
/// of 3 May at 08:00. A dose on 3 May at 03:00 is nearer to that, once there is one.
fn third_without(outcome: Outcome, at: &str) -> Case {
    let form = Form::Repeating {
        rhythm: hours(12),
        length: Length::Doses(4),
    };
    let case = formed(form, Count::Given, AfterLate::KeepCalendar);
    case.given_each(&["05-01 08:00", "05-01 20:00"])
        .then(outcome, at)
        .for_slot(3)
        .given("05-03 03:00")
}

#[test]
fn a_slot_comes_to_be_when_it_is_known_to_be_wanting() {
    for (outcome, at, slot) in [
        (Outcome::Missed, "05-02 12:00", 5),
        (Outcome::Withheld, "05-02 12:00", 5),
        // The window of a refused slot closed at 09:30.
        (Outcome::Refused, "05-02 08:00", 5),
        // Said after the dose: when it was given there were four slots.
        (Outcome::Missed, "05-03 04:00", 4),
    ] {
        let case = third_without(outcome, at);
        let filled = filled(&case, "05-03 05:00");
        assert_eq!(filled, [(1, 1), (2, 2), (4, slot)], "{outcome:?} at {at}");
        assert_eq!(case.at("05-03 05:00").slots.len(), 5, "{outcome:?} at {at}");
    }
}

#[test]
fn what_was_answered_is_not_held_up_by_what_was_not() {
    let case = twice_a_day().given("05-01 20:00");
    assert_eq!(case.state(1, "05-01 21:00"), State::NotRecorded);
    assert_eq!(case.gate(2, "05-01 21:00"), MarkGate::Answered);
    let adherence = case.at("05-01 21:00").adherence;
    assert_eq!((adherence.not_recorded, adherence.in_window), (1, 1));
}

#[test]
fn the_next_slot_is_the_first_that_waits() {
    let case = twice_a_day().given("05-01 08:00");
    assert_eq!(case.at("05-01 07:00").next, Some(1));
    assert_eq!(case.at("05-01 10:00").next, Some(2));
    let ended = case.ended(crate::course::Ending::Rehomed, "05-01 12:00");
    assert_eq!(ended.at("05-01 13:00").next, None);
}

/// 12 hours less an hour and a half after a dose of another course; the window of the first slot
/// is from 06:30 to 09:30.
#[test]
fn a_slot_never_opens_when_the_last_dose_holds_it_past_its_window() {
    for (other, opens, never) in [
        ("04-30 20:00", "05-01 06:30", false),
        ("04-30 23:00", "05-01 09:30", false),
        ("04-30 23:01", "05-01 09:31", true),
    ] {
        let case = twice_a_day().other(other, None);
        let course = case.at("05-01 06:00");
        let first = course.slot(1).unwrap();
        assert_eq!(first.opens, Some(case.when(opens)), "{other}");
        assert_eq!(first.never_opens(), never, "{other}");
    }
    // A single slot that no gap is known for has no opening at all.
    let once = formed(Form::Once, Count::Slots, AfterLate::Call).other("04-01 08:00", None);
    assert!(!once.at("05-01 08:00").slot(1).unwrap().never_opens());
}

#[test]
fn the_clock_alone_never_says_missed() {
    for what in [What::LateNow, What::NotRecorded, What::Held] {
        let words = what.to_string();
        assert!(!words.is_empty() && !words.contains("missed"), "{words}");
    }
    assert_eq!(What::Missed.to_string(), "missed: ask your vet");
    let case = course(eight_and_twenty(), 4, AfterLate::Call);
    assert_eq!(case.attention("05-09 08:00").len(), 4);
}

/// What a person reads of one is never what they read of another.
#[test]
fn no_two_states_and_no_two_remarks_are_said_alike() {
    let states = [
        State::Planned,
        State::TooSoon,
        State::Open,
        State::Late,
        State::NotRecorded,
        State::Held,
        State::Given,
        State::PartlyGiven,
        State::BroughtUp,
        State::Refused,
        State::Missed,
        State::Withheld,
        State::Unsure,
        State::Gone,
    ];
    let remarks = [
        What::LateNow,
        What::NotRecorded,
        What::Held,
        What::GivenTooSoon,
        What::GivenBeforeItsWindow,
        What::GivenLate,
        What::GivenAsInstructed,
        What::AgainstInstruction,
        What::UnsureAgainstInstruction,
        What::NotAtMark,
        What::PartlyGiven,
        What::BroughtUp,
        What::Refused,
        What::Missed,
        What::Withheld,
        What::RecordedAsWithheld,
        What::Unsure,
        What::Extra,
        What::UnsureExtra,
        What::AfterTheEnd,
        What::ReviewPassed,
        What::ValidUntilPassed,
    ];
    let said: BTreeSet<String> = states.iter().map(ToString::to_string).collect();
    assert_eq!(said.len(), states.len(), "{said:?}");
    let said: BTreeSet<String> = remarks.iter().map(ToString::to_string).collect();
    assert_eq!(said.len(), remarks.len(), "{said:?}");
}

/// Three doses, at 07:00, 12:00 and 22:00, and the last is given 70 minutes after 22:00. An hour later somebody says that the first was missed, which adds a dose 9 hours on: what
/// was said of the last one's time stays.
#[test]
fn an_added_dose_changes_nothing_about_the_time_of_one_that_was_given() {
    let clock = |hour| chrono::NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    let form = Form::Repeating {
        rhythm: Rhythm::Daily(vec![clock(7), clock(12), clock(22)]),
        length: Length::Doses(3),
    };
    let case = formed(form, Count::Given, AfterLate::KeepCalendar)
        .from("2026-05-01", None, Zone::UTC)
        .given_each(&["05-01 12:00", "05-01 23:10"])
        .then(Outcome::Missed, "05-02 00:10")
        .for_slot(1);
    let timing = |now: &str| {
        let course = case.at(now);
        (course.slots.len(), course.slot(3).unwrap().timing)
    };
    let (before, after) = (timing("05-01 23:30"), timing("05-02 00:30"));
    assert_eq!((before.0, after.0), (3, 4));
    assert_eq!(
        (before.1, after.1),
        (Some(Timing::Late), Some(Timing::Late))
    );
}
