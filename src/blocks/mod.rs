//! One file a kind. Knows no Markdown, YAML, HTML and no other block; no I/O; pure; no constant that the reader can't see.

mod mass_ledger;
mod mass_ledger_axles;
mod pack_layout;
mod part;
mod ratio_chain;
mod sources;
mod targets;
mod tyre;
mod worksheet;

use crate::model::Kind;

/// Every kind, in the order of the reference.
pub(crate) static KINDS: &[&Kind] = &[
    &part::KIND,
    &sources::KIND,
    &targets::KIND,
    &ratio_chain::KIND,
    &mass_ledger::KIND,
    &pack_layout::KIND,
    &worksheet::KIND,
];
