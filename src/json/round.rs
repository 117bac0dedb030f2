//! The day and one working for programs.

use crate::caution::{Caution, NoMark};
use crate::dose::{Drawn, InHand, Row, Worked};
use crate::json::check::{follow_up, instruction};
use crate::json::quantity;
use crate::json::room::note;
use crate::json::text;
use crate::notation::print;
use crate::prescription::Vet;
use crate::round::{DayDose, Round, say};
use crate::schedule::Due;
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Serialize, Serializer};
use serde_json::{Value, json};
use std::io::Write;

fn caution(caution: &Caution) -> Value {
    json!({
        "code": caution.code(),
        "level": caution.level(),
        "whose": caution.whose(),
        "words": caution.to_string(),
    })
}

pub(super) fn reason(reason: &NoMark) -> Value {
    json!({ "code": reason.code(), "whose": reason.whose(), "words": reason.to_string() })
}

fn mark(drawn: &Drawn) -> Value {
    let chosen = &drawn.chosen;
    let mark = chosen.mark;
    json!({
        "instrument": chosen.instrument.words(),
        "lines": mark.lines,
        "draws": mark.draws,
        "each": quantity::measure(mark.each),
        "total": quantity::measure(mark.total),
        "spoken": chosen.instrument.spoken(mark.lines).to_string(),
        "count": chosen.instrument.count(mark.lines),
        "holds": quantity::amount(drawn.held),
        "rate_at_the_mark": drawn.rate_at_mark.map(quantity::rate),
        "difference": {
            "exact": quantity::exact(mark.difference),
            "shown": print::percent(mark.difference, None).to_string(),
        },
    })
}

fn rung(row: &Row) -> Value {
    json!({
        "from": quantity::grams(row.first),
        "to": quantity::grams(row.last),
        "each": row.mark.map(|mark| quantity::measure(mark.each)),
        "lines": row.mark.map(|mark| mark.lines),
        "call": row.call,
        "today": row.today,
    })
}

fn worked(worked: &Worked, shows_a_mark: bool, ladder: Vec<Row>) -> Value {
    json!({
        "calculated_dose": worked.calculated.map(|c| quantity::amount(c.amount)),
        "calculated_measure": worked.calculated.map(|c| quantity::measure(c.measure)),
        "capped": worked.calculated.map(|c| c.capped),
        "weight": worked.weight.as_ref().map(|used| json!({
            "weight": quantity::weight(&used.weight),
            "written": used.weight.text(),
            "day": used.day,
            "age_days": used.age,
            "tag": used.tag,
        })),
        "mark": worked.mark.as_ref().ok().filter(|_| shows_a_mark).map(mark),
        "ladder": ladder.iter().map(rung).collect::<Vec<_>>(),
        "working": worked.working,
        "cautions": worked.cautions.iter().map(caution).collect::<Vec<_>>(),
    })
}

pub(super) fn due(due: Due) -> Value {
    match due {
        Due::At(at) => json!({ "at": at }),
        Due::On(day) => json!({ "on": day }),
    }
}

/// One dose of a day.
pub(super) fn dose(dose: &DayDose, now: DateTime<Utc>) -> Value {
    let prescription = &dose.script.prescription;
    let bottle = match dose.in_hand {
        InHand::Bottle(bottle) | InHand::Gone(bottle) => Some(bottle),
        InHand::Unopened | InHand::Reads(_) | InHand::OnPaper => None,
    };
    json!({
        "animal": dose.patient.animal.name,
        "identification": dose.patient.animal.identification,
        "quarantine": dose.patient.animal.quarantine,
        "named_alike": dose.alike.iter().map(|other| &other.name).collect::<Vec<_>>(),
        "prescription": prescription.reference,
        "medicine": prescription.medicine.name,
        "must_read": dose.must_read.as_ref().map(quantity::strength),
        "bottle": bottle.map(|bottle| json!({
            "number": bottle.number,
            "reads": bottle.strength.as_ref().map(quantity::strength),
        })),
        "dose": dose.slot.slot.number,
        "of": dose.of,
        "state": dose.slot.state.to_string(),
        "due": due(dose.slot.due),
        "opens": dose.slot.opens,
        "closes": dose.slot.closes,
        "not_before": dose.not_before(),
        "late": dose.is_late(),
        "call_first": dose.call_first(),
        "written_dose": dose.dose.text(),
        "route": prescription.route.words(),
        "site": dose.site.map(|site| site.words()),
        "last_dose": dose.last.map(|last| json!({
            "entry": last.entry, "at": last.happened, "outcome": last.record.outcome,
        })),
        "notes": say::notes_of_late(dose.patient, now).into_iter().map(note).collect::<Vec<_>>(),
        "no_mark": dose.no_mark.iter().map(reason).collect::<Vec<_>>(),
        "said": dose.said.iter().map(|said| instruction(said)).collect::<Vec<_>>(),
        "worked": dose.worked.as_ref().map(|w| worked(w, dose.drawn().is_some(), dose.ladder())),
        "vet": vet(&prescription.vet),
    })
}

/// Whom to call.
pub(super) fn vet(vet: &Vet) -> Value {
    json!({ "name": vet.name, "phone": vet.phone, "out_of_hours": vet.out_of_hours })
}

/// The day's card, its fields in the order in which they are written.
#[derive(Serialize)]
struct Card<'r> {
    answered: Vec<Value>,
    beside: Vec<Value>,
    book_code: &'r str,
    damaged: &'r [&'r str],
    day: NaiveDate,
    deferral: &'static str,
    demonstration: bool,
    doses: Doses<'r>,
    now: DateTime<Utc>,
    off_card: Vec<Value>,
    zone: &'static str,
}

/// The doses of a day, each put together when its turn comes and dropped once it is written.
struct Doses<'r>(&'r Round<'r>);

impl Serialize for Doses<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let Doses(round) = self;
        to.collect_seq(round.doses.iter().map(|each| dose(each, round.now)))
    }
}

/// Writes the day's card with a line's end.
///
/// # Errors
/// Where it cannot be written.
pub fn today(round: &Round, to: &mut dyn Write) -> std::io::Result<()> {
    let done = round.done.iter();
    let beside = round.beside.iter();
    let off_card = round.off_card.iter();
    let card = Card {
        answered: done
            .map(|done| {
                json!({
                    "animal": done.patient.animal.name,
                    "prescription": done.script.prescription.reference,
                    "dose": done.number,
                    "state": done.state.to_string(),
                    "at": done.at,
                    "extra": done.extra,
                })
            })
            .collect(),
        beside: beside
            .map(|beside| {
                json!({
                    "animal": beside.patient.animal.name,
                    "prescription": beside.script.prescription.reference,
                    "follow_up": follow_up(&beside.follow_up),
                })
            })
            .collect(),
        book_code: &round.code,
        damaged: &round.damaged,
        day: round.day,
        deferral: say::DEFERRAL,
        demonstration: round.settings.demonstration,
        doses: Doses(round),
        now: round.now,
        off_card: off_card
            .map(|other| {
                json!({
                    "animal": other.patient.animal.name,
                    "prescription": other.script.prescription.reference,
                    "level": if other.stops { "stop" } else { "call" },
                    "vet": vet(&other.script.prescription.vet),
                    "words": other.why,
                })
            })
            .collect(),
        zone: round.zone.name(),
    };
    serde_json::to_writer_pretty(&mut *to, &card)?;
    writeln!(to)
}

/// The working of one dose, on paper only.
pub fn working(result: &Worked, demonstration: bool) -> String {
    let reasons: Vec<Value> = match &result.mark {
        Ok(_) => Vec::new(),
        Err(reasons) => reasons.iter().map(reason).collect(),
    };
    text(&json!({
        "demonstration": demonstration,
        "deferral": say::DEFERRAL,
        "no_mark": reasons,
        "worked": worked(result, true, result.ladder()),
    }))
}
