//! The combinations of named ratios that a chain of stages has: gears by ranges.

use crate::model::{BlockName, Case, Form, Node};
use crate::quantities::slug;

/// So many combinations are worked; a chain with more is a mistake.
pub(in crate::blocks) const MOST: usize = 200;

/// One named ratio of each stage that has several.
pub(in crate::blocks) struct Combination {
    /// Called by the names in the order of the stages: `third.high`, in names of results `third_high`.
    pub case: Case,
    /// Which ratio of each stage, 0 where it has only one.
    pub picks: Vec<usize>,
}

/// All of them, the last stage turning fastest; the names of each stage, none where it has one ratio. Empty where no
/// stage has names, or there are too many.
pub(in crate::blocks) fn combinations(stages: &[Vec<String>]) -> Vec<Combination> {
    let counts = stages.iter().map(|names| names.len().max(1));
    let count = counts.fold(1usize, usize::saturating_mul);
    if stages.iter().all(Vec::is_empty) || count > MOST {
        return Vec::new();
    }
    (0..count).map(|number| of_number(stages, number)).collect()
}

fn of_number(stages: &[Vec<String>], number: usize) -> Combination {
    let mut rest = number;
    let mut picks = vec![0; stages.len()];
    for (pick, names) in picks.iter_mut().zip(stages).rev() {
        let count = names.len().max(1);
        *pick = rest % count;
        rest /= count;
    }
    let named: Vec<&str> =
        stages.iter().zip(&picks).filter_map(|(names, pick)| Some(names.get(*pick)?.as_str())).collect();
    let slugs: Vec<String> = named.iter().map(|name| slug(name)).collect();
    Combination { case: Case { slug: slugs.join("_"), title: named.join(".") }, picks }
}

/// Those of a chain that another block names.
pub(in crate::blocks) fn combinations_of(
    form: &mut Form<'_, '_>,
    chain: Option<&BlockName>,
) -> Vec<Combination> {
    let stages = chain.and_then(|chain| form.lookup().block(&chain.name, "stages")?.written("stages"));
    combinations(&stages.map(written_names).unwrap_or_default())
}

/// The names of the ratios of each stage, as another block has them written.
pub(in crate::blocks) fn written_names(stages: &Node) -> Vec<Vec<String>> {
    let names = |stage: &Node| {
        let ratios = stage.get("ratios").and_then(Node::entries).unwrap_or_default();
        let named = ratios.iter().filter_map(|(name, _)| name.text());
        named.filter(|name| name.contains(char::is_alphabetic)).map(str::to_owned).collect()
    };
    stages.items().unwrap_or_default().iter().map(names).collect()
}

#[cfg(test)]
mod tests {
    use super::combinations;

    #[test]
    fn names_are_joined_in_the_order_of_the_stages() {
        let own = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
        let found = combinations(&[own(&[]), own(&["first", "Second"]), own(&["high", "low"])]);
        let slugs: Vec<&str> = found.iter().map(|one| one.case.slug.as_str()).collect();
        assert_eq!(slugs, ["first_high", "first_low", "second_high", "second_low"]);
        assert_eq!(found[2].case.title, "Second.high");
        assert_eq!(found[2].picks, [0, 1, 0]);
        assert!(combinations(&[own(&[]), own(&[])]).is_empty());
    }
}
