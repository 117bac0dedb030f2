//! The questions and the walk in a real terminal: answered to the end while the window changes its
//! size, and interrupted at every question. The terminal is the operating system's; no code of the
//! program stands between.

#![cfg(unix)]
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]
#![allow(dead_code, reason = "the bench and the label serve other tests too")]

#[path = "demo/bench.rs"]
mod bench;
#[path = "asking/label.rs"]
mod label;

use bench::{Bench, NOW};
use ptyprocess::{PtyProcess, Signal, WaitStatus};
use scruple::prescription::Prescription;
use std::fs::File;
use std::io::{Read, Write};
use std::process::Command;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// The program in a terminal of 80 columns.
struct Terminal {
    process: PtyProcess,
    keys: File,
    screen: Receiver<Vec<u8>>,
    /// Everything shown so far, as it was shown.
    shown: String,
    /// How much of it has been waited for.
    seen: usize,
}

impl Terminal {
    fn start(bench: &Bench, words: &[&str]) -> Terminal {
        let mut command = Command::new(env!("CARGO_BIN_EXE_scruple"));
        let book = bench.path("room.scruple");
        command.args(words).args(["--book", &book, "--now", NOW]);
        let process = PtyProcess::spawn(command).unwrap();
        let keys = process.get_raw_handle().unwrap();
        let mut output = process.get_raw_handle().unwrap();
        let (send, screen) = channel();
        std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            // The end of a terminal is an error on some systems.
            while let Ok(read @ 1..) = output.read(&mut buffer) {
                if send.send(buffer[..read].to_vec()).is_err() {
                    break;
                }
            }
        });
        Terminal {
            process,
            keys,
            screen,
            shown: String::new(),
            seen: 0,
        }
    }

    /// Waits until it shows this, after all that was waited for before.
    fn waits_for(&mut self, phrase: &str) {
        let until = Instant::now() + Duration::from_secs(30);
        loop {
            if let Some(at) = self.shown[self.seen..].find(phrase) {
                self.seen += at + phrase.len();
                return;
            }
            let left = until.saturating_duration_since(Instant::now());
            match self.screen.recv_timeout(left) {
                Ok(bytes) => self.shown.push_str(&String::from_utf8_lossy(&bytes)),
                Err(_) => panic!("it never showed '{phrase}':\n{}", self.shown),
            }
        }
    }

    fn types(&mut self, line: &str) {
        self.keys.write_all(line.as_bytes()).unwrap();
        self.keys.write_all(b"\n").unwrap();
    }

    /// Presses one key that the terminal itself understands.
    fn presses(&mut self, key: u8) {
        self.keys.write_all(&[key]).unwrap();
    }

    fn ends(&mut self) -> WaitStatus {
        let status = self.process.wait().unwrap();
        while let Ok(bytes) = self.screen.recv_timeout(Duration::from_millis(200)) {
            self.shown.push_str(&String::from_utf8_lossy(&bytes));
        }
        status
    }
}

fn answers() -> Vec<String> {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/schedules/every-60-hours.ron");
    let text = std::fs::read_to_string(file)
        .unwrap()
        .replace("DEMO-0001", "ASKED-0001");
    let sample = Prescription::read(&text, "sample").unwrap();
    let answers = label::of(&sample, "2001-03-09 08:00");
    answers.into_iter().map(|answer| answer.text).collect()
}

fn book(bench: &Bench) -> Vec<u8> {
    std::fs::read(bench.path("room.scruple")).unwrap()
}

const INTERRUPT: u8 = 0x03;
const END_OF_INPUT: u8 = 0x04;

/// Ctrl-C and Ctrl-D at every question: nothing is kept, and no journal is left behind.
#[test]
fn an_interruption_at_any_question_keeps_nothing() {
    let bench = Bench::with_demo("terminal-interrupted");
    let before = book(&bench);
    let answers = answers();
    for key in [INTERRUPT, END_OF_INPUT] {
        for upto in 0..=answers.len() {
            let mut terminal = Terminal::start(&bench, &["enter"]);
            for answer in &answers[..upto] {
                terminal.waits_for("Answer:");
                terminal.types(answer);
            }
            terminal.waits_for("Answer:");
            terminal.presses(key);
            match (key, terminal.ends()) {
                (INTERRUPT, WaitStatus::Signaled(_, Signal::SIGINT, _)) => {}
                (END_OF_INPUT, WaitStatus::Exited(_, 2)) => {
                    assert!(
                        terminal.shown.contains("Nothing was kept."),
                        "{}",
                        terminal.shown
                    );
                }
                (_, status) => panic!("{upto}: {status:?}\n{}", terminal.shown),
            }
            assert_eq!(book(&bench), before, "{upto}");
        }
    }
    let left: Vec<_> = std::fs::read_dir(bench.folder()).unwrap().collect();
    let names = left.into_iter().map(|entry| entry.unwrap().file_name());
    let journals = names.filter(|name| name.to_string_lossy().ends_with("-journal"));
    assert_eq!(journals.count(), 0);
}

/// Answered to the end while the window is made small and large; no cursor is ever moved.
#[test]
fn a_window_that_changes_its_size_changes_nothing() {
    let bench = Bench::with_demo("terminal-resized");
    let mut terminal = Terminal::start(&bench, &["enter"]);
    let sizes = [(40, 10), (132, 50), (80, 24), (20, 5)];
    for (answer, size) in answers().iter().zip(sizes.iter().cycle()) {
        terminal.waits_for("Answer:");
        terminal.process.set_window_size(size.0, size.1).unwrap();
        terminal.types(answer);
    }
    terminal.waits_for("shall it be kept?");
    terminal.waits_for("Answer:");
    terminal.types("yes");
    terminal.waits_for("Kept: ASKED-0001, for Thimblo, Nubbet.");
    terminal.waits_for("Answer:");
    terminal.types("");
    let status = terminal.ends();
    assert!(
        matches!(status, WaitStatus::Exited(_, 0)),
        "{status:?}\n{}",
        terminal.shown
    );
    let steers = |c: char| c.is_control() && !matches!(c, '\r' | '\n');
    assert!(!terminal.shown.contains(steers), "{:?}", terminal.shown);
    let list = bench.run(&["check", "ASKED-0001"], "");
    assert!(list.out.contains("ASKED-0001"), "{list:?}");
}

/// Broken off with Ctrl-C in the middle of a walk: what was acknowledged is in the book.
#[test]
fn a_walk_that_is_interrupted_keeps_what_it_said_was_recorded() {
    let bench = Bench::with_demo("terminal-walk");
    let mut terminal = Terminal::start(&bench, &["round", "--by", "AK"]);
    terminal.waits_for("Thimblo (tub 4");
    terminal.waits_for("Type one letter:");
    terminal.types("g");
    terminal.waits_for("Recorded as entry");
    terminal.waits_for("Type one letter:");
    terminal.presses(INTERRUPT);
    let status = terminal.ends();
    assert!(
        matches!(status, WaitStatus::Signaled(_, Signal::SIGINT, _)),
        "{status:?}"
    );
    let answered = bench.json(&["today"])["answered"].clone();
    assert_eq!(answered.as_array().unwrap().len(), 1, "{answered}");
    assert_eq!(answered[0]["animal"], "Thimblo");
}
