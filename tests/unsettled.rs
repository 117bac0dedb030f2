//! After something went wrong with a dose, nothing is drawn, or the vet is called first, until the
//! vet has spoken; and what went wrong is seen whichever order it is written down in.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};

const BY_PHONE: &str = "--said-by \"Dr A. Example\" --taken-by AK --read-back yes";

fn every_third_day() -> Script {
    let schedule = r#"Every(interval: "72 hours", doses: 4)"#;
    Script::new("DEMO-0001", &["Thimblo"], schedule)
}

fn reasons(room: &mut Room) -> Vec<String> {
    let dose = room.dose_of("Thimblo");
    let reasons = dose["no_mark"].as_array().unwrap();
    let code = |reason: &serde_json::Value| reason["code"].as_str().unwrap().to_owned();
    reasons.iter().map(code).collect()
}

/// 310 g for 31.0 g: 6.2 mg, 0.775 mL of 8 mg/mL, to the lower line at 0.77 mL, which holds
/// 6.16 mg; by 31 g that is 198.7 mg/kg instead of 20.
#[test]
fn a_dose_by_a_weight_struck_out_is_held_against_the_right_one() {
    let mut room = Room::new("mended-weight", "UTC");
    room.run("syringe add 1/0.01 --for injection --needle fixed")
        .ends(0);
    room.at("2001-03-01 07:00")
        .run("animal add Thimblo --species \"invented gecko\" --id tub")
        .ends(0);
    let weighing = room
        .run("weigh Thimblo \"310 g\"")
        .ends(0)
        .says("This is its first weighing, and nothing stands beside it yet: look at the scale once more")
        .entry();
    let script = Script::twice_a_day();
    room.opens(script.medicine, script.strength)
        .enters(&script, "2001-03-01 08:00")
        .at("2001-03-01 08:00");
    room.run("give Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("0.77 mL");
    room.at("2001-03-01 08:30")
        .run(&format!(
            "correct {weighing} --because \"read 310, was 31.0\""
        ))
        .ends(0);
    room.run("weigh Thimblo \"31 g\"").ends(0);
    room.run("check Thimblo")
        .ends(1)
        .says("Thimblo, DEMO-0001 (Madeup Amber): needs attention")
        .says("measured by 310 g, a weight since struck out; by 31 g it was 10 times the dose: call your vet now")
        .says("about 198.7 mg/kg");
    room.run("report Thimblo").ends(0).says("about 198.7 mg/kg");
    room.at("2001-03-01 20:00");
    assert_eq!(reasons(&mut room), ["unsettled"]);
    let given = room.course_of("Thimblo")["flagged"][0]["entry"].clone();
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --settled {given} {BY_PHONE}"
    ))
    .ends(0);
    assert_eq!(reasons(&mut room), Vec::<String>::new());
    room.run("report Thimblo")
        .ends(0)
        .says("measured by 310 g, a weight since struck out; by 31 g it was 10 times the dose");
    for day in ["01 20:00", "02 08:00", "02 20:00", "03 08:00", "03 20:00"] {
        room.at(&format!("2001-03-{day}"))
            .run("give Thimblo DEMO-0001")
            .ends(0);
    }
    room.run("check Thimblo")
        .ends(0)
        .says("complete with exceptions");
    assert_eq!(
        room.course_of("Thimblo")["flagged"][0].clone(),
        serde_json::Value::Null
    );
}

/// Promise 7: given twice, and nothing more is drawn until the vet has spoken.
#[test]
fn after_a_dose_too_many_there_is_no_mark_until_the_vet_has_spoken() {
    let mut room = Room::with_course("too-many", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001 --by AK").ends(0);
    let twice = room
        .at("2001-03-01 08:20")
        .run("give Thimblo DEMO-0001 --by BM --dose 1")
        .ends(0)
        .says("CALL YOUR VET NOW")
        .entry();
    room.at("2001-03-02 08:00");
    room.run("missed Thimblo DEMO-0001 --dose 2").ends(0);
    room.run("today")
        .says("STOP")
        .says(&format!("Entry {twice}: a dose was given beside those of the schedule. Draw nothing until your vet has said how to go on"));
    assert_eq!(reasons(&mut room), ["unsettled"]);
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --settled {twice} {BY_PHONE}"
    ))
    .ends(0);
    assert_eq!(reasons(&mut room), Vec::<String>::new());
}

/// Nothing more is due that day, and the day's card says STOP all the same, on every face; both
/// doses stand on it.
#[test]
fn a_day_without_a_dose_says_stop_too() {
    let mut room = Room::with_course("off-card", &every_third_day());
    room.run("give Thimblo DEMO-0001 --by AK").ends(0);
    let twice = room
        .at("2001-03-01 08:20")
        .run("give Thimblo DEMO-0001 --by BM --dose 1")
        .ends(0)
        .entry();
    let why = format!("Entry {twice}: a dose was given beside those of the schedule");
    let page = room.path("today.html");
    let paper = room.path("today.pdf");
    let today = format!("today --html {page} --pdf {paper}");
    room.run(&today)
        .says("No dose is due on this day")
        .says("STOP. Thimblo, DEMO-0001, not on this card. Call ")
        .says(&why)
        .says("dose 1: given at 08:00")
        .says("dose 1: given, beside the schedule at 08:20");
    assert!(std::fs::read_to_string(&page).unwrap().contains(&why));
    let other = &room.json("today")["off_card"][0];
    assert_eq!(other["level"], "stop");
    let sheet = room.json("sheet course Thimblo DEMO-0001");
    assert_eq!(sheet["doses"][0]["records"][1]["entry"], twice);
    room.at("2001-03-02 08:00").run("today").says(&why);
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --settled {twice} {BY_PHONE}"
    ))
    .ends(0);
    room.run("today").is_silent_about("STOP");
}

/// An animal that has lost weight is called about on a day without a dose: 27.5 g after 31 g are 11.3
/// percent less, past the program's 10.
#[test]
fn a_day_without_a_dose_says_call_too() {
    let mut room = Room::with_course("off-card-loss", &every_third_day());
    room.run("give Thimblo DEMO-0001 --by AK").ends(0);
    room.at("2001-03-02 08:00")
        .run("today")
        .is_silent_about("CALL");
    room.run("weigh Thimblo \"27.5 g\"").ends(0);
    room.run("today")
        .says("No dose is due on this day")
        .says("CALL. Thimblo, DEMO-0001, not on this card. Call ");
}

/// So does one that was brought up.
#[test]
fn a_day_without_a_dose_says_to_call_about_one_brought_up() {
    let mut room = Room::with_course("off-card-up", &every_third_day());
    let entry = room.run("brought-up Thimblo DEMO-0001").ends(0).entry();
    let call = "CALL. Thimblo, DEMO-0001, not on this card. Call 555 0134 (not a number). Dose 1: brought up: give no more of it unless your vet says so";
    room.at("2001-03-02 08:00").run("today").says(call);
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --settled {entry} {BY_PHONE}"
    ))
    .ends(0);
    room.run("today").is_silent_about("CALL");
}

/// The codes of what stands against a course's dose today.
fn against(room: &mut Room, reference: &str) -> Vec<String> {
    let day = room.json("today");
    let doses = day["doses"].as_array().unwrap();
    let dose = doses.iter().find(|dose| dose["prescription"] == reference);
    let reasons = dose.unwrap()["no_mark"].as_array().unwrap();
    let code = |reason: &serde_json::Value| reason["code"].as_str().unwrap().to_owned();
    reasons.iter().map(code).collect()
}

/// A second course of the same medicine, once a day at 08:30 from 2 March.
const SECOND: Script = Script::new(
    "DEMO-0002",
    &["Thimblo"],
    r#"Every(interval: "24 hours", doses: 3)"#,
);

/// A dose that nobody answered for may have been given: no course of that medicine goes on before
/// somebody has said what became of it, however long ago its window was.
#[test]
fn a_dose_not_answered_for_holds_the_other_course_of_the_medicine_too() {
    let mut room = Room::with_course("other-course", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001").ends(0);
    room.enters(&SECOND, "2001-03-02 08:30");
    // Dose 2 of the first was due at 20:00, late until 08:00.
    room.at("2001-03-02 08:40");
    assert_eq!(against(&mut room, "DEMO-0002"), ["held"]);
    room.run("today").says("Dose 2 of course DEMO-0001, of the same medicine, due Thu 1 March 20:00, is not answered for");
    room.run("missed Thimblo DEMO-0001 --dose 2").ends(0);
    room.run("missed Thimblo DEMO-0001 --dose 3").ends(0);
    assert_eq!(against(&mut room, "DEMO-0002"), Vec::<String>::new());
}

/// So it is within one day, whichever of the two was entered first: what was to be given once at
/// 09:00 is not answered for, and dose 2 of the other is due at 20:00.
#[test]
fn a_dose_not_answered_for_this_morning_holds_the_other_course_tonight() {
    let mut room = Room::with_course("other-course-today", &Script::twice_a_day());
    let once = Script::new("DEMO-0002", &["Thimblo"], "Once");
    room.enters(&once, "2001-03-01 09:00");
    room.run("withheld Thimblo DEMO-0001 --dose 1").ends(0);
    // Late or not, and whether or not the other has a place on this card.
    room.at("2001-03-01 20:00")
        .run("today")
        .says("Dose 1 of course DEMO-0002, of the same medicine, due Thu 1 March 09:00, is not answered for");
    room.run("missed Thimblo DEMO-0002 --dose 1").ends(0);
    assert_eq!(against(&mut room, "DEMO-0001"), Vec::<String>::new());
}

/// After a dose too many no course of that medicine has a mark, and a round says why.
#[test]
fn a_dose_too_many_stops_the_other_course_of_the_medicine_too() {
    let mut room = Room::with_course("other-stop", &every_third_day());
    room.run("give Thimblo DEMO-0001").ends(0);
    room.at("2001-03-01 08:20")
        .run("give Thimblo DEMO-0001 --dose 1")
        .ends(0);
    room.enters(&SECOND, "2001-03-02 08:30");
    room.at("2001-03-02 08:40");
    // Held too: it is less than a day since the last dose.
    assert!(against(&mut room, "DEMO-0002").contains(&"unsettled".to_owned()));
    room.at("2001-03-01 20:00")
        .typing("")
        .run("round")
        .says("STOP. Thimblo, DEMO-0001, not on this card");
}

/// How the vet said to go on stands beside the next dose, and whether it was read back.
#[test]
fn what_settles_a_dose_is_said_beside_the_next_one() {
    let mut room = Room::with_course("settled-words", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001").ends(0);
    let twice = room
        .at("2001-03-01 08:20")
        .run("give Thimblo DEMO-0001 --dose 1")
        .ends(0)
        .entry();
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --settled {twice} --words \"leave out the next one\" --said-by \"Dr A. Example\" --taken-by AK --read-back no"
    ))
    .ends(0);
    room.at("2001-03-01 20:30")
        .run("today")
        .says("leave out the next one")
        .says("NOT READ BACK");
    room.run("missed Thimblo DEMO-0001 --dose 2").ends(0);
    room.at("2001-03-02 08:00");
    room.run("today").says("leave out the next one");
    room.run("give Thimblo DEMO-0001").ends(0);
    room.at("2001-03-02 20:00")
        .run("today")
        .is_silent_about("leave out the next one");
}

/// An entry that nothing was wrong with cannot be settled beforehand, nor before it happened.
#[test]
fn only_what_went_wrong_can_be_settled() {
    let mut room = Room::with_course("settled-early", &Script::twice_a_day());
    let first = room.run("give Thimblo DEMO-0001").ends(0).entry();
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --settled {first} {BY_PHONE}"
    ))
    .ends(2)
    .says("that waits for your vet's word: none does");
    let twice = room
        .at("2001-03-01 08:20")
        .run("give Thimblo DEMO-0001 --dose 1")
        .ends(0)
        .entry();
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --settled {twice} --at 08:10 {BY_PHONE}"
    ))
    .ends(2)
    .says("write with --at when it was said");
}

/// The only weight was wrong: nobody knows what the dose was, and the course is not complete.
#[test]
fn a_course_by_a_weight_that_does_not_stand_is_not_complete() {
    let mut room = Room::new("no-weight", "UTC");
    room.at("2001-03-01 07:00")
        .run("animal add Thimblo --species \"invented gecko\" --id tub")
        .ends(0);
    room.run("syringe add 0.3/0.005 --for injection --needle fixed");
    let weighing = room.run("weigh Thimblo \"31 g\"").ends(0).entry();
    let once = Script::new("DEMO-0001", &["Thimblo"], "Once");
    room.opens(once.medicine, once.strength)
        .enters(&once, "2001-03-01 08:00")
        .at("2001-03-01 08:00");
    room.run("give Thimblo DEMO-0001").ends(0);
    room.run("check Thimblo").ends(0).says("complete");
    room.run(&format!("correct {weighing} --because \"another animal\""))
        .ends(0);
    room.run("check Thimblo")
        .ends(1)
        .says("needs attention")
        .says("measured by 31 g, a weight since struck out, and no other is in the book");
}

/// Two people gave it; the one who gave it first writes it down second.
#[test]
fn a_dose_written_down_for_an_earlier_moment_stops_too() {
    let mut room = Room::with_course("earlier", &Script::twice_a_day());
    room.at("2001-03-01 08:20")
        .run("give Thimblo DEMO-0001 --by BM")
        .ends(0);
    let before = room.book();
    room.at("2001-03-01 08:30")
        .typing("no\n")
        .run("give Thimblo DEMO-0001 --at 08:05 --by AK")
        .says("STOP. Dose 1 is recorded already as given")
        .says("If this is about that same dose, type no");
    assert_eq!(room.book(), before);
}

/// A bottle of ten times the strength: 0.075 mL of 80 mg/mL.
#[test]
fn after_a_bottle_of_another_strength_there_is_no_mark_until_the_vet_has_spoken() {
    let mut room = Room::with_course("other-strength", &Script::twice_a_day());
    room.opens("Madeup Amber", "80 mg/mL");
    room.run("give Thimblo DEMO-0001 --bottle 2 --drawn \"0.075 mL\"")
        .ends(0)
        .says("CALL YOUR VET NOW");
    room.run("check Thimblo")
        .ends(1)
        .says("Thimblo, DEMO-0001 (Madeup Amber): needs attention")
        .says("the bottle read another strength");
    let given = room.course_of("Thimblo")["flagged"][0]["entry"].clone();
    // What is read back to the vet is what went wrong.
    room.typing("no\n")
        .run(&format!(
            "instruct Thimblo DEMO-0001 --settled {given} {BY_PHONE}"
        ))
        .says("the bottle read another strength");
    room.run("bottle done 2 --discarded");
    room.at("2001-03-01 20:00");
    assert_eq!(reasons(&mut room).first().unwrap(), "unsettled");
}

/// Nobody knows whether it went in: the next card has its mark, and says to call first.
#[test]
fn after_an_unsure_dose_the_card_says_to_call_first() {
    let mut room = Room::with_course("not-sure", &Script::twice_a_day());
    let unsure = room
        .at("2001-03-01 09:00")
        .run("unsure Thimblo DEMO-0001 --at 08:10")
        .ends(0)
        .entry();
    room.at("2001-03-01 20:10");
    room.run("today").says(&format!(
        "Entry {unsure}: nobody knows whether the dose was given, and your vet has not spoken about it yet. Call before you give anything"
    ));
    assert_eq!(reasons(&mut room), Vec::<String>::new());
}

/// A hundred times, not only ten: typed a second time, and --yes does not stand for it.
#[test]
fn a_figure_far_from_the_one_before_is_typed_twice() {
    let mut room = Room::with_course("far", &Script::twice_a_day());
    let before = room.book();
    for (rate, far) in [
        ("2,000 mg/kg", "100 times as much as"),
        ("120 mg/kg", "6 times as much as"),
        ("0.2 mg/kg", "100 times less than"),
    ] {
        room.run(&format!(
            "instruct Thimblo DEMO-0001 --rate \"{rate}\" {BY_PHONE}"
        ))
        .ends(2)
        .says(&format!("{rate} is {far} 20 mg/kg"));
    }
    // 0.0775 mL was to be drawn: 1 mL is 12.9 times as much.
    room.run("give Thimblo DEMO-0001 --drawn \"1 mL\"")
        .ends(2)
        .says("1 mL is about 13 times as much as the dose");
    assert_eq!(room.book(), before);
}

/// Whoever records that a dose is withheld records that the vet said so; given all the same, it is
/// as if the vet's word were in the book.
#[test]
fn a_dose_given_after_it_was_withheld_is_held_against_the_word_of_the_vet() {
    let mut room = Room::with_course("withheld-given", &Script::twice_a_day());
    let withheld = room.run("withheld Thimblo DEMO-0001").ends(0).entry();
    room.run("check").ends(0);
    room.at("2001-03-01 08:10");
    let given = room
        .run("give Thimblo DEMO-0001")
        .says(&format!("If this is that same dose once more, type no: nothing is left to do. If entry {withheld} is not what happened, type no, strike it out"))
        .says("once your vet has spoken")
        .entry();
    room.run("check")
        .ends(1)
        .says("needs attention")
        .says("though the vet had said not to give it: call your vet now")
        .says("next: dose 2, due Thu 1 March 20:00, once your vet has spoken")
        .is_silent_about("its mark is shown from then on");
    room.at("2001-03-01 20:00");
    assert_eq!(reasons(&mut room), ["unsettled"]);
    assert_eq!(room.course_of("Thimblo")["held_for_your_vet"], true);
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --settled {given} {BY_PHONE}"
    ))
    .ends(0);
    assert_eq!(reasons(&mut room), Vec::<String>::new());
    assert_eq!(room.course_of("Thimblo")["held_for_your_vet"], false);
    // What was withheld before it is struck out is no word of the vet.
    room.at("2001-03-02 07:00");
    room.run(&format!("correct {withheld} --because \"not said\""))
        .ends(0);
    room.run("check")
        .is_silent_about("though the vet had said not to give it");
}

/// The vet accepted a weight that the keeper had read wrongly, and that is struck out then: there is
/// no mark by it. A weight that the vet accepts anew is one.
#[test]
fn a_weight_that_the_vet_accepted_goes_with_the_weighing() {
    let mut room = Room::with_course("accepted-gone", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001").ends(0);
    room.at("2001-03-01 19:00");
    let wrong = room.run("weigh Thimblo \"35 g\"").ends(0).entry();
    let accept = |weight: &str| {
        format!("instruct Thimblo DEMO-0001 --accept-weight \"{weight}\" {BY_PHONE}")
    };
    room.run(&accept("35 g")).ends(0);
    room.at("2001-03-01 20:00");
    assert_eq!(reasons(&mut room), Vec::<String>::new());
    room.run(&format!("correct {wrong} --because \"not tared\""))
        .ends(0);
    room.run("weigh Thimblo \"30.5 g\"").ends(0);
    assert_eq!(reasons(&mut room), ["held"]);
    room.run("today")
        .says("Your vet accepted 35 g")
        .says("a weighing that was then struck out");
    room.run(&accept("30.5 g")).ends(0);
    assert_eq!(reasons(&mut room), Vec::<String>::new());
}
