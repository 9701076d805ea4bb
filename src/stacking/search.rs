//! The order in which stacks are looked for.

use super::catalogue::{Catalogue, TypeId};
use super::common_axis::{CommonAxis, axes};
use super::cost::{Costing, Now, care_per_d};
use super::options::{SearchOptions, USUAL_MOST_LENSES};
use super::patterns::{Pattern, by_cost};
use super::ranking::{Candidate, Collect, MissSteps, Shortlist};
use super::space::{Multiset, OpenCell, Space};
use super::work::{MOST_STEPS, Work};
use super::{coaxial, crossed, halves, many_axes};
use crate::frame::FittedFrame;
use crate::frame::declared::MOST_CELLS;
use crate::kit::{Direction, Lens, LensForm, Piece, Place, StockedPiece};
use crate::optics::{CylinderForm, Eye, Eyes, Power};

/// The first radius in which stacks that do not reach are looked for; it doubles until enough are found.
const FIRST_RADIUS: MissSteps = MissSteps(6);
/// No miss is greater than this: the sum of the strongest lenses in all cells.
const LAST_RADIUS: MissSteps = MissSteps(500_000);

/// A frame and a box made ready for searching; it answers any number of wanted powers.
#[derive(Debug)]
pub struct Stacker<'a> {
    pub(super) fitted: &'a FittedFrame,
    pub(super) catalogue: Catalogue<'a>,
    open: Eyes<Vec<OpenCell>>,
    costing: Eyes<Costing>,
    /// The ways to use up to [`USUAL_MOST_LENSES`] cells.
    patterns: Eyes<Vec<Pattern>>,
    from_rear_m: [f64; MOST_CELLS],
    /// The cylinder form in use where minus is chosen; a box is looked through once for it.
    where_minus_is_chosen: CylinderForm,
}

impl<'a> Stacker<'a> {
    /// For one eye: what is free and what is before this eye may be used.
    pub fn for_eye(fitted: &'a FittedFrame, eye: Eye) -> Self {
        Self::new(fitted, &[eye], |place| *place == Place::Box || place.is_in_a_cell_of(eye))
    }

    /// For both eyes: what is free and what is before either eye may be used.
    pub fn for_both_eyes(fitted: &'a FittedFrame) -> Self {
        Self::new(fitted, &Eye::BOTH, |place| *place == Place::Box || place.is_in_a_cell())
    }

    fn new(fitted: &'a FittedFrame, eyes: &[Eye], may_use: impl Fn(&Place) -> bool) -> Self {
        let catalogue = Catalogue::of(fitted.stock.rising().filter(|stocked| may_use(&stocked.place)));
        let mut from_rear_m = [0.0; MOST_CELLS];
        if fitted.stock.form == LensForm::Thin {
            let mut distance = 0.0;
            for (place, cell) in from_rear_m.iter_mut().zip(&fitted.frame.cells) {
                distance += cell.gap.metres();
                *place = distance;
            }
            from_rear_m[0] = 0.0;
        }
        let (open, costing, patterns) = (Eyes::default(), Eyes::default(), Eyes::default());
        let where_minus_is_chosen = fitted.stock.form_in_use(CylinderForm::Minus);
        let mut stacker = Self { fitted, catalogue, open, costing, patterns, from_rear_m, where_minus_is_chosen };
        for &eye in eyes {
            stacker.look_at(eye);
            stacker.patterns[eye] = by_cost(&stacker.open[eye], &stacker.costing[eye], USUAL_MOST_LENSES);
        }
        stacker
    }

    /// Notes which cells of an eye may be filled and what stands in them. What is there for something else
    /// than power stays where it is.
    fn look_at(&mut self, eye: Eye) {
        let fitted = self.fitted;
        let costing = &mut self.costing[eye];
        costing.care_per_d = care_per_d(&fitted.frame);
        let stays = |cell: u8| fitted.in_cell(eye, cell).filter(|lens| lens.stocked.piece.lens.stays_in_its_cell());
        for cell in fitted.frame.cell_numbers() {
            if stays(cell).is_some() {
                continue;
            }
            let index = usize::from(cell) - 1;
            let turning = fitted.frame.turning_with(cell);
            let ring_is_held =
                turning.iter().any(|&other| stays(other).is_some_and(|lens| lens.stocked.piece.lens.has_direction()));
            let can_turn = !turning.is_empty() && !ring_is_held;
            let no_cylinder = !can_turn || self.catalogue.cylinders.is_empty();
            let ring = if no_cylinder { None } else { turning.first().copied() };
            self.open[eye].push(OpenCell { cell: cell - 1, ring });
            costing.open |= 1 << index;
            if can_turn {
                costing.turning |= 1 << index;
            }
            if let Some(lens) = fitted.in_cell(eye, cell) {
                costing.now[index] = now_of(&self.catalogue, lens.stocked, lens.direction);
            }
        }
    }

    /// The best stacks for one eye from a given number of pieces of each type.
    pub(super) fn candidates(
        &self,
        eye: Eye,
        wanted: Power,
        options: &SearchOptions,
        available: &[u8],
        work: &Work,
    ) -> Vec<Candidate> {
        let mut search = self.search(eye, wanted, options, available, &[], work);
        let mut found = search.reaching(options.limit, options.within_d, &[]);
        if found.len() < options.limit {
            let reached: Vec<Multiset> = found.iter().map(Candidate::lenses).collect();
            let collect = |radius| Collect::Nearest { beyond: options.within_d, radius };
            found.extend(search.nearest(options.limit - found.len(), collect, &reached));
        }
        found
    }

    /// The best stack for one eye among those asked for, of lenses that are not those of `without`.
    #[expect(clippy::too_many_arguments, reason = "what one eye may use, and of what")]
    pub(super) fn best_among(
        &self,
        eye: Eye,
        wanted: Power,
        options: &SearchOptions,
        among: Among,
        available: &[u8],
        without: &[Multiset],
        work: &Work,
    ) -> Option<Candidate> {
        let mut search = self.search(eye, wanted, options, available, &[], work);
        let found = match among {
            Among::Reaching => search.reaching(1, options.within_d, without),
            Among::Any => search.nearest(1, |radius| Collect::Any { within: options.within_d, radius }, without),
        };
        found.into_iter().next()
    }

    /// The lens type that, were one piece of it at hand, would make the best stack that reaches the wanted power.
    ///
    /// `supposed` are the pieces of the box that are not really there.
    pub(super) fn best_supposing(
        &self,
        eye: Eye,
        wanted: Power,
        options: &SearchOptions,
        supposed: &[Piece],
    ) -> Option<Lens> {
        let is_supposed =
            |type_id: TypeId| self.catalogue.pieces(type_id).iter().all(|stocked| supposed.contains(&stocked.piece));
        let hypothetical: Vec<bool> = (0..self.catalogue.types.len() as TypeId).map(is_supposed).collect();
        let work = Work::new();
        let available = &self.catalogue.available;
        let found =
            self.search(eye, wanted, options, available, &hypothetical, &work).reaching(1, options.within_d, &[]);
        let stack = found.first()?.stack;
        let supposed = stack.slots().iter().find(|slot| hypothetical[usize::from(slot.type_id)])?;
        Some(self.catalogue.types[usize::from(supposed.type_id)].lens.clone())
    }

    fn search<'s>(
        &'s self,
        eye: Eye,
        wanted: Power,
        options: &SearchOptions,
        available: &'s [u8],
        hypothetical: &'s [bool],
        work: &'s Work,
    ) -> Search<'s> {
        let (catalogue, open, from_rear_m) = (&self.catalogue, &self.open[eye], &self.from_rear_m);
        let mut costing = self.costing[eye];
        costing.form = match options.form {
            CylinderForm::Minus => self.where_minus_is_chosen,
            CylinderForm::Plus => CylinderForm::Plus,
        };
        costing.wanted_cylinder = 2.0 * wanted.astigmatism();
        let most = options.max_lenses.unwrap_or(USUAL_MOST_LENSES);
        let patterns = if most > USUAL_MOST_LENSES {
            std::borrow::Cow::Owned(by_cost(open, &costing, most))
        } else {
            std::borrow::Cow::Borrowed(self.patterns[eye].as_slice())
        };
        let most_steps = MOST_STEPS;
        let space = Space { catalogue, available, hypothetical, open, from_rear_m, costing, work, most_steps, wanted };
        let axes = axes(&space);
        let (spheres, cylinders) = available.split_at(catalogue.spheres.len());
        let count = |of: &[u8]| of.iter().map(|&pieces| usize::from(pieces)).sum();
        let pieces = Pieces { spheres: count(spheres), cylinders: count(cylinders) };
        Search { space, patterns, most, pieces, axes }
    }
}

fn now_of(catalogue: &Catalogue<'_>, stocked: &StockedPiece, direction: Direction) -> Now {
    match catalogue.type_of(&stocked.piece) {
        Some(type_id) => Now::Lens {
            type_id,
            is_cylinder: catalogue.is_cylinder(type_id),
            axis: direction.degrees().unwrap_or_default(),
        },
        None => Now::Other,
    }
}

/// Among which stacks the best is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Among {
    /// Those that reach.
    Reaching,
    /// All, by their misses.
    Any,
}

/// How many pieces of each kind may be used.
#[derive(Debug, Clone, Copy)]
struct Pieces {
    spheres: usize,
    cylinders: usize,
}

/// One search for one eye.
struct Search<'a> {
    space: Space<'a>,
    patterns: std::borrow::Cow<'a, [Pattern]>,
    most: usize,
    pieces: Pieces,
    axes: Vec<CommonAxis>,
}

impl Search<'_> {
    fn reaching(&mut self, limit: usize, within: f64, without: &[Multiset]) -> Vec<Candidate> {
        let mut list = Shortlist::new(limit, Collect::Reaching { within }).without(without);
        self.offer_all(&mut list, |_| true);
        list.into_entries()
    }

    /// The stacks that come nearest, of lenses that are not those of a stack that reaches.
    fn nearest(
        &mut self,
        limit: usize,
        collect: impl Fn(MissSteps) -> Collect,
        reached: &[Multiset],
    ) -> Vec<Candidate> {
        let radius = self.radius(limit, &collect, reached);
        let mut list = Shortlist::new(limit, collect(radius)).without(reached);
        // what shares one axis is soon seen, and leaves few crossings worth a look
        self.offer_all(&mut list, |pattern| !pattern.crossed);
        self.offer_all(&mut list, |pattern| pattern.crossed);
        list.into_entries()
    }

    /// A radius in which there are enough stacks: such as few lenses make, on one axis.
    fn radius(&mut self, limit: usize, collect: &impl Fn(MissSteps) -> Collect, reached: &[Multiset]) -> MissSteps {
        let mut radius = FIRST_RADIUS.max(MissSteps::of(1.1 * likely_miss(&self.space)));
        loop {
            let mut list = Shortlist::new(limit, collect(radius)).without(reached);
            self.offer_all(&mut list, |pattern| pattern.most_steps() > MOST_STEPS && !pattern.crossed);
            if let Some(worst) = list.worst() {
                return worst.miss_steps();
            }
            if radius == LAST_RADIUS {
                return radius;
            }
            radius = if radius.0 > 3_200 { LAST_RADIUS } else { MissSteps(2 * radius.0) };
        }
    }

    /// Offers every stack that could enter the list, pattern by pattern, the cheapest first.
    fn offer_all(&mut self, list: &mut Shortlist<'_>, which: impl Fn(&Pattern) -> bool) {
        let (most, pieces) = (self.most, self.pieces);
        let may_be_filled = |pattern: &Pattern| {
            let cylinders = pattern.cylinders();
            pattern.len() <= most && cylinders <= pieces.cylinders && pattern.len() - cylinders <= pieces.spheres
        };
        for pattern in self.patterns.iter().filter(|pattern| may_be_filled(pattern) && which(pattern)) {
            if list.bound(pattern.floor) < 0.0 {
                return;
            }
            self.space.most_steps = pattern.most_steps();
            if self.space.is_over() {
                self.space.work.leave_out(pattern.floor);
                continue;
            }
            if !pattern.crossed && halves::is_worth_it(&self.space, pattern) {
                halves::offer_all(&self.space, pattern, &self.axes, list);
            } else if !pattern.crossed {
                coaxial::offer_all(&self.space, pattern, &self.axes, list);
            } else if !crossed::offer_all(&self.space, pattern, list) {
                many_axes::offer_all(&self.space, pattern, list);
            }
            if self.space.is_over() {
                self.space.work.leave_out(pattern.floor);
            }
        }
    }
}

/// About how much of the wanted astigmatism even the strongest cylinders leave missing, in dioptres. Only how fast the
/// nearest are found depends on it.
fn likely_miss(space: &Space<'_>) -> f64 {
    let turning = space.open.iter().filter(|cell| cell.ring.is_some()).count();
    (space.wanted.astigmatism() - turning as f64 * space.catalogue.strongest_cylinder() / 2.0).max(0.0)
}
