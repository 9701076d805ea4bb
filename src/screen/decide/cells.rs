//! Commands on the cells and the hand: turn, take out, move, swap, hold.

use super::super::app::App;
use super::super::keys::CellsAction;
use super::super::spot::Spot;
use super::super::ui::{Purpose, Ui};
use super::super::words;
use super::decision::Decision;
use super::directed::{at, direction_for};
use super::place::{LensAsked, into_hand};
use crate::exam::Event;
use crate::frame::{FittedFrame, Move};
use crate::kit::{Lens, Piece};
use crate::optics::{Axis, Eye, Eyes};

/// The cross cylinder in the hand before the eye in focus.
pub fn cross_cylinder_held(app: &App) -> Option<(Piece, u16)> {
    at(app, app.ui.eye, Spot::Hand).filter(|(piece, _)| piece.lens.is_cross_cylinder())
}

/// An occluder that can be held before the eye in focus, or that is.
pub fn occluder(app: &App) -> Option<Piece> {
    let fitted = &app.state().fitted;
    let held = fitted.held(app.ui.eye).filter(|held| held.stocked.piece.lens.occludes());
    held.map(|held| held.stocked.piece.clone())
        .or_else(|| fitted.stock.free_piece(&Lens::Accessory("occluder".into())).map(|stocked| stocked.piece.clone()))
}

/// The place whose lens turns: the one in focus, or the only one of the eye that has a direction.
pub fn to_turn(app: &App) -> Result<Spot, String> {
    turning_place(app, app.ui.eye, Some(app.ui.spot()))
}

fn turning_place(app: &App, eye: Eye, focused: Option<Spot>) -> Result<Spot, String> {
    let turns = |spot: &Spot| at(app, eye, *spot).is_some_and(|(piece, _)| piece.lens.has_direction());
    if let Some(spot) = focused.filter(turns) {
        return Ok(spot);
    }
    let fitted = &app.state().fitted;
    let places: Vec<Spot> = fitted.frame.cell_numbers().map(Spot::Cell).chain([Spot::Hand]).filter(turns).collect();
    match places.as_slice() {
        [] => Err(format!("nothing in front of the {eye} eye has an axis or a base to turn")),
        [only] => Ok(*only),
        [first, rest @ ..] => {
            let ring = first.cell().map(|cell| fitted.frame.turning_with(cell)).unwrap_or_default();
            // one ring is one axis, so any of its cells will do
            if rest.iter().all(|spot| spot.cell().is_some_and(|cell| ring.contains(&cell))) {
                return Ok(*first);
            }
            let names: Vec<String> = places.iter().map(|spot| words::place(eye, *spot)).collect();
            Err(format!("which one? Go to one of {}", names.join(", ")))
        }
    }
}

/// Turns what is in a place, or the only thing of the eye that turns.
pub fn turn_at(app: &App, mut ui: Ui, eye: Eye, spot: Option<Spot>, degrees: i32) -> Decision {
    let spot = match turning_place(app, eye, spot) {
        Ok(spot) => spot,
        Err(why) => return Decision::refused(app, why),
    };
    let Some((piece, now)) = at(app, eye, spot) else {
        return Decision::of(ui);
    };
    let around = (i32::from(now) + degrees).rem_euclid(360) as u16;
    let direction = direction_for(&piece, around).unwrap_or(around);
    let step = match spot {
        Spot::Cell(cell) => Move::Turn { eye, cell, direction },
        Spot::Hand => Move::Hold { piece: piece.clone(), eye, direction: Some(direction) },
    };
    ui.eye = eye;
    ui.done(format!("{} in {}", words::lens(&piece.lens, Some(direction), eye), words::place(eye, spot)));
    Decision::moves(ui, vec![step])
}

/// The move that takes a piece out of a place, back into the box.
fn take(piece: Piece, eye: Eye, spot: Spot) -> Move {
    match spot {
        Spot::Cell(cell) => Move::Take { piece, eye, cell },
        Spot::Hand => Move::Lay { piece, eye },
    }
}

fn put(piece: Piece, eye: Eye, spot: Spot, direction: u16) -> Move {
    let direction = direction_for(&piece, direction);
    match spot {
        Spot::Cell(cell) => Move::Put { piece, eye, cell, direction },
        Spot::Hand => Move::Hold { piece, eye, direction },
    }
}

fn everything(fitted: &FittedFrame, eye: Eye) -> Vec<(Piece, Spot, u16)> {
    let cells = fitted
        .in_cells(eye)
        .map(|lens| (lens.stocked.piece.clone(), Spot::Cell(lens.cell), fitted.direction(eye, lens.cell)));
    let held =
        fitted.held(eye).map(|held| (held.stocked.piece.clone(), Spot::Hand, held.direction.degrees().unwrap_or(180)));
    cells.chain(held).collect()
}

/// Does a command on the cells.
pub fn act(app: &App, mut ui: Ui, action: CellsAction) -> Decision {
    let (eye, spot) = (ui.eye, ui.spot());
    let fitted = &app.state().fitted;
    match action {
        CellsAction::Outward | CellsAction::Inward => {
            ui.spots[eye] = stepped(fitted, spot, action == CellsAction::Outward);
            Decision::of(ui)
        }
        CellsAction::TurnBack => turn_at(app, ui, eye, Some(spot), -1),
        CellsAction::TurnOn => turn_at(app, ui, eye, Some(spot), 1),
        CellsAction::TurnBackFar => turn_at(app, ui, eye, Some(spot), -5),
        CellsAction::TurnOnFar => turn_at(app, ui, eye, Some(spot), 5),
        CellsAction::TakeOut => take_out(app, ui, spot),
        CellsAction::LayBack => take_out(app, ui, Spot::Hand),
        CellsAction::EmptyEye => {
            let moves = emptied_of(app, eye);
            if moves.is_empty() {
                return Decision::refused(app, format!("nothing is in front of the {eye} eye"));
            }
            ui.done(format!("everything in front of the {eye} eye is back in the box"));
            Decision::moves(ui, moves)
        }
        CellsAction::MoveLens => match at(app, eye, spot) {
            Some((piece, direction)) if spot != Spot::Hand => {
                let name = words::lens(&piece.lens, direction_for(&piece, direction), eye);
                ui.carrying = Some((eye, spot));
                ui.done(format!("moving {name}: go to its new place"));
                Decision::of(ui)
            }
            _ => Decision::refused(app, format!("{} holds nothing to move", words::place(eye, spot))),
        },
        CellsAction::PutDown => put_down(app, ui),
        CellsAction::LetGo => {
            ui.carrying = None;
            Decision::of(ui)
        }
        CellsAction::SwapEyes => swap_eyes(app, ui),
        CellsAction::BuildIn => build_in(app, ui),
        CellsAction::Flip => match cross_cylinder_held(app) {
            Some((piece, direction)) => {
                let axis = u16::from(Axis::folded(i32::from(direction)).perpendicular().degrees());
                ui.done(format!("flipped: minus axis at {axis}"));
                Decision::moves(ui, vec![Move::Hold { piece, eye, direction: Some(axis) }])
            }
            None => Decision::refused(app, format!("no cross cylinder is held in front of the {eye} eye")),
        },
        CellsAction::Occlude => match occluder(app) {
            Some(piece) if at(app, eye, Spot::Hand).is_some_and(|(held, _)| held == piece) => {
                take_out(app, ui, Spot::Hand)
            }
            _ => into_hand(app, ui, &LensAsked { lens: Lens::Accessory("occluder".into()), direction: None }),
        },
        CellsAction::Wanted => Decision::line(ui, Purpose::Wanted),
        CellsAction::ByName => Decision::line(ui, Purpose::Lens),
        CellsAction::Hold => Decision::line(ui, Purpose::Hold),
        CellsAction::PlannedVertex => Decision::line(ui, Purpose::PlannedVertex),
    }
}

/// Whether a command on the cells would do something now.
pub fn is_available(app: &App, action: CellsAction) -> bool {
    let ui = &app.ui;
    let fitted = &app.state().fitted;
    let has_lens = |eye: Eye| fitted.in_cells(eye).next().is_some() || fitted.held(eye).is_some();
    match action {
        CellsAction::TurnBack | CellsAction::TurnOn | CellsAction::TurnBackFar | CellsAction::TurnOnFar => {
            to_turn(app).is_ok()
        }
        CellsAction::TakeOut => at(app, ui.eye, ui.spot()).is_some(),
        CellsAction::MoveLens => ui.spot().cell().is_some_and(|cell| fitted.in_cell(ui.eye, cell).is_some()),
        CellsAction::EmptyEye => has_lens(ui.eye),
        CellsAction::SwapEyes => Eye::BOTH.into_iter().any(has_lens),
        CellsAction::LayBack => fitted.held(ui.eye).is_some(),
        CellsAction::BuildIn => {
            fitted.held(ui.eye).is_some() && ui.spot() != Spot::Hand && passes(fitted, &build_in(app, ui.clone()))
        }
        CellsAction::PutDown => passes(fitted, &put_down(app, ui.clone())),
        CellsAction::Flip => cross_cylinder_held(app).is_some(),
        CellsAction::Occlude => occluder(app).is_some(),
        CellsAction::LetGo
        | CellsAction::Wanted
        | CellsAction::Outward
        | CellsAction::Inward
        | CellsAction::ByName
        | CellsAction::Hold
        | CellsAction::PlannedVertex => true,
    }
}

/// Whether the frame would take the moves of a decision.
fn passes(fitted: &FittedFrame, decision: &Decision) -> bool {
    let moves = decision
        .step
        .events()
        .iter()
        .filter_map(|event| if let Event::Moved(step) = event { Some(step) } else { None });
    let mut after = fitted.clone();
    moves.into_iter().all(|step| after.apply(step).is_ok())
}

fn stepped(fitted: &FittedFrame, spot: Spot, outward: bool) -> Spot {
    let cells = fitted.frame.cells.len() as u8;
    match (spot, outward) {
        (Spot::Cell(cell), true) if cell < cells => Spot::Cell(cell + 1),
        (Spot::Cell(_) | Spot::Hand, true) => Spot::Hand,
        (Spot::Cell(cell), false) => Spot::Cell(cell.saturating_sub(1).max(1)),
        (Spot::Hand, false) => Spot::Cell(cells),
    }
}

fn take_out(app: &App, mut ui: Ui, spot: Spot) -> Decision {
    let eye = ui.eye;
    match at(app, eye, spot) {
        Some((piece, direction)) => {
            let name = words::lens(&piece.lens, direction_for(&piece, direction), eye);
            ui.done(format!("{name} from {} back in the box", words::place(eye, spot)));
            Decision::moves(ui, vec![take(piece, eye, spot)])
        }
        None => Decision::refused(app, format!("{} holds nothing", words::place(eye, spot))),
    }
}

/// Puts down what is being moved; what is there goes where the other came from.
fn put_down(app: &App, mut ui: Ui) -> Decision {
    let Some((from_eye, from)) = ui.carrying.take() else {
        return Decision::of(ui);
    };
    let (to_eye, to) = (ui.eye, ui.spot());
    let Some((piece, direction)) = at(app, from_eye, from) else {
        return Decision::of(ui);
    };
    // a base is named by the eye it stands before: towards the nose of one eye is away from that of the other
    let name = words::lens(&piece.lens, direction_for(&piece, direction), to_eye);
    if (from_eye, from) == (to_eye, to) {
        ui.done(format!("{name} stays where it is"));
        return Decision::of(ui);
    }
    let mut moves = vec![take(piece.clone(), from_eye, from)];
    let there = at(app, to_eye, to);
    if let Some((other, _)) = &there {
        moves.push(take(other.clone(), to_eye, to));
    }
    moves.push(put(piece, to_eye, to, direction));
    let mut text = format!("{name} in {}", words::place(to_eye, to));
    if let Some((other, other_direction)) = there {
        let other_name = words::lens(&other.lens, direction_for(&other, other_direction), from_eye);
        text = format!("{text}, {other_name} in {}", words::place(from_eye, from));
        moves.push(put(other, from_eye, from, other_direction));
    }
    ui.done(text);
    Decision::moves(ui, moves)
}

fn swap_eyes(app: &App, mut ui: Ui) -> Decision {
    let fitted = &app.state().fitted;
    let all = Eyes::from_fn(|eye| everything(fitted, eye));
    if all.as_ref().into_iter().all(Vec::is_empty) {
        return Decision::refused(app, "nothing is before either eye");
    }
    let outs = Eye::BOTH
        .into_iter()
        .flat_map(|eye| all[eye].iter().rev().map(move |(piece, spot, _)| take(piece.clone(), eye, *spot)));
    let ins = Eye::BOTH.into_iter().flat_map(|eye| {
        all[eye].iter().map(move |(piece, spot, direction)| put(piece.clone(), eye.other(), *spot, *direction))
    });
    ui.done("each eye has the lenses of the other");
    Decision::moves(ui, outs.chain(ins).collect())
}

fn build_in(app: &App, mut ui: Ui) -> Decision {
    let (eye, spot) = (ui.eye, ui.spot());
    let Some((piece, direction)) = at(app, eye, Spot::Hand) else {
        return Decision::refused(app, format!("nothing is held in front of the {eye} eye"));
    };
    let name = words::lens(&piece.lens, direction_for(&piece, direction), eye);
    ui.done(format!("{name} built in at {}", words::place(eye, spot)));
    Decision::moves(ui, vec![put(piece, eye, spot, direction)])
}

/// The moves that put everything in front of an eye back into the box.
fn emptied_of(app: &App, eye: Eye) -> Vec<Move> {
    everything(&app.state().fitted, eye).into_iter().rev().map(|(piece, spot, _)| take(piece, eye, spot)).collect()
}

/// The same for both eyes.
pub(super) fn emptied(app: &App) -> Vec<Move> {
    Eye::BOTH.into_iter().flat_map(|eye| emptied_of(app, eye)).collect()
}
