//! Whether an action would do something now; help and hints show only these.

use super::super::app::App;
use super::super::keys::{
    Action, CellsAction, DayAction, DetailsAction, GuideAction, ListsAction, PracticeAction, RecordsAction,
    ScreenAction, StepsAction, TrailAction,
};
use super::{
    box_room, cells, day_room, details, glasses, guide, lists, open_record, practice, practice_eye, records, sight,
    trail,
};

/// Whether an action would do something now.
pub fn is_available(app: &App, action: impl Into<Action>) -> bool {
    let action = action.into();
    if app.state().finished && action.changes_exam() {
        return false;
    }
    if refused_in_practice(app, action).is_some() {
        return false;
    }
    match action {
        Action::Cells(action) => cells::is_available(app, action),
        Action::Lists(action) => lists::is_available(app, action),
        Action::Guide(action) => guide::is_available(app, action),
        Action::Trail(action) => trail::is_available(app, action),
        Action::Details(action) => details::is_available(app, action),
        Action::Records(action) => match action {
            RecordsAction::OpenRecord => records::chosen(&app.ui).is_some(),
            RecordsAction::Amend => open_record::amendable(&app.ui).is_ok(),
            RecordsAction::GlassesBack => glasses::orderable(&app.ui).is_ok(),
            RecordsAction::TakeGlassesBack => glasses::may_take_back(&app.ui).is_ok(),
            RecordsAction::GlassesAnswer => glasses::shown(&app.ui).is_some(),
            RecordsAction::Open | RecordsAction::Find | RecordsAction::CloseExam | RecordsAction::NewExam => true,
        },
        Action::Box(action) => box_room::is_available(app, action),
        Action::Counting(action) => box_room::is_available_in_count(app, action),
        Action::Day(action) => day_room::is_available(app, action),
        Action::Practice(action) => practice::is_available(app, action),
        Action::Sight(action) => sight::is_available(app, action),
        Action::PracticeEye(action) => practice_eye::is_available(app, action),
        Action::Looking(action) => box_room::is_available_on_looks(app, action),
        Action::Steps(StepsAction::Undo) => !app.exam().standing_steps().is_empty(),
        Action::Steps(StepsAction::Redo) => app.exam().redoable() > 0,
        Action::Screen(ScreenAction::SkipLesson) => app.ui.learns.is_some(),
        Action::Screen(
            ScreenAction::OtherEye
            | ScreenAction::Prescription
            | ScreenAction::Transpose
            | ScreenAction::Theme
            | ScreenAction::Cautions
            | ScreenAction::Help
            | ScreenAction::Suspend
            | ScreenAction::DrawAll
            | ScreenAction::Quit,
        )
        | Action::Makes(_)
        | Action::OfOutcome(_)
        | Action::OfScreening(_)
        | Action::Typing(_)
        | Action::Export(_)
        | Action::Confirmation(_) => true,
    }
}

/// Why an action does nothing while a practice eye is examined; `None` where it does.
pub fn refused_in_practice(app: &App, action: Action) -> Option<String> {
    app.state().practised.as_ref()?;
    let hidden = app.ui.practice.as_ref().map(|seated| seated.seat.hidden).unwrap_or_default();
    if action == GuideAction::Open.into() {
        return hidden.guide.then(|| "the guide is hidden: you refract by hand".to_owned());
    }
    let hints = [ListsAction::Proposals.into(), ListsAction::Pair.into(), CellsAction::Wanted.into()];
    if hints.contains(&action) {
        return hidden.hints.then(|| "hints are hidden: you stack by hand".to_owned());
    }
    let shows_net = [TrailAction::Open.into(), DetailsAction::Open.into(), ScreenAction::Prescription.into()];
    if shows_net.contains(&action) && hidden.net && !app.state().finished {
        return Some("the net power is hidden, and this page would show it".to_owned());
    }
    if action == DayAction::Outcome.into() {
        return None;
    }
    let of_others = match action {
        Action::Box(_) | Action::Counting(_) | Action::Makes(_) | Action::Looking(_) => "no box",
        Action::Day(_) | Action::OfScreening(_) => "no day",
        Action::Typing(_)
        | Action::Cells(_)
        | Action::Lists(_)
        | Action::Guide(_)
        | Action::Trail(_)
        | Action::Details(_)
        | Action::Records(_)
        | Action::OfOutcome(_)
        | Action::Practice(_)
        | Action::PracticeEye(_)
        | Action::Sight(_)
        | Action::Export(_)
        | Action::Confirmation(_)
        | Action::Steps(_)
        | Action::Screen(_) => return None,
    };
    let practice = app.settings.keys.key_of(PracticeAction::Open);
    Some(format!("this is practice, where {of_others} is touched: {practice} leaves it"))
}
