//! Malformed files: each row names a change to the base file, the line and column of its one
//! fault, and a part of what is said there. Columns were counted by hand on the base file.

use super::{BASE, Prescription, changed, faults, places};

/// Rows of `from | to | line:column | phrase`, where `\n` stands for a line end and `nothing` for
/// an empty text.
fn check(rows: &str) {
    check_beside(&[], rows);
}

/// The same, with other changes made to the base first.
fn check_beside(changes: &[(&str, &str)], rows: &str) {
    let mut failures = Vec::new();
    for row in rows.lines().filter(|row| !row.is_empty()) {
        let row = row.replace("\\n", "\n");
        let [from, to, at, phrase] = row.split(" | ").collect::<Vec<_>>()[..] else {
            panic!("{row}");
        };
        let to = if to == "nothing" { "" } else { to };
        let changes: Vec<(&str, &str)> = changes.iter().copied().chain([(from, to)]).collect();
        let faults = faults(&changed(&changes));
        if places(&faults) != [at] || !faults.to_string().contains(phrase) {
            failures.push(format!("{row}\n    {faults}"));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn text_that_is_not_ron() {
    check(
        r##"
doses: 4),\n | doses: 4)\n | 12:51 | a comma is missing after this
doses: 4), | doses: 4, | 1:13 | this parenthesis is never closed
"Nubbet"], | "Nubbet", | 8:13 | does not belong here
"13 mg/kg" | "13 mg/kg | 9:25 | not closed on its own line
"13 mg/kg" | “13 mg/kg” | 9:25 | curly
"13 mg/kg" | '13 mg/kg' | 9:25 | single quotation mark
"13 mg/kg" | -13 | 9:25 | a sign is not used here
"13 mg/kg" | r"13 mg/kg" | 9:25 | the letter 'r'
"13 mg/kg" | nothing | 9:11 | takes one value in parentheses
dose: Per | dose = Per | 9:10 | an equals sign
"DEMO-0001",\n | "DEMO-0001"\n | 3:26 | a comma is missing after this
Example", practice | Example" practice | 6:34 | a comma is missing after this
    weigh_every | /* a remark\n    weigh_every | 14:1 | comment is never closed
    weigh_every |     #weigh_every | 14:5 | begins with #
Vet(name: | {name: | 6:10 | braces
Vet(name: "Dr A. Example" | Vet("Dr A. Example" | 6:14 | has no field name
mL"),\n)\n | mL"),\n)\n) | 17:1 | something follows the end
mL"),\n)\n | mL"),\n) Prescription() | 16:3 | something follows the end
"13 mg/kg" | "13\u{200b} mg/kg" | 9:28 | a backslash here
"13 mg/kg" | "13\t mg/kg" | 9:28 | a backslash here
"13 mg/kg" | "13\q mg/kg" | 9:28 | a backslash here
"##,
    );
    for (whole, at, phrase) in [
        ("", "1:1", "nothing in this file"),
        ("// only a remark\n", "1:1", "nothing in this file"),
        (
            "\"Prescription\"",
            "1:1",
            "a text stands here instead of Prescription",
        ),
        (
            "Medicine()",
            "1:1",
            "Medicine stands here instead of Prescription",
        ),
        ("[Prescription()]", "1:1", "a list stands here"),
        (
            "(reference: \"DEMO-0001\")",
            "1:1",
            "a value is missing here",
        ),
        ("\n Prescription(", "2:14", "never closed"),
        ("Prescription(\"DEMO-0001\")", "1:14", "has no field name"),
        (
            "Prescription(reference: \"A\", \"B\")",
            "1:30",
            "has no field name",
        ),
    ] {
        let faults = faults(whole);
        assert_eq!(places(&faults), [at], "{whole}: {faults}");
        assert!(faults.to_string().contains(phrase), "{whole}: {faults}");
    }
}

#[test]
fn what_cannot_be_seen() {
    for (from, to, at, phrase) in [
        (
            "\"13 mg/kg\"",
            "\"13 mg\u{200b}/kg\"",
            "9:31",
            "invisible character",
        ),
        (
            "\"Thimblo\"",
            "\"Thim\u{1b}[31mblo\"",
            "7:20",
            "invisible character",
        ),
        (
            "\"Thimblo\"",
            "\"Thim\u{202e}blo\"",
            "7:20",
            "invisible character",
        ),
        (
            "\"Thimblo\"",
            "\"Thim\tblo\"",
            "7:20",
            "invisible character",
        ),
        ("    dose: ", "\u{a0}   dose: ", "9:1", "unusual space"),
        ("    dose: ", "\u{feff}   dose: ", "9:1", "unusual space"),
    ] {
        let faults = faults(&changed(&[(from, to)]));
        assert_eq!(places(&faults), [at], "{to:?}: {faults}");
        assert!(faults.to_string().contains(phrase), "{to:?}: {faults}");
    }
}

#[test]
fn fields_unknown_missing_or_twice() {
    check(
        r#"
    weigh_every: |     wiegh_every: | 14:5 | did you mean weigh_every?
    sites: |     zebra: | 11:5 | Prescription has no field zebra
    dose: |     doze: | 9:5 | did you mean dose?
practice: | practise: | 6:37 | did you mean practice?
form: | from: | 8:46 | did you mean form?
interval: | intervall: | 12:21 | did you mean interval?
volume: | volum: | 15:45 | did you mean volume?
    weigh_every: "7 days" |     reference: "DEMO-0002" | 14:5 | reference is written twice
practice: "Example Practice (invented)" | name: "Dr B. Example" | 6:37 | name is written twice
    reference: "DEMO-0001",\n | nothing | 1:1 | Prescription has no reference
    written: "2001-03-05",\n | nothing | 1:1 | Prescription has no written
    animals: ["Thimblo", "Nubbet"],\n | nothing | 1:1 | Prescription has no animals
    dose: PerBodyWeight("13 mg/kg"),\n | nothing | 1:1 | Prescription has no dose
    route: Injection("under the skin"),\n | nothing | 1:1 | Prescription has no route
    schedule: Every(interval: "60 hours", doses: 4),\n | nothing | 1:1 | Prescription has no schedule
    after_late: CountFromGiven,\n | nothing | 1:1 | Prescription has no after_late
name: "Dr A. Example", | nothing | 6:10 | Vet has no name
, phone: "555 0134 (not a number)" | nothing | 6:10 | Vet has no phone
name: "Madeup Amber", | nothing | 8:15 | Medicine has no name
, strength: "8 mg/mL" | nothing | 8:15 | the strength of the product is needed
, doses: 4 | nothing | 12:15 | the end: how many
interval: "60 hours", | nothing | 12:15 | Every has no interval
weight: "32 g", | nothing | 15:18 | LabelCheck has no weight
, volume: "0.052 mL" | nothing | 15:18 | LabelCheck has no volume
"#,
    );
    let vet = BASE.lines().nth(5).unwrap();
    let medicine = BASE.lines().nth(7).unwrap();
    for (line, phrase) in [
        (vet, "Prescription has no vet"),
        (medicine, "Prescription has no medicine"),
    ] {
        let faults = faults(&changed(&[(line, "")]));
        assert_eq!(places(&faults), ["1:1"], "{faults}");
        assert!(faults.to_string().contains(phrase), "{faults}");
    }
}

#[test]
fn names_and_words() {
    check(
        r#"
"DEMO-0001" | "" | 3:16 | nothing is written here
"DEMO-0001" | "DEMO 0001" | 3:16 | not a reference
"DEMO-0001" | "2001/1" | 3:16 | not a reference
"DEMO-0001" | "-1" | 3:16 | not a reference
"DEMO-0001" | 1 | 3:16 | a bare figure stands here instead of a text
["Thimblo", "Nubbet"] | [] | 7:14 | this list is empty
["Thimblo", "Nubbet"] | "Thimblo" | 7:14 | a text stands here instead of a list
"Nubbet" | "  " | 7:26 | nothing is written here
"Nubbet" | "THIMBLÓ" | 7:26 | named twice
"Nubbet" | "..." | 7:26 | no letter and no figure
"Nubbet" | Nubbet | 7:26 | a bare word stands here instead of a text
"Dr A. Example" | Some("Dr A. Example") | 6:20 | Some( ... ) is not used here
"555 0134 (not a number)" | "at the desk" | 6:85 | not a number that can be called
"under the skin" | "" | 10:22 | nothing is written here
demonstration: true | demonstration: yes | 2:20 | neither true nor false
    weigh_every |     same_as: "Madeup Ambra",\n    weigh_every | 14:14 | a text stands here instead of a list
    weigh_every |     vet_notes: [""],\n    weigh_every | 14:17 | nothing is written here
    weigh_every |     if_missed: [],\n    weigh_every | 14:16 | a list stands here instead of a text
"#,
    );
    let long = "x".repeat(81);
    let faults = faults(&changed(&[("\"Nubbet\"", &format!("\"{long}\""))]));
    assert_eq!(places(&faults), ["7:26"]);
    assert!(
        faults.to_string().contains("longer than 80 characters"),
        "{faults}"
    );
}

#[test]
fn dates_and_numbers() {
    check(
        r#"
"2001-03-05" | "5 March 2001" | 4:14 | not a date as dates are written here
"2001-03-05" | "2001/03/05" | 4:14 | not a date as dates are written here
"2001-03-05" | "05-03-2001" | 4:14 | not a date as dates are written here
"2001-03-05" | "2001-3-5" | 4:14 | not a date as dates are written here
"2001-03-05" | "2001-02-30" | 4:14 | February 2001 has 28 days
"2001-03-05" | "2001-13-05" | 4:14 | there is no month 13
"2001-03-05" | "0001-03-05" | 4:14 | not between 1970 and 2199
"2001-06-05" | "2001-06-31" | 5:18 | June 2001 has 30 days
doses: 4 | doses: 0 | 12:50 | too small
doses: 4 | doses: 2001 | 12:50 | too large
doses: 4 | doses: "4" | 12:50 | a text stands here instead of a number
doses: 4 | doses: 4.5 | 12:50 | not a plain whole number
doses: 4 | doses: 04 | 12:50 | not a plain whole number
doses: 4 | doses: 4_000_000_000_000 | 12:50 | not a plain whole number
"60 hours" | "60" | 12:31 | not a length of time
"60 hours" | "60 h" | 12:31 | not a length of time
"60 hours" | "48 to 72 hours" | 12:31 | not a length of time
"7 days" | "36 hours" | 14:18 | counted in days
    weigh_every |     start: "2001-03-05 25:00",\n    weigh_every | 14:12 | there is no such time
    weigh_every |     start: "2001-03-05T08:00",\n    weigh_every | 14:12 | not a date
    weigh_every |     window: "soon",\n    weigh_every | 14:13 | not a length of time
"#,
    );
}

#[test]
fn quantities() {
    check(
        r#"
"13 mg/kg" | "13 mg/gk" | 9:25 | 'gk' is not a unit
"13 mg/kg" | "13" | 9:25 | has no unit
"13 mg/kg" | "10 to 13 mg/kg" | 9:25 | is a range
"13 mg/kg" | "10-13 mg/kg" | 9:25 | is a range
"13 mg/kg" | "13 mg/kg per hour" | 9:25 | rate per hour
"13 mg/kg" | "13 mg/kg/day" | 9:25 | for a whole day
"13 mg/kg" | ".13 mg/kg" | 9:25 | no figure before the point
"13 mg/kg" | "13 µg/kg" | 9:25 | write mcg
"13 mg/kg" | "13 IU/kg" | 9:25 | 'units' in full
"13 mg/kg" | "0 mg/kg" | 9:25 | nothing at all
"13 mg/kg" | 13 | 9:25 | a bare figure stands here instead of a text
PerBodyWeight("13 mg/kg") | PerDay("40 mg/kg per day") | 9:18 | into how many doses
PerBodyWeight("13 mg/kg") | Fixed("13 mg/kg") | 9:17 | not a unit that belongs here
PerBodyWeight("13 mg/kg") | Fixed("3 drops") | 9:17 | drops are not a volume
PerBodyWeight("13 mg/kg") | PerBodyWieght("13 mg/kg") | 9:11 | did you mean PerBodyWeight?
PerBodyWeight("13 mg/kg") | "13 mg/kg" | 9:11 | without a name
PerBodyWeight("13 mg/kg") | PerBodyWeight | 9:11 | takes one value
PerBodyWeight("13 mg/kg") | PerBodyWeight("13 mg/kg", "x") | 9:11 | takes one value
PerBodyWeight("13 mg/kg") | AsNeeded | 9:11 | AsNeeded is not known here
PerBodyWeight("13 mg/kg") | Application("") | 9:23 | nothing is written here
"8 mg/mL" | "2.5 %" | 8:88 | can mean two things
"8 mg/mL" | "strong" | 8:88 | not a figure with a unit
"8 mg/mL" | "2:1000" | 8:88 | not a strength as a label writes it
"32 g" | "32" | 15:37 | has no unit
"0.052 mL" | "0.052 cc" | 15:53 | write mL
    weigh_every |     tolerance: "10%",\n    weigh_every | 14:16 | not a percentage
    weigh_every |     max_dose: "2 cc",\n    weigh_every | 14:15 | write mL
    weigh_every |     max_per_site: "2 mg",\n    weigh_every | 14:19 | not a unit that belongs here
"#,
    );
}

#[test]
fn routes_sites_and_choices() {
    check(
        r#"
Injection("under the skin") | Injection | 10:12 | takes one value
Injection("under the skin") | Injecton("under the skin") | 10:12 | did you mean Injection?
"B", "right" | "B", "wrong" | 11:42 | 'wrong' is not a side
"B", "right" | nothing | 11:32 | a place and its side
Site("B", "right") | "B" | 11:32 | without a name
Site("B", "right") | Site("a", "left") | 11:32 | in the list twice
CountFromGiven | KeepCalender | 13:17 | did you mean KeepCalendar?
CountFromGiven | "Call" | 13:17 | without a name
CountFromGiven | Call() | 13:17 | takes nothing in parentheses
    weigh_every |     round: Sideways,\n    weigh_every | 14:12 | one of Nearest, Down, Up
    weigh_every |     count: Doses,\n    weigh_every | 14:12 | one of Slots, Given
    weigh_every |     weigh: Sometimes,\n    weigh_every | 14:12 | Sometimes is not known here
    weigh_every |     weight_basis: Fixed("32"),\n    weigh_every | 14:25 | has no unit
    weigh_every |     weight_basis: Fixed,\n    weigh_every | 14:19 | takes one value
    weigh_every |     weighed: [Weighed(animal: "Thimblo")],\n    weigh_every | 14:15 | Weighed has no weight
    weigh_every |     follow_ups: [FollowUp(what: "visit", when: Soon)],\n    weigh_every | 14:48 | Soon is not known here
    weigh_every |     follow_ups: [FollowUp(what: "visit")],\n    weigh_every | 14:18 | FollowUp has no when
"#,
    );
    let by_skin = (
        "    sites: [Site(\"A\", \"left\"), Site(\"B\", \"right\")],\n",
        "",
    );
    check_beside(
        &[by_skin],
        r#"
Injection("under the skin") | InEye("both") | 10:18 | 'both' does not say which one
Injection("under the skin") | ByMouth("with food") | 10:12 | takes nothing in parentheses
Injection("under the skin") | OnSkin | 10:12 | takes one value
"#,
    );
}

#[test]
fn schedules() {
    check(
        r#"
Every(interval: "60 hours", doses: 4) | AsDirected | 12:15 | AsDirected is not known here
Every(interval: "60 hours", doses: 4) | Once() | 12:15 | takes nothing in parentheses
Every(interval: "60 hours", doses: 4) | Every | 12:15 | without its fields
Every(interval: "60 hours", doses: 4) | Every("60 hours", 4) | 12:21 | has no field name
doses: 4 | doses: 4, weeks: 4 | 12:53 | Every has no field weeks
Every(interval: "60 hours", doses: 4) | OnDays([]) | 12:22 | this list is empty
Every(interval: "60 hours", doses: 4) | OnDays([0, 14, 14]) | 12:15 | count from the first dose
Every(interval: "60 hours", doses: 4) | OnDays([3, 14]) | 12:15 | count from the first dose
Every(interval: "60 hours", doses: 4) | OnDays([0, 4000]) | 12:26 | too large
Every(interval: "60 hours", doses: 4) | OnceThenAgain(after: "a fortnight") | 12:36 | not a length of time
Every(interval: "60 hours", doses: 4) | UntilStopped(rhythm: Every(interval: "60 hours")) | 12:15 | UntilStopped has no review
Every(interval: "60 hours", doses: 4) | UntilStopped(review: "2001-04-05") | 12:15 | UntilStopped has no rhythm
Every(interval: "60 hours", doses: 4) | UntilStopped(rhythm: Every(interval: "60 hours", doses: 4), review: "2001-04-05") | 12:64 | an end stands here
Every(interval: "60 hours", doses: 4) | UntilStopped(rhythm: Once, review: "2001-04-05") | 12:36 | one of Every, AtTimes, Weekly
Every(interval: "60 hours", doses: 4) | UntilStopped(rhythm: Every(interval: "60 hours"), review: "2001-03-01") | 12:73 | before the first dose
Every(interval: "60 hours", doses: 4) | Phasen([]) | 12:15 | did you mean Phases?
Every(interval: "60 hours", doses: 4) | Every(interval: "366 days", doses: 400) | 12:15 | more than ten years
"#,
    );
    // Clock times and named days cannot count from a late dose, so these keep the calendar.
    check_beside(
        &[("CountFromGiven", "KeepCalendar")],
        r#"
Every(interval: "60 hours", doses: 4) | AtTimes(times: ["8:00"], days: 7) | 12:31 | not a time as times are written
Every(interval: "60 hours", doses: 4) | AtTimes(times: ["24:00"], days: 7) | 12:31 | there is no such time
Every(interval: "60 hours", doses: 4) | AtTimes(times: ["08:00:30"], days: 7) | 12:31 | not a time as times are written
Every(interval: "60 hours", doses: 4) | AtTimes(times: ["08:00", "08:00"], days: 7) | 12:40 | in the list twice
Every(interval: "60 hours", doses: 4) | AtTimes(times: ["08:00"]) | 12:15 | the end: how many
Every(interval: "60 hours", doses: 4) | AtTimes(times: ["08:00"], days: 7, doses: 7) | 12:57 | two ends are written
Every(interval: "60 hours", doses: 4) | Weekly(days: ["Mon"], doses: 4) | 12:29 | 'Mon' is not a day of the week in full
Every(interval: "60 hours", doses: 4) | Weekly(days: ["Mondey"], doses: 4) | 12:29 | did you mean Monday?
Every(interval: "60 hours", doses: 4) | Weekly(days: ["Monday", "Monday"], doses: 4) | 12:39 | in the list twice
Every(interval: "60 hours", doses: 4) | Weekly(days: ["Monday"]) | 12:15 | the end: how many
Every(interval: "60 hours", doses: 4) | Weekly(doses: 4) | 12:15 | Weekly has no days
"#,
    );
}

/// Phases carry their own doses, so the base's is taken out, and its label check with it.
#[test]
fn phases() {
    check_beside(
        &[
            ("    dose: PerBodyWeight(\"13 mg/kg\"),\n", "\n"),
            (
                "    label_check: LabelCheck(weight: \"32 g\", volume: \"0.052 mL\"),\n",
                "",
            ),
        ],
        r#"
Every(interval: "60 hours", doses: 4) | Phases([]) | 12:22 | this list is empty
Every(interval: "60 hours", doses: 4) | Phases([Once]) | 12:23 | a bare word stands here instead of Phase
Every(interval: "60 hours", doses: 4) | Phases([Phase(schedule: Once)]) | 12:23 | Phase has no dose
Every(interval: "60 hours", doses: 4) | Phases([Phase(dose: PerBodyWeight("13 mg/kg"))]) | 12:23 | Phase has no schedule
Every(interval: "60 hours", doses: 4) | Phases([Phase(dose: PerBodyWeight("13 mg"), schedule: Once)]) | 12:49 | not a unit that belongs here
Every(interval: "60 hours", doses: 4) | Phases([Phase(gap: "3 days", dose: PerBodyWeight("13 mg/kg"), schedule: Once)]) | 12:29 | nothing comes before the first phase
Every(interval: "60 hours", doses: 4) | Phases([Phase(dose: PerBodyWeight("13 mg/kg"), schedule: OnDays([2]))]) | 12:23 | count from the first dose
Every(interval: "60 hours", doses: 4) | Phases([Phase(dose: PerBodyWeight("13 mg/kg"), schedule: Phases([]))]) | 12:72 | Phases is not known here
Every(interval: "60 hours", doses: 4) | Phases([Phase(dose: PerBodyWeight("13 mg/kg"), schedule: Once), Phase(dose: PerBodyWeight("7 mg/kg"), schedule: Once)]) | 12:79 | Phase has no gap
"#,
    );
    let first = "Phase(dose: PerBodyWeight(\"13 mg/kg\"), schedule: UntilStopped(rhythm: Every(interval: \"3 days\"), review: \"2001-04-05\"))";
    let second = "Phase(gap: \"3 days\", dose: PerBodyWeight(\"7 mg/kg\"), schedule: Once)";
    let open_middle = format!("Phases([{first}, {second}])");
    let faults = faults(&changed(&[
        ("    dose: PerBodyWeight(\"13 mg/kg\"),\n", "\n"),
        (
            "    label_check: LabelCheck(weight: \"32 g\", volume: \"0.052 mL\"),\n",
            "",
        ),
        ("Every(interval: \"60 hours\", doses: 4)", &open_middle),
    ]));
    assert_eq!(places(&faults), ["12:128"], "{faults}");
    assert!(
        faults.to_string().contains("only the last part"),
        "{faults}"
    );
    check(
        r#"
Every(interval: "60 hours", doses: 4) | Phases([Phase(dose: PerBodyWeight("13 mg/kg"), schedule: Once)]) | 9:5 | every phase of the schedule has a dose of its own
"#,
    );
}

#[test]
fn all_faults_come_out_at_once() {
    let found = faults(&changed(&[
        ("\"2001-03-05\"", "\"2001-02-30\""),
        (", phone: \"555 0134 (not a number)\"", ""),
        ("\"Nubbet\"", "\"\""),
        ("\"8 mg/mL\"", "\"8 mg/ml/kg\""),
        ("\"13 mg/kg\"", "\"13\""),
        ("\"right\"", "\"wrong\""),
        ("doses: 4", "doses: 0"),
        ("CountFromGiven", "Perhaps"),
        ("    weigh_every", "    wiegh_every"),
    ]));
    assert_eq!(
        places(&found),
        [
            "4:14", "6:10", "7:26", "8:88", "9:25", "11:42", "12:50", "13:17", "14:5"
        ],
        "{found}"
    );
}

#[test]
fn a_slip_does_not_hide_a_contradiction() {
    let found = faults(&changed(&[
        (", phone: \"555 0134 (not a number)\"", ""),
        ("\"Nubbet\"", "\"\""),
        ("\"13 mg/kg\"", "\"13 units/kg\""),
        ("    after_late: CountFromGiven,\n", ""),
    ]));
    assert_eq!(places(&found), ["1:1", "6:10", "7:26", "9:11"], "{found}");
}

/// Promise 1: an error never offers a dose. No message may hold a figure before a unit of
/// medicine that the file does not hold itself.
#[test]
fn no_message_offers_a_dose() {
    let units = [
        "mg", "mcg", "units", "unit", "mL", "tablets", "tablet", "mg/kg", "mcg/kg", "mL/kg",
    ];
    let bad = [
        "13",
        "13 mg",
        "",
        "a little",
        "13 mg/kg to 15 mg/kg",
        "13 mg/kg/day",
        "13 IU",
    ];
    for (form, bad) in ["PerBodyWeight", "PerDay", "Fixed"]
        .iter()
        .flat_map(|form| bad.map(|bad| (form, bad)))
    {
        let to = format!("{form}(\"{bad}\")");
        let text = changed(&[("PerBodyWeight(\"13 mg/kg\")", &to)]);
        let Err(faults) = Prescription::read(&text, "script.ron") else {
            continue;
        };
        for fault in faults.list().iter().filter(|fault| fault.line == 9) {
            let said = format!("{} {}", fault.wrong, fault.expected);
            let said = if bad.is_empty() {
                said
            } else {
                said.replace(bad, "")
            };
            let words: Vec<&str> = said.split([' ', ',', ';', '\'']).collect();
            for pair in words.windows(2) {
                let is_figure = pair[0].chars().all(|c| c.is_ascii_digit() || c == '.');
                let offers = is_figure && !pair[0].is_empty() && units.contains(&pair[1]);
                assert!(!offers, "{said}");
            }
        }
    }
}
