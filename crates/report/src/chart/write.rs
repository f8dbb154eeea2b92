//! SVG as text: presentation attributes alone, two decimals.

use std::fmt::Write;

use super::Style;
use super::boxes::{Rect, runs, text_width};
use super::style::{Dot, Paint, Pen, hair, text_size};
use crate::digits::number;

/// An SVG element being written.
pub(super) struct Svg {
    text: String,
    pub style: Style,
    /// Font size, px.
    pub size: f64,
}

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hold {
    Start,
    Middle,
    End,
}

/// Strength of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Plain,
    Soft,
}

/// Share of the font size that letters stand above their line.
pub(super) const ABOVE: f64 = 0.78;

impl Svg {
    /// The opened root element: size, names for those who do not see it, and what a page needs to place a cursor.
    pub fn open(placing: &super::Placing, title: &str, description: &str, data: &str) -> Self {
        let (width, height) = (number(placing.width_px), number(placing.height_px));
        let size = text_size(placing.style);
        let measures = match placing.style {
            Style::Page => format!("width=\"{width}\" height=\"{height}\""),
            Style::Paper => {
                let [wide, high] = [placing.width_px, placing.height_px].map(|px| number(px / super::PX_PER_MM));
                format!("width=\"{wide}mm\" height=\"{high}mm\"")
            }
        };
        let family = placing.family.map_or(String::new(), |family| format!(" font-family=\"{}\"", escaped(family)));
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" {measures} viewBox=\"0 0 {width} {height}\" role=\"img\" class=\"chart\" \
             font-size=\"{size}\"{family} fill=\"none\"{data}>\n<title>{}</title>\n<desc>{}</desc>\n",
            escaped(title),
            escaped(description)
        );
        Self { text, style: placing.style, size }
    }

    pub fn close(mut self) -> String {
        self.text.push_str("</svg>\n");
        self.text
    }

    pub fn open_group(&mut self, class: &str) {
        let _ = writeln!(self.text, "<g class=\"{class}\">");
    }

    pub fn close_group(&mut self) {
        self.text.push_str("</g>\n");
    }

    /// Hairlines, each from one point to another.
    pub fn hairs(&mut self, paint: Paint, lines: &[[[f64; 2]; 2]]) {
        self.lines(Pen { paint, width: hair(self.style), dashes: "" }, lines);
    }

    pub fn lines(&mut self, pen: Pen, lines: &[[[f64; 2]; 2]]) {
        if lines.is_empty() {
            return;
        }
        let path: String = lines.iter().map(|line| path(line)).collect();
        self.stroke(pen, &path);
    }

    pub fn polyline(&mut self, pen: Pen, points: &[[f64; 2]]) {
        self.stroke(pen, &path(points));
    }

    fn stroke(&mut self, pen: Pen, path: &str) {
        let dashes = if pen.dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", pen.dashes) };
        let paint = pen.paint.on(self.style);
        let _ = writeln!(
            self.text,
            "<path stroke=\"{paint}\" stroke-width=\"{}\" stroke-linejoin=\"round\"{dashes} d=\"{path}\"/>",
            number(pen.width)
        );
    }

    /// A flat area, as strong as its share of full colour.
    pub fn area(&mut self, paint: Paint, share: f64, points: &[[f64; 2]]) {
        let paint = paint.on(self.style);
        let _ = writeln!(self.text, "<path fill=\"{paint}\" fill-opacity=\"{}\" d=\"{}Z\"/>", number(share), path(points));
    }

    pub fn outlined(&mut self, paint: Paint, rect: &Rect) {
        let corners =
            [[rect.left, rect.top], [rect.right, rect.top], [rect.right, rect.bottom], [rect.left, rect.bottom], [rect.left, rect.top]];
        self.polyline(Pen { paint, width: hair(self.style), dashes: "" }, &corners);
    }

    /// Lines at 45 degrees over a rectangle.
    pub fn hatched(&mut self, pen: Pen, rect: &Rect, distance: f64) {
        let rise = rect.bottom - rect.top;
        let first = (rect.left / distance).floor() as i64;
        let last = ((rect.right + rise) / distance).ceil() as i64;
        let line = |k: i64| [[k as f64 * distance, rect.top], [k as f64 * distance - rise, rect.bottom]];
        let lines: Vec<[[f64; 2]; 2]> = (first..=last).filter_map(|k| super::boxes::clipped(line(k)[0], line(k)[1], rect)).collect();
        self.lines(pen, &lines);
    }

    pub fn dot(&mut self, pen: Pen, dot: Dot, [x, y]: [f64; 2]) {
        let paint = pen.paint.on(self.style);
        let (across, down) = (number(x), number(y));
        match dot {
            Dot::Full => {
                let _ = writeln!(self.text, "<circle cx=\"{across}\" cy=\"{down}\" r=\"2.2\" fill=\"{paint}\"/>");
            }
            Dot::Open => {
                let paper = Paint::Paper.on(self.style);
                let _ = writeln!(
                    self.text,
                    "<circle cx=\"{across}\" cy=\"{down}\" r=\"2.8\" fill=\"{paper}\" stroke=\"{paint}\" stroke-width=\"{}\"/>",
                    number(pen.width)
                );
            }
            Dot::Cross => {
                let reach = 2.8;
                let pen = Pen { dashes: "", ..pen };
                self.lines(pen, &[[[x - reach, y - reach], [x + reach, y + reach]], [[x - reach, y + reach], [x + reach, y - reach]]]);
            }
        }
    }

    pub fn words(&mut self, text: &str, [x, y]: [f64; 2], hold: Hold, weight: Weight) {
        self.text_with(text, [x, y], hold, weight, "");
    }

    /// A text over lines: they are kept off its letters.
    pub fn words_over(&mut self, text: &str, at: [f64; 2], weight: Weight) {
        let halo =
            format!(" stroke=\"{}\" stroke-width=\"3\" stroke-linejoin=\"round\" paint-order=\"stroke\"", Paint::Paper.on(self.style));
        self.text_with(text, at, Hold::Start, weight, &halo);
    }

    fn text_with(&mut self, text: &str, [x, y]: [f64; 2], hold: Hold, weight: Weight, more: &str) {
        let anchor = match hold {
            Hold::Start => "",
            Hold::Middle => " text-anchor=\"middle\"",
            Hold::End => " text-anchor=\"end\"",
        };
        let paint = match weight {
            Weight::Plain => Paint::Ink,
            Weight::Soft => Paint::Soft,
        };
        let _ = writeln!(
            self.text,
            "<text x=\"{}\" y=\"{}\"{anchor} fill=\"{}\"{more}>{}</text>",
            number(x),
            number(y),
            paint.on(self.style),
            escaped(text)
        );
    }

    /// A heading with its unit, soft, behind it.
    pub fn heading(&mut self, title: &str, unit: &str, [x, y]: [f64; 2]) {
        let (ink, soft) = (Paint::Ink.on(self.style), Paint::Soft.on(self.style));
        let unit = if unit.is_empty() {
            String::new()
        } else {
            format!("<tspan dx=\"4\" font-weight=\"400\" fill=\"{soft}\">{}</tspan>", escaped(unit))
        };
        let _ = writeln!(
            self.text,
            "<text x=\"{}\" y=\"{}\" fill=\"{ink}\" font-weight=\"600\">{}{unit}</text>",
            number(x),
            number(y),
            escaped(title)
        );
    }

    /// Runs of a line inside a frame; where a run is one point, a dot.
    pub fn broken_line(&mut self, pen: Pen, points: &[Option<[f64; 2]>], within: &Rect) {
        for run in runs(points, within) {
            match run[..] {
                [alone] => self.dot(pen, Dot::Full, alone),
                _ => self.polyline(pen, &run),
            }
        }
    }
}

/// Width of a strong text, px.
pub(super) fn strong_width(text: &str, size: f64) -> f64 {
    1.08 * text_width(text, size)
}

fn path(points: &[[f64; 2]]) -> String {
    let mut path = String::new();
    for (k, [x, y]) in points.iter().enumerate() {
        let _ = write!(path, "{}{} {}", if k == 0 { 'M' } else { 'L' }, number(*x), number(*y));
    }
    path
}

pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
