//! How the two views of a step are put on their sheet.

use kurbo::{Rect, Vec2};
use nalgebra::{Point3, Vector3};

use super::bent::{Bent, corners};
use super::tube::{Tube, bounds};
use super::view::View;

/// Between a view and the edge of its window, mm: room for words.
const ROOM: f64 = 8.5;

/// Height of the line of words over a view, mm.
const TITLE: f64 = 4.6;

/// Along the die's axis, and square to it. Both have the tube along the sheet.
pub(super) fn directions(bent: &Bent<'_>) -> [View; 2] {
    let z = Vector3::z();
    if bent.lies() {
        // Whoever reads stands where the operator does, else on the tube's side of the die.
        let tube_side = bent.tangent().y;
        let stands = bent.operator().and_then(|solid| {
            let corners = corners(&solid.shape);
            let middle = corners.iter().map(|corner| corner.y).sum::<f64>() / corners.len().max(1) as f64;
            (middle.abs() > tube_side.abs()).then_some(middle)
        });
        let flip = if stands.unwrap_or(tube_side) <= 0.0 { 1.0 } else { -1.0 };
        let (right, away) = (Vector3::x() * flip, Vector3::y() * flip);
        [View::new(right, away), View::new(right, z)]
    } else {
        let up = bent.up();
        let right = up.cross(&z);
        [View::new(right, up), View::new(right, -z)]
    }
}

/// What has to be seen: points, and how far the tube reaches about them.
pub(super) struct Shown {
    points: Vec<Point3<f64>>,
    room: f64,
    /// Seen along the die's axis only.
    main: Vec<Point3<f64>>,
}

impl Shown {
    pub(super) fn of(bent: &Bent<'_>, tubes: &[&Tube]) -> Self {
        let od = bent.step.blank.od.to_mm();
        let mut points: Vec<Point3<f64>> = tubes.iter().flat_map(|tube| tube.points(od)).collect();
        for part in 1..12 {
            points.extend(bent.tube(bent.plan.die_angle * (f64::from(part) / 12.0)).points(od * 4.0));
        }
        let mut main = Vec::new();
        for tool in bent.step.bender.tools(bent.step.die()) {
            points.extend(tool.shapes.iter().flat_map(corners));
        }
        if let Some(operator) = bent.operator().filter(|_| bent.lies()) {
            // Half of it tells where that is.
            let corners = corners(&operator.shape);
            let middle = corners.iter().map(|corner| corner.coords).sum::<Vector3<f64>>() / corners.len().max(1) as f64;
            main.push(Point3::from(middle));
        }
        Self { points, room: od / 2.0, main }
    }

    /// The box of what is seen, at 1:1.
    pub(super) fn seen(&self, view: &View) -> Rect {
        let tube = bounds(self.points.iter().map(|point| view.point(*point))).unwrap_or(Rect::ZERO);
        let tube = tube.inflate(self.room, self.room);
        if view.toward.z.abs() > 0.5 {
            bounds(self.main.iter().map(|point| view.point(*point))).map_or(tube, |main| tube.union(main))
        } else {
            tube
        }
    }
}

/// Where the two views go.
#[derive(Clone, Copy)]
pub(super) struct Layout {
    pub(super) scale: f64,
    pub(super) windows: [Rect; 2],
    /// Room under the view that shows the floor.
    pub(super) more: f64,
    pub(super) height: f64,
}

/// A floor that would take more than this of the sheet is drawn nearer, past a break, mm.
const FLOOR: f64 = 20.0;

/// Room for the floor past a break, mm.
const BREAK: f64 = 9.0;

/// What is seen in the two views, laid out.
pub(super) struct Arranged {
    /// As they were asked for, at 1:1.
    pub(super) views: [View; 2],
    /// What is seen in each, at 1:1.
    pub(super) flat: [Rect; 2],
    pub(super) layout: Layout,
    with_floor: usize,
    /// Whether the floor is drawn where it is; else past a break.
    pub(super) floor_in_place: bool,
}

impl Arranged {
    /// `sheet` is the width and the largest height of the sheet, mm.
    pub(super) fn new(bent: &Bent<'_>, shown: &Shown, views: [View; 2], sheet: (f64, f64)) -> Self {
        let flat = [shown.seen(&views[0]), shown.seen(&views[1])];
        let with_floor = if bent.lies() { 1 } else { 0 };
        let floor = bent.step.bender.centre_height.to_mm();
        // On the sheet heights count down.
        let gap = floor - flat[with_floor].y1;
        let layout = |flat: &[Rect; 2], more: f64| Layout::better(flat, with_floor, more, sheet);
        let past = layout(&flat, BREAK);
        let mut whole = flat;
        whole[with_floor].y1 = floor.max(flat[with_floor].y1);
        let in_place = layout(&whole, 3.0);
        let floor_in_place = gap * past.scale <= FLOOR || in_place.scale > 0.9 * past.scale;
        let (flat, layout) = if floor_in_place { (whole, in_place) } else { (flat, past) };
        Self { views, flat, layout, with_floor, floor_in_place }
    }

    /// All that the window of the first view shows, at 1:1.
    pub(super) fn sight(&self) -> Rect {
        let (window, scale) = (self.layout.windows[0], self.layout.scale);
        let at = self.placed()[0].at;
        Rect::from_points(
            ((window.origin().to_vec2() - at) / scale).to_point(),
            ((Vec2::new(window.x1, window.y1) - at) / scale).to_point(),
        )
    }

    /// The views, each in the middle of its window.
    pub(super) fn placed(&self) -> [View; 2] {
        let layout = &self.layout;
        [0, 1].map(|view| {
            let more = if view == self.with_floor { layout.more } else { 0.0 };
            let middle = self.flat[view].center().to_vec2() * layout.scale;
            let at = layout.windows[view].center().to_vec2() - Vec2::new(0.0, more / 2.0) - middle;
            self.views[view].placed(layout.scale, at)
        })
    }
}

impl Layout {
    /// One under the other, or beside each other where that makes them much larger.
    pub(super) fn better(flat: &[Rect; 2], with_floor: usize, more: f64, sheet: (f64, f64)) -> Self {
        let (width, high) = sheet;
        let edge = 0.3;
        let wide = flat[0].width().max(flat[1].width());
        let tall = flat[0].height() + flat[1].height();
        let stacked =
            ((width - 2.0 * ROOM - 2.0 * edge) / wide).min((high - 2.0 * TITLE - 4.0 * ROOM - more - edge) / tall);
        let mores = [0, 1].map(|view| if view == with_floor { more } else { 0.0 });
        let across = flat[0].width() + flat[1].width();
        let beside = ((width - 4.0 * ROOM - 3.0 - 2.0 * edge) / across)
            .min((high - TITLE - 2.0 * ROOM - mores[0] - edge) / flat[0].height())
            .min((high - TITLE - 2.0 * ROOM - mores[1] - edge) / flat[1].height());
        if beside > 1.1 * stacked {
            let tall = [0, 1].map(|view| flat[view].height() * beside + mores[view]);
            let height = tall[0].max(tall[1]) + 2.0 * ROOM + TITLE + edge;
            let first = flat[0].width() / across * (width - 4.0 * ROOM - 3.0 - 2.0 * edge) + 2.0 * ROOM;
            let one = Rect::new(edge, TITLE, edge + first, height - edge);
            let other = Rect::new(one.x1 + 3.0, TITLE, width - edge, height - edge);
            return Self { scale: beside, windows: [one, other], more, height };
        }
        let heights = [0, 1].map(|view| flat[view].height() * stacked + mores[view] + 2.0 * ROOM);
        let one = Rect::new(edge, TITLE, width - edge, TITLE + heights[0]);
        let other = Rect::new(edge, one.y1 + TITLE, width - edge, one.y1 + TITLE + heights[1]);
        Self { scale: stacked, windows: [one, other], more, height: other.y1 + edge }
    }
}
