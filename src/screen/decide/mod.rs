//! What an input means. Nothing is changed here: a decision says which step the exam takes and how the screen looks then.

mod asking;
mod available;
mod box_room;
mod cells;
mod day_room;
mod decision;
mod details;
mod directed;
mod fault;
mod glasses;
pub mod guide;
mod lists;
mod open_record;
mod place;
mod practice;
mod practice_eye;
mod records;
mod sight;
pub mod trail;
mod typed;
mod written;

pub use available::is_available;
pub use day_room::lines_offered;
pub use decision::{After, Decision};
pub use records::{ask_for_the_day, ask_to_go_on};
pub use sight::{lines as lines_seen, to_judge};

use super::app::App;
use super::keys::{
    Action, BoxAction, Chord, Context, DayAction, DetailsAction, ExportAction, GuideAction, PracticeAction,
    RecordsAction, ScreenAction, StepsAction, TypingAction,
};
use super::page::{Confirmation, Page};
use super::spot::Spot;
use super::ui::{Answered, BoxLine, Input, Panel, Purpose, Sheet, Target, Ui};
use crate::exam::{Event, GuideEvent};

/// What an input means now.
pub fn decide(app: &App, input: &Input) -> Decision {
    let mut decision = match input {
        Input::Key(chord) => key(app, *chord),
        Input::Paste(text) => typed::paste(app, text),
        Input::Click(target) => click(app, *target),
        Input::Wheel(target, step) => wheel(app, *target, *step),
    };
    decision.ui.offers_kit &= decision.ui.sheet.is_some();
    let happens = decision.step.events();
    if happens.is_empty() {
        if let Some(Answered::Chosen { begins, .. }) = &mut decision.ui.answered {
            *begins = None;
        }
    } else {
        if !happens.iter().any(is_answer) {
            decision.ui.answered = None;
        }
        // both were taken from the lenses as they were before this step
        decision.ui.instead = None;
        decision.ui.carrying = None;
        // what is shown again is what stands there
        decision.ui.sight.is_away = false;
    }
    decision
}

/// Whether the guide was answered, left or begun.
fn is_answer(event: &Event) -> bool {
    let Event::Guide(event) = event else { return false };
    match event {
        GuideEvent::SetOut(_)
        | GuideEvent::TakenOver(_)
        | GuideEvent::Corrected { .. }
        | GuideEvent::ProceduresChanged { .. }
        | GuideEvent::Chose(_) => false,
        GuideEvent::Began { .. }
        | GuideEvent::Answered { .. }
        | GuideEvent::Skipped { .. }
        | GuideEvent::Repeated
        | GuideEvent::Left => true,
    }
}

fn key(app: &App, chord: Chord) -> Decision {
    let ui = app.ui.clone();
    match app.settings.keys.lookup(ui.context(), chord) {
        Some((action, nth)) => act(app, ui, action, nth),
        None => unbound(app, ui, chord),
    }
}

/// What a key does on the screen underneath something that any key puts away.
fn underneath(app: &App, ui: Ui, chord: Chord) -> Decision {
    match app.settings.keys.lookup(ui.context(), chord) {
        Some((action, nth)) => act(app, ui, action, nth),
        None if chord.typed().is_some_and(starts_lens) => unbound(app, ui, chord),
        None => Decision::of(ui),
    }
}

/// A key that is not a command: text where text is taken, the start of a lens on the frame.
fn unbound(app: &App, mut ui: Ui, chord: Chord) -> Decision {
    match (ui.context(), chord.typed()) {
        (Context::Typing, _) => typed::edit(ui, chord),
        (Context::Drawer, _) => lists::filter(ui, chord),
        // the key puts it away and does nothing else, but that no character of a lens is lost
        (Context::Reading | Context::Offering, typed) => {
            ui.sheet = None;
            let starts = typed.is_some_and(starts_lens) && ui.context().takes_lenses();
            if starts { unbound(app, ui, chord) } else { Decision::of(ui) }
        }
        // whoever works on has gone on with the exam, and no character of a lens is lost
        (Context::Asking, _) if ui.asks == Some(Confirmation::GoOn) => {
            underneath(app, Ui { asks: None, says: None, ..ui }, chord)
        }
        (Context::Asking, _) => {
            // a question whose words are gone must not wait for an answer
            ui.asks = None;
            ui.refused(format!("{chord} is not an answer: nothing was done"));
            Decision::of(ui)
        }
        (Context::Details | Context::Words, Some(character))
            if (starts_lens(character) || ui.context() == Context::Words)
                && is_available(app, DetailsAction::EnterDetail) =>
        {
            if let Some(field) = details::chosen(&ui).filter(|field| field.taken_from_cells().is_none()) {
                ui.start_line(Purpose::Detail(field), character);
            }
            Decision::of(ui)
        }
        (Context::Guide, Some(character)) => match guide::types_on(app, character) {
            Some(decision) => decision,
            None if starts_lens(character) && is_available(app, GuideAction::TypeAnswer) => {
                ui.start_line(Purpose::Answer, character);
                Decision::of(ui)
            }
            None => does_nothing(app, ui, chord),
        },
        (Context::Cells | Context::Proposals | Context::Sight | Context::Streak, Some(character))
            if starts_lens(character) =>
        {
            let purpose = if ui.spot() == Spot::Hand { Purpose::Hold } else { Purpose::Lens };
            ui.start_line(purpose, character);
            Decision::of(ui)
        }
        (Context::Blind, Some(character)) if character.is_ascii_digit() => {
            box_room::types_in_count(&ui, character).unwrap_or_else(|| Decision::of(ui))
        }
        (Context::Box | Context::Counting, Some(character)) if starts_lens(character) => {
            ui.start_line(Purpose::Box(BoxLine::Place), character);
            Decision::of(ui)
        }
        (
            Context::Cells
            | Context::Carrying
            | Context::Proposals
            | Context::Guide
            | Context::Choosing
            | Context::Trail
            | Context::Details
            | Context::Words
            | Context::Records
            | Context::Record
            | Context::Returning
            | Context::Box
            | Context::Boxes
            | Context::Framing
            | Context::Loans
            | Context::Unsettled
            | Context::Sheets
            | Context::Counting
            | Context::Blind
            | Context::Ending
            | Context::Makes
            | Context::Buying
            | Context::Packing
            | Context::Pairs
            | Context::Turning
            | Context::Unmarked
            | Context::Day
            | Context::Sight
            | Context::Streak
            | Context::Outcome
            | Context::Screening
            | Context::Shelf
            | Context::Practising,
            _,
        ) => does_nothing(app, ui, chord),
    }
}

fn does_nothing(app: &App, mut ui: Ui, chord: Chord) -> Decision {
    let help = app.settings.keys.key_of(ScreenAction::Help);
    ui.refused(format!("{chord} does nothing here: {help} shows what does"));
    Decision::of(ui)
}

fn starts_lens(character: char) -> bool {
    character.is_ascii_digit() || matches!(character, '+' | '-' | '\u{2212}' | '.')
}

fn act(app: &App, mut ui: Ui, action: Action, nth: usize) -> Decision {
    ui.says = None;
    if let Some(why) = available::refused_in_practice(app, action) {
        return Decision::refused(app, why);
    }
    match action {
        Action::Typing(TypingAction::Confirm) => typed::confirm(app),
        Action::Typing(TypingAction::Cancel) => {
            ui.prompt = None;
            Decision::of(ui)
        }
        Action::Cells(action) => cells::act(app, ui, action),
        Action::Lists(action) => lists::act(app, ui, action, nth),
        Action::Guide(action) => guide::act(app, ui, action, nth),
        Action::Trail(action) => trail::act(app, ui, action, nth),
        Action::Details(action) => details::act(app, ui, action),
        Action::Records(action) => records::act(app, ui, action),
        Action::Box(action) => box_room::act(app, ui, action),
        Action::Counting(action) => box_room::act_in_count(app, ui, action),
        Action::Makes(action) => box_room::act_on_map(app, ui, action),
        Action::Looking(action) => box_room::act_on_looks(app, ui, action),
        Action::Day(action) => day_room::act(app, ui, action),
        Action::OfOutcome(action) => day_room::act_on_outcome(app, ui, action, nth),
        Action::OfScreening(action) => day_room::act_in_screening(app, ui, action, nth),
        Action::Sight(action) => sight::act(app, ui, action, nth),
        Action::Practice(action) => practice::act(app, ui, action, nth),
        Action::PracticeEye(action) => practice_eye::act(app, ui, action),
        Action::Export(ExportAction(form)) => records::export(ui, form),
        Action::Confirmation(action) => records::answer(app, ui, action),
        Action::Steps(StepsAction::Undo) => {
            ui.done("undone");
            Decision::of(ui).with_step(Event::Undone)
        }
        Action::Steps(StepsAction::Redo) => {
            ui.done("done again");
            Decision::of(ui).with_step(Event::Redone)
        }
        Action::Screen(action) => screen(ui, action),
    }
}

/// What is only looked at, how it looks, and leaving.
fn screen(mut ui: Ui, action: ScreenAction) -> Decision {
    match action {
        ScreenAction::OtherEye => {
            ui.eye = ui.eye.other();
            (ui.chosen_proposal, ui.chosen_tried) = (0, 0);
            if ui.panel == Panel::Proposals {
                ui.panel = Panel::Cells;
            }
        }
        ScreenAction::Transpose => ui.form = ui.form.other(),
        ScreenAction::Theme => ui.theme = ui.theme.next(),
        ScreenAction::Cautions => ui.sheet = Some(Sheet::Cautions),
        ScreenAction::Prescription => ui.sheet = Some(Sheet::Prescription(0)),
        ScreenAction::Help => ui.sheet = Some(Sheet::Help(0)),
        ScreenAction::SkipLesson => ui.learns = ui.learns.map(|step| step + 1),
        ScreenAction::Quit => return Decision { after: After::Leaves, ..Decision::of(ui) },
        ScreenAction::Suspend => return Decision { after: After::StepsAside, ..Decision::of(ui) },
        ScreenAction::DrawAll => return Decision { after: After::DrawsAll, ..Decision::of(ui) },
    }
    Decision::of(ui)
}

fn click(app: &App, target: Target) -> Decision {
    let mut ui = app.ui.clone();
    // a click beside a typed line or an open sheet must not lose what was typed
    if ui.prompt.is_some() || ui.sheet.is_some() || ui.asks.is_some() {
        return match target {
            Target::Action(action) => act(app, ui, action, 0),
            Target::Spot(..)
            | Target::Dial(_)
            | Target::Lens(_)
            | Target::Proposal(_)
            | Target::Answer(_)
            | Target::Tried(_)
            | Target::Row(..)
            | Target::Place(_) => Decision::of(ui),
        };
    }
    ui.says = None;
    match target {
        Target::Spot(eye, spot) => {
            ui.eye = eye;
            ui.spots[eye] = spot;
            ui.panel = Panel::Cells;
            Decision::of(ui)
        }
        Target::Dial(eye) => {
            ui.eye = eye;
            ui.panel = Panel::Cells;
            Decision::of(ui)
        }
        Target::Lens(index) => lists::take_lens(app, ui, index),
        Target::Proposal(index) => lists::take_proposal(app, ui, index),
        Target::Answer(nth) => {
            let choosing = ui.panel == Panel::Choosing;
            let action = if choosing { GuideAction::PickProcedure } else { GuideAction::Answer };
            if !choosing {
                ui.panel = Panel::Guide;
            }
            act(app, ui, action.into(), nth)
        }
        Target::Tried(nth) => trail::go_back(app, ui, nth),
        Target::Action(action) => act(app, ui, action, 0),
        Target::Row(row, eye) => {
            let before = (ui.page.clone(), ui.eye);
            ui.eye = eye.unwrap_or(ui.eye);
            lists::choose_row(&mut ui, row);
            // a click on what is chosen already does what its key does
            match &ui.page {
                Some(Page::Details(_)) if before == (ui.page.clone(), ui.eye) => {
                    act(app, ui, DetailsAction::EnterDetail.into(), 0)
                }
                Some(Page::Records(_)) if before.0 == ui.page => act(app, ui, RecordsAction::OpenRecord.into(), 0),
                Some(Page::Day(_)) if before.0 == ui.page => act(app, ui, DayAction::CallIn.into(), 0),
                Some(Page::Practice(_)) if before.0 == ui.page => act(app, ui, PracticeAction::PracticeTake.into(), 0),
                Some(
                    Page::Details(_) | Page::Records(_) | Page::Box(_) | Page::Day(_) | Page::Practice(_) | Page::Sight,
                )
                | None => Decision::of(ui),
            }
        }
        Target::Place(place) => {
            let was_chosen = ui.box_page().is_some_and(|page| page.chosen == place);
            if let Some(Page::Box(page)) = &mut ui.page {
                page.go_to(place);
            }
            if was_chosen { act(app, ui, BoxAction::MarkPiece.into(), 0) } else { Decision::of(ui) }
        }
    }
}

fn wheel(app: &App, target: Target, step: i8) -> Decision {
    let mut ui = app.ui.clone();
    if ui.prompt.is_some() || ui.sheet.is_some() || ui.asks.is_some() {
        return Decision::of(ui);
    }
    ui.says = None;
    match target {
        Target::Spot(eye, spot) => cells::turn_at(app, ui, eye, Some(spot), i32::from(step)),
        Target::Dial(eye) => cells::turn_at(app, ui, eye, None, i32::from(step)),
        Target::Lens(_) => {
            ui.panel = Panel::Drawer;
            lists::choose(app, ui, -isize::from(step))
        }
        Target::Proposal(_) => {
            ui.panel = Panel::Proposals;
            lists::choose(app, ui, -isize::from(step))
        }
        Target::Tried(_) | Target::Row(..) | Target::Place(_) => lists::choose(app, ui, -isize::from(step)),
        Target::Answer(_) | Target::Action(_) => Decision::of(ui),
    }
}
