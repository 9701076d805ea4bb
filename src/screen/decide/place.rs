//! Where a lens goes that was asked for, and why it cannot when it cannot.

use super::super::app::App;
use super::super::proposals::Offers;
use super::super::spot::Spot;
use super::super::ui::{Instead, Panel, Ui};
use super::super::words;
use super::decision::Decision;
use super::directed::shown;
use crate::frame::{FittedFrame, Move};
use crate::kit::{Lens, LensForm};
use crate::optics::vergence::net;
use crate::optics::{Dioptres, Eye, Power};

/// A lens as it was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LensAsked {
    /// The lens by its mark; any free piece of it will do.
    pub lens: Lens,
    /// Its axis or base in degrees, for a lens that has one.
    pub direction: Option<u16>,
}

/// Puts a lens before the eye in focus: into the cell in focus, or the first suitable free one, saying so.
pub fn into_cell(app: &App, mut ui: Ui, asked: &LensAsked) -> Decision {
    let eye = ui.eye;
    let fitted = &app.state().fitted;
    let name = words::lens(&asked.lens, asked.direction, eye);
    let Spot::Cell(focused) = ui.spot() else {
        return into_hand(app, ui, asked);
    };
    // the same lens again: nothing moves, at most it is turned
    if let Some(there) = fitted.in_cell(eye, focused)
        && there.stocked.piece.lens == asked.lens
    {
        return match asked.direction {
            Some(direction) if Some(direction) != there.direction.degrees() => {
                ui.done(format!("{name} in {}", words::place(eye, Spot::Cell(focused))));
                Decision::moves(ui, vec![Move::Turn { eye, cell: focused, direction }])
            }
            _ => Decision::refused(app, format!("{name} is in {} already", words::place(eye, Spot::Cell(focused)))),
        };
    }
    let Some(piece) = fitted.stock.free_piece(&asked.lens).map(|stocked| stocked.piece.clone()) else {
        return not_available(app, ui, asked, Spot::Cell(focused));
    };
    let put = |cell: u8| Move::Put { piece: piece.clone(), eye, cell, direction: asked.direction };
    if let Some(moves) = replacing(fitted, eye, focused, &asked.lens, put(focused)) {
        let out = fitted.in_cell(eye, focused);
        let out =
            out.map(|lens| format!(", {} back in the box", words::lens(&lens.stocked.piece.lens, shown(&lens), eye)));
        ui.done(format!("{name} in {}{}", words::place(eye, Spot::Cell(focused)), out.unwrap_or_default()));
        return Decision::moves(ui, moves);
    }
    let why = why_not_focused(fitted, eye, focused, &put(focused));
    let other = fitted.frame.cell_numbers().find(|cell| fitted.check(&put(*cell)).is_ok());
    match other {
        Some(cell) => {
            ui.done(format!("{name} in {}, because {why}", words::place(eye, Spot::Cell(cell))));
            Decision::moves(ui, vec![put(cell)])
        }
        None => Decision::refused(app, format!("{name} finds no cell: {why}, and no other free cell takes it")),
    }
}

/// The moves that put a lens into a cell in place of a lens of the same kind, or into the empty cell.
fn replacing(fitted: &FittedFrame, eye: Eye, cell: u8, lens: &Lens, put: Move) -> Option<Vec<Move>> {
    let mut moves = Vec::new();
    if let Some(there) = fitted.in_cell(eye, cell) {
        if !there.stocked.piece.lens.is_of_the_kind_of(lens) {
            return None;
        }
        moves.push(Move::Take { piece: there.stocked.piece.clone(), eye, cell });
    }
    moves.push(put);
    let mut after = fitted.clone();
    moves.iter().all(|step| after.apply(step).is_ok()).then_some(moves)
}

fn why_not_focused(fitted: &FittedFrame, eye: Eye, cell: u8, put: &Move) -> String {
    match (fitted.in_cell(eye, cell), fitted.check(put)) {
        (Some(there), _) => {
            format!("cell {cell} holds {}", words::lens(&there.stocked.piece.lens, shown(&there), eye))
        }
        (None, Err(crate::frame::MoveError::DoesNotTurn { .. })) => format!("cell {cell} does not turn"),
        (None, Err(error)) => error.to_string(),
        (None, Ok(())) => format!("cell {cell} is free"),
    }
}

/// Holds a lens in front of the eye in focus; what was held goes back first.
pub fn into_hand(app: &App, mut ui: Ui, asked: &LensAsked) -> Decision {
    let eye = ui.eye;
    let fitted = &app.state().fitted;
    let name = words::lens(&asked.lens, asked.direction, eye);
    let held = fitted.held(eye).map(|held| held.stocked.piece.clone());
    if let Some(held) = held.as_ref().filter(|held| held.lens == asked.lens) {
        ui.done(format!("{name} in the {eye} hand"));
        return match asked.direction {
            Some(_) => Decision::moves(ui, vec![Move::Hold { piece: held.clone(), eye, direction: asked.direction }]),
            None => Decision::refused(app, format!("{name} is in the hand already")),
        };
    }
    let Some(piece) = fitted.stock.free_piece(&asked.lens).map(|stocked| stocked.piece.clone()) else {
        return not_available(app, ui, asked, Spot::Hand);
    };
    let mut moves: Vec<Move> = held.into_iter().map(|piece| Move::Lay { piece, eye }).collect();
    moves.push(Move::Hold { piece, eye, direction: asked.direction });
    ui.done(format!("{name} held in front of the {eye} eye"));
    Decision::moves(ui, moves)
}

/// Refuses a lens that no free piece is marked as, with the reason, and turns the proposals to the nearest stack.
fn not_available(app: &App, mut ui: Ui, asked: &LensAsked, spot: Spot) -> Decision {
    let eye = ui.eye;
    let why = app.state().fitted.stock.why_none_free(&asked.lens).map(|why| why.to_string()).unwrap_or_default();
    ui.instead = instead_of(&app.state().fitted, eye, spot, asked);
    ui.pair = false;
    ui.chosen_proposal = 0;
    let offered = ui.instead.is_some().then(|| app.offers_on(&ui)).flatten();
    if let Some(first) = offered.as_deref().and_then(Offers::first_in_words) {
        ui.panel = Panel::Proposals;
        ui.refused(format!("{why}; {first}"));
    } else {
        ui.instead = None;
        ui.refused(why);
    }
    Decision::of(ui)
}

/// The net power that the eye would have with the lens; none where a stack of other lenses cannot stand in for it.
fn instead_of(fitted: &FittedFrame, eye: Eye, spot: Spot, asked: &LensAsked) -> Option<Instead> {
    let mark = asked.lens.mark()?;
    let power = match asked.lens {
        Lens::Sphere(_) => Power::sphere(Dioptres(mark.dioptres())),
        Lens::Cylinder(_) => Power::cylinder(Dioptres(mark.dioptres()), f64::from(asked.direction?)),
        Lens::Prism(_) | Lens::CrossCylinder(_) | Lens::Accessory(_) => return None,
    };
    let Spot::Cell(focused) = spot else {
        return Some(Instead { eye, power: fitted.in_front_of(eye).net + power, lens: asked.lens.clone() });
    };
    // where the lens would have gone: the cell in focus, or the first free one that turns for a cylinder
    let suits = |cell: u8| {
        let turns = fitted.frame.cell(cell).is_some_and(|spec| spec.turns);
        let there = fitted.in_cell(eye, cell);
        let free_for_it = there.is_none_or(|there| there.stocked.piece.lens.is_of_the_kind_of(&asked.lens));
        free_for_it && (turns || !asked.lens.needs_turning_cell())
    };
    let cell = std::iter::once(focused)
        .chain(fitted.frame.cell_numbers().filter(|cell| fitted.in_cell(eye, *cell).is_none()))
        .find(|cell| suits(*cell))?;
    let mut powers = vec![Power::ZERO; fitted.frame.cells.len()];
    for there in fitted.in_cells(eye) {
        powers[usize::from(there.cell) - 1] =
            crate::frame::fitted::power_of(there.stocked, there.stocked.power(), there.direction);
    }
    powers[usize::from(cell) - 1] = power;
    let gaps = if fitted.stock.form == LensForm::Thin { fitted.frame.gaps() } else { Vec::new() };
    Some(Instead { eye, power: net(&powers, &gaps), lens: asked.lens.clone() })
}
