//! What a key asks beside steps of the exam, and doing it.

use super::app::App;
use super::page::{Page, Records};
use super::ui::Ui;
use crate::exam::{Detail, Event};
use crate::export::RecordForm;
use crate::session::{OpenedRecord, RecordError};

/// What a key asks beside a step of the exam.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Request {
    /// Show the list of exams.
    List,
    /// Show one exam.
    Read(u64),
    /// Add to a closed exam.
    Amend {
        /// Its number.
        exam: u64,
        /// What to add.
        text: String,
    },
    /// Write the record of an exam into a file.
    Export {
        /// Its number.
        exam: u64,
        /// In which form.
        form: RecordForm,
    },
    /// Begin another exam.
    Begin {
        /// Its label; none when empty.
        label: String,
    },
}

impl App {
    /// Runs a request; what comes of it, or why nothing does, is on the screen afterwards.
    pub(super) fn run_request(&mut self, request: Request) {
        if let Err(refusal) = self.run(request) {
            self.ui.refused(refusal.to_string());
        }
    }

    fn run(&mut self, request: Request) -> Result<(), RecordError> {
        let form = self.ui.form.into();
        match request {
            Request::List => {
                let list = self.session.exams(form)?;
                let current = self.session.exam_number().unwrap_or_default();
                self.ui.page = Some(Page::Records(Records { list, current, ..Records::default() }));
            }
            Request::Read(exam) => show(&mut self.ui, self.session.read(exam, form)?),
            Request::Amend { exam, text } => {
                self.session.amend(exam, &text)?;
                show(&mut self.ui, self.session.read(exam, form)?);
                self.ui.done(format!("added to exam {exam}"));
            }
            Request::Export { exam, form: record_form } => {
                let path = self.session.export(exam, form, record_form)?;
                self.ui.done(format!("written: {}", path.display()));
            }
            Request::Begin { label } => self.begin(Vec::new(), &label)?,
        }
        Ok(())
    }

    /// Goes over to another exam, once this one has taken its last step, if it has one.
    pub(super) fn begin(&mut self, last_step: Vec<Event>, label: &str) -> Result<(), RecordError> {
        let notes = self.session.begin_another(last_step)?;
        self.went_over();
        let Ui { form, theme, .. } = self.ui;
        self.ui = Ui { form, theme, ..Ui::new(&self.settings) };
        let said: String = notes.iter().map(|note| format!("; {note}")).collect();
        self.ui.done(format!("{} begins{said}", self.heading()));
        if label.is_empty() {
            return Ok(());
        }
        Ok(self.take_step(vec![Event::Detail(Detail::Label(label.to_owned()))])?)
    }
}

/// Opens a record, or its new state where it was open already, on the line where it was.
fn show(ui: &mut Ui, opened: OpenedRecord) {
    if let Some(Page::Records(records)) = &mut ui.page {
        if records.open.as_ref().is_none_or(|before| before.exam != opened.exam) {
            records.top = 0;
        }
        records.open = Some(opened);
    }
}
