//! A block that replaces another: names mean the newest, the old one stands where it was written.

use std::fs;

#[path = "support/program.rs"]
mod program;
#[path = "support/register.rs"]
mod register;

use program::Folder;
use register::register;

const JOURNAL: &str = "\
```yaml worksheet load
given: {mass: 100 kg ± 0 kg (measured)}
steps: [{name: twice, is: mass * 2, unit: kg}]
checks: {light: twice <= 150 kg}
```

```yaml worksheet lighter
replaces: load
because: the first estimate counted the crate
given: {mass: 60 kg ± 0 kg (measured)}
steps:
  - {name: twice, is: mass * 2, unit: kg}
  - {name: saved, is: load@old.mass - mass, unit: kg}
checks: {light: twice <= 150 kg}
```

```yaml worksheet sum
steps:
  - {name: by_first_name, is: load.twice, unit: kg}
  - {name: by_second_name, is: lighter.twice, unit: kg}
  - {name: of_the_old, is: load@old.twice, unit: kg}
```

It is [0 kg](result:load.twice) now, and was [0 kg](result:load@old.twice).
";

#[test]
fn a_name_means_the_newest_block_and_old_names_the_one_before() {
    let folder = Folder::new();
    folder.write("journal.md", JOURNAL);
    let run = folder.run(&["work"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let found = register(&folder);
    for (name, expected) in [
        ("sum.by_first_name", 120.0),
        ("sum.by_second_name", 120.0),
        ("sum.of_the_old", 200.0),
        ("load.twice", 120.0),
        ("load@old.twice", 200.0),
        ("load.saved", 40.0),
    ] {
        assert_eq!(found["results"][name]["si"], expected, "{name}");
    }
    // What was replaced is no longer required.
    let requirements = found["requirements"].as_array().expect("requirements");
    assert_eq!(requirements.len(), 1, "{requirements:?}");
    assert_eq!((&requirements[0]["block"], &requirements[0]["verdict"]), (&"load".into(), &"meets".into()));
    let worked = fs::read_to_string(folder.path.join("journal.md")).expect("the journal");
    // Regions keep the name that stands in the fence.
    for mark in ["<!-- worked:load -->", "<!-- worked:lighter -->"] {
        assert!(worked.contains(mark), "{mark}\n{worked}");
    }
    assert!(worked.contains("[120 kg](result:load.twice)"), "{worked}");
    assert!(worked.contains("[200 kg](result:load@old.twice)"), "{worked}");
    assert_eq!(found["stale"].as_array().map(Vec::len), Some(0));
}

#[test]
fn nothing_falls_back_to_a_block_whose_replacement_is_broken() {
    let folder = Folder::new();
    folder.write(
        "journal.md",
        JOURNAL.replace("because: the first estimate counted the crate", "because: [open"),
    );
    let found = register(&folder);
    for name in ["load.twice", "sum.by_first_name", "sum.by_second_name"] {
        assert!(found["results"][name].is_null(), "{name}: {}", found["results"][name]);
    }
    let codes: Vec<&str> = found["findings"]
        .as_array()
        .expect("findings")
        .iter()
        .filter(|finding| finding["severity"] == "error")
        .map(|finding| finding["code"].as_str().expect("a code"))
        .collect();
    assert_eq!(codes, ["yaml-broken"]);
}

/// What stands in a page between two texts.
fn between<'t>(text: &'t str, from: &str, to: &str) -> &'t str {
    let (_, rest) = text.split_once(from).unwrap_or_else(|| panic!("no `{from}`"));
    rest.split_once(to).unwrap_or_else(|| panic!("no `{to}`")).0
}

/// A text without its tags, its spaces single.
fn words(html: &str) -> String {
    let text: String =
        html.split('<').map(|piece| piece.split_once('>').map_or(piece, |(_, text)| text)).collect();
    text.replace("&nbsp;", " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_dossier_collapses_what_was_replaced_and_tells_the_history() {
    let folder = Folder::new();
    let third = "\n## 2026-05-06\n\n```yaml worksheet lightest\nreplaces: lighter\nbecause: the frame was drilled\n\
        given: {mass: 50 kg ± 0 kg (measured)}\nsteps: [{name: twice, is: mass * 2, unit: kg}]\n```\n";
    folder.write("2026-03-02-van.md", format!("{JOURNAL}{third}"));
    let run = folder.run(&["dossier"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let page = fs::read_to_string(folder.path.join("dossier/dossier.html")).expect("the dossier");
    let at = |name: &str| format!("id=\"{name}\"");
    let (_, rest) = page.split_once(&at("load@old.twice")).expect("the old result");
    // Old and new stand beside each other, and no working.
    let row = words(between(&format!("<i {rest}"), "<i ", "</tr>"));
    assert!(row.contains("200 kg") && row.contains("120 kg"), "{row}");
    assert!(!rest.contains(&at("load@old.mass")) && !page.contains(&at("load@old.mass")));
    let text = words(&page);
    assert!(
        text.contains(
            "Replaced by lighter@old on 2026-03-02, because: the first estimate counted the crate."
        ),
        "{text}"
    );
    assert!(text.contains("Replaced by load on 2026-05-06, because: the frame was drilled."), "{text}");
    let history = "load@old2026-03-02 lighter@old2026-03-02the first estimate counted the crate \
        load2026-05-06the frame was drilled";
    let plain = |text: &str| text.replace(' ', "");
    assert!(plain(&text).contains(&plain(history)), "{text}");
}
