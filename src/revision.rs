//! A revision as it is frozen: what it holds, by hash, and which one it follows.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// What `revision.json` says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Revision {
    pub date: String,
    /// Why it was issued although a safety or legal requirement fails.
    pub despite: Option<String>,
    /// SHA-256 of the pictures and documents that are not copied, by their path in the journal.
    pub evidence: BTreeMap<String, String>,
    /// SHA-256 of each file that is frozen, by its path beside this one.
    pub files: BTreeMap<String, String>,
    pub note: Option<String>,
    pub previous: Option<Previous>,
    /// The version that worked it.
    pub program: String,
    pub revision: String,
}

/// The revision that another one follows.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Previous {
    pub revision: String,
    /// Of its `revision.json`.
    pub sha256: String,
}

impl Revision {
    /// Errors: why it is no such file.
    pub(crate) fn read(bytes: &[u8]) -> Result<Revision, String> {
        serde_json::from_slice(bytes).map_err(|error| error.to_string())
    }
}

/// The revisions in the order in which they follow each other, by their place; those that follow none of them first.
pub(crate) fn in_order(revisions: &[Revision]) -> Vec<usize> {
    let mut order = Vec::with_capacity(revisions.len());
    let of = |one: &Revision| one.previous.as_ref().map(|previous| previous.revision.clone());
    let known = |name: &String| revisions.iter().any(|one| one.revision == *name);
    while order.len() < revisions.len() {
        let before = order.len();
        for (at, one) in revisions.iter().enumerate() {
            let follows = of(one).filter(known);
            let ready = |name: &String| order.iter().any(|at: &usize| revisions[*at].revision == *name);
            if !order.contains(&at) && follows.as_ref().is_none_or(ready) {
                order.push(at);
            }
        }
        if order.len() == before {
            // What follows itself in a circle was tampered with; it stands last.
            let rest: Vec<usize> = (0..revisions.len()).filter(|at| !order.contains(at)).collect();
            order.extend(rest);
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::{Previous, Revision, in_order};

    fn revision(name: &str, previous: Option<&str>) -> Revision {
        let previous = previous.map(|name| Previous { revision: name.to_owned(), sha256: String::new() });
        Revision {
            date: "2026-03-02".to_owned(),
            despite: None,
            evidence: Default::default(),
            files: Default::default(),
            note: None,
            previous,
            program: "0.1.0".to_owned(),
            revision: name.to_owned(),
        }
    }

    #[test]
    fn revisions_stand_in_the_order_in_which_they_follow_each_other() {
        let all = [revision("10", Some("9")), revision("B", None), revision("9", Some("B"))];
        assert_eq!(in_order(&all), [1, 2, 0]);
        let circle = [revision("a", Some("b")), revision("b", Some("a")), revision("c", Some("gone"))];
        assert_eq!(in_order(&circle), [2, 0, 1]);
    }
}
