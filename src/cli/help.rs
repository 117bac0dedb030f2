//! What `--help` says, made from the definitions of the commands: one screen of 24 lines of 80
//! columns for each, with two examples.
//!
//! Promises: completions and manual pages come from the same definitions; an example is a command
//! that can be copied. It decides nothing about what a command takes.

use crate::cli::Arguments;
use crate::terminal::wrapped;
use clap::{Arg, Command, CommandFactory};

/// The lines of a screen.
const LINES: usize = 24;

/// The columns of one.
const COLUMNS: usize = 80;

/// What every command takes, as it is said below each.
const EVERYWHERE: &str = "Everywhere: --book FILE, --now TIME, --format json, --yes, --replace";

/// The commands by what they are for. Each stands once.
const GROUPS: [(&str, &[&str]); 7] = [
    (
        "To begin",
        &["begin", "syringe", "animal", "bottle", "settings"],
    ),
    (
        "The prescription",
        &["work", "plan", "enter", "instruct", "confirm"],
    ),
    (
        "Every day",
        &["weigh", "today", "round", "note", "done", "stock", "check"],
    ),
    (
        "What became of it",
        &[
            "give",
            "partly",
            "brought-up",
            "refused",
            "missed",
            "withheld",
            "unsure",
        ],
    ),
    ("For vet or sitter", &["report", "sheet", "end"]),
    (
        "The book itself",
        &["verify", "backup", "export", "import", "correct"],
    ),
    ("The program", &["demo", "manual", "help"]),
];

/// The commands, each with its help.
pub(super) fn command() -> Command {
    let mut built = Arguments::command();
    built.build();
    with_help(Arguments::command(), &built, "scruple")
}

fn with_help(command: Command, built: &Command, path: &str) -> Command {
    let text = if path == "scruple" {
        of_all(built)
    } else {
        of_one(built, path)
    };
    let mut command = command.override_help(text);
    for part in built
        .get_subcommands()
        .filter(|part| part.get_name() != "help")
    {
        let path = format!("{path} {}", part.get_name());
        command = command.mut_subcommand(part.get_name(), |own| with_help(own, part, &path));
    }
    command
}

/// `scruple --help`.
fn of_all(root: &Command) -> String {
    let (prose, _) = prose_and_examples(root);
    let mut lines = vec![wrapped(&prose, "", "")];
    lines.push(String::new());
    lines.push("Usage: scruple [COMMAND] [OPTIONS]".to_owned());
    lines.push(String::new());
    for (what, commands) in GROUPS {
        lines.push(format!("  {what:<17}  {}", commands.join(", ")));
    }
    lines.push(String::new());
    lines.push("  scruple COMMAND --help    what it takes, with two examples".to_owned());
    lines.push("  --book FILE               another book than the usual one".to_owned());
    lines.push(
        "  --now TIME                the time to use as now: \"2001-03-08 14:00\"".to_owned(),
    );
    lines.push("  --format json             the answer for programs".to_owned());
    lines.push("  --yes, --replace          yes to the last question; overwrite a file".to_owned());
    lines.push(String::new());
    lines.push("Examples: scruple today --pdf today.pdf".to_owned());
    lines.push("          scruple weigh Thimblo \"34.5 g\"".to_owned());
    lines.join("\n") + "\n"
}

/// The help of one command.
fn of_one(command: &Command, path: &str) -> String {
    let (prose, examples) = prose_and_examples(command);
    let mut rows: Vec<(String, String)> = Vec::new();
    for part in command
        .get_subcommands()
        .filter(|part| part.get_name() != "help")
    {
        let about = part
            .get_about()
            .map(ToString::to_string)
            .unwrap_or_default();
        rows.push((part.get_name().to_owned(), about.replace('\n', " ")));
    }
    let own =
        |arg: &&Arg| !arg.is_global_set() && !matches!(arg.get_id().as_str(), "help" | "version");
    rows.extend(command.get_arguments().filter(own).map(row));
    let above = [
        wrapped(&prose, "", ""),
        wrapped(&usage(command, path), "Usage: ", "       "),
    ];
    let examples: Vec<String> = examples.iter().map(|example| broken(example)).collect();
    let parts = [
        above.join("\n\n"),
        table(&rows).join("\n"),
        examples.join("\n"),
        EVERYWHERE.to_owned(),
    ];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    // Air between the parts, where the screen has room for it.
    let loose = parts.join("\n\n") + "\n";
    if loose.lines().count() < LINES {
        return loose;
    }
    // What the usage names needs no row of its own where room is short.
    rows.retain(|(typed, _)| typed.starts_with("--") || command.has_subcommands());
    let close = [
        above.join("\n"),
        table(&rows).join("\n"),
        examples.join("\n"),
        EVERYWHERE.to_owned(),
    ];
    close.join("\n") + "\n"
}

/// What a command is for, in paragraphs, and its examples.
fn prose_and_examples(command: &Command) -> (String, Vec<String>) {
    let text = command.get_long_about().or(command.get_about());
    let text = text.map(ToString::to_string).unwrap_or_default();
    let (prose, examples) = text.split_once("Examples:").unwrap_or((&text, ""));
    let prose: Vec<&str> = prose.split_whitespace().collect();
    let examples = examples
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty());
    // The first paragraph has no full stop of its own.
    let first = command
        .get_about()
        .map(ToString::to_string)
        .unwrap_or_default();
    let first = first.split_whitespace().collect::<Vec<_>>().join(" ");
    let prose = prose.join(" ");
    let prose = match prose.strip_prefix(&first) {
        Some(rest) if !first.ends_with('.') => format!("{first}.{rest}"),
        _ => prose,
    };
    (prose, examples.map(str::to_owned).collect())
}

fn usage(command: &Command, path: &str) -> String {
    if command.has_subcommands() {
        let rest = if command.is_subcommand_required_set() {
            "COMMAND"
        } else {
            "[COMMAND]"
        };
        return format!("{path} {rest}");
    }
    let named = |arg: &Arg| {
        let names: Vec<&str> = arg
            .get_value_names()
            .unwrap_or_default()
            .iter()
            .map(|name| name.as_str())
            .collect();
        names.join(" ")
    };
    let mut words = vec![path.to_owned()];
    for arg in command.get_positionals() {
        let name = named(arg);
        words.push(if arg.is_required_set() {
            name
        } else {
            format!("[{name}]")
        });
    }
    let needed: Vec<String> = command
        .get_opts()
        .filter(|arg| arg.is_required_set())
        .map(|arg| format!("--{} {}", arg.get_long().unwrap_or_default(), named(arg)))
        .collect();
    let all = words
        .iter()
        .chain(&needed)
        .cloned()
        .collect::<Vec<_>>()
        .join(" ");
    if "Usage: ".len() + all.len() <= COLUMNS {
        return all;
    }
    // The table says which of them are needed.
    words.push("OPTIONS".to_owned());
    words.join(" ")
}

/// One argument: how it is typed, and what it says.
fn row(arg: &Arg) -> (String, String) {
    let names: Vec<&str> = arg
        .get_value_names()
        .unwrap_or_default()
        .iter()
        .map(|name| name.as_str())
        .collect();
    let value = names.join(" ");
    let typed = match arg.get_long() {
        Some(long) if arg.get_action().takes_values() => format!("--{long} {value}"),
        Some(long) => format!("--{long}"),
        None => value,
    };
    let mut said = arg.get_help().map(ToString::to_string).unwrap_or_default();
    let values: Vec<String> = arg
        .get_possible_values()
        .iter()
        .filter(|_| arg.get_action().takes_values())
        .map(|value| value.get_name().to_owned())
        .collect();
    if !values.is_empty() {
        said = format!("{said}: {}", values.join(", "));
    }
    let given: Vec<String> = arg
        .get_default_values()
        .iter()
        .map(|value| value.to_string_lossy().into_owned())
        .collect();
    if !given.is_empty() && arg.get_action().takes_values() {
        said = format!("{said} [default: {}]", given.join(" "));
    }
    if arg.is_required_set() && !arg.is_positional() {
        said.push_str(" (needed)");
    }
    (typed, said.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// Two columns, the second as far left as the first allows.
fn table(rows: &[(String, String)]) -> Vec<String> {
    let widest = rows.iter().map(|(typed, _)| typed.len()).max().unwrap_or(0);
    let lines = rows.iter().map(|(typed, said)| {
        let lead = format!("  {typed:<widest$}  ");
        let under = " ".repeat(lead.len());
        wrapped(said, &lead, &under)
    });
    lines.collect()
}

/// An example, broken before a flag where it is too long for a line; it can still be copied.
fn broken(example: &str) -> String {
    let mut lines = vec![String::new()];
    for (at, part) in example.split(" --").enumerate() {
        let part = if at == 0 {
            part.to_owned()
        } else {
            format!("--{part}")
        };
        let line = lines.last().map(String::len).unwrap_or_default();
        if line > 0 && 2 + line + 1 + part.len() + 2 > COLUMNS {
            lines.push(format!("    {part}"));
        } else if let Some(last) = lines.last_mut() {
            if !last.is_empty() {
                last.push(' ');
            }
            last.push_str(&part);
        }
    }
    format!("  {}", lines.join(" \\\n  "))
}
