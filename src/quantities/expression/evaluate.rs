//! Works an expression out, checking the dimensions of every operation.

use crate::words::words;
use std::f64::consts::PI;
use std::ops::Range;

use super::super::currency::currency_text;
use super::super::dimension::{Clash, Dimension};
use super::super::fault::Fault;
use super::super::literal::below_absolute_zero;
use super::super::quantity::Quantity;
use super::function::Function;
use super::{Expression, Factor, Kind, Name, Node, Scope, Sign, numbers};
use crate::findings::{codes, suggest};

impl Expression {
    /// The value of the expression. Faults are placed in its text.
    ///
    /// Errors: `unit-mismatch`, `currency-mix`, `unknown-reference` for a name that the scope does not have,
    /// `outside-curve`, `not-finite`, `out-of-range` below absolute zero, `expression-too-deep` never (that was found when it was read).
    pub(crate) fn evaluate(&self, scope: &dyn Scope) -> Result<Quantity, Fault> {
        work(&self.0.root, scope).map(|worked| worked.quantity)
    }

    /// The value, and the size of what it was worked out from: the largest operand that a rounding error of the result
    /// is in proportion to. For a sum its largest term; for a product its own size, or more where a factor is a
    /// difference of larger terms.
    ///
    /// Errors: as for `evaluate`.
    pub(crate) fn evaluate_scaled(&self, scope: &dyn Scope) -> Result<(Quantity, f64), Fault> {
        work(&self.0.root, scope).map(|worked| (worked.quantity, worked.scale))
    }
}

#[derive(Clone, Copy)]
struct Worked {
    quantity: Quantity,
    /// At least the size of the value.
    scale: f64,
}

impl Worked {
    fn leaf(quantity: Quantity) -> Worked {
        Worked { quantity, scale: quantity.si.abs() }
    }

    /// A value whose scale is at least its size.
    fn of(quantity: Quantity, scale: f64) -> Worked {
        let size = quantity.si.abs();
        Worked { quantity, scale: if scale.is_finite() { scale.max(size) } else { size } }
    }

    /// How much larger than the value what it was worked out from is.
    fn stretch(&self) -> f64 {
        if self.quantity.si == 0.0 { 1.0 } else { self.scale / self.quantity.si.abs() }
    }
}

/// Two values of one dimension; a bare 0 goes with any but a temperature.
fn comparable(
    a: (&Node, &Quantity),
    b: (&Node, &Quantity),
    sign: &str,
    at: &Range<usize>,
) -> Result<(), Fault> {
    let zero = a.0.is_bare_zero() || b.0.is_bare_zero();
    if zero && !(a.1.point || b.1.point) {
        return Ok(());
    }
    if zero {
        let message = words!(
            "{} and a bare 0 on the two sides of `{}`",
            if a.1.point { a.1 } else { b.1 }.words(),
            sign
        );
        return Err(Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, "give the 0 its unit: `0 °C`"));
    }
    same_dimension(a.1, b.1, sign, at)
}

fn same_dimension(a: &Quantity, b: &Quantity, sign: &str, at: &Range<usize>) -> Result<(), Fault> {
    if a.dimension.same(b.dimension) {
        return a.turns_with(b.dimension).map_err(|fault| Fault { at: at.clone(), ..fault });
    }
    if a.dimension.differs_in_currency(b.dimension) {
        let message = words!("{} and {} on the two sides of `{}`", a.words(), b.words(), sign);
        return Err(Fault::new(&codes::CURRENCY_MIX, at.clone(), message, "give all money in one currency"));
    }
    let message = words!("{} and {} on the two sides of `{}`", a.words(), b.words(), sign);
    let help = "both sides need one dimension: check the formula, and the unit of each number";
    Err(Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, help))
}

fn work(node: &Node, scope: &dyn Scope) -> Result<Worked, Fault> {
    let worked = match &node.kind {
        Kind::Number(number) => Worked::leaf(number.quantity),
        Kind::Pi => Worked::leaf(Quantity::plain(PI)),
        Kind::Name(name) => Worked::leaf(scope.quantity(name).ok_or_else(|| unknown(name))?),
        Kind::Curve(name, inner) => curve(name, inner, scope)?,
        Kind::Call(function, nodes) => call(*function, nodes, scope, &node.at)?,
        Kind::Sum(terms) => sum(terms.iter().map(|(sign, node)| (*sign, node)), scope, &node.at)?,
        Kind::Product(factors) => {
            product(factors.iter().map(|(factor, node)| (*factor, node)), scope, &node.at)?
        }
        Kind::Minus(inner) => minus(work(inner, scope)?, &node.at)?,
        Kind::Power(base, exponent) => power(work(base, scope)?, work(exponent, scope)?.quantity, &node.at)?,
    };
    if worked.quantity.si.is_finite() {
        if worked.quantity.below_absolute_zero() {
            return Err(below_absolute_zero(node.at.clone()));
        }
        return Ok(worked);
    }
    let what = if worked.quantity.si.is_nan() { "has no value" } else { "is beyond all numbers" };
    let help = "look for a division by 0, or the root or logarithm of a negative number";
    Err(Fault::new(&codes::NOT_FINITE, node.at.clone(), format!("this part {what}"), help))
}

fn unknown(name: &Name) -> Fault {
    let message = words!("no value has the name `{}`", name.text());
    let help = "type the block and the result, for example `drive.motor_speed`";
    Fault::new(&codes::UNKNOWN_REFERENCE, name.at.clone(), message, help)
}

fn curve(name: &Name, inner: &Node, scope: &dyn Scope) -> Result<Worked, Fault> {
    let Some(curve) = scope.curve(name) else {
        let text = name.text();
        let help = match suggest(&text, Function::names()) {
            Some(near) if name.is_one_word() => words!("type `{}`, if that is meant", near),
            _ => "type the part and its curve, for example `edu.torque_curve(3000 rpm)`".into(),
        };
        let message = words!("no curve or function has the name `{}`", text);
        return Err(Fault::new(&codes::UNKNOWN_REFERENCE, name.at.clone(), message, help));
    };
    let x = work(inner, scope)?;
    let mut y = curve.read(&x.quantity).map_err(|fault| fault.over(inner.at.clone()))?;
    y.si *= scope.curve_scale(name);
    Ok(Worked::leaf(y))
}

fn call(function: Function, nodes: &[Node], scope: &dyn Scope, at: &Range<usize>) -> Result<Worked, Fault> {
    match function {
        Function::Sum => sum(nodes.iter().map(|node| (Sign::Plus, node)), scope, at),
        Function::Product => product(nodes.iter().map(|node| (Factor::Times, node)), scope, at),
        Function::Mean => mean(nodes, scope, at),
        Function::Count => Ok(Worked::leaf(Quantity::plain(nodes.len() as f64))),
        Function::Min | Function::Max => extreme(function, nodes, scope, at),
        _ => {
            let inner = work(&nodes[0], scope)?;
            let result = function.of_one(inner.quantity, at)?;
            let size = result.si.abs();
            let scale = match function {
                Function::Sqrt => size * inner.stretch(),
                Function::Exp => size * inner.scale.max(1.0),
                Function::Ln | Function::Log10 => inner.stretch(),
                _ => inner.scale,
            };
            Ok(Worked::of(result, scale))
        }
    }
}

fn extreme(
    function: Function,
    nodes: &[Node],
    scope: &dyn Scope,
    at: &Range<usize>,
) -> Result<Worked, Fault> {
    let mut best = work(&nodes[0], scope)?;
    // A bare 0 takes the dimension of the others.
    let mut dimension = if nodes[0].is_bare_zero() { None } else { Some((&nodes[0], best.quantity)) };
    for node in &nodes[1..] {
        let next = work(node, scope)?;
        if let Some((first, quantity)) = &dimension {
            comparable((first, quantity), (node, &next.quantity), function.name(), at)?;
            let written = [first, &node].iter().any(|node| matches!(node.kind, Kind::Number(_)));
            if quantity.point != next.quantity.point && !written {
                return Err(mixed_temperatures(function, at));
            }
        } else if !node.is_bare_zero() {
            comparable((&nodes[0], &best.quantity), (node, &next.quantity), function.name(), at)?;
            dimension = Some((node, next.quantity));
        }
        let better = match function {
            Function::Min => next.quantity.si < best.quantity.si,
            _ => next.quantity.si > best.quantity.si,
        };
        best = Worked {
            quantity: if better { next.quantity } else { best.quantity },
            scale: best.scale.max(next.scale),
        };
    }
    if let Some((_, quantity)) = dimension {
        best.quantity.dimension = quantity.dimension;
        best.quantity.point |= quantity.point;
    }
    Ok(best)
}

/// A sum. Of temperatures on the scale at most one may be left over: point − point is a difference.
fn sum<'a>(
    terms: impl Iterator<Item = (Sign, &'a Node)>,
    scope: &dyn Scope,
    at: &Range<usize>,
) -> Result<Worked, Fault> {
    let mut total: Option<(Worked, usize)> = None;
    let mut points = 0i32;
    for (sign, node) in terms {
        let mut term = work(node, scope)?;
        let (factor, text) = match sign {
            Sign::Plus => (1, "+"),
            Sign::Minus => (-1, "−"),
        };
        points += if term.quantity.point { factor } else { 0 };
        term.quantity.si *= f64::from(factor);
        total = Some(match total {
            None => (term, node.at.start),
            Some((before, start)) => {
                same_dimension(&before.quantity, &term.quantity, text, &(start..node.at.end))?;
                let dimension = before.quantity.dimension.joined(term.quantity.dimension);
                let quantity = Quantity::new(before.quantity.si + term.quantity.si, dimension);
                (Worked { quantity, scale: before.scale.max(term.scale) }, start)
            }
        });
    }
    if !(0..=1).contains(&points) {
        let message = "a sum of temperatures, which has no meaning";
        let help = "add a difference in K to a temperature, or take the difference of two; the mean of two is \
                    `mean(a, b)`";
        return Err(Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, help));
    }
    let mut total = total.map_or(Worked::leaf(Quantity::plain(0.0)), |(total, _)| total);
    total.quantity.point = points == 1;
    Ok(total)
}

/// The mean of values of one dimension; of temperatures it is one.
/// What is typed in K may be either.
fn mixed_temperatures(function: Function, at: &Range<usize>) -> Fault {
    let message = words!("`{}` of temperatures and temperature differences", function.name());
    let help = "a difference is in K, a temperature in °C: give it one of them";
    Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, help)
}

fn mean(nodes: &[Node], scope: &dyn Scope, at: &Range<usize>) -> Result<Worked, Fault> {
    let first = work(&nodes[0], scope)?;
    let (mut total, mut scale) = (first.quantity, first.scale);
    for node in &nodes[1..] {
        let next = work(node, scope)?;
        same_dimension(&total, &next.quantity, "mean", at)?;
        if total.point != next.quantity.point {
            return Err(mixed_temperatures(Function::Mean, at));
        }
        total.si += next.quantity.si;
        total.dimension = total.dimension.joined(next.quantity.dimension);
        scale = scale.max(next.scale);
    }
    total.si /= nodes.len() as f64;
    Ok(Worked::of(total, scale))
}

/// A product. A temperature counts from absolute zero in it, and is not scaled by plain numbers.
fn product<'a>(
    factors: impl Iterator<Item = (Factor, &'a Node)>,
    scope: &dyn Scope,
    at: &Range<usize>,
) -> Result<Worked, Fault> {
    let (mut si, mut scale, mut stretch) = (1.0, 1.0, 1.0f64);
    let mut dimension = Dimension::NONE;
    let (mut points, mut dimensioned, mut count) = (0, 0, 0);
    for (factor, node) in factors {
        let worked = work(node, scope)?;
        let quantity = worked.quantity;
        count += 1;
        points += i32::from(quantity.point);
        dimensioned += i32::from(!quantity.dimension.is_plain());
        stretch = stretch.max(worked.stretch());
        let next = match factor {
            Factor::Times => {
                si *= quantity.si;
                scale *= worked.scale;
                dimension.mul(quantity.dimension)
            }
            Factor::Over => {
                if quantity.si == 0.0 {
                    let help = "check the value below the line";
                    return Err(Fault::new(&codes::NOT_FINITE, node.at.clone(), "a division by 0", help));
                }
                si /= quantity.si;
                scale /= quantity.si.abs();
                dimension.div(quantity.dimension)
            }
        };
        dimension = next.map_err(|clash| no_product(clash, at))?;
    }
    if points >= 2 || points == 1 && dimensioned == 1 && count > 1 {
        let message = match points {
            1 => "a temperature that is multiplied or divided by a plain number",
            _ => "a product or quotient of temperatures, which has no meaning",
        };
        let help = "take a difference first, for example `(t - 20 °C) * 2`";
        return Err(Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, help));
    }
    let mut quantity = Quantity::new(si, dimension);
    quantity.point = count == 1 && points == 1;
    Ok(Worked::of(quantity, if si == 0.0 { scale } else { si.abs() * stretch }))
}

fn minus(mut worked: Worked, at: &Range<usize>) -> Result<Worked, Fault> {
    if worked.quantity.point {
        let message = "the negative of a temperature, which has no meaning";
        return Err(Fault::new(
            &codes::UNIT_MISMATCH,
            at.clone(),
            message,
            "take the difference of two temperatures",
        ));
    }
    worked.quantity.si = -worked.quantity.si;
    Ok(worked)
}

fn power(base: Worked, exponent: Quantity, at: &Range<usize>) -> Result<Worked, Fault> {
    let mismatch = |message: String, help: &'static str| {
        Err(Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, help))
    };
    if !exponent.dimension.is_plain() {
        return mismatch(format!("a power of {}", exponent.words()), "a power is a plain number");
    }
    let Some(dimension) = base.quantity.dimension.pow(exponent.si) else {
        let message = format!("{} to the power {}", base.quantity.words(), exponent.si);
        return mismatch(message, "divide by a value of the same unit first, so that a plain number is left");
    };
    let si = numbers::power(base.quantity.si, exponent.si);
    let scale = si.abs() * base.stretch() * exponent.si.abs().max(1.0);
    Ok(Worked::of(Quantity::new(si, dimension), scale))
}

fn no_product(clash: Clash, at: &Range<usize>) -> Fault {
    match clash {
        Clash::Currencies(a, b) => {
            let message = format!("money in {} and in {} in one product", currency_text(a), currency_text(b));
            Fault::new(&codes::CURRENCY_MIX, at.clone(), message, "give all money in one currency")
        }
        Clash::TooLarge => {
            let message = "a product of too many units";
            Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, "check the formula")
        }
    }
}
