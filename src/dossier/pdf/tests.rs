//! What must hold of the file, read back as a reader would.

use std::sync::Arc;

use lopdf::{Dictionary, Document as File, Object};
use png::{BitDepth, ColorType};

use super::super::layout::everything::everything;
use super::super::layout::sample::{
    body, column, document, heading, item, noted, of_items, picture, png, rich, row, table,
};
use super::super::piece::{Align, Entry, PictureFormat, Piece, Rich, Run, Style, Table, Target};
use super::{Printed, pdf};

/// A grey JPEG of 8 by 4 pixels.
const JPEG: &[u8] = &[
    0xff, 0xd8, 0xff, 0xe0, 0x00, 0x10, 0x4a, 0x46, 0x49, 0x46, 0x00, 0x01, 0x01, 0x00, 0x00, 0x01, 0x00,
    0x01, 0x00, 0x00, 0xff, 0xdb, 0x00, 0x43, 0x00, 0x1b, 0x12, 0x14, 0x17, 0x14, 0x11, 0x1b, 0x17, 0x16,
    0x17, 0x1e, 0x1c, 0x1b, 0x20, 0x28, 0x42, 0x2b, 0x28, 0x25, 0x25, 0x28, 0x51, 0x3a, 0x3d, 0x30, 0x42,
    0x60, 0x55, 0x65, 0x64, 0x5f, 0x55, 0x5d, 0x5b, 0x6a, 0x78, 0x99, 0x81, 0x6a, 0x71, 0x90, 0x73, 0x5b,
    0x5d, 0x85, 0xb5, 0x86, 0x90, 0x9e, 0xa3, 0xab, 0xad, 0xab, 0x67, 0x80, 0xbc, 0xc9, 0xba, 0xa6, 0xc7,
    0x99, 0xa8, 0xab, 0xa4, 0xff, 0xc0, 0x00, 0x0b, 0x08, 0x00, 0x04, 0x00, 0x08, 0x01, 0x01, 0x11, 0x00,
    0xff, 0xc4, 0x00, 0x14, 0x00, 0x01, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00,
    0x00, 0x00, 0x00, 0x00, 0x05, 0xff, 0xc4, 0x00, 0x17, 0x10, 0x00, 0x03, 0x01, 0x00, 0x00, 0x00, 0x00,
    0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x05, 0x15, 0x53, 0xff, 0xda, 0x00, 0x08,
    0x01, 0x01, 0x00, 0x00, 0x3f, 0x00, 0x4e, 0x02, 0xec, 0x4f, 0xff, 0xd9,
];

#[track_caller]
fn open(printed: &Printed) -> File {
    let file = File::load_mem(&printed.bytes).expect("a PDF");
    assert_eq!(file.get_pages().len(), printed.pages);
    file
}

fn text(file: &File) -> String {
    let pages: Vec<u32> = file.get_pages().into_keys().collect();
    file.extract_text(&pages).expect("text")
}

fn entry<'a>(file: &'a File, dict: &'a Dictionary, key: &str) -> Option<&'a Dictionary> {
    let id = dict.get(key.as_bytes()).and_then(Object::as_reference).ok()?;
    file.get_dictionary(id).ok()
}

fn title(dict: &Dictionary) -> String {
    let title = dict.get(b"Title").expect("a title");
    lopdf::decode_text_string(title).expect("a text")
}

/// The links of all pages.
fn links(file: &File) -> Vec<&Dictionary> {
    let pages = file.page_iter().filter_map(|page| file.get_dictionary(page).ok());
    let links = pages.filter_map(|page| page.get(b"Annots").and_then(Object::as_array).ok()).flatten();
    links
        .map(|link| file.get_dictionary(link.as_reference().expect("a reference")).expect("a link"))
        .collect()
}

fn actions(file: &File) -> Vec<&Dictionary> {
    links(file).into_iter().filter_map(|link| link.get(b"A").and_then(Object::as_dict).ok()).collect()
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    assert!(pdf(&everything()).bytes == pdf(&everything()).bytes);
}

#[test]
fn another_document_gets_another_identifier() {
    let mark = |text: &str| {
        let file = open(&pdf(&document(vec![body(text)])));
        file.trailer.get(b"ID").and_then(Object::as_array).expect("an identifier").clone()
    };
    assert_ne!(mark("one"), mark("two"));
    assert_eq!(mark("one"), mark("one"));
}

#[test]
fn numbers_and_their_units_are_found_again() {
    let printed = pdf(&everything());
    assert!(printed.missing_glyphs.is_empty(), "{:?}", printed.missing_glyphs);
    let text = text(&open(&printed));
    for token in ["12 133 rpm", "128.6 km/h", "at most 12 000 rpm", "11.19 ± 0.06", "Ω µ μ Δ"] {
        assert!(text.contains(token), "{token}");
    }
    assert!(!text.contains('\u{a0}'));
}

#[test]
fn words_on_two_lines_stay_two_words() {
    let words: Vec<String> = (0..400).map(|word| format!("word{word}")).collect();
    let text = text(&open(&pdf(&document(vec![body(&words.join(" "))]))));
    let found = text.split_whitespace().filter(|word| words.iter().any(|known| known == word)).count();
    assert_eq!(found, 400);
}

#[test]
fn the_outline_is_nested() {
    let items = vec![
        heading(1, "Van", "a"),
        heading(2, "Drive", "b"),
        heading(3, "Ratio Ω", "c"),
        heading(2, "Battery", "d"),
        heading(4, "Not listed", "e"),
        item(body("end")),
    ];
    let file = open(&pdf(&of_items(items)));
    let catalog = file.catalog().expect("a catalogue");
    assert_eq!(catalog.get(b"PageMode").and_then(Object::as_name).ok(), Some(&b"UseOutlines"[..]));
    let outline = entry(&file, catalog, "Outlines").expect("an outline");
    let van = entry(&file, outline, "First").expect("a title");
    let drive = entry(&file, van, "First").expect("a part");
    let ratio = entry(&file, drive, "First").expect("a chapter");
    let battery = entry(&file, drive, "Next").expect("the next part");
    assert_eq!([van, drive, ratio, battery].map(title), ["Van", "Drive", "Ratio Ω", "Battery"]);
    assert!(entry(&file, battery, "First").is_none());
}

#[test]
fn links_lead_inside_and_outside_and_dead_ones_are_left_out() {
    let link = |target| Run::Link { text: rich("here"), target };
    let inner = |id: &str| Target::Inner { id: id.into() };
    let outer = Target::Outer { address: "https://example.org/ä (1)".into() };
    let text = Rich(vec![link(inner("far")), link(inner("nowhere")), link(outer)]);
    let piece = Piece::Paragraph { style: Style::Body, text };
    let mut items = vec![item(piece)];
    items.extend((0..60).map(|_| item(body("A line."))));
    items.push(heading(2, "Far", "far"));
    let file = open(&pdf(&of_items(items)));
    let actions = actions(&file);
    assert_eq!(actions.len(), 2);
    let place = actions[0].get(b"D").and_then(Object::as_array).expect("a place");
    assert_eq!(place[0].as_reference().ok(), file.page_iter().nth(1));
    let address = actions[1].get(b"URI").and_then(Object::as_str).ok();
    assert_eq!(address, Some(&b"https://example.org/%C3%A4%20%281%29"[..]));
}

#[test]
fn a_link_and_its_element_know_each_other() {
    let target = Target::Outer { address: "https://example.org/".into() };
    let text = Rich(vec![Run::Link { text: rich("here"), target }]);
    let file = open(&pdf(&document(vec![Piece::Paragraph { style: Style::Body, text }])));
    let tree = entry(&file, file.catalog().expect("a catalogue"), "StructTreeRoot").expect("a tree");
    let numbers = tree.get(b"ParentTree").and_then(|tree| tree.as_dict()?.get(b"Nums")?.as_array());
    let numbers = numbers.expect("parents");
    let key = links(&file)[0].get(b"StructParent").expect("a key");
    let place = numbers.iter().step_by(2).position(|number| number == key).expect("a number");
    let element = numbers[2 * place + 1].as_reference().and_then(|id| file.get_dictionary(id));
    let element = element.expect("an element");
    assert_eq!(element.get(b"S").and_then(Object::as_name).ok(), Some(&b"Link"[..]));
    // Its text, then the link itself.
    let kids = element.get(b"K").and_then(Object::as_array).expect("what it holds");
    let [text, kid] = &kids[..] else { panic!("{kids:?}") };
    assert_eq!(text.as_i64().ok(), Some(0));
    let link = kid.as_dict().and_then(|kid| kid.get(b"Obj")?.as_reference()).expect("a link");
    assert_eq!(file.get_dictionary(link).expect("a link"), links(&file)[0]);
    let parent = entry(&file, element, "P").expect("a parent");
    assert_eq!(parent.get(b"S").and_then(Object::as_name).ok(), Some(&b"P"[..]));
}

#[test]
fn the_file_says_what_it_is() {
    let printed = pdf(&everything());
    let file = open(&printed);
    assert_eq!(file.catalog().and_then(|catalog| catalog.get(b"Lang")?.as_str()).ok(), Some(&b"en"[..]));
    let info = entry(&file, &file.trailer, "Info").expect("what it is");
    assert_eq!(title(info), "Market van, petrol to electric");
    assert!(info.get(b"GTS_PDFXVersion").is_err());
    let about = file.catalog().and_then(|catalog| catalog.get(b"Metadata")?.as_reference());
    let about = about.and_then(|id| file.get_object(id)?.as_stream()).expect("what it is");
    let about = String::from_utf8_lossy(&about.content);
    assert!(
        about.contains("<rdf:li xml:lang=\"x-default\">Market van, petrol to electric</rdf:li>"),
        "{about}"
    );
    let date = info.get(b"CreationDate").and_then(Object::as_str).expect("a date");
    assert!(date.starts_with(b"D:20260302"), "{}", String::from_utf8_lossy(date));
}

#[test]
fn every_font_is_an_embedded_subset() {
    let file = open(&pdf(&everything()));
    let faces: Vec<&Dictionary> = file
        .objects
        .values()
        .filter_map(|object| object.as_dict().ok())
        .filter(|dict| dict.get(b"Type").and_then(Object::as_name).ok() == Some(b"FontDescriptor"))
        .collect();
    assert!(faces.len() > 5);
    for face in faces {
        let name = face.get(b"FontName").and_then(Object::as_name).expect("a name");
        assert_eq!(name.get(6), Some(&b'+'), "{}", String::from_utf8_lossy(name));
        assert!(face.has(b"FontFile2"));
    }
}

#[test]
fn every_kind_of_png_is_drawn() {
    let kinds = [
        (ColorType::Grayscale, BitDepth::Eight),
        (ColorType::Grayscale, BitDepth::Sixteen),
        (ColorType::GrayscaleAlpha, BitDepth::Eight),
        (ColorType::Rgb, BitDepth::Eight),
        (ColorType::Rgb, BitDepth::Sixteen),
        (ColorType::Rgba, BitDepth::Sixteen),
        (ColorType::Indexed, BitDepth::Eight),
    ];
    for (colour, depth) in kinds {
        let file = open(&pdf(&document(vec![png(60, 40, colour, depth)])));
        let page = file.page_iter().next().expect("a page");
        let images = file.get_page_images(page).expect("pictures");
        assert_eq!((images.len(), images[0].width, images[0].height), (1, 60, 40), "{colour:?} {depth:?}");
        let masked = images[0].origin_dict.has(b"SMask");
        assert_eq!(masked, matches!(colour, ColorType::Rgba | ColorType::GrayscaleAlpha), "{colour:?}");
    }
}

#[test]
fn a_jpeg_is_kept_as_it_came_and_once() {
    let twice = vec![picture(PictureFormat::Jpeg, JPEG.to_vec(), (8, 4)); 2];
    let file = open(&pdf(&document(twice)));
    let kept = file.objects.values().filter_map(|object| object.as_stream().ok());
    assert_eq!(kept.filter(|stream| stream.content == JPEG).count(), 1);
}

#[test]
fn a_picture_broken_after_its_head_is_a_box() {
    let Piece::Picture(mut whole) = png(60, 40, ColorType::Rgb, BitDepth::Eight) else { unreachable!() };
    whole.bytes = Arc::from(&whole.bytes[..whole.bytes.len() / 2]);
    let file = open(&pdf(&document(vec![Piece::Picture(whole)])));
    assert!(text(&file).contains("the motor on its bench"));
}

#[test]
fn a_long_table_stays_small() {
    let printed = pdf(&document(vec![Piece::Table(table(2400))]));
    assert!(printed.bytes.len() < 400_000, "{}", printed.bytes.len());
    assert!(printed.pages > 25);
}

#[test]
fn threads_leave_the_bytes_alone() {
    let long = document(vec![Piece::Table(table(5400))]);
    let printed = pdf(&long);
    // More than are made together, so that several threads are at it.
    assert!(printed.pages > 60, "{}", printed.pages);
    assert!(printed.bytes == pdf(&long).bytes);
}

/// The roles of the tree below an element, each as deep as its indent.
fn roles(file: &File, dict: &Dictionary, depth: usize, found: &mut Vec<String>) {
    if let Ok(role) = dict.get(b"S").and_then(Object::as_name) {
        found.push(format!("{}{}", " ".repeat(depth), String::from_utf8_lossy(role)));
    }
    for kid in dict.get(b"K").and_then(Object::as_array).expect("children") {
        if let Some(kid) = kid.as_reference().ok().and_then(|id| file.get_dictionary(id).ok()) {
            roles(file, kid, depth + 1, found);
        }
    }
}

/// A reader speaks a sentence with links in it in its order.
#[test]
fn links_stand_within_their_sentence() {
    let link = |text, address: &str| Run::Link {
        text: rich(text),
        target: Target::Outer { address: address.into() },
    };
    let dead = Run::Link { text: rich("nowhere "), target: Target::Inner { id: "none".into() } };
    let runs = [rich("From ").0, vec![link("here", "https://a.example/")], rich(" to ").0, vec![dead]];
    let last = vec![link("there", "https://b.example/"), rich(".").0.remove(0)];
    let text = Rich(runs.into_iter().flatten().chain(last).collect());
    let file = open(&pdf(&document(vec![Piece::Paragraph { style: Style::Body, text }])));
    let elements = file.objects.values().filter_map(|object| object.as_dict().ok());
    let mut paragraph = elements.filter(|dict| dict.get(b"S").and_then(Object::as_name).ok() == Some(b"P"));
    let kids = paragraph.next().and_then(|dict| dict.get(b"K").and_then(Object::as_array).ok());
    let marked = |kid: &Object| match kid.as_reference().and_then(|id| file.get_dictionary(id)) {
        Ok(inner) => inner.get(b"K").and_then(|kids| kids.as_array()?[0].as_i64()).expect("its text"),
        Err(_) => kid.as_i64().expect("a sequence"),
    };
    let kids: Vec<i64> = kids.expect("what it holds").iter().map(marked).collect();
    assert!(kids.len() >= 5 && kids.is_sorted(), "{kids:?}");
}

#[test]
fn the_pages_say_what_their_marks_are() {
    let entry_of = |piece| Entry { task: None, items: vec![item(piece)] };
    let mut small = table(1);
    small.rows[0].cells[1] = Rich::default();
    let items = vec![
        heading(1, "Van", "a"),
        noted(body("Words."), &["a note"]),
        item(Piece::List { start: None, entries: vec![entry_of(body("one"))] }),
        item(Piece::Table(small)),
        item(png(8, 8, ColorType::Rgb, BitDepth::Eight)),
    ];
    let file = open(&pdf(&of_items(items)));
    let tree = entry(&file, file.catalog().expect("a catalogue"), "StructTreeRoot").expect("a tree");
    let mut found = Vec::new();
    roles(&file, tree, 0, &mut found);
    let expected = [
        " Document",
        "  H1",
        "  P",
        "  Note",
        "  L",
        "   LI",
        "    Lbl",
        "    LBody",
        "     P",
        "  Table",
        "   TR",
        "    TH",
        "    TH",
        "    TH",
        "    TH",
        "   TR",
        "    TH",
        "    TD",
        "    TD",
        "    TD",
        "  Figure",
    ];
    assert_eq!(found, expected);
    let figure = file.objects.values().filter_map(|object| object.as_dict().ok());
    let mut figure = figure.filter(|dict| dict.get(b"S").and_then(Object::as_name).ok() == Some(b"Figure"));
    assert!(figure.next().expect("a picture").has(b"Alt"));
}

/// A reader hears the name of each of two rows in one line.
#[test]
fn rows_side_by_side_are_both_named() {
    let columns = vec![column("Item", Align::Left, 1), column("Mass", Align::Left, 0)];
    let rows = (0..9).map(|at| row(&[&format!("bracket {at}"), "1.5 kg"])).collect();
    let file = open(&pdf(&document(vec![Piece::Table(Table { columns, rows, caption: None })])));
    let heads = |dict: &&Dictionary| dict.get(b"S").and_then(Object::as_name).ok() == Some(b"TH");
    let of_rows = |dict: &&Dictionary| {
        let scope = dict.get(b"A").and_then(Object::as_dict).and_then(|scope| scope.get(b"Scope"));
        scope.and_then(Object::as_name).ok() == Some(b"Row")
    };
    let elements = file.objects.values().filter_map(|object| object.as_dict().ok());
    // The ninth row stands alone, beside a name without words.
    assert_eq!(elements.filter(heads).filter(of_rows).count(), 10);
}

#[test]
fn every_mark_is_marked() {
    let file = open(&pdf(&everything()));
    for page in file.page_iter() {
        let content = file.get_page_content(page);
        let content = lopdf::content::Content::decode(&content).expect("operators");
        let mut open = 0;
        for operation in content.operations {
            match operation.operator.as_str() {
                "BMC" | "BDC" => open += 1,
                "EMC" => open -= 1,
                // Within an element a sequence may spell what its letters read as.
                "Tj" | "TJ" => assert!((1..=2).contains(&open), "{operation:?}"),
                "S" | "f" | "Do" => assert_eq!(open, 1, "{operation:?}"),
                _ => {}
            }
        }
        assert_eq!(open, 0);
    }
}
