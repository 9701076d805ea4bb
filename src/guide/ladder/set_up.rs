//! Section 0, before the first lens: the signs that need somebody else, the person and the room, the glasses that there are, then
//! unaided acuity, through a pinhole where it is poor, and with the glasses.

use crate::exam::poor_acuity::{lenses_can_help, pinhole_does_not_help, pinhole_is_asked, worse_than_6_60};
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Complaint, Detail, Event, Given, NearTask, PresentGlasses, RedFlag, Shown, Through};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Acuity, Eye, Eyes, Power};

/// The most presentations: each sign and that there is no other, age, complaint, chart, two pupillary distances, the glasses with
/// two powers and an addition, near task, preferred eye, two acuities, two pinholes, three lines with the glasses; and one more,
/// which is never reached.
const MOST_PRESENTATIONS: usize = RedFlag::ALL.len() + 1 + 5 + 4 + 2 + 4 + 3 + 1;

/// From this age on the near task is asked without a complaint (common practice, no source).
const NEAR_TASK_FROM_YEARS: u8 = 40;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    RedFlags,
    Age,
    Complaint,
    Chart,
    EyePd(Eye),
    Glasses,
    OldPower(Eye),
    OldAddition,
    NearTask,
    PreferredEye,
    Unaided(Eye),
    Pinhole(Eye),
    /// The line with the old glasses, of one eye or of both.
    WithGlasses(Option<Eye>),
}

/// The lines with the old glasses, in the order in which they are read.
const WITH_GLASSES: [Stage; 3] =
    [Stage::WithGlasses(Some(Eye::Right)), Stage::WithGlasses(Some(Eye::Left)), Stage::WithGlasses(None)];

/// The set-up of an exam.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct SetUp {
    /// What is still to be asked, the next one last.
    left: Vec<Stage>,
    unaided: Eyes<Option<Acuity>>,
    flags: Vec<RedFlag>,
    age_years: Option<u8>,
    complaint: Option<Complaint>,
    /// Whether the line with the glasses is asked once that without them is known.
    unread_with_glasses: bool,
    old_power_known: Eyes<bool>,
}

impl SetUp {
    pub fn begin(given: &Given, _findings: &Findings) -> Self {
        let mut asked = Vec::new();
        let mut ask = |unknown: bool, stage: Stage| asked.extend(unknown.then_some(stage));
        ask(given.red_flags.is_none(), Stage::RedFlags);
        ask(given.age_years.is_none(), Stage::Age);
        ask(given.complaint.is_none(), Stage::Complaint);
        ask(given.chart_metres.is_none(), Stage::Chart);
        for eye in Eye::BOTH {
            ask(given.eye_pd[eye].is_none(), Stage::EyePd(eye));
        }
        ask(given.present_glasses.is_none(), Stage::Glasses);
        ask(given.near_task.is_none(), Stage::NearTask);
        ask(given.dominant_eye.is_none(), Stage::PreferredEye);
        for eye in Eye::BOTH {
            ask(given.unaided[eye].is_none(), Stage::Unaided(eye));
        }
        let unread_with_glasses = given.with_old_glasses.into_iter().all(|read| read.is_none());
        let here = given.present_glasses.is_some_and(PresentGlasses::are_here) && unread_with_glasses;
        if here {
            asked.extend(WITH_GLASSES);
        }
        asked.reverse();
        let mut procedure = Self {
            left: asked,
            unaided: given.unaided,
            flags: given.red_flags.clone().unwrap_or_default(),
            age_years: given.age_years,
            complaint: given.complaint,
            unread_with_glasses,
            old_power_known: given.old_glasses.map(|power| power.is_some()),
        };
        procedure.settled();
        procedure
    }

    /// Passes over what need not be asked of this person: a young one who has no trouble near.
    fn settled(&mut self) {
        let near =
            self.age_years.is_none_or(|age| age >= NEAR_TASK_FROM_YEARS) || self.complaint == Some(Complaint::NearOnly);
        if self.left.last() == Some(&Stage::NearTask) && !near {
            self.left.pop();
        }
    }

    fn flagged(&mut self, answer: Answer, effects: &mut Effects<'_>) {
        self.flags.extend(answer.flag());
        effects.records.push(Event::Detail(Detail::RedFlags(self.flags.clone())));
        if answer.flag().is_some() && self.flags.len() < RedFlag::ALL.len() {
            self.left.push(Stage::RedFlags);
        } else {
            effects.remarks.extend(Remark::of_flags(&self.flags));
        }
    }

    fn glasses(&mut self, glasses: PresentGlasses, effects: &mut Effects<'_>) {
        if glasses.are_here() && self.unread_with_glasses {
            self.left.splice(0..0, WITH_GLASSES.into_iter().rev());
        }
        if glasses.may_be_known() {
            self.left.push(Stage::OldAddition);
            let unknown = Eye::BOTH.into_iter().rev().filter(|&eye| !self.old_power_known[eye]);
            self.left.extend(unknown.map(Stage::OldPower));
        }
        if glasses == PresentGlasses::HereUnknown {
            effects
                .remarks
                .push(Remark::Plain("Their power can be found by hand, with lenses of the box held against them."));
        }
    }

    fn unaided(&mut self, eye: Eye, acuity: Acuity, effects: &mut Effects<'_>) {
        self.unaided[eye] = Some(acuity);
        effects.findings.acuity[eye] = Some(acuity);
        effects.note_acuity(Some(eye), Through::Unaided, acuity);
        effects.tried(eye, Power::ZERO, Some(acuity), None, true);
        if pinhole_is_asked(acuity) && lenses_can_help(acuity) {
            self.left.push(Stage::Pinhole(eye));
        }
    }

    fn pinhole(&self, eye: Eye, acuity: Acuity, effects: &mut Effects<'_>) {
        effects.note_acuity(Some(eye), Through::Pinhole, acuity);
        if self.unaided[eye].is_some_and(|unaided| pinhole_does_not_help(unaided, acuity)) {
            let remark = Remark::PinholeNoHelp(eye);
            effects.records.push(Event::Note(remark.sentence().to_string()));
            effects.remarks.push(remark);
        }
        if worse_than_6_60(acuity) {
            effects.remarks.push(Remark::Refer(sentence![
                "Acuity worse than ",
                Acuity::of_6_m(60.0),
                " even through a pinhole"
            ]));
        }
    }
}

impl Procedure for SetUp {
    fn step(&self, _base: &Eyes<Power>) -> Option<Step> {
        let nothing = Eyes::both(Power::ZERO);
        Some(match *self.left.last()? {
            Stage::RedFlags => Step::plain(Question::RedFlags { named: self.flags.clone() })
                .say("Did your sight go suddenly, is there pain, do you see flashes, floaters or double?")
                .instruction("Is there a sign that needs somebody who can treat the eye?")
                .why("these are for referral without delay, whatever lenses may do"),
            Stage::Age => Step::plain(Question::Age)
                .say("How old are you?")
                .instruction("Type the age in years.")
                .why("the age decides when a further minus is kept, and the addition"),
            Stage::Complaint => Step::plain(Question::Complaint)
                .say("What do you notice: is it blurred far away, near, or at all distances?")
                .instruction("What does the person complain of?")
                .why("it decides whether to begin with minus or with plus"),
            Stage::Chart => Step::plain(Question::ChartDistance)
                .instruction("How far from the eyes is the chart?")
                .why("a chart nearer than 6 m leaves the sphere found too plus"),
            Stage::EyePd(eye) => Step { eye: Some(eye), ..Step::plain(Question::EyePd(eye)) }
                .say("Please look at my eye.")
                .instruction(sentence![
                    "Type the pupillary distance of the ",
                    eye,
                    " eye in mm, from the middle of the nose, and set the frame."
                ])
                .why("lenses off centre induce prism"),
            Stage::Glasses => Step::plain(Question::PresentGlasses)
                .say("Do you have glasses, and did you bring them?")
                .instruction("Are there glasses, and is their power known?")
                .why("they are a start, and what is found is held against them"),
            Stage::OldPower(eye) => Step { eye: Some(eye), ..Step::plain(Question::OldGlasses(eye)) }
                .instruction(sentence!["Type the power of the glasses in front of the ", eye, " eye."])
                .why("the search can begin there, and the change is said at the end"),
            Stage::OldAddition => Step::plain(Question::OldAddition)
                .instruction("Type the addition of the glasses, where they have one.")
                .why("what is found near is held against it"),
            Stage::NearTask => Step::plain(Question::NearTask)
                .say("What do you do close up, and how far away do you hold it?")
                .instruction("What is done near? Another distance is typed.")
                .why("the addition is for this distance, not for 40 cm"),
            Stage::PreferredEye => Step::plain(Question::PreferredEye)
                .say("Look at my nose through the gap between your hands.")
                .instruction("Which eye does the person look with?")
                .why("where both cannot be equal the balance favours it"),
            Stage::Unaided(eye) => Step::at(eye, &nothing, Question::LineRead)
                .say("Which is the lowest line you can read?")
                .instruction(sentence!["Nothing in front of the ", eye, " eye; cover the ", eye.other(), " eye."])
                .why("the unaided acuity decides the first lens"),
            Stage::Pinhole(eye) => Step::at(eye, &nothing, Question::LineRead)
                .with_show(Show::Pinhole { eye })
                .say("Which is the lowest line you can read through the small hole?")
                .instruction(sentence!["Pinhole in front of the ", eye, " eye."])
                .why("what a pinhole does not improve, lenses may not improve either"),
            Stage::WithGlasses(eye) => Step { eye, ..Step::plain(Question::LineRead) }
                .say("Which is the lowest line you can read with your own glasses?")
                .instruction(match eye {
                    Some(eye) => sentence!["Own glasses on, no frame; cover the ", eye.other(), " eye."],
                    None => "Own glasses on, no frame, both eyes open.".into(),
                })
                .why("a change that gains nothing over the glasses there are is not worth new ones"),
        })
    }

    fn answer(&mut self, answer: Answer, _shown: &Shown, effects: &mut Effects<'_>) {
        let Some(stage) = self.left.pop() else { return };
        let acuity = answer.acuity();
        let detail = match stage {
            Stage::RedFlags => {
                self.flagged(answer, effects);
                None
            }
            Stage::Age => {
                self.age_years = answer.years();
                answer.years().map(Detail::AgeYears)
            }
            Stage::Complaint => {
                self.complaint = answer.complaint();
                answer.complaint().map(Detail::Complaint)
            }
            Stage::Chart => answer.metres().map(Detail::ChartMetres),
            Stage::EyePd(eye) => answer.millimetres().map(|distance| Detail::EyePd(eye, distance)),
            Stage::Glasses => {
                if let Some(glasses) = answer.glasses() {
                    self.glasses(glasses, effects);
                }
                answer.glasses().map(Detail::PresentGlasses)
            }
            Stage::OldPower(eye) => answer.power().map(|power| Detail::OldGlasses(eye, power)),
            Stage::OldAddition => answer.dioptres().map(Detail::OldAddition),
            Stage::NearTask => {
                let measured = answer.centimetres().map(|cm| cm / 100.0);
                let task = answer.task().or(measured.map(|_| NearTask::Other));
                let metres = measured.or_else(|| task.and_then(NearTask::usual_metres));
                effects.records.extend(task.map(|task| Event::Detail(Detail::NearTask(task))));
                metres.map(Detail::NearMetres)
            }
            Stage::PreferredEye => {
                answer.prefers_first().map(|right| Detail::DominantEye(if right { Eye::Right } else { Eye::Left }))
            }
            Stage::Unaided(eye) => {
                if let Some(acuity) = acuity {
                    self.unaided(eye, acuity, effects);
                }
                None
            }
            Stage::Pinhole(eye) => {
                if let Some(acuity) = acuity {
                    self.pinhole(eye, acuity, effects);
                }
                None
            }
            Stage::WithGlasses(eye) => {
                if let Some(acuity) = acuity {
                    effects.note_acuity(eye, Through::OldGlasses, acuity);
                }
                None
            }
        };
        effects.records.extend(detail.map(Event::Detail));
        self.settled();
    }

    fn skip(&mut self, _turn: &mut Effects<'_>) {
        self.left.pop();
        self.settled();
    }

    fn why_nothing(&self) -> Option<Remark> {
        Some(Remark::Plain("Everything that this step asks is known; the details take what is to be changed."))
    }

    fn looks_at_the_room(&self) -> bool {
        true
    }

    fn is_subjective(&self) -> bool {
        false
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
