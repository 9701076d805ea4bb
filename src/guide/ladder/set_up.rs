//! Section 0, before the first lens: the person and the room, then unaided acuity, and through a pinhole where it is poor.

use crate::exam::poor_acuity::{pinhole_does_not_help, pinhole_is_asked, worse_than_6_60};
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Detail, Event, Given, Shown, Through};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Acuity, Eye, Eyes, Power};

/// The most presentations: age, complaint, chart, two pupillary distances, two acuities, two pinholes.
const MOST_PRESENTATIONS: usize = 9;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    Age,
    Complaint,
    Chart,
    EyePd(Eye),
    Unaided(Eye),
    Pinhole(Eye),
}

/// The set-up of an exam.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct SetUp {
    /// What is still to be asked, the next one last.
    left: Vec<Stage>,
    unaided: Eyes<Option<Acuity>>,
}

impl SetUp {
    pub fn begin(given: &Given, _findings: &Findings) -> Self {
        let mut asked = Vec::new();
        if given.age_years.is_none() {
            asked.push(Stage::Age);
        }
        if given.complaint.is_none() {
            asked.push(Stage::Complaint);
        }
        if given.chart_metres.is_none() {
            asked.push(Stage::Chart);
        }
        let without_pd = Eye::BOTH.into_iter().filter(|&eye| given.eye_pd[eye].is_none());
        asked.extend(without_pd.map(Stage::EyePd));
        let unread = Eye::BOTH.into_iter().filter(|&eye| given.unaided[eye].is_none());
        asked.extend(unread.map(Stage::Unaided));
        asked.reverse();
        Self { left: asked, unaided: given.unaided }
    }

    fn unaided(&mut self, eye: Eye, acuity: Acuity, effects: &mut Effects<'_>) {
        self.unaided[eye] = Some(acuity);
        effects.findings.acuity[eye] = Some(acuity);
        effects.note_acuity(Some(eye), Through::Unaided, acuity);
        effects.tried(eye, Power::ZERO, Some(acuity), None, true);
        if pinhole_is_asked(acuity) {
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
            Stage::Unaided(eye) => Step::at(eye, &nothing, Question::LineRead)
                .say("Which is the lowest line you can read?")
                .instruction(sentence!["Nothing before the ", eye, " eye; cover the ", eye.other(), " eye."])
                .why("the unaided acuity decides the first lens"),
            Stage::Pinhole(eye) => Step::at(eye, &nothing, Question::LineRead)
                .with_show(Show::Pinhole { eye })
                .say("Which is the lowest line you can read through the small hole?")
                .instruction(sentence!["Pinhole before the ", eye, " eye."])
                .why("what a pinhole does not improve, lenses may not improve either"),
        })
    }

    fn answer(&mut self, answer: Answer, _shown: &Shown, effects: &mut Effects<'_>) {
        let Some(stage) = self.left.pop() else { return };
        let detail = match stage {
            Stage::Age => answer.years().map(Detail::AgeYears),
            Stage::Complaint => answer.complaint().map(Detail::Complaint),
            Stage::Chart => answer.metres().map(Detail::ChartMetres),
            Stage::EyePd(eye) => answer.millimetres().map(|distance| Detail::EyePd(eye, distance)),
            Stage::Unaided(eye) => {
                if let Some(acuity) = answer.acuity() {
                    self.unaided(eye, acuity, effects);
                }
                None
            }
            Stage::Pinhole(eye) => {
                if let Some(acuity) = answer.acuity() {
                    self.pinhole(eye, acuity, effects);
                }
                None
            }
        };
        effects.records.extend(detail.map(Event::Detail));
    }

    fn skip(&mut self, _turn: &mut Effects<'_>) {
        self.left.pop();
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
