//! How courses end, and the word on each.

use super::{Case, course, formed, hours};
use crate::course::{Ending, MarkGate, Order, Outcome, State, Verdict, What};
use crate::schedule::{AfterLate, Count, Form, Length};

const THREE: [&str; 3] = ["05-01 08:00", "05-04 08:00", "05-07 08:00"];

/// Every 72 hours, 7 doses.
fn seven() -> Case {
    course(hours(72), 7, AfterLate::KeepCalendar)
}

fn until_stopped() -> Case {
    let review = super::date("2026-05-08");
    let form = Form::Repeating {
        rhythm: hours(72),
        length: Length::UntilStopped { review },
    };
    formed(form, Count::Slots, AfterLate::KeepCalendar)
}

#[test]
fn an_animal_dies_after_dose_three_of_seven_and_four_slots_vanish_quietly() {
    let case = seven()
        .given_each(&THREE)
        .ended(Ending::Died, "05-09 03:00");
    let judged = case.at("06-30 12:00");
    assert_eq!(judged.verdict, Verdict::EndedEarly(Ending::Died));
    let gone = judged
        .slots
        .iter()
        .filter(|s| s.state == State::Gone)
        .count();
    assert_eq!((gone, judged.next, judged.actionable), (4, None, None));
    assert!(judged.slots[3..].iter().all(|s| s.gate == MarkGate::Ended));
    assert_eq!(judged.remarks, []);
    // While it lived, the course was on track.
    assert_eq!(case.at("05-09 02:00").verdict, Verdict::OnTrack);
}

#[test]
fn what_was_unanswered_when_it_ended_is_not_held_against_anyone() {
    let unanswered = seven().given_each(&THREE[..2]);
    for how in [
        Ending::Died,
        Ending::Rehomed,
        Ending::Transferred,
        Ending::StoppedByVet,
    ] {
        let case = unanswered.clone().ended(how, "05-09 03:00");
        assert_eq!(case.at("05-30 12:00").verdict, Verdict::EndedEarly(how));
        assert_eq!(case.state(3, "05-30 12:00"), State::NotRecorded);
        let after = case.given("05-09 08:00");
        let what = [(Some(4), What::AfterTheEnd)];
        assert_eq!(after.attention("05-30 12:00"), what, "{how:?}");
    }
}

#[test]
fn complete_is_every_slot_given_in_its_window_at_its_mark() {
    let all = ["05-01 08:00", "05-04 09:00", "05-07 03:00", "05-10 14:00"];
    let case = course(hours(72), 4, AfterLate::Call).given_each(&all);
    assert_eq!(case.at("05-10 14:00").verdict, Verdict::Complete);
    assert_eq!(case.at("05-10 13:00").verdict, Verdict::OnTrack);
    assert_eq!(case.at("06-30 12:00").verdict, Verdict::Complete);
    let mut off_the_mark = case.clone();
    off_the_mark.records[2].at_mark = false;
    assert_eq!(
        off_the_mark.exceptions("05-11 08:00"),
        [(Some(3), What::NotAtMark)]
    );
    // A death afterwards does not undo it.
    let case = case.ended(Ending::Died, "05-20 08:00");
    assert_eq!(case.at("06-30 12:00").verdict, Verdict::Complete);
}

#[test]
fn the_beginning_is_neither_on_track_nor_in_trouble() {
    assert_eq!(seven().at("04-20 08:00").verdict, Verdict::NotStarted);
    assert_eq!(seven().at("05-01 14:00").verdict, Verdict::NotStarted);
    assert_eq!(seven().attention("05-01 14:01"), [(Some(1), What::LateNow)]);
    assert_eq!(
        seven().attention("05-02 20:00"),
        [(Some(1), What::NotRecorded)]
    );
    assert_eq!(
        seven().given(THREE[0]).at("05-02 08:00").verdict,
        Verdict::OnTrack
    );
}

#[test]
fn unsure_missed_refused_partly_and_extra_need_attention_until_the_vet_has_spoken() {
    let two = || course(hours(72), 2, AfterLate::Call).given("05-04 08:00");
    for (outcome, what) in [
        (Outcome::Unsure, What::Unsure),
        (Outcome::Missed, What::Missed),
        (Outcome::Refused, What::Refused),
        (Outcome::PartlyGiven, What::PartlyGiven),
        (Outcome::BroughtUp, What::BroughtUp),
    ] {
        let case = two().then(outcome, "05-01 08:00");
        assert_eq!(case.attention("05-05 08:00"), [(Some(1), what)]);
        let case = case.told("05-05 09:00", Order::Settled { record: 2 });
        assert_eq!(case.attention("05-05 08:59"), [(Some(1), what)]);
        assert_eq!(case.exceptions("05-05 09:00"), [(Some(1), what)]);
    }
    let extra = two().given_each(&["05-01 08:00", "05-01 09:00"]);
    assert_eq!(extra.attention("05-05 08:00"), [(Some(1), What::Extra)]);
    let withheld = two().then(Outcome::Withheld, "05-01 08:00");
    assert_eq!(
        withheld.exceptions("05-05 08:00"),
        [(Some(1), What::RecordedAsWithheld)]
    );
}

#[test]
fn the_vets_stop_takes_every_later_slot_away() {
    let case = seven()
        .given_each(&THREE)
        .told("05-08 08:00", Order::Stop { from: 5 });
    assert_eq!(case.at("05-08 08:00").verdict, Verdict::OnTrack);
    assert_eq!(case.state(5, "05-08 08:00"), State::Gone);
    let case = case.given("05-10 08:00");
    assert_eq!(
        case.at("05-10 08:00").verdict,
        Verdict::EndedEarly(Ending::StoppedByVet)
    );
    let case = case.given("05-13 08:00");
    assert_eq!(
        case.attention("05-14 08:00"),
        [(Some(5), What::AgainstInstruction)]
    );
    // A dose given before the stop, recorded after it, has its slot.
    let back_entry = seven()
        .told("05-08 08:00", Order::Stop { from: 3 })
        .given_each(&THREE);
    assert_eq!(back_entry.state(3, "05-09 08:00"), State::Given);
}

#[test]
fn a_course_without_a_number_waits_for_the_vet_at_its_review() {
    let case = until_stopped().given_each(&THREE);
    assert_eq!(case.at("05-07 09:00").slots.len(), 3);
    assert_eq!(case.at("05-08 23:59").verdict, Verdict::OnTrack);
    assert_eq!(case.attention("05-09 00:00"), [(None, What::ReviewPassed)]);
    let goes_on = case.clone().told(
        "05-08 12:00",
        Order::Review {
            on: super::date("2026-05-14"),
        },
    );
    assert_eq!(goes_on.at("05-09 00:00").slots.len(), 5);
    assert_eq!(goes_on.at("05-09 00:00").verdict, Verdict::OnTrack);
    assert_eq!(goes_on.at("05-08 11:00").slots.len(), 3);
    // A slot in the last days of the review is not to be given after it.
    let late = until_stopped().given_each(&THREE[..2]);
    let review = super::date("2026-05-08");
    assert_eq!(late.gate(3, "05-09 00:00"), MarkGate::ReviewPassed(review));
}

#[test]
fn the_vets_stop_is_how_a_course_without_a_number_is_meant_to_end() {
    let case = until_stopped().given_each(&THREE[..2]);
    let stopped = case.clone().told("05-06 08:00", Order::Stop { from: 3 });
    assert_eq!(stopped.at("05-20 08:00").verdict, Verdict::Complete);
    let ended = case.clone().ended(Ending::StoppedByVet, "05-06 08:00");
    assert_eq!(ended.at("05-20 08:00").verdict, Verdict::Complete);
    let died = case.ended(Ending::Died, "05-06 08:00");
    assert_eq!(
        died.at("05-20 08:00").verdict,
        Verdict::EndedEarly(Ending::Died)
    );
    let never = until_stopped().told("04-30 08:00", Order::Stop { from: 1 });
    assert_eq!(
        never.at("05-20 08:00").verdict,
        Verdict::EndedEarly(Ending::StoppedByVet)
    );
}

#[test]
fn the_words_have_no_reproach() {
    assert_eq!(State::NotRecorded.to_string(), "not recorded");
    assert!(!What::NotRecorded.to_string().contains("missed"));
    assert_eq!(Ending::Died.to_string(), "the animal died");
}
