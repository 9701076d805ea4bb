//! A parcel, or a whole logbook, as it is read: whether it is what was written.

use std::fs;
use std::path::{Path, PathBuf};

use super::error::{ParcelError, ParcelFault};
use crate::logbook::engine::{EntryRow, ParcelRows};
use crate::logbook::error::LogbookError;
use crate::logbook::sqlite::parcels::{Kind, from_content, kind_of};
use crate::logbook::store::Logbook;
use crate::sharing::body::inflate;
use crate::sharing::sealing::Seal;
use crate::sharing::{BrokenChain, Hash, Heads, PublicKey, Sealed, Stretch, WriterId};

/// The most that is read of the body of one entry, in bytes.
const MOST_BYTES: u64 = 1 << 20;

/// A parcel that is as it was written.
#[derive(Debug)]
pub struct Parcel {
    /// The file.
    pub path: PathBuf,
    /// By which key it is signed; a whole logbook is not, nor is what was written before there were signatures.
    pub signed_by: Option<PublicKey>,
    pub(super) rows: ParcelRows,
}

/// What stands for the file where a parcel comes by a pipe.
pub const PIPE: &str = "-";

impl Parcel {
    /// Reads a parcel, or all that a logbook wrote, and checks each entry.
    ///
    /// # Errors
    /// When it is neither, is cut short, or one bit of it is not as it was.
    pub fn read(path: &Path) -> Result<Self, ParcelError> {
        let bytes = fs::read(path).map_err(|error| LogbookError::io(path, error))?;
        Self::of_bytes(path, &bytes, || {
            let logbook = Logbook::open_read_only(path)?;
            if !logbook.engine.spoken()?.is_empty() {
                return Err(ParcelFault::OfOthers.at(path));
            }
            Ok(logbook.engine.parcel_rows(&Heads::default())?)
        })
    }

    /// The same of a parcel that came by a pipe.
    ///
    /// # Errors
    /// As [`Parcel::read`].
    pub fn of_pipe(bytes: &[u8]) -> Result<Self, ParcelError> {
        let path = Path::new(PIPE);
        Self::of_bytes(path, bytes, || Err(ParcelFault::NotAParcel.at(path)))
    }

    /// The same of what came entry by entry; `path` says where from.
    ///
    /// # Errors
    /// When one of the entries is not as it was written.
    pub fn of_rows(path: &Path, rows: ParcelRows) -> Result<Self, ParcelError> {
        let parcel = Self { path: path.to_owned(), rows, signed_by: None };
        parcel.check_entries()?;
        Ok(parcel)
    }

    fn of_bytes(
        path: &Path,
        bytes: &[u8],
        of_logbook: impl FnOnce() -> Result<ParcelRows, ParcelError>,
    ) -> Result<Self, ParcelError> {
        let path = path.to_owned();
        let parcel = match kind_of(bytes) {
            Kind::Parcel { content, seal } => Self::of_content(path, content, seal)?,
            Kind::Sqlite => Self { path, signed_by: None, rows: of_logbook()? },
            Kind::Other => return Err(ParcelFault::NotAParcel.at(&path)),
        };
        parcel.check_entries()?;
        Ok(parcel)
    }

    /// What a parcel holds, if its seal and its signature hold; where they do not, an entry at fault is named, if it is one.
    fn of_content(path: PathBuf, content: &[u8], seal: Seal) -> Result<Self, ParcelError> {
        let (signed_by, refused) = match seal {
            Seal::Signed(key) => (Some(key), None),
            Seal::NotSigned => (None, None),
            Seal::WronglySigned => (None, Some(ParcelFault::WronglySigned)),
            // what was cut off took the seal along
            Seal::None | Seal::Broken => (None, Some(ParcelFault::NotAsWritten)),
        };
        let rows = from_content(content, &path).map_err(|_| ParcelFault::NotAsWritten.at(&path));
        let Some(refused) = refused else {
            let parcel = Self { path, signed_by, rows: rows? };
            // who has a key signs
            let is_stripped = signed_by.is_none() && parcel.rows.writers.iter().any(|writer| writer.key.is_some());
            return if is_stripped { Err(ParcelFault::WronglySigned.at(&parcel.path)) } else { Ok(parcel) };
        };
        let refused = refused.at(&path);
        let named = rows.and_then(|rows| Self { path, signed_by, rows }.check_entries());
        Err(named.err().unwrap_or(refused))
    }

    fn check_entries(&self) -> Result<(), ParcelError> {
        for rows in self.by_writer() {
            let writer = rows[0].sealed.writer;
            let sealed: Vec<Sealed> = rows.iter().map(|row| row.sealed.clone()).collect();
            let altered = |number| ParcelFault::Altered { whose: self.called(writer), number }.at(&self.path);
            match Stretch::check(writer, &sealed, self.rows.followed.contains(&writer)) {
                Ok(_) => {}
                Err(BrokenChain::Gap { number, .. } | BrokenChain::Altered { number, .. }) => {
                    return Err(altered(number));
                }
            }
            for row in rows {
                body(row).map_err(|()| altered(row.sealed.number))?;
            }
        }
        Ok(())
    }

    /// The entries of each writer.
    pub(super) fn by_writer(&self) -> impl Iterator<Item = &[EntryRow]> {
        self.rows.entries.chunk_by(|one, next| one.sealed.writer == next.sealed.writer)
    }

    /// What a writer is called, in words.
    pub(super) fn called(&self, writer: WriterId) -> String {
        let seat = self.rows.writers.iter().find(|known| known.id == writer && !known.seat.is_empty());
        seat.map_or_else(|| format!("writer {writer}"), |known| known.seat.clone())
    }

    /// How many entries it brings.
    pub fn entries(&self) -> usize {
        self.rows.entries.len().saturating_sub(self.rows.followed.len())
    }

    /// The last entry of each writer in it.
    pub(super) fn heads(&self) -> Heads {
        let mut heads = Heads::default();
        self.rows.entries.iter().for_each(|row| heads.learn(row.sealed.writer, row.sealed.number));
        heads
    }
}

/// The body of an entry as it was before it was deflated; none where it was not sent.
pub(super) fn body(row: &EntryRow) -> Result<Option<Vec<u8>>, ()> {
    let Some(deflated) = &row.body else { return Ok(None) };
    let body = inflate(deflated, MOST_BYTES).map_err(|_| ())?;
    if Hash::of(&body) == row.sealed.entry.body_hash { Ok(Some(body)) } else { Err(()) }
}
