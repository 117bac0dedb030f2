//! From the typed tree to the meaning: every field of the form, each read and checked by itself.
//!
//! Promises: every field is read even when another is at fault, so that all faults come out at
//! once. What two fields say to each other is judged in `agree`.

use crate::notation::{self, fold};
use crate::prescription::agree;
use crate::prescription::dose::{Dose, Route, Site};
use crate::prescription::fault::{At, Found};
use crate::prescription::fields::{Fields, list, variant};
use crate::prescription::label::LabelCheck;
use crate::prescription::made_up::MadeUp;
use crate::prescription::recipe::{Minutes, Vial};
use crate::prescription::typed::Node;
use crate::prescription::values;
use crate::prescription::{
    FollowUp, FollowUpDate, Medicine, Prescription, Vet, Weighed, WeightBasis, timing,
};
use crate::quantity::{Amount, BodyWeight, Span, Volume};
use crate::rack::{Cut, Rounding};
use crate::schedule::{AfterLate, Count};

/// Every field of a prescription file, in the order of docs/prescription-form.md.
pub const FIELDS: [&str; 35] = [
    "demonstration",
    "reference",
    "written",
    "valid_until",
    "vet",
    "animals",
    "weighed",
    "medicine",
    "same_as",
    "dose",
    "max_dose",
    "max_per_day",
    "max_per_site",
    "round",
    "tolerance",
    "tablets",
    "route",
    "sites",
    "apart",
    "recipe",
    "lasts",
    "schedule",
    "start",
    "after_late",
    "count",
    "window",
    "weigh_every",
    "weight_basis",
    "weigh",
    "if_missed",
    "if_brought_up",
    "stop_and_call_if",
    "vet_notes",
    "label_check",
    "follow_ups",
];

/// Reads the whole of it; nothing where a part that is needed could not be read.
pub(super) fn prescription(node: &Node, source: &str, found: &mut Found) -> Option<Prescription> {
    let fields = Fields::of(node, "Prescription", &FIELDS, found)?;
    let own = |field: &'static str| fields.get(field);

    let demonstration = own("demonstration").and_then(|node| values::yes_or_no(node, found));
    let reference = fields
        .need("reference", "what this prescription is called by", found)
        .and_then(|node| values::reference(node, found));
    let written = fields
        .need("written", "the date your vet wrote it", found)
        .and_then(|node| values::date(node, found));
    let valid_until = own("valid_until").and_then(|node| values::date(node, found));
    let vet = fields
        .need("vet", "who wrote it, and the number to call", found)
        .and_then(|node| vet(node, found));
    let animals = fields
        .need("animals", "the animals it is for, by name", found)
        .and_then(|node| names(node, "animals by name", found));
    let weighed = own("weighed").and_then(|node| weighed(node, found));
    let same_as =
        own("same_as").and_then(|node| names(node, "other names of this medicine", found));
    let medicine = fields
        .need("medicine", "what is given, as the label has it", found)
        .and_then(|node| medicine(node, same_as.unwrap_or_default(), found));

    const AMOUNT: &str =
        "the most one dose may come to, in mg, mcg, units, mL, tablets or g of paste";
    let max_dose = own("max_dose").and_then(|node| values::quantity::<Amount>(node, AMOUNT, found));
    const OF_A_DAY: &str =
        "the most one day may come to, in mg, mcg, units, mL, tablets or g of paste";
    let max_per_day =
        own("max_per_day").and_then(|node| values::quantity::<Amount>(node, OF_A_DAY, found));
    const PER_SITE: &str = "the most one site may take, in mL";
    let max_per_site =
        own("max_per_site").and_then(|node| values::quantity::<Volume>(node, PER_SITE, found));
    let rounding = own("round").and_then(|node| rounding(node, found));
    const TOLERANCE: &str = "how far the mark may be from the dose: a figure and 'percent'";
    let tolerance = own("tolerance")
        .and_then(|node| values::written(node, TOLERANCE, notation::percent, found));
    let tablets = own("tablets").and_then(|node| cut(node, found));
    let route = fields
        .need(
            "route",
            "how it goes in: Injection, ByMouth, or another way",
            found,
        )
        .and_then(|node| Route::read(node, found));
    let sites = own("sites").and_then(|node| sites(node, found));

    const APART: &str = "the time between this and anything else there, in minutes";
    let apart = own("apart").and_then(|node| Minutes::read(node, APART, found));
    const STEPS: &str = "the steps of the recipe in order, in your vet's words";
    let recipe = own("recipe").and_then(|node| values::all_words(node, STEPS, found));
    const LASTS: &str = "how long it lasts from start to stop, in minutes";
    let lasts = own("lasts").and_then(|node| Minutes::read(node, LASTS, found));

    let timing = fields
        .need("schedule", "when it is given, and its end", found)
        .and_then(|node| timing::read(node, found));
    let doses = doses(&fields, timing.as_ref(), found);
    let after_late = fields
        .need(
            "after_late",
            "what your vet wants after a late dose: CountFromGiven, KeepCalendar or Call; if your vet has not said, ask",
            found,
        )
        .and_then(|node| after_late(node, found));
    let count = own("count").and_then(|node| count(node, found));
    const WINDOW: &str =
        "how far from its time a dose may be given, either way, in hours, days or weeks";
    let window = own("window").and_then(|node| values::quantity::<Span>(node, WINDOW, found));
    let start = own("start").and_then(|node| values::start(node, found));

    let weigh_every = own("weigh_every").and_then(|node| days(node, found));
    let weight_basis = own("weight_basis").and_then(|node| weight_basis(node, found));
    let weigh = own("weigh").and_then(|node| variant(node, &["BeforeEachDose"], found));
    let weigh_before_each_dose = weigh.and_then(|weigh| weigh.alone(found)).is_some();

    const TO_DO: &str = "what to do then, in your vet's words";
    let if_missed = own("if_missed").and_then(|node| values::words(node, TO_DO, found));
    let if_brought_up = own("if_brought_up").and_then(|node| values::words(node, TO_DO, found));
    const SIGNS: &str = "the signs at which to stop and call, in your vet's words";
    let stop_and_call_if =
        own("stop_and_call_if").and_then(|node| values::all_words(node, SIGNS, found));
    const NOTES: &str = "your vet's notes";
    let vet_notes = own("vet_notes").and_then(|node| values::all_words(node, NOTES, found));
    let label_check = own("label_check").and_then(|node| LabelCheck::read(node, found));
    let follow_ups = own("follow_ups").and_then(|node| follow_ups(node, found));

    // Without the vet's word on a late dose the schedule can still be checked, as below.
    let timing = timing?;
    let schedule = agree::schedule(
        &fields,
        &timing,
        after_late.unwrap_or(AfterLate::Call),
        count.unwrap_or_default(),
        window.map(|window| window.value()),
        found,
    );
    let doses = doses?;
    let places: Vec<At> = doses.iter().map(|(_, at)| at.clone()).collect();
    // Without these three the rest can still be checked. What stands in for them is never seen:
    // each has its fault by now, and a prescription with a fault is not given out.
    let reference = reference.unwrap_or_default();
    let animals = animals.unwrap_or_default();
    let vet = vet.unwrap_or_default();
    let medicine = medicine?;
    let prescription = Prescription {
        source: source.to_owned(),
        known_as: medicine.names().map(fold::fold).collect(),
        demonstration: demonstration.unwrap_or_default(),
        reference,
        written: written?,
        valid_until,
        vet,
        animals,
        weighed: weighed.unwrap_or_default(),
        medicine,
        doses: doses.into_iter().map(|(dose, _)| dose).collect(),
        max_dose,
        max_per_day,
        max_per_site,
        rounding: rounding.unwrap_or_default(),
        tolerance,
        tablets: tablets.unwrap_or_default(),
        route: route?,
        sites: sites.unwrap_or_default(),
        apart,
        recipe: recipe.unwrap_or_default(),
        lasts,
        schedule: schedule?,
        start,
        weigh_every,
        weight_basis: weight_basis.unwrap_or_default(),
        weigh_before_each_dose,
        if_missed,
        if_brought_up,
        stop_and_call_if: stop_and_call_if.unwrap_or_default(),
        vet_notes: vet_notes.unwrap_or_default(),
        label_check,
        follow_ups: follow_ups.unwrap_or_default(),
    };
    agree::fields(&prescription, &fields, &places, &timing, found);
    Some(prescription)
}

/// The one dose, or those of the phases.
fn doses(
    fields: &Fields,
    timing: Option<&timing::Timing>,
    found: &mut Found,
) -> Option<Vec<(Dose, At)>> {
    if fields.get("schedule").is_some_and(timing::has_phases) {
        fields.refuse(
            "dose",
            "every phase of the schedule has a dose of its own, so none stands here",
            "no dose beside Phases",
            found,
        );
        return timing.map(|timing| timing.doses.clone());
    }
    let node = fields.need("dose", "PerBodyWeight, PerDay, Fixed or Application", found)?;
    Some(vec![(Dose::read(node, found)?, node.at.clone())])
}

fn vet(node: &Node, found: &mut Found) -> Option<Vet> {
    const KNOWN: [&str; 4] = ["name", "practice", "phone", "out_of_hours"];
    let fields = Fields::of(node, "Vet", &KNOWN, found)?;
    let name = fields
        .need("name", "the vet's name", found)
        .and_then(|node| values::name(node, "the vet's name", found));
    let practice = fields.get("practice");
    let practice = practice.and_then(|node| values::name(node, "the practice", found));
    let phone = fields
        .need("phone", "the number to call", found)
        .and_then(|node| number_to_call(node, found));
    let out_of_hours = fields.get("out_of_hours");
    let out_of_hours = out_of_hours.and_then(|node| number_to_call(node, found));
    Some(Vet {
        name: name?,
        practice,
        phone: phone?,
        out_of_hours,
    })
}

fn number_to_call(node: &Node, found: &mut Found) -> Option<String> {
    const MEANING: &str = "the number to call, in figures";
    let phone = values::name(node, MEANING, found)?;
    if phone.chars().filter(char::is_ascii_digit).count() < 3 {
        found.add(
            &node.at,
            format!("'{phone}' is not a number that can be called"),
            MEANING,
        );
        return None;
    }
    Some(phone)
}

fn medicine(node: &Node, same_as: Vec<String>, found: &mut Found) -> Option<Medicine> {
    const KNOWN: [&str; 6] = ["name", "form", "strength", "ingredient", "made_up", "vial"];
    const STRENGTH: &str = "the strength as the label has it";
    let fields = Fields::of(node, "Medicine", &KNOWN, found)?;
    let name = fields
        .need("name", "the medicine's name as on the label", found)
        .and_then(|node| values::name(node, "the medicine's name", found));
    let form = fields.get("form");
    let form = form.and_then(|node| values::name(node, "what it comes as, in words", found));
    // A strength that cannot be read is not the same as none.
    let strength = match fields.get("strength") {
        None => Some(None),
        Some(node) => values::quantity(node, STRENGTH, found).map(Some),
    };
    let ingredient = fields.get("ingredient");
    let ingredient = ingredient
        .and_then(|node| values::name(node, "the ingredient that the dose counts", found));
    let made_up = fields.get("made_up");
    let made_up = made_up.and_then(|node| MadeUp::read(node, found));
    let vial = fields.get("vial");
    let vial = vial.and_then(|node| Vial::read(node, found));
    let strength = strength?;
    if let Some(vial) = &vial {
        agree::vial(vial, strength.as_ref(), &fields, found);
    }
    if let Some(made_up) = &made_up {
        agree::dilution(made_up, strength.as_ref(), &fields, found);
    }
    Some(Medicine {
        name: name?,
        form,
        strength,
        ingredient,
        made_up,
        vial,
        same_as,
    })
}

/// A list of names, none twice.
fn names(node: &Node, of: &str, found: &mut Found) -> Option<Vec<String>> {
    let nodes = list(node, of, found)?;
    let names = values::all(nodes, |node| values::name(node, of, found))?;
    for (index, (name, node)) in names.iter().zip(nodes).enumerate() {
        if names
            .iter()
            .take(index)
            .any(|earlier| fold::same(earlier, name))
        {
            found.add(
                &node.at,
                format!("'{name}' is named twice"),
                "each name once",
            );
        }
    }
    Some(names)
}

fn weighed(node: &Node, found: &mut Found) -> Option<Vec<Weighed>> {
    const WEIGHED: &str = "Weighed( animal: ..., weight: ... )";
    let nodes = list(node, WEIGHED, found)?;
    values::all(nodes, |node| {
        let fields = Fields::of(node, "Weighed", &["animal", "weight"], found)?;
        let animal = fields
            .need("animal", "one of the animals named above", found)
            .and_then(|node| values::name(node, "one of the animals named above", found));
        let weight = fields.need("weight", WEIGHT, found);
        let weight = weight.and_then(|node| values::quantity(node, WEIGHT, found));
        Some(Weighed {
            animal: animal?,
            weight: weight?,
        })
    })
}

pub(super) const WEIGHT: &str = "a body weight in g, kg, lb or oz";

fn rounding(node: &Node, found: &mut Found) -> Option<Rounding> {
    let choice = variant(node, &["Nearest", "Down", "Up"], found)?;
    choice.alone(found)?;
    Some(match choice.name {
        "Down" => Rounding::Down,
        "Up" => Rounding::Up,
        _ => Rounding::Nearest,
    })
}

fn cut(node: &Node, found: &mut Found) -> Option<Cut> {
    let choice = variant(node, &["Whole", "Halves", "Quarters"], found)?;
    choice.alone(found)?;
    Some(match choice.name {
        "Halves" => Cut::Halves,
        "Quarters" => Cut::Quarters,
        _ => Cut::Whole,
    })
}

fn sites(node: &Node, found: &mut Found) -> Option<Vec<Site>> {
    let nodes = list(node, "Site( \"the place\", \"left\" )", found)?;
    let sites = values::all(nodes, |node| Site::read(node, found))?;
    for (index, (site, node)) in sites.iter().zip(nodes).enumerate() {
        let same = |earlier: &Site| fold::same(&earlier.words(), &site.words());
        if sites.iter().take(index).any(same) {
            found.add(&node.at, "this site is in the list twice", "each site once");
        }
    }
    Some(sites)
}

fn after_late(node: &Node, found: &mut Found) -> Option<AfterLate> {
    let choice = variant(node, &["CountFromGiven", "KeepCalendar", "Call"], found)?;
    choice.alone(found)?;
    Some(match choice.name {
        "CountFromGiven" => AfterLate::CountFromGiven,
        "KeepCalendar" => AfterLate::KeepCalendar,
        _ => AfterLate::Call,
    })
}

fn count(node: &Node, found: &mut Found) -> Option<Count> {
    let choice = variant(node, &["Slots", "Given"], found)?;
    choice.alone(found)?;
    Some(match choice.name {
        "Given" => Count::Given,
        _ => Count::Slots,
    })
}

fn days(node: &Node, found: &mut Found) -> Option<notation::Written<Span>> {
    const DAYS: &str = "how many days or weeks a weight holds good for";
    let span = values::quantity::<Span>(node, DAYS, found)?;
    if let Span::Hours(_) = span.value() {
        found.add(&node.at, "the age of a weight is counted in days", DAYS);
        return None;
    }
    Some(span)
}

fn weight_basis(node: &Node, found: &mut Found) -> Option<WeightBasis> {
    let choice = variant(node, &["Latest", "Start", "Fixed"], found)?;
    match choice.name {
        "Latest" => choice.alone(found).map(|()| WeightBasis::Latest),
        "Start" => choice.alone(found).map(|()| WeightBasis::Start),
        _ => {
            let item = choice.item(WEIGHT, found)?;
            values::quantity::<BodyWeight>(item, WEIGHT, found).map(WeightBasis::Fixed)
        }
    }
}

fn follow_ups(node: &Node, found: &mut Found) -> Option<Vec<FollowUp>> {
    const FOLLOW_UP: &str = "FollowUp( what: ..., when: ... )";
    let nodes = list(node, FOLLOW_UP, found)?;
    values::all(nodes, |node| {
        let fields = Fields::of(node, "FollowUp", &["what", "when"], found)?;
        let what = fields
            .need("what", "what is to be done, in your vet's words", found)
            .and_then(|node| values::words(node, "what is to be done", found));
        let when = fields.need("when", "On, AfterFirstDose or AfterLastDose", found);
        let when = when.and_then(|node| follow_up_date(node, found));
        Some(FollowUp {
            what: what?,
            when: when?,
        })
    })
}

fn follow_up_date(node: &Node, found: &mut Found) -> Option<FollowUpDate> {
    const AFTER: &str = "how long after it, in hours, days or weeks";
    let choice = variant(node, &["On", "AfterFirstDose", "AfterLastDose"], found)?;
    if choice.name == "On" {
        let item = choice.item("a date", found)?;
        return values::date(item, found).map(FollowUpDate::On);
    }
    let item = choice.item(AFTER, found)?;
    let after = values::quantity::<Span>(item, AFTER, found)?.value();
    Some(match choice.name {
        "AfterFirstDose" => FollowUpDate::AfterFirstDose(after),
        _ => FollowUpDate::AfterLastDose(after),
    })
}
