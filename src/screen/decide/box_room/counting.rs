//! Commands in a stock-take.

use super::super::super::app::App;
use super::super::super::counting::Counting;
use super::super::super::keys::{ConfirmationAction, CountingAction};
use super::super::super::page::Confirmation;
use super::super::super::request::BoxRequest;
use super::super::super::ui::{BoxLine, Purpose, Ui};
use super::super::asking::ask;
use super::super::decision::Decision;
use crate::kit::stock_take::Said;

/// Does a command in a stock-take.
pub fn act(app: &App, mut ui: Ui, action: CountingAction) -> Decision {
    let Some(counting) = app.ui.counting() else { return Decision::of(ui) };
    match action {
        CountingAction::RowAsShown if counting.blind => going(ui, |counting| counting.go_to(counting.row + 1, 0)),
        CountingAction::RowAsShown => row_as_shown(ui, counting),
        CountingAction::CountMissing if counting.piece.is_none() && more_of(counting) > 0 => one_less(ui, counting),
        CountingAction::CountMissing => say(app, ui, counting, Said::is_there, |_| Said::Missing, "missing"),
        CountingAction::CountHere => say(app, ui, counting, |shown| *shown != Said::Here, |_| Said::Here, "here"),
        CountingAction::CountDamaged => match counting.meant(|shown| *shown == Said::Here) {
            Some(_) => Decision::line(ui, Purpose::Box(BoxLine::CountDamaged)),
            None => Decision::refused(app, "no whole piece of this lens is shown as here"),
        },
        CountingAction::CountMeasured => match counting.meant(Said::is_there) {
            Some(of) if of.piece.lens.power_range().is_some() => {
                Decision::line(ui, Purpose::Box(BoxLine::CountMeasured))
            }
            Some(of) => Decision::refused(app, format!("{} has no power that could be measured", of.piece.lens)),
            None => Decision::refused(app, "no piece of this lens is shown as here"),
        },
        CountingAction::CountStrange => Decision::line(ui, Purpose::Box(BoxLine::CountStrange)),
        CountingAction::CountMore => match counting.lens().cloned() {
            Some(lens) => {
                let mut filled = None;
                let next = counting.then(|take| filled = take.one_more(&lens));
                ui.done(match filled {
                    Some(piece) => format!("{piece}: here after all"),
                    None => format!("one more {lens} than the list has"),
                });
                keep(ui, next)
            }
            None => Decision::refused(app, "this row has no lens"),
        },
        CountingAction::CountWhich => going(ui, |counting| {
            let numbers: Vec<u8> = counting.pieces().iter().map(|of| of.piece.number).collect();
            let at = counting.piece.and_then(|chosen| numbers.iter().position(|number| *number == chosen));
            counting.piece = numbers.get(at.map_or(0, |at| at + 1)).copied();
        }),
        CountingAction::CountBlind => going(ui, |counting| counting.blind = !counting.blind),
        CountingAction::CountNote => {
            let note = counting.take.note().unwrap_or_default().to_owned();
            ui.start_line(Purpose::Box(BoxLine::CountNote), note);
            Decision::of(ui)
        }
        CountingAction::CountUndo => match counting.back() {
            Some(back) => {
                ui.done("undone");
                keep(ui, back)
            }
            None => Decision::refused(app, "nothing was said since the count was opened"),
        },
        CountingAction::CountEnd => going(ui, |counting| (counting.ends, counting.lens) = (true, 0)),
        CountingAction::CountYes => Decision::of(ui).with_request(BoxRequest::EndCount),
        CountingAction::CountGiveUp => {
            let text = "Give this count up? Nothing of it is noted.";
            ask(app, ui, Confirmation::GiveUpCount, text, "gives it up", "goes on with it")
        }
        CountingAction::LensNext => going(ui, |counting| counting.step(1)),
        CountingAction::LensPrevious => going(ui, |counting| counting.step(-1)),
        CountingAction::RowNext => going(ui, |counting| counting.go_to(counting.row + 1, counting.lens)),
        CountingAction::RowPrevious => {
            going(ui, |counting| counting.go_to(counting.row.saturating_sub(1), counting.lens))
        }
    }
}

/// Whether a command would do something now.
pub fn is_available(app: &App, action: CountingAction) -> bool {
    let Some(counting) = app.ui.counting() else { return false };
    match action {
        CountingAction::CountMissing => counting.meant(Said::is_there).is_some() || more_of(counting) > 0,
        CountingAction::CountHere => counting.meant(|shown| *shown != Said::Here).is_some(),
        CountingAction::CountDamaged => counting.meant(|shown| *shown == Said::Here).is_some(),
        CountingAction::CountMeasured => {
            counting.meant(Said::is_there).is_some_and(|of| of.piece.lens.power_range().is_some())
        }
        CountingAction::CountMore | CountingAction::CountWhich => counting.lens().is_some(),
        CountingAction::CountUndo => !counting.before.is_empty(),
        CountingAction::RowAsShown
        | CountingAction::CountStrange
        | CountingAction::CountNote
        | CountingAction::CountBlind
        | CountingAction::CountEnd
        | CountingAction::CountYes
        | CountingAction::CountGiveUp
        | CountingAction::LensNext
        | CountingAction::LensPrevious
        | CountingAction::RowNext
        | CountingAction::RowPrevious => true,
    }
}

/// How many of the chosen lens are more than the list has.
fn more_of(counting: &Counting) -> u8 {
    counting.lens().map_or(0, |lens| counting.take.more_of(lens))
}

/// Where there are more than the list has, one is not there of those first.
fn one_less(mut ui: Ui, counting: &Counting) -> Decision {
    let Some(lens) = counting.lens().cloned() else { return Decision::of(ui) };
    let next = counting.then(|take| {
        take.one_less(&lens);
    });
    ui.done(match next.take.more_of(&lens) {
        0 => format!("{lens}: not one more than the list has"),
        more => format!("{lens}: {more} more than the list has"),
    });
    keep(ui, next)
}

/// Gives the stock-take up that was asked about, or not.
pub fn give_up(ui: Ui, action: ConfirmationAction) -> Decision {
    match action {
        ConfirmationAction::Yes => Decision::of(ui).with_request(BoxRequest::GiveUpCount),
        ConfirmationAction::No => Decision::of(ui),
    }
}

/// A figure that is typed in a blind count: so many lie there, and on to the next lens.
pub fn types(ui: &Ui, character: char) -> Option<Decision> {
    let counting = ui.counting().filter(|counting| counting.blind)?;
    let (pieces, lens) = (character.to_digit(10)?, counting.lens()?.clone());
    let mut next = counting.then(|take| take.count_blind(&lens, pieces as u8));
    next.step(1);
    Some(keep(ui.clone(), next))
}

/// What is typed about the piece that is meant.
pub fn damaged(counting: &Counting, what: &str) -> Option<Counting> {
    let of = counting.meant(|shown| *shown == Said::Here)?;
    let what = (!what.is_empty()).then(|| what.to_owned());
    Some(counting.then(|take| take.say(&of.piece, Said::Damaged { what })))
}

/// Keeps what the count has become; it is shown once it is kept.
pub fn keep(ui: Ui, counting: Counting) -> Decision {
    Decision::of(ui).with_request(BoxRequest::KeepCount(Box::new(counting)))
}

fn row_as_shown(ui: Ui, counting: &Counting) -> Decision {
    let row = counting.row;
    let mut next = counting.then(|take| take.count_row(row, true));
    let after = (row + 1..next.take.rows().len()).find(|at| !next.take.rows()[*at].counted);
    if let Some(at) = after.or_else(|| next.take.next_row()) {
        next.go_to(at, 0);
    } else {
        // all are counted: what it comes to
        (next.ends, next.lens) = (true, 0);
    }
    keep(ui, next)
}

fn say(
    app: &App,
    mut ui: Ui,
    counting: &Counting,
    shows: impl Fn(&Said) -> bool,
    said: impl Fn(&Said) -> Said,
    word: &str,
) -> Decision {
    let Some(of) = counting.meant(&shows) else {
        return Decision::refused(app, format!("no piece of this lens is left that could be {word}"));
    };
    let said = said(&counting.take.shown(&of));
    ui.done(format!("{}: {word}", of.piece));
    keep(ui, counting.then(|take| take.say(&of.piece, said)))
}

fn going(mut ui: Ui, go: impl FnOnce(&mut Counting)) -> Decision {
    use super::super::super::box_page::BoxShown;
    use super::super::super::page::Page;
    if let Some(Page::Box(page)) = &mut ui.page
        && let BoxShown::Counting(counting) = &mut page.shown
    {
        go(counting);
    }
    Decision::of(ui)
}
