//! The verdict on courses, on a terminal.

use crate::round::tell::{follow_up_line, kept, need};
use crate::round::{Checked, FollowUpState};
use crate::round::{said, say, step_about, typed_name, waiting};
use crate::schedule::Zone;
use crate::terminal::wrapped;
use chrono::{DateTime, Utc};

/// One course after another: the verdict, the reasons with what to do, how closely it was kept,
/// what is next and what is left.
///
/// `common` is what every next command needs after its own words, such as `--book room.scruple`.
pub fn check(courses: &[Checked], zone: Zone, now: DateTime<Utc>, common: &str) -> String {
    let mut lines = Vec::new();
    for checked in courses {
        if !lines.is_empty() {
            lines.push(String::new());
        }
        one(checked, zone, now, common, &mut lines);
    }
    if courses.is_empty() {
        lines.push("No course is in the book yet.".to_owned());
    }
    lines.join("\n")
}

fn one(checked: &Checked, zone: Zone, now: DateTime<Utc>, common: &str, lines: &mut Vec<String>) {
    let standing = &checked.standing;
    let (prescription, course) = (&standing.script.prescription, &standing.course);
    let head = format!(
        "{}, {} ({}): {}",
        standing.patient.animal.name,
        prescription.reference,
        prescription.medicine.name,
        say::verdict(&course.verdict)
    );
    lines.push(wrapped(&head, "", "   "));
    let mut row = |text: &str| {
        // A command is left on one line, to be copied as it stands.
        lines.push(match text.strip_prefix("scruple ") {
            Some(_) => format!("      {text}{common}"),
            None => wrapped(text, "   ", "      "),
        });
    };
    let mut advised = String::new();
    for (remark, step) in checked.reasons() {
        let slot = remark.slot.map(|slot| format!("dose {slot}: "));
        let entry = remark.record.map(|entry| format!(" (entry {entry})"));
        row(&format!(
            "{}{}{}",
            slot.unwrap_or_default(),
            remark.words(),
            entry.unwrap_or_default()
        ));
        let Some(step) = step else { continue };
        // The same advice for one dose after another is said once.
        if advised != step.words {
            row(&step.words);
        }
        advised = step.words;
        for command in &step.commands {
            row(command);
        }
    }
    for flagged in &checked.flagged {
        let entry = flagged.dose.entry;
        row(&format!(
            "entry {entry}: {}: call your vet now",
            flagged.words
        ));
        let step = step_about(standing, flagged.dose);
        if advised != step.words {
            row(&step.words);
        }
        step.commands.iter().for_each(|command| row(command));
        advised = step.words;
    }
    for why in &checked.calls {
        let phone = &prescription.vet.phone;
        row(&format!("CALL {phone} before the next dose. {why}"));
    }
    row(&kept(&course.adherence));
    if let Some(actual) = &checked.actual {
        row(&format!("really given: {}", actual.words()));
    }
    if let Some(next) = course.next.and_then(|number| course.slot(number)) {
        row(&match checked.is_held {
            true => {
                let due = say::due_from(next.due, now, zone);
                let number = next.slot.number;
                format!("next: dose {number}, due {due}, once your vet has spoken")
            }
            false => format!("next: {}", waiting(next, zone, now)),
        });
    }
    if let Some(left) = &checked.left {
        row(&format!("left: {}", need(left)));
    }
    for said in &checked.unfinished {
        row(&format!("your vet said: {}", said::in_full(said, zone)));
        let flag = |wanted: bool, flag: &'static str| if wanted { flag } else { "" };
        let instruction = &said.instruction;
        row(&format!(
            "scruple confirm {}{}{}",
            said.entry,
            flag(!instruction.read_back, " --read-back"),
            flag(instruction.paper_awaited, " --paper-came"),
        ));
    }
    for follow_up in &checked.follow_ups {
        row(&follow_up_line(follow_up, zone));
        if matches!(
            follow_up.state,
            FollowUpState::Due | FollowUpState::Overdue(_)
        ) {
            row(&format!(
                "scruple done {} {} {}",
                typed_name(&standing.patient.animal.name),
                typed_name(&prescription.reference),
                follow_up.number
            ));
        }
    }
}
