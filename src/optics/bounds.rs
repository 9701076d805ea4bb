//! Every permitted figure in one table: what it is called, its unit, its limits, its steps and whether it has a sign.
//!
//! Whatever takes a figure (notation, box and frame files, settings, command arguments, the typed line) reads it by its row
//! here, so that a figure is taken everywhere or nowhere, and refused with one message; the property tests draw from the
//! same rows.

use std::fmt;

use thiserror::Error;

/// What a figure counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names of units say what they are")]
pub enum Unit {
    Dioptres,
    /// Prism dioptres: centimetres at one metre.
    PrismDioptres,
    /// Degrees of an angle.
    Degrees,
    Millimetres,
    Centimetres,
    Metres,
    /// The logarithm of the minimum angle of resolution.
    LogMar,
    Years,
    /// Minutes of time.
    Minutes,
    /// Hours on the face of a clock.
    Hours,
    /// Things that are counted.
    Count,
}

impl Unit {
    /// As it is written after a figure, with the space before it; nothing where a figure has none.
    pub fn behind(self) -> &'static str {
        match self {
            Self::Dioptres => " D",
            Self::PrismDioptres => " Δ",
            Self::Degrees => "°",
            Self::Millimetres => " mm",
            Self::Centimetres => " cm",
            Self::Metres => " m",
            Self::LogMar => " logMAR",
            Self::Years => " years",
            Self::Minutes => " min",
            Self::Hours | Self::Count => "",
        }
    }

    /// As a person may type it after a figure, in capitals or not.
    pub fn typed(self) -> &'static [&'static str] {
        match self {
            Self::Dioptres => &["DS", "D"],
            Self::PrismDioptres => &["Δ"],
            Self::Degrees => &["°"],
            Self::Millimetres => &["mm"],
            Self::Centimetres => &["cm"],
            Self::Metres => &["m"],
            Self::LogMar => &["logMAR"],
            Self::Years => &["years", "year"],
            Self::Minutes => &["minutes", "min"],
            Self::Hours => &["h"],
            Self::Count => &[],
        }
    }

    /// As it is written after one figure that stands before its limits: a word is said after the limits alone.
    fn behind_value(self) -> &'static str {
        match self {
            Self::Years | Self::Minutes => "",
            Self::Dioptres
            | Self::PrismDioptres
            | Self::Degrees
            | Self::Millimetres
            | Self::Centimetres
            | Self::Metres
            | Self::LogMar
            | Self::Hours
            | Self::Count => self.behind(),
        }
    }
}

/// Which figures there are between the limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Steps {
    /// Any figure, however fine.
    Any,
    /// Whole numbers and their halves.
    Halves,
    /// Whole numbers.
    Whole,
}

impl Steps {
    fn contains(self, value: f64) -> bool {
        match self {
            Self::Any => true,
            Self::Halves => (2.0 * value).fract() == 0.0,
            Self::Whole => value.fract() == 0.0,
        }
    }
}

/// Whether a figure is written with a sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SignRule {
    /// With its sign, unless it is 0: the power of a lens, where plus and minus are two lenses.
    Needed,
    /// With a sign or without one, which is plus: where minus is another place, or no such thing at all.
    Allowed,
    /// Without.
    Unsigned,
}

/// A permitted figure: one row of the table, both limits included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// What people call it.
    pub name: &'static str,
    /// What it counts.
    pub unit: Unit,
    /// The least permitted value.
    pub least: f64,
    /// The greatest permitted value.
    pub most: f64,
    /// Which values there are between them.
    pub steps: Steps,
    /// Whether it is written with a sign.
    pub sign: SignRule,
    /// Whether it is marked on a lens, where 0.12 stands for the eighth 0.125.
    pub marked: bool,
}

/// A value that its row does not permit, or not a number at all.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum OutOfRange {
    /// Beyond a limit.
    #[error("{} {value}{} is outside {range}{}", range.name, range.unit.behind_value(), range.in_centimetres(*value))]
    Beyond {
        /// The row.
        range: Range,
        /// What was given, in the unit of the row; it may be no number.
        value: f64,
    },
    /// Between two steps.
    #[error("{} {value}{} is not {}", range.name, range.unit.behind_value(), match range.steps {
        Steps::Halves => "a whole number or a half",
        Steps::Any | Steps::Whole => "a whole number",
    })]
    BetweenSteps {
        /// The row.
        range: Range,
        /// What was given, in the unit of the row.
        value: f64,
    },
}

/// The limits with their unit: `0 to 40 mm`.
impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {}{}", self.least, self.most, self.unit.behind())
    }
}

impl Range {
    const fn of(name: &'static str, unit: Unit, least: f64, most: f64) -> Self {
        Self { name, unit, least, most, steps: Steps::Any, sign: SignRule::Unsigned, marked: false }
    }

    const fn whole(self) -> Self {
        Self { steps: Steps::Whole, ..self }
    }

    const fn halves(self) -> Self {
        Self { steps: Steps::Halves, ..self }
    }

    const fn signed(self) -> Self {
        Self { sign: SignRule::Needed, ..self }
    }

    const fn maybe_signed(self) -> Self {
        Self { sign: SignRule::Allowed, ..self }
    }

    const fn marked(self) -> Self {
        Self { marked: true, ..self }
    }

    /// The same figure as it is measured: 0.12 is then 0.12, not the mark of an eighth.
    #[must_use]
    pub const fn measured(self) -> Self {
        Self { marked: false, ..self }
    }

    /// Whether a value lies between the limits; NaN and infinities never do.
    pub fn contains(&self, value: f64) -> bool {
        value >= self.least && value <= self.most
    }

    /// Where metres are wanted, the question whether what is beyond them was meant in centimetres: `: 0.67 m?`
    fn in_centimetres(&self, value: f64) -> String {
        let metres = (value * 100.0).round() / 10_000.0;
        if self.unit == Unit::Metres && self.contains(metres) { format!(": {metres} m?") } else { String::new() }
    }

    /// Whether a word for no power may stand for 0.
    pub fn may_be_plano(&self) -> bool {
        self.unit == Unit::Dioptres
            && match self.sign {
                SignRule::Needed | SignRule::Allowed => true,
                SignRule::Unsigned => false,
            }
    }

    /// The value itself when the row permits it.
    ///
    /// # Errors
    /// [`OutOfRange`], naming the quantity, the value and what is permitted.
    pub fn check(&self, value: f64) -> Result<f64, OutOfRange> {
        if !self.contains(value) {
            Err(OutOfRange::Beyond { range: *self, value })
        } else if !self.steps.contains(value) {
            Err(OutOfRange::BetweenSteps { range: *self, value })
        } else {
            Ok(value)
        }
    }
}

/// Writes each row as a constant of its own, and all of them as [`ALL`].
macro_rules! table {
    ($($(#[doc = $doc:literal])+ $row:ident = $range:expr;)+) => {
        $($(#[doc = $doc])+ pub const $row: Range = $range;)+

        /// Every row.
        pub const ALL: &[Range] = &[$($row),+];
    };
}

table! {
    /// Power of a lens or of one meridian of a prescription. The strongest trial lenses are about 20 D.
    POWER = Range::of("power", Unit::Dioptres, -40.0, 40.0).signed().marked();
    /// Power in a table of people, where plus is written without its sign too.
    TABLED_POWER = Range::of("prescribed power", Unit::Dioptres, -40.0, 40.0).maybe_signed();
    /// How many eyes a row of such a table stands for.
    EYES_COUNTED = Range::of("number of eyes", Unit::Count, 0.0, 1e9);
    /// What a lens costs, or what may be spent, in whatever a list of prices counts.
    PRICE = Range::of("price", Unit::Count, 0.0, 1e9);
    /// A part of people.
    SHARE = Range::of("share", Unit::Count, 0.0, 1.0);
    /// How long a search may take, in minutes.
    MINUTES = Range::of("number of minutes", Unit::Count, 0.001, 1440.0);
    /// By how much a keeper lets a power differ from its mark.
    OFF_ITS_MARK = Range::of("limit", Unit::Dioptres, 0.0, 10.0);
    /// After how many months a keeper has a lens measured again.
    MONTHS = Range::of("number of months", Unit::Count, 1.0, 600.0).whole();
    /// Power of a cross cylinder, which has both signs.
    CROSS_CYLINDER = Range::of("power of a cross cylinder", Unit::Dioptres, 0.0, 40.0).marked();
    /// Amount of a prism.
    PRISM = Range::of("prism", Unit::PrismDioptres, 0.0, 40.0).marked();
    /// Axis as written; 0 is accepted and means 180.
    AXIS = Range::of("axis", Unit::Degrees, 0.0, 180.0).whole();
    /// Addition for near, of both eyes: never minus. The most that is prescribed for low vision, from memory.
    ADDITION = Range::of("addition", Unit::Dioptres, 0.0, 20.0).maybe_signed().marked();
    /// What is taken off the spheres for a near chart: 1/d − 1/6 of the nearest chart, 0.5 m, is 1.83.
    CHART_ALLOWANCE = Range::of("what is taken off for the near chart", Unit::Dioptres, 0.0, 2.0);
    /// Base direction of a prism on the dial.
    BASE = Range::of("base", Unit::Degrees, 0.0, 359.0).whole();
    /// Distance from the cornea to the back vertex of the lens in cell 1.
    VERTEX_MM = Range::of("vertex distance", Unit::Millimetres, 0.0, 40.0);
    /// Distance from one cell to the next.
    GAP_MM = Range::of("gap", Unit::Millimetres, 0.0, 40.0);
    /// Where a lens's centre stands, or where it is looked through: plus is to the examiner's right, or up. Ours, no source: beyond the
    /// rim of any lens.
    PLACE_MM = Range::of("place", Unit::Millimetres, -40.0, 40.0).maybe_signed();
    /// How far a lens is tilted. Martin's formula is for small angles; 30° is ours, no source.
    TILT_DEG = Range::of("tilt", Unit::Degrees, 0.0, 30.0);
    /// How far a lens is turned about the vertical. As of a tilt.
    FACE_FORM_DEG = Range::of("face form", Unit::Degrees, 0.0, 30.0);
    /// A phoria, measured with prisms.
    PHORIA = Range::of("phoria", Unit::PrismDioptres, 0.0, 40.0);
    /// A fusional reserve, measured with prisms.
    RESERVE = Range::of("reserve", Unit::PrismDioptres, 0.0, 60.0);
    /// Pupillary distance of both eyes together.
    PD_MM = Range::of("pupillary distance", Unit::Millimetres, 30.0, 90.0);
    /// Pupillary distance of one eye, from the middle of the nose.
    MONOCULAR_PD_MM = Range::of("pupillary distance of one eye", Unit::Millimetres, 15.0, 45.0);
    /// Chart distance.
    CHART_M = Range::of("chart distance", Unit::Metres, 0.5, 10.0);
    /// Distance of near work.
    NEAR_M = Range::of("near distance", Unit::Metres, 0.1, 2.0);
    /// Working distance of retinoscopy.
    WORKING_M = Range::of("working distance", Unit::Metres, 0.1, 2.0);
    /// Size of print in points: N2 to N96.
    PRINT_N = Range::of("size of print", Unit::Count, 2.0, 96.0);
    /// Distance at which print is just clear.
    CLEAR_CM = Range::of("distance of clear print", Unit::Centimetres, 10.0, 200.0);
    /// Acuity as it is read off a chart: 6/1.9 to 6/1900, which is 0.5/160: the coarsest lines read nearest (ours, no source).
    LOG_MAR = Range::of("acuity", Unit::LogMar, -0.5, 2.5);
    /// Score of letters of an ETDRS chart: 100 letters are 20/10, the last line of the chart (from memory).
    LETTER_SCORE = Range::of("score of letters", Unit::Count, 0.0, 100.0).whole();
    /// Lower figure of the 6 m fraction of the best acuity of a practice eye: 12 for 6/12. 1.9 and 600 are logMAR −0.5 and 2.
    DENOMINATOR_6_M = Range::of("lower figure of the 6 m fraction", Unit::Count, 1.9, 600.0);
    /// The greatest miss that counts as reached: from what two places of a power can say to where no stack is near.
    WITHIN_D = Range::of("miss", Unit::Dioptres, 0.005, 2.0);
    /// How far a lens may be off its mark.
    MARK_TOLERANCE_D = Range::of("tolerance of the marks", Unit::Dioptres, 0.0, 0.5);
    /// How far the axis of a lens is off the lines on its rim; minus is clockwise. Ours, no source: more is another axis.
    AXIS_OFF = Range::of("axis off the lines", Unit::Degrees, -45.0, 45.0).maybe_signed();
    /// Letters missed or gained on a line.
    LETTERS = Range::of("number of letters", Unit::Count, 1.0, 9.0).whole();
    /// How far one reading of a practice eye lies from another: a standard deviation, in letters. Five are a line.
    READING_LETTERS = Range::of("spread of readings", Unit::Count, 0.0, 15.0);
    /// Accommodation of a practice eye that is not relaxed.
    TONE_D = Range::of("accommodation that is not relaxed", Unit::Dioptres, 0.0, 5.0);
    /// A teacher's pass line: what may be left in any meridian of an eye. Ours, no source.
    PASS_LINE_D = Range::of("pass line", Unit::Dioptres, 0.05, 5.0);
    /// How long somebody may take to refract a practice eye.
    STATION_MINUTES = Range::of("time of a station", Unit::Minutes, 1.0, 240.0);
    /// Items of a drill in a lesson.
    DRILL_ITEMS = Range::of("number of items", Unit::Count, 1.0, 100.0).whole();
    /// How hard a drill is, or somebody to refract.
    LEVEL = Range::of("level", Unit::Count, 1.0, 3.0).whole();
    /// A seed that stands in a file.
    SEED = Range::of("seed", Unit::Count, 0.0, 4_294_967_295.0).whole();
    /// Pieces of one kind and power in a box.
    EACH = Range::of("count", Unit::Count, 1.0, 99.0).whole();
    /// Sphere of a ready-made pair. Ours, no source: beyond it glasses are made to measure.
    SHELF_POWER = Range::of("power of a ready-made pair", Unit::Dioptres, -12.0, 12.0).signed().marked();
    /// Pairs of one power and centre distance on a shelf.
    SHELF_EACH = Range::of("number of pairs", Unit::Count, 1.0, 999.0).whole();
    /// Kinds of pair on a shelf: each power with each centre distance.
    SHELF_KINDS = Range::of("number of kinds of pair", Unit::Count, 1.0, 400.0).whole();
    /// Powers in one series.
    SERIES = Range::of("number of powers in a series", Unit::Count, 1.0, 400.0).whole();
    /// Cells before one eye.
    CELLS = Range::of("number of cells", Unit::Count, 1.0, 8.0).whole();
    /// Degrees between two marks of a frame's dial.
    AXIS_MARKS = Range::of("distance of axis marks", Unit::Degrees, 1.0, 45.0).whole();
    /// Lower hour of a line of the fan, half hours between two lines.
    CLOCK_HOURS = Range::of("hour of the clock", Unit::Hours, 1.0, 6.5).halves();
    /// Age of a person.
    AGE_YEARS = Range::of("age", Unit::Years, 1.0, 120.0).whole();
    /// Time until drops are ready; atropine takes three days.
    DROPS_MIN = Range::of("time until drops are ready", Unit::Minutes, 1.0, 10_080.0).whole();
}
