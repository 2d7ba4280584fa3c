//! The marks of a page as drawing operators, y upwards.

use super::super::layout::Page;
use super::super::layout::fonts::Font;
use super::super::layout::mark::{Area, Dash, Mark, Part, Words};
use super::super::layout::palette::Colour;
use super::glyphs::Glyphs;
use super::object::{cents, hundredths, integer, length, push_byte};

/// The operators of a page, and for each marked sequence in them the element that it belongs to; the first sequence
/// gets the number `begin`.
pub(crate) fn content(page: &Page, height: f64, glyphs: &mut Glyphs, begin: usize) -> (Vec<u8>, Vec<u32>) {
    let mut writer = Writer {
        height,
        glyphs,
        out: Vec::with_capacity(page.marks.len() * 64),
        state: State::default(),
        begin,
        marked: Vec::new(),
        text: Line::default(),
    };
    let mut tags = page.tags.iter().peekable();
    let mut tag = None;
    for (place, mark) in page.marks.iter().enumerate() {
        while let Some((_, element)) = tags.next_if(|tag| tag.0 <= place) {
            tag = *element;
        }
        writer.tag(tag);
        writer.mark(mark);
    }
    writer.end_tag();
    (writer.out, writer.marked)
}

struct Writer<'a> {
    height: f64,
    glyphs: &'a mut Glyphs,
    out: Vec<u8>,
    state: State,
    begin: usize,
    /// The element of each marked sequence so far.
    marked: Vec<u32>,
    text: Line,
}

/// Text that has gathered and is not shown yet.
#[derive(Default)]
struct Line {
    /// What stands in the array of a showing operator.
    items: Vec<u8>,
    /// A string is open at its end.
    open: bool,
    /// There are steps between its strings.
    stepped: bool,
}

/// What the operators so far have set, so that nothing is set twice.
#[derive(Default)]
struct State {
    in_text: bool,
    /// Where the pen of this text began, in hundredths.
    pen_at: (i64, i64),
    /// The element that is open; `Some(None)` for furniture.
    tag: Option<Option<usize>>,
    face: Option<(Font, usize, f64)>,
    fill: Option<Colour>,
    pen: Option<(Colour, f64, Dash)>,
}

impl Writer<'_> {
    fn mark(&mut self, mark: &Mark) {
        if let Mark::Text(words) = mark {
            return self.words(words);
        }
        self.end_text();
        match mark {
            Mark::Text(_) => {}
            Mark::Line { points, weight, colour, dash } => {
                self.pen(*colour, *weight, *dash);
                self.path(points);
                self.put("S\n");
            }
            Mark::Shape { points, colour } => {
                self.fill(*colour);
                self.path(points);
                self.put("h f\n");
            }
            Mark::Image { picture, area, orientation } => {
                self.put("q ");
                for part in self.place(*area, *orientation) {
                    length(&mut self.out, part);
                    self.out.push(b' ');
                }
                self.put("cm /Picture");
                integer(&mut self.out, *picture as u64);
                self.put(" Do Q\n");
            }
        }
    }

    /// The matrix that puts a picture, a unit square, into its area the right way up (Exif 2.32, 4.6.4 A).
    fn place(&self, area: Area, orientation: u8) -> [f64; 6] {
        let (width, height) = (area.right - area.left, area.bottom - area.top);
        let (x, y) = (area.left, self.height - area.bottom);
        match orientation {
            2 => [-width, 0.0, 0.0, height, x + width, y],
            3 => [-width, 0.0, 0.0, -height, x + width, y + height],
            4 => [width, 0.0, 0.0, -height, x, y + height],
            5 => [0.0, -height, -width, 0.0, x + width, y + height],
            6 => [0.0, -height, width, 0.0, x, y + height],
            7 => [0.0, height, width, 0.0, x, y],
            8 => [0.0, height, -width, 0.0, x + width, y],
            _ => [width, 0.0, 0.0, height, x, y],
        }
    }

    fn path(&mut self, points: &[(f64, f64)]) {
        for (index, (x, y)) in points.iter().enumerate() {
            length(&mut self.out, *x);
            self.out.push(b' ');
            length(&mut self.out, self.height - y);
            self.put(if index == 0 { " m " } else { " l " });
        }
    }

    fn words(&mut self, words: &Words) {
        let mut started = false;
        let mut layer = 0;
        let spelled = letters(words);
        if let Some(text) = &spelled {
            self.spell(text);
        }
        for part in &words.parts {
            match part {
                Part::Shift(step) => self.text.step(*step),
                Part::Text(text) => {
                    for character in text.chars() {
                        let place = self.glyphs.character(words.font, character);
                        self.glyph(words, (&mut layer, &mut started), place);
                    }
                }
                Part::Glyphs(glyphs) => {
                    for glyph in glyphs {
                        let place = self.glyphs.shaped(words.font, glyph);
                        self.glyph(words, (&mut layer, &mut started), place);
                    }
                }
            }
        }
        self.show(words, layer, &mut started);
        if spelled.is_some() {
            self.put("EMC\n");
        }
    }

    /// Adds a glyph; what has gathered of another layer is shown first.
    fn glyph(
        &mut self,
        words: &Words,
        (layer, started): (&mut usize, &mut bool),
        place: super::glyphs::Place,
    ) {
        if place.layer != *layer {
            self.show(words, *layer, started);
            *layer = place.layer;
        }
        self.text.glyph(place.glyph);
    }

    /// Begins a sequence that says what its glyphs read as.
    fn spell(&mut self, text: &str) {
        self.begin_text();
        self.put("/Span<</ActualText<FEFF");
        for unit in text.encode_utf16() {
            let digit = |shift: u16| b"0123456789ABCDEF"[usize::from(unit >> shift & 15)];
            self.out.extend([12, 8, 4, 0].map(digit));
        }
        self.put(">>>BDC\n");
    }

    /// Shows what has gathered; the first time at the place of the words, then where the pen stands.
    fn show(&mut self, words: &Words, layer: usize, started: &mut bool) {
        if self.text.items.is_empty() {
            return;
        }
        self.fill(words.colour);
        self.begin_text();
        let face = (words.font, layer, words.size);
        if self.state.face != Some(face) {
            self.out.push(b'/');
            Glyphs::push_name(&mut self.out, words.font, layer);
            self.out.push(b' ');
            length(&mut self.out, words.size);
            self.put(" Tf ");
            self.state.face = Some(face);
        }
        if !*started {
            let at = (cents(words.x), cents(self.height - words.baseline));
            hundredths(&mut self.out, at.0 - self.state.pen_at.0);
            self.out.push(b' ');
            hundredths(&mut self.out, at.1 - self.state.pen_at.1);
            self.put(" Td ");
            self.state.pen_at = at;
            *started = true;
        }
        self.text.take(&mut self.out);
    }

    /// Begins a marked sequence where another element begins.
    fn tag(&mut self, element: Option<usize>) {
        if self.state.tag == Some(element) {
            return;
        }
        self.end_tag();
        match element {
            None => self.put("/Artifact BMC\n"),
            Some(element) => {
                self.put("/Span<</MCID ");
                integer(&mut self.out, (self.begin + self.marked.len()) as u64);
                self.put(">>BDC\n");
                self.marked.push(u32::try_from(element).unwrap_or(u32::MAX));
            }
        }
        self.state.tag = Some(element);
    }

    fn end_tag(&mut self) {
        self.end_text();
        if self.state.tag.take().is_some() {
            self.put("EMC\n");
        }
    }

    fn begin_text(&mut self) {
        if !self.state.in_text {
            self.put("BT ");
            self.state.in_text = true;
            self.state.pen_at = (0, 0);
        }
    }

    fn end_text(&mut self) {
        if self.state.in_text {
            self.put("ET\n");
            self.state.in_text = false;
        }
    }

    fn fill(&mut self, colour: Colour) {
        if self.state.fill != Some(colour) {
            self.ink(colour);
            self.put("rg ");
            self.state.fill = Some(colour);
        }
    }

    fn ink(&mut self, colour: Colour) {
        for part in [colour.0, colour.1, colour.2] {
            // Thousandths keep every one of 256 shades apart.
            match (u64::from(part) * 1000 + 127) / 255 {
                1000 => self.put("1"),
                share => {
                    self.put(".");
                    integer(&mut self.out, 1000 + share);
                    let point = self.out.len() - 4;
                    self.out.remove(point);
                }
            }
            self.out.push(b' ');
        }
    }

    fn pen(&mut self, colour: Colour, weight: f64, dash: Dash) {
        let last = self.state.pen;
        if last.map(|pen| pen.0) != Some(colour) {
            self.ink(colour);
            self.put("RG ");
        }
        if last.map(|pen| pen.1) != Some(weight) {
            length(&mut self.out, weight);
            self.put(" w ");
        }
        if last.map(|pen| pen.2) != Some(dash)
            || (dash == Dash::Dotted && last.map(|pen| pen.1) != Some(weight))
        {
            match dash {
                Dash::Solid => self.put("[] 0 d 0 J "),
                Dash::Dashed => self.put("[3 2] 0 d 0 J "),
                // Round ends and no length: dots as wide as the line.
                Dash::Dotted => {
                    self.put("[0 ");
                    length(&mut self.out, weight * 2.4);
                    self.put("] 0 d 1 J ");
                }
            }
        }
        self.state.pen = Some((colour, weight, dash));
    }

    fn put(&mut self, text: &str) {
        self.out.extend_from_slice(text.as_bytes());
    }
}

impl Line {
    fn glyph(&mut self, number: u16) {
        if !self.open {
            self.items.push(b'(');
            self.open = true;
        }
        for byte in number.to_be_bytes() {
            push_byte(&mut self.items, byte);
        }
    }

    /// A step of the pen to the right, in thousandths of the size.
    fn step(&mut self, step: i32) {
        self.close();
        self.stepped = true;
        if step > 0 {
            self.items.push(b'-');
        }
        integer(&mut self.items, step.unsigned_abs().into());
    }

    fn close(&mut self) {
        if self.open {
            self.items.push(b')');
            self.open = false;
        }
    }

    fn take(&mut self, out: &mut Vec<u8>) {
        self.close();
        if self.stepped {
            out.push(b'[');
            out.append(&mut self.items);
            out.extend_from_slice(b"]TJ\n");
        } else {
            out.append(&mut self.items);
            out.extend_from_slice(b"Tj\n");
        }
        self.stepped = false;
    }
}

/// A text of which every word is one letter, as `8 A`: readers of the text take its spaces for letter-spacing.
fn letters(words: &Words) -> Option<String> {
    let text = || {
        words.parts.iter().flat_map(|part| match part {
            Part::Text(run) => vec![run.as_str()],
            Part::Glyphs(glyphs) => glyphs.iter().map(|glyph| glyph.1.as_str()).collect(),
            Part::Shift(_) => Vec::new(),
        })
    };
    let (mut length, mut apart, mut seen) = (0, false, false);
    for character in text().flat_map(str::chars) {
        if character.is_whitespace() {
            length = 0;
            seen = true;
            continue;
        }
        length += 1;
        if length > 1 {
            return None;
        }
        apart |= seen;
    }
    apart.then(|| text().collect())
}
