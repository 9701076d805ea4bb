//! A person with known eyes sits before the screen: what they say is pressed as keys.

use dioptray::exam::{Answer, Complaint};
use dioptray::guide::{Presentation, Question};
use dioptray::optics::notation::Style;
use dioptray::optics::{AcuityNotation, Eye, Power};
use dioptray::screen::App;

use super::Failure;
use super::laws::press;
use crate::steady::{Person, rx};

/// One thing that the guide presented, and the keys that answered it.
pub struct Asked {
    pub presentation: Presentation,
    pub keys: String,
}

/// An exam led from an empty frame to the written prescription, by keys alone.
pub struct Led {
    pub app: App,
    pub asked: Vec<Asked>,
}

impl Led {
    /// The keys up to and without the first step for which something holds.
    pub fn keys_to(&self, holds: impl Fn(&Presentation) -> bool) -> Result<String, Failure> {
        let at = self.asked.iter().position(|asked| holds(&asked.presentation)).ok_or("no such step")?;
        Ok(self.keys_before(at))
    }

    /// The keys of the steps before one.
    pub fn keys_before(&self, step: usize) -> String {
        let keys: Vec<&str> = self.asked[..step].iter().map(|asked| asked.keys.as_str()).collect();
        format!("g{}", keys.concat())
    }

    pub fn all_keys(&self) -> String {
        self.keys_before(self.asked.len())
    }

    /// How many keys were pressed, the one that opened the guide counted.
    pub fn count(&self) -> Result<usize, Failure> {
        Ok(dioptray::screen::keys::strokes::parse(&self.all_keys())?.len())
    }
}

/// The keys that give an answer: its number, or what is typed.
fn keys(presentation: &Presentation, answer: Answer) -> Result<String, Failure> {
    if let Some(choice) = presentation.choices.iter().find(|choice| choice.answer == answer) {
        return Ok(choice.digit.to_string());
    }
    let typed = match answer {
        Answer::Years(years) => years.to_string(),
        Answer::Millimetres(mm) => mm.to_string(),
        Answer::Degrees(degrees) => degrees.to_string(),
        Answer::Centimetres(cm) => cm.to_string(),
        Answer::Metres(metres) => metres.to_string(),
        Answer::Read(acuity) => acuity.write(AcuityNotation::SixMetres, Style::Ascii),
        other => return Err(format!("{other:?} has no key at {:?}", presentation.question).into()),
    };
    let opens = if presentation.choices.is_empty() { "" } else { "<enter>" };
    Ok(format!("{opens}{typed}<enter>"))
}

/// Leads an exam on an app; `choose` may take another way than the first between procedures.
pub fn lead(mut app: App, person: &mut Person, choose: impl Fn(&App) -> Option<&'static str>) -> Result<Led, Failure> {
    let mut asked = Vec::new();
    press(&mut app, "g")?;
    while !app.guide().findings().written {
        let presentation = app.guide().presentation().clone();
        let keys = match (&presentation.question, choose(&app)) {
            (Question::Next(_), Some(keys)) => keys.to_owned(),
            (Question::Next(_), None) => "1".to_owned(),
            _ => keys(&presentation, person.answers(&presentation, app.exam()))?,
        };
        let steps = app.exam().standing_steps().len();
        press(&mut app, &keys)?;
        if app.exam().standing_steps().len() != steps + 1 {
            return Err(format!("{keys} at {:?}: {:?}", presentation.question, app.ui.says).into());
        }
        asked.push(Asked { presentation, keys });
        if asked.len() > 300 {
            return Err("the exam does not end".into());
        }
    }
    Ok(Led { app, asked })
}

/// A short-sighted adult with a little astigmatism.
pub fn short_sighted() -> Person {
    Person::of_whole_lines(6.0, rx(-2.25, -0.75, 180.0), rx(-2.75, -1.25, 95.0), 31, Complaint::FarBlur)
}

/// A young person with long sight.
pub fn long_sighted() -> Person {
    Person::of_whole_lines(6.0, rx(2.50, 0.0, 180.0), rx(3.25, 0.0, 180.0), 12, Complaint::BlurEverywhere)
}

/// Somebody who is long-sighted, astigmatic and past reading without an addition, before a chart at 3 m.
pub fn presbyope() -> Person {
    let (right, left) = (rx(2.25, -0.50, 90.0), rx(1.75, 0.0, 180.0));
    Person::of_whole_lines(3.0, right, left, 62, Complaint::BlurEverywhere)
}

/// Somebody easy.
pub fn easy() -> Person {
    Person::of_whole_lines(6.0, rx(-1.25, 0.0, 180.0), rx(-1.0, 0.0, 180.0), 25, Complaint::FarBlur)
}

/// How far what is written is from what an eye needs: spherical equivalent, and cylinder.
pub fn off(app: &App, person: &Person, eye: Eye) -> Result<(f64, f64), Failure> {
    let prescription = dioptray::exam::Prescription::of(app.state(), 1);
    let written: Power = prescription.eye(eye).ok_or("nothing written")?.written.power();
    let off = written - person.needs[eye];
    Ok((off.m, 2.0 * off.astigmatism()))
}
