//! Unit symbols, their factors, and products of them.

use std::ops::Range;

use super::{Dimension, Powers, UnitCause, UnitError, ZERO_CELSIUS_K};

/// Reference of a pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    /// Counted from ambient.
    Gauge,
    /// Counted from vacuum.
    Absolute,
}

/// A unit as it was written, in SI.
#[derive(Debug, Clone, Copy)]
pub(super) struct Expression {
    /// SI units in one of these.
    pub factor: f64,
    /// Powers of the base units.
    pub powers: Powers,
    /// Gauge or absolute.
    pub mark: Option<Mark>,
    /// Zero of the scale, K, when the whole unit is one temperature symbol.
    pub zero_k: Option<f64>,
}

struct Symbol {
    name: &'static str,
    factor: f64,
    powers: Powers,
    prefixes: &'static str,
}

const fn symbol(name: &'static str, factor: f64, powers: Powers, prefixes: &'static str) -> Symbol {
    Symbol { name, factor, powers, prefixes }
}

const NONE: Powers = [0; 6];
const LENGTH: Powers = [1, 0, 0, 0, 0, 0];
const VOLUME: Powers = [3, 0, 0, 0, 0, 0];
const MASS: Powers = [0, 1, 0, 0, 0, 0];
const TIME: Powers = [0, 0, 1, 0, 0, 0];
const KELVIN: Powers = [0, 0, 0, 1, 0, 0];
const ANGLE: Powers = [0, 0, 0, 0, 1, 0];
const FORCE: Powers = [1, 1, -2, 0, 0, 0];
const PRESSURE: Powers = [-1, 1, -2, 0, 0, 0];
const ENERGY: Powers = [2, 1, -2, 0, 0, 0];
const POWER: Powers = [2, 1, -3, 0, 0, 0];
const DYNAMIC: Powers = [-1, 1, -1, 0, 0, 0];
const KINEMATIC: Powers = [2, 0, -1, 0, 0, 0];

const INCH: f64 = 0.0254;
const POUND: f64 = 0.453_592_37;
const GRAVITY: f64 = 9.806_65;
const POUND_FORCE: f64 = POUND * GRAVITY;
const PSI: f64 = POUND_FORCE / (INCH * INCH);
const GALLON: f64 = 231.0 * INCH * INCH * INCH;
const BTU: f64 = 1_055.055_852_62;
const TURN: f64 = std::f64::consts::TAU;

/// Sources: NIST SP 811 appendix B. Prefixed symbols list the prefixes they take.
const SYMBOLS: &[Symbol] = &[
    symbol("1", 1.0, NONE, ""),
    symbol("%", 0.01, NONE, ""),
    symbol("m", 1.0, LENGTH, "numcdk"),
    symbol("in", INCH, LENGTH, ""),
    symbol("uin", 1e-6 * INCH, LENGTH, ""),
    symbol("mil", 1e-3 * INCH, LENGTH, ""),
    symbol("thou", 1e-3 * INCH, LENGTH, ""),
    symbol("ft", 12.0 * INCH, LENGTH, ""),
    symbol("L", 1e-3, VOLUME, "umcd"),
    symbol("l", 1e-3, VOLUME, "umcd"),
    symbol("cc", 1e-6, VOLUME, ""),
    symbol("gal", GALLON, VOLUME, ""),
    symbol("gpm", GALLON / 60.0, [3, 0, -1, 0, 0, 0], ""),
    symbol("g", 1e-3, MASS, "umk"),
    symbol("t", 1e3, MASS, ""),
    symbol("lb", POUND, MASS, ""),
    symbol("lbm", POUND, MASS, ""),
    symbol("s", 1.0, TIME, "um"),
    symbol("min", 60.0, TIME, ""),
    symbol("h", 3600.0, TIME, ""),
    symbol("d", 86_400.0, TIME, ""),
    symbol("Hz", 1.0, [0, 0, -1, 0, 0, 0], "k"),
    symbol("rpm", TURN / 60.0, [0, 0, -1, 0, 1, 0], ""),
    symbol("rad", 1.0, ANGLE, "num"),
    symbol("deg", TURN / 360.0, ANGLE, ""),
    symbol("rev", TURN, ANGLE, ""),
    symbol("K", 1.0, KELVIN, ""),
    symbol("degC", 1.0, KELVIN, ""),
    symbol("degF", 5.0 / 9.0, KELVIN, ""),
    symbol("degR", 5.0 / 9.0, KELVIN, ""),
    symbol("N", 1.0, FORCE, "mkM"),
    symbol("lbf", POUND_FORCE, FORCE, ""),
    symbol("kgf", GRAVITY, FORCE, ""),
    symbol("Nm", 1.0, ENERGY, "mk"),
    symbol("Pa", 1.0, PRESSURE, "umkMG"),
    symbol("bar", 1e5, PRESSURE, "m"),
    symbol("atm", 101_325.0, PRESSURE, ""),
    symbol("mmHg", 133.322_387_415, PRESSURE, ""),
    symbol("inHg", 3_386.388_640_341, PRESSURE, ""),
    symbol("torr", 101_325.0 / 760.0, PRESSURE, ""),
    symbol("psi", PSI, PRESSURE, ""),
    symbol("ksi", 1e3 * PSI, PRESSURE, ""),
    symbol("J", 1.0, ENERGY, "mkM"),
    symbol("Btu", BTU, ENERGY, ""),
    symbol("W", 1.0, POWER, "mkM"),
    symbol("hp", 550.0 * 12.0 * INCH * POUND_FORCE, POWER, ""),
    symbol("P", 0.1, DYNAMIC, "c"),
    symbol("St", 1e-4, KINEMATIC, "c"),
    symbol("mol", 1.0, [0, 0, 0, 0, 0, 1], "k"),
];

/// Parse the unit that stands at `range` of `text`.
pub(super) fn expression(text: &str, range: Range<usize>, wanted: Dimension) -> Result<Expression, UnitError> {
    let (body, mark) = take_mark(&text[range.clone()]);
    let mut parser = Parser { text, at: range.start, end: range.start + body.len(), wanted };
    let (factor, powers) = parser.product(false)?;
    if parser.at < parser.end {
        return Err(parser.malformed(range));
    }
    let zero_k = match normal(body).as_str() {
        "K" | "degR" => Some(0.0),
        "degC" => Some(ZERO_CELSIUS_K),
        "degF" => Some(459.67 * 5.0 / 9.0),
        _ => None,
    };
    Ok(Expression { factor, powers, mark, zero_k })
}

/// Split a gauge or absolute mark off: `bar(g)`, `psi (a)`, `barg`, `psia`.
fn take_mark(unit: &str) -> (&str, Option<Mark>) {
    for (ending, mark) in [("(g)", Mark::Gauge), ("(a)", Mark::Absolute)] {
        if let Some(body) = unit.strip_suffix(ending) {
            return (body.trim_end(), Some(mark));
        }
    }
    match unit {
        "barg" | "psig" | "mbarg" | "kPag" | "MPag" => (&unit[..unit.len() - 1], Some(Mark::Gauge)),
        "bara" | "psia" | "mbara" | "kPaa" | "MPaa" => (&unit[..unit.len() - 1], Some(Mark::Absolute)),
        _ => (unit, None),
    }
}

/// The micro sign in both encodings and the degree sign in plain letters.
fn normal(symbol: &str) -> String {
    symbol.replace(['\u{b5}', '\u{3bc}'], "u").replace('\u{b0}', "deg")
}

struct Parser<'t> {
    text: &'t str,
    at: usize,
    end: usize,
    wanted: Dimension,
}

impl Parser<'_> {
    /// Factors joined by spaces, dots, stars or one slash; after a slash everything is below it.
    fn product(&mut self, inside_brackets: bool) -> Result<(f64, Powers), UnitError> {
        let start = self.at;
        let (mut factor, mut powers, mut below, mut count) = (1.0, NONE, false, 0);
        loop {
            self.skip_joins();
            match self.peek() {
                None => break,
                Some(')') if inside_brackets => break,
                Some('/') => {
                    if below {
                        return Err(self.malformed(start..self.end));
                    }
                    (below, self.at) = (true, self.at + 1);
                    continue;
                }
                Some('(') => {
                    self.at += 1;
                    let inner = if inside_brackets { Err(self.malformed(start..self.end)) } else { self.product(true) }?;
                    if self.peek() != Some(')') {
                        return Err(self.malformed(start..self.end));
                    }
                    self.at += 1;
                    accumulate(&mut factor, &mut powers, inner, if below { -1 } else { 1 });
                }
                Some(_) => {
                    let one = self.symbol()?;
                    let power = self.power()?;
                    accumulate(&mut factor, &mut powers, one, if below { -power } else { power });
                }
            }
            count += 1;
        }
        if count == 0 || count > 12 || (below && self.text[..self.at].trim_end().ends_with('/')) {
            return Err(self.malformed(start..self.end));
        }
        Ok((factor, powers))
    }

    fn peek(&self) -> Option<char> {
        self.text[self.at..self.end].chars().next()
    }

    fn skip_joins(&mut self) {
        while let Some(c) = self.peek().filter(|c| matches!(c, ' ' | '*' | '.' | '\u{b7}')) {
            self.at += c.len_utf8();
        }
    }

    fn symbol(&mut self) -> Result<(f64, Powers), UnitError> {
        let start = self.at;
        if self.text[start..self.end].starts_with('1') {
            self.at += 1;
            return Ok((1.0, NONE));
        }
        while let Some(c) = self.peek().filter(|c| c.is_alphabetic() || matches!(c, '%' | '\u{b0}' | '\u{b5}')) {
            self.at += c.len_utf8();
        }
        if self.at == start {
            return Err(self.malformed(start..self.end));
        }
        let written = &self.text[start..self.at];
        lookup(&normal(written)).ok_or_else(|| {
            UnitError::new(start..self.at, UnitCause::UnknownUnit(written.to_owned()), suggestion(&normal(written), self.wanted))
        })
    }

    fn power(&mut self) -> Result<i8, UnitError> {
        let start = self.at;
        let rest = &self.text[self.at..self.end];
        if let Some(power) = [('\u{b2}', 2), ('\u{b3}', 3)].iter().find(|(c, _)| rest.starts_with(*c)) {
            self.at += power.0.len_utf8();
            return Ok(power.1);
        }
        if rest.starts_with('^') {
            self.at += 1;
        }
        let digits_from = self.at;
        if self.text[self.at..self.end].starts_with('-') {
            self.at += 1;
        }
        while self.peek().is_some_and(|c| c.is_ascii_digit()) {
            self.at += 1;
        }
        let digits = &self.text[digits_from..self.at];
        if digits.is_empty() && start == self.at {
            return Ok(1);
        }
        match digits.parse::<i8>() {
            Ok(power) if (-4..=4).contains(&power) && power != 0 => Ok(power),
            _ => Err(self.malformed(start..self.at.max(start + 1).min(self.end))),
        }
    }

    fn malformed(&self, span: Range<usize>) -> UnitError {
        UnitError::new(
            span.clone(),
            UnitCause::Malformed(self.text.get(span).unwrap_or(self.text).to_owned()),
            format!("{} is read in {}; for example \"{}\"", self.wanted.noun(), self.wanted.units(), self.wanted.example()),
        )
    }
}

fn accumulate(factor: &mut f64, powers: &mut Powers, one: (f64, Powers), power: i8) {
    *factor *= one.0.powi(i32::from(power));
    for (sum, each) in powers.iter_mut().zip(one.1) {
        *sum = sum.saturating_add(each.saturating_mul(power));
    }
}

/// A symbol, or a symbol with kelvin or second run on behind it (`mK` in `W/mK`, `mPas`).
fn lookup(written: &str) -> Option<(f64, Powers)> {
    single(written).or_else(|| {
        let (rest, second) = match written.strip_suffix('K') {
            Some(rest) => (rest, KELVIN),
            None => (written.strip_suffix('s')?, TIME),
        };
        let mut product = single(rest)?;
        accumulate(&mut product.0, &mut product.1, (1.0, second), 1);
        Some(product)
    })
}

fn single(written: &str) -> Option<(f64, Powers)> {
    if let Some(found) = SYMBOLS.iter().find(|symbol| symbol.name == written) {
        return Some((found.factor, found.powers));
    }
    let prefix = written.chars().next()?;
    let rest = &written[prefix.len_utf8()..];
    let scale = match prefix {
        'n' => 1e-9,
        'u' => 1e-6,
        'm' => 1e-3,
        'c' => 1e-2,
        'd' => 1e-1,
        'k' => 1e3,
        'M' => 1e6,
        'G' => 1e9,
        _ => return None,
    };
    let found = SYMBOLS.iter().find(|symbol| symbol.name == rest && symbol.prefixes.contains(prefix))?;
    Some((scale * found.factor, found.powers))
}

fn suggestion(written: &str, wanted: Dimension) -> String {
    let meant = match written {
        "C" | "celsius" | "Celsius" => Some("degC"),
        "F" | "fahrenheit" | "Fahrenheit" => Some("degF"),
        "micron" | "microns" | "micrometre" | "micrometer" => Some("um"),
        "RPM" | "Rpm" => Some("rpm"),
        "GPM" => Some("gpm"),
        "millimeter" | "millimetre" | "milimeter" | "milimetre" | "MM" | "Mm" => Some("mm"),
        "hour" | "hours" | "hr" => Some("h"),
        "inch" | "inches" => Some("in"),
        _ => SYMBOLS
            .iter()
            .map(|symbol| (strsim::normalized_damerau_levenshtein(&written.to_lowercase(), &symbol.name.to_lowercase()), symbol.name))
            .filter(|(likeness, _)| *likeness >= 0.6)
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, name)| name),
    };
    let usual = format!("a {} is read in {}", wanted.name(), wanted.units());
    match meant {
        Some(meant) => format!("did you mean `{meant}`? {usual}"),
        None => usual,
    }
}
