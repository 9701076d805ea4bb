//! With what to go on: the usual next procedure first, then others that make sense now. The examiner may choose any.

use super::balance::within_a_line;
use super::findings::Findings;
use crate::exam::{Complaint, Procedure, State};
use crate::kit::Lens;
use crate::optics::{Eye, Power};

/// From this age on the addition is looked for without being asked (common practice, no source).
const NEAR_FROM_YEARS: u8 = 40;

/// A cylinder weaker than this is none to refine.
const CYLINDER_FROM_D: f64 = 0.2;

/// One key each.
const MOST_CHOICES: usize = 9;

/// The choices, the usual one first, at most one for each key.
pub(super) fn next(findings: &Findings, base: &[Power; 2], state: &State) -> Vec<(Procedure, Option<Eye>)> {
    let mut choices = Vec::new();
    choices.extend(usual(findings, base, state));
    let eye = choices.first().and_then(|choice| choice.1).unwrap_or(Eye::Right);
    let of_eye = [
        Procedure::BestSphere,
        Procedure::OverMinusCheck,
        Procedure::Fan,
        Procedure::CrossCylinderSearch,
        Procedure::Slit,
        Procedure::FinalSphere,
    ];
    choices.push((Procedure::Retinoscopy, None));
    if findings.subjective.iter().any(Option::is_some) {
        choices.extend(of_eye.map(|procedure| (procedure, Some(eye))));
        choices.push((Procedure::Writing, None));
    } else {
        choices.extend([(Procedure::SetUp, None), (Procedure::FirstLens, Some(Eye::Right))]);
        choices.push((Procedure::FirstLens, Some(Eye::Left)));
    }
    let mut once: Vec<(Procedure, Option<Eye>)> = Vec::new();
    for choice in choices {
        if !once.contains(&choice) {
            once.push(choice);
        }
    }
    once.truncate(MOST_CHOICES);
    once
}

/// Whether everything that is usual was done and the prescription is written.
pub(super) fn is_complete(findings: &Findings, base: &[Power; 2], state: &State) -> bool {
    usual(findings, base, state).is_none()
}

/// The usual next procedure; `None` when the prescription is written.
fn usual(findings: &Findings, base: &[Power; 2], state: &State) -> Option<(Procedure, Option<Eye>)> {
    let done = |procedure| findings.done.contains(&(procedure, None));
    if !done(Procedure::SetUp) {
        return Some((Procedure::SetUp, None));
    }
    for eye in Eye::BOTH {
        if let Some(procedure) = usual_for_eye(findings, base[eye.index()], state, eye) {
            return Some((procedure, Some(eye)));
        }
    }
    if !done(Procedure::Balance) && within_a_line(findings.acuity) {
        return Some((Procedure::Balance, None));
    }
    let person = &state.person;
    let near =
        person.age_years.is_some_and(|age| age >= NEAR_FROM_YEARS) || person.complaint == Some(Complaint::NearOnly);
    if !done(Procedure::Near) && near {
        return Some((Procedure::Near, None));
    }
    (!findings.written).then_some((Procedure::Writing, None))
}

fn usual_for_eye(findings: &Findings, base: Power, state: &State, eye: Eye) -> Option<Procedure> {
    let times = |procedure| findings.times(procedure, eye);
    let has_cylinder = base.minus_form().cylinder < -CYLINDER_FROM_D;
    let cross_cylinder = state
        .fitted
        .stock
        .pieces()
        .iter()
        .any(|stocked| stocked.is_free() && matches!(stocked.piece.lens, Lens::CrossCylinder(_)));
    let looked_for =
        [Procedure::Fan, Procedure::CrossCylinderSearch, Procedure::Slit].into_iter().any(|p| times(p) > 0);
    for procedure in [Procedure::FirstLens, Procedure::BestSphere, Procedure::OverMinusCheck] {
        if times(procedure) == 0 {
            return Some(procedure);
        }
    }
    // A cylinder from retinoscopy or the old glasses is refined without being looked for again.
    let refinable = has_cylinder && cross_cylinder;
    if !looked_for && !refinable {
        return Some(if cross_cylinder { Procedure::CrossCylinderSearch } else { Procedure::Fan });
    }
    if refinable {
        if times(Procedure::CrossCylinderAxis) == 0 {
            return Some(Procedure::CrossCylinderAxis);
        }
        if times(Procedure::CrossCylinderPower) == 0 {
            return Some(Procedure::CrossCylinderPower);
        }
        // The axis of a weak cylinder is found coarsely: once its power is known it is found once more.
        let strong =
            super::cross_cylinder_axis::first_turn_deg(crate::optics::Dioptres(base.minus_form().cylinder)) < 9.0;
        if strong && times(Procedure::CrossCylinderAxis) == 1 && times(Procedure::CrossCylinderSearch) > 0 {
            return Some(Procedure::CrossCylinderAxis);
        }
    }
    if has_cylinder || times(Procedure::CrossCylinderPower) > 0 || times(Procedure::Slit) > 0 {
        if times(Procedure::FinalSphere) == 0 {
            return Some(Procedure::FinalSphere);
        }
        if times(Procedure::OverMinusCheck) == 1 {
            return Some(Procedure::OverMinusCheck);
        }
    }
    None
}
