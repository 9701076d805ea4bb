//! A new frame on the screen: asked for, written, and used.

use std::path::{Path, PathBuf};

use dioptray::frame::read_frame;
use dioptray::kit::read_box;
use dioptray::optics::{AcuityNotation, CylinderForm, Eye};
use dioptray::screen::ui::Sheet;
use dioptray::screen::{App, ScreenStart, Settings};
use dioptray::session::{Beginning, Session, Writing};

use super::Failure;
use super::bench::{options, walk_with};
use super::laws::{press, refused};
use crate::pictures::Album;

/// The exam of a folder as a start without any option finds it.
fn session(folder: &Path) -> Result<Session, Failure> {
    let beginning = Beginning {
        box_file: None,
        frame_file: None,
        new: false,
        carries_over: None,
        writing: Writing::new(CylinderForm::Minus, AcuityNotation::SixMetres, Some("K.M.".to_owned())),
    };
    Ok(beginning.in_logbook(&folder.join("logbook.sqlite"))?.session)
}

/// A folder whose box was used once, so that new files are written beside it.
fn folder() -> Result<tempfile::TempDir, Failure> {
    let root = tempfile::tempdir()?;
    std::fs::copy("kits/boxes/outreach.yaml", root.path().join("box.yaml"))?;
    let beginning = Beginning {
        box_file: Some(root.path().join("box.yaml")),
        frame_file: None,
        new: false,
        carries_over: None,
        writing: Writing::new(CylinderForm::Minus, AcuityNotation::SixMetres, None),
    };
    drop(beginning.in_logbook(&root.path().join("logbook.sqlite"))?);
    Ok(root)
}

fn screen(folder: &Path) -> Result<App, Failure> {
    Ok(App::new(session(folder)?, Settings::shipped()?))
}

fn frame_files(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let files: Vec<PathBuf> =
        std::fs::read_dir(folder)?.map(|entry| entry.map(|entry| entry.path())).collect::<Result<_, _>>()?;
    Ok(files.into_iter().filter(|path| path.to_string_lossy().contains("frame-")).collect())
}

fn frame_of(app: &App) -> &str {
    &app.state().fitted.frame.name
}

const ASKED: &str = "Blf";
const MADE: &str = "BlfClinic from half-eye<enter><enter><enter><enter><enter><enter><enter>";

#[test]
fn a_frame_is_made_of_a_template_and_this_exam_is_on_it_where_nothing_was_done_in_it() -> Result<(), Failure> {
    let folder = folder()?;
    let mut app = screen(folder.path())?;
    press(&mut app, &format!("{MADE}<enter>"))?;
    assert_eq!(refused(&app), None);
    assert_eq!((frame_of(&app), app.state().fitted.frame.cells.len()), ("Clinic", 3));
    let files = frame_files(folder.path())?;
    assert_eq!(files.len(), 1);
    assert_eq!(read_frame(&files[0])?, app.state().fitted.frame, "its file lies beside the box");
    // a lens goes into its third cell
    press(&mut app, "-1<enter><right><right>-0.5x90<enter>")?;
    assert_eq!(refused(&app), None);
    drop(app);
    let mut app = screen(folder.path())?;
    assert_eq!(frame_of(&app), "Clinic", "it goes on with it on another day");
    press(&mut app, "NA.B.<enter>n")?;
    assert_eq!(frame_of(&app), "Clinic", "and so does the exam after it");
    Ok(())
}

#[test]
fn an_exam_in_which_something_was_done_stays_on_its_frame_and_the_next_is_on_the_new_one() -> Result<(), Failure> {
    let folder = folder()?;
    let mut app = screen(folder.path())?;
    press(&mut app, &format!("-1<enter>{MADE}<enter>"))?;
    assert_eq!(refused(&app), None);
    assert_eq!(frame_of(&app), "Four-cell adjustable");
    let says = app.ui.says.as_ref().map(|says| says.text.clone()).unwrap_or_default();
    assert!(says.ends_with("exams are on it from the next one on"), "{says}");
    press(&mut app, "NA.B.<enter>n")?;
    assert_eq!((refused(&app), frame_of(&app)), (None, "Clinic"));
    Ok(())
}

#[test]
fn nothing_is_written_before_everything_is_answered() -> Result<(), Failure> {
    let folder = folder()?;
    let mut app = screen(folder.path())?;
    press(&mut app, &format!("{ASKED}Clinic from bogus<enter>"))?;
    let why = "there is no template `bogus`; there are four-cell, turning-ring, half-eye";
    assert_eq!(refused(&app).as_deref(), Some(why));
    press(&mut app, &format!("<esc>fClinic from four-cell<enter><enter><esc>{}<enter>", "<down>".repeat(7)))?;
    assert_eq!(refused(&app).as_deref(), Some("not answered yet: gaps in mm"));
    press(&mut app, "<esc>lfClinic from four-cell<enter>back, front<enter><enter>")?;
    assert!(refused(&app).is_some_and(|why| why.starts_with("not known of these cells: ")), "no gap is guessed at");
    press(&mut app, "<esc><esc>")?;
    assert_eq!(frame_files(folder.path())?.len(), 0);
    assert_eq!(frame_of(&app), "Four-cell adjustable");
    Ok(())
}

#[test]
fn an_answer_that_is_refused_stays_to_be_mended_and_one_that_was_taken_can_be_changed() -> Result<(), Failure> {
    let folder = folder()?;
    let mut app = screen(folder.path())?;
    press(&mut app, &format!("{ASKED}Clinic from four-cell<enter><enter> 3<enter>"))?;
    let why = "1 gap is said: 4 cells have 3 between them, a space between two figures";
    assert_eq!(refused(&app).as_deref(), Some(why));
    press(&mut app, "<backspace><backspace><enter><enter><enter><enter><enter>")?;
    assert_eq!(refused(&app), None);
    press(&mut app, &format!("{}<enter>14<enter><down><down><down><enter>", "<up>".repeat(3)))?;
    assert_eq!((refused(&app), app.state().fitted.frame.vertex.0), (None, 14.0));
    Ok(())
}

#[test]
fn the_file_of_a_frame_that_is_there_can_be_named() -> Result<(), Failure> {
    let folder = folder()?;
    let mut app = screen(folder.path())?;
    press(&mut app, &format!("{ASKED}kits/frames/none.yaml<enter>"))?;
    assert!(refused(&app).is_some_and(|why| why.contains("no such file")));
    assert!(app.ui.prompt.is_some(), "the line stays");
    press(&mut app, "<esc>fkits/frames/turning-ring.yaml<enter>")?;
    assert_eq!((refused(&app), frame_of(&app)), (None, "Turning ring"));
    Ok(())
}

/// The first start of a logbook, in a folder where a box of one's own lies.
fn first_start(folder: &Path) -> Result<App, Failure> {
    std::fs::copy("kits/boxes/full.yaml", folder.join("mine.yaml"))?;
    let mut app = screen(folder)?;
    (app.ui.sheet, app.ui.offers_kit) = (Some(Sheet::Cautions), true);
    Ok(app)
}

#[test]
fn the_first_start_goes_on_by_any_key_and_loses_no_lens() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    for (keys, net) in [("<esc>", 0.0), ("<enter>", 0.0), ("x", 0.0), ("-4<enter>", -4.0)] {
        let mut app = first_start(folder.path())?;
        press(&mut app, keys)?;
        assert_eq!((app.ui.sheet, app.ui.offers_kit, refused(&app)), (None, false, None), "{keys}");
        assert!(app.ui.page.is_none(), "{keys}");
        assert!((app.in_front_of(Eye::Right).net.m - net).abs() < 1e-9, "{keys}");
        press(&mut app, "!b")?;
        assert!(app.ui.page.is_none(), "the cautions offer nothing later on");
    }
    Ok(())
}

#[test]
fn the_first_start_leads_to_a_box_of_ones_own_and_exams_are_on_it() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("mine.yaml");
    let mut app = first_start(folder.path())?;
    press(&mut app, "bnone.yaml<enter>")?;
    assert!(refused(&app).is_some_and(|why| why.contains("no such file")), "{:?}", app.ui.says);
    press(&mut app, "<esc>")?;
    (app.ui.sheet, app.ui.offers_kit) = (Some(Sheet::Cautions), true);
    press(&mut app, &format!("b{}<enter>", file.display()))?;
    assert_eq!(refused(&app), None);
    let name = read_box(&file)?.name;
    assert_eq!(app.state().fitted.stock.box_name, name);
    assert!(app.ui.box_page().is_some_and(|page| page.now.is_of_the_exam), "its tray is shown");
    press(&mut app, "<esc>-4<enter>")?;
    assert_eq!(refused(&app), None);
    drop(app);
    let app = screen(folder.path())?;
    assert_eq!(app.state().fitted.stock.box_name, name, "it goes on with it on another day");
    Ok(())
}

#[test]
fn the_first_start_makes_a_box_which_is_counted_and_a_frame() -> Result<(), Failure> {
    let folder = folder()?;
    let mut app = screen(folder.path())?;
    (app.ui.sheet, app.ui.offers_kit) = (Some(Sheet::Cautions), true);
    press(&mut app, "bMobile clinic from spheres<enter>")?;
    assert_eq!(refused(&app), None);
    assert!(app.ui.counting().is_some(), "it is counted at once");
    assert_eq!(app.state().fitted.stock.box_name, "Mobile clinic");
    assert!(app.ui.box_page().is_some_and(|page| page.now.is_of_the_exam));
    press(&mut app, "x<enter>wy<esc>-3<enter>")?;
    assert_eq!(refused(&app), None);
    let other = self::folder()?;
    let mut app = screen(other.path())?;
    (app.ui.sheet, app.ui.offers_kit) = (Some(Sheet::Cautions), true);
    press(&mut app, "fClinic from half-eye<enter><enter><enter><enter><enter><enter><enter><enter>")?;
    assert_eq!((refused(&app), frame_of(&app)), (None, "Clinic"));
    Ok(())
}

#[test]
fn pictures_of_the_first_start() -> Result<(), Failure> {
    let album = Album::of("box");
    for (name, keys) in [("first-1-offered", ""), ("first-2-box", "b"), ("first-3-frame", "f")] {
        for size in ["120x36", "80x24"] {
            let folder = folder()?;
            let start = ScreenStart {
                session: session(folder.path())?,
                cautions: true,
                offers_kit: true,
                ..options(Settings::shipped()?)?
            };
            album.screen(&format!("{name}-{size}"), keys, &walk_with(start, keys, size)?);
        }
    }
    Ok(())
}

#[test]
fn pictures_of_a_new_frame() -> Result<(), Failure> {
    let album = Album::of("box");
    for (name, keys) in [
        ("frame-1-asked", format!("{ASKED}Clinic from turning-ring<enter>")),
        ("frame-2-refused", format!("{ASKED}Clinic from turning-ring<enter>back, front<enter>3.5 4<enter>")),
        ("frame-3-answered", MADE.to_owned()),
    ] {
        for size in ["120x36", "80x24"] {
            let folder = folder()?;
            let start = ScreenStart { session: session(folder.path())?, ..options(Settings::shipped()?)? };
            album.screen(&format!("{name}-{size}"), &keys, &walk_with(start, &keys, size)?);
        }
    }
    Ok(())
}
