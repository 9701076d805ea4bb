//! The vertex distance of the frame: asked where a strong power was found and nobody measured it, and once.

use dioptray::exam::{Answer, Detail, Event, ProcedureName};
use dioptray::frame::Move;
use dioptray::guide::{self, Question};
use dioptray::kit::Piece;
use dioptray::optics::notation::Style;
use dioptray::optics::{AcuityNotation, CylinderForm, Eye, Millimetres};

use super::set::{Walk, outreach};

fn put(walk: &mut Walk, eye: Eye, label: &str, cell: u8, direction: Option<u16>) {
    let piece: Piece = label.parse().unwrap();
    walk.exam.apply(&[Event::Moved(Move::Put { piece, eye, cell, direction })]).unwrap();
}

/// Lenses put in by hand before the right eye.
fn with(sphere: &str, cylinder: Option<&str>) -> Walk {
    let mut walk = Walk::new(outreach());
    put(&mut walk, Eye::Right, sphere, 1, None);
    if let Some(cylinder) = cylinder {
        put(&mut walk, Eye::Right, cylinder, 3, Some(180));
    }
    walk
}

/// Begins the writing and passes over what else is asked; whether the vertex distance is.
fn is_asked(walk: &mut Walk) -> bool {
    walk.begin(ProcedureName::Writing, None);
    while walk.present().question != Question::Ready {
        if walk.present().question == Question::FrameVertex {
            return true;
        }
        walk.take(guide::skip);
    }
    false
}

#[test]
fn it_is_asked_beyond_5_d_in_either_meridian() {
    let cases = [
        ("-5.00 sphere #1", None, false),
        ("-5.50 sphere #1", None, true),
        ("+5.50 sphere #1", None, true),
        ("-4.00 sphere #1", Some("-1.50 cylinder #1"), true),
        ("-3.50 sphere #1", Some("-1.25 cylinder #1"), false),
        // the sphere is beyond, and the cylinder takes the other meridian back
        ("+6.00 sphere #1", Some("-2.00 cylinder #1"), true),
    ];
    for (sphere, cylinder, asked) in cases {
        assert_eq!(is_asked(&mut with(sphere, cylinder)), asked, "{sphere} {cylinder:?}");
    }
}

/// −8.00: a millimetre costs 0.06 D (facts: 0.06 D at 8 D, calculated as F² / 1000).
#[test]
fn it_says_what_a_millimetre_costs_and_the_answer_is_where_the_frame_stands() {
    let mut walk = with("-8.00 sphere #1", None);
    assert!(is_asked(&mut walk));
    let presentation = walk.present();
    let why = presentation.why.write(Style::Ascii, CylinderForm::Minus, AcuityNotation::SixMetres);
    assert!(why.contains("-8.00") && why.contains("0.06 D"), "{why}");
    let before = walk.state().fitted.in_front_of(Eye::Right);
    walk.answer(Answer::Millimetres(14.0));
    assert_eq!(walk.state().person.measured_vertex, Some(Millimetres(14.0)));
    let after = walk.state().fitted.in_front_of(Eye::Right);
    assert!(after.net.miss(before.net) < 1e-12, "the net at cell 1 is what the lenses make, wherever they sit");
    // -8 / 1.112 at the cornea
    assert!((after.cornea.m + 7.194_245).abs() < 1e-5, "{:?}", after.cornea);
    assert!(!is_asked(&mut walk), "it is known");
}

#[test]
fn it_is_never_asked_twice_whatever_was_answered() {
    let mut skipped = with("-8.00 sphere #1", None);
    assert!(is_asked(&mut skipped));
    skipped.take(guide::skip);
    assert_eq!(skipped.present().question, Question::Ready, "the rest goes on");
    assert!(!is_asked(&mut skipped));
    let mut answered = with("-8.00 sphere #1", None);
    assert!(is_asked(&mut answered));
    answered.answer(Answer::No);
    assert_eq!(answered.state().person.measured_vertex, None);
    assert!(!is_asked(&mut answered));
}

#[test]
fn what_is_measured_is_not_asked() {
    let mut before = with("-8.00 sphere #1", None);
    // as a day says it, or the details
    before.detail(Detail::FrameVertex(Millimetres(13.0)));
    assert!(!is_asked(&mut before));
    let mut meanwhile = with("-8.00 sphere #1", None);
    assert!(is_asked(&mut meanwhile));
    meanwhile.detail(Detail::FrameVertex(Millimetres(13.0)));
    assert_eq!(meanwhile.present().question, Question::Ready, "what is known now is not asked on");
}
