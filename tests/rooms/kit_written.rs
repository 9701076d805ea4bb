//! Box and frame files as they are written, and the rows of the tray.

use dioptray::frame::shipped::FRAMES;
use dioptray::frame::{parse_frame, write_frame};
use dioptray::kit::file::{with_name, write_box, write_new_box};
use dioptray::kit::shipped::{BOXES, full_box};
use dioptray::kit::tray::MOST_IN_A_ROW;
use dioptray::kit::{DeclaredBox, Lens, LensLine, Piece, Stock, Tray, parse_box};
use proptest::prelude::*;

type Outcome = Result<(), Box<dyn std::error::Error>>;

const BEFORE: &str = "# What the second bag holds.
box: Hillside outreach   # the green one
id: hillside-bag-1
note: Three lenses never came back.
lenses:
  # ours are in pairs
  - kind: sphere
    powers: [\"±0.25 to ±1.00 by 0.25\"]  # from the old set
    each: 2
  - {kind: occluder, each: 2}
missing: [\"+0.50 sphere\"]

# measured by K.M.
measured:
  - {lens: \"-0.75 sphere #1\", power: -0.80, note: mismarked}
tray:
  - {row: top, lenses: [\"+0.25 to +1.00 by 0.25 sphere\"]}
";

fn line_of<'a>(declared: &'a mut DeclaredBox, lens: &str) -> Option<&'a mut LensLine> {
    declared.lines.iter_mut().find(|line| line.lens.to_string() == lens)
}

#[test]
fn what_is_otherwise_is_written_and_the_rest_stays_with_its_comments() -> Outcome {
    let mut declared = parse_box("before.yaml", BEFORE)?;
    assert_eq!(write_box(&declared, Some(BEFORE)).lines().count(), BEFORE.lines().count());
    declared.id = Some("hillside-bag-2".to_owned());
    let occluders = line_of(&mut declared, "occluder").ok_or("no occluder")?;
    occluders.declared = 3;
    let plus = line_of(&mut declared, "+0.50 sphere").ok_or("no lens")?;
    plus.missing = 0;
    declared.lines.push(LensLine { lens: "3 prism".parse()?, declared: 1, missing: 1 });
    let text = write_box(&declared, Some(BEFORE));
    let expected = "# What the second bag holds.
box: Hillside outreach   # the green one
id: hillside-bag-2
note: Three lenses never came back.
lenses:
  # ours are in pairs
  - kind: sphere
    powers: [\"±0.25 to ±1.00 by 0.25\"]  # from the old set
    each: 2
  - {kind: occluder, each: 3}
  - kind: prism
    powers: [\"3.00\"]
    each: 1
missing: [\"3 prism\"]

# measured by K.M.
measured:
  - {lens: \"-0.75 sphere #1\", power: -0.8, note: \"mismarked\"}
tray:
  - {row: top, lenses: [\"+0.25 to +1.00 by 0.25 sphere\"]}
";
    assert_eq!(text, expected);
    assert_eq!(parse_box("after.yaml", &text)?, declared);
    Ok(())
}

#[test]
fn a_box_gets_another_name_and_every_other_byte_stays() -> Outcome {
    let renamed = with_name(BEFORE, "Second bag: green").ok_or("not renamed")?;
    assert_eq!(renamed, BEFORE.replace("box: Hillside outreach   # the green one", "box: \"Second bag: green\""));
    assert_eq!(with_name("{box: A, lenses: [{kind: occluder, each: 1}]}", "B"), None);
    Ok(())
}

#[test]
fn a_new_box_has_what_was_counted_of_its_template() -> Outcome {
    let template = full_box()?;
    let pieces = |lens: &Lens| if lens.is_cylinder() { 1 } else { u8::from(!lens.is_sphere()) * 2 };
    let text = write_new_box(&template, "New", "new-1", &pieces);
    let read = parse_box("new.yaml", &text)?;
    assert_eq!((read.name.as_str(), read.id.as_deref()), ("New", Some("new-1")));
    let expected: Vec<(Lens, u8)> = template
        .lines
        .iter()
        .map(|line| (line.lens.clone(), pieces(&line.lens)))
        .filter(|(_, pieces)| *pieces > 0)
        .collect();
    let mut lines: Vec<(Lens, u8)> = read.lines.into_iter().map(|line| (line.lens, line.declared)).collect();
    let mut expected = expected;
    lines.sort();
    expected.sort();
    assert_eq!(lines, expected);
    Ok(())
}

#[test]
fn every_shipped_frame_is_written_as_it_reads() -> Outcome {
    for (name, text) in FRAMES {
        let frame = parse_frame(name, text)?;
        assert_eq!(parse_frame(name, &write_frame(&frame))?, frame, "{name}");
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]
    /// Whatever became of a shipped box, its file says so, whether or not it keeps the one before.
    #[test]
    fn a_written_box_reads_as_what_is_there(
        shipped in 0..BOXES.len(),
        counts in prop::collection::vec((0u8..4, 0u8..4, any::<bool>()), 400),
        keeps in any::<bool>(),
    ) {
        let (name, before) = BOXES[shipped];
        let mut declared = parse_box(name, before)?;
        declared.measured.clear();
        let mut lines = Vec::new();
        for (line, (count, missing, is_measured)) in declared.lines.iter().zip(&counts) {
            if *count == 0 { continue }
            let missing = missing.min(count);
            lines.push(LensLine { lens: line.lens.clone(), declared: *count, missing: *missing });
            if *is_measured && missing < count && let Some(mark) = line.lens.mark() {
                let piece = Piece { lens: line.lens.clone(), number: 1 };
                let power = mark.dioptres() * 0.97;
                declared.measured.push(dioptray::kit::Measured { piece, power, note: None });
            }
        }
        prop_assume!(!lines.is_empty());
        declared.lines = lines;
        declared.id = Some("fresh-1".to_owned());
        let text = write_box(&declared, keeps.then_some(before));
        let mut read = parse_box("written.yaml", &text).map_err(|faults| TestCaseError::fail(format!("{faults}\n{text}")))?;
        let by_lens = |lines: &mut Vec<LensLine>| lines.sort_by(|one, other| one.lens.cmp(&other.lens));
        by_lens(&mut read.lines);
        by_lens(&mut declared.lines);
        prop_assert_eq!(read, declared);
    }
}

#[test]
fn the_full_box_lies_in_few_rows_of_about_one_length_each_lens_once() -> Outcome {
    let stock = Stock::of(&full_box()?);
    let tray = Tray::of(&[], &stock);
    let lying: Vec<&Lens> = tray.rows.iter().flat_map(|row| &row.lenses).collect();
    let pieces = |lens: &Lens| stock.of_lens(lens).count();
    assert_eq!(lying.iter().map(|lens| pieces(lens)).sum::<usize>(), 266);
    assert!(lying.iter().enumerate().all(|(at, lens)| !lying[at + 1..].contains(lens)));
    assert!(tray.rows.len() < 20, "{}", tray.rows.len());
    for row in &tray.rows {
        let in_row: usize = row.lenses.iter().map(pieces).sum();
        assert!(in_row <= MOST_IN_A_ROW, "{}: {in_row}", row.name);
    }
    let names: Vec<&str> = tray.rows.iter().map(|row| row.name.as_str()).collect();
    assert_eq!(names[..4], ["spheres -, 0.12 to 2.25", "spheres -, 2.50 to 7.00", "spheres -, 7.50 to 20.00", "plano"]);
    Ok(())
}

#[test]
fn rows_of_the_file_come_first_and_what_they_do_not_name_after_them() -> Outcome {
    let declared = parse_box("before.yaml", BEFORE)?;
    let mut stock = Stock::of(&declared);
    stock.change(&dioptray::kit::BoxChange::Added("+5.00 sphere".parse::<Lens>()?.into()))?;
    let tray = Tray::of(&declared.tray, &stock);
    let names: Vec<&str> = tray.rows.iter().map(|row| row.name.as_str()).collect();
    assert_eq!(names, ["top", "spheres -", "spheres +", "accessories"]);
    assert_eq!(tray.rows[0].lenses.len(), 4);
    assert_eq!(tray.row_of(&"+5.00 sphere".parse()?), Some(2));
    Ok(())
}
