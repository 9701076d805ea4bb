//! Commands on the Box screen: going about in the tray, and what happens to its pieces.

mod changes;
mod counting;
mod lines;
mod looking;
mod makes;
mod new_frame;
mod sheets;

pub use counting::{act as act_in_count, give_up, is_available as is_available_in_count, types as types_in_count};
pub use lines::{confirm, is_in_words, takes_empty};
pub use looking::{act as act_on_looks, is_available as is_available_on_looks};
pub use makes::act as act_on_map;

use super::super::app::App;
use super::super::box_page::{BAG, BAG_STEP, BoxPage, BoxShown, LEAST_BAG, MOST_BAG, Makes};
use super::super::box_sheets::sheets_of;
use super::super::keys::{BoxAction, ConfirmationAction};
use super::super::page::{Confirmation, Page};
use super::super::request::BoxRequest;
use super::super::ui::{BoxLine, Purpose, Ui};
use super::asking::ask;
use super::decision::Decision;
use crate::frame::FrameQuestion;
use crate::kit::{BoxChange, Piece, SettledAt};
use crate::session::{NotSettled, OnLoan, ToNote};
use changes::{Without, happens};

/// Does a command on a box.
pub fn act(app: &App, ui: Ui, action: BoxAction) -> Decision {
    if action == BoxAction::Open {
        return Decision::of(ui).with_request(BoxRequest::ShowBox(None));
    }
    if let Some(line) = own(action) {
        let mut decision = Decision::line(Ui { sheet: None, ..ui }, Purpose::Box(line));
        decision.request = Some(BoxRequest::ShowBox(None).into());
        return decision;
    }
    let Some(page) = app.ui.box_page() else {
        return Decision::of(ui);
    };
    match action {
        BoxAction::Open | BoxAction::OwnBox | BoxAction::OwnFrame => Decision::of(ui),
        BoxAction::MarkPiece if chosen_loan(page).is_some() => {
            let piece = chosen_loan(page).map(|loan| loan.piece.clone());
            on_page(ui, |page| page.marked_or_not(piece))
        }
        BoxAction::MarkPiece => on_page(ui, BoxPage::mark),
        BoxAction::WhichPiece => on_page(ui, BoxPage::choose_next_piece),
        BoxAction::PieceLost => note(app, ui, &Without::LOST),
        BoxAction::PieceFound => note(app, ui, &Without::FOUND),
        BoxAction::PieceBack if chosen_loan(page).is_some() => bring_back(app, ui, page),
        BoxAction::PieceBack => note(app, ui, &Without::BROUGHT_BACK),
        BoxAction::PieceLent => line(app, ui, &Without::LENT, BoxLine::Lent, ""),
        BoxAction::PieceDamaged => line(app, ui, &Without::DAMAGED, BoxLine::Damaged, ""),
        BoxAction::PieceMeasured => match happens(page, &Without::MENDED) {
            Ok(_) => line(app, ui, &Without::MENDED, BoxLine::Measured, ""),
            Err(_) => line(app, ui, &Without::MEASURED, BoxLine::Measured, ""),
        },
        BoxAction::PieceMoved => line(app, ui, &Without::MOVED, BoxLine::Moved, ""),
        BoxAction::PieceNote => line(app, ui, &Without::NOTE, BoxLine::Note, ""),
        BoxAction::BoxUndo => Decision::of(ui).with_request(BoxRequest::TakeBackOfBox),
        BoxAction::PieceAdded => {
            let lens = page.lens().map(ToString::to_string);
            begin_line(ui, BoxLine::Added, lens.unwrap_or_default())
        }
        BoxAction::PieceOut => match happens(page, &Without::OUT_FOR_GOOD) {
            Err(why) => Decision::refused(app, why),
            Ok(happening) => {
                let text = format!("Take {} out of the box for good?", happening.pieces);
                ask(app, ui, Confirmation::OutForGood, &text, "takes out", "leaves as it is")
            }
        },
        BoxAction::FindPlace => Decision::line(ui, Purpose::Box(BoxLine::Place)),
        BoxAction::AllBoxes => Decision::of(ui).with_request(BoxRequest::ListBoxes),
        BoxAction::NextBox => Decision::of(ui).with_request(BoxRequest::NextBox),
        BoxAction::StockTake => Decision::of(ui).with_request(BoxRequest::Count),
        BoxAction::Loans => on_page(ui, |page| page.shown = BoxShown::Loans(0)),
        BoxAction::Unsettled if page.now.unsettled.is_empty() => {
            Decision::refused(app, "nothing is to be settled: all seats say the same of every piece")
        }
        BoxAction::Unsettled => on_page(ui, |page| page.shown = BoxShown::Unsettled(0)),
        BoxAction::SettleInBox => settle(app, ui, page, &SettledAt::Box),
        BoxAction::SettleLost => settle(app, ui, page, &SettledAt::Lost),
        BoxAction::WhatToBuy => on_page(ui, |page| page.shown = BoxShown::Buy),
        BoxAction::CostOfLoss => on_page(ui, |page| page.with_cost = !page.with_cost),
        BoxAction::BuyPrices => {
            let file = page.buying.prices.as_ref().map(|list| list.file.display().to_string());
            begin_line(ui, BoxLine::Prices, file.unwrap_or_default())
        }
        BoxAction::BuyBudget => {
            let budget = page.buying.budget.map(|budget| format!("{budget}"));
            begin_line(ui, BoxLine::Budget, budget.unwrap_or_default())
        }
        BoxAction::Sheets => {
            let bag = page.shown.bag().unwrap_or(BAG);
            on_page(ui, |page| page.shown = BoxShown::Sheets { chosen: 0, bag })
        }
        BoxAction::WriteSheet => sheets::ask(page, ui),
        BoxAction::PackBag => on_page(ui, |page| page.shown = BoxShown::Pack(BAG)),
        BoxAction::BagMore => in_bag(ui, |pieces| (pieces + BAG_STEP).min(MOST_BAG)),
        BoxAction::BagFewer => in_bag(ui, |pieces| pieces.saturating_sub(BAG_STEP).max(LEAST_BAG)),
        BoxAction::CheckOut if !app.session.lasts() => {
            Decision::refused(app, "a bag is checked out in a logbook, and there is none")
        }
        BoxAction::CheckOut => Decision::line(ui, Purpose::Box(BoxLine::CheckOut)),
        BoxAction::AllBack => all_back(app, ui, page),
        BoxAction::NewBox => Decision::line(ui, Purpose::Box(BoxLine::NewBox)),
        BoxAction::NewFrame => Decision::line(ui, Purpose::Box(BoxLine::NewFrame)),
        BoxAction::FrameAnswer => new_frame::answer_or_write(app, ui),
        BoxAction::WhatItMakes => on_page(ui, |page| page.shown = BoxShown::Makes(Makes::default())),
        BoxAction::OpenChosen => open_chosen(app, ui, page),
    }
}

/// Begins a line that has something in it already.
fn begin_line(mut ui: Ui, line: BoxLine, text: String) -> Decision {
    ui.start_line(Purpose::Box(line), text);
    Decision::of(ui)
}

/// Goes to what is chosen in a list.
fn open_chosen(app: &App, ui: Ui, page: &BoxPage) -> Decision {
    match &page.shown {
        BoxShown::Boxes(list, chosen) => match list.get(*chosen) {
            Some(known) => {
                let other = (!known.is_of_the_exam).then(|| known.key.clone());
                Decision::of(ui).with_request(BoxRequest::ShowBox(other))
            }
            None => Decision::refused(app, "no box is known"),
        },
        BoxShown::Loans(_) => show_place(ui, chosen_loan(page).map(|loan| loan.piece.clone())),
        BoxShown::Unsettled(_) => show_place(ui, chosen_unsettled(page).map(|one| one.piece.clone())),
        BoxShown::Sheets { .. }
        | BoxShown::Tray
        | BoxShown::NewFrame(_)
        | BoxShown::Counting(_)
        | BoxShown::Makes(_)
        | BoxShown::Buy
        | BoxShown::Pack(_)
        | BoxShown::Pairs(_)
        | BoxShown::Unmarked(_) => Decision::of(ui),
    }
}

/// Goes to the place of a piece in the tray.
fn show_place(ui: Ui, piece: Option<Piece>) -> Decision {
    on_page(ui, |page| {
        if let Some(at) = piece.as_ref().and_then(|piece| page.place_of(&piece.lens)) {
            page.go_to(at);
            page.piece = piece.map(|piece| piece.number);
        }
        page.shown = BoxShown::Tray;
    })
}

/// The chosen piece of which seats say different things, where those are shown.
fn chosen_unsettled(page: &BoxPage) -> Option<&NotSettled> {
    page.now.unsettled.get(page.shown.unsettled()?)
}

/// Settles where the chosen piece is.
fn settle(app: &App, ui: Ui, page: &BoxPage, at: &SettledAt) -> Decision {
    let Some(one) = chosen_unsettled(page) else {
        return Decision::refused(app, "nothing is unsettled");
    };
    if !one.is_of_the_place {
        return Decision::refused(app, "its damage or power is settled by noting that once more, at its place");
    }
    let piece = one.piece.clone();
    let said = format!("{piece} is settled: {at}");
    let changes = vec![BoxChange::Settled { piece, at: at.clone() }];
    Decision::of(ui).with_request(BoxRequest::ChangeBox { to_note: ToNote { changes, note: None }, said })
}

/// What is asked where a kit of one's own is wanted at the first start.
fn own(action: BoxAction) -> Option<BoxLine> {
    if action == BoxAction::OwnBox {
        Some(BoxLine::OwnBox)
    } else if action == BoxAction::OwnFrame {
        Some(BoxLine::NewFrame)
    } else {
        None
    }
}

fn in_bag(ui: Ui, change: impl FnOnce(usize) -> usize) -> Decision {
    on_page(ui, |page| {
        if let BoxShown::Pack(pieces) = &mut page.shown {
            *pieces = change(*pieces);
        }
    })
}

/// Notes that everything that the borrower of the chosen loan has is back, but that what is marked of it is lost.
fn all_back(app: &App, ui: Ui, page: &BoxPage) -> Decision {
    let Some(chosen) = chosen_loan(page) else {
        return Decision::refused(app, "nothing is lent");
    };
    let of_borrower = page.now.loans.iter().filter(|loan| loan.to == chosen.to);
    let change = |loan: &OnLoan| {
        let piece = loan.piece.clone();
        if page.marked.contains(&piece) { BoxChange::Lost(piece) } else { BoxChange::Returned(piece) }
    };
    let changes: Vec<BoxChange> = of_borrower.map(change).collect();
    let lost = changes.iter().filter(|change| change.takes_away()).count();
    let who = chosen.to.as_deref().unwrap_or("whoever has it");
    let but = if lost == 0 { String::new() } else { format!(", {lost} lost") };
    let said = format!("{} back from {who}{but}", changes.len() - lost);
    Decision::of(ui).with_request(BoxRequest::ChangeBox { to_note: ToNote { changes, note: None }, said })
}

/// The chosen loan, where loans are shown.
fn chosen_loan(page: &BoxPage) -> Option<&OnLoan> {
    page.now.loans.get(page.shown.loan()?)
}

/// Notes that the chosen loan is back.
fn bring_back(app: &App, ui: Ui, page: &BoxPage) -> Decision {
    let Some(loan) = chosen_loan(page) else { return Decision::of(ui) };
    let mut as_marked = page.clone();
    as_marked.marked = vec![loan.piece.clone()];
    match happens(&as_marked, &Without::BROUGHT_BACK) {
        Ok(happening) => Decision::of(ui).with_request(happening.noted()),
        Err(why) => Decision::refused(app, why),
    }
}

/// Whether a command on a box would do something now.
pub fn is_available(app: &App, action: BoxAction) -> bool {
    let page = app.ui.box_page();
    let can = |without: &Without| page.is_some_and(|page| happens(page, without).is_ok());
    match action {
        BoxAction::Open
        | BoxAction::FindPlace
        | BoxAction::PieceAdded
        | BoxAction::StockTake
        | BoxAction::Loans
        | BoxAction::WhatToBuy
        | BoxAction::PackBag
        | BoxAction::BagMore
        | BoxAction::BagFewer
        | BoxAction::BuyPrices
        | BoxAction::BuyBudget
        | BoxAction::WhatItMakes => true,
        BoxAction::CostOfLoss => page.is_some_and(|page| page.lens().is_some()),
        BoxAction::AllBack => page.is_some_and(|page| chosen_loan(page).is_some()),
        BoxAction::Unsettled => page.is_some_and(|page| !page.now.unsettled.is_empty()),
        BoxAction::SettleInBox | BoxAction::SettleLost => {
            page.is_some_and(|page| chosen_unsettled(page).is_some_and(|one| one.is_of_the_place))
        }
        // without a logbook there is no other
        BoxAction::AllBoxes
        | BoxAction::NextBox
        | BoxAction::NewBox
        | BoxAction::OwnBox
        | BoxAction::OwnFrame
        | BoxAction::NewFrame
        | BoxAction::CheckOut
        | BoxAction::Sheets
        | BoxAction::WriteSheet => app.session.lasts(),
        BoxAction::FrameAnswer => page.is_some_and(|page| page.shown.new_frame().is_some()),
        BoxAction::OpenChosen => page.is_some_and(|page| match &page.shown {
            BoxShown::Boxes(list, _) => !list.is_empty(),
            BoxShown::Loans(_) => !page.now.loans.is_empty(),
            BoxShown::Unsettled(_) => !page.now.unsettled.is_empty(),
            BoxShown::Tray
            | BoxShown::NewFrame(_)
            | BoxShown::Sheets { .. }
            | BoxShown::Counting(_)
            | BoxShown::Makes(_)
            | BoxShown::Buy
            | BoxShown::Pack(_)
            | BoxShown::Pairs(_)
            | BoxShown::Unmarked(_) => false,
        }),
        BoxAction::MarkPiece if page.is_some_and(|page| page.shown.loan().is_some()) => {
            page.is_some_and(|page| chosen_loan(page).is_some())
        }
        BoxAction::MarkPiece | BoxAction::WhichPiece => page.is_some_and(|page| page.pieces().next().is_some()),
        BoxAction::PieceLost => can(&Without::LOST),
        BoxAction::PieceFound => can(&Without::FOUND),
        BoxAction::PieceBack if page.is_some_and(|page| page.shown.loan().is_some()) => {
            page.is_some_and(|page| chosen_loan(page).is_some())
        }
        BoxAction::PieceBack => can(&Without::BROUGHT_BACK),
        BoxAction::PieceLent => can(&Without::LENT),
        BoxAction::PieceDamaged => can(&Without::DAMAGED),
        BoxAction::PieceMeasured => can(&Without::MENDED) || can(&Without::MEASURED),
        BoxAction::PieceMoved => can(&Without::MOVED),
        BoxAction::PieceNote => can(&Without::NOTE),
        BoxAction::BoxUndo => page
            .is_some_and(|page| page.now.happened.iter().any(|happened| !happened.is_slip && happened.seat.is_none())),
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
    if let Some(Err(why)) = app.ui.box_page().map(|page| happens(page, without)) {
        return Decision::refused(app, why);
    }
    let mut ui = ui;
    ui.start_line(Purpose::Box(line), text);
    Decision::of(ui)
}

fn on_page(mut ui: Ui, change: impl FnOnce(&mut BoxPage)) -> Decision {
    if let Some(Page::Box(page)) = &mut ui.page {
        change(page);
    }
    Decision::of(ui)
}

/// Goes some places on or back in the order of the tray, or lines in a list.
pub fn choose(page: &mut BoxPage, step: isize) {
    let within = |chosen: usize, count: usize| chosen.saturating_add_signed(step).min(count.saturating_sub(1));
    match &mut page.shown {
        BoxShown::Tray => page.go_to(page.chosen.saturating_add_signed(step)),
        BoxShown::Boxes(list, chosen) => *chosen = within(*chosen, list.len()),
        BoxShown::Loans(chosen) => *chosen = within(*chosen, page.now.loans.len()),
        BoxShown::Unsettled(chosen) => *chosen = within(*chosen, page.now.unsettled.len()),
        // the row after the questions writes the file
        BoxShown::NewFrame(frame) => frame.chosen = within(frame.chosen, FrameQuestion::ALL.len() + 1),
        BoxShown::Sheets { chosen, bag } => {
            let (at, bag) = (*chosen, *bag);
            let chosen = within(at, sheets_of(page, bag).len());
            page.shown = BoxShown::Sheets { chosen, bag };
        }
        BoxShown::Counting(counting) if counting.ends => counting.lens = counting.lens.saturating_add_signed(step),
        BoxShown::Counting(counting) => counting.step(step),
        BoxShown::Makes(_) | BoxShown::Buy | BoxShown::Pack(_) | BoxShown::Pairs(_) | BoxShown::Unmarked(_) => {}
    }
}

/// Goes to a row of what is shown, or to a place of the tray.
pub fn choose_row(page: &mut BoxPage, row: usize) {
    match &mut page.shown {
        BoxShown::NewFrame(frame) => frame.chosen = row.min(FrameQuestion::ALL.len()),
        BoxShown::Boxes(list, chosen) => *chosen = row.min(list.len().saturating_sub(1)),
        BoxShown::Loans(chosen) => *chosen = row.min(page.now.loans.len().saturating_sub(1)),
        BoxShown::Unsettled(chosen) => *chosen = row.min(page.now.unsettled.len().saturating_sub(1)),
        BoxShown::Sheets { bag, .. } => {
            let bag = *bag;
            let chosen = row.min(sheets_of(page, bag).len().saturating_sub(1));
            page.shown = BoxShown::Sheets { chosen, bag };
        }
        BoxShown::Tray
        | BoxShown::Counting(_)
        | BoxShown::Makes(_)
        | BoxShown::Buy
        | BoxShown::Pack(_)
        | BoxShown::Pairs(_)
        | BoxShown::Unmarked(_) => page.go_to(row),
    }
}

/// Goes one level back, and says whether that was still on the box.
pub fn close(page: &mut BoxPage) -> bool {
    match &mut page.shown {
        BoxShown::Tray if page.marked.is_empty() => return false,
        BoxShown::Tray => page.marked.clear(),
        BoxShown::Counting(counting) if counting.ends => (counting.ends, counting.lens) = (false, 0),
        BoxShown::Counting(_)
        | BoxShown::Boxes(..)
        | BoxShown::NewFrame(_)
        | BoxShown::Loans(_)
        | BoxShown::Unsettled(_)
        | BoxShown::Sheets { .. }
        | BoxShown::Makes(_)
        | BoxShown::Buy
        | BoxShown::Pack(_)
        | BoxShown::Pairs(_)
        | BoxShown::Unmarked(_) => {
            page.shown = BoxShown::Tray;
        }
    }
    true
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
