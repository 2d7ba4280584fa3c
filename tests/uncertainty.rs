//! Uncertainty, Monte Carlo and verdicts against the published examples of JCGM 100, 101 and 106, and against another
//! program's propagation through the kinds.
//!
//! The journals in `data/uncertainty` hold, in comments, what must come out: `value: NAME = NUMBER UNIT, relative N`,
//! `uncertainty: NAME = NUMBER UNIT, absolute N UNIT` (one standard uncertainty), each after a `source: …`.

use std::fs;
use std::path::Path;

use serde_json::Value;

#[path = "support/program.rs"]
mod program;
#[path = "support/units.rs"]
mod units;

use program::{Folder, Run, program};
use units::factor;

#[test]
fn the_end_gauge_of_jcgm_100_h1_has_its_published_uncertainty() {
    check("gauge-block.md", 3);
}

/// JCGM 100:2008, H.1.7: with the terms of second order u is 34 nm, which first order does not see and draws do.
#[test]
fn draws_find_the_second_order_terms_of_the_end_gauge() {
    let found = drawn("gauge-block.md", "200000");
    let spread = &found["results"]["gauge.length"]["monte_carlo"];
    // By the PyPI package GTC 1.5.1: 33.91115 nm.
    near(number(spread, "uncertainty_si"), 33.91115e-9, 0.01 * 33.9e-9);
    assert_eq!(not_enough(&found), ["gauge"]);
}

#[test]
fn readings_taken_together_give_the_published_uncertainties_of_jcgm_100_h2() {
    check("resistance.md", 20);
}

/// u²(R + X) = u²(R) + u²(X) + 2 r(R, X) u(R) u(X) (JCGM 100:2008, equation 16); table H.4 prints r = −0.588.
#[test]
fn a_preload_spreads_with_its_wrench_and_its_friction() {
    check("bolt-scatter.md", 2);
}

#[test]
fn results_keep_the_correlation_of_what_was_read_together() {
    let found = register("resistance.md", &[]);
    let u = |name: &str| number(&found["results"][format!("impedance.{name}")], "uncertainty_si");
    let (one, other, sum) = (u("resistance"), u("reactance"), u("sum"));
    near((sum * sum - one * one - other * other) / (2.0 * one * other), -0.588, 0.0005);
}

#[test]
fn draws_of_readings_taken_together_keep_their_correlation() {
    let found = drawn("resistance.md", "50000");
    for (name, standard) in
        [("resistance", 0.0710714074), ("reactance", 0.295581677), ("modulus", 0.23633613)]
    {
        let spread = &found["results"][format!("impedance.{name}")]["monte_carlo"];
        // Five readings have a t distribution of 4 degrees of freedom, whose quantile at 97.5 % is 2.776.
        let half = 0.5 * (number(spread, "high_si") - number(spread, "low_si"));
        near(half, 2.776 * standard, 0.03 * 2.776 * standard);
    }
}

#[test]
fn the_straight_line_of_jcgm_100_h3_has_its_published_uncertainties() {
    check("thermometer.md", 14);
}

#[test]
fn first_order_of_a_sum_of_four_is_that_of_jcgm_101() {
    check("additive.md", 3);
}

/// JCGM 101:2008, 9.2.2: [−3.92, 3.92]; 9.2.3: [−3.88, 3.88]; 9.2.4: [−17.0, 17.0].
#[test]
fn draws_of_a_sum_of_four_give_the_published_intervals() {
    let found = drawn("additive.md", "500000");
    // Exact: the normal quantile, the Irwin-Hall quantile, and quadrature.
    for (name, standard, half, within) in [
        ("normal", 2.0, 3.919_927_97, 0.02),
        ("rectangular", 2.0, 3.879_406_74, 0.02),
        ("dominated", 10.148_891_6, 17.015_814, 0.1),
    ] {
        let spread = &found["results"][format!("{name}.y")]["monte_carlo"];
        near(number(spread, "uncertainty_si"), standard, 0.005 * standard);
        near(number(spread, "low_si"), -half, within);
        near(number(spread, "high_si"), half, within);
        near(number(spread, "mean_si"), 0.0, 0.01 * standard);
    }
    assert_eq!(not_enough(&found), Vec::<&str>::new());
}

#[test]
fn first_order_of_the_comparison_loss_is_that_of_jcgm_101() {
    check("comparison-loss.md", 4);
}

/// JCGM 101:2008, 9.4: of x₁² + x₂² with u = 0.005 the mean is x₁² + 2u², the variance 4u²x₁² + 4u⁴.
#[test]
fn draws_of_the_comparison_loss_have_its_exact_moments() {
    let found = drawn("comparison-loss.md", "500000");
    let spread = |name: &str| found["results"][name]["monte_carlo"].clone();
    let loss = spread("loss.y");
    near(number(&loss, "mean_si"), 2550e-6, 4e-6);
    near(number(&loss, "uncertainty_si"), 502.493_781e-6, 1.5e-6);
    let none = spread("none.y");
    near(number(&none, "mean_si"), 50e-6, 0.4e-6);
    near(number(&none, "uncertainty_si"), 50e-6, 0.6e-6);
    // Exponential with mean 2u²: −50e-6 ln(0.975) and −50e-6 ln(0.025).
    near(number(&none, "low_si"), 1.265_890_4e-6, 0.05e-6);
    near(number(&none, "high_si"), 184.443_97e-6, 1.5e-6);
    assert_eq!(not_enough(&found), ["loss", "none"]);
}

#[test]
fn a_first_order_that_is_enough_is_not_told_off_for_few_draws() {
    for draws in ["1000", "3000", "10000"] {
        assert_eq!(not_enough(&drawn("additive.md", draws)), Vec::<&str>::new(), "{draws}");
    }
}

#[test]
fn auto_draws_until_two_digits_are_stable() {
    let found = drawn("additive.md", "auto");
    let spread = &found["results"]["rectangular.y"]["monte_carlo"];
    near(number(spread, "uncertainty_si"), 2.0, 0.05);
    near(number(spread, "high_si"), 3.88, 0.05);
}

/// A check that only holds or fails has no figures; it must not keep `auto` from ending, nor may a value that no draw
/// moves.
#[test]
fn auto_ends_where_a_value_has_no_spread() {
    let folder = Folder::new();
    folder.write(
        "journal.md",
        "```yaml worksheet w\ngiven:\n  a: 2 kg ± 1 g (measured)\n  b: 3 kg ± 0 kg (measured)\nsteps:\n  - {name: least, is: \"min(a, b)\", unit: kg}\n\
         \x20 - {name: most, is: \"max(a, b)\", unit: kg}\nchecks:\n  both: a < b\n```\n",
    );
    let run = folder.run(&["check", "--json", "--monte-carlo", "auto"]);
    let found: Value = serde_json::from_str(&run.out).expect("a register");
    let spread = &found["results"]["w.most"]["monte_carlo"];
    assert_eq!((number(spread, "uncertainty_si"), number(spread, "low_si")), (0.0, 3.0));
    let draws = number(spread, "draws");
    assert!((20_000.0..1_000_000.0).contains(&draws), "{draws}");
}

/// Of a standard uncertainty of 0.98 N the second digit asks for more draws than of one of 1.1 N. What is drawn further
/// has the same draws as if all were, and what is not has those that it had.
#[test]
fn auto_goes_on_with_what_is_not_stable_alone() {
    let folder = Folder::new();
    folder.write(
        "journal.md",
        "```yaml worksheet w\ngiven: {a: 10 N ± 1.9 N, b: 10 N ± 1.7 N}\nsteps:\n  - {name: firm, is: a * 1, unit: N}\n\
         \x20 - {name: loose, is: b * 1, unit: N}\nchecks: {one: firm <= 20 N, other: loose <= 20 N}\n```\n",
    );
    let spreads = |draws: &str| {
        let run = folder.run(&["check", "--json", "--monte-carlo", draws]);
        let found: Value = serde_json::from_str(&run.out).expect("a register");
        ["w.firm", "w.loose"].map(|name| found["results"][name]["monte_carlo"].clone())
    };
    let [firm, loose] = spreads("auto");
    assert!(number(&firm, "draws") < number(&loose, "draws"), "{firm} {loose}");
    for (at, auto) in [firm, loose].into_iter().enumerate() {
        let whole = &spreads(&number(&auto, "draws").to_string())[at];
        // Sums of other groups of draws are rounded otherwise.
        for key in ["draws", "mean_si", "uncertainty_si", "low_si", "high_si"] {
            near(number(&auto, key), number(whole, key), 1e-12 * number(whole, key));
        }
    }
}

#[test]
fn more_draws_begin_with_the_same_ones() {
    let of = |count: &str| {
        let found = drawn("propagation.md", count);
        number(&found["results"]["drive.motor_speed"]["monte_carlo"], "mean_si")
    };
    // Not the same number, but as near as the draws are many.
    assert_ne!(of("10000"), of("20000"));
    near(of("10000"), of("20000"), 0.2);
}

#[test]
fn the_kinds_spread_uncertainty_as_another_program_does() {
    check("propagation.md", 42);
}

#[test]
fn draws_of_the_kinds_agree_with_first_order_where_it_is_enough() {
    let found = drawn("propagation.md", "100000");
    for name in
        ["drive.motor_speed", "drive.geared_top_speed", "kerb.converted_mass", "pack.mass", "pack.energy"]
    {
        let result = &found["results"][name];
        let first = number(result, "uncertainty_si");
        near(number(&result["monte_carlo"], "uncertainty_si"), first, 0.03 * first);
    }
}

#[test]
fn exact_inputs_give_exact_results() {
    let found = of_text(
        "```yaml ratio-chain drive\nwanted_speed: 100 km/h\ntyre: 205/65R15\nrolling_factor: 0.97 ± 0\nstages: [{name: axle, ratio: 41/10}]\n\
         motor_max_speed: 9 000 rpm\n```\n",
    );
    let results = found["results"].as_object().expect("results");
    let spread: Vec<&String> = results
        .iter()
        .filter(|(_, one)| one["uncertainty_si"].as_f64().is_some_and(|u| u != 0.0))
        .map(|(name, _)| name)
        .collect();
    assert!(spread.is_empty(), "{spread:?}");
    assert!(results["drive.motor_speed"]["uncertainty_si"] == 0.0);
    assert!(!results["drive.motor_speed"]["shown"].as_str().expect("text").contains('±'));
}

#[test]
fn an_input_used_twice_stays_correlated_with_itself() {
    let found = of_text(
        "```yaml worksheet w\ngiven: {a: 10 kg ± 1 kg (measured), b: from a}\nsteps:\n  - {name: nothing, is: a - b, unit: kg}\n\
         \x20 - {name: twice, is: a + b, unit: kg}\n```\n\n```yaml worksheet v\nsteps:\n  - {name: half, is: w.twice / 2 - w.a, unit: kg}\n```\n",
    );
    let u = |name: &str| number(&found["results"][name], "uncertainty_si");
    near(u("w.nothing"), 0.0, 1e-12);
    near(u("v.half"), 0.0, 1e-12);
    near(u("w.twice"), 2.0 / 3f64.sqrt(), 1e-9);
}

/// JCGM 106:2012, clause 7, examples: printed 0.92, 0.99 and 0.66.
#[test]
fn the_worked_probabilities_of_conformity_are_those_of_jcgm_106() {
    let found = register("conformity.md", &[]);
    // Cases CONF-106-upper and -two-sided: Φ(1.40); Φ(19.7/8.6); Φ(1.5) − Φ(−1.1/1.8).
    for (block, name, exact, printed, verdict) in [
        ("diode", "breaks", 0.919_243_341, 0.92, "meets"),
        ("container", "holds", 0.989_009_547, 0.99, "meets"),
        ("grade", "full_voltage", 0.662_629_786, 0.66, "close"),
        ("mass", "gross", 0.952_209_648, 0.95, "meets"),
        ("mass", "just", 0.95, 0.95, "meets"),
    ] {
        let judged = requirement(&found, block, name);
        near(number(judged, "conformity"), exact, 1e-6);
        near(number(judged, "conformity"), printed, 0.005);
        assert_eq!(judged["verdict"], verdict, "{judged}");
    }
}

#[test]
fn a_limit_met_by_less_than_the_uncertainty_is_close() {
    verdict("mass: 100 kg ± 5 kg (measured)", "mass <= 102 kg", "close", "probability of conformity");
    verdict("mass: 100 kg ± 5 kg (measured)", "mass <= 120 kg", "meets", "over 99.9");
    verdict("mass: 100 kg ± 5 kg (measured)", "mass >= 98 kg", "close", "probability of conformity");
}

/// Φ(0.8416) is 0.8: u = 1 kg, and the limit a little under and a little over 0.8416 kg away.
#[test]
fn of_a_wish_eighty_per_cent_are_enough() {
    let mass = "mass: {value: 100 kg, tolerance: 1 kg, shape: normal, coverage: 1, basis: measured}";
    verdict(mass, "mass <= 100.841 kg", "close", "80.0");
    verdict(mass, "mass <= 100.842 kg", "meets", "80.0");
}

/// Limit − actual is one result: what both share does not count.
#[test]
fn what_actual_and_limit_share_cancels_in_the_margin() {
    verdict("mass: 100 kg ± 10 kg (measured)", "mass <= mass * 1.001 + 1 kg", "meets", "over 99.9");
    verdict(
        "mass: 100 kg ± 10 kg (measured)\n  limit: 101.1 kg (published)",
        "mass <= limit",
        "close",
        "probability",
    );
}

#[test]
fn an_uncertain_limit_counts_as_well() {
    verdict(
        "mass: 100 kg (measured)\n  limit: 101 kg ± 3 kg (measured)",
        "mass <= limit",
        "close",
        "probability",
    );
}

#[test]
fn a_nominal_miss_fails_whatever_the_uncertainty() {
    verdict("mass: 100 kg ± 5 kg (measured)", "mass <= 99 kg", "fails", "above the limit");
    verdict("mass: 100 kg ± 5 kg (assumed)", "mass >= 101 kg", "fails", "below the limit");
}

/// ± 20 % of an estimated mass of 100 kg is u = 11.547 kg: Φ(0.433) is 66.7 %, and 200 kg are 8.7 u away.
#[test]
fn an_estimate_without_a_tolerance_is_worth_what_is_supposed() {
    verdict("mass: 100.0 kg (estimated)", "mass <= 105 kg", "close", "66.7");
    verdict("mass: 100.0 kg", "mass <= 105 kg", "close", "66.7");
    verdict("mass: 100.0 kg (estimated)", "mass <= 200 kg", "meets", "over 99.9");
    verdict("mass: 100.0 kg (measured)", "mass <= 105 kg", "meets", "over 99.9");
    // A wish believes its author, with a warning.
    verdict("mass: 100.0 kg ± 0 kg (estimated)", "mass <= 105 kg", "meets", "within the limit");
    // The limit counts as the value does.
    verdict("mass: 100.0 kg ± 0 kg\n  most: 105.0 kg (estimated)", "mass <= most", "close", "66.");
}

/// Motor speed against the motor's limit is a safety requirement: it doubts a ratio that is said to be exact.
#[test]
fn a_safety_verdict_does_not_believe_that_a_physical_value_is_exact() {
    let drive = |factor: &str| {
        let found = of_text(&format!(
            "```yaml ratio-chain drive\nwanted_speed: 100 km/h\ntyre: 640 mm ± 1 mm (measured)\nrolling_factor: {factor}\n\
             stages: [{{name: axle, ratio: 40/10}}]\nmotor_max_speed: 3 450 rpm\n```\n"
        ));
        let judged = requirement(&found, "drive", "motor_speed");
        (judged["verdict"].clone(), number(judged, "conformity"))
    };
    let (exact, supposed) = (drive("0.97 ± 0"), drive("0.97"));
    assert_eq!(exact, supposed, "as if nothing had been written");
    assert_eq!(exact.0, "close");
    assert_eq!(drive("0.97 ± 0.001").0, "meets");
}

/// Two readings are worth little: at two standard uncertainties from the limit not 98 % but 85 % (t of 1 degree of
/// freedom: 1/2 + atan(2)/π).
#[test]
fn two_readings_are_worth_little() {
    let mass = "mass: {readings: [99.0 kg, 101.0 kg], tolerance: 0}";
    // A wish needs 80 %; nearer than that it is close.
    verdict(mass, "mass <= 102 kg", "meets", "probability of conformity 8");
    verdict(mass, "mass <= 101 kg", "close", "probability of conformity 7");
}

/// Their mean is ± what Student's t says (95.45 %): 2.16 and 1.17 degrees of freedom, not cut to whole ones.
#[test]
fn few_readings_print_what_students_t_gives() {
    check("readings.md", 9);
    let found = register("readings.md", &[]);
    for (name, shown) in [("three", "172.1 ± 0.6 kg"), ("two", "486 ± 5 kg"), ("scaled", "172.1 ± 0.7 kg")]
    {
        assert_eq!(found["results"][format!("few.{name}")]["shown"], shown);
    }
    assert_eq!(found["results"]["few.equal"]["supposed"], true);
}

/// A t distribution of 1 degree of freedom has no deviation; its 95 % interval is ± 12.706.
#[test]
fn draws_of_two_readings_have_an_interval_alone() {
    let found = drawn("readings.md", "100000");
    let spread = &found["results"]["few.of_two"]["monte_carlo"];
    assert!(spread.get("uncertainty_si").is_none() && spread.get("mean_si").is_none(), "{spread}");
    let half = 0.5 * (number(spread, "high_si") - number(spread, "low_si"));
    near(half, 12.706 * 0.5, 0.05 * 12.706 * 0.5);
}

/// What errs together is one cause: ± 20 % of 60 kg and of 40 kg are ± 20 kg, over the root of 3. Digits err apart, and
/// in a ledger what is taken out and what is put in.
#[test]
fn supposed_tolerances_of_one_quantity_and_source_err_together() {
    let sum = |first: &str, second: &str| {
        let found = of_text(&format!(
            "```yaml worksheet w\ngiven: {{a: {first}, b: {second}}}\nsteps: [{{name: sum, is: a + b, unit: kg}}]\n```\n"
        ));
        number(&found["results"]["w.sum"], "uncertainty_si") * 3f64.sqrt()
    };
    near(sum("60.0 kg (estimated)", "40.0 kg (estimated)"), 20.0, 1e-6);
    near(sum("60.0 kg (estimated)", "40.0 kg"), 20.0, 1e-6);
    near(sum("60.0 kg (estimated)", "40.0 kg (measured)"), f64::hypot(12.0, 0.2), 1e-6);
    near(sum("61 kg (measured)", "41 kg (measured)"), f64::hypot(1.0, 1.0), 1e-6);
    let found = of_text(
        "```yaml mass-ledger kerb\ndonor: {mass: 1 085.2 kg ± 0 kg (measured)}\nremoved: [{item: engine, mass: 100.0 kg (estimated)}]\n\
         installed: [{item: motor, mass: 60.0 kg (estimated)}, {item: pack, mass: 90.0 kg (estimated)}]\n```\n",
    );
    let u = number(&found["results"]["kerb.net_change"], "uncertainty_si");
    near(u, f64::hypot(20.0, 30.0) / 3f64.sqrt(), 1e-6);
}

/// The pack's usable share is the kind's own default; what is held against it can't fail.
#[test]
fn a_limit_that_the_program_assumed_is_never_missed_for_certain() {
    let pack = "```yaml part cell\nrole: cell\nbasis: measured\nnominal_voltage: 3.2 V\nfull_voltage: 3.65 V\nempty_voltage: 2.5 V\n\
                capacity: 86 Ah\nresistance: 0.9 mΩ\nmass: 1.95 kg\ncontinuous_discharge: 129 A\npeak_discharge: 258 A\n```\n\n\
                ```yaml pack-layout pack\ncell: cell\nseries: 90\nparallel: 1\nhousing_mass: 30 kg (measured)\n```\n\n\
                ```yaml worksheet w\ngiven: {used: 0.95 (measured), taken: from pack.usable_share}\nsteps: []\nchecks:\n  plain: used <= pack.usable_share\n\
                \x20 passed: used <= taken\n  worked: used <= pack.usable_share * 1.01\n```\n";
    let found = of_text(pack);
    for name in ["plain", "passed", "worked"] {
        let judged = requirement(&found, "w", name);
        assert_eq!(judged["verdict"], "open", "{judged}");
        assert!(judged["reason"].as_str().expect("a reason").contains("as assumed, it fails"), "{judged}");
    }
    let stated = of_text(&pack.replace("parallel: 1", "parallel: 1\nusable_share: 0.9 (measured)"));
    assert_eq!(requirement(&stated, "w", "plain")["verdict"], "fails");
}

#[test]
fn a_requirement_whose_input_is_missing_is_open() {
    let found = of_text(
        "```yaml worksheet w\ngiven: {mass: 100 kg (measured)}\nsteps:\n  - {name: none, is: mass / (mass - mass), unit: 1}\nchecks:\n  light: none <= 3\n```\n",
    );
    let judged = requirement(&found, "w", "light");
    assert_eq!(judged["verdict"], "open", "{judged}");
    assert!(judged.get("margin").is_none(), "{judged}");
}

/// Known to the width that is told the verdict is `meets`, and known a tenth worse it is still `close`: by first order and
/// by draws, of one that errs alone, one of several that err together, a temperature, a curve and a setting.
#[test]
fn at_the_width_that_is_told_a_narrow_verdict_meets() {
    let worksheet = |given: &str, is: &str, limit: &str| {
        format!(
            "```yaml worksheet w\ngiven: {{{given}}}\nsteps:\n  - {{name: y, is: \"{is}\", unit: {}}}\nchecks:\n  it: y <= {limit}\n```\n",
            limit.rsplit_once(' ').expect("a unit").1
        )
    };
    let first_order = [
        worksheet("a: 100 kg% (estimated)", "a * 1", "105 kg"),
        worksheet("a: 100 kg% (estimated), b: 30 kg (estimated)", "a + b", "134 kg"),
        worksheet("b: 30 kg (estimated), a: 100 kg% (estimated)", "a + b", "134 kg"),
        worksheet("a: 60 °C% (estimated), b: 2 K ± 0.5 K", "a + b", "64 °C"),
        worksheet("a: 12.5 mΩ% (datasheet), b: 2 mΩ ± 0.2 mΩ", "a + b", "14.7 mΩ"),
    ];
    let drawn = [
        worksheet("a: 2.0 m% (estimated), b: 5 m ± 0.2 m, c: 1 m ± 0.3 m", "b + c * (a / 2.0 m)^4", "6.2 m"),
        worksheet("b: 2.0 m (estimated), a: 2.0 m% (estimated)", "b / 20 + a^4 / 1 m^3", "17 m"),
        worksheet("a: 2.0 m% (estimated), b: 2.01 m ± 0.02 m, c: 2.01 m ± 0.02 m", "max(a, b, c)", "2.05 m"),
    ];
    for text in &first_order {
        assert!(!width_is_true(text).contains("draws"), "{text}");
    }
    for text in &drawn {
        assert!(width_is_true(text).contains("draws"), "{text}");
    }
}

/// The width holds at which the verdict turns; the reason that told it.
#[track_caller]
fn width_is_true(text: &str) -> String {
    let judged = |width: &str| {
        let found = of_text(&text.replace('%', width));
        let judged = requirement(&found, "w", "it");
        (judged["verdict"].clone(), judged["reason"].as_str().expect("a reason").to_owned())
    };
    let (verdict, reason) = judged("");
    assert_eq!(verdict, "close", "{text}{reason}");
    let told = reason.split_once("which `w.a` decides with its supposed width; known to ± ");
    let told = told.and_then(|(_, rest)| rest.strip_suffix(" it would meet"));
    let told = told.unwrap_or_else(|| panic!("no width: {reason}"));
    let (number, unit) = told.split_once(' ').expect("a unit");
    let number: f64 = number.parse().expect("a number");
    for (by, expected) in [(1.0, "meets"), (0.8, "meets"), (1.1, "close")] {
        let (verdict, now) = judged(&format!(" ± {} {unit}", number * by));
        assert_eq!(verdict, expected, "± {} of {told}: {now}\n{text}", number * by);
    }
    reason
}

/// The last of a thousand narrow verdicts tells the same width as the first: beyond some searches by first order, which
/// is no more than a hair from what is searched for, and costs nothing.
#[test]
fn each_of_very_many_narrow_verdicts_tells_its_width() {
    let block = |number: usize| {
        format!(
            "```yaml worksheet w{number}\ngiven: {{a: 100 kg (estimated)}}\nsteps:\n  - {{name: y, is: a * 1, unit: kg}}\nchecks:\n  it: y <= 105 kg\n```\n\n"
        )
    };
    let found = of_text(&(0..1_000).map(block).collect::<String>());
    let width = |number: usize| {
        let name = format!("w{number}");
        let reason = requirement(&found, &name, "it")["reason"].as_str().expect("a reason").to_owned();
        let (_, told) = reason.split_once("known to ± ").unwrap_or_else(|| panic!("{name}: {reason}"));
        told.split_once(' ').expect("a unit").0.parse::<f64>().expect("a number")
    };
    for number in [0, 1, 499, 999] {
        assert!((width(number) / width(0) - 1.0).abs() < 0.05, "{number}: {}, {}", width(number), width(0));
    }
}

/// Known exactly it would not do, for what is written beside it is too wide; and where the limit itself is in doubt the
/// margin alone is promised.
#[test]
fn no_width_is_promised_that_would_not_do() {
    let wide = "a: 100 kg (estimated)\n  b: 30 kg ± 12 kg";
    let text = format!(
        "```yaml worksheet w\ngiven:\n  {wide}\nsteps:\n  - {{name: y, is: a + b, unit: kg}}\nchecks:\n  it: y <= 134 kg\n```\n"
    );
    let found = of_text(&text);
    let reason = requirement(&found, "w", "it")["reason"].as_str().expect("a reason");
    assert!(reason.ends_with("not by that value alone: known exactly it would still be close"), "{reason}");
    let exact = of_text(&text.replace("100 kg (estimated)", "100 kg ± 1 g"));
    assert_eq!(requirement(&exact, "w", "it")["verdict"], "close");
}

#[test]
fn a_number_of_draws_that_is_none_or_never_ends_is_wrong_usage() {
    let folder = journal("additive.md");
    for draws in [
        "0",
        "1",
        "999",
        "1000000000000",
        "1_000_000_000_000",
        "-5",
        "many",
        "",
        "1e6",
        "99999999999999999999999",
    ] {
        for command in ["check", "work", "dossier"] {
            let run = folder.run(&[command, &format!("--monte-carlo={draws}")]);
            assert_eq!(run.status, 2, "{command} {draws}: {}", run.err);
            assert!(run.err.contains("auto"), "{draws}: {}", run.err);
        }
    }
    assert!(!folder.path.join("dossier").exists());
    let text = fs::read_to_string(folder.path.join("journal.md")).expect("the journal");
    assert!(!text.contains("worked:"), "a refused command wrote");
    assert_eq!(folder.run(&["check", "--monte-carlo", "1 000"]).status, 1, "stale, but right usage");
}

#[test]
fn a_region_says_why_a_requirement_is_only_close() {
    let folder = Folder::new();
    folder.write(
        "journal.md",
        "```yaml worksheet w\ngiven: {mass: 100 kg (estimated)}\nsteps: []\nchecks:\n  light: mass <= 105 kg\n```\n",
    );
    assert_eq!(folder.run(&["work"]).status, 0);
    let text = fs::read_to_string(folder.path.join("journal.md")).expect("the journal");
    let line =
        text.lines().find(|line| line.starts_with("**w: light close**")).expect("a line that says why");
    assert!(line.contains("probability of conformity 66.7"), "{line}");
    assert!(line.contains("`w.mass`"), "{line}");
}

#[test]
fn the_dossier_tells_of_the_draws() {
    let folder = journal("comparison-loss.md");
    let run = folder.run(&["dossier", "--no-write-back", "--monte-carlo", "20000"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let page = fs::read_to_string(folder.path.join("dossier/dossier.html")).expect("the dossier");
    let text = words_of(&page);
    assert!(text.contains("4 uncertain values were drawn 20 000 times"), "the cover does not say how often");
    assert!(
        text.contains("draws: u 0.0005, 95 % from 0.0017 to 0.0036"),
        "the log does not say what came out"
    );
    let plain = folder.run(&["dossier", "--no-write-back"]);
    assert_eq!(plain.status, 0, "{}", plain.err);
    let page = fs::read_to_string(folder.path.join("dossier/dossier.html")).expect("the dossier");
    assert!(!words_of(&page).contains("draw"), "nothing was drawn");
}

/// A mass of 100 kg with such a `given` and check: verdict, and words of its reason.
#[track_caller]
fn verdict(given: &str, comparison: &str, expected: &str, reason: &str) {
    let found = of_text(&format!(
        "```yaml worksheet w\ngiven:\n  {given}\nsteps: []\nchecks:\n  it: {comparison}\n```\n"
    ));
    let judged = requirement(&found, "w", "it");
    assert_eq!(judged["verdict"], expected, "{judged}\n{}", found["findings"]);
    assert!(judged["reason"].as_str().expect("a reason").contains(reason), "{judged}");
}

#[track_caller]
fn requirement<'a>(found: &'a Value, block: &str, name: &str) -> &'a Value {
    let all = found["requirements"].as_array().expect("requirements");
    let one = all.iter().find(|one| one["block"] == block && one["name"] == name);
    one.unwrap_or_else(|| panic!("no requirement {block}.{name}: {}", found["findings"]))
}

/// The blocks for which first order is told not to be enough.
fn not_enough(found: &Value) -> Vec<&str> {
    let findings = found["findings"].as_array().expect("findings").iter();
    let told = findings.filter(|finding| finding["code"] == "first-order-not-enough");
    told.filter_map(|finding| finding["block"].as_str()?.split(' ').nth(1)).collect()
}

/// The journal's expectations hold, each after a source, and there are at least so many.
#[track_caller]
fn check(name: &str, at_least: usize) {
    let found = register(name, &[]);
    let text = fs::read_to_string(data(name)).expect("a journal");
    let mut faults: Vec<String> = found["findings"]
        .as_array()
        .expect("findings")
        .iter()
        .filter(|finding| finding["severity"] == "error")
        .map(ToString::to_string)
        .collect();
    let comments = text.lines().filter_map(|line| line.strip_prefix("<!-- ")?.strip_suffix(" -->"));
    let (mut sourced, mut count) = (false, 0);
    for comment in comments {
        if comment.starts_with("source: ") {
            sourced = true;
            continue;
        }
        count += 1;
        if !sourced {
            faults.push(format!("no source before: {comment}"));
        }
        faults.extend(holds(&found, comment).err());
    }
    assert!(faults.is_empty(), "{name}:\n{}", faults.join("\n"));
    assert!(count >= at_least, "{name} has only {count} expectations");
}

fn holds(found: &Value, comment: &str) -> Result<(), String> {
    let unreadable = || format!("can't be read: {comment}");
    let (what, rest) = comment.split_once(": ").ok_or_else(unreadable)?;
    let key = match what {
        "value" => "si",
        "uncertainty" => "uncertainty_si",
        _ => return Err(unreadable()),
    };
    let (name, rest) = rest.split_once(" = ").ok_or_else(unreadable)?;
    let (wanted, tolerance) = rest.split_once(", ").ok_or_else(unreadable)?;
    let (manner, amount) = tolerance.split_once(' ').ok_or_else(unreadable)?;
    let (wanted, amount) = (si(wanted).ok_or_else(unreadable)?, si(amount).ok_or_else(unreadable)?);
    let within = if manner == "relative" { amount * wanted.abs() } else { amount };
    let actual = found["results"][name][key].as_f64().ok_or_else(|| format!("{name} has no {key}"))?;
    if (actual - wanted).abs() <= within {
        Ok(())
    } else {
        Err(format!("{comment}, but it is {actual} (SI)"))
    }
}

/// `NUMBER UNIT` in SI.
fn si(text: &str) -> Option<f64> {
    let (number, unit) = text.split_once(' ').unwrap_or((text, "1"));
    Some(number.parse::<f64>().ok()? * factor(unit)?)
}

#[track_caller]
fn near(actual: f64, expected: f64, within: f64) {
    assert!((actual - expected).abs() <= within, "{actual} where {expected} ± {within} is expected");
}

#[track_caller]
fn number(of: &Value, key: &str) -> f64 {
    of[key].as_f64().unwrap_or_else(|| panic!("no number `{key}` in {of}"))
}

fn drawn(name: &str, draws: &str) -> Value {
    register(name, &["--monte-carlo", draws])
}

#[track_caller]
fn register(name: &str, words: &[&str]) -> Value {
    read(&journal(name), words)
}

#[track_caller]
fn of_text(text: &str) -> Value {
    let folder = Folder::new();
    folder.write("journal.md", text);
    read(&folder, &[])
}

#[track_caller]
fn read(folder: &Folder, words: &[&str]) -> Value {
    let output =
        program(&["check", "--json"]).args(words).arg(&folder.path).output().expect("the program starts");
    let run = Run::of(output);
    serde_json::from_str(&run.out).unwrap_or_else(|fault| panic!("no register ({fault}):\n{}", run.err))
}

fn journal(name: &str) -> Folder {
    let folder = Folder::new();
    folder.write("journal.md", fs::read(data(name)).expect("a journal"));
    folder
}

fn data(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/uncertainty").join(name)
}

/// The text of a page, without its marks and styles.
fn words_of(page: &str) -> String {
    let body = page.split_once("<body").map_or(page, |(_, body)| body);
    let mut text = String::new();
    let mut inside = true;
    for sign in body.chars() {
        match sign {
            '<' => inside = true,
            '>' => inside = false,
            sign if !inside => text.push(sign),
            _ => {}
        }
    }
    text.replace('\u{a0}', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whoever reads the first page sees that the author supposes less than the program would.
#[test]
fn a_narrowed_supposed_tolerance_stands_on_the_first_page() {
    let page = |supposed: &str| {
        let folder = Folder::new();
        folder.write(
            "journal.md",
            format!(
                "---\ntitle: A van\nsupposed: {{{supposed}}}\n---\n\n```yaml worksheet w\ngiven: {{mass: 100 kg (estimated)}}\n\
                 steps:\n  - {{name: twice, is: mass * 2, unit: kg}}\n```\n"
            ),
        );
        let run = folder.run(&["dossier", "--no-write-back"]);
        assert_eq!(run.status, 0, "{}", run.err);
        words_of(&fs::read_to_string(folder.path.join("dossier/dossier.html")).expect("the dossier"))
    };
    let narrow = page("estimated.mass: 10 %");
    let said = narrow.find("by the front matter: estimated.mass: 10 %").expect("it is said");
    assert!(said < narrow.find("Contents").expect("contents"), "before the contents");
    assert!(narrow.contains("supposed ± 10 %"), "beside the value");
    let wide = page("estimated.mass: 30 %");
    assert!(!wide.contains("Narrower"), "more doubt needs no warning");
    assert!(wide.contains("supposed ± 30 %") && wide.contains("Supposed tolerances"));
}

/// A trip acts some millivolts off where it is set: equal to what the cell bears it is no `meets`, and 50 mV under it it
/// is one.
#[test]
fn a_setting_equal_to_its_limit_is_close() {
    let cut = |voltage: &str| {
        let found = of_text(&format!(
            "```yaml part cell\nrole: cell\nbasis: measured\nnominal_voltage: 3.2 V\nfull_voltage: 3.65 V\nempty_voltage: 2.5 V\ncapacity: 100 Ah\n\
             resistance: 1 mΩ\nmass: 2 kg\ncontinuous_discharge: 100 A\npeak_discharge: 300 A\n```\n\n\
             ```yaml pack-layout pack\ncell: cell\nseries: 100\nparallel: 2\nhousing_mass: 40 kg\n```\n\n\
             ```yaml battery-limits bms\npack: pack\ncell_voltage_high: {{cut: {voltage}}}\ncell_voltage_low: {{cut: 2.6 V}}\n```\n"
        ));
        let rows = found["requirements"].as_array().expect("requirements");
        let of = |row: &&Value| {
            row["block"] == "bms"
                && row["name"].as_str().is_some_and(|name| name.contains("cell_voltage_high"))
        };
        rows.iter().find(of).unwrap_or_else(|| panic!("{rows:?}"))["verdict"].clone()
    };
    assert_eq!(cut("3.65 V"), "close");
    assert_eq!(cut("3.60 V"), "meets");
}
