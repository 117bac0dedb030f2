//! Every message that says "not accepted" or "failed", shown by a case that can be run: one file
//! for each under tests/errors/, and docs/errors.md made from what they really say.
//!
//! A case is a few lines, `key: value`. `room` is what there is beforehand: `nothing`, a `book`
//! with syringes, or a `course` that has just begun (`nowhere`: not even a place for a book). `change` and `file` make files, `first` runs
//! a command that must go well, `at` sets the clock, `typed` is what is typed at the questions of
//! the command that is shown, `run`. It must end with `ends` and say `says`.
//!
//! `SCRUPLE_WRITE=1 cargo test --test errors` writes docs/errors.md anew.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]
#![allow(dead_code, reason = "the bench serves other tests too")]

#[path = "demo/bench.rs"]
mod bench;
#[path = "errors/case.rs"]
mod case;
#[path = "errors/messages.rs"]
mod messages;

use case::{Case, Shown};
use std::path::Path;
use std::sync::OnceLock;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Every case with what it showed, in the order of the list.
fn shown() -> &'static [(Case, Shown)] {
    static SHOWN: OnceLock<Vec<(Case, Shown)>> = OnceLock::new();
    SHOWN.get_or_init(|| {
        let cases = case::all(&Path::new(ROOT).join("tests/errors"));
        let show = |case: Case| {
            let shown = case.show();
            (case, shown)
        };
        cases.into_iter().map(show).collect()
    })
}

#[test]
fn every_case_says_what_it_should() {
    let mut faults = Vec::new();
    for (case, shown) in shown() {
        if let Err(fault) = case.judge(shown) {
            faults.push(format!("{}: {fault}", case.name));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n\n"));
}

/// What every message owes its reader.
#[test]
fn every_message_is_kind_and_offers_no_dose() {
    let mut faults = Vec::new();
    for (case, shown) in shown() {
        let said = &shown.said;
        let lower = said.to_lowercase();
        for blame in [
            "you must",
            "you failed",
            "illegal",
            "invalid",
            "error:",
            "stupid",
            "wrongly",
        ] {
            if lower.contains(blame) {
                faults.push(format!("{}: '{blame}' in: {said}", case.name));
            }
        }
        // A figure with a unit of dose must be one that was put in.
        for offered in case::dose_figures(said) {
            if !case.holds(&offered) {
                faults.push(format!("{}: '{offered}' is offered: {said}", case.name));
            }
        }
        if said.contains("os error 0") || said.chars().any(|c| c.is_control() && c != '\n') {
            faults.push(format!("{}: something unreadable in: {said}", case.name));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_list_is_what_the_cases_say() {
    let list = case::list(shown());
    let path = Path::new(ROOT).join("docs/errors.md");
    if std::env::var_os("SCRUPLE_WRITE").is_some() {
        std::fs::write(&path, &list).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        written == list,
        "docs/errors.md is not what the cases say: SCRUPLE_WRITE=1 cargo test --test errors"
    );
}

/// Every message in the source is shown by a case, or stands in tests/errors/elsewhere.txt with
/// where it is proved instead.
#[test]
fn no_message_is_without_a_case() {
    let said: Vec<&str> = shown()
        .iter()
        .map(|(_, shown)| shown.said.as_str())
        .collect();
    let elsewhere = std::fs::read_to_string(Path::new(ROOT).join("tests/errors/elsewhere.txt"));
    let elsewhere = elsewhere.unwrap_or_default();
    let known = messages::elsewhere(&elsewhere);
    let all = messages::all(&Path::new(ROOT).join("src"));
    assert!(all.len() > 200, "only {} messages were found", all.len());
    let mut missing = Vec::new();
    let mut by_case = 0;
    for message in &all {
        if said.iter().any(|said| message.is_in(said)) {
            by_case += 1;
        } else if !known.iter().any(|(words, _)| message.begins(words)) {
            missing.push(format!("{} | {}", message.place, message.words()));
        }
    }
    println!(
        "{} messages, {by_case} of them by {} cases",
        all.len(),
        said.len()
    );
    assert!(
        missing.is_empty(),
        "{} without a case:\n{}",
        missing.len(),
        missing.join("\n")
    );
    for (words, why) in &known {
        assert!(!why.is_empty(), "no place is named for: {words}");
        assert!(
            all.iter().any(|message| message.begins(words)),
            "no such message any more: {words}"
        );
    }
}
