//! Who signed what is read, and whether that is whom one knows.
//!
//! A key is known once somebody has taken it for that of a seat; it stands with the writer in the file of what was read. What an
//! entry that is known, or signed, follows needs no signature of its own: it cannot be another one.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::error::{ParcelError, ParcelFault};
use crate::logbook::engine::WriterRow;
use crate::sharing::{PublicKey, SeatName, WriterId};

/// A seat that signed something that is new.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signer {
    /// What it is called.
    pub seat: SeatName,
    /// The key by which it signed.
    pub key: PublicKey,
    /// Whether that is known.
    pub standing: Standing,
}

/// What a key is to whoever reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It was taken for one of the seat before.
    Known,
    /// It was never seen.
    New,
    /// The seat had another one.
    Changed {
        /// That one.
        before: PublicKey,
    },
}

/// Which keys that are not known are taken for those of the seats that they come with.
pub enum Trust<'a> {
    /// None.
    Known,
    /// Those never seen that the answer is yes to; each is asked about once.
    Asking(&'a mut dyn FnMut(&Signer) -> bool),
    /// Every one, and what is not signed too.
    All,
}

/// The keys that are known, and what is found out about those that come.
pub(super) struct Signers<'a> {
    keys: BTreeMap<WriterId, (String, PublicKey)>,
    trust: Trust<'a>,
    only_say: bool,
    taken: BTreeSet<PublicKey>,
    /// Who signed.
    pub met: Vec<Signer>,
    /// The files that have something new in them that nobody signed.
    pub not_signed: Vec<PathBuf>,
}

impl<'a> Signers<'a> {
    pub(super) fn of(trust: Trust<'a>, only_say: bool) -> Self {
        Self { keys: BTreeMap::new(), trust, only_say, taken: BTreeSet::new(), met: Vec::new(), not_signed: Vec::new() }
    }

    /// Knows the keys of what was read before.
    pub(super) fn know(&mut self, writers: &[WriterRow]) {
        let with_key = |writer: &WriterRow| Some((writer.id, (writer.seat.clone(), writer.key?)));
        self.keys.extend(writers.iter().filter_map(with_key));
    }

    /// Whether something new of a writer may be taken for what its seat wrote.
    ///
    /// # Errors
    /// When its seat has another key, or signs and this is not signed, or its key is not trusted.
    pub(super) fn look_at(
        &mut self,
        writer: WriterId,
        seat: &SeatName,
        file: &Path,
        signed_by: Option<PublicKey>,
    ) -> Result<(), ParcelError> {
        let of_seat = || self.keys.values().find(|(named, _)| named == seat.as_str());
        let before = self.keys.get(&writer).or_else(of_seat).map(|(_, key)| *key);
        let trusts_all = match self.trust {
            Trust::All => true,
            Trust::Known | Trust::Asking(_) => false,
        };
        let Some(key) = signed_by else {
            if before.is_some() && !trusts_all {
                return Err(ParcelFault::SignatureMissing { seat: seat.clone() }.at(file));
            }
            self.not_signed.push(file.to_owned());
            return Ok(());
        };
        let is_of_somebody = self.keys.values().any(|(_, known)| *known == key);
        let standing = match before {
            Some(before) if before != key => Standing::Changed { before },
            None if !is_of_somebody => Standing::New,
            _ => Standing::Known,
        };
        let signer = Signer { seat: seat.clone(), key, standing };
        match standing {
            Standing::Changed { .. } if !trusts_all => {
                return Err(ParcelFault::KeyChanged { seat: seat.clone(), now: key.fingerprint() }.at(file));
            }
            Standing::New if !self.only_say && !self.takes(&signer) => {
                let fingerprint = key.fingerprint();
                return Err(ParcelFault::NotTrusted { seat: seat.clone(), fingerprint }.at(file));
            }
            Standing::Known | Standing::New | Standing::Changed { .. } => {}
        }
        self.keys.insert(writer, (seat.to_string(), key));
        if !self.met.iter().any(|met| met.key == key && met.seat == *seat) {
            self.met.push(signer);
        }
        Ok(())
    }

    /// The key that is known of a writer by now.
    pub(super) fn key_of(&self, writer: WriterId) -> Option<PublicKey> {
        self.keys.get(&writer).map(|(_, key)| *key)
    }

    fn takes(&mut self, signer: &Signer) -> bool {
        let takes = self.taken.contains(&signer.key)
            || match &mut self.trust {
                Trust::Known => false,
                Trust::Asking(ask) => ask(signer),
                Trust::All => true,
            };
        if takes {
            self.taken.insert(signer.key);
        }
        takes
    }
}
