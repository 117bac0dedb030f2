//! `scruple round` at the keyboard, over a pipe: every key, every state of the demonstration,
//! broken off at every line, and somebody else recording meanwhile.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]
#![allow(dead_code, reason = "the bench and the room serve other tests too")]

#[path = "demo/bench.rs"]
mod bench;
mod readers;
mod room;

use bench::Bench;
use readers::notation::notation_faults;
use room::{Room, Script};
use scruple::cli::{World, run};
use std::ffi::OsString;
use std::io::{BufRead, Read};

fn lived_in(name: &str) -> Room {
    Room::with_course(name, &Script::twice_a_day())
}

/// What the room says of its courses, without the numbers of entries.
fn courses(room: &mut Room) -> String {
    let check = room.run("check --format json");
    check.out
}

/// One letter for a dose as the card says, and it is as if the command had been typed.
#[test]
fn one_letter_is_enough_for_a_dose_as_on_the_card() {
    let mut walked = lived_in("walked");
    walked
        .typing("g\n")
        .run("round --by AK")
        .ends(0)
        .says("1 dose now. What you record is taken to have happened at 08:00")
        .says("DRAW TO 0.075 mL")
        .says("given Thu 1 March 08:00, 0.075 mL, site A, left side.")
        .says("Recorded: 1 dose. Left: 0 doses.")
        .is_silent_about("Record this?");
    let mut typed = lived_in("typed");
    typed.run("give Thimblo DEMO-0001 --dose 1 --by AK").ends(0);
    assert_eq!(courses(&mut walked), courses(&mut typed));
}

#[test]
fn weighing_on_the_way_moves_the_mark_at_once() {
    let mut room = lived_in("weighed");
    // 30 g: 0.6 mg, 0.075 mL still; 33 g: 0.66 mg, 0.0825 mL, a tie: 0.08 mL.
    let answer = room.typing("w\n33 g\ng\n").run("round");
    answer.ends(0).says("Thimblo: 33 g, Thu 1 March 08:00.");
    let (before, after) = answer.out.split_once("Thimblo: 33 g").unwrap();
    assert!(before.contains("DRAW TO   0.075 mL"), "{before}");
    assert!(after.contains("DRAW TO   0.08 mL"), "{after}");
    assert!(after.contains("0.08 mL, site A, left side."), "{after}");
    // A likely slip is typed again; otherwise nothing is kept and the dose stays in hand.
    let mut room = lived_in("slipped");
    room.typing("w\n330 g\n33 g\ng\n")
        .run("round")
        .ends(0)
        .says("Not taken. The weight was not typed the same again")
        .says("0.075 mL, site A, left side.");
    let mut room = lived_in("unit");
    room.typing("w\n33\nq\n")
        .run("round")
        .ends(0)
        .says("'33' has no unit");
}

#[test]
fn every_outcome_has_its_letter() {
    for (keys, said) in [
        (
            "o\n\n0.07 mL\n\n\n\nyes\n",
            "given Thu 1 March 08:00, 0.07 mL",
        ),
        (
            "o\n07:40\n\n\n\n\nyes\n",
            "given Thu 1 March 07:40, 0.075 mL",
        ),
        ("o\n\n\n\n\nB, right\nyes\n", "0.075 mL, site B, right side"),
        (
            "p\n\n0.04 mL\nyes\n",
            "partly given Thu 1 March 08:00, 0.04 mL",
        ),
        ("b\n\n\nyes\n", "brought up Thu 1 March 08:00"),
        ("r\n", "refused by the animal"),
        ("x\n", "missed"),
        ("v\n", "withheld"),
        ("u\n\nyes\n", "unsure"),
        ("G\n", "given Thu 1 March 08:00"),
    ] {
        let mut room = lived_in(&format!("outcome-{}", keys.len()));
        room.typing(keys)
            .run("round")
            .ends(0)
            .says(said)
            .says("Recorded as entry")
            .says("Recorded: 1 dose. Left: 0 doses.");
    }
}

/// What is out of the ordinary is asked about, and a "no" keeps nothing.
#[test]
fn what_speaks_against_a_dose_is_asked_about() {
    // The bottle in hand reads otherwise: whoever gave from it all the same is told to call.
    let mut room = lived_in("asked-about");
    room.run("bottle discard 1").ends(0);
    room.opens("Madeup Amber", "10 mg/mL");
    let before = room.book();
    room.typing("g\nno\nq\n")
        .run("round")
        .ends(0)
        .says("NO MARK Draw nothing from bottle 2")
        .says("If it has not happened yet, do not give it: type no and call")
        .says("Not taken. Nothing was kept.")
        .says("Recorded: 0 doses. Left: 1 dose.");
    assert_eq!(room.book(), before);
    room.typing("g\nyes\n")
        .run("round")
        .ends(0)
        .says("CALL YOUR VET NOW");

    let mut room = lived_in("call-first");
    room.at("2001-03-01 08:30")
        .run("weigh Thimblo \"27 g\"")
        .ends(0);
    room.typing("g\nyes\n")
        .run("round")
        .ends(0)
        .says("CALL Call 555 0134 (not a number) first.")
        .says("Record this?");
}

/// A dose that is not open is nothing to go through.
#[test]
fn what_is_not_open_is_only_named() {
    let mut room = lived_in("not-open");
    room.typing("g\n")
        .run("round")
        .ends(0)
        .says("Later today: Thimblo, DEMO-0001, dose 2: due 20:00, from 18:30 until 21:30");
    room.at("2001-03-01 15:00")
        .typing("g\nyes\n")
        .run("round")
        .ends(0)
        .says("No dose waits now. Later today: Thimblo, DEMO-0001, dose 2")
        .is_silent_about("Recorded");
}

#[test]
fn what_is_no_key_is_said_and_asked_again() {
    let mut room = lived_in("keys");
    room.typing("\nz\ngg\nback\nn\n")
        .run("round")
        .ends(0)
        .says("Not taken. '' is none of g, o, p, b, r, x, v, u, w, n, q.")
        .says("'gg' is none of")
        .says("can be mended with 'scruple correct'")
        .says("Recorded: 0 doses. Left: 1 dose.")
        .says("To go on from there: scruple round --book");
}

#[test]
fn where_nothing_waits_it_says_so() {
    let mut room = lived_in("nothing");
    room.at("2001-03-20 08:00")
        .run("end Thimblo --how died")
        .ends(0);
    room.typing("g\n")
        .run("round")
        .ends(0)
        .says("No dose waits now.");
}

/// Every letter at every dose of the demonstration: open, late, an old weight, a wrong bottle, too
/// small, a loss that means call. Whatever is typed, it ends well and prints safely.
#[test]
fn every_letter_in_every_state_of_the_demonstration() {
    let room = Bench::with_demo("walk-all");
    let built = std::fs::read(room.path("room.scruple")).unwrap();
    let letters = [
        "g",
        "o\n\n\n\n\n",
        "p\n\n",
        "b\n\n",
        "r",
        "x",
        "v",
        "u\n",
        "n",
        "q",
    ];
    for letter in letters {
        std::fs::write(room.path("room.scruple"), &built).unwrap();
        // Yes to whatever is asked; a letter where a yes stood over is no key and does no harm.
        let keys = format!("{letter}\nyes\n").repeat(6) + &"n\n".repeat(20);
        let answer = room.run(&["round", "--by", "AK"], &keys);
        assert_eq!(answer.code, 0, "{letter}: {answer:?}");
        for text in [&answer.out, &answer.err] {
            assert_eq!(
                notation_faults(text),
                Vec::<String>::new(),
                "{letter}\n{text}"
            );
        }
        let recorded = answer.out.matches("Recorded as entry").count();
        let counted = if recorded == 1 {
            "1 dose".to_owned()
        } else {
            format!("{recorded} doses")
        };
        assert!(
            answer.out.contains(&format!("Recorded: {counted}.")),
            "{}",
            answer.out
        );
        assert!(room.run(&["check"], "").code <= 1, "{letter}");
    }
}

/// Broken off after every line: what was acknowledged is there, nothing else is, and the next walk
/// goes on from there.
#[test]
fn breaking_off_anywhere_loses_nothing() {
    let room = Bench::with_demo("walk-broken");
    let built = std::fs::read(room.path("room.scruple")).unwrap();
    let lines = [
        "g", "n", "w", "240 g", "g", "o", "", "", "", "", "yes", "x", "r", "u", "", "yes",
    ];
    for upto in 0..=lines.len() {
        std::fs::write(room.path("room.scruple"), &built).unwrap();
        let keys: String = lines[..upto]
            .iter()
            .map(|line| format!("{line}\n"))
            .collect();
        let answer = room.run(&["round"], &keys);
        assert_eq!(answer.code, 0, "{upto}: {answer:?}");
        let (_, recorded) = answer.out.rsplit_once("\nRecorded: ").unwrap();
        let recorded: usize = recorded.split(' ').next().unwrap().parse().unwrap();
        let answered = room.json(&["today"])["answered"].as_array().unwrap().len();
        // A refusal leaves its dose open, and is no answer before the window closes.
        let refused = answer.out.matches(": refused by the animal").count();
        assert_eq!(answered + refused, recorded, "{upto}: {}", answer.out);
        let again = room.run(&["round"], "");
        assert!(
            again.out.contains(&format!("{} doses now", 6 - answered)),
            "{upto}: {}",
            again.out
        );
    }
}

/// A keyboard at which, before the first key, somebody else gives the dose.
struct Meanwhile<'a> {
    typed: &'a [u8],
    meanwhile: Option<Box<dyn FnOnce() + 'a>>,
}

impl Read for Meanwhile<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        self.typed.read(into)
    }
}

impl BufRead for Meanwhile<'_> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        if let Some(meanwhile) = self.meanwhile.take() {
            meanwhile();
        }
        self.typed.fill_buf()
    }

    fn consume(&mut self, read: usize) {
        self.typed.consume(read);
    }
}

#[test]
fn a_dose_given_by_somebody_else_meanwhile_is_not_given_again() {
    let mut room = lived_in("meanwhile");
    room.at("2001-03-01 08:10");
    let book = room.path("room.scruple");
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = {
        let mut input = Meanwhile {
            typed: b"g\n",
            meanwhile: Some(Box::new(|| {
                room.run("give Thimblo DEMO-0001 --by BB").ends(0);
            })),
        };
        let world = World {
            now: "2001-03-01T08:10:00Z".parse().unwrap(),
            local_zone: None,
            book_from_environment: None,
            data_directory: None,
            interactive: true,
            colour: false,
            input: &mut input,
            out: &mut out,
            err: &mut err,
        };
        let words = [
            "scruple",
            "round",
            "--book",
            &book,
            "--now",
            "2001-03-01 08:10",
        ];
        run(words.map(OsString::from), world)
    };
    let (out, err) = (
        String::from_utf8(out).unwrap(),
        String::from_utf8(err).unwrap(),
    );
    assert_eq!(code, 0, "{out}{err}");
    assert!(
        err.contains("The book has changed since this was shown, so nothing was"),
        "{err}"
    );
    assert!(
        out.contains("somebody has answered for it meanwhile"),
        "{out}"
    );
    let course = room.course_of("Thimblo");
    assert_eq!(course["adherence"]["in_window"], 1);
    assert_eq!(course["adherence"]["extra"], 0);
}

/// Two animals with names alike are pointed out on the card and on the walk.
#[test]
fn names_alike_are_pointed_out_where_the_animal_is_in_hand() {
    let mut room = lived_in("alike");
    room.typing("Thimbol\n")
        .run("animal add Thimbol --species newt --id \"jar 3\"")
        .ends(0)
        .says("Thimbol is named much like Thimblo");
    let said =
        "This is Thimblo. Named much like it: Thimbol (jar 3). Look which animal is in your hand.";
    room.run("today").says(said);
    room.typing("q\n").run("round").says(said);
    assert_eq!(room.dose_of("Thimblo")["named_alike"][0], "Thimbol");
    room.run("end Thimbol --how rehomed").ends(0);
    room.run("today").is_silent_about("Named much like it");
}

/// An unambiguous beginning, case and accents are enough; near misses are offered, never taken.
#[test]
fn names_are_forgiven_but_never_guessed() {
    let mut room = lived_in("names");
    room.run("animal add Séraphin --species newt --id \"jar 1\"")
        .ends(0);
    for typed in ["THIMBLO", "thim", "\" Thimblo \"", "Thímblo", "T"] {
        room.run(&format!("weigh {typed} \"31 g\""))
            .ends(0)
            .says("Thimblo: 31 g");
    }
    room.run("weigh seraphin \"20 g\"")
        .ends(0)
        .says("Séraphin: 20 g");
    room.run("weigh Thimblow \"31 g\"")
        .ends(2)
        .says("did you mean Thimblo?");
    room.run("weigh Zebra \"31 g\"")
        .ends(2)
        .says("No animal named 'Zebra'");
    room.typing("Thimbol\n")
        .run("animal add Thimbol --species newt --id \"jar 3\"")
        .ends(0);
    room.run("weigh Thim \"31 g\"")
        .ends(2)
        .says("'Thim' could be Thimblo or Thimbol");
    room.run("weigh Thimblo \"31 g\"").ends(0);
    room.run("give thimblo 1")
        .ends(0)
        .says("Thimblo, Madeup Amber (DEMO-0001");
}
