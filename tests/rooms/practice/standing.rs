//! What a practice eye sees is what stands before it, and what the guide says it shows is that too.

use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::guide::Show;
use dioptray::kit::shipped::demo_box;
use dioptray::kit::{Lens, LensLine, Measured, Piece, Stock};
use dioptray::optics::Eye;
use dioptray::practice::{Care, Evaluation, Law, Way};

type Failure = Box<dyn std::error::Error>;

/// The box that lacks lenses, with two pieces that are not what their marks say.
fn with_mismarked_pieces() -> Result<Stock, Failure> {
    let mut declared = demo_box()?;
    let weak: Vec<LensLine> = declared.lines.iter().filter(|line| line.lens.is_sphere()).take(12).cloned().collect();
    for line in weak {
        let Lens::Sphere(mark) = line.lens else { continue };
        let power = mark.dioptres() + 0.10;
        declared.measured.push(Measured { piece: Piece { lens: line.lens, number: 1 }, power, note: None });
    }
    Ok(Stock::of(&declared))
}

#[test]
fn what_is_said_to_be_shown_is_what_stands_there() -> Result<(), Failure> {
    let evaluation = Evaluation {
        fitted: FittedFrame::new(demo_frame()?, with_mismarked_pieces()?),
        eyes: 60,
        seed: 3,
        care: Care::Typical,
        law: Law::Written,
        way: Way { both: true, ..Way::default() },
        retest: false,
        slips: 0.0,
    };
    let (mut looks, mut flipped) = (0, 0);
    for number in 0..30 {
        evaluation.exam_of(number, &mut |asked| {
            let presentation = asked.presentation;
            if !presentation.question.is_about_what_is_seen() {
                return;
            }
            for eye in Eye::BOTH {
                let (said, stands) = (presentation.shown.to[eye], asked.standing.to[eye]);
                let held = matches!(presentation.show, Show::CrossCylinder { eye: of, .. } if of == eye);
                if held {
                    // the two positions lie on both sides of what stands in the cells
                    let second = asked.standing.flipped[eye];
                    let between = said.miss(stands).max(said.miss(second));
                    assert!(between > 0.2 && stands.miss(second) > 1.5 * between, "{presentation:?}");
                    flipped += 1;
                } else {
                    assert!(said.miss(stands) < 1e-9, "{stands:?} stands there: {presentation:?}");
                    looks += 1;
                }
            }
        })?;
    }
    assert!(looks > 1_000 && flipped > 100, "{looks} {flipped}");
    Ok(())
}
