//! The Box screen, composed: one panel a file. Where each stands says [`layout`] alone.

mod counts;
mod keys;
pub mod layout;
mod place;
mod told;
mod tray;

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::box_page::BoxPage;
use super::pen::Pen;
use layout::{Asked, BoxPart};

pub use counts::head;

/// Draws the box that is shown.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage) {
    let groups = tray::groups(pen, page);
    let plan = layout::plan(&Asked {
        area,
        tray_rows: &|columns| tray::rows(&groups, columns),
        rows_of: &|part, columns| match part {
            BoxPart::Tray => 0,
            BoxPart::Place => place::rows(page, columns),
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
            BoxPart::Place => place::draw(pen, area, page),
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
    said.extend(place::in_words(page));
    said.extend(told::to_do_in_words(app, page));
    said.extend(tray::in_words(page));
    said
}
