//! The page where an eye's sight is shown: its figures, cells and what is asked on the left, the picture on the right.

use ratatui::layout::Rect;

use super::super::super::app::App;
use super::super::super::decide::lines_seen;
use super::super::super::practice_page::Seated;
use super::super::super::sight::Picture;
use super::super::super::words as screen_words;
use super::super::layout::beside_a_picture;
use super::super::pen::Pen;
use super::super::{eye, facts, said, strip};
use super::letters::Line;
use super::pupil::Swept;
use super::{fan, letters, pupil, words};
use crate::practice::by_hand::StandsThere;
use crate::practice::picture::reflex::missing_at_retinoscope;

/// Draws the page.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let plan = beside_a_picture(
        area,
        pen.glyphs.ascii,
        !eye::has_cylinder(app, app.ui.eye),
        &|columns| facts::warning_rows(app, columns),
        &|columns| strip::rows(app, columns),
    );
    eye::draw(pen, &plan.eye, plan.face, app, app.ui.eye);
    said::draw(pen, plan.words, &words::said(app));
    let Some(seated) = &app.ui.practice else { return };
    let there = StandsThere::of(app.state(), seated.seat.person.room);
    pen.heading(plan.picture, &title(app), false);
    let picture = Rect { y: plan.picture.y + 1, height: plan.picture.height.saturating_sub(1), ..plan.picture };
    if let Some(why) = not_shown(app, seated, &there) {
        pen.text(picture, 0, 1, why, pen.theme.text);
        return;
    }
    picture_of(pen, picture, app, seated, &there);
}

/// The same in words: what is said, and of which picture.
pub fn in_words(app: &App) -> Vec<String> {
    let mut lines = vec![title(app)];
    lines.extend(said::in_words(words::said(app)));
    lines
}

fn title(app: &App) -> String {
    let without = if app.ui.sight.is_away { " without the lens" } else { "" };
    match app.ui.sight.picture {
        Picture::Fan => format!("the fan as this eye sees it{without}"),
        Picture::Rings | Picture::Letters => format!("as this eye sees it{without}"),
        Picture::Streak => "the pupil, as you face the eye".to_owned(),
    }
}

/// Why nothing is drawn, if nothing is.
fn not_shown(app: &App, seated: &Seated, there: &StandsThere) -> Option<&'static str> {
    if seated.seat.hidden.picture {
        Some("your teacher has hidden the picture")
    } else if there.is_blind[app.ui.eye] {
        Some("covered: there is nothing to see")
    } else {
        None
    }
}

fn picture_of(pen: &mut Pen<'_>, area: Rect, app: &App, seated: &Seated, there: &StandsThere) {
    let (sight, eye) = (&app.ui.sight, app.ui.eye);
    let of_person = seated.seat.person.eyes[eye];
    let patch = || app.pictures.patch(of_person, there.at_chart(eye, !sight.is_away), seated.examinee.condition());
    match sight.picture {
        Picture::Fan => fan::draw(pen, area, app, patch()),
        Picture::Rings | Picture::Letters => letters::draw(pen, area, app, &lines(app), patch()),
        Picture::Streak => {
            let metres = there.working_m;
            let missing = missing_at_retinoscope(&of_person, there.with_hand[eye], metres);
            pupil::draw(pen, area, app, Swept { missing, streak: sight.streak(), metres });
        }
    }
}

/// The line that is asked about, and its neighbours.
fn lines(app: &App) -> Vec<Line> {
    let (sight, seen) = (&app.ui.sight, lines_seen(app));
    let around = sight.line.saturating_sub(1)..(sight.line + 2).min(seen.len());
    around
        .filter_map(|nth| {
            let line = seen[nth];
            Some(Line {
                title: screen_words::acuity(line, app.settings.acuity),
                is_asked: nth == sight.line,
                stroke_minutes: line.mar()?,
                signs: sight.signs(nth).to_vec(),
            })
        })
        .collect()
}
