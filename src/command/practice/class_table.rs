//! What students handed in, as a table: a row for each student and station.

use crate::command::text;
use crate::exam::prescription::EyeOutcome;
use crate::export::document::PRACTICE;
use crate::export::table::{Cell, Column, ColumnKind, Group, Table, column};
use crate::kit::document::fault::{counted, list};
use crate::optics::{CylinderForm, Eyes};
use crate::practice::class::HandIn;
use crate::practice::class::marks::{Marked, PassLine, Passed};
use crate::practice::feedback::OfEye;
use crate::practice::feedback::sentences::{Section, sentences};

/// What one student handed in.
pub(super) struct Student {
    /// The file.
    pub hand_in: HandIn,
    /// Its stations, marked.
    pub marked: Vec<Marked>,
}

const COLUMNS: [Column; 14] = [
    column("student", ColumnKind::Words),
    column("station", ColumnKind::Figures),
    column("result", ColumnKind::Words),
    column("right residual D", ColumnKind::Figures),
    column("left residual D", ColumnKind::Figures),
    column("right needs", ColumnKind::Words),
    column("right written", ColumnKind::Words),
    column("left needs", ColumnKind::Words),
    column("left written", ColumnKind::Words),
    column("looks", ColumnKind::Figures),
    column("lenses", ColumnKind::Figures),
    column("minutes", ColumnKind::Figures),
    column("tries", ColumnKind::Figures),
    column("harms", ColumnKind::LongWords),
];

/// The table of a class; students of one code stand together.
pub(super) fn table(students: &[Student], line: PassLine) -> Table {
    let mut codes: Vec<String> = Vec::new();
    for student in students {
        let code = student.hand_in.code.to_string();
        if !codes.contains(&code) {
            codes.push(code);
        }
    }
    let groups = codes.iter().map(|code| {
        let of_code = students.iter().filter(|student| student.hand_in.code.to_string() == *code);
        Group { name: code.clone(), rows: of_code.flat_map(|student| rows(student, line)).collect() }
    });
    let minutes = line.minutes.map_or_else(String::new, |minutes| format!(", within {minutes} minutes"));
    let mut notes = vec![format!(
        "A station is passed where no more than {:.2} D is left in any meridian of either eye (|M| + |C|/2 of written less \
         needed){minutes}. The line is the teacher's.",
        line.residual_d
    )];
    notes.extend(students.iter().map(|student| summary(student, line)));
    Table {
        title: "PRACTICE: a class".to_owned(),
        about: vec![counted(students.len(), "student", "students"), counted(codes.len(), "code", "codes")],
        across: Some(PRACTICE),
        groups_are: Some("code"),
        columns: COLUMNS.to_vec(),
        groups: groups.collect(),
        nothing: "Nothing was handed in.",
        notes,
        signed_by: Vec::new(),
        caution: CAUTION,
    }
}

/// What the table must not be taken for.
const CAUTION: &str = "These eyes are simulated: people are less steady, and nothing here says anything about a person. The seal of \
                       a file finds what an editor changed, not what somebody wrote who rebuilt the program. Dioptray is an aid \
                       for learning and not a medical device.";

/// How many stations a student passed, and which are missing.
fn summary(student: &Student, line: PassLine) -> String {
    let HandIn { by, code, .. } = &student.hand_in;
    let passed = student.marked.iter().filter(|marked| marked.passed(line) == Passed::Yes).count();
    let missing: Vec<String> = student.hand_in.missing().iter().map(ToString::to_string).collect();
    let missing = if missing.is_empty() { String::new() } else { format!("; not handed in: {}", list(&missing)) };
    format!("{by}: {passed} of {} passed{missing}.", code.of)
}

fn rows(student: &Student, line: PassLine) -> Vec<Vec<Cell>> {
    let by = &student.hand_in.by;
    let of_station = |number: u16| {
        let marked = student.marked.iter().find(|marked| marked.station == number);
        marked.map_or_else(|| missing(by, number), |marked| row(by, marked, line))
    };
    (1..=student.hand_in.code.of).map(of_station).collect()
}

fn missing(by: &str, number: u16) -> Vec<Cell> {
    let mut cells = vec![Cell::text(by), Cell::count(usize::from(number)), Cell::text("not handed in")];
    cells.resize(COLUMNS.len(), Cell::Empty);
    cells
}

fn row(by: &str, marked: &Marked, line: PassLine) -> Vec<Cell> {
    let Eyes { right, left } = marked.feedback.eyes.map(powers);
    let residuals = marked.residuals_d().map(|residual| Cell::known(residual, Cell::figure));
    let cost = &marked.feedback.cost;
    let harms = sentences(&marked.feedback, CylinderForm::Minus).into_iter();
    let harms = harms.filter(|(section, _)| *section == Section::Harm).flat_map(|(_, said)| said);
    let harms: Vec<String> = harms.map(|said| said.to_string()).collect();
    let begins = [Cell::text(by), Cell::count(usize::from(marked.station)), Cell::text(marked.passed(line).said())];
    let ends = [
        Cell::count(cost.effort.presentations),
        Cell::count(cost.effort.moves),
        Cell::known(cost.minutes, |value| Cell::Figure { value, places: 1, signed: false }),
        Cell::count(usize::from(marked.attempts)),
        Cell::text(harms.join(" ")),
    ];
    begins.into_iter().chain([residuals.right, residuals.left]).chain(right).chain(left).chain(ends).collect()
}

/// What an eye needs and what is written for it; an eye without a power is said to have none.
fn powers(of: OfEye) -> [Cell; 2] {
    let written = match of.outcome {
        EyeOutcome::Refracted => of.off.map(|off| text::power(off.written.power())),
        EyeOutcome::NotRefracted | EyeOutcome::BalanceLens | EyeOutcome::CannotBeWritten => None,
    };
    [Cell::text(text::power(of.needs)), Cell::text(written.unwrap_or_else(|| of.outcome.shown().to_owned()))]
}
