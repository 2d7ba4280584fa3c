//! What an author means by how a value is spelt.

/// Whether an option word is typed, in any case, with `_` for `-` as words of before had it; `true` and `false` are yes
/// and no.
pub(super) fn is_option(typed: &str, word: &str) -> bool {
    let typed = typed.to_lowercase().replace('_', "-");
    let plain = match typed.as_str() {
        "true" => "yes",
        "false" => "no",
        other => other,
    };
    plain == word.to_lowercase()
}

/// Whether a text is the path of a table.
pub(super) fn names_a_file(text: &str) -> bool {
    let lower = text.to_lowercase();
    [".csv", ".txt", ".tsv"].iter().any(|ending| lower.ends_with(ending))
}
