//! Embeds of each face only the glyphs that the pages use, each with the text that it stands for.

use std::collections::{BTreeMap, HashMap};
use std::io::Write;

use allsorts::binary::read::ReadScope;
use allsorts::font_data::FontData;
use allsorts::subset::{CmapTarget, SubsetProfile, subset};
use printpdf::{FontId, FontMetrics, FontType, ParsedFont, PdfFontMetricsStub};

use super::super::layout::fonts::{FONTS, Font};

/// A glyph of an embedded subset: which layer of the face, and its number there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Place {
    pub(crate) layer: usize,
    pub(crate) glyph: u16,
}

/// Numbers every character and glyph when it is first used, so that a page can be written before the next is known.
///
/// A glyph of a PDF font stands for one text. Where two characters share a glyph (µ and μ) the second goes into a
/// further layer, a font of its own, so that each can be copied out as what it is.
#[derive(Default)]
pub(crate) struct Glyphs {
    faces: [Face; FONTS],
}

#[derive(Default)]
struct Face {
    font: Option<Font>,
    layers: Vec<Layer>,
    ascii: Vec<Option<Place>>,
    others: HashMap<char, Place>,
    shaped: HashMap<(u16, String), Place>,
}

/// The glyphs of one embedded font, by their number in it.
struct Layer {
    /// Each with its number in the font file and its text; the first is .notdef.
    glyphs: Vec<(u16, String)>,
    numbers: HashMap<u16, u16>,
}

/// A font to embed.
pub(crate) struct Embedded {
    pub(crate) id: FontId,
    pub(crate) font: ParsedFont,
    /// Every glyph with its text.
    pub(crate) glyphs: Vec<(u16, String)>,
}

impl Glyphs {
    pub(crate) fn character(&mut self, font: Font, character: char) -> Place {
        let face = &mut self.faces[font as usize];
        let known = match face.ascii.get(character as usize) {
            Some(known) => *known,
            None => face.others.get(&character).copied(),
        };
        known.unwrap_or_else(|| face.add_character(font, character))
    }

    pub(crate) fn shaped(&mut self, font: Font, glyph: &(u16, String)) -> Place {
        let face = &mut self.faces[font as usize];
        if let Some(known) = face.shaped.get(glyph) {
            return *known;
        }
        face.font = Some(font);
        let place = face.place(glyph.0, &glyph.1);
        face.shaped.insert(glyph.clone(), place);
        place
    }

    /// Writes the name of a layer of a face in the file.
    pub(crate) fn push_name(out: &mut Vec<u8>, font: Font, layer: usize) {
        let _ = if layer == 0 { write!(out, "{font:?}") } else { write!(out, "{font:?}{layer}") };
    }

    /// The fonts to embed.
    pub(crate) fn embed(self) -> Vec<Embedded> {
        let mut fonts = Vec::new();
        for face in self.faces {
            let Some(font) = face.font else { continue };
            for (number, layer) in face.layers.into_iter().enumerate() {
                let mut name = Vec::new();
                Glyphs::push_name(&mut name, font, number);
                let id = FontId(String::from_utf8(name).unwrap_or_default());
                if let Some(parsed) = layer.embed(font) {
                    let glyphs = (0..).zip(layer.glyphs).map(|(number, (_, text))| (number, text)).collect();
                    fonts.push(Embedded { id, font: parsed, glyphs });
                }
            }
        }
        fonts
    }
}

impl Face {
    fn add_character(&mut self, font: Font, character: char) -> Place {
        self.font = Some(font);
        // What no face has was replaced before; .notdef draws a box all the same.
        let glyph = font.glyph(character).map_or(0, |glyph| glyph.id);
        let place = self.place(glyph, character.encode_utf8(&mut [0; 4]));
        if self.ascii.is_empty() {
            self.ascii = vec![None; 128];
        }
        match self.ascii.get_mut(character as usize) {
            Some(known) => *known = Some(place),
            None => drop(self.others.insert(character, place)),
        }
        place
    }

    /// The place at which the glyph stands for this text.
    fn place(&mut self, glyph: u16, text: &str) -> Place {
        if glyph == 0 {
            self.layers.is_empty().then(|| self.layers.push(Layer::new()));
            return Place { layer: 0, glyph: 0 };
        }
        for (layer, known) in self.layers.iter_mut().enumerate() {
            if let Some(number) = known.number(glyph, text) {
                return Place { layer, glyph: number };
            }
        }
        let mut layer = Layer::new();
        let number = layer.number(glyph, text).unwrap_or(0);
        self.layers.push(layer);
        Place { layer: self.layers.len() - 1, glyph: number }
    }
}

impl Layer {
    fn new() -> Layer {
        Layer { glyphs: vec![(0, String::new())], numbers: HashMap::new() }
    }

    /// The glyph's number, which it gets now if it has none; `None` if it stands for another text here.
    fn number(&mut self, glyph: u16, text: &str) -> Option<u16> {
        match self.numbers.get(&glyph) {
            Some(number) => (self.glyphs[usize::from(*number)].1 == text).then_some(*number),
            None => {
                let number = u16::try_from(self.glyphs.len()).ok()?;
                self.glyphs.push((glyph, text.to_owned()));
                self.numbers.insert(glyph, number);
                Some(number)
            }
        }
    }

    fn embed(&self, font: Font) -> Option<ParsedFont> {
        let glyphs: Vec<u16> = self.glyphs.iter().map(|glyph| glyph.0).collect();
        let data = ReadScope::new(font.file()).read::<FontData<'_>>().ok()?;
        let tables = data.table_provider(0).ok()?;
        let bytes = subset(&tables, &glyphs, &SubsetProfile::Pdf, CmapTarget::Unrestricted).ok()?;
        // In thousandths of the size, as measured: the reader adds up the same whole numbers.
        let glyph_widths = (0..)
            .zip(&glyphs)
            .filter_map(|(number, glyph)| Some((number, u16::try_from(font.advance(*glyph)).ok()?)))
            .collect();
        let original = ParsedFont::from_bytes(font.file(), 0, &mut Vec::new())?;
        let metrics = original.pdf_font_metrics;
        let em = i32::from(metrics.units_per_em).max(1);
        let scaled = |units: i16| (i32::from(units) * 1000 / em) as i16;
        Some(ParsedFont {
            font_name: Some(format!("{}+{}", self.tag(font), font.name())),
            original_bytes: bytes,
            font_index: 0,
            codepoint_to_glyph: BTreeMap::new(),
            glyph_widths,
            units_per_em: 1000,
            font_metrics: FontMetrics {
                ascent: scaled(original.font_metrics.ascent),
                descent: scaled(original.font_metrics.descent),
            },
            font_type: FontType::TrueType,
            pdf_font_metrics: PdfFontMetricsStub {
                units_per_em: 1000,
                x_min: scaled(metrics.x_min),
                y_min: scaled(metrics.y_min),
                x_max: scaled(metrics.x_max),
                y_max: scaled(metrics.y_max),
                ..metrics
            },
        })
    }

    /// The six letters that mark a subset, the same for the same glyphs.
    fn tag(&self, font: Font) -> String {
        let mut hash = blake3::Hasher::new();
        hash.update(font.name().as_bytes());
        for (glyph, text) in &self.glyphs {
            hash.update(&glyph.to_be_bytes());
            hash.update(text.as_bytes());
        }
        hash.finalize().as_bytes().iter().take(6).map(|byte| char::from(b'A' + byte % 26)).collect()
    }
}
