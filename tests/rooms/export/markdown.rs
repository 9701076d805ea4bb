//! Markdown: read back by another program's parser, what was entered is text and nothing but text.

use dioptray::exam::cautions::GENERAL;
use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{Detail, Event};
use dioptray::export::Record;
use dioptray::export::document::{Block, Cells, Document, Row, Rows, RowsKind};
use dioptray::export::markdown::{laid_out, markdown};
use dioptray::export::words::printable;
use proptest::prelude::*;
use pulldown_cmark::{Event as Mark, Options, Parser, Tag};

use super::Checked;
use super::exams::{adult, applied, opened, record};

/// What a reader of Markdown sees: the lines of text, and the marks that are in it.
struct Seen {
    /// The text of each heading, paragraph, entry and cell.
    texts: Vec<String>,
    /// Every kind of mark, by name.
    marks: Vec<String>,
}

fn seen(text: &str) -> Seen {
    let (mut texts, mut marks) = (vec![String::new()], Vec::new());
    for mark in Parser::new_ext(text, Options::all() - Options::ENABLE_SMART_PUNCTUATION) {
        match mark {
            Mark::Text(part) => {
                if let Some(last) = texts.last_mut() {
                    last.push_str(&part);
                }
            }
            Mark::Start(Tag::Strong) => marks.push("strong".to_owned()),
            Mark::End(_) | Mark::Start(_) => {
                if let Mark::Start(tag) = mark {
                    let name = format!("{tag:?}");
                    marks.push(name.split([' ', '(', '{']).next().unwrap_or_default().to_owned());
                }
                texts.push(String::new());
            }
            other => marks.push(format!("{other:?}")),
        }
    }
    texts.retain(|text| !text.is_empty());
    Seen { texts, marks }
}

/// The record of an exam that is as it is but for what the examiner typed.
fn of_typed(label: &str, note: &str, box_name: &str) -> Result<Record, Box<dyn std::error::Error>> {
    let events = [Event::Detail(Detail::Label(label.to_owned())), Event::Note(note.to_owned())];
    let mut record = record(&applied(opened(), &events)?, CylinderForm::Minus, None)?;
    box_name.clone_into(&mut record.box_name);
    Ok(record)
}

#[test]
fn markdown_has_every_caution() -> Checked {
    let record = record(&adult()?, CylinderForm::Plus, None)?;
    let texts = seen(&markdown(&record)).texts;
    assert!(!record.cautions_in_words.is_empty());
    for caution in record.cautions_in_words.iter().map(String::as_str).chain(GENERAL.map(|caution| caution.full)) {
        assert!(texts.iter().any(|text| text == caution), "Markdown lacks: {caution}");
    }
    Ok(())
}

#[test]
fn what_looks_like_a_mark_stays_text() -> Checked {
    let plain = seen(&markdown(&of_typed("K.M.", "Reads.", "Hillside")?)).marks;
    let cases = [
        "*x*|",
        "_x_",
        "# x",
        "1. x",
        "12) x",
        "- x",
        "+ x",
        "> x",
        "`x`",
        "~~x~~",
        "[x](y)",
        "![x](y)",
        "<b>x</b>",
        "<!-- x -->",
        "&amp; &#42;",
        "a | b",
        "|---|",
        "---",
        "===",
        "\\",
        "x\\",
        "\\*x\\*",
        "a  \nb",
        "    x",
        "$x$",
        "[^1]",
        "- [ ] x",
        ": x",
        "{#x}",
        "^x^",
        "[[x]]",
        "**",
        "http://x.example",
    ];
    for typed in cases {
        let seen = seen(&markdown(&of_typed(typed, typed, typed)?));
        let text = printable(typed);
        assert_eq!(seen.texts.iter().filter(|line| **line == text).count(), 2, "{typed:?} in {:?}", seen.texts);
        assert!(seen.texts.iter().any(|line| line.contains(&format!("Box {text}, frame"))), "{typed:?}");
        assert_eq!(seen.marks, plain, "{typed:?} became a mark");
    }
    Ok(())
}

/// Rows in which a text stands as the name of a row, the head of a column, a figure and what is beneath.
fn rows_of(text: &str) -> Document {
    let row = Row { name: text.to_owned(), cells: Cells::Figures(vec![text.to_owned(); 2]) };
    let rows = Rows {
        kind: RowsKind::Findings,
        columns: vec![text.to_owned(); 2],
        rows: vec![row],
        beneath: vec![text.to_owned()],
    };
    Document {
        title: "T",
        exam: "exam 1".to_owned(),
        about: Vec::new(),
        across: None,
        draft: None,
        blocks: vec![Block::Rows(rows)],
    }
}

proptest! {
    #[test]
    fn nothing_that_is_typed_becomes_a_mark(typed in "[ -~é−–|*_#<>\\\\`\\[\\]()!&~:.0-9\\n\\t-]{1,40}") {
        let text = printable(&typed);
        prop_assume!(!text.is_empty());
        let failed = |error: Box<dyn std::error::Error>| TestCaseError::fail(error.to_string());
        let plain = seen(&markdown(&of_typed("K.M.", "Reads.", "Hillside").map_err(failed)?));
        let typed_in = seen(&markdown(&of_typed(&typed, &typed, &typed).map_err(failed)?));
        prop_assert_eq!(typed_in.texts.iter().filter(|line| **line == text).count(), 2, "{:?}", typed_in.texts);
        prop_assert_eq!(typed_in.marks, plain.marks);
        let plain = seen(&laid_out(&rows_of("x")));
        let typed_in = seen(&laid_out(&rows_of(&typed)));
        prop_assert_eq!(typed_in.texts.iter().filter(|cell| **cell == text).count(), 6, "{:?}", typed_in.texts);
        prop_assert_eq!(typed_in.marks, plain.marks);
    }
}
