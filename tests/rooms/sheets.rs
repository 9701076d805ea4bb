//! The sheets of a keeper: what stands in them, and that text, CSV and PDF say the same.

use dioptray::export::table::csv::csv;
use dioptray::export::table::text::text;
use dioptray::export::table::{Cell, ColumnKind, Group, Paper, Table, TableForm, ToFit, column};
use dioptray::keeping::{Offer, Purchase, Shares};
use dioptray::kit::{BoxChange, DeclaredBox, Lens, Measurement, Piece, Place, Tray, parse_box};
use dioptray::logbook::{BoxKey, Logbook, NamedBox, NewChanges, StockOnRecord};
use dioptray::sheets::{
    Further, Handover, Limits, OfBox, check_in, keeper, labels, loans, order, pick, stock_take, verification,
    with_what_was_lost,
};
use jiff::civil::{Date, date};
use jiff::tz::TimeZone;

use crate::export::read_back::pdf;

type Checked = Result<(), Box<dyn std::error::Error>>;

const BOX: &str = "box: Hill
id: hill-1
lenses:
  - {kind: sphere, powers: [\"±0.50\", \"±1.00\"], each: 2}
  - {kind: cylinder, powers: [\"-0.50\"], each: 1}
  - {kind: occluder, each: 2}
missing: [\"+1.00 sphere x2\"]
measured:
  - {lens: \"-1.00 sphere #1\", power: -1.12}
tray:
  - {row: \"A, spheres\", lenses: [\"-1.00 sphere\", \"-0.50 sphere\", \"+0.50 sphere\", \"+1.00 sphere\"]}
";

const ON: Date = date(2026, 11, 26);

fn piece(label: &str) -> Result<Piece, Box<dyn std::error::Error>> {
    Ok(label.parse()?)
}

fn changes() -> Result<Vec<BoxChange>, Box<dyn std::error::Error>> {
    let measured = |power: f64, on: Date| Measurement {
        axis_off_deg: Some(3.0),
        instrument: Some("focimeter 2".to_owned()),
        on: Some(on),
        ..Measurement::of(power)
    };
    let lent = |piece: Piece, to: &str, until| BoxChange::Lent { piece, to: Some(to.to_owned()), until };
    Ok(vec![
        lent(piece("-1.00 sphere #2")?, "=Clinic", Some(date(2026, 11, 25))),
        lent(piece("occluder #1")?, "=Clinic", None),
        lent(piece("-0.50 sphere #2")?, "School", Some(date(2026, 11, 26))),
        BoxChange::Damaged { piece: piece("+0.50 sphere #1")?, what: Some("chipped".to_owned()) },
        BoxChange::Measured { piece: piece("-0.50 cylinder #1")?, measurement: measured(-0.62, date(2025, 11, 26)) },
        BoxChange::Measured { piece: piece("+0.50 sphere #2")?, measurement: measured(0.5, date(2025, 11, 27)) },
    ])
}

/// A box of which that was noted.
fn with_box<T>(see: impl FnOnce(&DeclaredBox, &OfBox<'_>) -> T) -> Result<T, Box<dyn std::error::Error>> {
    let folder = tempfile::tempdir()?;
    let declared = parse_box("hill.yaml", BOX)?;
    let named = NamedBox { key: BoxKey::of_name("Hill"), name: "Hill".to_owned() };
    let mut logbook = Logbook::open(&folder.path().join("logbook.db"))?;
    let at = "2026-11-02T10:00:00Z".parse()?;
    let new = NewChanges { changes: changes()?, note: None, by: Some("K.M."), at, count: None };
    logbook.note_in_box(&named, &declared, &new, &[])?;
    let record: StockOnRecord = logbook.stock_of(&named.key, &declared)?;
    let tray = Tray::of(&declared.tray, &record.stock);
    Ok(see(
        &declared,
        &OfBox { record: &record, own_marks: record.own_marks(), tray: &tray, on: ON, zone: TimeZone::UTC },
    ))
}

/// What stands in the cells of a row.
fn shown(row: &[Cell]) -> Vec<String> {
    row.iter().map(Cell::shown).collect()
}

/// Each row with its group before it.
fn rows(table: &Table) -> Vec<Vec<String>> {
    let of_group = |group: &Group| {
        group.rows.iter().map(|row| [vec![group.name.clone()], shown(row)].concat()).collect::<Vec<_>>()
    };
    table.groups.iter().flat_map(of_group).collect()
}

fn purchases() -> Result<Vec<Purchase>, Box<dyn std::error::Error>> {
    let why = "none in the box".to_owned();
    Ok(vec![Purchase { lens: "-2.00 sphere".parse()?, pieces: 2, gains: 0.031, price: None, why }])
}

fn every_sheet(of: &OfBox<'_>) -> Result<Vec<Table>, Box<dyn std::error::Error>> {
    let buy = purchases()?;
    let prices = vec![Offer { lens: "+1.00 sphere".parse()?, price: Some(4.5) }];
    let shares = Shares { with_at_most: [0.1, 0.5, 0.75, 0.9], mean: Some(2.0) };
    let taken = [piece("occluder #2")?, piece("+0.50 sphere #1")?];
    Ok(vec![
        order(of, Further { buy: &buy, share: "with at most 2 lenses" }, &prices),
        pick(of, &taken),
        check_in(of, "bag b-1", &[piece("-1.00 sphere #2")?]),
        loans(of, None),
        labels(of),
        verification(of, Limits { within: Some(0.12), every_months: Some(12) }),
        stock_take(of, false),
        keeper(of, Handover { file: "hill.yaml", makes: (shares, shares, "the public table") }),
    ])
}

#[test]
fn what_is_lost_is_bought_first_and_the_sum_says_what_has_no_price() -> Checked {
    with_box(|_, of| -> Checked {
        let replaced = with_what_was_lost(&of.record.stock);
        assert_eq!(replaced.pieces().iter().filter(|stocked| stocked.place == Place::Lost).count(), 0);
        assert_eq!(replaced.pieces().iter().filter(|stocked| stocked.place.is_lent()).count(), 3);
        let table = every_sheet(of)?.remove(0);
        let expected = [
            vec!["lost", "+1.00 sphere", "2", "4.50", "9.00", "", "2 are lost"],
            vec!["further", "-2.00 sphere", "2", "", "", "", "none in the box; gains 3.1 %"],
        ];
        assert_eq!(rows(&table), expected);
        let sum = "The sum is 9.00, without 2 pieces that the list has no price for.";
        assert_eq!((table.notes[0].as_str(), table.notes[1].as_str()), ("4 pieces in all.", sum));
        assert_eq!(table.notes.last().map(String::as_str), Some("Damaged and still in use: +0.50 sphere #1."));
        // without prices there is no sum
        let without = order(of, Further { buy: &[], share: "" }, &[]);
        assert!(!without.notes.iter().any(|note| note.contains("sum")), "{:?}", without.notes);
        assert_eq!(rows(&without), [["lost", "+1.00 sphere", "2", "", "2 are lost"]]);
        Ok(())
    })?
}

#[test]
fn what_is_taken_out_comes_in_the_order_of_the_tray() -> Checked {
    with_box(|_, of| -> Checked {
        let table = pick(of, &[piece("occluder #2")?, piece("+0.50 sphere #1")?, piece("-1.00 sphere #1")?]);
        let expected = [
            ["A, spheres", "", "-1.00 sphere #1", "measured -1.12, -0.12 off its mark"],
            ["A, spheres", "", "+0.50 sphere #1", "damaged: chipped"],
            ["accessories", "", "occluder #2", ""],
        ];
        assert_eq!(rows(&table), expected);
        Ok(())
    })?
}

#[test]
fn loans_go_by_borrower_and_what_is_overdue_says_so_the_day_after() -> Checked {
    with_box(|_, of| -> Checked {
        let expected = [
            ["=Clinic", "-1.00 sphere #2", "2026-11-02", "2026-11-25", "overdue", "", "K.M.", ""],
            ["=Clinic", "occluder #1", "2026-11-02", "", "", "", "K.M.", ""],
            ["School", "-0.50 sphere #2", "2026-11-02", "2026-11-26", "", "", "K.M.", ""],
        ];
        assert_eq!(rows(&loans(of, None)), expected);
        assert_eq!(rows(&loans(of, Some("School"))), expected[2..]);
        assert_eq!(loans(of, Some("Nobody")).rows(), 0);
        let later = OfBox { on: date(2026, 11, 27), zone: TimeZone::UTC, own_marks: of.own_marks.clone(), ..*of };
        assert_eq!(rows(&loans(&later, Some("School")))[0][4], "overdue");
        let away = check_in(of, "bag b-1", &[piece("-1.00 sphere #2")?]);
        assert_eq!(rows(&away), [["A, spheres", "", "-1.00 sphere #2", "2026-11-25, overdue", "", "", ""]]);
        Ok(())
    })?
}

#[test]
fn labels_name_every_piece_that_belongs_in_a_row() -> Checked {
    with_box(|_, of| {
        let expected = [
            ["", "1", "A, spheres", "8", "-1.00 x2, -0.50 x2, +0.50 x2, +1.00 x2"],
            ["", "2", "cylinders -", "1", "-0.50"],
            ["", "3", "accessories", "2", "occluder x2"],
        ];
        assert_eq!(rows(&labels(of)), expected);
    })
}

#[test]
fn the_limits_of_the_keeper_alone_say_what_is_over_and_due() -> Checked {
    with_box(|_, of| {
        let states = |within, every_months| -> Vec<(String, String)> {
            let table = verification(of, Limits { within, every_months });
            rows(&table).into_iter().map(|row| (row[1].clone(), row[5].clone())).collect()
        };
        let state = |within, every, piece: &str| {
            states(within, every).into_iter().find(|(of, _)| of == piece).map(|(_, state)| state)
        };
        // what is lent or lost is not there to be measured, and what has no power never is
        let there: Vec<String> = states(None, None).into_iter().map(|(piece, _)| piece).collect();
        let expected =
            ["-1.00 sphere #1", "-0.50 sphere #1", "+0.50 sphere #1", "+0.50 sphere #2", "-0.50 cylinder #1"];
        assert_eq!(there, expected);
        assert!(states(None, None).iter().all(|(_, state)| state.is_empty()));
        // 0.12 off is within 0.12, by a hair of rounding
        assert_eq!(state(Some(0.12), None, "-0.50 cylinder #1").as_deref(), Some(""));
        assert_eq!(state(Some(0.11), None, "-0.50 cylinder #1").as_deref(), Some("over the limit"));
        // the file's own measurement counts, and has no day
        assert_eq!(state(Some(0.11), Some(12), "-1.00 sphere #1").as_deref(), Some("over the limit, due"));
        // measured a year ago to the day, and a day later
        assert_eq!(state(None, Some(12), "-0.50 cylinder #1").as_deref(), Some("due"));
        assert_eq!(state(None, Some(12), "+0.50 sphere #2").as_deref(), Some(""));
        let table = verification(of, Limits::default());
        let row = rows(&table).into_iter().find(|row| row[1] == "-0.50 cylinder #1").unwrap_or_default();
        assert_eq!(row[2..10], ["-0.62", "-0.12", "2025-11-26", "", "K.M.", "focimeter 2", "3.00", ""]);
    })
}

#[test]
fn the_next_keeper_reads_what_is_the_matter_with_the_box() -> Checked {
    with_box(|_, of| -> Checked {
        let table = every_sheet(of)?.remove(7);
        let all = rows(&table);
        for expected in [
            ["Lost", "+1.00 sphere #1", "as the file says"],
            ["Lent", "-1.00 sphere #2", "lent to =Clinic until 2026-11-25, overdue"],
            ["Damaged", "+0.50 sphere #1", "damaged: chipped"],
            ["Off its mark", "-1.00 sphere #1", "measured -1.12, -0.12 off its mark"],
            ["The box", "last counted", "never, as far as is noted"],
            ["The box", "pieces", "11 of the set, 6 of them at hand"],
        ] {
            assert!(all.iter().any(|row| *row == expected), "{expected:?} is not in {all:?}");
        }
        Ok(())
    })?
}

/// What is not broken into lines by any writer: words without blanks.
fn words(table: &Table) -> Vec<String> {
    let heads = table.columns.iter().map(|column| column.head.to_owned());
    let cells = rows(table).into_iter().flatten().chain(table.notes.iter().cloned());
    let title = [table.title.clone(), table.caution.to_owned()];
    let known: Vec<String> =
        title.into_iter().chain(cells).chain(table.signed_by.iter().map(ToString::to_string)).collect();
    let drawn = heads.filter(|head| table.columns.iter().any(|column| column.head == head && column.kind.is_by_hand()));
    known
        .iter()
        .map(String::as_str)
        .chain(drawn.collect::<Vec<_>>().iter().map(String::as_str))
        .flat_map(|text| text.split_whitespace().map(str::to_owned))
        .collect()
}

#[test]
fn text_csv_and_pdf_have_every_figure_note_and_the_caution() -> Checked {
    with_box(|_, of| -> Checked {
        for table in every_sheet(of)? {
            let in_text = text(&table);
            assert!(in_text.lines().all(|line| line.chars().count() <= 80), "{in_text}");
            let in_pdf: Vec<String> = pdf::lines(&TableForm::Pdf.write(&table)?)?.into_iter().flatten().collect();
            let in_pdf = in_pdf.join(" ");
            for word in words(&table) {
                assert!(in_text.contains(&word), "{word} is not in the text:\n{in_text}");
                assert!(in_pdf.contains(&word), "{}: {word} is not on the page: {in_pdf}", table.title);
            }
            let by_hand = |kind: ColumnKind| table.columns.iter().filter(|column| column.kind == kind).count();
            assert_eq!(in_text.matches("[ ]").count(), table.rows() * by_hand(ColumnKind::Tick), "{in_text}");
            // each cell under its head, as a spreadsheet reads it
            let in_csv = csv(&table)?;
            let mut reader = ::csv::Reader::from_reader(in_csv.trim_start_matches('\u{feff}').as_bytes());
            let head = reader.headers()?.clone();
            assert_eq!(head.iter().rev().take(2).collect::<Vec<_>>(), ["notice", "notes"]);
            let found: Vec<::csv::StringRecord> = reader.records().collect::<Result<_, _>>()?;
            assert_eq!(found.len(), table.rows());
            for (record, row) in found.iter().zip(rows(&table)) {
                let row = if table.groups_are.is_some() { &row[..] } else { &row[1..] };
                for (cell, shown) in record.iter().zip(row) {
                    let is_figure = cell.parse::<f64>().is_ok();
                    let kept = cell.trim_start_matches('\'');
                    assert!(kept == shown || is_figure && cell == shown.trim_start_matches('+'), "{cell}: {shown}");
                    assert!(is_figure || !cell.starts_with(['=', '+', '-', '@']), "a formula: {cell}");
                }
            }
            assert_eq!(found[0].iter().next_back(), Some(table.caution));
        }
        Ok(())
    })?
}

#[test]
fn a_sheet_without_rows_says_so_and_keeps_its_caution() -> Checked {
    with_box(|_, of| -> Checked {
        let table = loans(of, Some("Nobody"));
        let in_pdf: Vec<String> = pdf::lines(&TableForm::Pdf.write(&table)?)?.into_iter().flatten().collect();
        for written in [text(&table), in_pdf.join(" ")] {
            assert!(written.contains("Nothing is lent.") && written.contains("not a medical device"), "{written}");
        }
        assert!(csv(&table)?.contains("not a medical device"));
        Ok(())
    })?
}

#[test]
fn a_long_sheet_repeats_its_head_on_every_page() -> Checked {
    let columns = vec![column("lens", ColumnKind::Words), column("here", ColumnKind::ToFillIn)];
    let row = |number: usize| vec![Cell::Text(format!("lens{number}")), Cell::Empty];
    let table = with_box(|_, of| Table {
        columns: columns.clone(),
        groups: vec![Group { name: "row".to_owned(), rows: (0..150).map(row).collect() }],
        ..loans(of, None)
    })?;
    let strings = pdf::strings(&TableForm::Pdf.write(&table)?)?;
    let pages = strings.iter().map(|placed| placed.page).max().unwrap_or(0);
    assert!(pages >= 3, "{pages} pages");
    for page in 0..=pages {
        let on_page: Vec<&str> =
            strings.iter().filter(|placed| placed.page == page).map(|placed| placed.text.as_str()).collect();
        if on_page.iter().any(|text| text.starts_with("lens") && *text != "lens") {
            assert!(on_page.contains(&"lens") && on_page.contains(&"here"), "page {page}: {on_page:?}");
        }
    }
    let all = (0..150).filter(|number| strings.iter().any(|placed| placed.text == format!("lens{number}"))).count();
    assert_eq!(all, 150);
    Ok(())
}

#[test]
fn columns_that_do_not_fit_go_on_below_and_none_runs_over_the_paper() {
    let paper = Paper { width: 30.0, gap: 2.0, indent: 4.0, least: 8.0 };
    let of = |column, width, is_broken, by_hand| ToFit { column, width, is_broken, by_hand };
    let columns = [
        of(0, 12.0, false, false),
        of(1, 10.0, false, true),
        of(2, 10.0, false, true),
        of(3, 50.0, true, false),
        of(4, 50.0, false, false),
    ];
    let lines = paper.fit(&columns);
    let numbers: Vec<Vec<usize>> = lines.iter().map(|line| line.iter().map(|at| at.column).collect()).collect();
    // what is filled in by hand stays together; words that can be broken take what is left, where it is enough
    assert_eq!(numbers, [vec![0], vec![1, 2], vec![3], vec![4]]);
    assert!(lines.iter().flatten().all(|at| at.left + at.width <= 30.0));
    let beside = paper.fit(&[of(0, 12.0, false, false), of(1, 50.0, true, false)]);
    assert_eq!((beside.len(), beside[0][1].width), (1, 16.0));
}

#[test]
fn a_count_without_what_is_known_has_the_same_lines() -> Checked {
    with_box(|_, of| {
        let (open, blind) = (stock_take(of, false), stock_take(of, true));
        let lenses = |table: &Table| rows(table).into_iter().map(|row| row[1].clone()).collect::<Vec<_>>();
        assert_eq!(lenses(&open), lenses(&blind));
        let known: Vec<String> = rows(&open).into_iter().filter_map(|row| row.last().cloned()).collect();
        let expected =
            ["1, 1 lent to =Clinic", "1, 1 lent to School", "1, 1 damaged", "0, 2 lost", "1", "1, 1 lent to =Clinic"];
        assert_eq!(known, expected);
        assert!(rows(&blind).iter().all(|row| row.len() == 5) && !text(&blind).contains("Clinic"));
        let every: Vec<Lens> = of.tray.rows.iter().flat_map(|row| row.lenses.clone()).collect();
        assert_eq!(lenses(&open), every.iter().map(ToString::to_string).collect::<Vec<_>>());
    })
}
