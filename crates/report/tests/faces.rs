//! Faces along the shaft.

use std::f64::consts::TAU;

use halfmicron::film::{FaceLine, face_lines};
use halfmicron::model::{DimpleShape, Grooves, Model, RingRole, Texture, TextureForm};
use halfmicron::sheet::UnitSet;
use halfmicron_report::drawing::{Drawing, Item, Layer, SHEET_MM, Shape, draw_face};

use crate::drawings::{CASES, meet, model};

fn grooves(model: &Model, count: u32) -> Grooves {
    let band = &model.band;
    let at = |share: f64| band.inner_radius_m + share * band.width_m();
    Grooves { count, depth_m: 5e-6, radii_m: [at(0.45), at(1.0)], width_ratio: 0.4 }
}

/// Every form of texture on the faces of a case.
fn forms(model: &Model) -> Vec<TextureForm> {
    let cut = |count| grooves(model, count);
    let [inner, outer] = cut(1).radii_m;
    let width = outer - inner;
    vec![
        TextureForm::SpiralGrooves { grooves: cut(12), angle_rad: 15f64.to_radians(), pumps_outward: false },
        TextureForm::SpiralGrooves { grooves: cut(7), angle_rad: 4f64.to_radians(), pumps_outward: true },
        TextureForm::RadialGrooves(cut(6)),
        TextureForm::Pads(cut(3)),
        TextureForm::TGrooves { grooves: cut(8), stem_width_ratio: 0.15, bar_radius_m: inner + 0.3 * width, bar_inside: true },
        TextureForm::Dimples {
            count: 60,
            rows: 2,
            radius_m: 0.15 * width,
            depth_m: 5e-6,
            shape: DimpleShape::SphericalCap,
            radii_m: [inner, outer],
        },
        TextureForm::Waves { count: 4, amplitude_m: 2e-7 },
        TextureForm::Tilt { angle_rad: 1e-5 },
        TextureForm::Taper { depth_m: 1e-6, radii_m: [inner, outer], deep_outside: true },
    ]
}

fn textured(name: &str, on: RingRole) -> Vec<(String, Model)> {
    let plain = model(name);
    let one = |form: &TextureForm| {
        let mut model = plain.clone();
        model.textures = vec![Texture { on, form: *form }];
        (format!("{name}, {} on {on:?}", form.words()), model)
    };
    forms(&plain).iter().map(one).collect()
}

fn all() -> Vec<(String, Model)> {
    let mut all: Vec<(String, Model)> = CASES
        .iter()
        .chain(&["ammonia-compressor", "brine-booster-waves", "chlorine-agitator-tilted"])
        .map(|name| ((*name).to_owned(), model(name)))
        .collect();
    all.extend(textured("brine-booster", RingRole::Rotating));
    all.extend(textured("ammonia-compressor", RingRole::Stationary));
    all.extend(textured("chlorine-agitator", RingRole::Rotating));
    all
}

fn drawn(model: &Model) -> Drawing {
    draw_face(model, UnitSet::Si).expect("a drawing")
}

/// Everything stays on the sheet, and no text lies over another or over a texture.
#[test]
fn faces_stay_on_the_sheet_and_texts_apart() {
    for (name, model) in all() {
        for units in [UnitSet::Si, UnitSet::Us] {
            let drawing = draw_face(&model, units).expect("a drawing");
            let texts: Vec<(&str, [[f64; 2]; 2])> = drawing
                .items
                .iter()
                .filter_map(|item| match &item.shape {
                    Shape::Text { content, .. } => Some((content.as_str(), item.shape.bounds())),
                    _ => None,
                })
                .collect();
            assert!(texts.len() > 8, "{name}");
            for (k, (one, bounds)) in texts.iter().enumerate() {
                let other = texts[k + 1..].iter().find(|(_, other)| meet(bounds, other));
                assert!(other.is_none(), "{name}: {one} over {other:?}");
            }
            for item in &drawing.items {
                let bounds = item.shape.bounds();
                let inside = bounds[0].iter().all(|v| *v > 2.0) && (0..2).all(|i| bounds[1][i] < SHEET_MM[i] - 2.0);
                assert!(inside, "{name}: {item:?}");
                if item.layer == Layer::Texture {
                    let over = texts.iter().find(|(_, text)| meet(text, &bounds));
                    assert!(over.is_none(), "{name}: {over:?} over the face");
                }
            }
        }
    }
}

/// Points of the face by its frame: radius, and angle in the sense of the shaft.
fn on_face(drawing: &Drawing, role: RingRole, [x, y]: [f64; 2]) -> [f64; 2] {
    let scale = drawing.frame.scale.mm_per_m();
    let [dx, dy] = [(x - drawing.frame.origin_mm[0]) / scale, (y - drawing.frame.origin_mm[1]) / scale];
    let hand = if role == RingRole::Rotating { 1.0 } else { -1.0 };
    [dx.hypot(dy), (-hand * dx).atan2(dy)]
}

/// What is drawn of the whole face are the edges of the textures, every one of them, at its place.
#[test]
fn edges_drawn_are_those_of_the_film() {
    for (name, model) in
        textured("ammonia-compressor", RingRole::Rotating).into_iter().chain(textured("brine-booster", RingRole::Stationary))
    {
        let drawing = drawn(&model);
        let role = model.textures[0].on;
        let expected: Vec<Vec<[f64; 2]>> = face_lines(&model.textures[0])
            .into_iter()
            .filter_map(|line| match line {
                FaceLine::Cut(points) => Some(points),
                _ => None,
            })
            .collect();
        let found: Vec<&Vec<[f64; 2]>> = drawing
            .items
            .iter()
            .filter_map(|item| match &item.shape {
                Shape::Line { points, closed: true, .. } if item.layer == Layer::Texture && points.len() != 360 => Some(points),
                _ => None,
            })
            .collect();
        assert_eq!(found.len(), expected.len(), "{name}");
        for (found, expected) in found.iter().zip(&expected) {
            assert_eq!(found.len(), expected.len());
            for (point, [radius, angle]) in found.iter().zip(expected) {
                let [r, a] = on_face(&drawing, role, *point);
                let turned = (a - angle + 0.5 * TAU).rem_euclid(TAU) - 0.5 * TAU;
                assert!((r - radius).abs() < 1e-9 && (r * turned).abs() < 1e-9, "{name}: {r} {a} for {radius} {angle}");
            }
        }
        let rings = drawing.items.iter().filter(|item| matches!(item.shape, Shape::Ring { .. })).count();
        let dimples = face_lines(&model.textures[0]).iter().filter(|line| matches!(line, FaceLine::Dimple { .. })).count();
        assert_eq!(rings, dimples, "{name}");
    }
}

/// The sector shows what it is said to show, at its scale: its points lie on the edges of the film.
#[test]
fn the_sector_is_the_same_face_larger() {
    let model = model("ammonia-compressor");
    let drawing = drawn(&model);
    let titles: Vec<&str> = drawing
        .items
        .iter()
        .filter_map(|item| match &item.shape {
            Shape::Text { content, .. } if item.layer == Layer::Detail => Some(content.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(titles, ["one period (2 : 1)"]);
    // Both edges of the band and the grooves' inner end, at twice their size about one centre.
    let arcs: Vec<&Vec<[f64; 2]>> = drawing
        .items
        .iter()
        .filter_map(|item| match &item.shape {
            Shape::Line { points, .. } if item.layer == Layer::Detail && points.len() > 8 => Some(points),
            _ => None,
        })
        .collect();
    let top = |points: &Vec<[f64; 2]>| points.iter().fold(f64::NEG_INFINITY, |most, p| most.max(p[1]));
    let mut heights: Vec<f64> = arcs.iter().map(|points| top(points)).collect();
    heights.sort_by(f64::total_cmp);
    let edge = heights[heights.len() - 1];
    for diameter in [156e-3, 126e-3, 118e-3, 115e-3] {
        let below = edge - 1000.0 * (160e-3 - diameter);
        assert!(heights.iter().any(|height| (height - below).abs() < 0.02), "no arc of {diameter} at {below} among {heights:?}");
    }
}

/// A face of very many dimples is drawn as the band that they fill, and each of them in the sector.
#[test]
fn very_many_dimples_are_shown_by_their_extent() {
    let mut model = model("brine-booster");
    let radii_m = grooves(&model, 1).radii_m;
    let pitch = (radii_m[1] - radii_m[0]) / 40.0;
    let form =
        TextureForm::Dimples { count: 900, rows: 40, radius_m: 0.3 * pitch, depth_m: 1e-6, shape: DimpleShape::SphericalCap, radii_m };
    model.textures = vec![Texture { on: RingRole::Stationary, form }];
    let drawing = drawn(&model);
    assert!(drawing.items.iter().all(|item| !matches!(item.shape, Shape::Ring { .. })));
    let svg = drawing.svg();
    assert!(svg.contains("too fine for the whole face") && svg.contains("36000 dimples") && svg.len() < 500_000, "{} bytes", svg.len());
    let pieces = drawing.items.iter().filter(|item| match &item.shape {
        Shape::Line { closed: false, points, .. } => item.layer == Layer::Detail && points.len() > 20,
        _ => false,
    });
    assert!(pieces.count() >= 40, "one of every row in the sector");
}

#[test]
fn words_say_what_the_case_says() {
    let svg = drawn(&model("ammonia-compressor")).svg();
    let said = [
        "12 spiral grooves in the rotating",
        "6 um deep",
        "15 deg to the circumference",
        "pumping inward",
        "\u{d8}137 grooves begin",
        "\u{d8}156 band outside, grooves end",
        "\u{d8}126 balance",
        "running band 19 mm wide",
    ];
    for words in said {
        assert!(svg.contains(words), "no {words}");
    }
    assert!(!svg.contains("NaN") && !svg.contains("inf\""));
    let plain = drawn(&model("brine-booster")).svg();
    assert!(plain.contains("plain face") && plain.contains("\u{d8}61.6 band outside") && plain.contains("face \u{d8}47.4 to \u{d8}67"));
}

/// Seen from its own side a standing ring turns the other way round: the same grooves are each other's mirror images.
#[test]
fn the_hand_follows_the_ring_and_its_arrow() {
    let mut model = model("ammonia-compressor");
    let arrow = |drawing: &Drawing| {
        let points = drawing.items.iter().find_map(|item| match &item.shape {
            Shape::Line { points, .. } if item.layer == Layer::Labels && points.len() == 25 => Some(points.clone()),
            _ => None,
        });
        let points = points.expect("an arrow");
        points[24][0] - points[0][0]
    };
    assert!(arrow(&drawn(&model)) < 0.0, "anticlockwise");
    model.textures[0].on = RingRole::Stationary;
    assert!(arrow(&drawn(&model)) > 0.0, "clockwise");
}

/// An independent reader finds the grooves closed and the dimples round, at their true size and about the origin.
#[test]
fn dxf_of_a_face_reads_back_with_true_lengths() {
    use dxf::entities::EntityType;
    for (units, per_metre) in [(UnitSet::Si, 1e3), (UnitSet::Us, 1e3 / 25.4)] {
        for (name, model) in textured("brine-booster", RingRole::Rotating) {
            let drawing = draw_face(&model, units).expect("a drawing");
            let read = dxf::Drawing::load(&mut drawing.dxf().as_bytes()).expect("a DXF file");
            let lines = face_lines(&model.textures[0]);
            let mut cuts = lines.iter().filter_map(|line| match line {
                FaceLine::Cut(points) => Some(points),
                _ => None,
            });
            let mut dimples = lines.iter().filter_map(|line| match line {
                FaceLine::Dimple { centre, radius_m } => Some((centre, radius_m)),
                _ => None,
            });
            for entity in read.entities().filter(|entity| entity.common.layer == "TEXTURE") {
                match &entity.specific {
                    EntityType::Polyline(line) if line.vertices().count() != 360 => {
                        let Some(points) = cuts.next() else { continue };
                        assert!(line.is_closed(), "{name}");
                        for (vertex, [radius, _]) in line.vertices().zip(points) {
                            let found = vertex.location.x.hypot(vertex.location.y);
                            assert!((found - per_metre * radius).abs() < 3e-6, "{name}: {found} for {radius}");
                        }
                    }
                    EntityType::Circle(circle) => {
                        let (centre, radius) = dimples.next().expect("a dimple");
                        assert!((circle.radius - per_metre * radius).abs() < 2e-6, "{name}");
                        assert!((circle.center.x.hypot(circle.center.y) - per_metre * centre[0]).abs() < 3e-6, "{name}");
                    }
                    EntityType::Polyline(_) | EntityType::Line(_) => {}
                    other => panic!("{name}: {other:?} on the face"),
                }
            }
            assert!(cuts.next().is_none() && dimples.next().is_none(), "{name}: everything is in the file");
            let texts = read.entities().filter(|entity| matches!(entity.specific, EntityType::Text(_))).count();
            let drawn = drawing.items.iter().filter(|item| matches!(item.shape, Shape::Text { .. })).count();
            assert_eq!(texts, drawn, "{name}: every text is text");
            assert!(drawing.items.iter().all(|Item { shape, .. }| shape.bounds().iter().flatten().all(|v| v.is_finite())));
        }
    }
}
