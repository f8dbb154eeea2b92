//! The JSON Schema of the case file, from the table of keys, in its order.

use serde::Serialize;
use serde::ser::{SerializeMap, Serializer};

use super::keys::{self, Key, Kind, ROOT};

/// JSON Schema (draft 2020-12) of a case file, indented, keys in the order of the table.
pub fn schema() -> String {
    let mut top = vec![
        ("$schema", Json::text("https://json-schema.org/draft/2020-12/schema")),
        ("title", Json::text("halfmicron case")),
        ("description", Json::text("One mechanical face seal with its operating points. Quantities are texts with units.")),
    ];
    top.extend(table(ROOT));
    serde_json::to_string_pretty(&Json::Map(top)).unwrap_or_default() + "\n"
}

/// JSON with the order of its keys kept.
enum Json {
    Map(Vec<(&'static str, Json)>),
    List(Vec<Json>),
    Text(String),
    Number(f64),
    Whole(i64),
    Flag(bool),
}

impl Json {
    fn text(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl Serialize for Json {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Map(entries) => {
                let mut map = serializer.serialize_map(Some(entries.len()))?;
                for (key, value) in entries {
                    map.serialize_entry(key, value)?;
                }
                map.end()
            }
            Self::List(items) => items.serialize(serializer),
            Self::Text(text) => text.serialize(serializer),
            Self::Number(number) => number.serialize(serializer),
            Self::Whole(number) => number.serialize(serializer),
            Self::Flag(flag) => flag.serialize(serializer),
        }
    }
}

fn table(keys: &'static [Key]) -> Vec<(&'static str, Json)> {
    let properties = keys.iter().filter(|key| !matches!(key.kind, Kind::Elsewhere(..))).map(|key| (key.name, property(key))).collect();
    let required: Vec<Json> = keys.iter().filter(|key| key.required).map(|key| Json::text(key.name)).collect();
    let mut out = vec![("type", Json::text("object")), ("properties", Json::Map(properties)), ("additionalProperties", Json::Flag(false))];
    if !required.is_empty() {
        out.insert(1, ("required", Json::List(required)));
    }
    out
}

fn property(key: &'static Key) -> Json {
    let range = match key.kind {
        Kind::Table(_) | Kind::List(_) | Kind::Named(_) => String::new(),
        _ => format!(": {}", key.kind.words()),
    };
    let default = if key.default.is_empty() { String::new() } else { format!(". Default: {}", key.default) };
    let mut out = vec![("description", Json::Text(format!("{}{range}{default}", key.meaning)))];
    out.extend(of_kind(&key.kind));
    Json::Map(out)
}

fn of_kind(kind: &'static Kind) -> Vec<(&'static str, Json)> {
    let typed = |name: &str| vec![("type", Json::text(name))];
    let texts = |count: i64| {
        let items = Json::Map(vec![("type", Json::text("string"))]);
        vec![("type", Json::text("array")), ("items", items), ("minItems", Json::Whole(count)), ("maxItems", Json::Whole(count))]
    };
    match kind {
        Kind::Version => vec![("const", Json::Whole(1))],
        Kind::Text => vec![("type", Json::text("string")), ("minLength", Json::Whole(1))],
        Kind::Word(words) => vec![("enum", Json::List(words.iter().map(|word| Json::text(word)).collect()))],
        Kind::Flag => typed("boolean"),
        Kind::Number(low, high) => {
            vec![("type", Json::text("number")), ("minimum", Json::Number(*low)), ("maximum", Json::Number(*high))]
        }
        Kind::Count(low, high) => {
            vec![("type", Json::text("integer")), ("minimum", Json::Whole(*low)), ("maximum", Json::Whole(*high))]
        }
        Kind::Share(low, high) => any_of(vec![of_kind_number(*low, *high), typed("string")]),
        Kind::Quantity(..) | Kind::Either(_) | Kind::Roughness(..) | Kind::Flatness(..) | Kind::LappedForm(..) => {
            vec![("type", Json::text("string")), ("examples", Json::List(vec![Json::text(&example(kind))]))]
        }
        Kind::Span(..) => texts(2),
        Kind::OneOrSpan(..) => any_of(vec![typed("string"), texts(2)]),
        Kind::Corners(..) => {
            let corner = Json::Map(texts(2));
            vec![("type", Json::text("array")), ("items", corner), ("minItems", Json::Whole(4)), ("maxItems", Json::Whole(4))]
        }
        Kind::AutoOr(inner) => any_of(vec![vec![("const", Json::text("auto"))], of_kind(inner)]),
        Kind::HandOr(inner) => {
            let properties = vec![("value", Json::Map(of_kind(inner))), ("hand", Json::Map(typed("boolean")))];
            let by_hand = vec![
                ("type", Json::text("object")),
                ("required", Json::List(vec![Json::text("value")])),
                ("properties", Json::Map(properties)),
                ("additionalProperties", Json::Flag(false)),
            ];
            any_of(vec![of_kind(inner), by_hand])
        }
        Kind::Table(keys) => table(keys),
        Kind::List(keys) | Kind::Named(keys) => {
            vec![("type", Json::text("array")), ("minItems", Json::Whole(1)), ("items", Json::Map(table(keys)))]
        }
        Kind::Later(_) | Kind::Elsewhere(..) => Vec::new(),
    }
}

fn of_kind_number(low: f64, high: f64) -> Vec<(&'static str, Json)> {
    vec![("type", Json::text("number")), ("minimum", Json::Number(low)), ("maximum", Json::Number(high))]
}

fn any_of(choices: Vec<Vec<(&'static str, Json)>>) -> Vec<(&'static str, Json)> {
    vec![("anyOf", Json::List(choices.into_iter().map(Json::Map).collect()))]
}

fn example(kind: &Kind) -> String {
    match kind {
        Kind::Quantity(dimension, low, high) => keys::example(*dimension, low, high).to_owned(),
        Kind::Either(kinds) => kinds.first().map(|(dimension, ..)| dimension.example().to_owned()).unwrap_or_default(),
        Kind::Roughness(..) => "Ra 0.1 um".to_owned(),
        Kind::Flatness(..) => "2 bands".to_owned(),
        _ => "0.3 um convex".to_owned(),
    }
}
