//! How many pieces are where: on the top line, by kind, and each that is away or not as it should be.

use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr as _;

use super::super::super::app::App;
use super::super::super::box_page::BoxPage;
use super::super::layout::MOST_TEXT;
use super::super::pen::Pen;
use crate::kit::{Place, StockedPiece};

/// How many pieces are how.
#[derive(Default)]
struct Counts {
    pieces: usize,
    here: usize,
    lost: usize,
    lent: usize,
    in_two_places: usize,
    damaged: usize,
    off_mark: usize,
}

impl Counts {
    fn of<'a>(pieces: impl Iterator<Item = &'a StockedPiece>) -> Self {
        let mut counts = Self::default();
        for stocked in pieces {
            // taken apart, so that whatever else is known of a piece is counted here or left out on purpose
            let StockedPiece { piece: _, place, damaged, measured } = stocked;
            match place {
                Place::Retired | Place::Moved { .. } => continue,
                Place::Box | Place::Cell { .. } | Place::Hand { .. } => counts.here += 1,
                Place::Lost => counts.lost += 1,
                Place::Lent { .. } => counts.lent += 1,
                Place::InTwoPlaces => counts.in_two_places += 1,
            }
            counts.pieces += 1;
            counts.damaged += usize::from(*damaged);
            counts.off_mark += usize::from(measured.is_some());
        }
        counts
    }

    /// Each count with its word, those of nothing left out but for what is here.
    fn said(&self) -> Vec<String> {
        let Self { pieces, here, lost, lent, in_two_places, damaged, off_mark } = self;
        let all = if *pieces == 1 { "1 piece".to_owned() } else { format!("{pieces} pieces") };
        let others = [
            (in_two_places, "in two places"),
            (lost, "lost"),
            (lent, "lent"),
            (damaged, "damaged"),
            (off_mark, "off its mark"),
        ];
        let others = others.into_iter().filter(|(count, _)| **count > 0).map(|(count, word)| format!("{count} {word}"));
        [all, format!("{here} here")].into_iter().chain(others).collect()
    }
}

fn of_the_box(page: &BoxPage) -> Counts {
    Counts::of(page.now.stock.pieces().iter())
}

/// The top line: the box, its pieces, and whether what is noted lasts.
pub fn head(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage, said: Option<(String, String)>) {
    let dot = format!(" {} ", pen.glyphs.dot);
    let failing = app.session.disk_failure().is_some();
    let lasts = app.session.lasts();
    let right = match (lasts, failing) {
        (false, _) => "NOT SAVED: no logbook",
        (true, true) => "NOT YET ON THE DISK",
        (true, false) => "saved",
    };
    let style = if lasts && !failing { pen.theme.quiet } else { pen.theme.warning };
    let width = right.width() as u16 + 1;
    pen.text(area, 0, area.width.saturating_sub(width), right, style);
    let left = Rect { width: area.width.saturating_sub(width + 2), ..area };
    // the name is cut where there is too little room, then the last counts, which stand below the tray too
    if let Some((title, text)) = said {
        let end = pen.text(
            Rect { width: left.width.saturating_sub(text.width() as u16 + 3), ..left },
            0,
            1,
            &title,
            pen.theme.title,
        );
        pen.text(left, 0, end + 3, &pen.glyphs.spell(&text), pen.theme.text);
        return;
    }
    let said = of_the_box(page).said();
    let title = "BOX ";
    let least_of_the_name = page.now.stock.box_name.width().min(12);
    let room = usize::from(left.width).saturating_sub(1 + title.len() + least_of_the_name + 3);
    let most = (1..=said.len()).rev().find(|count| said[..*count].join(&dot).width() <= room.min(MOST_TEXT.into()));
    let counts = said[..most.unwrap_or(1)].join(&dot);
    let name = Rect { width: left.width.saturating_sub(counts.width() as u16 + 3), ..left };
    let column = pen.text(name, 0, 1, title, pen.theme.title);
    let end = pen.text(name, 0, column, &page.now.stock.box_name, pen.theme.title);
    pen.text(left, 0, end + 3, &counts, pen.theme.text);
}

/// The counts in words.
pub fn in_words(page: &BoxPage) -> String {
    format!("box {}: {}", page.now.stock.box_name, of_the_box(page).said().join(", "))
}

/// Rows of the counts by kind, with heading and column heads.
pub fn rows(page: &BoxPage) -> u16 {
    2 + page.rows.len() as u16
}

/// Columns of the kinds.
const KIND: u16 = 12;
/// Columns of each count.
const COUNT: u16 = 6;

/// Draws the counts by kind.
pub fn draw(pen: &mut Pen<'_>, area: Rect, page: &BoxPage) {
    pen.heading(area, "by kind", false);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let mut heads = vec!["all", "here", "lost", "lent", "d", "~"];
    heads.extend((of_the_box(page).in_two_places > 0).then_some("?"));
    let column = |nth: usize| KIND + nth as u16 * COUNT;
    let fit = (0..heads.len()).take_while(|nth| column(*nth) + COUNT <= room.width).count();
    for (nth, head) in heads.iter().enumerate().take(fit) {
        pen.text(room, 0, column(nth), &format!("{head:>width$}", width = usize::from(COUNT) - 1), pen.theme.quiet);
    }
    for (at, row) in page.rows.iter().enumerate().take(usize::from(room.height.saturating_sub(1))) {
        let of_row = row.lenses.iter().flat_map(|lens| page.now.stock.of_lens(lens));
        let Counts { pieces, here, lost, lent, in_two_places, damaged, off_mark } = Counts::of(of_row);
        let below = Rect { y: room.y + 1 + at as u16, height: 1, ..room };
        pen.text(below, 0, 1, &row.name, pen.theme.text);
        for (nth, count) in
            [pieces, here, lost, lent, damaged, off_mark, in_two_places].into_iter().enumerate().take(fit)
        {
            let text = if count == 0 { "·".to_owned() } else { count.to_string() };
            let style = if count == 0 { pen.theme.quiet } else { pen.theme.text };
            pen.text(below, 0, column(nth), &format!("{text:>width$}", width = usize::from(COUNT) - 1), style);
        }
    }
}
