//! Who is drawn: like the survey that was counted, and for a seed always the same.

use std::sync::LazyLock;

use dioptray::optics::{Eye, Power};
use dioptray::practice::counts::{AxisClass, Counted, counted, eyes_counted};
use dioptray::practice::draws::Draws;
use dioptray::practice::{Care, Law, Person, Traits};

use super::{assert_near, assert_share, mean_and_deviation};

const MANY: u32 = 20_000;

/// Many people of one seed.
static PEOPLE: LazyLock<Vec<Person>> = LazyLock::new(|| {
    (0..u64::from(MANY)).map(|number| Person::drawn(13, number, Care::Typical, Law::Written)).collect()
});

fn needs(eye: Eye) -> impl Iterator<Item = Power> {
    PEOPLE.iter().map(move |person| person.needs()[eye])
}

fn equivalent(row: &Counted) -> f64 {
    row.sphere + row.cylinder / 2.0
}

/// In which share of the counted eyes something holds.
fn counted_share(holds: impl Fn(&Counted) -> bool) -> f64 {
    let eyes: u32 = counted().filter(|row| holds(row)).map(|row| row.eyes).sum();
    f64::from(eyes) / f64::from(eyes_counted())
}

fn drawn_share(holds: impl Fn(Power) -> bool) -> f64 {
    needs(Eye::Right).filter(|needs| holds(*needs)).count() as f64 / f64::from(MANY)
}

/// NHANES 1999-2008 (US CDC/NCHS, public-use vision examination), right eyes: 31,955; spherical equivalent mean −0.57, SD 2.10,
/// 1 and 99 % −7.88 and +3.88; cylinder median 0.50, 95 % 2.25.
#[test]
fn the_table_is_the_survey() {
    assert_eq!(eyes_counted(), 31_955);
    let eyes = f64::from(eyes_counted());
    let mean = counted().map(|row| equivalent(&row) * f64::from(row.eyes)).sum::<f64>() / eyes;
    // −0.5756: the published rows are in quarters, the mean of the survey was taken before
    assert_near(mean, -0.57, 0.006);
    let square = counted().map(|row| (equivalent(&row) - mean).powi(2) * f64::from(row.eyes)).sum::<f64>() / eyes;
    assert_near(square.sqrt(), 2.10, 0.005);
    for (share, equivalent_d) in [(0.01, -7.875), (0.99, 3.875)] {
        assert!(counted_share(|row| equivalent(row) < equivalent_d) <= share);
        assert!(counted_share(|row| equivalent(row) <= equivalent_d) >= share);
    }
    for (share, cylinder_d) in [(0.5, 0.5), (0.95, 2.25)] {
        assert!(counted_share(|row| -row.cylinder < cylinder_d) < share);
        assert!(counted_share(|row| -row.cylinder <= cylinder_d) >= share);
    }
    for row in counted() {
        let on_the_grid = |power: f64| (power * 4.0).fract() == 0.0;
        assert!(on_the_grid(row.sphere) && on_the_grid(row.cylinder) && row.cylinder <= 0.0 && row.eyes > 0);
        assert_eq!(row.axis_class == AxisClass::None, row.cylinder == 0.0);
    }
}

/// The same numbers of those who are drawn, as far as chance allows. Where there is no cylinder on the grid one of 0 to −0.125
/// is drawn, so that the mean is lower by a thirty-second of their share.
#[test]
fn who_is_drawn_is_like_the_survey() {
    let (mean, deviation) = mean_and_deviation(needs(Eye::Right).map(|needs| needs.m));
    let without_cylinder = counted_share(|row| row.cylinder == 0.0);
    let shift = -without_cylinder / 32.0;
    // four standard errors of 2.10/√20,000; of a deviation the tails of this table make it more than twice that
    assert_near(mean, -0.57 + shift, 4.0 * 2.10 / f64::from(MANY).sqrt());
    assert_near(deviation, 2.10, 0.08);
    for equivalent_d in [-7.88, -3.0, -1.0, 0.0, 1.0, 3.88] {
        // a row is spread over a quarter of a dioptre at most each way: it counts by how much of it lies below
        let below = |row: &Counted| ((equivalent_d - equivalent(row)) / 0.25 + 0.5).clamp(0.0, 1.0);
        let expected: f64 = counted().map(|row| below(&row) * f64::from(row.eyes)).sum::<f64>() / 31_955.0;
        let drawn = drawn_share(|needs| needs.m < equivalent_d);
        assert_near(drawn, expected, 4.0 * (expected * (1.0 - expected) / f64::from(MANY)).sqrt() + 0.012);
    }
    assert_near(drawn_share(|needs| needs.m < -7.88), 0.01, 0.0035);
    assert_near(drawn_share(|needs| needs.m > 3.88), 0.01, 0.0035);
    let mut cylinders: Vec<f64> = needs(Eye::Right).map(|needs| 2.0 * needs.astigmatism()).collect();
    cylinders.sort_by(f64::total_cmp);
    assert_near(cylinders[MANY as usize / 2], 0.50, 0.125);
    assert_near(cylinders[MANY as usize * 95 / 100], 2.25, 0.125);
    // sphere and cylinder anywhere within their quarter: none of the eighths of a dioptre is left out
    let eighth = |values: &mut dyn Iterator<Item = f64>| {
        let mut filled = [0_u32; 8];
        values.for_each(|value| filled[((value.rem_euclid(0.25) * 32.0) as usize).min(7)] += 1);
        filled
    };
    let filled = eighth(&mut needs(Eye::Right).map(|needs| needs.minus_form().sphere));
    for times in filled {
        assert_share(f64::from(times) / f64::from(MANY), 0.125, MANY);
    }
}

/// Within its class any axis is as likely as another, and each class is as frequent as counted.
#[test]
fn axes_lie_within_their_class() {
    // what was counted with a cylinder has one of more than an eighth
    let axes: Vec<f64> =
        needs(Eye::Right).map(Power::minus_form).filter(|form| form.cylinder < -0.125).map(|form| form.axis).collect();
    assert_share(axes.len() as f64 / f64::from(MANY), 1.0 - counted_share(|row| row.cylinder == 0.0), MANY);
    let within = |least: f64, most: f64| axes.iter().filter(|axis| (least..most).contains(*axis)).count() as u32;
    let with = within(150.5, 180.1) + within(0.0, 30.5);
    let against = within(60.5, 120.5);
    let oblique = within(30.5, 60.5) + within(120.5, 150.5);
    for (class, eyes) in [(AxisClass::With, with), (AxisClass::Against, against), (AxisClass::Oblique, oblique)] {
        assert_share(f64::from(eyes) / f64::from(MANY), counted_share(|row| row.axis_class == class), MANY);
    }
    for (least, of_class) in
        [(0.5, with), (160.5, with), (70.5, against), (100.5, against), (40.5, oblique), (130.5, oblique)]
    {
        assert_share(f64::from(within(least, least + 10.0)) / f64::from(of_class), 1.0 / 6.0, of_class);
    }
}

/// The law: the left eye is the right one mirrored plus normal differences of SD 0.45 (M), 0.18 (J0), 0.15 (J45).
#[test]
fn the_left_eye_is_the_right_one_mirrored_but_for_a_little() {
    let pairs = || needs(Eye::Right).zip(needs(Eye::Left));
    let check = |differences: &mut dyn Iterator<Item = f64>, expected: f64| {
        let (mean, deviation) = mean_and_deviation(differences);
        assert_near(mean, 0.0, 4.0 * expected / f64::from(MANY).sqrt());
        assert_near(deviation, expected, 4.0 * expected / f64::from(2 * MANY).sqrt());
    };
    check(&mut pairs().map(|(right, left)| left.m - right.m), 0.45);
    check(&mut pairs().map(|(right, left)| left.j0 - right.j0), 0.18);
    check(&mut pairs().map(|(right, left)| left.j45 + right.j45), 0.15);
    // so that not mirrored they differ by far more
    let (_, unmirrored) = mean_and_deviation(pairs().map(|(right, left)| left.j45 - right.j45));
    assert!(unmirrored > 0.3, "{unmirrored}");
}

/// The law: 15 to 75 years, level to 50, thinning to half at 75.
#[test]
fn ages_are_level_to_fifty_and_thin_out_to_half() {
    let of_age = |age: u8| PEOPLE.iter().filter(|person| person.age_years == age).count() as f64 / f64::from(MANY);
    // 36 years at 1, then 0.98, 0.96 … 0.50, which is 18.5 more
    let all = 36.0 + 18.5;
    for age in 15..=75 {
        let weight = if age <= 50 { 1.0 } else { 1.0 - 0.02 * f64::from(age - 50) };
        assert_share(of_age(age), weight / all, MANY);
    }
    assert!(PEOPLE.iter().all(|person| (15..=75).contains(&person.age_years)));
    let to_fifty = PEOPLE.iter().filter(|person| person.age_years <= 50).count() as f64 / f64::from(MANY);
    assert_share(to_fifty, 36.0 / all, MANY);
}

/// Who somebody is depends on seed and number alone.
#[test]
fn care_and_law_do_not_change_who_is_drawn() {
    for number in 0..60 {
        let usual = Person::drawn(13, number, Care::Typical, Law::Written);
        for care in Care::ALL {
            for law in Law::ALL {
                let other = Person::drawn(13, number, *care, *law);
                assert_eq!((other.needs(), other.age_years), (usual.needs(), usual.age_years));
                assert_eq!((other.law, other.eyes.right.law, other.eyes.left.law), (*law, *law, *law));
            }
        }
    }
}

#[test]
fn a_person_depends_on_seed_and_number_alone() {
    let drawn = |seed, number| Person::drawn(seed, number, Care::Varied, Law::Tone);
    let forwards: Vec<Person> = (0..200).map(|number| drawn(5, number)).collect();
    let elsewhere = std::thread::spawn(move || (0..200).rev().map(|number| drawn(5, number)).collect::<Vec<_>>());
    let mut backwards = elsewhere.join().unwrap_or_default();
    backwards.reverse();
    assert_eq!(forwards, backwards);
    for (number, person) in (0..).zip(&forwards) {
        assert_ne!(person.needs(), drawn(6, number).needs());
        assert_ne!(person.needs(), drawn(5, number + 1).needs());
    }
    // and somebody else's eyes, ages and traits are not the same thing said twice
    let mut equivalents: Vec<f64> = forwards.iter().map(|person| person.needs().right.m).collect();
    equivalents.sort_by(f64::total_cmp);
    equivalents.dedup();
    assert_eq!(equivalents.len(), 200);
}

/// Chance is level, and normal deviates are normal (the normal curve: 68.27, 95.45 and 99.73 of 100).
#[test]
fn chance_is_level_and_normal() {
    let draws = &mut Draws::new(3, 4);
    let level: Vec<f64> = (0..MANY).map(|_| draws.share()).collect();
    assert!(level.iter().all(|share| (0.0..1.0).contains(share)));
    for tenth in 0..10 {
        let least = f64::from(tenth) / 10.0;
        let within = level.iter().filter(|share| (least..least + 0.1).contains(*share)).count();
        assert_share(within as f64 / f64::from(MANY), 0.1, MANY);
    }
    let normal: Vec<f64> = (0..MANY).map(|_| draws.normal(2.0)).collect();
    for (deviations, share) in [(1.0, 0.6827), (2.0, 0.9545), (3.0, 0.9973)] {
        let within = normal.iter().filter(|value| value.abs() <= 2.0 * deviations).count();
        assert_share(within as f64 / f64::from(MANY), share, MANY);
    }
    let above = normal.iter().filter(|value| **value > 0.0).count();
    assert_share(above as f64 / f64::from(MANY), 0.5, MANY);
}

fn traits(care: Care) -> Vec<Traits> {
    let draws = &mut Draws::new(8, 1);
    (0..5_000).map(|_| Traits::drawn(care, Law::Written, draws)).collect()
}

/// The law's table of care.
#[test]
fn care_is_what_the_law_says() {
    for (care, comparison) in [(Care::Typical, 0.03), (Care::Careful, 0.02), (Care::Vague, 0.06)] {
        for traits in traits(care).into_iter().take(20) {
            assert_near(traits.best_log_mar, (5.0_f64 / 6.0).log10(), 1e-12);
            let others = [traits.pupil, traits.accommodation, traits.wobble_d, traits.reading_log_mar, traits.slips];
            assert_eq!(others, [1.0, 1.0, 0.10, 0.05, 0.01]);
            assert_eq!([traits.comparison_log_mar, traits.fan_d, traits.reflex_d], [comparison, 0.06, 0.10]);
        }
    }
    let varied = traits(Care::Varied);
    let normal = |of: fn(&Traits) -> f64, mean: f64, deviation: f64| {
        let (found, spread) = mean_and_deviation(varied.iter().map(of));
        assert_near(found, mean, 4.0 * deviation / 5_000_f64.sqrt());
        assert_near(spread, deviation, 4.0 * deviation / 10_000_f64.sqrt());
    };
    normal(|traits| traits.best_log_mar, -0.05, 0.07);
    normal(|traits| traits.pupil.ln(), 0.0, 0.2);
    let level = |of: fn(&Traits) -> f64, least: f64, most: f64| {
        assert!(varied.iter().all(|traits| (least..most).contains(&of(traits))));
        let (found, spread) = mean_and_deviation(varied.iter().map(of));
        let deviation = (most - least) / 12_f64.sqrt();
        assert_near(found, f64::midpoint(least, most), 4.0 * deviation / 5_000_f64.sqrt());
        assert_near(spread, deviation, 0.05 * deviation);
    };
    level(|traits| traits.accommodation, 0.7, 1.3);
    level(|traits| traits.reading_log_mar, 0.03, 0.07);
    level(|traits| traits.comparison_log_mar, 0.02, 0.06);
    assert!(varied.iter().all(|traits| traits.slips == 0.02));
}
