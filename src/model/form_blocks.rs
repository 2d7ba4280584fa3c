//! Fields that name other blocks, and the values that a kind takes from them.

use super::form::Form;
use super::node::{Binding, Origin, Resolved, Role, Wanted};
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
            let near = suggest(&name, self.draft.directory.directory.names.keys().map(String::as_str));
            let help = match near {
                Some(near) => words!("did you mean `{}`?", near),
                None => "type the name of a block of this journal".into(),
            };
            self.report(&codes::UNKNOWN_REFERENCE, value.span, words!("no block is named `{}`", name), help);
            self.declare::<String>(key, value.span, None, Unit::one(), Role::Field(Origin::Failed));
            return Some(self.no_block(key, value.span));
        };
        let role = Role::Field(Origin::Text(name));
        let written = self.declare::<String>(key, value.span, None, Unit::one(), role).index() as u32;
        let block = BlockName { name: known, span: value.span, field };
        if let Some(binding) = self.bind(&block) {
            self.draft.bindings[binding as usize].written = Some(written);
        }
        Some(block)
    }

    pub(crate) fn required_block(&mut self, key: &str) -> Option<BlockName> {
        if !self.has(key) {
            self.missing(key);
            return Some(self.no_block(key, self.place()));
        }
        self.block_name(key)
    }

    /// The number of this block's binding to another one, which is made where there is none yet. `None` where there is
    /// no such block.
    fn bind(&mut self, block: &BlockName) -> Option<u32> {
        let number = self.draft.directory.number(&block.name)?;
        let bindings = &mut self.draft.bindings;
        let known = bindings.iter().position(|known| known.block == number && known.field == block.field);
        Some(known.unwrap_or_else(|| {
            bindings.push(Binding { field: block.field.clone(), written: None, block: number });
            bindings.len() - 1
        }) as u32)
    }

    /// What is taken from a named block; nothing where the name could not be read.
    pub(super) fn taken_from(&mut self, block: Option<&BlockName>, result: &str, wanted: Wanted) -> Origin {
        let Some(through) = block.and_then(|block| self.bind(block)) else { return Origin::Failed };
        let expression = read_formula(result).expect("a result's name is an expression");
        let through = Some(through);
        Origin::Reference(Resolved {
            expression,
            text: None,
            wanted,
            whole_curve: false,
            otherwise: None,
            through,
        })
    }

    fn no_block(&self, key: &str, span: Span) -> BlockName {
        BlockName { name: String::new(), span, field: format!("{}{key}", self.prefix) }
    }

    pub(crate) fn kind_of(&self, block: &BlockName) -> &'static str {
        self.draft.directory.get(block.name.as_str()).map_or("", |entry| entry.kind.name)
    }
}

/// `cell.mass`: the field that named the block, and what is taken from it.
pub(super) fn local_name(block: Option<&BlockName>, result: &str) -> String {
    let field = block.map_or("", |block| block.field.rsplit('.').next().unwrap_or(&block.field));
    if field.is_empty() { result.to_owned() } else { format!("{field}.{result}") }
}
