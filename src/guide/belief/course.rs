//! The course of one eye's refraction by belief: what is known so far, what to ask next, and when it is over.

use super::choice::{Ask, Chooser, Offers, Place, with_cross, with_sphere};
use super::cloud::{Cloud, Evidence};
use super::numbers::exp;
use super::people::Beforehand;
use super::prior::Prior;
use super::quarters::{distance, is_quarter, moves_between, quarters_around};

/// It has settled when the sphere and the vector of the cylinder are known within these standard deviations.
const SETTLED_M_D: f32 = 0.14;
const SETTLED_J_D: f32 = 0.17;

/// The last steps tell of the sphere as well: they begin when it is known within this.
const NEARLY_M_D: f32 = 0.16;

/// The most that is asked before the ladder takes over.
pub const MOST_ASKED: usize = 45;

/// A quarter stack nearer to the mean is gone to from this far on, in dioptres.
const GOES_FROM_D: f32 = 0.18;

/// Answers that surprise by more than this many standard deviations do not fit any eye.
const TOO_SURPRISING: f32 = 3.0;

/// From this on every eye is thought possible again; how many answers it takes before any of that is asked, and of how many
/// points.
const REOPENS_FROM: f32 = 1.5;
const SURPRISES_FROM: usize = 6;
const WONDERED_WITH: usize = 64;

/// How much less is lost elsewhere before another power is put in, and once so many of the last steps were asked of what stands
/// there.
const BETTER: f32 = 0.006;
const MUCH_BETTER: f32 = 0.03;
const BEGUN_WITH: usize = 2;
const LAST_STEPS: [Ask; 5] = [
    Ask::Line { held_d: 0.0 },
    Ask::Line { held_d: 1.0 },
    Ask::Compare { held_d: 0.25 },
    Ask::Compare { held_d: -0.25 },
    Ask::Letters { held_d: -0.25 },
];

/// More plus than this relaxes a young eye a little, and how much of it stays tense; after so many looks it has.
const FOGS_FROM_D: f32 = 1.30;
const TENSE_AFTER_FOG: f32 = 0.85;
const FOGGED_ENOUGH: i32 = 9;

/// Something stands before the eye.
const SOMETHING_STANDS_D: f32 = 0.1;

/// So often no letter is read whatever stands there, or so unlikely has one become, before it is given up.
const MOST_WITHOUT_A_LETTER: usize = 10;
const LEAST_LIKELY: f32 = 0.03;

/// Points that are looked ahead with.
const LOOKED_AHEAD: usize = 224;

/// What is chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Choice {
    /// This is asked with this power standing there.
    Ask { stands: [f32; 3], ask: Ask },
    /// This power is the result.
    Ends { stands: [f32; 3] },
    /// The ladder takes over, from here.
    HandsOver { stands: [f32; 3], surprised: bool },
}

/// What is known beforehand.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// How the person accommodates.
    pub person: Beforehand,
    /// What the distance of the chart adds to the need.
    pub chart_d: f32,
    /// The last line of the chart, in log MAR.
    pub top_log_mar: f32,
    /// What stands before the eye.
    pub stands: [f32; 3],
}

/// One eye's refraction by belief.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    known: Known,
    evidence: Vec<Evidence>,
    cloud: Cloud,
    stands: [f32; 3],
    in_hand_d: Option<f32>,
    asked: Vec<([f32; 3], Ask)>,
    missing: Vec<([f32; 3], Ask)>,
    presented: usize,
    /// How much all answers surprise by what is now believed, in standard deviations.
    surprise: f32,
    /// Looks that let a young eye relax.
    fogged: i32,
    letters_read: usize,
    none_read: usize,
}

fn near(one: [f32; 3], other: [f32; 3]) -> bool {
    one.iter().zip(other).all(|(one, other)| (one - other).abs() < 0.03)
}

impl Course {
    /// Begins with what is known.
    pub fn new(prior: &Prior, known: Known, evidence: Vec<Evidence>) -> Self {
        let mut cloud = Cloud::laid_first(prior, known.person, known.chart_d, &evidence);
        let letters_read = evidence.iter().filter(|evidence| evidence.reads_a_letter()).count();
        if letters_read > 0 {
            cloud.lays_again(prior, known.chart_d, &evidence);
        }
        let stands = known.stands;
        // what was read before it begins is not asked again
        let unaided = evidence.iter().any(Evidence::is_read_unaided);
        let asked = if unaided { vec![([0.0; 3], Ask::Line { held_d: 0.0 })] } else { Vec::new() };
        Self {
            known,
            evidence,
            cloud,
            stands,
            in_hand_d: None,
            asked,
            missing: Vec::new(),
            presented: 0,
            surprise: 0.0,
            fogged: 0,
            letters_read,
            none_read: 0,
        }
    }

    /// What is believed.
    pub fn cloud(&self) -> &Cloud {
        &self.cloud
    }

    /// The last line of the chart.
    pub fn top_log_mar(&self) -> f32 {
        self.known.top_log_mar
    }

    /// The line that was last read with this standing there and nothing in the hand.
    pub fn line_read(&self, stands: [f32; 3]) -> Option<f32> {
        self.evidence.iter().rev().find_map(|evidence| match *evidence {
            Evidence::Read { before, log_mar, pinhole: false, .. } if distance(before, stands) < 0.1 => log_mar,
            Evidence::Read { .. }
            | Evidence::Compared { .. }
            | Evidence::Letters { .. }
            | Evidence::Found { .. }
            | Evidence::Complains { .. } => None,
        })
    }

    /// How tense a young eye still is beside how it began.
    pub fn tense(&self) -> f32 {
        libm::powf(TENSE_AFTER_FOG, self.fogged as f32)
    }

    /// What is to be asked next.
    pub fn choose(&self, offers: &Offers) -> Choice {
        let summary = self.cloud.summary();
        let result = self.result();
        if self.presented >= MOST_ASKED || (self.letters_read == 0 && self.none_read >= MOST_WITHOUT_A_LETTER) {
            return Choice::HandsOver { stands: result, surprised: false };
        }
        if self.surprise > TOO_SURPRISING {
            return Choice::HandsOver { stands: result, surprised: true };
        }
        // what was put in is where it begins
        if self.presented == 0 && distance(self.stands, [0.0; 3]) > SOMETHING_STANDS_D {
            return Choice::Ask { stands: self.stands, ask: Ask::Line { held_d: 0.0 } };
        }
        if self.letters_read == 0 {
            return self.looks_for_a_letter(result);
        }
        let sd_m = self.cloud.sd_m_seen(self.tense());
        if sd_m < NEARLY_M_D && summary.sd_j < SETTLED_J_D {
            match self.last_step(result, offers) {
                Some(ask) => return Choice::Ask { stands: result, ask },
                None if sd_m < SETTLED_M_D => return Choice::Ends { stands: result },
                None => {}
            }
        }
        let points = self.cloud.sample(LOOKED_AHEAD);
        let cylinder_counts = if summary.sd_j < SETTLED_J_D { 0.15 } else { 1.0 };
        let mut chooser = Chooser::new(
            &points,
            self.known.person,
            cylinder_counts,
            self.tense(),
            (self.known.person.can_be_tense() && self.fogged < FOGGED_ENOUGH).then_some(summary.mean[0] + FOGS_FROM_D),
        );
        let mut places = vec![Place { stands: self.stands, moves: 0.0 }];
        let off = distance(summary.mean, self.stands);
        if off > GOES_FROM_D {
            places.push(Place { stands: result, moves: moves_between(self.stands, result) });
        }
        let open = |stands: [f32; 3], ask: Ask| {
            let again = self.asked.iter().filter(|(at, asked)| near(*at, stands) && *asked == ask).count();
            again < 2 && !self.missing.iter().any(|(at, asked)| near(*at, stands) && *asked == ask)
        };
        // what is asked at the end in any case costs less
        let last = if sd_m < 2.0 * SETTLED_M_D { self.last_steps(result, offers) } else { Vec::new() };
        let anyway = |stands: [f32; 3], ask: Ask| near(stands, result) && last.contains(&ask);
        match chooser.best(&places, offers, self.in_hand_d, open, anyway) {
            Some((stands, ask)) => Choice::Ask { stands, ask },
            None => Choice::HandsOver { stands: result, surprised: false },
        }
    }

    /// Until a letter is read, the sphere through which one is likeliest read.
    fn looks_for_a_letter(&self, result: [f32; 3]) -> Choice {
        let ask = Ask::Line { held_d: 0.0 };
        let tried = |sphere_d: f32| {
            let at = [sphere_d, 0.0, 0.0];
            self.asked.iter().chain(&self.missing).any(|(stood, asked)| near(*stood, at) && *asked == ask)
        };
        let spheres = (-36..=28).map(|half: i16| f32::from(half) / 2.0).filter(|sphere_d| !tried(*sphere_d));
        let likely = |sphere_d: f32| self.cloud.letter_is_read(sphere_d, self.known.top_log_mar, self.tense());
        let best = spheres.map(|sphere_d| (sphere_d, likely(sphere_d))).max_by(|one, other| one.1.total_cmp(&other.1));
        match best {
            Some((sphere_d, likely)) if likely > LEAST_LIKELY => Choice::Ask { stands: [sphere_d, 0.0, 0.0], ask },
            _ => Choice::HandsOver { stands: result, surprised: false },
        }
    }

    /// With the result in the frame its line is read, plus and minus are shown once more, and the check for too much minus is
    /// made.
    fn last_step(&self, result: [f32; 3], offers: &Offers) -> Option<Ask> {
        self.last_steps(result, offers).into_iter().next()
    }

    /// What of the last steps was not asked yet.
    fn last_steps(&self, result: [f32; 3], offers: &Offers) -> Vec<Ask> {
        let person = self.known.person;
        let mut asks = vec![Ask::Line { held_d: 0.0 }];
        if person.hides_minus() {
            asks.push(Ask::Line { held_d: 1.0 });
        }
        asks.push(Ask::Compare { held_d: 0.25 });
        asks.push(if person.is_steady_with_minus() {
            Ask::Compare { held_d: -0.25 }
        } else {
            Ask::Letters { held_d: -0.25 }
        });
        let held = |ask: &Ask| match ask {
            Ask::Line { held_d } | Ask::Compare { held_d } | Ask::Letters { held_d } => {
                *held_d == 0.0 || offers.spheres_d.contains(held_d)
            }
            Ask::Cross { .. } => false,
        };
        let known = |ask: &Ask| {
            let is = |(at, asked): &([f32; 3], Ask)| near(*at, result) && asked == ask;
            self.asked.iter().any(is) || self.missing.iter().any(is)
        };
        asks.into_iter().filter(|ask| held(ask) && !known(ask)).collect()
    }

    /// The quarter power that is most likely right: within a quarter of the sphere first, then near in the cylinder.
    pub fn result(&self) -> [f32; 3] {
        let mean = self.cloud.summary().mean;
        let points = self.cloud.sample(256);
        let loss = |power: [f32; 3]| {
            let all: f32 = (0..points.m.len())
                .map(|nth| {
                    let m = power[0] - points.m[nth];
                    let (j0, j45) = (power[1] - points.j0[nth], power[2] - points.j45[nth]);
                    // too much minus weighs a little more
                    let scaled = m / 0.25 * if m < 0.0 { 1.04 } else { 1.0 };
                    let outside = 1.0 / (1.0 + exp(-8.0 * (scaled.abs() - 1.0)));
                    outside + 0.15 * scaled * scaled + 1.2 * (j0 * j0 + j45 * j45)
                })
                .sum();
            all / points.m.len().max(1) as f32
        };
        let quarters = quarters_around(mean);
        let begun =
            self.asked.iter().filter(|(at, asked)| near(*at, self.stands) && LAST_STEPS.contains(asked)).count();
        let much = if begun >= BEGUN_WITH { MUCH_BETTER } else { BETTER };
        let here = quarters.iter().copied().min_by(|one, other| loss(*one).total_cmp(&loss(*other))).unwrap_or(mean);
        // what stands there stays where nothing is much better
        if distance(here, self.stands) < 0.4 && is_quarter(self.stands) && loss(self.stands) < loss(here) + much {
            self.stands
        } else {
            here
        }
    }

    /// What was chosen is set out.
    pub fn set_out(&mut self, stands: [f32; 3]) {
        self.stands = stands;
    }

    /// What cannot be shown with the lenses that are free is not asked.
    pub fn is_missing(&mut self, stands: [f32; 3], ask: Ask) {
        self.presented += 1;
        self.missing.push((stands, ask));
    }

    /// What was asked, and what was answered to it.
    pub fn takes(&mut self, prior: &Prior, asked: Ask, evidence: Evidence) {
        self.presented += 1;
        self.asked.push((self.stands, asked));
        self.in_hand_d = match asked {
            Ask::Compare { held_d } | Ask::Letters { held_d } => Some(held_d),
            Ask::Line { held_d } => Some(held_d).filter(|held| *held != 0.0),
            Ask::Cross { power_d, .. } => Some(100.0 + power_d),
        };
        if asked.most_plus_d(self.stands) >= self.cloud.summary().mean[0] + FOGS_FROM_D {
            self.fogged += 1;
        }
        match evidence {
            Evidence::Read { log_mar: Some(_), .. } => self.letters_read += 1,
            Evidence::Read { log_mar: None, .. } => self.none_read += 1,
            Evidence::Compared { .. }
            | Evidence::Letters { .. }
            | Evidence::Found { .. }
            | Evidence::Complains { .. } => {}
        }
        self.evidence.push(evidence);
        self.cloud.takes(&evidence);
        if self.letters_read > 0 {
            self.cloud.lays_again(prior, self.known.chart_d, &self.evidence);
        }
        if self.presented >= SURPRISES_FROM {
            self.surprise = self.surprise_of(&self.cloud);
            if self.surprise > REOPENS_FROM {
                self.opens_again(prior);
            }
        }
    }

    fn surprise_of(&self, cloud: &Cloud) -> f32 {
        cloud.sample(WONDERED_WITH).surprise(self.known.person, &self.evidence)
    }

    /// Where the answers surprise, an eye that they fit may lie where nothing was believed any more: every eye is weighed again
    /// by all of them.
    fn opens_again(&mut self, prior: &Prior) {
        let Known { person, chart_d, .. } = self.known;
        let mut cloud = Cloud::laid_first(prior, person, chart_d, &self.evidence);
        cloud.lays_again(prior, chart_d, &self.evidence);
        let surprise = self.surprise_of(&cloud);
        if surprise < self.surprise {
            (self.cloud, self.surprise) = (cloud, surprise);
        }
    }

    /// How much was presented.
    pub fn presented(&self) -> usize {
        self.presented
    }

    /// What an answer to what is asked with this standing there says: the looks that were compared.
    pub fn looks(stands: [f32; 3], ask: Ask) -> [[f32; 3]; 2] {
        match ask {
            Ask::Compare { held_d } | Ask::Letters { held_d } | Ask::Line { held_d } => {
                [stands, with_sphere(stands, held_d)]
            }
            Ask::Cross { power_d, axis_deg } => {
                let axis = f32::from(axis_deg);
                [with_cross(stands, power_d, axis), with_cross(stands, power_d, axis + 90.0)]
            }
        }
    }
}
