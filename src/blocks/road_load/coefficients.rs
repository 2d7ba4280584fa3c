//! Coefficients that were found elsewhere, and the mass that they were found at.

use super::Resistance;
use super::results::{TAKEN_F0, TAKEN_F1, TAKEN_F2, TAKEN_MASS};
use crate::model::{BlockName, Form};
use crate::quantities::si::{Area, Ratio};

pub(super) fn read_coefficients(form: &mut Form<'_, '_>) -> Resistance {
    let other =
        ["drag_coefficient", "frontal_area", "rolling_coefficient"].into_iter().find(|key| form.has(key));
    if let Some(key) = other {
        form.one_of(&["coefficients", key]);
    }
    form.optional::<Ratio>("drag_coefficient");
    form.optional::<Area>("frontal_area");
    form.optional::<Ratio>("rolling_coefficient");
    if form.take("coefficients").is_some_and(|value| value.text().is_some()) {
        let block = form.lookup().block_name("coefficients");
        let (block, mut lookup) = (block.as_ref(), form.lookup());
        return Resistance::Given {
            f0: lookup.taken(&TAKEN_F0, block),
            f1: lookup.taken(&TAKEN_F1, block),
            f2: lookup.taken(&TAKEN_F2, block),
            fit_mass: lookup.if_there(&TAKEN_MASS, block),
        };
    }
    let mut fit = None;
    let given = form.group("coefficients", |form| {
        fit = fit_of(form);
        (form.required("f0"), form.assumed("f1"), form.required("f2"))
    });
    let fit_mass = form.lookup().if_there(&TAKEN_MASS, fit.as_ref());
    let given = given.map(|(f0, f1, f2)| Resistance::Given { f0, f1, f2, fit_mass });
    given.unwrap_or_else(|| Resistance::Given {
        f0: form.if_given("coefficients.f0"),
        f1: form.if_given("coefficients.f1"),
        f2: form.if_given("coefficients.f2"),
        fit_mass: None,
    })
}

/// The coast-down whose `f0` stands as it is: `f0: from rolling.f0`.
fn fit_of(form: &mut Form<'_, '_>) -> Option<BlockName> {
    let value = form.take("f0")?;
    let text = value.text()?.trim();
    let name = text.strip_prefix("from ").unwrap_or(text).trim().strip_suffix(".f0")?;
    form.lookup().block(name, "").filter(|block| block.kind == "coast-down")?;
    Some(BlockName { name: name.to_owned(), span: value.span, field: "coefficients".to_owned(), within: "" })
}
