//! What to type instead of a unit that the language does not have.

use super::super::fault::Fault;
use super::super::note::Basis;
use super::table::CURRENCIES;
use crate::findings::{codes, suggest};
use crate::words::{Words, words};

/// Words of the workshop, lower case, and what to type for them.
const WORKSHOP: &[(&str, &str)] = &[
    ("\"", "in"),
    ("″", "in"),
    ("'", "ft"),
    ("′", "ft"),
    ("$", "USD"),
    ("€", "EUR"),
    ("£", "GBP"),
    ("¥", "JPY"),
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("bhp", "hp"),
    ("c", "°C"),
    ("cc", "cm^3"),
    ("ccm", "cm^3"),
    ("celsius", "°C"),
    ("d", "day"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("euro", "EUR"),
    ("euros", "EUR"),
    ("f", "°F"),
    ("fahrenheit", "°F"),
    ("feet", "ft"),
    ("foot", "ft"),
    ("ftlb", "lbf ft"),
    ("ftlbs", "lbf ft"),
    ("gal", "US_gal"),
    ("gallon", "US_gal"),
    ("gallons", "US_gal"),
    ("gram", "g"),
    ("grams", "g"),
    ("hour", "h"),
    ("hours", "h"),
    ("hr", "h"),
    ("hrs", "h"),
    ("inch", "in"),
    ("inches", "in"),
    ("kgf", "N"),
    ("kgs", "kg"),
    ("kilo", "kg"),
    ("kilos", "kg"),
    ("kmh", "km/h"),
    ("kmph", "km/h"),
    ("lbft", "lbf ft"),
    ("lbs", "lb"),
    ("liter", "L"),
    ("liters", "L"),
    ("litre", "L"),
    ("litres", "L"),
    ("meter", "m"),
    ("meters", "m"),
    ("metre", "m"),
    ("metres", "m"),
    ("mile", "mi"),
    ("miles", "mi"),
    ("mins", "min"),
    ("minute", "min"),
    ("minutes", "min"),
    ("ounce", "oz"),
    ("ounces", "oz"),
    ("percent", "%"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("rps", "rev/s"),
    ("sec", "s"),
    ("secs", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("turn", "rev"),
    ("turns", "rev"),
    ("volt", "V"),
    ("volts", "V"),
    ("watt", "W"),
    ("watts", "W"),
    ("wk", "week"),
];

/// Words that need a sentence: trade units that are left out, each with its value in a unit that is there.
const LEFT_OUT: &[(&str, &str)] = &[
    ("PS", "a metric horsepower is 735.5 W: type the power in `kW`"),
    ("cv", "a metric horsepower is 735.5 W: type the power in `kW`"),
    ("ch", "a metric horsepower is 735.5 W: type the power in `kW`"),
    ("t", "a tonne is 1000 kg: type the mass in `kg`"),
    ("tonne", "a tonne is 1000 kg: type the mass in `kg`"),
    ("tonnes", "a tonne is 1000 kg: type the mass in `kg`"),
    ("ton", "type the mass in `kg` or `lb`"),
    ("yd", "a yard is 3 ft: type the length in `ft`"),
    ("st", "a stone is 14 lb: type the mass in `lb`"),
    ("mbar", "`bar` takes no prefix: 1 mbar is 0.001 bar, or 100 Pa"),
    ("mil", "a thousandth of an inch is 0.001 in: type it in `in`"),
    ("thou", "a thousandth of an inch is 0.001 in: type it in `in`"),
    ("month", "a month has no fixed length: type it in `day` or `week`"),
    ("months", "a month has no fixed length: type it in `day` or `week`"),
    ("year", "a year has no fixed length: type it in `day` or `week`"),
    ("years", "a year has no fixed length: type it in `day` or `week`"),
    ("VA", "type `V A`"),
    ("mol", "amounts of substance are not in the language"),
];

/// What a typing mistake is most often meant to be, the most usual first.
const USUAL: &[&str] = &[
    "kg", "g", "mg", "mm", "cm", "m", "km", "in", "ft", "mi", "lb", "oz", "N", "kN", "Nm", "kNm", "lbf",
    "Pa", "kPa", "MPa", "psi", "bar", "W", "kW", "MW", "hp", "J", "kJ", "MJ", "Wh", "kWh", "MWh", "Ah",
    "mAh", "V", "mV", "kV", "A", "mA", "kA", "Ω", "ohm", "mohm", "kohm", "Mohm", "F", "µF", "mF", "uF", "H",
    "mH", "µH", "Hz", "kHz", "s", "ms", "min", "h", "day", "days", "week", "weeks", "kph", "mph", "rpm",
    "rev", "rad", "deg", "degC", "degF", "°C", "°F", "K", "L", "mL", "US_gal", "g_n", "C", "T", "Wb", "S",
];

/// Trade words that would otherwise be taken for a prefix and an SI symbol (`PS` is no petasiemens).
pub(super) fn is_trade_word(word: &str) -> bool {
    LEFT_OUT.iter().any(|(left_out, _)| *left_out == word)
}

/// The fault for a word that begins at byte `at`.
pub(super) fn unknown_unit(word: &str, at: usize) -> Fault {
    let shown: String = word.chars().take(40).collect();
    Fault::new(&codes::UNKNOWN_UNIT, at..at + word.len(), words!("`{}` is no unit", shown), help(word))
}

fn help(word: &str) -> Words {
    let lower = word.to_lowercase();
    if let Some((_, help)) = LEFT_OUT.iter().find(|(left_out, _)| *left_out == word) {
        return Words::from(*help);
    }
    if Basis::read(&lower).is_some() {
        return words!("a note stands in parentheses: type `({})`", lower);
    }
    let workshop = WORKSHOP.iter().find(|(typed, _)| *typed == lower).map(|(_, meant)| *meant);
    let cased = USUAL.iter().chain(CURRENCIES).find(|usual| usual.to_lowercase() == lower).copied();
    if let Some(cased) = cased.filter(|_| workshop.is_none()) {
        return words!("type `{}`: capital and small letters count in a unit", cased);
    }
    if let Some(meant) = workshop.or_else(|| suggest(word, USUAL.iter().copied())) {
        return words!("type `{}`, if that is meant", meant);
    }
    "units are SI symbols with prefixes, and `in ft mi lb oz lbf psi bar hp mi/h km/h rpm rev deg °C °F min h day week \
     Ah Wh L US_gal g_n`"
        .into()
}
