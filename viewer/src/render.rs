//! A scene on the graphics card: surfaces as nodes, lines anew for every frame.

use std::rc::Rc;

use kiss3d::camera::{Camera3d, OrbitCamera3d};
use kiss3d::color::Color;
use kiss3d::egui::{Pos2, Rect};
use kiss3d::event::Key;
use kiss3d::glamx::{Vec2, Vec3};
use kiss3d::procedural::{IndexBuffer, RenderMesh};
use kiss3d::renderer::Polyline3d;
use kiss3d::resource::MaterialManager3d;
use kiss3d::scene::SceneNode3d;
use kiss3d::window::Window;

use crate::camera::FIELD;
use crate::convert;
use crate::matte::{Fill, Matte, Shared};
use crate::scene::{Body, Look, Mesh, Scene, Stand, Trace};

/// The wall behind it all: light, so that black labels and dark tools stand out.
pub const BACKGROUND: Color = Color::new(0.88, 0.90, 0.91, 1.0);

/// The colour of a surface.
const fn colour(look: Look) -> Color {
    match look {
        Look::Tube => Color::new(0.38, 0.52, 0.66, 1.0),
        Look::OtherTube => Color::new(0.62, 0.66, 0.68, 1.0),
        Look::Was => Color::new(0.52, 0.54, 0.57, 1.0),
        Look::Next => Color::new(0.28, 0.48, 0.72, 1.0),
        Look::Die => Color::new(0.45, 0.41, 0.36, 1.0),
        Look::Tool => Color::new(0.60, 0.54, 0.44, 1.0),
        Look::Solid => Color::new(0.70, 0.68, 0.62, 1.0),
        Look::Tight => Color::new(0.95, 0.72, 0.10, 1.0),
        Look::Contact => Color::new(0.80, 0.12, 0.08, 1.0),
        Look::Mark => Color::new(0.05, 0.05, 0.05, 1.0),
    }
}

/// Where the tube is not now, it is seen through.
const fn fill(look: Look) -> Fill {
    match look {
        Look::Was => Fill::Dots,
        Look::Next => Fill::Strokes,
        _ => Fill::Whole,
    }
}

/// The materials that scenes are made of; made once for each window.
pub struct Materials {
    whole: Shared,
    strokes: Shared,
    dots: Shared,
}

impl Materials {
    /// A surface or window has to be there: it brings the graphics card.
    #[must_use]
    pub fn new() -> Self {
        let made = |fill, name: &str| {
            let material = Matte::shared(fill);
            // The library tells only those that it knows by name when a frame begins.
            MaterialManager3d::get_global_manager(|known| known.add(Rc::clone(&material), name));
            material
        };
        Self {
            whole: made(Fill::Whole, "matte whole"),
            strokes: made(Fill::Strokes, "matte strokes"),
            dots: made(Fill::Dots, "matte dots"),
        }
    }

    fn of(&self, look: Look) -> Shared {
        Rc::clone(match fill(look) {
            Fill::Whole => &self.whole,
            Fill::Strokes => &self.strokes,
            Fill::Dots => &self.dots,
        })
    }
}

impl Default for Materials {
    fn default() -> Self {
        Self::new()
    }
}

/// A scene made ready for the graphics card.
pub struct Ready {
    /// The root of its nodes.
    pub root: SceneNode3d,
    lines: Vec<Polyline3d>,
}

impl Ready {
    /// Uploads the surfaces of a scene.
    #[must_use]
    pub fn new(scene: &Scene, materials: &Materials) -> Self {
        let mut root = SceneNode3d::empty();
        for body in scene.bodies.iter().filter(|body| !body.mesh.triangles.is_empty()) {
            add(&mut root, body, materials);
        }
        let lines = scene.lines.iter().map(line).collect();
        Self { root, lines }
    }

    /// Queues the lines for the next frame.
    pub fn queue(&self, window: &mut Window) {
        for line in &self.lines {
            window.draw_polyline(line);
        }
    }
}

fn add(root: &mut SceneNode3d, body: &Body, materials: &Materials) {
    let Mesh { points, normals, triangles } = &body.mesh;
    let points = points.iter().map(convert::point).collect();
    let normals = normals.iter().map(convert::direction).collect();
    let mesh = RenderMesh::new(points, Some(normals), None, Some(IndexBuffer::Unified(triangles.clone())));
    let mut node = root.add_render_mesh(mesh, Vec3::ONE);
    node.set_material(materials.of(body.look)).set_color(colour(body.look));
}

fn line(line: &crate::scene::Line) -> Polyline3d {
    let points = line.points.iter().map(convert::point).collect();
    let (colour, width, bias) = match line.trace {
        Trace::Floor => (Color::new(0.70, 0.72, 0.73, 1.0), 1.0, 0.0),
        Trace::Reference => (Color::new(0.10, 0.10, 0.12, 1.0), 1.5, 0.01),
        Trace::Top => (Color::new(0.05, 0.05, 0.05, 1.0), 3.5, 0.01),
        Trace::Dimension => (Color::new(0.10, 0.10, 0.10, 1.0), 2.5, 0.02),
        Trace::Outline => (Color::new(0.25, 0.35, 0.50, 1.0), 1.5, 0.0),
        Trace::Edge => (Color::new(0.55, 0.55, 0.52, 1.0), 1.5, 0.0),
        Trace::Place => (Color::new(0.55, 0.35, 0.15, 1.0), 2.5, 0.0),
        Trace::Legs => (Color::new(0.35, 0.35, 0.38, 1.0), 1.0, 0.0),
    };
    Polyline3d::new(points).with_color(colour).with_width(width).with_perspective(false).with_depth_bias(bias)
}

/// The camera at a stand; orbit with the left button, pan with the right, zoom with the wheel.
#[must_use]
pub fn camera(scene: &Scene, stand: &Stand) -> OrbitCamera3d {
    let (eye, at) = (convert::point(&stand.eye), convert::point(&stand.at));
    let mut camera = OrbitCamera3d::new_with_frustum(FIELD as f32, 0.05, 2000.0, eye, at);
    camera.set_up_axis_dir(convert::direction(&scene.up));
    camera.look_at(eye, at);
    camera.rebind_reset_key(None::<Key>);
    camera
}

/// Where the points of labels are seen, in points of a picture of some size; `None` behind the eye.
pub fn anchors(scene: &Scene, camera: &impl Camera3d, size: Rect) -> Vec<Option<Pos2>> {
    let view = camera.view_transform();
    scene
        .tags
        .iter()
        .map(|tag| {
            let point = convert::point(&tag.at);
            let ahead = view.transform_point(point).z < 0.0;
            let seen = camera.project(point, Vec2::new(size.width(), size.height()));
            // The projection counts from the lower left corner.
            ahead.then(|| Pos2::new(size.left() + seen.x, size.bottom() - seen.y))
        })
        .collect()
}
