//! Every command shown in README.md and on the pages of docs/ does what the page says: the blocks
//! marked `sh` are run as they stand, page by page, each in a fresh folder that holds what a clean
//! copy of the project holds; what is only named in a sentence must be a command that exists.
//!
//! A page may say, in a remark that nobody sees, what is typed at the next block's questions
//! (`typed: w\n45.2 g\ng`; without one, "yes" to each) and how its commands end (`ends: 2`).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

#[path = "pages/blocks.rs"]
mod blocks;

use blocks::{Step, named_in_sentences, steps};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Where a page shows no time of its own, it is this one.
const NOW: &str = "2001-03-08 19:30";

/// README.md and every page of docs/, with their text.
fn pages() -> Vec<(String, String)> {
    let mut pages = vec!["README.md".to_owned()];
    for entry in std::fs::read_dir(Path::new(ROOT).join("docs")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.ends_with(".md") {
            pages.push(format!("docs/{name}"));
        }
    }
    pages.sort();
    let read = |page: String| {
        let text = std::fs::read_to_string(Path::new(ROOT).join(&page)).unwrap();
        (page, text)
    };
    pages.into_iter().map(read).collect()
}

/// A folder with the samples in it, and nothing else.
fn fresh(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("pages")
        .join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(folder.join("schedules")).unwrap();
    for entry in std::fs::read_dir(Path::new(ROOT).join("schedules")).unwrap() {
        let from = entry.unwrap().path();
        let to = folder.join("schedules").join(from.file_name().unwrap());
        std::fs::copy(from, to).unwrap();
    }
    folder
}

/// The program, where nothing of this machine is known to it but what a page sets.
fn scruple(folder: &Path, set: &BTreeMap<String, String>) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_scruple"));
    command
        .current_dir(folder)
        .env_clear()
        .env("TZ", "UTC")
        .env("XDG_DATA_HOME", folder.join("data"))
        .envs(set);
    command
}

fn run(mut command: Command, words: &[String], typed: &str) -> (i32, String) {
    let mut child = command
        .args(words)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A command that asks nothing may be gone before it is answered.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    let output = child.wait_with_output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    let said = text(output.stdout) + &text(output.stderr);
    (output.status.code().unwrap_or(-1), said)
}

/// The blocks of one page, in order, in one folder.
fn follow(page: &str, text: &str) -> Result<usize, String> {
    let folder = fresh(&page.replace(['/', '.'], "-"));
    let mut set = BTreeMap::new();
    let mut commands = 0;
    for step in steps(text).map_err(|why| format!("{page}: {why}"))? {
        match step {
            Step::Set { name, value } => {
                set.insert(name, value);
            }
            Step::Folder(name) => std::fs::create_dir(folder.join(name)).unwrap(),
            Step::Copy { from, to } => {
                std::fs::copy(folder.join(from), folder.join(to)).unwrap();
            }
            // Built and tested it is already; the test that is named must be there.
            Step::Cargo { test } => {
                let there = |name: &String| {
                    let file = Path::new(ROOT).join("tests").join(format!("{name}.rs"));
                    let main = Path::new(ROOT).join("tests").join(name).join("main.rs");
                    file.exists() || main.exists()
                };
                if let Some(test) = test.filter(|test| !there(test)) {
                    return Err(format!("{page}: there is no test named {test}"));
                }
            }
            Step::Scruple {
                mut words,
                typed,
                ends,
                line,
            } => {
                if !words.iter().any(|word| word == "--now") {
                    words.extend(["--now".to_owned(), NOW.to_owned()]);
                }
                let (code, said) = run(scruple(&folder, &set), &words, &typed);
                // A check that finds something to do ends with 1, as it should.
                let finds = words.iter().any(|word| word == "check") && code == 1;
                if code != ends && !finds {
                    return Err(format!(
                        "{page}: '{line}' ended with {code}, not {ends}\n{said}"
                    ));
                }
                commands += 1;
            }
        }
    }
    Ok(commands)
}

#[test]
fn every_command_on_every_page_works_as_written() {
    let mut faults = Vec::new();
    let mut followed = BTreeMap::new();
    for (page, text) in pages() {
        match follow(&page, &text) {
            Ok(commands) => {
                followed.insert(page, commands);
            }
            Err(fault) => faults.push(fault),
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n\n"));
    println!("{followed:?}");
    // The pages that are to be followed have something to follow.
    for (page, least) in [
        ("README.md", 8),
        ("docs/guide.md", 20),
        ("docs/questions.md", 20),
    ] {
        assert!(followed[page] >= least, "{page}: {}", followed[page]);
    }
}

#[test]
fn every_command_named_in_a_sentence_exists() {
    let folder = fresh("named");
    let mut helps: BTreeMap<Vec<String>, Option<String>> = BTreeMap::new();
    let mut faults = Vec::new();
    for (page, text) in pages() {
        for named in named_in_sentences(&text) {
            let mut ask = named.command.clone();
            ask.push("--help".to_owned());
            let help = helps.entry(ask).or_insert_with_key(|ask| {
                let (code, said) = run(scruple(&folder, &BTreeMap::new()), ask, "");
                (code == 0).then_some(said)
            });
            match help {
                None => faults.push(format!("{page}: 'scruple {}'", named.command.join(" "))),
                Some(help) => {
                    let missing = named.flags.iter().filter(|flag| !help.contains(*flag));
                    faults.extend(missing.map(|flag| {
                        format!("{page}: {flag} of 'scruple {}'", named.command.join(" "))
                    }));
                }
            }
        }
    }
    assert!(faults.is_empty(), "no such command:\n{}", faults.join("\n"));
}

/// A test that cannot fail proves nothing.
#[test]
fn a_command_that_no_longer_works_is_noticed() {
    let wrong = "```sh\nscruple weigh Nobody \"46 g\"\n```\n";
    assert!(follow("wrong-1", wrong).is_err());
    assert!(follow("wrong-2", "```sh\nscruple frobnicate\n```\n").is_err());
    assert!(follow("wrong-3", "```sh\nrm -rf things\n```\n").is_err());
    assert!(follow("wrong-4", "```sh\ncargo test --test nothing\n```\n").is_err());
    let named = &named_in_sentences("Type `scruple give Thimblo DEMO-0001 --by AK` now.")[0];
    assert_eq!(named.command, ["give"]);
    assert_eq!(named.flags, ["--by"]);
}
