//! Editing a case by `path=value`, keeping comments and layout.

use toml_edit::{Array, DocumentMut, Item, Table, Value};

use super::error::{CaseError, CaseErrors};
use super::keys::{Key, Kind, ROOT};
use super::read::{nearest, nearest_key};

/// The text with values put at paths such as `duty.normal.pressure` or `rotating_ring.section.0.z`.
///
/// Texts need no quotes: `11 bar(g)` is enough. Lists and tables are written as in the file. A known key that the file does not
/// have is added. The values are checked when the new text is parsed.
///
/// # Errors
/// A text that is not TOML; a path that does not exist, with the nearest; a value that is not a value.
pub fn with_settings(text: &str, settings: &[(&str, &str)]) -> Result<String, CaseErrors> {
    if settings.is_empty() {
        return Ok(text.to_owned());
    }
    let mut document: DocumentMut = match text.parse() {
        Ok(document) => document,
        Err(error) => return Err(super::parse(text).err().unwrap_or_else(|| unreadable(&error))),
    };
    let errors: Vec<CaseError> = settings
        .iter()
        .filter_map(|(path, value)| {
            let path = path.trim();
            assign(document.as_item_mut(), ROOT, path, value.trim()).err().map(|(reason, help)| CaseError::setting(path, reason, help))
        })
        .collect();
    if errors.is_empty() { Ok(document.to_string()) } else { Err(CaseErrors::new(errors)) }
}

fn unreadable(error: &toml_edit::TomlError) -> CaseErrors {
    CaseErrors::new(vec![CaseError::setting("", error.message(), "correct the file first")])
}

/// Reason and help.
pub(super) type Refusal = (String, String);

fn assign(item: &mut Item, keys: &'static [Key], path: &str, value: &str) -> Result<(), Refusal> {
    let (name, rest) = path.split_once('.').map_or((path, None), |(name, rest)| (name, Some(rest)));
    let Some(key) = keys.iter().find(|key| key.name == name) else {
        let known = || keys.iter().map(|key| key.name).collect::<Vec<_>>().join(", ");
        let help = nearest_key(keys, name).map_or_else(|| format!("known here: {}", known()), |near| format!("did you mean `{near}`?"));
        return Err((format!("`{name}` is not a key here"), help));
    };
    let Some(table) = item.as_table_like_mut() else {
        return Err((format!("the file has no table around `{name}`"), "correct the file first".to_owned()));
    };
    match (&key.kind, rest) {
        (Kind::Table(below), Some(rest)) => {
            if !table.contains_key(name) {
                table.insert(name, Item::Table(Table::new()));
            }
            match table.get_mut(name) {
                Some(inner) => assign(inner, below, rest, value),
                None => Err((format!("`{name}` cannot be reached"), "correct the file first".to_owned())),
            }
        }
        (Kind::Named(below) | Kind::List(below), Some(rest)) => match table.get_mut(name) {
            Some(list) => assign_in_list(list, below, rest, value, name),
            None => Err((format!("the file has no `{name}`"), format!("add `{name}` to the file first"))),
        },
        (_, Some(rest)) => Err((format!("`{name}` holds a value, not a table with `{rest}`"), format!("set `{name}` itself"))),
        (Kind::Named(_), None) => Err((format!("`{name}` is a list of tables"), format!("write {name}.NAME.key"))),
        (kind, None) => {
            let mut new = value_of(kind, value)?;
            // written over the old value, so that the comments of key and value stay
            match table.get_mut(name).and_then(Item::as_value_mut) {
                Some(old) => {
                    *new.decor_mut() = old.decor().clone();
                    *old = new;
                }
                None => {
                    table.insert(name, Item::Value(new));
                }
            }
            Ok(())
        }
    }
}

fn assign_in_list(list: &mut Item, keys: &'static [Key], rest: &str, value: &str, name: &str) -> Result<(), Refusal> {
    let names = names_in(list);
    // names may hold dots, so the longest name that fits is meant
    let fits = |entry: &&(usize, String)| rest.strip_prefix(entry.1.as_str()).is_some_and(|after| after.starts_with('.'));
    let found = names.iter().filter(fits).max_by_key(|(_, entry)| entry.len());
    let (index, key_path) = match found {
        Some((index, entry)) => (*index, &rest[entry.len() + 1..]),
        None => {
            let (head, tail) = rest.split_once('.').unwrap_or((rest, ""));
            match head.parse::<usize>() {
                Ok(index) if !tail.is_empty() => (index, tail),
                _ => {
                    let head = rest.rsplit_once('.').map_or(rest, |(head, _)| head);
                    let known: Vec<&str> = names.iter().map(|(_, entry)| entry.as_str()).collect();
                    let help = match nearest(head, known.iter().copied()) {
                        Some(near) => format!("did you mean `{name}.{near}`?"),
                        None if known.is_empty() => format!("write {name}.0.key for the first entry"),
                        None => format!("known: {}", known.join(", ")),
                    };
                    return Err((format!("`{name}` has no entry \"{head}\""), help));
                }
            }
        }
    };
    match list.get_mut(index) {
        Some(entry) => assign(entry, keys, key_path, value),
        None => Err((format!("`{name}` has no entry {index}"), "entries are counted from 0".to_owned())),
    }
}

/// Entries of a list that have a name, with their number.
pub(super) fn names_in(list: &Item) -> Vec<(usize, String)> {
    (0..)
        .map_while(|index| list.get(index).map(|entry| (index, entry)))
        .filter_map(|(index, entry)| Some((index, entry.get("name")?.as_str()?.trim().to_owned())))
        .collect()
}

/// The value as TOML: text gets its quotes, numbers and flags stay bare.
fn value_of(kind: &Kind, value: &str) -> Result<Value, Refusal> {
    let bare = |what: &str| value.parse::<Value>().map_err(|_| (format!("\"{value}\" is not {what}"), format!("write {}", kind.words())));
    if value.is_empty() {
        return Err(("no value is given".to_owned(), format!("write {}", kind.words())));
    }
    if value.starts_with(['[', '{', '"']) {
        let mut parsed = bare("a list, table or text as TOML writes them")?;
        if let Some(array) = parsed.as_array_mut() {
            Array::fmt(array);
        }
        return Ok(parsed);
    }
    match kind {
        Kind::Flag | Kind::Number(..) | Kind::Count(..) | Kind::Version => bare("a number or flag"),
        Kind::Share(..) if value.parse::<f64>().is_ok() => bare("a number"),
        Kind::AutoOr(inner) | Kind::HandOr(inner) if value != "auto" => value_of(inner, value),
        _ => Ok(Value::from(value)),
    }
}
