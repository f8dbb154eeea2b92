//! Editing a case as a form does: one value set or taken away, one entry copied; comments, layout and line ends stay.

use std::collections::BTreeMap;

use toml_edit::{ArrayOfTables, Document, DocumentMut, Item, Table, TableLike};

use super::error::{CaseError, CaseErrors};
use super::keys::{Key, Kind, ROOT};
use super::settings::{self, Refusal, names_in};

/// One change of a case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    /// Put a value at a path such as `duty.normal.pressure`; texts need no quotes.
    Set {
        /// Path.
        path: String,
        /// Value.
        value: String,
    },
    /// Take away the value, table or entry at a path.
    Remove {
        /// Path.
        path: String,
    },
    /// Append a copy of an entry of a list of named tables.
    Copy {
        /// The list, e.g. `duty`.
        list: String,
        /// Name of the entry that is copied.
        from: String,
        /// Name of the copy.
        name: String,
    },
}

/// The text with the changes made, in their order. Whether it is a case is for [`parse`](super::parse) to say.
///
/// # Errors
/// A text that is not TOML, or a change that does not fit it; nothing is changed then.
pub fn edit(text: &str, edits: &[Edit]) -> Result<String, CaseErrors> {
    let mut now = text.replace("\r\n", "\n");
    for change in edits {
        now = match change {
            Edit::Set { path, value } => settings::with_settings(&now, &[(path, value)])?,
            Edit::Remove { path } => removed(&now, path.trim()).map_err(|refusal| refused(path, refusal))?,
            Edit::Copy { list, from, name } => copied(&now, list.trim(), from, name).map_err(|refusal| refused(list, refusal))?,
        };
    }
    Ok(with_line_ends_of(text, &now))
}

fn refused(path: &str, (reason, help): Refusal) -> CaseErrors {
    CaseErrors::new(vec![CaseError::setting(path, reason, help)])
}

fn unreadable(error: &toml_edit::TomlError) -> Refusal {
    (format!("the text is not readable as TOML: {}", error.message().trim()), "correct the file first".to_owned())
}

fn nothing_there(path: &str) -> Refusal {
    (format!("the file has no `{path}`"), "nothing need be taken away".to_owned())
}

/// A way through a document: keys of tables and numbers of entries.
enum Step {
    Key(&'static str),
    Entry(usize),
}

/// The way to what a path names, in the terms of this document.
fn way(document: &dyn TableLike, path: &str) -> Result<Vec<Step>, Refusal> {
    let mut steps = Vec::new();
    let (mut keys, mut table, mut rest) = (ROOT, document, path);
    loop {
        let (name, below) = rest.split_once('.').map_or((rest, None), |(name, below)| (name, Some(below)));
        let key: &'static Key = keys.iter().find(|key| key.name == name).ok_or_else(|| nothing_there(path))?;
        let item = table.get(name).ok_or_else(|| nothing_there(path))?;
        steps.push(Step::Key(key.name));
        let Some(below) = below else { return Ok(steps) };
        match key.kind {
            Kind::Table(inner) => {
                keys = inner;
                table = item.as_table_like().ok_or_else(|| nothing_there(path))?;
                rest = below;
            }
            Kind::Named(inner) | Kind::List(inner) => {
                let (index, below) = entry_of(item, below).ok_or_else(|| nothing_there(path))?;
                steps.push(Step::Entry(index));
                let Some(below) = below else { return Ok(steps) };
                keys = inner;
                table = item.get(index).and_then(Item::as_table_like).ok_or_else(|| nothing_there(path))?;
                rest = below;
            }
            _ => return Err(nothing_there(path)),
        }
    }
}

/// The entry that `rest` begins with, by name or number, and what follows.
fn entry_of<'r>(list: &Item, rest: &'r str) -> Option<(usize, Option<&'r str>)> {
    let after = |entry: &str| match rest.strip_prefix(entry)? {
        "" => Some(None),
        below => below.strip_prefix('.').map(Some),
    };
    let named = names_in(list).into_iter().filter_map(|(index, name)| Some((name.len(), index, after(&name)?)));
    if let Some((_, index, below)) = named.max_by_key(|(length, ..)| *length) {
        return Some((index, below));
    }
    let (head, below) = rest.split_once('.').map_or((rest, None), |(head, below)| (head, Some(below)));
    let index = head.parse::<usize>().ok()?;
    list.get(index).map(|_| (index, below))
}

fn removed(text: &str, path: &str) -> Result<String, Refusal> {
    let placed = Document::parse(text).map_err(|error| unreadable(&error))?;
    let steps = way(placed.as_table(), path)?;
    if let Some(line) = own_line(&placed, &steps, text) {
        return Ok(line);
    }
    let mut document: DocumentMut = text.parse().map_err(|error| unreadable(&error))?;
    let Some((last, before)) = steps.split_last() else { return Err(nothing_there(path)) };
    let mut item = document.as_item_mut();
    for step in before {
        item = match step {
            Step::Key(name) => item.get_mut(name),
            Step::Entry(index) => item.get_mut(*index),
        }
        .ok_or_else(|| nothing_there(path))?;
    }
    match last {
        Step::Key(name) => {
            item.as_table_like_mut().and_then(|table| table.remove(name)).ok_or_else(|| nothing_there(path))?;
            if let Some(inline) = item.as_inline_table_mut() {
                inline.fmt();
            }
        }
        Step::Entry(index) => match item {
            Item::ArrayOfTables(tables) => {
                tables.remove(*index);
            }
            other => {
                let array = other.as_array_mut().ok_or_else(|| nothing_there(path))?;
                array.remove(*index);
            }
        },
    }
    Ok(document.to_string())
}

/// The text without a key that stands on lines of its own; a comment behind the value stays as a line.
fn own_line(placed: &Document<&str>, steps: &[Step], text: &str) -> Option<String> {
    let (Step::Key(name), before) = steps.split_last()? else { return None };
    let mut item: &Item = placed.as_item();
    for step in before {
        item = match step {
            Step::Key(name) => item.get(name)?,
            Step::Entry(index) => item.get(*index)?,
        };
    }
    let (key, value) = item.as_table_like()?.get_key_value(name)?;
    let (key, value) = (key.span()?, value.as_value()?.span()?);
    let start = text[..key.start].rfind('\n').map_or(0, |at| at + 1);
    let end = text[value.end..].find('\n').map_or(text.len(), |at| value.end + at + 1);
    let behind = text[value.end..end].trim();
    if !text[start..key.start].trim().is_empty() || !(behind.is_empty() || behind.starts_with('#')) {
        return None;
    }
    let comment = if behind.is_empty() { String::new() } else { format!("{behind}\n") };
    Some(format!("{}{comment}{}", &text[..start], &text[end..]))
}

fn copied(text: &str, list: &str, from: &str, name: &str) -> Result<String, Refusal> {
    if !ROOT.iter().any(|key| key.name == list && matches!(key.kind, Kind::Named(_))) {
        return Err((format!("`{list}` is no list of named entries"), "copy an entry of `duty` or `material`".to_owned()));
    }
    if name.trim().is_empty() {
        return Err(("the copy has no name".to_owned(), "give it one that no other entry has".to_owned()));
    }
    let mut document: DocumentMut = text.parse().map_err(|error| unreadable(&error))?;
    let entries = document.get(list).map(names_in).unwrap_or_default();
    if entries.iter().any(|(_, known)| known == name.trim()) {
        return Err((format!("an entry named \"{}\" is there already", name.trim()), "give the copy another name".to_owned()));
    }
    let found = entries.iter().find(|(_, known)| known == from.trim());
    let known = || entries.iter().map(|(_, known)| known.as_str()).collect::<Vec<_>>().join(", ");
    let index =
        found.map(|(index, _)| *index).ok_or_else(|| (format!("no entry is named \"{from}\""), format!("there are: {}", known())))?;
    let tables = document.get_mut(list).and_then(Item::as_array_of_tables_mut);
    let tables: &mut ArrayOfTables = tables.ok_or_else(|| {
        (format!("`{list}` is not written as [[{list}]] tables"), format!("write each entry under its own [[{list}]] heading first"))
    })?;
    let mut copy = tables.get(index).cloned().ok_or_else(|| nothing_there(list))?;
    unplaced(&mut copy);
    copy.decor_mut().set_prefix("\n");
    if let Some(old) = copy.get_mut("name").and_then(Item::as_value_mut) {
        let mut new = toml_edit::Value::from(name.trim());
        *new.decor_mut() = old.decor().clone();
        *old = new;
    }
    tables.push(copy);
    Ok(document.to_string())
}

/// Forgets where a table and all below stood, so that it is written after what comes before it.
fn unplaced(table: &mut Table) {
    table.set_position(None);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(inner) => unplaced(inner),
            Item::ArrayOfTables(entries) => entries.iter_mut().for_each(unplaced),
            _ => {}
        }
    }
}

/// The new text with the line ends that its lines had: those that stayed or were written over keep
/// theirs, new ones take that of the first line.
fn with_line_ends_of(before: &str, after: &str) -> String {
    if !before.contains('\r') {
        return after.to_owned();
    }
    let bare = |line: &str| line.trim_end_matches('\n').trim_end_matches('\r').to_owned();
    let old: Vec<&str> = before.split_inclusive('\n').collect();
    let new: Vec<&str> = after.split_inclusive('\n').collect();
    let same = |pair: &(&&str, &&str)| bare(pair.0) == bare(pair.1);
    let first = old.iter().zip(&new).take_while(same).count();
    let most = old.len().min(new.len()) - first;
    let last = old.iter().rev().zip(new.iter().rev()).take_while(same).count().min(most);
    let end = if old.first().is_some_and(|line| line.ends_with("\r\n")) { "\r\n" } else { "\n" };
    let mut out: String = old[..first].concat();
    for (offset, line) in new[first..new.len() - last].iter().enumerate() {
        let replaced = old[first..old.len() - last].get(offset).filter(|line| line.ends_with('\n'));
        let end = replaced.map_or(end, |line| if line.ends_with("\r\n") { "\r\n" } else { "\n" });
        out.push_str(&bare(line));
        out.push_str(if line.ends_with('\n') { end } else { "" });
    }
    out + &old[old.len() - last..].concat()
}

/// Every known value of a text as it is written there, by the paths that [`with_settings`](super::with_settings) takes; texts without
/// their quotes.
///
/// # Errors
/// What [`parse`](super::parse) says of a text that is not TOML.
pub fn as_written(text: &str) -> Result<BTreeMap<String, String>, CaseErrors> {
    let document = match Document::parse(text) {
        Ok(document) => document,
        Err(error) => {
            return Err(super::parse(text).err().unwrap_or_else(|| refused("", unreadable(&error))));
        }
    };
    let mut values = BTreeMap::new();
    collect(document.as_table(), ROOT, "", &mut values);
    Ok(values)
}

fn collect(table: &dyn TableLike, keys: &'static [Key], above: &str, values: &mut BTreeMap<String, String>) {
    for key in keys {
        let Some(item) = table.get(key.name) else { continue };
        let path = if above.is_empty() { key.name.to_owned() } else { format!("{above}.{}", key.name) };
        match key.kind {
            Kind::Table(below) => {
                if let Some(inner) = item.as_table_like() {
                    collect(inner, below, &path, values);
                }
            }
            Kind::Named(below) | Kind::List(below) => {
                let names = names_in(item);
                for index in 0.. {
                    let Some(entry) = item.get(index) else { break };
                    let name =
                        names.iter().find(|(at, name)| *at == index && !name.is_empty()).filter(|_| matches!(key.kind, Kind::Named(_)));
                    let entry_path = format!("{path}.{}", name.map_or_else(|| index.to_string(), |(_, name)| name.clone()));
                    if let Some(inner) = entry.as_table_like() {
                        collect(inner, below, &entry_path, values);
                    }
                }
            }
            _ => {
                if let Some(value) = item.as_value() {
                    values.insert(path, value.as_str().map_or_else(|| value.to_string().trim().to_owned(), str::to_owned));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CASE: &str = "\
halfmicron = 1   # version
title = \"a\"

# the booster
[[duty]]
name = \"normal\"
pressure = \"11 bar(g)\"  # by gauge
# heat
temperature = \"30 degC\"

[duty.observed]
leakage = \"2 mL/h\"

[[duty]]
name = \"hot.start\"
pressure = \"12 bar(g)\"

[seal]
secondary_seal = { kind = \"O-ring\", squeeze = 0.1 }
";

    fn set(path: &str, value: &str) -> Edit {
        Edit::Set { path: path.to_owned(), value: value.to_owned() }
    }
    fn remove(path: &str) -> Edit {
        Edit::Remove { path: path.to_owned() }
    }
    fn copy(from: &str, name: &str) -> Edit {
        Edit::Copy { list: "duty".to_owned(), from: from.to_owned(), name: name.to_owned() }
    }

    #[test]
    fn one_value_changes_and_nothing_else() {
        let edited = edit(CASE, &[set("duty.normal.pressure", "14 bar(g)")]).expect("it fits");
        assert_eq!(edited, CASE.replace("11 bar(g)", "14 bar(g)"));
    }

    #[test]
    fn line_ends_stay() {
        let windows = CASE.replace('\n', "\r\n");
        let edited = edit(&windows, &[set("duty.normal.pressure", "14 bar(g)"), set("duty.normal.speed", "10 rpm")]).expect("it fits");
        assert!(edited.contains("14 bar(g)\"  # by gauge\r\n") && edited.contains("speed = \"10 rpm\"\r\n"), "{edited:?}");
        assert_eq!(edited.matches('\n').count(), edited.matches("\r\n").count());
        let mixed = CASE.replacen('\n', "\r\n", 3);
        let edited = edit(&mixed, &[set("duty.hot.start.pressure", "13 bar(g)")]).expect("it fits");
        assert_eq!(edited, mixed.replace("12 bar(g)", "13 bar(g)"));
    }

    #[test]
    fn a_value_goes_and_comments_stay() {
        let edited = edit(CASE, &[remove("duty.normal.pressure"), remove("duty.normal.temperature")]).expect("they are there");
        assert!(edited.contains("name = \"normal\"\n# by gauge\n# heat\n\n[duty.observed]"), "{edited}");
        let inline = edit(CASE, &[remove("seal.secondary_seal.squeeze")]).expect("it is there");
        assert!(inline.contains("secondary_seal = { kind = \"O-ring\" }"), "{inline}");
        assert!(edit(CASE, &[remove("duty.hot.start")]).is_ok_and(|text| !text.contains("hot.start") && text.contains("the booster")));
        let error = edit(CASE, &[remove("duty.cold.pressure")]).expect_err("no such duty");
        assert!(error.to_string().contains("the file has no `duty.cold.pressure`"), "{error}");
    }

    #[test]
    fn a_copy_comes_last_with_all_that_is_below_it() {
        let edited = edit(CASE, &[copy("normal", "later")]).expect("it is there");
        let at = |words: &str| edited.find(words).unwrap_or_else(|| panic!("{words} in {edited}"));
        assert!(at("hot.start") < at("\"later\"") && at("\"later\"") < at("[seal]"), "{edited}");
        assert_eq!(edited.matches("[duty.observed]").count(), 2);
        let values = as_written(&edited).expect("TOML");
        assert_eq!(values["duty.later.observed.leakage"], "2 mL/h");
        assert_eq!(values["duty.normal.observed.leakage"], "2 mL/h");
        for wrong in [copy("normal", "hot.start"), copy("cold", "x"), copy("normal", " ")] {
            assert!(edit(CASE, &[wrong]).is_err());
        }
    }

    #[test]
    fn values_are_read_as_written() {
        let values = as_written(CASE).expect("TOML");
        assert_eq!(values["halfmicron"], "1");
        assert_eq!(values["duty.hot.start.pressure"], "12 bar(g)");
        assert_eq!(values["seal.secondary_seal.squeeze"], "0.1");
        assert!(as_written("a = [").is_err());
    }

    #[test]
    fn every_shipped_value_can_be_written_back_without_a_trace() {
        let text = include_str!("../../../../cases/brine-booster.toml");
        let values = as_written(text).expect("a case");
        assert!(values.len() > 40, "{}", values.len());
        for (path, value) in values.iter().filter(|(_, value)| !value.starts_with(['[', '{'])) {
            assert_eq!(edit(text, &[set(path, value)]).expect(path), text, "{path}");
        }
    }
}
