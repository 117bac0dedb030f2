//! Reads the arguments and the clock once, and hands both to the library.

use scruple::cli::{World, run_by_clock};
use std::io::{IsTerminal, stderr, stdin, stdout};
use std::process::ExitCode;

fn main() -> ExitCode {
    let interactive = stdin().is_terminal() && stdout().is_terminal();
    let world = World {
        now: chrono::Utc::now(),
        local_zone: iana_time_zone::get_timezone().ok(),
        book_from_environment: std::env::var_os("SCRUPLE_BOOK").map(Into::into),
        data_directory: data_directory(),
        interactive,
        colour: stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty()),
        input: &mut stdin().lock(),
        out: &mut stdout().lock(),
        err: &mut stderr().lock(),
    };
    // A round takes a while: it asks what time it is before each record.
    ExitCode::from(run_by_clock(
        std::env::args_os(),
        world,
        Some(&chrono::Utc::now),
    ))
}

/// Where this platform keeps a person's data: XDG on Linux, its own places elsewhere.
fn data_directory() -> Option<std::path::PathBuf> {
    let from = |name: &str| {
        std::env::var_os(name)
            .filter(|v| !v.is_empty())
            .map(std::path::PathBuf::from)
    };
    if cfg!(windows) {
        return from("APPDATA");
    }
    if cfg!(target_os = "macos") {
        return from("HOME").map(|home| home.join("Library/Application Support"));
    }
    from("XDG_DATA_HOME").or_else(|| from("HOME").map(|home| home.join(".local/share")))
}
