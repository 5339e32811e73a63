//! One view on a sheet: its window, what is drawn in it, and where words still find room.

use kurbo::{BezPath, Circle, ParamCurve as _, Point, Rect, Shape as _, Vec2};
use nalgebra::Point3;

use super::tube::Layer;
use super::view::View;
use crate::draw::{DRAWN, Drawing, Face, Ink, Item, Label, Pen};

/// Size of letters, mm.
pub(super) const LETTERS: f64 = 3.2;

/// What stands back a little.
pub(super) const SMALL: f64 = 2.8;

/// Radius of the circle about the letter of an end, mm.
const END: f64 = 2.5;

/// What lies between two words, mm.
const APART: f64 = 0.5;

/// A place on the tube that words should not cover: a point, and how far the tube reaches from there.
#[derive(Clone, Copy, Debug)]
struct Disc {
    at: Point,
    radius: f64,
    /// How much it matters: 1 for the tube.
    weight: f64,
}

/// One view.
#[derive(Clone, Debug)]
pub(super) struct Pane {
    pub(super) view: View,
    /// What is seen of it, mm on the sheet.
    pub(super) window: Rect,
    taken: Vec<Rect>,
    bodies: Vec<Disc>,
    shades: Vec<BezPath>,
    back: Vec<Item>,
    layers: Vec<Layer>,
    front: Vec<Item>,
}

impl Pane {
    pub(super) fn new(view: View, window: Rect) -> Self {
        Self {
            view,
            window,
            taken: Vec::new(),
            bodies: Vec::new(),
            shades: Vec::new(),
            back: Vec::new(),
            layers: Vec::new(),
            front: Vec::new(),
        }
    }

    /// Draws under everything that has a depth.
    pub(super) fn under(&mut self, items: impl IntoIterator<Item = Item>) {
        self.back.extend(items);
    }

    /// Draws at a depth.
    pub(super) fn layers(&mut self, layers: Vec<Layer>) {
        self.layers.extend(layers);
    }

    /// Draws over everything.
    pub(super) fn over(&mut self, item: Item) {
        self.front.push(item);
    }

    pub(super) fn line(&mut self, from: Point, to: Point, pen: Pen) {
        self.over(Item::Path { path: kurbo::Line::new(from, to).to_path(DRAWN), fill: None, pen: Some(pen) });
    }

    /// Shades areas under all else.
    pub(super) fn shade(&mut self, areas: Vec<BezPath>, pen: Pen) {
        self.back.extend(areas.iter().map(|area| Item::Path {
            path: area.clone(),
            fill: Some(pen.ink),
            pen: Some(pen),
        }));
        self.shades = areas;
    }

    /// Words keep off these points of a tube as far as there is room elsewhere.
    pub(super) fn keep_off(&mut self, points: impl IntoIterator<Item = Point3<f64>>, od: f64) {
        let radius = od / 2.0 * self.view.scale + 0.3;
        let view = self.view;
        self.bodies.extend(points.into_iter().map(|point| Disc { at: view.point(point), radius, weight: 1.0 }));
    }

    /// Words keep off a line.
    pub(super) fn keep_off_line(&mut self, from: Point, to: Point) {
        let parts = ((to - from).hypot() / 1.0).ceil().max(1.0);
        self.bodies.extend((0..=parts as usize).map(|part| Disc {
            at: from + (to - from) * (part as f64 / parts),
            radius: 0.5,
            weight: 1.0,
        }));
    }

    /// Words keep out of a box altogether.
    pub(super) fn take(&mut self, room: Rect) {
        self.taken.push(room);
    }

    fn is_free(&self, room: Rect) -> bool {
        let inside = self.window.inset(-0.4);
        inside.contains_rect(room) && self.taken.iter().all(|taken| !overlaps(taken.inset(APART), room))
    }

    /// Words rather stand beside the lines of an outline than on them.
    pub(super) fn keep_off_path(&mut self, path: &BezPath) {
        for segment in path.segments() {
            let length = (segment.end() - segment.start()).hypot();
            let parts = length.ceil().clamp(1.0, 500.0);
            let at = |part: usize| segment.eval(part as f64 / parts);
            let seen = self.window.inflate(1.0, 1.0);
            let points = (0..=parts as usize).map(at).filter(|at| seen.contains(*at));
            self.bodies.extend(points.map(|at| Disc { at, radius: 0.4, weight: 0.12 }));
        }
    }

    /// What it costs that a line from a point to a box runs over other words, or over the tube.
    fn crosses(&self, at: Point, room: Rect, off: f64) -> f64 {
        let near = Point::new(at.x.clamp(room.x0, room.x1), at.y.clamp(room.y0, room.y1));
        let gap = (near - at).hypot();
        if gap < off + 1.5 {
            return 0.0;
        }
        let on_words = |point: Point| self.taken.iter().any(|taken| taken.contains(point));
        let on_tube =
            |point: Point| self.bodies.iter().any(|disc| disc.weight >= 1.0 && (disc.at - point).hypot() < disc.radius);
        let way = (near - at) / gap;
        let points = (0..=20).map(|part| at + way * (off + 1.0 + (gap - off - 1.2) * f64::from(part) / 20.0));
        points
            .map(|point| {
                if on_words(point) {
                    60.0
                } else if on_tube(point) {
                    25.0
                } else {
                    0.0
                }
            })
            .fold(0.0, f64::max)
    }

    fn covers(&self, room: Rect) -> f64 {
        self.bodies.iter().filter(|disc| distance(room, disc.at) < disc.radius).map(|disc| disc.weight).sum()
    }

    /// A word in the middle of a box, where it covers nothing.
    pub(super) fn name(&mut self, within: Rect, words: Label) {
        let size = (words.length(), 1.02 * words.size);
        let room = Rect::from_center_size(within.center(), size);
        let fits = size.0 + 2.0 < within.width() && size.1 + 1.0 < within.height();
        if fits && self.is_free(room) && self.covers(room) < 1e-9 {
            self.taken.push(room);
            let base = Point::new(room.x0, room.y0 + 0.8 * words.size);
            self.over(Item::Text(Label { at: base, ..words }));
        }
    }

    /// The nearest free box of a size about a point, on the side that is asked for if possible, and off the tube if possible.
    ///
    /// `off` is how far the box has to be from the point at least. `None` where nothing is free within some centimetres.
    pub(super) fn room(&mut self, at: Point, size: (f64, f64), off: f64, toward: Vec2) -> Option<Rect> {
        let (_, room) = self.search(at, size, off, toward)?;
        self.taken.push(room);
        Some(room)
    }

    /// Words beside whichever of several points has the best room for them.
    pub(super) fn note_at_one(&mut self, points: &[Point], words: Label, off: f64, toward: Vec2) {
        let size = (words.length(), 1.02 * words.size);
        let cost = |at: &Point| self.search(*at, size, off, toward).map_or(f64::INFINITY, |(cost, _)| cost);
        let costs: Vec<f64> = points.iter().map(cost).collect();
        let best = costs.iter().enumerate().min_by(|one, other| one.1.total_cmp(other.1));
        if let Some((place, _)) = best {
            self.note(points[place], words, off, toward);
        }
    }

    /// The box that costs least, with what it costs: how far off it is, on which side, and what it covers.
    fn search(&self, at: Point, size: (f64, f64), off: f64, toward: Vec2) -> Option<(f64, Rect)> {
        let toward = if toward.hypot() > 1e-9 { toward.normalize() } else { Vec2::new(0.0, -1.0) };
        let mut best: Option<(f64, Rect)> = None;
        // What costs too much already is not looked at further: most of the time goes into lines that cross the tube.
        let loses = |best: &Option<(f64, Rect)>, cost: f64| best.is_some_and(|(least, _)| cost >= least - 1e-9);
        for further in [0.0, 1.0, 2.5, 4.5, 7.0, 10.0, 14.0, 19.0, 25.0, 32.0] {
            for turn in [0_i32, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6, 7, -7, 8] {
                let place = 2.0 * further + f64::from(turn.abs());
                if loses(&best, place) {
                    continue;
                }
                let (sin, cos) = libm::sincos(f64::from(turn) * core::f64::consts::PI / 8.0);
                let way = Vec2::new(toward.x * cos - toward.y * sin, toward.x * sin + toward.y * cos);
                // As far as the box reaches back toward the point.
                let reach = (size.0 / 2.0 / way.x.abs().max(1e-9)).min(size.1 / 2.0 / way.y.abs().max(1e-9));
                let middle = at + way * (off + further + reach);
                let room = Rect::from_center_size(middle, size);
                if !self.is_free(room) {
                    continue;
                }
                let covered = 40.0 * self.covers(room).min(3.0);
                if loses(&best, covered + place) {
                    continue;
                }
                let crossed = if further > 2.0 { self.crosses(at, room, off) } else { 0.0 };
                let cost = covered + crossed + place;
                if !loses(&best, cost) {
                    best = Some((cost, room));
                }
            }
        }
        best
    }

    /// Words beside a point, with a fine line to it where they had to go further off. Whether there was room for them.
    pub(super) fn note(&mut self, at: Point, words: Label, off: f64, toward: Vec2) -> bool {
        let size = (words.length(), 1.02 * words.size);
        let Some(room) = self.room(at, size, off, toward) else { return false };
        // Before the line that leads to them, which comes up to them.
        self.clear(room);
        self.lead(at, room, off);
        let base = Point::new(room.x0, room.y0 + 0.8 * words.size);
        self.over(Item::Text(Label { at: base, anchor: crate::draw::Anchor::Start, ..words }));
        true
    }

    /// Takes the lines of outlines away under words.
    fn clear(&mut self, room: Rect) {
        // Only thin lines, however many: a tube is never wiped out, nor where light and shade meet.
        let solid = self.bodies.iter().any(|disc| disc.weight >= 1.0 && distance(room, disc.at) < disc.radius);
        if solid || self.covers(room) <= 0.0 {
            return;
        }
        let corners = [(room.x0, room.y0), (room.x1, room.y0), (room.x0, room.y1), (room.x1, room.y1)];
        let shaded = corners.map(|corner| self.shades.iter().any(|shade| shade.winding(corner.into()) != 0));
        let ink = match shaded {
            [true, true, true, true] => Ink::SWEEP,
            [false, false, false, false] => Ink::WHITE,
            _ => return,
        };
        let path = room.inflate(0.3, 0.1).to_path(DRAWN);
        self.over(Item::Path { path, fill: Some(ink), pen: None });
    }

    /// A letter or a number in a circle beside a point.
    pub(super) fn letter(&mut self, at: Point, letter: &str, off: f64, toward: Vec2) -> bool {
        let Some(room) = self.room(at, (2.0 * END, 2.0 * END), off, toward) else { return false };
        self.lead(at, room, off);
        self.circled(room.center(), letter);
        true
    }

    fn circled(&mut self, middle: Point, letter: &str) {
        let path = Circle::new(middle, END - 0.15).to_path(DRAWN);
        self.over(Item::Path { path, fill: Some(Ink::WHITE), pen: Some(Pen::LINE.width(0.3)) });
        let size = Face::Bold.fitting(letter, LETTERS, 1.5 * END);
        let label = Label::new(middle + Vec2::new(0.0, 0.365 * size), letter).size(size).bold().middle();
        self.over(Item::Text(label));
    }

    fn lead(&mut self, at: Point, room: Rect, off: f64) {
        let near = Point::new(at.x.clamp(room.x0, room.x1), at.y.clamp(room.y0, room.y1));
        let gap = (near - at).hypot();
        if gap > off + 2.0 {
            let way = (near - at) / gap;
            let (from, to) = (at + way * off.min(gap), near - way * 0.4);
            self.line(from, to, Pen::FINE);
            self.keep_off_line(from, to);
        }
    }

    /// A dimension line between two points: arrows at its ends, from outside where there is no room between them.
    pub(super) fn dimension(&mut self, from: Point, to: Point, pen: Pen) {
        let long = (to - from).hypot();
        let way = if long > 1e-9 { (to - from) / long } else { Vec2::new(1.0, 0.0) };
        let outside = long < 5.0;
        let arm = if outside { 4.0 } else { 0.0 };
        self.line(from - way * arm, to + way * arm, pen);
        let inward = if outside { 1.0 } else { -1.0 };
        for (tip, along) in [(from, way * inward), (to, way * -inward)] {
            self.over(arrow(tip, along, 1.8, pen.ink));
        }
        self.keep_off_line(from - way * arm, to + way * arm);
    }

    /// Everything of it, in its window.
    pub(super) fn draw(mut self, sheet: &mut Drawing) {
        self.layers.sort_by(|one, other| one.depth.total_cmp(&other.depth));
        let mut items = self.back;
        items.extend(self.layers.into_iter().flat_map(|layer| layer.items));
        items.extend(self.front);
        sheet.items.push(Item::Window { window: self.window, by: Vec2::ZERO, items });
    }
}

/// An arrow head with its tip at a point, pointing along a unit vector.
pub(super) fn arrow(tip: Point, along: Vec2, long: f64, ink: Ink) -> Item {
    let side = Vec2::new(-along.y, along.x) * (long * 0.3);
    let foot = tip - along * long;
    let mut path = BezPath::new();
    path.move_to(tip);
    path.line_to(foot + side);
    path.line_to(foot - side);
    path.close_path();
    Item::Path { path, fill: Some(ink), pen: None }
}

fn overlaps(one: Rect, other: Rect) -> bool {
    one.x0 < other.x1 && other.x0 < one.x1 && one.y0 < other.y1 && other.y0 < one.y1
}

fn distance(room: Rect, point: Point) -> f64 {
    let near = Point::new(point.x.clamp(room.x0, room.x1), point.y.clamp(room.y0, room.y1));
    (near - point).hypot()
}

#[cfg(test)]
mod tests {
    use nalgebra::Vector3;

    use super::*;

    fn pane() -> Pane {
        Pane::new(View::new(Vector3::x(), Vector3::y()), Rect::new(0.0, 0.0, 60.0, 40.0))
    }

    #[test]
    fn words_dodge_each_other_and_leave_out_what_finds_no_room() {
        let mut pane = pane();
        let mut kept = 0;
        for _ in 0..400 {
            kept += usize::from(pane.note(
                Point::new(30.0, 20.0),
                Label::new((0.0, 0.0), "1130 mm"),
                1.0,
                Vec2::new(0.0, -1.0),
            ));
        }
        assert!((8..400).contains(&kept), "{kept}");
        let mut sheet = Drawing::new("", 60.0, 40.0);
        pane.draw(&mut sheet);
        assert!(sheet.overlap().is_none() && sheet.clipped().is_none());
        assert_eq!(sheet.labels().len(), kept);
    }

    #[test]
    fn words_keep_off_the_tube() {
        let mut pane = pane();
        pane.keep_off((0..60).map(|x| Point3::new(f64::from(x), -16.0, 0.0)), 8.0);
        let room = pane.room(Point::new(30.0, 20.0), (10.0, 3.0), 1.0, Vec2::new(0.0, -1.0)).unwrap();
        assert!(room.y1 <= 12.0 + 1e-9 || room.y0 >= 20.0 - 1e-9, "{room:?}");
    }

    #[test]
    fn words_that_a_line_leads_to_wipe_out_thin_lines_under_them() {
        let mut pane = pane();
        let mut hatch = BezPath::new();
        for y in 0..40 {
            hatch.move_to((0.0, f64::from(y)));
            hatch.line_to((60.0, f64::from(y)));
        }
        pane.keep_off_path(&hatch);
        pane.take(Rect::new(20.0, 12.0, 40.0, 28.0));
        assert!(pane.note(Point::new(30.0, 20.0), Label::new((0.0, 0.0), "1130 mm"), 1.0, Vec2::new(0.0, -1.0)));
        let mut sheet = Drawing::new("", 60.0, 40.0);
        pane.draw(&mut sheet);
        let (_, words) = sheet.labels()[0];
        let [Item::Window { items, .. }] = sheet.items.as_slice() else { panic!("one window") };
        let wiped = items.iter().any(|item| match item {
            Item::Path { path, fill: Some(Ink::WHITE), .. } => path.bounding_box().contains_rect(words),
            _ => false,
        });
        assert!(wiped && items.len() == 3, "{items:?}");
    }
}
