//! Courses through time, from commands to words: the scenarios whose figures were worked by hand
//! as exact fractions. S is a barrel of 0.3 mL with a line every 0.005 mL, T one of 1 mL with a
//! line every 0.01 mL.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};

/// Every 72 hours, 7 doses, over the change of the clocks in Warsaw on 28 March 2027; both animals
/// for the whole course: 7 x (0.03 + 0.075) = 0.735 mL, and 14 draws x 0.07 mL = 0.98 mL.
#[test]
fn scenario_2_seven_doses_over_a_change_of_the_clocks() {
    let mut room = Room::without_a_book("plan");
    let script = Script {
        written: "2027-03-20",
        ..Script::new(
            "DEMO-0001",
            &["Thimblo", "Nubbet"],
            r#"Every(interval: "72 hours", doses: 7)"#,
        )
    };
    let file = room.write("script.ron", script.text());
    let line = format!(
        "plan {file} --start \"2027-03-22 08:00\" --zone Europe/Warsaw --weight \"12 g\" --weight \"31 g\" --syringe 0.3/0.005 --hub-loss \"0.07 mL\""
    );
    let plan = room.at("2027-03-21 12:00").run(&line);
    plan.ends(0)
        .says("The first three, to be checked first")
        .says("1 Monday 22 March 2027 at 08:00")
        .says("2 Thursday 25 March 2027 at 08:00")
        .says("3 Sunday 28 March 2027 at 09:00")
        .says("4 Wednesday 31 March 2027 at 09:00")
        .says("5 Saturday 3 April 2027 at 09:00")
        .says("6 Tuesday 6 April 2027 at 09:00")
        .says("7 Friday 9 April 2027 at 09:00")
        .says("in elapsed hours: when the clocks change, the hour of the dose shifts")
        .says("on Sunday 28 March 2027 they go forward by 1 hour")
        .says("dose 2 is at 08:00 and dose 3 at 09:00")
        .says("at 12 g: 7 doses, 0.21 mL; 0.49 mL stays in the hubs, 0.7 mL in all")
        .says("at 31 g: 7 doses, 0.525 mL; 0.49 mL stays in the hubs, 1.015 mL in all")
        .says("together: 14 doses, 0.735 mL; 0.98 mL stays in the hubs, 1.715 mL in all");
    let json = room.json(&line);
    assert_eq!(json["doses"].as_array().unwrap().len(), 7);
    assert_eq!(json["doses"][2]["due"]["at"], "2027-03-28T07:00:00Z");
    assert_eq!(json["doses"][2]["reckoning"], "elapsed");
    let together = &json["together"]["takes"];
    assert_eq!(together["draws"], 14);
    assert_eq!(together["marks"]["exact"], "147/200");
    assert_eq!(together["hub_loss"]["exact"], "49/50");
    assert_eq!(together["in_all"]["exact"], "343/200");
    // It keeps nothing: there is still no book.
    room.run("check").ends(2).says("no book");
}

/// 50 g, then 44 g: 12 percent down. 0.88 mg of 8 mg/mL are 0.11 mL; at 15 mg/kg 33/400 mL, to
/// the line at 0.08 mL, -1/33.
#[test]
fn scenario_4_a_loss_of_weight_and_the_vets_word() {
    let mut room = Room::bare("loss", "UTC");
    room.at("2001-03-01 08:00")
        .run("syringe add 1/0.01 --for injection --needle hub")
        .ends(0);
    room.takes_in("Thimblo", "50 g")
        .opens("Madeup Amber", "8 mg/mL")
        .enters(
            &Script::new(
                "DEMO-0001",
                &["Thimblo"],
                r#"Every(interval: "3 days", doses: 5)"#,
            ),
            "2001-03-01 09:00",
        );
    room.at("2001-03-01 09:00")
        .run("give Thimblo DEMO-0001")
        .ends(0);
    // 45.1 g is quiet, 45 g speaks: at the limit, inclusive.
    room.at("2001-03-03 08:00")
        .run("weigh Thimblo \"45.1 g\"")
        .ends(0)
        .is_silent_about("CALL");
    room.at("2001-03-03 08:01")
        .run("weigh Thimblo \"45 g\"")
        .ends(0)
        .says("CALL 555 0134")
        .says("10 percent");
    room.at("2001-03-03 08:02")
        .run("weigh Thimblo \"44 g\"")
        .ends(0)
        .says("44 g is 12 percent below 50 g on 1 March 2001");
    let dose = room.at("2001-03-04 09:00").dose_of("Thimblo");
    assert_eq!(dose["call_first"], true);
    assert_eq!(dose["worked"]["mark"]["each"]["exact"], "11/100");
    assert_eq!(dose["worked"]["mark"]["difference"]["exact"], "0");
    room.run("today").says("CALL").says("0.11 mL");
    let said = "--said-by \"Dr A. Example\" --taken-by AK --read-back yes";
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --rate \"15 mg/kg\" {said}"
    ))
    .ends(0)
    .says("Before, dose 2: 20 mg/kg by 44 g, from bottle 1 (8 mg/mL): 0.11 mL")
    .says("From now, dose 2: 15 mg/kg by 44 g, from bottle 1 (8 mg/mL): 0.08 mL")
    .says("Cards printed before this are void");
    let dose = room.dose_of("Thimblo");
    assert_eq!(dose["worked"]["mark"]["each"]["exact"], "2/25");
    assert_eq!(dose["worked"]["mark"]["difference"]["exact"], "-1/33");
    // The vet also accepts the weight: CALL is silent until the animal loses more.
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --accept-weight \"44 g\" {said}"
    ))
    .ends(0);
    assert_eq!(room.dose_of("Thimblo")["call_first"], false);
    room.at("2001-03-04 09:05")
        .run("weigh Thimblo \"43.9 g\"")
        .says("CALL");
}

/// 31 g and a new bottle of 10 mg/mL: no mark, until the vet's word; then 0.062 mL on S, to the
/// line at 0.06 mL, -1/31. (The old mark would have held 0.75 mg, +13/62.)
#[test]
fn scenario_5_a_new_bottle_of_another_strength() {
    let mut room = Room::new("bottle", "UTC");
    room.at("2001-03-01 08:00")
        .takes_in("Thimblo", "31 g")
        .opens("Madeup Amber", "8 mg/mL")
        .enters(
            &Script::new(
                "DEMO-0001",
                &["Thimblo"],
                r#"Every(interval: "3 days", doses: 5)"#,
            ),
            "2001-03-01 09:00",
        );
    room.at("2001-03-01 09:00")
        .run("give Thimblo DEMO-0001")
        .ends(0)
        .says("0.075 mL");
    room.at("2001-03-04 08:00").run("bottle empty 1").ends(0);
    room.run("bottle open \"Madeup Amber\" --reads \"10 mg/mL\" --expiry 2002-01")
        .ends(0)
        .says("No animal gets a mark from bottle 2");
    let dose = room.at("2001-03-04 09:00").dose_of("Thimblo");
    assert!(dose["worked"]["mark"].is_null());
    assert_eq!(dose["no_mark"][0]["code"], "wrong_strength");
    let said = "--said-by \"Dr A. Example\" --taken-by AK --read-back no --paper-awaited";
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --strength \"10 mg/mL\" {said}"
    ))
    .ends(0)
    .says("no mark: Bottle 2 reads 10 mg/mL, the prescription 8 mg/mL")
    .says("From now, dose 2: 20 mg/kg by 31 g, from bottle 2 (10 mg/mL): 0.06 mL")
    .says("NOT READ BACK: call again and read it back before the next dose");
    let dose = room.dose_of("Thimblo");
    assert_eq!(dose["worked"]["mark"]["each"]["exact"], "3/50");
    assert_eq!(dose["worked"]["mark"]["difference"]["exact"], "-1/31");
    assert_eq!(dose["said"][0]["read_back"], false);
    // What is still wanting about it stands in the check until it is done.
    room.run("check")
        .says("NOT READ BACK, paper awaited (entry 11)");
    room.run("confirm 11 --read-back").ends(0);
    room.run("check")
        .is_silent_about("NOT READ BACK")
        .says("paper awaited");
    room.run("confirm 11 --paper-came").ends(0);
    room.run("check").is_silent_about("entry 11");
}

/// Every 12 hours at 08:00 and 20:00: given at 07:40 by one and at 10:05 by another. At 20:00,
/// 9 h 55 min later, there is no mark: it opens at 20:35 and closes at 21:30.
#[test]
fn scenario_6_given_twice_by_two_people() {
    let mut room = Room::new("twice", "UTC");
    room.at("2001-03-01 07:30")
        .takes_in("Thimblo", "31 g")
        .opens("Madeup Amber", "8 mg/mL")
        .enters(
            &Script::new(
                "DEMO-0001",
                &["Thimblo"],
                r#"AtTimes(times: ["08:00", "20:00"], days: 5)"#,
            ),
            "2001-03-01 08:00",
        );
    room.at("2001-03-01 07:40")
        .run("give Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("dose 1 of 10")
        .is_silent_about("STOP");
    room.at("2001-03-01 10:05")
        .run("give Thimblo DEMO-0001 --by BB --drawn \"0.075 mL\"")
        .ends(0)
        .says("STOP. Dose 1 has been answered for already: given Thu 1 March 07:40")
        .says("CALL YOUR VET NOW: 555 0134");
    let check = room.course_of("Thimblo");
    assert_eq!(check["adherence"]["in_window"], 1);
    assert_eq!(check["adherence"]["extra"], 1);
    assert_eq!(check["verdict"]["code"], "needs_attention");
    let evening = room.at("2001-03-01 20:00").dose_of("Thimblo");
    assert!(evening["worked"]["mark"].is_null());
    assert_eq!(evening["dose"], 2);
    assert_eq!(evening["no_mark"][0]["code"], "too_soon");
    assert_eq!(evening["due"]["at"], "2001-03-01T20:00:00Z");
    assert_eq!(evening["opens"], "2001-03-01T20:35:00Z");
    assert_eq!(evening["closes"], "2001-03-01T21:30:00Z");
    room.run("give Thimblo DEMO-0001").says(
        "STOP. The last dose was Thu 1 March 10:05. Give nothing now; it opens Thu 1 March 20:35",
    );
    room.run("correct 10 --because \"nothing was given after all\"")
        .ends(0);
    // It has opened, and still nothing is drawn: the vet has not spoken about the second dose.
    let opened = room.at("2001-03-01 20:35").dose_of("Thimblo");
    assert_eq!(opened["no_mark"][0]["code"], "unsettled");
    room.run("check Thimblo")
        .ends(1)
        .says("given in its window: 1; beside the schedule: 1")
        .says("really given: about 19.35 mg/kg in 2 doses")
        .says("scruple instruct Thimblo DEMO-0001 --settled 9");
    room.run("instruct Thimblo DEMO-0001 --settled 9 --said-by \"Dr A. Example\" --taken-by AK --read-back yes")
        .ends(0);
    room.run("give Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("dose 2 of 10")
        .is_silent_about("STOP");
    room.run("check Thimblo")
        .ends(0)
        .says("on track")
        .says("given in its window: 2; beside the schedule: 1");
}

/// Weighed on 1 March, to be weighed every 7 days: 8 March is silent, 9 March speaks, 29 March
/// still has a mark, 30 March has none.
#[test]
fn scenario_10_how_old_a_weight_may_be() {
    let mut room = Room::new("age", "UTC");
    room.at("2001-03-01 07:00")
        .takes_in("Thimblo", "31 g")
        .opens("Madeup Amber", "8 mg/mL")
        .enters(
            &Script {
                more: r#"weigh_every: "7 days","#,
                ..Script::new(
                    "DEMO-0001",
                    &["Thimblo"],
                    r#"Every(interval: "1 day", doses: 40)"#,
                )
            },
            "2001-03-01 08:00",
        );
    for day in 1..30 {
        let now = format!("2001-03-{day:02} 08:00");
        let dose = room.at(&now).dose_of("Thimblo");
        let cautions = dose["worked"]["cautions"].as_array().unwrap();
        let old = cautions
            .iter()
            .any(|caution| caution["code"] == "old_weight");
        assert_eq!(old, day >= 9, "{now}");
        assert_eq!(dose["worked"]["mark"]["each"]["exact"], "3/40", "{now}");
        if day == 9 {
            room.run("today")
                .says("The weight is 8 days old; the limit is 7 days (your vet's)");
        }
        room.run("give Thimblo DEMO-0001").ends(0);
    }
    let dose = room.at("2001-03-30 08:00").dose_of("Thimblo");
    assert!(dose["worked"]["mark"].is_null());
    assert_eq!(dose["no_mark"][0]["code"], "weight_too_old");
}

/// One of two animals dies after dose 3 of 7: its four slots vanish quietly; the other needs
/// 4 x 0.075 = 0.3 mL.
#[test]
fn scenario_10_one_of_two_dies() {
    let mut room = Room::new("death", "UTC");
    room.at("2001-03-01 07:00")
        .takes_in("Thimblo", "31 g")
        .takes_in("Nubbet", "12 g")
        .opens("Madeup Amber", "8 mg/mL")
        .enters(
            &Script {
                more: r#"follow_ups: [FollowUp(what: "Demonstration visit", when: AfterLastDose("10 days"))],"#,
                ..Script::new(
                    "DEMO-0001",
                    &["Thimblo", "Nubbet"],
                    r#"Every(interval: "72 hours", doses: 7)"#,
                )
            },
            "2001-03-01 08:00",
        );
    for day in ["01", "04", "07"] {
        room.at(&format!("2001-03-{day} 08:00"));
        room.run("give Thimblo DEMO-0001").ends(0).says("0.075 mL");
        room.run("give Nubbet DEMO-0001").ends(0).says("0.03 mL");
    }
    room.at("2001-03-08 09:00")
        .run("end Nubbet --how died --at \"2001-03-08 06:00\"")
        .ends(0)
        .says("4 doses are no longer to be given")
        .is_silent_about("STOP")
        .is_silent_about("CALL");
    let card = room.at("2001-03-10 08:00").run("today");
    card.says("1 of 1 Thimblo").is_silent_about("Nubbet");
    room.run("check")
        .ends(0)
        .says("Nubbet, DEMO-0001 (Madeup Amber): ended early: the animal died")
        .says("left: 4 doses, 0.3 mL (not a mark)");
    let check = room.json("check");
    let courses = check["courses"].as_array().unwrap();
    let of = |name: &str| {
        courses
            .iter()
            .find(|course| course["animal"] == name)
            .unwrap()
    };
    assert_eq!(of("Nubbet")["verdict"]["code"], "ended_early");
    assert_eq!(of("Nubbet")["next"], serde_json::Value::Null);
    assert_eq!(of("Nubbet")["left"], serde_json::Value::Null);
    assert_eq!(of("Nubbet")["follow_ups"].as_array().unwrap().len(), 0);
    assert_eq!(of("Thimblo")["left"]["marks"]["exact"], "3/10");
    assert_eq!(of("Thimblo")["follow_ups"][0]["provisional"], true);
    // Nothing more can be done to it, and a slip of the name is caught.
    room.run("end Nubbet --how rehomed")
        .ends(2)
        .says("the animal died");
}
