//! Hatching: parallel lines within an outline, their pattern by class of material.

use halfmicron::model::Part;
use halfmicron_properties::material::MaterialGroup;

/// Classes of material that are hatched differently.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Class {
    /// Carbon graphite: evenly spaced lines.
    Carbon,
    /// Carbides and other ceramics: lines in pairs.
    Ceramic,
    /// Metals: close lines.
    Metal,
    /// Elastomers and polymers: a net.
    Polymer,
}

/// A pattern on its outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pattern {
    pub class: Class,
    /// Rising to the left instead of to the right.
    pub mirrored: bool,
}

/// Class of a part of a ring.
pub(super) fn class_of(part: &Part) -> Class {
    match part.material.group {
        MaterialGroup::Metal => Class::Metal,
        MaterialGroup::Polymer | MaterialGroup::Elastomer | MaterialGroup::Gasket => Class::Polymer,
        MaterialGroup::Face if part.material.name.contains("graphite") && part.material.name.starts_with("carbon") => Class::Carbon,
        MaterialGroup::Face if part.material.name.contains("iron") => Class::Metal,
        MaterialGroup::Face => Class::Ceramic,
    }
}

impl Pattern {
    /// Lines within closed outlines, mm of paper, each from one edge to another.
    pub fn lines(self, outlines: &[Vec<[f64; 2]>]) -> Vec<[[f64; 2]; 2]> {
        let angle: f64 = if self.mirrored { 135.0 } else { 45.0 };
        match self.class {
            Class::Carbon => family(outlines, angle, &[0.0], 2.2),
            Class::Ceramic => family(outlines, angle, &[0.0, 0.8], 3.2),
            Class::Metal => family(outlines, angle, &[0.0], 1.2),
            Class::Polymer => {
                let mut both = family(outlines, 45.0, &[0.0], 1.1);
                both.extend(family(outlines, 135.0, &[0.0], 1.1));
                both
            }
        }
    }
}

/// Parallel lines at an angle (degrees), at each of the offsets within every period (mm).
fn family(outlines: &[Vec<[f64; 2]>], angle: f64, offsets: &[f64], period: f64) -> Vec<[[f64; 2]; 2]> {
    let (sine, cosine) = angle.to_radians().sin_cos();
    let across = |p: [f64; 2]| -sine * p[0] + cosine * p[1];
    let along = |p: [f64; 2]| cosine * p[0] + sine * p[1];
    let all = || outlines.iter().flatten().map(|p| across(*p));
    let (low, high) = all().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    let mut lines = Vec::new();
    if !(low.is_finite() && high.is_finite()) {
        return lines;
    }
    for step in (low / period).floor() as i64 - 1..=(high / period).ceil() as i64 {
        for offset in offsets {
            let level = step as f64 * period + offset;
            let mut cuts: Vec<f64> = outlines.iter().flat_map(|outline| cuts(outline, level, &across, &along)).collect();
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.chunks_exact(2).filter(|pair| pair[1] - pair[0] > 0.05) {
                let point = |s: f64| [cosine * s - sine * level, sine * s + cosine * level];
                lines.push([point(pair[0]), point(pair[1])]);
            }
        }
    }
    lines
}

fn cuts(outline: &[[f64; 2]], level: f64, across: &impl Fn([f64; 2]) -> f64, along: &impl Fn([f64; 2]) -> f64) -> Vec<f64> {
    (0..outline.len())
        .filter_map(|i| {
            let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
            let (va, vb) = (across(a) - level, across(b) - level);
            ((va < 0.0) != (vb < 0.0)).then(|| along(a) + (along(b) - along(a)) * va / (va - vb))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_stay_within_a_stepped_outline_and_fill_it() {
        let step = vec![[0.0, 0.0], [20.0, 0.0], [20.0, 10.0], [10.0, 10.0], [10.0, 30.0], [0.0, 30.0]];
        let lines = Pattern { class: Class::Carbon, mirrored: false }.lines(std::slice::from_ref(&step));
        let inside =
            |[x, y]: [f64; 2]| x > -1e-9 && y > -1e-9 && ((x < 20.0 + 1e-9 && y < 10.0 + 1e-9) || (x < 10.0 + 1e-9 && y < 30.0 + 1e-9));
        for [a, b] in &lines {
            let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
            assert!(inside(*a) && inside(*b) && inside(middle), "{a:?} {b:?}");
        }
        let length: f64 = lines.iter().map(|[a, b]| (b[0] - a[0]).hypot(b[1] - a[1])).sum();
        assert!((length * 2.2 / 400.0 - 1.0).abs() < 0.05, "length times spacing is the area: {length}");
        let mirrored = Pattern { class: Class::Carbon, mirrored: true }.lines(&[step]);
        assert!(mirrored.iter().all(|[a, b]| (b[0] - a[0]) * (b[1] - a[1]) < 0.0));
    }
}
