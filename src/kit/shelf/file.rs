//! The reader for shelf files: YAML in, a [`DeclaredShelf`] or all its faults out.

use super::declared::{DeclaredShelf, ShelfLine, ShelfPair};
use crate::kit::document::fault::quoted;
use crate::kit::document::name::read_name;
use crate::kit::document::{Faults, Fields, Node, Position, Reader, Refusal};
use crate::kit::lens::{Lens, PoweredKind};
use crate::kit::mark::Mark;
use crate::kit::series::read_series;
use crate::optics::bounds;

/// The keys of a shelf file.
pub const SHELF_KEYS: [&str; 3] = ["shelf", "note", "pairs"];
/// The keys of a line of `pairs`.
pub const PAIR_KEYS: [&str; 4] = ["for", "powers", "centres_mm", "each"];
/// The words for `for`, with whether a pair is for near.
pub const USES: [(&str, bool); 2] = [("distance", false), ("reading", true)];

const BEGINS: &str = "a shelf file begins with `shelf: NAME` and has `pairs:`";
const LINE: &str = "- {for: distance, powers: [\"-0.50 to -3.00 by 0.50\"], centres_mm: [60, 64], each: 6}";

/// Reads the text of a shelf file; `file_name` is what faults call it.
///
/// # Errors
/// All faults of the text, each with its place.
pub fn parse_shelf(file_name: &str, text: &str) -> Result<DeclaredShelf, Faults> {
    let mut reader = Reader::new(file_name);
    let declared = reader.document(text, BEGINS).and_then(|root| read_root(&mut reader, &root));
    reader.finish(declared)
}

fn read_root(reader: &mut Reader, root: &Node) -> Option<DeclaredShelf> {
    if ["box", "frame"].into_iter().any(|other| reader.is_other_kind(root, "shelf", other, BEGINS)) {
        return None;
    }
    let fields = reader.fields(root, "a shelf", &SHELF_KEYS)?;
    let name =
        reader.required(&fields, "shelf", "shelf: School shelf").and_then(|node| read_name(reader, node, "shelf"));
    let note = reader.optional_text(&fields, "note");
    let lines = read_pairs(reader, &fields);
    Some(DeclaredShelf { name: name?, note, lines: lines? })
}

fn read_pairs(reader: &mut Reader, fields: &Fields) -> Option<Vec<ShelfLine>> {
    let node = reader.required(fields, "pairs", "pairs:")?;
    let items = reader.items(node, "pairs", LINE)?;
    if items.is_empty() {
        reader.refuse(node.at, Refusal::new("`pairs` is empty").allowed(format!("add lines like `{LINE}`")));
        return None;
    }
    let mut all = Pairs::default();
    for item in items {
        if let Some(line) = reader.fields(item, "a line of `pairs`", &PAIR_KEYS) {
            all.read_line(reader, &line);
        }
    }
    if all.lines.len() as f64 > bounds::SHELF_KINDS.most {
        let refusal = Refusal::new(format!("this shelf has {} kinds of pair", all.lines.len()));
        reader.refuse(node.at, refusal.allowed(format!("at most {}: is a step right?", bounds::SHELF_KINDS.most)));
    }
    Some(all.lines)
}

/// The kinds read so far, with where each was declared.
#[derive(Default)]
struct Pairs {
    lines: Vec<ShelfLine>,
    declared_at: Vec<Position>,
}

impl Pairs {
    fn read_line(&mut self, reader: &mut Reader, line: &Fields) {
        let near = reader
            .required(line, "for", "for: distance")
            .and_then(|node| reader.word(node, "for", "use of a pair", &USES));
        let powers = read_powers(reader, line, near);
        let centres = read_centres(reader, line);
        let each =
            reader.required(line, "each", "each: 6").and_then(|node| reader.number(node, "each", &bounds::SHELF_EACH));
        let (Some(near), Some(each)) = (near, each) else { return };
        for (at, sphere) in powers {
            for &centres_mm in &centres {
                let pair = ShelfPair { sphere: sphere.dioptres(), near, centres_mm };
                if let Some(before) = self.lines.iter().position(|line| line.pair == pair) {
                    let first = self.declared_at[before].line;
                    let refusal = Refusal::new(format!("{pair} is declared a second time"));
                    reader.refuse(
                        at,
                        refusal.allowed(format!("declare each once and count with `each`; first on line {first}")),
                    );
                    // one fault for an entry, not one for each of its powers
                    break;
                }
                self.lines.push(ShelfLine { pair, pieces: each as u32 });
                self.declared_at.push(at);
            }
        }
    }
}

fn read_powers(reader: &mut Reader, line: &Fields, near: Option<bool>) -> Vec<(Position, Mark)> {
    const EXAMPLE: &str = "powers: [\"-0.50 to -3.00 by 0.50\"]";
    let Some(node) = reader.required(line, "powers", EXAMPLE) else { return Vec::new() };
    let Some(entries) = reader.items(node, "powers", EXAMPLE) else { return Vec::new() };
    if entries.is_empty() {
        reader.refuse(node.at, Refusal::new("`powers` is empty").allowed(format!("write it like `{EXAMPLE}`")));
    }
    let mut spheres = Vec::new();
    for entry in entries {
        let Some(text) = reader.written(entry, "powers") else { continue };
        let marks: Result<Vec<Mark>, Refusal> = read_series(PoweredKind::Sphere, text)
            .map(|lenses| lenses.iter().filter_map(Lens::mark).collect::<Vec<Mark>>());
        match marks.and_then(|marks| sensible(text, &marks, near).map(|()| marks)) {
            Ok(marks) => spheres.extend(marks.into_iter().map(|mark| (entry.at, mark))),
            Err(refusal) => reader.refuse(entry.at, refusal),
        }
    }
    spheres
}

/// Whether pairs of these powers are made beforehand.
fn sensible(entry: &str, marks: &[Mark], near: Option<bool>) -> Result<(), Refusal> {
    if marks.iter().any(|mark| mark.is_plano()) {
        let refusal = Refusal::new(format!("{} has a pair without power", quoted(entry)));
        return Err(refusal.allowed("a pair has plus or minus: begin at the weakest that there is"));
    }
    for mark in marks {
        bounds::SHELF_POWER.check(mark.dioptres()).map_err(|outside| Refusal::new(outside.to_string()))?;
    }
    if near == Some(true) && marks.iter().any(|mark| mark.dioptres() < 0.0) {
        let refusal = Refusal::new(format!("{} has minus for reading", quoted(entry)));
        return Err(refusal.allowed("a reading pair is plus; minus goes to `for: distance`"));
    }
    Ok(())
}

fn read_centres(reader: &mut Reader, line: &Fields) -> Vec<f64> {
    const EXAMPLE: &str = "centres_mm: [60, 64]";
    let Some(node) = reader.required(line, "centres_mm", EXAMPLE) else { return Vec::new() };
    let Some(items) = reader.items(node, "centres_mm", EXAMPLE) else { return Vec::new() };
    if items.is_empty() {
        reader.refuse(node.at, Refusal::new("`centres_mm` is empty").allowed(format!("write it like `{EXAMPLE}`")));
    }
    let mut centres: Vec<f64> = Vec::new();
    for item in items {
        let Some(centre) = reader.number(item, "centres_mm", &bounds::PD_MM) else { continue };
        if centres.contains(&centre) {
            reader
                .refuse(item.at, Refusal::new(format!("{centre} mm is there a second time")).allowed("name each once"));
        } else {
            centres.push(centre);
        }
    }
    centres
}
