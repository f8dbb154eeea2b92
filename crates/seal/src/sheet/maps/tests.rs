use std::sync::Arc;

use super::*;
use crate::model::{Grooves, Texture, TextureForm};
use crate::rules::testing::Bench;

/// Three layers, four columns, spiral lines.
fn field() -> FilmField {
    FilmField {
        radius_m: vec![60e-3, 65e-3, 70e-3, 78e-3],
        angle_rad: [0.0, 4.0, 12.0, 20.0, 30.0].map(f64::to_radians).to_vec(),
        shift_rad: [0.0, 0.0, 10.0, 30.0].map(f64::to_radians).to_vec(),
        sectors: 12,
        pressure_pa: (0..16).map(|k| 1e5 * f64::from(k)).collect(),
        fill: (0..16).map(|k| if k == 5 { 0.25 } else { 1.0 }).collect(),
        gap_m: (0..12).map(|k| if k % 4 < 2 { 3e-6 } else { 9e-6 }).collect(),
        cavitated_share: 0.0125,
        greatest_pressure_pa: 1.5e6,
        cavitation_pressure_pa: Some(2e3),
    }
}

fn bench(textured: bool) -> Bench {
    let mut bench = Bench::booster();
    if textured {
        let grooves = Grooves { count: 12, depth_m: 6e-6, radii_m: [65e-3, 78e-3], width_ratio: 0.4 };
        bench.model.textures =
            vec![Texture { on: RingRole::Rotating, form: TextureForm::SpiralGrooves { grooves, angle_rad: 0.26, pumps_outward: false } }];
        bench.equilibrium_mut().film_field = Some(Arc::new(field()));
    }
    bench
}

fn maps(textured: bool) -> FilmMaps {
    let bench = bench(textured);
    film_maps(&bench.model, &bench.outcome.duties[0], UnitSet::Si).expect("a film")
}

#[test]
fn a_textured_film_is_told_in_the_units_of_the_reader() {
    let maps = maps(true);
    assert!(!maps.axisymmetric && maps.on.as_deref() == Some("rotating") && maps.sectors == 12);
    assert_eq!((&maps.radius[..], &maps.angle_deg[..]), (&[60.0, 65.0, 70.0, 78.0][..], &[0.0, 4.0, 12.0, 20.0, 30.0][..]));
    let keys: Vec<&str> = maps.maps.iter().map(|map| map.key.as_str()).collect();
    assert_eq!(keys, ["pressure", "gap", "cavitated"]);
    assert_eq!(maps.maps[0].values[15], 1.5);
    assert_eq!((maps.maps[1].low, maps.maps[1].high, maps.maps[1].unit.as_str()), (3.0, 9.0, "um"));
    assert_eq!((maps.maps[2].high, maps.maps[2].values[5]), (75.0, 75.0));
    assert_eq!(maps.face.len(), 1, "of one sector");
    let number =
        |label: &str| maps.numbers.iter().find(|number| number.label == label).map(|number| format!("{} {}", number.value, number.unit));
    assert_eq!(number("least gap").as_deref(), Some("0.47 um"), "as the sheet has it");
    assert_eq!(number("cavitated share of the face").as_deref(), Some("1.25 %"));
    assert_eq!(number("greatest pressure").as_deref(), Some("1.500 MPa(a)"));
}

#[test]
fn a_plain_film_is_its_profile_all_the_way_round() {
    let maps = maps(false);
    assert!(maps.axisymmetric && maps.on.is_none() && maps.sectors == 1);
    assert!(maps.notes[0].contains("axisymmetric"));
    let count = maps.radius.len();
    for map in &maps.maps {
        assert_eq!(map.values.len(), count * EVEN_ANGLES);
        assert!(map.values.chunks(EVEN_ANGLES).all(|circle| circle.iter().all(|value| *value == circle[0])));
    }
    let cut = film_cut(&maps, maps.radius[1], 77.0).expect("on the band");
    assert!(cut.over_angle.is_empty() && cut.over_radius.len() == maps.maps.len());
}

#[test]
fn plain_faces_are_told_to_be_one_of_two_bounds() {
    let mut bench = bench(false);
    bench.equilibrium_mut().with_wave = Some(WavyFilm {
        count: 2,
        peak_to_valley_m: 0.29e-6,
        minimum_film_m: 0.62e-6,
        mean_film_m: 0.9e-6,
        leakage_kg_per_s: 2e-6,
        leakage_m3_per_s: 2e-9,
        torque_n_m: 0.3,
        power_w: 90.0,
        contact_share: 0.0,
        face_temperature_max_k: 320.0,
        wear_rate_m_per_s: None,
        cavitated_share: 0.123,
    });
    let maps = film_maps(&bench.model, &bench.outcome.duties[0], UnitSet::Si).expect("a film");
    let said = "With a rigid wave, 2 a turn and 0.29 um from valley to peak, the least gap would be 0.62 um and 12 % of the face cavitated";
    assert!(maps.notes.iter().any(|note| note.contains(said)), "{:?}", maps.notes);
}

#[test]
fn a_textured_case_without_its_field_shows_nothing() {
    let mut bench = bench(true);
    bench.equilibrium_mut().film_field = None;
    assert_eq!(film_maps(&bench.model, &bench.outcome.duties[0], UnitSet::Si), None);
    bench.outcome.duties[0].chosen = None;
    assert_eq!(film_maps(&bench.model, &bench.outcome.duties[0], UnitSet::Si), None);
}

#[test]
fn cuts_read_what_stands_at_their_place() {
    let maps = maps(true);
    let reading = |radius: f64, angle: f64, map: usize| film_cut(&maps, radius, angle).expect("on the band").readings[map].value.clone();
    // Nodes, and half way between two of them; the circle at 70 mm is turned by 10 degrees; sectors repeat.
    assert_eq!(reading(65.0, 4.0, 0), "0.5000");
    assert_eq!(reading(65.0, 8.0, 0), "0.5500");
    assert_eq!(reading(70.0, 14.0, 0), "0.9000");
    assert_eq!(reading(70.0, 14.0 + 90.0, 0), "0.9000");
    assert_eq!(reading(70.0, 14.0 - 360.0, 0), "0.9000");
    // Between the last column and the first of the next sector.
    assert_eq!(reading(60.0, 25.0, 0), "0.1500");
    // Cells are even: at 67.5 mm the lines are turned by 5 degrees.
    assert_eq!([reading(67.5, 16.9, 1), reading(67.5, 17.1, 1)], ["3.000", "9.000"]);
    assert_eq!(reading(65.0, 4.0, 2), "75.00");
    assert_eq!(film_cut(&maps, 59.0, 0.0), None);
    assert_eq!(film_cut(&maps, 65.0, f64::NAN), None);
    let cut = film_cut(&maps, 67.5, 17.0).expect("on the band");
    let over = &cut.over_angle[1].series[0];
    let steps = over.up.windows(2).filter(|pair| pair[0] != pair[1]).count();
    assert_eq!(steps, 2, "one groove in one sector");
    let pressure = &cut.over_angle[0];
    assert!(pressure.up.low >= 0.0 && pressure.up.high < maps.maps[0].high, "a scale of its own");
    assert!(pressure.series[0].up.iter().flatten().all(|value| (pressure.up.low..=pressure.up.high).contains(value)));
    assert!(cut.over_radius.iter().all(|chart| chart.series[0].up.windows(2).all(|pair| pair[0] < pair[1])));
}
