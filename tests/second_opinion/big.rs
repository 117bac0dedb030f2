//! Whole numbers and fractions of any size, the slow and plain way.
//!
//! Promises: nothing overflows and nothing is rounded. A fraction is never brought to its lowest
//! terms, so it shares no method with the program's own.

use std::cmp::Ordering;

/// A whole number, 32 binary digits at a time, the lowest first, without leading zeros.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Natural(Vec<u32>);

impl Natural {
    fn new(mut n: u128) -> Natural {
        let mut digits = Vec::new();
        while n > 0 {
            digits.push((n & 0xffff_ffff) as u32);
            n >>= 32;
        }
        Natural(digits)
    }

    fn trimmed(mut self) -> Natural {
        while self.0.last() == Some(&0) {
            self.0.pop();
        }
        self
    }

    fn plus(&self, other: &Natural) -> Natural {
        let (mut sum, mut carry) = (Vec::new(), 0_u64);
        for i in 0..self.0.len().max(other.0.len()) + 1 {
            let digit = |of: &Natural| u64::from(of.0.get(i).copied().unwrap_or(0));
            carry += digit(self) + digit(other);
            sum.push(carry as u32);
            carry >>= 32;
        }
        Natural(sum).trimmed()
    }

    /// `other` is not the larger.
    fn minus(&self, other: &Natural) -> Natural {
        let (mut rest, mut borrow) = (Vec::new(), 0_i64);
        for i in 0..self.0.len() {
            let digit = |of: &Natural| i64::from(of.0.get(i).copied().unwrap_or(0));
            borrow += digit(self) - digit(other);
            rest.push(borrow as u32);
            borrow >>= 32;
        }
        assert_eq!(borrow, 0, "less than nothing");
        Natural(rest).trimmed()
    }

    fn times(&self, other: &Natural) -> Natural {
        let mut product = vec![0_u32; self.0.len() + other.0.len()];
        for (i, a) in self.0.iter().enumerate() {
            let mut carry = 0_u64;
            for (j, b) in other.0.iter().enumerate() {
                carry += u64::from(product[i + j]) + u64::from(*a) * u64::from(*b);
                product[i + j] = carry as u32;
                carry >>= 32;
            }
            product[i + other.0.len()] = carry as u32;
        }
        Natural(product).trimmed()
    }

    fn against(&self, other: &Natural) -> Ordering {
        let by_length = self.0.len().cmp(&other.0.len());
        by_length.then_with(|| self.0.iter().rev().cmp(other.0.iter().rev()))
    }

    /// How often `other` goes into it: doubled until it no longer does, then taken off again.
    fn divided_by(&self, other: &Natural) -> (u64, Natural) {
        assert!(!other.0.is_empty(), "divided by nothing");
        let mut doubled = vec![other.clone()];
        while doubled[doubled.len() - 1].against(self) != Ordering::Greater {
            doubled.push(doubled[doubled.len() - 1].plus(&doubled[doubled.len() - 1]));
        }
        let (mut times, mut rest) = (0_u64, self.clone());
        for multiple in doubled.iter().rev() {
            times = times.checked_mul(2).unwrap();
            if multiple.against(&rest) != Ordering::Greater {
                rest = rest.minus(multiple);
                times += 1;
            }
        }
        (times, rest)
    }
}

/// A fraction with a sign.
#[derive(Clone, Debug)]
pub struct Fraction {
    negative: bool,
    top: Natural,
    bottom: Natural,
}

impl Fraction {
    pub fn new(top: i128, bottom: i128) -> Fraction {
        assert!(bottom > 0, "a fraction over nothing");
        Fraction {
            negative: top < 0,
            top: Natural::new(top.unsigned_abs()),
            bottom: Natural::new(bottom.unsigned_abs()),
        }
    }

    pub fn whole(n: i128) -> Fraction {
        Fraction::new(n, 1)
    }

    pub fn plus(&self, other: &Fraction) -> Fraction {
        let (a, b) = (self.top.times(&other.bottom), other.top.times(&self.bottom));
        let bottom = self.bottom.times(&other.bottom);
        let (negative, top) = match (self.negative == other.negative, a.against(&b)) {
            (true, _) => (self.negative, a.plus(&b)),
            (false, Ordering::Less) => (other.negative, b.minus(&a)),
            (false, _) => (self.negative, a.minus(&b)),
        };
        Fraction {
            negative,
            top,
            bottom,
        }
    }

    pub fn minus(&self, other: &Fraction) -> Fraction {
        let mut turned = other.clone();
        turned.negative = !other.negative;
        self.plus(&turned)
    }

    pub fn times(&self, other: &Fraction) -> Fraction {
        Fraction {
            negative: self.negative != other.negative,
            top: self.top.times(&other.top),
            bottom: self.bottom.times(&other.bottom),
        }
    }

    pub fn over(&self, other: &Fraction) -> Fraction {
        assert!(!other.top.0.is_empty(), "divided by nothing");
        Fraction {
            negative: self.negative != other.negative,
            top: self.top.times(&other.bottom),
            bottom: self.bottom.times(&other.top),
        }
    }

    pub fn abs(&self) -> Fraction {
        Fraction {
            negative: false,
            ..self.clone()
        }
    }

    /// The whole number below, or itself; of what is not below nothing.
    pub fn floor(&self) -> u64 {
        assert!(!self.negative || self.top.0.is_empty(), "below nothing");
        self.top.divided_by(&self.bottom).0
    }

    /// The whole number above, or itself; of what is not below nothing.
    pub fn ceil(&self) -> u64 {
        assert!(!self.negative || self.top.0.is_empty(), "below nothing");
        let (times, rest) = self.top.divided_by(&self.bottom);
        times + u64::from(!rest.0.is_empty())
    }
}

impl Ord for Fraction {
    fn cmp(&self, other: &Fraction) -> Ordering {
        let difference = self.minus(other);
        match (difference.top.0.is_empty(), difference.negative) {
            (true, _) => Ordering::Equal,
            (false, true) => Ordering::Less,
            (false, false) => Ordering::Greater,
        }
    }
}

impl PartialOrd for Fraction {
    fn partial_cmp(&self, other: &Fraction) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Fraction {
    fn eq(&self, other: &Fraction) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Fraction {}

/// Powers of two and of ten are known by heart: 2^64 = 18446744073709551616.
#[test]
fn large_numbers_are_as_on_paper() {
    let two_to_64 = Fraction::whole(1 << 64);
    let square = two_to_64.times(&two_to_64).times(&two_to_64);
    assert_eq!(square.over(&two_to_64), two_to_64.times(&two_to_64));
    assert_eq!(two_to_64, Fraction::whole(18_446_744_073_709_551_616));
    assert_eq!(two_to_64.minus(&Fraction::whole(1)).floor(), u64::MAX);
    let (seven_halves, minus) = (Fraction::new(7, 2), Fraction::new(-7, 2));
    assert_eq!((seven_halves.floor(), seven_halves.ceil()), (3, 4));
    assert_eq!(
        (Fraction::new(8, 2).floor(), Fraction::new(8, 2).ceil()),
        (4, 4)
    );
    assert_eq!(seven_halves.plus(&minus), Fraction::whole(0));
    assert!(minus < seven_halves && minus.abs() == seven_halves);
    assert!(Fraction::new(-1, 3) < Fraction::new(-1, 4));
    assert_eq!(
        Fraction::new(1, 3).minus(&Fraction::new(1, 2)),
        Fraction::new(-1, 6)
    );
}
