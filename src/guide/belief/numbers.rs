//! Exponentials, logarithms and chances in single precision, made of sums, products and bits alone: quick, and the same on
//! every machine.

use std::f32::consts::{LN_2, LOG2_E};

/// Powers of 2 go no further than this: what is less likely than 2 to the minus sixtieth is as unlikely, and no product of a
/// few such is so small that a processor is slow with it.
const MOST_EXPONENT: f32 = 60.0;

/// 1.5 times 2 to the 23rd: added to a small number it leaves no place for a fraction.
const ROUNDS: f32 = 12_582_912.0;

/// How much steeper the logistic curve is that stands for the normal one (within 0.01 of it everywhere).
const LOGISTIC_OF_NORMAL: f32 = 1.702;

/// 2 to a power, within two parts in a million.
#[inline]
pub fn exp2(power: f32) -> f32 {
    let power = power.clamp(-MOST_EXPONENT, MOST_EXPONENT);
    // rounds to the nearest whole number without a branch
    let rounded = power + ROUNDS;
    let part = power - (rounded - ROUNDS);
    let series = 1.0
        + part * (LN_2 + part * (0.240_226_5 + part * (0.055_504_11 + part * (0.009_618_13 + part * 0.001_333_36))));
    // the lowest bits of the sum are the whole number
    let whole = rounded.to_bits().wrapping_sub(ROUNDS.to_bits());
    series * f32::from_bits(whole.wrapping_add(127) << 23)
}

/// e to a power.
#[inline]
pub fn exp(power: f32) -> f32 {
    exp2(power * LOG2_E)
}

/// The logarithm to the base 2 of a number above 0, within three parts in a million.
#[inline]
pub fn log2(number: f32) -> f32 {
    let bits = number.to_bits();
    // the significand between 0.75 and 1.5
    let shifted = bits.wrapping_sub(0x3f40_0000);
    let exponent = shifted.cast_signed() >> 23;
    let part = f32::from_bits(bits.wrapping_sub((exponent << 23).cast_unsigned())) - 1.0;
    // the series of the inverse hyperbolic tangent
    let ratio = part / (2.0 + part);
    let square = ratio * ratio;
    let series =
        ratio * (2.0 + square * (0.666_666_7 + square * (0.4 + square * (0.285_714_3 + square * 0.222_222_2))));
    exponent as f32 + series * LOG2_E
}

/// The natural logarithm of a number above 0.
#[inline]
pub fn ln(number: f32) -> f32 {
    log2(number) * LN_2
}

/// The logarithm to the base 10 of a number above 0.
#[inline]
pub fn log10(number: f32) -> f32 {
    log2(number) * std::f32::consts::LOG10_2
}

/// 10 to a power.
#[inline]
pub fn exp10(power: f32) -> f32 {
    exp2(power * std::f32::consts::LOG2_10)
}

/// The share of a normal curve below so many standard deviations, by the logistic curve: its tails are the heavier ones.
#[inline]
pub fn share_below(deviations: f32) -> f32 {
    1.0 / (1.0 + exp(-LOGISTIC_OF_NORMAL * deviations))
}

/// How high the normal curve stands so many standard deviations from its middle, where it is 1 high.
#[inline]
pub fn bell(deviations: f32) -> f32 {
    exp(-0.5 * deviations * deviations)
}
