//! Escaped text: nothing in it can become a tag, an attribute or a control character.

/// Longer tokens are let go rather than kept on one line: a phone's line holds no more.
const LONGEST_KEPT: usize = 26;
/// Longer words may break anywhere, so that no word is wider than its column.
const LONGEST_WORD: usize = 24;

/// Longer words may break behind a `.`, `_` or `/`, as names of results and addresses have them.
const LONGEST_NAME: usize = 14;

/// The element that keeps a token together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Host {
    Html,
    Svg,
}

/// Appends text, each token that holds U+00A0 in an element that keeps it on one line (class `q`), with plain
/// spaces; a very long word is marked (class `b`) so that it can break.
pub(super) fn push_text(out: &mut String, text: &str, host: Host) {
    let mut rest = text;
    while !rest.is_empty() {
        let gap = rest.find(|letter| !is_gap(letter)).unwrap_or(rest.len());
        push_escaped(out, &rest[..gap]);
        rest = &rest[gap..];
        let end = rest.find(is_gap).unwrap_or(rest.len());
        push_token(out, &rest[..end], host);
        rest = &rest[end..];
    }
}

fn push_token(out: &mut String, token: &str, host: Host) {
    let kept = token.contains('\u{a0}');
    if !kept && token.len() <= LONGEST_NAME {
        return push_escaped(out, token);
    }
    let length = token.chars().count();
    if host == Host::Html && !kept && length <= LONGEST_WORD {
        return push_name(out, token);
    }
    let (open, close) = match host {
        Host::Html if kept && length <= LONGEST_KEPT => ("<span class=\"q\">", "</span>"),
        Host::Html if length > LONGEST_WORD => ("<span class=\"b\">", "</span>"),
        Host::Svg if kept => ("<tspan class=\"q\">", "</tspan>"),
        Host::Html | Host::Svg => ("", ""),
    };
    out.push_str(open);
    push_escaped(out, token);
    out.push_str(close);
}

/// A word that may break where its parts meet.
fn push_name(out: &mut String, word: &str) {
    let mut gap = "";
    for part in word.split_inclusive(['.', '_', '/']) {
        out.push_str(gap);
        push_escaped(out, part);
        gap = "<wbr>";
    }
}

/// Appends text that is safe between tags and between quotes; U+00A0 becomes a plain space.
pub(super) fn push_escaped(out: &mut String, text: &str) {
    let mut done = 0;
    for (at, letter) in text.char_indices() {
        let replacement = match letter {
            '&' => "&amp;",
            '<' => "&lt;",
            '>' => "&gt;",
            '"' => "&quot;",
            '\'' => "&#39;",
            '\u{a0}' => " ",
            letter if is_stray(letter) => "\u{fffd}",
            _ => continue,
        };
        out.push_str(&text[done..at]);
        out.push_str(replacement);
        done = at + letter.len_utf8();
    }
    out.push_str(&text[done..]);
}

/// Text with plain spaces and without control characters, for a template to escape.
pub(super) fn plain(text: &str) -> String {
    let shown = |letter| match letter {
        '\u{a0}' => ' ',
        letter if is_stray(letter) => '\u{fffd}',
        letter => letter,
    };
    text.chars().map(shown).collect()
}

pub(super) fn is_gap(letter: char) -> bool {
    letter.is_whitespace() && letter != '\u{a0}'
}

/// Control characters that HTML forbids.
fn is_stray(letter: char) -> bool {
    letter.is_control() && !matches!(letter, '\t' | '\n' | '\r')
}

#[cfg(test)]
mod tests {
    use super::{Host, push_text};

    #[track_caller]
    fn check(text: &str, expected: &str) {
        let mut out = String::new();
        push_text(&mut out, text, Host::Html);
        assert_eq!(out, expected);
    }

    #[test]
    fn a_shown_number_keeps_together_and_reads_with_plain_spaces() {
        check("at (12\u{a0}133\u{a0}rpm), as 1 asks", "at <span class=\"q\">(12 133 rpm),</span> as 1 asks");
    }

    #[test]
    fn no_letter_opens_a_tag_or_a_quote() {
        check("<b a=\"1\" c='2'>&\0", "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;\u{fffd}");
        check("\u{a0}<i>", "<span class=\"q\"> &lt;i&gt;</span>");
    }

    #[test]
    fn a_long_name_may_break_between_its_parts() {
        check("pack.peak_power", "pack.<wbr>peak_<wbr>power");
        check("pack.mass 3.5", "pack.mass 3.5");
        check("of_this_chapter.", "of_<wbr>this_<wbr>chapter.");
    }

    #[test]
    fn a_token_wider_than_a_phone_may_break() {
        let long = "x".repeat(200);
        check(&long, &format!("<span class=\"b\">{long}</span>"));
        check(&format!("{long}\u{a0}m"), &format!("<span class=\"b\">{long} m</span>"));
    }
}
