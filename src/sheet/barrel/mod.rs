//! The syringe beside the mark: its printed scale, and where on it the mark is found.
//!
//! Promises: lines and numbers are those of the syringe's record; the count of lines is whole
//! numbers from the record, never measured.
//! Does not: choose a mark, round, or know what is in the syringe.

mod drawing;

use std::collections::{BTreeMap, BTreeSet};

use crate::sheet::SheetError;

pub use crate::sheet::barrel::drawing::{ABOVE_MARK, BELOW_MARK, DRAWING_RIGHT, draw};

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
    medium: BTreeSet<u32>,
    end: End,
}

/// Where on the scale a mark is found, for a person who counts lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Count {
    /// A numbered line: "the line marked 0.1".
    Numbered {
        /// The number printed at the line.
        label: String,
    },
    /// Past a numbered line: "15 small lines from 0: 5 past 0.05".
    Past {
        /// Lines from 0.
        from_zero: u32,
        /// Lines from the number below.
        past: u32,
        /// The number below.
        label: String,
    },
    /// Before the first number: "3 small lines from 0".
    FromZero {
        /// Lines from 0.
        from_zero: u32,
    },
}

impl Count {
    /// What comes first, in plain type; may be empty.
    #[must_use]
    pub fn lead(&self) -> String {
        match self {
            Self::Numbered { .. } | Self::FromZero { .. } => String::new(),
            Self::Past { from_zero, .. } => format!("{}: ", small_lines(*from_zero)),
        }
    }

    /// What finds the line, in bold type.
    #[must_use]
    pub fn find(&self) -> String {
        match self {
            Self::Numbered { label } => format!("the line marked {label}"),
            Self::Past { past, label, .. } => format!("{past} past {label}"),
            Self::FromZero { from_zero } => small_lines(*from_zero),
        }
    }
}

impl std::fmt::Display for Count {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}{}", self.lead(), self.find())
    }
}

fn small_lines(count: u32) -> String {
    let word = if count == 1 { "line" } else { "lines" };
    format!("{count} small {word} from 0")
}

impl Scale {
    /// A scale of `lines` lines after 0, drawn to line `mark`; `labels` are the numbers printed
    /// at lines (these lines are the long ones), `medium` the lines of middle length.
    ///
    /// # Errors
    /// [`SheetError::OffTheBarrel`] if `mark` is 0 or above `lines`.
    pub fn new(
        lines: u32,
        mark: u32,
        labels: BTreeMap<u32, String>,
        medium: BTreeSet<u32>,
        end: End,
    ) -> Result<Self, SheetError> {
        if mark == 0 || mark > lines {
            return Err(SheetError::OffTheBarrel { mark, lines });
        }
        Ok(Self {
            lines,
            mark,
            labels,
            medium,
            end,
        })
    }

    /// Where the mark is found, counted in lines.
    #[must_use]
    pub fn count(&self) -> Count {
        match self.labels.range(1..=self.mark).next_back() {
            Some((&line, label)) if line == self.mark => Count::Numbered {
                label: label.clone(),
            },
            Some((&line, label)) => Count::Past {
                from_zero: self.mark,
                past: self.mark - line,
                label: label.clone(),
            },
            None => Count::FromZero {
                from_zero: self.mark,
            },
        }
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

    fn weight(&self, line: u32) -> LineWeight {
        if line == 0 || self.labels.contains_key(&line) {
            LineWeight::Long
        } else if self.medium.contains(&line) {
            LineWeight::Medium
        } else {
            LineWeight::Small
        }
    }
}

#[derive(Clone, Copy)]
enum LineWeight {
    Long,
    Medium,
    Small,
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
pub(in crate::sheet) mod tests {
    use super::*;

    /// A 0.3 mL barrel with a line every 0.005 mL, numbered every 0.05 mL (common practice, no
    /// source).
    pub fn small(mark: u32) -> Scale {
        let labels = ["0.05", "0.1", "0.15", "0.2", "0.25", "0.3"];
        scale(60, mark, 10, &labels, End::Needle)
    }

    /// A 1 mL barrel with a line every 0.01 mL, numbered every 0.1 mL (common practice, no
    /// source).
    pub fn large(mark: u32) -> Scale {
        let labels = [
            "0.1", "0.2", "0.3", "0.4", "0.5", "0.6", "0.7", "0.8", "0.9", "1",
        ];
        scale(100, mark, 10, &labels, End::Tip)
    }

    pub fn scale(lines: u32, mark: u32, every: u32, labels: &[&str], end: End) -> Scale {
        let numbered = (1..)
            .map(|n| n * every)
            .zip(labels.iter().map(|&label| label.to_owned()));
        let medium = (1..=lines).filter(|line| line % 5 == 0).collect();
        Scale::new(lines, mark, numbered.collect(), medium, end).unwrap()
    }

    // 15 x 0.005 mL = 0.075 mL; 10 lines to the number 0.05, so 5 past it.
    #[test]
    fn lines_are_counted_past_the_lower_number() {
        assert_eq!(
            small(15).count().to_string(),
            "15 small lines from 0: 5 past 0.05"
        );
        assert_eq!(
            large(36).count().to_string(),
            "36 small lines from 0: 6 past 0.3"
        );
        assert_eq!(
            large(11).count().to_string(),
            "11 small lines from 0: 1 past 0.1"
        );
    }

    #[test]
    fn a_numbered_line_is_named_by_its_number() {
        assert_eq!(small(20).count().to_string(), "the line marked 0.1");
        assert_eq!(small(60).count().to_string(), "the line marked 0.3");
        assert_eq!(large(100).count().to_string(), "the line marked 1");
    }

    #[test]
    fn before_the_first_number_lines_are_counted_from_0() {
        assert_eq!(small(1).count().to_string(), "1 small line from 0");
        assert_eq!(small(9).count().to_string(), "9 small lines from 0");
    }

    #[test]
    fn a_number_printed_at_0_is_not_counted_from_twice() {
        let labels = BTreeMap::from([(0, "0".to_owned()), (10, "0.1".to_owned())]);
        let scale = Scale::new(20, 3, labels, BTreeSet::new(), End::Tip).unwrap();
        assert_eq!(scale.count().to_string(), "3 small lines from 0");
    }

    // On a U-100 barrel the numbers printed at the lines are 5, 10, ... (common practice, no
    // source): line 7.5 of one with a line every half is the 15th, 5 past the number 5.
    #[test]
    fn an_insulin_scale_is_counted_by_the_numbers_that_are_printed_on_it() {
        let scale = scale(
            60,
            15,
            10,
            &["5", "10", "15", "20", "25", "30"],
            End::Needle,
        );
        assert_eq!(scale.count().to_string(), "15 small lines from 0: 5 past 5");
    }

    #[test]
    fn a_mark_that_is_no_line_is_an_error() {
        for mark in [0, 61] {
            let error = Scale::new(60, mark, BTreeMap::new(), BTreeSet::new(), End::Tip);
            assert_eq!(error, Err(SheetError::OffTheBarrel { mark, lines: 60 }));
        }
    }
}
