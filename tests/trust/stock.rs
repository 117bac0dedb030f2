//! What the courses need against what is in hand; every figure worked by hand beside it.

use crate::room::{Room, Script};
use serde_json::Value;

fn need(room: &mut Room, at: usize) -> Value {
    room.json("stock")["needs"][at].clone()
}

/// S as in the scenarios, and it loses 0.07 mL in the hub. 12 g: 0.03 mL; 31 g: 0.075 mL.
fn two_animals(name: &str) -> Room {
    let mut room = Room::bare(name, "Europe/Warsaw");
    room.at("2027-03-21 12:00")
        .run("syringe add 0.3/0.005 --for injection --needle fixed --hub-loss \"0.07 mL\"")
        .ends(0);
    room.takes_in("Thimblo", "12 g").takes_in("Nubbet", "31 g");
    let script = Script {
        written: "2027-03-20",
        ..Script::new(
            "DEMO-0001",
            &["Thimblo", "Nubbet"],
            r#"Every(interval: "72 hours", doses: 7)"#,
        )
    };
    room.enters(&script, "2027-03-22 08:00");
    room
}

fn opens(room: &mut Room, more: &str) {
    room.run(&format!(
        "bottle open \"Madeup Amber\" --reads \"8 mg/mL\" --expiry 2027-12{more}"
    ))
    .ends(0);
}

/// 7 x (0.03 + 0.075) = 0.735 mL in marks; 14 draws x 0.07 = 0.98 mL in hubs; 1.715 mL in all.
/// Of 1 mL, each of the seven days takes 0.1 + 0.145 = 0.245 mL: four days take 0.98, and the
/// 0.02 mL left cover nothing. So it runs out on the fifth day, 3 April, and the last three days,
/// 6 doses, lack 3 x 0.245 = 0.735 mL.
#[test]
fn scenario_2_both_animals_for_the_whole_course() {
    let mut room = two_animals("both");
    opens(&mut room, " --holds \"1 mL\"");
    let all = need(&mut room, 0);
    assert_eq!(all["doses"], 14);
    assert_eq!(all["draws"], 14);
    assert_eq!(all["marks"]["exact"], "147/200");
    assert_eq!(all["hub_loss"]["exact"], "49/50");
    assert_eq!(all["in_all"]["exact"], "343/200");
    assert_eq!(all["in_hand"]["exact"], "1");
    let lasts = &all["lasts"];
    assert_eq!(lasts["code"], "runs_out");
    assert_eq!(lasts["on"], "2027-04-03");
    assert_eq!((&lasts["dose"], &lasts["doses"]), (&5.into(), &6.into()));
    assert_eq!(lasts["lacking"]["exact"], "147/200");
    room.run("stock")
        .says("1.715 mL for 14 doses: 0.735 mL in marks and 0.98 mL in the hubs of 14 draws")
        .says("bottle 1: 1 mL left")
        .says("until 3 April 2027: dose 5 of DEMO-0001 for Thimblo is the first not covered; 6 doses not covered, 0.735 mL")
        .says("No figure here is a mark to draw to");
    // Thimblo's first dose takes 0.03 + 0.07 = 0.1 mL out of both.
    room.at("2027-03-22 08:00")
        .run("give Thimblo DEMO-0001")
        .ends(0);
    let all = need(&mut room, 0);
    assert_eq!(all["in_all"]["exact"], "323/200");
    assert_eq!(all["bottles"][0]["left"]["exact"], "9/10");
    // Somebody looks: from here on it counts from what was seen.
    room.at("2027-03-22 09:00")
        .run("bottle left 1 \"0.8 mL\" --by AK")
        .ends(0)
        .says("0.8 mL left; by the book it was 0.9 mL");
    room.at("2027-03-22 09:05")
        .run("give Nubbet DEMO-0001")
        .ends(0);
    // 0.8 - 0.145 = 0.655.
    assert_eq!(need(&mut room, 0)["bottles"][0]["left"]["exact"], "131/200");
}

/// Plenty of it, but to be discarded after 10 days: 21 March and 10 days is 31 March, so the dose
/// of 3 April is the first that is not covered.
#[test]
fn a_bottle_past_its_day_covers_nothing() {
    let mut room = two_animals("discard");
    opens(&mut room, " --holds \"5 mL\" --discard-after \"10 days\"");
    let lasts = need(&mut room, 0)["lasts"].clone();
    assert_eq!(lasts["on"], "2027-04-03");
    assert_eq!(lasts["doses"], 6);
    // A second bottle takes over from there: 1 mL is more than 0.735.
    opens(&mut room, " --holds \"1 mL\"");
    assert_eq!(need(&mut room, 0)["lasts"]["code"], "to_the_end");
    // On 4 April the first one no longer counts.
    let all = need(room.at("2027-04-04 12:00"), 0);
    assert_eq!(all["bottles"][0]["counts"], false);
    assert_eq!(all["in_hand"]["exact"], "1");
    room.run("stock")
        .says("bottle 1: 5 mL left; DISCARD: its time ended after 31 March 2027");
}

/// Remnants do not add up: 0.12 mL here and 0.12 mL there cover one dose of 0.1 mL each, and none
/// of 0.145 mL.
#[test]
fn a_dose_comes_from_one_bottle() {
    let mut room = two_animals("remnants");
    opens(&mut room, " --holds \"0.12 mL\"");
    opens(&mut room, " --holds \"0.12 mL\"");
    let all = need(&mut room, 0);
    assert_eq!(all["in_hand"]["exact"], "6/25");
    // Thimblo's first two are covered; Nubbet's first is not.
    assert_eq!(all["lasts"]["animal"], "Nubbet");
    assert_eq!(all["lasts"]["on"], "2027-03-22");
    assert_eq!(all["lasts"]["doses"], 12);
}

#[test]
fn what_is_not_known_is_said_to_be_so() {
    let mut room = two_animals("unknown");
    assert_eq!(need(&mut room, 0)["lasts"]["code"], "runs_out");
    room.run("stock").says("no bottle of it is in the book");
    opens(&mut room, "");
    let all = need(&mut room, 0);
    assert_eq!(all["lasts"]["code"], "not_known");
    assert_eq!(all["in_hand"], Value::Null);
    room.run("stock")
        .says("nobody wrote down what it holds (scruple bottle left 1 AMOUNT)");
    // Another strength does not count, and says so.
    room.run("bottle empty 1").ends(0);
    room.run("bottle open \"Madeup Amber\" --reads \"10 mg/mL\" --expiry 2027-12 --holds \"9 mL\"")
        .ends(0);
    let all = need(&mut room, 0);
    assert_eq!(all["in_hand"]["exact"], "0");
    assert_eq!(all["lasts"]["doses"], 14);
    room.run("stock")
        .says("it reads 10 mg/mL, so it does not count");
}

/// After dose 3 of 7 one animal dies: its four slots need nothing. The other needs 4 x 0.075 =
/// 0.3 mL, and 4 x 0.07 in hubs.
#[test]
fn scenario_10_the_dead_need_nothing() {
    let mut room = two_animals("dies");
    for day in ["2027-03-22 08:00", "2027-03-25 08:00", "2027-03-28 09:00"] {
        room.at(day).run("give Thimblo DEMO-0001").ends(0);
        room.run("give Nubbet DEMO-0001").ends(0);
    }
    room.at("2027-03-28 12:00")
        .run("end Thimblo --how died")
        .ends(0);
    let all = need(&mut room, 0);
    assert_eq!(all["doses"], 4);
    assert_eq!(all["marks"]["exact"], "3/10");
    assert_eq!(all["in_all"]["exact"], "29/50");
}

/// A dose without a mark is named with its reason, never estimated: above four times 7 days the
/// weight gives none.
#[test]
fn a_dose_without_a_mark_is_not_estimated() {
    let mut room = two_animals("stale");
    room.at("2027-04-30 12:00")
        .run("weigh Nubbet \"31 g\"")
        .ends(0);
    let all = need(&mut room, 0);
    assert_eq!(all["without_mark"][0]["animal"], "Thimblo");
    assert_eq!(all["without_mark"][0]["doses"], 7);
    room.run("stock")
        .says("7 doses of Thimblo, DEMO-0001: the weight is too old");
    assert_eq!(all["doses"], 7);
}

/// 1,200 g at 21 mg/kg: 25.2 mg, half a tablet of 50 mg. Three doses take 1.5 tablets; 1 tablet
/// covers two.
#[test]
fn tablets_are_counted_in_halves() {
    let mut room = Room::new("tablets", "UTC");
    room.at("2001-03-01 07:00").takes_in("Mossop", "1200 g");
    let script = Script {
        medicine: "Madeup Garnet",
        strength: "50 mg per tablet",
        dose: "21 mg/kg",
        by_mouth: true,
        more: "tablets: Halves,",
        ..Script::new(
            "DEMO-0006",
            &["Mossop"],
            r#"Every(interval: "42 hours", doses: 3)"#,
        )
    };
    room.enters(&script, "2001-03-01 08:00");
    room.run("bottle open \"Madeup Garnet\" --reads \"50 mg per tablet\" --expiry 2002-01 --holds \"1 tablet\"")
        .ends(0);
    let all = need(&mut room, 0);
    assert_eq!(all["in_all"]["exact"], "3/2");
    assert_eq!(all["lasts"]["dose"], 3);
    // The third is due 84 hours after the first.
    assert_eq!(all["lasts"]["on"], "2001-03-04");
    room.at("2001-03-01 08:00")
        .run("give Mossop DEMO-0006")
        .ends(0);
    assert_eq!(need(&mut room, 0)["bottles"][0]["left"]["exact"], "1/2");
}

/// Three aliquots of 0.3 mL, each good for 3 days once thawed. The doses of 0.1 and 0.145 mL come
/// every three days: an aliquot thawed on one dosing day is still good on the next, but the 0.055
/// mL left in it after both animals cover nothing. So the three cover three dosing days of seven.
#[test]
fn a_batch_is_thawed_one_by_one_and_never_refrozen() {
    let mut room = two_animals("batch");
    opens(
        &mut room,
        " --made-up 2027-03-20 --aliquots 3 --holds \"0.3 mL\" --discard-after \"3 days\" --by AK",
    );
    room.run("bottle list")
        .says("made up 20 March 2027, 3 of 3 aliquots frozen")
        .says("0.9 mL left");
    let all = need(&mut room, 0);
    assert_eq!(all["bottles"][0]["frozen"], 3);
    assert_eq!(all["in_hand"]["exact"], "9/10");
    assert_eq!(all["lasts"]["on"], "2027-03-31");
    assert_eq!(all["lasts"]["doses"], 8);
    // Not thawed: the card says so, and names the command.
    let cautions = room.at("2027-03-22 08:00").dose_of("Nubbet")["worked"]["cautions"].to_string();
    assert!(cautions.contains("not_thawed"), "{cautions}");
    room.run("bottle thaw 1 --by AK")
        .ends(0)
        .says("aliquot 1 of 3 is thawed; 2 still frozen. Use it through 25 March 2027")
        .says("Never freeze it again");
    room.run("give Thimblo DEMO-0001").ends(0);
    room.run("give Nubbet DEMO-0001").ends(0);
    // 0.3 - 0.1 - 0.145 = 0.055 in the thawed one, 0.6 still frozen.
    assert_eq!(need(&mut room, 0)["bottles"][0]["left"]["exact"], "131/200");
    // Past its days there is no mark, and the reason is the aliquot's, not the batch's.
    let dose = room.at("2027-03-28 09:00").dose_of("Nubbet");
    let reasons = dose["no_mark"].to_string();
    assert!(reasons.contains("aliquot_past_discard"), "{reasons}");
    assert_eq!(need(&mut room, 0)["bottles"][0]["left"]["exact"], "3/5");
    room.run("bottle thaw 1 --on 2027-03-28").ends(0);
    assert!(
        !room.dose_of("Nubbet")["no_mark"]
            .to_string()
            .contains("aliquot")
    );
    room.run("bottle thaw 1")
        .ends(0)
        .says("aliquot 3 of 3 is thawed; 0 still frozen");
    room.run("bottle thaw 1")
        .ends(2)
        .says("none is ever frozen again");
}

#[test]
fn what_is_not_accepted_of_a_bottle() {
    let mut room = two_animals("not-accepted");
    opens(&mut room, " --holds \"2 mL\"");
    let before = room.book();
    let open = "bottle open \"Madeup Amber\" --reads \"8 mg/mL\" --expiry 2027-12";
    for (line, phrase) in [
        (
            format!("{open} --holds \"20 tablets\""),
            "is not what a bottle that reads 8 mg/mL holds",
        ),
        (format!("{open} --holds \"20 mg\""), "is not what a bottle"),
        (format!("{open} --made-up 2027-04-01"), "still to come"),
        (
            format!("{open} --made-up 2027-03-01 --aliquots 5"),
            "How long a thawed aliquot may be used",
        ),
        (format!("{open} --aliquots 5"), "--made-up"),
        (
            format!("{open} --made-up 2027-03-01 --aliquots 0 --discard-after \"2 days\""),
            "1 to 500",
        ),
        (
            "bottle thaw 1".to_owned(),
            "is not a batch of frozen aliquots",
        ),
        ("bottle thaw 9".to_owned(), "No bottle named '9'"),
        (
            "bottle left 1 \"2 g of paste\"".to_owned(),
            "is not what a bottle",
        ),
    ] {
        room.run(&line).ends(2).says(phrase);
    }
    assert_eq!(room.book(), before);
    room.run("bottle discard 1 --by AK").ends(0);
    room.run("bottle left 1 \"1 mL\"")
        .ends(2)
        .says("empty or discarded already");
}
