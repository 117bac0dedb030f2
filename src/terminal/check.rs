//! The verdict on courses, on a terminal.

use crate::course::{Adherence, Remark, Verdict, What};
use crate::notation::print;
use crate::round::{Standing, say};
use crate::schedule::Zone;
use crate::terminal::wrapped;

/// One course after another: the verdict, the reasons, how closely it was kept, what is next.
pub fn check(standings: &[Standing], zone: Zone) -> String {
    let mut lines = Vec::new();
    for standing in standings {
        if !lines.is_empty() {
            lines.push(String::new());
        }
        one(standing, zone, &mut lines);
    }
    if standings.is_empty() {
        lines.push("No course is in the book yet.".to_owned());
    }
    lines.join("\n")
}

fn one(standing: &Standing, zone: Zone, lines: &mut Vec<String>) {
    let prescription = &standing.script.prescription;
    let head = format!(
        "{}, {} ({}): {}",
        standing.patient.animal.name,
        prescription.reference,
        prescription.medicine.name,
        say::verdict(&standing.course.verdict)
    );
    lines.push(wrapped(&head, "", "   "));
    let remarks: &[Remark] = match &standing.course.verdict {
        Verdict::NeedsAttention(remarks) | Verdict::CompleteWithExceptions(remarks) => remarks,
        _ => &[],
    };
    for remark in remarks {
        let slot = remark
            .slot
            .map_or(String::new(), |slot| format!("dose {slot}: "));
        lines.push(wrapped(&format!("{slot}{}", remark.what), "   ", "      "));
    }
    if remarks
        .iter()
        .any(|remark| remark.needs_attention && remark.what != What::LateNow)
    {
        lines.push(wrapped(
            &format!("Call {}: {}", prescription.vet.name, prescription.vet.phone),
            "   ",
            "      ",
        ));
    }
    lines.push(wrapped(&kept(&standing.course.adherence), "   ", "      "));
    if let Some(next) = standing
        .course
        .next
        .and_then(|number| standing.course.slot(number))
    {
        let due = say::due(next.due, zone);
        let text = format!(
            "next: dose {}, due {due} ({})",
            next.slot.number, next.state
        );
        lines.push(wrapped(&text, "   ", "      "));
    }
}

fn kept(adherence: &Adherence) -> String {
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
