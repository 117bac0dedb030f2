//! The public quantities: one type for each role a figure can play.
//!
//! Promises: the value inside is exact and in range, it is reached only by methods that name its
//! unit, and two roles never add, compare or stand in for each other. Adding milligrams to units,
//! or using body weight as medicine, does not compile. Text is not read or printed here.

use crate::quantity::exact::{Exact, OutOfRange, Stored};
use crate::quantity::system::{self, Of};
use std::cmp::Ordering;

macro_rules! roles {
    ($($(#[$doc:meta])* $name:ident ($module:ident): $from:ident, $get:ident, $unit:literal;)*) => {
        $($(#[$doc])*
        #[derive(Clone, Copy, Debug)]
        pub struct $name(Of<system::$module::Dimension>);

        impl $name {
            #[doc = concat!("From an exact figure in ", $unit, ".")]
            #[inline]
            pub fn $from(value: Exact) -> $name {
                $name(system::of(Stored(Some(value))))
            }

            #[doc = concat!("The exact figure in ", $unit, ".")]
            #[inline]
            pub fn $get(self) -> Exact {
                // In range by construction: every way in passes `checked`.
                self.0.value.0.unwrap_or(Exact::ZERO)
            }

            #[inline]
            fn checked(quantity: Of<system::$module::Dimension>) -> Result<$name, OutOfRange> {
                quantity.value.leave()?;
                Ok($name(quantity))
            }

            #[doc = "The sum of two of the same role."]
            ///
            /// # Errors
            /// [`OutOfRange`]
            #[inline]
            pub fn plus(self, other: $name) -> Result<$name, OutOfRange> {
                $name::checked(self.0 + other.0)
            }

            /// What is left after taking `other` away; may be negative.
            ///
            /// # Errors
            /// [`OutOfRange`]
            #[inline]
            pub fn minus(self, other: $name) -> Result<$name, OutOfRange> {
                $name::checked(self.0 - other.0)
            }

            /// So many times this.
            ///
            /// # Errors
            /// [`OutOfRange`]
            #[inline]
            pub fn times(self, factor: Exact) -> Result<$name, OutOfRange> {
                $name::checked(self.0 * system::of::<system::ratio::Dimension>(Stored(Some(factor))))
            }

            /// How many times `other` goes into this.
            ///
            /// # Errors
            /// [`OutOfRange`], also when `other` is nothing.
            #[inline]
            pub fn over(self, other: $name) -> Result<Exact, OutOfRange> {
                let ratio: Of<system::ratio::Dimension> = self.0 / other.0;
                ratio.value.leave()
            }

            /// Whether this is nothing at all.
            #[inline]
            pub fn is_zero(self) -> bool {
                self.$get().is_zero()
            }
        }

        impl PartialEq for $name {
            #[inline]
            fn eq(&self, other: &$name) -> bool {
                self.cmp(other) == Ordering::Equal
            }
        }

        impl Eq for $name {}

        impl PartialOrd for $name {
            #[inline]
            fn partial_cmp(&self, other: &$name) -> Option<Ordering> {
                Some(self.cmp(other))
            }
        }

        impl Ord for $name {
            #[inline]
            fn cmp(&self, other: &$name) -> Ordering {
                self.$get().cmp(&other.$get())
            }
        })*
    };
}

roles! {
    /// How heavy the animal is.
    BodyWeight(body_weight): from_grams, grams, "grams of animal";
    /// How much medicine, by mass.
    MedicineMass(medicine_mass): from_milligrams, milligrams, "milligrams of medicine";
    /// How much medicine, in units of activity; never converted to a mass.
    Activity(activity): from_units, units, "units";
    /// A volume drawn, held or given.
    Volume(volume): from_millilitres, millilitres, "millilitres";
    /// How much of a paste or gel as it comes from the tube; not the medicine in it.
    ProductMass(product_mass): from_grams, grams, "grams of product";
    /// A number of tablets, whole or in parts.
    Tablets(tablets): from_count, count, "tablets";
    /// Medicine by mass for each gram of animal.
    MassRate(mass_rate): from_milligrams_per_gram, milligrams_per_gram, "milligrams per gram of animal";
    /// Units of activity for each gram of animal.
    ActivityRate(activity_rate): from_units_per_gram, units_per_gram, "units per gram of animal";
    /// Volume for each gram of animal.
    VolumeRate(volume_rate): from_millilitres_per_gram, millilitres_per_gram, "millilitres per gram of animal";
    /// Medicine by mass in each millilitre.
    MassPerVolume(mass_per_volume): from_milligrams_per_millilitre, milligrams_per_millilitre, "milligrams per millilitre";
    /// Units of activity in each millilitre.
    ActivityPerVolume(activity_per_volume): from_units_per_millilitre, units_per_millilitre, "units per millilitre";
    /// Medicine by mass in each gram of product.
    MassPerProduct(mass_per_product): from_milligrams_per_gram, milligrams_per_gram, "milligrams per gram of product";
    /// Medicine by mass in each tablet.
    MassPerTablet(mass_per_tablet): from_milligrams_per_tablet, milligrams_per_tablet, "milligrams per tablet";
}

/// The physics: which two roles make which third. uom's operators check every line of it.
macro_rules! physics {
    (doses { $($rate:ident for $weight:ident makes $amount:ident;)* } measures { $($dose:ident at $strength:ident fills $measure:ident;)* }) => {
        $(impl $rate {
            #[doc = concat!("The [`", stringify!($amount), "`] for one animal of this weight.")]
            ///
            /// # Errors
            /// [`OutOfRange`]
            #[inline]
            pub fn for_weight(self, weight: $weight) -> Result<$amount, OutOfRange> {
                $amount::checked(self.0 * weight.0)
            }
        }

        impl $amount {
            /// What this comes to for each gram of an animal of this weight.
            ///
            /// # Errors
            /// [`OutOfRange`], also when the weight is nothing.
            #[inline]
            pub fn per_weight(self, weight: $weight) -> Result<$rate, OutOfRange> {
                $rate::checked(self.0 / weight.0)
            }
        })*
        $(impl $strength {
            #[doc = concat!("The [`", stringify!($measure), "`] that holds this much medicine.")]
            ///
            /// # Errors
            /// [`OutOfRange`], also when the strength is nothing.
            #[inline]
            pub fn measure_of(self, dose: $dose) -> Result<$measure, OutOfRange> {
                $measure::checked(dose.0 / self.0)
            }

            #[doc = concat!("The medicine in this [`", stringify!($measure), "`].")]
            ///
            /// # Errors
            /// [`OutOfRange`]
            #[inline]
            pub fn held_in(self, measure: $measure) -> Result<$dose, OutOfRange> {
                $dose::checked(self.0 * measure.0)
            }
        })*
    };
}

physics! {
    doses {
        MassRate for BodyWeight makes MedicineMass;
        ActivityRate for BodyWeight makes Activity;
        VolumeRate for BodyWeight makes Volume;
    }
    measures {
        MedicineMass at MassPerVolume fills Volume;
        Activity at ActivityPerVolume fills Volume;
        MedicineMass at MassPerProduct fills ProductMass;
        MedicineMass at MassPerTablet fills Tablets;
    }
}
