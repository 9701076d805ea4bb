//! The reader for lesson files: YAML in, a [`Lesson`] or all its faults out.

use std::path::{Path, PathBuf};

use super::declared::{Lesson, LessonEye, LessonStep};
use crate::kit::document::fault::{most_like, quoted};
use crate::kit::document::name::read_name;
use crate::kit::document::{Faults, Fields, Node, Reader, Refusal};
use crate::optics::bounds;
use crate::practice::cases::shipped::CASES;
use crate::practice::drills::{Drill, Level, Skill};

/// The keys of a lesson file.
pub const LESSON_KEYS: [&str; 5] = ["lesson", "note", "pass_d", "minutes", "steps"];
/// The keys of a step.
pub const STEP_KEYS: [&str; 8] = ["say", "drill", "eye", "drawn", "level", "items", "seed", "minutes"];
/// Those of which each step has one, which says what it is, with those that may stand beside it.
pub const KINDS: [(&str, &[&str]); 4] =
    [("say", &[]), ("drill", &["level", "items"]), ("eye", &["minutes"]), ("drawn", &["seed", "minutes"])];

/// Items of a drill where a lesson does not say how many.
const USUAL_ITEMS: u32 = 10;

const BEGINS: &str = "a lesson file begins with `lesson: NAME` and has `steps:`";
const STEPS: &str = "steps: [{say: Begin with the sum.}, {drill: net}, {eye: simple-myope}]";

/// Reads the text of a lesson file; `file_name` is what faults call it.
///
/// # Errors
/// All faults of the text, each with its place.
pub fn parse_lesson(file_name: &str, text: &str) -> Result<Lesson, Faults> {
    let mut reader = Reader::new(file_name);
    let declared = reader.document(text, BEGINS).and_then(|root| read_root(&mut reader, &root));
    reader.finish(declared)
}

fn read_root(reader: &mut Reader, root: &Node) -> Option<Lesson> {
    if ["case", "box", "frame"].into_iter().any(|other| reader.is_other_kind(root, "lesson", other, BEGINS)) {
        return None;
    }
    let fields = reader.fields(root, "a lesson", &LESSON_KEYS)?;
    let name =
        reader.required(&fields, "lesson", "lesson: first spheres").and_then(|node| read_name(reader, node, "lesson"));
    let note = reader.optional_text(&fields, "note");
    let pass_d = fields.get("pass_d").map(|node| reader.number(node, "pass_d", &bounds::PASS_LINE_D));
    let minutes = read_minutes(reader, &fields);
    let steps = reader.required(&fields, "steps", STEPS).and_then(|node| read_steps(reader, node));
    // a figure that was refused was noted, and the whole is refused for it
    Some(Lesson { name: name?, note, pass_d: pass_d.flatten(), minutes, steps: steps? })
}

fn read_steps(reader: &mut Reader, node: &Node) -> Option<Vec<LessonStep>> {
    let items = reader.items(node, "steps", STEPS)?;
    if items.is_empty() {
        let refusal = Refusal::new("`steps` is empty").allowed(format!("write what comes first, like `{STEPS}`"));
        reader.refuse(node.at, refusal);
        return None;
    }
    // every step is read, so that every fault of every step is found
    let steps: Vec<Option<LessonStep>> = items.iter().map(|item| read_step(reader, item)).collect();
    steps.into_iter().collect()
}

fn read_step(reader: &mut Reader, node: &Node) -> Option<LessonStep> {
    let fields = reader.fields(node, "a step", &STEP_KEYS)?;
    let named: Vec<&(&str, &[&str])> = KINDS.iter().filter(|(kind, _)| fields.get(kind).is_some()).collect();
    let &[(kind, beside)] = named.as_slice() else {
        let what = if named.is_empty() { "a step says nothing of what it is" } else { "a step is two things at once" };
        reader.refuse(node.at, Refusal::new(what).allowed("each step has one of `say`, `drill`, `eye` and `drawn`"));
        return None;
    };
    for key in STEP_KEYS.iter().filter(|key| *key != kind && !beside.contains(key)) {
        if let Some(entry) = fields.entry(key) {
            let refusal = Refusal::new(format!("`{key}` does not belong to `{kind}`"));
            let may = if beside.is_empty() {
                "nothing stands beside it".to_owned()
            } else {
                format!(
                    "beside it may stand {}",
                    beside.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(" and ")
                )
            };
            reader.refuse(entry.key_at, refusal.allowed(may));
        }
    }
    let of = fields.get(kind)?;
    match *kind {
        "say" => reader.text(of, "say").map(LessonStep::Say),
        "drill" => {
            let drill = reader.word(of, "drill", "drill", &drill_words());
            let level = fields.get("level").map_or(Some(Level::One), |node| read_level(reader, node, "level"));
            let items = fields.get("items").map_or(Some(USUAL_ITEMS), |node| {
                reader.number(node, "items", &bounds::DRILL_ITEMS).map(|items| items as u32)
            });
            Some(LessonStep::Drill { skill: Skill { drill: drill?, level: level? }, items: items? })
        }
        "eye" => {
            let (who, minutes) = (read_eye(reader, of), read_minutes(reader, &fields));
            Some(LessonStep::Eye { who: who?, minutes })
        }
        _ => {
            let level = read_level(reader, of, "drawn");
            let seed = fields.get("seed").map(|node| reader.number(node, "seed", &bounds::SEED));
            let minutes = read_minutes(reader, &fields);
            let who = LessonEye::Drawn { level: level?, seed: seed.flatten().map(|seed| seed as u32) };
            Some(LessonStep::Eye { who, minutes })
        }
    }
}

fn read_minutes(reader: &mut Reader, fields: &Fields) -> Option<f64> {
    fields.get("minutes").and_then(|node| reader.number(node, "minutes", &bounds::STATION_MINUTES))
}

fn read_level(reader: &mut Reader, node: &Node, key: &str) -> Option<Level> {
    reader.whole(node, key, &bounds::LEVEL).and_then(Level::numbered)
}

/// The names of the drills.
pub fn drill_words() -> Vec<(&'static str, Drill)> {
    Drill::ALL.iter().map(|&drill| (drill.name(), drill)).collect()
}

/// A case that comes with the program by its name, or a file of the teacher's own.
fn read_eye(reader: &mut Reader, node: &Node) -> Option<LessonEye> {
    let text = reader.text(node, "eye")?;
    let names = CASES.iter().filter_map(|(file, _)| file.strip_suffix(".yaml"));
    if let Some(name) = names.clone().find(|name| *name == text) {
        return Some(LessonEye::Shipped(name));
    }
    if Path::new(&text).extension().is_some_and(|ending| ending == "yaml") {
        return Some(LessonEye::File(PathBuf::from(text)));
    }
    let like = most_like(&text, names).map_or_else(String::new, |like| format!("did you mean `{like}`? "));
    let lists = "`dioptray practice cases` lists them; a case of your own is a file, like `eye: mine.yaml`";
    let refusal = Refusal::new(format!("no case that comes with the program is called {}", quoted(&text)));
    reader.refuse(node.at, refusal.allowed(format!("{like}{lists}")));
    None
}
