//! What a card must never do, whatever stands on it.
#![allow(clippy::unwrap_used)]

use std::sync::LazyLock;

use crate::sheet::SheetError;
use crate::sheet::card::facts::{Action, Condition, Facts, Panel, Phrase};
use crate::sheet::card::{pages, pdf, sample};
use crate::sheet::face::Face;
use crate::sheet::page::{BLOCK_WIDTH, Fault, Item, Page, Paper, Rect};

const PAPERS: [Paper; 2] = [Paper::A4, Paper::UsLetter];

/// A sample card's name, its facts, its paper and its pages.
type LaidOut = (String, Facts, Paper, Vec<Page>);

/// Every sample card on every paper.
fn each(check: impl Fn(&str, &Facts, Paper, &[Page])) {
    static CARDS: LazyLock<Vec<LaidOut>> = LazyLock::new(|| {
        let mut cards = Vec::new();
        for (name, facts) in sample::all() {
            for paper in PAPERS {
                let pages = pages(&facts, paper).unwrap();
                cards.push((format!("{name} on {paper:?}"), facts.clone(), paper, pages));
            }
        }
        cards
    });
    for (name, facts, paper, pages) in CARDS.iter() {
        check(name, facts, *paper, pages);
    }
}

/// Without spaces, so that a word cut at a line's end still compares.
fn squeezed(words: &str) -> String {
    words.split_whitespace().collect()
}

/// All that a panel says that is acted on.
fn acted_on(panel: &Panel) -> Vec<String> {
    let mut words = vec![
        panel.animal.clone(),
        panel.identification.clone(),
        panel.last_dose.clone(),
        panel.medicine.clone(),
        panel.weight.to_string(),
        panel.when.to_string(),
    ];
    words.extend(panel.bottle.clone());
    words.extend(panel.must_read.clone());
    words.extend(panel.it_reads.clone());
    words.extend(panel.measure.clone().map(|(_, words)| words));
    words.extend(panel.place.clone());
    words.extend(panel.alike.clone());
    words.extend(panel.spat_out.clone());
    words.extend(panel.sites.clone());
    match &panel.action {
        Action::Mark(mark) => {
            words.push(mark.figure.clone());
            words.extend(mark.unit.clone());
            words.extend(mark.below.clone());
            words.extend(mark.draws.clone());
            let count = mark.scale.as_ref().map(|scale| scale.count());
            words.extend(count.map(|(lead, find)| format!("{lead}{find}")));
        }
        Action::Words(own) => words.push(format!("“{own}”")),
        Action::NoMark { why, .. } => words.extend([why.clone(), "NO MARK".to_owned()]),
    }
    words
}

/// What it says beside that; the ladder may be cut.
fn checked(panel: &Panel) -> Vec<String> {
    let mut words = vec![panel.course.clone()];
    words.extend(panel.vet.clone());
    words.extend(panel.working.clone());
    words.extend(panel.cautions.iter().map(|caution| caution.words.clone()));
    words.extend(
        panel
            .vet_words
            .iter()
            .map(|said| format!("“{}”", said.words)),
    );
    words
}

#[test]
fn no_text_overlaps_leaves_its_room_or_is_struck_through() {
    each(|name, _, _, pages| {
        for page in pages {
            assert_eq!(page.faults(), Vec::<Fault>::new(), "{name}: {}", page.name);
        }
    });
}

#[test]
fn nothing_leaves_the_printed_block() {
    each(|name, _, paper, pages| {
        let (left, top) = (paper.block_left(), paper.block_top());
        let block = Rect::edges(left, top, left + BLOCK_WIDTH, top + paper.block_height());
        for item in pages.iter().flat_map(|page| &page.items) {
            let extent = match item {
                Item::Run(run) => run.inked(),
                Item::Frame { rect, .. } | Item::Fill { rect, .. } => *rect,
                Item::Rule { from, to, .. } => Rect::edges(
                    from.0.min(to.0),
                    from.1.min(to.1),
                    from.0.max(to.0),
                    from.1.max(to.1),
                ),
                Item::Shape { .. } => continue,
            };
            assert!(block.holds(&extent, 0.01), "{name}: {item:?}");
        }
    });
}

#[test]
fn everything_said_is_printed() {
    each(|name, facts, _, pages| {
        let printed = squeezed(&pages.iter().map(Page::words).collect::<String>());
        let mut said: Vec<String> = facts.panels.iter().flat_map(acted_on).collect();
        // What goes on after a panel is broken by heads of its own.
        if name.starts_with("wordy") {
            said.extend((1..=1500).map(|n| format!("word{n}")));
        } else {
            said.extend(facts.panels.iter().flat_map(checked));
        }
        for vet in &facts.vets {
            said.extend([vet.name.clone(), vet.phone.clone()]);
            said.extend(vet.practice.clone());
            said.extend(vet.out_of_hours.clone());
        }
        said.extend(facts.prepare.warning.clone());
        said.extend(facts.prepare.done.clone());
        if !facts.panels.is_empty() {
            said.extend(facts.prepare.calls.iter().map(Phrase::to_string));
            said.extend(facts.prepare.things.iter().map(Phrase::to_string));
            for bottle in &facts.prepare.bottles {
                said.extend([bottle.medicine.clone(), bottle.which.clone()]);
                said.extend(bottle.must_read.clone());
            }
            for turn in &facts.prepare.turns {
                said.extend([turn.animal.clone(), turn.identification.clone()]);
                said.extend(turn.lines.clone());
            }
        }
        for words in said {
            assert!(printed.contains(&squeezed(&words)), "{name}: {words}");
        }
    });
}

#[test]
fn what_is_acted_on_is_11_points_or_larger_and_the_mark_is_largest() {
    each(|name, facts, _, pages| {
        for panel in &facts.panels {
            let said: Vec<String> = acted_on(panel).iter().map(|w| squeezed(w)).collect();
            for run in pages.iter().flat_map(Page::runs) {
                let words = squeezed(&run.text);
                if words.len() > 3 && said.contains(&words) {
                    assert!(run.style.size >= 11.0, "{name}: {run:?}");
                }
            }
        }
        for page in pages {
            let marks: Vec<&str> = facts
                .panels
                .iter()
                .filter_map(|panel| match &panel.action {
                    Action::Mark(mark) => Some(mark.figure.as_str()),
                    Action::Words(_) | Action::NoMark { .. } => None,
                })
                .collect();
            let largest = page.runs().map(|run| run.style.size).fold(0.0, f32::max);
            for run in page.runs().filter(|run| run.style.size >= 30.0) {
                let text = run.text.trim();
                let mark = marks.iter().any(|figure| figure.contains(text));
                assert!(mark || text == "NO MARK", "{name}: {run:?}");
            }
            assert!(largest <= 45.0);
        }
    });
}

#[test]
fn only_the_vets_words_are_slanted() {
    each(|name, facts, _, pages| {
        let vets: String = facts
            .panels
            .iter()
            .flat_map(|panel| &panel.vet_words)
            .map(|said| format!("“{}”", squeezed(&said.words)))
            .chain(facts.panels.iter().filter_map(|panel| match &panel.action {
                Action::Words(own) => Some(format!("“{}”", squeezed(own))),
                Action::Mark(_) | Action::NoMark { .. } => None,
            }))
            .collect();
        for run in pages.iter().flat_map(Page::runs) {
            match run.style.face {
                Face::BoldItalic => {
                    let words = squeezed(&run.text);
                    assert!(vets.contains(&words), "{name}: {run:?}");
                }
                Face::Regular | Face::Bold => {}
            }
        }
    });
}

#[test]
fn panels_stand_whole_and_in_order_after_the_page_to_prepare_from() {
    let mut facts = sample::card();
    facts.panels = (1..=9)
        .map(|n| Panel {
            course: format!("course number{n}"),
            place: Some(format!("place{n}")),
            ..match n % 3 {
                0 => sample::normal(),
                1 => sample::call(),
                _ => sample::insulin(),
            }
        })
        .collect();
    for paper in PAPERS {
        let pages = pages(&facts, paper).unwrap();
        let mut found = Vec::new();
        for page in &pages {
            let words = page.words();
            for n in 1..=9 {
                let whole = [format!("number{n}"), format!("place{n}")]
                    .map(|part| words.split(' ').any(|word| word == part));
                assert!(whole == [true, true] || whole == [false, false]);
                if whole == [true, true] {
                    found.push(n);
                }
            }
        }
        assert_eq!(found, [1, 2, 3, 4, 5, 6, 7, 8, 9]);
        assert_eq!(pages.first().unwrap().name, "Prepare");
        assert!(pages.first().unwrap().words().contains("Order of work"));
    }
}

#[test]
fn two_doses_stand_on_a_page_of_either_paper() {
    for paper in PAPERS {
        let mut facts = sample::card();
        facts.panels = vec![sample::normal(), sample::call()];
        let pages = pages(&facts, paper).unwrap();
        let words = pages.last().unwrap().words();
        assert!(
            words.contains("Thimblo") && words.contains("Nubbet"),
            "{paper:?}"
        );
    }
}

#[test]
fn every_page_has_its_number_the_number_to_call_the_code_and_the_deferral() {
    each(|name, facts, _, pages| {
        for (at, page) in pages.iter().enumerate() {
            let words = page.words();
            let number = format!("Page {} of {}", at + 1, pages.len());
            let call = facts.vets.first().map_or("your vet", |_| "555 0134");
            for part in [
                number.as_str(),
                "In doubt? Draw nothing. Call",
                call,
                "repeats your vet’s prescription",
                "stop and call.",
                &facts.book_code,
                &facts.day,
                &facts.day_short,
                &facts.version,
            ] {
                assert!(words.contains(part), "{name}: {part} in {words}");
            }
        }
    });
}

#[test]
fn a_demonstration_says_so_at_head_and_foot_and_in_every_panel() {
    each(|name, facts, _, pages| {
        for page in pages {
            let said = page.words().matches("DEMONSTRATION").count();
            let panels = page.words().matches("Last dose").count();
            if facts.demonstration {
                assert!(said >= 10 + panels, "{name}: {said}");
            } else {
                assert_eq!(said, 0, "{name}");
            }
        }
    });
}

#[test]
fn a_call_stands_before_the_mark_that_waits_for_it() {
    let facts = sample::card();
    let pages = pages(&facts, Paper::A4).unwrap();
    let words: String = pages.iter().map(Page::words).collect();
    let at = |part: &str| words.find(part).unwrap_or_else(|| unreachable!("{part}"));
    assert!(at("CALL FIRST") < at("time called"));
    assert!(at("time called") < at("give as below"));
    assert!(at("give as below") < at("0.36 mL"));
    let nubbet = at("CALL FIRST");
    let after = |part: &str| nubbet + words.get(nubbet..).unwrap().find(part).unwrap();
    let order = [
        "Nubbet weighs",
        "Last dose",
        "Madeup Cobalt",
        "must read",
        "it reads",
        "Syringe",
        "the call",
        "36",
        "tip up",
        "Where",
        "Weight",
        "When",
        "Done",
    ];
    for pair in order.windows(2) {
        let [first, second] = pair else {
            unreachable!()
        };
        assert!(after(first) < after(second), "{first} before {second}");
    }
}

#[test]
fn no_mark_prints_no_drawing_and_no_mark_in_its_place() {
    let mut facts = sample::card();
    facts.panels = vec![sample::stop()];
    let pages = pages(&facts, Paper::A4).unwrap();
    let page = pages.last().unwrap();
    let words = page.words();
    assert!(words.contains("NO MARK") && words.contains("STOP. Wrong strength"));
    assert!(!words.contains("small lines") && !words.contains("top edge"));
    assert!(!words.contains(" mL "), "{words}");
}

/// Which of a crowded panel's thirty rows are printed; the weight in the book is in the 15th.
fn shown_rows(conditions: Vec<Condition>) -> Vec<usize> {
    let mut facts = sample::card();
    facts.panels = vec![Panel {
        conditions,
        ..sample::crowded()
    }];
    let pages = pages(&facts, Paper::A4).unwrap();
    let words: String = pages.iter().map(Page::words).collect();
    let shown = |n: &usize| words.contains(&format!("1,{:03} to", n * 20));
    (0..30).filter(shown).collect()
}

#[test]
fn a_full_column_keeps_two_rows_on_either_side_of_today_and_four_where_it_is_weighed_first() {
    let whole = |least: usize, rows: Vec<usize>| {
        let (first, last) = (*rows.first().unwrap(), *rows.last().unwrap());
        assert_eq!(rows, (first..=last).collect::<Vec<_>>());
        assert!(first + least <= 14 && 14 + least <= last, "{rows:?}");
    };
    whole(2, shown_rows(vec![Condition::AfterCall]));
    whole(4, shown_rows(vec![Condition::AfterWeighing]));
}

#[test]
fn a_letter_that_cannot_be_printed_is_an_error_wherever_it_stands() {
    let spoil: [fn(&mut Facts); 5] = [
        |facts| {
            facts
                .panels
                .iter_mut()
                .for_each(|p| p.animal = "鼠 Thimblo".to_owned())
        },
        |facts| {
            facts
                .panels
                .iter_mut()
                .for_each(|p| p.working = vec!["鼠 Thimblo".to_owned()])
        },
        |facts| {
            facts
                .vets
                .iter_mut()
                .for_each(|v| v.phone = "鼠 Thimblo".to_owned())
        },
        |facts| facts.prepare.things.push(Phrase::from("鼠 Thimblo")),
        |facts| facts.day = "鼠 Thimblo".to_owned(),
    ];
    for spoil in spoil {
        let mut facts = sample::card();
        spoil(&mut facts);
        match pdf(&facts, Paper::A4) {
            Err(SheetError::MissingGlyph { character, text }) => {
                assert_eq!(character, '鼠');
                assert!(text.contains("鼠 Thimblo"), "{text}");
            }
            other => unreachable!("{other:?}"),
        }
    }
}

#[test]
fn a_part_taller_than_a_page_is_an_error_that_names_it() {
    let mut facts = sample::card();
    facts.panels = vec![Panel {
        identification: "tub ".repeat(3000),
        ..sample::normal()
    }];
    let error = pages(&facts, Paper::A4).unwrap_err();
    assert!(error.to_string().contains("Thimblo"), "{error}");
}

#[test]
fn the_same_facts_give_the_same_bytes() {
    let once = pdf(&sample::card(), Paper::A4).unwrap();
    assert_eq!(once, pdf(&sample::card(), Paper::A4).unwrap());
    assert_ne!(once, pdf(&sample::card(), Paper::UsLetter).unwrap());
}

/// Leaves the sample cards beside the test program, for a person to look at.
#[test]
fn the_sample_cards_can_be_looked_at() {
    let program = std::env::current_exe().unwrap();
    for (name, facts) in sample::all() {
        for (paper, suffix) in [(Paper::A4, "a4"), (Paper::UsLetter, "letter")] {
            let bytes = pdf(&facts, paper).unwrap();
            let file = format!("card-{name}-{suffix}.pdf");
            std::fs::write(program.with_file_name(file), &bytes).unwrap();
            assert!(bytes.starts_with(b"%PDF-1.7"));
        }
    }
}
