//! What happened to the box while an exam was not open.

use super::note::Note;
use crate::exam::{Event, Exam};
use crate::kit::{BoxChange, Piece, Place, Stock};
use crate::logbook::{Later, StoredStep};

/// An exam that goes on without the lenses that went away meanwhile: nobody can put them in, so none is offered.
///
/// Only what no step of the exam touched is taken away, so that every step stands as it did; what was touched is named.
/// Nothing else that befell the box counts, for the exam was made with the lenses as they were. The exam is as it was kept
/// where nothing went away.
pub fn without_what_went_away(exam: Exam, steps: &[StoredStep], later: &[Later], number: u64) -> (Exam, Vec<Note>) {
    let touched: Vec<&Piece> = steps.iter().flat_map(|step| &step.events).filter_map(piece_of).collect();
    let mut opening = exam.opening().clone();
    let (before, mut notes) = (opening.fitted.stock.clone(), Vec::new());
    for since in later {
        let Some(piece) = since.piece().filter(|piece| before.get(piece).is_some()) else { continue };
        if touched.contains(&&piece) {
            notes.extend(since.takes_away().then(|| Note::UsedThoughGone { exam: number, piece: piece.clone() }));
        } else if since.takes_away() || since.brings_back() && is_gone(&opening.fitted.stock, &piece) {
            // one that does not fit any more changes nothing
            let _ = since.apply(&mut opening.fitted.stock);
        }
    }
    if opening.fitted.stock == before {
        return (exam, notes);
    }
    match Exam::replay(opening, steps.iter().map(|step| step.events.clone())) {
        Ok(without) => (without, notes),
        Err(_) => (exam, notes),
    }
}

/// An open exam with the box as it is by now, from the box that it began with and all that happened to it since; `None` where
/// it goes on as it is: nothing in it changes, or it is closed.
///
/// As always only what no step touched goes away or comes back.
pub fn with_the_box_as_it_is(exam: &Exam, began_with: &Stock, changes: &[BoxChange]) -> Option<Exam> {
    let touched: Vec<&Piece> = exam.standing_steps().iter().flatten().filter_map(piece_of).collect();
    let mut opening = exam.opening().clone();
    opening.fitted.stock = began_with.clone();
    for change in changes.iter().filter(|change| change.takes_away() || change.brings_back()) {
        if change.piece().is_some_and(|piece| !touched.contains(&&piece)) {
            // one that does not fit any more changes nothing
            let _ = opening.fitted.stock.change(change);
        }
    }
    if exam.state().finished || opening.fitted.stock == exam.opening().fitted.stock {
        return None;
    }
    Exam::replay(opening, exam.standing_steps().iter().cloned()).ok()
}

fn is_gone(stock: &Stock, piece: &Piece) -> bool {
    stock.get(piece).is_some_and(|stocked| stocked.place != Place::Box)
}

fn piece_of(event: &Event) -> Option<&Piece> {
    event.moved().and_then(|moved| moved.piece())
}
