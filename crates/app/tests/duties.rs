//! Duties at which a seal does not run as it should: tests, standstill, reversed pressure, gas in the chamber.

#![allow(clippy::disallowed_methods, reason = "tests of the application write case files")]

use std::ffi::OsString;
use std::fs;

use halfmicron_app::{Terminal, run};
use serde_json::Value;

/// Duties of the starter's seal beside its own: name, speed, both pressures, temperature and a further line.
const DUTIES: [[&str; 6]; 5] = [
    ["hot standby", "0 rpm", "5 bar(g)", "0 bar(g)", "140 degC", ""],
    ["reverse", "0 rpm", "1 bar(g)", "4 bar(g)", "30 degC", ""],
    ["air test", "0 rpm", "5 bar(g)", "0 bar(g)", "20 degC", "fluid = \"air\""],
    ["lost prime", "3000 rpm", "1 bar(g)", "0 bar(g)", "30 degC", "fluid = \"air\""],
    ["start", "3000 rpm", "2 bar(g)", "0 bar(g)", "20 degC", ""],
];

/// What `solve` prints of these duties, and the JSON of it.
fn solved(names: &[&str]) -> (String, Value) {
    let duties: Vec<&str> = names.iter().flat_map(|name| ["--duty", name]).collect();
    let table = printed(&duties);
    let json = printed(&[&duties[..], &["--format", "json"]].concat());
    (table, serde_json::from_str(&json).expect("JSON"))
}

/// What `solve` prints.
fn printed(options: &[&str]) -> String {
    let folder = tempfile::TempDir::new().expect("a folder");
    let path = folder.path().join("pump").to_string_lossy().into_owned();
    let command = |arguments: &[&str]| {
        run(std::iter::once("halfmicron").chain(arguments.iter().copied()).map(OsString::from), Terminal { width: None, colour: false })
    };
    assert_eq!(command(&["new", &path]).code, 0);
    let path = format!("{path}.toml");
    let starter = fs::read_to_string(&path).expect("the starter");
    let added = DUTIES.map(|[name, speed, pressure, low, temperature, more]| {
        format!(
            "[[duty]]\nname = \"{name}\"\nspeed = \"{speed}\"\npressure = \"{pressure}\"\nlow_pressure = \"{low}\"\n\
             temperature = \"{temperature}\"\n{more}\n\n"
        )
    });
    fs::write(&path, starter.replacen("\n[seal]\n", &format!("\n{}[seal]\n", added.concat()), 1)).expect("the case");
    let answer = command(&[&["solve", &path], options].concat());
    assert!(answer.err.is_empty(), "{}", answer.err);
    answer.out
}

fn line<'a>(text: &'a str, start: &str) -> &'a str {
    text.lines().find(|line| line.trim_start().starts_with(start)).unwrap_or_else(|| panic!("no line {start} in\n{text}"))
}

/// The chosen equilibrium of each duty.
fn chosen(outcome: &Value) -> Vec<&Value> {
    let duties = outcome["duties"].as_array().expect("duties");
    duties.iter().map(|duty| &duty["equilibria"][duty["chosen"].as_u64().expect("solved") as usize]).collect()
}

fn verdict<'a>(duty: &'a Value, rule: &str) -> Option<&'a str> {
    duty["verdicts"].as_array().expect("verdicts").iter().find(|verdict| verdict["rule"] == rule)?["word"].as_str()
}

#[test]
fn at_rest_asperities_carry_leak_and_break_away() {
    let (table, outcome) = solved(&["static test", "start"]);
    let [rest, start] = chosen(&outcome)[..] else { panic!("two duties") };
    let number = |point: &Value, key: &str| point[key]["nominal"].as_f64().expect("a number");
    assert!(number(rest, "contact_share") > 0.1 && number(rest, "leakage_kg_per_s") > 0.0, "{table}");
    assert!(number(rest, "power_w") == 0.0 && number(rest, "torque_n_m") > number(start, "torque_n_m"));
    assert!(line(&table, "torque").contains("break-away at standstill"));
    // A seal that stands at the pressure of the start breaks away with what was computed beside the start itself.
    let away = |point: &Value| point["break_away_torque_n_m"]["nominal"].as_f64().expect("a number");
    let stopped: Value =
        serde_json::from_str(&printed(&["--duty", "start", "--set", "duty.start.speed=0 rpm", "--format", "json"])).expect("JSON");
    let there = number(chosen(&stopped)[0], "torque_n_m");
    assert!((away(start) / there - 1.0).abs() < 1e-4, "{} {there}", away(start));
    // Boundary friction, known to a third at best, bounds both.
    for torque in [&rest["torque_n_m"], &start["break_away_torque_n_m"]] {
        let [low, nominal, high] = ["low", "nominal", "high"].map(|key| torque[key].as_f64().expect("a number"));
        assert!(low < 0.8 * nominal && nominal < high / 1.2, "{low} {nominal} {high}");
    }
    assert!(away(start) > number(start, "torque_n_m") && away(rest) == number(rest, "torque_n_m"), "{table}");
    assert!(!line(&table, "torque to break away from rest at this pressure").contains(" - "), "{table}");
    // The secondary seal holds the ring back both ways: closed upon itself the film is thinner.
    for point in [rest, start] {
        let ends = point["friction_band"]["minimum_film_m"].as_array().expect("two ends");
        let [adding, taking] = [&ends[0], &ends[1]].map(|end| end.as_f64().expect("a film"));
        assert!(adding < number(point, "minimum_film_m") && number(point, "minimum_film_m") < taking);
    }
    for label in ["friction adding to closing", "friction taking from it", "secondary-seal friction"] {
        assert!(!line(&table, label).contains(" - "), "{}", line(&table, label));
    }
    assert!(!table.contains("film jumps"), "nothing jumps in cold water\n{table}");
}

#[test]
fn hot_water_boils_at_the_edge_alone() {
    let (table, outcome) = solved(&["hot standby"]);
    let duty = &outcome["duties"][0];
    let from_m = chosen(&outcome)[0]["passage"]["phase_changes"][0]["radius_m"].as_f64().expect("it boils");
    assert!((0.02445..0.0262).contains(&from_m), "near the inner edge: {from_m}");
    assert_eq!(verdict(duty, "boiling.edge"), Some("watch"), "{table}");
    // Rows that no jump bounds are one.
    let from = table.find("Before the film jumps").expect("margins");
    let block = &table[from..from + table[from..].find("Balances").expect("balances follow")];
    assert_eq!(block.matches("no jump seen").count(), 1, "{block}");
}

#[test]
fn gas_in_the_chamber_is_told_as_gas() {
    let (table, outcome) = solved(&["air test", "lost prime"]);
    let duties = outcome["duties"].as_array().expect("duties");
    for duty in duties {
        assert_eq!(verdict(duty, "hazard.oxygen"), None, "air is not enriched");
    }
    assert_eq!(verdict(&duties[0], "boiling.chamber-kelvin"), None);
    assert_eq!(verdict(&duties[1], "boiling.chamber-kelvin"), Some("fails"), "a pump that lost its liquid");
    assert!(table.contains("the chamber holds gas: it is 217 K above saturation"), "{table}");
    assert!(!table.contains("vapour by mass"), "{table}");
    // The other duties' notices are not theirs.
    assert!(!table.contains("pressure is reversed"), "{table}");
}

#[test]
fn reversed_pressure_opens_the_other_way() {
    let (table, outcome) = solved(&["reverse"]);
    assert!(table.contains("the pressure is reversed") && table.contains("low-side medium"), "{table}");
    let hand = &outcome["duties"][0]["hand"]["balance_ratio"];
    assert!(hand.as_f64().is_some_and(|ratio| (0.2..0.3).contains(&ratio)), "1 less the ratio of the normal duty: {hand}");
}

#[test]
fn a_sweep_has_no_columns_that_say_nothing() {
    let header = |duty: &str| {
        let swept = printed(&["--duty", duty, "--sweep", "seal.spring_force=180 N..200 N/3"]);
        swept.lines().find(|line| line.contains("least film")).expect("a header").to_owned()
    };
    let [gas, liquid, hot] = ["air test", "static test", "hot standby"].map(header);
    assert!(!gas.contains("boiling") && !gas.contains("vapour") && gas.contains("equilibria"), "{gas}");
    assert!(liquid.contains("below boiling") && !liquid.contains("vapour"), "{liquid}");
    assert!(hot.contains("below boiling") && hot.contains("vapour"), "{hot}");
}
