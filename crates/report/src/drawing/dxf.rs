//! A drawing as DXF of release 12, the plainest that every reader knows: lines, closed polylines, circles, solids, text.
//!
//! Model space is in the unit of the dimensions, millimetres or inches of the seal itself, the origin where the plane of the faces meets the
//! axis, so that a length measured in the file is the one written. Release 12 has no variable for the unit: the subtitle names it. Letters
//! and the width of the sheet are divided by the scale. Hatching is lines; bands of temperature are left out, the lines between them stay.

use std::fmt::Write;

use halfmicron::sheet::UnitSet;

use super::{Anchor, Drawing, Layer, SHEET_MM, Shape, Stroke};

impl Drawing {
    /// The drawing as a DXF document.
    pub fn dxf(&self) -> String {
        let unit_m = match self.units {
            UnitSet::Si => 1e-3,
            UnitSet::Us => 25.4e-3,
        };
        let mut dxf = Dxf { text: String::new(), scale: self.frame.scale.mm_per_m() * unit_m, origin: self.frame.origin_mm };
        let (low, high) = (dxf.place([0.0, 0.0]), dxf.place(SHEET_MM));
        dxf.header(low, high);
        dxf.tables();
        dxf.pair(0, "SECTION");
        dxf.pair(2, "ENTITIES");
        for item in &self.items {
            dxf.entity(item.layer, &item.shape);
        }
        dxf.pair(0, "ENDSEC");
        dxf.pair(0, "EOF");
        dxf.text
    }
}

struct Dxf {
    text: String,
    scale: f64,
    origin: [f64; 2],
}

impl Dxf {
    fn pair(&mut self, code: u8, value: &str) {
        let _ = writeln!(self.text, "{code:>3}\n{value}");
    }

    fn real(&mut self, code: u8, value: f64) {
        let rounded = (value * 1e6).round() / 1e6 + 0.0;
        self.pair(code, &format!("{rounded:.6}"));
    }

    /// Paper to the seal's own size.
    fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [(x - self.origin[0]) / self.scale, (y - self.origin[1]) / self.scale]
    }

    fn point(&mut self, code: u8, paper: [f64; 2]) {
        let [x, y] = self.place(paper);
        self.real(code, x);
        self.real(code + 10, y);
        self.real(code + 20, 0.0);
    }

    fn header(&mut self, low: [f64; 2], high: [f64; 2]) {
        self.pair(0, "SECTION");
        self.pair(2, "HEADER");
        self.pair(9, "$ACADVER");
        self.pair(1, "AC1009");
        for (name, [x, y]) in [("$EXTMIN", low), ("$EXTMAX", high), ("$LIMMIN", low), ("$LIMMAX", high)] {
            self.pair(9, name);
            self.real(10, x);
            self.real(20, y);
            if name.starts_with("$EXT") {
                self.real(30, 0.0);
            }
        }
        self.pair(9, "$LTSCALE");
        self.real(40, 1.0 / self.scale);
        self.pair(0, "ENDSEC");
    }

    fn tables(&mut self) {
        self.pair(0, "SECTION");
        self.pair(2, "TABLES");
        self.table("LTYPE", 2);
        self.line_type("CONTINUOUS", "Solid", &[]);
        self.line_type("CHAIN", "Long dash, dot", &[9.0, -1.2, 1.0, -1.2]);
        self.pair(0, "ENDTAB");
        self.table("LAYER", Layer::ALL.len() + 1);
        self.layer("0", 7, "CONTINUOUS");
        for layer in Layer::ALL {
            let line_type = if layer == Layer::CentreLine { "CHAIN" } else { "CONTINUOUS" };
            self.layer(layer.name(), colour_of(layer), line_type);
        }
        self.pair(0, "ENDTAB");
        self.table("STYLE", 1);
        self.pair(0, "STYLE");
        self.pair(2, "STANDARD");
        self.pair(70, "0");
        for (code, value) in [(40, 0.0), (41, 1.0), (50, 0.0)] {
            self.real(code, value);
        }
        self.pair(71, "0");
        self.real(42, 2.5);
        self.pair(3, "txt");
        self.pair(4, "");
        self.pair(0, "ENDTAB");
        self.pair(0, "ENDSEC");
    }

    fn table(&mut self, name: &str, count: usize) {
        self.pair(0, "TABLE");
        self.pair(2, name);
        self.pair(70, &count.to_string());
    }

    fn line_type(&mut self, name: &str, words: &str, dashes: &[f64]) {
        self.pair(0, "LTYPE");
        self.pair(2, name);
        self.pair(70, "0");
        self.pair(3, words);
        self.pair(72, "65");
        self.pair(73, &dashes.len().to_string());
        self.real(40, dashes.iter().map(|dash| dash.abs()).sum());
        for dash in dashes {
            self.real(49, *dash);
        }
    }

    fn layer(&mut self, name: &str, colour: u8, line_type: &str) {
        self.pair(0, "LAYER");
        self.pair(2, name);
        self.pair(70, "0");
        self.pair(62, &colour.to_string());
        self.pair(6, line_type);
    }

    fn begin(&mut self, kind: &str, layer: Layer) {
        self.pair(0, kind);
        self.pair(8, layer.name());
    }

    fn entity(&mut self, layer: Layer, shape: &Shape) {
        match shape {
            Shape::Line { points, closed: false, .. } if points.len() == 2 => {
                self.begin("LINE", layer);
                self.point(10, points[0]);
                self.point(11, points[1]);
            }
            Shape::Line { points, closed, stroke } => self.polyline(layer, points, *closed, *stroke),
            Shape::Circle { centre, radius, .. } | Shape::Ring { centre, radius } => {
                self.begin("CIRCLE", layer);
                self.point(10, *centre);
                self.real(40, radius / self.scale);
            }
            Shape::Fill { polygons, .. } if layer == Layer::Film => {
                polygons.iter().for_each(|polygon| self.polyline(layer, polygon, true, Stroke::Narrow));
            }
            // bands of colour and shades of a face stay in the picture; arrow heads are triangles
            Shape::Fill { polygons, colour: [0, 0, 0] } if layer != Layer::Temperature => {
                for polygon in polygons.iter().filter(|polygon| polygon.len() == 3) {
                    self.begin("SOLID", layer);
                    for (code, k) in [(10, 0), (11, 1), (12, 2), (13, 2)] {
                        self.point(code, polygon[k]);
                    }
                }
            }
            Shape::Fill { .. } => {}
            Shape::Text { at, anchor, upright, size, content } => {
                self.begin("TEXT", layer);
                self.point(10, *at);
                // a font size is about 1.4 heights of a capital
                self.real(40, size / 1.4 / self.scale);
                self.pair(1, &plain(content));
                if *upright {
                    self.real(50, 90.0);
                }
                if *anchor == Anchor::Middle {
                    self.pair(72, "1");
                    self.point(11, *at);
                }
            }
        }
    }

    fn polyline(&mut self, layer: Layer, points: &[[f64; 2]], closed: bool, _stroke: Stroke) {
        self.begin("POLYLINE", layer);
        self.pair(66, "1");
        for code in [10, 20, 30] {
            self.real(code, 0.0);
        }
        self.pair(70, if closed { "1" } else { "0" });
        for point in points {
            self.begin("VERTEX", layer);
            self.point(10, *point);
        }
        self.pair(0, "SEQEND");
        self.pair(8, layer.name());
    }
}

/// Colour number of a layer.
fn colour_of(layer: Layer) -> u8 {
    match layer {
        Layer::Hatching | Layer::Schematic => 8,
        Layer::Film | Layer::Flush => 5,
        Layer::Temperature | Layer::CentreLine => 1,
        _ => 7,
    }
}

/// Text of release 12: plain letters, the sign of a diameter as `%%c`, `%` itself doubled as its own control code.
fn plain(content: &str) -> String {
    let mut text = String::with_capacity(content.len());
    for character in content.chars() {
        match character {
            '\u{d8}' => text.push_str("%%c"),
            '%' => text.push_str("%%%"),
            ascii if ascii.is_ascii() && !ascii.is_ascii_control() => text.push(ascii),
            control if control.is_control() => text.push(' '),
            other => {
                let _ = write!(text, "\\U+{:04X}", u32::from(other));
            }
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_plain() {
        assert_eq!(plain("balance \u{d8}52.4"), "balance %%c52.4");
        assert_eq!(plain("PTFE, 25 % glass\n\u{e9}"), "PTFE, 25 %%% glass \\U+00E9");
    }
}
