//! What the guide says beside its question: contradictions, missing lenses, cautions.

use crate::exam::sentence::sentence;
use crate::exam::{EarlierExams, Part, ProcedureName, RedFlag, Sentence};
use crate::optics::{Acuity, Eye, Power, Prism};

/// Something the guide says beside its question.
#[derive(Debug, Clone, PartialEq)]
pub enum Remark {
    /// Two answers cannot both be right.
    Contradiction {
        /// Of which eye; `None` for both.
        eye: Option<Eye>,
        /// The one.
        before: Sentence,
        /// The other.
        now: Sentence,
    },
    /// No free lens makes what a step needs: it was passed over.
    NoLens {
        /// Of which eye; `None` for both.
        eye: Option<Eye>,
        /// What is missing.
        what: Sentence,
    },
    /// What stands before the eye is the nearest that the free lenses make.
    Nearest {
        /// The eye before which it stands.
        eye: Eye,
        /// What was wanted.
        wanted: Power,
        /// What stands there.
        stands: Power,
    },
    /// Another step than the usual one is shown, because its lens is not free.
    OtherStep {
        /// The eye whose step it is.
        eye: Eye,
        /// The usual step in dioptres.
        usual: f64,
        /// The step that is shown.
        shown: f64,
    },
    /// A step is made in the cells, because no loose lens of it is free.
    InTheCells {
        /// The eye whose cells change.
        eye: Eye,
    },
    /// A pinhole does not improve a poor acuity.
    PinholeNoHelp(Eye),
    /// The frame is set to another pupillary distance than the person's.
    FramePd {
        /// The eye that looks past the centres.
        eye: Eye,
        /// The prism that the lenses in the frame induce.
        prism: Prism,
        /// By how much every lens stands off centre, in millimetres.
        off_mm: f64,
    },
    /// The chart is so near that the sphere is found too plus.
    NearChart {
        /// Its distance in metres.
        metres: f64,
        /// By how much in dioptres.
        too_plus: f64,
    },
    /// The age is not known, so a further minus is treated as for the young.
    AgeUnknown,
    /// A young person's accommodation can hide long sight.
    YoungHyperope,
    /// There is no cylinder to refine.
    NoCylinder(Eye),
    /// Nothing speaks for astigmatism.
    NoAstigmatism(Eye),
    /// The eye reads better than expected through +1.00: too much minus.
    TooMuchMinus(Eye),
    /// The acuities differ too much to be balanced.
    NotBalanced,
    /// A procedure was ended because its answers lead nowhere.
    Ended(ProcedureName),
    /// Another version of the procedures led the exam before, and may have left lenses in the frame that nobody found.
    ProceduresChanged,
    /// The findings call for a look by somebody who can treat.
    Refer(Sentence),
    /// The working lens is part of what stands before the eye.
    WorkingLens {
        /// What the working distance adds in dioptres: 1/distance.
        power: f64,
        /// The lens for it that is in the frame; `None` while it is kept in the head.
        in_frame: Option<f64>,
    },
    /// What the examiner's earlier exams say.
    EarlierExams(EarlierExams),
    /// A note that one procedure leaves.
    Plain(&'static str),
    /// Answers lead on and lines do not follow: the best line on the way counts.
    Unsettled(Eye),
    /// The line that was lost through fog is as it should be.
    FogPassed {
        /// Of which eye.
        eye: Eye,
        /// Lines lost.
        lines: f64,
    },
    /// Too few lines were lost through fog for somebody in whom that is only reported.
    FogReported {
        /// Of which eye.
        eye: Eye,
        /// Lines lost.
        lines: f64,
    },
    /// The eye reads too poorly for a fogged line to say anything.
    FogUntrusted(Eye),
    /// The line that was lost is not known, so the check says nothing.
    FogUnread(Eye),
    /// How sure the sphere that was found is.
    HowSure {
        /// Of which eye.
        eye: Eye,
        /// How likely it is right within a quarter: 0 to 1.
        within_quarter: f64,
    },
    /// The refraction by likelihood does not settle: the eye goes on step by step.
    HandedOver {
        /// Which eye.
        eye: Eye,
        /// Because the answers fit no eye.
        surprised: bool,
    },
    /// A procedure has nothing to do.
    NothingToDo(ProcedureName),
    /// An eye reads no letter whatever is shown: it is not refracted.
    NotRefracted(Eye),
    /// An eye reads letters only where the chart is brought near.
    ReadsNearOnly {
        /// Which eye.
        eye: Eye,
        /// At this distance of the chart in metres.
        metres: f64,
        /// With this before it.
        power: Power,
        /// What it read there.
        read: Acuity,
    },
}

impl Remark {
    /// Whether it doubts what was answered or what stands before the eyes: something does not fit.
    pub fn doubts_the_answers(&self) -> bool {
        match self {
            Self::Contradiction { .. } | Self::TooMuchMinus(_) | Self::Ended(_) | Self::Unsettled(_) => true,
            Self::HandedOver { surprised, .. } => *surprised,
            Self::NoLens { .. }
            | Self::Nearest { .. }
            | Self::OtherStep { .. }
            | Self::InTheCells { .. }
            | Self::PinholeNoHelp(_)
            | Self::FramePd { .. }
            | Self::NearChart { .. }
            | Self::AgeUnknown
            | Self::YoungHyperope
            | Self::NoCylinder(_)
            | Self::NoAstigmatism(_)
            | Self::NotBalanced
            | Self::ProceduresChanged
            | Self::Refer(_)
            | Self::WorkingLens { .. }
            | Self::FogPassed { .. }
            | Self::FogReported { .. }
            | Self::FogUntrusted(_)
            | Self::FogUnread(_)
            | Self::EarlierExams(_)
            | Self::HowSure { .. }
            | Self::Plain(_)
            | Self::NothingToDo(_)
            | Self::NotRefracted(_)
            | Self::ReadsNearOnly { .. } => false,
        }
    }

    /// Whether it may change what is done now; the others explain.
    pub fn is_grave(&self) -> bool {
        match self {
            Self::Contradiction { .. }
            | Self::NoLens { .. }
            | Self::Nearest { .. }
            | Self::OtherStep { .. }
            | Self::InTheCells { .. }
            | Self::PinholeNoHelp(_)
            | Self::FramePd { .. }
            | Self::YoungHyperope
            | Self::TooMuchMinus(_)
            | Self::Ended(_)
            | Self::ProceduresChanged
            | Self::Unsettled(_)
            | Self::FogReported { .. }
            | Self::FogUntrusted(_)
            | Self::HandedOver { .. }
            | Self::Refer(_)
            | Self::NotRefracted(_)
            | Self::ReadsNearOnly { .. } => true,
            Self::NearChart { .. }
            | Self::AgeUnknown
            | Self::NoCylinder(_)
            | Self::NoAstigmatism(_)
            | Self::NotBalanced
            | Self::WorkingLens { .. }
            | Self::FogPassed { .. }
            | Self::FogUnread(_)
            | Self::EarlierExams(_)
            | Self::HowSure { .. }
            | Self::Plain(_)
            | Self::NothingToDo(_) => false,
        }
    }

    /// Whether the step is done otherwise than its instruction says.
    pub fn is_another_step(&self) -> bool {
        match self {
            Self::OtherStep { .. } | Self::InTheCells { .. } => true,
            Self::Contradiction { .. }
            | Self::NoLens { .. }
            | Self::Nearest { .. }
            | Self::PinholeNoHelp(_)
            | Self::FramePd { .. }
            | Self::NearChart { .. }
            | Self::AgeUnknown
            | Self::YoungHyperope
            | Self::NoCylinder(_)
            | Self::NoAstigmatism(_)
            | Self::TooMuchMinus(_)
            | Self::NotBalanced
            | Self::Ended(_)
            | Self::ProceduresChanged
            | Self::Refer(_)
            | Self::HandedOver { .. }
            | Self::WorkingLens { .. }
            | Self::FogPassed { .. }
            | Self::FogReported { .. }
            | Self::FogUntrusted(_)
            | Self::FogUnread(_)
            | Self::Unsettled(_)
            | Self::EarlierExams(_)
            | Self::HowSure { .. }
            | Self::Plain(_)
            | Self::NothingToDo(_)
            | Self::NotRefracted(_)
            | Self::ReadsNearOnly { .. } => false,
        }
    }
}

impl Remark {
    /// What is said.
    #[expect(clippy::too_many_lines, reason = "one list: the words of every remark")]
    pub fn sentence(&self) -> Sentence {
        match self {
            Self::Contradiction { eye, before, now } => of(*eye)
                .then(&"these answers do not agree: ".into())
                .then(before)
                .then(&"; now ".into())
                .then(now)
                .then(&". The later one counts: ask again to be sure.".into()),
            Self::NoLens { eye, what } => {
                of(*eye).then(&"no free lens for ".into()).then(what).then(&": skipped.".into())
            }
            Self::Nearest { eye, wanted, stands } => sentence![
                *eye,
                " eye: ",
                *wanted,
                " cannot be made from what is free; ",
                *stands,
                " stands there, ",
                Part::Dioptres(wanted.miss(*stands)),
                " away."
            ],
            Self::OtherStep { eye, usual, shown } => sentence![
                *eye,
                " eye: no lens for a step of ",
                Part::Sphere(*usual),
                " is free: this step is ",
                Part::Sphere(*shown),
                "."
            ],
            Self::InTheCells { eye } => {
                sentence![*eye, " eye: no loose lens of this step is free: change it in the frame and back."]
            }
            Self::PinholeNoHelp(eye) => sentence![
                *eye,
                " eye: a pinhole does not improve this acuity: lenses may not either. Refer (to somebody who can examine and treat the eye)."
            ],
            Self::FramePd { eye, prism, off_mm } => sentence![
                *eye,
                " eye: the frame is not set to this eye's pupillary distance: each lens stands ",
                Part::Tenths(*off_mm),
                " mm off and induces ",
                Part::Tenths(prism.amount()),
                " Δ base ",
                Part::Figure(prism.base_deg().round()),
                "° with what is in now."
            ],
            Self::NearChart { metres, too_plus } => sentence![
                "The chart stands at ",
                Part::Figure(*metres),
                " m: the sphere is found ",
                Part::Dioptres(*too_plus),
                " too plus for far away."
            ],
            Self::AgeUnknown => "The age is not known: more minus is kept only for another letter.".into(),
            Self::YoungHyperope => {
                "A child or a young long-sighted person can hide plus by accommodating: drops may be needed to find it."
                    .into()
            }
            Self::NoCylinder(eye) => sentence![*eye, " eye: there is no cylinder to refine."],
            Self::NoAstigmatism(eye) => sentence![*eye, " eye: no sign of astigmatism."],
            Self::TooMuchMinus(eye) => sentence![
                *eye,
                " eye: fewer than two lines are lost through ",
                Part::Sphere(1.0),
                ": plus is owing. What the two lines tell is shown."
            ],
            Self::NotBalanced => "The two acuities are a line or more apart, or an eye reads no letter: there is nothing to balance.".into(),
            Self::Ended(procedure) => {
                sentence!["These answers lead nowhere: ", *procedure, " ends with what stands there."]
            }
            Self::ProceduresChanged => {
                "Other procedures led this exam before. What stands in the frame counts as found: first take out a working lens or a fogging lens."
                    .into()
            }
            Self::Refer(why) => {
                why.then(&": refer (to somebody who can examine and treat the eye).".into())
            }
            Self::WorkingLens { power, in_frame } => {
                match in_frame {
                    Some(lens) => sentence![
                        "The working lens ",
                        Part::Sphere(*lens),
                        " is in the frame and comes out at the end; ",
                        Part::Dioptres(*power),
                        " is taken off."
                    ],
                    None => sentence!["No working lens is in the frame: ", Part::Dioptres(*power), " is taken off at the end."],
                }
            }
            Self::EarlierExams(earlier) => said_of_earlier(earlier),
            Self::Plain(text) => Sentence::Words(text),
            Self::Unsettled(eye) => sentence![
                *eye,
                " eye: these answers do not settle it: they lead on, and no line is gained. The best line on the way counts; try retinoscopy."
            ],
            Self::FogPassed { eye, lines } => sentence![
                *eye,
                " eye: ",
                Part::Tenths(*lines),
                " lines are lost through ",
                Part::Sphere(1.0),
                ", as it should be: no plus is owing."
            ],
            Self::FogReported { eye, lines } => sentence![
                *eye,
                " eye: ",
                Part::Tenths(*lines),
                " lines are lost through ",
                Part::Sphere(1.0),
                ", fewer than two. From 55 years a small pupil does that too: nothing is changed for it."
            ],
            Self::FogUntrusted(eye) => sentence![
                *eye,
                " eye: at 6/18 and worse a line through ",
                Part::Sphere(1.0),
                " cannot be trusted: take retinoscopy."
            ],
            Self::FogUnread(eye) => {
                sentence![*eye, " eye: without both lines the check says nothing about plus that is owing."]
            }
            Self::HowSure { eye, within_quarter } => how_sure(*eye, *within_quarter),
            Self::HandedOver { eye, surprised } => handed_over(*eye, *surprised),
            Self::NothingToDo(procedure) => {
                sentence!["There is nothing to do in ", *procedure, " now: everything that it asks is settled."]
            }
            Self::NotRefracted(eye) => sentence![
                *eye,
                " eye: reads no letter, whatever is shown: it is not refracted. Refer (to somebody who can examine and treat the eye)."
            ],
            Self::ReadsNearOnly { eye, metres, power, read } => sentence![
                *eye,
                " eye: reads letters only with the chart at ",
                Part::Figure(*metres),
                " m: ",
                *read,
                " with ",
                *power,
                ". The search goes by that; retinoscopy tells more."
            ],
        }
    }
}

impl Remark {
    /// What is to be said of the signs that were named; nothing where none was.
    pub fn of_flags(flags: &[RedFlag]) -> Option<Self> {
        let named = flags.iter().map(|flag| Sentence::Words(flag.shown()));
        named.reduce(|all, next| all.then(&", ".into()).then(&next)).map(Self::Refer)
    }
}

/// How the examiner's retinoscopy and answers went before.
fn said_of_earlier(earlier: &EarlierExams) -> Sentence {
    let EarlierExams { eyes, differs, spread, repeats } = *earlier;
    let retinoscopy = match eyes {
        0 | 1 => "No earlier retinoscopy of yours to compare with yet".into(),
        _ => sentence![
            "Your retinoscopy in ",
            Part::Figure(eyes as f64),
            " earlier eyes came out ",
            Part::Sphere(differs.m),
            " from what was then found (spread ",
            Part::Dioptres(spread.m),
            ")"
        ],
    };
    if repeats.is_none() {
        return retinoscopy.then(&".".into());
    }
    retinoscopy.then(&sentence![
        "; of ",
        Part::Figure(repeats.repeated as f64),
        " questions asked again ",
        Part::Figure(repeats.changed as f64),
        " got another answer."
    ])
}

fn how_sure(eye: Eye, within_quarter: f64) -> Sentence {
    let of_twenty = (within_quarter * 20.0).floor().min(19.0);
    sentence![eye, " eye: ", Part::Figure(of_twenty), " of 20 such eyes lie within 0.25 D of this sphere."]
}

fn handed_over(eye: Eye, surprised: bool) -> Sentence {
    let why = if surprised { "these answers fit no eye well" } else { "this has not settled" };
    sentence![eye, " eye: ", why, ". Go on step by step from what is likeliest, which stands there."]
}

/// The eye that a remark is about, to begin with; nothing for both.
fn of(eye: Option<Eye>) -> Sentence {
    eye.map_or(Sentence::NONE, |eye| sentence![eye, " eye: "])
}
