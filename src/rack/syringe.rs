//! One kind of syringe: capacity, graduation, use, needle, printed scale.
//!
//! Promises: the lines of a syringe are a whole number; an insulin barrel is spoken of by its
//! lines and its millilitres, never in "units"; U-40 barrels are not accepted.

use crate::notation::{Written, print};
use crate::quantity::{Exact, OutOfRange, Volume};
use crate::rack::Use;
use serde::{Deserialize, Serialize};

/// How the needle or tip joins the barrel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Needle {
    /// Part of the barrel: nothing is lost in a hub.
    Fixed,
    /// Put on: some medicine stays in the hub at every draw.
    Hub,
    /// A tip for the mouth.
    Tip,
}

/// What is printed along the barrel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum PrintedScale {
    /// Millilitres.
    Millilitres,
    /// Insulin units of U-100: 100 to the millilitre.
    InsulinU100,
}

/// One kind of syringe at hand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Syringe {
    capacity: Written<Volume>,
    graduation: Written<Volume>,
    #[serde(rename = "for")]
    used_for: Use,
    needle: Needle,
    scale: PrintedScale,
    hub_loss: Option<Written<Volume>>,
    /// A number stands at every so many lines.
    numbered_every: u32,
}

/// Why a syringe is not accepted.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SyringeError {
    /// The lines do not divide the barrel.
    #[error(
        "a barrel of {capacity} cannot be divided into lines of {graduation}: read both off the barrel again"
    )]
    UnevenLines {
        /// As typed.
        capacity: String,
        /// As typed.
        graduation: String,
    },
    /// More lines than any barrel has.
    #[error("a barrel with more than 500 lines is not a syringe: read the barrel again")]
    TooManyLines,
    /// Insulin barrels are for injection, with a fixed needle.
    #[error("an insulin barrel is for injection, with its needle fixed: check the syringe in hand")]
    InsulinUse,
    /// An insulin line is one unit or half a unit, or two.
    #[error(
        "the lines of a U-100 barrel stand 0.005, 0.01 or 0.02 mL apart; other insulin barrels are not accepted: ask your vet for a syringe marked in mL"
    )]
    InsulinLines,
    /// A number every 0 lines, or past the end.
    #[error(
        "a number cannot stand at every {0} lines of this barrel: count the lines from one number to the next"
    )]
    Numbering(u32),
    /// Needle and use disagree.
    #[error("a tip is for the mouth and a needle for injection: check the syringe in hand")]
    NeedleAndUse,
    /// Exact arithmetic failed.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

impl Syringe {
    /// A syringe as read off the barrel. `numbered_every` is the count of lines from one printed
    /// number to the next; when none is given, the usual one for its graduation is taken
    /// (common practice, no source).
    ///
    /// # Errors
    /// [`SyringeError`]
    pub fn new(
        capacity: Written<Volume>,
        graduation: Written<Volume>,
        used_for: Use,
        needle: Needle,
        scale: PrintedScale,
        hub_loss: Option<Written<Volume>>,
        numbered_every: Option<u32>,
    ) -> Result<Syringe, SyringeError> {
        let lines = capacity.value().over(graduation.value())?;
        if lines.denominator() != 1 {
            return Err(SyringeError::UnevenLines {
                capacity: capacity.text().to_owned(),
                graduation: graduation.text().to_owned(),
            });
        }
        let lines = lines.numerator();
        if lines > 500 {
            return Err(SyringeError::TooManyLines);
        }
        if (needle == Needle::Tip) != (used_for == Use::Mouth) {
            return Err(SyringeError::NeedleAndUse);
        }
        if scale == PrintedScale::InsulinU100 {
            if used_for != Use::Injection || needle != Needle::Fixed {
                return Err(SyringeError::InsulinUse);
            }
            let step = graduation.value().millilitres();
            let known = [(1, 200), (1, 100), (1, 50)];
            if !known.iter().any(|&(n, d)| Exact::ratio(n, d) == Some(step)) {
                return Err(SyringeError::InsulinLines);
            }
        }
        let numbered_every = numbered_every.unwrap_or_else(|| usual_numbering(lines, scale));
        if numbered_every == 0 || i128::from(numbered_every) > lines {
            return Err(SyringeError::Numbering(numbered_every));
        }
        Ok(Syringe {
            capacity,
            graduation,
            used_for,
            needle,
            scale,
            hub_loss,
            numbered_every,
        })
    }

    /// What it holds to its last line.
    pub fn capacity(&self) -> Volume {
        self.capacity.value()
    }

    /// From one line to the next.
    pub fn graduation(&self) -> Volume {
        self.graduation.value()
    }

    /// For injection or for the mouth.
    pub const fn used_for(&self) -> Use {
        self.used_for
    }

    /// How the needle or tip joins the barrel.
    pub const fn needle(&self) -> Needle {
        self.needle
    }

    /// What is printed along the barrel.
    pub const fn scale(&self) -> PrintedScale {
        self.scale
    }

    /// A number stands at every so many lines.
    pub const fn numbered_every(&self) -> u32 {
        self.numbered_every
    }

    /// How many lines from 0 to the capacity.
    pub fn lines(&self) -> u32 {
        let lines = self.capacity.value().over(self.graduation.value());
        lines
            .ok()
            .and_then(|n| u32::try_from(n.floor()).ok())
            .unwrap_or(0)
    }

    /// What stays in the hub at each draw; nothing for a fixed needle unless one was set.
    pub fn hub_loss(&self) -> Volume {
        self.hub_loss
            .as_ref()
            .map_or(Volume::from_millilitres(Exact::ZERO), Written::value)
    }

    /// Short form that names it on the command line: "0.3/0.005".
    pub fn short(&self) -> String {
        let bare = |volume: Volume| print::figure(volume.millilitres()).text;
        format!("{}/{}", bare(self.capacity()), bare(self.graduation()))
    }

    /// "0.3 mL, fixed needle, a line every 0.005 mL".
    pub fn words(&self) -> String {
        let kind = match (self.needle, self.scale) {
            (Needle::Fixed, PrintedScale::InsulinU100) => "U-100 insulin barrel",
            (Needle::Fixed, PrintedScale::Millilitres) => "fixed needle",
            (Needle::Hub, _) => "for injection",
            (Needle::Tip, _) => "for the mouth",
        };
        format!(
            "{}, {kind}, a line every {}",
            self.capacity, self.graduation
        )
    }

    /// The figure printed at line `line`, in the barrel's own scale, without a unit.
    pub fn printed_at(&self, line: u32) -> String {
        let volume = self.volume_at(line).millilitres();
        let shown = match self.scale {
            PrintedScale::Millilitres => volume,
            PrintedScale::InsulinU100 => volume.times(Exact::whole(100)).unwrap_or(volume),
        };
        print::figure(shown).text
    }

    /// The volume at line `line`.
    pub fn volume_at(&self, line: u32) -> Volume {
        self.graduation()
            .times(Exact::whole(i64::from(line)))
            .unwrap_or(self.graduation())
    }

    /// How far the volume expelled may be from the mark, either way.
    ///
    /// ISO 7886-1 table 1, from memory: V below 5 mL: 1.5 percent of V + 2 percent of v below
    /// half of V, 5 percent of v from there; V of 5 mL or more: 1.5 percent of V + 1 percent of
    /// v, then 4 percent of v. The standard does not cover insulin syringes; the same form is
    /// used for them.
    ///
    /// # Errors
    /// [`OutOfRange`]
    pub fn tolerance(&self, expelled: Volume) -> Result<Volume, OutOfRange> {
        let share = |n: i128| Exact::ratio(n, 1_000).unwrap_or(Exact::ZERO);
        let capacity = self.capacity();
        let large = capacity.millilitres() >= Exact::whole(5);
        if expelled.times(Exact::whole(2))? < capacity {
            let of_expelled = expelled.times(share(if large { 10 } else { 20 }))?;
            capacity.times(share(15))?.plus(of_expelled)
        } else {
            expelled.times(share(if large { 40 } else { 50 }))
        }
    }
}

/// The usual numbering: insulin barrels at every 5 units or 10; barrels of tenths at every tenth;
/// others ten numbers or fewer. Common practice, no source.
fn usual_numbering(lines: i128, scale: PrintedScale) -> u32 {
    let every = match (scale, lines) {
        (_, n) if n <= 10 => 1,
        (PrintedScale::InsulinU100, _) => 10,
        (PrintedScale::Millilitres, n) if n <= 30 => 5,
        _ => 10,
    };
    every.min(u32::try_from(lines).unwrap_or(u32::MAX)).max(1)
}
