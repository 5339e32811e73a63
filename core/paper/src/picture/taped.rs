//! A bender as its sizes say, in one view, with every size that can be seen there: how it was taken, from where to where.
//!
//! Sizes along the sheet stand in rows under the view, sizes up and down in columns beside it; those that would meet go to the next row. So no words ever
//! lie on the bender or on others.

use kurbo::{Arc, BezPath, Point, Rect, Shape as _, Vec2};
use nalgebra::{Point3, Vector3};
use tubewright::bender::sizes::{Measure, Sizes, Stance, Way};
use tubewright::bender::{Bender, Shape};

use super::pane::arrow;
use super::solid::Outline;
use super::view::View;
use crate::draw::{DRAWN, Drawing, Ink, Item, Label, Pen};

/// From one row of sizes to the next, mm.
const ROW: f64 = 4.6;

/// Size of the letters of a size, mm.
const LETTERS: f64 = 3.0;

/// Size of the letter of a part, mm.
const NAME: f64 = 3.6;

/// From a view to its first row, mm.
const OFF: f64 = 3.5;

/// Between two sizes in one row, mm.
const BETWEEN: f64 = 1.5;

/// The tube is drawn so far beyond clamp and follower, mm of the tube.
const BEYOND: f64 = 150.0;

/// Parts that lie under the tube, and the foot.
const PALE: Ink = Ink(238, 236, 231);

/// Scales: 1 to so many.
const SCALES: [f64; 18] =
    [1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0];

/// What is looked at, and from where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Scene {
    /// The bender, along the die's axis.
    Main,
    /// The bender, square to that: flat bend planes from the side, upright ones along them.
    Side,
    /// The bender and what stands around it, from above.
    Around,
}

/// A view on its sheet.
#[derive(Clone, Debug)]
pub(crate) struct Seen {
    /// The sheet, as high as it has to be.
    pub(crate) drawing: Drawing,
    /// Drawn 1 to so many.
    pub(crate) scale: f64,
    /// Which way is to the right, and which up.
    pub(crate) ways: (Way, Way),
}

/// What is to be drawn of a body.
struct Body {
    shape: Shape,
    letter: char,
    fill: Option<Ink>,
    pen: Pen,
}

/// Directions of a scene: to the right and up on the sheet.
fn directions(sizes: &Sizes, scene: Scene) -> (Vector3<f64>, Vector3<f64>) {
    let z = Vector3::z();
    match (sizes.stance, scene) {
        (Stance::Flat { .. }, Scene::Main | Scene::Around) => (Vector3::x(), Vector3::y()),
        (Stance::Flat { .. }, Scene::Side) => (Vector3::x(), z),
        (Stance::Upright { up, .. }, scene) => {
            let up = up.direction(sizes.hand);
            let right = up.cross(&z);
            match scene {
                Scene::Main => (right, up),
                Scene::Side => (up.cross(&right), up),
                Scene::Around => (right, up.cross(&right)),
            }
        }
    }
}

/// The bender in one view, at most so wide and high, mm; `words` are what stands at a size.
pub(crate) fn taped(sizes: &Sizes, scene: Scene, room: (f64, f64), words: &dyn Fn(&Measure) -> String) -> Seen {
    let bender = sizes.bender();
    let (right, up) = directions(sizes, scene);
    let view = View::new(right, up);
    let bodies = bodies(sizes, &bender, scene, &view);
    let measures: Vec<(Measure, String)> = sizes
        .measures()
        .into_iter()
        .filter(|measure| is_seen(sizes, scene, &view, measure))
        .map(|measure| (measure, words(&measure)))
        .collect();
    let bounds = bounds(sizes, scene, &view, &bodies, &measures);
    // Each scale has rows and columns of its own: the largest that fits is taken, else the smallest of all.
    let place = |scale: f64| Placed::new(&view, bounds, 1.0 / scale, &measures);
    let fits = |placed: &Placed| placed.width() <= room.0 && placed.height() <= room.1;
    let found = SCALES.into_iter().map(|scale| (scale, place(scale))).find(|(_, placed)| fits(placed));
    let (scale, placed) = found.unwrap_or_else(|| (SCALES[SCALES.len() - 1], place(SCALES[SCALES.len() - 1])));
    let way = |direction: Vector3<f64>| {
        let along = |way: &Way| way.direction(sizes.hand).dot(&direction) > 0.5;
        Way::ALL.into_iter().find(along).unwrap_or(Way::Ahead)
    };
    Seen { drawing: placed.draw(sizes, scene, &bodies, room.0), scale, ways: (way(right), way(up)) }
}

/// Whether a size lies in the plane of a view, and is told there: each one in one view only.
fn is_seen(sizes: &Sizes, scene: Scene, view: &View, measure: &Measure) -> bool {
    let kind = sizes.parts.iter().map(|part| part.kind).find(|kind| kind.key() == measure.part);
    let around = kind.is_some_and(|kind| kind.is_around());
    if around != (scene == Scene::Around) {
        return false;
    }
    let way = measure.to - measure.from;
    let in_plane = way.dot(&view.toward).abs() < 1e-6 * way.norm();
    // What both views of the bender show is told in the first.
    let (right, up) = directions(sizes, Scene::Main);
    let in_main = way.dot(&right.cross(&up)).abs() < 1e-6 * way.norm();
    in_plane && (scene != Scene::Side || !in_main)
}

fn bodies(sizes: &Sizes, bender: &Bender, scene: Scene, view: &View) -> Vec<Body> {
    let mut all = Vec::new();
    // Around the bender, what is part of it is only shown.
    let letter = |letter: char, around: bool| if around == (scene == Scene::Around) { letter } else { ' ' };
    for (part, solid) in sizes.parts.iter().zip(&bender.solids) {
        if part.kind.is_around() && scene != Scene::Around {
            continue;
        }
        let over = match &solid.shape {
            Shape::Box { min, .. } => min.z > 0.0,
            _ => true,
        };
        let hidden = !over && scene == Scene::Main;
        // Through what lies over the tube the rest is seen.
        let fill = (!over || scene != Scene::Main).then_some(PALE).filter(|_| scene != Scene::Side || !over);
        let pen = if hidden { Pen::NEXT } else { Pen::LINE };
        all.push(Body {
            shape: solid.shape.clone(),
            letter: letter(part.kind.letter(), part.kind.is_around()),
            fill,
            pen,
        });
    }
    if let Some(die) = bender.dies.first() {
        for (tool, name) in bender.tools(die).into_iter().zip(['B', 'C', 'D']) {
            let letter = letter(name, false);
            let body = |shape: &Shape| Body { shape: shape.clone(), letter, fill: Some(Ink::IRON), pen: Pen::LINE };
            all.extend(tool.shapes.iter().map(body));
        }
        let across = Way::TubeSide.direction(sizes.hand) * die.clr.to_mm();
        let end = |along: f64| Point3::from(across + Vector3::x() * along);
        let shape = Shape::Cylinder {
            from: end(-die.follower_length.to_mm() - BEYOND),
            to: end(die.clamp_length.to_mm() + BEYOND),
            radius: die.od / 2.0,
        };
        all.push(Body { shape, letter: ' ', fill: Some(Ink::TUBE), pen: Pen::LINE });
    }
    let depth = |body: &Body| Outline::new(view, &body.shape).depth;
    all.sort_by(|one, other| depth(one).total_cmp(&depth(other)));
    all
}

/// What has to be seen, in the view's own frame at 1:1: x to the right, y down.
fn bounds(sizes: &Sizes, scene: Scene, view: &View, bodies: &[Body], measures: &[(Measure, String)]) -> Rect {
    let endless = |letter: char| letter == 'R';
    let outlines = bodies.iter().filter(|body| !endless(body.letter));
    let mut all: Option<Rect> = None;
    let mut add = |rect: Rect| all = Some(all.map_or(rect, |all| all.union(rect)));
    for body in outlines {
        add(Outline::new(view, &body.shape).path.bounding_box());
    }
    for (measure, _) in measures {
        for point in [measure.from, measure.to] {
            let at = view.point(point);
            add(Rect::from_points(at, at));
        }
    }
    let floor = sizes.stance.up().direction(sizes.hand) * -sizes.centre_height().to_mm();
    if scene != Scene::Around && (scene == Scene::Side || matches!(sizes.stance, Stance::Upright { .. })) {
        let at = view.point(Point3::from(floor));
        add(Rect::from_points(at, at));
    }
    all.unwrap_or(Rect::new(0.0, 0.0, 1.0, 1.0))
}

/// A size on the sheet: along x where it lies in a row, else along y.
struct Told {
    /// Along the sheet, from the smaller to the larger.
    span: (f64, f64),
    /// How far the other way its two points lie, in the order of the span.
    off: (f64, f64),
    /// Middle of its words along the sheet.
    words_at: f64,
    words: String,
    row: usize,
}

impl Told {
    /// All that it takes up in its row.
    fn takes(&self) -> (f64, f64) {
        let half = 0.5 * length(&self.words) + 0.6;
        (self.span.0.min(self.words_at - half), self.span.1.max(self.words_at + half))
    }
}

fn length(words: &str) -> f64 {
    Label::new((0.0, 0.0), words).size(LETTERS).bold().length()
}

/// A view at a scale with its rows and columns.
struct Placed {
    view: View,
    window: Rect,
    rows: Vec<Told>,
    columns: Vec<Told>,
}

impl Placed {
    fn new(view: &View, bounds: Rect, scale: f64, measures: &[(Measure, String)]) -> Self {
        let edge = 2.0;
        let at = Vec2::new(edge - bounds.x0 * scale, edge - bounds.y0 * scale);
        let view = view.placed(scale, at);
        let window = Rect::new(0.0, 0.0, bounds.width() * scale + 2.0 * edge, bounds.height() * scale + 2.0 * edge);
        let (mut rows, mut columns) = (Vec::new(), Vec::new());
        for (measure, words) in measures {
            let (from, to) = (view.point(measure.from), view.point(measure.to));
            let flat = (to.x - from.x).abs() >= (to.y - from.y).abs();
            let along = |point: Point| if flat { (point.x, point.y) } else { (point.y, point.x) };
            let mut ends = [along(from), along(to)];
            ends.sort_by(|one, other| one.0.total_cmp(&other.0));
            let [low, high] = ends;
            let long = length(words) + 1.2;
            let words_at = if long + 2.0 < high.0 - low.0 { 0.5 * (low.0 + high.0) } else { high.0 + 0.5 * long + 0.4 };
            let told = Told { span: (low.0, high.0), off: (low.1, high.1), words_at, words: words.clone(), row: 0 };
            if flat { rows.push(told) } else { columns.push(told) }
        }
        pack(&mut rows);
        pack(&mut columns);
        Self { view, window, rows, columns }
    }

    fn used(list: &[Told]) -> f64 {
        let rows = list.iter().map(|told| told.row + 1).max().unwrap_or(0);
        if rows == 0 { 0.0 } else { OFF + ROW * rows as f64 }
    }

    /// With the words that reach beyond the view.
    fn width(&self) -> f64 {
        let over = self.rows.iter().map(|told| told.takes().1).fold(0.0, f64::max);
        (self.window.width() + Self::used(&self.columns)).max(over)
    }

    fn height(&self) -> f64 {
        let over = self.columns.iter().map(|told| told.takes().1).fold(0.0, f64::max);
        (self.window.height() + Self::used(&self.rows)).max(over)
    }

    fn draw(&self, sizes: &Sizes, scene: Scene, bodies: &[Body], width: f64) -> Drawing {
        let mut sheet = Drawing::new("", width, self.height());
        let mut inside = Drawing::new("", width, self.height());
        let outlines: Vec<(&Body, BezPath)> =
            bodies.iter().map(|body| (body, Outline::new(&self.view, &body.shape).path)).collect();
        for (body, path) in &outlines {
            if let Some(ink) = body.fill {
                inside.fill(path.clone(), ink);
            }
        }
        for (body, path) in &outlines {
            inside.stroke(path.clone(), body.pen);
        }
        self.floor(&mut inside, sizes, scene);
        self.centre(&mut inside, sizes, scene);
        self.names(&mut inside, &outlines);
        sheet.place_in_window(&inside, (0.0, 0.0), self.window);
        self.lines(&mut sheet, &self.rows, true);
        self.lines(&mut sheet, &self.columns, false);
        self.words(&mut sheet, &self.rows, true);
        self.words(&mut sheet, &self.columns, false);
        sheet
    }

    fn floor(&self, sheet: &mut Drawing, sizes: &Sizes, scene: Scene) {
        let down = sizes.stance.up().direction(sizes.hand) * -sizes.centre_height().to_mm();
        if scene == Scene::Around || self.view.direction(down).hypot() < 1e-6 {
            return;
        }
        let y = self.view.point(Point3::from(down)).y;
        sheet.line((self.window.x0, y), (self.window.x1, y), Pen::BOLD);
    }

    /// The die's axis, and which way the clamped end goes.
    fn centre(&self, sheet: &mut Drawing, sizes: &Sizes, scene: Scene) {
        let at = self.view.point(Point3::origin());
        for way in [Vec2::new(2.2, 0.0), Vec2::new(0.0, 2.2)] {
            sheet.line(at - way, at + way, Pen::LINE.width(0.25));
        }
        if scene != Scene::Main {
            return;
        }
        let radius = 0.55 * self.view.scale * sizes.die.clr.to_mm();
        let start = self.view.direction(Way::TubeSide.direction(sizes.hand));
        // Seen from over the tube the sheet's y runs down, so that anticlockwise is against its angles.
        let turn = -sizes.hand.sign() * core::f64::consts::FRAC_PI_2;
        let begin = libm::atan2(start.y, start.x);
        let arc = Arc::new(at, (radius, radius), begin, turn, 0.0);
        sheet.stroke(arc.to_path(DRAWN), Pen::LINE);
        let (sin, cos) = libm::sincos(begin + turn);
        let tip = at + Vec2::new(cos, sin) * radius;
        let along = Vec2::new(-sin, cos) * turn.signum();
        sheet.items.push(arrow(tip, along, 2.0, Ink::BLACK));
    }

    /// The letter of each part, where it lies on no other.
    fn names(&self, sheet: &mut Drawing, outlines: &[(&Body, BezPath)]) {
        let mut taken: Vec<Rect> = Vec::new();
        let mut named: Vec<char> = vec![' '];
        for (body, path) in outlines {
            if named.contains(&body.letter) && body.letter != 'R' {
                continue;
            }
            let seen = path.bounding_box().intersect(self.window.inset(-1.0));
            let inside = seen.inset((-3.0, -3.0));
            if seen.width() < 1.0 || seen.height() < 1.0 {
                continue;
            }
            let inside = if inside.width() > 0.0 && inside.height() > 0.0 {
                inside
            } else {
                Rect::from_center_size(seen.center(), (0.0, 0.0))
            };
            let part = |place: i32| f64::from(place) / 4.0;
            let places = (0..5).flat_map(|down| (0..5).map(move |across| (across, down)));
            let label = places.into_iter().find_map(|(across, down)| {
                let at =
                    Point::new(inside.x0 + inside.width() * part(across), inside.y0 + inside.height() * part(down));
                let label = Label::new((at.x, at.y + 0.36 * NAME), body.letter.to_string()).bold().size(NAME).middle();
                let bounds = label.bounds();
                let free = taken.iter().all(|other| other.intersect(bounds.inset(0.4)).area() <= 0.0);
                (free && self.window.contains_rect(bounds)).then_some((label, bounds))
            });
            if let Some((label, bounds)) = label {
                named.push(body.letter);
                taken.push(bounds);
                sheet.fill(bounds.inset(0.2).to_path(DRAWN), Ink::WHITE);
                sheet.text(label);
            }
        }
    }

    /// Where a row lies across the sheet.
    fn across(&self, told: &Told, flat: bool) -> f64 {
        let edge = if flat { self.window.y1 } else { self.window.x1 };
        edge + OFF + ROW * told.row as f64
    }

    fn lines(&self, sheet: &mut Drawing, list: &[Told], flat: bool) {
        let point = |along: f64, across: f64| if flat { Point::new(along, across) } else { Point::new(across, along) };
        for told in list {
            let across = self.across(told, flat);
            for (along, from) in [(told.span.0, told.off.0), (told.span.1, told.off.1)] {
                sheet.line(point(along, from), point(along, across + 1.0), Pen::FINE.ink(Ink::PALE).width(0.15));
            }
        }
        for told in list {
            let across = self.across(told, flat);
            let (low, high) = told.span;
            sheet.line(point(low, across), point(high, across), Pen::FINE.ink(Ink::BLACK));
            for (end, sense) in [(low, -1.0), (high, 1.0)] {
                let way = point(sense, 0.0).to_vec2();
                sheet.items.push(arrow(point(end, across), way, (0.4 * (high - low)).clamp(0.3, 1.6), Ink::BLACK));
            }
        }
    }

    fn words(&self, sheet: &mut Drawing, list: &[Told], flat: bool) {
        for told in list {
            let across = self.across(told, flat);
            let label = Label::new((0.0, 0.0), told.words.as_str()).size(LETTERS).bold().middle();
            let half = 0.36 * LETTERS;
            let label = if flat {
                Label { at: Point::new(told.words_at, across + half), ..label }
            } else {
                Label { at: Point::new(across + half, told.words_at), ..label }.quarter_turns(3)
            };
            sheet.fill(label.bounds().inset(0.15).to_path(DRAWN), Ink::WHITE);
            sheet.items.push(Item::Text(label));
        }
    }
}

/// Gives each size the first row in which it meets no other, the short ones first.
fn pack(list: &mut [Told]) {
    list.sort_by(|one, other| {
        let long = |told: &Told| told.span.1 - told.span.0;
        long(one).total_cmp(&long(other)).then(one.span.0.total_cmp(&other.span.0))
    });
    let mut rows: Vec<Vec<(f64, f64)>> = Vec::new();
    for told in list.iter_mut() {
        let (low, high) = told.takes();
        let free = |row: &Vec<(f64, f64)>| row.iter().all(|other| high + BETWEEN < other.0 || other.1 + BETWEEN < low);
        let row = rows.iter().position(free).unwrap_or(rows.len());
        if row == rows.len() {
            rows.push(Vec::new());
        }
        rows[row].push((low, high));
        told.row = row;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(low: f64, high: f64) -> Told {
        Told { span: (low, high), off: (0.0, 0.0), words_at: 0.5 * (low + high), words: "E3 45".to_owned(), row: 0 }
    }

    #[test]
    fn sizes_that_would_meet_go_to_the_next_row() {
        let mut list = vec![told(0.0, 100.0), told(0.0, 20.0), told(30.0, 60.0), told(58.0, 90.0)];
        pack(&mut list);
        let rows: Vec<(f64, usize)> = list.iter().map(|told| (told.span.0, told.row)).collect();
        assert_eq!(rows, [(0.0, 0), (30.0, 0), (58.0, 1), (0.0, 2)]);
    }
}
