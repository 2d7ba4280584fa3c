//! The printed dossier: everything is in it, nothing is loaded from outside, and the same journal gives the same bytes.

use std::fs;

use serde_json::Value;

#[path = "support/copied.rs"]
mod copied;
#[path = "support/five_numbers.rs"]
mod five_numbers;
#[path = "support/printed.rs"]
mod printed;
#[path = "support/program.rs"]
mod program;
#[path = "support/structure.rs"]
mod structure;

use copied::copy_of;
use printed::{CAUTIONS, demo, lines_with_a_gear, make, pack_of, shown, stands_in};
use program::{Folder, Run, program};

const FILES: [&str; 6] =
    ["dossier.html", "dossier.pdf", "register.json", "rescue.pdf", "summary.html", "summary.pdf"];

#[test]
fn one_command_writes_the_six_files_and_works_the_journal() {
    let journal = copy_of("notebooks-demo/pickup");
    let run = journal.run(&["dossier"]);
    assert!(run.status <= 1, "{}", run.err);
    let mut names: Vec<_> = fs::read_dir(journal.path.join("dossier"))
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name())
        .collect();
    names.sort();
    assert_eq!(names, FILES);
    let worked = fs::read_to_string(journal.path.join("02-drive.md")).expect("a journal");
    assert!(worked.contains("<!-- worked:motor -->"));
    // The default output is no part of the journal. Lines are named as they stood before the regions were written.
    let again = journal.run(&["dossier"]);
    let counts = |out: &str| out.lines().rev().take(2).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(counts(&again.out), counts(&run.out));
    assert_eq!(journal.run(&["dossier"]).out, again.out);
}

#[test]
fn without_write_back_the_journal_is_left_alone() {
    let journal = Folder::new();
    let text = "```yaml worksheet sum\nsteps:\n  - {name: total, is: 2 kg + 3 kg, unit: kg}\n```\n";
    journal.write("journal.md", text);
    let out = Folder::new();
    let run = Run::of(
        program(&["dossier", "--no-write-back", "--out"])
            .args([&out.path, &journal.path])
            .output()
            .expect("the program"),
    );
    assert_eq!(run.status, 0, "{}", run.err);
    assert_eq!(fs::read_to_string(journal.path.join("journal.md")).expect("the journal"), text);
    assert!(fs::read_to_string(out.path.join("dossier.html")).expect("a page").contains("5 kg"));
}

#[test]
fn the_pages_are_one_file_each_and_load_nothing() {
    for name in ["dossier.html", "summary.html"] {
        check_closed(&fs::read_to_string(demo(name)).expect("a page"), name);
    }
}

#[test]
fn every_result_is_in_the_page_as_it_is_shown() {
    let text = visible_text(&fs::read_to_string(demo("dossier.html")).expect("a page"));
    let missing: Vec<String> = shown()
        .into_iter()
        // A name is said as people do.
        .filter(|(_, shown)| {
            let said = shown.contains('_').then(|| shown.replace(['.', '_'], " "));
            !stands_in(&text, shown) && !said.is_some_and(|said| stands_in(&text, &said))
        })
        .map(|(name, shown)| format!("{name}: {shown}"))
        .collect();
    assert!(missing.is_empty(), "{} are missing:\n{}", missing.len(), missing.join("\n"));
}

/// What the form looks up by name: a name that nothing has would leave its place empty without a word. The demo's
/// vehicle was weighed, so that every place of its masses is filled but the one for a pen.
#[test]
fn no_place_of_the_form_s_masses_is_empty() {
    let page = fs::read_to_string(demo("summary.html")).expect("a page");
    let table = page.split("Masses, from kerb</h3>").nth(1).expect("the masses");
    let table = table.split("</table>").next().expect("its end");
    let rows: Vec<&str> = table.split("<tr>").skip(2).collect();
    assert_eq!(rows.len(), 3, "{table}");
    for row in rows {
        let cells: Vec<String> =
            row.split("<td").skip(1).map(|cell| visible_text(&format!("<td{cell}"))).collect();
        assert_eq!(cells.len(), 9, "{row}");
        let filled = cells[..8].iter().all(|cell| cell.chars().any(char::is_alphanumeric));
        assert!(filled, "{cells:?}");
    }
}

/// A speed of a vehicle with gears says nothing without its gear.
#[test]
fn the_form_names_the_gear_of_each_value_of_the_drive() {
    let text = visible_text(&fs::read_to_string(demo("summary.html")).expect("a page"));
    for line in lines_with_a_gear() {
        assert!(text.contains(&line), "`{line}` is missing");
    }
}

/// Edition, clause, standing and what rests on it, told in one place, with what the words for the standing mean.
#[test]
fn a_long_clause_stands_once_in_a_table_of_requirements() {
    let text = visible_text(&fs::read_to_string(demo("dossier.html")).expect("a page"));
    let clause = "annex 9C; second-hand";
    // One for the front page, and one for each of the two boxes.
    assert!((1..=4).contains(&text.matches(clause).count()), "{}", text.matches(clause).count());
    assert!(text.matches("as for acceleration that is held, forward").count() >= 2);
}

#[test]
fn every_standard_is_listed_with_what_it_decides() {
    let html = fs::read_to_string(demo("dossier.html")).expect("a page");
    let from = html.find("id=\"standards\"").expect("the section");
    let until = from + html[from..].find("id=\"open-items\"").expect("the next section");
    let text = visible_text(&html[from..until]);
    for words in [
        "UN R100",
        "series 03, unofficial copy",
        "5.1.3.2",
        "isolation, pack to frame; isolation, bus to frame; isolation of the whole of isolation",
        "AS ISO 6469.3",
        "Second-hand: another document states it. A verdict on it is at best close (limit unread).",
        "Memory: nobody looked it up. A verdict on it is open",
    ] {
        assert!(text.contains(words), "`{words}` is missing: {text}");
    }
}

#[test]
fn the_same_journal_and_stamp_give_the_same_bytes() {
    let print = || {
        let (journal, out) = (copy_of("notebooks-demo/pickup"), Folder::new());
        make(&journal, &out);
        FILES.map(|name| fs::read(out.path.join(name)).expect("a file"))
    };
    let (first, second) = (print(), print());
    for (name, (first, second)) in FILES.into_iter().zip(first.iter().zip(&second)) {
        assert!(first == second, "{name} differs between two runs");
    }
}

#[test]
fn the_register_file_is_what_check_prints() {
    let (journal, out) = (copy_of("notebooks-demo/first-hour"), Folder::new());
    make(&journal, &out);
    let file: Value =
        serde_json::from_slice(&fs::read(out.path.join("register.json")).expect("a register")).expect("JSON");
    let printed: Value = serde_json::from_str(&journal.run(&["check", "--json"]).out).expect("JSON");
    assert_eq!(file["results"], printed["results"]);
    assert_eq!(file["requirements"], printed["requirements"]);
    assert_eq!(file["stale"], printed["stale"]);
}

#[test]
fn high_voltage_brings_its_cautions_and_low_voltage_its_own() {
    for (series, words) in CAUTIONS {
        let journal = pack_of(series);
        let read = |name: &str| fs::read_to_string(journal.path.join(name)).expect("a text");
        // The region says in one line that there is a caution, and the dossier what it is.
        let region = read("journal.md").to_lowercase();
        assert!(region.contains("> **high voltage") || region.contains("> **a low-voltage pack"), "{region}");
        let texts = [
            ("dossier.html", visible_text(&read("dossier/dossier.html"))),
            ("summary.html", visible_text(&read("dossier/summary.html"))),
        ];
        for (place, text) in texts {
            let text = text.to_lowercase();
            for word in words {
                assert!(text.contains(word), "{series} cells: `{word}` is missing in {place}");
            }
        }
    }
}

#[test]
fn a_hostile_journal_runs_no_script_and_loads_nothing() {
    let (journal, out) = (copy_of("tests/data/hostile"), Folder::new());
    make(&journal, &out);
    let pages = ["dossier.html", "summary.html"].map(|name| out.path.join(name));
    for page in &pages {
        let html = fs::read_to_string(page).expect("a page");
        check_closed(&html, &page.display().to_string());
    }
    let text = visible_text(&fs::read_to_string(&pages[0]).expect("a page"));
    assert!(text.contains("{{ 7 * 7 }}"), "a template ran what the journal says");
}

#[test]
fn running_text_of_the_dossier_says_names_as_people_do() {
    for name in ["dossier.html", "summary.html"] {
        let html = fs::read_to_string(demo(name)).expect("a page");
        let text = running_text(&html);
        let typed: Vec<&str> =
            text.split_whitespace().filter(|word| word.contains('`') || named(word)).collect();
        assert!(typed.is_empty(), "{name}: {typed:?}");
        let units = ["1khz", " km h", " mi h"].into_iter().find(|unit| text.contains(unit));
        assert!(units.is_none(), "{name}: {units:?}");
    }
}

/// From the body's tag to the page's own script.
fn body_of(html: &str) -> &str {
    let body = html.split_once("<body").map_or(html, |(_, body)| body);
    body.split_once("<script>").map_or(body, |(text, _)| text)
}

/// What stands in the page outside of code, without tags, entities kept.
fn running_text(html: &str) -> String {
    let body = body_of(html).replace("<wbr>", "");
    let mut text = String::new();
    let mut code = 0_usize;
    let mut pieces = body.split('<');
    text.push_str(pieces.next().unwrap_or_default().split_once('>').map_or("", |(_, after)| after));
    for piece in pieces {
        let (tag, after) = piece.split_once('>').unwrap_or(("", piece));
        match tag.split(' ').next().unwrap_or_default() {
            "code" | "pre" => code += 1,
            "/code" | "/pre" => code = code.saturating_sub(1),
            _ => {}
        }
        text.push(' ');
        if code == 0 {
            text.push_str(after);
        }
    }
    text
}

/// Whether a word is a name as it is typed: `motor_speed`, but no file and no address.
fn named(word: &str) -> bool {
    let letters: Vec<char> = word.chars().collect();
    letters
        .windows(3)
        .any(|three| three[1] == '_' && three[0].is_alphanumeric() && three[2].is_alphanumeric())
}

/// No script but the page's own, no frame, nothing loaded from outside, and a policy that forbids it.
#[track_caller]
fn check_closed(html: &str, name: &str) {
    assert!(html.contains("http-equiv=\"Content-Security-Policy\""), "{name} has no policy");
    let policy = html
        .split_once("http-equiv=\"Content-Security-Policy\"")
        .map_or("", |(_, rest)| rest.split('>').next().unwrap_or(""));
    assert!(
        policy.contains("default-src &#x27;none&#x27;") && !policy.contains("unsafe"),
        "{name} has a loose policy: {policy}"
    );
    // The page's own script stands once, at its end; the policy knows it by its hash and allows no other.
    assert_eq!(html.to_lowercase().matches("<script").count(), 1, "{name}");
    assert_eq!(policy.matches("script-src &#x27;sha256-").count(), 1, "{name}: {policy}");
    let (html, script) = html.split_once("<script>").expect("the script");
    assert!(
        script.ends_with("</script>\n</body>\n</html>\n") || script.ends_with("</script>\n</body>\n</html>"),
        "{name}"
    );
    for tag in tags(html) {
        let lower = tag.to_lowercase();
        let element: &str = lower
            .trim_start_matches('/')
            .split(|sign: char| !sign.is_ascii_alphanumeric())
            .next()
            .unwrap_or("");
        // An empty icon keeps the browser from asking for one.
        if tag == "link rel=\"icon\" href=\"data:,\"" {
            continue;
        }
        let banned = [
            "iframe", "object", "embed", "link", "base", "form", "input", "button", "video", "audio", "frame",
        ];
        assert!(!banned.contains(&element), "{name}: <{tag}>");
        for (attribute, value) in attributes(&tag) {
            let value = value.trim().to_lowercase();
            assert!(!attribute.starts_with("on") && attribute != "style", "{name}: <{tag}>");
            match &*attribute {
                "src" => assert!(
                    value.starts_with("data:image/png") || value.starts_with("data:image/jpeg"),
                    "{name}: {value}"
                ),
                "href" => {
                    // Into the dossier, which stands beside the summary.
                    let starts = ["#", "dossier.html#", "https://", "http://", "mailto:"];
                    let allowed = starts.iter().any(|start| value.starts_with(start));
                    assert!(allowed, "{name}: href={value}");
                }
                "srcset" | "action" | "formaction" | "data" | "background" | "xlink:href" => {
                    panic!("{name}: <{tag}>")
                }
                _ => {}
            }
        }
        assert!(!(element == "meta" && lower.contains("refresh")), "{name}: <{tag}>");
    }
    // In text these are only letters; in a style sheet they would load something.
    for style in html.split("<style").skip(1) {
        let style = style.split("</style").next().unwrap_or("");
        for address in style.split("url(").skip(1) {
            assert!(
                address.trim_start_matches(['"', '\'']).starts_with("data:"),
                "{name}: url({address:.40}"
            );
        }
        assert!(!style.contains("@import"), "{name} imports a style sheet");
    }
}

/// What stands between `<` and `>` of each tag.
fn tags(html: &str) -> Vec<String> {
    let mut tags = Vec::new();
    let mut rest = html;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        let mut quote = None;
        let end = rest.find(|sign| match (quote, sign) {
            (None, '>') => true,
            (None, '"' | '\'') => {
                quote = Some(sign);
                false
            }
            (Some(open), sign) if open == sign => {
                quote = None;
                false
            }
            _ => false,
        });
        let end = end.unwrap_or(rest.len());
        tags.push(rest[..end].to_owned());
        rest = &rest[end..];
    }
    tags
}

/// Name and value of each attribute of a tag.
fn attributes(tag: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut rest = tag.split_once(|sign: char| sign.is_whitespace()).map_or("", |(_, rest)| rest);
    while let Some(at) = rest.find('=') {
        let name = rest[..at].split_whitespace().last().unwrap_or("").to_lowercase();
        rest = rest[at + 1..].trim_start();
        let (value, after) = match rest.chars().next() {
            Some(quote @ ('"' | '\'')) => rest[1..].split_once(quote).unwrap_or((&rest[1..], "")),
            _ => rest.split_once(|sign: char| sign.is_whitespace()).unwrap_or((rest, "")),
        };
        found.push((name, value.to_owned()));
        rest = after;
    }
    found
}

/// The text of a page as a reader sees it, each run of white space one space.
fn visible_text(html: &str) -> String {
    let body = body_of(html);
    let mut text = String::new();
    let mut rest = body;
    while let Some(at) = rest.find('<') {
        text.push_str(&rest[..at]);
        let tag = &rest[at..];
        // Marks within a line join what they part, all others part it.
        let name: String =
            tag.trim_start_matches(['<', '/']).chars().take_while(char::is_ascii_alphanumeric).collect();
        if !["span", "a", "em", "strong", "code", "sub", "sup", "i", "b", "abbr", "wbr"]
            .contains(&name.as_str())
        {
            text.push(' ');
        }
        rest = tag.find('>').map_or("", |end| &tag[end + 1..]);
    }
    text.push_str(rest);
    let text = text
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&#x27;", "'")
        .replace("&#39;", "'");
    let text = text.replace("&#x2f;", "/").replace("&amp;", "&").replace('\u{a0}', " ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Links with their text, rows with their heads, figures with words, headings that nest, XMP; and titles that tell the
/// papers apart.
#[test]
fn the_structure_of_the_pdfs_is_whole() {
    let papers = ["dossier.pdf", "summary.pdf", "rescue.pdf"];
    let files = papers.map(|name| lopdf::Document::load(demo(name)).expect("a PDF"));
    for (name, file) in papers.iter().zip(&files) {
        let faults = structure::faults(file);
        let kinds: std::collections::BTreeSet<&String> = faults.iter().collect();
        assert!(faults.is_empty(), "{name}: {} faults, {kinds:#?}", faults.len());
    }
    let titles: std::collections::BTreeSet<String> = files.iter().map(structure::title).collect();
    assert_eq!(titles.len(), papers.len(), "{titles:?}");
}

/// The walk finds what is taken away, one thing of each sort.
#[test]
fn a_fault_in_the_structure_is_found() {
    let whole = lopdf::Document::load(demo("dossier.pdf")).expect("a PDF");
    let role = |dict: &lopdf::Dictionary| {
        dict.get(b"S").and_then(lopdf::Object::as_name).map(|name| name.to_vec()).unwrap_or_default()
    };
    let first = |file: &lopdf::Document, wanted: &[u8]| {
        let found = file.objects.iter().find(|(_, one)| one.as_dict().is_ok_and(|dict| role(dict) == wanted));
        *found.expect("an element").0
    };
    for (wanted, key, told) in [
        (&b"Figure"[..], &b"Alt"[..], "a figure with the text"),
        (b"Link", b"K", "a link with 0 places"),
        (b"TH", b"A", "head"),
        (b"H1", b"S", "headings of level 1"),
        (b"TD", b"P", "does not know"),
    ] {
        let mut file = whole.clone();
        let id = first(&file, wanted);
        file.get_dictionary_mut(id).expect("it").remove(key);
        let faults = structure::faults(&file);
        assert!(faults.iter().any(|fault| fault.contains(told)), "{told}: {faults:#?}");
    }
}
