//! The JSON Schema of the file is published, whole, and has the ranges of reading.
//! `tests/oracles/scheme.py` holds schemes against it with a validator of others.

use crate::rich::RICH;
use grisaille_scheme::{document_schema, read_document};
use serde_json::{Map, Value, json};
use std::path::PathBuf;
use toml_edit::DocumentMut;

fn published() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/scheme.schema.json")
}

/// A text of TOML as JSON; `None` for what JSON has no words for.
fn json_of(text: &str) -> Option<Value> {
    let document: DocumentMut = text.trim_start_matches('\u{feff}').parse().ok()?;
    table(document.as_table())
}

fn table(table: &dyn toml_edit::TableLike) -> Option<Value> {
    let entries = table.iter().map(|(key, item)| {
        let value = match item {
            toml_edit::Item::Value(value) => of_value(value)?,
            toml_edit::Item::Table(inner) => self::table(inner)?,
            toml_edit::Item::ArrayOfTables(rows) => {
                Value::Array(rows.iter().map(|row| self::table(row)).collect::<Option<_>>()?)
            }
            toml_edit::Item::None => return None,
        };
        Some((key.to_owned(), value))
    });
    Some(Value::Object(entries.collect::<Option<Map<_, _>>>()?))
}

fn of_value(value: &toml_edit::Value) -> Option<Value> {
    Some(match value {
        toml_edit::Value::String(x) => json!(x.value()),
        toml_edit::Value::Integer(x) => json!(x.value()),
        toml_edit::Value::Float(x) if x.value().is_finite() => json!(x.value()),
        toml_edit::Value::Boolean(x) => json!(x.value()),
        toml_edit::Value::Array(list) => Value::Array(list.iter().map(of_value).collect::<Option<_>>()?),
        toml_edit::Value::InlineTable(inner) => table(inner)?,
        _ => return None,
    })
}

#[test]
fn the_published_schema_is_up_to_date() {
    let text = format!("{:#}\n", document_schema());
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(published(), &text).expect("written");
    }
    let there = std::fs::read_to_string(published()).expect("docs/scheme.schema.json");
    assert!(there == text, "docs/scheme.schema.json is old: run this test with UPDATE_GOLDEN=1");
}

#[test]
fn it_describes_every_key() {
    let schema = document_schema();
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    let mut keys = 0;
    let defs = schema["$defs"].as_object().expect("tables").values();
    for table in defs.chain([&schema]) {
        assert!(table["description"].is_string() || table["anyOf"].is_array(), "{table:#}");
        for (key, of) in table["properties"].as_object().into_iter().flatten() {
            let own = of
                .get("$ref")
                .and_then(Value::as_str)
                .and_then(|r| schema.pointer(r.trim_start_matches('#')));
            let described = of.get("description").or_else(|| own?.get("description"));
            let text = described.and_then(Value::as_str).unwrap_or_else(|| panic!("{key}: {of:#}"));
            assert!(!text.contains(['[', '\n']) && text.ends_with('.'), "{key}: {text}");
            keys += 1;
        }
    }
    assert!(keys > 80, "{keys}");
}

/// Every range of the schema is the one that reading holds a number to: its ends are
/// read, and what lies beyond them is not.
#[test]
fn ranges_are_those_that_are_checked() {
    let schema = document_schema();
    let scheme = json_of(RICH).expect("JSON");
    let mut ends = 0;
    let mut ways = Vec::new();
    numbers("", &scheme, &mut ways);
    for way in ways {
        let Some(own) = schema_at(&schema, &way) else { panic!("no schema at {way}") };
        for (bound, beyond) in [("minimum", -1.0), ("maximum", 1.0)] {
            let Some(end) = own.get(bound).and_then(Value::as_f64) else { continue };
            // The radius of a zenithal light ends sooner, by a rule beside.
            let end = if way == "/light/0/radius" && beyond > 0.0 { 90.0 } else { end };
            let read = |x: f64| {
                let value = if own["type"] == "integer" { json!(x as i64) } else { json!(x) };
                let mut table: DocumentMut = RICH.parse().expect("TOML");
                put(table.as_item_mut(), &way, &value);
                read_document(&table.to_string())
            };
            let why = match read(end) {
                Ok(_) => String::new(),
                // Ends that clash with something else are told by another rule.
                Err(e) => e.why().to_owned(),
            };
            assert!(!why.contains("between") && !why.contains("must be a"), "{way} = {end}: {why}");
            let step = if own["type"] == "integer" { 1.0 } else { (end.abs() * 1e-3).max(1e-7) };
            let step = if end == 0.001 || end == 1e-6 { end } else { step };
            assert!(read(end + beyond * step).is_err(), "{way} = {}", end + beyond * step);
            ends += 1;
        }
    }
    assert!(ends > 100, "{ends}");
}

/// The ways to all numbers of a value.
fn numbers(way: &str, value: &Value, out: &mut Vec<String>) {
    match value {
        Value::Number(_) => out.push(way.to_owned()),
        Value::Array(list) => {
            list.iter().enumerate().for_each(|(i, v)| numbers(&format!("{way}/{i}"), v, out));
        }
        Value::Object(keys) => keys.iter().for_each(|(key, v)| numbers(&format!("{way}/{key}"), v, out)),
        _ => {}
    }
}

fn schema_at<'s>(root: &'s Value, way: &str) -> Option<&'s Value> {
    let resolved = |schema: &'s Value| match schema.get("$ref").and_then(Value::as_str) {
        Some(name) => root.pointer(name.trim_start_matches('#')),
        None => Some(schema),
    };
    let mut here = root;
    for key in way.split('/').skip(1) {
        here = resolved(match key.parse::<usize>() {
            Ok(_) => here.get("items").or_else(|| here.get("anyOf")?.get(0)?.get("items"))?,
            Err(_) => here.get("properties")?.get(key)?,
        })?;
    }
    Some(here)
}

fn put(item: &mut toml_edit::Item, way: &str, value: &Value) {
    let mut here = item;
    for key in way.split('/').skip(1) {
        here = match key.parse::<usize>() {
            Ok(n) => &mut here[n],
            Err(_) => &mut here[key],
        };
    }
    *here = match value {
        Value::Number(x) if x.is_i64() => toml_edit::value(x.as_i64().expect("whole")),
        other => toml_edit::value(other.as_f64().expect("a number")),
    };
}
