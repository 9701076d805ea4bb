//! What a lens without a mark is, by the loose lenses of a box that neutralise it: as a person's glasses are neutralised, one
//! meridian after the other, and always *to within* what was left open.
//!
//! The lens is moved before a cross far away. By Prentice's rule a minus lens shifts a line the way it is moved (*with*), a
//! plus lens the other way (*against*); turned about its middle, a cylinder makes the lines of the cross scissor, and a prism
//! shows it beside itself wherever it is moved.

use std::fmt;

use crate::kit::{Lens, LooseSpheres, Mark, Motion, Piece, Place, PoweredKind, Stock};
use crate::optics::notation::{Style, write_power};
use crate::stacking::loose_halving::{Halving, Interval, MOST_D, Seen, Trial};

/// A meridian of so little power is taken to have none, in dioptres: half of what a hand tells apart.
const NO_POWER_D: f64 = 0.125;
/// Beyond this strength front and back of a lens differ by more than the trials leave, in dioptres: common practice, no source.
pub const STRONG_D: f64 = 6.0;

/// What the cross does when the lens is moved and turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turned {
    /// Its lines move, and turning the lens changes nothing.
    Moves,
    /// Its lines scissor when the lens is turned.
    Scissors,
    /// It stands beside itself, and moves neither with the lens nor against it.
    Beside,
    /// It stays as it is.
    Stays,
}

impl Turned {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Moves, Self::Scissors, Self::Beside, Self::Stays];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Moves => "moves",
            Self::Scissors => "scissors",
            Self::Beside => "beside",
            Self::Stays => "stays",
        }
    }
}

/// Which meridian of the lens is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meridian {
    /// Any: a sphere has the same power in each.
    Any,
    /// Along the first of the two unbroken lines.
    First,
    /// Along the second.
    Second,
}

/// What to do next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ask {
    /// Look at a cross through the lens, move it sideways, turn it like a wheel.
    Turn,
    /// Hold these against it and move it.
    Hold {
        /// What is held.
        trial: Trial,
        /// Along which meridian it is moved.
        meridian: Meridian,
        /// Between what it lies so far.
        lies: Interval,
    },
}

/// What a lens turned out to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nature {
    /// No power.
    Plano,
    /// The same power in every meridian.
    Sphere(Interval),
    /// Power in one meridian alone.
    Cylinder(Interval),
    /// Power in both, and not the same: no lens of a trial box.
    TwoPowers(Interval, Interval),
    /// A prism: hold the prisms of the box against it, base to base, until the cross is whole.
    Prism,
    /// Stronger than the free lenses neutralise.
    BeyondReach,
}

/// A power that is known to within a width; a figure where other lists write a word.
fn to_within(lies: Interval) -> String {
    format!("{}, to within {:.2}", figure(lies.middle_d()), lies.within_d())
}

/// Between which powers it lies, in words.
pub fn between(lies: Interval) -> String {
    format!("between {} and {}", figure(lies.least_d), figure(lies.most_d))
}

fn figure(power_d: f64) -> String {
    let written = write_power(power_d, Style::Ascii);
    if written == "plano" { "0.00".to_owned() } else { written }
}

impl fmt::Display for Nature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Plano => write!(f, "No power: a plano lens."),
            Self::Sphere(lies) => write!(f, "A sphere of {}.", to_within(*lies)),
            Self::Cylinder(lies) => write!(f, "A cylinder of {}.", to_within(*lies)),
            Self::TwoPowers(first, second) => {
                let [first, second] = [first, second].map(|lies| between(*lies));
                write!(
                    f,
                    "Power in both lines, {first} along the first and {second} along the second: not a lens of a trial box."
                )
            }
            Self::Prism => write!(
                f,
                "A prism: hold prisms of the box against it, base against point, until the cross is whole; that prism is its own."
            ),
            Self::BeyondReach => write!(f, "Stronger than the free lenses of this box neutralise."),
        }
    }
}

impl Nature {
    /// The lens of a box that it is nearest to, if it is one.
    pub fn nearest_lens(self) -> Option<Lens> {
        let marked = |kind: PoweredKind, lies: Interval| {
            let quarter = (lies.middle_d() * 4.0).round() / 4.0;
            let mark = Mark::nearest(quarter);
            match kind {
                PoweredKind::Sphere => Some(Lens::Sphere(mark)),
                PoweredKind::Cylinder if !mark.is_plano() => Some(Lens::Cylinder(mark)),
                PoweredKind::Cylinder | PoweredKind::Prism | PoweredKind::CrossCylinder => None,
            }
        };
        match self {
            Self::Plano => Some(Lens::Sphere(Mark::nearest(0.0))),
            Self::Sphere(lies) => marked(PoweredKind::Sphere, lies),
            Self::Cylinder(lies) => marked(PoweredKind::Cylinder, lies),
            Self::TwoPowers(..) | Self::Prism | Self::BeyondReach => None,
        }
    }

    /// The powers between which it lies, in the meridian that has one.
    pub fn lies(self) -> Option<Interval> {
        match self {
            Self::Sphere(lies) | Self::Cylinder(lies) => Some(lies),
            Self::Plano | Self::TwoPowers(..) | Self::Prism | Self::BeyondReach => None,
        }
    }

    /// Whether it is so strong that front and back differ by more than the trials leave.
    pub fn is_strong(self) -> bool {
        self.lies().is_some_and(|lies| lies.middle_d().abs() > STRONG_D)
    }
}

/// One lens whose power is looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct UnknownLens {
    loose: Vec<LooseSpheres>,
    turned: Option<Turned>,
    first: Halving,
    second: Halving,
}

impl UnknownLens {
    /// Begins with the loose lenses of a box.
    pub fn begin(stock: &Stock) -> Self {
        let from_end_to_end = Halving::from_end_to_end;
        Self { loose: LooseSpheres::of(stock), turned: None, first: from_end_to_end(), second: from_end_to_end() }
    }

    /// What to do next; `None` once it is known what it is.
    pub fn ask(&self) -> Option<Ask> {
        match self.turned {
            None => Some(Ask::Turn),
            Some(Turned::Beside | Turned::Stays) => None,
            Some(Turned::Moves) => self.hold(&self.first, Meridian::Any),
            Some(Turned::Scissors) => {
                let first = self.hold(&self.first, Meridian::First);
                let found = self.first.found().is_some();
                first.or_else(|| found.then(|| self.hold(&self.second, Meridian::Second)).flatten())
            }
        }
    }

    fn hold(&self, halving: &Halving, meridian: Meridian) -> Option<Ask> {
        halving.next(&self.loose).map(|trial| Ask::Hold { trial, meridian, lies: halving.lies() })
    }

    /// Takes in what the cross does when the lens is moved and turned.
    pub fn turned(&mut self, turned: Turned) {
        self.turned = Some(turned);
    }

    /// Takes in how the line moved behind the lens and what was asked to be held against it; nothing when nothing was.
    pub fn moved(&mut self, motion: Motion) {
        let Some(Ask::Hold { trial, meridian, .. }) = self.ask() else { return };
        let seen = match motion {
            Motion::With => Seen::With,
            Motion::Against => Seen::Against,
            Motion::Still => Seen::Still,
        };
        match meridian {
            Meridian::Any | Meridian::First => self.first.seen(trial, seen),
            Meridian::Second => self.second.seen(trial, seen),
        }
    }

    /// What it is, once nothing more is asked.
    pub fn found(&self) -> Option<Nature> {
        if self.ask().is_some() {
            return None;
        }
        let has_power = |lies: Interval| lies.middle_d().abs() > NO_POWER_D;
        Some(match self.turned? {
            Turned::Stays => Nature::Plano,
            Turned::Beside => Nature::Prism,
            Turned::Moves => self
                .first
                .found()
                .map_or(Nature::BeyondReach, |lies| if has_power(lies) { Nature::Sphere(lies) } else { Nature::Plano }),
            Turned::Scissors => match (self.first.found(), self.second.found()) {
                (Some(first), Some(second)) => match (has_power(first), has_power(second)) {
                    (true, true) => Nature::TwoPowers(first, second),
                    (true, false) => Nature::Cylinder(first),
                    (false, true) => Nature::Cylinder(second),
                    (false, false) => Nature::Plano,
                },
                (None, _) | (_, None) => Nature::BeyondReach,
            },
        })
    }
}

/// The lost pieces of a box that a lens may be: of its kind, with a mark between what was found.
pub fn waiting_for(stock: &Stock, nature: Nature) -> Vec<Piece> {
    let Some((lens, lies)) = nature.nearest_lens().zip(nature.lies()) else { return Vec::new() };
    let is_between = |mark: Mark| mark.dioptres() >= lies.least_d - 1e-9 && mark.dioptres() <= lies.most_d + 1e-9;
    let fits = |of: &Lens| of.is_of_the_kind_of(&lens) && of.mark().is_some_and(is_between);
    let lost = stock.pieces().iter().filter(|stocked| stocked.place == Place::Lost && fits(&stocked.piece.lens));
    lost.map(|stocked| stocked.piece.clone()).collect()
}

/// Nothing stronger than this is looked for, in dioptres.
pub const STRONGEST_D: f64 = MOST_D;
