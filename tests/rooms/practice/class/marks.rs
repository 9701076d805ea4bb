//! What a class comes to: the residual against an independent sum, the teacher's line, and the same on any number of threads.

use dioptray::exam::Prescription;
use dioptray::optics::{Eye, Power};
use dioptray::practice::class::HandIn;
use dioptray::practice::class::marks::{Marked, PassLine, Passed, marked};
use dioptray::practice::seat::Seat;
use nalgebra::Matrix2;
use rayon::prelude::*;

use super::{Failure, Tested, code, led, left_alone, morning};

const LINE: PassLine = PassLine { residual_d: 0.50, minutes: None };

fn of(hand_in: &HandIn) -> Result<Vec<Marked>, Failure> {
    marked(hand_in).map_err(|(station, error)| format!("station {station}: {error}").into())
}

/// A power as the matrix by which it bends light (Long 1976; Harris, *Optom Vis Sci* 1997;74:349).
fn matrix(power: Power) -> Matrix2<f64> {
    Matrix2::new(power.m + power.j0, power.j45, power.j45, power.m - power.j0)
}

#[test]
fn the_residual_is_the_most_that_is_left_in_any_meridian() -> Tested {
    let code = code(4, 2026)?;
    let exams = (1..=4).map(|station| led(code, station, morning(), false)).collect::<Result<Vec<_>, _>>()?;
    let hand_in = HandIn::collect("0.1.0", code, "Ana", exams.iter().map(|(kept, _)| kept.clone()));
    let marks = of(&hand_in)?;
    assert_eq!(marks.len(), 4);
    for (marked, (kept, exam)) in marks.iter().zip(&exams) {
        let person = Seat::coded(code, marked.station)?.person;
        let prescription = Prescription::of(exam.state(), 1);
        for eye in Eye::BOTH {
            let written = prescription.eye(eye).ok_or("not written")?.written.power();
            let left = matrix(written) - matrix(person.needs()[eye]);
            let most = left.symmetric_eigenvalues().amax();
            let residual = marked.residuals_d()[eye].ok_or("not written")?;
            assert!((residual - most).abs() < 1e-9, "station {} {eye}: {residual} is not {most}", marked.station);
        }
        let minutes = kept.steps.len() as f64 * 10.0 / 60.0;
        assert!((marked.feedback.cost.minutes.ok_or("no time")? - minutes).abs() < 1e-6);
        assert!(marked.feedback.cost.effort.presentations > 5 && marked.feedback.cost.effort.moves > 2);
    }
    Ok(())
}

#[test]
fn the_line_and_the_time_are_the_teachers() -> Tested {
    let code = code(3, 2026)?;
    let (first, _) = led(code, 1, morning(), false)?;
    let (given_up, _) = led(code, 2, morning(), true)?;
    let hand_in = HandIn::collect("0.1.0", code, "Ana", [first, given_up, left_alone(code, 3, morning())?]);
    let marks = of(&hand_in)?;
    let worst = marks[0].residuals_d().iter().filter_map(|(_, residual)| *residual).fold(0.0, f64::max);
    let minutes = marks[0].feedback.cost.minutes.ok_or("no time")?;
    let line = |residual_d: f64, minutes: Option<f64>| PassLine { residual_d, minutes };
    assert_eq!(marks[0].passed(line(worst, None)), Passed::Yes, "the line itself passes");
    assert_eq!(marks[0].passed(line(worst - 0.01, None)), Passed::Beyond);
    assert_eq!(marks[0].passed(line(worst, Some(minutes))), Passed::Yes);
    assert_eq!(marks[0].passed(line(worst, Some(minutes - 0.1))), Passed::TooLong);
    assert_eq!(marks[1].passed(line(5.0, None)), Passed::GaveUp, "whatever stood there then");
    assert_eq!(marks[2].passed(LINE), Passed::NotRefracted, "nothing was written, and that is no plano");
    assert!(marks[2].residuals_d().iter().all(|(_, residual)| residual.is_none()));
    Ok(())
}

/// What is computed does not depend on who computes it, nor on how many do so at once.
#[test]
fn on_any_number_of_threads_a_code_has_the_same_people_and_marks() -> Tested {
    let code = code(24, 77)?;
    let people = |threads: usize| -> Result<Vec<_>, Failure> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build()?;
        let seats: Result<Vec<_>, String> = pool.install(|| {
            (1..=24_u16)
                .into_par_iter()
                .map(|station| Seat::coded(code, station).map(|seat| seat.person).map_err(|error| error.to_string()))
                .collect()
        });
        Ok(seats?)
    };
    let one = people(1)?;
    assert_eq!(people(2)?, one);
    assert_eq!(people(7)?, one);
    let (kept, _) = led(code, 5, morning(), false)?;
    let hand_in = HandIn::collect("0.1.0", code, "Ana", [kept]);
    let marks: Vec<_> = (0..4).into_par_iter().map(|_| of(&hand_in).map_err(|error| error.to_string())).collect();
    for again in &marks {
        assert_eq!(again, &marks[0]);
    }
    Ok(())
}
