//! Commands on the lists: the proposals and the drawer.

use crossterm::event::KeyCode;

use super::super::app::App;
use super::super::day_page::DayShown;
use super::super::field::row_count;
use super::super::keys::{CellsAction, Chord, ListsAction};
use super::super::page::Page;
use super::super::request::PracticeRequest;
use super::super::shelf::{self, Shelf};
use super::super::spot::Spot;
use super::super::ui::{Panel, Purpose, Sheet, Ui};
use super::decision::Decision;
use super::place::{LensAsked, into_cell, into_hand};
use super::{box_room, day_room, practice, records, trail};
use crate::kit::Lens;

const PAGE: isize = 8;

/// Lines to a page: of an open record all but one that are shown.
fn page(app: &App) -> isize {
    if records::is_open(&app.ui) { app.page_rows.get().saturating_sub(1).max(1).cast_signed().into() } else { PAGE }
}

/// Does a command on a list.
pub fn act(app: &App, mut ui: Ui, action: ListsAction, nth: usize) -> Decision {
    match action {
        ListsAction::Proposals => {
            if app.offers().is_none() {
                let wanted = app.settings.keys.key_of(CellsAction::Wanted);
                return Decision::refused(app, format!("nothing is wanted for the {} eye: {wanted} says what", ui.eye));
            }
            ui.panel = Panel::Proposals;
            Decision::of(ui)
        }
        ListsAction::Pair => {
            if app.state().wanted.into_iter().any(|wanted| wanted.is_none()) {
                return Decision::refused(app, "both eyes need a wanted power first");
            }
            ui.pair = !ui.pair;
            ui.instead = None;
            ui.chosen_proposal = 0;
            ui.panel = Panel::Proposals;
            Decision::of(ui)
        }
        ListsAction::Drawer => {
            ui.panel = Panel::Drawer;
            Decision::of(ui)
        }
        ListsAction::TakeProposal => take_proposal(app, ui, nth),
        ListsAction::TakeChosen if ui.panel == Panel::Trail => {
            let chosen = ui.chosen_tried;
            trail::go_back(app, ui, chosen)
        }
        ListsAction::TakeChosen if ui.panel == Panel::Drawer => {
            let chosen = ui.chosen_lens;
            take_lens(app, ui, chosen)
        }
        ListsAction::TakeChosen => {
            let chosen = ui.chosen_proposal;
            take_proposal(app, ui, chosen)
        }
        ListsAction::ChooseNext => choose(app, ui, 1),
        ListsAction::ChoosePrevious => choose(app, ui, -1),
        ListsAction::PageNext => choose(app, ui, page(app)),
        ListsAction::PagePrevious => choose(app, ui, -page(app)),
        ListsAction::ShelfNext | ListsAction::ShelfPrevious if ui.box_page().is_some() => {
            if let Some(Page::Box(page)) = &mut ui.page {
                box_room::choose_beside(page, action == ListsAction::ShelfNext, app.page_rows.get().into());
            }
            Decision::of(ui)
        }
        ListsAction::ShelfNext | ListsAction::ShelfPrevious => {
            ui.shelf = ui.shelf.beside(&app.state().fitted.stock, action == ListsAction::ShelfNext);
            ui.chosen_lens = 0;
            Decision::of(ui)
        }
        ListsAction::Close => close(ui),
    }
}

/// Whether a command on a list would do something now.
pub fn is_available(app: &App, action: ListsAction) -> bool {
    let has_offer = || app.offers().is_some_and(|offers| !offers.list.is_empty());
    match action {
        ListsAction::Proposals => app.offers().is_some(),
        ListsAction::TakeProposal => has_offer(),
        ListsAction::TakeChosen => match app.ui.panel {
            Panel::Proposals => has_offer(),
            Panel::Trail => !trail::points(app).is_empty(),
            Panel::Cells | Panel::Drawer | Panel::Guide | Panel::Choosing => !shown(app).is_empty(),
        },
        ListsAction::Pair => app.state().wanted.all().is_some(),
        ListsAction::ChooseNext
        | ListsAction::ChoosePrevious
        | ListsAction::PageNext
        | ListsAction::PagePrevious
        | ListsAction::ShelfNext
        | ListsAction::ShelfPrevious
        | ListsAction::Close
        | ListsAction::Drawer => true,
    }
}

fn close(mut ui: Ui) -> Decision {
    if ui.sheet.take().is_some() || ui.asks.take().is_some() {
        return Decision::of(ui);
    }
    if let Some(page) = &mut ui.page {
        match page {
            Page::Records(records) if records.glasses_shown().is_some() => {
                // what was entered stays until it is noted
                if let Some(form) = &mut records.glasses {
                    form.shown = false;
                }
            }
            Page::Records(records) if records.open.is_some() => records.open = None,
            Page::Records(records) if !records.search.is_empty() => return records::find(ui, ""),
            Page::Box(page) => {
                if !box_room::close(page) {
                    ui.page = None;
                }
            }
            Page::Day(page) => {
                // who leaves the pass before its end is not led through it with the next person
                ui.screens &= page.shown != DayShown::Screening;
                if !day_room::close(page) {
                    ui.page = None;
                }
            }
            Page::Sight => {
                ui.page = None;
                ui.panel = ui.before_sight;
                ui.sight.by_itself = None;
            }
            Page::Practice(page) => {
                if page.ended().is_some_and(|ended| ended.replays) {
                    practice::stop_replay(page);
                } else if page.asking().is_some() {
                    return Decision::of(ui).with_request(PracticeRequest::Drills);
                } else if page.is_below_the_choices() {
                    return Decision::of(ui).with_request(PracticeRequest::Show);
                } else {
                    ui.page = None;
                }
            }
            Page::Records(_) | Page::Details(_) => ui.page = None,
        }
        return Decision::of(ui);
    }
    if ui.panel == Panel::Drawer && !ui.filter.is_empty() {
        ui.filter.clear();
        ui.chosen_lens = 0;
        return Decision::of(ui);
    }
    ui.panel = if ui.panel == Panel::Choosing { Panel::Guide } else { Panel::Cells };
    ui.instead = None;
    Decision::of(ui)
}

/// The lines that the drawer shows.
pub fn shown(app: &App) -> Vec<shelf::DrawerLine> {
    shelf::lines(&app.state().fitted.stock, app.ui.shelf, &app.ui.filter)
}

/// Goes some lines on or back in what is open.
pub fn choose(app: &App, mut ui: Ui, step: isize) -> Decision {
    let within = |chosen: usize, count: usize| chosen.saturating_add_signed(step).min(count.saturating_sub(1));
    if let Some(Sheet::Help(line) | Sheet::Prescription(line) | Sheet::Notes(line)) = &mut ui.sheet {
        *line = line.saturating_add_signed(step as i16);
    } else if let Some(page) = &mut ui.page {
        match page {
            Page::Details(row) => *row = within(*row, row_count()),
            Page::Records(records) => records::choose(records, step, usize::from(app.page_rows.get())),
            Page::Box(page) => box_room::choose(page, step),
            Page::Day(page) => day_room::choose(page, step),
            Page::Sight => {}
            Page::Practice(page) => practice::choose(app, page, step),
        }
    } else if ui.panel == Panel::Drawer {
        ui.chosen_lens = within(ui.chosen_lens, shown(app).len());
    } else if ui.panel == Panel::Trail {
        ui.chosen_tried = within(ui.chosen_tried, trail::points(app).len());
    } else {
        let count = app.offers().map_or(0, |offers| offers.list.len());
        ui.chosen_proposal = within(ui.chosen_proposal, count);
    }
    Decision::of(ui)
}

/// Goes to a row of the page that is open.
pub fn choose_row(ui: &mut Ui, row: usize) {
    match &mut ui.page {
        Some(Page::Details(chosen)) => *chosen = row.min(row_count() - 1),
        Some(Page::Records(records)) => records.chosen = row.min(records.list.len().saturating_sub(1)),
        Some(Page::Box(page)) => box_room::choose_row(page, row),
        Some(Page::Practice(page)) => page.chosen = row.min(page.rows().saturating_sub(1)),
        Some(Page::Day(page)) => page.chosen = row.min(page.lines().len().saturating_sub(1)),
        Some(Page::Sight) | None => {}
    }
}

/// A key in the drawer that is not a command: it filters.
pub fn filter(mut ui: Ui, chord: Chord) -> Decision {
    match chord.typed() {
        Some(character) if ui.filter.chars().count() < 30 => {
            // a filter looks through everything; a shelf can be chosen again afterwards
            if ui.filter.is_empty() {
                ui.shelf = Shelf::All;
            }
            ui.filter.push(character);
            ui.chosen_lens = 0;
        }
        None if chord.code() == KeyCode::Backspace => {
            ui.filter.pop();
            ui.chosen_lens = 0;
        }
        _ => {}
    }
    Decision::of(ui)
}

/// Takes a lens of the drawer: into the cell or hand in focus; a lens with an axis or a base is asked for it first.
pub fn take_lens(app: &App, mut ui: Ui, index: usize) -> Decision {
    let lines = shown(app);
    let Some(line) = lines.get(index) else {
        return Decision::refused(app, "the drawer shows no lens that fits the filter");
    };
    ui.chosen_lens = index;
    let into_the_hand = ui.spot() == Spot::Hand || line.lens.has_a_handle();
    let lens = line.lens.clone();
    if lens.has_direction() {
        let start = match &lens {
            Lens::Cylinder(mark) => format!("{mark}x"),
            Lens::Prism(mark) => format!("{}b", mark.dioptres()),
            Lens::CrossCylinder(mark) => format!("±{}x", mark.unsigned()),
            Lens::Sphere(_) | Lens::Accessory(_) => format!("{lens} x"),
        };
        ui.start_line(if into_the_hand { Purpose::Hold } else { Purpose::Lens }, start);
        return Decision::of(ui);
    }
    let asked = LensAsked { lens, direction: None };
    if into_the_hand { into_hand(app, ui, &asked) } else { into_cell(app, ui, &asked) }
}

/// Makes the moves of a proposal, as one step.
pub fn take_proposal(app: &App, mut ui: Ui, index: usize) -> Decision {
    let offers = app.offers();
    let Some(offer) = offers.as_ref().and_then(|offers| offers.list.get(index)) else {
        return Decision::refused(app, format!("there is no proposal {}", index + 1));
    };
    ui.panel = Panel::Cells;
    ui.instead = None;
    ui.chosen_proposal = 0;
    if offer.moves.is_empty() {
        ui.done("this is what is in the cells now");
        return Decision::of(ui);
    }
    ui.done(format!("proposal {} is in: {}", index + 1, offer.lenses));
    Decision::moves(ui, offer.moves.clone())
}
