//! The Box screen, composed: one panel a file. Where each stands says [`layout`] alone.

mod advised;
mod counting;
mod counts;
mod keys;
pub mod layout;
mod listed;
mod looking;
mod makes;
mod new_frame;
mod place;
mod told;
mod tray;

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::box_page::{BoxPage, BoxShown};
use super::pen::Pen;
use layout::{Asked, BoxPart};

/// Draws what is shown of a box.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage) {
    match &page.shown {
        BoxShown::Tray => whole(pen, area, app, page),
        BoxShown::Boxes(list, chosen) => {
            let (list_area, keys_area) = above_keys(area, app);
            listed::boxes(pen, list_area, list, *chosen);
            keys::draw(pen, keys_area, app);
        }
        BoxShown::NewFrame(frame) => {
            let (text_area, keys_area) = above_keys(area, app);
            new_frame::draw(pen, text_area, frame);
            keys::draw(pen, keys_area, app);
        }
        BoxShown::Loans(chosen) => {
            let (list_area, keys_area) = above_keys(area, app);
            listed::loans(pen, list_area, page, *chosen);
            if !keys_area.is_empty() {
                keys::draw(pen, keys_area, app);
            }
        }
        BoxShown::Unsettled(chosen) => {
            let (list_area, keys_area) = above_keys(area, app);
            listed::unsettled(pen, list_area, page, *chosen);
            if !keys_area.is_empty() {
                keys::draw(pen, keys_area, app);
            }
        }
        BoxShown::Sheets { chosen, bag } => {
            let (list_area, keys_area) = above_keys(area, app);
            listed::sheets(pen, list_area, page, *chosen, *bag);
            keys::draw(pen, keys_area, app);
        }
        BoxShown::Counting(counting) => counting::draw(pen, area, app, page, counting),
        BoxShown::Makes(makes) => makes::draw(pen, area, app, page, *makes),
        BoxShown::Pairs(pairs) => {
            let (text_area, keys_area) = above_keys(area, app);
            looking::pairs(pen, text_area, pairs);
            keys::draw(pen, keys_area, app);
        }
        BoxShown::Unmarked(unmarked) => {
            let (text_area, keys_area) = above_keys(area, app);
            looking::unmarked(pen, text_area, page, unmarked);
            keys::draw(pen, keys_area, app);
        }
        BoxShown::Buy => {
            let (list_area, keys_area) = above_keys(area, app);
            advised::buy(pen, list_area, app, page);
            if !keys_area.is_empty() {
                keys::draw(pen, keys_area, app);
            }
        }
        BoxShown::Pack(pieces) => {
            let (list_area, keys_area) = above_keys(area, app);
            advised::pack(pen, list_area, app, page, *pieces);
            keys::draw(pen, keys_area, app);
        }
    }
}

/// What is above the keys, and the keys.
fn above_keys(area: Rect, app: &App) -> (Rect, Rect) {
    let rows = keys::rows(app, area.width).min(area.height / 2);
    let list = Rect { height: area.height - rows, ..area };
    (list, Rect { y: list.bottom(), height: rows, ..area })
}

/// The top line.
pub fn head(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage) {
    let said = page.shown.counting().map(|counting| counting::head(page, counting));
    counts::head(pen, area, app, page, said);
}

/// The tray, and what is known of the box beside it.
fn whole(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage) {
    let groups = tray::groups(pen, page);
    let plan = layout::plan(&Asked {
        area,
        tray_rows: &|columns| tray::rows(&groups, columns),
        rows_of: &|part, columns| match part {
            BoxPart::Tray => 0,
            BoxPart::Place => place::rows(app, page, columns),
            BoxPart::ToDo => told::to_do_rows(app, page, columns),
            BoxPart::Counts => counts::rows(page),
            BoxPart::Away => told::away_rows(page, columns),
            BoxPart::Lately => told::lately_rows(page, columns),
            BoxPart::Keys => keys::rows(app, columns),
        },
    });
    let mut groups = Some(groups);
    for (part, area) in plan {
        match part {
            BoxPart::Tray => tray::draw(pen, area, app, groups.take().unwrap_or_default()),
            BoxPart::Place => place::draw(pen, area, app, page),
            BoxPart::ToDo => told::to_do(pen, area, app, page),
            BoxPart::Counts => counts::draw(pen, area, page),
            BoxPart::Away => told::away(pen, area, page),
            BoxPart::Lately => told::lately(pen, area, page),
            BoxPart::Keys => keys::draw(pen, area, app),
        }
    }
}

/// Everything that the screen says of the box, line by line.
pub fn in_words(app: &App, page: &BoxPage) -> Vec<String> {
    let mut said = vec![counts::in_words(page)];
    match &page.shown {
        BoxShown::Tray => {}
        BoxShown::Boxes(list, chosen) => return listed::boxes_in_words(list, *chosen),
        BoxShown::NewFrame(frame) => return new_frame::in_words(frame),
        BoxShown::Loans(chosen) => return listed::loans_in_words(page, *chosen),
        BoxShown::Unsettled(chosen) => return listed::unsettled_in_words(page, *chosen),
        BoxShown::Sheets { chosen, bag } => return listed::sheets_in_words(page, *chosen, *bag),
        BoxShown::Counting(counting) => return counting::said(page, counting),
        BoxShown::Makes(makes) => return makes::said(app, page, *makes),
        BoxShown::Buy => return advised::to_buy(app, page),
        BoxShown::Pack(pieces) => return advised::bag(app, page, *pieces),
        BoxShown::Pairs(pairs) => return looking::pairs_in_words(pairs),
        BoxShown::Unmarked(unmarked) => return looking::unmarked_in_words(page, unmarked),
    }
    said.extend(place::in_words(app, page));
    said.extend(told::to_do_in_words(app, page));
    said.extend(tray::in_words(page));
    said
}
