//! What a reader of PDF finds in a file: text page by page, and where its letters stand.

use hayro_interpret::font::Glyph;
use hayro_interpret::hayro_cmap::BfString;
use hayro_interpret::hayro_syntax::Pdf;
use hayro_interpret::hayro_syntax::page::Page as Leaf;
use hayro_interpret::{BlendMode, ClipPath, Context, Device, GlyphDrawMode, Image, InterpreterCache, InterpreterSettings, Paint};
use hayro_interpret::{PathDrawMode, SoftMask, interpret_page};
use kurbo::{Affine, BezPath, Point, Rect};

/// A page as read.
#[derive(Debug, Default)]
pub struct Page {
    /// Width and height, pt.
    pub size: (f64, f64),
    /// Letters without blanks.
    pub text: String,
    /// Letters that the file gives no meaning.
    pub unreadable: usize,
    /// Where letters begin, pt from the upper left corner.
    pub places: Vec<(f64, f64)>,
}

/// Every page of a file.
pub fn pages(bytes: &[u8]) -> Vec<Page> {
    let pdf = Pdf::new(bytes.to_vec()).expect("a PDF");
    let cache = InterpreterCache::new();
    pdf.pages().iter().map(|page| read(page, &cache)).collect()
}

fn read<'a>(page: &'a Leaf<'a>, cache: &InterpreterCache<'a>) -> Page {
    let (width, height) = page.render_dimensions();
    let size = (f64::from(width), f64::from(height));
    let mut reader = Page { size, ..Page::default() };
    let bounds = Rect::new(0.0, 0.0, size.0, size.1);
    let mut context = Context::new(Affine::IDENTITY, bounds, cache, page.xref(), InterpreterSettings::default());
    interpret_page(page, &mut context, &mut reader);
    reader
}

impl Device<'_> for Page {
    fn draw_glyph(&mut self, glyph: &Glyph<'_>, transform: Affine, own: Affine, _: &Paint<'_>, _: &GlyphDrawMode) {
        match glyph.as_unicode() {
            Some(BfString::Char(letter)) => self.text.extend((!letter.is_whitespace()).then_some(letter)),
            Some(BfString::String(letters)) => self.text.extend(letters.chars().filter(|letter| !letter.is_whitespace())),
            None => self.unreadable += 1,
        }
        let place = transform * own * Point::ZERO;
        self.places.push((place.x, place.y));
    }
    fn set_soft_mask(&mut self, _: Option<SoftMask<'_>>) {}
    fn set_blend_mode(&mut self, _: BlendMode) {}
    fn draw_path(&mut self, _: &BezPath, _: Affine, _: &Paint<'_>, _: &PathDrawMode) {}
    fn push_clip_path(&mut self, _: &ClipPath) {}
    fn push_transparency_group(&mut self, _: f32, _: Option<SoftMask<'_>>, _: BlendMode) {}
    fn draw_image(&mut self, _: Image<'_, '_>, _: Affine) {}
    fn pop_clip_path(&mut self) {}
    fn pop_transparency_group(&mut self) {}
}
