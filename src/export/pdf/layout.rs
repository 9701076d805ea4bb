//! Lines on pages: a cursor that goes down and opens a further page when one is full.

use pdf_writer::{Content, Finish, Pdf, Rect, Ref, Str, TextStr};

use super::face::{Face, FaceError, Faces, SET_AT};
use crate::export::words::sentence;
use crate::export::wrapping::wrapped;

/// Width of A4 in points.
pub const PAGE_WIDTH: f32 = 595.0;
/// Height of A4 in points.
const PAGE_HEIGHT: f32 = 842.0;
/// Space at the left, the right and the upper edge.
pub const MARGIN: f32 = 57.0;
/// The lowest place of a line, from the lower edge.
const LOWEST: f32 = 42.0;
/// Where the number of a page stands, from the lower edge.
const FOOTER: f32 = 26.0;
/// The most letters that a page lists as not drawn.
const MOST_LISTED: usize = 12;
/// Distance from line to line, in sizes.
const LEADING: f32 = 1.28;

/// Size in points, direction in degrees and lightness (0 is black) of a word across a page.
const ACROSS: f32 = 104.0;
const ACROSS_DEG: f32 = 52.0;
const ACROSS_GRAY: f32 = 0.86;

/// Pages that are being written.
pub struct Layout {
    title: String,
    full: Vec<Content>,
    page: Content,
    /// Where the next line stands, from the lower edge of the page.
    cursor: f32,
    faces: Faces,
    /// The word that stands across every page.
    across: Option<&'static str>,
}

impl Layout {
    /// An empty page.
    pub fn new(title: &str) -> Result<Self, FaceError> {
        Ok(Self {
            title: title.to_owned(),
            full: Vec::new(),
            page: Content::new(),
            cursor: PAGE_HEIGHT - MARGIN,
            faces: Faces::new()?,
            across: None,
        })
    }

    /// Has a word stand across this page and every further one, beneath what is written on it from here on.
    pub fn write_across(&mut self, word: Option<&'static str>) {
        self.across = word;
        self.draw_across();
    }

    fn draw_across(&mut self) {
        let Some(word) = self.across else { return };
        let bytes = self.faces.encoded(Face::Bold, word);
        let half = self.faces.width(Face::Bold, ACROSS, word) / 2.0;
        let [x, y] = [PAGE_WIDTH / 2.0, PAGE_HEIGHT / 2.0];
        let (sine, cosine) = ACROSS_DEG.to_radians().sin_cos();
        self.page.save_state();
        self.page.set_fill_gray(ACROSS_GRAY);
        self.page.begin_text();
        self.page.set_font(Face::Bold.resource(), ACROSS * SET_AT);
        // from the middle of the page back by half of the word
        self.page.set_text_matrix([cosine, sine, -sine, cosine, x - half * cosine, y - half * sine]);
        self.page.show(Str(&bytes));
        self.page.end_text();
        self.page.restore_state();
    }

    /// Which letters could not be drawn, where there are any.
    pub fn lacking(&self) -> Option<String> {
        let lacking = self.faces.lacking();
        if lacking.is_empty() {
            return None;
        }
        let listed: Vec<String> =
            lacking.iter().take(MOST_LISTED).map(|&letter| format!("U+{:04X}", u32::from(letter))).collect();
        let more = match lacking.len() - listed.len() {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        Some(format!(
            "the face of the page, of Latin, Greek and Cyrillic, lacks {}{more}: □ stands there. The text card has them.",
            listed.join(", ")
        ))
    }

    /// Goes down. A line that would then stand below the page opens a further one.
    pub fn space(&mut self, points: f32) {
        self.cursor -= points;
    }

    fn turn_full_page(&mut self) {
        if self.cursor < LOWEST {
            self.turn();
        }
    }

    /// Opens a further page.
    pub fn turn(&mut self) {
        self.full.push(std::mem::replace(&mut self.page, Content::new()));
        self.cursor = PAGE_HEIGHT - MARGIN - 10.0;
        self.draw_across();
    }

    /// Opens a further page where so many points do not stand on this one. Gives whether it did.
    pub fn keep_together(&mut self, points: f32) -> bool {
        let turns = self.cursor - points < LOWEST;
        if turns {
            self.turn();
        }
        turns
    }

    /// How wide a text is, in points.
    pub fn width(&self, face: Face, size: f32, text: &str) -> f32 {
        self.faces.width(face, size, text)
    }

    /// A line to write on, from a left edge.
    pub fn line_to_write_on(&mut self, left: f32, width: f32) {
        self.turn_full_page();
        self.page.set_line_width(0.4);
        self.page.move_to(left, self.cursor - 1.5);
        self.page.line_to(left + width, self.cursor - 1.5);
        self.page.stroke();
    }

    /// A square to tick, from a left edge.
    pub fn square_to_tick(&mut self, left: f32, side: f32) {
        self.turn_full_page();
        self.page.set_line_width(0.6);
        self.page.rect(left, self.cursor - 1.0, side, side);
        self.page.stroke();
    }

    /// A text at the cursor, from a left edge.
    pub fn text(&mut self, face: Face, size: f32, left: f32, text: &str) {
        self.turn_full_page();
        let bytes = self.faces.encoded(face, text);
        show(&mut self.page, face, size, (left, self.cursor), &bytes);
    }

    /// A text at the cursor that ends at a right edge.
    pub fn text_right(&mut self, face: Face, size: f32, right: f32, text: &str) {
        self.text(face, size, right - self.faces.width(face, size, text), text);
    }

    /// A text from a left edge, over as many lines as it needs; each line goes down first.
    pub fn paragraph(&mut self, face: Face, size: f32, left: f32, text: &str) {
        let most = f64::from(PAGE_WIDTH - MARGIN - left);
        for line in wrapped(text, most, |part| f64::from(self.faces.width(face, size, part))) {
            self.space(size * LEADING);
            self.text(face, size, left, &line);
        }
    }

    /// A paragraph with a dot before its first line.
    pub fn bulleted(&mut self, size: f32, text: &str) {
        let left = MARGIN + size;
        let most = f64::from(PAGE_WIDTH - MARGIN - left);
        let lines = wrapped(text, most, |part| f64::from(self.faces.width(Face::Plain, size, part)));
        for (index, line) in lines.iter().enumerate() {
            self.space(size * LEADING);
            if index == 0 {
                self.text(Face::Bold, size, MARGIN, "·");
            }
            self.text(Face::Plain, size, left, line);
        }
    }

    /// A line across the page at the cursor.
    pub fn rule(&mut self, stroke: f32) {
        self.turn_full_page();
        self.page.set_line_width(stroke);
        self.page.move_to(MARGIN, self.cursor);
        self.page.line_to(PAGE_WIDTH - MARGIN, self.cursor);
        self.page.stroke();
    }

    /// The bytes of the file. When there are several pages each says whose it is and which.
    pub fn finish(mut self) -> Result<Vec<u8>, FaceError> {
        if let Some(lacking) = self.lacking() {
            self.space(6.0);
            self.paragraph(Face::Plain, 7.5, MARGIN, &sentence(&lacking));
        }
        self.full.push(self.page);
        let count = i32::try_from(self.full.len()).unwrap_or(i32::MAX);
        let [catalog, tree, info] = [1, 2, 3].map(Ref::new);
        let pages: Vec<(Ref, Ref)> = (0..count).map(|n| (Ref::new(4 + 2 * n), Ref::new(5 + 2 * n))).collect();
        let mut pdf = Pdf::new();
        pdf.catalog(catalog).pages(tree);
        pdf.document_info(info).title(TextStr(&self.title)).creator(TextStr("Dioptray"));
        pdf.pages(tree).kids(pages.iter().map(|&(page, _)| page)).count(count);
        for (number, content) in (1..=count).zip(&mut self.full) {
            if count > 1 {
                let footer = format!("{}, page {number} of {count}", self.title);
                show(content, Face::Plain, 7.5, (MARGIN, FOOTER), &self.faces.encoded(Face::Plain, &footer));
            }
        }
        let fonts = self.faces.write(&mut pdf, Ref::new(4 + 2 * count))?;
        for (content, (reference, stream)) in self.full.into_iter().zip(pages) {
            let mut page = pdf.page(reference);
            page.media_box(Rect::new(0.0, 0.0, PAGE_WIDTH, PAGE_HEIGHT));
            page.parent(tree).contents(stream);
            let mut resources = page.resources();
            let mut faces = resources.fonts();
            for (face, font) in Face::ALL.into_iter().zip(fonts) {
                faces.pair(face.resource(), font);
            }
            faces.finish();
            resources.finish();
            page.finish();
            pdf.stream(stream, &content.finish());
        }
        Ok(pdf.finish())
    }
}

fn show(page: &mut Content, face: Face, size: f32, (left, height): (f32, f32), bytes: &[u8]) {
    page.begin_text();
    page.set_font(face.resource(), size * SET_AT);
    page.next_line(left, height);
    page.show(Str(bytes));
    page.end_text();
}
