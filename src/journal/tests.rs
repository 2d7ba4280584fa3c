//! Claims about what is read from a file.

use super::{BlockForm, Inline, Journal, PartForm, Position, RegionState, body_hash, plain, read_yaml, scan};
use crate::findings::Finding;
use crate::source::{FileId, Source, Span};

fn read(text: &str) -> (Journal, Vec<Finding>) {
    scan(FileId(0), Position::First, &Source::new("a.md", text))
}

/// Codes of the findings, each with the text that it points at.
fn found(text: &str) -> Vec<(&'static str, String)> {
    named(&read(text).1, text)
}

fn named(findings: &[Finding], text: &str) -> Vec<(&'static str, String)> {
    let place = |span: Option<Span>| span.map_or("", |span| &text[span.range()]).to_owned();
    findings.iter().map(|finding| (finding.code.name, place(finding.span))).collect()
}

#[track_caller]
fn check(text: &str, expected: &[(&str, &str)]) {
    let found = found(text);
    let found: Vec<(&str, &str)> = found.iter().map(|(code, place)| (*code, place.as_str())).collect();
    assert_eq!(found, expected, "{text}");
}

/// The YAML of a block that holds `yaml`, and what is found in it.
#[track_caller]
fn check_yaml(yaml: &str, tree: Option<&str>, expected: &[(&str, &str)]) {
    let (node, findings) = read_yaml(FileId(0), yaml);
    let found = named(&findings, yaml);
    let found: Vec<(&str, &str)> = found.iter().map(|(code, place)| (*code, place.as_str())).collect();
    assert_eq!(found, expected, "{yaml}");
    assert_eq!(node.map(|node| format!("{node:?}")).as_deref(), tree, "{yaml}");
}

/// Every scalar of the first block with the bytes of the file at its span.
fn scalars(text: &str) -> Vec<(String, String)> {
    let (journal, findings) = read(text);
    assert_eq!(findings, [], "{text}");
    let body = journal.fences[0].body.clone();
    let Some(super::NodeValue::Mapping(pairs)) = body.map(|node| node.value) else { return Vec::new() };
    let nodes = pairs.iter().flat_map(|(key, value)| [key, value]);
    nodes
        .map(|node| (node.text().unwrap_or_default().to_owned(), text[node.span.range()].to_owned()))
        .collect()
}

#[track_caller]
fn parts_are_the_file(text: &str) -> Vec<PartForm> {
    let (journal, _) = read(text);
    let joined: String = journal.parts.iter().map(|part| &text[part.span.range()]).collect();
    assert_eq!(joined, text);
    journal.parts.iter().map(|part| part.form).collect()
}

fn region(name: &str, body: &str) -> String {
    format!("<!-- worked:{name} -->\n{body}\n<!-- /worked:{name} {} -->\n", body_hash(body))
}

#[test]
fn values_keep_their_source_text() {
    check_yaml(
        "a: 3.70\nb: 2/0\nc: yes\nd: 2026-03-02\ne: ~\nf:\ng: \"3\\t4\"\nh: '5'\ni: 4 500 rpm\n",
        Some("{a: 3.70, b: 2/0, c: yes, d: 2026-03-02, e: ~, f: , g: \"3\\t4\", h: \"5\", i: 4 500 rpm}"),
        &[],
    );
}

#[test]
fn an_empty_block_is_an_empty_node() {
    check_yaml("", Some(""), &[]);
    check_yaml("# only a remark\n", Some(""), &[]);
}

#[test]
fn a_place_in_yaml_is_a_place_in_the_file() {
    let fences = [
        "```yaml k n\na: µ 1\nb: \"2\"\n```\n",
        "\u{feff}x\r\n\r\n```yaml k n\r\na: µ 1\r\nb: \"2\"\r\n```\r\n",
        "- x\n\n  ~~~yaml k n\n  a: µ 1\n  b: \"2\"\n  ~~~\n",
        "> ```yaml k n\n> a: µ 1\n>b: \"2\"\n> ```\n",
        "> - ````yaml k n\r\n>   a: µ 1\r\n>   b: \"2\"\r\n>   ````",
        "1.\t```yaml k n\n\ta: µ 1\n\tb: \"2\"\n\t```\n",
    ];
    for text in fences {
        let expected = [("a", "a"), ("µ 1", "µ 1"), ("b", "b"), ("2", "\"2\"")];
        let scalars = scalars(text);
        let scalars: Vec<(&str, &str)> = scalars.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        assert_eq!(scalars, expected, "{text}");
    }
}

#[test]
fn yaml_that_shares_or_guesses_is_refused() {
    check_yaml("a: &x 1\nb: *x\n", None, &[("yaml-alias", "&x")]);
    check_yaml("a: *q\n", None, &[("yaml-alias", "*q")]);
    check_yaml("a: !t 3\n", None, &[("yaml-alias", "!t")]);
    check_yaml("a: 1\nb: 2\na: 3\n", None, &[("duplicate-key", "a")]);
    check_yaml("a: {b: 1, b: 2}\n", None, &[("duplicate-key", "b")]);
}

#[test]
fn broken_yaml_is_found_where_it_is_broken() {
    check_yaml("a: @x\n", None, &[("yaml-broken", "@x")]);
    check_yaml("a: %5\n", None, &[("yaml-broken", "%5")]);
    check_yaml("a: \"x\nb: 2\n", None, &[("yaml-broken", "\"x")]);
    check_yaml("a: 1\n b: 2\n", None, &[("yaml-broken", ": 2")]);
    check_yaml("a: 1\n\tb: 2\n", None, &[("yaml-broken", "\tb: 2")]);
    check_yaml("a: [1, 2\nb: 3\n", None, &[("yaml-broken", "[1, 2")]);
    check_yaml("a: {b: 1\n", None, &[("yaml-broken", "{b: 1")]);
    check_yaml("a: b\nc\n", None, &[("yaml-broken", "c")]);
    check_yaml("a: 1\n---\nb: 1\n", None, &[("yaml-broken", "---")]);
    check_yaml("? [a]\n: b\n", None, &[("yaml-broken", "[a]")]);
    check_yaml("%YAML 1.2\n---\na: 1\n", None, &[("yaml-broken", "%YAML 1.2")]);
}

#[test]
fn a_value_that_yaml_cuts_is_one_finding() {
    let cut = "yaml-cut-value";
    check_yaml("{mass: 64 kg (measured WB-1, twice), x: 1}", None, &[(cut, "64 kg (measured WB-1, twice)")]);
    check_yaml(
        "{mass: 64 kg (measured WB-1, remark: twice), x: 1}",
        None,
        &[(cut, "64 kg (measured WB-1, remark: twice)")],
    );
    check_yaml("[64 kg (measured, twice), 3 kg]", None, &[(cut, "64 kg (measured, twice)")]);
    check_yaml("{item: seats, three, mass: 1 kg}", None, &[(cut, "seats, three")]);
    check_yaml(
        "a: {mass: 64 kg (measured WB #2), k: v}\nb: 1\n",
        None,
        &[(cut, "64 kg (measured WB #2), k: v}")],
    );
    check_yaml("{mass: 64 kg (measured; remark: x), k: v}", None, &[(cut, "64 kg (measured; remark: x)")]);
    check_yaml("note: measured: twice\n", None, &[(cut, "measured: twice")]);
    check_yaml("- seats (measured: twice)\n", None, &[(cut, "seats (measured: twice)")]);
}

#[test]
fn a_value_that_is_only_left_open_is_left_to_its_reader() {
    check_yaml("mass: 64 kg (measured WB #2)\n", Some("{mass: 64 kg (measured WB}"), &[]);
    check_yaml("{mass: 64 kg (measured, x: [1]}", Some("{mass: 64 kg (measured, x: [1]}"), &[]);
    let (node, _) = read_yaml(FileId(0), "mass: 64 kg (measured WB #2)\n");
    assert!(node.unwrap().get("mass").unwrap().looks_cut());
}

#[test]
fn whole_values_in_braces_are_not_cut() {
    let yaml = "{a: 64 kg (measured WB-1; a (b)), b: , c: \"x (y, z)\", d: [1 (a), 2 (b)]}";
    let tree = "{a: 64 kg (measured WB-1; a (b)), b: , c: \"x (y, z)\", d: [1 (a), 2 (b)]}";
    check_yaml(yaml, Some(tree), &[]);
}

#[test]
fn deep_yaml_is_refused_and_does_not_overflow() {
    for deep in ["[".repeat(100_000), "{a: ".repeat(100_000), "- ".repeat(100_000)] {
        let (node, findings) = read_yaml(FileId(0), &deep);
        assert_eq!(node, None);
        assert_eq!(findings.len(), 1);
        assert_eq!(findings[0].code.name, "yaml-too-deep");
    }
    let mut nested = String::new();
    for i in 0..29 {
        nested.push_str(&format!("{}a:\n", " ".repeat(i)));
    }
    assert_eq!(read_yaml(FileId(0), &nested).1, []);
}

#[test]
fn front_matter_opens_the_first_file() {
    let text = "\u{feff}---\r\ntitle: A van\r\nunits: {speed: km/h}\r\n---\r\n# x\r\n";
    let (journal, findings) = read(text);
    assert_eq!(findings, []);
    let node = journal.front_matter.unwrap();
    assert_eq!(format!("{node:?}"), "{title: A van, units: {speed: km/h}}");
    assert_eq!(&text[node.get("title").unwrap().span.range()], "A van");
    assert_eq!(journal.prose.len(), 1);
    assert_eq!(parts_are_the_file(text), [PartForm::FrontMatter, PartForm::Prose]);
}

#[test]
fn front_matter_elsewhere_or_unclosed_is_found() {
    check("---\ntitle: x\n\n# y\n", &[("front-matter", "---")]);
    check("\n---\ntitle: x\n---\n", &[("front-matter", "---")]);
    let later = |text: &str| {
        let (journal, findings) = scan(FileId(0), Position::Later, &Source::new("b.md", text));
        (journal.front_matter.is_some(), named(&findings, text))
    };
    let found = |code| (false, vec![(code, "---".to_owned())]);
    assert_eq!(later("---\ntitle: x\n---\ny\n"), found("stray-front-matter"));
    // What says whose journal it is must not be passed over.
    assert_eq!(later("---\ntitle: x\nvehicle: {year: 1990}\n---\ny\n"), found("front-matter"));
    assert_eq!(later("---\nA line.\n\n---\n"), (false, vec![]));
}

#[test]
fn words_of_a_fence_have_places() {
    let text = "  ```  yaml  ratio-chain drive more words \na: 1\n  ```\n";
    let (journal, findings) = read(text);
    let fence = &journal.fences[0];
    let words: Vec<&str> = [&fence.kind]
        .into_iter()
        .chain(&fence.name)
        .chain(&fence.extra)
        .map(|word| {
            assert_eq!(word.text, text[word.span.range()]);
            word.text.as_str()
        })
        .collect();
    assert_eq!(words, ["ratio-chain", "drive", "more", "words"]);
    assert_eq!(&text[fence.body_span.range()], "a: 1\n");
    assert_eq!((fence.prefix.as_str(), fence.after as usize), ("  ", text.len()));
    assert_eq!(findings, []);
}

#[test]
fn a_fence_that_says_only_yaml_is_prose() {
    let (journal, findings) = read("```yaml\n}{\n```\n\n``` rust yaml x\n```\n\n    ```yaml k n\n");
    assert!(journal.fences.is_empty() && findings.is_empty());
    let languages: Vec<&str> = journal
        .prose
        .iter()
        .filter_map(|block| match &block.form {
            BlockForm::Code { language, .. } => Some(language.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(languages, ["yaml", "rust", ""]);
}

#[test]
fn yaml_of_a_nameless_fence_is_not_complained_of() {
    let (journal, findings) = read("```yaml title\n}{\n```\n");
    assert_eq!((journal.fences.len(), findings), (1, vec![]));
    assert_eq!(journal.fences[0].body, None);
}

#[test]
fn a_fence_that_never_closes_is_found() {
    check("```yaml k n\na: 1\n", &[("unclosed-fence", "```yaml k n")]);
    check("````yaml k n\na: 1\n```\n", &[("unclosed-fence", "````yaml k n")]);
    check("> ```yaml k n\n> a: 1\n\n```\nx\n```\n", &[("unclosed-fence", "```yaml k n")]);
    check("```yaml k n\na: 1\n> ```\n", &[("unclosed-fence", "```yaml k n")]);
    check("```yaml k n", &[("unclosed-fence", "```yaml k n")]);
    check("```yaml k n\n```", &[]);
    check("~~~yaml k n\n~~~~~  ", &[]);
}

#[test]
fn a_block_or_live_value_in_raw_html_is_found() {
    check(
        "<div>\n```yaml k n\na: 1\n```\n</div>\n",
        &[("raw-html", "<div>\n```yaml k n\na: 1\n```\n</div>\n"), ("hidden-in-html", "```yaml k n")],
    );
    check("<!--\n```yaml k n\n```\n-->\n", &[("hidden-in-html", "```yaml k n")]);
    check(
        "x <a href=\"result:a.b\">\n",
        &[("raw-html", "<a href=\"result:a.b\">"), ("hidden-in-html", "=\"result:")],
    );
    let (journal, findings) = read("<details>\n\n```yaml k n\n```\n\n</details>\n");
    assert_eq!(journal.fences.len(), 1);
    assert_eq!(findings.len(), 2);
}

#[test]
fn live_values_are_inline_links() {
    let text = "at [12 133 **rpm**](result:drive.motor_speed), [a `](` \\]](<result:d.m in rad/s> \"t\"), [](result:x)";
    let (journal, findings) = read(text);
    assert_eq!(findings, []);
    let live: Vec<(&str, &str, &str)> = journal
        .live
        .iter()
        .map(|live| {
            assert_eq!(live.address.text, text[live.address.span.range()]);
            (live.address.text.as_str(), live.text.as_str(), &text[live.text_span.range()])
        })
        .collect();
    let expected = [
        ("drive.motor_speed", "12 133 rpm", "12 133 **rpm**"),
        ("d.m in rad/s", "a ]( ]", "a `](` \\]"),
        ("x", "", ""),
    ];
    assert_eq!(live, expected);
    let BlockForm::Paragraph(line) = &journal.prose[0].form else { panic!() };
    let numbers: Vec<usize> = line
        .iter()
        .filter_map(|inline| if let Inline::Live { live, .. } = inline { Some(*live) } else { None })
        .collect();
    assert_eq!(numbers, [0, 1, 2]);
}

#[test]
fn other_forms_of_a_live_value_are_found() {
    check("[x][r]\n\n[r]: result:a.b\n", &[("live-value-form", "[x][r]")]);
    check("<result:a.b>\n", &[("live-value-form", "<result:a.b>")]);
    check("![x](result:a.b)\n", &[("live-value-form", "![x](result:a.b)")]);
}

#[test]
fn a_region_belongs_to_the_fence_above_it() {
    let text = format!("```yaml k n\na: 1\n```\n{}after\n", region("n", "**x**\n\n| a |\n|---|\n| b |"));
    let (journal, findings) = read(&text);
    assert_eq!(findings, []);
    assert_eq!(journal.fences[0].region, RegionState::Whole(0));
    assert!(!journal.regions[0].edited);
    assert_eq!(journal.prose.len(), 2);
    assert_eq!(parts_are_the_file(&text), [PartForm::Fence(0), PartForm::Region(0), PartForm::Prose]);
}

#[test]
fn an_edited_region_is_known_by_its_hash() {
    let text = format!("```yaml k n\n```\n{}", region("n", "x").replace('x', "y"));
    assert!(read(&text).0.regions[0].edited);
}

#[test]
fn spaces_that_an_editor_took_are_no_edit() {
    let body = "x\n\ny";
    let hash = body_hash(body);
    let text =
        format!("> ```yaml k n\n> ```\n> <!-- worked:n -->\n> x\n>\n> y\n> <!-- /worked:n {hash} -->\n");
    assert!(!read(&text).0.regions[0].edited);
}

#[test]
fn a_region_behind_empty_lines_is_still_its_blocks() {
    let text = format!("```yaml k n\n```\n\n{}", region("n", "x"));
    assert_eq!(read(&text).0.fences[0].region, RegionState::Whole(0));
    let text = format!("```yaml k n\n```\n\n{}", region("m", "x"));
    assert_eq!(read(&text).0.fences[0].region, RegionState::None);
}

#[test]
fn damaged_marks_are_found() {
    let fence = "```yaml k n\n```\n";
    let damaged = |marks: &str, expected: &[&str]| {
        let text = format!("{fence}{marks}");
        let expected: Vec<(&str, &str)> = expected.iter().map(|place| ("damaged-region", *place)).collect();
        check(&text, &expected);
        assert!(read(&text).0.damaged);
    };
    damaged("<!-- worked:n -->\nx\n", &["<!-- worked:n -->"]);
    damaged("x\n<!-- /worked:n 12345678 -->\n", &["<!-- /worked:n 12345678 -->"]);
    damaged("<!-- worked:n -->\n<!-- worked:n -->\nx\n<!-- /worked:n 12345678 -->\n", &["<!-- worked:n -->"]);
    damaged("<!-- worked:n -->\nx\n<!-- /worked:m 12345678 -->\n", &["<!-- worked:n -->"]);
    damaged("<!-- worked:n -->\nx\n<!-- /worked:n -->\n", &["<!-- worked:n -->"]);
    damaged("x <!-- worked:n -->\n", &["<!-- worked:n -->"]);
    let twice = format!("{}{}", region("n", "x"), region("n", "x"));
    damaged(&twice, &["n"]);
}

#[test]
fn a_region_whose_block_is_gone_is_an_orphan_and_no_prose() {
    let text = format!("x\n\n{}\n```yaml k n\n```\n", region("gone", "12 rpm"));
    let (journal, findings) = read(&text);
    assert_eq!(named(&findings, &text), [("orphan-region", "gone".to_owned())]);
    assert!(!journal.damaged);
    assert_eq!(journal.regions[0].fence, None);
    assert_eq!(journal.prose.len(), 2);
}

#[test]
fn marks_in_code_are_no_marks() {
    check("```\n<!-- worked:n -->\n```\n\n`<!-- worked:n -->`\n", &[]);
}

#[test]
fn prose_has_every_form() {
    let text = "# H *e* **s** ~~d~~ `c`\n\nx  \ny\nz[^1] H<sub>2</sub>O<br>![alt *b*](p.png \"t\")\n\n3. a\n   - [x] done *it*\n   - [ ] open\n\n> q\n\n---\n\n| a | b |\n|:-:|--:|\n| [l](m.md) | \\| |\n\n[^1]: note\n";
    let (journal, findings) = read(text);
    assert_eq!(findings, []);
    let forms: Vec<String> = journal.prose.iter().map(|block| format!("{:?}", block.form)).collect();
    let begins =
        ["Heading { level: 1", "Paragraph", "List { start: Some(3)", "Quote", "Rule", "Table", "Footnote"];
    assert_eq!(forms.len(), begins.len());
    for (form, begin) in forms.iter().zip(begins) {
        assert!(form.starts_with(begin), "{form}");
    }
    let words = [
        "Emphasis([Text(\"e\")])",
        "Strong([Text(\"s\")])",
        "Struck([Text(\"d\")])",
        "Code(\"c\")",
        "HardBreak",
        "SoftBreak",
        "FootnoteReference(\"1\")",
        "Sub([Text(\"2\")])",
        "alt: \"alt b\"",
        "address: \"m.md\"",
        "aligns: [Centre, Right]",
        "Text(\"|\")",
        "label: \"1\"",
    ];
    let all = forms.join("\n");
    for word in words {
        assert!(all.contains(word), "{word} in {all}");
    }
    let tasks: Vec<(bool, &str)> = journal.tasks.iter().map(|task| (task.done, task.text.as_str())).collect();
    assert_eq!(tasks, [(true, "done it"), (false, "open")]);
}

#[test]
fn raw_html_is_text_with_one_note_a_paragraph() {
    check("a <b>x</b> <i>y</i>\n\n<b>z</b>\n", &[("raw-html", "<b>"), ("raw-html", "<b>")]);
    let (journal, _) = read("a <b>x</b>");
    let BlockForm::Paragraph(line) = &journal.prose[0].form else { panic!() };
    assert_eq!(plain(line), "a <b>x</b>");
    let (journal, findings) = read("<!-- a remark -->\n\nx <!-- y --> z\n");
    assert_eq!((journal.prose.len(), findings.len()), (1, 0));
}

#[test]
fn an_unsafe_link_keeps_its_text_and_loses_its_address() {
    let text = "[a](JavaScript&colon;alert(1)) <javascript:x> ![p](data:image/png;base64,x) <a@b.org>";
    let (journal, findings) = read(text);
    let codes: Vec<&str> = findings.iter().map(|finding| finding.code.name).collect();
    assert_eq!(codes, ["unsafe-link"; 3]);
    let shown = format!("{:?}", journal.prose);
    assert!(!shown.contains("address: \"java") && shown.contains("address: \"mailto:a@b.org\""), "{shown}");
}

#[test]
fn hostile_nesting_is_flattened() {
    let deep = 20_000;
    let texts = [
        "> ".repeat(deep) + "x",
        "- ".repeat(deep) + "x",
        "*a ".repeat(deep) + &" b*".repeat(deep),
        "<sub>".repeat(deep) + "x",
        "[".repeat(deep) + &"](b)".repeat(deep),
        "![".repeat(deep) + &"](b)".repeat(deep),
        "**a_".repeat(deep),
    ];
    for text in texts {
        let (journal, _) = read(&text);
        assert!(format!("{:?}", journal.prose).len() < 100 * text.len());
        drop(journal);
    }
}

#[test]
fn parts_are_the_file_whatever_it_is() {
    let texts =
        ["", "\u{feff}", "\r", "---", "---\n---", "a\rb", "```yaml k n\r```\rx", "> ```yaml k n", "\0"];
    for text in texts {
        parts_are_the_file(text);
    }
}

/// Pieces that mean something to Markdown, to YAML or to us.
const PIECES: &[&str] = &[
    "a",
    "µ",
    "\u{a0}",
    "\u{2009}",
    " ",
    "  ",
    "\t",
    "\n",
    "\n",
    "\r\n",
    "\r",
    "\0",
    "\u{feff}",
    "\u{85}",
    "\u{2028}",
    ":",
    ": ",
    ",",
    ", ",
    "#",
    " #",
    "{",
    "}",
    "[",
    "]",
    "(",
    ")",
    "\"",
    "'",
    "\\",
    "|",
    ">",
    ">-\n",
    "|2\n",
    "- ",
    "-",
    "? ",
    "&x",
    "*x",
    "!t",
    "!",
    "%",
    "@",
    "`",
    "---\n",
    "...\n",
    "k: v\n",
    "```yaml k n\n",
    "```\n",
    "~~~",
    "<",
    "<!--",
    "-->",
    "<!-- worked:n -->",
    "<!-- /worked:n 12345678 -->",
    "\n<!-- worked:n -->\n",
    "\n<!-- /worked:n 12345678 -->\n",
    "](result:a.b)",
    "](<result:a in m>)",
    "<sub>",
    "</sub>",
    "<br>",
    "<div>\n",
    "![",
    "[^1]",
    "[^1]: ",
    "**",
    "_",
    "| a |\n|---|\n",
    "&amp;",
    "&#x0;",
    "\n\n",
];

#[test]
fn any_mix_of_pieces_is_read_with_places_in_the_file() {
    let mut state: u64 = 11;
    let mut random = move |below: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below
    };
    for _ in 0..std::env::var("MIXES").ok().and_then(|n| n.parse().ok()).unwrap_or(3_000) {
        let mut text: String = (0..1 + random(25)).map(|_| PIECES[random(PIECES.len())]).collect();
        if random(2) == 0 {
            text = format!("> ```yaml k n\n{}", text.replace('\n', "\n> ")) + "\n> ```\n";
        }
        let (node, findings) = read_yaml(FileId(0), &text);
        spans_are_in(&text, &findings, node.as_ref());
        let (journal, findings) = read(&text);
        spans_are_in(&text, &findings, journal.front_matter.as_ref());
        for fence in &journal.fences {
            spans_are_in(&text, &[], fence.body.as_ref());
        }
        for live in &journal.live {
            assert!(
                text.get(live.text_span.range()).is_some() && text.get(live.address.span.range()).is_some(),
                "{text:?}"
            );
        }
        parts_are_the_file(&text);
    }
}

#[track_caller]
fn spans_are_in(text: &str, findings: &[Finding], node: Option<&super::Node>) {
    for finding in findings {
        assert!(text.get(finding.span.unwrap().range()).is_some(), "{finding:?} in {text:?}");
    }
    let Some(node) = node else { return };
    assert!(text.get(node.span.range()).is_some(), "{node:?} {:?} in {text:?}", node.span);
    match &node.value {
        super::NodeValue::Sequence(items) => {
            items.iter().for_each(|item| spans_are_in(text, &[], Some(item)))
        }
        super::NodeValue::Mapping(pairs) => {
            for (key, value) in pairs {
                spans_are_in(text, &[], Some(key));
                spans_are_in(text, &[], Some(value));
            }
        }
        _ => {}
    }
}
