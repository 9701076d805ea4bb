//! Powers as they are marked and written: two places, eighths cut.

use super::style::Style;

/// The power that a mark stands for: 0.12, 0.37, 0.62 and 0.87 of any dioptre are cut eighths, 0.125 and so on.
///
/// Works for prism dioptres too. Other powers stay as they are.
pub fn eighth_of_mark(marked: f64) -> f64 {
    let hundredths = marked.abs() * 100.0;
    let whole = hundredths.round();
    let two_places = (hundredths - whole).abs() < 1e-6;
    if two_places && matches!(whole % 100.0, 12.0 | 37.0 | 62.0 | 87.0) {
        ((whole * 10.0 + 5.0) / 1000.0).copysign(marked)
    } else {
        marked
    }
}

/// Writes a power in dioptres with its sign and two places: `-4.25`, `+0.50`; `plano` for none.
///
/// Eighths are cut to two places as trial lenses are marked (−4.125 is `-4.12`); anything else is rounded to them. A
/// power that is not a finite number is written `undefined`.
pub fn write_power(dioptres: f64, style: Style) -> String {
    if !dioptres.is_finite() {
        return "undefined".to_owned();
    }
    let hundredths = shown_hundredths(dioptres);
    if hundredths == 0.0 {
        return "plano".to_owned();
    }
    let sign = if hundredths < 0.0 { style.minus() } else { '+' };
    format!("{sign}{:.2}", hundredths.abs() / 100.0)
}

/// Writes an amount of dioptres with its sign to two places, `0.00` where there is none: a difference is not a lens, so that eighths
/// are rounded in it like anything else.
pub fn write_signed(dioptres: f64, style: Style) -> String {
    let written = format!("{:.2}", dioptres.abs());
    match (written.as_str(), dioptres < 0.0) {
        ("0.00", _) => written,
        (_, true) => format!("{}{written}", style.minus()),
        (_, false) => format!("+{written}"),
    }
}

/// Writes an amount without a sign and without needless zeros: `3`, `0.5`, `1.12`.
pub(super) fn write_amount(amount: f64) -> String {
    (shown_hundredths(amount).abs() / 100.0).to_string()
}

/// Hundredths as they are shown: eighths cut, the rest rounded; never minus zero.
pub(super) fn shown_hundredths(value: f64) -> f64 {
    let thousandths = (value * 1000.0).round();
    let is_eighth = thousandths % 125.0 == 0.0;
    let hundredths = if is_eighth { (thousandths / 10.0).trunc() } else { (value * 100.0).round() };
    hundredths + 0.0
}
