//! The parts of the journal that carry high voltage in a case, as far as their roles tell.

use crate::model::{Form, Looked};

/// A part that is fitted to the vehicle, as far as a ledger's list of what was installed says so.
pub(in crate::blocks) struct KnownPart {
    pub name: String,
    /// The last word of its role: `motor` of `drive motor`.
    pub role: String,
    /// What the part says of its `case`, in small letters.
    case: String,
}

/// Roles of what carries high voltage and is built into a case of metal unless it says otherwise.
const CASED: [&str; 6] = ["motor", "inverter", "charger", "converter", "heater", "compressor"];

impl KnownPart {
    /// All parts of the journal; where a ledger lists what was installed, those alone.
    pub(in crate::blocks) fn all(form: &mut Form<'_, '_>) -> Vec<KnownPart> {
        let ledgers = form.lookup().blocks(&["mass-ledger"], Looked::At(&["installed"]));
        let listed = ledgers.iter().flat_map(|ledger| ledger.names("installed", &["part"]));
        let installed: Vec<&str> = listed.map(|name| known_as(form, name)).collect();
        let parts = form.lookup().blocks(&["part"], Looked::At(&["role", "case"]));
        let fitted = parts.iter().filter(|part| installed.is_empty() || installed.contains(&part.name));
        fitted
            .map(|part| KnownPart {
                name: part.name.to_owned(),
                role: last_word(&part.text("role").to_lowercase()).to_owned(),
                case: part.text("case").to_lowercase(),
            })
            .collect()
    }

    pub(in crate::blocks) fn carries_high_voltage(&self) -> bool {
        CASED.contains(&self.role.as_str())
    }

    /// It can be touched, and would be live by a fault within.
    pub(in crate::blocks) fn has_conductive_case(&self) -> bool {
        let says = |words: &[&str]| words.iter().any(|word| self.case.contains(word));
        match self.case.is_empty() {
            true => self.carries_high_voltage(),
            false => !says(&["plastic", "insulat", "non-conductive", "not conductive", "glass"]),
        }
    }
}

/// What a block is known by, whichever of its names stands there; a text that names none as it is.
pub(in crate::blocks) fn known_as<'t, 'n: 't>(form: &mut Form<'_, 'n>, text: &'t str) -> &'t str {
    form.lookup().block(text, "role").map_or(text, |block| block.name)
}

fn last_word(text: &str) -> &str {
    text.rsplit(|c: char| !c.is_alphanumeric()).find(|word| !word.is_empty()).unwrap_or_default()
}
