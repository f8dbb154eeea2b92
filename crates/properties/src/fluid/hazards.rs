//! What a fluid may do to seals and people, from a data file with sources. Flags to think about, not a safety data sheet.

use std::collections::HashMap;
use std::sync::OnceLock;

use serde::Deserialize;

use crate::error::PropertyError;
use crate::source::{self, SourceRef};

/// Kind of hazard, with its number where it has one.
#[derive(Debug, Clone, PartialEq)]
pub enum HazardKind {
    /// Harms people by contact, breath or swallowing.
    Toxic,
    /// Destroys skin and eyes.
    Corrosive,
    /// Burns.
    Flammable,
    /// Feeds fire; no oil or grease.
    Oxidiser,
    /// Leaves solids where leakage evaporates.
    Crystallises {
        /// Dissolved mass by mass of fluid.
        dissolved_mass_fraction: f64,
    },
    /// Freezes or crystallises on cooling.
    Freezes {
        /// Temperature below which it does, K.
        temperature_k: f64,
    },
    /// Sets or gels by itself.
    Polymerises,
    /// Leaves coke on hot faces.
    CokesAbove {
        /// Temperature above which it does, K.
        temperature_k: f64,
    },
    /// Forms hard carbonate with air.
    Carbonates,
    /// Attacks materials, by their names in the material table.
    Attacks {
        /// Names in the material table.
        materials: Vec<String>,
    },
    /// Liquefied gas: expands many times and cools on leaking.
    GasExpands,
    /// Displaces air.
    Asphyxiant,
    /// Hot liquid or its vapour burns.
    Scald,
    /// Law binds its use.
    Law,
}

/// One hazard in words, with its source.
#[derive(Debug, Clone, PartialEq)]
pub struct Hazard {
    /// Kind with numbers.
    pub kind: HazardKind,
    /// In words.
    pub words: String,
    /// Where it comes from.
    pub source: SourceRef,
}

/// All hazards known of a fluid.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Hazards {
    entries: Vec<Hazard>,
    unknown: bool,
}

impl Hazards {
    /// A fluid of which nothing is known (a custom fluid): no flag does not mean no hazard.
    pub(crate) fn unknown() -> Self {
        Self { entries: Vec::new(), unknown: true }
    }
    pub(crate) fn push(&mut self, kind: HazardKind, words: String, source: SourceRef) {
        self.entries.push(Hazard { kind, words, source });
    }
    /// All of them.
    pub fn entries(&self) -> &[Hazard] {
        &self.entries
    }
    /// Whether nothing is known, as for a custom fluid: then the absence of a flag says nothing.
    pub fn is_unknown(&self) -> bool {
        self.unknown
    }
    /// The first hazard for which the test is true.
    pub fn find(&self, test: impl Fn(&HazardKind) -> bool) -> Option<&Hazard> {
        self.entries.iter().find(|h| test(&h.kind))
    }
    /// Whether the fluid is toxic.
    pub fn is_toxic(&self) -> bool {
        self.find(|k| matches!(k, HazardKind::Toxic)).is_some()
    }
    /// Whether the fluid burns.
    pub fn is_flammable(&self) -> bool {
        self.find(|k| matches!(k, HazardKind::Flammable)).is_some()
    }
    /// Temperature above which it cokes, K.
    pub fn cokes_above(&self) -> Option<f64> {
        self.entries.iter().find_map(|h| match h.kind {
            HazardKind::CokesAbove { temperature_k } => Some(temperature_k),
            _ => None,
        })
    }
    /// Temperature below which it freezes or crystallises, K.
    pub fn freezes_below(&self) -> Option<f64> {
        self.entries.iter().find_map(|h| match h.kind {
            HazardKind::Freezes { temperature_k } => Some(temperature_k),
            _ => None,
        })
    }
    /// Dissolved mass fraction that stays behind where leakage evaporates.
    pub fn dissolved_mass_fraction(&self) -> Option<f64> {
        self.entries.iter().find_map(|h| match h.kind {
            HazardKind::Crystallises { dissolved_mass_fraction } => Some(dissolved_mass_fraction),
            _ => None,
        })
    }
    /// The hazard that names a material as attacked.
    pub fn attacks(&self, material: &str) -> Option<&Hazard> {
        self.find(|k| matches!(k, HazardKind::Attacks { materials } if materials.iter().any(|m| m == material)))
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    fluid: Vec<FluidRow>,
}
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct FluidRow {
    name: String,
    rows: Vec<Row>,
}
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    flag: String,
    words: String,
    source: String,
    value_k: Option<f64>,
    #[serde(default)]
    materials: Vec<String>,
}

type Table = HashMap<String, Hazards>;

/// The hazards of a fluid by its name in the data file.
pub(crate) fn hazards_for(name: &str) -> Result<Hazards, PropertyError> {
    static TABLE: OnceLock<Result<Table, PropertyError>> = OnceLock::new();
    let table = TABLE.get_or_init(|| parse(include_str!("../../data/hazards.toml"))).as_ref().map_err(Clone::clone)?;
    table.get(name).cloned().ok_or_else(|| broken(format!("no entry for \"{name}\"")))
}

fn broken(message: String) -> PropertyError {
    PropertyError::Data { file: "hazards.toml".to_owned(), message }
}

fn parse(text: &str) -> Result<Table, PropertyError> {
    let file: File = toml::from_str(text).map_err(|e| broken(e.to_string()))?;
    file.fluid
        .into_iter()
        .map(|fluid| {
            let entries = fluid.rows.into_iter().map(|row| hazard(&fluid.name, row)).collect::<Result<_, _>>()?;
            Ok((fluid.name, Hazards { entries, unknown: false }))
        })
        .collect()
}

fn hazard(fluid: &str, row: Row) -> Result<Hazard, PropertyError> {
    let temperature = |row: &Row| row.value_k.ok_or_else(|| broken(format!("{fluid}: {} needs value_k", row.flag)));
    let kind = match row.flag.as_str() {
        "toxic" => HazardKind::Toxic,
        "corrosive" => HazardKind::Corrosive,
        "flammable" => HazardKind::Flammable,
        "oxidiser" => HazardKind::Oxidiser,
        "freezes" => HazardKind::Freezes { temperature_k: temperature(&row)? },
        "polymerises" => HazardKind::Polymerises,
        "cokes_above" => HazardKind::CokesAbove { temperature_k: temperature(&row)? },
        "carbonates" => HazardKind::Carbonates,
        "attacks" => HazardKind::Attacks { materials: row.materials.clone() },
        "gas_expands" => HazardKind::GasExpands,
        "asphyxiant" => HazardKind::Asphyxiant,
        "scald" => HazardKind::Scald,
        "law" => HazardKind::Law,
        other => return Err(broken(format!("{fluid}: unknown flag \"{other}\""))),
    };
    let source = source::by_key(&row.source).ok_or_else(|| broken(format!("{fluid}: unknown source \"{}\"", row.source)))?;
    Ok(Hazard { kind, words: row.words, source })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_is_whole_and_names_materials_of_the_table() {
        let table = parse(include_str!("../../data/hazards.toml")).unwrap();
        assert!(table.len() > 8);
        for (fluid, hazards) in &table {
            for h in hazards.entries() {
                assert!(!h.words.is_empty());
                if let HazardKind::Attacks { materials } = &h.kind {
                    assert!(!materials.is_empty(), "{fluid}");
                    for m in materials {
                        assert!(crate::material::material(m).is_ok(), "{fluid}: {m}");
                    }
                }
            }
        }
    }

    #[test]
    fn broken_rows_are_refused() {
        for bad in [
            "fluid = [{ name = \"x\", rows = [{ flag = \"explodes\", words = \"w\", source = \"from-memory\" }] }]",
            "fluid = [{ name = \"x\", rows = [{ flag = \"freezes\", words = \"w\", source = \"from-memory\" }] }]",
            "fluid = [{ name = \"x\", rows = [{ flag = \"toxic\", words = \"w\", source = \"nobody\" }] }]",
            "fluid = 3",
        ] {
            assert!(matches!(parse(bad), Err(PropertyError::Data { .. })));
        }
    }
}
