//! The two-voltage method of measuring isolation, for leakages of any size on both poles.

use serde_json::Value;

#[path = "support/program.rs"]
mod program;
#[path = "support/register.rs"]
mod register;

use program::Folder;
use register::register;

/// A bus with a leakage on each pole, and the shunt that it was measured with.
struct Bus {
    voltage: f64,
    negative: f64,
    positive: f64,
    shunt: f64,
}

impl Bus {
    /// The voltages of the negative and the positive pole to the chassis, by Ohm's law.
    fn voltages(&self) -> (f64, f64) {
        let sum = self.negative + self.positive;
        (self.voltage * self.negative / sum, self.voltage * self.positive / sum)
    }

    /// The voltage of a pole to the chassis with the shunt beside its leakage.
    fn shunted(&self, pole: f64, other: f64) -> f64 {
        let both = pole * self.shunt / (pole + self.shunt);
        self.voltage * both / (both + other)
    }

    /// By what share the shunt moves the larger voltage.
    fn moved(&self) -> f64 {
        let (v1, v2) = self.voltages();
        let shunted = match v1 >= v2 {
            true => self.shunted(self.negative, self.positive),
            false => self.shunted(self.positive, self.negative),
        };
        1.0 - shunted / v1.max(v2)
    }

    fn weaker(&self) -> f64 {
        self.negative.min(self.positive)
    }

    /// A block with one reading, the shunt on the pole with the larger voltage or on the other.
    fn block(&self, name: &str, right: bool) -> String {
        let (v1, v2) = self.voltages();
        let on_negative = (v1 >= v2) == right;
        let (side, shunted) = if on_negative {
            ("negative", self.shunted(self.negative, self.positive))
        } else {
            ("positive", self.shunted(self.positive, self.negative))
        };
        format!(
            "```yaml isolation {name}\nworking_voltage: {} V (measured)\nbuses: separate\ninstrument: x\ndate: 2026-03-02\n\
             state: contactors closed, dry\nreadings:\n  - {{place: bus, v1: {v1:e} V, v2: {v2:e} V, shunt: {} ohm, shunt_side: {side}, \
             v_shunted: {shunted:e} V}}\n```\n\n",
            self.voltage, self.shunt
        )
    }
}

#[test]
fn used_as_told_it_gives_the_weaker_pole_and_used_wrongly_it_never_passes() {
    let buses = buses(300);
    let mut journal = String::new();
    for (at, bus) in buses.iter().enumerate() {
        journal += &bus.block(&format!("right_{at}"), true);
        journal += &bus.block(&format!("wrong_{at}"), false);
    }
    let folder = Folder::new();
    folder.write("journal.md", journal);
    let found = register(&folder);
    let mut verdicts = [0, 0];
    for (at, bus) in buses.iter().enumerate() {
        let told = |name: &str| found["results"][format!("{name}_{at}.resistance_bus")]["si"].as_f64();
        let near = |value: Option<f64>| value.is_some_and(|it| (it / bus.weaker() - 1.0).abs() < 1e-6);
        assert!(near(told("right")), "{at}: {:?} where {} is true", told("right"), bus.weaker());
        let enough = bus.weaker() >= 100.0 * bus.voltage;
        let expected = match (enough, bus.moved() >= 0.1) {
            (true, true) => "meets",
            // A shunt that hardly moves the voltage proves nothing but a miss.
            (true, false) => "open",
            (false, _) => "fails",
        };
        assert_eq!(verdict(&found, &format!("right_{at}")), expected, "{at}");
        assert_eq!(verdict(&found, &format!("wrong_{at}")), "open", "{at}");
        assert_eq!(told("wrong"), None, "{at}: an invalid test gives nothing");
        verdicts[usize::from(enough)] += 1;
    }
    assert!(verdicts.iter().all(|count| *count > 50), "too few of one kind: {verdicts:?}");
    let invalid = found["findings"].as_array().expect("findings");
    let invalid = invalid.iter().filter(|finding| finding["code"] == "invalid-test").count();
    assert_eq!(invalid, buses.len());
}

/// Leakages from 1 kΩ to 100 MΩ, evenly over the powers of ten, at 60 to 800 V.
fn buses(count: usize) -> Vec<Bus> {
    // A small generator without a seed from outside: the same buses at every run.
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let mut next = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        f64::from(u32::try_from(state >> 32).expect("32 bits")) / f64::from(u32::MAX)
    };
    (0..count)
        .map(|_| Bus {
            voltage: (60.0 + 740.0 * next()).round(),
            negative: 10f64.powf(3.0 + 5.0 * next()),
            positive: 10f64.powf(3.0 + 5.0 * next()),
            shunt: (10f64.powf(4.0 + 2.0 * next())).round(),
        })
        .collect()
}

fn verdict<'a>(found: &'a Value, block: &str) -> &'a str {
    let requirements = found["requirements"].as_array().expect("requirements");
    let one = requirements.iter().find(|requirement| requirement["block"] == block);
    one.and_then(|requirement| requirement["verdict"].as_str()).unwrap_or("absent")
}
