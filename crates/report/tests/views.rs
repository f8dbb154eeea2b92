#![allow(clippy::disallowed_methods, reason = "tests read the shipped cases")]

use halfmicron::model::Model;
use halfmicron::outcome::DutyOutcome;
use halfmicron::sheet::UnitSet;
use halfmicron_report::chart::Style;
use halfmicron_report::drawing::{DrawingError, Exaggeration, View, ViewWanted, view};

use crate::drawings::{CASES, model, solved};

const PLAIN: ViewWanted =
    ViewWanted { units: UnitSet::Si, temperature: false, deformed: None, style: Style::Page, size_px: [704.0, 340.0] };
const HOT: ViewWanted = ViewWanted { temperature: true, deformed: Some(Exaggeration::Automatic), ..PLAIN };

fn normal(model: &Model) -> DutyOutcome {
    solved(model, &model.duties.iter().find(|duty| duty.name == "normal").unwrap_or(&model.duties[0]).name.clone())
}

fn shown(model: &Model, duty: Option<&DutyOutcome>, wanted: &ViewWanted) -> View {
    view(model, duty, wanted).expect("a view")
}

/// Writes every case to a folder to be looked at: `VIEWS=/tmp/x cargo test -p halfmicron-report look -- --ignored`.
#[test]
#[ignore = "writes pictures for the eye"]
fn look() {
    let folder = std::env::var("VIEWS").expect("VIEWS names a folder");
    for name in CASES {
        let model = model(name);
        let duty = normal(&model);
        for (kind, style, size_px) in
            [("wide", Style::Page, [704.0, 340.0]), ("phone", Style::Page, [358.0, 320.0]), ("paper", Style::Paper, [640.0, 320.0])]
        {
            let wanted = ViewWanted { style, size_px, ..HOT };
            std::fs::write(format!("{folder}/{name}-{kind}.svg"), shown(&model, Some(&duty), &wanted).svg).expect("written");
            std::fs::write(format!("{folder}/{name}-{kind}-plain.svg"), shown(&model, None, &ViewWanted { style, size_px, ..PLAIN }).svg)
                .expect("written");
        }
    }
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

#[test]
fn a_view_of_nothing_solved_says_so() {
    assert!(matches!(view(&model("brine-booster"), None, &HOT), Err(DrawingError::NotSolved { .. })));
}
