//! Earlier exams, closing this one, and beginning another.

use super::super::app::App;
use super::super::keymap::Action;
use super::super::page::{Page, Question, Records};
use super::super::request::Request;
use super::super::ui::{Purpose, Ui};
use super::super::words;
use super::Decision;
use super::details::assumed;
use crate::exam::{Event, Prescription};
use crate::export::RecordForm;
use crate::optics::Eye;

/// Does a command on earlier exams, on closing or on beginning.
pub fn act(app: &App, mut ui: Ui, action: Action) -> Decision {
    match action {
        Action::Records => Decision::of(ui).with_request(Request::List),
        Action::OpenRecord => match chosen(&ui) {
            Some(exam) => Decision::of(ui).with_request(Request::Read(exam)),
            None => Decision::refused(app, "there is no exam to open"),
        },
        Action::Amend => match amendable(&ui) {
            Ok(exam) => {
                ui.start_line(Purpose::Amendment(exam), "");
                Decision::of(ui)
            }
            Err(why) => Decision::refused(app, why),
        },
        Action::ExportCard => export(ui, RecordForm::Card),
        Action::ExportPdf => export(ui, RecordForm::Pdf),
        Action::ExportMarkdown => export(ui, RecordForm::Markdown),
        Action::ExportFhir => export(ui, RecordForm::Fhir),
        Action::ExportFhirR4b => export(ui, RecordForm::FhirR4b),
        Action::ExportCsv => export(ui, RecordForm::Csv),
        Action::ExportJson => export(ui, RecordForm::Json),
        Action::CloseExam if app.state().finished => {
            Decision::refused(app, format!("{} is closed already: it can be amended", app.heading()))
        }
        Action::CloseExam => {
            let text =
                format!("Close {} for good, with {}? From then on it can only be amended.", app.heading(), with(app));
            ask(app, ui, Question::Close, &text, "closes it", "leaves it open")
        }
        Action::NewExam => type_label(ui),
        Action::Yes | Action::No => answer(app, ui, action == Action::Yes),
        _ => Decision::of(ui),
    }
}

/// The records that are open.
pub fn records(ui: &Ui) -> Option<&Records> {
    match &ui.page {
        Some(Page::Records(records)) => Some(records),
        _ => None,
    }
}

/// The chosen exam of the list.
pub fn chosen(ui: &Ui) -> Option<u64> {
    let records = records(ui)?;
    records.list.get(records.chosen).map(|line| line.exam)
}

/// The exam that is open to be read, when it can be amended.
pub fn amendable(ui: &Ui) -> Result<u64, String> {
    let Some(open) = records(ui).and_then(|records| records.open.as_ref()) else {
        return Err("no exam is open to be amended".to_owned());
    };
    match &open.held {
        Some(holder) => Err(format!("exam {} can only be read: it is open elsewhere, in {holder}", open.exam)),
        None if !open.closed => Err(format!("exam {} is not closed: only a closed exam is amended", open.exam)),
        None => Ok(open.exam),
    }
}

fn export(ui: Ui, form: RecordForm) -> Decision {
    match records(&ui).and_then(|records| records.open.as_ref()).map(|open| open.exam) {
        Some(exam) => Decision::of(ui).with_request(Request::Export { exam, form }),
        None => Decision::of(ui),
    }
}

/// What the record would say now, in a few words.
fn with(app: &App) -> String {
    let prescription = Prescription::of(app.state(), 1);
    let of_eye = |eye: Eye| match prescription.eye(eye) {
        Some(of_eye) => format!("{eye} {}", words::power(of_eye.written.power(), app.ui.form)),
        None => format!("nothing for the {eye} eye"),
    };
    Eye::BOTH.map(of_eye).join(", ")
}

fn ask(app: &App, mut ui: Ui, question: Question, text: &str, yes: &str, no: &str) -> Decision {
    let keys = &app.settings.keys;
    let (yes_key, no_key) = (keys.key_of(Action::Yes), keys.key_of(Action::No));
    ui.asked(format!("{text} {yes_key} {yes}, {no_key} {no}"));
    ui.asks = Some(question);
    Decision::of(ui)
}

/// Asks whether an exam that was not closed is gone on with; any other key goes on with it and does its own work.
pub fn ask_to_go_on(app: &App, exam: &str) -> Ui {
    let text = format!("{exam} was not closed. Go on with it as it stood?");
    ask(app, app.ui.clone(), Question::GoOn, &text, "goes on", "begins another").ui
}

/// Begins another exam, after the question whether this one is closed first.
pub fn begin(app: &App, ui: Ui, label: &str) -> Decision {
    let label = label.to_owned();
    if app.state().finished || app.exam().standing_steps().is_empty() {
        return Decision::of(ui).with_request(Request::Begin { label });
    }
    let text = format!("Close {} first, with {}?", app.heading(), with(app));
    let esc = app.settings.keys.key_of(Action::Close);
    let no = format!("leaves it open, {esc} begins nothing");
    ask(app, ui, Question::CloseBefore { label }, &text, "closes it for good", &no)
}

fn type_label(mut ui: Ui) -> Decision {
    ui.start_line(Purpose::NewExam, "");
    Decision::of(ui)
}

fn answer(app: &App, mut ui: Ui, yes: bool) -> Decision {
    let Some(question) = ui.asks.take() else {
        return Decision::of(ui);
    };
    if question == Question::GoOn {
        return if yes { Decision::of(ui) } else { type_label(ui) };
    }
    let mut step = Vec::new();
    if yes {
        step = assumed(app.state(), &app.settings);
        step.push(Event::Finished);
    }
    match question {
        Question::GoOn => Decision::of(ui),
        Question::Close => {
            if yes {
                ui.done(format!("{} is closed: it can be amended from the records", app.heading()));
            }
            Decision { step, ..Decision::of(ui) }
        }
        Question::CloseBefore { label } => Decision { step, ..Decision::of(ui) }.with_request(Request::Begin { label }),
    }
}

/// Adds to a closed exam: to the one on the screen as a step of it, to another through the session.
pub fn amend(app: &App, ui: Ui, exam: u64, text: &str) -> Decision {
    let this = records(&ui).is_some_and(|records| records.current == exam);
    if this && app.state().finished {
        return Decision::of(ui).with_step(Event::Amended(text.to_owned())).with_request(Request::Read(exam));
    }
    Decision::of(ui).with_request(Request::Amend { exam, text: text.to_owned() })
}

/// Whether an exam is open to be read.
pub fn is_open(ui: &Ui) -> bool {
    records(ui).is_some_and(|records| records.open.is_some())
}

/// Goes some lines on or back in the list or the record, of which so many rows are shown.
pub fn choose(records: &mut Records, step: isize, shown: usize) {
    if let Some(open) = &records.open {
        let last = open.lines.len().saturating_sub(shown.max(1));
        records.top = records.top.saturating_add_signed(step).min(last);
    } else {
        let last = records.list.len().saturating_sub(1);
        records.chosen = records.chosen.saturating_add_signed(step).min(last);
    }
}
