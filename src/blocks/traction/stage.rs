//! A stage of the chain, as the chain has it.

use super::takes::{STAGE_EFFICIENCY, STAGE_LIMIT, STAGE_RATIO, STAGE_RATIO_IN};
use crate::blocks::shared::gears::written_names;
use crate::model::{BlockName, Case, Form, Node, Slot};
use crate::quantities::si::Ratio;
use crate::quantities::slug;

/// Its values there.
pub(super) struct StageOf {
    pub(super) case: Case,
    pub(super) ratios: Vec<Slot<Ratio>>,
    pub(super) efficiency: Slot<Ratio>,
    pub(super) is_limited: bool,
}

impl StageOf {
    /// All of a chain.
    pub(super) fn read(
        form: &mut Form<'_, '_>,
        (chain, stages): (Option<&BlockName>, &Node),
    ) -> Vec<StageOf> {
        let mut lookup = form.lookup();
        let written = stages.items().unwrap_or_default().iter().zip(written_names(stages));
        let mut known: Vec<String> = Vec::new();
        let stage = |(stage, names): (&Node, Vec<String>)| {
            let title = stage.get("name").and_then(Node::text)?.trim().to_owned();
            let case = Case { slug: slug(&title), title };
            // The chain's finding has been made of a name that is there twice.
            if known.contains(&case.slug) {
                return None;
            }
            known.push(case.slug.clone());
            let of = |name: &String| STAGE_RATIO_IN.with("STAGE", &*case.slug).with("GEAR", slug(name));
            let ratios = match names.as_slice() {
                [] => vec![lookup.taken(STAGE_RATIO.with("STAGE", &*case.slug), chain)],
                names => names.iter().map(|name| lookup.taken(of(name), chain)).collect(),
            };
            let efficiency = lookup.taken(STAGE_EFFICIENCY.with("STAGE", &*case.slug), chain);
            let is_limited = stage.get("torque_limit").is_some();
            if is_limited {
                // Requirements name it.
                lookup.taken(STAGE_LIMIT.with("STAGE", &*case.slug), chain);
            }
            Some(StageOf { case, ratios, efficiency, is_limited })
        };
        written.filter_map(stage).collect()
    }
}
