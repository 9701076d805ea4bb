//! The name in the row of every variant of everything that is kept, by exhaustive matches.
//!
//! Structures are taken apart field by field, so that a new field does not compile here until it is named either.

use dioptray::exam::{
    Accepted, AcuityNote, Answer, Complaint, Detail, EarlierRetinoscopy, Event, Given, GuideEvent, Judgement, Opening,
    ProcedureName, Shown, Through, Tried,
};
use dioptray::frame::{FittedFrame, Move};
use dioptray::kit::{Accessory, BoxChange, Lens, LensForm, Mark, Piece, Place, Stock, StockedPiece};
use dioptray::optics::{Acuity, Eye, Eyes};
use serde::Serialize;
use serde_json::Value;

/// A kept type and the name of one of its variants in the row.
pub type Word = (&'static str, &'static str);

/// Something that is kept.
pub trait Kept {
    /// Adds the names of the variants in it.
    fn add_words(&self, found: &mut Vec<Word>);
}

/// For each enum its variants, the name of each in the row, and what of it is looked into for further names.
macro_rules! kept_enums {
    ($($kept:ident { $($variant:pat => $word:literal $([$($inner:ident),+])?,)+ })+) => {
        /// Every name of every variant.
        pub const LISTED: &[Word] = &[$($((stringify!($kept), $word)),+),+];

        $(impl Kept for $kept {
            fn add_words(&self, found: &mut Vec<Word>) {
                match self {
                    $($variant => {
                        found.push((stringify!($kept), $word));
                        $($($inner.add_words(found);)+)?
                    })+
                }
            }
        })+
    };
}

kept_enums! {
    Event {
        Event::Detail(detail) => "detail" [detail],
        Event::Moved(step) => "moved" [step],
        Event::Wanted(eye, _) => "wanted" [eye],
        Event::Acuity(note) => "acuity" [note],
        Event::Tried(tried) => "tried" [tried],
        Event::Guide(event) => "guide" [event],
        Event::Accepted(accepted) => "accepted" [accepted],
        Event::Note(_) => "note",
        Event::Finished => "finished",
        Event::Amended(_) => "amended",
        Event::Undone => "undone",
        Event::Redone => "redone",
    }
    Detail {
        Detail::Label(_) => "label",
        Detail::AgeYears(_) => "age_years",
        Detail::Complaint(complaint) => "complaint" [complaint],
        Detail::EyePd(eye, _) => "eye_pd" [eye],
        Detail::FramePd(eye, _) => "frame_pd" [eye],
        Detail::PlannedVertex(_) => "planned_vertex",
        Detail::ChartMetres(_) => "chart_metres",
        Detail::NearMetres(_) => "near_metres",
        Detail::WorkingMetres(_) => "working_metres",
        Detail::OldGlasses(eye, _) => "old_glasses" [eye],
        Detail::OldAddition(_) => "old_addition",
        Detail::DominantEye(eye) => "dominant_eye" [eye],
        Detail::EarlierRetinoscopy(EarlierRetinoscopy { eyes: _, differs: _, spread: _ }) => "earlier_retinoscopy",
    }
    Complaint {
        Complaint::FarBlur => "far_blur",
        Complaint::BlurEverywhere => "blur_everywhere",
        Complaint::NearOnly => "near_only",
        Complaint::Nothing => "nothing",
    }
    Through {
        Through::Unaided => "unaided",
        Through::Pinhole => "pinhole",
        Through::OldGlasses => "old_glasses",
        Through::Frame => "frame",
    }
    Accepted {
        Accepted::Refraction(eye, _) => "refraction" [eye],
        Accepted::Retinoscopy(eye, _) => "retinoscopy" [eye],
        Accepted::ChartAllowance(_) => "chart_allowance",
        Accepted::Addition(_) => "addition",
        Accepted::Prism(eye, _) => "prism" [eye],
    }
    Judgement {
        Judgement::Better => "better",
        Judgement::Same => "same",
        Judgement::Worse => "worse",
    }
    GuideEvent {
        GuideEvent::Began { procedure, eye, given } => "began" [procedure, eye, given],
        GuideEvent::TakenOver(_) => "taken_over",
        GuideEvent::SetOut(Shown { from: _, to: _, cells: _ }) => "set_out",
        GuideEvent::Answered { answer, shown: Shown { from: _, to: _, cells: _ } } => "answered" [answer],
        GuideEvent::Skipped { no_lens: _ } => "skipped",
        GuideEvent::Repeated => "repeated",
        GuideEvent::Left => "left",
        GuideEvent::ProceduresChanged { version: _ } => "procedures_changed",
    }
    ProcedureName {
        ProcedureName::SetUp => "set_up",
        ProcedureName::FirstLens => "first_lens",
        ProcedureName::BestSphere => "best_sphere",
        ProcedureName::OverMinusCheck => "over_minus_check",
        ProcedureName::Fan => "fan",
        ProcedureName::CrossCylinderSearch => "cross_cylinder_search",
        ProcedureName::Slit => "slit",
        ProcedureName::CrossCylinderAxis => "cross_cylinder_axis",
        ProcedureName::CrossCylinderPower => "cross_cylinder_power",
        ProcedureName::FinalSphere => "final_sphere",
        ProcedureName::Balance => "balance",
        ProcedureName::Near => "near",
        ProcedureName::Retinoscopy => "retinoscopy",
        ProcedureName::Writing => "writing",
    }
    Answer {
        Answer::Clearer => "clearer",
        Answer::Same => "same",
        Answer::Worse => "worse",
        Answer::Yes => "yes",
        Answer::No => "no",
        Answer::First => "first",
        Answer::Second => "second",
        Answer::Read(acuity) => "read" [acuity],
        Answer::HalfHours(_) => "half_hours",
        Answer::TwoLines => "two_lines",
        Answer::Across => "across",
        Answer::Degrees(_) => "degrees",
        Answer::Centimetres(_) => "centimetres",
        Answer::Metres(_) => "metres",
        Answer::Millimetres(_) => "millimetres",
        Answer::Years(_) => "years",
        Answer::Says(complaint) => "says" [complaint],
        Answer::With { dull: _ } => "with",
        Answer::Against { dull: _ } => "against",
        Answer::Neither => "neither",
        Answer::Breaks => "breaks",
        Answer::Done => "done",
        Answer::Go { procedure, eye } => "go" [procedure, eye],
    }
    Move {
        Move::Put { piece, eye, cell: _, direction: _ } => "put" [piece, eye],
        Move::Take { piece, eye, cell: _ } => "take" [piece, eye],
        Move::Turn { eye, cell: _, direction: _ } => "turn" [eye],
        Move::Hold { piece, eye, direction: _ } => "hold" [piece, eye],
        Move::Lay { piece, eye } => "lay" [piece, eye],
    }
    Eye {
        Eye::Right => "right",
        Eye::Left => "left",
    }
    Acuity {
        Acuity::Line { mar: _, letters: _ } => "line",
        Acuity::NoLetter => "no_letter",
    }
    Lens {
        Lens::Sphere(mark) => "sphere" [mark],
        Lens::Cylinder(mark) => "cylinder" [mark],
        Lens::Prism(mark) => "prism" [mark],
        Lens::CrossCylinder(mark) => "cross cylinder" [mark],
        Lens::Accessory(accessory) => "accessory" [accessory],
    }
    Accessory {
        Accessory::Occluder => "occluder",
        Accessory::Pinhole => "pinhole",
        Accessory::Slit => "slit",
        Accessory::MaddoxRod => "maddox rod",
        Accessory::Red => "red",
        Accessory::Green => "green",
        Accessory::CrossLines => "cross lines",
        Accessory::Frosted => "frosted",
        Accessory::Flipper => "flipper",
        Accessory::Other { name: _, covers: _, turns: _ } => "other",
    }
    LensForm {
        LensForm::Thin => "thin",
        LensForm::Additive => "additive",
    }
    Place {
        Place::Box => "box",
        Place::Cell { eye, cell: _ } => "cell" [eye],
        Place::Hand { eye } => "hand" [eye],
        Place::Lost => "lost",
        Place::Lent { to: _ } => "lent",
        Place::Retired => "retired",
    }
    BoxChange {
        BoxChange::Lost(piece) => "lost" [piece],
        BoxChange::Found(piece) => "found" [piece],
        BoxChange::Lent { piece, to: _ } => "lent" [piece],
        BoxChange::Returned(piece) => "returned" [piece],
        BoxChange::Damaged(piece) => "damaged" [piece],
        BoxChange::Mended(piece) => "mended" [piece],
        BoxChange::Measured { piece, power: _ } => "measured" [piece],
        BoxChange::Added(lens) => "added" [lens],
        BoxChange::Retired(piece) => "retired" [piece],
    }
}

/// For each struct all its fields, and which of them are looked into for further names.
macro_rules! kept_structs {
    ($($kept:ident { $($field:ident),+ $(; $($plain:ident),+)? })+) => {
        /// Every field of every structure.
        pub const FIELDS: &[Word] = &[$($((stringify!($kept), stringify!($field)),)+ $($((stringify!($kept), stringify!($plain)),)+)?)+];

        $(impl Kept for $kept {
            fn add_words(&self, found: &mut Vec<Word>) {
                let Self { $($field,)+ $($($plain,)+)? } = self;
                $($field.add_words(found);)+
                $(found.extend(holds($field).then_some((stringify!($kept), stringify!($field))));)+
                $($(found.extend(holds($plain).then_some((stringify!($kept), stringify!($plain))));)+)?
            }
        })+
    };
}

/// Whether a field has something in it, so that its line pins how that is written.
fn holds(field: &impl Serialize) -> bool {
    fn is_something(value: &Value) -> bool {
        match value {
            Value::Null => false,
            Value::Array(list) => list.iter().any(is_something),
            Value::Bool(_) | Value::Number(_) | Value::String(_) | Value::Object(_) => true,
        }
    }
    serde_json::to_value(field).is_ok_and(|value| is_something(&value))
}

kept_structs! {
    Opening { fitted }
    StockedPiece { piece, place; damaged, measured }
    Piece { lens; number }
    AcuityNote { eye, through, acuity }
    Tried { eye, acuity, judgement; power, kept }
    Given {
        complaint, unaided, dominant_eye;
        start, age_years, old_glasses, eye_pd, chart_metres, near_metres, working_metres, cross_cylinders,
        earlier_retinoscopy
    }
}

// The box and the fitted frame have parts of their own; what they write is pinned to the letter.
impl Kept for FittedFrame {
    fn add_words(&self, found: &mut Vec<Word>) {
        self.stock.add_words(found);
    }
}

// A number, not a name.
impl Kept for Mark {
    fn add_words(&self, _: &mut Vec<Word>) {}
}

impl Kept for Stock {
    fn add_words(&self, found: &mut Vec<Word>) {
        self.form.add_words(found);
        for stocked in self.pieces().iter() {
            stocked.add_words(found);
        }
    }
}

impl<T: Kept> Kept for Vec<T> {
    fn add_words(&self, found: &mut Vec<Word>) {
        for one in self {
            one.add_words(found);
        }
    }
}

impl<T: Kept> Kept for Option<T> {
    fn add_words(&self, found: &mut Vec<Word>) {
        if let Some(value) = self {
            value.add_words(found);
        }
    }
}

impl<T: Kept> Kept for Eyes<T> {
    fn add_words(&self, found: &mut Vec<Word>) {
        self.right.add_words(found);
        self.left.add_words(found);
    }
}

impl<T: Kept> Kept for Box<T> {
    fn add_words(&self, found: &mut Vec<Word>) {
        (**self).add_words(found);
    }
}
