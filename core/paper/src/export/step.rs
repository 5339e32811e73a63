//! STEP: one solid a tube, bounded by exact cylinders, tori and planes, in the schema of AP214 that design programs read and write.
//!
//! Each surface of a straight or an arc is two halves, so that no face closes on itself and none needs a seam:
//!
//! ```text
//!     A(i) ---------- line or circle ---------> A(i+1)        A lies along the carried direction, B opposite;
//!      |                                          |           the half circles run right-handed about the way
//!      | half 0: from A to B            half 0    |           from end A to end B
//!      v                                          v
//!     B(i) ---------- line or circle ---------> B(i+1)        half 1 is the other side, from B back to A
//! ```
//!
//! The ends are planes: a disc, or a ring where the wall is known. Every edge belongs to two faces that run through it in opposite ways. Lengths are in mm, points in
//! the axes of the job. Several tubes are products of an assembly, each at the identity; a single one is a product of its own. Entities are those of ISO
//! 10303-42 (geometry and topology) and -44 (assembly), from memory; every file is read and measured by a modeller of others' making.

use nalgebra::{Point3, Unit, Vector3};
use tubewright::centreline::Segment;

use super::course::{Frame, ONE_POINT, Span, joints};
use super::part21::{Data, Id, list, real, triple, words};
use super::{Part, Parts, WRITER};

/// AP214 as an international standard.
const SCHEMA: &str = "AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }";

/// The STEP file.
#[must_use]
pub fn step(parts: &Parts) -> String {
    let mut file = File::new();
    let made: Vec<Product> = parts.parts.iter().map(|part| file.part(part)).collect();
    if made.len() > 1 {
        file.assembly(parts, &made);
    }
    let mut says = parts.says();
    says.push("Lengths in mm, in the axes of the job.".to_owned());
    // A date of the form that the standard asks for, or none: no clock is read.
    let date = parts.date.as_deref().filter(|date| is_date(date));
    let date = date.map_or_else(String::new, |date| format!("{date}T00:00:00"));
    file.data.whole(&says, &parts.job, &date, WRITER, SCHEMA)
}

/// Whether it looks like 2026-11-20.
fn is_date(text: &str) -> bool {
    let mut parts = text.split('-').map(|part| (part.len(), part.bytes().all(|byte| byte.is_ascii_digit())));
    parts.by_ref().take(3).eq([(4, true), (2, true), (2, true)]) && parts.next().is_none()
}

/// A product in the file.
#[derive(Clone, Copy)]
struct Product {
    definition: Id,
    /// Its shape, and the axes in which that stands.
    shape: Id,
    axes: Id,
}

/// One round surface of a tube, by its joints.
struct Wall {
    /// For each joint the half circles from A to B and from B back to A.
    halves: Vec<[Id; 2]>,
    faces: Vec<Id>,
}

struct File {
    data: Data,
    product_context: Id,
    definition_context: Id,
    /// Units and what counts as one point.
    context: Id,
}

impl File {
    fn new() -> Self {
        let mut data = Data::default();
        let application = data.put("APPLICATION_CONTEXT('core data for automotive mechanical design processes')");
        data.put(format_args!(
            "APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,{application})"
        ));
        let product_context = data.put(format_args!("PRODUCT_CONTEXT('',{application},'mechanical')"));
        let definition_context =
            data.put(format_args!("PRODUCT_DEFINITION_CONTEXT('part definition',{application},'design')"));
        let mm = data.put("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))");
        let radian = data.put("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))");
        let steradian = data.put("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())");
        let one_point = data.put(format_args!(
            "UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE({}),{mm},'distance_accuracy_value','points closer than this are one')",
            real(ONE_POINT.to_mm())
        ));
        let context = data.put(format_args!(
            "(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({one_point}))\
             GLOBAL_UNIT_ASSIGNED_CONTEXT(({mm},{radian},{steradian}))REPRESENTATION_CONTEXT('',''))"
        ));
        Self { data, product_context, definition_context, context }
    }

    fn point(&mut self, at: &Point3<f64>) -> Id {
        self.data.put(format_args!("CARTESIAN_POINT('',{})", triple(&at.coords)))
    }

    fn direction(&mut self, way: &Vector3<f64>) -> Id {
        self.data.put(format_args!("DIRECTION('',{})", triple(way)))
    }

    /// A place with its axis and the direction from which angles are counted.
    fn axes(&mut self, at: &Point3<f64>, axis: &Vector3<f64>, zero: &Vector3<f64>) -> Id {
        let (at, axis, zero) = (self.point(at), self.direction(axis), self.direction(zero));
        self.data.put(format_args!("AXIS2_PLACEMENT_3D('',{at},{axis},{zero})"))
    }

    /// The axes of the job.
    fn job_axes(&mut self) -> Id {
        self.axes(&Point3::origin(), &Vector3::z(), &Vector3::x())
    }

    fn edge(&mut self, from: Id, to: Id, curve: Id) -> Id {
        self.data.put(format_args!("EDGE_CURVE('',{from},{to},{curve},.T.)"))
    }

    /// A closed way along edges, each with or against its own way, in the order of travel.
    fn around(&mut self, edges: &[(Id, bool)]) -> Id {
        let edges: Vec<Id> = edges
            .iter()
            .map(|(edge, with)| {
                let with = if *with { ".T." } else { ".F." };
                self.data.put(format_args!("ORIENTED_EDGE('',*,*,{edge},{with})"))
            })
            .collect();
        self.data.put(format_args!("EDGE_LOOP('',{})", list(&edges)))
    }

    /// A face; `outward` says whether the material lies on the back of its surface.
    fn face(&mut self, bounds: &[Id], surface: Id, outward: bool) -> Id {
        let sense = if outward { ".T." } else { ".F." };
        let mut kinds = vec!["FACE_OUTER_BOUND"];
        kinds.resize(bounds.len(), "FACE_BOUND");
        let bounds: Vec<Id> = kinds
            .into_iter()
            .zip(bounds)
            .map(|(kind, bound)| self.data.put(format_args!("{kind}('',{bound},.T.)")))
            .collect();
        self.data.put(format_args!("ADVANCED_FACE('',{},{surface},{sense})", list(&bounds)))
    }

    /// The surface at a distance from the centreline. The outside of a tube looks outward, the inside toward the centreline.
    fn wall(&mut self, spans: &[Span], radius: f64, outward: bool) -> Wall {
        let joints = joints(spans);
        let vertex = |file: &mut Self, at: Point3<f64>| {
            let at = file.point(&at);
            file.data.put(format_args!("VERTEX_POINT('',{at})"))
        };
        let half_turn = core::f64::consts::PI;
        let ends: Vec<[Id; 2]> = joints
            .iter()
            .map(|joint| [0.0, half_turn].map(|angle| vertex(self, joint.around(radius, angle))))
            .collect();
        let halves: Vec<[Id; 2]> = joints
            .iter()
            .zip(&ends)
            .map(|(joint, &[a, b])| {
                let axes = self.axes(&joint.at, &joint.ahead, &joint.out);
                let circle = self.data.put(format_args!("CIRCLE('',{axes},{})", real(radius)));
                [self.edge(a, b, circle), self.edge(b, a, circle)]
            })
            .collect();
        let mut faces = Vec::new();
        for (place, span) in spans.iter().enumerate() {
            let along: [Id; 2] = [0, 1].map(|side| {
                let out = joints[place].out.into_inner() * if side == 0 { radius } else { -radius };
                let curve = self.lengthwise(span, &joints[place], &out);
                self.edge(ends[place][side], ends[place + 1][side], curve)
            });
            let surface = self.surface(span, &joints[place], radius);
            let (near, far) = (halves[place], halves[place + 1]);
            for half in 0..2 {
                let (first, last) = (along[1 - half], along[half]);
                // Seen from outside: around the near end, along, back around the far end, and back along.
                let way = [(near[half], true), (first, true), (far[half], false), (last, false)];
                let around = if outward { self.around(&way) } else { self.around(&reversed(&way)) };
                faces.push(self.face(&[around], surface, outward));
            }
        }
        Wall { halves, faces }
    }

    /// The line that a point of the section draws along a piece; `out` leads from the centreline at the start to it.
    fn lengthwise(&mut self, span: &Span, start: &Frame, out: &Vector3<f64>) -> Id {
        match span.segment {
            Segment::Straight { direction, .. } => {
                let (at, way) = (self.point(&(start.at + out)), self.direction(&direction));
                let vector = self.data.put(format_args!("VECTOR('',{way},1.0)"));
                self.data.put(format_args!("LINE('',{at},{vector})"))
            }
            Segment::Arc { centre, outward, normal, radius, .. } => {
                let height = normal.into_inner() * out.dot(&normal);
                let axes = self.axes(&(centre + height), &normal, &outward);
                self.data.put(format_args!("CIRCLE('',{axes},{})", real(radius.to_mm() + out.dot(&outward))))
            }
        }
    }

    fn surface(&mut self, span: &Span, start: &Frame, radius: f64) -> Id {
        match span.segment {
            Segment::Straight { direction, .. } => {
                let axes = self.axes(&start.at, &direction, &start.out);
                self.data.put(format_args!("CYLINDRICAL_SURFACE('',{axes},{})", real(radius)))
            }
            Segment::Arc { centre, outward, normal, radius: bend, .. } => {
                let axes = self.axes(&centre, &normal, &outward);
                self.data.put(format_args!("TOROIDAL_SURFACE('',{axes},{},{})", real(bend.to_mm()), real(radius)))
            }
        }
    }

    /// A flat end that looks along `way`, which is the way of travel at end B and against it at end A.
    fn end(&mut self, at: &Frame, way: Unit<Vector3<f64>>, outside: [Id; 2], inside: Option<[Id; 2]>) -> Id {
        let with = way.dot(&at.ahead) > 0.0;
        let ring = |halves: [Id; 2], with: bool| {
            let way = halves.map(|half| (half, true));
            if with { way } else { reversed(&way) }
        };
        let mut bounds = vec![self.around(&ring(outside, with))];
        bounds.extend(inside.map(|inside| self.around(&ring(inside, !with))));
        let axes = self.axes(&at.at, &way, &at.out);
        let plane = self.data.put(format_args!("PLANE('',{axes})"));
        self.face(&bounds, plane, true)
    }

    fn solid(&mut self, part: &Part) -> Id {
        let (outside, inside) = part.radii();
        let outer = self.wall(&part.spans, outside, true);
        let inner = inside.map(|radius| self.wall(&part.spans, radius, false));
        let joints = joints(&part.spans);
        let mut faces = outer.faces;
        for (place, way) in [(0, -joints[0].ahead), (joints.len() - 1, joints[joints.len() - 1].ahead)] {
            let inside = inner.as_ref().map(|wall| wall.halves[place]);
            faces.push(self.end(&joints[place], way, outer.halves[place], inside));
        }
        faces.extend(inner.into_iter().flat_map(|wall| wall.faces));
        let shell = self.data.put(format_args!("CLOSED_SHELL('',{})", list(&faces)));
        self.data.put(format_args!("MANIFOLD_SOLID_BREP({},{shell})", words(&part.name)))
    }

    /// A product by the name that no other one of the file has, with the shape that holds these items.
    fn product(&mut self, id: &str, name: &str, about: &str, kind: &str, axes: Id, items: &[Id]) -> Product {
        let product = self.data.put(format_args!(
            "PRODUCT({},{},{},({}))",
            words(id),
            words(name),
            words(about),
            self.product_context
        ));
        self.data.put(format_args!("PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,({product}))"));
        let formation = self.data.put(format_args!("PRODUCT_DEFINITION_FORMATION('','',{product})"));
        let definition =
            self.data.put(format_args!("PRODUCT_DEFINITION('design','',{formation},{})", self.definition_context));
        let described = self.data.put(format_args!("PRODUCT_DEFINITION_SHAPE('','',{definition})"));
        let shape = self.data.put(format_args!("{kind}({},{},{})", words(name), list(items), self.context));
        self.data.put(format_args!("SHAPE_DEFINITION_REPRESENTATION({described},{shape})"));
        Product { definition, shape, axes }
    }

    fn part(&mut self, part: &Part) -> Product {
        let axes = self.job_axes();
        let solid = self.solid(part);
        let kind = "ADVANCED_BREP_SHAPE_REPRESENTATION";
        self.product(&part.name, &part.name, &part.about, kind, axes, &[axes, solid])
    }

    /// The tubes together, each at its place in the axes of the job.
    fn assembly(&mut self, parts: &Parts, made: &[Product]) {
        let mut id = parts.job.clone();
        while parts.parts.iter().any(|part| part.name == id) {
            id.push_str(" assembly");
        }
        let axes: Vec<Id> = made.iter().map(|_| self.job_axes()).collect();
        let own = self.job_axes();
        let items: Vec<Id> = std::iter::once(own).chain(axes.iter().copied()).collect();
        let about = format!("{} tubes, each in its place", made.len());
        let whole = self.product(&id, &parts.job, &about, "SHAPE_REPRESENTATION", own, &items);
        for (number, ((part, product), place)) in parts.parts.iter().zip(made).zip(axes).enumerate() {
            let use_of = self.data.put(format_args!(
                "NEXT_ASSEMBLY_USAGE_OCCURRENCE('{}',{},'',{},{},$)",
                number + 1,
                words(&part.name),
                whole.definition,
                product.definition
            ));
            let placed = self.data.put(format_args!("PRODUCT_DEFINITION_SHAPE('','',{use_of})"));
            let identity = self.data.put(format_args!("ITEM_DEFINED_TRANSFORMATION('','',{},{place})", product.axes));
            let related = self.data.put(format_args!(
                "(REPRESENTATION_RELATIONSHIP('','',{},{})REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION({identity})\
                 SHAPE_REPRESENTATION_RELATIONSHIP())",
                product.shape, whole.shape
            ));
            self.data.put(format_args!("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION({related},{placed})"));
        }
    }
}

/// The same way gone backwards.
fn reversed<const N: usize>(way: &[(Id, bool); N]) -> [(Id, bool); N] {
    let mut back = way.map(|(edge, with)| (edge, !with));
    back.reverse();
    back
}

#[cfg(test)]
mod tests {
    use super::is_date;

    #[test]
    fn a_date_of_the_form_of_the_standard_is_told_from_any_other_text() {
        assert!(is_date("2026-11-20"));
        for other in ["", "20 November", "2026-11", "2026-11-2o", "2026-11-20-1"] {
            assert!(!is_date(other), "{other}");
        }
    }
}
