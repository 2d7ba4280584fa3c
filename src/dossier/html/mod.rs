//! Prints a document as one HTML page that loads nothing outside itself and runs no script.

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

use self::printer::Printer;
use self::templates::render;
use self::text::plain;
use super::piece::{Document, Paper};

/// The whole page, UTF-8, the same for the same document.
///
/// Every text of the document is escaped. The page's policy allows no script, no request and no style but
/// its own sheet, so neither this printer nor a template may write a `style` attribute. A link whose place
/// is not in the document is printed as its text.
pub(crate) fn html(document: &Document) -> String {
    let body = Printer::new(document).entries(&document.items);
    let paper = match document.paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    // Browsers hash what they parsed, and they parse a carriage return as a line feed.
    let style = render("style.css", context! { paper }).replace('\r', "");
    let policy = policy(&style);
    render(
        "page.html",
        context! {
            policy,
            language => document.language,
            title => plain(&document.title),
            running => plain(&document.running),
            generator => plain(&document.generator),
            style => Value::from_safe_string(style),
            body => Value::from_safe_string(body),
        },
    )
}

/// The content security policy under which only this style sheet applies.
fn policy(style: &str) -> String {
    let hash = base64::encode(&Sha256::digest(style.as_bytes()));
    format!(
        "default-src 'none'; style-src 'sha256-{hash}'; img-src data:; base-uri 'none'; form-action 'none'"
    )
}
