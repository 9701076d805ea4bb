//! One input, from the key to what is kept: decide, check, keep, accept; then what was asked beside the step.

use super::app::App;
use super::archive::{Begun, NotDone, Opened, Request};
use super::decide::{Decision, decide};
use super::keeper::Keeper;
use super::page::{Page, Records};
use super::ui::{Input, Ui};
use crate::exam::{Detail, Event, Exam, GuideEvent, ProcedureName};
use crate::guide::retinoscopy_bias;

impl App {
    /// Takes one input all the way round. True when the person leaves.
    pub fn handle(&mut self, input: &Input, keeper: &mut dyn Keeper) -> bool {
        let mut decision = decide(self, input);
        if !self.looked_up && begins_retinoscopy(&decision.step) {
            // many exams may have to be read for it, so they are only when retinoscopy begins
            let pairs = keeper.retinoscopy_pairs();
            let unread = pairs.as_ref().err().map(|error| format!("earlier retinoscopy cannot be read: {error}"));
            let bias = retinoscopy_bias(&pairs.unwrap_or_default());
            (self.looked_up, self.earlier_retinoscopy) = (true, bias.and_then(|bias| bias.earlier()));
            decision = decide(self, input);
            if let Some(unread) = unread {
                decision.ui.refused(unread);
            }
        }
        let Decision { step, ui, quit, request } = decision;
        if let Err(refusal) = self.take_step(&step, keeper) {
            self.ui.refused(refusal);
            return quit;
        }
        self.ui = ui;
        if let Some(request) = request {
            self.run_request(request, keeper);
        }
        self.follow_the_guide();
        quit
    }

    /// Takes one input while nothing of the exam can be seen: nothing is answered or moved blindly. True when the person leaves.
    pub fn handle_unseen(&self, input: &Input) -> bool {
        decide(self, input).quit
    }

    /// Takes a step: what the exam would refuse must not be kept, and what is not kept must not be shown.
    fn take_step(&mut self, step: &[Event], keeper: &mut dyn Keeper) -> Result<(), String> {
        if step.is_empty() {
            return Ok(());
        }
        let checked = self.exam.check(step.to_vec()).map_err(|error| error.to_string())?;
        keeper.keep(step).map_err(|error| format!("not kept, so not done: {error}"))?;
        self.exam.accept(checked);
        Ok(())
    }

    /// Does what was asked beside a step; what comes of it, or why nothing does, is on the screen afterwards.
    fn run_request(&mut self, request: Request, keeper: &mut dyn Keeper) {
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

fn begins_retinoscopy(step: &[Event]) -> bool {
    let begins =
        |event: &Event| matches!(event, Event::Guide(GuideEvent::Began { procedure: ProcedureName::Retinoscopy, .. }));
    step.iter().any(begins)
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
fn show(ui: &mut Ui, opened: Opened) {
    if let Some(Page::Records(records)) = &mut ui.page {
        if records.open.as_ref().is_none_or(|before| before.exam != opened.exam) {
            records.top = 0;
        }
        records.open = Some(opened);
    }
}
