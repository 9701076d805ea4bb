//! The Box screen in a logbook: what is noted is there on another day, in every box that it is about.

use std::path::{Path, PathBuf};

use dioptray::keeping::{CoverageMap, MapEyes, Zoom};
use dioptray::kit::{Place, read_box};
use dioptray::optics::{AcuityNotation, CylinderForm};
use dioptray::screen::box_page::BAG;
use dioptray::screen::box_sheets::sheets_of;
use dioptray::screen::theme::Glyphs;
use dioptray::screen::{App, Settings, view};
use dioptray::session::{Beginning, BoxNow, Writing};
use dioptray::sheets::SheetKind;
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;

use super::Failure;
use super::laws::{press, refused};
use crate::pictures::Album;

/// A folder with a logbook and two boxes.
struct Folder {
    root: tempfile::TempDir,
}

impl Folder {
    fn new() -> Result<Self, Failure> {
        let root = tempfile::tempdir()?;
        for (id, name) in [("one", "First"), ("two", "Second")] {
            let text = std::fs::read_to_string("kits/boxes/outreach.yaml")?;
            let text = text.replace("box: Hillside outreach", &format!("box: {name}\nid: {id}"));
            std::fs::write(root.path().join(format!("{id}.yaml")), text)?;
        }
        Ok(Self { root })
    }

    fn path(&self, name: &str) -> PathBuf {
        self.root.path().join(name)
    }

    /// The screen as it starts with a box.
    fn screen(&self, id: &str) -> Result<App, Failure> {
        let beginning = Beginning {
            box_file: Some(self.path(&format!("{id}.yaml"))),
            frame_file: None,
            new: false,
            carries_over: None,
            writing: Writing::new(CylinderForm::Minus, AcuityNotation::SixMetres, Some("K.M.".to_owned())),
        };
        let begun = beginning.in_logbook(&self.path("logbook.sqlite"))?;
        Ok(App::new(begun.session, Settings::shipped()?))
    }
}

fn place(app: &App, piece: &str) -> Result<Place, Failure> {
    let page = app.ui.box_page().ok_or("the box is not shown")?;
    Ok(page.now.stock.get(&piece.parse()?).ok_or("no such piece")?.place.clone())
}

#[test]
fn what_is_noted_is_there_on_another_day_with_who_noted_it() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen("one")?;
    press(&mut app, "-4<enter>B-2<enter>x")?;
    assert_eq!(refused(&app), None);
    let stock = &app.state().fitted.stock;
    assert!(!stock.get(&"-2.00 sphere #1".parse()?).ok_or("gone")?.is_free(), "the exam has learnt of it");
    // and what is done in the exam after that is kept like everything else
    press(&mut app, "<esc><right>-0.25<enter>")?;
    let before = app.state().clone();
    drop(app);
    let mut app = folder.screen("one")?;
    assert_eq!(app.state(), &before, "the exam goes on as it stood");
    press(&mut app, "B")?;
    assert_eq!(place(&app, "-2.00 sphere #1")?, Place::Lost);
    assert!(place(&app, "-4.00 sphere #1")?.is_in_a_cell());
    let happened = app.ui.box_page().and_then(|page| page.now.happened.last().cloned()).ok_or("nothing happened")?;
    assert_eq!((happened.event, happened.by.as_deref()), ("lost", Some("K.M.")));
    Ok(())
}

#[test]
fn what_stands_in_the_frame_of_the_exam_cannot_be_lent() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen("one")?;
    press(&mut app, "-4<enter>B-4<enter><enter>L")?;
    let why = "-4.00 sphere #1 is in cell 1 of the right eye, so it cannot be lent";
    assert_eq!(refused(&app).as_deref(), Some(why));
    Ok(())
}

#[test]
fn a_piece_moves_to_another_box_and_comes_back_by_undo() -> Result<(), Failure> {
    let folder = Folder::new()?;
    drop(folder.screen("two")?);
    let mut app = folder.screen("one")?;
    press(&mut app, "B-2<enter>vThird<enter>")?;
    assert_eq!(refused(&app).as_deref(), Some("no other box is called `Third`; there are Second"));
    press(&mut app, "<esc>vsecond<enter>")?;
    assert_eq!(refused(&app), None);
    assert!(place(&app, "-2.00 sphere #1")?.is_in_another_box());
    press(&mut app, "<tab>")?;
    assert_eq!(app.ui.box_page().map(|page| page.now.stock.box_name.clone()).as_deref(), Some("Second"));
    assert_eq!(place(&app, "-2.00 sphere #3")?, Place::Box);
    press(&mut app, "<tab>u")?;
    assert_eq!(refused(&app), None);
    assert_eq!(place(&app, "-2.00 sphere #1")?, Place::Box);
    press(&mut app, "l")?;
    assert_eq!(refused(&app), None);
    Ok(())
}

#[test]
fn a_stock_take_goes_on_on_another_day() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen("one")?;
    press(&mut app, "Bs<enter>x")?;
    let so_far = app.ui.counting().map(|counting| counting.take.clone()).ok_or("no count")?;
    drop(app);
    let mut app = folder.screen("one")?;
    press(&mut app, "Bs")?;
    assert_eq!(app.ui.counting().map(|counting| counting.take.clone()), Some(so_far));
    assert_eq!(app.ui.counting().map(|counting| counting.row), Some(1));
    press(&mut app, "wy")?;
    assert_eq!(refused(&app), None);
    let page = app.ui.box_page().ok_or("no box")?;
    assert!(page.now.last_counted.is_some() && !page.now.is_being_counted);
    assert_eq!(page.now.happened.len(), 1);
    Ok(())
}

#[test]
fn a_new_box_is_written_from_a_template_and_counted() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen("one")?;
    press(&mut app, "Bla")?;
    press(&mut app, "Mobile clinic from bogus<enter>")?;
    let why = "there is no template `bogus`; there are outreach, full, spheres, reduced-aperture";
    assert_eq!(refused(&app).as_deref(), Some(why));
    press(&mut app, "<esc>aMobile clinic from outreach<enter>")?;
    assert_eq!(refused(&app), None);
    assert!(app.ui.counting().is_some(), "it is counted at once");
    press(&mut app, "x<enter>wy")?;
    assert_eq!(refused(&app), None);
    let page = app.ui.box_page().ok_or("no box")?;
    assert_eq!((page.now.stock.box_name.as_str(), page.now.happened.len()), ("Mobile clinic", 1));
    let files = yaml_files(folder.root.path())?;
    let file = files.iter().find(|file| file.to_string_lossy().contains("mobile-clinic")).ok_or("no file")?;
    assert!(read_box(file)?.id.is_some_and(|id| id.starts_with("mobile-clinic-")), "with an id of its own");
    Ok(())
}

fn yaml_files(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let files: Vec<PathBuf> =
        std::fs::read_dir(folder)?.map(|entry| entry.map(|entry| entry.path())).collect::<Result<_, _>>()?;
    Ok(files.into_iter().filter(|path| path.extension().is_some_and(|ending| ending == "yaml")).collect())
}

#[test]
fn a_bag_goes_out_as_a_box_of_its_own_and_comes_back_one_short() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen("one")?;
    press(&mut app, "Bk[[[[<enter>School at Ford until 2030-12-04<enter>")?;
    assert_eq!(refused(&app), None);
    let loans = app.ui.box_page().map(|page| page.now.loans.clone()).ok_or("no box")?;
    assert_eq!(loans.len(), 20);
    let files = yaml_files(folder.root.path())?;
    let bag = files.iter().find(|file| file.to_string_lossy().contains("bag")).ok_or("no file of the bag")?;
    let pieces: u32 = read_box(bag)?.lines.iter().map(|line| u32::from(line.declared)).sum();
    assert_eq!(pieces, 20);
    press(&mut app, "<tab>")?;
    assert_eq!(
        app.ui.box_page().map(|page| page.now.stock.box_name.clone()).as_deref(),
        Some("Bag for School at Ford")
    );
    press(&mut app, "<tab>o<down><space>B")?;
    assert_eq!(refused(&app), None);
    let page = app.ui.box_page().ok_or("no box")?;
    assert!(page.now.loans.is_empty());
    assert_eq!(
        page.now.stock.get(&loans[1].piece).map(|of| of.place.clone()),
        Some(Place::Lost),
        "what was marked is lost"
    );
    assert_eq!(page.now.stock.get(&loans[0].piece).map(|of| of.place.clone()), Some(Place::Box));
    press(&mut app, "<esc><tab>")?;
    let bag = app.ui.box_page().ok_or("no box")?;
    assert_eq!((bag.now.stock.box_name.as_str(), bag.places().count()), ("Bag for School at Ford", 0));
    // it takes two rows
    let drawn = drawn(&app);
    assert!(drawn.contains("this bag is back: its pieces are") && drawn.contains("in First again"), "{drawn}");
    // nothing comes into it any more
    press(&mut app, "a-2 sphere<enter>")?;
    assert!(refused(&app).is_some_and(|why| why.contains("is back in First: note it there")), "{:?}", refused(&app));
    let bag = app.ui.box_page().ok_or("no box")?;
    assert_eq!(bag.places().count(), 0);
    Ok(())
}

#[test]
fn a_count_keeps_its_note_and_says_what_the_last_one_found_otherwise() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen("one")?;
    press(&mut app, "Bsnby daylight<enter>")?;
    drop(app);
    let mut app = folder.screen("one")?;
    press(&mut app, "Bs")?;
    let note = |app: &App| app.ui.counting().and_then(|counting| counting.take.note().map(str::to_owned));
    assert_eq!(note(&app).as_deref(), Some("by daylight"));
    press(&mut app, "n<ctrl-u><enter>")?;
    assert_eq!(note(&app), None, "an empty line takes it back");
    press(&mut app, "nby lamp<enter>x<enter>wy")?;
    assert_eq!(refused(&app), None);
    let page = app.ui.box_page().ok_or("no box")?;
    assert_eq!(page.now.happened.last().and_then(|happened| happened.note.as_deref()), Some("by lamp"));
    // the same lens is here after all
    press(&mut app, "sf<enter>w")?;
    let page = app.ui.box_page().ok_or("no box")?;
    let (last, counting) = (page.now.last_counted.clone().ok_or("no count")?, page.shown.counting().ok_or("none")?);
    let differences = last.differences(&counting.take.ending(&page.now.stock));
    let said = differences.iter().map(ToString::to_string).collect::<Vec<_>>();
    let [said] = said.as_slice() else { return Err(format!("{said:?}").into()) };
    assert!(said.ends_with(": 1 whole, 0 damaged, 1 missing, 0 more; now 2 whole, 0 damaged, 0 missing, 0 more"));
    assert!(drawn(&app).contains(&said[..40]));
    press(&mut app, "<esc><up>x<enter>w")?;
    assert!(drawn(&app).contains("as the last count found it"), "{}", drawn(&app));
    Ok(())
}

fn drawn(app: &App) -> String {
    drawn_at(app, 120, 36)
}

fn both_pictures(name: &str, keys: &str, app: &App) {
    let album = Album::of("box");
    album.screen(&format!("{name}-120x36"), keys, &drawn(app));
    album.screen(&format!("{name}-80x24"), keys, &drawn_at(app, 80, 24));
}

fn drawn_at(app: &App, columns: u16, rows: u16) -> String {
    let mut buffer = Buffer::empty(Rect::new(0, 0, columns, rows));
    view::draw(app, Glyphs::chosen(app.settings.characters), &mut buffer);
    let row = |row: &[Cell]| row.iter().map(Cell::symbol).collect::<String>().trim_end().to_owned();
    buffer.content().chunks(usize::from(columns)).map(row).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_map_has_a_second_figure_for_each_other_box_in_turn() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen("one")?;
    press(&mut app, "Bcb")?;
    assert_eq!(refused(&app).as_deref(), Some("no other box is known: use one once with --box"));
    drop(app);
    let mut app = folder.screen("two")?;
    press(&mut app, "B-0.50x<enter><space><space>x")?;
    assert_eq!(refused(&app), None);
    drop(app);
    let mut app = folder.screen("one")?;
    press(&mut app, "Bc")?;
    let alone = drawn(&app);
    press(&mut app, "b")?;
    assert_eq!(refused(&app), None);
    let page = app.ui.box_page().ok_or("no box")?;
    let other = page.beside.clone().ok_or("none beside")?;
    assert_eq!(other.stock.box_name, "Second");
    let coverage = |now: &BoxNow| app.makes(&now.stock, false).ok_or("not computed");
    let (of_this, of_other) = (coverage(&page.now)?, coverage(&other)?);
    let map = CoverageMap::of(&of_this, Some(&of_other), MapEyes::One, Zoom::Half);
    let row = map.rows[1].iter().map(|figure| figure.text('·')).collect::<Vec<_>>().join(" ");
    let shown = drawn(&app);
    let line = shown.lines().filter_map(|line| Some(line.split_once('▸')?.1)).find(|of| row.contains(&of[..40]));
    let line = line.ok_or("no chosen row")?;
    let part: String = line.chars().take(60).collect();
    assert!(row.contains(part.trim()), "{row}\n{line}");
    assert!(map.rows.iter().flatten().any(|figure| figure.beside != Some(figure.lenses)), "they differ somewhere");
    both_pictures("makes-4-another-box-beside", "Bcb", &app);
    press(&mut app, "b")?;
    assert_eq!(app.ui.box_page().and_then(|page| page.beside.clone()), None);
    let above = |drawn: &str| drawn.lines().take(30).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(above(&drawn(&app)), above(&alone));
    Ok(())
}

#[test]
fn sheets_are_written_where_the_keeper_says_and_nothing_is_overwritten() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen("one")?;
    press(&mut app, "B-2<enter>LClinic 3 until 17 Dec<enter>p")?;
    both_pictures("sheets-1", "B-2<enter>LClinic 3 until 17 Dec<enter>p", &app);
    let names = sheets_of(app.ui.box_page().ok_or("no box")?, BAG).len();
    assert_eq!(names, SheetKind::ALL.len(), "one borrower, one sheet to check in");
    for sheet in SheetKind::ALL {
        for ending in ["txt", "csv", "pdf"] {
            let file = folder.path(&format!("{}.{ending}", sheet.name()));
            // limits are asked first where lenses are held against them
            let limits = if sheet == SheetKind::Verify { "<enter><enter>" } else { "<enter>" };
            press(&mut app, &format!("{limits}<ctrl-u>{}<enter>", file.display()))?;
            assert_eq!(refused(&app), None, "{}", sheet.name());
            assert!(app.ui.says.as_ref().is_some_and(|says| says.text.starts_with("written: ")));
            let bytes = std::fs::read(&file)?;
            match ending {
                "pdf" => assert!(bytes.starts_with(b"%PDF-")),
                _ => assert!(String::from_utf8(bytes)?.contains("First"), "{}", file.display()),
            }
        }
        press(&mut app, "<down>")?;
    }
    let check_in = std::fs::read_to_string(folder.path("check-in.txt"))?;
    assert!(check_in.contains("what Clinic 3 has") && check_in.contains("-2.00 sphere"), "{check_in}");
    let pieces = std::fs::read_to_string(folder.path("pick.txt"))?;
    assert!(pieces.contains("40 pieces"), "{pieces}");
    // a file that is there stays, and the line too
    let file = folder.path("keeper.txt");
    std::fs::write(&file, "mine")?;
    press(&mut app, &format!("<enter><ctrl-u>{}<enter>", file.display()))?;
    let why = format!("{}: there is such a file already, and it stays: name another", file.display());
    assert_eq!(refused(&app), Some(why));
    assert_eq!(std::fs::read_to_string(&file)?, "mine");
    assert!(app.ui.prompt.is_some());
    press(&mut app, "<ctrl-u>keeper.docx<enter>")?;
    assert_eq!(refused(&app).as_deref(), Some("end its name in .txt, .csv or .pdf: that is its form"));
    Ok(())
}

#[test]
fn lenses_are_held_against_the_limits_that_the_keeper_types() -> Result<(), Failure> {
    let folder = Folder::new()?;
    let mut app = folder.screen("one")?;
    press(&mut app, "B-2<enter><enter>m-1.75<enter>p")?;
    let at = SheetKind::ALL.iter().position(|kind| *kind == SheetKind::Verify).ok_or("no such sheet")?;
    // nobody has anything, so there is nothing to check in
    press(&mut app, &"<down>".repeat(at - 1))?;
    let file = |name: &str| folder.path(name).display().to_string();
    press(&mut app, &format!("<enter>0.12 every 12<enter><ctrl-u>{}<enter>", file("with.txt")))?;
    assert_eq!(refused(&app), None);
    let with = std::fs::read_to_string(file("with.txt"))?;
    assert!(with.contains("limit is 0.12 D off the mark: 2 pieces are over it"), "{with}");
    assert!(with.contains("measured every 12 months") && with.contains("over the limit"), "{with}");
    // what was typed last stands there again; nothing at all is no limit
    press(&mut app, &format!("<enter><ctrl-u>every 6<enter><ctrl-u>{}<enter>", file("months.txt")))?;
    let months = std::fs::read_to_string(file("months.txt"))?;
    assert!(months.contains("measured every 6 months") && months.contains("No limit"), "{months}");
    press(&mut app, "<enter>")?;
    assert_eq!(app.ui.prompt.as_ref().map(|prompt| prompt.line.value()), Some("every 6"));
    for wrong in ["0.12 12", "0.12 every", "every", "0.12 every 0", "12 every 12", "0.12 every 1.5", "-0.12"] {
        press(&mut app, &format!("<ctrl-u>{wrong}<enter>"))?;
        assert!(refused(&app).is_some(), "{wrong}");
    }
    Ok(())
}
