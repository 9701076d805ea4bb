//! What the looks say of every lens, as a chance for each shift from its mark.
//!
//! The lenses are tied by the looks in which they were held together. What each look says to each of its lenses is passed on
//! until nothing changes any more (belief propagation, Pearl, *Probabilistic Reasoning in Intelligent Systems*, 1988): exact
//! where no ring of looks leads back to a lens, near enough where one does; [`mod@super::suspects`] looks at such rings again.

use super::Look;
use super::law::{Chances, MISMARKED_SHARE, MISMEASURED_SHARE, SHIFTS_D, before_any_look, motions};
use crate::kit::{Motion, Piece, Place, Stock, StockedPiece};

/// Rounds after which it is left at that.
const MOST_ROUNDS: usize = 40;
/// A change of a chance that is too small to pass on.
const SETTLED: f64 = 1e-4;
/// States less likely than this are left out of sums.
const NEGLIGIBLE: f64 = 1e-7;
/// The most lenses of one look.
pub const MOST_HELD: usize = 3;

/// A lens of the box that can be held against others.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Which piece.
    pub piece: Piece,
    /// Its power in dioptres, as far as it is known: the measured one, else the mark.
    pub power_d: f64,
    /// Whether it is in the box to take.
    pub is_free: bool,
    before: Chances,
}

/// One look, as it ties lenses.
#[derive(Debug, Clone)]
pub(super) struct Tie {
    /// The lenses, by their number among the candidates.
    pub lenses: Vec<usize>,
    pub seen: Motion,
    says: Vec<Chances>,
}

/// What is believed of the lenses of a box.
#[derive(Debug, Clone)]
pub struct Beliefs {
    candidates: Vec<Candidate>,
    ties: Vec<Tie>,
    /// The looks in which each lens was, by their number, with its place in them.
    of_lens: Vec<Vec<(usize, usize)>>,
    chances: Vec<Chances>,
}

impl Beliefs {
    /// What looks say of the spheres and cylinders of a box. A look at a piece that the box does not have any more says
    /// nothing.
    pub fn of(stock: &Stock, looks: &[Look]) -> Self {
        let can_be_held =
            |of: &&StockedPiece| of.piece.lens.is_stacked() && of.marked_power().0 != 0.0 && of.place != Place::Retired;
        let candidates: Vec<Candidate> = stock.pieces().iter().filter(can_be_held).map(candidate).collect();
        let chances = candidates.iter().map(|candidate| candidate.before).collect();
        let of_lens = vec![Vec::new(); candidates.len()];
        let mut beliefs = Self { candidates, ties: Vec::new(), of_lens, chances };
        for look in looks {
            beliefs.tie(look);
        }
        beliefs.settle();
        beliefs
    }

    /// Takes in one more look.
    pub fn learn(&mut self, look: &Look) {
        self.tie(look);
        self.settle();
    }

    fn tie(&mut self, look: &Look) {
        let number = |piece: &Piece| self.candidates.iter().position(|candidate| candidate.piece == *piece);
        let Some(lenses) = look.pieces.iter().map(number).collect::<Option<Vec<usize>>>() else { return };
        if lenses.is_empty() || lenses.len() > MOST_HELD {
            return;
        }
        for (place, lens) in lenses.iter().enumerate() {
            self.of_lens[*lens].push((self.ties.len(), place));
        }
        let nothing_yet = vec![[1.0 / SHIFTS_D.len() as f64; SHIFTS_D.len()]; lenses.len()];
        self.ties.push(Tie { lenses, seen: look.seen, says: nothing_yet });
    }

    /// The lenses, in the order of the box.
    pub fn candidates(&self) -> &[Candidate] {
        &self.candidates
    }

    pub(super) fn ties(&self) -> &[Tie] {
        &self.ties
    }

    pub(super) fn ties_of(&self, lens: usize) -> impl Iterator<Item = usize> {
        self.of_lens[lens].iter().map(|(tie, _)| *tie)
    }

    /// What is believed of a lens: the chance of each of [`SHIFTS_D`].
    pub fn chances(&self, lens: usize) -> &Chances {
        &self.chances[lens]
    }

    /// What was believed of a lens before any look.
    pub(super) fn before(&self, lens: usize) -> &Chances {
        &self.candidates[lens].before
    }

    /// The power of a lens with one of the shifts, in dioptres.
    pub(super) fn shifted_d(&self, lens: usize, shift: usize) -> f64 {
        self.candidates[lens].power_d + SHIFTS_D[shift]
    }

    /// What all looks say of a lens but one.
    fn without(&self, lens: usize, but: Option<usize>) -> Chances {
        let mut chances = self.candidates[lens].before;
        for (tie, place) in &self.of_lens[lens] {
            if Some(*tie) != but {
                let says = &self.ties[*tie].says[*place];
                chances.iter_mut().zip(says).for_each(|(chance, says)| *chance *= says);
                shared_out(&mut chances);
            }
        }
        shared_out(&mut chances);
        chances
    }

    /// Passes on what every look says until nothing changes.
    fn settle(&mut self) {
        for _ in 0..MOST_ROUNDS {
            let changed = (0..self.ties.len()).map(|tie| self.pass_on(tie)).fold(0.0, f64::max);
            if changed < SETTLED {
                break;
            }
        }
        self.chances = (0..self.candidates.len()).map(|lens| self.without(lens, None)).collect();
    }

    /// What one look says to its lenses, by what the others say of them; gives by how much that changed at most.
    fn pass_on(&mut self, nth: usize) -> f64 {
        let tie = &self.ties[nth];
        let known: Vec<Chances> = tie.lenses.iter().map(|lens| self.without(*lens, Some(nth))).collect();
        let mut says = vec![[0.0; SHIFTS_D.len()]; tie.lenses.len()];
        let answer = tie.seen as usize;
        self.each_state(&tie.lenses, &mut |shifts, chances| {
            for (place, shift) in shifts.iter().enumerate() {
                let others: f64 = shifts
                    .iter()
                    .zip(&known)
                    .enumerate()
                    .filter(|(of, _)| *of != place)
                    .map(|(_, (s, k))| k[*s])
                    .product();
                says[place][*shift] += chances[answer] * others;
            }
        });
        says.iter_mut().for_each(shared_out);
        let old = &tie.says;
        let moved =
            old.iter().flatten().zip(says.iter().flatten()).map(|(old, new)| (old - new).abs()).fold(0.0, f64::max);
        self.ties[nth].says = says;
        moved
    }

    /// Goes through every way in which lenses may be off, with the chances of each motion then.
    pub(super) fn each_state(&self, lenses: &[usize], visit: &mut dyn FnMut(&[usize], &[f64; 3])) {
        let mut shifts = vec![0; lenses.len()];
        let mut powers = vec![0.0; lenses.len()];
        loop {
            for (place, lens) in lenses.iter().enumerate() {
                powers[place] = self.shifted_d(*lens, shifts[place]);
            }
            visit(&shifts, &motions(&powers));
            // the next state, as a counter counts
            let Some(place) = shifts.iter().rposition(|shift| shift + 1 < SHIFTS_D.len()) else { return };
            shifts[place] += 1;
            shifts[place + 1..].fill(0);
        }
    }

    /// What a look at these lenses is expected to say of which of them are off, in nats: for each lens the mutual
    /// information of what will be seen and of whether it is off (Shannon; any textbook of information theory).
    pub fn expected_gain(&self, lenses: &[usize]) -> f64 {
        let mut joint = vec![[[0.0; 3]; 2]; lenses.len()];
        let mut seen = [0.0; 3];
        self.each_state(lenses, &mut |shifts, motions| {
            let weight: f64 = shifts.iter().zip(lenses).map(|(shift, lens)| self.chances[*lens][*shift]).product();
            if weight < NEGLIGIBLE {
                return;
            }
            for (motion, chance) in motions.iter().enumerate() {
                seen[motion] += weight * chance;
                for (place, shift) in shifts.iter().enumerate() {
                    joint[place][usize::from(*shift > 0)][motion] += weight * chance;
                }
            }
        });
        let of_lens = |joint: &[[f64; 3]; 2]| -> f64 {
            let part = |of: &[f64; 3]| -> f64 {
                let share: f64 = of.iter().sum();
                let nats = |(both, alone): (&f64, &f64)| {
                    if *both > 0.0 { both * libm::log(both / (share * alone)) } else { 0.0 }
                };
                of.iter().zip(&seen).map(nats).sum()
            };
            joint.iter().map(part).sum()
        };
        joint.iter().map(of_lens).sum()
    }
}

fn candidate(stocked: &StockedPiece) -> Candidate {
    let share_off = if stocked.measured.is_some() { MISMEASURED_SHARE } else { MISMARKED_SHARE };
    Candidate {
        piece: stocked.piece.clone(),
        power_d: stocked.power().0,
        is_free: stocked.is_free(),
        before: before_any_look(share_off),
    }
}

/// Makes chances of numbers that stand in the proportion of chances.
fn shared_out(chances: &mut Chances) {
    let sum: f64 = chances.iter().sum();
    if sum > 0.0 {
        for chance in chances {
            *chance /= sum;
        }
    }
}
