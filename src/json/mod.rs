//! The face for programs: stable JSON on every reading command, written down in docs/json.md.
//!
//! Promises: each quantity is its exact fraction, what a person is shown, and its UCUM code; each
//! finding has a code, whose limit it is, and its words. It computes nothing.

mod check;
mod keeping;
mod morning;
mod plan;
mod quantity;
mod report;
mod room;
mod round;
mod sheet;
mod stock;

pub use check::check;
pub use keeping::{Finding, Soundness, settings, verify};
pub use morning::{morning, no_book};
pub use plan::plan;
pub use quantity::Quantity;
pub use report::report;
pub use room::{animal, animals, bottles, syringes};
pub use round::{today, working};
pub use sheet::{course, handover, weighin};
pub use stock::stock;

use serde::Serialize;
use serde_json::Value;

/// As [`text`], with what every next command needs after its own words, such as
/// `--book room.scruple`, put behind each.
fn text_with_commands(mut value: Value, common: &str) -> String {
    complete(&mut value, common);
    text(&value)
}

fn complete(value: &mut Value, common: &str) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(|item| complete(item, common)),
        Value::Object(fields) => {
            for (name, value) in fields {
                match value {
                    Value::Array(commands) if name == "commands" => {
                        for command in commands {
                            if let Value::String(command) = command {
                                command.push_str(common);
                            }
                        }
                    }
                    other => complete(other, common),
                }
            }
        }
        _ => {}
    }
}

/// One line of JSON; the values are the program's own, so nothing in them can fail to be written.
fn text(value: &impl Serialize) -> String {
    serde_json::to_string_pretty(value).unwrap_or_else(|error| format!("{{\"error\":\"{error}\"}}"))
}
