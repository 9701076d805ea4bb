//! What is in the cells and the hand in words, and what is special about a piece.

use super::super::app::App;
use super::super::spot::Spot;
use super::super::words;
use crate::kit::{Lens, Rims, StockedPiece};
use crate::optics::Eye;

/// What is in the cells and the hand, a line each.
pub fn in_words(app: &App, eye: Eye) -> Vec<String> {
    let fitted = &app.state().fitted;
    let cells = fitted.frame.cell_numbers().filter_map(|cell| {
        let there = fitted.in_cell(eye, cell)?;
        let lens = words::lens(&there.stocked.piece.lens, there.direction.degrees(), eye);
        Some(format!("{}: {lens}", words::place(eye, Spot::Cell(cell))))
    });
    let held = fitted.held(eye).map(|held| {
        let lens = words::lens(&held.stocked.piece.lens, held.direction.degrees(), eye);
        format!("held in front of the {eye} eye: {lens}")
    });
    cells.chain(held).collect()
}

/// What is special about a piece: how its rim is marked, its measured power, damage.
pub fn remarks(stocked: &StockedPiece, rims: &Rims) -> String {
    // taken apart, so that whatever else is known of a piece is remarked here or left out on purpose
    let StockedPiece { piece, place: _, damaged, measured } = stocked;
    let mut remarks = Vec::new();
    remarks.extend(measured.map(|power| format!("measured {}", words::dioptres(power))));
    remarks.extend(damaged.then(|| "damaged".to_owned()));
    remarks.extend(rim(&piece.lens, rims));
    remarks.join(", ")
}

/// The word for the rim of a lens, where the box marks its rims.
pub fn rim(lens: &Lens, rims: &Rims) -> Option<String> {
    let word = match lens {
        Lens::Sphere(mark) | Lens::Cylinder(mark) if mark.dioptres() > 0.0 => rims.plus.as_ref(),
        Lens::Sphere(mark) | Lens::Cylinder(mark) if mark.dioptres() < 0.0 => rims.minus.as_ref(),
        Lens::Sphere(_) | Lens::Cylinder(_) | Lens::Prism(_) | Lens::CrossCylinder(_) | Lens::Accessory(_) => None,
    };
    word.map(|word| format!("{word} rim"))
}
