//! The guide: before which eye, what the hands do, what to ask, the answers as keys, why, and what is noticed.

use ratatui::layout::Rect;
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr as _;

use super::super::app::App;
use super::super::decide::guide::{choices, hint};
use super::super::decide::trail::points;
use super::super::detail_values::value;
use super::super::field::Field;
use super::super::guidance::{Meant, meant, moves_made};
use super::super::keys::{GuideAction, StepsAction};
use super::super::ui::{Answered, Panel, Target};
use super::super::words::{self, Around};
use super::layout::{MOST_TEXT, TWO_FROM};
use super::pen::{Line, Pen, wrapped};
use super::{belief, plot, prescription};
use crate::exam::{ProcedureName, Results, Sentence};
use crate::frame::Move;
use crate::guide::{Bracket, Presentation, Question, Remark, Show};

/// From this many rows on each answer has a row, and there is room for air between the parts.
const ROOMY_ROWS: u16 = 12;

/// The most of what was tried that a row shows.
const MOST_TRIED: usize = 6;

/// The moves have a row each up to this many; more share rows.
const MOST_MOVE_ROWS: usize = 6;

/// Rows that answers take at most where there is little room.
const FEW_ROWS: usize = 9;

/// Rows that stay free below where answers have a row between them.
const SPARE_ROWS: usize = 2;

/// Answers down one column that are taken in at a glance.
const ROWS_AT_A_GLANCE: usize = 5;

/// Rows that answers take at most where there is room.
const MANY_ROWS: usize = 14;

/// Columns of a heading beside its words: the rule before and after, pointer and air.
const HEADING_FRAME: usize = 5;

/// What is said of the other eye where one is asked alone, and the same where room is short.
const OTHER_COVERED: &str = ", other covered";
const ALONE: &str = " alone";

/// Columns between two answers that share a row.
const BETWEEN: usize = 3;

/// Parts that give way first when there is no room for all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Keeps {
    Last,
    AlsoSaid,
    Known,
    Why,
    Todo,
    Remark,
    Say,
    Always,
}

struct Part {
    keeps: Keeps,
    lines: Vec<Line>,
    /// Whether these are the answers, which stand apart.
    is_answers: bool,
    /// The answers that can be clicked: row in this part, column, width, number.
    answers: Vec<(u16, u16, u16, usize)>,
}

impl Part {
    fn of(keeps: Keeps, lines: Vec<Line>) -> Self {
        Self { keeps, lines, is_answers: false, answers: Vec::new() }
    }

    /// Leaves a row between each two lines.
    fn spread(&mut self) {
        let lines = std::mem::take(&mut self.lines).into_iter().flat_map(|line| [line, Line::new()]);
        self.lines = lines.collect();
        self.lines.pop();
        self.answers.iter_mut().for_each(|(row, ..)| *row *= 2);
    }

    fn is_long_remark(&self) -> bool {
        self.keeps == Keeps::Remark && self.lines.len() > 1
    }

    /// Leaves the first line, which says that it goes on.
    fn shorten(&mut self) {
        self.lines.truncate(1);
        if let Some((text, _)) = self.lines.first_mut().and_then(|line| line.last_mut()) {
            text.push('…');
        }
    }
}

/// How many rows the guide would like to have.
pub fn rows(pen: &Pen<'_>, app: &App, width: u16) -> u16 {
    let parts = parts(pen, app, width, !is_across(pen));
    1 + parts.iter().map(|part| part.lines.len() as u16 + 1).sum::<u16>()
}

/// Whether the panel goes across the screen: its answers then stand abreast, so that none of it stays empty.
fn is_across(pen: &Pen<'_>) -> bool {
    pen.buffer.area.width < TWO_FROM
}

/// Columns of text: no line runs wider than can be read.
fn text_width(width: u16) -> usize {
    usize::from(width.min(MOST_TEXT).saturating_sub(2))
}

/// Draws the guide; with the ladder of what was tried where there is room for it.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, with_ladder: bool) {
    let focused = app.ui.panel.is_of_the_guide();
    let presentation = app.guide().presentation();
    let roomy = area.height >= ROOMY_ROWS && !is_across(pen);
    let heading = if app.ui.panel == Panel::Choosing { "what next?".to_owned() } else { heading(presentation) };
    let progress = presentation.progress.filter(|_| app.ui.panel != Panel::Choosing);
    let (heading, step) =
        beside_step(heading, presentation.procedure, progress.map(|progress| progress.presentation), area.width);
    pen.heading(area, &heading, focused);
    pen.text(area, 0, area.width.saturating_sub(step.len() as u16 + 1), &step, pen.theme.quiet);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let mut parts = parts(pen, app, area.width, roomy);
    let total = |parts: &[Part]| parts.iter().map(|part| part.lines.len()).sum::<usize>();
    while total(&parts) > usize::from(room.height) {
        let Some(least) = (0..parts.len()).rev().min_by_key(|&at| parts[at].keeps) else { break };
        let (keeps, lines) = (parts[least].keeps, parts[least].lines.len());
        if keeps == Keeps::Always {
            break;
        }
        // a warning is shortened before it goes, and the question stays
        match (0..parts.len()).rev().find(|&at| keeps == Keeps::Remark && parts[at].is_long_remark()) {
            Some(long) => parts[long].shorten(),
            None if keeps == Keeps::Say && lines == 1 => break,
            // a question that is cut is better than none, and where high figures leave so few rows a reason too
            None if keeps == Keeps::Say || keeps == Keeps::Why && lines > 1 && pen.glyphs.ascii => {
                parts[least].shorten();
            }
            None => drop(parts.remove(least)),
        }
    }
    let spare = |parts: &[Part]| usize::from(room.height) - total(parts).min(usize::from(room.height));
    let enough = spare(&parts).saturating_sub(parts.len() + SPARE_ROWS);
    if let Some(answers) = parts.iter_mut().find(|part| part.is_answers && part.lines.len() <= enough) {
        answers.spread();
    }
    let spare = spare(&parts);
    let air = air(&parts, spare);
    let mut row = 0;
    for (nth, part) in parts.into_iter().enumerate() {
        row += u16::from(air[nth]);
        for (nth, line) in part.lines.iter().enumerate() {
            let mut column = 1;
            for (text, style) in line {
                column = pen.text(room, row + nth as u16, column, text, *style);
            }
        }
        for (at, column, width, number) in part.answers {
            let place = Rect { x: room.x + column, y: room.y + row + at, width, height: 1 };
            pen.clickable(place.intersection(room), Target::Answer(number));
        }
        row += part.lines.len() as u16;
    }
    let left = Rect { y: room.y + row, height: room.height.saturating_sub(row), ..room };
    if with_ladder && app.ui.panel != Panel::Choosing && left.height > plot::LEAST_ROWS && !points(app).is_empty() {
        plot::ladder(pen, Rect { y: left.y + 1, height: left.height - 1, ..left }, app);
    }
}

/// A heading and the number of its step, which share a row: where there is too little room the number loses its word, then the
/// heading some of its own, and at last the number goes.
fn beside_step(
    heading: String,
    procedure: Option<ProcedureName>,
    step: Option<usize>,
    columns: u16,
) -> (String, String) {
    let Some(step) = step else { return (heading, String::new()) };
    let shorter = heading.replacen(OTHER_COVERED, ALONE, 1);
    let shortest = procedure.map_or_else(|| shorter.clone(), |of| shorter.replace(of.shown(), of.in_few_words()));
    let (long, short) = (format!(" step {step} "), format!(" {step} "));
    let ways = [
        (&heading, &long),
        (&heading, &short),
        (&shorter, &long),
        (&shorter, &short),
        (&shortest, &long),
        (&shortest, &short),
    ];
    let fits =
        |(heading, step): &(&String, &String)| heading.width() + HEADING_FRAME + step.width() <= usize::from(columns);
    ways.into_iter()
        .find(fits)
        .map_or_else(|| (shortest.clone(), String::new()), |(heading, step)| (heading.clone(), step.clone()))
}

/// Before which parts a row stays free: around the answers first, then before the question, then everywhere.
fn air(parts: &[Part], spare: usize) -> Vec<bool> {
    let answers = parts.iter().position(|part| part.is_answers);
    let question = parts.iter().position(|part| part.keeps == Keeps::Say);
    let wanted = answers.iter().map(|at| at + 1).chain(answers).chain(question).chain(0..parts.len());
    let mut air = vec![false; parts.len()];
    let mut left = spare;
    for at in wanted {
        if at > 0 && left > 0 && air.get(at) == Some(&false) {
            air[at] = true;
            left -= 1;
        }
    }
    air
}

/// What the guide shows, asks and says, line by line.
pub fn in_words(app: &App) -> Vec<String> {
    let presentation = app.guide().presentation();
    let said = |sentence: &Sentence| words::sentence(sentence, app.ui.form, app.settings.acuity);
    let mut lines = vec![heading(presentation)];
    lines.extend(bracket_in_words(presentation.bracket).map(|bracket| format!("bracket {bracket}")));
    let taken_over = app.guide().is_taken_over();
    if taken_over {
        lines.push("Lenses were moved by hand.".to_owned());
    } else {
        lines.extend(moves_in_rows(app, presentation, usize::MAX, false));
    }
    lines.extend([&presentation.instruction].into_iter().filter(|text| !text.is_empty()).map(said));
    lines.extend(
        [&presentation.say].into_iter().filter(|text| !text.is_empty()).map(|text| format!("“{}”", said(text))),
    );
    lines.extend(choices(app).iter().map(|choice| format!("{} {}", choice.digit, said(&choice.label))));
    lines.extend(presentation.question.typed().map(|typed| format!("type {}", hint(app, &typed))));
    lines.extend(presentation.remarks.iter().map(|remark| said(&remark.sentence())));
    lines.extend(
        [&presentation.why].into_iter().filter(|text| !text.is_empty()).map(|text| format!("why: {}", said(text))),
    );
    lines
}

fn heading(presentation: &Presentation) -> String {
    let eye = match meant(presentation) {
        // the heading names one eye and no other
        Meant::Alone(eye) => format!("{} EYE{OTHER_COVERED}", eye.to_string().to_uppercase()),
        Meant::One(eye) => format!("{} EYE", eye.to_string().to_uppercase()),
        Meant::Both => "BOTH EYES".to_owned(),
        Meant::Neither => "guide".to_owned(),
    };
    presentation.procedure.map_or(eye.clone(), |procedure| format!("{eye}: {procedure}"))
}

/// The bracket left, in words; `None` when nothing bounds it yet.
fn bracket_in_words(bracket: Option<Bracket>) -> Option<String> {
    let bound = words::dioptres;
    match bracket.map(|bracket| (bracket.least_d, bracket.most_d))? {
        (Some(least), Some(most)) => Some(format!("{} to {}", bound(least), bound(most))),
        (Some(least), None) => Some(format!("more plus than {}", bound(least))),
        (None, Some(most)) => Some(format!("more minus than {}", bound(most))),
        (None, None) => None,
    }
}

fn parts(pen: &Pen<'_>, app: &App, columns: u16, roomy: bool) -> Vec<Part> {
    let (width, across) = (text_width(columns), usize::from(columns.saturating_sub(2)));
    let theme = pen.theme;
    if app.ui.panel == Panel::Choosing {
        return vec![procedures(pen, app, across, roomy)];
    }
    let presentation = app.guide().presentation();
    let text = |keeps: Keeps, text: &str, style: Style| {
        let lines = wrapped(text, width).into_iter().map(|line| vec![(line, style)]).collect();
        Part::of(keeps, lines)
    };
    let said = |sentence: &Sentence| words::sentence(sentence, app.ui.form, app.settings.acuity);
    let mut parts = Vec::new();
    let written = app.state().results != Results::default();
    let writes = presentation.procedure == Some(ProcedureName::Writing);
    if writes && presentation.question == Question::Ready || presentation.procedure.is_none() && written {
        parts.push(Part::of(Keeps::Remark, prescription::in_short(pen, app, width)));
    }
    let taken_over = app.guide().is_taken_over();
    let moves = if taken_over { Vec::new() } else { moves_in_rows(app, presentation, width, roomy) };
    // a hand is told once what to hold
    let told = said(&presentation.instruction).to_lowercase();
    let moves = match moves.as_slice() {
        [only] if told.starts_with(&only.to_lowercase()) => Vec::new(),
        _ => moves,
    };
    let no_moves = moves.is_empty();
    if taken_over {
        let again = app.settings.keys.key_of(GuideAction::Open);
        let how = if app.ui.panel == Panel::Guide { String::new() } else { format!(": {again} goes on from there") };
        parts.push(text(Keeps::Always, &format!("Lenses were moved by hand{how}."), theme.warning));
    } else if !no_moves {
        parts.push(Part::of(Keeps::Always, moves.into_iter().map(|line| vec![(line, theme.title)]).collect()));
    }
    // where another step stands in for the usual one, the moves and the remark say what is done
    let misleads = presentation.show == Show::Compare && presentation.remarks.iter().any(Remark::is_another_step);
    if !presentation.instruction.is_empty() && (no_moves || !misleads) {
        let (keeps, style) = if no_moves { (Keeps::Always, theme.title) } else { (Keeps::Todo, theme.text) };
        parts.push(text(keeps, &said(&presentation.instruction), style));
    }
    if !presentation.say.is_empty() {
        parts.push(text(Keeps::Say, &format!("“{}”", said(&presentation.say)), theme.net));
    }
    parts.push(answers(pen, app, presentation, across, roomy));
    let mut remarks: Vec<&Remark> = presentation.remarks.iter().collect();
    remarks.sort_by_key(|remark| !remark.is_grave());
    for remark in remarks {
        let (keeps, lead, style) =
            if remark.is_grave() { (Keeps::Remark, "! ", theme.warning) } else { (Keeps::AlsoSaid, "", theme.quiet) };
        parts.push(text(keeps, &format!("{lead}{}", said(&remark.sentence())), style));
    }
    let believed = presentation.eye.and_then(|eye| belief::of(app, eye));
    let mut known: Vec<Line> = believed.iter().map(|believed| belief::ruler(pen, believed)).collect();
    let lines = known_so_far(app, presentation).into_iter().flat_map(|text| wrapped(&text, width));
    known.extend(lines.map(|line| vec![(line, theme.text)]));
    known.extend(tried_so_far(pen, app, presentation, width));
    if !known.is_empty() {
        parts.push(Part::of(Keeps::Known, known));
    }
    if !presentation.why.is_empty() {
        parts.push(text(Keeps::Why, &format!("why: {}", said(&presentation.why)), theme.quiet));
    }
    if let Some(answered) = &app.ui.answered {
        let answered = match answered {
            Answered::Chosen { label, .. } => words::sentence(label, app.ui.form, app.settings.acuity),
            Answered::Text(text) => text.clone(),
        };
        let undo = app.settings.keys.key_of(StepsAction::Undo);
        parts.push(text(Keeps::Last, &format!("before: {answered} ({undo} takes it back)"), theme.quiet));
    }
    parts
}

/// What is known of the eye that is asked about: the line it read last, and between which powers the search goes on; before
/// anything was tried, what was said of the person.
fn known_so_far(app: &App, presentation: &Presentation) -> Option<String> {
    let state = app.state();
    let read = presentation.eye.and_then(|eye| state.trail.iter().rev().find(|t| t.eye == eye && t.acuity.is_some()));
    let read = read.and_then(|tried| {
        let acuity = words::acuity(tried.acuity?, app.settings.acuity);
        Some(format!("{acuity} with {}", words::power(tried.power, app.ui.form)))
    });
    let bracket = bracket_in_words(presentation.bracket).map(|bracket| format!("bracket {bracket}"));
    let mut known: Vec<String> = read.into_iter().chain(bracket).collect();
    if known.is_empty() {
        let said =
            Field::SAID_FIRST.into_iter().filter_map(|field| Some(format!("{}: {}", field.name(), value(field, app)?)));
        known.extend(said);
    }
    (!known.is_empty()).then(|| format!("so far: {}", known.join(" · ")))
}

/// The last powers tried before the eye that is asked about, each with the shape of how it was judged, the newest last.
fn tried_so_far(pen: &Pen<'_>, app: &App, presentation: &Presentation, width: usize) -> Option<Line> {
    let eye = presentation.eye?;
    let mut line: Line = Vec::new();
    let mut taken = 0;
    for tried in app.state().trail.iter().rev().filter(|tried| tried.eye == eye).take(MOST_TRIED) {
        let text = format!(" {}   ", words::power(tried.power, app.ui.form));
        taken += 1 + text.chars().count();
        if taken > width {
            break;
        }
        let style = plot::style(pen, tried);
        line.splice(0..0, [(plot::shape(tried, pen.glyphs.ascii).to_owned(), style), (text, style)]);
    }
    (!line.is_empty()).then_some(line)
}

fn moves_in_rows(app: &App, presentation: &Presentation, width: usize, roomy: bool) -> Vec<String> {
    let moves = moves_made(app.exam(), presentation);
    let mut phrases: Vec<String> = if moves.first.is_empty() {
        Vec::new()
    } else {
        app.cover().iter().map(|eye| format!("cover the {eye} eye meanwhile")).collect()
    };
    let all: Vec<Move> = moves.first.iter().chain(&moves.then).cloned().collect();
    let around = Around { fitted: &app.state().fitted, moves: &all };
    phrases.extend(words::movements(&moves.first, presentation.eye, &around));
    let then = words::movements(&moves.then, presentation.eye, &around);
    phrases.extend(then.into_iter().enumerate().map(
        |(nth, phrase)| {
            if nth == 0 { format!("then {phrase}") } else { phrase }
        },
    ));
    // a place at the end of a move is never cut off
    let rows: Vec<String> = phrases.iter().flat_map(|phrase| wrapped(phrase, width)).collect();
    if roomy && rows.len() <= MOST_MOVE_ROWS {
        return rows;
    }
    if phrases.is_empty() { phrases } else { wrapped(&phrases.join(", "), width) }
}

/// The answers with their keys, in columns where they fit beside each other, and what can be typed.
fn answers(pen: &Pen<'_>, app: &App, presentation: &Presentation, width: usize, roomy: bool) -> Part {
    let labels: Vec<(String, String)> = choices(app)
        .iter()
        .map(|choice| (choice.digit.to_string(), words::sentence(&choice.label, app.ui.form, app.settings.acuity)))
        .collect();
    let mut part = in_columns(pen, &labels, width, if roomy { MANY_ROWS } else { FEW_ROWS });
    if let Some(typed) = presentation.question.typed() {
        let hint = hint(app, &typed);
        let key = if labels.is_empty() { "0-9".to_owned() } else { app.settings.keys.key_of(GuideAction::TypeAnswer) };
        let style = if labels.is_empty() { pen.theme.text } else { pen.theme.quiet };
        part.lines.push(vec![(key, pen.theme.key), (format!(" type {hint}"), style)]);
    }
    part
}

/// Labels down one column after the other: as many columns as fit, and more where the rows would not suffice.
fn in_columns(pen: &Pen<'_>, labels: &[(String, String)], width: usize, most_rows: usize) -> Part {
    let widest = labels.iter().map(|(key, label)| key.len() + 1 + label.chars().count()).max().unwrap_or(0);
    let fit = (width + BETWEEN) / (widest + BETWEEN).max(1);
    // as many as the rows ask for; beyond that one a row where there is room, else as many as fit whole
    let least = labels.len().div_ceil(most_rows.max(1));
    let wished = if most_rows > FEW_ROWS { labels.len().div_ceil(ROWS_AT_A_GLANCE) } else { fit };
    let columns = wished.min(fit).max(least).clamp(1, labels.len().max(1));
    let each = widest.min(((width + BETWEEN) / columns).saturating_sub(BETWEEN));
    let rows = labels.len().div_ceil(columns);
    let mut lines: Vec<Line> = vec![Vec::new(); rows];
    let mut clickable = Vec::new();
    for (nth, (key, label)) in labels.iter().enumerate() {
        let (row, column) = (nth % rows.max(1), nth / rows.max(1));
        let room = each.saturating_sub(key.len() + 1);
        let pad = if column + 1 == columns { 0 } else { room + BETWEEN };
        let label: String = if column + 1 == columns { label.clone() } else { label.chars().take(room).collect() };
        let start = 1 + column * (each + BETWEEN);
        lines[row].push((key.clone(), pen.theme.key));
        lines[row].push((format!(" {label:<pad$}"), pen.theme.text));
        clickable.push((row as u16, start as u16, each as u16, nth));
    }
    Part { keeps: Keeps::Always, lines, is_answers: true, answers: clickable }
}

/// Every procedure with its key, for the eye in focus.
fn procedures(pen: &Pen<'_>, app: &App, width: usize, roomy: bool) -> Part {
    let binding =
        app.settings.keys.bindings().iter().find(|binding| binding.action == GuideAction::PickProcedure.into());
    let keys = binding.map(|binding| binding.keys.clone()).unwrap_or_default();
    // one without a key is shown all the same: it can be clicked
    let labels: Vec<(String, String)> = ProcedureName::ALL
        .iter()
        .enumerate()
        .map(|(nth, &procedure)| {
            let key = keys.get(nth).map(ToString::to_string).unwrap_or_default();
            (key, words::procedure(procedure, procedure.eye_of(app.ui.eye)))
        })
        .collect();
    in_columns(pen, &labels, width, if roomy { MANY_ROWS } else { FEW_ROWS })
}
