//! What is said beside a mark, at its limits and on both sides of them.

use super::{Case, ratio, read, s, settings, syringe, t};
use crate::bottle::{Batch, Bottle};
use crate::caution::{Caution, NoMark};
use crate::dose::{InHand, LastDrawn, Worked};
use crate::quantity::{Measure, Strength, Volume};
use crate::rack::{Needle, PrintedScale, Rounding, Syringe, Use};
use chrono::NaiveDate;

fn says(worked: &Worked, which: impl Fn(&Caution) -> bool) -> bool {
    worked.cautions.iter().any(which)
}

/// 1 mg of 19 mg/mL are 1/19 mL; line 5 of 0.01 mL holds 19/20 of it, 5 percent less.
/// 1.01 mg: 95/101 of it, 5.94 percent less. 0.9 mg: 19/18 of it, 5.56 percent more.
#[test]
fn five_percent_of_rounding_is_quiet_and_more_is_not() {
    for (dose, spoken) in [
        ("1 mg", false),
        ("1.01 mg", true),
        ("0.9 mg", true),
        ("0.95 mg", false),
    ] {
        let worked = Case::new(dose, "19 mg/mL", "84 g").work();
        assert_eq!(worked.mark.as_ref().unwrap().chosen.mark.lines, 5, "{dose}");
        let said = says(&worked, |c| matches!(c, Caution::Rounded { .. }));
        assert_eq!(said, spoken, "{dose}");
    }
}

/// 0.15 over 0.1 is exactly 1.5 and 0.1 over 0.15 exactly two thirds: both quiet.
#[test]
fn a_jump_is_more_than_half_as_much_again_or_less_than_two_thirds() {
    for (dose, last, said) in [
        ("0.15 mL", "0.1 mL", None),
        ("0.16 mL", "0.1 mL", Some(true)),
        ("0.1 mL", "0.15 mL", None),
        ("0.1 mL", "0.16 mL", Some(false)),
        ("0.1 mL", "0.1 mL", None),
    ] {
        let case = Case::new(dose, "", "84 g");
        let worked = case.work_but(|ask| {
            ask.last_drawn = Some(LastDrawn {
                total: Measure::Volume(read::<Volume>(last).value()),
                changed: None,
            });
        });
        let jump = worked.cautions.iter().find_map(|c| match c {
            Caution::Jump { more, .. } => Some(*more),
            _ => None,
        });
        assert_eq!(jump, said, "{dose} after {last}");
    }
}

#[test]
fn a_label_read_on_paper_decides_like_a_bottle() {
    let case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
    for (label, drawn) in [("25 mg/mL", true), ("2.5% w/v", true), ("26 mg/mL", false)] {
        let label = read::<Strength>(label);
        let worked = case.work_but(|ask| {
            // It has to outlive the question that is asked about it.
            let label: &'static _ = Box::leak(Box::new(label.clone()));
            ask.in_hand = InHand::Reads(label);
        });
        let wrong = matches!(
            worked
                .mark
                .as_ref()
                .err()
                .and_then(|reasons| reasons.first()),
            Some(NoMark::WrongStrength { bottle: None, .. })
        );
        assert_eq!(
            (worked.mark.is_ok(), wrong),
            (drawn, !drawn),
            "{}",
            label.text()
        );
    }
}

fn bottle(batch: Option<Batch>, days: Option<u32>) -> Bottle {
    let day = |month, day| NaiveDate::from_ymd_opt(2001, month, day).unwrap();
    Bottle {
        number: 4,
        medicine: "Madeup Amber".to_owned(),
        strength: Some(read("25 mg/mL")),
        lot: None,
        expiry: day(12, 1),
        opened: day(2, 1),
        days_after_opening: days,
        holds: None,
        batch,
    }
}

/// Dosed on 1 March; opened or thawed on 1 February and good for 10 days: past since 11 February.
#[test]
fn past_its_day_another_aliquot_is_named_only_while_one_is_frozen() {
    let first = NaiveDate::from_ymd_opt(2001, 2, 1).unwrap();
    let batch = |aliquots| Batch {
        made_up: first,
        aliquots,
        thawed: vec![first],
    };
    for (batch, another) in [
        (None, false),
        (Some(batch(Some(1))), false),
        (Some(batch(Some(2))), true),
        (Some(batch(Some(3))), true),
    ] {
        let mut case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
        case.bottle = Some(bottle(batch, Some(10)));
        let on = NaiveDate::from_ymd_opt(2001, 2, 11).unwrap();
        let reason = if another {
            NoMark::AliquotPastDiscard { bottle: 4, on }
        } else {
            NoMark::BottlePastDiscard { bottle: 4, on }
        };
        assert_eq!(case.work().mark.unwrap_err(), vec![reason]);
    }
}

#[test]
fn the_last_day_says_whether_it_is_the_labels_expiry() {
    for (days, expiry, on) in [(None, true, (12, 1)), (Some(60), false, (4, 2))] {
        let mut case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
        case.bottle = Some(bottle(None, days));
        let on = NaiveDate::from_ymd_opt(2001, on.0, on.1).unwrap();
        let last_day = Caution::DiscardAfter {
            bottle: 4,
            on,
            expiry,
        };
        assert!(case.work().cautions.contains(&last_day), "{days:?}");
    }
}

/// 50 units/kg for 200 g are 10 units, 0.1 mL of 100 units/mL: line 20 of 0.005 mL.
#[test]
fn a_fixed_needle_whose_scale_is_in_ml_measures_units_of_medicine() {
    let case = Case::new("50 units/kg", "100 units/mL", "200 g").injected_with(vec![s()]);
    assert_eq!(case.mark(), (20, ratio(0, 1)));
}

/// 0.0452 mL: line 1 of 0.05 mL is 12/113 more, line 2 of 0.02 mL 13/113 less; both are above 10
/// percent. The nearer is told, though its lines are the coarser ones.
#[test]
fn of_two_syringes_beyond_the_tolerance_the_nearer_is_told() {
    let mut case = Case::new("0.0452 mL", "", "84 g");
    let (coarse, fine) = ("0.05 mL", "0.02 mL");
    case.syringes = vec![
        syringe("1 mL", fine, Use::Mouth),
        syringe("1 mL", coarse, Use::Mouth),
    ];
    let reasons = case.work().mark.unwrap_err();
    assert!(
        matches!(&reasons[..], [NoMark::BeyondTolerance { difference, .. }] if *difference == ratio(12, 113)),
        "{reasons:?}"
    );
}

/// A fifth of 1 mL is 0.2 mL.
#[test]
fn a_fifth_of_the_barrel_is_quiet_and_less_is_not() {
    for (dose, spoken) in [("0.2 mL", false), ("0.19 mL", true)] {
        let worked = Case::new(dose, "", "84 g").work();
        let said = says(&worked, |c| matches!(c, Caution::LittleOfTheBarrel { .. }));
        assert_eq!(said, spoken, "{dose}");
    }
}

#[test]
fn a_better_syringe_is_named_only_where_one_is_better() {
    let better = |syringes: Vec<Syringe>, last: Syringe| {
        let mut case = Case::new("0.25 mL", "", "84 g").injected_with(syringes);
        case.last_used = Some(last);
        says(&case.work(), |c| matches!(c, Caution::BetterSyringe { .. }))
    };
    assert!(better(vec![s(), t()], t()));
    assert!(!better(vec![s(), t()], s()));
    // The same barrel with a needle that stays on is out by as much, so it is no better.
    let fixed = Syringe::new(
        read("1 mL"),
        read("0.01 mL"),
        Use::Injection,
        Needle::Fixed,
        PrintedScale::Millilitres,
        None,
        None,
    )
    .unwrap();
    assert!(!better(vec![t(), fixed.clone()], fixed));
}

/// The setting is 10 percent: of 50 g, 45 g calls and 46 g does not.
#[test]
fn the_ladder_calls_where_a_weighing_would() {
    assert_eq!(settings().loss_percent.share(), ratio(1, 10));
    let case = Case::new("20 mg/kg", "8 mg/mL", "50 g").injected_with(vec![t()]);
    let ladder = case.work_but(|ask| ask.in_hand = InHand::Unopened).ladder();
    let (calls, quiet): (Vec<_>, Vec<_>) = ladder.iter().partition(|row| row.call);
    assert_eq!(calls.first().unwrap().first.grams(), ratio(40, 1));
    assert_eq!(calls.last().unwrap().last.grams(), ratio(45, 1));
    assert_eq!(quiet.first().unwrap().first.grams(), ratio(46, 1));
    assert_eq!(quiet.last().unwrap().last.grams(), ratio(60, 1));
}

/// Rule 8: however many steps of the scale there are, here 4,800 of 1 g around 12 kg. 1.01 mg/kg of 20 mg/mL: line 20 holds up to 0.205 mL, which is
/// 4,059.4 g; line 48 up to 0.485 mL, 9,603.9 g.
#[test]
fn a_ladder_goes_by_the_steps_of_the_scale_however_many() {
    for (weight, last_of_first) in [("5 kg", 4_059), ("12 kg", 9_603)] {
        let case = Case::new("1.01 mg/kg", "20 mg/mL", weight);
        let ladder = case.work().ladder();
        let last = ladder.first().unwrap().last.grams();
        assert_eq!(last, ratio(last_of_first, 1), "{weight}");
    }
}

/// What the working begins with.
fn working(case: &Case, many: usize) -> Vec<String> {
    case.work().working.into_iter().take(many).collect()
}

#[test]
fn the_working_says_how_the_dose_was_written() {
    let per_day = Case::new("40 mg/kg per day in 2 doses", "400 mg per 5 mL", "250 g");
    assert_eq!(
        working(&per_day, 6),
        [
            "40 mg/kg per day in 2 doses: each dose 20 mg/kg",
            "250 g = 0.25 kg",
            "0.25 kg × 20 mg/kg = 5 mg",
            "400 mg per 5 mL = 80 mg/mL",
            "5 mg ÷ 80 mg/mL = 0.0625 mL",
            "÷ 0.01 mL = 6.25 lines; nearest, a tie to the lower: 6",
        ]
    );
    assert_eq!(
        working(&Case::new("0.01 mL", "", "84 g"), 3),
        [
            "Each dose 0.01 mL, whatever the weight",
            "÷ 0.01 mL = 1 line; nearest, a tie to the lower: 1",
            "0.01 mL holds 0.01 mL, about 0.119 mL/kg: exactly as calculated",
        ]
    );
    // What is written in mL is not put over a strength.
    let by_volume = working(&Case::new("0.01 mL", "25 mg/mL", "84 g"), 9);
    assert!(!by_volume.iter().any(|line| line.contains("÷ 25 mg/mL")));
    // As the vet wrote it, though 1,000 mcg are 1 mg.
    let micrograms = Case::new("1,000 mcg/kg", "1 mg/mL", "84 g");
    assert_eq!(
        working(&micrograms, 2)[1],
        "0.084 kg × 1,000 mcg/kg = 84 mcg"
    );
}

/// 1 mg for each 453.59237 g (the exact pound) is 2.2046 mg for each kg.
#[test]
fn a_rate_by_the_pound_is_worked_by_the_kilogram() {
    let by_the_pound = Case::new("1 mg/lb", "1 mg/mL", "84 g");
    let line = working(&by_the_pound, 2).pop().unwrap();
    assert!(
        line.starts_with("0.084 kg × about 2.205 mg/kg = about "),
        "{line}"
    );
}

/// 50 mg of 50 mg per tablet; 5 and 10 mg of a paste of 50 mg/g on a scale that shows 0.1 g.
#[test]
fn one_part_and_one_step_are_one() {
    for (dose, strength, line) in [
        ("50 mg", "50 mg per tablet", "= 1 part; "),
        ("100 mg", "50 mg per tablet", "= 2 parts; "),
        ("5 mg", "50 mg/g", "= 1 step of the scale; "),
        ("10 mg", "50 mg/g", "= 2 steps of the scale; "),
    ] {
        let lines = Case::new(dose, strength, "84 g").work().working;
        assert!(lines.iter().any(|l| l.contains(line)), "{lines:#?}");
    }
}

/// 7.2 mL at most 2 mL a site are four of 1.8 mL.
#[test]
fn the_working_says_how_a_volume_is_split() {
    let barrel = syringe("10 mL", "0.2 mL", Use::Injection);
    let mut case = Case::new("15 mL/kg", "", "480 g").injected_with(vec![barrel]);
    let split = |case: &Case| {
        let lines = case.work().working;
        let of = |what: &str| lines.iter().any(|line| line.contains(what));
        let drawn = of("7.2 mL in 4 equal draws: 1.8 mL each");
        (drawn, of("4 times 1.8 mL holds 7.2 mL"), of("equal draws"))
    };
    assert_eq!(split(&case), (false, false, false));
    case.formula.max_per_site = Some(read("2 mL"));
    assert_eq!(split(&case), (true, true, true));
}

/// Dosed on 1 March: expired on 15 February; opened the day after; a batch of which nothing was
/// thawed.
#[test]
fn a_bottle_is_held_against_the_day_of_the_dose() {
    let day = |month, day| NaiveDate::from_ymd_opt(2001, month, day).unwrap();
    let with = |change: fn(&mut Bottle)| {
        let mut case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
        let mut in_hand = bottle(None, None);
        change(&mut in_hand);
        case.bottle = Some(in_hand);
        case.work()
    };
    let expired = with(|bottle| bottle.expiry = NaiveDate::from_ymd_opt(2001, 2, 15).unwrap());
    let reason = NoMark::BottleExpired {
        bottle: 4,
        on: day(2, 15),
    };
    assert_eq!(expired.mark.unwrap_err(), vec![reason]);
    let opened_later = with(|bottle| bottle.opened = NaiveDate::from_ymd_opt(2001, 3, 2).unwrap());
    assert!(opened_later.mark.is_ok());
    let frozen = with(|bottle| {
        bottle.batch = Some(Batch {
            made_up: bottle.opened,
            aliquots: Some(2),
            thawed: Vec::new(),
        });
    });
    assert!(says(&frozen, |c| *c == Caution::NotThawed { bottle: 4 }));
    let thawed = with(|bottle| bottle.batch = None);
    assert!(!says(&thawed, |c| matches!(c, Caution::NotThawed { .. })));
}

#[test]
fn a_bottle_that_ran_dry_gives_no_mark() {
    let case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
    let worked = case.work_but(|ask| {
        ask.in_hand = InHand::Gone(Box::leak(Box::new(bottle(None, None))));
    });
    let reason = NoMark::BottleGone { bottle: 4 };
    assert_eq!(worked.mark.unwrap_err(), vec![reason]);
}

/// 4.1 mg of 25 mg/mL are 16.4 lines and would be 17 upwards, beyond the limit; 4 mg are 16 just.
#[test]
fn the_working_says_when_the_vets_limit_turns_the_rounding_down() {
    let line = |most: &str, rounding: Rounding| {
        let mut case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
        case.formula.max_dose = Some(read(most));
        case.formula.rounding = rounding;
        let lines = case.work().working;
        let line = lines.iter().find(|line| line.starts_with("÷ 0.01 mL"));
        line.unwrap().clone()
    };
    let down = "÷ 0.01 mL = 16.4 lines; down, so as to stay within your vet's limit: 16";
    assert_eq!(line("4.1 mg", Rounding::Up), down);
    assert_eq!(line("4.1 mg", Rounding::Nearest), down);
    let as_written = "÷ 0.01 mL = 16.4 lines; down, as your vet wrote: 16";
    assert_eq!(line("4.1 mg", Rounding::Down), as_written);
    let just = "÷ 0.01 mL = 16 lines; up, as your vet wrote: 16";
    assert_eq!(line("4 mg", Rounding::Up), just);
    let nearest = "÷ 0.01 mL = 16 lines; nearest, a tie to the lower: 16";
    assert_eq!(line("4 mg", Rounding::Nearest), nearest);
}
