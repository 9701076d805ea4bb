//! What to look at next: the lenses that are expected to say most.

use super::belief::Beliefs;
use super::law::together_d;

/// Lenses are held together that make no more than this, in dioptres, if they are what they are marked: there the answer
/// tells most.
const NEAR_NOTHING_D: f64 = 0.20;
/// A third lens that brings a pair near nothing is at most so strong, in dioptres.
const WEAK_D: f64 = 1.00;
/// What a look must be expected to say, in nats, to be worth the keeper's time.
const WORTH_IT: f64 = 0.003;

/// The lenses to be held together next, by their number among the candidates; `None` when nothing more is worth it.
pub fn next(beliefs: &Beliefs) -> Option<Vec<usize>> {
    let mut best: Option<(f64, Vec<usize>)> = None;
    for held in worth_holding(beliefs) {
        let gain = beliefs.expected_gain(&held);
        if gain > best.as_ref().map_or(WORTH_IT, |(most, _)| *most) {
            best = Some((gain, held));
        }
    }
    best.map(|(_, held)| held)
}

/// Free lenses that nothing comes near with which they could be held: only an instrument says what they are.
pub fn out_of_reach(beliefs: &Beliefs) -> Vec<usize> {
    let held = worth_holding(beliefs);
    let is_free = |lens: &usize| beliefs.candidates()[*lens].is_free;
    let reached = |lens: &usize| held.iter().any(|held| held.contains(lens));
    (0..beliefs.candidates().len()).filter(|lens| is_free(lens) && !reached(lens)).collect()
}

/// All pairs of free lenses that about neutralise each other; for a lens that none does, with a weak third one.
pub fn worth_holding(beliefs: &Beliefs) -> Vec<Vec<usize>> {
    let candidates = beliefs.candidates();
    let free: Vec<usize> = (0..candidates.len()).filter(|lens| candidates[*lens].is_free).collect();
    let power = |lens: usize| candidates[lens].power_d;
    let is_sphere = |lens: usize| candidates[lens].piece.lens.is_sphere();
    // two cylinders would have to lie axis on axis to the degree, which no hand holds
    let is_pair = |one: usize, other: usize| power(one) * power(other) < 0.0 && (is_sphere(one) || is_sphere(other));
    let mut held = Vec::new();
    let mut alone = free.clone();
    for (nth, &one) in free.iter().enumerate() {
        for &other in free[nth + 1..].iter().filter(|other| is_pair(one, **other)) {
            if together_d(&[power(one), power(other)]).abs() <= NEAR_NOTHING_D {
                held.push(vec![one, other]);
                alone.retain(|lens| *lens != one && *lens != other);
            }
        }
    }
    let weak: Vec<usize> =
        free.iter().copied().filter(|lens| is_sphere(*lens) && power(*lens).abs() <= WEAK_D).collect();
    for &one in &alone {
        for &other in free.iter().filter(|other| **other != one && is_pair(one, **other)) {
            // the two of a pair that are both alone are met twice
            if alone.contains(&other) && other < one {
                continue;
            }
            for &third in weak.iter().filter(|third| **third != one && **third != other) {
                if together_d(&[power(one), power(other), power(third)]).abs() <= NEAR_NOTHING_D / 2.0 {
                    held.push(vec![one, other, third]);
                }
            }
        }
    }
    held
}
