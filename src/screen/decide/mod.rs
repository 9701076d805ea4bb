//! What an input means. Nothing is changed here: a decision says which step the exam takes and how the screen looks then.

mod cells;
mod details;
pub mod guide;
mod lists;
mod place;
mod records;
pub mod trail;
mod typed;

pub use records::ask_to_go_on;

use super::app::App;
use super::chord::Chord;
use super::field::Field;
use super::keymap::{Action, Context};
use super::page::{Page, Question};
use super::request::Request;
use super::settings::{Form, ThemeName};
use super::ui::{Input, Panel, Purpose, Sheet, Spot, Target, Ui};
use crate::exam::{Event, GuideEvent};
use crate::frame::Move;
use crate::optics::Eye;

/// What an input comes to.
#[derive(Debug, Clone)]
pub struct Decision {
    /// What happens in the exam, as one step; nothing when empty.
    pub step: Vec<Event>,
    /// The screen afterwards.
    pub ui: Ui,
    /// Whether the person leaves.
    pub quit: bool,
    /// What is asked beside the step, once that is done.
    pub request: Option<Request>,
}

impl Decision {
    fn of(ui: Ui) -> Self {
        Self { step: Vec::new(), ui, quit: false, request: None }
    }

    fn moves(ui: Ui, moves: Vec<Move>) -> Self {
        Self { step: moves.into_iter().map(Event::Moved).collect(), ..Self::of(ui) }
    }

    fn refused(app: &App, text: impl Into<String>) -> Self {
        let mut ui = app.ui.clone();
        ui.refused(text);
        Self::of(ui)
    }

    fn with_step(mut self, event: Event) -> Self {
        self.step.push(event);
        self
    }

    fn with_request(self, request: Request) -> Self {
        Self { request: Some(request), ..self }
    }
}

/// What an input means now.
pub fn decide(app: &App, input: &Input) -> Decision {
    let mut decision = match input {
        Input::Key(chord) => key(app, *chord),
        Input::Paste(text) => typed::paste(app, text),
        Input::Click(target) => click(app, *target),
        Input::Wheel(target, step) => wheel(app, *target, *step),
    };
    if !decision.step.is_empty() {
        if !decision.step.iter().any(is_answer) {
            decision.ui.answered = None;
        }
        // both were taken from the lenses as they were before this step
        decision.ui.instead = None;
        decision.ui.carrying = None;
    }
    decision
}

/// Whether the guide was told something.
fn is_answer(event: &Event) -> bool {
    matches!(event, Event::Guide(told) if !matches!(told, GuideEvent::SetOut(_) | GuideEvent::TakenOver(_)))
}

/// Whether an action would do something now; help and hints show only these.
pub fn is_available(app: &App, action: Action) -> bool {
    let fitted = &app.state().fitted;
    let ui = &app.ui;
    if app.state().finished && changes_exam(action) {
        return false;
    }
    match action {
        Action::Undo => !app.exam().standing_steps().is_empty(),
        Action::Redo => app.exam().redoable() > 0,
        Action::TurnBack | Action::TurnOn | Action::TurnBackFar | Action::TurnOnFar => cells::to_turn(app).is_ok(),
        Action::TakeOut => cells::at(app, ui.eye, ui.spot()).is_some(),
        Action::MoveLens => matches!(ui.spot(), Spot::Cell(cell) if fitted.in_cell(ui.eye, cell).is_some()),
        Action::EmptyEye => fitted.in_cells(ui.eye).next().is_some() || fitted.held(ui.eye).is_some(),
        Action::SwapEyes => {
            Eye::BOTH.iter().any(|eye| fitted.in_cells(*eye).next().is_some() || fitted.held(*eye).is_some())
        }
        Action::LayBack => fitted.held(ui.eye).is_some(),
        Action::BuildIn => {
            fitted.held(ui.eye).is_some()
                && ui.spot() != Spot::Hand
                && passes(app, &cells::act(app, ui.clone(), action))
        }
        Action::PutDown => passes(app, &cells::act(app, ui.clone(), action)),
        Action::Flip => cells::cross_cylinder_held(app).is_some(),
        Action::Occlude => cells::occluder(app).is_some(),
        Action::Proposals => app.offers().is_some(),
        Action::TakeProposal => app.offers().is_some_and(|offers| !offers.list.is_empty()),
        Action::TakeChosen if ui.panel == Panel::Proposals => is_available(app, Action::TakeProposal),
        Action::TakeChosen if ui.panel == Panel::Trail => is_available(app, Action::GoBack),
        Action::TakeChosen => !lists::shown(app).is_empty(),
        Action::GoBack => !trail::points(app).is_empty(),
        Action::Guide
        | Action::Answer
        | Action::TypeAnswer
        | Action::SkipStep
        | Action::AskAgain
        | Action::LeaveProcedure
        | Action::ChooseProcedure
        | Action::PickProcedure => guide::is_available(app, action),
        Action::Pair => app.state().wanted.all().is_some(),
        Action::Accept => details::has_power(app, ui.eye),
        Action::EnterDetail => {
            !matches!(details::chosen(ui), Some(Field::Accepted(eye)) if !details::has_power(app, eye))
        }
        Action::TakeBack => {
            details::chosen(ui).is_some_and(|field| field.can_be_taken_back() && field.value(app).is_some())
        }
        Action::OpenRecord => records::chosen(ui).is_some(),
        Action::Amend => records::amendable(ui).is_ok(),
        _ => true,
    }
}

/// Whether an action can only do something to the exam itself, which a closed one does not take.
fn changes_exam(action: Action) -> bool {
    matches!(
        action,
        Action::TakeProposal
            | Action::TakeChosen
            | Action::PutDown
            | Action::Wanted
            | Action::TurnBack
            | Action::TurnOn
            | Action::TurnBackFar
            | Action::TurnOnFar
            | Action::TakeOut
            | Action::EmptyEye
            | Action::Undo
            | Action::Redo
            | Action::ByName
            | Action::MoveLens
            | Action::SwapEyes
            | Action::Hold
            | Action::LayBack
            | Action::BuildIn
            | Action::Flip
            | Action::Occlude
            | Action::PlannedVertex
            | Action::Accept
            | Action::EnterDetail
            | Action::TakeBack
            | Action::CloseExam
            | Action::GoBack
    )
}

/// Whether the exam would take the step of a decision.
fn passes(app: &App, decision: &Decision) -> bool {
    app.exam().check(decision.step.clone()).is_ok()
}

fn key(app: &App, chord: Chord) -> Decision {
    // the cautions have been seen once a key is pressed, and the key does what it would have done without them
    if app.ui.sheet == Some(Sheet::Cautions) {
        return underneath(app, Ui { sheet: None, ..app.ui.clone() }, chord);
    }
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

/// A key that is no command: text where text is taken, the start of a lens on the frame.
fn unbound(app: &App, mut ui: Ui, chord: Chord) -> Decision {
    match (ui.context(), chord.typed()) {
        (Context::Typing, _) => typed::edit(ui, chord),
        (Context::Drawer, _) => lists::filter(ui, chord),
        (Context::Reading, _) => {
            ui.sheet = None;
            Decision::of(ui)
        }
        // whoever works on has gone on with the exam, and no character of a lens is lost
        (Context::Asking, _) if ui.asks == Some(Question::GoOn) => {
            underneath(app, Ui { asks: None, says: None, ..ui }, chord)
        }
        (Context::Asking, _) => {
            // a question whose words are gone must not wait for an answer
            ui.asks = None;
            ui.refused(format!("{chord} is no answer: nothing was done"));
            Decision::of(ui)
        }
        (Context::Details, Some(character)) if starts_lens(character) && is_available(app, Action::EnterDetail) => {
            if let Some(field) = details::chosen(&ui).filter(|field| !matches!(field, Field::Accepted(_))) {
                ui.start_line(Purpose::Detail(field), character);
            }
            Decision::of(ui)
        }
        (Context::Cells | Context::Proposals, Some(character)) if starts_lens(character) => {
            let purpose = if ui.spot() == Spot::Hand { Purpose::Hold } else { Purpose::Lens };
            ui.start_line(purpose, character);
            Decision::of(ui)
        }
        _ => {
            let help = app.settings.keys.key_of(Action::Help);
            ui.refused(format!("{chord} does nothing here: {help} shows what does"));
            Decision::of(ui)
        }
    }
}

fn starts_lens(character: char) -> bool {
    character.is_ascii_digit() || matches!(character, '+' | '-' | '\u{2212}' | '.')
}

fn act(app: &App, mut ui: Ui, action: Action, nth: usize) -> Decision {
    ui.says = None;
    match action {
        Action::Quit => Decision { quit: true, ..Decision::of(ui) },
        Action::Confirm => typed::confirm(app),
        Action::Details
        | Action::EnterDetail
        | Action::TakeBack
        | Action::RightEye
        | Action::LeftEye
        | Action::Accept => details::act(app, ui, action),
        Action::Records
        | Action::OpenRecord
        | Action::Amend
        | Action::ExportCard
        | Action::ExportPdf
        | Action::ExportMarkdown
        | Action::ExportFhir
        | Action::ExportFhirR4b
        | Action::ExportCsv
        | Action::ExportJson
        | Action::CloseExam
        | Action::NewExam
        | Action::Yes
        | Action::No => records::act(app, ui, action),
        Action::Cancel => {
            ui.prompt = None;
            Decision::of(ui)
        }
        Action::Undo => {
            ui.done("undone");
            Decision::of(ui).with_step(Event::Undone)
        }
        Action::Redo => {
            ui.done("done again");
            Decision::of(ui).with_step(Event::Redone)
        }
        Action::OtherEye => {
            ui.eye = ui.eye.other();
            (ui.chosen_proposal, ui.chosen_tried) = (0, 0);
            if ui.panel == Panel::Proposals {
                ui.panel = Panel::Cells;
            }
            Decision::of(ui)
        }
        Action::Wanted => start(ui, Purpose::Wanted),
        Action::ByName => start(ui, Purpose::Lens),
        Action::Hold => start(ui, Purpose::Hold),
        Action::PlannedVertex => start(ui, Purpose::PlannedVertex),
        Action::Guide
        | Action::Answer
        | Action::TypeAnswer
        | Action::SkipStep
        | Action::AskAgain
        | Action::LeaveProcedure
        | Action::ChooseProcedure
        | Action::PickProcedure => guide::act(app, ui, action, nth),
        Action::Transpose | Action::Theme | Action::Cautions | Action::Help | Action::Prescription => {
            Decision::of(look(ui, action))
        }
        Action::Trail | Action::GoBack => trail::act(app, ui, action, nth),
        Action::TakeProposal
        | Action::TakeChosen
        | Action::ChooseNext
        | Action::ChoosePrevious
        | Action::PageNext
        | Action::PagePrevious
        | Action::ShelfNext
        | Action::ShelfPrevious
        | Action::Close
        | Action::Proposals
        | Action::Pair
        | Action::Drawer => lists::act(app, ui, action, nth),
        Action::PutDown
        | Action::LetGo
        | Action::TurnBack
        | Action::TurnOn
        | Action::TurnBackFar
        | Action::TurnOnFar
        | Action::TakeOut
        | Action::EmptyEye
        | Action::Outward
        | Action::Inward
        | Action::MoveLens
        | Action::SwapEyes
        | Action::LayBack
        | Action::BuildIn
        | Action::Flip
        | Action::Occlude => cells::act(app, ui, action),
    }
}

/// What is only looked at, and how it looks.
fn look(mut ui: Ui, action: Action) -> Ui {
    match action {
        Action::Transpose => ui.form = if ui.form == Form::Minus { Form::Plus } else { Form::Minus },
        Action::Theme => {
            ui.theme = match ui.theme {
                ThemeName::Dark => ThemeName::Daylight,
                ThemeName::Daylight => ThemeName::Plain,
                ThemeName::Plain => ThemeName::Dark,
            };
        }
        Action::Cautions => ui.sheet = Some(Sheet::Cautions),
        Action::Prescription => ui.sheet = Some(Sheet::Prescription(0)),
        _ => ui.sheet = Some(Sheet::Help(0)),
    }
    ui
}

fn start(mut ui: Ui, purpose: Purpose) -> Decision {
    ui.start_line(purpose, "");
    Decision::of(ui)
}

fn click(app: &App, target: Target) -> Decision {
    let mut ui = app.ui.clone();
    // a click beside a typed line or an open sheet must not lose what was typed
    if ui.prompt.is_some() || ui.sheet.is_some() || ui.asks.is_some() {
        return match target {
            Target::Action(action) => act(app, ui, action, 0),
            _ => Decision::of(ui),
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
            let action = if ui.panel == Panel::Choosing { Action::PickProcedure } else { Action::Answer };
            if action == Action::Answer {
                ui.panel = Panel::Guide;
            }
            act(app, ui, action, nth)
        }
        Target::Tried(nth) => trail::go_back(app, ui, nth),
        Target::Action(action) => act(app, ui, action, 0),
        Target::Row(row, eye) => {
            let before = (ui.page.clone(), ui.eye);
            ui.eye = eye.unwrap_or(ui.eye);
            lists::choose_row(&mut ui, row);
            // a click on what is chosen already does what its key does
            match &ui.page {
                Some(Page::Details(_)) if before == (ui.page.clone(), ui.eye) => act(app, ui, Action::EnterDetail, 0),
                Some(Page::Records(_)) if before.0 == ui.page => act(app, ui, Action::OpenRecord, 0),
                _ => Decision::of(ui),
            }
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
        Target::Tried(_) | Target::Row(..) => lists::choose(app, ui, -isize::from(step)),
        Target::Answer(_) | Target::Action(_) => Decision::of(ui),
    }
}
