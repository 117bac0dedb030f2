//! Dosing patterns printed in published tables, as prescriptions: they are read, mean what was
//! printed, and are laid out to the right number of slots. Test data only: no figure here is
//! shipped, and none is advice. Medicines are named as invented; the source stands beside each.
//!
//! Carpenter: formulary chapter 4, table 4-1, veteriankey.com/reptiles (that it is Carpenter's
//! Exotic Animal Formulary is from memory). EAF5: Exotic Animal Formulary, 5th edition, page 140,
//! yumpu.com. WikiVet: en.wikivet.net, Lizard Endoparasites and Lizard Formulary. VNJ: Veterinary
//! Nursing Journal 39(4), 2024, page 54. Lewbart: Reptile Formulary, vin.com.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use chrono::{Datelike, NaiveDate, NaiveTime, TimeDelta};
use scruple::notation::{Notation, print};
use scruple::prescription::{FollowUpDate, Prescription};
use scruple::quantity::{BodyWeight, Span};
use scruple::schedule::{Due, Schedule, Start, Zone};

fn form(dose: &str, strength: &str, schedule: &str, more: &str) -> String {
    let dose = match dose {
        "" => String::new(),
        dose => format!("dose: {dose},"),
    };
    format!(
        r#"Prescription(
    demonstration: true, reference: "DEMO-0001", written: "2001-03-05",
    vet: Vet(name: "Dr A. Example", phone: "555 0134 (not a number)"),
    animals: ["Thimblo"],
    medicine: Medicine(name: "Madeup Test", strength: "{strength}"),
    {dose} route: ByMouth,
    schedule: {schedule}, after_late: KeepCalendar,
    {more}
)"#
    )
}

fn read(source: &str) -> Prescription {
    match Prescription::read(source, "published.ron") {
        Ok(prescription) => prescription,
        Err(faults) => panic!("{}", faults.render(false)),
    }
}

/// What is wrong with a pattern that cannot be given as printed.
fn fault(source: &str) -> String {
    match Prescription::read(source, "published.ron") {
        Ok(_) => panic!("accepted: {source}"),
        Err(faults) => faults.render(false),
    }
}

/// Slots from 6 March 2001 at 08:00: how many, and hours from the first to each.
fn hours(schedule: &Schedule) -> Vec<i64> {
    let start = Start {
        date: NaiveDate::from_ymd_opt(2001, 3, 6).unwrap(),
        time: NaiveTime::from_hms_opt(8, 0, 0),
    };
    let slots = schedule.expand(start, Zone::UTC).unwrap();
    let at = |due: Due| due.opens(TimeDelta::zero(), Zone::UTC);
    let first = at(slots.first().unwrap().due);
    slots
        .iter()
        .map(|slot| (at(slot.due) - first).num_hours())
        .collect()
}

/// What one dose comes to for an animal of 1 kg.
fn for_one_kg(prescription: &Prescription, place: usize) -> String {
    let weight = BodyWeight::read("1 kg").unwrap().value();
    let dose = prescription.dose(place).unwrap();
    let amount = prescription.calculated(dose, Some(weight)).unwrap();
    print::amount(amount.unwrap()).to_string()
}

/// Every so many hours or days, so many times.
#[test]
fn so_many_times_so_far_apart() {
    for (dose, strength, schedule, of_one_kg, slots, last_hour) in [
        // 2.5 mg/kg every 72 h x 5 treatments, sea turtles: Carpenter
        (
            "2.5 mg/kg",
            "50 mg/mL",
            r#"Every(interval: "72 hours", doses: 5)"#,
            "2.5 mg",
            5,
            288,
        ),
        // 5 mg/kg every 48 h, gopher tortoises; the number is the test's: Carpenter
        (
            "5 mg/kg",
            "50 mg/mL",
            r#"Every(interval: "48 hours", doses: 3)"#,
            "5 mg",
            3,
            96,
        ),
        // 20 mg/kg every 48 h, corn snakes: EAF5
        (
            "20 mg/kg",
            "50 mg/mL",
            r#"Every(interval: "48 hours", doses: 4)"#,
            "20 mg",
            4,
            144,
        ),
        // 40 mg/kg every 7 days x 3 doses, reptiles: EAF5
        (
            "40 mg/kg",
            "50 mg/mL",
            r#"Every(interval: "7 days", doses: 3)"#,
            "40 mg",
            3,
            336,
        ),
        // 20 mg/kg every 72 h, 5 treatments, lizards: WikiVet
        (
            "20 mg/kg",
            "25 mg/mL",
            r#"Every(interval: "72 hours", doses: 5)"#,
            "20 mg",
            5,
            288,
        ),
        // 25 mg/kg daily for 21 days: WikiVet
        (
            "25 mg/kg",
            "80 mg/mL",
            r#"AtTimes(times: ["08:00"], days: 21)"#,
            "25 mg",
            21,
            480,
        ),
        // 100,000 units/kg every 24 h for 4 weeks: WikiVet
        (
            "100,000 units/kg",
            "100,000 units/mL",
            r#"Every(interval: "24 hours", doses: 28)"#,
            "100,000 units",
            28,
            648,
        ),
        // 10 mcg/kg once, reptiles: Lewbart
        ("10 mcg/kg", "200 mcg/mL", "Once", "10 mcg", 1, 0),
        // 3.48 mg/kg once, ball pythons: Carpenter
        ("3.48 mg/kg", "50 mg/mL", "Once", "3.48 mg", 1, 0),
        // 20 mg/kg every 72 h, amphibians; the shortest and longest of 48 to 72 h are two forms: VNJ
        (
            "20 mg/kg",
            "100 mg/mL",
            r#"Every(interval: "72 hours", doses: 2)"#,
            "20 mg",
            2,
            72,
        ),
    ] {
        let p = read(&form(
            &format!("PerBodyWeight(\"{dose}\")"),
            strength,
            schedule,
            "",
        ));
        let hours = hours(&p.schedule);
        assert_eq!(hours.len(), slots, "{dose} {schedule}");
        assert_eq!(hours.last(), Some(&last_hour), "{dose} {schedule}");
        assert_eq!(p.schedule.slots(), Some(slots as u64));
        assert_eq!(for_one_kg(&p, 0), of_one_kg);
    }
}

/// "Repeat in 14 days": EAF5 (40 mg/kg), Carpenter (5 mg/kg, chelonians), WikiVet (200 mcg/kg).
#[test]
fn once_and_again_in_a_fortnight() {
    for dose in ["40 mg/kg", "5 mg/kg", "200 mcg/kg"] {
        let dose = format!("PerBodyWeight(\"{dose}\")");
        for schedule in [r#"OnceThenAgain(after: "14 days")"#, "OnDays([0, 14])"] {
            let p = read(&form(&dose, "10 mg/mL", schedule, ""));
            assert_eq!(hours(&p.schedule), [0, 336], "{schedule}");
        }
    }
}

/// 5 mg/kg, then 2.5 mg/kg every 72 h, gopher snakes: Carpenter. The gap is the interval; the
/// number of later doses is the test's.
#[test]
fn a_first_dose_and_then_another() {
    let p = read(&form(
        "",
        "50 mg/mL",
        r#"Phases([
            Phase(dose: PerBodyWeight("5 mg/kg"), schedule: Once),
            Phase(gap: "72 hours", dose: PerBodyWeight("2.5 mg/kg"), schedule: Every(interval: "72 hours", doses: 4)),
        ])"#,
        "",
    ));
    assert_eq!(hours(&p.schedule), [0, 72, 144, 216, 288]);
    assert_eq!(for_one_kg(&p, 0), "5 mg");
    assert_eq!(for_one_kg(&p, 1), "2.5 mg");
}

/// 30 mg/kg daily for 2 doses, then every second day for 3 weeks, recheck faeces in 3 weeks:
/// WikiVet. Every second day of 21 days is 11 days: 1, 3, ... 21.
#[test]
fn dense_then_sparse_with_a_test_to_follow() {
    let p = read(&form(
        "",
        "80 mg/mL",
        r#"Phases([
            Phase(dose: PerBodyWeight("30 mg/kg"), schedule: Every(interval: "1 day", doses: 2)),
            Phase(gap: "2 days", dose: PerBodyWeight("30 mg/kg"), schedule: Every(interval: "2 days", doses: 11)),
        ])"#,
        r#"follow_ups: [FollowUp(what: "faecal test", when: AfterLastDose("21 days"))],"#,
    ));
    let hours = hours(&p.schedule);
    assert_eq!(hours.len(), 13);
    assert_eq!(hours.get(..4), Some([0, 24, 72, 120].as_slice()));
    assert_eq!(hours.last(), Some(&(24 * (3 + 20))));
    assert_eq!(
        p.follow_ups.first().unwrap().when,
        FollowUpDate::AfterLastDose(Span::Days(21))
    );
}

/// 50 mg/kg, repeated every 2 weeks until a negative test: WikiVet. Open-ended, so the vet sets a
/// review; here after 8 weeks: days 0, 14, 28, 42, 56.
#[test]
fn until_a_test_is_negative() {
    let p = read(&form(
        "PerBodyWeight(\"50 mg/kg\")",
        "100 mg/mL",
        r#"UntilStopped(rhythm: Every(interval: "2 weeks"), review: "2001-05-01")"#,
        "",
    ));
    assert_eq!(hours(&p.schedule).len(), 5);
    assert_eq!(p.schedule.slots(), None);
    assert_eq!(p.schedule.review().unwrap().month(), 5);
    // Without a review it has no end.
    let open = form(
        "PerBodyWeight(\"50 mg/kg\")",
        "100 mg/mL",
        r#"UntilStopped(rhythm: Every(interval: "2 weeks"))"#,
        "",
    );
    assert!(fault(&open).contains("review"));
}

/// What is printed and cannot be given as it stands: the vet picks the figure.
#[test]
fn what_the_vet_has_to_decide() {
    let once = |dose: &str| {
        form(
            &format!("PerBodyWeight(\"{dose}\")"),
            "50 mg/mL",
            "Once",
            "",
        )
    };
    for (printed, phrase) in [
        ("26 mcg/kg/h", "hour"),     // corn snakes, by implant: Carpenter
        ("3-6 mg/kg", "range"),      // most species: Carpenter
        ("40 to 60 mg/kg", "range"), // reptiles: EAF5
        ("100,000 IU/kg", "units"),  // WikiVet, as printed
        ("200 µg/kg", "mcg"),        // WikiVet; the micro sign was garbled in the copy
        (".5 mg/kg", "0.5"),         // a naked point, as many sheets print it
    ] {
        let fault = fault(&once(printed));
        assert!(fault.contains(phrase), "{printed}: {fault}");
    }
    // Every 12 to 24 h, and every 2 to 7 days: Carpenter.
    for interval in ["12-24 hours", "12 to 24 hours", "2-7 days"] {
        let schedule = format!("Every(interval: \"{interval}\", doses: 3)");
        let source = form("PerBodyWeight(\"5 mg/kg\")", "50 mg/mL", &schedule, "");
        assert!(fault(&source).contains("interval"), "{interval}");
    }
    // 50 mg per 10 mL nebulised for 30 min every 12 h goes by no weight: Carpenter. It is the
    // vet's own words, never converted.
    let mist = form(
        "Application(\"50 mg in 10 mL, nebulised for 30 minutes\")",
        "50 mg/mL",
        r#"Every(interval: "12 hours", doses: 4)"#,
        "",
    )
    .replace("route: ByMouth", "route: Inhaled(\"in the closed box\")");
    let p = read(&mist);
    assert_eq!(hours(&p.schedule), [0, 12, 24, 36]);
    assert!(!p.dose(0).unwrap().is_measured());
}
