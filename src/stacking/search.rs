//! The order in which stacks are looked for.

use super::catalogue::{Catalogue, TypeId};
use super::options::{SearchOptions, USUAL_MOST_LENSES};
use super::ranking::{Candidate, Cells, Collect, MissSteps, Now, Shortlist};
use super::space::{Multiset, OpenCell, Space};
use super::{coaxial, crossed};
use crate::frame::FittedFrame;
use crate::frame::declared::MOST_CELLS;
use crate::kit::{Direction, Lens, LensForm, Piece, Place, StockedPiece};
use crate::optics::{Eye, Eyes, Power};

/// The first radius in which stacks that do not reach are looked for; it doubles until enough are found.
const FIRST_RADIUS: MissSteps = MissSteps(125);
/// Choices of all lenses but one, up to which a stack of more lenses than usual is looked for by default.
const MOST_CHOICES: usize = 3_000_000;
/// No miss is greater than this: the sum of the strongest lenses in all cells.
const LAST_RADIUS: MissSteps = MissSteps(10_000_000);

/// A frame and a box made ready for searching; it answers any number of wanted powers.
#[derive(Debug)]
pub struct Stacker<'a> {
    pub(super) fitted: &'a FittedFrame,
    pub(super) catalogue: Catalogue<'a>,
    open: Eyes<Vec<OpenCell>>,
    now: Eyes<Cells>,
    from_rear_m: [f64; MOST_CELLS],
}

impl<'a> Stacker<'a> {
    /// For one eye: what is free and what is before this eye may be used.
    pub fn for_eye(fitted: &'a FittedFrame, eye: Eye) -> Self {
        Self::new(fitted, |place| *place == Place::Box || place.is_in_a_cell_of(eye))
    }

    /// For both eyes: what is free and what is before either eye may be used.
    pub fn for_both_eyes(fitted: &'a FittedFrame) -> Self {
        Self::new(fitted, |place| *place == Place::Box || place.is_in_a_cell())
    }

    fn new(fitted: &'a FittedFrame, may_use: impl Fn(&Place) -> bool) -> Self {
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
        let mut stacker = Self { fitted, catalogue, open: Eyes::default(), now: Eyes::default(), from_rear_m };
        for eye in Eye::BOTH {
            stacker.look_at(eye);
        }
        stacker
    }

    /// Notes which cells of an eye may be filled and what stands in them. What is there for something else
    /// than power stays where it is.
    fn look_at(&mut self, eye: Eye) {
        let fitted = self.fitted;
        let stays = |cell: u8| fitted.in_cell(eye, cell).filter(|lens| lens.stocked.piece.lens.stays_in_its_cell());
        for cell in fitted.frame.cell_numbers() {
            if stays(cell).is_some() {
                continue;
            }
            let index = usize::from(cell) - 1;
            let turning = fitted.frame.turning_with(cell);
            let ring_is_held =
                turning.iter().any(|&other| stays(other).is_some_and(|lens| lens.stocked.piece.lens.has_direction()));
            let no_cylinder = ring_is_held || self.catalogue.cylinders.is_empty();
            let ring = if no_cylinder { None } else { turning.first().copied() };
            self.open[eye].push(OpenCell { cell: cell - 1, ring });
            if let Some(lens) = fitted.in_cell(eye, cell) {
                self.now[eye][index] = self.now_of(lens.stocked, lens.direction);
            }
        }
    }

    fn now_of(&self, stocked: &StockedPiece, direction: Direction) -> Now {
        match self.catalogue.type_of(&stocked.piece) {
            Some(type_id) => Now::Lens(type_id, direction.degrees().unwrap_or_default()),
            None => Now::Other,
        }
    }

    /// The best stacks for one eye from a given number of pieces of each type.
    pub(super) fn candidates(
        &self,
        eye: Eye,
        wanted: Power,
        options: &SearchOptions,
        available: &[u8],
    ) -> Vec<Candidate> {
        let space = self.space(eye, wanted, available, &[]);
        let mut found = self.reaching(&space, eye, options);
        if found.len() < options.limit {
            let (most, limit) = (most_lenses(&space, options), options.limit - found.len());
            let reached: Vec<Multiset> = found.iter().map(Candidate::lenses).collect();
            found.extend(nearest(&space, most, limit, options.within_d, &reached, &self.now[eye]));
        }
        found
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
        let space = self.space(eye, wanted, &self.catalogue.available, &hypothetical);
        let found = self.reaching(&space, eye, &SearchOptions { limit: 1, ..*options });
        let stack = found.first()?.stack;
        let supposed = stack.slots().iter().find(|slot| hypothetical[usize::from(slot.type_id)])?;
        Some(self.catalogue.types[usize::from(supposed.type_id)].lens.clone())
    }

    fn space<'s>(&'s self, eye: Eye, wanted: Power, available: &'s [u8], hypothetical: &'s [bool]) -> Space<'s> {
        let (catalogue, open, from_rear_m) = (&self.catalogue, &self.open[eye], &self.from_rear_m);
        Space { catalogue, available, hypothetical, open, from_rear_m, wanted }
    }

    fn reaching(&self, space: &Space<'_>, eye: Eye, options: &SearchOptions) -> Vec<Candidate> {
        let now = &self.now[eye];
        let mut reaching = Shortlist::new(options.limit, Collect::Reaching { within: options.within_d }, now);
        for lenses in 0..=most_lenses(space, options) {
            coaxial::offer_all(space, lenses, &mut reaching);
            if reaching.is_empty() {
                crossed::offer_all(space, lenses, &mut reaching);
            }
            if reaching.is_full() {
                break;
            }
        }
        reaching.into_entries()
    }
}

/// As many lenses as were asked for; when nothing was said, as many as there are cells, but beyond [`USUAL_MOST_LENSES`] only
/// while the box has few enough types for that.
fn most_lenses(space: &Space<'_>, options: &SearchOptions) -> usize {
    let cells = space.open.len();
    if let Some(most) = options.max_lenses {
        return most.min(cells);
    }
    let types = space.catalogue.types.len().max(1);
    let choices = |lenses: usize| (0..lenses).try_fold(1_usize, |choices, _| choices.checked_mul(types));
    let more = (USUAL_MOST_LENSES..cells)
        .take_while(|&lenses| choices(lenses).is_some_and(|choices| choices <= MOST_CHOICES))
        .count();
    cells.min(USUAL_MOST_LENSES + more)
}

/// About how much of the wanted astigmatism even the strongest cylinders leave missing, in dioptres. Only how fast the
/// nearest are found depends on it.
fn likely_miss(space: &Space<'_>) -> f64 {
    let turning = space.open.iter().filter(|cell| cell.ring.is_some()).count();
    (space.wanted.astigmatism() - turning as f64 * space.catalogue.strongest_cylinder() / 2.0).max(0.0)
}

/// The stacks that come nearest without reaching, of lenses that are not those of a stack that reaches.
fn nearest(
    space: &Space<'_>,
    most: usize,
    limit: usize,
    beyond: f64,
    reached: &[Multiset],
    now: &Cells,
) -> Vec<Candidate> {
    let mut radius = FIRST_RADIUS.max(MissSteps::of(2.0 * beyond)).max(MissSteps::of(1.1 * likely_miss(space)));
    loop {
        let mut list = Shortlist::new(limit, Collect::Nearest { beyond, radius }, now).without(reached);
        for lenses in 0..=most {
            coaxial::offer_all(space, lenses, &mut list);
        }
        for lenses in 2..=most {
            crossed::offer_all(space, lenses, &mut list);
        }
        // All that count as within the radius have been seen, so a full list is final.
        if list.is_full() || radius == LAST_RADIUS {
            return list.into_entries();
        }
        radius = if radius.0 > 64_000 { LAST_RADIUS } else { MissSteps(2 * radius.0) };
    }
}
