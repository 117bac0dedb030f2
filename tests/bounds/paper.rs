//! Whole numbers and fractions of any size, worked as on paper: what the bounds are checked
//! against.
//!
//! Promises: nothing overflows and nothing is reduced, so no claim of the program's is taken on
//! trust. There is no sign, and no sum but the double and the neighbour that rounding needs.

use scruple::quantity::Exact;
use std::cmp::Ordering;

/// Digits of 32 bits, the lowest first, without zeros at the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Natural(Vec<u64>);

const BASE: u128 = 1 << 32;

impl Natural {
    pub fn of(mut n: u128) -> Natural {
        let mut digits = Vec::new();
        while n > 0 {
            digits.push(u64::try_from(n % BASE).unwrap());
            n /= BASE;
        }
        Natural(digits)
    }

    pub fn times(&self, other: &Natural) -> Natural {
        let mut digits = vec![0; self.0.len() + other.0.len()];
        for (i, &a) in self.0.iter().enumerate() {
            let mut carry = 0;
            for (j, &b) in other.0.iter().enumerate() {
                let sum = u128::from(a) * u128::from(b) + u128::from(digits[i + j]) + carry;
                digits[i + j] = u64::try_from(sum % BASE).unwrap();
                carry = sum / BASE;
            }
            digits[i + other.0.len()] = u64::try_from(carry).unwrap();
        }
        while digits.last() == Some(&0) {
            digits.pop();
        }
        Natural(digits)
    }
}

impl Ord for Natural {
    fn cmp(&self, other: &Natural) -> Ordering {
        let by_length = self.0.len().cmp(&other.0.len());
        by_length.then_with(|| self.0.iter().rev().cmp(other.0.iter().rev()))
    }
}

impl PartialOrd for Natural {
    fn partial_cmp(&self, other: &Natural) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// A fraction that is not negative, as it comes.
#[derive(Clone, Debug)]
pub struct Fraction {
    n: Natural,
    d: Natural,
}

impl Fraction {
    pub fn of(n: u128, d: u128) -> Fraction {
        Fraction {
            n: Natural::of(n),
            d: Natural::of(d),
        }
    }

    pub fn times(&self, other: &Fraction) -> Fraction {
        Fraction {
            n: self.n.times(&other.n),
            d: self.d.times(&other.d),
        }
    }

    pub fn over(&self, other: &Fraction) -> Fraction {
        Fraction {
            n: self.n.times(&other.d),
            d: self.d.times(&other.n),
        }
    }

    /// Whether the program's figure is just this.
    pub fn is(&self, claim: Exact) -> bool {
        let (Ok(n), Ok(d)) = (
            u128::try_from(claim.numerator()),
            u128::try_from(claim.denominator()),
        ) else {
            return false;
        };
        self.d.times(&Natural::of(n)) == self.n.times(&Natural::of(d))
    }

    pub fn is_at_most(&self, whole: u128) -> bool {
        self.n <= self.d.times(&Natural::of(whole))
    }

    /// Whether `whole` is the nearest whole number, a tie going to the lower:
    /// 2 whole - 1 < 2 n / d <= 2 whole + 1.
    pub fn rounds_to(&self, whole: u128) -> bool {
        let doubled = self.n.times(&Natural::of(2));
        let at_most = doubled <= self.d.times(&Natural::of(2 * whole + 1));
        let above = whole == 0 || doubled > self.d.times(&Natural::of(2 * whole - 1));
        at_most && above
    }
}

/// The first and the second by hand; the third is (2^64 - 1)^2 = 2^128 - 2^65 + 1.
#[test]
fn products_are_as_on_paper() {
    let of = Natural::of;
    assert_eq!(of(9_999).times(&of(9_999)), of(99_980_001));
    assert_eq!(of(7).times(&of(0)), of(0));
    let most = of(u128::from(u64::MAX));
    assert_eq!(most.times(&most), of(u128::MAX - (1 << 65) + 2));
    assert!(of(1 << 64) > most);
    let large = of(1 << 100).times(&of(1 << 100));
    assert!(large.times(&of(2)) > large && large > of(u128::MAX));
}

#[test]
fn fractions_are_held_to_the_letter() {
    let third = Fraction::of(2, 6);
    assert!(third.is(Exact::ratio(1, 3).unwrap()));
    assert!(!third.is(Exact::ratio(33_333, 100_000).unwrap()));
    assert!(!third.is(Exact::ratio(-1, 3).unwrap()));
    let tie = Fraction::of(31, 2);
    assert!(tie.rounds_to(15) && !tie.rounds_to(16) && !tie.rounds_to(14));
    assert!(Fraction::of(1, 2).rounds_to(0));
}
