//! The reader of safe notation finds what it should, leaves alone what it should, and agrees that
//! what the program prints is safe.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop at once")]

mod readers;

use readers::notation::notation_faults;
use scruple::notation::{DailyRate, Notation, NotationError, print};
use scruple::quantity::{Amount, BodyWeight, DoseRate, Exact, Span, Strength, Volume};

#[track_caller]
fn one_fault(text: &str, what: &str) {
    let faults = notation_faults(text);
    assert_eq!(faults.len(), 1, "{text}: {faults:?}");
    assert!(
        faults.iter().all(|fault| fault.contains(what)),
        "{text}: {faults:?}"
    );
}

#[track_caller]
fn no_fault(text: &str) {
    assert_eq!(notation_faults(text), Vec::<String>::new(), "{text}");
}

#[test]
fn figures_that_can_be_misread_are_found() {
    one_fault("draw .5 mL", "no zero before the point");
    one_fault("(.05 mL)", "no zero before the point");
    one_fault("draw -.5 mL", "no zero before the point");
    one_fault("5.0 mg", "trailing zero");
    one_fault("0.50 mL", "trailing zero");
    one_fault("weighs 34.50, today", "trailing zero");
    one_fault("draw 5. mL", "point before its unit");
    one_fault("0,5 mL", "comma");
    one_fault("1,00 mg", "comma");
    one_fault("0,500 mg", "comma");
    one_fault("10000 units", "thousands");
    one_fault("at 1300 g", "thousands");
    one_fault("2000 mg", "thousands");
    one_fault("10^6 units", "power of ten");
    one_fault("1e3 mg", "power of ten");
}

#[test]
fn units_that_can_be_misread_are_found() {
    one_fault("10mg", "no space");
    one_fault("0.5mL", "no space");
    one_fault("20mg/kg", "no space");
    one_fault("2.5%", "no space");
    one_fault("30.2°C today", "degree");
    one_fault("2 cc", "misread");
    one_fault("100 IU", "misread");
    one_fault("6 ug", "misread");
    one_fault("6 ug/kg", "misread");
    one_fault("5 ml", "misread");
    one_fault("8 mg/ml", "misread");
    one_fault("5 mgs", "misread");
    one_fault("5 lbs", "misread");
    one_fault("5 Kg", "misread");
    one_fault("100 U", "letter");
    one_fault("1 l", "letter");
    one_fault("6 \u{b5}g", "Greek");
    one_fault("6 \u{3bc}g", "Greek");
    one_fault("give 5 mg. under the skin", "full stop");
}

#[test]
fn abbreviations_and_symbols_are_found() {
    for how_often in ["QD", "QOD", "qd", "BID", "q8h", "q1d", "q6PM", "q.12.h"] {
        assert_eq!(
            notation_faults(&format!("5 mg {how_often}")).len(),
            1,
            "{how_often}"
        );
    }
    one_fault("5 mg SC", "abbreviation");
    one_fault("drops AU", "abbreviation");
    one_fault("by per os", "abbreviation");
    one_fault("sub q", "abbreviation");
    one_fault("every 6/24", "slash");
    one_fault("5 mg/10 mg", "slash");
    one_fault("05/03/2001", "slash");
    one_fault("0.3/0.005  0.3 mL, fixed needle", "slash");
    one_fault("40 mg/kg/day", "slash");
    one_fault("and/or", "slash");
    one_fault("5 mg / 10 mg", "slash");
    one_fault("5 mg @ 8", "symbol");
    one_fault("Thimblo & Nubbet", "symbol");
    one_fault("<10 g", "symbol");
    one_fault("more > less", "symbol");
    one_fault("5 mg + 3 mg", "plus");
    one_fault("+0.5 mL", "plus");
}

#[test]
fn every_fault_of_a_word_is_told() {
    assert_eq!(notation_faults(".50mL").len(), 3);
    let faults = notation_faults("fine\n5.0 mg and\n.5 mL");
    assert_eq!(
        faults,
        [
            "line 2: '5.0' has a trailing zero",
            "line 3: '.5' has no zero before the point",
        ]
    );
}

#[test]
fn safe_text_is_left_alone() {
    for text in [
        "0.05 mL, line 7.5 on the U-100 syringe (0.075 mL)",
        "13 mg/kg, 6 mcg/kg, 100,000 units/kg, 15 mL/kg, 1 mg/lb",
        "8 mg/mL, 25 mg per 5 mL, 2.5 % w/v, 1:1,000, 20 mg/g, 50 mg per tablet",
        "Draw 15 small lines from 0: 5 past 0.05",
        "The mark holds 0.6 mg. It is 3.2 percent below the calculated dose.",
        "Draw 0.5 mL. Give it under the skin.",
        "The weight is 5.",
        "Doses 1, 2 and 3 of 10.",
        "Every 72 hours, 7 times; then every 3 days.",
        "At 08:00 and 20:00, on days 0, 14, 28.",
        "Monday 5 March 2001, 2027-03-22 08:00, March 2027, until 2101",
        "Ring 555 0134 (not a number), 020 7946 1234 or +44 20 7946 1234.",
        "2027-03-28 09:00 +02:00, Europe/Warsaw, America/Argentina/Ushuaia",
        "scruple 0.1.0, book code 48210937, DEMO-0001, A4, lot 20231",
        "RFC 5545 and ISO 7886-1",
        "STOP: GIVE AS WRITTEN",
        "written to ./demo-room/today.pdf and docs/json.md",
        "--> script.ron:4:24",
        "Usage: scruple today <FILE>",
        "scruple work script.ron --syringe 0.3/0.005 > today.txt",
        "named by --syringe 0.3/0.005 on the command line",
        "30.2 °C",
        "10,000,000 units, 1,234.5 g, 0.0001 mL, 100 g, 20 mg",
    ] {
        no_fault(text);
    }
}

#[test]
fn quoted_words_are_somebodys_own() {
    no_fault("The vet wrote \"5.0 mg SC q8h\" on the label.");
    no_fault("The vet wrote \u{201c}5.0 mg\nSC q8h\u{201d}.");
    no_fault("'.5 g' has no figure before the point: write 0.5");
    no_fault("the vet's word; the animals' weights");
    one_fault("the vet's 5.0 mg and Nubbet's", "trailing zero");
    // A quotation that is never closed hides nothing.
    one_fault("he said \"5.0 mg", "trailing zero");
    one_fault("he said \"all\n\nof 5.0 mg\" now", "trailing zero");
}

/// The program's own printing, read by this reader.
#[test]
fn what_the_program_prints_is_safe() {
    for n in 1..2_000_i128 {
        for d in [1, 3, 7, 20, 400, 10_000] {
            let exact = Exact::ratio(n * n, d).unwrap();
            let volume = Volume::from_millilitres(exact);
            let weight = BodyWeight::from_grams(exact);
            for text in [
                print::volume(volume).to_string(),
                print::weight(weight).to_string(),
                print::percent(exact, Some(Exact::ratio(1, 20).unwrap())).to_string(),
            ] {
                no_fault(&text);
            }
        }
    }
}

fn safe_text<T: Notation>(text: &str) -> String {
    T::read(text).unwrap().text().to_owned()
}

#[test]
fn what_was_typed_loosely_is_written_back_safely() {
    for typed in ["34.50g", "1300 g", "5.0 kg", "12000 grams"] {
        no_fault(&safe_text::<BodyWeight>(typed));
    }
    for typed in [
        "8 mg/ml",
        "25 mg/5 ml",
        "1:1000",
        "100000 units/ml",
        "2.50% w/v",
    ] {
        no_fault(&safe_text::<Strength>(typed));
    }
    no_fault(&safe_text::<DoseRate>("10000.0 units/kg"));
    no_fault(&safe_text::<DailyRate>("40.0 mg/kg per day in 2 doses"));
    no_fault(&safe_text::<Amount>("1000 units"));
    no_fault(&safe_text::<Span>("2 weeks"));
}

/// Every message quotes what was typed and is safe around it.
#[test]
fn what_the_program_says_of_a_slip_is_safe() {
    let weight = |text: &str| BodyWeight::read(text).err();
    let rate = |text: &str| DoseRate::read(text).err();
    let strength = |text: &str| Strength::read(text).err();
    let messages: Vec<NotationError> = [
        weight(".5 g"),
        weight("5. g"),
        weight("1e3 g"),
        weight("05 g"),
        weight("34,5 g"),
        weight("34.5"),
        weight("30-35 g"),
        weight("-5 g"),
        weight("0 g"),
        weight("123456789 g"),
        weight("1.23456 g"),
        weight("5 gr"),
        weight("5 Kg"),
        weight("5 mL"),
        weight("5\u{200b} g"),
        weight(""),
        weight("heavy"),
        rate("5 \u{b5}g/kg"),
        rate("5 ug/kg"),
        rate("5 cc/kg"),
        rate("5 IU/kg"),
        rate("26 mcg/kg/h"),
        rate("40 mg/kg/day"),
        rate("4 drops/kg"),
        rate("1/2 mg/kg"),
        strength("2.5 %"),
        strength("2:1000"),
        DailyRate::read("40 mg/kg per day").err(),
        Volume::read("1 l").err(),
        Span::read("72").err(),
    ]
    .into_iter()
    .map(Option::unwrap)
    .collect();
    for message in messages {
        no_fault(&message.to_string());
    }
}
