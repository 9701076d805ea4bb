//! How exams begin and end: the signs that are asked for, an eye that reads no letter, what nobody found, drops, and what comes
//! after writing.

use dioptray::exam::cautions::{Caution, called_for};
use dioptray::exam::doubts::Doubt;
use dioptray::exam::{
    Accepted, Answer, Complaint, Detail, Ending, Event, Exam, NearTask, Prescription, PresentGlasses, ProcedureName,
    RedFlag, Unrefracted,
};
use dioptray::export::form::Content;
use dioptray::export::{Record, RecordForm};
use dioptray::guide::{self, GuideError, Presentation, Question, Remark};
use dioptray::optics::{Acuity, CylinderForm, Eye, Eyes, Power};
use dioptray::practice::draws::Draws;
use dioptray::practice::{self, Examinee, Law, Standing, Traits};

use super::set::{Walk, outreach, outreach_lines, sphere};
use crate::export::exams::head;
use crate::steady::{Person, rx};

/// A steady person whose eyes read so much at best, and who answers some questions otherwise.
struct Somebody {
    examinee: Examinee,
    otherwise: fn(&Question) -> Option<Answer>,
}

/// An eye of this best log MAR reads no letter at any distance.
const BLIND: f64 = 3.0;

impl Somebody {
    fn new(needs: Eyes<Power>, age: u8, complaint: Complaint, best_log_mar: Eyes<f64>) -> Self {
        let mut person = practice::Person::new(needs, age, Traits::STEADY, Law::Written);
        person.complaint = complaint;
        for eye in Eye::BOTH {
            person.eyes[eye].best_log_mar = best_log_mar[eye];
        }
        Self { examinee: Examinee::new(person, Draws::new(1, 0)), otherwise: |_| None }
    }

    fn seeing_well(needs: Eyes<Power>, age: u8, complaint: Complaint) -> Self {
        Self::new(needs, age, complaint, Eyes::both(-0.08))
    }

    fn answers(&mut self, presentation: &Presentation, walk: &Walk) -> Option<Answer> {
        if let Some(answer) = (self.otherwise)(&presentation.question) {
            return Some(answer);
        }
        if let Question::Next(choices) = &presentation.question {
            let (procedure, eye) = choices[0];
            return Some(Answer::Go { procedure, eye });
        }
        let standing = Standing::of(presentation, &walk.exam);
        self.examinee.answer(presentation, &standing)
    }

    /// Leads an exam to what is written.
    fn led(&mut self, walk: &mut Walk) {
        while !walk.guide().findings().written {
            self.goes_on(walk);
        }
    }

    fn goes_on(&mut self, walk: &mut Walk) {
        let presentation = walk.present();
        match self.answers(&presentation, walk) {
            Some(answer) => walk.answer(answer),
            None => walk.take(guide::skip),
        }
        assert!(walk.asked.len() < 300, "the exam does not end:\n{}", walk.tail());
    }

    fn runs(&mut self, walk: &mut Walk) {
        while walk.guide().running().is_some() {
            self.goes_on(walk);
        }
    }
}

/// A box with spheres to 20, so that the strongest of the first letter can be made.
fn strong_box() -> Walk {
    let mut lines = outreach_lines();
    lines
        .extend([10.0, 12.0, 14.0, 16.0, 20.0].into_iter().flat_map(|power| [(sphere(power), 1), (sphere(-power), 1)]));
    Walk::new(super::set::exam(&lines))
}

fn everywhere(walk: &Walk) -> Vec<(RecordForm, String)> {
    let record = Record::of(walk.state(), head(CylinderForm::Minus, None).unwrap());
    let forms = RecordForm::ALL.iter().filter(|form| form.content() != Content::Binary);
    forms.map(|form| (*form, String::from_utf8(form.write(&record).unwrap()).unwrap())).collect()
}

fn procedures(walk: &Walk, eye: Eye) -> Vec<ProcedureName> {
    let asked = walk.asked.iter().filter(|(presentation, _)| presentation.eye == Some(eye));
    asked.filter_map(|(presentation, _)| presentation.procedure).collect()
}

#[test]
fn an_eye_that_reads_no_letter_whatever_is_shown_is_not_refracted() {
    for complaint in [Complaint::FarBlur, Complaint::BlurEverywhere] {
        let needs = Eyes::new(rx(-2.0, 0.0, 180.0), rx(-1.5, -0.5, 90.0));
        let mut somebody = Somebody::new(needs, 66, complaint, Eyes::new(BLIND, -0.08));
        let mut walk = strong_box();
        somebody.led(&mut walk);
        let state = walk.state();
        assert_eq!(state.results.refraction.right, None, "nothing is accepted for it\n{}", walk.tail());
        assert_eq!(state.results.unrefracted, Eyes::new(Some(Unrefracted::NotRefracted), None));
        let of_right = procedures(&walk, Eye::Right);
        let searched = of_right.iter().find(|procedure| {
            ![ProcedureName::SetUp, ProcedureName::FirstLetter, ProcedureName::Writing].contains(procedure)
        });
        assert_eq!(searched, None, "it gets no search");
        assert!(!walk.guide().findings().done.contains(&(ProcedureName::Balance, None)), "and no balance");
        // the other eye is refracted as if it were alone, and keeps what was found
        let prescription = Prescription::of(state, 1);
        let left = prescription.eye(Eye::Left).unwrap();
        assert!((left.written.power().m - needs.left.m).abs() <= 0.25, "{:?}", left.written);
        let cautions = called_for(state, &prescription);
        assert!(cautions.contains(&Caution::NoLetter { eye: Eye::Right }), "{cautions:?}");
        for (form, text) in everywhere(&walk) {
            assert!(text.contains("not refracted") || text.contains("not_refracted"), "{form}: {text}");
            assert!(!text.contains("plano") || form == RecordForm::Json, "{form}: {text}");
        }
    }
}

#[test]
fn a_balance_lens_is_written_where_the_examiner_says_so() {
    let needs = Eyes::both(rx(-2.0, 0.0, 180.0));
    let mut somebody = Somebody::new(needs, 30, Complaint::FarBlur, Eyes::new(-0.08, BLIND));
    somebody.otherwise = |question| (*question == Question::Unrefracted).then_some(Answer::Second);
    let mut walk = strong_box();
    somebody.led(&mut walk);
    assert_eq!(walk.state().results.unrefracted, Eyes::new(None, Some(Unrefracted::BalanceLens)));
    for (form, text) in everywhere(&walk) {
        let says = text.contains("balance lens") || text.contains("balance_lens") || text.contains("Balance lens");
        assert!(says, "{form}: {text}");
    }
    // a power that is found later takes its place
    let found = Event::Accepted(Accepted::Refraction(Eye::Left, Some(rx(-3.0, 0.0, 180.0))));
    walk.exam.apply(&[found]).unwrap();
    assert_eq!(walk.state().results.unrefracted.left, None);
}

#[test]
fn strong_eyes_that_read_nothing_unaided_are_found() {
    for (need, age) in [(-9.0, 30), (-15.0, 30), (-5.0, 30), (-20.0, 40), (10.0, 70), (13.0, 70)] {
        for complaint in [Complaint::FarBlur, Complaint::BlurEverywhere] {
            let needs = Eyes::new(rx(need, 0.0, 180.0), rx(-1.0, 0.0, 180.0));
            let mut somebody = Somebody::seeing_well(needs, age, complaint);
            let mut walk = strong_box();
            somebody.led(&mut walk);
            let found = walk.found(Eye::Right);
            assert_eq!(walk.state().results.unrefracted.right, None, "{need} is refracted\n{}", walk.tail());
            assert!((found.m - need).abs() <= 0.75, "{need}: {found:?}\n{}", walk.story());
            assert_eq!(walk.state().person.chart_metres, Some(6.0), "the chart hangs where it hung");
        }
    }
}

#[test]
fn an_eye_that_reads_only_near_is_not_walked_away_with() {
    // 1/60: the top line at 1 m, none at 6 m
    let needs = Eyes::new(rx(-3.0, 0.0, 180.0), rx(-1.0, 0.0, 180.0));
    let mut somebody = Somebody::new(needs, 50, Complaint::FarBlur, Eyes::new(1.70, -0.08));
    let mut walk = strong_box();
    somebody.led(&mut walk);
    let near = |remark: &Remark| matches!(remark, Remark::ReadsNearOnly { eye: Eye::Right, .. });
    assert!(walk.asked.iter().any(|(asked, _)| asked.remarks.iter().any(near)), "it is said\n{}", walk.tail());
    assert!(walk.state().notes.iter().any(|note| note.contains("chart at 1 m")), "{:?}", walk.state().notes);
    // what is found there by lines counts, and an eye so poor tells no finer
    let found = walk.state().results.refraction.right;
    assert!(found.is_none_or(|found| (found.m - needs.right.m).abs() <= 4.0), "{found:?}\n{}", walk.story());
    assert_eq!(walk.state().person.chart_metres, Some(6.0), "the chart hangs where it hung");
    let left = Prescription::of(walk.state(), 1).eye(Eye::Left).unwrap().written;
    assert!((left.power().m - needs.left.m).abs() <= 0.25, "{left:?}\n{}", walk.tail());
}

#[test]
fn what_nobody_refracted_is_written_so_and_never_plano() {
    let mut walk = Walk::new(outreach());
    let mut somebody = Somebody::seeing_well(Eyes::both(rx(-1.0, 0.0, 180.0)), 30, Complaint::FarBlur);
    walk.begin(ProcedureName::SetUp, None);
    somebody.runs(&mut walk);
    // a first lens that was passed over is no refraction
    walk.begin(ProcedureName::FirstLens, Some(Eye::Left));
    walk.take(guide::skip);
    walk.begin(ProcedureName::Writing, None);
    somebody.runs(&mut walk);
    assert!(walk.guide().findings().written);
    assert_eq!(walk.state().results.refraction, Eyes::both(None));
    for (form, text) in everywhere(&walk) {
        assert!(text.contains("not refracted") || text.contains("not_refracted"), "{form}: {text}");
    }
}

#[test]
fn the_signs_are_asked_once_first_and_said_again_at_the_end() {
    let mut walk = Walk::new(outreach());
    walk.begin(ProcedureName::SetUp, None);
    assert_eq!(walk.present().question, Question::RedFlags { named: Vec::new() });
    walk.answers(&[Answer::Flag(RedFlag::Flashes), Answer::Flag(RedFlag::Floaters)]);
    assert_eq!(walk.present().choices[0].answer, Answer::No, "one key for no more");
    walk.answer(Answer::No);
    let says = |walk: &Walk| walk.present().remarks.iter().any(|remark| matches!(remark, Remark::Refer(_)));
    assert!(says(&walk), "{:?}", walk.present().remarks);
    assert_eq!(walk.state().person.red_flags, Some(vec![RedFlag::Flashes, RedFlag::Floaters]));
    let mut somebody = Somebody::seeing_well(Eyes::both(rx(-1.0, 0.0, 180.0)), 30, Complaint::FarBlur);
    somebody.otherwise = |question| (*question == Question::PreferredEye).then_some(Answer::First);
    somebody.runs(&mut walk);
    walk.begin(ProcedureName::SetUp, None);
    assert!(walk.guide().running().is_none(), "nothing is asked twice");
    assert!(!walk.present().remarks.is_empty(), "and why is said");
    walk.begin(ProcedureName::Writing, None);
    assert!(says(&walk), "{:?}", walk.present().remarks);
    somebody.runs(&mut walk);
    let cautions = called_for(walk.state(), &Prescription::of(walk.state(), 1));
    assert!(cautions.contains(&Caution::RedFlag { flag: RedFlag::Floaters }), "{cautions:?}");
    for (form, text) in everywhere(&walk) {
        assert!(text.contains("flashes of light"), "{form}: {text}");
    }
}

#[test]
fn under_drops_the_wet_result_stands_beside_the_dry_and_takes_its_place_only_by_choice() {
    for takes in [false, true] {
        let needs = Eyes::both(rx(2.0, 0.0, 180.0));
        let mut walk = Walk::new(outreach());
        let dry = rx(1.0, 0.0, 180.0);
        let accepted = Eye::BOTH.map(|eye| Event::Accepted(Accepted::Refraction(eye, Some(dry))));
        walk.exam.apply(&accepted).unwrap();
        walk.detail(Detail::Drops(true));
        let mut somebody = Somebody::seeing_well(needs, 12, Complaint::NearOnly);
        if takes {
            somebody.otherwise = |question| (*question == Question::WetOrDry).then_some(Answer::Second);
        }
        somebody.led(&mut walk);
        let results = walk.state().results;
        assert!(results.wet.into_iter().all(|wet| wet.is_some()), "{results:?}");
        let written = results.refraction.right.unwrap();
        assert_eq!(written.miss(dry) < 1e-9, !takes, "{written:?}");
        for left_out in [ProcedureName::OverMinusCheck, ProcedureName::Near] {
            assert_eq!(walk.count_in(left_out), 0, "{left_out} reckons with accommodation");
        }
        let letters = walk.asked.iter().find(|(asked, _)| asked.question.is_about_letters() && asked.eye.is_some());
        assert!(letters.is_none(), "a further minus is no matter of blackness under drops: {letters:?}");
        for (form, text) in everywhere(&walk) {
            assert!(text.contains("nder drops"), "{form}: {text}");
        }
    }
}

#[test]
fn the_set_up_asks_for_the_glasses_the_near_task_and_the_preferred_eye() {
    let mut walk = Walk::new(outreach());
    walk.begin(ProcedureName::SetUp, None);
    let old = rx(-2.0, -0.5, 90.0).minus_form();
    let read = |denominator: f64| Answer::Read(Acuity::of_6_m(denominator));
    walk.answers(&[
        Answer::No,
        Answer::Years(50),
        Answer::Says(Complaint::NearOnly),
        Answer::Metres(6.0),
        Answer::Millimetres(31.0),
        Answer::Millimetres(31.0),
        Answer::Glasses(PresentGlasses::HereKnown),
        Answer::Power(old),
        Answer::Power(old),
        Answer::Dioptres(1.0),
        Answer::Task(NearTask::Screen),
        Answer::Second,
        read(24.0),
        read(9.0),
        read(24.0),
        read(9.0),
        read(7.5),
        read(9.0),
        read(6.0),
    ]);
    assert!(walk.guide().running().is_none(), "{:?}", walk.present());
    let person = &walk.state().person;
    assert_eq!(person.old_glasses, Eyes::both(Some(old)));
    assert_eq!((person.near_task, person.near_metres), (Some(NearTask::Screen), Some(0.60)));
    assert_eq!((person.dominant_eye, person.old_addition), (Some(Eye::Left), Some(1.0)));
    let record = Record::of(walk.state(), head(CylinderForm::Minus, None).unwrap());
    assert_eq!(record.left.with_old_glasses, Some(Acuity::of_6_m(9.0)));
    assert_eq!(record.both_with_old_glasses, Some(Acuity::of_6_m(6.0)));
}

#[test]
fn one_key_passes_over_the_history_and_a_young_person_is_not_asked_for_a_near_task() {
    let mut walk = Walk::new(outreach());
    walk.begin(ProcedureName::SetUp, None);
    walk.answers(&[Answer::No, Answer::Years(20), Answer::Says(Complaint::FarBlur), Answer::Metres(6.0)]);
    for _ in 0..2 {
        walk.take(guide::skip);
    }
    assert_eq!(walk.present().question, Question::PresentGlasses);
    walk.take(guide::skip);
    assert_eq!(walk.present().question, Question::PreferredEye);
    walk.take(guide::skip);
    assert_eq!(walk.present().question, Question::LineRead);
}

#[test]
fn after_writing_the_end_comes_first_and_another_look_is_written_again() {
    let mut walk = Walk::new(outreach());
    let mut somebody = Somebody::seeing_well(Eyes::both(rx(-1.0, 0.0, 180.0)), 30, Complaint::FarBlur);
    somebody.led(&mut walk);
    let choices: Vec<Answer> = walk.present().choices.iter().map(|choice| choice.answer).collect();
    assert_eq!(choices[..3], Ending::ALL.map(Answer::End));
    let refused = guide::answer(&walk.guide(), &walk.exam, Answer::End(Ending::Close)).unwrap_err();
    assert_eq!(refused, GuideError::NotAnAnswer, "closing is the session's");
    walk.begin(ProcedureName::FinalSphere, Some(Eye::Right));
    somebody.runs(&mut walk);
    let Question::Next(choices) = walk.present().question else { panic!("{:?}", walk.present().question) };
    assert_eq!(choices[0], (ProcedureName::Writing, None), "what was looked at again is written again");
}

#[test]
fn a_procedure_with_nothing_to_do_says_why() {
    for &procedure in ProcedureName::ALL {
        let mut walk = Walk::new(outreach());
        let mut somebody = Somebody::seeing_well(Eyes::both(rx(0.0, 0.0, 180.0)), 30, Complaint::Nothing);
        somebody.led(&mut walk);
        walk.begin(procedure, procedure.eye_of(Eye::Right));
        let says = walk.guide().running().is_some() || !walk.present().remarks.is_empty();
        assert!(says, "{procedure} ends at once without a word");
    }
}

/// What is doubted of what is on the record now.
fn doubts(exam: &Exam) -> Vec<Doubt> {
    let cautions = called_for(exam.state(), &Prescription::of(exam.state(), 1));
    cautions
        .into_iter()
        .filter_map(|caution| if let Caution::Doubt(doubt) = caution { Some(doubt) } else { None })
        .collect()
}

#[test]
fn an_eye_that_read_lines_through_lenses_is_not_left_without_a_power_in_silence() {
    let mut person = Person::new(rx(-2.25, 0.0, 180.0), rx(-2.0, 0.0, 180.0), 30, Complaint::FarBlur);
    let mut walk = Walk::new(outreach());
    for procedure in [ProcedureName::FirstLens, ProcedureName::BestSphere] {
        walk.begin(procedure, Some(Eye::Left));
        walk.run(&mut person);
    }
    for eye in Eye::BOTH {
        let unrefracted = Accepted::NotRefracted(eye, Some(Unrefracted::NotRefracted));
        walk.exam.apply(&[Event::Accepted(unrefracted)]).unwrap();
    }
    assert_eq!(
        doubts(&walk.exam),
        [Doubt::ReadBefore { eye: Eye::Left }],
        "nothing is said of an eye that read nothing"
    );
}

#[test]
fn what_is_written_is_held_against_retinoscopy_and_by_less_against_the_old_glasses() {
    let off_by = |written: f64, retinoscopy: Option<f64>, old_glasses: Option<f64>| {
        let mut exam = outreach();
        let mut events = vec![Event::Accepted(Accepted::Refraction(Eye::Right, Some(rx(written, 0.0, 180.0))))];
        let retinoscopy = retinoscopy.map(|sphere| rx(sphere, 0.0, 180.0));
        events.push(Event::Accepted(Accepted::Retinoscopy(Eye::Right, retinoscopy)));
        let old_glasses = old_glasses.map(|sphere| rx(sphere, 0.0, 180.0).minus_form());
        events.extend(old_glasses.map(|glasses| Event::Detail(Detail::OldGlasses(Eye::Right, glasses))));
        exam.apply(&events).unwrap();
        doubts(&exam).into_iter().find_map(|doubt| {
            if let Doubt::DoesNotFit { speaks_for_m, .. } = doubt { Some(speaks_for_m) } else { None }
        })
    };
    let speaks_for = off_by(-5.0, Some(-2.0), None).unwrap();
    assert!((speaks_for + 2.0).abs() <= 0.25, "{speaks_for}");
    assert_eq!(off_by(-3.0, Some(-2.0), None), None, "a dioptre is within what either may be off");
    assert_eq!(off_by(-5.0, None, Some(-2.0)), None, "present glasses alone may be somebody else's");
    assert!(off_by(-4.5, Some(-2.0), Some(-2.0)).is_some() && off_by(-4.5, Some(-2.0), Some(-4.5)).is_none());
}

#[test]
fn a_power_with_which_no_letter_is_read_at_the_end_is_not_written() {
    let mut walk = Walk::new(outreach());
    let tried = Eye::BOTH.map(|eye| Detail::OldGlasses(eye, rx(-2.0, 0.0, 180.0).minus_form()));
    for detail in tried {
        walk.detail(detail);
    }
    for eye in Eye::BOTH {
        walk.begin(ProcedureName::FirstLens, Some(eye));
        walk.answer(Answer::Second);
    }
    walk.begin(ProcedureName::Writing, None);
    while walk.guide().running().is_some() {
        let asked = walk.present();
        walk.answer(match (&asked.question, asked.eye) {
            (Question::LineRead, Some(Eye::Left)) => Answer::Read(Acuity::NoLetter),
            (Question::LineRead, _) => Answer::Read(Acuity::of_6_m(6.0)),
            (Question::Unrefracted, _) => Answer::First,
            _ => Answer::Done,
        });
    }
    let results = walk.state().results;
    assert!(results.refraction.right.is_some());
    assert_eq!((results.refraction.left, results.unrefracted.left), (None, Some(Unrefracted::NotRefracted)));
}
