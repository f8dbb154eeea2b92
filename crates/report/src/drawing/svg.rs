//! A drawing as SVG: millimetres, two decimals, its own white sheet, no fonts from outside.

use std::fmt::Write;

use super::{Anchor, Drawing, Layer, SHEET_MM, Shape, Stroke};
use crate::digits::number;

impl Drawing {
    /// The drawing as an SVG document. It carries a white sheet of its own and so reads alike on light and dark pages.
    pub fn svg(&self) -> String {
        let [width, height] = SHEET_MM;
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" role=\"img\" \
             aria-labelledby=\"title description\" font-family=\"sans-serif\" stroke-linejoin=\"round\">\n\
             <title id=\"title\">{}</title>\n<desc id=\"description\">{}</desc>\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n",
            escaped(&self.title),
            escaped(&self.description)
        );
        for layer in Layer::ALL {
            let shapes: Vec<&Shape> = self.items.iter().filter(|item| item.layer == layer).map(|item| &item.shape).collect();
            if shapes.is_empty() {
                continue;
            }
            let ink = if layer == Layer::Flush { "#1d5c87" } else { "#000" };
            let _ = writeln!(svg, "<g id=\"{}\" fill=\"none\" stroke=\"{ink}\">", layer.name().to_lowercase());
            write_shapes(&mut svg, &shapes, ink);
            svg.push_str("</g>\n");
        }
        svg.push_str("</svg>\n");
        svg
    }
}

fn write_shapes(svg: &mut String, shapes: &[&Shape], ink: &str) {
    let mut rest = shapes;
    while let Some(first) = rest.first() {
        if let Shape::Line { stroke, .. } = first {
            // neighbours of one kind share a path: hatching would otherwise fill the file
            let same = |shape: &&Shape| matches!(shape, Shape::Line { stroke: other, .. } if other == stroke);
            let count = rest.iter().take_while(|shape| same(shape)).count();
            write_lines(svg, *stroke, &rest[..count]);
            rest = &rest[count..];
            continue;
        }
        write_other(svg, first, ink);
        rest = &rest[1..];
    }
}

fn write_lines(svg: &mut String, stroke: Stroke, lines: &[&Shape]) {
    let dashes = if stroke == Stroke::Centre { " stroke-dasharray=\"9 1.2 1 1.2\"" } else { "" };
    let _ = write!(svg, "<path stroke-width=\"{}\"{dashes} d=\"", stroke.width_mm());
    for line in lines {
        if let Shape::Line { points, closed, .. } = line {
            write_path(svg, points, *closed);
        }
    }
    svg.push_str("\"/>\n");
}

fn write_path(svg: &mut String, points: &[[f64; 2]], closed: bool) {
    for (k, point) in points.iter().enumerate() {
        svg.push(if k == 0 { 'M' } else { 'L' });
        let _ = write!(svg, "{} {}", number(point[0]), number(SHEET_MM[1] - point[1]));
    }
    if closed {
        svg.push('Z');
    }
}

fn write_other(svg: &mut String, shape: &Shape, ink: &str) {
    match shape {
        Shape::Fill { polygons, colour } => {
            let [r, g, b] = if *colour == [0; 3] && ink != "#000" { super::labels::SEALED } else { *colour };
            let paint = format!("#{r:02x}{g:02x}{b:02x}");
            // a hair of the same colour closes the seams between neighbours
            let _ = write!(svg, "<path fill=\"{paint}\" stroke=\"{paint}\" stroke-width=\"0.08\" d=\"");
            polygons.iter().for_each(|polygon| write_path(svg, polygon, true));
            svg.push_str("\"/>\n");
        }
        Shape::Circle { centre: [x, y], radius, filled } => {
            let fill = if *filled { ink } else { "#fff" };
            let (x, y, r) = (number(*x), number(SHEET_MM[1] - y), number(*radius));
            let _ = writeln!(svg, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{fill}\" stroke-width=\"0.25\"/>");
        }
        Shape::Ring { centre: [x, y], radius } => {
            let (x, y, r) = (number(*x), number(SHEET_MM[1] - y), number(*radius));
            let _ = writeln!(svg, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" stroke-width=\"{}\"/>", Stroke::Narrow.width_mm());
        }
        Shape::Text { at: [x, y], anchor, upright, size, content } => {
            let (x, y) = (number(*x), number(SHEET_MM[1] - y));
            let turned = if *upright { format!(" transform=\"rotate(-90 {x} {y})\"") } else { String::new() };
            let anchored = if *anchor == Anchor::Middle { " text-anchor=\"middle\"" } else { "" };
            let content = escaped(content);
            let _ = writeln!(
                svg,
                "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\"{anchored}{turned} fill=\"{ink}\" stroke=\"none\">{content}</text>",
                number(*size)
            );
        }
        Shape::Line { .. } => {}
    }
}

pub(super) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            // XML 1.0 has no place for other control characters
            control if control.is_control() => safe.push(' '),
            other => safe.push(other),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_cannot_break_out() {
        assert_eq!(escaped("a<b>&\"c\u{7}"), "a&lt;b&gt;&amp;&quot;c ");
    }
}
