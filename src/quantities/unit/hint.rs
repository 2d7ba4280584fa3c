//! What to type instead of a unit that the language does not have.

use super::super::currency::CURRENCIES;
use super::super::fault::Fault;
use super::super::note::Basis;
use crate::findings::{codes, suggest};
use crate::words::{Words, words};

/// Words of the workshop, lower case, and what to type for them.
const WORKSHOP: &[(&str, &str)] = &[
    ("adc", "A"),
    ("vac", "V"),
    ("vdc", "V"),
    ("₹", "INR"),
    ("₩", "KRW"),
    ("₺", "TRY"),
    ("kč", "CZK"),
    ("zł", "PLN"),
    ("nmm", "N mm"),
    ("ohms", "ohm"),
    ("qmm", "mm^2"),
    ("sqmm", "mm^2"),
    ("sqm", "m^2"),
    ("lbm", "lb"),
    ("usgal", "US_gal"),
    ("r", "rev"),
    ("revs", "rev"),
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
    ("gram", "g"),
    ("grams", "g"),
    ("hour", "h"),
    ("hours", "h"),
    ("hr", "h"),
    ("hrs", "h"),
    ("inch", "in"),
    ("inches", "in"),
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
    ("AC", "a unit does not say AC or DC: type `V` or `A` alone"),
    ("DC", "a unit does not say AC or DC: type `V` or `A` alone"),
    ("ac", "a unit does not say AC or DC: type `V` or `A` alone"),
    ("dc", "a unit does not say AC or DC: type `V` or `A` alone"),
    ("kgf", "a kilogram-force is × 9.80665 N: type the force in `N`"),
    ("kp", "a kilopond is × 9.80665 N: type the force in `N`"),
    ("gal", "an American gallon is `US_gal`; an imperial one is × 4.54609 L: type it in `L`"),
    ("gallon", "an American gallon is `US_gal`; an imperial one is × 4.54609 L: type it in `L`"),
    ("gallons", "an American gallon is `US_gal`; an imperial one is × 4.54609 L: type it in `L`"),
    ("knot", "a knot is × 1.852 km/h"),
    ("knots", "a knot is × 1.852 km/h"),
    ("kn", "a knot is × 1.852 km/h"),
    ("mmHg", "a millimetre of mercury is × 133.322 Pa"),
    ("inHg", "an inch of mercury is × 3386.39 Pa"),
    ("ksi", "1 ksi is 1000 psi"),
    ("kip", "1 kip is 1000 lbf"),
    ("sq", "an area is a length squared: type `mm^2`, `m^2` or `in^2`"),
    ("square", "an area is a length squared: type `mm^2`, `m^2` or `in^2`"),
    ("cu", "a volume is a length cubed: type `cm^3`, `m^3` or `in^3`"),
    ("PS", "a metric horsepower is × 735.49875 W: type the power in `kW`"),
    ("cv", "a metric horsepower is × 735.49875 W: type the power in `kW`"),
    ("ch", "a metric horsepower is × 735.49875 W: type the power in `kW`"),
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

/// The code of a currency that is written by a sign, or by its code.
pub(in crate::quantities) fn money_sign(sign: &str) -> Option<&'static str> {
    let of_sign = WORKSHOP.iter().find(|(typed, _)| *typed == sign.to_lowercase()).map(|(_, code)| *code);
    CURRENCIES.iter().find(|code| **code == sign || of_sign == Some(**code)).copied()
}

/// Whether a word is another one mistyped, and no word of its own: letters in another order, or one too many or amiss
/// within a longer word. A unit that is only alike would change the value.
fn is_slip(typed: &str, meant: &str) -> bool {
    let letters = |word: &str| {
        let mut letters: Vec<char> = word.chars().collect();
        letters.sort_unstable();
        letters
    };
    let ends = |word: &str| (word.chars().next(), word.chars().next_back());
    letters(typed) == letters(meant) || (meant.chars().count() >= 3 && ends(typed) == ends(meant))
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
    let near = || suggest(word, USUAL.iter().copied()).filter(|near| is_slip(&lower, &near.to_lowercase()));
    if let Some(meant) = workshop.or_else(near) {
        return words!("type `{}`, if that is meant", meant);
    }
    "units are SI symbols with prefixes, and `in ft mi lb oz lbf psi bar hp mi/h km/h rpm rev deg °C °F min h day week \
     Ah Wh L US_gal g_n`"
        .into()
}
