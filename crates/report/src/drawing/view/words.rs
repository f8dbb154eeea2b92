//! The close-up put together, and its words: few, each where nothing else stands.

use halfmicron::model::{Model, PressureSide, RingRole, SecondarySealKind};
use halfmicron::outcome::DutyOutcome;
use halfmicron::sheet::UnitSet;
use halfmicron::sheet::units::Kind;

use super::super::DrawingError;
use super::super::bodies::{Body, bodies, ring_name};
use super::super::compose::{chosen, quantity};
use super::super::faces::Deformed;
use super::super::field::Bands;
use super::super::svg::escaped;
use super::canvas::{Canvas, Hang, Ink, LETTER_PX, Words, width};
use super::captions::{LINE_PX, captions, radii};
use super::machine::{self, Placed};
use super::rings::{self, Isotherm, Scene, path_of};
use super::window::{Window, is_narrow};
use super::{View, ViewWanted};
use crate::chart::Style;
use crate::digits::number;

/// Share of the width of the band that film and deflection take at most where the factor is chosen.
const AUTOMATIC_SHARE: f64 = 0.25;
/// Distance of texts from edges and from each other, px.
const APART_PX: f64 = 4.0;
/// Longest leader, px.
const MOST_LEADER_PX: f64 = 130.0;

pub(super) fn composed(model: &Model, solved: Option<&DutyOutcome>, wanted: &ViewWanted) -> Result<View, DrawingError> {
    let equilibrium = chosen(solved, wanted.temperature || wanted.deformed.is_some())?;
    let bands = equilibrium.filter(|_| wanted.temperature).and_then(|equilibrium| Bands::new(equilibrium, wanted.units));
    let narrow = is_narrow(wanted.size_px[0]);
    let rows = if narrow && bands.is_some() && wanted.deformed.is_some() { 2 } else { 1 };
    let window = Window::new(model, wanted.size_px, rows)?;
    let deformed = match (wanted.deformed, equilibrium) {
        (Some(exaggeration), Some(equilibrium)) => Deformed::new(model, equilibrium, AUTOMATIC_SHARE * model.band.width_m(), exaggeration)?,
        _ => None,
    };
    let factor = deformed.as_ref().map(|deformed| deformed.factor);
    let scene = Scene { model, window, narrow, deformed };
    let bodies = bodies(model);
    let mut canvas = Canvas::new(wanted.style);
    let (width_px, height_px) = (window.width_px, window.height_px);
    // an inner element of its own clips without a name that two pictures of one page could share
    canvas.raw(&format!("<svg x=\"0\" y=\"0\" width=\"{}\" height=\"{}\" overflow=\"hidden\">\n", number(width_px), number(height_px)));
    let inner = machine::sides(&mut canvas, &scene);
    let mut placed = machine::behind(&mut canvas, &scene);
    let isotherms = rings::draw(&mut canvas, &scene, &bodies, bands.as_ref().zip(equilibrium));
    rings::film(&mut canvas, &scene);
    machine::sliding_seal(&mut canvas, &scene, &mut placed);
    machine::breaks(&mut canvas, &scene);
    let mut labels = Labels { canvas, scene: &scene, set: wanted.units, taken: Vec::new(), solid: Vec::new(), inner };
    labels.solid = labels.boxes(&bodies, &placed);
    labels.sides(solved);
    labels.rings(&bodies, bands.as_ref());
    labels.taken.extend(rings::film_box(&scene));
    if let Some(bands) = &bands {
        labels.isotherms(&isotherms, bands);
    }
    labels.fittings(&placed);
    let mut canvas = labels.canvas;
    canvas.raw("</svg>\n");
    radii(&mut canvas, &scene, wanted);
    captions(&mut canvas, &scene, bands.as_ref(), factor, wanted, rows);
    let notes = notes(&scene, factor, solved.filter(|_| equilibrium.is_some()), wanted.units);
    let radius = window.radius(model);
    let svg = root(&canvas.text, model, &scene, &notes, wanted, radius);
    Ok(View { svg, radius, width_px: wanted.size_px[0], height_px: wanted.size_px[1], factor, notes })
}

fn root(content: &str, model: &Model, scene: &Scene, notes: &[String], wanted: &ViewWanted, radius: crate::RadiusScale) -> String {
    let [width, height] = wanted.size_px.map(number);
    let size = match wanted.style {
        Style::Page => format!("width=\"{width}\" height=\"{height}\""),
        Style::Paper => {
            let [w, h] = wanted.size_px.map(|px| number(px * 25.4 / 96.0));
            format!("width=\"{w}mm\" height=\"{h}mm\"")
        }
    };
    let family = if wanted.style == Style::Paper { " font-family=\"sans-serif\"" } else { "" };
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" {size} viewBox=\"0 0 {width} {height}\" role=\"img\" font-size=\"{LETTER_PX}\"{family} \
         aria-label=\"{}\" data-radius-low=\"{}\" data-radius-high=\"{}\" data-radius-top=\"{}\" data-radius-bottom=\"{}\" \
         data-face=\"{}\" data-px-per-mm=\"{}\">\n<title>{}</title>\n<desc>{}</desc>\n{content}</svg>\n",
        escaped(&format!("Section of {}, radius up", model.title)),
        radius.low_mm,
        radius.high_mm,
        number(radius.top_px),
        number(radius.bottom_px),
        number(scene.window.face_px),
        number(1e-3 * scene.window.px_per_m),
        escaped(&model.title),
        escaped(&notes.join(" "))
    )
}

fn notes(scene: &Scene, factor: Option<f64>, duty: Option<&DutyOutcome>, set: UnitSet) -> Vec<String> {
    let mut notes =
        vec!["Ring sections, diameters and the section of an O-ring are true to scale, from the case; radius points up.".to_owned()];
    if let (Some(factor), Some(duty)) = (factor, duty) {
        notes.push(format!(
            "Duty \"{}\": film and deflection are drawn {factor} times as large as the rings, along the shaft only and without the even stretch of each ring ({} of gap measures {} px).",
            duty.name,
            pretty(&quantity(Kind::SmallLength, 1e-6, set)),
            number(1e-6 * factor * scene.window.px_per_m)
        ));
    }
    notes.push(
        "Schematic, since the case does not give them: holders, springs, seals marked by a crossed square, ends of sleeve and shaft."
            .to_owned(),
    );
    notes
}

/// Units as an engineer writes them by hand.
fn pretty(words: &str) -> String {
    words.replace(" deg", " \u{b0}").replace(" um", " \u{b5}m").replace(" uin", " \u{b5}in")
}

struct Labels<'a> {
    canvas: Canvas,
    scene: &'a Scene<'a>,
    set: UnitSet,
    /// Boxes of texts placed.
    taken: Vec<[f64; 4]>,
    /// Boxes of bodies.
    solid: Vec<[f64; 4]>,
    /// What lies inside the faces.
    inner: Vec<[f64; 2]>,
}

/// The upright rectangle within four corners.
fn within(corners: [[f64; 2]; 4]) -> [f64; 4] {
    let sorted = |axis: usize| {
        let mut values = corners.map(|p| p[axis]);
        values.sort_by(f64::total_cmp);
        values
    };
    let (x, y) = (sorted(0), sorted(1));
    [x[1], y[1], x[2], y[2]]
}

/// Rectangles, and those that two neighbours along the shaft make together.
fn joined(rects: &[[f64; 4]]) -> Vec<[f64; 4]> {
    let mut all = rects.to_vec();
    for (k, a) in rects.iter().enumerate() {
        for b in &rects[k + 1..] {
            if (a[0] - b[2]).abs().min((a[2] - b[0]).abs()) < 6.0 {
                all.push([a[0].min(b[0]), a[1].max(b[1]), a[2].max(b[2]), a[3].min(b[3])]);
            }
        }
    }
    all
}

/// One side of the seal, named.
struct Side {
    lines: Vec<String>,
    ink: Ink,
    halo: Ink,
    path: Option<String>,
    /// Whether it lies inside the faces.
    inner: bool,
}

fn is_within(polygon: &[[f64; 2]], p: [f64; 2]) -> bool {
    let crosses = |i: usize| {
        let (a, b) = (polygon[i], polygon[(i + 1) % polygon.len()]);
        (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    };
    (0..polygon.len()).filter(|i| crosses(*i)).count() % 2 == 1
}

fn meets(a: [f64; 4], b: [f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

impl Labels<'_> {
    fn boxes(&self, bodies: &[Body], placed: &Placed) -> Vec<[f64; 4]> {
        let mut boxes = placed.boxes.clone();
        for body in bodies {
            let ring = [&self.scene.model.rotating_ring, &self.scene.model.stationary_ring].into_iter().find(|ring| ring.role == body.role);
            let parts = ring.into_iter().flat_map(|ring| &ring.parts);
            boxes.extend(parts.map(|part| machine::bounds(&part.corners_m.map(|p| self.scene.at(body.role, p)))));
        }
        boxes
    }

    fn inside(&self, b: [f64; 4]) -> bool {
        b[0] > APART_PX && b[1] > 2.0 && b[2] < self.scene.window.width_px - APART_PX && b[3] < self.scene.window.height_px - 2.0
    }

    fn free(&self, b: [f64; 4]) -> bool {
        let wide = [b[0] - APART_PX, b[1] - 1.0, b[2] + APART_PX, b[3] + 1.0];
        self.inside(b) && !self.taken.iter().any(|other| meets(wide, *other))
    }

    fn put(&mut self, words: &Words) {
        self.taken.push(words.bounds());
        self.canvas.words(words);
    }

    /// Names of the two sides with pressure and temperature.
    fn sides(&mut self, solved: Option<&DutyOutcome>) {
        let window = self.scene.window;
        let outside = self.scene.model.seal.pressure_side == PressureSide::Outside;
        let (mut sealed, mut low) = (vec!["sealed side".to_owned()], vec!["low side".to_owned()]);
        let (mut sealed_path, mut low_path) = (None, None);
        if let Some(duty) = solved {
            let at = &duty.conditions;
            let pressure = quantity(Kind::AbsolutePressure, at.pressure_pa, self.set);
            let temperature = quantity(Kind::Temperature, at.chamber_temperature_k, self.set);
            sealed.push(pretty(&format!("{pressure}, {temperature}")));
            low.push(pretty(&quantity(Kind::AbsolutePressure, at.low_pressure_pa, self.set)));
            sealed_path = Some(format!("duty.{}.pressure", duty.name));
            if at.reverse_pressure {
                low[0] = "low side, now higher".to_owned();
            }
            low_path = Some(format!("duty.{}.low_pressure", duty.name));
        }
        let sealed = Side { lines: sealed, ink: Ink::Sealed, halo: Ink::SealedTint, path: sealed_path, inner: !outside };
        let low = Side { lines: low, ink: Ink::Low, halo: Ink::LowTint, path: low_path, inner: outside };
        let across: Vec<f64> = (0..=40).map(|k| 8.0 + f64::from(k) * (window.width_px - 16.0) / 40.0).collect();
        let across = nearest_first(&across, window.face_px - 60.0);
        for side in [sealed, low] {
            let heights: Vec<f64> = (0..60).map(|k| 4.0 * f64::from(k)).collect();
            let heights: Vec<f64> = if side.inner {
                heights.iter().map(|y| window.height_px - 8.0 - y).collect()
            } else {
                heights.iter().map(|y| 4.0 + LETTER_PX + y).collect()
            };
            self.block(&side, &across, &heights);
        }
    }

    /// Lines of text at the first of places within its side where nothing lies, bodies included.
    fn block(&mut self, side: &Side, across: &[f64], heights: &[f64]) {
        let halo = self.canvas.paint(side.halo);
        let line = |at: [f64; 2], content: &str, bold: bool| Words {
            at,
            hang: Hang::Start,
            content: content.to_owned(),
            ink: side.ink,
            bold,
            halo: Some(halo.clone()),
            path: side.path.clone(),
        };
        let stacked = |x: f64, y: f64| -> Vec<Words> {
            side.lines.iter().enumerate().map(|(k, content)| line([x, y + LINE_PX * k as f64], content, k == 0)).collect()
        };
        let flat = |x: f64, y: f64| -> Vec<Words> {
            let mut left = x;
            let place = |(k, content): (usize, &String)| {
                let words = line([left, y], content, k == 0);
                left += width(content, k == 0) + 8.0;
                words
            };
            side.lines.iter().enumerate().map(place).collect()
        };
        let first = |x: f64, y: f64| vec![line([x, y], &side.lines[0], true)];
        let shapes: [&dyn Fn(f64, f64) -> Vec<Words>; 3] = if side.inner { [&flat, &stacked, &first] } else { [&stacked, &flat, &first] };
        for shape in shapes {
            for y in heights {
                for x in across {
                    let words = shape(*x, *y);
                    if words.iter().all(|words| self.clear(words.bounds(), side.inner)) {
                        words.iter().for_each(|words| self.put(words));
                        return;
                    }
                }
            }
        }
    }

    /// Whether nothing lies in a box, and it lies on its side.
    fn clear(&self, b: [f64; 4], inner: bool) -> bool {
        let wide = [b[0] - APART_PX, b[1] - 2.0, b[2] + APART_PX, b[3] + 2.0];
        let corners = [[wide[0], wide[1]], [wide[2], wide[1]], [wide[2], wide[3]], [wide[0], wide[3]]];
        self.free(b) && !self.solid.iter().any(|solid| meets(wide, *solid)) && corners.iter().all(|p| is_within(&self.inner, *p) == inner)
    }

    /// Name and material within each ring, away from the faces.
    fn rings(&mut self, bodies: &[Body], bands: Option<&Bands>) {
        for role in [RingRole::Stationary, RingRole::Rotating] {
            let Some(body) = bodies.iter().find(|body| body.role == role && body.index == 0) else { continue };
            let ring = if role == RingRole::Rotating { &self.scene.model.rotating_ring } else { &self.scene.model.stationary_ring };
            let own = ring.parts.iter().filter(|part| part.material.name == body.material);
            let rects = joined(&own.map(|part| within(part.corners_m.map(|p| self.scene.at(role, p)))).collect::<Vec<_>>());
            let material = body.material.split(',').next().unwrap_or_default().to_owned();
            let name = ring_name(role).to_owned();
            let word = name.split(' ').next().unwrap_or_default().to_owned();
            let choices = [vec![name.clone(), material.clone()], vec![name], vec![word]];
            let found = choices.iter().find_map(|lines| {
                let (w, h) = (lines.iter().map(|line| width(line, false)).fold(0.0, f64::max) + 10.0, LINE_PX * lines.len() as f64 + 5.0);
                rects
                    .iter()
                    .filter_map(|rect| self.plate(*rect, [w, h], role))
                    .max_by(|a, b| self.distance(*a).total_cmp(&self.distance(*b)))
                    .map(|b| (lines.clone(), b))
            });
            let Some((lines, b)) = found else { continue };
            let paint = bands.map_or_else(|| self.canvas.paint(Ink::Wash), |bands| self.canvas.band(0, bands.edges.len() - 1));
            self.canvas.fill(&[[[b[0], b[1]], [b[2], b[1]], [b[2], b[3]], [b[0], b[3]]]], &paint);
            self.taken.push(b);
            for (k, line) in lines.iter().enumerate() {
                let at = [0.5 * (b[0] + b[2]), b[1] + 13.0 + LINE_PX * k as f64];
                let path = Some(if k == 0 { path_of(role).to_owned() } else { format!("{}.material", path_of(role)) });
                self.canvas.words(&Words { at, hang: Hang::Middle, content: line.clone(), ink: Ink::Main, bold: false, halo: None, path });
            }
        }
    }

    fn distance(&self, b: [f64; 4]) -> f64 {
        (0.5 * (b[0] + b[2]) - self.scene.window.face_px).abs()
    }

    /// A plate within a rectangle as far from the face as it goes, clear of texts and of the lines of radius.
    fn plate(&self, rect: [f64; 4], [w, h]: [f64; 2], role: RingRole) -> Option<[f64; 4]> {
        let window = self.scene.window;
        let [l, t, r, b] = [rect[0].max(8.0), rect[1].max(4.0), rect[2].min(window.width_px - 8.0), rect[3].min(window.height_px - 4.0)];
        let model = self.scene.model;
        let lines: Vec<f64> = match role {
            RingRole::Rotating => {
                [model.band.inner_radius_m, model.band.outer_radius_m, model.seal.balance_radius_m].map(|r| window.y(r)).to_vec()
            }
            RingRole::Stationary => Vec::new(),
        };
        if r - l < w + 8.0 || b - t < h + 6.0 {
            return None;
        }
        let x = match role {
            RingRole::Rotating => r - 5.0 - w,
            RingRole::Stationary => l + 5.0,
        };
        let count = 24;
        let boxes = (0..=count).map(|k| t + 3.0 + (b - t - h - 6.0) * f64::from(k) / f64::from(count)).map(|y| [x, y, x + w, y + h]);
        boxes.filter(|b| self.free(*b) && !lines.iter().any(|y| *y > b[1] - 1.0 && *y < b[3] + 1.0)).min_by(|p, q| {
            let off = |b: &[f64; 4]| (0.5 * (b[1] + b[3]) - 0.5 * (t + rect[3])).abs();
            off(p).total_cmp(&off(q))
        })
    }

    /// The temperature of each line once, on the longest of its lines, where nothing else stands.
    fn isotherms(&mut self, isotherms: &[Isotherm], bands: &Bands) {
        let mut first = true;
        for role in [RingRole::Rotating, RingRole::Stationary] {
            let mut own: Vec<&Isotherm> = isotherms.iter().filter(|isotherm| isotherm.role == role).collect();
            own.sort_by(|a, b| b.level.total_cmp(&a.level).then(long(&b.points).total_cmp(&long(&a.points))));
            let mut done: Vec<f64> = Vec::new();
            for isotherm in own {
                if done.contains(&isotherm.level) || long(&isotherm.points) < 40.0 {
                    continue;
                }
                let unit = if first { bands.label.replace("deg", " \u{b0}") } else { String::new() };
                let content = format!("{:.*}{unit}", bands.decimals, isotherm.level);
                let halo = self.canvas.band(0, bands.edges.len() - 1);
                let places = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8];
                let words = places.map(|share| Words {
                    at: {
                        let [x, y] = along(&isotherm.points, share);
                        [x, y + 0.36 * LETTER_PX]
                    },
                    hang: Hang::Middle,
                    content: content.clone(),
                    ink: Ink::Main,
                    bold: false,
                    halo: Some(halo.clone()),
                    path: None,
                });
                if let Some(words) = words.into_iter().find(|words| self.free(words.bounds())) {
                    self.put(&words);
                    done.push(isotherm.level);
                    first = false;
                }
            }
        }
    }

    /// Springs and the sliding seal, where there is room beside them.
    fn fittings(&mut self, placed: &Placed) {
        if self.scene.narrow {
            return;
        }
        let model = self.scene.model;
        let seal = &model.seal.secondary_seal;
        let force = quantity(Kind::Force, model.seal.spring_force_n, self.set);
        let bellows = seal.kind == SecondarySealKind::MetalBellows;
        let springs = if bellows { format!("bellows {force}") } else { format!("springs {force}") };
        let kind = if seal.kind == SecondarySealKind::ORing { "O-ring, " } else { "" };
        let named = [
            (placed.springs, springs, "seal.spring_force"),
            (
                placed.sliding_seal.filter(|_| !bellows),
                format!("{kind}{}", seal.material.split(',').next().unwrap_or_default()),
                "seal.secondary_seal",
            ),
        ];
        for (at, content, path) in named {
            let Some(at) = at else { continue };
            self.led(at, content, path);
        }
    }

    /// Words in the free with a leader to a place.
    fn led(&mut self, to: [f64; 2], content: String, path: &str) {
        let window = self.scene.window;
        if to[0] < 4.0 || to[0] > window.width_px - 4.0 {
            return;
        }
        let w = width(&content, false);
        let mut best: Option<(f64, Words)> = None;
        for row in 0..40 {
            for column in 0..60 {
                let at = [
                    6.0 + f64::from(column) * (window.width_px - w - 12.0) / 60.0,
                    16.0 + f64::from(row) * (window.height_px - 24.0) / 40.0,
                ];
                let words = Words {
                    at,
                    hang: Hang::Start,
                    content: content.clone(),
                    ink: Ink::Main,
                    bold: false,
                    halo: None,
                    path: Some(path.to_owned()),
                };
                let b = words.bounds();
                let wide = [b[0] - 3.0, b[1] - 2.0, b[2] + 3.0, b[3] + 2.0];
                if !self.free(b) || self.solid.iter().any(|solid| meets(wide, *solid)) || b[3] > to[1] - 6.0 {
                    continue;
                }
                let from = [to[0].clamp(b[0] + 4.0, b[2] - 4.0), b[3] + 1.0];
                let far = (from[0] - to[0]).hypot(from[1] - to[1]);
                if far > MOST_LEADER_PX || self.crossed(from, to) {
                    continue;
                }
                if best.as_ref().is_none_or(|(least, _)| far < *least) {
                    best = Some((far, words));
                }
            }
        }
        let Some((_, words)) = best else { return };
        let b = words.bounds();
        let from = [to[0].clamp(b[0] + 4.0, b[2] - 4.0), b[3] + 1.0];
        self.canvas.stroke(&[[from, to]], false, Ink::Main, 0.75, "");
        let paint = self.canvas.paint(Ink::Main);
        self.canvas.raw(&format!("<circle cx=\"{}\" cy=\"{}\" r=\"1.8\" fill=\"{paint}\"/>\n", number(to[0]), number(to[1])));
        self.put(&words);
    }
}

impl Labels<'_> {
    /// Whether a leader runs over a text or over a body that it does not mean.
    fn crossed(&self, from: [f64; 2], to: [f64; 2]) -> bool {
        let holds = |b: &[f64; 4], p: [f64; 2]| p[0] > b[0] && p[0] < b[2] && p[1] > b[1] && p[1] < b[3];
        let on_way = (1..20).map(|k| f64::from(k) / 20.0).map(|share| [0, 1].map(|i| from[i] + share * (to[i] - from[i])));
        let others: Vec<&[f64; 4]> = self.solid.iter().filter(|b| !holds(b, to)).chain(&self.taken).collect();
        on_way.into_iter().any(|p| others.iter().any(|b| holds(b, p)))
    }
}

fn nearest_first(values: &[f64], to: f64) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(|a, b| (a - to).abs().total_cmp(&(b - to).abs()));
    sorted
}

fn long(points: &[[f64; 2]]) -> f64 {
    points.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum()
}

/// A point at a share of the length of a line.
fn along(points: &[[f64; 2]], share: f64) -> [f64; 2] {
    let mut left = share * long(points);
    for pair in points.windows(2) {
        let length = (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]);
        if left <= length && length > 0.0 {
            let part = left / length;
            return [0, 1].map(|i| pair[0][i] + part * (pair[1][i] - pair[0][i]));
        }
        left -= length;
    }
    points.last().copied().unwrap_or_default()
}
