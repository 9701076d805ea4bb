//! What the hands did for what the guide asks now, and before which eye, ready to be shown.

use crate::exam::{Event, Exam, GuideEvent, State};
use crate::frame::{FittedFrame, Move};
use crate::guide::Presentation;
use crate::kit::Piece;
use crate::optics::{Eye, Eyes, Power};
use crate::stacking::moves::spares_the_eye;

/// Powers nearer than this are the same lenses.
const SAME_D: f64 = 1e-6;

/// Before which eye something is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meant {
    /// One eye; the other is covered.
    Alone(Eye),
    /// One eye; the other is not covered.
    One(Eye),
    /// Both eyes.
    Both,
    /// No eye: the person, the room, or nothing yet.
    Neither,
}

/// Before which eye what is presented is done.
pub fn meant(presentation: &Presentation) -> Meant {
    let before_eyes = presentation.from.into_iter().any(|from| from.is_some());
    match presentation.eye {
        Some(eye) if presentation.question.tests_an_eye_alone() => Meant::Alone(eye),
        Some(eye) => Meant::One(eye),
        None if before_eyes && presentation.procedure.is_some() => Meant::Both,
        None => Meant::Neither,
    }
}

/// The moves that the hands make for a question.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Moves {
    /// Before it is asked, in order.
    pub first: Vec<Move>,
    /// From what the person compares with to what is shown, where both are made in the cells.
    pub then: Vec<Move>,
}

/// The eyes to cover while the hands make the moves of the last step: in no order do these spare them less plus for a moment
/// than they had before and have afterwards.
pub fn eyes_to_cover(exam: &Exam) -> Vec<Eye> {
    let Some((last, earlier)) = exam.standing_steps().split_last() else {
        return Vec::new();
    };
    let moves: Vec<Move> = last.iter().filter_map(made).collect();
    if moves.len() < 2 {
        return Vec::new();
    }
    let Ok(before) = exam.state_after(earlier.len()) else {
        return Vec::new();
    };
    let spared = |eye: &Eye| {
        let of_eye: Vec<Move> = moves.iter().filter(|step| step.eye() == *eye).cloned().collect();
        spares_the_eye(&before.fitted, *eye, &of_eye).unwrap_or(true)
    };
    Eye::BOTH.into_iter().filter(|eye| !spared(eye)).collect()
}

fn made(event: &Event) -> Option<Move> {
    if let Event::Moved(step) = event { Some(step.clone()) } else { None }
}

/// The moves that set out what is asked now; none when the examiner has moved lenses by hand since, or other procedures have
/// taken over.
pub fn moves_made(exam: &Exam, presentation: &Presentation) -> Moves {
    let set_out = |event: &Event| event.of_the_guide().is_some_and(GuideEvent::is_set_out);
    let changed = |event: &Event| event.procedures_version().is_some();
    let touches = |step: &&Vec<Event>| step.iter().any(|event| event.is_moved() || set_out(event) || changed(event));
    let last = exam.standing_steps().iter().rev().find(touches).filter(|step| step.iter().any(set_out));
    let events = last.map(Vec::as_slice).unwrap_or_default();
    let mut first: Vec<Move> = events.iter().filter_map(made).collect();
    let then = first.split_off(where_compared(exam.state(), presentation, &first).unwrap_or(first.len()));
    Moves { first, then }
}

/// After how many moves what the person compares with stood in the cells, when what is shown is made there too: the moves are
/// taken back one by one until it does.
fn where_compared(state: &State, presentation: &Presentation, moves: &[Move]) -> Option<usize> {
    let shown = presentation.shown;
    let stands = |fitted: &FittedFrame, powers: Eyes<Power>| {
        Eye::BOTH.iter().all(|&eye| fitted.in_front_of(eye).net.miss(powers[eye]) < SAME_D)
    };
    let mut fitted = state.fitted.clone();
    let in_cells =
        presentation.show.is_compared_in_the_cells() && stands(&fitted, shown.to) && !stands(&fitted, shown.from);
    if !in_cells {
        return None;
    }
    for (made, step) in moves.iter().enumerate().rev() {
        fitted.apply(&taken_back(&fitted, step)?).ok()?;
        if stands(&fitted, shown.from) {
            return Some(made);
        }
    }
    None
}

/// The move that takes another back; a turn does not say from where it came.
fn taken_back(fitted: &FittedFrame, step: &Move) -> Option<Move> {
    let direction = |piece: &Piece, direction: u16| piece.lens.has_direction().then_some(direction);
    Some(match step.clone() {
        Move::Put { piece, eye, cell, .. } => Move::Take { piece, eye, cell },
        Move::Take { piece, eye, cell } => {
            let direction = direction(&piece, fitted.direction(eye, cell));
            Move::Put { piece, eye, cell, direction }
        }
        Move::Hold { piece, eye, .. } => Move::Lay { piece, eye },
        // what was laid back is not part of the cells, however it was turned
        Move::Lay { piece, eye } => Move::Hold { direction: direction(&piece, 180), piece, eye },
        Move::Turn { .. } => return None,
    })
}
