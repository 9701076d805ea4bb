//! The map of what a box makes: going about in it.

use super::super::super::app::App;
use super::super::super::box_page::{BoxShown, Makes};
use super::super::super::keys::MakesAction;
use super::super::super::page::Page;
use super::super::super::request::BoxRequest;
use super::super::super::ui::Ui;
use super::super::decision::Decision;
use crate::keeping::{Wanted, Zoom};

/// Does a command on the map.
pub fn act(_app: &App, mut ui: Ui, action: MakesAction) -> Decision {
    let Some(Page::Box(page)) = &mut ui.page else { return Decision::of(ui) };
    let BoxShown::Makes(makes) = &mut page.shown else { return Decision::of(ui) };
    let step = makes.zoom.step_d();
    match action {
        MakesAction::MapLeft => go(makes, -step, 0.0),
        MakesAction::MapRight => go(makes, step, 0.0),
        MakesAction::MapUp => go(makes, 0.0, step),
        MakesAction::MapDown => go(makes, 0.0, -step),
        MakesAction::MapStack => makes.with_stack = true,
        MakesAction::MapEyes => (makes.both, makes.with_stack) = (!makes.both, false),
        MakesAction::MapBeside => return Decision::of(ui).with_request(BoxRequest::NextBeside),
        MakesAction::MapCloser => makes.zoom = Zoom::Quarter,
        MakesAction::MapWider => {
            makes.zoom = Zoom::Half;
            go(makes, 0.0, 0.0);
        }
    }
    Decision::of(ui)
}

/// Goes to a prescription beside, where the map has it.
fn go(makes: &mut Makes, sphere: f64, cylinder: f64) {
    let step = makes.zoom.step_d();
    let on_step = |dioptres: f64| (dioptres / step).round() * step;
    let to =
        Wanted { sphere: on_step(makes.wanted.sphere + sphere), cylinder: on_step(makes.wanted.cylinder + cylinder) };
    if to.grid_index().is_some() {
        (makes.wanted, makes.with_stack) = (to, false);
    }
}
