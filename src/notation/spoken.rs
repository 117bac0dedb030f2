//! Quantities as they are said aloud: "13 mg/kg" is "thirteen milligrams for every kilogram".
//!
//! Promises: what is said is what is written, the figure in words and every unit in full, so that
//! thirteen and thirty, or a point that was missed, can be heard. It reads safe text only, and
//! leaves a word it does not know as it stands.

/// The safe text of a quantity, said aloud.
#[must_use]
pub fn spoken(text: &str) -> String {
    let mut said = Vec::new();
    let mut one = false;
    let mut words = text.split_whitespace().peekable();
    while let Some(word) = words.next() {
        let next = words.peek().copied().unwrap_or_default();
        if let Some(figure) = figure(word) {
            one = word == "1";
            said.push(figure);
        } else if let Some(parts) = word.strip_prefix("1:")
            && let Some(parts) = figure(parts)
        {
            said.push(format!("one in {parts}"));
        } else if word == "per" && figure(next).is_some() {
            said.push("in".to_owned());
        } else if word == "per" && next.starts_with("tablet") {
            said.push("in every".to_owned());
            one = true;
        } else {
            said.push(unit(word, one));
            one = false;
        }
    }
    said.join(" ")
}

/// A unit in full, of one or of more than one.
fn unit(word: &str, one: bool) -> String {
    if let Some((of, per)) = word.split_once('/')
        && word != "w/v"
    {
        let for_or_in = match per {
            "kg" | "lb" => "for every",
            _ => "in every",
        };
        return format!("{} {for_or_in} {}", unit(of, one), unit(per, true));
    }
    let (single, many) = match word {
        "mg" => ("milligram", "milligrams"),
        "mcg" => ("microgram", "micrograms"),
        "g" => ("gram", "grams"),
        "kg" => ("kilogram", "kilograms"),
        "lb" => ("pound", "pounds"),
        "oz" => ("ounce", "ounces"),
        "mL" => ("millilitre", "millilitres"),
        "L" => ("litre", "litres"),
        "unit" | "units" => ("unit", "units"),
        "tablet" | "tablets" => ("tablet", "tablets"),
        "%" => ("percent", "percent"),
        "w/v" => ("weight in volume", "weight in volume"),
        other => (other, other),
    };
    if one { single } else { many }.to_owned()
}

/// A safe figure in words; nothing where the word is not one.
fn figure(word: &str) -> Option<String> {
    let bare = word.replace(',', "");
    let (whole, decimals) = match bare.split_once('.') {
        None => (bare.as_str(), ""),
        Some((whole, decimals)) => (whole, decimals),
    };
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || !digits(whole) || !digits(decimals) {
        return None;
    }
    let mut said = number(whole.parse().ok()?);
    if !decimals.is_empty() {
        said.push_str(" point");
        for digit in decimals.bytes() {
            said.push(' ');
            said.push_str(small(u64::from(digit - b'0')));
        }
    }
    Some(said)
}

/// A whole number in words: "one thousand two hundred and five".
fn number(n: u64) -> String {
    const PARTS: [(u64, &str); 2] = [(1_000_000, "million"), (1_000, "thousand")];
    let mut said: Vec<String> = Vec::new();
    let mut rest = n;
    for (size, name) in PARTS {
        if rest >= size {
            said.push(format!("{} {name}", number(rest / size)));
            rest %= size;
        }
    }
    if rest >= 100 {
        said.push(format!("{} hundred", small(rest / 100)));
        rest %= 100;
    }
    if rest > 0 || said.is_empty() {
        if !said.is_empty() {
            said.push("and".to_owned());
        }
        said.push(below_a_hundred(rest));
    }
    said.join(" ")
}

fn below_a_hundred(n: u64) -> String {
    let tens = match n / 10 {
        2 => "twenty",
        3 => "thirty",
        4 => "forty",
        5 => "fifty",
        6 => "sixty",
        7 => "seventy",
        8 => "eighty",
        9 => "ninety",
        _ => return small(n).to_owned(),
    };
    match n % 10 {
        0 => tens.to_owned(),
        unit => format!("{tens}-{}", small(unit)),
    }
}

/// A number below twenty.
const fn small(n: u64) -> &'static str {
    match n {
        0 => "zero",
        1 => "one",
        2 => "two",
        3 => "three",
        4 => "four",
        5 => "five",
        6 => "six",
        7 => "seven",
        8 => "eight",
        9 => "nine",
        10 => "ten",
        11 => "eleven",
        12 => "twelve",
        13 => "thirteen",
        14 => "fourteen",
        15 => "fifteen",
        16 => "sixteen",
        17 => "seventeen",
        18 => "eighteen",
        _ => "nineteen",
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::{figure, number, spoken};
    use std::collections::BTreeSet;

    #[test]
    fn a_quantity_is_said_with_its_units_in_full() {
        for (written, said) in [
            ("13 mg/kg", "thirteen milligrams for every kilogram"),
            ("30 mg/kg", "thirty milligrams for every kilogram"),
            ("0.5 mg/lb", "zero point five milligrams for every pound"),
            ("400 mcg/kg", "four hundred micrograms for every kilogram"),
            ("1 unit/kg", "one unit for every kilogram"),
            ("7,000 units/mL", "seven thousand units in every millilitre"),
            ("1 mL/kg", "one millilitre for every kilogram"),
            ("8 mg/mL", "eight milligrams in every millilitre"),
            ("19 mg/g", "nineteen milligrams in every gram"),
            (
                "35 mg per 5 mL",
                "thirty-five milligrams in five millilitres",
            ),
            ("45 mg per tablet", "forty-five milligrams in every tablet"),
            ("2.3 % w/v", "two point three percent weight in volume"),
            ("1:1,000", "one in one thousand"),
            (
                "34 mg/kg per day in 2 doses",
                "thirty-four milligrams for every kilogram per day in two doses",
            ),
            ("0.3 g of paste", "zero point three grams of paste"),
            ("1 tablet", "one tablet"),
            // A time by the clock is none of them.
            ("at 08:00 and 20:15", "at 08:00 and 20:15"),
            ("1.5 tablets", "one point five tablets"),
            ("0.052 mL", "zero point zero five two millilitres"),
            ("60 hours", "sixty hours"),
            ("10 percent", "ten percent"),
        ] {
            assert_eq!(spoken(written), said, "{written}");
        }
    }

    #[test]
    fn whole_numbers_are_said_in_full() {
        for (n, said) in [
            (0, "zero"),
            (12, "twelve"),
            (20, "twenty"),
            (99, "ninety-nine"),
            (100, "one hundred"),
            (115, "one hundred and fifteen"),
            (1_005, "one thousand and five"),
            (12_340, "twelve thousand three hundred and forty"),
            (100_000, "one hundred thousand"),
            (
                99_999_999,
                "ninety-nine million nine hundred and ninety-nine thousand nine hundred and ninety-nine",
            ),
        ] {
            assert_eq!(number(n), said);
        }
    }

    /// Two figures never sound the same.
    #[test]
    fn no_two_figures_are_said_alike() {
        let mut all = BTreeSet::new();
        for n in 0..20_000_u64 {
            assert!(all.insert(number(n)), "{n}");
        }
        for decimals in 1..1_000_u32 {
            let text = format!("0.{decimals:03}");
            assert!(all.insert(figure(&text).unwrap()), "{text}");
        }
    }

    #[test]
    fn what_is_no_figure_is_left_alone() {
        assert_eq!(spoken("by mouth"), "by mouth");
        assert_eq!(figure("2001-03-05"), None);
        assert_eq!(figure(""), None);
        for odd in ["12.x", "x.5", ".5"] {
            assert_eq!(figure(odd), None, "{odd}");
        }
        assert_eq!(figure("08:00"), None);
    }
}
