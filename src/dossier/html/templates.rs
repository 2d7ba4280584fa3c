//! The page's templates, compiled in; every value in them is escaped unless this printer made it safe.

use std::sync::OnceLock;

use minijinja::{AutoEscape, Environment, Value};

const TEMPLATES: [(&str, &str); 19] = [
    ("caution-note.html", include_str!("../../../templates/caution-note.html")),
    ("caution.html", include_str!("../../../templates/caution.html")),
    ("code.html", include_str!("../../../templates/code.html")),
    ("contents.html", include_str!("../../../templates/contents.html")),
    ("entry.html", include_str!("../../../templates/entry.html")),
    ("figure.html", include_str!("../../../templates/figure.html")),
    ("heading.html", include_str!("../../../templates/heading.html")),
    ("headline.html", include_str!("../../../templates/headline.html")),
    ("list.html", include_str!("../../../templates/list.html")),
    ("opening.html", include_str!("../../../templates/opening.html")),
    ("page.html", include_str!("../../../templates/page.html")),
    ("paragraph.html", include_str!("../../../templates/paragraph.html")),
    ("no-picture.html", include_str!("../../../templates/no-picture.html")),
    ("picture.html", include_str!("../../../templates/picture.html")),
    ("quote.html", include_str!("../../../templates/quote.html")),
    ("signatures.html", include_str!("../../../templates/signatures.html")),
    ("style.css", include_str!("../../../templates/style.css")),
    ("table.html", include_str!("../../../templates/table.html")),
    ("workings.html", include_str!("../../../templates/workings.html")),
];

/// One template filled in. The templates are part of the program: a fault in one is our own.
pub(super) fn render(name: &str, values: Value) -> String {
    let template = environment().get_template(name).expect("every template is compiled in");
    template.render(values).expect("a template that every piece's test has filled in")
}

fn environment() -> &'static Environment<'static> {
    static ENVIRONMENT: OnceLock<Environment<'static>> = OnceLock::new();
    ENVIRONMENT.get_or_init(|| {
        let mut environment = Environment::new();
        environment.set_auto_escape_callback(|_| AutoEscape::Html);
        for (name, text) in TEMPLATES {
            environment.add_template(name, text).expect("a template that parses");
        }
        environment
    })
}
