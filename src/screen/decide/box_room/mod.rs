//! Commands on the Box screen: going about in the tray, and what happens to its pieces.

mod changes;
mod lines;

pub use lines::{confirm, is_in_words, takes_empty};

use super::super::app::App;
use super::super::box_page::BoxPage;
use super::super::keys::{BoxAction, ConfirmationAction};
use super::super::page::{Confirmation, Page};
use super::super::request::Request;
use super::super::ui::{BoxLine, Purpose, Ui};
use super::asking::ask;
use super::decision::Decision;
use changes::{Without, happens};

/// Does a command on a box.
pub fn act(app: &App, ui: Ui, action: BoxAction) -> Decision {
    if action == BoxAction::Open {
        return Decision::of(ui).with_request(Request::ShowBox(None));
    }
    let Some(page) = app.ui.box_page() else {
        return Decision::of(ui);
    };
    match action {
        BoxAction::Open => Decision::of(ui),
        BoxAction::MarkPiece => on_page(ui, BoxPage::mark),
        BoxAction::WhichPiece => on_page(ui, BoxPage::choose_next_piece),
        BoxAction::PieceLost => note(app, ui, &Without::LOST),
        BoxAction::PieceFound => note(app, ui, &Without::FOUND),
        BoxAction::PieceBack => note(app, ui, &Without::BROUGHT_BACK),
        BoxAction::PieceLent => line(app, ui, &Without::LENT, BoxLine::Lent, ""),
        BoxAction::PieceDamaged => line(app, ui, &Without::DAMAGED, BoxLine::Damaged, ""),
        BoxAction::PieceMeasured => match happens(page, &Without::MENDED) {
            Ok(_) => line(app, ui, &Without::MENDED, BoxLine::Measured, ""),
            Err(_) => line(app, ui, &Without::MEASURED, BoxLine::Measured, ""),
        },
        BoxAction::PieceMoved => line(app, ui, &Without::MOVED, BoxLine::Moved, ""),
        BoxAction::PieceNote => line(app, ui, &Without::NOTE, BoxLine::Note, ""),
        BoxAction::BoxUndo => Decision::of(ui).with_request(Request::TakeBackOfBox),
        BoxAction::PieceAdded => {
            let lens = page.lens().map(ToString::to_string).unwrap_or_default();
            let mut decision = Decision::line(ui, Purpose::Box(BoxLine::Added));
            decision.ui.start_line(Purpose::Box(BoxLine::Added), lens);
            decision
        }
        BoxAction::PieceOut => match happens(page, &Without::OUT_FOR_GOOD) {
            Err(why) => Decision::refused(app, why),
            Ok(happening) => {
                let text = format!("Take {} out of the box for good?", happening.pieces);
                ask(app, ui, Confirmation::OutForGood, &text, "takes out", "leaves as it is")
            }
        },
        BoxAction::FindPlace => Decision::line(ui, Purpose::Box(BoxLine::Place)),
    }
}

/// Whether a command on a box would do something now.
pub fn is_available(app: &App, action: BoxAction) -> bool {
    let page = app.ui.box_page();
    let can = |without: &Without| page.is_some_and(|page| happens(page, without).is_ok());
    match action {
        BoxAction::Open | BoxAction::FindPlace | BoxAction::PieceAdded => true,
        BoxAction::MarkPiece | BoxAction::WhichPiece => page.is_some_and(|page| page.pieces().next().is_some()),
        BoxAction::PieceLost => can(&Without::LOST),
        BoxAction::PieceFound => can(&Without::FOUND),
        BoxAction::PieceBack => can(&Without::BROUGHT_BACK),
        BoxAction::PieceLent => can(&Without::LENT),
        BoxAction::PieceDamaged => can(&Without::DAMAGED),
        BoxAction::PieceMeasured => can(&Without::MENDED) || can(&Without::MEASURED),
        BoxAction::PieceMoved => can(&Without::MOVED),
        BoxAction::PieceNote => can(&Without::NOTE),
        BoxAction::BoxUndo => page.is_some_and(|page| page.now.happened.iter().any(|happened| !happened.is_slip)),
        BoxAction::PieceOut => can(&Without::OUT_FOR_GOOD),
    }
}

/// Takes the pieces out for good that were asked about, or leaves them.
pub fn answer(app: &App, ui: Ui, action: ConfirmationAction) -> Decision {
    match action {
        ConfirmationAction::Yes => note(app, ui, &Without::OUT_FOR_GOOD),
        ConfirmationAction::No => Decision::of(ui),
    }
}

/// Notes at once what needs no more words.
fn note(app: &App, ui: Ui, without: &Without) -> Decision {
    let Some(page) = app.ui.box_page() else {
        return Decision::of(ui);
    };
    match happens(page, without) {
        Ok(happening) => Decision::of(ui).with_request(happening.noted()),
        Err(why) => Decision::refused(app, why),
    }
}

/// Asks for what more is to be said, where it can happen at all.
fn line(app: &App, ui: Ui, without: &Without, line: BoxLine, text: &str) -> Decision {
    match app.ui.box_page().map(|page| happens(page, without)) {
        Some(Err(why)) => Decision::refused(app, why),
        Some(Ok(_)) | None => {
            let mut ui = ui;
            ui.start_line(Purpose::Box(line), text);
            Decision::of(ui)
        }
    }
}

fn on_page(mut ui: Ui, change: impl FnOnce(&mut BoxPage)) -> Decision {
    if let Some(Page::Box(page)) = &mut ui.page {
        change(page);
    }
    Decision::of(ui)
}

/// Goes some places on or back in the order of the tray.
pub fn choose(page: &mut BoxPage, step: isize) {
    page.go_to(page.chosen.saturating_add_signed(step));
}

/// Goes to the column beside, where columns have so many rows; to the row beside where nothing was drawn yet.
pub fn choose_beside(page: &mut BoxPage, after: bool, rows: usize) {
    let mut columns: Vec<(usize, usize)> = Vec::new();
    let mut first = 0;
    for row in page.rows.iter() {
        let of_row = if rows == 0 { row.lenses.len().max(1) } else { rows };
        for column in row.lenses.chunks(of_row) {
            columns.push((first, column.len()));
            first += column.len();
        }
    }
    let Some(at) = columns.iter().rposition(|(first, _)| *first <= page.chosen) else { return };
    let within = page.chosen - columns[at].0;
    let to = if after { at + 1 } else { at.wrapping_sub(1) };
    if let Some((first, len)) = columns.get(to) {
        page.go_to(first + within.min(len - 1));
    }
}
