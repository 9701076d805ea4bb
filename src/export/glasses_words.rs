//! The order and the glasses that came back in words for people.

use jiff::Timestamp;

use super::exam_name::exam_name;
use super::glasses::{CameBackRecord, Compared, DifferenceRecord, GlassRecord, LIMITS_BY, Noted};
use super::words::{
    axis, eye, fixed, isolated, millimetres, power, prescription, prism, repeats_agree, sentence, signed,
};
use crate::exam::came_back::Measured;
use crate::exam::came_back::differences::NotCompared;
use crate::exam::prescription::Repeat;
use crate::optics::notation::{Style, write_prescription};
use crate::optics::{Eye, Eyes};

/// What the entry of glasses that came back begins with.
pub const CAME_BACK: &str = "Came back, noted";

/// A limit in millimetres, to the tenth below it: what is written is never more than what is allowed.
pub fn tenth_below(mm: f64) -> f64 {
    (mm * 10.0 + 1e-9).floor() / 10.0
}

/// How far the centre of a lens may be off, `±2.5, height ±1 mm`; nothing is said of a meridian without power, where it may be
/// off by anything.
pub fn centre_within(glass: &GlassRecord) -> Option<String> {
    limits(glass).map(|limits| format!("{limits} mm"))
}

/// Where it stands and how far it may be off: `29.4 ±2.5, height ±1 mm`; nothing where it is not known where it stands.
pub fn centre(glass: &GlassRecord) -> Option<String> {
    let at = (glass.centre_mm? * 10.0).round() / 10.0;
    Some(format!("{at}{} mm", limits(glass).map(|limits| format!(" {limits}")).unwrap_or_default()))
}

fn limits(glass: &GlassRecord) -> Option<String> {
    // beyond ten millimetres nobody makes a lens to the tenth
    let limit = |mm: f64| if mm < 10.0 { tenth_below(mm) } else { mm.floor() };
    let side = glass.off_to_the_side_mm.map(|mm| format!("±{}", limit(mm)));
    let height = glass.off_up_and_down_mm.map(|mm| format!("height ±{}", limit(mm)));
    let said: Vec<String> = side.into_iter().chain(height).collect();
    (!said.is_empty()).then(|| said.join(", "))
}

/// Where the limits of the centres of an order come from.
pub fn limits_note() -> String {
    format!("How far centres may be off: {LIMITS_BY}.")
}

/// Glasses that came back, one line each: when, what was found, the likeliest cause first, what could not be compared.
pub fn came_back(record: &CameBackRecord) -> Vec<String> {
    let mut lines = vec![came_back_head(record)];
    if let Some(compared) = &record.compared {
        lines.extend(self::compared(compared, record.refracted_again.is_some()));
    }
    lines
}

/// Where the limits come from, and what repeats differ by: said once for all that was compared.
pub fn came_back_sources(records: &[CameBackRecord]) -> Option<String> {
    let any = records.iter().any(|record| record.compared.is_some());
    let repeats = repeats_agree();
    any.then(|| format!("Limits of made glasses: {LIMITS_BY}; of an addition, 0.25 D, no source. {repeats}"))
}

fn at(at: Timestamp) -> String {
    at.strftime("%Y-%m-%d %H:%M UTC").to_string()
}

fn noted(noted: &Noted) -> String {
    let by = noted.by.as_ref().map(|by| format!(" by {}", isolated(by))).unwrap_or_default();
    format!("{}{by}", at(noted.at))
}

/// What was found on glasses that came back, in one sentence.
pub fn came_back_head(record: &CameBackRecord) -> String {
    let found = &record.found;
    let lens = |eye: Eye| {
        let power = found.lenses[eye].power?;
        Some(format!("{eye} {}", write_prescription(power, Style::Typographic)))
    };
    let two = |of: Eyes<Option<String>>| {
        let of = of.map(|figure| figure.unwrap_or_else(|| "–".to_owned()));
        format!("{} and {}", of.right, of.left)
    };
    let pair = |name: &str, of: Eyes<Option<String>>| {
        let known = of.values().into_iter().any(Option::is_some);
        known.then(|| format!("{name} {}", two(of)))
    };
    let mm = |of: Option<crate::optics::Millimetres>| of.map(|distance| millimetres(distance.0));
    let measured = Eye::BOTH.into_iter().filter_map(lens).chain(
        [
            pair("additions", found.lenses.map(|lens| lens.addition.map(signed))),
            pair("centres", found.lenses.map(|lens| mm(lens.centre))),
            pair("centres for near", found.lenses.map(|lens| mm(lens.near_centre))),
            pair("heights above the pupil", found.lenses.map(|lens| lens.above_pupil.map(|above| height(above.0)))),
            mm(found.vertex).map(|vertex| format!("vertex distance {vertex}")),
        ]
        .into_iter()
        .flatten(),
    );
    let measured: Vec<String> = measured.collect();
    let measured = if measured.is_empty() { "nothing measured".to_owned() } else { measured.join(", ") };
    let complaint = found.complaint.as_ref().map(|said| format!(" Complaint: {}.", isolated(said)));
    let again = record
        .refracted_again
        .as_ref()
        .map(|again| format!(" Refracted again in exam {}.", exam_name(again.exam, again.seat.as_deref())));
    let taken_back = record.taken_back.as_ref().map(|by| format!(" Taken back {}.", noted(by)));
    let after = [complaint, again, taken_back].into_iter().flatten().collect::<String>();
    format!("{CAME_BACK} {}: {measured}.{after}", noted(&record.noted))
}

fn compared(compared: &Compared, again: bool) -> Vec<String> {
    let mut lines: Vec<String> = compared.slips.iter().map(|slip| format!("Likeliest: {slip}")).collect();
    let beyond = |difference: &&DifferenceRecord| difference.of_limit > 1.0 + 1e-6;
    // what a slip explains as a whole is not told again part by part
    let explained = |difference: &&DifferenceRecord| {
        let of = difference.eye.filter(|_| difference.what.is_of_the_lens());
        of.is_some_and(|of| compared.slips.iter().any(|slip| slip.is_of(of)))
    };
    let causes = compared.differences.iter().filter(beyond).filter(|of| !explained(of));
    for (nth, cause) in causes.enumerate() {
        let lead = match (nth, compared.slips.is_empty()) {
            (0, true) => "Likeliest: ",
            _ => "Also: ",
        };
        lines.push(format!("{lead}{}", difference(cause)));
    }
    lines.extend(
        compared.differences.iter().filter(|of| !beyond(of)).map(|of| format!("Within its limit: {}", difference(of))),
    );
    for (of_eye, lens) in compared.lenses().iter() {
        let Some(lens) = lens else { continue };
        lines.push(format!(
            "{} as a whole: found {}, ordered {}: {} D of miss, {}.",
            sentence(&eye(of_eye)),
            prescription(lens.found),
            prescription(lens.ordered),
            fixed(lens.miss_d, 2),
            repeat(lens.repeat)
        ));
    }
    lines.extend(compared.not_compared.iter().map(|why| not_compared(*why)));
    match (compared.no_more_than_repeats, again) {
        (true, false) => lines.push("Nothing measured differs by more than repeats do: refract again.".to_owned()),
        (true, true) => lines.push(
            "Nothing measured differs by more than repeats do, and refracting again found the same: look at how the glasses \
             sit, at what they are used for, and at what the person was used to."
                .to_owned(),
        ),
        (false, _) => {}
    }
    lines
}

fn repeat(repeat: Repeat) -> &'static str {
    match repeat {
        Repeat::Within => "no more than repeats differ by",
        Repeat::Perhaps => "repeats may differ by as much",
        Repeat::Beyond => "more than repeats differ by",
    }
}

/// One difference as a sentence.
pub fn difference(of: &DifferenceRecord) -> String {
    let whose = of.eye.map(|of_eye| format!("{}, ", eye(of_eye))).unwrap_or_default();
    let (found, ordered) = (of.found, of.ordered);
    let figures = match of.what {
        Measured::Sphere => format!("{whose}sphere {} found, {} ordered", power(found), power(ordered)),
        Measured::Cylinder => format!("{whose}cylinder {} found, {} ordered", cylinder(found), cylinder(ordered)),
        Measured::Axis => format!("{whose}axis {} found, {} ordered", axis(found), axis(ordered)),
        Measured::Addition => format!("{whose}addition {} found, {} ordered", signed(found), signed(ordered)),
        Measured::Vertex => {
            format!("{whose}glasses sit at {}, ordered for {}", millimetres(found), millimetres(ordered))
        }
        Measured::AdditionAgain => {
            format!("{whose}refracted again: addition {} now, {} then", signed(found), signed(ordered))
        }
        Measured::Centres => centres(of, "far"),
        Measured::NearCentres => centres(of, "near"),
        Measured::Heights => match of.eye {
            Some(of_eye) => format!("{}, centre {}", eye(of_eye), above(found, "the pupil")),
            None => format!("centre of the right lens {}", above(found, "that of the left, from pupil to pupil")),
        },
        Measured::RefractedAgain => {
            format!("{whose}refracted again: equivalent {} now, {} then", signed(found), signed(ordered))
        }
    };
    let does = match of.miss_d {
        Some(miss) => format!("{} D of miss", fixed(miss, 2)),
        None if of.prism.is_empty() => "no prism".to_owned(),
        None => {
            let before = match of.eye {
                None if of.what == Measured::Heights => " before the right eye, between the eyes",
                None => " between the eyes",
                Some(_) => "",
            };
            format!("{}{before}", prism(&of.prism))
        }
    };
    let allowed = match of.what {
        Measured::Axis => format!("{}° are allowed", fixed(of.limit, 0)),
        Measured::Centres | Measured::NearCentres | Measured::Heights => {
            format!("{} Δ are allowed", fixed(of.limit, 2))
        }
        Measured::RefractedAgain => format!("repeats agree within {} D", fixed(of.limit, 2)),
        Measured::AdditionAgain => format!("a step is {} D", fixed(of.limit, 2)),
        Measured::Sphere | Measured::Cylinder | Measured::Addition | Measured::Vertex => {
            format!("{} D is allowed", fixed(of.limit, 2))
        }
    };
    let repeat = of.repeat.map(|of| format!("; {}", repeat(of))).unwrap_or_default();
    format!("{}: {does}; {allowed}{repeat}.", sentence(&figures))
}

fn cylinder(dioptres: f64) -> String {
    if dioptres == 0.0 { "none".to_owned() } else { signed(dioptres) }
}

fn centres(of: &DifferenceRecord, what: &str) -> String {
    let (found, ordered) = (millimetres(of.found), millimetres((of.ordered * 10.0).round() / 10.0));
    match of.eye {
        Some(of_eye) => format!("{}, centre for {what} at {found}, ordered at {ordered}", eye(of_eye)),
        None => format!("centres for {what} {found} apart, ordered {ordered}"),
    }
}

fn height(mm: f64) -> String {
    let sign = if mm < 0.0 { "−" } else { "" };
    format!("{sign}{}", millimetres(mm.abs()))
}

fn above(mm: f64, what: &str) -> String {
    let side = if mm < 0.0 { "below" } else { "above" };
    format!("{} {side} {what}", millimetres(mm.abs()))
}

fn not_compared(why: NotCompared) -> String {
    match why {
        NotCompared::NoPupillaryDistance(of) => {
            format!("Centre of the {} not compared: the exam has no pupillary distance of it. Measure it now.", eye(of))
        }
        NotCompared::NoNearCentre(of) => format!(
            "Centre for near of the {} not compared: the exam has no addition, near distance or pupillary distance for it.",
            eye(of)
        ),
        NotCompared::PrismOrdered(of) => format!(
            "Centre of the {} not compared: a prism is ordered, which moves it. Measure the prism at the pupil.",
            eye(of)
        ),
        NotCompared::NoPower(of) => format!("The {} not compared: no power was written for it.", eye(of)),
    }
}
