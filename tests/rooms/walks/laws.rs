//! What holds whatever is pressed.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use std::cell::{Cell, RefCell};
use std::collections::HashSet;
use std::rc::Rc;

use dioptray::exam::{CheckedStep, Event, Exam, Opening};
use dioptray::frame::FittedFrame;
use dioptray::kit::{Lens, LensLine, Stock};
use dioptray::screen::decide::{After, is_available};
use dioptray::screen::keys::Chord;
use dioptray::screen::keys::strokes::{self, Stroke};
use dioptray::screen::keys::{Action, Binding, Context, GuideAction, KeyTable, ListsAction, StepsAction, TypingAction};
use dioptray::screen::shelf;
use dioptray::screen::theme::Glyphs;
use dioptray::screen::ui::{Input, Tone};
use dioptray::screen::view;
use dioptray::screen::{App, Settings};
use dioptray::session::{Journal, SaveError, Session};
use proptest::prelude::*;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Failure;
use super::bench::{copy, options, outreach_box, session};
use crate::kept;
use crate::pictures::Album;
use crate::plain::four_cells;

/// Keeps steps where the test can see them, until it is set to fail.
#[derive(Default, Clone)]
pub struct Notebook {
    steps: Rc<RefCell<Vec<Vec<Event>>>>,
    full: Rc<Cell<bool>>,
}

impl Journal for Notebook {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        if self.full.get() {
            return Err(SaveError::new("the disk is full"));
        }
        self.steps.borrow_mut().push(step.events().to_vec());
        Ok(())
    }

    fn lasts(&self) -> bool {
        true
    }
}

fn screen() -> Result<App, Failure> {
    screen_with(&Notebook::default())
}

fn screen_with(notebook: &Notebook) -> Result<App, Failure> {
    let start = options(Settings::shipped()?)?;
    let session = Session::new(start.session.exam().clone(), Box::new(notebook.clone()));
    Ok(App::new(session, start.settings))
}

pub fn press(app: &mut App, keys: &str) -> Result<bool, Failure> {
    for stroke in strokes::parse(keys)? {
        if let Stroke::Key(chord) = stroke
            && app.handle(&Input::Key(chord)) == After::Leaves
        {
            return Ok(true);
        }
    }
    Ok(false)
}

pub fn refused(app: &App) -> Option<String> {
    app.ui.says.as_ref().filter(|says| says.tone == Tone::Refused).map(|says| says.text.clone())
}

#[test]
fn what_cannot_be_seen_is_not_worked_on() -> Result<(), Failure> {
    let mut app = screen()?;
    press(&mut app, "-4<enter>")?;
    for keys in ["x", "-3<enter>", "<tab>", "g1", "w", "u"] {
        for stroke in strokes::parse(keys)? {
            let Stroke::Key(chord) = stroke else { continue };
            assert_eq!(app.handle_unseen(&Input::Key(chord)), After::GoesOn, "{keys}");
        }
    }
    for (key, after) in [("q", After::Leaves), ("<ctrl-z>", After::StepsAside), ("<ctrl-l>", After::DrawsAll)] {
        assert_eq!(app.handle_unseen(&Input::Key(strokes_key(key)?)), after, "it can be left all the same");
    }
    Ok(())
}

/// The first key of an action that is no text where it is pressed.
fn key_at(binding: &Binding, context: Context) -> Option<&Chord> {
    binding.keys.iter().find(|key| !context.takes_text() || key.typed().is_none())
}

fn strokes_key(key: &str) -> Result<Chord, Failure> {
    match strokes::parse(key)?.as_slice() {
        [Stroke::Key(chord)] => Ok(*chord),
        _ => Err("one key".into()),
    }
}

/// Things that an examiner does, in one go each.
fn deeds() -> impl Strategy<Value = Vec<&'static str>> {
    let deed = prop::sample::select(vec![
        "-4<enter>",
        "+0.50<enter>",
        "-0.75x30<enter>",
        "-1.50x175<enter>",
        "3BU<enter>",
        "2b30<enter>",
        "-3.25<enter>",
        "npinhole<enter>",
        "nslit x45<enter>",
        "h-0.25<enter>",
        "h+-0.25x45<enter>",
        "o",
        "x",
        "X",
        "u",
        "r",
        "b",
        "f",
        "l",
        "m",
        "S",
        "<tab>",
        "<left>",
        "<right>",
        "<enter>",
        "<esc>",
        "[",
        "]",
        "{",
        "}",
        "w-4.25/-0.75x180<enter>",
        "w<enter>",
        "1",
        "2",
        "p",
        "P",
        "d",
        "cyl",
        "<down>",
        "<up>",
        "<pagedown>",
        "?",
        "!",
        "t",
        "T",
        "v14<enter>",
        "g",
        "gc4",
        "g1",
        "3",
        "s",
        "a",
        "c",
        "j",
        "=",
        "a",
        "i",
        "e",
        "C",
        "<enter>6/12-2<enter>",
        "<enter>31.5<enter>",
        "<enter>2BI 1BU<enter>",
        "33<enter>",
    ]);
    prop::collection::vec(deed, 0..25)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn what_was_kept_is_what_is_shown(deeds in deeds(), columns in 1u16..140, rows in 1u16..50) {
        let notebook = Notebook::default();
        let mut app = screen_with(&notebook).unwrap();
        let opening = app.exam().opening().clone();
        for deed in deeds {
            press(&mut app, deed).unwrap();
            let mut buffer = Buffer::empty(Rect::new(0, 0, columns, rows));
            view::draw(&app, Glyphs::chosen(app.settings.characters), &mut buffer);
            let mut replayed = Exam::open(opening.clone());
            for step in notebook.steps.borrow().iter() {
                replayed.apply(step).unwrap();
            }
            prop_assert_eq!(replayed.state(), app.state());
        }
    }

    #[test]
    fn what_the_help_shows_is_not_refused(deeds in deeds()) {
        let mut app = screen().unwrap();
        for deed in deeds {
            press(&mut app, deed).unwrap();
            let context = app.ui.context();
            let bindings = app.settings.keys.bindings().to_vec();
            for binding in bindings.iter().filter(|binding| binding.contexts.contains(&context)) {
                let types = matches!(binding.action, Action::Typing(TypingAction::Confirm) | Action::Lists(ListsAction::TakeChosen));
                if types || !is_available(&app, binding.action) {
                    continue;
                }
                let mut tried = copy(&app);
                tried.ui.says = None;
                let Some(&key) = key_at(binding, context) else { continue };
                tried.handle(&Input::Key(key));
                prop_assert_eq!(refused(&tried), None, "{} after {}", binding.action, deed);
            }
        }
    }

    #[test]
    fn a_closed_exam_does_not_change(deeds in deeds(), later in deeds()) {
        let notebook = Notebook::default();
        let mut app = screen_with(&notebook).unwrap();
        for deed in deeds {
            press(&mut app, deed).unwrap();
        }
        press(&mut app, "<esc><esc><esc><esc>Cy").unwrap();
        prop_assert!(app.state().finished);
        let (closed, kept) = (app.state().clone(), notebook.steps.borrow().len());
        for deed in later {
            press(&mut app, deed).unwrap();
            let context = app.ui.context();
            for binding in app.settings.keys.bindings().to_vec() {
                let works = binding.contexts.contains(&context) && is_available(&app, binding.action);
                if works && binding.action != TypingAction::Confirm.into() {
                    let mut tried = copy(&app);
                    tried.ui.says = None;
                    let Some(&key) = key_at(&binding, context) else { continue };
                    tried.handle(&Input::Key(key));
                    prop_assert_eq!(refused(&tried), None, "{} after {}", binding.action, deed);
                }
            }
        }
        prop_assert_eq!(app.state(), &closed);
        prop_assert_eq!(notebook.steps.borrow().len(), kept);
    }

    #[test]
    fn undoing_everything_comes_back_to_the_beginning(deeds in deeds()) {
        let mut app = screen().unwrap();
        for deed in deeds {
            press(&mut app, deed).unwrap();
        }
        press(&mut app, "<esc><esc><esc><esc>").unwrap();
        let there = app.state().clone();
        let steps = app.exam().standing_steps().len();
        for _ in 0..steps {
            press(&mut app, "u").unwrap();
        }
        let beginning = Exam::open(app.exam().opening().clone());
        prop_assert_eq!(app.state(), beginning.state());
        for _ in 0..steps {
            press(&mut app, "r").unwrap();
        }
        prop_assert_eq!(app.state(), &there);
    }
}

#[test]
fn what_cannot_be_kept_is_not_shown() -> Result<(), Failure> {
    let notebook = Notebook::default();
    let mut app = screen_with(&notebook)?;
    let before = app.state().clone();
    notebook.full.set(true);
    press(&mut app, "-4<enter>")?;
    assert_eq!(app.state(), &before);
    assert_eq!(refused(&app).as_deref(), Some("not saved, so not done: the disk is full"));
    Ok(())
}

#[test]
fn what_cannot_be_kept_is_not_closed_and_nothing_begins() -> Result<(), Failure> {
    let notebook = Notebook::default();
    let mut app = screen_with(&notebook)?;
    press(&mut app, "-4<enter>aNZ.Z.<enter>")?;
    let before = app.state().clone();
    notebook.full.set(true);
    press(&mut app, "y")?;
    assert_eq!(app.state(), &before);
    assert_eq!(refused(&app).as_deref(), Some("not saved, so not done: the disk is full"));
    Ok(())
}

#[test]
fn what_the_exam_refuses_is_not_kept() -> Result<(), Failure> {
    let notebook = Notebook::default();
    let mut app = screen_with(&notebook)?;
    press(&mut app, "u")?;
    assert_eq!(refused(&app).as_deref(), Some("nothing to undo: this is how the exam began"));
    // a cylinder put down where nothing turns
    press(&mut app, "<right><right>-0.75x30<enter>m<left><left><enter>")?;
    assert!(refused(&app).is_some_and(|text| text.contains("does not turn")));
    assert_eq!(notebook.steps.borrow().len(), 1);
    Ok(())
}

#[test]
fn a_swap_is_one_step_and_a_proposal_too() -> Result<(), Failure> {
    let mut app = screen()?;
    press(&mut app, "-4<enter><tab>+2<enter>m<tab><enter>")?;
    assert_eq!(app.exam().standing_steps().len(), 3);
    press(&mut app, "w-4.25/-0.75x180<enter>1")?;
    assert_eq!(app.exam().standing_steps().len(), 5);
    Ok(())
}

#[test]
fn the_shipped_key_table_gives_every_action_keys_and_no_key_twice() -> Result<(), Failure> {
    let table = KeyTable::shipped()?;
    let actions: Vec<Action> = table.bindings().iter().map(|binding| binding.action).collect();
    assert_eq!(actions.iter().find_map(|action| table.conflict(*action)), None);
    for (nth, binding) in table.bindings().iter().enumerate() {
        assert!(!binding.keys.is_empty() && !binding.contexts.is_empty(), "{}", binding.action);
        assert!(actions.iter().skip(nth + 1).all(|other| *other != binding.action), "{} twice", binding.action);
        let key_name = |word: &str| ["esc", "enter", "ctrl", "tab"].contains(&word);
        let named = |text: &str| text.contains('`') || text.split(|c: char| !c.is_alphanumeric()).any(key_name);
        assert!(!named(&binding.help) && !named(&binding.label), "{} names a key", binding.action);
    }
    Ok(())
}

#[test]
fn a_list_has_a_key_for_every_row_whatever_else_its_keys_were_given_to() -> Result<(), Failure> {
    let digits_and_letters: Vec<Chord> = ('1'..='9').chain('a'..='z').chain('A'..='Z').map(Chord::char).collect();
    let asked_for: Vec<Chord> = "zyZ3".chars().map(Chord::char).collect();
    for action in Action::every() {
        let Some(rows) = action.rows_by_position() else { continue };
        for taken in 0..=digits_and_letters.len() - rows - 6 {
            let mut table = KeyTable::shipped()?;
            // undo works in every such list, and so does what it is given here
            table.rebind(StepsAction::Undo.into(), &digits_and_letters[..taken]);
            table.rebind(action, &asked_for);
            let binding = table.bindings().iter().find(|binding| binding.action == action).unwrap();
            let different: HashSet<Chord> = binding.keys.iter().copied().collect();
            assert_eq!((binding.keys.len(), different.len()), (rows, rows), "{action}, {taken} taken");
            let free = asked_for.iter().filter(|key| !digits_and_letters[..taken].contains(key));
            assert!(binding.keys.iter().zip(free).all(|(key, first)| key == first), "{action}, {taken} taken");
            for context in &binding.contexts {
                for (nth, key) in binding.keys.iter().enumerate() {
                    assert_eq!(table.lookup(*context, *key), Some((action, nth)), "{taken} taken");
                }
            }
        }
    }
    Ok(())
}

#[test]
fn a_row_has_a_key_when_one_of_its_keys_was_given_to_a_step_back() -> Result<(), Failure> {
    let mut table = KeyTable::shipped()?;
    let pick = Action::Guide(GuideAction::PickProcedure);
    table.rebind(Action::Steps(StepsAction::Undo), &[Chord::char('3')]);
    table.rebind(pick, &[Chord::char('z'), Chord::char('3')]);
    let binding = table.bindings().iter().find(|binding| binding.action == pick).unwrap();
    assert_eq!(Some(binding.keys.len()), pick.rows_by_position());
    for (nth, key) in binding.keys.iter().enumerate() {
        assert_eq!(table.lookup(Context::Choosing, *key), Some((pick, nth)));
    }
    assert_eq!(binding.keys[0], Chord::char('z'));
    Ok(())
}

#[test]
fn every_action_has_one_row() -> Result<(), Failure> {
    let table = KeyTable::shipped()?;
    for action in Action::every() {
        let rows = table.bindings().iter().filter(|binding| binding.action == action).count();
        assert_eq!(rows, 1, "{action} has {rows} rows of the key table");
    }
    Ok(())
}

#[test]
fn the_key_table_for_the_readme() -> Result<(), Failure> {
    let album = Album::of("keys");
    album.screen("key-table", "none", &KeyTable::shipped()?.as_markdown());
    Ok(())
}

#[test]
fn every_key_is_written_as_it_is_read() -> Result<(), Failure> {
    for binding in KeyTable::shipped()?.bindings() {
        for chord in &binding.keys {
            assert_eq!(chord.to_string().parse::<Chord>()?, *chord);
        }
    }
    for name in ["ctrl-z", "alt-x", "ctrl-alt-a", "f12", "shift-tab", "space", "-", "ctrl--", "?", "é"] {
        assert_eq!(name.parse::<Chord>()?.to_string(), name);
    }
    for wrong in ["", "entre", "ctrl-", "f0", "f25", "ab", "ctrl-ctrl-a"] {
        assert!(wrong.parse::<Chord>().is_err(), "{wrong}");
    }
    Ok(())
}

/// What is typed to take a lens out of the box.
fn typed(lens: &Lens) -> String {
    let name = lens.name().unwrap_or_default();
    match lens {
        Lens::Sphere(mark) => mark.to_string(),
        Lens::Cylinder(mark) => format!("{mark}x90"),
        Lens::Prism(mark) => format!("{}BU", mark.dioptres()),
        Lens::CrossCylinder(mark) => format!("+-{}x90", mark.unsigned()),
        Lens::Accessory(accessory) if accessory.turns() => format!("{name} x90"),
        Lens::Accessory(_) => name.to_owned(),
    }
}

/// A frame with a box that has one piece of every kind.
fn with_one_of_each() -> Result<App, Failure> {
    let mut one_of_each = outreach_box()?;
    let lines = kept::lenses().into_iter().map(|lens| LensLine { lens, declared: 1, missing: 0 });
    one_of_each.lines = lines.collect();
    one_of_each.measured.clear();
    let fitted = FittedFrame::new(four_cells(), Stock::of(&one_of_each));
    Ok(App::new(session(Exam::open(Opening::of(fitted))), Settings::shipped()?))
}

fn taken(app: &App) -> Option<&Lens> {
    let pieces = app.state().fitted.stock.pieces();
    pieces.iter().find(|stocked| !stocked.is_free()).map(|stocked| &stocked.piece.lens)
}

#[test]
fn a_lens_of_every_kind_is_taken_as_it_is_typed() -> Result<(), Failure> {
    for lens in kept::lenses() {
        let mut app = with_one_of_each()?;
        press(&mut app, &format!("n{}<enter>", typed(&lens)))?;
        assert_eq!(refused(&app), None, "{lens}");
        assert_eq!(taken(&app), Some(&lens));
    }
    Ok(())
}

#[test]
fn a_lens_of_every_kind_is_held_as_it_is_typed() -> Result<(), Failure> {
    for lens in kept::lenses() {
        let mut app = with_one_of_each()?;
        press(&mut app, &format!("h{}<enter>", typed(&lens)))?;
        assert_eq!(refused(&app), None, "{lens}");
        assert_eq!(app.state().fitted.held(app.ui.eye).map(|held| &held.stocked.piece.lens), Some(&lens));
    }
    Ok(())
}

#[test]
fn a_lens_of_every_kind_is_taken_out_of_the_drawer() -> Result<(), Failure> {
    for lens in kept::lenses() {
        let mut app = with_one_of_each()?;
        press(&mut app, "d")?;
        let row = |app: &App| {
            let lines = shelf::lines(&app.state().fitted.stock, app.ui.shelf, "");
            lines.iter().position(|line| line.lens == lens)
        };
        for _ in kept::lenses() {
            if row(&app).is_none() {
                press(&mut app, "<right>")?;
            }
        }
        let row = row(&app).ok_or_else(|| format!("{lens} lies on no shelf"))?;
        press(&mut app, &format!("{}<enter>", "<down>".repeat(row)))?;
        assert_eq!(app.ui.prompt.is_some(), lens.has_direction(), "{lens}");
        if lens.has_direction() {
            press(&mut app, "90<enter>")?;
        }
        assert_eq!(refused(&app), None, "{lens}");
        assert_eq!(taken(&app), Some(&lens));
    }
    Ok(())
}
