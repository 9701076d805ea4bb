//! The named cases: every bad file with its whole message and place, every shipped one read and led to the end.

use std::fs;
use std::path::{Path, PathBuf};

use dioptray::exam::cautions::{Caution, NoGain, called_for};
use dioptray::exam::{Answer, Complaint, Prescription, Through};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::guide::{Question, Remark};
use dioptray::kit::Stock;
use dioptray::kit::shipped::full_box;
use dioptray::optics::notation::parse_prescription;
use dioptray::optics::{Acuity, Eye, Eyes, Power};
use dioptray::practice::cases::file::{CASE_KEYS, COMPLAINTS, EYE_KEYS, HABITS, PD_KEYS, care_words, law_words};
use dioptray::practice::cases::parse_case;
use dioptray::practice::cases::schema::{CaseFile, case_schema};
use dioptray::practice::cases::shipped::{CASES, cases};
use dioptray::practice::examination::LeadError;
use dioptray::practice::people::Room;
use dioptray::practice::sight::PracticeEye;
use dioptray::practice::{Case, Examined, Habit, Law, Person, Traits, Way, examine, read_case};
use proptest::prelude::*;

use crate::pictures::Album;

type Failure = Box<dyn std::error::Error>;
type Outcome = Result<(), Failure>;

#[test]
fn every_bad_file_is_refused_with_its_message_and_place() -> Outcome {
    let mut files: Vec<PathBuf> =
        fs::read_dir("tests/invalid")?.map(|entry| Ok(entry?.path())).collect::<std::io::Result<_>>()?;
    files.retain(|file| file.file_name().is_some_and(|name| name.to_string_lossy().starts_with("eye-")));
    files.sort();
    let said = files.iter().map(|path| {
        let faults = read_case(path).err().ok_or_else(|| format!("{} was accepted", path.display()))?;
        for fault in &faults {
            assert!(fault.to_string().starts_with(&format!("{}:", path.display())), "{fault}");
        }
        Ok(format!("{faults}\n\n"))
    });
    let all: String = said.collect::<Result<_, String>>()?;
    Album::of("refused").text("practice_cases_refused", &all);
    Ok(())
}

#[test]
fn every_shipped_case_is_read_and_embedded() -> Outcome {
    let mut names: Vec<&str> = CASES.iter().map(|(name, _)| *name).collect();
    names.sort_unstable();
    let mut files: Vec<String> = fs::read_dir("kits/eyes")?
        .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
        .collect::<std::io::Result<_>>()?;
    files.sort();
    assert_eq!(names, files);
    for (name, text) in CASES {
        let case = read_case(&Path::new("kits/eyes").join(name))?;
        assert_eq!(case, parse_case(name, text)?);
        assert_eq!(format!("{}.yaml", case.name), *name, "a case is called as its file is");
        serde_yaml::from_str::<CaseFile>(text)?;
        assert!(text.starts_with("# An invented case"), "{name} says that it is invented");
        let note = case.note.ok_or_else(|| format!("{name} does not say what it teaches"))?;
        assert!(note.len() > 60 && note.ends_with('.'), "{name}: {note}");
    }
    Ok(())
}

fn rx(text: &str) -> Result<Power, Failure> {
    Ok(parse_prescription(text)?.power())
}

#[test]
fn a_case_is_the_person_that_it_declares() -> Outcome {
    let text = "case: Everything\n\
                note: all keys\n\
                age: 34\n\
                right: {needs: \"\u{2212}4,25 / \u{2212}0,75 x 180\", best: 6/12}\n\
                left: {needs: plano/+1.00x45}\n\
                complaint: everywhere\n\
                care: vague\n\
                law: runs\n\
                habit: always better\n\
                reading_letters: 4\n\
                tone_d: 0.75\n\
                pd_mm: {right: 30, left: 32.5 mm}\n\
                frame_pd_mm: {right: 34, left: 33}\n\
                chart_m: 3\n\
                near_m: 0.33\n\
                working_m: 0.5\n";
    let Case { name, note, person } = parse_case("case.yaml", text)?;
    assert_eq!((name.as_str(), note.as_deref()), ("Everything", Some("all keys")));
    let traits = Traits { comparison_log_mar: 0.06, reading_log_mar: 0.08, slips: 0.03, ..Traits::TYPICAL };
    let mut declared = Person::new(Eyes::new(rx("-4.25/-0.75x180")?, rx("plano/+1.00x45")?), 34, traits, Law::Runs);
    declared.eyes.right.best_log_mar = 2f64.log10();
    declared.complaint = Complaint::BlurEverywhere;
    declared.habit = Habit::AlwaysBetter;
    declared.tone_d = 0.75;
    declared.eye_pd_mm = Eyes::new(30.0, 32.5);
    declared.frame_pd_mm = Eyes::new(Some(34.0), Some(33.0));
    declared.room = Room { chart_m: 3.0, near_m: 0.33, working_m: 0.5 };
    assert_eq!(person, declared);

    let least = parse_case("case.yaml", "case: Least\nage: 20\nright: {needs: -2}\nleft: {needs: +1.00 -0.50x90}\n")?;
    let needs = Eyes::new(rx("-2")?, rx("+1.00/-0.50x90")?);
    assert_eq!(least.person, Person::new(needs, 20, Traits::TYPICAL, Law::Written));
    Ok(())
}

#[test]
fn a_complaint_that_is_not_said_follows_from_what_the_eyes_see() -> Outcome {
    let of = |best: &str, more: &str| {
        let eye = format!("{{needs: plano, best: {best}}}");
        let text = format!("case: A\nage: 20\nright: {eye}\nleft: {eye}\n{more}");
        parse_case("case.yaml", &text).map(|case| case.person.complaint)
    };
    assert_eq!(of("6/5", "")?, Complaint::Nothing);
    assert_eq!(of("6/12", "")?, Complaint::FarBlur, "it follows from the best acuity of this eye");
    assert_eq!(of("6/12", "complaint: nothing\n")?, Complaint::Nothing);
    Ok(())
}

#[test]
fn the_schema_has_the_keys_and_words_that_the_door_accepts() {
    let schema = case_schema();
    let keys = |object: &serde_json::Value| -> Vec<String> {
        object["properties"].as_object().map_or_else(Vec::new, |keys| keys.keys().cloned().collect())
    };
    let sorted = |keys: &[&str]| {
        let mut keys: Vec<String> = keys.iter().map(ToString::to_string).collect();
        keys.sort();
        keys
    };
    assert_eq!(keys(&schema), sorted(&CASE_KEYS));
    assert_eq!(keys(&schema["$defs"]["EyeFile"]), sorted(&EYE_KEYS));
    assert_eq!(keys(&schema["$defs"]["PdsFile"]), sorted(&PD_KEYS));
    let words = |key: &str| schema["properties"][key]["enum"].clone();
    assert_eq!(words("complaint"), serde_json::json!(COMPLAINTS.map(|(word, _)| word)));
    assert_eq!(words("habit"), serde_json::json!(HABITS.map(|(word, _)| word)));
    let named = |words: Vec<&str>| serde_json::json!(words);
    assert_eq!(words("care"), named(care_words().iter().map(|(word, _)| *word).collect()));
    assert_eq!(words("law"), named(law_words().iter().map(|(word, _)| *word).collect()));
    assert_eq!(care_words().len(), 3, "a case is one person, so not the care by which each differs");
}

/// One exam of both eyes of a case, with everything that was asked and answered.
struct Led {
    person: Person,
    examined: Examined,
    asked: Vec<(Question, Option<Answer>, Vec<Remark>)>,
}

impl Led {
    fn by_seed(case: &Case, seed: u64) -> Result<Self, Failure> {
        let fitted = FittedFrame::new(demo_frame()?, Stock::of(&full_box()?));
        let mut asked = Vec::new();
        let way = Way { both: true, ..Way::default() };
        let examined = examine(&fitted, case.examinee(seed), way, None, &mut |one| {
            let presentation = one.presentation;
            asked.push((presentation.question.clone(), one.answer, presentation.remarks.clone()));
        });
        let examined = examined.map_err(|error: LeadError| format!("{}: {error}", case.name))?;
        Ok(Self { person: case.person.clone(), examined, asked })
    }

    /// The shipped case of this name, its person seeing and answering without any chance.
    fn steadily(name: &str) -> Result<Self, Failure> {
        let mut case = cases()?.into_iter().find(|case| case.name == name).ok_or_else(|| format!("no {name}"))?;
        case.person.traits = Traits::STEADY;
        let led = Self::by_seed(&case, 1)?;
        assert!(led.examined.finished, "{name}");
        Ok(led)
    }

    fn prescription(&self) -> Prescription {
        Prescription::of(self.examined.exam.state(), 1)
    }

    fn cautions(&self) -> Vec<Caution> {
        called_for(self.examined.exam.state(), &self.prescription())
    }

    fn unaided(&self, eye: Eye) -> Result<Acuity, Failure> {
        Ok(self.examined.exam.state().last_read(eye, Through::Unaided).ok_or("no unaided acuity")?)
    }

    /// What is written less what is needed.
    fn off(&self, eye: Eye) -> Result<Power, Failure> {
        let written = self.examined.written(eye).ok_or("nothing is written")?;
        Ok(written.power() - self.person.eyes[eye].needs)
    }

    /// Every acuity that was read with one eye, through whatever.
    fn read_with(&self, eye: Eye) -> Vec<Acuity> {
        let state = self.examined.exam.state();
        let noted = state.acuities.iter().filter(|note| note.eye == Some(eye)).map(|note| note.acuity);
        noted.chain(state.readings.iter().filter(|read| read.eye == Some(eye)).map(|read| read.acuity)).collect()
    }

    fn remarks(&self) -> impl Iterator<Item = &Remark> {
        self.asked.iter().flat_map(|(_, _, remarks)| remarks)
    }
}

#[test]
fn the_guide_leads_every_shipped_case_to_a_prescription() -> Outcome {
    let cases = cases()?;
    assert!(cases.len() >= 15);
    for case in &cases {
        for seed in 1..=3 {
            let led = Led::by_seed(case, seed)?;
            assert!(led.examined.finished, "{} with seed {seed}", case.name);
            for eye in Eye::BOTH {
                assert!(led.examined.written(eye).is_some(), "{}, {eye} eye", case.name);
            }
        }
    }
    Ok(())
}

#[test]
fn the_same_seed_gives_the_same_exam_and_another_another() -> Outcome {
    let case = cases()?.into_iter().find(|case| case.name == "haze").ok_or("no haze")?;
    let answers = |seed| {
        Led::by_seed(&case, seed).map(|led| led.asked.into_iter().map(|(_, answer, _)| answer).collect::<Vec<_>>())
    };
    assert_eq!(answers(1)?, answers(1)?);
    assert_ne!(answers(1)?, answers(2)?);
    Ok(())
}

#[test]
fn an_amblyope_never_reads_well_and_is_to_be_referred() -> Outcome {
    let led = Led::steadily("amblyope")?;
    let best = 5f64.log10();
    let read = led.read_with(Eye::Left);
    assert!(read.len() >= 3);
    for acuity in read {
        assert!(acuity.log_mar().is_none_or(|read| read > best - 0.011), "{acuity:?} is better than 6/30");
    }
    let cautions = led.cautions();
    let no_pinhole = Caution::PinholeDoesNotImprove { eye: Eye::Left, why: NoGain::Unexplained };
    assert!(cautions.contains(&no_pinhole), "{cautions:?}");
    assert!(cautions.contains(&Caution::DoesNotReach6Over9 { eye: Eye::Left }));
    assert!(!cautions.contains(&Caution::DoesNotReach6Over9 { eye: Eye::Right }));
    assert!(led.read_with(Eye::Right).iter().any(|acuity| acuity.log_mar().is_some_and(|read| read < 0.0)));
    Ok(())
}

#[test]
fn haze_keeps_both_eyes_from_6_9_and_a_pinhole_does_not_bring_them_there() -> Outcome {
    let led = Led::steadily("haze")?;
    for eye in Eye::BOTH {
        assert!(led.cautions().contains(&Caution::DoesNotReach6Over9 { eye }));
        let pinhole = led.examined.exam.state().last_read(eye, Through::Pinhole).and_then(Acuity::log_mar);
        assert!(pinhole.is_some_and(|read| read > 1.5f64.log10()), "{eye} eye");
    }
    Ok(())
}

#[test]
fn the_young_hyperope_hides_plus() -> Outcome {
    let led = Led::steadily("latent-hyperope")?;
    for eye in Eye::BOTH {
        assert!(led.unaided(eye)?.log_mar().is_some_and(|read| read <= 0.03), "{eye} eye reads about 6/6 unaided");
        assert!(led.off(eye)?.m <= -0.25, "{eye} eye");
    }
    assert!(led.cautions().contains(&Caution::Child));
    Ok(())
}

#[test]
fn the_presbyope_is_given_an_addition() -> Outcome {
    let led = Led::steadily("presbyope")?;
    assert_eq!(led.person.complaint, Complaint::NearOnly);
    let addition = led.prescription().addition().ok_or("no addition")?;
    assert!((1.0..=2.5).contains(&addition.0), "{addition:?}");
    Ok(())
}

#[test]
fn what_a_near_chart_adds_is_taken_off() -> Outcome {
    let led = Led::steadily("near-chart")?;
    let taken_off = led.examined.exam.state().results.chart_allowance.ok_or("nothing was taken off")?;
    assert!((taken_off - 1.0 / 6.0).abs() < 1e-9, "1/3 - 1/6, not {taken_off}");
    for eye in Eye::BOTH {
        assert!(led.off(eye)?.m.abs() <= 0.25, "{eye} eye");
    }
    assert!(led.remarks().any(|remark| matches!(remark, Remark::NearChart { metres, .. } if *metres == 3.0)));
    Ok(())
}

#[test]
fn the_guide_says_that_the_frame_is_off_centre() -> Outcome {
    let led = Led::steadily("frame-off-centre")?;
    let off =
        |eye: Eye| led.remarks().filter(move |remark| matches!(remark, Remark::FramePd { eye: of, .. } if *of == eye));
    assert!(off(Eye::Right).all(|remark| matches!(remark, Remark::FramePd { off_mm, .. } if *off_mm == 4.0)));
    assert_eq!((off(Eye::Right).count() > 0, off(Eye::Left).count()), (true, 0));
    Ok(())
}

#[test]
fn who_always_says_better_says_it_to_every_comparison() -> Outcome {
    let led = Led::steadily("always-better")?;
    let compared: Vec<Option<Answer>> = led
        .asked
        .iter()
        .filter(|(question, ..)| matches!(question, Question::ClearerWith { .. } | Question::MoreLetters { .. }))
        .map(|(_, answer, _)| *answer)
        .collect();
    assert!(compared.len() > 5);
    assert!(compared.iter().all(|answer| matches!(answer, Some(Answer::Clearer | Answer::Yes))), "{compared:?}");
    Ok(())
}

#[test]
fn who_tires_reads_worse_at_the_end_than_somebody_who_does_not() -> Outcome {
    let mut case = cases()?.into_iter().find(|case| case.name == "tired").ok_or("no tired")?;
    assert_eq!(case.person.law, Law::Tired);
    case.person.traits = Traits::STEADY;
    let best_read = |case: &Case| -> Result<f64, Failure> {
        let state = Led::by_seed(case, 1)?.examined.exam.state().clone();
        let read = state.readings.iter().rev().find_map(|read| read.acuity.log_mar());
        Ok(read.ok_or("nothing was read")?)
    };
    let tired = best_read(&case)?;
    case.person.law = Law::Written;
    case.person.eyes = case.person.eyes.map(|eye| PracticeEye { law: Law::Written, ..eye });
    assert!(tired > best_read(&case)?, "{tired}");
    Ok(())
}

#[test]
fn the_high_myope_reads_no_letter_without_lenses() -> Outcome {
    let led = Led::steadily("high-myope")?;
    for eye in Eye::BOTH {
        assert_eq!(led.unaided(eye)?, Acuity::NoLetter);
        let with_lenses = led.prescription().eye(eye).and_then(|of_eye| of_eye.acuity).and_then(Acuity::log_mar);
        assert!(with_lenses.is_some_and(|read| read <= 0.1), "{eye} eye: {with_lenses:?}");
    }
    Ok(())
}

#[test]
fn unequal_eyes_are_3_d_apart_and_said_to_differ() -> Outcome {
    let led = Led::steadily("unequal-eyes")?;
    let needs = led.person.needs();
    assert_eq!((needs.right.m - needs.left.m).abs(), 3.0);
    assert!(
        led.cautions().iter().any(|caution| matches!(caution, Caution::Anisometropia { dioptres } if *dioptres >= 2.0))
    );
    Ok(())
}

#[test]
fn the_cylinders_of_the_cases_lie_as_their_names_say() -> Outcome {
    let cases = cases()?;
    let needs = |name: &str| {
        let case = cases.iter().find(|case| case.name == name);
        case.map(|case| case.person.needs().map(Power::minus_form)).ok_or_else(|| format!("no {name}"))
    };
    for of_eye in needs("with-the-rule")? {
        assert!(of_eye.axis >= 151.0 || of_eye.axis <= 30.0, "{of_eye:?}");
    }
    for of_eye in needs("against-the-rule")? {
        assert!((61.0..=120.0).contains(&of_eye.axis), "{of_eye:?}");
    }
    let oblique = needs("oblique")?;
    assert!((oblique.right.axis + oblique.left.axis - 180.0).abs() < 1e-9, "mirrored");
    for of_eye in oblique {
        assert!((of_eye.cylinder + 3.0).abs() < 1e-9, "{of_eye:?}");
        assert!((31.0..=60.0).contains(&of_eye.axis) || (121.0..=150.0).contains(&of_eye.axis), "{of_eye:?}");
    }
    for of_eye in needs("mixed-astigmatism")? {
        assert!(of_eye.sphere > 0.0 && of_eye.sphere + of_eye.cylinder < 0.0, "{of_eye:?}");
    }
    Ok(())
}

#[test]
fn a_steady_simple_myope_is_refracted_within_a_quarter() -> Outcome {
    let led = Led::steadily("simple-myope")?;
    for eye in Eye::BOTH {
        assert!(led.off(eye)?.blur_strength() <= 0.25 + 1e-9, "{eye} eye: {:?}", led.off(eye)?);
    }
    Ok(())
}

#[test]
fn where_print_is_held_is_known_to_the_guide() -> Outcome {
    let mut case = cases()?.into_iter().find(|case| case.name == "presbyope").ok_or("no presbyope")?;
    case.person.traits = Traits::STEADY;
    let addition = |case: &Case| -> Result<f64, Failure> {
        Ok(Led::by_seed(case, 1)?.prescription().addition().ok_or("no addition")?.0)
    };
    let usual = addition(&case)?;
    case.person.room.near_m = 0.25;
    assert!(addition(&case)? >= usual + 0.75, "{} is no more than {usual}", addition(&case)?);
    Ok(())
}

/// Text that looks somewhat like a case file.
fn any_text() -> impl Strategy<Value = String> {
    let word = prop_oneof![
        Just("case: A\n"),
        Just("age: 30\n"),
        Just("right: "),
        Just("left: "),
        Just("{needs: "),
        Just("-1.00/-0.50x90"),
        Just("\"-1.00\""),
        Just("best: 6/6"),
        Just("}"),
        Just(", "),
        Just("\n"),
        Just("law: tone\n"),
        Just("tone_d: 1\n"),
        Just("care: varied\n"),
        Just("pd_mm: {right: 31}\n"),
        Just("|\n"),
        Just("é"),
        Just("\u{2212}"),
        Just("\0"),
    ];
    prop_oneof![prop::collection::vec(word, 0..30).prop_map(|words| words.concat()), any::<String>()]
}

proptest! {
    #[test]
    fn no_text_brings_the_door_down(text in any_text()) {
        if let Err(faults) = parse_case("f", &text) {
            for fault in &faults {
                let line = fault.to_string();
                let lines = text.split(['\n', '\r']).count() + 1;
                prop_assert!(fault.at.line >= 1 && fault.at.line <= lines && fault.at.column >= 1, "{line}");
                prop_assert!(!line.contains(char::is_control), "{line:?}");
            }
        }
    }

    #[test]
    fn a_shipped_case_cut_anywhere_is_read_or_refused(cut in 0usize..900, which in 0usize..CASES.len()) {
        let text: String = CASES[which].1.chars().take(cut).collect();
        if let Ok(case) = parse_case("f", &text) {
            prop_assert!(!case.name.is_empty());
        }
    }
}
