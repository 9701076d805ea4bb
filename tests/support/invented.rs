//! An invented box and frame, shared by the tests of exams and of the logbook.

use dioptray::exam::Opening;
use dioptray::frame::{CellSpec, DeclaredFrame, FittedFrame};
use dioptray::kit::{DeclaredBox, Lens, LensForm, LensLine, Mark, Measured, Piece, Rims, Stock};
use dioptray::optics::Millimetres;

/// A box with every kind of lens, eighths among them, a missing and a mismarked piece.
pub fn declared_box(name: &str) -> DeclaredBox {
    let pair = |lens| LensLine { lens, declared: 2, missing: 0 };
    let quarters = |range: std::ops::RangeInclusive<i32>| range.filter(|q| *q != 0).map(|q| f64::from(q) * 0.25);
    let mut lines: Vec<LensLine> = quarters(-16..=16).map(|power| pair(Lens::Sphere(Mark::nearest(power)))).collect();
    lines.extend([0.12, -0.12, 0.37, -0.37].map(|mark| pair(Lens::Sphere(Mark::nearest(mark)))));
    lines.extend(quarters(-8..=-1).map(|power| pair(Lens::Cylinder(Mark::nearest(power)))));
    lines.extend([1.0, 2.0, 3.0].map(|power| pair(Lens::Prism(Mark::nearest(power)))));
    lines.push(pair(Lens::CrossCylinder(Mark::nearest(0.25))));
    lines.extend(["occluder", "pinhole", "slit"].map(|name| pair(Lens::Accessory(name.into()))));
    lines[0].missing = 1;
    let piece = Piece { lens: Lens::Sphere(Mark::nearest(-3.0)), number: 1 };
    DeclaredBox {
        name: name.to_owned(),
        id: None,
        note: None,
        form: LensForm::Thin,
        rims: Rims::default(),
        lines,
        measured: vec![Measured { piece, power: -2.87, note: Some("mismarked".to_owned()) }],
        tray: Vec::new(),
    }
}

/// Four cells, the outer three turning, the outer two on one ring.
pub fn frame() -> DeclaredFrame {
    let cell = |name: &str, gap, turns, ring: Option<&str>| CellSpec {
        name: name.to_owned(),
        gap: Millimetres(gap),
        turns,
        ring: ring.map(str::to_owned),
    };
    DeclaredFrame {
        name: "Four cells".to_owned(),
        vertex: Millimetres(12.0),
        pd: None,
        axis_marks_deg: 5,
        cells: vec![
            cell("rear", 0.0, false, None),
            cell("second", 3.5, true, None),
            cell("third", 3.1, true, Some("front")),
            cell("outer", 2.9, true, Some("front")),
        ],
    }
}

/// How an exam with this box begins.
pub fn opening(box_name: &str) -> Opening {
    Opening::of(FittedFrame::new(frame(), Stock::of(&declared_box(box_name))))
}
