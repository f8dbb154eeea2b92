//! Friction, wear and pressure-times-speed habits of pairs of face materials. Never limits of physics.

use std::sync::OnceLock;

use serde::Deserialize;

use crate::error::PropertyError;
use crate::source::{self, SourceRef};

/// Habits of one pair of faces. Low and high of each.
#[derive(Debug, Clone, PartialEq)]
pub struct FacePair {
    /// Names of the softer or narrow face that the row covers.
    pub first: Vec<String>,
    /// Names of the mating face that the row covers.
    pub second: Vec<String>,
    /// Friction dry in air at low load.
    pub dry_friction: (f64, f64),
    /// Friction in water with about half the load in contact.
    pub mixed_friction: (f64, f64),
    /// Net pressure times mean speed for clean cool water, Pa m/s: ranking reliable, value uncertain by 30 %.
    pub pressure_speed_limit: f64,
    /// Wear depth over pressure and sliding distance, m3/(N m), on contact pressure, good to poor lubrication.
    pub wear_coefficient: (f64, f64),
    /// Use and what to avoid.
    pub note: String,
    /// Source.
    pub source: SourceRef,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    source: String,
    pair: Vec<Row>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    first: Vec<String>,
    second: Vec<String>,
    dry_friction: [f64; 2],
    mixed_friction: [f64; 2],
    pressure_speed_limit_pa_m_per_s: f64,
    wear_m3_per_n_m: [f64; 2],
    note: String,
}

fn load() -> Result<Vec<FacePair>, PropertyError> {
    let broken = |message: String| PropertyError::Data { file: "materials/face-pairs.toml".to_owned(), message };
    let file: File = toml::from_str(include_str!("../../data/materials/face-pairs.toml")).map_err(|e| broken(e.to_string()))?;
    let source = source::by_key(&file.source).ok_or_else(|| broken("unknown source".to_owned()))?;
    file.pair
        .into_iter()
        .map(|row| {
            let ordered = [row.dry_friction, row.mixed_friction, row.wear_m3_per_n_m].iter().all(|[a, b]| *a > 0.0 && a <= b);
            if !ordered || row.pressure_speed_limit_pa_m_per_s <= 0.0 {
                return Err(broken(format!("{:?}: ranges must be positive and rising", row.first)));
            }
            let pair = |[a, b]: [f64; 2]| (a, b);
            Ok(FacePair {
                first: row.first,
                second: row.second,
                dry_friction: pair(row.dry_friction),
                mixed_friction: pair(row.mixed_friction),
                pressure_speed_limit: row.pressure_speed_limit_pa_m_per_s,
                wear_coefficient: pair(row.wear_m3_per_n_m),
                note: row.note,
                source,
            })
        })
        .collect()
}

/// All pairs. Empty only if the shipped file were broken, which the tests rule out.
pub fn face_pairs() -> &'static [FacePair] {
    static PAIRS: OnceLock<Result<Vec<FacePair>, PropertyError>> = OnceLock::new();
    PAIRS.get_or_init(load).as_deref().unwrap_or_default()
}

/// The habits of a pair of face materials by their names, in either order; none if the pair is not in the table.
pub fn face_pair(a: &str, b: &str) -> Option<FacePair> {
    let has = |names: &[String], name: &str| names.iter().any(|n| n.eq_ignore_ascii_case(name));
    face_pairs().iter().find(|p| has(&p.first, a) && has(&p.second, b) || has(&p.first, b) && has(&p.second, a)).cloned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_are_whole_and_symmetric() {
        let all = load().unwrap();
        assert_eq!(all.len(), 13);
        for p in &all {
            for name in p.first.iter().chain(&p.second) {
                assert!(crate::material::material(name).is_ok(), "{name}");
            }
            assert_eq!(face_pair(&p.first[0], &p.second[0]), face_pair(&p.second[0], &p.first[0]));
        }
        assert!(face_pair("EPDM", "NBR").is_none());
    }
}
