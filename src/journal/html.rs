//! Raw HTML in prose: a short list of safe tags is understood, comments are left out, the rest is text.

/// A piece of raw HTML.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Piece<'a> {
    /// `<br>`
    Break,
    Open(Script),
    Close(Script),
    /// Not shown, as in any viewer.
    Comment,
    /// Text between tags.
    Text(&'a str),
    /// A tag that is shown as text.
    Tag(&'a str),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Script {
    /// `<sub>`
    Sub,
    /// `<sup>`
    Sup,
}

/// Takes raw HTML apart; put end to end, the pieces are the text.
pub(super) fn pieces(html: &str) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let mut rest = html;
    while !rest.is_empty() {
        let (text, tag) = rest.split_at(rest.find('<').unwrap_or(rest.len()));
        if !text.is_empty() {
            pieces.push(Piece::Text(text));
        }
        let comment = tag.starts_with("<!--");
        let close = if comment { "-->" } else { ">" };
        let Some(length) = tag.find(close).map(|at| at + close.len()) else {
            if !tag.is_empty() {
                pieces.push(Piece::Tag(tag));
            }
            break;
        };
        pieces.push(if comment { Piece::Comment } else { known(&tag[..length]) });
        rest = &tag[length..];
    }
    pieces
}

fn known(tag: &str) -> Piece<'_> {
    let inner = tag.trim_start_matches('<').trim_end_matches('>').trim_end();
    match inner.to_ascii_lowercase().as_str() {
        "br" | "br/" | "br /" => Piece::Break,
        "sub" => Piece::Open(Script::Sub),
        "sup" => Piece::Open(Script::Sup),
        "/sub" => Piece::Close(Script::Sub),
        "/sup" => Piece::Close(Script::Sup),
        _ => Piece::Tag(tag),
    }
}

#[cfg(test)]
mod tests {
    use super::{Piece, Script, pieces};

    #[test]
    fn a_tag_with_an_attribute_is_not_safe() {
        let expected = [
            Piece::Open(Script::Sub),
            Piece::Text("x"),
            Piece::Close(Script::Sub),
            Piece::Break,
            Piece::Tag("<sub onclick=x>"),
            Piece::Comment,
            Piece::Tag("<b"),
        ];
        assert_eq!(pieces("<SUB>x</sub><br/><sub onclick=x><!-- > --><b"), expected);
    }
}
