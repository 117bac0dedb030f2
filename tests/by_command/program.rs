//! The program as it is started from a shell, and what the proofs share.

use crate::room::{Room, Script};
use std::process::{Command, Stdio};

/// The program with these words, on the room's book, at a time; it finds nothing to read and no
/// environment.
pub fn program(room: &Room, words: &[&str], now: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_scruple"));
    command
        .args(words)
        .args(["--book", &room.path("room.scruple"), "--now", now])
        .env_clear()
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

/// The number of the entry that was acknowledged, if one was: a line that was cut off says nothing.
pub fn acknowledged(said: &str) -> Option<u64> {
    let whole = &said[..said.rfind('\n')?];
    let (_, after) = whole.split_once("ecorded as entry ")?;
    let (number, _) = after.split_once('.')?;
    number.parse().ok()
}

/// Minute `n` after the morning of 1 March 2001, as it is typed.
pub fn minute(n: u64) -> String {
    let first = chrono::NaiveDate::from_ymd_opt(2001, 3, 1).unwrap();
    let first = first.and_hms_opt(8, 0, 0).unwrap();
    let at = first + chrono::TimeDelta::minutes(n.try_into().unwrap());
    at.format("%Y-%m-%d %H:%M").to_string()
}

/// One animal on a long course, every 12 hours from minute 0: 31 g, 0.075 mL (as in
/// [`Script::twice_a_day`]).
pub fn long_course(name: &str) -> Room {
    let script = Script {
        schedule: r#"Every(interval: "12 hours", doses: 100)"#,
        ..Script::twice_a_day()
    };
    Room::with_course(name, &script)
}
