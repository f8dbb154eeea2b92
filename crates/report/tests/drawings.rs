#![allow(clippy::disallowed_methods, reason = "tests read the shipped cases")]

use halfmicron::model::{Model, Ring, RingRole};
use halfmicron::outcome::DutyOutcome;
use halfmicron::sheet::UnitSet;
use halfmicron_report::drawing::{Drawing, DrawingError, Exaggeration, Item, Layer, SHEET_MM, Shape, Wanted, draw};

pub const CASES: [&str; 9] = [
    "brine-booster",
    "caustic-transfer",
    "chlorine-agitator",
    "feed-pump",
    "nitrogen-blower",
    "nitrogen-pump",
    "thermal-oil",
    "thickener-underflow",
    "vacuum-condensate",
];

fn text(name: &str) -> String {
    std::fs::read_to_string(format!("{}/../../cases/{name}.toml", env!("CARGO_MANIFEST_DIR"))).expect("a shipped case")
}

pub fn model(name: &str) -> Model {
    halfmicron::case::parse(&text(name)).expect("a case").model().expect("a model")
}

fn plain(name: &str) -> Drawing {
    draw(&model(name), None, &Wanted::default()).expect("a drawing")
}

pub fn solved(model: &Model, duty: &str) -> DutyOutcome {
    halfmicron::solve(model, &[duty.to_owned()]).expect("solved").duties.remove(0)
}

fn outlines(drawing: &Drawing, layer: Layer) -> Vec<&Vec<[f64; 2]>> {
    let closed = |item: &'_ &Item| item.layer == layer && matches!(item.shape, Shape::Line { closed: true, .. });
    let points = |item| match item {
        &Item { shape: Shape::Line { ref points, .. }, .. } => Some(points),
        _ => None,
    };
    drawing.items.iter().filter(closed).filter_map(points).collect()
}

#[test]
fn outlines_are_the_case_to_scale() {
    for name in CASES {
        let (model, drawing) = (model(name), plain(name));
        for (ring, layer) in [(&model.rotating_ring, Layer::RotatingRing), (&model.stationary_ring, Layer::StationaryRing)] {
            let drawn: Vec<[f64; 2]> =
                outlines(&drawing, layer).into_iter().flatten().map(|p| drawing.frame.on_ring(ring.role, *p)).collect();
            let known = |p: &[f64; 2]| corners(ring).any(|c| (c[0] - p[0]).hypot(c[1] - p[1]) < 1e-9);
            assert!(drawn.len() >= 4 && drawn.iter().all(known), "{name}: {drawn:?}");
            for axis in 0..2 {
                let range = |points: &mut dyn Iterator<Item = [f64; 2]>| {
                    points.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p[axis]), high.max(p[axis])))
                };
                let (drawn, case) = (range(&mut drawn.iter().copied()), range(&mut corners(ring)));
                assert!((drawn.0 - case.0).abs() < 1e-9 && (drawn.1 - case.1).abs() < 1e-9, "{name}: {drawn:?} {case:?}");
            }
        }
    }
}

fn corners(ring: &Ring) -> impl Iterator<Item = [f64; 2]> {
    ring.parts.iter().flat_map(|part| part.corners_m)
}

/// Every text lies on the sheet and over no other text, and over no corner of a ring.
#[test]
fn labels_do_not_overlap_and_stay_on_the_sheet() {
    let mut drawings: Vec<(String, Drawing)> = CASES.iter().map(|name| ((*name).to_owned(), plain(name))).collect();
    let us = Wanted { units: UnitSet::Us, ..Wanted::default() };
    drawings.extend(CASES.iter().map(|name| (format!("{name}, us"), draw(&model(name), None, &us).expect("a drawing"))));
    for name in ["brine-booster", "nitrogen-pump"] {
        drawings.push((format!("{name}, hot"), hot(name)));
    }
    for (name, drawing) in drawings {
        let texts: Vec<(&str, [[f64; 2]; 2])> = drawing
            .items
            .iter()
            .filter_map(|item| match &item.shape {
                Shape::Text { content, .. } => Some((content.as_str(), item.shape.bounds())),
                _ => None,
            })
            .collect();
        assert!(texts.len() > 10, "{name}");
        for (k, (one, bounds)) in texts.iter().enumerate() {
            let inside = bounds[0].iter().all(|v| *v > 2.0) && (0..2).all(|i| bounds[1][i] < SHEET_MM[i] - 2.0);
            assert!(inside, "{name}: {one} leaves the sheet: {bounds:?}");
            for (other, others) in &texts[k + 1..] {
                assert!(!meet(bounds, others), "{name}: {one} over {other}");
            }
            for outline in outlines(&drawing, Layer::RotatingRing).into_iter().chain(outlines(&drawing, Layer::StationaryRing)) {
                let crossed = outline.iter().any(|p| (0..2).all(|i| p[i] > bounds[0][i] && p[i] < bounds[1][i]));
                assert!(!crossed, "{name}: {one} lies over a ring");
            }
        }
        for item in &drawing.items {
            let bounds = item.shape.bounds();
            assert!(bounds[0].iter().all(|v| *v > 2.0) && (0..2).all(|i| bounds[1][i] < SHEET_MM[i] - 2.0), "{name}: {item:?}");
        }
    }
}

/// No line runs through a text, but for the extension lines that dimensions of other diameters must cross.
#[test]
fn lines_do_not_run_through_texts() {
    let mut drawings: Vec<(&str, Drawing)> = CASES.iter().map(|name| (*name, plain(name))).collect();
    drawings.extend(["brine-booster", "feed-pump", "nitrogen-pump"].map(|name| (name, hot(name))));
    for (name, drawing) in drawings {
        let lines = drawing.items.iter().filter_map(|item| match &item.shape {
            Shape::Line { points, closed, .. } => Some((item.layer, points, *closed)),
            _ => None,
        });
        let segments: Vec<(Layer, [f64; 2], [f64; 2])> = lines
            .flat_map(|(layer, points, closed)| {
                let count = if closed { points.len() } else { points.len() - 1 };
                (0..count).map(move |i| (layer, points[i], points[(i + 1) % points.len()]))
            })
            .collect();
        for item in &drawing.items {
            let Shape::Text { content, .. } = &item.shape else { continue };
            let [low, high] = item.shape.bounds();
            for (layer, a, b) in &segments {
                let through = (0..=200).map(|k| f64::from(k) / 200.0).any(|share| {
                    (0..2).all(|i| {
                        let v = a[i] + share * (b[i] - a[i]);
                        v > low[i] + 0.3 && v < high[i] - 0.3
                    })
                });
                assert!(!through, "{name}: {layer:?} from {a:?} to {b:?} runs through {content}");
            }
        }
    }
}

/// The detail shows the same section at its own scale: both faces meet on its plane, and the film is as wide as its scale says.
#[test]
fn the_detail_is_to_its_scale() {
    let model = model("brine-booster");
    let words = |drawing: &Drawing| -> Vec<String> {
        let text = |item: &Item| match &item.shape {
            Shape::Text { content, .. } if item.layer == Layer::Detail => Some(content.clone()),
            _ => None,
        };
        drawing.items.iter().filter_map(text).collect()
    };
    let drawing = plain("brine-booster");
    let said = words(&drawing);
    let [paper, object] = said
        .iter()
        .find_map(|words| {
            let (paper, object) = words.strip_prefix("A (")?.strip_suffix(')')?.split_once(" : ")?;
            Some([paper, object].map(|v| v.parse::<f64>().expect("a number")))
        })
        .expect("a scale");
    let scale = 1e3 * paper / object;
    // edges of the face of the narrow ring: two lines along the shaft, apart by the width of the band
    let heights: Vec<f64> = drawing
        .items
        .iter()
        .filter(|item| item.layer == Layer::Detail)
        .filter_map(|item| match &item.shape {
            Shape::Line { points, stroke: halfmicron_report::drawing::Stroke::Visible, .. } => Some(points),
            _ => None,
        })
        .flat_map(|points| {
            points.windows(2).filter(|pair| (pair[0][1] - pair[1][1]).abs() < 1e-9).map(|pair| pair[0][1]).collect::<Vec<_>>()
        })
        .collect();
    let apart = heights.iter().flat_map(|a| heights.iter().map(move |b| (a - b).abs()));
    let wanted = model.band.width_m() * scale;
    assert!(apart.into_iter().any(|apart| (apart - wanted).abs() < 1e-6), "{wanted} mm among {heights:?}");
    assert!(scale > drawing.frame.scale.mm_per_m());
}

/// A flush inside the faces has an arrow that points at them, and its number in the key.
#[test]
fn a_flush_inside_the_faces_has_its_arrow() {
    let mut model = model("brine-booster");
    model.seal.pressure_side = halfmicron::model::PressureSide::Inside;
    let drawing = draw(&model, None, &Wanted::default()).expect("a drawing");
    let heads = drawing.items.iter().filter(|item| item.layer == Layer::Flush && matches!(item.shape, Shape::Fill { .. })).count();
    assert_eq!(heads, 1);
    let says = |words: &str| drawing.items.iter().any(|item| matches!(&item.shape, Shape::Text { content, .. } if content.contains(words)));
    assert!(says("flush 6 L/min"));
    let low = drawing.items.iter().filter(|item| item.layer == Layer::Flush).map(|item| item.shape.bounds()[1][1]).fold(0.0, f64::max);
    let inner = drawing.frame.on_paper(RingRole::Rotating, [corners(&model.stationary_ring).fold(1.0, |r: f64, c| r.min(c[0])), 0.0]);
    assert!(low < inner[1], "the arrow stays below the rings");
}

pub fn meet(a: &[[f64; 2]; 2], b: &[[f64; 2]; 2]) -> bool {
    (0..2).all(|i| a[0][i] < b[1][i] && b[0][i] < a[1][i])
}

fn hot(name: &str) -> Drawing {
    let model = model(name);
    let duty = solved(&model, &model.duties.iter().find(|duty| duty.name == "normal").unwrap_or(&model.duties[0]).name.clone());
    let wanted = Wanted { temperature: true, deformed: Some(Exaggeration::Automatic), ..Wanted::default() };
    draw(&model, Some(&duty), &wanted).expect("a drawing")
}

/// The film drawn is the gap solved, times factor and scale, at every node of the band.
#[test]
fn the_film_between_deformed_faces_is_the_gap_solved() {
    let model = model("brine-booster");
    let duty = solved(&model, "normal");
    let wanted = Wanted { deformed: Some(Exaggeration::Factor(1000.0)), ..Wanted::default() };
    let drawing = draw(&model, Some(&duty), &wanted).expect("a drawing");
    let film = drawing
        .items
        .iter()
        .find_map(|item| match &item.shape {
            Shape::Fill { polygons, .. } if item.layer == Layer::Film => Some(&polygons[0]),
            _ => None,
        })
        .expect("a film");
    let gap = &duty.equilibria[duty.chosen.expect("chosen")].profiles.gap_m;
    assert_eq!(film.len(), 2 * gap.len());
    for (k, gap) in gap.iter().enumerate() {
        let width = film[k][0] - film[film.len() - 1 - k][0];
        let expected = gap * 1000.0 * drawing.frame.scale.mm_per_m();
        assert!((width - expected).abs() < 1e-6 * expected.max(1.0), "node {k}: {width} mm drawn, {expected} mm by the gap");
    }
    let too_much = Wanted { deformed: Some(Exaggeration::Factor(1e6)), ..Wanted::default() };
    assert!(matches!(draw(&model, Some(&duty), &too_much), Err(DrawingError::Exaggerated { most, .. }) if most >= 1000.0));
    assert!(matches!(draw(&model, None, &wanted), Err(DrawingError::NotSolved { .. })));
}

/// Beyond the band, too, a face is drawn where the solver moved it: every point of the plane of the wider face, to its rim.
#[test]
fn beyond_the_band_the_face_lies_where_it_was_moved() {
    let model = model("feed-pump");
    let duty = solved(&model, "normal");
    let factor = 500.0;
    let wanted = Wanted { deformed: Some(Exaggeration::Factor(factor)), ..Wanted::default() };
    let drawing = draw(&model, Some(&duty), &wanted).expect("a drawing");
    let equilibrium = &duty.equilibria[duty.chosen.expect("chosen")];
    let field = equilibrium.rings.rotating.field.as_ref().expect("a field");
    let half = 0.5 * equilibrium.profiles.gap_m[0];
    let drawn: Vec<[f64; 2]> =
        outlines(&drawing, Layer::RotatingRing).into_iter().flatten().map(|p| drawing.frame.on_ring(RingRole::Rotating, *p)).collect();
    let beyond = |p: &[f64; 2]| p[1].abs() < 1e-9 && p[0] > model.band.outer_radius_m + 1e-6;
    let nodes: Vec<usize> = (0..field.nodes_m.len()).filter(|node| beyond(&field.nodes_m[*node])).collect();
    assert!(nodes.len() > 5);
    for node in nodes {
        let expected = [field.nodes_m[node][0], factor * (half + field.axial_m[node])];
        let found = drawn.iter().any(|p| (p[0] - expected[0]).hypot(p[1] - expected[1]) < 1e-8);
        assert!(found, "{expected:?} is not among {drawn:?}");
    }
}

/// Temperatures drawn cover the sections and their key spans what was solved.
#[test]
fn bands_of_temperature_cover_the_rings() {
    let drawing = hot("nitrogen-pump");
    let area = |polygon: &Vec<[f64; 2]>| {
        let n = polygon.len();
        (0.5 * (0..n).map(|i| polygon[i][0] * polygon[(i + 1) % n][1] - polygon[(i + 1) % n][0] * polygon[i][1]).sum::<f64>()).abs()
    };
    let right_of_key = |polygon: &&Vec<[f64; 2]>| polygon[0][0] < 212.0;
    let filled: f64 = drawing
        .items
        .iter()
        .filter_map(|item| match &item.shape {
            Shape::Fill { polygons, .. } if item.layer == Layer::Temperature => Some(polygons),
            _ => None,
        })
        .flatten()
        .filter(right_of_key)
        .map(area)
        .sum();
    let rings = [RingRole::Rotating, RingRole::Stationary].map(|role| match role {
        RingRole::Rotating => Layer::RotatingRing,
        RingRole::Stationary => Layer::StationaryRing,
    });
    let sections: f64 = rings.into_iter().flat_map(|layer| outlines(&drawing, layer)).map(area).sum();
    assert!((filled / sections - 1.0).abs() < 0.01, "{filled} mm2 of {sections} mm2");
}

#[test]
fn the_same_case_gives_the_same_bytes() {
    let (one, other) = (hot("brine-booster"), hot("brine-booster"));
    assert_eq!(one.svg(), other.svg());
    assert_eq!(one.dxf(), other.dxf());
}

#[test]
fn svg_speaks_to_screen_readers_and_asks_nothing_of_the_network() {
    let svg = plain("brine-booster").svg();
    for words in
        ["<title id=\"title\">Brine booster pump, drive end</title>", "scale 2 : 1", "rotating ring of carbon graphite", "\u{d8}61.6"]
    {
        assert!(svg.contains(words), "no {words}");
    }
    assert_eq!(svg.matches("http").count(), 1, "only the name space");
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
}

/// An independent reader finds the layers, the outlines closed and the true lengths, in the unit of the dimensions.
#[test]
fn dxf_reads_back_with_layers_and_true_lengths() {
    use dxf::entities::EntityType;
    let both = CASES.iter().flat_map(|name| [(name, UnitSet::Si, 1e3), (name, UnitSet::Us, 1e3 / 25.4)]);
    for (name, units, per_metre) in both {
        let model = model(name);
        let drawing = draw(&model, None, &Wanted { units, ..Wanted::default() }).expect("a drawing");
        let read = dxf::Drawing::load(&mut drawing.dxf().as_bytes()).expect("a DXF file");
        let layers: Vec<&str> = read.layers().map(|layer| layer.name.as_str()).collect();
        assert!(Layer::ALL.iter().all(|layer| layers.contains(&layer.name())), "{name}: {layers:?}");
        for (ring, layer, sense) in [(&model.rotating_ring, "ROTATING-RING", 1.0), (&model.stationary_ring, "STATIONARY-RING", -1.0)] {
            let mut count = 0;
            let mut range = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
            for entity in read.entities().filter(|entity| entity.common.layer == layer) {
                let EntityType::Polyline(ref line) = entity.specific else { panic!("{name}: an outline is a polyline") };
                assert!(line.is_closed(), "{name}: an outline is closed");
                count += 1;
                for vertex in line.vertices() {
                    let point = [vertex.location.y, sense * vertex.location.x];
                    for i in 0..2 {
                        range[0][i] = range[0][i].min(point[i]);
                        range[1][i] = range[1][i].max(point[i]);
                    }
                }
            }
            assert!(count >= 1, "{name}");
            for axis in 0..2 {
                let low = corners(ring).fold(f64::INFINITY, |low, c| low.min(per_metre * c[axis]));
                let high = corners(ring).fold(f64::NEG_INFINITY, |high, c| high.max(per_metre * c[axis]));
                assert!((range[0][axis] - low).abs() < 2e-6 && (range[1][axis] - high).abs() < 2e-6, "{name}: {range:?} {low} {high}");
            }
        }
        let texts = read.entities().filter(|entity| matches!(entity.specific, EntityType::Text(_))).count();
        let drawn = drawing.items.iter().filter(|item| matches!(item.shape, Shape::Text { .. })).count();
        assert_eq!(texts, drawn, "{name}: every text is text");
    }
}

#[test]
fn a_small_drawing_line_by_line() {
    // of the numbers of the origin only the words stay: the version changes
    let svg = plain("nitrogen-blower").svg();
    let kept: Vec<&str> = svg.lines().filter(|line| !line.contains(">halfmicron ")).collect();
    insta::assert_snapshot!(kept.join("\n"));
}
