//! The window: the picture on the right, the panel on the left.
//!
//! A picture is drawn only where something may have changed: after an event, while a motion is played, and when the solving thread answers.
//! Then it is drawn with one sample for each place, for a moment longer than the last event, and at last once with four. On a machine that
//! draws in software that is the difference between following the hand and not.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use kiss3d::camera::{Camera3d as _, OrbitCamera3d};
use kiss3d::egui::{self, Pos2, Rect};
use kiss3d::event::{Action, MouseButton, WindowEvent};
use kiss3d::pollster::block_on;
use kiss3d::window::{CanvasSetup, NumSamples, Window};
use tubewright::job::Job;
use tubewright::plan::Plan;
use tubewright::units::Angle;

use crate::camera::{self, Side};
use crate::clipboard::Clipboard;
use crate::input::Input;
use crate::needs::Missing;
use crate::orbit::Orbit;
use crate::overlay::{self, Placed};
use crate::panel::{panel, status};
use crate::render::{self, BACKGROUND, Materials, Ready};
use crate::scene::Scene;
use crate::scene::bench::{Shown, bench};
use crate::scene::finished::finished;
use crate::view::{Eye, Picked, View};
use crate::work::Work;

/// Width of the panel when the window opens, points.
const PANEL: f32 = 400.0;

/// Size of the letters on labels, points.
const LETTERS: f32 = 15.0;

/// A click this near a node picks it, points.
const NEAR: f32 = 18.0;

/// After so long without an event the picture is drawn at its best, and then no more.
const STILL: Duration = Duration::from_millis(300);

/// So long nothing is done where nothing happens: no hand notices.
const PAUSE: Duration = Duration::from_millis(8);

/// Between two looks at the files on the disk.
const LOOK: Duration = Duration::from_secs(2);

/// A new window, or what is missing: the graphics library panics where the display does not open one.
fn started(title: &str) -> Result<Window, Missing> {
    let setup = CanvasSetup { samples: NumSamples::Four, ..CanvasSetup::default() };
    let told = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let window = std::panic::catch_unwind(|| block_on(Window::new_with_setup(title, 1280, 800, setup)));
    std::panic::set_hook(told);
    window.map_err(|_| Missing::Window)
}

/// Opens the window and shows it until it is closed. An adapter must be there, see [`needs`](crate::needs).
///
/// # Errors
/// [`Missing::Window`] where the display does not open one.
pub fn open(mut work: Work, mut view: View) -> Result<(), Missing> {
    let mut window = started(&format!("tubewright: {}", work.name()))?;
    window.rebind_close_key(None);
    window.set_background_color(BACKGROUND);
    window.set_shadows_enabled(false);
    let mut stage = Stage::new();
    let mut input = Input::new(window.egui_context());
    let mut clipboard = Clipboard::default();
    let mut last = Instant::now();
    let mut moved = last;
    let mut looked = last;
    // Whether the picture on the screen is the best one of what there is to show.
    let mut best = false;
    loop {
        let now = Instant::now();
        window.canvas_mut().poll_events();
        let any = events(&mut window, &mut input, &mut stage, &mut view);
        let answered = work.poll();
        let outside = now.duration_since(looked) > LOOK && {
            looked = now;
            let before = work.outside().map(Path::to_path_buf);
            work.look_outside() != before.as_deref()
        };
        if any || answered || outside || view.playing {
            moved = now;
            best = false;
        }
        if best {
            std::thread::sleep(PAUSE);
            last = now;
            continue;
        }
        if let Some(plan) = work.plan() {
            view.advance(now.duration_since(last).as_secs_f64().min(0.25), plan);
        }
        last = now;
        best = now.duration_since(moved) > STILL;
        window.set_samples(if best { NumSamples::Four } else { NumSamples::One });
        let scale = window.scale_factor() as f32;
        let size =
            Rect::from_min_size(Pos2::ZERO, egui::vec2(window.width() as f32 / scale, window.height() as f32 / scale));
        let anchors = stage.scene.as_ref().map(|scene| render::anchors(scene, &stage.camera, size)).unwrap_or_default();
        window.draw_ui(|context| {
            clipboard.ask(context);
            stage.paint(context, &anchors, size, &mut work, &mut view);
            clipboard.take(context);
        });
        // After the list, so that what was asked for there is shown at once; labels follow with the next picture.
        let free = stage.free;
        if stage.look_at(&work, &mut view, aspect(&window), f64::from(free.left() / (free.right().max(1.0)))) {
            // A new camera learns the size of the picture here, before labels are placed by it.
            let size = WindowEvent::FramebufferSize(window.width(), window.height());
            stage.camera.handle_event(window.canvas(), &size);
            stage.camera.update(window.canvas());
        }
        stage.camera.free = free * scale;
        let mut empty = kiss3d::scene::SceneNode3d::empty();
        let root = match &mut stage.ready {
            Some(ready) => {
                ready.queue(&mut window);
                &mut ready.root
            }
            None => &mut empty,
        };
        if !block_on(window.render_3d(root, &mut stage.camera)) {
            return Ok(());
        }
    }
}

fn aspect(window: &Window) -> f64 {
    f64::from(window.width().max(1)) / f64::from(window.height().max(1))
}

/// What a scene was made from: the same gives the same scene.
#[derive(Clone, PartialEq)]
struct Made {
    plan: usize,
    scene: crate::view::Scene,
    tube: usize,
    step: usize,
    die_angle: Angle,
}

struct Stage {
    materials: Materials,
    made: Option<Made>,
    scene: Option<Scene>,
    ready: Option<Ready>,
    camera: Orbit,
    /// The part of the window that the panel leaves.
    free: Rect,
    labels: Vec<Placed>,
    /// Where the left button went down.
    pressed: Option<(f64, f64)>,
    /// The plan that is shown is held, so that its place in memory is not given to another.
    held: Option<(Arc<Job>, Arc<Plan>)>,
}

impl Stage {
    fn new() -> Self {
        let free = Rect::from_min_size(Pos2::new(PANEL, 0.0), egui::vec2(1280.0 - PANEL, 800.0));
        let camera = OrbitCamera3d::new(kiss3d::glamx::Vec3::new(-10.0, -10.0, 8.0), kiss3d::glamx::Vec3::ZERO);
        Self {
            materials: Materials::new(),
            made: None,
            scene: None,
            ready: None,
            camera: Orbit::new(camera, free),
            free,
            labels: Vec::new(),
            pressed: None,
            held: None,
        }
    }

    /// Makes the scene that the view asks for, where it is another than the last. Whether the camera is a new one.
    fn look_at(&mut self, work: &Work, view: &mut View, aspect: f64, left: f64) -> bool {
        let Some((job, plan)) = work.held() else { return false };
        let wanted = Made {
            plan: Arc::as_ptr(&plan) as usize,
            scene: view.scene,
            tube: view.tube,
            step: view.step,
            die_angle: view.die_angle,
        };
        if self.made.as_ref() != Some(&wanted) {
            let people = work.people();
            let scene = match view.scene {
                crate::view::Scene::Bender => {
                    let Some(tube) = plan.tubes.get(view.tube) else { return false };
                    bench(&Shown { job: &job, tube, step: view.step, people: &people }, view.die_angle)
                }
                crate::view::Scene::Tubes => finished(&job, &plan, view.tube),
            };
            let other = self.made.as_ref().is_none_or(|made| made.scene != wanted.scene || made.tube != wanted.tube);
            if other && view.eye.is_none() {
                view.eye = Some(Eye::Operator);
            }
            self.ready = Some(Ready::new(&scene, &self.materials));
            self.scene = Some(scene);
            self.made = Some(wanted);
            self.held = Some((job, plan));
        }
        if let (Some(eye), Some(scene)) = (view.eye.take(), &self.scene) {
            let side = match eye {
                Eye::Operator => Side::Stand,
                Eye::Fit => Side::Now(self.toward()),
                Eye::Front => Side::Front,
                Eye::Top => Side::Top,
                Eye::Side => Side::Side,
            };
            let stand = camera::fitted(scene, side, aspect, left.clamp(0.0, 0.8));
            self.camera.camera = render::camera(scene, &stand);
            return true;
        }
        false
    }

    /// From what is looked at toward the eye.
    fn toward(&self) -> nalgebra::Vector3<f64> {
        let toward = self.camera.eye() - self.camera.camera.at();
        nalgebra::Vector3::new(f64::from(toward.x), f64::from(toward.y), f64::from(toward.z))
    }

    fn paint(
        &mut self,
        context: &egui::Context,
        anchors: &[Option<Pos2>],
        size: Rect,
        work: &mut Work,
        view: &mut View,
    ) {
        let mut root = egui::Ui::new(
            context.clone(),
            egui::Id::new("root"),
            egui::UiBuilder::new().layer_id(egui::LayerId::background()).max_rect(size),
        );
        let shown = egui::Panel::left("panel").frame(egui::Frame::NONE).default_size(PANEL).min_size(300.0).show(
            &mut root,
            |ui| {
                panel(ui, work, view);
            },
        );
        let below = egui::Panel::bottom("status").frame(egui::Frame::NONE).show(&mut root, |ui| status(ui, work, view));
        self.free = Rect::from_min_max(
            Pos2::new(shown.response.rect.right(), 0.0),
            Pos2::new(size.right(), below.response.rect.top()),
        );
        if let Some(scene) = &self.scene {
            self.labels = overlay::paint(context, &scene.tags, anchors, self.free.shrink(4.0), LETTERS);
        }
        if work.is_old() {
            old(context, self.free);
        }
    }

    /// The node whose label or point lies at a place of the picture.
    fn node_at(&self, at: Pos2) -> Option<Picked> {
        let scene = self.scene.as_ref()?;
        let node = |label: &&Placed| scene.tags[label.tag].node.is_some();
        let on = self.labels.iter().filter(node).find(|label| label.bounds.contains(at));
        let near = || {
            let near = self.labels.iter().filter(node).filter(|label| label.anchor.distance(at) <= NEAR);
            near.min_by(|one, other| one.anchor.distance(at).total_cmp(&other.anchor.distance(at)))
        };
        let (tube, node) = scene.tags[on.or_else(near)?.tag].node?;
        Some(Picked { tube, node })
    }
}

/// Says over the picture that it is not that of what stands in the fields: a frame of slanted strokes and words, whatever the colours.
fn old(context: &egui::Context, free: Rect) {
    let painter = context.layer_painter(egui::LayerId::new(egui::Order::Foreground, egui::Id::new("old")));
    let stroke = egui::Stroke::new(2.0, egui::Color32::from_gray(60));
    let mut x = free.left();
    while x < free.right() {
        painter.line_segment([Pos2::new(x, free.top() + 10.0), Pos2::new(x + 8.0, free.top())], stroke);
        painter.line_segment([Pos2::new(x, free.bottom()), Pos2::new(x + 8.0, free.bottom() - 10.0)], stroke);
        x += 12.0;
    }
    let words = "OLD: this is not yet the picture of what stands in the list";
    let at = Pos2::new(free.center().x, free.top() + 34.0);
    let font = egui::FontId::proportional(20.0);
    let galley = painter.layout_no_wrap(words.to_owned(), font, egui::Color32::WHITE);
    let bounds = Rect::from_center_size(at, galley.size() + egui::vec2(16.0, 8.0));
    painter.rect_filled(bounds, 3.0, egui::Color32::BLACK);
    painter.galley(bounds.min + egui::vec2(8.0, 4.0), galley, egui::Color32::WHITE);
}

/// Goes through the events since the last picture: the panel and the camera get theirs, and a click picks a node. Whether there was any.
fn events(window: &mut Window, input: &mut Input, stage: &mut Stage, view: &mut View) -> bool {
    let scale = window.scale_factor();
    let point = |(x, y): (f64, f64)| Pos2::new((x / scale) as f32, (y / scale) as f32);
    let mut any = false;
    let cursor = window.cursor_pos();
    for mut event in window.events().iter() {
        any = true;
        event.inhibited = input.take(&event.value, scale);
        if event.inhibited && event.value.is_mouse_event() && !window.is_egui_capturing_mouse() {
            stage.camera.handle_event(window.canvas(), &event.value);
        }
        match event.value {
            WindowEvent::MouseButton(MouseButton::Button1, Action::Press, _) => stage.pressed = cursor,
            WindowEvent::MouseButton(MouseButton::Button1, Action::Release, _) => {
                let (Some(from), Some(to)) = (stage.pressed.take(), cursor) else { continue };
                let near = (from.0 - to.0).abs() + (from.1 - to.1).abs() < 4.0 * scale;
                if near
                    && stage.free.contains(point(to))
                    && let Some(picked) = stage.node_at(point(to))
                {
                    view.tube = picked.tube;
                    view.picked = Some(picked);
                }
            }
            _ => {}
        }
    }
    any
}
