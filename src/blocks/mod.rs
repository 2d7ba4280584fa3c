//! One file a kind. Knows no Markdown, YAML, HTML and no other block; no I/O; pure; no constant that the reader can't see.

mod battery_limits;
mod bonding;
mod charging;
mod clearance;
mod coast_down;
mod contactors;
mod converter_budget;
mod coolant_loop;
mod discharge;
mod energy_use;
mod fuse;
mod hv_cable;
mod identity;
mod inspection;
mod isolation;
mod mass_ledger;
mod pack_heat;
mod pack_layout;
mod part;
mod precharge;
mod ratio_chain;
mod regeneration_check;
mod rescue;
mod restraint;
mod road_load;
mod shared;
mod solve_for;
mod sources;
mod targets;
mod test_record;
mod tightening;
mod traction;
mod trade_study;
mod voltage_span;
mod worksheet;

#[cfg(test)]
mod broken_test;
#[cfg(test)]
mod coverage_test;
#[cfg(test)]
mod growth_test;
#[cfg(test)]
mod packs_test;
#[cfg(test)]
mod printed_test;
#[cfg(test)]
mod rows_test;
#[cfg(test)]
mod spelt_test;
#[cfg(test)]
mod sweep_test;

// Kinds that the papers and the commands treat in a way of their own.
pub(crate) use charging::KIND as CHARGING;
pub(crate) use contactors::KIND as CONTACTORS;
pub(crate) use converter_budget::KIND as CONVERTER_BUDGET;
pub(crate) use discharge::KIND as DISCHARGE;
pub(crate) use fuse::KIND as FUSE;
pub(crate) use hv_cable::{KIND as HV_CABLE, THREE_PHASE};
pub(crate) use isolation::KIND as ISOLATION;
pub(crate) use pack_layout::KIND as PACK_LAYOUT;
pub(crate) use part::KIND as PART;
pub(crate) use precharge::KIND as PRECHARGE;
pub(crate) use sources::KIND as SOURCES;
pub(crate) use targets::KIND as TARGETS;
pub(crate) use trade_study::KIND as TRADE_STUDY;

use crate::model::Kind;

/// Every kind, in the order of the reference.
pub(crate) static KINDS: &[&Kind] = &[
    &part::KIND,
    &sources::KIND,
    &targets::KIND,
    &ratio_chain::KIND,
    &mass_ledger::KIND,
    &pack_layout::KIND,
    &road_load::KIND,
    &traction::KIND,
    &energy_use::KIND,
    &coast_down::KIND,
    &pack_heat::KIND,
    &hv_cable::KIND,
    &fuse::KIND,
    &contactors::KIND,
    &voltage_span::KIND,
    &precharge::KIND,
    &discharge::KIND,
    &charging::KIND,
    &isolation::KIND,
    &bonding::KIND,
    &regeneration_check::KIND,
    &battery_limits::KIND,
    &converter_budget::KIND,
    &coolant_loop::KIND,
    &restraint::KIND,
    &clearance::KIND,
    &identity::KIND,
    &test_record::KIND,
    &tightening::KIND,
    &inspection::KIND,
    &rescue::KIND,
    &worksheet::KIND,
    &trade_study::KIND,
    &solve_for::KIND,
];
