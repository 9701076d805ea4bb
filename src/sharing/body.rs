//! What an entry is about, as bytes: hashed as it is, deflated to be kept.

use std::fmt;
use std::io::{self, Read as _, Write as _};

use flate2::Compression;
use flate2::read::ZlibDecoder;
use flate2::write::ZlibEncoder;
use sha2::{Digest as _, Sha256};
use thiserror::Error;

/// An SHA-256.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash([u8; 32]);

impl Hash {
    /// What stands before the first entry of a writer.
    pub const NONE: Self = Self([0; 32]);

    /// Of some bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// From the bytes of a hash.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        bytes.try_into().ok().map(Self)
    }

    /// From text as [`struct@Hash`] is displayed.
    pub fn from_text(text: &str) -> Option<Self> {
        let pairs = text.as_bytes().chunks(2).map(|pair| u8::from_str_radix(str::from_utf8(pair).ok()?, 16).ok());
        Self::from_bytes(&pairs.collect::<Option<Vec<u8>>>()?)
    }

    /// SHA-256 as 32 bytes, as they are kept.
    pub fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// Hashes a row of fields, each with its length, so that no two rows of fields run into the same bytes.
#[derive(Default)]
pub struct Fields(Sha256);

impl Fields {
    /// Adds a field.
    #[must_use]
    pub fn field(mut self, bytes: &[u8]) -> Self {
        self.0.update((bytes.len() as u64).to_be_bytes());
        self.0.update(bytes);
        self
    }

    /// Adds a field that may be missing, which is not the same as being empty.
    #[must_use]
    pub fn maybe(self, bytes: Option<&[u8]>) -> Self {
        match bytes {
            Some(bytes) => self.field(&[1]).field(bytes),
            None => self.field(&[0]),
        }
    }

    /// The hash of all of them.
    pub fn hash(self) -> Hash {
        Hash(self.0.finalize().into())
    }
}

/// One row of an exam as the logbook holds it: its beginning or a step.
#[derive(Debug, Clone, Copy)]
pub struct ExamRow<'a> {
    /// 0 for the beginning, from 1 for a step.
    pub number: i64,
    /// When, as it is kept.
    pub at: &'a str,
    /// The form of its text.
    pub format: i64,
    /// Its text, byte for byte as it is kept.
    pub text: &'a str,
}

/// The body of a closed exam: its beginning and all its steps as they stand in the file, undo among them.
///
/// Each row is a line with its number, time, form and length of text in bytes, and then the text: nothing a text holds can
/// be taken for another row.
pub fn exam_body<'a>(rows: impl IntoIterator<Item = ExamRow<'a>>) -> Vec<u8> {
    let mut body = Vec::new();
    for ExamRow { number, at, format, text } in rows {
        body.extend(format!("{number} {at} {format} {}\n{text}\n", text.len()).bytes());
    }
    body
}

/// The rows of the body of a closed exam; none where it is not one.
pub fn exam_rows(body: &str) -> Option<Vec<ExamRow<'_>>> {
    let mut rows = Vec::new();
    let mut rest = body;
    while !rest.is_empty() {
        let (head, after) = rest.split_once('\n')?;
        let mut fields = head.split(' ');
        let number = fields.next()?.parse().ok()?;
        let at = fields.next()?;
        let format = fields.next()?.parse().ok()?;
        let length: usize = fields.next()?.parse().ok()?;
        if fields.next().is_some() {
            return None;
        }
        let text = after.get(..length)?;
        rest = after.get(length..)?.strip_prefix('\n')?;
        rows.push(ExamRow { number, at, format, text });
    }
    Some(rows)
}

/// A body that cannot be inflated.
#[derive(Debug, Error)]
pub enum BodyError {
    /// It is not what was deflated.
    #[error("it cannot be unpacked ({0})")]
    NotDeflated(#[from] io::Error),
    /// It is larger than anything that is kept.
    #[error("unpacked it has more than {most} bytes ({} MB), the most that is read", most >> 20)]
    TooLarge {
        /// The most that is read.
        most: u64,
    },
}

/// A body as it is kept.
///
/// # Errors
/// Never on the bytes in memory that this writes to; the type of the writer says otherwise.
pub fn deflate(body: &[u8]) -> Result<Vec<u8>, BodyError> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    encoder.write_all(body)?;
    Ok(encoder.finish()?)
}

/// A kept body as it was, at most that many bytes.
///
/// # Errors
/// When it is not whole, or larger than `most`.
pub fn inflate(kept: &[u8], most: u64) -> Result<Vec<u8>, BodyError> {
    let mut body = Vec::new();
    ZlibDecoder::new(kept).take(most + 1).read_to_end(&mut body)?;
    if body.len() as u64 > most { Err(BodyError::TooLarge { most }) } else { Ok(body) }
}
