//! Lenses that are looked through: pairs of the box held together, and a lens that nobody knows.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::super::box_page::BoxPage;
use super::super::super::looking::{PairsSeen, Unmarked};
use super::super::layout::MOST_TEXT;
use super::super::pen::{Pen, wrapped};
use crate::keeping::held_together::Suspect;
use crate::keeping::unknown_lens::{Ask, Meridian, Nature, between, waiting_for};
use crate::kit::{Lens, Mark, Piece};
use crate::stacking::loose_halving::Trial;

/// How a line of text is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Weight {
    /// What is to be done or answered now.
    Now,
    /// What is known.
    Known,
    /// What explains.
    Quiet,
}

/// Draws the pairs.
pub fn pairs(pen: &mut Pen<'_>, area: Rect, seen: &PairsSeen) {
    pen.heading(area, "lenses held together", true);
    text(pen, area, &pairs_lines(seen));
}

/// Draws the lens that nobody knows.
pub fn unmarked(pen: &mut Pen<'_>, area: Rect, page: &BoxPage, unmarked: &Unmarked) {
    pen.heading(area, "a lens without a mark", true);
    text(pen, area, &unmarked_lines(page, unmarked));
}

/// The pairs in words.
pub fn pairs_in_words(seen: &PairsSeen) -> Vec<String> {
    pairs_lines(seen).into_iter().map(|(line, _)| line).filter(|line| !line.is_empty()).collect()
}

/// The lens that nobody knows in words.
pub fn unmarked_in_words(page: &BoxPage, unmarked: &Unmarked) -> Vec<String> {
    unmarked_lines(page, unmarked).into_iter().map(|(line, _)| line).filter(|line| !line.is_empty()).collect()
}

fn text(pen: &mut Pen<'_>, area: Rect, lines: &[(String, Weight)]) {
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), width: area.width.min(MOST_TEXT), ..area };
    let mut row = 0;
    for (line, weight) in lines {
        let style = match weight {
            Weight::Now => pen.theme.title,
            Weight::Known => pen.theme.text,
            Weight::Quiet => pen.theme.quiet,
        };
        row = draw_line(pen, room, row, line, style);
    }
}

/// Draws a line in as many rows as it takes, and gives the next row.
fn draw_line(pen: &mut Pen<'_>, room: Rect, row: u16, line: &str, style: Style) -> u16 {
    if line.is_empty() {
        return row + 1;
    }
    let mut row = row;
    for part in wrapped(line, usize::from(room.width.saturating_sub(1))) {
        if row < room.height {
            pen.text(room, row, 1, &part, style);
        }
        row += 1;
    }
    row
}

/// A row without words.
fn blank() -> (String, Weight) {
    (String::new(), Weight::Quiet)
}

fn named(pieces: &[Piece]) -> String {
    pieces.iter().map(ToString::to_string).collect::<Vec<_>>().join(" and ")
}

fn pairs_lines(seen: &PairsSeen) -> Vec<(String, Weight)> {
    let looks = if seen.looks == 1 { "1 look".to_owned() } else { format!("{} looks", seen.looks) };
    let mut lines = match &seen.next {
        Some(next) => vec![
            (format!("Hold {} together, rim to rim.", named(next)), Weight::Now),
            (
                "Look at a line far away through them and move them sideways; a cylinder across the line on its axis."
                    .to_owned(),
                Weight::Quiet,
            ),
            ("“How does the line move?”".to_owned(), Weight::Now),
            blank(),
            ("1  with them".to_owned(), Weight::Known),
            ("2  against them".to_owned(), Weight::Known),
            ("3  it stands still".to_owned(), Weight::Known),
            blank(),
        ],
        None => vec![("No further look is worth it.".to_owned(), Weight::Now)],
    };
    lines.push((format!("{looks} so far, kept with the box: go on any day."), Weight::Quiet));
    if seen.suspects.is_empty() {
        lines.push(("no lens is under suspicion yet".to_owned(), Weight::Known));
    }
    lines.extend(seen.suspects.iter().map(|suspect| (of_a_suspect(suspect), Weight::Known)));
    if !seen.out_of_reach.is_empty() && (seen.next.is_none() || seen.looks == 0) {
        let named: Vec<String> = seen.out_of_reach.iter().map(ToString::to_string).collect();
        lines.push((format!("only an instrument tells: {}", named.join(", ")), Weight::Quiet));
    }
    lines.push(("By hand, and by chances: an instrument has the last word.".to_owned(), Weight::Quiet));
    lines
}

fn of_a_suspect(suspect: &Suspect) -> String {
    let Suspect { piece, chance, off_d, power_d, .. } = suspect;
    let word = if suspect.is_named() { "off its mark" } else { "may be off its mark" };
    let more = if off_d.abs() >= 1.0 { " or more" } else { "" };
    format!("{piece}: {word}, {:.0} in 100, by about {off_d:+.2}{more}: {power_d:+.2}", (chance * 100.0).min(99.0))
}

fn unmarked_lines(page: &BoxPage, unmarked: &Unmarked) -> Vec<(String, Weight)> {
    let mut lines = match (unmarked.lens.ask(), unmarked.lens.found()) {
        (Some(Ask::Turn), _) => vec![
            (
                "Look at a cross far away through the lens, move it sideways, and turn it like a wheel.".to_owned(),
                Weight::Now,
            ),
            ("“What does the cross do?”".to_owned(), Weight::Now),
            blank(),
            ("1  its lines move, turning changes nothing: a sphere".to_owned(), Weight::Known),
            ("2  its lines scissor when the lens is turned: a cylinder".to_owned(), Weight::Known),
            ("3  it stands beside itself wherever the lens is: a prism".to_owned(), Weight::Known),
            ("4  it stays as it is: no power".to_owned(), Weight::Known),
            blank(),
        ],
        (Some(Ask::Hold { trial, meridian, lies }), _) => {
            let along = match meridian {
                Meridian::Any => "",
                Meridian::First => " along the first of its two unbroken lines",
                Meridian::Second => " along the second of its two unbroken lines",
            };
            vec![
                (format!("{} and move it{along}.", hold(trial)), Weight::Now),
                ("“How does the line move?”".to_owned(), Weight::Now),
                blank(),
                ("1  with it".to_owned(), Weight::Known),
                ("2  against it".to_owned(), Weight::Known),
                ("3  it stands still".to_owned(), Weight::Known),
                blank(),
                (format!("so far: {}", between(lies)), Weight::Known),
            ]
        }
        (None, Some(nature)) => found(page, nature),
        (None, None) => Vec::new(),
    };
    let words = unmarked.words();
    if !words.is_empty() {
        lines.push((format!("seen: {}", words.join(", ")), Weight::Quiet));
    }
    lines.push((
        "By hand a power is found to the nearest quarter at best: confirm it on an instrument before the lens goes back."
            .to_owned(),
        Weight::Quiet,
    ));
    lines
}

fn hold(trial: Trial) -> String {
    let held = trial.held_d.into_iter().filter(|held| *held != 0.0);
    let held: Vec<String> = held.map(|held| Lens::Sphere(Mark::nearest(held)).to_string()).collect();
    if held.is_empty() {
        "Hold nothing against it yet".to_owned()
    } else {
        format!("Hold {} against it", held.join(" and "))
    }
}

fn found(page: &BoxPage, nature: Nature) -> Vec<(String, Weight)> {
    let mut lines = vec![(nature.to_string(), Weight::Now)];
    if nature.is_strong() {
        lines.push(("So strong a lens makes another power in front than behind.".to_owned(), Weight::Known));
    }
    let waiting = waiting_for(&page.now.stock, nature);
    if !waiting.is_empty() {
        lines.push((format!("lost and waiting for such a lens: {}", named(&waiting)), Weight::Known));
    }
    lines
}
