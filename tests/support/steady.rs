//! A person with practice eyes in whom nothing is left to chance: sees by the written law and answers alike every time.

use dioptray::exam::{Answer, Complaint, Exam};
use dioptray::guide::{Presentation, Question};
use dioptray::optics::{Dioptres, Eyes, Power};
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

    /// The answer to what is presented; between procedures the first proposal.
    pub fn answers(&mut self, presentation: &Presentation, exam: &Exam) -> Answer {
        if let Question::Next(choices) = &presentation.question {
            let (procedure, eye) = choices[0];
            return Answer::Go { procedure, eye };
        }
        let standing = Standing::of(presentation, exam);
        let answer = self.examinee.answer(presentation, &standing);
        answer.unwrap_or_else(|| panic!("nothing to say to {:?}", presentation.question))
    }
}
