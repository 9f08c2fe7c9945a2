//! Laying a freshly written table over the one that stood in the file, so that
//! comments, blank lines and the order of lines stay as the painter left them.

use toml_edit::{Array, Item, Table, Value};

/// Makes `kept` say what `fresh` says, changing as little of its text as that takes.
pub(crate) fn merge(kept: &mut Table, fresh: &Table) {
    let gone: Vec<String> =
        kept.iter().map(|(key, _)| key.to_owned()).filter(|key| !fresh.contains_key(key)).collect();
    for key in gone {
        kept.remove(&key);
    }
    for (key, new) in fresh {
        match (kept.get_mut(key), new) {
            (Some(Item::Table(old)), Item::Table(new)) => merge(old, new),
            (Some(Item::ArrayOfTables(old)), Item::ArrayOfTables(new)) => {
                while old.len() > new.len() {
                    old.remove(old.len() - 1);
                }
                for (i, row) in new.iter().enumerate() {
                    match old.get_mut(i) {
                        Some(before) => merge(before, row),
                        None => old.push(without_place(row)),
                    }
                }
            }
            (Some(Item::Value(old)), Item::Value(new)) => {
                if !same(old, new) {
                    let decor = old.decor().clone();
                    *old = new.clone();
                    *old.decor_mut() = decor;
                }
            }
            (Some(old), new) => *old = detached(new),
            (None, new) => {
                kept.insert(key, detached(new));
            }
        }
    }
}

/// A copy of an item that will stand where it is put, not where it stood in the
/// document that it comes from.
fn detached(item: &Item) -> Item {
    match item {
        Item::Table(table) => Item::Table(without_place(table)),
        Item::ArrayOfTables(rows) => {
            let mut out = toml_edit::ArrayOfTables::new();
            for row in rows {
                out.push(without_place(row));
            }
            Item::ArrayOfTables(out)
        }
        other => other.clone(),
    }
}

fn without_place(table: &Table) -> Table {
    let mut table = table.clone();
    table.set_position(None);
    table
}

/// Whether two values say the same, however they are written.
fn same(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::String(a), Value::String(b)) => a.value() == b.value(),
        (Value::Integer(a), Value::Integer(b)) => a.value() == b.value(),
        (Value::Boolean(a), Value::Boolean(b)) => a.value() == b.value(),
        (Value::Array(a), Value::Array(b)) => all_same(a, b),
        // A painter may write 5 where 5.0 is meant.
        _ => match (number(one), number(other)) {
            (Some(a), Some(b)) => a == b,
            _ => false,
        },
    }
}

fn all_same(one: &Array, other: &Array) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(a, b)| same(a, b))
}

fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Float(x) => Some(*x.value()),
        Value::Integer(x) => Some(*x.value() as f64),
        _ => None,
    }
}
