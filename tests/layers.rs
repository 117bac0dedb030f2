//! Reads every source file and holds the rules of the house: the layer table, purity, one clock,
//! no floats, and the shape of a file.
//!
//! Promises: each rule is shown to catch what it forbids (`layers/proof.rs`), and a room that
//! does not exist yet breaks none.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

#[path = "layers/proof.rs"]
mod proof;
#[path = "layers/rules.rs"]
mod rules;
#[path = "layers/source.rs"]
mod source;

use crate::rules::{File, RULES, Rule, has_a_telling_name, is_short, opens_with_a_promise};
use std::fs;
use std::path::Path;

/// Every Rust file below a folder of the project, in order.
fn files_in(folder: &str) -> Vec<File> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut files = Vec::new();
    let mut folders = vec![top.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                let inside = path.strip_prefix(&top).unwrap();
                files.push(File {
                    path: inside.to_str().unwrap().replace('\\', "/"),
                    text: fs::read_to_string(&path).unwrap(),
                });
            }
        }
    }
    files.sort_by(|a, b| a.path.cmp(&b.path));
    files
}

fn faults(folder: &str, rules: &[Rule]) -> Vec<String> {
    let files = files_in(folder);
    assert!(!files.is_empty(), "no source was found in {folder}");
    let mut faults = Vec::new();
    for file in &files {
        let found = rules.iter().flat_map(|rule| rule(file));
        faults.extend(found.map(|fault| format!("{folder}/{}:{fault}", file.path)));
    }
    faults
}

#[test]
fn the_program_keeps_the_rules_of_the_house() {
    let faults = faults("src", &RULES);
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn the_tests_are_short_and_say_what_they_are() {
    let faults = faults(
        "tests",
        &[opens_with_a_promise, is_short, has_a_telling_name],
    );
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

/// A room that the table has and the folder has not is still to be built; one in the folder must
/// also be declared, or its source is dead.
#[test]
fn every_room_there_is_is_declared() {
    let files = files_in("src");
    let library = files.iter().find(|file| file.path == "lib.rs").unwrap();
    for file in &files {
        let room = file.room();
        let declared =
            ["lib", "main"].contains(&room) || library.text.contains(&format!("pub mod {room};\n"));
        assert!(declared, "lib.rs does not declare the room {room}");
    }
}
