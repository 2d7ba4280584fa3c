//! The marks of a page as operations, y upwards.

use std::collections::BTreeMap;

use printpdf::{
    Color, CurTransMat, DictItem, Line, LineCapStyle, LineDashPattern, LinePoint, Op, PaintMode,
    PdfFontHandle, Point, Polygon, PolygonRing, Pt, Rgb, WindingOrder, XObjectId, XObjectTransform,
};

use super::super::layout::Page;
use super::super::layout::fonts::Font;
use super::super::layout::mark::{Area, Dash, Mark, Part, Words};
use super::super::layout::palette::Colour;
use super::glyphs::{Glyphs, font_id};

/// What is drawn on a page so far, and for each marked sequence in it what it belongs to.
#[derive(Default)]
pub(crate) struct Drawn {
    pub(crate) ops: Vec<Op>,
    pub(crate) marked: Vec<Of>,
}

/// What a marked sequence belongs to: an element, or a link by its number on the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Of {
    Element(usize),
    Link(usize),
}

impl Drawn {
    /// Draws marks over what is there. So many links are on the sheet already.
    pub(crate) fn draw(&mut self, (page, links): (&Page, usize), height: f64, glyphs: &mut Glyphs) {
        let mut writer = Writer { height, glyphs, drawn: self, state: State::default() };
        let mut tags = page.tags.iter().peekable();
        let mut tag = None;
        for (place, mark) in page.marks.iter().enumerate() {
            while let Some((_, element)) = tags.next_if(|tag| tag.0 <= place) {
                tag = *element;
            }
            let link = page.links.iter().position(|link| stands_in(mark, link.area));
            writer.tag(link.map(|number| Of::Link(links + number)).or(tag.map(Of::Element)));
            writer.mark(mark);
        }
        writer.end_tag();
    }
}

/// The element of the text that stands in an area.
pub(crate) fn element_at(page: &Page, area: Area) -> Option<usize> {
    let place = page.marks.iter().position(|mark| stands_in(mark, area))?;
    page.tags[..page.tags.partition_point(|tag| tag.0 <= place)].last()?.1
}

fn stands_in(mark: &Mark, area: Area) -> bool {
    let Mark::Text(words) = mark else { return false };
    let (from, to) = (area.left - 1.0, area.right);
    (from..to).contains(&words.x) && (area.top..area.bottom).contains(&words.baseline)
}

/// The name of a picture by its place in the list of pictures.
pub(crate) fn picture_id(place: usize) -> XObjectId {
    XObjectId(format!("Picture{place}"))
}

/// A length to hundredths of a point: finer than any printer, and short in the file.
pub(crate) fn points(value: f64) -> Pt {
    hundredths(cents(value))
}

fn cents(value: f64) -> i64 {
    (value * 100.0).round() as i64
}

fn hundredths(cents: i64) -> Pt {
    Pt((cents as f64 / 100.0) as f32)
}

struct Writer<'a> {
    height: f64,
    glyphs: &'a mut Glyphs,
    drawn: &'a mut Drawn,
    state: State,
}

/// What the operations so far have set, so that nothing is set twice.
#[derive(Default)]
struct State {
    in_text: bool,
    /// Where the pen of this text began, in hundredths.
    pen_at: (i64, i64),
    /// What is open; `Some(None)` for furniture.
    tag: Option<Option<Of>>,
    face: Option<(Font, f64)>,
    fill: Option<Colour>,
    pen: Option<(Colour, f64, Dash)>,
}

impl Writer<'_> {
    fn put(&mut self, op: Op) {
        self.drawn.ops.push(op);
    }

    fn mark(&mut self, mark: &Mark) {
        if let Mark::Text(words) = mark {
            return self.words(words);
        }
        self.end_text();
        match mark {
            Mark::Text(_) => {}
            Mark::Line { points, weight, colour, dash } => {
                self.pen(*colour, *weight, *dash);
                let line = Line { points: self.path(points), is_closed: false };
                self.put(Op::DrawLine { line });
            }
            Mark::Shape { points, colour } => {
                self.fill(*colour);
                let rings = vec![PolygonRing { points: self.path(points) }];
                let polygon = Polygon { rings, mode: PaintMode::Fill, winding_order: WindingOrder::NonZero };
                self.put(Op::DrawPolygon { polygon });
            }
            Mark::Image { picture, area, orientation } => {
                let matrix = self.place(*area, *orientation).map(|part| points(part).0);
                self.put(Op::SaveGraphicsState);
                self.put(Op::SetTransformationMatrix { matrix: CurTransMat::Raw(matrix) });
                self.put(Op::UseXobject {
                    id: picture_id(*picture),
                    transform: XObjectTransform { no_auto_scale: true, ..XObjectTransform::default() },
                });
                self.put(Op::RestoreGraphicsState);
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

    fn path(&self, path: &[(f64, f64)]) -> Vec<LinePoint> {
        let point = |(x, y): &(f64, f64)| Point { x: points(*x), y: points(self.height - y) };
        path.iter().map(|at| LinePoint { p: point(at), bezier: false }).collect()
    }

    fn words(&mut self, words: &Words) {
        let spelled = letters(words);
        self.fill(words.colour);
        self.begin_text();
        if let Some(text) = &spelled {
            self.spell(text);
        }
        if self.state.face != Some((words.font, words.size)) {
            let font = PdfFontHandle::External(font_id(words.font));
            self.put(Op::SetFont { font, size: points(words.size) });
            self.state.face = Some((words.font, words.size));
        }
        let at = (cents(words.x), cents(self.height - words.baseline));
        let from = self.state.pen_at;
        self.put(Op::SetTextCursor {
            pos: Point { x: hundredths(at.0 - from.0), y: hundredths(at.1 - from.1) },
        });
        self.state.pen_at = at;
        let mut items: Vec<DictItem> = words.parts.iter().map(|part| self.item(words.font, part)).collect();
        // The library's own operation looks every character up again and takes twice the room.
        let (key, value) = match items.as_slice() {
            [DictItem::String { .. }] => ("Tj", items.remove(0)),
            _ => ("TJ", DictItem::Array(items)),
        };
        self.put(Op::Unknown { key: key.to_owned(), value: vec![value] });
        if spelled.is_some() {
            self.put(Op::EndMarkedContent);
        }
    }

    fn item(&mut self, font: Font, part: &Part) -> DictItem {
        let numbers: Vec<u16> = match part {
            Part::Shift(step) => return DictItem::Int((-*step).into()),
            Part::Text(text) => {
                text.chars().map(|character| self.glyphs.character(font, character)).collect()
            }
            Part::Glyphs(glyphs) => glyphs.iter().map(|glyph| self.glyphs.shaped(font, glyph)).collect(),
        };
        DictItem::String { data: numbers.into_iter().flat_map(u16::to_be_bytes).collect(), literal: true }
    }

    /// Begins a sequence that says what its glyphs read as.
    fn spell(&mut self, text: &str) {
        let units = std::iter::once(0xfeff).chain(text.encode_utf16());
        self.span("ActualText", DictItem::Bytes(units.flat_map(u16::to_be_bytes).collect()));
    }

    fn span(&mut self, key: &str, value: DictItem) {
        let properties = DictItem::Dict { map: BTreeMap::from([(key.to_owned(), value)]) };
        self.put(Op::BeginMarkedContentWithProperties { tag: "Span".to_owned(), properties });
    }

    /// Begins a marked sequence where another element begins.
    fn tag(&mut self, of: Option<Of>) {
        if self.state.tag == Some(of) {
            return;
        }
        self.end_tag();
        match of {
            None => self.put(Op::BeginMarkedContent { tag: "Artifact".to_owned() }),
            Some(of) => {
                self.span("MCID", DictItem::Int(self.drawn.marked.len() as i64));
                self.drawn.marked.push(of);
            }
        }
        self.state.tag = Some(of);
    }

    fn end_tag(&mut self) {
        self.end_text();
        if self.state.tag.take().is_some() {
            self.put(Op::EndMarkedContent);
        }
    }

    fn begin_text(&mut self) {
        if !self.state.in_text {
            self.put(Op::StartTextSection);
            self.state.in_text = true;
            self.state.pen_at = (0, 0);
        }
    }

    fn end_text(&mut self) {
        if self.state.in_text {
            self.put(Op::EndTextSection);
            self.state.in_text = false;
        }
    }

    fn fill(&mut self, colour: Colour) {
        if self.state.fill != Some(colour) {
            self.put(Op::SetFillColor { col: ink(colour) });
            self.state.fill = Some(colour);
        }
    }

    fn pen(&mut self, colour: Colour, weight: f64, dash: Dash) {
        let last = self.state.pen;
        if last.map(|pen| pen.0) != Some(colour) {
            self.put(Op::SetOutlineColor { col: ink(colour) });
        }
        if last.map(|pen| pen.1) != Some(weight) {
            self.put(Op::SetOutlineThickness { pt: points(weight) });
        }
        if last.map(|pen| pen.2) != Some(dash)
            || (dash == Dash::Dotted && last.map(|pen| pen.1) != Some(weight))
        {
            let (pattern, cap) = match dash {
                Dash::Solid => (vec![], LineCapStyle::Butt),
                Dash::Dashed => (vec![3.0, 2.0], LineCapStyle::Butt),
                // Round ends and no length: dots as wide as the line.
                Dash::Dotted => (vec![0.0, points(weight * 2.4).0], LineCapStyle::Round),
            };
            self.put(Op::SetLineDashPattern { dash: LineDashPattern::new(0.0, &pattern) });
            self.put(Op::SetLineCapStyle { cap });
        }
        self.state.pen = Some((colour, weight, dash));
    }
}

/// Thousandths keep every one of 256 shades apart.
fn ink(colour: Colour) -> Color {
    let share = |part: u8| ((f64::from(part) * 1000.0 / 255.0).round() / 1000.0) as f32;
    let (r, g, b) = (share(colour.0), share(colour.1), share(colour.2));
    Color::Rgb(Rgb { r, g, b, icc_profile: None })
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
