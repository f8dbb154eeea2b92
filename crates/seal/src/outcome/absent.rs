//! Numbers that an outcome lacks: JSON knows no infinity and writes null for what is not finite.

use serde_json::Value;

use super::DutyOutcome;

/// Keys that may be empty by design: what the duty does not have or the user did not state.
const OPTIONAL: [&str; 15] = [
    "boiling_temperature_k",
    "break_away_torque_n_m",
    "leakage_normal_m3_per_s",
    "chosen",
    "hours_per_year",
    "chamber_saturation_k",
    "pressure_profile_factor",
    "boiling_margin_k",
    "chamber_margin_k",
    "boiling_margin_pa",
    "wear_rate_m_per_s",
    "loosening_temperature_k",
    "with_wave",
    "value",
    "limit",
];

/// An end of this band at which no equilibrium was found is empty.
const BAND: &str = "friction_band";

/// Paths in the JSON of an outcome at which a number is not finite.
///
/// # Errors
/// The message of the serialiser.
pub fn absent_numbers(outcome: &DutyOutcome) -> Result<Vec<String>, String> {
    let value = serde_json::to_value(outcome).map_err(|error| error.to_string())?;
    let mut found = Vec::new();
    look(&value, "", "", &mut found);
    Ok(found)
}

fn look(value: &Value, key: &str, path: &str, found: &mut Vec<String>) {
    match value {
        Value::Null if !OPTIONAL.contains(&key) && !path.contains(BAND) => found.push(path.to_owned()),
        Value::Array(items) => items.iter().enumerate().for_each(|(k, item)| look(item, key, &format!("{path}[{k}]"), found)),
        Value::Object(map) => map.iter().for_each(|(key, item)| look(item, key, &format!("{path}.{key}"), found)),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::Ranged;
    use crate::rules::testing::Bench;

    #[test]
    fn numbers_that_are_none_are_found() {
        let mut bench = Bench::booster();
        assert_eq!(absent_numbers(&bench.outcome.duties[0]), Ok(Vec::new()));
        bench.outcome_mut().hand.area_m2 = f64::NAN;
        bench.equilibrium_mut().profiles.pressure_pa = vec![1e5, f64::INFINITY];
        bench.equilibrium_mut().pressure_profile_factor = None;
        let found = absent_numbers(&bench.outcome.duties[0]);
        assert_eq!(found, Ok(vec![".equilibria[0].profiles.pressure_pa[1]".to_owned(), ".hand.area_m2".to_owned()]));
    }

    /// An optional number may be left out, but its range may not lack an end.
    #[test]
    fn an_end_of_an_optional_range_is_no_option() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().boiling_margin_k = Some(Ranged { low: f64::NAN, nominal: 1.0, high: 2.0 });
        assert_eq!(absent_numbers(&bench.outcome.duties[0]), Ok(vec![".equilibria[0].boiling_margin_k.low".to_owned()]));
    }
}
