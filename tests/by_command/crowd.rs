//! Many people at once, each with the program: no entry is lost, and a dose that all of them see
//! waiting is given by one.

use crate::dice::how_many;
use crate::program::{acknowledged, long_course, minute, program};
use crate::room::Room;
use scruple::book::{Book, verify};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{Read, Write};
use std::path::Path;
use std::process::Stdio;
use std::sync::Barrier;
use std::thread;
use std::time::Instant;

/// Animals with names that nobody takes for each other; the first is the one on the course.
const OWN: [&str; 8] = [
    "Thimblo", "Nubbet", "Brackle", "Mossop", "Quillo", "Ossin", "Fernweh", "Zapkin",
];

/// What became of one try at a dose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Try {
    /// Recorded as this entry.
    Given(u64),
    /// It was said before the question that it had been given.
    SeenGiven,
    /// It was given by someone else between the question and the answer.
    Changed,
    /// The others wrote all the time that it waited: nothing was kept, and it is to be tried again.
    Busy,
}

/// What a command says that could not have its turn within its patience.
const BUSY: &str = "is being used by someone else, so nothing was kept";

/// Tries to give the dose as a person does: reads what is shown, and says yes only where nothing
/// speaks against it.
fn give(room: &Room, now: &str, by: &str) -> Try {
    let mut child = program(room, &["give", "Thimblo", "DEMO-0001", "--by", by], now)
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    let mut asked = Vec::new();
    let mut err = child.stderr.take().unwrap();
    let mut letter = [0];
    while !asked.ends_with(b"Type yes or no:") && err.read(&mut letter).unwrap() == 1 {
        asked.push(letter[0]);
    }
    let asked = String::from_utf8(asked).unwrap();
    let clear = asked.contains("Record this?");
    let answer: &[u8] = if clear { b"yes\n" } else { b"no\n" };
    // A program that ended instead of asking reads nothing any more.
    let _ = child.stdin.take().unwrap().write_all(answer);
    let output = child.wait_with_output().unwrap();
    let mut said = String::new();
    err.read_to_string(&mut said).unwrap();
    let shown = String::from_utf8(output.stdout).unwrap();
    let whole = format!("{asked}\n{shown}\n{said}");
    match (output.status.code(), acknowledged(&shown)) {
        (Some(0), Some(entry)) if clear => Try::Given(entry),
        (Some(2), None) if clear && said.contains("book has changed since this was shown") => {
            Try::Changed
        }
        (Some(2), None) if !clear && shown.contains("STOP") => Try::SeenGiven,
        (Some(3), None) if whole.contains(BUSY) => Try::Busy,
        other => panic!("{other:?}: {whole}"),
    }
}

/// What one person does. Where that stops, the whole test does: the others would wait for them.
fn or_stop<T>(work: impl FnOnce() -> T) -> T {
    match std::panic::catch_unwind(std::panic::AssertUnwindSafe(work)) {
        Ok(done) => done,
        Err(why) => {
            let why = why.downcast_ref::<String>().cloned().unwrap_or_default();
            let _ = std::io::stderr().write_all(why.as_bytes());
            std::process::exit(101);
        }
    }
}

/// SCRUPLE_COMMANDS_CROWD processes at a time, each with SCRUPLE_COMMANDS_EACH mixed entries; every
/// fifth is a try at a dose that all of them try to give at the same moment.
#[test]
fn commands_at_once_lose_nothing_and_give_nothing_twice() {
    let mut room = long_course("crowd");
    let people = how_many("SCRUPLE_COMMANDS_CROWD", 4);
    let each = how_many("SCRUPLE_COMMANDS_EACH", 10);
    let slots = each / 5;
    assert!((1..=100).contains(&slots) && (2..=8).contains(&people));
    for own in &OWN[1..usize::try_from(people).unwrap()] {
        room.takes_in(own, "20 g");
    }
    let place = room.path("room.scruple");
    let path = Path::new(&place);
    let at_first = Book::open(path).unwrap().read_all().unwrap().len();
    let (room, together) = (&room, &Barrier::new(people.try_into().unwrap()));
    let began = Instant::now();
    let work = |who: u64| {
        let by = format!("P{who}");
        // The first one weighs the animal on the course, so that its weight never gets old.
        let own = OWN[usize::try_from(who).unwrap()];
        let grams = if who == 0 { 31 } else { 20 };
        let (mut kept, mut tries, mut busy) = (Vec::new(), Vec::new(), 0_u64);
        let mut took = Vec::new();
        for i in 0..each {
            let slot = i / 5;
            // The doses are due at every 720th minute; what is recorded between two of them is
            // recorded before all try the second.
            let now = minute(slot * 720 + i % 5);
            if i % 5 == 4 {
                together.wait();
                let become_of = loop {
                    match give(room, &now, &by) {
                        Try::Busy => busy += 1,
                        other => break other,
                    }
                };
                tries.push(become_of);
                together.wait();
                continue;
            }
            let weight = format!("{grams}.{} g", i % 10).replace(".0", "");
            let note = format!("observation {i}");
            let words: &[&str] = match i % 5 {
                0 | 2 => &["weigh", own, &weight, "--by", &by, "--yes"],
                1 => &["note", own, &note, "--by", &by, "--yes"],
                _ => &["note", "Thimblo", &note, "--by", &by, "--yes"],
            };
            let typed = Instant::now();
            let said = loop {
                let output = program(room, words, &now).output().unwrap();
                let said = String::from_utf8(output.stdout).unwrap()
                    + &String::from_utf8(output.stderr).unwrap();
                match output.status.code() {
                    Some(0) => break said,
                    Some(3) if said.contains(BUSY) && !said.contains("as entry") => busy += 1,
                    code => panic!("{words:?}: {code:?}: {said}"),
                }
            };
            took.push(typed.elapsed());
            let entry = said.split_once("as entry ").and_then(|(_, after)| {
                let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
                digits.parse::<u64>().ok()
            });
            kept.push(entry.unwrap_or_else(|| panic!("{said}")));
        }
        (kept, tries, busy, took)
    };
    let done: Vec<_> = thread::scope(|scope| {
        let all: Vec<_> = (0..people)
            .map(|who| scope.spawn(move || or_stop(|| work(who))))
            .collect();
        all.into_iter().map(|one| one.join().unwrap()).collect()
    });
    let lasted = began.elapsed();
    let mut kept: Vec<u64> = done.iter().flat_map(|(kept, ..)| kept.clone()).collect();
    let busy: u64 = done.iter().map(|(_, _, busy, _)| busy).sum();
    let mut took: Vec<_> = done.iter().flat_map(|(.., took)| took).collect();
    took.sort();
    let (mut seen, mut changed) = (0, 0);
    for slot in 0..usize::try_from(slots).unwrap() {
        let tries: Vec<Try> = done.iter().map(|(_, tries, ..)| tries[slot]).collect();
        let given = tries.iter().filter_map(|a| match a {
            Try::Given(entry) => Some(*entry),
            _ => None,
        });
        let given: Vec<u64> = given.collect();
        assert_eq!(given.len(), 1, "dose {}: {tries:?}", slot + 1);
        kept.extend(given);
        seen += tries.iter().filter(|a| **a == Try::SeenGiven).count();
        changed += tries.iter().filter(|a| **a == Try::Changed).count();
    }
    // Every entry that was acknowledged is there under its own number, and no other.
    let rows = Book::open(path).unwrap().read_all().unwrap();
    let acknowledged: BTreeSet<u64> = kept.iter().copied().collect();
    assert_eq!(
        acknowledged.len(),
        kept.len(),
        "a number was acknowledged twice"
    );
    let there = rows.iter().skip(at_first).map(|row| row.seq).collect();
    assert_eq!(acknowledged, there);
    assert_eq!(
        u64::try_from(kept.len()).unwrap(),
        people * (each - slots) + slots
    );
    assert!(verify(path, |_, _| {}).unwrap().is_sound());
    let walked = program(room, &["verify"], &minute(slots * 720))
        .output()
        .unwrap();
    assert_eq!(walked.status.code(), Some(0), "{walked:?}");
    let mut kinds: BTreeMap<&str, u64> = BTreeMap::new();
    for row in rows.iter().skip(at_first) {
        *kinds.entry(row.kind.as_str()).or_default() += 1;
    }
    println!(
        "{people} people x {each}: {} entries kept ({kinds:?}), each of {slots} doses given once; \
         of the other tries {seen} saw it given and {changed} were told so after their yes; \
         {busy} times one waited in vain and tried again; {lasted:?}; a note or a weighing took \
         {:?} in the middle, {:?} at the longest",
        kept.len(),
        took[took.len() / 2],
        took[took.len() - 1]
    );
    course_is_as_given(room, slots);
}

/// Every slot has one record, and the course says that nothing was given too soon or besides.
fn course_is_as_given(room: &Room, slots: u64) {
    let now = minute((slots - 1) * 720 + 5);
    let words = ["check", "Thimblo", "--format", "json"];
    let output = program(room, &words, &now).output().unwrap();
    let said: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let course = &said["courses"][0];
    let doses = course["doses"].as_array().unwrap();
    let given = doses.iter().filter(|dose| dose["state"] == "given").count();
    assert_eq!(u64::try_from(given).unwrap(), slots, "{course:#}");
    let adherence = &course["adherence"];
    assert_eq!(adherence["in_window"], slots, "{adherence}");
    for other in ["extra", "too_soon", "late", "unsure"] {
        assert_eq!(adherence[other], 0, "{adherence}");
    }
}
