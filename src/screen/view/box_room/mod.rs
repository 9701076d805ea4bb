//! The Box screen, composed: one panel a file. Where each stands says [`layout`] alone.

mod counts;
mod keys;
pub mod layout;
mod place;
mod tray;

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::box_page::BoxPage;
use super::pen::Pen;
use layout::Asked;

pub use counts::head;

/// Draws the box that is shown.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage) {
    let groups = tray::groups(pen, page);
    let plan = layout::plan(&Asked {
        area,
        tray_rows: &|columns| tray::rows(&groups, columns),
        place_rows: &|columns| place::rows(page, columns),
        counts_rows: counts::rows(page),
    });
    tray::draw(pen, plan.tray, app, groups);
    place::draw(pen, plan.place, page);
    if !plan.counts.is_empty() {
        counts::draw(pen, plan.counts, page);
    }
    if !plan.away.is_empty() {
        counts::away(pen, plan.away, page);
    }
    if !plan.keys.is_empty() {
        keys::draw(pen, plan.keys, app);
    }
}

/// Everything that the screen says of the box, line by line.
pub fn in_words(page: &BoxPage) -> Vec<String> {
    let mut said = vec![counts::in_words(page)];
    said.extend(place::in_words(page));
    said.extend(tray::in_words(page));
    said
}
