//! The JSON Schema of the file, from the structures that it is read into.

use super::DocumentFile;
use schemars::Schema;
use schemars::generate::SchemaSettings;
use schemars::transform::{Transform, transform_subschemas};
use serde_json::Value;

/// The JSON Schema (2020-12) of a scheme's file. It holds keys, kinds, words and
/// ranges; what numbers mean together [`crate::Document::check`] alone knows.
#[must_use]
pub fn document_schema() -> Value {
    let settings = SchemaSettings::draft2020_12().with_transform(Plain);
    let mut schema = settings.into_generator().into_root_schema_for::<DocumentFile>().to_value();
    // What a reader looks for first stands first.
    let first = ["$schema", "title", "description"];
    if let Value::Object(keys) = &mut schema {
        let all = std::mem::take(keys);
        let (head, rest): (Vec<_>, Vec<_>) =
            all.into_iter().partition(|(key, _)| first.contains(&key.as_str()));
        keys.extend(first.iter().filter_map(|key| head.iter().find(|(k, _)| k == key).cloned()));
        keys.extend(rest);
    }
    schema
}

/// Drops what only a program's types know: formats, nothing as a value (TOML has
/// none), texts that are empty unless set, and numbers such as `1.0` for `1`.
#[derive(Clone, Debug)]
struct Plain;

impl Transform for Plain {
    fn transform(&mut self, schema: &mut Schema) {
        transform_subschemas(self, schema);
        schema.remove("format");
        if let Some(Value::String(text)) = schema.get_mut("description") {
            *text = text.replace('\n', " ");
        }
        if schema.get("default").is_some_and(|d| d.is_null() || d.as_str() == Some("")) {
            schema.remove("default");
        }
        if let Some(Value::Array(kinds)) = schema.get_mut("type") {
            kinds.retain(|kind| kind != "null");
            if let [kind] = kinds.as_slice() {
                let kind = kind.clone();
                schema.insert("type".into(), kind);
            }
        }
        if let Some(Value::Array(kinds)) = schema.get_mut("anyOf") {
            kinds.retain(|kind| kind.get("type").is_none_or(|t| t != "null"));
            if let [Value::Object(kind)] = kinds.as_slice() {
                let kind = kind.clone();
                schema.remove("anyOf");
                for (key, value) in kind {
                    schema.insert(key, value);
                }
            }
        }
        for bound in ["minimum", "maximum"] {
            if let Some(x) = schema.get(bound).and_then(Value::as_f64)
                && x.fract() == 0.0
                && x.abs() < 1e15
            {
                schema.insert(bound.into(), Value::from(x as i64));
            }
        }
    }
}
