//! What is read from a register that was written earlier.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

/// The marks of the files that a register stands beside, from its text; none where it is no register.
pub(crate) fn set_of(register: &[u8]) -> BTreeMap<String, String> {
    let register: Value = serde_json::from_slice(register).unwrap_or_default();
    let entries = register.get("set").and_then(Value::as_object).into_iter().flatten();
    entries.filter_map(|(name, mark)| Some((name.clone(), mark.as_str()?.to_owned()))).collect()
}

/// A number of a register.
pub(crate) struct Registered {
    pub si: f64,
    pub uncertainty_si: f64,
    pub shown: String,
}

/// The numbers of a register's results, from its text; none where it is no register.
pub(crate) fn results_of(register: &[u8]) -> BTreeMap<String, Registered> {
    let register: Value = serde_json::from_slice(register).unwrap_or_default();
    let entries = register.get("results").and_then(Value::as_object).into_iter().flatten();
    let number = |entry: &Value| {
        let (si, shown) = (entry.get("si")?.as_f64()?, entry.get("shown")?.as_str()?.to_owned());
        let uncertainty_si = entry.get("uncertainty_si").and_then(Value::as_f64).unwrap_or(0.0);
        Some(Registered { si, uncertainty_si, shown })
    };
    entries.filter_map(|(name, entry)| Some((name.clone(), number(entry)?))).collect()
}

/// `block.name` of each requirement of a register that is not open.
pub(crate) fn judged_of(register: &[u8]) -> BTreeSet<String> {
    let register: Value = serde_json::from_slice(register).unwrap_or_default();
    let entries = register.get("requirements").and_then(Value::as_array).into_iter().flatten();
    let text = |entry: &Value, key: &str| entry.get(key).and_then(Value::as_str).map(str::to_owned);
    let name = |entry: &Value| Some(format!("{}.{}", text(entry, "block")?, text(entry, "name")?));
    entries
        .filter(|entry| text(entry, "verdict").is_some_and(|verdict| verdict != "open"))
        .filter_map(name)
        .collect()
}
