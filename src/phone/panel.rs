//! One dose on the page: what must be seen first, the mark with its barrel, and what stands behind
//! it.
//!
//! Promises: the order of the printed panel, but cautions stand above the mark, where nobody can
//! scroll past them; every reason for no mark is said; the vet's words are set apart.

use crate::caution::{Caution, Level};
use crate::dose::{InHand, Row};
use crate::phone::markup::Markup;
use crate::phone::{barrel, telephone};
use crate::round::say::Phrase;
use crate::round::{DayDose, Round, rungs, said, say};

/// What must be seen before anything else.
pub(super) struct Alarm {
    /// "STOP" or "CALL".
    pub(super) word: &'static str,
    /// In a few words: "Wrong strength in hand".
    pub(super) headline: String,
    /// The whole sentence, where there is more to say.
    said: Option<String>,
}

impl Alarm {
    /// As it stands at the head of the page: "STOP: Ossin. Wrong strength in hand".
    pub(super) fn about(&self, animal: &str) -> String {
        let (word, headline) = (self.word, &self.headline);
        match headline.starts_with(animal) {
            true => format!("{word}: {headline}"),
            false => format!("{word}: {animal}. {headline}"),
        }
    }
}

/// STOP and CALL of a dose.
pub(super) fn alarms(dose: &DayDose, round: &Round) -> Vec<Alarm> {
    let mut alarms = Vec::new();
    let reasons = dose.no_mark.iter();
    let stops = reasons.filter(|reason| reason.stops());
    alarms.extend(stops.take(1).map(|reason| Alarm {
        word: "STOP",
        headline: reason.headline().to_owned(),
        said: None,
    }));
    let cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    let calls = cautions.filter(|caution| caution.level() == Level::Call);
    let animal = &dose.patient.animal;
    alarms.extend(calls.map(|caution| {
        let loss = say::loss(animal, caution, round.day);
        let headline = loss.map_or("Before any dose".to_owned(), |(headline, _)| headline);
        Alarm {
            word: "CALL",
            headline,
            said: Some(caution.to_string()),
        }
    }));
    alarms
}

/// The panel of dose number `at` of the day.
pub(super) fn panel(dose: &DayDose, round: &Round, at: usize, m: &mut Markup) {
    let alarms = alarms(dose, round);
    let class = match alarms.is_empty() && dose.no_mark.is_empty() {
        true => "class=\"plain\" ",
        false => "",
    };
    m.element("article", &format!("{class}id=\"dose-{at}\""), |m| {
        m.raw("\n");
        for alarm in &alarms {
            m.element("div", "class=\"alarm\"", |m| {
                m.words("b", "", &format!("{}. {}", alarm.word, alarm.headline));
                m.text(" ");
                let vet = &dose.script.prescription.vet;
                m.element("p", "", |m| {
                    m.text("Call ");
                    telephone(&vet.phone, m);
                    m.text(" first.");
                });
                if let Some(said) = &alarm.said {
                    m.words("p", "", said);
                }
            });
        }
        who(dose, round, at, m);
        cautions(dose, m);
        action(dose, round, m);
        about(dose, round, m);
        ladder(dose, m);
        working(dose, m);
        notes(dose, round, m);
        vet_words(dose, round, m);
        m.element("p", "class=\"ticks\"", |m| {
            for box_of in ["all given", "time", "initials", "if not all, why"] {
                m.words("span", "", box_of);
                m.text(" ");
            }
        });
    });
}

fn row(m: &mut Markup, label: &str, words: &str) {
    m.words("dt", "", label);
    m.words("dd", "", words);
}

fn phrase(m: &mut Markup, phrase: &Phrase) {
    for (bold, words) in &phrase.stretches {
        match bold {
            true => m.words("b", "", words),
            false => m.text(words),
        }
    }
}

fn who(dose: &DayDose, round: &Round, at: usize, m: &mut Markup) {
    let prescription = &dose.script.prescription;
    let animal = &dose.patient.animal;
    let pending = round.doses.len();
    m.words("p", "class=\"small\"", &format!("{at} of {pending}"));
    m.words("h2", "", &animal.name);
    m.words("p", "class=\"id\"", &say::identification(animal));
    if let Some(alike) = say::named_alike(dose) {
        m.words("p", "class=\"caution\"", &alike);
    }
    m.element("dl", "", |m| {
        let course = format!("{}, {}", prescription.reference, say::dose_of(dose));
        row(m, "Course", &course);
        row(m, "Last dose", &say::last_dose(dose.last, round.zone));
        m.words("dt", "", "Bottle");
        m.element("dd", "", |m| bottle(dose, m));
        if let Some(drawn) = dose.drawn() {
            row(m, "Measure", &drawn.chosen.instrument.words());
        }
    });
}

fn bottle(dose: &DayDose, m: &mut Markup) {
    m.words("b", "", &dose.script.prescription.medicine.name);
    let in_the_book = match dose.in_hand {
        InHand::Bottle(bottle) | InHand::Gone(bottle) => {
            m.text(&format!(", bottle {}", bottle.number));
            true
        }
        InHand::Unopened | InHand::Reads(_) | InHand::OnPaper => false,
    };
    if let Some(strength) = say::must_read(dose) {
        m.text(", must read ");
        m.words("span", "class=\"box\"", &strength);
    }
    if let Some(reads) = say::it_reads(dose) {
        m.text("; it reads ");
        m.words("span", "class=\"box\"", &reads);
    }
    if !in_the_book {
        m.text("; none in the book");
    }
}

fn of_level<'d>(dose: &'d DayDose, level: Level) -> impl Iterator<Item = &'d Caution> {
    let cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    cautions.filter(move |caution| caution.level() == level)
}

fn cautions(dose: &DayDose, m: &mut Markup) {
    if let Some(weigh) = rungs::weigh_first(dose) {
        m.element("p", "class=\"caution\"", |m| {
            m.words("b", "", "WEIGH. ");
            m.text(&format!("{weigh}."));
        });
    }
    for caution in of_level(dose, Level::Caution) {
        m.element("p", "class=\"caution\"", |m| {
            m.words("b", "", "Caution. ");
            m.text(&caution.to_string());
        });
    }
}

/// The mark and its drawing, the vet's words for an application, or NO MARK and every reason.
fn action(dose: &DayDose, round: &Round, m: &mut Markup) {
    if !dose.no_mark.is_empty() {
        no_mark(dose, round, m);
        return;
    }
    let drawn = dose.drawn();
    let conditions = conditions(dose, round);
    let class = match conditions.is_empty() {
        true => "class=\"mark\"",
        false => "class=\"mark held\"",
    };
    m.element("div", class, |m| {
        for condition in &conditions {
            m.words("p", "class=\"cond\"", condition);
            m.text(" ");
        }
        m.words("p", "class=\"small\"", say::act(dose));
        let Some(drawn) = drawn else {
            let words = format!("\"{}\"", dose.dose.text());
            m.element("p", "class=\"figure\"", |m| {
                m.words("b", "class=\"words\"", &words);
            });
            return;
        };
        let chosen = &drawn.chosen;
        let spoken = chosen.instrument.spoken(chosen.mark.lines);
        m.element("p", "class=\"figure\"", |m| {
            if let Some(before) = spoken.before {
                m.words("span", "", before);
                m.text(" ");
            }
            // A tablet's fraction is a word and may be long.
            let words = spoken.figure.chars().any(char::is_alphabetic);
            let class = if words { "class=\"words\"" } else { "" };
            m.words("b", class, &spoken.figure);
            if let Some(unit) = spoken.unit {
                m.text(" ");
                m.words("span", "", unit);
            }
        });
        if let Some(after) = &spoken.after {
            m.words("p", "class=\"id\"", after);
        }
        if let Some(count) = chosen.instrument.count(chosen.mark.lines) {
            m.words("p", "", &count);
        }
        if let Some(draws) = say::draws(&chosen.mark) {
            m.words("p", "class=\"id\"", &draws);
        }
        if let Some(syringe) = chosen.instrument.syringe() {
            barrel::draw(syringe, chosen.mark.lines, m);
        }
    });
}

fn no_mark(dose: &DayDose, round: &Round, m: &mut Markup) {
    m.element("div", "class=\"no\"", |m| {
        let reason = dose.no_mark.first().map(say::instead_of_a_mark);
        m.words("strong", "", "NO MARK");
        m.words(
            "p",
            "class=\"id\"",
            &reason.unwrap_or("ask your vet".to_owned()),
        );
        for reason in &dose.no_mark {
            m.words("p", "", &reason.to_string());
        }
        if let Some(history) = say::history(dose, round.zone) {
            m.words("p", "", &history);
        }
    });
}

/// What a mark still waits for.
fn conditions(dose: &DayDose, round: &Round) -> Vec<String> {
    let weigh = of_level(dose, Level::Caution).any(rungs::is_asked);
    let call = dose.call_first().then(|| "only after the call".to_owned());
    let weigh = weigh.then(|| "weigh first".to_owned());
    let wait = say::not_before(dose, round).map(|at| format!("not before {at}"));
    let late = dose.is_late().then(|| "LATE".to_owned());
    [call, weigh, wait, late].into_iter().flatten().collect()
}

fn about(dose: &DayDose, round: &Round, m: &mut Markup) {
    m.element("dl", "", |m| {
        row(m, "Where", &say::place(dose));
        m.words("dt", "", "Weight");
        m.element("dd", "", |m| phrase(m, &say::weight_beside(dose, round)));
        m.words("dt", "", "When");
        m.element("dd", "", |m| {
            phrase(m, &say::when(dose, round));
            let not_before = say::not_before(dose, round);
            let not_before = not_before.map(|at| format!(", not before {at}"));
            let state = dose.slot.state;
            m.text(&format!(" ({state}{})", not_before.unwrap_or_default()));
        });
    });
}

/// Two rows either side of the weight in the book.
fn ladder(dose: &DayDose, m: &mut Markup) {
    let rows = dose.ladder();
    if rows.is_empty() {
        return;
    }
    let here = rows.iter().position(|row| row.today);
    let from = here.unwrap_or(rows.len() / 2).saturating_sub(2);
    let (today, drawn) = (dose.drawn().is_some(), from + 5);
    m.words("h3", "", "Ladder: the mark at other weights");
    m.element("table", "", |m| {
        for rung in rows.iter().take(drawn).skip(from) {
            let class = if rung.today { "class=\"here\"" } else { "" };
            m.element("tr", class, |m| self::rung(dose, rung, today, m));
        }
    });
    let above = rows.len().saturating_sub(drawn);
    if let Some(span) = rungs::ladder_span(&rows, from, above) {
        m.words("p", "", &span);
    }
}

fn rung(dose: &DayDose, row: &Row, today: bool, m: &mut Markup) {
    m.words("th", "scope=\"row\"", &rungs::rung(row));
    let mark = rungs::rung_mark(dose, row);
    m.words("td", "", &mark.unwrap_or("no mark".to_owned()));
    let here = match (row.today, today) {
        (true, true) => "today",
        (true, false) => "the old weight",
        (false, _) => "",
    };
    let call = if row.call { "CALL first" } else { "" };
    m.words("td", "", format!("{call} {here}").trim());
}

fn working(dose: &DayDose, m: &mut Markup) {
    let (Some(worked), Some(_)) = (&dose.worked, dose.drawn()) else {
        return;
    };
    m.words("h3", "", "Working");
    m.element("div", "class=\"work\"", |m| {
        for line in say::working(worked) {
            m.words("p", "", line);
        }
    });
}

fn notes(dose: &DayDose, round: &Round, m: &mut Markup) {
    let notes = of_level(dose, Level::Note).map(|note| ("Note", note.to_string()));
    let noted = say::notes_of_late(dose.patient, round.now);
    let noted = noted
        .into_iter()
        .map(|n| ("Noted", say::note(n, round.zone)));
    for (label, words) in notes.chain(noted) {
        m.words("p", "class=\"note\"", &format!("{label}. {words}"));
    }
}

/// What the vet said since, which is the newer word, then what the vet wrote.
fn vet_words(dose: &DayDose, round: &Round, m: &mut Markup) {
    for said in &dose.said {
        m.element("blockquote", "class=\"vet\"", |m| {
            m.words("cite", "", "Vet said");
            m.text(" ");
            m.words("p", "", &said::in_full(said, round.zone));
            if let Some(words) = &said.instruction.words {
                m.words("p", "", &format!("\"{words}\""));
            }
        });
    }
    for (lead, words) in say::vet_words(&dose.script.prescription) {
        m.element("blockquote", "class=\"vet\"", |m| {
            let lead = match lead.is_empty() {
                true => "Your vet",
                false => lead,
            };
            m.words("cite", "", lead);
            m.text(" ");
            m.words("p", "", &format!("\"{words}\""));
        });
    }
}
