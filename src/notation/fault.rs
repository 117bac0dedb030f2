//! Why a piece of text is not accepted as a quantity: one sentence for each slip.
//!
//! A message says what is wrong and what to write instead. It never offers a dose, and never
//! guesses which figure was meant.

/// Text that is not accepted.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[allow(
    missing_docs,
    reason = "the message of each variant says what it means"
)]
pub enum NotationError {
    #[error("nothing is written here: write {expected}")]
    Empty { expected: &'static str },
    #[error("'{text}' is not a figure with a unit: write {expected}")]
    NotAFigure {
        text: String,
        expected: &'static str,
    },
    #[error("'{text}' has no figure before the point: write a zero there, as in 0.5")]
    NoLeadingZero { text: String },
    #[error("'{text}' ends in a point: write the figure without it, or with what follows it")]
    TrailingPoint { text: String },
    #[error("'{text}' uses a power of ten: write the figure out in full")]
    PowerOfTen { text: String },
    #[error("'{text}' starts with a zero too many: write the figure without it")]
    ZeroInFront { text: String },
    #[error("the Greek letter in '{text}' can be misread: write mcg")]
    GreekMicro { text: String },
    #[error("'{unit}' can be misread: write mcg")]
    Microgram { unit: String },
    #[error("'{unit}' can be misread: write mL")]
    CubicCentimetre { unit: String },
    #[error("'{unit}' can be misread as a figure: write 'units' in full")]
    UnitsAbbreviated { unit: String },
    #[error("'l' can be misread as a one: write L")]
    LowercaseLitre,
    #[error("'gr' has meant grain: write g for gram")]
    Grain,
    #[error(
        "the comma in '{text}' can be misread: write a point before decimals, and commas only between thousands, as in 1,000"
    )]
    Comma { text: String },
    #[error("'{text}' has no unit: write {expected}")]
    NoUnit {
        text: String,
        expected: &'static str,
    },
    #[error("'{text}' is a range: ask your vet for one figure")]
    Range { text: String },
    #[error("'{text}' is a fraction with a slash, which can be misread: write it as a decimal")]
    Fraction { text: String },
    #[error("'{text}' is below zero: check it and write it again")]
    Negative { text: String },
    #[error("'{text}' is nothing at all: check it and write it again")]
    Nothing { text: String },
    #[error("'{text}' has more than 8 digits: check it and write it again")]
    TooManyDigits { text: String },
    #[error("'{text}' has more than 4 decimals: check it, or ask your vet for a rounder figure")]
    TooManyDecimals { text: String },
    #[error("'{unit}' is not a unit that belongs here: write {expected}")]
    UnknownUnit {
        unit: String,
        expected: &'static str,
    },
    #[error("'{unit}' is not known; did you mean '{nearest}'? Write {expected}")]
    NearUnit {
        unit: String,
        nearest: &'static str,
        expected: &'static str,
    },
    #[error("'{text}' is a rate per hour, which no single dose can follow: ask your vet")]
    PerHour { text: String },
    #[error(
        "'{text}' is for a whole day, not for one dose: if your vet means the day's total, write PerDay with 'per day in' so many 'doses'"
    )]
    PerDay { text: String },
    #[error(
        "'{text}' does not say into how many doses the day is divided: write 'per day in' so many 'doses'"
    )]
    DayNotDivided { text: String },
    #[error("'{text}' is more than any patient or label comes to: check it and write it again")]
    TooLarge { text: String },
    #[error("'%' alone can mean two things: write '% w/v' if that is what the label says, or ask")]
    PercentAlone,
    #[error(
        "drops are not a volume and are never converted: write the dose as an Application in your vet's words"
    )]
    Drops,
    #[error("'{text}' is not a strength as a label writes it: write {expected}")]
    BadRatio {
        text: String,
        expected: &'static str,
    },
    #[error("there is an invisible character in '{text}': type it afresh instead of pasting it")]
    Invisible { text: String },
    #[error("'{text}' is too long for a figure with a unit: write {expected}")]
    TooLong {
        text: String,
        expected: &'static str,
    },
    #[error("'{text}' is not a length of time: write a whole number, then hours, days or weeks")]
    BadSpan { text: String },
    #[error("'{text}' is not a percentage: write a figure from 0 to 100 and 'percent'")]
    BadPercent { text: String },
    #[error(transparent)]
    OutOfRange(#[from] crate::quantity::OutOfRange),
}
