//! A dose worked out on paper: from a prescription and a weight that belong to no animal here.
//!
//! Promises: the same formula as everywhere; no age, no loss and no calendar are judged, because
//! nothing is to be given by it.

use crate::animal::{Weighing, Weights};
use crate::dose::{Ask, AtHand, Basis, Formula, InHand, WeightRule, Worked, limits, work};
use crate::notation::Written;
use crate::prescription::{Dose, Prescription, WeightBasis};
use crate::quantity::{BodyWeight, ProductMass};
use crate::rack::Syringe;
use crate::schedule::{Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, Utc};

/// What a dose is worked out from, beside the prescription.
#[derive(Clone, Copy, Debug)]
pub struct Paper<'a> {
    /// The strength in hand, or the prescription's own.
    pub in_hand: InHand<'a>,
    /// The syringes to choose from.
    pub syringes: &'a [Syringe],
    /// The keeper's settings.
    pub settings: &'a Settings,
    /// The moment of asking.
    pub now: DateTime<Utc>,
    /// The zone.
    pub zone: Zone,
}

/// Works out one dose of a prescription for a weight; a fixed dose needs none.
pub fn on_paper(
    prescription: &Prescription,
    dose: &Dose,
    weight: Option<&Written<BodyWeight>>,
    paper: &Paper,
) -> Worked {
    let Paper {
        in_hand,
        syringes,
        settings,
        now,
        zone,
    } = *paper;
    let weighing = weight.map(|weight| Weighing {
        entry: 0,
        at: now,
        weight: weight.clone(),
        readability: settings.readability.clone(),
        tag: None,
    });
    let tolerance = prescription.tolerance.as_ref();
    let (limits, limits_whose) = limits(tolerance.map(Written::value), settings);
    let formula = Formula {
        dose: dose.clone(),
        strength: prescription.medicine.strength.clone(),
        max_dose: prescription.greatest_dose(),
        max_per_site: prescription.max_per_site.clone(),
        rounding: prescription.rounding,
        limits,
        limits_whose,
    };
    work(&Ask {
        formula: &formula,
        must_read: prescription.medicine.strength.as_ref(),
        in_hand,
        at_hand: AtHand {
            syringes,
            used_for: prescription.route.used_for(),
            cut: prescription.tablets,
            paste_scale: ProductMass::from_grams(settings.readability.value().grams()),
            last_used: None,
            named: None,
        },
        weights: &Weights::new(weighing.into_iter().collect()),
        weight_rule: &WeightRule {
            // The weight on paper stands for the latest and for the one at the start.
            basis: match &prescription.weight_basis {
                WeightBasis::Fixed(weight) => Basis::Fixed(weight.clone()),
                WeightBasis::Latest | WeightBasis::Start => Basis::Latest,
            },
            fixed_dose: dose.rate().is_none(),
            ..WeightRule::default()
        },
        last_drawn: None,
        settings,
        now,
        day: local_date(now, zone),
        zone,
    })
}
