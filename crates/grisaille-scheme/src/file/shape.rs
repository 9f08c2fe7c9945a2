//! Whether a file has the shape of a scheme: keys, kinds and words as its schema
//! has them. What does not fit is told in a painter's words, with the key or word
//! that was most likely meant.

use super::place::Node;
use crate::words::{listed, nearest, quoted};
use serde_json::{Map, Value as Json};
use std::ops::Range;
use toml_edit::{TableLike, Value};

/// The first thing that does not fit.
#[derive(Debug)]
pub(super) struct Misfit {
    pub(super) why: String,
    /// Its bytes in the text, where they are known.
    pub(super) span: Option<Range<usize>>,
}

/// Checks a file's top table against the schema of the file.
pub(super) fn check_shape(top: &dyn TableLike, schema: &Json) -> Result<(), Misfit> {
    Shape { schema }.table(top, None, schema, &Way::default())
}

/// Where something stands: the keys from the top, and what its table is called.
#[derive(Clone, Default)]
struct Way {
    keys: Vec<String>,
    in_rows: bool,
    name: Option<String>,
}

impl Way {
    fn into(&self, key: &str) -> Self {
        let keys = self.keys.iter().map(String::as_str).chain([key]).map(str::to_owned).collect();
        Self { keys, in_rows: false, name: None }
    }

    fn row(&self, node: Node<'_>) -> Self {
        let name = match node {
            Node::Table(table, _) => table.get("name").and_then(|n| n.as_str()).map(quoted),
            _ => None,
        };
        Self { keys: self.keys.clone(), in_rows: true, name }
    }

    /// Its head, as it stands in a file.
    fn head(&self) -> String {
        let keys = self.keys.join(".");
        if self.in_rows { format!("[[{keys}]]") } else { format!("[{keys}]") }
    }

    /// What the painter knows the table by.
    fn title(&self) -> String {
        match (self.keys.as_slice(), &self.name) {
            ([], _) => "a scheme".into(),
            ([key], Some(name)) if key == "palette" => format!("palette colour {name}"),
            ([key], Some(name)) => format!("{key} {name}"),
            _ => self.head(),
        }
    }
}

struct Shape<'s> {
    schema: &'s Json,
}

impl<'s> Shape<'s> {
    /// A schema itself, where it is named by a reference.
    fn of(&self, schema: &'s Json) -> &'s Json {
        let name = schema.get("$ref").and_then(Json::as_str).and_then(|r| r.strip_prefix("#/$defs/"));
        match name.and_then(|name| self.schema.get("$defs")?.get(name)) {
            Some(found) => found,
            None => schema,
        }
    }

    fn table(
        &self,
        table: &dyn TableLike,
        span: Option<Range<usize>>,
        schema: &'s Json,
        way: &Way,
    ) -> Result<(), Misfit> {
        let Some(keys) = schema.get("properties").and_then(Json::as_object) else { return Ok(()) };
        for (key, item) in table.iter() {
            let key_span = table.get_key_value(key).and_then(|(key, _)| key.span()).or_else(|| item.span());
            let Some(schema) = keys.get(key) else {
                let why = self.unknown(key, keys, way);
                return Err(Misfit { why, span: key_span });
            };
            if let Some(node) = Node::of_item(item) {
                let beside = |m: Misfit| Misfit { span: m.span.or(key_span.clone()), ..m };
                self.entry(node, key, schema, way).map_err(beside)?;
            }
        }
        let mut needed = schema.get("required").and_then(Json::as_array).into_iter().flatten();
        match needed.find_map(|key| key.as_str().filter(|key| !table.contains_key(key))) {
            Some(key) => Err(Misfit { why: self.missing(key, keys.get(key), way), span }),
            None => Ok(()),
        }
    }

    /// What stands at a key of a table.
    fn entry(&self, node: Node<'_>, key: &str, schema: &'s Json, way: &Way) -> Result<(), Misfit> {
        let own = self.of(schema);
        let inner = way.into(key);
        if let (Node::Table(table, span), Some("object")) = (node, kind(own)) {
            return self.table(table, span.map(|(a, b)| a..b), own, &inner);
        }
        let wrong = |what: &str| Misfit {
            why: format!("'{key}' of {} is {what}: it must be {}", way.title(), self.phrase(schema, &inner)),
            span: node.span(),
        };
        self.value(node, schema, &inner, &wrong)
    }

    fn value(
        &self,
        node: Node<'_>,
        schema: &'s Json,
        way: &Way,
        wrong: &dyn Fn(&str) -> Misfit,
    ) -> Result<(), Misfit> {
        let schema = self.of(schema);
        if let Some(kinds) = schema.get("anyOf").and_then(Json::as_array).filter(|_| kind(schema).is_none()) {
            let fits = |s: &'s Json| self.value(node, s, way, wrong).is_ok();
            return if kinds.iter().any(fits) { Ok(()) } else { Err(wrong(&shown(node))) };
        }
        if let Some(words) = words(schema) {
            return match text_of(node) {
                Some(word) if words.contains(&word) => Ok(()),
                Some(word) => {
                    let meant = nearest(word, &words).map(|w| format!(" (did you mean '{w}'?)"));
                    Err(wrong(&(quoted(word) + &meant.unwrap_or_default())))
                }
                None => Err(wrong(&shown(node))),
            };
        }
        let fits = match (kind(schema), node) {
            (Some("array"), _) => return self.list(node, schema, way, wrong),
            (Some("object"), Node::Table(table, span)) => {
                return self.table(table, span.map(|(a, b)| a..b), schema, way);
            }
            (Some("boolean"), Node::Value(Value::Boolean(_)))
            | (Some("string"), Node::Value(Value::String(_)))
            | (Some("number"), Node::Value(Value::Integer(_) | Value::Float(_)))
            | (None, _) => true,
            (Some("integer"), Node::Value(Value::Integer(x))) => {
                let bound = |key: &str| schema.get(key).and_then(Json::as_i64);
                bound("minimum").is_none_or(|low| *x.value() >= low)
                    && bound("maximum").is_none_or(|high| *x.value() <= high)
            }
            _ => false,
        };
        if fits { Ok(()) } else { Err(wrong(&shown(node))) }
    }

    fn list(
        &self,
        node: Node<'_>,
        schema: &'s Json,
        way: &Way,
        wrong: &dyn Fn(&str) -> Misfit,
    ) -> Result<(), Misfit> {
        let Some(rows) = node.rows() else { return Err(wrong(&shown(node))) };
        if exact_length(schema).is_some_and(|n| n != rows.len() as u64) {
            return Err(wrong(&shown(node)));
        }
        let Some(items) = schema.get("items") else { return Ok(()) };
        for row in rows {
            let at_row = |what: &str| {
                let whole = wrong(what);
                Misfit { why: whole.why.replacen(" is ", " holds ", 1), span: row.span().or(whole.span) }
            };
            self.value(row, items, &way.row(row), &at_row)?;
        }
        Ok(())
    }

    fn unknown(&self, key: &str, keys: &Map<String, Json>, way: &Way) -> String {
        let names: Vec<&str> = keys.keys().map(String::as_str).collect();
        let what = format!("{} has no key {}", way.title(), quoted(key));
        if let Some(near) = nearest(key, &names) {
            return format!("{what}: did you mean '{near}'?");
        }
        let top = self.schema.get("properties").and_then(|p| p.get(key));
        if let Some(kind) = top.map(|schema| self.of(schema)).filter(|_| !way.keys.is_empty()) {
            let plain = !matches!(self::kind(kind), Some("object" | "array"));
            return match plain {
                true => format!("{what}: it belongs to the whole scheme and stands above the first table"),
                false => format!("{what}: it is a table of the scheme, with a head of its own"),
            };
        }
        format!("{what}: it has {}", listed(&names, "and"))
    }

    fn missing(&self, key: &str, schema: Option<&'s Json>, way: &Way) -> String {
        let own = schema.map(|s| self.of(s));
        if own.is_some_and(|s| self.holds_tables(s)) {
            return format!("{} has no [[{key}]]: add one, with its keys below", way.title());
        }
        let example = schema.and_then(example).or_else(|| own.and_then(example));
        let how = match example {
            Some(example) => format!("add {key} = {example}"),
            None => format!("add {key}"),
        };
        format!("{} has no {key}: {how}", way.title())
    }

    fn holds_tables(&self, schema: &'s Json) -> bool {
        schema.get("items").is_some_and(|items| kind(self.of(items)) == Some("object"))
    }

    /// What must stand at a key.
    fn phrase(&self, schema: &'s Json, way: &Way) -> String {
        let own = self.of(schema);
        let such = schema_example(schema, own);
        let such = such.map(|e| format!(", such as {e}")).unwrap_or_default();
        if let Some(words) = words(own) {
            return listed(&words, "or");
        }
        match kind(own) {
            Some("boolean") => "true or false".into(),
            Some("number") => format!("a number{such}"),
            Some("integer") => "a whole number".to_owned() + &between(own) + &such,
            Some("string") => format!("a text in quotation marks{such}"),
            Some("object") => {
                format!("a table: write {} on a line of its own and its keys below", way.head())
            }
            Some("array") if self.holds_tables(own) => {
                format!("written with two brackets, [[{}]], for each one anew", way.keys.join("."))
            }
            Some("array") => format!("a list of {}{such}", self.several(own)),
            _ => "something else".into(),
        }
    }

    /// What a list holds.
    fn several(&self, list: &'s Json) -> String {
        let Some(items) = list.get("items").map(|items| self.of(items)) else { return "entries".into() };
        let what = self.each(items);
        match exact_length(list) {
            Some(n) => format!("{n} {what}"),
            None => what,
        }
    }

    fn each(&self, schema: &'s Json) -> String {
        if let Some(words) = words(schema) {
            return format!("the words {}", listed(&words, "and"));
        }
        if let Some(kinds) = schema.get("anyOf").and_then(Json::as_array) {
            let each: Vec<String> = kinds.iter().map(|k| self.each(self.of(k))).collect();
            let each: Vec<&str> = each.iter().map(String::as_str).collect();
            return listed(&each, "or");
        }
        match kind(schema) {
            Some("number") => "numbers".into(),
            Some("integer") => "whole numbers".to_owned() + &between(schema),
            Some("string") => "texts in quotation marks".into(),
            Some("array") => format!("lists of {}", self.several(schema)),
            _ => "entries".into(),
        }
    }
}

fn kind(schema: &Json) -> Option<&str> {
    schema.get("type").and_then(Json::as_str)
}

/// The words that a text may be, if it may not be any.
fn words(schema: &Json) -> Option<Vec<&str>> {
    if let Some(words) = schema.get("enum").and_then(Json::as_array) {
        return words.iter().map(Json::as_str).collect();
    }
    let words = schema.get("oneOf")?.as_array()?;
    words.iter().map(|word| word.get("const").and_then(Json::as_str)).collect()
}

fn exact_length(schema: &Json) -> Option<u64> {
    let bound = |key: &str| schema.get(key).and_then(Json::as_u64);
    bound("minItems").filter(|n| bound("maxItems") == Some(*n))
}

/// The range of a whole number, from 0 where it has no end.
fn between(schema: &Json) -> String {
    let bound = |key: &str| schema.get(key).and_then(Json::as_i64);
    match (bound("minimum"), bound("maximum")) {
        (Some(low), Some(high)) if high < i64::from(u32::MAX) => format!(" from {low} to {high}"),
        (Some(low), _) => format!(" of {low} or more"),
        _ => String::new(),
    }
}

fn example(schema: &Json) -> Option<String> {
    // JSON and TOML write texts, numbers and lists of them alike.
    schema.get("examples")?.as_array()?.first().map(Json::to_string)
}

fn schema_example(schema: &Json, own: &Json) -> Option<String> {
    example(schema).or_else(|| example(own))
}

fn text_of(node: Node<'_>) -> Option<&str> {
    match node {
        Node::Value(value) => value.as_str(),
        _ => None,
    }
}

/// What stands there, in short.
fn shown(node: Node<'_>) -> String {
    match node {
        Node::Table(..) => "a table".into(),
        Node::Rows(_) => "several tables".into(),
        Node::Value(Value::Array(array)) => match array.len() {
            0 => "an empty list".into(),
            1 => "a list of one".into(),
            n => format!("a list of {n}"),
        },
        Node::Value(Value::String(text)) => format!("the text {}", quoted(text.value())),
        Node::Value(Value::Datetime(_)) => "a date".into(),
        Node::Value(Value::Boolean(is)) => is.value().to_string(),
        Node::Value(Value::Integer(x)) => x.value().to_string(),
        Node::Value(Value::Float(x)) => x.value().to_string(),
        Node::Value(Value::InlineTable(_)) => "a table".into(),
    }
}
