//! Rooms made by chance: from one animal to three hundred, long names in three scripts, every
//! caution at once, both papers. Nothing on their sheets overlaps, strays or is lost, and no
//! animal's dose is split.
//!
//! A few small rooms are made each time. `SCRUPLE_ROOMS=200 cargo test --release --test
//! paper_rooms` makes many, up to the largest, and says how many pages they had.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

#[path = "paper/all.rs"]
mod all;
#[path = "paper/room.rs"]
mod room;

mod readers;

use all::Sheet;
use readers::notation::notation_faults;
use room::{Room, Script, round};
use scruple::animal::Tag;
use scruple::ledger::Ledger;
use scruple::rack::{Needle, PrintedScale};
use scruple::round::Round;
use scruple::settings::PaperSize;
use scruple::sheet::page::{BLOCK_WIDTH, Fault, Item, Page, Rect};
use std::collections::BTreeSet;

/// Numbers by chance, the same in every run.
struct Chance(u64);

impl Chance {
    /// A step of Knuth's linear congruential generator (MMIX); its high bits are used.
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }

    fn of<'a>(&mut self, all: &[&'a str]) -> &'a str {
        let at = self.below(u64::try_from(all.len()).unwrap());
        all[usize::try_from(at).unwrap()]
    }

    fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }
}

const SYLLABLES: [&str; 24] = [
    "thim", "blo", "nub", "bet", "quil", "pip", "žof", "ķaz", "łęb", "ğür", "ßen", "øst", "ñan",
    "Ωμε", "γάτ", "ψύλ", "λος", "жук", "ёжи", "щур", "їжа", "WWW", "iii", "Jgj",
];

fn name(chance: &mut Chance, number: u64) -> String {
    let mut name = String::new();
    let parts = if chance.one_in(6) {
        14
    } else {
        2 + chance.below(3)
    };
    for part in 0..parts {
        name.push_str(chance.of(&SYLLABLES));
        if part % 4 == 3 && chance.one_in(2) {
            name.push(' ');
        }
    }
    // What the commands accept is at most 80 characters.
    let name: String = name.chars().take(72).collect();
    format!("{} {number}", name.trim())
}

fn words(chance: &mut Chance, most: usize) -> String {
    const WORDS: [&str; 10] = [
        "tub",
        "the second from the door",
        "grey",
        "white toe",
        "notch in the right ear",
        "demonstration",
        "WIDE",
        "gelbgrün gefleckt",
        "πράσινο",
        "у окна",
    ];
    let mut text = String::new();
    while text.chars().count() < most {
        text.push_str(chance.of(&WORDS));
        text.push(' ');
    }
    // No word is cut: the beginning of "grey" would read as a unit.
    let cut: String = text.chars().take(most).collect();
    let whole = cut.rsplit_once(' ').map_or(text.trim(), |(whole, _)| whole);
    whole.to_owned()
}

fn leaked(text: String) -> &'static str {
    Box::leak(text.into_boxed_str())
}

/// Medicines with a strength, a dose, a route and whatever belongs to it.
const KINDS: [(&str, &str, &str, &str, &str); 9] = [
    (
        "Madeup Amber",
        "8 mg/mL",
        r#"PerBodyWeight("20 mg/kg")"#,
        r#"Injection("under the skin")"#,
        r#"sites: [Site("A", "left"), Site("B", "right")],"#,
    ),
    (
        "Madeup Cobalt",
        "25 mg/mL",
        r#"PerBodyWeight("50 mg/kg")"#,
        "ByMouth",
        "",
    ),
    (
        "Madeup Dusk with Madeup Elm, prolonged release, for demonstration alone",
        "4 mg/mL",
        r#"PerBodyWeight("13 mg/kg")"#,
        "ByMouth",
        r#"max_dose: "8 mg","#,
    ),
    (
        "Madeup Saline",
        "",
        r#"PerBodyWeight("15 mL/kg")"#,
        r#"Injection("under the skin")"#,
        r#"max_per_site: "2 mL", sites: [Site("the loose skin over the shoulder", "left"), Site("B", "right")],"#,
    ),
    (
        "Madeup Fern",
        "50 mg per tablet",
        r#"PerBodyWeight("25 mg/kg")"#,
        "ByMouth",
        "tablets: Quarters,",
    ),
    (
        "Madeup Gel",
        "20 mg/g",
        r#"PerBodyWeight("5 mg/kg")"#,
        "ByMouth",
        "weigh: BeforeEachDose,",
    ),
    (
        "Madeup Drops",
        "3 mg/mL",
        r#"Application("2 drops, then hold the eye shut for 1 minute")"#,
        r#"InEye("each")"#,
        "",
    ),
    (
        "Madeup Frost",
        "60 mg/mL",
        r#"PerBodyWeight("1 mg/kg")"#,
        r#"Injection("into the muscle")"#,
        r#"weigh_every: "3 days","#,
    ),
    (
        "Madeup Garnet",
        "1000 units/mL",
        r#"PerBodyWeight("200 units/kg")"#,
        r#"Injection("under the skin")"#,
        "",
    ),
];

const VETS: [&str; 3] = [
    r#"name: "Dr A. Example", practice: "Example Practice (invented)", phone: "555 0134 (not a number)", out_of_hours: "555 0199 (not a number)""#,
    r#"name: "Dr Bartholomea Example-Exampleton", practice: "The Other Practice of Exampleford-on-the-Water (invented)", phone: "(0) 555 0134 0134 0134 0199""#,
    r#"name: "Др Пример", phone: "555 0177""#,
];

/// A room of so many animals.
fn made(seed: u64, animals: u64, paper: PaperSize) -> Ledger {
    let mut chance = Chance(seed);
    let mut room = Room::new(paper, chance.one_in(2));
    if chance.one_in(5) {
        // Hardly a syringe at hand: large steps, and nothing for the mouth.
        room.syringe(room::barrel(
            "10 mL",
            "0.2 mL",
            Needle::Hub,
            PrintedScale::Millilitres,
        ));
    } else {
        room::syringes(&mut room);
    }
    let vets = 1 + chance.below(3);
    for number in 1..=animals {
        let name = name(&mut chance, number);
        let length = if chance.one_in(4) { 80 } else { 12 };
        let which = words(&mut chance, length);
        room.animal(&name, &which, chance.one_in(4));
        weigh(&mut room, &mut chance, &name);
        for course in 0..1 + chance.below(2) {
            let reference = leaked(format!("DEMO-{number:04}-{course}"));
            enter(&mut room, &mut chance, (&name, reference), vets);
        }
        for _ in 0..chance.below(3) {
            let seen = words(&mut chance, 90);
            room.note(&name, "2001-03-07 12:00", &seen);
        }
    }
    for (number, (medicine, strength, ..)) in (1..).zip(KINDS) {
        if chance.one_in(6) {
            continue;
        }
        let strength = match strength {
            "8 mg/mL" if chance.one_in(4) => "10 mg/mL",
            other => other,
        };
        room.open(number, medicine, (!strength.is_empty()).then_some(strength));
    }
    room.ledger()
}

fn weigh(room: &mut Room, chance: &mut Chance, name: &str) {
    if chance.one_in(9) {
        return;
    }
    let tenths = match chance.below(3) {
        0 => 50 + chance.below(400),
        1 => 500 + chance.below(4_000),
        _ => 6_000 + chance.below(30_000),
    };
    let text = |tenths: u64| match tenths % 10 {
        0 => format!("{} g", tenths / 10),
        rest => format!("{}.{rest} g", tenths / 10),
    };
    let tag = match chance.below(6) {
        0 => Some(Tag::JustFed),
        1 => Some(Tag::Wet),
        _ => None,
    };
    if chance.one_in(4) {
        room.weigh(name, "2001-02-20 08:00", &text(tenths * 5 / 4), None);
    }
    let day = chance.of(&["02-01", "02-26", "03-05", "03-07", "03-08"]);
    room.weigh(name, &format!("2001-{day} 08:30"), &text(tenths), tag);
}

fn enter(room: &mut Room, chance: &mut Chance, (name, reference): (&str, &'static str), vets: u64) {
    let (medicine, strength, dose, route, own) = KINDS[usize::try_from(chance.below(9)).unwrap()];
    let strength = match strength {
        "" => String::new(),
        strength => format!(", strength: \"{strength}\""),
    };
    let note = match chance.below(4) {
        0 => words(chance, 500),
        _ => "Demonstration note A".to_owned(),
    };
    let sign = words(chance, 60);
    let start = chance.of(&[
        "03-06 21:00",
        "03-07 09:00",
        "03-08 04:30",
        "03-08 09:00",
        "03-08 15:00",
        "03-09 08:00",
    ]);
    let script = Script {
        reference,
        vet: VETS[usize::try_from(chance.below(vets)).unwrap()],
        animals: leaked(format!("\"{name}\"")),
        medicine: leaked(format!("name: \"{medicine}\"{strength}")),
        dose,
        route,
        schedule: chance.of(&[
            r#"Every(interval: "24 hours", doses: 4)"#,
            r#"Every(interval: "60 hours", doses: 6)"#,
        ]),
        more: leaked(format!(
            "{own} stop_and_call_if: [\"{sign}\"], vet_notes: [\"{note}\"],"
        )),
    };
    room.enter(&script, &format!("2001-{start}"));
    if chance.one_in(4) && start < "03-08 09:00" {
        let site = chance.one_in(2).then_some("site A, left side");
        room.give(
            name,
            reference,
            &format!("2001-{start}"),
            ("0.07 mL", "31 g"),
            site,
        );
    }
}

/// What must hold of every sheet.
fn hold(sheet: &Sheet, told: &str) {
    for page in &sheet.pages {
        let told = format!("{told}: {}, {}", sheet.name, page.name);
        assert_eq!(page.faults(), Vec::<Fault>::new(), "{told}");
        let (left, top) = (page.paper.block_left(), page.paper.block_top());
        let block = Rect::edges(
            left,
            top,
            left + BLOCK_WIDTH,
            top + page.paper.block_height(),
        );
        for item in &page.items {
            let inside = match item {
                Item::Run(run) => block.holds(&run.inked(), 0.01),
                Item::Frame { rect, .. } | Item::Fill { rect, .. } => block.holds(rect, 0.01),
                Item::Rule { .. } | Item::Shape { .. } => true,
            };
            assert!(inside, "{told}: {item:?}");
        }
        let words = page.words();
        let code = words.find("Book code ").unwrap();
        let own = format!("{} {}", &words[..code], &words[code + 19..]);
        // Greek is in the animals' names here; that no figure has it, other tests hold.
        let mut faults = notation_faults(&own);
        faults.retain(|fault| !fault.ends_with("has a Greek letter"));
        assert_eq!(faults, Vec::<String>::new(), "{told}");
    }
    assert!(sheet.bytes.starts_with(b"%PDF-1.7"), "{told}");
}

/// Every dose stands whole on one page: its animal, its course, its mark or NO MARK, its weight
/// and its boxes; every animal has one bookmark.
fn whole(card: &Sheet, round: &Round, told: &str) {
    let row = |page: &Page, name: &str| {
        page.runs()
            .filter(|run| run.text.trim() == name && run.style.size < 8.5)
            .count()
    };
    for page in &card.pages {
        let panels = row(page, "Animal");
        for name in ["Last dose", "Weight", "When"] {
            assert_eq!(row(page, name), panels, "{told}: {name} on {}", page.name);
        }
    }
    let doses: usize = card.pages.iter().map(|page| row(page, "Animal")).sum();
    assert_eq!(doses, round.doses.len(), "{told}");
    let animals: BTreeSet<&str> = round
        .doses
        .iter()
        .map(|dose| dose.patient.animal.name.as_str())
        .collect();
    let bookmarks: Vec<&str> = card
        .pages
        .iter()
        .flat_map(|page| &page.bookmarks)
        .map(|mark| mark.name.as_str())
        .collect();
    for animal in &animals {
        let leading = bookmarks.iter().filter(|name| name == &animal).count();
        assert_eq!(leading, 1, "{told}: {animal}");
    }
    assert_eq!(
        bookmarks.contains(&"Contents"),
        animals.len() > 10,
        "{told}"
    );
}

#[test]
fn whatever_the_room_its_sheets_are_whole() {
    let many: Option<u64> = std::env::var("SCRUPLE_ROOMS")
        .ok()
        .map(|many| many.parse().unwrap());
    let (mut pages, mut doses) = (0, 0);
    for seed in 0..many.unwrap_or(6) {
        let animals = match many {
            None => [1, 3, 12, 2, 5, 4][usize::try_from(seed).unwrap()],
            // Of many rooms each tenth is large, and the first is the largest.
            Some(_) if seed == 0 => 300,
            Some(_) if seed % 10 == 0 => 100 + Chance(seed).below(200),
            Some(_) => 1 + Chance(seed).below(40),
        };
        let paper = [PaperSize::A4, PaperSize::Letter][usize::try_from(seed % 2).unwrap()];
        let ledger = made(seed, animals, paper);
        let told = format!("room {seed} of {animals} animals on {paper:?}");
        let round = round(&ledger);
        let card = all::card(&ledger, paper);
        whole(&card, &round, &told);
        let mut sheets = vec![
            card,
            all::handover(&ledger, paper),
            all::weighin(&ledger, paper),
        ];
        sheets.extend(all::of_animals(&ledger, paper, 2));
        for sheet in &sheets {
            hold(sheet, &told);
            pages += sheet.pages.len();
        }
        doses += round.doses.len();
    }
    println!("{pages} pages of sheets, {doses} doses on the cards");
    assert!(doses > 0);
}
