//! Expressions and comparisons: read once, evaluated with checked dimensions, and shown as an inspector reads them.

mod evaluate;
mod function;
mod lexer;
mod numbers;
mod parser;
mod show;
mod spread;

use std::collections::HashMap;
use std::ops::Range;
use std::sync::{Arc, LazyLock, PoisonError, RwLock};

use super::curve::Curve;
use super::fault::Fault;
use super::quantity::Quantity;
use super::unit::Unit;
use crate::findings::codes;
use crate::words::words;
use function::Function;
pub(crate) use numbers::Numbers;
pub(crate) use spread::{Items, Over, Stand};

/// An expression as it was read; what is cloned is shared.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Expression(Arc<Read>);

#[derive(Debug, PartialEq)]
struct Read {
    root: Node,
    /// In order of first use, each once.
    names: Vec<Name>,
}

/// A name in an expression: `block.result`, `block.list.item.field`, or one word.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Name {
    text: Box<str>,
    /// Where it stands in the text of the expression.
    pub at: Range<usize>,
    /// Its number among [`Expression::names`].
    pub place: usize,
}

/// Where an expression finds its values.
pub(crate) trait Scope {
    fn quantity(&self, name: &Name) -> Option<Quantity>;
    fn curve(&self, name: &Name) -> Option<&Curve>;

    /// What every value of that curve is multiplied by: its tolerance moves it as one.
    fn curve_scale(&self, _name: &Name) -> f64 {
        1.0
    }
}

/// A comparison as it was read: two sides, or a value between two limits.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Comparison {
    One(Expression, Comparator, Expression),
    /// `low <= x <= high`, also as it is typed the other way round. With `strict` equality misses both limits.
    Between {
        low: Expression,
        x: Expression,
        high: Expression,
        strict: bool,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Comparator {
    Less,
    LessEqual,
    Greater,
    GreaterEqual,
    Equal,
}

#[derive(Clone, Debug, PartialEq)]
struct Node {
    at: Range<usize>,
    kind: Kind,
}

/// Chains are flat, so that depth is nesting alone.
#[derive(Clone, Debug, PartialEq)]
enum Kind {
    Number(Box<Number>),
    Pi,
    Name(Name),
    Curve(Name, Box<Node>),
    Call(Function, Vec<Node>),
    Sum(Vec<(Sign, Node)>),
    Product(Vec<(Factor, Node)>),
    Minus(Box<Node>),
    Power(Box<Node>, Box<Node>),
}

#[derive(Clone, Debug, PartialEq)]
struct Number {
    quantity: Quantity,
    /// As it is printed, without its unit.
    text: String,
    unit: Option<Unit>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sign {
    Plus,
    Minus,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Factor {
    Times,
    Over,
}

/// Reads an expression or comparison.
///
/// Errors: `bad-expression`, `expression-too-deep`, `unknown-unit`, and those of numbers.
pub(crate) fn read_expression(text: &str) -> Result<Expression, Fault> {
    parser::parse(text).map(Expression::new)
}

/// A formula of the program's own: each text is read once, however many blocks have it.
///
/// Errors: as for [`read_expression`].
pub(crate) fn read_formula(text: &str) -> Result<Expression, Fault> {
    static READ: LazyLock<RwLock<HashMap<Box<str>, Expression>>> = LazyLock::new(RwLock::default);
    // A panic elsewhere leaves a map that holds whole entries.
    if let Some(known) = READ.read().unwrap_or_else(PoisonError::into_inner).get(text) {
        return Ok(known.clone());
    }
    let read = read_expression(text)?;
    READ.write().unwrap_or_else(PoisonError::into_inner).insert(text.into(), read.clone());
    Ok(read)
}

/// Reads a comparison.
///
/// Errors: `bad-expression` where there is none, and those of expressions.
pub(crate) fn read_comparison(text: &str) -> Result<Comparison, Fault> {
    let (first, rest) = parser::sides(text)?;
    let mut sides = vec![Expression::new(*first)];
    let signs: Vec<Comparator> = rest.iter().map(|(sign, ..)| *sign).collect();
    let last = rest.last().map(|(_, _, at)| at.clone());
    sides.extend(rest.into_iter().map(|(_, node, _)| Expression::new(*node)));
    let bad = |message, help| {
        Err(Fault::new(&codes::BAD_EXPRESSION, last.clone().unwrap_or(0..text.len()), message, help))
    };
    match (<[Expression; 2]>::try_from(sides), signs.as_slice()) {
        (Ok([left, right]), [sign]) => Ok(Comparison::One(left, *sign, right)),
        (Err(sides), [first, second]) if first == second && !first.is_equal() => {
            let [one, x, other] = <[Expression; 3]>::try_from(sides).expect("three sides of two signs");
            let (low, high) = if first.is_less() { (one, other) } else { (other, one) };
            Ok(Comparison::Between { low, x, high, strict: first.is_strict() })
        }
        (_, []) => bad(
            words!("`{}` is no comparison", text.trim()),
            "type a result, `<=` or `>=`, and the limit: `drive.geared_top_speed >= 110 km/h`",
        ),
        (_, [_, _]) => bad(
            "two signs that don't point the same way".into(),
            "a value between two limits is `LOW <= x <= HIGH`, with the same sign twice",
        ),
        _ => bad("a comparison of more than three sides".into(), "type a line of its own for each"),
    }
}

impl Name {
    /// As it is typed.
    pub(crate) fn as_str(&self) -> &str {
        &self.text
    }

    /// The same, to keep.
    pub(crate) fn text(&self) -> String {
        self.text.to_string()
    }

    fn is_one_word(&self) -> bool {
        !self.text.contains('.')
    }
}

impl Comparator {
    /// `<` or `<=`: the right side is an upper limit.
    pub(crate) fn is_less(self) -> bool {
        matches!(self, Comparator::Less | Comparator::LessEqual)
    }

    pub(crate) fn is_equal(self) -> bool {
        self == Comparator::Equal
    }

    /// Equality misses it.
    pub(crate) fn is_strict(self) -> bool {
        matches!(self, Comparator::Less | Comparator::Greater)
    }
}

impl Expression {
    fn new(mut root: Node) -> Expression {
        let mut names: Vec<Name> = Vec::new();
        let mut places: HashMap<Box<str>, usize> = HashMap::new();
        root.visit(&mut |node| {
            if let Kind::Name(name) | Kind::Curve(name, _) = &mut node.kind {
                name.place = *places.entry(name.text.clone()).or_insert(names.len());
                if name.place == names.len() {
                    names.push(name.clone());
                }
            }
        });
        Expression(Arc::new(Read { root, names }))
    }

    /// The names that it uses, curves among them, in order of first use, each once.
    pub(crate) fn names(&self) -> &[Name] {
        &self.0.names
    }

    /// Its name, if it is nothing else.
    pub(crate) fn as_name(&self) -> Option<&Name> {
        match &self.0.root.kind {
            Kind::Name(name) => Some(name),
            _ => None,
        }
    }

    /// The names among which each `min` (true) and `max` (false) chooses, by their places.
    pub(crate) fn extremes(&self) -> Vec<(bool, Vec<usize>)> {
        let mut found = Vec::new();
        self.0.root.extremes(&mut found);
        found
    }

    /// The unit of a number that stands alone.
    pub(crate) fn literal_unit(&self) -> Option<Unit> {
        match &self.0.root.kind {
            Kind::Number(number) => number.unit.clone(),
            _ => None,
        }
    }
}

impl Node {
    /// A 0 without a unit.
    fn is_bare_zero(&self) -> bool {
        match &self.kind {
            Kind::Number(number) => number.unit.is_none() && number.quantity.si == 0.0,
            Kind::Minus(inner) => inner.is_bare_zero(),
            _ => false,
        }
    }

    fn extremes(&self, found: &mut Vec<(bool, Vec<usize>)>) {
        match &self.kind {
            Kind::Number(_) | Kind::Pi | Kind::Name(_) => {}
            Kind::Curve(_, inner) | Kind::Minus(inner) => inner.extremes(found),
            Kind::Call(function, nodes) => {
                nodes.iter().for_each(|node| node.extremes(found));
                let place = |node: &Node| match &node.kind {
                    Kind::Name(name) => Some(name.place),
                    _ => None,
                };
                if let Function::Min | Function::Max = function {
                    found.push((*function == Function::Min, nodes.iter().filter_map(place).collect()));
                }
            }
            Kind::Sum(terms) => terms.iter().for_each(|(_, node)| node.extremes(found)),
            Kind::Product(factors) => factors.iter().for_each(|(_, node)| node.extremes(found)),
            Kind::Power(left, right) => [left, right].into_iter().for_each(|node| node.extremes(found)),
        }
    }

    /// Visits every node, in the order of the text, what has been put in its place included.
    fn visit(&mut self, see: &mut dyn FnMut(&mut Node)) {
        see(self);
        self.each_inner(&mut |inner| inner.visit(see));
    }

    /// The same without changing anything.
    fn look(&self, see: &mut dyn FnMut(&Node)) {
        see(self);
        match &self.kind {
            Kind::Number(_) | Kind::Pi | Kind::Name(_) => {}
            Kind::Curve(_, inner) | Kind::Minus(inner) => inner.look(see),
            Kind::Call(_, nodes) => nodes.iter().for_each(|node| node.look(see)),
            Kind::Sum(terms) => terms.iter().for_each(|(_, node)| node.look(see)),
            Kind::Product(factors) => factors.iter().for_each(|(_, node)| node.look(see)),
            Kind::Power(left, right) => {
                left.look(see);
                right.look(see);
            }
        }
    }

    fn each_inner(&mut self, see: &mut dyn FnMut(&mut Node)) {
        match &mut self.kind {
            Kind::Number(_) | Kind::Pi | Kind::Name(_) => {}
            Kind::Curve(_, inner) | Kind::Minus(inner) => see(inner),
            Kind::Call(_, nodes) => nodes.iter_mut().for_each(see),
            Kind::Sum(terms) => terms.iter_mut().for_each(|(_, node)| see(node)),
            Kind::Product(factors) => factors.iter_mut().for_each(|(_, node)| see(node)),
            Kind::Power(left, right) => {
                see(left);
                see(right);
            }
        }
    }
}

#[cfg(test)]
mod tests;
