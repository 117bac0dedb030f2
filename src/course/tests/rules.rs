//! The gate, the states and the tying of records, for doses at an hour. Times worked by hand.

use chrono::TimeDelta;

use super::{Case, course, date, days, eight_and_twenty, formed, hours, pair, twice_a_day, zone};
use crate::course::{MarkGate, Order, Outcome, State, Timing, TopUp, Verdict, What};
use crate::quantity::span::Span;
use crate::schedule::{AfterLate, Count, Due, Form, Length, Phase, Schedule, Zone};

use AfterLate::{Call, CountFromGiven, KeepCalendar};

#[test]
fn a_second_dose_in_the_morning_closes_the_evening_until_it_is_far_enough_away() {
    // Given 07:40 by one person and 10:05 by another: at 20:00 only 9 h 55 min have passed.
    let case = course(eight_and_twenty(), 6, Call)
        .given("05-01 07:40")
        .given("05-01 10:05");
    let judged = case.at("05-01 20:00");
    assert_eq!(
        judged.slot(1).unwrap().filled_by.map(|record| record.id),
        Some(1)
    );
    assert_eq!(
        judged
            .extras
            .iter()
            .map(|e| (e.record.id, e.why))
            .collect::<Vec<_>>(),
        [(2, What::Extra)]
    );
    assert_eq!(
        case.window(2, "05-01 20:00"),
        pair("05-01 20:35", "05-01 21:30")
    );
    assert_eq!(case.state(2, "05-01 20:00"), State::TooSoon);
    assert_eq!(
        case.gate(2, "05-01 20:00"),
        MarkGate::TooSoonUntil(case.when("05-01 20:35"))
    );
    assert_eq!(judged.actionable, None);
    assert_eq!(case.gate(2, "05-01 20:35"), MarkGate::Allowed);
    assert_eq!(case.gate(2, "05-01 21:30"), MarkGate::Allowed);
    assert_eq!(case.state(2, "05-01 21:31"), State::Late);
    // The extra dose moves no slot.
    assert_eq!(
        case.window(3, "05-01 20:00"),
        pair("05-02 06:30", "05-02 09:30")
    );
    assert_eq!(case.attention("05-01 20:00"), [(Some(1), What::Extra)]);
}

#[test]
fn a_dose_inside_its_window_never_holds_the_next() {
    // Given at the very end of its window, the next opens when it is due and not later.
    let case = twice_a_day().given("05-01 09:30");
    assert_eq!(
        case.at("05-01 12:00").slot(1).unwrap().timing,
        Some(Timing::InWindow)
    );
    assert_eq!(
        case.window(2, "05-01 12:00"),
        pair("05-01 20:00", "05-01 21:30")
    );
    // Given at the very start, the next opens with its own window.
    let case = twice_a_day().given("05-01 06:30");
    assert_eq!(
        case.window(2, "05-01 12:00"),
        pair("05-01 18:30", "05-01 21:30")
    );
}

#[test]
fn both_ends_of_a_window_belong_to_it() {
    let case = twice_a_day();
    for (now, state) in [
        ("05-01 06:29", State::Planned),
        ("05-01 06:30", State::Open),
        ("05-01 09:30", State::Open),
        ("05-01 09:31", State::Late),
    ] {
        assert_eq!(case.state(1, now), state, "{now}");
    }
}

#[test]
fn planned_and_too_soon_are_told_apart() {
    // Nothing has pushed it: the day's card may print "not before 18:30".
    let case = twice_a_day().given("05-01 08:00");
    assert_eq!(case.state(2, "05-01 12:00"), State::Planned);
    assert_eq!(
        case.gate(2, "05-01 12:00"),
        MarkGate::NotBefore(case.when("05-01 18:30"))
    );
    // The last dose has pushed it.
    let case = twice_a_day().given("05-01 08:01");
    assert_eq!(case.state(2, "05-01 12:00"), State::TooSoon);
    assert_eq!(
        case.gate(2, "05-01 12:00"),
        MarkGate::TooSoonUntil(case.when("05-01 18:31"))
    );
}

#[test]
fn a_card_of_two_doses_never_says_a_time_that_the_first_could_make_too_soon() {
    // Slot 1 may still be given at 09:30, so the card of the morning says of slot 2: not before
    // 20:00. Once slot 1 is given, it is known better.
    let case = twice_a_day();
    assert_eq!(
        case.gate(2, "05-01 08:00"),
        MarkGate::NotBefore(case.when("05-01 20:00"))
    );
    let case = case.given("05-01 08:00");
    assert_eq!(
        case.gate(2, "05-01 08:00"),
        MarkGate::NotBefore(case.when("05-01 18:30"))
    );
}

#[test]
fn late_ends_at_half_the_next_gap_to_the_minute() {
    let case = twice_a_day();
    assert_eq!(case.state(1, "05-01 13:59"), State::Late);
    assert_eq!(case.state(1, "05-01 14:00"), State::NotRecorded);
    // The last slot takes its own gap.
    let case = twice_a_day().given_each(&["05-01 08:00", "05-01 20:00", "05-02 08:00"]);
    assert_eq!(case.state(4, "05-03 01:59"), State::Late);
    assert_eq!(case.state(4, "05-03 02:00"), State::NotRecorded);
}

/// At 22:00 on the last valid day, 6 hours each way: the window is whole though the day is not.
#[test]
fn a_window_past_the_last_valid_day_is_open_to_its_last_moment() {
    let case = formed(Form::Once, Count::Slots, KeepCalendar)
        .from("2026-05-01", Some("22:00"), Zone::UTC)
        .valid_until("2026-05-01");
    assert_eq!(
        case.window(1, "05-01 22:00"),
        pair("05-01 16:00", "05-02 04:00")
    );
    assert_eq!(case.state(1, "05-02 04:00"), State::Open);
    assert_eq!(case.state(1, "05-02 04:01"), State::NotRecorded);
}

#[test]
fn a_single_dose_is_late_until_the_prescription_ends() {
    let case = formed(Form::Once, Count::Slots, KeepCalendar).valid_until("2026-05-09");
    assert_eq!(
        case.window(1, "05-01 08:00"),
        pair("05-01 02:00", "05-01 14:00")
    );
    assert_eq!(case.state(1, "05-09 23:59"), State::Late);
    assert_eq!(case.gate(1, "05-09 23:59"), MarkGate::AllowedLate);
    assert_eq!(case.state(1, "05-10 00:00"), State::NotRecorded);
}

#[test]
fn a_late_slot_has_a_mark_that_says_so_or_none_where_the_vet_wants_a_call() {
    for (after, gate) in [
        (KeepCalendar, MarkGate::AllowedLate),
        (CountFromGiven, MarkGate::AllowedLate),
        (Call, MarkGate::LateCall),
    ] {
        assert_eq!(course(hours(12), 4, after).gate(1, "05-01 10:00"), gate);
    }
}

#[test]
fn a_slot_without_an_answer_blocks_every_later_mark() {
    let case = twice_a_day();
    assert_eq!(case.gate(1, "05-01 20:00"), MarkGate::NotRecorded);
    for slot in [2, 3, 4] {
        assert_eq!(case.gate(slot, "05-01 20:00"), MarkGate::BlockedBy(1));
    }
    let answered = case
        .clone()
        .then(Outcome::Missed, "05-01 19:00")
        .for_slot(1);
    assert_eq!(answered.gate(2, "05-01 20:00"), MarkGate::Allowed);
    // While slot 1 is late it is itself the one that may be given.
    assert_eq!(case.at("05-01 10:00").actionable, Some(1));
    assert_eq!(case.gate(2, "05-01 10:00"), MarkGate::BlockedBy(1));
}

#[test]
fn keeping_the_calendar_after_a_very_late_dose_holds_the_next() {
    // 13:00 + 12 h - 1.5 h = 23:30, after 21:30.
    let case = twice_a_day().given("05-01 13:00");
    assert_eq!(case.state(2, "05-01 20:00"), State::Held);
    assert_eq!(case.gate(2, "05-01 20:00"), MarkGate::Held);
    assert_eq!(case.attention("05-01 20:00"), [(Some(2), What::Held)]);
    // The one after that is where it was.
    assert_eq!(
        case.window(3, "05-01 20:00"),
        pair("05-02 06:30", "05-02 09:30")
    );
}

#[test]
fn counting_from_the_dose_given_moves_every_later_slot_by_elapsed_time() {
    let case = course(hours(12), 4, CountFromGiven).given("05-01 13:00");
    assert_eq!(
        case.window(2, "05-01 20:00"),
        pair("05-01 23:30", "05-02 02:30")
    );
    assert_eq!(
        case.window(4, "05-01 20:00"),
        pair("05-02 23:30", "05-03 02:30")
    );
    assert_eq!(
        case.at("05-01 20:00").slot(1).unwrap().timing,
        Some(Timing::Late)
    );
    // A dose in its window moves nothing.
    let case = course(hours(12), 4, CountFromGiven).given("05-01 09:30");
    assert_eq!(
        case.window(3, "05-01 20:00"),
        pair("05-02 06:30", "05-02 09:30")
    );
}

#[test]
fn counting_on_is_elapsed_time_for_slots_by_the_clock_too() {
    // 15 hours late on the day before Warsaw goes forward: 08:00 by the clock becomes 23:00, and
    // the slot of 28 March, an hour ahead, is moved by the same 15 hours.
    let case =
        course(days(2), 3, CountFromGiven).from("2027-03-26", Some("08:00"), zone("Europe/Warsaw"));
    let case = case.given("2027-03-26 23:00");
    let due = |slot: u32| {
        let judged = case.at("2027-03-27 08:00");
        judged.slot(slot).unwrap().due
    };
    assert_eq!(due(2), Due::At(case.when("2027-03-28 23:00")));
    let spring = course(days(1), 3, CountFromGiven)
        .from("2027-03-27", Some("08:00"), zone("Europe/Warsaw"))
        .given("2027-03-27 18:00");
    let judged = spring.at("2027-03-27 19:00");
    // Due 28 March 08:00 +02:00, 23 hours after 27 March 08:00 +01:00; ten hours later.
    assert_eq!(
        judged.slot(2).unwrap().due,
        Due::At(spring.when("2027-03-28 18:00"))
    );
}

#[test]
fn an_unsure_dose_closes_the_gate_and_moves_no_slot() {
    let case = course(hours(12), 4, CountFromGiven).then(Outcome::Unsure, "05-01 13:00");
    assert_eq!(case.state(1, "05-01 20:00"), State::Unsure);
    assert_eq!(
        case.at("05-01 20:00").slot(2).unwrap().due,
        case.at("05-01 08:00").slots[1].due
    );
    assert_eq!(case.state(2, "05-01 20:00"), State::Held);
    assert!(
        case.attention("05-01 20:00")
            .contains(&(Some(1), What::Unsure))
    );
}

#[test]
fn a_refusal_leaves_the_slot_open_until_it_closes() {
    let case = twice_a_day().then(Outcome::Refused, "05-01 08:05");
    assert_eq!(case.state(1, "05-01 09:30"), State::Open);
    assert_eq!(case.gate(1, "05-01 09:30"), MarkGate::Allowed);
    assert_eq!(case.attention("05-01 09:30"), []);
    assert_eq!(case.state(1, "05-01 09:31"), State::Refused);
    assert_eq!(case.attention("05-01 09:31"), [(Some(1), What::Refused)]);
    // It is an answer, and nothing went in.
    assert_eq!(case.gate(2, "05-01 18:30"), MarkGate::Allowed);
    let taken = case.given("05-01 09:00");
    assert_eq!(taken.state(1, "05-01 09:31"), State::Given);
    assert_eq!(taken.at("05-01 10:00").verdict, Verdict::OnTrack);
}

#[test]
fn a_dose_that_did_not_all_stay_in_closes_its_slot_and_invites_no_top_up() {
    for (outcome, state) in [
        (Outcome::PartlyGiven, State::PartlyGiven),
        (Outcome::BroughtUp, State::BroughtUp),
        (Outcome::Unsure, State::Unsure),
    ] {
        let mut case = twice_a_day().then(outcome, "05-01 08:00");
        assert_eq!(case.state(1, "05-01 08:30"), state);
        assert_eq!(case.gate(1, "05-01 08:30"), MarkGate::Answered);
        assert_eq!(case.at("05-01 08:30").slot(1).unwrap().top_up, TopUp::Never);
        case.if_brought_up = true;
        let written = case.at("05-01 08:30").slot(1).unwrap().top_up;
        let expected = if outcome == Outcome::Unsure {
            TopUp::Never
        } else {
            TopUp::AsTheVetSays
        };
        assert_eq!(written, expected);
        assert_eq!(
            case.gate(2, "05-01 18:00"),
            MarkGate::NotBefore(case.when("05-01 18:30"))
        );
    }
}

#[test]
fn a_missed_or_withheld_slot_is_filled_by_a_dose_recorded_later() {
    for outcome in [Outcome::Missed, Outcome::Withheld] {
        let case = twice_a_day()
            .then(outcome, "05-01 07:00")
            .given("05-01 08:00");
        assert_eq!(case.state(1, "05-01 09:00"), State::Given);
    }
}

#[test]
fn a_record_belongs_to_the_nearest_slot_and_between_two_to_the_later() {
    let tied = |at: &str| {
        let judged = twice_a_day().given(at).at("05-01 21:00");
        judged
            .slots
            .iter()
            .find(|s| s.filled_by.is_some())
            .map(|s| s.slot.number)
    };
    assert_eq!(tied("05-01 13:59"), Some(1));
    assert_eq!(tied("05-01 14:00"), Some(2));
    assert_eq!(tied("04-28 08:00"), Some(1));
    let asked = twice_a_day().given("05-01 14:00").for_slot(1);
    assert_eq!(asked.state(1, "05-01 15:00"), State::Given);
    assert_eq!(asked.state(2, "05-01 15:00"), State::Held);
}

#[test]
fn a_dose_given_too_soon_is_recorded_and_wants_attention() {
    let case = twice_a_day().given("05-01 08:00").given("05-01 16:00");
    let judged = case.at("05-01 16:30");
    assert_eq!(judged.slot(2).unwrap().timing, Some(Timing::TooSoon));
    assert_eq!(
        case.attention("05-01 16:30"),
        [(Some(2), What::GivenTooSoon)]
    );
    assert_eq!(judged.adherence.too_soon, 1);
}

/// Every 12 hours with a window of 1 h 30 min each way. Before the first dose there is none; after
/// one at 06:30 the next is far enough at 17:00, and its own window opens at 18:30.
#[test]
fn a_dose_before_its_window_is_too_soon_after_another_only_where_it_is() {
    for (given, now, slot) in [
        (&["05-01 06:00"][..], "05-01 06:10", 1),
        (&["05-01 06:30", "05-01 18:00"], "05-01 18:10", 2),
    ] {
        let early = twice_a_day().given_each(given);
        let what = What::GivenBeforeItsWindow;
        assert_eq!(early.attention(now), [(Some(slot), what)]);
        assert_eq!(early.at(now).adherence.too_soon, 1);
    }
    let close = twice_a_day().given_each(&["05-01 06:30", "05-01 16:59"]);
    assert_eq!(
        close.attention("05-01 17:00"),
        [(Some(2), What::GivenTooSoon)]
    );
    // A dose of another course, whose gap is known, is one before it.
    let other = twice_a_day()
        .other("05-01 00:00", Some(TimeDelta::hours(12)))
        .given("05-01 06:00");
    assert_eq!(
        other.attention("05-01 06:10"),
        [(Some(1), What::GivenTooSoon)]
    );
}

#[test]
fn an_unsure_dose_without_a_slot_is_not_said_to_have_been_given() {
    let twice = twice_a_day()
        .given("05-01 08:00")
        .then(Outcome::Unsure, "05-01 08:20")
        .for_slot(1);
    let attention = twice.attention("05-01 09:00");
    assert_eq!(attention, [(Some(1), What::UnsureExtra)]);
    let adherence = twice.at("05-01 09:00").adherence;
    assert_eq!((adherence.extra, adherence.unsure), (0, 1));
    let stopped = twice_a_day()
        .given("05-01 08:00")
        .told("05-01 12:00", Order::Stop { from: 2 })
        .then(Outcome::Unsure, "05-01 20:00");
    assert_eq!(
        stopped.attention("05-01 21:00"),
        [(Some(2), What::UnsureAgainstInstruction)]
    );
    let skipped = twice_a_day()
        .given("05-01 08:00")
        .told("05-01 12:00", Order::Skip { slot: 2 })
        .then(Outcome::Unsure, "05-01 20:00");
    let remarks = skipped.at("05-01 21:00").remarks;
    let whats: Vec<What> = remarks.iter().map(|remark| remark.what).collect();
    assert_eq!(whats, [What::Unsure, What::UnsureAgainstInstruction]);
}

#[test]
fn what_was_left_out_is_the_vets_instruction_only_where_there_is_one() {
    let recorded = twice_a_day()
        .given("05-01 08:00")
        .then(Outcome::Withheld, "05-01 20:00");
    let what = |case: &Case| {
        let remarks = case.at("05-01 21:00").remarks;
        remarks.iter().map(|remark| remark.what).collect::<Vec<_>>()
    };
    assert_eq!(what(&recorded), [What::RecordedAsWithheld]);
    let told = recorded.told("05-01 12:00", Order::Skip { slot: 2 });
    assert_eq!(what(&told), [What::Withheld]);
}

#[test]
fn a_dose_given_late_is_only_an_exception_at_the_end_under_call_too() {
    let times = ["05-01 11:00", "05-01 22:00", "05-02 08:40", "05-02 20:00"];
    let case = course(hours(12), 4, Call).given_each(&times[..1]);
    assert_eq!(case.at("05-01 12:00").verdict, Verdict::OnTrack);
    // Slot 2 opens at 11:00 + 12 h - 1.5 h = 21:30 and closes then.
    assert_eq!(
        case.window(2, "05-01 12:00"),
        pair("05-01 21:30", "05-01 21:30")
    );
    let case = course(hours(12), 4, Call).given_each(&times);
    let late = [(Some(1), What::GivenLate), (Some(2), What::GivenLate)];
    assert_eq!(case.exceptions("05-03 08:00"), late);
}

#[test]
fn where_doses_given_are_counted_what_was_not_given_is_added_at_the_end() {
    let form = |n| Form::Repeating {
        rhythm: hours(12),
        length: Length::Doses(n),
    };
    let case = formed(form(3), Count::Given, KeepCalendar)
        .then(Outcome::Refused, "05-01 08:00")
        .then(Outcome::Missed, "05-01 20:00")
        .then(Outcome::Unsure, "05-02 08:00");
    assert_eq!(case.at("05-01 09:00").slots.len(), 3);
    assert_eq!(case.at("05-01 10:00").slots.len(), 4);
    // Missed counts, unsure does not.
    assert_eq!(case.at("05-02 09:00").slots.len(), 5);
    assert_eq!(
        case.window(5, "05-02 09:00"),
        pair("05-03 06:30", "05-03 09:30")
    );
    // A slot that was added can itself be refused.
    let case = case.then(Outcome::Withheld, "05-02 20:00");
    assert_eq!(case.at("05-02 21:00").slots.len(), 6);
    assert_eq!(
        formed(form(3), Count::Slots, Call)
            .at("05-02 09:00")
            .slots
            .len(),
        3
    );
}

#[test]
fn listed_days_that_count_doses_given_repeat_their_last_gap() {
    let case = formed(Form::OnDays(vec![0, 14]), Count::Given, KeepCalendar)
        .by_date()
        .then(Outcome::Missed, "05-01 20:00");
    let judged = case.at("05-02 08:00");
    let due = judged.slot(3).unwrap().due.date(case.zone);
    assert_eq!(due, date("2026-05-29"));
}

#[test]
fn the_gap_between_phases_is_the_vets() {
    // Two doses 12 hours apart, then 24 hours, then every 48.
    let each = |hours_apart, doses| Form::Repeating {
        rhythm: hours(hours_apart),
        length: Length::Doses(doses),
    };
    let phases = vec![
        Phase {
            dose: 0,
            gap_before: None,
            form: each(12, 2),
        },
        Phase {
            dose: 1,
            gap_before: Some(Span::Hours(24)),
            form: each(48, 2),
        },
    ];
    let schedule = Schedule::new(phases, Count::Slots, KeepCalendar, None).unwrap();
    let case = Case::new(schedule)
        .given("05-01 08:00")
        .given("05-01 21:30");
    assert_eq!(case.at("05-01 22:00").slot(3).unwrap().slot.dose, 1);
    // Slot 3 is due 2 May 20:00, slack 24 h / 8 = 3 h; slot 2's is 1.5 h: 21:30 + 24 h - 3 h.
    assert_eq!(
        case.window(3, "05-01 22:00"),
        pair("05-02 18:30", "05-02 23:00")
    );
}

#[test]
fn past_its_last_valid_day_or_its_review_a_course_gives_no_marks() {
    let case = twice_a_day()
        .valid_until("2026-05-01")
        .given("05-01 08:00")
        .given("05-01 20:00");
    let limit = date("2026-05-01");
    assert_eq!(
        case.gate(3, "05-01 21:00"),
        MarkGate::ValidUntilPassed(limit)
    );
    assert_eq!(case.attention("05-01 21:00"), []);
    assert_eq!(
        case.gate(3, "05-02 08:00"),
        MarkGate::ValidUntilPassed(limit)
    );
    assert_eq!(
        case.attention("05-02 08:00"),
        [(Some(3), What::ValidUntilPassed)]
    );
}
