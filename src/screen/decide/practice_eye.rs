//! What a practice eye does when it is asked.

use super::super::answer_words;
use super::super::app::App;
use super::super::keys::PracticeEyeAction;
use super::super::ui::{Answered, Panel, Ui};
use super::decision::Decision;
use super::guide;
use crate::practice::Standing;

/// Whether a command would do something now.
pub fn is_available(app: &App, action: PracticeEyeAction) -> bool {
    match action {
        PracticeEyeAction::EyeAnswers => app.ui.practice.is_some() && !app.state().finished,
    }
}

/// Does a command about the practice eye.
pub fn act(app: &App, ui: Ui, action: PracticeEyeAction) -> Decision {
    match action {
        PracticeEyeAction::EyeAnswers => eye_answers(app, ui),
    }
}

/// The practice eye answers what the guide asks, by what really stands before it.
fn eye_answers(app: &App, mut ui: Ui) -> Decision {
    let Some(mut seated) = ui.practice.take() else {
        return Decision::refused(app, "no practice eye sits here: you answer");
    };
    let presentation = app.guide().presentation();
    let standing = Standing::of(presentation, app.exam());
    let Some(answer) = seated.examinee.answer(presentation, &standing) else {
        return Decision::refused(app, "the eye has nothing to say to this: choose yourself, or skip it");
    };
    ui.practice = Some(seated);
    let said = answer_words::answer(answer, &presentation.choices, ui.form, app.settings.acuity);
    ui.answered = Some(Answered::Text(format!("the eye: {said}")));
    ui.panel = Panel::Guide;
    guide::answer(app, ui, answer)
}
