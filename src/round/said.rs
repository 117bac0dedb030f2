//! What the vet said by phone or in person, in words, and what is still wanting about it.
//!
//! Promises: every instruction is said with who said it, who took it, when, and whether it was
//! read back. What an instruction changes is worked out elsewhere.

use crate::entry::Order;
use crate::ledger::Said;
use crate::round::dose::said_by;
use crate::round::{Standing, say};
use crate::schedule::Zone;
use chrono::{DateTime, Utc};

/// What an order changes: "from dose 3 on, 10 mg/kg".
pub fn order(order: &Order) -> String {
    match order {
        Order::Rate { from, rate } => format!("from dose {from} on, {rate} each time"),
        Order::Fixed { from, amount } => format!("from dose {from} on, {amount} each time"),
        Order::Application { from, words } => format!("from dose {from} on: \"{words}\""),
        Order::Strength { from, strength } => {
            format!("from dose {from} on, drawn from a bottle that reads {strength}")
        }
        Order::Stop { from: 1 } => "no dose of this course from now on".to_owned(),
        Order::Stop { from } => format!("no dose from dose {from} on"),
        Order::Resume { from } => {
            format!("doses again from dose {from} on; what was stopped before it stays out")
        }
        Order::Skip { slot } => format!("dose {slot} is left out"),
        Order::AcceptWeight { slot, weight } => format!("dose {slot} goes by {weight}"),
        Order::DoseNow { slot } => format!("dose {slot} may be given now"),
        Order::Settled { entry } => format!("entry {entry} is known, and how to go on is said"),
        Order::Review { on } => {
            format!("it goes on, to be reviewed on {}", on.format("%-d %B %Y"))
        }
    }
}

/// The whole instruction: what, who to whom, when, and how sure.
pub fn instruction(said: &Said, zone: Zone) -> String {
    let what = order(&said.instruction.order);
    let said_by = &said.instruction.said_by;
    let taken_by = &said.instruction.taken_by;
    let at = say::moment(said.at, zone);
    let wanting = wanting(said);
    let wanting = if wanting.is_empty() {
        "read back".to_owned()
    } else {
        wanting.join(", ")
    };
    format!(
        "{what}: {said_by} to {taken_by}, {at}, {wanting} (entry {})",
        said.entry
    )
}

/// The same with the vet's own words, where some were written down.
pub fn in_full(said: &Said, zone: Zone) -> String {
    let own = said.instruction.words.as_ref();
    let own = own.map(|own| format!("; \"{}\"", own.trim()));
    format!("{}{}", instruction(said, zone), own.unwrap_or_default())
}

/// What is still wanting about an instruction.
pub fn wanting(said: &Said) -> Vec<&'static str> {
    let mut wanting = Vec::new();
    if !said.instruction.read_back {
        wanting.push("NOT READ BACK");
    }
    if said.instruction.paper_awaited {
        wanting.push("paper awaited");
    }
    wanting
}

/// The instructions about a course that still want something, in the order they were said. One
/// that a later one has put out of force wants nothing any more.
pub fn unfinished<'l>(standing: &Standing<'l>, now: DateTime<Utc>) -> Vec<&'l Said> {
    let all: Vec<&Said> = said_by(standing.patient, standing.script, now).collect();
    let in_force = |place: usize, said: &Said| {
        let later = all.iter().skip(place + 1);
        let mut later = later.map(|later| &later.instruction.order);
        !later.any(|later| replaces(later, &said.instruction.order))
    };
    let each = all.iter().enumerate();
    each.filter(|(place, said)| !wanting(said).is_empty() && in_force(*place, said))
        .map(|(_, said)| *said)
        .collect()
}

/// Whether a later order says all there is to say about the same thing.
fn replaces(later: &Order, earlier: &Order) -> bool {
    match (later, earlier) {
        (Order::Resume { .. }, Order::Stop { .. } | Order::Resume { .. })
        | (Order::Stop { .. }, Order::Resume { .. }) => true,
        (Order::Rate { from: later, .. }, Order::Rate { from, .. })
        | (Order::Fixed { from: later, .. }, Order::Fixed { from, .. })
        | (Order::Application { from: later, .. }, Order::Application { from, .. })
        | (Order::Strength { from: later, .. }, Order::Strength { from, .. })
        | (Order::Stop { from: later }, Order::Stop { from }) => later <= from,
        (Order::AcceptWeight { slot: later, .. }, Order::AcceptWeight { slot, .. }) => {
            later == slot
        }
        (Order::Review { .. }, Order::Review { .. }) => true,
        _ => false,
    }
}
