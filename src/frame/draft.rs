//! A frame that its keeper makes of one that comes with the program: each thing is asked, with what the template has to be
//! taken or mended, and what the reader of frame files would refuse is refused at once.

use super::declared::{CellSpec, DeclaredFrame, PdRange};
use super::file::parse_frame;
use super::written::write_frame;
use crate::kit::document::Faults;
use crate::kit::document::fault::quoted;
use crate::optics::notation::{NotationError, parse_figure};
use crate::optics::{Millimetres, bounds};

/// What is asked of a new frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FrameQuestion {
    /// Which cells it has before one eye.
    Cells,
    /// How far they are apart.
    Gaps,
    /// Which of them turn.
    Turning,
    /// How far the first is from the eye.
    Vertex,
    /// How far the marks of its dial are apart.
    AxisMarks,
    /// To which pupillary distances it can be set.
    Pd,
}

impl FrameQuestion {
    /// All of them, in the order in which they are asked.
    pub const ALL: [Self; 6] = [Self::Cells, Self::Gaps, Self::Turning, Self::Vertex, Self::AxisMarks, Self::Pd];

    /// What is asked, in a few words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cells => "cells",
            Self::Gaps => "gaps in mm",
            Self::Turning => "cells that turn",
            Self::Vertex => "vertex distance in mm",
            Self::AxisMarks => "axis marks in degrees",
            Self::Pd => "pupillary distances in mm",
        }
    }

    /// How it is answered.
    pub fn how(self) -> &'static str {
        match self {
            Self::Cells => "their names from the eye outward, 1 to 8, a comma between two: rear, front",
            Self::Gaps => "from each cell to the next, from the eye outward: 3.5 4",
            Self::Turning => "their numbers, 1 nearest the eye: 3 4; with a plus those that turn as one: 3+4; or none",
            Self::Vertex => "from the eye to the back of the lens in cell 1: 12",
            Self::AxisMarks => "from one mark of the dial to the next: 5",
            Self::Pd => "the least and the most that the frame can be set to: 48 to 80; or none",
        }
    }
}

/// Why an answer is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{problem}")]
pub struct DraftFault {
    /// What is wrong and what would be right.
    pub problem: String,
    /// The character at fault, from 0.
    pub place: Option<usize>,
}

impl DraftFault {
    fn at(place: usize, problem: impl Into<String>) -> Self {
        Self { problem: problem.into(), place: Some(place) }
    }

    fn plain(problem: impl Into<String>) -> Self {
        Self { problem: problem.into(), place: None }
    }

    /// Of a part of the line that begins at a character.
    fn of_part(place: usize, error: &NotationError) -> Self {
        let within = error.text()[..error.place().start].chars().count();
        Self::at(place + within, error.problem())
    }
}

impl From<Faults> for DraftFault {
    fn from(faults: Faults) -> Self {
        Self::plain(faults.iter().map(|fault| fault.refusal.to_string()).collect::<Vec<_>>().join("; "))
    }
}

/// A frame that is being made. Every question is to be answered before it is one.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameDraft {
    name: String,
    cells: Vec<String>,
    /// Between neighbouring cells; unknown once there are other cells than those that they were of.
    gaps: Option<Vec<f64>>,
    /// Numbers of the cells that turn, those together that turn as one; unknown as the gaps.
    turning: Option<Vec<Vec<u8>>>,
    vertex: f64,
    axis_marks_deg: u8,
    pd: Option<PdRange>,
    answered: Vec<FrameQuestion>,
}

impl FrameDraft {
    /// A frame of this name with what a template has, nothing of it answered yet.
    ///
    /// # Errors
    /// When no frame file can have the name.
    pub fn of(name: &str, template: &DeclaredFrame) -> Result<Self, DraftFault> {
        let mut turning: Vec<Vec<u8>> = Vec::new();
        for number in template.cell_numbers() {
            let with = template.turning_with(number);
            if with.first() == Some(&number) {
                turning.push(with);
            }
        }
        let draft = Self {
            name: name.to_owned(),
            cells: template.cells.iter().map(|cell| cell.name.clone()).collect(),
            gaps: Some(template.gaps().into_iter().map(|gap| gap.0).collect()),
            turning: Some(turning),
            vertex: template.vertex.0,
            axis_marks_deg: template.axis_marks_deg,
            pd: template.pd,
            answered: Vec::new(),
        };
        draft.read_back()?;
        Ok(draft)
    }

    /// What the frame is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Whether a question was answered.
    pub fn is_answered(&self, question: FrameQuestion) -> bool {
        self.answered.contains(&question)
    }

    /// The first question that is not answered yet.
    pub fn asks(&self) -> Option<FrameQuestion> {
        FrameQuestion::ALL.into_iter().find(|question| !self.is_answered(*question))
    }

    /// What is so now, as it would be typed; nothing where it is not known.
    pub fn now(&self, question: FrameQuestion) -> String {
        let figures = |figures: &[f64]| figures.iter().map(f64::to_string).collect::<Vec<_>>().join(" ");
        match question {
            FrameQuestion::Cells => self.cells.join(", "),
            FrameQuestion::Gaps if self.cells.len() == 1 => NONE.to_owned(),
            FrameQuestion::Gaps => self.gaps.as_deref().map(figures).unwrap_or_default(),
            FrameQuestion::Turning => match self.turning.as_deref() {
                None => String::new(),
                Some([]) => NONE.to_owned(),
                Some(groups) => groups.iter().map(|group| joined(group)).collect::<Vec<_>>().join(" "),
            },
            FrameQuestion::Vertex => self.vertex.to_string(),
            FrameQuestion::AxisMarks => self.axis_marks_deg.to_string(),
            FrameQuestion::Pd => {
                self.pd.map_or_else(|| NONE.to_owned(), |pd| format!("{} to {}", pd.least.0, pd.most.0))
            }
        }
    }

    /// The same with an answer. Other cells make gaps and turning unknown.
    ///
    /// # Errors
    /// When it cannot be read, or the reader of frame files refuses it.
    pub fn answer(&self, question: FrameQuestion, text: &str) -> Result<Self, DraftFault> {
        let mut draft = self.clone();
        match question {
            FrameQuestion::Cells => {
                let cells = names(text)?;
                if cells.len() != self.cells.len() {
                    draft.gaps = (cells.len() == 1).then(Vec::new);
                    draft.turning = None;
                    draft.answered.retain(|of| !matches!(of, FrameQuestion::Gaps | FrameQuestion::Turning));
                }
                draft.cells = cells;
            }
            FrameQuestion::Gaps => draft.gaps = Some(gaps(text, self.cells.len() - 1)?),
            FrameQuestion::Turning => draft.turning = Some(turning(text, self.cells.len())?),
            FrameQuestion::Vertex => draft.vertex = figure(text, 0, &bounds::VERTEX_MM)?,
            FrameQuestion::AxisMarks => draft.axis_marks_deg = figure(text, 0, &bounds::AXIS_MARKS)? as u8,
            FrameQuestion::Pd => draft.pd = pd(text)?,
        }
        draft.read_back()?;
        if !draft.is_answered(question) {
            draft.answered.push(question);
        }
        Ok(draft)
    }

    /// The frame, once every question is answered.
    pub fn declared(&self) -> Option<DeclaredFrame> {
        self.asks().is_none().then(|| self.as_far_as_known())
    }

    /// The frame with 0 for gaps that are not known.
    fn as_far_as_known(&self) -> DeclaredFrame {
        let cell = |(at, name): (usize, &String)| {
            let number = at as u8 + 1;
            let group = self.turning.iter().flatten().find(|group| group.contains(&number));
            CellSpec {
                name: name.clone(),
                gap: Millimetres(
                    at.checked_sub(1).and_then(|gap| self.gaps.as_ref()?.get(gap).copied()).unwrap_or(0.0),
                ),
                turns: group.is_some(),
                ring: group.filter(|group| group.len() > 1).map(|group| joined(group)),
            }
        };
        DeclaredFrame {
            name: self.name.clone(),
            vertex: Millimetres(self.vertex),
            pd: self.pd,
            axis_marks_deg: self.axis_marks_deg,
            cells: self.cells.iter().enumerate().map(cell).collect(),
        }
    }

    /// What the reader of frame files says of it.
    fn read_back(&self) -> Result<(), DraftFault> {
        parse_frame("new frame", &write_frame(&self.as_far_as_known()))?;
        Ok(())
    }
}

/// Said where there is nothing of something.
const NONE: &str = "none";

fn joined(group: &[u8]) -> String {
    group.iter().map(u8::to_string).collect::<Vec<_>>().join("+")
}

fn figure(text: &str, place: usize, row: &bounds::Range) -> Result<f64, DraftFault> {
    parse_figure(text, row).map_err(|error| DraftFault::of_part(place, &error))
}

/// Words of a line, each with the character at which it begins; a comma may follow one.
fn words(text: &str) -> Vec<(usize, &str)> {
    let mut place = 0;
    let mut words = Vec::new();
    for part in text.split(char::is_whitespace) {
        let word = part.trim_end_matches(',');
        if !word.is_empty() {
            words.push((place, word));
        }
        place += part.chars().count() + 1;
    }
    words
}

fn names(text: &str) -> Result<Vec<String>, DraftFault> {
    let mut place = 0;
    let mut names: Vec<String> = Vec::new();
    for part in text.split(',') {
        let name = part.trim();
        if name.is_empty() {
            return Err(DraftFault::at(place, "a cell has no name: write it like rear, front"));
        }
        if names.iter().any(|before| before == name) {
            return Err(DraftFault::at(
                place,
                format!("a second cell has the name {}: each has its own", quoted(name)),
            ));
        }
        names.push(name.to_owned());
        place += part.chars().count() + 1;
    }
    Ok(names)
}

fn gaps(text: &str, wanted: usize) -> Result<Vec<f64>, DraftFault> {
    let words = if wanted == 0 && text == NONE { Vec::new() } else { words(text) };
    let gaps: Result<Vec<f64>, _> = words.iter().map(|(place, word)| figure(word, *place, &bounds::GAP_MM)).collect();
    let gaps = gaps?;
    if gaps.len() == wanted {
        return Ok(gaps);
    }
    let cells = wanted + 1;
    let are = if gaps.len() == 1 { "1 gap is".to_owned() } else { format!("{} gaps are", gaps.len()) };
    let need = match wanted {
        0 => "a single cell has none".to_owned(),
        1 => "2 cells have 1 between them".to_owned(),
        _ => format!("{cells} cells have {wanted} between them, a space between two figures"),
    };
    Err(DraftFault::plain(format!("{are} said: {need}")))
}

fn turning(text: &str, cells: usize) -> Result<Vec<Vec<u8>>, DraftFault> {
    if text == NONE {
        return Ok(Vec::new());
    }
    let mut groups: Vec<Vec<u8>> = Vec::new();
    for (place, word) in words(text) {
        let mut group: Vec<u8> = Vec::new();
        for number in word.split('+') {
            let cell = number.parse::<u8>().ok().filter(|cell| (1..=cells).contains(&usize::from(*cell)));
            let cell = cell.ok_or_else(|| {
                DraftFault::at(
                    place,
                    format!("{} is not a cell: they are 1 to {cells}, like 3 4, 3+4 or none", quoted(number)),
                )
            })?;
            if groups.iter().flatten().chain(&group).any(|before| *before == cell) {
                return Err(DraftFault::at(place, format!("cell {cell} is said twice")));
            }
            group.push(cell);
        }
        group.sort_unstable();
        groups.push(group);
    }
    groups.sort();
    Ok(groups)
}

fn pd(text: &str) -> Result<Option<PdRange>, DraftFault> {
    if text == NONE {
        return Ok(None);
    }
    let Some((least, most)) = text.split_once(" to ") else {
        return Err(DraftFault::plain("write the least and the most like 48 to 80, or none"));
    };
    let place = least.chars().count() + " to ".len();
    let least = figure(least, 0, &bounds::PD_MM)?;
    let most = figure(most, place, &bounds::PD_MM)?;
    Ok(Some(PdRange { least: Millimetres(least), most: Millimetres(most) }))
}
