//! An exam step by step: what stood before each eye, who was asked, and what the hand did.

use crate::exam::{Event, Exam, ExamError, ProcedureName};
use crate::frame::EyePower;
use crate::frame::fitted::{InCell, power_of};
use crate::guide::Guide;
use crate::kit::StockedPiece;
use crate::optics::{Eye, Eyes, Power};

/// One step of an exam that stands.
#[derive(Debug, Clone)]
pub struct Replayed {
    /// The procedure that led it, where one did.
    pub procedure: Option<ProcedureName>,
    /// Looks that were asked about, by the guide or by hand.
    pub looks: usize,
    /// The eye that was asked, where it was one alone.
    pub asked: Option<Eye>,
    /// Whether it is moves of the hand alone, which nobody set out.
    pub by_hand: bool,
    /// Whether the examiner wrote down that the person is referred: what the guide notes is only what it says.
    pub says_refer: bool,
    /// The eyes for which a power was accepted.
    pub accepted: Eyes<bool>,
    /// The lenses that stand in the cells before each eye after it, each with its power.
    pub lenses: Eyes<Vec<StandingLens>>,
    /// Whether a plus sphere stands before each eye after it, or is held there.
    pub plus_stands: Eyes<bool>,
    /// What stood before each eye when the step began.
    pub before: Eyes<EyePower>,
    /// What stands there after it.
    pub after: Eyes<EyePower>,
}

/// A lens that stood in a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingLens {
    /// Its power as it was turned.
    pub power: Power,
    /// Whether it is a cylinder; a sphere if not.
    pub is_cylinder: bool,
}

/// The steps of an exam that stand, in order.
///
/// # Errors
/// When a step is refused; it was not when it was taken.
pub fn replay(exam: &Exam) -> Result<Vec<Replayed>, ExamError> {
    let mut again = Exam::open(exam.opening().clone());
    let mut guide = Guide::of(&again);
    let mut steps = Vec::with_capacity(exam.standing_steps().len());
    for step in exam.standing_steps() {
        let presentation = guide.presentation();
        let answered = step.iter().filter_map(Event::of_the_guide).any(|event| event.settles_what_was_presented());
        let by_guide = answered && presentation.question.is_about_what_is_seen();
        let by_hand = step.iter().filter_map(Event::asked_by_hand);
        let asked = if by_guide { presentation.eye } else { by_hand.clone().next().and_then(|asked| asked.eye) };
        let looks = usize::from(by_guide) + by_hand.count();
        let procedure = guide.running().map(|(procedure, _)| procedure);
        let before = in_front(&again);
        again.apply(step)?;
        guide.follow(&again);
        steps.push(Replayed {
            procedure,
            looks,
            asked,
            by_hand: !step.is_empty() && step.iter().all(Event::is_moved),
            says_refer: says_refer(step),
            accepted: Eyes::from_fn(|eye| step.iter().any(|event| event.accepts_power_of(eye))),
            plus_stands: Eyes::from_fn(|eye| plus_stands(&again, eye)),
            lenses: Eyes::from_fn(|eye| lenses(&again, eye)),
            before,
            after: in_front(&again),
        });
    }
    Ok(steps)
}

fn in_front(exam: &Exam) -> Eyes<EyePower> {
    Eyes::from_fn(|eye| exam.state().fitted.in_front_of(eye))
}

fn lenses(exam: &Exam, eye: Eye) -> Vec<StandingLens> {
    let lenses = exam.state().fitted.in_cells(eye).filter(|lens| lens.stocked.piece.lens.makes_power());
    let standing = |lens: InCell<'_>| StandingLens {
        power: power_of(lens.stocked, lens.stocked.power(), lens.direction),
        is_cylinder: lens.stocked.piece.lens.is_cylinder(),
    };
    lenses.map(standing).collect()
}

fn plus_stands(exam: &Exam, eye: Eye) -> bool {
    let fitted = &exam.state().fitted;
    let held = fitted.held(eye).map(|held| held.stocked);
    fitted.in_cells(eye).map(|lens| lens.stocked).chain(held).any(StockedPiece::is_plus_sphere)
}

fn says_refer(step: &[Event]) -> bool {
    let by_the_guide = step.iter().any(|event| event.of_the_guide().is_some());
    !by_the_guide && step.iter().filter_map(Event::note).any(|note| note.to_lowercase().contains("refer"))
}
