//! Which link addresses a dossier may bear: http, https, mailto, and places in the journal.

/// Schemes that a link may have.
const SCHEMES: [&str; 3] = ["http", "https", "mailto"];

/// The address as it may be printed, or `None` if it is not safe. Whatever a browser overlooks (control
/// characters, spaces before and within the scheme, case) is overlooked here too.
pub(super) fn safe_address(raw: &str) -> Option<String> {
    let visible: String = raw.chars().filter(|c| !hidden(*c)).collect();
    let address = visible.trim();
    let tight: String =
        address.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_ascii_lowercase();
    let head = &tight[..tight.find(['/', '?', '#', '\\']).unwrap_or(tight.len())];
    let safe = match head.split_once(':') {
        Some((scheme, _)) => SCHEMES.contains(&scheme),
        // `//host` is another machine and `/path` a place outside the journal.
        None => !tight.starts_with(['/', '\\']),
    };
    safe.then(|| address.to_owned())
}

/// Characters that are not seen and that browsers drop from an address or a scheme.
fn hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::safe_address;

    #[test]
    fn only_the_web_mail_and_the_journal_itself_are_linked() {
        let safe = [
            "https://x.org/a:b",
            "HTTP://x",
            "mailto:a@b.c",
            "evidence/a.pdf",
            "#drive",
            "?a:b",
            "a#b:c",
            "",
        ];
        for address in safe {
            assert!(safe_address(address).is_some(), "{address}");
        }
        let unsafe_ones = [
            "javascript:alert(1)",
            "JaVaScRiPt:x",
            " \tjava\nscript:x",
            "java\u{200b}script:x",
            "\u{1}javascript:x",
            "java script:x",
            "data:text/html,x",
            "vbscript:x",
            "file:///etc",
            "//host/x",
            "\\\\host\\x",
            "/etc/x",
            "java%73cript:x",
        ];
        for address in unsafe_ones {
            assert!(safe_address(address).is_none(), "{address}");
        }
    }
}
