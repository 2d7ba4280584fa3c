//! Embeds of each face only the glyphs that the pages use, each with the text that it stands for.

use std::collections::BTreeMap;

use allsorts::binary::read::ReadScope;
use allsorts::font_data::FontData;
use allsorts::subset::{CmapTarget, SubsetProfile, subset};
use printpdf::{FontId, FontMetrics, FontType, ParsedFont, PdfFontMetricsStub};

use super::super::layout::Page;
use super::super::layout::fonts::Font;
use super::super::layout::mark::{Mark, Part};

/// A glyph of an embedded subset: which layer of the face, and its number there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Place {
    pub(crate) layer: usize,
    pub(crate) glyph: u16,
}

/// Where every used character and glyph is found.
///
/// A glyph of a PDF font stands for one text. Where two characters share a glyph (µ and μ) the second goes into a
/// further layer, a font of its own, so that each can be copied out as what it is.
#[derive(Debug, Default)]
pub(crate) struct Subsets {
    faces: BTreeMap<Font, Face>,
}

#[derive(Debug, Default)]
struct Face {
    /// For each layer the glyphs of the file with their texts.
    layers: Vec<BTreeMap<u16, String>>,
    characters: BTreeMap<char, (usize, u16)>,
    shaped: BTreeMap<(u16, String), usize>,
}

impl Subsets {
    pub(crate) fn new(pages: &[Page]) -> Subsets {
        let mut used: BTreeMap<Font, BTreeMap<char, ()>> = BTreeMap::new();
        let mut shaped: BTreeMap<Font, BTreeMap<(u16, String), ()>> = BTreeMap::new();
        for mark in pages.iter().flat_map(|page| &page.marks) {
            let Mark::Text(words) = mark else { continue };
            let characters = used.entry(words.font).or_default();
            for part in &words.parts {
                match part {
                    Part::Text(text) => characters.extend(text.chars().map(|character| (character, ()))),
                    Part::Glyphs(glyphs) => {
                        let shaped = shaped.entry(words.font).or_default();
                        shaped.extend(glyphs.iter().map(|glyph| (glyph.clone(), ())));
                    }
                    Part::Shift(_) => {}
                }
            }
        }
        let mut subsets = Subsets::default();
        for (font, characters) in used {
            let face = subsets.faces.entry(font).or_default();
            for character in characters.into_keys() {
                let Some(glyph) = font.glyph(character) else { continue };
                let layer = face.layer(glyph.id, &String::from(character));
                face.characters.insert(character, (layer, glyph.id));
            }
            for (glyph, text) in shaped.remove(&font).unwrap_or_default().into_keys() {
                let layer = face.layer(glyph, &text);
                face.shaped.insert((glyph, text), layer);
            }
        }
        subsets
    }

    pub(crate) fn character(&self, font: Font, character: char) -> Option<usize> {
        self.faces.get(&font)?.characters.get(&character).map(|found| found.0)
    }

    pub(crate) fn shaped(&self, font: Font, glyph: &(u16, String)) -> Option<Place> {
        let face = self.faces.get(&font)?;
        let layer = *face.shaped.get(glyph)?;
        Some(Place { layer, glyph: face.number(layer, glyph.0)? })
    }

    /// The name of a layer of a face in the file.
    pub(crate) fn id(font: Font, layer: usize) -> FontId {
        FontId(if layer == 0 { format!("{font:?}") } else { format!("{font:?}{layer}") })
    }

    /// The fonts to embed.
    pub(crate) fn embed(&mut self) -> Vec<(FontId, ParsedFont)> {
        let mut fonts = Vec::new();
        for (font, face) in &self.faces {
            for layer in 0..face.layers.len() {
                if let Some(parsed) = face.embed(*font, layer) {
                    fonts.push((Subsets::id(*font, layer), parsed));
                }
            }
        }
        fonts
    }
}

impl Face {
    /// The layer in which the glyph stands for this text.
    fn layer(&mut self, glyph: u16, text: &str) -> usize {
        let fits = |layer: &BTreeMap<u16, String>| layer.get(&glyph).is_none_or(|known| known == text);
        let place = self.layers.iter().position(fits).unwrap_or_else(|| {
            self.layers.push(BTreeMap::new());
            self.layers.len() - 1
        });
        self.layers[place].insert(glyph, text.to_owned());
        place
    }

    /// The number of a glyph in a layer: after .notdef, in the order of the file.
    fn number(&self, layer: usize, glyph: u16) -> Option<u16> {
        if glyph == 0 {
            return Some(0);
        }
        let before = self.layers[layer].range(1..glyph).count();
        u16::try_from(before + 1).ok()
    }

    fn embed(&self, font: Font, layer: usize) -> Option<ParsedFont> {
        let glyphs: Vec<u16> =
            std::iter::once(0).chain(self.layers[layer].keys().copied().filter(|glyph| *glyph > 0)).collect();
        let data = ReadScope::new(font.file()).read::<FontData<'_>>().ok()?;
        let tables = data.table_provider(0).ok()?;
        let bytes = subset(&tables, &glyphs, &SubsetProfile::Pdf, CmapTarget::Unrestricted).ok()?;

        let numbers = || (0..).zip(&glyphs);
        let number =
            |glyph: u16| glyphs.binary_search(&glyph).ok().and_then(|place| u16::try_from(place).ok());
        let codepoint_to_glyph = self
            .characters
            .iter()
            .filter(|(_, found)| found.0 == layer)
            .filter_map(|(character, found)| Some((u32::from(*character), number(found.1)?)))
            .collect();
        // In thousandths of the size, as measured: the reader adds up the same whole numbers.
        let glyph_widths = numbers()
            .filter_map(|(number, glyph)| Some((number, u16::try_from(font.advance(*glyph)).ok()?)))
            .collect();
        let original = ParsedFont::from_bytes(font.file(), 0, &mut Vec::new())?;
        let metrics = original.pdf_font_metrics;
        let em = i32::from(metrics.units_per_em).max(1);
        let scaled = |units: i16| (i32::from(units) * 1000 / em) as i16;
        Some(ParsedFont {
            font_name: Some(format!("{}+{}", tag(font, &self.layers[layer]), font.name())),
            original_bytes: bytes,
            font_index: 0,
            codepoint_to_glyph,
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
}

/// The six letters that mark a subset, the same for the same glyphs.
fn tag(font: Font, glyphs: &BTreeMap<u16, String>) -> String {
    let mut hash = blake3::Hasher::new();
    hash.update(font.name().as_bytes());
    for (glyph, text) in glyphs {
        hash.update(&glyph.to_be_bytes());
        hash.update(text.as_bytes());
    }
    hash.finalize().as_bytes().iter().take(6).map(|byte| char::from(b'A' + byte % 26)).collect()
}
