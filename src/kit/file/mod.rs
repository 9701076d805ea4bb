//! The reader for box files: YAML in, a [`DeclaredBox`] or all its faults out.

mod id_line;
mod keys;
mod lines;
mod pieces;
mod tray;
mod written;

use super::declared::{DeclaredBox, LensForm, Rims};
use super::document::name::{read_id, read_name};
use super::document::{Faults, Node, Reader};
use lines::Lines;

pub use id_line::{with_id, with_name};
pub use keys::{BOX_KEYS, LineKind, MEASURED_KEYS, RIMS_KEYS, TRAY_KEYS, every_key, kind_words};
pub use written::{write_box, write_new_box};

/// The words for `lens_form`.
const LENS_FORMS: [(&str, LensForm); 2] = [("thin", LensForm::Thin), ("additive", LensForm::Additive)];

const BEGINS: &str = "a box file begins with `box: NAME` and has `lenses:`";

/// Reads the text of a box file; `file_name` is what faults call it.
///
/// # Errors
/// All faults of the text, each with its place.
pub fn parse_box(file_name: &str, text: &str) -> Result<DeclaredBox, Faults> {
    let mut reader = Reader::new(file_name);
    let declared = reader.document(text, BEGINS).and_then(|root| read_root(&mut reader, &root));
    reader.finish(declared)
}

fn read_root(reader: &mut Reader, root: &Node) -> Option<DeclaredBox> {
    if reader.is_other_kind(root, "box", "frame", BEGINS) {
        return None;
    }
    let fields = reader.fields(root, "a box", &BOX_KEYS)?;
    let name =
        reader.required(&fields, "box", "box: Hillside outreach").and_then(|node| read_name(reader, node, "box"));
    let id = fields.get("id").map_or(Some(None), |node| read_id(reader, node).map(Some));
    let note = reader.optional_text(&fields, "note");
    let form = fields
        .get("lens_form")
        .map_or(Some(LensForm::default()), |node| reader.word(node, "lens_form", "lens form", &LENS_FORMS));
    let rims = fields.get("rims").map_or(Some(Rims::default()), |node| read_rims(reader, node));
    let mut lines = Lines::read(reader, &fields);
    if let Some(node) = fields.get("missing") {
        lines.read_missing(reader, node);
    }
    let measured = fields.get("measured").map_or_else(Vec::new, |node| lines.read_measured(reader, node));
    let tray = fields.get("tray").map_or_else(Vec::new, |node| lines.read_tray(reader, node));
    Some(DeclaredBox { name: name?, id: id?, note, form: form?, rims: rims?, lines: lines.all, measured, tray })
}

fn read_rims(reader: &mut Reader, node: &Node) -> Option<Rims> {
    let fields = reader.fields(node, "`rims`", &RIMS_KEYS)?;
    Some(Rims { plus: reader.optional_text(&fields, "plus"), minus: reader.optional_text(&fields, "minus") })
}
