//! Text put so that it reads back as it was given: a region's body, and a link's text.

use crate::journal::neutral_line;

/// The body of a region as it is written: plain spaces, no spaces at the ends of lines, and no line that
/// could be taken for a mark.
pub(super) fn body_text(body: &str) -> String {
    let body = body.trim_end();
    let mut text = String::with_capacity(body.len());
    let lines = body.split('\n').flat_map(|line| line.strip_suffix('\r').unwrap_or(line).split('\r'));
    for (at, line) in lines.enumerate() {
        if at > 0 {
            text.push('\n');
        }
        match line.trim_end().replace('\u{a0}', " ") {
            line if neutral_line(&line) => text.push_str(&line),
            line => text.push_str(&line.replace("<!--", "&lt;!--")),
        }
    }
    text
}

/// The text of a link as a reader sees it, and as it is typed between the brackets.
pub(super) fn link_text(text: &str) -> (String, String) {
    let plain = text.split_whitespace().collect::<Vec<&str>>().join(" ");
    let mut typed = String::with_capacity(plain.len());
    let mut before = None;
    let mut rest = plain.chars().peekable();
    while let Some(c) = rest.next() {
        // These end code and raw HTML that a stray mark before the link has begun, even behind a backslash.
        let entity = match c {
            '`' => "&#96;",
            '<' => "&lt;",
            '>' => "&gt;",
            _ => "",
        };
        let special = match c {
            '\\' | '[' | ']' | '*' | '&' | '~' | '|' => true,
            // Between letters an underscore is no mark: `US_gal` stays legible.
            '_' => {
                let inside = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
                !(inside(before) && inside(rest.peek().copied()))
            }
            // `[^` would begin a footnote.
            '^' => before.is_none(),
            _ => false,
        };
        if special {
            typed.push('\\');
        }
        match entity {
            "" => typed.push(c),
            entity => typed.push_str(entity),
        }
        before = Some(c);
    }
    (plain, typed)
}
