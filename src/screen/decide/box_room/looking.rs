//! Looking through lenses: pairs of the box held together, and a lens that nobody knows.

use std::rc::Rc;

use super::super::super::app::App;
use super::super::super::box_page::BoxShown;
use super::super::super::keys::LookingAction;
use super::super::super::looking::{PairsSeen, Unmarked};
use super::super::super::page::Page;
use super::super::super::request::BoxRequest;
use super::super::super::ui::Ui;
use super::super::decision::Decision;
use crate::keeping::held_together::Look;
use crate::keeping::unknown_lens::Turned;
use crate::kit::Motion;
use crate::session::ToNote;

/// Does a command.
pub fn act(app: &App, mut ui: Ui, action: LookingAction) -> Decision {
    let Some(Page::Box(page)) = &mut ui.page else { return Decision::of(ui) };
    match action {
        LookingAction::HoldPairs => page.shown = BoxShown::Pairs(Rc::new(PairsSeen::of(&page.now))),
        LookingAction::UnknownLens => page.shown = BoxShown::Unmarked(Box::new(Unmarked::begin(&page.now.stock))),
        LookingAction::CrossMoves => turned(&mut page.shown, Turned::Moves),
        LookingAction::CrossScissors => turned(&mut page.shown, Turned::Scissors),
        LookingAction::CrossBeside => turned(&mut page.shown, Turned::Beside),
        LookingAction::CrossStays => turned(&mut page.shown, Turned::Stays),
        LookingAction::LineWith => return moved(app, ui, Motion::With),
        LookingAction::LineAgainst => return moved(app, ui, Motion::Against),
        LookingAction::LineStill => return moved(app, ui, Motion::Still),
        LookingAction::LookBack => {
            if let Some(unmarked) = page.shown.unmarked_mut() {
                unmarked.take_back();
            }
        }
    }
    Decision::of(ui)
}

fn turned(shown: &mut BoxShown, turned: Turned) {
    if let Some(unmarked) = shown.unmarked_mut() {
        unmarked.turned(turned);
    }
}

fn moved(app: &App, mut ui: Ui, motion: Motion) -> Decision {
    let Some(Page::Box(page)) = &mut ui.page else { return Decision::of(ui) };
    if let Some(unmarked) = page.shown.unmarked_mut() {
        unmarked.moved(motion);
        return Decision::of(ui);
    }
    let Some(pieces) = page.shown.pairs().and_then(|pairs| pairs.next.clone()) else {
        return Decision::refused(app, "no further look is worth it");
    };
    let said = said(&pieces.iter().map(ToString::to_string).collect::<Vec<_>>(), motion);
    let note = Look { pieces, seen: motion }.to_note();
    let to_note = ToNote { changes: note.into_iter().collect(), note: None };
    Decision::of(ui).with_request(BoxRequest::ChangeBox { to_note, said })
}

fn said(pieces: &[String], motion: Motion) -> String {
    let moves = match motion {
        Motion::With => "with",
        Motion::Against => "against",
        Motion::Still => "stands still",
    };
    format!("{}: {moves}", pieces.join(" and "))
}

/// Whether a command would do something now.
pub fn is_available(app: &App, action: LookingAction) -> bool {
    let Some(page) = app.ui.box_page() else { return false };
    let unmarked = page.shown.unmarked();
    let next_pair = page.shown.pairs().is_some_and(|pairs| pairs.next.is_some());
    match action {
        LookingAction::HoldPairs | LookingAction::UnknownLens => true,
        LookingAction::CrossMoves
        | LookingAction::CrossScissors
        | LookingAction::CrossBeside
        | LookingAction::CrossStays => unmarked.is_some_and(Unmarked::asks_to_turn),
        LookingAction::LineWith | LookingAction::LineAgainst | LookingAction::LineStill => {
            next_pair || unmarked.is_some_and(Unmarked::asks_how_it_moves)
        }
        LookingAction::LookBack => unmarked.is_some_and(Unmarked::is_begun),
    }
}
