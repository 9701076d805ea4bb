//! The symbols at the end of a code that find a mistyped one.
//!
//! A Reed-Solomon code over the field of 32 elements (Reed, Solomon, *J SIAM* 1960;8:300), shortened: with three check symbols
//! any two codes differ in at least four places, so that up to three wrong symbols are found, and any two that changed places.

/// How many check symbols there are.
pub const CHECKS: usize = 3;

/// x⁵ + x² + 1, a primitive polynomial: every element but 0 is a power of x.
const FIELD: u8 = 0b10_0101;

/// The product of two elements.
fn product(one: u8, other: u8) -> u8 {
    let (mut left, mut product) = (one, 0);
    for bit in 0..5 {
        if other >> bit & 1 == 1 {
            product ^= left;
        }
        left <<= 1;
        if left & 0b10_0000 != 0 {
            left ^= FIELD;
        }
    }
    product
}

/// The polynomial (y − x)(y − x²)(y − x³) without its highest term, which is 1; the next one first.
fn generator() -> [u8; CHECKS] {
    let (mut terms, mut root) = ([0; CHECKS], 1);
    for _ in 0..CHECKS {
        root = product(root, 2);
        // times y − root, where minus is plus
        let before = terms;
        terms[0] ^= root;
        for at in 1..CHECKS {
            terms[at] ^= product(before[at - 1], root);
        }
    }
    terms
}

/// The check symbols of some symbols: what is left when they are divided by the generator.
pub fn checks(symbols: &[u8]) -> [u8; CHECKS] {
    let generator = generator();
    symbols.iter().fold([0; CHECKS], |left, symbol| {
        let times = left[0] ^ symbol;
        let carried = [left[1], left[2], 0];
        std::array::from_fn(|at| carried[at] ^ product(times, generator[at]))
    })
}
