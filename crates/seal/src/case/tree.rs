//! The file as checked values: every value has the type, unit and range that its key allows, and keeps its place.

use std::ops::Range;

use super::keys::Key;
use crate::units::Dimension;

/// A table whose keys are all known.
#[derive(Debug, Clone)]
pub(super) struct Table {
    /// Keys that may stand here.
    pub keys: &'static [Key],
    /// Where errors about the whole table point.
    pub span: Range<usize>,
    /// Key path, empty at the top.
    pub path: String,
    /// Keys that stand here.
    pub entries: Vec<(&'static str, Node)>,
}

/// A value with its place.
#[derive(Debug, Clone)]
pub(super) struct Node {
    /// Place of the value.
    pub span: Range<usize>,
    /// The value.
    pub value: Value,
    /// Given by hand in place of a correlation.
    pub hand: bool,
}

/// A checked value, SI and absolute.
#[derive(Debug, Clone)]
pub(super) enum Value {
    Text(String),
    Flag(bool),
    Number(f64),
    Quantity(f64, Dimension),
    Span([f64; 2]),
    Corners([[f64; 2]; 4]),
    Automatic,
    Table(Table),
    List(Vec<Table>),
    /// Kept for later computations.
    Later(&'static str),
    /// Present, but an error has been reported.
    Invalid,
}

impl Table {
    /// The node of a key; none when the key is absent.
    pub fn node(&self, name: &str) -> Option<&Node> {
        debug_assert!(self.keys.iter().any(|key| key.name == name), "`{name}` is not a key of `{}`", self.path);
        self.entries.iter().find(|(key, _)| *key == name).map(|(_, node)| node)
    }

    /// Whether the key stands here, readable or not.
    pub fn has(&self, name: &str) -> bool {
        self.node(name).is_some()
    }

    /// Whether the key stands here but could not be read.
    pub fn invalid(&self, name: &str) -> bool {
        self.node(name).is_some_and(|node| matches!(node.value, Value::Invalid))
    }

    /// Path of a key of this table.
    pub fn path_of(&self, name: &str) -> String {
        if self.path.is_empty() { name.to_owned() } else { format!("{}.{name}", self.path) }
    }

    /// Place of a key's value, or of the table when the key is absent.
    pub fn span_of(&self, name: &str) -> Range<usize> {
        self.node(name).map_or_else(|| self.span.clone(), |node| node.span.clone())
    }

    /// A number, share or quantity in SI.
    pub fn number(&self, name: &str) -> Option<f64> {
        match self.node(name)?.value {
            Value::Number(value) | Value::Quantity(value, _) => Some(value),
            _ => None,
        }
    }

    /// Text or word.
    pub fn text(&self, name: &str) -> Option<&str> {
        match &self.node(name)?.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// Flag.
    pub fn flag(&self, name: &str) -> Option<bool> {
        match self.node(name)?.value {
            Value::Flag(flag) => Some(flag),
            _ => None,
        }
    }

    /// Two quantities, lower first.
    pub fn pair(&self, name: &str) -> Option<[f64; 2]> {
        match self.node(name)?.value {
            Value::Span(pair) => Some(pair),
            _ => None,
        }
    }

    /// A table below this one.
    pub fn table(&self, name: &str) -> Option<&Table> {
        match &self.node(name)?.value {
            Value::Table(table) => Some(table),
            _ => None,
        }
    }

    /// A list of tables below this one; empty when absent.
    pub fn list(&self, name: &str) -> &[Table] {
        match self.node(name).map(|node| &node.value) {
            Some(Value::List(tables)) => tables,
            _ => &[],
        }
    }
}
