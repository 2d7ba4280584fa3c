//! What to type instead of a text that is no value, where it can be known what is meant.

use super::number::{looks_like_number, starts_like_number};
use super::unit::money_sign;
use crate::words::{Words, words};

/// Words that say that a value is not known well.
const ABOUT: &[&str] =
    &["~", "≈", "about ", "approx. ", "approx ", "around ", "ca. ", "ca ", "c. ", "circa "];
/// Signs of a comparison.
const COMPARES: [char; 5] = ['<', '>', '≤', '≥', '='];
/// Fractions that a keyboard or a word processor makes, as decimals.
pub(super) const FRACTIONS: &[(char, &str)] = &[
    ('½', "5"),
    ('¼', "25"),
    ('¾', "75"),
    ('⅛', "125"),
    ('⅜', "375"),
    ('⅝', "625"),
    ('⅞', "875"),
    ('⅕', "2"),
    ('⅖', "4"),
    ('⅗', "6"),
    ('⅘', "8"),
];

/// What to type instead of a text that begins with no number.
pub(crate) fn instead_of(text: &str) -> Option<Words> {
    let text = text.trim();
    if let Some(rest) = ABOUT.iter().find_map(|word| text.strip_prefix(word))
        && looks_like_number(rest)
    {
        return Some(words!("type `{} ± …`, with what it may be off by", rest.trim()));
    }
    let unsigned = text.trim_start_matches(['+', '-', '−']);
    if unsigned.starts_with('.') {
        return Some(words!("put a 0 before the point: `{}`", text.replacen('.', "0.", 1)));
    }
    if let Some((sign, decimals)) = FRACTIONS.iter().find(|(sign, _)| text.starts_with(*sign)) {
        let rest = &text[sign.len_utf8()..];
        return Some(words!("type decimals: `0.{}{}`", decimals, rest));
    }
    if let Some(rest) = text.strip_prefix('=').filter(|rest| !rest.starts_with('=')) {
        return Some(words!("type `from {}`", rest.trim()));
    }
    if text.starts_with(COMPARES) {
        return Some("type the value alone; comparisons stand in `targets` and under `checks`".into());
    }
    let letters = text.find(|c: char| !c.is_alphabetic()).unwrap_or(text.len());
    let sign = text.chars().next().map_or(0, char::len_utf8);
    [letters, sign].into_iter().find_map(|length| {
        let (sign, number) = text.split_at(length);
        let code = money_sign(sign)?;
        let number = number.trim();
        starts_like_number(number)
            .then(|| words!("the unit stands behind the number: type `{} {}`", number, code))
    })
}
