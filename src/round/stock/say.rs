//! The words of what is needed and what is in hand, as every face says them.
//!
//! Promises: safe notation; no figure here is a mark to draw to. Nothing is computed here.

use crate::bottle::Usable;
use crate::notation::print;
use crate::quantity::Measure;
use crate::round::stock::{InBottle, Lasts, Supply, Unmarked};
use chrono::NaiveDate;

/// "must read 8 mg/mL".
#[must_use]
pub fn must_read(supply: &Supply) -> String {
    match &supply.must_read {
        Some(strength) => format!("must read {strength}"),
        None => "no strength on the label".to_owned(),
    }
}

/// "2 doses of Thimblo, DEMO-0001: the weight is too old".
#[must_use]
pub fn without_mark(left_out: &Unmarked) -> String {
    format!(
        "{} of {}, {}: {}",
        doses(left_out.doses),
        left_out.patient.animal.name,
        left_out.script.prescription.reference,
        lower(left_out.why)
    )
}

/// "1.715 mL for 14 doses: 0.735 mL in marks and 0.98 mL in the hubs of 14 draws".
#[must_use]
pub fn needed(supply: &Supply) -> String {
    let count = u32::try_from(supply.doses.len()).unwrap_or(u32::MAX);
    let (Some(marks), Some(all)) = (supply.need.total, supply.need.in_all()) else {
        return "no dose has a mark today".to_owned();
    };
    let hubs = Measure::Volume(supply.need.hub_loss);
    if supply.need.hub_loss.is_zero() {
        return format!("{} for {}", print::measure(all), doses(count));
    }
    format!(
        "{} for {}: {} in marks and {} in the hubs of {} draws",
        print::measure(all),
        doses(count),
        print::measure(marks),
        print::measure(hubs),
        print::count(u64::from(supply.need.draws))
    )
}

fn doses(count: u32) -> String {
    match count {
        1 => "1 dose".to_owned(),
        count => format!("{} doses", print::count(u64::from(count))),
    }
}

/// Bottle by bottle, then how far it goes, for paper: "bottle 1: 9.2 mL left; use through 1 April
/// 2001. It lasts to the end of every course."
#[must_use]
pub fn in_hand(supply: &Supply) -> String {
    if supply.bottles.is_empty() {
        return "no bottle of it is in the book.".to_owned();
    }
    let mut said: Vec<String> = supply.bottles.iter().map(|b| bottle(b, None)).collect();
    if supply.lasts != Lasts::NotKnown {
        said.push(match lasts(supply).as_str() {
            "not known" => "How long it lasts is not known".to_owned(),
            lasts => format!("It lasts {lasts}"),
        });
    }
    format!("{}.", said.join(". "))
}

/// One bottle and what is left in it; where nobody wrote that down, `command` is what to type.
#[must_use]
pub fn bottle(held: &InBottle, command: Option<&str>) -> String {
    let bottle = held.bottle;
    let mut text = format!("bottle {}: ", bottle.number);
    match held.left {
        Some(left) => text.push_str(&format!("{} left", print::measure(left))),
        None => text.push_str("nobody wrote down what it holds"),
    }
    if let (None, Some(command)) = (held.left, command) {
        text.push_str(&format!(" ({command} {} AMOUNT)", bottle.number));
    }
    if held.unmeasured > 0 {
        text.push_str(&format!(
            " at the most: {} drawn from it without an amount in the book",
            doses(held.unmeasured)
        ));
    }
    if held.overdrawn {
        text.push_str("; by the book more was drawn than it held: look at it");
    }
    let batch = bottle.batch.as_ref();
    if let Some(frozen) = batch.and_then(|batch| batch.frozen()) {
        text.push_str(&format!("; {frozen} aliquots still frozen"));
    }
    match held.usable {
        Usable::Through(on) | Usable::NotYetOpen(on) => {
            text.push_str(&format!("; use through {}", day(on)));
        }
        Usable::Expired(on) => {
            text.push_str(&format!("; EXPIRED after {}: set it aside", day(on)));
        }
        Usable::PastDiscard(on) if held.counts() => {
            text.push_str(&format!(
                "; the thawed aliquot was to be used through {}",
                day(on)
            ));
        }
        Usable::PastDiscard(on) => {
            text.push_str(&format!("; DISCARD: its time ended after {}", day(on)));
        }
    }
    if !held.fits {
        let reads = bottle.strength.as_ref();
        text.push_str(&format!(
            "; it reads {}, so it does not count",
            reads.map_or("no strength", |strength| strength.text())
        ));
    }
    text
}

/// How far what is in hand goes, and the first dose that it does not cover.
#[must_use]
pub fn lasts(supply: &Supply) -> String {
    match supply.lasts {
        Lasts::NotKnown => "not known".to_owned(),
        Lasts::ToTheEnd if supply.doses.is_empty() => "not known".to_owned(),
        Lasts::ToTheEnd if supply.without_mark.is_empty() => {
            "to the end of every course".to_owned()
        }
        Lasts::ToTheEnd => "to the end of the doses that have a mark".to_owned(),
        Lasts::RunsOut {
            on,
            first,
            doses: count,
            lacking,
        } => {
            let whose = supply.doses.get(first).map_or(String::new(), |dose| {
                format!(
                    ": dose {} of {} for {} is the first not covered",
                    dose.number, dose.script.prescription.reference, dose.patient.animal.name
                )
            });
            let lacking = lacking.map_or(String::new(), |lacking| {
                let uncovered = doses(count);
                format!("; {uncovered} not covered, {}", print::measure(lacking))
            });
            format!("until {}{whose}{lacking}. Ask your vet in time", day(on))
        }
    }
}

/// "8 March 2001".
fn day(day: NaiveDate) -> impl std::fmt::Display {
    day.format("%-d %B %Y")
}

/// A headline within a sentence.
fn lower(headline: &str) -> String {
    let mut letters = headline.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_lowercase().collect::<String>() + letters.as_str()
    })
}
