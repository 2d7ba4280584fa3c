//! Sentences as runs of text, names and values, so that each printer sets them in its own way.

use std::borrow::Cow;
use std::fmt;

/// A piece of a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Run {
    Text(Cow<'static, str>),
    /// What stands in a journal or is typed: a name of a block, a key, a value as it was written.
    Name(String),
    /// A worked value as it is printed, with its unit.
    Value(String),
}

/// A phrase, a sentence or several.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Words(Vec<Run>);

/// A value as it is printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Shown(pub String);

/// What can stand in the place of a `{}` of a template.
pub(crate) trait Part {
    fn put(&self, words: &mut Words);
}

/// Words from a template that stands in the program, and what stands in its places. Backticks in the template mark
/// names: ``words!("no block is named `{}`", name)``. What is put in is never searched for marks.
macro_rules! words {
    ($template:literal $(, $part:expr)* $(,)?) => {
        $crate::words::Words::of($template, &[$(&$part as &dyn $crate::words::Part),*])
    };
}
pub(crate) use words;

impl Words {
    /// The template's `{}` are filled in their order.
    pub(crate) fn of(template: &'static str, parts: &[&dyn Part]) -> Words {
        let mut words = Words::default();
        let mut parts = parts.iter();
        for (at, piece) in template.split('`').enumerate() {
            let name = at % 2 == 1;
            let mut inside = Words::default();
            for (at, text) in piece.split("{}").enumerate() {
                if at > 0 {
                    let part = parts.next();
                    debug_assert!(part.is_some(), "`{template}` has more places than parts");
                    if let Some(part) = part {
                        part.put(&mut inside);
                    }
                }
                inside.push(Run::Text(Cow::Borrowed(text)));
            }
            match name {
                true => words.push(Run::Name(inside.bare())),
                false => words.append(inside),
            }
        }
        debug_assert!(parts.next().is_none(), "`{template}` has fewer places than parts");
        words
    }

    pub(crate) fn runs(&self) -> &[Run] {
        &self.0
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(crate) fn append(&mut self, other: Words) {
        for run in other.0 {
            self.push(run);
        }
    }

    /// Without marks around names.
    pub(crate) fn bare(&self) -> String {
        self.0.iter().map(Run::text).collect()
    }

    /// Several, with something between them.
    pub(crate) fn joined(many: impl IntoIterator<Item = Words>, between: &'static str) -> Words {
        let mut all = Words::default();
        for (at, words) in many.into_iter().enumerate() {
            if at > 0 {
                all.push(Run::Text(Cow::Borrowed(between)));
            }
            all.append(words);
        }
        all
    }

    /// Names, as `a`, `b`, `c`.
    pub(crate) fn names<'a>(names: impl IntoIterator<Item = &'a str>) -> Words {
        Words::joined(names.into_iter().map(Words::name), ", ")
    }

    pub(crate) fn name(name: &str) -> Words {
        Words(vec![Run::Name(name.to_owned())])
    }

    /// A run that follows.
    pub(crate) fn push(&mut self, run: Run) {
        match (self.0.last_mut(), run) {
            (_, run) if run.text().is_empty() => {}
            (Some(Run::Text(before)), Run::Text(text)) => before.to_mut().push_str(&text),
            (_, run) => self.0.push(run),
        }
    }
}

impl Run {
    pub(crate) fn text(&self) -> &str {
        match self {
            Run::Text(text) => text,
            Run::Name(text) | Run::Value(text) => text,
        }
    }
}

/// For a terminal or the register: names in backticks.
impl fmt::Display for Words {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|run| match run {
            Run::Name(name) => write!(f, "`{name}`"),
            Run::Text(_) | Run::Value(_) => f.write_str(run.text()),
        })
    }
}

/// A text of the program's own, in which backticks mark names.
impl From<&'static str> for Words {
    fn from(template: &'static str) -> Words {
        let runs = template.split('`').enumerate().map(|(at, text)| match at % 2 {
            0 => Run::Text(Cow::Borrowed(text)),
            _ => Run::Name(text.to_owned()),
        });
        let mut words = Words::default();
        runs.for_each(|run| words.push(run));
        words
    }
}

/// A text that was put together elsewhere; it is taken as it is.
impl From<String> for Words {
    fn from(text: String) -> Words {
        let mut words = Words::default();
        words.push(Run::Text(Cow::Owned(text)));
        words
    }
}

impl From<&String> for Words {
    fn from(text: &String) -> Words {
        Words::from(text.clone())
    }
}

impl From<&Words> for Words {
    fn from(words: &Words) -> Words {
        words.clone()
    }
}

impl Part for Words {
    fn put(&self, words: &mut Words) {
        words.append(self.clone());
    }
}

impl Part for Shown {
    fn put(&self, words: &mut Words) {
        words.push(Run::Value(self.0.clone()));
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl<T: Part + ?Sized> Part for &T {
    fn put(&self, words: &mut Words) {
        (**self).put(words);
    }
}

/// What is text, or prints as text.
macro_rules! printed {
    ($($kind:ty)*) => {
        $(impl Part for $kind {
            fn put(&self, words: &mut Words) {
                words.push(Run::Text(Cow::Owned(self.to_string())));
            }
        })*
    };
}
printed!(str String char u8 u32 u64 usize i32 i64 f64 Cow<'_, str>);

#[cfg(test)]
mod tests {
    use super::{Run, Shown, Words};

    #[test]
    fn names_and_values_stand_as_such() {
        let words = words!("{} against `{}`, no `key`", Shown("12\u{a0}A".to_owned()), "fuse.current_rating");
        let expected = [
            Run::Value("12\u{a0}A".to_owned()),
            Run::Text(" against ".into()),
            Run::Name("fuse.current_rating".to_owned()),
            Run::Text(", no ".into()),
            Run::Name("key".to_owned()),
        ];
        assert_eq!(words.runs(), expected);
        assert_eq!(words.to_string(), "12\u{a0}A against `fuse.current_rating`, no `key`");
    }

    #[test]
    fn what_is_put_in_is_not_searched_for_marks() {
        let words = words!("`{}` is no {}", "a`b{}", "c`d");
        assert_eq!(words.runs(), [Run::Name("a`b{}".to_owned()), Run::Text(" is no c`d".into())]);
        assert_eq!(Words::from("x`y".to_owned()).runs().len(), 1);
    }
}
