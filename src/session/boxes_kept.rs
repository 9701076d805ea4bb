//! The boxes of a logbook, for whoever keeps them: read, changed, counted.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use uuid::Uuid;

use super::box_now::{BagOut, BoxKnown, BoxNow, BoxOnRecord, Happened, LastCount, NotSettled, OnLoan, ToNote};
use super::error::{RecordError, SaveError, StepError};
use super::fresh::{KeptBox, Sources};
use super::known::{known_by_name, named as known_as};
use super::writing::Writing;
use crate::export::saving::{Existing, save};
use crate::frame::{DeclaredFrame, write_frame};
use crate::keeping::{declared_bag, marks_in_the_bag};
use crate::kit::bag::note_of_bag;
use crate::kit::document::load::{from_anywhere, is_only_shipped};
use crate::kit::document::name::fresh_id;
use crate::kit::file::{write_box, write_new_box};
use crate::kit::shipped::{demo_box, template};
use crate::kit::stock_take::Ending;
use crate::kit::{BoxChange, DeclaredBox, Lens, StockTake, StockedPiece, Tray, read_box};
use crate::logbook::{Logbook, LogbookError, NamedBox, NewChanges, OfBag, SaidOfPiece, StockOnRecord};

/// The boxes of a logbook, one of them that of the open exam.
pub struct Boxes<'a> {
    /// Where they are kept.
    pub logbook: &'a mut Logbook,
    /// The box of the exam.
    pub in_box: &'a KeptBox,
    /// Where it is read from.
    pub sources: &'a Sources,
    /// Time zone, and who notes.
    pub writing: &'a Writing,
}

/// The boxes of a logbook that are only looked at.
pub struct BoxesSeen<'a> {
    /// Where they are kept.
    pub logbook: &'a Logbook,
    /// The box of the exam.
    pub in_box: &'a KeptBox,
    /// Where it is read from.
    pub sources: &'a Sources,
    /// Time zone.
    pub writing: &'a Writing,
}

/// What could not be noted: it counts as not done where it is not the box that refuses it.
fn not_noted(error: LogbookError) -> RecordError {
    if error.is_a_refusal_of_a_box() {
        error.into()
    } else {
        RecordError::Step(StepError::NotSaved(SaveError::new(error)))
    }
}

impl BoxesSeen<'_> {
    /// The box of the exam, or another by what it is known, as its file declares it now.
    ///
    /// # Errors
    /// When it is not known, its file is not, has faults, or is of another box by now.
    pub fn declared(&self, other: Option<&str>) -> Result<(NamedBox, DeclaredBox), RecordError> {
        let Some(other) = other else {
            let declared = self.sources.box_file.as_deref().map_or_else(demo_box, read_box)?;
            let named = self.in_box.in_box.clone();
            return self.unless_another(named, declared);
        };
        let known = self.logbook.boxes()?.into_iter().find(|(named, _)| named.key.as_str() == other);
        let (named, file) = known.ok_or_else(|| RecordError::NoSuchBox(other.to_owned()))?;
        let file = file.ok_or_else(|| RecordError::NoBoxFile(named.name.clone()))?;
        self.unless_another(named, read_box(&file)?)
    }

    fn unless_another(&self, named: NamedBox, declared: DeclaredBox) -> Result<(NamedBox, DeclaredBox), RecordError> {
        let is_the_same = self.logbook.is_same_box(&known_as(&declared).key, &named.key)?;
        if is_the_same { Ok((named, declared)) } else { Err(RecordError::AnotherBox(named.name, declared.name)) }
    }

    /// The box as it is now; what stands before the eyes is in its place in the box here.
    ///
    /// # Errors
    /// As [`Self::declared`], and when the logbook cannot be read.
    pub fn now(&self, other: Option<&str>) -> Result<BoxNow, RecordError> {
        let (named, declared) = self.declared(other)?;
        let record = self.logbook.stock_of(&named.key, &declared)?;
        let is_being_counted = self.logbook.stock_take(&named.key)?.is_some();
        let mut now = self.of_record(&named, &declared, record, other.is_none(), is_being_counted);
        let back = self.logbook.bag(&named.key)?.filter(OfBag::is_back);
        now.notes.extend(back.map(|bag| format!("this bag is back: its pieces are in {} again", bag.home.name)));
        Ok(now)
    }

    fn of_record(
        &self,
        named: &NamedBox,
        declared: &DeclaredBox,
        record: StockOnRecord,
        is_of_the_exam: bool,
        is_being_counted: bool,
    ) -> BoxNow {
        let day = |at: Timestamp| self.writing.local(at).date();
        let today = day(Timestamp::now());
        let happened = record.history().into_iter().map(|line| Happened {
            day: day(line.at),
            by: line.by,
            event: line.event,
            lens: line.lens,
            piece: line.piece,
            with: line.with,
            says: line.says,
            note: line.note,
            is_slip: line.slip.is_some(),
            seat: line.seat.map(|seat| seat.to_string()),
        });
        let happened = happened.collect();
        let loans = record.loans(today).into_iter().map(|loan| OnLoan {
            piece: loan.piece,
            to: loan.to,
            since: day(loan.since),
            until: loan.until,
        });
        let loans = loans.collect();
        let refused = record.refused.iter().map(|refused| refused.why.to_string());
        let handed = record.handed_over().map(|handed| {
            let to: Vec<String> = handed.to.iter().map(ToString::to_string).collect();
            let whose = if handed.is_closed_here { "that seat alone changes it" } else { "this seat alone changes it" };
            format!("handed over to {}: {whose}", to.join(" and "))
        });
        let notes = handed.into_iter().chain(record.unread.iter().cloned()).chain(refused).collect();
        let unsettled = record.unsettled().into_iter().map(|one| NotSettled {
            question: one.question(),
            is_of_the_place: one.is_of_the_place(),
            said: one.said.iter().map(SaidOfPiece::in_words).collect(),
            piece: one.piece,
        });
        let unsettled = unsettled.collect();
        let away = record.stock.pieces().iter().filter(|stocked| !stocked.place.is_at_hand());
        let noted_at = away.filter_map(|of| Some((of.piece.clone(), record.place_noted_at(&of.piece)?.to_string())));
        let noted_at = noted_at.collect();
        BoxNow {
            key: named.key.as_str().to_owned(),
            tray: Tray::of(&declared.tray, &record.stock).rows,
            tray_is_declared: !declared.tray.is_empty(),
            happened,
            own_marks: record.own_marks(),
            looked: record.entries.standing_changes().filter(|change| change.looked().is_some()).collect(),
            loans,
            unsettled,
            noted_at,
            last_counted: record.last_stock_take().map(|(at, count)| LastCount { day: day(at), count: count.to_vec() }),
            is_being_counted,
            today,
            is_of_the_exam,
            notes,
            stock: record.stock,
        }
    }

    /// Every box that is known.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn all(&self) -> Result<Vec<BoxKnown>, RecordError> {
        let of_the_exam = &self.in_box.in_box.key;
        let known = self.logbook.boxes()?.into_iter().map(|(named, file)| {
            Ok(BoxKnown {
                is_of_the_exam: self.logbook.is_same_box(&named.key, of_the_exam)?,
                key: named.key.as_str().to_owned(),
                name: named.name,
                file: file.map(|file| file.display().to_string()),
            })
        });
        known.collect()
    }

    /// The box with all that was noted of it; what stands before the eyes of an open exam stands there.
    ///
    /// # Errors
    /// As [`Self::now`].
    pub fn on_record(&self, other: Option<&str>) -> Result<BoxOnRecord, RecordError> {
        let (named, declared) = self.declared(other)?;
        let mut record = self.logbook.stock_of(&named.key, &declared)?;
        for there in self.logbook.before_eyes(&named.key)? {
            // of two open exams with something in one cell, one is there
            let _ = record.stock.place(&there.piece, there.place);
        }
        let tray = Tray::of(&declared.tray, &record.stock);
        let now = self.writing.local(Timestamp::now());
        let file = match other {
            None => self.sources.box_file.clone(),
            Some(other) => {
                let known = self.logbook.boxes()?.into_iter().find(|(named, _)| named.key.as_str() == other);
                known.and_then(|(_, file)| file)
            }
        };
        let file = file.map_or_else(|| "it comes with the program".to_owned(), |file| file.display().to_string());
        Ok(BoxOnRecord { record, tray, today: now.date(), zone: now.time_zone().clone(), file })
    }

    /// The stock-take of a box that is in progress, or one that begins with the box as it is now.
    ///
    /// # Errors
    /// As [`Self::now`].
    pub fn stock_take(&self, other: Option<&str>) -> Result<StockTake, RecordError> {
        let (named, declared) = self.declared(other)?;
        if let Some(kept) = self.logbook.stock_take(&named.key)? {
            return Ok(kept.take);
        }
        let stock = self.logbook.stock_of(&named.key, &declared)?.stock;
        Ok(StockTake::begin(&Tray::of(&declared.tray, &stock), &stock))
    }
}

impl Boxes<'_> {
    fn seen(&self) -> BoxesSeen<'_> {
        let Self { logbook, in_box, sources, writing } = self;
        BoxesSeen { logbook, in_box, sources, writing }
    }

    /// Notes what happened, all of it or nothing.
    ///
    /// # Errors
    /// When the box refuses it or it cannot be saved.
    pub fn note(&mut self, other: Option<&str>, to_note: &ToNote) -> Result<(), RecordError> {
        let (named, declared) = self.seen().declared(other)?;
        let mut others: Vec<(NamedBox, DeclaredBox)> = Vec::new();
        for change in &to_note.changes {
            let BoxChange::Moved { to, .. } = change else { continue };
            if others.iter().all(|(named, _)| named.key.as_str() != to) {
                others.push(self.seen().declared(Some(to))?);
            }
        }
        let others: Vec<_> = others.iter().map(|(named, declared)| (named.clone(), declared)).collect();
        let new = NewChanges {
            changes: to_note.changes.clone(),
            note: to_note.note.as_deref(),
            by: self.writing.examiner(),
            at: Timestamp::now(),
            count: None,
        };
        self.logbook.note_in_box(&named, &declared, &new, &others).map(|_| ()).map_err(not_noted)
    }

    /// Takes back what was noted last, and says what that was.
    ///
    /// # Errors
    /// When nothing is left, something rests on it, or it cannot be saved.
    pub fn take_back(&mut self, other: Option<&str>) -> Result<Vec<BoxChange>, RecordError> {
        let (named, declared) = self.seen().declared(other)?;
        let by = self.writing.examiner();
        let taken_back = self.logbook.undo_in_box(&named, &declared, None, by, Timestamp::now());
        Ok(taken_back.map_err(not_noted)?.slip.body.changes().to_vec())
    }

    /// Writes a new box of a template beside the box of the exam, with an `id` of its own.
    ///
    /// # Errors
    /// When there is no such template, or the file cannot be written.
    pub fn new_box(&mut self, name: &str, of: &str) -> Result<(String, PathBuf), RecordError> {
        let of = template(of)?.ok_or_else(|| RecordError::NoSuchBox(of.to_owned()))?;
        let id = fresh_id(name, Uuid::new_v4());
        let every = |lens: &Lens| of.lines.iter().find(|line| line.lens == *lens).map_or(0, |line| line.declared);
        let text = write_new_box(&of, name, &id, &every);
        let file = save(&self.beside_the_box(&id), text.as_bytes(), Existing::Stays)?;
        let named = NamedBox::new(Some(&id), name);
        self.logbook.note_box_file(&named, &file)?;
        Ok((named.key.as_str().to_owned(), file))
    }

    /// Learns of a box by its file. Returns by what it is known.
    ///
    /// # Errors
    /// When the file has faults, or it has to be asked first whether it is a box that is known by its name.
    pub fn know(&mut self, file: &Path) -> Result<String, RecordError> {
        let declared = read_box(file)?;
        let named = known_as(&declared);
        if known_by_name(self.logbook, &named)?.is_some() {
            return Err(RecordError::PerhapsKnown { file: file.to_owned(), name: named.name });
        }
        let file = from_anywhere(file).map_err(|error| RecordError::NoPath { file: file.to_owned(), error })?;
        self.logbook.note_box_file(&named, &file)?;
        Ok(named.key.as_str().to_owned())
    }

    /// Writes the file of a new frame beside the box of the exam, under a name of its own.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn new_frame_file(&self, frame: &DeclaredFrame) -> Result<PathBuf, RecordError> {
        let id = fresh_id(&format!("frame {}", frame.name), Uuid::new_v4());
        Ok(save(&self.beside_the_box(&id), write_frame(frame).as_bytes(), Existing::Stays)?)
    }

    /// Where a file with this name lies beside the box of the exam; one that comes with the program has no folder of its own.
    fn beside_the_box(&self, id: &str) -> PathBuf {
        let of_its_own = self.sources.box_file.as_deref().filter(|file| !is_only_shipped(file));
        of_its_own.and_then(Path::parent).unwrap_or(Path::new("")).join(format!("{id}.yaml"))
    }

    /// Checks a bag out: it is written beside the box as a box of its own, and its pieces are lent in one entry.
    ///
    /// # Errors
    /// When the file cannot be written, the box refuses it, or it cannot be saved; no file is left then.
    pub fn check_out(&mut self, other: Option<&str>, bag: &BagOut) -> Result<PathBuf, RecordError> {
        let (named, declared) = self.seen().declared(other)?;
        let id = fresh_id(&bag.name, Uuid::new_v4());
        let declared_bag = declared_bag(&declared, bag.name.clone(), id.clone(), &bag.pieces);
        let lent =
            |of: &StockedPiece| BoxChange::Lent { piece: of.piece.clone(), to: Some(bag.to.clone()), until: bag.until };
        let note = note_of_bag(&id);
        let new = NewChanges {
            changes: bag.pieces.iter().map(lent).collect(),
            note: Some(&note),
            by: self.writing.examiner(),
            at: Timestamp::now(),
            count: None,
        };
        // the file first: whoever is stopped between the two has a file too many, and no lens is away without one
        let file = save(&self.beside_the_box(&id), write_box(&declared_bag, None).as_bytes(), Existing::Stays)?;
        let noted = self.logbook.note_in_box(&named, &declared, &new, &[]);
        let noted = noted.map_err(|error| {
            let _gone = fs::remove_file(&file);
            not_noted(error)
        })?;
        let marked = marks_in_the_bag(&noted.on_record.own_marks(), &bag.pieces);
        if !marked.is_empty() {
            let marks = NewChanges { changes: marked, note: None, ..new };
            self.logbook.note_in_box(&known_as(&declared_bag), &declared_bag, &marks, &[]).map_err(not_noted)?;
        }
        self.logbook.note_box_file(&known_as(&declared_bag), &file)?;
        Ok(file)
    }

    /// Keeps a stock-take that goes on.
    ///
    /// # Errors
    /// When it cannot be saved.
    pub fn keep_stock_take(&mut self, other: Option<&str>, take: &StockTake) -> Result<(), RecordError> {
        let (named, _) = self.seen().declared(other)?;
        self.logbook.keep_stock_take(&named, take, Timestamp::now()).map_err(not_noted)
    }

    /// Gives a stock-take up.
    ///
    /// # Errors
    /// When that cannot be saved.
    pub fn give_up_stock_take(&mut self, other: Option<&str>) -> Result<(), RecordError> {
        let (named, _) = self.seen().declared(other)?;
        self.logbook.give_up_stock_take(&named, Timestamp::now()).map_err(not_noted)
    }

    /// Ends a stock-take: what it came to is noted, all of it or nothing.
    ///
    /// # Errors
    /// When the box refuses it or it cannot be saved; it goes on then.
    pub fn end_stock_take(&mut self, other: Option<&str>, ending: &Ending) -> Result<(), RecordError> {
        let (named, declared) = self.seen().declared(other)?;
        let by = self.writing.examiner();
        let ended = self.logbook.end_stock_take(&named, &declared, ending, by, Timestamp::now());
        ended.map(|_| ()).map_err(not_noted)
    }
}
