//! Powers on the quarter grid, and how many moves lie between them.

/// How far two powers lie apart.
pub fn distance(one: [f32; 3], other: [f32; 3]) -> f32 {
    let square: f32 = one.iter().zip(other).map(|(one, other)| (one - other) * (one - other)).sum();
    square.sqrt()
}

/// Sphere, minus cylinder and axis of a power.
pub fn written([m, j0, j45]: [f32; 3]) -> [f32; 3] {
    let cylinder = -2.0 * (j0 * j0 + j45 * j45).sqrt();
    let axis = libm::atan2f(j45, j0).to_degrees() / 2.0;
    [m - cylinder / 2.0, cylinder, axis.rem_euclid(180.0)]
}

/// A power by sphere, cylinder and axis.
pub fn power_of([sphere, cylinder, axis]: [f32; 3]) -> [f32; 3] {
    let (sin, cos) = libm::sincosf((2.0 * axis).to_radians());
    [sphere + cylinder / 2.0, -cylinder / 2.0 * cos, -cylinder / 2.0 * sin]
}

/// To which degrees an axis is set: those of the frame's marks for weak cylinders.
fn set_axis(axis: f32, cylinder: f32) -> f32 {
    let marks = if cylinder > -1.5 { 5.0 } else { 1.0 };
    let set = (axis / marks).round() * marks;
    if set < 1.0 { 180.0 } else { set }
}

/// The quarter powers around one.
pub fn quarters_around(mean: [f32; 3]) -> Vec<[f32; 3]> {
    let [_, cylinder, axis] = written(mean);
    let below = (cylinder * 4.0).floor() / 4.0;
    let mut quarters = Vec::new();
    for cylinder in [below, (below + 0.25).min(0.0)] {
        let sphere = ((mean[0] - cylinder / 2.0) * 4.0).floor() / 4.0;
        for sphere in [sphere, sphere + 0.25] {
            quarters.push(power_of([sphere, cylinder, set_axis(axis, cylinder)]));
        }
    }
    quarters
}

/// Whether a power is one of quarters.
pub fn is_quarter(power: [f32; 3]) -> bool {
    let [sphere, cylinder, _] = written(power);
    [sphere, cylinder].iter().all(|part| ((part * 4.0).round() / 4.0 - part).abs() < 0.01)
}

/// How many moves lead from one quarter power to another, about.
pub fn moves_between(one: [f32; 3], other: [f32; 3]) -> f32 {
    let ([sphere, cylinder, axis], [to_sphere, to_cylinder, to_axis]) = (written(one), written(other));
    let changed = |from: f32, to: f32| {
        if (from - to).abs() < 0.05 {
            0.0
        } else {
            f32::from(u8::from(from.abs() > 0.05)) + f32::from(u8::from(to.abs() > 0.05))
        }
    };
    let turned = to_cylinder < -0.05 && cylinder < -0.05 && (axis - to_axis).abs() > 0.5;
    let of_cylinder = changed(cylinder, to_cylinder);
    changed(sphere, to_sphere) + of_cylinder + f32::from(u8::from(turned && of_cylinder == 0.0))
}
