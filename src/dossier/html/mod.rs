//! Prints a document as one HTML page that loads nothing outside itself and runs no script but its own.

mod again;
mod anchors;
mod base64;
mod printer;
mod rich;
mod svg;
mod table;
mod templates;
mod text;

#[cfg(test)]
mod chapter;
#[cfg(test)]
mod sample;
#[cfg(test)]
mod tests;

use minijinja::{Value, context};
use sha2::{Digest, Sha256};

pub(crate) use self::again::Printed;
use self::printer::Printer;
use self::templates::render;
use self::text::plain;
use super::piece::{Columns, Document, Paper};

/// The page's own script: what finds a name and filters.
const FIND: &str = include_str!("../../../templates/find.js");

/// The faces that tables are set in, as in the PDF: regular and bold, the letters and signs of the Latin and the Greek
/// world alone.
const FACES: [&[u8]; 2] = [
    include_bytes!("../../../templates/fonts/RobotoCondensed-Regular.woff2"),
    include_bytes!("../../../templates/fonts/RobotoCondensed-Bold.woff2"),
];

/// The whole page, UTF-8, the same for the same document.
///
/// Every text of the document is escaped. The page's policy allows no request, and no style and no script but its own
/// sheet and the one that finds names, by their hashes: neither this printer nor a template may write a `style`
/// attribute. A link whose place is not in the document is printed as its text.
pub(crate) fn html(document: &Document) -> String {
    let body = Printer::new(document).entries(&document.items);
    page(document, body, None)
}

/// What stands above a page that follows its journal: lines for whoever reads it, and which edition of the page it is.
pub(crate) struct Live<'a> {
    pub lines: &'a [String],
    pub edition: &'a str,
}

/// The page around its body. As `watch` serves it, it may load one script and one sheet from where it came beside its
/// own sheet, and ask there for news.
fn page(document: &Document, body: String, live: Option<&Live<'_>>) -> String {
    let paper = match document.paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    // Browsers hash what they parsed, and they parse a carriage return as a line feed.
    let [regular, bold] = FACES.map(|face| Value::from_safe_string(base64::encode(face)));
    let style = render("style.css", context! { paper, regular, bold }).replace('\r', "");
    // A page that follows its journal has a script of its own.
    let script = live.is_none().then(|| FIND.replace('\r', ""));
    let policy = match &script {
        Some(script) => policy(&style, ["", &format!("; script-src {}", hashed(script))]),
        None => policy(&style, ["'self' ", "; script-src 'self'; connect-src 'self'"]),
    };
    let has_contents = document.items.iter().any(|item| item.id.as_deref() == Some("contents"));
    let live = live.map(|live| {
        let lines: Vec<String> = live.lines.iter().map(|line| plain(line)).collect();
        context! { lines, edition => plain(live.edition) }
    });
    render(
        "page.html",
        context! {
            policy,
            live,
            language => document.language,
            title => plain(&document.title),
            one => document.columns == Columns::One,
            running => plain(&document.running),
            generator => plain(&document.generator),
            style => Value::from_safe_string(style),
            body => Value::from_safe_string(body),
            script => script.map(Value::from_safe_string),
            contents => if has_contents { "contents" } else { "vw:text" },
        },
    )
}

/// The content security policy under which only this style sheet applies, and what else is allowed.
fn policy(style: &str, [sheets, more]: [&str; 2]) -> String {
    format!(
        "default-src 'none'; style-src {sheets}{}; img-src data:; font-src data:; base-uri 'none'; form-action 'none'{more}",
        hashed(style)
    )
}

/// What stands for a text in a policy.
fn hashed(text: &str) -> String {
    format!("'sha256-{}'", base64::encode(&Sha256::digest(text.as_bytes())))
}
