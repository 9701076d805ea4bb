//! A frame that a keeper makes of a template: nothing is guessed at, and nothing is taken that a frame file could not say.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::frame::shipped::{frame_template, frame_templates};
use dioptray::frame::{FrameDraft, FrameQuestion, parse_frame, write_frame};

fn draft(template: &str) -> FrameDraft {
    FrameDraft::of("Clinic", &frame_template(template).unwrap().unwrap()).unwrap()
}

/// Takes what the template has for every question that is still open.
fn as_shown(mut draft: FrameDraft) -> FrameDraft {
    while let Some(question) = draft.asks() {
        draft = draft.answer(question, &draft.now(question)).unwrap();
    }
    draft
}

fn refused(draft: &FrameDraft, question: FrameQuestion, text: &str) -> (String, Option<usize>) {
    let fault = draft.answer(question, text).unwrap_err();
    (fault.problem, fault.place)
}

#[test]
fn a_template_whose_answers_are_taken_as_shown_is_that_frame_under_another_name() {
    for name in frame_templates() {
        let template = frame_template(name).unwrap().unwrap();
        let made = as_shown(draft(name)).declared().unwrap();
        let joined = |frame: &dioptray::frame::DeclaredFrame| {
            frame.cell_numbers().map(|number| frame.turning_with(number)).collect::<Vec<_>>()
        };
        assert_eq!(joined(&made), joined(&template), "{name}");
        assert_eq!((made.gaps(), made.vertex, made.pd), (template.gaps(), template.vertex, template.pd), "{name}");
        assert_eq!(made.axis_marks_deg, template.axis_marks_deg, "{name}");
        assert_eq!(parse_frame("clinic.yaml", &write_frame(&made)).unwrap(), made, "{name}: its file is read as it is");
    }
}

#[test]
fn it_is_a_frame_only_once_everything_is_answered() {
    let mut draft = draft("four-cell");
    for question in FrameQuestion::ALL {
        assert_eq!((draft.asks(), draft.declared()), (Some(question), None));
        draft = draft.answer(question, &draft.now(question)).unwrap();
    }
    assert!(draft.declared().is_some());
}

#[test]
fn other_cells_have_gaps_and_turning_of_their_own() {
    let made = as_shown(draft("four-cell")).answer(FrameQuestion::Cells, "back, front").unwrap();
    assert_eq!((made.now(FrameQuestion::Gaps), made.now(FrameQuestion::Turning)), (String::new(), String::new()));
    assert_eq!((made.asks(), made.declared()), (Some(FrameQuestion::Gaps), None), "nobody guesses them");
    let made = made.answer(FrameQuestion::Gaps, "6,5 mm").unwrap_err();
    assert_eq!(made.place, Some(4), "a unit stands for a second gap, and is none");
    let made = as_shown(draft("four-cell")).answer(FrameQuestion::Cells, "back, front").unwrap();
    let made = made.answer(FrameQuestion::Gaps, "6,5").unwrap().answer(FrameQuestion::Turning, "2").unwrap();
    let frame = made.declared().unwrap();
    assert_eq!(frame.gaps().iter().map(|gap| gap.0).collect::<Vec<_>>(), [6.5]);
    assert_eq!(
        frame.cells.iter().map(|cell| (cell.name.as_str(), cell.turns)).collect::<Vec<_>>(),
        [("back", false), ("front", true)]
    );
    let single = as_shown(draft("four-cell")).answer(FrameQuestion::Cells, "only").unwrap();
    let single = single.answer(FrameQuestion::Gaps, "none").unwrap().answer(FrameQuestion::Turning, "1").unwrap();
    assert_eq!(single.declared().unwrap().cells.len(), 1);
}

#[test]
fn cells_that_turn_as_one_are_a_ring() {
    let made = as_shown(draft("four-cell")).answer(FrameQuestion::Turning, "4+3 1").unwrap().declared().unwrap();
    let with: Vec<Vec<u8>> = (1..=4).map(|number| made.turning_with(number)).collect();
    assert_eq!(with, [vec![1], vec![], vec![3, 4], vec![3, 4]]);
    let none = as_shown(draft("four-cell")).answer(FrameQuestion::Turning, "none").unwrap().declared().unwrap();
    assert!(none.cells.iter().all(|cell| !cell.turns));
}

#[test]
fn what_no_frame_file_could_say_is_refused_with_its_place() {
    let draft = draft("four-cell");
    for (question, text, problem, place) in [
        (FrameQuestion::Cells, "rear, front, rear", "a second cell has the name `rear`: each has its own", Some(12)),
        (FrameQuestion::Cells, "rear,, front", "a cell has no name: write it like rear, front", Some(5)),
        (FrameQuestion::Cells, "a,b,c,d,e,f,g,h,i", "this frame has 9 cells in front of one eye: at most 8", None),
        (
            FrameQuestion::Gaps,
            "3.5 3.5",
            "2 gaps are said: 4 cells have 3 between them, a space between two figures",
            None,
        ),
        (FrameQuestion::Gaps, "3.5 50 4", "gap 50 mm is outside 0 to 40 mm", Some(4)),
        (FrameQuestion::Turning, "3 5", "`5` is not a cell: they are 1 to 4, like 3 4, 3+4 or none", Some(2)),
        (FrameQuestion::Turning, "3+4 4", "cell 4 is said twice", Some(4)),
        (FrameQuestion::AxisMarks, "7", "marks 7° apart do not come out even at 180°", None),
        (FrameQuestion::Pd, "80 to 48", "the least pupillary distance 80 mm is not below the most, 48 mm", None),
        (FrameQuestion::Pd, "48 to 95", "pupillary distance 95 mm is outside 30 to 90 mm", Some(6)),
        (FrameQuestion::Pd, "48", "write the least and the most like 48 to 80, or none", None),
    ] {
        let (said, at) = refused(&draft, question, text);
        assert!(said.starts_with(problem), "{text}: {said}");
        assert_eq!(at, place, "{text}");
    }
    assert!(refused(&draft, FrameQuestion::Vertex, "about 12").0.contains("vertex distance is from 0 to 40 mm"));
    let long = "x".repeat(81);
    let template = frame_template("four-cell").unwrap().unwrap();
    assert!(FrameDraft::of(&long, &template).unwrap_err().problem.starts_with("`frame` is too long"));
}
