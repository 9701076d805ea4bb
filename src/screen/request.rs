//! Doing what a key asked of the archive.

use super::app::{App, Keeper};
use super::archive::{Begun, NotDone, Request};
use super::page::{Page, Records};
use super::ui::Ui;
use crate::exam::{Detail, Event, Exam};

impl App {
    /// Runs an request; what comes of it, or why nothing does, is on the screen afterwards.
    pub(super) fn run_request(&mut self, request: Request, keeper: &mut dyn Keeper) {
        let mut ui = self.ui.clone();
        let done = match request {
            Request::Begin { label } => self.begin(&label, keeper),
            request => with_archive(self, &mut ui, request, keeper).map(|()| self.ui = ui),
        };
        if let Err(NotDone(why)) = done {
            self.ui.refused(why);
        }
    }

    fn begin(&mut self, label: &str, keeper: &mut dyn Keeper) -> Result<(), NotDone> {
        let Begun { exam, heading } = match keeper.archive() {
            Some(archive) => archive.begin()?,
            // nothing is kept: another exam begins as this one did
            None => Begun { exam: Exam::open(self.exam.opening().clone()), heading: self.heading.clone() },
        };
        self.go_over_to(exam, heading);
        let Ui { form, theme, .. } = self.ui;
        self.ui = Ui { form, theme, ..Ui::new(&self.settings) };
        self.ui.done(format!("{} begins", self.heading));
        if label.is_empty() {
            return Ok(());
        }
        self.take_step(&[Event::Detail(Detail::Label(label.to_owned()))], keeper).map_err(NotDone)
    }
}

fn with_archive(app: &App, ui: &mut Ui, request: Request, keeper: &mut dyn Keeper) -> Result<(), NotDone> {
    let Some(archive) = keeper.archive() else {
        ui.page = Some(Page::Records(Records::default()));
        return Ok(());
    };
    let form = app.ui.form;
    match request {
        Request::List => {
            let records = Records { list: archive.list(form)?, current: archive.current(), ..Records::default() };
            ui.page = Some(Page::Records(records));
        }
        Request::Read(exam) => show(ui, archive.read(exam, form)?),
        Request::Amend { exam, text } => {
            archive.amend(exam, &text)?;
            show(ui, archive.read(exam, form)?);
            ui.done(format!("added to exam {exam}"));
        }
        Request::Export { exam, form: record_form } => {
            let path = archive.export(exam, form, record_form)?;
            ui.done(format!("written: {}", path.display()));
        }
        Request::Begin { .. } => {}
    }
    Ok(())
}

/// Opens a record, or its new state where it was open already, on the line where it was.
fn show(ui: &mut Ui, opened: super::archive::Opened) {
    if let Some(Page::Records(records)) = &mut ui.page {
        if records.open.as_ref().is_none_or(|before| before.exam != opened.exam) {
            records.top = 0;
        }
        records.open = Some(opened);
    }
}
