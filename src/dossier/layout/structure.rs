//! What the marks of the pages mean, as a tree: for readers that speak a page or reflow it.

/// A node of the tree; its children follow it in the order of reading.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Element {
    pub(crate) role: Role,
    /// The place of its parent in the list, always smaller than its own; none under the document.
    pub(crate) parent: Option<usize>,
    /// What a picture shows.
    pub(crate) alt: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    /// Level 1 to 6.
    Heading(u8),
    Paragraph,
    List,
    Entry,
    /// The bullet, the number or the box of an entry.
    Label,
    EntryBody,
    Quote,
    Table,
    Row,
    /// Of a column.
    Head,
    /// Of a row.
    RowHead,
    Cell,
    Figure,
    /// A ruled box.
    Box,
    Contents,
    ContentsEntry,
    /// What the log column says.
    Note,
    Link,
}

/// From a mark on, by its place in a list of marks, all belong to the element; without one they are furniture.
pub(crate) type Tag = (usize, Option<usize>);
