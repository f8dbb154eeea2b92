//! What is written beside and below the picture: names of diameters, bar of lengths, key of colours, factor.

use halfmicron::sheet::units::{Kind, unit};

use super::super::dimensions::length;
use super::super::field::Bands;
use super::ViewWanted;
use super::canvas::{Canvas, Hang, Ink, LETTER_PX, Words, width};
use super::rings::{Scene, path_of};
use super::window::CAPTION_PX;

/// Distance of lines of text, px.
pub(super) const LINE_PX: f64 = 15.0;

/// Lines at the edges of the band and at the balance diameter, to the right edge where curves go on with them, and their names.
pub(super) fn radii(canvas: &mut Canvas, scene: &Scene, wanted: &ViewWanted) {
    let (model, window) = (scene.model, scene.window);
    let narrow_ring = path_of(model.narrow_ring);
    let mut lines = [
        ("outer", model.band.outer_radius_m, format!("{narrow_ring}.face.outer"), " stroke-dasharray=\"3 3\""),
        ("balance", model.seal.balance_radius_m, "seal.balance_diameter".to_owned(), " stroke-dasharray=\"9 3 2 3\""),
        ("inner", model.band.inner_radius_m, format!("{narrow_ring}.face.inner"), " stroke-dasharray=\"3 3\""),
    ];
    lines.sort_by(|a, b| b.1.total_cmp(&a.1));
    let heights = lines.each_ref().map(|line| window.y(line.1));
    for (k, (name, radius, path, dashes)) in lines.iter().enumerate() {
        let y = heights[k];
        if y < 1.0 || y > window.height_px - 1.0 {
            continue;
        }
        canvas.open(path, &format!("{name} diameter"));
        canvas.stroke(
            &[[[window.face_px, y], [wanted.size_px[0], y]]],
            false,
            Ink::Main,
            0.75,
            &format!("{dashes} stroke-opacity=\"0.75\""),
        );
        canvas.close();
        let size = format!("\u{2300}{}", length(2.0 * radius, wanted.units));
        let content = if scene.narrow { size } else { format!("{name} {size}") };
        // the highest above its line, the lowest below, the one between where there is more room
        let above = match k {
            0 => true,
            1 => y - heights[0] > heights[2] - y,
            _ => false,
        };
        let room = if k == 1 { (y - heights[0]).max(heights[2] - y) } else { f64::INFINITY };
        if room > LINE_PX {
            let at = [window.width_px + 8.0, if above { y - 4.0 } else { y + LETTER_PX }];
            canvas.words(&Words { at, hang: Hang::Start, content, ink: Ink::Main, bold: false, halo: None, path: Some(path.clone()) });
        }
    }
}

/// Below the picture: the bar of lengths, the key of colours, the factor.
pub(super) fn captions(canvas: &mut Canvas, scene: &Scene, bands: Option<&Bands>, factor: Option<f64>, wanted: &ViewWanted, rows: usize) {
    let window = scene.window;
    let y = window.height_px + CAPTION_PX - 7.0;
    let shown = unit(Kind::Length, wanted.units);
    let per_unit = window.px_per_m / (shown.convert(1.0) - shown.convert(0.0));
    let sizes = [0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
    let bar = sizes.into_iter().rev().find(|size| size * per_unit < 90.0).unwrap_or(0.05);
    let right = 4.0 + bar * per_unit;
    canvas.stroke(&[[[4.0, y - 9.0], [4.0, y - 3.0], [right, y - 3.0], [right, y - 9.0]]], false, Ink::Main, 1.0, "");
    let soft = |at: [f64; 2], hang: Hang, content: String| Words { at, hang, content, ink: Ink::Soft, bold: false, halo: None, path: None };
    let length = format!("{bar} {}", shown.label);
    let mut x = right + 6.0 + width(&length, false) + 18.0;
    canvas.words(&soft([right + 6.0, y], Hang::Start, length));
    if let Some(bands) = bands {
        x = key(canvas, bands, [x, y], wanted.size_px[0] - 4.0);
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
    if bands.even {
        let content = format!("{:.*} {} throughout", bands.decimals, bands.middle(), bands.label.replace("deg", "\u{b0}"));
        let length = width(&content, false);
        canvas.words(&soft(left, content));
        return left + length;
    }
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
