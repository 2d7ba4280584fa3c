//! One file a kind. Knows no Markdown, YAML, HTML and no other block; no I/O; pure; no constant that the reader can't see.

mod battery_limits;
mod bonding;
mod charged_pack;
mod charging;
mod charging_held;
mod charging_phases;
mod charging_signals;
mod charging_supply;
mod clearance;
mod coast_down;
mod coast_down_fields;
mod coast_down_fit;
mod contactors;
mod converter_budget;
mod coolant_loop;
mod discharge;
mod energy_use;
mod energy_use_chart;
mod energy_use_cuts;
mod energy_use_cycle;
mod energy_use_declare;
mod energy_use_fields;
mod energy_use_map;
mod energy_use_page;
mod energy_use_run;
mod fuse;
mod high_voltage;
mod hv_cable;
mod hv_cable_conductor;
mod isolation;
mod isolation_reading;
mod mass_ledger;
mod mass_ledger_axles;
mod mass_ledger_items;
mod mass_ledger_remarks;
mod pack_heat;
mod pack_layout;
mod pack_layout_curve;
mod pack_layout_remarks;
mod pack_layout_results;
mod part;
mod precharge;
mod precharge_load;
mod ratio_chain;
mod regeneration_check;
mod restraint;
mod restraint_fasteners;
mod road_load;
mod road_load_air;
mod road_load_fields;
mod sources;
mod targets;
mod traction;
mod traction_drive;
mod traction_faults;
mod traction_fields;
mod traction_given;
mod traction_grip;
mod traction_hill;
mod traction_present;
mod traction_results;
mod traction_travel;
mod tyre;
mod voltage_span;
mod working_voltage;
mod worksheet;

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
    &worksheet::KIND,
];
