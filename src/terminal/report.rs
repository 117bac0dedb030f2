//! The report for the vet on a terminal.

use crate::report::say::{self, HEADS};
use crate::report::{Record, Report};
use crate::round::say as words;
use crate::round::tell::{follow_up_line, kept, need};
use crate::round::{said, say::DEFERRAL};
use crate::terminal::wrapped;

/// The whole report: the weights, the latest first, then course after course.
pub fn report(report: &Report) -> String {
    let animal = &report.patient.animal;
    let mut lines = Vec::new();
    let mut row = |text: &str| lines.push(wrapped(text, "", "   "));
    row(&format!(
        "Report on {}: {}; {}",
        animal.name,
        animal.species,
        words::identification(animal)
    ));
    for vet in &report.vets {
        let out_of_hours = vet.out_of_hours.iter();
        let more: String = out_of_hours
            .map(|n| format!(", out of hours {n}"))
            .collect();
        row(&format!("For {}, {}{more}", vet.name, vet.phone));
    }
    row(DEFERRAL);
    row(&format!("book code {}", report.code));
    if let Some((at, end)) = &report.patient.end {
        let note = end.note.iter().map(|note| format!(": \"{note}\""));
        let note: String = note.collect();
        row(&format!("{}, {}{note}", end.how, say::moment(*at, report)));
    }
    lines.push(String::new());
    weights(report, &mut lines);
    if !report.notes.is_empty() {
        lines.push(String::new());
        lines.push("Seen, the latest first".to_owned());
        for note in report.notes.iter().rev() {
            lines.push(wrapped(&say::note(note, report), "   ", "      "));
        }
    }
    for record in &report.courses {
        lines.push(String::new());
        course(report, record, &mut lines);
    }
    if report.courses.is_empty() {
        lines.push("No course is in the book.".to_owned());
    }
    lines.join("\n")
}

fn weights(report: &Report, lines: &mut Vec<String>) {
    if report.weights.is_empty() {
        lines.push("No weighing is in the book.".to_owned());
        return;
    }
    lines.push("Weights, the latest first".to_owned());
    let limit = report.settings.loss_percent.share();
    for weight in report.weights.iter().rev() {
        let tag = weight.weighing.tag.map(|tag| format!(" ({tag})"));
        let change = match say::change(weight, limit) {
            change if change.is_empty() => change,
            change => format!(", {change}"),
        };
        let text = format!(
            "{}: {}{}{change}",
            say::moment(weight.weighing.at, report),
            weight.weighing.weight,
            tag.unwrap_or_default()
        );
        lines.push(wrapped(&text, "   ", "      "));
    }
    lines.push(wrapped(&say::loss_line(report), "   ", "      "));
}

fn course(report: &Report, record: &Record, lines: &mut Vec<String>) {
    let checked = &record.checked;
    let standing = &checked.standing;
    let prescription = &standing.script.prescription;
    let head = format!(
        "{}, {}: {}",
        prescription.medicine.name,
        prescription.reference,
        words::verdict(&standing.course.verdict)
    );
    lines.push(wrapped(&head, "", "   "));
    let mut row = |text: &str| lines.push(wrapped(text, "   ", "      "));
    row(&format!("written: {}", say::written(record)));
    row(&kept(&standing.course.adherence));
    if let Some(actual) = &checked.actual {
        row(&format!("really given: {}", actual.words()));
    }
    for planned in &record.rows {
        let cells = say::cells(planned, report);
        let [_, due, _, _, measured, weight, rate, within, _] = HEADS;
        let named = [
            (due, cells.planned),
            (measured, cells.measured),
            (weight, cells.weight),
            (rate, cells.rate),
            (within, cells.band),
            ("", cells.beside),
        ];
        let named = named.into_iter().filter(|(_, cell)| !cell.is_empty());
        let rest: Vec<String> = named
            .map(|(name, cell)| format!("{name} {cell}").trim().to_owned())
            .collect();
        let number = match planned.number {
            Some(number) => format!("dose {number}"),
            None => "beside the schedule".to_owned(),
        };
        let what = format!("{number}: {} {}", cells.what, cells.at);
        row(&format!("{}; {}", what.trim(), rest.join("; ")));
    }
    for exception in say::exceptions(record) {
        row(&format!("exception: {exception}"));
    }
    for said in &record.said {
        row(&format!(
            "your vet said: {}",
            said::in_full(said, report.zone)
        ));
    }
    for (lead, own) in words::vet_words(prescription) {
        let lead = if lead.is_empty() { "note" } else { lead };
        row(&format!("{lead}: \"{}\"", own.trim()));
    }
    let left = checked.left.as_ref().map(need);
    row(&format!("left: {}", left.as_deref().unwrap_or("no dose")));
    if let Some(held) = say::in_hand(report, record) {
        row(&format!("in hand: {held}"));
    }
    for follow_up in &checked.follow_ups {
        row(&follow_up_line(follow_up, report.zone));
    }
}
