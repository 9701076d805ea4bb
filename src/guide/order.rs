//! With what to go on: the usual next procedure first, then others that make sense now. The examiner may choose any.

use super::balance::within_a_line;
use super::findings::Findings;
use crate::exam::{Complaint, ProcedureName, State};
use crate::kit::Lens;
use crate::optics::{Eye, Eyes, Power};

/// From this age on the addition is looked for without being asked (common practice, no source).
const NEAR_FROM_YEARS: u8 = 40;

/// A cylinder weaker than this is none to refine.
const CYLINDER_FROM_D: f64 = 0.2;

/// One key each.
const MOST_CHOICES: usize = 9;

/// The choices, the usual one first, at most one for each key.
pub(super) fn next(findings: &Findings, base: &Eyes<Power>, state: &State) -> Vec<(ProcedureName, Option<Eye>)> {
    let mut choices = Vec::new();
    choices.extend(usual(findings, base, state));
    let eye = choices.first().and_then(|choice| choice.1).unwrap_or(Eye::Right);
    let of_eye = [
        ProcedureName::BestSphere,
        ProcedureName::OverMinusCheck,
        ProcedureName::Fan,
        ProcedureName::CrossCylinderSearch,
        ProcedureName::Slit,
        ProcedureName::FinalSphere,
    ];
    choices.push((ProcedureName::Retinoscopy, None));
    if findings.subjective.as_ref().into_iter().any(Option::is_some) {
        choices.extend(of_eye.map(|procedure| (procedure, Some(eye))));
        choices.push((ProcedureName::Writing, None));
    } else {
        choices.extend([(ProcedureName::SetUp, None), (ProcedureName::FirstLens, Some(Eye::Right))]);
        choices.push((ProcedureName::FirstLens, Some(Eye::Left)));
    }
    let mut once: Vec<(ProcedureName, Option<Eye>)> = Vec::new();
    for choice in choices {
        if !once.contains(&choice) {
            once.push(choice);
        }
    }
    once.truncate(MOST_CHOICES);
    once
}

/// Whether everything that is usual was done and the prescription is written.
pub(super) fn is_complete(findings: &Findings, base: &Eyes<Power>, state: &State) -> bool {
    usual(findings, base, state).is_none()
}

/// The usual next procedure; `None` when the prescription is written.
fn usual(findings: &Findings, base: &Eyes<Power>, state: &State) -> Option<(ProcedureName, Option<Eye>)> {
    let done = |procedure| findings.done.contains(&(procedure, None));
    if !done(ProcedureName::SetUp) {
        return Some((ProcedureName::SetUp, None));
    }
    for eye in Eye::BOTH {
        if let Some(procedure) = usual_for_eye(findings, base[eye], state, eye) {
            return Some((procedure, Some(eye)));
        }
    }
    if !done(ProcedureName::Balance) && within_a_line(findings.acuity) {
        return Some((ProcedureName::Balance, None));
    }
    let person = &state.person;
    let near =
        person.age_years.is_some_and(|age| age >= NEAR_FROM_YEARS) || person.complaint == Some(Complaint::NearOnly);
    if !done(ProcedureName::Near) && near {
        return Some((ProcedureName::Near, None));
    }
    (!findings.written).then_some((ProcedureName::Writing, None))
}

fn usual_for_eye(findings: &Findings, base: Power, state: &State, eye: Eye) -> Option<ProcedureName> {
    let times = |procedure| findings.times(procedure, eye);
    let has_cylinder = base.minus_form().cylinder < -CYLINDER_FROM_D;
    let cross_cylinder = state
        .fitted
        .stock
        .pieces()
        .iter()
        .any(|stocked| stocked.is_free() && matches!(stocked.piece.lens, Lens::CrossCylinder(_)));
    let looked_for =
        [ProcedureName::Fan, ProcedureName::CrossCylinderSearch, ProcedureName::Slit].into_iter().any(|p| times(p) > 0);
    for procedure in [ProcedureName::FirstLens, ProcedureName::BestSphere, ProcedureName::OverMinusCheck] {
        if times(procedure) == 0 {
            return Some(procedure);
        }
    }
    // A cylinder from retinoscopy or the old glasses is refined without being looked for again.
    let refinable = has_cylinder && cross_cylinder;
    if !looked_for && !refinable {
        return Some(if cross_cylinder { ProcedureName::CrossCylinderSearch } else { ProcedureName::Fan });
    }
    if refinable {
        if times(ProcedureName::CrossCylinderAxis) == 0 {
            return Some(ProcedureName::CrossCylinderAxis);
        }
        if times(ProcedureName::CrossCylinderPower) == 0 {
            return Some(ProcedureName::CrossCylinderPower);
        }
        // The axis of a weak cylinder is found coarsely: once its power is known it is found once more.
        let strong =
            super::cross_cylinder_axis::first_turn_deg(crate::optics::Dioptres(base.minus_form().cylinder)) < 9.0;
        if strong && times(ProcedureName::CrossCylinderAxis) == 1 && times(ProcedureName::CrossCylinderSearch) > 0 {
            return Some(ProcedureName::CrossCylinderAxis);
        }
    }
    if has_cylinder || times(ProcedureName::CrossCylinderPower) > 0 || times(ProcedureName::Slit) > 0 {
        if times(ProcedureName::FinalSphere) == 0 {
            return Some(ProcedureName::FinalSphere);
        }
        if times(ProcedureName::OverMinusCheck) == 1 {
            return Some(ProcedureName::OverMinusCheck);
        }
    }
    None
}
