//! What is said beside a picture of sight: what is asked, what was answered, how the person's view lies on the dial.

use super::super::super::answer_words;
use super::super::super::app::App;
use super::super::super::decide::to_judge;
use super::super::super::keys::SightAction;
use super::super::super::settings::Settings;
use super::super::super::sight::{Note, Picture, notes};
use super::super::super::words;
use super::super::eye::hides_net;
use super::super::said::Said;
use crate::exam::{AnsweredBy, AskedByHand, ByHand};
use crate::guide::Question;
use crate::guide::question::Choice;
use crate::optics::{Axis, CylinderForm};
use crate::practice::by_hand::StandsThere;
use crate::practice::examinee::line_on_the_dial_deg;

/// Everything that is said.
pub fn said(app: &App) -> Vec<Said> {
    let key = |action: SightAction| app.settings.keys.key_of(action);
    let mut lines = vec![Said::Strong(question(app.ui.sight.picture).to_owned())];
    match app.ui.sight.picture {
        Picture::Fan => {
            lines.push(Said::Text(format!("{} the eye answers; {}", key(SightAction::AskEye), fan_digits(app))));
            lines.extend(answers(app, &AnsweredBy::BOTH));
            lines.push(Said::Quiet(mirrored(named_line(app))));
        }
        Picture::Rings | Picture::Letters => {
            let (asks, this) = (key(SightAction::AskEye), key(SightAction::ReadsThis));
            lines.push(Said::Text(format!("{asks} the eye answers; {this} I can, down to the marked line")));
            lines.extend(with_lens(app));
            lines.extend(answers(app, &AnsweredBy::BOTH));
            lines.push(Said::Quiet("every line is drawn alike large: what differs is its blur".to_owned()));
        }
        Picture::Streak => lines.extend(streak(app)),
    }
    if let Some(protocol) = app.may_draw.filter(|_| !app.in_pixels) {
        lines.push(Said::Quiet(format!(
            "this terminal may draw real pixels: `pictures: {}` in the settings",
            protocol.name()
        )));
    }
    lines
}

fn question(picture: Picture) -> &'static str {
    match picture {
        Picture::Fan => "“Which lines are clearest or blackest, as on a clock?”",
        Picture::Rings => "“Which is the lowest line on which you can tell the gaps?”",
        Picture::Letters => "“Which is the lowest line you can read?”",
        Picture::Streak => "What do you see?",
    }
}

/// What the digits say of the fan, in a line.
fn fan_digits(app: &App) -> String {
    if app.ui.sight.names_two {
        return "1-6 the first hour of the two".to_owned();
    }
    let of_an_hour = Question::FanLine.choices().iter().filter(|choice| choice.answer.half_hours().is_some()).count();
    let others = Question::FanLine.choices().into_iter().skip(of_an_hour);
    let others: Vec<String> = others.map(|choice| format!("{} {}", choice.digit, label(&choice.label, app))).collect();
    format!("1-{of_an_hour} the line at that hour, {}", others.join(", "))
}

fn label(label: &crate::exam::Sentence, app: &App) -> String {
    words::sentence(label, app.ui.form, app.settings.acuity)
}

/// What the lens in the hand changes, and what can be said of that.
fn with_lens(app: &App) -> Vec<Said> {
    let key = |action: SightAction| app.settings.keys.key_of(action);
    let Some((question, asked)) = to_judge(app) else {
        return vec![Said::Quiet("a lens in the hand is flicked away and back with one key".to_owned())];
    };
    let digits: Vec<String> =
        asked.choices().iter().map(|choice| format!("{} {}", choice.digit, label(&choice.label, app))).collect();
    let flick = key(SightAction::FlickLens);
    let (flicks, asks) = match question {
        ByHand::CrossCylinder => (format!("{flick} flips the cross cylinder"), "which position is clearer?"),
        ByHand::Letters
        | ByHand::WithLens
        | ByHand::Fan
        | ByHand::RedGreen
        | ByHand::ClearerEye
        | ByHand::Print
        | ByHand::Reflex { .. } => {
            let what = if app.ui.sight.is_away { "brings the lens in the hand back" } else { "flicks the lens away" };
            (format!("{flick} {what}"), "clearer with the lens?")
        }
    };
    vec![Said::Text(flicks), Said::Text(format!("{} {asks} {}", key(SightAction::AskWithLens), digits.join("   ")))]
}

/// How the streak lies, what can be said of the light, and what was said of it.
fn streak(app: &App) -> Vec<Said> {
    let Some(seated) = &app.ui.practice else { return Vec::new() };
    let metres = StandsThere::of(app.state(), seated.seat.person.room).working_m;
    let sight = &app.ui.sight;
    let wide = if sight.is_wide { ", wide" } else { "" };
    let mut lines = vec![
        Said::Text(
            "1 with, 2 with but dull and slow; 3 against, 4 against but dull; 5 fills at once; 6 breaks away"
                .to_owned(),
        ),
        Said::Text(format!(
            "streak lies at {}, sweeps along {}{wide}",
            sight.lies.degrees(),
            sight.sweeps_along().degrees()
        )),
    ];
    lines.extend(answers(app, &[AnsweredBy::TheEye]));
    lines.extend(noted(app));
    lines.push(Said::Quiet(format!(
        "you sit at {:.0} cm: where the pupil fills at once, take {} off",
        metres * 100.0,
        words::dioptres(1.0 / metres)
    )));
    lines
}

/// The last answers of each of these: one to each question, of the light the last alone.
fn answers(app: &App, by: &[AnsweredBy]) -> Vec<Said> {
    let whose = |asked: &AskedByHand| match asked.by {
        AnsweredBy::TheEye if asked.question.along_deg().is_some() => "an examiner would see",
        AnsweredBy::TheEye => "the eye",
        AnsweredBy::TheStudent => "you",
    };
    let mut last: Vec<&AskedByHand> = Vec::new();
    for asked in app.ui.sight.answers(app.state(), app.ui.eye).filter(|asked| by.contains(&asked.by)) {
        let is_alike = asked.question.along_deg().is_some();
        last.retain(|before| before.by != asked.by || before.question != asked.question && !is_alike);
        last.push(asked);
    }
    let said = |asked: &&AskedByHand| {
        Said::Strong(format!("{}: {}", whose(asked), answer_in_words(asked, app.ui.form, &app.settings)))
    };
    last.iter().map(said).collect()
}

/// An answer with what it is an answer to, where that is not said beside it.
pub fn answer_in_words(asked: &AskedByHand, form: CylinderForm, settings: &Settings) -> String {
    let among = |choices: Vec<Choice>| answer_words::answer(asked.answer, &choices, form, settings.acuity);
    match asked.question {
        ByHand::Letters => among(Question::LineRead.choices()),
        ByHand::Fan => {
            let two = Question::FanFirstOfTwo.choices();
            among(Question::FanLine.choices().into_iter().chain(two).collect())
        }
        ByHand::WithLens => among(Question::ClearerWith { before: None }.choices()) + " with the lens",
        ByHand::CrossCylinder | ByHand::RedGreen => among(Question::WhichPosition.choices()),
        ByHand::Reflex { along } => {
            format!("along {}, {}", Axis::folded(i32::from(along)).degrees(), among(Question::Reflex.choices()))
        }
        ByHand::ClearerEye => among(Question::ClearerEye.choices()),
        ByHand::Print => among(Question::PrintRead.choices()),
    }
}

/// The clock hour in halves of the line that was named last.
fn named_line(app: &App) -> Option<u8> {
    let answers = app.ui.sight.answers(app.state(), app.ui.eye);
    answers.last().and_then(|asked| asked.answer.half_hours())
}

/// How what the person names lies on the examiner's dial: the person faces the examiner.
pub fn mirrored(half_hours: Option<u8>) -> String {
    let Some(half_hours) = half_hours else {
        return "The picture is mirrored to your dial: the person faces you. 1 to 7 for the person is the line at 120 there.".to_owned();
    };
    let hour = half_hours / 2;
    let from_to = if half_hours.is_multiple_of(2) {
        format!("{hour} to {}", hour + 6)
    } else {
        format!("Between {hour} and {}", hour % 12 + 1)
    };
    let on_dial = Axis::folded(line_on_the_dial_deg(f64::from(half_hours) / 2.0).round() as i32);
    format!(
        "{from_to} for the person is the line at {} on your dial, and the minus axis lies at right angles, at {}.",
        on_dial.degrees(),
        on_dial.perpendicular().degrees()
    )
}

/// What was noted along each meridian.
fn noted(app: &App) -> Vec<Said> {
    let notes = notes(app.state(), app.ui.eye);
    if notes.is_empty() {
        return Vec::new();
    }
    let line = |note: &Note| {
        let said = answer_in_words(&note.asked, app.ui.form, &app.settings);
        // what stood there would tell the net power that the teacher hides
        if hides_net(app) {
            return Said::Text(said);
        }
        Said::Text(format!("{said}, through {}", words::power(note.through, app.ui.form)))
    };
    std::iter::once(Said::Quiet("your notes:".to_owned())).chain(notes.iter().map(line)).collect()
}
