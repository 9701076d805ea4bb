//! Slips of an examiner, put into exams to see whether the guide notices them: the program believes one thing, and before
//! the eyes there is another.

use super::answers::Standing;
use super::draws::Draws;
use super::sight::{FAR_M, vergence_of_chart_d};
use crate::exam::{Answer, Exam, ProcedureName};
use crate::frame::fitted::power_of;
use crate::guide::{Presentation, Question};
use crate::kit::{Lens, Piece};
use crate::optics::listed::listed;
use crate::optics::{Acuity, Dioptres, Eye, Power};

listed! {
    /// What an examiner does wrongly.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Slip {
        /// A sphere of the other sign was put in.
        Sign,
        /// A lens was put before the other eye.
        WrongEye,
        /// A cylinder stands at right angles to its axis.
        AxisAcross,
        /// The working lens was left in after retinoscopy.
        WorkingLensLeft,
        /// Lines of a chart at 6 m are said while it hangs at 3 m.
        OtherDistance,
    }
}

/// The distance at which the chart really hangs when its lines are said for 6 m, in metres.
const OTHER_CHART_M: f64 = 3.0;

/// A slip comes within so many questions after it became possible.
const COMES_WITHIN: f64 = 25.0;

/// A slip that is made in an exam, and what it does from then on.
#[derive(Debug, Clone)]
pub struct Slipping {
    slip: Slip,
    /// Questions until it is made, once it can be.
    wait: usize,
    made: Option<Made>,
}

#[derive(Debug, Clone)]
enum Made {
    /// One lens stands wrongly for as long as it stands there.
    Lens {
        piece: Piece,
        eye: Eye,
        cell: u8,
    },
    WorkingLens {
        power: Power,
    },
    OtherDistance,
}

impl Slipping {
    /// One of the slips, at some moment.
    pub fn drawn(draws: &mut Draws, retinoscopy: bool) -> Self {
        let possible: Vec<Slip> =
            Slip::ALL.iter().copied().filter(|slip| retinoscopy || *slip != Slip::WorkingLensLeft).collect();
        let slip = possible[(draws.share() * possible.len() as f64) as usize % possible.len()];
        Self { slip, wait: draws.between(0.0, COMES_WITHIN) as usize, made: None }
    }

    /// Which it is.
    pub fn slip(&self) -> Slip {
        self.slip
    }

    /// By how much it changed the equivalent before the eye when it was made, in dioptres without a sign; `None` until then. A
    /// chart taken for one at 6 m: by what its distance adds.
    pub fn changes_m_d(&self) -> Option<f64> {
        Some(match self.made.as_ref()? {
            Made::Lens { piece, .. } => {
                let marked = piece.lens.mark().map_or(0.0, |mark| mark.dioptres().abs());
                match self.slip {
                    Slip::Sign => 2.0 * marked,
                    Slip::WrongEye => marked,
                    // the equivalent stays
                    Slip::AxisAcross | Slip::WorkingLensLeft | Slip::OtherDistance => 0.0,
                }
            }
            Made::WorkingLens { power } => power.m.abs(),
            Made::OtherDistance => vergence_of_chart_d(OTHER_CHART_M),
        })
    }

    /// Whether it was made by now.
    pub fn is_made(&self) -> bool {
        self.made.is_some()
    }

    /// What really stands before the eyes where the program believes this.
    pub fn really(&mut self, believed: Standing, presentation: &Presentation, exam: &Exam) -> Standing {
        if self.made.is_none() {
            self.is_made_now(presentation, exam);
        }
        let mut standing = believed;
        let mut add = |eye: Eye, power: Power| {
            for stands in [&mut standing.from, &mut standing.to, &mut standing.flipped] {
                stands[eye] += power;
            }
        };
        match &self.made {
            None | Some(Made::OtherDistance) => {}
            Some(Made::WorkingLens { power }) => Eye::BOTH.into_iter().for_each(|eye| add(eye, *power)),
            Some(Made::Lens { piece, eye, cell }) => {
                let there = exam.state().fitted.in_cell(*eye, *cell).filter(|lens| lens.stocked.piece == *piece);
                let Some(lens) = there else { return standing };
                let power = power_of(lens.stocked, lens.stocked.power(), lens.direction);
                match self.slip {
                    Slip::Sign => add(*eye, -power - power),
                    Slip::WrongEye => {
                        add(*eye, -power);
                        add(eye.other(), power);
                    }
                    // the equivalent stays, the cylinder turns
                    Slip::AxisAcross => {
                        let astigmatism = Power { m: 0.0, ..power };
                        add(*eye, -astigmatism - astigmatism);
                    }
                    Slip::WorkingLensLeft | Slip::OtherDistance => {}
                }
            }
        }
        standing
    }

    /// Makes the slip when its moment has come.
    fn is_made_now(&mut self, presentation: &Presentation, exam: &Exam) {
        let state = exam.state();
        let lens_with = |wanted: fn(&Lens) -> bool| {
            let eye = presentation.eye?;
            let lens = state
                .fitted
                .in_cells(eye)
                .find(|lens| wanted(&lens.stocked.piece.lens) && lens.stocked.power().0.abs() > 0.2)?;
            Some(Made::Lens { piece: lens.stocked.piece.clone(), eye, cell: lens.cell })
        };
        let possible = match self.slip {
            Slip::Sign | Slip::WrongEye => lens_with(Lens::is_sphere),
            Slip::AxisAcross => lens_with(Lens::is_cylinder),
            Slip::WorkingLensLeft => {
                let found = state.results.retinoscopy.right.is_some()
                    && presentation.procedure != Some(ProcedureName::Retinoscopy);
                let metres = state.person.working_metres.filter(|_| found);
                metres.map(|metres| Made::WorkingLens { power: Power::sphere(Dioptres(1.0 / metres)) })
            }
            Slip::OtherDistance => (presentation.question == Question::LineRead).then_some(Made::OtherDistance),
        };
        if possible.is_some() {
            match self.wait.checked_sub(1) {
                Some(wait) => self.wait = wait,
                None => self.made = possible,
            }
        }
    }

    /// What is entered when this was answered.
    pub fn heard(&self, answer: Answer) -> Answer {
        if let (Some(Made::OtherDistance), Answer::Read(Acuity::Line { mar, letters })) = (&self.made, answer) {
            // the line of a nearer chart is named as it would be at 6 m
            let mar = mar / (FAR_M / OTHER_CHART_M);
            return Answer::Read(Acuity::Line { mar, letters });
        }
        answer
    }
}
