//! `scruple round`: the day's doses one after another, over a pipe as at a keyboard.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

#[path = "demo/bench.rs"]
#[allow(dead_code, reason = "each test uses what it needs")]
mod bench;
mod readers;

use bench::{Bench, NOW};
use chrono::{DateTime, TimeDelta, Utc};
use readers::notation::notation_faults;
use scruple::cli::{World, run_by_clock};
use serde_json::Value;
use std::cell::Cell;
use std::ffi::OsString;

/// Everything recorded about an animal, without the numbers of the entries.
fn history(bench: &Bench, animal: &str) -> Vec<Value> {
    let mut shown = bench.json(&["animal", "show", animal]);
    let history = shown["history"].as_array_mut().unwrap();
    for entry in history.iter_mut() {
        entry["entry"] = Value::Null;
    }
    history.clone()
}

fn entries(bench: &Bench) -> usize {
    let animals = ["Thimblo", "Nubbet", "Quillo", "Brackle", "Ossin", "Mossop"];
    animals
        .iter()
        .map(|animal| history(bench, animal).len())
        .sum()
}

/// The doses of the demonstration in the order of work: Thimblo open, Nubbet too small, Quillo
/// late, Brackle by an old weight, Ossin from a wrong bottle, Mossop to be called about.
#[test]
fn it_goes_through_every_state_of_the_demonstration() {
    let bench = Bench::with_demo("walk-all");
    let before = entries(&bench);
    let typed = [
        "g", // Thimblo: a key is enough
        "g", "no", "n", // Nubbet has no mark: asked about, left
        "g", // Quillo is late, as its panel says, and may still be given
        "w", "82.5 g", "g", // Brackle: weighed, then given
        "g", "yes", // Ossin: it has happened, so it is recorded
        "r",   // Mossop would not take it
    ];
    let answer = bench.run(&["round", "--by", "AK"], &(typed.join("\n") + "\n"));
    assert_eq!(answer.code, 0, "{answer:?}");
    assert_eq!(entries(&bench), before + 6, "five outcomes and a weighing");
    let out = &answer.out;
    assert!(out.contains("Recorded: 5 doses. Left: 1 dose."), "{out}");
    assert!(out.contains("CALL YOUR VET NOW"), "{out}");
    assert!(out.contains("DEMONSTRATION"), "{out}");
    for text in [&answer.out, &answer.err] {
        assert_eq!(notation_faults(text), Vec::<String>::new(), "{text}");
        let long = text
            .lines()
            .find(|line| line.chars().count() > 80 && line.contains(','));
        // Sentences of other commands are not broken yet; the panels and the questions are.
        assert!(long.is_none_or(|line| !line.starts_with("   ")), "{long:?}");
    }
    let check = bench.json(&["check", "Thimblo"]);
    assert_eq!(check["courses"][0]["doses"][1]["state"], "given");
}

/// A record made here is the record that `give` makes.
#[test]
fn it_records_what_give_records() {
    let walked = Bench::with_demo("walk-same-1");
    let typed = Bench::with_demo("walk-same-2");
    assert_eq!(walked.run(&["round", "--by", "AK"], "g\nq\n").code, 0);
    let give = ["give", "Thimblo", "DEMO-0001", "--dose", "2", "--by", "AK"];
    assert_eq!(typed.run(&give, "yes\n").code, 0);
    assert_eq!(history(&walked, "Thimblo"), history(&typed, "Thimblo"));
}

/// 47.9 g x 13 mg/kg = 0.6227 mg; by 8 mg/mL about 0.0778 mL, 15.57 lines of 0.005 mL: line 16,
/// 0.08 mL. At 46 g it was 14.95 lines, 0.075 mL.
#[test]
fn a_weighing_moves_the_mark_at_once() {
    let bench = Bench::with_demo("walk-weigh");
    let answer = bench.run(&["round"], "w\n47.9 g\ng\nq\n");
    let (before, after) = answer.out.split_once("47.9 g, Thu").unwrap();
    assert!(before.contains("DRAW TO   0.075 mL"), "{before}");
    assert!(after.contains("DRAW TO   0.08 mL"), "{after}");
    assert!(
        after.contains("given Thu 8 March 19:30, 0.08 mL"),
        "{after}"
    );
}

#[test]
fn a_slip_of_the_scale_is_caught_here_too() {
    let bench = Bench::with_demo("walk-slip");
    let before = std::fs::read(bench.path("room.scruple")).unwrap();
    for typed in [
        "w\n4.6 kg\nno\nq\n",
        "w\n46\nq\n",
        "w\n\nq\n",
        "w\n--help\nq\n",
        "z\ngiven twice\n\nq\n",
        "p\n\n0,1 mL\nq\n",
        "p\n\n0.1 mL\nno\nq\n",
        "u\n\nno\nb\n\n\nno\nq\n",
    ] {
        let answer = bench.run(&["round"], typed);
        assert_eq!(answer.code, 0, "{typed:?}: {answer:?}");
        assert_eq!(
            std::fs::read(bench.path("room.scruple")).unwrap(),
            before,
            "{typed:?}"
        );
    }
}

/// Broken off at every question, what was recorded is kept and nothing else.
#[test]
fn end_of_input_at_every_question_keeps_what_was_recorded() {
    let typed = [
        ("w", 0),
        ("47.9 g", 1),
        ("g", 1),
        ("n", 0),
        ("g", 1),
        ("p", 0),
        ("", 0),
        ("0.1 mL", 0),
        ("yes", 1),
        ("u", 0),
        ("", 0),
        ("yes", 1),
        ("g", 0),
        ("yes", 1),
    ];
    let bench = Bench::with_demo("walk-end");
    let fresh = std::fs::read(bench.path("room.scruple")).unwrap();
    let before = entries(&bench);
    for end in 0..=typed.len() {
        std::fs::write(bench.path("room.scruple"), &fresh).unwrap();
        let lines: String = typed[..end]
            .iter()
            .map(|(line, _)| format!("{line}\n"))
            .collect();
        let kept: usize = typed[..end].iter().map(|(_, kept)| kept).sum();
        let answer = bench.run(&["round"], &lines);
        assert_eq!(answer.code, 0, "{lines:?}: {answer:?}");
        assert_eq!(entries(&bench), before + kept, "{lines:?}: {answer:?}");
    }
}

/// A key alone never records what should not have happened, not even with `--yes`.
#[test]
fn what_speaks_against_a_dose_is_always_asked_about() {
    let bench = Bench::with_demo("walk-loud");
    let before = std::fs::read(bench.path("room.scruple")).unwrap();
    let answer = bench.run(
        &["round", "--yes"],
        "n\ng\nno\nn\nn\nn\ng\nno\nn\ng\nno\nn\n",
    );
    assert_eq!(answer.code, 0, "{answer:?}");
    let asked = answer.err.matches("Type yes or no").count();
    assert!(asked >= 3, "{}", answer.err);
    assert_eq!(std::fs::read(bench.path("room.scruple")).unwrap(), before);
}

#[test]
fn it_says_so_when_nothing_is_due() {
    let bench = Bench::with_demo("walk-nothing");
    let book = bench.path("empty.scruple");
    let begin = ["begin", "--zone", "UTC", "--book", &book, "--now", NOW];
    assert_eq!(bench.bare(&begin, "").code, 0);
    let answer = bench.bare(&["round", "--book", &book, "--now", NOW], "g\n");
    assert_eq!(answer.code, 0, "{answer:?}");
    assert!(answer.out.contains("No dose waits today."), "{answer:?}");
}

/// A round takes a while: each record has the time at which it was made, unless a person named
/// one time for all of them.
#[test]
fn the_time_goes_on_while_a_person_walks() {
    for (name, named, second) in [
        ("walk-clock", None, "2001-03-08T19:50:00Z"),
        ("walk-named", Some(NOW), "2001-03-08T19:30:00Z"),
    ] {
        let bench = Bench::with_demo(name);
        let began: DateTime<Utc> = "2001-03-08T19:30:00Z".parse().unwrap();
        let asked = Cell::new(0);
        let clock = || {
            asked.set(asked.get() + 1);
            began + TimeDelta::minutes(5 * asked.get())
        };
        let book = bench.path("room.scruple");
        let mut words = vec!["scruple", "round", "--book", &book];
        words.extend(named.iter().flat_map(|now| ["--now", now]));
        let (mut out, mut err) = (Vec::new(), Vec::new());
        // Five minutes at each question: the weight is typed after five, Quillo given after twenty.
        let world = World {
            now: began,
            local_zone: None,
            book_from_environment: None,
            data_directory: None,
            interactive: false,
            colour: false,
            input: &mut "w\n47.9 g\nn\nn\ng\nq\n".as_bytes(),
            out: &mut out,
            err: &mut err,
        };
        let code = run_by_clock(words.iter().map(OsString::from), world, Some(&clock));
        let out = String::from_utf8(out).unwrap();
        assert_eq!(code, 0, "{out}");
        let later = "2001-03-09 08:00";
        let shown = bench.json_at(&["animal", "show", "Quillo"], later);
        let last = shown["history"].as_array().unwrap().last().unwrap().clone();
        assert_eq!(last["happened_at"], second, "{last}");
    }
}
