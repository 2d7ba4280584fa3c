//! A function over a list's field, `sum(kerb.removed.mass)`, as the same function of one value for each item.

use super::function::Function;
use super::{Expression, Kind, Name, Node};

/// What stands for a name of the list's field in one item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Stand {
    /// The full name of the item's value.
    Value(String),
    /// The same, times another value.
    Times(String, String),
    /// A count that is left out.
    One,
}

/// Which function asks for the items of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Over {
    Sum,
    Other,
}

/// For each item of a list: what stands for each of the names, in their order.
pub(crate) type Items = Vec<Vec<Stand>>;

impl Expression {
    /// The expression with each argument of `sum`, `min`, `max`, `mean` and `count` that names a list's field put in
    /// once for each item. `items` gives, for the names in one argument, the items; `None` where they are no list's.
    /// `None` where nothing of the expression is a list's.
    pub(crate) fn spread(&self, items: &mut dyn FnMut(Over, &[Name]) -> Option<Items>) -> Option<Expression> {
        let mut root = self.0.root.clone();
        let mut changed = false;
        spread(&mut root, items, &mut changed);
        changed.then(|| Expression::new(root))
    }

    /// Whether it holds a function that takes lists.
    pub(crate) fn takes_lists(&self) -> bool {
        let mut found = false;
        self.0.root.look(&mut |node| {
            found |= matches!(&node.kind, Kind::Call(function, _) if function.is_aggregate());
        });
        found
    }
}

fn spread(node: &mut Node, items: &mut dyn FnMut(Over, &[Name]) -> Option<Items>, changed: &mut bool) {
    node.each_inner(&mut |inner| spread(inner, items, changed));
    let Kind::Call(function, arguments) = &mut node.kind else { return };
    if !function.is_aggregate() {
        return;
    }
    let over = if *function == Function::Sum { Over::Sum } else { Over::Other };
    let mut all = Vec::with_capacity(arguments.len());
    for argument in std::mem::take(arguments) {
        let mut names: Vec<Name> = Vec::new();
        argument.look(&mut |node| {
            if let Kind::Name(name) = &node.kind
                && !names.iter().any(|known| known.text == name.text)
            {
                names.push(name.clone());
            }
        });
        match items(over, &names) {
            Some(items) => {
                *changed = true;
                all.extend(items.iter().map(|item| in_item(&argument, &names, item)));
            }
            None => all.push(argument),
        }
    }
    *arguments = all;
}

/// The argument with the values of one item.
fn in_item(argument: &Node, names: &[Name], item: &[Stand]) -> Node {
    let mut argument = argument.clone();
    argument.visit(&mut |node| {
        let Kind::Name(name) = &node.kind else { return };
        let Some(stand) = names.iter().position(|known| known.text == name.text).and_then(|at| item.get(at))
        else {
            return;
        };
        let at = node.at.clone();
        let value = |text: &str| Kind::Name(Name { text: text.into(), at: at.clone(), place: 0 });
        node.kind = match stand {
            Stand::Value(text) => value(text),
            Stand::Times(text, count) => Kind::Product(
                [text, count]
                    .map(|text| (super::Factor::Times, Node { at: at.clone(), kind: value(text) }))
                    .into(),
            ),
            Stand::One => Kind::Number(Box::new(super::Number {
                quantity: super::Quantity::plain(1.0),
                text: "1".to_owned(),
                unit: None,
            })),
        };
    });
    argument
}
