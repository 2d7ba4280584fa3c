//! Embeds of each face only the glyphs that the pages use, each with the text that it stands for.

use std::collections::{BTreeMap, HashMap};

use allsorts::binary::read::ReadScope;
use allsorts::font_data::FontData;
use allsorts::subset::{CmapTarget, SubsetProfile, subset};
use printpdf::{
    Codepoint, FontId, FontMetrics, Op, ParsedFont, PdfFontHandle, PdfFontMetricsStub, Pt, TextItem,
};

use super::super::layout::fonts::{FONTS, Font};

/// Numbers every character and glyph when it is first used.
///
/// A glyph of a PDF font stands for one text. Where two characters share a glyph (µ and μ) it is embedded twice, so
/// that each can be copied out as what it is.
#[derive(Default)]
pub(crate) struct Glyphs {
    faces: [Face; FONTS],
}

#[derive(Default)]
struct Face {
    /// Each with its number in the font file and its text; the first is .notdef, and without it the face is not used.
    glyphs: Vec<(u16, String)>,
    ascii: Vec<Option<u16>>,
    others: HashMap<char, u16>,
    shaped: HashMap<(u16, String), u16>,
}

/// The name of a face in the file.
pub(crate) fn font_id(font: Font) -> FontId {
    FontId(format!("{font:?}"))
}

impl Glyphs {
    pub(crate) fn character(&mut self, font: Font, character: char) -> u16 {
        let face = &mut self.faces[font as usize];
        let known = match face.ascii.get(character as usize) {
            Some(known) => *known,
            None => face.others.get(&character).copied(),
        };
        known.unwrap_or_else(|| face.add_character(font, character))
    }

    /// The number of a glyph that only shaping finds.
    pub(crate) fn shaped(&mut self, font: Font, glyph: &(u16, String)) -> u16 {
        let face = &mut self.faces[font as usize];
        if let Some(known) = face.shaped.get(glyph) {
            return *known;
        }
        let number = face.add(glyph.0, glyph.1.clone());
        face.shaped.insert(glyph.clone(), number);
        number
    }

    /// Shows every glyph once: the page library embeds what some page shows.
    pub(crate) fn specimen(&self) -> Vec<Op> {
        let mut ops = vec![Op::StartTextSection];
        for (font, face) in self.used() {
            let glyphs = (0..).zip(&face.glyphs);
            let glyphs = glyphs.map(|(number, (_, text))| Codepoint::with_cid(number, 0.0, text.clone()));
            ops.push(Op::SetFont { font: PdfFontHandle::External(font_id(font)), size: Pt(1.0) });
            ops.push(Op::ShowText { items: vec![TextItem::GlyphIds(glyphs.collect())] });
        }
        ops
    }

    /// The fonts to embed.
    pub(crate) fn embed(&self) -> impl Iterator<Item = (FontId, ParsedFont)> {
        self.used().filter_map(|(font, face)| Some((font_id(font), face.embed(font)?)))
    }

    fn used(&self) -> impl Iterator<Item = (Font, &Face)> {
        Font::ALL.into_iter().zip(&self.faces).filter(|(_, face)| !face.glyphs.is_empty())
    }
}

impl Face {
    fn add_character(&mut self, font: Font, character: char) -> u16 {
        // What no face has was replaced before; .notdef draws a box all the same.
        let glyph = font.glyph(character).map_or(0, |glyph| glyph.id);
        let number = self.add(glyph, character.to_string());
        self.ascii.resize(128, None);
        match self.ascii.get_mut(character as usize) {
            Some(known) => *known = Some(number),
            None => drop(self.others.insert(character, number)),
        }
        number
    }

    fn add(&mut self, glyph: u16, text: String) -> u16 {
        if self.glyphs.is_empty() {
            self.glyphs.push((0, String::new()));
        }
        match u16::try_from(self.glyphs.len()) {
            Ok(number) if glyph != 0 => {
                self.glyphs.push((glyph, text));
                number
            }
            _ => 0,
        }
    }

    fn embed(&self, font: Font) -> Option<ParsedFont> {
        let glyphs: Vec<u16> = self.glyphs.iter().map(|glyph| glyph.0).collect();
        let data = ReadScope::new(font.file()).read::<FontData<'_>>().ok()?;
        let tables = data.table_provider(0).ok()?;
        let bytes = subset(&tables, &glyphs, &SubsetProfile::Pdf, CmapTarget::Unrestricted).ok()?;
        // In thousandths of the size, as measured: the reader adds up the same whole numbers.
        let widths = (0..)
            .zip(&glyphs)
            .filter_map(|(number, glyph)| Some((number, u16::try_from(font.advance(*glyph)).ok()?)))
            .collect();
        let original = ParsedFont::from_bytes(font.file(), 0, &mut Vec::new())?;
        let metrics = original.pdf_font_metrics;
        let em = i32::from(metrics.units_per_em).max(1);
        let scaled = |units: i16| (i32::from(units) * 1000 / em) as i16;
        let FontMetrics { ascent, descent } = original.font_metrics;
        let whole = FontMetrics { ascent: scaled(ascent), descent: scaled(descent) };
        Some(ParsedFont {
            font_name: Some(format!("{}+{}", self.tag(font), font.name())),
            pdf_font_metrics: PdfFontMetricsStub {
                units_per_em: 1000,
                x_min: scaled(metrics.x_min),
                y_min: scaled(metrics.y_min),
                x_max: scaled(metrics.x_max),
                y_max: scaled(metrics.y_max),
                ..metrics
            },
            ..ParsedFont::with_glyph_data(bytes, 0, None, BTreeMap::new(), widths, 1000, whole)
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
