//! A tube as it is seen from a direction, drawn from back to front.
//!
//! Seen from anywhere, a round tube is a stroke as wide as its OD along its projected centreline: every ball that rolls through it is seen as a disc.
//! Only the cut ends are flat; each is seen as an ellipse. So the centreline is cut into short spans, each of which is drawn as a black stroke with a lighter
//! one on it: what is left of the black are the two edges. The light stroke goes on a little along the tube beyond its span, so that the black ends of
//! neighbours do not show. Spans are drawn the furthest first, so that what lies nearer covers what lies behind it, edges and all.
//!
//! No span goes deeper than half the OD. Where two parts of a tube cross in a view they are at least one OD apart in depth, so the order is right.

use kurbo::{BezPath, Point, Rect};
use nalgebra::{Point3, Vector3};

use super::course::Course;
use super::view::View;
use crate::draw::{Ink, Item, Pen};

/// The line about a tube, mm on the sheet.
pub(super) const EDGE: f64 = 0.3;

/// How far the edges of one span reach over the next, mm on the sheet.
const HAIR: f64 = 0.08;

/// Largest part of an arc in one span: 45 degrees.
const BOW: f64 = core::f64::consts::FRAC_PI_4;

/// Something that is drawn at a depth.
#[derive(Clone, Debug)]
pub(super) struct Layer {
    /// How near it is, mm of the tube: larger is nearer.
    pub(super) depth: f64,
    pub(super) items: Vec<Item>,
}

/// A tube in space, from end A to end B.
#[derive(Clone, Debug)]
pub(super) struct Tube {
    pub(super) courses: Vec<Course>,
    /// Outside diameter, mm.
    pub(super) od: f64,
    /// Wall, mm, where known.
    pub(super) wall: Option<f64>,
}

impl Tube {
    /// Its length along the centreline, mm.
    pub(super) fn length(&self) -> f64 {
        self.courses.iter().map(Course::length).sum()
    }

    /// The point so far along it.
    pub(super) fn at(&self, place: f64) -> Point3<f64> {
        let mut before = 0.0;
        for course in &self.courses {
            let length = course.length();
            if place <= before + length && length > 0.0 {
                return course.at((place - before).max(0.0) / length);
            }
            before += length;
        }
        self.courses.last().map_or_else(Point3::origin, |course| course.at(1.0))
    }

    /// Its ends, each with the direction outward.
    pub(super) fn ends(&self) -> [(Point3<f64>, Vector3<f64>); 2] {
        let end = |course: Option<&Course>, part: f64| {
            course.map_or((Point3::origin(), Vector3::x()), |course| {
                let direction = course.direction(part);
                (course.at(part), if part > 0.5 { direction } else { -direction })
            })
        };
        [end(self.courses.first(), 0.0), end(self.courses.last(), 1.0)]
    }

    /// The projected centreline between two places along it.
    pub(super) fn path(&self, view: &View, from: f64, to: f64) -> BezPath {
        let mut path = BezPath::new();
        let mut before = 0.0;
        for course in &self.courses {
            let length = course.length();
            let (near, far) = (from.max(before) - before, to.min(before + length) - before);
            if far > near && length > 0.0 {
                course.between(near / length, far / length).add(view, &mut path);
            }
            before += length;
        }
        path
    }

    /// Points along it that are no further apart than `step`, mm of the tube.
    pub(super) fn points(&self, step: f64) -> Vec<Point3<f64>> {
        let mut points = Vec::new();
        for course in &self.courses {
            let parts = (course.length() / step).ceil().max(1.0);
            points.extend((0..=parts as usize).map(|part| course.at(part as f64 / parts)));
        }
        points
    }

    /// All of it, each span with its depth.
    pub(super) fn layers(&self, view: &View, ink: Ink) -> Vec<Layer> {
        let whole = self.length();
        let seen = self.od * view.scale;
        let edge = EDGE.min(seen / 3.0);
        let (black, light) = (Pen::LINE.width(seen + edge), Pen::LINE.width(seen - edge).ink(ink));
        // As far as the round end of a black stroke reaches, and a little more.
        let more = self.od / 2.0 + edge / view.scale;
        let mut layers = Vec::new();
        let mut before = 0.0;
        for course in &self.courses {
            let length = course.length();
            let parts = spans(course, view, self.od);
            for part in 0..parts {
                let from = before + length * part as f64 / parts as f64;
                let to = before + length * (part + 1) as f64 / parts as f64;
                let (wide_from, wide_to) = ((from - more).max(0.0), (to + more).min(whole));
                // A straight is seen as a rectangle. An arc that turns toward whoever looks ends in a disc.
                let bowed = matches!(course, Course::Arc { .. });
                let round = bowed && wide_from > self.od / 2.0 && wide_to < whole - self.od / 2.0;
                let pen = |pen: Pen| if round { pen.round() } else { pen };
                let stroke = |path: BezPath, pen: Pen| Item::Path { path, fill: None, pen: Some(pen) };
                // A hair over its neighbours, so that no light shows between them.
                let hair = HAIR / view.scale;
                let (black_from, black_to) = ((from - hair).max(0.0), (to + hair).min(whole));
                let items = vec![
                    stroke(self.path(view, black_from, black_to), pen(black)),
                    stroke(self.path(view, wide_from, wide_to), pen(light)),
                ];
                layers.push(Layer { depth: view.depth(self.at(0.5 * (from + to))), items });
            }
            before += length;
        }
        let last = layers.len().saturating_sub(1);
        for (place, (end, outward)) in [0, last].into_iter().zip(self.ends()) {
            let facing = outward.dot(&view.toward);
            let mut face = self.face(view, end, outward, ink, edge);
            if let Some(layer) = layers.get_mut(place) {
                if facing < -1e-9 {
                    face.append(&mut layer.items);
                    layer.items = face;
                } else {
                    layer.items.append(&mut face);
                }
            }
        }
        layers.sort_by(|one, other| one.depth.total_cmp(&other.depth));
        layers
    }

    /// A cut end: the ring of the wall, and the hole in it where it is seen.
    fn face(&self, view: &View, end: Point3<f64>, outward: Vector3<f64>, ink: Ink, edge: f64) -> Vec<Item> {
        let ellipse = |radius: f64| {
            let mut path = BezPath::new();
            Course::circle(end, outward, radius).add(view, &mut path);
            path.close_path();
            path
        };
        let pen = Pen::LINE.width(edge).round();
        let mut items = vec![Item::Path { path: ellipse(self.od / 2.0), fill: Some(ink), pen: Some(pen) }];
        let facing = outward.dot(&view.toward);
        if let Some(wall) = self.wall.filter(|_| facing * self.od * view.scale > 1.0) {
            let hole = Item::Path { path: ellipse(self.od / 2.0 - wall), fill: Some(Ink::GREY), pen: None };
            items.push(hole);
        }
        items
    }

    /// A ring about it, as it is seen: the half of it that faces whoever looks.
    pub(super) fn ring(view: &View, od: f64, at: Point3<f64>, direction: Vector3<f64>) -> BezPath {
        let across = direction.cross(&view.toward);
        let mut path = BezPath::new();
        if let Some(across) = across.try_normalize(1e-6) {
            let along = across.cross(&direction).normalize();
            let along = if along.dot(&view.toward) < 0.0 { -along } else { along };
            let half = Course::Arc { centre: at, across, along, radius: od / 2.0, angle: core::f64::consts::PI };
            half.add(view, &mut path);
        } else {
            Course::circle(at, direction, od / 2.0).add(view, &mut path);
        }
        path
    }

    /// Its outline in dashes, as what is not there yet: the edges of a dashed stroke, with a light one on it.
    pub(super) fn ghost(&self, view: &View, from: f64, to: f64, ink: Ink) -> Vec<Item> {
        let seen = self.od * view.scale;
        let edge = Pen::NEXT.width.min(seen / 3.0);
        let path = self.path(view, from, to);
        if path.elements().is_empty() {
            return Vec::new();
        }
        let mut items = vec![
            Item::Path { path: path.clone(), fill: None, pen: Some(Pen::NEXT.width(seen + edge)) },
            Item::Path { path, fill: None, pen: Some(Pen::LINE.width(seen - edge).ink(ink)) },
        ];
        for (end, outward) in self.ends() {
            let mut ellipse = BezPath::new();
            Course::circle(end, outward, self.od / 2.0).add(view, &mut ellipse);
            let on_way = (self.at(from) - end).norm() < 1e-6 || (self.at(to) - end).norm() < 1e-6;
            if on_way {
                items.push(Item::Path { path: ellipse, fill: None, pen: Some(Pen::NEXT.width(edge)) });
            }
        }
        items
    }
}

/// Into how many spans a piece is cut.
fn spans(course: &Course, view: &View, od: f64) -> usize {
    let deep = |from: Point3<f64>, to: Point3<f64>| (view.depth(to) - view.depth(from)).abs();
    let parts = match course {
        Course::Straight { from, to } => deep(*from, *to) / (od / 2.0),
        Course::Arc { radius, angle, .. } => {
            let most = 16;
            let depth: f64 = (0..most)
                .map(|part| {
                    deep(course.at(f64::from(part) / f64::from(most)), course.at(f64::from(part + 1) / f64::from(most)))
                })
                .sum();
            (depth.min(radius * angle) / (od / 2.0)).max(angle / BOW)
        }
    };
    // Rounding alone makes no span.
    (parts - 1e-9).ceil().clamp(1.0, 400.0) as usize
}

/// The box about points on the sheet; `None` where there are none.
pub(super) fn bounds(points: impl IntoIterator<Item = Point>) -> Option<Rect> {
    points.into_iter().map(|point| Rect::from_points(point, point)).reduce(|one, other| one.union(other))
}
