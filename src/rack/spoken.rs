//! How a mark is spoken of: the figure to draw to, and the lines to count.
//!
//! Promises: an insulin barrel's mark is a line and its millilitres, never "units"; what is said
//! is exact, because a mark is a whole number of graduations.

use crate::notation::print;
use crate::quantity::Measure;
use crate::rack::{Cut, Instrument, PrintedScale, Syringe};

/// A mark in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spoken {
    /// Before the figure: "line" on an insulin barrel.
    pub before: Option<&'static str>,
    /// "0.075", "7.5", "half".
    pub figure: String,
    /// "mL"; none on an insulin barrel.
    pub unit: Option<&'static str>,
    /// After it: "on the U-100 syringe (0.075 mL)".
    pub after: Option<String>,
}

impl std::fmt::Display for Spoken {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some(before) = self.before {
            write!(f, "{before} ")?;
        }
        f.write_str(&self.figure)?;
        if let Some(unit) = self.unit {
            write!(f, " {unit}")?;
        }
        if let Some(after) = &self.after {
            write!(f, " {after}")?;
        }
        Ok(())
    }
}

impl Instrument {
    /// The mark of so many steps, in words.
    pub fn spoken(&self, lines: u32) -> Spoken {
        let plain = |figure: String, unit| Spoken {
            before: None,
            figure,
            unit: Some(unit),
            after: None,
        };
        match self {
            Instrument::Syringe(syringe) => {
                let volume = print::volume(syringe.volume_at(lines));
                match syringe.scale() {
                    PrintedScale::Millilitres => plain(syringe.printed_at(lines), "mL"),
                    PrintedScale::InsulinU100 => Spoken {
                        before: Some("line"),
                        figure: syringe.printed_at(lines),
                        unit: None,
                        after: Some(format!("on the U-100 syringe ({volume})")),
                    },
                }
            }
            Instrument::Tablets(cut) => {
                let (figure, unit) = tablets(lines, *cut);
                plain(figure, unit)
            }
            Instrument::PasteScale(_) => {
                let whole = self
                    .step()
                    .times(crate::quantity::Exact::whole(i64::from(lines)));
                let grams = whole.unwrap_or(self.step());
                plain(print::figure(Measure::figure(grams)).text, "g of product")
            }
        }
    }

    /// How to count the lines to the mark; only a barrel has lines.
    pub fn count(&self, lines: u32) -> Option<String> {
        self.syringe().map(|syringe| syringe.count(lines))
    }
}

impl Syringe {
    /// "15 small lines from 0: 5 past 0.05", or "the line marked 0.1".
    pub fn count(&self, lines: u32) -> String {
        let past = lines % self.numbered_every();
        let below = lines - past;
        if past == 0 {
            return format!("the line marked {}", self.printed_at(lines));
        }
        let small = if lines == 1 {
            "1 small line".to_owned()
        } else {
            format!("{lines} small lines")
        };
        if below == 0 {
            return format!("{small} from 0");
        }
        format!("{small} from 0: {past} past {}", self.printed_at(below))
    }
}

fn tablets(parts: u32, cut: Cut) -> (String, &'static str) {
    let each = match cut {
        Cut::Whole => 1,
        Cut::Halves => 2,
        Cut::Quarters => 4,
    };
    let (whole, rest) = (parts / each, parts % each);
    let fraction = match (rest * 4) / each {
        0 => None,
        1 => Some("a quarter"),
        2 => Some("half"),
        _ => Some("three quarters"),
    };
    match (whole, fraction) {
        (0, Some(fraction)) => (fraction.to_owned(), "tablet"),
        (1, None) => ("1".to_owned(), "tablet"),
        (n, None) => (n.to_string(), "tablets"),
        (n, Some("half")) => (format!("{n} and a half"), "tablets"),
        (n, Some(fraction)) => (format!("{n} and {fraction}"), "tablets"),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::notation::Notation;
    use crate::quantity::{Exact, ProductMass, Volume};
    use crate::rack::{Needle, Use};

    fn barrel(scale: PrintedScale) -> Syringe {
        let read = |text| Volume::read(text).unwrap();
        let (capacity, line) = (read("0.3 mL"), read("0.005 mL"));
        Syringe::new(
            capacity,
            line,
            Use::Injection,
            Needle::Fixed,
            scale,
            None,
            None,
        )
        .unwrap()
    }

    #[test]
    fn lines_are_counted_from_the_number_below() {
        let barrel = barrel(PrintedScale::Millilitres);
        assert_eq!(barrel.count(15), "15 small lines from 0: 5 past 0.05");
        assert_eq!(barrel.count(20), "the line marked 0.1");
        assert_eq!(barrel.count(3), "3 small lines from 0");
        assert_eq!(barrel.count(1), "1 small line from 0");
    }

    #[test]
    fn an_insulin_barrel_is_spoken_of_by_its_lines() {
        let instrument = Instrument::Syringe(barrel(PrintedScale::InsulinU100));
        assert_eq!(
            instrument.spoken(15).to_string(),
            "line 7.5 on the U-100 syringe (0.075 mL)"
        );
        assert_eq!(
            instrument.count(15).unwrap(),
            "15 small lines from 0: 5 past 5"
        );
        let plain = Instrument::Syringe(barrel(PrintedScale::Millilitres));
        assert_eq!(plain.spoken(15).to_string(), "0.075 mL");
    }

    #[test]
    fn tablets_are_said_in_words() {
        let said = |parts, cut| Instrument::Tablets(cut).spoken(parts).to_string();
        assert_eq!(said(1, Cut::Halves), "half tablet");
        assert_eq!(said(3, Cut::Halves), "1 and a half tablets");
        assert_eq!(said(1, Cut::Quarters), "a quarter tablet");
        assert_eq!(said(3, Cut::Quarters), "three quarters tablet");
        assert_eq!(said(1, Cut::Whole), "1 tablet");
        assert_eq!(said(8, Cut::Quarters), "2 tablets");
        assert_eq!(said(7, Cut::Quarters), "1 and three quarters tablets");
    }

    #[test]
    fn paste_is_said_in_grams() {
        let tenth = Exact::ratio(1, 10).unwrap();
        let scale = Instrument::PasteScale(ProductMass::from_grams(tenth));
        assert_eq!(scale.spoken(3).to_string(), "0.3 g of product");
        assert_eq!(scale.count(3), None);
    }
}
