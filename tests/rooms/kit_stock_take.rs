//! A stock-take: what it comes to, whatever happens meanwhile.

use dioptray::kit::shipped::full_box;
use dioptray::kit::stock_take::{CountedTwice, LensCounted, Meanwhile, Said, differences};
use dioptray::kit::{BoxChange, Lens, Measurement, Piece, Place, Stock, StockTake, Tray, parse_box};
use dioptray::optics::Eye;
use proptest::prelude::*;

type Outcome = Result<(), Box<dyn std::error::Error>>;

const BOX: &str = "box: Small
lenses:
  - {kind: sphere, powers: [\"±1.00\", \"±2.00\"], each: 2}
  - {kind: occluder, each: 1}
missing: [\"+2.00 sphere\"]
";

fn small() -> Result<(Stock, StockTake), Box<dyn std::error::Error>> {
    let stock = Stock::of(&parse_box("small.yaml", BOX)?);
    let take = StockTake::begin(&Tray::of(&[], &stock), &stock);
    Ok((stock, take))
}

fn piece(label: &str) -> Result<Piece, Box<dyn std::error::Error>> {
    Ok(label.parse()?)
}

#[test]
fn when_all_is_as_shown_a_key_a_row_takes_stock_of_the_full_box() -> Outcome {
    let stock = Stock::of(&full_box()?);
    let mut take = StockTake::begin(&Tray::of(&[], &stock), &stock);
    let mut keys = 0;
    while let Some(row) = take.next_row() {
        take.count_row(row, true);
        keys += 1;
    }
    // a yes comes at the end
    assert!(keys < 40, "{keys} keys");
    let ending = take.ending(&stock);
    assert_eq!((ending.changes.len(), ending.not_counted.len()), (0, 0));
    assert_eq!(ending.count.iter().map(|counted| u32::from(counted.here)).sum::<u32>(), 266);
    Ok(())
}

#[test]
fn what_was_said_comes_to_changes_in_the_order_of_the_tray() -> Outcome {
    let (stock, mut take) = small()?;
    take.say(&piece("+1.00 sphere #2")?, Said::Missing);
    take.say(&piece("-1.00 sphere #1")?, Said::Damaged { what: Some("chipped".to_owned()) });
    take.say(&piece("+2.00 sphere #2")?, Said::Here);
    take.measure(&piece("-2.00 sphere #1")?, Measurement::of(-1.87));
    assert_eq!(take.one_more(&"-2.00 sphere".parse()?), None);
    assert_eq!(take.one_more(&"+7.00 sphere".parse()?), None);
    take.strange(0, "unmarked, weak plus");
    take.count_blind(&"+1.00 sphere".parse()?, 2);
    for row in 0..take.rows().len() {
        take.count_row(row, true);
    }
    let ending = take.ending(&stock);
    let expected = [
        BoxChange::Damaged { piece: piece("-1.00 sphere #1")?, what: Some("chipped".to_owned()) },
        BoxChange::Measured { piece: piece("-2.00 sphere #1")?, measurement: Measurement::of(-1.87) },
        BoxChange::Lost(piece("+1.00 sphere #2")?),
        BoxChange::Found(piece("+2.00 sphere #2")?),
        BoxChange::Added("-2.00 sphere".parse::<Lens>()?.into()),
        BoxChange::Added("+7.00 sphere".parse::<Lens>()?.into()),
    ];
    assert_eq!(ending.changes, expected);
    assert_eq!(ending.strange, [("spheres -".to_owned(), "unmarked, weak plus".to_owned())]);
    assert_eq!(ending.counted_twice, [CountedTwice { lens: "+1.00 sphere".parse()?, first: 1, blind: 2 }]);
    let plus = ending.count.iter().find(|counted| counted.lens.to_string() == "+1.00 sphere");
    assert_eq!(plus, Some(&LensCounted { lens: "+1.00 sphere".parse()?, here: 1, damaged: 0, missing: 1, more: 0 }));
    let mut after = stock.clone();
    after.note_all(&ending.changes).map_err(|(_, why)| why)?;
    // another stock-take that says the same has nothing to add
    let kept: StockTake = serde_json::from_str(&serde_json::to_string(&take)?)?;
    assert_eq!(kept, take);
    assert_eq!(differences(&ending.count, &ending.count), []);
    Ok(())
}

#[test]
fn nothing_is_noted_of_a_row_that_nobody_counted_but_for_what_was_said() -> Outcome {
    let (stock, mut take) = small()?;
    take.say(&piece("+1.00 sphere #1")?, Said::Missing);
    let ending = take.ending(&stock);
    assert_eq!(ending.changes, [BoxChange::Lost(piece("+1.00 sphere #1")?)]);
    assert_eq!(ending.not_counted, ["spheres -", "spheres +", "accessories"]);
    assert_eq!(ending.count.len(), 1);
    Ok(())
}

#[test]
fn what_became_known_meanwhile_is_reported_and_never_overwritten() -> Outcome {
    let (mut stock, mut take) = small()?;
    take.say(&piece("+1.00 sphere #1")?, Said::Missing);
    take.say(&piece("-1.00 sphere #2")?, Said::Here);
    take.say(&piece("-2.00 sphere #1")?, Said::Missing);
    take.say(&piece("-2.00 sphere #2")?, Said::Missing);
    stock.change(&BoxChange::Lent { piece: piece("+1.00 sphere #1")?, to: Some("K.".to_owned()), until: None })?;
    stock.change(&BoxChange::Lost(piece("-1.00 sphere #2")?))?;
    stock.change(&BoxChange::Lost(piece("-2.00 sphere #1")?))?;
    let cell = Place::Cell { eye: Eye::Right, cell: 1 };
    stock.place(&piece("-2.00 sphere #2")?, cell.clone())?;
    let ending = take.ending(&stock);
    assert_eq!(ending.changes, []);
    let meanwhile = |label: &str, now, said| piece(label).map(|piece| Meanwhile { piece, was: Place::Box, now, said });
    let expected =
        [meanwhile("-1.00 sphere #2", Place::Lost, Said::Here)?, meanwhile("-2.00 sphere #2", cell, Said::Missing)?];
    // what both say alike needs no word: it is not there
    assert_eq!(ending.meanwhile, expected);
    Ok(())
}

#[test]
fn counts_of_a_sheet_take_what_is_known_first() -> Outcome {
    let (mut stock, _) = small()?;
    stock.change(&BoxChange::Damaged { piece: piece("-1.00 sphere #1")?, what: None })?;
    let mut take = StockTake::begin(&Tray::of(&[], &stock), &stock);
    let lens: Lens = "-1.00 sphere".parse()?;
    assert_eq!(take.count_lens(&lens, 1, 1, 0), Ok(()));
    assert_eq!(take.ending(&stock).changes, []);
    assert_eq!(take.count_lens(&lens, 2, 0, 0), Ok(()));
    assert_eq!(take.ending(&stock).changes, [BoxChange::Mended(piece("-1.00 sphere #1")?)]);
    assert_eq!(take.count_lens(&lens, 2, 1, 0), Err(2));
    let lens: Lens = "+2.00 sphere".parse()?;
    let mut take = StockTake::begin(&Tray::of(&[], &stock), &stock);
    assert_eq!(take.count_lens(&lens, 1, 0, 0), Ok(()));
    assert_eq!(take.ending(&stock).changes, [], "the one that was missing is missing still");
    assert_eq!(take.count_lens(&lens, 0, 0, 0), Ok(()));
    assert_eq!(take.ending(&stock).changes, [BoxChange::Lost(piece("+2.00 sphere #1")?)]);
    Ok(())
}

#[test]
fn what_lies_there_beyond_the_set_fills_first_what_should_lie_there() -> Outcome {
    let (mut stock, _) = small()?;
    let lens: Lens = "-2.00 sphere".parse()?;
    let counted = |stock: &Stock, here, more| {
        let mut take = StockTake::begin(&Tray::of(&[], stock), stock);
        take.count_lens(&lens, here, 0, more).map(|()| take.ending(stock).changes)
    };
    let added = vec![BoxChange::Added(lens.clone().into())];
    assert_eq!(counted(&stock, 2, 1), Ok(added.clone()));
    stock.note_all(&added).map_err(|(_, why)| why)?;
    assert_eq!(counted(&stock, 2, 1), Ok(Vec::new()), "the same sheet again has nothing to add");
    stock.change(&BoxChange::Lost(piece("-2.00 sphere #2")?))?;
    assert_eq!(counted(&stock, 2, 1), Ok(vec![BoxChange::Found(piece("-2.00 sphere #2")?)]));
    // what is lent is not what lies there too many
    stock.change(&BoxChange::Lent { piece: piece("-2.00 sphere #1")?, to: Some("Ann".to_owned()), until: None })?;
    let found = BoxChange::Found(piece("-2.00 sphere #2")?);
    assert_eq!(counted(&stock, 2, 1), Ok(vec![found, BoxChange::Added(lens.clone().into())]));
    Ok(())
}

proptest! {
    /// Whatever a sheet says of the lenses, the box is afterwards as the sheet says.
    #[test]
    fn after_a_stock_take_the_box_is_as_it_was_counted(counts in prop::collection::vec((0u8..3, 0u8..3, 0u8..2), 5)) {
        let (mut stock, mut take) = small().map_err(|error| TestCaseError::fail(error.to_string()))?;
        let lenses: Vec<Lens> = stock.counts().into_iter().map(|count| count.lens).collect();
        let mut said = Vec::new();
        for (lens, (here, damaged, more)) in lenses.iter().zip(&counts) {
            if take.count_lens(lens, *here, *damaged, *more).is_ok() {
                said.push((lens, here + more, *damaged));
            }
        }
        let ending = take.ending(&stock);
        for added in ending.changes.iter().filter(|change| change.added().is_some()) {
            let lost = ending.changes.iter().find(|change| change.takes_away() && change.lens() == added.lens());
            prop_assert_eq!(lost, None, "one is lost and one alike is added");
        }
        stock.note_all(&ending.changes).map_err(|(_, why)| TestCaseError::fail(why.to_string()))?;
        for (lens, free, damaged) in said {
            let count = stock.counts().into_iter().find(|count| count.lens == *lens);
            prop_assert_eq!(count.map(|count| (count.free, count.damaged)), Some((free, damaged)), "{}", lens);
        }
    }
}
