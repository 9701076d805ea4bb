//! The reader for case files: YAML in, a [`Case`] or all its faults out.

use super::declared::Case;
use crate::exam::Complaint;
use crate::exam::prescription::may_be_written;
use crate::kit::document::fault::{choice, quoted};
use crate::kit::document::name::read_name;
use crate::kit::document::tree::Value;
use crate::kit::document::{Faults, Fields, Node, Reader, Refusal};
use crate::optics::acuity::LETTER_LOG_MAR;
use crate::optics::bounds::{self, Range};
use crate::optics::notation::parse_prescription;
use crate::optics::{Acuity, AcuityNotation, Eyes, Power};
use crate::practice::care::{Care, Traits};
use crate::practice::law::Law;
use crate::practice::people::{Habit, Person, Room, complaint};

/// The keys of a case file.
pub const CASE_KEYS: [&str; 16] = [
    "case",
    "note",
    "age",
    "right",
    "left",
    "complaint",
    "care",
    "law",
    "habit",
    "reading_letters",
    "tone_d",
    "pd_mm",
    "frame_pd_mm",
    "chart_m",
    "near_m",
    "working_m",
];
/// The keys of `right` and `left`.
pub const EYE_KEYS: [&str; 2] = ["needs", "best"];
/// The keys of `pd_mm` and `frame_pd_mm`.
pub const PD_KEYS: [&str; 2] = ["right", "left"];

/// The words for `complaint`.
pub const COMPLAINTS: [(&str, Complaint); 4] = [
    ("far", Complaint::FarBlur),
    ("near", Complaint::NearOnly),
    ("everywhere", Complaint::BlurEverywhere),
    ("nothing", Complaint::Nothing),
];
/// The words for `habit`.
pub const HABITS: [(&str, Habit); 2] = [("answers", Habit::Answers), ("always better", Habit::AlwaysBetter)];

const BEGINS: &str = "a case file begins with `case: NAME` and has `age:`, `right:` and `left:`";

/// Reads the text of a case file; `file_name` is what faults call it.
///
/// # Errors
/// All faults of the text, each with its place.
pub fn parse_case(file_name: &str, text: &str) -> Result<Case, Faults> {
    let mut reader = Reader::new(file_name);
    let declared = reader.document(text, BEGINS).and_then(|root| read_root(&mut reader, &root));
    reader.finish(declared)
}

/// The words for `care`: a case is one person, so not the care by which each differs.
pub fn care_words() -> Vec<(&'static str, Traits)> {
    Care::ALL.iter().filter_map(|&care| Some((care.name(), Traits::shared(care)?))).collect()
}

/// The words for `law`.
pub fn law_words() -> Vec<(&'static str, Law)> {
    Law::ALL.iter().map(|&law| (law.name(), law)).collect()
}

fn read_root(reader: &mut Reader, root: &Node) -> Option<Case> {
    if ["box", "frame", "lesson"].into_iter().any(|other| reader.is_other_kind(root, "case", other, BEGINS)) {
        return None;
    }
    let fields = reader.fields(root, "a case", &CASE_KEYS)?;
    let name = reader.required(&fields, "case", "case: simple-myope").and_then(|node| read_name(reader, node, "case"));
    let note = reader.optional_text(&fields, "note");
    let age = reader.required(&fields, "age", "age: 24").and_then(|node| reader.whole(node, "age", &bounds::AGE_YEARS));
    let (right, left) = (read_eye(reader, &fields, "right"), read_eye(reader, &fields, "left"));
    let traits = read_traits(reader, &fields);
    let law = optional(&fields, "law", Law::default(), |node| reader.word(node, "law", "law", &law_words()));
    let habit = optional(&fields, "habit", Habit::default(), |node| reader.word(node, "habit", "habit", &HABITS));
    let tone = read_tone(reader, &fields, law);
    let said =
        optional(&fields, "complaint", None, |node| reader.word(node, "complaint", "complaint", &COMPLAINTS).map(Some));
    let eye_pd = optional(&fields, "pd_mm", None, |node| read_pds(reader, node, "`pd_mm`").map(Some));
    let frame_pd = optional(&fields, "frame_pd_mm", None, |node| read_pds(reader, node, "`frame_pd_mm`").map(Some));
    let room = read_room(reader, &fields);

    let (needs, best) = (Eyes::new(right?, left?).map(|eye| eye.needs), Eyes::new(right?, left?).map(|eye| eye.best));
    let law = law?;
    let mut person = Person::new(needs, age?, traits?.under(law), law);
    for (eye, best) in best.iter() {
        person.eyes[eye].best_log_mar = best.unwrap_or(person.eyes[eye].best_log_mar);
    }
    // what is complained of follows from what the eyes see at their best
    person.complaint = said?.unwrap_or_else(|| complaint(&person.eyes));
    person.habit = habit?;
    person.tone_d = tone?;
    person.eye_pd_mm = eye_pd?.unwrap_or(person.eye_pd_mm);
    person.frame_pd_mm = frame_pd?.map_or(person.frame_pd_mm, |set| set.map(Some));
    person.room = room?;
    Some(Case { name: name?, note, person })
}

/// The value of a key, or what holds without it; `None` where its value was refused.
fn optional<T>(fields: &Fields, key: &str, without: T, read: impl FnOnce(&Node) -> Option<T>) -> Option<T> {
    fields.get(key).map_or(Some(without), read)
}

/// One eye as it is declared.
#[derive(Clone, Copy)]
struct DeclaredEye {
    needs: Power,
    best: Option<f64>,
}

fn read_eye(reader: &mut Reader, fields: &Fields, key: &'static str) -> Option<DeclaredEye> {
    let of = if key == "right" { "`right`" } else { "`left`" };
    let node = reader.required(fields, key, &format!("{key}: {{needs: -4.25/-0.75x180, best: 6/5}}"))?;
    let fields = reader.fields(node, of, &EYE_KEYS)?;
    let needs = reader.required(&fields, "needs", "needs: -4.25/-0.75x180").and_then(|node| read_needs(reader, node));
    let best = optional(&fields, "best", None, |node| read_best(reader, node).map(Some));
    Some(DeclaredEye { needs: needs?, best: best? })
}

fn read_needs(reader: &mut Reader, node: &Node) -> Option<Power> {
    let needs = reader.notation(node, "needs", parse_prescription, "-4.25/-0.75x180")?;
    if !may_be_written(needs) {
        let refusal = Refusal::new("`needs`: sphere and cylinder together are beyond 40 D in one meridian");
        reader.refuse(node.at, refusal.allowed(format!("each meridian is from {}", bounds::POWER)));
        return None;
    }
    Some(needs.power())
}

/// The best log MAR of an eye.
fn read_best(reader: &mut Reader, node: &Node) -> Option<f64> {
    // a file says the same on every machine: a bare number is a decimal in all of them
    let read = |text: &str| Acuity::read(text, AcuityNotation::Decimal, None);
    let best = reader.notation(node, "best", read, "6/5")?;
    let log_mar = best.log_mar();
    if let Some(refusal) = best.denominator_6_m().and_then(|figure| bounds::DENOMINATOR_6_M.check(figure).err()) {
        reader.refuse(node.at, Refusal::new(format!("`best`: {refusal}")));
        return None;
    }
    if log_mar.is_none() {
        let refusal = Refusal::new("`best`: an eye that reads no letter cannot be refracted");
        reader.refuse(node.at, refusal.allowed("write the best acuity with lenses, like `best: 6/60`"));
    }
    log_mar
}

fn read_traits(reader: &mut Reader, fields: &Fields) -> Option<Traits> {
    let traits = optional(fields, "care", Traits::TYPICAL, |node| read_care(reader, node));
    let letters = optional(fields, "reading_letters", None, |node| {
        reader.number(node, "reading_letters", &bounds::READING_LETTERS).map(Some)
    });
    let (traits, letters) = (traits?, letters?);
    let reading_log_mar = letters.map_or(traits.reading_log_mar, |letters| letters * LETTER_LOG_MAR);
    Some(Traits { reading_log_mar, ..traits })
}

fn read_care(reader: &mut Reader, node: &Node) -> Option<Traits> {
    let words = care_words();
    if let Value::Scalar { text, .. } = &node.value
        && Care::named(text).is_some_and(|care| Traits::shared(care).is_none())
    {
        let names: Vec<&str> = words.iter().map(|(name, _)| *name).collect();
        let refusal = Refusal::new(format!("a case is one person, and with the care {} each is another", quoted(text)));
        reader.refuse(node.at, refusal.allowed(choice(&names)));
        return None;
    }
    reader.word(node, "care", "care", &words)
}

/// Accommodation that is not relaxed. The law that is about it says how much: it is drawn where people are drawn.
fn read_tone(reader: &mut Reader, fields: &Fields, law: Option<Law>) -> Option<f64> {
    if let (Some(node), Some(Law::Tone), None) = (fields.get("law"), law, fields.get("tone_d")) {
        let refusal =
            Refusal::new("the law `tone` is about accommodation that is not relaxed, and nothing says how much");
        reader.refuse(node.at, refusal.allowed("add it, like `tone_d: 0.75`"));
        return None;
    }
    optional(fields, "tone_d", 0.0, |node| reader.number(node, "tone_d", &bounds::TONE_D))
}

fn read_pds(reader: &mut Reader, node: &Node, of: &'static str) -> Option<Eyes<f64>> {
    let fields = reader.fields(node, of, &PD_KEYS)?;
    let mut pd = |key: &str, example| {
        let node = reader.required(&fields, key, example)?;
        reader.number(node, key, &bounds::MONOCULAR_PD_MM)
    };
    let (right, left) = (pd("right", "right: 31.5"), pd("left", "left: 31.5"));
    Some(Eyes::new(right?, left?))
}

fn read_room(reader: &mut Reader, fields: &Fields) -> Option<Room> {
    let mut metres = |key, row: &Range, usual| optional(fields, key, usual, |node| reader.number(node, key, row));
    let chart = metres("chart_m", &bounds::CHART_M, Room::USUAL.chart_m);
    let near = metres("near_m", &bounds::NEAR_M, Room::USUAL.near_m);
    let working = metres("working_m", &bounds::WORKING_M, Room::USUAL.working_m);
    Some(Room { chart_m: chart?, near_m: near?, working_m: working? })
}
