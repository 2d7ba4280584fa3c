//! Fields that name other blocks, and the values that a kind takes from them.

use super::form::Form;
use super::node::{Origin, Resolved, Role, Wanted};
use crate::findings::{codes, suggest};
use crate::journal::NodeValue;
use crate::quantities::{Unit, read_formula};
use crate::source::Span;
use crate::words::words;

/// A block that a field names, and where.
#[derive(Clone)]
pub(crate) struct BlockName {
    /// Empty where the field is not there or names no block: the finding has been made, and what is taken from it is
    /// not known, under the names that it would have.
    pub name: String,
    pub span: Span,
    /// The field that named it: `cell`.
    pub field: String,
}

impl BlockName {
    /// What that block has within itself, as if a field had named it: the `cell` of a module, whose values are
    /// `MODULE.cell.full_voltage`.
    pub(crate) fn within(&self, field: &str) -> BlockName {
        let name = if self.name.is_empty() { String::new() } else { format!("{}.{field}", self.name) };
        BlockName { name, span: self.span, field: field.to_owned() }
    }
}

impl Form<'_, '_> {
    /// The name of another block, `from` before it or not. `None` where the key is not there.
    pub(crate) fn block_name(&mut self, key: &str) -> Option<BlockName> {
        let value = self.take(key)?;
        let NodeValue::Scalar { text, .. } = &value.value else {
            self.wrong_shape(key, &value, "the name of a block");
            return Some(self.no_block(key, value.span));
        };
        let name = text.trim();
        let name = name.strip_prefix("from ").map_or(name, str::trim).to_owned();
        let field = format!("{}{key}", self.prefix);
        let Some(known) = self.draft.directory.get(&name).map(|entry| entry.name.clone()) else {
            let near = suggest(&name, self.draft.directory.names.keys().map(String::as_str));
            let help = match near {
                Some(near) => words!("did you mean `{}`?", near),
                None => "type the name of a block of this journal".into(),
            };
            self.report(&codes::UNKNOWN_REFERENCE, value.span, words!("no block is named `{}`", name), help);
            self.declare::<String>(key, value.span, None, Unit::one(), Role::Field(Origin::Failed));
            return Some(self.no_block(key, value.span));
        };
        self.declare::<String>(key, value.span, None, Unit::one(), Role::Field(Origin::Text(name)));
        Some(BlockName { name: known, span: value.span, field })
    }

    pub(crate) fn required_block(&mut self, key: &str) -> Option<BlockName> {
        if !self.has(key) {
            self.missing(key);
            return Some(self.no_block(key, self.place()));
        }
        self.block_name(key)
    }

    fn no_block(&self, key: &str, span: Span) -> BlockName {
        BlockName { name: String::new(), span, field: format!("{}{key}", self.prefix) }
    }

    pub(crate) fn kind_of(&self, block: &BlockName) -> &'static str {
        self.draft.directory.get(block.name.as_str()).map_or("", |entry| entry.kind.name)
    }
}

/// What is taken from a named block; nothing where the name could not be read.
pub(super) fn taken_from(block: Option<&BlockName>, result: &str, wanted: Wanted) -> Origin {
    let Some(block) = block.filter(|block| !block.name.is_empty()) else { return Origin::Failed };
    let full = format!("{}.{result}", block.name);
    let expression = read_formula(&full).expect("a block's and a field's name make an expression");
    Origin::Reference(Resolved { expression, text: None, wanted, whole_curve: false, otherwise: None })
}

/// `cell.mass`: the field that named the block, and what is taken from it.
pub(super) fn local_name(block: Option<&BlockName>, result: &str) -> String {
    let field = block.map_or("", |block| block.field.rsplit('.').next().unwrap_or(&block.field));
    if field.is_empty() { result.to_owned() } else { format!("{field}.{result}") }
}
