//! The name in the row of every variant of everything that is kept, by exhaustive matches.
//!
//! Structures are taken apart field by field, so that a new field does not compile here until it is named either.

use std::sync::Arc;

use dioptray::day::{DayEvent, DaySettings, DayShelf, DayShelfLine, NewPerson};
use dioptray::exam::came_back::{CameBack, CameBackTakenBack, FoundGlasses, FoundLens, RefractedAgain};
use dioptray::exam::{
    Accepted, AcuityNote, Answer, AnsweredBy, AskedByHand, Believed, ByHand, Chosen, ComeBack, Complaint, Detail,
    DeviationAt, DropsPut, EarlierExams, EarlierRetinoscopy, Ending, Event, Given, GivenPair, GuideEvent, HowSoon,
    Judgement, NearTask, Opening, Outcome, PracticeEvent, PresentGlasses, ProcedureName, ReadyMadeLimits, RedFlag,
    Repeats, Screened, SeenBy, Shown, Shows, Sitter, Strategy, Through, Tried, Unrefracted,
};
use dioptray::frame::{FittedFrame, Move};
use dioptray::kit::shelf::ShelfPair;
use dioptray::kit::stock_take::{BlindCount, CountRow, LensCounted, Said};
use dioptray::kit::{
    Accessory, BoxChange, Further, Lens, LensForm, LooseSpheres, Mark, Measurement, Motion, Piece, Place, SettledAt,
    Stock, StockTake, StockedPiece,
};
use dioptray::logbook::{BoxEntry, DayEntry, DrillEntry, EntryRef};
use dioptray::optics::{
    Acuity, Axis, Dioptres, Eye, Eyes, Millimetres, Power, Prism, PrismDioptres, SpheroCylinder, WornKind, WornLens,
};
use dioptray::practice::drills::{Answered, Drill, Level, Skill, Slip};
use dioptray::sharing::{SeatName, WriterId};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use serde_json::Value;
use uuid::Uuid;

/// A kept type and the name of one of its variants in the row.
pub type Word = (&'static str, &'static str);

/// Something that is kept.
pub trait Kept {
    /// Adds the names of the variants in it.
    fn add_words(&self, found: &mut Vec<Word>);
}

/// For each enum its variants, the name of each in the row, and what it holds: all that is looked into for names too.
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
        Event::Wanted(eye, value) => "wanted" [eye, value],
        Event::Acuity(note) => "acuity" [note],
        Event::Tried(tried) => "tried" [tried],
        Event::Guide(event) => "guide" [event],
        Event::Accepted(accepted) => "accepted" [accepted],
        Event::Note(value) => "note" [value],
        Event::Screened(screened) => "screened" [screened],
        Event::Outcome(outcome) => "outcome" [outcome],
        Event::Finished => "finished",
        Event::Amended(value) => "amended" [value],
        Event::CameBack(came_back) => "came_back" [came_back],
        Event::CameBackTakenBack(taken_back) => "came_back_taken_back" [taken_back],
        Event::Practice(event) => "practice" [event],
        Event::Undone => "undone",
        Event::Redone => "redone",
    }
    PracticeEvent {
        PracticeEvent::Asked(asked) => "asked" [asked],
        PracticeEvent::Ended { gave_up } => "ended" [gave_up],
    }
    ByHand {
        ByHand::Letters => "letters",
        ByHand::WithLens => "with_lens",
        ByHand::Fan => "fan",
        ByHand::RedGreen => "red_green",
        ByHand::CrossCylinder => "cross_cylinder",
        ByHand::ClearerEye => "clearer_eye",
        ByHand::Print => "print",
        ByHand::Reflex { along } => "reflex" [along],
    }
    AnsweredBy {
        AnsweredBy::TheEye => "the_eye",
        AnsweredBy::TheStudent => "the_student",
    }
    Detail {
        Detail::Label(value) => "label" [value],
        Detail::AgeYears(value) => "age_years" [value],
        Detail::DropsPut(put) => "drops_put" [put],
        Detail::Complaint(complaint) => "complaint" [complaint],
        Detail::EyePd(eye, value) => "eye_pd" [eye, value],
        Detail::FramePd(eye, value) => "frame_pd" [eye, value],
        Detail::PlannedVertex(value) => "planned_vertex" [value],
        Detail::ChartMetres(value) => "chart_metres" [value],
        Detail::ChartMadeForMetres(value) => "chart_made_for_metres" [value],
        Detail::NearMetres(value) => "near_metres" [value],
        Detail::WorkingMetres(value) => "working_metres" [value],
        Detail::OldGlasses(eye, value) => "old_glasses" [eye, value],
        Detail::OldAddition(value) => "old_addition" [value],
        Detail::DominantEye(eye) => "dominant_eye" [eye],
        Detail::EarlierRetinoscopy(earlier) => "earlier_retinoscopy" [earlier],
        Detail::Strategy(strategy) => "strategy" [strategy],
        Detail::RedFlags(flags) => "red_flags" [flags],
        Detail::Drops(value) => "drops" [value],
        Detail::PresentGlasses(glasses) => "present_glasses" [glasses],
        Detail::NearTask(task) => "near_task" [task],
        Detail::OldGlassesWithin(eye, value) => "old_glasses_within" [eye, value],
        Detail::EarlierExams(earlier) => "earlier_exams" [earlier],
        Detail::StaysOn(eye, worn) => "stays_on" [eye, worn],
        Detail::FrameVertex(value) => "frame_vertex" [value],
        Detail::TiltDegrees(value) => "tilt_degrees" [value],
        Detail::FaceFormDegrees(value) => "face_form_degrees" [value],
        Detail::DeviationSeenBy(by) => "deviation_seen_by" [by],
        Detail::Neutralised(at, eye, value) => "neutralised" [at, eye, value],
        Detail::Reserve(at, value) => "reserve" [at, value],
    }
    DeviationAt {
        DeviationAt::Far => "far",
        DeviationAt::Near => "near",
    }
    SeenBy {
        SeenBy::MaddoxRod => "maddox_rod",
        SeenBy::CoverTest => "cover_test",
    }
    WornKind {
        WornKind::ContactLens => "contact_lens",
        WornKind::Glasses => "glasses",
    }
    RedFlag {
        RedFlag::SuddenLoss => "sudden_loss",
        RedFlag::Pain => "pain",
        RedFlag::Flashes => "flashes",
        RedFlag::Floaters => "floaters",
        RedFlag::DoubleVision => "double_vision",
        RedFlag::TurnedEye => "turned_eye",
    }
    PresentGlasses {
        PresentGlasses::None => "none",
        PresentGlasses::HereKnown => "here_known",
        PresentGlasses::HereUnknown => "here_unknown",
        PresentGlasses::Elsewhere => "elsewhere",
    }
    NearTask {
        NearTask::Reading => "reading",
        NearTask::FineWork => "fine_work",
        NearTask::Screen => "screen",
        NearTask::Other => "other",
    }
    Unrefracted {
        Unrefracted::NotRefracted => "not_refracted",
        Unrefracted::BalanceLens => "balance_lens",
    }
    Ending {
        Ending::Close => "close",
        Ending::Card => "card",
        Ending::NextPerson => "next_person",
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
        Accepted::Refraction(eye, value) => "refraction" [eye, value],
        Accepted::Retinoscopy(eye, value) => "retinoscopy" [eye, value],
        Accepted::ChartAllowance(value) => "chart_allowance" [value],
        Accepted::Addition(value) => "addition" [value],
        Accepted::Prism(eye, value) => "prism" [eye, value],
        Accepted::NotRefracted(eye, written) => "not_refracted" [eye, written],
        Accepted::Wet(eye, value) => "wet" [eye, value],
        Accepted::AdditionOf(eye, value) => "addition_of" [eye, value],
    }
    Judgement {
        Judgement::Better => "better",
        Judgement::Same => "same",
        Judgement::Worse => "worse",
    }
    GuideEvent {
        GuideEvent::Began { procedure, eye, given } => "began" [procedure, eye, given],
        GuideEvent::TakenOver(value) => "taken_over" [value],
        GuideEvent::SetOut(shown) => "set_out" [shown],
        GuideEvent::Corrected { given } => "corrected" [given],
        GuideEvent::Answered { answer, shown } => "answered" [answer, shown],
        GuideEvent::Skipped { no_lens } => "skipped" [no_lens],
        GuideEvent::Repeated => "repeated",
        GuideEvent::Left => "left",
        GuideEvent::ProceduresChanged { version } => "procedures_changed" [version],
        GuideEvent::Chose(chosen) => "chose" [chosen],
    }
    Strategy {
        Strategy::Ladder => "ladder",
        Strategy::Belief => "belief",
    }
    Shows {
        Shows::Sphere(value) => "sphere" [value],
        Shows::Letters(value) => "letters" [value],
        Shows::CrossCylinder { power, first } => "cross_cylinder" [power, first],
        Shows::Line(value) => "line" [value],
        Shows::Ends => "ends",
        Shows::HandsOver { surprised } => "hands_over" [surprised],
    }
    ProcedureName {
        ProcedureName::SetUp => "set_up",
        ProcedureName::Neutralisation => "neutralisation",
        ProcedureName::FirstLens => "first_lens",
        ProcedureName::BestSphere => "best_sphere",
        ProcedureName::OverMinusCheck => "over_minus_check",
        ProcedureName::Fan => "fan",
        ProcedureName::CrossCylinderSearch => "cross_cylinder_search",
        ProcedureName::Slit => "slit",
        ProcedureName::CrossCylinderAxis => "cross_cylinder_axis",
        ProcedureName::CrossCylinderPower => "cross_cylinder_power",
        ProcedureName::FinalSphere => "final_sphere",
        ProcedureName::Likelihood => "likelihood",
        ProcedureName::Balance => "balance",
        ProcedureName::Near => "near",
        ProcedureName::Retinoscopy => "retinoscopy",
        ProcedureName::Writing => "writing",
        ProcedureName::FirstLetter => "first_letter",
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
        Answer::HalfHours(value) => "half_hours" [value],
        Answer::TwoLines => "two_lines",
        Answer::Across => "across",
        Answer::Degrees(value) => "degrees" [value],
        Answer::Centimetres(value) => "centimetres" [value],
        Answer::Metres(value) => "metres" [value],
        Answer::Millimetres(value) => "millimetres" [value],
        Answer::Years(value) => "years" [value],
        Answer::Says(complaint) => "says" [complaint],
        Answer::With { dull } => "with" [dull],
        Answer::Against { dull } => "against" [dull],
        Answer::Neither => "neither",
        Answer::Breaks => "breaks",
        Answer::Done => "done",
        Answer::Print(value) => "print" [value],
        Answer::Go { procedure, eye } => "go" [procedure, eye],
        Answer::Flag(flag) => "flag" [flag],
        Answer::Glasses(glasses) => "glasses" [glasses],
        Answer::Task(task) => "task" [task],
        Answer::Power(power) => "power" [power],
        Answer::Dioptres(value) => "dioptres" [value],
        Answer::End(ending) => "end" [ending],
    }
    Move {
        Move::Put { piece, eye, cell, direction } => "put" [piece, eye, cell, direction],
        Move::Take { piece, eye, cell } => "take" [piece, eye, cell],
        Move::Turn { eye, cell, direction } => "turn" [eye, cell, direction],
        Move::Hold { piece, eye, direction } => "hold" [piece, eye, direction],
        Move::Lay { piece, eye } => "lay" [piece, eye],
    }
    Eye {
        Eye::Right => "right",
        Eye::Left => "left",
    }
    Acuity {
        Acuity::Line { mar, letters } => "line" [mar, letters],
        Acuity::ChartLine { mar, letters, made_for_m, stood_at_m } => "chart_line" [mar, letters, made_for_m, stood_at_m],
        Acuity::NoLetter => "no_letter",
        Acuity::CountingFingers => "counting_fingers",
        Acuity::HandMovements => "hand_movements",
        Acuity::LightPerception => "light_perception",
        Acuity::NoLightPerception => "no_light_perception",
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
        Accessory::Other { name, covers, turns } => "other" [name, covers, turns],
    }
    LensForm {
        LensForm::Thin => "thin",
        LensForm::Additive => "additive",
    }
    Place {
        Place::Box => "box",
        Place::Cell { eye, cell } => "cell" [eye, cell],
        Place::Hand { eye } => "hand" [eye],
        Place::Lost => "lost",
        Place::Lent { to } => "lent" [to],
        Place::Retired => "retired",
        Place::Moved { to } => "moved" [to],
        Place::InTwoPlaces => "in_two_places",
    }
    BoxChange {
        BoxChange::Lost(piece) => "lost" [piece],
        BoxChange::Found(piece) => "found" [piece],
        BoxChange::Lent { piece, to, until } => "lent" [piece, to, until],
        BoxChange::Returned(piece) => "returned" [piece],
        BoxChange::Damaged { piece, what } => "damaged" [piece, what],
        BoxChange::Mended(piece) => "mended" [piece],
        BoxChange::Measured { piece, measurement } => "measured" [piece, measurement],
        BoxChange::Added(further) => "added" [further],
        BoxChange::Retired(piece) => "retired" [piece],
        BoxChange::Moved { piece, to, number, damaged, measured, own_mark } => "moved" [piece, to, number, damaged, measured, own_mark],
        BoxChange::Marked { piece, own_mark } => "marked" [piece, own_mark],
        BoxChange::Note { piece, text } => "note" [piece, text],
        BoxChange::Looked { piece, with, seen } => "looked" [piece, with, seen],
        BoxChange::Settled { piece, at } => "settled" [piece, at],
    }
    SettledAt {
        SettledAt::Box => "box",
        SettledAt::Lost => "lost",
        SettledAt::Seat(seat) => "seat" [seat],
    }
    BoxEntry {
        BoxEntry::Happened { changes, note } => "happened" [changes, note],
        BoxEntry::Counted { changes, count, note } => "counted" [changes, count, note],
        BoxEntry::Undone { entry, back, note } => "undone" [entry, back, note],
        BoxEntry::HandedOver { to, note } => "handed_over" [to, note],
    }
    Outcome {
        Outcome::NoGlasses => "no_glasses",
        Outcome::Glasses => "glasses",
        Outcome::ReadyMade { sphere, near, given } => "ready_made" [sphere, near, given],
        Outcome::Refer { why, soon } => "refer" [why, soon],
        Outcome::ComeBack(back) => "come_back" [back],
        Outcome::NotRefracted { why } => "not_refracted" [why],
    }
    HowSoon {
        HowSoon::Today => "today",
        HowSoon::WithinAWeek => "within_a_week",
        HowSoon::NoHurry => "no_hurry",
    }
    ComeBack {
        ComeBack::WithDrops => "with_drops",
        ComeBack::WithParent => "with_parent",
        ComeBack::Later => "later",
    }
    Screened {
        Screened::PlusTwo(eye, reads) => "plus_two" [eye, reads],
        Screened::Near(reads) => "near" [reads],
    }
    DayEntry {
        DayEntry::Happened { events } => "happened" [events],
        DayEntry::Undone { entry } => "undone" [entry],
    }
    DrillEntry {
        DrillEntry::Answered(answered) => "answered" [answered],
    }
    Drill {
        Drill::Net => "net",
        Drill::Stack => "stack",
        Drill::Transposition => "transposition",
        Drill::Equivalent => "equivalent",
        Drill::Effective => "effective",
        Drill::Crossed => "crossed",
        Drill::Axis => "axis",
        Drill::Meridian => "meridian",
        Drill::Retinoscopy => "retinoscopy",
        Drill::FirstLens => "first-lens",
        Drill::Step => "step",
        Drill::Clock => "clock",
        Drill::CrossCylinder => "cross-cylinder",
        Drill::WithAgainst => "with-against",
        Drill::Addition => "addition",
        Drill::Order => "order",
        Drill::Prentice => "prentice",
        Drill::Acuity => "acuity",
        Drill::Fault => "fault",
        Drill::Refer => "refer",
    }
    Level {
        Level::One => "1",
        Level::Two => "2",
        Level::Three => "3",
    }
    Slip {
        Slip::Sign => "sign",
        Slip::Eye => "eye",
        Slip::Axis => "axis",
        Slip::Vertex => "vertex",
        Slip::Form => "form",
        Slip::Order => "order",
        Slip::Arithmetic => "arithmetic",
    }
    DayEvent {
        DayEvent::Began(settings) => "began" [settings],
        DayEvent::Place(place) => "place" [place],
        DayEvent::Room(detail) => "room" [detail],
        DayEvent::Waits(person) => "waits" [person],
        DayEvent::Called { number, exam } => "called" [number, exam],
        DayEvent::Aside { number } => "aside" [number],
        DayEvent::Closed { number } => "closed" [number],
        DayEvent::Left { number } => "left" [number],
        DayEvent::Shelf(shelf) => "shelf" [shelf],
        DayEvent::PairGiven { number, exam, shelf, pair } => "pair_given" [number, exam, shelf, pair],
        DayEvent::PairBack { number, exam, shelf, pair } => "pair_back" [number, exam, shelf, pair],
        DayEvent::Ended => "ended",
    }
    ReadyMadeLimits {
        ReadyMadeLimits::Common => "common",
        ReadyMadeLimits::Wider => "wider",
    }
    Motion {
        Motion::With => "with",
        Motion::Against => "against",
        Motion::Still => "still",
    }
    Said {
        Said::Here => "here",
        Said::Missing => "missing",
        Said::Damaged { what } => "damaged" [what],
    }
}

/// For each struct all its fields.
macro_rules! kept_structs {
    ($($kept:ident { $($field:ident),+ })+) => {
        /// Every field of every structure.
        pub const FIELDS: &[Word] = &[$($((stringify!($kept), stringify!($field))),+),+];

        $(impl Kept for $kept {
            fn add_words(&self, found: &mut Vec<Word>) {
                let Self { $($field),+ } = self;
                $($field.add_words(found);)+
                $(found.extend(holds($field).then_some((stringify!($kept), stringify!($field))));)+
            }
        })+
    };
}

/// Whether a field has something in it, so that its line pins how that is written.
fn holds(field: &impl Serialize) -> bool {
    fn is_something(value: &Value) -> bool {
        match value {
            Value::Null | Value::Bool(false) => false,
            Value::Array(list) => list.iter().any(is_something),
            Value::Bool(true) | Value::Number(_) | Value::String(_) | Value::Object(_) => true,
        }
    }
    serde_json::to_value(field).is_ok_and(|value| is_something(&value))
}

kept_structs! {
    Opening { fitted, sitter }
    Sitter { who, number, of }
    AskedByHand { eye, question, answer, by }
    StockedPiece { piece, place, damaged, measured }
    Piece { lens, number }
    Further { lens, number }
    Measurement { power, axis_off_deg, prism, on, instrument, sure }
    EntryRef { writer, number }
    CameBack { at, by, found, again }
    FoundGlasses { lenses, vertex, complaint }
    FoundLens { power, addition, centre, near_centre, above_pupil }
    RefractedAgain { exam, number, far, additions, vertex }
    CameBackTakenBack { number, at, by }
    DropsPut { what, eye, at, ready_after_min, by }
    Answered { skill, seed, item, typed, slip }
    Skill { drill, level }
    DaySettings { place, box_name, frame, room, shelf }
    DayShelf { name, limits, pairs }
    DayShelfLine { pair, declared, gone }
    ShelfPair { sphere, near, centres_mm }
    GivenPair { shelf, centres_mm, limits, meets }
    NewPerson { number, label, age_years, complaint, note }
    LensCounted { lens, here, damaged, missing, more }
    CountRow { name, lenses, counted, strange }
    BlindCount { lens, pieces }
    AcuityNote { eye, through, acuity }
    Tried { eye, acuity, judgement, power, kept }
    Shown { from, to, cells, mark_in_hand }
    EarlierRetinoscopy { eyes, differs, spread }
    EarlierExams { eyes, differs, spread, repeats }
    Repeats { repeated, changed }
    WornLens { kind, power, vertex }
    LooseSpheres { marked, pieces }
    Given {
        complaint, unaided, dominant_eye, start, age_years, old_glasses, eye_pd, chart_metres, near_metres,
        working_metres, cross_cylinders, earlier_retinoscopy, accepted, pinhole, with_old_glasses, chart_made_for_metres,
        red_flags, drops, present_glasses, near_task, earlier_exams, loose_spheres,
        measured_vertex
    }
    Chosen { stands, shows, believed }
    Believed { mean, sphere_sd, cylinder_sd, within_quarter }
}

// The box and the fitted frame have parts of their own; what they write is pinned to the letter.
impl Kept for FittedFrame {
    fn add_words(&self, found: &mut Vec<Word>) {
        self.stock.add_words(found);
    }
}

/// What is no name and holds none: figures, and what somebody wrote.
macro_rules! nameless {
    ($($kept:ty),+) => {
        $(impl Kept for $kept {
            fn add_words(&self, _: &mut Vec<Word>) {}
        })+
    };
}

nameless!(
    Axis,
    bool,
    i64,
    i8,
    u8,
    u16,
    u32,
    u64,
    usize,
    f64,
    String,
    Arc<str>,
    Mark,
    Dioptres,
    Millimetres,
    Power,
    Prism,
    PrismDioptres,
    SpheroCylinder,
    Date,
    Timestamp,
    Uuid,
    WriterId,
    SeatName
);

impl Kept for Stock {
    fn add_words(&self, found: &mut Vec<Word>) {
        self.form.add_words(found);
        for stocked in self.pieces().iter() {
            stocked.add_words(found);
        }
    }
}

// its label stands in the row
impl Kept for StockTake {
    fn add_words(&self, found: &mut Vec<Word>) {
        // its other parts are its own; what they write is pinned to the letter
        for row in self.rows() {
            row.add_words(found);
            for lens in &row.lenses {
                self.pieces_of(lens).for_each(|stocked| stocked.add_words(found));
                self.pieces_of(lens)
                    .filter_map(|stocked| self.said(&stocked.piece))
                    .for_each(|said| said.add_words(found));
                if let Some(pieces) = self.blind_count(lens) {
                    BlindCount { lens: lens.clone(), pieces }.add_words(found);
                }
            }
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
