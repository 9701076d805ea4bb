//! The two faces of the page: DejaVu Sans Condensed, plain and bold, cut down to Latin, Greek, Cyrillic and common signs.
//! Only the glyphs that a page uses go into its file.
//!
//! The files in `faces/` come from DejaVu 2.37 by fonttools' `pyftsubset` (its version and the ranges stand in `faces/README`);
//! their licence lies beside them.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Write as _;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Name, Pdf, Rect, Ref, Str};
use sha2::{Digest as _, Sha256};
use subsetter::{GlyphRemapper, subset};
use unicode_normalization::UnicodeNormalization as _;

use crate::export::words;

/// A face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// Of figures and sentences.
    Plain,
    /// Of headings and of the prescription.
    Bold,
}

impl Face {
    /// Both, in the order of their places.
    pub const ALL: [Self; 2] = [Self::Plain, Self::Bold];

    /// The name in the page's resources.
    pub fn resource(self) -> Name<'static> {
        match self {
            Self::Plain => Name(b"F1"),
            Self::Bold => Name(b"F2"),
        }
    }

    fn data(self) -> &'static [u8] {
        match self {
            Self::Plain => include_bytes!("faces/DejaVuSansCondensed.ttf"),
            Self::Bold => include_bytes!("faces/DejaVuSansCondensed-Bold.ttf"),
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Plain => "DejaVuSansCondensed",
            Self::Bold => "DejaVuSansCondensed-Bold",
        }
    }
}

/// A face that cannot be read or written: never of those that come with the program.
#[derive(Debug, thiserror::Error)]
#[error("the face {face:?} of the page: {why}")]
pub struct FaceError {
    face: Face,
    why: String,
}

/// How much smaller the faces are set than a size says: their small letters are that much taller than those of the faces
/// for which pages are usually measured, and so look as large.
pub const SET_AT: f32 = 0.94;

/// What stands in place of a letter that the faces lack.
const LACKING: char = '□';

/// A face and what of it was used so far.
struct Typeface {
    of: Face,
    face: ttf_parser::Face<'static>,
    /// From the glyphs of the face to those of the file.
    glyphs: GlyphRemapper,
    /// The letter of each glyph of the file, and its width in thousandths of the size.
    used: BTreeMap<u16, (char, f32)>,
}

impl Typeface {
    fn of(face: Face) -> Result<Self, FaceError> {
        let parsed = ttf_parser::Face::parse(face.data(), 0);
        let parsed = parsed.map_err(|error| FaceError { face, why: error.to_string() })?;
        Ok(Self { of: face, face: parsed, glyphs: GlyphRemapper::new(), used: BTreeMap::new() })
    }

    /// From the units of the face to thousandths of the size.
    fn thousandths(&self, units: i16) -> f32 {
        f32::from(units) * 1000.0 / f32::from(self.face.units_per_em())
    }

    fn width_of(&self, glyph: ttf_parser::GlyphId) -> f32 {
        let units = self.face.glyph_hor_advance(glyph).unwrap_or_default();
        f32::from(units) * 1000.0 / f32::from(self.face.units_per_em())
    }
}

/// Both faces, and the letters that they lacked.
pub struct Faces {
    faces: [Typeface; 2],
    lacking: BTreeSet<char>,
}

impl Faces {
    /// Nothing of them used yet.
    pub fn new() -> Result<Self, FaceError> {
        Ok(Self { faces: [Typeface::of(Face::Plain)?, Typeface::of(Face::Bold)?], lacking: BTreeSet::new() })
    }

    fn of(&self, face: Face) -> &Typeface {
        match face {
            Face::Plain => &self.faces[0],
            Face::Bold => &self.faces[1],
        }
    }

    fn of_mut(&mut self, face: Face) -> &mut Typeface {
        match face {
            Face::Plain => &mut self.faces[0],
            Face::Bold => &mut self.faces[1],
        }
    }

    /// The letters that were asked for and are in neither face.
    pub fn lacking(&self) -> &BTreeSet<char> {
        &self.lacking
    }

    /// The width of a text at a size, in points.
    pub fn width(&self, face: Face, size: f32, text: &str) -> f32 {
        let typeface = self.of(face);
        let glyphs = drawn(text)
            .filter_map(|letter| typeface.face.glyph_index(letter).or_else(|| typeface.face.glyph_index(LACKING)));
        glyphs.map(|glyph| typeface.width_of(glyph)).sum::<f32>() * size * SET_AT / 1000.0
    }

    /// A text as the two bytes of each glyph in the file.
    pub fn encoded(&mut self, face: Face, text: &str) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(text.len() * 2);
        for letter in drawn(text) {
            let typeface = self.of(face);
            let found = typeface.face.glyph_index(letter);
            if found.is_none() {
                self.lacking.insert(letter);
            }
            let typeface = self.of_mut(face);
            let shown = if found.is_some() { letter } else { LACKING };
            let Some(glyph) = found.or_else(|| typeface.face.glyph_index(LACKING)) else { continue };
            let in_file = typeface.glyphs.remap(glyph.0);
            let width = typeface.width_of(glyph);
            typeface.used.entry(in_file).or_insert((shown, width));
            bytes.extend(in_file.to_be_bytes());
        }
        bytes
    }

    /// Writes the faces into a file, with references from one on that are not used elsewhere. Gives the reference of each,
    /// in the order of [`Face::ALL`].
    pub fn write(&self, pdf: &mut Pdf, mut next: Ref) -> Result<[Ref; 2], FaceError> {
        let mut written = [next; 2];
        for (typeface, reference) in self.faces.iter().zip(&mut written) {
            *reference = next.bump();
            write(typeface, pdf, *reference, &mut next)?;
        }
        Ok(written)
    }
}

/// The letters of a text that are drawn: accents joined to their letters, and none that only steer others.
fn drawn(text: &str) -> impl Iterator<Item = char> {
    text.nfc().filter(|letter| ![words::ISOLATE, words::ISOLATE_END].contains(letter))
}

fn write(typeface: &Typeface, pdf: &mut Pdf, reference: Ref, next: &mut Ref) -> Result<(), FaceError> {
    let [descendant, descriptor, file, unicode] = std::array::from_fn(|_| next.bump());
    let failed = |why: String| FaceError { face: typeface.of, why };
    let cut = subset(typeface.of.data(), 0, &typeface.glyphs).map_err(|error| failed(error.to_string()))?;
    let name = format!("{}+{}", tag_of(&cut), typeface.of.name());
    let name = Name(name.as_bytes());
    let system = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
    pdf.type0_font(reference)
        .base_font(name)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(descendant)
        .to_unicode(unicode);
    let mut font = pdf.cid_font(descendant);
    font.subtype(CidFontType::Type2).base_font(name).system_info(system).font_descriptor(descriptor);
    font.default_width(0.0).cid_to_gid_map_predefined(Name(b"Identity"));
    let mut widths = font.widths();
    for (&glyph, &(_, width)) in &typeface.used {
        widths.consecutive(glyph, [width]);
    }
    drop(widths);
    drop(font);
    let face = &typeface.face;
    let bounds = face.global_bounding_box();
    let bounds = [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(|units| typeface.thousandths(units));
    pdf.font_descriptor(descriptor)
        .name(name)
        .flags(FontFlags::NON_SYMBOLIC)
        .bbox(Rect::new(bounds[0], bounds[1], bounds[2], bounds[3]))
        .italic_angle(0.0)
        .ascent(typeface.thousandths(face.ascender()))
        .descent(typeface.thousandths(face.descender()))
        .cap_height(typeface.thousandths(face.capital_height().unwrap_or(face.ascender())))
        .stem_v(80.0)
        .font_file2(file);
    let mut letters = UnicodeCmap::new(Name(b"Dioptray-UCS"), system);
    for (&glyph, &(letter, _)) in &typeface.used {
        letters.pair(glyph, letter);
    }
    pdf.cmap(unicode, &letters.finish());
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(&cut).map_err(|error| failed(error.to_string()))?;
    let compressed = encoder.finish().map_err(|error| failed(error.to_string()))?;
    let mut stream = pdf.stream(file, &compressed);
    stream.filter(Filter::FlateDecode);
    stream.pair(Name(b"Length1"), i32::try_from(cut.len()).unwrap_or(i32::MAX));
    Ok(())
}

/// The six letters by which readers tell one part of a face from another.
fn tag_of(cut: &[u8]) -> String {
    Sha256::digest(cut).iter().take(6).map(|byte| char::from(b'A' + byte % 26)).collect()
}
