//! Drawings as the pages of a PDF file, at 1:1.
//!
//! A page is as large as its drawing: 1 mm is 72 / 25.4 points. Letters are embedded, only those that are used. The file has no date and no name of
//! a place, so the same pages give the same bytes.

use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, LineCap, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use kurbo::{BezPath, PathEl, Shape as _};
use tubewright::units::LengthUnit;

use crate::draw::{DRAWN, Drawing, Face, Ink, Item, Label, Pen};

/// Points for one mm.
const POINTS: f64 = 72.0 / 25.4;

/// A sheet of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm by 297 mm (ISO 216).
    A4,
    /// 8 1/2 in by 11 in (ANSI/ASME Y14.1, size A).
    Letter,
}

impl Paper {
    /// What lies in the printer where files are written in this unit: Letter for inches and feet, A4 for any other.
    #[must_use]
    pub const fn usual(unit: LengthUnit) -> Self {
        if unit.is_imperial() { Self::Letter } else { Self::A4 }
    }

    /// Its width, mm.
    #[must_use]
    pub const fn width(self) -> f64 {
        match self {
            Self::A4 => 210.0,
            Self::Letter => 215.9,
        }
    }

    /// Its height, mm.
    #[must_use]
    pub const fn height(self) -> f64 {
        match self {
            Self::A4 => 297.0,
            Self::Letter => 279.4,
        }
    }
}

/// The PDF file with one page for each drawing.
///
/// # Panics
/// Where there is no page, or a page has no width or height.
#[must_use]
pub fn pdf(title: &str, pages: &[Drawing]) -> Vec<u8> {
    assert!(!pages.is_empty(), "a file of no pages");
    let mut document = Document::new();
    document.set_metadata(Metadata::new().title(title.to_owned()).language("en".to_owned()));
    let fonts = Fonts::new();
    for page in pages {
        let (width, height) = ((page.width * POINTS) as f32, (page.height * POINTS) as f32);
        let settings = PageSettings::from_wh(width, height).expect("a page has a width and a height");
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        let scale = POINTS as f32;
        surface.push_transform(&Transform::from_scale(scale, scale));
        draw(&mut surface, &fonts, &page.items);
        surface.pop();
        surface.finish();
        sheet.finish();
    }
    document.finish().expect("a file without images, links and tags breaks no rule of the format")
}

/// The two faces, read once for a file.
struct Fonts {
    book: Font,
    bold: Font,
}

impl Fonts {
    fn new() -> Self {
        let read = |face: Face| Font::new(face.file().into(), 0).expect("the font files are part of the program");
        Self { book: read(Face::Book), bold: read(Face::Bold) }
    }

    fn of(&self, face: Face) -> Font {
        match face {
            Face::Book => self.book.clone(),
            Face::Bold => self.bold.clone(),
        }
    }
}

fn draw(surface: &mut Surface<'_>, fonts: &Fonts, items: &[Item]) {
    for item in items {
        match item {
            Item::Path { path, fill, pen } => {
                let Some(path) = shape(path) else { continue };
                surface.set_fill(fill.map(self::fill));
                surface.set_stroke(pen.map(stroke));
                surface.draw_path(&path);
            }
            Item::Text(label) => text(surface, fonts, label),
            Item::Window { window, by, items } => {
                let Some(window) = shape(&window.to_path(DRAWN)) else { continue };
                surface.push_clip_path(&window, &krilla::paint::FillRule::NonZero);
                surface.push_transform(&Transform::from_translate(by.x as f32, by.y as f32));
                draw(surface, fonts, items);
                surface.pop();
                surface.pop();
            }
        }
    }
}

/// Words are set letter by letter at the widths that [`Face::width`] adds up.
fn text(surface: &mut Surface<'_>, fonts: &Fonts, label: &Label) {
    if label.words.is_empty() {
        return;
    }
    surface.set_fill(Some(fill(label.ink)));
    surface.set_stroke(None);
    let glyphs: Vec<KrillaGlyph> = label
        .words
        .char_indices()
        .map(|(at, letter)| {
            let (glyph, width) = label.face.glyph(letter);
            KrillaGlyph {
                glyph_id: GlyphId::new(glyph),
                text_range: at..at + letter.len_utf8(),
                x_advance: width as f32,
                x_offset: 0.0,
                y_offset: 0.0,
                y_advance: 0.0,
                location: None,
            }
        })
        .collect();
    let [a, b, c, d, e, f] = label.place().as_coeffs().map(|value| value as f32);
    surface.push_transform(&Transform::from_row(a, b, c, d, e, f));
    let start = Point::from_xy(label.start() as f32, 0.0);
    surface.draw_glyphs(start, &glyphs, fonts.of(label.face), &label.words, label.size as f32, false);
    surface.pop();
}

fn colour(ink: Ink) -> rgb::Color {
    rgb::Color::new(ink.0, ink.1, ink.2)
}

fn fill(ink: Ink) -> Fill {
    Fill { paint: colour(ink).into(), opacity: NormalizedF32::ONE, ..Fill::default() }
}

fn stroke(pen: Pen) -> Stroke {
    Stroke {
        paint: colour(pen.ink).into(),
        width: pen.width as f32,
        line_cap: if pen.round { LineCap::Round } else { LineCap::Butt },
        line_join: if pen.round { LineJoin::Round } else { LineJoin::Miter },
        dash: pen.dash.map(|(dash, gap)| StrokeDash { array: vec![dash as f32, gap as f32], offset: 0.0 }),
        ..Stroke::default()
    }
}

fn shape(path: &BezPath) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for step in path.elements() {
        match *step {
            PathEl::MoveTo(to) => builder.move_to(to.x as f32, to.y as f32),
            PathEl::LineTo(to) => builder.line_to(to.x as f32, to.y as f32),
            PathEl::QuadTo(by, to) => builder.quad_to(by.x as f32, by.y as f32, to.x as f32, to.y as f32),
            PathEl::CurveTo(one, other, to) => {
                let (one, other) = ((one.x as f32, one.y as f32), (other.x as f32, other.y as f32));
                builder.cubic_to(one.0, one.1, other.0, other.1, to.x as f32, to.y as f32);
            }
            PathEl::ClosePath => builder.close(),
        }
    }
    builder.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_pages_give_the_same_bytes() {
        let mut page = Drawing::new("", Paper::A4.width(), Paper::A4.height());
        page.line((10.0, 20.0), (110.0, 20.0), Pen::BOLD);
        page.text(Label::new((10.0, 30.0), "100 mm, 1/2 in").bold());
        page.place_in_window(&page.clone(), (0.0, 50.0), kurbo::Rect::new(0.0, 50.0, 60.0, 100.0));
        let file = pdf("A bar", &[page.clone(), page.clone()]);
        assert!(file.starts_with(b"%PDF-"));
        assert_eq!(file, pdf("A bar", &[page.clone(), page]));
    }
}
