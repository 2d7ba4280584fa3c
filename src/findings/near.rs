//! The name that was meant by one that nothing has.

/// So many known names are all looked at; of more, those that stand next to the wrong one in two orders.
const ALL: usize = 200;
/// How many stand next to it, on each side and in each order.
const BESIDE: usize = 40;
/// So much of a name is compared.
const LONGEST: usize = 64;

#[cfg(test)]
thread_local! {
    /// How many names this thread has compared, for the tests of growth.
    pub(crate) static COMPARED: std::cell::Cell<usize> = const { std::cell::Cell::new(0) };
}

/// The nearest of the known names, if it is near enough to be meant: up to a third of its letters differ.
pub(crate) fn suggest<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wrong_folded = folded(wrong);
    let compared = known.into_iter().filter_map(|name| Some((far(&wrong_folded, &folded(name))?, name)));
    compared.min_by_key(|(far, _)| *far).map(|(_, name)| name)
}

/// Known names of a journal, of which there may be so many that each wrong one can't be held against them all.
#[derive(Clone)]
pub(crate) struct Nearby {
    /// As they are, and folded.
    names: Vec<(String, String)>,
    /// Folded, from the first letter on and from the last, each with its number; empty where all are looked at.
    orders: [Vec<(String, usize)>; 2],
}

impl Nearby {
    /// Of names that are equally near the first is taken.
    pub(crate) fn new<'n>(names: impl IntoIterator<Item = &'n str>) -> Nearby {
        let names: Vec<(String, String)> =
            names.into_iter().map(|name| (name.to_owned(), folded(name))).collect();
        let mut orders = [Vec::new(), Vec::new()];
        if names.len() > ALL {
            let keyed = |key: fn(&str) -> String| {
                let mut order: Vec<(String, usize)> =
                    names.iter().enumerate().map(|(at, (_, folded))| (key(folded), at)).collect();
                order.sort_unstable();
                order
            };
            orders = [keyed(str::to_owned), keyed(turned)];
        }
        Nearby { names, orders }
    }

    /// As [`suggest`]. Of many names, one whose beginning and whose end are both mistyped may be missed.
    pub(crate) fn suggest(&self, wrong: &str) -> Option<&str> {
        let wrong = folded(wrong);
        let mut looked: Vec<usize> = Vec::new();
        if self.orders[0].is_empty() {
            looked.extend(0..self.names.len());
        }
        for (order, key) in self.orders.iter().zip([wrong.clone(), turned(&wrong)]) {
            let at = order.partition_point(|(name, _)| *name < key);
            let beside = &order[at.saturating_sub(BESIDE)..(at + BESIDE).min(order.len())];
            looked.extend(beside.iter().map(|(_, number)| *number));
        }
        looked.sort_unstable();
        looked.dedup();
        let compared = looked.into_iter().filter_map(|at| Some((far(&wrong, &self.names[at].1)?, at)));
        compared.min().map(|(_, at)| self.names[at].0.as_str())
    }
}

fn folded(name: &str) -> String {
    name.to_lowercase().replace('-', "_")
}

fn turned(name: &str) -> String {
    name.chars().rev().collect()
}

/// How far two names are apart; `None` where that is too far to mean the other.
fn far(wrong: &str, name: &str) -> Option<usize> {
    if name.len().abs_diff(wrong.len()) > 4 {
        return None;
    }
    #[cfg(test)]
    COMPARED.set(COMPARED.get() + 1);
    let far = distance(wrong, name);
    let letters = name.chars().count().max(wrong.chars().count());
    // Of a single letter nothing is left.
    (far <= letters.div_ceil(3) && far < letters).then_some(far)
}

/// Optimal string alignment distance: insertions, deletions, changes and swaps of neighbours.
fn distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().take(LONGEST).collect();
    let b: Vec<char> = b.chars().take(LONGEST).collect();
    // The rows before the last, the last, and this one.
    let mut rows = [[0; LONGEST + 1]; 3];
    (0..=b.len()).for_each(|j| rows[1][j] = j);
    for i in 1..=a.len() {
        rows[2][0] = i;
        for j in 1..=b.len() {
            let cost = usize::from(a[i - 1] != b[j - 1]);
            rows[2][j] = (rows[1][j] + 1).min(rows[2][j - 1] + 1).min(rows[1][j - 1] + cost);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                rows[2][j] = rows[2][j].min(rows[0][j - 2] + 1);
            }
        }
        rows.rotate_left(1);
    }
    rows[1][b.len()]
}

#[cfg(test)]
mod tests {
    use super::{Nearby, distance, suggest};

    #[test]
    fn a_near_name_is_suggested_and_a_far_one_is_not() {
        let known = ["motor_max_speed", "wanted_speed", "tyre", "s"];
        for (wrong, meant) in
            [("wanted_sped", Some("wanted_speed")), ("tire", Some("tyre")), ("colour", None), ("x", None)]
        {
            assert_eq!(suggest(wrong, known), meant);
            assert_eq!(Nearby::new(known).suggest(wrong), meant);
        }
    }

    #[test]
    fn insertions_deletions_changes_and_swaps_count_one_each() {
        for (a, b, far) in
            [("", "", 0), ("ab", "", 2), ("motor", "motro", 1), ("tyre", "tire", 1), ("a", "bcd", 3)]
        {
            assert_eq!((distance(a, b), distance(b, a)), (far, far), "{a} {b}");
        }
    }

    #[test]
    fn among_thousands_a_slip_at_either_end_is_found() {
        let known: Vec<String> = (0..5_000).map(|number| format!("value_{number}_of_pack")).collect();
        let nearby = Nearby::new(known.iter().map(String::as_str));
        for wrong in ["value_4321_of_pakc", "vlaue_4321_of_pack", "value_4321_of_pck", "Value-4321-of-pack"] {
            assert_eq!(nearby.suggest(wrong), Some("value_4321_of_pack"), "{wrong}");
        }
        assert_eq!(nearby.suggest("something_else"), None);
    }
}
