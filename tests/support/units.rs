//! Factors to SI for the tests, written down apart from the program's own table.

/// Factor of a unit, `None` for one that is not known here. `N m/rad`, `lbf·ft`, `kg/m²`, `Wh/(100 km)` are read.
pub(crate) fn factor(unit: &str) -> Option<f64> {
    let unit = unit.trim();
    if unit.is_empty() {
        return None;
    }
    if let Some(at) = top_level_slash(unit) {
        let (over, under) = (&unit[..at], &unit[at + 1..]);
        return Some(factor(over)? / in_brackets(under)?);
    }
    unit.split([' ', '·', '\u{a0}']).filter(|word| !word.is_empty()).map(word).product::<Option<f64>>()
}

/// `(100 km)`, `(km/h)²`, or a unit without brackets.
fn in_brackets(unit: &str) -> Option<f64> {
    match unit.strip_prefix('(').and_then(|rest| rest.split_once(')')) {
        Some((inner, "")) => factor(inner),
        Some((inner, "²" | "^2")) => Some(factor(inner)?.powi(2)),
        Some(_) => None,
        None => factor(unit),
    }
}

fn top_level_slash(unit: &str) -> Option<usize> {
    let mut depth = 0;
    for (at, sign) in unit.char_indices() {
        match sign {
            '(' => depth += 1,
            ')' => depth -= 1,
            '/' if depth == 0 => return Some(at),
            _ => {}
        }
    }
    None
}

fn word(word: &str) -> Option<f64> {
    for (mark, power) in [("²", 2), ("³", 3), ("⁴", 4), ("^2", 2), ("^3", 3), ("^4", 4), ("⁻¹", -1)] {
        if let Some(base) = word.strip_suffix(mark) {
            return Some(simple(base)?.powi(power));
        }
    }
    simple(word)
}

fn simple(word: &str) -> Option<f64> {
    let turn = 2.0 * std::f64::consts::PI;
    let known = match word {
        "1" | "m" | "kg" | "s" | "A" | "K" | "rad" | "N" | "J" | "W" | "V" | "Ω" | "C" | "F" | "Pa"
        | "EUR" => 1.0,
        // In a working, where temperatures are subtracted or a difference is added: all of it is in degrees.
        "°C" => 1.0,
        "100" => 100.0,
        "%" => 0.01,
        "in" => 0.0254,
        "ft" => 0.3048,
        "mi" => 1609.344,
        "g" => 1e-3,
        "lb" => 0.453_592_37,
        "oz" => 0.028_349_523_125,
        "lbf" => 0.453_592_37 * 9.806_65,
        "psi" => 0.453_592_37 * 9.806_65 / (0.0254 * 0.0254),
        "hp" => 550.0 * 0.3048 * 0.453_592_37 * 9.806_65,
        "bar" => 1e5,
        "min" => 60.0,
        "h" => 3600.0,
        "day" | "days" => 86_400.0,
        "week" | "weeks" => 604_800.0,
        "rev" => turn,
        "deg" => turn / 360.0,
        "rpm" => turn / 60.0,
        "Ah" | "Wh" => 3600.0,
        "L" => 1e-3,
        "US_gal" => 231.0 * 0.0254 * 0.0254 * 0.0254,
        "g_n" | "gₙ" => 9.806_65,
        _ => return prefixed(word),
    };
    Some(known)
}

fn prefixed(word: &str) -> Option<f64> {
    let mut signs = word.chars();
    let power = match signs.next()? {
        'k' => 1e3,
        'M' => 1e6,
        'c' => 1e-2,
        'm' => 1e-3,
        'µ' | 'μ' => 1e-6,
        'n' => 1e-9,
        _ => return None,
    };
    matches!(
        signs.as_str(),
        "m" | "g" | "s" | "A" | "K" | "N" | "J" | "W" | "V" | "Ω" | "C" | "F" | "Pa" | "Wh" | "Ah" | "L"
    )
    .then(|| simple(signs.as_str()))?
    .map(|base| power * base)
}
