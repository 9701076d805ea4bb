//! The reader for frame files: YAML in, a [`DeclaredFrame`] or all its faults out.

use std::collections::HashMap;
use std::path::Path;

use super::declared::{CellSpec, DeclaredFrame, PdRange};
use crate::kit::document::fault::{most_like, quoted};
use crate::kit::document::load::{name_of, read_text};
use crate::kit::document::name::read_name;
use crate::kit::document::{Faults, Fields, Node, Position, Reader, Refusal};
use crate::optics::{Millimetres, bounds};

/// The keys of a frame file.
pub const FRAME_KEYS: [&str; 5] = ["frame", "vertex_mm", "pd_mm", "axis_marks_deg", "cells"];
/// The keys of `pd_mm`.
pub const PD_KEYS: [&str; 2] = ["least", "most"];
/// The keys of an entry of `cells`.
pub const CELL_KEYS: [&str; 4] = ["name", "gap_mm", "turns", "ring"];

const BEGINS: &str = "a frame file begins with `frame: NAME` and has `cells:`";

/// Reads a frame file.
///
/// # Errors
/// All faults of the file, each with its place.
pub fn read_frame(path: &Path) -> Result<DeclaredFrame, Faults> {
    parse_frame(&name_of(path), &read_text(path)?)
}

/// Reads the text of a frame file; `file_name` is what faults call it.
///
/// # Errors
/// All faults of the text, each with its place.
pub fn parse_frame(file_name: &str, text: &str) -> Result<DeclaredFrame, Faults> {
    let mut reader = Reader::new(file_name);
    let declared = reader.document(text, BEGINS).and_then(|root| read_root(&mut reader, &root));
    reader.finish(declared)
}

fn read_root(reader: &mut Reader, root: &Node) -> Option<DeclaredFrame> {
    if reader.is_other_kind(root, "frame", "box", BEGINS) {
        return None;
    }
    let fields = reader.fields(root, "a frame", &FRAME_KEYS)?;
    let name = reader.required(&fields, "frame", "frame: Four-cell").and_then(|node| read_name(reader, node, "frame"));
    let vertex = reader
        .required(&fields, "vertex_mm", "vertex_mm: 12")
        .and_then(|node| reader.number(node, "vertex_mm", &bounds::VERTEX_MM));
    let pd = fields.get("pd_mm").and_then(|node| read_pd(reader, node));
    let axis_marks_deg = match fields.get("axis_marks_deg") {
        Some(node) => read_axis_marks(reader, node),
        None => Some(USUAL_AXIS_MARKS_DEG),
    };
    let cells = read_cells(reader, &fields);
    Some(DeclaredFrame {
        name: name?,
        vertex: Millimetres(vertex?),
        pd,
        axis_marks_deg: axis_marks_deg?,
        cells: cells?,
    })
}

/// Degrees between the marks of a dial that the file says nothing of: common practice, no source. The dial is drawn
/// with it, and half of it is how far an axis may be set off.
const USUAL_AXIS_MARKS_DEG: u8 = 5;

fn read_pd(reader: &mut Reader, node: &Node) -> Option<PdRange> {
    let fields = reader.fields(node, "`pd_mm`", &PD_KEYS)?;
    let mut end = |key, example| {
        let node = reader.required(&fields, key, example)?;
        reader.number(node, key, &bounds::PD_MM)
    };
    let (least, most) = (end("least", "least: 48"), end("most", "most: 80"));
    let (least, most) = (least?, most?);
    if least >= most {
        let refusal = Refusal::new(format!("the least pupillary distance {least} mm is not below the most, {most} mm"));
        reader.refuse(node.at, refusal.allowed("the smaller goes to `least`"));
        return None;
    }
    Some(PdRange { least: Millimetres(least), most: Millimetres(most) })
}

fn read_axis_marks(reader: &mut Reader, node: &Node) -> Option<u8> {
    let degrees = reader.whole(node, "axis_marks_deg", &bounds::AXIS_MARKS)?;
    if 180 % degrees == 0 {
        return Some(degrees);
    }
    let fitting: Vec<String> = (1..=45).filter(|n| 180 % n == 0).map(|n| n.to_string()).collect();
    let refusal = Refusal::new(format!("marks {degrees}° apart do not come out even at 180°"));
    reader.refuse(node.at, refusal.allowed(format!("one of {}", fitting.join(", "))));
    None
}

fn read_cells(reader: &mut Reader, fields: &Fields) -> Option<Vec<CellSpec>> {
    const EXAMPLE: &str = "- {name: rear}";
    let node = reader.required(fields, "cells", "cells:")?;
    let items = reader.items(node, "cells", EXAMPLE)?;
    if items.is_empty() {
        let refusal = Refusal::new("`cells` is empty").allowed(format!("1 to 8 cells like `{EXAMPLE}`"));
        reader.refuse(node.at, refusal);
        return None;
    }
    if let Some(too_many) = items.get(bounds::CELLS.most as usize) {
        let refusal = Refusal::new(format!("this frame has {} cells in front of one eye", items.len()));
        reader.refuse(too_many.at, refusal.allowed("at most 8"));
    }
    let mut cells = Vec::new();
    let mut names: HashMap<String, Position> = HashMap::new();
    let mut rings: Vec<(String, Position)> = Vec::new();
    for (index, item) in items.iter().enumerate() {
        let Some(cell) = reader.fields(item, "a cell", &CELL_KEYS) else {
            continue;
        };
        cells.push(read_cell(reader, &cell, index == 0, &mut names, &mut rings));
    }
    for (ring, at) in &rings {
        if rings.iter().filter(|(other, _)| other == ring).count() == 1 {
            let others = rings.iter().map(|(other, _)| other.as_str()).filter(|other| other != ring);
            let refusal = Refusal::new(format!("no other cell is in the ring {}", quoted(ring)))
                .allowed("a ring joins two or more cells that turn together; a cell that turns alone needs none")
                .perhaps(most_like(ring, others));
            reader.refuse(*at, refusal);
        }
    }
    cells.into_iter().collect()
}

fn read_cell(
    reader: &mut Reader,
    cell: &Fields,
    first: bool,
    names: &mut HashMap<String, Position>,
    rings: &mut Vec<(String, Position)>,
) -> Option<CellSpec> {
    let name_node = reader.required(cell, "name", "name: rear");
    let name = name_node.and_then(|node| read_name(reader, node, "name"));
    if let (Some(node), Some(name)) = (name_node, &name)
        && let Some(before) = names.insert(name.clone(), node.at)
    {
        let refusal = Refusal::new(format!("a second cell has the name {}", quoted(name)));
        reader.refuse(node.at, refusal.allowed(format!("each has its own; the first is on line {}", before.line)));
    }
    let gap = match (first, cell.entry("gap_mm")) {
        (true, None) => Some(0.0),
        (true, Some(entry)) => {
            let refusal = Refusal::new("the first cell has no gap before it");
            reader
                .refuse(entry.key_at, refusal.allowed("leave `gap_mm` out; its distance from the eye is `vertex_mm`"));
            None
        }
        (false, _) => reader
            .required(cell, "gap_mm", "gap_mm: 3.5")
            .and_then(|node| reader.number(node, "gap_mm", &bounds::GAP_MM)),
    };
    let turns = cell.get("turns").map_or(Some(false), |node| reader.boolean(node, "turns"));
    let ring = cell.get("ring").and_then(|node| {
        let ring = reader.text(node, "ring")?;
        rings.push((ring.clone(), node.at));
        if turns == Some(false) {
            let refusal = Refusal::new("a cell of a ring turns with it, but this one does not turn");
            reader.refuse(node.at, refusal.allowed("add `turns: true`, or leave `ring` out"));
        }
        Some(ring)
    });
    Some(CellSpec { name: name?, gap: Millimetres(gap?), turns: turns?, ring })
}
