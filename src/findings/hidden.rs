//! Characters that a terminal obeys or hides are shown by their number, so that what is read is what stands there.

use std::borrow::Cow;
use std::fmt::Write;

/// Control characters, marks of direction, and what has no shape of its own: Unicode 16, general categories Cc, Cf, Zl
/// and Zp, and the default-ignorable code points; a no-break space is none.
pub(crate) fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{ad}'
                | '\u{34f}'
                | '\u{600}'..='\u{605}'
                | '\u{61c}'
                | '\u{6dd}'
                | '\u{70f}'
                | '\u{890}'..='\u{891}'
                | '\u{8e2}'
                | '\u{115f}'..='\u{1160}'
                | '\u{17b4}'..='\u{17b5}'
                | '\u{180b}'..='\u{180f}'
                | '\u{200b}'..='\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}'
                | '\u{3164}'
                | '\u{fe00}'..='\u{fe0f}'
                | '\u{feff}'
                | '\u{ffa0}'
                | '\u{fff0}'..='\u{fffb}'
                | '\u{110bd}'
                | '\u{110cd}'
                | '\u{13430}'..='\u{1343f}'
                | '\u{1bca0}'..='\u{1bca3}'
                | '\u{1d173}'..='\u{1d17a}'
                | '\u{e0000}'..='\u{e0fff}'
        )
}

/// The text with each hidden character, but those that `kept` lets through, as `\u{1b}`.
pub(crate) fn visible<'t>(text: &'t str, kept: &[char]) -> Cow<'t, str> {
    let hides = |c| is_hidden(c) && !kept.contains(&c);
    if !text.contains(hides) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if hides(c) {
            let _ = write!(shown, "\\u{{{:x}}}", u32::from(c));
        } else {
            shown.push(c);
        }
    }
    Cow::Owned(shown)
}

#[cfg(test)]
mod tests {
    use super::visible;

    #[test]
    fn what_is_hidden_is_shown_by_its_number() {
        let cases = [
            ("a\u{1b}[31mb", "a\\u{1b}[31mb"),
            ("\u{202e}drow\u{9b}", "\\u{202e}drow\\u{9b}"),
            ("zero\u{200b}width\u{feff}", "zero\\u{200b}width\\u{feff}"),
            ("a\nb\tc", "a\nb\\u{9}c"),
            ("3 µΩ × 2\u{a0}kW", "3 µΩ × 2\u{a0}kW"),
        ];
        for (text, shown) in cases {
            assert_eq!(visible(text, &['\n']), shown);
        }
    }
}
