//! `dioptray practice class`: what students handed in, computed again from what happened and from the eyes of the code.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::class_table::{Student, table};
use super::lessons::find;
use crate::command::table_out::TableOut;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::export::table::TableForm;
use crate::kit::document::Faults;
use crate::kit::document::load::{name_of, read_text};
use crate::optics::bounds;
use crate::optics::notation::parse_figure;
use crate::practice::class::HandIn;
use crate::practice::class::hand_in::HandInError;
use crate::practice::class::marks::{MarkError, PassLine, USUAL_RESIDUAL_D, marked};

/// The largest file that is read, in bytes: sixty-four long exams.
pub(super) const LARGEST_FILE: u64 = 64 << 20;

/// The arguments of `dioptray practice class`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Class {
    /// The files that students handed in.
    #[arg(value_name = "FILE", required = true, value_parser = values::path())]
    files: Vec<PathBuf>,
    /// A page for people, or a table for spreadsheets.
    #[arg(long = "as", value_name = "FORM", value_enum, default_value = "page")]
    form: Form,
    /// Your pass line: the most that may be left in any meridian of either eye, |M| + |C|/2, in dioptres; 0.50 when neither
    /// this nor a lesson says it.
    #[arg(long, value_name = "D", value_parser = values::figure)]
    pass: Option<String>,
    /// How long a station may take, in minutes; without it, and where no lesson says it, as long as it takes.
    #[arg(long, value_name = "M", value_parser = values::figure)]
    minutes: Option<String>,
    /// A lesson, by its name or its file, whose pass line and time hold.
    #[arg(long, value_name = "NAME|FILE", value_parser = values::path())]
    lesson: Option<PathBuf>,
    /// The file to write, whole or not at all; a page as PDF where its name ends so. Without it, standard output.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    out: Option<PathBuf>,
    /// Replace the file if there is one already.
    #[arg(long, requires = "out")]
    force: bool,
}

/// The form of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// For spreadsheets: a row for each student and station.
    Csv,
    /// For people: text of 80 columns, or A4 pages.
    Page,
}

const EXAMPLES: &str = "Examples:
  dioptray practice class ana.json ben.json
  dioptray practice class *.json --pass 0.25 --minutes 12 --as csv --out class.csv
  dioptray practice class *.json --out class.pdf

Nothing in the files is taken for a result: each exam is led again from its steps, and its people come from the code. A file that \
was changed by as much as one character is named and left out; the others are shown, and the exit code is 1.";

impl Class {
    /// Marks and lists.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let line = self.pass_line()?;
        let to = TableOut::new(self.table_form(), self.out, self.force);
        to.refuse_early(context)?;
        let (mut students, mut all_read) = (Vec::new(), true);
        for file in &self.files {
            match student(file) {
                Ok(student) => students.push(student),
                Err(why) => {
                    all_read = false;
                    note(why);
                }
            }
        }
        if !students.is_empty() {
            to.write(context, "class", None, &table(&students, line), out)?;
        }
        Ok(if all_read { Outcome::Done } else { Outcome::PartlyAtFault })
    }

    fn table_form(&self) -> Option<TableForm> {
        match self.form {
            Form::Csv => Some(TableForm::Csv),
            // by the end of the file's name
            Form::Page => None,
        }
    }

    fn pass_line(&self) -> anyhow::Result<PassLine> {
        let of_lesson = self.lesson.as_deref().map(find).transpose()?;
        let figure = |typed: &Option<String>, range| typed.as_deref().map(|of| parse_figure(of, range)).transpose();
        let pass_d = figure(&self.pass, &bounds::PASS_LINE_D)?;
        let minutes = figure(&self.minutes, &bounds::STATION_MINUTES)?;
        Ok(PassLine {
            residual_d: pass_d.or(of_lesson.as_ref().and_then(|lesson| lesson.pass_d)).unwrap_or(USUAL_RESIDUAL_D),
            minutes: minutes.or(of_lesson.and_then(|lesson| lesson.minutes)),
        })
    }
}

/// What one student handed in, marked.
fn student(file: &Path) -> Result<Student, String> {
    let hand_in = read(file)?;
    let name = name_of(file);
    let because = |(station, error): (u16, MarkError)| format!("{name}: station {station}: {error}");
    let marked = marked(&hand_in).map_err(because)?;
    Ok(Student { hand_in, marked })
}

/// Reads what one student handed in.
///
/// # Errors
/// In words, after the name of the file.
pub(super) fn read(file: &Path) -> Result<HandIn, String> {
    let text = read_text(file, LARGEST_FILE).map_err(|fault| Faults::from(fault).to_string())?;
    HandIn::read(&text).map_err(|error: HandInError| format!("{}: {error}", name_of(file)))
}
