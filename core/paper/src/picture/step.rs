//! One step: the tube in the bender from above and from the side.

use kurbo::{BezPath, Point, Rect, Vec2};
use nalgebra::{Point3, Vector3};
use tubewright::clearance::{Clearance, Verdict, obstacle_point};
use tubewright::units::{Angle, Length};

use super::HIGH;
use super::bent::{Bent, corners};
use super::broken::{Break, KEPT};
use super::layout::{Arranged, Shown, directions};
use super::pane::{LETTERS, Pane, SMALL, arrow};
use super::solid::Outline;
use super::tube::{Layer, Tube, bounds};
use super::view::View;
use crate::draw::{Drawing, Face, Ink, Item, Label, Pen};
use crate::words::{Words, obstacle};

/// A long straight is broken where all else is drawn larger by this factor: below that a whole tube tells more.
const LARGER: f64 = 1.4;

/// How often a break is tried anew with more of what stands about in sight.
const TRIES: usize = 8;

/// Half of what a break takes along the tube, mm on the sheet.
const BROKEN: f64 = 1.7;

/// The tube in the bender for a step, from above and from the side: as laid in, and in dashes after the swing.
///
/// Both views have one scale. Seen along the die's axis is the place before the bend, that after it in dashes with an arrow, and the room that is
/// swept; the second view lies below, or beside where that makes it larger. Of a straight that is much longer than the bender a part is left out, where
/// that hides nothing. `width` is that of the sheet in mm; its height is at most 0.62 of it.
///
/// # Panics
/// Where the tube has no step of this number, counted from 1.
#[must_use]
pub fn step(words: &Words<'_>, number: usize, width: f64) -> Drawing {
    step_within(words, number, width, width * HIGH)
}

/// The same on a sheet that is at most `height` mm high. It has to be more than 60 mm: below that there is no room for both views.
///
/// # Panics
/// Where the tube has no step of this number, counted from 1.
#[must_use]
pub fn step_within(words: &Words<'_>, number: usize, width: f64, height: f64) -> Drawing {
    let made = words.tube.made_before(number);
    let bent = Bent::new(words, number, &made);
    Scene::new(words, bent, (width, height)).draw(number)
}

/// What is drawn, laid out.
pub(super) struct Scene<'a> {
    words: Words<'a>,
    bent: Bent<'a>,
    before: Tube,
    after: Tube,
    /// Along the die's axis, then square to it.
    pub(super) views: [View; 2],
    pub(super) windows: [Rect; 2],
    /// Whether the floor is drawn where it is; else past a break.
    floor_in_place: bool,
    size: (f64, f64),
}

impl<'a> Scene<'a> {
    pub(super) fn new(words: &Words<'a>, bent: Bent<'a>, sheet: (f64, f64)) -> Self {
        let (before, after) = (bent.tube(Angle::ZERO), bent.tube(bent.plan.die_angle));
        let shown = Shown::of(&bent, &[&before, &after]);
        let views = directions(&bent);
        let arranged = |views: [View; 2]| Arranged::new(&bent, &shown, views, sheet);
        let whole = arranged(views);
        let nearest: Vec<[Point3<f64>; 2]> =
            nearest(&bent).map(|(point, other)| [point, other.unwrap_or(point)]).into_iter().collect();
        let mut seen = whole.flat[0];
        let mut broken = None;
        // What stands further off comes into sight where less is left out: until a break hides nothing of what its own drawing shows.
        for _ in 0..TRIES {
            let Some(one) = Break::find(&bent, &views[0], seen, &nearest) else { break };
            let drawn = arranged(views.map(|view| view.broken(one)));
            let sight = drawn.sight();
            if seen.y0 <= sight.y0 && sight.y1 <= seen.y1 {
                broken = Some(drawn);
                break;
            }
            seen = Rect::new(seen.x0, seen.y0.min(sight.y0), seen.x1, seen.y1.max(sight.y1));
        }
        let larger = |broken: &Arranged| {
            let scale = broken.layout.scale;
            scale > LARGER * whole.layout.scale && scale * KEPT * before.od > 1.5 * BROKEN
        };
        let chosen = broken.filter(larger).unwrap_or(whole);
        Self {
            words: *words,
            bent,
            before,
            after,
            views: chosen.placed(),
            windows: chosen.layout.windows,
            floor_in_place: chosen.floor_in_place,
            size: (sheet.0, chosen.layout.height),
        }
    }

    pub(super) fn draw(&self, number: usize) -> Drawing {
        let (tube, plan) = (self.words.tube, self.bent.plan);
        let title = format!(
            "{}, step {number}: bend {} with end {} leading",
            tube.name,
            plan.bend.number(),
            plan.lead.letter()
        );
        let mut sheet = Drawing::new(title, self.size.0, self.size.1);
        let nearest = self.nearest();
        for place in [0, 1] {
            let (view, window) = (self.views[place], self.windows[place]);
            let mut pane = Pane::new(view, window);
            self.solids(&mut pane, place == 0);
            self.tube(&mut pane, place == 0);
            self.breaks(&mut pane);
            self.floor(&mut pane);
            self.ends(&mut pane);
            if let Some(nearest) = nearest.as_ref().filter(|nearest| nearest.place == place) {
                self.gap(&mut pane, nearest);
            }
            self.mark(&mut pane, place == 0);
            if place == 0 || self.bent.lies() {
                self.heights(&mut pane);
            }
            if place == 0 {
                self.numbers(&mut pane);
                self.lengths(&mut pane);
                self.names(&mut pane);
            }
            pane.draw(&mut sheet);
            let seen = match (place, self.bent.lies()) {
                (0, true) | (1, false) => "from above",
                (_, true) => "from the side",
                (_, false) => "from the operator's place",
            };
            let label = Label::new((window.x0, window.y0 - 1.3), seen).size(SMALL).ink(Ink::GREY);
            if place == 0 {
                self.scale_bar(&mut sheet, window, label.length() + 6.0);
            }
            sheet.text(label);
        }
        sheet
    }

    fn solids(&self, pane: &mut Pane, main: bool) {
        let (step, view) = (&self.bent.step, pane.view);
        let sweep = Pen::LINE.ink(Ink::SWEEP).width(self.before.od * view.scale).round();
        if main {
            let strips = self.bent.swept(&view);
            pane.shade(strips, sweep);
        }
        for solid in &step.bender.solids {
            let operator = solid.is_operator();
            // From the side whoever stands there would hide the bender.
            if operator && main != self.bent.lies() {
                continue;
            }
            let outline = Outline::new(&view, &solid.shape);
            let (fill, pen) =
                if operator { (Some(Ink::WHITE), Pen::LINE.dashed(3.0, 1.2)) } else { (None, Pen::FINE.width(0.25)) };
            pane.keep_off_path(&outline.path);
            let item = Item::Path { path: outline.path, fill, pen: Some(pen) };
            if operator {
                pane.under([item]);
            } else {
                pane.layers(vec![Layer { depth: outline.depth, items: vec![item] }]);
            }
        }
        let tangent = view.depth(self.bent.tangent());
        for tool in step.bender.tools(step.die()) {
            for shape in tool.shapes.iter() {
                let outline = Outline::new(&view, shape);
                // Along the die's axis the tube is shown in its groove; from the side what stands before it is seen through.
                let hides = !main && outline.depth > tangent;
                let (fill, depth) = if hides {
                    (None, outline.depth)
                } else {
                    (Some(Ink::IRON), outline.depth.min(tangent - self.before.od))
                };
                pane.keep_off_path(&outline.path);
                let item = Item::Path { path: outline.path, fill, pen: Some(Pen::LINE.width(0.25)) };
                pane.layers(vec![Layer { depth, items: vec![item] }]);
            }
        }
    }

    fn tube(&self, pane: &mut Pane, main: bool) {
        let view = pane.view;
        let (from, to) = self.bent.swung();
        let ink = if main { Ink::SWEEP } else { Ink::WHITE };
        let least = self.before.layers(&view, Ink::TUBE);
        let depth = least.first().map_or(0.0, |layer| layer.depth) - 1e-6;
        pane.layers(vec![Layer { depth, items: self.after.ghost(&view, from, to, ink) }]);
        pane.layers(least);
        pane.keep_off(self.before.points(1.5 / view.scale), self.before.od);
        pane.keep_off(self.after.points(1.5 / view.scale), self.after.od);
        if main {
            let way: Vec<Point> = self.bent.way().into_iter().map(|point| view.point(point)).collect();
            if let [.., before, last] = way.as_slice() {
                let mut path = BezPath::new();
                path.move_to(way[0]);
                way[1..].iter().for_each(|point| path.line_to(*point));
                let along = *last - *before;
                pane.over(Item::Path { path, fill: None, pen: Some(Pen::LINE) });
                if along.hypot() > 1e-9 {
                    pane.over(arrow(*last, along.normalize(), 3.0, Ink::BLACK));
                }
                way.windows(2).for_each(|two| pane.keep_off_line(two[0], two[1]));
            }
        }
    }

    /// The lines of a break in the tube.
    fn breaks(&self, pane: &mut Pane) {
        let view = pane.view;
        let Some(broken) = view.broken else { return };
        let along = view.direction(Vector3::x()).normalize();
        let across = Vec2::new(-along.y, along.x);
        let half = self.before.od / 2.0 * view.scale + 1.6;
        for part in broken.parts(&self.bent) {
            let at = part.at(0.0);
            let middle = view.point(Point3::new(broken.from, at.y, at.z));
            // One line with a jag in it, and the same again beside it; nothing between them.
            let line = |side: f64| {
                let jags = [(-half, 0.0), (-1.1, 0.0), (-0.5, 0.8), (0.5, -0.8), (1.1, 0.0), (half, 0.0)];
                jags.map(|(out, aside)| middle + across * out + along * (side * (BROKEN - 0.8) + aside))
            };
            let [one, other] = [line(-1.0), line(1.0)];
            let mut between = BezPath::new();
            between.move_to(one[0]);
            one[1..].iter().chain(other.iter().rev()).for_each(|point| between.line_to(*point));
            between.close_path();
            pane.over(Item::Path { path: between, fill: Some(Ink::WHITE), pen: None });
            for line in [one, other] {
                let mut path = BezPath::new();
                path.move_to(line[0]);
                line[1..].iter().for_each(|point| path.line_to(*point));
                pane.over(Item::Path { path, fill: None, pen: Some(Pen::LINE.width(0.25)) });
            }
            let room =
                Vec2::new(along.x.abs(), along.y.abs()) * BROKEN + Vec2::new(across.x.abs(), across.y.abs()) * half;
            pane.take(Rect::from_center_size(middle, (2.0 * room.x, 2.0 * room.y)));
        }
    }

    fn floor(&self, pane: &mut Pane) {
        let view = pane.view;
        if view.up.dot(&self.bent.up()) < 0.999 {
            return;
        }
        let window = pane.window;
        let height = self.bent.step.bender.centre_height;
        let true_y = view.point(Point3::from(-self.bent.up() * height.to_mm())).y;
        let y = if self.floor_in_place { true_y } else { window.y1 - 2.6 };
        if y > window.y1 {
            return;
        }
        // What stands on it goes on below the break; nothing is seen under the floor.
        let under = Rect::new(window.x0, y, window.x1, window.y1 + 1.0);
        pane.over(filled(under, Ink::WHITE));
        if !self.floor_in_place {
            let gap = Rect::new(window.x0, y - 3.4, window.x1, y - 2.0);
            pane.over(filled(gap, Ink::WHITE));
            for side in [gap.y0, gap.y1] {
                pane.over(Item::Path { path: zigzag(gap.x0, gap.x1, side), fill: None, pen: Some(Pen::FINE) });
            }
        }
        let mut hatch = BezPath::new();
        let mut x = window.x0 + 1.0;
        while x < window.x1 {
            hatch.move_to((x, y + 1.8));
            hatch.line_to((x + 1.8, y));
            x += 3.6;
        }
        pane.over(Item::Path { path: hatch, fill: None, pen: Some(Pen::FINE) });
        pane.line(Point::new(window.x0, y), Point::new(window.x1, y), Pen::LINE);
        pane.take(Rect::new(window.x0, y - if self.floor_in_place { 0.3 } else { 3.6 }, window.x1, window.y1));
        // The height of the tube's line, at the far side of the trailing end.
        let x = window.x1 - 6.0;
        let line = view.point(Point3::origin()).y;
        let (from, to) = (Point::new(x, line), Point::new(x, y));
        pane.line(Point::new(x - 2.5, line), Point::new(x + 2.5, line), Pen::FINE);
        pane.dimension(from, to, Pen::FINE);
        let words = self.words.people.length_with_unit(height);
        let words = Label::new((0.0, 0.0), format!("{words} to floor")).size(SMALL).ink(Ink::GREY);
        let middle = Point::new(x, 0.5 * (line + y.min(window.y1 - 6.0)));
        pane.note(middle, words, 0.8, Vec2::new(-1.0, 0.0));
    }

    fn ends(&self, pane: &mut Pane) {
        let view = pane.view;
        for (letter, (end, outward)) in ["A", "B"].into_iter().zip(self.before.ends()) {
            let seen = view.direction(outward);
            let off = 0.8 + self.before.od / 2.0 * view.scale * (1.0 - seen.hypot());
            pane.letter(view.point(end), letter, off, seen);
        }
    }

    fn mark(&self, pane: &mut Pane, main: bool) {
        let view = pane.view;
        let at = self.bent.index();
        let ring = Tube::ring(&view, self.before.od, at, Vector3::x());
        pane.over(Item::Path { path: ring, fill: None, pen: Some(Pen::BOLD) });
        if main {
            // On the clamp's side, so that what is said of the tail has its own side.
            let away = view.direction(self.bent.tangent().coords.normalize() + Vector3::x() * 0.9);
            // What is measured from the mark comes later, and goes through here.
            let (foot, tip) = self.witness(&view, at);
            pane.keep_off_line(foot, tip);
            if let Some(end) = self.straight_behind() {
                let (away, far) = self.beside(&view);
                pane.keep_off_line(view.point(at) + away * far, view.point(end) + away * far);
            }
            let words = Label::new((0.0, 0.0), format!("MARK {}", self.bent.plan.bend.number())).size(LETTERS).bold();
            pane.note(view.point(at), words, self.before.od / 2.0 * view.scale + 1.5, away);
        }
    }

    /// The highest and the lowest place of the tube as it is laid in, where it sticks out by more than it is thick.
    fn heights(&self, pane: &mut Pane) {
        let up = self.bent.up();
        let line = self.bent.tangent().coords.dot(&up);
        let points = self.before.points(self.before.od / 8.0);
        let height = |point: &Point3<f64>| point.coords.dot(&up) - line;
        let by_height = |one: &&Point3<f64>, other: &&Point3<f64>| height(one).total_cmp(&height(other));
        let (highest, lowest) = (points.iter().max_by(by_height), points.iter().min_by(by_height));
        for (found, word, sign) in [(highest, "▲ UP", 1.0), (lowest, "▼ DOWN", -1.0)] {
            let Some(point) = found.filter(|point| sign * height(point) > self.before.od) else { continue };
            // What the words of the step say of an end is what is printed at it.
            let exact = [0, 1].into_iter().find(|end| (self.before.ends()[*end].0 - point).norm() < 1e-6);
            let up = exact.map_or(Length::mm(height(point)), |end| self.bent.plan.ends_up[end]);
            let words = format!("{word} {}", self.words.people.length_with_unit(up.abs()));
            let words = Label::new((0.0, 0.0), words).size(LETTERS).bold();
            let off = self.before.od / 2.0 * pane.view.scale + 1.0;
            let toward = if pane.view.up.dot(&self.bent.up()) > 0.5 { -sign } else { -1.0 };
            pane.note(pane.view.point(*point), words, off, Vec2::new(0.3, toward));
        }
    }

    fn numbers(&self, pane: &mut Pane) {
        let view = pane.view;
        for (number, arc) in self.bent.made_arcs() {
            let middle = arc.at(0.5);
            let outward = match arc {
                super::course::Course::Arc { centre, .. } => view.direction(middle - centre),
                super::course::Course::Straight { .. } => Vec2::new(0.0, -1.0),
            };
            let words = Label::new((0.0, 0.0), number.to_string()).size(LETTERS).bold();
            pane.note(view.point(middle), words, self.before.od / 2.0 * view.scale + 0.6, outward);
        }
    }

    /// What lies behind the mark, where that is straight; how long a straight is of which a part is left out.
    fn lengths(&self, pane: &mut Pane) {
        let people = self.words.people;
        let at = self.bent.index();
        let broken = self.views[0].broken;
        let behind = self.straight_behind();
        if let Some(end) = behind {
            let words = people.length_with_unit(self.bent.plan.tail);
            let told = broken.is_some_and(|broken| broken.to <= 0.0);
            self.length(pane, [end, at], format!("{words} behind the mark"), told);
        }
        let Some(broken) = broken.filter(|broken| behind.is_none() || broken.to > 0.0) else { return };
        for part in broken.parts(&self.bent) {
            let ends = [part.at(0.0), part.at(1.0)];
            let [near, far] = if ends[0].x.abs() < ends[1].x.abs() { ends } else { [ends[1], ends[0]] };
            // One that begins at the die is measured from the mark, from where a tape can take it.
            let at_die = (near - self.bent.tangent()).cross(&Vector3::x()).norm() < 1e-6;
            let from = if at_die { at } else { near };
            let words = people.length_with_unit(Length::mm((far - from).norm()));
            let words = match (at_die, broken.to <= 0.0) {
                (true, true) => format!("{words} straight behind the mark"),
                (true, false) => format!("{words} straight ahead of the mark"),
                (false, _) => format!("{words} straight"),
            };
            self.length(pane, [far, from], words, true);
        }
    }

    /// The end behind the mark, where all from there to it is straight.
    fn straight_behind(&self) -> Option<Point3<f64>> {
        let trailing = self.bent.plan.lead.other();
        let end = self.before.ends()[usize::from(trailing == tubewright::forming::LeadEnd::B)].0;
        ((end - self.bent.index()).cross(&Vector3::x()).norm() <= 1e-6).then_some(end)
    }

    /// The line at one end of a length along the tube: from beside the tube to a little past where the length is drawn.
    fn witness(&self, view: &View, at: Point3<f64>) -> (Point, Point) {
        let (away, far) = self.beside(view);
        let near = self.before.od / 2.0 * view.scale + 0.8;
        (view.point(at) + away * near, view.point(at) + away * (far + 1.0))
    }

    /// Which way from the tube, and how far from its middle, lengths along it are drawn.
    fn beside(&self, view: &View) -> (Vec2, f64) {
        let away = view.direction(self.bent.tangent().coords).normalize();
        (away, (1.25 + 0.5) * self.bent.step.die().od.to_mm() * view.scale + 3.0)
    }

    /// A length along the tube beside it. One that is not told in any case is left out where it has no room.
    fn length(&self, pane: &mut Pane, [end, at]: [Point3<f64>; 2], words: String, told: bool) {
        let view = pane.view;
        let (away, far) = self.beside(&view);
        let (from, to) = (view.point(end) + away * far, view.point(at) + away * far);
        if !told && (to - from).hypot() < 16.0 {
            return;
        }
        for (foot, tip) in [self.witness(&view, end), self.witness(&view, at)] {
            pane.line(foot, tip, Pen::FINE);
            pane.keep_off_line(foot, tip);
        }
        pane.dimension(from, to, Pen::FINE);
        let words = Label::new((0.0, 0.0), words).size(LETTERS);
        let points = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8].map(|part| from + (to - from) * part);
        pane.note_at_one(&points, words, 0.6, away);
    }

    /// What the things beside the die are called, where there is room in their outline.
    fn names(&self, pane: &mut Pane) {
        let view = pane.view;
        let axis = view.point(Point3::origin());
        for solid in &self.bent.step.bender.solids {
            let Some(seen) = bounds(corners(&solid.shape).into_iter().map(|corner| view.point(corner))) else {
                continue;
            };
            let seen = seen.intersect(pane.window.inset(-1.0));
            if seen.width() > 0.0 && seen.height() > 0.0 && !seen.contains(axis) {
                let words = if solid.is_operator() { "operator" } else { solid.name.as_str() };
                pane.name(seen, Label::new((0.0, 0.0), words).size(SMALL).ink(Ink::GREY));
            }
        }
    }

    fn scale_bar(&self, sheet: &mut Drawing, window: Rect, from: f64) {
        let people = self.words.people;
        let scale = self.views[0].scale;
        let unit = match people.units {
            tubewright::round::Units::Mm(_) => Length::mm(1.0),
            tubewright::round::Units::Inch(_) => Length::inch(1.0),
        };
        let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0];
        let (x, y) = (window.x0 + from, window.y0 - 2.3);
        // A narrow view has a short bar, so that its words do not run into the title of the next.
        let fits = |long: &Length| {
            let words = Face::Book.width(&people.length_with_unit(*long), SMALL);
            long.to_mm() * scale <= f64::min(26.0, window.x1 - x - words - 3.0)
        };
        let Some(long) = steps.iter().map(|step| unit * *step).rev().find(fits) else {
            return;
        };
        let to = x + long.to_mm() * scale;
        for (one, other) in [((x, y), (to, y)), ((x, y - 0.8), (x, y + 0.8)), ((to, y - 0.8), (to, y + 0.8))] {
            sheet.line(one, other, Pen::FINE.width(0.25));
        }
        let words = Label::new((to + 1.5, window.y0 - 1.3), people.length_with_unit(long)).size(SMALL).ink(Ink::GREY);
        sheet.text(words);
    }

    /// What comes nearest, and in which view it is shown.
    pub(super) fn nearest(&self) -> Option<Near> {
        let clearance: &Clearance = self.bent.plan.tightest()?;
        let (gap, (point, other)) = (clearance.nearest?.gap, nearest(&self.bent)?);
        let what = obstacle(&clearance.obstacle);
        let touches = clearance.verdict == Verdict::Contact;
        let words =
            if touches { format!("touches {what}") } else { format!("{} from {what}", self.words.people.gap(gap)) };
        let floor_broken = clearance.obstacle == "floor" && !self.floor_in_place;
        let place = other.map_or(0, |other| {
            let seen = |view: &View| view.direction(other - point).hypot();
            usize::from(floor_broken || seen(&self.views[1]) > 1.3 * seen(&self.views[0]))
        });
        Some(Near { point, other, words, touches, place })
    }

    fn gap(&self, pane: &mut Pane, near: &Near) {
        let view = pane.view;
        let at = view.point(near.point);
        let radius = self.before.od / 2.0;
        let ring = kurbo::Shape::to_path(&kurbo::Circle::new(at, radius * view.scale), crate::draw::DRAWN);
        pane.over(Item::Path { path: ring, fill: None, pen: Some(Pen::NEXT.ink(Ink::WARN)) });
        let mut label_at = at;
        let mut toward = Vec2::new(0.0, -1.0);
        if let Some(other) = near.other.filter(|_| !near.touches) {
            let way = other - near.point;
            if let Some(unit) = way.try_normalize(radius) {
                let (from, to) = (view.point(near.point + unit * radius), view.point(other));
                pane.dimension(from, to, Pen::LINE.ink(Ink::WARN).width(0.25));
                label_at = from + (to - from) * 0.5;
                let seen = view.direction(way);
                toward = Vec2::new(-seen.y, seen.x);
            }
        }
        let words = Label::new((0.0, 0.0), near.words.clone()).size(LETTERS).bold().ink(Ink::WARN);
        pane.note(label_at, words, radius * view.scale + 1.0, toward);
    }
}

/// The point of the centreline that comes nearest to something, and that of the obstacle; `None` for the tube itself.
fn nearest(bent: &Bent<'_>) -> Option<(Point3<f64>, Option<Point3<f64>>)> {
    let clearance: &Clearance = bent.plan.tightest()?;
    let nearest = clearance.nearest?;
    Some((nearest.point, obstacle_point(&bent.step, &clearance.obstacle, nearest.point, nearest.die_angle)))
}

/// What comes nearest.
pub(super) struct Near {
    /// On the centreline.
    pub(super) point: Point3<f64>,
    /// The nearest point of the obstacle; `None` for the tube itself.
    pub(super) other: Option<Point3<f64>>,
    words: String,
    pub(super) touches: bool,
    place: usize,
}

fn filled(room: Rect, ink: Ink) -> Item {
    Item::Path { path: kurbo::Shape::to_path(&room, crate::draw::DRAWN), fill: Some(ink), pen: None }
}

fn zigzag(from: f64, to: f64, y: f64) -> BezPath {
    let mut path = BezPath::new();
    path.move_to((from, y));
    let (half, mut x) = (9.0, from + 9.0);
    while x + half < to {
        path.line_to((x - 0.8, y));
        path.line_to((x - 0.4, y - 0.7));
        path.line_to((x + 0.4, y + 0.7));
        path.line_to((x + 0.8, y));
        x += 2.0 * half;
    }
    path.line_to((to, y));
    path
}
