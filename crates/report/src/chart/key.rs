//! Samples of lines and areas with their words, in rows: for what no label beside a line can name.

use super::boxes::{Rect, text_width};
use super::labels::wrapped;
use super::style::{Dot, Paint, Pen};
use super::write::{ABOVE, Hold, Svg, Weight};

/// What a sample shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Sample {
    Line(Pen),
    Dot(Pen, Dot),
    Area(Fill),
}

/// How an area of a bar is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fill {
    Full,
    Hatched,
    Open,
}

/// Rows of samples.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Key {
    entries: Vec<Entry>,
    /// Height of all rows, px.
    pub height: f64,
}

#[derive(Debug, Clone, PartialEq)]
struct Entry {
    sample: Sample,
    lines: Vec<String>,
    left: f64,
    top: f64,
}

const SAMPLE: f64 = 22.0;
const GAP: f64 = 5.0;

/// Height of a row of text.
pub(super) fn row(size: f64) -> f64 {
    1.3 * size
}

impl Key {
    /// Entries in rows of a width.
    pub fn new(entries: &[(Sample, String)], width: f64, size: f64) -> Self {
        let (mut left, mut top, mut tall) = (0.0, 0.0, 0.0_f64);
        let mut placed = Vec::new();
        for (sample, text) in entries {
            let lines = wrapped(text, (width - SAMPLE - GAP).max(3.0 * size), size);
            let wide = SAMPLE + GAP + lines.iter().map(|line| text_width(line, size)).fold(0.0, f64::max);
            if left > 0.0 && left + wide > width {
                (left, top, tall) = (0.0, top + tall, 0.0);
            }
            tall = tall.max(row(size) * lines.len() as f64);
            placed.push(Entry { sample: *sample, lines, left, top });
            left += wide + 14.0;
        }
        Self { entries: placed, height: top + tall }
    }

    /// Whether an entry has these words.
    pub fn names(&self, text: &str) -> bool {
        self.entries.iter().any(|entry| entry.lines.join(" ") == text)
    }

    pub fn draw(&self, svg: &mut Svg, left: f64, top: f64) {
        let size = svg.size;
        for entry in &self.entries {
            let (x, y) = (left + entry.left, top + entry.top + 0.5 * row(size));
            match entry.sample {
                Sample::Line(pen) => svg.polyline(pen, &[[x, y], [x + SAMPLE, y]]),
                Sample::Dot(pen, dot) => svg.dot(pen, dot, [x + 0.5 * SAMPLE, y]),
                Sample::Area(fill) => fill.draw(svg, &Rect { left: x, top: y - 0.4 * size, right: x + SAMPLE, bottom: y + 0.4 * size }),
            }
            for (k, line) in entry.lines.iter().enumerate() {
                let baseline = y + row(size) * k as f64 + (ABOVE - 0.5) * size;
                svg.words(line, [x + SAMPLE + GAP, baseline], Hold::Start, Weight::Plain);
            }
        }
    }
}

impl Fill {
    /// A rectangle filled.
    pub fn draw(self, svg: &mut Svg, rect: &Rect) {
        let corners = [[rect.left, rect.top], [rect.right, rect.top], [rect.right, rect.bottom], [rect.left, rect.bottom]];
        match self {
            Fill::Full => svg.area(Paint::Rotating, 1.0, &corners),
            Fill::Hatched => svg.hatched(Pen { paint: Paint::Stationary, width: 0.8, dashes: "" }, rect, 5.0),
            Fill::Open => svg.area(Paint::Film, 0.2, &corners),
        }
        svg.outlined(if self == Fill::Open { Paint::Film } else { Paint::Ink }, rect);
    }
}
