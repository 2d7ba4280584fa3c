//! Conversions against the printed factors of NIST SP 811, and what may be typed for a unit.

use super::{Unit, read_unit};
use crate::findings::codes;
use crate::quantities::sort::ALL;

/// NIST Special Publication 811 (2008), appendix B.8, "Factors for Units Listed Alphabetically": unit, SI unit, and the
/// factor with the digits that are printed there.
const SP_811: &[(&str, &str, &str)] = &[
    ("Ah", "C", "3.6e3"),
    ("bar", "Pa", "1.0e5"),
    ("bar", "kPa", "1.0e2"),
    ("day", "s", "8.64e4"),
    ("deg", "rad", "1.745329e-2"),
    ("ft", "m", "3.048e-1"),
    ("ft/h", "m/s", "8.466667e-5"),
    ("ft/min", "m/s", "5.08e-3"),
    ("ft/s", "m/s", "3.048e-1"),
    ("ft/s^2", "m/s^2", "3.048e-1"),
    ("ft^2", "m^2", "9.290304e-2"),
    ("ft^2/h", "m^2/s", "2.58064e-5"),
    ("ft^3", "m^3", "2.831685e-2"),
    ("ft^3/min", "m^3/s", "4.719474e-4"),
    ("ft^3/s", "m^3/s", "2.831685e-2"),
    ("ft^4", "m^4", "8.630975e-3"),
    ("ft lbf", "J", "1.355818e0"),
    ("ft lbf/h", "W", "3.766161e-4"),
    ("ft lbf/min", "W", "2.259697e-2"),
    ("ft lbf/s", "W", "1.355818e0"),
    ("US_gal", "m^3", "3.785412e-3"),
    ("US_gal", "L", "3.785412e0"),
    ("US_gal/day", "m^3/s", "4.381264e-8"),
    ("US_gal/(hp h)", "m^3/J", "1.410089e-9"),
    ("US_gal/min", "m^3/s", "6.309020e-5"),
    ("g_n", "m/s^2", "9.80665e0"),
    ("h", "s", "3.6e3"),
    ("hp", "W", "7.456999e2"),
    ("in", "m", "2.54e-2"),
    ("in/s", "m/s", "2.54e-2"),
    ("in^2", "m^2", "6.4516e-4"),
    ("in^3", "m^3", "1.638706e-5"),
    ("in^3/min", "m^3/s", "2.731177e-7"),
    ("in^4", "m^4", "4.162314e-7"),
    ("km/h", "m/s", "2.777778e-1"),
    ("kWh", "J", "3.6e6"),
    ("kWh", "MJ", "3.6e0"),
    ("L", "m^3", "1.0e-3"),
    ("lb", "kg", "4.535924e-1"),
    ("lb ft^2", "kg m^2", "4.214011e-2"),
    ("lb in^2", "kg m^2", "2.926397e-4"),
    ("lb/ft", "kg/m", "1.488164e0"),
    ("lb/ft^2", "kg/m^2", "4.882428e0"),
    ("lb/ft^3", "kg/m^3", "1.601846e1"),
    ("lb/US_gal", "kg/m^3", "1.198264e2"),
    ("lb/h", "kg/s", "1.259979e-4"),
    ("lb/(hp h)", "kg/J", "1.689659e-7"),
    ("lb/in", "kg/m", "1.785797e1"),
    ("lb/in^3", "kg/m^3", "2.767990e4"),
    ("lb/min", "kg/s", "7.559873e-3"),
    ("lb/s", "kg/s", "4.535924e-1"),
    ("lbf", "N", "4.448222e0"),
    ("lbf ft", "N m", "1.355818e0"),
    ("lbf ft/in", "N m/m", "5.337866e1"),
    ("lbf in", "N m", "1.129848e-1"),
    ("lbf/ft", "N/m", "1.459390e1"),
    ("lbf/ft^2", "Pa", "4.788026e1"),
    ("lbf/in", "N/m", "1.751268e2"),
    ("lbf/in^2", "Pa", "6.894757e3"),
    ("lbf/lb", "N/kg", "9.80665e0"),
    ("mi", "m", "1.609344e3"),
    ("mi/h", "m/s", "4.4704e-1"),
    ("mi/h", "km/h", "1.609344e0"),
    ("mi/min", "m/s", "2.68224e1"),
    ("mi/s", "m/s", "1.609344e3"),
    ("mi^2", "m^2", "2.589988e6"),
    ("mi/US_gal", "m/m^3", "4.251437e5"),
    ("mi/US_gal", "km/L", "4.251437e-1"),
    ("min", "s", "6.0e1"),
    ("oz", "kg", "2.834952e-2"),
    ("oz/US_gal", "kg/m^3", "7.489152e0"),
    ("oz/in^3", "kg/m^3", "1.729994e3"),
    ("oz/ft^2", "kg/m^2", "3.051517e-1"),
    ("psi", "Pa", "6.894757e3"),
    ("rev", "rad", "6.283185e0"),
    ("rpm", "rad/s", "1.047198e-1"),
    ("W h", "J", "3.6e3"),
    ("Wh", "J", "3.6e3"),
    ("W/cm^2", "W/m^2", "1.0e4"),
    ("W/in^2", "W/m^2", "1.550003e3"),
    ("W s", "J", "1.0e0"),
];

#[test]
fn factors_are_those_that_nist_sp_811_prints() {
    assert!(SP_811.len() >= 40);
    for (from, to, printed) in SP_811 {
        let (unit, si) = (read_unit(from).expect(from), read_unit(to).expect(to));
        assert!(unit.dimension.same(si.dimension), "{from} and {to}");
        let digits = printed.split('e').next().expect("a mantissa").len() - 2;
        let factor = format!("{:.*e}", digits, unit.factor / si.factor);
        assert_eq!(factor, **printed, "{from} in {to}");
    }
}

/// SP 811, B.8: T/K = t/°C + 273.15, and t/°C = (t/°F − 32)/1.8.
#[test]
fn temperatures_alone_are_points_and_in_compounds_differences() {
    let (c, f) = (read_unit("°C").expect("°C"), read_unit("degF").expect("degF"));
    assert_eq!((c.to_si(20.0), c.symbol), (293.15, "°C"));
    assert!((f.to_si(32.0) - 273.15).abs() < 1e-12 && (f.to_si(212.0) - 373.15).abs() < 1e-12);
    assert_eq!(f.symbol, "°F");
    let per_degree = read_unit("mV/°C").expect("a compound");
    assert_eq!((per_degree.offset, per_degree.factor), (0.0, 1e-3));
    assert!((read_unit("W/degF").expect("a compound").factor - 1.8).abs() < 1e-15);
}

#[track_caller]
fn check(text: &str, symbol: &str, in_si: &str) {
    let (unit, si) = (read_unit(text).expect(text), read_unit(in_si).expect(in_si));
    assert_eq!(unit.symbol, symbol, "{text}");
    assert_eq!((unit.factor, unit.dimension), (si.factor, si.dimension), "{text}");
    let again = read_unit(unit.symbol).expect(symbol);
    assert_eq!(again.symbol, unit.symbol, "{text} is read back");
    assert!((again.factor / unit.factor - 1.0).abs() < 1e-15 && again.dimension == unit.dimension);
}

#[test]
fn units_are_typed_in_many_ways_and_printed_in_one() {
    check("N m", "N·m", "N·m");
    check("Nm", "N·m", "N m");
    check("N\u{a0}·\u{a0}m", "N·m", "N m");
    check("kg/m^3", "kg/m³", "kg/m3");
    check("N/(m/s)^2", "N/(m/s)²", "N s^2/m^2");
    check("kWh/(100 km)", "kWh/(100 km)", "kWh/(100 km)");
    check("m/s2", "m/s²", "m/s^2");
    check("s^-1", "s⁻¹", "1/s");
    check("m·s⁻²", "m·s⁻²", "m/s^2");
    check("ohm mm2/m", "Ω·mm²/m", "Ω mm^2/m");
    check("mohm", "mΩ", "mΩ");
    check("kohm", "kΩ", "kΩ");
    check("Mohm", "MΩ", "MΩ");
    check("m\u{2126}", "mΩ", "mΩ");
    check("uF", "µF", "\u{3bc}F");
    check("kph", "km/h", "km/h");
    check("mph", "mi/h", "mi/h");
    check("rpm/Nm", "rpm/(N·m)", "rpm/(N m)");
    check("(kph)/s", "(km/h)/s", "km/(h s)");
    check("weeks", "week", "week");
    check("l", "L", "L");
    check("mAh", "mAh", "mAh");
    check("°", "deg", "deg");
    check("dam", "dam", "dam");
    check("1", "1", "1");
    check("1/min", "1/min", "1/min");
    check("EUR/kWh", "EUR/kWh", "EUR/kWh");
    check("m^0.5", "m^0.5", "m^0.5");
    check("V^2/(W m)", "V²/(W·m)", "V^2/(W m)");
    assert_eq!(read_unit("mm").expect("mm").factor, 1e-3);
    assert_eq!(read_unit("kg").expect("kg").factor, 1.0);
    assert_eq!(read_unit("kWh/(100 km)").expect("a consumption").factor, 36.0);
}

#[track_caller]
fn refused(text: &str, at: std::ops::Range<usize>, help: &str) {
    let fault = read_unit(text).expect_err(text);
    assert_eq!((fault.code, fault.at), (&codes::UNKNOWN_UNIT, at), "{text}: {}", fault.message);
    assert!(fault.help.to_string().contains(help), "{text}: {}", fault.help);
}

#[test]
fn a_wrong_unit_gets_a_suggestion() {
    refused("KW", 0..2, "type `kW`: capital and small letters");
    refused("Kg", 0..2, "`kg`");
    refused("kwh", 0..3, "`kWh`");
    refused("NM", 0..2, "`Nm`");
    refused("lbs", 0..3, "`lb`");
    refused("kmh", 0..3, "`km/h`");
    refused("eur", 0..3, "`EUR`");
    refused("€", 0..3, "`EUR`");
    refused("gal", 0..3, "`US_gal`");
    refused("PS", 0..2, "735.49875 W");
    refused("kgf", 0..3, "9.80665 N");
    refused("%/K", 0..3, "`0.01 1/K`");
    refused("ft-lb", 0..5, "`lbf ft`");
    refused("VDC", 0..3, "`V`");
    refused("mbar", 0..4, "takes no prefix");
    refused("kin", 0..3, "");
    refused("Wh/kmm", 3..6, "`mm`");
    refused("kg measured", 3..11, "`(measured)`");
    refused("\"", 0..1, "`in`");
}

#[test]
fn units_that_can_be_read_in_two_ways_are_refused() {
    refused("N/m s", 0..5, "type `N/(m s)`, or `N s/m`");
    refused("J/kg·K", 0..7, "type `J/(kg K)`, or `J K/kg`");
    refused("m/s/s", 0..5, "group what is below the line: `m/(s s)`");
    refused("/s", 0..2, "`1/s`");
    refused("N*m", 1..3, "`N·m`");
    refused("100 km", 0..3, "kWh/(100 km)");
    refused("N/(m s", 2..6, "add the `)`");
    refused("m^", 1..2, "`m^2`");
    refused("m^99", 0..4, "small whole power");
    refused("m^0.3", 0..5, "small whole power");
    refused("N m)", 3..4, "");
    refused("kg!", 2..3, "");
}

#[test]
fn no_text_makes_the_reader_panic() {
    let deep = "(".repeat(10_000);
    let long = "m ".repeat(10_000);
    for text in [
        "",
        " ",
        "()",
        "^",
        "²",
        "(((((((((((((((m)))))))))))))))",
        "1/",
        "1 1",
        "Q^12 Q^12 Qm",
        "\u{1F600}",
        &deep,
        &long,
    ] {
        assert!(read_unit(text).is_err(), "{text}");
    }
}

#[test]
fn prefixes_stand_on_si_units_alone() {
    for word in ["kft", "mmi", "khp", "kpsi", "mmin", "kbar", "krpm", "mdeg", "m°C", "kEUR", "k%", "kkg"] {
        assert!(read_unit(word).is_err(), "{word}");
    }
    for word in ["MWh", "µAh", "mL", "GHz", "kPa", "nF", "mrad", "hPa", "cm", "dL"] {
        assert!(read_unit(word).is_ok(), "{word}");
    }
}

#[test]
fn dimensions_print_as_units_that_are_read_back() {
    for sort in ALL {
        let unit = read_unit(&sort.dimension.to_string()).expect(sort.name);
        assert_eq!(unit, Unit { names_energy: false, ..Unit::coherent(sort.dimension) });
    }
}
