//! A short code that a person can compare by eye.
//!
//! Promises the same code for the same bytes, in characters that are not taken for one another.
//! Deliberately no secret and no signature: it betrays an old or a mistaken copy, not a forger.

use sha2::{Digest, Sha256};

/// The digits and capitals that remain when 0 and O, 1, I and L are left out.
const ALPHABET: [char; 31] = [
    '2', '3', '4', '5', '6', '7', '8', '9', 'A', 'B', 'C', 'D', 'E', 'F', 'G', 'H', 'J', 'K', 'M',
    'N', 'P', 'Q', 'R', 'S', 'T', 'U', 'V', 'W', 'X', 'Y', 'Z',
];

/// A code of eight characters in two groups, such as `3N74-H23A`, made from the SHA-256 of `bytes`.
/// There are about 850 thousand million codes.
#[must_use]
pub fn short_code(bytes: &[u8]) -> String {
    let mut number = Sha256::digest(bytes)
        .iter()
        .take(15)
        .fold(0_u128, |number, byte| (number << 8) | u128::from(*byte));
    let mut code = String::with_capacity(9);
    for place in 0..8 {
        if place == 4 {
            code.push('-');
        }
        // 120 bits over 31 leave every character equally likely to within one part in 2^80.
        let digit = usize::try_from(number % 31).unwrap_or_default();
        code.extend(ALPHABET.get(digit));
        number /= 31;
    }
    code
}

#[cfg(test)]
mod tests {
    use super::short_code;

    #[test]
    fn has_two_groups_of_four_unmistakable_characters() {
        for n in 0_u32..2_000 {
            let code = short_code(&n.to_be_bytes());
            assert_eq!(code.len(), 9, "{code}");
            assert_eq!(code.find('-'), Some(4), "{code}");
            assert!(
                code.chars()
                    .all(|c| c == '-' || (c.is_ascii_alphanumeric() && !"0O1ILabcxyz".contains(c))),
                "{code}"
            );
        }
    }

    /// SHA-256 of "abc" begins ba7816bf 8f01cfea 414140de 5dae22 (FIPS 180-4's own example); its
    /// first 120 bits were divided by 31 with a separate calculator (Python's integers).
    #[test]
    fn follows_from_the_published_hash_of_abc() {
        assert_eq!(short_code(b"abc"), "3N74-H23A");
    }

    #[test]
    fn one_bit_gives_another_code() {
        assert_ne!(short_code(b"DEMO-0001"), short_code(b"DEMO-0000"));
    }
}
