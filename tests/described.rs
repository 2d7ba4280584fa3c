//! What the program prints of itself: JSON Schemas of its blocks, completion scripts and the manual page.

use std::fs;
use std::path::Path;

use serde_json::{Map, Value};

#[path = "support/program.rs"]
mod program;

use program::{Folder, Run, program};

#[test]
fn every_example_is_valid_by_the_schema_of_its_kind() {
    let mut count = 0;
    for kind in kinds() {
        let text = run(&["kinds", &kind]);
        let (_, example) = text.split_once("\n## Example\n\n").expect("an example");
        let example = example.split("\n## Fields").next().unwrap_or(example);
        for (kind, block) in blocks(example) {
            count += 1;
            assert_valid(&kind, &block);
        }
    }
    assert!(count >= 20, "only {count} blocks");
}

#[test]
fn every_block_of_the_demo_journals_is_valid() {
    let mut count = 0;
    for journal in ["first-hour", "pickup", "second-pickup"] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("notebooks-demo").join(journal);
        for entry in fs::read_dir(folder).expect("a journal") {
            let path = entry.expect("a file").path();
            if path.extension().is_some_and(|end| end == "md") {
                for (kind, block) in blocks(&fs::read_to_string(path).expect("text")) {
                    count += 1;
                    assert_valid(&kind, &block);
                }
            }
        }
    }
    assert!(count >= 30, "only {count} blocks");
}

#[test]
fn wrong_keys_and_shapes_are_invalid() {
    for (kind, body) in [
        ("part", "mass: 3 kg"),
        ("part", "{role: motor, mass: [3 kg]}"),
        ("part", "{role: motor, mass: {tolerance: 1 kg}}"),
        ("part", "{role: motor, mass: {value: 1 kg, basis: guessed}}"),
        ("part", "{role: motor, mass: {readings: [1 kg]}}"),
        ("sources", "{WB-1: {kind: ticket}}"),
        ("sources", "{WB-1: {title: ticket, colour: red}}"),
        ("ratio-chain", "{wanted_speed: 3 km/h, tyre: 31 in, stages: [{name: a, ratio: 2, teeth: 3}]}"),
        ("ratio-chain", "{wanted_speed: 3 km/h, tyre: 31 in, stages: {name: a}}"),
        ("ratio-chain", "{wanted_speed: 3 km/h, tyre: 31 in}"),
        ("pack-layout", "{cell: cell, series: 0, parallel: 1}"),
        (
            "ratio-chain",
            "{wanted_speed: 3 km/h, tyre: 31 in, rolling_circumference: 2 m, stages: [{name: a, ratio: 2}], motor_max_speed: 9 rpm}",
        ),
        ("ratio-chain", "{wanted_speed: 3 km/h, stages: [{name: a, ratio: 2}], motor_max_speed: 9 rpm}"),
        ("ratio-chain", "{wanted_speed: 3 km/h, tyre: 31 in, stages: [{name: a, ratio: 2}]}"),
        ("pack-layout", "{cell: cell, series: 2, parallel: 1, housing_mass: 2 kg, housing_share: 3 %}"),
        ("worksheet", "{steps: [{name: a, is: 1 kg}]}"),
        ("worksheet", "steps: 3 kg"),
    ] {
        let schema = schema(&["kinds", "--json", kind]);
        assert!(faults(&schema, &schema, &yaml(body)).is_err(), "{kind}: {body}");
        // The program says the same of it.
        let folder = Folder::new();
        folder.write("journal.md", format!("```yaml {kind} it\n{body}\n```\n"));
        assert_eq!(folder.run(&["check"]).status, 1, "{kind}: {body}");
    }
}

#[test]
fn each_field_has_its_words_and_an_assumed_one_its_default() {
    let schema = schema(&["kinds", "--json", "ratio-chain"]);
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    assert_eq!(schema["properties"]["rolling_factor"]["default"], "1 ± 0.05");
    assert_eq!(schema["required"], serde_json::json!(["stages", "wanted_speed"]));
    for (name, field) in schema["properties"].as_object().expect("fields") {
        assert!(field["description"].as_str().is_some_and(|text| text.len() > 3), "{name}");
    }
    let stage = &schema["properties"]["stages"]["anyOf"][0]["items"];
    assert_eq!(stage["additionalProperties"], false);
    // A label, by whichever word.
    let labels = serde_json::json!([{"required": ["name"]}, {"required": ["item"]}, {"required": ["place"]}]);
    assert!(stage["allOf"].as_array().expect("groups").iter().any(|group| group["oneOf"] == labels));
    assert!(stage["properties"]["item"].is_object());
}

#[test]
fn one_schema_holds_all_kinds_and_each_reference_leads_somewhere() {
    let all = schema(&["kinds", "--json"]);
    assert_eq!(all["anyOf"].as_array().expect("kinds").len(), kinds().len());
    let text = all.to_string();
    let names: Vec<&str> = text.split("#/$defs/").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    for name in &names {
        assert!(all["$defs"].get(name).is_some(), "{name}");
    }
    assert!(names.len() > 100);
    let drive = yaml("{wanted_speed: 3 km/h, tyre: 31 in, stages: [{name: a, ratio: 2}], motor: edu}");
    assert!(faults(&all, &all, &drive).is_ok());
}

#[test]
fn completions_know_every_command_and_its_options() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = run(&["completions", shell]);
        for command in commands() {
            assert!(script.contains(&command), "{shell}: {command}");
            for option in options(&command) {
                let bare = option.trim_start_matches('-');
                assert!(script.contains(&option) || script.contains(bare), "{shell}: {command} {option}");
            }
        }
    }
}

#[test]
fn the_manual_page_tells_of_every_command_and_its_options() {
    let page = run(&["manual"]);
    assert!(page.lines().any(|line| line.starts_with(".TH voltwright 1")), "{page}");
    assert_eq!(page.matches("\n.SH NAME\n").count(), 1);
    for command in commands() {
        let (_, section) = page
            .split_once(&format!("\n.SH \"{}\"\n", command.to_uppercase()))
            .unwrap_or_else(|| panic!("no section of {command}"));
        let section = section.split("\n.SH ").next().unwrap_or("");
        for option in options(&command) {
            assert!(section.contains(&option.replace('-', "\\-")), "{command} {option}");
        }
        // A request of roff stands at a line's begin; no text may begin with one by chance.
        for line in section.lines().filter(|line| line.starts_with('.')) {
            assert!(
                [".SS ", ".TP", ".br", ".PP", ".RS", ".RE", ".IP"]
                    .iter()
                    .any(|known| line.starts_with(known)),
                "{line}"
            );
        }
    }
}

#[test]
fn a_shell_that_is_not_known_is_wrong_usage() {
    let run = Run::of(program(&["completions", "abacus"]).output().expect("the program starts"));
    assert_eq!(run.status, 2);
    assert!(run.err.contains("bash") && run.out.is_empty(), "{}", run.err);
}

fn kinds() -> Vec<String> {
    let list = run(&["kinds"]);
    let names = list.lines().take_while(|line| !line.is_empty()).filter_map(|line| line.split(' ').next());
    names.map(str::to_owned).collect()
}

#[track_caller]
fn assert_valid(kind: &str, block: &str) {
    let schema = schema(&["kinds", "--json", kind]);
    if let Err(fault) = faults(&schema, &schema, &yaml(block)) {
        panic!("{kind}: {fault}\n{block}");
    }
}

fn commands() -> Vec<String> {
    let help = run(&["--help"]);
    let (_, list) = help.split_once("Commands:\n").expect("a list of commands");
    let names = list
        .lines()
        .take_while(|line| line.starts_with("  "))
        .filter_map(|line| line.split_whitespace().next())
        // It is clap's own, and has no help of its own.
        .filter(|name| *name != "help");
    let names: Vec<String> = names.map(str::to_owned).collect();
    assert!(names.len() >= 8, "{names:?}");
    names
}

/// The long options that a command's help lists.
fn options(command: &str) -> Vec<String> {
    let help = run(&[command, "--help"]);
    let words = help.split(|c: char| c.is_whitespace() || matches!(c, ',' | '[' | ']' | '<' | '=' | '`'));
    words.filter(|word| word.starts_with("--") && word.len() > 2).map(str::to_owned).collect()
}

/// Kind and body of each block.
fn blocks(text: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let Some(words) = line.strip_prefix("```yaml ") else { continue };
        let body: Vec<&str> = lines.by_ref().take_while(|line| !line.starts_with("```")).collect();
        found.push((words.split(' ').next().unwrap_or("").to_owned(), body.join("\n")));
    }
    found
}

#[track_caller]
fn yaml(text: &str) -> Value {
    serde_yaml::from_str(text).unwrap_or_else(|fault| panic!("{fault}\n{text}"))
}

#[track_caller]
fn schema(words: &[&str]) -> Value {
    serde_json::from_str(&run(words)).expect("JSON")
}

#[track_caller]
fn run(words: &[&str]) -> String {
    let run = Run::of(program(words).output().expect("the program starts"));
    assert_eq!(run.status, 0, "{}", run.err);
    run.out
}

/// A validator of the keywords that the schemas use; one that it does not know is a fault.
fn faults(root: &Value, schema: &Value, value: &Value) -> Result<(), String> {
    let Some(rules) = schema.as_object() else {
        return if schema == false {
            Err(format!("nothing may stand here, but {value} does"))
        } else {
            Ok(())
        };
    };
    for (keyword, rule) in rules {
        keyword_holds(root, (keyword, rule), rules, value)?;
    }
    Ok(())
}

fn keyword_holds(
    root: &Value,
    (keyword, rule): (&str, &Value),
    rules: &Map<String, Value>,
    value: &Value,
) -> Result<(), String> {
    let fault = || Err(format!("{value} breaks `{keyword}`: {rule}"));
    match keyword {
        "$schema" | "$defs" | "title" | "description" | "default" | "examples" => Ok(()),
        "$ref" => {
            let name =
                rule.as_str().and_then(|text| text.strip_prefix("#/$defs/")).expect("a local reference");
            faults(root, root["$defs"].get(name).expect("a definition"), value)
        }
        "type" => {
            let types = rule.as_array().cloned().unwrap_or_else(|| vec![rule.clone()]);
            if types.iter().any(|name| has_type(name.as_str().expect("a type"), value)) {
                Ok(())
            } else {
                fault()
            }
        }
        "enum" => {
            if rule.as_array().expect("words").contains(value) {
                Ok(())
            } else {
                fault()
            }
        }
        "pattern" => {
            // The one pattern there is: the name of a block, `from` before it or not.
            assert_eq!(rule, "^(from )?[a-z][a-z0-9_]*$");
            let Some(text) = value.as_str() else { return Ok(()) };
            let name = text.strip_prefix("from ").unwrap_or(text);
            let good = name.starts_with(|c: char| c.is_ascii_lowercase())
                && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
            if good { Ok(()) } else { fault() }
        }
        "minimum" => {
            if value.as_f64().is_none_or(|number| number >= rule.as_f64().expect("a number")) {
                Ok(())
            } else {
                fault()
            }
        }
        "minItems" => {
            let least = usize::try_from(rule.as_u64().expect("a number")).expect("small");
            if value.as_array().is_none_or(|items| items.len() >= least) { Ok(()) } else { fault() }
        }
        "items" => value.as_array().into_iter().flatten().try_for_each(|item| faults(root, rule, item)),
        "properties" => {
            let entries = value.as_object().into_iter().flatten();
            entries
                .filter_map(|(key, value)| Some((rule.get(key)?, value)))
                .try_for_each(|(rule, value)| faults(root, rule, value))
        }
        "additionalProperties" => {
            let known = rules.get("properties");
            let entries = value.as_object().into_iter().flatten();
            entries
                .filter(|(key, _)| known.is_none_or(|known| known.get(key.as_str()).is_none()))
                .try_for_each(|(key, value)| {
                    faults(root, rule, value).map_err(|fault| format!("`{key}`: {fault}"))
                })
        }
        "required" => {
            let Some(entries) = value.as_object() else { return Ok(()) };
            let names = rule.as_array().expect("names").iter().filter_map(Value::as_str);
            match names.into_iter().find(|name| !entries.contains_key(*name)) {
                Some(name) => Err(format!("`{name}` is missing in {value}")),
                None => Ok(()),
            }
        }
        "allOf" => rule.as_array().expect("schemas").iter().try_for_each(|rule| faults(root, rule, value)),
        "oneOf" => {
            let rules = rule.as_array().expect("schemas").iter();
            match rules.filter(|rule| faults(root, rule, value).is_ok()).count() {
                1 => Ok(()),
                _ => fault(),
            }
        }
        "anyOf" => {
            let all: Vec<String> = rule
                .as_array()
                .expect("schemas")
                .iter()
                .filter_map(|one| faults(root, one, value).err())
                .collect();
            if all.len() < rule.as_array().map_or(0, Vec::len) { Ok(()) } else { Err(all.join("; or ")) }
        }
        other => Err(format!("the validator does not know `{other}`")),
    }
}

fn has_type(name: &str, value: &Value) -> bool {
    match name {
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        "boolean" => value.is_boolean(),
        "object" => value.is_object(),
        "array" => value.is_array(),
        other => panic!("no type {other}"),
    }
}
