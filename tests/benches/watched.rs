//! What a command takes as a process, and the middle of many.

use std::process::Command;
use std::time::{Duration, Instant};

/// What a command took as a process.
pub struct Took {
    /// By the clock.
    pub wall: Duration,
    /// On the processor: what a busy machine adds to the clock is not in it. Linux alone tells it.
    pub processor: Duration,
    /// The most memory it held, in KiB; likewise.
    pub memory: u64,
}

/// Runs a command and looks at it every tenth of a millisecond.
pub fn watched(command: &mut Command) -> Took {
    let began = Instant::now();
    let mut child = command.spawn().expect("the program runs");
    let folder = format!("/proc/{}", child.id());
    let about = |what| std::fs::read_to_string(format!("{folder}/{what}")).unwrap_or_default();
    let mut memory = 0;
    // It ends as a zombie, whose figures can be read until it is waited for.
    loop {
        let told = about("status");
        let line = |name| told.lines().find_map(|line| line.strip_prefix(name));
        let figure = line("VmHWM:").and_then(|line| line.split_whitespace().next()?.parse().ok());
        memory = memory.max(figure.unwrap_or(0));
        if told.is_empty() || line("State:").is_some_and(|state| state.contains('Z')) {
            break;
        }
        std::thread::sleep(Duration::from_micros(100));
    }
    let told = about("schedstat");
    let ended = began.elapsed();
    let status = child.wait().expect("the program ends");
    assert!(
        status.code().is_some_and(|code| code < 2),
        "{command:?} ended with {status}"
    );
    let spent = told
        .split_whitespace()
        .next()
        .and_then(|spent| spent.parse().ok());
    Took {
        // Where nothing is told while it runs, the end of the wait has to do.
        wall: if told.is_empty() {
            began.elapsed()
        } else {
            ended
        },
        processor: Duration::from_nanos(spent.unwrap_or(0)),
        memory,
    }
}

/// The middle one, in seconds.
pub fn middle(mut times: Vec<Duration>) -> f64 {
    times.sort();
    times[times.len() / 2].as_secs_f64()
}
