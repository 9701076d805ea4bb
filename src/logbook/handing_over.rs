//! A box that goes out to another seat, which alone changes it until it is handed back.

use jiff::Timestamp;

use super::boxes::StockOnRecord;
use super::engine::NewBoxEntry;
use super::error::LogbookError;
use super::happened::BoxEntry;
use super::names::NamedBox;
use super::noting::{entry, refuse_what_is_handed_over};
use super::store::Logbook;
use super::told::known_of_box;
use crate::kit::DeclaredBox;
use crate::sharing::SeatName;

impl Logbook {
    /// Notes that a box goes out to a seat, or that it is handed back, and returns the box after it.
    ///
    /// # Errors
    /// When that is not the name of a seat; when it goes to this seat itself, or is with another one already; when it is handed back and nobody has it; when a lens of
    /// it stands before an eye in an open exam and the box goes out; or when it cannot be written. Nothing is noted then.
    pub fn hand_over_box(
        &mut self,
        in_box: &NamedBox,
        declared: &DeclaredBox,
        to: Option<&str>,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<StockOnRecord, LogbookError> {
        let to = to.map(SeatName::new).transpose()?;
        let to = to.as_ref();
        loop {
            let seen = to.map(|_| self.engine.seen()).transpose()?;
            if to.is_some()
                && let Some(there) = self.before_eyes(&in_box.key)?.first()
            {
                return Err(there.refusal());
            }
            let reader = self.reader(std::iter::once(in_box))?;
            let added = self.engine.add_box_change(in_box, &[], seen, &mut |before| {
                let mut read = before.into_iter().zip(&reader).map(|(rows, reader)| reader.read(rows));
                let Some((here, theirs)) = read.next() else {
                    return Err(LogbookError::NoSuchBox { key: in_box.key.clone() });
                };
                let now = StockOnRecord::of(declared, here, theirs);
                refuse(in_box, &now, to)?;
                let after = known_of_box(&now.entries, &now.others);
                let body = BoxEntry::HandedOver { to: to.cloned(), note: None };
                let new = entry(in_box, &body, by, at, after.as_ref())?;
                Ok(NewBoxEntry { new, further: Vec::new(), ends_stock_take: false })
            })?;
            if added {
                return self.stock_of(&in_box.key, declared);
            }
        }
    }
}

fn refuse(in_box: &NamedBox, now: &StockOnRecord, to: Option<&SeatName>) -> Result<(), LogbookError> {
    let box_name = || in_box.name.clone();
    match to {
        Some(seat) if now.others.own_seat.as_ref() == Some(seat) => {
            Err(LogbookError::HandedOverHere { box_name: box_name(), seat: seat.clone() })
        }
        Some(_) => refuse_what_is_handed_over(in_box, now),
        // whoever has it hands it back, and whoever it was handed back to notes it too
        None if now.handed_over().is_some() => Ok(()),
        None => Err(LogbookError::NotHandedOver { box_name: box_name() }),
    }
}
