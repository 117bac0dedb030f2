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
use chrono::{DateTime, Utc};
use serde_json::{Value, json};

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

fn worked(worked: &Worked, shows_a_mark: bool, ladder: &[Row]) -> Value {
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

/// The day's card.
pub fn today(round: &Round) -> String {
    text(&json!({
        "demonstration": round.settings.demonstration,
        "day": round.day,
        "now": round.now,
        "zone": round.zone.name(),
        "book_code": round.code,
        "deferral": say::DEFERRAL,
        "damaged": round.damaged,
        "off_card": round.off_card.iter().map(|other| json!({
            "animal": other.patient.animal.name,
            "prescription": other.script.prescription.reference,
            "level": if other.stops { "stop" } else { "call" },
            "vet": vet(&other.script.prescription.vet),
            "words": other.why,
        })).collect::<Vec<_>>(),
        "doses": round.doses.iter().map(|d| dose(d, round.now)).collect::<Vec<_>>(),
        "answered": round.done.iter().map(|done| json!({
            "animal": done.patient.animal.name,
            "prescription": done.script.prescription.reference,
            "dose": done.number,
            "state": done.state.to_string(),
            "at": done.at,
            "extra": done.extra,
        })).collect::<Vec<_>>(),
        "beside": round.beside.iter().map(|beside| json!({
            "animal": beside.patient.animal.name,
            "prescription": beside.script.prescription.reference,
            "follow_up": follow_up(&beside.follow_up),
        })).collect::<Vec<_>>(),
    }))
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
        "worked": worked(result, true, &result.ladder),
    }))
}
