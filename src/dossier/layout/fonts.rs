//! The faces a dossier is set in, with their glyphs and advances: Roboto Condensed for tables, DejaVu for all else,
//! none from the machine.

use std::collections::HashMap;
use std::sync::OnceLock;

use allsorts::binary::read::ReadScope;
use allsorts::font::read_cmap_subtable;
use allsorts::font_data::FontData;
use allsorts::tables::cmap::Cmap;
use allsorts::tables::{FontTableProvider, HeadTable, HheaTable, HmtxTable, MaxpTable};
use allsorts::tag;
use dejavu::{sans, sans_mono, serif_condensed};

/// One face. `Wide` is the fullest one and lends its glyphs to the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Font {
    Serif,
    SerifBold,
    SerifItalic,
    SerifBoldItalic,
    Sans,
    SansBold,
    SansItalic,
    SansBoldItalic,
    Mono,
    MonoBold,
    MonoItalic,
    MonoBoldItalic,
    Wide,
    WideBold,
}

/// A file of the condensed family, as its makers published it.
macro_rules! condensed {
    ($face:literal) => {
        include_bytes!(concat!("../../../templates/fonts/RobotoCondensed-", $face, ".ttf"))
    };
}

/// How many faces there are.
pub(crate) const FONTS: usize = Font::ALL.len();

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Family {
    /// For what is read line after line.
    Serif,
    /// Condensed, for tables, notes and labels.
    Sans,
    /// For what is typed.
    Mono,
}

/// A glyph of one face; the advance in thousandths of the size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Glyph {
    pub(crate) id: u16,
    pub(crate) advance: i32,
}

impl Font {
    pub(crate) const ALL: [Font; 14] = [
        Font::Serif,
        Font::SerifBold,
        Font::SerifItalic,
        Font::SerifBoldItalic,
        Font::Sans,
        Font::SansBold,
        Font::SansItalic,
        Font::SansBoldItalic,
        Font::Mono,
        Font::MonoBold,
        Font::MonoItalic,
        Font::MonoBoldItalic,
        Font::Wide,
        Font::WideBold,
    ];

    pub(crate) fn pick(family: Family, bold: bool, italic: bool) -> Font {
        match (family, bold, italic) {
            (Family::Serif, false, false) => Font::Serif,
            (Family::Serif, true, false) => Font::SerifBold,
            (Family::Serif, false, true) => Font::SerifItalic,
            (Family::Serif, true, true) => Font::SerifBoldItalic,
            (Family::Sans, false, false) => Font::Sans,
            (Family::Sans, true, false) => Font::SansBold,
            (Family::Sans, false, true) => Font::SansItalic,
            (Family::Sans, true, true) => Font::SansBoldItalic,
            (Family::Mono, false, false) => Font::Mono,
            (Family::Mono, true, false) => Font::MonoBold,
            (Family::Mono, false, true) => Font::MonoItalic,
            (Family::Mono, true, true) => Font::MonoBoldItalic,
        }
    }

    /// The PostScript name without the mark of a subset.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Font::Serif => "DejaVuSerifCondensed",
            Font::SerifBold => "DejaVuSerifCondensed-Bold",
            Font::SerifItalic => "DejaVuSerifCondensed-Italic",
            Font::SerifBoldItalic => "DejaVuSerifCondensed-BoldItalic",
            Font::Sans => "RobotoCondensed-Regular",
            Font::SansBold => "RobotoCondensed-Bold",
            Font::SansItalic => "RobotoCondensed-Italic",
            Font::SansBoldItalic => "RobotoCondensed-BoldItalic",
            Font::Mono => "DejaVuSansMono",
            Font::MonoBold => "DejaVuSansMono-Bold",
            Font::MonoItalic => "DejaVuSansMono-Oblique",
            Font::MonoBoldItalic => "DejaVuSansMono-BoldOblique",
            Font::Wide => "DejaVuSans",
            Font::WideBold => "DejaVuSans-Bold",
        }
    }

    /// The font file.
    pub(crate) fn file(self) -> &'static [u8] {
        match self {
            Font::Serif => serif_condensed::regular(),
            Font::SerifBold => serif_condensed::bold(),
            Font::SerifItalic => serif_condensed::italic(),
            Font::SerifBoldItalic => serif_condensed::bold_italic(),
            Font::Sans => condensed!("Regular"),
            Font::SansBold => condensed!("Bold"),
            Font::SansItalic => condensed!("Italic"),
            Font::SansBoldItalic => condensed!("BoldItalic"),
            Font::Mono => sans_mono::regular(),
            Font::MonoBold => sans_mono::bold(),
            Font::MonoItalic => sans_mono::oblique(),
            Font::MonoBoldItalic => sans_mono::bold_oblique(),
            Font::Wide => sans::regular(),
            Font::WideBold => sans::bold(),
        }
    }

    fn heavy(self) -> bool {
        self.name().contains("Bold")
    }

    /// The faces to try for a character that this one lacks, the likest first.
    fn lenders(self) -> [Font; 4] {
        if self.heavy() {
            [Font::WideBold, Font::Wide, Font::Serif, Font::Mono]
        } else {
            [Font::Wide, Font::Serif, Font::Mono, Font::WideBold]
        }
    }

    /// Whether running text in this face is kerned: tables and code are not, their figures must stand in line.
    pub(crate) fn kerned(self) -> bool {
        matches!(self, Font::Serif | Font::SerifBold | Font::SerifItalic | Font::SerifBoldItalic)
    }

    pub(crate) fn glyph(self, character: char) -> Option<Glyph> {
        self.metrics().glyph(character)
    }

    /// The advance of a glyph in thousandths of the size; 0 for one that the face does not have.
    pub(crate) fn advance(self, glyph: u16) -> i32 {
        self.metrics().advances.get(usize::from(glyph)).copied().unwrap_or(0)
    }

    /// The face that has the character: this one, or the likest that lends it.
    pub(crate) fn with_glyph(self, character: char) -> Option<(Font, Glyph)> {
        if let Some(glyph) = self.glyph(character) {
            return Some((self, glyph));
        }
        self.lenders().into_iter().find_map(|font| font.glyph(character).map(|glyph| (font, glyph)))
    }

    fn metrics(self) -> &'static Metrics {
        static METRICS: [OnceLock<Metrics>; FONTS] = [const { OnceLock::new() }; FONTS];
        METRICS[self as usize].get_or_init(|| Metrics::read(self.file()).unwrap_or_default())
    }
}

/// What setting needs of a font file.
#[derive(Debug, Default)]
struct Metrics {
    ascii: Vec<Option<Glyph>>,
    others: HashMap<u32, Glyph>,
    advances: Vec<i32>,
}

impl Metrics {
    fn glyph(&self, character: char) -> Option<Glyph> {
        match self.ascii.get(character as usize) {
            Some(glyph) => *glyph,
            None => self.others.get(&u32::from(character)).copied(),
        }
    }

    fn read(file: &[u8]) -> Option<Metrics> {
        let data = ReadScope::new(file).read::<FontData<'_>>().ok()?;
        let tables = data.table_provider(0).ok()?;
        let head = tables.read_table_data(tag::HEAD).ok()?;
        let head = ReadScope::new(&head).read::<HeadTable>().ok()?;
        let maxp = tables.read_table_data(tag::MAXP).ok()?;
        let maxp = ReadScope::new(&maxp).read::<MaxpTable>().ok()?;
        let hhea = tables.read_table_data(tag::HHEA).ok()?;
        let hhea = ReadScope::new(&hhea).read::<HheaTable>().ok()?;
        let hmtx = tables.read_table_data(tag::HMTX).ok()?;
        let sizes = (usize::from(maxp.num_glyphs), usize::from(hhea.num_h_metrics));
        let hmtx = ReadScope::new(&hmtx).read_dep::<HmtxTable<'_>>(sizes).ok()?;
        let em = i32::from(head.units_per_em).max(1);
        let advances: Vec<i32> = (0..maxp.num_glyphs)
            .map(|glyph| thousandths(i32::from(hmtx.horizontal_advance(glyph).unwrap_or(0)), em))
            .collect();
        let cmap = tables.read_table_data(tag::CMAP).ok()?;
        let cmap = ReadScope::new(&cmap).read::<Cmap<'_>>().ok()?;
        let (_, subtable) = read_cmap_subtable(&cmap).ok()??;
        let mut metrics = Metrics { ascii: vec![None; 128], others: HashMap::new(), advances };
        subtable
            .mappings_fn(|character, id| {
                let advance = metrics.advances.get(usize::from(id)).copied().unwrap_or(0);
                let glyph = Glyph { id, advance };
                match metrics.ascii.get_mut(character as usize) {
                    Some(place) => *place = Some(glyph),
                    None => drop(metrics.others.insert(character, glyph)),
                }
            })
            .ok()?;
        Some(metrics)
    }
}

/// Font units to thousandths of the size, rounded half away from zero, so that what is measured here and what
/// a reader of the PDF adds up are the same whole numbers.
pub(crate) fn thousandths(units: i32, units_per_em: i32) -> i32 {
    (f64::from(units) * 1000.0 / f64::from(units_per_em)).round() as i32
}

#[cfg(test)]
mod tests {
    use super::{Family, Font};

    #[test]
    fn every_face_can_be_read() {
        for font in Font::ALL {
            assert!(font.glyph('a').is_some_and(|glyph| glyph.advance > 300), "{font:?}");
        }
    }

    #[test]
    fn figures_are_tabular() {
        for font in [Font::Sans, Font::SansBold, Font::Serif, Font::Mono] {
            let width = |digit| font.glyph(digit).map(|glyph| glyph.advance);
            assert!(('1'..='9').all(|digit| width(digit) == width('0')), "{font:?}");
        }
    }

    #[test]
    fn a_missing_glyph_is_lent() {
        let serif = Font::pick(Family::Serif, false, false);
        assert_eq!(serif.with_glyph('Ω').map(|found| found.0), Some(Font::Serif));
        assert!(serif.with_glyph('☐').is_some());
        assert_eq!(serif.with_glyph('漢'), None);
    }
}
