//! What to buy: built, and measured again.

use dioptray::frame::shipped::demo_frame;
use dioptray::keeping::{Advice, Asked, BagFor, Cells, Holdings, Means, Offer, People, advise, offers_of, shares};
use dioptray::kit::shipped::full_box;
use dioptray::kit::{BoxChange, Lens, LensLine, Stock};

use super::shipped;
use crate::plain::box_of;

fn advice(stock: &Stock, offers: &[Offer], means: Means) -> Advice {
    let cells = Cells::of(&demo_frame().unwrap(), stock.form);
    let people = People::counted();
    let bag = BagFor { cells: &cells, people: &people, lenses: 2, asked: Asked::BothEyes };
    // no time for the bound beyond its beginning
    advise(stock, offers, means, bag, &mut |_| 1.0)
}

fn from_the_full_box() -> Vec<Offer> {
    offers_of(&Stock::of(&full_box().unwrap()))
}

/// What both eyes get with at most two lenses.
fn measured(stock: &Stock) -> f64 {
    let cells = Cells::of(&demo_frame().unwrap(), stock.form);
    shares(&Holdings::of(stock), &cells, &People::counted()).1.at_most(2)
}

/// The box with everything that is advised in it.
fn built(stock: &Stock, advice: &Advice) -> Stock {
    let mut built = stock.clone();
    for of in &advice.buy {
        for _ in 0..of.pieces {
            built.change(&BoxChange::Added(of.lens.clone().into())).unwrap();
        }
    }
    built
}

#[test]
fn what_is_advised_makes_what_is_said_when_it_is_bought() {
    let stock = shipped("outreach.yaml");
    let advice = advice(&stock, &from_the_full_box(), Means { pieces: 10, budget: None });
    let bought = built(&stock, &advice);
    assert!((measured(&stock) - advice.now).abs() < 1e-9);
    assert!((measured(&bought) - advice.then).abs() < 1e-9, "{advice:?}");
    assert_eq!(Holdings::of(&bought), advice.holdings);
    let gains: f64 = advice.buy.iter().map(|of| of.gains).sum();
    assert!((advice.now + gains - advice.then).abs() < 1e-9);
    assert!(advice.then > advice.now + 0.01 && advice.bound >= advice.then, "{advice:?}");
    assert!(advice.buy.iter().map(|of| usize::from(of.pieces)).sum::<usize>() <= 10);
    assert!(
        advice.buy.iter().all(|of| !of.lens.to_string().ends_with("cylinder") || of.lens.to_string().starts_with('-'))
    );
    // what was lost comes before what was never there
    let why: Vec<bool> = advice.buy.iter().map(|of| of.why.ends_with("lost")).collect();
    assert!(why[0] && why.is_sorted_by(|one, other| one >= other), "{:?}", advice.buy);
}

#[test]
fn what_the_guide_lacks_comes_first() {
    let line = |label: &str, declared| LensLine { lens: label.parse().unwrap(), declared, missing: 0 };
    let stock = Stock::of(&box_of(
        "Bare",
        vec![line("+1.00 sphere", 1), line("-0.25 sphere", 2), line("-1.00 sphere", 2), line("-0.50 cylinder", 2)],
    ));
    let advice = advice(&stock, &from_the_full_box(), Means { pieces: 16, budget: None });
    let first: Vec<(String, u8)> = advice.buy.iter().take(7).map(|of| (of.lens.to_string(), of.pieces)).collect();
    let expected = [
        ("+0.25 sphere", 2),
        ("+0.50 sphere", 2),
        ("-0.50 sphere", 2),
        ("+1.00 sphere", 1),
        ("0.25 cross cylinder", 1),
        ("occluder", 1),
        ("pinhole", 1),
    ];
    assert_eq!(first, expected.map(|(lens, pieces)| (lens.to_owned(), pieces)));
    assert!((measured(&built(&stock, &advice)) - advice.then).abs() < 1e-9);
}

#[test]
fn nothing_is_advised_that_nobody_would_notice() {
    let stock = shipped("full.yaml");
    let advice = advice(&stock, &from_the_full_box(), Means { pieces: 10, budget: None });
    assert_eq!(advice.buy, []);
    assert_eq!(advice.now, advice.then);
}

#[test]
fn a_budget_and_a_list_of_prices_are_kept_to() {
    let stock = shipped("outreach.yaml");
    let offer = |label: &str, price: Option<f64>| Offer { lens: label.parse::<Lens>().unwrap(), price };
    let offers = [
        offer("-1.50 sphere", Some(10.0)),
        offer("-4.25 sphere", Some(4.0)),
        offer("-2.25 cylinder", None),
        offer("+3.25 sphere", Some(3.0)),
    ];
    let advice = advice(&stock, &offers, Means { pieces: 10, budget: Some(24.0) });
    let paid: f64 = advice.buy.iter().map(|of| of.price.unwrap()).sum();
    assert!(paid <= 24.0 && !advice.buy.is_empty(), "{advice:?}");
    let labels: Vec<String> = advice.buy.iter().map(|of| of.lens.to_string()).collect();
    assert!(labels.iter().all(|label| offers.iter().any(|offer| offer.lens.to_string() == *label)), "{labels:?}");
    assert!(!labels.contains(&"-2.25 cylinder".to_owned()), "what has no price is not bought on a budget");
}
