//! A drawing as SVG, for a screen and for a page of HTML.
//!
//! Lengths are in mm with four decimals. No item has an id, so that drawings can stand in one page. Every line of words has its length stated:
//! with another font the letters move closer, and no label runs over its neighbour.

use std::fmt::Write as _;

use kurbo::{BezPath, PathEl, Point};

use super::{Anchor, Drawing, Face, Item, Label, Pen};

impl Drawing {
    /// The drawing as one `svg` element, at its size in mm.
    #[must_use]
    pub fn svg(&self) -> String {
        let (width, height) = (number(self.width), number(self.height));
        let title = escaped(&self.title);
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" \
             role=\"img\" font-family=\"'DejaVu Sans Condensed', sans-serif\"><title>{title}</title>\n"
        );
        write_items(&mut out, &self.items);
        out.push_str("</svg>\n");
        out
    }
}

fn write_items(out: &mut String, items: &[Item]) {
    for item in items {
        match item {
            Item::Path { path, fill, pen } => {
                let fill = fill.map_or_else(|| "none".to_owned(), colour);
                let _ = write!(out, "<path d=\"{}\" fill=\"{fill}\"", steps(path));
                if let Some(pen) = pen {
                    write_pen(out, pen);
                }
                out.push_str("/>\n");
            }
            Item::Text(label) => write_label(out, label),
            Item::Window { window, by, items } => {
                let [x, y, width, height] = [window.x0, window.y0, window.width(), window.height()].map(number);
                let _ = writeln!(
                    out,
                    "<svg x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" viewBox=\"{x} {y} {width} {height}\" overflow=\"hidden\">\
                     <g transform=\"translate({} {})\">",
                    number(by.x),
                    number(by.y)
                );
                write_items(out, items);
                out.push_str("</g></svg>\n");
            }
        }
    }
}

fn write_pen(out: &mut String, pen: &Pen) {
    let _ = write!(out, " stroke=\"{}\" stroke-width=\"{}\"", colour(pen.ink), number(pen.width));
    if let Some((dash, gap)) = pen.dash {
        let _ = write!(out, " stroke-dasharray=\"{} {}\"", number(dash), number(gap));
    }
    if pen.round {
        out.push_str(" stroke-linecap=\"round\" stroke-linejoin=\"round\"");
    }
}

fn write_label(out: &mut String, label: &Label) {
    let Point { x, y } = label.at;
    let (x, y) = (number(x), number(y));
    let _ =
        write!(out, "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" fill=\"{}\"", number(label.size), colour(label.ink));
    if label.face == Face::Bold {
        out.push_str(" font-weight=\"bold\"");
    }
    match label.anchor {
        Anchor::Start => {}
        Anchor::Middle => out.push_str(" text-anchor=\"middle\""),
        Anchor::End => out.push_str(" text-anchor=\"end\""),
    }
    if label.quarter_turns != 0 {
        let _ = write!(out, " transform=\"rotate({} {x} {y})\"", u32::from(label.quarter_turns) * 90);
    }
    let length = number(label.length());
    let _ =
        writeln!(out, " textLength=\"{length}\" lengthAdjust=\"spacingAndGlyphs\">{}</text>", escaped(&label.words));
}

fn steps(path: &BezPath) -> String {
    let mut out = String::new();
    let point = |point: Point| format!("{} {}", number(point.x), number(point.y));
    for step in path.elements() {
        let _ = match *step {
            PathEl::MoveTo(to) => write!(out, "M{}", point(to)),
            PathEl::LineTo(to) => write!(out, "L{}", point(to)),
            PathEl::QuadTo(by, to) => write!(out, "Q{} {}", point(by), point(to)),
            PathEl::CurveTo(one, other, to) => write!(out, "C{} {} {}", point(one), point(other), point(to)),
            PathEl::ClosePath => write!(out, "Z"),
        };
    }
    out
}

fn colour(ink: super::Ink) -> String {
    format!("#{:02x}{:02x}{:02x}", ink.0, ink.1, ink.2)
}

/// A length to a tenth of a thousandth, without zeros that say nothing.
fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_have_no_idle_zeros() {
        assert_eq!(number(1.5), "1.5");
        assert_eq!(number(-0.000_01), "0");
        assert_eq!(number(100.0), "100");
        assert_eq!(number(1.0 / 3.0), "0.3333");
    }

    #[test]
    fn words_that_look_like_marks_are_escaped() {
        let mut sheet = Drawing::new("a < b", 10.0, 10.0);
        sheet.text(Label::new((1.0, 5.0), "R&D <\"1\">"));
        let svg = sheet.svg();
        assert!(svg.contains("R&amp;D &lt;&quot;1&quot;&gt;") && svg.contains("<title>a &lt; b</title>"), "{svg}");
    }

    #[test]
    fn a_path_is_written_with_its_pen() {
        let mut sheet = Drawing::new("", 10.0, 10.0);
        sheet.line((0.0, 0.5), (2.0, 0.5), Pen::NEXT);
        let wanted = "<path d=\"M0 0.5L2 0.5\" fill=\"none\" stroke=\"#000000\" stroke-width=\"0.25\" stroke-dasharray=\"1.6 1\"/>";
        assert!(sheet.svg().contains(wanted), "{}", sheet.svg());
    }
}
