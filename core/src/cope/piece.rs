//! A piece of the tube that runs through, and where a line meets its surface.

use nalgebra::{Point3, Unit, Vector3};

/// A line meets a piece this far beyond its ends too, mm: between two pieces nothing gets lost by rounding.
const SEAM_MM: f64 = 1e-6;

/// Where a line meets the surface, or passes it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Met {
    /// Along the line, mm.
    pub(super) at: f64,
    /// Along the other's centreline, mm.
    pub(super) station: f64,
    /// How far the line passes the surface; 0 where it meets it.
    pub(super) beside: f64,
    /// The station at which the piece begins: tells pieces apart.
    pub(super) piece: f64,
    /// Whether the piece is a straight.
    pub(super) straight: bool,
}

/// A straight or an arc of the other's centreline, mm.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Piece {
    station: f64,
    course: Course,
}

#[derive(Clone, Debug, PartialEq)]
enum Course {
    Straight { from: Point3<f64>, way: Unit<Vector3<f64>>, length: f64 },
    Arc { centre: Point3<f64>, axes: [Unit<Vector3<f64>>; 3], radius: f64, turn: f64 },
}

impl Piece {
    pub(super) fn straight(from: Point3<f64>, way: Unit<Vector3<f64>>, length: f64, station: f64) -> Self {
        Self { station, course: Course::Straight { from, way, length } }
    }

    /// `axes`: from the centre to its start, travel there, the normal about which it turns right-handed.
    pub(super) fn arc(
        centre: Point3<f64>,
        axes: [Unit<Vector3<f64>>; 3],
        radius: f64,
        turn: f64,
        station: f64,
    ) -> Self {
        Self { station, course: Course::Arc { centre, axes, radius, turn } }
    }

    /// Where it begins along the centreline, mm.
    pub(super) const fn station(&self) -> f64 {
        self.station
    }

    /// Place and direction at a station, also beyond its ends.
    pub(super) fn at(&self, station: f64) -> (Point3<f64>, Unit<Vector3<f64>>) {
        let along = station - self.station;
        match &self.course {
            Course::Straight { from, way, .. } => (from + way.into_inner() * along, *way),
            Course::Arc { centre, axes: [outward, way, _], radius, .. } => {
                let (sin, cos) = libm::sincos(along / radius);
                let (out, on) = (outward.into_inner(), way.into_inner());
                (centre + (out * cos + on * sin) * *radius, Unit::new_normalize(on * cos - out * sin))
            }
        }
    }

    /// How far a point lies from its centreline.
    pub(super) fn distance(&self, point: Point3<f64>) -> f64 {
        match &self.course {
            Course::Straight { from, way, length } => {
                let along = (point - from).dot(way).clamp(0.0, *length);
                (point - (from + way.into_inner() * along)).norm()
            }
            Course::Arc { .. } => {
                let [start, end] = [0.0, self.length()].map(|along| (point - self.at(self.station + along).0).norm());
                self.around(point).map_or(start.min(end), |(_, away)| away)
            }
        }
    }

    fn length(&self) -> f64 {
        match &self.course {
            Course::Straight { length, .. } => *length,
            Course::Arc { radius, turn, .. } => radius * turn,
        }
    }

    /// Station of the place whose plane square to the centreline holds a point, and how far the point is off the centreline; `None` beyond the ends.
    fn around(&self, point: Point3<f64>) -> Option<(f64, f64)> {
        let (along, away) = match &self.course {
            Course::Straight { from, way, .. } => {
                let apart = point - from;
                let along = apart.dot(way);
                (along, (apart - way.into_inner() * along).norm())
            }
            Course::Arc { centre, axes: [outward, way, normal], radius, turn } => {
                let apart = point - centre;
                let (x, y, z) = (apart.dot(outward), apart.dot(way), apart.dot(normal));
                let angle = libm::atan2(y, x);
                // The middle of the arc is the place from which angles are told apart.
                let half = turn / 2.0;
                let angle = half + libm::remainder(angle - half, core::f64::consts::TAU);
                (angle * radius, libm::hypot(libm::hypot(x, y) - radius, z))
            }
        };
        (along >= -SEAM_MM && along <= self.length() + SEAM_MM).then_some((self.station + along, away))
    }

    /// No point of a torus is further from its centre, mm.
    fn reach(&self, other: f64) -> f64 {
        match &self.course {
            Course::Straight { length, .. } => *length,
            Course::Arc { radius, .. } => radius + other + 1.0,
        }
    }

    /// Whether anything within `around` of a line from `from` to `to` can meet it: by the ball around it.
    pub(super) fn can_meet(&self, from: Point3<f64>, to: Point3<f64>, around: f64) -> bool {
        let half = self.length() / 2.0;
        let (middle, _) = self.at(self.station + half);
        let line = to - from;
        let part = ((middle - from).dot(&line) / line.norm_squared()).clamp(0.0, 1.0);
        (middle - (from + line * part)).norm() <= half + around
    }

    fn met(&self, start: Point3<f64>, into: Unit<Vector3<f64>>, other: f64, at: f64) -> Option<Met> {
        let (station, away) = self.around(start + into.into_inner() * at)?;
        let straight = matches!(self.course, Course::Straight { .. });
        Some(Met { at, station, beside: (away - other).max(0.0), piece: self.station, straight })
    }

    /// Where a line meets the surface of radius `other`, on its way in or out.
    pub(super) fn meets(&self, start: Point3<f64>, into: Unit<Vector3<f64>>, other: f64) -> Vec<Met> {
        /// What a root of the quartic may be off the surface before it is one of the torus's other sheet, as a part of the radius.
        const OTHER_SHEET: f64 = 1e-3;
        let roots = match &self.course {
            Course::Straight { from, way, .. } => straight_roots(start, into, *from, *way, other)
                .map_or_else(Vec::new, |(middle, half)| {
                    half.map_or_else(Vec::new, |half| vec![middle - half, middle + half])
                }),
            Course::Arc { .. } => {
                let (quartic, middle) = self.quartic(start, into, other);
                let polished = |root: f64| self.polished(start, into, other, middle + root);
                real_roots(&quartic, self.reach(other)).into_iter().map(polished).collect()
            }
        };
        let met = |at: f64| self.met(start, into, other, at);
        let on_surface = |met: &Met| {
            let (_, away) = self.around(start + into.into_inner() * met.at).unwrap_or((0.0, f64::INFINITY));
            (away - other).abs() <= OTHER_SHEET * other
        };
        let all = roots.into_iter().filter_map(met).filter(on_surface);
        all.map(|met| Met { beside: 0.0, ..met }).collect()
    }

    /// Where a line that may not meet the surface comes near it.
    pub(super) fn passes(&self, start: Point3<f64>, into: Unit<Vector3<f64>>, other: f64) -> Vec<Met> {
        let places = match &self.course {
            Course::Straight { from, way, .. } => {
                straight_roots(start, into, *from, *way, other).map(|(middle, _)| middle).into_iter().collect()
            }
            Course::Arc { .. } => {
                let (quartic, middle) = self.quartic(start, into, other);
                real_roots(&derivative(&quartic), self.reach(other))
                    .into_iter()
                    .map(|root| middle + root)
                    .collect::<Vec<_>>()
            }
        };
        places.into_iter().filter_map(|at| self.met(start, into, other, at)).collect()
    }

    /// The torus of an arc along a line: coefficients from the constant up, of the distance from where the line comes nearest to the arc's centre, which is told too.
    ///
    /// With p(s) = p0 + s b, p0 square to b, q = |p|^2 = m + s^2 and z = z0 + s c its height over the arc's plane, a point is on the torus where
    /// (q + C^2 - R^2)^2 = 4 C^2 (q - z^2).
    fn quartic(&self, start: Point3<f64>, into: Unit<Vector3<f64>>, other: f64) -> ([f64; 5], f64) {
        let Course::Arc { centre, axes, radius, .. } = &self.course else { return ([0.0; 5], 0.0) };
        let apart = start - centre;
        let middle = -apart.dot(&into);
        let near = apart + into.into_inner() * middle;
        let (m, z, c) = (near.norm_squared(), near.dot(&axes[2]), into.dot(&axes[2]));
        let k = m + radius * radius - other * other;
        let four = 4.0 * radius * radius;
        let constant = k * k - four * (m - z * z);
        ([constant, 2.0 * four * z * c, 2.0 * k - four * (1.0 - c * c), 0.0, 1.0], middle)
    }

    /// A root made good to rounding by the distance itself, which the quartic squares twice.
    fn polished(&self, start: Point3<f64>, into: Unit<Vector3<f64>>, other: f64, at: f64) -> f64 {
        /// Never further than a root of the quartic can be off, mm.
        const FURTHEST: f64 = 1e-3;
        let Course::Arc { centre, axes, radius, .. } = &self.course else { return at };
        let mut better = at;
        for _ in 0..4 {
            let point = start + into.into_inner() * better;
            let apart = point - centre;
            let flat = apart - axes[2].into_inner() * apart.dot(&axes[2]);
            let Some(out) = flat.try_normalize(0.0) else { return at };
            let from_line = apart - out * *radius;
            let away = from_line.norm();
            let slope = from_line.dot(&into) / away;
            // Where the line grazes the surface a step would go nowhere.
            if slope.abs() < 1e-3 {
                break;
            }
            better -= (away - other) / slope;
        }
        if (better - at).abs() <= FURTHEST { better } else { at }
    }
}

/// Where a line comes nearest to a straight's axis, and how far before and behind that it meets the surface, where it does; `None` for parallel lines.
fn straight_roots(
    start: Point3<f64>,
    into: Unit<Vector3<f64>>,
    from: Point3<f64>,
    way: Unit<Vector3<f64>>,
    other: f64,
) -> Option<(f64, Option<f64>)> {
    let across = into.cross(&way);
    let sin = across.norm();
    if sin < 1e-6 {
        return None;
    }
    let apart = start - from;
    let square = |v: Vector3<f64>| v - way.into_inner() * v.dot(&way);
    let middle = -square(apart).dot(&square(into.into_inner())) / (sin * sin);
    let height = apart.dot(&across) / sin;
    // A line that only just touches, by rounding, does.
    let left = (other - height.abs()) * (other + height.abs());
    let touches = left > -1e-11 * other * other;
    Some((middle, touches.then(|| left.max(0.0).sqrt() / sin)))
}

fn value(of: &[f64], at: f64) -> f64 {
    of.iter().rev().fold(0.0, |sum, coefficient| sum * at + coefficient)
}

fn derivative(of: &[f64]) -> Vec<f64> {
    of.iter().enumerate().skip(1).map(|(power, coefficient)| power as f64 * coefficient).collect()
}

/// All real roots of a polynomial, coefficients from the constant up, that are no further from 0 than a bound; in rising order. One that it only touches may be told or not.
///
/// Between two neighbouring roots of its derivative it only rises or only falls, so that halving finds the one root there, or there is none.
fn real_roots(of: &[f64], bound: f64) -> Vec<f64> {
    let Some((leading, lower)) = of.split_last() else { return Vec::new() };
    match lower {
        [] => return Vec::new(),
        _ if *leading == 0.0 => return real_roots(lower, bound),
        [constant] => return vec![-constant / leading],
        _ => {}
    }
    let mut stops = vec![-bound];
    stops.extend(real_roots(&derivative(of), bound).into_iter().filter(|root| root.abs() < bound));
    stops.push(bound);
    let mut roots = Vec::new();
    for pair in stops.windows(2) {
        let (mut from, mut to) = (pair[0], pair[1]);
        let rises = value(of, to) >= value(of, from);
        let below = |at: f64| (value(of, at) < 0.0) == rises;
        if !below(from) || below(to) {
            continue;
        }
        for _ in 0..200 {
            let middle = 0.5 * (from + to);
            if middle <= from || middle >= to {
                break;
            }
            if below(middle) { from = middle } else { to = middle }
        }
        roots.push(0.5 * (from + to));
    }
    roots
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_real_roots_are_found() {
        // (x - 1)(x + 2)(x - 3.5)(x - 40) = x^4 - 42.5 x^3 + 94.5 x^2 + 227 x - 280
        let roots = real_roots(&[-280.0, 227.0, 94.5, -42.5, 1.0], 100.0);
        let wanted = [-2.0, 1.0, 3.5, 40.0];
        assert_eq!(roots.len(), wanted.len());
        assert!(roots.iter().zip(wanted).all(|(one, other)| (one - other).abs() < 1e-9), "{roots:?}");
        // x^4 + 1 has none.
        assert_eq!(real_roots(&[-280.0, 227.0, 94.5, -42.5, 1.0], 10.0).len(), 3);
        assert_eq!(real_roots(&[1.0, 0.0, 0.0, 0.0, 1.0], 100.0), Vec::<f64>::new());
    }

    /// Through the middle of a ring of radius 100 and tube 10, in its plane: 90 and 110 from its centre on either side.
    #[test]
    fn a_line_through_a_ring_meets_it_four_times() {
        let ring = Piece::arc(
            Point3::origin(),
            [Vector3::x_axis(), Vector3::y_axis(), Vector3::z_axis()],
            100.0,
            core::f64::consts::TAU - 1e-9,
            0.0,
        );
        let mut met: Vec<f64> =
            ring.meets(Point3::new(-3.0, 0.0, 0.0), Vector3::y_axis(), 10.0).iter().map(|met| met.at).collect();
        met.sort_by(f64::total_cmp);
        let wanted = [-110.0_f64, -90.0, 90.0, 110.0].map(|at| at.signum() * (at * at - 9.0).sqrt());
        assert_eq!(met.len(), 4);
        assert!(met.iter().zip(wanted).all(|(one, other)| (one - other).abs() < 1e-9), "{met:?}");
    }
}
