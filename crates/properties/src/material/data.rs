//! Reads the material files: one per source, merged by material name.

use serde::Deserialize;
use std::collections::BTreeMap;

use super::{Material, MaterialGroup, Property, Table};
use crate::error::PropertyError;
use crate::source::{self, SourceRef};

const FILES: [(&str, &str); 5] = [
    ("materials/from-memory.toml", include_str!("../../data/materials/from-memory.toml")),
    ("materials/munro-1997.toml", include_str!("../../data/materials/munro-1997.toml")),
    ("materials/munro-alumina-1997.toml", include_str!("../../data/materials/munro-alumina-1997.toml")),
    ("materials/steel-316-data-page.toml", include_str!("../../data/materials/steel-316-data-page.toml")),
    ("materials/astm-f1684.toml", include_str!("../../data/materials/astm-f1684.toml")),
];

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    source: String,
    #[serde(default)]
    material: Vec<Row>,
    #[serde(default)]
    table: Vec<TableRow>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    group: Option<String>,
    density_kg_per_m3: Option<f64>,
    youngs_modulus_pa: Option<f64>,
    poisson: Option<f64>,
    conductivity_w_per_m_k: Option<f64>,
    specific_heat_j_per_kg_k: Option<f64>,
    expansion_per_k: Option<f64>,
    expansion_range_k: Option<[f64; 2]>,
    tension_pa: Option<f64>,
    compression_pa: Option<f64>,
    flexural_pa: Option<f64>,
    yield_pa: Option<f64>,
    plastic_bearing_pa: Option<f64>,
    hardness: Option<String>,
    service_k: Option<[f64; 2]>,
    #[serde(default)]
    spread: BTreeMap<String, [f64; 2]>,
    spread_words: Option<String>,
    cautions: Option<String>,
    note: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct TableRow {
    material: String,
    quantity: String,
    #[serde(default)]
    relative: bool,
    reference_k: Option<f64>,
    points: Vec<[f64; 2]>,
    note: String,
}

/// What has been gathered of one material.
#[derive(Default)]
struct Draft {
    figures: BTreeMap<&'static str, (f64, SourceRef)>,
    spread: BTreeMap<String, [f64; 2]>,
    group: Option<MaterialGroup>,
    hardness: Option<String>,
    expansion_range_k: Option<[f64; 2]>,
    service_k: Option<[f64; 2]>,
    spread_words: String,
    cautions: Option<String>,
    notes: Vec<String>,
    tables: BTreeMap<String, Table>,
}

pub(super) fn load() -> Result<Vec<Material>, PropertyError> {
    merge(&FILES)
}

fn merge(files: &[(&str, &str)]) -> Result<Vec<Material>, PropertyError> {
    let mut order: Vec<String> = Vec::new();
    let mut drafts: BTreeMap<String, Draft> = BTreeMap::new();
    let mut tables = Vec::new();
    for &(name, text) in files {
        let broken = |message: String| PropertyError::Data { file: name.to_owned(), message };
        let file: File = toml::from_str(text).map_err(|e| broken(e.to_string()))?;
        let source = source::by_key(&file.source).ok_or_else(|| broken(format!("unknown source \"{}\"", file.source)))?;
        for row in file.material {
            if !drafts.contains_key(&row.name) {
                order.push(row.name.clone());
            }
            let draft = drafts.entry(row.name.clone()).or_default();
            take(draft, row, source).map_err(broken)?;
        }
        tables.extend(file.table.into_iter().map(|t| (name, source, t)));
    }
    for (file, source, row) in tables {
        let broken = |message: String| PropertyError::Data { file: file.to_owned(), message };
        let draft = drafts.get_mut(&row.material).ok_or_else(|| broken(format!("table for unknown material \"{}\"", row.material)))?;
        take_table(draft, row, source).map_err(broken)?;
    }
    order
        .into_iter()
        .filter_map(|name| drafts.remove(&name).map(|draft| (name, draft)))
        .map(|(name, draft)| {
            finish(&name, draft)
                .map_err(|message| PropertyError::Data { file: "materials".to_owned(), message: format!("{name}: {message}") })
        })
        .collect()
}

fn take(draft: &mut Draft, row: Row, source: SourceRef) -> Result<(), String> {
    for (quantity, value) in [
        ("density", row.density_kg_per_m3),
        ("youngs_modulus", row.youngs_modulus_pa),
        ("poisson", row.poisson),
        ("conductivity", row.conductivity_w_per_m_k),
        ("specific_heat", row.specific_heat_j_per_kg_k),
        ("expansion", row.expansion_per_k),
        ("tension", row.tension_pa),
        ("compression", row.compression_pa),
        ("flexural", row.flexural_pa),
        ("yield", row.yield_pa),
        ("bearing", row.plastic_bearing_pa),
    ] {
        let Some(value) = value else { continue };
        if !(value.is_finite() && value > 0.0) {
            return Err(format!("{}: {quantity} = {value} must be positive", row.name));
        }
        if draft.figures.insert(quantity, (value, source)).is_some() {
            return Err(format!("{}: {quantity} is given by two sources", row.name));
        }
    }
    for (quantity, [low, high]) in row.spread {
        if !(low > 0.0 && low <= 1.0 && high >= 1.0) {
            return Err(format!("{}: spread of {quantity} must enclose 1", row.name));
        }
        draft.spread.insert(quantity, [low, high]);
    }
    if let Some(group) = row.group {
        draft.group = Some(match group.as_str() {
            "face" => MaterialGroup::Face,
            "metal" => MaterialGroup::Metal,
            "polymer" => MaterialGroup::Polymer,
            "elastomer" => MaterialGroup::Elastomer,
            "gasket" => MaterialGroup::Gasket,
            other => return Err(format!("{}: unknown group \"{other}\"", row.name)),
        });
    }
    draft.hardness = row.hardness.or(draft.hardness.take());
    draft.expansion_range_k = row.expansion_range_k.or(draft.expansion_range_k);
    draft.service_k = row.service_k.or(draft.service_k);
    draft.cautions = row.cautions.or(draft.cautions.take());
    draft.spread_words.push_str(row.spread_words.as_deref().unwrap_or_default());
    draft.notes.extend(row.note);
    Ok(())
}

fn take_table(draft: &mut Draft, row: TableRow, source: SourceRef) -> Result<(), String> {
    let factor = if row.relative {
        let quantity = row.quantity.as_str();
        draft
            .figures
            .iter()
            .find(|(k, _)| **k == quantity)
            .map(|(_, (v, _))| *v)
            .ok_or_else(|| format!("{}: no {quantity} to scale", row.material))?
    } else {
        1.0
    };
    let points: Vec<(f64, f64)> = row.points.iter().map(|&[t, v]| (t, v * factor)).collect();
    let rising = points.windows(2).all(|w| w[0].0 < w[1].0);
    if points.len() < 2 || !rising || points.iter().any(|p| !(p.1.is_finite() && p.1 > 0.0)) {
        return Err(format!("{}: table of {} needs rising temperatures and positive values", row.material, row.quantity));
    }
    if !matches!(row.quantity.as_str(), "conductivity" | "specific_heat" | "youngs_modulus" | "mean_expansion" | "compression") {
        return Err(format!("{}: no table of {} is used", row.material, row.quantity));
    }
    let table = Table { points, reference_k: row.reference_k, note: row.note, source };
    if draft.tables.insert(row.quantity.clone(), table).is_some() {
        return Err(format!("{}: two tables of {}", row.material, row.quantity));
    }
    Ok(())
}

/// Low and high factors by habit of the group (common practice, no source).
fn habitual_spread(group: MaterialGroup, quantity: &str) -> [f64; 2] {
    let by = |part: f64| [1.0 - part, 1.0 + part];
    match (group, quantity) {
        (MaterialGroup::Elastomer, "poisson") => [0.999, 1.0005],
        (_, "density") => by(0.01),
        (_, "specific_heat" | "poisson") => by(0.05),
        (MaterialGroup::Face, "youngs_modulus" | "expansion") => by(0.05),
        (MaterialGroup::Face, "conductivity") => by(0.10),
        (MaterialGroup::Face, _) => by(0.15),
        (MaterialGroup::Metal, "youngs_modulus") => by(0.03),
        (MaterialGroup::Metal, "expansion") => by(0.05),
        (MaterialGroup::Metal, _) => by(0.10),
        (_, "youngs_modulus") => by(0.30),
        (_, "expansion") => by(0.15),
        (_, _) => by(0.20),
    }
}

fn finish(name: &str, draft: Draft) -> Result<Material, String> {
    let group = draft.group.ok_or("no group")?;
    let property = |quantity: &str| -> Option<Property> {
        let (value, source) = draft.figures.get(quantity).copied()?;
        let strength = matches!(quantity, "tension" | "compression" | "flexural" | "yield");
        let [low, high] = draft
            .spread
            .get(quantity)
            .or_else(|| if strength { draft.spread.get("strength") } else { None })
            .copied()
            .unwrap_or_else(|| habitual_spread(group, quantity));
        Some(Property { value, low: value * low, high: value * high, source })
    };
    let needed = |quantity: &str| property(quantity).ok_or_else(|| format!("no {quantity}"));
    let pair = |range: Option<[f64; 2]>, what: &str| match range {
        Some([low, high]) if low < high => Ok((low, high)),
        _ => Err(format!("{what} must be a rising pair")),
    };
    let mut tables = draft.tables.clone();
    Ok(Material {
        name: name.to_owned(),
        group,
        density: needed("density")?,
        youngs_modulus: needed("youngs_modulus")?,
        poisson: needed("poisson")?,
        conductivity: needed("conductivity")?,
        specific_heat: needed("specific_heat")?,
        expansion: needed("expansion")?,
        expansion_range_k: pair(draft.expansion_range_k, "expansion_range_k")?,
        tension_strength: property("tension"),
        compression_strength: property("compression"),
        flexural_strength: property("flexural"),
        yield_strength: property("yield"),
        plastic_bearing_pressure: property("bearing"),
        hardness: draft.hardness.clone().ok_or("no hardness")?,
        service_range_k: pair(draft.service_k, "service_k")?,
        spread_words: draft.spread_words.clone(),
        cautions: draft.cautions.clone().ok_or("no cautions")?,
        notes: draft.notes.clone(),
        conductivity_table: tables.remove("conductivity"),
        specific_heat_table: tables.remove("specific_heat"),
        youngs_modulus_table: tables.remove("youngs_modulus"),
        expansion_table: tables.remove("mean_expansion"),
        compression_table: tables.remove("compression"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn broken_files_are_refused() {
        let head = "source = \"from-memory\"\n";
        for bad in [
            "source = \"nobody\"".to_owned(),
            format!("{head}[[material]]\nname = \"x\"\ndensity_kg_per_m3 = -1.0"),
            format!("{head}[[material]]\nname = \"x\"\ncolour = 3"),
            format!("{head}[[material]]\nname = \"x\"\ngroup = \"face\"\ndensity_kg_per_m3 = 1.0"),
            format!("{head}[[table]]\nmaterial = \"y\"\nquantity = \"conductivity\"\npoints = [[1, 2], [2, 3]]\nnote = \"\""),
            "not toml at all [".to_owned(),
        ] {
            assert!(matches!(merge(&[("test", &bad)]), Err(PropertyError::Data { .. })), "{bad}");
        }
        let twice = format!("{head}[[material]]\nname = \"x\"\ndensity_kg_per_m3 = 2.0");
        assert!(merge(&[("a", &twice), ("b", &twice)]).is_err());
    }
}
