//! An expression as an inspector reads it: `wheel speed × overall ratio`, with names or with their values.

use super::super::dimension::superscript;
use super::super::number::{MINUS, NO_BREAK};
use super::function::Function;
use super::{Expression, Factor, Kind, Name, Node, Sign};

impl Expression {
    /// The expression with each name replaced by what `say` gives: its symbol, or its value with its unit. Parentheses
    /// stand only where they are needed, also for what a value's sign, unit or spaces ask for.
    pub(crate) fn show(&self, say: &mut dyn FnMut(&Name) -> String) -> String {
        let mut printer = Printer { text: String::new(), say };
        printer.put(&self.0.root);
        printer.text
    }
}

/// How tightly a text holds together, loosest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Bond {
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

impl Bond {
    /// That of a text that was put in for a name, or of a number with its unit.
    fn of_leaf(text: &str) -> Bond {
        if text.starts_with([MINUS, '-']) {
            return if text.contains('±') { Bond::Sum } else { Bond::Minus };
        }
        let loosest = text.chars().filter_map(|c| match c {
            '±' => Some(Bond::Sum),
            '/' | '·' | '×' => Some(Bond::Compound),
            c if c.is_whitespace() => Some(Bond::Spaced),
            _ => None,
        });
        loosest.min().unwrap_or(Bond::Whole)
    }
}

struct Printer<'a> {
    text: String,
    say: &'a mut dyn FnMut(&Name) -> String,
}

impl Printer<'_> {
    /// Prints a node, and gives how tightly its text holds together.
    fn put(&mut self, node: &Node) -> Bond {
        match &node.kind {
            Kind::Number(number) => {
                let start = self.text.len();
                self.text.push_str(&number.text);
                let Some(unit) = &number.unit else { return Bond::Whole };
                self.text.push(NO_BREAK);
                self.text.push_str(&unit.printed());
                Bond::of_leaf(&self.text[start..])
            }
            Kind::Pi => {
                self.text.push('π');
                Bond::Whole
            }
            Kind::Name(name) => {
                let said = (self.say)(name);
                self.text.push_str(&said);
                Bond::of_leaf(&said)
            }
            Kind::Curve(name, inner) => {
                let said = (self.say)(name);
                self.text.push_str(&said);
                self.text.push('(');
                self.put(inner);
                self.text.push(')');
                Bond::Power
            }
            Kind::Call(function, nodes) => self.call(*function, nodes),
            Kind::Sum(terms) => self.sum(terms),
            Kind::Product(factors) => self.product(factors),
            Kind::Minus(inner) => {
                self.text.push(MINUS);
                self.at_least(inner, Bond::Product);
                Bond::Minus
            }
            Kind::Power(base, exponent) => self.power(base, exponent),
        }
    }

    /// Prints a node, in parentheses unless it holds together at least so tightly.
    fn at_least(&mut self, node: &Node, bond: Bond) {
        let start = self.text.len();
        if self.put(node) < bond {
            self.enclose(start);
        }
    }

    fn enclose(&mut self, start: usize) {
        self.text.insert(start, '(');
        self.text.push(')');
    }

    fn call(&mut self, function: Function, nodes: &[Node]) -> Bond {
        self.text.push_str(if function == Function::Sqrt { "√" } else { function.name() });
        self.text.push('(');
        for (i, node) in nodes.iter().enumerate() {
            if i > 0 {
                self.text.push_str(", ");
            }
            self.put(node);
        }
        self.text.push(')');
        Bond::Whole
    }

    fn sum(&mut self, terms: &[(Sign, Node)]) -> Bond {
        for (i, (sign, node)) in terms.iter().enumerate() {
            match (i, sign) {
                (0, _) => {
                    let start = self.text.len();
                    let bond = self.put(node);
                    if bond < Bond::Sum || bond == Bond::Sum && self.text[start..].contains('±') {
                        self.enclose(start);
                    }
                    continue;
                }
                (_, Sign::Plus) => self.text.push_str(" + "),
                (_, Sign::Minus) => {
                    self.text.push(' ');
                    self.text.push(MINUS);
                    self.text.push(' ');
                }
            }
            self.at_least(node, Bond::Product);
        }
        Bond::Sum
    }

    fn product(&mut self, factors: &[(Factor, Node)]) -> Bond {
        let start = self.text.len();
        for (i, (factor, node)) in factors.iter().enumerate() {
            match (i, factor) {
                (0, _) => self.at_least(node, Bond::Minus),
                (_, Factor::Times) => {
                    self.text.push_str(" × ");
                    self.at_least(node, Bond::Product);
                }
                (_, Factor::Over) => {
                    self.text.push_str(" / ");
                    self.at_least(node, Bond::Spaced);
                }
            }
        }
        if self.text[start..].starts_with(MINUS) { Bond::Minus } else { Bond::Product }
    }

    fn power(&mut self, base: &Node, exponent: &Node) -> Bond {
        self.at_least(base, Bond::Whole);
        let (negative, digits) = match &exponent.kind {
            Kind::Minus(inner) => (true, &inner.kind),
            kind => (false, kind),
        };
        if let Kind::Number(number) = digits
            && number.unit.is_none()
            && let Ok(power) = number.text.parse::<i32>()
            && power < 100
        {
            self.text.push_str(&superscript(if negative { -power } else { power }));
            return Bond::Power;
        }
        self.text.push('^');
        self.at_least(exponent, Bond::Power);
        Bond::Power
    }
}
