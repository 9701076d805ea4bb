//! The ways in which acuities are read, each with its code, and which of them an object has a place for.

use crate::export::record::{EyeRecord, Record};
use crate::export::words;
use crate::optics::{Acuity, Eyes};

/// One way in which acuities are read.
pub struct Way {
    /// As a part of a file name.
    pub name: &'static str,
    /// For people.
    pub shown: &'static str,
    /// Its code in context group 4216, Ophthalmic Visual Acuity Type (PS3.16): value, scheme and meaning.
    pub code: [&'static str; 3],
    /// What each eye read.
    pub of: fn(&EyeRecord) -> Option<Acuity>,
    /// What both eyes together read.
    pub of_both: fn(&Record) -> Option<Acuity>,
    /// Whether it is with the power that is written.
    pub is_with_prescription: bool,
}

/// In the order in which acuities are read.
pub const WAYS: [Way; 4] = [
    Way {
        name: "acuity-unaided",
        shown: "unaided",
        code: ["420050001", "SCT", "Uncorrected Visual Acuity"],
        of: |eye| eye.unaided,
        of_both: |_| None,
        is_with_prescription: false,
    },
    Way {
        name: "acuity-pinhole",
        shown: "through a pinhole",
        code: ["419475002", "SCT", "Pinhole Visual Acuity"],
        of: |eye| eye.pinhole,
        of_both: |_| None,
        is_with_prescription: false,
    },
    Way {
        name: "acuity-old-glasses",
        shown: "with the present glasses",
        code: ["111686", "DCM", "Habitual Visual Acuity"],
        of: |eye| eye.with_old_glasses,
        of_both: |record| record.both_with_old_glasses,
        is_with_prescription: false,
    },
    Way {
        name: "acuity-corrected",
        shown: "with the power found",
        code: ["419775003", "SCT", "Best Corrected Visual Acuity"],
        of: |eye| eye.with_prescription,
        of_both: |record| record.both_with_prescription,
        is_with_prescription: true,
    },
];

impl Way {
    /// The decimal acuity of each eye, letters counted in, where a letter was read.
    pub fn decimals(&self, record: &Record) -> Eyes<Option<f64>> {
        record.eyes().map(|eye| (self.of)(eye).and_then(decimal))
    }

    /// The same of both eyes together; the object has a place for it beside those of each eye.
    pub fn decimal_of_both(&self, record: &Record) -> Option<f64> {
        let of_each = self.decimals(record).into_iter().all(|read| read.is_some());
        (self.of_both)(record).and_then(decimal).filter(|_| of_each)
    }
}

fn decimal(read: Acuity) -> Option<f64> {
    read.mar().map(f64::recip)
}

/// What was read and is in no object: what is seen without a letter, and both eyes together where not each has its own.
pub fn only_in_words(record: &Record) -> Vec<String> {
    let mut lines = Vec::new();
    let mut say = |whose: String, way: &Way, read: Acuity| {
        let read = words::acuity(read, record.acuity_notation);
        lines.push(format!("{}, {}: {read}.", words::sentence(&whose), way.shown));
    };
    for way in &WAYS {
        for eye in record.eyes() {
            if let Some(read) = (way.of)(eye).filter(|read| read.mar().is_none()) {
                say(words::eye(eye.eye), way, read);
            }
        }
        if let Some(read) = (way.of_both)(record).filter(|_| way.decimal_of_both(record).is_none()) {
            say("both eyes".to_owned(), way, read);
        }
    }
    lines
}
