//! One cylinder form everywhere on a screen: plus where the settings say so, or where the box has plus cylinders only.
//! Both are common practice, no source; that the two forms are one power is checked in `outside/transposition.rs`.

use dioptray::exam::{Exam, Opening, ProcedureName};
use dioptray::frame::{FittedFrame, shipped::demo_frame};
use dioptray::kit::{BoxChange, DeclaredBox, Lens, Place, Stock, shipped::demo_box};
use dioptray::optics::{AcuityNotation, Axis, CylinderForm, Eye};
use dioptray::screen::keys::strokes::{self, Stroke};
use dioptray::screen::ui::Input;
use dioptray::screen::{App, Settings, words};

use super::Failure;
use super::bench::{copy, session};
use super::laws::press;
use super::person::{lead, presbyope, short_sighted};

/// The outreach box with every cylinder made plus.
fn plus_box() -> Result<DeclaredBox, Failure> {
    let mut declared = demo_box()?;
    "Plus cylinders".clone_into(&mut declared.name);
    for line in &mut declared.lines {
        if line.lens.is_cylinder() {
            line.lens = line.lens.to_string().replace('-', "+").parse()?;
        }
    }
    Ok(declared)
}

fn screen(declared: &DeclaredBox, settings: &str) -> Result<App, Failure> {
    let fitted = FittedFrame::new(demo_frame()?, Stock::of(declared));
    // step by step, where more of the guide speaks of powers
    let settings = format!("strategy: ladder\n{settings}");
    Ok(App::new(session(Exam::open(Opening::of(fitted))), Settings::read(&settings, "")?))
}

/// The powers on a row that are written with a minus cylinder; with `lenses`, cylinder lenses too.
fn minus_forms(row: &str, lenses: bool) -> Vec<String> {
    let characters: Vec<char> = row.chars().collect();
    let mut found = Vec::new();
    for at in 1..characters.len().saturating_sub(1) {
        if !matches!(characters[at], 'x' | '×') || !characters[at + 1].is_ascii_digit() {
            continue;
        }
        let figure = |character: &char| character.is_ascii_digit() || *character == '.';
        let start = (0..at).rev().take_while(|&before| figure(&characters[before])).last();
        let Some(start) = start.filter(|start| *start > 0) else { continue };
        let is_minus = matches!(characters[start - 1], '-' | '−');
        let is_of_a_power = start > 1 && characters[start - 2] == '/';
        if is_minus && (lenses || is_of_a_power) {
            found.push(row.trim().to_owned());
        }
    }
    found
}

/// Presses keys one by one and gathers what stands in minus form on the way, at both sizes.
fn gathered(app: &mut App, keys: &str, lenses: bool) -> Result<Vec<String>, Failure> {
    let mut found = Vec::new();
    for stroke in strokes::parse(keys)? {
        let Stroke::Key(chord) = stroke else { continue };
        app.handle(&Input::Key(chord));
        // a typed line is as it is typed, and so is a refusal of it
        if app.ui.prompt.as_ref().is_some_and(|prompt| !prompt.line.value().is_empty()) {
            continue;
        }
        for (columns, rows) in [(120, 36), (80, 24)] {
            let mut buffer = ratatui::buffer::Buffer::empty(ratatui::layout::Rect::new(0, 0, columns, rows));
            let glyphs = dioptray::screen::theme::Glyphs::chosen(app.settings.characters);
            dioptray::screen::view::draw(app, glyphs, &mut buffer);
            for row in buffer.content().chunks(usize::from(columns)) {
                let row: String = row.iter().map(ratatui::buffer::Cell::symbol).collect();
                found.extend(minus_forms(&row, lenses).into_iter().map(|row| format!("{chord}: {row}")));
            }
        }
    }
    Ok(found)
}

/// Everything on the frame that writes a power, or is about one, in no order that matters.
const EVERYWHERE: [&str; 7] = [
    "w-4.25/-0.75x180<enter>p<down><enter>",
    "<tab>w-2.00/-1.25x90<enter>p<down>P<esc>",
    "aj<esc>h-0.25<enter>lj1<esc>=<esc>!<esc>?<esc>",
    "i<down><down><down><down><down><enter>-2.25/-0.50x20<enter><enter>-1.75/-1.00x170<enter><esc>",
    "d<right><right><down><enter><esc>[]fX",
    "v14<enter><tab>3BU<enter>u<tab>S",
    "-3.87x30<enter><esc>-0.62x30<enter><esc>+0.75x30<enter><esc>w-40/-6x45<enter>p<esc>",
];

#[test]
fn with_plus_cylinders_alone_nothing_is_written_in_minus() -> Result<(), Failure> {
    let (plus, minus) = (plus_box()?, demo_box()?);
    let mut wrong = Vec::new();
    for (declared, settings, lenses) in [(&plus, "", true), (&plus, "form: plus", true), (&minus, "form: plus", false)]
    {
        let mut app = screen(declared, settings)?;
        wrong.extend(gathered(&mut app, &EVERYWHERE.concat(), lenses)?);
        for mut person in [short_sighted(), presbyope()] {
            let led = lead(screen(declared, settings)?, &mut person, |_| None)?;
            let keys = format!("{}=<esc><esc>j<esc>i<esc>", led.all_keys());
            wrong.extend(gathered(&mut screen(declared, settings)?, &keys, lenses)?);
        }
        // every procedure that asks one eye about a cylinder, gone through with its first answers
        for procedure in ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0", "a", "b", "d"] {
            let keys = format!("-3<enter><right><right>+1x20<enter>gc{procedure}131112<enter>1111");
            wrong.extend(gathered(&mut screen(declared, settings)?, &keys, lenses)?);
        }
    }
    wrong.sort();
    wrong.dedup();
    assert!(wrong.is_empty(), "{} in minus form:\n{}", wrong.len(), wrong.join("\n"));
    Ok(())
}

/// What the guide says of the cross cylinder is about the cylinder that is written: its handle lies along that axis, and what
/// stands along it is of that sign. A minus cylinder is the plus cylinder across it (transposition: facts of any textbook).
#[test]
fn the_guide_explains_in_the_form_that_is_written() -> Result<(), Failure> {
    let led = lead(screen(&demo_box()?, "")?, &mut short_sighted(), |_| None)?;
    let mut seen = Vec::new();
    for presentation in led.asked.iter().map(|asked| &asked.presentation) {
        let Some(procedure) = presentation.procedure else { continue };
        let (Some(eye), [minus, plus]) = (presentation.eye, [CylinderForm::Minus, CylinderForm::Plus]) else {
            continue;
        };
        let Some(from) = presentation.from[eye] else { continue };
        let said = |form| {
            [&presentation.instruction, &presentation.why]
                .map(|sentence| words::sentence(sentence, form, AcuityNotation::SixMetres))
                .join(" ")
        };
        let axis = |form: CylinderForm| Axis::nearest(form.of(from).axis);
        match procedure {
            ProcedureName::CrossCylinderAxis => {
                assert_ne!(axis(minus), axis(plus));
                for (form, sign) in [(minus, "minus"), (plus, "plus")] {
                    let text = said(form);
                    assert!(text.contains(&format!("handle along {}:", axis(form))), "{text}");
                    assert!(text.contains(&format!("towards the {sign} axis")), "{text}");
                }
            }
            ProcedureName::CrossCylinderPower => {
                // the lens is held alike: its minus axis where a minus cylinder has its own
                assert!(said(minus).contains(&format!("minus axis along {}, then", axis(minus))), "{}", said(minus));
                let along = format!("plus axis along the cylinder and so minus axis at {}, then", axis(minus));
                assert!(said(plus).contains(&along), "{}", said(plus));
                assert!(said(plus).contains("plus along the axis preferred: more cylinder"), "{}", said(plus));
            }
            _ => continue,
        }
        seen.push(procedure);
    }
    assert!(seen.contains(&ProcedureName::CrossCylinderAxis) && seen.contains(&ProcedureName::CrossCylinderPower));
    Ok(())
}

/// What was tried with a lens in the hand is made again of cylinders in the form on the screen, where the box has both signs.
#[test]
fn going_back_stacks_in_the_form_on_the_screen() -> Result<(), Failure> {
    let mut both = demo_box()?;
    let plus = plus_box()?.lines.into_iter().filter(|line| line.lens.is_cylinder());
    both.lines.extend(plus);
    let led = lead(screen(&both, "")?, &mut short_sighted(), |_| None)?;
    let mut there = led.app;
    there.ui.sheet = None;
    press(&mut there, "<esc>X<tab>Xj")?;
    let mut stacked_in_both = 0;
    for eye in Eye::BOTH {
        there.ui.eye = eye;
        let points = there.state().trail.iter().filter(|tried| tried.eye == eye).count();
        for key in "123456789abcdefhijklmnopsvwxz".chars().take(points) {
            let signs = |form| -> Result<Vec<bool>, Failure> {
                let mut back = copy(&there);
                back.ui.form = form;
                press(&mut back, &key.to_string())?;
                let stood = back.state().fitted.in_cells(eye).map(|lens| lens.stocked);
                let cylinders = stood.filter(|stocked| stocked.piece.lens.is_cylinder());
                Ok(cylinders.map(|stocked| stocked.power().0 > 0.0).collect())
            };
            let (minus, plus) = (signs(CylinderForm::Minus)?, signs(CylinderForm::Plus)?);
            let are_of_their_form = minus.iter().all(|is_plus| !is_plus) && plus.iter().all(|is_plus| *is_plus);
            if are_of_their_form && !minus.is_empty() && !plus.is_empty() {
                stacked_in_both += 1;
            }
        }
    }
    assert!(stacked_in_both > 0);
    Ok(())
}

#[test]
fn the_form_follows_settings_box_and_key() -> Result<(), Failure> {
    let (plus, minus) = (plus_box()?, demo_box()?);
    assert_eq!(screen(&minus, "")?.ui.form, CylinderForm::Minus);
    assert_eq!(screen(&minus, "form: plus")?.ui.form, CylinderForm::Plus);
    assert_eq!(screen(&plus, "")?.ui.form, CylinderForm::Plus);
    assert_eq!(screen(&plus, "form: minus")?.ui.form, CylinderForm::Plus);
    let mut app = screen(&plus, "")?;
    press(&mut app, "t")?;
    assert_eq!(app.ui.form, CylinderForm::Minus, "a key writes the other form for the while");
    // spheres alone say nothing; one minus cylinder is enough, wherever it is; what left the set does not count
    let mut spheres = demo_box()?;
    spheres.lines.retain(|line| !line.lens.is_cylinder());
    assert_eq!(Stock::of(&spheres).form_in_use(CylinderForm::Minus), CylinderForm::Minus);
    assert_eq!(Stock::of(&spheres).form_in_use(CylinderForm::Plus), CylinderForm::Plus);
    let mut stock = Stock::of(&plus);
    let one: Lens = "-0.50 cylinder".parse()?;
    stock.change(&BoxChange::Added(one.clone().into()))?;
    assert_eq!(stock.form_in_use(CylinderForm::Minus), CylinderForm::Minus);
    let piece = stock.of_lens(&one).next().ok_or("not added")?.piece.clone();
    stock.change(&BoxChange::Lost(piece.clone()))?;
    assert_eq!(stock.form_in_use(CylinderForm::Minus), CylinderForm::Minus, "a lost lens may be found");
    stock.change(&BoxChange::Found(piece.clone()))?;
    stock.change(&BoxChange::Retired(piece.clone()))?;
    assert_eq!(stock.get(&piece).map(|stocked| &stocked.place), Some(&Place::Retired));
    assert_eq!(stock.form_in_use(CylinderForm::Minus), CylinderForm::Plus);
    Ok(())
}
