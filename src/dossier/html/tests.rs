//! What the page promises, whatever stands in the document.

use std::collections::HashSet;

use sha2::{Digest, Sha256};

use super::chapter::chapter;
use super::sample::{
    Placed, column, document, everywhere, heading, inner, item, outer, paragraph, plain, row, run,
};
use super::{Live, Printed, base64, html};
use crate::dossier::piece::{
    Align, Columns, Document, Face, Item, Member, Piece, Style, Table, WorkedLine, Working,
};

const HOSTILE: [&str; 6] = [
    "<script>window.__hit = 1</script>",
    "\"'><img src=x onerror=window.__hit=1>",
    "</style></title></p><svg onload='window.__hit=1'>",
    "javascript:window.__hit=1",
    "{{ 7 * 7 }}{% for a in b %}&amp;",
    "a\u{a0}<b\u{0}>\u{a0}\r\n]]>-->",
];

/// The tags of a page, `<…>` with what stands between, the style sheet's text left out.
fn tags(page: &str) -> Vec<&str> {
    page.split('<').skip(1).filter_map(|part| part.split_once('>')).map(|(tag, _)| tag).collect()
}

/// The values of one attribute, as they are written.
fn attributes<'a>(page: &'a str, name: &str) -> Vec<&'a str> {
    let opening = format!(" {name}=\"");
    page.split(opening.as_str()).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

/// The text of a page as a browser extracts it.
fn text(page: &str) -> String {
    let body = page.split_once("<body>").map_or(page, |(_, body)| body);
    let kept: String =
        body.split('<').map(|part| part.split_once('>').map_or(part, |(_, text)| text)).collect();
    [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")]
        .iter()
        .fold(kept, |text, (entity, letter)| text.replace(entity, letter))
}

fn body(items: Vec<Item>) -> String {
    let page = html(&document(items));
    let start = page.find("<main").expect("a main landmark");
    page[start..].to_owned()
}

#[test]
fn hostile_text_makes_no_tag_and_no_attribute() {
    let harmless: Vec<String> = shape(&html(&everywhere("word")));
    for text in HOSTILE {
        let page = html(&everywhere(text));
        // A hostile id or address may drop a link, never add anything.
        let known: HashSet<&String> = harmless.iter().collect();
        for tag in shape(&page) {
            assert!(
                known.contains(&tag)
                    || tag.starts_with("span class=")
                    || ["tspan class=", "/tspan", "wbr"].contains(&tag.as_str()),
                "{text}: <{tag}>"
            );
        }
        // The page's own script ends it.
        assert!(page.matches("<script").count() == 1 && !page.contains("<img src=x"), "{text}");
    }
}

/// Tags with their attributes' names, without what stands in quotes.
fn shape(page: &str) -> Vec<String> {
    tags(page).iter().map(|tag| tag.split('"').step_by(2).collect::<Vec<_>>().join("")).collect()
}

#[test]
fn no_tag_has_a_style_or_an_event_attribute() {
    for text in HOSTILE.iter().chain(&["word"]) {
        for tag in shape(&html(&everywhere(text))) {
            let faulty = tag
                .split_whitespace()
                .skip(1)
                .any(|name| name.starts_with("style=") || name.starts_with("on"));
            assert!(!faulty, "<{tag}>");
        }
    }
}

#[test]
fn the_policy_allows_this_style_sheet_and_this_script_and_nothing_else() {
    let page = html(&chapter());
    let (_, rest) = page.split_once("<style>").expect("a style sheet");
    let (style, rest) = rest.split_once("</style>").expect("its end");
    let (_, script) = rest.split_once("<script>").expect("a script");
    let script = script.split("</script>").next().expect("its end");
    let [sheet, own] = [style, script].map(|text| base64::encode(&Sha256::digest(text.as_bytes())));
    let policy = format!(
        "default-src 'none'; style-src 'sha256-{sheet}'; img-src data:; font-src data:; base-uri 'none'; form-action 'none'; script-src 'sha256-{own}'"
    );
    let unescaped = |text: &str| text.replace("&#x27;", "'").replace("&#x2f;", "/");
    let found = attributes(&page, "content").first().map(|content| unescaped(content));
    assert_eq!(found, Some(policy));
    let loaded = style.matches("url(").count();
    assert_eq!(loaded, style.matches("url(data:font/woff2;base64,").count());
    assert!(loaded == 2 && !rest.contains("<style") && !style.contains("@import"));
}

#[test]
fn the_page_loads_nothing() {
    for document in [chapter(), everywhere("word")] {
        let page = html(&document);
        assert!(attributes(&page, "src").iter().all(|address| address.starts_with("data:image/png;base64,")));
        for tag in ["iframe", "object", "embed", "audio", "video", "form", "base"] {
            assert!(!tags(&page).iter().any(|found| found.split_whitespace().next() == Some(tag)), "{tag}");
        }
        assert_eq!(tags(&page).iter().filter(|tag| tag.starts_with("link")).count(), 1, "the empty icon");
    }
}

#[track_caller]
fn check_links(document: &Document) -> usize {
    let page = html(document);
    let ids = attributes(&page, "id");
    let known: HashSet<&&str> = ids.iter().collect();
    assert_eq!(known.len(), ids.len(), "an id stands twice");
    let links: Vec<&str> =
        attributes(&page, "href").into_iter().filter_map(|to| to.strip_prefix('#')).collect();
    for link in &links {
        assert!(known.contains(link), "nothing has the id {link}");
    }
    links.len()
}

#[test]
fn every_inner_link_has_its_id() {
    assert!(check_links(&chapter()) > 12);
    let lost = paragraph(Style::Body, vec![inner("lost", "nowhere"), inner("found", "a.b_c-1")]);
    let twice = || heading(2, "one").at("a.b_c-1");
    check_links(&document(vec![lost.clone(), twice(), twice()]));
    let page = body(vec![lost, twice()]);
    assert!(page.contains("<p>lost<a href=\"#a.b_c-1\">found</a></p>"), "{page}");
}

#[test]
fn only_web_and_mail_addresses_are_followed() {
    let links = [
        "https://example.org/a?b=1&c=\"2\"",
        "MAILTO:a@example.org",
        "javascript:1",
        "data:text/html,1",
        "/etc",
    ];
    let page = body(vec![paragraph(Style::Body, links.iter().map(|address| outer("x", address)).collect())]);
    assert!(
        page.contains(
            "<a href=\"https://example.org/a?b=1&amp;c=&quot;2&quot;\" rel=\"noopener noreferrer\">x</a>\
             <a href=\"MAILTO:a@example.org\" rel=\"noopener noreferrer\">x</a>xxx</p>"
        ),
        "{page}"
    );
}

#[test]
fn decimal_cells_extract_as_plain_text() {
    let cells = ["12.5\u{a0}kg", "1\u{a0}203\u{a0}kg", "−0.25\u{a0}kg", "—"];
    let table = Table {
        columns: vec![column("part", Align::Left, 0), column("mass", Align::Decimal, 0)],
        rows: cells.iter().map(|cell| row(&["a", cell])).collect(),
        caption: None,
    };
    let page = body(vec![item(Piece::Table(table))]);
    assert!(page.contains("<span class=\"q\"><span class=\"i i5\">12</span>.5 kg</span></td>"), "{page}");
    let text = text(&page);
    for cell in ["a12.5 kg\n", "a1 203 kg\n", "a−0.25 kg\n", "a—\n"] {
        assert!(text.contains(cell), "{cell}: {text}");
    }
}

#[test]
fn text_comes_out_as_it_went_in_with_plain_spaces() {
    for hostile in HOSTILE {
        let page = html(&everywhere(hostile));
        let expected = hostile.replace('\u{a0}', " ").replace('\u{0}', "\u{fffd}");
        assert!(text(&page).matches(expected.as_str()).count() > 40, "{hostile}");
        assert!(!page.contains('\u{a0}'));
    }
}

#[test]
fn headings_never_skip_a_level() {
    let page =
        body(vec![heading(1, "a"), heading(4, "b"), heading(4, "c"), heading(2, "d"), heading(3, "e")]);
    let levels: Vec<&str> =
        tags(&page).into_iter().filter(|tag| tag.starts_with('h')).map(|tag| &tag[..2]).collect();
    assert_eq!(levels, ["he", "h1", "h2", "h3", "h2", "h3"].as_slice()[1..].to_vec());
}

#[test]
fn the_log_stands_once_beside_its_row_or_piece() {
    let mut logged = row(&["a", "1"]);
    logged.log = vec![plain("log of the row")];
    let table = Table { columns: vec![column("", Align::Left, 0); 2], rows: vec![logged], caption: None };
    let page = body(vec![item(Piece::Table(table)).noted(&["log of the table"])]);
    assert!(page.contains("<td class=\"log\"><p>log of the table</p></td></tr></thead>"), "{page}");
    assert!(page.contains("<td class=\"log\"><p>log of the row</p></td></tr>"), "{page}");
    assert_eq!(page.matches("log of").count(), 2);
    let page = body(vec![paragraph(Style::Body, vec![run("a", Face::Plain)]).noted(&["beside"])]);
    assert!(page.contains("<div class=\"log\"><p>beside</p></div>"), "{page}");
}

#[test]
fn a_working_is_folded_behind_the_name_of_its_result() {
    let page = html(&chapter());
    let folded = "<tr id=\"drive.motor_speed\"><th scope=\"row\" class=\"s w55\"><details><summary>motor speed</summary>\
                  <span class=\"how\">wheel speed · third gear · final drive</span></details></th>";
    assert!(page.contains(folded), "{page}");
    assert_eq!(page.matches("third gear · final drive").count(), 1);
}

#[test]
fn workings_of_values_in_other_tables_are_told_one_by_one_and_run_together() {
    let working = Working { from: plain("2 × 3"), result: plain("6") };
    let member =
        Member { id: Some("a.b_first".to_owned()), label: plain("b, first"), working, log: Vec::new() };
    let line = WorkedLine { ids: vec!["a.b_first".to_owned()], text: plain("b = c × d. first 2 × 3 = 6") };
    let page = body(vec![item(Piece::Results {
        summary: "Working of the 1 value above".to_owned(),
        table: Table { columns: vec![column("Working", Align::Left, 1)], rows: Vec::new(), caption: None },
        workings: Vec::new(),
        members: vec![member],
        lines: vec![line],
    })]);
    assert_eq!(page.matches("<table").count(), 1, "{page}");
    assert!(page.contains("<tr id=\"a.b_first\"><th scope=\"row\" class=\"s\">b, first</th>"), "{page}");
    assert!(page.contains("<div class=\"run-on\">\n<p>b = c × d. first 2 × 3 = 6</p>"), "{page}");
}

#[test]
fn the_columns_of_a_table_share_the_whole_width() {
    let check = |shares: &[u16], cells: &[&str], widths: &[u32]| {
        let columns = shares.iter().map(|share| column("", Align::Left, *share)).collect();
        let page = body(vec![item(Piece::Table(Table { columns, rows: vec![row(cells)], caption: None }))]);
        let found = page.split("<col class=\"w").skip(1);
        let found: Vec<u32> = found.filter_map(|rest| rest.split('"').next()?.parse().ok()).collect();
        assert_eq!(found, widths, "{page}");
    };
    check(&[5, 4, 3], &["a"], &[41, 34, 25]);
    check(&[4, 3, 3, 3, 3, 3, 3, 3, 3], &["a"], &[14, 11, 10, 11, 11, 10, 11, 11, 11]);
    // A column without a share keeps the room of its longest line.
    check(&[5, 0, 4], &["subject", "not in this journal", "what it rests on"], &[46, 16, 38]);
}

#[test]
fn a_sheet_to_stand_alone_has_no_log_column() {
    let (log, one) = (chapter(), Document { columns: Columns::One, ..chapter() });
    let main = |document: &Document| {
        html(document).matches("<main id=\"vw:text\" tabindex=\"-1\" class=\"one\">").count()
    };
    assert_eq!([main(&log), main(&one)], [0, 1]);
}

#[test]
fn the_same_document_gives_the_same_page() {
    assert_eq!(html(&chapter()), html(&chapter()));
}

#[test]
fn only_the_page_that_follows_its_journal_may_run_a_script_and_only_its_own() {
    let document = chapter();
    let live = Live { lines: &["<half> saved".to_owned()], edition: "7" };
    let (still, live) = (html(&document), Printed::new(&document, None).page(&document, &live, &[]));
    assert!(!still.contains("<script src") && !still.contains("connect-src"), "{still:.600}");
    let allowed = "; script-src &#x27;self&#x27;; connect-src &#x27;self&#x27;\"";
    assert!(live.contains(allowed), "{live:.600}");
    assert_eq!(live.matches("<script").count(), 1);
    assert!(live.contains("<script src=\"/watch.js\" defer></script>"), "{live:.900}");
    assert!(live.contains("<p>&lt;half&gt; saved</p>") && live.contains("data-edition=\"7\""));
}
