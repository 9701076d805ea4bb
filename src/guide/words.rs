//! How the guide writes powers and axes in its sentences.

use crate::optics::{Axis, Power};

/// A scalar power with its sign, two places: `+0.25`, `−1.00`, `plano`.
pub(super) fn signed(dioptres: f64) -> String {
    let text = format!("{dioptres:+.2}").replace('-', "−");
    if matches!(text.as_str(), "+0.00" | "−0.00") { "plano".to_owned() } else { text }
}

/// A power in minus-cylinder form: `−4.25/−0.75×180`, or its sphere alone.
pub(super) fn written(power: Power) -> String {
    let form = power.minus_form();
    if form.cylinder > -0.005 {
        return signed(power.m);
    }
    format!("{}/{}×{}", signed(form.sphere), signed(form.cylinder), Axis::nearest(form.axis))
}
