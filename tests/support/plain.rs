//! The plain frame and box that tests fill in: what a test is about is then all that it has to say.

use dioptray::frame::{CellSpec, DeclaredFrame};
use dioptray::kit::{DeclaredBox, LensForm, LensLine, Rims};
use dioptray::optics::Millimetres;

/// Four cells 3.5 mm apart, the outer two turning, 12 mm before the eye.
pub fn four_cells() -> DeclaredFrame {
    let cell = |name: &str, gap_mm: f64, turns: bool| CellSpec {
        name: name.to_owned(),
        gap: Millimetres(gap_mm),
        turns,
        ring: None,
    };
    DeclaredFrame {
        name: "Four cells".to_owned(),
        vertex: Millimetres(12.0),
        pd: None,
        axis_marks_deg: 5,
        cells: vec![
            cell("rear", 0.0, false),
            cell("second", 3.5, false),
            cell("front", 3.5, true),
            cell("outer", 3.5, true),
        ],
    }
}

/// A box of these lenses, thin, unmarked and unmeasured, without an `id`.
pub fn box_of(name: &str, lines: Vec<LensLine>) -> DeclaredBox {
    DeclaredBox {
        name: name.to_owned(),
        id: None,
        note: None,
        form: LensForm::Thin,
        rims: Rims::default(),
        lines,
        measured: Vec::new(),
        tray: Vec::new(),
    }
}
