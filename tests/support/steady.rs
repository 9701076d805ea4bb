//! A person with practice eyes in whom nothing is left to chance: sees by the written law and answers alike every time.

use dioptray::exam::{Answer, Complaint, Exam, ProcedureName};
use dioptray::guide::{Presentation, Question};
use dioptray::optics::{Dioptres, Eye, Eyes, Power};
use dioptray::practice::draws::Draws;
use dioptray::practice::{self, Examinee, Law, Room, Standing, Traits};

pub struct Person {
    pub needs: Eyes<Power>,
    examinee: Examinee,
}

pub fn rx(sphere: f64, cylinder: f64, axis: f64) -> Power {
    Power::sphere(Dioptres(sphere)) + Power::cylinder(Dioptres(cylinder), axis)
}

impl Person {
    pub fn new(right: Power, left: Power, age: u8, complaint: Complaint) -> Self {
        Self::before_a_chart_at(Room::USUAL.chart_m, right, left, age, complaint)
    }

    /// The same before a chart so many metres away.
    pub fn before_a_chart_at(chart_m: f64, right: Power, left: Power, age: u8, complaint: Complaint) -> Self {
        Self::under(Law::Written, chart_m, Eyes::new(right, left), age, complaint)
    }

    /// Somebody who says whole lines of the usual chart, so that a reading is one key.
    pub fn of_whole_lines(chart_m: f64, right: Power, left: Power, age: u8, complaint: Complaint) -> Self {
        Self::under(Law::WholeLines, chart_m, Eyes::new(right, left), age, complaint)
    }

    fn under(law: Law, chart_m: f64, needs: Eyes<Power>, age: u8, complaint: Complaint) -> Self {
        let mut person = practice::Person::new(needs, age, Traits::STEADY, law);
        person.complaint = complaint;
        person.room.chart_m = chart_m;
        Self { needs, examinee: Examinee::new(person, Draws::new(1, 0)) }
    }

    /// The eyes have changed: they need this from now on.
    pub fn changes(&mut self, needs: Eyes<Power>) {
        let mut person = self.examinee.person().clone();
        for eye in dioptray::optics::Eye::BOTH {
            person.eyes[eye].needs = needs[eye];
        }
        self.needs = needs;
        self.examinee = Examinee::new(person, Draws::new(1, 0));
    }

    /// The retinoscope so many metres away.
    pub fn room(&mut self, working_m: f64) {
        let mut person = self.examinee.person().clone();
        person.room.working_m = working_m;
        self.examinee = Examinee::new(person, Draws::new(1, 0));
    }

    /// The answer to what is presented; between procedures the first proposal.
    pub fn answers(&mut self, presentation: &Presentation, exam: &Exam) -> Answer {
        if let Question::Next(choices) = &presentation.question {
            let (procedure, eye) = choices[0];
            return Answer::Go { procedure, eye };
        }
        if presentation.procedure == Some(ProcedureName::Neutralisation) {
            return glasses_answer(self.needs, presentation);
        }
        let standing = Standing::of(presentation, exam);
        let answer = self.examinee.answer(presentation, &standing);
        answer.unwrap_or_else(|| panic!("nothing to say to {:?}", presentation.question))
    }
}

/// What an examiner sees who neutralises glasses of these powers, without a reading part, by hand.
pub fn glasses_answer(glasses: Eyes<Power>, presentation: &Presentation) -> Answer {
    let words = presentation.instruction.to_string();
    let eye = presentation.eye.unwrap_or(if words.contains("left") { Eye::Left } else { Eye::Right });
    let lens = glasses[eye];
    match &presentation.question {
        Question::YesOrNo if words.contains("scissor") && lens.astigmatism() > 0.05 => Answer::Yes,
        Question::YesOrNo => Answer::No,
        Question::ObliqueMeridian => Answer::Degrees((lens.minus_form().axis.round() as u16).max(1)),
        Question::LineMoves { held_d, along } => match lens.along(f64::from(along.degrees())) + held_d {
            left if left > 0.06 => Answer::Against { dull: false },
            left if left < -0.06 => Answer::With { dull: false },
            _ => Answer::Neither,
        },
        question => panic!("{question:?} is nothing to ask of glasses"),
    }
}
