//! What is typed on the Box screen.

use super::super::super::app::App;
use super::super::super::box_page::BoxPage;
use super::super::super::page::Page;
use super::super::super::request::Request;
use super::super::super::ui::{BoxLine, Ui};
use super::super::decision::Decision;
use super::super::fault::LineFault;
use super::changes::{Without, happens};
use crate::kit::{BoxChange, Lens};
use crate::optics::notation::parse_figure;

/// Whether an empty line says something too.
pub fn takes_empty(line: BoxLine) -> bool {
    match line {
        BoxLine::Damaged => true,
        BoxLine::Place | BoxLine::Lent | BoxLine::Measured | BoxLine::Added => false,
    }
}

/// Does what the line says.
pub fn confirm(app: &App, ui: Ui, line: BoxLine, text: &str) -> Result<Decision, LineFault> {
    let Some(page) = app.ui.box_page() else {
        return Ok(Decision::of(ui));
    };
    match line {
        BoxLine::Place => go_to(page, ui, text),
        BoxLine::Lent => {
            let to = text.to_owned();
            let lent = happens(page, &Without::LENT).map_err(LineFault::plain)?;
            let lent = lent.with(format!("lent to {to}"), |piece| BoxChange::Lent { piece, to: Some(to.clone()) });
            Ok(Decision::of(ui).with_request(lent.noted()))
        }
        BoxLine::Damaged => {
            let damaged = happens(page, &Without::DAMAGED).map_err(LineFault::plain)?;
            Ok(Decision::of(ui).with_request(damaged.noted()))
        }
        BoxLine::Measured => measured(page, ui, text),
        BoxLine::Added => {
            let lens: Lens = text.parse().map_err(|error| LineFault::plain(format!("{error}")))?;
            let said = format!("added: {lens}");
            let request = Request::ChangeBox { changes: vec![BoxChange::Added(lens)], said };
            Ok(Decision::of(ui).with_request(request))
        }
    }
}

/// A measured power, or the word that the pieces were mended.
fn measured(page: &BoxPage, ui: Ui, text: &str) -> Result<Decision, LineFault> {
    if text == "mended" {
        let mended = happens(page, &Without::MENDED).map_err(LineFault::plain)?;
        return Ok(Decision::of(ui).with_request(mended.noted()));
    }
    let measured = happens(page, &Without::MEASURED).map_err(LineFault::plain)?;
    if measured.count() > 1 {
        return Err(LineFault::plain("several pieces are marked, and a measured power is of one"));
    }
    let lens = page.lens().ok_or_else(|| LineFault::plain("no place is chosen"))?;
    if page.marked.is_empty() && page.piece.is_none() && page.pieces().count() > 1 {
        return Err(LineFault::plain(format!("there are several of {lens}: choose which one was measured")));
    }
    let range = lens.power_range().ok_or_else(|| LineFault::plain(format!("{lens} has no power that could be measured")))?;
    let power = parse_figure(text, &range.measured())?;
    let said = format!("measured {power:+.2}");
    let measured = measured.with(said, |piece| BoxChange::Measured { piece, power });
    Ok(Decision::of(ui).with_request(measured.noted()))
}

/// Goes to the place of a lens that is typed as in a stack, without an axis, or by its name.
fn go_to(page: &BoxPage, mut ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let named = |name: &str| page.places().position(|place| place.to_string().starts_with(name));
    let lens = lens_of(text);
    let Some(at) = lens.as_ref().and_then(|lens| page.place_of(lens)).or_else(|| named(text)) else {
        let in_box = &page.now.stock.box_name;
        return Err(LineFault::plain(match lens {
            Some(lens) => format!("{in_box} has no {lens}"),
            None if text.starts_with(|c: char| c.is_ascii_digit()) => {
                format!("`{text}` has no sign: +{text} or -{text}, and a prism is {text}b")
            }
            None => format!("`{text}` is not a place: type a power like -3, -0.75x or 3b, or a name like pinhole"),
        }));
    };
    if let Some(Page::Box(page)) = &mut ui.page {
        page.go_to(at);
    }
    Ok(Decision::of(ui))
}

/// `-3` is a sphere, `-0.75x` a cylinder, `3b` a prism; else it is a label.
fn lens_of(text: &str) -> Option<Lens> {
    let of_kind = |power: &str, kind: &str| format!("{} {kind}", power.trim()).parse().ok();
    let cylinder = text.strip_suffix(['x', 'X', '\u{d7}']).and_then(|power| of_kind(power, "cylinder"));
    let prism = text.strip_suffix(['b', 'B', '\u{394}']).and_then(|power| of_kind(power, "prism"));
    cylinder.or(prism).or_else(|| text.parse().ok()).or_else(|| of_kind(text, "sphere"))
}
