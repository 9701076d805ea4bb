//! The screen once more in this process, on a journal of its own: what it takes and draws is what the program in the terminal
//! must have kept and must show.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use dioptray::day::Caller;
use dioptray::exam::{CheckedStep, Event, Exam, Opening, Repeats};
use dioptray::export::RecordForm;
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::kit::Stock;
use dioptray::kit::shipped::demo_box;
use dioptray::logbook::{Found, Logbook};
use dioptray::optics::{CylinderForm, Power};
use dioptray::screen::settings::Characters;
use dioptray::screen::theme::Glyphs;
use dioptray::screen::ui::{Input, Sheet};
use dioptray::screen::view::pen::Hits;
use dioptray::screen::{App, Settings, view};
use dioptray::session::{
    ExamLine, Journal, ListedExam, ListedExams, Note, OpenedRecord, RecordError, SaveError, Session,
};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::pty::Failure;

/// That many of the latest closed exams are looked at when one begins.
const LATEST: usize = 40;

/// What was taken, exam by exam.
#[derive(Default)]
pub struct Taken {
    /// The steps of each exam, in order.
    pub exams: Vec<Vec<Vec<Event>>>,
    found: Vec<Found>,
}

impl Taken {
    /// How many steps were taken in all.
    pub fn steps(&self) -> usize {
        self.exams.iter().map(Vec::len).sum()
    }
}

/// The steps of each exam of a logbook, the first exam first.
pub fn kept(path: &Path) -> Result<Vec<Vec<Vec<Event>>>, Failure> {
    let logbook = Logbook::open_read_only(path)?;
    let numbers = logbook.index()?.into_iter().rev().map(|exam| exam.number);
    let steps = numbers.map(|number| {
        let steps = logbook.read_exam(number)?.steps.into_iter();
        Ok(steps.map(|step| step.events).collect())
    });
    steps.collect()
}

struct Counting(Rc<RefCell<Taken>>);

impl Counting {
    fn latest(&self) -> Vec<Found> {
        self.0.borrow().found.iter().rev().take(LATEST).cloned().collect()
    }
}

impl Journal for Counting {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        let mut taken = self.0.borrow_mut();
        if step.events().contains(&Event::Finished) {
            taken.found.push(Found::of(step.after()));
        }
        taken.exams.last_mut().ok_or_else(|| SaveError::new("no exam"))?.push(step.events().to_vec());
        Ok(())
    }

    fn lasts(&self) -> bool {
        true
    }

    fn exam_number(&self) -> Option<u64> {
        Some(self.0.borrow().exams.len() as u64)
    }

    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        Ok(self.latest().into_iter().flat_map(|found| found.retinoscopy).collect())
    }

    fn repeats(&self) -> Result<Repeats, RecordError> {
        Ok(self.latest().into_iter().fold(Repeats::default(), |all, found| all.with(found.repeats)))
    }

    fn exams(&self, _search: &str) -> Result<ListedExams, RecordError> {
        let exams = (1..=self.0.borrow().exams.len() as u64).rev().map(ListedExam::Own).collect();
        Ok(ListedExams { exams, others_left_out: None })
    }

    fn read(&self, exam: &ListedExam, _form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        let ListedExam::Own(number) = exam else { return Err(RecordError::NoLogbook) };
        let closed =
            self.0.borrow().exams[*number as usize - 1].iter().flatten().any(|event| *event == Event::Finished);
        Ok(OpenedRecord { exam: exam.clone(), closed, order: None, came_back: false, held: None, lines: Vec::new() })
    }

    fn line(&self, exam: &ListedExam, _form: CylinderForm) -> ExamLine {
        ExamLine {
            exam: exam.to_string(),
            opened: String::new(),
            label: String::new(),
            box_name: String::new(),
            closed: false,
            written: dioptray::optics::Eyes::default(),
            addition: String::new(),
            outcome: String::new(),
        }
    }

    fn amend(&mut self, exam: u64, added: Event) -> Result<(), RecordError> {
        self.0.borrow_mut().exams[exam as usize - 1].push(vec![added]);
        Ok(())
    }

    fn export(&self, _exam: &ListedExam, _form: CylinderForm, _as_form: RecordForm) -> Result<PathBuf, RecordError> {
        Ok(PathBuf::new())
    }

    fn begin_another(
        &mut self,
        exam: &Exam,
        last_step: Option<&CheckedStep>,
        _caller: Option<&Caller>,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        if let Some(step) = last_step {
            self.save(step).map_err(dioptray::session::StepError::from)?;
        }
        self.0.borrow_mut().exams.push(Vec::new());
        Ok((Exam::open(exam.opening().clone()), Vec::new()))
    }
}

/// The screen in this process.
pub struct Twin {
    pub app: App,
    taken: Rc<RefCell<Taken>>,
    glyphs: &'static Glyphs,
    area: Rect,
    hits: Hits,
}

impl Twin {
    pub fn new(columns: u16, rows: u16) -> Result<Self, Failure> {
        let taken = Rc::new(RefCell::new(Taken { exams: vec![Vec::new()], ..Taken::default() }));
        let fitted = FittedFrame::new(demo_frame()?, Stock::of(&demo_box()?));
        let session = Session::new(Exam::open(Opening::of(fitted)), Box::new(Counting(Rc::clone(&taken))));
        let mut app = App::new(session, Settings::shipped()?);
        app.ui.sheet = Some(Sheet::Cautions);
        app.ui.offers_kit = true;
        let (glyphs, area) = (Glyphs::chosen(Characters::Unicode), Rect::new(0, 0, columns, rows));
        let mut twin = Self { app, taken, glyphs, area, hits: Hits::default() };
        twin.rows();
        Ok(twin)
    }

    pub fn take(&mut self, input: &Input) {
        self.app.handle(input);
    }

    pub fn click(&mut self, column: u16, row: u16) {
        if let Some(target) = self.hits.at(column, row) {
            self.take(&Input::Click(target));
        }
    }

    pub fn resize(&mut self, columns: u16, rows: u16) {
        self.area = Rect::new(0, 0, columns, rows);
    }

    pub fn taken(&self) -> std::cell::Ref<'_, Taken> {
        self.taken.borrow()
    }

    /// Draws, and gives the rows without the spaces at their ends.
    pub fn rows(&mut self) -> Vec<String> {
        let mut buffer = Buffer::empty(self.area);
        self.hits = view::draw(&self.app, self.glyphs, &mut buffer);
        let rows = buffer.content().chunks(usize::from(self.area.width));
        rows.map(|row| row.iter().map(ratatui::buffer::Cell::symbol).collect::<String>().trim_end().to_owned())
            .collect()
    }
}
