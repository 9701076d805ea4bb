//! How figures are written for people: in the notation of [`crate::optics::notation`] with true minus signs, the unit where
//! a figure stands alone. The card, the page and the screen all take their words from here.

use unicode_width::UnicodeWidthStr;

use super::record::{Compared, Figures};
use super::{EyeRecord, Record};
use crate::exam::prescription::{Against, PrismPart, REPEAT_J_D, REPEAT_M_D, Repeat, WIDEST_REPEAT_M_D};
use crate::optics::notation::{Style, write_power, write_prescription};
use crate::optics::{Acuity, AcuityNotation, Base, Eye, Eyes, SpheroCylinder};

/// A number with a fixed number of places; never a negative zero.
pub fn fixed(value: f64, places: usize) -> String {
    let scale = 10f64.powi(i32::try_from(places).unwrap_or(0));
    // adding zero turns a negative zero into a plain one
    format!("{:.places$}", (value * scale).round() / scale + 0.0)
}

/// A signed number in two places with a true minus sign: `+0.00`, `−0.75`.
pub fn signed(value: f64) -> String {
    let digits = fixed(value, 2);
    match digits.strip_prefix('-') {
        Some(digits) => format!("−{digits}"),
        None => format!("+{digits}"),
    }
}

/// A power in dioptres: `−4.25`, `+1.00`, `plano`.
pub fn power(dioptres: f64) -> String {
    write_power(dioptres, Style::Typographic)
}

/// A prescription on one line, in the form it has: `−4.25/−0.75×180`.
pub fn prescription(written: SpheroCylinder) -> String {
    write_prescription(written, Style::Typographic)
}

/// A measured power on one line, as [`prescription`].
pub fn figures(figures: Figures) -> String {
    let Figures { sphere, cylinder, axis, .. } = figures;
    prescription(SpheroCylinder { sphere, cylinder, axis })
}

/// An acuity in a notation, and as logMAR where that is another: `6/9−2 (logMAR 0.22)`.
pub fn acuity(acuity: Acuity, notation: AcuityNotation) -> String {
    let written = acuity.write(notation, Style::Typographic);
    match acuity.log_mar() {
        Some(log_mar) if notation != AcuityNotation::LogMar => {
            format!("{written} (logMAR {})", fixed(log_mar, 2).replace('-', "−"))
        }
        _ => written,
    }
}

/// A base direction in a word; an angle in degrees.
pub fn base(base: Base) -> String {
    match base {
        Base::Up => "up".to_owned(),
        Base::Down => "down".to_owned(),
        Base::In => "in".to_owned(),
        Base::Out => "out".to_owned(),
        Base::Degrees(degrees) => format!("{degrees}°"),
    }
}

/// A prism in its parts: `2.00 Δ base in with 1.00 Δ base up`.
pub fn prism(parts: &[PrismPart]) -> String {
    let part = |part: &PrismPart| format!("{} Δ base {}", fixed(part.amount, 2), base(part.base));
    parts.iter().map(part).collect::<Vec<_>>().join(" with ")
}

/// A distance in millimetres: `31.5 mm`.
pub fn millimetres(distance: f64) -> String {
    format!("{} mm", fixed(distance, 2).trim_end_matches('0').trim_end_matches('.'))
}

/// `right eye` or `left eye`.
pub fn eye(eye: Eye) -> String {
    format!("{eye} eye")
}

/// One row of the findings: what it is, and what it is for the right and the left eye, where known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// What it is.
    pub name: &'static str,
    /// Right first.
    pub of_eyes: Eyes<Option<String>>,
}

/// The findings of the two eyes side by side, rows that say nothing left out.
pub fn findings(record: &Record) -> Vec<Row> {
    type Finding = (&'static str, fn(&EyeRecord, AcuityNotation) -> Option<String>);
    const FINDINGS: [Finding; 9] = [
        ("prism", |eye, _| (!eye.prism.is_empty()).then(|| prism(&eye.prism))),
        ("pupillary distance", |eye, _| eye.pd_mm.map(millimetres)),
        ("acuity unaided", |eye, how| eye.unaided.map(|read| acuity(read, how))),
        ("acuity, pinhole", |eye, how| eye.pinhole.map(|read| acuity(read, how))),
        ("acuity, old glasses", |eye, how| eye.with_old_glasses.map(|read| acuity(read, how))),
        ("acuity, found power", |eye, how| eye.with_prescription.map(|read| acuity(read, how))),
        ("found power", |eye, _| eye.found.map(figures)),
        ("retinoscopy", |eye, _| eye.retinoscopy.map(figures)),
        ("old glasses", |eye, _| eye.old_glasses.map(prescription)),
    ];
    FINDINGS
        .into_iter()
        .map(|(name, of)| Row { name, of_eyes: record.eyes().map(|eye| of(eye, record.acuity_notation)) })
        .filter(|row| row.of_eyes.as_ref().into_iter().any(Option::is_some))
        .collect()
}

/// What holds for both eyes or for the room, one sentence each.
pub fn circumstances(record: &Record) -> Vec<String> {
    let both = record
        .both_with_prescription
        .map(|read| format!("Both eyes together read {}.", acuity(read, record.acuity_notation)));
    let pd = match (record.right.pd_mm, record.left.pd_mm) {
        (Some(right), Some(left)) => Some(format!("Pupillary distance {}.", millimetres(right + left))),
        _ => None,
    };
    let old_addition = record.old_addition.map(|old| format!("Old addition {} D.", signed(old)));
    let near = record.addition.and(record.near_metres);
    let near = near.map(|metres| format!("Addition for {} cm.", fixed(metres * 100.0, 0)));
    let chart = record.chart_metres.map(|metres| match record.chart_allowance {
        Some(allowance) => format!("Chart at {metres} m; {} D taken off the spheres for it.", fixed(allowance, 2)),
        None => format!("Chart at {metres} m."),
    });
    let vertex = format!("Found at a vertex distance of {}.", millimetres(record.frame_vertex_mm));
    let with = format!("Box {}, frame {}.", printable(&record.box_name), printable(&record.frame_name));
    [both, pd, old_addition, near, chart, Some(vertex), Some(with)].into_iter().flatten().collect()
}

/// The vertex distance as it goes with the prescription, when it must.
pub fn vertex(record: &Record) -> Option<String> {
    record
        .vertex_matters
        .then(|| format!("For glasses at a vertex distance of {}.", millimetres(record.planned_vertex_mm)))
}

/// How each eye compares with what was known before, and on what that rests.
pub fn comparisons(record: &Record) -> Vec<String> {
    let mut lines: Vec<String> = record
        .eyes()
        .into_iter()
        .flat_map(|of_eye| of_eye.compared.iter().map(|compared| comparison(of_eye.eye, compared)))
        .collect();
    if !lines.is_empty() {
        lines.push(format!(
            "95 % of repeated subjective refractions agree within ±{REPEAT_M_D:.2} D in M (Rosenfield, Chiu, Optom Vis Sci \
             1995;72:577), or ±{WIDEST_REPEAT_M_D:.2} D in M and ±{REPEAT_J_D:.2} D in J0 (Photonics 2024;11:634)."
        ));
    }
    lines
}

fn comparison(of_eye: Eye, compared: &Compared) -> String {
    let against = match compared.against {
        Against::Retinoscopy => "retinoscopy",
        Against::OldGlasses => "the old glasses",
    };
    let verdict = match compared.repeat {
        Repeat::Within => "within what a repeat would show",
        Repeat::Perhaps => "a repeat might show as much",
        Repeat::Beyond => "more than a repeat would show",
    };
    format!(
        "{} against {against}: M {}, J0 {}, J45 {} D, in all {} D: {verdict}.",
        sentence(&eye(of_eye)),
        signed(compared.delta_m),
        signed(compared.delta_j0),
        signed(compared.delta_j45),
        fixed(compared.blur_strength, 2)
    )
}

/// The head of the record: label, age, times, examiner, as far as known.
pub fn heading(record: &Record) -> Vec<String> {
    let label = record.label.as_deref().map(printable);
    let age = record.age_years.map(|age| format!("{age} {}", if age == 1 { "year" } else { "years" }));
    let person: Vec<String> = label.into_iter().chain(age).collect();
    let opened = record.opened.strftime("%-d %B %Y, %H:%M").to_string();
    let when = match &record.closed {
        Some(closed) if closed.date() == record.opened.date() => format!("{opened} to {}", closed.strftime("%H:%M")),
        Some(closed) => format!("{opened} to {}", closed.strftime("%-d %B %Y, %H:%M")),
        None => opened,
    };
    let examiner = record.examiner.as_deref().map(|name| format!("Examiner {}", printable(name)));
    let person = (!person.is_empty()).then(|| person.join(" · "));
    person.into_iter().chain([when]).chain(examiner).collect()
}

/// A text with its first letter large.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// A text as one line that a terminal or a printer can be given: control characters and line ends become spaces.
pub fn printable(text: &str) -> String {
    let plain: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Units that are not parted from their figure at the end of a line.
const UNITS: [&str; 5] = ["D", "Δ", "mm", "cm", "m"];

/// The words of a text, a unit together with its figure.
fn unparted(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in printable(text).split(' ') {
        let unit = UNITS.contains(&word.trim_end_matches(['.', ',', ':', ';', ')']));
        match words.last_mut() {
            Some(figure) if unit && figure.ends_with(|letter: char| letter.is_ascii_digit()) => {
                figure.push(' ');
                figure.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Breaks a text into lines no wider than `most`, by a measure of width; a word that is wider alone is broken too.
pub fn wrapped(text: &str, most: f64, width: impl Fn(&str) -> f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in unparted(text) {
        let Some(line) = lines.last_mut() else { break };
        let longer = if line.is_empty() { word.clone() } else { format!("{line} {word}") };
        if width(&longer) <= most {
            *line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(String::new());
        }
        for letter in word.chars() {
            let Some(line) = lines.last_mut() else { break };
            let longer = format!("{line}{letter}");
            if width(&longer) <= most || line.is_empty() {
                *line = longer;
            } else {
                lines.push(letter.to_string());
            }
        }
    }
    lines
}

/// The width of a text in columns of a terminal.
pub fn columns(text: &str) -> f64 {
    text.width() as f64
}
