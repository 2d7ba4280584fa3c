//! What the results of a journal would be without one of the changes that were made to it.

use std::collections::BTreeMap;

use crate::evaluate::Variant;

/// The results without one of the changes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Without {
    /// The full name of an input, or that of a block.
    pub cause: String,
    /// In SI, by full name; what is not known without it is not there.
    pub values: BTreeMap<String, f64>,
}

impl Without {
    /// `variant` is the journal with all other changes made.
    pub(crate) fn of(cause: &str, variant: &Variant) -> Without {
        let values = variant.nominal(|nominal| {
            let blocks = nominal.variant.notebook.blocks.iter().enumerate();
            let results = blocks.flat_map(|(number, block)| {
                let first = nominal.variant.plan.first[number];
                let nodes = block.nodes.iter().enumerate().filter(|(_, node)| node.is_result());
                nodes.filter_map(move |(index, node)| {
                    let value = nominal.quantity(first + index)?;
                    Some((format!("{}.{}", block.name, node.name), value.si))
                })
            });
            results.collect::<BTreeMap<String, f64>>()
        });
        Without { cause: cause.to_owned(), values: values.unwrap_or_default() }
    }
}
