//! Lessons: every bad file with its whole message and place, every shipped one read, and what each names is there.

use std::fs;
use std::path::{Path, PathBuf};

use dioptray::practice::drills::{Drill, Level, Skill};
use dioptray::practice::lessons::file::{LESSON_KEYS, STEP_KEYS};
use dioptray::practice::lessons::schema::{LessonFile, lesson_schema};
use dioptray::practice::lessons::shipped::{LESSONS, is_lesson_file, lessons};
use dioptray::practice::lessons::{Lesson, LessonEye, LessonStep, parse_lesson, read_lesson};

use crate::pictures::Album;

type Failure = Box<dyn std::error::Error>;
type Tested = Result<(), Failure>;

#[test]
fn every_bad_lesson_is_refused_with_its_message_and_place() -> Tested {
    let mut files: Vec<PathBuf> =
        fs::read_dir("tests/invalid")?.map(|entry| Ok(entry?.path())).collect::<std::io::Result<_>>()?;
    files.retain(|file| file.file_name().is_some_and(|name| name.to_string_lossy().starts_with("lesson-")));
    files.sort();
    let said = files.iter().map(|path| {
        let faults = read_lesson(path).err().ok_or_else(|| format!("{} was accepted", path.display()))?;
        for fault in &faults {
            assert!(fault.to_string().starts_with(&format!("{}:", path.display())), "{fault}");
        }
        Ok(format!("{faults}\n\n"))
    });
    let all: String = said.collect::<Result<_, String>>()?;
    Album::of("refused").text("practice_lessons_refused", &all);
    Ok(())
}

#[test]
fn every_shipped_lesson_is_read_and_embedded() -> Tested {
    let mut names: Vec<&str> = LESSONS.iter().map(|(name, _)| *name).collect();
    names.sort_unstable();
    let mut files: Vec<String> = fs::read_dir("kits/lessons")?
        .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
        .collect::<std::io::Result<_>>()?;
    files.sort();
    assert_eq!(names, files);
    for (name, text) in LESSONS {
        let path = Path::new("kits/lessons").join(name);
        assert!(is_lesson_file(&path));
        let lesson = read_lesson(&path)?;
        assert_eq!(lesson, parse_lesson(name, text)?);
        assert_eq!(format!("{}.yaml", lesson.name), *name, "a lesson is called as its file is");
        serde_yaml::from_str::<LessonFile>(text)?;
        assert!(text.starts_with("# An invented lesson"), "{name} says that it is invented");
        assert!(lesson.note.is_some_and(|note| note.len() > 60 && note.ends_with('.')), "{name}");
        let count = |is: fn(&LessonStep) -> bool| lesson.steps.iter().filter(|step| is(step)).count();
        assert!(count(|step| matches!(step, LessonStep::Say(_))) >= 3, "{name} says why");
        assert!(count(|step| matches!(step, LessonStep::Drill { .. })) >= 2, "{name} has drills");
        assert!(count(|step| matches!(step, LessonStep::Eye { .. })) >= 3, "{name} has eyes");
        assert_eq!(lesson.pass_d, Some(0.5));
    }
    assert_eq!(lessons()?.len(), 3);
    Ok(())
}

#[test]
fn a_case_file_is_not_taken_for_a_lesson() {
    assert!(!is_lesson_file(Path::new("kits/eyes/oblique.yaml")));
    assert!(!is_lesson_file(Path::new("kits/eyes/nobody-of-this-name.yaml")));
}

#[test]
fn a_lesson_is_the_order_that_it_declares() -> Tested {
    let text = "lesson: Everything\n\
                note: all keys\n\
                pass_d: 0,25\n\
                minutes: 12.5\n\
                steps:\n\
                \x20 - {say: \"Begin.\"}\n\
                \x20 - {drill: net}\n\
                \x20 - {drill: axis, level: 3, items: 4}\n\
                \x20 - {eye: oblique}\n\
                \x20 - {eye: mine/eye.yaml, minutes: 30 min}\n\
                \x20 - {drawn: 2}\n\
                \x20 - {drawn: 3, seed: 4294967295, minutes: 8}\n";
    let skill = |drill, level| Skill { drill, level };
    let drawn = |level, seed| LessonEye::Drawn { level, seed };
    let declared = Lesson {
        name: "Everything".to_owned(),
        note: Some("all keys".to_owned()),
        pass_d: Some(0.25),
        minutes: Some(12.5),
        steps: vec![
            LessonStep::Say("Begin.".to_owned()),
            LessonStep::Drill { skill: skill(Drill::Net, Level::One), items: 10 },
            LessonStep::Drill { skill: skill(Drill::Axis, Level::Three), items: 4 },
            LessonStep::Eye { who: LessonEye::Shipped("oblique"), minutes: None },
            LessonStep::Eye { who: LessonEye::File("mine/eye.yaml".into()), minutes: Some(30.0) },
            LessonStep::Eye { who: drawn(Level::Two, None), minutes: None },
            LessonStep::Eye { who: drawn(Level::Three, Some(u32::MAX)), minutes: Some(8.0) },
        ],
    };
    let lesson = parse_lesson("lesson.yaml", text)?;
    assert_eq!(lesson, declared);
    assert_eq!(lesson.files().collect::<Vec<_>>(), [Path::new("mine/eye.yaml")]);
    Ok(())
}

#[test]
fn the_schema_of_a_lesson_has_the_keys_and_words_that_the_door_accepts() {
    let schema = lesson_schema();
    let keys = |object: &serde_json::Value| -> Vec<String> {
        object["properties"].as_object().map_or_else(Vec::new, |keys| keys.keys().cloned().collect())
    };
    let sorted = |keys: &[&str]| {
        let mut keys: Vec<String> = keys.iter().map(ToString::to_string).collect();
        keys.sort();
        keys
    };
    assert_eq!(keys(&schema), sorted(&LESSON_KEYS));
    assert_eq!(keys(&schema["$defs"]["StepFile"]), sorted(&STEP_KEYS));
    let drills: Vec<&str> = Drill::ALL.iter().map(|drill| drill.name()).collect();
    assert_eq!(schema["$defs"]["StepFile"]["properties"]["drill"]["enum"], serde_json::json!(drills));
}
