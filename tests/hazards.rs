//! The table of hazards names tests: every one of them must exist, in the file it is said to be in.
//!
//! Promises: a test that is renamed, moved or taken away is missed here. Whether a test proves what
//! its row says is for a person to judge.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

use std::fs;
use std::path::Path;

/// The least number of hazards that the page must hold.
const AT_LEAST: usize = 40;

/// The rows of the page's tables, cell by cell, without heads and rules.
fn rows(page: &str) -> Vec<Vec<&str>> {
    let lines = page.lines().filter(|line| line.starts_with('|'));
    let cells = lines.map(|line| {
        let inside = line.trim().trim_matches('|');
        inside.split('|').map(str::trim).collect::<Vec<_>>()
    });
    cells
        .filter(|cells| cells[0] != "what can go wrong" && !cells[0].starts_with("---"))
        .collect()
}

/// What stands in backquotes as a file and a test of it.
fn named(text: &str) -> Vec<(&str, &str)> {
    let quoted = text.split('`').skip(1).step_by(2);
    quoted.filter_map(|name| name.split_once("::")).collect()
}

/// Whether the source has a function of this name right below `#[test]` and other attributes.
fn has_test(source: &str, name: &str) -> bool {
    let head = format!("fn {name}(");
    let mut marked = false;
    for line in source.lines().map(str::trim) {
        if line == "#[test]" {
            marked = true;
        } else if line.starts_with(&head) && marked {
            return true;
        } else if !line.starts_with("#[") && !line.starts_with("//") {
            marked = false;
        }
    }
    false
}

/// What is wrong with the page, by a reader of the project's files.
fn faults(page: &str, read: impl Fn(&str) -> Option<String>) -> Vec<String> {
    let rows = rows(page);
    let mut faults = Vec::new();
    if rows.len() < AT_LEAST {
        faults.push(format!("{} hazards, not {AT_LEAST}", rows.len()));
    }
    for row in &rows {
        if row.len() != 4 || row.iter().any(|cell| cell.is_empty()) {
            faults.push(format!("not four cells: {row:?}"));
        } else if named(row[3]).is_empty() {
            faults.push(format!("no test: {}", row[0]));
        }
    }
    for (file, test) in named(page) {
        match read(file) {
            Some(source) if has_test(&source, test) => {}
            Some(_) => faults.push(format!("no test {test} in {file}")),
            None => faults.push(format!("no file {file}")),
        }
    }
    faults
}

#[test]
fn every_test_that_is_named_exists() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let page = fs::read_to_string(top.join("docs/hazards.md")).unwrap();
    let found = faults(&page, |file| fs::read_to_string(top.join(file)).ok());
    assert!(found.is_empty(), "{found:#?}");
    println!("{} hazards", rows(&page).len());
}

#[test]
fn what_is_wrong_with_such_a_page_is_found() {
    let source = "#[test]\n#[allow(x)]\nfn is_one() {}\nfn is_none() {}\n";
    let read = |file: &str| (file == "tests/a.rs").then(|| source.to_owned());
    let row = |proof: &str| format!("| wrong | harm | stop | {proof} |\n");
    let forty = row("`tests/a.rs::is_one`").repeat(AT_LEAST);
    assert_eq!(faults(&forty, read), Vec::<String>::new());
    for (more, fault) in [
        (
            row("`tests/a.rs::is_none`"),
            "no test is_none in tests/a.rs",
        ),
        (row("`tests/a.rs::is_on`"), "no test is_on in tests/a.rs"),
        (row("`tests/b.rs::is_one`"), "no file tests/b.rs"),
        (row("a look"), "no test: wrong"),
    ] {
        assert_eq!(faults(&(forty.clone() + &more), read), [fault]);
    }
    assert_eq!(
        faults(&row("`tests/a.rs::is_one`"), read),
        ["1 hazards, not 40"]
    );
}
