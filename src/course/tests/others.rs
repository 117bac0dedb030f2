//! What other courses of the same medicine and the vet's later instructions change.

use chrono::TimeDelta;

use super::{formed, pair, twice_a_day};
use crate::course::{MarkGate, Order, Outcome, State, Timing, TopUp, Verdict, What};
use crate::schedule::{AfterLate, Count, Form};

use AfterLate::Call;

#[test]
fn the_first_slot_waits_for_the_longer_of_two_courses_gaps() {
    // 12 hours here, 24 there: 30 April 20:00 + 24 h - 1.5 h.
    let day = TimeDelta::hours(24);
    let case = twice_a_day().other("04-30 20:00", Some(day));
    assert_eq!(
        case.window(1, "05-01 08:00"),
        pair("05-01 18:30", "05-01 09:30")
    );
    assert_eq!(case.state(1, "05-01 08:00"), State::Held);
    let case = twice_a_day().other("04-30 20:00", Some(TimeDelta::hours(6)));
    assert_eq!(
        case.window(1, "05-01 08:00"),
        pair("05-01 06:30", "05-01 09:30")
    );
    let case = twice_a_day().other("04-30 21:00", None);
    assert_eq!(
        case.window(1, "05-01 08:00"),
        pair("05-01 07:30", "05-01 09:30")
    );
    assert_eq!(
        case.gate(1, "05-01 07:00"),
        MarkGate::TooSoonUntil(case.when("05-01 07:30"))
    );
}

#[test]
fn without_any_known_gap_the_first_slot_is_held() {
    let once = formed(Form::Once, Count::Slots, Call);
    let case = once.clone().other("04-01 08:00", None);
    assert_eq!(case.state(1, "05-01 08:00"), State::Held);
    assert_eq!(case.at("05-01 08:00").slot(1).unwrap().opens, None);
    let case = once.other("04-01 08:00", Some(TimeDelta::days(14)));
    assert_eq!(case.state(1, "05-01 08:00"), State::Open);
}

#[test]
fn a_dose_of_another_course_closes_the_gate_in_the_middle_too() {
    let case = twice_a_day()
        .given("05-01 08:00")
        .other("05-01 12:00", Some(TimeDelta::hours(6)));
    assert_eq!(
        case.window(2, "05-01 18:00"),
        pair("05-01 22:30", "05-01 21:30")
    );
    assert_eq!(case.state(2, "05-01 20:00"), State::Held);
    // A refusal there is no dose.
    let mut case = case;
    case.other_doses[0].outcome = Outcome::Refused;
    assert_eq!(case.state(2, "05-01 20:00"), State::Open);
}

#[test]
fn a_course_tells_another_what_it_gave_and_by_what_gap() {
    let case = twice_a_day()
        .given_each(&["05-01 08:00", "05-01 10:00"])
        .then(Outcome::Refused, "05-01 20:00");
    let doses = case.at("05-01 21:00").doses();
    let said = doses
        .iter()
        .map(|dose| (dose.happened, dose.gap))
        .collect::<Vec<_>>();
    let gap = Some(TimeDelta::hours(12));
    assert_eq!(
        said,
        [
            (case.when("05-01 08:00"), gap),
            (case.when("05-01 10:00"), gap)
        ]
    );
}

#[test]
fn a_slot_the_vet_says_to_skip_is_withheld_without_reproach() {
    let case = twice_a_day()
        .given("05-01 08:00")
        .told("05-01 12:00", Order::Skip { slot: 2 })
        .given_each(&["05-02 08:00", "05-02 20:00"]);
    assert_eq!(case.state(2, "05-01 20:00"), State::Withheld);
    assert_eq!(case.at("05-01 21:00").verdict, Verdict::OnTrack);
    assert_eq!(case.exceptions("05-03 08:00"), [(Some(2), What::Withheld)]);
    // Before it was said, it was not so.
    assert_eq!(case.state(2, "05-01 11:00"), State::Planned);
    let against = case.given("05-01 20:00").for_slot(2);
    assert_eq!(
        against.attention("05-01 21:00"),
        [(Some(2), What::AgainstInstruction)]
    );
}

#[test]
fn a_dose_now_overrides_the_gate_and_lapses_with_the_dose() {
    let case = twice_a_day()
        .given("05-01 13:00")
        .told("05-01 20:00", Order::DoseNow { slot: 2 });
    assert_eq!(case.gate(2, "05-01 20:10"), MarkGate::Allowed);
    assert_eq!(case.gate(2, "05-02 02:01"), MarkGate::NotRecorded);
    let case = case.given("05-01 20:15");
    assert_eq!(case.gate(2, "05-01 20:20"), MarkGate::Answered);
    assert_eq!(
        case.at("05-01 20:20").slot(2).unwrap().timing,
        Some(Timing::Instructed)
    );
    assert_eq!(case.attention("05-01 20:20"), []);
    // The gap to the next one holds from then: 20:15 + 12 h - 1.5 h.
    assert_eq!(
        case.window(3, "05-01 20:20"),
        pair("05-02 06:45", "05-02 09:30")
    );
}

#[test]
fn a_dose_now_reopens_a_slot_that_nobody_is_sure_of_once() {
    let unsure = twice_a_day().then(Outcome::Unsure, "05-01 08:00");
    let case = unsure.told("05-01 08:30", Order::DoseNow { slot: 1 });
    assert_eq!(case.at("05-01 08:40").actionable, Some(1));
    assert_eq!(
        case.at("05-01 08:40").slot(1).unwrap().top_up,
        TopUp::AsTheVetSays
    );
    let case = case
        .given("05-01 08:45")
        .told("05-01 09:00", Order::Settled { record: 1 });
    assert_eq!(case.state(1, "05-01 09:10"), State::Given);
    assert_eq!(case.gate(1, "05-01 09:10"), MarkGate::Answered);
    assert_eq!(case.at("05-01 09:10").verdict, Verdict::OnTrack);
    let case = case.given("05-01 09:05");
    assert_eq!(case.at("05-01 09:10").extras.len(), 1);
}

#[test]
fn of_a_late_slot_and_one_the_vet_wants_now_only_the_latter_is_open() {
    let case = twice_a_day().told("05-01 12:00", Order::DoseNow { slot: 2 });
    let judged = case.at("05-01 12:10");
    assert_eq!(judged.actionable, Some(2));
    assert_eq!(judged.slot(1).unwrap().gate, MarkGate::BlockedBy(2));
}

#[test]
fn brought_up_after_it_was_given_is_about_that_dose() {
    let given = twice_a_day().given("05-01 08:00");
    let case = given.clone().then(Outcome::BroughtUp, "05-01 08:20");
    let judged = case.at("05-01 12:00");
    assert_eq!(judged.extras, []);
    let slot = judged.slot(1).unwrap();
    assert_eq!((slot.state, slot.top_up), (State::BroughtUp, TopUp::Never));
    assert_eq!(slot.timing, Some(Timing::InWindow));
    assert_eq!(slot.records.len(), 2);
    assert_eq!(
        case.attention("05-01 12:00"),
        [(Some(1), What::BroughtUp)],
        "one dose, one remark"
    );
    // The gate counts from when it came up, on the safe side.
    let opens = judged.slot(2).unwrap().opens;
    assert_eq!(opens, Some(case.when("05-01 18:50")));
    assert_eq!(judged.adherence.longest_gap, None, "nothing new went in");
    // Half the gap, 6 hours, is as long as it is taken for the same dose; it was nearer to the
    // evening's by then.
    let case = given.clone().then(Outcome::BroughtUp, "05-01 14:00");
    assert_eq!(case.state(1, "05-01 14:30"), State::BroughtUp);
    let case = given.then(Outcome::BroughtUp, "05-01 14:01");
    assert_eq!(case.state(1, "05-01 14:30"), State::Given);
    assert_eq!(case.state(2, "05-01 14:30"), State::BroughtUp);
    // Without a dose before it, it is a dose of its own.
    let alone = twice_a_day().then(Outcome::BroughtUp, "05-01 08:00");
    assert_eq!(alone.state(1, "05-01 09:00"), State::BroughtUp);
}

#[test]
fn after_a_death_nothing_waits_for_an_answer() {
    use crate::course::Ending;
    let case = twice_a_day()
        .given("05-01 08:00")
        .ended(Ending::Died, "05-02 07:00");
    // The evening's dose was not recorded; nobody is asked about it any more.
    let judged = case.at("05-02 12:00");
    assert_eq!(judged.slot(2).unwrap().state, State::NotRecorded);
    assert!(judged.slots.iter().all(|slot| !slot.waits()));
    assert_eq!((judged.next, judged.actionable), (None, None));
}
