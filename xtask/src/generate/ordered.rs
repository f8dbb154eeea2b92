//! JSON that keeps the order of its keys.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};

/// A value; what is neither text, list nor map is not needed here.
#[derive(Debug)]
pub enum Json {
    /// Keys and values as they stand.
    Map(Vec<(String, Json)>),
    /// A list.
    List(Vec<Json>),
    /// A text.
    Text(String),
    /// A number, a flag or null.
    Other,
}

impl Json {
    /// Value of a key.
    pub fn get(&self, key: &str) -> Option<&Json> {
        self.entries().iter().find(|(name, _)| name == key).map(|(_, value)| value)
    }
    /// Entries of a map.
    pub fn entries(&self) -> &[(String, Json)] {
        if let Self::Map(entries) = self { entries } else { &[] }
    }
    /// Items of a list.
    pub fn items(&self) -> &[Json] {
        if let Self::List(items) = self { items } else { &[] }
    }
    /// A text.
    pub fn text(&self) -> Option<&str> {
        if let Self::Text(text) = self { Some(text) } else { None }
    }
}

impl<'de> Deserialize<'de> for Json {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(JsonVisitor)
    }
}

struct JsonVisitor;

impl<'de> Visitor<'de> for JsonVisitor {
    type Value = Json;

    fn expecting(&self, formatter: &mut fmt::Formatter) -> fmt::Result {
        formatter.write_str("JSON")
    }
    fn visit_bool<E>(self, _: bool) -> Result<Json, E> {
        Ok(Json::Other)
    }
    fn visit_i64<E>(self, _: i64) -> Result<Json, E> {
        Ok(Json::Other)
    }
    fn visit_u64<E>(self, _: u64) -> Result<Json, E> {
        Ok(Json::Other)
    }
    fn visit_f64<E>(self, _: f64) -> Result<Json, E> {
        Ok(Json::Other)
    }
    fn visit_unit<E>(self) -> Result<Json, E> {
        Ok(Json::Other)
    }
    fn visit_str<E>(self, text: &str) -> Result<Json, E> {
        Ok(Json::Text(text.to_string()))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut sequence: A) -> Result<Json, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = sequence.next_element()? {
            items.push(item);
        }
        Ok(Json::List(items))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Json, A::Error> {
        let mut entries = Vec::new();
        while let Some(key) = map.next_key()? {
            entries.push((key, map.next_value()?));
        }
        Ok(Json::Map(entries))
    }
}
