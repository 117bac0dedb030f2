//! What is watched beside the arithmetic: the jump from the last mark, which weight a dose goes
//! by, a weight that looks like a slip, and the ladder's calls, steps and span. Worked by hand.

use super::{Case, read, s, syringe, t};
use crate::animal::Weighing;
use crate::bottle::Bottle;
use crate::caution::{Caution, Level};
use crate::dose::{Basis, LastDrawn, Row};
use crate::notation::{Notation, Written};
use crate::quantity::{BodyWeight, Exact, Measure, Volume};
use crate::rack::Use;

fn volume(text: &str) -> Measure {
    Measure::Volume(read::<Volume>(text).value())
}

fn weight(text: &str) -> BodyWeight {
    BodyWeight::read(text).unwrap().value()
}

/// 20 mg/kg of 8 mg/mL for 60 g: 1.2 mg, 0.15 mL. Against it 0.1 mL is a ratio of 1.5 exactly and
/// 0.225 mL one of two thirds exactly: both quiet; a line beyond either speaks.
#[test]
fn a_mark_far_from_the_last_one_is_pointed_out() {
    for (last, more) in [
        ("0.1 mL", None),
        ("0.095 mL", Some(true)),
        ("0.225 mL", None),
        ("0.23 mL", Some(false)),
    ] {
        let mut case = Case::new("20 mg/kg", "8 mg/mL", "60 g").injected_with(vec![s()]);
        case.last_drawn = Some(LastDrawn {
            total: volume(last),
            changed: None,
        });
        let worked = case.work();
        let drawn = worked.mark.as_ref().unwrap();
        assert_eq!(drawn.chosen.mark.total, volume("0.15 mL"), "{last}");
        let jump = worked.cautions.iter().find_map(|caution| match caution {
            Caution::Jump { more, .. } => Some(*more),
            _ => None,
        });
        assert_eq!(jump, more, "{last}");
    }
}

/// At the start 31 g, now 36 g; 20 mg/kg of 8 mg/mL on S. The latest: 0.72 mg, 0.09 mL. The start:
/// 0.62 mg, 31/400 mL, a tie: 0.075 mL. Fixed at 20 g: 0.4 mg, 0.05 mL.
#[test]
fn the_vet_says_which_weight_the_mark_goes_by() {
    let fixed: Written<BodyWeight> = read("20 g");
    for (basis, mark, used) in [
        (Basis::Latest, "0.09 mL", "36 g"),
        (Basis::Start, "0.075 mL", "31 g"),
        (Basis::Fixed(fixed), "0.05 mL", "20 g"),
    ] {
        let mut case = Case::new("20 mg/kg", "8 mg/mL", "31 g").injected_with(vec![s()]);
        case.weights.push(("2001-03-05T08:00:00Z", "36 g"));
        case.now = "2001-03-05T09:00:00Z";
        case.rule.basis = basis.clone();
        case.rule.start = Some(Weighing {
            entry: 1,
            at: "2001-03-01T08:00:00Z".parse().unwrap(),
            weight: read("31 g"),
            readability: read("1 g"),
            tag: None,
        });
        let worked = case.work();
        let drawn = worked.mark.as_ref().unwrap();
        assert_eq!(drawn.chosen.mark.total, volume(mark), "{basis:?}");
        assert_eq!(worked.weight.as_ref().unwrap().weight.text(), used);
    }
}

/// Rule 19: a ratio of 8 to 12.5, both inclusive. From 5 g: 39.9 g is 7.98 times, 40 g is 8 times,
/// 62.5 g is 12.5 times, 62.6 g is 12.52 times. Then the vet's own weight: 310 g against 31 g.
#[test]
fn a_weight_about_ten_times_another_calls() {
    let calls = |case: &Case| {
        let worked = case.work();
        let mut cautions = worked.cautions.iter();
        let found = cautions.find(|caution| matches!(caution, Caution::Tenfold { .. }));
        assert_eq!(worked.call_first(), found.is_some());
        found.map(Caution::level)
    };
    let heavier = |now: &'static str| {
        let mut case = Case::new("20 mg/kg", "8 mg/mL", "5 g").injected_with(vec![s(), t()]);
        case.weights.push(("2001-03-05T08:00:00Z", now));
        case.now = "2001-03-05T09:00:00Z";
        case
    };
    assert_eq!(calls(&heavier("39.9 g")), None);
    assert_eq!(calls(&heavier("40 g")), Some(Level::Call));
    assert_eq!(calls(&heavier("62.5 g")), Some(Level::Call));
    assert_eq!(calls(&heavier("62.6 g")), None);
    let mut case = Case::new("20 mg/kg", "8 mg/mL", "310 g").injected_with(vec![t()]);
    case.rule.by_the_vet = Some(read("31 g"));
    assert_eq!(calls(&case), Some(Level::Call));
    case.rule.accepted_loss = Some(read("310 g"));
    assert_eq!(calls(&case), None, "the vet accepted it");
}

/// 50 g, then 44 g, 12 percent down: the ladder calls from 45 g, 10 percent down, downwards. Once
/// the vet has accepted 44 g it calls below that alone.
#[test]
fn the_ladder_calls_below_an_accepted_weight_alone() {
    let mut case = Case::new("20 mg/kg", "8 mg/mL", "50 g").injected_with(vec![s()]);
    case.weights.push(("2001-03-05T08:00:00Z", "44 g"));
    case.now = "2001-03-05T09:00:00Z";
    // A working on paper holds the weight against no other; a bottle in hand does.
    case.bottle = Some(Bottle {
        number: 1,
        medicine: "Madeup Amber".to_owned(),
        strength: Some(read("8 mg/mL")),
        lot: None,
        expiry: "2002-01-31".parse().unwrap(),
        opened: "2001-03-01".parse().unwrap(),
        days_after_opening: None,
        holds: None,
        batch: None,
    });
    let highest = |ladder: &[Row]| {
        let calling = ladder.iter().filter(|row| row.call);
        calling.map(|row| row.last).max()
    };
    assert_eq!(highest(&case.work().ladder()), Some(weight("45 g")));
    case.rule.accepted_loss = Some(read("44 g"));
    let worked = case.work();
    assert!(!worked.call_first());
    assert_eq!(highest(&worked.ladder()), Some(weight("43 g")));
}

/// 1.3 kg on a scale of 0.1 g: the ladder goes from 1,040 g to 1,560 g by 0.1 g. At 2 mg/kg of
/// 5 mg/mL, 1,080.4 g is 0.43216 mL; the line at 0.43 mL holds from 0.425 mL, which is 1,062.5 g
/// (a tie goes to the lower line, so the row begins at 1,062.6 g), to 0.435 mL, 1,087.5 g.
#[test]
fn the_ladder_steps_as_the_scale_does() {
    let mut case = Case::new("2 mg/kg", "5 mg/mL", "1300 g");
    case.readability = "0.1 g";
    let ladder = case.work().ladder();
    assert_eq!(ladder.first().unwrap().first, weight("1040 g"));
    assert_eq!(ladder.last().unwrap().last, weight("1560 g"));
    let holds = |row: &&Row| row.first <= weight("1080.4 g") && weight("1080.4 g") <= row.last;
    let row = ladder.iter().find(holds).unwrap();
    assert_eq!(row.first, weight("1062.6 g"));
    assert_eq!(row.last, weight("1087.5 g"));
    assert_eq!(row.mark.unwrap().total, volume("0.43 mL"));
    // Every step is on one row: each begins one step after the one before.
    for pair in ladder.windows(2) {
        let [before, after] = pair else { panic!() };
        let step = after.first.grams().minus(before.last.grams()).unwrap();
        assert_eq!(step, Exact::ratio(1, 10).unwrap());
    }
}

/// Near the bottom of a barrel marks and gaps alternate, and every gap is a row: each step of a
/// scale of 0.01 g is asked of the formula and must agree with the row that it stands in.
#[test]
fn no_gap_of_a_ladder_is_jumped_over() {
    for at in ["3 g", "5 g", "9 g"] {
        let mut case = Case::new("20 mg/kg", "8 mg/mL", at).injected_with(vec![s()]);
        case.readability = "0.01 g";
        let worked = case.work();
        let Ok(drawn) = &worked.mark else { continue };
        assert!(worked.ladder().iter().any(|row| row.mark.is_none()), "{at}");
        let hundredth = Exact::ratio(1, 100).unwrap();
        for row in worked.ladder() {
            let mut grams = row.first.grams();
            while grams <= row.last.grams() {
                let again = case.formula.mark(
                    Some(BodyWeight::from_grams(grams)),
                    &drawn.chosen.instrument,
                    Some(1),
                );
                let lines = row.mark.map(|mark| mark.lines);
                assert_eq!(again.ok().map(|mark| mark.lines), lines, "{at} {grams:?}");
                grams = grams.plus(hundredth).unwrap();
            }
        }
    }
}

/// 4 g at 20 mg/kg of 8 mg/mL are 0.01 mL, two lines of S. They are within 10 percent of what is
/// calculated from 0.01 mL in 1.1, which is 3.636 g, to 0.01 mL in 0.9, 4.444 g; below and above
/// no line is, and each such run is one gap.
#[test]
fn a_gap_of_many_steps_is_one_row() {
    let mut case = Case::new("20 mg/kg", "8 mg/mL", "4 g").injected_with(vec![s()]);
    case.readability = "0.01 g";
    let ladder = case.work().ladder();
    let rows: Vec<_> = (ladder.iter())
        .map(|row| (row.first, row.last, row.mark.map(|mark| mark.lines)))
        .collect();
    let wanted = [
        (weight("3.2 g"), weight("3.63 g"), None),
        (weight("3.64 g"), weight("4.44 g"), Some(2)),
        (weight("4.45 g"), weight("4.8 g"), None),
    ];
    assert_eq!(rows, wanted);
}

/// 5 kg at 13 mg/kg of 8 mg/mL in lines of 0.2 mL: the line at 8 mL holds up to 8.1 mL, which is
/// 64.8 mg or 4,984.615 g. From 4 kg to 6 kg there are 50,000 steps of 0.04 g, as many as a ladder
/// has; of 0.02 g there are 100,000, so it goes by tenfold steps, of 0.2 g.
#[test]
fn a_ladder_of_a_very_fine_scale_goes_by_coarser_steps() {
    for (scale, last, next) in [
        ("0.04 g", "4984.6 g", "4984.64 g"),
        ("0.02 g", "4984.6 g", "4984.8 g"),
    ] {
        let mut case = Case::new("13 mg/kg", "8 mg/mL", "5 kg");
        case.syringes = vec![syringe("10 mL", "0.2 mL", Use::Mouth)];
        case.readability = scale;
        let ladder = case.work().ladder();
        let eight = |row: &Row| row.mark.is_some_and(|mark| mark.total == volume("8 mL"));
        let place = ladder.iter().position(eight).unwrap();
        assert_eq!(ladder[place].last, weight(last), "{scale}");
        assert_eq!(ladder[place + 1].first, weight(next), "{scale}");
    }
}
