//! Text to glyphs: finds a face for every character, kerns running text, and keeps words that recur.

use std::collections::{BTreeSet, HashMap};
use std::rc::Rc;
use std::sync::OnceLock;

use harfrust::{Buffer, Feature, ShapeOptions, ShaperFont, Tag, shape};

use super::fonts::{FONTS, Font, thousandths};
use super::mark::Part;

/// The no-break space inside a number, in thousandths of the size.
const NARROW: i32 = 180;

/// Bytes that are shaped together at most: a word longer than this is no word.
const LONGEST: usize = 256;

/// What stands for a character that no face has.
const REPLACEMENT: char = '\u{FFFD}';

/// Text in one face; the width in thousandths of the size.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Piece {
    pub(crate) font: Font,
    pub(crate) parts: Vec<Part>,
    pub(crate) width: i32,
}

/// Sets text; remembers what it could not set.
#[derive(Default)]
pub(crate) struct Setter {
    words: [HashMap<Box<str>, Rc<[Piece]>>; FONTS],
    missing: BTreeSet<char>,
}

impl Setter {
    /// Characters that no face has, each once, sorted.
    pub(crate) fn missing(&self) -> Vec<char> {
        self.missing.iter().copied().collect()
    }

    /// The width of a text in thousandths of the size.
    pub(crate) fn width(&mut self, font: Font, text: &str) -> i32 {
        if !font.kerned()
            && let Some(width) = plain_width(font, text)
        {
            return width;
        }
        let mut width = 0;
        for (word, space) in words(text) {
            width += self.word(font, word).iter().map(|piece| piece.width).sum::<i32>();
            width += space.map_or(0, |space| space_width(font, space));
        }
        width
    }

    /// The text as pieces in one face each, left to right.
    pub(crate) fn set(&mut self, font: Font, text: &str) -> Vec<Piece> {
        if !font.kerned()
            && let Some(piece) = plain_piece(font, text)
        {
            return vec![piece];
        }
        let mut pieces: Vec<Piece> = Vec::new();
        for (word, space) in words(text) {
            for piece in self.word(font, word).iter() {
                append(&mut pieces, piece);
            }
            if let Some(space) = space {
                append(&mut pieces, &space_piece(font, space));
            }
        }
        pieces
    }

    fn word(&mut self, font: Font, word: &str) -> Rc<[Piece]> {
        if let Some(known) = self.words[font as usize].get(word) {
            return Rc::clone(known);
        }
        let made: Rc<[Piece]> = self.make(font, word).into();
        self.words[font as usize].insert(word.into(), Rc::clone(&made));
        made
    }

    fn make(&mut self, font: Font, word: &str) -> Vec<Piece> {
        let mut runs: Vec<(Font, String)> = Vec::new();
        for character in word.chars().filter(|character| !invisible(*character)) {
            let (found, character) = match font.with_glyph(character) {
                Some((found, _)) => (found, character),
                None => {
                    self.missing.insert(character);
                    (Font::Wide, REPLACEMENT)
                }
            };
            match runs.last_mut() {
                Some((last, text)) if *last == found && text.len() < LONGEST => text.push(character),
                _ => runs.push((found, String::from(character))),
            }
        }
        runs.into_iter()
            .map(|(font, text)| {
                if font.kerned() || text.chars().any(needs_shaping) {
                    shaped(font, &text).unwrap_or_else(|| plain(font, text))
                } else {
                    plain(font, text)
                }
            })
            .collect()
    }
}

/// Words, each with the space after it.
fn words(text: &str) -> impl Iterator<Item = (&str, Option<char>)> {
    text.split_inclusive(is_space).map(|stretch| match stretch.chars().next_back() {
        Some(last) if is_space(last) => (&stretch[..stretch.len() - last.len_utf8()], Some(last)),
        _ => (stretch, None),
    })
}

fn is_space(character: char) -> bool {
    matches!(character, ' ' | '\u{a0}' | '\u{202f}' | '\u{2007}')
}

fn space_width(font: Font, space: char) -> i32 {
    if space == ' ' { font.glyph(' ').map_or(300, |glyph| glyph.advance) } else { NARROW }
}

/// A space, drawn narrow where it holds a number together, and read as a plain one.
fn space_piece(font: Font, space: char) -> Piece {
    let mut parts = vec![Part::Text(String::from(' '))];
    let width = space_width(font, space);
    if space != ' ' {
        parts.push(Part::Shift(width - space_width(font, ' ')));
    }
    Piece { font, parts, width }
}

/// The width of a text that needs no other face and no shaping; `None` for any other.
fn plain_width(font: Font, text: &str) -> Option<i32> {
    let mut width = 0;
    for character in text.chars() {
        if is_space(character) {
            width += space_width(font, character);
        } else if needs_shaping(character) || invisible(character) {
            return None;
        } else {
            width += font.glyph(character)?.advance;
        }
    }
    Some(width)
}

/// A text that needs no other face and no shaping; `None` for any other, and for none at all.
fn plain_piece(font: Font, text: &str) -> Option<Piece> {
    let (mut parts, mut run, mut width) = (Vec::with_capacity(1), String::with_capacity(text.len() + 1), 0);
    for character in text.chars() {
        if is_space(character) {
            let wide = space_width(font, ' ');
            let own = space_width(font, character);
            run.push(' ');
            width += own;
            if own != wide {
                parts.push(Part::Text(std::mem::take(&mut run)));
                parts.push(Part::Shift(own - wide));
            }
        } else if needs_shaping(character) || invisible(character) {
            return None;
        } else {
            width += font.glyph(character)?.advance;
            run.push(character);
        }
    }
    if !run.is_empty() {
        parts.push(Part::Text(run));
    }
    (!parts.is_empty()).then_some(Piece { font, parts, width })
}

fn plain(font: Font, text: String) -> Piece {
    let width = text.chars().filter_map(|character| font.glyph(character)).map(|glyph| glyph.advance).sum();
    Piece { font, parts: vec![Part::Text(text)], width }
}

/// Kerned and, in scripts that need it, joined; ligatures stay off so that every letter can be found again.
fn shaped(font: Font, text: &str) -> Option<Piece> {
    static FACES: [OnceLock<Option<harfrust::Font>>; FONTS] = [const { OnceLock::new() }; FONTS];
    let face = FACES[font as usize].get_or_init(|| harfrust::Font::new(font.file(), 0)).as_ref()?;
    let shaper = ShaperFont::new(face);
    let mut buffer = Buffer::new();
    buffer.push_str(text);
    buffer.guess_segment_properties();
    let features = [b"liga", b"clig", b"dlig"].map(|name| Feature::new(Tag::new(name), 0, ..));
    shape(&shaper, &mut buffer, ShapeOptions::new().features(&features)).ok()?;

    let em = i32::from(face.units_per_em()).max(1);
    let mut piece = Piece { font, parts: Vec::new(), width: 0 };
    for (index, (info, position)) in buffer.glyph_infos().iter().zip(buffer.glyph_positions()).enumerate() {
        let glyph = u16::try_from(info.glyph_id).ok()?;
        let first = index == 0 || buffer.glyph_infos()[index - 1].cluster != info.cluster;
        let natural = font.advance(glyph);
        let advance = thousandths(position.x_advance, em);
        let offset = thousandths(position.x_offset, em);
        let stands_for = if first { cluster(text, &buffer, info.cluster as usize) } else { "" };
        push_shift(&mut piece.parts, offset);
        let mut characters = stands_for.chars();
        match (characters.next(), characters.next()) {
            (Some(only), None) if font.glyph(only).is_some_and(|found| found.id == glyph) => {
                push_text(&mut piece.parts, stands_for);
            }
            _ => piece.parts.push(Part::Glyphs(vec![(glyph, stands_for.to_owned())])),
        }
        push_shift(&mut piece.parts, advance - natural - offset);
        piece.width += advance;
    }
    Some(piece)
}

/// The text of the cluster that begins at `start`.
fn cluster<'a>(text: &'a str, buffer: &Buffer, start: usize) -> &'a str {
    let next =
        buffer.glyph_infos().iter().map(|info| info.cluster as usize).filter(|other| *other > start).min();
    text.get(start..next.unwrap_or(text.len())).unwrap_or("")
}

fn append(pieces: &mut Vec<Piece>, piece: &Piece) {
    match pieces.last_mut() {
        Some(last) if last.font == piece.font => {
            last.width += piece.width;
            for part in &piece.parts {
                match part {
                    Part::Text(text) => push_text(&mut last.parts, text),
                    Part::Shift(step) => push_shift(&mut last.parts, *step),
                    Part::Glyphs(_) => last.parts.push(part.clone()),
                }
            }
        }
        _ => pieces.push(piece.clone()),
    }
}

fn push_text(parts: &mut Vec<Part>, text: &str) {
    match parts.last_mut() {
        Some(Part::Text(last)) => last.push_str(text),
        _ => parts.push(Part::Text(text.to_owned())),
    }
}

fn push_shift(parts: &mut Vec<Part>, step: i32) {
    match parts.last_mut() {
        _ if step == 0 => {}
        Some(Part::Shift(last)) => *last += step,
        _ => parts.push(Part::Shift(step)),
    }
}

/// Combining marks, and scripts whose letters join or reorder.
fn needs_shaping(character: char) -> bool {
    matches!(u32::from(character),
        0x0300..=0x036f | 0x0483..=0x0489 | 0x0590..=0x109f | 0x1780..=0x17ff | 0x1dc0..=0x1dff
        | 0x20d0..=0x20ff | 0xfb1d..=0xfdff | 0xfe20..=0xfe2f | 0xfe70..=0xfefc)
}

/// Characters that leave no mark on paper.
fn invisible(character: char) -> bool {
    character.is_control()
        || matches!(u32::from(character),
            0x00ad | 0x034f | 0x061c | 0x180e | 0x200b..=0x200f | 0x2028..=0x202e | 0x2060..=0x206f
            | 0xfe00..=0xfe0f | 0xfeff | 0xe0000..=0xe0fff)
}

#[cfg(test)]
mod tests {
    use super::{Part, Setter};
    use crate::dossier::layout::fonts::Font;

    #[track_caller]
    fn check(font: Font, text: &str, parts: &[Part]) {
        let pieces = Setter::default().set(font, text);
        let all: Vec<Part> = pieces.into_iter().flat_map(|piece| piece.parts).collect();
        assert_eq!(all, parts);
    }

    #[test]
    fn a_space_in_a_number_is_narrow_and_plain() {
        let parts = [Part::Text("12 ".into()), Part::Shift(180 - 229), Part::Text("133".into())];
        check(Font::Sans, "12\u{a0}133", &parts);
    }

    #[test]
    fn running_text_is_kerned_and_keeps_its_letters() {
        let pieces = Setter::default().set(Font::Serif, "AVfi");
        assert!(pieces[0].parts.iter().any(|part| matches!(part, Part::Shift(step) if *step < 0)));
        assert!(!pieces[0].parts.iter().any(|part| matches!(part, Part::Glyphs(_))), "{pieces:?}");
    }

    #[test]
    fn measuring_and_setting_agree() {
        for font in [Font::Serif, Font::SansBold, Font::Mono] {
            let mut setter = Setter::default();
            let text = "Torque at 12\u{a0}133\u{a0}rpm, Ω and ☐, e\u{301}";
            let set: i32 = setter.set(font, text).iter().map(|piece| piece.width).sum();
            assert_eq!(setter.width(font, text), set);
        }
    }

    #[test]
    fn a_missing_character_is_reported_once_and_shown() {
        let mut setter = Setter::default();
        let pieces = setter.set(Font::Serif, "漢 漢字");
        assert_eq!(setter.missing(), ['字', '漢']);
        assert!(
            pieces.iter().any(|piece| piece.parts.contains(&Part::Text("\u{fffd}".into()))),
            "{pieces:?}"
        );
    }

    #[test]
    fn what_leaves_no_mark_is_not_missing() {
        let mut setter = Setter::default();
        assert_eq!(setter.width(Font::Sans, "a\u{200b}b\u{feff}"), setter.width(Font::Sans, "ab"));
        assert!(setter.missing().is_empty());
    }
}
