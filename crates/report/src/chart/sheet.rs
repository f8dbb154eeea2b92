//! Several charts as one picture on paper: profiles of a duty in a row, sweeps in two columns, bars over the whole width.

use std::fmt::Write;

use halfmicron::sheet::chart::{Chart, ChartKind};

use super::write::escaped;
use super::{PX_PER_MM, Placing, svg};
use crate::digits::number;

/// Width of the picture, mm: A4 upright with margins of 12 mm.
const WIDTH_MM: f64 = 186.0;
const GAP_MM: f64 = 6.0;
const TITLE_MM: f64 = 9.0;

/// A chart with its place, mm.
struct Put<'a> {
    chart: &'a Chart,
    left: f64,
    top: f64,
    width: f64,
    height: f64,
}

/// The charts under a title, on white; as wide as an A4 page.
pub fn sheet(title: &str, charts: &[Chart]) -> String {
    let (puts, headings, height) = arranged(charts);
    let [wide, high] = [WIDTH_MM, height].map(|mm| number(mm * PX_PER_MM));
    let mut picture = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\" viewBox=\"0 0 {wide} {high}\" font-family=\"sans-serif\" \
         font-size=\"11\">\n<title>{}</title>\n<rect width=\"{wide}\" height=\"{high}\" fill=\"#ffffff\"/>\n",
        number(WIDTH_MM),
        number(height),
        escaped(title)
    );
    write_heading(&mut picture, title, 5.0, "13");
    for (text, top) in headings {
        write_heading(&mut picture, text, top, "11");
    }
    for put in puts {
        let place = format!("<svg x=\"{}\" y=\"{}\" ", number(put.left * PX_PER_MM), number(put.top * PX_PER_MM));
        picture.push_str(&svg(put.chart, None, &Placing::paper(put.width, put.height)).replacen("<svg ", &place, 1));
    }
    picture.push_str("</svg>\n");
    picture
}

fn write_heading(picture: &mut String, text: &str, baseline_mm: f64, size: &str) {
    let baseline = number(baseline_mm * PX_PER_MM);
    let _ = writeln!(
        picture,
        "<text x=\"0\" y=\"{baseline}\" font-size=\"{size}\" font-weight=\"600\" fill=\"#1c1b19\">{}</text>",
        escaped(text)
    );
}

/// Charts in their places, duties' names with their baselines, height of all.
fn arranged(charts: &[Chart]) -> (Vec<Put<'_>>, Vec<(&str, f64)>, f64) {
    let (mut puts, mut headings): (Vec<Put>, Vec<(&str, f64)>) = (Vec::new(), Vec::new());
    let mut top = TITLE_MM;
    let mut rest = charts;
    while let Some(first) = rest.first() {
        let (columns, height) = match first.kind {
            ChartKind::Profile => (3, 58.0),
            ChartKind::Sweep | ChartKind::Around => (2, 62.0),
            ChartKind::Bars => (1, 16.0 + 7.5 * first.bars.len() as f64),
        };
        let alike = rest.iter().take_while(|chart| chart.kind == first.kind && chart.duty == first.duty).count().min(columns);
        if let Some(duty) = first.duty.as_deref().filter(|_| first.kind == ChartKind::Profile) {
            headings.push((duty, top + 4.0));
            top += 6.0;
        }
        let width = (WIDTH_MM - GAP_MM * (columns - 1) as f64) / columns as f64;
        puts.extend(rest[..alike].iter().enumerate().map(|(k, chart)| Put {
            chart,
            left: (width + GAP_MM) * k as f64,
            top,
            width,
            height,
        }));
        top += height + GAP_MM;
        rest = &rest[alike..];
    }
    (puts, headings, top)
}
