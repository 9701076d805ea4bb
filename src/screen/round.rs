//! One input, from the key to what is kept: decide, let the session take the step, and do what was asked beside it.

use super::app::App;
use super::carried::Carried;
use super::decide::{After, Decision, decide};
use super::page::{Page, Records};
use super::request::Request;
use super::settings::ThemeName;
use super::ui::{Input, Ui};
use crate::exam::{Detail, Event};
use crate::optics::CylinderForm;
use crate::session::{ListedExam, OpenedRecord, RecordError, Step};

impl App {
    /// Takes one input all the way round, and says what happens to the screen itself.
    pub fn handle(&mut self, input: &Input) -> After {
        if let Some(gone) = self.leave_what_is_gone() {
            self.ui.refused(gone.to_string());
            return After::GoesOn;
        }
        let Decision { step, ui, mut after, request } = decide(self, input);
        // the exam before is closed only with another one there
        if let Some(Request::Begin { label }) = request {
            if let Err(refusal) = self.begin(step, &label) {
                if refusal.is_not_kept() {
                    after = After::NotKept;
                }
                self.ui.refused(refusal.to_string());
            }
        } else {
            let of_the_room = step.events().iter().find_map(Event::holds_for_a_day).cloned();
            // what is not kept is not shown
            if let Err(refusal) = self.session.take(step) {
                let not_kept = refusal.is_not_kept() && after == After::GoesOn;
                self.ui.refused(refusal.to_string());
                return if not_kept { After::NotKept } else { after };
            }
            let before = std::mem::replace(&mut self.ui, ui);
            self.keep_choices((before.form, before.theme));
            if let Some(Err(refusal)) = request.map(|request| self.run(request, &mut after)) {
                // a line that was not taken stays, to be taken again
                self.ui.prompt = before.prompt;
                self.ui.refused(refusal.to_string());
                if refusal.is_not_kept() && after == After::GoesOn {
                    after = After::NotKept;
                }
            }
            self.ask_for_the_day(of_the_room);
        }
        self.say_once_that_the_disk_fails();
        self.tell_the_room();
        self.follow_the_guide();
        self.follow_lesson();
        after
    }

    /// Leaves the record that is read where another program has erased the exam meanwhile, and says why.
    fn leave_what_is_gone(&mut self) -> Option<RecordError> {
        let Some(Page::Records(records)) = &mut self.ui.page else { return None };
        let gone = self.session.gone(&records.open.as_ref()?.exam)?;
        (records.open, records.glasses, records.top) = (None, None, 0);
        self.ui.prompt = None;
        Some(gone)
    }

    /// Says why what is kept is not yet on the disk; the top line has it from then on. The words of a question stay until it
    /// is answered.
    pub(super) fn say_once_that_the_disk_fails(&mut self) {
        let may_say = !self.said_that_the_disk_fails && self.ui.asks.is_none();
        if let Some(error) = self.session.disk_failure().filter(|_| may_say) {
            self.said_that_the_disk_fails = true;
            self.ui.refused(format!(
                "not yet on the disk ({error}): it is kept while this computer runs. See that the disk is sound, and copy the logbook to another"
            ));
        }
    }

    /// Takes one input while nothing of the exam can be seen: nothing is answered or moved blindly, but the screen can be left.
    pub fn handle_unseen(&self, input: &Input) -> After {
        decide(self, input).after
    }

    /// Keeps what was chosen on the screen; the choice holds for now even where it cannot be kept.
    fn keep_choices(&mut self, before: (CylinderForm, ThemeName)) {
        let now = (self.ui.form, self.ui.theme);
        if let Some(Err(error)) = self.choices.as_mut().map(|choices| choices.keep(before, now)) {
            self.ui.refused(format!("this choice is not saved: {error}"));
        }
    }

    /// Does what was asked beside a step.
    fn run(&mut self, request: Request, after: &mut After) -> Result<(), RecordError> {
        let form = self.ui.form;
        match request {
            Request::List { search } => {
                let found = self.session.exams(&search)?;
                let of = if search.is_empty() { found.exams.len() } else { self.session.exams("")?.exams.len() };
                if found.exams.is_empty() && of > 0 {
                    self.ui.refused(format!("no exam has `{search}` in its label, its number, its date or its seat"));
                    return Ok(());
                }
                let current = self.session.exam_number().unwrap_or_default();
                let names = found.exams.iter().filter(|exam| !exam.is_own()).map(|exam| exam.to_string().len() as u16);
                let (of_others, longest_name) = names.fold((0, 0), |(count, most), name| (count + 1, most.max(name)));
                let list = found.exams.into();
                let records = Records { list, of_others, longest_name, of, search, current, ..Records::default() };
                self.ui.page = Some(Page::Records(records));
                if let Some(why) = found.others_left_out {
                    self.ui.refused(format!("exams of other seats are left out: {why}"));
                }
            }
            Request::Read(exam) => show(&mut self.ui, self.session.read(&exam, form)?),
            Request::Amend { exam, text } => {
                self.session.amend(exam, &text)?;
                show(&mut self.ui, self.session.read(&ListedExam::Own(exam), form)?);
                self.ui.done(format!("added to exam {exam}"));
            }
            Request::GlassesBack { exam, draft } => {
                self.session.glasses_came_back(exam, &draft)?;
                show(&mut self.ui, self.session.read(&ListedExam::Own(exam), form)?);
                if let Some(Page::Records(records)) = &mut self.ui.page {
                    records.glasses = None;
                    records.show_last_came_back();
                }
                self.ui.done(format!("added to exam {exam}: the likeliest cause first"));
            }
            Request::TakeGlassesBack(exam) => {
                self.session.take_back_glasses(exam)?;
                show(&mut self.ui, self.session.read(&ListedExam::Own(exam), form)?);
                self.ui.done(format!("taken back in exam {exam}: what was noted stays readable"));
            }
            Request::Export { exam, form: record_form } => {
                let path = self.session.export(&exam, form, record_form)?;
                self.ui.done(format!("written: {}", path.display()));
            }
            Request::OfBox(request) => self.run_of_box(request)?,
            Request::OfDay(request) => self.run_of_day(request)?,
            Request::OfPractice(request) => *after = self.run_of_practice(request)?,
            Request::Begin { label } => self.begin(Step::default(), &label)?,
        }
        Ok(())
    }

    /// Goes over to another exam, once this one has taken its last step, if it has one. The room stays, and so does the look.
    fn begin(&mut self, last_step: Step, label: &str) -> Result<(), RecordError> {
        let carried = Carried::of(self);
        let notes = self.session.begin_another(last_step, None)?;
        self.ui = carried.next_screen(&self.settings);
        let mut beginning = carried.room.events();
        if !label.is_empty() {
            beginning.push(Event::Detail(Detail::Label(label.to_owned())));
        }
        self.session.take(beginning)?;
        let room = carried.room.in_words();
        let as_before = if room.is_empty() { room } else { format!(", as before: {room}") };
        let mut said = vec![format!("{} begins{as_before}", self.heading())];
        said.extend(notes.iter().map(ToString::to_string));
        self.ui.done(said.join("; "));
        Ok(())
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
