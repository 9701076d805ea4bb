//! The write-ahead log beside the file, read by ourselves: to see whether it belongs to the file, and to read both where
//! SQLite could not make its companions.
//!
//! The format is SQLite's own (<https://www.sqlite.org/fileformat2.html>, 4).

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::logbook::files::beside;

const HEADER: usize = 32;
const FRAME_HEADER: usize = 24;

/// The two numbers with which a log begins: its checksums are of little-endian words, or of big-endian ones.
const MAGIC_LITTLE: u32 = 0x377f_0682;
const MAGIC_BIG: u32 = 0x377f_0683;

/// What stands in a log up to its last commit.
pub struct Log {
    bytes: Vec<u8>,
    page_size: usize,
    /// Where the latest content of each page begins.
    pages: BTreeMap<u32, usize>,
    /// How many pages the file has with the log.
    pages_after: u32,
}

impl Log {
    /// The log beside a file; `None` where nothing stands in it.
    pub fn of(path: &Path) -> Option<Self> {
        Self::read(fs::read(beside(path, "-wal")).ok()?)
    }

    fn read(bytes: Vec<u8>) -> Option<Self> {
        let magic = word(&bytes, 0)?;
        let big_endian = match magic {
            MAGIC_LITTLE => false,
            MAGIC_BIG => true,
            _ => return None,
        };
        let page_size = match word(&bytes, 8)? {
            size @ 512..=65_536 if size.is_power_of_two() => size as usize,
            _ => return None,
        };
        let mut sums = add_to((0, 0), bytes.get(..24)?, big_endian);
        if sums != (word(&bytes, 24)?, word(&bytes, 28)?) {
            return None;
        }
        let salt = bytes[16..24].to_vec();
        let (mut pages, mut pages_after) = (BTreeMap::new(), 0);
        let mut uncommitted = Vec::new();
        for start in (HEADER..).step_by(FRAME_HEADER + page_size) {
            let content = start + FRAME_HEADER;
            let (Some(head), Some(page)) = (bytes.get(start..content), bytes.get(content..content + page_size)) else {
                break;
            };
            sums = add_to(add_to(sums, &head[..8], big_endian), page, big_endian);
            if head[8..16] != salt || Some(sums) != word(head, 16).zip(word(head, 20)) {
                break;
            }
            let (number, size) = (word(head, 0)?, word(head, 4)?);
            // pages are counted from 1
            if number == 0 {
                break;
            }
            uncommitted.push((number, content));
            if size > 0 {
                pages_after = size;
                pages.extend(uncommitted.drain(..));
            }
        }
        (pages_after > 0).then_some(Self { bytes, page_size, pages, pages_after })
    }

    /// Whether file and log have every page between them. A file only grows, so one that is looked at after its log has
    /// whatever the log no longer needs to hold.
    pub fn completes(&self, file_bytes: u64, page_size: usize) -> bool {
        let in_file = u32::try_from(file_bytes / self.page_size as u64).unwrap_or(u32::MAX);
        page_size == self.page_size && (in_file + 1..=self.pages_after).all(|page| self.pages.contains_key(&page))
    }

    /// A file with its log folded into it, as one that has no log.
    pub fn folded_into(&self, mut file: Vec<u8>) -> Vec<u8> {
        // what is in neither of them is not made up, however many pages the log speaks of
        let size = (self.pages_after as usize).saturating_mul(self.page_size);
        file.resize(size.min(file.len() + self.bytes.len()), 0);
        for (number, content) in &self.pages {
            let place = (*number as usize - 1) * self.page_size;
            if let Some(page) = file.get_mut(place..place + self.page_size) {
                page.copy_from_slice(&self.bytes[*content..*content + self.page_size]);
            }
        }
        // the versions of the format for writing and for reading: 1 is a rollback journal, 2 a log
        if let Some(versions) = file.get_mut(18..20) {
            versions.fill(1);
        }
        file
    }
}

fn word(bytes: &[u8], place: usize) -> Option<u32> {
    Some(u32::from_be_bytes(bytes.get(place..place + 4)?.try_into().ok()?))
}

fn add_to(sums: (u32, u32), bytes: &[u8], big_endian: bool) -> (u32, u32) {
    bytes.chunks_exact(8).fold(sums, |(first, second), pair| {
        let [one, other] = [0, 4].map(|place| {
            let word = [pair[place], pair[place + 1], pair[place + 2], pair[place + 3]];
            if big_endian { u32::from_be_bytes(word) } else { u32::from_le_bytes(word) }
        });
        let first = first.wrapping_add(one).wrapping_add(second);
        (first, second.wrapping_add(other).wrapping_add(first))
    })
}
