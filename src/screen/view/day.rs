//! The day: its list, the outcome of the open exam, and a screening pass.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::app::App;
use super::super::day_page::{DayPage, DayShown};
use super::super::decide::lines_offered;
use super::super::keys::{DayAction, ScreeningAction};
use super::super::ui::Target;
use super::pen::Pen;
use super::said::Said;
use super::{ready_made, said};
use crate::day::figures::minutes_and_seconds;
use crate::day::{DayLine, PersonState};
use crate::exam::screening_pass::{ScreeningFault, ScreeningStep, as_the_person_came, next_step};
use crate::exam::{ComeBack, HowSoon, OutcomeKind, Prescription, Through, Weighed};
use crate::export::wrapping::wrapped_to_columns;
use crate::optics::Eye;
use crate::optics::notation::Style as Notation;

/// Draws what is shown of the day.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &DayPage) {
    match &page.shown {
        DayShown::List => list(pen, area, app, page),
        DayShown::Outcome | DayShown::HowSoon { .. } | DayShown::ComeBack => {
            pen.heading(area, &format!("outcome of {}", app.heading()), true);
            said::draw(pen, area, &outcome(app, &page.shown));
        }
        DayShown::ReadyMade(offered) => {
            pen.heading(area, &format!("ready-made pair, {}", app.heading()), true);
            said::draw(pen, area, &ready_made::offered(app, offered));
        }
        DayShown::Screening => {
            pen.heading(area, &format!("screening, {}", app.heading()), true);
            said::draw(pen, area, &screening(app));
        }
        DayShown::Shelf { first } => ready_made::draw_shelf(pen, area, app, page, *first),
    }
}

/// The same in words.
pub fn in_words(app: &App, page: &DayPage) -> Vec<String> {
    let lines = match &page.shown {
        DayShown::List => {
            let mut lines = head(app, page);
            let each = page.lines().iter().enumerate().map(|(nth, line)| {
                let pointer = if nth == page.chosen { "chosen: " } else { "" };
                let [number, label, age, state, minutes, outcome] = cells(line, app);
                let rest = [label, age, state, minutes, outcome].into_iter().filter(|cell| !cell.is_empty());
                format!("{pointer}number {number}, {}", rest.collect::<Vec<_>>().join(", "))
            });
            lines.extend(each);
            return lines;
        }
        DayShown::Outcome | DayShown::HowSoon { .. } | DayShown::ComeBack => outcome(app, &page.shown),
        DayShown::ReadyMade(offered) => ready_made::offered(app, offered),
        DayShown::Screening => screening(app),
        DayShown::Shelf { .. } => return ready_made::shelf_in_words(page),
    };
    said::in_words(lines)
}

/// Widths of the columns, each with its space: number, label, age, state, minutes; the outcome has what is left.
const WIDTHS: [u16; 5] = [6, 16, 5, 20, 9];

fn list(pen: &mut Pen<'_>, area: Rect, app: &App, page: &DayPage) {
    let head = head(app, page);
    pen.heading(area, head.first().map_or("no day is open", String::as_str), true);
    let mut room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    for line in head.iter().skip(1) {
        let width = usize::from(room.width.saturating_sub(2)).max(1);
        for row in wrapped_to_columns(line, width) {
            pen.text(room, 0, 1, &row, pen.theme.text);
            room = below(room, 1);
        }
    }
    if page.lines().is_empty() {
        return;
    }
    let heads = ["", "label", "age", "state", "minutes", "outcome"].map(str::to_owned);
    row(pen, room, 0, &heads, pen.theme.quiet);
    room = below(room, 1);
    app.page_rows.set(room.height);
    let height = usize::from(room.height).max(1);
    let first = (page.chosen + 1).saturating_sub(height);
    for (at, (nth, line)) in page.lines().iter().enumerate().skip(first).take(height).enumerate() {
        let (at, chosen) = (at as u16, nth == page.chosen);
        let style = if chosen { pen.theme.focus } else { pen.theme.text };
        row(pen, room, at, &cells(line, app), style);
        let pointer = if chosen { pen.glyphs.pointer } else { " " };
        pen.text(room, at, 0, pointer, style);
        pen.clickable(Rect { y: room.y + at, height: 1, ..room }, Target::Row(nth, None));
    }
}

fn below(room: Rect, rows: u16) -> Rect {
    Rect { y: room.y + rows, height: room.height.saturating_sub(rows), ..room }
}

fn row(pen: &mut Pen<'_>, room: Rect, at: u16, cells: &[String; 6], style: Style) {
    let mut column = 2;
    for (nth, cell) in cells.iter().enumerate() {
        let width = WIDTHS.get(nth).copied();
        let end = width.map_or(room.width, |width| room.width.min(column + width - 1));
        pen.text(Rect { width: end, ..room }, at, column, cell, style);
        column += width.unwrap_or(0);
    }
}

/// The day, what holds for everybody, and the running figures.
fn head(app: &App, page: &DayPage) -> Vec<String> {
    let begin = app.settings.keys.key_of(DayAction::DayBegin);
    let Some(now) = &page.now else {
        return vec![
            "no day is open".to_owned(),
            format!("A day keeps who waits, who is done and what each came to. {begin} begins one."),
        ];
    };
    let place = now.day.settings.place.clone().unwrap_or_else(|| "the day".to_owned());
    let began = local(app, now.day.began);
    let title = match now.day.ended {
        Some(ended) => format!("{place}, {began} to {}", local(app, ended)),
        None => format!("{place}, since {began}"),
    };
    let figures = &now.figures;
    let each = figures.each.map(|each| format!(", {} each", minutes_and_seconds(each))).unwrap_or_default();
    let came = figures.came();
    let mut lines = vec![title, format!("{} seen{each}{came}; {} to come", figures.seen, figures.to_come)];
    if now.day.ended.is_some() {
        lines.push(format!("This day has ended. {begin} begins another."));
    }
    lines.extend(now.unread.iter().cloned());
    lines
}

fn local(app: &App, at: jiff::Timestamp) -> String {
    app.session.local_time(at)
}

fn cells(line: &DayLine, app: &App) -> [String; 6] {
    let state = match line.state {
        PersonState::Waits => "waits".to_owned(),
        PersonState::InExam => "in exam".to_owned(),
        PersonState::DropsUntil(ready) => format!("drops until {}", local(app, ready)),
        PersonState::DropsReady => "drops are ready".to_owned(),
        PersonState::Aside => "waits, exam open".to_owned(),
        PersonState::Refer => "done, refer".to_owned(),
        PersonState::Done => "done".to_owned(),
        PersonState::Left => "went away".to_owned(),
    };
    [
        line.number.to_string(),
        line.label.clone().unwrap_or_default(),
        line.age_years.map(|age| age.to_string()).unwrap_or_default(),
        state,
        line.exam.map(|_| minutes_and_seconds(line.took)).unwrap_or_default(),
        line.outcome.as_ref().map(ToString::to_string).or_else(|| line.note.clone()).unwrap_or_default(),
    ]
}

fn outcome(app: &App, shown: &DayShown) -> Vec<Said> {
    let answers = |answers: &[&str]| -> Vec<Said> {
        answers.iter().enumerate().map(|(nth, text)| Said::Answer(nth + 1, (*text).to_owned())).collect()
    };
    let mut lines = match shown {
        DayShown::HowSoon { why } => {
            let mut lines = vec![Said::Strong(format!("“Refer ({why}): how soon?”")), Said::Nothing];
            lines.extend(answers(&HowSoon::ALL.map(HowSoon::shown)));
            return lines;
        }
        DayShown::ComeBack => {
            let mut lines = vec![Said::Strong("“Come back: for what?”".to_owned()), Said::Nothing];
            lines.extend(answers(&ComeBack::ALL.map(ComeBack::shown)));
            return lines;
        }
        DayShown::List | DayShown::Outcome | DayShown::ReadyMade(_) | DayShown::Screening | DayShown::Shelf { .. } => {
            vec![Said::Strong("“What does this exam come to?”".to_owned()), Said::Nothing]
        }
    };
    lines.extend(answers(&OutcomeKind::ALL.map(OutcomeKind::shown)));
    lines.push(Said::Nothing);
    lines.push(match &app.state().outcome {
        Some(outcome) => Said::Strong(format!("chosen: {outcome}")),
        None => Said::Quiet("nothing is chosen yet".to_owned()),
    });
    lines.extend(weighed(app));
    lines.push(Said::Nothing);
    lines.push(Said::Quiet(
        "The figures only say: the choice is yours, and local rules and licensed practice decide.".to_owned(),
    ));
    lines
}

/// What the figures say of each eye.
fn weighed(app: &App) -> Vec<Said> {
    let prescription = Prescription::of(app.state(), 1);
    let of_eye = |eye: Eye| match Weighed::of(app.state(), &prescription, eye) {
        None => vec![Said::Text(format!("The {eye} eye has no prescription."))],
        Some(weighed) => {
            let lines = |lines: f64, over: &str| {
                let count = lines.abs();
                let many = if count == 1.0 { "1 line".to_owned() } else { format!("{count} lines") };
                match lines {
                    lines if lines > 0.0 => format!("{many} more than {over}"),
                    lines if lines < 0.0 => format!("{many} fewer than {over}"),
                    _ => format!("the same line as {over}"),
                }
            };
            let gains = [
                weighed.over_unaided_lines.map(|gained| lines(gained, "unaided")),
                weighed.over_glasses_lines.map(|gained| lines(gained, "with the present glasses")),
            ];
            let gains: Vec<String> = gains.into_iter().flatten().collect();
            let reads = if gains.is_empty() {
                format!("No line of the {eye} eye can be compared.")
            } else {
                format!("The {eye} eye reads {}.", gains.join(", "))
            };
            let pinhole = weighed.pinhole_lines.map(|gained| format!(" A pinhole: {}.", lines(gained, "unaided")));
            let (blur, noticed) = (weighed.blur_d, weighed.noticed_d);
            let text = format!(
                "{reads}{} Its power is a blur of {blur:.2} D; {noticed:.2} D would just be noticed.",
                pinhole.unwrap_or_default()
            );
            let mut said = vec![Said::Text(text)];
            if weighed.would_not_be_noticed() {
                let words = "gains less than a line, by a power that this person would not notice";
                said.push(Said::Strong(format!("The {eye} eye {words}.")));
            }
            said
        }
    };
    std::iter::once(Said::Nothing).chain(Eye::BOTH.into_iter().flat_map(of_eye)).collect()
}

fn screening(app: &App) -> Vec<Said> {
    let state = app.state();
    let limit = app.settings.screening_line;
    let notation = app.settings.acuity;
    let shown = limit.write(notation, Notation::Typographic);
    let with = match as_the_person_came(state) {
        Through::OldGlasses => "with the glasses the person has",
        Through::Unaided | Through::Pinhole | Through::Frame => "without glasses",
    };
    let yes_no = |yes: &str, no: &str| [Said::Answer(1, yes.to_owned()), Said::Answer(2, no.to_owned())];
    let mut lines = Vec::new();
    match next_step(state, limit) {
        ScreeningStep::Read(eye) => {
            lines.push(Said::Text(format!("Cover the {} eye.", eye.other())));
            lines.push(Said::Strong(format!("“Which line do you read with the {eye} eye, {with}?”")));
            lines.push(Said::Nothing);
            let offered = lines_offered(app).into_iter().enumerate();
            lines.extend(offered.map(|(nth, line)| Said::Answer(nth + 1, line.write(notation, Notation::Typographic))));
        }
        ScreeningStep::ThroughPlusTwo(eye) => {
            lines.push(Said::Text(format!("Hold +2.00 in front of the {eye} eye, the other covered.")));
            lines.push(Said::Strong("“Do you still read the same line?”".to_owned()));
            lines.push(Said::Nothing);
            lines.extend(yes_no("yes, the same line: more than 2.00 D of plus may hide", "no, it is blurred"));
        }
        ScreeningStep::ReadNear => {
            lines.push(Said::Text("Both eyes open, the near card where it is read at school or work.".to_owned()));
            lines.push(Said::Strong("“Do you read this?”".to_owned()));
            lines.push(Said::Nothing);
            lines.extend(yes_no("yes", "no"));
        }
        ScreeningStep::Passes => {
            lines.push(Said::Strong("Passes.".to_owned()));
            lines.push(Said::Nothing);
            let enter = app.settings.keys.key_of(ScreeningAction::ScreeningType);
            lines.push(Said::Text(format!("{enter} closes the exam: no glasses needed")));
            lines.push(Said::Answer(1, "another outcome".to_owned()));
        }
        ScreeningStep::Fails(fault) => {
            let why = match fault {
                ScreeningFault::ReadsLess(eye) => format!("the {eye} eye reads less than {shown}"),
                ScreeningFault::PlusMayHide(eye) => {
                    format!("the {eye} eye reads the same line through +2.00: more than 2.00 D of plus may hide")
                }
                ScreeningFault::Near => "the near card is not read".to_owned(),
            };
            lines.push(Said::Strong(format!("Goes on to refraction: {why}.")));
            lines.push(Said::Nothing);
            lines.push(Said::Answer(1, "to the frame, with everything kept".to_owned()));
        }
    }
    lines.push(Said::Nothing);
    let known = Eye::BOTH.map(|eye| {
        let read = state.last_read(eye, as_the_person_came(state));
        let read = read.map_or_else(|| "–".to_owned(), |read| read.write(notation, Notation::Typographic));
        format!("{eye} eye {read}")
    });
    lines.push(Said::Quiet(format!("so far, {with}: {}", known.join(", "))));
    lines.push(Said::Quiet(format!(
        "Passes: {shown} with each eye, blurred through +2.00, the near card read. Local rules decide the limits."
    )));
    lines
}
