//! The closed forms against a general matrix library (nalgebra).
//!
//! Two references that share nothing with the program: the vergence matrices of Long, *Am J Optom Physiol Opt* 1976;53:27-33,
//! inverted by the library; and ray transfer by 4×4 system matrices, where the back vertex power of [[A, B], [C, D]] is
//! −C A⁻¹ (Harris, *Optom Vis Sci* 1988;65:794-802 for the means and sums of such matrices).

use dioptray::optics::accommodation::needed;
use dioptray::optics::combination::{mean, residual};
use dioptray::optics::decentration::looked_through_at;
use dioptray::optics::vergence::{at_vertex, away_from_eye, net, steps, towards_eye};
use dioptray::optics::{Millimetres, Power, Prism, SpheroCylinder};
use nalgebra::{Matrix2, Matrix4, Vector2};
use proptest::prelude::*;

/// Written from sphere, cylinder and axis by the projection onto the cylinder's power meridian, not from the vector.
fn matrix(lens: SpheroCylinder) -> Matrix2<f64> {
    let across = (lens.axis + 90.0).to_radians();
    let direction = Vector2::new(across.cos(), across.sin());
    Matrix2::identity() * lens.sphere + direction * direction.transpose() * lens.cylinder
}

fn agrees(found: Power, expected: &Matrix2<f64>) -> bool {
    let found = Matrix2::new(found.m + found.j0, found.j45, found.j45, found.m - found.j0);
    (found - expected).abs().max() <= 1e-9 * (1.0 + expected.abs().max())
}

fn lens() -> impl Strategy<Value = SpheroCylinder> {
    (-20.0..20.0, -6.0..6.0, 0.01..180.0).prop_map(|(sphere, cylinder, axis)| SpheroCylinder { sphere, cylinder, axis })
}

/// Lenses from cell 1 outward and the gaps between them.
fn stack() -> impl Strategy<Value = (Vec<SpheroCylinder>, Vec<f64>)> {
    (1usize..=8)
        .prop_flat_map(|cells| (prop::collection::vec(lens(), cells), prop::collection::vec(0.0..12.0, cells - 1)))
}

/// V (I − d V)⁻¹, unless the light comes nearly to a focus there, where no tolerance would mean anything.
fn step(v: &Matrix2<f64>, d_m: f64) -> Option<Matrix2<f64>> {
    let divisor = Matrix2::identity() - v * d_m;
    if divisor.determinant().abs() < 0.05 {
        return None;
    }
    Some(v * divisor.try_inverse()?)
}

fn millimetres(gaps: &[f64]) -> Vec<Millimetres> {
    gaps.iter().copied().map(Millimetres).collect()
}

proptest! {
    #[test]
    fn net_is_the_step_along_of_matrices((lenses, gaps) in stack()) {
        let mut v = Matrix2::zeros();
        for (index, lens) in lenses.iter().enumerate().rev() {
            if let Some(gap) = gaps.get(index) {
                let stepped = step(&v, gap / 1000.0);
                prop_assume!(stepped.is_some());
                v = stepped.unwrap_or_default();
            }
            v += matrix(*lens);
        }
        let powers: Vec<Power> = lenses.iter().map(|lens| lens.power()).collect();
        let found = net(&powers, &millimetres(&gaps));
        prop_assert!(agrees(found, &v), "{found:?} is not {v}");
        let steps = steps(&powers, &millimetres(&gaps));
        prop_assert_eq!(steps.len(), lenses.len());
        prop_assert!(steps.last().is_some_and(|last| last.cell == 1 && agrees(last.behind, &v)));
    }

    #[test]
    fn net_is_the_back_vertex_power_of_the_system_matrix((lenses, gaps) in stack()) {
        let block = |a: Matrix2<f64>, b: Matrix2<f64>, c: Matrix2<f64>, d: Matrix2<f64>| {
            let mut whole = Matrix4::zeros();
            whole.fixed_view_mut::<2, 2>(0, 0).copy_from(&a);
            whole.fixed_view_mut::<2, 2>(0, 2).copy_from(&b);
            whole.fixed_view_mut::<2, 2>(2, 0).copy_from(&c);
            whole.fixed_view_mut::<2, 2>(2, 2).copy_from(&d);
            whole
        };
        let (one, none) = (Matrix2::identity(), Matrix2::zeros());
        let mut system = Matrix4::identity();
        for (index, lens) in lenses.iter().enumerate().rev() {
            if let Some(gap) = gaps.get(index) {
                system = block(one, one * (gap / 1000.0), none, one) * system;
            }
            system = block(one, none, -matrix(*lens), one) * system;
        }
        let a: Matrix2<f64> = system.fixed_view::<2, 2>(0, 0).into();
        let c: Matrix2<f64> = system.fixed_view::<2, 2>(2, 0).into();
        prop_assume!(a.determinant().abs() > 0.01);
        let expected = -c * a.try_inverse().unwrap_or_default();
        let powers: Vec<Power> = lenses.iter().map(|lens| lens.power()).collect();
        let found = net(&powers, &millimetres(&gaps));
        prop_assert!(agrees(found, &expected), "{found:?} is not {expected}");
    }

    #[test]
    fn one_step_is_the_matrix_step(lens in lens(), from in 0.0..40.0, to in 0.0..40.0) {
        let (from_mm, to_mm) = (Millimetres(from), Millimetres(to));
        let expected = step(&matrix(lens), (from - to) / 1000.0);
        prop_assume!(expected.is_some());
        let expected = expected.unwrap_or_default();
        let found = at_vertex(lens.power(), from_mm, to_mm);
        prop_assert!(agrees(found, &expected), "{found:?} is not {expected}");
        let stepped = if from >= to {
            towards_eye(lens.power(), Millimetres(from - to))
        } else {
            away_from_eye(lens.power(), Millimetres(to - from))
        };
        prop_assert!(agrees(stepped, &expected));
    }

    #[test]
    fn induced_prism_is_the_matrix_times_the_place(lens in lens(), x in -10.0..10.0, y in -10.0..10.0) {
        let expected = matrix(lens) * Vector2::new(x / 10.0, y / 10.0);
        let found = Prism::induced(lens.power(), Millimetres(x), Millimetres(y));
        prop_assert!((Vector2::new(found.x, found.y) - expected).norm() < 1e-10, "{found:?} is not {expected}");
    }

    #[test]
    fn principal_powers_are_the_eigenvalues(lens in lens()) {
        let eigen = matrix(lens).symmetric_eigen();
        let most = eigen.eigenvalues.imax();
        let form = lens.power().minus_form();
        prop_assert!((form.sphere - eigen.eigenvalues[most]).abs() < 1e-9);
        prop_assert!((form.sphere + form.cylinder - eigen.eigenvalues[1 - most]).abs() < 1e-9);
        // the minus axis is the meridian of most plus
        if form.cylinder < -1e-3 {
            let direction = eigen.eigenvectors.column(most);
            let meridian = direction[1].atan2(direction[0]).to_degrees();
            let apart = (meridian - form.axis).rem_euclid(180.0);
            prop_assert!(apart.min(180.0 - apart) < 1e-6, "{meridian} is not {}", form.axis);
        }
    }

    #[test]
    fn sums_means_and_residuals_are_those_of_matrices(lenses in prop::collection::vec(lens(), 1..6)) {
        let total: Matrix2<f64> = lenses.iter().map(|lens| matrix(*lens)).sum();
        let powers: Vec<Power> = lenses.iter().map(|lens| lens.power()).collect();
        prop_assert!(agrees(powers.iter().copied().sum(), &total));
        let found = mean(&powers);
        prop_assert!(found.is_some_and(|found| agrees(found, &(total / lenses.len() as f64))));
        let (worn, needed) = (lenses[0], lenses[lenses.len() - 1]);
        let left = matrix(needed) - matrix(worn);
        let found = residual(worn.power(), needed.power());
        prop_assert!(agrees(found.power, &left));
        // half the difference of the eigenvalues is half the cylinder
        let eigen = left.symmetric_eigenvalues();
        let score = (left.trace() / 2.0).abs() + (eigen[0] - eigen[1]).abs() / 2.0;
        prop_assert!((found.score - score).abs() < 1e-9);
    }

    #[test]
    fn accommodation_is_the_difference_of_two_matrix_steps(lens in lens(), vertex in 0.0..30.0, metres in 0.1..2.0) {
        let near = matrix(lens) - Matrix2::identity() / metres;
        let (far, near) = (step(&matrix(lens), vertex / 1000.0), step(&near, vertex / 1000.0));
        prop_assume!(far.is_some() && near.is_some());
        let expected = far.unwrap_or_default() - near.unwrap_or_default();
        let found = needed(lens.power(), Millimetres(vertex), metres);
        prop_assert!(agrees(found, &expected), "{found:?} is not {expected}");
    }

    #[test]
    fn prism_where_a_lens_is_looked_through_is_against_the_place(lens in lens(), x in -30.0..30.0, y in -30.0..30.0) {
        let expected = -(matrix(lens) * Vector2::new(x / 10.0, y / 10.0));
        let found = looked_through_at(lens.power(), Millimetres(x), Millimetres(y));
        prop_assert!((Vector2::new(found.x, found.y) - expected).norm() < 1e-9, "{found:?} is not {expected}");
    }
}
