//! Where in the text of a scheme file something stands.

use crate::scheme_error::Step;
use std::ops::Range;
use toml_edit::{ArrayOfTables, Item, TableLike, Value};

/// What stands at a place: TOML writes the same thing in several ways.
#[derive(Clone, Copy)]
pub(super) enum Node<'t> {
    /// `[table]`, `{ in = "line" }`, or keys with points.
    Table(&'t dyn TableLike, Option<(usize, usize)>),
    /// `[[rows]]`.
    Rows(&'t ArrayOfTables),
    /// A number, a text, a list and so on.
    Value(&'t Value),
}

impl<'t> Node<'t> {
    pub(super) fn of_item(item: &'t Item) -> Option<Self> {
        Some(match item {
            Item::None => return None,
            Item::Value(value) => Self::of_value(value),
            Item::Table(table) => Self::Table(table, table.span().map(|s| (s.start, s.end))),
            Item::ArrayOfTables(rows) => Self::Rows(rows),
        })
    }

    pub(super) fn of_value(value: &'t Value) -> Self {
        match value {
            Value::InlineTable(table) => Self::Table(table, value.span().map(|s| (s.start, s.end))),
            other => Self::Value(other),
        }
    }

    /// The bytes that it is written in; of a table its head.
    pub(super) fn span(&self) -> Option<Range<usize>> {
        match self {
            Self::Table(_, span) => span.map(|(start, end)| start..end),
            Self::Rows(rows) => rows.iter().next().and_then(toml_edit::Table::span),
            Self::Value(value) => value.span(),
        }
    }

    /// The rows of a list, however it is written.
    pub(super) fn rows(self) -> Option<Vec<Self>> {
        match self {
            Self::Rows(rows) => {
                Some(rows.iter().map(|t| Self::Table(t, t.span().map(|s| (s.start, s.end)))).collect())
            }
            Self::Value(Value::Array(array)) => Some(array.iter().map(Self::of_value).collect()),
            _ => None,
        }
    }
}

/// The bytes of what stands at the end of the way, or as far along it as there is
/// anything; `None` for nothing at all.
pub(super) fn find(top: &dyn TableLike, way: &[Step]) -> Option<Range<usize>> {
    let mut here = Node::Table(top, None);
    let mut found = None;
    for step in way {
        let next = match (step, here) {
            (Step::Key(key), Node::Table(table, _)) => table.get_key_value(key).and_then(|(key, item)| {
                let node = Node::of_item(item)?;
                found = node.span().or_else(|| key.span()).or(found.clone());
                Some(node)
            }),
            (Step::Row(n), list) => list.rows().and_then(|rows| rows.get(*n).copied()).inspect(|node| {
                found = node.span().or(found.clone());
            }),
            _ => None,
        };
        match next {
            Some(next) => here = next,
            None => break,
        }
    }
    found
}
