//! Every crate that the project names is said to be for something, and its terms are looked at.
//!
//! Promises: a crate that is added without a word on both pages is missed here. Whether the word is
//! true is for a person to judge.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

use std::fs;
use std::path::Path;

fn page(name: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).unwrap()
}

/// The names at the heads of the lines below every `[...dependencies]`.
fn named(manifest: &str) -> Vec<&str> {
    let mut within = false;
    let mut names = Vec::new();
    for line in manifest.lines() {
        if line.starts_with('[') {
            within = line.ends_with("dependencies]");
        } else if within && let Some((name, _)) = line.split_once(" = ") {
            names.push(name);
        }
    }
    names
}

/// The cells of the first column of the table below a heading.
fn first_cells<'a>(page: &'a str, heading: &str) -> Vec<&'a str> {
    let section = page.split_once(heading).map_or("", |(_, rest)| rest);
    let section = section.split("\n## ").next().unwrap();
    let rows = section.lines().filter(|line| line.starts_with('|'));
    let cells = rows.filter_map(|row| row.split('|').nth(1));
    cells
        .flat_map(|cell| cell.split(','))
        .map(str::trim)
        .collect()
}

#[test]
fn every_crate_is_said_to_be_for_something() {
    let (manifest, page) = (page("Cargo.toml"), page("DEVELOPERS.md"));
    let said = first_cells(&page, "\n## Dependencies\n");
    let names = named(&manifest);
    assert!(names.contains(&"uom") && names.contains(&"ptyprocess") && names.contains(&"divan"));
    let unsaid = names.iter().filter(|name| !said.contains(name));
    assert_eq!(unsaid.collect::<Vec<_>>(), Vec::<&&str>::new());
    let gone = said[2..].iter().filter(|name| !names.contains(name));
    assert_eq!(gone.collect::<Vec<_>>(), Vec::<&&str>::new());
}

/// As many as the page says: one that is added changes the terms that were looked at.
#[test]
fn the_terms_of_as_many_crates_were_looked_at_as_the_program_names() {
    let (manifest, page) = (page("Cargo.toml"), page("docs/dependencies.md"));
    let program = manifest.split("# Only for the tests").next().unwrap();
    let many = named(program).len();
    assert!(
        page.contains(&format!("{many} crates named by the program")),
        "{many}"
    );
}
