//! The commands as a user meets them, run in process.

#![allow(clippy::disallowed_methods, reason = "tests of the application write case files")]

use std::ffi::OsString;
use std::fs;
use std::path::Path;

use halfmicron_app::{Answer, Terminal, run};
use tempfile::TempDir;

fn command(arguments: &[&str]) -> Answer {
    on(Terminal::pipe(), arguments)
}

fn on(terminal: Terminal, arguments: &[&str]) -> Answer {
    run(std::iter::once("halfmicron").chain(arguments.iter().copied()).map(OsString::from), terminal)
}

fn starter(folder: &TempDir) -> String {
    let path = folder.path().join("my-pump");
    let answer = command(&["new", &path.to_string_lossy()]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    format!("{}.toml", path.display())
}

#[test]
fn the_starter_is_written_once_and_solves() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let again = command(&["new", case.trim_end_matches(".toml")]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("exists already"));
    let answer = command(&["solve", &case, "--duty", "normal"]);
    assert_eq!(answer.code, 0, "{}{}", answer.out, answer.err);
    for words in ["least film", "at least", "By hand", "Verdicts", "Cautions", "Local codes"] {
        assert!(answer.out.contains(words), "no {words} in\n{}", answer.out);
    }
    assert!(!answer.out.contains('\u{1b}'), "a pipe carries no colour");
    assert!(!answer.out.contains("NaN"));
}

#[test]
fn json_is_si_and_carries_hand_and_verdicts() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let answer = command(&["solve", &case, "--duty", "normal", "--format", "json"]);
    let outcome: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    let duty = &outcome["duties"][0];
    assert_eq!(duty["status"], "solved");
    assert!(duty["hand"]["balance_ratio"].as_f64().is_some_and(|ratio| (0.5..1.0).contains(&ratio)));
    assert!(duty["verdicts"].as_array().is_some_and(|verdicts| verdicts.len() > 30));
    assert!(duty["equilibria"][0]["minimum_film_m"]["nominal"].as_f64().is_some_and(|film| film > 0.0));
    let two = command(&["solve", &case, &case, "--duty", "normal", "--format", "json"]);
    assert!(serde_json::from_str::<serde_json::Value>(&two.out).expect("JSON").as_array().is_some_and(|cases| cases.len() == 2));
}

/// The words of the section, with every number as `#` and columns one blank apart: numbers are tested where they are computed.
#[test]
fn other_laws_are_told_in_plain_words() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let arguments = ["solve", &case, "--duty", "normal", "--spread"];
    let answer = command(&arguments);
    let from = answer.out.find("What other laws").unwrap_or_else(|| panic!("no section in\n{}", answer.out));
    let section = &answer.out[from..from + answer.out[from..].find("\nVerdicts").expect("verdicts follow")];
    let words = |line: &str| {
        let words =
            line.split_whitespace().map(|word| if word.trim_matches('(').starts_with(|c: char| c.is_ascii_digit()) { "#" } else { word });
        words.collect::<Vec<_>>().join(" ")
    };
    insta::assert_snapshot!(section.lines().map(words).collect::<Vec<_>>().join("\n"));
    // Nobody who did not ask is shown it; programs get it under the duty.
    assert!(!command(&arguments[..4]).out.contains("other laws"));
    let json = command(&["solve", &case, "--duty", "normal", "--spread", "--format", "json"]);
    let outcome: serde_json::Value = serde_json::from_str(&json.out).expect("JSON");
    let power = &outcome["duties"][0]["model_spread"]["headlines"].as_array().expect("headlines").iter().find(|h| h["key"] == "power_w");
    assert!(power.is_some_and(|power| power["laws"]["low"].as_f64() < power["laws"]["nominal"].as_f64()), "{power:?}");
    for width in [60, 80] {
        let answer = on(Terminal { width: Some(width), colour: false }, &arguments);
        let widest = answer.out.lines().map(|line| line.chars().count()).max().unwrap_or(0);
        assert!(widest <= width, "{widest} of {width}\n{}", answer.out);
    }
}

#[test]
fn settings_change_the_answer_not_the_file() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let before = fs::read(&case).expect("the case");
    let answer = command(&["solve", &case, "--duty", "normal", "--set", "limits.leakage=0.001 mL/h"]);
    assert_eq!(answer.code, 1, "a leakage limit of nothing fails\n{}{}", answer.out, answer.err);
    assert!(answer.out.contains("leak.liquid"));
    assert_eq!(fs::read(&case).expect("the case"), before);
    let wrong = command(&["solve", &case, "--set", "duty.normal.presure=3 bar(g)"]);
    assert_eq!(wrong.code, 2);
    assert!(wrong.err.contains("pressure"), "{}", wrong.err);
}

#[test]
fn errors_say_where_and_what_to_do() {
    let folder = TempDir::new().expect("a folder");
    let missing = command(&["solve", &folder.path().join("none.toml").to_string_lossy()]);
    assert_eq!(missing.code, 2);
    assert!(missing.err.contains("halfmicron new"), "{}", missing.err);
    let in_folder = command(&["solve", &folder.path().to_string_lossy()]);
    assert_eq!(in_folder.code, 2);
    assert!(in_folder.err.contains("is a folder"), "{}", in_folder.err);
    let case = starter(&folder);
    let text = fs::read_to_string(&case).expect("the case").replace("bar(g)", "bar");
    write(&case, text.as_bytes());
    for terminal in [Terminal::pipe(), Terminal { width: Some(80), colour: true }, Terminal { width: Some(20), colour: false }] {
        let answer = on(terminal, &["solve", &case]);
        assert_eq!(answer.code, 2);
        assert!(answer.err.contains("(g)"), "{}", answer.err);
        assert!(answer.out.is_empty());
    }
}

#[test]
fn bytes_that_are_no_case_are_refused() {
    let folder = TempDir::new().expect("a folder");
    let path = folder.path().join("bytes.toml").to_string_lossy().into_owned();
    let large = vec![b'x'; 10 << 20];
    for bytes in [&b""[..], &b"\xff\xfe"[..], &b"a = "[..], &large[..]] {
        write(&path, bytes);
        for terminal in [Terminal::pipe(), Terminal { width: Some(80), colour: false }] {
            let answer = on(terminal, &["solve", &path]);
            assert_eq!(answer.code, 2);
            assert!(!answer.err.is_empty());
        }
    }
}

#[test]
fn an_unknown_duty_is_told_with_the_known() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    for name in ["solve", "film"] {
        let answer = command(&[name, &case, "--duty", "nomral"]);
        assert_eq!(answer.code, 2);
        assert!(answer.err.contains("normal"), "{}", answer.err);
    }
}

#[test]
fn the_film_alone_needs_a_gap() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let answer = command(&["film", &case, "--duty", "normal"]);
    assert_eq!(answer.code, 2);
    assert!(answer.err.contains("[gap]"), "{}", answer.err);
    let answer = command(&["film", &case, "--duty", "normal", "--set", "gap.thickness=0.8 um"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("pressure-profile factor"));
}

#[test]
fn one_ring_alone() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    for ring in ["rotating", "stationary"] {
        let answer = command(&["ring", &case, "--ring", ring, "--duty", "normal"]);
        assert_eq!(answer.code, 0, "{}", answer.err);
        for words in ["coning", "hottest face", "greatest tension", "reaction of the support"] {
            assert!(answer.out.contains(words), "no {words} in\n{}", answer.out);
        }
    }
}

#[test]
fn narrow_terminals_keep_their_width() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    for width in [40, 60, 80, 120] {
        let answer = on(Terminal { width: Some(width), colour: false }, &["solve", &case]);
        let widest = answer.out.lines().map(|line| line.chars().count()).max().unwrap_or(0);
        assert!(widest <= width, "{widest} of {width}\n{}", answer.out);
    }
}

#[test]
fn libraries_schema_rules_and_generated_texts() {
    for arguments in [
        &["fluids"][..],
        &["fluids", "sea water, salinity 70 g/kg"],
        &["fluids", "water", "--units", "us"],
        &["materials"],
        &["materials", "silicon carbide, sintered", "--units", "us"],
        &["rules"],
        &["rules", "film"],
        &["schema"],
        &["completions", "bash"],
        &["man"],
        &["--help"],
        &["solve", "--help"],
        &["--version"],
    ] {
        let answer = command(arguments);
        assert_eq!(answer.code, 0, "{arguments:?}: {}", answer.err);
        assert!(!answer.out.is_empty(), "{arguments:?}");
    }
    for arguments in [&["fluids", "watter"][..], &["materials", "cheese"], &["rules", "nothing"], &["prove", "F99"], &["sovle"], &[]] {
        let answer = command(arguments);
        assert_eq!(answer.code, 2, "{arguments:?}");
        assert!(!answer.err.is_empty(), "{arguments:?}");
    }
}

/// A result claims no proof that the checks do not give, and no model with a proof is called unproven.
#[test]
fn proof_states_are_those_of_the_checks() {
    use halfmicron::rules::models::{PROOFS, proofs};
    use halfmicron_checks::Kind;
    let checks = halfmicron_checks::all();
    let proves =
        |id: &str, model: &str| checks.iter().any(|check| check.id == id && check.kind == Kind::Proof && check.models.contains(&model));
    for (model, claimed) in PROOFS {
        for id in *claimed {
            assert!(proves(id, model), "{id} is no proof of {model}");
        }
    }
    for check in checks.iter().filter(|check| check.kind == Kind::Proof) {
        for model in check.models {
            assert!(!proofs(model).is_empty(), "{} proves {model}, which a result would call unproven", check.id);
        }
    }
}

/// Every source named beside a value is spelled out, and what changes with temperature is shown as it changes.
#[test]
fn a_material_shows_its_change_with_temperature_and_every_source() {
    let conducts = |name: &str| {
        let answer = command(&["materials", name]);
        let from = answer.out.find("With temperature").unwrap_or_else(|| panic!("no table in\n{}", answer.out));
        let (values, sources) = answer.out.split_at(answer.out.find("Sources").expect("sources"));
        for key in ["from-memory", "munro-1997"] {
            assert_eq!(values.contains(key), sources.contains(&format!("[{key}]")), "{name}: {key}");
        }
        let rows = values[from..].lines().filter(|line| line.contains("W/(m K)"));
        let numbers = rows.filter_map(|line| line.split("W/(m K)").next()?.split_whitespace().last()?.parse::<f64>().ok());
        numbers.collect::<Vec<f64>>()
    };
    let carbide = conducts("silicon carbide, sintered");
    assert!(carbide.len() > 2 && carbide.is_sorted_by(|a, b| a > b), "hot carbide conducts less: {carbide:?}");
}

fn write(path: impl AsRef<Path>, bytes: &[u8]) {
    fs::write(path, bytes).expect("written");
}

/// Published check F1 as a user writes it, without rings: 1186.71 N, 16.328 mL/h, 0.26774 N m, 84.112 W by closed form.
#[test]
fn a_hand_case_without_rings_tells_every_number() {
    let folder = TempDir::new().expect("a folder");
    let path = folder.path().join("hand.toml");
    let case = "halfmicron = 1\n[liquid]\ndensity = \"1000 kg/m3\"\nviscosity = \"1 mPa s\"\n[[duty]]\nname = \"F1\"\nspeed = \"3000 rpm\"\n\
        pressure = \"2 MPa(g)\"\ntemperature = \"20 degC\"\n[seal]\npressure_side = \"outside\"\n[gap]\nthickness = \"1 um\"\n\
        face = { inner = \"48.9 mm\", outer = \"61.6 mm\" }\n[switches]\nspin = false\nconvective_inertia = false\nheat = false\n";
    fs::write(&path, case).expect("written");
    let path = path.to_string_lossy();
    let answer = command(&["film", &path, "--format", "json"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let films: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    let film = &films[0];
    for (key, expected) in [("force_n", 1186.71465), ("leakage_m3_per_s", 4.535591e-9), ("torque_n_m", 0.26773770), ("power_w", 84.11228)] {
        let value = film[key].as_f64().unwrap_or(f64::NAN);
        assert!((value / expected - 1.0).abs() < 1e-5, "{key}: {value}");
    }
    assert!(film["stiffness_n_per_m"].as_f64().is_some_and(|stiffness| stiffness.abs() < 1e4), "parallel faces have none");
    let whole = command(&["solve", &path]);
    assert_eq!(whole.code, 2);
    assert!(whole.err.contains("halfmicron film"), "{}", whole.err);
}

/// A gas film between rigid faces: isothermal viscous flow goes with the difference of the squared pressures, a closed form.
#[test]
fn the_film_alone_computes_gas() {
    let folder = TempDir::new().expect("a folder");
    let path = folder.path().join("gas.toml");
    let case = "halfmicron = 1\n[gas]\ngas_constant = \"287.05 J/(kg K)\"\nviscosity = \"18 uPa s\"\n[[duty]]\nname = \"static\"\nspeed = \"0 rpm\"\n\
        pressure = \"3 bar(a)\"\nlow_pressure = \"1 bar(a)\"\ntemperature = \"26.85 degC\"\n[seal]\npressure_side = \"outside\"\n[gap]\n\
        thickness = \"3 um\"\nface = { inner = \"48.9 mm\", outer = \"61.6 mm\" }\n\
        [switches]\nspin = false\nconvective_inertia = false\nheat = false\nslip = \"none\"\nturbulence = false\n";
    fs::write(&path, case).expect("written");
    let path = path.to_string_lossy();
    let answer = command(&["film", &path, "--format", "json"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let films: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    let (gap, temperature): (f64, f64) = (3e-6, 300.0);
    let closed = std::f64::consts::PI * gap.powi(3) * (9e10 - 1e10) / (12.0 * 18e-6 * 287.05 * temperature * (61.6_f64 / 48.9).ln());
    let number = |key: &str| films[0][key].as_f64().unwrap_or(f64::NAN);
    assert!((number("leakage_kg_per_s") / closed - 1.0).abs() < 1e-5, "{} against {closed}", number("leakage_kg_per_s"));
    let density = 3e5 / (287.05 * temperature);
    assert!((number("leakage_m3_per_s") / (closed / density) - 1.0).abs() < 1e-5, "at the density of the gas that enters");
    let normal = closed * 287.05 * 273.15 / 101_325.0;
    assert!((number("leakage_normal_m3_per_s") / normal - 1.0).abs() < 1e-5, "{} against {normal}", number("leakage_normal_m3_per_s"));
    // The pressure shown at the exit is that behind the seal, also where it falls steeply within the last element.
    let pressure: Vec<f64> = films[0]["pressure_pa"].as_array().expect("a list").iter().filter_map(serde_json::Value::as_f64).collect();
    assert!((pressure[0] / 1e5 - 1.0).abs() < 1e-6, "{}", pressure[0]);
    assert!(films[0]["vapour_fraction_max"].is_null() && films[0]["exit_pressure_pa"].is_null());
}

/// Cases whose chambers hold gas and boiling liquid; a row that no duty fills is not shown.
#[test]
fn the_film_alone_tells_where_it_boils_and_chokes() {
    let table = |case: &str, set: &str| {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../cases").join(case);
        let answer = command(&["film", &path.to_string_lossy(), "--set", set]);
        assert_eq!(answer.code, 0, "{}", answer.err);
        answer.out
    };
    let gas = table("nitrogen-blower.toml", "gap.thickness=12 um");
    assert!(gas.contains("exit pressure where choked") && !gas.contains("vapour by mass") && !gas.contains("boils from"), "{gas}");
    let mixed = table("nitrogen-pump.toml", "gap.thickness=0.7 um");
    assert!(mixed.contains("boils from radius") && mixed.contains("vapour by mass"), "{mixed}");
}

fn thickener() -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../cases/thickener-underflow.toml").to_string_lossy().into_owned()
}

#[test]
fn a_sweep_shows_its_folds_between_its_values() {
    let case = thickener();
    let sweep = ["solve", &case, "--duty", "maximum", "--sweep", "seal.balance_diameter=101 mm..104 mm/4"];
    let answer = command(&sweep);
    assert_eq!(answer.code, 0, "{}{}", answer.out, answer.err);
    insta::assert_snapshot!(answer.out);
    let json = command(&[&sweep[..], &["--format", "json"]].concat());
    let sweep: serde_json::Value = serde_json::from_str(&json.out).expect("JSON");
    let rows = sweep["rows"].as_array().expect("rows");
    assert_eq!(rows.len(), 5);
    let fold = rows.iter().find(|row| row["fold"] == "opens").expect("a fold");
    assert!(fold["value"].as_f64().is_some_and(|value| (0.103..0.104).contains(&value)));
}

#[test]
fn charts_are_written_beside_the_table() {
    let folder = TempDir::new().expect("a folder");
    let file = |name: &str| folder.path().join(name).display().to_string();
    let case = thickener();
    let (swept, solved) = (file("sweep.svg"), file("duties.SVG"));
    let sweep = ["solve", &case, "--duty", "maximum", "--sweep", "seal.balance_diameter=101 mm..104 mm/4"];
    let plain = command(&sweep);
    let answer = command(&[&sweep[..], &["--chart", &swept]].concat());
    assert_eq!((answer.code, &answer.out), (0, &plain.out), "{}", answer.err);
    let drawn = fs::read_to_string(&swept).expect("charts");
    for words in ["least film, maximum", "film pops open at balance diameter 103.", "limit 30.0 mL/h", "<title>power, maximum</title>"] {
        assert!(drawn.contains(words), "{words}");
    }
    let answer = command(&["solve", &case, "--duty", "normal", "--units", "us", "--chart", &solved]);
    assert_eq!(answer.err, "");
    let drawn = fs::read_to_string(&solved).expect("charts");
    for words in ["<title>gap, normal</title>", "<title>temperature, normal</title>", "where the heat goes", "\u{b5}in", "\u{b0}F"] {
        assert!(drawn.contains(words), "{words}");
    }
}

#[test]
fn charts_that_cannot_be_written_name_the_fix() {
    let folder = TempDir::new().expect("a folder");
    let case = thickener();
    let file = |name: &str| folder.path().join(name).display().to_string();
    let (missing, png, svg) = (file("none/charts.svg"), file("charts.png"), file("charts.svg"));
    for (arguments, words) in [
        (vec!["solve", &case, "--duty", "normal", "--chart", &png], "charts.svg"),
        (vec!["solve", &case, "--duty", "normal", "--chart", &missing], "no folder"),
        (vec!["solve", &case, &case, "--duty", "normal", "--chart", &svg], "name one case"),
    ] {
        let answer = command(&arguments);
        assert_eq!(answer.code, 2, "{arguments:?}");
        assert!(answer.err.contains(words), "{arguments:?}: {}", answer.err);
    }
    assert!(!Path::new(&svg).exists() && !Path::new(&png).exists(), "nothing is left behind");
}

#[test]
fn the_duty_of_a_sweep_is_named_once() {
    let case = thickener();
    let short = command(&["solve", &case, "--duty", "normal", "--sweep", "duty.pressure=4 bar(g)..6 bar(g)/3"]);
    let long = command(&["solve", &case, "--sweep", "duty.normal.pressure=4 bar(g)..6 bar(g)/3"]);
    assert_eq!((short.code, &short.out), (0, &long.out), "{}{}", short.err, long.err);
    let narrow = on(
        Terminal { width: Some(60), colour: false },
        &["solve", &case, "--duty", "normal", "--units", "us", "--sweep", "duty.pressure=4 bar(g)..6 bar(g)/3"],
    );
    assert!(narrow.out.contains("psi(a)"), "{}", narrow.out);
}

#[test]
fn a_wrong_sweep_names_the_fix() {
    let case = thickener();
    for (sweep, words) in [
        ("duty.normal.pressure=4 bar(g)..6 bar(g)", "/COUNT"),
        ("duty.normal.pressure=4..6 bar(g)/3", "has no unit"),
        ("duty.normal.pressure=4 bar..6 bar(g)/3", "bar(g) for gauge"),
        ("duty.normal.presure=4 bar(g)..6 bar(g)/3", "did you mean `pressure`"),
        ("duty.normal.pressure=6 bar(g)..6 bar(g)/3", "the same"),
        ("seal.spring_force=4 bar(g)..6 bar(g)/3", "force"),
    ] {
        let answer = command(&["solve", &case, "--duty", "normal", "--sweep", sweep]);
        assert_eq!(answer.code, 2, "{sweep}");
        assert!(answer.err.contains(words) && answer.out.is_empty(), "{sweep}: {}", answer.err);
    }
    let nameless = command(&["solve", &case, "--sweep", "duty.pressure=4 bar(g)..6 bar(g)/3"]);
    assert!(nameless.code == 2 && nameless.err.contains("name it with --duty"), "{}", nameless.err);
}

#[test]
fn influences_are_ranked_and_say_how_they_were_found() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let answer = command(&["solve", &case, "--duty", "normal", "--influences"]);
    assert_eq!(answer.code, 0, "{}{}", answer.out, answer.err);
    for words in [
        "least film %",
        "leakage %",
        "power %",
        "hottest face K",
        "below boiling K",
        "balance diameter",
        "+1 %",
        "+1 K",
        "half the difference",
        "Local codes",
    ] {
        assert!(answer.out.contains(words), "no {words} in\n{}", answer.out);
    }
    let json = |by: &str| {
        let answer = command(&["solve", &case, "--duty", "normal", by, "--format", "json"]);
        assert_eq!(answer.code, 0, "{}", answer.err);
        serde_json::from_str::<serde_json::Value>(&answer.out).expect("JSON")
    };
    let found = json("--influences=power");
    let rows = found["rows"].as_array().expect("rows");
    assert!(rows.len() > 20 && rows.iter().all(|row| row["changes"].as_array().is_some_and(|changes| changes.len() == 5)));
    let spring = rows.iter().find(|row| row["path"] == "seal.spring_force").expect("the springs");
    assert!(spring["changes"][0]["change"].as_f64().is_some_and(|change| change < 0.0), "{spring}");
    let wrong = command(&["solve", &case, "--duty", "normal", "--influences=colour"]);
    assert!(wrong.code == 2 && wrong.err.contains("boiling"), "{}", wrong.err);
    let nameless = command(&["solve", &case, "--influences"]);
    assert!(nameless.code == 2 && nameless.err.contains("name it with --duty"), "{}", nameless.err);
}

#[test]
fn a_why_tells_equation_inputs_models_and_rules() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let film = command(&["why", &case, "minimum_film_m", "--duty", "normal"]);
    assert_eq!(film.code, 0, "{}", film.err);
    for words in [
        "least film",
        "What entered",
        "F_closing",
        "case: duty.normal.pressure",
        "Models",
        "point.coupled (checked by Q1)",
        "Valid when",
        "Here inside",
        "Rules that judge it",
        "film.lambda",
    ] {
        assert!(film.out.contains(words), "no {words} in\n{}", film.out);
    }
    let ratio = command(&["why", &case, "hand.balance_ratio", "--duty", "normal", "--format", "json"]);
    let ratio: serde_json::Value = serde_json::from_str(&ratio.out).expect("JSON");
    assert_eq!(ratio["equation"], "B = (Do^2 - Db^2) / (Do^2 - Di^2)");
    assert!(
        ratio["inputs"]
            .as_array()
            .is_some_and(|inputs| inputs.iter().any(|input| input["path"] == "seal.balance_diameter" && input["from"] == "case"))
    );
    let rule = command(&["why", &case, "film.lambda", "--duty", "normal", "--units", "us"]);
    assert!(rule.code == 0 && rule.out.contains("Limit: 1 at the normal duty"), "{}{}", rule.out, rule.err);
    let all = command(&["why", &case, "--duty", "normal"]);
    assert!(all.out.contains("leakage_m3_per_s") && all.out.contains("boiling.states"), "{}", all.out);
    let wrong = command(&["why", &case, "film", "--duty", "normal"]);
    assert!(wrong.code == 2 && wrong.err.contains("minimum_film_m"), "{}", wrong.err);
    let nameless = command(&["why", &case, "power_w"]);
    assert!(nameless.code == 2 && nameless.err.contains("name it with --duty"), "{}", nameless.err);
    let narrow = on(Terminal { width: Some(70), colour: true }, &["why", &case, "power_w", "--duty", "normal"]);
    assert!(narrow.code == 0 && narrow.out.contains("P_contact"), "{}", narrow.out);
}

#[test]
fn a_case_is_drawn_into_the_file_that_its_ending_names() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let svg = folder.path().join("section.svg").display().to_string();
    let dxf = folder.path().join("section.DXF").display().to_string();
    let answer = command(&["draw", &case, "-o", &svg, "--duty", "normal", "--temperature", "--deformed", "auto"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let drawn = fs::read_to_string(&svg).expect("a drawing");
    assert!(drawn.contains("ring temperature, degC") && drawn.contains("deformed faces, duty &quot;normal&quot;"));
    let answer = command(&["draw", &case, "-o", &dxf, "--units", "us"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let drawn = fs::read_to_string(&dxf).expect("a drawing");
    assert!(drawn.contains("AC1009") && drawn.contains("dimensions in inches"));
    let answer = command(&["draw", &case, "-o", &svg, "--view", "face"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let drawn = fs::read_to_string(&svg).expect("a drawing");
    assert!(drawn.contains("along the shaft") && drawn.contains("plain face: nothing is cut into it"));
}

#[test]
fn what_cannot_be_drawn_is_told_with_the_way_out() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let out = folder.path().join("section.svg").display().to_string();
    let png = folder.path().join("section.png").display().to_string();
    let missing = folder.path().join("none").join("section.svg").display().to_string();
    for (arguments, words) in [
        (vec!["draw", &case, "-o", &png], "neither .svg nor .dxf"),
        (vec!["draw", &case, "-o", &missing], "no folder"),
        (vec!["draw", &case, "-o", &out, "--temperature"], "name it by --duty"),
        (vec!["draw", &case, "-o", &out, "--duty", "nomral"], "no duty is named"),
        (vec!["draw", &case, "-o", &out, "--duty", "normal", "--deformed", "1e9"], "or auto"),
        (vec!["draw", &case, "-o", &out, "--deformed", "-3"], "--deformed"),
        (vec!["draw", &case, "-o", &out, "--view", "face", "--duty", "normal"], "--duty belongs to the section"),
        (vec!["draw", &case, "-o", &out, "--view", "face", "--temperature"], "--temperature belongs to the section"),
    ] {
        let answer = command(&arguments);
        assert_eq!(answer.code, 2, "{arguments:?}");
        assert!(answer.err.contains(words), "{arguments:?}: {}", answer.err);
    }
    assert!(!Path::new(&out).exists() && !Path::new(&png).exists(), "nothing is left behind");
}

#[test]
fn a_report_is_written_as_its_ending_says_and_ends_as_solve_does() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let file = |name: &str| folder.path().join(name).display().to_string();
    let (pdf, page) = (file("report.pdf"), file("report.HTML"));
    let typed = ["--project", "Salt ponds", "--revision", "B", "--author", "A. Writer"];
    let answer = command(&[&["report", &case, "-o", &pdf, "--duty", "normal", "--paper", "letter"][..], &typed].concat());
    assert_eq!(answer.code, command(&["solve", &case, "--duty", "normal"]).code, "{}", answer.err);
    let bytes = fs::read(&pdf).expect("a report");
    assert!(bytes.starts_with(b"%PDF-"));
    let other = file("another.pdf");
    command(&[&["report", &case, "-o", &other, "--duty", "normal", "--paper", "letter"][..], &typed].concat());
    assert!(fs::read(&other).expect("a report") == bytes, "another name of the report changes nothing in it");
    let set = ["--units", "us", "--set", "duty.normal.pressure=14 bar(g)"];
    let answer = command(&[&["report", &case, "-o", &page, "--duty", "normal"][..], &typed, &set].concat());
    assert_eq!(answer.code, 0, "{}", answer.err);
    let written = fs::read_to_string(&page).expect("a report");
    for words in ["Salt ponds", "A. Writer", "psi(a)", "14 bar(g)", "my-pump.toml", "--set 'duty", "--units us"] {
        assert!(written.contains(words), "no {words}");
    }
    assert!(!written.contains(&folder.path().display().to_string()), "no report says where a file lies");
    assert!(!fs::read_to_string(&case).expect("the case").contains("14 bar(g)"), "the case stays as it is");
}

#[test]
fn a_report_of_a_rule_that_fails_is_written_and_ends_with_1() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let page = folder.path().join("report.html").display().to_string();
    let answer = command(&["report", &case, "-o", &page, "--duty", "normal", "--set", "limits.power=1 W"]);
    assert_eq!(answer.code, 1, "{}", answer.err);
    assert!(answer.out.contains("a rule fails"), "{}", answer.out);
    assert!(fs::read_to_string(&page).expect("a report").contains("not acceptable as it stands"));
}

#[test]
fn what_cannot_be_reported_is_told_and_the_case_is_never_overwritten() {
    let folder = TempDir::new().expect("a folder");
    let case = starter(&folder);
    let before = fs::read_to_string(&case).expect("the case");
    let out = folder.path().join("report.pdf").display().to_string();
    let docx = folder.path().join("report.docx").display().to_string();
    let missing = folder.path().join("none").join("report.pdf").display().to_string();
    let disguised = folder.path().join("case.pdf");
    fs::copy(&case, &disguised).expect("a copy");
    let disguised = disguised.display().to_string();
    let roundabout = folder.path().join(".").join("case.pdf").display().to_string();
    for (arguments, words) in [
        (vec!["report", &case, "-o", &docx], "neither .pdf nor .html"),
        (vec!["report", &case, "-o", &case], "neither .pdf nor .html"),
        (vec!["report", &disguised, "-o", &roundabout], "is the case itself"),
        (vec!["report", &case, "-o", &missing, "--duty", "normal"], "no folder"),
        (vec!["report", &case, "-o", &out, "--duty", "nomral"], "no duty is named"),
        (vec!["report", &case, "-o", &out, "--set", "seal.spring_force=1 m"], "spring_force"),
        (vec!["report", &case, "-o", &out, "--duty", "normal", "--project", "\u{6d77}"], "U+6D77"),
    ] {
        let answer = command(&arguments);
        assert_eq!(answer.code, 2, "{arguments:?}");
        assert!(answer.err.contains(words), "{arguments:?}: {}", answer.err);
    }
    assert!(!Path::new(&out).exists() && !Path::new(&docx).exists(), "nothing is left behind");
    assert_eq!(fs::read_to_string(&case).expect("the case"), before);
    assert_eq!(fs::read_to_string(&disguised).expect("the copy"), before);
}

/// The nitrogen blower of the Saltmere works: smooth coned faces on gas, the standing ring floats.
#[test]
fn motion_tells_coefficients_following_and_stability() {
    let case = "../../cases/nitrogen-blower.toml";
    let folder = TempDir::new().expect("a folder");
    let chart = folder.path().join("motion.svg");
    let asked = ["motion", case, "--duty", "normal", "--chart", &chart.to_string_lossy()];
    let answer = command(&asked);
    assert_eq!(answer.code, 0, "{}{}", answer.out, answer.err);
    for words in [
        "motion of the stationary ring",
        "axial stiffness, + pushes back",
        "cross stiffness, + drives whirl",
        "tilt not followed",
        "least film round the circumference",
        "Over speed, each with its own operating point: normal",
        "neither film nor secondary seal limits it",
        "seal.secondary_seal.stiffness",
        "Local codes",
    ] {
        assert!(answer.out.contains(words), "no {words} in\n{}", answer.out);
    }
    assert!(!answer.out.contains("NaN"));
    let drawn = fs::read_to_string(&chart).expect("a chart");
    assert!(drawn.contains("Least film over speed") && drawn.contains("Tilt between the faces over that of the mating face"));
    let answer = command(&["motion", case, "--duty", "normal", "--no-curve", "--format", "json"]);
    let found: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    let duty = &found["duties"][0];
    let number = |path: [&str; 2]| duty[path[0]][path[1]].as_f64().unwrap_or_else(|| panic!("no {path:?}"));
    // A quarter of a kilogram on a film of 3 um at 10 bar: stiff, damped past ringing, followed to a part in a thousand.
    assert!((0.2..0.3).contains(&number(["body", "mass_kg"])));
    assert!((5e7..2e8).contains(&number(["film", "axial_stiffness_n_per_m"])));
    assert!((number(["following", "ratio"]) - 1.0).abs() < 2e-3 && number(["following", "axial_damping_ratio"]) > 1.0);
    // Shear drives the tilted gap round with half the speed.
    let half = number(["film", "cross_stiffness_n_m_per_rad"]) / number(["film", "tilt_damping_n_m_s_per_rad"]) / 312.06;
    assert!((half - 0.5).abs() < 0.05, "{half}");
    // A ring on gas that is free to whirl goes with the film: half the speed, dying away.
    let whirl = number(["stability", "whirl_rad_per_s"]) / 312.06;
    assert!(number(["stability", "growth_per_s"]) < 0.0 && (whirl - 0.5).abs() < 0.02, "{whirl}");
    assert_eq!(duty["curve"].as_array().map(Vec::len), Some(0));
}

#[test]
fn motion_says_what_it_does_not_compute() {
    let booster = "../../cases/brine-booster.toml";
    let still = command(&["motion", booster, "--duty", "standstill", "--no-curve"]);
    assert_eq!(still.code, 0, "{}", still.err);
    assert!(still.out.contains("the shaft stands"), "{}", still.out);
    let vented = command(&["motion", "../../cases/nitrogen-pump.toml", "--duty", "normal", "--no-curve"]);
    assert_eq!(vented.code, 2, "a film that boils moves in no computed way: {}", vented.out);
    assert!(vented.out.contains("small motions are computed of films of one phase alone"), "{}", vented.out);
    let unknown = command(&["motion", booster, "--duty", "nominal"]);
    assert!(unknown.code == 2 && unknown.err.contains("no duty is named"), "{}", unknown.err);
    let two = command(&["motion", booster, booster, "--chart", "both.svg"]);
    assert!(two.code == 2 && two.err.contains("name one case"), "{}", two.err);
}
