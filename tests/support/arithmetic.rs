//! A small calculator for printed workings: `120 km/h / (1.7955 m / 1 rev)`. Written for the tests, apart from the
//! program's own engine; it works in SI and does not look at dimensions.

use crate::units::factor;

/// A number as it was printed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Printed {
    /// In the printed unit.
    pub number: f64,
    /// `1` for a plain number.
    pub unit: String,
    pub factor: f64,
    /// The place of its last printed digit: -2 for 1.25, 0 for 12.
    pub place: i32,
}

/// The value in SI and the printed numbers that it rests on. `shift` is added to one of them, in its own unit.
pub(crate) fn work(text: &str, shift: Option<(usize, f64)>) -> Result<(f64, Vec<Printed>), String> {
    let mut reader = Reader { rest: text, shift, found: Vec::new() };
    let value = reader.sum()?;
    if reader.rest.trim().is_empty() {
        Ok((value, reader.found))
    } else {
        Err(format!("stops at `{}` in `{text}`", reader.rest))
    }
}

/// One number with its unit, and nothing else.
pub(crate) fn printed(text: &str) -> Option<Printed> {
    // The unit stands once, after the uncertainty: `12 133 ± 62 rpm`, or before it: `57 % ± 2`.
    let text = match text.split_once(" ± ") {
        Some((value, width)) if work(value, None).ok()?.1.first()?.unit == "1" => {
            let unit = work(width, None).ok()?.1.first()?.unit.clone();
            if unit == "1" { value.to_owned() } else { format!("{value} {unit}") }
        }
        Some((value, _)) => value.to_owned(),
        None => text.to_owned(),
    };
    let (_, mut found) = work(&text, None).ok()?;
    let mut one = found.pop().filter(|_| found.is_empty())?;
    if text.starts_with(['−', '-']) {
        one.number = -one.number;
    }
    Some(one)
}

struct Reader<'a> {
    rest: &'a str,
    shift: Option<(usize, f64)>,
    found: Vec<Printed>,
}

impl Reader<'_> {
    fn eat(&mut self, sign: &str) -> bool {
        match self.rest.strip_prefix(sign) {
            Some(rest) => {
                self.rest = rest;
                true
            }
            None => false,
        }
    }

    fn sum(&mut self) -> Result<f64, String> {
        let mut total = self.product()?;
        loop {
            if self.eat(" + ") {
                total += self.product()?;
            } else if self.eat(" − ") {
                total -= self.product()?;
            } else {
                return Ok(total);
            }
        }
    }

    fn product(&mut self) -> Result<f64, String> {
        let mut total = self.signed()?;
        loop {
            if self.eat(" × ") {
                total *= self.signed()?;
            } else if self.eat(" / ") {
                total /= self.signed()?;
            } else {
                return Ok(total);
            }
        }
    }

    fn signed(&mut self) -> Result<f64, String> {
        if self.eat("−") { Ok(-self.signed()?) } else { self.power() }
    }

    fn power(&mut self) -> Result<f64, String> {
        let base = self.atom()?;
        if self.eat("^") {
            return Ok(base.powf(self.signed()?));
        }
        let digits = "⁰¹²³⁴⁵⁶⁷⁸⁹";
        let negative = self.eat("⁻");
        let mut exponent = None;
        while let Some(digit) =
            self.rest.chars().next().and_then(|sign| digits.chars().position(|known| known == sign))
        {
            self.rest = &self.rest[self.rest.chars().next().map_or(0, char::len_utf8)..];
            exponent = Some(exponent.unwrap_or(0) * 10 + i32::try_from(digit).unwrap_or(0));
        }
        match (exponent, negative) {
            (Some(exponent), true) => Ok(base.powi(-exponent)),
            (Some(exponent), false) => Ok(base.powi(exponent)),
            (None, _) => Ok(base),
        }
    }

    fn atom(&mut self) -> Result<f64, String> {
        if self.eat("(") {
            let value = self.sum()?;
            return if self.eat(")") { Ok(value) } else { Err(format!("no `)` at `{}`", self.rest)) };
        }
        if self.eat("π") {
            return Ok(std::f64::consts::PI);
        }
        for (name, function) in FUNCTIONS {
            if self.eat(&format!("{name}(")) {
                let mut values = vec![self.sum()?];
                while self.eat(", ") {
                    values.push(self.sum()?);
                }
                return if self.eat(")") {
                    Ok(function(&values))
                } else {
                    Err(format!("no `)` at `{}`", self.rest))
                };
            }
        }
        self.number()
    }

    fn number(&mut self) -> Result<f64, String> {
        let (text, rest) = number(self.rest).ok_or_else(|| format!("no number at `{}`", self.rest))?;
        let (mantissa, power) = text.split_once('e').unwrap_or((&text, "0"));
        let power: i32 = power.parse().map_err(|_| format!("no power of ten in `{text}`"))?;
        let decimals = mantissa.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        let (unit, rest) = unit(rest);
        let mut one = Printed {
            number: text.parse().map_err(|_| format!("no number: `{text}`"))?,
            factor: factor(if unit.is_empty() { "1" } else { unit })
                .ok_or_else(|| format!("no unit: `{unit}`"))?,
            unit: if unit.is_empty() { "1".to_owned() } else { unit.to_owned() },
            place: power - i32::try_from(decimals).unwrap_or(0),
        };
        self.rest = rest;
        let mut value = one.number;
        if let Some((number, amount)) = self.shift
            && number == self.found.len()
        {
            value += amount;
        }
        value *= one.factor;
        one.unit = one.unit.replace('·', " ");
        self.found.push(one);
        Ok(value)
    }
}

type Function = fn(&[f64]) -> f64;

const FUNCTIONS: &[(&str, Function)] = &[
    ("√", |values| values[0].sqrt()),
    ("abs", |values| values[0].abs()),
    ("min", |values| values.iter().copied().fold(f64::INFINITY, f64::min)),
    ("max", |values| values.iter().copied().fold(f64::NEG_INFINITY, f64::max)),
    ("sum", |values| values.iter().sum()),
    ("product", |values| values.iter().product()),
    ("sin", |values| values[0].sin()),
    ("cos", |values| values[0].cos()),
    ("tan", |values| values[0].tan()),
    ("asin", |values| values[0].asin()),
    ("acos", |values| values[0].acos()),
    ("atan", |values| values[0].atan()),
    ("exp", |values| values[0].exp()),
    ("ln", |values| values[0].ln()),
    ("log10", |values| values[0].log10()),
    ("round", |values| values[0].round()),
];

/// The digits of `1 084.307` or `1.20e−9` as Rust reads them, and what comes after.
fn number(text: &str) -> Option<(String, &str)> {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let mut end = digits(text);
    let mut found = text[..end].to_owned();
    if found.is_empty() {
        return None;
    }
    while text[end..].starts_with(' ') && digits(&text[end + 1..]) == 3 {
        found.push_str(&text[end + 1..end + 4]);
        end += 4;
    }
    if text[end..].starts_with('.') {
        let decimals = digits(&text[end + 1..]);
        found.push_str(&text[end..=end + decimals]);
        end += 1 + decimals;
    }
    if let Some(power) = text[end..].strip_prefix('e') {
        let sign = if power.starts_with('−') { "−" } else { "" };
        let count = digits(&power[sign.len()..]);
        if count > 0 {
            found.push_str(&format!(
                "e{}{}",
                if sign.is_empty() { "" } else { "-" },
                &power[sign.len()..sign.len() + count]
            ));
            end += 1 + sign.len() + count;
        }
    }
    Some((found, &text[end..]))
}

/// The unit after a number, which may be of several words, and what comes after it.
fn unit(text: &str) -> (&str, &str) {
    let mut end = 0;
    while let Some(rest) = text[end..].strip_prefix(' ') {
        let word = word(rest);
        // A sign or the next operand is no unit.
        if word.is_empty()
            || factor(word).is_none()
            || (word.starts_with(|sign: char| sign.is_ascii_digit()) && !word.starts_with("1/"))
        {
            break;
        }
        end += 1 + word.len();
    }
    (text[..end].trim_start(), &text[end..])
}

/// Up to a space, a comma or a closing parenthesis outside of the word's own.
fn word(text: &str) -> &str {
    let mut depth = 0;
    for (at, sign) in text.char_indices() {
        match sign {
            '(' => depth += 1,
            ')' if depth == 0 => return &text[..at],
            ')' => depth -= 1,
            ' ' | ',' if depth == 0 => return &text[..at],
            _ => {}
        }
    }
    text
}
