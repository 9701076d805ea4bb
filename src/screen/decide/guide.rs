//! What keys do in the guide: answers, and choosing with what to go on.

use super::super::app::App;
use super::super::detail_values::chart_place;
use super::super::keys::{GuideAction, RecordsAction};
use super::super::request::Request;
use super::super::ui::{Answered, Panel, Purpose, Sheet, Ui};
use super::super::words;
use super::decision::Decision;
use super::fault::LineFault;
use super::records;
use crate::exam::{Answer, CheckedStep, Detail, EarlierExams, Ending, Event, ProcedureName, State};
use crate::export::RecordForm;
use crate::guide::question::Choice;
use crate::guide::{self, GuideError, Question, Reads, Typed};
use crate::optics::notation::{parse_figure, parse_prescription};
use crate::optics::{Acuity, Eye};
use crate::session::ListedExam;

/// Whether an action of the guide would do something now.
pub fn is_available(app: &App, action: GuideAction) -> bool {
    let presentation = app.guide().presentation();
    let open = !app.state().finished;
    let question = &presentation.question;
    open && match action {
        GuideAction::Answer => !presentation.choices.is_empty() || question.typed().is_some(),
        GuideAction::TypeAnswer => question.typed().is_some(),
        GuideAction::SkipStep | GuideAction::LeaveProcedure => app.guide().running().is_some(),
        GuideAction::AskAgain => app.guide().can_repeat(),
        GuideAction::Open | GuideAction::ChooseProcedure | GuideAction::PickProcedure | GuideAction::ChangeStrategy => {
            true
        }
    }
}

/// The answers by key, lines as the examiner's chart prints them; what is answered is the true acuity where the chart stands
/// elsewhere than its figures say.
pub fn choices(app: &App) -> Vec<Choice> {
    let mut choices = app.guide().presentation().question.choices_in(app.settings.acuity);
    if let Some(chart) = chart_place(app) {
        for choice in &mut choices {
            if let Answer::Read(line) = choice.answer {
                choice.answer = Answer::Read(line.read_on(chart));
            }
        }
    }
    choices
}

/// What can be typed, with an example in the examiner's notation.
pub fn hint(app: &App, typed: &Typed) -> &'static str {
    match typed.reads {
        Reads::Line => app.settings.acuity.hint(),
        Reads::Figure { .. } | Reads::Power => typed.hint,
    }
}

/// Does a command of the guide.
pub fn act(app: &App, mut ui: Ui, action: GuideAction, nth: usize) -> Decision {
    let did = |mut ui: Ui, what: &str| {
        ui.answered = Some(Answered::Text(what.to_owned()));
        ui
    };
    match action {
        GuideAction::Open => open(app, ui),
        GuideAction::Answer => answer_by_key(app, ui, nth),
        GuideAction::TypeAnswer => match app.guide().presentation().question.typed() {
            Some(_) => {
                ui.start_line(Purpose::Answer, "");
                Decision::of(ui)
            }
            None => Decision::refused(app, "this is answered by its number, not typed"),
        },
        GuideAction::SkipStep => led(app, did(ui, "skipped"), guide::skip(app.guide(), app.exam())),
        GuideAction::AskAgain => led(app, did(ui, "asked again"), guide::repeat(app.guide(), app.exam())),
        GuideAction::LeaveProcedure => led(app, did(ui, "ended"), guide::leave(app.guide(), app.exam())),
        GuideAction::ChooseProcedure => {
            ui.panel = Panel::Choosing;
            Decision::of(ui)
        }
        GuideAction::ChangeStrategy => {
            let other = app.state().person.strategy.unwrap_or(app.settings.strategy).other();
            ui.done(format!("refracts {} from the next procedure on", other.shown()));
            Decision::of(ui).with_step(vec![Event::Detail(Detail::Strategy(other))])
        }
        GuideAction::PickProcedure => {
            let Some(&procedure) = ProcedureName::ALL.get(nth) else { return Decision::of(ui) };
            let eye = procedure.eye_of(ui.eye);
            ui.panel = Panel::Guide;
            begin(app, did(ui, &words::procedure(procedure, eye)), procedure, eye)
        }
    }
}

/// Opens the guide; what was moved by hand since it set something out is where it goes on.
fn open(app: &App, mut ui: Ui) -> Decision {
    let state = app.state();
    if state.finished {
        return Decision::refused(app, "this exam is closed: the guide leads open ones");
    }
    ui.panel = Panel::Guide;
    if !app.guide().is_taken_over() {
        return Decision::of(ui);
    }
    ui.done("goes on from what is in the frame now");
    led(app, ui, guide::set_out(app.guide(), app.exam()))
}

/// The step that a door of the guide gave, or why it gave none.
fn led(app: &App, ui: Ui, step: Result<CheckedStep, GuideError>) -> Decision {
    match step {
        Ok(step) => Decision::of(ui).with_step(step),
        Err(refusal) => Decision::refused(app, refusal.to_string()),
    }
}

fn begin(app: &App, ui: Ui, procedure: ProcedureName, eye: Option<Eye>) -> Decision {
    let (known, unread) = known_beforehand(app, procedure);
    let mut decision = led(app, ui, guide::begin_knowing(app.guide(), app.exam(), known, procedure, eye));
    if let Some(unread) = unread {
        decision.ui.refused(unread);
    }
    decision
}

/// What the settings and earlier exams say and this exam does not know yet: what follows must depend on its events alone.
/// Why earlier exams say nothing comes with it, where they cannot be read.
fn known_beforehand(app: &App, procedure: ProcedureName) -> (Vec<Detail>, Option<String>) {
    let person = &app.state().person;
    let planned = app.settings.planned_vertex.filter(|_| person.planned_vertex.is_none());
    let learns = app.settings.uses_earlier_exams;
    let (retinoscopy, exams) = (app.session.earlier_retinoscopy(), app.session.earlier_exams());
    let needs_them = procedure == ProcedureName::Retinoscopy;
    let unread = match &exams {
        Err(error) if needs_them && learns && person.earlier_exams.is_none() => {
            Some(format!("earlier retinoscopy cannot be read: {error}"))
        }
        Ok(_) | Err(_) => None,
    };
    let retinoscopy =
        retinoscopy.ok().flatten().filter(|_| needs_them && learns && person.earlier_retinoscopy.is_none());
    // where there is nothing to learn from, it is said only where it would have helped
    let says_something = |earlier: &EarlierExams| needs_them || earlier.eyes > 0 || !earlier.repeats.is_none();
    let exams = exams.ok().filter(|earlier| learns && person.earlier_exams.is_none() && says_something(earlier));
    // an exam in which an eye was refracted before its way was kept goes on in that way
    let begun = Eye::BOTH.into_iter().any(|eye| app.state().refracted(eye).is_some());
    let strategy = Some(app.settings.strategy).filter(|_| person.strategy.is_none() && !begun);
    let details = [
        planned.map(Detail::PlannedVertex),
        retinoscopy.map(Detail::EarlierRetinoscopy),
        exams.map(Detail::EarlierExams),
        strategy.map(Detail::Strategy),
    ];
    (details.into_iter().flatten().collect(), unread)
}

fn answer_by_key(app: &App, mut ui: Ui, nth: usize) -> Decision {
    // the tenth key is 0
    let digit = (nth + 1) as u8 % 10;
    let choices = choices(app);
    let question = &app.guide().presentation().question;
    if let Some(choice) = choices.iter().find(|choice| choice.digit == digit) {
        let begins = Some((digit, question.clone()));
        ui.answered = Some(Answered::Chosen { label: choice.label.clone(), begins });
        return answer(app, ui, choice.answer);
    }
    let digit = char::from(b'0' + digit);
    if let Some(decision) = types_on(app, digit) {
        return decision;
    }
    if question.typed().is_some() {
        ui.start_line(Purpose::Answer, digit);
        return Decision::of(ui);
    }
    Decision::refused(app, format!("there is no answer {digit}"))
}

/// Takes back an answer that was given by a digit where the next key shows that it was the beginning of something typed, like
/// the `6` of `6/60`, and goes on typing it; `None` where the key shows nothing of the kind.
pub fn types_on(app: &App, character: char) -> Option<Decision> {
    let Some(Answered::Chosen { label, begins: Some((digit, question)) }) = &app.ui.answered else { return None };
    let typed = question.typed()?;
    let text = format!("{digit}{character}");
    if !may_begin(app, &typed, &text) {
        return None;
    }
    let mut ui = app.ui.clone();
    ui.start_line(Purpose::Answer, text);
    let label = words::sentence(label, ui.form, app.settings.acuity);
    ui.done(format!("`{label}` is taken back, as you go on typing"));
    Some(Decision::of(ui).with_step(Event::Undone))
}

/// Whether what can be typed may begin in this way.
fn may_begin(app: &App, typed: &Typed, text: &str) -> bool {
    let separates = text.ends_with(['/', '.', ',']);
    match typed.reads {
        // figures are read as soon as they are complete; lines like 20/40 are not
        Reads::Line => {
            let begun = read(app, typed, text).is_ok() || example(hint(app, typed)).starts_with(text);
            separates || begun
        }
        Reads::Figure { .. } => separates || read(app, typed, text).is_ok(),
        Reads::Power => false,
    }
}

/// The example in a hint.
fn example(hint: &str) -> &str {
    hint.rsplit(' ').next().unwrap_or_default()
}

/// Gives an answer.
pub fn answer(app: &App, mut ui: Ui, answer: Answer) -> Decision {
    if let Answer::Go { procedure, eye } = answer {
        return begin(app, ui, procedure, eye);
    }
    if let Some(ending) = answer.ending() {
        return end(app, ui, ending);
    }
    if app.guide().presentation().procedure == Some(ProcedureName::Writing) && answer == Answer::Done {
        ui.sheet = Some(Sheet::Prescription(0));
    }
    led(app, ui, guide::answer(app.guide(), app.exam(), answer))
}

/// What is done with the exam once it is written.
fn end(app: &App, mut ui: Ui, ending: Ending) -> Decision {
    match ending {
        Ending::Close => records::act(app, ui, RecordsAction::CloseExam),
        Ending::Card => match app.session.exam_number() {
            Some(exam) => {
                ui.answered = None;
                let exam = ListedExam::Own(exam);
                Decision::of(ui).with_request(Request::Export { exam, form: RecordForm::Card })
            }
            None => Decision::refused(app, "this exam is not saved yet: there is no card of it"),
        },
        Ending::NextPerson => records::act(app, ui, RecordsAction::NewExam),
    }
}

/// The exam as it would stand once the prescription is written down, while that is asked; else as it stands.
pub fn as_written(app: &App) -> State {
    let presentation = app.guide().presentation();
    let writes = presentation.procedure == Some(ProcedureName::Writing) && presentation.question == Question::Ready;
    let written = writes.then(|| guide::answer(app.guide(), app.exam(), Answer::Done)).and_then(Result::ok);
    written.map_or_else(|| app.state().clone(), |step| step.after().clone())
}

/// Answers by what was typed.
///
/// # Errors
/// When it does not answer what is asked.
pub fn typed(app: &App, mut ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let question = app.guide().presentation().question.clone();
    let Some(typed) = question.typed() else {
        return Err(LineFault::plain("this is answered by its number, not typed"));
    };
    let read = read(app, &typed, text)?;
    if !question.accepts(read) {
        return Err(LineFault::plain(format!("`{text}` does not answer this: {}", hint(app, &typed))));
    }
    ui.answered = Some(Answered::Text(text.to_owned()));
    Ok(answer(app, ui, read))
}

fn read(app: &App, typed: &Typed, text: &str) -> Result<Answer, LineFault> {
    match typed.reads {
        Reads::Line => Ok(Answer::Read(Acuity::read(text, app.settings.acuity, chart_place(app))?)),
        Reads::Power => Ok(Answer::Power(parse_prescription(text)?)),
        Reads::Figure { row, answer } => answer(parse_figure(text, row)?)
            .ok_or_else(|| LineFault::plain(format!("`{text}` lies between two answers: {}", typed.hint))),
    }
}
