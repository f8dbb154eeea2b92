//! Both rings: bands of temperature, hatching, outlines, the film between.

use halfmicron::model::{Model, RingRole};
use halfmicron::outcome::Equilibrium;

use super::super::bodies::{Body, ring_name, rings};
use super::super::contour::{Mesh, simplified};
use super::super::faces::Deformed;
use super::super::field::{self, Bands};
use super::super::hatch::Pattern;
use super::canvas::{Canvas, Ink};
use super::window::Window;

/// Pixels of a unit of hatching.
const HATCH_PX: f64 = 4.0;
/// How far a line may lie off the points left out, px.
const TOLERANCE_PX: f64 = 0.15;

/// Where everything lies: the window, and the rings as they are or as they deform.
#[derive(Debug, Clone)]
pub(super) struct Scene<'a> {
    pub model: &'a Model,
    pub window: Window,
    /// Phone: fewer words, shorter springs.
    pub narrow: bool,
    pub deformed: Option<Deformed<'a>>,
}

impl Scene<'_> {
    /// A point of a ring or of what is fixed to it, px.
    pub fn at(&self, role: RingRole, point: [f64; 2]) -> [f64; 2] {
        self.window.at(role, self.deformed.as_ref().map_or(point, |deformed| deformed.moved(role, point)))
    }

    fn outlines(&self, body: &Body) -> Vec<Vec<[f64; 2]>> {
        let moved = self.deformed.as_ref().map_or_else(|| body.outlines.clone(), |deformed| deformed.outlines(body.role, &body.outlines));
        let place =
            |outline: Vec<[f64; 2]>| -> Vec<[f64; 2]> { outline.into_iter().map(|point| self.window.at(body.role, point)).collect() };
        moved.into_iter().map(|outline| simplified(&place(outline), TOLERANCE_PX)).collect()
    }
}

/// Lines of constant temperature in px, of a level of the bands.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Isotherm {
    pub level: f64,
    pub role: RingRole,
    pub points: Vec<[f64; 2]>,
}

/// Draw the rings; returns the isotherms for their labels.
pub(super) fn draw(canvas: &mut Canvas, scene: &Scene, bodies: &[Body], heat: Option<(&Bands, &Equilibrium)>) -> Vec<Isotherm> {
    let mut isotherms = Vec::new();
    for ring in rings(scene.model).filter(|ring| !ring.parts.is_empty()) {
        let own: Vec<&Body> = bodies.iter().filter(|body| body.role == ring.role).collect();
        let outlines: Vec<Vec<Vec<[f64; 2]>>> = own.iter().map(|body| scene.outlines(body)).collect();
        canvas.open(path_of(ring.role), ring_name(ring.role));
        let all: Vec<&Vec<[f64; 2]>> = outlines.iter().flatten().collect();
        let base = heat.map_or_else(|| canvas.paint(Ink::Wash), |(bands, _)| canvas.band(0, bands.edges.len() - 1));
        canvas.fill(&all, &base);
        if let Some((bands, equilibrium)) = heat {
            isotherms.extend(temperatures(canvas, scene, ring.role, bands, equilibrium));
        }
        for (body, outlines) in own.iter().zip(&outlines) {
            let more = if heat.is_some() { " stroke-opacity=\"0.3\"" } else { " stroke-opacity=\"0.6\"" };
            hatch(canvas, &scene.window, body.pattern, outlines, Ink::Main, more);
        }
        canvas.stroke(&all, true, Ink::Main, 1.6, " stroke-linejoin=\"round\"");
        canvas.close();
    }
    isotherms
}

/// Path in the case of a ring.
pub(super) fn path_of(role: RingRole) -> &'static str {
    match role {
        RingRole::Rotating => "rotating_ring",
        RingRole::Stationary => "stationary_ring",
    }
}

fn temperatures(canvas: &mut Canvas, scene: &Scene, role: RingRole, bands: &Bands, equilibrium: &Equilibrium) -> Vec<Isotherm> {
    let Some(field) = field::of(equilibrium, role) else { return Vec::new() };
    let points: Vec<[f64; 2]> = match &scene.deformed {
        Some(deformed) => deformed.nodes(role).into_iter().map(|p| scene.window.at(role, p)).collect(),
        None => field.nodes_m.iter().map(|p| scene.window.at(role, *p)).collect(),
    };
    let values = bands.shown(field);
    let mesh = Mesh::new(&points, &field.elements, &values);
    let mut isotherms = Vec::new();
    let count = bands.edges.len() - 1;
    for (band, level) in bands.edges.iter().enumerate().take(count).skip(1) {
        let above = mesh.above(*level);
        let loops: Vec<Vec<[f64; 2]>> =
            above.loops.iter().map(|points| simplified(points, TOLERANCE_PX)).filter(|points| points.len() > 2).collect();
        let paint = canvas.band(band, count);
        canvas.path(&loops, true, &format!("fill=\"{paint}\" stroke=\"none\" fill-rule=\"evenodd\""));
        for line in above.lines {
            let points = simplified(&line, TOLERANCE_PX);
            isotherms.push(Isotherm { level: *level, role, points });
        }
    }
    let lines: Vec<&Vec<[f64; 2]>> = isotherms.iter().map(|isotherm| &isotherm.points).collect();
    canvas.stroke(&lines, false, Ink::Heat, 0.8, " stroke-opacity=\"0.9\"");
    isotherms
}

/// Hatching within outlines, as far as it can be seen.
pub(super) fn hatch(canvas: &mut Canvas, window: &Window, pattern: Pattern, outlines: &[Vec<[f64; 2]>], ink: Ink, more: &str) {
    // downwards in px, upwards in the pattern
    let scaled: Vec<Vec<[f64; 2]>> =
        outlines.iter().map(|outline| outline.iter().map(|p| [p[0] / HATCH_PX, -p[1] / HATCH_PX]).collect()).collect();
    let lines: Vec<[[f64; 2]; 2]> =
        pattern.lines(&scaled).into_iter().map(|line| line.map(|p| [p[0] * HATCH_PX, -p[1] * HATCH_PX])).collect();
    let seen: Vec<&[[f64; 2]; 2]> = lines
        .iter()
        .filter(|[a, b]| {
            let outside = |i: usize, limit: f64| (a[i] < 0.0 && b[i] < 0.0) || (a[i] > limit && b[i] > limit);
            !outside(0, window.width_px) && !outside(1, window.height_px)
        })
        .collect();
    canvas.stroke(&seen.iter().map(|line| &line[..]).collect::<Vec<_>>(), false, ink, 0.6, more);
}

/// The film between deformed faces, or the line where they meet.
pub(super) fn film(canvas: &mut Canvas, scene: &Scene) {
    let band = scene.model.band;
    match &scene.deformed {
        Some(deformed) => {
            let around: Vec<[f64; 2]> = deformed.film(|role, point| scene.window.at(role, point));
            let paint = canvas.paint(Ink::Film);
            canvas.path(&[simplified(&around, 0.02)], true, &format!("data-film=\"\" fill=\"{paint}\" stroke=\"none\""));
            for role in [RingRole::Rotating, RingRole::Stationary] {
                let face: Vec<[f64; 2]> = deformed.face(role).into_iter().map(|p| scene.window.at(role, p)).collect();
                canvas.stroke(&[simplified(&face, 0.02)], false, Ink::Main, 1.6, "");
            }
        }
        None => {
            let line = [band.inner_radius_m, band.outer_radius_m].map(|r| scene.at(RingRole::Rotating, [r, 0.0]));
            canvas.stroke(&[line], false, Ink::Sealed, 2.4, "");
        }
    }
}

/// The box of the film, left, top, right, bottom, px.
pub(super) fn film_box(scene: &Scene) -> Option<[f64; 4]> {
    let around = scene.deformed.as_ref()?.film(|role, point| scene.window.at(role, point));
    Some(super::machine::bounds(&around))
}
