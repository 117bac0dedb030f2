//! A book to trust, from commands to words: it is verified, copied, carried away as text and
//! brought back; it is set up, stocked and noted in; and in bad places it says what is the matter
//! and acknowledges nothing that is not kept.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

#[path = "trust/copies.rs"]
mod copies;
#[path = "trust/damage.rs"]
mod damage;
#[path = "trust/drills.rs"]
mod drills;
#[path = "trust/notes.rs"]
mod notes;
#[path = "trust/settings.rs"]
mod settings;
#[path = "trust/stock.rs"]
mod stock;

use room::{Room, Script};
use std::collections::BTreeSet;

/// A room in which a few things have happened: two animals, a bottle, a course with a dose given.
fn lived_in(name: &str) -> Room {
    let mut room = Room::with_course(name, &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001 --by AK").ends(0);
    room.at("2001-03-01 09:00").takes_in("Nubbet", "12 g");
    room.at("2001-03-01 10:00");
    room
}

/// Every key that these commands print for programs is written down in docs/json.md.
#[test]
fn every_json_key_is_written_down() {
    let mut room = lived_in("keys");
    room.run("bottle open \"Madeup Briar\" --reads \"3 mg/mL\" --expiry 2099-12 --made-up 2001-02-01 --aliquots 4 --holds \"1 mL\" --discard-after \"2 days\"")
        .ends(0);
    room.run("note Thimblo \"calm\" --by AK").ends(0);
    room.run("settings set loss 8 --by AK").ends(0);
    let page =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/docs/json.md")).unwrap();
    for command in [
        "stock",
        "settings",
        "verify",
        "bottle list",
        "animal show Thimblo",
        "today",
        "sheet weighin",
        "sheet course Thimblo DEMO-0001",
        "sheet handover",
    ] {
        let mut keys = BTreeSet::new();
        collect_keys(&room.json(command), &mut keys);
        for key in keys {
            let named = page.contains(&format!("`{key}`")) || page.contains(&format!("\"{key}\""));
            assert!(named, "docs/json.md does not name '{key}' of {command}");
        }
    }
}

fn collect_keys(value: &serde_json::Value, keys: &mut BTreeSet<String>) {
    match value {
        serde_json::Value::Object(map) => {
            for (key, value) in map {
                keys.insert(key.clone());
                collect_keys(value, keys);
            }
        }
        serde_json::Value::Array(items) => items.iter().for_each(|item| collect_keys(item, keys)),
        _ => {}
    }
}

/// Promise 1: no help text offers a dose; and every command that records takes initials.
#[test]
fn help_offers_no_dose_and_every_record_takes_initials() {
    let help = |command: &str| {
        let program = std::process::Command::new(env!("CARGO_BIN_EXE_scruple"))
            .args(command.split(' '))
            .arg("--help")
            .output();
        String::from_utf8(program.unwrap().stdout).unwrap()
    };
    for command in [
        "verify",
        "backup",
        "export",
        "import",
        "settings",
        "settings set",
        "stock",
        "note",
        "bottle thaw",
        "bottle left",
    ] {
        let help = help(command);
        assert!(help.contains("Usage:"), "{command}: {help}");
        for unit in ["mg/kg", "mcg/kg", "units/kg", "mL/kg", "per day"] {
            assert!(
                !help.contains(unit),
                "{command} --help offers a dose: {unit}"
            );
        }
    }
    for command in [
        "begin",
        "syringe add",
        "animal add",
        "bottle open",
        "bottle thaw",
        "bottle left",
        "bottle discard",
        "bottle empty",
        "enter",
        "weigh",
        "give",
        "partly",
        "brought-up",
        "refused",
        "end",
        "correct",
        "confirm",
        "done",
        "missed",
        "withheld",
        "unsure",
        "settings set",
        "note",
    ] {
        let help = help(command);
        assert!(help.contains("Usage:"), "{command}: {help}");
        assert!(help.contains("--by"), "{command} takes no initials");
    }
}
