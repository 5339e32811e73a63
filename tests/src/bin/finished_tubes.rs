//! Prints seeded random tubes as JSON, for a judge outside to rebuild: rows, formed radii, three bodies each, and our
//! developed length, end point and gaps. `tests/python/opencascade.py` reads it.
//!
//! 50 tubes; with `TUBEWRIGHT_COUNT=full` in the environment 1,000.

use std::io::Write;

use nalgebra::{Point3, Vector3};
use serde_json::{Value, json};
use tubewright::bender::Shape;
use tubewright::centreline::{BendId, Centreline, Row, Rows};
use tubewright::clearance::static_gap;
use tubewright::units::{Angle, Length};

/// Pseudorandom numbers with a seed: splitmix64 (Steele, Lea, Flood, OOPSLA 2014).
struct Random(u64);

impl Random {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly spread between two figures.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        // 53 bits are what an f64 holds, so that the conversion is exact.
        let share = (self.bits() >> 11) as f64 / (1_u64 << 53) as f64;
        low + (high - low) * share
    }

    /// Each coordinate evenly spread up to a distance either way.
    fn offset(&mut self, reach: f64) -> Vector3<f64> {
        Vector3::new(self.between(-reach, reach), self.between(-reach, reach), self.between(-reach, reach))
    }
}

/// A tube of one to seven bends from nearly straight on to nearly back, and its formed radii.
fn tube(random: &mut Random) -> (Rows, Vec<Length>) {
    let count = 1 + (random.bits() % 7) as usize;
    let row = |place: usize, random: &mut Random| Row {
        length: Length::mm(random.between(5.0, 450.0)),
        rotation: if place == 0 { Angle::ZERO } else { Angle::deg(random.between(-180.0, 180.0)) },
        angle: Angle::deg(random.between(0.5, 170.0)),
    };
    let bends = (0..count).map(|place| row(place, random)).collect();
    let radii = (0..count).map(|_| Length::mm(random.between(40.0, 220.0))).collect();
    (Rows { bends, last: Length::mm(random.between(5.0, 450.0)) }, radii)
}

/// A box, a cylinder and a capsule: every third one far away, the others about a place near the tube's legs.
fn bodies(random: &mut Random, nodes: &[Point3<f64>]) -> [Shape; 3] {
    let mut place = || {
        let leg = (random.bits() % (nodes.len() as u64 - 1)) as usize;
        let on_leg = nodes[leg] + (nodes[leg + 1] - nodes[leg]) * random.between(0.0, 1.0);
        let reach = if random.bits().is_multiple_of(3) { 900.0 } else { 70.0 };
        let from = on_leg + random.offset(reach);
        (from, from + random.offset(160.0), Length::mm(random.between(4.0, 45.0)))
    };
    let (a, b, _) = place();
    let cuboid = Shape::Box { min: a.inf(&b), max: a.sup(&b) };
    let (from, to, radius) = place();
    let cylinder = Shape::Cylinder { from, to, radius };
    let (from, to, radius) = place();
    [cuboid, cylinder, Shape::Capsule { from, to, radius }]
}

fn told(point: &Point3<f64>) -> Value {
    json!([point.x, point.y, point.z])
}

fn described(shape: &Shape) -> Value {
    match shape {
        Shape::Box { min, max } => json!({ "kind": "box", "min_mm": told(min), "max_mm": told(max) }),
        Shape::Cylinder { from, to, radius } => {
            json!({ "kind": "cylinder", "from_mm": told(from), "to_mm": told(to), "radius_mm": radius.to_mm() })
        }
        Shape::Capsule { from, to, radius } => {
            json!({ "kind": "capsule", "from_mm": told(from), "to_mm": told(to), "radius_mm": radius.to_mm() })
        }
        Shape::Mesh(_) => Value::Null,
    }
}

fn main() -> std::io::Result<()> {
    let full = std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|count| count == "full");
    let mut random = Random(20_261_120);
    let mut tubes = Vec::new();
    while tubes.len() < if full { 1000 } else { 50 } {
        let (rows, radii) = tube(&mut random);
        let od = Length::mm(random.between(15.0, 60.0));
        let centreline = Centreline::from_rows(&rows, &|bend: BendId| radii[bend.0])
            .map_err(|mistakes| std::io::Error::other(format!("{mistakes:?}")))?;
        let nodes: Vec<_> = centreline.nodes.iter().flatten().copied().collect();
        let solids: Vec<_> = bodies(&mut random, &nodes)
            .iter()
            .map(|shape| json!({ "solid": described(shape), "gap_mm": static_gap(&centreline, od, shape).to_mm() }))
            .collect();
        let mut out: Vec<_> = rows
            .bends
            .iter()
            .map(|row| json!({ "length_mm": row.length.to_mm(), "rotation_deg": row.rotation.to_deg(), "bend_deg": row.angle.to_deg() }))
            .collect();
        out.push(json!({ "length_mm": rows.last.to_mm() }));
        tubes.push(json!({
            "od_mm": od.to_mm(),
            "start_mm": told(&centreline.start),
            "direction": [centreline.direction.x, centreline.direction.y, centreline.direction.z],
            "normal": [centreline.normal.x, centreline.normal.y, centreline.normal.z],
            "radii_mm": radii.iter().map(|radius| radius.to_mm()).collect::<Vec<_>>(),
            "rows": out,
            "developed_mm": centreline.developed().to_mm(),
            "end_mm": nodes.last().map(told),
            "solids": solids,
        }));
    }
    let mut to = std::io::stdout().lock();
    serde_json::to_writer(&mut to, &json!({ "tubes": tubes }))?;
    writeln!(to)
}
