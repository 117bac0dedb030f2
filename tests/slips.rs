//! Plausible slips of a tired person, each typed on purpose: a table in tests/slips/, docs/slips.md
//! made from it. Every one is caught, or pointed out, or read as it was meant; whatever is caught
//! has changed nothing in the book.
//!
//! A row of the table has four parts, divided by ` | `: what slipped, what is typed, how it goes
//! (`caught`, `asked`, `said` or `right`), and words that are then said. `caught`: it ends with 2.
//! `asked`: it is only kept when it is typed a second time, and it is not. `said`: it is kept,
//! with a warning. `right`: it is read as it was meant. In a prescription the second part is
//! `old => new`.
//!
//! `SCRUPLE_WRITE=1 cargo test --test slips` writes docs/slips.md anew.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]
#![allow(dead_code, reason = "the bench serves other tests too")]

#[path = "demo/bench.rs"]
mod bench;

use bench::{Answer, Bench, shell_words};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, OnceLock};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// It is the second day of a course that began at 08:00 on 7 March; one dose was given.
const NOW: &str = "2001-03-08 08:10";

/// The prescription that slips are made in. 20 x 0.031 is 0.62; divided by 8 it is 0.0775.
const SCRIPT: &str = r#"// Invented: no such medicine, vet or animal exists.
Prescription(
    demonstration: true,
    reference: "DEMO-0001",
    written: "2001-03-05",
    valid_until: "2001-06-05",
    vet: Vet(name: "Dr A. Example", phone: "555 0134 (not a number)"),
    animals: ["Thimblo"],
    medicine: Medicine(name: "Madeup Amber", strength: "8 mg/mL"),
    dose: PerBodyWeight("20 mg/kg"),
    max_dose: "2 mg",
    route: Injection("under the skin"),
    sites: [Site("A", "left"), Site("B", "right")],
    schedule: AtTimes(times: ["08:00", "20:00"], days: 6),
    after_late: KeepCalendar,
    weigh_every: "7 days",
    label_check: LabelCheck(weight: "31 g", volume: "0.0775 mL"),
)
"#;

/// How a slip goes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum How {
    Caught,
    Asked,
    Said,
    Right,
}

struct Slip {
    part: &'static str,
    what: String,
    typed: String,
    how: How,
    says: String,
}

const PARTS: [(&str, &str); 3] = [
    ("prescriptions", "In prescriptions"),
    ("weights", "In weights"),
    ("commands", "In commands"),
];

fn slips() -> Vec<Slip> {
    let mut slips = Vec::new();
    for (part, _) in PARTS {
        let path = Path::new(ROOT).join(format!("tests/slips/{part}.txt"));
        for line in std::fs::read_to_string(path).unwrap().lines() {
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let parts: Vec<&str> = line.split(" | ").collect();
            assert_eq!(parts.len(), 4, "{line}");
            let how = match parts[2] {
                "caught" => How::Caught,
                "asked" => How::Asked,
                "said" => How::Said,
                "right" => How::Right,
                other => panic!("{other}: {line}"),
            };
            slips.push(Slip {
                part,
                what: parts[0].to_owned(),
                typed: parts[1].to_owned(),
                how,
                says: parts[3].to_owned(),
            });
        }
    }
    slips
}

/// Characters that cannot be seen stand in the table by their number.
fn unescaped(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("\\u{") {
        let (code, after) = after.split_once('}').unwrap();
        out.push_str(before);
        out.push(char::from_u32(u32::from_str_radix(code, 16).unwrap()).unwrap());
        rest = after;
    }
    (out + rest).replace("\\n", "\n")
}

/// Two animals, a course of Thimblo that has one dose given, two bottles, three syringes.
fn room(name: &str) -> Bench {
    static BUILT: OnceLock<Vec<u8>> = OnceLock::new();
    static ONE: Mutex<()> = Mutex::new(());
    let bench = Bench::new(&format!("slips-{name}"));
    std::fs::create_dir_all(bench.folder()).unwrap();
    let _one = ONE.lock().unwrap();
    let built = BUILT.get_or_init(|| {
        let own = Bench::new("slips-room");
        std::fs::create_dir_all(own.folder()).unwrap();
        own.write("script.ron", SCRIPT);
        let path = own.path("script.ron");
        for (now, line) in [
            ("2001-03-05 18:00", "begin --zone UTC --scale \"0.1 g\" --demonstration"),
            ("2001-03-05 18:01", "syringe add 0.3/0.005 --for injection --needle fixed"),
            ("2001-03-05 18:02", "syringe add 1/0.01 --for mouth"),
            ("2001-03-05 18:03", "animal add Thimblo --species \"invented gecko\" --id \"tub 1\""),
            ("2001-03-05 18:04", "animal add Quillo --species \"invented rat\" --id \"cage 2\""),
            ("2001-03-06 08:00", "weigh Thimblo \"31 g\""),
            ("2001-03-06 08:05", "weigh Quillo \"240 g\""),
            ("2001-03-06 09:00", "bottle open \"Madeup Amber\" --reads \"8 mg/mL\" --expiry 2001-12 --holds \"5 mL\""),
            ("2001-03-06 09:01", "bottle open \"Madeup Cobalt\" --reads \"26 mg/mL\" --expiry 2001-12"),
            ("2001-03-06 09:02", "enter SCRIPT --start \"2001-03-07 08:00\""),
            ("2001-03-07 20:00", "give Thimblo DEMO-0001 --dose 1 --at \"2001-03-07 08:00\""),
            ("2001-03-07 20:05", "give Thimblo DEMO-0001 --dose 2"),
        ] {
            let words: Vec<String> = shell_words(line);
            let words = words.iter().map(|word| if word == "SCRIPT" { &path } else { word });
            let words: Vec<&str> = words.map(String::as_str).collect();
            let done = own.run_at(&words, "yes\n", now);
            assert_eq!(done.code, 0, "{line}: {done:?}");
        }
        std::fs::read(own.path("room.scruple")).unwrap()
    });
    std::fs::write(bench.path("room.scruple"), built).unwrap();
    bench
}

impl Slip {
    /// Types it. Nobody answers a question, but for the last yes of what is to be kept.
    fn make(&self, bench: &Bench) -> Answer {
        let typed = unescaped(&self.typed);
        let yes = match self.how {
            How::Said | How::Right => "yes\n",
            How::Caught | How::Asked => "",
        };
        if self.part == "prescriptions" {
            let (old, new) = typed.split_once(" => ").unwrap();
            assert!(SCRIPT.contains(old), "{}: no '{old}'", self.what);
            let script = SCRIPT
                .replacen(old, new, 1)
                .replace("DEMO-0001", "DEMO-0002");
            let path = bench.write("script.ron", &script);
            return bench.run_at(&["enter", &path, "--start", "2001-03-09 08:00"], yes, NOW);
        }
        bench.write("weights.csv", "name,date,weight\n");
        let words: Vec<String> = shell_words(&typed)
            .into_iter()
            .filter(|word| !word.is_empty())
            .collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        bench.run_at(&words, yes, NOW)
    }

    fn judge(&self, bench: &Bench, before: &[u8]) -> Result<(), String> {
        let answer = self.make(bench);
        let flat = format!("{} {}", answer.out, answer.err);
        let flat = flat.split_whitespace().collect::<Vec<_>>().join(" ");
        let says = flat.to_lowercase().contains(&self.says.to_lowercase());
        let kept = std::fs::read(bench.path("room.scruple")).unwrap() != before;
        let (code, may_keep) = match self.how {
            How::Caught | How::Asked => (2, false),
            How::Said | How::Right => (0, true),
        };
        if answer.code == code && says && (may_keep || !kept) && !self.says.is_empty() {
            return Ok(());
        }
        Err(format!(
            "{}: '{}' ended with {}{}; '{}' in: {flat:.400}",
            self.what,
            self.typed,
            answer.code,
            if kept { ", kept" } else { "" },
            self.says
        ))
    }
}

#[test]
fn every_slip_is_caught_pointed_out_or_read_right() {
    let slips = slips();
    let mut faults = Vec::new();
    let mut bench = room("typed");
    let before = std::fs::read(bench.path("room.scruple")).unwrap();
    for slip in &slips {
        if let Err(fault) = slip.judge(&bench, &before) {
            faults.push(fault);
        }
        if matches!(slip.how, How::Said | How::Right) {
            bench = room("typed");
        }
    }
    assert!(
        faults.is_empty(),
        "{} faults\n{}",
        faults.len(),
        faults.join("\n")
    );
}

#[test]
fn no_slip_stands_twice_and_there_are_enough() {
    let slips = slips();
    let mut seen = std::collections::BTreeSet::new();
    for slip in &slips {
        assert!(
            seen.insert((slip.part, &slip.typed)),
            "twice: {}",
            slip.typed
        );
    }
    // With those made at the questions.
    let asked = include_str!("asking/slips.rs");
    assert!(asked.contains("SLIPS: [(At, &str, &str); 58]"));
    assert!(slips.len() + 58 >= 200, "only {} slips", slips.len());
}

#[test]
fn the_page_counts_them() {
    let page = page(&slips());
    let path = Path::new(ROOT).join("docs/slips.md");
    if std::env::var_os("SCRUPLE_WRITE").is_some() {
        std::fs::write(&path, &page).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        written == page,
        "docs/slips.md is not what the table says: SCRUPLE_WRITE=1 cargo test --test slips"
    );
}

/// docs/slips.md.
fn page(slips: &[Slip]) -> String {
    let mut counts: BTreeMap<(&str, How), usize> = BTreeMap::new();
    for slip in slips {
        *counts.entry((slip.part, slip.how)).or_default() += 1;
    }
    let mut page = String::from(
        "# Slips of a tired hand\n\n\
         Each was typed on purpose, in a room with two animals, a course in progress, two bottles and \
         two syringes; the table is `tests/slips/`, and `cargo test --test slips` types all of it. \
         Caught: not accepted, nothing was kept. Asked: it has to be typed a second time, and was not. \
         Said: kept, with a warning. Right: read as it was meant. 58 more are made at the questions of \
         `scruple enter` (`tests/asking/slips.rs`), all caught at their question. To make this page \
         again: `SCRUPLE_WRITE=1 cargo test --test slips`.\n\n\
         | where | slips | caught | asked | said | right |\n|---|---:|---:|---:|---:|---:|\n",
    );
    let row = |name: &str, parts: &[&str]| {
        let of = |how| -> usize {
            parts
                .iter()
                .filter_map(|part| counts.get(&(*part, how)))
                .sum()
        };
        let [caught, asked, said, right] = [How::Caught, How::Asked, How::Said, How::Right].map(of);
        let all = caught + asked + said + right;
        format!("| {name} | {all} | {caught} | {asked} | {said} | {right} |\n")
    };
    for (part, heading) in PARTS {
        page += &row(&heading.to_lowercase(), &[part]);
    }
    page += &row("here together", &PARTS.map(|(part, _)| part));
    for (part, heading) in PARTS {
        page += &format!(
            "\n## {heading}\n\n| what slipped | typed | how it goes | it says |\n|---|---|---|---|\n"
        );
        for slip in slips.iter().filter(|slip| slip.part == part) {
            let how = format!("{:?}", slip.how).to_lowercase();
            page += &format!(
                "| {} | `{}` | {how} | {} |\n",
                slip.what, slip.typed, slip.says
            );
        }
    }
    page
}
