//! A frame file as it is written.

use std::fmt::Write as _;

use super::declared::{CellSpec, DeclaredFrame};

/// The text of a file that declares this frame.
pub fn write_frame(frame: &DeclaredFrame) -> String {
    let mut text = format!("frame: {}\nvertex_mm: {}\n", quoted(&frame.name), frame.vertex.0);
    if let Some(pd) = &frame.pd {
        let _ = writeln!(text, "pd_mm: {{least: {}, most: {}}}", pd.least.0, pd.most.0);
    }
    let _ = writeln!(text, "axis_marks_deg: {}\ncells:", frame.axis_marks_deg);
    for (at, cell) in frame.cells.iter().enumerate() {
        let CellSpec { name, gap, turns, ring } = cell;
        let gap = if at == 0 { String::new() } else { format!(", gap_mm: {}", gap.0) };
        let turns = if *turns { ", turns: true" } else { "" };
        let ring = ring.as_ref().map(|ring| format!(", ring: {}", quoted(ring))).unwrap_or_default();
        let _ = writeln!(text, "  - {{name: {}{gap}{turns}{ring}}}", quoted(name));
    }
    text
}

/// A text in quotes, as YAML reads it.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}
