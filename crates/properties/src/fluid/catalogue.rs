//! The fluids known by name.

use super::{Fluid, FluidKind, Hazards, Range, oil, pure_names, solutions, thermal_oil};
use crate::error::{PropertyError, nearest_names};
use crate::source::SourceRef;

/// One line of the list of fluids.
#[derive(Debug, Clone)]
pub struct FluidEntry {
    /// Name, without composition.
    pub name: String,
    /// What to write after the name, for example `salinity 0 to 150 g/kg`; empty where nothing is needed.
    pub composition: String,
    /// A name that works as it stands.
    pub example: String,
    /// Kind.
    pub kind: FluidKind,
    /// Range of the example.
    pub range: Range,
    /// Sources of the example.
    pub sources: Vec<SourceRef>,
    /// Hazards of the example.
    pub hazards: Hazards,
}

/// How a name is completed by a composition.
struct Composed {
    name: &'static str,
    aliases: &'static [&'static str],
    quantity: &'static str,
    unit: &'static str,
    /// Range and default in the unit above.
    low: f64,
    high: f64,
    default: Option<f64>,
    example: f64,
    build: fn(f64) -> Result<Fluid, PropertyError>,
}

const BY_MASS: &str = "% by mass";
const SALINITY: &str = "g/kg";

const COMPOSED: [Composed; 7] = [
    Composed {
        name: "sea water",
        aliases: &["seawater", "brine"],
        quantity: "salinity",
        unit: SALINITY,
        low: 0.0,
        high: 150.0,
        default: Some(35.0),
        example: 70.0,
        build: solutions::sea_water,
    },
    Composed {
        name: "sodium chloride solution",
        aliases: &["sodium chloride brine"],
        quantity: "mass fraction",
        unit: BY_MASS,
        low: 0.0,
        high: 26.4,
        default: None,
        example: 26.0,
        build: solutions::sodium_chloride,
    },
    Composed {
        name: "calcium chloride solution",
        aliases: &["calcium chloride brine"],
        quantity: "mass fraction",
        unit: BY_MASS,
        low: 0.0,
        high: 41.0,
        default: None,
        example: 25.0,
        build: solutions::calcium_chloride,
    },
    Composed {
        name: "sodium hydroxide solution",
        aliases: &["caustic", "caustic soda"],
        quantity: "mass fraction",
        unit: BY_MASS,
        low: 0.0,
        high: 50.0,
        default: None,
        example: 50.0,
        build: solutions::sodium_hydroxide,
    },
    Composed {
        name: "sulphuric acid solution",
        aliases: &["sulphuric acid", "sulfuric acid", "sulfuric acid solution"],
        quantity: "mass fraction",
        unit: BY_MASS,
        low: 0.0,
        high: 78.0,
        default: None,
        example: 70.0,
        build: solutions::sulphuric_acid,
    },
    Composed {
        name: "ethylene glycol solution",
        aliases: &["ethylene glycol"],
        quantity: "mass fraction",
        unit: BY_MASS,
        low: 10.0,
        high: 60.0,
        default: None,
        example: 50.0,
        build: solutions::ethylene_glycol,
    },
    Composed {
        name: "propylene glycol solution",
        aliases: &["propylene glycol"],
        quantity: "mass fraction",
        unit: BY_MASS,
        low: 10.0,
        high: 60.0,
        default: None,
        example: 50.0,
        build: solutions::propylene_glycol,
    },
];

const TERPHENYL: &str = "hydrogenated terphenyl heat-transfer oil";
const EUTECTIC: &str = "diphenyl / diphenyl-oxide eutectic heat-transfer oil";
const MINERAL_OIL: &str = "mineral oil ISO VG";

pub(super) fn find(name: &str) -> Result<Fluid, PropertyError> {
    let clean = name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    let (base, composition) = clean.split_once(',').map_or((clean.as_str(), ""), |(b, c)| (b.trim(), c.trim()));
    if let Some(entry) = COMPOSED.iter().find(|e| e.name == base || e.aliases.contains(&base)) {
        return compose(entry, name, composition);
    }
    if let Some(grade) = clean.strip_prefix(&MINERAL_OIL.to_lowercase()) {
        return mineral_oil(name, grade.trim());
    }
    if let Some(pure) = pure_names::find(&clean) {
        return pure;
    }
    match clean.as_str() {
        TERPHENYL => thermal_oil::hydrogenated_terphenyl(),
        EUTECTIC => thermal_oil::diphenyl_oxide_eutectic(),
        _ => {
            let known = plain_names();
            let mut nearest = nearest_names(base, known.iter().map(String::as_str));
            // show composed names in the form that works
            for n in &mut nearest {
                if let Some(e) = COMPOSED.iter().find(|e| e.name == n.as_str()) {
                    *n = example(e);
                }
            }
            Err(PropertyError::UnknownFluid { name: name.to_owned(), nearest })
        }
    }
}

fn plain_names() -> Vec<String> {
    let mut names: Vec<String> = pure_names::PURE.iter().map(|p| p.name.to_owned()).collect();
    names.extend(COMPOSED.iter().map(|e| e.name.to_owned()));
    names.extend([TERPHENYL, EUTECTIC].map(str::to_owned));
    names.extend(oil::GRADES.iter().map(|(g, _)| format!("{MINERAL_OIL} {g}")));
    names
}

fn example(e: &Composed) -> String {
    if e.unit == SALINITY { format!("{}, salinity {} g/kg", e.name, e.example) } else { format!("{}, {} % by mass", e.name, e.example) }
}

fn compose(entry: &Composed, name: &str, composition: &str) -> Result<Fluid, PropertyError> {
    let wrong = |problem: String| PropertyError::Composition {
        name: name.to_owned(),
        problem,
        example: example(entry),
        quantity: entry.quantity,
        low: entry.low,
        high: entry.high,
        unit: entry.unit,
    };
    let value = if composition.is_empty() {
        entry.default.ok_or_else(|| wrong("the composition is missing".to_owned()))?
    } else {
        read_composition(composition, entry.unit).map_err(wrong)?
    };
    if !(value >= entry.low && value <= entry.high) {
        return Err(wrong(format!("{} of {value} {} is outside the range of the data", entry.quantity, entry.unit)));
    }
    (entry.build)(value * if entry.unit == SALINITY { 1e-3 } else { 1e-2 })
}

/// Reads `salinity 70 g/kg`, `50 % by mass`, `50 wt%`, `0.5 kg/kg` into the unit asked for.
fn read_composition(text: &str, unit: &str) -> Result<f64, String> {
    let start = text.find(|c: char| c.is_ascii_digit() || c == '.' || c == '-').ok_or_else(|| format!("\"{text}\" has no number"))?;
    let rest = &text[start..];
    let end = rest.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | 'e' | '+'))).unwrap_or(rest.len());
    let number: f64 = rest[..end].parse().map_err(|_| format!("\"{}\" is not a number", &rest[..end]))?;
    let lead = text[..start].trim();
    if !matches!(lead, "" | "salinity" | "mass fraction") {
        return Err(format!("\"{lead}\" is not understood"));
    }
    let fraction = match rest[end..].trim() {
        "g/kg" => 1e-3,
        "kg/kg" => 1.0,
        "%" | "% by mass" | "wt%" | "wt %" | "mass %" | "percent by mass" => 1e-2,
        "" => return Err("the unit is missing".to_owned()),
        other => return Err(format!("\"{other}\" is not a unit of composition by mass")),
    };
    let value = number * fraction;
    // multiplying by an exact power keeps 50 % at 50
    Ok(match (unit, fraction) {
        (SALINITY, 1e-3) => number,
        (BY_MASS, 1e-2) => number,
        (SALINITY, _) => value * 1e3,
        _ => value * 1e2,
    })
}

fn mineral_oil(name: &str, grade: &str) -> Result<Fluid, PropertyError> {
    match oil::GRADES.iter().find(|(g, _)| grade == g.to_string()) {
        Some(&(grade, at_100)) => oil::mineral_oil(grade, at_100),
        None => Err(PropertyError::UnknownFluid {
            name: name.to_owned(),
            nearest: oil::GRADES.iter().map(|(g, _)| format!("{MINERAL_OIL} {g}")).collect(),
        }),
    }
}

/// All fluids known by name, each with range, sources and hazards of its example. A fluid whose shipped data file were
/// broken would be missing here and say so when asked for by name; the tests rule that out.
pub fn fluid_names() -> Vec<FluidEntry> {
    listing().into_iter().filter_map(Result::ok).collect()
}

fn listing() -> Vec<Result<FluidEntry, PropertyError>> {
    let entry = |name: &str, composition: String, example: String| -> Result<FluidEntry, PropertyError> {
        let fluid = find(&example)?;
        Ok(FluidEntry {
            name: name.to_owned(),
            composition,
            example,
            kind: fluid.kind(),
            range: fluid.range().clone(),
            sources: fluid.sources().to_vec(),
            hazards: fluid.hazards().clone(),
        })
    };
    let mut list: Vec<_> = pure_names::PURE.iter().map(|p| entry(p.name, String::new(), p.name.to_owned())).collect();
    for e in &COMPOSED {
        list.push(entry(e.name, format!("{} {} to {} {}", e.quantity, e.low, e.high, e.unit), example(e)));
    }
    for name in [TERPHENYL, EUTECTIC] {
        list.push(entry(name, String::new(), name.to_owned()));
    }
    for (grade, _) in oil::GRADES {
        let name = format!("{MINERAL_OIL} {grade}");
        list.push(entry(&name, String::new(), name.clone()));
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn compositions_are_read() {
        for (text, unit, value) in [
            ("salinity 70 g/kg", SALINITY, 70.0),
            ("7 %", SALINITY, 70.0),
            ("50 % by mass", BY_MASS, 50.0),
            ("50 wt%", BY_MASS, 50.0),
            ("0.25 kg/kg", BY_MASS, 25.0),
            ("250 g/kg", BY_MASS, 25.0),
        ] {
            assert!((read_composition(text, unit).unwrap() - value).abs() < 1e-12, "{text}");
        }
        for text in ["half", "50", "50 % by volume", "sugar 5 %", "1e5e5 %"] {
            assert!(read_composition(text, BY_MASS).is_err(), "{text}");
        }
    }

    #[test]
    fn every_listed_example_works_and_names_itself() {
        let list = listing();
        assert!(list.len() > 15);
        for e in list {
            let e = e.unwrap();
            let fluid = find(&e.example).unwrap();
            assert_eq!(fluid.name(), e.example);
            assert!(!fluid.sources().is_empty());
            let again = find(fluid.name()).unwrap();
            assert_eq!(again.name(), fluid.name());
        }
    }

    #[test]
    fn unknown_names_carry_the_nearest() {
        let Err(PropertyError::UnknownFluid { nearest, .. }) = find("watr") else { panic!() };
        assert_eq!(nearest[0], "water");
        let Err(PropertyError::UnknownFluid { nearest, .. }) = find("terphenyl oil") else { panic!() };
        assert!(nearest.iter().any(|n| n == TERPHENYL), "{nearest:?}");
        assert!(matches!(find("sodium hydroxide solution"), Err(PropertyError::Composition { .. })));
        assert!(matches!(find("sea water, salinity 700 g/kg"), Err(PropertyError::Composition { .. })));
        assert!(find("").is_err());
    }
}
