#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]
//! The scenarios' figures, worked by hand as exact fractions. S is a 0.3 mL barrel with a line
//! every 0.005 mL and a fixed needle, T a 1 mL barrel with a line every 0.01 mL.

mod spoken;
mod watched;
mod weighed;

use crate::animal::{Weighing, Weights};
use crate::bottle::Bottle;
use crate::caution::{Caution, NoMark};
use crate::dose::{AtHand, Formula, InHand, LastDrawn, WeightRule, Worked, limits, work};
use crate::notation::{DailyRate, Notation, Written};
use crate::prescription::Dose;
use crate::quantity::{Amount, DoseRate, Exact, Measure, ProductMass, Strength, Volume};
use crate::rack::{Cut, Needle, PrintedScale, Rounding, Syringe, Use};
use crate::settings::{PaperSize, Settings};
use crate::zone::Zone;
use chrono::{DateTime, NaiveDate, Utc};

fn ratio(n: i128, d: i128) -> Exact {
    Exact::ratio(n, d).unwrap()
}

fn read<T: Notation>(text: &str) -> Written<T> {
    T::read(text).unwrap()
}

fn syringe(capacity: &str, graduation: &str, used_for: Use) -> Syringe {
    let needle = match used_for {
        Use::Mouth => Needle::Tip,
        Use::Injection if capacity == "0.3 mL" => Needle::Fixed,
        Use::Injection => Needle::Hub,
    };
    let scale = PrintedScale::Millilitres;
    Syringe::new(
        read(capacity),
        read(graduation),
        used_for,
        needle,
        scale,
        None,
        None,
    )
    .unwrap()
}

struct Case {
    formula: Formula,
    syringes: Vec<Syringe>,
    used_for: Use,
    weights: Vec<(&'static str, &'static str)>,
    cut: Cut,
    now: &'static str,
    bottle: Option<Bottle>,
    last_used: Option<Syringe>,
    last_drawn: Option<LastDrawn>,
    readability: &'static str,
    rule: WeightRule,
}

impl Case {
    fn new(dose: &str, strength: &str, weight: &'static str) -> Case {
        let settings = settings();
        let (limits, limits_whose) = limits(None, &settings);
        let dose = if dose.contains("per day") {
            Dose::PerDay(read::<DailyRate>(dose))
        } else if dose.contains('/') {
            Dose::PerBodyWeight(read::<DoseRate>(dose))
        } else {
            Dose::Fixed(read::<Amount>(dose))
        };
        Case {
            formula: Formula {
                dose,
                strength: (!strength.is_empty()).then(|| read(strength)),
                max_dose: None,
                max_per_site: None,
                rounding: Rounding::Nearest,
                limits,
                limits_whose,
            },
            syringes: vec![syringe("1 mL", "0.01 mL", Use::Mouth)],
            used_for: Use::Mouth,
            weights: vec![("2001-03-01T08:00:00Z", weight)],
            cut: Cut::Whole,
            now: "2001-03-01T09:00:00Z",
            bottle: None,
            last_used: None,
            last_drawn: None,
            readability: "1 g",
            rule: WeightRule::default(),
        }
    }

    fn injected_with(mut self, syringes: Vec<Syringe>) -> Case {
        self.used_for = Use::Injection;
        self.syringes = syringes;
        self
    }

    fn work(&self) -> Worked {
        self.work_but(|_| ())
    }

    /// Works it with something else in hand or behind it.
    fn work_but(&self, change: impl FnOnce(&mut crate::dose::Ask)) -> Worked {
        let now: DateTime<Utc> = self.now.parse().unwrap();
        let settings = settings();
        let weighings = self
            .weights
            .iter()
            .zip(1..)
            .map(|((at, weight), entry)| Weighing {
                entry,
                at: at.parse().unwrap(),
                weight: read(weight),
                readability: read(self.readability),
                tag: None,
            });
        let in_hand = match &self.bottle {
            Some(bottle) => InHand::Bottle(bottle),
            None => InHand::OnPaper,
        };
        let weights = Weights::new(weighings.collect());
        let mut ask = crate::dose::Ask {
            formula: &self.formula,
            must_read: self.formula.strength.as_ref(),
            in_hand,
            at_hand: AtHand {
                syringes: &self.syringes,
                used_for: self.used_for,
                cut: self.cut,
                paste_scale: ProductMass::from_grams(ratio(1, 10)),
                last_used: self.last_used.as_ref(),
                named: None,
            },
            weights: &weights,
            weight_rule: &self.rule,
            last_drawn: self.last_drawn.clone(),
            settings: &settings,
            now,
            day: now.date_naive(),
            zone: Zone::UTC,
        };
        change(&mut ask);
        work(&ask)
    }

    /// Lines, difference.
    fn mark(&self) -> (u32, Exact) {
        let mark = self.work().mark.unwrap().chosen.mark;
        (mark.lines, mark.difference)
    }
}

fn settings() -> Settings {
    Settings::new("UTC".to_owned(), PaperSize::A4, "1 g", false).unwrap()
}

fn s() -> Syringe {
    syringe("0.3 mL", "0.005 mL", Use::Injection)
}

fn t() -> Syringe {
    syringe("1 mL", "0.01 mL", Use::Injection)
}

#[test]
fn scenario_1_the_smallest_animals() {
    let on_s = |weight| Case::new("20 mg/kg", "8 mg/mL", weight).injected_with(vec![s()]);
    let twelve = on_s("12 g").work();
    assert_eq!(
        twelve.calculated.unwrap().amount,
        read::<Amount>("0.24 mg").value()
    );
    let drawn = twelve.mark.unwrap();
    assert_eq!(
        drawn.chosen.mark.total,
        Measure::Volume(read::<Volume>("0.03 mL").value())
    );
    assert_eq!(drawn.chosen.mark.difference, Exact::ZERO);

    let worked = on_s("31 g").work();
    let calculated = worked.calculated.unwrap();
    assert_eq!(calculated.amount, read::<Amount>("0.62 mg").value());
    assert_eq!(calculated.measure.figure(), ratio(31, 400));
    let ladder = worked.ladder();
    let drawn = worked.mark.unwrap();
    assert_eq!(drawn.chosen.mark.total.figure(), ratio(75, 1_000));
    assert_eq!(drawn.held, read::<Amount>("0.6 mg").value());
    assert_eq!(drawn.chosen.mark.difference, ratio(-1, 31));
    let row = ladder.iter().find(|row| row.today).unwrap();
    // (29, 31] g: readable in whole grams from 30 to 31.
    assert_eq!(
        (row.first.grams(), row.last.grams()),
        (ratio(30, 1), ratio(31, 1))
    );

    let on_t = Case::new("20 mg/kg", "8 mg/mL", "31 g").injected_with(vec![t()]);
    assert_eq!(on_t.mark(), (8, ratio(1, 31)));
}

#[test]
fn scenario_3_by_mouth() {
    let case = |weight| {
        let mut case = Case::new("50 mg/kg", "25 mg/mL", weight);
        case.syringes.push(s());
        case
    };
    let worked = case("84 g").work();
    assert_eq!(
        worked.calculated.unwrap().measure.figure(),
        ratio(168, 1_000)
    );
    assert_eq!(case("84 g").mark(), (17, ratio(1, 84)));
    assert_eq!(case("97.5 g").mark(), (19, ratio(-1, 39)));
    let only_injection = Case {
        syringes: vec![s()],
        ..case("84 g")
    };
    let reasons = only_injection.work().mark.unwrap_err();
    assert_eq!(
        reasons,
        vec![NoMark::NoSyringe {
            needed: "for the mouth"
        }]
    );
}

#[test]
fn scenario_4_loss_of_weight() {
    let case = |now: &'static str| {
        let mut case = Case::new("20 mg/kg", "8 mg/mL", "50 g").injected_with(vec![t()]);
        case.weights.push(("2001-03-01T08:30:00Z", now));
        case
    };
    let worked = case("44 g").work();
    assert!(worked.call_first());
    assert!(
        matches!(worked.cautions.first(), Some(Caution::Loss { share, .. }) if *share == ratio(12, 100))
    );
    assert_eq!(case("44 g").mark(), (11, Exact::ZERO));
    assert!(case("45 g").work().call_first());
    assert!(!case("45.1 g").work().call_first());
    let mut amended = case("44 g");
    amended.formula.dose = Dose::PerBodyWeight(read("15 mg/kg"));
    assert_eq!(
        amended.work().calculated.unwrap().measure.figure(),
        ratio(33, 400)
    );
    assert_eq!(amended.mark(), (8, ratio(-1, 33)));
}

#[test]
fn scenario_5_the_new_bottle() {
    let mut case = Case::new("20 mg/kg", "8 mg/mL", "31 g").injected_with(vec![s()]);
    let day = |month, day| NaiveDate::from_ymd_opt(2001, month, day).unwrap();
    case.bottle = Some(Bottle {
        number: 4,
        medicine: "Madeup Amber".to_owned(),
        strength: Some(read("10 mg/mL")),
        lot: None,
        expiry: day(12, 1),
        opened: day(2, 1),
        days_after_opening: None,
        holds: None,
        batch: None,
    });
    let reasons = case.work().mark.unwrap_err();
    assert!(matches!(
        reasons.first(),
        Some(NoMark::WrongStrength {
            bottle: Some(4),
            ..
        })
    ));
    // The old mark from the new bottle: 0.075 mL at 10 mg/mL is 0.75 mg, 13/62 over.
    let strength = read::<Strength>("10 mg/mL").value();
    let old_mark = Measure::Volume(read::<Volume>("0.075 mL").value());
    assert_eq!(
        old_mark.holds(Some(strength)).unwrap(),
        read::<Amount>("0.75 mg").value()
    );
    assert_eq!(ratio(75, 62).minus(Exact::ONE).unwrap(), ratio(13, 62));
}

#[test]
fn scenario_7_tablets() {
    for (cut, difference) in [(Cut::Halves, ratio(-3, 13)), (Cut::Quarters, ratio(2, 13))] {
        let mut case = Case::new("25 mg/kg", "50 mg per tablet", "1.3 kg");
        case.cut = cut;
        let worked = case.work();
        assert_eq!(worked.calculated.unwrap().measure.figure(), ratio(13, 20));
        let reasons = worked.mark.unwrap_err();
        assert!(matches!(
            reasons.first(),
            Some(NoMark::BeyondTolerance { difference: d, .. }) if *d == difference
        ));
    }
}

#[test]
fn scenario_8_per_day_is_not_per_dose() {
    let case = Case::new("40 mg/kg per day in 2 doses", "400 mg per 5 mL", "250 g");
    let calculated = case.work().calculated.unwrap();
    assert_eq!(calculated.amount, read::<Amount>("5 mg").value());
    assert_eq!(calculated.measure.figure(), ratio(1, 16));
    assert_eq!(case.mark(), (6, ratio(-1, 25)));
}

#[test]
fn scenario_9_fluids_by_site() {
    let mut case = Case::new("15 mL/kg", "", "480 g").injected_with(vec![syringe(
        "10 mL",
        "0.2 mL",
        Use::Injection,
    )]);
    assert_eq!(case.mark(), (36, Exact::ZERO));
    case.formula.max_per_site = Some(read("2 mL"));
    let worked = case.work();
    let mark = worked.mark.as_ref().unwrap().chosen.mark;
    assert_eq!((mark.draws, mark.each.figure()), (4, ratio(18, 10)));
    assert!(
        worked
            .cautions
            .iter()
            .any(|c| matches!(c, Caution::LittleOfTheBarrel { .. }))
    );
}

#[test]
fn scenario_10_the_age_of_a_weight() {
    let on = |now: &'static str| {
        let mut case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
        case.now = now;
        case.work()
    };
    let old = |worked: &Worked| {
        worked
            .cautions
            .iter()
            .any(|c| matches!(c, Caution::OldWeight { .. }))
    };
    let eighth = on("2001-03-08T23:00:00Z");
    assert!(!old(&eighth) && eighth.mark.is_ok());
    let ninth = on("2001-03-09T00:00:00Z");
    assert!(old(&ninth) && ninth.mark.is_ok());
    let twenty_ninth = on("2001-03-29T23:00:00Z");
    assert!(old(&twenty_ninth) && twenty_ninth.mark.is_ok());
    let thirtieth = on("2001-03-30T00:00:00Z");
    let ladder = thirtieth.ladder();
    let reasons = thirtieth.mark.unwrap_err();
    assert!(matches!(
        reasons.first(),
        Some(NoMark::WeightTooOld {
            age: 29,
            limit: 28,
            ..
        })
    ));
    assert!(
        !ladder.is_empty(),
        "the ladder stays when the weight is too old"
    );
}

#[test]
fn the_last_syringe_stays_while_it_gives_a_mark() {
    let mut case = Case::new("20 mg/kg", "8 mg/mL", "31 g").injected_with(vec![s(), t()]);
    assert_eq!(
        case.work().mark.unwrap().chosen.instrument.syringe(),
        Some(&s())
    );
    case.last_used = Some(t());
    let worked = case.work();
    assert_eq!(worked.mark.unwrap().chosen.instrument.syringe(), Some(&t()));
    let names_s = |c: &Caution| {
        matches!(c,
        Caution::LittleOfTheBarrel { better: Some(words) } | Caution::BetterSyringe { better: words }
            if words.starts_with("0.3 mL"))
    };
    assert!(worked.cautions.iter().any(names_s));
}

#[test]
fn an_insulin_barrel_never_measures_units_of_medicine() {
    let insulin = Syringe::new(
        read("0.3 mL"),
        read("0.005 mL"),
        Use::Injection,
        Needle::Fixed,
        PrintedScale::InsulinU100,
        None,
        None,
    )
    .unwrap();
    let case = Case::new("50 units/kg", "100 units/mL", "200 g").injected_with(vec![insulin]);
    assert_eq!(
        case.work().mark.unwrap_err(),
        vec![NoMark::OnlyInsulinBarrels]
    );
}

/// 20 mg/kg for 31 g from 8 mg/mL: line 15 of 0.005 mL, which is 7.5 on that scale.
#[test]
fn an_insulin_barrel_measures_milligrams() {
    let insulin = Syringe::new(
        read("0.3 mL"),
        read("0.005 mL"),
        Use::Injection,
        Needle::Fixed,
        PrintedScale::InsulinU100,
        None,
        None,
    )
    .unwrap();
    let case = Case::new("20 mg/kg", "8 mg/mL", "31 g").injected_with(vec![insulin]);
    assert_eq!(case.mark(), (15, ratio(-1, 31)));
}

/// 0.24 mg of 8 mg/mL are 0.03 mL; a dose of 0.03 mL is counted in mL whatever the strength.
#[test]
fn a_fixed_dose_is_held_as_it_is_counted() {
    let held = |dose: &str| {
        let case = Case::new(dose, "8 mg/mL", "12 g").injected_with(vec![s()]);
        case.work().mark.unwrap().held
    };
    assert_eq!(held("0.24 mg"), read::<Amount>("0.24 mg").value());
    assert_eq!(held("0.03 mL"), read::<Amount>("0.03 mL").value());
}

/// 50 mg/kg for 84 g are 4.2 mg.
#[test]
fn a_cap_that_does_not_bite_is_not_spoken_of() {
    let capped = |most: &str| {
        let mut case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
        case.formula.max_dose = Some(read(most));
        let worked = case.work();
        let spoken = worked.cautions.iter();
        let spoken = spoken
            .filter(|c| matches!(c, Caution::Capped { .. }))
            .count();
        (worked.calculated.unwrap().capped, spoken)
    };
    assert_eq!(capped("4.2 mg"), (false, 0));
    assert_eq!(capped("4.1 mg"), (true, 1));
}

#[test]
fn the_vets_cap_is_never_exceeded() {
    let mut case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
    case.formula.max_dose = Some(read("4.1 mg"));
    case.formula.rounding = Rounding::Up;
    let worked = case.work();
    assert!(worked.calculated.unwrap().capped);
    // 4.1 mg is 0.164 mL: up would be 0.17, which holds 4.25 mg; the cap makes it 0.16.
    assert_eq!(worked.mark.unwrap().chosen.mark.lines, 16);
    assert!(
        worked
            .cautions
            .iter()
            .any(|c| matches!(c, Caution::Capped { .. }))
    );
}

#[test]
fn a_fixed_dose_needs_no_weight() {
    let mut case = Case::new("0.05 mL", "", "84 g");
    case.weights.clear();
    case.rule.fixed_dose = true;
    assert_eq!(case.mark(), (5, Exact::ZERO));
    let mut by_weight = Case::new("50 mg/kg", "25 mg/mL", "84 g");
    by_weight.weights.clear();
    assert_eq!(by_weight.work().mark.unwrap_err(), vec![NoMark::NoWeight]);
}

#[test]
fn too_small_for_any_line_says_so() {
    let case = Case::new("1 mg/kg", "25 mg/mL", "6 g");
    assert!(matches!(
        case.work().mark.unwrap_err().first(),
        Some(NoMark::TooSmall { .. })
    ));
}

#[test]
fn every_ladder_row_is_the_formula() {
    for (dose, strength, weight) in [
        ("20 mg/kg", "8 mg/mL", "31 g"),
        ("20 mg/kg", "8 mg/mL", "12 g"),
        ("7 mg/kg", "25 mg/mL", "97 g"),
    ] {
        let case = Case::new(dose, strength, weight).injected_with(vec![s(), t()]);
        let worked = case.work();
        let Ok(drawn) = &worked.mark else { continue };
        for row in worked.ladder() {
            for at in [row.first, row.last] {
                let again = case
                    .formula
                    .mark(Some(at), &drawn.chosen.instrument, Some(1))
                    .ok();
                assert_eq!(again.map(|m| m.lines), row.mark.map(|m| m.lines));
            }
        }
    }
}

#[test]
fn the_working_can_be_followed_by_hand() {
    let worked = Case::new("20 mg/kg", "8 mg/mL", "31 g")
        .injected_with(vec![s()])
        .work();
    assert_eq!(
        worked.working,
        [
            "31 g = 0.031 kg",
            "0.031 kg × 20 mg/kg = 0.62 mg",
            "0.62 mg ÷ 8 mg/mL = 0.0775 mL",
            "÷ 0.005 mL = 15.5 lines; nearest, a tie to the lower: 15",
            "0.075 mL holds 0.6 mg, about 19.35 mg/kg: about 3.2 percent less than calculated",
            "Within about 13 percent in all, with scale and instrument; the syringe's share by ISO 7886-1, from memory",
        ]
    );
}
