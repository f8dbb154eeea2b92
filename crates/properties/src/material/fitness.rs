//! Fitness of secondary-seal materials for groups of fluids. General; the site's own batch decides.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use crate::error::PropertyError;
use crate::fluid::FluidFamily;
use crate::source::{self, SourceRef};

/// How a secondary-seal material stands a group of fluids.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FitnessVerdict {
    /// A: good.
    Good,
    /// B: limited.
    Limited,
    /// C: no.
    Unfit,
    /// Not in the table.
    Unknown,
    /// Only a clean, tested compound, confirmed by the user (oxygen).
    OnlyIfConfirmed,
}

/// Verdict with the material's own temperature range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitness {
    /// Verdict.
    pub verdict: FitnessVerdict,
    /// Temperature range of the material, K, where it is in the table.
    pub temperature_range_k: Option<(f64, f64)>,
    /// Source.
    pub source: SourceRef,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    source: String,
    range: Vec<RangeRow>,
    family: Vec<FamilyRow>,
}
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RangeRow {
    material: String,
    temperature_k: [f64; 2],
}
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct FamilyRow {
    name: String,
    marks: String,
}

struct Loaded {
    ranges: Vec<(String, (f64, f64))>,
    marks: BTreeMap<String, Vec<FitnessVerdict>>,
}

fn key(family: FluidFamily) -> &'static str {
    match family {
        FluidFamily::WaterCold => "water_cold",
        FluidFamily::WaterHot => "water_hot",
        FluidFamily::SeaWaterBrine => "sea_water_brine",
        FluidFamily::MineralOilFuel => "mineral_oil_fuel",
        FluidFamily::LightHydrocarbon => "light_hydrocarbon",
        FluidFamily::Aromatic => "aromatic",
        FluidFamily::KetoneEster => "ketone_ester",
        FluidFamily::Ammonia => "ammonia",
        FluidFamily::Caustic => "caustic",
        FluidFamily::SulphuricDilute => "sulphuric_dilute",
        FluidFamily::SulphuricConcentrated => "sulphuric_concentrated",
        FluidFamily::NitricChromic => "nitric_chromic",
        FluidFamily::WetChlorine => "wet_chlorine",
        FluidFamily::Amine => "amine",
        FluidFamily::SourGas => "sour_gas",
        FluidFamily::GlycolMixture => "glycol_mixture",
        FluidFamily::LiquidNitrogen => "liquid_nitrogen",
        FluidFamily::HotThermalOil => "hot_thermal_oil",
        FluidFamily::Oxygen => "oxygen",
    }
}

fn load() -> Result<Loaded, PropertyError> {
    let broken = |message: String| PropertyError::Data { file: "materials/fitness.toml".to_owned(), message };
    let file: File = toml::from_str(include_str!("../../data/materials/fitness.toml")).map_err(|e| broken(e.to_string()))?;
    if file.source != source::MEMORY.key {
        return Err(broken("the source has changed: name it in code too".to_owned()));
    }
    let ranges: Vec<_> = file.range.into_iter().map(|r| (r.material, (r.temperature_k[0], r.temperature_k[1]))).collect();
    let mut marks = BTreeMap::new();
    for row in file.family {
        let verdicts: Vec<FitnessVerdict> = row
            .marks
            .chars()
            .map(|c| match c {
                'A' => Ok(FitnessVerdict::Good),
                'B' => Ok(FitnessVerdict::Limited),
                'C' => Ok(FitnessVerdict::Unfit),
                other => Err(broken(format!("{}: mark {other}", row.name))),
            })
            .collect::<Result<_, _>>()?;
        if verdicts.len() != ranges.len() {
            return Err(broken(format!("{}: one mark per material is needed", row.name)));
        }
        marks.insert(row.name, verdicts);
    }
    Ok(Loaded { ranges, marks })
}

/// Fitness of a secondary-seal material (name in the material table, or `PTFE`, `graphite`) for a group of fluids.
pub fn fitness(elastomer: &str, family: FluidFamily) -> Fitness {
    static LOADED: OnceLock<Option<Loaded>> = OnceLock::new();
    let name = match elastomer {
        "PTFE" => "PTFE, 25 % glass filled",
        "graphite" | "flexible graphite" => "flexible graphite, pressed ring",
        other => other,
    };
    let unknown = Fitness { verdict: FitnessVerdict::Unknown, temperature_range_k: None, source: source::MEMORY };
    let Some(loaded) = LOADED.get_or_init(|| load().ok()) else {
        return unknown;
    };
    let Some(index) = loaded.ranges.iter().position(|(n, _)| n.eq_ignore_ascii_case(name)) else {
        return unknown;
    };
    let verdict = if family == FluidFamily::Oxygen {
        FitnessVerdict::OnlyIfConfirmed
    } else {
        loaded.marks.get(key(family)).map_or(FitnessVerdict::Unknown, |m| m[index])
    };
    Fitness { verdict, temperature_range_k: Some(loaded.ranges[index].1), ..unknown }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_is_whole() {
        let loaded = load().unwrap();
        assert_eq!((loaded.ranges.len(), loaded.marks.len()), (7, 18));
        for (name, (low, high)) in &loaded.ranges {
            assert!(crate::material::material(name).is_ok(), "{name}");
            assert!(low < high);
        }
        assert_eq!(fitness("EPDM", FluidFamily::MineralOilFuel).verdict, FitnessVerdict::Unfit);
        assert_eq!(fitness("FKM", FluidFamily::WaterHot).verdict, FitnessVerdict::Unfit);
        assert_eq!(fitness("graphite", FluidFamily::HotThermalOil).verdict, FitnessVerdict::Good);
        assert_eq!(fitness("EPDM", FluidFamily::Oxygen).verdict, FitnessVerdict::OnlyIfConfirmed);
        assert_eq!(fitness("cork", FluidFamily::Amine).verdict, FitnessVerdict::Unknown);
    }
}
