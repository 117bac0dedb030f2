#![allow(clippy::unwrap_used, clippy::panic)]

mod bounds;

use crate::notation::fold::is_unseen;
use crate::notation::{DailyRate, Notation, NotationError, number, parts, percent, print};
use crate::quantity::{
    Amount, BodyWeight, DoseRate, Exact, Measure, ProductMass, Span, Strength, Tablets, Volume,
};

fn ratio(n: i128, d: i128) -> Exact {
    Exact::ratio(n, d).unwrap()
}

fn mg_per_ml(text: &str) -> Exact {
    match Strength::read(text).unwrap().value() {
        Strength::MassPerVolume(s) => s.milligrams_per_millilitre(),
        other => panic!("{other:?}"),
    }
}

/// What is said about a text repeats it without what steers a terminal, however it is refused.
#[test]
fn no_message_repeats_an_unseen_character() {
    for text in [
        "3 days\0",
        "7\u{1b}[2J2 hours",
        "\u{202e}sruoh 27",
        "3\u{fffb} g",
        "3\0\tg",
    ] {
        let long = format!("{text}{}", "5".repeat(90));
        for text in [text, &long] {
            let messages = [
                Span::read(text).unwrap_err().to_string(),
                percent(text).unwrap_err().to_string(),
                BodyWeight::read(text).unwrap_err().to_string(),
            ];
            for message in messages {
                assert!(!message.chars().any(is_unseen), "{message:?}");
            }
        }
    }
}

#[test]
fn safe_text_comes_back_as_it_was() {
    for text in ["34.5 g", "1.2 kg", "3 lb", "12 oz", "1,300 g"] {
        assert_eq!(BodyWeight::read(text).unwrap().text(), text);
    }
    for text in [
        "13 mg/kg",
        "6 mcg/kg",
        "0.5 g/kg",
        "100,000 units/kg",
        "15 mL/kg",
        "1 mg/lb",
        "10,000 units/lb",
    ] {
        assert_eq!(DoseRate::read(text).unwrap().text(), text);
    }
    for text in [
        "8 mg/mL",
        "400 mcg/mL",
        "100,000 units/mL",
        "25 mg per 5 mL",
        "2.5 % w/v",
        "1:1,000",
        "20 mg/g",
        "50 mg per tablet",
    ] {
        assert_eq!(Strength::read(text).unwrap().text(), text);
    }
    for text in [
        "5 mg",
        "1 unit",
        "100 units",
        "0.05 mL",
        "1 tablet",
        "0.5 tablet",
        "0.2 g of paste",
    ] {
        assert_eq!(Amount::read(text).unwrap().text(), text);
    }
    for text in ["40 mg/kg per day in 2 doses", "1 mg/kg per day in 1 dose"] {
        assert_eq!(DailyRate::read(text).unwrap().text(), text);
    }
    for text in ["72 hours", "1 hour", "3 days", "1,000 hours", "8,784 hours"] {
        assert_eq!(Span::read(text).unwrap().text(), text);
    }
}

#[test]
fn loose_but_clear_text_is_read_and_tidied() {
    for (typed, safe) in [
        ("34.5g", "34.5 g"),
        ("  34.50   g ", "34.5 g"),
        ("1300 g", "1,300 g"),
        ("5.0 g", "5 g"),
        ("34.5\u{a0}g", "34.5 g"),
        ("20 grams", "20 g"),
    ] {
        assert_eq!(BodyWeight::read(typed).unwrap().text(), safe, "{typed}");
    }
    assert_eq!(Strength::read("8 mg/ml").unwrap().text(), "8 mg/mL");
    assert_eq!(Strength::read("8 mg per mL").unwrap().text(), "8 mg/mL");
    assert_eq!(
        Strength::read("25 mg/5 ml").unwrap().text(),
        "25 mg per 5 mL"
    );
    assert_eq!(
        Strength::read("50 mg/tablet").unwrap().text(),
        "50 mg per tablet"
    );
    assert_eq!(Strength::read("1:1000").unwrap().text(), "1:1,000");
    assert_eq!(Span::read("2 weeks").unwrap().text(), "14 days");
}

#[test]
fn every_slip_has_its_own_sentence() {
    type E = NotationError;
    let weight = |text: &str| BodyWeight::read(text).unwrap_err();
    assert!(matches!(weight(".5 g"), E::NoLeadingZero { .. }));
    assert!(matches!(weight("5. g"), E::TrailingPoint { .. }));
    assert!(matches!(weight("1e3 g"), E::PowerOfTen { .. }));
    assert!(matches!(weight("05 g"), E::ZeroInFront { .. }));
    assert!(matches!(weight("34,5 g"), E::Comma { .. }));
    assert!(matches!(weight("0,500 g"), E::Comma { .. }));
    assert!(matches!(weight("1,00 g"), E::Comma { .. }));
    assert!(matches!(weight("34.5"), E::NoUnit { .. }));
    assert!(matches!(weight("30-35 g"), E::Range { .. }));
    assert!(matches!(weight("30 g to 35 g"), E::Range { .. }));
    assert!(matches!(weight("-5 g"), E::Negative { .. }));
    assert!(matches!(weight("0 g"), E::Nothing { .. }));
    assert!(matches!(weight("123456789 g"), E::TooManyDigits { .. }));
    assert!(matches!(weight("1.23456 g"), E::TooManyDecimals { .. }));
    assert!(matches!(weight("5 gr"), E::Grain));
    assert!(matches!(weight("5 Kg"), E::NearUnit { nearest: "kg", .. }));
    assert!(matches!(weight("5 lbs"), E::NearUnit { nearest: "lb", .. }));
    assert!(matches!(weight("5 mL"), E::UnknownUnit { .. }));
    assert!(matches!(weight("5 stone"), E::UnknownUnit { .. }));
    assert!(matches!(weight("5\u{200b} g"), E::Invisible { .. }));
    assert!(matches!(weight(""), E::Empty { .. }));
    assert!(matches!(weight("heavy"), E::NotAFigure { .. }));
    assert!(matches!(weight(&"9".repeat(1_000_000)), E::TooLong { .. }));

    let rate = |text: &str| DoseRate::read(text).unwrap_err();
    assert!(matches!(rate("5 \u{b5}g/kg"), E::GreekMicro { .. }));
    assert!(matches!(rate("5 ug/kg"), E::Microgram { .. }));
    assert!(matches!(rate("5 cc/kg"), E::CubicCentimetre { .. }));
    assert!(matches!(rate("5 IU/kg"), E::UnitsAbbreviated { .. }));
    assert!(matches!(rate("5 U/kg"), E::UnitsAbbreviated { .. }));
    assert!(matches!(rate("5 to 10 mg/kg"), E::Range { .. }));
    assert!(matches!(rate("5 mg/kg to 10 mg/kg"), E::Range { .. }));
    assert!(matches!(rate("26 mcg/kg/h"), E::PerHour { .. }));
    assert!(matches!(rate("26 mcg/kg per hour"), E::PerHour { .. }));
    assert!(matches!(rate("40 mg/kg/day"), E::PerDay { .. }));
    assert!(matches!(rate("40 mg/kg daily"), E::PerDay { .. }));
    assert!(matches!(rate("40 mg"), E::UnknownUnit { .. }));
    assert!(matches!(rate("4 drops/kg"), E::Drops));
    assert!(matches!(rate("1/2 mg/kg"), E::Fraction { .. }));

    let strength = |text: &str| Strength::read(text).unwrap_err();
    assert!(matches!(strength("2.5 %"), E::PercentAlone));
    assert!(matches!(strength("2:1000"), E::BadRatio { .. }));
    assert!(matches!(strength("0 mg/mL"), E::Nothing { .. }));
    assert!(matches!(strength("5 mg per 0 mL"), E::Nothing { .. }));
    assert!(matches!(strength("5 mg/kg"), E::UnknownUnit { .. }));
    assert!(matches!(
        DailyRate::read("40 mg/kg per day").unwrap_err(),
        E::DayNotDivided { .. }
    ));
    assert!(matches!(
        DailyRate::read("40 mg/kg").unwrap_err(),
        E::DayNotDivided { .. }
    ));
    assert!(matches!(
        Volume::read("1 l").unwrap_err(),
        E::LowercaseLitre
    ));
    assert!(matches!(
        Span::read("0 hours").unwrap_err(),
        E::Nothing { .. }
    ));
    assert!(matches!(
        Span::read("99999 hours").unwrap_err(),
        E::LongSpan { .. }
    ));
    for text in ["72", "72 h", "1.5 days", "-1 days", "soon"] {
        assert!(
            matches!(Span::read(text).unwrap_err(), E::BadSpan { .. }),
            "{text}"
        );
    }
}

/// The pound: UCUM [lb_av] = 7000 x 64.79891 mg. Strengths: references named beside each.
#[test]
fn values_are_exact() {
    let grams = |text: &str| BodyWeight::read(text).unwrap().value().grams();
    assert_eq!(grams("1 lb"), ratio(45_359_237, 100_000));
    assert_eq!(grams("16 oz"), grams("1 lb"));
    assert_eq!(grams("1.3 kg"), ratio(1_300, 1));
    assert_eq!(mg_per_ml("1 % w/v"), ratio(10, 1));
    assert_eq!(mg_per_ml("1:1000"), ratio(1, 1));
    assert_eq!(mg_per_ml("1:200,000"), ratio(5, 1_000));
    assert_eq!(mg_per_ml("400 mg per 5 mL"), ratio(80, 1));
    assert_eq!(mg_per_ml("200 mcg/mL"), ratio(1, 5));
    let daily = DailyRate::read("40 mg/kg per day in 2 doses")
        .unwrap()
        .value();
    assert_eq!(
        (daily.each, daily.doses),
        (DoseRate::read("20 mg/kg").unwrap().value(), 2)
    );
}

/// 48 mg in 24 mL are 2 mg in each. Only 24 hours, and 24 alone, are a day.
#[test]
fn twenty_four_of_a_measure_are_no_day() {
    for typed in ["48 mg per 24 mL", "48 mg/24 mL", "48 mg/24mL"] {
        assert_eq!(Strength::read(typed).unwrap().text(), "48 mg per 24 mL");
        assert_eq!(mg_per_ml(typed), ratio(2, 1));
    }
    for typed in [
        "20 mg/kg/24",
        "20 mg/kg/24h",
        "20 mg/kg/24 h",
        "20 mg/kg per 24 hours",
    ] {
        let refused = DoseRate::read(typed).unwrap_err();
        let per_day = matches!(refused, NotationError::PerDay { .. });
        assert!(per_day, "{typed}: {refused}");
    }
}

#[test]
fn printing_is_safe_and_says_about() {
    let shown = |n, d| print::figure(ratio(n, d)).to_string();
    assert_eq!(shown(1, 20), "0.05");
    assert_eq!(shown(5, 1), "5");
    assert_eq!(shown(31, 400), "0.0775");
    assert_eq!(shown(1_300, 1), "1,300");
    assert_eq!(shown(1, 3), "about 0.3333");
    assert_eq!(shown(2, 3), "about 0.6667");
    assert_eq!(shown(100_001, 3), "about 33,334");
    assert_eq!(shown(1, 84_000), "about 0.0000119");
    let dose = |text: &str| print::amount(Amount::read(text).unwrap().value()).to_string();
    assert_eq!(dose("0.09 mg"), "90 mcg");
    assert_eq!(dose("0.24 mg"), "0.24 mg");
    assert_eq!(dose("1 unit"), "1 unit");
    let paste = Measure::Product(ProductMass::from_grams(ratio(1, 2)));
    assert_eq!(print::measure(paste).to_string(), "0.5 g of product");
}

#[test]
fn a_percentage_stays_on_its_side_of_the_limit() {
    let shown = |n, d, limit| print::percent(ratio(n, d), Some(ratio(limit, 100))).to_string();
    assert_eq!(shown(-1, 31, 5), "about 3.2 percent");
    assert_eq!(shown(1, 20, 5), "5 percent");
    assert_eq!(shown(5_001, 100_000, 5), "5.001 percent");
    assert_eq!(shown(50_000_001, 1_000_000_000, 5), "5.0000001 percent");
    assert_eq!(shown(4_999, 100_000, 5), "4.999 percent");
    assert_eq!(
        print::percent(ratio(2, 13), None).to_string(),
        "about 15 percent"
    );
}

#[test]
fn a_written_quantity_is_shown_as_its_text() {
    let weight = BodyWeight::read("1300 g").unwrap();
    assert_eq!(weight.to_string(), "1,300 g");
}

const EXPECTED: &str = "a weight";

/// The figure's text, and what follows it.
fn at_front(text: &str) -> Result<(String, &str), NotationError> {
    number::read(text, EXPECTED).map(|(number, rest)| (number.text, rest))
}

#[test]
fn powers_of_ten_and_fractions_are_told_from_words() {
    for text in [
        "3e5 g",
        "3E-2 g",
        "3e+2 g",
        "3^2 g",
        "3\u{d7}10 g",
        "3*10 g",
    ] {
        let text = text.to_owned();
        assert_eq!(
            at_front(&text),
            Err(NotationError::PowerOfTen { text: text.clone() })
        );
    }
    let half = "1/2 g".to_owned();
    assert_eq!(
        at_front(&half),
        Err(NotationError::Fraction { text: half.clone() })
    );
    for (text, rest) in [("3eggs", "eggs"), ("3 each", "each"), ("3/kg", "/kg")] {
        assert_eq!(at_front(text), Ok(("3".to_owned(), rest)), "{text}");
    }
}

/// 8 digits, 4 of them decimals, are the most that safe notation has here.
#[test]
fn the_longest_figure_is_read_and_one_digit_more_is_not() {
    for (text, tidied) in [
        ("1.2345", "1.2345"),
        ("1234.5678", "1,234.5678"),
        ("12345678", "12,345,678"),
        ("0.5000000", "0.5"),
    ] {
        assert_eq!(at_front(text), Ok((tidied.to_owned(), "")), "{text}");
    }
    let five = "1.23456".to_owned();
    assert_eq!(
        at_front(&five),
        Err(NotationError::TooManyDecimals { text: five.clone() })
    );
    for nine in ["12345.6789", "123456789"] {
        let text = nine.to_owned();
        assert_eq!(at_front(nine), Err(NotationError::TooManyDigits { text }));
    }
}

#[test]
fn a_text_of_eighty_characters_is_read_and_one_of_eighty_one_is_not() {
    assert!(parts::tidy(&"x".repeat(80), EXPECTED).is_ok());
    let text = format!("{}...", "x".repeat(24));
    let expected = EXPECTED;
    assert_eq!(
        parts::tidy(&"x".repeat(81), EXPECTED),
        Err(NotationError::TooLong { text, expected })
    );
}

#[test]
fn by_the_hour_or_the_day_is_no_unit_of_measure() {
    for text in ["5 mg per day", "5 mg/h"] {
        let parts = parts::take_apart(text, EXPECTED).unwrap();
        assert!(parts.per.is_none(), "{text}");
    }
    let parts = parts::take_apart("5 mg per kg daily", EXPECTED).unwrap();
    assert_eq!((parts.per.is_some(), parts.tail), (true, "daily"));
}

/// Up to six decimals and eight figures are printed whole; a mass below 0.1 mg is in mcg.
#[test]
fn figures_are_printed_whole_as_long_as_they_are_short() {
    let shown = |n, d| print::figure(ratio(n, d)).to_string();
    assert_eq!(shown(123_456, 100_000), "1.23456");
    assert_eq!(shown(12_345_678, 1_000_000), "12.345678");
    assert_eq!(shown(123_456_789, 1_000_000), "about 123.5");
    assert_eq!(shown(0, 1), "0");
    assert_eq!(shown(-1, 2), "-0.5");
    // Halves go away from zero.
    assert_eq!(shown(-1, 3), "about -0.3333");
    assert_eq!(shown(-100_005, 3), "-33,335");
    let mass = |text: &str| print::amount(Amount::read(text).unwrap().value()).to_string();
    assert_eq!(mass("0.1 mg"), "0.1 mg");
    assert_eq!(mass("0.0999 mg"), "99.9 mcg");
}

/// Four parts of 10^13 show nothing in twelve decimals, and no more are ever printed.
#[test]
fn no_more_than_twelve_decimals_are_printed() {
    let tiny = print::rounded(ratio(4, 10_i128.pow(13)), 4);
    assert_eq!((tiny.text.as_str(), tiny.rounded), ("0", true));
    let more = print::rounded(ratio(6, 10_i128.pow(13)), 4);
    assert_eq!(more.text, "0.000000000001");
}

#[test]
fn how_many_times_as_much_is_said_in_two_figures() {
    assert_eq!(print::times(ratio(10, 1)).to_string(), "10 times");
    assert_eq!(print::times(ratio(5, 4)).to_string(), "about 1.3 times");
    assert_eq!(print::times(ratio(1, 3)).to_string(), "about 0.33 times");
}

/// 10 percent and one part in 10^13 of it cannot be told apart in twelve figures.
#[test]
fn a_share_too_near_to_its_limit_is_said_in_words() {
    let shown = |n: i128| print::percent(ratio(n, 10_i128.pow(14)), Some(ratio(1, 10))).to_string();
    assert_eq!(shown(10_i128.pow(13) + 1), "just above 10 percent");
    assert_eq!(shown(10_i128.pow(13) - 1), "just below 10 percent");
    assert_eq!(shown(10_i128.pow(13)), "10 percent");
}

#[test]
fn one_tablet_and_less_is_a_tablet() {
    let shown = |n, d| {
        let tablets = Tablets::from_count(ratio(n, d));
        print::measure(Measure::Tablets(tablets)).to_string()
    };
    let said = [shown(1, 2), shown(1, 1), shown(3, 2), shown(2, 1)];
    assert_eq!(said, ["0.5 tablet", "1 tablet", "1.5 tablets", "2 tablets"]);
}
