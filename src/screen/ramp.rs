//! The tones between the ground and the full ink of a picture, in the colours that the terminal has.

use anstyle::{Ansi256Color, RgbColor};
use anstyle_lossy::{color_to_rgb, palette};
use ratatui::style::Color;

use super::settings::{Colours, ThemeName};

/// As many levels are told apart.
const STEPS: usize = 256;

/// Tones from nothing to full: steps that look about as far apart everywhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ramp {
    /// The colour of each step.
    colours: Vec<Color>,
}

/// For a dark room: from no light over red to amber, without the blue primary, like every ink of that theme, and never greener
/// than amber, so that no tone stands out by its hue.
const AMBER: &[u8] = &[16, 52, 88, 94, 130, 136, 172, 178, 214, 220];

/// Ink on white.
const INK: &[u8] = &[
    231, 255, 254, 253, 252, 251, 250, 249, 248, 247, 246, 245, 244, 243, 242, 241, 240, 239, 238, 237, 236, 235, 234,
    233, 232, 16,
];

/// Light on black.
const LIGHT: &[u8] = &[
    16, 232, 233, 234, 235, 236, 237, 238, 239, 240, 241, 242, 243, 244, 245, 246, 247, 248, 249, 250, 251, 252, 253,
    254, 255, 231,
];

impl Ramp {
    /// The tones of what is drawn in ink, as a chart is; none where the theme or the terminal has no tones.
    pub fn of_ink(theme: ThemeName, colours: Colours) -> Option<Self> {
        Self::of(theme, colours, INK)
    }

    /// The tones of what shines, as the light in a pupil does: never dark on white.
    pub fn of_light(theme: ThemeName, colours: Colours) -> Option<Self> {
        Self::of(theme, colours, LIGHT)
    }

    fn of(theme: ThemeName, colours: Colours, by_day: &'static [u8]) -> Option<Self> {
        let tones = match theme {
            ThemeName::Dark => AMBER,
            ThemeName::Daylight => by_day,
            ThemeName::Plain => return None,
        };
        match colours {
            Colours::All => Some(Self::mixed(tones)),
            Colours::Many => Some(Self::among(tones)),
            Colours::Sixteen => None,
        }
    }

    /// Mixed of the first and the last of these.
    fn mixed(tones: &[u8]) -> Self {
        let ends = [tones.first(), tones.last()].map(|tone| rgb(tone.copied().unwrap_or_default()));
        let [RgbColor(r, g, b), RgbColor(red, green, blue)] = ends;
        let part = |from: u8, to: u8, level: f64| (f64::from(from) + level * (f64::from(to) - f64::from(from))).round();
        Self::by_level(|level| {
            let [red, green, blue] = [(r, red), (g, green), (b, blue)].map(|(from, to)| part(from, to, level) as u8);
            Color::Rgb(red, green, blue)
        })
    }

    /// Of these, each level the one that looks nearest to it.
    fn among(tones: &[u8]) -> Self {
        let light: Vec<(u8, f64)> = tones.iter().map(|&tone| (tone, lightness(tone))).collect();
        let [from, to] = [light.first(), light.last()].map(|end| end.map_or(0.0, |(_, light)| *light));
        Self::by_level(|level| {
            let off = |(_, light): &&(u8, f64)| (light - from - level * (to - from)).abs();
            let nearest = light.iter().min_by(|one, other| off(one).total_cmp(&off(other)));
            nearest.map_or(Color::Reset, |&(tone, _)| Color::Indexed(tone))
        })
    }

    fn by_level(colour: impl Fn(f64) -> Color) -> Self {
        Self { colours: (0..STEPS).map(|step| colour(step as f64 / (STEPS - 1) as f64)).collect() }
    }

    /// Red, green and blue of a level from 0 (nothing) to 1 (full).
    pub fn rgb(&self, level: f64) -> [u8; 3] {
        match self.colour(level) {
            Color::Rgb(red, green, blue) => [red, green, blue],
            Color::Indexed(tone) => {
                let RgbColor(red, green, blue) = rgb(tone);
                [red, green, blue]
            }
            // a ramp has no others
            _ => [0; 3],
        }
    }

    /// The colour of a level from 0 (nothing) to 1 (full).
    pub fn colour(&self, level: f64) -> Color {
        self.colours[(level.clamp(0.0, 1.0) * (STEPS - 1) as f64).round() as usize]
    }
}

fn rgb(tone: u8) -> RgbColor {
    color_to_rgb(Ansi256Color(tone).into(), palette::DEFAULT)
}

/// How light a colour looks, from 0 to 100: the L* of CIE 1976 over the luminance of sRGB (IEC 61966-2-1).
fn lightness(tone: u8) -> f64 {
    let linear = |part: u8| {
        let share = f64::from(part) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { libm::pow((share + 0.055) / 1.055, 2.4) }
    };
    let RgbColor(red, green, blue) = rgb(tone);
    let luminance = 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue);
    if luminance <= 0.008_856 { 903.3 * luminance } else { 116.0 * libm::cbrt(luminance) - 16.0 }
}
