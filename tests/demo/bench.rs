//! A bench to run commands on: a folder of its own, an in-memory world, a fixed clock.

use scruple::cli::{World, run};
use std::ffi::OsString;
use std::path::PathBuf;

/// The moment that the demonstration of these tests is built around: a Thursday evening.
pub const NOW: &str = "2001-03-08 19:30";

/// What a command answered.
#[derive(Debug)]
pub struct Answer {
    pub code: u8,
    pub out: String,
    pub err: String,
}

/// A folder with, perhaps, a room in it.
pub struct Bench {
    folder: PathBuf,
}

impl Bench {
    /// An empty folder.
    pub fn new(name: &str) -> Bench {
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"))
            .join("demo")
            .join(name);
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(folder.parent().unwrap()).unwrap();
        Bench { folder }
    }

    /// A folder with the demonstration room.
    pub fn with_demo(name: &str) -> Bench {
        let bench = Bench::new(name);
        let built = bench.bare(&["demo", &bench.folder(), "--now", NOW], "");
        assert_eq!(built.code, 0, "{built:?}");
        bench
    }

    pub fn folder(&self) -> String {
        self.folder.display().to_string()
    }

    pub fn path(&self, file: &str) -> String {
        self.folder.join(file).display().to_string()
    }

    pub fn read(&self, file: &str) -> String {
        std::fs::read_to_string(self.folder.join(file)).unwrap()
    }

    /// Writes a file into the folder and gives its path.
    pub fn write(&self, file: &str, text: &str) -> String {
        std::fs::write(self.folder.join(file), text).unwrap();
        self.path(file)
    }

    /// Runs a command in the room at [`NOW`].
    pub fn run(&self, command: &[&str], typed: &str) -> Answer {
        self.run_at(command, typed, NOW)
    }

    /// Runs a command in the room at a time.
    pub fn run_at(&self, command: &[&str], typed: &str, now: &str) -> Answer {
        let book = self.path("room.scruple");
        let folder = self.folder();
        let mut words = command.to_vec();
        if command == ["demo"] {
            words.push(&folder);
        }
        words.extend(["--book", &book, "--now", now]);
        self.bare(&words, typed)
    }

    /// Runs exactly these words.
    pub fn bare(&self, words: &[&str], typed: &str) -> Answer {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let world = World {
            now: "2001-03-08T19:30:00Z".parse().unwrap(),
            local_zone: Some("UTC".to_owned()),
            book_from_environment: None,
            data_directory: None,
            interactive: false,
            colour: false,
            input: &mut typed.as_bytes(),
            out: &mut out,
            err: &mut err,
        };
        let words = std::iter::once("scruple")
            .chain(words.iter().copied())
            .map(OsString::from);
        let code = run(words, world);
        let text = |bytes| String::from_utf8(bytes).unwrap();
        Answer {
            code,
            out: text(out),
            err: text(err),
        }
    }

    pub fn json(&self, command: &[&str]) -> serde_json::Value {
        self.json_at(command, NOW)
    }

    pub fn json_at(&self, command: &[&str], now: &str) -> serde_json::Value {
        let words = [command, &["--format", "json"]].concat();
        let answer = self.run_at(&words, "", now);
        assert!(answer.code <= 1, "{answer:?}");
        serde_json::from_str(&answer.out).unwrap()
    }
}

/// A line as a shell takes it apart: double quotes hold words together.
pub fn shell_words(line: &str) -> Vec<String> {
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
