//! One straight or one arc of a centreline, and its chords.

use glam::DVec3;

/// Whether a piece is straight, or how it is curved.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Curve {
    Straight,
    /// Turns by `angle` about `centre`: at its start it lies at `centre + radius x across` and runs along `along`.
    Arc {
        centre: DVec3,
        across: DVec3,
        along: DVec3,
        radius: f64,
        angle: f64,
    },
}

/// A straight or an arc, walked from its near end to its far end. Lengths in mm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub(crate) from: DVec3,
    pub(crate) to: DVec3,
    /// Where its ends lie along the blank, counted from the start of the walk.
    pub(crate) near: f64,
    pub(crate) far: f64,
    /// How far the tube has turned, in all, from the start of the walk to either end; radians.
    pub(crate) turn_near: f64,
    pub(crate) turn_far: f64,
    pub(crate) curve: Curve,
}

/// The straight line that stands for a part of a piece.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Chord {
    pub(crate) from: DVec3,
    pub(crate) to: DVec3,
    /// No point of the part is further than this from the line, nor any point of the line from the part.
    pub(crate) sag: f64,
}

impl Piece {
    /// The point at a fraction of the way, 0 at its near end.
    pub(crate) fn at(&self, fraction: f64) -> DVec3 {
        match self.curve {
            Curve::Straight => self.from + fraction * (self.to - self.from),
            Curve::Arc { centre, across, along, radius, angle } => {
                let (sin, cos) = libm::sincos(fraction * angle);
                centre + radius * (cos * across + sin * along)
            }
        }
    }

    #[cfg(test)]
    /// The direction of the walk at a fraction of the way.
    pub(crate) fn direction(&self, fraction: f64) -> DVec3 {
        match self.curve {
            Curve::Straight => (self.to - self.from).normalize_or(DVec3::X),
            Curve::Arc { across, along, angle, .. } => {
                let (sin, cos) = libm::sincos(fraction * angle);
                cos * along - sin * across
            }
        }
    }

    /// The place on the blank at a fraction of the way.
    pub(crate) fn place(&self, fraction: f64) -> f64 {
        self.near + fraction * (self.far - self.near)
    }

    /// The fraction of the way at a place on the blank, not below 0; 0 for a piece of no length.
    pub(crate) fn fraction(&self, place: f64) -> f64 {
        if self.far > self.near { ((place - self.near) / (self.far - self.near)).max(0.0) } else { 0.0 }
    }

    /// Length along the curve.
    pub(crate) fn length(&self) -> f64 {
        match self.curve {
            Curve::Straight => (self.to - self.from).length(),
            Curve::Arc { radius, angle, .. } => radius * angle,
        }
    }

    /// The chord between two fractions of the way.
    ///
    /// An arc of radius R over an angle w lies within R (1 - cos(w / 2)) of its chord, up to a full turn.
    pub(crate) fn chord(&self, from: f64, to: f64) -> Chord {
        match self.curve {
            Curve::Straight => Chord { from: self.at(from), to: self.at(to), sag: 0.0 },
            Curve::Arc { radius, .. } => {
                Chord { from: self.at(from), to: self.at(to), sag: self.sag(radius, to - from) }
            }
        }
    }

    /// No point of the piece is further than this from the line between its ends.
    pub(crate) fn whole_sag(&self) -> f64 {
        match self.curve {
            Curve::Straight => 0.0,
            Curve::Arc { radius, .. } => self.sag(radius, 1.0),
        }
    }

    fn sag(&self, radius: f64, share: f64) -> f64 {
        let Curve::Arc { angle, .. } = self.curve else { return 0.0 };
        let half = libm::sin(0.25 * angle * share);
        2.0 * radius * half * half
    }
}

/// A walk along a centreline: where it stands, where it looks, and the pieces behind it.
#[derive(Clone, Debug)]
pub(crate) struct Walk {
    pub(crate) at: DVec3,
    pub(crate) direction: DVec3,
    /// The axis of the last bend of the tube in the walk's own sense: a bend turns the walk left about it.
    pub(crate) normal: DVec3,
    place: f64,
    turned: f64,
    pub(crate) pieces: Vec<Piece>,
}

/// A place of a walk to come back to.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mark {
    at: DVec3,
    direction: DVec3,
    normal: DVec3,
    place: f64,
    turned: f64,
    pieces: usize,
}

impl Walk {
    /// Where it stands now.
    pub(crate) fn mark(&self) -> Mark {
        let Self { at, direction, normal, place, turned, .. } = *self;
        Mark { at, direction, normal, place, turned, pieces: self.pieces.len() }
    }

    /// Goes back to where it stood.
    pub(crate) fn back_to(&mut self, mark: &Mark) {
        let Mark { at, direction, normal, place, turned, pieces } = *mark;
        self.pieces.truncate(pieces);
        (self.at, self.direction, self.normal, self.place, self.turned) = (at, direction, normal, place, turned);
    }

    pub(crate) fn new(at: DVec3, direction: DVec3, normal: DVec3, room: usize) -> Self {
        Self { at, direction, normal, place: 0.0, turned: 0.0, pieces: Vec::with_capacity(room) }
    }

    /// Goes straight on to a place on the blank; nothing where that lies behind.
    pub(crate) fn straight_to(&mut self, place: f64) {
        let length = place - self.place;
        if length > 0.0 {
            let to = self.at + length * self.direction;
            self.pieces.push(Piece {
                from: self.at,
                to,
                near: self.place,
                far: place,
                turn_near: self.turned,
                turn_far: self.turned,
                curve: Curve::Straight,
            });
            self.at = to;
            self.place = place;
        }
    }

    /// Rolls the axis of the next bend about the walk's direction, right-handed.
    pub(crate) fn roll(&mut self, angle: f64) {
        let (sin, cos) = libm::sincos(angle);
        self.normal = cos * self.normal + sin * self.direction.cross(self.normal);
    }

    /// Follows an arc that takes so much of the blank.
    pub(crate) fn bend(&mut self, radius: f64, angle: f64, blank: f64) {
        let (sin, cos) = libm::sincos(angle);
        let inward = self.normal.cross(self.direction);
        let centre = self.at + radius * inward;
        let to = centre + radius * (sin * self.direction - cos * inward);
        let far = self.place + blank;
        self.pieces.push(Piece {
            from: self.at,
            to,
            near: self.place,
            far,
            turn_near: self.turned,
            turn_far: self.turned + angle,
            curve: Curve::Arc { centre, across: -inward, along: self.direction, radius, angle },
        });
        self.direction = cos * self.direction + sin * inward;
        self.at = to;
        self.place = far;
        self.turned += angle;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::f64::consts::{FRAC_PI_2, PI};

    #[test]
    fn a_quarter_turn_ends_a_radius_on_and_a_radius_aside() {
        let mut walk = Walk::new(DVec3::ZERO, DVec3::X, DVec3::Z, 3);
        walk.straight_to(50.0);
        walk.bend(100.0, FRAC_PI_2, 157.0);
        walk.straight_to(217.0);
        assert!((walk.at - DVec3::new(150.0, 110.0, 0.0)).length() < 1e-9);
        let arc = walk.pieces[1];
        assert!((arc.at(1.0) - arc.to).length() < 1e-9);
        assert!(
            (arc.at(0.5) - DVec3::new(50.0 + 50.0 * 2.0_f64.sqrt(), 100.0 - 50.0 * 2.0_f64.sqrt(), 0.0)).length()
                < 1e-9
        );
        assert!((arc.direction(1.0) - DVec3::Y).length() < 1e-12);
        assert!((arc.place(1.0) - 207.0).abs() < 1e-12);
        assert!((walk.pieces[2].turn_near - FRAC_PI_2).abs() < 1e-12);
    }

    #[test]
    fn a_half_turn_of_roll_bends_the_other_way() {
        let mut walk = Walk::new(DVec3::ZERO, DVec3::X, DVec3::Z, 1);
        walk.roll(PI);
        walk.bend(100.0, FRAC_PI_2, 157.0);
        assert!((walk.at - DVec3::new(100.0, -100.0, 0.0)).length() < 1e-9);
    }

    #[test]
    fn an_arc_lies_within_its_sag_of_its_chord() {
        for angle in [0.3, 1.5, 3.0, 3.4, 4.5] {
            let mut walk = Walk::new(DVec3::ZERO, DVec3::X, DVec3::Z, 1);
            walk.bend(80.0, angle, 80.0 * angle);
            let arc = walk.pieces[0];
            let chord = arc.chord(0.0, 1.0);
            let line = chord.to - chord.from;
            let worst = (0..=1000)
                .map(|i| {
                    let point = arc.at(f64::from(i) / 1000.0) - chord.from;
                    let along = (point.dot(line) / line.length_squared()).clamp(0.0, 1.0);
                    (point - along * line).length()
                })
                .fold(0.0, f64::max);
            assert!(worst <= chord.sag + 1e-9 && worst > chord.sag - 1e-3, "{angle}: {worst} of {}", chord.sag);
        }
    }
}
