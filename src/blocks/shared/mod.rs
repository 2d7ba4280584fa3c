//! What several kinds have in common. No kind uses another.

pub(in crate::blocks) mod bus_capacitance;
pub(in crate::blocks) mod calibration;
pub(in crate::blocks) mod cell_of;
pub(in crate::blocks) mod charged_pack;
pub(in crate::blocks) mod date;
pub(in crate::blocks) mod drive;
pub(in crate::blocks) mod gears;
pub(in crate::blocks) mod gravity;
pub(in crate::blocks) mod high_voltage;
pub(in crate::blocks) mod invalid_test;
pub(in crate::blocks) mod known_parts;
pub(in crate::blocks) mod lists;
pub(in crate::blocks) mod noted;
pub(in crate::blocks) mod pieces;
pub(in crate::blocks) mod record;
pub(in crate::blocks) mod studies;
pub(in crate::blocks) mod switchgear;
pub(in crate::blocks) mod threads;
pub(in crate::blocks) mod trace;
pub(in crate::blocks) mod working_voltage;
