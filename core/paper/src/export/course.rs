//! A centreline as pieces, each with a direction square to it that is carried along the tube without turning about it.
//!
//! Along an arc such a direction keeps its parts along the spoke and along the normal of the bend. So the line that a point of the section draws on the surface is a
//! straight line on a cylinder and a circle about the bend's axis on a torus, exactly, and it goes on from piece to piece without a step: it may divide a
//! surface, and rings of corners laid out from it join without a twist.

use nalgebra::{Point3, Unit, Vector3};
use tubewright::centreline::{Centreline, Segment};
use tubewright::units::Length;

/// Points closer than this are one point: what rounding may come to on a tube of many bends, and what modellers take for one by themselves. Pieces shorter than
/// that are left out.
pub(super) const ONE_POINT: Length = Length::mm(1e-7);

/// A straight or an arc.
#[derive(Clone, Copy, Debug)]
pub(super) struct Span {
    pub(super) segment: Segment,
    /// The carried direction where it begins.
    out: Vector3<f64>,
}

/// A place on a centreline: point in mm, way from end A to end B, carried direction.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub(super) at: Point3<f64>,
    pub(super) ahead: Unit<Vector3<f64>>,
    pub(super) out: Unit<Vector3<f64>>,
}

impl Frame {
    fn new(at: Point3<f64>, ahead: Unit<Vector3<f64>>, out: Vector3<f64>) -> Self {
        Self { at, ahead, out: Unit::new_normalize(out - ahead.into_inner() * ahead.dot(&out)) }
    }

    /// The point on a circle about it, so far from the carried direction, counted right-handed about the way ahead; radians.
    pub(super) fn around(&self, radius: f64, angle: f64) -> Point3<f64> {
        let (sin, cos) = libm::sincos(angle);
        self.at + (self.out.into_inner() * cos + self.ahead.cross(&self.out) * sin) * radius
    }
}

impl Span {
    /// The place so far along it.
    pub(super) fn frame(&self, along: Length) -> Frame {
        let (at, ahead) = self.segment.at(along);
        let out = match self.segment {
            Segment::Straight { .. } => self.out,
            Segment::Arc { outward, normal, radius, .. } => {
                let (sin, cos) = libm::sincos(along / radius);
                let spoke = outward.into_inner() * cos + normal.cross(&outward) * sin;
                spoke * self.out.dot(&outward) + normal.into_inner() * self.out.dot(&normal)
            }
        };
        Frame::new(at, ahead, out)
    }

    pub(super) fn start(&self) -> Frame {
        self.frame(Length::ZERO)
    }

    pub(super) fn end(&self) -> Frame {
        self.frame(self.segment.length())
    }
}

/// The pieces from end A to end B. The direction begins away from the inside of the first bend.
pub(super) fn spans(centreline: &Centreline) -> Vec<Span> {
    let mut out = centreline.direction.cross(&centreline.normal);
    let mut spans = Vec::new();
    for segment in centreline.segments().into_iter().filter(|segment| segment.length() >= ONE_POINT) {
        let (at, ahead) = segment.at(Length::ZERO);
        let span = Span { segment, out: Frame::new(at, ahead, out).out.into_inner() };
        out = span.end().out.into_inner();
        spans.push(span);
    }
    spans
}

/// All joints: the start of each piece, and the end of the last.
pub(super) fn joints(spans: &[Span]) -> Vec<Frame> {
    spans.iter().map(Span::start).chain(spans.last().map(Span::end)).collect()
}

#[cfg(test)]
mod tests {
    use tubewright::centreline::{Row, Rows};
    use tubewright::units::Angle;

    use super::*;

    #[test]
    fn a_carried_direction_goes_on_from_piece_to_piece_and_does_not_turn_about_the_tube() {
        let row = |length, rotation, angle| Row {
            length: Length::mm(length),
            rotation: Angle::deg(rotation),
            angle: Angle::deg(angle),
        };
        let bends = vec![row(100.0, 0.0, 90.0), row(0.0, 70.0, 35.0), row(40.0, -120.0, 170.0)];
        let rows = Rows { bends, last: Length::ZERO };
        let centreline = Centreline::from_rows(&rows, &|_| Length::mm(80.0)).expect("a sound tube");
        let spans = spans(&centreline);
        // Two of the four straights have no length.
        assert_eq!(spans.len(), 5);
        for pair in spans.windows(2) {
            let (end, start) = (pair[0].end(), pair[1].start());
            assert!((end.at - start.at).norm() < 1e-9);
            assert!((end.out.into_inner() - start.out.into_inner()).norm() < 1e-12);
        }
        for span in &spans {
            // The small change over a small step has no part around the tube.
            let step = Length::mm(1e-4);
            let (one, other) = (span.start(), span.frame(step));
            assert!((other.out.into_inner() - one.out.into_inner()).dot(&one.ahead.cross(&one.out)).abs() < 1e-9);
        }
    }
}
