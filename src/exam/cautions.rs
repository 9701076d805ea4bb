//! What every print, export and `--help` says, and what the findings of one exam call for. The words stand here once.
//!
//! Referral signs after the IAPB school eye health guideline and hospital triage pages; the rest names its source beside it.

use std::fmt;

use serde::Serialize;

use super::deviation::DeviationAt;
use super::doubts::{self, Doubt};
use super::event::{Through, Unrefracted};
use super::person::RedFlag;
use super::poor_acuity::{pinhole_does_not_help, worse_than_6_9, worse_than_6_60};
use super::prescription::{self, Against, Comparison, Prescription, Repeat};
use super::state::State;
use crate::optics::prism::{STRONG_PRISMS_DO_NOT_ADD, are_too_strong_to_add};
use crate::optics::{Eye, Eyes, PrismDioptres, WornKind};

/// A caution that holds for every exam.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GeneralCaution {
    /// As records carry it.
    pub full: &'static str,
    /// As the screen shows it before the first exam, where 80 columns and 24 rows are to hold them all.
    pub short: &'static str,
}

/// The general cautions, in the order in which they are printed: what the program is, who answers for a prescription,
/// findings that are not for glasses (IAPB school eye health guideline and hospital triage pages), and why the young need
/// more than a trial frame (without cycloplegia hyperopes aged 6 to 29 came out too minus by 0.54 ± 0.43 D, myopes by
/// 0.12 ± 0.17 D).
pub const GENERAL: [GeneralCaution; 4] = [
    GeneralCaution {
        full: "An aid for learning and for keeping records. It is not a medical device and makes no diagnosis: its figures \
               are only as good as the lenses, the answers and the examiner.",
        short: "Dioptray helps to learn refraction and to keep a record of it. It is not a medical device and does not \
                diagnose.",
    },
    GeneralCaution {
        full: "Glasses are prescribed by a person licensed to do so where the person lives. Local rules and that person's \
               judgement go before anything printed here.",
        short: "The prescription is the responsibility of a person licensed to give it under the rules of the place.",
    },
    GeneralCaution {
        full: "Refer without delay: sudden loss of sight, new distortion, flashes, floaters or a curtain, pain or a red \
               eye, double vision. Refer: acuity that a pinhole does not improve or that stays worse than 6/60, an eye \
               that turns, above all in a child, eyes that do not reach 6/9.",
        short: "Refer, and do not only refract, when there is sudden loss of sight, pain, flashes or floaters, double \
                vision, an acuity that a pinhole does not improve, or a child whose eyes turn.",
    },
    GeneralCaution {
        full: "Children and young long-sighted people may need drops that rest accommodation (cycloplegia): without them \
               the result tends to be too minus.",
        short: "Children and young long-sighted people may need drops (cycloplegia): without them they come out with too \
                much minus.",
    },
];

/// What the help of every command ends with.
pub const IN_HELP: &str = "Dioptray is an aid for learning and for keeping records, not a medical device: it does not \
     diagnose, and a prescription is the responsibility of a person licensed to give it under local rules.";

/// What the help of the program adds to [`IN_HELP`].
pub const REFER_IN_HELP: &str = "Refer sudden loss of sight, pain, flashes or floaters, double vision, acuity that a \
     pinhole does not improve, and a child whose eyes turn.";

/// Under this age a person counts as a child: common practice, no source.
pub const CHILD_BELOW_YEARS: u8 = 18;
/// Up to this age a hyperope counts as young: the oldest of the people in whom the effect was measured.
const YOUNG_HYPEROPE_TO_YEARS: u8 = 29;
/// A pinhole works to about ±5 D.
const PINHOLE_REACH_D: f64 = 5.0;
/// A difference of the two spherical equivalents to speak of: common practice, no source.
const ANISOMETROPIA_D: f64 = 1.0;
/// A change from the old glasses that needs time to get used to: common practice, no source.
const LARGE_CHANGE_D: f64 = 1.0;
/// Spherical equivalent from which an eye counts as long-sighted here: common practice, no source.
const HYPEROPIA_D: f64 = 0.5;
/// Differences below this are rounding, not findings.
const TOLERANCE: f64 = 1e-9;

/// What the rest of an exam says about a pinhole that gained nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoGain {
    /// With lenses the eye reads 6/9 or better, so the pinhole was at fault.
    LensesDoImprove,
    /// The eye's power is beyond what a pinhole alone can help.
    BeyondItsReach,
    /// Nothing explains it.
    Unexplained,
}

/// A caution that the findings of an exam call for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "finding")]
pub enum Caution {
    /// Poor acuity, and a pinhole gains less than a line.
    PinholeDoesNotImprove {
        /// The eye that the pinhole was before.
        eye: Eye,
        /// What the rest of the exam says about that.
        why: NoGain,
    },
    /// With its prescription the eye reads less than 6/60.
    WorseThan6Over60 {
        /// The eye that reads less.
        eye: Eye,
    },
    /// With its prescription the eye does not reach 6/9.
    DoesNotReach6Over9 {
        /// The eye that does not reach it.
        eye: Eye,
    },
    /// A power is written, but no acuity was read with it.
    AcuityNotRead {
        /// The eye whose power is written.
        eye: Eye,
    },
    /// Nothing was accepted for this eye.
    NothingAccepted {
        /// The eye without a power.
        eye: Eye,
    },
    /// The accepted power cannot be carried to the planned vertex distance.
    CannotBeWritten {
        /// The eye whose power was accepted.
        eye: Eye,
    },
    /// A child was refracted.
    Child,
    /// A young person is long-sighted.
    YoungHyperope,
    /// A long-sighted person's age is not known.
    HyperopeOfUnknownAge,
    /// The eyes differ much.
    Anisometropia {
        /// Difference of the spherical equivalents, without sign, in dioptres.
        dioptres: f64,
    },
    /// Far from the old glasses.
    LargeChange {
        /// The eye whose prescription changes.
        eye: Eye,
        /// The blur strength of the difference in dioptres.
        dioptres: f64,
    },
    /// Retinoscopy and the subjective result are further apart than repeats are.
    RetinoscopyDiffers {
        /// The eye whose two results differ.
        eye: Eye,
    },
    /// The chart stood near and nothing was taken off for it.
    ChartTooNear {
        /// How much too plus the result is for far away, in dioptres.
        too_plus: f64,
    },
    /// More addition than the near distance asks for.
    AdditionTooStrong {
        /// All that the near distance asks for, 1/d, in dioptres.
        most: f64,
    },
    /// More was taken off the spheres for the chart than its whole distance comes to.
    ChartAllowanceTooGreat {
        /// All that the chart distance asks for, 1/d, in dioptres.
        most: f64,
    },
    /// Prism is written.
    Prism,
    /// So much prism is written, or neutralised a deviation before one eye, that prisms which made it, one behind the other, did not add up.
    StrongPrism,
    /// The person named a sign that needs somebody who can treat the eye.
    RedFlag {
        /// Which.
        flag: RedFlag,
    },
    /// The eye reads no letter whatever is shown.
    NoLetter {
        /// Which eye.
        eye: Eye,
    },
    /// A balance lens is written for the eye.
    BalanceLens {
        /// Which eye.
        eye: Eye,
    },
    /// The eye was refracted over something that stays on.
    OverWhatStaysOn {
        /// The eye.
        eye: Eye,
        /// What stays on.
        kind: WornKind,
    },
    /// The power was found under drops.
    UnderDrops,
    /// What is written does not fit everything else that is known.
    Doubt(Doubt),
    /// The exam was closed at a time before it began: the clock was wrong at one of the two.
    EndsBeforeItBegan,
    /// Something that was added once the exam was closed cannot be read.
    AdditionsUnread {
        /// How many.
        count: usize,
    },
    /// The exam is not closed.
    NotClosed,
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::PinholeDoesNotImprove { eye, why } => {
                write!(f, "The {eye} eye reads poorly unaided and a pinhole does not improve it")?;
                f.write_str(match why {
                    NoGain::LensesDoImprove => "; the lenses do: try the pinhole again.",
                    NoGain::BeyondItsReach => "; beyond about 5 D a pinhole alone helps little.",
                    NoGain::Unexplained => ": look for a cause other than a missing lens; refer.",
                })
            }
            Self::WorseThan6Over60 { eye } => {
                write!(f, "The {eye} eye reads less than 6/60 with these lenses: refer.")
            }
            Self::DoesNotReach6Over9 { eye } => {
                write!(f, "The {eye} eye does not reach 6/9 with these lenses: find out why, or refer.")
            }
            Self::AcuityNotRead { eye } => write!(f, "No acuity was read with the power found for the {eye} eye."),
            Self::NothingAccepted { eye } => write!(f, "The {eye} eye is not refracted: no power is written for it."),
            Self::CannotBeWritten { eye } => write!(
                f,
                "The power accepted for the {eye} eye is beyond ±40 D at the planned vertex distance and is not written: \
                 check both."
            ),
            Self::Child => f.write_str(
                "A child: without cycloplegia the result may be too minus; a child whose eyes turn is to be referred.",
            ),
            Self::YoungHyperope => f.write_str(
                "Young and long-sighted: without cycloplegia the result may be too little plus (0.54 ± 0.43 D in ages 6 to 29).",
            ),
            Self::HyperopeOfUnknownAge => {
                f.write_str("Long-sighted, age not recorded: in the young, cycloplegia may be needed.")
            }
            Self::Anisometropia { dioptres } => write!(
                f,
                "The eyes differ by {dioptres:.2} D: check both again, and whether the person is at ease with both eyes open."
            ),
            Self::LargeChange { eye, dioptres } => write!(
                f,
                "The {eye} eye is {dioptres:.2} D from the present glasses: check again, and let the person walk about with it."
            ),
            Self::RetinoscopyDiffers { eye } => write!(
                f,
                "Retinoscopy and the result of the {eye} eye differ by more than repeats do: look for accommodation, a \
                 hazy lens or a slip."
            ),
            Self::ChartTooNear { too_plus } => {
                write!(f, "The chart stood nearer than 6 m: for far away the spheres are {too_plus:.2} D too plus.")
            }
            Self::ChartAllowanceTooGreat { most } => {
                write!(f, "More was taken off the spheres for the chart than its distance can call for ({most:.2} D at most).")
            }
            Self::AdditionTooStrong { most } => {
                write!(f, "The addition is more than the near distance asks for ({most:.2} D at most).")
            }
            Self::Prism => {
                f.write_str("Prism as the examiner asked for it; new double vision is for referral, not for prism.")
            }
            Self::StrongPrism => f.write_str(STRONG_PRISMS_DO_NOT_ADD),
            Self::EndsBeforeItBegan => f.write_str(
                "The exam ends before it began: the clock was wrong at one of the two times. Do not rely on either.",
            ),
            Self::AdditionsUnread { count } => write!(
                f,
                "Something was added after closing that could not be read here ({count}) and is not in this record: ask for it before you \
                 rely on what stands here."
            ),
            Self::NotClosed => f.write_str("Draft: this exam is not closed."),
            Self::RedFlag { flag } => {
                write!(f, "The person named {}: refer without delay to somebody who can treat the eye.", flag.shown())
            }
            Self::NoLetter { eye } => {
                write!(f, "The {eye} eye reads no letter, whatever is shown: it is not refracted; refer.")
            }
            Self::BalanceLens { eye } => write!(
                f,
                "A balance lens is written for the {eye} eye: it suits the glasses, it corrects nothing, and nobody found its power."
            ),
            Self::OverWhatStaysOn { eye, kind } => write!(
                f,
                "The {eye} eye was refracted over {} on: what is written goes with that, and is not all that the eye takes.",
                match kind {
                    WornKind::ContactLens => "a contact lens that stays",
                    WornKind::Glasses => "glasses that stay",
                }
            ),
            Self::UnderDrops => f.write_str(
                "Found under drops: the wet result stands beside the dry one; whoever prescribes decides what of it is given.",
            ),
            Self::Doubt(doubt) => doubt.fmt(f),
        }
    }
}

impl Caution {
    /// Whether something does not fit what is written.
    pub fn is_doubt(&self) -> bool {
        matches!(self, Self::Doubt(_))
    }
}

/// Everything that the findings of an exam call for; the right eye before the left, the gravest first.
pub fn called_for(state: &State, prescription: &Prescription) -> Vec<Caution> {
    let mut cautions = Vec::new();
    if !state.finished {
        cautions.push(Caution::NotClosed);
    }
    let flags = state.person.red_flags.iter().flatten();
    cautions.extend(flags.map(|&flag| Caution::RedFlag { flag }));
    for (eye, worn) in state.person.stays_on.iter() {
        cautions.extend(worn.map(|worn| Caution::OverWhatStaysOn { eye, kind: worn.kind }));
    }
    for eye in Eye::BOTH {
        cautions.extend(doubts::of_eye(state, prescription, eye).into_iter().map(Caution::Doubt));
    }
    for eye in Eye::BOTH {
        of_acuity(state, prescription, eye, &mut cautions);
    }
    of_age(state, prescription, &mut cautions);
    for eye in Eye::BOTH {
        of_comparisons(state, prescription, eye, &mut cautions);
    }
    of_both(state, prescription, &mut cautions);
    cautions.extend(doubts::of_both(state, prescription).into_iter().map(Caution::Doubt));
    cautions
}

fn of_acuity(state: &State, prescription: &Prescription, eye: Eye, cautions: &mut Vec<Caution>) {
    if let (Some(unaided), Some(pinhole)) =
        (state.last_read(eye, Through::Unaided), state.last_read(eye, Through::Pinhole))
        && pinhole_does_not_help(unaided, pinhole)
    {
        let reads_with_lenses = prescription.eye(eye).and_then(|of_eye| of_eye.acuity);
        let strongest = prescription.eye(eye).map(|of_eye| prescription::strongest_meridian(of_eye.far.minus_form()));
        let why = if reads_with_lenses.is_some_and(|read| !worse_than_6_9(read)) {
            NoGain::LensesDoImprove
        } else if strongest.is_some_and(|power| power > PINHOLE_REACH_D) {
            NoGain::BeyondItsReach
        } else {
            NoGain::Unexplained
        };
        cautions.push(Caution::PinholeDoesNotImprove { eye, why });
    }
    match (prescription.eye(eye), state.results.refraction[eye]) {
        (Some(of_eye), _) => match of_eye.acuity {
            Some(acuity) if worse_than_6_60(acuity) => cautions.push(Caution::WorseThan6Over60 { eye }),
            Some(acuity) if worse_than_6_9(acuity) => cautions.push(Caution::DoesNotReach6Over9 { eye }),
            Some(_) => {}
            None => cautions.push(Caution::AcuityNotRead { eye }),
        },
        (None, Some(_)) => cautions.push(Caution::CannotBeWritten { eye }),
        (None, None) => cautions.push(match state.results.unrefracted[eye] {
            None => Caution::NothingAccepted { eye },
            Some(Unrefracted::NotRefracted) => Caution::NoLetter { eye },
            Some(Unrefracted::BalanceLens) => Caution::BalanceLens { eye },
        }),
    }
}

fn of_age(state: &State, prescription: &Prescription, cautions: &mut Vec<Caution>) {
    let hyperope = Eye::BOTH
        .into_iter()
        .filter_map(|eye| prescription.eye(eye))
        .any(|found| found.whole().m >= HYPEROPIA_D - TOLERANCE);
    if state.person.drops {
        return cautions.push(Caution::UnderDrops);
    }
    match state.person.age_years {
        Some(age) if age < CHILD_BELOW_YEARS => cautions.push(Caution::Child),
        Some(age) if age <= YOUNG_HYPEROPE_TO_YEARS && hyperope => cautions.push(Caution::YoungHyperope),
        None if hyperope => cautions.push(Caution::HyperopeOfUnknownAge),
        _ => {}
    }
}

fn of_comparisons(state: &State, prescription: &Prescription, eye: Eye, cautions: &mut Vec<Caution>) {
    for Comparison { against, difference, repeat } in prescription::comparisons(state, prescription, eye) {
        let dioptres = difference.blur_strength();
        let (stands_out, caution) = match against {
            Against::Retinoscopy => (repeat == Repeat::Beyond, Caution::RetinoscopyDiffers { eye }),
            Against::OldGlasses => (dioptres >= LARGE_CHANGE_D - TOLERANCE, Caution::LargeChange { eye, dioptres }),
        };
        cautions.extend(stands_out.then_some(caution));
    }
}

fn of_both(state: &State, prescription: &Prescription, cautions: &mut Vec<Caution>) {
    if let (Some(right), Some(left)) = (prescription.eye(Eye::Right), prescription.eye(Eye::Left)) {
        let dioptres = (right.planned.m - left.planned.m).abs();
        if dioptres >= ANISOMETROPIA_D - TOLERANCE {
            cautions.push(Caution::Anisometropia { dioptres });
        }
    }
    let any_power = Eye::BOTH.into_iter().any(|eye| prescription.eye(eye).is_some());
    if let (true, Some(metres), None) = (any_power, state.person.chart_metres, state.results.chart_allowance)
        && prescription::too_plus_of_near_chart(metres) > TOLERANCE
    {
        cautions.push(Caution::ChartTooNear { too_plus: prescription::too_plus_of_near_chart(metres) });
    }
    if let (Some(metres), Some(taken_off)) = (state.person.chart_metres, state.results.chart_allowance)
        && taken_off > prescription::most_chart_allowance(metres) + TOLERANCE
    {
        cautions.push(Caution::ChartAllowanceTooGreat { most: prescription::most_chart_allowance(metres) });
    }
    if let (Some(addition), Some(metres)) = (prescription.greatest_addition(), state.person.near_metres)
        && addition.0 > 1.0 / metres + TOLERANCE
    {
        cautions.push(Caution::AdditionTooStrong { most: 1.0 / metres });
    }
    let prisms = || state.results.prism.as_ref().into_iter().flatten().map(|prism| PrismDioptres(prism.amount()));
    if prisms().any(|prism| prism.0 > TOLERANCE) {
        cautions.push(Caution::Prism);
    }
    let neutralised = DeviationAt::ALL.map(|at| state.person.deviation(at).before);
    let neutralised = neutralised.iter().flat_map(Eyes::as_ref).flatten().map(|prism| PrismDioptres(prism.amount()));
    if prisms().chain(neutralised).any(are_too_strong_to_add) {
        cautions.push(Caution::StrongPrism);
    }
}
