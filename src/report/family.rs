//! Results over a list as a table: one row a case, one column a result.

use super::ResultRow;
use crate::model::{Case, Family};

/// Results over a list.
pub(crate) struct FamilyTable {
    pub family: &'static Family,
    /// In the order of the journal.
    pub cases: Vec<Case>,
    pub columns: Vec<FamilyColumn>,
}

/// One result of each case.
pub(crate) struct FamilyColumn {
    /// The result's name without its case: `consumption`.
    pub name: String,
    pub label: &'static str,
    pub principal: bool,
    /// Which of the block's results stands there; `None` where that case has none.
    pub cells: Vec<Option<usize>>,
}

/// The tables of results over lists, in the order in which their first results stand.
pub(super) fn families(results: &[ResultRow]) -> Vec<FamilyTable> {
    let mut tables: Vec<FamilyTable> = Vec::new();
    for (at, result) in results.iter().enumerate() {
        let (Some(row), Some(case)) = (result.row, &result.case) else { continue };
        let Some(family) = row.family else { continue };
        let table = match tables.iter().position(|table| std::ptr::eq(table.family, family)) {
            Some(known) => &mut tables[known],
            None => {
                tables.push(FamilyTable { family, cases: Vec::new(), columns: Vec::new() });
                let last = tables.len() - 1;
                &mut tables[last]
            }
        };
        let place = table.cases.iter().position(|known| known == case).unwrap_or_else(|| {
            table.cases.push(case.clone());
            table.cases.len() - 1
        });
        let name = row.name.replace(family.case, "").replace("__", "_").trim_matches('_').to_owned();
        let column = match table.columns.iter().position(|column| column.name == name) {
            Some(known) => &mut table.columns[known],
            None => {
                let column =
                    FamilyColumn { name, label: row.label, principal: row.principal, cells: Vec::new() };
                table.columns.push(column);
                let last = table.columns.len() - 1;
                &mut table.columns[last]
            }
        };
        if column.cells.len() <= place {
            column.cells.resize(place + 1, None);
        }
        column.cells[place] = Some(at);
    }
    for table in &mut tables {
        let count = table.cases.len();
        table.columns.iter_mut().for_each(|column| column.cells.resize(count, None));
    }
    tables
}
