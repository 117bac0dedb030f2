//! Which weight a dose goes by, and what the weighings say about it.

use super::{Case, ratio, read};
use crate::animal::{Tag, Weighing, Weights};
use crate::caution::{Caution, NoMark, Whose};
use crate::dose::weight::lost;
use crate::dose::{Basis, WeightRule, Worked};
use chrono::NaiveDate;

fn case(rule: WeightRule, weights: &[(&'static str, &'static str)]) -> Case {
    let mut case = Case::new("50 mg/kg", "25 mg/mL", "84 g");
    case.weights = weights.to_vec();
    case.rule = rule;
    case
}

/// What it goes by: the text, the basis, and whether it has a day.
fn goes_by(worked: &Worked) -> (&str, &Basis, bool) {
    let used = worked.weight.as_ref().unwrap();
    (used.weight.text(), &used.basis, used.day.is_some())
}

fn says(worked: &Worked, which: impl Fn(&Caution) -> bool) -> bool {
    worked.cautions.iter().any(which)
}

const TODAY: &str = "2001-03-01T08:00:00Z";
const YESTERDAY: &str = "2001-02-28T08:00:00Z";
const WEEKS_AGO: &str = "2001-01-01T08:00:00Z";

fn start(at: &str, weight: &str) -> Option<Weighing> {
    Some(Weighing {
        entry: 9,
        at: at.parse().unwrap(),
        weight: read(weight),
        readability: read("1 g"),
        tag: None,
    })
}

#[test]
fn the_vets_word_decides_which_weight() {
    let fixed = Basis::Fixed(read("60 g"));
    let worked = case(
        WeightRule {
            basis: fixed.clone(),
            ..WeightRule::default()
        },
        &[(TODAY, "84 g")],
    )
    .work();
    assert_eq!(goes_by(&worked), ("60 g", &fixed, false));
    assert!(
        worked.ladder().is_empty(),
        "another weighing changes no line"
    );

    let from_start = |start| WeightRule {
        basis: Basis::Start,
        start,
        ..WeightRule::default()
    };
    let worked = case(from_start(start(YESTERDAY, "80 g")), &[(TODAY, "84 g")]).work();
    assert_eq!(goes_by(&worked), ("80 g", &Basis::Start, true));
    let worked = case(from_start(None), &[(TODAY, "84 g")]).work();
    assert_eq!(goes_by(&worked), ("84 g", &Basis::Latest, true));
    // A start that is remembered does not decide where the vet did not say so.
    let rule = WeightRule {
        start: start(YESTERDAY, "80 g"),
        ..WeightRule::default()
    };
    let worked = case(rule, &[(TODAY, "84 g")]).work();
    assert_eq!(goes_by(&worked), ("84 g", &Basis::Latest, true));
}

#[test]
fn a_weight_that_the_vet_accepted_is_gone_by() {
    let accepting = |weight| WeightRule {
        accepted_age: Some(read(weight)),
        ..WeightRule::default()
    };
    // Another one than the latest is the vet's; the same one keeps its day and its ladder.
    let worked = case(accepting("80 g"), &[(TODAY, "84 g")]).work();
    assert_eq!(
        goes_by(&worked),
        ("80 g", &Basis::Fixed(read("80 g")), false)
    );
    let worked = case(accepting("84 g"), &[(TODAY, "84 g")]).work();
    assert_eq!(goes_by(&worked), ("84 g", &Basis::Latest, true));
    // Whatever its age: 59 days, above four times 7.
    assert!(
        case(accepting("84 g"), &[(WEEKS_AGO, "84 g")])
            .work()
            .mark
            .is_ok()
    );
    let too_old = case(WeightRule::default(), &[(WEEKS_AGO, "84 g")]).work();
    assert!(matches!(
        too_old.mark.unwrap_err()[..],
        [NoMark::WeightTooOld { age: 59, .. }]
    ));
}

#[test]
fn an_animal_that_was_never_weighed_has_a_mark_only_by_the_vets_weight() {
    let fixed = WeightRule {
        basis: Basis::Fixed(read("60 g")),
        ..WeightRule::default()
    };
    let accepted = WeightRule {
        accepted_age: Some(read("60 g")),
        ..WeightRule::default()
    };
    for rule in [fixed, accepted] {
        let worked = case(rule, &[]).work();
        assert!(worked.mark.is_ok());
        assert!(says(&worked, |c| matches!(c, Caution::NeverWeighed)));
    }
    let worked = case(WeightRule::default(), &[]).work();
    assert_eq!(worked.mark.unwrap_err(), vec![NoMark::NoWeight]);
}

#[test]
fn a_fixed_dose_is_silent_on_the_age_of_a_weight() {
    let mut fixed = Case::new("0.05 mL", "", "84 g");
    fixed.weights = vec![(WEEKS_AGO, "84 g")];
    fixed.rule.fixed_dose = true;
    let worked = fixed.work();
    assert!(worked.mark.is_ok());
    assert!(!says(&worked, |c| matches!(c, Caution::OldWeight { .. })));
}

#[test]
fn weigh_before_each_dose_asks_on_any_other_day() {
    let asks = |before_each_dose, basis, at| {
        let rule = WeightRule {
            before_each_dose,
            basis,
            ..WeightRule::default()
        };
        let worked = case(rule, &[(at, "84 g")]).work();
        worked.cautions.iter().find_map(|c| match c {
            Caution::WeighNow { ladder } => Some(*ladder),
            _ => None,
        })
    };
    assert_eq!(asks(true, Basis::Latest, YESTERDAY), Some(true));
    assert_eq!(
        asks(true, Basis::Fixed(read("60 g")), YESTERDAY),
        Some(false)
    );
    assert_eq!(asks(true, Basis::Latest, TODAY), None);
    assert_eq!(asks(false, Basis::Latest, YESTERDAY), None);
}

/// Ten times as much as the weighing before speaks; ten times less is a loss and speaks as one.
#[test]
fn a_tenfold_weight_is_pointed_out() {
    let on = |rule: WeightRule, before, now| {
        let worked = case(
            rule,
            &[(WEEKS_AGO, "7 g"), (YESTERDAY, before), (TODAY, now)],
        )
        .work();
        worked.cautions.iter().find_map(|c| match c {
            Caution::Tenfold { on, other, .. } => Some((*on, other.text().to_owned())),
            _ => None,
        })
    };
    let plain = WeightRule::default;
    let yesterday = NaiveDate::from_ymd_opt(2001, 2, 28);
    assert_eq!(
        on(plain(), "8.4 g", "84 g"),
        Some((yesterday, "8.4 g".to_owned()))
    );
    assert_eq!(on(plain(), "80 g", "84 g"), None);
    assert_eq!(on(plain(), "84 g", "8.4 g"), None);
    let by_the_vet = |weight| WeightRule {
        by_the_vet: Some(read(weight)),
        ..WeightRule::default()
    };
    assert_eq!(
        on(by_the_vet("840 g"), "80 g", "84 g"),
        Some((None, "840 g".to_owned()))
    );
    assert_eq!(
        on(by_the_vet("8.4 g"), "80 g", "84 g"),
        Some((None, "8.4 g".to_owned()))
    );
    assert_eq!(on(by_the_vet("90 g"), "80 g", "84 g"), None);
    let accepted = |weight| WeightRule {
        accepted_loss: Some(read(weight)),
        ..WeightRule::default()
    };
    assert_eq!(on(accepted("84 g"), "8.4 g", "84 g"), None);
    assert!(on(accepted("90 g"), "8.4 g", "84 g").is_some());
}

/// 50 g, then 44 g: 12 percent. Accepted at 44 g it is silent, at 43.9 g it speaks again.
#[test]
fn an_accepted_loss_is_silent_until_the_animal_loses_more() {
    let calls = |now| {
        let rule = WeightRule {
            accepted_loss: Some(read("44 g")),
            ..WeightRule::default()
        };
        let worked = case(rule, &[(YESTERDAY, "50 g"), (TODAY, now)]).work();
        says(&worked, |c| matches!(c, Caution::Loss { .. }))
    };
    assert_eq!(
        (calls("44 g"), calls("44.5 g"), calls("43.9 g")),
        (false, false, true)
    );
}

#[test]
fn what_was_not_lost_is_no_share() {
    let share = |before, after| {
        let grams = |text| read::<crate::quantity::BodyWeight>(text).value();
        lost(grams(before), grams(after))
    };
    assert_eq!(share("50 g", "40 g"), Some(ratio(1, 5)));
    assert_eq!(share("50 g", "50 g"), None);
    assert_eq!(share("50 g", "60 g"), None);
}

/// Every 3 days, as the vet wrote: silent on the third, a caution from the fourth, none after the
/// twelfth.
#[test]
fn the_vets_limit_of_age_replaces_the_setting() {
    let on = |at| {
        let rule = WeightRule {
            weigh_every_days: Some(3),
            ..WeightRule::default()
        };
        case(rule, &[(at, "84 g")]).work()
    };
    let old = |worked: &Worked| {
        let vets = |c: &Caution| {
            matches!(
                c,
                Caution::OldWeight {
                    whose: Whose::Vet,
                    limit: 3,
                    ..
                }
            )
        };
        says(worked, vets)
    };
    let third = on("2001-02-26T08:00:00Z");
    assert!(!old(&third) && third.mark.is_ok());
    let fourth = on("2001-02-25T08:00:00Z");
    assert!(old(&fourth) && fourth.mark.is_ok());
    assert!(on("2001-02-17T08:00:00Z").mark.is_ok());
    assert!(matches!(
        on("2001-02-16T08:00:00Z").mark.unwrap_err()[..],
        [NoMark::WeightTooOld {
            age: 13,
            limit: 12,
            whose: Whose::Vet
        }]
    ));
}

#[test]
fn what_may_make_a_weight_misleading_stands_beside_the_mark() {
    let case = Case::new("20 mg/kg", "8 mg/mL", "31 g");
    let tags = |tag: Option<Tag>| {
        let weighing = Weighing {
            tag,
            ..start("2001-03-01T08:00:00Z", "31 g").unwrap()
        };
        let weights: &'static Weights = Box::leak(Box::new(Weights::new(vec![weighing])));
        let worked = case.work_but(|ask| ask.weights = weights);
        let said = worked.cautions.into_iter();
        said.filter_map(|caution| match caution {
            Caution::Tagged { tag } => Some(tag),
            _ => None,
        })
        .collect::<Vec<_>>()
    };
    assert_eq!(tags(Some(Tag::Gravid)), ["gravid"]);
    assert!(tags(None).is_empty());
}
