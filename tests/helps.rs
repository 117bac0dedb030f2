//! `--help` of every command fits a screen and shows two examples that work as far as the command
//! line goes; manual pages and completions know every command.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]
#![allow(dead_code, reason = "the bench serves other tests too")]

#[path = "demo/bench.rs"]
mod bench;
mod readers;

use bench::{Bench, shell_words};
use readers::notation::notation_faults;
use std::sync::OnceLock;

/// The commands with parts of their own.
const WITH_PARTS: [&str; 5] = ["animal", "bottle", "settings", "sheet", "syringe"];

/// Every command by its words, with its help; asked for once.
fn helps() -> &'static [(Vec<String>, String)] {
    static HELPS: OnceLock<Vec<(Vec<String>, String)>> = OnceLock::new();
    HELPS.get_or_init(|| {
        let bench = Bench::new("helps");
        let with_help = |command: Vec<String>| {
            let text = help(&bench, &command, "--help");
            (command, text)
        };
        commands(&bench).into_iter().map(with_help).collect()
    })
}

/// Every command, by its words.
fn commands(bench: &Bench) -> Vec<Vec<String>> {
    let help = bench.bare(&["--help"], "").out;
    let groups = help
        .lines()
        .filter(|line| line.starts_with("  ") && line.contains("  "));
    let names = groups.flat_map(|line| {
        let listed = line.get(21..).unwrap_or_default();
        let names: Vec<&str> = listed.split(", ").collect();
        let plain = |name: &&str| name.chars().all(|c| c.is_ascii_lowercase() || c == '-');
        let all = names.iter().all(|name| plain(name) && !name.is_empty());
        if all { names } else { Vec::new() }
    });
    let mut commands: Vec<Vec<String>> = Vec::new();
    for name in names.filter(|name| *name != "help") {
        commands.push(vec![name.to_owned()]);
        if !WITH_PARTS.contains(&name) {
            continue;
        }
        for line in bench.bare(&[name, "--help"], "").out.lines() {
            let part = line
                .strip_prefix("  ")
                .and_then(|line| line.split("  ").next());
            let part = part.filter(|part| !part.is_empty() && !part.contains(' '));
            commands.extend(part.map(|part| vec![name.to_owned(), part.to_owned()]));
        }
    }
    commands
}

fn help(bench: &Bench, command: &[String], flag: &str) -> String {
    let mut words: Vec<&str> = command.iter().map(String::as_str).collect();
    words.push(flag);
    let answer = bench.bare(&words, "");
    assert_eq!(answer.code, 0, "{command:?}: {answer:?}");
    answer.out
}

/// The examples of a help text; one may be broken over lines.
fn examples(help: &str) -> Vec<String> {
    let whole = help.replace(" \\\n", " ");
    let lines = whole.lines().map(str::trim);
    lines
        .filter_map(|line| line.strip_prefix("scruple "))
        .map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect()
}

#[test]
fn every_help_fits_a_screen_and_has_two_examples() {
    let bench = Bench::new("helps-root");
    let mut faults = Vec::new();
    assert!(helps().len() >= 45, "{}", helps().len());
    let root = [(Vec::new(), bench.bare(&["--help"], "").out)];
    for (command, text) in root.iter().chain(helps()) {
        let name = command.join(" ");
        let lines = text.lines().count();
        if lines > 24 {
            faults.push(format!("{name}: {lines} lines"));
        }
        for line in text.lines().filter(|line| line.chars().count() > 80) {
            faults.push(format!("{name}: too long: {line}"));
        }
        let shown = examples(text);
        if !command.is_empty() && shown.len() < 2 {
            faults.push(format!("{name}: {} examples", shown.len()));
        }
        for example in shown {
            if !command.is_empty() && !example.starts_with(&name) {
                faults.push(format!("{name}: an example of another: {example}"));
            }
        }
        // A barrel is typed with a slash between its two figures.
        let barrel = |fault: &String| fault.contains("'1/0.01'");
        faults.extend(
            notation_faults(text)
                .into_iter()
                .filter(|fault| !barrel(fault)),
        );
    }
    // The short flag says the same.
    let short = bench.bare(&["weigh", "-h"], "").out;
    assert!(helps().iter().any(|(_, text)| *text == short));
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Every example is at least a command line that is understood: what may be wrong with it is the
/// room it is typed in.
#[test]
fn every_example_is_understood() {
    let bench = Bench::with_demo("examples");
    let mut faults = Vec::new();
    for (_, text) in helps() {
        for example in examples(text) {
            // These would write into the folder the tests run in.
            let first = example.split(' ').next().unwrap_or_default().to_owned();
            if ["begin", "demo", "export", "backup", "manual", "import"].contains(&first.as_str())
                || example.contains("--pdf")
                || example.contains("--ics")
                || example.contains("--html")
            {
                continue;
            }
            let words = shell_words(&example);
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let answer = bench.run(&words, "");
            for wrong in [
                "there is no",
                "is a word too many",
                "is not accepted for",
                "nothing stands after",
                "something is missing",
                "is written more than once",
                "does not go together with",
                "usage:",
            ] {
                if answer.err.to_lowercase().contains(wrong) {
                    faults.push(format!("{example}: {}", answer.err));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_manual_and_the_completions_know_every_command() {
    let bench = Bench::new("manual");
    std::fs::create_dir_all(bench.folder()).unwrap();
    let folder = bench.path("pages");
    assert_eq!(bench.bare(&["manual", &folder], "").code, 0);
    let commands: Vec<&Vec<String>> = helps().iter().map(|(command, _)| command).collect();
    let files: Vec<String> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let pages = files.iter().filter(|file| file.ends_with(".1")).count();
    assert_eq!(pages, commands.len() + 1, "{files:?}");
    for command in &commands {
        let page = bench.read(&format!("pages/scruple-{}.1", command.join("-")));
        assert!(page.contains("Examples"), "{command:?}");
        assert!(page.contains(".SH OPTIONS"), "{command:?}");
        for shell in ["scruple.bash", "_scruple", "scruple.fish", "scruple.ps1"] {
            let text = bench.read(&format!("pages/{shell}"));
            assert!(
                text.contains(command.last().unwrap()),
                "{shell}: {command:?}"
            );
        }
    }
    // Nothing that is there is written over.
    assert_eq!(bench.bare(&["manual", &folder], "").code, 2);
    assert_eq!(bench.bare(&["manual", &folder, "--replace"], "").code, 0);
}
