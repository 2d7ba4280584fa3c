//! Works an expression out again with other numbers: its dimensions were checked when it was worked the first time.

use std::f64::consts::PI;

use super::function::Function;
use super::{Expression, Factor, Kind, Name, Node, Sign};

/// Where an expression finds its numbers, in SI; NaN where there is none.
pub(crate) trait Numbers {
    fn number(&self, name: &Name) -> f64;
    fn read_curve(&self, name: &Name, x: f64) -> f64;
}

impl Expression {
    /// The number of an expression that [`Expression::evaluate`] has worked in the same scope with other numbers; NaN
    /// where it finds a fault.
    pub(crate) fn number(&self, scope: &impl Numbers) -> f64 {
        work(&self.0.root, scope)
    }
}

fn work<S: Numbers>(node: &Node, scope: &S) -> f64 {
    let value = match &node.kind {
        Kind::Number(number) => number.quantity.si,
        Kind::Pi => PI,
        Kind::Name(name) => scope.number(name),
        Kind::Curve(name, inner) => scope.read_curve(name, work(inner, scope)),
        Kind::Call(function, nodes) => call(*function, nodes, scope),
        Kind::Sum(terms) => terms.iter().fold(0.0, |sum, (sign, node)| match sign {
            Sign::Plus => sum + work(node, scope),
            Sign::Minus => sum - work(node, scope),
        }),
        Kind::Product(factors) => factors.iter().fold(1.0, |product, (factor, node)| match factor {
            Factor::Times => product * work(node, scope),
            Factor::Over => product / work(node, scope),
        }),
        Kind::Minus(inner) => -work(inner, scope),
        Kind::Power(base, exponent) => power(work(base, scope), work(exponent, scope)),
    };
    // What is beyond all numbers inside must not come back as one outside.
    if value.is_finite() { value } else { f64::NAN }
}

fn call<S: Numbers>(function: Function, nodes: &[Node], scope: &S) -> f64 {
    let all = || nodes.iter().map(|node| work(node, scope));
    match function {
        Function::Sum => all().sum(),
        Function::Product => all().product(),
        Function::Mean => all().sum::<f64>() / nodes.len() as f64,
        Function::Count => nodes.len() as f64,
        Function::Min => all().fold(f64::INFINITY, |least, next| extreme(least, next, next >= least)),
        Function::Max => all().fold(f64::NEG_INFINITY, |most, next| extreme(most, next, next <= most)),
        _ => function.of_number(work(&nodes[0], scope)),
    }
}

/// No number among them leaves none.
fn extreme(before: f64, next: f64, stays: bool) -> f64 {
    if before.is_nan() || stays { before } else { next }
}

pub(super) fn power(base: f64, exponent: f64) -> f64 {
    let whole = exponent.fract() == 0.0 && exponent.abs() < 64.0;
    #[allow(clippy::cast_possible_truncation)]
    if whole { base.powi(exponent as i32) } else { base.powf(exponent) }
}
