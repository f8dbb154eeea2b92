//! The Saltmere cases and the starter become models.

use halfmicron::case::{self, CaseErrors};
use halfmicron::model::{DimpleShape, EdgeSelector, Model, RingRole, SecondaryFriction, SecondarySealKind, Support, TextureForm, Wetting};
use halfmicron::notice::Severity;
use halfmicron::outcome::Status;

pub const CASES: [(&str, &str); 12] = [
    ("brine-booster", include_str!("../../../../cases/brine-booster.toml")),
    ("caustic-transfer", include_str!("../../../../cases/caustic-transfer.toml")),
    ("chlorine-agitator", include_str!("../../../../cases/chlorine-agitator.toml")),
    ("thermal-oil", include_str!("../../../../cases/thermal-oil.toml")),
    ("thickener-underflow", include_str!("../../../../cases/thickener-underflow.toml")),
    ("feed-pump", include_str!("../../../../cases/feed-pump.toml")),
    ("nitrogen-blower", include_str!("../../../../cases/nitrogen-blower.toml")),
    ("vacuum-condensate", include_str!("../../../../cases/vacuum-condensate.toml")),
    ("nitrogen-pump", include_str!("../../../../cases/nitrogen-pump.toml")),
    ("ammonia-compressor", include_str!("../../../../cases/ammonia-compressor.toml")),
    ("brine-booster-waves", include_str!("../../../../cases/brine-booster-waves.toml")),
    ("chlorine-agitator-tilted", include_str!("../../../../cases/chlorine-agitator-tilted.toml")),
];

pub fn model(text: &str) -> Result<Model, CaseErrors> {
    case::parse(text)?.model()
}

fn good(name: &str, text: &str) -> Model {
    model(text).unwrap_or_else(|errors| panic!("{}", errors.plain_text(name, text)))
}

#[test]
fn every_case_becomes_a_model() {
    for (name, text) in CASES {
        let model = good(name, text);
        assert!(!model.rotating_ring.parts.is_empty() && !model.stationary_ring.parts.is_empty());
        for notice in &model.notices {
            println!("{name}: {} {} {}", notice.code, notice.field, notice.message);
        }
    }
}

/// A quench of water or steam cools or heats what is taken to stand in air; whoever states the wetted edges has said what it does.
#[test]
fn a_wet_quench_says_what_is_not_computed() {
    let booster = CASES[0].1;
    let cautioned = |text: &str| good("quenched", text).notices.iter().any(|notice| notice.code == "model.quench-heat");
    assert!(!cautioned(booster));
    for (medium, expected) in [("water", true), ("steam", true), ("nitrogen", false), ("air", false)] {
        let text = booster.replace("quench = \"none\"", &format!("quench = \"{medium}\""));
        assert_eq!(cautioned(&text), expected, "{medium}");
        let edges = "[stationary_ring]\nedges = [ { edge = \"bore\", coefficient = \"2000 W/(m2 K)\", temperature = \"30 degC\" } ]";
        assert!(!cautioned(&text.replacen("[stationary_ring]", edges, 1)), "{medium}, edges stated");
    }
}

#[test]
fn hand_numbers_of_the_scenario() {
    // face area mm2, mean diameter mm, balance ratio, sliding speed m/s at the normal duty: trade scenario, hand tables
    let expected = [
        (1102.2, 55.25, 0.7474, 8.56),
        (747.7, 47.60, 1.2256, 3.61),
        (6471.7, 206.00, 0.7591, 1.02),
        (1067.4, 75.50, 0.7666, 11.46),
        (2177.1, 99.00, 0.7287, 5.08),
        (2682.9, 122.00, 0.7746, 19.04),
        (3455.8, 110.00, 0.7670, 17.16),
        (1335.2, 85.00, 0.7513, 6.59),
        (358.1, 38.00, 0.7004, 7.06),
    ];
    for ((name, text), (area, diameter, balance, speed)) in CASES.into_iter().zip(expected) {
        let model = good(name, text);
        let band = model.band;
        let normal = model.duties.iter().find(|duty| duty.name == "normal").unwrap();
        let (ro, ri, rb) = (band.outer_radius_m, band.inner_radius_m, model.seal.balance_radius_m);
        assert!((band.area_m2() * 1e6 - area).abs() < 0.06, "{name}");
        assert!((2e3 * band.mean_radius_m() - diameter).abs() < 0.006, "{name}");
        assert!(((ro * ro - rb * rb) / (ro * ro - ri * ri) - balance).abs() < 6e-5, "{name}");
        assert!((normal.speed_rad_per_s * band.mean_radius_m() - speed).abs() < 0.006, "{name}");
    }
}

#[test]
fn which_ring_floats_and_which_is_narrow() {
    for ((name, text), (floats, narrow)) in CASES.into_iter().zip([
        (RingRole::Rotating, RingRole::Rotating),
        (RingRole::Rotating, RingRole::Stationary),
        (RingRole::Rotating, RingRole::Rotating),
        (RingRole::Rotating, RingRole::Rotating),
        (RingRole::Stationary, RingRole::Stationary),
        (RingRole::Stationary, RingRole::Stationary),
        (RingRole::Stationary, RingRole::Stationary),
        (RingRole::Rotating, RingRole::Rotating),
        (RingRole::Stationary, RingRole::Stationary),
    ]) {
        let model = good(name, text);
        let rings = [&model.rotating_ring, &model.stationary_ring];
        assert_eq!(rings.iter().filter(|ring| ring.floating).map(|ring| ring.role).collect::<Vec<_>>(), [floats], "{name}");
        assert_eq!(model.narrow_ring, narrow, "{name}");
        assert!(rings.iter().all(|ring| ring.floating == (ring.support == Support::SpringCircle)), "{name}");
    }
}

#[test]
fn the_shrink_fit_is_a_part() {
    let model = good(CASES[3].0, CASES[3].1);
    let fits: Vec<_> = model.rotating_ring.parts.iter().map(|part| part.fit).collect();
    let fit = fits[2].unwrap();
    assert_eq!((fits.len(), fits[0], fits[3]), (4, None, None));
    assert!((fit.radius_m - 0.042).abs() < 1e-12 && (fit.interference_m - 60e-6).abs() < 1e-15);
    assert_eq!(model.seal.secondary_seal.kind, SecondarySealKind::MetalBellows);
    assert_eq!(model.seal.secondary_seal.friction, SecondaryFriction::Given(0.0));
    assert!((model.rotating_ring.spring_radius_m - 0.0366).abs() < 1e-12, "a bellows presses at its effective diameter");
}

#[test]
fn the_starter_is_a_case_without_errors() {
    let text = case::starter("Cooling \"water\" pump");
    let model = good("starter", &text);
    assert_eq!(model.title, "Cooling  water  pump");
    assert!((2.0 * model.band.mean_radius_m() - 0.05525).abs() < 1e-9);
    assert!(model.notices.iter().all(|notice| notice.severity == Severity::Note), "{:#?}", model.notices);
}

/// Where the trade sees a cold-water seal of this size near 1 MPa and 3000 rpm (common practice, no source): a film of a few
/// tenths of a micrometre to about one, 0.1 to 10 mL/h, a few hundred watts.
#[test]
fn the_starter_solves_where_the_trade_sees_such_seals() {
    let model = good("starter", &case::starter("pump"));
    let outcome = halfmicron::solve(&model, &["normal".to_owned()]).unwrap();
    let duty = &outcome.duties[0];
    assert_eq!(duty.status, Status::Solved, "{}", duty.reason);
    let found = &duty.equilibria[duty.chosen.unwrap()];
    let (film, leak, power) = (found.mean_film_m.nominal, found.leakage_m3_per_s.nominal * 3.6e9, found.power_w.nominal);
    println!("mean film {:.3} um, leakage {leak:.3} mL/h, power {power:.1} W", film * 1e6);
    assert!((0.1e-6..1.5e-6).contains(&film), "mean film {film} m");
    assert!((0.1..10.0).contains(&leak), "leakage {leak} mL/h");
    assert!((50.0..600.0).contains(&power), "power {power} W");
}

#[test]
fn broken_variants_of_the_scenario() {
    let brine = CASES[0].1;
    let gauge = brine.replace("pressure = \"11 bar(g)\"", "pressure = \"11 bar\"");
    assert_eq!(model(&gauge).unwrap_err().diagnostics()[0].path, "duty.normal.pressure");
    let gap = brine.replace("z = [\"0 mm\", \"2.5 mm\"]", "z = [\"0 mm\", \"2 mm\"]");
    assert_eq!(model(&gap).unwrap_err().diagnostics()[0].path, "rotating_ring.section.1");
    let balance = brine.replace("\"52.4 mm\"", "\"50 mm\"").replace("\"11 bar(g)\"", "\"36 bar(g)\"");
    let model = model(&balance).unwrap();
    let notice = model.notices.iter().find(|notice| notice.code == "input.balance-diameter").unwrap();
    assert!(notice.message.contains("52.7 mm") && notice.message.contains("50 mm"), "{}", notice.message);
}

#[test]
fn signs_of_lapped_forms() {
    let with = |line: &str, side: &str| {
        let text = CASES[0].1.replacen("flatness = \"2 bands\"", &format!("flatness = \"2 bands\"\n{line}"), 1);
        let text = text.replace("pressure_side = \"outside\"", &format!("pressure_side = \"{side}\""));
        model(&text).unwrap().rotating_ring.lapped_coning_m
    };
    assert!((with("lapped_form = \"0.3 um convex\"", "outside") - 0.3e-6).abs() < 1e-18);
    assert!((with("lapped_form = \"0.3 um concave\"", "outside") + 0.3e-6).abs() < 1e-18);
    assert!((with("lapped_form = \"0.3 um convex\"", "inside") + 0.3e-6).abs() < 1e-18);
    assert!((with("lapped_coning = \"-0.2 um\"", "inside") + 0.2e-6).abs() < 1e-18);
}

#[test]
fn a_film_alone_needs_no_rings() {
    let text = r#"
halfmicron = 1
title = "parallel faces"
[liquid]
density = "1000 kg/m3"
viscosity = "1 mPa s"
[[duty]]
name = "turning"
speed = "3000 rpm"
pressure = "2 MPa(g)"
temperature = "20 degC"
[seal]
pressure_side = "outside"
[gap]
face = { inner = "48.9 mm", outer = "61.6 mm" }
thickness = "1 um"
coning = "1 um"
waves = [ { count = 2, amplitude = "0.1 um" } ]
"#;
    let model = good("film", text);
    let gap = model.gap.unwrap();
    assert!((gap.inner_m - 1e-6).abs() < 1e-18 && (gap.outer_m - 2e-6).abs() < 1e-18 && gap.features.len() == 1);
    assert!(model.rotating_ring.parts.is_empty() && model.rotating_ring.roughness_rq_m == 0.0);
    assert!((model.duties[0].low_pressure_pa - 101_325.0).abs() < 1e-9);
}

#[test]
fn everything_else_that_a_case_can_say() {
    let text = CASES[0].1.replacen(
        "roughness = \"Ra 0.03 um\"",
        r#"roughness = "Ra 0.03 um"
fillet = "0.4 mm"
stress_free_temperature = "25 degC"
face_heat = "100 W"
edges = [
  { edge = "bore", coefficient = "0 W/(m2 K)", wetted_by = "dry" },
  { r = ["30 mm", "34 mm"], z = ["0 mm", "6 mm"], coefficient = { value = "9000 W/(m2 K)", hand = true }, temperature = "40 degC", pressure = "3 bar(a)" },
]"#,
        1,
    );
    let text =
        text.replacen("hours_per_year = 7800", "hours_per_year = 7800\nobserved = { leakage = \"4 mL/h\", torque = \"0.9 N m\" }", 1)
            + "\n[tolerances]\nspring_force = \"10 N\"\n[switches]\nflow_factor = false\ncavitation_pressure = \"5 kPa(a)\"\n";
    let model = good("all", &text);
    let ring = &model.stationary_ring;
    assert_eq!(ring.edges.len(), 2);
    assert_eq!((ring.edges[0].edge, ring.edges[0].wetted_by), (EdgeSelector::Bore, Some(Wetting::Dry)));
    assert_eq!((ring.edges[1].coefficient_w_per_m2_k, ring.edges[1].pressure_pa), (Some(9000.0), Some(3e5)));
    assert_eq!((ring.face_load.heat_w, ring.fillet_radius_m, ring.stress_free_temperature_k), (Some(100.0), Some(0.4e-3), 298.15));
    assert!(!model.switches.flow_factor && model.switches.cavitation_pressure_pa == Some(5e3));
    assert!((model.duties[2].observed.leakage_m3_per_s.unwrap() - 4e-6 / 3600.0).abs() < 1e-15);
    for code in ["not-used.tolerances", "hand.coefficient", "default.ambient_pressure"] {
        assert!(model.notices.iter().any(|notice| notice.code == code), "{code}");
    }
}

#[test]
fn a_material_of_ones_own() {
    let text = CASES[0].1.replacen("\"silicon carbide, sintered\"", "\"certified carbide\"", 1)
        + "\n[[material]]\nname = \"certified carbide\"\nlike = \"silicon carbide, sintered\"\nconductivity = \"98 W/(m K)\"\n";
    let own = good("own", &text);
    let library = good("library", CASES[0].1);
    let (own_face, face) = (&own.stationary_ring.parts[0].material, &library.stationary_ring.parts[0].material);
    assert_eq!((own_face.name.as_str(), own_face.conductivity.value), ("certified carbide", 98.0));
    assert_eq!(own_face.youngs_modulus, face.youngs_modulus);
    assert_eq!(own.contact.boundary_friction, library.contact.boundary_friction, "the pair is that of the material it is like");
}

#[test]
fn fluids_of_ones_own() {
    let oil = CASES[0].1.replacen(
        "name = \"sea water, salinity 70 g/kg\"",
        "[fluid.custom]\nname = \"gear oil\"\ndensity = \"890 kg/m3\"\nviscosity = [ { at = \"40 degC\", value = \"68 mm2/s\" }, { at = \"100 degC\", value = \"8.5 cSt\" } ]\nrange = [\"0 degC\", \"120 degC\"]",
        1,
    );
    let model = good("oil", &oil.replace("[fluid]\n", ""));
    let state = model.fluid.at_pressure_temperature(1e5, 313.15).unwrap();
    // 68 mm2/s times the density at 40 degC, 890 (1 - 0.0007 x 20)
    assert!((state.viscosity_pa_s / (68e-6 * 890.0 * (1.0 - 0.014)) - 1.0).abs() < 1e-6, "{}", state.viscosity_pa_s);
    for code in ["default.viscosity_law", "default.vapour_pressure", "default.conductivity"] {
        assert!(model.notices.iter().any(|notice| notice.code == code), "{code}");
    }
    let liquid = CASES[4].1.replacen("[fluid]\nname = \"water\"", "[liquid]\ndensity = \"1000 kg/m3\"\nviscosity = \"1 cP\"", 1);
    let model = self::model(&liquid).unwrap();
    let state = model.fluid.at_pressure_temperature(1e6, 350.0).unwrap();
    assert!((state.viscosity_pa_s - 1e-3).abs() < 1e-15 && (state.density_kg_per_m3 - 1000.0).abs() < 1e-9);
    let gas = CASES[4].1.replacen("[fluid]\nname = \"water\"", "[gas]\nmolar_mass = \"28.96 g/mol\"\nviscosity = \"18 uPa s\"", 1);
    let model = self::model(&gas).unwrap();
    let state = model.fluid.at_pressure_temperature(1e6, 350.0).unwrap();
    assert!((state.viscosity_pa_s - 18e-6).abs() < 1e-18);
    assert!((state.density_kg_per_m3 - 1e6 * 28.96e-3 / (8.314_462_618_153_24 * 350.0)).abs() < 1e-9);
    assert!((state.isobaric_heat_capacity_j_per_kg_k - 3.5 * 8.314_462_618_153_24 / 28.96e-3).abs() < 1e-9);
    assert!(model.notices.iter().any(|notice| notice.code == "default.specific_heat"));
}

#[test]
fn keys_and_schema_come_from_one_table() {
    let schema = case::schema();
    assert_eq!(schema, case::schema());
    let top = schema.find("\"halfmicron\"").unwrap();
    assert!(top < schema.find("\"rotating_ring\"").unwrap(), "the schema keeps the order of the table");
    let list: String = case::keys::key_list().iter().map(|row| format!("{}\n", row.join(" | "))).collect();
    insta::assert_snapshot!("keys", list);
    insta::assert_snapshot!("schema", schema);
}

/// The brine booster with textures.
fn textured(textures: &str) -> halfmicron::model::Model {
    good("textured", &format!("{}\n{textures}", CASES[0].1))
}

#[test]
fn grooves_pump_away_from_the_edge_at_which_they_are_open() {
    let grooves = "[[texture]]\non = \"rotating\"\nkind = \"spiral grooves\"\ncount = 12\nangle = \"15 deg\"\ndepth = \"6 um\"\n";
    let pumps_outward = |diameters: &str| match textured(&format!("{grooves}{diameters}")).textures[0].form {
        TextureForm::SpiralGrooves { pumps_outward, angle_rad, grooves } => {
            assert!((angle_rad.to_degrees() - 15.0).abs() < 1e-12 && grooves.width_ratio == 0.5 && grooves.count == 12);
            pumps_outward
        }
        other => panic!("{other:?}"),
    };
    assert!(!pumps_outward("inner = \"55 mm\"\nouter = \"61.6 mm\""));
    assert!(pumps_outward("inner = \"48.9 mm\"\nouter = \"55 mm\""));
    assert!(pumps_outward("inner = \"55 mm\"\nouter = \"61.6 mm\"\nsense = \"outward\""));
}

#[test]
fn the_stem_of_a_t_opens_to_the_edge() {
    let t = "[[texture]]\non = \"stationary\"\nkind = \"T grooves\"\ncount = 8\ndepth = \"5 um\"\n";
    let bar = |diameters: &str| match textured(&format!("{t}{diameters}")).textures[0].form {
        TextureForm::TGrooves { bar_radius_m, bar_inside, stem_width_ratio, .. } => {
            assert!((stem_width_ratio - 1.0 / 6.0).abs() < 1e-12);
            (bar_radius_m, bar_inside)
        }
        other => panic!("{other:?}"),
    };
    let (radius, inside) = bar("inner = \"55 mm\"\nouter = \"61.6 mm\"\nbar = \"1 mm\"");
    assert!(inside && (radius - 28.5e-3).abs() < 1e-12);
    let (radius, inside) = bar("inner = \"48.9 mm\"\nouter = \"55 mm\"\nbar = \"1 mm\"");
    assert!(!inside && (radius - 26.5e-3).abs() < 1e-12);
}

#[test]
fn a_taper_opens_toward_the_sealed_side_and_textures_take_their_defaults() {
    let taper = "[[texture]]\non = \"rotating\"\nkind = \"taper\"\ndepth = \"2 um\"\n";
    let model = textured(taper);
    let form = model.textures[0].form;
    assert!(form.is_axisymmetric() && !halfmicron::model::is_two_dimensional(&model.textures));
    assert_eq!((form.taper_m(model.band.inner_radius_m), form.taper_m(model.band.outer_radius_m)), (0.0, 2e-6));
    let dimples = "[[texture]]\non = \"stationary\"\nkind = \"dimples\"\ncount = 60\nradius = \"0.1 mm\"\ndepth = \"5 um\"\n";
    let model = textured(dimples);
    let TextureForm::Dimples { rows: 1, shape: DimpleShape::SphericalCap, radii_m, .. } = model.textures[0].form else { panic!() };
    assert_eq!(radii_m, [model.band.inner_radius_m, model.band.outer_radius_m]);
    assert!(model.notices.iter().any(|notice| notice.code == "default.rows"));
    let through = "[[texture]]\non = \"rotating\"\nkind = \"radial grooves\"\ncount = 8\ndepth = \"5 um\"\ninner = \"48.9 mm\"\nouter = \"61.6 mm\"\n";
    assert!(textured(through).notices.iter().any(|notice| notice.code == "texture.no-dam"));
}
