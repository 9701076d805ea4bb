//! Keys where it is shown what a practice eye sees: pictures, the lens in the hand flicked away, the eye asked, the picture judged.

use super::super::app::App;
use super::super::keys::{CellsAction, SightAction};
use super::super::page::Page;
use super::super::sight::{Picture, WORKING_M};
use super::super::spot::Spot;
use super::super::ui::{Panel, Ui};
use super::cells;
use super::decision::Decision;
use crate::exam::{Answer, AnsweredBy, AskedByHand, ByHand, Detail, Event, PracticeEvent};
use crate::guide::Question;
use crate::optics::Acuity;
use crate::practice::by_hand::StandsThere;

/// What the student can answer by digit to what is shown, and what that is an answer to.
pub fn to_judge(app: &App) -> Option<(ByHand, Question)> {
    let sight = &app.ui.sight;
    Some(match sight.picture {
        Picture::Fan if sight.names_two => (ByHand::Fan, Question::FanFirstOfTwo),
        Picture::Fan => (ByHand::Fan, Question::FanLine),
        Picture::Rings | Picture::Letters if cells::cross_cylinder_held(app).is_some() => {
            (ByHand::CrossCylinder, Question::WhichPosition)
        }
        Picture::Rings | Picture::Letters if holds(app) => (ByHand::WithLens, Question::ClearerWith { before: None }),
        Picture::Rings | Picture::Letters => return None,
        Picture::Streak => (sight.question(), Question::Reflex),
    })
}

/// The lines of the chart as they are seen where it stands, the largest first.
pub fn lines(app: &App) -> Vec<Acuity> {
    let larger = app.ui.practice.as_ref().map_or(1.0, |seated| {
        let there = StandsThere::of(app.state(), seated.seat.person.room);
        crate::practice::sight::FAR_M / there.chart_m
    });
    let seen = |line: Acuity| line.mar().map(|mar| Acuity::Line { mar: mar * larger, letters: 0 });
    app.settings.acuity.chart_lines().into_iter().filter_map(seen).collect()
}

fn holds(app: &App) -> bool {
    app.state().fitted.held(app.ui.eye).is_some()
}

/// Does what a key asks for.
pub fn act(app: &App, mut ui: Ui, action: SightAction, nth: usize) -> Decision {
    let eye = ui.eye;
    match action {
        SightAction::Open if ui.practice.is_none() => {
            return Decision::refused(app, "only a practice eye shows what it sees");
        }
        SightAction::Open => {
            ui.before_sight = ui.panel;
            (ui.page, ui.panel) = (Some(Page::Sight), Panel::Cells);
        }
        SightAction::NextPicture => {
            ui.sight.picture = ui.sight.picture.next();
            (ui.sight.names_two, ui.sight.by_itself) = (false, None);
        }
        SightAction::NextPlace if ui.spot() == Spot::Hand => ui.spots[eye] = Spot::Cell(1),
        SightAction::NextPlace => return cells::act(app, ui, CellsAction::Outward),
        SightAction::LineSmaller => ui.sight.line = (ui.sight.line + 1).min(lines(app).len().saturating_sub(1)),
        SightAction::LineLarger => ui.sight.line = ui.sight.line.saturating_sub(1),
        SightAction::FlickLens if cells::cross_cylinder_held(app).is_some() => {
            return cells::act(app, ui, CellsAction::Flip);
        }
        SightAction::FlickLens if holds(app) => ui.sight.is_away = !ui.sight.is_away,
        SightAction::FlickLens => {
            return Decision::refused(
                app,
                format!("the hand holds nothing in front of the {eye} eye to be flicked away"),
            );
        }
        SightAction::AskEye => {
            let question = ui.sight.question();
            return ask(app, ui, question);
        }
        SightAction::AskWithLens => {
            let crossed = cells::cross_cylinder_held(app).is_some();
            return ask(app, ui, if crossed { ByHand::CrossCylinder } else { ByHand::WithLens });
        }
        SightAction::Judge => return judge(app, ui, nth),
        SightAction::ReadsThis => match lines(app).get(ui.sight.line) {
            Some(&line) => return noted(ui, ByHand::Letters, Answer::Read(line), AnsweredBy::TheStudent),
            None => return Decision::of(ui),
        },
        SightAction::SweepRight => ui.sight.sweep(1.0),
        SightAction::SweepLeft => ui.sight.sweep(-1.0),
        SightAction::SweepByItself => ui.sight.begin_or_stop(),
        SightAction::StreakBack => ui.sight.turn(-5),
        SightAction::StreakOn => ui.sight.turn(5),
        SightAction::StreakBackFar => ui.sight.turn(-30),
        SightAction::StreakOnFar => ui.sight.turn(30),
        SightAction::StreakWidth => ui.sight.is_wide = !ui.sight.is_wide,
        SightAction::SitElsewhere => {
            let Some(seated) = &app.ui.practice else { return Decision::of(ui) };
            let now = StandsThere::of(app.state(), seated.seat.person.room).working_m;
            let at = WORKING_M.iter().position(|metres| (metres - now).abs() < 0.01);
            let next = WORKING_M[at.map_or(0, |at| (at + 1) % WORKING_M.len())];
            return Decision::of(ui).with_step(Event::Detail(Detail::WorkingMetres(next)));
        }
    }
    Decision::of(ui)
}

/// The eye answers by its law.
fn ask(app: &App, mut ui: Ui, question: ByHand) -> Decision {
    let eye = ui.eye;
    let Some(seated) = &mut ui.practice else { return Decision::of(ui) };
    let there = StandsThere::of(app.state(), seated.seat.person.room);
    match seated.examinee.answers_by_hand(eye, question, &there) {
        Some(answer) => noted(ui, question, answer, AnsweredBy::TheEye),
        None if there.is_blind[eye] => Decision::refused(app, format!("the {eye} eye is covered: it sees nothing")),
        None => Decision::refused(app, format!("the hand holds nothing in front of the {eye} eye to be compared")),
    }
}

/// The student says what the picture shows.
fn judge(app: &App, mut ui: Ui, nth: usize) -> Decision {
    let Some((question, asked)) = to_judge(app) else {
        return Decision::refused(app, "with a lens in the hand you can say whether it is clearer");
    };
    let Some(answer) = asked.choices().get(nth).map(|choice| choice.answer) else {
        return Decision::refused(app, format!("there is no answer {}", nth + 1));
    };
    if answer == Answer::TwoLines {
        ui.sight.names_two = true;
        return Decision::of(ui);
    }
    noted(ui, question, answer, AnsweredBy::TheStudent)
}

fn noted(mut ui: Ui, question: ByHand, answer: Answer, by: AnsweredBy) -> Decision {
    ui.sight.names_two = false;
    let asked = AskedByHand { eye: Some(ui.eye), question, answer, by };
    Decision::of(ui).with_step(Event::Practice(PracticeEvent::Asked(asked)))
}

/// Whether a key would do something now.
pub fn is_available(app: &App, action: SightAction) -> bool {
    match action {
        SightAction::Open => app.ui.practice.is_some(),
        SightAction::FlickLens | SightAction::AskWithLens => holds(app),
        SightAction::Judge => to_judge(app).is_some(),
        SightAction::NextPicture
        | SightAction::NextPlace
        | SightAction::LineSmaller
        | SightAction::LineLarger
        | SightAction::AskEye
        | SightAction::ReadsThis
        | SightAction::SweepRight
        | SightAction::SweepLeft
        | SightAction::SweepByItself
        | SightAction::StreakBack
        | SightAction::StreakOn
        | SightAction::StreakBackFar
        | SightAction::StreakOnFar
        | SightAction::StreakWidth
        | SightAction::SitElsewhere => true,
    }
}
