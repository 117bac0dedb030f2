//! Every field as it should be, and what it comes to.

use super::{BASE, changed, read};
use crate::notation::Notation;
use crate::prescription::{
    Dose, FollowUpDate, Prescription, Route, Side, Site, WeightBasis, Which,
};
use crate::quantity::{Amount, BodyWeight, DoseRate, Exact, Span, Strength};
use crate::rack::{Cut, Rounding, Use};
use crate::schedule::{AfterLate, Count, Form, Length, Rhythm};
use chrono::{NaiveDate, NaiveTime, Weekday};

const DOSE: &str = "PerBodyWeight(\"13 mg/kg\")";
const ROUTE: &str = "Injection(\"under the skin\")";
const SITES: &str = "    sites: [Site(\"A\", \"left\"), Site(\"B\", \"right\")],\n";
const LABEL: &str = "    label_check: LabelCheck(weight: \"32 g\", volume: \"0.052 mL\"),\n";
const EVERY: &str = "Every(interval: \"60 hours\", doses: 4)";
const MORE: &str = "    weigh_every: \"7 days\",";

fn date(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

fn hour(hour: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, 0, 0).unwrap()
}

fn with(more: &str) -> Prescription {
    read(&changed(&[(MORE, &format!("{MORE}\n    {more},"))]))
}

#[test]
fn the_base() {
    let p = read(BASE);
    assert!(p.demonstration);
    assert_eq!(p.reference, "DEMO-0001");
    assert_eq!(p.written, date(2001, 3, 5));
    assert_eq!(p.valid_until, Some(date(2001, 6, 5)));
    assert_eq!(p.vet.name, "Dr A. Example");
    assert_eq!(
        p.vet.practice.as_deref(),
        Some("Example Practice (invented)")
    );
    assert_eq!(p.vet.phone, "555 0134 (not a number)");
    assert_eq!(p.vet.out_of_hours, None);
    assert_eq!(p.animals, ["Thimblo", "Nubbet"]);
    assert_eq!(p.medicine.name, "Madeup Amber");
    assert_eq!(p.medicine.form.as_deref(), Some("solution for injection"));
    assert_eq!(p.medicine.strength.as_ref().unwrap().text(), "8 mg/mL");
    assert_eq!(
        p.doses,
        [Dose::PerBodyWeight(DoseRate::read("13 mg/kg").unwrap())]
    );
    assert_eq!(p.route, Route::Injection("under the skin".to_owned()));
    assert_eq!(
        p.sites[1],
        Site {
            place: "B".to_owned(),
            side: Some(Side::Right)
        }
    );
    let phase = &p.schedule.phases()[0];
    assert_eq!(
        phase.form,
        Form::Repeating {
            rhythm: Rhythm::Every(Span::Hours(60)),
            length: Length::Doses(4)
        }
    );
    assert_eq!(p.schedule.after_late(), AfterLate::CountFromGiven);
    assert_eq!(p.schedule.count(), Count::Slots);
    assert_eq!(p.schedule.window(), None);
    assert_eq!(p.weigh_every.as_ref().unwrap().value(), Span::Days(7));
    // What is not written.
    assert_eq!((p.rounding, p.tablets), (Rounding::Nearest, Cut::Whole));
    assert_eq!(
        (
            p.max_dose.clone(),
            p.max_per_site.clone(),
            p.tolerance.clone()
        ),
        (None, None, None)
    );
    assert_eq!(
        (p.start, p.weight_basis.clone()),
        (None, WeightBasis::Latest)
    );
    assert_eq!((p.if_missed.clone(), p.if_brought_up.clone()), (None, None));
    assert!(!p.weigh_before_each_dose);
    assert!(p.stop_and_call_if.is_empty() && p.vet_notes.is_empty() && p.follow_ups.is_empty());
    assert!(p.weighed.is_empty() && p.medicine.same_as.is_empty());
}

#[test]
fn the_text_is_kept_as_typed() {
    assert_eq!(read(BASE).source(), BASE);
    let odd = BASE.replace("\n", "\r\n").replace("    ", "\t");
    assert_eq!(read(&odd).source(), odd);
}

#[test]
fn each_form_of_dose() {
    let dose = |form: &str| {
        let text = changed(&[
            (DOSE, form),
            (LABEL, ""),
            (EVERY, "Every(interval: \"12 hours\", doses: 4)"),
        ]);
        read(&text).doses.remove(0)
    };
    assert_eq!(dose("PerBodyWeight(\"13 mL/kg\")").text(), "13 mL/kg");
    assert_eq!(dose("PerBodyWeight(\"130 mcg/lb\")").text(), "130 mcg/lb");
    let daily = dose("PerDay(\"40 mg/kg per day in 2 doses\")");
    assert_eq!(
        daily.rate(),
        Some(DoseRate::read("20 mg/kg").unwrap().value())
    );
    assert_eq!(daily.text(), "40 mg/kg per day in 2 doses");
    let fixed = dose("Fixed(\"0.05 mL\")");
    assert_eq!(fixed, Dose::Fixed(Amount::read("0.05 mL").unwrap()));
    assert_eq!(fixed.rate(), None);

    let text = changed(&[
        (DOSE, "Application(\"a thin film on the wound\")"),
        (LABEL, ""),
        (ROUTE, "OnSkin(\"left flank\")"),
        (SITES, ""),
    ]);
    let film = read(&text).doses.remove(0);
    assert_eq!(
        film,
        Dose::Application("a thin film on the wound".to_owned())
    );
    assert!(!film.is_measured());
    assert_eq!(
        film.calculated(Some(BodyWeight::read("32 g").unwrap().value())),
        Ok(None)
    );
}

/// 250 g at 40 mg/kg per day in 2 doses is 5 mg each time; 13 mg/kg at 32 g is 0.416 mg.
#[test]
fn the_calculated_dose_is_exact_and_held_to_the_greatest() {
    let weight = |text: &str| Some(BodyWeight::read(text).unwrap().value());
    let mg = |n, d| {
        Some(Amount::Mass(
            crate::quantity::MedicineMass::from_milligrams(Exact::ratio(n, d).unwrap()),
        ))
    };
    let p = read(BASE);
    let dose = p.dose(0).unwrap();
    assert_eq!(p.calculated(dose, weight("32 g")), Ok(mg(416, 1_000)));
    assert_eq!(p.calculated(dose, None), Ok(None));
    assert_eq!(p.dose(1), None);

    let p = with("max_dose: \"0.4 mg\"");
    let dose = p.dose(0).unwrap();
    assert_eq!(dose.calculated(weight("32 g")), Ok(mg(416, 1_000)));
    assert_eq!(p.calculated(dose, weight("32 g")), Ok(mg(4, 10)));
    assert_eq!(p.calculated(dose, weight("10 g")), Ok(mg(13, 100)));

    let text = changed(&[
        (DOSE, "PerDay(\"40 mg/kg per day in 2 doses\")"),
        (LABEL, ""),
        (EVERY, "Every(interval: \"12 hours\", doses: 4)"),
    ]);
    let p = read(&text);
    assert_eq!(
        p.calculated(p.dose(0).unwrap(), weight("250 g")),
        Ok(mg(5, 1))
    );
}

#[test]
fn each_route() {
    for (form, expected, used_for) in [
        (
            "Injection(\"into the thigh\")",
            Route::Injection("into the thigh".to_owned()),
            Use::Injection,
        ),
        ("ByMouth", Route::ByMouth, Use::Mouth),
        (
            "OnSkin(\"left flank\")",
            Route::OnSkin("left flank".to_owned()),
            Use::Mouth,
        ),
        ("InEye(\"left\")", Route::InEye(Which::Left), Use::Mouth),
        ("InEar(\"right\")", Route::InEar(Which::Right), Use::Mouth),
        ("InNose(\"each\")", Route::InNose(Which::Each), Use::Mouth),
        (
            "Other(\"by the cloaca\")",
            Route::Other("by the cloaca".to_owned()),
            Use::Mouth,
        ),
    ] {
        let p = read(&changed(&[(ROUTE, form), (SITES, "")]));
        assert_eq!((p.route.used_for(), p.route), (used_for, expected));
    }
    for (form, expected) in [
        (
            "Bath(\"shallow, lukewarm\")",
            Route::Bath("shallow, lukewarm".to_owned()),
        ),
        (
            "Inhaled(\"in a closed box\")",
            Route::Inhaled("in a closed box".to_owned()),
        ),
    ] {
        let p = read(&changed(&[
            (ROUTE, form),
            (SITES, ""),
            (LABEL, ""),
            (DOSE, "Application(\"10 minutes\")"),
        ]));
        assert_eq!(p.route, expected);
    }
}

#[test]
fn each_form_of_schedule() {
    let form = |schedule: &str| {
        let p = read(&changed(&[
            (EVERY, schedule),
            ("CountFromGiven", "KeepCalendar"),
        ]));
        assert_eq!(p.schedule.phases().len(), 1);
        p.schedule.phases()[0].form.clone()
    };
    let repeating = |rhythm, length| Form::Repeating { rhythm, length };
    assert_eq!(form("Once"), Form::Once);
    assert_eq!(
        form("Every(interval: \"3 days\", doses: 5)"),
        repeating(Rhythm::Every(Span::Days(3)), Length::Doses(5))
    );
    assert_eq!(
        form("Every(interval: \"2 weeks\", doses: 2)"),
        repeating(Rhythm::Every(Span::Days(14)), Length::Doses(2))
    );
    let twice = Rhythm::Daily(vec![hour(8), hour(20)]);
    assert_eq!(
        form("AtTimes(times: [\"08:00\", \"20:00\"], days: 6)"),
        repeating(twice.clone(), Length::Days(6))
    );
    assert_eq!(
        form("AtTimes(times: [\"08:00\", \"20:00\"], doses: 7)"),
        repeating(twice.clone(), Length::Doses(7))
    );
    let days = vec![Weekday::Mon, Weekday::Thu];
    assert_eq!(
        form("Weekly(days: [\"Monday\", \"Thursday\"], time: \"09:00\", doses: 6)"),
        repeating(
            Rhythm::Weekly {
                days: days.clone(),
                time: Some(hour(9))
            },
            Length::Doses(6)
        )
    );
    assert_eq!(
        form("Weekly(days: [\"Monday\", \"Thursday\"], doses: 6)"),
        repeating(Rhythm::Weekly { days, time: None }, Length::Doses(6))
    );
    assert_eq!(form("OnDays([0, 14, 28])"), Form::OnDays(vec![0, 14, 28]));
    assert_eq!(
        form("OnceThenAgain(after: \"14 days\")"),
        Form::OnDays(vec![0, 14])
    );
    assert_eq!(
        form("OnceThenAgain(after: \"36 hours\")"),
        repeating(Rhythm::Every(Span::Hours(36)), Length::Doses(2))
    );
    let review = Length::UntilStopped {
        review: date(2001, 4, 5),
    };
    assert_eq!(
        form("UntilStopped(rhythm: Every(interval: \"60 hours\"), review: \"2001-04-05\")"),
        repeating(Rhythm::Every(Span::Hours(60)), review)
    );
    assert_eq!(
        form(
            "UntilStopped(rhythm: AtTimes(times: [\"08:00\", \"20:00\"]), review: \"2001-04-05\")"
        ),
        repeating(twice, review)
    );
}

#[test]
fn phases_with_a_dose_each() {
    let text = changed(&[
        ("    dose: PerBodyWeight(\"13 mg/kg\"),\n", ""),
        (LABEL, ""),
        (EVERY, "Phases([
            Phase(dose: PerBodyWeight(\"13 mg/kg\"), schedule: Once),
            Phase(gap: \"48 hours\", dose: PerBodyWeight(\"7 mg/kg\"), schedule: Every(interval: \"48 hours\", doses: 3)),
        ])"),
    ]);
    let p = read(&text);
    assert_eq!(p.doses.len(), 2);
    let phases = p.schedule.phases();
    assert_eq!((phases[0].dose, phases[0].gap_before), (0, None));
    assert_eq!(
        (phases[1].dose, phases[1].gap_before),
        (1, Some(Span::Hours(48)))
    );
    assert_eq!(p.dose(phases[1].dose).unwrap().text(), "7 mg/kg");
    assert_eq!(p.schedule.slots(), Some(4));
}

#[test]
fn what_the_vet_may_add() {
    assert_eq!(with("round: Down").rounding, Rounding::Down);
    assert_eq!(with("round: Up").rounding, Rounding::Up);
    assert_eq!(with("round: Nearest").rounding, Rounding::Nearest);
    assert_eq!(
        with("tolerance: \"12.5 percent\"")
            .tolerance
            .unwrap()
            .value(),
        Exact::ratio(1, 8).unwrap()
    );
    assert_eq!(
        with("max_per_site: \"0.1 mL\"")
            .max_per_site
            .unwrap()
            .text(),
        "0.1 mL"
    );
    assert_eq!(with("count: Given").schedule.count(), Count::Given);
    assert_eq!(
        with("window: \"6 hours\"").schedule.window(),
        Some(Span::Hours(6))
    );
    assert_eq!(with("weight_basis: Start").weight_basis, WeightBasis::Start);
    assert_eq!(
        with("weight_basis: Fixed(\"32 g\")").weight_basis,
        WeightBasis::Fixed(BodyWeight::read("32 g").unwrap())
    );
    assert!(with("weigh: BeforeEachDose").weigh_before_each_dose);
    assert_eq!(
        with("if_missed: \"Ring.\"").if_missed.as_deref(),
        Some("Ring.")
    );
    assert_eq!(
        with("if_brought_up: \"Ring.\"").if_brought_up.as_deref(),
        Some("Ring.")
    );
    assert_eq!(
        with("stop_and_call_if: [\"sign A\", \"sign B\"]").stop_and_call_if,
        ["sign A", "sign B"]
    );
    assert_eq!(
        with("vet_notes: [\"note \\\"A\\\"\"]").vet_notes,
        ["note \"A\""]
    );
    let start = with("start: \"2001-03-06\"").start.unwrap();
    assert_eq!((start.date, start.time), (date(2001, 3, 6), None));
    let start = with("start: \"2001-03-06 08:00\"").start.unwrap();
    assert_eq!((start.date, start.time), (date(2001, 3, 6), Some(hour(8))));
    let p = with(
        "follow_ups: [FollowUp(what: \"droppings to the lab\", when: AfterLastDose(\"14 days\")), FollowUp(what: \"weigh-in\", when: AfterFirstDose(\"36 hours\")), FollowUp(what: \"visit\", when: On(\"2001-04-02\"))]",
    );
    let when: Vec<FollowUpDate> = p.follow_ups.iter().map(|f| f.when).collect();
    assert_eq!(
        when,
        [
            FollowUpDate::AfterLastDose(Span::Days(14)),
            FollowUpDate::AfterFirstDose(Span::Hours(36)),
            FollowUpDate::On(date(2001, 4, 2)),
        ]
    );
    let text = changed(&[(
        "phone: ",
        "out_of_hours: \"555 0135 (not a number)\", phone: ",
    )]);
    assert_eq!(
        read(&text).vet.out_of_hours.as_deref(),
        Some("555 0135 (not a number)")
    );
    let text = changed(&[("strength: ", "ingredient: \"the amber part\", strength: ")]);
    assert_eq!(
        read(&text).medicine.ingredient.as_deref(),
        Some("the amber part")
    );
}

/// Rule 36.
#[test]
fn the_same_medicine_under_other_names() {
    let p = with("same_as: [\"Madeup Ambra\"]");
    for name in [
        "Madeup Amber",
        "madeup  AMBER",
        "M\u{e1}deup Amber",
        "Madeup Ambra",
        "madeupambra",
    ] {
        assert!(p.same_medicine(name), "{name}");
    }
    for name in ["Madeup Umber", "Madeup", "Invented Cobalt", ""] {
        assert!(!p.same_medicine(name), "{name}");
    }
    // Either of the two may know the other's name.
    let other = read(&changed(&[("\"Madeup Amber\"", "\"madeup ambra\"")]));
    assert!(p.shares_medicine(&other) && other.shares_medicine(&p));
    assert!(!read(BASE).shares_medicine(&other));
}

#[test]
fn animals_and_their_written_weights() {
    let p = with("weighed: [Weighed(animal: \"nubbet\", weight: \"41 g\")]");
    assert!(p.is_for("thimblo") && p.is_for("NUBBET") && !p.is_for("Thimbo"));
    assert_eq!(p.weight_written_for("Nubbet").unwrap().text(), "41 g");
    // With two animals nothing says whose weight the label's is.
    assert_eq!(p.weight_written_for("Thimblo"), None);
    let one = read(&changed(&[("[\"Thimblo\", \"Nubbet\"]", "[\"Thimblo\"]")]));
    assert_eq!(one.weight_written_for("Thimblo").unwrap().text(), "32 g");
    assert_eq!(one.weight_written_for("Nubbet"), None);
}

/// Rule 42: pointed out, and kept as written.
#[test]
fn error_prone_words_are_pointed_out() {
    let p = with("vet_notes: [\"Give QD with food\", \"plain\"], if_missed: \"wait .5 day\"");
    let prone = p.prone_words();
    let said: Vec<(&str, String)> = prone
        .iter()
        .map(|p| (p.field, p.prone.to_string()))
        .collect();
    assert_eq!(
        said,
        [
            (
                "if_missed",
                "'.5' can be misread: write a zero before the point, as in 0.5".to_owned()
            ),
            ("vet_notes", "'QD' can be misread: write 'daily'".to_owned()),
        ]
    );
    assert_eq!(p.vet_notes[0], "Give QD with food");
    assert!(read(BASE).prone_words().is_empty());
}

/// Rule 10, on 13 x 0.032 / 8 = 0.052 mL.
#[test]
fn a_label_agrees_or_is_pointed_out() {
    use crate::prescription::Agreement::{Agrees, Apart};
    let label = |volume: &str| {
        let text = changed(&[("\"0.052 mL\"", &format!("\"{volume}\""))]);
        read(&text).label_agreement().unwrap()
    };
    assert_eq!(label("0.052 mL"), Agrees);
    // 0.05 is 0.052 to two decimals: 3.8 percent below.
    assert_eq!(label("0.05 mL"), Agrees);
    // Exactly 5 percent above and below.
    assert_eq!(label("0.0546 mL"), Agrees);
    assert_eq!(label("0.0494 mL"), Agrees);
    assert_eq!(label("0.0547 mL"), Apart(Exact::ratio(27, 520).unwrap()));
    assert_eq!(label("0.0493 mL"), Apart(Exact::ratio(-27, 520).unwrap()));
    // With a zero typed behind it the figure claims four decimals, so it is no rounding.
    assert_eq!(label("0.0490 mL"), Apart(Exact::ratio(-3, 52).unwrap()));
    // 13 x 0.028 / 8 = 0.0455 mL: 0.05 is its rounding, 9.9 percent above.
    let rounded = |volume: &str| {
        let volume = format!("weight: \"28 g\", volume: \"{volume}\"");
        let text = changed(&[("weight: \"32 g\", volume: \"0.052 mL\"", &volume)]);
        read(&text).label_agreement().unwrap()
    };
    assert_eq!(rounded("0.05 mL"), Agrees);
    assert_eq!(rounded("0.050 mL"), Apart(Exact::ratio(9, 91).unwrap()));
    assert_eq!(read(&changed(&[(LABEL, "")])).label_agreement(), None);
}

/// "1 mL + 2 mL" is one in three (100 mg/mL made 33 mg/mL: worked example D007, a nursing question
/// page of low authority, recomputed); 0.1 mL of 1:1000 with 9.9 mL is 1:100,000, which is 0.01
/// mg/mL (worked example D003, Medscape answer 1844551-62847).
#[test]
fn a_dilution_that_the_vet_wrote() {
    let made = |strength: &str, from: &str, take: &str, add: &str| {
        let medicine = format!(
            "strength: \"{strength}\", made_up: MadeUp(from: \"{from}\", take: \"{take}\", add: \"{add}\", with: \"Madeup water\")"
        );
        changed(&[("strength: \"8 mg/mL\"", &medicine), (LABEL, "")])
    };
    for (strength, from, take, add) in [
        ("8 mg/mL", "80 mg/mL", "1 mL", "9 mL"),
        ("33 mg/mL", "100 mg/mL", "1 mL", "2 mL"),
        ("33.3 mg/mL", "100 mg/mL", "1 mL", "2 mL"),
        ("1:100,000", "1:1000", "0.1 mL", "9.9 mL"),
        ("0.01 mg/mL", "1:1000", "0.1 mL", "9.9 mL"),
        ("25 mg per 5 mL", "50 mg/mL", "1 mL", "9 mL"),
        ("800 mcg/mL", "8 mg/mL", "0.2 mL", "1.8 mL"),
    ] {
        let p = read(&made(strength, from, take, add));
        // The strength that doses are worked out from stays the one written.
        assert_eq!(
            p.strength().unwrap().text(),
            Strength::read(strength).unwrap().text()
        );
        assert_eq!(p.medicine.made_up.unwrap().take.text(), take);
    }
    for (strength, from, take, add) in [
        ("8 mg/mL", "80 mg/mL", "1 mL", "10 mL"),
        // 8.4 would be 8 to the nearest whole figure, but is 5 percent off.
        ("8 mg/mL", "84 mg/mL", "1 mL", "9 mL"),
        ("50 mg/mL", "100 mg/mL", "1 mL", "2 mL"),
        ("33.0 mg/mL", "100 mg/mL", "1 mL", "1.9 mL"),
        ("1:10,000", "1:1000", "0.1 mL", "9.9 mL"),
    ] {
        let faults = super::faults(&made(strength, from, take, add));
        let from_column = 78 + format!("strength: \"{strength}\", made_up: ").len();
        assert_eq!(
            super::places(&faults),
            [format!("8:{from_column}")],
            "{faults}"
        );
        assert!(
            faults.to_string().contains("do not come to the strength"),
            "{faults}"
        );
    }
    let mixed = super::faults(&made("8 mg/mL", "80 units/mL", "1 mL", "9 mL"));
    assert!(mixed.to_string().contains("do not go together"), "{mixed}");
    let said = read(&made("8 mg/mL", "80 mg/mL", "1 mL", "9 mL")).read_back();
    let line = "Made up as your vet wrote: 1 mL of 80 mg/mL, and 9 mL of \"Madeup water\" added";
    assert!(said.iter().any(|said| said == line), "{said:#?}");
}
