//! Which lenses are named as off their mark.

use super::belief::Beliefs;
use super::law::{Chances, SHIFTS_D, motions};
use crate::kit::Piece;

/// A lens is named when it is off with at least this chance.
pub const NAMED_FROM: f64 = 0.95;
/// Below this chance a lens is not worth a word.
const SUSPECT_FROM: f64 = 0.20;

/// A lens that may be off its mark.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Which piece.
    pub piece: Piece,
    /// The chance that it is off.
    pub chance: f64,
    /// By how much it is off if it is, in dioptres, to the quarter; ±1.00 is that or more.
    pub off_d: f64,
    /// What it then is, in dioptres.
    pub power_d: f64,
    /// In how many looks it was.
    pub looks: usize,
}

impl Suspect {
    /// Whether it is likely enough to be named.
    pub fn is_named(&self) -> bool {
        self.chance >= NAMED_FROM
    }
}

/// The lenses that may be off their mark, the surest first.
pub fn suspects(beliefs: &Beliefs) -> Vec<Suspect> {
    let likeliest: Vec<usize> = (0..beliefs.candidates().len()).map(|lens| likeliest(beliefs.chances(lens))).collect();
    let in_doubt = (0..beliefs.candidates().len()).filter(|lens| 1.0 - beliefs.chances(*lens)[0] >= SUSPECT_FROM);
    let mut suspects: Vec<Suspect> = in_doubt
        .map(|lens| {
            let candidate = &beliefs.candidates()[lens];
            let shift = likeliest_off(beliefs.chances(lens));
            let chance = (1.0 - beliefs.chances(lens)[0]).min(against_the_best_other(beliefs, &likeliest, lens));
            let (piece, looks) = (candidate.piece.clone(), beliefs.ties_of(lens).count());
            Suspect { piece, chance, off_d: SHIFTS_D[shift], power_d: beliefs.shifted_d(lens, shift), looks }
        })
        .collect();
    suspects.sort_by(|a, b| b.chance.total_cmp(&a.chance).then_with(|| a.piece.cmp(&b.piece)));
    suspects
}

fn likeliest(chances: &Chances) -> usize {
    (0..chances.len()).max_by(|a, b| chances[*a].total_cmp(&chances[*b])).unwrap_or(0)
}

fn likeliest_off(chances: &Chances) -> usize {
    (1..chances.len()).max_by(|a, b| chances[*a].total_cmp(&chances[*b])).unwrap_or(1)
}

/// The chance that a lens is off when the best account of all looks with it off stands against the best one with it as it
/// is marked, in which its partners are off instead: two pieces of one power that both differ from their two partners may
/// as well be right and the partners wrong.
fn against_the_best_other(beliefs: &Beliefs, likeliest: &[usize], lens: usize) -> f64 {
    let partners: Vec<usize> = {
        let ties = beliefs.ties_of(lens).flat_map(|tie| beliefs.ties()[tie].lenses.iter().copied());
        let mut partners: Vec<usize> = ties.filter(|partner| *partner != lens).collect();
        partners.sort_unstable();
        partners.dedup();
        partners
    };
    let alike: Vec<usize> = {
        let of = |lens: usize| &beliefs.candidates()[lens].piece.lens;
        (0..likeliest.len()).filter(|other| *other != lens && of(*other) == of(lens)).collect()
    };
    let mut with = likeliest.to_vec();
    with[lens] = likeliest_off(beliefs.chances(lens));
    improve(beliefs, &mut with, &partners);
    let mut best_other = f64::NEG_INFINITY;
    for own_alike in [false, true] {
        for shift in 0..SHIFTS_D.len() {
            let mut without = likeliest.to_vec();
            without[lens] = 0;
            if own_alike {
                for other in &alike {
                    without[*other] = 0;
                }
            }
            for partner in &partners {
                without[*partner] = shift;
            }
            improve(beliefs, &mut without, &partners);
            best_other = best_other.max(score(beliefs, &without));
        }
    }
    1.0 / (1.0 + libm::exp(best_other - score(beliefs, &with)))
}

/// Sets each of some lenses to what accounts best for the looks, the others as they are, until nothing gets better.
fn improve(beliefs: &Beliefs, shifts: &mut [usize], lenses: &[usize]) {
    for _ in 0..4 {
        let before = shifts.to_vec();
        for &lens in lenses {
            let own = |shift: usize, shifts: &mut [usize]| {
                shifts[lens] = shift;
                libm::log(beliefs.before(lens)[shift])
                    + beliefs.ties_of(lens).map(|tie| said(beliefs, tie, shifts)).sum::<f64>()
            };
            let scores: Vec<f64> = (0..SHIFTS_D.len()).map(|shift| own(shift, shifts)).collect();
            shifts[lens] = (0..scores.len()).max_by(|a, b| scores[*a].total_cmp(&scores[*b])).unwrap_or(0);
        }
        if shifts == before {
            return;
        }
    }
}

/// How likely all looks are, and the shifts themselves, as a logarithm.
fn score(beliefs: &Beliefs, shifts: &[usize]) -> f64 {
    let before: f64 = shifts.iter().enumerate().map(|(lens, shift)| libm::log(beliefs.before(lens)[*shift])).sum();
    before + (0..beliefs.ties().len()).map(|tie| said(beliefs, tie, shifts)).sum::<f64>()
}

/// How likely one look is, as a logarithm.
fn said(beliefs: &Beliefs, tie: usize, shifts: &[usize]) -> f64 {
    let tie = &beliefs.ties()[tie];
    let powers: Vec<f64> = tie.lenses.iter().map(|lens| beliefs.shifted_d(*lens, shifts[*lens])).collect();
    libm::log(motions(&powers)[tie.seen as usize])
}
