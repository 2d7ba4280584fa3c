//! Tables: which class a column takes, where a decimal cell is split, and whether the log column is used.

use minijinja::{Value, context};

use super::rich::{Lead, Writer};
use super::text::{is_gap, plain, push_escaped};
use crate::dossier::piece::{Align, Rich, Row, Run, Table, Working};

/// The widest part before a decimal point that is aligned, in digits; the style sheet has as many classes.
const WIDEST_LEAD: usize = 16;
/// A column without a share stays on one line up to this many characters.
const WIDEST_FIT: usize = 24;
/// Up to so many characters a column without a share is as wide as its longest line, beside others that have one.
const WIDEST_OWN: usize = 30;
/// So much of the width the columns with a share have in any case, in percent.
const LEAST_SHARED: u32 = 40;
/// From this many columns on a table may be wider than a phone, so that its box takes the keyboard's focus.
const MANY_COLUMNS: usize = 4;

/// What belongs to a table and does not stand in it.
pub(super) struct Surroundings<'a> {
    /// What the table is about, for readers that don't see what it stands under.
    pub about: &'a str,
    /// The lines of the log column beside the whole table.
    pub log: &'a [Rich],
    /// The id of each row, where it has one that is not taken.
    pub ids: Vec<Option<&'a str>>,
    /// What each row's value was worked from, folded behind its name; may be shorter than the rows.
    pub workings: &'a [Working],
    /// Further lines of the log beside each row; may be shorter than the rows.
    pub more: &'a [Rich],
}

/// The values of the table's template.
pub(super) fn view(table: &Table, around: &Surroundings<'_>, writer: &Writer<'_>) -> Value {
    let logged = table.rows.iter().any(|row| !row.log.is_empty());
    let widths = widths(table);
    // On paper the cells of a row with a log are set one by one, each as wide as its column.
    let own = |at: usize| if logged { widths[at] } else { 0 };
    let layouts: Vec<Layout> = (0..table.columns.len()).map(|at| Layout::new(table, (at, own(at)))).collect();
    let columns = table.columns.iter().zip(&layouts).zip(&widths).map(|((column, layout), width)| {
        context! { head => Value::from_safe_string(writer.rich(&column.head)), class => layout.class.as_str(), width }
    });
    let headed = table.columns.iter().any(|column| !column.head.words().is_empty());
    let head = table.columns.first().map(|column| column.head.words()).unwrap_or_default();
    let name = match (around.about, head.as_str()) {
        (about, "") => about.to_owned(),
        ("", head) => head.to_owned(),
        (about, head) => format!("{about}: {head}"),
    };
    let mut rows = String::with_capacity(table.rows.len() * 320);
    for (at, row) in table.rows.iter().enumerate() {
        push_row(&mut rows, (row, around.of_row(at)), (&layouts, logged), writer);
    }
    context! {
        name => plain(&name),
        caption => table.caption.as_ref().map(|caption| Value::from_safe_string(writer.rich(caption))),
        columns => columns.collect::<Value>(),
        headed => headed || (logged && !around.log.is_empty()),
        rows => Value::from_safe_string(rows),
        logged,
        log => lines(around.log, writer),
        many => table.columns.len() >= MANY_COLUMNS,
        shared => table.columns.iter().any(|column| column.share > 0),
    }
}

/// The columns' parts of the width, in percent, as the style sheet has classes; where any has a share. One without
/// has as much as its longest line asks for.
fn widths(table: &Table) -> Vec<u32> {
    let total: u32 = table.columns.iter().map(|column| u32::from(column.share)).sum();
    if total == 0 {
        return vec![0; table.columns.len()];
    }
    let own: Vec<u32> = (0..table.columns.len()).map(|at| own_width(table, at)).collect();
    let left = 100_u32.saturating_sub(own.iter().sum()).max(LEAST_SHARED);
    let mut before = 0;
    let widths = table.columns.iter().zip(own).map(|(column, own)| {
        let start = before;
        before += u32::from(column.share);
        // Rounded where they end, so that together they are the whole.
        if column.share == 0 { own } else { before * left / total - start * left / total }
    });
    widths.collect()
}

/// What a column without a share takes, in percent: a line across the page holds some 125 characters.
fn own_width(table: &Table, at: usize) -> u32 {
    let column = &table.columns[at];
    if column.share > 0 {
        return 0;
    }
    let cells = table.rows.iter().filter_map(|row| row.cells.get(at));
    let longest = cells.chain([&column.head]).map(|cell| cell.words().chars().count()).max().unwrap_or(0);
    (longest.min(WIDEST_OWN) * 4).div_ceil(5) as u32
}

/// Lines of the log column, as the templates take them.
pub(super) fn lines(log: &[Rich], writer: &Writer<'_>) -> Value {
    log.iter().map(|line| Value::from_safe_string(writer.rich(line))).collect()
}

/// What belongs to one row and does not stand in it.
#[derive(Clone, Copy, Default)]
struct Beside<'a> {
    id: Option<&'a str>,
    working: Option<&'a Working>,
    more: Option<&'a Rich>,
}

impl<'a> Surroundings<'a> {
    fn of_row(&self, at: usize) -> Beside<'a> {
        Beside {
            id: self.ids.get(at).copied().flatten(),
            working: self.workings.get(at).filter(|working| !working.from.is_empty()),
            more: self.more.get(at).filter(|more| !more.is_empty()),
        }
    }
}

/// One row, written without a template: a dossier has tens of thousands of them. Its log is its last cell: in the log
/// column of the page on a wide screen, under the row on a phone.
fn push_row(
    out: &mut String,
    (row, beside): (&Row, Beside<'_>),
    (layouts, logged): (&[Layout], bool),
    writer: &Writer<'_>,
) {
    out.push_str("<tr");
    if let Some(id) = beside.id {
        push_attribute(out, "id", id);
    }
    if row.strong {
        push_attribute(out, "class", "strong");
    }
    out.push('>');
    let empty = Rich::default();
    for (at, layout) in layouts.iter().enumerate() {
        let cell = row.cells.get(at).unwrap_or(&empty);
        // The first cell names its row, so that a reader of speech hears it with each of the others.
        let names = at == 0 && layouts.len() > 1 && layout.names && says_something(cell);
        out.push_str(if names { "<th scope=\"row\"" } else { "<td" });
        if !layout.class.is_empty() {
            push_attribute(out, "class", &layout.class);
        }
        out.push('>');
        let working = beside.working.filter(|_| at == 0);
        out.push_str(if working.is_some() { "<details><summary>" } else { "" });
        match layout.lead.and_then(|digits| Some(Lead { bytes: lead(cell)?.0, digits })) {
            Some(lead) => writer.push_led(out, cell, lead),
            None => writer.push(out, cell),
        }
        if let Some(working) = working {
            // Unfolded, a method stands on lines of its own; on paper the style sheet sets its sign.
            out.push_str(if working.is_equation() {
                "</summary><span>= "
            } else {
                "</summary><span class=\"how\">"
            });
            writer.push(out, &working.from);
            out.push_str("</span></details>");
        }
        out.push_str(if names { "</th>" } else { "</td>" });
    }
    if logged {
        out.push_str("<td class=\"log\">");
        for line in row.log.iter().chain(beside.more) {
            out.push_str("<p>");
            writer.push(out, line);
            out.push_str("</p>");
        }
        out.push_str("</td>");
    }
    out.push_str("</tr>\n");
}

fn says_something(cell: &Rich) -> bool {
    cell.0.iter().any(|run| !matches!(run, Run::Text { text, .. } if text.is_empty()))
}

fn push_attribute(out: &mut String, name: &str, value: &str) {
    out.push(' ');
    out.push_str(name);
    out.push_str("=\"");
    push_escaped(out, value);
    out.push('"');
}

/// What the cells of one column have in common.
struct Layout {
    class: String,
    /// For a decimal column, the digits of its widest part before the point.
    lead: Option<usize>,
    names: bool,
}

impl Layout {
    /// `width` is that of each cell, in percent; 0 where it follows from its column's.
    fn new(table: &Table, (at, width): (usize, u32)) -> Layout {
        let column = &table.columns[at];
        let cells = || table.rows.iter().filter_map(|row| row.cells.get(at));
        let align = table.align(at);
        let lead = match align {
            Align::Decimal => cells().filter_map(lead).map(|(_, digits)| digits).max(),
            Align::Left | Align::Right | Align::Centre => None,
        };
        let fits = column.share == 0 && cells().all(|cell| cell.words().chars().count() <= WIDEST_FIT);
        let class = class((align, column.share), fits);
        let class = if width > 0 { format!("{class} w{width}") } else { class.to_owned() };
        Layout { class, lead, names: column.align == Align::Left }
    }
}

/// `s` has a share of the width, `f` fits on one line; `r`, `c` and `d` are the alignments.
fn class((align, share): (Align, u16), fits: bool) -> &'static str {
    let [neither, shared, fitting] = match align {
        Align::Left => ["", "s", "f"],
        Align::Right => ["r", "r s", "r f"],
        Align::Centre => ["c", "c s", "c f"],
        Align::Decimal => ["d", "d s", "d f"],
    };
    match (share, fits) {
        (0, false) => neither,
        (0, true) => fitting,
        _ => shared,
    }
}

/// The bytes of a cell's first text up to its first number's decimal point, and how many digits wide they are
/// at most. A short word instead of a number (a dash) ends where the point would be.
fn lead(cell: &Rich) -> Option<(usize, usize)> {
    let text = first_text(cell)?;
    let bytes = match text.find(|letter: char| letter.is_ascii_digit()) {
        Some(start) => start + whole_part(&text[start..]),
        None if (1..=2).contains(&text.chars().count()) && cell.0.len() == 1 => text.len(),
        None => return None,
    };
    // A space is half as wide as a digit.
    let halves = |letter: char| if letter.is_whitespace() { 1 } else { 2 };
    let digits = text[..bytes].chars().map(halves).sum::<usize>().div_ceil(2);
    (digits <= WIDEST_LEAD && !text[..bytes].contains('\n')).then_some((bytes, digits))
}

fn first_text(cell: &Rich) -> Option<&str> {
    match cell.0.first()? {
        Run::Text { text, .. } => Some(text),
        Run::Link { text, .. } => first_text(text),
        Run::Verdict { .. } | Run::Margin { .. } | Run::Blank | Run::Break => None,
    }
}

/// The bytes of the digits at the start, with the spaces and commas that group them in threes.
fn whole_part(text: &str) -> usize {
    let digits = |text: &str| text.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(text.len());
    let mut end = digits(text);
    while let Some(separator) = text[end..].chars().next() {
        let grouping = separator == '\u{a0}' || separator == ',' || (separator != ' ' && is_gap(separator));
        let after = end + separator.len_utf8();
        if !grouping || digits(&text[after..]) != 3 {
            break;
        }
        end = after + 3;
    }
    end
}

#[cfg(test)]
mod tests {
    use super::lead;
    use crate::dossier::piece::Rich;

    #[track_caller]
    fn check(text: &str, expected: Option<&str>) {
        let found = lead(&Rich::plain(text)).map(|(bytes, _)| &text[..bytes]);
        assert_eq!(found, expected);
    }

    #[test]
    fn a_cell_is_split_at_the_decimal_point_of_its_first_number() {
        check("12.5\u{a0}kg", Some("12"));
        check("12\u{a0}133\u{a0}rpm", Some("12\u{a0}133"));
        check("−3\u{a0}150.25 to 7.5", Some("−3\u{a0}150"));
        check("about 4 m", Some("about 4"));
        check("12 of 133", Some("12"));
        check("—", Some("—"));
        check("not known", None);
        check("", None);
    }
}
