//! The line above the hints: what is being typed, or what was done or refused.

use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use ratatui::widgets::{Clear, Widget};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::super::app::App;
use super::super::decide::guide::hint;
use super::super::keys::TypingAction;
use super::super::spot::Spot;
use super::super::ui::{BoxLine, DayLine, PracticeLine, Prompt, Purpose, Tone};
use super::super::words;
use super::layout::MOST_TEXT;
use super::pen::{Pen, wrapped};

/// Draws the line.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let theme = pen.theme;
    let mut column = 1;
    if let Some(prompt) = &app.ui.prompt {
        column = typed(pen, area, app, prompt);
    }
    match &app.ui.says {
        Some(says) => {
            let style = if says.tone == Tone::Done { theme.done } else { theme.warning };
            let text = if says.tone == Tone::Refused { format!("! {}", says.text) } else { says.text.clone() };
            let text = pen.glyphs.spell(&text);
            if text.width() <= usize::from(area.width.saturating_sub(column).min(MOST_TEXT)) {
                pen.text(area, 0, column, &text, style);
            } else {
                above(pen, area, &text, app.ui.prompt.is_some(), style);
            }
        }
        None if app.ui.prompt.is_some() => {
            let keys = &app.settings.keys;
            let text =
                format!("{} OK, {} cancel", keys.key_of(TypingAction::Confirm), keys.key_of(TypingAction::Cancel));
            pen.text(area, 0, column, &text, theme.quiet);
        }
        None => {}
    }
}

/// A long message takes rows of the panel above rather than being cut.
fn above(pen: &mut Pen<'_>, area: Rect, text: &str, line_is_taken: bool, style: Style) {
    let lines = wrapped(text, usize::from(area.width.saturating_sub(2).min(MOST_TEXT)));
    let bottom = if line_is_taken { area.y } else { area.bottom() };
    let height = (lines.len() as u16).min(bottom - pen.buffer.area.y);
    let place = Rect { y: bottom - height, height, ..area };
    Clear.render(place, pen.buffer);
    pen.buffer.set_style(place, pen.theme.text);
    for (row, line) in lines.iter().enumerate() {
        pen.text(place, row as u16, 1, line, style);
    }
}

/// The typed line as text.
pub fn in_words(app: &App, prompt: &Prompt) -> String {
    lead(app, prompt) + prompt.line.value()
}

/// What the line is for.
fn lead(app: &App, prompt: &Prompt) -> String {
    let eye = app.ui.eye;
    match (prompt.purpose, app.ui.spot()) {
        (Purpose::Lens, Spot::Cell(_)) => format!("lens for {}: ", words::place(eye, app.ui.spot())),
        (Purpose::Lens | Purpose::Hold, _) => format!("hold in front of the {eye} eye: "),
        (Purpose::Wanted, _) => format!("wanted for the {eye} eye: "),
        (Purpose::PlannedVertex, _) => "glasses at, in mm: ".to_owned(),
        (Purpose::Answer, _) => {
            let typed = app.guide().presentation().question.typed();
            format!("{}: ", typed.map_or("answer", |typed| hint(app, &typed)))
        }
        (Purpose::Detail(field), _) => format!("{} ({}): ", field.full_name(), field.hint_in(app.ui.form)),
        (Purpose::NewExam, _) => "label of the new exam, or nothing: ".to_owned(),
        (Purpose::Find, _) => "exams with, in label, number, date or outcome: ".to_owned(),
        (Purpose::Amendment(exam), _) => format!("add to exam {exam}: "),
        (Purpose::Glasses(question), _) => format!("{}, or nothing: ", question.name()),
        (Purpose::Box(line), _) => of_a_box(line),
        (Purpose::Day(line), _) => of_a_day(line).to_owned(),
        (Purpose::Practice(PracticeLine::DrillAnswer), _) => "the answer: ".to_owned(),
        (Purpose::Practice(PracticeLine::Code), _) => "the teacher's code: ".to_owned(),
    }
}

fn of_a_day(line: DayLine) -> &'static str {
    match line {
        DayLine::Place => "where the day is held, or nothing: ",
        DayLine::New => "next person (5B-12 11 far, near, all or nothing): ",
        DayLine::Waits => "who will come (5B-12 11 far, near, all or nothing): ",
        DayLine::Drops => "drops, minutes until ready, the eye if one (cyclopentolate 60 left): ",
        DayLine::ReadyMade => "sphere of the pair: ",
        DayLine::OtherPair => "pair of the shelf, its sphere (-1.50, or +2.00 near): ",
        DayLine::Shelf => "file of the shelf (kits/shelf/demo.yaml), wider after it for the wider limits: ",
        DayLine::ReferWhy => "refer, why: ",
        DayLine::NotRefractedWhy => "not refracted, why: ",
        DayLine::Acuity => "line that was read: ",
    }
}

fn of_a_box(line: BoxLine) -> String {
    let lead = match line {
        BoxLine::Place => "go to: ",
        BoxLine::Lent => "lent to (Clinic 3 until 17 Dec): ",
        BoxLine::Damaged | BoxLine::CountDamaged => "what is damaged, or nothing: ",
        BoxLine::Measured => "measured power, or mended: ",
        BoxLine::Moved => "to which box: ",
        BoxLine::Note => "note: ",
        BoxLine::NewBox => "new box (Clinic 3 from outreach): ",
        BoxLine::OwnBox => "your box (Clinic 3 from outreach), or its file: ",
        BoxLine::NewFrame => "new frame (Clinic from four-cell), or its file: ",
        BoxLine::OfNewFrame(question) => return format!("{}, or nothing to take what is shown: ", question.name()),
        BoxLine::CheckOut => "the bag goes to (School at Ford until 4 Dec): ",
        BoxLine::CountStrange => "a lens that nobody knows (unmarked, weak plus): ",
        BoxLine::CountMeasured => "measured power: ",
        BoxLine::CountNote => "note on the count: ",
        BoxLine::Prices => "price list, a CSV file: ",
        BoxLine::SheetLimits => "your limits in dioptres and months (0.12 every 12), or nothing: ",
        BoxLine::SheetFile => "into the file (.txt, .csv or .pdf): ",
        BoxLine::Budget => "at most for: ",
        BoxLine::Added => "lens that came: ",
    };
    lead.to_owned()
}

fn typed(pen: &mut Pen<'_>, area: Rect, app: &App, prompt: &Prompt) -> u16 {
    let theme = pen.theme;
    let lead = lead(app, prompt);
    let start = pen.text(area, 0, 1, &lead, theme.title);
    // a line longer than its room is shown around the cursor
    let room = usize::from(area.width.saturating_sub(start + 1)).max(1);
    let (shown, first) = from_column(prompt.line.value(), prompt.line.visual_scroll(room));
    let end = pen.text(area, 0, start, shown, theme.net);
    let place_of = |column: usize| {
        let column = start + column.saturating_sub(first) as u16;
        Rect { x: area.x + column, width: u16::from(column < area.width), height: 1, ..area }
    };
    // the character at which the line was refused, and the cursor, differ by underline and reverse
    if let Some(fault) = prompt.fault {
        let before: String = prompt.line.value().chars().take(fault).collect();
        let place = place_of(before.width()).intersection(pen.buffer.area);
        pen.buffer.set_style(place, theme.net.add_modifier(Modifier::UNDERLINED));
    }
    let cursor = place_of(prompt.line.visual_cursor()).intersection(pen.buffer.area);
    pen.buffer.set_style(cursor, theme.net.add_modifier(Modifier::REVERSED));
    pen.hits.cursor = Some(cursor.as_position()).filter(|_| !cursor.is_empty());
    end + 2
}

/// The rest of a text from the first character that begins at a column or after it, and the column at which it begins.
fn from_column(text: &str, column: usize) -> (&str, usize) {
    let mut begins = 0;
    for (at, character) in text.char_indices() {
        if begins >= column {
            return (&text[at..], begins);
        }
        begins += character.width().unwrap_or(0);
    }
    ("", begins)
}
