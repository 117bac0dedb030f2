//! The dose card made from a round of an invented room: it says what the round says, dose by dose,
//! and prints nothing that could be misread.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

#[path = "paper/room.rs"]
mod room;

mod readers;

use readers::notation::notation_faults;
use room::{Room, SCRIPT, Script, busy, quiet, round};
use scruple::caution::Caution;
use scruple::ledger::Ledger;
use scruple::round::{DayDose, Round, say};
use scruple::settings::PaperSize;
use scruple::sheet::card::facts::{Action, Alarm, Condition, Facts, Here, Needed, Panel};
use scruple::sheet::card::from_round::facts;
use scruple::sheet::card::{of_round, pages};
use scruple::sheet::page::{Fault, Page, Paper};
use scruple::sheet::text::curled;

const PAPERS: [PaperSize; 2] = [PaperSize::A4, PaperSize::Letter];

fn facts_of(round: &Round) -> Facts {
    facts(round, round.now.with_timezone(&round.zone).fixed_offset())
}

fn pages_of(round: &Round) -> Vec<Page> {
    pages(&facts_of(round), Paper::of(round.settings.paper)).unwrap()
}

fn words_of(ledger: &Ledger) -> String {
    let pages = pages_of(&round(ledger));
    pages.iter().map(|page| page.words() + " ").collect()
}

/// Without spaces, so that words broken over lines still compare.
fn squeezed(words: &str) -> String {
    words.split_whitespace().collect()
}

/// The panel of a course, by the prescription's reference.
fn panel<'f>(facts: &'f Facts, reference: &str) -> &'f Panel {
    let mut panels = facts.panels.iter();
    let course = format!("course {reference}, ");
    panels
        .find(|panel| panel.course.starts_with(&course))
        .unwrap_or_else(|| panic!("no panel for {reference}"))
}

fn is_no_mark(panel: &Panel) -> bool {
    matches!(panel.action, Action::NoMark { .. })
}

#[test]
fn no_page_of_either_paper_has_a_fault() {
    for paper in PAPERS {
        for ledger in [busy(paper), quiet(paper)] {
            let round = round(&ledger);
            assert_eq!(round.settings.paper, paper);
            for page in pages_of(&round) {
                assert_eq!(page.paper, Paper::of(paper));
                assert_eq!(page.faults(), Vec::<Fault>::new(), "{}", page.name);
            }
        }
    }
}

/// All that the round says about a dose, in the words of the rooms that say it.
fn said(dose: &DayDose, round: &Round) -> Vec<String> {
    let prescription = &dose.script.prescription;
    let mut said = vec![
        dose.patient.animal.name.clone(),
        say::identification(&dose.patient.animal),
        say::last_dose(dose.last, round.zone),
        say::dose_of(dose),
        prescription.reference.clone(),
        prescription.medicine.name.clone(),
        prescription.vet.phone.clone(),
        say::weight_beside(dose, round).to_string(),
        say::when(dose, round).to_string(),
    ];
    said.extend(say::must_read(dose));
    said.extend(say::it_reads(dose));
    if let Some(drawn) = dose.drawn() {
        let instrument = &drawn.chosen.instrument;
        said.push(say::instrument(instrument));
        said.push(instrument.spoken(drawn.chosen.mark.lines).to_string());
        said.extend(instrument.count(drawn.chosen.mark.lines));
        said.push(say::route(prescription));
        said.extend(dose.site.map(|site| say::site(&site.words())));
        said.extend(say::sites(dose));
        said.extend(say::not_the_others(dose));
    }
    for reason in &dose.no_mark {
        said.extend([say::instead_of_a_mark(reason), reason.to_string()]);
    }
    if let Some(worked) = &dose.worked {
        let spoken = |caution: &&Caution| !matches!(caution, Caution::DiscardAfter { .. });
        said.extend(
            worked
                .cautions
                .iter()
                .filter(spoken)
                .map(Caution::to_string),
        );
    } else {
        said.push(format!("\"{}\"", dose.dose.text()));
    }
    for (_, words) in say::vet_words(prescription) {
        said.push(format!("\"{words}\""));
    }
    said
}

#[test]
fn the_card_says_what_the_round_says() {
    for paper in PAPERS {
        let ledger = busy(paper);
        let round = round(&ledger);
        let printed = squeezed(&words_of(&ledger));
        assert_eq!(round.doses.len(), 11);
        for dose in &round.doses {
            for words in said(dose, &round) {
                let words = squeezed(&curled(&words));
                assert!(printed.contains(&words), "{words}");
            }
        }
        for bottle in round.bottles.iter().filter_map(|used| used.bottle) {
            let day = say::date(bottle.last_day(), round.day);
            assert!(printed.contains(&squeezed(&day)), "{day}");
        }
        assert!(printed.contains(&round.code));
        assert!(printed.contains(&squeezed("Shello, DEMO-0007, dose 1: given at 07:40")));
    }
}

/// The figures are worked by hand beside each prescription of the room.
#[test]
fn each_dose_has_its_mark_or_its_reason() {
    let ledger = busy(PaperSize::A4);
    let facts = facts_of(&round(&ledger));
    for (reference, before, figure, unit, below) in [
        (
            "DEMO-0001",
            Some("line"),
            "7.5",
            None,
            Some("on the U-100 syringe (0.075 mL)"),
        ),
        ("DEMO-0002", None, "0.19", Some("mL"), None),
        ("DEMO-0003", None, "0.36", Some("mL"), None),
        ("DEMO-0006", None, "1.8", Some("mL"), None),
        ("DEMO-0007", None, "half", Some("tablet"), None),
        ("DEMO-0008", None, "0.3", Some("g of product"), None),
    ] {
        let Action::Mark(mark) = &panel(&facts, reference).action else {
            panic!("no mark for {reference}")
        };
        assert_eq!(mark.before.as_deref(), before, "{reference}");
        assert_eq!(mark.figure, figure, "{reference}");
        assert_eq!(mark.unit.as_deref(), unit, "{reference}");
        assert_eq!(mark.below.as_deref(), below, "{reference}");
        let drawn = unit.is_none_or(|unit| unit == "mL");
        assert_eq!(mark.scale.is_some(), drawn, "{reference}");
    }
    for (reference, why, asks) in [
        ("DEMO-0004", "Draw nothing from bottle 4", true),
        ("DEMO-0005", "The weight is too old: weigh first", false),
        (
            "DEMO-0010",
            "Too small for any line at hand: ask your vet",
            true,
        ),
    ] {
        let expected = Action::NoMark {
            why: why.to_owned(),
            ask_vet: asks,
        };
        assert_eq!(panel(&facts, reference).action, expected, "{reference}");
    }
    let words = "2 drops, then hold the eye shut for 1 minute".to_owned();
    assert_eq!(panel(&facts, "DEMO-0009").action, Action::Words(words));
    assert_eq!(panel(&facts, "DEMO-0009").act, "Apply");
}

#[test]
fn what_must_hold_first_stands_on_the_panel() {
    let ledger = busy(PaperSize::A4);
    let facts = facts_of(&round(&ledger));
    let conditions = |reference| panel(&facts, reference).conditions.as_slice();
    assert_eq!(conditions("DEMO-0001"), []);
    assert_eq!(conditions("DEMO-0002"), [Condition::Late]);
    assert_eq!(conditions("DEMO-0003"), [Condition::AfterCall]);
    let evening = Condition::NotBefore("18:30".to_owned());
    // Its weight is older than the keeper's seven days.
    assert_eq!(conditions("DEMO-0007"), [Condition::AfterWeighing, evening]);
    assert_eq!(conditions("DEMO-0008"), [Condition::AfterWeighing]);

    let alarms = |reference| panel(&facts, reference).alarms.as_slice();
    let phone = || "555 0134 (not a number)".to_owned();
    let wrong = Alarm::Stop {
        what: "Wrong strength in hand".to_owned(),
        phone: phone(),
    };
    assert_eq!(alarms("DEMO-0004"), [wrong]);
    let [Alarm::Call { what, measured, .. }] = alarms("DEMO-0003") else {
        panic!("no call: {:?}", alarms("DEMO-0003"))
    };
    assert_eq!(what, "Nubbet weighs 12 percent less");
    assert_eq!(measured.to_string(), "50 g on Mon 5 March, now 44 g");
    let first = |what: &str| Alarm::First {
        what: what.to_owned(),
    };
    assert_eq!(
        alarms("DEMO-0005"),
        [first("Weigh now; then print a new card")]
    );
    assert_eq!(
        alarms("DEMO-0008"),
        [first("Weigh now; then read the ladder")]
    );
    let when = panel(&facts, "DEMO-0002").when.to_string();
    assert_eq!(
        when,
        "LATE: was due 04:30, window closed 07:30. Ask first whether somebody gave it; if nobody did, give before 16:30; after that, call"
    );
}

#[test]
fn a_ladder_stands_beside_a_mark_and_an_old_weight_alone() {
    let ledger = busy(PaperSize::A4);
    let facts = facts_of(&round(&ledger));
    let here = |reference| {
        let rungs = panel(&facts, reference).ladder.iter();
        let mut here = rungs.filter(|rung| rung.here.is_some());
        here.next().map(|rung| {
            let mark = rung.mark.clone().unwrap_or_default();
            (rung.weights.clone(), mark, rung.here.unwrap())
        })
    };
    let row = |weights: &str, mark: &str, here| Some((weights.to_owned(), mark.to_owned(), here));
    // (29, 31] g holds to line 7.5 (design scenario 1); the scale reads 0.1 g.
    assert_eq!(
        here("DEMO-0001"),
        row("29.1 to 31 g", "line 7.5", Here::Today)
    );
    // 84 g at 50 mg/kg of 25 mg/mL is 0.168 mL; 0.165 to 0.175 mL go to 0.17 mL.
    assert_eq!(
        here("DEMO-0005"),
        row("82.6 to 87.5 g", "0.17 mL", Here::OldWeight)
    );
    for reference in ["DEMO-0004", "DEMO-0010", "DEMO-0009"] {
        assert!(panel(&facts, reference).ladder.is_empty(), "{reference}");
    }
    // What was given last is told as history where there is no mark.
    let history = &panel(&facts, "DEMO-0005").cautions;
    assert!(history.iter().any(|said| said.words
        == "Last time, Wed 7 March 09:30, it was 0.17 mL by 84 g: that is history, not a mark."));
}

#[test]
fn a_panel_without_a_mark_prints_no_drawing_no_boxes_and_no_site() {
    let ledger = busy(PaperSize::A4);
    let facts = facts_of(&round(&ledger));
    let without: Vec<&Panel> = facts.panels.iter().filter(|p| is_no_mark(p)).collect();
    assert_eq!(without.len(), 3);
    for panel in &without {
        assert_eq!(panel.measure, None);
        assert_eq!(panel.place, None);
        assert!(panel.working.is_empty() && panel.conditions.is_empty());
    }
    let printed = words_of(&ledger);
    assert_eq!(
        printed.matches("Done").count(),
        facts.panels.len() - without.len()
    );
}

#[test]
fn one_call_asks_everything_and_a_page_prints_no_mark_twice() {
    let ledger = busy(PaperSize::A4);
    let round = round(&ledger);
    let facts = facts_of(&round);
    let calls: Vec<String> = facts
        .prepare
        .calls
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        calls,
        [
            "Thimblo, Madeup Dusk: bottle 4 reads 10 mg/mL, prescription 8 mg/mL. What now?",
            "Pipkin, Madeup Ivy: too small for any line at hand. What now?",
            "Nubbet weighs 12 percent less (50 g on Mon 5 March, now 44 g): give at all?",
        ]
    );
    let prepare: String = pages_of(&round)
        .iter()
        .filter(|page| page.name == "Prepare")
        .map(Page::words)
        .collect();
    for dose in &round.doses {
        if let Some(drawn) = dose.drawn() {
            let mark = drawn.chosen.instrument.spoken(drawn.chosen.mark.lines);
            let mark = mark.to_string();
            assert!(!prepare.contains(&mark), "{mark} stands on the first page");
        }
    }
}

/// Four draws of 1.8 mL are 7.2 mL, and a hub keeps 0.07 mL each time; 0.34, 0.39 and 0.48 mL are
/// 1.21 mL, from tips that keep nothing.
/// Thimblo and Quillo are injected; Pipkin's injection has no mark, and the others need no needle.
#[test]
fn a_used_needle_is_binned_after_the_animal_it_was_for() {
    let ledger = busy(PaperSize::A4);
    let facts = facts_of(&round(&ledger));
    let binned = |then: &[String]| then.iter().any(|step| step == "sharps binned");
    let turns = facts.prepare.turns.iter().filter(|turn| binned(&turn.then));
    let animals: Vec<&str> = turns.map(|turn| turn.animal.as_str()).collect();
    assert_eq!(animals, ["Thimblo", "Quillo"]);
    assert_eq!(words_of(&ledger).matches("sharps binned").count(), 2);
    // A weight that is too old is renewed first; then the ladder tells what to draw.
    let mut old = Room::new(PaperSize::A4, true);
    one_dose(&mut old);
    let injected = Script {
        route: r#"Injection("under the skin")"#,
        animals: r#""Oldo""#,
        ..cobalt(SCRIPT.vet, "DEMO-0002")
    };
    old.animal("Oldo", "tub 5", false);
    old.weigh("Oldo", "2001-02-06 18:00", "84 g", None);
    old.enter(&injected, "2001-03-08 09:00");
    assert_eq!(words_of(&old.ledger()).matches("sharps binned").count(), 1);
    let by_mouth = words_of(&quiet(PaperSize::A4));
    assert!(!by_mouth.contains("sharps"), "{by_mouth}");
}

#[test]
fn a_sum_is_told_only_where_a_bottle_is_drawn_from_several_times() {
    let totals = |ledger: &Ledger| -> Vec<(String, String)> {
        let bottles = facts_of(&round(ledger)).prepare.bottles;
        let totals = bottles
            .into_iter()
            .filter_map(|bottle| match bottle.needed {
                Needed::Draws {
                    total: Some(total), ..
                } => Some((bottle.medicine, total)),
                _ => None,
            });
        totals.collect()
    };
    let told = |medicine: &str, total: &str| vec![(medicine.to_owned(), total.to_owned())];
    let (busy, quiet) = (busy(PaperSize::A4), quiet(PaperSize::A4));
    let saline = told("Madeup Saline", "7.2 mL in all, and 0.28 mL left in hubs");
    assert_eq!(totals(&busy), saline);
    assert_eq!(totals(&quiet), told("Madeup Cobalt", "1.21 mL in all"));
    for ledger in [&busy, &quiet] {
        let printed = words_of(ledger);
        let marked = printed.matches("not a mark").count();
        let history = printed.matches("history, not a mark").count();
        assert_eq!(marked - history, 1);
    }
}

#[test]
fn a_quiet_day_is_two_pages_of_a4_and_three_of_letter() {
    for (paper, expected) in [(PaperSize::A4, 2), (PaperSize::Letter, 3)] {
        let ledger = quiet(paper);
        let pages = pages_of(&round(&ledger));
        let names: Vec<&str> = pages.iter().map(|page| page.name.as_str()).collect();
        assert_eq!(pages.len(), expected, "{names:?}");
    }
}

#[test]
fn nothing_on_it_can_be_misread() {
    for paper in PAPERS {
        for ledger in [busy(paper), quiet(paper)] {
            for page in pages_of(&round(&ledger)) {
                assert_eq!(notation_faults(&page.words()), Vec::<String>::new());
            }
        }
    }
}

#[test]
fn the_same_round_gives_the_same_bytes() {
    let card = |paper| {
        let ledger = busy(paper);
        of_round(&round(&ledger), paper).unwrap()
    };
    let once = card(PaperSize::A4);
    assert!(once.starts_with(b"%PDF-1.7"));
    assert_eq!(once, card(PaperSize::A4));
    assert_ne!(once, card(PaperSize::Letter));
}

#[test]
fn a_demonstration_says_so_on_every_page_and_another_book_does_not() {
    let ledger = busy(PaperSize::A4);
    for page in pages_of(&round(&ledger)) {
        assert!(page.words().starts_with("DEMONSTRATION"));
        assert!(page.words().ends_with("DEMONSTRATION"));
    }
    // A prescription that says it is invented says so in its panel, in any book.
    let mut real = Room::new(PaperSize::A4, false);
    one_dose(&mut real);
    let ledger = real.ledger();
    let pages = pages_of(&round(&ledger));
    let said = |page: &Page| page.words().matches("DEMONSTRATION").count();
    assert_eq!(pages.iter().map(said).collect::<Vec<_>>(), [0, 1]);
}

/// One animal with one dose by mouth.
fn one_dose(room: &mut Room) {
    room::syringes(room);
    room.animal("Thimblo", "tub 4", false);
    room.weigh("Thimblo", "2001-03-07 18:00", "84 g", None);
    room.enter(&cobalt(SCRIPT.vet, "DEMO-0001"), "2001-03-08 09:00");
    room.open(1, "Madeup Cobalt", Some("25 mg/mL"));
}

fn cobalt(vet: &'static str, reference: &'static str) -> Script {
    Script {
        reference,
        vet,
        animals: r#""Thimblo""#,
        medicine: r#"name: "Madeup Cobalt", strength: "25 mg/mL""#,
        dose: r#"PerBodyWeight("50 mg/kg")"#,
        ..SCRIPT
    }
}

#[test]
fn with_two_vets_every_number_and_every_panel_says_whose() {
    let mut room = Room::new(PaperSize::Letter, true);
    one_dose(&mut room);
    let other = r#"name: "Dr B. Sample", phone: "555 0177""#;
    let dusk = Script {
        medicine: r#"name: "Madeup Dusk", strength: "8 mg/mL""#,
        ..cobalt(other, "DEMO-0002")
    };
    room.enter(&dusk, "2001-03-08 09:00");
    room.open(2, "Madeup Dusk", Some("10 mg/mL"));
    let ledger = room.ledger();
    let facts = facts_of(&round(&ledger));
    let vet = |reference| panel(&facts, reference).vet.as_deref();
    assert_eq!(vet("DEMO-0001"), Some("Dr A. Example"));
    assert_eq!(vet("DEMO-0002"), Some("Dr B. Sample"));
    let call = facts.prepare.calls.first().unwrap().to_string();
    assert!(call.ends_with("What now? (Dr B. Sample)"), "{call}");
    for page in pages_of(&round(&ledger)) {
        let words = page.words();
        assert_eq!(page.faults(), Vec::<Fault>::new());
        for number in ["Dr A. Example 555 0134", "Dr B. Sample 555 0177"] {
            assert!(words.contains(number), "{number} in {words}");
        }
    }
}

#[test]
fn damage_of_the_book_is_said_before_anything_else() {
    let mut room = Room::new(PaperSize::A4, true);
    one_dose(&mut room);
    room.spoil_the_last();
    let ledger = Ledger::fold(room.rows()).with_damage([]);
    let round = round(&ledger);
    assert_eq!(round.damaged.len(), 1);
    let words = pages_of(&round).first().unwrap().words();
    let at = |part: &str| {
        words
            .find(part)
            .unwrap_or_else(|| panic!("{part}: {words}"))
    };
    assert!(at("STOP. Part of the book is damaged") < at("This repeats your vet"));
}

#[test]
fn a_day_without_doses_says_so_and_whom_to_call() {
    let ledger = Room::new(PaperSize::A4, true).ledger();
    let words = words_of(&ledger);
    assert!(words.contains("Nothing to give on this day"));
    assert!(words.contains("In doubt? Draw nothing. Call your vet"));
}

/// Leaves the cards beside the test program, for a person to look at.
#[test]
fn the_cards_can_be_looked_at() {
    let program = std::env::current_exe().unwrap();
    for paper in PAPERS {
        for (name, ledger) in [("busy", busy(paper)), ("quiet", quiet(paper))] {
            let bytes = of_round(&round(&ledger), paper).unwrap();
            let file = format!("round-{name}-{paper:?}.pdf");
            std::fs::write(program.with_file_name(file), bytes).unwrap();
        }
    }
}
