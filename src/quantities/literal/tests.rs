//! The value grammar, good and bad.

use super::read_literal;
use crate::quantities::note::Basis;
use crate::quantities::sort::{
    ACCELERATION, ANGLE, ANGULAR_SPEED, CONSUMPTION, ENERGY, FORCE, FREQUENCY, LENGTH, MASS, MONEY, POWER,
    RATIO, SPEED, Sort, TEMPERATURE, TEMPERATURE_DIFFERENCE, TORQUE,
};

#[track_caller]
fn check(text: &str, si: f64, half_width: f64, written: &str) {
    let literal = read_literal(text).expect(text);
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * b.abs();
    let width = literal.tolerance.as_ref().map_or(0.0, |tolerance| tolerance.half_width_si);
    assert!(near(literal.quantity.si, si), "{text}: {}", literal.quantity.si);
    assert!(near(width, half_width), "{text}: ± {width}");
    assert_eq!(literal.written().replace('\u{a0}', " "), written, "{text}");
    let again = read_literal(&literal.written()).expect(written);
    assert_eq!(
        (&again.quantity, &again.tolerance),
        (&literal.quantity, &literal.tolerance),
        "{text} is read back"
    );
}

#[test]
fn values_are_numbers_with_units_and_tolerances() {
    check("3.73", 3.73, 0.0, "3.73");
    check("3.70", 3.7, 0.0, "3.70");
    check("31 in", 0.7874, 0.0, "31 in");
    check("64 kg ± 1 kg (measured WB-2)", 64.0, 1.0, "64 kg ± 1 kg");
    check("0.36 ± 5 % (estimated; three similar vans)", 0.36, 0.018, "0.36 ± 5 %");
    check("64 ± 1 kg", 64.0, 1.0, "64 kg ± 1 kg");
    check("64 kg +/- 500 g", 64.0, 0.5, "64 kg ± 500 g");
    check("64kg±1kg", 64.0, 1.0, "64 kg ± 1 kg");
    check("64 kg ± 1", 64.0, 1.0, "64 kg ± 1 kg");
    check("1 420 kg", 1420.0, 0.0, "1 420 kg");
    check("12_000 rpm", 400.0 * std::f64::consts::PI, 0.0, "12 000 rpm");
    check("− 5 K".replace("− ", "−").as_str(), -5.0, 0.0, "−5 K");
    check("-5 kg ± 10 %", -5.0, 0.5, "−5 kg ± 10 %");
    check("20 °C", 293.15, 0.0, "20 °C");
    check("-40 degC", 233.15, 0.0, "−40 °C");
    check("20 °C ± 2 °C", 293.15, 2.0, "20 °C ± 2 °C");
    check("20 ± 2 °C", 293.15, 2.0, "20 °C ± 2 °C");
    check("20 °C ± 2 K", 293.15, 2.0, "20 °C ± 2 K");
    check("68 °F ± 9", 293.15, 5.0, "68 °F ± 9 °F");
    check("90 % ± 2", 0.9, 0.02, "90 % ± 2");
    check("90 %", 0.9, 0.0, "90 %");
    check("12 kWh/(100 km) ± 5 %", 432.0, 21.6, "12 kWh/(100 km) ± 5 %");
    check("5 1/min", 5.0 / 60.0, 0.0, "5 1/min");
    check("2.5e3 W", 2500.0, 0.0, "2.5e3 W");
    check("3 (N m)", 3.0, 0.0, "3 N·m");
    check("250 EUR", 250.0, 0.0, "250 EUR");
    check("  7   kg  ", 7.0, 0.0, "7 kg");
}

#[test]
fn a_note_says_how_a_value_is_known() {
    let literal = read_literal("64 kg ± 1 kg (measured WB-2; on the (second) scale, wet)").expect("a value");
    let note = literal.note.expect("a note");
    assert_eq!((note.basis, note.basis.word()), (Basis::Measured, "measured"));
    let text = "64 kg ± 1 kg (measured WB-2; on the (second) scale, wet)";
    let (source, at) = note.source.expect("a source");
    assert_eq!((&*source, &text[at]), ("WB-2", "WB-2"));
    assert_eq!(note.remark.as_deref(), Some("on the (second) scale, wet"));
    assert_eq!(&text[literal.at], "64 kg");
    let plain = read_literal("3.73 (assumed)").expect("a value").note.expect("a note");
    assert_eq!((plain.basis, plain.source, plain.remark), (Basis::Assumed, None, None));
}

#[test]
fn digits_that_count_are_counted() {
    for (text, significant) in [("3.70", 3), ("0.012 kg", 2), ("1 500 kg", 4), ("0", 1), ("2.50e3", 3)] {
        assert_eq!(read_literal(text).expect(text).significant, significant, "{text}");
    }
}

#[test]
fn two_numbers_are_one_and_whole_ones_were_counted() {
    check("35/8", 4.375, 0.0, "35/8");
    check("4.375:1", 4.375, 0.0, "4.375:1");
    check("1 in 5 ± 0.01", 0.2, 0.01, "1 in 5 ± 0.01");
    check("1/2 in (estimated)", 0.0127, 0.0, "1/2 in");
    for (text, counted) in
        [("35/8", true), ("35:8", true), ("4.375:1", false), ("4:1", false), ("1 in 5", false)]
    {
        assert_eq!(read_literal(text).expect(text).counted, counted, "{text}");
    }
    refused("35/0", "bad-value", "35/0", "`35/8`");
}

#[test]
fn zeros_at_the_end_of_a_whole_number_are_no_digits() {
    for (text, digit) in [
        ("3.70", Some(0.01)),
        ("1 200 kg", Some(100.0)),
        ("1 205 kg", Some(1.0)),
        ("1.2e3 kg", Some(100.0)),
        ("20 mm", Some(0.01)),
        ("0.0", Some(0.1)),
        ("0", None),
        ("4.10:1", Some(0.01)),
        ("35/8", None),
    ] {
        let found = read_literal(text).expect(text).digit_si;
        let near = match (found, digit) {
            (Some(found), Some(digit)) => (found / digit - 1.0).abs() < 1e-12,
            (found, digit) => found.is_none() && digit.is_none(),
        };
        assert!(near, "{text}: {found:?}");
    }
}

#[track_caller]
fn refused(text: &str, code: &str, marked: &str, help: &str) {
    let fault = read_literal(text).expect_err(text);
    assert_eq!((fault.code.name, &text[fault.at.clone()]), (code, marked), "{text}: {}", fault.message);
    assert!(fault.help.to_string().contains(help), "{text}: {}", fault.help);
}

#[test]
fn values_that_are_wrong_are_refused_with_what_to_type() {
    refused("1,420 kg", "number-comma", "1,420", "`1.420` or `1420`");
    refused("64 kg ± 1,5 kg", "number-comma", "1,5", "`1.5` or `15`");
    refused("64 KG", "unknown-unit", "KG", "`kg`");
    refused("64 kg ± 1 KG", "unknown-unit", "KG", "`kg`");
    refused("64 kg ± -1 kg", "bad-tolerance", "-1 kg", "without a sign");
    refused("64 kg ± 1 m", "unit-mismatch", "1 m", "± 1 kg");
    refused("64 kg ±", "bad-tolerance", "±", "64 kg ± 1 kg");
    refused("64 ± 1 ± 2 kg", "bad-tolerance", "±", "one tolerance");
    refused("90 % ± 2 %", "bad-tolerance", "2 %", "`90 % ± 2` for points, or `90 % ± 1.8`");
    refused("20 °C ± 5 %", "bad-tolerance", "5 %", "20 °C ± 2 K");
    refused("64 kg (measured WB-2; a", "yaml-cut-value", "(measured WB-2; a", "quotes");
    refused("64 kg (mesured)", "bad-value", "mesured", "`measured`");
    refused("64 kg (on the scale)", "bad-value", "on", "`measured`");
    refused("64 kg (measured WB 2)", "bad-value", "2", "(measured WB; …)");
    refused("1 42 kg", "bad-value", "42 kg", "exact threes");
    refused("1234 567 kg", "bad-value", "567 kg", "exact threes");
    refused(".5 kg", "bad-value", ".5 kg", "`0.5`");
    refused("5. kg", "bad-value", "5.", "point");
    refused("", "bad-value", "", "`64 kg`");
    refused("heavy", "bad-value", "heavy", "`64 kg`");
    refused("1e400 kg", "not-finite", "1e400", "power of ten");
    refused("1e308 km", "not-finite", "1e308 km", "power of ten");
    refused("5 N/m s", "unknown-unit", "N/m s", "`N/(m s)`");
    refused("205/65R15", "unknown-unit", "/65R15", "");
}

#[test]
fn no_text_makes_the_reader_panic() {
    for text in [
        "±",
        "+/-",
        "()",
        "5 ()",
        "5 (measured",
        "5)",
        "5 kg)",
        "(measured)",
        "− 5",
        "+-5",
        "5 ± kg",
        "\u{a0}",
        "5\u{301}",
        "5 kg ± 5 kg (",
        "1_",
        "1e",
        "½ in",
        "5 ± 3 (measured) kg",
        "٣ kg",
    ] {
        let _ = read_literal(text);
        for cut in 0..text.len() {
            if text.is_char_boundary(cut) {
                let _ = read_literal(&text[cut..]);
            }
        }
    }
    assert!(read_literal(&"(".repeat(100_000)).is_err());
    assert!(read_literal(&"1".repeat(100_000)).is_err());
}

#[track_caller]
fn expected(text: &str, sort: &Sort) -> Result<f64, (&'static str, String, String)> {
    let literal = read_literal(text).expect(text);
    literal.expect(sort).map_err(|fault| {
        assert_eq!(fault.at, literal.at, "the fault covers number and unit");
        (fault.code.name, fault.message.to_string().replace('\u{a0}', " "), fault.help.to_string())
    })
}

#[test]
fn a_wrong_dimension_says_what_was_found_and_expected() {
    let (code, message, help) = expected("64 kg", &LENGTH).expect_err("a mass");
    assert_eq!(code, "unit-mismatch");
    assert_eq!(message, "`64 kg`, a mass, where a length is expected");
    assert_eq!(help, "type a length, for example `31 in`");
    let (_, message, help) = expected("64", &MASS).expect_err("no unit");
    assert_eq!(
        (&*message, &*help),
        ("`64` without a unit where a mass is expected", "add its unit, for example `64 kg`")
    );
}

#[test]
fn an_angular_speed_names_its_angle() {
    for text in ["200 1/s", "12 000 1/min", "200 Hz", "200 s^-1"] {
        assert_eq!(expected(text, &ANGULAR_SPEED).expect_err(text).0, "angle-ambiguous", "{text}");
    }
    for text in ["12 000 rpm", "200 rev/s", "1 257 rad/s", "90 deg/s", "2 rev/min"] {
        assert!(expected(text, &ANGULAR_SPEED).is_ok(), "{text}");
    }
    assert_eq!(expected("50 rpm", &FREQUENCY).expect_err("turns").0, "unit-mismatch");
    assert_eq!(expected("0.5", &ANGLE).expect_err("no unit").0, "unit-mismatch");
    assert_eq!(expected("30 deg", &RATIO).expect_err("an angle").0, "unit-mismatch");
}

#[test]
fn units_of_energy_tell_what_is_meant() {
    assert_eq!(expected("310 N m", &TORQUE), Ok(310.0));
    assert!(expected("310 J", &TORQUE).expect_err("an energy").1.contains("an energy"));
    assert_eq!(expected("1 Wh/km", &CONSUMPTION), Ok(3.6));
    assert_eq!(expected("3 N", &CONSUMPTION).expect_err("a force").0, "unit-mismatch");
    assert_eq!(expected("3 Wh/km", &FORCE).expect_err("a consumption").0, "unit-mismatch");
    assert_eq!(expected("2 N m", &ENERGY), Ok(2.0));
}

#[test]
fn likely_mistakes_are_known() {
    let help = |text: &str, sort: &Sort| expected(text, sort).expect_err(text).2;
    assert_eq!(help("20 g", &ACCELERATION), "standard gravity is `g_n`: type `20 g_n`");
    assert_eq!(help("200 lb ft", &TORQUE), "pounds of force are `lbf`: type `200 lbf ft`");
    assert!(help("24 kWh", &POWER).contains("`kW`"));
    assert!(help("5 lb", &FORCE).contains("`5 lbf`"));
    assert!((expected("20 g_n", &ACCELERATION).expect("an acceleration") - 196.133).abs() < 1e-12);
    assert!(expected("60 mph", &SPEED).is_ok());
}

#[test]
fn a_temperature_is_no_difference() {
    assert_eq!(expected("20 °C", &TEMPERATURE), Ok(293.15));
    assert_eq!(expected("293 K", &TEMPERATURE), Ok(293.0));
    assert_eq!(expected("5 K", &TEMPERATURE_DIFFERENCE), Ok(5.0));
    assert!(expected("5 °C", &TEMPERATURE_DIFFERENCE).expect_err("a point").2.contains("`5 K`"));
}

#[test]
fn money_is_money_in_any_currency() {
    assert_eq!(expected("250 EUR", &MONEY), Ok(250.0));
    assert_eq!(expected("250 kg", &MONEY).expect_err("a mass").0, "unit-mismatch");
    assert_eq!(expected("250", &MONEY).expect_err("no currency").0, "unit-mismatch");
}

#[test]
fn twenty_thousand_values_are_read_at_once() {
    let texts = ["64 kg ± 1 kg (measured WB-2)", "12 000 rpm", "0.36 ± 5 %", "3.70", "310 N m"];
    let start = std::time::Instant::now();
    let total: f64 = (0..20_000).map(|i| read_literal(texts[i % 5]).map_or(0.0, |it| it.quantity.si)).sum();
    assert!(total > 0.0);
    // Far above what it takes, even unoptimised, on a busy machine.
    assert!(start.elapsed().as_secs() < 5, "{:?}", start.elapsed());
}
