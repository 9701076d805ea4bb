//! With what to go on: the usual next procedure first, then others that make sense now. The examiner may choose any.

use std::collections::BTreeMap;

use super::balance::within_a_line;
use super::told::is_poorer_than_6_6;
use crate::exam::prescription::SAME_POWER_D;
use crate::exam::{Complaint, PresentGlasses, ProcedureName, State, Strategy, Through};
use crate::guide::findings::{Findings, NearSearch};
use crate::optics::{Acuity, Eye, Eyes, Power};

/// From this age on the addition is looked for without being asked (common practice, no source).
const NEAR_FROM_YEARS: u8 = 40;

/// A cylinder weaker than this is none to refine.
const CYLINDER_FROM_D: f64 = 0.2;

/// A cylinder that changed by so much since its axis was found has it found once more, in dioptres (0.50, less what a stack may
/// miss).
const AXIS_AGAIN_FROM_D: f64 = 0.40;

/// An eye searched with the chart near that reads this is searched where the chart usually hangs, in log MAR: 6/48.
const FAR_AGAIN_LOG_MAR: f64 = 0.9;

/// One key each.
const MOST_CHOICES: usize = 9;

/// The place of a procedure among what else makes sense for the eye that is worked on; `None` when it is offered only where
/// it is the usual next one, or by the list of all.
const fn place_for_one_eye(procedure: ProcedureName) -> Option<u8> {
    match procedure {
        ProcedureName::BestSphere => Some(1),
        ProcedureName::OverMinusCheck => Some(2),
        ProcedureName::Fan => Some(3),
        ProcedureName::CrossCylinderSearch => Some(4),
        ProcedureName::Slit => Some(5),
        ProcedureName::FinalSphere => Some(6),
        ProcedureName::SetUp
        | ProcedureName::Neutralisation
        | ProcedureName::Retinoscopy
        | ProcedureName::FirstLens
        | ProcedureName::CrossCylinderAxis
        | ProcedureName::CrossCylinderPower
        | ProcedureName::Likelihood
        | ProcedureName::Balance
        | ProcedureName::Near
        | ProcedureName::Writing
        | ProcedureName::FirstLetter => None,
    }
}

/// How many they are.
const OF_ONE_EYE: usize = {
    let (mut nth, mut count) = (0, 0);
    while nth < ProcedureName::ALL.len() {
        count += place_for_one_eye(ProcedureName::ALL[nth]).is_some() as usize;
        nth += 1;
    }
    count
};

// the usual one, retinoscopy and the writing have a key each besides
const _: () = assert!(OF_ONE_EYE + 3 <= MOST_CHOICES, "more procedures are offered for an eye than there are keys");

fn of_one_eye(eye: Eye) -> impl Iterator<Item = (ProcedureName, Option<Eye>)> {
    let placed = ProcedureName::ALL.iter().filter_map(|&procedure| Some((place_for_one_eye(procedure)?, procedure)));
    let in_order: BTreeMap<u8, ProcedureName> = placed.collect();
    in_order.into_values().map(move |procedure| (procedure, Some(eye)))
}

/// What else makes sense for either eye where both are worked on; there are not keys enough for more.
fn of_both_eyes(state: &State) -> impl Iterator<Item = (ProcedureName, Option<Eye>)> {
    let astigmatism = if has_cross_cylinder(state) { ProcedureName::CrossCylinderSearch } else { ProcedureName::Fan };
    let procedures = [ProcedureName::BestSphere, astigmatism, ProcedureName::FinalSphere];
    procedures.into_iter().flat_map(|procedure| Eye::BOTH.map(|eye| (procedure, Some(eye))))
}

fn has_cross_cylinder(state: &State) -> bool {
    let pieces = state.fitted.stock.pieces();
    pieces.iter().any(|stocked| stocked.is_free() && stocked.piece.lens.is_cross_cylinder())
}

/// The choices, the usual one first, at most one for each key.
pub(in crate::guide) fn next(
    findings: &Findings,
    base: &Eyes<Power>,
    state: &State,
) -> Vec<(ProcedureName, Option<Eye>)> {
    let mut choices = Vec::new();
    choices.extend(usual(findings, base, state));
    choices.push((ProcedureName::Retinoscopy, None));
    if findings.subjective.as_ref().into_iter().any(Option::is_some) {
        match choices[0].1 {
            Some(eye) => choices.extend(of_one_eye(eye)),
            None => choices.extend(of_both_eyes(state)),
        }
        choices.push((ProcedureName::Writing, None));
    } else {
        let first = match state.person.strategy.unwrap_or_default() {
            Strategy::Ladder => ProcedureName::FirstLens,
            Strategy::Belief => ProcedureName::Likelihood,
        };
        choices.extend([(ProcedureName::SetUp, None), (first, Some(Eye::Right)), (first, Some(Eye::Left))]);
        // the glasses that the person wears are measured before anything is looked for
        if state.person.old_glasses.as_ref().into_iter().any(Option::is_none) {
            choices.push((ProcedureName::Neutralisation, None));
        }
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
pub(in crate::guide) fn is_complete(findings: &Findings, base: &Eyes<Power>, state: &State) -> bool {
    usual(findings, base, state).is_none()
}

/// The usual next procedure; `None` when the prescription is written.
fn usual(findings: &Findings, base: &Eyes<Power>, state: &State) -> Option<(ProcedureName, Option<Eye>)> {
    let done = |procedure| findings.done.contains(&(procedure, None));
    if !done(ProcedureName::SetUp) {
        return Some((ProcedureName::SetUp, None));
    }
    // glasses that are here and whose power nobody knows can be measured
    let unknown = state.person.present_glasses == Some(PresentGlasses::HereUnknown)
        && state.person.old_glasses.iter().all(|(_, power)| power.is_none());
    if unknown && !done(ProcedureName::Neutralisation) {
        return Some((ProcedureName::Neutralisation, None));
    }
    for eye in Eye::BOTH {
        if let Some(procedure) = next_for_eye(findings, base[eye], state, eye) {
            return Some((procedure, Some(eye)));
        }
    }
    let refracted = |eye: Eye| findings.no_letter[eye].is_none();
    let both = Eye::BOTH.into_iter().all(refracted);
    if both && !done(ProcedureName::Balance) && within_a_line(findings.acuity) {
        return Some((ProcedureName::Balance, None));
    }
    let person = &state.person;
    let near =
        person.age_years.is_some_and(|age| age >= NEAR_FROM_YEARS) || person.complaint == Some(Complaint::NearOnly);
    let any = Eye::BOTH.into_iter().any(refracted);
    if any && !person.drops && !done(ProcedureName::Near) && near {
        return Some((ProcedureName::Near, None));
    }
    (!findings.written).then_some((ProcedureName::Writing, None))
}

fn next_for_eye(findings: &Findings, base: Power, state: &State, eye: Eye) -> Option<ProcedureName> {
    if findings.no_letter[eye].is_some() {
        return None;
    }
    let next = usual_for_eye(findings, base, state, eye);
    match findings.near_search[eye] {
        None => next,
        Some(NearSearch::Ended) => None,
        // then the chart goes back
        Some(NearSearch::Goes { .. }) => {
            let reads_far =
                findings.acuity[eye].and_then(Acuity::log_mar).is_some_and(|read| read <= FAR_AGAIN_LOG_MAR);
            let here = next.filter(|&procedure| !reads_far && procedure != ProcedureName::OverMinusCheck);
            here.or(Some(ProcedureName::FirstLetter))
        }
    }
}

/// Whether an eye reads no letter, and there is nothing to start from, or what there was let it read none either.
fn lacks_a_letter(findings: &Findings, base: Power, state: &State, eye: Eye) -> bool {
    let read = findings.acuity[eye].or_else(|| state.last_read(eye, Through::Unaided));
    let starts_elsewhere = findings.retinoscopy[eye].is_some()
        || state.person.glasses_to_start_from(eye).is_some()
        || base.blur_strength() > SAME_POWER_D;
    let searched = findings.times(ProcedureName::BestSphere, eye) > 0;
    read.is_some_and(|read| read.log_mar().is_none()) && (searched || !starts_elsewhere)
}

fn usual_for_eye(findings: &Findings, base: Power, state: &State, eye: Eye) -> Option<ProcedureName> {
    let times = |procedure| findings.times(procedure, eye);
    let by_a_letter = times(ProcedureName::FirstLetter) > 0;
    if !by_a_letter && lacks_a_letter(findings, base, state, eye) {
        return Some(ProcedureName::FirstLetter);
    }
    let has_cylinder = base.minus_form().cylinder < -CYLINDER_FROM_D;
    let cross_cylinder = has_cross_cylinder(state);
    let looked_for = ProcedureName::ALL.iter().any(|&search| search.looks_for_astigmatism() && times(search) > 0);
    let handed_over = findings.handed_over[eye] || findings.near_search[eye].is_some();
    if state.person.strategy.unwrap_or_default() == Strategy::Belief && !handed_over {
        return (times(ProcedureName::Likelihood) == 0).then_some(ProcedureName::Likelihood);
    }
    for procedure in [ProcedureName::FirstLens, ProcedureName::BestSphere] {
        // what a letter was read with, or the refraction by likelihood left, stands there
        let instead = procedure == ProcedureName::FirstLens && (by_a_letter || handed_over);
        if times(procedure) == 0 && !instead {
            return Some(procedure);
        }
    }
    // nothing more is found by asking an eye that reads no letter
    if findings.acuity[eye].is_some_and(|acuity| acuity.log_mar().is_none()) {
        return None;
    }
    // A cylinder from retinoscopy or the old glasses is refined without being looked for again.
    let refinable = has_cylinder && cross_cylinder;
    if !looked_for && !refinable {
        return Some(if cross_cylinder { ProcedureName::CrossCylinderSearch } else { ProcedureName::Fan });
    }
    // a fan on which nothing stood out does not settle it for an eye that reads less than 6/6
    let silent = looked_for && !has_cylinder && times(ProcedureName::CrossCylinderSearch) == 0;
    if silent && cross_cylinder && findings.acuity[eye].is_some_and(is_poorer_than_6_6) {
        return Some(ProcedureName::CrossCylinderSearch);
    }
    if refinable {
        if times(ProcedureName::CrossCylinderAxis) == 0 {
            return Some(ProcedureName::CrossCylinderAxis);
        }
        if times(ProcedureName::CrossCylinderPower) == 0 {
            return Some(ProcedureName::CrossCylinderPower);
        }
        let cylinder = base.minus_form().cylinder;
        let changed = findings.axis_found_with[eye].is_some_and(|found| (found - cylinder).abs() > AXIS_AGAIN_FROM_D);
        if changed && times(ProcedureName::CrossCylinderAxis) == 1 {
            return Some(ProcedureName::CrossCylinderAxis);
        }
    }
    if times(ProcedureName::FinalSphere) == 0 {
        return Some(ProcedureName::FinalSphere);
    }
    // under drops nothing is accommodated, and the check has nothing to find
    (times(ProcedureName::OverMinusCheck) == 0 && !state.person.drops).then_some(ProcedureName::OverMinusCheck)
}
