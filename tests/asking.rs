//! `scruple enter` without a file, over a pipe: every question answered rightly, wrongly, taken
//! back, broken off. Nothing is kept before the last yes.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]
#![allow(dead_code, reason = "the bench serves other tests too")]

#[path = "demo/bench.rs"]
mod bench;
#[path = "asking/label.rs"]
mod label;
mod readers;
#[path = "asking/slips.rs"]
mod slips;

use bench::Bench;
use label::Answer;
use readers::notation::notation_faults;
use scruple::prescription::Prescription;
use std::sync::OnceLock;

/// A room without anything but the animals of the samples. It is built once and copied.
fn bare_room(name: &str) -> Bench {
    static BUILT: OnceLock<Vec<u8>> = OnceLock::new();
    let bench = Bench::new(name);
    std::fs::create_dir_all(bench.folder()).unwrap();
    let built = BUILT.get_or_init(|| {
        let begun = [
            "begin",
            "--zone",
            "UTC",
            "--scale",
            "0.1 g",
            "--demonstration",
        ];
        assert_eq!(bench.run(&begun, "").code, 0);
        for animal in ["Thimblo", "Nubbet", "Gravelback", "Quillip", "Ottermole"] {
            let add = [
                "animal",
                "add",
                animal,
                "--species",
                "invented",
                "--id",
                "a tub",
            ];
            assert_eq!(bench.run(&add, "").code, 0);
        }
        book(&bench)
    });
    std::fs::write(bench.path("room.scruple"), built).unwrap();
    bench
}

fn samples() -> Vec<(String, Prescription)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/schedules");
    let mut samples: Vec<(String, Prescription)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            let text = std::fs::read_to_string(&path).unwrap();
            // The room has prescriptions of these references already.
            let text = text.replace("\"DEMO-0", "\"ASKED-0");
            (name, Prescription::read(&text, "sample").unwrap())
        })
        .collect();
    samples.sort_by(|(a, _), (b, _)| a.cmp(b));
    samples
}

fn sample(name: &str) -> Prescription {
    let found = samples().into_iter().find(|(sample, _)| sample == name);
    found.unwrap().1
}

fn answers(p: &Prescription) -> Vec<Answer> {
    label::of(p, &label::start(p.start))
}

fn typed(answers: &[Answer], after: &[&str]) -> String {
    let mut lines: Vec<&str> = answers.iter().map(|answer| answer.text.as_str()).collect();
    lines.extend(after);
    lines.join("\n") + "\n"
}

fn book(bench: &Bench) -> Vec<u8> {
    std::fs::read(bench.path("room.scruple")).unwrap()
}

/// What a file says, all of it, but for the start, which is asked for with every prescription.
fn meaning(p: &Prescription) -> Vec<String> {
    let mut lines = p.read_back();
    lines.retain(|line| !line.starts_with("First dose: "));
    lines
}

/// Every field, dose form, route and schedule form of the samples can be answered, and what is
/// saved is a file that means the same.
#[test]
fn every_sample_can_be_answered() {
    for (name, sample) in samples() {
        let bench = bare_room(&format!("asked-{name}"));
        let file = bench.path(&format!("{name}.asked.ron"));
        let answer = bench.run(&["enter"], &typed(&answers(&sample), &["yes", &file]));
        assert_eq!(answer.code, 0, "{name}: {}\n{}", answer.out, answer.err);
        assert!(
            !answer.err.contains("Not accepted"),
            "{name}: {}",
            answer.err
        );
        let saved = std::fs::read_to_string(&file).unwrap();
        let read = Prescription::read(&saved, &file).unwrap();
        assert_eq!(meaning(&read), meaning(&sample), "{name}\n{saved}");
        let again = bench.run(
            &["enter", &file, "--start", "2001-03-06 08:00", "--yes"],
            "",
        );
        assert!(
            again.err.contains("is in the book already"),
            "{name}: {again:?}"
        );
    }
}

/// Every question answered wrongly once, then rightly: nothing wrong is taken, nothing is lost.
#[test]
fn every_question_can_be_answered_wrongly_once() {
    for (name, sample) in samples() {
        let bench = bare_room(&format!("wrong-{name}"));
        let right = answers(&sample);
        let mut lines = String::new();
        for answer in &right {
            // No such number in a list; and nothing that cannot be seen is taken anywhere.
            lines.push_str(if answer.picks { "99\n" } else { "\u{7}?\n" });
            lines.push_str(&answer.text);
            lines.push('\n');
        }
        let file = bench.path("asked.ron");
        lines.push_str(&format!("perhaps\nyes\n{file}\n"));
        let answer = bench.run(&["enter"], &lines);
        assert_eq!(answer.code, 0, "{name}: {}", answer.err);
        let refused = answer.err.matches("Not accepted. ").count();
        assert_eq!(refused, right.len() + 1, "{name}: {}", answer.err);
        assert!(!answer.err.contains('\u{7}'), "{name}");
        let saved = std::fs::read_to_string(&file).unwrap();
        let read = Prescription::read(&saved, &file).unwrap();
        assert_eq!(meaning(&read), meaning(&sample), "{name}");
    }
}

/// `back` at every question, then `same`: the answer before is offered again and kept.
#[test]
fn every_answer_can_be_taken_back() {
    for (name, sample) in samples() {
        let bench = bare_room(&format!("back-{name}"));
        let mut lines = String::from("back\n");
        for answer in &answers(&sample) {
            lines.push_str(&answer.text);
            lines.push_str("\nBACK\n");
            // What was left open is left open again.
            lines.push_str(if answer.text.is_empty() { "" } else { "same" });
            lines.push('\n');
        }
        let file = bench.path("asked.ron");
        // After the last answer everything is read back; going back from there works too.
        lines.push_str(&format!("yes\n{file}\n"));
        let answer = bench.run(&["enter"], &lines);
        assert_eq!(answer.code, 0, "{name}: {}", answer.err);
        assert_eq!(
            answer.err.matches("Not accepted. ").count(),
            1,
            "{name}: {}",
            answer.err
        );
        assert!(answer.err.contains("This is the first question"), "{name}");
        let saved = std::fs::read_to_string(&file).unwrap();
        let read = Prescription::read(&saved, &file).unwrap();
        assert_eq!(meaning(&read), meaning(&sample), "{name}");
    }
}

/// The end of input, or `quit`, at any question keeps nothing; so does everything but `yes`.
#[test]
fn breaking_off_anywhere_keeps_nothing() {
    for name in ["every-60-hours", "phases"] {
        let bench = bare_room(&format!("broken-off-{name}"));
        let right = answers(&sample(name));
        let before = book(&bench);
        for asked in 0..=right.len() {
            for last in [&[][..], &["Quit"]] {
                let answer = bench.run(&["enter"], &typed(&right[..asked], last));
                assert_eq!(answer.code, 2, "{name} {asked}: {answer:?}");
                assert!(
                    answer.err.ends_with("Nothing was kept.\n"),
                    "{}",
                    answer.err
                );
                assert_eq!(book(&bench), before, "{name} {asked}");
            }
        }
        // An answer that the input ends in the middle of is no yes either.
        let cut = typed(&right, &["y"]);
        let answer = bench.run(&["enter"], &cut);
        assert_eq!(
            (answer.code, book(&bench) == before),
            (2, true),
            "{}",
            answer.err
        );
    }
}

/// After the last yes it is kept, whatever becomes of the offer to save it.
#[test]
fn the_end_of_input_after_the_last_yes_loses_nothing() {
    for last in [
        &["yes"][..],
        &["yes", "quit"],
        &["yes", ""],
        &["YES", "no-such-folder/a.ron"],
    ] {
        let bench = bare_room("after-the-last-yes");
        let answer = bench.run(
            &["enter"],
            &typed(&answers(&sample("every-60-hours")), last),
        );
        assert_eq!(answer.code, 0, "{last:?}: {}", answer.err);
        assert!(
            answer
                .out
                .contains("Kept: ASKED-0001, for Thimblo, Nubbet.")
        );
    }
}

/// A file that is there is not written over, and the answers are not lost by it.
#[test]
fn saving_never_writes_over_a_file() {
    let bench = bare_room("asked-over");
    let (taken, free) = (bench.write("taken.ron", "mine"), bench.path("free.ron"));
    let lines = typed(&answers(&sample("once")), &["yes", &taken, &free]);
    let answer = bench.run(&["enter"], &lines);
    assert_eq!(answer.code, 0, "{}", answer.err);
    // The folder's length decides where the line breaks.
    let flat = answer.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("is there already"), "{flat}");
    assert_eq!(bench.read("taken.ron"), "mine");
    assert!(bench.read("free.ron").starts_with("Prescription("));
}

/// Asked or from a file: the book then says the same.
#[test]
fn asking_goes_the_way_of_a_file() {
    let sample = sample("every-60-hours");
    let asked = bare_room("asked-way");
    let file = asked.path("asked.ron");
    let answer = asked.run(&["enter"], &typed(&answers(&sample), &["yes", &file]));
    assert_eq!(answer.code, 0, "{}", answer.err);
    let from_file = bare_room("file-way");
    let start = label::start(sample.start);
    let entered = from_file.run(&["enter", &file, "--start", &start], "yes\n");
    assert_eq!(entered.code, 0, "{entered:?}");
    for command in [
        &["today"][..],
        &["today", "--date", "2001-03-09"],
        &["check"],
    ] {
        // The commands to type next name the book, and that lies in another folder.
        let anywhere = |bench: &Bench| {
            let said = bench.json(command).to_string();
            said.replace(&bench.folder(), "FOLDER")
        };
        assert_eq!(anywhere(&asked), anywhere(&from_file), "{command:?}");
    }
    // The reading back is the same too.
    let read_back = |out: &str| {
        let from = out.find("Prescription ASKED-0001").unwrap();
        let to = out.find("Kept: ").unwrap();
        out[from..to].to_owned()
    };
    assert_eq!(read_back(&answer.out), read_back(&entered.out));
}

/// What is said aloud at the end, worked by hand: 13 x 0.046 is 0.598 mg; divided by 8 it is
/// 0.07475 mL, and the nearest line of 0.005 mL is 0.075 mL.
#[test]
fn everything_is_read_back_in_words_and_figures() {
    let bench = bare_room("aloud");
    let syringe = [
        "syringe",
        "add",
        "0.3/0.005",
        "--for",
        "injection",
        "--needle",
        "fixed",
    ];
    assert_eq!(bench.run(&syringe, "").code, 0);
    assert_eq!(bench.run(&["weigh", "Thimblo", "46 g"], "").code, 0);
    let answer = bench.run(
        &["enter"],
        &typed(&answers(&sample("every-60-hours")), &["yes"]),
    );
    assert_eq!(answer.code, 0, "{}", answer.err);
    let flat = answer.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "the strength is eight milligrams in every millilitre",
        "the dose is thirteen milligrams for every kilogram, each time",
        "it is given every sixty hours, four doses",
        "First doses: Tuesday 6 March 2001 at 08:00; then Thursday 8 March 2001 at 20:00; then Sunday 11 March 2001 at 08:00",
        "For Thimblo at 46 g today, that is 0.598 mg, drawn to 0.075 mL",
        "For Nubbet, no mark. No weight yet: weigh first",
    ] {
        assert!(flat.contains(said), "{said}\n{}", answer.out);
    }
}

/// Promise 1: no question, no example and no choice holds a figure with a unit of dose, nor a
/// number of doses or a length of time.
#[test]
fn no_question_offers_a_dose() {
    for (name, sample) in samples() {
        let bench = bare_room(&format!("offers-{name}"));
        let answer = bench.run(&["enter"], &typed(&answers(&sample), &["quit"]));
        // Only questions and choices are here: what was answered is not shown again.
        let words: Vec<&str> = answer.err.split_whitespace().collect();
        for pair in words.windows(2) {
            let is_figure = pair[0].starts_with(|c: char| c.is_ascii_digit());
            let unit = pair[1].trim_end_matches(|c: char| !c.is_alphanumeric());
            let units = [
                "mg", "mcg", "g", "units", "mL", "tablet", "tablets", "mg/kg", "mcg/kg",
                "units/kg", "mL/kg", "mg/mL", "percent", "doses", "times", "hours", "days",
                "weeks", "drops",
            ];
            assert!(
                !(is_figure && units.contains(&unit)),
                "{name}: '{} {}' is offered\n{}",
                pair[0],
                pair[1],
                answer.err
            );
        }
    }
}

/// 80 columns, no control characters, safe notation, in questions and in the reading back.
#[test]
fn every_line_can_be_read_in_a_narrow_window() {
    for (name, sample) in samples() {
        let bench = bare_room(&format!("narrow-{name}"));
        let right = answers(&sample);
        let mut lines = String::new();
        for answer in &right {
            lines.push_str(&format!("?\n{}\nback\n{}\n", answer.text, answer.text));
        }
        let answer = bench.run(&["enter"], &(lines + "yes\n\n"));
        for text in [&answer.out, &answer.err] {
            assert_eq!(
                notation_faults(text),
                Vec::<String>::new(),
                "{name}\n{text}"
            );
            // On a terminal what is typed ends the line of the prompt.
            let text = text.replace("Answer: ", "Answer:\n");
            for line in text.lines().filter(|line| !line.contains("scruple ")) {
                assert!(line.chars().count() <= 80, "{name}: {line}");
                assert!(!line.contains(char::is_control), "{name}: {line}");
            }
        }
    }
}
