//! Turns a presentation into moves with the lenses that are free.
//!
//! A comparison is held in front with a loose lens where one of it is free; else it is made in the cells. What was accepted is
//! built into the cells. When the very step cannot be made, another inside the bracket is; when none can, the step is passed
//! over, and the guide says so. The eye is never left briefly with less plus or more minus than it had: a plus lens in the
//! hand stays until the cells are built, a minus lens is laid back first.

use std::borrow::Cow;
use std::cell::Cell;

use super::findings::SAME_PLACE_D;
use super::over;
use super::presentation::{Bracket, Show};
use super::procedure::Step;
use crate::exam::{Shown, State};
use crate::frame::fitted::EyePower;
use crate::frame::{FittedFrame, Move};
use crate::kit::{Lens, Mark, Piece};
use crate::optics::{Axis, Dioptres, Eye, Eyes, Power};
use crate::stacking::{
    Arrangement, Proposal, REACHES_WITHIN_D, SearchOptions, moves::movements, propose, propose_both,
};

/// A fog, a pair of fogs or a reversal that misses by more than this is another question: half of the smallest step.
const OTHER_QUESTION_D: f64 = 0.13;

/// The cross cylinder asks about the cylinder that stands there: nearer to what was found than the next quarter of cylinder,
/// which is an eighth away.
const CYLINDER_NEAR_D: f64 = 0.10;

/// What stands there stays when the best stack is not better by more than this.
const NOT_WORTH_A_MOVE_D: f64 = 0.005;

/// What has to be done to set a presentation out.
#[derive(Debug, Clone, PartialEq)]
pub struct Realised {
    /// The moves, in order.
    pub moves: Vec<Move>,
    /// What then stands before the eyes.
    pub shown: Shown,
}

/// Sets a step out; `None` when no free lens makes what it needs.
pub(super) fn realise(step: &Step, state: &State) -> Option<Realised> {
    let mut hands = Hands { fitted: Cow::Borrowed(&state.fitted), moves: Vec::new(), powers: Cell::new(None) };
    if let Some(realised) = hands.is_held_already(step) {
        return Some(realised);
    }
    hands.lay_minus(step);
    match step.show {
        Show::Compare => hands.compare(step),
        Show::Slit { eye, meridian } => hands.slit(step, eye, meridian.map_or(180, |m| u16::from(m.degrees()))),
        Show::Pinhole { eye } => {
            hands.build(step.to)?;
            hands.hold_accessory("pinhole", eye, None)?;
            Some(hands.standing())
        }
        Show::CrossCylinder { eye, power, first, .. } => {
            hands.build(step.to)?;
            hands.near_enough(step.to, CYLINDER_NEAR_D)?;
            let lens = Lens::CrossCylinder(Mark::nearest(power.0));
            hands.lay_all_but(&Eyes::only(eye, Some(lens.clone())))?;
            hands.hold(&lens, eye, Some(u16::from(first.degrees())))?;
            Some(hands.standing())
        }
        Show::BuildIn if step.from == step.to || step.eye.is_none() => hands.fog(step),
        Show::BuildIn => hands.first_lens(step),
        Show::Sweep { .. } => hands.fog(step),
        Show::AsItIs => {
            hands.build(step.to)?;
            for eye in Eye::BOTH {
                if !hands.keeps(step, eye) {
                    hands.lay(eye)?;
                }
            }
            Some(hands.standing())
        }
    }
}

/// A frame that is worked on, and the moves so far.
#[derive(Clone)]
struct Hands<'a> {
    fitted: Cow<'a, FittedFrame>,
    moves: Vec<Move>,
    /// What is before the eyes, once it was computed since the last move.
    powers: Cell<Option<Eyes<EyePower>>>,
}

/// The best stacks for the eyes that want another power.
fn proposals(bare: &FittedFrame, wanted: Eyes<Option<Power>>) -> Option<Vec<Proposal>> {
    let options = SearchOptions { limit: 1, ..SearchOptions::default() };
    Some(match (wanted.right, wanted.left) {
        (None, None) => Vec::new(),
        (Some(right), Some(left)) => {
            let pair = propose_both(bare, Eyes::new(right, left), &options).list.into_iter().next()?;
            vec![pair.right, pair.left]
        }
        (Some(right), None) => propose(bare, Eye::Right, right, &options).list,
        (None, Some(left)) => propose(bare, Eye::Left, left, &options).list,
    })
}

/// The loose sphere that makes a difference in front; `None` for none and for what no sphere makes.
fn held_for(change: Power) -> Option<Lens> {
    let is_sphere = change.astigmatism() <= 1e-9 && change.blur_strength() >= 1e-9;
    is_sphere.then(|| Lens::Sphere(Mark::nearest(change.m)))
}

impl Hands<'_> {
    fn make(&mut self, step: Move) -> Option<()> {
        self.powers.set(None);
        self.fitted.to_mut().apply(&step).ok()?;
        self.moves.push(step);
        Some(())
    }

    fn powers(&self) -> Eyes<EyePower> {
        let powers = self.powers.get().unwrap_or_else(|| Eyes::from_fn(|eye| self.fitted.in_front_of(eye)));
        self.powers.set(Some(powers));
        powers
    }

    fn net(&self, eye: Eye) -> Power {
        self.powers()[eye].net
    }

    fn both(&self) -> Eyes<Power> {
        self.powers().map(|power| power.net)
    }

    /// With what the hand holds.
    fn both_with_hand(&self) -> Eyes<Power> {
        self.powers().map(|power| power.net_with_hand)
    }

    fn lay(&mut self, eye: Eye) -> Option<()> {
        match self.fitted.held(eye).map(|held| held.stocked.piece.clone()) {
            Some(piece) => self.make(Move::Lay { piece, eye }),
            None => Some(()),
        }
    }

    fn lay_all(&mut self) -> Option<()> {
        Eye::BOTH.into_iter().try_for_each(|eye| self.lay(eye))
    }

    /// Lays back what is held and is not what is held next.
    fn lay_all_but(&mut self, next: &Eyes<Option<Lens>>) -> Option<()> {
        Eye::BOTH
            .into_iter()
            .try_for_each(|eye| if self.holds_lens(eye, next[eye].as_ref()) { Some(()) } else { self.lay(eye) })
    }

    fn holds_lens(&self, eye: Eye, lens: Option<&Lens>) -> bool {
        lens.is_some_and(|lens| self.fitted.held(eye).is_some_and(|held| held.stocked.piece.lens == *lens))
    }

    /// What is compared where it stands in the cells and is in the hand as it was: nothing is to be done.
    fn is_held_already(&self, step: &Step) -> Option<Realised> {
        let (true, eye) = (step.show == Show::Compare, step.eye?) else { return None };
        let (from, to) = (step.from[eye]?, step.to[eye]?);
        let lens = held_for(to - from)?;
        let alone = self.fitted.held(eye.other()).is_none();
        let stands = from.miss(self.net(eye)) <= REACHES_WITHIN_D && step.from[eye.other()].is_none();
        (alone && stands && self.holds_lens(eye, Some(&lens))).then(|| self.clone().held_in_front())
    }

    /// Whether the cross cylinder in the hand is needed again.
    fn keeps(&self, step: &Step, eye: Eye) -> bool {
        let held = self.fitted.held(eye);
        step.keeps_cross_cylinder == Some(eye) && held.is_some_and(|held| held.stocked.piece.lens.is_cross_cylinder())
    }

    /// Lays back what is held, but for plus spheres: those stay until the cells are built. A cross cylinder that is held next
    /// stays too.
    fn lay_minus(&mut self, step: &Step) {
        let next = match step.show {
            Show::CrossCylinder { eye, power, .. } => {
                Eyes::only(eye, Some(Lens::CrossCylinder(Mark::nearest(power.0))))
            }
            Show::AsItIs
            | Show::Compare
            | Show::BuildIn
            | Show::Pinhole { .. }
            | Show::Slit { .. }
            | Show::Sweep { .. } => Eyes::both(None),
        };
        for eye in Eye::BOTH {
            let plus = self.fitted.held(eye).is_some_and(|held| held.stocked.is_plus_sphere());
            if !plus && !self.keeps(step, eye) && !self.holds_lens(eye, next[eye].as_ref()) {
                // what is held can always be laid back
                let _laid = self.lay(eye);
            }
        }
    }

    /// Builds the wanted powers into the cells, as near as can be. An eye without one keeps what it has.
    fn build(&mut self, wanted: Eyes<Option<Power>>) -> Option<()> {
        self.take_one_out(wanted);
        let nets = self.both();
        let off = |eye: Eye| wanted[eye].filter(|wanted| wanted.miss(nets[eye]) > REACHES_WITHIN_D);
        let off = Eyes::from_fn(off);
        if off.as_ref().into_iter().any(Option::is_some) {
            let mut bare = Cow::Borrowed(self.fitted.as_ref());
            for eye in Eye::BOTH {
                if let Some(piece) = self.fitted.held(eye).map(|held| held.stocked.piece.clone()) {
                    bare.to_mut().apply(&Move::Lay { piece, eye }).ok()?;
                }
            }
            let proposals = proposals(&bare, off)?;
            let better: Vec<Arrangement<'_>> = proposals
                .iter()
                .filter(|proposal| {
                    let eye = proposal.eye;
                    let miss_now = wanted[eye].map_or(0.0, |wanted| wanted.miss(nets[eye]));
                    proposal.miss_d < miss_now - NOT_WORTH_A_MOVE_D
                })
                .map(Proposal::arrangement)
                .collect();
            for step in movements(&self.fitted, &better).moves {
                self.make(step)?;
            }
        }
        for eye in Eye::BOTH {
            if let Some(wanted) = wanted[eye] {
                self.turn_to_axis(eye, wanted);
            }
        }
        Some(())
    }

    /// Takes one sphere out where the others make the wanted power without it: the working lens or the addition comes out again,
    /// and nothing else moves.
    fn take_one_out(&mut self, wanted: Eyes<Option<Power>>) {
        for eye in Eye::BOTH {
            let Some(wanted) = wanted[eye].filter(|wanted| wanted.miss(self.net(eye)) > REACHES_WITHIN_D) else {
                continue;
            };
            let one_less = over::spheres_in_front(&self.fitted, eye).into_iter().find_map(|(piece, cell)| {
                let mut less = self.clone();
                less.make(Move::Take { piece, eye, cell })?;
                (wanted.miss(less.net(eye)) <= REACHES_WITHIN_D).then_some(less)
            });
            if let Some(one_less) = one_less {
                *self = one_less;
            }
        }
    }

    /// Builds the wanted powers, with the lens over them in a cell of its own where the step has one and there is room.
    fn stand(&mut self, step: &Step, wanted: Eyes<Option<Power>>) -> Option<()> {
        let mut apart = Eyes::both(false);
        for eye in Eye::BOTH {
            let with_over = wanted[eye].zip(step.over[eye]);
            apart[eye] = with_over.is_some_and(|(wanted, over)| self.stand_over(eye, wanted, over).is_some());
        }
        self.build(Eyes::from_fn(|eye| wanted[eye].filter(|_| !apart[eye])))
    }

    /// Builds a power before one eye of which a sphere stands in a cell of its own.
    fn stand_over(&mut self, eye: Eye, wanted: Power, over: Dioptres) -> Option<()> {
        let mut tried = self.clone();
        for step in over::moves(&self.fitted, eye, wanted, over)? {
            tried.make(step)?;
        }
        tried.turn_to_axis(eye, wanted);
        (wanted.miss(tried.net(eye)) <= OTHER_QUESTION_D).then(|| *self = tried)
    }

    /// Turns the cylinders to the wanted axis where that comes nearer: a weak cylinder a few degrees off its axis reaches the
    /// wanted power as well, but the axis is what the next question is about.
    fn turn_to_axis(&mut self, eye: Eye, wanted: Power) {
        let direction = u16::from(Axis::nearest(wanted.minus_form().axis).degrees());
        let cells: Vec<u8> = self
            .fitted
            .in_cells(eye)
            .filter(|lens| lens.stocked.piece.lens.is_cylinder() && lens.direction.degrees() != Some(direction))
            .map(|lens| lens.cell)
            .collect();
        if cells.is_empty() {
            return;
        }
        let mut turned = self.clone();
        let made = cells.into_iter().all(|cell| turned.make(Move::Turn { eye, cell, direction }).is_some());
        if made && wanted.miss(turned.net(eye)) < wanted.miss(self.net(eye)) - 1e-9 {
            *self = turned;
        }
    }

    /// Whether the cells stand near enough to what is wanted.
    fn near_enough(&self, wanted: Eyes<Option<Power>>, within: f64) -> Option<()> {
        Eye::BOTH
            .into_iter()
            .all(|eye| wanted[eye].is_none_or(|wanted| wanted.miss(self.net(eye)) <= within))
            .then_some(())
    }

    fn hold(&mut self, lens: &Lens, eye: Eye, direction: Option<u16>) -> Option<()> {
        let held = self.fitted.held(eye).filter(|held| held.stocked.piece.lens == *lens);
        let piece = match held {
            Some(held) => held.stocked.piece.clone(),
            None => self.fitted.stock.free_piece(lens)?.piece.clone(),
        };
        self.make(Move::Hold { piece, eye, direction })
    }

    fn hold_accessory(&mut self, name: &str, eye: Eye, direction: Option<u16>) -> Option<()> {
        self.lay_all()?;
        self.hold(&Lens::Accessory(name.into()), eye, direction)
    }

    fn done(self, from: Eyes<Power>, to: Eyes<Power>) -> Realised {
        let shown = Shown { from, to, cells: self.both(), mark_in_hand: Eyes::both(None) };
        Realised { moves: self.moves, shown }
    }

    /// What the hand holds is compared with what stands in the cells.
    fn held_in_front(self) -> Realised {
        let (from, to) = (self.both(), self.both_with_hand());
        let mark_in_hand = Eyes::from_fn(|eye| self.fitted.held(eye).map(|held| held.marked_power()));
        let shown = Shown { from, to, cells: from, mark_in_hand };
        Realised { moves: self.moves, shown }
    }

    /// What stands in the cells is all that is shown.
    fn standing(self) -> Realised {
        let cells = self.both();
        self.done(cells, cells)
    }

    /// One power before each eye that has to be met, or it would be another question.
    fn fog(mut self, step: &Step) -> Option<Realised> {
        let from = self.both();
        if step.over != Eyes::both(None) && step.from != step.to {
            // what was found is built under it first: then it alone comes out
            self.stand(step, step.from)?;
            self.build(step.to)?;
        } else {
            self.stand(step, step.to)?;
        }
        self.lay_all()?;
        self.near_enough(step.to, OTHER_QUESTION_D)?;
        let to = self.both();
        Some(self.done(from, to))
    }

    /// The nearest to the first lens that is of its sign and at least half of it.
    fn first_lens(mut self, step: &Step) -> Option<Realised> {
        self.build(step.to)?;
        self.lay_all()?;
        let (from, to) = (step.from.map(Option::unwrap_or_default), self.both());
        let eye = step.eye?;
        let (wanted, stands) = (step.to[eye]?.m, to[eye].m);
        (stands * wanted.signum() >= wanted.abs() / 2.0).then(|| self.done(from, to))
    }

    fn slit(mut self, step: &Step, eye: Eye, meridian: u16) -> Option<Realised> {
        self.lay_all()?;
        self.build(step.from)?;
        let from = self.both();
        self.hold_accessory("slit", eye, Some(meridian))?;
        // both are looked at through the slit, so it is held before the change
        if step.from != step.to {
            self.near_enough(step.from, OTHER_QUESTION_D)?;
            self.build(step.to)?;
            self.near_enough(step.to, OTHER_QUESTION_D)?;
        }
        let to = self.both();
        Some(self.done(from, to))
    }

    /// `to` against `from`: by hand, in the cells, or by another step inside the bracket.
    fn compare(mut self, step: &Step) -> Option<Realised> {
        self.stand(step, step.from)?;
        let change = |eye: Eye| Some(step.to[eye]? - step.from[eye]?);
        let changes = Eyes::from_fn(|eye| change(eye).unwrap_or_default());
        let kept = Eyes::from_fn(|eye| self.holds(eye, changes[eye]));
        for eye in Eye::BOTH.into_iter().filter(|&eye| !kept[eye]) {
            self.lay(eye)?;
        }
        let half = changes.as_ref().into_iter().map(|change| change.blur_strength()).fold(0.0, f64::max) / 2.0;
        let within = if step.about_the_cylinder {
            CYLINDER_NEAR_D
        } else {
            half.clamp(REACHES_WITHIN_D, 2.0 * OTHER_QUESTION_D)
        };
        self.near_enough(step.from, within)?;
        let from = self.both();
        let moves = self.moves.len();
        let to_hold = Eyes::from_fn(|eye| if kept[eye] { Power::ZERO } else { changes[eye] });
        if let Some(pieces) = self.to_hold(to_hold) {
            for eye in Eye::BOTH {
                let held = self.fitted.held(eye).map(|held| held.stocked.piece.clone());
                if let Some(piece) = pieces[eye].as_ref().filter(|piece| held.as_ref() != Some(piece)) {
                    self.hold_piece(piece.clone(), eye)?;
                }
            }
            return Some(self.held_in_front());
        }
        if step.held_only {
            return None;
        }
        self.lay_all()?;
        let mut built = self.clone();
        let to = Eyes::from_fn(|eye| step.from[eye].map(|_| from[eye] + changes[eye]));
        built.build(to)?;
        if built.moves.len() > moves && built.near_enough(to, REACHES_WITHIN_D).is_some() {
            let to = built.both();
            return Some(built.done(from, to));
        }
        if let (Some(bracket), Some(eye)) = (step.bracket, step.eye) {
            return self.other_step(eye, changes[eye].m, bracket, from, built);
        }
        built.near_enough(to, OTHER_QUESTION_D)?;
        let to = built.both();
        (built.moves.len() > moves).then(|| built.done(from, to))
    }

    /// Whether the hand holds the very sphere that makes a difference in front: it is not laid down to be taken up again.
    fn holds(&self, eye: Eye, change: Power) -> bool {
        let held = self.fitted.held(eye);
        held.is_some_and(|held| {
            held.stocked.piece.lens == Lens::Sphere(Mark::nearest(change.m))
                && change.astigmatism() < 1e-9
                && (held.stocked.power().0 - change.m).abs() <= REACHES_WITHIN_D
        })
    }

    /// The loose spheres that make the differences in front; `None` where one of them is not free.
    fn to_hold(&self, changes: Eyes<Power>) -> Option<Eyes<Option<Piece>>> {
        let mut pieces: Eyes<Option<Piece>> = Eyes::default();
        for eye in Eye::BOTH {
            let change = changes[eye];
            if change.blur_strength() < 1e-9 {
                continue;
            }
            if change.astigmatism() > 1e-9 {
                return None;
            }
            let lens = Lens::Sphere(Mark::nearest(change.m));
            // one that is taken for the right eye is not there for the left
            let taken = |piece: &Piece| pieces.as_ref().into_iter().flatten().any(|taken| taken == piece);
            let held = self.fitted.held(eye).map(|held| held.stocked).filter(|stocked| stocked.piece.lens == lens);
            let free = self.fitted.stock.of_lens(&lens).filter(|stocked| stocked.is_free() && !taken(&stocked.piece));
            let stocked = held.or_else(|| free.min_by_key(|stocked| stocked.damaged))?;
            if (stocked.power().0 - change.m).abs() > REACHES_WITHIN_D {
                return None;
            }
            pieces[eye] = Some(stocked.piece.clone());
        }
        Some(pieces)
    }

    /// A step of the same sign that stays inside the bracket and can be distinguished from what stands there.
    fn other_step(
        mut self,
        eye: Eye,
        usual: f64,
        bracket: Bracket,
        from: Eyes<Power>,
        built: Self,
    ) -> Option<Realised> {
        let here = from[eye];
        let fits = |change: f64| {
            let there = here.m + change;
            change * usual > 0.0
                && change.abs() >= usual.abs() / 2.0 - 1e-9
                && change.abs() <= usual.abs() * 2.0 + 1e-9
                && bracket.least_d.is_none_or(|least| there > least + SAME_PLACE_D)
                && bracket.most_d.is_none_or(|most| there < most - SAME_PLACE_D)
        };
        let nearest = built.net(eye);
        let pure_sphere = (nearest - here).astigmatism() < SAME_PLACE_D / 2.0;
        let in_cells = Some(nearest.m - here.m).filter(|&change| pure_sphere && fits(change));
        let loose = self
            .fitted
            .stock
            .pieces()
            .iter()
            .filter(|stocked| stocked.is_free() && stocked.piece.lens.is_sphere())
            .map(|stocked| (stocked.power(), stocked.piece.clone()))
            .filter(|(power, _)| fits(power.0))
            .min_by(|a, b| (a.0.0 - usual).abs().total_cmp(&(b.0.0 - usual).abs()));
        let off = |change: f64| (change - usual).abs();
        match (loose, in_cells) {
            (Some((Dioptres(power), piece)), in_cells) if in_cells.is_none_or(|change| off(power) <= off(change)) => {
                self.hold_piece(piece, eye)?;
                Some(self.held_in_front())
            }
            (_, Some(_)) => {
                let to = built.both();
                Some(built.done(from, to))
            }
            _ => None,
        }
    }

    fn hold_piece(&mut self, piece: Piece, eye: Eye) -> Option<()> {
        self.make(Move::Hold { piece, eye, direction: None })
    }
}
