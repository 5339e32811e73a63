//! Ends of a tube that land on another one, where the job says so.

use nalgebra::{Unit, Vector3};

use super::Tube;
use crate::bender::Hand;
use crate::centreline::{Segment, angle_about};
use crate::cope::{Branch, CopeMistake, Joint, Through};
use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// How an end is cut.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Cut {
    /// To the other's surface.
    #[default]
    Cope,
    /// By two plane cuts that come near it.
    TwoPlane,
}

/// When an end is cut to its shape.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum When {
    /// On the straight blank.
    Before,
    /// On the bent tube.
    #[default]
    After,
}

/// An end of a tube that lands on another one.
#[derive(Clone, Debug, PartialEq)]
pub struct End {
    /// The tube that runs through, by name.
    pub meets: String,
    /// Left open for the weld, along this tube's own axis: the whole cut lies so much further into the tube.
    pub gap: Length,
    /// How it is cut.
    pub cut: Cut,
    /// When.
    pub when: When,
    /// How it fits the other.
    pub joint: Joint,
}

impl End {
    /// From the node into the tube to the long point of the cut, below 0 where the tube reaches beyond its node.
    #[must_use]
    pub fn set_off(&self) -> Length {
        self.gap
            + match self.cut {
                Cut::Cope => self.joint.long,
                Cut::TwoPlane => self.joint.planes.long,
            }
    }

    /// From the node into the tube to the short point of the cut: from there on the tube is whole.
    #[must_use]
    pub fn short_point(&self) -> Length {
        self.gap
            + match self.cut {
                Cut::Cope => self.joint.short,
                Cut::TwoPlane => self.joint.planes.short,
            }
    }

    /// Whether it is cut before there is a bend in its tube: a tube that is not bent has no other time.
    #[must_use]
    pub fn is_before(&self, bent: bool) -> bool {
        self.when == When::Before || !bent
    }

    /// From the long point to the short point.
    #[must_use]
    pub fn depth(&self) -> Length {
        self.short_point() - self.set_off()
    }
}

impl Tube {
    /// An end that lands on another tube, where it does.
    #[must_use]
    pub fn end(&self, end: LeadEnd) -> Option<&End> {
        self.ends[usize::from(end == LeadEnd::B)].as_ref()
    }

    /// The same tube with an end that lands on another one fitted anew: to the other as it is now.
    ///
    /// # Errors
    /// Where the end does not fit it any more, or leaves no straight.
    pub fn fitted(&self, end: LeadEnd, through: &Self) -> Result<Self, CopeMistake> {
        let mut tube = self.clone();
        if let Some(own) = &mut tube.ends[usize::from(end == LeadEnd::B)] {
            own.joint = self.joint(end, through)?;
        }
        match tube.cut_into_a_bend(end) {
            Some(mistake) => Err(mistake),
            None => Ok(tube),
        }
    }

    /// How an end of this tube fits another one.
    ///
    /// # Errors
    /// See [`Joint::new`].
    pub fn joint(&self, end: LeadEnd, through: &Self) -> Result<Joint, CopeMistake> {
        let (od, wall) = (self.stock.od, self.stock.wall);
        let branch = Branch { centreline: &self.centreline, end, od, wall };
        Joint::new(branch, Through { centreline: &through.centreline, od: through.stock.od })
    }

    /// An end that has its cut before the tube is bent, or without being bent, where it has one: the cut takes off what is left on there.
    #[must_use]
    pub fn cut_before(&self, end: LeadEnd) -> Option<&End> {
        self.end(end).filter(|own| own.is_before(!self.centreline.rows.bends.is_empty()))
    }

    /// What is wrong where the cut of an end, with its gap, leaves no straight.
    #[must_use]
    pub fn cut_into_a_bend(&self, end: LeadEnd) -> Option<CopeMistake> {
        let own = self.end(end)?;
        let rows = &self.centreline.rows;
        let straight = match (rows.bends.first(), end) {
            (Some(first), LeadEnd::A) => first.length,
            (Some(_), LeadEnd::B) => rows.last,
            // What the other end takes of a straight tube is not there for this one.
            (None, _) => rows.last - self.end(end.other()).map_or(Length::ZERO, End::short_point),
        };
        let needed = own.short_point();
        (needed >= straight).then_some(CopeMistake::NoStraight { needed: Some(needed), there: straight })
    }

    /// Blank beyond the first and the last node: what is left on there less the set-off of an end that lands on another tube. Below 0 where the blank ends
    /// before its node.
    #[must_use]
    pub fn beyond(&self) -> [Length; 2] {
        let set_off = |end: &Option<End>| end.as_ref().map_or(Length::ZERO, End::set_off);
        [self.extra_a - set_off(&self.ends[0]), self.extra_b - set_off(&self.ends[1])]
    }

    /// The way from the tube's axis to its reference line, at an end of the finished tube, in the job's axes.
    ///
    /// The reference line is on top when bend 1 lies in the bender with lead A, and goes along with the tube: a bend does not turn it, a rotation before a bend leaves
    /// it behind. A tube without bends has none; there it is the line of the toe of its first end that lands on another tube. `None` where there is no such end either.
    #[must_use]
    pub fn reference(&self, hand: Hand, end: LeadEnd) -> Option<Unit<Vector3<f64>>> {
        let Some(first) = self.centreline.rows.bends.first() else {
            return Some(self.ends.iter().flatten().next()?.joint.toe());
        };
        // With lead A the normal of a bend points down for a bender that bends anticlockwise.
        let up = -hand.sign();
        if end == LeadEnd::A {
            return Some(Unit::new_normalize(self.centreline.normal.into_inner() * up));
        }
        let rolled: Angle = self.centreline.rows.bends.iter().map(|row| row.rotation).sum::<Angle>() - first.rotation;
        let last = self.centreline.segments().into_iter().rev().find_map(|segment| match segment {
            Segment::Arc { normal, .. } => Some(normal.into_inner()),
            Segment::Straight { .. } => None,
        })?;
        let (_, travel) = self.centreline.end();
        let (sin, cos) = libm::sincos(-rolled.to_rad());
        Some(Unit::new_normalize((last * cos + travel.cross(&last) * sin) * up))
    }

    /// Where the toe of an end lies around the tube, clockwise from the reference line looking from end A along the tube, in (-180, 180] degrees; `None` for an
    /// end that meets no other tube.
    #[must_use]
    pub fn toe(&self, hand: Hand, end: LeadEnd) -> Option<Angle> {
        let toe = self.end(end)?.joint.toe();
        let travel = if end == LeadEnd::A { self.centreline.direction } else { self.centreline.end().1 };
        Some(angle_about(&travel, &*self.reference(hand, end)?, &toe))
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::Point3;

    use super::super::{GivenBy, Stock};
    use super::*;
    use crate::centreline::{Centreline, Row, Rows};

    /// Two bends with a rotation between them; end A at the origin along +x, bend 1 toward +y.
    fn tube(rotation: f64, meets: Option<(LeadEnd, Vector3<f64>)>) -> Tube {
        let row = |rotation, angle| Row {
            length: Length::mm(300.0),
            rotation: Angle::deg(rotation),
            angle: Angle::deg(angle),
        };
        let rows = Rows { bends: vec![row(0.0, 90.0), row(rotation, 40.0)], last: Length::mm(300.0) };
        let centreline = Centreline::from_rows(&rows, &|_| Length::mm(100.0)).expect("a tube that can be");
        let mut ends = [None, None];
        if let Some((end, way)) = meets {
            let node = if end == LeadEnd::A { centreline.start } else { centreline.end().0 };
            let other = Centreline::from_nodes(&[node - way * 500.0, node + way * 500.0], &|_| Length::ZERO);
            let other = other.expect("a straight tube");
            let branch = Branch { centreline: &centreline, end, od: Length::mm(30.0), wall: None };
            let joint = Joint::new(branch, Through { centreline: &other, od: Length::mm(40.0) }).expect("it fits");
            let (cut, when) = (Cut::Cope, When::After);
            ends[usize::from(end == LeadEnd::B)] =
                Some(End { meets: "other".into(), gap: Length::mm(1.5), cut, when, joint });
        }
        Tube {
            name: "tube".into(),
            stock: Stock {
                od: Length::mm(30.0),
                wall: None,
                material: None,
                density: None,
                yield_strength: None,
                e_modulus: None,
            },
            dies: vec![0, 0],
            die: None,
            given: GivenBy::Rows,
            node_names: vec![None; centreline.nodes.len()],
            centreline,
            extra_a: Length::mm(5.0),
            extra_b: Length::ZERO,
            ends,
            seam: None,
            one_piece: false,
            tolerance: None,
            pair: None,
        }
    }

    /// With the bender's hand anticlockwise and lead A the tube lies with its end A along +x of the bender and bend 1 toward +y: what is +z here is then down.
    #[test]
    fn the_toe_is_counted_from_the_line_on_top() {
        let lean = Vector3::new(1.0, 0.0, 1.0).normalize();
        // The acute side is where the other tube leans along this one: +z, which is opposite to the top line -z.
        let found = tube(0.0, Some((LeadEnd::A, lean)));
        assert!((found.toe(Hand::Anticlockwise, LeadEnd::A).expect("a toe").to_deg().abs() - 180.0).abs() < 1e-9);
        assert!(found.toe(Hand::Clockwise, LeadEnd::A).expect("a toe").to_deg().abs() < 1e-9);
        // Looking along +x with -z on top, clockwise of it is x cross -z = +y.
        let lean = Vector3::new(1.0, 1.0, 0.0).normalize();
        let found = tube(0.0, Some((LeadEnd::A, lean)));
        assert!((found.toe(Hand::Anticlockwise, LeadEnd::A).expect("a toe").to_deg() - 90.0).abs() < 1e-9);
        assert_eq!(found.toe(Hand::Clockwise, LeadEnd::B), None);
    }

    /// The reference line goes along with the tube: the top line of bend 2 is the rotation clockwise of it, so at end B it lies back by the rotation from there.
    #[test]
    fn a_rotation_leaves_the_reference_line_behind() {
        for rotation in [0.0, 70.0, -130.0] {
            let found = tube(rotation, None);
            let (_, travel) = found.centreline.end();
            let reference = found.reference(Hand::Anticlockwise, LeadEnd::B).expect("a line");
            let Some(Segment::Arc { normal, .. }) = found.centreline.segments().into_iter().nth(3) else {
                panic!("the arc of bend 2")
            };
            let top = -normal.into_inner();
            assert!((angle_about(&travel, &reference, &top).to_deg() - rotation).abs() < 1e-9);
        }
    }

    #[test]
    fn the_set_off_is_taken_from_what_is_left_on() {
        let square = tube(0.0, Some((LeadEnd::A, Vector3::y())));
        // 30 square on 40: the tips lie sqrt(20^2 - 15^2) from the other's axis.
        let set_off = (400.0_f64 - 225.0).sqrt() + 1.5;
        let end = square.end(LeadEnd::A).expect("it lands there");
        assert!((end.set_off().to_mm() - set_off).abs() < 1e-9);
        assert!((end.depth().to_mm() - (20.0 + 1.5 - set_off)).abs() < 1e-9);
        assert!((square.beyond()[0].to_mm() - (5.0 - set_off)).abs() < 1e-9);
        assert_eq!(square.beyond()[1], Length::ZERO);
        assert_eq!(square.centreline.start, Point3::origin());
    }
}
