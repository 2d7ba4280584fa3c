//! An expression as an inspector reads it: `wheel speed × overall ratio`, with names or with their values.

use super::super::dimension::superscript;
use super::super::number::{MINUS, NO_BREAK};
use super::function::Function;
use super::{Comparator, Expression, Factor, Kind, Name, Node, Sign};

impl Expression {
    /// The expression with each name replaced by what `say` gives: its symbol, or its value with its unit. Parentheses
    /// stand only where they are needed, also for what a value's sign, unit or spaces ask for.
    pub(crate) fn show(&self, say: &mut dyn FnMut(&Name) -> String) -> String {
        shown(&self.0.root, say).text
    }
}

/// How tightly a text holds together, loosest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Bond {
    Any,
    All,
    Not,
    Compare,
    Sum,
    /// Begins with a minus sign.
    Minus,
    Product,
    /// A value whose unit has a `/` or `·`.
    Compound,
    /// A value with a unit, or a name of several words.
    Spaced,
    Power,
    Whole,
}

struct Shown {
    text: String,
    bond: Bond,
}

impl Shown {
    /// A text that was put in for a name, or a number with its unit.
    fn leaf(text: String) -> Shown {
        let bond = if text.contains('±') {
            Bond::Sum
        } else if text.starts_with([MINUS, '-']) {
            Bond::Minus
        } else if text.contains(['/', '·', '×']) {
            Bond::Compound
        } else if text.contains(|c: char| c.is_whitespace()) {
            Bond::Spaced
        } else {
            Bond::Whole
        };
        Shown { text, bond }
    }

    /// The text, in parentheses unless it holds together at least so tightly.
    fn at_least(self, bond: Bond) -> String {
        if self.bond >= bond { self.text } else { format!("({})", self.text) }
    }
}

fn shown(node: &Node, say: &mut dyn FnMut(&Name) -> String) -> Shown {
    match &node.kind {
        Kind::Number(number) => match &number.unit {
            None => Shown { text: number.text.clone(), bond: Bond::Whole },
            Some(unit) => Shown::leaf(format!("{}{NO_BREAK}{}", number.text, unit.printed())),
        },
        Kind::Pi => Shown { text: "π".to_owned(), bond: Bond::Whole },
        Kind::Name(name) => Shown::leaf(say(name)),
        Kind::Curve(name, inner) => {
            let curve = say(name);
            Shown { text: format!("{curve}({})", shown(inner, say).text), bond: Bond::Power }
        }
        Kind::Call(function, nodes) => call(*function, nodes, say),
        Kind::Sum(terms) => sum(terms, say),
        Kind::Product(factors) => product(factors, say),
        Kind::Minus(inner) => {
            let text = format!("{MINUS}{}", shown(inner, say).at_least(Bond::Product));
            Shown { text, bond: Bond::Minus }
        }
        Kind::Power(base, exponent) => power(base, exponent, say),
        Kind::Compare(left, comparator, right) => {
            let left = shown(left, say).at_least(Bond::Sum);
            let sign = match comparator {
                Comparator::Less => "<",
                Comparator::LessEqual => "≤",
                Comparator::Greater => ">",
                Comparator::GreaterEqual => "≥",
                Comparator::Equal => "=",
            };
            Shown {
                text: format!("{left} {sign} {}", shown(right, say).at_least(Bond::Sum)),
                bond: Bond::Compare,
            }
        }
        Kind::Not(inner) => {
            Shown { text: format!("not {}", shown(inner, say).at_least(Bond::Whole)), bond: Bond::Not }
        }
        Kind::All(nodes) => joined(nodes, " and ", Bond::All, say),
        Kind::Any(nodes) => joined(nodes, " or ", Bond::Any, say),
    }
}

fn joined(nodes: &[Node], sign: &str, bond: Bond, say: &mut dyn FnMut(&Name) -> String) -> Shown {
    let parts: Vec<String> = nodes.iter().map(|node| shown(node, say).at_least(Bond::Not)).collect();
    Shown { text: parts.join(sign), bond }
}

fn call(function: Function, nodes: &[Node], say: &mut dyn FnMut(&Name) -> String) -> Shown {
    let values: Vec<String> = nodes.iter().map(|node| shown(node, say).text).collect();
    let name = if function == Function::Sqrt { "√" } else { function.name() };
    Shown { text: format!("{name}({})", values.join(", ")), bond: Bond::Whole }
}

fn sum(terms: &[(Sign, Node)], say: &mut dyn FnMut(&Name) -> String) -> Shown {
    let mut text = String::new();
    for (i, (sign, node)) in terms.iter().enumerate() {
        let term = shown(node, say);
        match (i, sign) {
            (0, _) => text.push_str(&if term.bond == Bond::Sum && term.text.contains('±') {
                term.at_least(Bond::Product)
            } else {
                term.at_least(Bond::Sum)
            }),
            (_, Sign::Plus) => {
                text.push_str(" + ");
                text.push_str(&term.at_least(Bond::Product));
            }
            (_, Sign::Minus) => {
                text.push_str(&format!(" {MINUS} "));
                text.push_str(&term.at_least(Bond::Product));
            }
        }
    }
    Shown { text, bond: Bond::Sum }
}

fn product(factors: &[(Factor, Node)], say: &mut dyn FnMut(&Name) -> String) -> Shown {
    let mut text = String::new();
    for (i, (factor, node)) in factors.iter().enumerate() {
        let part = shown(node, say);
        match (i, factor) {
            (0, _) => text.push_str(&part.at_least(Bond::Minus)),
            (_, Factor::Times) => {
                text.push_str(" × ");
                text.push_str(&part.at_least(Bond::Product));
            }
            (_, Factor::Over) => {
                text.push_str(" / ");
                text.push_str(&part.at_least(Bond::Spaced));
            }
        }
    }
    let bond = if text.starts_with(MINUS) { Bond::Minus } else { Bond::Product };
    Shown { text, bond }
}

fn power(base: &Node, exponent: &Node, say: &mut dyn FnMut(&Name) -> String) -> Shown {
    let base = shown(base, say).at_least(Bond::Whole);
    let (negative, digits) = match &exponent.kind {
        Kind::Minus(inner) => (true, &inner.kind),
        kind => (false, kind),
    };
    if let Kind::Number(number) = digits
        && number.unit.is_none()
        && let Ok(power) = number.text.parse::<i32>()
        && power < 100
    {
        let text = format!("{base}{}", superscript(if negative { -power } else { power }));
        return Shown { text, bond: Bond::Power };
    }
    let exponent = shown(exponent, say).at_least(Bond::Power);
    Shown { text: format!("{base}^{exponent}"), bond: Bond::Power }
}
