//! The Box screen where other seats noted something of the box: what counts, what is to be settled, and that an exam that is open
//! stays as it is.

use std::path::{Path, PathBuf};

use dioptray::kit::{BoxChange, Measurement, Place, read_box};
use dioptray::logbook::parcels::key::key_of;
use dioptray::logbook::parcels::read::Parcel;
use dioptray::logbook::parcels::signers::Trust;
use dioptray::logbook::parcels::taking::{Reading, take_in};
use dioptray::logbook::{Logbook, NamedBox};
use dioptray::optics::{AcuityNotation, CylinderForm, Eye};
use dioptray::screen::theme::Glyphs;
use dioptray::screen::{App, Settings, view};
use dioptray::session::{Beginning, Writing};
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;

use super::Failure;
use super::laws::{press, refused};
use crate::pictures::Album;

/// A folder with a box and the logbooks of two seats.
struct Folder {
    root: tempfile::TempDir,
}

impl Folder {
    fn new() -> Result<Self, Failure> {
        let root = tempfile::tempdir()?;
        let text = std::fs::read_to_string("kits/boxes/outreach.yaml")?;
        let text = text.replace("box: Hillside outreach", "box: Hillside outreach\nid: hillside");
        std::fs::write(root.path().join("box.yaml"), text)?;
        Ok(Self { root })
    }

    fn path(&self, name: &str) -> PathBuf {
        self.root.path().join(name)
    }

    /// The screen of the seat lane3.
    fn screen(&self) -> Result<App, Failure> {
        self.begun(false)
    }

    /// The same, with a new exam in any case.
    fn begun(&self, new: bool) -> Result<App, Failure> {
        let beginning = Beginning {
            box_file: Some(self.path("box.yaml")),
            frame_file: None,
            new,
            carries_over: None,
            writing: Writing::new(CylinderForm::Minus, AcuityNotation::SixMetres, Some("K.M.".to_owned())),
        };
        let begun = beginning.in_logbook(&self.logbook("lane3"))?;
        Ok(App::new(begun.session, Settings::shipped()?))
    }

    fn logbook(&self, seat: &str) -> PathBuf {
        self.path(seat).join("logbook.db")
    }

    /// What teamB notes, read at lane3.
    fn noted_at_team_b(&self, changes: &[BoxChange]) -> Result<(), Failure> {
        let declared = read_box(&self.path("box.yaml"))?;
        let mut logbook = Logbook::open(&self.logbook("teamB"))?;
        logbook.name_seat("teamB")?;
        let named = NamedBox::new(Some("hillside"), &declared.name);
        for change in changes {
            logbook.change_box(&named, &declared, change, Some("A.B."), "2026-03-01T09:30:00Z".parse()?)?;
        }
        let parcel = self.path("parcel");
        std::fs::write(&parcel, logbook.parcel(None, &key_of(logbook.path())?)?.bytes)?;
        Self::read(&self.logbook("lane3"), &parcel)
    }

    fn read(at: &Path, parcel: &Path) -> Result<(), Failure> {
        let reading = Reading { with_gap: false, only_say: false, trust: Trust::All };
        take_in(at, &[Parcel::read(parcel)?], reading)?;
        Ok(())
    }
}

fn lost(piece: &str) -> Result<BoxChange, Failure> {
    Ok(BoxChange::Lost(piece.parse()?))
}

fn lent(piece: &str) -> Result<BoxChange, Failure> {
    Ok(BoxChange::Lent { piece: piece.parse()?, to: Some("Clinic 4".to_owned()), until: None })
}

fn place(app: &App, piece: &str) -> Result<Place, Failure> {
    let page = app.ui.box_page().ok_or("the box is not shown")?;
    Ok(page.now.stock.get(&piece.parse()?).ok_or("no such piece")?.place.clone())
}

fn drawn(app: &App, columns: u16, rows: u16) -> String {
    let mut buffer = Buffer::empty(Rect::new(0, 0, columns, rows));
    view::draw(app, Glyphs::chosen(app.settings.characters), &mut buffer);
    let row = |row: &[Cell]| row.iter().map(Cell::symbol).collect::<String>().trim_end().to_owned();
    buffer.content().chunks(usize::from(columns)).map(row).collect::<Vec<_>>().join("\n")
}

/// The hand is right: what stands in a cell stays and counts with the power that it had, whatever a parcel says.
#[test]
fn a_parcel_that_is_read_changes_nothing_of_an_exam_that_is_open() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen()?;
    press(&mut app, "-4<enter><right>-2<enter>")?;
    let before = app.state().clone();
    let net = |app: &App| app.state().fitted.in_front_of(Eye::Right);
    let net_before = net(&app);
    drop(app);
    let measured = |piece: &str, power: f64| -> Result<BoxChange, Failure> {
        Ok(BoxChange::Measured {
            piece: piece.parse()?,
            measurement: Measurement { sure: true, ..Measurement::of(power) },
        })
    };
    folder.noted_at_team_b(&[
        measured("-4.00 sphere #1", -3.75)?,
        lost("-4.00 sphere #1")?,
        measured("-3.00 sphere #1", -2.75)?,
        lost("-5.00 sphere #1")?,
    ])?;
    let mut app = folder.screen()?;
    assert_eq!(app.state(), &before, "the exam goes on as it stood, its box too");
    assert_eq!(net(&app), net_before);
    // the box says what is noted, and where the hand has it
    press(&mut app, "B")?;
    assert!(place(&app, "-4.00 sphere #1")?.is_in_a_cell());
    assert_eq!(place(&app, "-5.00 sphere #1")?, Place::Lost);
    let note = "-4.00 sphere #1 is in cell 1 of the right eye, and lost, noted at teamB: it counts here";
    let page = app.ui.box_page().ok_or("no box")?;
    assert!(page.now.notes.iter().any(|line| line == note), "{:?}", page.now.notes);
    // the next exam begins with the box as all seats say
    drop(app);
    let app = folder.begun(true)?;
    let of = |app: &App, piece: &str| app.state().fitted.stock.get(&piece.parse().ok()?).cloned();
    assert_eq!(of(&app, "-3.00 sphere #1").and_then(|of| of.measured), Some(-2.75));
    assert_eq!(of(&app, "-5.00 sphere #1").map(|of| of.place), Some(Place::Lost));
    assert_eq!(of(&app, "-4.00 sphere #1").map(|of| of.place), Some(Place::Lost));
    Ok(())
}

#[test]
fn what_seats_say_differently_is_listed_settled_with_a_key_and_taken_back() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen()?;
    press(&mut app, "Bt")?;
    let why = "nothing is to be settled: all seats say the same of every piece";
    assert_eq!(refused(&app).as_deref(), Some(why));
    assert!(app.ui.box_page().and_then(|page| page.shown.unsettled()).is_none(), "nothing is to be settled yet");
    press(&mut app, "-2<enter>LClinic 3<enter>-2.5<enter>LClinic 3<enter>")?;
    assert_eq!(refused(&app), None);
    drop(app);
    folder.noted_at_team_b(&[lent("-2.00 sphere #1")?, lost("-2.50 sphere #1")?, lost("-3.00 sphere #1")?])?;
    let mut app = folder.screen()?;
    press(&mut app, "B")?;
    assert_eq!(place(&app, "-2.00 sphere #1")?, Place::InTwoPlaces);
    let tray = drawn(&app, 120, 36);
    assert!(tray.contains("2 pieces are unsettled: t to"), "{tray}");
    press(&mut app, "t")?;
    let album = Album::of("box");
    album.screen("unsettled-80x24", "Bt", &drawn(&app, 80, 24));
    album.screen("unsettled-120x36", "Bt", &drawn(&app, 120, 36));
    press(&mut app, "b")?;
    assert_eq!(refused(&app), None);
    let open = |app: &App| app.ui.box_page().map(|page| page.now.unsettled.len());
    let settled = app.ui.box_page().and_then(|page| page.now.happened.iter().rfind(|of| of.seat.is_none()).cloned());
    let settled = settled.ok_or("nothing happened")?;
    assert_eq!(open(&app), Some(1));
    assert_eq!((settled.event, settled.says.as_deref()), ("settled", Some("in the box")));
    press(&mut app, "x")?;
    assert_eq!(open(&app), Some(0));
    assert_eq!(place(&app, "-2.50 sphere #1")?, Place::Box);
    assert_eq!(place(&app, "-2.00 sphere #1")?, Place::Lost);
    album.screen("unsettled-none-80x24", "Btbx", &drawn(&app, 80, 24));
    // the last was a slip
    press(&mut app, "u")?;
    assert_eq!(refused(&app), None);
    assert_eq!(place(&app, "-2.00 sphere #1")?, Place::InTwoPlaces);
    press(&mut app, "<enter>")?;
    let lens = app.ui.box_page().and_then(|page| page.lens().cloned());
    assert_eq!(lens, Some("-2.00 sphere".parse()?));
    Ok(())
}
