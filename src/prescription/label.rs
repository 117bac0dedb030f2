//! The vet's own volume at the vet's own weight, held against what the program works out.
//!
//! Promises: a label more than 10 percent apart is not accepted, whatever its rounding; one more
//! than 5 percent apart is pointed out, unless the label shows just what is worked out, rounded
//! to the label's own last digit. Both limits are strict.

use crate::notation::Written;
use crate::prescription::dose::Dose;
use crate::prescription::fault::Found;
use crate::prescription::fields::Fields;
use crate::prescription::meaning::WEIGHT;
use crate::prescription::typed::{Kind, Node};
use crate::prescription::{Prescription, values};
use crate::quantity::{BodyWeight, Exact, Measure, OutOfRange, QuantityError, Volume};

/// What the label says one dose comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LabelCheck {
    /// At this weight.
    pub weight: Written<BodyWeight>,
    /// So much.
    pub volume: Written<Volume>,
    /// The smallest step of the figure as typed: 0.001 mL for "0.052 mL".
    last_digit: Volume,
}

/// How the label and the prescription agree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Agreement {
    /// They do, or differ only by the label's rounding or by 5 percent at the most.
    Agrees,
    /// More than 5 percent apart: the share, of what is worked out.
    Apart(Exact),
    /// More than 10 percent apart: the share, of what is worked out.
    FarApart(Exact),
}

impl LabelCheck {
    pub(super) fn read(node: &Node, found: &mut Found) -> Option<LabelCheck> {
        const VOLUME: &str = "the volume that the label gives for one dose, in mL";
        let fields = Fields::of(node, "LabelCheck", &["weight", "volume"], found)?;
        let weight = fields.need("weight", WEIGHT, found);
        let weight = weight.and_then(|node| values::quantity(node, WEIGHT, found));
        let volume_node = fields.need("volume", VOLUME, found);
        let volume = volume_node.and_then(|node| values::quantity::<Volume>(node, VOLUME, found));
        let last_digit = volume_node.and_then(last_digit);
        Some(LabelCheck {
            weight: weight?,
            volume: volume?,
            last_digit: last_digit?,
        })
    }

    /// The label against a dose. Nothing where the dose is not drawn up in mL.
    ///
    /// # Errors
    /// [`QuantityError`]
    pub(super) fn against(
        &self,
        prescription: &Prescription,
        dose: &Dose,
    ) -> Result<Option<Agreement>, QuantityError> {
        let strength = prescription.strength().map(Written::value);
        let amount = prescription.calculated(dose, Some(self.weight.value()))?;
        let measure = amount.map(|amount| amount.measure(strength)).transpose()?;
        let Some(Measure::Volume(ours)) = measure else {
            return Ok(None);
        };
        Ok(Some(self.judge(ours)?))
    }

    fn judge(&self, ours: Volume) -> Result<Agreement, OutOfRange> {
        let label = self.volume.value();
        let apart = label.minus(ours)?.over(ours)?;
        let percent = |n| Exact::ratio(n, 100).ok_or(OutOfRange);
        if apart.abs() > percent(10)? {
            return Ok(Agreement::FarApart(apart));
        }
        // Rounded to the label's last digit either way at a tie, as labels are.
        let half = Exact::ratio(1, 2).ok_or(OutOfRange)?;
        let is_rounded = label.minus(ours)?.over(self.last_digit)?.abs() <= half;
        if apart.abs() > percent(5)? && !is_rounded {
            return Ok(Agreement::Apart(apart));
        }
        Ok(Agreement::Agrees)
    }
}

/// The worth of the last digit typed: the zero of "0.10 mL" counts, for the label rounded there.
fn last_digit(node: &Node) -> Option<Volume> {
    let Kind::Text(text) = &node.kind else {
        return None;
    };
    let figure: String = text
        .trim_start()
        .chars()
        .take_while(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
        .collect();
    let decimals = figure.split_once('.').map_or(0, |(_, after)| after.len());
    // No figure that is read has more than a few decimals, whatever zeros follow them.
    let places = u32::try_from(decimals.min(12)).ok()?;
    let worth = Exact::ratio(1, 10_i128.checked_pow(places)?)?;
    let is_millilitres = text.contains('m');
    let each = Exact::whole(if is_millilitres { 1 } else { 1_000 });
    Some(Volume::from_millilitres(worth.times(each).ok()?))
}
