//! Textured faces of the brine booster and of the ammonia compressor, as whole seals: tilt, pads, dimples, T grooves.

use halfmicron::case;
use halfmicron::outcome::{DutyOutcome, Equilibrium};
use halfmicron::point::{Options, Prepared};

const BRINE: &str = include_str!("../../../../cases/brine-booster.toml");
const AMMONIA: &str = include_str!("../../../../cases/ammonia-compressor.toml");
const NO_INERTIA: &str = "\n[switches]\nconvective_inertia = false\n";

fn solved(text: &str, duty: &str) -> DutyOutcome {
    let model = case::parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    let prepared = Prepared::new(&model).unwrap_or_else(|error| panic!("{error}"));
    let options = Options { margins: false, ranges: false, at_rest: false, fields: false, waves: false, ..Options::default() };
    let duty = model.duties.iter().find(|known| known.name == duty).unwrap();
    prepared.solve_with(duty, None, options).0
}

fn chosen(outcome: &DutyOutcome) -> &Equilibrium {
    let index = outcome.chosen.unwrap_or_else(|| panic!("{:?}: {}", outcome.status, outcome.reason));
    let point = &outcome.equilibria[index];
    assert!(
        point.stable && point.balances.mass < 1e-9 && point.balances.force < 1e-8 && point.balances.heat < 1e-6,
        "{:?}",
        point.balances
    );
    point
}

fn brine(more: &str) -> String {
    format!("{BRINE}{NO_INERTIA}{more}")
}

fn texture(on: &str, lines: &str) -> String {
    format!("\n[[texture]]\non = \"{on}\"\n{lines}\n")
}

/// The grooves of the ammonia compressor exchanged for others; turning backwards where `speed` says so.
fn ammonia(lines: &str, speed: &str) -> String {
    let (before, rest) = AMMONIA.split_once("[[texture]]").unwrap();
    let after = &rest[rest.find("[supply]").unwrap()..];
    format!("{before}{}{after}", texture("rotating", lines)).replacen("speed = \"10500 rpm\"", &format!("speed = \"{speed}\""), 1)
}

#[test]
fn a_tilt_of_nothing_is_the_plain_seal_and_a_greater_one_leaks_more() {
    let plain = solved(&brine(""), "normal");
    let plain = chosen(&plain);
    let tilted = |angle: &str| solved(&brine(&texture("rotating", &format!("kind = \"tilt\"\nangle = \"{angle}\""))), "normal");
    let none = tilted("0.0001 urad");
    let none = chosen(&none);
    for (what, found, expected) in [
        ("film", none.mean_film_m.nominal, plain.mean_film_m.nominal),
        ("leakage", none.leakage_kg_per_s.nominal, plain.leakage_kg_per_s.nominal),
        ("power", none.power_w.nominal, plain.power_w.nominal),
        ("hottest face", none.face_temperature_max_k.nominal, plain.face_temperature_max_k.nominal),
    ] {
        // The axisymmetric film reads its table of properties, good to a ten-thousandth.
        assert!((found / expected - 1.0).abs() < 2e-3, "{what}: {found} against {expected}");
    }
    let more = tilted("8 urad");
    assert!(chosen(&more).leakage_kg_per_s.nominal > 1.2 * none.leakage_kg_per_s.nominal);
}

#[test]
fn pads_and_dimples_lift_a_liquid_face_off_its_asperities() {
    let plain = solved(&brine(""), "normal");
    let pads = "kind = \"pads\"\ncount = 9\ndepth = \"2 um\"\ninner = \"55 mm\"\nouter = \"61.6 mm\"";
    let dimples =
        "kind = \"dimples\"\ncount = 90\nrows = 4\nradius = \"0.25 mm\"\ndepth = \"3 um\"\ninner = \"53 mm\"\nouter = \"61.6 mm\"";
    for (name, lines) in [("pads", pads), ("dimples", dimples)] {
        let found = solved(&brine(&texture("stationary", lines)), "normal");
        let point = chosen(&found);
        assert!(point.contact_share.nominal < chosen(&plain).contact_share.nominal, "{name}: {}", point.contact_share.nominal);
        assert!(point.leakage_kg_per_s.nominal > chosen(&plain).leakage_kg_per_s.nominal, "{name}");
        assert!(found.models.iter().any(|id| id == "film.field"), "{name}");
    }
}

#[test]
fn t_grooves_lift_a_gas_face_whichever_way_it_turns() {
    let tee = "kind = \"T grooves\"\ncount = 12\ndepth = \"6 um\"\ninner = \"137 mm\"\nouter = \"156 mm\"\nwidth_ratio = 0.6";
    let [forward, backward] = ["10500 rpm", "-10500 rpm"].map(|speed| solved(&ammonia(tee, speed), "normal"));
    let (forward, backward) = (chosen(&forward), chosen(&backward));
    for (found, expected) in [
        (forward.minimum_film_m.nominal, backward.minimum_film_m.nominal),
        (forward.leakage_kg_per_s.nominal, backward.leakage_kg_per_s.nominal),
        (forward.power_w.nominal, backward.power_w.nominal),
    ] {
        assert!((found / expected - 1.0).abs() < 1e-6, "{found} against {expected}");
    }
    assert!(forward.contact_share.nominal == 0.0, "lifted off: {}", forward.contact_share.nominal);
}
