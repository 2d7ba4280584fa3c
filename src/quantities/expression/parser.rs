//! Puts the tokens of an expression together by the usual precedence.

use crate::words::{Words, words};
use std::ops::Range;

use super::super::fault::Fault;
use super::super::fold::fold;
use super::super::number::MINUS;
use super::super::quantity::Quantity;
use super::function::Function;
use super::lexer::{Lexer, Token};
use super::{Comparator, Factor, Kind, Name, Node, Number, Sign};
use crate::findings::{codes, suggest};

/// Deepest nesting of parentheses, calls, signs and powers.
const DEEPEST: usize = 100;
/// Longest text, in bytes.
const LONGEST: usize = 1 << 20;

/// Boxed on both sides, to keep the stack of a deep expression small.
type Parsed = Result<Box<Node>, Box<Fault>>;

pub(super) fn parse(text: &str) -> Result<Node, Fault> {
    let (first, rest) = sides(text)?;
    match rest.first() {
        None => Ok(*first),
        Some((_, _, at)) => {
            let help =
                "type an expression that gives a number; comparisons stand under `checks` and in `targets`";
            Err(*bad(at.clone(), "a comparison where a number is expected", help))
        }
    }
}

/// What follows a side of a comparison: the sign, the next side, and where the sign stands.
pub(super) type Next = (Comparator, Box<Node>, Range<usize>);

/// The sides of a comparison; one alone is an expression.
pub(super) fn sides(text: &str) -> Result<(Box<Node>, Vec<Next>), Fault> {
    if let Some(plain) = fold(text) {
        let (mut first, mut rest) = sides(&plain.text).map_err(|fault| plain.fault(fault))?;
        let mut replace = |node: &mut Node| {
            node.at = plain.place(&node.at);
            if let Kind::Name(name) | Kind::Curve(name, _) = &mut node.kind {
                name.at = plain.place(&name.at);
            }
        };
        first.visit(&mut replace);
        for (_, side, at) in &mut rest {
            side.visit(&mut replace);
            *at = plain.place(at);
        }
        return Ok((first, rest));
    }
    if text.len() > LONGEST {
        let message = format!("an expression of {} bytes", text.len());
        let help = "split it into the steps of a worksheet";
        return Err(Fault::new(&codes::BAD_EXPRESSION, 0..text.len(), message, help));
    }
    let mut parser = Parser { lexer: Lexer::new(text), token: Token::End, at: 0..0, before: 0, depth: 0 };
    parser.whole(text).map_err(|fault| *fault)
}

struct Parser<'a> {
    lexer: Lexer<'a>,
    token: Token,
    at: Range<usize>,
    /// Where the token before ended.
    before: usize,
    depth: usize,
}

impl Parser<'_> {
    fn whole(&mut self, text: &str) -> Result<(Box<Node>, Vec<Next>), Box<Fault>> {
        self.advance()?;
        if self.token == Token::End {
            let message = "nothing where an expression is expected";
            let help = "type numbers, names and signs, for example `2 * drive.motor_speed`";
            return Err(bad(0..text.len(), message, help));
        }
        let first = self.sum()?;
        let mut rest = Vec::new();
        while let Token::Compare(comparator) = self.token {
            let at = self.at.clone();
            self.advance()?;
            rest.push((comparator, self.sum()?, at));
        }
        match self.token {
            Token::End => Ok((first, rest)),
            _ => Err(self.unexpected()),
        }
    }

    /// Gives the token and goes on to the next one.
    fn advance(&mut self) -> Result<Token, Box<Fault>> {
        let (token, at) = self.lexer.next().map_err(Box::new)?;
        self.before = self.at.end;
        self.at = at;
        Ok(std::mem::replace(&mut self.token, token))
    }

    fn deeper(&mut self, read: fn(&mut Self) -> Parsed) -> Parsed {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(too_deep(self.at.clone()));
        }
        let read = read(self);
        self.depth -= 1;
        read
    }

    fn sum(&mut self) -> Parsed {
        let first = self.product()?;
        if !matches!(self.token, Token::Plus | Token::Minus) {
            return Ok(first);
        }
        let start = first.at.start;
        let mut terms = vec![(Sign::Plus, *first)];
        loop {
            let sign = match self.token {
                Token::Plus => Sign::Plus,
                Token::Minus => Sign::Minus,
                _ => return Ok(self.node(start, Kind::Sum(terms))),
            };
            self.advance()?;
            let next = self.product()?;
            terms.push((sign, *next));
        }
    }

    fn product(&mut self) -> Parsed {
        let first = self.signed()?;
        if !matches!(self.token, Token::Times | Token::Over) {
            return Ok(first);
        }
        let start = first.at.start;
        let mut factors = vec![(Factor::Times, *first)];
        loop {
            let factor = match self.token {
                Token::Times => Factor::Times,
                Token::Over => Factor::Over,
                _ => return Ok(self.node(start, Kind::Product(factors))),
            };
            self.advance()?;
            let next = self.signed()?;
            factors.push((factor, *next));
        }
    }

    fn signed(&mut self) -> Parsed {
        let start = self.at.start;
        match self.token {
            Token::Minus => {
                self.advance()?;
                let inner = self.deeper(Parser::signed)?;
                Ok(self.node(start, minus(inner)))
            }
            Token::Plus => {
                self.advance()?;
                self.deeper(Parser::signed)
            }
            _ => self.power(),
        }
    }

    fn power(&mut self) -> Parsed {
        let base = self.primary()?;
        let start = base.at.start;
        if matches!(self.token, Token::Power | Token::Raised(_))
            && matches!(&base.kind, Kind::Number(number) if number.unit.is_some())
            && self.before < self.at.start
            && self.lexer.ends_a_bare_unit(self.before)
        {
            let help = "type `m^2` for a power of the unit, or brackets for one of the value: `(3 m)^2`";
            return Err(bad(self.at.clone(), "a power after a space behind a unit", help));
        }
        let exponent = match self.token {
            Token::Power => {
                self.advance()?;
                // To the right, and with a sign: `2^-3^2` is 2^(−(3^2)).

                self.deeper(Parser::signed)?
            }
            Token::Raised(power) => {
                let at = self.at.clone();
                self.advance()?;
                raised(power, at)
            }
            _ => return Ok(base),
        };
        if let Token::Raised(_) = self.token {
            return Err(self.unexpected());
        }
        Ok(self.node(start, Kind::Power(base, exponent)))
    }

    fn primary(&mut self) -> Parsed {
        let at = self.at.clone();
        match self.token {
            Token::Number(_) | Token::Name(_) => {}
            Token::Open => return self.group(),
            _ => return Err(self.unexpected()),
        }
        match self.advance()? {
            Token::Number(number) => Ok(Box::new(Node { at, kind: Kind::Number(number) })),
            Token::Name(text) if self.token == Token::Open => self.call(Name { text, at, place: 0 }),
            Token::Name(text) if matches!(&*text, "pi" | "π") => Ok(Box::new(Node { at, kind: Kind::Pi })),
            Token::Name(text) => {
                Ok(Box::new(Node { at: at.clone(), kind: Kind::Name(Name { text, at, place: 0 }) }))
            }
            _ => Err(self.unexpected()),
        }
    }

    fn group(&mut self) -> Parsed {
        let open = self.at.clone();
        self.advance()?;
        let mut inner = self.deeper(Parser::sum)?;
        self.close(&open)?;
        inner.at = open.start..self.before;
        Ok(inner)
    }

    fn call(&mut self, name: Name) -> Parsed {
        let open = self.at.clone();
        self.lexer.calls += 1;
        self.advance()?;
        let mut values = Vec::new();
        if self.token != Token::Close {
            loop {
                let value = self.deeper(Parser::sum)?;
                values.push(*value);
                if self.token != Token::Comma {
                    break;
                }
                self.advance()?;
            }
        }
        self.lexer.calls -= 1;
        self.close(&open)?;
        let start = name.at.start;
        let function = Function::read(name.as_str());
        match (function, values.len()) {
            (Some(function), 1) => Ok(self.node(start, Kind::Call(function, values))),
            (Some(function), 2..) if function.takes_many() => {
                Ok(self.node(start, Kind::Call(function, values)))
            }
            (None, 1) => {
                let value = Box::new(values.remove(0));
                Ok(self.node(start, Kind::Curve(name, value)))
            }
            (_, count) => Err(wrong_count(&name, count, start..self.before)),
        }
    }

    fn close(&mut self, open: &Range<usize>) -> Result<(), Box<Fault>> {
        match self.token {
            Token::Close => self.advance().map(|_| ()),
            Token::End => Err(bad(open.clone(), "a `(` that is never closed", "close it with `)`")),
            _ => Err(self.unexpected()),
        }
    }

    fn node(&self, start: usize, kind: Kind) -> Box<Node> {
        Box::new(Node { at: start..self.before, kind })
    }

    fn unexpected(&self) -> Box<Fault> {
        let (message, help) = match &self.token {
            Token::Joining(_) => (
                "comparisons that are joined by a word",
                "type a line of its own for each; a value between two limits is `LOW <= x <= HIGH`",
            ),
            Token::Compare(_) => (
                "a comparison where a number is expected",
                "comparisons stand under `checks` and in `targets`",
            ),
            Token::End => ("an expression that breaks off", "complete it, or leave out its last sign"),
            Token::Open => (
                "two values without a sign between them",
                "there is no multiplication without a sign: type `*`; a note behind a limit begins with a basis: `(published S-1)`",
            ),
            Token::Number(_) | Token::Name(_) => (
                "two values without a sign between them",
                "there is no multiplication without a sign: type `*`",
            ),
            Token::Close => ("a `)` where a value is expected, or without its `(`", "check the parentheses"),
            Token::Comma => {
                ("a comma outside a function", "a decimal is written with a point, for example `1.5`")
            }
            Token::Raised(_) => ("a power without a value before it", "type it as in `v^2`"),
            _ => ("a sign where a value is expected", "put a value on each side of the sign"),
        };
        bad(self.at.clone(), message, help)
    }
}

fn bad(at: Range<usize>, message: impl Into<Words>, help: impl Into<Words>) -> Box<Fault> {
    Box::new(Fault::new(&codes::BAD_EXPRESSION, at, message, help))
}

fn too_deep(at: Range<usize>) -> Box<Fault> {
    let message = format!("an expression nested deeper than {DEEPEST}");
    Box::new(Fault::new(&codes::EXPRESSION_TOO_DEEP, at, message, "split it into the steps of a worksheet"))
}

/// The negative of a node. A temperature is negative on its own scale: `-20 °C` is 253.15 K.
fn minus(node: Box<Node>) -> Kind {
    if let Kind::Number(number) = &node.kind
        && let Some(unit) = number.unit.as_ref().filter(|unit| unit.is_point())
        && !number.text.starts_with(MINUS)
    {
        let quantity = Quantity::in_unit(-unit.value_of(number.quantity.si), unit);
        let text = format!("{MINUS}{}", number.text);
        return Kind::Number(Box::new(Number { quantity, text, unit: Some(unit.clone()) }));
    }
    Kind::Minus(node)
}

/// A power that was typed in superscript digits.
fn raised(power: i32, at: Range<usize>) -> Box<Node> {
    let number = Number {
        quantity: Quantity::plain(f64::from(power.abs())),
        text: power.abs().to_string(),
        unit: None,
    };
    let node = Box::new(Node { at: at.clone(), kind: Kind::Number(Box::new(number)) });
    if power < 0 { Box::new(Node { at, kind: Kind::Minus(node) }) } else { node }
}

fn wrong_count(name: &Name, count: usize, at: Range<usize>) -> Box<Fault> {
    let text = name.as_str();
    let known = Function::read(text).is_some();
    let near = suggest(text, Function::names()).filter(|_| !known);
    let help = match (known, near) {
        (_, Some(near)) => words!("type `{}`, if that is meant", near),
        (true, None) => words!("type `{}(…)` with one value; a decimal is written with a point", text),
        (false, None) => "a curve is read at one value, for example `edu.torque_curve(3000 rpm)`".into(),
    };
    bad(at, words!("`{}` of {} values", text, count), &help)
}
