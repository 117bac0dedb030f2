//! The letters of `scruple round`: what each records, every one of them in every state of the
//! demonstration, and somebody else recording meanwhile.

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
        .says("1 dose now. What you record is taken to have happened at 08:00, the time you named, unless you say otherwise.")
        .says("DRAW TO 0.075 mL")
        .says("given Thu 1 March 08:00, 0.075 mL, site A, left side.")
        .says("Recorded: 1 dose. Left: 0 doses.")
        .is_silent_about("Record this?");
    let mut typed = lived_in("typed");
    typed.run("give Thimblo DEMO-0001 --dose 1 --by AK").ends(0);
    assert_eq!(courses(&mut walked), courses(&mut typed));
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
        .says("Not accepted. Nothing was kept.")
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
        .says("Not accepted. '' is none of g, o, p, b, r, x, v, u, w, n, q.")
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
    let room = Bench::with_demo("letters-all");
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
    assert!(err.contains("so nothing was recorded"), "{err}");
    assert!(
        out.contains("somebody has answered for it meanwhile"),
        "{out}"
    );
    let course = room.course_of("Thimblo");
    assert_eq!(course["adherence"]["in_window"], 1);
    assert_eq!(course["adherence"]["extra"], 0);
}
