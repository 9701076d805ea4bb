//! What is said to have happened to lenses, as words of a command or cells of a sheet, and the changes that it comes to.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, anyhow, bail};
use clap::ValueEnum;
use jiff::civil::Date;

use super::lenses::{Choosing, Meant, further_lens};
use crate::command::files::say;
use crate::kit::document::fault::{gives_orders, quoted};
use crate::kit::document::load::from_anywhere;
use crate::kit::own_marks::LONGEST_MARK;
use crate::kit::{
    BoxChange, DeclaredBox, Further, Measurement, Piece, Place, Stock, StockError, StockedPiece, read_box,
};
use crate::logbook::{BeforeAnEye, Logbook, NamedBox};
use crate::optics::notation::parse_figure;
use crate::session::known::{named, note_file};

/// What can happen to a lens outside an exam.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum What {
    /// Not found at stock-take.
    Lost,
    /// Found again.
    Found,
    /// Given to somebody for a while.
    Lent,
    /// Given back.
    Returned,
    /// Scratched, chipped or loose in its rim.
    Damaged,
    /// Mended or cleaned: whole again.
    Mended,
    /// Measured on a focimeter.
    Measured,
    /// A further piece came into the box.
    Added,
    /// Taken out of the set for good.
    Retired,
    /// Gone over to another box, in both at once.
    Moved,
    /// Marked by you, in a word or two after the lens, so that a hand finds this piece; `none` where the mark is gone.
    Marked,
    /// Something to be remembered, with --note.
    Note,
}

impl What {
    /// What more can be said of it, beside a note.
    pub fn takes(self) -> &'static [&'static str] {
        match self {
            Self::Lent => &["--to", "--until"],
            Self::Moved => &["--to"],
            Self::Measured => &["--axis-off", "--prism", "--on", "--instrument"],
            Self::Lost
            | Self::Found
            | Self::Returned
            | Self::Damaged
            | Self::Mended
            | Self::Added
            | Self::Retired
            | Self::Marked
            | Self::Note => &[],
        }
    }

    /// The word that is typed for it.
    pub fn word(self) -> String {
        self.to_possible_value().map(|value| value.get_name().to_owned()).unwrap_or_default()
    }

    /// What is typed by this word.
    pub fn typed(word: &str) -> anyhow::Result<Self> {
        Self::from_str(word, true).map_err(|_| {
            let words: Vec<String> = Self::value_variants().iter().map(|what| what.word()).collect();
            anyhow!("there is no event {}: {}", quoted(word), crate::kit::document::fault::choice(&words))
        })
    }

    /// Whether a power is said of the lens.
    pub fn has_a_power(self) -> bool {
        self == Self::Measured
    }

    /// Whether a mark is said of the lens.
    pub fn has_a_mark(self) -> bool {
        self == Self::Marked
    }

    /// Whether a note is a part of what happened.
    pub fn has_the_note_in_it(self) -> bool {
        match self {
            Self::Damaged | Self::Note => true,
            Self::Lost
            | Self::Found
            | Self::Lent
            | Self::Returned
            | Self::Mended
            | Self::Measured
            | Self::Added
            | Self::Retired
            | Self::Marked
            | Self::Moved => false,
        }
    }

    /// Whether the lens that comes by it need not be in the box.
    pub fn brings_a_further(self) -> bool {
        self == Self::Added
    }

    /// Whether it can happen to a piece now.
    fn fits(self, stocked: &StockedPiece) -> bool {
        let here = stocked.place == Place::Box;
        match self {
            Self::Lost | Self::Lent | Self::Moved => here,
            Self::Found => stocked.place == Place::Lost,
            Self::Returned => stocked.place.is_lent(),
            Self::Damaged => here && !stocked.damaged,
            Self::Mended => stocked.damaged,
            Self::Retired | Self::Measured | Self::Marked | Self::Note => true,
            Self::Added => false,
        }
    }

    /// Whether a piece that stands before an eye in an open exam is passed over for another one alike.
    fn passes_over_what_is_in_a_frame(self) -> bool {
        match self {
            Self::Lost | Self::Lent | Self::Moved | Self::Retired => true,
            Self::Found
            | Self::Returned
            | Self::Damaged
            | Self::Mended
            | Self::Measured
            | Self::Added
            | Self::Marked
            | Self::Note => false,
        }
    }
}

/// What is said of one event.
#[derive(Debug, Clone, Default)]
pub struct Said {
    /// To whom, or to which box.
    pub to: Option<String>,
    /// Until when.
    pub until: Option<Date>,
    /// What was measured, as it was typed.
    pub power: Option<String>,
    /// What else was measured.
    pub measurement: Measurement,
    /// How it is marked, as it was typed.
    pub own_mark: Option<String>,
    /// What is to be remembered.
    pub note: Option<String>,
}

/// A box that pieces move to.
struct Target {
    named_as: String,
    file: PathBuf,
    named: NamedBox,
    declared: DeclaredBox,
}

/// The boxes that pieces move to, each read once.
#[derive(Default)]
pub struct Targets {
    /// Each with how it was named, and its file.
    found: Vec<Target>,
}

impl Targets {
    /// The boxes, as the logbook wants them.
    pub fn boxes(&self) -> Vec<(NamedBox, &DeclaredBox)> {
        self.found.iter().map(|target| (target.named.clone(), &target.declared)).collect()
    }

    /// Notes where they were read from.
    pub fn note_files(&self, logbook: &mut Logbook) -> anyhow::Result<()> {
        for target in &self.found {
            say(note_file(logbook, &target.named, &from_anywhere(&target.file)?)?.as_ref());
        }
        Ok(())
    }

    /// The box that is meant by an `id`, a name or a file.
    fn find(&mut self, logbook: Option<&Logbook>, to: &str) -> anyhow::Result<&NamedBox> {
        if let Some(at) = self.found.iter().position(|target| target.named_as == to) {
            return Ok(&self.found[at].named);
        }
        let file = target_file(logbook, to)?;
        let declared = read_box(&file)?;
        self.found.push(Target { named_as: to.to_owned(), file, named: named(&declared), declared });
        Ok(&self.found[self.found.len() - 1].named)
    }
}

/// The file of the box that is meant by an `id`, a name or the file itself.
fn target_file(logbook: Option<&Logbook>, to: &str) -> anyhow::Result<PathBuf> {
    let known = logbook.map(Logbook::boxes).transpose()?.unwrap_or_default();
    let by_id = known.iter().find(|(named, _)| named.key.is_id() && named.key.to_string() == to);
    let mut by_name = known.iter().filter(|(named, _)| named.name == to);
    let one_by_name = by_name.next();
    if by_id.is_none() && one_by_name.is_some() && by_name.next().is_some() {
        bail!("--to: the logbook knows several boxes by the name {to}: give the id of the one that is meant");
    }
    match by_id.or(one_by_name) {
        Some((_, Some(file))) if file.exists() || read_box(file).is_ok() => Ok(file.clone()),
        Some((named, Some(file))) => {
            bail!(
                "--to: the box {} was last read from {}, which is not there: name its file",
                named.name,
                file.display()
            )
        }
        Some((named, None)) => bail!("--to: where the file of the box {} is, is not known: name it", named.name),
        None if Path::new(to).exists() => Ok(to.into()),
        None => bail!("--to: no box is known by the id {}: name the id or the file of one", quoted(to)),
    }
}

/// What is needed to find the pieces that are meant.
pub struct Around<'a> {
    /// The logbook, where there is one.
    pub logbook: Option<&'a Logbook>,
    /// What stands before an eye in open exams.
    pub in_frames: &'a [BeforeAnEye],
    /// Whether a doubtful figure is so.
    pub sure: bool,
}

/// The changes that one event comes to, with the box as it is by now.
///
/// # Errors
/// When no such pieces are there, or something is not said that has to be.
pub fn changes(
    what: What,
    meant: &[Meant],
    said: &Said,
    stock: &Stock,
    around: &Around<'_>,
    targets: &mut Targets,
) -> anyhow::Result<Vec<BoxChange>> {
    if what == What::Added {
        return added(meant, stock);
    }
    let to = to_whom(what, said)?;
    let mut changes: Vec<BoxChange> = Vec::new();
    let mut stock = stock.clone();
    for meant in meant {
        let in_a_frame = |piece: &Piece| around.in_frames.iter().any(|there| there.piece == *piece);
        let fits = |stocked: &StockedPiece| {
            what.fits(stocked) && !(what.passes_over_what_is_in_a_frame() && in_a_frame(&stocked.piece))
        };
        let of_one_piece = matches!(what, What::Measured | What::Marked | What::Note);
        let word = what.word();
        let choosing = Choosing { stock: &stock, fits: &fits, word: &word, of_one_piece };
        for piece in choosing.pieces(meant)? {
            if what.passes_over_what_is_in_a_frame()
                && let Some(there) = around.in_frames.iter().find(|there| there.piece == piece)
            {
                return Err(there.refusal().into());
            }
            let change = change(what, piece, to.as_deref(), said, around, targets)?;
            stock.note(&change).map_err(with_sure)?;
            changes.push(change);
        }
    }
    Ok(changes)
}

/// A refusal with the option that takes what is refused all the same.
fn with_sure(why: StockError) -> anyhow::Error {
    let is_doubt = why.is_a_doubt();
    let why = anyhow::Error::from(why);
    if is_doubt { anyhow!("{why}: --sure") } else { why }
}

fn change(
    what: What,
    piece: Piece,
    to: Option<&str>,
    said: &Said,
    around: &Around<'_>,
    targets: &mut Targets,
) -> anyhow::Result<BoxChange> {
    Ok(match what {
        What::Lost => BoxChange::Lost(piece),
        What::Found => BoxChange::Found(piece),
        What::Returned => BoxChange::Returned(piece),
        What::Mended => BoxChange::Mended(piece),
        What::Retired => BoxChange::Retired(piece),
        What::Added => BoxChange::Added(piece.lens.into()),
        What::Lent => BoxChange::Lent { piece, to: to.map(str::to_owned), until: said.until },
        What::Damaged => BoxChange::Damaged { piece, what: said.note.clone() },
        What::Moved => {
            let target = targets.find(around.logbook, to.unwrap_or_default())?;
            BoxChange::moved_to(piece, target.key.as_str())
        }
        What::Marked => BoxChange::Marked { own_mark: own_mark(&piece, said)?, piece },
        What::Note => {
            let text = said.note.clone().ok_or_else(|| anyhow!("what is to be noted? Say it with --note"))?;
            BoxChange::Note { piece, text }
        }
        What::Measured => {
            let power =
                said.power.as_deref().ok_or_else(|| anyhow!("what was measured of {piece}? Its power is not said"))?;
            let row = piece.lens.power_range().ok_or_else(|| StockError::NoPower { piece: piece.clone() })?;
            let power = parse_figure(power, &row.measured()).context("measured power")?;
            BoxChange::Measured {
                piece,
                measurement: Measurement { power, sure: around.sure, ..said.measurement.clone() },
            }
        }
    })
}

/// How a piece is marked; nothing where its mark is gone.
fn own_mark(piece: &Piece, said: &Said) -> anyhow::Result<Option<String>> {
    let how = || anyhow!("how is {piece} marked? Say it in a word or two, or `none` where the mark is gone");
    let mark = said.own_mark.as_deref().ok_or_else(how)?;
    let mark = in_one_line("mark", mark, LONGEST_MARK)?;
    Ok((mark != "none").then_some(mark))
}

/// To whom a lens is lent or into which box it goes, checked as a name.
fn to_whom(what: What, said: &Said) -> anyhow::Result<Option<String>> {
    let to = said.to.as_deref().map(|to| in_one_line("--to", to, LONGEST_NAME)).transpose()?;
    match what {
        What::Lent | What::Moved if to.is_none() => {
            let whom = if what == What::Lent {
                "to whom is it lent? Say it with --to NAME"
            } else {
                "to which box? Say it with --to ID"
            };
            bail!("{whom}")
        }
        _ => Ok(to),
    }
}

fn added(meant: &[Meant], stock: &Stock) -> anyhow::Result<Vec<BoxChange>> {
    let mut changes = Vec::new();
    for meant in meant {
        let (lenses, pieces) = match meant {
            Meant::Piece(piece) => bail!("`{piece}`: a further piece gets the next number by itself: leave the # out"),
            Meant::Alike { lens, pieces } => (vec![lens.clone()], *pieces),
            Meant::Each(lenses) => (lenses.clone(), 1),
            Meant::Row { name, .. } => bail!("row {name}: name the lenses that came"),
        };
        for lens in lenses {
            further_lens(&lens, stock)?;
            changes.extend((0..pieces).map(|_| BoxChange::Added(Further::from(lens.clone()))));
        }
    }
    Ok(changes)
}

/// The most characters of a name.
pub const LONGEST_NAME: usize = 60;
/// The most characters of a note.
pub const LONGEST_NOTE: usize = 400;

/// A text that stands in one line.
///
/// # Errors
/// When it is empty, has line ends or what a terminal would obey, or is too long.
pub fn in_one_line(option: &str, text: &str, most: usize) -> anyhow::Result<String> {
    let text = text.trim();
    if text.is_empty() {
        bail!("{option}: nothing stands there: say it, or leave it out");
    }
    if text.chars().any(gives_orders) {
        bail!("{option}: a name is one line of letters, figures and signs");
    }
    let length = text.chars().count();
    if length > most {
        bail!("{option}: a name has at most {most} characters, and this one has {length}");
    }
    Ok(text.to_owned())
}

/// A day as it is typed.
///
/// # Errors
/// When it is no day.
pub fn day(text: &str) -> Result<Date, String> {
    text.trim().parse().map_err(|_| format!("{} is not a day: write it like 2026-12-24", quoted(text)))
}
