//! Exact fractions, and the sticky storage that uom's operators run over.
//!
//! Promises: a value of [`Exact`] is always in range and its comparisons are always right. What
//! would leave the range becomes `None` inside [`Stored`], stays so through every further
//! operator, and leaves this room only as [`OutOfRange`]. There is no float here, no rounding
//! but the three named ones, and no knowledge of units. What a dose is made of in the ordinary case
//! is compiled into whoever calls it (`inline`), for a result handed over through memory is waited
//! for where it is asked whether there is one; what is rare is kept out of it (`cold`).

use std::cmp::Ordering;
use std::num::NonZeroI128;
use std::ops::{
    Add, AddAssign, Div, DivAssign, Mul, MulAssign, Neg, Rem, RemAssign, Sub, SubAssign,
};

/// The exact value does not fit: it needs more than 127 bits above or below the line.
///
/// What the program reads is bounded (eight digits) so that no accepted input comes here; the
/// error exists so that a mistake in that reasoning can never become a wrong mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("these figures are too large or too small to work with exactly: check every one of them")]
pub struct OutOfRange;

/// A fraction, exact and in range; not necessarily in lowest terms.
#[derive(Clone, Copy, Debug)]
pub struct Exact {
    n: i128,
    /// Always positive; its niche makes `Option<Exact>` no larger.
    d: NonZeroI128,
}

#[allow(clippy::unwrap_used, reason = "decided when compiling")]
const ONE: NonZeroI128 = NonZeroI128::new(1).unwrap();

impl Exact {
    /// Nothing.
    pub const ZERO: Exact = Exact::whole(0);
    /// One.
    pub const ONE: Exact = Exact::whole(1);

    /// A whole number.
    pub const fn whole(n: i64) -> Exact {
        Exact {
            n: n as i128,
            d: ONE,
        }
    }

    /// `n / d` in lowest terms; nothing when `d` is not positive.
    pub fn ratio(n: i128, d: i128) -> Option<Exact> {
        if d <= 0 {
            return None;
        }
        let d = NonZeroI128::new(d)?;
        Some(Exact { n, d }.lowest())
    }

    /// The numerator in lowest terms.
    pub fn numerator(self) -> i128 {
        self.lowest().n
    }

    /// The denominator in lowest terms; positive.
    pub fn denominator(self) -> i128 {
        self.lowest().d.get()
    }

    /// Whether this is exactly nothing.
    pub const fn is_zero(self) -> bool {
        self.n == 0
    }

    /// Whether this is below zero.
    pub const fn is_negative(self) -> bool {
        self.n < 0
    }

    /// Without its sign.
    #[inline]
    pub fn abs(self) -> Exact {
        // The least i128 has no positive twin; it cannot be reached from what is read.
        Exact {
            n: self.n.saturating_abs(),
            d: self.d,
        }
    }

    /// The greatest whole number not above this one.
    #[inline]
    pub fn floor(self) -> i128 {
        // Ordinary doses fit 64 bits, where division is many times faster.
        match (u64::try_from(self.n), u64::try_from(self.d.get())) {
            (Ok(n), Ok(d)) if d > 0 => i128::from(n / d),
            _ => self.n.div_euclid(self.d.get()),
        }
    }

    /// The least whole number not below this one.
    #[inline]
    pub fn ceil(self) -> i128 {
        let floor = self.floor();
        match floor.checked_mul(self.d.get()) {
            Some(back) if back == self.n => floor,
            _ => floor.saturating_add(1),
        }
    }

    /// The nearest whole number; a tie goes to the lower.
    ///
    /// # Errors
    /// [`OutOfRange`] when twice the fraction does not fit.
    #[inline]
    pub fn nearest_tie_down(self) -> Result<i128, OutOfRange> {
        // Compared with what is left to the next whole number, so that nothing has to be doubled.
        let floor = self.floor();
        let above = self.n.wrapping_sub(floor.wrapping_mul(self.d.get()));
        let below = self.d.get() - above;
        Ok(if above > below { floor + 1 } else { floor })
    }

    /// The sum.
    ///
    /// # Errors
    /// [`OutOfRange`]
    #[inline]
    pub fn plus(self, other: Exact) -> Result<Exact, OutOfRange> {
        (Stored(Some(self)) + Stored(Some(other))).leave()
    }

    /// The difference.
    ///
    /// # Errors
    /// [`OutOfRange`]
    #[inline]
    pub fn minus(self, other: Exact) -> Result<Exact, OutOfRange> {
        (Stored(Some(self)) - Stored(Some(other))).leave()
    }

    /// The product.
    ///
    /// # Errors
    /// [`OutOfRange`]
    #[inline]
    pub fn times(self, other: Exact) -> Result<Exact, OutOfRange> {
        (Stored(Some(self)) * Stored(Some(other))).leave()
    }

    /// The quotient.
    ///
    /// # Errors
    /// [`OutOfRange`], also when `other` is zero.
    #[inline]
    pub fn over(self, other: Exact) -> Result<Exact, OutOfRange> {
        (Stored(Some(self)) / Stored(Some(other))).leave()
    }

    /// How far a whole number is from this one, as a share of this one.
    ///
    /// # Errors
    /// [`OutOfRange`], also when this is zero.
    #[inline]
    pub fn share_apart(self, whole: i64) -> Result<Exact, OutOfRange> {
        // (whole - n/d) / (n/d), worked out as (whole x d - n) / n.
        let n = times(i128::from(whole), self.d.get()).and_then(|w| w.checked_sub(self.n));
        let d = NonZeroI128::new(self.n).filter(|_| self.n > 0);
        match n.zip(d) {
            Some((n, d)) => Ok(Exact { n, d }),
            None => Exact::whole(whole).minus(self)?.over(self),
        }
    }

    /// The same value in lowest terms.
    #[cold]
    pub fn lowest(self) -> Exact {
        let g = gcd(self.n.unsigned_abs(), self.d.get().unsigned_abs());
        let g = i128::try_from(g).unwrap_or(1).max(1);
        Exact {
            n: self.n / g,
            d: NonZeroI128::new(self.d.get() / g).unwrap_or(self.d),
        }
    }

    #[inline]
    fn product(self, other: Exact) -> Option<Exact> {
        let (n, d) = (times(self.n, other.n), over_the_line(self.d, other.d));
        if let (Some(n), Some(d)) = (n, d) {
            return Some(Exact { n, d });
        }
        Exact::product_cross_reduced(self, other)
    }

    #[cold]
    fn product_cross_reduced(a: Exact, b: Exact) -> Option<Exact> {
        // A product taken raw before may hold common factors of its own.
        let (a, b) = (a.lowest(), b.lowest());
        let x = Exact { n: a.n, d: b.d }.lowest();
        let y = Exact { n: b.n, d: a.d }.lowest();
        Some(Exact {
            n: x.n.checked_mul(y.n)?,
            d: x.d.checked_mul(y.d)?,
        })
    }

    #[inline]
    fn reciprocal(self) -> Option<Exact> {
        let d = NonZeroI128::new(self.n.checked_abs()?)?;
        let n = if self.n < 0 {
            self.d.get().checked_neg()?
        } else {
            self.d.get()
        };
        Some(Exact { n, d })
    }

    #[inline]
    fn sum(self, other: Exact) -> Option<Exact> {
        let plain = |a: Exact, b: Exact| {
            let n = times(a.n, b.d.get())?.checked_add(times(b.n, a.d.get())?)?;
            Some(Exact {
                n,
                d: over_the_line(a.d, b.d)?,
            })
        };
        plain(self, other).or_else(|| Exact::sum_in_lowest_terms(self, other))
    }

    #[cold]
    fn sum_in_lowest_terms(a: Exact, b: Exact) -> Option<Exact> {
        // Over the least common denominator.
        let (a, b) = (a.lowest(), b.lowest());
        let g = gcd(a.d.get().unsigned_abs(), b.d.get().unsigned_abs());
        let g = i128::try_from(g).ok()?.max(1);
        let (up_a, up_b) = (b.d.get() / g, a.d.get() / g);
        let n = a.n.checked_mul(up_a)?.checked_add(b.n.checked_mul(up_b)?)?;
        Some(Exact {
            n,
            d: NonZeroI128::new(a.d.get().checked_mul(up_a)?)?,
        })
    }
}

/// The product; nothing when it does not fit. Ordinary doses fit 64 bits, and the product of two
/// such always fits, which saves looking.
#[inline]
fn times(a: i128, b: i128) -> Option<i128> {
    match (i64::try_from(a), i64::try_from(b)) {
        (Ok(a), Ok(b)) => Some(i128::from(a).wrapping_mul(i128::from(b))),
        _ => times_if_it_fits(a, b),
    }
}

#[cold]
fn times_if_it_fits(a: i128, b: i128) -> Option<i128> {
    a.checked_mul(b)
}

#[inline]
fn over_the_line(a: NonZeroI128, b: NonZeroI128) -> Option<NonZeroI128> {
    NonZeroI128::new(times(a.get(), b.get())?)
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl PartialEq for Exact {
    #[inline]
    fn eq(&self, other: &Exact) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Exact {}

impl PartialOrd for Exact {
    #[inline]
    fn partial_cmp(&self, other: &Exact) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Exact {
    #[inline]
    fn cmp(&self, other: &Exact) -> Ordering {
        match (times(self.n, other.d.get()), times(other.n, self.d.get())) {
            (Some(a), Some(b)) => a.cmp(&b),
            _ => compare_by_parts(*self, *other),
        }
    }
}

/// Compares without any product: whole parts first, then the remainders turned over. This cannot
/// overflow, so a comparison is never a guess.
#[cold]
fn compare_by_parts(a: Exact, b: Exact) -> Ordering {
    let (mut an, mut ad, mut bn, mut bd) = (a.n, a.d.get(), b.n, b.d.get());
    let mut turned = false;
    loop {
        let whole = an.div_euclid(ad).cmp(&bn.div_euclid(bd));
        let (ar, br) = (an.rem_euclid(ad), bn.rem_euclid(bd));
        let order = match (whole, ar, br) {
            (Ordering::Equal, 0, 0) => Ordering::Equal,
            (Ordering::Equal, 0, _) => Ordering::Less,
            (Ordering::Equal, _, 0) => Ordering::Greater,
            (Ordering::Equal, _, _) => {
                (an, ad, bn, bd) = (ad, ar, bd, br);
                turned = !turned;
                continue;
            }
            (unequal, _, _) => unequal,
        };
        return if turned { order.reverse() } else { order };
    }
}

/// What uom computes over: an exact fraction, or out of range for good.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stored(pub(super) Option<Exact>);

impl Stored {
    /// The only way out of the sticky state.
    #[inline]
    pub(super) fn leave(self) -> Result<Exact, OutOfRange> {
        self.0.ok_or(OutOfRange)
    }
}

/// Required by uom's bound on storage; nothing in this room compares stored values with it.
impl PartialEq for Stored {
    fn eq(&self, other: &Stored) -> bool {
        matches!((self.0, other.0), (Some(a), Some(b)) if a == b)
    }
}

/// Required by uom's bound on conversion factors, which are never used here.
impl PartialOrd for Stored {
    fn partial_cmp(&self, other: &Stored) -> Option<Ordering> {
        Some(self.0?.cmp(&other.0?))
    }
}

impl Mul for Stored {
    type Output = Stored;
    #[inline]
    fn mul(self, other: Stored) -> Stored {
        Stored(self.0.zip(other.0).and_then(|(a, b)| a.product(b)))
    }
}

impl Div for Stored {
    type Output = Stored;
    #[inline]
    fn div(self, other: Stored) -> Stored {
        let turned = other.0.and_then(Exact::reciprocal);
        Stored(self.0.zip(turned).and_then(|(a, b)| a.product(b)))
    }
}

impl Add for Stored {
    type Output = Stored;
    #[inline]
    fn add(self, other: Stored) -> Stored {
        Stored(self.0.zip(other.0).and_then(|(a, b)| a.sum(b)))
    }
}

impl Neg for Stored {
    type Output = Stored;
    #[inline]
    fn neg(self) -> Stored {
        Stored(self.0.and_then(|a| {
            Some(Exact {
                n: a.n.checked_neg()?,
                d: a.d,
            })
        }))
    }
}

impl Sub for Stored {
    type Output = Stored;
    #[inline]
    fn sub(self, other: Stored) -> Stored {
        self + -other
    }
}

/// uom asks for a remainder; no dose has one, so asking is out of range.
impl Rem for Stored {
    type Output = Stored;
    fn rem(self, _: Stored) -> Stored {
        Stored(None)
    }
}

macro_rules! assigning {
    ($($trait:ident, $method:ident, $operator:tt;)*) => {
        $(impl $trait for Stored {
            fn $method(&mut self, other: Stored) {
                *self = *self $operator other;
            }
        })*
    };
}

assigning! {
    AddAssign, add_assign, +;
    SubAssign, sub_assign, -;
    MulAssign, mul_assign, *;
    DivAssign, div_assign, /;
    RemAssign, rem_assign, %;
}

impl num_traits::Zero for Stored {
    fn zero() -> Stored {
        Stored(Some(Exact::ZERO))
    }
    fn is_zero(&self) -> bool {
        self.0.is_some_and(Exact::is_zero)
    }
}

impl num_traits::One for Stored {
    fn one() -> Stored {
        Stored(Some(Exact::ONE))
    }
}

impl num_traits::Num for Stored {
    type FromStrRadixErr = OutOfRange;
    /// Text comes in through the room `notation` only.
    fn from_str_radix(_: &str, _: u32) -> Result<Stored, OutOfRange> {
        Err(OutOfRange)
    }
}

impl uom::Conversion<Stored> for Stored {
    type T = Stored;
    fn conversion(&self) -> Stored {
        *self
    }
}

/// Every unit of the private system has the coefficient one, so uom never converts; a conversion
/// asked for by mistake is out of range rather than wrong.
impl uom::ConversionFactor<Stored> for Stored {
    fn powi(self, _: i32) -> Stored {
        Stored(None)
    }
    fn value(self) -> Stored {
        self
    }
}

#[cfg(test)]
mod tests;
