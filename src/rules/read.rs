//! Reads the data files; what is amiss in one is told, and the entry left out.

use super::{Rule, Rules, Source, Standing, Table};
use crate::journal::{Node, NodeValue, read_yaml};
use crate::source::FileId;

/// All entries of all files, and what is wrong with any, in words for whoever changes the files.
pub(super) fn read(files: &[(&str, &str)]) -> (Rules, Vec<String>) {
    let mut reader = Reader::default();
    for (name, text) in files {
        // Its places are never shown.
        let (node, findings) = read_yaml(FileId(0), text);
        reader.faults.extend(findings.into_iter().map(|finding| format!("{name}: {}", finding.message)));
        for (key, value) in node.iter().flat_map(entries) {
            match key.text() {
                Some("limits") => entries(value).iter().for_each(|(name, node)| reader.limit(name, node)),
                Some("tables") => entries(value).iter().for_each(|(name, node)| reader.table(name, node)),
                other => reader.faults.push(format!("{name}: {other:?} is neither `limits` nor `tables`")),
            }
        }
    }
    (reader.rules, reader.faults)
}

#[derive(Default)]
struct Reader {
    rules: Rules,
    faults: Vec<String>,
}

impl Reader {
    fn limit(&mut self, name: &Node, node: &Node) {
        let name = name.text().unwrap_or_default().to_owned();
        if self.rules.limits.iter().any(|rule| rule.name == name) {
            self.faults.push(format!("the limit `{name}` is there twice"));
        }
        let value = self.text(&name, node, "value");
        if let (Some(value), Some(source)) = (value, self.source(&name, node)) {
            self.rules.limits.push(Rule { name, value, source });
        }
    }

    fn table(&mut self, name: &Node, node: &Node) {
        let name = name.text().unwrap_or_default().to_owned();
        if self.rules.tables.iter().any(|table| table.name == name) {
            self.faults.push(format!("the table `{name}` is there twice"));
        }
        let columns = node.get("columns").map(texts).unwrap_or_default();
        let rows: Vec<Vec<String>> =
            node.get("rows").map(items).unwrap_or_default().iter().map(texts).collect();
        if columns.is_empty() || rows.is_empty() || rows.iter().any(|row| row.len() != columns.len()) {
            self.faults.push(format!("the rows of `{name}` don't fit its columns"));
            return;
        }
        if let Some(source) = self.source(&name, node) {
            self.rules.tables.push(Table { name, columns, rows, source });
        }
    }

    fn source(&mut self, name: &str, node: &Node) -> Option<Source> {
        let about = self.text(name, node, "about");
        let document = self.text(name, node, "document");
        let clause = self.text(name, node, "clause");
        let status = self.text(name, node, "status")?;
        let standing = Standing::ALL.into_iter().find(|standing| standing.word() == status);
        if standing.is_none() {
            self.faults.push(format!("`{status}` of `{name}` is no status"));
        }
        let optional = |key: &str| node.get(key).and_then(Node::text).map(str::to_owned);
        Some(Source {
            about: about?,
            document: document?,
            edition: optional("edition"),
            year: optional("year"),
            clause: clause?,
            standing: standing?,
        })
    }

    fn text(&mut self, name: &str, node: &Node, key: &str) -> Option<String> {
        let text = node.get(key).and_then(Node::text).map(str::trim).filter(|text| !text.is_empty());
        if text.is_none() {
            self.faults.push(format!("`{name}` has no `{key}`"));
        }
        text.map(str::to_owned)
    }
}

pub(super) fn entries(node: &Node) -> &[(Node, Node)] {
    match &node.value {
        NodeValue::Mapping(entries) => entries,
        _ => &[],
    }
}

pub(super) fn items(node: &Node) -> &[Node] {
    match &node.value {
        NodeValue::Sequence(items) => items,
        _ => &[],
    }
}

fn texts(node: &Node) -> Vec<String> {
    items(node).iter().filter_map(Node::text).map(str::to_owned).collect()
}
