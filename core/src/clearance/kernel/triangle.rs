//! A line against one triangle.
//!
//! The nearest pair lies on an edge, at an end of the line over the face, or the line crosses the face: the least of
//! these five is the distance.

use glam::DVec3;

use super::{Near, near_line};

/// How near the line from `start` to `start + along` comes to the triangle.
///
/// Flat triangles are treated as their edges. The normal points from the triangle to the line.
pub(super) fn near_triangle(start: DVec3, along: DVec3, corners: &[DVec3; 3]) -> Near {
    let [a, b, c] = *corners;
    let (ab, ac) = (b - a, c - a);
    let face = ab.cross(ac);
    let size = face.length_squared();
    let mut best = near_line(start, along, a, ab);
    for (from, core) in [(b, c - b), (c, a - c)] {
        let near = near_line(start, along, from, core);
        if near.gap < best.gap {
            best = near;
        }
    }
    if size > 0.0 && best.gap > 0.0 {
        let (first, last) = (face.dot(start - a), face.dot(start + along - a));
        let over = |point: DVec3| {
            let from = point - a;
            let (u, v) = (from.cross(ac).dot(face), ab.cross(from).dot(face));
            u >= 0.0 && v >= 0.0 && u + v <= size
        };
        if first * last <= 0.0 && (first - last).abs() > 0.0 {
            let at = first / (first - last);
            if over(start + at * along) {
                return Near { gap: 0.0, at, normal: DVec3::ZERO };
            }
        }
        let normal = face / size.sqrt();
        for (height, at, point) in [(first, 0.0, start), (last, 1.0, start + along)] {
            let gap = height.abs() / size.sqrt();
            if gap < best.gap && over(point) {
                best = Near { gap, at, normal: if height > 0.0 { normal } else { -normal } };
            }
        }
    }
    best
}
