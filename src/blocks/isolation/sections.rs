//! What several readings come to together: those of disjoint sections in the same state lie in parallel, those of the
//! same section are compared.

use crate::words::{Words, words};

/// What a reading was taken of, and how the vehicle stood meanwhile.
#[derive(Clone, Debug, Default)]
pub(super) struct Taken {
    /// Slugs of what was connected; empty where nobody said.
    pub covers: Vec<String>,
    pub state: State,
}

/// As its words say it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct State {
    pub wet: Option<bool>,
    pub contactors_closed: bool,
    pub charging: bool,
}

impl State {
    /// From texts such as `contactors closed, dry`.
    pub(super) fn read<'a>(texts: impl IntoIterator<Item = &'a str>) -> State {
        let text = texts.into_iter().collect::<Vec<_>>().join(" ").to_lowercase();
        let words: Vec<&str> =
            text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let denied = |at: usize| at > 0 && ["not", "never", "no"].contains(&words[at - 1]);
        let has = |wanted: &str| (0..words.len()).any(|at| words[at] == wanted && !denied(at));
        let wet = match (has("wet"), has("dry")) {
            (true, false) => Some(true),
            (false, true) => Some(false),
            _ => None,
        };
        // The first of the words behind it that says how they stood: `contactors were closed`.
        let stood =
            |at: usize| words[at + 1..].iter().take(3).find(|word| ["closed", "open"].contains(*word));
        let closed =
            (0..words.len()).any(|at| words[at].starts_with("contactor") && stood(at) == Some(&"closed"));
        State { wet, contactors_closed: closed, charging: has("charging") }
    }

    fn same(self, other: State) -> bool {
        (self.wet, self.charging) == (other.wet, other.charging)
    }
}

impl Taken {
    /// Closed contactors join all sections.
    pub(super) fn overlaps(&self, other: &Taken) -> bool {
        let joined = self.state.contactors_closed && other.state.contactors_closed;
        joined || self.covers.iter().any(|name| other.covers.contains(name))
    }

    fn is_part_of(&self, other: &Taken) -> bool {
        self.covers.len() < other.covers.len() && self.covers.iter().all(|name| other.covers.contains(name))
    }

    /// Whether two readings of the same cannot both be right: one is more than so many times the other. A part may
    /// have any more than the whole that it belongs to.
    pub(super) fn contradicts(&self, other: &Taken, (own, others): (f64, f64), times: f64) -> bool {
        let said = !self.covers.is_empty() && !other.covers.is_empty();
        if !said || !self.state.same(other.state) || !self.overlaps(other) {
            return false;
        }
        let more = own > times * others * (1.0 + 1e-9);
        let less = others > times * own * (1.0 + 1e-9);
        (more && !self.is_part_of(other)) || (less && !other.is_part_of(self))
    }
}

/// The readings by state, each with the families of disjoint readings in it.
pub(super) struct Sections {
    groups: Vec<Group>,
}

struct Group {
    readings: Vec<usize>,
    /// Maximal families of pairwise disjoint readings. Each leaves no less than the whole has.
    families: Vec<Vec<usize>>,
}

/// More than that many families of one state are not looked through; journals have a few readings.
const MOST: usize = 4096;

impl Sections {
    pub(super) fn of(readings: &[(usize, &Taken)]) -> Sections {
        let mut groups: Vec<Vec<(usize, &Taken)>> = Vec::new();
        for one in readings {
            match groups.iter_mut().find(|group| group[0].1.state.same(one.1.state)) {
                Some(group) => group.push(*one),
                None => groups.push(vec![*one]),
            }
        }
        let groups = groups.into_iter().map(|group| {
            let mut families = Vec::new();
            disjoint(&group, &mut Vec::new(), &mut families);
            Group { readings: group.iter().map(|(at, _)| *at).collect(), families }
        });
        Sections { groups: groups.collect() }
    }

    /// The least that any family of disjoint readings leaves, in parallel; NaN where one of them is.
    pub(super) fn together(&self, resistance: impl Fn(usize) -> f64) -> f64 {
        let of = |family: &Vec<usize>| 1.0 / family.iter().map(|at| 1.0 / resistance(*at)).sum::<f64>();
        let all = self.groups.iter().flat_map(|group| &group.families).map(of);
        all.fold(f64::INFINITY, |least, one| if one >= least { least } else { one })
    }

    /// The same two by two: product over sum.
    pub(super) fn two_by_two(&self, resistance: impl Fn(usize) -> f64) -> f64 {
        let of = |family: &Vec<usize>| {
            let values = family.iter().map(|at| resistance(*at));
            values.reduce(|a, b| if a + b > 0.0 { a * b / (a + b) } else { 0.0 }).unwrap_or(f64::NAN)
        };
        self.groups.iter().flat_map(|group| &group.families).map(of).fold(f64::INFINITY, f64::min)
    }

    /// The sections that no state has readings of all of; empty where one state has all.
    pub(super) fn missing<'a>(&self, taken: &'a [Taken], wanted: &[&'a str]) -> Vec<&'a str> {
        let left = |group: &Group| -> Vec<&'a str> {
            let covered =
                |name: &str| group.readings.iter().any(|at| taken[*at].covers.iter().any(|it| it == name));
            wanted.iter().copied().filter(|name| !covered(name)).collect()
        };
        self.groups.iter().map(left).min_by_key(Vec::len).unwrap_or_default()
    }
}

/// Goes through all families of pairwise disjoint readings that none can be added to.
fn disjoint(group: &[(usize, &Taken)], family: &mut Vec<usize>, found: &mut Vec<Vec<usize>>) {
    if found.len() >= MOST {
        return;
    }
    let fits = |at: usize, family: &[usize]| {
        !family.contains(&at) && family.iter().all(|other| !group[at].1.overlaps(group[*other].1))
    };
    let first = family.last().map_or(0, |last| last + 1);
    let more: Vec<usize> = (first..group.len()).filter(|at| fits(*at, family)).collect();
    if more.is_empty() && (0..group.len()).all(|at| !fits(at, family)) {
        found.push(family.iter().map(|at| group[*at].0).collect());
    }
    for at in more {
        family.push(at);
        disjoint(group, family, found);
        family.pop();
    }
}

/// What the state of a reading leaves open.
pub(super) fn unsaid(state: State) -> Option<Words> {
    state.wet.is_none().then(|| words!("its `state` does not say `wet` or `dry`"))
}

#[cfg(test)]
mod tests {
    use super::{Sections, State, Taken};

    fn taken(covers: &[&str], state: &str) -> Taken {
        Taken { covers: covers.iter().map(|name| (*name).to_owned()).collect(), state: State::read([state]) }
    }

    #[track_caller]
    fn check(readings: &[(Taken, f64)], expected: f64) {
        let numbered: Vec<(usize, &Taken)> = readings.iter().map(|(taken, _)| taken).enumerate().collect();
        let sections = Sections::of(&numbered);
        let resistance = |at: usize| readings[at].1;
        for found in [sections.together(resistance), sections.two_by_two(resistance)] {
            assert!((found - expected).abs() < 1e-9 * expected, "{found} where {expected} is right");
        }
    }

    #[test]
    fn disjoint_sections_lie_in_parallel_and_overlapping_ones_are_compared() {
        check(&[(taken(&["a"], "dry"), 2e6), (taken(&["b"], "dry"), 3e6)], 1.2e6);
        check(&[(taken(&["a"], "dry"), 2e6), (taken(&["a"], "dry"), 3e6)], 2e6);
        // The parts together have less than the reading of both says.
        let both = (taken(&["a", "b"], "dry"), 1.3e6);
        check(&[(taken(&["a"], "dry"), 2e6), both, (taken(&["b"], "dry"), 3e6)], 1.2e6);
        // Closed contactors join them; wet and dry are two states.
        check(
            &[(taken(&["a"], "dry, contactors closed"), 2e6), (taken(&["b"], "dry, contactors closed"), 3e6)],
            2e6,
        );
        check(&[(taken(&["a"], "dry"), 2e6), (taken(&["b"], "wet"), 3e6)], 2e6);
    }

    #[test]
    fn the_words_of_a_state_are_understood() {
        let read = |text| State::read([text]);
        assert_eq!(read("contactors closed, charger unplugged, dry").wet, Some(false));
        assert!(read("Contactors-Closed; wet").contactors_closed);
        assert!(read("main contactors were closed").contactors_closed);
        assert!(!read("contactors open, lid closed, dry").contactors_closed);
        assert_eq!(read("washed").wet, None);
        assert_eq!(read("not dry yet").wet, None);
    }

    #[test]
    fn a_part_may_have_more_than_the_whole_and_no_less() {
        let (part, whole) = (taken(&["a"], "dry"), taken(&["a", "b"], "dry"));
        assert!(!part.contradicts(&whole, (9e6, 1e6), 2.0));
        assert!(part.contradicts(&whole, (1e6, 9e6), 2.0));
        assert!(part.contradicts(&part, (1e6, 2.1e6), 2.0));
        assert!(!part.contradicts(&taken(&["a"], "wet"), (1e6, 9e6), 2.0));
    }
}
