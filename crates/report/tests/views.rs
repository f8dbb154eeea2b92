#![allow(clippy::disallowed_methods, reason = "tests read the shipped cases")]

use halfmicron::model::Model;
use halfmicron::outcome::{DutyOutcome, Equilibrium};
use halfmicron::sheet::UnitSet;
use halfmicron_report::chart::Style;
use halfmicron_report::drawing::{DrawingError, Exaggeration, View, ViewWanted, view};

use crate::drawings::{CASES, model, solved};

const PLAIN: ViewWanted =
    ViewWanted { units: UnitSet::Si, temperature: false, deformed: None, style: Style::Page, size_px: [704.0, 340.0] };
const HOT: ViewWanted = ViewWanted { temperature: true, deformed: Some(Exaggeration::Automatic), ..PLAIN };

/// The duty "normal", or the first that has an equilibrium.
fn normal(model: &Model) -> DutyOutcome {
    let names = ["normal".to_owned()].into_iter().chain(model.duties.iter().map(|duty| duty.name.clone()));
    let known = names.filter(|name| model.duties.iter().any(|duty| duty.name == *name));
    known.map(|name| solved(model, &name)).find(|duty| duty.chosen.is_some()).expect("a solved duty")
}

fn shown(model: &Model, duty: Option<&DutyOutcome>, wanted: &ViewWanted) -> View {
    view(model, duty, wanted).expect("a view")
}

#[test]
fn radii_lie_where_the_view_says() {
    for name in CASES {
        let model = model(name);
        let shown = shown(&model, None, &PLAIN);
        let radius = shown.radius;
        assert!((radius.low_mm - 1e3 * model.band.inner_radius_m).abs() < 1e-9);
        assert!(radius.top_px > 0.0 && radius.bottom_px < shown.height_px, "{name}: {radius:?}");
        assert!(radius.bottom_px - radius.top_px > 0.25 * shown.height_px, "{name}: {radius:?}");
        assert!(!shown.svg.contains("NaN") && !shown.svg.contains("inf"), "{name}");
    }
}

fn chosen(duty: &DutyOutcome) -> &Equilibrium {
    &duty.equilibria[duty.chosen.expect("chosen")]
}

/// Value of an attribute within an element.
fn attribute<'a>(element: &'a str, name: &str) -> Option<&'a str> {
    let begin = element.find(&format!(" {name}=\""))? + name.len() + 3;
    element[begin..].split('"').next()
}

fn number(element: &str, name: &str) -> f64 {
    attribute(element, name).expect("the attribute").parse().expect("a number")
}

/// What each text says with its estimated box: left, top, right, bottom, px.
fn texts(svg: &str) -> Vec<(String, [f64; 4])> {
    let boxed = |element: &str| {
        let (tag, rest) = element.split_once('>').expect("a tag");
        let content = rest.split('<').next().expect("words").replace("&quot;", "\"").replace("&amp;", "&");
        let width = content.chars().count() as f64 * 0.6 * 12.0;
        let (x, y) = (number(tag, "x"), number(tag, "y"));
        let left = if attribute(tag, "text-anchor") == Some("middle") { x - 0.5 * width } else { x };
        (content, [left, y - 9.0, left + width, y + 2.5])
    };
    svg.split("<text").skip(1).map(boxed).collect()
}

#[test]
fn words_lie_beside_each_other_and_within_the_picture() {
    let hot = ["brine-booster", "feed-pump", "nitrogen-pump"];
    for name in CASES {
        let model = model(name);
        let duty = hot.contains(&name).then(|| normal(&model));
        for size_px in [[704.0, 340.0], [358.0, 320.0], [900.0, 420.0]] {
            for units in [UnitSet::Si, UnitSet::Us] {
                let wanted = ViewWanted { size_px, units, ..if duty.is_some() { HOT } else { PLAIN } };
                let texts = texts(&shown(&model, duty.as_ref(), &wanted).svg);
                assert!(texts.len() > 5, "{name}: {texts:?}");
                let says = |words: &str| texts.iter().any(|(content, _)| content.contains(words));
                assert!(says("sealed side") && says("low side"), "{name} {size_px:?}: {texts:?}");
                for (k, (one, a)) in texts.iter().enumerate() {
                    assert!(a[0] > 0.0 && a[1] > 0.0 && a[2] < size_px[0] && a[3] < size_px[1], "{name} {size_px:?}: {one} leaves: {a:?}");
                    for (other, b) in &texts[k + 1..] {
                        let meet = a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
                        assert!(!meet, "{name} {size_px:?}: {one} over {other}");
                    }
                }
            }
        }
    }
}

/// At both edges of the band the film drawn is the gap solved, times factor and scale.
#[test]
fn the_film_of_the_view_is_the_gap_solved() {
    let model = model("brine-booster");
    let duty = normal(&model);
    let shown = shown(&model, Some(&duty), &HOT);
    let film = shown.svg.split("<path").find(|path| attribute(path, "data-film").is_some()).expect("a film");
    let points: Vec<[f64; 2]> = attribute(film, "d")
        .expect("a path")
        .trim_start_matches('M')
        .trim_end_matches('Z')
        .split('L')
        .map(|pair| {
            let (x, y) = pair.split_once(' ').expect("a pair");
            [x, y].map(|v| v.parse().expect("a number"))
        })
        .collect();
    let gap = &chosen(&duty).profiles.gap_m;
    let factor = shown.factor.expect("a factor");
    for (y, gap) in [(shown.radius.bottom_px, gap[0]), (shown.radius.top_px, gap[gap.len() - 1])] {
        let at: Vec<f64> = points.iter().filter(|p| (p[1] - y).abs() < 0.01).map(|p| p[0]).collect();
        let expected = 1e3 * gap * factor * number(&shown.svg, "data-px-per-mm");
        assert_eq!(at.len(), 2);
        assert!(((at[0] - at[1]) - expected).abs() < 0.03, "{at:?} for {expected} px");
    }
}

/// Every node of a face is displaced as its form says, but for the lapped form, which is straight; fits and lapping included.
#[test]
fn displacements_of_the_nodes_make_the_form_of_the_face() {
    for (name, rings_lapped) in [("nitrogen-pump", [0.0, 2.5e-6]), ("brine-booster", [0.0, 0.0])] {
        let model = model(name);
        let duty = normal(&model);
        let rings = &chosen(&duty).rings;
        for (ring, lapped) in [&rings.rotating, &rings.stationary].into_iter().zip(rings_lapped) {
            let field = ring.field.as_ref().expect("a field");
            assert_eq!(field.axial_m.len(), field.nodes_m.len());
            for (r, shape) in field.face_radius_m.iter().zip(&field.face_shape_m) {
                let at = |p: &[f64; 2]| (p[0] - r).hypot(p[1]) < 1e-9;
                let node = field.nodes_m.iter().position(at).expect("a node of the face");
                let form = lapped * (r - model.band.inner_radius_m) / model.band.width_m();
                assert!((field.axial_m[node] + form - shape).abs() < 1e-12, "{name}: r {r}: {} + {form}, {shape}", field.axial_m[node]);
            }
            assert!(field.axial_m.iter().any(|axial| axial.abs() > 1e-8), "{name}: something moves");
        }
    }
}

#[test]
fn parts_lead_to_the_case_and_the_same_case_gives_the_same_bytes() {
    let model = model("brine-booster");
    let duty = normal(&model);
    let svg = shown(&model, Some(&duty), &HOT).svg;
    let paths = [
        "rotating_ring",
        "stationary_ring",
        "seal.balance_diameter",
        "rotating_ring.face.inner",
        "rotating_ring.face.outer",
        "seal.spring_force",
        "seal.secondary_seal",
        "stationary_ring.support",
        "machine.shaft",
        "duty.normal.pressure",
    ];
    for path in paths {
        assert!(svg.contains(&format!("data-path=\"{path}\"")), "no {path}");
    }
    assert_eq!(svg, shown(&model, Some(&duty), &HOT).svg);
    assert!(svg.len() < 120_000 && !svg.contains("style="), "a page may forbid inline styles");
    let paper = shown(&model, Some(&duty), &ViewWanted { style: Style::Paper, ..HOT }).svg;
    assert!(!paper.contains("var(") && !paper.contains("color-mix"), "typesetters know neither");
}

#[test]
fn a_view_of_nothing_solved_says_so() {
    assert!(matches!(view(&model("brine-booster"), None, &HOT), Err(DrawingError::NotSolved { .. })));
}
