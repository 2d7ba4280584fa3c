//! `trace`: how a result came about, back to the leaves.

use std::collections::HashSet;
use std::fmt::Write;
use std::path::Path;

use super::work::{Opened, open};
use super::{Ended, complain, ink, say};
use crate::evaluate::State;
use crate::findings::{print, suggest};
use crate::model::{Origin, Role};
use crate::report::Told;

pub(super) fn trace(name: &str, journal: &Path) -> Ended {
    let opened = match open(journal, None, None) {
        Ok(opened) => opened,
        Err(ended) => return ended,
    };
    let Some(global) = opened.worked.plan.names.get(name).copied() else {
        let near = suggest(name, opened.worked.plan.names.keys().map(String::as_str));
        let help = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
        complain(&format!("there is no `{name}` in this journal{help}\n"));
        return Ended::WrongUsage;
    };
    if opened.worked.results.states[global] != State::Known {
        complain(&print(&opened.worked.findings, &opened.read.sources, ink()));
        complain(&format!("`{name}` could not be worked\n"));
        return Ended::Wanting;
    }
    let mut tracer =
        Tracer { opened: &opened, told: opened.worked.told(), seen: HashSet::new(), text: String::new() };
    tracer.tell(global, 0);
    say(&tracer.text.replace('\u{a0}', " "));
    Ended::Done
}

struct Tracer<'a> {
    opened: &'a Opened,
    told: Told<'a>,
    seen: HashSet<usize>,
    text: String,
}

/// Deeper than this a chain of references is only named.
const DEEP: usize = 60;

impl Tracer<'_> {
    fn tell(&mut self, global: usize, depth: usize) {
        let (_, node) = self.told.node(global);
        if node.hidden && matches!(node.role, Role::Field(_)) {
            // A reference that stands in a formula: what it refers to is told in its place.
            for need in self.told.plan.needs(self.told.notebook, global) {
                self.tell(need, depth);
            }
            return;
        }
        let indent = "  ".repeat(depth);
        let name = self.told.full_name(global);
        let shown = self.told.shown(global).unwrap_or_default();
        let second = !self.seen.insert(global);
        let mut line = format!("{indent}{name} = {shown}");
        match &node.role {
            Role::Step(_) => {
                let results = self.told.results;
                if let Some(working) = results.working(self.told.notebook, self.told.plan, global) {
                    let _ = write!(line, "   by {working}");
                }
            }
            Role::Field(Origin::Reference(_)) => line.push_str("   taken over"),
            Role::Field(_) => {
                if let Some(leaf) = node.leaf() {
                    let basis = leaf.known_as();
                    let _ = write!(line, "   {basis}");
                    if let Some((source, _)) = &leaf.source {
                        let title =
                            self.told.notebook.sources.get(source).map_or("", |entry| entry.title.as_str());
                        let _ = write!(line, " {source} ({title})");
                    }
                    if leaf.default {
                        line.push_str(", a default of the kind");
                    }
                    if let Some(remark) = &leaf.remark {
                        let _ = write!(line, "; {remark}");
                    }
                }
            }
        }
        let place = self.opened.read.sources.place(node.span);
        let file = &self.opened.read.sources.get(node.span.file).path;
        let _ = write!(line, "   {file}:{}:{}", place.line, place.column);
        let needs = self.told.plan.needs(self.told.notebook, global);
        if second && !needs.is_empty() {
            line.push_str("   (told above)");
        }
        self.text.push_str(&line);
        self.text.push('\n');
        if !second && depth < DEEP {
            for need in needs {
                self.tell(need, depth + 1);
            }
        }
    }
}
