//! How figures are written for people: in the notation of [`crate::optics::notation`] with true minus signs, the unit where
//! a figure stands alone. The card, the page and the screen all take their words from here.

use super::record::{Compared, DeviationRecord, EyeRecord, Figures, Known, Record};
use crate::exam::DropsPut;
use crate::exam::certainty::{Certainty, Sure};
use crate::exam::prescription::{Against, REPEAT_J_D, REPEAT_M_D, Repeat, WIDEST_REPEAT_M_D};
use crate::optics::notation::{Style, write_power, write_prescription};
use crate::optics::{Acuity, AcuityNotation, ChartPlace, CylinderForm, Eye, PrismPart, SpheroCylinder, WornKind};

/// A number with a fixed number of places; never a negative zero.
pub fn fixed(value: f64, places: usize) -> String {
    let scale = 10f64.powi(i32::try_from(places).unwrap_or(0));
    // adding zero turns a negative zero into a plain one
    format!("{:.places$}", (value * scale).round() / scale + 0.0)
}

/// A number to two places, as people read acuities, prisms and distances; never a negative zero.
pub fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
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

/// An axis as it stands on a prescription: three digits and no sign after them, so that neither can be taken for another
/// figure (National Federation of Opticianry Schools, module 9a).
pub fn axis(degrees: f64) -> String {
    format!("{degrees:03.0}")
}

/// A prescription on one line, in the form it has: `−4.25/−0.75×180`.
pub fn prescription(written: SpheroCylinder) -> String {
    write_prescription(written, Style::Typographic)
}

/// A measured power on one line, as [`prescription`], in the cylinder form of the record.
pub fn figures(figures: Figures, form: CylinderForm) -> String {
    let Figures { sphere, cylinder, axis, .. } = figures;
    prescription(form.write(SpheroCylinder { sphere, cylinder, axis }))
}

/// An acuity in a notation, and as logMAR where that is another: `6/9−2 (logMAR 0.22)`; what is seen without a letter in
/// full: `CF (counting fingers)`.
pub fn acuity(acuity: Acuity, notation: AcuityNotation) -> String {
    let written = acuity.write(notation, Style::Typographic);
    match (acuity.log_mar(), acuity.without_letters()) {
        (Some(log_mar), _) if notation != AcuityNotation::LogMar => {
            format!("{written} (logMAR {})", fixed(log_mar, 2).replace('-', "−"))
        }
        (None, Some(in_full)) if in_full != written => format!("{written} ({in_full})"),
        _ => written,
    }
}

/// What the chart said where it stood elsewhere than its figures say: `6/12, for 6 m at 3 m`; `None` where its figures are
/// true.
pub fn on_chart(acuity: Acuity, notation: AcuityNotation, style: Style) -> Option<String> {
    let (line, ChartPlace { made_for_m, stands_at_m }) = acuity.on_chart()?;
    Some(format!("{}, for {made_for_m} m at {stands_at_m} m", line.write(notation, style)))
}

/// A prism in its parts: `2.00 Δ base in with 1.00 Δ base up`.
pub fn prism(parts: &[PrismPart]) -> String {
    let part = |part: &PrismPart| format!("{} Δ base {}", fixed(part.amount, 2), part.base);
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

/// What holds for both eyes or for the room, one sentence each.
pub fn circumstances(record: &Record) -> Vec<String> {
    let both = record.both_with_prescription.map(|read| {
        let read_as = on_chart(read, record.acuity_notation, Style::Typographic);
        let read_as = read_as.map(|said| format!(", on the chart {said}")).unwrap_or_default();
        format!("Both eyes together read {}{read_as}.", acuity(read, record.acuity_notation))
    });
    let pd = match (record.right.pd_mm, record.left.pd_mm) {
        (Some(right), Some(left)) => Some(format!("Pupillary distance {}.", millimetres(right + left))),
        _ => None,
    };
    let old_addition = record.old_addition.map(|old| format!("Present addition {} D.", signed(old)));
    let near = record.near_metres.filter(|_| record.eyes().into_iter().any(|eye| eye.addition.is_some()));
    let near = near.map(|metres| format!("Addition for {} cm.", fixed(metres * 100.0, 0)));
    let made_for = record.chart_made_for_metres.map(|metres| format!(", made for {metres} m")).unwrap_or_default();
    let chart = record.chart_metres.map(|metres| match record.chart_allowance {
        Some(allowance) => {
            format!("Chart at {metres} m{made_for}; {} D taken off the spheres for it.", fixed(allowance, 2))
        }
        None => format!("Chart at {metres} m{made_for}."),
    });
    let measured = if record.measured_vertex_mm.is_some() { ", measured" } else { "" };
    let vertex = format!("Found at a vertex distance of {}{measured}.", millimetres(record.frame_vertex_mm));
    let deviations: Vec<String> = record.deviations.iter().map(deviation).collect();
    let deviations = (!deviations.is_empty()).then(|| deviations.join(" "));
    let tilts = tilts(record);
    let tilts = (!tilts.is_empty()).then(|| tilts.join(" "));
    let with = format!("Box {}, frame {}.", isolated(&record.box_name), isolated(&record.frame_name));
    let old = record.both_with_old_glasses;
    let old = old.map(|read| format!("Both eyes with the present glasses {}.", acuity(read, record.acuity_notation)));
    let flags = record.red_flags.as_ref().map(|named| match named.as_slice() {
        [] => "Asked for signs that need referral: none was named.".to_owned(),
        named => format!("Named: {}.", named.iter().map(|flag| flag.shown()).collect::<Vec<_>>().join(", ")),
    });
    let drops = record.drops.then(|| "Under drops that rest the accommodation.".to_owned());
    let put: Vec<String> = record.drops_put.iter().map(drops_put).collect();
    let put = (!put.is_empty()).then(|| put.join(" "));
    let near_card = record.near_card_read.map(|reads| near_card(reads).to_owned());
    let glasses = record.present_glasses.map(|glasses| format!("Glasses until now: {}.", glasses.shown()));
    let task = record.near_task.map(|task| format!("Near task: {}.", task.shown()));
    let preferred = record.preferred_eye.map(|preferred| format!("Prefers the {}.", eye(preferred)));
    [
        flags,
        drops,
        put,
        near_card,
        both,
        old,
        glasses,
        task,
        preferred,
        deviations,
        pd,
        old_addition,
        near,
        chart,
        Some(vertex),
        tilts,
        Some(with),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// What the exam comes to, as the examiner chose it.
pub fn outcome(record: &Record) -> Option<String> {
    record.outcome_in_words.as_ref().map(|words| format!("Outcome: {}.", isolated(words)))
}

/// What was seen through +2.00, in words.
pub fn through_plus_two(of_eye: &EyeRecord) -> Option<String> {
    let same = of_eye.reads_same_through_plus_two?;
    let reads = if same { "reads the same line" } else { "does not read the same line" };
    Some(format!("Through +2.00 the {} {reads}.", eye(of_eye.eye)))
}

/// Whether the near card was read in a screening pass.
pub fn near_card(reads: bool) -> &'static str {
    if reads { "The near card is read." } else { "The near card is not read." }
}

/// Drops that were put in, with the time in UTC.
pub fn drops_put(put: &DropsPut) -> String {
    let into = put.eye.map_or_else(|| "both eyes".to_owned(), |of| format!("the {}", eye(of)));
    let by = put.by.as_ref().map(|by| format!(" by {}", isolated(by))).unwrap_or_default();
    let (at, what) = (put.at.strftime("%Y-%m-%d %H:%M UTC"), isolated(&put.what));
    format!("{} put into {into} at {at}{by}, ready after {} min.", sentence(&what), put.ready_after_min)
}

/// How sure the result of an eye is, what the person would notice, and the lines that belong to it.
pub fn known(certainty: &Certainty, eye: Eye) -> String {
    let known = Known::from(*certainty);
    known_in_words(&known, eye)
}

fn known_in_words(known: &Known, of_eye: Eye) -> String {
    let within = match known.sure {
        Sure::NotSettled => String::new(),
        Sure::ToAQuarter | Sure::ToAHalf | Sure::ToThreeQuarters | Sure::Roughly => {
            format!(" (19 of 20 repeats within ±{:.2} D)", known.within_d)
        }
    };
    let answers = match (known.asked_again, known.answered_otherwise) {
        (0, _) => String::new(),
        (1, 0) => "; the one repeated question answered alike".to_owned(),
        (again, 0) => format!("; {again} repeated questions answered alike"),
        (1, _) => "; the one repeated question answered otherwise".to_owned(),
        (again, otherwise) => format!("; {otherwise} of {again} repeated questions answered otherwise"),
    };
    format!(
        "{} {}{within}{answers}. A blur of {:.2} D would be noticed, of {:.2} D trouble.",
        sentence(&eye(of_eye)),
        known.sure.shown(),
        known.noticed_blur_d,
        known.troubling_blur_d
    )
}

/// How sure each result is, the lines that are expected with it beside those read, and where they come from.
pub fn certainty(record: &Record) -> Vec<String> {
    let mut lines = Vec::new();
    for of_eye in record.eyes() {
        let Some(known) = &of_eye.certainty else { continue };
        lines.push(known_in_words(known, of_eye.eye));
        let written = |read: Acuity| read.write(record.acuity_notation, Style::Typographic);
        let held = [
            ("unaided", known.expected_unaided, of_eye.unaided),
            ("through a pinhole", known.expected_pinhole, of_eye.pinhole),
            ("through +1.00", known.expected_through_plus_one, known.through_plus_one),
        ];
        let held: Vec<String> = held
            .into_iter()
            .filter_map(|(how, expected, read)| Some(format!("{how} {} (read {})", written(expected?), written(read?))))
            .collect();
        if let Some(line) = lines.last_mut().filter(|_| !held.is_empty()) {
            *line = format!("{line} Expected {}.", held.join(", "));
        }
    }
    if !lines.is_empty() {
        lines.push(KNOWN_BY.to_owned());
    }
    lines
}

/// Where these figures come from, in short; the JSON record names the law of the expected lines in full.
const KNOWN_BY: &str = "Repeats: Rosenfield, Chiu 1995; Photonics 2024;11:634. Blur noticed: Vision Res 2005;45:1967. Expected \
                        lines: Blendowske 2015, Anderson 2008, Peters 1961.";

/// The vertex distance as it goes with the prescription, when it must.
pub fn vertex(record: &Record) -> Option<String> {
    record
        .vertex_matters
        .then(|| format!("For glasses at a vertex distance of {}.", millimetres(record.planned_vertex_mm)))
}

/// A deviation as it was neutralised, each base in a word and in degrees on the dial.
pub fn deviation(found: &DeviationRecord) -> String {
    let before = |of: Eye, parts: &[PrismPart]| {
        let part = |part: &PrismPart| {
            let degrees = part.base.degrees(of);
            format!("{} Δ base {} ({degrees}°)", fixed(part.amount, 2), part.base)
        };
        let parts: Vec<String> = parts.iter().map(part).collect();
        format!("{} {}", eye(of), if parts.is_empty() { "none".to_owned() } else { parts.join(" with ") })
    };
    let by = found.seen_by.map(|by| format!(" by {}", by.shown())).unwrap_or_default();
    let reserve = found.reserve.map(|reserve| format!("; reserve {} Δ to the blur", fixed(reserve, 2)));
    format!(
        "Deviation {}{by}, neutralised: {}, {}{}.",
        found.at.shown(),
        before(Eye::Right, &found.right),
        before(Eye::Left, &found.left),
        reserve.unwrap_or_default()
    )
}

/// How the lenses were tilted before the eyes, as far as it was declared.
pub fn tilts(record: &Record) -> Vec<String> {
    let angles = [("Pantoscopic tilt", record.tilt_deg), ("Face form", record.face_form_deg)];
    let said = |(what, degrees): (&str, Option<f64>)| {
        Some(format!("{what} {}° declared; no power here is changed for it.", degrees?))
    };
    angles.into_iter().filter_map(said).collect()
}

/// What stayed on under the frame before an eye, and what the eye takes in all with it.
pub fn stays_on(record: &Record, of_eye: &EyeRecord) -> Option<String> {
    let worn = of_eye.stays_on.as_ref()?;
    let at = match worn.kind {
        WornKind::ContactLens => String::new(),
        WornKind::Glasses => format!(" at {}", millimetres(worn.vertex_mm)),
    };
    let (who, what) = (sentence(&eye(of_eye.eye)), worn.kind.shown());
    let over = format!("{who}: found over {what} {}{at}, which stays on", prescription(worn.power));
    let total = of_eye.total.map(|total| {
        let at = millimetres(record.frame_vertex_mm);
        format!("; both together are {} as one lens at {at}", figures(total, record.form))
    });
    Some(format!("{over}{}.", total.unwrap_or_default()))
}

/// How each eye compares with what was known before, and on what that rests.
pub fn comparisons(record: &Record) -> Vec<String> {
    let mut lines: Vec<String> = record
        .eyes()
        .into_iter()
        .flat_map(|of_eye| of_eye.compared.iter().map(|compared| comparison(of_eye.eye, compared)))
        .collect();
    if !lines.is_empty() {
        lines.push(repeats_agree());
    }
    lines
}

/// What repeated refractions differ by, and who found that.
pub fn repeats_agree() -> String {
    format!(
        "95 % of repeated subjective refractions agree within ±{REPEAT_M_D:.2} D in M (Rosenfield, Chiu, Optom Vis Sci \
         1995;72:577), or ±{WIDEST_REPEAT_M_D:.2} D in M and ±{REPEAT_J_D:.2} D in J0 (Photonics 2024;11:634)."
    )
}

fn comparison(of_eye: Eye, compared: &Compared) -> String {
    let against = match compared.against {
        Against::Retinoscopy => "retinoscopy",
        Against::OldGlasses => "the present glasses",
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
    let label = record.label.as_deref().map(isolated);
    let age = record.age_years.map(|age| format!("{age} {}", if age == 1 { "year" } else { "years" }));
    let person: Vec<String> = label.into_iter().chain(age).collect();
    let opened = record.opened.strftime("%-d %B %Y, %H:%M").to_string();
    let when = match &record.closed {
        Some(closed) if closed.date() == record.opened.date() => format!("{opened} to {}", closed.strftime("%H:%M")),
        Some(closed) => format!("{opened} to {}", closed.strftime("%-d %B %Y, %H:%M")),
        None => opened,
    };
    let examiner = record.examiner.as_deref().map(|name| format!("Examiner {}", isolated(name)));
    let person = (!person.is_empty()).then(|| person.join(" · "));
    person.into_iter().chain([when]).chain(examiner).collect()
}

/// A text with its first letter large.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// A text as one line that a terminal or a printer can be given: control characters and line ends become spaces, and the
/// marks that turn the direction of writing round, which nobody sees, are left out.
pub fn printable(text: &str) -> String {
    in_one_line(text, |letter| !turns_direction(letter))
}

/// The same of a text whose parts are [`isolated`] already: the marks of that stay.
pub fn printable_parts(text: &str) -> String {
    in_one_line(text, |letter| !turns_direction(letter) || letter == ISOLATE || letter == ISOLATE_END)
}

fn in_one_line(text: &str, stays: impl Fn(char) -> bool) -> String {
    let seen = text.chars().filter(|letter| stays(*letter));
    let plain: String = seen.map(|letter| if letter.is_control() { ' ' } else { letter }).collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a character only says in which direction its neighbours run (Unicode standard annex 9, explicit formatting).
fn turns_direction(letter: char) -> bool {
    matches!(letter, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Begins a part of a line that keeps its direction to itself (FIRST STRONG ISOLATE).
pub const ISOLATE: char = '\u{2068}';
/// Ends such a part (POP DIRECTIONAL ISOLATE).
pub const ISOLATE_END: char = '\u{2069}';

/// What somebody entered, printable, as a part of a line: where letters in it run from right to left it keeps that to
/// itself, so that neither figures nor eyes beside it change places.
pub fn isolated(text: &str) -> String {
    let text = printable(text);
    if text.chars().any(runs_from_right) { format!("{ISOLATE}{text}{ISOLATE_END}") } else { text }
}

/// Whether a letter belongs to a script that runs from right to left: the blocks that Unicode sets aside for them.
fn runs_from_right(letter: char) -> bool {
    matches!(
        letter,
        '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}' | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}'
    )
}
