//! Written questions on A4 pages: a line to write on after each, and the answers on pages of their own.

use super::face::Face::{Bold, Plain};
use super::face::FaceError;
use super::layout::{Layout, MARGIN, PAGE_WIDTH};
use crate::export::questions::{QuestionPages, QuestionPart};

/// Size of questions and answers, and of the working, in points.
const SIZE: f32 = 10.0;
const WORKING: f32 = 9.0;
/// How far in they stand from their numbers, in points.
const INDENT: f32 = 22.0;
/// What a question with the line for its answer needs at least, in points.
const TOGETHER: f32 = 56.0;
/// How far the line for the answer lies below the question, in points.
const TO_THE_LINE: f32 = 22.0;

/// Questions as the bytes of a PDF file.
///
/// # Errors
/// When a face cannot be used, which those that come with the program always can.
pub fn pdf_of_questions(pages: &QuestionPages) -> Result<Vec<u8>, FaceError> {
    let mut page = Layout::new(pages.title)?;
    title(&mut page, pages.title);
    for part in &pages.parts {
        heading(&mut page, part, part.about);
        for (number, question) in (1..).zip(&part.questions) {
            page.keep_together(TOGETHER);
            numbered(&mut page, number, question);
            page.space(TO_THE_LINE);
            page.line_to_write_on(MARGIN + INDENT, PAGE_WIDTH - 2.0 * MARGIN - INDENT);
        }
    }
    caution(&mut page, pages.caution);
    page.turn();
    title(&mut page, "Answers");
    for part in &pages.parts {
        heading(&mut page, part, part.about);
        for (number, answered) in (1..).zip(&part.answers) {
            page.keep_together(TOGETHER);
            numbered(&mut page, number, &answered.answer);
            for step in &answered.working {
                page.paragraph(Plain, WORKING, MARGIN + INDENT, step);
            }
        }
    }
    caution(&mut page, pages.caution);
    page.finish()
}

fn title(page: &mut Layout, title: &str) {
    page.space(16.0);
    page.paragraph(Bold, 15.0, MARGIN, title);
    page.space(6.0);
    page.rule(1.0);
}

fn heading(page: &mut Layout, part: &QuestionPart, about: &str) {
    page.keep_together(2.0 * TOGETHER);
    page.space(12.0);
    page.paragraph(Bold, SIZE, MARGIN, &part.head);
    page.paragraph(Plain, WORKING, MARGIN, about);
}

fn numbered(page: &mut Layout, number: usize, text: &str) {
    page.space(8.0);
    page.paragraph(Plain, SIZE, MARGIN, &format!("{number}.  {text}"));
}

fn caution(page: &mut Layout, text: &str) {
    page.space(12.0);
    page.paragraph(Plain, 7.5, MARGIN, text);
}
