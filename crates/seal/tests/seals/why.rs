//! Why of every row of every Saltmere case: there is one, its numbers are those of the sheet and the model, and an equation that can be
//! redone by hand gives the shown result from the shown inputs.

use std::collections::HashMap;

use halfmicron::model::Model;
use halfmicron::outcome::Outcome;
use halfmicron::sheet::{Row, UnitSet, sheet};
use halfmicron::why::{Origin, Why, WhyInput, keys, why_in};
use halfmicron::{case, rules};

use super::saltmere::{CASES, solved_without_margins};

fn model(text: &str) -> Model {
    case::parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"))
}

fn rows(model: &Model, outcome: &Outcome, units: UnitSet) -> Vec<Row> {
    let sheet = sheet(model, outcome, units);
    sheet.blocks.into_iter().chain([sheet.hand]).flat_map(|block| block.rows).collect()
}

/// A shown unit in SI: factor and offset.
fn si(unit: &str) -> (f64, f64) {
    let factor = match unit {
        "" | "N" | "W" | "K" | "N m" | "m/s" | "kg/m3" | "h" | "J/(kg K)" | "W/(m K)" => 1.0,
        "%" => 0.01,
        "mm" | "mPa s" => 1e-3,
        "um" | "1e-6/K" => 1e-6,
        "mm2" => 1e-6,
        "MPa" | "MPa(a)" | "MPa m/s" | "N/um" => 1e6,
        "kPa" | "kPa(a)" => 1e3,
        "GPa" => 1e9,
        "rpm" => std::f64::consts::PI / 30.0,
        "mL/h" => 1e-6 / 3600.0,
        "g/h" => 1e-3 / 3600.0,
        "L/min" => 1e-3 / 60.0,
        "degC" => return (1.0, 273.15),
        other => panic!("unit {other} is not known here"),
    };
    (factor, 0.0)
}

/// The first number of a shown text in SI, and half of its last place.
fn shown(text: &str, unit: &str) -> Option<(f64, f64)> {
    let text = text.strip_prefix("at least ").unwrap_or(text).split(" (").next()?;
    let (digits, exponent) = text.split_once('e').map_or((text, 0), |(digits, exponent)| (digits, exponent.parse().unwrap_or(0)));
    let value: f64 = digits.parse().ok()?;
    let place = match digits.split_once('.') {
        Some((_, decimals)) => -(decimals.len() as i32),
        None => digits.len() as i32 - digits.trim_end_matches('0').len() as i32,
    };
    let (factor, offset) = si(unit);
    let scale = 10f64.powi(exponent);
    Some((value * scale * factor + offset, 0.5 * 10f64.powi(place) * scale * factor))
}

/// Evaluates an equation such as `Q = pi h^3 |p - p_low| / (6 mu ln(Do/Di))` up to a semicolon: what is shown is what is tested.
struct Sum<'a> {
    words: Vec<String>,
    at: usize,
    inside_bars: bool,
    values: &'a HashMap<String, f64>,
}

impl<'a> Sum<'a> {
    fn of(equation: &str, values: &'a HashMap<String, f64>) -> f64 {
        let right = equation.split(';').next().unwrap_or_default().split_once('=').expect("an equation").1;
        let mut words: Vec<String> = Vec::new();
        let mut letters = right.chars().peekable();
        while let Some(letter) = letters.next() {
            if letter.is_alphanumeric() {
                let mut word = letter.to_string();
                while let Some(next) = letters.next_if(|next| next.is_alphanumeric() || matches!(next, '_' | '.')) {
                    word.push(next);
                }
                words.push(word);
            } else if !letter.is_whitespace() {
                words.push(letter.to_string());
            }
        }
        let mut sum = Self { words, at: 0, inside_bars: false, values };
        let value = sum.sum();
        assert_eq!(sum.at, sum.words.len(), "{equation} could not be read to its end");
        value
    }

    fn next_is(&self, word: &str) -> bool {
        self.words.get(self.at).is_some_and(|next| next == word)
    }

    fn take(&mut self, word: &str) -> bool {
        let found = self.next_is(word);
        self.at += usize::from(found);
        found
    }

    fn sum(&mut self) -> f64 {
        let mut value = self.product();
        loop {
            if self.take("+") {
                value += self.product();
            } else if self.take("-") {
                value -= self.product();
            } else {
                return value;
            }
        }
    }

    fn product(&mut self) -> f64 {
        let mut value = self.power();
        loop {
            let begins = self
                .words
                .get(self.at)
                .is_some_and(|next| next.starts_with(|c: char| c.is_alphanumeric()) || next == "(" || (next == "|" && !self.inside_bars));
            if self.take("/") {
                value /= self.power();
            } else if begins {
                value *= self.power();
            } else {
                return value;
            }
        }
    }

    fn power(&mut self) -> f64 {
        let base = self.one();
        if self.take("^") { base.powf(self.one()) } else { base }
    }

    fn one(&mut self) -> f64 {
        if self.take("(") {
            let bars = std::mem::replace(&mut self.inside_bars, false);
            let value = self.sum();
            assert!(self.take(")"));
            self.inside_bars = bars;
            return value;
        }
        if self.take("|") {
            self.inside_bars = true;
            let value = self.sum();
            assert!(self.take("|"));
            self.inside_bars = false;
            return value.abs();
        }
        let word = self.words[self.at].clone();
        self.at += 1;
        match word.as_str() {
            "ln" => self.one().ln(),
            "sqrt" => self.one().sqrt(),
            "pi" => std::f64::consts::PI,
            _ => word.parse().ok().or_else(|| self.values.get(&word).copied()).unwrap_or_else(|| panic!("no input has the symbol {word}")),
        }
    }
}

#[test]
fn equations_are_evaluated_as_written() {
    let values = HashMap::from([("a", 2.0), ("b", -3.0), ("c_d", 0.5)].map(|(name, value)| (name.to_owned(), value)));
    for (equation, expected) in
        [("x = a |b - a| / (4 c_d)", 5.0), ("x = (pi/4) (a^2 - 1)", 0.75 * std::f64::consts::PI), ("x = |b| a + c_d; y = z", 6.5)]
    {
        assert!((Sum::of(equation, &values) - expected).abs() < 1e-12, "{equation}");
    }
}

/// Rows whose equation is complete: every symbol is an input.
const BY_HAND: &[&str] = &[
    "hand.area_m2",
    "hand.balance_ratio",
    "hand.spring_pressure_pa",
    "hand.sliding_speed_m_per_s",
    "hand.closing_force_n",
    "hand.net_pressure_pa",
    "hand.net_pv_pa_m_per_s",
    "hand.parallel_film_leakage_m3_per_s",
    "closing_force_n",
    "film_parameter",
    "contact_share",
    "coning_m.total",
    "rings.rotating.coning_m.total",
    "rings.stationary.coning_m.total",
    "pressure_profile_factor",
    "leakage_m3_per_s",
    "passage.leakage_normal_m3_per_s",
    "power_w",
    "torque_n_m",
    "pv_pa_m_per_s",
    "chamber_margin_k",
];

/// The shown inputs give the shown result, each off by its last place at most.
fn redo(why: &Why) -> bool {
    let Some((result, half)) = shown(&why.value, &why.unit) else { return false };
    let mut values: HashMap<String, f64> = HashMap::new();
    let mut rounding: Vec<(String, f64)> = Vec::new();
    for input in why.inputs.iter().filter(|input| !input.symbol.is_empty()) {
        let (value, half) = shown(&input.value, &input.unit).unwrap_or_else(|| panic!("{}: {input:?}", why.key));
        // Shaft speed is in turns a second in equations, and omega is 2 pi of it.
        let value = if input.symbol == "n" { value / std::f64::consts::TAU } else { value };
        values.insert(input.symbol.clone(), value);
        rounding.push((input.symbol.clone(), half));
    }
    if let Some(turns) = values.get("n").copied() {
        values.insert("omega".to_owned(), turns * std::f64::consts::TAU);
    }
    if why.equation.contains("int p_c") && why.key == "torque_n_m" {
        return false;
    }
    let found = Sum::of(&why.equation, &values);
    let spread: f64 = rounding
        .iter()
        .map(|(symbol, half)| {
            let mut moved = values.clone();
            moved.entry(symbol.clone()).and_modify(|value| *value += half);
            (Sum::of(&why.equation, &moved) - found).abs()
        })
        .sum();
    let allowed = half + 1.1 * spread + 1e-6 * result.abs();
    assert!(
        (found - result).abs() <= allowed,
        "{} at {}: {} gives {found:e}, shown is {result:e} within {allowed:e}\n{why:#?}",
        why.key,
        why.duty,
        why.equation
    );
    true
}

fn check_input(model: &Model, rows: &[Row], column: usize, why: &Why, input: &WhyInput) {
    assert!(!input.value.is_empty() && !input.label.is_empty(), "{}: {input:?}", why.key);
    let Some((value, half)) = shown(&input.value, &input.unit) else { return };
    let near = |other: f64, other_half: f64| (value - other).abs() <= 1.001 * (half + other_half) + 1e-6 * other.abs();
    if let Some(stated) = input.path.as_deref().and_then(|path| model.get(path).ok()) {
        assert!(near(stated, 0.0), "{}: {} is {stated:e} in the model, shown is {value:e}", why.key, input.label);
    }
    if input.from == Origin::Default {
        assert!(!input.note.is_empty(), "{}: {} is a default without a reason", why.key, input.label);
    }
    let row = rows.iter().find(|row| Some(&row.key) == input.result.as_ref());
    if let Some((other, other_half)) = row.and_then(|row| shown(&row.cells[column].text, &row.unit)) {
        assert!(near(other, other_half), "{}: {} is {other:e} in the sheet, shown is {value:e}", why.key, input.label);
    }
}

fn check(name: &str, model: &Model, outcome: &Outcome, redone: &mut HashMap<String, usize>) {
    let shown_rows = rows(model, outcome, UnitSet::Si);
    for (column, duty) in outcome.duties.iter().enumerate() {
        for row in &shown_rows {
            let why = why_in(model, outcome, &duty.name, &row.key, UnitSet::Si).unwrap_or_else(|| panic!("{name}: no why of {}", row.key));
            assert!(!why.equation_words.is_empty() && !why.label.is_empty(), "{name}: {}", row.key);
            if why.unit == row.unit {
                assert_eq!(why.value, row.cells[column].text, "{name}, {}: {}", duty.name, row.key);
            }
            for input in &why.inputs {
                check_input(model, &shown_rows, column, &why, input);
            }
            for told in &why.models {
                let headings = [&told.title, &told.what, &told.equation, &told.valid_when, &told.source, &told.checks];
                assert!(headings.into_iter().all(|text| !text.is_empty()), "{told:?}");
                assert_eq!(told.proven, !rules::models::proofs(&told.id).is_empty());
                assert!(!told.range.is_empty() || told.within_range.is_none(), "{told:?}");
            }
            if BY_HAND.contains(&row.key.as_str()) && redo(&why) {
                *redone.entry(row.key.clone()).or_default() += 1;
            }
            let us = why_in(model, outcome, &duty.name, &row.key, UnitSet::Us).unwrap_or_else(|| panic!("{name}: no why of {}", row.key));
            assert_eq!((us.inputs.len(), us.rules.len()), (why.inputs.len(), why.rules.len()));
        }
        for key in keys(model, duty, &outcome.verdicts) {
            let why = why_in(model, outcome, &duty.name, &key, UnitSet::Si).unwrap_or_else(|| panic!("{name}: no why of {key}"));
            if let Some(verdict) = duty.verdicts.iter().chain(&outcome.verdicts).find(|verdict| verdict.rule == key) {
                assert!(!why.remark.is_empty() && why.rules[0].word == verdict.word, "{name}: {key}");
            }
        }
    }
}

#[test]
fn every_row_of_every_case_has_its_why() {
    let mut redone: HashMap<String, usize> = HashMap::new();
    for (name, text) in CASES {
        check(name, &model(text), &solved_without_margins(text), &mut redone);
    }
    for key in BY_HAND {
        assert!(redone.get(*key).is_some_and(|count| *count >= 2), "{key} was never redone: {redone:?}");
    }
}

/// Margins to the jump are rows of their own.
#[test]
fn margins_have_their_why() {
    let (_, text) = CASES.iter().find(|(name, _)| *name == "feed-pump").expect("the case");
    let model = model(text);
    let outcome = halfmicron::solve(&model, &["normal".to_owned(), "cooler lost".to_owned()]).unwrap_or_else(|error| panic!("{error}"));
    let rows = rows(&model, &outcome, UnitSet::Si);
    let margins: Vec<&Row> = rows.iter().filter(|row| row.key.starts_with("margins")).collect();
    assert!(!margins.is_empty());
    for row in margins {
        for (cell, duty) in row.cells.iter().zip(&outcome.duties).filter(|(_, duty)| duty.margins.is_some()) {
            let why = why_in(&model, &outcome, &duty.name, &row.key, UnitSet::Si).unwrap_or_else(|| panic!("no why of {}", row.key));
            assert!(!why.models.is_empty() && !why.inputs.is_empty() && !why.remark.is_empty(), "{}", row.key);
            assert_eq!(why.value, cell.text, "{} at {}", row.key, duty.name);
            // Margins of which none has a row are `any change` or `any other change`, by the duties shown.
            assert!(why.label == row.label || row.key == "margins", "{}", why.label);
        }
    }
}
