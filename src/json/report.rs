//! The report on one animal for programs.

use crate::json::check::{checked, instruction};
use crate::json::quantity;
use crate::json::room::note;
use crate::json::round::due;
use crate::json::stock::supply;
use crate::json::text_with_commands;
use crate::report::say::cells;
use crate::report::{Record, Report, Row};
use serde_json::{Value, json};

/// The whole report.
///
/// `common` is what every next command needs after its own words, such as `--book room.scruple`.
pub fn report(report: &Report, common: &str) -> String {
    let animal = &report.patient.animal;
    let weights = report.weights.iter().map(|weight| {
        json!({
            "entry": weight.weighing.entry,
            "at": weight.weighing.at,
            "weight": quantity::weight(&weight.weighing.weight),
            "tag": weight.weighing.tag.map(|tag| tag.words()),
            "from_the_high": weight.change.map(quantity::exact),
            "call_at_grams": weight.call_at.map(quantity::exact),
        })
    });
    let value = json!({
        "demonstration": report.settings.demonstration,
        "animal": animal.name,
        "species": animal.species,
        "identification": animal.identification,
        "now": report.now,
        "zone": report.zone.name(),
        "book_code": report.code,
        "ended": report.patient.end.as_ref().map(|(at, end)| json!({ "how": end.how, "at": at, "note": end.note })),
        "damaged": report.damaged,
        "weights": weights.collect::<Vec<Value>>(),
        "notes": report.notes.iter().map(|one| note(one)).collect::<Vec<_>>(),
        "stock": report.stock.iter().map(supply).collect::<Vec<_>>(),
        "courses": report.courses.iter().map(|record| course(record, report)).collect::<Vec<_>>(),
    });
    text_with_commands(value, common)
}

fn course(record: &Record, report: &Report) -> Value {
    json!({
        "course": checked(&record.checked),
        "rows": record.rows.iter().map(|one| row(one, report)).collect::<Vec<_>>(),
        "instructions": record.said.iter().map(|said| instruction(said)).collect::<Vec<_>>(),
    })
}

fn row(row: &Row, report: &Report) -> Value {
    let words = cells(row, report);
    let given = row.given.as_ref();
    json!({
        "dose": row.number,
        "due": row.due.map(due),
        "what": words.what,
        "entry": given.map(|given| given.dose.entry),
        "at": given.map(|given| given.dose.happened),
        "measured": given.and_then(|given| given.measured).map(quantity::measure),
        "weight": given.and_then(|given| given.weight.as_ref()).map(quantity::weight),
        "really_given": given.and_then(|given| given.rate).map(quantity::rate),
        "band": given.and_then(|given| given.band).map(quantity::exact),
        "beside": words.beside,
    })
}
