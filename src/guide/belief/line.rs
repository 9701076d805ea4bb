//! The line that somebody is believed to read through lenses that are not the needed ones.

use super::people::{Beforehand, KINDS, People, SLIPS, log_mar};
use crate::optics::Power;

/// The line in logMAR that is believed of an eye whose best line is known, with so much missing before it: the mean of every way
/// in which people may see, each by how many are thought to be of it. A pupil is taken for a usual one. Without an age there is
/// none where the eye could accommodate.
///
/// Something nearer than far away adds its vergence to what is missing: 2.50 D at 40 cm.
///
/// ```
/// use dioptray::guide::believed_line;
/// use dioptray::optics::{Dioptres, Power};
///
/// // who reads 6/5 reads about 6/12 through a dioptre of fog, at any age
/// let fogged = believed_line(-0.08, Power::sphere(Dioptres(-1.0)), None).ok_or("none")?;
/// assert!((fogged - 0.30).abs() < 0.05);
/// assert_eq!(believed_line(0.0, Power::sphere(Dioptres(1.0)), None), None);
/// # Ok::<(), &str>(())
/// ```
pub fn believed_line(best_log_mar: f64, missing: Power, age_years: Option<u8>) -> Option<f64> {
    let accommodates = missing.m > 0.0;
    if accommodates && age_years.is_none() {
        return None;
    }
    // where plus is not missing nothing is accommodated, whatever the age
    let person = Beforehand { age_years: age_years.map_or(0.0, f32::from), under_drops: false, slips: SLIPS };
    let best_mar = [libm::pow(10.0, best_log_mar) as f32];
    let (missing_d, square_j) = ([missing.m as f32], [(missing.j0.powi(2) + missing.j45.powi(2)) as f32]);
    let (mut sum, mut of) = (0.0, 0.0);
    for (kind, share) in KINDS {
        let amplitude_d = [person.amplitude_d(kind.accommodation)];
        let people = People {
            missing_d: &missing_d,
            square_j: &square_j,
            best_mar: &best_mar,
            pupil_squared: &[1.0],
            amplitude_d: &amplitude_d,
        };
        let mut seen = [0.0];
        log_mar(kind, people, false, &mut seen);
        sum += f64::from(share) * f64::from(seen[0]);
        of += f64::from(share);
    }
    Some(sum / of)
}
