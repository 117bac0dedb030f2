//! Settings with their history, and the soundness of a book, for programs.

use crate::json::text;
use crate::ledger::Set;
use crate::settings::{Setting, Settings};
use serde::Serialize;
use serde_json::{Value, json};

/// The settings and every change of them.
pub fn settings(settings: &Settings, history: &[Set]) -> String {
    let now = Setting::ALL.map(|setting| {
        let bounds = setting.bounds();
        json!({
            "name": setting.name(),
            "value": value(setting, settings),
            "words": setting.shown(settings),
            "about": setting.about(),
            "whose": setting.whose(settings),
            "unit": bounds.map(|(unit, ..)| unit),
            "least": bounds.map(|(_, least, _)| least),
            "most": bounds.map(|(_, _, most)| most),
        })
    });
    let mut changes: Vec<Value> = Vec::new();
    for (before, after) in history.iter().zip(history.iter().skip(1)) {
        for (setting, from, to) in Setting::changes(&before.settings, &after.settings) {
            changes.push(json!({
                "name": setting.name(),
                "from": from,
                "to": to,
                "entry": after.entry,
                "at": after.at,
                "by": after.by,
            }));
        }
    }
    text(&json!({
        "demonstration": settings.demonstration,
        "settings": now,
        "history": changes,
    }))
}

/// A limit as a number, the order as names, everything else as it is typed.
fn value(setting: Setting, settings: &Settings) -> Value {
    match (setting.limit(settings), setting) {
        (Some(limit), _) => json!(limit.value),
        (None, Setting::Order) => json!(settings.order),
        (None, Setting::Paper) => json!(settings.paper),
        (None, _) => json!(setting.shown(settings)),
    }
}

/// What is wrong at one place of a book.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// A stable name.
    pub code: &'static str,
    /// Whose chain; none where it concerns the whole book.
    pub subject: Option<String>,
    /// The entry's number in that chain.
    pub n: Option<u64>,
    /// Its number in the book.
    pub entry: Option<u64>,
    /// What it is and what it means.
    pub words: String,
}

/// What walking a whole book found.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Soundness {
    /// Everything in it is invented, as far as can be told.
    pub demonstration: bool,
    /// Whether nothing is wrong.
    pub sound: bool,
    /// How many entries were read.
    pub entries: u64,
    /// To how many animals, prescriptions, bottles and settings they belong.
    pub subjects: u64,
    /// The first finding of each subject.
    pub damage: Vec<Finding>,
}

/// Whether a book is sound.
pub fn verify(soundness: &Soundness) -> String {
    text(soundness)
}
