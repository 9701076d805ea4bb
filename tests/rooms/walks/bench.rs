//! A small box and a four-cell frame to walk with, and the door that walks come in by.

use dioptray::day::{Caller, DayEvent};
use dioptray::exam::{CheckedStep, Exam, Opening, ReadyMadeLimits};
use dioptray::frame::FittedFrame;
use dioptray::kit::shelf::DeclaredShelf;
use dioptray::kit::stock_take::Ending;
use dioptray::kit::{BoxChange, DeclaredBox, LensLine, Measured, Rims, Stock, StockTake};
use dioptray::optics::Eye;
use dioptray::practice::drills::Answered;
use dioptray::screen::theme::Glyphs;
use dioptray::screen::view::layout::MOST_COLUMNS;
use dioptray::screen::{App, PrintForm, ScreenStart, Settings, Size, print, view};
use dioptray::session::journal::Sitting;
use dioptray::session::{
    BoxNow, DayNow, DrillSitting, DrilledSoFar, InMemory, Journal, Note, RecordError, SaveError, Session, ToNote,
};
use jiff::Timestamp;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::plain::{box_of, four_cells};

type Failure = Box<dyn std::error::Error>;

/// A small outreach box: -4.25, +3.25 and -1.75 spheres are not in it, one -3.00 is lost.
pub fn outreach_box() -> Result<DeclaredBox, Failure> {
    let mut lines = Vec::new();
    let mut add = |label: &str, declared: u8, missing: u8| -> Result<(), Failure> {
        lines.push(LensLine { lens: label.parse()?, declared, missing });
        Ok(())
    };
    for power in [0.25, 0.50, 0.75, 1.00, 1.50, 2.00, 2.50, 3.00, 3.50, 4.00, 4.50, 5.00, 6.00, 8.00, 10.00] {
        for sign in ["+", "-"] {
            let missing = u8::from(sign == "-" && power == 3.00);
            add(&format!("{sign}{power:.2} sphere"), 2, missing)?;
        }
    }
    for power in [0.25, 0.50, 0.75, 1.00, 1.50, 2.00] {
        add(&format!("-{power:.2} cylinder"), 2, 0)?;
    }
    for power in 1..=3 {
        add(&format!("{power} prism"), 1, 0)?;
    }
    add("0.25 cross cylinder", 1, 0)?;
    for name in ["occluder", "pinhole", "slit"] {
        add(name, 1, 0)?;
    }
    Ok(DeclaredBox {
        rims: Rims { plus: Some("black".to_owned()), minus: Some("red".to_owned()) },
        measured: vec![Measured { piece: "-6.00 sphere #1".parse()?, power: -5.87, note: None }],
        ..box_of("Walking box", lines)
    })
}

/// Saves nothing, in exam 1, on a day that stands.
struct Unkept(InMemory);

impl Journal for Unkept {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        self.0.save(step)
    }

    fn lasts(&self) -> bool {
        false
    }

    fn exam_number(&self) -> Option<u64> {
        Some(1)
    }

    fn sit(&self, opening: Opening) -> Result<Sitting, RecordError> {
        let (exam, journal) = self.0.sit(opening)?;
        drop(journal);
        Ok((exam, Box::new(Self(self.0.clone()))))
    }

    fn note_drill(&mut self, sitting: DrillSitting, answered: &Answered) -> Result<(), RecordError> {
        self.0.note_drill(sitting, answered)
    }

    fn drilled(&self) -> Result<DrilledSoFar, RecordError> {
        self.0.drilled()
    }

    fn box_now(&self, exam: &Exam, other: Option<&str>) -> Result<BoxNow, RecordError> {
        self.0.box_now(exam, other)
    }

    fn change_box(&mut self, exam: &Exam, other: Option<&str>, to_note: &ToNote) -> Result<(), RecordError> {
        self.0.change_box(exam, other, to_note)
    }

    fn take_back_of_box(&mut self, exam: &Exam, other: Option<&str>) -> Result<Vec<BoxChange>, RecordError> {
        self.0.take_back_of_box(exam, other)
    }

    fn with_box_by_now(&mut self, exam: &Exam) -> Result<Option<Exam>, RecordError> {
        self.0.with_box_by_now(exam)
    }

    fn stock_take(&self, exam: &Exam, other: Option<&str>) -> Result<StockTake, RecordError> {
        self.0.stock_take(exam, other)
    }

    fn keep_stock_take(&mut self, other: Option<&str>, take: Option<&StockTake>) -> Result<(), RecordError> {
        self.0.keep_stock_take(other, take)
    }

    fn end_stock_take(&mut self, exam: &Exam, other: Option<&str>, ending: &Ending) -> Result<(), RecordError> {
        self.0.end_stock_take(exam, other, ending)
    }

    fn begin_another(
        &mut self,
        exam: &Exam,
        last_step: Option<&CheckedStep>,
        caller: Option<&Caller>,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        self.0.begin_another(exam, last_step, caller)
    }

    fn clock(&self) -> Timestamp {
        self.0.clock()
    }

    fn day(&self, exam: &Exam) -> Result<Option<DayNow>, RecordError> {
        self.0.day(exam)
    }

    fn begin_day(&mut self, exam: &Exam, place: Option<String>) -> Result<(), RecordError> {
        self.0.begin_day(exam, place)
    }

    fn note_in_day(&mut self, events: &[DayEvent]) -> Result<(), RecordError> {
        self.0.note_in_day(events)
    }

    fn use_shelf(&mut self, shelf: &DeclaredShelf, limits: ReadyMadeLimits) -> Result<(), RecordError> {
        self.0.use_shelf(shelf, limits)
    }

    fn undo_in_day(&mut self) -> Result<String, RecordError> {
        self.0.undo_in_day()
    }

    fn person(&self) -> Option<u32> {
        self.0.person()
    }

    fn take_up(
        &mut self,
        exam: &Exam,
        last_step: Option<&CheckedStep>,
        number: u32,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        self.0.take_up(exam, last_step, number)
    }
}

/// The day on which walks are gone.
const DAY: &str = "2026-11-26T10:00:00Z";

/// An exam that nothing keeps.
#[expect(clippy::unwrap_used, reason = "a test may stop")]
pub fn session(exam: Exam) -> Session {
    Session::new(exam, Box::new(Unkept(InMemory::at(DAY.parse().unwrap()))))
}

/// The same screen once more, to try a key on.
pub fn copy(app: &App) -> App {
    let mut copy = App::new(session(app.exam().clone()), app.settings.clone());
    copy.ui = app.ui.clone();
    copy
}

/// A screen on an empty frame, without a logbook.
pub fn options(settings: Settings) -> Result<ScreenStart, Failure> {
    let fitted = FittedFrame::new(four_cells(), Stock::of(&outreach_box()?));
    Ok(ScreenStart {
        session: session(Exam::open(Opening::of(fitted))),
        settings,
        choices: None,
        goes_on: None,
        cautions: false,
        offers_kit: false,
        learns: false,
        said: dioptray::screen::AtStart::default(),
        sends: None,
        reports_keys: false,
    })
}

/// The last frame after some keys, at a size written `80x24`.
pub fn walk(keys: &str, size: &str) -> Result<String, Failure> {
    walk_with(options(Settings::shipped()?)?, keys, size)
}

/// The last frame of a screen that starts otherwise.
pub fn walk_with(options: ScreenStart, keys: &str, size: &str) -> Result<String, Failure> {
    Ok(print(options, keys, size.parse::<Size>()?, PrintForm::Text)?)
}

/// The rows of the screen, cut to the columns of one eye.
pub fn rows_of(app: &App, eye: Eye, columns: u16, rows: u16) -> Vec<String> {
    let mut buffer = Buffer::empty(Rect::new(0, 0, columns, rows));
    view::draw(app, Glyphs::chosen(app.settings.characters), &mut buffer);
    let block = columns.min(MOST_COLUMNS);
    let half = usize::from((block - 1) / 2);
    let first = usize::from((columns - block) / 2) + if eye == Eye::Right { 0 } else { half + 1 };
    let row =
        |row: &[ratatui::buffer::Cell]| row[first..first + half].iter().map(ratatui::buffer::Cell::symbol).collect();
    buffer.content().chunks(usize::from(columns)).map(row).collect()
}
