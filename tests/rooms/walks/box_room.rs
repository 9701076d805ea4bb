//! The Box screen: the tray, what happens to pieces, stock-takes, loans, what a box makes.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use std::collections::BTreeSet;

use dioptray::exam::{CheckedStep, Exam, Opening};
use dioptray::frame::FittedFrame;
use dioptray::kit::{BoxChange, LensLine, Place, Stock, read_box};
use dioptray::optics::Eye;
use dioptray::screen::box_page::BoxPage;
use dioptray::screen::decide::{After, is_available};
use dioptray::screen::keys::strokes::{self, Stroke};
use dioptray::screen::keys::{Action, BoxAction, CountingAction};
use dioptray::screen::theme::Glyphs;
use dioptray::screen::ui::Input;
use dioptray::screen::{App, ScreenStart, Settings, run_lines, view};
use dioptray::session::{BoxNow, InMemory, Journal, RecordError, SaveError, Session, StepError, ToNote};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::bench::{options, session, walk_with};
use super::laws::{press, refused};
use super::{Failure, pictures};
use crate::pictures::Album;
use crate::plain::{box_of, four_cells};

fn app() -> App {
    let start = options(Settings::shipped().unwrap()).unwrap();
    App::new(start.session, start.settings)
}

fn on(stock: Stock) -> App {
    let fitted = FittedFrame::new(four_cells(), stock);
    App::new(session(Exam::open(Opening::of(fitted))), Settings::shipped().unwrap())
}

fn options_of(stock: Stock) -> ScreenStart {
    let start = options(Settings::shipped().unwrap()).unwrap();
    let fitted = FittedFrame::new(four_cells(), stock);
    ScreenStart { session: session(Exam::open(Opening::of(fitted))), ..start }
}

/// Draws the screen, as a terminal does after each key.
fn draw(app: &App, columns: u16, rows: u16) -> Vec<String> {
    let mut buffer = Buffer::empty(Rect::new(0, 0, columns, rows));
    view::draw(app, Glyphs::chosen(app.settings.characters), &mut buffer);
    let row = |row: &[ratatui::buffer::Cell]| row.iter().map(ratatui::buffer::Cell::symbol).collect();
    buffer.content().chunks(usize::from(columns)).map(row).collect()
}

fn page(app: &App) -> &BoxPage {
    app.ui.box_page().unwrap()
}

fn place(app: &App, piece: &str) -> Place {
    page(app).now.stock.get(&piece.parse().unwrap()).unwrap().place.clone()
}

/// The shipped box of 266 pieces.
fn full_box() -> Stock {
    Stock::of(&read_box("kits/boxes/full.yaml".as_ref()).unwrap())
}

/// 600 pieces of 150 powers, as no shipped box has.
fn six_hundred() -> Stock {
    let spheres = (1..=60).flat_map(|quarters| {
        let power = f64::from(quarters) / 4.0;
        [format!("+{power:.2} sphere"), format!("-{power:.2} sphere")]
    });
    let cylinders = (1..=30).map(|quarters| format!("-{:.2} cylinder", f64::from(quarters) / 4.0));
    let line = |label: String| LensLine { lens: label.parse().unwrap(), declared: 4, missing: 0 };
    Stock::of(&box_of("Six hundred", spheres.chain(cylinders).map(line).collect()))
}

const LENT: &str = "B-3<enter>LClinic 3 until 2026-11-17<enter>-4<enter>LClinic 3 until 10 Dec<enter>";

#[test]
fn the_tray_and_what_is_noted() -> Result<(), Failure> {
    let album = Album::of("box");
    pictures(&album, "tray-1-opened", "B")?;
    pictures(&album, "tray-9-cost-of-a-loss", "B-0.50x<enter>w")?;
    pictures(&album, "tray-2-in-the-frame-and-marked", "-4<enter>B-4<enter><space>-2<enter><space><space>")?;
    pictures(
        &album,
        "tray-3-noted",
        "B-3<enter>f-2<enter>x-1<enter>dchipped<enter>-6<enter><enter>m-5.9 with focimeter<enter>",
    )?;
    pictures(&album, "tray-4-lent", &format!("{LENT}-3<enter>"))?;
    pictures(&album, "tray-5-typing", "B-3<enter>LClinic 3 until never<enter>")?;
    pictures(&album, "tray-6-asked", "B-3.5<enter>z")?;
    pictures(&album, "tray-7-keys", "B?")?;
    pictures(&album, "loans-1", &format!("{LENT}o"))?;
    pictures(&album, "loans-2-none", "Bo")?;
    Ok(())
}

#[test]
fn boxes_of_every_size() -> Result<(), Failure> {
    let album = Album::of("box");
    for (name, stock) in [
        ("full", full_box()),
        ("outreach", Stock::of(&read_box("kits/boxes/outreach.yaml".as_ref())?)),
        ("six-hundred", six_hundred()),
    ] {
        for size in ["120x36", "80x24"] {
            album.screen(&format!("tray-8-{name}-{size}"), "B", &walk_with(options_of(stock.clone()), "B", size)?);
        }
    }
    Ok(())
}

#[test]
fn a_stock_take_row_by_row() -> Result<(), Failure> {
    let album = Album::of("box");
    pictures(&album, "count-1-begun", "Bs")?;
    pictures(&album, "count-2-said", "Bs<enter><right><right>xydchipped<enter>iunmarked, weak plus<enter>")?;
    pictures(&album, "count-3-blind", "Bsb21<enter>")?;
    pictures(&album, "count-4-ends", "Bsx<enter><enter>w")?;
    let again = "Bsx<enter><enter>wysf<enter>x<enter>nwith K.M., two lamps<enter>w";
    pictures(&album, "count-5-ends-again-with-a-note", again)?;
    Ok(())
}

#[test]
fn what_to_buy_and_to_pack() -> Result<(), Failure> {
    let album = Album::of("box");
    pictures(&album, "buy-1", "By")?;
    pictures(&album, "buy-2-prices", "Byptests/prices.csv<enter>b20<enter>")?;
    pictures(&album, "pack-1", "Bk")?;
    pictures(&album, "pack-2-fewer-asked", "Bk[[<enter>")?;
    Ok(())
}

#[test]
fn what_a_box_makes() -> Result<(), Failure> {
    let album = Album::of("box");
    pictures(&album, "makes-1", "Bc")?;
    pictures(&album, "makes-2-stack", "Bc<left><left><down><enter>")?;
    pictures(&album, "makes-3-closer", "Bc[<left>")?;
    Ok(())
}

/// Each change by its key, with the lens as it is then.
#[test]
fn every_key_notes_what_it_says() -> Result<(), Failure> {
    let mut app = app();
    press(&mut app, "B-2<enter>x")?;
    assert_eq!(place(&app, "-2.00 sphere #1"), Place::Lost);
    press(&mut app, "f")?;
    assert_eq!(place(&app, "-2.00 sphere #1"), Place::Box);
    press(&mut app, "LSchool at Ford until 4 Dec<enter>")?;
    assert_eq!(place(&app, "-2.00 sphere #1"), Place::Lent { to: Some("School at Ford".to_owned()) });
    let loan = &page(&app).now.loans[0];
    assert_eq!((loan.until, loan.days_over(page(&app).now.today)), (Some("2026-12-04".parse()?), None));
    press(&mut app, "b")?;
    assert_eq!(place(&app, "-2.00 sphere #1"), Place::Box);
    press(&mut app, "dchipped<enter>")?;
    assert!(page(&app).now.stock.get(&"-2.00 sphere #1".parse()?).unwrap().damaged);
    press(&mut app, "mmended<enter>")?;
    assert!(!page(&app).now.stock.get(&"-2.00 sphere #1".parse()?).unwrap().damaged);
    press(&mut app, "<enter>m-1.87<enter>")?;
    assert_eq!(page(&app).now.stock.get(&"-2.00 sphere #1".parse()?).unwrap().measured, Some(-1.87));
    press(&mut app, "a<enter>")?;
    assert_eq!(place(&app, "-2.00 sphere #3"), Place::Box);
    press(&mut app, "nwhite dot<enter>")?;
    assert_eq!(page(&app).now.happened.last().unwrap().says.as_deref(), Some("white dot"));
    press(&mut app, "nmark: red dot<enter>")?;
    assert_eq!(page(&app).now.own_marks.of_piece(&"-2.00 sphere #1".parse()?), Some("red dot"));
    assert!(draw(&app, 120, 36).join("\n").contains("its mark: red dot"));
    press(&mut app, "nmark: none<enter>")?;
    assert_eq!(page(&app).now.own_marks.of_piece(&"-2.00 sphere #1".parse()?), None);
    press(&mut app, "zy")?;
    assert_eq!(place(&app, "-2.00 sphere #1"), Place::Retired);
    assert_eq!(refused(&app), None);
    Ok(())
}

#[test]
fn one_key_notes_one_thing_for_all_that_are_marked_and_undo_takes_all_back() -> Result<(), Failure> {
    let mut app = app();
    press(&mut app, "B-2<enter><space><space>+2<enter><space>LClinic 3<enter>")?;
    for piece in ["-2.00 sphere #1", "-2.00 sphere #2", "+2.00 sphere #1"] {
        assert!(place(&app, piece).is_lent(), "{piece}");
    }
    assert!(page(&app).marked.is_empty());
    press(&mut app, "u")?;
    for piece in ["-2.00 sphere #1", "-2.00 sphere #2", "+2.00 sphere #1"] {
        assert_eq!(place(&app, piece), Place::Box, "{piece}");
    }
    assert!(page(&app).now.happened.iter().all(|happened| happened.is_slip), "the history keeps what was a slip");
    Ok(())
}

#[test]
fn of_pieces_in_different_places_it_is_asked_which_one() -> Result<(), Failure> {
    // of two alike each is with somebody else; then one is lost
    const APART: &str = "B-2<enter>LAnn<enter><enter><enter>LBob<enter>+2<enter>-2<enter>";
    let lent_to = |to: &str| Place::Lent { to: Some(to.to_owned()) };
    for (before, key, of, why) in [
        (APART, "b", BoxAction::PieceBack, "-2.00 sphere #1 is lent to Ann and -2.00 sphere #2 is lent to Bob"),
        (APART, "x", BoxAction::PieceLost, "-2.00 sphere #1 is lent to Ann and -2.00 sphere #2 is lent to Bob"),
        ("B-2<enter>x", "z", BoxAction::PieceOut, "-2.00 sphere #1 is lost and -2.00 sphere #2 is in the box"),
        ("B-2<enter>x", "n", BoxAction::PieceNote, "-2.00 sphere #1 is lost and -2.00 sphere #2 is in the box"),
    ] {
        let mut app = app();
        press(&mut app, before)?;
        let stood = page(&app).now.stock.clone();
        assert!(!is_available(&app, of), "{key} is not offered after {before}");
        press(&mut app, key)?;
        assert_eq!(refused(&app).as_deref(), Some(format!("{why}: choose which one").as_str()), "{key} after {before}");
        assert_eq!(page(&app).now.stock, stood);
        press(&mut app, "<enter><enter>")?;
        assert!(is_available(&app, of), "{key} is offered of the chosen one");
    }
    let mut app = app();
    press(&mut app, APART)?;
    press(&mut app, "<enter><enter>b")?;
    assert_eq!((place(&app, "-2.00 sphere #1"), place(&app, "-2.00 sphere #2")), (lent_to("Ann"), Place::Box));
    // those alike in one place are one as good as the other
    press(&mut app, "+2<enter>x")?;
    assert_eq!((refused(&app), place(&app, "+2.00 sphere #1")), (None, Place::Lost));
    Ok(())
}

#[test]
fn all_that_are_marked_or_none() -> Result<(), Failure> {
    let mut app = app();
    // one of the two -3.00 is lost
    press(&mut app, "B-3<enter><space><space>L")?;
    assert_eq!(refused(&app).as_deref(), Some("-3.00 sphere #2 is lost, so it cannot be lent"));
    assert_eq!(place(&app, "-3.00 sphere #1"), Place::Box);
    assert!(page(&app).now.happened.is_empty());
    Ok(())
}

#[test]
fn what_stands_in_the_frame_cannot_go_and_another_piece_goes_in_its_place() -> Result<(), Failure> {
    let mut app = app();
    press(&mut app, "-4<enter>B-4<enter>")?;
    press(&mut app, "x")?;
    assert!(place(&app, "-4.00 sphere #1").is_in_a_cell(), "it stays where it is");
    assert_eq!(place(&app, "-4.00 sphere #2"), Place::Lost);
    press(&mut app, "<enter>x")?;
    let why = "-4.00 sphere #1 is in cell 1 of the right eye, so it cannot be lost";
    assert_eq!(refused(&app).as_deref(), Some(why));
    assert!(place(&app, "-4.00 sphere #1").is_in_a_cell());
    Ok(())
}

#[test]
fn the_exam_beneath_goes_on_with_what_is_still_there() -> Result<(), Failure> {
    let mut app = app();
    press(&mut app, "-4<enter>B-2<enter><space><space>x")?;
    let of_the_exam = |app: &App| {
        let stock = &app.state().fitted.stock;
        stock.of_lens(&"-2.00 sphere".parse().unwrap()).filter(|stocked| stocked.is_free()).count()
    };
    assert_eq!(of_the_exam(&app), 0, "what is lost is not offered");
    assert_eq!(app.exam().standing_steps().len(), 1, "what was done stands");
    press(&mut app, "<esc>")?;
    assert!(app.ui.page.is_none());
    press(&mut app, "-2<enter>")?;
    assert!(app.state().fitted.stock.get(&"-4.00 sphere #1".parse()?).unwrap().place.is_in_a_cell());
    press(&mut app, "<esc>B-2<enter>ff<esc>")?;
    assert_eq!(of_the_exam(&app), 2, "what is found again is offered again");
    press(&mut app, "u")?;
    assert_eq!(app.exam().standing_steps().len(), 0);
    Ok(())
}

#[test]
fn a_closed_exam_stays_as_it_was() -> Result<(), Failure> {
    let mut app = app();
    press(&mut app, "-4<enter>Cy")?;
    let before = app.state().clone();
    press(&mut app, "B-2<enter>x")?;
    assert_eq!(place(&app, "-2.00 sphere #1"), Place::Lost);
    assert_eq!(app.state(), &before);
    Ok(())
}

#[test]
fn what_cannot_be_is_refused_with_its_reason() -> Result<(), Failure> {
    for (keys, why) in [
        ("B+3.25<enter>", "Walking box has no +3.25 sphere"),
        ("B3<enter>", "`3` has no sign: +3 or -3, and a prism is 3b"),
        ("B/bogus<enter>", "Walking box has no bogus"),
        ("B-2<enter>f", "-2.00 sphere #1 is in the box, so it cannot be found"),
        ("B-2<enter>b", "-2.00 sphere #1 is in the box, so it cannot be returned"),
        ("B-2<enter>m-1.9<enter>", "there are several of -2.00 sphere: leave the line and choose which one"),
        (
            "B-2<enter><enter>m+2<enter>",
            "-2.00 sphere #1: marked -2.00, measured +2.00, +4.00 off: of the other sign. Measure it again; if it is so, say \
             that you are sure: add the word sure",
        ),
        ("B/pinhole<enter>m", "pinhole #1 has no power that could be measured"),
        (
            "B-2<enter>LClinic 3 until 31 Feb<enter>",
            "`31 Feb` is not a day: write it like 2026-12-17, 17 Dec or 14 days",
        ),
        ("Bu", "nothing was noted that could be taken back"),
        ("B-2<enter>vOther<enter>", "nothing is saved: there is no logbook"),
        ("B<tab>", "nothing is saved: there is no logbook"),
    ] {
        let mut app = app();
        press(&mut app, keys)?;
        assert_eq!(refused(&app).as_deref(), Some(why), "{keys}");
        assert!(page(&app).now.happened.is_empty(), "{keys}");
    }
    // whoever says that it is so is believed
    let mut app = app();
    press(&mut app, "B-2<enter><enter>m+2 sure<enter>")?;
    assert_eq!(page(&app).now.stock.get(&"-2.00 sphere #1".parse()?).unwrap().measured, Some(2.0));
    Ok(())
}

/// Every key that is offered does something, whatever was done before.
#[test]
fn what_is_offered_is_not_refused() -> Result<(), Failure> {
    for before in [
        "B",
        "B-2<enter>x",
        "B-3<enter>",
        "B-4<enter>LClinic 3<enter>",
        "B-4<enter>dx<enter>",
        "-4<enter>B-4<enter><enter>",
        "B/slit<enter>",
        "B/slit<enter>x",
        "B-2<enter>LAnn<enter><enter><enter>LBob<enter>+2<enter>-2<enter>",
        "B-2<enter><space><space>",
        "B-3<enter><space><space>",
        "Bo",
        "B-4<enter>LClinic 3<enter>o",
        "Bs",
        "Bsx",
        "Bsb",
        "Bsb2",
        "Bsw",
        "By",
        "Bk",
        "Bk[",
        "Bs<enter><enter>",
        "Cy<esc>B",
    ] {
        let reached = {
            let mut app = app();
            press(&mut app, before)?;
            app
        };
        let context = reached.ui.context();
        let bindings = reached.settings.keys.bindings().to_vec();
        for binding in bindings.iter().filter(|binding| binding.contexts.contains(&context)) {
            if !is_available(&reached, binding.action) {
                continue;
            }
            let mut tried = app();
            press(&mut tried, before)?;
            tried.ui.says = None;
            tried.handle(&Input::Key(binding.keys[0]));
            assert_eq!(refused(&tried), None, "{} after {before}", binding.action);
        }
    }
    Ok(())
}

#[test]
fn every_place_is_reached_by_arrows_at_both_sizes() -> Result<(), Failure> {
    for stock in [full_box(), six_hundred()] {
        for (columns, rows) in [(120, 36), (80, 24)] {
            let mut app = on(stock.clone());
            press(&mut app, "B")?;
            draw(&app, columns, rows);
            let count = page(&app).places().count();
            let mut seen = BTreeSet::from([page(&app).chosen]);
            for _ in 0..count {
                press(&mut app, "<down>")?;
                let drawn = draw(&app, columns, rows);
                assert!(drawn.iter().any(|row| row.contains('\u{25b8}') && !row.contains("tray")), "it is seen");
                seen.insert(page(&app).chosen);
            }
            assert_eq!(seen.len(), count);
            // and from column to column back to the first
            for _ in 0..count {
                press(&mut app, "<left>")?;
                draw(&app, columns, rows);
            }
            let first_column = usize::from(app.page_rows.get());
            assert!(page(&app).chosen < first_column, "{} of {first_column}", page(&app).chosen);
        }
    }
    Ok(())
}

/// The strokes of a full stock-take when all is there, and what it leaves.
#[test]
fn the_full_box_is_counted_in_at_most_forty_keys() -> Result<(), Failure> {
    let mut app = on(full_box());
    let mut keys = vec!["B", "s"];
    press(&mut app, "Bs")?;
    while !app.ui.counting().unwrap().ends {
        keys.push("<enter>");
        press(&mut app, "<enter>")?;
        assert!(keys.len() < 100);
    }
    keys.push("y");
    press(&mut app, "y")?;
    assert_eq!(refused(&app), None);
    assert!(keys.len() <= 40, "{} keys", keys.len());
    assert!(app.ui.counting().is_none() && page(&app).now.happened.is_empty());
    Ok(())
}

#[test]
fn a_stock_take_notes_what_was_said_and_nothing_before_the_yes() -> Result<(), Failure> {
    let mut app = app();
    // the first row is the weak minus spheres; -3.00 #2 is lost and lies there after all
    press(&mut app, "Bsx<right>y-3<enter>f<enter>")?;
    assert!(page(&app).now.happened.is_empty());
    press(&mut app, "<esc>")?;
    assert!(app.ui.counting().is_none(), "it can be left");
    press(&mut app, "s")?;
    press(&mut app, "w")?;
    assert!(app.ui.counting().unwrap().ends, "and gone on with");
    press(&mut app, "y")?;
    assert_eq!(refused(&app), None);
    assert_eq!(place(&app, "-0.25 sphere #1"), Place::Lost);
    assert_eq!(place(&app, "-0.50 sphere #3"), Place::Box);
    assert_eq!(place(&app, "-3.00 sphere #2"), Place::Box);
    assert_eq!(page(&app).now.happened.len(), 3);
    Ok(())
}

/// Whichever is said first: of as many as the list has none is lost and none is added.
#[test]
fn in_a_count_no_piece_is_lost_while_one_alike_is_too_many() -> Result<(), Failure> {
    for keys in ["Bsxy", "Bsyx", "Bsxxyy", "Bsyyxx", "Bsxyyx"] {
        let mut app = app();
        press(&mut app, keys)?;
        assert_eq!(refused(&app), None, "{keys}");
        press(&mut app, "wy")?;
        assert!(page(&app).now.happened.is_empty(), "{keys}");
    }
    // one that was lost lies there after all
    let mut app = app();
    press(&mut app, "Bs-3<enter>y")?;
    assert_eq!(app.ui.says.as_ref().map(|says| says.text.as_str()), Some("-3.00 sphere #2: here after all"));
    press(&mut app, "ywy")?;
    assert_eq!(place(&app, "-3.00 sphere #2"), Place::Box);
    assert_eq!(place(&app, "-3.00 sphere #3"), Place::Box);
    Ok(())
}

#[test]
fn a_step_of_a_stock_take_is_taken_back_and_the_whole_given_up() -> Result<(), Failure> {
    let mut app = app();
    press(&mut app, "Bsx")?;
    let first = app.ui.counting().unwrap().pieces()[0].piece.clone();
    assert!(app.ui.counting().unwrap().take.said(&first).is_some());
    press(&mut app, "u")?;
    assert_eq!(app.ui.counting().unwrap().take.said(&first), None);
    press(&mut app, "xwzy")?;
    assert!(app.ui.counting().is_none());
    press(&mut app, "s")?;
    assert_eq!(app.ui.counting().unwrap().take.said(&first), None, "another count begins afresh");
    Ok(())
}

/// An exam keeps what it knew of its lenses: the net and what the Box screen says of it never go apart in silence.
#[test]
fn a_lens_measured_before_the_eye_keeps_the_net_and_that_is_said() -> Result<(), Failure> {
    let mut app = app();
    press(&mut app, "-2<enter>")?;
    let net = app.in_front_of(Eye::Right).net;
    press(&mut app, "B-2<enter><enter>m-1.87<enter>")?;
    assert_eq!(page(&app).now.stock.get(&"-2.00 sphere #1".parse()?).unwrap().measured, Some(-1.87));
    let still = "this exam still counts -2.00 sphere #1 as -2.00";
    let says = app.ui.says.as_ref().map(|says| says.text.clone()).unwrap_or_default();
    assert!(says.ends_with(&format!("; {still}")), "{says}");
    assert!(draw(&app, 120, 36).iter().any(|row| row.contains("this exam still counts")));
    assert_eq!(app.in_front_of(Eye::Right).net, net);
    press(&mut app, "u")?;
    assert!(!draw(&app, 120, 36).iter().any(|row| row.contains("still counts")));
    Ok(())
}

#[test]
fn the_cost_of_a_loss_is_that_of_the_list_of_losses() -> Result<(), Failure> {
    let mut app = app();
    press(&mut app, "B")?;
    let says = |app: &App, what: &str| draw(app, 120, 36).iter().any(|row| row.contains(what));
    assert!(!says(&app, "one lost"));
    let losses = app.losses(&page(&app).now.stock).unwrap();
    let dearest = losses.first().cloned().unwrap();
    assert!(dearest.share > 0.0);
    press(&mut app, &format!("/{}<enter>w", dearest.lens))?;
    assert_eq!(page(&app).lens(), Some(&dearest.lens));
    let said = format!("one lost: {:.1} % less with", 100.0 * dearest.share);
    assert!(says(&app, &said), "{said}");
    press(&mut app, "/pinhole<enter>")?;
    assert!(says(&app, "it is no part of a stack"));
    press(&mut app, "w")?;
    assert!(!says(&app, "it is no part of a stack"));
    Ok(())
}

#[test]
fn what_is_bought_of_a_price_list_keeps_within_the_budget() -> Result<(), Failure> {
    let mut app = app();
    press(&mut app, "Byb20<enter>")?;
    assert_eq!(refused(&app).as_deref(), Some("a budget needs prices: name a price list first"));
    press(&mut app, "<esc>ptests/prices.csv<enter>")?;
    assert_eq!(refused(&app), None);
    let advice = |app: &App| app.advised(&page(app).now.stock, &page(app).buying).unwrap();
    let sum = |app: &App| advice(app).buy.iter().map(|of| of.price.unwrap_or(0.0)).sum::<f64>();
    let listed = dioptray::keeping::read_price_list("tests/prices.csv".as_ref())?;
    assert!(advice(&app).buy.iter().all(|of| of.price.is_none() || listed.iter().any(|offer| offer.lens == of.lens)));
    let without_a_budget = sum(&app);
    press(&mut app, "b20<enter>")?;
    assert_eq!(refused(&app), None);
    assert!(without_a_budget > 20.0 && sum(&app) <= 20.0, "{without_a_budget} {}", sum(&app));
    // a list with faults leaves the one before
    press(&mut app, "p<ctrl-u>tests/invalid/box-empty.yaml<enter>")?;
    assert!(refused(&app).is_some());
    assert_eq!(page(&app).buying.prices.as_ref().map(|list| list.offers.clone()), Some(listed));
    Ok(())
}

/// A journal whose disk is full.
struct Full(InMemory);

impl Journal for Full {
    fn save(&mut self, _step: &CheckedStep) -> Result<(), SaveError> {
        Ok(())
    }

    fn lasts(&self) -> bool {
        true
    }

    fn box_now(&self, exam: &Exam, other: Option<&str>) -> Result<BoxNow, RecordError> {
        self.0.box_now(exam, other)
    }

    fn change_box(&mut self, _: &Exam, _: Option<&str>, _: &ToNote) -> Result<(), RecordError> {
        Err(StepError::NotSaved(SaveError::new("the disk is full")).into())
    }

    fn take_back_of_box(&mut self, exam: &Exam, other: Option<&str>) -> Result<Vec<BoxChange>, RecordError> {
        self.0.take_back_of_box(exam, other)
    }
}

#[test]
fn what_is_not_saved_is_not_done_and_its_line_stays() -> Result<(), Failure> {
    let start = options(Settings::shipped()?)?;
    let session = Session::new(start.session.exam().clone(), Box::new(Full(InMemory::default())));
    let mut app = App::new(session, start.settings);
    press(&mut app, "B-2<enter>LClinic 3")?;
    let enter = strokes::parse("<enter>")?;
    let [Stroke::Key(enter)] = enter.as_slice() else { return Err("one key".into()) };
    assert_eq!(app.handle(&Input::Key(*enter)), After::NotKept);
    assert_eq!(refused(&app).as_deref(), Some("not saved, so not done: the disk is full"));
    assert_eq!(app.ui.prompt.as_ref().map(|prompt| prompt.line.value()), Some("Clinic 3"));
    assert_eq!(place(&app, "-2.00 sphere #1"), Place::Box);
    Ok(())
}

#[test]
fn the_box_is_spoken_line_by_line() -> Result<(), Failure> {
    let mut out = Vec::new();
    let lines = ["B", "-3", "LClinic 3 until 17 Dec", "o", "<esc>", "s", "x", "<esc>", "<esc>"];
    run_lines(options(Settings::shipped()?)?, (lines.join("\n") + "\n").as_bytes(), &mut out)?;
    let text = String::from_utf8(out)?;
    let said: Vec<&str> = text.split("\n\n").collect();
    assert!(said[1].contains("box Walking box: ") && said[1].contains("-3.00 sphere: 1 here, 1 lost"), "{}", said[1]);
    assert!(said[2].contains("-3.00 sphere, 2 pieces") && said[2].contains("#2 lost"), "{}", said[2]);
    assert!(said[3].contains("lent to Clinic 3 until 2026-12-17") && said[3].contains("due 17 Dec"), "{}", said[3]);
    assert!(said[4].contains("chosen: Clinic 3, -3.00 sphere #1"), "{}", said[4]);
    assert!(said[7].contains("GONE"), "{}", said[7]);
    Ok(())
}

#[test]
fn every_action_of_a_box_has_a_key_on_the_box_alone() {
    let app = app();
    let of_a_box =
        // what leads to a box has its keys elsewhere: on the frame, and at the first start
        BoxAction::ALL
            .iter()
            .filter(|action| !matches!(action, BoxAction::Open | BoxAction::OwnBox | BoxAction::OwnFrame))
            .map(|action| Action::Box(*action));
    for action in of_a_box.chain(CountingAction::ALL.iter().map(|action| Action::Counting(*action))) {
        let binding = app.settings.keys.bindings().iter().find(|binding| binding.action == action).unwrap();
        assert!(binding.is_of_a_box(), "{action}");
    }
}
