//! The marks of a page as drawing operators, y upwards.

use std::collections::BTreeMap;

use printpdf::{
    Actions, BorderArray, Codepoint, Color, ColorArray, CurTransMat, Destination, DictItem, HighlightingMode,
    Line, LineCapStyle, LineDashPattern, LineJoinStyle, LinePoint, LinkAnnotation, Op, PaintMode,
    PdfFontHandle, PdfPage, Point, Polygon, PolygonRing, Pt, Rect, Rgb, TextItem, TextMatrix, WindingOrder,
    XObjectTransform,
};

use super::super::layout::fonts::Font;
use super::super::layout::mark::{Area, Dash, Link, Mark, Part, Words};
use super::super::layout::palette::Colour;
use super::super::layout::{Layout, Page};
use super::super::piece::Target;
use super::fonts::Subsets;
use super::image_id;

/// How far above an anchor the window's top is put.
const ABOVE: f64 = 8.0;

/// The page, and for each marked sequence on it the element that it belongs to.
pub(crate) fn page(page: &Page, layout: &Layout, subsets: &Subsets) -> (PdfPage, Vec<usize>) {
    let mut writer = Writer {
        height: layout.size.1,
        subsets,
        ops: Vec::new(),
        state: State::default(),
        marked: Vec::new(),
    };
    writer.ops.push(Op::SetLineJoinStyle { join: LineJoinStyle::Miter });
    let mut tags = page.tags.iter().peekable();
    let mut tag = None;
    for (place, mark) in page.marks.iter().enumerate() {
        while let Some((_, element)) = tags.next_if(|tag| tag.0 <= place) {
            tag = *element;
        }
        writer.tag(tag);
        writer.mark(mark, layout);
    }
    writer.end_tag();
    for link in &page.links {
        writer.link(link, layout);
    }
    let sheet = Rect {
        x: Pt(0.0),
        y: Pt(0.0),
        width: Pt(layout.size.0 as f32),
        height: Pt(layout.size.1 as f32),
        mode: None,
        winding_order: None,
    };
    let page =
        PdfPage { media_box: sheet.clone(), trim_box: sheet.clone(), crop_box: sheet, ops: writer.ops };
    (page, writer.marked)
}

struct Writer<'a> {
    height: f64,
    subsets: &'a Subsets,
    ops: Vec<Op>,
    state: State,
    /// The element of each marked sequence so far.
    marked: Vec<usize>,
}

/// What the operators so far have set, so that nothing is set twice.
#[derive(Default)]
struct State {
    in_text: bool,
    /// The element that is open; `Some(None)` for furniture.
    tag: Option<Option<usize>>,
    face: Option<(Font, usize, f64)>,
    fill: Option<Colour>,
    pen: Option<(Colour, f64, Dash)>,
}

impl Writer<'_> {
    fn mark(&mut self, mark: &Mark, layout: &Layout) {
        if let Mark::Text(words) = mark {
            return self.words(words);
        }
        self.end_text();
        match mark {
            Mark::Text(_) => {}
            Mark::Line { points, weight, colour, dash } => {
                self.pen(*colour, *weight, *dash);
                let points = self.points(points);
                self.ops.push(Op::DrawLine { line: Line { points, is_closed: false } });
            }
            Mark::Shape { points, colour } => {
                self.fill(*colour);
                let ring = PolygonRing { points: self.points(points) };
                let polygon = Polygon {
                    rings: vec![ring],
                    mode: PaintMode::Fill,
                    winding_order: WindingOrder::NonZero,
                };
                self.ops.push(Op::DrawPolygon { polygon });
            }
            Mark::Image { picture, area } => {
                let orientation = layout.images.get(*picture).map_or(1, |image| image.orientation);
                self.ops.push(Op::SaveGraphicsState);
                let matrix = CurTransMat::Raw(self.place(*area, orientation));
                self.ops.push(Op::SetTransformationMatrix { matrix });
                let transform = XObjectTransform { no_auto_scale: true, ..XObjectTransform::default() };
                self.ops.push(Op::UseXobject { id: image_id(*picture), transform });
                self.ops.push(Op::RestoreGraphicsState);
            }
        }
    }

    /// The matrix that puts a picture, a unit square, into its area the right way up (Exif 2.32, 4.6.4 A).
    fn place(&self, area: Area, orientation: u8) -> [f32; 6] {
        let (width, height) = (area.right - area.left, area.bottom - area.top);
        let (x, y) = (area.left, self.height - area.bottom);
        let [a, b, c, d, e, f] = match orientation {
            2 => [-width, 0.0, 0.0, height, x + width, y],
            3 => [-width, 0.0, 0.0, -height, x + width, y + height],
            4 => [width, 0.0, 0.0, -height, x, y + height],
            5 => [0.0, -height, -width, 0.0, x + width, y + height],
            6 => [0.0, -height, width, 0.0, x, y + height],
            7 => [0.0, height, width, 0.0, x, y],
            8 => [0.0, height, -width, 0.0, x + width, y],
            _ => [width, 0.0, 0.0, height, x, y],
        };
        [a, b, c, d, e, f].map(round)
    }

    fn words(&mut self, words: &Words) {
        let mut started = false;
        let mut items: Vec<TextItem> = Vec::new();
        let mut layer = 0;
        let spelled = letters(words);
        if let Some(text) = &spelled {
            self.spell(text);
        }
        for part in &words.parts {
            match part {
                Part::Shift(step) => items.push(TextItem::Offset(-(*step as f32))),
                Part::Text(text) => {
                    let mut run = String::new();
                    for character in text.chars() {
                        let found = self.subsets.character(words.font, character).unwrap_or(0);
                        if found != layer {
                            push_run(&mut items, &mut run);
                            self.show(words, layer, (&mut items, &mut started));
                            layer = found;
                        }
                        run.push(character);
                    }
                    push_run(&mut items, &mut run);
                }
                Part::Glyphs(glyphs) => {
                    for glyph in glyphs {
                        let Some(place) = self.subsets.shaped(words.font, glyph) else { continue };
                        if place.layer != layer {
                            self.show(words, layer, (&mut items, &mut started));
                            layer = place.layer;
                        }
                        let codepoint = Codepoint::with_cid(place.glyph, 0.0, glyph.1.clone());
                        items.push(TextItem::GlyphIds(vec![codepoint]));
                    }
                }
            }
        }
        self.show(words, layer, (&mut items, &mut started));
        if spelled.is_some() {
            self.ops.push(Op::EndMarkedContent);
        }
    }

    /// Begins a sequence that says what its glyphs read as.
    fn spell(&mut self, text: &str) {
        if !self.state.in_text {
            self.ops.push(Op::StartTextSection);
            self.state.in_text = true;
        }
        let utf_16 = [0xFEFF].into_iter().chain(text.encode_utf16());
        let bytes = DictItem::Bytes(utf_16.flat_map(u16::to_be_bytes).collect());
        let map = BTreeMap::from([("ActualText".into(), bytes)]);
        self.ops.push(Op::BeginMarkedContentWithProperties {
            tag: "Span".into(),
            properties: DictItem::Dict { map },
        });
    }

    /// Shows what has gathered; the first time at the place of the words, then where the pen stands.
    fn show(&mut self, words: &Words, layer: usize, (items, started): (&mut Vec<TextItem>, &mut bool)) {
        if items.is_empty() {
            return;
        }
        self.fill(words.colour);
        if !self.state.in_text {
            self.ops.push(Op::StartTextSection);
            self.state.in_text = true;
        }
        let face = (words.font, layer, words.size);
        if self.state.face != Some(face) {
            let font = PdfFontHandle::External(Subsets::id(words.font, layer));
            self.ops.push(Op::SetFont { font, size: Pt(round(words.size)) });
            self.state.face = Some(face);
        }
        if !*started {
            let place = TextMatrix::Translate(Pt(round(words.x)), Pt(round(self.height - words.baseline)));
            self.ops.push(Op::SetTextMatrix { matrix: place });
            *started = true;
        }
        self.ops.push(Op::ShowText { items: std::mem::take(items) });
    }

    /// Begins a marked sequence where another element begins.
    fn tag(&mut self, element: Option<usize>) {
        if self.state.tag == Some(element) {
            return;
        }
        self.end_tag();
        self.ops.push(match element {
            None => Op::BeginMarkedContent { tag: "Artifact".into() },
            Some(_) => {
                let number = DictItem::Int(self.marked.len() as i64);
                let map = BTreeMap::from([("MCID".into(), number)]);
                Op::BeginMarkedContentWithProperties {
                    tag: "Span".into(),
                    properties: DictItem::Dict { map },
                }
            }
        });
        self.marked.extend(element);
        self.state.tag = Some(element);
    }

    fn end_tag(&mut self) {
        self.end_text();
        if self.state.tag.take().is_some() {
            self.ops.push(Op::EndMarkedContent);
        }
    }

    fn end_text(&mut self) {
        if self.state.in_text {
            self.ops.push(Op::EndTextSection);
            self.state.in_text = false;
        }
    }

    fn fill(&mut self, colour: Colour) {
        if self.state.fill != Some(colour) {
            self.ops.push(Op::SetFillColor { col: ink(colour) });
            self.state.fill = Some(colour);
        }
    }

    fn pen(&mut self, colour: Colour, weight: f64, dash: Dash) {
        let last = self.state.pen;
        if last.map(|pen| pen.0) != Some(colour) {
            self.ops.push(Op::SetOutlineColor { col: ink(colour) });
        }
        if last.map(|pen| pen.1) != Some(weight) {
            self.ops.push(Op::SetOutlineThickness { pt: Pt(round(weight)) });
        }
        if last.map(|pen| pen.2) != Some(dash)
            || (dash == Dash::Dotted && last.map(|pen| pen.1) != Some(weight))
        {
            let (pattern, cap) = match dash {
                Dash::Solid => (LineDashPattern::solid(), LineCapStyle::Butt),
                Dash::Dashed => (LineDashPattern::new(0.0, &[3.0, 2.0]), LineCapStyle::Butt),
                // Round ends and no length: dots as wide as the line.
                Dash::Dotted => (LineDashPattern::new(0.0, &[0.0, round(weight * 2.4)]), LineCapStyle::Round),
            };
            self.ops.push(Op::SetLineDashPattern { dash: pattern });
            self.ops.push(Op::SetLineCapStyle { cap });
        }
        self.state.pen = Some((colour, weight, dash));
    }

    fn points(&self, points: &[(f64, f64)]) -> Vec<LinePoint> {
        let point = |(x, y): &(f64, f64)| LinePoint {
            p: Point { x: Pt(round(*x)), y: Pt(round(self.height - y)) },
            bezier: false,
        };
        points.iter().map(point).collect()
    }

    fn link(&mut self, link: &Link, layout: &Layout) {
        let actions = match &link.target {
            Target::Inner { id } => {
                let Some(spot) = layout.anchors.get(id) else { return };
                Actions::Goto(Destination::Xyz {
                    page: spot.page + 1,
                    left: Some(0.0),
                    top: Some(round((self.height - spot.y + ABOVE).min(self.height))),
                    zoom: None,
                })
            }
            Target::Outer { address } => Actions::Uri(encoded(address)),
        };
        let area = link.area;
        let rect = Rect {
            x: Pt(round(area.left)),
            y: Pt(round(self.height - area.bottom)),
            width: Pt(round(area.right - area.left)),
            height: Pt(round(area.bottom - area.top)),
            mode: None,
            winding_order: None,
        };
        let border = Some(BorderArray::Solid([0.0, 0.0, 0.0]));
        let quiet = Some(HighlightingMode::None);
        let link = LinkAnnotation::new(rect, actions, border, Some(ColorArray::Transparent), quiet);
        self.ops.push(Op::LinkAnnotation { link });
    }
}

/// A text of which every word is one letter, as `8 A`: readers of the text take its spaces for letter-spacing.
fn letters(words: &Words) -> Option<String> {
    let mut text = String::new();
    for part in &words.parts {
        match part {
            Part::Text(run) => text.push_str(run),
            Part::Glyphs(glyphs) => glyphs.iter().for_each(|glyph| text.push_str(&glyph.1)),
            Part::Shift(_) => {}
        }
    }
    let apart = text.trim_end().contains(' ');
    (apart && text.split_whitespace().all(|word| word.chars().count() == 1)).then_some(text)
}

fn push_run(items: &mut Vec<TextItem>, run: &mut String) {
    if !run.is_empty() {
        items.push(TextItem::Text(std::mem::take(run)));
    }
}

fn ink(colour: Colour) -> Color {
    let part = |value: u8| (f32::from(value) / 255.0 * 1000.0).round() / 1000.0;
    Color::Rgb(Rgb { r: part(colour.0), g: part(colour.1), b: part(colour.2), icc_profile: None })
}

/// To hundredths of a point: finer than any printer, and short in the file.
fn round(value: f64) -> f32 {
    ((value * 100.0).round() / 100.0) as f32
}

/// An address as a PDF may hold it: everything outside ASCII and what has no place in an address in `%XX`.
fn encoded(address: &str) -> String {
    let mut encoded = String::new();
    for byte in address.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~:/?#[]@!$&'*+,;=%".contains(&byte) {
            encoded.push(char::from(byte));
        } else {
            encoded.push_str(&format!("%{byte:02X}"));
        }
    }
    encoded
}

#[cfg(test)]
mod tests {
    use super::encoded;

    #[test]
    fn addresses_are_ascii_and_keep_their_escapes() {
        assert_eq!(
            encoded("https://example.org/a b?q=ü#%20(x)"),
            "https://example.org/a%20b?q=%C3%BC#%20%28x%29"
        );
    }
}
