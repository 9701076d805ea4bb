//! The typed line: editing it, and what it says.

use crossterm::event::{Event as TerminalEvent, KeyEvent, KeyModifiers};
use tui_input::backend::crossterm::EventHandler;

use super::super::app::App;
use super::super::keys::{Chord, Context, DetailsAction, TypingAction};
use super::super::spot::Spot;
use super::super::ui::{BoxLine, Panel, Prompt, Purpose, Ui};
use super::super::words;
use super::available::is_available;
use super::decision::Decision;
use super::fault::LineFault;
use super::place::{LensAsked, into_cell, into_hand};
use super::{box_room, day_room, details, glasses, guide, lists, practice, records};
use crate::exam::{Detail, Event};
use crate::kit::{Lens, Mark};
use crate::optics::notation::{LensToken, parse_figure, parse_lens, parse_prescription};
use crate::optics::{Axis, Eye, Millimetres, bounds};

/// The most characters that a line takes; a prescription needs twenty.
const LONGEST: usize = 60;
/// The most that is written down in words at once.
const LONGEST_IN_WORDS: usize = 400;

/// A key that edits the line.
pub fn edit(mut ui: Ui, chord: Chord) -> Decision {
    let Some(prompt) = &mut ui.prompt else {
        return Decision::of(ui);
    };
    prompt.fault = None;
    let most = longest(prompt.purpose);
    if chord.typed().is_some() && prompt.line.value().chars().count() >= most {
        prompt.fault = Some(most);
        ui.refused(format!("this line has at most {most} characters: what is typed beyond them is not taken"));
        return Decision::of(ui);
    }
    let mut modifiers = KeyModifiers::NONE;
    modifiers.set(KeyModifiers::CONTROL, chord.ctrl);
    modifiers.set(KeyModifiers::ALT, chord.alt);
    prompt.line.handle_event(&TerminalEvent::Key(KeyEvent::new(chord.code(), modifiers)));
    ui.says = None;
    Decision::of(ui)
}

fn longest(purpose: Purpose) -> usize {
    match purpose {
        Purpose::Amendment(_) => LONGEST_IN_WORDS,
        Purpose::Glasses(question) if question.is_in_words() => LONGEST_IN_WORDS,
        Purpose::Detail(field) if field.is_in_words() => LONGEST_IN_WORDS,
        Purpose::Box(line) if box_room::is_in_words(line) => LONGEST_IN_WORDS,
        Purpose::Lens
        | Purpose::Hold
        | Purpose::Wanted
        | Purpose::PlannedVertex
        | Purpose::Answer
        | Purpose::Detail(_)
        | Purpose::Find
        | Purpose::Glasses(_)
        | Purpose::Box(_)
        | Purpose::Day(_)
        | Purpose::Practice(_)
        | Purpose::NewExam => LONGEST,
    }
}

/// Text that comes in one piece goes into the line, or into the drawer's filter; it never acts by itself.
///
/// Line ends and tabs in the middle become a space, so that two figures never run into one.
pub fn paste(app: &App, text: &str) -> Decision {
    let mut ui = app.ui.clone();
    let pieces = text.split(char::is_control).map(str::trim).filter(|piece| !piece.is_empty());
    let clean: String = pieces.collect::<Vec<_>>().join(" ").chars().take(LONGEST_IN_WORDS + 1).collect();
    let purpose = match ui.context() {
        Context::Typing => None,
        Context::Drawer => {
            return clean.chars().fold(Decision::of(ui), |decision, c| lists::filter(decision.ui, Chord::char(c)));
        }
        Context::Cells | Context::Proposals if app.state().finished => return nowhere(app),
        Context::Cells | Context::Proposals if ui.spot() == Spot::Hand => Some(Purpose::Hold),
        Context::Cells | Context::Proposals => Some(Purpose::Lens),
        Context::Guide if app.guide().presentation().question.typed().is_some() => Some(Purpose::Answer),
        Context::Details | Context::Words if is_available(app, DetailsAction::EnterDetail) => {
            details::chosen(&ui).filter(|field| field.taken_from_cells().is_none()).map(Purpose::Detail)
        }
        Context::Box | Context::Counting => Some(Purpose::Box(BoxLine::Place)),
        Context::Carrying
        | Context::Guide
        | Context::Choosing
        | Context::Trail
        | Context::Reading
        | Context::Offering
        | Context::Details
        | Context::Words
        | Context::Records
        | Context::Record
        | Context::Returning
        | Context::Boxes
        | Context::Framing
        | Context::Loans
        | Context::Unsettled
        | Context::Sheets
        | Context::Blind
        | Context::Ending
        | Context::Makes
        | Context::Buying
        | Context::Packing
        | Context::Pairs
        | Context::Turning
        | Context::Unmarked
        | Context::Day
        | Context::Outcome
        | Context::Screening
        | Context::Sight
        | Context::Streak
        | Context::Shelf
        | Context::Practising
        | Context::Asking => return nowhere(app),
    };
    if let Some(purpose) = purpose {
        ui.start_line(purpose, "");
    }
    if ui.prompt.is_none() {
        return nowhere(app);
    }
    clean.chars().fold(Decision::of(ui), |decision, c| edit(decision.ui, Chord::char(c)))
}

fn nowhere(app: &App) -> Decision {
    Decision::refused(app, "there is no line here to paste into: nothing was done")
}

/// Does what the line says.
pub fn confirm(app: &App) -> Decision {
    let mut ui = app.ui.clone();
    let Some(Prompt { purpose, line, fault }) = ui.prompt.take() else {
        return Decision::of(ui);
    };
    // a line that is not all that was typed is not taken for it
    let most = longest(purpose);
    if fault == Some(most) {
        let enter = app.settings.keys.key_of(TypingAction::Confirm);
        ui.prompt = Some(Prompt { purpose, line, fault: None });
        ui.refused(format!("only the first {most} characters are in the line: {enter} again takes these"));
        return Decision::of(ui);
    }
    ui.says = None;
    let text = line.value().trim();
    let result = match purpose {
        _ if text.is_empty() && !takes_empty(purpose) => Ok(Decision::of(ui)),
        Purpose::Lens => read_lens(app, text, ui.eye).map(|asked| into_cell(app, closed(ui), &asked)),
        Purpose::Hold => read_lens(app, text, ui.eye).map(|asked| into_hand(app, closed(ui), &asked)),
        Purpose::Wanted => wanted(ui, text),
        Purpose::PlannedVertex => planned_vertex(ui, text),
        Purpose::Answer => guide::typed(app, ui, text),
        Purpose::Detail(field) => details::confirm(app, ui, field, text),
        Purpose::NewExam => Ok(records::begin(app, ui, text)),
        Purpose::Find => Ok(records::find(ui, text)),
        Purpose::Amendment(exam) => Ok(records::amend(app, ui, exam, text)),
        Purpose::Glasses(question) => glasses::answered(ui, question, text),
        Purpose::Box(line) => box_room::confirm(app, ui, line, text),
        Purpose::Day(line) => day_room::confirm(app, ui, line, text),
        Purpose::Practice(line) => practice::confirm(ui, line, text),
    };
    match result {
        // a refusal clones the screen as it was before; the line was read, so it is closed all the same, but for another that follows
        Ok(mut decision) => {
            decision.ui.prompt = decision.ui.prompt.filter(|next| next.purpose != purpose);
            decision
        }
        Err(fault) => {
            let lead = line.value().chars().take_while(|c| c.is_whitespace()).count();
            let mut ui = app.ui.clone();
            ui.refused(fault.problem);
            ui.prompt = Some(Prompt { purpose, line, fault: fault.place.map(|place| place + lead) });
            Decision::of(ui)
        }
    }
}

/// Whether an empty line says something too.
fn takes_empty(purpose: Purpose) -> bool {
    match purpose {
        // what was not measured is left out
        Purpose::Wanted | Purpose::NewExam | Purpose::Find | Purpose::Glasses(_) => true,
        Purpose::Detail(field) => details::taken_back(field).is_some(),
        Purpose::Box(line) => box_room::takes_empty(line),
        Purpose::Day(line) => day_room::takes_empty(line),
        Purpose::Lens
        | Purpose::Hold
        | Purpose::PlannedVertex
        | Purpose::Answer
        | Purpose::Amendment(_)
        | Purpose::Practice(_) => false,
    }
}

fn closed(mut ui: Ui) -> Ui {
    ui.instead = None;
    if ui.panel == Panel::Proposals {
        ui.panel = Panel::Cells;
    }
    ui
}

/// A lens as it is typed: the notation of a stack, or the label of a box with a direction (`slit x90`).
fn read_lens(app: &App, text: &str, eye: Eye) -> Result<LensAsked, LineFault> {
    if let Some(asked) = labelled(app, text) {
        return asked;
    }
    let mark = Mark::nearest;
    match parse_lens(text)? {
        LensToken::Sphere(power) => Ok(LensAsked { lens: Lens::Sphere(mark(power)), direction: None }),
        LensToken::Cylinder { power, axis } => {
            Ok(LensAsked { lens: Lens::Cylinder(mark(power)), direction: Some(u16::from(axis.degrees())) })
        }
        LensToken::Prism { amount, base } => {
            Ok(LensAsked { lens: Lens::Prism(mark(amount)), direction: Some(base.degrees(eye).round() as u16) })
        }
        LensToken::Accessory(name) => accessory(app, &name),
        LensToken::Empty => Err(LineFault::plain("a lens is wanted here, not an empty cell")),
    }
}

fn accessory(app: &App, name: &str) -> Result<LensAsked, LineFault> {
    let Some(lens) = accessories(app).find(|lens| lens.name() == Some(name)) else {
        let mut names: Vec<&str> = Vec::new();
        for name in accessories(app).filter_map(Lens::name) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        return Err(LineFault::plain(format!("`{name}` is not in the box; it has {}", names.join(", "))));
    };
    if lens.has_direction() {
        return Err(LineFault::plain(format!("{name} is set to an axis: write it like `{name} x90`")));
    }
    Ok(LensAsked { lens: lens.clone(), direction: None })
}

/// What the box has that is called by its name, piece by piece.
fn accessories(app: &App) -> impl Iterator<Item = &Lens> {
    app.state().fitted.stock.pieces().iter().map(|stocked| &stocked.piece.lens).filter(|lens| lens.name().is_some())
}

/// A lens of this box that the notation of stacks does not cover, then its axis: `slit x90`, `±0.25x90`.
///
/// A cross cylinder is written with both signs, or by its label: `+-0.25x90`, `0.25 cross cylinder x90`.
fn labelled(app: &App, text: &str) -> Option<Result<LensAsked, LineFault>> {
    let (label, axis) = text.rsplit_once(['x', '\u{d7}'])?;
    let crossed = ["±", "+-", "+/-", "-+"].iter().find_map(|both| label.trim().strip_prefix(both));
    let lens: Lens = match crossed {
        Some(power) => format!("{} cross cylinder", power.trim()).parse().ok()?,
        None => label.trim().parse().ok()?,
    };
    let lens = accessories(app).find(|own| own.name() == lens.name()).cloned().unwrap_or(lens);
    if !lens.has_direction() {
        return None;
    }
    let behind_label = label.chars().count() + 1;
    let axis = parse_figure(axis, &bounds::AXIS).map(Axis::nearest).map_err(LineFault::from);
    Some(match axis {
        Ok(axis) => Ok(LensAsked { lens, direction: Some(u16::from(axis.degrees())) }),
        Err(fault) => Err(LineFault { place: fault.place.map(|place| place + behind_label), ..fault }),
    })
}

fn wanted(ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let mut ui = closed(ui);
    let eye = ui.eye;
    ui.chosen_proposal = 0;
    if text.is_empty() {
        ui.done(format!("nothing is wanted for the {eye} eye any more"));
        return Ok(Decision::of(ui).with_step(Event::Wanted(eye, None)));
    }
    let power = parse_prescription(text)?;
    ui.panel = Panel::Proposals;
    ui.pair = false;
    ui.done(format!("wanted for the {eye} eye: {}", words::power(power.power(), ui.form)));
    Ok(Decision::of(ui).with_step(Event::Wanted(eye, Some(power))))
}

fn planned_vertex(mut ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let millimetres = parse_figure(text, &bounds::VERTEX_MM)?;
    ui.done(format!("glasses planned at {millimetres} mm"));
    Ok(Decision::of(ui).with_step(Event::Detail(Detail::PlannedVertex(Millimetres(millimetres)))))
}
