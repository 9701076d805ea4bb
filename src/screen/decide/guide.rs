//! What keys do in the guide: answers, and choosing with what to go on.

use super::super::app::App;
use super::super::keymap::Action;
use super::super::ui::{Panel, Purpose, Sheet, Ui};
use super::super::words;
use super::Decision;
use super::typed::Fault;
use crate::exam::{Answer, Detail, Event, ProcedureName, State};
use crate::guide::{self, GuideError, Question};
use crate::optics::notation::parse_figure;
use crate::optics::{Acuity, Eye, bounds};

/// Whether an action of the guide would do something now.
pub fn is_available(app: &App, action: Action) -> bool {
    let leading = app.leading();
    let open = !app.state().finished;
    let question = &leading.presentation.question;
    open && match action {
        Action::Answer => !leading.presentation.choices.is_empty() || to_type(question).is_some(),
        Action::TypeAnswer => to_type(question).is_some(),
        Action::SkipStep | Action::LeaveProcedure => leading.guide.running().is_some(),
        Action::AskAgain => leading.guide.can_repeat(),
        _ => true,
    }
}

/// Does a command of the guide.
pub fn act(app: &App, mut ui: Ui, action: Action, nth: usize) -> Decision {
    let state = app.state();
    let did = |mut ui: Ui, what: &str| {
        ui.answered = Some(what.to_owned());
        ui
    };
    match action {
        Action::Guide => open(app, ui),
        Action::Answer => answer_by_key(app, ui, nth),
        Action::TypeAnswer => match to_type(&app.leading().presentation.question) {
            Some(_) => {
                ui.start_line(Purpose::Answer, "");
                Decision::of(ui)
            }
            None => Decision::refused(app, "this is answered by its number, not typed"),
        },
        Action::SkipStep => led(app, did(ui, "passed over"), guide::skip(state)),
        Action::AskAgain => led(app, did(ui, "asked again"), guide::repeat(state)),
        Action::LeaveProcedure => led(app, did(ui, "ended"), guide::leave(state)),
        Action::ChooseProcedure => {
            ui.panel = Panel::Choosing;
            Decision::of(ui)
        }
        Action::PickProcedure => {
            let Some(&procedure) = ProcedureName::ALL.get(nth) else { return Decision::of(ui) };
            let eye = Some(ui.eye).filter(|_| !procedure.takes(None));
            ui.panel = Panel::Guide;
            begin(app, did(ui, &words::procedure(procedure, eye)), procedure, eye)
        }
        _ => Decision::of(ui),
    }
}

/// Opens the guide; what was moved by hand since it set something out is where it goes on.
fn open(app: &App, mut ui: Ui) -> Decision {
    let state = app.state();
    if state.finished {
        return Decision::refused(app, "this exam is closed: the guide leads open ones");
    }
    ui.panel = Panel::Guide;
    if !app.leading().guide.is_taken_over(state) {
        return Decision::of(ui);
    }
    ui.done("goes on from what is in the frame now");
    led(app, ui, guide::set_out(state))
}

/// The step that a door of the guide gave, or why it gave none.
fn led(app: &App, ui: Ui, step: Result<Vec<Event>, GuideError>) -> Decision {
    match step {
        Ok(step) => Decision { step, ui, quit: false, request: None },
        Err(refusal) => Decision::refused(app, refusal.to_string()),
    }
}

fn begin(app: &App, ui: Ui, procedure: ProcedureName, eye: Option<Eye>) -> Decision {
    let mut state = app.state().clone();
    let mut step = known_beforehand(app, procedure);
    let told: Result<(), _> = step.iter().try_for_each(|event| state.apply(event));
    let begun = told.map_err(GuideError::from).and_then(|()| guide::begin(&state, procedure, eye));
    led(
        app,
        ui,
        begun.map(|events| {
            step.extend(events);
            step
        }),
    )
}

/// What the settings and earlier exams say and this exam does not know yet: what follows must depend on its events alone.
fn known_beforehand(app: &App, procedure: ProcedureName) -> Vec<Event> {
    let person = &app.state().person;
    let planned = app.settings.planned_vertex.filter(|_| person.planned_vertex.is_none());
    let unasked = procedure == ProcedureName::Retinoscopy && person.earlier_retinoscopy.is_none();
    let earlier = app.earlier_retinoscopy().filter(|_| unasked);
    let details = [planned.map(Detail::PlannedVertex), earlier.map(Detail::EarlierRetinoscopy)];
    details.into_iter().flatten().map(Event::Detail).collect()
}

fn answer_by_key(app: &App, mut ui: Ui, nth: usize) -> Decision {
    let leading = app.leading();
    let presentation = &leading.presentation;
    if let Some(choice) = presentation.choices.get(nth) {
        ui.answered = Some(words::choice(choice, app.settings.acuity));
        return answer(app, ui, choice.answer);
    }
    if presentation.choices.is_empty() && to_type(&presentation.question).is_some() {
        ui.start_line(Purpose::Answer, (nth + 1).to_string());
        return Decision::of(ui);
    }
    Decision::refused(app, format!("there is no answer {}", nth + 1))
}

fn answer(app: &App, mut ui: Ui, answer: Answer) -> Decision {
    if let Answer::Go { procedure, eye } = answer {
        return begin(app, ui, procedure, eye);
    }
    if app.leading().presentation.procedure == Some(ProcedureName::Writing) && answer == Answer::Done {
        ui.sheet = Some(Sheet::Prescription(0));
    }
    led(app, ui, guide::answer(app.state(), answer))
}

/// The exam as it would stand once the prescription is written down, while that is asked; else as it stands.
pub fn as_written(app: &App) -> State {
    let state = app.state();
    let presentation = &app.leading().presentation;
    let writes = presentation.procedure == Some(ProcedureName::Writing) && presentation.question == Question::Ready;
    let step = guide::answer(state, Answer::Done).ok().filter(|_| writes);
    let mut written = state.clone();
    for event in step.unwrap_or_default() {
        // the guide has applied each of them to the same state already
        if written.apply(&event).is_err() {
            return state.clone();
        }
    }
    written
}

/// What can be typed as an answer, with an example; `None` where the answers are keys alone.
pub fn to_type(question: &Question) -> Option<&'static str> {
    Some(match question {
        Question::LineRead | Question::ClearerWith { before: Some(_) } | Question::MoreLetters { before: Some(_) } => {
            "a line, like 6/12-2"
        }
        Question::FanLine => "an hour, like 2.5",
        Question::SlitMeridian | Question::ObliqueMeridian => "degrees, like 25",
        Question::NearestClear | Question::FarthestClear => "centimetres, like 38",
        Question::Age => "the age in years, like 42",
        Question::ChartDistance => "metres, like 3.5",
        Question::EyePd(_) => "millimetres, like 31.5",
        _ => return None,
    })
}

/// Answers by what was typed.
///
/// # Errors
/// When it does not answer what is asked.
pub fn typed(app: &App, mut ui: Ui, text: &str) -> Result<Decision, Fault> {
    let question = app.leading().presentation.question.clone();
    let read = read(&question, text)?;
    if !question.accepts(read) {
        return Err(Fault::plain(format!("`{text}` does not answer this: {}", to_type(&question).unwrap_or_default())));
    }
    ui.answered = Some(text.to_owned());
    Ok(answer(app, ui, read))
}

fn read(question: &Question, text: &str) -> Result<Answer, Fault> {
    Ok(match question {
        Question::Age => Answer::Years(parse_figure(text, &bounds::AGE_YEARS)? as u8),
        Question::EyePd(_) => Answer::Millimetres(parse_figure(text, &bounds::MONOCULAR_PD_MM)?),
        Question::ChartDistance => Answer::Metres(parse_figure(text, &bounds::CHART_M)?),
        Question::NearestClear | Question::FarthestClear => Answer::Centimetres(parse_figure(text, &bounds::CLEAR_CM)?),
        Question::SlitMeridian | Question::ObliqueMeridian => {
            Answer::Degrees(parse_figure(text, &bounds::AXIS)? as u16)
        }
        Question::FanLine => Answer::HalfHours((2.0 * parse_figure(text, &bounds::CLOCK_HOURS)?) as u8),
        _ => Answer::Read(text.parse::<Acuity>()?),
    })
}
