//! The largest that is read of each form, and what may not stand beside a quantity.

use super::*;
use crate::notation::Written;
use crate::notation::unit::Unit;

fn fault<T: Notation + std::fmt::Debug>(text: &str) -> NotationError {
    T::read(text).unwrap_err()
}

fn too_large(text: &str) -> NotationError {
    let text = text.to_owned();
    NotationError::TooLarge { text }
}

/// What stands where no unit belongs.
fn stray(fault: NotationError) -> String {
    match fault {
        NotationError::UnknownUnit { unit, .. } => unit,
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_heaviest_animal_is_of_ten_thousand_kilograms() {
    assert!(BodyWeight::read("10000 kg").is_ok());
    let heavier = "10000.1 kg";
    assert_eq!(fault::<BodyWeight>(heavier), too_large(heavier));
    assert_eq!(fault::<BodyWeight>("99999 kg"), too_large("99999 kg"));
}

#[test]
fn the_largest_label_counts_in_ten_litres() {
    for text in ["5 mg per 10 L", "5 mg per 10000 mL", "5 mg per 10000 g"] {
        assert!(Strength::read(text).is_ok(), "{text}");
    }
    for text in [
        "5 mg per 10.1 L",
        "5 mg per 10001 g",
        "5 mg per 99999 tablets",
    ] {
        assert_eq!(fault::<Strength>(text), too_large(text));
    }
}

#[test]
fn a_litre_is_a_thousand_millilitres() {
    let half = Volume::read("0.5 L").unwrap();
    assert_eq!(half.value().millilitres(), ratio(500, 1));
    // 5,000 mg in 1,000 mL.
    assert_eq!(mg_per_ml("5000 mg/L"), ratio(5, 1));
}

#[test]
fn one_tablet_of_a_label_is_not_two() {
    let text = |text: &str| Strength::read(text).unwrap().text().to_owned();
    assert_eq!(text("45 mg per 1 tablet"), "45 mg per 1 tablet");
    assert_eq!(text("90 mg per 2 tablets"), "90 mg per 2 tablets");
}

#[test]
fn a_day_is_divided_into_one_to_twenty_four_doses() {
    let read = |many: &str| DailyRate::read(&format!("48 mg/kg per day in {many}"));
    for (many, doses) in [("1 dose", 1), ("24 doses", 24)] {
        assert_eq!(read(many).unwrap().value().doses, doses);
    }
    for many in ["0 doses", "25 doses", "2 meals", "25 meals", "0 meals"] {
        let text = format!("48 mg/kg per day in {many}");
        assert_eq!(read(many), Err(NotationError::DayNotDivided { text }));
    }
}

#[test]
fn a_length_of_time_is_within_a_year() {
    for (text, span) in [
        ("8784 hours", Span::Hours(8_784)),
        ("366 days", Span::Days(366)),
        ("52 weeks", Span::Days(364)),
    ] {
        assert_eq!(Span::read(text).map(|span| span.value()), Ok(span));
    }
    for text in ["8785 hours", "367 days", "53 weeks"] {
        let text = text.to_owned();
        assert_eq!(
            Span::read(&text),
            Err(NotationError::LongSpan { text: text.clone() })
        );
    }
    for text in [", hours", "123456 hours", "1x hours", "soon", "1,00 hours"] {
        let text = text.to_owned();
        assert_eq!(
            Span::read(&text),
            Err(NotationError::BadSpan { text: text.clone() })
        );
    }
    // Said back in part.
    let text = "y".repeat(40);
    let long = "y".repeat(41);
    assert_eq!(Span::read(&long), Err(NotationError::BadSpan { text }));
}

#[test]
fn a_percentage_is_of_nothing_to_all() {
    let share = |text: &str| percent(text).map(|share: Written<Exact>| share.value());
    assert_eq!(share("5 percent"), Ok(ratio(1, 20)));
    assert_eq!(share("100 percent"), Ok(ratio(1, 1)));
    assert_eq!(share("0 percent"), Ok(ratio(0, 1)));
    for text in [
        "100.1 percent",
        "101 percent",
        "5 parts",
        "5 %",
        "500 parts",
    ] {
        let text = text.to_owned();
        assert_eq!(
            share(&text),
            Err(NotationError::BadPercent { text: text.clone() })
        );
    }
}

#[test]
fn one_to_so_many_stands_alone() {
    // 1 g in 300 mL is 10/3 mg in one.
    assert_eq!(mg_per_ml("1:300"), ratio(10, 3));
    for text in ["1:1000 w/v", "1:0", "2:1000", "1.5:300"] {
        let fault = fault::<Strength>(text);
        assert!(matches!(fault, NotationError::BadRatio { .. }), "{fault:?}");
    }
}

#[test]
fn nothing_more_stands_after_a_quantity() {
    assert_eq!(stray(fault::<BodyWeight>("34 g extra")), "extra");
    assert_eq!(stray(fault::<Amount>("34 mg extra")), "extra");
    assert_eq!(stray(fault::<DoseRate>("13 mg/kg extra")), "extra");
    assert_eq!(stray(fault::<DoseRate>("13 mg/kg per cage")), "per cage");
    assert_eq!(stray(fault::<Strength>("8 mg/mL extra")), "extra");
}

/// 5 mg for 2 kg would be 2.5 mg for one: it is never read as 5.
#[test]
fn a_rate_is_for_one_kilogram_or_pound() {
    assert_eq!(stray(fault::<DoseRate>("5 mg per 2 kg")), "mg/kg");
    assert_eq!(stray(fault::<DoseRate>("5 mg per mL")), "mg/mL");
    assert_eq!(stray(fault::<DoseRate>("5 mg per 2 mL")), "mg/mL");
}

#[test]
fn a_unit_that_is_nearly_one_is_said() {
    let near = |word: &str| match Unit::read(word, EXPECTED) {
        Err(NotationError::NearUnit { nearest, .. }) => Some(nearest),
        Err(NotationError::UnknownUnit { .. }) => None,
        other => panic!("{other:?}"),
    };
    for (word, nearest) in [
        ("MG", Some("mg")),
        ("Milligrams", Some("mg")),
        ("Units", Some("units")),
        ("gm", Some("g")),
        ("kgs", Some("kg")),
        ("xyz", None),
    ] {
        assert_eq!(near(word), nearest, "{word}");
    }
    assert_eq!(Unit::read("%", EXPECTED), Err(NotationError::PercentAlone));
}

/// Each is refused with its own sentence, and none is read as something near it.
#[test]
fn what_could_be_taken_for_another_quantity_is_not_read() {
    let per_hour = "40 mg/kg per hour in 2 doses";
    let text = per_hour.to_owned();
    assert_eq!(
        DailyRate::read(per_hour),
        Err(NotationError::PerHour { text })
    );
    assert_eq!(stray(fault::<Amount>("3 mg of paste")), "mg");
    assert_eq!(stray(fault::<Amount>("3 kg")), "kg");
    assert_eq!(stray(fault::<BodyWeight>("34 g/kg")), "g/kg");
    assert_eq!(stray(fault::<DoseRate>("2 tablets/kg")), "tablets/kg");
    let text = "072 hours".to_owned();
    assert_eq!(
        Span::read("072 hours"),
        Err(NotationError::ZeroInFront { text })
    );
    let text = "0 % w/v".to_owned();
    assert_eq!(
        Strength::read("0 % w/v"),
        Err(NotationError::Nothing { text })
    );
    let odd = fault::<Strength>("2 mg % w/v");
    assert!(matches!(odd, NotationError::BadRatio { .. }), "{odd:?}");
    let two_points = at_front("1.2.3").unwrap_err();
    assert!(
        matches!(two_points, NotationError::NotAFigure { .. }),
        "{two_points:?}"
    );
    let no_unit = parts::take_apart("5 mg per 2", EXPECTED).unwrap_err();
    assert!(
        matches!(no_unit, NotationError::NoUnit { .. }),
        "{no_unit:?}"
    );
}

#[test]
fn an_amount_that_was_worked_out_is_written_as_it_is_printed() {
    let grams = Amount::Product(ProductMass::from_grams(ratio(1, 2)));
    let written = print::as_written(grams);
    assert_eq!(
        (written.text(), written.value()),
        ("0.5 g of product", grams)
    );
}
