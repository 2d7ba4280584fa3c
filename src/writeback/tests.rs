//! Claims about what is written, and what is left alone.

use kept::{forms, outside};

use super::{Body, Edited, Orphans, Wanted, edits};
use crate::findings::Finding;
use crate::journal::{Journal, Position, RegionState, can_be_marked, region_body, scan};
use crate::source::{FileId, Source};

const BODY: &str =
    "**Speed 1\u{a0}084 rpm** at 130 km/h.\n\n| Result | Value |\n|---|---|\n| `speed` | 1 084 ± 2 rpm |";

fn read(text: &str) -> (Source, Journal) {
    let source = Source::new("a.md", text);
    let (journal, _) = scan(FileId(0), Position::First, &source);
    (source, journal)
}

/// Every block worked with `body`, every live value showing `shown`.
fn all(journal: &Journal, body: &str, shown: &str) -> Wanted {
    Wanted {
        regions: (0..journal.fences.len()).map(|i| (i, Body::Worked(body.to_owned()))).collect(),
        live: (0..journal.live.len()).map(|i| (i, shown.to_owned())).collect(),
        ..Wanted::default()
    }
}

/// Writes, and claims: a second run changes nothing, every region reads back whole and unedited with the
/// body that was given, every live value reads back, and all else is byte for byte what it was.
#[track_caller]
fn check(text: &str) -> String {
    let (source, journal) = read(text);
    let (changes, findings) = edits(&source, &journal, &all(&journal, BODY, "1 084 `r|m`"));
    assert_eq!(findings, [], "{text}");
    let written = changes.expect("may be written").apply(text);
    let (again, read_back) = read(&written);
    assert!(!read_back.damaged, "{written}");
    assert_eq!(read_back.fences.len(), journal.fences.len(), "{written}");
    for fence in &read_back.fences {
        let RegionState::Whole(number) = fence.region else {
            let named = fence.name.as_ref().is_some_and(|name| can_be_marked(&name.text));
            assert!(!fence.closed || !named, "{written}");
            continue;
        };
        assert!(!read_back.regions[number].edited, "{written}");
        assert_eq!(
            region_body(&written, &read_back.regions[number]),
            BODY.replace('\u{a0}', " "),
            "{written}"
        );
    }
    for live in &read_back.live {
        assert_eq!(live.text, "1 084 `r|m`", "{written}");
    }
    let (changes, _) = edits(&again, &read_back, &all(&read_back, BODY, "1 084 `r|m`"));
    assert!(changes.expect("may be written").is_empty(), "{written}");
    assert_eq!(outside(&read_back, &written), outside(&journal, text), "{written}");
    assert_eq!(format!("{:?}", forms(&journal)), format!("{:?}", forms(&read_back)));
    written
}

/// What must stay: the bytes outside regions and live texts, and the shape of the prose.
mod kept {
    use crate::journal::{Block, BlockForm, Journal, PartForm};

    /// The bytes outside regions and live texts; the line end that a region at the end of a file needs is not counted.
    pub(super) fn outside(journal: &Journal, text: &str) -> String {
        let mut kept = String::new();
        for part in &journal.parts {
            if let PartForm::Region(_) = part.form {
                continue;
            }
            let range = part.span.range();
            let mut at = range.start;
            for live in &journal.live {
                let hole = live.text_span.range();
                if hole.start >= range.start && hole.end <= range.end {
                    kept.push_str(&text[at..hole.start]);
                    at = hole.end;
                }
            }
            kept.push_str(&text[at..range.end]);
        }
        kept.truncate(kept.trim_end_matches(['\r', '\n']).len());
        kept
    }

    /// The forms of blocks, in order and nesting, without their texts.
    pub(super) fn forms(journal: &Journal) -> Vec<String> {
        fn walk(forms: &mut Vec<String>, blocks: &[Block], depth: usize) {
            for block in blocks {
                let (name, inner): (&str, Vec<&[Block]>) = match &block.form {
                    BlockForm::Heading { .. } => ("heading", vec![]),
                    BlockForm::Paragraph(_) => ("paragraph", vec![]),
                    BlockForm::List { entries, .. } => {
                        ("list", entries.iter().map(|entry| entry.blocks.as_slice()).collect())
                    }
                    BlockForm::Quote(blocks) => ("quote", vec![blocks]),
                    BlockForm::Code { .. } => ("code", vec![]),
                    BlockForm::Rule => ("rule", vec![]),
                    BlockForm::Table { .. } => ("table", vec![]),
                    BlockForm::Footnote { blocks, .. } => ("footnote", vec![blocks]),
                    BlockForm::Fence(_) => ("fence", vec![]),
                };
                forms.push(format!("{depth} {name}"));
                for blocks in inner {
                    walk(forms, blocks, depth + 1);
                }
            }
        }
        let mut forms = Vec::new();
        walk(&mut forms, &journal.prose, 0);
        forms
    }
}

#[test]
fn a_region_is_written_as_the_contract_shows() {
    let written = check("```yaml k drive\na: 1\n```\nafter\n");
    let (head, rest) = written.split_once("<!-- /worked:drive ").unwrap();
    assert_eq!(
        head,
        "```yaml k drive\na: 1\n```\n<!-- worked:drive -->\n**Speed 1 084 rpm** at 130 km/h.\n\n| Result | Value |\n|---|---|\n| `speed` | 1 084 ± 2 rpm |\n"
    );
    assert_eq!(&rest[8..], " -->\nafter\n");
    let hash = &blake3::hash(BODY.replace('\u{a0}', " ").as_bytes()).to_hex()[..8];
    assert_eq!(&rest[..8], hash);
}

#[test]
fn containers_line_ends_and_what_follows_survive_write_back() {
    let containers = [
        ("", ""),
        ("- ", "  "),
        ("> ", "> "),
        (">", ">"),
        ("> - ", ">   "),
        ("1.\t", "\t"),
        ("- > ", "  > "),
    ];
    let follows = [
        "",
        "text\n",
        "\ntext\n",
        "    code\n",
        "---\n",
        "===\n",
        "# h\n",
        "| a |\n|---|\n",
        "- x\n",
        "> q\n",
        "```\nx\n```\n",
        "[^1]: n\n",
        "[r]: x\n",
        "<div>\n",
        "\tcode\n",
    ];
    for (first, prefix) in containers {
        for fence in ["```", "~~~~"] {
            for follow in follows {
                let text = format!(
                    "a [1](result:x.y)\n\n{first}{fence}yaml k n\n{prefix}a: 1\n{prefix}{fence}  \n{prefix}{follow}{follow}z"
                );
                check(&text);
                check(&text.replace('\n', "\r\n"));
                check(&format!("\u{feff}{}", text.replacen('\n', "\r\n", 3)));
            }
        }
    }
}

#[test]
fn a_missing_final_line_end_stays_missing() {
    let written = check("> ```yaml k n\r\n> ```");
    assert!(written.starts_with("> ```yaml k n\r\n> ```\r\n> <!-- worked:n -->\r\n> **Speed"), "{written}");
    assert!(written.ends_with(" -->"));
    assert!(!written.replace("\r\n", "").contains('\n'));
}

#[test]
fn an_unclosed_fence_gets_no_region() {
    let text = "```yaml k n\na: 1\n";
    assert_eq!(check(text), text);
}

#[test]
fn a_block_that_could_not_be_worked_gets_no_new_region_and_loses_old_numbers() {
    let text = "```yaml k n\n```\n";
    let (source, journal) = read(text);
    let not_worked = Wanted { regions: vec![(0, Body::NotWorked)], ..Wanted::default() };
    assert!(edits(&source, &journal, &not_worked).0.unwrap().is_empty());
    let written = check(text);
    let (source, journal) = read(&written);
    let written = edits(&source, &journal, &not_worked).0.unwrap().apply(&written);
    assert!(written.contains("-->\nnot worked: see findings\n<!-- /"), "{written}");
}

/// A worked file with `from` changed to `to`, written under `wanted`.
fn rewrite(from: &str, to: &str, change: impl Fn(&mut Wanted)) -> (Option<String>, Vec<Finding>) {
    let text = check("```yaml k n\n```\nafter [1](result:a.b)").replace(from, to);
    let (source, journal) = read(&text);
    let mut wanted = all(&journal, BODY, "2");
    change(&mut wanted);
    let (changes, findings) = edits(&source, &journal, &wanted);
    (changes.map(|changes| changes.apply(&text)), findings)
}

#[test]
fn an_edited_region_keeps_its_file_from_being_written() {
    let (written, findings) = rewrite("at 130", "at 140", |_| ());
    assert_eq!(written, None);
    assert_eq!(findings.iter().map(|finding| finding.code.name).collect::<Vec<_>>(), ["edited-region"]);
    let (written, findings) = rewrite("at 130", "at 140", |wanted| wanted.edited = Edited::Overwrite);
    assert!(written.unwrap().contains("at 130") && findings.is_empty());
}

#[test]
fn damaged_marks_keep_their_file_from_being_written() {
    let (written, findings) =
        rewrite("<!-- /worked:n ", "<!-- /worked:m ", |wanted| wanted.edited = Edited::Overwrite);
    assert_eq!((written, findings), (None, vec![]));
}

#[test]
fn an_orphan_is_dropped_only_when_told_to() {
    let (kept, _) = rewrite("```yaml k n\n```", "gone", |_| ());
    assert!(kept.unwrap().contains("worked:n"));
    let (dropped, _) = rewrite("```yaml k n\n```", "gone", |wanted| wanted.orphans = Orphans::Drop);
    assert_eq!(dropped.unwrap(), "gone\nafter [2](result:a.b)");
}

#[test]
fn a_body_can_hold_what_looks_like_a_mark() {
    for body in
        ["<!-- worked:n -->\nx", "a\n > <!-- /worked:n 12345678 -->", "x \r\n\r\ny\n\n", "", "\n\nx", "```\n"]
    {
        let text = "```yaml k n\n```\nafter\n";
        let (source, journal) = read(text);
        let wanted = all(&journal, body, "");
        let written = edits(&source, &journal, &wanted).0.unwrap().apply(text);
        let (again, journal) = read(&written);
        assert!(!journal.damaged && !journal.regions[0].edited, "{written}");
        assert!(edits(&again, &journal, &wanted).0.unwrap().is_empty(), "{written}");
        assert!(written.ends_with(" -->\nafter\n"));
    }
}

#[test]
fn any_text_of_a_live_value_reads_back() {
    let shown = [
        "12\u{a0}133 rpm",
        "a\\",
        "]",
        "[x](y)",
        "`",
        "*a* **b**",
        "_a_",
        "US_gal",
        "<br>",
        "&amp;",
        "~x~",
        "^1",
        "a | b",
        "![i](j)",
        "",
        "−1.1 %",
        "x\ny",
        "\\]",
        "!",
        "<!-- c -->",
        "http://x.org",
        "2\\*3",
        "1. x",
        "# h",
        "[x]",
        "a_ _b",
    ];
    for shown in shown {
        for text in [
            "[1](result:a.b)\n",
            "- [1](<result:a.b in m> 't')\n",
            "| a |\n|---|\n| [1](result:a.b) |\n",
            "> # [x\\\n\n> [1\n> 2](result:a.b) ![[1](result:a.b)](p.png)\n",
        ] {
            let (source, journal) = read(text);
            let wanted = all(&journal, "", shown);
            let written = edits(&source, &journal, &wanted).0.unwrap().apply(text);
            let (again, read_back) = read(&written);
            assert_eq!(read_back.live.len(), journal.live.len(), "{written}");
            assert!(edits(&again, &read_back, &wanted).0.unwrap().is_empty(), "{shown}: {written}");
            assert_eq!(outside(&read_back, &written), outside(&journal, text));
        }
    }
}

#[test]
fn marks_within_a_live_value_stay_while_its_text_is_right() {
    let text = "[**12 rpm**](result:a.b)";
    let (source, journal) = read(text);
    assert!(edits(&source, &journal, &all(&journal, "", "12 rpm")).0.unwrap().is_empty());
}

/// Lines that meet in journals seldom, and in any order.
const LINES: &[&str] = &[
    "```yaml k n",
    "```",
    "~~~yaml k m",
    "~~~",
    "````yaml k o",
    "a: 1",
    "a: [",
    "",
    "",
    "> ",
    ">",
    "- ",
    "  ",
    "\t",
    "1. x",
    "    ",
    "text [1](result:a.b)",
    "> ```yaml k p",
    "> ```",
    "- ```yaml k q",
    "  ```",
    "<div>",
    "</div>",
    "<!-- c",
    "-->",
    "| a | [2](<result:c.d in m>) |",
    "|---|---|",
    "---",
    "===",
    "# h",
    "[^1]: n",
    "[r]: result:x",
    "[r]",
    "*",
    "\\",
    "- > x",
    "  > ```yaml k s",
    "  > ```",
    "\t```",
    "1.\t```yaml k t",
    "<pre>",
    "<b>x",
    "[x",
    "y](result:e.f)",
];

#[test]
fn any_mix_of_lines_is_stable() {
    let mut state: u64 = 7;
    let mut random = move |below: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below
    };
    for _ in 0..std::env::var("MIXES").ok().and_then(|n| n.parse().ok()).unwrap_or(3_000) {
        let mut text = String::new();
        for _ in 0..2 + random(12) {
            text.push_str(LINES[random(LINES.len())]);
            if random(6) == 0 {
                text.push_str(LINES[random(LINES.len())]);
            }
            text.push_str(if random(4) == 0 { "\r\n" } else { "\n" });
        }
        text.truncate(text.len() - usize::from(random(3) == 0));
        check(&text);
    }
}

#[test]
fn a_stray_mark_before_a_live_value_is_not_closed_by_its_text() {
    for stray in ["`x ", "<b c=", "*x ", "~~x ", "[x "] {
        check(&format!("{stray}[1](result:a.b)\n\n```yaml k n\n```\n"));
    }
}
