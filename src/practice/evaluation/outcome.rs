//! What the exam of one eye came to, beside what it needs.

use crate::exam::{Exam, Prescription};
use crate::optics::{Eye, Eyes, Power, SpheroCylinder};
use crate::practice::effort::Effort;
use crate::practice::examination::{Examined, MadeSlip};
use crate::practice::off::{AXIS_FROM_D, Off, ROUNDING_D, between_axes_deg};
use crate::practice::people::{Person, print_log_mar};
use crate::practice::sight::{Condition, Look};

/// From this age on it is asked whether print is read with what was written, in years.
const NEAR_FROM_YEARS: u8 = 45;

/// Where print is to be read, in centimetres.
const NEAR_CM: std::ops::RangeInclusive<u8> = 33..=45;

/// Both meridians of retinoscopy count as right within this, in dioptres.
const RETINOSCOPY_WITHIN_D: f64 = 0.25;

/// The exam of one eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// The person's number under the seed.
    pub person: u64,
    /// Which eye.
    pub eye: Eye,
    /// The person's age in years.
    pub age_years: u8,
    /// What the eye needs.
    pub needs: Power,
    /// What was written for it; `None` when nothing was.
    pub written: Option<SpheroCylinder>,
    /// Whether the exam came to its end.
    pub finished: bool,
    /// What the exam took: with both eyes, that of both.
    pub effort: Effort,
    /// What a second exam of the same eye wrote.
    pub again: Option<SpheroCylinder>,
    /// Whether the balance moved its equivalent by more than a quarter.
    pub moved_by_balance: bool,
    /// Whether print is read with what was written; `None` for the young, and where one eye alone was examined.
    pub near_read: Option<bool>,
    /// What retinoscopy gave.
    pub retinoscopy: Option<Power>,
    /// Lenses that retinoscopy took.
    pub retinoscopy_lenses: usize,
    /// By how many of its own standard deviations the equivalent that a strategy believed in is off.
    pub off_by_sd: Option<f64>,
    /// The slip that was made, if any.
    pub slip: Option<MadeSlip>,
    /// Whether at the end something did not fit what was written; looked at only where slips are counted.
    pub doubted: bool,
}

impl Outcome {
    /// What the exam of a person's eye came to, the person of this number; `again` is a second exam of the same eyes.
    pub fn of(
        number: u64,
        person: &Person,
        eye: Eye,
        examined: &Examined,
        again: Option<&Examined>,
        both: bool,
    ) -> Self {
        let state = examined.exam.state();
        Self {
            person: number,
            eye,
            age_years: person.age_years,
            needs: person.eyes[eye].needs,
            written: examined.written(eye),
            finished: examined.finished,
            effort: examined.effort,
            again: again.and_then(|again| again.written(eye)),
            moved_by_balance: examined.balance_moved_d.is_some_and(|moved| moved[eye].abs() > 0.25 + ROUNDING_D),
            near_read: (both && person.age_years >= NEAR_FROM_YEARS)
                .then(|| examined.finished && reads_near(person, &examined.exam)),
            retinoscopy: state.results.retinoscopy[eye],
            retinoscopy_lenses: examined.retinoscopy_lenses,
            off_by_sd: examined.believed[eye]
                .map(|believed| (believed.mean.m - person.eyes[eye].needs.m) / believed.sphere_sd.max(ROUNDING_D)),
            slip: examined.slip,
            doubted: false,
        }
    }

    /// What was written beside what is needed.
    pub fn compared(&self) -> Option<Off> {
        self.written.map(|written| Off { needs: self.needs, written })
    }

    /// By how much what was written is off, in dioptres of the power vector.
    pub fn off(&self) -> Option<Power> {
        self.compared().map(|off| off.vector())
    }

    /// By how much the equivalent is off, in dioptres: below 0 too much minus.
    pub fn m_off_d(&self) -> Option<f64> {
        self.compared().map(|off| off.m_d())
    }

    /// The cylinder that would be left, in dioptres.
    pub fn cylinder_off_d(&self) -> Option<f64> {
        self.compared().map(|off| off.cylinder_d())
    }

    /// By how much the axis is off, in degrees; `None` where the eye needs less than half a dioptre of cylinder or got none.
    pub fn axis_off_deg(&self) -> Option<f64> {
        self.compared()?.axis_deg()
    }

    /// By how much the axes of two exams differ, in degrees; `None` where one of the cylinders is below half a dioptre.
    pub fn axis_between_exams_deg(&self) -> Option<f64> {
        let strong = |written: Option<SpheroCylinder>| written.filter(|written| written.cylinder <= -AXIS_FROM_D);
        Some(between_axes_deg(strong(self.again)?.axis, strong(self.written)?.axis))
    }

    /// Whether retinoscopy is right within a quarter in both principal meridians.
    pub fn retinoscopy_is_right(&self) -> bool {
        let axis = self.needs.minus_form().axis;
        self.retinoscopy.is_some_and(|found| {
            let off = found - self.needs;
            [axis, axis + 90.0]
                .into_iter()
                .all(|meridian| off.along(meridian).abs() <= RETINOSCOPY_WITHIN_D + ROUNDING_D)
        })
    }
}

/// Whether small print is read at all the usual distances, both eyes open, with what was written for both and the addition.
fn reads_near(person: &Person, exam: &Exam) -> bool {
    let prescription = Prescription::of(exam.state(), 1);
    let addition = |eye: Eye| Power::sphere(prescription.additions[eye].unwrap_or_default());
    let (Some(right), Some(left)) = (prescription.eye(Eye::Right), prescription.eye(Eye::Left)) else { return false };
    let glasses = Eyes::new(right.written.power() + addition(Eye::Right), left.written.power() + addition(Eye::Left));
    NEAR_CM.into_iter().all(|cm| {
        let metres = f64::from(cm) / 100.0;
        let seen = |eye: Eye| person.eyes[eye].log_mar(&Look::at_print(glasses[eye], metres), Condition::default());
        seen(Eye::Right).min(seen(Eye::Left)) <= print_log_mar(metres)
    })
}
