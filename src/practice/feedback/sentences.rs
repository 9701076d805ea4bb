//! Feedback in plain sentences, in the order in which it helps: harm, how far off, cost, the costliest step, what next.

use super::Feedback;
use super::costliest::{Costliest, Why};
use super::figures::{Cost, OfEye};
use super::harms::Harm;
use super::next::{Advice, Because};
use super::wrong_way::Axis;
use crate::exam::prescription::EyeOutcome;
use crate::exam::sentence::sentence;
use crate::exam::{Part, Sentence};
use crate::optics::acuity::LINES_6_M;
use crate::optics::{Acuity, CylinderForm, Eye, Power};
use crate::practice::effort::Effort;
use crate::practice::off::{Off, ROUNDING_D};
use crate::practice::sight::FAR_M;

/// A part of the feedback, in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Section {
    /// Would somebody have been hurt?
    Harm,
    /// How far off is what is written?
    Off,
    /// What did it cost?
    Cost,
    /// Which step cost most?
    Costliest,
    /// What to practise next.
    Next,
}

impl Section {
    /// Its heading.
    pub const fn heading(self) -> &'static str {
        match self {
            Self::Harm => "Would this person have been hurt?",
            Self::Off => "How far off",
            Self::Cost => "What it cost",
            Self::Costliest => "The step that cost most",
            Self::Next => "Practise next",
        }
    }
}

/// A young eye accommodates through too much minus; an older one cannot. In years (common practice, no source).
const YOUNG_BELOW_YEARS: u8 = 45;

/// What differs by less than this is said to be right, in dioptres: half a quarter step.
const RIGHT_WITHIN_D: f64 = 0.125;
/// An axis that is off by less is not spoken of, in degrees: half of a usual mark of the frame.
const AXIS_SAID_FROM_DEG: f64 = 2.5;

/// Everything that is said, with the spheres of the cylinder form of whoever reads it.
pub fn sentences(feedback: &Feedback, form: CylinderForm) -> Vec<(Section, Vec<Sentence>)> {
    let age = feedback.age_years;
    let mut harms: Vec<Sentence> = feedback.harms.iter().map(|harm| of_harm(harm, feedback, age)).collect();
    if harms.is_empty() {
        harms.push("Nothing here would have hurt this person.".into());
    }
    let off = feedback.eyes.iter().flat_map(|(eye, of_eye)| of_off(eye, of_eye, form)).collect();
    let costliest = feedback.costliest.as_ref();
    let costliest = costliest.map_or_else(|| "No single step cost much.".into(), of_costliest);
    vec![
        (Section::Harm, harms),
        (Section::Off, off),
        (Section::Cost, vec![of_cost(&feedback.cost)]),
        (Section::Costliest, vec![costliest]),
        (Section::Next, feedback.next.iter().map(of_advice).collect()),
    ]
}

/// How too much minus and too much plus are said of what is written: of a plus power, that it is too little plus.
fn too_minus(off: Option<Off>) -> &'static str {
    if off.is_some_and(|off| off.written.power().m > 0.0) { " too little plus" } else { " too much minus" }
}

fn too_plus(off: Option<Off>) -> &'static str {
    if off.is_some_and(|off| off.written.power().m < 0.0) { " too little minus" } else { " too much plus" }
}

fn of_harm(harm: &Harm, feedback: &Feedback, age: u8) -> Sentence {
    let off = |eye: Eye| feedback.eyes[eye].off;
    let years = Part::Figure(f64::from(age));
    match harm {
        Harm::OverMinus { eye, by_d, steps_beyond } => {
            let said =
                sentence!["The ", *eye, " eye was given ", Part::Dioptres(*by_d), too_minus(off(*eye)), ". At ", years];
            let said = said.then(&if age < YOUNG_BELOW_YEARS {
                " years it sees as well with that by accommodating without rest, and the head aches.".into()
            } else {
                " years it cannot accommodate that away: near work suffers first, then far.".into()
            });
            match steps_beyond {
                0 | 1 => said,
                steps => {
                    let steps = Part::Figure(*steps as f64);
                    said.then(&sentence![" The last ", steps, " steps towards minus gained it no letter."])
                }
            }
        }
        Harm::OverPlus { eye, by_d } => sentence![
            "The ",
            *eye,
            " eye was given ",
            Part::Dioptres(*by_d),
            too_plus(off(*eye)),
            ": far away is blurred, and people come back for that."
        ],
        Harm::FogWritten { eye, reads_log_mar } => sentence![
            "Fog was left in what is written: with it the ",
            *eye,
            " eye reads about ",
            nearest_line(*reads_log_mar),
            ", and ",
            nearest_line(feedback.eyes[*eye].best_log_mar),
            " with what it needs."
        ],
        Harm::FogStanding { eye, by_d } => sentence![
            "When the power of the ",
            *eye,
            " eye was accepted, ",
            Part::Dioptres(*by_d),
            " more plus than that still stood before it."
        ],
        Harm::WorkingLensLeft { eye } => sentence![
            "The ",
            *eye,
            " eye is off by about the working lens of retinoscopy: it was left in, or taken off twice."
        ],
        Harm::WrongSign { eye } => {
            sentence!["A lens of the wrong sign: plus and minus were taken for each other before the ", *eye, " eye."]
        }
        Harm::EyesExchanged => {
            "The eyes are exchanged: what is written for each fits the other one, and not its own.".into()
        }
        Harm::LensBeforeTheOther { eye } => sentence![
            "Answers fit only if a lens that was meant for the ",
            *eye,
            " eye stood before the ",
            eye.other(),
            " one."
        ],
        Harm::CoveredEyeAsked { eye, times } => {
            let eye = *eye;
            sentence!["The ", eye, " eye was covered when it was asked (", times_over(*times), Part::Text(").")]
        }
        Harm::WrongAxis { eye, axis: Axis::Across } => {
            sentence!["The cylinder of the ", *eye, " eye lies across its axis, which doubles the error."]
        }
        Harm::WrongAxis { eye, axis: Axis::Mirrored } => {
            sentence!["The axis of the ", *eye, " eye is mirrored, as 150 for 30: one dial serves both eyes."]
        }
        Harm::OtherDistance { eye } => sentence![
            "Lines were entered that the ",
            *eye,
            " eye cannot read: they are those of a chart that stood nearer than was said."
        ],
        Harm::UnsafeChange(change) => sentence![
            "Before the ",
            change.eye,
            " eye lenses were changed the unsafe way (",
            times_over(change.times),
            "): it had up to ",
            Part::Dioptres(change.most_d),
            " less plus for a moment, and at ",
            years,
            " years it accommodates at once. The new plus goes in before the old comes out, minus comes out first, or the eye \
             is covered."
        ],
        Harm::ReferralMissed { eye, best_log_mar } => sentence![
            "The ",
            *eye,
            " eye reads ",
            nearest_line(*best_log_mar),
            " at best, whatever stands before it, and nothing in the record says refer."
        ],
        Harm::SignNotReferred { flag } => {
            sentence!["The person named ", flag.shown(), ", and nothing in the record says refer."]
        }
    }
}

fn times_over(times: usize) -> Part {
    match times {
        1 => Part::Text("once"),
        2 => Part::Text("twice"),
        3 => Part::Text("three times"),
        _ => Part::Text("more than three times"),
    }
}

fn of_off(eye: Eye, of_eye: &OfEye, form: CylinderForm) -> Vec<Sentence> {
    let Some(off) = of_eye.off else {
        let why = match of_eye.outcome {
            EyeOutcome::BalanceLens => ": a balance lens is written, and nobody found its power.",
            EyeOutcome::CannotBeWritten => ": what was accepted cannot be written.",
            EyeOutcome::Refracted | EyeOutcome::NotRefracted => ": nobody refracted it.",
        };
        return vec![sentence!["The ", eye, " eye needs ", of_eye.needs, why]];
    };
    let written = off.written.power();
    let needs = sentence!["The ", eye, " eye needs ", off.needs, "; written is ", written, ". "];
    let vector = off.vector();
    let figures = sentence![
        "Written less needed: M ",
        Part::Signed(vector.m),
        ", J0 ",
        Part::Signed(vector.j0),
        ", J45 ",
        Part::Signed(vector.j45),
        ". At most ",
        Part::Dioptres(off.residual_d()),
        " is left in any meridian (|M| + |C|/2)."
    ];
    vec![needs.then(&in_words(&off, form)), figures]
}

/// Sphere, cylinder and axis in words.
fn in_words(off: &Off, form: CylinderForm) -> Sentence {
    let of = |power: Power| form.of(power);
    let (needed, written) = (of(off.needs), of(off.written.power()));
    let sphere_d = written.sphere - needed.sphere;
    let cylinder_d = written.cylinder.abs() - needed.cylinder.abs();
    let mut said: Vec<Sentence> = Vec::new();
    if sphere_d.abs() > RIGHT_WITHIN_D + ROUNDING_D {
        let way = if sphere_d < 0.0 { " too minus" } else { " too plus" };
        said.push(sentence!["the sphere is ", Part::Dioptres(sphere_d), way]);
    }
    if cylinder_d.abs() > RIGHT_WITHIN_D + ROUNDING_D {
        let way = if cylinder_d < 0.0 { " too weak" } else { " too strong" };
        said.push(sentence!["the cylinder is ", Part::Dioptres(cylinder_d), way]);
    }
    if let Some(axis_deg) = off.axis_deg().filter(|by_deg| *by_deg >= AXIS_SAID_FROM_DEG) {
        said.push(sentence!["the axis is off by ", Part::Figure(axis_deg.round()), " degrees"]);
    }
    let Some((first, more)) = said.split_first() else {
        return "That is right within half a step.".into();
    };
    let all = more.iter().fold(sentence!["So "].then(first), |all, one| all.then(&", ".into()).then(one));
    all.then(&".".into())
}

fn counted(count: usize, one: &'static str, many: &'static str) -> [Part; 2] {
    [Part::Figure(count as f64), Part::Text(if count == 1 { one } else { many })]
}

fn of_cost(cost: &Cost) -> Sentence {
    let counts = |effort: Effort| {
        let lenses = counted(effort.moves, " lens moved and ", " lenses moved and ");
        let looks = counted(effort.presentations, " look", " looks");
        Sentence::Parts(lenses.into_iter().chain(looks).collect())
    };
    let own = counts(cost.effort);
    let own = match cost.minutes.map(f64::round) {
        Some(minutes) if minutes < 1.0 => own.then(&" in less than a minute".into()),
        Some(minutes) => own.then(&Sentence::Parts(
            [Part::Text(" in ")].into_iter().chain(counted(minutes as usize, " minute", " minutes")).collect(),
        )),
        None => own,
    };
    match cost.guide {
        Some(guide) => {
            own.then(&"; the guide's own exam of these eyes: ".into()).then(&counts(guide)).then(&".".into())
        }
        None => own.then(&".".into()),
    }
}

/// What is said of the step that cost most.
pub fn of_costliest(costliest: &Costliest) -> Sentence {
    let Costliest { eye, procedure, why, .. } = *costliest;
    let during = procedure.map_or(Sentence::NONE, |procedure| match why {
        Why::WentAway { .. } => sentence![" (", procedure, ")"],
        Why::NoNearer { .. } => sentence![" (mostly ", procedure, ")"],
    });
    match why {
        Why::WentAway { from, to, by_d } => sentence!["Before the ", eye, " eye"]
            .then(&during)
            .then(&sentence![": ", from, " became ", to, ", ", Part::Dioptres(by_d)])
            .then(&" further from what it needs, and that stayed.".into()),
        Why::NoNearer { looks, off_by_d } => sentence!["The ", eye, " eye"].then(&during).then(&sentence![
            ": ",
            Part::Figure(looks as f64),
            " looks in a row came no nearer, ",
            Part::Dioptres(off_by_d),
            " off all the while."
        ]),
    }
}

fn of_advice(advice: &Advice) -> Sentence {
    let Advice { because, skill, case } = *advice;
    let why = match because {
        Because::Referral => "Who is to be referred",
        Because::Sign => "Plus and minus",
        Because::Eye => "Which eye",
        Because::Axis => "Axes",
        Because::Minus => "When a further minus is not kept",
        Because::WorkingLens => "The working lens",
        Because::Plus => "What is left in",
        Because::Changes => "The order of the moves",
        Because::Chart => "Lines and their distance",
        Because::Vertex => "Strong lenses and their distance",
        Because::Cylinder => "The cylinder",
        Because::NotRefracted => "Where to begin",
        Because::Looks => "Steps that can be noticed",
        Because::Further => "Further on",
    };
    sentence![
        why,
        ": the drill `",
        skill.drill.name(),
        "` at level ",
        Part::Figure(f64::from(skill.level.number())),
        ", and the case `",
        case,
        "`."
    ]
}

/// The line of the usual chart that lies nearest, since nobody reads a part of a letter.
fn nearest_line(log_mar: f64) -> Acuity {
    let off = |line: &f64| (libm::log10(line / FAR_M) - log_mar).abs();
    let line = LINES_6_M.iter().copied().min_by(|one, other| off(one).total_cmp(&off(other)));
    line.map_or(Acuity::NoLetter, Acuity::of_6_m)
}
