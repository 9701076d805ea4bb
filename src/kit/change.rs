//! What can happen to a piece of a box outside an exam, as it is kept.

use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::lens::{Lens, LensLabelError, Piece, PoweredKind};
use super::motion::Motion;
use super::pieces::Place;

/// Something that happened to a piece of the box outside an exam.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BoxChange {
    /// Not found at stock-take.
    Lost(Piece),
    /// Found again.
    Found(Piece),
    /// Given to somebody for a while.
    Lent {
        /// The piece that was given away.
        piece: Piece,
        /// To whom; logbooks of before it had to be said have none.
        to: Option<String>,
        /// The day by which it should be back, if one was agreed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        until: Option<Date>,
    },
    /// Given back.
    Returned(Piece),
    /// Scratched, chipped or loose in its rim.
    #[serde(deserialize_with = "damaged_of")]
    Damaged {
        /// The piece that is damaged.
        piece: Piece,
        /// What is the matter with it, if that was said.
        #[serde(skip_serializing_if = "Option::is_none")]
        what: Option<String>,
    },
    /// Mended or cleaned: whole again.
    Mended(Piece),
    /// Measured on a focimeter; a power equal to the mark confirms the mark.
    Measured {
        /// The piece that was on the focimeter.
        piece: Piece,
        /// What was measured.
        #[serde(flatten)]
        measurement: Measurement,
    },
    /// A further piece came into the box.
    Added(Further),
    /// A piece was taken out of the set for good.
    Retired(Piece),
    /// A piece went over to another box, where it is a further piece.
    Moved {
        /// The piece of the box that it left.
        piece: Piece,
        /// By what the logbook knows the box that it came to.
        to: String,
        /// Its number among its like there, once it is known.
        number: Option<u8>,
        /// Whether it is damaged there too.
        #[serde(default, skip_serializing_if = "is_false")]
        damaged: bool,
        /// Its measured power, where that differs from the mark: it counts there too.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        measured: Option<f64>,
        /// How it is marked by its keeper: it is marked so there too.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        own_mark: Option<String>,
    },
    /// Held together with others, moved before a line far away.
    Looked {
        /// The piece.
        piece: Piece,
        /// What it was held together with.
        with: Vec<Piece>,
        /// How the line moved.
        seen: Motion,
    },
    /// Marked by whoever keeps the box, so that a hand finds this piece among its like.
    Marked {
        /// The piece.
        piece: Piece,
        /// How, in a word or two: `white dot`; nothing where the mark is gone.
        own_mark: Option<String>,
    },
    /// Something to be remembered of a piece.
    Note {
        /// The piece.
        piece: Piece,
        /// What.
        text: String,
    },
    /// Said where a piece is, once and for all that was noted of its place before.
    Settled {
        /// The piece.
        piece: Piece,
        /// Where it is.
        at: SettledAt,
    },
}

/// Where a piece is, as somebody settled it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SettledAt {
    /// In its place in the box.
    Box,
    /// Nobody knows.
    Lost,
    /// At a seat, by its name.
    Seat(String),
}

impl SettledAt {
    /// The place of the piece, seen from any other seat than that one.
    pub fn place(&self) -> Place {
        match self {
            Self::Box => Place::Box,
            Self::Lost => Place::Lost,
            Self::Seat(seat) => Place::Lent { to: Some(seat.clone()) },
        }
    }

    /// Whether it is at this seat.
    pub fn is_at(&self, seat: &str) -> bool {
        match self {
            Self::Seat(at) => at == seat,
            Self::Box | Self::Lost => false,
        }
    }
}

impl fmt::Display for SettledAt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Box => f.write_str("in the box"),
            Self::Lost => f.write_str("lost"),
            Self::Seat(seat) => write!(f, "at {seat}"),
        }
    }
}

/// What was found of a piece by measuring it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Measurement {
    /// Its power in dioptres; of a prism in prism dioptres.
    pub power: f64,
    /// How far its axis is off the lines on its rim, in degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axis_off_deg: Option<f64>,
    /// A prism that it should not have, in prism dioptres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prism: Option<f64>,
    /// The day on which it was measured, where that is not the day on which it was noted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<Date>,
    /// With which instrument.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// Whether somebody asked about a figure far from the mark said that it is so.
    #[serde(default, skip_serializing_if = "is_false")]
    pub sure: bool,
}

impl Measurement {
    /// A power and nothing else.
    pub fn of(power: f64) -> Self {
        Self { power, ..Self::default() }
    }

    /// Mark, measured power and the difference between them, and what else was found: always said together.
    pub fn against(&self, piece: &Piece) -> String {
        let Self { power, axis_off_deg, prism, on, instrument, sure: _ } = self;
        let mark = piece.lens.mark().unwrap_or_default();
        let is_signed = piece.lens.powered_kind().is_some_and(PoweredKind::is_signed);
        let (marked, measured) = if is_signed {
            (mark.to_string(), format!("{power:+.2}"))
        } else {
            (mark.unsigned(), format!("{power:.2}"))
        };
        let off = power - mark.dioptres();
        let what = [
            Some(format!("marked {marked}, measured {measured}, {off:+.2} off")),
            axis_off_deg.map(|axis| format!("axis {axis}\u{b0} off its lines")),
            prism.map(|prism| format!("prism {prism} \u{394}")),
            instrument.as_ref().map(|instrument| format!("with {instrument}")),
            on.map(|on| format!("on {on}")),
        ];
        let what: Vec<String> = what.into_iter().flatten().collect();
        what.join(", ")
    }
}

/// What a person calls a box that the logbook knows by its `id` or its name.
pub fn bare(key: &str) -> &str {
    key.split_once(':').map_or(key, |(_, bare)| bare)
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands it over so")]
fn is_false(value: &bool) -> bool {
    !*value
}

/// A piece that comes into a box: its lens, and once that is known its number among its like there.
///
/// Written and read as `-6.00 sphere` or `-6.00 sphere #3`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Further {
    /// What its label says.
    pub lens: Lens,
    /// Its number; without one it gets the next.
    pub number: Option<u8>,
}

impl Further {
    /// The piece, once its number is known.
    pub fn piece(&self) -> Option<Piece> {
        self.number.map(|number| Piece { lens: self.lens.clone(), number })
    }
}

impl From<Lens> for Further {
    fn from(lens: Lens) -> Self {
        Self { lens, number: None }
    }
}

impl From<Piece> for Further {
    fn from(Piece { lens, number }: Piece) -> Self {
        Self { lens, number: Some(number) }
    }
}

impl fmt::Display for Further {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.number {
            Some(number) => write!(f, "{} #{number}", self.lens),
            None => self.lens.fmt(f),
        }
    }
}

impl FromStr for Further {
    type Err = LensLabelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        if text.contains('#') { text.parse().map(Piece::into) } else { text.parse().map(Lens::into) }
    }
}

impl Serialize for Further {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Further {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

/// Damage as it was first kept, the piece alone, and as it is now.
fn damaged_of<'de, D: Deserializer<'de>>(deserializer: D) -> Result<(Piece, Option<String>), D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Kept {
        Alone(Piece),
        Said {
            piece: Piece,
            #[serde(default)]
            what: Option<String>,
        },
    }
    Ok(match Kept::deserialize(deserializer)? {
        Kept::Alone(piece) => (piece, None),
        Kept::Said { piece, what } => (piece, what),
    })
}

impl BoxChange {
    /// A piece goes over to the box that the logbook knows by this; what it is there is found when that is noted.
    pub fn moved_to(piece: Piece, to: &str) -> Self {
        Self::Moved { piece, to: to.to_owned(), number: None, damaged: false, measured: None, own_mark: None }
    }

    /// The piece that it is about, of a look the first; `None` for one that gets its number only by the change.
    pub fn piece(&self) -> Option<Piece> {
        match self {
            Self::Lost(piece)
            | Self::Found(piece)
            | Self::Returned(piece)
            | Self::Mended(piece)
            | Self::Retired(piece)
            | Self::Lent { piece, .. }
            | Self::Damaged { piece, .. }
            | Self::Measured { piece, .. }
            | Self::Moved { piece, .. }
            | Self::Looked { piece, .. }
            | Self::Marked { piece, .. }
            | Self::Settled { piece, .. }
            | Self::Note { piece, .. } => Some(piece.clone()),
            Self::Added(further) => further.piece(),
        }
    }

    /// Every piece that it is about: of a look all that were held together.
    pub fn pieces(&self) -> Vec<Piece> {
        match self.looked() {
            Some((pieces, _)) => pieces,
            None => self.piece().into_iter().collect(),
        }
    }

    /// Whether it is about a piece of this lens.
    pub fn is_about(&self, lens: &Lens) -> bool {
        self.lens() == lens || self.pieces().iter().any(|piece| piece.lens == *lens)
    }

    /// The lens of whose pieces it is about one.
    pub fn lens(&self) -> &Lens {
        match self {
            Self::Lost(piece)
            | Self::Found(piece)
            | Self::Returned(piece)
            | Self::Mended(piece)
            | Self::Retired(piece)
            | Self::Lent { piece, .. }
            | Self::Damaged { piece, .. }
            | Self::Measured { piece, .. }
            | Self::Moved { piece, .. }
            | Self::Looked { piece, .. }
            | Self::Marked { piece, .. }
            | Self::Settled { piece, .. }
            | Self::Note { piece, .. } => &piece.lens,
            Self::Added(further) => &further.lens,
        }
    }

    /// The piece that it is about, or the lens of which it brings a further one.
    pub fn subject(&self) -> String {
        self.piece().map_or_else(|| self.lens().to_string(), |piece| piece.to_string())
    }

    /// What more was said of it: to whom and until when, what is damaged, what was measured.
    pub fn details(&self) -> Option<String> {
        match self {
            Self::Lent { to, until, .. } => {
                let to = to.as_ref().map(|to| format!("to {to}"));
                let until = until.map(|until| format!("until {until}"));
                let said: Vec<String> = [to, until].into_iter().flatten().collect();
                (!said.is_empty()).then(|| said.join(" "))
            }
            Self::Damaged { what, .. } => what.clone(),
            Self::Measured { piece, measurement } => Some(measurement.against(piece)),
            Self::Moved { to, number, .. } => {
                let there = number.map(|number| format!(", there #{number}")).unwrap_or_default();
                Some(format!("to {}{there}", bare(to)))
            }
            Self::Looked { with, seen, .. } => {
                let with: Vec<String> = with.iter().map(ToString::to_string).collect();
                let moves = match seen {
                    Motion::With => "the line moves with them",
                    Motion::Against => "the line moves against them",
                    Motion::Still => "the line stands still",
                };
                Some(format!("together with {}: {moves}", with.join(" and ")))
            }
            Self::Marked { own_mark, .. } => Some(own_mark.clone().unwrap_or_else(|| "no mark any more".to_owned())),
            Self::Note { text, .. } => Some(text.clone()),
            Self::Settled { at, .. } => Some(at.to_string()),
            Self::Lost(_)
            | Self::Found(_)
            | Self::Returned(_)
            | Self::Mended(_)
            | Self::Added(_)
            | Self::Retired(_) => None,
        }
    }

    /// The word for it: `lost`, `lent`.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Lost(_) => "lost",
            Self::Found(_) => "found",
            Self::Lent { .. } => "lent",
            Self::Returned(_) => "returned",
            Self::Damaged { .. } => "damaged",
            Self::Mended(_) => "mended",
            Self::Measured { .. } => "measured",
            Self::Added(_) => "added",
            Self::Retired(_) => "retired",
            Self::Moved { .. } => "moved",
            Self::Looked { .. } => "looked",
            Self::Marked { .. } => "marked",
            Self::Note { .. } => "note",
            Self::Settled { .. } => "settled",
        }
    }

    /// Whether it gives a piece to somebody for a while.
    pub fn lends(&self) -> bool {
        matches!(self, Self::Lent { .. })
    }

    /// Whether the piece is not at hand after it.
    pub fn takes_away(&self) -> bool {
        match self {
            Self::Lost(_) | Self::Lent { .. } | Self::Retired(_) | Self::Moved { .. } => true,
            Self::Settled { at, .. } => at.place() != Place::Box,
            Self::Found(_)
            | Self::Returned(_)
            | Self::Damaged { .. }
            | Self::Mended(_)
            | Self::Measured { .. }
            | Self::Added(_)
            | Self::Looked { .. }
            | Self::Marked { .. }
            | Self::Note { .. } => false,
        }
    }

    /// Whether the piece is at hand again after it.
    pub fn brings_back(&self) -> bool {
        match self {
            Self::Found(_) | Self::Returned(_) => true,
            Self::Settled { at, .. } => at.place() == Place::Box,
            Self::Lost(_)
            | Self::Lent { .. }
            | Self::Retired(_)
            | Self::Damaged { .. }
            | Self::Mended(_)
            | Self::Measured { .. }
            | Self::Added(_)
            | Self::Moved { .. }
            | Self::Looked { .. }
            | Self::Marked { .. }
            | Self::Note { .. } => false,
        }
    }

    /// What was held together, and how the line moved, if it is a look.
    pub fn looked(&self) -> Option<(Vec<Piece>, Motion)> {
        let Self::Looked { piece, with, seen } = self else { return None };
        Some((std::iter::once(piece).chain(with).cloned().collect(), *seen))
    }

    /// Where it settles that its piece is, if it does.
    pub fn settles(&self) -> Option<&SettledAt> {
        if let Self::Settled { at, .. } = self { Some(at) } else { None }
    }

    /// Until when somebody has the piece after it, if it is about that; no day where none was agreed.
    pub fn away_until(&self) -> Option<Option<Date>> {
        if let Self::Lent { until, .. } = self { Some(*until) } else { self.settles().map(|_| None) }
    }

    /// What it brings into the box.
    pub fn added(&self) -> Option<&Further> {
        if let Self::Added(further) = self { Some(further) } else { None }
    }

    /// What a piece that comes over from another box by this change is in that box; by what the logbook knows that.
    pub fn moves_to(&self) -> Option<(&str, Piece)> {
        let Self::Moved { piece, to, number, .. } = self else { return None };
        Some((to, Piece { lens: piece.lens.clone(), number: (*number)? }))
    }

    /// What a move does to the box that the piece comes to.
    pub fn arrives_as(&self) -> Vec<Self> {
        let (Some((_, piece)), Self::Moved { damaged, measured, own_mark, .. }) = (self.moves_to(), self) else {
            return Vec::new();
        };
        let mut changes = vec![Self::Added(piece.clone().into())];
        if *damaged {
            changes.push(Self::Damaged { piece: piece.clone(), what: None });
        }
        if let Some(power) = *measured {
            let measurement = Measurement { sure: true, ..Measurement::of(power) };
            changes.push(Self::Measured { piece: piece.clone(), measurement });
        }
        if own_mark.is_some() {
            changes.push(Self::Marked { piece, own_mark: own_mark.clone() });
        }
        changes
    }
}
