//! The door for frame files: YAML in, a [`DeclaredFrame`] or all its faults out.

use std::collections::HashMap;
use std::path::Path;

use super::declared::{CellSpec, DeclaredFrame, PdRange};
use crate::kit::document::fault::{most_like, quoted};
use crate::kit::document::load::{name_of, read_text};
use crate::kit::document::name::read_name;
use crate::kit::document::{Door, Faults, Fields, Node, Position, Problem};
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
    let mut door = Door::new(file_name);
    let declared = door.document(text, BEGINS).and_then(|root| read_root(&mut door, &root));
    door.finish(declared)
}

fn read_root(door: &mut Door, root: &Node) -> Option<DeclaredFrame> {
    if door.is_other_kind(root, "frame", "box", BEGINS) {
        return None;
    }
    let fields = door.fields(root, "a frame", &FRAME_KEYS)?;
    let name = door.required(&fields, "frame", "frame: Four-cell").and_then(|node| read_name(door, node, "frame"));
    let vertex = door
        .required(&fields, "vertex_mm", "vertex_mm: 12")
        .and_then(|node| door.number(node, "vertex_mm", &bounds::VERTEX_MM));
    let pd = fields.get("pd_mm").and_then(|node| read_pd(door, node));
    let axis_marks_deg = match fields.get("axis_marks_deg") {
        Some(node) => read_axis_marks(door, node),
        None => Some(USUAL_AXIS_MARKS_DEG),
    };
    let cells = read_cells(door, &fields);
    Some(DeclaredFrame {
        name: name?,
        vertex: Millimetres(vertex?),
        pd,
        axis_marks_deg: axis_marks_deg?,
        cells: cells?,
    })
}

/// Degrees between the marks of a dial that the file says nothing of: common practice, no source. Only drawing uses it.
const USUAL_AXIS_MARKS_DEG: u8 = 5;

fn read_pd(door: &mut Door, node: &Node) -> Option<PdRange> {
    let fields = door.fields(node, "`pd_mm`", &PD_KEYS)?;
    let mut end = |key, example| {
        let node = door.required(&fields, key, example)?;
        door.number(node, key, &bounds::PD_MM)
    };
    let (least, most) = (end("least", "least: 48"), end("most", "most: 80"));
    let (least, most) = (least?, most?);
    if least >= most {
        let problem = Problem::new(format!("the least pupillary distance {least} mm is not below the most, {most} mm"));
        door.refuse(node.at, problem.allowed("the smaller goes to `least`"));
        return None;
    }
    Some(PdRange { least: Millimetres(least), most: Millimetres(most) })
}

fn read_axis_marks(door: &mut Door, node: &Node) -> Option<u8> {
    let degrees = door.whole(node, "axis_marks_deg", &bounds::AXIS_MARKS)?;
    if 180 % degrees == 0 {
        return Some(degrees);
    }
    let fitting: Vec<String> = (1..=45).filter(|n| 180 % n == 0).map(|n| n.to_string()).collect();
    let problem = Problem::new(format!("marks {degrees}° apart do not come out even at 180°"));
    door.refuse(node.at, problem.allowed(format!("one of {}", fitting.join(", "))));
    None
}

fn read_cells(door: &mut Door, fields: &Fields) -> Option<Vec<CellSpec>> {
    const EXAMPLE: &str = "- {name: rear}";
    let node = door.required(fields, "cells", "cells:")?;
    let items = door.items(node, "cells", EXAMPLE)?;
    if items.is_empty() {
        let problem = Problem::new("`cells` is empty").allowed(format!("1 to 8 cells like `{EXAMPLE}`"));
        door.refuse(node.at, problem);
        return None;
    }
    if let Some(too_many) = items.get(bounds::CELLS.most as usize) {
        let problem = Problem::new(format!("this frame has {} cells before one eye", items.len()));
        door.refuse(too_many.at, problem.allowed("at most 8"));
    }
    let mut cells = Vec::new();
    let mut names: HashMap<String, Position> = HashMap::new();
    let mut rings: Vec<(String, Position)> = Vec::new();
    for (index, item) in items.iter().enumerate() {
        let Some(cell) = door.fields(item, "a cell", &CELL_KEYS) else {
            continue;
        };
        cells.push(read_cell(door, &cell, index == 0, &mut names, &mut rings));
    }
    for (ring, at) in &rings {
        if rings.iter().filter(|(other, _)| other == ring).count() == 1 {
            let others = rings.iter().map(|(other, _)| other.as_str()).filter(|other| other != ring);
            let problem = Problem::new(format!("no other cell is in the ring {}", quoted(ring)))
                .allowed("a ring joins two or more cells that turn together; a cell that turns alone needs none")
                .perhaps(most_like(ring, others));
            door.refuse(*at, problem);
        }
    }
    cells.into_iter().collect()
}

fn read_cell(
    door: &mut Door,
    cell: &Fields,
    first: bool,
    names: &mut HashMap<String, Position>,
    rings: &mut Vec<(String, Position)>,
) -> Option<CellSpec> {
    let name_node = door.required(cell, "name", "name: rear");
    let name = name_node.and_then(|node| read_name(door, node, "name"));
    if let (Some(node), Some(name)) = (name_node, &name)
        && let Some(before) = names.insert(name.clone(), node.at)
    {
        let problem = Problem::new(format!("a second cell has the name {}", quoted(name)));
        door.refuse(node.at, problem.allowed(format!("each has its own; the first is on line {}", before.line)));
    }
    let gap = match (first, cell.entry("gap_mm")) {
        (true, None) => Some(0.0),
        (true, Some(entry)) => {
            let problem = Problem::new("the first cell has no gap before it");
            door.refuse(entry.key_at, problem.allowed("leave `gap_mm` out; its distance from the eye is `vertex_mm`"));
            None
        }
        (false, _) => {
            door.required(cell, "gap_mm", "gap_mm: 3.5").and_then(|node| door.number(node, "gap_mm", &bounds::GAP_MM))
        }
    };
    let turns = cell.get("turns").map_or(Some(false), |node| door.boolean(node, "turns"));
    let ring = cell.get("ring").and_then(|node| {
        let ring = door.text(node, "ring")?;
        rings.push((ring.clone(), node.at));
        if turns == Some(false) {
            let problem = Problem::new("a cell of a ring turns with it, but this one does not turn");
            door.refuse(node.at, problem.allowed("add `turns: true`, or leave `ring` out"));
        }
        Some(ring)
    });
    Some(CellSpec { name: name?, gap: Millimetres(gap?), turns: turns?, ring })
}
