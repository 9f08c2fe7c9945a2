//! Laying a freshly written table over the one that stood in the file, so that
//! comments, blank lines and the order of lines stay as the painter left them.

use toml_edit::{Array, ArrayOfTables, Item, Table, TableLike, Value};

/// Makes `kept` say what `fresh` says, changing as little of its text as that
/// takes. `said` is all that the text says now, defaults that it leaves out
/// included: what it says without words stays unwritten.
pub(crate) fn merge(kept: &mut Table, said: Option<&Table>, fresh: &Table) {
    let gone: Vec<String> =
        kept.iter().map(|(key, _)| key.to_owned()).filter(|key| !fresh.contains_key(key)).collect();
    for key in gone {
        kept.remove(&key);
    }
    for (key, new) in fresh {
        let said = said.and_then(|said| said.get(key));
        match (kept.get_mut(key), new) {
            (Some(Item::Table(old)), Item::Table(new)) => merge(old, said.and_then(Item::as_table), new),
            (Some(Item::ArrayOfTables(old)), Item::ArrayOfTables(new)) => {
                *old = merged_rows(old, said.and_then(Item::as_array_of_tables), new);
            }
            (Some(old), new) if same_item(old, new) || said.is_some_and(|said| same_item(said, new)) => {}
            (Some(Item::Value(old)), Item::Value(new)) => {
                let decor = old.decor().clone();
                *old = new.clone();
                *old.decor_mut() = decor;
            }
            (Some(old), new) => *old = detached(new),
            (None, new) if said.is_some_and(|said| same_item(said, new)) => {}
            (None, new) => {
                kept.insert(key, detached(new));
            }
        }
    }
}

/// Keys that tell a row from the others, the surest first.
const IDENTITY: [&str; 4] = ["id", "name", "at", "file"];

/// Rows that say what `new` says. Each keeps the text of the old row that it was,
/// comments included, wherever it has gone; where rows come and go, the text of the
/// others stays theirs.
fn merged_rows(old: &ArrayOfTables, said: Option<&ArrayOfTables>, new: &ArrayOfTables) -> ArrayOfTables {
    let said = |i: usize| said.filter(|said| said.len() == old.len()).and_then(|said| said.get(i));
    // What each old row says, in full where that is known, and which new row it is.
    let full: Vec<&Table> = old.iter().enumerate().map(|(i, row)| said(i).unwrap_or(row)).collect();
    let mut left: Vec<Option<usize>> = (0..old.len()).map(Some).collect();
    let mut was: Vec<Option<usize>> = vec![None; new.len()];
    let mut pair = |fits: &dyn Fn(&Table, &Table) -> bool| {
        for (row, was) in new.iter().zip(&mut was).filter(|(_, was)| was.is_none()) {
            let found = left.iter_mut().find(|l| l.is_some_and(|l| fits(full[l], row)));
            *was = found.and_then(Option::take);
        }
    };
    pair(&|old, new| same_table(old, new));
    for key in IDENTITY {
        pair(&|old, new| match (old.get(key), new.get(key)) {
            (Some(old), Some(new)) => same_item(old, new),
            _ => false,
        });
    }
    if old.len() == new.len() {
        // None has come or gone: what is left over was changed in place.
        pair(&|_, _| true);
    }
    let mut places: Vec<isize> = old.iter().filter_map(Table::position).collect();
    places.sort_unstable();
    let mut places = places.into_iter();
    let mut rows = ArrayOfTables::new();
    for (row, was) in new.iter().zip(was) {
        let kept = was.and_then(|was| Some((old.get(was)?.clone(), said(was))));
        let mut table = match kept {
            Some((mut kept, said)) => {
                merge(&mut kept, said, row);
                kept
            }
            None => row.clone(),
        };
        // The first rows stand where rows stood, the others after the last of them.
        table.set_position(places.next());
        rows.push(table);
    }
    rows
}

/// A copy of an item that will stand where it is put, not where it stood in the
/// document that it comes from.
fn detached(item: &Item) -> Item {
    match item {
        Item::Table(table) => Item::Table(without_place(table)),
        Item::ArrayOfTables(rows) => {
            let mut out = ArrayOfTables::new();
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

/// Whether two items say the same, however they are written.
fn same_item(one: &Item, other: &Item) -> bool {
    if let (Some(one), Some(other)) = (one.as_table_like(), other.as_table_like()) {
        return same_table(one, other);
    }
    if let (Item::Value(one), Item::Value(other)) = (one, other) {
        return same(one, other);
    }
    match (rows_of(one), rows_of(other)) {
        (Some(one), Some(other)) => {
            one.len() == other.len() && one.iter().zip(&other).all(|(a, b)| same_table(*a, *b))
        }
        _ => false,
    }
}

fn rows_of(item: &Item) -> Option<Vec<&dyn TableLike>> {
    match item {
        Item::ArrayOfTables(rows) => Some(rows.iter().map(|t| t as &dyn TableLike).collect()),
        Item::Value(Value::Array(array)) => {
            array.iter().map(|v| v.as_inline_table().map(|t| t as &dyn TableLike)).collect()
        }
        _ => None,
    }
}

fn same_table(one: &dyn TableLike, other: &dyn TableLike) -> bool {
    one.len() == other.len()
        && one.iter().all(|(key, item)| other.get(key).is_some_and(|other| same_item(item, other)))
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
