//! The morning look on a terminal.

use crate::round::{Kind, Morning, Waiting};
use crate::terminal::wrapped;

/// What waits, the most pressing first, each with the commands to type next; quiet when nothing
/// does.
///
/// `common` is what every next command needs after its own words, such as `--book room.scruple`.
pub fn morning(morning: &Morning, common: &str) -> String {
    let local = morning.now.with_timezone(&morning.zone);
    let mut lines = vec![local.format("%A %-d %B %Y, %H:%M").to_string()];
    let mut heading = None;
    let mut advised = "";
    for waits in &morning.waiting {
        if heading != Some(waits.kind) {
            lines.push(String::new());
            lines.push(head(waits.kind).to_owned());
            heading = Some(waits.kind);
            advised = "";
        }
        lines.push(wrapped(&waits.words, "   ", "      "));
        // The same advice for one thing after another is said once.
        if advised != waits.step.words {
            lines.push(wrapped(&waits.step.words, "      ", "      "));
        }
        advised = &waits.step.words;
        // A command is left on one line, to be copied as it stands.
        let commands = waits.step.commands.iter();
        lines.extend(commands.map(|command| format!("      {command}{common}")));
    }
    lines.push(String::new());
    if morning.waiting.is_empty() {
        lines.push("Nothing is waiting.".to_owned());
    }
    if !morning.later.is_empty() {
        lines.push("Later today".to_owned());
        let later = morning.later.iter();
        lines.extend(later.map(|later| wrapped(&later.words(morning.zone), "   ", "      ")));
        lines.push(String::new());
    }
    if let Some(next) = morning.next.as_ref().filter(|_| morning.waiting.is_empty()) {
        let text = format!("The next dose: {}", next.words(morning.zone));
        lines.push(wrapped(&text, "", "   "));
    }
    if morning.waiting.iter().any(has_a_card) || !morning.later.is_empty() {
        lines.push("The day's card, and the same dose by dose:".to_owned());
        lines.push(format!("      scruple today{common}"));
        lines.push(format!("      scruple round{common}"));
    }
    lines.join("\n").trim_end().to_owned()
}

fn has_a_card(waits: &Waiting) -> bool {
    matches!(
        waits.kind,
        Kind::Call | Kind::Late | Kind::NotRecorded | Kind::Held | Kind::Open
    )
}

const fn head(kind: Kind) -> &'static str {
    match kind {
        Kind::Book => "STOP: the book",
        Kind::Call => "CALL first",
        Kind::Late => "LATE",
        Kind::NotRecorded => "Not recorded",
        Kind::Held => "Held",
        Kind::ForTheVet => "For your vet",
        Kind::Open => "Open now",
        Kind::Weight => "Weights",
        Kind::Bottle => "Bottles",
        Kind::FollowUp => "Beside the doses",
        Kind::Instruction => "What your vet said",
        Kind::Begin => "To begin",
    }
}
