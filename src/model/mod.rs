//! Holds what the author wrote, typed; names no particular kind.

mod aggregate;
mod block;
mod cited;
mod curves;
mod directory;
mod evidence;
mod form;
mod form_blocks;
mod form_findings;
mod form_known;
mod form_lists;
mod form_named;
mod form_needed;
mod form_rules;
mod form_scatter;
mod form_tables;
mod form_texts;
mod front;
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
mod page;
mod pictures;
mod replaced;
mod requirement_row;
mod row;
mod scalar;
mod together;
mod worth;

#[cfg(test)]
mod tests;

pub(crate) use block::{Bench, Block, Slot};
pub(crate) use evidence::{Evidence, EvidenceFault, sha_256};
pub(crate) use form::Form;
pub(crate) use form_blocks::BlockName;
pub(crate) use form_tables::Table;
pub(crate) use kind::{Example, FieldDoc, FieldSort, Kind, Needed, Range, Takes};
pub(crate) use leaf::{Claim, Leaf, Readings, Supposed};
pub(crate) use list::Entry;
pub(crate) use node::{
    Computed, NodeDecl, Origin, Requirement, RequirementKind, Resolved, Role, Status, Wanted, capital,
};
pub(crate) use notebook::{BlockEntry, LiveEntry, Notebook, read};
pub(crate) use old_names::today;
pub(crate) use outcomes::Outcomes;
pub(crate) use own::{OwnStep, Visibility};
pub(crate) use page::{
    Axis, Caution, Chart, LinesChart, NOT_AN_APPROVAL, Page, Said, Series, Shaft, SourceEntry, percent,
};
pub(crate) use pictures::{PictureName, is_picture, picture_path, pictures_in, pictures_of};
pub(crate) use requirement_row::{RequirementRow, Stage};
pub(crate) use row::fill;
pub(crate) use row::{Case, Family, ResultRow, Row, Taken, TakenRow, Way};
pub(crate) use worth::supposed_rows;
