//! Band, balance and sections of both rings.
//!
//! Sections are drawn in a coordinate `x` that grows toward the sealed side and are turned into radii at the end, so that outside and
//! inside pressure come from the same shapes. As a designer would, bodies are made long enough for the pressure: a ring turned by the pressure
//! over its length, `phi = 6 p R^2/(E L^2)`, may tilt its face by no more than an amount drawn between 1 and 20 um (the ring's equation of
//! flat sections; what a real section does differs by several times, so soft rings remain).

use std::f64::consts::PI;
use std::fmt::Write;

use super::draw::Draw;

/// Least distance between two corners, in band widths: thinner slivers are not made.
const SLIVER: f64 = 0.05;
/// Least band width and overhang, m.
const LEAST_BAND_M: f64 = 0.6e-3;
const LEAST_OVERHANG_M: f64 = 0.6e-3;
/// Longest body made for stiffness, m.
const LONGEST_M: f64 = 0.25;
/// Ends of the tilt over the band that a body may be estimated to have, m.
const TILT_M: [f64; 2] = [1e-6, 20e-6];

/// Lengths are whole micrometres, as drawings are.
fn micrometre(x: f64) -> f64 {
    (x * 1e6).round() * 1e-6
}

/// Running band and balance.
pub struct Layout {
    pub shaft_m: f64,
    pub inner_m: f64,
    pub outer_m: f64,
    pub balance_m: f64,
    pub outside: bool,
    pub rotating_floats: bool,
    pub rotating_is_narrow: bool,
    pub bellows: bool,
    /// Share of balance, and spring force over the face area, Pa.
    pub balance_share: f64,
    pub spring_pa: f64,
}

impl Layout {
    pub fn draw(draw: &mut Draw) -> Self {
        let shaft_m = micrometre(draw.logarithmic(4e-3, 0.6));
        let width_m = (shaft_m * draw.logarithmic(0.012, 0.14)).clamp(LEAST_BAND_M, 30e-3);
        let outside = draw.chance(0.75);
        // What the rings need between shaft and band: room for the body on that side.
        let below_m = width_m * draw.between(1.1, 2.5) + 0.02 * shaft_m + 0.2e-3;
        let inner_m = micrometre(0.5 * shaft_m + below_m);
        let outer_m = micrometre(inner_m + width_m);
        let share = draw.between(0.5, 1.3);
        let squares = share * (outer_m.powi(2) - inner_m.powi(2));
        let balance_m = micrometre(if outside { (outer_m.powi(2) - squares).max(0.0).sqrt() } else { (inner_m.powi(2) + squares).sqrt() });
        Self {
            shaft_m,
            inner_m,
            outer_m,
            balance_m,
            outside,
            rotating_floats: draw.chance(0.6),
            rotating_is_narrow: draw.chance(0.5),
            bellows: draw.chance(0.2),
            balance_share: share,
            spring_pa: draw.logarithmic(0.03e6, 0.5e6),
        }
    }

    pub fn width_m(&self) -> f64 {
        self.outer_m - self.inner_m
    }

    pub fn mean_m(&self) -> f64 {
        0.5 * (self.inner_m + self.outer_m)
    }

    pub fn area_m2(&self) -> f64 {
        PI * (self.outer_m.powi(2) - self.inner_m.powi(2))
    }

    /// Mean pressure that presses the faces, hydraulic and spring, at a straight fall of pressure over the band, Pa.
    pub fn net_pa(&self, difference_pa: f64) -> f64 {
        (self.balance_share - 0.5).max(0.05) * difference_pa.abs() + self.spring_pa
    }

    /// Balance radius that gives a share of balance to reversed pressure, m.
    pub fn reverse_balance_m(&self, share: f64) -> f64 {
        let squares = share * (self.outer_m.powi(2) - self.inner_m.powi(2));
        micrometre(if self.outside { (self.inner_m.powi(2) + squares).sqrt() } else { (self.outer_m.powi(2) - squares).max(0.0).sqrt() })
    }

    /// Radius of a coordinate that grows toward the sealed side, or the other way.
    fn turned(&self, x: f64) -> f64 {
        if self.outside { x } else { self.inner_m + self.outer_m - x }
    }

    fn radii(&self, x: [f64; 2]) -> [f64; 2] {
        let [a, b] = x.map(|x| self.turned(x));
        [a.min(b), a.max(b)]
    }
}

/// A piece in `x` and `z`, m.
#[derive(Clone)]
struct Piece {
    x: [f64; 2],
    z: [f64; 2],
    /// Chamfer that narrows the back on the low-pressure side, m.
    chamfer: f64,
    material: Option<String>,
}

/// Materials of one ring.
pub struct Materials {
    pub face: String,
    /// Of a back or a shrunk band, when some metal serves.
    pub carrier: Option<String>,
}

/// One ring as drawn.
pub struct RingDrawing<'a> {
    layout: &'a Layout,
    floating: bool,
    narrow: bool,
    pieces: Vec<Piece>,
    /// Part of the pieces that carries the face.
    body: Piece,
    /// Secondary-seal point `[x, z]`; the program's own choice when none.
    seal: Option<[f64; 2]>,
}

impl<'a> RingDrawing<'a> {
    /// `strain` is the greatest pressure difference of all duties over Young's modulus of the face.
    pub fn draw(draw: &mut Draw, layout: &'a Layout, floating: bool, narrow: bool, strain: f64) -> Self {
        let b = layout.width_m();
        let (low, high) = Self::extent(draw, layout, floating, narrow);
        let mut pieces = Vec::new();
        let mut z = 0.0;
        if narrow {
            let nose = micrometre((b * draw.logarithmic(0.15, 1.2)).max(0.2e-3));
            pieces.push(Piece { x: [layout.inner_m, layout.outer_m], z: [0.0, nose], chamfer: 0.0, material: None });
            z = nose;
        }
        let stiff = layout.mean_m() * (6.0 * strain * b / draw.logarithmic(TILT_M[0], TILT_M[1])).sqrt();
        let body_end = micrometre(z + (b * draw.logarithmic(0.5, 3.0)).max(0.5e-3).max(stiff.min(LONGEST_M)));
        let body = Piece { x: [low, high], z: [z, body_end], chamfer: 0.0, material: None };
        pieces.push(body.clone());
        let mut ring = Self { layout, floating, narrow, pieces, body, seal: None };
        if floating {
            ring.floating_back(draw)
        } else {
            ring.fixed_back(draw)
        }
        ring
    }

    /// Lower and upper end of the body in `x`.
    fn extent(draw: &mut Draw, layout: &Layout, floating: bool, narrow: bool) -> (f64, f64) {
        let b = layout.width_m();
        let sliver = SLIVER * b;
        let mut low = layout.inner_m;
        let mut high = layout.outer_m;
        if narrow {
            if draw.chance(0.75) {
                high += (b * draw.logarithmic(0.1, 1.5)).max(sliver);
            }
            if !floating && draw.chance(0.5) {
                low -= b * draw.between(0.1, 0.9);
            }
        } else {
            low -= (b * draw.between(0.1, 0.9)).max(LEAST_OVERHANG_M).min(0.5 * layout.inner_m);
            high += (b * draw.between(0.1, 1.5)).max(LEAST_OVERHANG_M);
        }
        // An inside-pressure ring keeps clear of the shaft.
        if !layout.outside {
            high = high.min(layout.inner_m + layout.outer_m - 0.5 * layout.shaft_m);
        }
        let slides = layout.turned(layout.balance_m);
        if floating && (slides < low || (slides - low).abs() < sliver) {
            low = if low - slides < sliver && narrow { low } else { slides };
        }
        (micrometre(low), micrometre(high))
    }

    /// A floating ring is stepped where its secondary seal slides.
    fn floating_back(&mut self, draw: &mut Draw) {
        let b = self.layout.width_m();
        let slides = self.layout.turned(self.layout.balance_m);
        let [low, high] = self.body.x;
        let room = high - slides > 0.2 * b && slides - low > SLIVER * b;
        let end = self.body.z[1];
        if room && (!self.layout.bellows || draw.chance(0.5)) {
            let back = micrometre(end + (b * draw.logarithmic(0.3, 2.0)).max(0.4e-3));
            self.pieces.push(Piece { x: [slides, high], z: [end, back], chamfer: 0.0, material: None });
            let z = if draw.chance(0.5) { back } else { micrometre(end + draw.between(0.2, 0.8) * (back - end)) };
            self.seal = Some([slides, z]);
        } else if slides >= low && slides <= high {
            self.seal = Some([slides, end]);
        } else if !self.layout.bellows {
            self.seal = Some([low, end]);
        }
    }

    /// A fixed ring is plain, or has a spigot, or a chamfered back.
    fn fixed_back(&mut self, draw: &mut Draw) {
        let b = self.layout.width_m();
        let [low, high] = self.body.x;
        let [start, end] = self.body.z;
        let choice = draw.unit();
        if choice < 0.35 {
            if draw.chance(0.5) {
                self.seal = Some([high, micrometre(start + draw.between(0.3, 0.9) * (end - start))]);
            }
            return;
        }
        let back = micrometre(end + (b * draw.logarithmic(0.3, 2.0)).max(0.4e-3));
        let spigot = choice < 0.75;
        let top = if spigot { micrometre(high - draw.between(0.1, 0.4) * (high - low)) } else { high };
        let chamfer = if spigot { 0.0 } else { micrometre(draw.between(0.1, 0.5) * (high - low)) };
        self.pieces.push(Piece { x: [low, top], z: [end, back], chamfer, material: None });
        if draw.chance(0.8) {
            self.seal = Some([top, micrometre(end + draw.between(0.2, 0.8) * (back - end))]);
        }
    }

    /// Interval of the rearmost back face in `x`, and its place.
    fn back(&self) -> ([f64; 2], f64) {
        let last = &self.pieces[self.pieces.len() - 1];
        ([last.x[0] + last.chamfer, last.x[1]], last.z[1])
    }

    /// The ring's table without its heading.
    pub fn write(&mut self, draw: &mut Draw, materials: &Materials) -> String {
        let mut out = String::new();
        let mm = |m: f64| format!("\"{:.3} mm\"", m * 1e3);
        let span = |[a, b]: [f64; 2]| format!("[{}, {}]", mm(a), mm(b));
        let layout = self.layout;
        let _ = writeln!(out, "material = \"{}\"", materials.face);
        if self.narrow {
            let _ = writeln!(out, "face = {{ inner = {}, outer = {} }}", mm(2.0 * layout.inner_m), mm(2.0 * layout.outer_m));
        }
        let plain = usize::from(self.narrow) + 1;
        if self.pieces.len() > plain && draw.chance(0.15) {
            // A back of metal, bonded.
            let last = self.pieces.len() - 1;
            self.pieces[last].material = materials.carrier.clone();
        }
        let _ = writeln!(out, "section = [");
        for piece in &self.pieces {
            let material = piece.material.as_ref().map_or_else(String::new, |name| format!(", material = \"{name}\""));
            if piece.chamfer > 0.0 {
                let ([a, b], [c, d]) = (piece.x, piece.z);
                let corners =
                    [[a, c], [b, c], [b, d], [a + piece.chamfer, d]].map(|[x, z]| format!("[{}, {}]", mm(layout.turned(x)), mm(z)));
                let _ = writeln!(out, "  {{ corners = [{}]{material} }},", corners.join(", "));
            } else {
                let _ = writeln!(out, "  {{ r = {}, z = {}{material} }},", span(layout.radii(piece.x)), span(piece.z));
            }
        }
        let _ = writeln!(out, "]");
        if let Some(carrier) = materials.carrier.as_ref().filter(|_| self.pieces.len() > plain && draw.chance(0.2)) {
            self.write_band(draw, carrier, &mut out);
        }
        if !self.floating {
            self.write_support(draw, &mut out);
        }
        if let Some([x, z]) = self.seal {
            let _ = writeln!(out, "secondary_seal = {{ r = {}, z = {} }}", mm(layout.turned(x)), mm(z));
        }
        out
    }

    /// A band shrunk on the outside of the body, behind the face.
    fn write_band(&self, draw: &mut Draw, carrier: &str, out: &mut String) {
        let radius = self.layout.radii(self.body.x)[1];
        let [start, end] = self.body.z;
        let from = if self.narrow { start } else { micrometre(start + 0.3 * (end - start)) };
        let thick = micrometre((self.layout.width_m() * draw.between(0.2, 0.8)).max(0.5e-3));
        let interference = (radius * draw.between(0.0003, 0.0012) * 1e6).round();
        let _ = writeln!(
            out,
            "parts = [{{ material = \"{carrier}\", r = [\"{:.3} mm\", \"{:.3} mm\"], z = [\"{:.3} mm\", \"{:.3} mm\"], fit = {{ r = \"{:.3} mm\", interference = \"{interference} um\", at = \"20 degC\" }} }}]",
            1e3 * radius,
            1e3 * (radius + thick),
            1e3 * from,
            1e3 * end,
            1e3 * radius
        );
    }

    fn write_support(&self, draw: &mut Draw, out: &mut String) {
        let (x, z) = self.back();
        let [inner, outer] = self.layout.radii(x);
        let at = |share: f64| 1e3 * micrometre(inner + share * (outer - inner));
        let z = 1e3 * z;
        let choice = draw.unit();
        let _ = if choice < 0.3 {
            writeln!(out, "support = {{ z = \"{z:.3} mm\", r = \"{:.3} mm\" }}", at(draw.between(0.1, 0.9)))
        } else {
            let ends = [at(draw.between(0.05, 0.4)), at(draw.between(0.6, 0.95))];
            let kind = if choice < 0.7 { "annulus" } else { "held face" };
            writeln!(out, "support = {{ kind = \"{kind}\", z = \"{z:.3} mm\", r = [\"{:.3} mm\", \"{:.3} mm\"] }}", ends[0], ends[1])
        };
    }
}
