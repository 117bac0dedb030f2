//! An animal room for tests, told as a story: the clock is set, a command is typed as a person
//! types it, and what it says is held to what is expected and to safe notation.
//!
//! Promises: everything goes through `scruple::cli::run` with an in-memory world; nothing is
//! written outside the tests' own folder. A test that wants a room says `mod readers; mod room;`.

#![allow(dead_code, reason = "each test uses what it needs")]
#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

use crate::readers::notation::notation_faults;
use scruple::cli::{World, run};
use serde_json::Value;
use std::ffi::OsString;
use std::path::PathBuf;

/// A room with a book of its own.
pub struct Room {
    folder: PathBuf,
    now: String,
    typed: String,
}

/// What a command answered.
#[derive(Debug)]
pub struct Answer {
    line: String,
    now: String,
    pub code: u8,
    pub out: String,
    pub err: String,
}

impl Room {
    /// A folder without a book.
    pub fn without_a_book(name: &str) -> Room {
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"))
            .join("rooms")
            .join(env!("CARGO_CRATE_NAME"))
            .join(name);
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        Room {
            folder,
            now: "2001-01-01 08:00".to_owned(),
            typed: String::new(),
        }
    }

    /// A demonstration book in a zone, with two syringes: S, 0.3 mL by 0.005 mL with a fixed
    /// needle, and T, 1 mL by 0.01 mL for the mouth.
    pub fn new(name: &str, zone: &str) -> Room {
        let mut room = Room::bare(name, zone);
        room.run("syringe add 0.3/0.005 --for injection --needle fixed")
            .ends(0);
        room.run("syringe add 1/0.01 --for mouth").ends(0);
        room
    }

    /// A demonstration book in a zone, and no syringe.
    pub fn bare(name: &str, zone: &str) -> Room {
        let mut room = Room::without_a_book(name);
        room.run(&format!(
            "begin --zone {zone} --scale \"0.1 g\" --demonstration"
        ))
        .ends(0);
        room
    }

    /// Thimblo of 31 g on 1 March, a bottle, and a course from 08:00; it is 08:00.
    pub fn with_course(name: &str, script: &Script) -> Room {
        let mut room = Room::new(name, "UTC");
        room.at("2001-03-01 07:00")
            .takes_in("Thimblo", "31 g")
            .opens(script.medicine, script.strength)
            .enters(script, "2001-03-01 08:00")
            .at("2001-03-01 08:00");
        room
    }

    /// Sets the clock.
    pub fn at(&mut self, now: &str) -> &mut Room {
        self.now = now.to_owned();
        self
    }

    /// What a person will type when the next command asks.
    pub fn typing(&mut self, typed: &str) -> &mut Room {
        self.typed = typed.to_owned();
        self
    }

    /// Runs a command as it is typed after `scruple`, saying yes to the last question unless
    /// something else is to be typed.
    pub fn run(&mut self, line: &str) -> Answer {
        let yes = if self.typed.is_empty() { " --yes" } else { "" };
        let words = words(format!("{line}{yes}").trim());
        let typed = std::mem::take(&mut self.typed);
        let book = self.path("room.scruple");
        let words = [words, words_of(&["--book", &book, "--now", &self.now])].concat();
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let world = World {
            now: "2100-01-01T00:00:00Z".parse().unwrap(),
            local_zone: Some("UTC".to_owned()),
            book_from_environment: None,
            data_directory: None,
            interactive: false,
            colour: false,
            input: &mut typed.as_bytes(),
            out: &mut out,
            err: &mut err,
        };
        let typed_words = std::iter::once("scruple".to_owned()).chain(words);
        let code = run(typed_words.map(OsString::from), world);
        let text = |bytes| String::from_utf8(bytes).unwrap();
        let answer = Answer {
            line: line.to_owned(),
            now: self.now.clone(),
            code,
            out: text(out),
            err: text(err),
        };
        answer.is_safe();
        answer
    }

    /// The answer of a reading command, for programs.
    pub fn json(&mut self, line: &str) -> Value {
        let answer = self.run(&format!("{line} --format json"));
        assert!(answer.code <= 1, "{answer}");
        serde_json::from_str(&answer.out).unwrap()
    }

    /// The dose of an animal on today's card, for programs.
    pub fn dose_of(&mut self, animal: &str) -> Value {
        let card = self.json("today");
        let doses = card["doses"].as_array().unwrap();
        let found = doses.iter().find(|dose| dose["animal"] == animal);
        found.unwrap_or(&Value::Null).clone()
    }

    /// The verdict on an animal's first course, for programs.
    pub fn course_of(&mut self, animal: &str) -> Value {
        self.json(&format!("check {animal}"))["courses"][0].clone()
    }

    /// The book's bytes.
    pub fn book(&self) -> Vec<u8> {
        std::fs::read(self.path("room.scruple")).unwrap()
    }

    pub fn path(&self, file: &str) -> String {
        self.folder.join(file).display().to_string()
    }

    /// Writes a file into the folder and gives its path.
    pub fn write(&self, file: &str, bytes: impl AsRef<[u8]>) -> String {
        std::fs::write(self.folder.join(file), bytes).unwrap();
        self.path(file)
    }

    /// Takes an animal in and weighs it.
    pub fn takes_in(&mut self, name: &str, weight: &str) -> &mut Room {
        self.run(&format!(
            "animal add {name} --species \"invented gecko\" --id \"tub of {name}\""
        ))
        .ends(0);
        self.run(&format!("weigh {name} \"{weight}\" --by AK"))
            .ends(0);
        self
    }

    /// Opens a bottle.
    pub fn opens(&mut self, medicine: &str, reads: &str) -> &mut Room {
        self.run(&format!(
            "bottle open \"{medicine}\" --reads \"{reads}\" --expiry 2099-12"
        ))
        .ends(0);
        self
    }

    /// Writes a prescription and enters it.
    pub fn enters(&mut self, script: &Script, start: &str) -> &mut Room {
        let path = self.write(&format!("{}.ron", script.reference), script.text());
        self.run(&format!("enter {path} --start \"{start}\""))
            .ends(0);
        self
    }
}

impl Answer {
    /// The exit code.
    #[track_caller]
    pub fn ends(&self, code: u8) -> &Answer {
        assert_eq!(self.code, code, "{self}");
        self
    }

    /// It says this, on either stream; lines may be broken anywhere between words.
    #[track_caller]
    pub fn says(&self, phrase: &str) -> &Answer {
        assert!(
            self.unbroken().contains(phrase),
            "not said: {phrase}\n{self}"
        );
        self
    }

    /// It does not say this.
    #[track_caller]
    pub fn is_silent_about(&self, phrase: &str) -> &Answer {
        assert!(!self.unbroken().contains(phrase), "said: {phrase}\n{self}");
        self
    }

    /// The number of the entry that was recorded.
    #[track_caller]
    pub fn entry(&self) -> u64 {
        let (_, after) = self.out.split_once("ecorded as entry ").unwrap_or_default();
        let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
        digits
            .parse()
            .unwrap_or_else(|_| panic!("nothing was recorded\n{self}"))
    }

    fn unbroken(&self) -> String {
        let both = format!("{}\n{}", self.out, self.err);
        both.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Nothing that a person sees can be misread. JSON is for machines, and a book code is no
    /// figure with a unit, whatever its letters.
    #[track_caller]
    fn is_safe(&self) {
        if self.out.starts_with('{') {
            return;
        }
        let both = format!("{}\n{}", self.out, self.err);
        let code = |line: &str| match line.split_once("book code ") {
            Some((before, _)) => before.to_owned(),
            None => line.to_owned(),
        };
        let faults = notation_faults(&both.lines().map(code).collect::<Vec<_>>().join("\n"));
        assert_eq!(faults, Vec::<String>::new(), "{self}");
    }
}

impl std::fmt::Display for Answer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "[{}] scruple {}\n{}{}(exit code {})",
            self.now, self.line, self.out, self.err, self.code
        )
    }
}

/// An invented prescription.
pub struct Script {
    pub reference: &'static str,
    pub animals: &'static [&'static str],
    pub medicine: &'static str,
    pub strength: &'static str,
    pub dose: &'static str,
    /// By mouth, or by injection with two sites.
    pub by_mouth: bool,
    pub schedule: &'static str,
    pub after_late: &'static str,
    pub written: &'static str,
    /// Further fields, each with its comma.
    pub more: &'static str,
}

impl Script {
    /// 20 mg/kg of an invented injection of 8 mg/mL.
    pub const fn new(
        reference: &'static str,
        animals: &'static [&'static str],
        schedule: &'static str,
    ) -> Script {
        Script {
            reference,
            animals,
            medicine: "Madeup Amber",
            strength: "8 mg/mL",
            dose: "20 mg/kg",
            by_mouth: false,
            schedule,
            after_late: "KeepCalendar",
            written: "2001-01-01",
            more: "",
        }
    }

    /// Every 12 hours, so a window of 1 h 30 min each way. 31 g: 0.62 mg, 0.0775 mL, a tie on S:
    /// 0.075 mL.
    pub const fn twice_a_day() -> Script {
        Script::new(
            "DEMO-0001",
            &["Thimblo"],
            r#"Every(interval: "12 hours", doses: 6)"#,
        )
    }

    /// The file.
    pub fn text(&self) -> String {
        let route = if self.by_mouth {
            "route: ByMouth,"
        } else {
            "route: Injection(\"under the skin\"), sites: [Site(\"A\", \"left\"), Site(\"B\", \"right\")],"
        };
        format!(
            r#"// Invented: no such medicine, vet or animal exists.
Prescription(
    demonstration: true,
    reference: "{}", written: "{}",
    vet: Vet(name: "Dr A. Example", phone: "555 0134 (not a number)"),
    animals: {:?},
    medicine: Medicine(name: "{}", strength: "{}"),
    dose: PerBodyWeight("{}"), {route}
    schedule: {}, after_late: {},
    {}
)
"#,
            self.reference,
            self.written,
            self.animals,
            self.medicine,
            self.strength,
            self.dose,
            self.schedule,
            self.after_late,
            self.more
        )
    }
}

fn words_of(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

/// A line as a shell takes it apart: double quotes hold words together.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words
}
