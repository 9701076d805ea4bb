//! What the proposals panel offers: stacks from the search, in words and as moves.

use super::ui::Ui;
use super::words;
use crate::exam::State;
use crate::frame::{FittedFrame, Move};
use crate::kit::{BoxChange, Lens, Place, StockedPiece};
use crate::optics::{CylinderForm, Eye, Eyes, Power};
use crate::stacking::moves::movements;
use crate::stacking::reason::lens_that_would_do;
use crate::stacking::{Proposal, SearchOptions, Stacker};

/// As many as there are digits to take them by.
const MOST: usize = 9;

/// For which power stacks are sought.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sought {
    /// Before one eye.
    One(Eye, Power),
    /// Before both, right first, no lens twice.
    Both(Eyes<Power>),
}

/// Everything that a search depends on.
#[derive(Debug, Clone, PartialEq)]
pub struct Search {
    /// The frame and the box.
    pub fitted: FittedFrame,
    /// What was sought.
    pub sought: Sought,
    /// The cylinder form that the screen is in.
    pub form: CylinderForm,
    /// Lenses of which every piece is before an eye at another seat, with where: they are proposed last.
    pub elsewhere: Vec<(Lens, String)>,
}

/// A proposal as the panel shows it and a key takes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The lenses in words.
    pub lenses: String,
    /// How far it is from what is wanted, in dioptres; the sum for both eyes.
    pub miss_d: f64,
    /// What it costs, in lenses.
    pub cost: f64,
    /// Whether that counts as reached.
    pub reaches: bool,
    /// Why these lenses.
    pub why: String,
    /// Which of them others have before an eye, and where.
    pub elsewhere: Vec<String>,
    /// The stacks themselves, one for each eye that is asked about.
    pub stacks: Vec<Proposal>,
    /// The moves, in an order that is safe for the eye.
    pub moves: Vec<Move>,
    /// Whether the eye should be covered meanwhile.
    pub cover_eye: bool,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Offers {
    /// What was asked.
    pub search: Search,
    /// Best first.
    pub list: Vec<Offer>,
    /// When the search had to stop: nothing that is not in the list costs less, in lenses.
    pub bound: Option<f64>,
    /// When nothing reaches: the one lens with which it would.
    pub would_do: Option<String>,
}

/// What is asked of the search now; nothing when nothing is wanted, or a teacher hides such help.
pub fn sought(state: &State, ui: &Ui) -> Option<Sought> {
    if ui.practice.as_ref().is_some_and(|seated| seated.seat.hidden.hints) {
        return None;
    }
    match (&ui.instead, state.wanted) {
        (Some(instead), _) if instead.eye == ui.eye => Some(Sought::One(ui.eye, instead.power)),
        (_, Eyes { right: Some(right), left: Some(left) }) if ui.pair => {
            Some(Sought::Both(Eyes::new(right.power(), left.power())))
        }
        (_, wanted) => Some(Sought::One(ui.eye, wanted[ui.eye]?.power())),
    }
}

impl Search {
    /// Whether the same lenses and cells may be used before an eye as when something else was asked, wherever the lenses
    /// stand in them now. What makes no power keeps its cell, so that must stand where it stood.
    fn has_the_lenses_of(&self, other: &Self, eye: Eye) -> bool {
        let usable = |stocked: &StockedPiece| match stocked.place {
            Place::Box => true,
            Place::Cell { eye: before, .. } => before == eye,
            Place::Hand { .. }
            | Place::Lost
            | Place::Lent { .. }
            | Place::Retired
            | Place::Moved { .. }
            | Place::InTwoPlaces => false,
        };
        let (ours, theirs) = (self.fitted.stock.pieces(), other.fitted.stock.pieces());
        self.fitted.frame == other.fitted.frame
            && ours.iter().len() == theirs.iter().len()
            && ours.iter().zip(theirs.iter()).all(|(one, other)| {
                // taken apart, so that whatever else is known of a piece and moves a proposal is compared here
                let StockedPiece { piece, place: _, damaged, measured } = one;
                let makes_power = piece.lens.is_stacked();
                (piece, damaged, measured) == (&other.piece, &other.damaged, &other.measured)
                    && if makes_power { usable(one) == usable(other) } else { one.place == other.place }
            })
    }
}

impl Search {
    /// The frame and the box as the search ranks them: a lens that others have is the last to be used, as a damaged one is.
    fn with_the_elsewhere_last(&self) -> FittedFrame {
        let mut fitted = self.fitted.clone();
        for (lens, _) in &self.elsewhere {
            let pieces: Vec<_> =
                fitted.stock.of_lens(lens).filter(|stocked| stocked.place == Place::Box).cloned().collect();
            for StockedPiece { piece, .. } in pieces {
                // the box has the piece
                let _ = fitted.stock.change(&BoxChange::Damaged { piece, what: None });
            }
        }
        fitted
    }

    /// Where the lenses of some proposals are that others have.
    fn elsewhere_in(&self, proposals: &[&Proposal]) -> Vec<String> {
        let is_taken = |lens: &Lens| {
            let mut placed = proposals.iter().flat_map(|proposal| &proposal.cells);
            placed.any(|placed| {
                let there = self.fitted.stock.get(&placed.piece);
                placed.piece.lens == *lens && there.is_some_and(|stocked| stocked.place == Place::Box)
            })
        };
        let of = self.elsewhere.iter().filter(|(lens, _)| is_taken(lens));
        of.map(|(lens, seats)| format!("{lens}: {seats}")).collect()
    }
}

/// Searches; what the last search found is taken over where it must still hold.
pub fn search(search: Search, last: Option<&Offers>) -> Offers {
    let options = SearchOptions { limit: MOST, form: search.form, ..SearchOptions::default() };
    let (fitted, ranked) = (&search.fitted, search.with_the_elsewhere_last());
    let (list, bound): (Vec<Offer>, Option<f64>) = match search.sought {
        Sought::One(eye, wanted) => {
            let found = Stacker::for_eye(&ranked, eye).propose(eye, wanted, &options);
            (found.list.iter().map(|proposal| offer(&search, &[(proposal, wanted)])).collect(), found.bound)
        }
        Sought::Both(wanted) => {
            let found = Stacker::for_both_eyes(&ranked).propose_both(wanted, &options);
            let both =
                |pair: &Eyes<Proposal>| offer(&search, &[(&pair.right, wanted.right), (&pair.left, wanted.left)]);
            (found.list.iter().map(both).collect(), found.bound)
        }
    };
    // what makes the power with lenses that others have comes after all that makes it without
    let mut list = list;
    if !search.elsewhere.is_empty() {
        list.sort_by_key(|offer| (!offer.reaches, !offer.elsewhere.is_empty()));
    }
    let would_do = match search.sought {
        Sought::One(eye, wanted) if !list.iter().any(|offer| offer.reaches) => {
            let same = |last: &&Offers| {
                (last.search.sought, last.search.form) == (search.sought, search.form)
                    && !last.list.iter().any(|offer| offer.reaches)
                    && search.has_the_lenses_of(&last.search, eye)
            };
            match last.filter(same) {
                Some(last) => last.would_do.clone(),
                None => lens_that_would_do(fitted, eye, wanted, &options).map(|lens| lens.to_string()),
            }
        }
        _ => None,
    };
    Offers { search, list, bound, would_do }
}

impl Offers {
    /// The first proposal in place of a lens that is not available, in words.
    pub fn first_in_words(&self) -> Option<String> {
        let first = self.list.first()?;
        Some(if first.reaches {
            format!("{} makes the same power", first.lenses)
        } else {
            format!("the nearest is {}, off by {:.2} D", first.lenses, first.miss_d)
        })
    }
}

fn offer(search: &Search, parts: &[(&Proposal, Power)]) -> Offer {
    let fitted = &search.fitted;
    let both = parts.len() > 1;
    let in_words = |text: String, proposal: &Proposal| if both { format!("{}: {text}", proposal.eye) } else { text };
    let lenses = |proposal: &Proposal| {
        let each = proposal.by_kind().map(|placed| words::lens(&placed.piece.lens, placed.direction, proposal.eye));
        let list = each.collect::<Vec<_>>().join(" ");
        in_words(if list.is_empty() { "nothing".to_owned() } else { list }, proposal)
    };
    let proposals: Vec<&Proposal> = parts.iter().map(|(proposal, _)| *proposal).collect();
    let arrangements: Vec<_> = proposals.iter().map(|proposal| proposal.arrangement()).collect();
    let way = movements(fitted, &arrangements);
    let elsewhere = search.elsewhere_in(&proposals);
    Offer {
        lenses: proposals.iter().map(|proposal| lenses(proposal)).collect::<Vec<_>>().join("   "),
        miss_d: proposals.iter().map(|proposal| proposal.miss_d).sum(),
        cost: proposals.iter().map(|proposal| proposal.cost.total()).sum(),
        reaches: proposals.iter().all(|proposal| proposal.reaches),
        why: parts
            .iter()
            .filter(|(proposal, wanted)| elsewhere.is_empty() || !proposal.reasons(fitted, *wanted).is_empty())
            .map(|(proposal, wanted)| in_words(proposal.reason(fitted, *wanted), proposal))
            .chain(elsewhere.iter().cloned())
            .collect::<Vec<_>>()
            .join("; "),
        stacks: proposals.iter().map(|proposal| (*proposal).clone()).collect(),
        elsewhere,
        moves: way.moves,
        cover_eye: way.cover_eye,
    }
}
