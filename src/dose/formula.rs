//! The one formula: rate x weight, limited by the vet's cap, over the strength; then the mark on
//! one instrument.
//!
//! Promises: the ladder, the working and every face call this and nothing else. It is exact until
//! [`Instrument::mark`] rounds once.

use crate::caution::Whose;
use crate::notation::Written;
use crate::prescription::Dose;
use crate::quantity::{
    Amount, BodyWeight, DoseRate, Measure, OutOfRange, QuantityError, Strength, Volume,
};
use crate::rack::{Instrument, Limits, Mark, Rounding, Unfit, Wanted};

/// Everything a mark hangs on but the weight and the instrument.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Formula {
    /// The dose as the vet wrote it, or has since said.
    pub dose: Dose,
    /// The strength it is drawn from; none where the dose is itself a volume or a count.
    pub strength: Option<Written<Strength>>,
    /// The vet's cap on one dose.
    pub max_dose: Option<Written<Amount>>,
    /// The vet's cap on one site.
    pub max_per_site: Option<Written<Volume>>,
    /// The vet's direction.
    pub rounding: Rounding,
    /// How far the mark may be off.
    pub limits: Limits,
    /// Whose limits those are.
    pub limits_whose: Whose,
}

/// The dose before any rounding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Calculated {
    /// Rate times weight, or the fixed dose.
    pub uncapped: Amount,
    /// The dose: the same, or the vet's cap.
    pub amount: Amount,
    /// The exact measure that holds it.
    pub measure: Measure,
    /// Whether the cap bit.
    pub capped: bool,
}

impl Formula {
    /// The calculated dose for a weight; a fixed dose needs none.
    ///
    /// # Errors
    /// [`QuantityError`]; a missing weight where one is needed is a mix of kinds.
    #[inline]
    pub fn calculated(&self, weight: Option<BodyWeight>) -> Result<Calculated, QuantityError> {
        let missing = QuantityError::Mixed("a dose by body weight", "no weight");
        let uncapped = self.dose.calculated(weight)?.ok_or(missing)?;
        let amount = uncapped.held_to(self.max_dose.as_ref().map(Written::value))?;
        let measure = amount.measure(self.strength.as_ref().map(Written::value))?;
        let capped = self.max_dose.is_some() && amount != uncapped;
        Ok(Calculated {
            uncapped,
            amount,
            measure,
            capped,
        })
    }

    /// The mark for a weight on one instrument; `draws` holds the number of draws fixed.
    ///
    /// # Errors
    /// [`Unfit`]
    pub fn mark(
        &self,
        weight: Option<BodyWeight>,
        instrument: &Instrument,
        draws: Option<u32>,
    ) -> Result<Mark, Unfit> {
        let calculated = self.calculated(weight)?;
        self.mark_of(&calculated, instrument, draws)
    }

    /// The mark for a dose already calculated.
    ///
    /// # Errors
    /// [`Unfit`]
    #[inline]
    pub fn mark_of(
        &self,
        calculated: &Calculated,
        instrument: &Instrument,
        draws: Option<u32>,
    ) -> Result<Mark, Unfit> {
        let cap = match &self.max_dose {
            Some(cap) => Some(
                cap.value()
                    .measure(self.strength.as_ref().map(Written::value))?,
            ),
            None => None,
        };
        let per_site = self
            .max_per_site
            .as_ref()
            .map(|site| Measure::Volume(site.value()));
        instrument.mark(&Wanted {
            measure: calculated.measure,
            cap,
            per_site,
            rounding: self.rounding,
            limits: self.limits,
            draws,
        })
    }

    /// What a measure really holds, counted as the dose is counted.
    ///
    /// # Errors
    /// [`QuantityError`]
    pub fn held_in(&self, measure: Measure) -> Result<Amount, QuantityError> {
        let by_measure = match (&self.dose, self.dose.rate()) {
            (Dose::Fixed(amount), _) => {
                !matches!(amount.value(), Amount::Mass(_) | Amount::Activity(_))
            }
            (_, rate) => matches!(rate, Some(DoseRate::Volume(_))),
        };
        let strength = self.strength.as_ref().map(Written::value);
        measure.holds(if by_measure { None } else { strength })
    }

    /// Whether the medicine is measured in units of activity.
    pub fn in_units(&self) -> bool {
        match &self.dose {
            Dose::Fixed(amount) => matches!(amount.value(), Amount::Activity(_)),
            other => matches!(other.rate(), Some(DoseRate::Activity(_))),
        }
    }

    /// What the dose at the mark comes to by body weight.
    ///
    /// # Errors
    /// [`OutOfRange`]
    pub fn rate_at(
        &self,
        held: Amount,
        weight: Option<BodyWeight>,
    ) -> Result<Option<DoseRate>, OutOfRange> {
        weight.map_or(Ok(None), |weight| held.per_weight(weight))
    }
}
