//! The syringe beside the mark: its printed scale, and where on it the mark is found.
//!
//! Promises: lines and numbers are those of the rack's record, and the count of lines is the
//! rack's own words. Does not: choose a mark, count, or know what is in the syringe.

mod drawing;

use std::collections::BTreeMap;

use crate::rack::{Needle, Syringe};
use crate::sheet::SheetError;

pub use crate::sheet::barrel::drawing::{
    DRAWING_RIGHT, above_mark, below_mark, close_above_mark, close_below_mark, draw,
};

/// What stands at the top of the barrel, as it is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// A needle.
    Needle,
    /// A tip without a needle.
    Tip,
}

/// A syringe's printed scale and the line that is drawn to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scale {
    lines: u32,
    mark: u32,
    labels: BTreeMap<u32, String>,
    end: End,
    count: String,
}

impl Scale {
    /// The scale of a syringe, drawn to line `mark`. The rack records which lines bear numbers,
    /// and these are drawn long; of longer lines between them it knows nothing, so none are drawn.
    ///
    /// # Errors
    /// [`SheetError::OffTheBarrel`] if `mark` is 0 or beyond the syringe's last line.
    pub fn of(syringe: &Syringe, mark: u32) -> Result<Self, SheetError> {
        let lines = syringe.lines();
        if mark == 0 || mark > lines {
            return Err(SheetError::OffTheBarrel { mark, lines });
        }
        let every = usize::try_from(syringe.numbered_every()).unwrap_or(usize::MAX);
        let numbered = (1..=lines).skip(every.saturating_sub(1)).step_by(every);
        Ok(Self {
            lines,
            mark,
            labels: numbered
                .map(|line| (line, syringe.printed_at(line)))
                .collect(),
            end: match syringe.needle() {
                Needle::Fixed | Needle::Hub => End::Needle,
                Needle::Tip => End::Tip,
            },
            count: syringe.count(mark),
        })
    }

    /// Where the mark is found, in two parts: "15 small lines from 0: ", which may be empty, and
    /// what finds the line, "5 past 0.05".
    #[must_use]
    pub fn count(&self) -> (&str, &str) {
        match self.count.find(": ") {
            Some(at) => self.count.split_at(at + 2),
            None => ("", &self.count),
        }
    }

    /// What its drawing shows, in words.
    #[must_use]
    pub fn shown(&self) -> String {
        let end = match self.end {
            End::Needle => "needle up",
            End::Tip => "tip up",
        };
        // In plain letters: a file holds any other text in four times the bytes.
        format!(
            "The syringe, {end}, the top edge of its seal at the mark: {}",
            self.count
        )
    }

    /// The line of the number at or below the mark; 0 where there is none.
    fn number_below(&self) -> u32 {
        let below = self.labels.range(..=self.mark).next_back();
        below.map_or(0, |(&line, _)| line)
    }

    /// The length of the drawn scale in millimetres, or none if its lines would stand closer
    /// than can be told apart on paper.
    #[must_use]
    pub fn length(&self) -> Option<f32> {
        match self.lines {
            0..=60 => Some(46.0),
            61..=100 => Some(60.0),
            _ => None,
        }
    }

    /// How far below the scale's 0 line `line` is drawn, in millimetres, on a scale of `length`.
    #[must_use]
    pub fn offset(&self, line: u32, length: f32) -> f32 {
        line as f32 * length / self.lines as f32
    }

    fn is_numbered(&self, line: u32) -> bool {
        line == 0 || self.labels.contains_key(&line)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
pub(in crate::sheet) mod tests {
    use super::*;
    use crate::notation::Notation;
    use crate::quantity::Volume;
    use crate::rack::{PrintedScale, Use};

    /// A 0.3 mL barrel with a line every 0.005 mL, numbered every 0.05 mL.
    pub fn small(mark: u32) -> Scale {
        scale("0.3 mL", "0.005 mL", Needle::Fixed, mark)
    }

    /// A 1 mL barrel with a line every 0.01 mL, numbered every 0.1 mL.
    pub fn large(mark: u32) -> Scale {
        scale("1 mL", "0.01 mL", Needle::Tip, mark)
    }

    /// A 0.3 mL barrel whose numbers are insulin units, with a line every half.
    pub fn insulin(mark: u32) -> Scale {
        let scale = PrintedScale::InsulinU100;
        Scale::of(&syringe("0.3 mL", "0.005 mL", Needle::Fixed, scale), mark).unwrap()
    }

    pub fn scale(capacity: &str, line: &str, needle: Needle, mark: u32) -> Scale {
        let syringe = syringe(capacity, line, needle, PrintedScale::Millilitres);
        Scale::of(&syringe, mark).unwrap()
    }

    fn syringe(capacity: &str, line: &str, needle: Needle, scale: PrintedScale) -> Syringe {
        let read = |text| Volume::read(text).unwrap();
        let used_for = match needle {
            Needle::Tip => Use::Mouth,
            Needle::Fixed | Needle::Hub => Use::Injection,
        };
        let (capacity, line) = (read(capacity), read(line));
        Syringe::new(capacity, line, used_for, needle, scale, None, None).unwrap()
    }

    // 15 x 0.005 mL = 0.075 mL; 10 lines to the number 0.05, so 5 past it.
    #[test]
    fn what_finds_the_line_is_told_from_what_leads_to_it() {
        let told = |lead, find| (lead, find);
        assert_eq!(
            small(15).count(),
            told("15 small lines from 0: ", "5 past 0.05")
        );
        assert_eq!(
            insulin(15).count(),
            told("15 small lines from 0: ", "5 past 5")
        );
        assert_eq!(small(20).count(), told("", "the line marked 0.1"));
        assert_eq!(large(3).count(), told("", "3 small lines from 0"));
    }

    /// What the bracket in the drawing counts is what the words count.
    #[test]
    fn the_drawing_counts_the_lines_that_the_words_count() {
        for (scale_at, lines) in [(small as fn(u32) -> Scale, 60), (large, 100), (insulin, 60)] {
            for mark in 1..=lines {
                let scale = scale_at(mark);
                let past = mark - scale.number_below();
                let (_, find) = scale.count();
                let counted = find.split(' ').next().unwrap().parse().unwrap_or(0);
                assert_eq!(counted, past, "{find}");
            }
        }
    }

    #[test]
    fn numbers_stand_where_the_record_has_them() {
        let numbers: Vec<(u32, &str)> = vec![
            (10, "0.05"),
            (20, "0.1"),
            (30, "0.15"),
            (40, "0.2"),
            (50, "0.25"),
            (60, "0.3"),
        ];
        let scale = small(15);
        let drawn = scale.labels.iter().map(|(&line, label)| (line, &**label));
        assert_eq!(drawn.collect::<Vec<_>>(), numbers);
    }

    #[test]
    fn a_mark_that_is_no_line_is_an_error() {
        let barrel = syringe(
            "0.3 mL",
            "0.005 mL",
            Needle::Fixed,
            PrintedScale::Millilitres,
        );
        for mark in [0, 61] {
            let error = Scale::of(&barrel, mark);
            assert_eq!(error, Err(SheetError::OffTheBarrel { mark, lines: 60 }));
        }
    }
}
