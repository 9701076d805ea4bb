//! A record as headings, rows and paragraphs: what stands in the forms that people read, written once; these only lay it out.

use super::glasses::EyeOrder;
use super::glasses_words;
use super::record::{EyeRecord, Record};
use super::words;
use crate::exam::prescription::CylinderForm;
use crate::optics::notation::Style;
use crate::optics::{Acuity, Eye};

const SIGNATURE: Block = Block::Signature { name: "prescribed by (licensed under local rules)", date: "date" };

/// What stands across a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Across {
    /// The word.
    pub word: &'static str,
    /// What it means.
    pub why: &'static str,
}

/// Across the page of a practice eye.
pub const PRACTICE: Across = Across {
    word: "PRACTICE",
    why: "PRACTICE: a simulated eye was examined, no person. This is no prescription, and nobody may wear it.",
};

/// A record to be laid out, from top to bottom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// What the paper is, written above everything else.
    pub title: &'static str,
    /// Of which exam: `exam 14`.
    pub exam: String,
    /// Whom, when and by whom, as far as known.
    pub about: Vec<String>,
    /// What stands across the page, and why, where no person was examined.
    pub across: Option<Across>,
    /// That the exam is not closed, if it is not.
    pub draft: Option<&'static str>,
    /// The rest.
    pub blocks: Vec<Block>,
}

/// One part of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// What the next blocks are about.
    Heading {
        /// How large it is.
        size: HeadingSize,
        /// The heading.
        text: &'static str,
        /// What is added to it at the other end of its line.
        aside: Option<String>,
    },
    /// Figures in rows and columns.
    Rows(Rows),
    /// A text of its own.
    Paragraph {
        /// Its words, not wrapped yet.
        text: String,
        /// Whether it is part of the prescription.
        strong: bool,
    },
    /// Entries, one below the other.
    Entries {
        /// One string each, not wrapped yet.
        entries: Vec<String>,
        /// Whether they are the small print.
        small: bool,
    },
    /// A line across, between what is prescribed and what was found.
    Rule,
    /// A place for a name and a date.
    Signature {
        /// Whose name.
        name: &'static str,
        /// The word beside the place for the date.
        date: &'static str,
    },
}

/// How large a heading is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeadingSize {
    /// Of the prescription.
    Large,
    /// Of everything else.
    Medium,
    /// Of the small print.
    Small,
}

/// Rows of figures below the heads of their columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rows {
    /// What they are, which is how large they are shown.
    pub kind: RowsKind,
    /// The heads of the columns after the names of the rows.
    pub columns: Vec<String>,
    /// The figures, row by row from top to bottom.
    pub rows: Vec<Row>,
    /// What belongs to the rows and has no column.
    pub beneath: Vec<String>,
}

/// What rows of figures are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowsKind {
    /// The prescription, large: sphere, cylinder, axis and addition of each eye.
    Prescription,
    /// The findings: a row for each, a column for each eye.
    Findings,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// What or whom it is about.
    pub name: String,
    /// What stands in it.
    pub cells: Cells,
}

/// What stands in a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cells {
    /// A figure for each column.
    Figures(Vec<String>),
    /// That there are none, in words.
    Nothing(&'static str),
}

impl From<&Record> for Document {
    fn from(record: &Record) -> Self {
        let mut blocks = prescription(record);
        blocks.extend(findings(record));
        blocks.extend(lacking(record));
        blocks.extend(certainty(record));
        blocks.extend(entries("Compared with what was known before", &words::comparisons(record)));
        blocks.extend(entries("Notes", &record.notes));
        blocks.extend(entries("Added after closing", &record.amendments));
        let came_back = record.came_back.iter().flat_map(glasses_words::came_back);
        let came_back: Vec<String> = came_back.chain(glasses_words::came_back_sources(&record.came_back)).collect();
        blocks.extend(entries("Glasses that came back", &came_back));
        blocks.extend(entries("Cautions for this exam", &record.cautions_in_words));
        // nobody signs for an eye that is none
        blocks.extend((!record.practice).then_some(SIGNATURE));
        blocks.push(Block::Heading { size: HeadingSize::Small, text: "Always", aside: None });
        blocks.push(Block::Entries { entries: record.notice.map(str::to_owned).into(), small: true });
        Self {
            title: "Record of a refraction",
            exam: format!("exam {}", record.exam_name()),
            about: words::heading(record),
            across: record.practice.then_some(PRACTICE),
            draft: record.draft.then_some("DRAFT: this exam is not closed."),
            blocks,
        }
    }
}

/// What stands where a figure is not known, or there is none.
const NONE: &str = "–";

fn prescription(record: &Record) -> Vec<Block> {
    let form = match record.form {
        CylinderForm::Minus => "minus cylinders",
        CylinderForm::Plus => "plus cylinders",
    };
    let heading = Block::Heading {
        size: HeadingSize::Large,
        text: "Prescription",
        aside: Some(format!("{form}, powers in dioptres (D)")),
    };
    let has_addition = record.eyes().into_iter().any(|eye| eye.addition.is_some());
    let columns = ["sphere", "cylinder", "axis"].into_iter().chain(has_addition.then_some("addition"));
    let rows = record.eyes().map(|eye| {
        let cells = match eye.written {
            None => Cells::Nothing(eye.outcome.shown()),
            Some(written) => {
                let has_cylinder = written.cylinder != 0.0;
                let of_cylinder = |figure: String| if has_cylinder { figure } else { NONE.to_owned() };
                let figures = [
                    words::power(written.sphere),
                    of_cylinder(words::signed(written.cylinder)),
                    of_cylinder(words::axis(written.axis)),
                ];
                let addition = eye.addition.map_or_else(|| NONE.to_owned(), words::signed);
                let addition = has_addition.then_some(addition);
                Cells::Figures(figures.into_iter().chain(addition).collect())
            }
        };
        Row { name: words::eye(eye.eye), cells }
    });
    let over = record.eyes().into_iter().filter_map(|eye| words::stays_on(record, eye));
    let with_prism = record.eyes().into_iter().filter(|eye| !eye.prism.is_empty());
    let beneath =
        with_prism.map(|eye| format!("Prism in front of the {}: {}.", words::eye(eye.eye), words::prism(&eye.prism)));
    let rows = Block::Rows(Rows {
        kind: RowsKind::Prescription,
        columns: columns.map(str::to_owned).collect(),
        rows: rows.into_iter().collect(),
        beneath: over.chain(beneath).collect(),
    });
    let vertex = words::vertex(record).map(|text| Block::Paragraph { text, strong: true });
    let outcome = words::outcome(record).map(|text| Block::Paragraph { text, strong: true });
    [heading, rows].into_iter().chain(vertex).chain(outcome).chain([Block::Rule]).collect()
}

/// What the chart said to the acuity above, where it stood elsewhere than its figures say.
const ON_CHART: &str = "  as the chart says";

fn acuity(read: Option<Acuity>, record: &Record) -> Option<String> {
    read.map(|read| words::acuity(read, record.acuity_notation))
}

fn on_chart(read: Option<Acuity>, record: &Record) -> Option<String> {
    read.and_then(|read| words::on_chart(read, record.acuity_notation, Style::Typographic))
}

/// What was found for the two eyes side by side: the name of a row, and what stands in it where it is known.
const FINDINGS: [Finding; 18] = [
    ("pupillary distance", |eye, _| eye.pd_mm.map(words::millimetres)),
    ("  centre within", |eye, record| of_order(eye, record)?.far.as_ref().and_then(glasses_words::centre_within)),
    ("glasses for near", |eye, record| of_order(eye, record)?.near.map(|near| words::prescription(near.power))),
    ("centre for near", |eye, record| of_order(eye, record)?.near.as_ref().and_then(glasses_words::centre)),
    ("acuity unaided", |eye, record| acuity(eye.unaided, record)),
    (ON_CHART, |eye, record| on_chart(eye.unaided, record)),
    ("acuity, pinhole", |eye, record| acuity(eye.pinhole, record)),
    (ON_CHART, |eye, record| on_chart(eye.pinhole, record)),
    ("same through +2.00", |eye, _| {
        eye.reads_same_through_plus_two.map(|reads| if reads { "yes" } else { "no" }.to_owned())
    }),
    ("acuity with glasses", |eye, record| acuity(eye.with_old_glasses, record)),
    (ON_CHART, |eye, record| on_chart(eye.with_old_glasses, record)),
    ("acuity, power found", |eye, record| acuity(eye.with_prescription, record)),
    (ON_CHART, |eye, record| on_chart(eye.with_prescription, record)),
    ("power found", |eye, record| eye.found.map(|power| words::figures(power, record.form))),
    ("found under drops", |eye, record| eye.wet.map(|power| words::figures(power, record.form))),
    ("retinoscopy", |eye, record| eye.retinoscopy.map(|power| words::figures(power, record.form))),
    ("refracted", |eye, _| eye.refracted.map(|strategy| strategy.shown().to_owned())),
    ("present glasses", |eye, _| eye.old_glasses.map(words::prescription)),
];

/// What is ordered for the eye of a row.
fn of_order<'a>(eye: &EyeRecord, record: &'a Record) -> Option<&'a EyeOrder> {
    record.order.as_ref().map(|order| order.eyes()[eye.eye])
}

type Finding = (&'static str, fn(&EyeRecord, &Record) -> Option<String>);

fn findings(record: &Record) -> Vec<Block> {
    let rows = FINDINGS.into_iter().filter_map(|(name, of)| {
        let of_eyes = record.eyes().map(|eye| of(eye, record));
        let cells = of_eyes.as_ref().map(|value| value.clone().unwrap_or_else(|| NONE.to_owned()));
        let known = of_eyes.into_iter().any(|value| value.is_some());
        known.then(|| Row { name: name.to_owned(), cells: Cells::Figures(cells.into_iter().collect()) })
    });
    let rows: Vec<Row> = rows.collect();
    let columns = Eye::BOTH.map(words::eye).into();
    let found = (!rows.is_empty()).then_some(Block::Rows(Rows {
        kind: RowsKind::Findings,
        columns,
        rows,
        beneath: Vec::new(),
    }));
    let said =
        words::circumstances(record).into_iter().chain(record.order.as_ref().map(|_| glasses_words::limits_note()));
    let circumstances = Block::Paragraph { text: said.collect::<Vec<_>>().join(" "), strong: false };
    found.into_iter().chain([circumstances]).collect()
}

/// What nobody entered that the order for the glasses needs.
fn lacking(record: &Record) -> Vec<Block> {
    let lacking = record.order.as_ref().map(|order| order.lacking_in_words.clone()).unwrap_or_default();
    entries("Missing for the order of the glasses", &lacking)
}

/// How sure it is, in small letters: it explains, and prescribes nothing.
fn certainty(record: &Record) -> Vec<Block> {
    let entries = words::certainty(record);
    if entries.is_empty() {
        return Vec::new();
    }
    let heading = Block::Heading { size: HeadingSize::Small, text: "How sure it is", aside: None };
    vec![heading, Block::Entries { entries, small: true }]
}

fn entries(heading: &'static str, entries: &[String]) -> Vec<Block> {
    if entries.is_empty() {
        return Vec::new();
    }
    vec![
        Block::Heading { size: HeadingSize::Medium, text: heading, aside: None },
        Block::Entries { entries: entries.iter().map(|text| words::isolated(text)).collect(), small: false },
    ]
}
