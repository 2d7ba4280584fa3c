//! Which file imports which, read from the code as text, and where they do so in a circle.

use std::collections::{BTreeMap, BTreeSet};

/// From each file to those that it takes something from, with the names that it takes.
pub(crate) type Arrows<'a> = BTreeMap<&'a str, BTreeMap<&'a str, BTreeSet<&'a str>>>;

/// One file as a module.
struct Module<'a> {
    path: &'a str,
    /// Where its paths begin: `["blocks", "fuse", "rows"]`.
    place: Vec<&'a str>,
    /// The name that it hands on, and where that comes from.
    handed_on: BTreeMap<&'a str, Vec<&'a str>>,
    /// Paths that it uses itself.
    used: Vec<Vec<&'a str>>,
}

/// The arrows between files, each given by its path and its code. What a `mod.rs` only hands on is no arrow of its own:
/// whoever takes it from there takes it from the file that it stands in. Nor is what a file takes from the `mod.rs` of
/// a folder that it stands in, which holds what the folder's files share.
pub(crate) fn arrows<'a>(files: &[(&'a str, &'a str)]) -> Arrows<'a> {
    let modules: BTreeMap<Vec<&str>, Module<'_>> =
        files.iter().map(|(path, code)| (place(path), module(path, code))).collect();
    let to = |module: &Module<'a>| {
        let mut taken = BTreeMap::new();
        for path in &module.used {
            let other = file(&modules, path).filter(|other| !is_home(module.path, other));
            if let (Some(other), Some(name)) = (other, path.last()) {
                let names: &mut BTreeSet<&str> = taken.entry(other).or_default();
                names.insert(name);
            }
        }
        (module.path, taken)
    };
    modules.values().map(to).collect()
}

/// Each set of files that reach one another.
pub(crate) fn circles<'a>(arrows: &Arrows<'a>) -> BTreeSet<BTreeSet<&'a str>> {
    let reached: BTreeMap<&str, BTreeSet<&str>> =
        arrows.keys().map(|from| (*from, reached(arrows, from))).collect();
    let together = |file: &&'a str| -> BTreeSet<&'a str> {
        reached[file].iter().filter(|other| reached[*other].contains(file)).copied().collect()
    };
    arrows.keys().map(together).filter(|circle| circle.len() > 1).collect()
}

fn reached<'a>(arrows: &Arrows<'a>, from: &str) -> BTreeSet<&'a str> {
    let mut seen = BTreeSet::new();
    let mut open: Vec<&str> = arrows[from].keys().copied().collect();
    while let Some(file) = open.pop() {
        if seen.insert(file) {
            open.extend(arrows[file].keys());
        }
    }
    seen
}

/// Whether the other is the file itself or what it stands in.
fn is_home(path: &str, other: &str) -> bool {
    path == other || other.strip_suffix("mod.rs").is_some_and(|folder| path.starts_with(folder))
}

fn place(path: &str) -> Vec<&str> {
    let inner = path.strip_prefix("src/").unwrap_or(path).trim_end_matches(".rs");
    inner.split('/').filter(|name| !["mod", "lib"].contains(name)).collect()
}

fn module<'a>(path: &'a str, code: &'a str) -> Module<'a> {
    let mut module = Module { path, place: place(path), handed_on: BTreeMap::new(), used: Vec::new() };
    let is_name = |sign: char| sign.is_ascii_alphanumeric() || sign == '_';
    let declared = code.split("mod ").skip(1).filter_map(|rest| rest.split_once(';'));
    let children: Vec<&str> =
        declared.map(|(name, _)| name).filter(|name| name.chars().all(is_name)).collect();
    for (at, _) in code.match_indices("::") {
        let start = code[..at].rfind(|sign| !is_name(sign)).map_or(0, |before| before + 1);
        let above = module.place.len().saturating_sub(1);
        let base = match &code[start..at] {
            _ if code[..start].ends_with("::") || code[..start].ends_with("(in ") => continue,
            "crate" => Vec::new(),
            "super" => module.place[..above].to_vec(),
            "self" => module.place.clone(),
            child if children.contains(&child) => [&module.place[..], &[child]].concat(),
            _ => continue,
        };
        let mut found = Vec::new();
        tree(&code[at + 2..], &base, &mut found);
        let line = code[..start].rsplit(['\n', ';']).next().unwrap_or("").trim();
        match line.starts_with("pub") && line.ends_with("use") && path.ends_with("/mod.rs") {
            true => module.handed_on.extend(found.into_iter().filter_map(|path| Some((*path.last()?, path)))),
            false => module.used.extend(found),
        }
    }
    module
}

/// The paths of `a::{b, c::d}`, and what follows them.
fn tree<'a>(text: &'a str, base: &[&'a str], found: &mut Vec<Vec<&'a str>>) -> &'a str {
    let text = text.trim_start();
    if let Some(mut rest) = text.strip_prefix('{') {
        loop {
            rest = rest.trim_start_matches(|sign: char| sign.is_whitespace() || sign == ',');
            if rest.is_empty() || rest.starts_with('}') {
                return rest.get(1..).unwrap_or("");
            }
            let behind = tree(rest, base, found);
            // `as other`, or something that is no path.
            rest = behind.find([',', '}']).map_or("", |end| &behind[end..]);
        }
    }
    let end = text.find(|sign: char| !sign.is_ascii_alphanumeric() && sign != '_').unwrap_or(text.len());
    let (name, behind) = text.split_at(end);
    let path = match name {
        "" | "self" => base.to_vec(),
        "super" => base[..base.len().saturating_sub(1)].to_vec(),
        name => [base, &[name]].concat(),
    };
    match behind.strip_prefix("::") {
        Some(rest) => tree(rest, &path, found),
        None => {
            found.push(path);
            behind
        }
    }
}

/// The file that what the path names stands in.
fn file<'a>(modules: &BTreeMap<Vec<&'a str>, Module<'a>>, path: &[&'a str]) -> Option<&'a str> {
    let (module, rest) =
        (0..=path.len()).rev().find_map(|end| Some((modules.get(&path[..end])?, &path[end..])))?;
    match rest.first().and_then(|name| module.handed_on.get(name)) {
        Some(origin) => file(modules, origin),
        None => Some(module.path),
    }
}

/// The same between what stands side by side in one folder, files and folders.
pub(crate) fn side_by_side<'a>(arrows: &Arrows<'a>) -> Arrows<'a> {
    let mut found: Arrows<'a> = BTreeMap::new();
    for (from, taken) in arrows {
        for (to, names) in taken {
            let apart =
                from.bytes().zip(to.bytes()).position(|(a, b)| a != b).unwrap_or(from.len().min(to.len()));
            let folder = from[..apart].rfind('/').map_or(0, |at| at + 1);
            let part = |path: &'a str| path[folder..].find('/').map_or(path, |end| &path[..folder + end]);
            found.entry(part(to)).or_default();
            found.entry(part(from)).or_default().entry(part(to)).or_default().extend(names);
        }
    }
    found
}

#[test]
fn a_planted_circle_is_found() {
    let plain = [
        (
            "src/house/mod.rs",
            "mod cellar;\nmod roof;\npub(crate) use roof::Tile;\nfn build() { cellar::dig() }",
        ),
        ("src/house/cellar.rs", "use super::Plan;\nuse crate::house::Tile;"),
        ("src/house/roof.rs", "use crate::{garden, house::Plan};"),
        ("src/garden.rs", ""),
    ];
    assert_eq!(arrows(&plain)["src/house/cellar.rs"].keys().collect::<Vec<_>>(), [&"src/house/roof.rs"]);
    assert_eq!(circles(&arrows(&plain)), BTreeSet::new());
    for back in
        ["use super::cellar::Floor;", "fn drain() { super::cellar::dig() }", "use super::{cellar as deep};"]
    {
        let mut planted = plain;
        planted[2].1 = back;
        let found = circles(&arrows(&planted));
        assert_eq!(found, [["src/house/cellar.rs", "src/house/roof.rs"].into()].into(), "{back}");
    }
}

#[test]
fn a_planted_circle_of_folders_is_found() {
    let plain = [
        ("src/house/mod.rs", "mod cellar;\nmod roof;\nfn build() { cellar::dig() }"),
        ("src/house/cellar/mod.rs", "mod floor;\nmod wall;\nuse super::Plan;"),
        ("src/house/cellar/floor.rs", "use crate::house::roof::Tile;"),
        ("src/house/cellar/wall.rs", ""),
        ("src/house/roof.rs", ""),
    ];
    assert_eq!(circles(&side_by_side(&arrows(&plain))), BTreeSet::new());
    let mut planted = plain;
    planted[4].1 = "use super::cellar::wall::Stone;";
    let arrows = arrows(&planted);
    assert_eq!(circles(&arrows), BTreeSet::new(), "no file reaches itself");
    let found = circles(&side_by_side(&arrows));
    assert_eq!(found, [["src/house/cellar", "src/house/roof.rs"].into()].into());
}
