//! The day's card as one page for the small screen of a phone: HTML with its style and its
//! drawings inside.
//!
//! Promises: the same marks, reasons, cautions and words as every other face; STOP and CALL first;
//! nothing is fetched and nothing runs; black on white or white on black, with no colour that
//! carries meaning; the same round gives the same bytes. It says when it was made, because it
//! cannot know what was recorded since. Does not: compute, record, or read a clock.

mod barrel;
mod markup;
mod panel;

use crate::phone::markup::{Markup, attribute};
use crate::round::tell::follow_up_line;
use crate::round::{Round, say};

/// How the page looks; it holds nothing that anybody typed.
const STYLE: &str = include_str!("page.css");

/// Nothing but the style in the page itself is ever loaded or run, whatever stands in the text.
const NOTHING_FROM_OUTSIDE: &str = "http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\"";

/// What a demonstration says at head and foot.
const DEMONSTRATION: &str =
    "DEMONSTRATION: every animal, medicine, vet and figure here is invented.";

/// The card of a round as a page.
#[must_use]
pub fn card(round: &Round) -> String {
    let day = round.day.format("%A %-d %B %Y").to_string();
    let mut page = Markup::new();
    page.raw("<!DOCTYPE html>\n");
    page.element("html", "lang=\"en\"", |m| {
        m.raw("\n");
        m.element("head", "", |m| {
            m.raw("\n");
            m.empty("meta", "charset=\"utf-8\"");
            m.empty("meta", NOTHING_FROM_OUTSIDE);
            m.empty(
                "meta",
                "name=\"viewport\" content=\"width=device-width, initial-scale=1\"",
            );
            m.empty("meta", "name=\"color-scheme\" content=\"light dark\"");
            // A number is called only where it is meant to be.
            m.empty("meta", "name=\"format-detection\" content=\"telephone=no\"");
            m.words("title", "", &format!("Dose card, {day}"));
            m.element("style", "", |m| m.raw(STYLE));
        });
        m.element("body", "", |m| body(round, &day, m));
    });
    page.finish()
}

fn body(round: &Round, day: &str, m: &mut Markup) {
    strip(round, m);
    m.element("header", "", |m| {
        m.words("h1", "", day);
        let made = format!("Dose card, {}", made(round));
        m.words("p", "class=\"small\"", &made);
        let code = format!("Book code {}", round.code);
        m.words("p", "class=\"small\"", &code);
        m.words(
            "p",
            "class=\"small\"",
            "This page stays as it is: once a weight, a dose or a call is recorded, make it again.",
        );
    });
    first(round, m);
    if !(round.doses.is_empty() && round.off_card.is_empty()) {
        whom_to_call(round, m);
    }
    m.element("main", "", |m| {
        for (at, dose) in round.doses.iter().enumerate() {
            panel::panel(dose, round, at + 1, m);
        }
        if round.doses.is_empty() {
            m.words("p", "class=\"note\"", "No dose is due on this day.");
        }
    });
    list("Beside the doses", beside(round), m);
    let done = round.done.iter().map(|done| say::done(done, round.zone));
    list("Answered for on this day", done.collect(), m);
    m.element("footer", "class=\"small\"", |m| {
        let version = env!("CARGO_PKG_VERSION");
        let code = &round.code;
        m.words(
            "p",
            "",
            &format!("{day}, {}, scruple {version}", made(round)),
        );
        m.words(
            "p",
            "",
            &format!("Another book code than {code}: an old card."),
        );
    });
    strip(round, m);
}

fn made(round: &Round) -> String {
    format!("made {}", say::moment(round.now, round.zone))
}

fn strip(round: &Round, m: &mut Markup) {
    if round.settings.demonstration {
        m.words("p", "class=\"strip\"", DEMONSTRATION);
    }
}

/// What must be seen before anything else, each leading to its dose.
fn first(round: &Round, m: &mut Markup) {
    if !round.damaged.is_empty() {
        m.element("p", "class=\"alarm\" role=\"alert\"", |m| {
            m.words("b", "", "STOP");
            m.text(" ");
            m.text(&say::damaged(round));
        });
    }
    for other in &round.off_card {
        let (whose, why) = other.words();
        m.element("p", "class=\"alarm\" role=\"alert\"", |m| {
            m.words("b", "", &format!("{}. {whose}", other.label()));
            m.text(&why);
        });
    }
    let doses = round.doses.iter().enumerate();
    let alarmed: Vec<(usize, String)> = doses
        .flat_map(|(at, dose)| {
            let alarms = panel::alarms(dose, round).into_iter();
            let name = &dose.patient.animal.name;
            alarms.map(move |alarm| (at + 1, alarm.about(name)))
        })
        .collect();
    if alarmed.is_empty() {
        return;
    }
    m.element("nav", "class=\"first\" aria-label=\"STOP and CALL\"", |m| {
        m.words("h3", "", "Before you start");
        m.element("ul", "", |m| {
            for (at, words) in &alarmed {
                let link = format!("class=\"tap\" href=\"#dose-{at}\"");
                m.element("li", "", |m| m.words("a", &link, words));
            }
        });
    });
}

fn whom_to_call(round: &Round, m: &mut Markup) {
    m.element("section", "class=\"doubt\"", |m| {
        m.element("p", "", |m| {
            m.words("b", "", "In doubt? Draw nothing. Call.")
        });
        for vet in &round.vets {
            m.element("p", "", |m| {
                m.text(&vet.name);
                if let Some(practice) = &vet.practice {
                    m.text(", ");
                    m.text(practice);
                }
                m.text(":");
            });
            m.element("p", "", |m| telephone(&vet.phone, m));
            if let Some(hours) = &vet.out_of_hours {
                m.element("p", "", |m| {
                    m.text("out of hours ");
                    telephone(hours, m);
                });
            }
        }
        m.words("p", "", say::DEFERRAL);
    });
}

/// A number to tap, where the words hold just one.
fn telephone(written: &str, m: &mut Markup) {
    match dialled(written) {
        Some(number) => {
            let link = attribute("href", &format!("tel:{number}"));
            m.words("a", &format!("class=\"tap\" {link}"), written);
        }
        None => m.words("b", "", written),
    }
}

/// What a phone is to dial for a number as it is written, with a remark in brackets at its end;
/// nothing where the words are more than one number, which must not be run together.
fn dialled(written: &str) -> Option<String> {
    let written = written.trim();
    let number = match written.rsplit_once('(') {
        Some((number, remark)) if remark.ends_with(')') && !is_of_a_number(remark) => number,
        _ => written,
    };
    // From abroad the (0) within a country is left out.
    let number = match number.starts_with('+') {
        true => number.replace("(0)", ""),
        false => number.to_owned(),
    };
    let (sign, rest) = match number.strip_prefix('+') {
        Some(rest) => ("+", rest),
        None => ("", number.as_str()),
    };
    if !rest
        .chars()
        .all(|c| c.is_ascii_digit() || " -.()".contains(c))
    {
        return None;
    }
    let digits: String = rest.chars().filter(char::is_ascii_digit).collect();
    // The longest number has 15 digits (ITU-T E.164); the shortest here is 3.
    (3..=15)
        .contains(&digits.len())
        .then(|| format!("{sign}{digits}"))
}

fn is_of_a_number(remark: &str) -> bool {
    let inside = remark.trim_end_matches(')').trim();
    !inside.is_empty() && inside.chars().all(|c| c.is_ascii_digit())
}

fn beside(round: &Round) -> Vec<String> {
    let beside = round.beside.iter();
    beside
        .map(|beside| {
            let (animal, script) = (&beside.patient.animal.name, &beside.script.prescription);
            let line = follow_up_line(&beside.follow_up, round.zone);
            format!("{animal}, {}, {line}", script.reference)
        })
        .collect()
}

fn list(title: &str, rows: Vec<String>, m: &mut Markup) {
    if rows.is_empty() {
        return;
    }
    m.element("section", "", |m| {
        m.words("h3", "", title);
        for row in &rows {
            m.words("p", "class=\"note\"", row);
        }
    });
}

#[cfg(test)]
mod tests {
    use super::dialled;

    #[test]
    fn only_a_single_number_is_dialled() {
        let dial = |written| dialled(written).unwrap_or_default();
        assert_eq!(dial("555 0134 (not a number)"), "5550134");
        assert_eq!(dial("555-0134"), "5550134");
        assert_eq!(dial("+99 (0)555 0134"), "+995550134");
        assert_eq!(dial("(0) 555 0134"), "05550134");
        assert_eq!(dial("555 (01) 34"), "5550134");
        assert_eq!(dial("555 0134 (ask for A)"), "5550134");
        for not_one in [
            "555 0134 or 555 0199",
            "ring the bell",
            "",
            "12",
            "555 0134, 555 0199",
        ] {
            assert_eq!(dialled(not_one), None, "{not_one}");
        }
    }

    #[test]
    fn the_style_asks_for_nothing_from_outside() {
        for word in ["url(", "@import", "@font-face", "//"] {
            assert!(!super::STYLE.contains(word), "{word}");
        }
    }
}
