//! The details of an exam that can be typed, in one table: heading, what each is called, and how it is written.
//!
//! The enum, the rows of the page, their names and hints follow from the table; what a detail is now, how it is read and whether
//! it can be taken back match every one of them, so that a new one does not compile before all of these have said something.

use crate::exam::{Complaint, NearTask, PresentGlasses, RedFlag, SeenBy};
use crate::optics::{CylinderForm, Eye};

/// A row of the details: one value, or one for each eye.
#[derive(Debug, Clone, Copy)]
pub enum DetailRow {
    /// One value.
    One(Field),
    /// One for each eye.
    Eyes(fn(Eye) -> Field),
}

impl DetailRow {
    /// What is typed into the row, for one of the eyes where it has two.
    pub fn field(self, eye: Eye) -> Field {
        match self {
            Self::One(field) => field,
            Self::Eyes(of) => of(eye),
        }
    }
}

/// The row of a detail: one that has an eye has a column for each.
macro_rules! row {
    ($field:ident) => {
        DetailRow::One(Field::$field)
    };
    ($field:ident $eye:ident) => {
        DetailRow::Eyes(Field::$field)
    };
}

/// The eye of a detail that is one of those which have an eye.
macro_rules! eye {
    ($of:ident $field:ident) => {
        None
    };
    ($of:ident $field:ident $eye:ident) => {
        if let Field::$field(eye) = $of { Some(eye) } else { None }
    };
}

macro_rules! details {
    ($($heading:literal { $($(#[$doc:meta])* $field:ident $(($eye:ident))?: $name:literal, $hint:literal;)+ })+) => {
        /// A detail that can be typed.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Field { $($($(#[$doc])* $field $(($eye))?,)+)+ }

        /// The rows of the page, under their headings.
        pub const GROUPS: &[(&str, &[DetailRow])] = &[$(($heading, &[$(row!($field $($eye)?)),+])),+];

        impl Field {
            /// What it is, without the eye.
            pub fn name(self) -> &'static str {
                match self { $($(Self::$field { .. } => $name,)+)+ }
            }

            /// How it is written, for the typed line.
            pub fn hint(self) -> &'static str {
                match self { $($(Self::$field { .. } => $hint,)+)+ }
            }

            /// The eye that the row is about; `None` for what is of both or of the person.
            pub fn eye(self) -> Option<Eye> {
                let of = self;
                match of { $($(Self::$field { .. } => eye!(of $field $($eye)?),)+)+ }
            }
        }
    };
}

details! {
    "person" {
        /// Label or initials.
        Label: "label or initials", "no name is needed";
        /// Age in years.
        Age: "age", "in years";
        /// What the person says.
        Complaint: "complaint", "far, all, near or nothing";
        /// The eye that the person prefers.
        DominantEye: "dominant eye", "right or left";
        /// Pupillary distance of an eye.
        EyePd(Eye): "pupillary distance", "mm from mid-nose";
        /// Old glasses of an eye.
        OldGlasses(Eye): "present glasses", "like -4.25/-0.75x180";
        /// The addition of the old glasses, in dioptres.
        OldAddition: "present addition", "like +1.25";
    }
    "room and frame" {
        /// Pupillary distance to which the frame is set.
        FramePd(Eye): "frame PD", "mm from mid-nose";
        /// Vertex distance of the glasses.
        PlannedVertex: "vertex of glasses", "mm";
        /// Chart distance, and the distance for which its figures are printed where that is another.
        Chart: "chart at", "metres; 3 for 6: made for 6 m";
        /// Near distance.
        Near: "near work at", "metres";
        /// Working distance of retinoscopy.
        Working: "retinoscopy at", "metres";
    }
    "acuity" {
        /// Acuity of an eye through nothing.
        Unaided(Eye): "unaided", "like 6/12-2, 0.3logMAR, CF or none";
        /// Acuity of an eye through a pinhole alone.
        ThroughPinhole(Eye): "through a pinhole", "like 6/12-2, 0.3logMAR, CF or none";
        /// Acuity of an eye through the person's old glasses.
        ThroughOldGlasses(Eye): "with present glasses", "like 6/12-2, 0.3logMAR, CF or none";
        /// Acuity of an eye through what is in the frame.
        ThroughFrame(Eye): "through the frame", "like 6/12-2, 0.3logMAR, CF or none";
        /// Acuity of both eyes together through what is in the frame.
        BothThroughFrame: "binocular", "like 6/12-2, 0.3logMAR, CF or none";
    }
    "for the record" {
        /// The power found for an eye; not typed, but taken from the cells.
        Accepted(Eye): "final power", "taken from the cells";
        /// The prism wanted before an eye.
        Prism(Eye): "prism wanted", "like 2BI 1BU; half, all, sheard (near)";
        /// The addition to be prescribed for near, in dioptres.
        Addition: "addition", "like +1.25";
        /// Dioptres taken off for a near chart.
        ChartAllowance: "taken off for chart", "D, like 0.08";
        /// A note; the notes before it stay.
        Note: "notes", "the others stay";
    }
    "history" {
        /// The signs that were named.
        RedFlags: "signs named", "none, or loss, pain, flashes, floaters, double, turned";
        /// The glasses that the person has.
        PresentGlasses: "glasses until now", "none, known, unknown or elsewhere";
        /// What is done near.
        NearTask: "near task", "reading, fine, screen or other";
        /// Whether drops rest the accommodation.
        Drops: "drops (cycloplegia)", "yes or no";
    }
    "under the frame, and how it sits" {
        /// What stays on under the frame before an eye.
        StaysOn(Eye): "stays on", "contact -3.00 or glasses -3.00 at 10";
        /// Vertex distance of the frame, measured.
        FrameVertex: "frame vertex", "mm, measured";
        /// Pantoscopic tilt of the lenses.
        Tilt: "tilt", "degrees, lower rim in";
        /// Face form of the lenses.
        FaceForm: "face form", "degrees, outer rim back";
    }
    "deviation, by prisms that neutralise it" {
        /// How a deviation was seen.
        DeviationSeenBy: "seen by", "maddox or cover";
        /// The prism that neutralised it at the chart.
        NeutralisedFar(Eye): "neutralised far", "like 6BI 2BU; or cells";
        /// The reserve at the chart.
        ReserveFar: "reserve far", "prism to the blur, against it";
        /// The prism that neutralised it near.
        NeutralisedNear(Eye): "neutralised near", "like 6BI 2BU; or cells";
        /// The reserve near.
        ReserveNear: "reserve near", "prism to the blur, against it";
    }
}

/// What the person can say, and the word for it.
pub const COMPLAINTS: [(&str, Complaint); 4] = [
    ("far", Complaint::FarBlur),
    ("all", Complaint::BlurEverywhere),
    ("near", Complaint::NearOnly),
    ("nothing", Complaint::Nothing),
];

/// The signs that can be named, and the word for each.
pub const RED_FLAGS: [(&str, RedFlag); 6] = [
    ("loss", RedFlag::SuddenLoss),
    ("pain", RedFlag::Pain),
    ("flashes", RedFlag::Flashes),
    ("floaters", RedFlag::Floaters),
    ("double", RedFlag::DoubleVision),
    ("turned", RedFlag::TurnedEye),
];

/// The glasses that there can be, and the word for each.
pub const GLASSES: [(&str, PresentGlasses); 4] = [
    ("none", PresentGlasses::None),
    ("known", PresentGlasses::HereKnown),
    ("unknown", PresentGlasses::HereUnknown),
    ("elsewhere", PresentGlasses::Elsewhere),
];

/// How a deviation can be seen, and the word for it.
pub const SEEN_BY: [(&str, SeenBy); 2] = [("maddox", SeenBy::MaddoxRod), ("cover", SeenBy::CoverTest)];

/// What can be done near, and the word for it.
pub const NEAR_TASKS: [(&str, NearTask); 4] = [
    ("reading", NearTask::Reading),
    ("fine", NearTask::FineWork),
    ("screen", NearTask::Screen),
    ("other", NearTask::Other),
];

impl Field {
    /// What is said of a person before anything is tried.
    pub const SAID_FIRST: [Self; 3] = [Self::Age, Self::Complaint, Self::DominantEye];

    /// How it is written, with an example in the cylinder form that is in use.
    pub fn hint_in(self, form: CylinderForm) -> &'static str {
        match (self, form) {
            (Self::OldGlasses(_), CylinderForm::Plus) => "like -5.00/+0.75x90",
            (of_either_form, CylinderForm::Minus | CylinderForm::Plus) => of_either_form.hint(),
        }
    }

    /// Whether it takes as many words as it needs.
    pub fn is_in_words(self) -> bool {
        self == Self::Note
    }

    /// Whether a letter begins what is written here; elsewhere only a figure does, and a letter is a command.
    pub fn begins_with_letters(self) -> bool {
        match self {
            Self::Label
            | Self::Complaint
            | Self::DominantEye
            | Self::Note
            | Self::RedFlags
            | Self::PresentGlasses
            | Self::NearTask
            | Self::StaysOn(_)
            | Self::DeviationSeenBy
            | Self::Drops => true,
            Self::Age
            | Self::EyePd(_)
            | Self::OldGlasses(_)
            | Self::OldAddition
            | Self::FramePd(_)
            | Self::NeutralisedFar(_)
            | Self::NeutralisedNear(_)
            | Self::ReserveFar
            | Self::ReserveNear
            | Self::FrameVertex
            | Self::Tilt
            | Self::FaceForm
            | Self::PlannedVertex
            | Self::Chart
            | Self::Near
            | Self::Working
            | Self::Unaided(_)
            | Self::ThroughPinhole(_)
            | Self::ThroughOldGlasses(_)
            | Self::ThroughFrame(_)
            | Self::BothThroughFrame
            | Self::Accepted(_)
            | Self::Prism(_)
            | Self::Addition
            | Self::ChartAllowance => false,
        }
    }

    /// The eye whose power is taken from the cells in its place: it is not typed.
    pub fn taken_from_cells(self) -> Option<Eye> {
        if let Self::Accepted(eye) = self { Some(eye) } else { None }
    }

    /// What it is, with its eye.
    pub fn full_name(self) -> String {
        match self.eye() {
            Some(eye) => format!("{}, {eye} eye", self.name()),
            None => self.name().to_owned(),
        }
    }
}

/// The rows in order, without the headings.
pub fn rows() -> impl Iterator<Item = DetailRow> {
    GROUPS.iter().flat_map(|(_, rows)| rows.iter().copied())
}

/// How many rows there are.
pub fn row_count() -> usize {
    rows().count()
}
