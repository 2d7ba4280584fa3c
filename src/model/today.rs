//! The day on which a journal is worked, as its folder tells it: kinds hold the days of tests against it.

use super::form::Form;

/// `2026-11-25`, where it is known.
pub(crate) fn today<'n>(form: &Form<'_, 'n>) -> Option<&'n str> {
    form.draft.evidence.today()
}
