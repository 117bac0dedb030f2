//! Settings: whose limit each is, its history, its bounds; and a change of zone that moves no dose.

use crate::room::{Room, Script};
use serde_json::Value;

fn setting(settings: &Value, name: &str) -> Value {
    let all = settings["settings"].as_array().unwrap();
    all.iter()
        .find(|setting| setting["name"] == name)
        .unwrap()
        .clone()
}

#[test]
fn every_change_is_an_entry_with_its_history() {
    let mut room = Room::new("history", "UTC");
    room.at("2001-01-02 09:00")
        .run("settings set weight-age \"5 days\" --by AK")
        .ends(0)
        .says("weight-age is 5 days from now on; it was 7 days")
        .says("It is your setting");
    room.at("2001-01-03 09:00")
        .run("settings set weight-age program")
        .ends(0);
    room.run("settings set \"weight age\" 7")
        .ends(0)
        .says("your setting");
    room.run("settings set weight-age 7")
        .ends(0)
        .says("already");
    room.run("settings set paper letter")
        .ends(0)
        .says("US Letter");
    room.run("settings")
        .ends(0)
        .says("weight-age 7 days (your setting)")
        .says("loss 10 percent (the program's setting, not your vet's)")
        .says("1 January 2001 08:00, entry 1: the book was begun")
        .says("2 January 2001 09:00, entry 4, AK: weight-age from 7 days to 5 days")
        .says("3 January 2001 09:00, entry 5: weight-age from 5 days to 7 days")
        .says("entry 6: weight-age from 7 days (the program's setting, not your vet's) to 7 days (your setting)")
        .says("entry 7: paper from A4 to US Letter");
    let settings = room.json("settings");
    assert_eq!(settings["history"].as_array().unwrap().len(), 4);
    assert_eq!(settings["history"][0]["by"], "AK");
    let age = setting(&settings, "weight-age");
    assert_eq!(age["value"], 7);
    assert_eq!(age["whose"], "keeper");
    assert_eq!((&age["least"], &age["most"]), (&1.into(), &30.into()));
    assert_eq!(setting(&settings, "zone")["whose"], Value::Null);
}

#[test]
fn what_is_not_accepted_changes_nothing() {
    let mut room = Room::new("bounds", "UTC");
    let before = room.book();
    for (line, phrase) in [
        ("weight-age 31", "between 1 and 30 days"),
        ("weight-age 0", "between 1 and 30 days"),
        ("weight-age \"2 weeks\"", "not a number of days"),
        ("loss 90", "between 1 and 20 percent"),
        ("rounding-most 4", "change the other one first"),
        ("zone Middle/Earth", "is not a time zone"),
        ("paper a5", "write a4 or letter"),
        ("scale 0.1", "no unit"),
        ("wieght-age 5", "did you mean weight-age"),
        ("order Thimblo", "No animal named 'Thimblo'"),
        ("demonstration false", "no setting named 'demonstration'"),
    ] {
        room.run(&format!("settings set {line}"))
            .ends(2)
            .says(phrase);
    }
    assert_eq!(room.book(), before);
}

/// 6 days old: quiet by the program's 7 days, pointed out by the keeper's 5 as theirs.
#[test]
fn a_limit_of_the_keepers_speaks_as_the_keepers() {
    let mut room = Room::with_course(
        "speaks",
        &Script::new(
            "DEMO-0001",
            &["Thimblo"],
            r#"Every(interval: "6 days", doses: 3)"#,
        ),
    );
    room.run("give Thimblo DEMO-0001").ends(0);
    let cautions = |room: &mut Room| room.dose_of("Thimblo")["worked"]["cautions"].clone();
    room.at("2001-03-07 08:00");
    let old = |cautions: &Value| {
        let all = cautions.as_array().unwrap();
        all.iter()
            .find(|caution| caution["code"] == "old_weight")
            .cloned()
    };
    assert_eq!(old(&cautions(&mut room)), None);
    room.run("settings set weight-age 5").ends(0);
    assert_eq!(old(&cautions(&mut room)).unwrap()["whose"], "keeper");
}

#[test]
fn the_order_of_work_is_the_keepers() {
    let mut room = Room::new("order", "UTC");
    room.at("2001-03-01 07:00")
        .takes_in("Thimblo", "31 g")
        .takes_in("Nubbet", "12 g");
    let script = Script::new(
        "DEMO-0001",
        &["Thimblo", "Nubbet"],
        r#"Every(interval: "12 hours", doses: 4)"#,
    );
    room.enters(&script, "2001-03-01 08:00");
    let first = |room: &mut Room| room.json("today")["doses"][0]["animal"].clone();
    assert_eq!(first(&mut room), "Thimblo");
    // A beginning of a name is enough; the whole name is kept.
    room.run("settings set order \"Nub, Thimblo\"")
        .ends(0)
        .says("Nubbet, Thimblo");
    assert_eq!(first(&mut room), "Nubbet");
    room.run("settings set order \"Nub, nubbet\"")
        .ends(2)
        .says("named twice in the order");
    room.run("settings set order none")
        .ends(0)
        .says("as they came in");
    assert_eq!(first(&mut room), "Thimblo");
}

/// Elapsed hours, hours by the clock and dates: every moment stays, and the words follow the new
/// clock. On 1 March New York is six hours behind Warsaw.
#[test]
fn a_change_of_zone_moves_no_dose() {
    let mut room = Room::new("zone", "Europe/Warsaw");
    room.at("2001-03-01 07:00");
    for (name, weight) in [("Thimblo", "31 g"), ("Nubbet", "12 g"), ("Quillo", "40 g")] {
        room.takes_in(name, weight);
    }
    let courses = [
        Script::new(
            "DEMO-0001",
            &["Thimblo"],
            r#"Every(interval: "12 hours", doses: 4)"#,
        ),
        Script {
            medicine: "Madeup Briar",
            ..Script::new(
                "DEMO-0002",
                &["Nubbet"],
                r#"AtTimes(times: ["08:00", "20:00"], days: 3)"#,
            )
        },
        Script {
            medicine: "Madeup Clover",
            ..Script::new("DEMO-0003", &["Quillo"], "OnDays([0, 14])")
        },
    ];
    room.enters(&courses[0], "2001-03-01 08:00");
    room.enters(&courses[1], "2001-03-01 08:00");
    room.enters(&courses[2], "2001-03-01");
    room.at("2001-03-01 08:00")
        .run("give Thimblo DEMO-0001")
        .ends(0);
    let moments = |room: &mut Room| {
        let check = room.json("check");
        let courses = check["courses"].as_array().unwrap().clone();
        let doses = courses
            .iter()
            .flat_map(|course| course["doses"].as_array().unwrap().clone());
        let moments = doses.map(|dose| {
            (
                dose["dose"].clone(),
                dose["due"].clone(),
                dose["state"].clone(),
            )
        });
        moments.collect::<Vec<_>>()
    };
    let before = moments(&mut room);
    assert_eq!(before.len(), 4 + 6 + 2);
    room.typing("no\n")
        .run("settings set zone America/New_York")
        .ends(2)
        .says("Nothing was kept");
    room.run("settings set zone America/New_York --by AK")
        .ends(0)
        .says("No dose of a course in the book moves")
        .says("Thimblo, DEMO-0001, dose 2: Thu 1 March 20:00 in Europe/Warsaw is Thu 1 March 14:00 in America/New_York")
        .says("Nubbet, DEMO-0002, dose 1: Thu 1 March 08:00 in Europe/Warsaw is Thu 1 March 02:00 in America/New_York")
        .says("Quillo, DEMO-0003, dose 1: Thu 1 March, a date without an hour, is read in America/New_York")
        .says("ask your vet, who has to write the course anew");
    // The same moment, as the new place's clock shows it.
    room.at("2001-03-01 02:00");
    assert_eq!(moments(&mut room), before);
    room.run("today").ends(0).says("02:00");
    // A course entered from now on is laid out here.
    let script = Script {
        medicine: "Madeup Dusk",
        ..Script::new(
            "DEMO-0004",
            &["Quillo"],
            r#"AtTimes(times: ["08:00"], days: 2)"#,
        )
    };
    room.enters(&script, "2001-03-01 08:00");
    let quillo = room.json("check Quillo");
    let courses = quillo["courses"].as_array().unwrap();
    let new = courses
        .iter()
        .find(|course| course["prescription"] == "DEMO-0004")
        .unwrap();
    assert_eq!(new["doses"][0]["due"]["at"], "2001-03-01T13:00:00Z");
}
