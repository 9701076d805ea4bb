//! Lenses, powers and places in words, as every panel and message writes them.

use super::spot::Spot;
use crate::exam::{ProcedureName, Sentence};
use crate::frame::{FittedFrame, Move};
use crate::kit::{Lens, Piece};
use crate::optics::notation::{LensToken, Style, write_lens, write_power, write_prescription};
use crate::optics::{Acuity, AcuityNotation, Axis, Base, CylinderForm, Eye, Power, Prism, PrismPart};

/// Half of the last place that is written: below it a cylinder or a prism is written as none.
const WRITTEN_WITHIN: f64 = 0.005;

/// A power as a prescription is written.
pub fn power(power: Power, form: CylinderForm) -> String {
    if power.is_finite() { write_prescription(form.of(power), Style::Ascii) } else { "no power".to_owned() }
}

/// An acuity in a notation: `6/12-2`.
pub fn acuity(acuity: Acuity, notation: AcuityNotation) -> String {
    acuity.write(notation, Style::Ascii)
}

/// An acuity where there is little room: `0.30-2`, `70`, in a notation that is the same for all of them.
pub fn acuity_in_short(acuity: Acuity, notation: AcuityNotation) -> String {
    acuity.write_short(notation, Style::Ascii)
}

/// An acuity, and what the chart said where that stood elsewhere than its figures say: `6/24 (chart: 6/12)`.
pub fn acuity_and_chart(read: Acuity, notation: AcuityNotation) -> String {
    let written = acuity(read, notation);
    match read.on_chart() {
        None => written,
        Some((line, _)) => format!("{written} (chart: {})", acuity(line, notation)),
    }
}

/// A sentence, its powers in the cylinder form and its acuities in the notation that the person chose.
pub fn sentence(sentence: &Sentence, form: CylinderForm, notation: AcuityNotation) -> String {
    sentence.write(Style::Ascii, form, notation)
}

/// A procedure and the eye that it is about; the eye first, so that it is never cut off.
pub fn procedure(procedure: ProcedureName, eye: Option<Eye>) -> String {
    eye.map_or_else(|| procedure.to_string(), |eye| format!("{eye}: {procedure}"))
}

/// One number in dioptres, with its sign.
pub fn dioptres(value: f64) -> String {
    write_power(value, Style::Ascii)
}

/// Whether a cylinder of this power is written at all.
pub fn is_written(value: f64) -> bool {
    value.abs() >= WRITTEN_WITHIN
}

/// One number in dioptres in figures alone: 0.00 where others would write a word, with a space in place of the sign.
pub fn figures(value: f64) -> String {
    if is_written(value) { dioptres(value) } else { " 0.00".to_owned() }
}

/// A lens with the direction it is turned to: `-4.25`, `-0.75x180`, `3BU`, `±0.25x90`, `pinhole`.
pub fn lens(lens: &Lens, direction: Option<u16>, eye: Eye) -> String {
    let direction_deg = direction.unwrap_or(180);
    match lens {
        Lens::Sphere(mark) => write_lens(&LensToken::Sphere(mark.dioptres()), Style::Ascii),
        Lens::Cylinder(mark) => {
            let axis = Axis::folded(i32::from(direction_deg));
            write_lens(&LensToken::Cylinder { power: mark.dioptres(), axis }, Style::Ascii)
        }
        Lens::Prism(mark) => {
            let base = Base::at(direction_deg, eye);
            write_lens(&LensToken::Prism { amount: mark.dioptres(), base }, Style::Ascii)
        }
        Lens::CrossCylinder(mark) => format!("±{}x{}", mark.unsigned(), Axis::folded(i32::from(direction_deg))),
        Lens::Accessory(name) if lens.has_direction() => format!("{name} x{}", Axis::folded(i32::from(direction_deg))),
        Lens::Accessory(name) => name.to_string(),
    }
}

/// A part of a net prism below this many prism dioptres is not shown.
const LEAST_PRISM_SHOWN: f64 = 0.05;

/// A net prism in its two parts: `0.2 in 1.0 up`; `none`.
pub fn prism(prism: Prism, eye: Eye) -> String {
    let parts = PrismPart::of(prism, eye, LEAST_PRISM_SHOWN);
    if parts.is_empty() {
        return "none".to_owned();
    }
    parts.iter().map(|part| format!("{:.1} {}", part.amount, part.base)).collect::<Vec<_>>().join(" ")
}

/// What else is before an eye while moves are made, so that no lens is taken for another.
#[derive(Debug, Clone, Copy)]
pub struct Around<'a> {
    /// What stands there before or after the moves.
    pub fitted: &'a FittedFrame,
    /// All the moves.
    pub moves: &'a [Move],
}

impl Around<'_> {
    /// A lens that is to be found before an eye: by its mark, however it is turned, and by its kind where one of another kind has the
    /// same mark.
    fn named(&self, lens: &Lens, eye: Eye) -> String {
        let standing = self.fitted.in_cells(eye).map(|there| &there.stocked.piece);
        let held = self.fitted.held(eye).map(|held| &held.stocked.piece);
        let moved = self.moves.iter().filter(|step| step.eye() == eye).filter_map(Move::piece);
        let mark = mark_alone(lens);
        let alike = |piece: &Piece| piece.lens != *lens && mark_alone(&piece.lens) == mark;
        if standing.chain(held).chain(moved).any(alike) { format!("the {lens}") } else { mark }
    }
}

/// A movement of the hand: `take -4.00 from 1`, `take the -0.75 cylinder from 3`, `put -0.75x180 in 3`.
pub fn movement(step: &Move, around: &Around<'_>) -> String {
    let eye = step.eye();
    match step {
        Move::Put { piece, cell, direction, .. } => format!("put {} in {cell}", lens(&piece.lens, *direction, eye)),
        Move::Take { piece, cell, .. } => format!("take {} from {cell}", around.named(&piece.lens, eye)),
        Move::Turn { cell, direction, .. } => format!("turn {cell} to {direction}"),
        Move::Hold { piece, direction, .. } => format!("hold {}", lens(&piece.lens, *direction, eye)),
        Move::Lay { piece, .. } => format!("put {} back", around.named(&piece.lens, eye)),
    }
}

/// Movements in order, one phrase each, an eye named where it changes; never when all are before the eye `meant`.
pub fn movements(moves: &[Move], meant: Option<Eye>, around: &Around<'_>) -> Vec<String> {
    let named = moves.iter().any(|step| Some(step.eye()) != meant);
    let mut named_last = None;
    moves
        .iter()
        .map(|step| {
            let changes = named_last.replace(step.eye()) != Some(step.eye());
            let words = movement(step, around);
            if named && changes { format!("{}: {words}", step.eye()) } else { words }
        })
        .collect()
}

/// A lens that is to be found by its mark, however it is turned.
fn mark_alone(lens: &Lens) -> String {
    match lens {
        Lens::Sphere(mark) | Lens::Cylinder(mark) => mark.to_string(),
        Lens::CrossCylinder(mark) => format!("±{}", mark.unsigned()),
        Lens::Prism(_) | Lens::Accessory(_) => lens.to_string(),
    }
}

/// A place before an eye: `right 1`, `the hand before the right eye`.
pub fn place(eye: Eye, spot: Spot) -> String {
    match spot {
        Spot::Cell(cell) => format!("{eye} {cell}"),
        Spot::Hand => format!("the hand in front of the {eye} eye"),
    }
}
