//! The commands: arguments in, words out, exit codes.
//!
//! Promises: one file per command; whatever is recorded was shown first and is judged again inside
//! the book's transaction; the clock is only ever the one handed in. It computes no dose itself.

mod aloud;
mod animal;
mod ask;
mod backup;
mod basis;
mod begin;
mod bottle;
mod by;
mod check;
mod confirm;
mod correct;
mod demo;
mod desk;
mod done;
mod end;
mod enter;
mod export;
mod failure;
mod give;
mod held;
mod help;
mod import;
mod instruct;
mod look;
mod manual;
mod note;
mod plan;
mod progress;
mod report;
mod round;
mod settings;
mod sheet;
mod stock;
mod syringe;
mod today;
mod unread;
mod verify;
mod weigh;
mod when;
mod work;

pub use failure::Failure;

use crate::cli::desk::Desk;
use crate::entry::Outcome;
use crate::notation::NotationError;
use chrono::{DateTime, Utc};
use clap::error::ErrorKind;
use clap::{FromArgMatches, Parser, Subcommand, ValueEnum};
use std::ffi::{OsStr, OsString};
use std::io::{BufRead, Write};
use std::path::PathBuf;

/// What the outside gives a command: the clock, the streams, where things lie.
pub struct World<'w> {
    /// The moment the program was started; read once, in `main`.
    pub now: DateTime<Utc>,
    /// The IANA name of this machine's zone.
    pub local_zone: Option<String>,
    /// SCRUPLE_BOOK.
    pub book_from_environment: Option<PathBuf>,
    /// The platform's data directory.
    pub data_directory: Option<PathBuf>,
    /// A person can answer questions.
    pub interactive: bool,
    /// Messages may be coloured.
    pub colour: bool,
    /// What a person types.
    pub input: &'w mut dyn BufRead,
    /// What was asked for.
    pub out: &'w mut dyn Write,
    /// Messages and questions.
    pub err: &'w mut dyn Write,
}

/// Says what time it is, each time it is asked.
pub type Clock<'c> = &'c dyn Fn() -> DateTime<Utc>;

/// What `--version` says.
const VERSION: &str = concat!("scruple ", env!("CARGO_PKG_VERSION"));

/// Turns a vet's prescription into the line on the syringe for this animal today. It repeats what
/// your vet wrote and knows no medicine: if anything disagrees with the vet's label, or the animal
/// looks worse, stop and call. Without a command it shows what waits.
#[derive(Debug, Parser)]
#[command(name = "scruple", version, propagate_version = true)]
struct Arguments {
    #[command(flatten)]
    everywhere: Everywhere,
    #[command(subcommand)]
    command: Option<Command>,
}

/// What every command takes.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct Everywhere {
    /// The book to use instead of the usual one
    #[arg(long, global = true, value_name = "FILE")]
    pub book: Option<PathBuf>,
    /// The time to use as now, in the book's zone, as in "2001-03-08 14:00"
    #[arg(long, global = true, value_name = "TIME")]
    pub now: Option<String>,
    /// How to answer
    #[arg(long, global = true, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Yes to the last question; for programs
    #[arg(long, global = true)]
    pub yes: bool,
    /// Overwrite the file that is to be written
    #[arg(long, global = true)]
    pub replace: bool,
}

/// How to answer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people.
    #[default]
    Text,
    /// For programs.
    Json,
}

#[derive(Debug, Subcommand)]
enum Command {
    Begin(begin::Begin),
    Syringe(syringe::Syringes),
    Animal(animal::Animals),
    Bottle(bottle::Bottles),
    Work(work::Work),
    Plan(plan::PlanOut),
    Enter(enter::Enter),
    Weigh(weigh::Weigh),
    Today(today::Today),
    Round(round::Walk),
    Give(give::Give),
    /// Records that only part of a dose was given
    ///
    /// Examples:
    ///   scruple partly Thimblo DEMO-0001 --drawn "0.04 mL"
    ///   scruple partly Thimblo DEMO-0001 --at 20:05 --by AK --note "it wriggled"
    #[command(verbatim_doc_comment)]
    Partly(give::Give),
    /// Records that a dose was brought up or spat out again
    ///
    /// Examples:
    ///   scruple brought-up Thimblo DEMO-0001 --by AK
    ///   scruple brought-up Thimblo DEMO-0001 --dose 2 --at 20:30
    #[command(verbatim_doc_comment)]
    BroughtUp(give::Give),
    /// Records that the animal would not take a dose
    ///
    /// Examples:
    ///   scruple refused Thimblo DEMO-0001
    ///   scruple refused Thimblo DEMO-0001 --by AK --note "kept its mouth shut"
    #[command(verbatim_doc_comment)]
    Refused(give::Otherwise),
    /// Records that a dose was not given
    ///
    /// Examples:
    ///   scruple missed Thimblo DEMO-0001
    ///   scruple missed Thimblo DEMO-0001 --dose 2 --by AK
    #[command(verbatim_doc_comment)]
    Missed(give::Otherwise),
    /// Records that a dose was left out on the vet's instruction
    ///
    /// Examples:
    ///   scruple withheld Thimblo DEMO-0001
    ///   scruple withheld Thimblo DEMO-0001 --dose 2 --note "as the vet said"
    #[command(verbatim_doc_comment)]
    Withheld(give::Otherwise),
    /// Records that nobody knows whether a dose was given
    ///
    /// Examples:
    ///   scruple unsure Thimblo DEMO-0001 --at 20:30
    ///   scruple unsure Thimblo DEMO-0001 --dose 2 --at "2001-03-07 21:00" --by AK
    #[command(verbatim_doc_comment)]
    Unsure(give::Otherwise),
    Instruct(Box<instruct::Instruct>),
    Confirm(confirm::Confirm),
    Correct(correct::Correct),
    Done(done::FollowedUp),
    End(end::EndOfStay),
    Check(check::Check),
    Note(note::Note),
    Stock(stock::Stock),
    Settings(settings::SettingsCommand),
    Verify(verify::Verify),
    Backup(backup::Backup),
    Export(export::Export),
    Import(import::Import),
    Report(report::ReportOut),
    Sheet(sheet::Sheets),
    Demo(demo::Demo),
    Manual(manual::Manual),
}

/// Done; `check` alone may find that something needs attention.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Done {
    /// What was asked for was done.
    Well,
    /// Something needs attention.
    NeedsAttention,
}

/// Runs one command line and gives the exit code: 0 done; 1 from `check`, something needs
/// attention; 2 not accepted, nothing written; 3 failed, nothing acknowledged.
pub fn run(arguments: impl IntoIterator<Item = OsString>, world: World) -> u8 {
    run_by_clock(arguments, world, None)
}

/// As [`run`], with a clock for the one command that a person is at for a while.
pub fn run_by_clock(
    arguments: impl IntoIterator<Item = OsString>,
    mut world: World,
    clock: Option<Clock>,
) -> u8 {
    let typed: Vec<OsString> = arguments.into_iter().collect();
    if let [_, only] = typed.as_slice()
        && (only == "--version" || only == "-V")
    {
        // All commands need not be made for it.
        let written = writeln!(world.out, "{VERSION}").and_then(|()| world.out.flush());
        return if written.is_ok() { 0 } else { 2 };
    }
    let parsed = Arguments::try_parse_from(&typed).or_else(|error| {
        let asked = [
            ErrorKind::DisplayHelp,
            ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand,
        ];
        if !asked.contains(&error.kind()) {
            return Err(error);
        }
        // The help is made only where it is wanted.
        let found = help::command().try_get_matches_from(&typed)?;
        Arguments::from_arg_matches(&found)
    });
    let arguments = match parsed {
        Ok(arguments) => arguments,
        Err(error) => {
            if let Some(below) = typed.iter().find_map(|word| below_zero(word)) {
                let failure = Failure::not_accepted(NotationError::Negative { text: below });
                // Nothing more can be said where even this cannot be written.
                let _ = writeln!(world.err, "{failure}");
                return failure.code();
            }
            if let Some(words) = unread::said(&error) {
                let failure = Failure::not_accepted(words);
                // Nothing more can be said where even this cannot be written.
                let _ = writeln!(world.err, "{failure}");
                return failure.code();
            }
            let help = !error.use_stderr();
            let text = if world.colour && !help {
                error.render().ansi().to_string()
            } else {
                error.render().to_string()
            };
            // It is the command line that is not accepted; nobody has made an error.
            let text = text.replacen("error:", "Not accepted:", 1);
            let stream = if help { &mut world.out } else { &mut world.err };
            let written = stream.write_all(text.as_bytes());
            return if help && written.is_ok() { 0 } else { 2 };
        }
    };
    match dispatch(
        arguments.command.as_ref(),
        &arguments.everywhere,
        &mut world,
        clock,
    ) {
        Ok(Done::Well) => 0,
        Ok(Done::NeedsAttention) => 1,
        Err(failure) => {
            // Nothing more can be said where even this cannot be written.
            let _ = writeln!(world.err, "{failure}");
            failure.code()
        }
    }
}

/// A figure below zero, which would otherwise be taken for an unknown flag.
fn below_zero(word: &OsStr) -> Option<String> {
    let text = word.to_str()?;
    let figure = text.strip_prefix('-')?;
    figure
        .starts_with(|c: char| c.is_ascii_digit() || c == '.')
        .then(|| when::shown(text))
}

fn dispatch(
    command: Option<&Command>,
    everywhere: &Everywhere,
    world: &mut World,
    clock: Option<Clock>,
) -> Result<Done, Failure> {
    let started = world.now;
    let stands = || started;
    let mut desk = Desk::new(everywhere, world);
    let Some(command) = command else {
        let done = look::look(&mut desk)?;
        desk.world.out.flush()?;
        return Ok(done);
    };
    let done = match command {
        Command::Begin(begin) => begin.run(&mut desk),
        Command::Syringe(syringes) => syringes.run(&mut desk),
        Command::Animal(animals) => animals.run(&mut desk),
        Command::Bottle(bottles) => bottles.run(&mut desk),
        Command::Work(work) => work.run(&mut desk),
        Command::Plan(plan) => plan.run(&mut desk),
        Command::Enter(enter) => enter.run(&mut desk),
        Command::Weigh(weigh) => weigh.run(&mut desk),
        Command::Today(today) => today.run(&mut desk),
        Command::Round(walk) => walk.run(&mut desk, clock.unwrap_or(&stands)),
        Command::Give(give) => give.run(&mut desk, Outcome::Given),
        Command::Partly(give) => give.run(&mut desk, Outcome::PartlyGiven),
        Command::BroughtUp(give) => give.run(&mut desk, Outcome::BroughtUp),
        Command::Refused(otherwise) => otherwise.run(&mut desk, Outcome::Refused),
        Command::Missed(otherwise) => otherwise.run(&mut desk, Outcome::Missed),
        Command::Withheld(otherwise) => otherwise.run(&mut desk, Outcome::Withheld),
        Command::Unsure(otherwise) => otherwise.run(&mut desk, Outcome::Unsure),
        Command::Instruct(instruct) => instruct.run(&mut desk),
        Command::Confirm(confirm) => confirm.run(&mut desk),
        Command::Correct(correct) => correct.run(&mut desk),
        Command::Done(done) => done.run(&mut desk),
        Command::End(end) => end.run(&mut desk),
        Command::Check(check) => check.run(&mut desk),
        Command::Note(note) => note.run(&mut desk),
        Command::Stock(stock) => stock.run(&mut desk),
        Command::Settings(settings) => settings.run(&mut desk),
        Command::Verify(verify) => verify.run(&mut desk),
        Command::Backup(backup) => backup.run(&mut desk),
        Command::Export(export) => export.run(&mut desk),
        Command::Import(import) => import.run(&mut desk),
        Command::Report(report) => report.run(&mut desk),
        Command::Sheet(sheets) => sheets.run(&mut desk),
        Command::Demo(demo) => demo.run(&mut desk),
        Command::Manual(manual) => manual.run(&mut desk),
    }?;
    desk.world.out.flush()?;
    Ok(done)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::{Arguments, World, run};
    use clap::CommandFactory;

    #[test]
    fn the_version_is_said_as_the_commands_would_say_it() {
        for flag in ["--version", "-V"] {
            let (mut out, mut err) = (Vec::new(), Vec::new());
            let world = World {
                now: chrono::Utc::now(),
                local_zone: None,
                book_from_environment: None,
                data_directory: None,
                interactive: false,
                colour: false,
                input: &mut std::io::empty(),
                out: &mut out,
                err: &mut err,
            };
            assert_eq!(run(["scruple", flag].map(Into::into), world), 0);
            assert_eq!(
                String::from_utf8(out).unwrap(),
                Arguments::command().render_version()
            );
            assert!(err.is_empty());
        }
    }
}
