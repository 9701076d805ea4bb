//! The first exam, step by step: what to do now and with which key, beside the real screen.

use super::app::App;
use super::keys::{
    Action, CellsAction, ConfirmationAction, GuideAction, KeyTable, ListsAction, PracticeAction, PracticeEyeAction,
    SightAction, StepsAction, TypingAction,
};
use super::page::Page;
use super::sight::Picture;
use super::ui::Panel;
use crate::exam::ByHand;
use crate::optics::Eye;

/// One step: what is done, and when it is done.
struct Lesson {
    /// What to do, with the keys as they are set.
    says: fn(&dyn Fn(Action) -> String) -> String,
    /// Whether it is done.
    is_done: fn(&App) -> bool,
}

/// The first exam of somebody who has never held a trial lens: a short-sighted right eye, by hand and then led.
const LESSONS: [Lesson; 12] = [
    Lesson {
        says: |key| {
            format!(
                "A person sits in front of you, facing you: their right eye is on your left. The large figures are the net power, \
                 what all lenses in front of an eye add up to. See what the right eye sees: press {}.",
                key(SightAction::Open.into())
            )
        },
        is_done: shows_sight,
    },
    Lesson {
        says: |key| {
            format!(
                "This is the fan, for cylinders; it comes later. {} shows the next picture: go on to the letters.",
                key(SightAction::NextPicture.into())
            )
        },
        is_done: |app| shows_sight(app) && app.ui.sight.picture == Picture::Letters,
    },
    Lesson {
        says: |key| {
            format!(
                "These letters are as blurred as the person sees them. Ask for the lowest line that is read: press {}.",
                key(SightAction::AskEye.into())
            )
        },
        is_done: |app| asked(app, |question| question == ByHand::Letters) >= 1,
    },
    Lesson {
        says: |key| {
            format!(
                "Six metres away it reads what a usual eye reads from much farther: it is short-sighted, and needs minus. Put a lens \
                 into the frame: type -1.00 and {}.",
                key(TypingAction::Confirm.into())
            )
        },
        is_done: |app| net(app) <= -0.75,
    },
    Lesson {
        says: |key| {
            format!(
                "The net power is -1.00 now, and the letters are sharper. Ask again with {}: how many lines did it gain?",
                key(SightAction::AskEye.into())
            )
        },
        is_done: |app| asked(app, |question| question == ByHand::Letters) >= 2,
    },
    Lesson {
        says: |key| {
            format!(
                "A small change is held in front of what stands there. Type it after {}: -0.25 and {}.",
                key(CellsAction::Hold.into()),
                key(TypingAction::Confirm.into())
            )
        },
        is_done: |app| app.state().fitted.held(Eye::Right).is_some(),
    },
    Lesson {
        says: |key| {
            format!(
                "{} flicks it away and back: look. Then ask with {} whether it is clearer with it, the same, or worse.",
                key(SightAction::FlickLens.into()),
                key(SightAction::AskWithLens.into())
            )
        },
        is_done: |app| asked(app, |question| question == ByHand::WithLens) >= 1,
    },
    Lesson {
        says: |key| {
            format!(
                "Minus is added only while it lets the eye read more: too much tires young eyes and is the commonest harm. The guide \
                 keeps to that. {} goes back to the frame, then {} opens the guide. ({} takes a step back, whenever you like.)",
                key(ListsAction::Close.into()),
                key(GuideAction::Open.into()),
                key(StepsAction::Undo.into())
            )
        },
        is_done: |app| app.ui.page.is_none() && app.ui.panel == Panel::Guide,
    },
    Lesson {
        says: |key| {
            format!(
                "It asks what comes next; 1 is what is usual. What it asks the person, the person answers: press {}. A digit would be \
                 your own judgement in its place. Go on until it knows the age.",
                key(PracticeEyeAction::EyeAnswers.into())
            )
        },
        is_done: |app| app.state().person.age_years.is_some(),
    },
    Lesson {
        says: |key| {
            format!(
                "Read what it has you do, what it asks, and why; the lenses move by themselves. {} answers, 1 begins what is usual \
                 next. Go on until the right eye is done and it offers the left one.",
                key(PracticeEyeAction::EyeAnswers.into())
            )
        },
        is_done: |app| {
            let done = &app.guide().findings().done;
            done.iter().any(|(procedure, eye)| *eye == Some(Eye::Right) && procedure.strategy().is_some())
        },
    },
    Lesson {
        says: |key| {
            format!(
                "Go on with the left eye in the same way, or stop here: either way the digit of prescription writes down what was found. \
                 Put its sheet away with {}; then {}, 2 and {} end the exam.",
                key(ListsAction::Close.into()),
                key(PracticeAction::Open.into()),
                key(ConfirmationAction::Yes.into())
            )
        },
        // the end of the exam goes on by itself
        is_done: |_| false,
    },
    Lesson {
        says: |key| {
            format!(
                "This is how it went: first whether somebody would have been hurt, then how far off, then what it cost. That was the \
                 first exam. {} offers another eye, the drills, and the way out.",
                key(PracticeAction::Open.into())
            )
        },
        is_done: |app| app.ui.practice_page().is_some_and(|page| !page.is_below_the_choices()),
    },
];

fn shows_sight(app: &App) -> bool {
    app.ui.page == Some(Page::Sight)
}

fn asked(app: &App, about: impl Fn(ByHand) -> bool) -> usize {
    let practised = app.state().practised.as_ref();
    practised.map_or(0, |of| of.asked.iter().filter(|asked| about(asked.question)).count())
}

fn net(app: &App) -> f64 {
    app.in_front_of(Eye::Right).net.m
}

/// Which step it is, of how many, and what to do.
pub fn says(app: &App) -> Option<(usize, usize, String)> {
    let step = app.ui.learns?;
    let keys: &KeyTable = &app.settings.keys;
    let key = |action: Action| keys.key_of(action);
    let lesson = LESSONS.get(step)?;
    Some((step + 1, LESSONS.len(), (lesson.says)(&key)))
}

impl App {
    /// Goes on to the first step that is not done; after the last there is none.
    pub(super) fn follow_lesson(&mut self) {
        let has_ended = self.state().practised.as_ref().is_some_and(|of| of.ended.is_some());
        while let Some(step) = self.ui.learns {
            // whoever ends early reads how it went, and what comes after
            let step = if has_ended { step.max(LESSONS.len() - 1) } else { step };
            self.ui.learns = Some(step);
            match LESSONS.get(step) {
                Some(lesson) if (lesson.is_done)(self) => self.ui.learns = Some(step + 1),
                Some(_) => return,
                None => self.ui.learns = None,
            }
        }
    }
}
