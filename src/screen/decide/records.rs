//! Earlier exams, closing this one, and beginning another.

use super::super::app::App;
use super::super::keys::{ConfirmationAction, ListsAction, RecordsAction};
use super::super::page::{Confirmation, Records};
use super::super::request::{DayRequest, PracticeRequest, Request};
use super::super::ui::{Purpose, Ui};
use super::asking::ask;
use super::box_room;
use super::day_room;
use super::decision::Decision;
use super::details::assumed;
use super::glasses;
use super::open_record::{amendable, records};
use super::practice;
use super::written::with;
use crate::day::DayEvent;
use crate::exam::came_back::GlassesQuestion;
use crate::exam::{Detail, Event};
use crate::export::RecordForm;
use crate::session::ListedExam;

/// Does a command on earlier exams, on closing or on beginning.
pub fn act(app: &App, ui: Ui, action: RecordsAction) -> Decision {
    match action {
        RecordsAction::Open => find(ui, ""),
        RecordsAction::Find => Decision::line(ui, Purpose::Find),
        RecordsAction::OpenRecord => match chosen(&ui) {
            Some(exam) => Decision::of(ui).with_request(Request::Read(exam)),
            None => Decision::refused(app, "there is no exam to open"),
        },
        RecordsAction::Amend => match amendable(&ui) {
            Ok(exam) => Decision::line(ui, Purpose::Amendment(exam)),
            Err(why) => Decision::refused(app, why),
        },
        RecordsAction::GlassesBack => glasses::open(app, ui),
        RecordsAction::GlassesAnswer => glasses::answer_or_note(ui),
        RecordsAction::TakeGlassesBack => glasses::take_back(app, ui),
        RecordsAction::CloseExam if app.state().finished => {
            Decision::refused(app, format!("{} is closed already: it can be amended", app.heading()))
        }
        RecordsAction::CloseExam if app.state().practised.is_some() => practice::done(app, ui),
        RecordsAction::CloseExam => {
            let text =
                format!("Close {} for good, with {}? From then on it can only be amended.", app.heading(), with(app));
            ask(app, ui, Confirmation::Close, &text, "closes it", "leaves it open")
        }
        RecordsAction::NewExam if app.state().practised.is_some() => {
            Decision::of(ui).with_request(PracticeRequest::Show)
        }
        RecordsAction::NewExam => Decision::line(ui, Purpose::NewExam),
    }
}

/// Lists the exams that have every word in label, number, date or outcome.
pub fn find(ui: Ui, search: &str) -> Decision {
    Decision::of(ui).with_request(Request::List { search: search.to_owned() })
}

/// The chosen exam of the list.
pub fn chosen(ui: &Ui) -> Option<ListedExam> {
    let records = records(ui)?;
    records.list.get(records.chosen).cloned()
}

/// Writes the exam that is open to be read into a file.
pub fn export(ui: Ui, form: RecordForm) -> Decision {
    match records(&ui).and_then(|records| records.open.as_ref()).map(|open| open.exam.clone()) {
        Some(exam) => Decision::of(ui).with_request(Request::Export { exam, form }),
        None => Decision::of(ui),
    }
}

/// Asks whether an exam that was not closed is gone on with; any other key goes on with it and does its own work.
pub fn ask_to_go_on(app: &App, exam: &str) -> Ui {
    let text = format!("{exam} was not closed. Go on with it as it stood?");
    ask(app, app.ui.clone(), Confirmation::GoOn, &text, "goes on", "begins another").ui
}

/// Asks whether a setting of the room that was changed in an exam of a day holds for everybody from now on.
pub fn ask_for_the_day(app: &App, detail: Detail) -> Ui {
    let text = "Does this hold for everybody of the day from now on?";
    ask(app, app.ui.clone(), Confirmation::HoldsForTheDay { detail }, text, "for everybody", "for this exam alone").ui
}

/// Begins another exam, after the question whether this one is closed first.
pub fn begin(app: &App, ui: Ui, label: &str) -> Decision {
    let label = label.to_owned();
    if app.state().finished || app.exam().is_untouched() {
        return Decision::of(ui).with_request(Request::Begin { label });
    }
    let text = format!("Close {} first, with {}?", app.heading(), with(app));
    let esc = app.settings.keys.key_of(ListsAction::Close);
    let no = format!("leaves it open, {esc} begins nothing");
    ask(app, ui, Confirmation::CloseBefore { label }, &text, "closes it for good", &no)
}

/// Does what was asked about, or not.
pub fn answer(app: &App, mut ui: Ui, action: ConfirmationAction) -> Decision {
    let yes = match action {
        ConfirmationAction::Yes => true,
        ConfirmationAction::No => false,
    };
    let Some(confirmation) = ui.asks.take() else {
        return Decision::of(ui);
    };
    if confirmation == Confirmation::GoOn {
        return if yes { Decision::of(ui) } else { Decision::line(ui, Purpose::NewExam) };
    }
    let mut step = Vec::new();
    if yes && confirmation.is_about_the_exam() {
        step = assumed(app.state(), &app.settings);
        step.push(Event::Finished);
    }
    match confirmation {
        Confirmation::OutForGood => box_room::answer(app, ui, action),
        Confirmation::GiveUpCount => box_room::give_up(ui, action),
        Confirmation::EndDay if yes => {
            let ends = DayRequest::Note { events: vec![DayEvent::Ended], said: "the day has ended".to_owned() };
            Decision::of(ui).with_request(ends)
        }
        Confirmation::EndPractice { gave_up } if yes => practice::end(app, ui, gave_up),
        Confirmation::CallAgain { number } if yes => day_room::call_again(app, ui, number),
        Confirmation::HoldsForTheDay { detail } if yes => {
            let holds = DayRequest::Holds { detail, said: "for everybody from now on".to_owned() };
            Decision::of(ui).with_request(holds)
        }
        Confirmation::GoOn
        | Confirmation::EndDay
        | Confirmation::EndPractice { .. }
        | Confirmation::CallAgain { .. }
        | Confirmation::HoldsForTheDay { .. } => Decision::of(ui),
        Confirmation::Close => {
            if yes {
                ui.done(format!("{} is closed: it can be amended from the records", app.heading()));
            }
            Decision::of(ui).with_step(step)
        }
        Confirmation::CloseBefore { label } => Decision::of(ui).with_step(step).with_request(Request::Begin { label }),
    }
}

/// Adds to a closed exam: to the one on the screen as a step of it, to another through the archive.
pub fn amend(app: &App, ui: Ui, exam: u64, text: &str) -> Decision {
    let this = records(&ui).is_some_and(|records| records.current == exam);
    if this && app.state().finished {
        return Decision::of(ui)
            .with_step(Event::Amended(text.to_owned()))
            .with_request(Request::Read(ListedExam::Own(exam)));
    }
    Decision::of(ui).with_request(Request::Amend { exam, text: text.to_owned() })
}

/// Whether an exam is open to be read.
pub fn is_open(ui: &Ui) -> bool {
    records(ui).is_some_and(|records| records.open.is_some())
}

/// Goes some lines on or back in the list or the record, of which that many rows are shown.
pub fn choose(records: &mut Records, step: isize, shown: usize) {
    if let Some(form) = records.glasses.as_mut().filter(|form| form.shown) {
        form.chosen = form.chosen.saturating_add_signed(step).min(GlassesQuestion::ALL.len());
    } else if let Some(open) = &records.open {
        let last = open.lines.len().saturating_sub(shown.max(1));
        records.top = records.top.saturating_add_signed(step).min(last);
    } else {
        let last = records.list.len().saturating_sub(1);
        records.chosen = records.chosen.saturating_add_signed(step).min(last);
    }
}
