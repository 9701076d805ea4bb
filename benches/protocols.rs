//! Two published ways of refracting beside the guide, on the same practice eyes: the same looks, compared and read by the same people.
//!
//! `cargo bench --bench protocols` prints a row for each. Both begin without a lens and are led on the power alone, as if every
//! lens were at hand: so lenses are not counted. What their sources leave open is common practice, no source.
//!
//! - *Multilevel*: what is shown follows the line that is read, renewed each time round (steps of 0.25 D better than 6/12, else
//!   0.50 or the just noticeable difference, denominator/30; teaching notes), plus before minus, until a round changes nothing.
//! - *Flips*: ±0.50, and by the line ± half of the just noticeable difference where that is more; by 0.25 towards the clearer
//!   until there is no difference, and the sphere again at the end (protocol in *Health Technol Assess* 2012;16(6), p. 149).
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

use dioptray::optics::quarter::nearest_quarter;
use dioptray::optics::{Dioptres, Eye, Power, SpheroCylinder};
use dioptray::practice::draws::Draws;
use dioptray::practice::examinee::Compared;
use dioptray::practice::sight::{FAR_M, Look};
use dioptray::practice::{Care, Examinee, Law, Person};

const SEED: u64 = 1;
const EYES: u64 = 10_000;

/// A round of sphere and cylinder may be gone so often.
const MOST_ROUNDS: usize = 4;
/// One search shows no more looks than this.
const MOST_STEPS: usize = 16;

fn main() {
    for care in [Care::Typical, Care::Varied] {
        for (name, protocol) in [("multilevel", multilevel as fn(&mut Chair)), ("flips", flips)] {
            measure(care, name, protocol);
        }
    }
}

fn measure(care: Care, name: &str, protocol: fn(&mut Chair)) {
    let mut looks = Vec::new();
    let [mut quarter, mut half, mut vector, mut minus, mut plus, mut beyond] = [0_u32; 6];
    for number in 0..EYES {
        let person = Person::drawn(SEED, number, care, Law::Written);
        let needs = person.eyes[Eye::Right].needs;
        let mut chair = Chair::new(Examinee::new(person, Draws::new(SEED, number)));
        protocol(&mut chair);
        let off = nearest_quarter(chair.before, 1).power() - needs;
        let within = |limit: f64| off.m.abs() <= limit + 1e-9;
        quarter += u32::from(within(0.25));
        half += u32::from(within(0.50));
        vector += u32::from(off.blur_strength() <= 0.50 + 1e-9);
        minus += u32::from(off.m < -0.25 - 1e-9);
        plus += u32::from(off.m > 0.25 + 1e-9);
        beyond += u32::from(!within(1.0));
        looks.push(chair.looks);
    }
    looks.sort_unstable();
    let share = |count: u32| 100.0 * f64::from(count) / EYES as f64;
    println!(
        "{care:?} {name:10}: M within 0.25 D {:.1} %, 0.50 D {:.1} %, vector 0.50 D {:.1} %, over-minus {:.1} %, over-plus {:.1} %, {beyond} beyond 1 D, looks {} and {}",
        share(quarter),
        share(half),
        share(vector),
        share(minus),
        share(plus),
        looks[looks.len() / 2],
        looks[looks.len() * 9 / 10],
    );
}

/// Somebody before a chart, with lenses before the right eye.
struct Chair {
    examinee: Examinee,
    before: Power,
    looks: usize,
}

impl Chair {
    fn new(examinee: Examinee) -> Self {
        Self { examinee, before: Power::ZERO, looks: 0 }
    }

    fn sees(&mut self, before: Power) -> f64 {
        self.examinee.sees(Eye::Right, &Look::at_chart(before, FAR_M))
    }

    /// The lower figure of the line read at 6 m; `None` for no letter.
    fn reads(&mut self, before: Power) -> Option<f64> {
        self.looks += 1;
        self.examinee.is_asked();
        let seen = self.sees(before);
        self.examinee.reads(seen, FAR_M).map(|log_mar| 6.0 * libm::pow(10.0, log_mar))
    }

    /// How the second compares with the first.
    fn compares(&mut self, first: Power, second: Power) -> Compared {
        self.looks += 1;
        self.examinee.is_asked();
        let (first, second) = (self.sees(first), self.sees(second));
        self.examinee.compares(first, second, 0.0)
    }

    /// The just noticeable difference with what stands there. Where no letter is read, the sphere with which most is read is
    /// put in first.
    fn just_noticed_d(&mut self) -> f64 {
        let denominator = self.reads(self.before).unwrap_or_else(|| {
            let read = [-2.0, 2.0, -5.0, 5.0, -8.0, 8.0, -11.0].map(|d| (d, self.reads(self.before + sphere(d))));
            let best =
                read.into_iter().min_by(|a, b| a.1.unwrap_or(f64::MAX).total_cmp(&b.1.unwrap_or(f64::MAX))).unwrap();
            if best.1.is_some() {
                self.before += sphere(best.0);
            }
            best.1.unwrap_or(60.0)
        });
        denominator / 30.0
    }
}

fn sphere(dioptres: f64) -> Power {
    Power::sphere(Dioptres(dioptres))
}

/// A cross cylinder of this power, its minus axis so.
fn cross(power_d: f64, minus_axis_deg: f64) -> Power {
    SpheroCylinder { sphere: power_d, cylinder: -2.0 * power_d, axis: minus_axis_deg }.power()
}

fn in_quarters(dioptres: f64) -> f64 {
    (dioptres * 4.0).round() / 4.0
}

fn multilevel(chair: &mut Chair) {
    for _ in 0..MOST_ROUNDS {
        let start = chair.before;
        let noticed_d = chair.just_noticed_d();
        let step_d = if noticed_d < 0.4 { 0.25 } else { in_quarters(noticed_d).max(0.50) };
        // plus is kept while it is no worse, minus only while it is clearer
        let steps = |chair: &mut Chair, step: f64, kept: fn(Compared) -> bool| {
            let taken = (0..MOST_STEPS).take_while(|_| {
                let next = chair.before + sphere(step);
                let keeps = kept(chair.compares(chair.before, next));
                if keeps {
                    chair.before = next;
                }
                keeps
            });
            taken.count()
        };
        let more_plus = steps(chair, step_d, |compared| compared == Compared::Clearer);
        if more_plus == 0 && steps(chair, -step_d, |compared| compared == Compared::Clearer) == 0 {
            steps(chair, step_d, |compared| compared != Compared::Worse);
        }
        cylinder(chair, noticed_d);
        if chair.before == start && step_d == 0.25 {
            return;
        }
    }
}

fn flips(chair: &mut Chair) {
    flip_sphere(chair);
    let noticed_d = chair.just_noticed_d();
    cylinder(chair, noticed_d);
    flip_sphere(chair);
}

/// Plus and minus in turn before what stands there, changed towards the clearer.
fn flip_sphere(chair: &mut Chair) {
    for _ in 0..MOST_ROUNDS {
        let flip_d = in_quarters(chair.just_noticed_d() / 2.0).max(0.50);
        let change_d = in_quarters(flip_d / 2.0);
        let mut last = Compared::Same;
        for _ in 0..MOST_STEPS {
            let answer = chair.compares(chair.before + sphere(-flip_d), chair.before + sphere(flip_d));
            let towards = match answer {
                Compared::Clearer => change_d,
                Compared::Worse => -change_d,
                Compared::Same => break,
            };
            if last != Compared::Same && last != answer {
                break;
            }
            chair.before += sphere(towards);
            last = answer;
        }
        if change_d == 0.25 {
            return;
        }
    }
}

/// Axis and power with the cross cylinder, looked for first where there is none.
fn cylinder(chair: &mut Chair, noticed_d: f64) {
    let cross_d = match noticed_d {
        noticed if noticed <= 0.45 => 0.25,
        noticed if noticed <= 1.0 => 0.50,
        noticed if noticed <= 1.5 => 0.75,
        _ => 1.00,
    };
    let flip = |chair: &mut Chair, axis: f64| {
        chair.compares(chair.before + cross(cross_d, axis + 90.0), chair.before + cross(cross_d, axis))
    };
    if chair.before.astigmatism() < 0.1 {
        let part = |answer| match answer {
            Compared::Clearer => 1.0,
            Compared::Worse => -1.0,
            Compared::Same => 0.0,
        };
        let seen = Power { m: 0.0, j0: part(flip(chair, 180.0)), j45: part(flip(chair, 45.0)) };
        if seen == Power::ZERO {
            return;
        }
        chair.before += cross(0.25, seen.minus_form().axis);
    }
    let cylinder = -chair.before.minus_form().cylinder;
    let mut turn_deg: f64 = match cylinder {
        cylinder if cylinder < 0.50 => 20.0,
        cylinder if cylinder <= 0.75 => 10.0,
        cylinder if cylinder <= 1.75 => 5.0,
        _ => 3.0,
    };
    let mut last = Compared::Same;
    for _ in 0..MOST_STEPS {
        let SpheroCylinder { axis, .. } = chair.before.minus_form();
        // the handle along the axis
        let answer = flip(chair, axis + 45.0);
        if last != Compared::Same && last != answer {
            turn_deg /= 2.0;
        }
        let turn = match answer {
            Compared::Clearer => turn_deg,
            Compared::Worse => -turn_deg,
            Compared::Same => break,
        };
        if turn_deg < 2.0 {
            break;
        }
        chair.before = chair.before.turned(turn);
        last = answer;
    }
    let mut last = Compared::Same;
    for _ in 0..MOST_STEPS {
        let axis = chair.before.minus_form().axis;
        let answer = flip(chair, axis);
        let more_d = match answer {
            Compared::Clearer => 0.125,
            Compared::Worse if chair.before.astigmatism() > 0.2 => -0.125,
            Compared::Worse => {
                chair.before = sphere(chair.before.m);
                return;
            }
            Compared::Same => return,
        };
        if last != Compared::Same && last != answer {
            // of two strengths at the reversal the lesser
            chair.before = if more_d < 0.0 { chair.before + cross(more_d, axis) } else { chair.before };
            return;
        }
        chair.before += cross(more_d, axis);
        last = answer;
    }
}
