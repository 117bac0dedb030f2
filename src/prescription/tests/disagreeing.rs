//! Fields that contradict each other: where it is said, and what about.

use super::{changed, faults, places, read};

/// The base without its sites, which only an injection may have, and without its label check.
const PLAIN: [(&str, &str); 2] = [
    (
        "    sites: [Site(\"A\", \"left\"), Site(\"B\", \"right\")],\n",
        "\n",
    ),
    (
        "    label_check: LabelCheck(weight: \"32 g\", volume: \"0.052 mL\"),\n",
        "\n",
    ),
];

const DOSE: &str = "PerBodyWeight(\"13 mg/kg\")";
const STRENGTH: &str = "\"8 mg/mL\"";
const ROUTE: &str = "Injection(\"under the skin\")";
const EVERY: &str = "Every(interval: \"60 hours\", doses: 4)";
const MORE: &str = "    weigh_every: \"7 days\",";

fn plain(changes: &[(&str, &str)]) -> String {
    let all: Vec<(&str, &str)> = PLAIN.iter().chain(changes).copied().collect();
    changed(&all)
}

/// Each fault's place, and phrases that must be said somewhere.
fn refuses(changes: &[(&str, &str)], at: &[&str], phrase: &str) {
    let faults = faults(&plain(changes));
    assert_eq!(places(&faults), at, "{changes:?}: {faults}");
    assert!(faults.to_string().contains(phrase), "{changes:?}: {faults}");
}

fn accepts(changes: &[(&str, &str)]) {
    read(&plain(changes));
}

#[test]
fn a_dose_and_a_strength_of_different_kinds() {
    let mixed = "do not go together";
    for dose in [
        "PerBodyWeight(\"13 units/kg\")",
        "Fixed(\"13 units\")",
        "PerDay(\"26 units/kg per day in 2 doses\")",
    ] {
        refuses(
            &[
                (DOSE, dose),
                (EVERY, "Every(interval: \"12 hours\", doses: 4)"),
            ],
            &["9:11"],
            mixed,
        );
    }
    refuses(&[(STRENGTH, "\"800 units/mL\"")], &["9:11"], mixed);
    // A volume of a paste, grams of paste of a solution, tablets of a solution.
    let by_mouth = (ROUTE, "ByMouth");
    refuses(
        &[
            (DOSE, "PerBodyWeight(\"13 mL/kg\")"),
            (STRENGTH, "\"8 mg/g\""),
            by_mouth,
        ],
        &["9:11"],
        mixed,
    );
    refuses(
        &[
            (DOSE, "Fixed(\"0.05 mL\")"),
            (STRENGTH, "\"8 mg/g\""),
            by_mouth,
        ],
        &["9:11"],
        mixed,
    );
    refuses(
        &[(DOSE, "Fixed(\"0.05 g of paste\")"), by_mouth],
        &["9:11"],
        mixed,
    );
    refuses(&[(DOSE, "Fixed(\"1 tablet\")"), by_mouth], &["9:11"], mixed);
    refuses(
        &[
            (DOSE, "Fixed(\"0.05 mL\")"),
            (STRENGTH, "\"8 mg per tablet\""),
            by_mouth,
        ],
        &["9:11"],
        mixed,
    );
}

#[test]
fn a_dose_that_counts_medicine_needs_a_strength() {
    let none = (", strength: \"8 mg/mL\"", "");
    refuses(&[none], &["8:15"], "the strength of the product is needed");
    refuses(
        &[none, (DOSE, "Fixed(\"13 units\")")],
        &["8:15"],
        "the strength of the product is needed",
    );
    accepts(&[none, (DOSE, "PerBodyWeight(\"13 mL/kg\")")]);
    accepts(&[none, (DOSE, "Fixed(\"0.05 mL\")")]);
    accepts(&[
        none,
        (DOSE, "Fixed(\"0.3 g of paste\")"),
        (ROUTE, "ByMouth"),
    ]);
    accepts(&[none, (DOSE, "Fixed(\"1 tablet\")"), (ROUTE, "ByMouth")]);
}

#[test]
fn a_route_that_cannot_take_the_dose() {
    let tablets = (STRENGTH, "\"50 mg per tablet\"");
    let paste = (STRENGTH, "\"20 mg/g\"");
    refuses(&[tablets], &["10:12"], "not injected");
    refuses(&[paste], &["10:12"], "not injected");
    refuses(
        &[tablets, (ROUTE, "InEye(\"left\")")],
        &["10:12"],
        "given by mouth",
    );
    refuses(
        &[(DOSE, "Application(\"2 drops\")")],
        &["9:11"],
        "in words only",
    );
    refuses(
        &[(ROUTE, "Bath(\"shallow, 10 minutes\")")],
        &["9:11"],
        "never worked out from a weight",
    );
    refuses(
        &[(ROUTE, "Inhaled(\"in a closed box\")")],
        &["9:11"],
        "never worked out from a weight",
    );
    accepts(&[tablets, (ROUTE, "ByMouth")]);
    accepts(&[tablets, (ROUTE, "Other(\"crushed, by tube\")")]);
    accepts(&[paste, (ROUTE, "OnSkin(\"on the wound\")")]);
    accepts(&[(ROUTE, "OnSkin(\"between the shoulders\")")]);
    accepts(&[
        (DOSE, "Application(\"10 minutes\")"),
        (ROUTE, "Bath(\"shallow\")"),
    ]);
}

/// Rule 11.
#[test]
fn a_day_divided_otherwise_than_the_schedule() {
    let daily = (DOSE, "PerDay(\"40 mg/kg per day in 2 doses\")");
    let keep = ("CountFromGiven", "KeepCalendar");
    refuses(
        &[daily, (EVERY, "Every(interval: \"8 hours\", doses: 6)")],
        &["9:11"],
        "divided into 2, and the schedule has 3 a day",
    );
    refuses(
        &[daily, (EVERY, "Every(interval: \"1 day\", doses: 6)")],
        &["9:11"],
        "the schedule has 1 a day",
    );
    refuses(
        &[daily],
        &["9:11"],
        "not have the same number of doses on every day",
    );
    refuses(
        &[daily, (EVERY, "Once")],
        &["9:11"],
        "same number of doses on every day",
    );
    refuses(
        &[daily, keep, (EVERY, "AtTimes(times: [\"08:00\"], days: 6)")],
        &["9:11"],
        "the schedule has 1 a day",
    );
    refuses(
        &[daily, keep, (EVERY, "Weekly(days: [\"Monday\"], doses: 6)")],
        &["9:11"],
        "same number of doses on every day",
    );
    accepts(&[daily, (EVERY, "Every(interval: \"12 hours\", doses: 6)")]);
    accepts(&[
        daily,
        keep,
        (EVERY, "AtTimes(times: [\"08:00\", \"20:00\"], days: 6)"),
    ]);
}

#[test]
fn a_greatest_dose_of_another_kind() {
    for limit in ["0.05 mL", "13 units", "1 tablet", "1 g of paste"] {
        let more = format!("    max_dose: \"{limit}\",");
        refuses(&[(MORE, &more)], &["14:15"], "the greatest dose is");
    }
    let cap = (MORE, "    max_dose: \"2 mg\",");
    accepts(&[cap]);
    refuses(
        &[cap, (DOSE, "Fixed(\"3 mg\")")],
        &["9:11"],
        "more than max_dose",
    );
    accepts(&[cap, (DOSE, "Fixed(\"2 mg\")")]);
    let in_words = [
        cap,
        (DOSE, "Application(\"a thin film\")"),
        (ROUTE, "OnSkin(\"on the wound\")"),
    ];
    refuses(&in_words, &["14:15"], "in words only");
}

#[test]
fn sites_without_an_injection() {
    for (more, at) in [
        ("    sites: [Site(\"A\", \"left\")],", "14:5"),
        ("    max_per_site: \"2 mL\",", "14:5"),
    ] {
        refuses(
            &[(MORE, more), (ROUTE, "ByMouth")],
            &[at],
            "for injections, and the route is another",
        );
        accepts(&[(MORE, more)]);
    }
}

#[test]
fn rounding_and_tablets_that_have_nothing_to_act_on() {
    for more in ["    round: Down,", "    tolerance: \"10 percent\","] {
        let changes = [
            (MORE, more),
            (DOSE, "Application(\"a thin film\")"),
            (ROUTE, "OnSkin(\"on the wound\")"),
        ];
        refuses(&changes, &["14:5"], "has nothing to act on");
        accepts(&[(MORE, more)]);
    }
    let halves = (MORE, "    tablets: Halves,");
    refuses(&[halves], &["14:5"], "does not come in tablets");
    let tablets = [(STRENGTH, "\"50 mg per tablet\""), (ROUTE, "ByMouth")];
    accepts(&[halves, tablets[0], tablets[1]]);
    for (cut, dose, sound) in [
        ("Whole", "0.5 tablets", false),
        ("Whole", "2 tablets", true),
        ("Halves", "0.5 tablets", true),
        ("Halves", "0.25 tablets", false),
        ("Quarters", "0.75 tablets", true),
        ("Quarters", "0.3 tablets", false),
    ] {
        let more = format!("    tablets: {cut},");
        let dose = format!("Fixed(\"{dose}\")");
        let changes = [
            (MORE, more.as_str()),
            (DOSE, dose.as_str()),
            tablets[0],
            tablets[1],
        ];
        if sound {
            accepts(&changes);
        } else {
            refuses(&changes, &["9:11"], "cannot be cut into that part");
        }
    }
    refuses(
        &[(DOSE, "Fixed(\"0.5 tablets\")"), tablets[0], tablets[1]],
        &["9:11"],
        "cannot be cut into that part",
    );
}

#[test]
fn a_weight_that_does_not_matter() {
    for basis in ["Start", "Fixed(\"32 g\")"] {
        let more = format!("    weight_basis: {basis},");
        refuses(
            &[(MORE, &more), (DOSE, "Fixed(\"0.05 mL\")")],
            &["14:5"],
            "does not go by body weight",
        );
        accepts(&[(MORE, &more)]);
    }
}

#[test]
fn a_weight_for_an_animal_that_is_not_named() {
    let more = "    weighed: [Weighed(animal: \"Thimbo\", weight: \"32 g\")],";
    refuses(&[(MORE, more)], &["14:14"], "did you mean 'Thimblo'?");
    let more = "    weighed: [Weighed(animal: \"Nubbet\", weight: \"32 g\"), Weighed(animal: \"nubbet\", weight: \"33 g\")],";
    refuses(&[(MORE, more)], &["14:14"], "'nubbet' has two weights");
}

/// Rule 29: clock times and weekly days cannot count from a late dose.
#[test]
fn counting_from_a_late_dose_at_clock_times() {
    for schedule in [
        "AtTimes(times: [\"08:00\"], days: 6)",
        "Weekly(days: [\"Monday\"], doses: 6)",
        "UntilStopped(rhythm: AtTimes(times: [\"08:00\"]), review: \"2001-04-05\")",
    ] {
        refuses(
            &[(EVERY, schedule)],
            &["13:17"],
            "cannot be counted from a late one",
        );
        accepts(&[(EVERY, schedule), ("CountFromGiven", "Call")]);
    }
}

#[test]
fn windows_that_reach_half_way_to_the_next_dose() {
    for window in ["30 hours", "31 hours", "2 days"] {
        let more = format!("    window: \"{window}\",");
        refuses(&[(MORE, &more)], &["14:13"], "half way to the next dose");
    }
    accepts(&[(MORE, "    window: \"29 hours\",")]);
}

#[test]
fn counting_given_doses_that_have_no_gap() {
    let given = (MORE, "    count: Given,");
    refuses(
        &[given, (EVERY, "Once")],
        &["14:12"],
        "doses given can only be counted",
    );
    let open = "UntilStopped(rhythm: Every(interval: \"60 hours\"), review: \"2001-04-05\")";
    refuses(
        &[given, (EVERY, open)],
        &["14:12"],
        "doses given can only be counted",
    );
    accepts(&[given]);
}

#[test]
fn three_wishes_that_the_schedule_cannot_grant() {
    let faults = faults(&plain(&[
        (MORE, "    count: Given, window: \"13 hours\","),
        (
            EVERY,
            "UntilStopped(rhythm: AtTimes(times: [\"08:00\"]), review: \"2001-04-05\")",
        ),
    ]));
    assert_eq!(places(&faults), ["13:17", "14:12", "14:27"], "{faults}");
}

#[test]
fn dates_in_the_wrong_order() {
    refuses(
        &[("\"2001-06-05\"", "\"2001-03-04\"")],
        &["5:18"],
        "before the day it was written",
    );
    accepts(&[("\"2001-06-05\"", "\"2001-03-05\"")]);
    refuses(
        &[(MORE, "    start: \"2001-06-06\",")],
        &["14:12"],
        "after the last day on which",
    );
    accepts(&[(MORE, "    start: \"2001-06-05 08:00\",")]);
    let visit = "    follow_ups: [FollowUp(what: \"visit\", when: On(\"2001-03-04\"))],";
    refuses(&[(MORE, visit)], &["14:17"], "'visit' is dated before");
    let open = "UntilStopped(rhythm: Every(interval: \"60 hours\"), review: \"2001-04-05\")";
    refuses(
        &[(EVERY, open), (MORE, "    start: \"2001-04-06\",")],
        &["12:73"],
        "before the first dose",
    );
}

/// Rule 10, on 13 mg/kg at 32 g and 8 mg/mL: 13 x 0.032 / 8 = 0.052 mL.
#[test]
fn a_label_that_says_otherwise() {
    let label = |volume: &str| {
        format!("    label_check: LabelCheck(weight: \"32 g\", volume: \"{volume}\"),")
    };
    for (volume, side) in [
        ("0.0573 mL", "above"),
        ("0.0467 mL", "below"),
        ("0.52 mL", "above"),
        ("0.06 mL", "above"),
    ] {
        // 0.06 is what 0.0572 would round to, but 0.052 rounds to 0.05; and it is over 10 percent.
        let phrase = format!("percent {side} what dose, weight and strength come to");
        refuses(&[(MORE, &label(volume))], &["14:18"], &phrase);
    }
    // Exactly 10 percent is not more than 10 percent.
    accepts(&[(MORE, &label("0.0572 mL"))]);
    accepts(&[(MORE, &label("0.0468 mL"))]);
    let tablets = [(STRENGTH, "\"8 mg per tablet\""), (ROUTE, "ByMouth")];
    refuses(
        &[(MORE, &label("0.052 mL")), tablets[0], tablets[1]],
        &["14:18"],
        "no volume to check",
    );
}
