//! From TOML with places to the checked tree, collecting every error on the way.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::error::{CaseError, Cause};
use super::keys::{KNOWN_AS, Key, Kind, ROOT, quoted};
use super::tree::{Node, Table, Value};
use crate::units::{self, Dimension, STANDARD_ATMOSPHERE_PA, UnitError};

/// Version of the case format that is read.
pub(super) const FORMAT: f64 = 1.0;
/// Errors reported of one file; the rest would be noise.
const MOST_ERRORS: usize = 100;

/// Read a text: the tree as far as it can be read, and every error.
pub(super) fn read(text: &str) -> (Table, Vec<CaseError>) {
    let (document, syntax) = DeTable::parse_recoverable(text);
    let mut reader = Reader { text, ambient_pa: ambient(document.get_ref()), errors: Vec::new(), broken: !syntax.is_empty() };
    for error in &syntax {
        let span = error.span().unwrap_or(0..text.len().min(1));
        let help = "write `key = value`, text in double quotes, tables as [name]";
        reader.errors.push(CaseError::at(span, "", Cause::Syntax(error.message().to_owned()), help));
    }
    let first_line = 0..text.find('\n').unwrap_or(text.len());
    let tree = reader.table(ROOT, document.get_ref(), first_line, String::new());
    let mut errors = reader.errors;
    errors.truncate(MOST_ERRORS);
    (tree, errors)
}

/// Ambient pressure must be known before the first gauge pressure is read.
fn ambient(document: &DeTable<'_>) -> f64 {
    document
        .get("machine")
        .and_then(|machine| machine.get_ref().as_table())
        .and_then(|machine| machine.get("ambient_pressure"))
        .and_then(|value| value.get_ref().as_str())
        .and_then(|text| units::read(text, Dimension::Pressure, STANDARD_ATMOSPHERE_PA).ok())
        .unwrap_or(STANDARD_ATMOSPHERE_PA)
}

struct Reader<'t> {
    text: &'t str,
    ambient_pa: f64,
    errors: Vec<CaseError>,
    /// Whether the TOML itself is broken, so that missing keys mean nothing.
    broken: bool,
}

impl Reader<'_> {
    fn table(&mut self, keys: &'static [Key], table: &DeTable<'_>, span: Range<usize>, path: String) -> Table {
        let mut out = Table { keys, span: self.first_line(&span), path, entries: Vec::with_capacity(table.len()) };
        for (name, value) in table {
            match keys.iter().find(|key| key.name == name.get_ref()) {
                Some(key) => {
                    let path = out.path_of(key.name);
                    let node = self.node(&key.kind, value, name.span(), &path);
                    out.entries.push((key.name, node));
                }
                None => self.unknown(keys, name.get_ref(), name.span(), &out.path),
            }
        }
        for key in keys.iter().filter(|key| key.required) {
            if !self.broken && !out.entries.iter().any(|(name, _)| *name == key.name) {
                self.missing(key, &out);
            }
        }
        out
    }

    fn unknown(&mut self, keys: &[Key], name: &str, span: Range<usize>, path: &str) {
        let nearest = nearest_key(keys, name);
        let help = match nearest {
            Some(nearest) => format!("did you mean `{nearest}`?"),
            None => {
                let names: Vec<&str> = keys.iter().map(|key| key.name).collect();
                format!("known here: {}", names.join(", "))
            }
        };
        let cause = Cause::UnknownKey { key: shortened(name), nearest: nearest.map(str::to_owned) };
        self.errors.push(CaseError::at(span, path, cause, help));
    }

    fn missing(&mut self, key: &Key, table: &Table) {
        let cause = Cause::MissingKey { key: key.name.to_owned(), meaning: key.meaning.to_owned() };
        self.errors.push(CaseError::at(table.span.clone(), &table.path, cause, format!("add `{}`: {}", key.name, key.kind.words())));
    }

    fn node(&mut self, kind: &'static Kind, value: &Spanned<DeValue<'_>>, name_span: Range<usize>, path: &str) -> Node {
        let span = value.span();
        let mut hand = false;
        let read = self.value(kind, value, name_span, path, &mut hand);
        Node { span, value: read.unwrap_or(Value::Invalid), hand }
    }

    fn value(
        &mut self,
        kind: &'static Kind,
        value: &Spanned<DeValue<'_>>,
        name_span: Range<usize>,
        path: &str,
        hand: &mut bool,
    ) -> Option<Value> {
        let span = value.span();
        match kind {
            Kind::Version => self.version(value, path),
            Kind::Text => self.free_text(value, path, kind).map(Value::Text),
            Kind::Word(words) => self.word(words, value, path, kind),
            Kind::Flag => match value.get_ref().as_bool() {
                Some(flag) => Some(Value::Flag(flag)),
                None => self.wrong_type(value, path, kind),
            },
            Kind::Number(low, high) => {
                let number = self.plain_number(value, path, kind)?;
                self.within(number, *low, *high, &span, path, &low.to_string(), &high.to_string()).map(Value::Number)
            }
            Kind::Count(low, high) => self.count(*low, *high, value, path, kind),
            Kind::Share(low, high) => self.share(*low, *high, value, path, kind),
            Kind::Quantity(dimension, low, high) => {
                let text = self.quantity_text(value, path, kind)?;
                self.quantity(*dimension, low, high, text, &span, path).map(|si| Value::Quantity(si, *dimension))
            }
            Kind::Either(kinds) => {
                let text = self.quantity_text(value, path, kind)?;
                let fits = |d: Dimension| units::read(text, d, self.ambient_pa).is_ok();
                let (dimension, low, high) = *kinds.iter().find(|(d, _, _)| fits(*d)).or(kinds.first())?;
                self.quantity(dimension, low, high, text, &span, path).map(|si| Value::Quantity(si, dimension))
            }
            Kind::Roughness(low, high) => self.length_like(units::read_roughness, low, high, value, path, kind),
            Kind::Flatness(low, high) => self.length_like(units::read_flatness, low, high, value, path, kind),
            Kind::LappedForm(low, high) => self.lapped_form(low, high, value, path, kind),
            Kind::Span(dimension, low, high) => self.pair(*dimension, low, high, value, path, kind).map(Value::Span),
            Kind::OneOrSpan(dimension, low, high) if value.get_ref().is_array() => {
                self.pair(*dimension, low, high, value, path, kind).map(Value::Span)
            }
            Kind::OneOrSpan(dimension, low, high) => {
                let text = self.quantity_text(value, path, kind)?;
                self.quantity(*dimension, low, high, text, &span, path).map(|si| Value::Quantity(si, *dimension))
            }
            Kind::Corners(r, z) => self.corners(r, z, value, path, kind),
            Kind::AutoOr(inner) => match value.get_ref().as_str() {
                Some("auto") => Some(Value::Automatic),
                _ => self.value(inner, value, name_span, path, hand),
            },
            Kind::HandOr(inner) => self.hand_value(inner, value, name_span, path, hand),
            Kind::Table(keys) => match value.get_ref().as_table() {
                Some(table) => Some(Value::Table(self.table(keys, table, name_span, path.to_owned()))),
                None => self.wrong_type(value, path, kind),
            },
            Kind::List(keys) | Kind::Named(keys) => self.list(keys, value, path, kind),
            Kind::Later(what) => Some(Value::Later(what)),
            Kind::Elsewhere(what, place) => {
                let cause = Cause::Contradiction(format!("{what} do not stand here, but in {place} with the ring that carries them"));
                self.errors.push(CaseError::at(span, path, cause, format!("move them to {place}")));
                None
            }
        }
    }

    fn version(&mut self, value: &Spanned<DeValue<'_>>, path: &str) -> Option<Value> {
        let number = self.plain_number(value, path, &Kind::Version)?;
        self.within(number, FORMAT, FORMAT, &value.span(), path, "1", "1").map(Value::Number)
    }

    fn free_text(&mut self, value: &Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<String> {
        match value.get_ref().as_str() {
            Some(text) if text.trim().is_empty() => {
                let cause = Cause::WrongType { found: "empty text".to_owned(), expected: kind.words() };
                self.errors.push(CaseError::at(value.span(), path, cause, "write at least one word"));
                None
            }
            Some(text) => Some(text.trim().to_owned()),
            None => self.wrong_type(value, path, kind),
        }
    }

    fn word(&mut self, words: &'static [&'static str], value: &Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<Value> {
        let Some(text) = value.get_ref().as_str() else {
            return self.wrong_type(value, path, kind);
        };
        if words.contains(&text) {
            return Some(Value::Text(text.to_owned()));
        }
        let help = match nearest(text, words.iter().copied()) {
            Some(word) => format!("did you mean \"{word}\"?"),
            None => format!("write {}", kind.words()),
        };
        let cause = Cause::NotAChoice { value: shortened(text), choices: quoted(words) };
        self.errors.push(CaseError::at(value.span(), path, cause, help));
        None
    }

    /// A number without quotes; NaN and infinity are refused.
    fn plain_number(&mut self, value: &Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<f64> {
        let number = match value.get_ref() {
            DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix()).map(|i| i as f64).unwrap_or(f64::NAN),
            DeValue::Float(float) => float.as_str().parse().unwrap_or(f64::NAN),
            _ => return self.wrong_type(value, path, kind),
        };
        if number.is_finite() {
            return Some(number);
        }
        let cause = Cause::WrongType { found: format!("`{}`, not a finite number,", self.slice(&value.span())), expected: kind.words() };
        self.errors.push(CaseError::at(value.span(), path, cause, format!("write {}", kind.words())));
        None
    }

    fn count(&mut self, low: i64, high: i64, value: &Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<Value> {
        if !value.get_ref().is_integer() {
            return self.wrong_type(value, path, kind);
        }
        let number = self.plain_number(value, path, kind)?;
        self.within(number, low as f64, high as f64, &value.span(), path, &low.to_string(), &high.to_string()).map(Value::Number)
    }

    fn share(&mut self, low: f64, high: f64, value: &Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<Value> {
        let number = match value.get_ref().as_str() {
            Some(text) => {
                let percent = text.trim().strip_suffix('%').and_then(|number| number.trim().parse::<f64>().ok());
                match percent.filter(|number| number.is_finite()) {
                    Some(percent) => 0.01 * percent,
                    None => return self.wrong_type(value, path, kind),
                }
            }
            None => self.plain_number(value, path, kind)?,
        };
        self.within(number, low, high, &value.span(), path, &low.to_string(), &high.to_string()).map(Value::Number)
    }

    fn quantity_text<'v>(&mut self, value: &'v Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<&'v str> {
        match value.get_ref().as_str() {
            Some(text) => Some(text),
            None => self.wrong_type(value, path, kind),
        }
    }

    fn quantity(&mut self, dimension: Dimension, low: &str, high: &str, text: &str, span: &Range<usize>, path: &str) -> Option<f64> {
        let si = match units::read(text, dimension, self.ambient_pa) {
            Ok(si) => si,
            Err(error) => return self.unreadable(error, text, span, path),
        };
        let limit = |text: &str| units::read(text, dimension, self.ambient_pa).unwrap_or(f64::NAN);
        let (least, greatest) = (limit(low), limit(high));
        self.within(si, least, greatest, span, path, low, high)
    }

    fn length_like(
        &mut self,
        read: fn(&str) -> Result<f64, UnitError>,
        low: &str,
        high: &str,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        kind: &Kind,
    ) -> Option<Value> {
        let text = self.quantity_text(value, path, kind)?;
        let span = value.span();
        match read(text) {
            Ok(si) => {
                let (least, greatest) = (length(low), length(high));
                self.within(si, least, greatest, &span, path, low, high).map(|si| Value::Quantity(si, Dimension::Length))
            }
            Err(error) => self.unreadable(error, text, &span, path),
        }
    }

    fn lapped_form(&mut self, low: &str, high: &str, value: &Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<Value> {
        let text = self.quantity_text(value, path, kind)?;
        let span = value.span();
        match units::read_lapped_form(text) {
            Ok(form) => {
                let height = form.convex_m.abs();
                self.within(height, length(low), length(high), &span, path, low, high)?;
                Some(Value::Quantity(form.convex_m, Dimension::Length))
            }
            Err(error) => self.unreadable(error, text, &span, path),
        }
    }

    fn pair(
        &mut self,
        dimension: Dimension,
        low: &str,
        high: &str,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        kind: &Kind,
    ) -> Option<[f64; 2]> {
        let Some([first, second]) = value.get_ref().as_array().and_then(|array| <[_; 2]>::try_from(array.iter().collect::<Vec<_>>()).ok())
        else {
            return self.wrong_type(value, path, kind);
        };
        let (first_text, second_text) = (self.quantity_text(first, path, kind), self.quantity_text(second, path, kind));
        let one = self.quantity(dimension, low, high, first_text?, &first.span(), path);
        let two = self.quantity(dimension, low, high, second_text?, &second.span(), path);
        let (one, two) = (one?, two?);
        if one < two {
            return Some([one, two]);
        }
        let cause = Cause::Geometry(format!("the first value ({}) is not below the second ({})", first_text?, second_text?));
        let help = format!("write the smaller value first: [\"{}\", \"{}\"]", second_text?, first_text?);
        self.errors.push(CaseError::at(value.span(), path, cause, help));
        None
    }

    fn corners(&mut self, r_high: &str, z_high: &str, value: &Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<Value> {
        let corners: Option<Vec<[&Spanned<DeValue<'_>>; 2]>> = value.get_ref().as_array().and_then(|array| {
            array.iter().map(|corner| corner.get_ref().as_array().and_then(|c| c.iter().collect::<Vec<_>>().try_into().ok())).collect()
        });
        let Some(corners) = corners.and_then(|corners| <[[_; 2]; 4]>::try_from(corners).ok()) else {
            return self.wrong_type(value, path, kind);
        };
        let mut out = [[0.0; 2]; 4];
        let mut readable = true;
        for (to, from) in out.iter_mut().zip(corners) {
            for (index, coordinate) in from.into_iter().enumerate() {
                let (low, high) = if index == 0 { ("0.5 mm", r_high) } else { ("0 mm", z_high) };
                let si = self
                    .quantity_text(coordinate, path, kind)
                    .and_then(|text| self.quantity(Dimension::Length, low, high, text, &coordinate.span(), path));
                readable &= si.is_some();
                to[index] = si.unwrap_or(0.0);
            }
        }
        readable.then_some(Value::Corners(out))
    }

    fn hand_value(
        &mut self,
        inner: &'static Kind,
        value: &Spanned<DeValue<'_>>,
        name_span: Range<usize>,
        path: &str,
        hand: &mut bool,
    ) -> Option<Value> {
        let Some(table) = value.get_ref().as_table() else {
            return self.value(inner, value, name_span, path, hand);
        };
        for (name, _) in table.iter().filter(|(name, _)| !matches!(name.get_ref().as_ref(), "value" | "hand")) {
            let cause = Cause::UnknownKey { key: shortened(name.get_ref()), nearest: None };
            self.errors.push(CaseError::at(name.span(), path, cause, "known here: value, hand"));
        }
        match table.get("hand").map(|flag| (flag, flag.get_ref().as_bool())) {
            Some((_, Some(true))) => *hand = true,
            Some((flag, _)) => {
                let _: Option<Value> = self.wrong_type(flag, &format!("{path}.hand"), &Kind::Flag);
            }
            None => {}
        }
        match table.get("value") {
            Some(value) => self.value(inner, value, name_span, path, hand),
            None => {
                let cause = Cause::MissingKey { key: "value".to_owned(), meaning: "the hand value".to_owned() };
                self.errors.push(CaseError::at(value.span(), path, cause, format!("add `value`: {}", inner.words())));
                None
            }
        }
    }

    fn list(&mut self, keys: &'static [Key], value: &Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<Value> {
        let Some(array) = value.get_ref().as_array() else {
            return self.wrong_type(value, path, kind);
        };
        if array.is_empty() {
            let cause = Cause::WrongType { found: "an empty list".to_owned(), expected: kind.words() };
            self.errors.push(CaseError::at(value.span(), path, cause, "give at least one entry"));
            return None;
        }
        let named = matches!(kind, Kind::Named(_));
        let mut tables: Vec<Table> = Vec::with_capacity(array.len());
        let mut readable = true;
        for (index, element) in array.iter().enumerate() {
            let Some(table) = element.get_ref().as_table() else {
                let _: Option<Value> = self.wrong_type(element, &format!("{path}.{index}"), &Kind::Table(keys));
                readable = false;
                continue;
            };
            let name = table.get("name").and_then(|name| name.get_ref().as_str()).filter(|_| named).map(str::trim);
            let path = format!("{path}.{}", name.filter(|name| !name.is_empty()).map_or(index.to_string(), str::to_owned));
            let read = self.table(keys, table, element.span(), path);
            if let Some(name) = name.filter(|name| tables.iter().any(|other| other.text("name") == Some(name))) {
                let cause = Cause::Contradiction(format!("the name \"{}\" is given twice", shortened(name)));
                self.errors.push(CaseError::at(read.span_of("name"), read.path_of("name"), cause, "give each entry a name of its own"));
            }
            tables.push(read);
        }
        readable.then_some(Value::List(tables))
    }

    fn within(&mut self, si: f64, low: f64, high: f64, span: &Range<usize>, path: &str, low_text: &str, high_text: &str) -> Option<f64> {
        let slack = 1e-12 * low.abs().max(high.abs());
        if si >= low - slack && si <= high + slack {
            return Some(si);
        }
        let cause = Cause::OutOfRange { value: self.slice(span), low: low_text.to_owned(), high: high_text.to_owned() };
        let help = if low_text == high_text {
            format!("write {low_text}")
        } else {
            format!("write a value from {low_text} to {high_text}; check the unit and the sign")
        };
        self.errors.push(CaseError::at(span.clone(), path, cause, help));
        None
    }

    /// An error inside a string, underlined there when the string stands in the file letter by letter.
    fn unreadable<T>(&mut self, error: UnitError, text: &str, span: &Range<usize>, path: &str) -> Option<T> {
        let inside = span.start + 1;
        let literal = self.text.get(inside..inside + text.len()) == Some(text);
        let place = if literal && !error.span.is_empty() { inside + error.span.start..inside + error.span.end } else { span.clone() };
        self.errors.push(CaseError::at(place, path, Cause::Quantity(error.cause), error.help));
        None
    }

    fn wrong_type<T>(&mut self, value: &Spanned<DeValue<'_>>, path: &str, kind: &Kind) -> Option<T> {
        let written = self.slice(&value.span());
        let found = match value.get_ref() {
            DeValue::String(_) => format!("the text \"{written}\""),
            DeValue::Integer(_) | DeValue::Float(_) => format!("the plain number {written}"),
            DeValue::Boolean(flag) => format!("`{flag}`"),
            DeValue::Datetime(_) => "a date".to_owned(),
            DeValue::Array(_) => "a list".to_owned(),
            DeValue::Table(_) => "a table".to_owned(),
        };
        let help = match (kind, value.get_ref()) {
            (Kind::Quantity(dimension, _, _), DeValue::Integer(_) | DeValue::Float(_)) => {
                format!("write it as text with its unit, for example \"{}\"", dimension.example())
            }
            _ => format!("write {}", kind.words()),
        };
        self.errors.push(CaseError::at(value.span(), path, Cause::WrongType { found, expected: kind.words() }, help));
        None
    }

    /// What the file says at a place, shortened.
    fn slice(&self, span: &Range<usize>) -> String {
        shortened(self.text.get(span.clone()).unwrap_or_default().trim_matches('"'))
    }

    fn first_line(&self, span: &Range<usize>) -> Range<usize> {
        let end = self.text.get(span.clone()).and_then(|slice| slice.find('\n')).map_or(span.end, |at| span.start + at);
        span.start..end
    }
}

fn length(text: &str) -> f64 {
    units::read(text, Dimension::Length, STANDARD_ATMOSPHERE_PA).unwrap_or(f64::NAN)
}

fn shortened(text: &str) -> String {
    let line = text.lines().next().unwrap_or_default();
    if line.chars().count() <= 60 && line.len() == text.len() {
        line.to_owned()
    } else {
        format!("{}...", line.chars().take(60).collect::<String>())
    }
}

/// The key meant by a word that is none.
pub(super) fn nearest_key(keys: &[Key], name: &str) -> Option<&'static str> {
    let known = KNOWN_AS.iter().find(|(other, _)| *other == name).map(|(_, key)| *key);
    let spelled = || nearest(name, keys.iter().map(|key| key.name));
    known.and_then(|known| keys.iter().find(|key| key.name == known)).map(|key| key.name).or_else(spelled)
}

/// The most similar word, when one is similar at all.
pub(super) fn nearest<'w>(written: &str, words: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let written = written.chars().take(80).collect::<String>().to_lowercase().replace('-', "_");
    words
        .map(|word| (likeness(&written, &word.to_lowercase()), word))
        .filter(|(likeness, _)| *likeness >= 0.5)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, word)| word)
}

fn likeness(written: &str, word: &str) -> f64 {
    let spelled = strsim::normalized_damerau_levenshtein(written, word);
    let part = written.len() >= 4 && (word.contains(written) || written.contains(word));
    if part { spelled.max(0.6) } else { spelled }
}
