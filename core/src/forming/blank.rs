//! The straight, unbent blank: where each bend lies on it, its marks, and the roll of its top line.
//!
//! ```text
//!  end A                                                       end B
//!   |-beyond|---straight---|==blank arc==|---straight---|-beyond|
//!   u = 0   first node     start         end                    cut length
//! ```
//!
//! With lead A the mark of a bend stands at the start of its arc, with lead B at its end, each moved by the die's mark offset toward the lead
//! end.

use super::{Blank, FormedBend, LeadEnd, Material, Springback};
use crate::centreline::{BendId, Centreline};
use crate::units::{Angle, Length};

/// How one die and one material make a bend: everything that a [`FormedBend`] needs beside the shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Law {
    /// Place of the die in the bender's list.
    pub die: usize,
    /// The die's centreline radius.
    pub clr: Length,
    /// Springback, constant part.
    pub constant: Angle,
    /// Springback, the part in proportion to the bend angle.
    pub proportional: f64,
    /// Whether the curvature that springs back leaves a larger radius.
    pub radius_growth: bool,
    /// An arc of finished length s takes s / (1 + stretch) of blank.
    pub stretch: f64,
    /// From the tangent point to the die's index, positive toward the lead end.
    pub mark_offset: Length,
}

impl Law {
    /// The law of a material in a die; without a material, or where its springback is not given, that part is 0.
    #[must_use]
    pub fn new(die: usize, clr: Length, mark_offset: Length, material: Option<&Material>) -> Self {
        let springback = material.and_then(|material| material.springback);
        Self {
            die,
            clr,
            constant: springback.map_or(Angle::ZERO, |law| law.constant),
            proportional: springback.map_or(0.0, |law| law.proportional),
            radius_growth: material.is_none_or(|material| material.radius_growth),
            stretch: material.map_or(0.0, |material| material.stretch),
            mark_offset,
        }
    }

    /// The same law with this springback.
    #[must_use]
    pub fn with(self, springback: Springback) -> Self {
        Self { constant: springback.constant, proportional: springback.proportional, ..self }
    }

    /// Radius of the finished arc: CLR x (1 + proportional), since the material that wrapped the die at the CLR lies on a larger radius at a
    /// smaller angle; the CLR itself without radius growth.
    ///
    /// ```
    /// # use tubewright::forming::Law;
    /// # use tubewright::units::{Angle, Length};
    /// let law = Law { proportional: 0.02, radius_growth: true, ..Law::new(0, Length::mm(127.0), Length::ZERO, None) };
    /// assert!((law.formed_radius().to_mm() - 129.54).abs() < 1e-9);
    /// assert!((law.die_angle(Angle::deg(90.0)).to_deg() - 91.8).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn formed_radius(&self) -> Length {
        if self.radius_growth { self.clr * (1.0 + self.proportional) } else { self.clr }
    }

    /// How far the die turns for a bend angle: bend angle x (1 + proportional) + constant.
    #[must_use]
    pub fn die_angle(&self, bend: Angle) -> Angle {
        bend * (1.0 + self.proportional) + self.constant
    }
}

impl Blank {
    /// The blank of a finished centreline.
    ///
    /// `beyond_a` and `beyond_b`: blank beyond the first and beyond the last node, below 0 where it ends before the node. `law` is asked once for each bend. Exact up to rounding: a few units in the last place of the cut length.
    #[must_use]
    pub fn new(
        centreline: &Centreline,
        od: Length,
        beyond_a: Length,
        beyond_b: Length,
        law: &dyn Fn(BendId) -> Law,
    ) -> Self {
        let mut at = beyond_a;
        let mut developed = centreline.rows.last;
        let mut psi = Angle::ZERO;
        let mut bends = Vec::with_capacity(centreline.rows.bends.len());
        for (place, (row, radius)) in centreline.rows.bends.iter().zip(&centreline.radii).enumerate() {
            let bend = BendId(place);
            let law = law(bend);
            let arc = *radius * row.angle.to_rad();
            let blank_arc = arc / (1.0 + law.stretch);
            psi = (psi + row.rotation).wrapped();
            let start = at + row.length;
            let end = start + blank_arc;
            bends.push(FormedBend {
                bend,
                die: law.die,
                clr: law.clr,
                formed_radius: *radius,
                angle: row.angle,
                die_angle: law.die_angle(row.angle),
                rotation: row.rotation,
                psi,
                arc,
                blank_arc,
                stretch: law.stretch,
                start,
                end,
                mark_offset: law.mark_offset,
            });
            developed += row.length + arc;
            at = end;
        }
        Self { od, cut_length: at + centreline.rows.last + beyond_b, developed, bends }
    }

    /// The mark of a bend, from the cut end at A.
    ///
    /// # Panics
    /// Where the tube has no such bend.
    #[must_use]
    pub fn mark(&self, bend: BendId, lead: LeadEnd) -> Length {
        let bend = &self.bends[bend.0];
        match lead {
            LeadEnd::A => bend.start - bend.mark_offset,
            LeadEnd::B => bend.end + bend.mark_offset,
        }
    }

    /// Tube between the mark of a bend and the trailing end.
    ///
    /// # Panics
    /// Where the tube has no such bend.
    #[must_use]
    pub fn tail(&self, bend: BendId, lead: LeadEnd) -> Length {
        match lead {
            LeadEnd::A => self.cut_length - self.mark(bend, lead),
            LeadEnd::B => self.mark(bend, lead),
        }
    }

    /// Roll of a bend's top line from the reference line, clockwise looking from end A along the tube, in (-180, 180] degrees.
    ///
    /// The sum of the rotations up to the bend with lead A; half a turn more with lead B, which lays the tube in the other way round.
    ///
    /// # Panics
    /// Where the tube has no such bend.
    #[must_use]
    pub fn top(&self, bend: BendId, lead: LeadEnd) -> Angle {
        let psi = self.bends[bend.0].psi;
        match lead {
            LeadEnd::A => psi,
            LeadEnd::B => (psi + Angle::deg(180.0)).wrapped(),
        }
    }

    /// The same as a distance around the outside from the reference line, clockwise, in [0, girth).
    ///
    /// # Panics
    /// Where the tube has no such bend.
    #[must_use]
    pub fn top_arc(&self, bend: BendId, lead: LeadEnd) -> Length {
        // A billionth of a degree short of a whole turn is none at all: what is left of rotations that cancel.
        const NONE: f64 = 1e-9;
        let degrees = self.top(bend, lead).to_deg();
        let clockwise = if degrees < -NONE { degrees + 360.0 } else { degrees.max(0.0) };
        self.od * (Angle::deg(clockwise).to_rad() * 0.5)
    }

    /// What the hands do between two steps with the same lead end: positive is clockwise as seen from the trailing end, looking along the
    /// tube towards the die; in (-180, 180] degrees.
    ///
    /// # Panics
    /// Where the tube has no such bends.
    #[must_use]
    pub fn turn(&self, from: BendId, to: BendId, lead: LeadEnd) -> Angle {
        let by = self.bends[to.0].psi - self.bends[from.0].psi;
        match lead {
            LeadEnd::A => by.wrapped(),
            LeadEnd::B => (-by).wrapped(),
        }
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{Point3, Vector3};

    use super::*;
    use crate::centreline::{Row, Rows};

    fn centreline(rows: &[(f64, f64, f64)], last: f64, radius: f64) -> Centreline {
        let bends: Vec<Row> = rows
            .iter()
            .map(|(length, rotation, angle)| Row {
                length: Length::mm(*length),
                rotation: Angle::deg(*rotation),
                angle: Angle::deg(*angle),
            })
            .collect();
        Centreline {
            radii: vec![Length::mm(radius); bends.len()],
            bend_nodes: (1..=bends.len()).collect(),
            nodes: vec![None; bends.len() + 2],
            rows: Rows { bends, last: Length::mm(last) },
            passed: Vec::new(),
            start: Point3::origin(),
            direction: Vector3::x_axis(),
            normal: Vector3::z_axis(),
        }
    }

    fn law() -> Law {
        Law::new(0, Length::mm(100.0), Length::ZERO, None)
    }

    fn near(wanted: f64, got: f64) {
        assert!((wanted - got).abs() < 1e-9, "{wanted} {got}");
    }

    /// Two square bends on radius 100: the arc is 157.0796 long.
    #[test]
    fn marks_stand_at_the_tangent_points_and_extra_moves_them() {
        let line = centreline(&[(900.0, 0.0, 90.0), (800.0, 90.0, 90.0)], 900.0, 100.0);
        let blank = Blank::new(&line, Length::mm(40.0), Length::mm(12.0), Length::mm(5.0), &|_| law());
        let arc = 100.0 * core::f64::consts::FRAC_PI_2;
        near(912.0, blank.mark(BendId(0), LeadEnd::A).to_mm());
        near(912.0 + arc, blank.mark(BendId(0), LeadEnd::B).to_mm());
        near(912.0 + arc + 800.0, blank.mark(BendId(1), LeadEnd::A).to_mm());
        near(2600.0 + 2.0 * arc + 17.0, blank.cut_length.to_mm());
        near(2600.0 + 2.0 * arc, blank.developed.to_mm());
        near(905.0, blank.tail(BendId(1), LeadEnd::A).to_mm() - arc);
        near(912.0 + arc, blank.tail(BendId(0), LeadEnd::B).to_mm());
    }

    #[test]
    fn a_mark_offset_moves_the_mark_toward_the_lead_end() {
        let line = centreline(&[(900.0, 0.0, 90.0)], 900.0, 100.0);
        let law = Law { mark_offset: Length::mm(7.0), ..law() };
        let blank = Blank::new(&line, Length::mm(40.0), Length::ZERO, Length::ZERO, &|_| law);
        near(893.0, blank.mark(BendId(0), LeadEnd::A).to_mm());
        near(907.0 + 100.0 * core::f64::consts::FRAC_PI_2, blank.mark(BendId(0), LeadEnd::B).to_mm());
    }

    #[test]
    fn stretch_shortens_the_blank_and_not_the_finished_tube() {
        let line = centreline(&[(900.0, 0.0, 90.0)], 900.0, 100.0);
        let law = Law { stretch: 0.02, ..law() };
        let blank = Blank::new(&line, Length::mm(40.0), Length::ZERO, Length::ZERO, &|_| law);
        let arc = 100.0 * core::f64::consts::FRAC_PI_2;
        near(1800.0 + arc, blank.developed.to_mm());
        near(1800.0 + arc / 1.02, blank.cut_length.to_mm());
    }

    #[test]
    fn top_lines_follow_the_sum_of_rotations() {
        let line = centreline(&[(300.0, 0.0, 30.0), (300.0, 90.0, 30.0), (300.0, -120.0, 30.0)], 300.0, 100.0);
        let blank = Blank::new(&line, Length::mm(40.0), Length::ZERO, Length::ZERO, &|_| law());
        let girth = 40.0 * core::f64::consts::PI;
        for (bend, lead, top, arc) in [
            (0, LeadEnd::A, 0.0, 0.0),
            (1, LeadEnd::A, 90.0, 0.25),
            (2, LeadEnd::A, -30.0, 330.0 / 360.0),
            (0, LeadEnd::B, 180.0, 0.5),
            (1, LeadEnd::B, -90.0, 0.75),
            (2, LeadEnd::B, 150.0, 150.0 / 360.0),
        ] {
            near(top, blank.top(BendId(bend), lead).to_deg());
            near(arc * girth, blank.top_arc(BendId(bend), lead).to_mm());
        }
        near(90.0, blank.turn(BendId(0), BendId(1), LeadEnd::A).to_deg());
        near(120.0, blank.turn(BendId(1), BendId(2), LeadEnd::B).to_deg());
        near(30.0, blank.turn(BendId(2), BendId(0), LeadEnd::A).to_deg());
    }

    #[test]
    fn rotations_that_cancel_leave_no_whole_girth() {
        let third = 120.0;
        let line = centreline(
            &[(300.0, 0.0, 30.0), (300.0, third, 30.0), (300.0, third, 30.0), (300.0, third, 30.0)],
            300.0,
            100.0,
        );
        let blank = Blank::new(&line, Length::mm(40.0), Length::ZERO, Length::ZERO, &|_| law());
        assert!(blank.top_arc(BendId(3), LeadEnd::A).to_mm() < 1e-6);
    }
}
