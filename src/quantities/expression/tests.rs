//! Precedence, units after numbers, checked dimensions, and how expressions are shown.

use super::super::curve::Curve;
use super::super::literal::read_literal;
use super::super::quantity::Quantity;
use super::super::unit::{Unit, read_unit};
use super::{Comparator, Comparison, Name, Numbers, Scope, read_comparison, read_expression};

/// Values by name, and one torque curve.
struct Values(Curve);

const VALUES: &[(&str, &str)] = &[
    ("mass", "1 200 kg"),
    ("t", "5 s"),
    ("v", "20 m/s"),
    ("radius", "0.3 m"),
    ("torque", "300 N m"),
    ("drive.motor_speed", "12 000 rpm"),
    ("kerb.installed.12v_battery.mass", "14 kg"),
    ("change_time", "25 min"),
    ("ambient", "20 °C"),
    ("hot", "60 °C"),
    ("rise", "5 K"),
    ("price", "250 EUR"),
    ("fee", "20 USD"),
    ("ratio", "3.73"),
    ("tilt", "30 deg"),
];

impl Scope for Values {
    fn quantity(&self, name: &Name) -> Option<Quantity> {
        let text = name.text();
        let (_, value) = VALUES.iter().find(|(known, _)| *known == text)?;
        Some(read_literal(value).expect(value).quantity)
    }

    fn curve(&self, name: &Name) -> Option<&Curve> {
        (name.text() == "edu.torque_curve").then_some(&self.0)
    }
}

impl Numbers for Values {
    fn number(&self, name: &Name) -> f64 {
        self.quantity(name).map_or(f64::NAN, |value| value.si)
    }

    fn read_curve(&self, name: &Name, x: f64) -> f64 {
        self.curve(name).and_then(|curve| curve.within(x)).unwrap_or(f64::NAN)
    }
}

fn values() -> Values {
    let rpm = read_unit("rpm").expect("a unit");
    let points = vec![(0.0, 310.0), (rpm.to_si(4000.0), 310.0), (rpm.to_si(8000.0), 150.0)];
    Values(Curve::new(points, rpm, read_unit("N m").expect("a unit")).expect("a curve"))
}

fn evaluate(text: &str) -> Result<Quantity, super::Fault> {
    read_expression(text).and_then(|expression| expression.evaluate(&values()))
}

#[track_caller]
fn check(text: &str, value: f64, unit: &str) {
    let unit = if unit == "1" { Unit::one() } else { read_unit(unit).expect(unit) };
    let found =
        evaluate(text).unwrap_or_else(|fault| panic!("{text}: {}: {}", fault.code.name, fault.message));
    let expected = unit.to_si(value);
    assert!((found.si - expected).abs() <= 1e-12 * expected.abs().max(1e-9), "{text}: {} in SI", found.si);
    assert!(found.dimension.same(unit.dimension), "{text}: {}", found.dimension);
    assert_eq!(found.point, unit.is_point(), "{text}");
    let number = read_expression(text).expect(text).number(&values());
    assert!(number == found.si, "{text}: {number} by numbers alone, {}", found.si);
}

#[test]
fn numbers_alone_find_the_faults_that_lie_in_the_numbers() {
    for text in [
        "mass / (t - t)",
        "1 / (1 / (ratio - ratio))",
        "min(1 / (ratio - ratio), ratio)",
        "max(ratio, sqrt(1 - ratio), ratio)",
        "asin(ratio)",
        "ln(-ratio)",
        "exp(1000 * ratio)",
        "edu.torque_curve(9 000 rpm)",
    ] {
        assert!(evaluate(text).is_err(), "{text}");
        assert!(read_expression(text).expect(text).number(&values()).is_nan(), "{text}");
    }
}

/// Whether a comparison can be made; else the code that refuses it.
#[track_caller]
fn compares(text: &str) -> Result<(), &'static str> {
    let Comparison::One(left, _, right) = read_comparison(text).expect(text) else {
        panic!("{text}: three sides")
    };
    let side = |side: &super::Expression| side.evaluate(&values()).expect(text);
    let literal = right
        .literal_unit()
        .or_else(|| (right.as_name().is_none() && right.names().is_empty()).then(Unit::one));
    side(&left).against(&side(&right), literal.as_ref()).map_err(|fault| fault.code.name)
}

#[track_caller]
fn refused(text: &str, code: &str, marked: &str) -> String {
    let fault = evaluate(text).expect_err(text);
    assert_eq!((fault.code.name, &text[fault.at.clone()]), (code, marked), "{text}: {}", fault.message);
    fault.help.to_string()
}

#[test]
fn precedence_is_the_usual_one() {
    check("2 + 3 * 4", 14.0, "1");
    check("(2 + 3) * 4", 20.0, "1");
    check("2 - 3 - 4", -5.0, "1");
    check("24 / 2 / 3", 4.0, "1");
    check("24 / 2 * 3", 36.0, "1");
    check("-2^2", -4.0, "1");
    check("(-2)^2", 4.0, "1");
    check("2^3^2", 512.0, "1");
    check("2^-1", 0.5, "1");
    check("2 * -3", -6.0, "1");
    check("--3", 3.0, "1");
    check("2 · 3 × 4 − 1", 23.0, "1");
    check("ratio² + 1", 3.73 * 3.73 + 1.0, "1");
    check("2 * pi * radius", 0.6 * std::f64::consts::PI, "m");
}

#[test]
fn a_unit_follows_its_number() {
    check("9.81 m/s^2 * mass", 9.81 * 1200.0, "N");
    check("9.81 m/s² * mass", 9.81 * 1200.0, "N");
    check("10 m / t", 2.0, "m/s");
    check("3 [N m] * 2", 6.0, "N m");
    check("3 N·m * 2", 6.0, "N m");
    check("5 N·radius", 1.5, "N m");
    check("4 500 rpm / 2", 2250.0, "rpm");
    check("0.5 * 1.2 kg/m^3 * 2 m^2 * v^2", 480.0, "N");
    check("12 kWh/(100 km) * 50 km", 6.0, "kWh");
    check("10 m/(t + 5 s)", 1.0, "m/s");
    check("5 % * mass", 60.0, "kg");
    check("1/t", 0.2, "1/s");
    check("5 [1/min] * 60 s", 5.0, "1");
    check("30 min", 30.0, "min");
    check("2 m^2", 2.0, "m^2");
    check("2 m^ratio^0", 2.0, "m");
    assert!(refused("10 m/t", "unknown-unit", "t").contains("put spaces around the sign: `10 m / …`"));
    assert!(refused("3 mass", "unknown-unit", "mass").contains("to multiply, type `3 * mass`"));
    assert!(refused("2 drive.motor_speed", "bad-expression", "drive").contains("`2 * drive…`"));
    refused("3 [N m", "bad-expression", "[N m");
    refused("3 [N q]", "unknown-unit", "q");
}

#[test]
fn functions_and_curves_are_called() {
    check("sqrt(2 * 8)", 4.0, "1");
    check("sqrt(v^2)", 20.0, "m/s");
    check("max(1 kg, mass, 3 kg)", 1200.0, "kg");
    check("min(0, rise)", 0.0, "K");
    check("max(1,2)", 2.0, "1");
    check("sum(1 m, 2 m, radius)", 3.3, "m");
    check("product(2, 3 kg)", 6.0, "kg");
    check("sin(30 deg) + cos(tilt)^2", 0.5 + 0.75, "1");
    check("atan(1)", 45.0, "deg");
    check("round(2.5) + abs(-3) + ln(exp(2)) + log10(1000)", 11.0, "1");
    check("edu.torque_curve(3000 rpm)", 310.0, "N m");
    check("edu.torque_curve(drive.motor_speed / 2) * 2", 460.0, "N m");
    check("kerb.installed.12v_battery.mass * 2", 28.0, "kg");
    check("torque * drive.motor_speed", 300.0 * 400.0 * std::f64::consts::PI, "W");
    refused("edu.torque_curve(9000 rpm)", "outside-curve", "9000 rpm");
    refused("edu.torque_curve(9 m)", "unit-mismatch", "9 m");
    refused("edu.other_curve(9 m)", "unknown-reference", "edu.other_curve");
    assert_eq!(refused("sqr(9)", "unknown-reference", "sqr"), "type `sqrt`, if that is meant");
    refused("sqrt(1, 5)", "bad-expression", "sqrt(1, 5)");
    refused("sqrt()", "bad-expression", "sqrt()");
    refused("sin(3 kg)", "unit-mismatch", "sin(3 kg)");
    refused("max(1,420 kg, mass)", "number-comma", "1,420");
}

#[test]
fn every_operation_checks_dimensions() {
    refused("mass + radius", "unit-mismatch", "mass + radius");
    refused("mass + 2", "unit-mismatch", "mass + 2");
    refused("2 * (mass - t)", "unit-mismatch", "mass - t");
    refused("2^mass", "unit-mismatch", "2^mass");
    refused("mass^0.3", "unit-mismatch", "mass^0.3");
    refused("price + fee", "currency-mix", "price + fee");
    refused("price * fee", "currency-mix", "price * fee");
    refused("nothing.here + 1", "unknown-reference", "nothing.here");
    let fault = evaluate("mass + radius").expect_err("two dimensions");
    assert_eq!(fault.message.to_string(), "a mass and a length on the two sides of `+`");
}

#[test]
fn temperatures_are_points_on_their_scale() {
    check("hot - ambient", 40.0, "K");
    check("ambient + rise", 25.0, "°C");
    check("rise + ambient", 25.0, "°C");
    check("ambient + (hot - ambient) / 2", 40.0, "°C");
    check("-20 °C + 5 K", -15.0, "°C");
    check("max(ambient, hot)", 60.0, "°C");
    refused("ambient + hot", "unit-mismatch", "ambient + hot");
    refused("rise - ambient", "unit-mismatch", "rise - ambient");
    refused("ambient * 2", "unit-mismatch", "ambient * 2");
    refused("-ambient", "unit-mismatch", "-ambient");
}

#[test]
fn what_has_no_finite_value_is_refused() {
    refused("1 / 0", "not-finite", "0");
    refused("mass / (t - t)", "not-finite", "(t - t)");
    refused("sqrt(-1)", "not-finite", "sqrt(-1)");
    refused("ln(0)", "not-finite", "ln(0)");
    refused("(-8)^0.5", "not-finite", "(-8)^0.5");
    refused("1e300 * 1e300", "not-finite", "1e300 * 1e300");
    refused("1e999", "not-finite", "1e999");
}

#[test]
fn what_can_not_be_read_is_refused() {
    for (text, marked) in [
        ("", ""),
        ("   ", "   "),
        ("2 +", ""),
        ("* 2", "*"),
        ("(2 + 3", "("),
        ("2 + 3)", ")"),
        ("2 3", "3"),
        ("2 (3)", "("),
        ("a b", "b"),
        ("1 < 2 < 3", "<"),
        ("mass = 3", "="),
        ("mass != 3", "!"),
        ("2 ** 3", "*"),
        ("drive.", "drive."),
        ("mass, 3", ","),
        ("(1 < 2) + 3", "<"),
        ("not mass", "not"),
        ("3 kg ± 1", "±"),
        ("mass %", "%"),
        ("²", "²"),
        ("\"mass\"", "\""),
    ] {
        refused(text, "bad-expression", marked);
    }
    refused("1,420 kg * 2", "number-comma", "1,420");
}

#[test]
fn no_depth_and_no_length_makes_the_reader_panic() {
    for piece in ["(", "-", "2^", "sqrt(", "max(1, ", "((1)+", "1-(", "+"] {
        let fault = read_expression(&piece.repeat(100_000)).expect_err(piece);
        assert_eq!(fault.code.name, "expression-too-deep", "{piece}");
    }
    let nested = format!("{}1{}", "(".repeat(90), ")".repeat(90));
    check(&nested, 1.0, "1");
    let chain = vec!["1"; 200_000].join("+");
    check(&chain, 200_000.0, "1");
    for huge in ["1+".repeat(5_000_000), "a".repeat(10_000_000), "(".repeat(10_000_000)] {
        assert!(read_expression(&huge).is_err());
    }
    for text in [
        "[", "]", "1[", "1 [", "a.1", "1.a", "1..2", "a..b", "√(4)", "⁻", "2⁻", "2²²", "𝛑", "1e5m", "5_",
        "_", "3 _", "1/", "2^^3", "f(", "f(,)", "f(1,)",
    ] {
        let _ = evaluate(text);
    }
}

#[test]
fn names_are_listed_once_in_order() {
    let text = "b.x * a + edu.torque_curve(kerb.installed.12v_battery.mass) + a + pi";
    let expression = read_expression(text).expect(text);
    let names = expression.names();
    let texts: Vec<String> = names.iter().map(Name::text).collect();
    assert_eq!(texts, ["b.x", "a", "edu.torque_curve", "kerb.installed.12v_battery.mass"]);
    assert_eq!(&text[names[3].at.clone()], "kerb.installed.12v_battery.mass");
    let alone = read_expression(" kerb.converted_mass ").expect("a name");
    assert_eq!(alone.as_name().map(Name::text).as_deref(), Some("kerb.converted_mass"));
}

#[test]
fn a_comparison_comes_apart() {
    let Comparison::One(left, sign, right) =
        read_comparison("drive.motor_speed / 2 >= 110 km/h").expect("one")
    else {
        panic!("three sides")
    };
    assert_eq!((left.names().len(), sign), (1, Comparator::GreaterEqual));
    assert!(matches!(right.evaluate(&values()), Ok(speed) if (speed.si - 110.0 / 3.6).abs() < 1e-12));
    for text in ["1 kg < mass < 2 kg", "2 kg > mass > 1 kg"] {
        let Comparison::Between { low, high, strict, .. } = read_comparison(text).expect("two limits") else {
            panic!("{text}: two sides")
        };
        let si = |side: super::Expression| side.evaluate(&values()).expect("a mass").si;
        assert_eq!((si(low), si(high), strict), (1.0, 2.0, true));
    }
    for text in ["1 + 1", "1 < mass > 3", "1 <= mass < 3", "1 < 2 and 2 < 3", "not 1 < 2", "1 < 2 < 3 < 4"] {
        assert_eq!(read_comparison(text).expect_err(text).code.name, "bad-expression", "{text}");
    }
    assert_eq!(read_expression("mass < 3 kg").expect_err("a comparison").code.name, "bad-expression");
}

#[test]
fn what_is_compared_is_of_one_kind() {
    for text in [
        "mass > 1 000 kg",
        "mass > 0",
        "ambient <= 30 °C",
        "ambient <= 300 K",
        "rise <= 10 K",
        "rise >= 0",
        "hot - ambient <= 50 K",
        "hot >= ambient",
        "drive.motor_speed <= 200 rev/s",
    ] {
        assert_eq!(compares(text), Ok(()), "{text}");
    }
    // A point on the scale and a difference are two things, and so are turns and radians.
    for text in [
        "mass < radius",
        "ambient > 0",
        "rise <= 10 °C",
        "hot - ambient <= 50 °C",
        "rise <= ambient",
        "ambient >= rise",
        "ambient >= 20",
    ] {
        assert_eq!(compares(text), Err("unit-mismatch"), "{text}");
    }
    assert_eq!(compares("drive.motor_speed <= 200 [1/s]"), Err("angle-ambiguous"));
    assert_eq!(compares("drive.motor_speed <= 200 Hz"), Err("angle-ambiguous"));
    assert_eq!(compares("price <= fee"), Err("currency-mix"));
    refused("hot / ambient", "unit-mismatch", "hot / ambient");
}

#[test]
fn the_magnitude_is_that_of_the_largest_operand() {
    let of = |text: &str| {
        let (_, size) = read_expression(text).expect(text).evaluate_scaled(&values()).expect(text);
        size
    };
    assert_eq!(of("mass - 1 199 kg"), 1200.0);
    assert_eq!(of("mass * ratio"), 1200.0 * 3.73);
    assert_eq!(of("ratio * (mass - 1 199 kg)"), 3.73 * 1200.0);
    assert_eq!(of("-(mass - mass)"), 1200.0);
}

#[track_caller]
fn shown(text: &str, with_names: &str, with_values: &str) {
    let expression = read_expression(text).expect(text);
    let names = expression.show(&mut |name| name.text().replace('_', " "));
    let numbers = expression.show(&mut |name| {
        let text = name.text();
        let value = VALUES.iter().find(|(known, _)| *known == text).map_or("?", |(_, value)| value);
        read_literal(value).map_or_else(|_| text.clone(), |value| value.written())
    });
    assert_eq!(
        (names.replace('\u{a0}', " "), numbers.replace('\u{a0}', " ")),
        (with_names.to_owned(), with_values.to_owned())
    );
}

#[test]
fn workings_read_like_formulas() {
    shown("torque * ratio", "torque × ratio", "300 N·m × 3.73");
    shown("v / radius", "v / radius", "20 m/s / 0.3 m");
    shown("radius / v", "radius / v", "0.3 m / (20 m/s)");
    shown("v^2", "v²", "(20 m/s)²");
    shown("ratio^2 * 3", "ratio² × 3", "3.73² × 3");
    shown("change_time^2", "(change time)²", "(25 min)²");
    shown("2 * (mass + 3 kg)", "2 × (mass + 3 kg)", "2 × (1 200 kg + 3 kg)");
    shown("(mass) + (3 kg * 2)", "mass + 3 kg × 2", "1 200 kg + 3 kg × 2");
    shown("mass - (3 kg - 2 kg)", "mass − (3 kg − 2 kg)", "1 200 kg − (3 kg − 2 kg)");
    shown("mass / (t * radius)", "mass / (t × radius)", "1 200 kg / (5 s × 0.3 m)");
    shown("sqrt(v^2 / 2)", "√(v² / 2)", "√((20 m/s)² / 2)");
    shown("-ratio^2", "−ratio²", "−3.73²");
    shown("(-ratio)^2", "(−ratio)²", "(−3.73)²");
    shown("2 * -ratio", "2 × (−ratio)", "2 × (−3.73)");
    shown("ratio^(1/3)", "ratio^(1 / 3)", "3.73^(1 / 3)");
    shown("ratio^-1", "ratio⁻¹", "3.73⁻¹");
    shown("2 * pi * 12000 rpm", "2 × π × 12 000 rpm", "2 × π × 12 000 rpm");
    shown("max(ratio, 2)", "max(ratio, 2)", "max(3.73, 2)");
}

#[test]
fn what_a_signed_value_asks_for_is_put_in_parentheses() {
    let expression = read_expression("a - b * a ^ 2 / a").expect("a formula");
    let text = expression.show(&mut |_| "−5\u{a0}K".to_owned()).replace('\u{a0}', " ");
    assert_eq!(text, "−5 K − (−5 K × (−5 K)² / (−5 K))");
}

#[test]
fn four_thousand_expressions_are_worked_at_once() {
    let expression = read_expression("0.5 * 1.2 * radius^2 * v^2 + mass * sqrt(9.81)").expect("a formula");
    let start = std::time::Instant::now();
    struct Fixed;
    impl Scope for Fixed {
        fn quantity(&self, _: &Name) -> Option<Quantity> {
            Some(Quantity::plain(2.0))
        }
        fn curve(&self, _: &Name) -> Option<&Curve> {
            None
        }
    }
    for _ in 0..4000 {
        assert!(expression.evaluate(&Fixed).is_ok());
    }
    // Far above what it takes, even unoptimised, on a busy machine.
    assert!(start.elapsed().as_millis() < 2000, "{:?}", start.elapsed());
}

#[test]
fn the_deepest_expressions_are_worked_and_shown_on_a_small_stack() {
    for (open, close) in [("1+2*sqrt(", ")"), ("1-2*(", ")"), ("1<1+1*(", ")"), ("max(1,2*(3+", "))")] {
        let times = if close.len() == 2 { 48 } else { 96 };
        let text = format!("{}1{}", open.repeat(times), close.repeat(times));
        let worked = std::thread::Builder::new().stack_size(3 << 19).spawn(move || {
            read_expression(&text).is_ok_and(|expression| {
                let _ = expression.show(&mut |_| String::new());
                expression.evaluate(&values()).is_ok()
            })
        });
        assert_eq!(worked.expect("a thread").join().expect("no panic"), !open.contains('<'), "{open}");
    }
}
