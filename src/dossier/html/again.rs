//! Prints a page that is printed again and again: what is as it was on the page before is not printed anew.

use std::collections::HashSet;
use std::sync::Arc;

use super::printer::Printer;
use super::{Live, page};
use crate::dossier::piece::{Document, Item};

/// The items of a document, each as it was printed.
pub(crate) struct Printed {
    items: Vec<PrintedItem>,
    /// Where links can land.
    anchors: HashSet<String>,
}

#[derive(Clone)]
struct PrintedItem {
    html: Arc<str>,
    /// The level of the last heading, before it and behind it.
    levels: [u8; 2],
    /// The block or the heading that it stands under.
    about: Arc<str>,
    /// Where it has links to that lead nowhere.
    lost: Vec<String>,
    /// None of its ids stood in the page already.
    first: bool,
}

/// So far from where it is expected an item is looked for.
const WINDOW: usize = 40;

/// Of more places to land that are gone, everything is printed anew.
const GONE: usize = 16;

impl Printed {
    /// `before` is the document before, as it was printed.
    pub(crate) fn new(document: &Document, before: Option<(&Document, &Printed)>) -> Printed {
        let mut printer = Printer::new(document);
        let before = before.and_then(|before| Before::new(before, &printer));
        let mut expected = 0;
        let mut items = Vec::with_capacity(document.items.len());
        for item in &document.items {
            let found = before.as_ref().and_then(|before| before.find(item, (expected, &printer)));
            let printed = match found {
                Some(at) => {
                    expected = at;
                    let same = before.as_ref().expect("it was found there").printed.items[at].clone();
                    printer.pass(item, same.levels[1]);
                    same
                }
                None => print(&mut printer, item),
            };
            expected += 1;
            items.push(printed);
        }
        Printed { items, anchors: printer.anchors().map(str::to_owned).collect() }
    }

    /// The whole page, with further items in between: each stands before the item of that number.
    pub(crate) fn page(&self, document: &Document, live: &Live<'_>, between: &[(usize, Item)]) -> String {
        let mut printer = Printer::among(self.anchors.iter().map(String::as_str).collect());
        let mut body = String::with_capacity(self.items.iter().map(|item| item.html.len()).sum());
        for at in 0..=self.items.len() {
            for (_, item) in between.iter().filter(|(before, _)| *before == at) {
                body.push_str(&printer.entry(item));
            }
            body.push_str(self.items.get(at).map_or("", |item| &item.html));
        }
        page(document, body, Some(live))
    }
}

fn print<'d>(printer: &mut Printer<'d>, item: &'d Item) -> PrintedItem {
    let (before, first) = (printer.level(), printer.is_first(item));
    let about = Arc::from(printer.about());
    let html = Arc::from(printer.entry(item));
    PrintedItem { html, levels: [before, printer.level()], about, lost: printer.lost(), first }
}

/// The document before, and what of its places to land is gone.
struct Before<'b> {
    document: &'b Document,
    printed: &'b Printed,
    /// As links to them stand in the page.
    gone: Vec<String>,
}

impl<'b> Before<'b> {
    /// `None` where nothing of it can be taken.
    fn new((document, printed): (&'b Document, &'b Printed), now: &Printer<'_>) -> Option<Before<'b>> {
        let gone = printed.anchors.iter().filter(|id| !now.knows(id));
        let gone: Vec<String> = gone.take(GONE + 1).map(|id| format!("\"#{id}\"")).collect();
        (gone.len() <= GONE).then_some(Before { document, printed, gone })
    }

    /// Where the same item stood there, near the place where it is expected, if it would be printed in the same way.
    fn find(&self, item: &Item, (expected, printer): (usize, &Printer<'_>)) -> Option<usize> {
        let count = self.document.items.len();
        let ahead = expected..(expected + WINDOW).min(count);
        let behind = expected.saturating_sub(WINDOW).min(count)..expected.min(count);
        let same = |at: &usize| self.document.items[*at] == *item;
        let at = ahead.chain(behind.rev()).find(same)?;
        let PrintedItem { html, levels, about, lost, first } = &self.printed.items[at];
        let stands = levels[0] == printer.level()
            && **about == *printer.about()
            && *first
            && printer.is_first(item)
            && lost.iter().all(|id| !printer.knows(id))
            && self.gone.iter().all(|link| !html.contains(link));
        stands.then_some(at)
    }
}

#[cfg(test)]
mod tests {
    use super::{Live, Printed, page};
    use crate::dossier::html::printer::Printer;
    use crate::dossier::html::sample::{Placed, everywhere, heading, inner, paragraph};
    use crate::dossier::piece::{Document, Item, Style};

    /// The page after a change, with what the page before had, against the same page printed at once.
    #[track_caller]
    fn check(before: &Document, change: impl Fn(&mut Vec<Item>)) -> usize {
        let mut after = before.clone();
        change(&mut after.items);
        let live = Live { lines: &["worked".to_owned()], edition: "7-1" };
        let old = Printed::new(before, None);
        let new = Printed::new(&after, Some((before, &old)));
        let whole = page(&after, Printer::new(&after).entries(&after.items), Some(&live));
        assert!(new.page(&after, &live, &[]) == whole, "{:?}", after.items);
        let kept = |item: &&super::PrintedItem| {
            old.items.iter().any(|one| std::sync::Arc::ptr_eq(&one.html, &item.html))
        };
        new.items.iter().filter(kept).count()
    }

    #[test]
    fn a_page_printed_again_is_the_page_printed_at_once() {
        let mut before = everywhere("text");
        let link = |id: &str| paragraph(Style::Body, vec![inner(id, id)]);
        let (far, deep) = (heading(2, "Far").at("far"), heading(5, "Deep").at("deep"));
        before.items.extend([far, link("far"), link("new"), heading(3, "Far again").at("far"), deep]);
        let count = before.items.len();
        let firsts = Printed::new(&before, None).items.iter().filter(|item| item.first).count();
        assert!(count - firsts > 1, "tables have ids twice");
        assert_eq!(check(&before, |_| {}), firsts);
        // One more place to land: the link to it is another now.
        assert_eq!(check(&before, |items| items.push(heading(2, "New").at("new"))), firsts - 1);
        // One item less.
        let deep = count - 1;
        assert_eq!(check(&before, |items| drop(items.remove(deep))), firsts - 1);
        let far = count - 5;
        check(&before, |items| drop(items.remove(far)));
        check(&before, |items| items.truncate(far));
        check(&before, |items| items[far] = heading(1, "Near").at("near"));
        check(&before, |items| items.swap(0, far));
        check(&before, |items| items.reverse());
        for at in 0..count {
            check(&before, |items| drop(items.remove(at)));
            check(&before, |items| items.insert(at, items[at].clone()));
        }
    }
}
