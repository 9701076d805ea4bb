//! Going back to something that was tried.

use super::super::app::App;
use super::super::keys::TrailAction;
use super::super::ui::{Panel, Ui};
use super::super::words;
use super::decision::Decision;
use crate::exam::{Event, Exam, Tried};
use crate::frame::{FittedFrame, Move};
use crate::kit::Place;
use crate::optics::{CylinderForm, Eye, Power};
use crate::stacking::moves::movements;
use crate::stacking::{Arrangement, PlacedLens, REACHES_WITHIN_D, SearchOptions, propose};

/// What was tried is what stood in the cells, and not something held in front, when the two differ by less than this.
const STOOD_WITHIN_D: f64 = 0.005;

/// What was tried before the eye in focus, the newest first, each with its place in the whole trail.
pub fn points(app: &App) -> Vec<(usize, Tried)> {
    let trail = app.state().trail.iter().copied().enumerate();
    let mut points: Vec<(usize, Tried)> = trail.filter(|(_, tried)| tried.eye == app.ui.eye).collect();
    points.reverse();
    points
}

/// The first point on the page of the chosen one, and the keys of that page's points.
pub fn page(app: &App) -> (usize, Vec<String>) {
    let bindings = app.settings.keys.bindings();
    let binding = bindings.iter().find(|binding| binding.action == TrailAction::GoBack.into());
    let keys: Vec<String> =
        binding.map(|binding| binding.keys.iter().map(ToString::to_string).collect()).unwrap_or_default();
    let size = keys.len().max(1);
    (app.ui.chosen_tried / size * size, keys)
}

/// Does a command of the trail.
pub fn act(app: &App, mut ui: Ui, action: TrailAction, nth: usize) -> Decision {
    match action {
        TrailAction::GoBack => go_back(app, ui, page(app).0 + nth),
        TrailAction::Open => {
            ui.panel = Panel::Trail;
            ui.chosen_tried = 0;
            Decision::of(ui)
        }
    }
}

/// Whether a command of the trail would do something now.
pub fn is_available(app: &App, action: TrailAction) -> bool {
    match action {
        TrailAction::GoBack => !points(app).is_empty(),
        TrailAction::Open => true,
    }
}

/// Puts what was tried before its eye again, as one step.
pub fn go_back(app: &App, mut ui: Ui, nth: usize) -> Decision {
    let Some(&(index, tried)) = points(app).get(nth) else {
        return Decision::refused(app, format!("nothing {} was tried in front of the {} eye", nth + 1, app.ui.eye));
    };
    let fitted = &app.state().fitted;
    let step = step_of(app.exam(), index);
    let wanted = step.map_or(tried.power, |step| wanted(&app.exam().standing_steps()[step], &tried));
    let exact = step.and_then(|step| exactly(app.exam(), step, &tried, fitted));
    let there = exact.or_else(|| stacked(fitted, tried.eye, wanted, ui.form));
    let Some(Stood { cells, net }) = there else {
        return Decision::refused(app, "nothing can be made of what is free");
    };
    ui.chosen_tried = nth;
    let power = words::power(wanted, ui.form);
    let miss = net.miss(wanted);
    if miss > REACHES_WITHIN_D {
        ui.done(format!("the nearest to {power} that can be made now, off by {miss:.2} D"));
    } else {
        ui.done(format!("back to {power} in front of the {} eye", tried.eye));
    }
    Decision::moves(ui, moves_to(fitted, Arrangement { eye: tried.eye, cells: &cells }))
}

/// Lenses in the cells and what they make.
struct Stood {
    cells: Vec<PlacedLens>,
    net: Power,
}

/// The step in which something of the whole trail was tried.
fn step_of(exam: &Exam, index: usize) -> Option<usize> {
    let mut before = 0;
    exam.standing_steps().iter().position(|step| {
        before += step.iter().filter(|event| event.is_tried()).count();
        before > index
    })
}

/// What is to be made of what was tried in a step: a lens that was only held counts with its mark, as when it is accepted.
fn wanted(step: &[Event], tried: &Tried) -> Power {
    let eye = tried.eye;
    let shown = step.iter().filter_map(|event| event.of_the_guide()?.answered_with());
    let mut tried_then = shown.filter(|shown| shown.to[eye].miss(tried.power) < STOOD_WITHIN_D);
    tried_then.next().map_or(tried.power, |shown| shown.wanted(eye))
}

/// The lenses that stood in the cells when it was tried, if all that was tried stood there and all of them are available.
fn exactly(exam: &Exam, step: usize, tried: &Tried, now: &FittedFrame) -> Option<Stood> {
    let eye = tried.eye;
    let then = &exam.state_after(step).ok()?.fitted;
    let stood = then.in_front_of(eye);
    if stood.net.miss(tried.power) > STOOD_WITHIN_D {
        return None;
    }
    let cells: Vec<PlacedLens> = then
        .in_cells(eye)
        .map(|lens| PlacedLens {
            cell: lens.cell,
            piece: lens.stocked.piece.clone(),
            direction: lens.direction.degrees(),
        })
        .collect();
    // the other eye keeps what it has
    let available = cells.iter().all(|lens| {
        now.stock.get(&lens.piece).is_some_and(|stocked| match stocked.place {
            Place::Box => true,
            Place::Cell { eye: of, .. } | Place::Hand { eye: of } => of == eye,
            Place::Lost | Place::Lent { .. } | Place::Retired | Place::Moved { .. } | Place::InTwoPlaces => false,
        })
    });
    available.then_some(Stood { cells, net: stood.net })
}

fn stacked(now: &FittedFrame, eye: Eye, wanted: Power, form: CylinderForm) -> Option<Stood> {
    let mut bare = now.clone();
    if let Some(piece) = bare.held(eye).map(|held| held.stocked.piece.clone()) {
        bare.apply(&Move::Lay { piece, eye }).ok()?;
    }
    let options = SearchOptions { limit: 1, form, ..SearchOptions::default() };
    let best = propose(&bare, eye, wanted, &options).list.into_iter().next()?;
    Some(Stood { cells: best.cells, net: best.net })
}

/// The moves to a stack: a minus lens in the hand is laid back first, a plus lens stays until the cells are built.
fn moves_to(now: &FittedFrame, wanted: Arrangement<'_>) -> Vec<Move> {
    let eye: Eye = wanted.eye;
    let lay = now.held(eye).map(|held| {
        let plus = held.stocked.is_plus_sphere();
        let needed = wanted.cells.iter().any(|lens| lens.piece == held.stocked.piece);
        (Move::Lay { piece: held.stocked.piece.clone(), eye }, plus && !needed)
    });
    match lay {
        None => movements(now, &[wanted]).moves,
        Some((lay, true)) => movements(now, &[wanted]).moves.into_iter().chain([lay]).collect(),
        Some((lay, false)) => {
            let mut bare = now.clone();
            // what is held can always be laid back
            let laid = bare.apply(&lay).is_ok();
            let moves = movements(&bare, &[wanted]).moves;
            laid.then_some(lay).into_iter().chain(moves).collect()
        }
    }
}
