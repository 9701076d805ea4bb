//! Lenses held together in pairs: the law against a textbook, single lenses that are off, and whole boxes.

use dioptray::keeping::held_together::law::{motions, together_d};
use dioptray::keeping::held_together::{Beliefs, Look, Suspect, choosing, suspects};
use dioptray::kit::shipped::BOXES;
use dioptray::kit::{Motion, Stock, parse_box};

use crate::keeper::go_through;

type Failure = Box<dyn std::error::Error>;

fn outreach() -> Result<Stock, Failure> {
    let (name, text) = BOXES[0];
    Ok(Stock::of(&parse_box(name, text)?))
}

#[test]
fn two_lenses_a_little_apart_make_what_the_textbook_says() {
    // the equivalent power of two thin lenses, 1/f = 1/f1 + 1/f2 - d/(f1 f2), from f1 = 100 mm, f2 = -125 mm, d = 3 mm: Hecht, Optics, ch. 6
    let (f1, f2, apart) = (0.100, -0.125, 0.003);
    let focal_length = f1 * f2 / (f1 + f2 - apart);
    approx::assert_abs_diff_eq!(together_d(&[1.0 / f1, 1.0 / f2]), 1.0 / focal_length, epsilon = 1e-12);
}

#[test]
fn minus_that_is_left_moves_with_and_plus_against() {
    let [with, against, still] = motions(&[2.00, -2.50]);
    assert!(with > 0.98 && against < 0.01 && still < 0.01);
    let [with, against, _] = motions(&[2.50, -2.00]);
    assert!(against > 0.98 && with < 0.01);
}

#[test]
fn one_lens_that_is_off_is_told_from_its_partners() -> Result<(), Failure> {
    let stock = outreach()?;
    let look = |one: &str, other: &str, seen| -> Result<Look, Failure> {
        Ok(Look { pieces: vec![one.parse()?, other.parse()?], seen })
    };
    let looks = [
        look("+2.00 sphere #1", "-2.00 sphere #1", Motion::With)?,
        look("+2.00 sphere #2", "-2.00 sphere #1", Motion::With)?,
        look("+2.00 sphere #1", "-2.00 sphere #2", Motion::Still)?,
        look("+2.00 sphere #2", "-2.00 sphere #2", Motion::Still)?,
        look("+2.00 sphere #1", "-2.00 sphere #1", Motion::With)?,
        look("+2.00 sphere #2", "-2.00 sphere #1", Motion::With)?,
    ];
    let named: Vec<_> = suspects(&Beliefs::of(&stock, &looks)).into_iter().filter(Suspect::is_named).collect();
    assert_eq!(named.len(), 1, "{named:?}");
    let only = &named[0];
    assert_eq!(only.piece.to_string(), "-2.00 sphere #1");
    assert!(only.off_d < 0.0 && only.looks == 4, "{only:?}");
    Ok(())
}

/// Two pieces that both differ from their two partners may as well be right and the partners wrong: nobody is named.
#[test]
fn where_either_side_may_be_wrong_neither_is_named() -> Result<(), Failure> {
    let stock = outreach()?;
    let mut looks = Vec::new();
    for one in ["+8.00 sphere #1", "+8.00 sphere #2"] {
        for other in ["-8.00 sphere #1", "-8.00 sphere #2"] {
            let look = Look { pieces: vec![one.parse()?, other.parse()?], seen: Motion::With };
            looks.extend([look.clone(), look.clone(), look]);
        }
    }
    let suspects = suspects(&Beliefs::of(&stock, &looks));
    assert!(!suspects.is_empty());
    assert!(suspects.iter().all(|suspect| !suspect.is_named()), "{suspects:?}");
    Ok(())
}

#[test]
fn the_next_look_is_at_free_lenses_that_about_neutralise_each_other() -> Result<(), Failure> {
    let beliefs = Beliefs::of(&outreach()?, &[]);
    let next = choosing::next(&beliefs).ok_or("nothing to look at")?;
    let powers: Vec<f64> = next.iter().map(|lens| beliefs.candidates()[*lens].power_d).collect();
    assert!(together_d(&powers).abs() <= 0.20, "{powers:?}");
    assert!(next.iter().all(|lens| beliefs.candidates()[*lens].is_free));
    Ok(())
}

/// A few boxes, so that a change of the law shows; `cargo bench --bench held_together` measures many.
#[test]
fn most_lenses_that_are_off_by_a_half_are_found_and_hardly_any_other_named() -> Result<(), Failure> {
    let stock = outreach()?;
    let (mut off, mut found, mut false_alarms) = (0, 0, 0);
    for seed in 0..3 {
        let held = go_through(&stock, 0.50, seed);
        let right = held.named.iter().filter(|suspect| held.off.contains(&suspect.piece)).count();
        off += held.off.len();
        found += right;
        false_alarms += held.named.len() - right;
        assert!(held.looks < 300, "{} looks", held.looks);
    }
    assert!(found * 10 >= off * 8 && false_alarms <= 1, "{found} of {off} found, {false_alarms} false alarms");
    Ok(())
}
