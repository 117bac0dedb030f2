//! The page for a phone, read by an HTML parser that shares no code with what writes it (the
//! `scraper` crate over `html5ever`), against the card on the terminal.
//!
//! How it looks in a real browser is measured by docs/check-page.sh.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

#[path = "demo/bench.rs"]
#[allow(dead_code, reason = "each test uses what it needs")]
mod bench;
mod readers;

use bench::{Bench, NOW};
use readers::notation::notation_faults;
use scraper::{ElementRef, Html, Selector};

/// The page of a day, and the terminal's words for the same.
fn page_of(bench: &Bench, day: &str, now: &str) -> (String, String) {
    let file = format!("page-{day}.html");
    let path = bench.path(&file);
    let command = ["today", "--date", day, "--html", &path, "--replace"];
    let answer = bench.run_at(&command, "", now);
    assert_eq!(answer.code, 0, "{answer:?}");
    (bench.read(&file), answer.out)
}

/// The page as a browser takes it, which must find nothing wrong with it.
fn parsed(page: &str) -> Html {
    let html = Html::parse_document(page);
    assert_eq!(html.errors, Vec::<String>::new(), "{page}");
    html
}

fn all<'h>(html: &'h Html, what: &str) -> Vec<ElementRef<'h>> {
    html.select(&Selector::parse(what).unwrap()).collect()
}

/// What is read in an element, with single spaces.
fn words(element: ElementRef) -> String {
    collapsed(&element.text().collect::<String>())
}

fn collapsed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The panels of the terminal's card: the rows of each, as label and words.
fn panels(card: &str) -> Vec<Vec<(String, String)>> {
    let mut panels: Vec<Vec<(String, String)>> = Vec::new();
    for line in card.lines() {
        let is_head = line
            .split_once(" of ")
            .is_some_and(|(n, rest)| n.parse::<u32>().is_ok() && rest.contains("  "));
        if is_head {
            let name = line.split_once("  ").unwrap().1;
            panels.push(vec![("Name".to_owned(), name.to_owned())]);
            continue;
        }
        let (Some(panel), Some(row)) = (panels.last_mut(), line.strip_prefix("   ")) else {
            if !line.is_empty() && !panels.is_empty() {
                break;
            }
            continue;
        };
        let (label, text) = row.split_at(row.len().min(10));
        match label.trim() {
            "" => panel
                .last_mut()
                .unwrap()
                .1
                .push_str(&format!(" {}", text.trim())),
            label => panel.push((label.to_owned(), text.trim().to_owned())),
        }
    }
    panels
}

/// The words of a row as they stand on the page, in one piece or several.
fn pieces(label: &str, text: &str) -> Vec<String> {
    let text = collapsed(text);
    match label {
        // What a person types next stands on the terminal alone.
        "Then" => Vec::new(),
        "Name" => text
            .trim_end_matches(')')
            .splitn(2, " (")
            .map(str::to_owned)
            .collect(),
        "STOP" => text.split(". ").map(str::to_owned).collect(),
        "Your vet" => match text.split_once(": \"") {
            Some((lead, words)) => vec![lead.to_owned(), format!("\"{words}")],
            None => vec![text],
        },
        "Ladder" => text
            .replace("mL ", "mL|")
            .split('|')
            .map(|row| row.replace(": ", " "))
            .collect(),
        _ => vec![text],
    }
}

/// Words of a ladder or a note may stand beside others; what matters is that each is there.
fn found(page: &str, piece: &str) -> bool {
    piece
        .split(". ")
        .all(|sentence| page.contains(sentence.trim_end_matches('.')))
}

/// The same marks, reasons, cautions and words as on the terminal, dose by dose, on every day of
/// the demonstration's week.
#[test]
fn it_says_what_the_terminal_says() {
    let bench = Bench::with_demo("phone-says");
    let mut compared = 0;
    for day in ["2001-03-08", "2001-03-09", "2001-03-11", "2001-03-12"] {
        let (page, card) = page_of(&bench, day, NOW);
        let html = parsed(&page);
        let articles = all(&html, "article");
        let panels = panels(&card);
        assert_eq!(articles.len(), panels.len(), "{day}");
        for (article, panel) in articles.into_iter().zip(panels) {
            let said = words(article);
            for (label, text) in panel {
                for piece in pieces(&label, &text) {
                    assert!(
                        found(&said, &piece),
                        "{day}, {label}: {piece}\nnot in: {said}"
                    );
                    compared += 1;
                }
            }
        }
    }
    assert!(compared > 150, "{compared}");
}

/// The figures a person acts on, against the exact values.
#[test]
fn each_mark_is_the_mark_of_the_round() {
    let bench = Bench::with_demo("phone-marks");
    let html = parsed(&page_of(&bench, "2001-03-08", NOW).0);
    let card = bench.json(&["today"]);
    let doses = card["doses"].as_array().unwrap();
    let articles = all(&html, "article");
    assert_eq!(articles.len(), doses.len());
    let one = |article: &ElementRef, what: &str| {
        article
            .select(&Selector::parse(what).unwrap())
            .map(words)
            .collect::<Vec<_>>()
    };
    let mut marks = 0;
    for (article, dose) in articles.iter().zip(doses) {
        assert_eq!(one(article, "h2"), [dose["animal"].as_str().unwrap()]);
        let mark = &dose["worked"]["mark"]["each"];
        let Some(shown) = mark["shown"].as_str() else {
            assert_eq!(one(article, "strong"), ["NO MARK"]);
            assert!(one(article, ".figure, svg").is_empty(), "{dose}");
            continue;
        };
        let figure = format!("{shown} {}", mark["unit"].as_str().unwrap());
        // Half a tablet is said in words, and nothing is drawn.
        let tablets = mark["unit"] == "{tbl}";
        let figure = if tablets { "half tablet" } else { &figure };
        assert_eq!(one(article, ".figure"), [figure], "{dose}");
        assert_eq!(one(article, "svg").len(), usize::from(!tablets));
        marks += 1;
    }
    assert!(marks >= 3, "{marks}");
}

/// STOP and CALL stand before the deferral and every panel, and first in their own.
#[test]
fn stop_and_call_come_first() {
    let bench = Bench::with_demo("phone-first");
    let (page, _) = page_of(&bench, "2001-03-08", NOW);
    let html = parsed(&page);
    let links = all(&html, "nav a");
    let said: Vec<String> = links.iter().map(|link| words(*link)).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(
        said.contains(&"STOP: Ossin. Wrong strength in hand".to_owned()),
        "{said:?}"
    );
    assert!(
        said.iter()
            .any(|said| said.starts_with("CALL: Mossop weighs")),
        "{said:?}"
    );
    assert!(page.find("<nav").unwrap() < page.find("<article").unwrap());
    for link in links {
        let target = link.attr("href").unwrap();
        let panel = all(&html, target).pop().unwrap();
        let first = ElementRef::wrap(panel.children().find(|c| c.value().is_element()).unwrap());
        assert_eq!(first.unwrap().attr("class"), Some("alarm"));
    }
}

#[test]
fn it_says_whose_it_is_when_it_was_made_and_that_it_is_a_demonstration() {
    let bench = Bench::with_demo("phone-whose");
    let (page, card) = page_of(&bench, "2001-03-08", NOW);
    let html = parsed(&page);
    let said = words(html.root_element());
    for phrase in [
        scruple::round::say::DEFERRAL,
        "Dr A. Example",
        "made Thu 8 March 19:30",
        "Thursday 8 March 2001",
    ] {
        assert!(said.contains(phrase), "{phrase}\n{said}");
    }
    let code = card
        .split("book code ")
        .nth(1)
        .unwrap()
        .lines()
        .next()
        .unwrap();
    assert!(said.contains(&format!("Book code {code}")), "{said}");
    let strips = all(&html, ".strip");
    assert_eq!(strips.len(), 2);
    let body = all(&html, "body").pop().unwrap();
    let inside = words(body);
    assert!(inside.starts_with("DEMONSTRATION") && inside.ends_with("is invented."));
    let calls = all(&html, "a[href^='tel:']");
    assert!(
        calls
            .iter()
            .any(|call| call.attr("href") == Some("tel:5550134"))
    );
    // The vet's words are set apart: nowhere but in their own blocks.
    let vet: Vec<String> = all(&html, "blockquote.vet")
        .into_iter()
        .map(words)
        .collect();
    assert!(
        vet.iter()
            .any(|vet| vet.contains("\"Demonstration sign A\"")),
        "{vet:?}"
    );
    for apart in all(&html, "article > p, article > dl, article > div") {
        assert!(
            !words(apart).contains("Demonstration sign"),
            "{}",
            words(apart)
        );
    }
}

/// Nothing is fetched and nothing runs.
#[test]
fn it_needs_nothing_from_outside() {
    let bench = Bench::with_demo("phone-alone");
    let (page, _) = page_of(&bench, "2001-03-08", NOW);
    let html = parsed(&page);
    for never in [
        "script", "link", "img", "iframe", "object", "form", "input", "base",
    ] {
        assert!(all(&html, never).is_empty(), "{never}");
    }
    for element in all(&html, "*") {
        for (name, value) in element.value().attrs() {
            assert!(!name.starts_with("on"), "{name}={value}");
            assert!(
                !["src", "srcset", "style", "action"].contains(&name),
                "{name}"
            );
            if name == "href" {
                assert!(
                    value.starts_with('#') || value.starts_with("tel:"),
                    "{value}"
                );
            }
        }
    }
    for never in ["http:", "https:", "url(", "@import", "javascript:"] {
        assert!(!page.contains(never), "{never}");
    }
    let policy = all(&html, "meta[http-equiv]").pop().unwrap();
    assert!(
        policy
            .attr("content")
            .unwrap()
            .starts_with("default-src 'none'")
    );
}

/// Whatever was typed is text.
#[test]
fn what_people_typed_is_text() {
    let bench = Bench::with_demo("phone-typed");
    let name = "Tom <b>&amp; \"Co\" 'n'</b>";
    let sign = "</blockquote><script>alert(1)</script> & <img src=x onerror=y>";
    let add = [
        "animal",
        "add",
        name,
        "--species",
        "<i>",
        "--id",
        "tub <7> & \"8\"",
    ];
    let answer = bench.run(&add, "");
    assert_eq!(answer.code, 0, "{answer:?}");
    let answer = bench.run(&["weigh", name, "46 g"], "");
    assert_eq!(answer.code, 0, "{answer:?}");
    let quoted = |text: &str| format!("{text:?}");
    let script = format!(
        r#"Prescription(demonstration: true, reference: "DEMO-0099", written: "2001-03-08",
        vet: Vet(name: "Dr <A> & B", phone: "555 0134 or \"<0>\""), animals: [{}],
        medicine: Medicine(name: "Madeup <u>", strength: "8 mg/mL"), dose: PerBodyWeight("13 mg/kg"),
        route: Injection("under <the> skin"), schedule: Every(interval: "60 hours", doses: 4),
        after_late: Call, stop_and_call_if: [{}])"#,
        quoted(name),
        quoted(sign)
    );
    let path = bench.write("typed.ron", &script);
    let enter = ["enter", &path, "--start", "2001-03-08 19:30", "--yes"];
    let answer = bench.run(&enter, "");
    assert_eq!(answer.code, 0, "{answer:?}");
    let (page, _) = page_of(&bench, "2001-03-08", NOW);
    let html = parsed(&page);
    assert!(all(&html, "script, img, article i, article u").is_empty());
    let articles: Vec<String> = all(&html, "article").into_iter().map(words).collect();
    let typed = articles.iter().find(|said| said.contains(name)).unwrap();
    for text in [sign, "tub <7> & \"8\"", "Madeup <u>", "under <the> skin"] {
        assert!(typed.contains(text), "{text}\n{typed}");
    }
    // Not one number, so not to be dialled.
    assert!(all(&html, "a[href*='0>']").is_empty());
}

/// Line by line, as a browser breaks them.
#[test]
fn its_words_are_in_safe_notation() {
    let bench = Bench::with_demo("phone-notation");
    for day in ["2001-03-08", "2001-03-09", "2001-03-12"] {
        let html = parsed(&page_of(&bench, day, NOW).0);
        let lines = all(
            &html,
            "h1, h2, h3, p, dt, dd, td, th, a, strong, b, cite, figcaption, svg text",
        );
        let mut read = 0;
        for line in lines {
            let said = words(line);
            // A book code is no figure with a unit, whatever its letters.
            let said = said.split("ook code").next().unwrap();
            assert_eq!(notation_faults(said), Vec::<String>::new(), "{said}");
            read += 1;
        }
        assert!(read > 30, "{day}: {read}");
    }
}

#[test]
fn it_is_written_as_every_file_is() {
    let bench = Bench::with_demo("phone-written");
    let path = bench.path("card.html");
    let write = ["today", "--html", &path];
    let answer = bench.run(&write, "");
    assert_eq!(answer.code, 0, "{answer:?}");
    assert!(answer.out.contains("card.html"), "{}", answer.out);
    let first = bench.read("card.html");
    let again = bench.run(&write, "");
    assert_eq!(again.code, 2, "{again:?}");
    assert!(again.err.contains("--replace"), "{}", again.err);
    let replaced = bench.run(&["today", "--html", &path, "--replace"], "");
    assert_eq!(replaced.code, 0, "{replaced:?}");
    // The same bytes for the same book and the same moment.
    assert_eq!(bench.read("card.html"), first);
    let book = bench.path("room.scruple");
    let over = bench.run(&["today", "--html", &book, "--replace"], "");
    assert_eq!(over.code, 2, "{over:?}");
}
