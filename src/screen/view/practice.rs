//! The page of practice: what can be done, and the named cases.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::practice_page::{PracticePage, PracticeShown};
use super::super::ui::Target;
use super::layout::MOST_TEXT;
use super::pen::Pen;
use super::{drills, ended};
use crate::export::wrapping::wrapped_to_columns;
use crate::practice::lessons::{LessonEye, LessonStep};

/// What stands under the choices.
const CAUTION: &str = "Practice eyes are simulated: people are less steady, and what is found here says nothing about any person. \
                       Nothing of practice is written into records, boxes or the day.";

/// Draws the page.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &PracticePage) {
    if let Some(page) = page.ended() {
        return ended::draw(pen, area, app, page);
    }
    if let Some(page_of_drills) = page.drills() {
        return drills::draw(pen, area, app, page_of_drills, page.chosen);
    }
    pen.heading(area, heading(page), true);
    let room = Rect { y: area.y + 2, height: area.height.saturating_sub(2), ..area };
    app.page_rows.set(room.height);
    let rows = rows(page);
    let names = rows.iter().map(|[name, _]| name.len()).max().unwrap_or_default() as u16;
    let does_at = 1 + 4 + names + 2;
    let width = usize::from(room.width.min(does_at + MOST_TEXT).saturating_sub(does_at + 1)).max(1);
    let wrapped: Vec<Vec<String>> = rows.iter().map(|[_, does]| wrapped_to_columns(does, width)).collect();
    let height_of = |nth: usize| wrapped[nth].len().max(1) as u16;
    // the rows from which on the chosen one is seen whole
    let mut first = 0;
    while (first..=page.chosen).map(height_of).sum::<u16>() > room.height && first < page.chosen {
        first += 1;
    }
    let mut at = 0;
    for (nth, [name, _]) in rows.iter().enumerate().skip(first) {
        if at + height_of(nth) > room.height {
            break;
        }
        let chosen = nth == page.chosen;
        let style = if chosen { pen.theme.focus } else { pen.theme.text };
        let pointer = if chosen { pen.glyphs.pointer } else { " " };
        let digit = if nth < 10 { ((nth + 1) % 10).to_string() } else { String::new() };
        pen.text(room, at, 0, pointer, style);
        pen.text(room, at, 1, &format!("{digit:<2} {name}"), style);
        for (row, line) in wrapped[nth].iter().enumerate() {
            pen.text(room, at + row as u16, does_at, line, pen.theme.quiet);
        }
        let place = Rect { y: room.y + at, height: height_of(nth), ..room };
        pen.clickable(place, Target::Row(nth, None));
        at += height_of(nth);
    }
    let width = usize::from(room.width.saturating_sub(2).min(MOST_TEXT)).max(1);
    let caution = wrapped_to_columns(CAUTION, width);
    if at + 1 + caution.len() as u16 <= room.height {
        for (row, line) in caution.iter().enumerate() {
            pen.text(room, at + 1 + row as u16, 1, line, pen.theme.quiet);
        }
    }
}

/// The same in words.
pub fn in_words(app: &App, page: &PracticePage) -> Vec<String> {
    if let Some(page) = page.ended() {
        return ended::in_words(app, page);
    }
    if let Some(page_of_drills) = page.drills() {
        return drills::in_words(app, page_of_drills, page.chosen);
    }
    let rows = rows(page);
    let line = |(nth, [name, does]): (usize, &[String; 2])| {
        let pointer = if nth == page.chosen { "chosen: " } else { "" };
        let does = if does.is_empty() { String::new() } else { format!(": {does}") };
        format!("{pointer}{} {name}{does}", nth + 1)
    };
    let lines = rows.iter().enumerate().map(line);
    [heading(page).to_owned()].into_iter().chain(lines).chain([CAUTION.to_owned()]).collect()
}

fn heading(page: &PracticePage) -> &'static str {
    match page.shown {
        PracticeShown::Choices(_) => "practice",
        PracticeShown::Cases(_) => "practice: named cases",
        PracticeShown::Ended(_) => "practice: how it went",
        PracticeShown::Drills(_) => "practice: drills",
        PracticeShown::Lessons(_) => "practice: lessons",
        PracticeShown::Lesson(_) => "practice: lesson, part by part",
    }
}

/// Each row: its name, and what it does.
fn rows(page: &PracticePage) -> Vec<[String; 2]> {
    match &page.shown {
        PracticeShown::Choices(choices) => choices.iter().map(|choice| choice.said()).collect(),
        PracticeShown::Cases(cases) => {
            cases.iter().map(|case| [case.name.clone(), format!("{} years", case.person.age_years)]).collect()
        }
        PracticeShown::Lessons(lessons) => {
            let shipped = lessons.iter().map(|lesson| [lesson.name.clone(), lesson.note.clone().unwrap_or_default()]);
            let own = ["a file".to_owned(), "a lesson of your own or of your teacher: type its file".to_owned()];
            shipped.chain([own]).collect()
        }
        PracticeShown::Lesson(lesson) => lesson.steps.iter().map(part).collect(),
        PracticeShown::Ended(_) | PracticeShown::Drills(_) => Vec::new(),
    }
}

/// A part of a lesson: what it is, and what is said or done in it.
fn part(step: &LessonStep) -> [String; 2] {
    match step {
        LessonStep::Say(text) => ["read".to_owned(), text.clone()],
        LessonStep::Drill { skill, items } => {
            ["drill".to_owned(), format!("{}, level {}, {items} items", skill.drill.name(), skill.level.number())]
        }
        LessonStep::Eye { who, minutes } => {
            let who = match who {
                LessonEye::Shipped(name) => (*name).to_owned(),
                LessonEye::File(file) => file.display().to_string(),
                LessonEye::Drawn { level, .. } => format!("somebody drawn at level {}", level.number()),
            };
            let within = minutes.map(|minutes| format!(", within {minutes} minutes")).unwrap_or_default();
            ["eye".to_owned(), format!("{who}{within}")]
        }
    }
}
