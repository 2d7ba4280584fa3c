//! Holds what the author wrote, typed; names no particular kind.

mod accuracy;
mod aggregate;
mod alike;
mod block;
mod changed;
mod chart;
mod cited;
mod condition;
mod confirmed;
mod curves;
mod directory;
mod evidence;
mod field;
mod form;
mod form_fields;
mod form_findings;
mod form_tables;
mod front;
mod gather;
mod kind;
mod leaf;
mod list;
mod long_form;
mod lookup;
mod node;
mod notebook;
mod old_names;
mod outcomes;
mod own;
mod own_or_parts;
mod packs;
mod page;
mod papers;
mod pictures;
mod place;
mod possible;
mod purpose;
mod read;
mod refusal;
mod replaced;
mod requirement_row;
mod roles;
mod row;
mod ruled;
mod scalar;
mod slot;
mod spelling;
mod study;
mod today;
mod together;
mod trade;
mod worth;

#[cfg(test)]
mod tests;

pub(crate) use aggregate::ALL_PARTS;
pub(crate) use alike::Alike;
pub(crate) use block::{Bench, Block};
pub(crate) use changed::{Change, Changeable, Changed};
pub(crate) use chart::{
    Axis, AxleLoad, Centre, Chart, Coolant, Cooled, Driveline, Gearing, Limited, LinesChart, Masses, Passed,
    PlacedMass, PointsChart, Series, Shaft, Side, Strings,
};
pub(crate) use condition::{Condition, Input, held};
pub(crate) use evidence::{Evidence, EvidenceFault, sha_256};
pub(crate) use field::{FieldDoc, FieldSort, Needed, Range, Takes};
#[cfg(test)]
pub(crate) use form::READ;
pub(crate) use form::{Form, Regard};
pub(crate) use form_fields::Any;
pub(crate) use form_tables::Table;
pub(crate) use kind::{Example, Kind};
pub(crate) use leaf::{Claim, Leaf, Readings, SPREAD, Supposed};
pub(crate) use list::{Entry, LABELS};
pub(crate) use lookup::{BlockName, Looked};
pub(crate) use node::{
    Computed, NodeDecl, Origin, Requirement, Resolved, Role, Status, Wanted, capital, in_words,
};
pub(crate) use notebook::{BlockEntry, LiveEntry, Notebook};
#[cfg(test)]
pub(crate) use old_names::names_of_today;
pub(crate) use old_names::{name_of_today, rename_old};
pub(crate) use outcomes::Outcomes;
#[cfg(test)]
pub(crate) use packs::{could_be, misfits};
pub(crate) use packs::{items_of, requirement_name};
pub(crate) use page::{Caution, Grid, NOT_AN_APPROVAL, Page, Said, SourceEntry, percent};
pub(crate) use papers::{
    Calibration, Confirmation, Record, Reply, RescuePlace, RescueSheet, RescueThing, Statement,
};
pub(crate) use pictures::{PictureName, is_picture, picture_path, pictures_in, pictures_of};
pub(crate) use possible::{Possible, unusual};
pub(crate) use purpose::{Detail, Load, Over, Purpose};
pub(crate) use read::read;
pub(crate) use refusal::Refusal;
pub(crate) use requirement_row::{RequirementKind, RequirementRow, Stage};
pub(crate) use roles::{INVERTER, MOTOR, ROLES, ReadValue, own_value, read_from};
pub(crate) use row::fill;
pub(crate) use row::{Case, Family, ResultRow, Row, Taken, TakenRow, Way};
pub(crate) use slot::Slot;
pub(crate) use study::{Answer, Goal, Solve, Solved, Study};
pub(crate) use today::today;
pub(crate) use trade::Way as Preferred;
pub(crate) use trade::{
    Astray, Column, Decided, Dropped, Firm, Preference, Trade, Traded, TradedRow, Varied,
};
pub(crate) use worth::{device_accuracy, own_name_sort, supposed_rows};
// What a form hands on unread: a piece of the block as its author typed it.
pub(crate) use crate::journal::Node;
