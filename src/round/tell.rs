//! What is left, what comes beside, and how closely a course was kept, as every face says it.
//!
//! Promises: safe notation; the vet's own words in quotation marks. Nothing is computed here.

use crate::course::Adherence;
use crate::ledger::Ledger;
use crate::notation::print;
use crate::round::{FollowUp, FollowUpState, Need, say};
use crate::schedule::Zone;

/// What of the book is damaged, and what that means for whatever is shown with it.
pub fn damage<S: AsRef<str>>(parts: &[S]) -> String {
    let parts: Vec<&str> = parts.iter().map(AsRef::as_ref).collect();
    format!(
        "Part of the book is damaged: {}. What depends on it has no mark, or is not shown here at all. Look at your last copy of the book.",
        parts.join(", ")
    )
}

/// The same as the first thing that is said, where anything is damaged.
pub fn damage_first(ledger: &Ledger) -> Option<String> {
    let parts: Vec<&String> = ledger.damaged.iter().collect();
    (!parts.is_empty()).then(|| format!("STOP. {}", damage(&parts)))
}

/// "4 doses, 0.3 mL; 0.28 mL stays in the hubs, 0.58 mL in all".
pub fn need(need: &Need) -> String {
    let noun = if need.doses == 1 { "dose" } else { "doses" };
    let mut text = format!("{} {noun}", print::count(u64::from(need.doses)));
    if let Some(total) = need.total {
        text.push_str(&format!(", {}", print::measure(total)));
        if let Some(in_all) = need.in_all().filter(|_| !need.hub_loss.is_zero()) {
            text.push_str(&format!(
                "; {} stays in the hubs, {} in all",
                print::volume(need.hub_loss),
                print::measure(in_all)
            ));
        }
    }
    if need.total.is_some() {
        text.push_str(" (not a mark)");
    }
    if let Some(why) = &need.why {
        let which = if need.without_mark == need.doses {
            String::new()
        } else {
            format!(" of {}", print::count(u64::from(need.without_mark)))
        };
        text.push_str(&format!("; no mark{which}: {}", why.headline()));
    }
    text
}

/// "then: "Demonstration visit", 14 days after the last dose given: Mon 2 April, to come".
pub fn follow_up_line(follow_up: &FollowUp, zone: Zone) -> String {
    let due = follow_up.due.map(|due| {
        let about = if follow_up.provisional {
            "if all goes as planned "
        } else {
            ""
        };
        format!(": {about}{}", say::due(due, zone))
    });
    let state = match follow_up.state {
        FollowUpState::Waits if follow_up.due.is_none() => "; no date yet".to_owned(),
        FollowUpState::Waits => String::new(),
        FollowUpState::Ahead => ", to come".to_owned(),
        FollowUpState::Due => ", DUE TODAY".to_owned(),
        FollowUpState::Overdue(1) => ", OVERDUE by 1 day".to_owned(),
        FollowUpState::Overdue(days) => {
            format!(", OVERDUE by {} days", print::count(u64::from(days)))
        }
        FollowUpState::Done { entry, at } => {
            format!(", done {} (entry {entry})", say::moment(at, zone))
        }
    };
    format!(
        "then: \"{}\", {}{}{state}",
        follow_up.what,
        follow_up.rule,
        due.unwrap_or_default()
    )
}

/// How closely the schedule was kept: "given in its window: 3; longest gap 72 h 0 min".
pub fn kept(adherence: &Adherence) -> String {
    let mut parts = vec![format!("given in its window: {}", adherence.in_window)];
    let mut add = |n: u32, what: &str| {
        if n > 0 {
            parts.push(format!("{what}: {n}"));
        }
    };
    add(adherence.late, "given late");
    add(adherence.too_soon, "given too soon");
    add(adherence.in_part, "in part");
    add(adherence.unsure, "unsure");
    add(adherence.not_given, "not given");
    add(adherence.not_recorded, "not recorded");
    add(adherence.extra, "beside the schedule");
    if let Some(gap) = adherence.longest_gap {
        let hours = u64::try_from(gap.num_hours()).unwrap_or(0);
        let minutes = gap.num_minutes() % 60;
        parts.push(format!(
            "longest gap {} h {minutes} min",
            print::count(hours)
        ));
    }
    parts.join("; ")
}
