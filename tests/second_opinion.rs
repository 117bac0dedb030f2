//! A second opinion: dose, mark, ladder, slots, windows, gate and verdict worked out once more from
//! the prose of the rules, slowly and plainly, and held against the program's on random cases.
//!
//! Promises: nothing here computes with the program's own rooms; they get text and are asked. The
//! numbers are whole numbers of any size, the calendar and the clocks of three zones are made here.
//! 20,000 cases of each in the ordinary run; as many as `SCRUPLE_CASES` says where it is set. The
//! first 1,000,000 of each have no difference, last run on 28 November 2026 (at best 264 s for the doses
//! and 191 s for the courses, both at once on 2 cores with others at work). It was run in the copy that
//! `docs/rooms-apart.sh` makes, where the rooms build by themselves:
//! `SCRUPLE_CASES=1000000 cargo test --release -p scruple --test second_opinion`.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test may stop at once, and makes up its cases roughly"
)]

#[path = "second_opinion/big.rs"]
mod big;
#[path = "second_opinion/by_hand.rs"]
mod by_hand;
#[path = "second_opinion/calendar.rs"]
mod calendar;
#[path = "second_opinion/chance.rs"]
mod chance;
#[path = "second_opinion/course_answers.rs"]
mod course_answers;
#[path = "second_opinion/courses.rs"]
mod courses;
#[path = "second_opinion/dose_answers.rs"]
mod dose_answers;
#[path = "second_opinion/doses.rs"]
mod doses;
#[path = "second_opinion/judged.rs"]
mod judged;
#[path = "second_opinion/written.rs"]
mod written;

use std::collections::BTreeMap;
use std::time::Instant;

/// Runs every case on as many threads as there are cores; the first few that differ are shown.
fn compare(what: &str, differences: impl Fn(u64) -> Vec<String> + Sync) {
    let cases: u64 = std::env::var("SCRUPLE_CASES").map_or(20_000, |n| n.parse().unwrap());
    let threads = std::thread::available_parallelism().map_or(1, usize::from) as u64;
    let (begun, differences) = (Instant::now(), &differences);
    let found: Vec<String> = std::thread::scope(|scope| {
        let each = (0..threads).map(|first| {
            scope.spawn(move || {
                let mine = (first..cases).step_by(threads as usize);
                let apart = mine.map(|case| (case, differences(case)));
                let apart = apart.filter(|(_, found)| !found.is_empty()).take(5);
                apart
                    .map(|(case, found)| format!("case {case}: {found:#?}"))
                    .collect::<Vec<_>>()
            })
        });
        let running: Vec<_> = each.collect();
        running
            .into_iter()
            .flat_map(|one| one.join().unwrap())
            .collect()
    });
    println!(
        "{cases} {what} compared in {:.1} s",
        begun.elapsed().as_secs_f64()
    );
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn doses_marks_and_ladders() {
    compare("doses", |case| {
        let one = doses::Case::new(case);
        let mut found = one.differences(case % 4 == 0);
        if !found.is_empty() {
            found.push(format!("{one:#?}"));
        }
        found
    });
}

#[test]
fn slots_windows_gates_and_verdicts() {
    compare("courses", |case| {
        let one = courses::Case::new(case);
        let mut found = one.differences();
        if !found.is_empty() {
            found.push(format!("{one:#?}"));
        }
        found
    });
}

/// Cases that are all alike would prove little: of 4,000, each kind of answer comes up 5 times.
#[test]
fn the_cases_are_of_every_kind() {
    let mut kinds: BTreeMap<String, u32> = BTreeMap::new();
    for case in 0..4_000 {
        let dose = doses::Case::new(case).kinds();
        let course = courses::Case::new(case).kinds();
        for kind in dose.into_iter().chain(course) {
            *kinds.entry(kind).or_default() += 1;
        }
    }
    println!("{kinds:#?}");
    let every = dose_answers::EVERY_KIND
        .iter()
        .chain(&course_answers::EVERY_KIND);
    let rare = every.filter(|kind| kinds.get(**kind).is_none_or(|times| *times < 5));
    assert_eq!(rare.collect::<Vec<_>>(), Vec::<&&str>::new());
    assert!(kinds["mark"] > 1_000, "marks are what it is about");
}
