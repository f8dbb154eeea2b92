//! The close-up put together, and its words: few, each where nothing else stands.

use halfmicron::model::{Model, PressureSide, RingRole, SecondarySealKind};
use halfmicron::outcome::DutyOutcome;
use halfmicron::sheet::UnitSet;
use halfmicron::sheet::units::{Kind, unit};

use super::super::DrawingError;
use super::super::bodies::{Body, bodies, ring_name};
use super::super::compose::{chosen, quantity};
use super::super::dimensions::length;
use super::super::faces::Deformed;
use super::super::field::Bands;
use super::super::svg::{escaped, number};
use super::canvas::{Canvas, Hang, Ink, LETTER_PX, Words, width};
use super::machine::{self, Placed};
use super::rings::{self, Isotherm, Scene, path_of};
use super::window::{CAPTION_PX, Window};
use super::{View, ViewWanted};
use crate::chart::Style;

/// Share of the width of the band that film and deflection take at most where the factor is chosen.
const AUTOMATIC_SHARE: f64 = 0.25;
/// Distance of lines of text, px.
const LINE_PX: f64 = 15.0;
/// Distance of texts from edges and from each other, px.
const APART_PX: f64 = 4.0;

pub(super) fn composed(model: &Model, solved: Option<&DutyOutcome>, wanted: &ViewWanted) -> Result<View, DrawingError> {
    let equilibrium = chosen(solved, wanted.temperature || wanted.deformed.is_some())?;
    let bands = equilibrium.filter(|_| wanted.temperature).and_then(|equilibrium| Bands::new(equilibrium, wanted.units));
    let narrow = wanted.size_px[0] < 560.0;
    let rows = if narrow && bands.is_some() && wanted.deformed.is_some() { 2 } else { 1 };
    let window = Window::new(model, wanted.size_px, rows)?;
    let deformed = match (wanted.deformed, equilibrium) {
        (Some(exaggeration), Some(equilibrium)) => Deformed::new(model, equilibrium, AUTOMATIC_SHARE * model.band.width_m(), exaggeration)?,
        _ => None,
    };
    let factor = deformed.as_ref().map(|deformed| deformed.factor);
    let scene = Scene { model, window, deformed };
    let bodies = bodies(model);
    let mut canvas = Canvas::new(wanted.style);
    let (width_px, height_px) = (window.width_px, window.height_px);
    // an inner element of its own clips without a name that two pictures of one page could share
    canvas.raw(&format!("<svg x=\"0\" y=\"0\" width=\"{}\" height=\"{}\" overflow=\"hidden\">\n", number(width_px), number(height_px)));
    machine::sides(&mut canvas, &scene);
    let mut placed = machine::behind(&mut canvas, &scene);
    let isotherms = rings::draw(&mut canvas, &scene, &bodies, bands.as_ref().zip(equilibrium));
    rings::film(&mut canvas, &scene);
    machine::sliding_seal(&mut canvas, &scene, &mut placed);
    machine::breaks(&mut canvas, &scene);
    let mut labels = Labels { canvas, scene: &scene, set: wanted.units, taken: Vec::new(), solid: Vec::new(), narrow };
    labels.solid = labels.boxes(&bodies, &placed);
    labels.radii();
    labels.sides(solved);
    labels.rings(&bodies, bands.as_ref());
    if let Some(bands) = &bands {
        labels.isotherms(&isotherms, bands);
    }
    labels.fittings(&placed);
    let mut canvas = labels.canvas;
    canvas.raw("</svg>\n");
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
            "Duty \"{}\": film and deflection are drawn {factor} times as large as the rings, along the shaft only ({} of gap measures {} px).",
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
    narrow: bool,
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

    /// Lines at the edges of the band and at the balance diameter, to the right edge where curves go on with them.
    fn radii(&mut self) {
        let (model, window) = (self.scene.model, self.scene.window);
        let narrow = path_of(model.narrow_ring);
        let lines = [
            ("face outside", model.band.outer_radius_m, format!("{narrow}.face.outer"), " stroke-dasharray=\"3 3\""),
            ("balance", model.seal.balance_radius_m, "seal.balance_diameter".to_owned(), " stroke-dasharray=\"9 3 2 3\""),
            ("face inside", model.band.inner_radius_m, format!("{narrow}.face.inner"), " stroke-dasharray=\"3 3\""),
        ];
        let right = window.width_px;
        let mut below = f64::NEG_INFINITY;
        for (name, radius, path, dashes) in lines {
            let y = window.y(radius);
            if y < 1.0 || y > window.height_px - 1.0 {
                continue;
            }
            self.canvas.open(&path, name);
            self.canvas.stroke(&[[[window.face_px, y], [right, y]]], false, Ink::Ink, 0.75, &format!("{dashes} stroke-opacity=\"0.75\""));
            self.canvas.close();
            let content = format!("{} \u{2300}{}", if self.narrow { short(name) } else { name }, length(2.0 * radius, self.set));
            // above its line where there is room, else below
            let above = Words {
                at: [right - 6.0, y - 4.0],
                hang: Hang::End,
                content,
                ink: Ink::Ink,
                bold: false,
                halo: Some(Ink::Paper),
                path: Some(path),
            };
            let under = Words { at: [right - 6.0, y + LETTER_PX], ..above.clone() };
            let first = if above.bounds()[1] > below + 1.0 { above.clone() } else { under.clone() };
            if let Some(words) = [first, above, under].into_iter().find(|words| self.free(words.bounds())) {
                self.put(&words);
            }
            below = y;
        }
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
            low_path = Some(format!("duty.{}.low_pressure", duty.name));
        }
        let (top, bottom) = if outside {
            ((sealed, Ink::Sealed, Ink::SealedTint, sealed_path), (low, Ink::Low, Ink::LowTint, low_path))
        } else {
            ((low, Ink::Low, Ink::LowTint, low_path), (sealed, Ink::Sealed, Ink::SealedTint, sealed_path))
        };
        let across: Vec<f64> = (0..=40).map(|k| 8.0 + f64::from(k) * (window.width_px - 16.0) / 40.0).collect();
        let down: Vec<f64> = (1..=60).map(|k| 4.0 + LETTER_PX + f64::from(k - 1) * 4.0).collect();
        let up: Vec<f64> = (0..40).map(|k| window.height_px - 8.0 - f64::from(k) * 4.0).collect();
        // the inner side lies below the rings: never above the inner edge of the band
        let limit = window.y(self.scene.model.band.inner_radius_m);
        let face = window.face_px;
        self.block(top, &nearest_first(&across, face - 60.0), &down, f64::INFINITY);
        self.block(bottom, &nearest_first(&across, face - 60.0), &up, limit);
    }

    /// Lines of text at the first of places where nothing lies, bodies included.
    fn block(&mut self, (lines, ink, halo, path): (Vec<String>, Ink, Ink, Option<String>), across: &[f64], heights: &[f64], below: f64) {
        let one_line = lines.join("  ");
        let stacked = |x: f64, y: f64| -> Vec<Words> {
            let line = |(k, content): (usize, &String)| Words {
                at: [x, y + LINE_PX * k as f64],
                hang: Hang::Start,
                content: content.clone(),
                ink,
                bold: k == 0,
                halo: Some(halo),
                path: path.clone(),
            };
            lines.iter().enumerate().map(line).collect()
        };
        let flat = |x: f64, y: f64| {
            vec![Words { at: [x, y], hang: Hang::Start, content: one_line.clone(), ink, bold: true, halo: Some(halo), path: path.clone() }]
        };
        let inner = below.is_finite();
        let shapes: [&dyn Fn(f64, f64) -> Vec<Words>; 2] = if inner { [&flat, &stacked] } else { [&stacked, &flat] };
        for shape in shapes {
            for y in heights {
                for x in across {
                    let words = shape(*x, *y);
                    let clear = words.iter().all(|words| {
                        let b = words.bounds();
                        let wide = [b[0] - APART_PX, b[1] - 2.0, b[2] + APART_PX, b[3] + 2.0];
                        self.free(b) && !self.solid.iter().any(|solid| meets(wide, *solid)) && (!inner || b[1] > below + 2.0)
                    });
                    if clear {
                        words.iter().for_each(|words| self.put(words));
                        return;
                    }
                }
            }
        }
    }

    /// Name and material within each ring, away from the faces.
    fn rings(&mut self, bodies: &[Body], bands: Option<&Bands>) {
        for role in [RingRole::Stationary, RingRole::Rotating] {
            let Some(body) = bodies.iter().find(|body| body.role == role && body.index == 0) else { continue };
            let ring = if role == RingRole::Rotating { &self.scene.model.rotating_ring } else { &self.scene.model.stationary_ring };
            let rects: Vec<[f64; 4]> = ring
                .parts
                .iter()
                .filter(|part| part.material.name == body.material)
                .map(|part| machine::bounds(&part.corners_m.map(|p| self.scene.at(role, p))))
                .collect();
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
                self.canvas.words(&Words { at, hang: Hang::Middle, content: line.clone(), ink: Ink::Ink, bold: false, halo: None, path });
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
                let places = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8];
                let words = places.map(|share| Words {
                    at: {
                        let [x, y] = along(&isotherm.points, share);
                        [x, y + 0.36 * LETTER_PX]
                    },
                    hang: Hang::Middle,
                    content: content.clone(),
                    ink: Ink::Ink,
                    bold: false,
                    halo: Some(Ink::Paper),
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
        if self.narrow {
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
                    ink: Ink::Ink,
                    bold: false,
                    halo: None,
                    path: Some(path.to_owned()),
                };
                let b = words.bounds();
                let wide = [b[0] - 3.0, b[1] - 2.0, b[2] + 3.0, b[3] + 2.0];
                if !self.free(b) || self.solid.iter().any(|solid| meets(wide, *solid)) || b[3] > to[1] - 6.0 {
                    continue;
                }
                let far = (0.5 * (b[0] + b[2]) - to[0]).hypot(b[3] - to[1]);
                if best.as_ref().is_none_or(|(least, _)| far < *least) {
                    best = Some((far, words));
                }
            }
        }
        let Some((_, words)) = best else { return };
        let b = words.bounds();
        let from = [to[0].clamp(b[0] + 4.0, b[2] - 4.0), b[3] + 1.0];
        self.canvas.stroke(&[[from, to]], false, Ink::Ink, 0.75, "");
        let paint = self.canvas.paint(Ink::Ink);
        self.canvas.raw(&format!("<circle cx=\"{}\" cy=\"{}\" r=\"1.8\" fill=\"{paint}\"/>\n", number(to[0]), number(to[1])));
        self.put(&words);
    }
}

fn short(name: &str) -> &str {
    match name {
        "face outside" => "outside",
        "face inside" => "inside",
        other => other,
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

/// Below the picture: the bar of lengths, the key of colours, the factor.
fn captions(canvas: &mut Canvas, scene: &Scene, bands: Option<&Bands>, factor: Option<f64>, wanted: &ViewWanted, rows: usize) {
    let window = scene.window;
    let y = window.height_px + CAPTION_PX - 7.0;
    let shown = unit(Kind::Length, wanted.units);
    let per_unit = window.px_per_m / (shown.convert(1.0) - shown.convert(0.0));
    let sizes = [0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
    let bar = sizes.into_iter().rev().find(|size| size * per_unit < 90.0).unwrap_or(0.05);
    let right = 4.0 + bar * per_unit;
    canvas.stroke(&[[[4.0, y - 9.0], [4.0, y - 3.0], [right, y - 3.0], [right, y - 9.0]]], false, Ink::Ink, 1.0, "");
    let soft = |at: [f64; 2], hang: Hang, content: String| Words { at, hang, content, ink: Ink::Soft, bold: false, halo: None, path: None };
    let length = format!("{bar} {}", shown.label);
    let mut x = right + 6.0 + width(&length, false) + 18.0;
    canvas.words(&soft([right + 6.0, y], Hang::Start, length));
    if let Some(bands) = bands {
        x = key(canvas, bands, [x, y], window.width_px - 4.0);
    }
    if let Some(factor) = factor {
        let content = format!("film and deflection \u{d7}{factor}, along the shaft");
        let (x, y) = if rows > 1 { (4.0, y + CAPTION_PX) } else { (x + 18.0, y) };
        canvas.words(&soft([x, y], Hang::Start, content));
    }
}

/// The key of colours as a strip; returns where it ends.
fn key(canvas: &mut Canvas, bands: &Bands, [left, y]: [f64; 2], end: f64) -> f64 {
    let count = bands.edges.len() - 1;
    let soft =
        |x: f64, content: String| Words { at: [x, y], hang: Hang::Start, content, ink: Ink::Soft, bold: false, halo: None, path: None };
    let first = format!("{:.*}", bands.decimals, bands.edges[0]);
    let last = format!("{:.*} {}", bands.decimals, bands.edges[count], bands.label.replace("deg", "\u{b0}"));
    let strip = left + width(&first, false) + 5.0;
    let step = ((end - strip - width(&last, false) - 10.0) / count as f64).clamp(4.0, 12.0);
    canvas.words(&soft(left, first));
    for band in 0..count {
        let (a, b) = (strip + step * band as f64, strip + step * (band + 1) as f64);
        let paint = canvas.band(band, count);
        canvas.fill(&[[[a, y - 10.0], [b, y - 10.0], [b, y], [a, y]]], &paint);
    }
    let stop = strip + step * count as f64;
    canvas.stroke(&[[[strip, y - 10.0], [stop, y - 10.0], [stop, y], [strip, y]]], true, Ink::Soft, 0.6, "");
    let length = width(&last, false);
    canvas.words(&soft(stop + 5.0, last));
    stop + 5.0 + length
}
