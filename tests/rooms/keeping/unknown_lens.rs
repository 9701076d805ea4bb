//! A lens without a mark, found by what neutralises it.

use dioptray::keeping::unknown_lens::{Ask, Meridian, Nature, Turned, UnknownLens, waiting_for};
use dioptray::kit::shipped::BOXES;
use dioptray::kit::{Motion, Stock, parse_box};
use proptest::prelude::*;

type Failure = Box<dyn std::error::Error>;

fn stock_of(name: &str) -> Result<Stock, Failure> {
    let (name, text) = BOXES.into_iter().find(|(of, _)| *of == name).ok_or("no such box")?;
    Ok(Stock::of(&parse_box(name, text)?))
}

/// Neutralises a lens of these powers along its two lines, held by a hand without noise.
fn neutralise(stock: &Stock, turned: Turned, first_d: f64, second_d: f64) -> (Nature, usize) {
    let mut lens = UnknownLens::begin(stock);
    let mut trials = 0;
    while let Some(ask) = lens.ask() {
        match ask {
            Ask::Turn => lens.turned(turned),
            Ask::Hold { trial, meridian, .. } => {
                trials += 1;
                let power = match meridian {
                    Meridian::Any | Meridian::First => first_d,
                    Meridian::Second => second_d,
                };
                let left = power - trial.neutralises_d();
                lens.moved(if left < -1e-9 {
                    Motion::With
                } else if left > 1e-9 {
                    Motion::Against
                } else {
                    Motion::Still
                });
            }
        }
    }
    (lens.found().unwrap_or(Nature::BeyondReach), trials)
}

proptest! {
    #[test]
    fn a_sphere_lies_where_it_is_said_to(quarters in -64_i32..=64) {
        let power = f64::from(quarters) / 4.0;
        let stock = stock_of("full.yaml").map_err(|error| TestCaseError::fail(error.to_string()))?;
        let (nature, trials) = neutralise(&stock, Turned::Moves, power, power);
        match nature {
            Nature::Plano => prop_assert!(power.abs() <= 0.125),
            Nature::Sphere(lies) => prop_assert!(
                lies.least_d <= power && power <= lies.most_d && lies.most_d - lies.least_d <= 0.25 + 1e-9
            ),
            Nature::Cylinder(_) | Nature::TwoPowers(..) | Nature::Prism | Nature::BeyondReach => {
                prop_assert!(false, "{nature:?}");
            }
        }
        prop_assert!(trials <= 10, "{trials} trials");
    }

    #[test]
    fn a_cylinder_has_its_power_in_one_line(quarters in 1_i32..=16, is_plus in any::<bool>(), is_first in any::<bool>()) {
        let power = f64::from(quarters) / 4.0 * if is_plus { 1.0 } else { -1.0 };
        let stock = stock_of("outreach.yaml").map_err(|error| TestCaseError::fail(error.to_string()))?;
        let (first, second) = if is_first { (power, 0.0) } else { (0.0, power) };
        let (nature, _) = neutralise(&stock, Turned::Scissors, first, second);
        let Nature::Cylinder(lies) = nature else { return Err(TestCaseError::fail(format!("{nature:?}"))) };
        prop_assert!(lies.least_d <= power && power <= lies.most_d, "{lies:?}");
    }
}

#[test]
fn a_lost_lens_is_what_an_unknown_one_may_be() -> Result<(), Failure> {
    let stock = stock_of("outreach.yaml")?;
    let (nature, _) = neutralise(&stock, Turned::Moves, 3.25, 3.25);
    assert_eq!(nature.nearest_lens().map(|lens| lens.to_string()).as_deref(), Some("+3.25 sphere"));
    let waiting: Vec<String> = waiting_for(&stock, nature).iter().map(ToString::to_string).collect();
    assert_eq!(waiting, ["+3.25 sphere #2"]);
    Ok(())
}

#[test]
fn what_has_no_power_and_what_is_a_prism_is_said() -> Result<(), Failure> {
    let stock = stock_of("outreach.yaml")?;
    assert_eq!(neutralise(&stock, Turned::Stays, 0.0, 0.0), (Nature::Plano, 0));
    assert_eq!(neutralise(&stock, Turned::Beside, 0.0, 0.0), (Nature::Prism, 0));
    Ok(())
}
