//! What a procedure starts from, and what of it is known otherwise later.

use crate::exam::{Detail, Given, ProcedureName, State, Through};
use crate::kit::{LooseSpheres, StockedPiece};
use crate::optics::{Dioptres, Eyes, Power};

/// What a procedure that begins now starts from: what was found so far, and what is known of person, room and box.
pub(super) fn given(state: &State, found: Eyes<Power>, procedure: ProcedureName) -> Given {
    let read = |through: Through| Eyes::from_fn(|eye| state.last_read(eye, through));
    let mut cross_cylinders: Vec<Dioptres> = state
        .fitted
        .stock
        .pieces()
        .iter()
        .filter(|stocked| stocked.place.is_in_box_or_hand() && stocked.piece.lens.is_cross_cylinder())
        .map(StockedPiece::marked_power)
        .collect();
    cross_cylinders.sort_by(|a, b| a.0.total_cmp(&b.0));
    cross_cylinders.dedup();
    let person = &state.person;
    Given {
        start: found,
        age_years: person.age_years,
        complaint: person.complaint,
        unaided: read(Through::Unaided),
        old_glasses: if asks_for_glasses(procedure) {
            person.old_glasses
        } else {
            Eyes::from_fn(|eye| person.glasses_to_start_from(eye))
        },
        eye_pd: state.fitted.eye_pd,
        chart_metres: person.chart_metres,
        near_metres: person.near_metres,
        working_metres: person.working_metres,
        dominant_eye: person.dominant_eye,
        cross_cylinders,
        earlier_retinoscopy: person.earlier_retinoscopy,
        earlier_exams: person.earlier_exams,
        accepted: state.results.refraction,
        pinhole: read(Through::Pinhole),
        with_old_glasses: read(Through::OldGlasses),
        chart_made_for_metres: person.chart_made_for_metres,
        red_flags: person.red_flags.clone(),
        drops: person.drops.then_some(true),
        present_glasses: person.present_glasses,
        near_task: person.near_task,
        measured_vertex: person.measured_vertex,
        loose_spheres: if uses_loose_spheres(procedure) { LooseSpheres::of(&state.fitted.stock) } else { Vec::new() },
    }
}

/// Whether what is known of person and room that lenses depend on is not what a procedure was given.
pub(super) fn is_corrected(given: &Given, state: &State) -> bool {
    let person = &state.person;
    given.age_years != person.age_years
        || given.under_drops() != person.drops
        || given.eye_pd != state.fitted.eye_pd
        || given.chart_metres != person.chart_metres
        || given.near_metres != person.near_metres
        || given.working_metres != person.working_metres
        || given.measured_vertex != person.measured_vertex
}

/// Takes in a detail that became known since.
pub(super) fn learn(given: &mut Given, detail: &Detail) {
    match detail {
        Detail::EarlierExams(earlier) => given.earlier_exams = Some(*earlier),
        Detail::AgeYears(years) => given.age_years = Some(*years),
        Detail::Complaint(complaint) => given.complaint = Some(*complaint),
        Detail::EyePd(eye, pd) => given.eye_pd[*eye] = Some(*pd),
        Detail::ChartMetres(metres) => given.chart_metres = Some(*metres),
        Detail::NearMetres(metres) => given.near_metres = Some(*metres),
        Detail::WorkingMetres(metres) => given.working_metres = Some(*metres),
        Detail::OldGlasses(eye, power) => given.old_glasses[*eye] = Some(*power),
        Detail::DominantEye(eye) => given.dominant_eye = Some(*eye),
        Detail::EarlierRetinoscopy(earlier) => given.earlier_retinoscopy = Some(*earlier),
        Detail::ChartMadeForMetres(metres) => given.chart_made_for_metres = Some(*metres),
        Detail::RedFlags(flags) => given.red_flags = Some(flags.clone()),
        Detail::Drops(drops) => given.drops = drops.then_some(true),
        Detail::PresentGlasses(glasses) => given.present_glasses = Some(*glasses),
        Detail::NearTask(task) => given.near_task = Some(*task),
        Detail::FrameVertex(distance) => given.measured_vertex = Some(*distance),
        Detail::Label(_)
        | Detail::StaysOn(..)
        | Detail::DeviationSeenBy(_)
        | Detail::Neutralised(..)
        | Detail::Reserve(..)
        | Detail::TiltDegrees(_)
        | Detail::FaceFormDegrees(_)
        | Detail::FramePd(..)
        | Detail::Strategy(_)
        | Detail::PlannedVertex(_)
        | Detail::OldGlassesWithin(..)
        | Detail::DropsPut(_)
        | Detail::OldAddition(_) => {}
    }
}

/// Whether it asks for the power of the old glasses, and does not go by it.
fn asks_for_glasses(procedure: ProcedureName) -> bool {
    match procedure {
        ProcedureName::SetUp | ProcedureName::Neutralisation => true,
        ProcedureName::Retinoscopy
        | ProcedureName::Balance
        | ProcedureName::FirstLens
        | ProcedureName::BestSphere
        | ProcedureName::OverMinusCheck
        | ProcedureName::CrossCylinderSearch
        | ProcedureName::Fan
        | ProcedureName::Slit
        | ProcedureName::CrossCylinderAxis
        | ProcedureName::CrossCylinderPower
        | ProcedureName::FinalSphere
        | ProcedureName::Near
        | ProcedureName::Writing
        | ProcedureName::Likelihood
        | ProcedureName::FirstLetter => false,
    }
}

/// Whether it chooses among loose spheres.
fn uses_loose_spheres(procedure: ProcedureName) -> bool {
    match procedure {
        ProcedureName::Retinoscopy | ProcedureName::Neutralisation | ProcedureName::Balance => true,
        ProcedureName::SetUp
        | ProcedureName::FirstLens
        | ProcedureName::BestSphere
        | ProcedureName::OverMinusCheck
        | ProcedureName::CrossCylinderSearch
        | ProcedureName::Fan
        | ProcedureName::Slit
        | ProcedureName::CrossCylinderAxis
        | ProcedureName::CrossCylinderPower
        | ProcedureName::FinalSphere
        | ProcedureName::Near
        | ProcedureName::Writing
        | ProcedureName::Likelihood
        | ProcedureName::FirstLetter => false,
    }
}
