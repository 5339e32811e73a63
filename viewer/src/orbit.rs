//! The camera as the hand moves it: only where the picture is, not on the panel.

use kiss3d::camera::{Camera3d, OrbitCamera3d};
use kiss3d::egui::{Pos2, Rect};
use kiss3d::event::{Action, MouseButton, WindowEvent};
use kiss3d::glamx::{Mat4, Pose3, Vec3};
use kiss3d::window::Canvas;

/// A camera that goes round what it looks at, and minds only what is done on the free part of the window.
#[derive(Clone, Debug)]
pub struct Orbit {
    /// The camera itself.
    pub camera: OrbitCamera3d,
    /// The part of the window that shows the picture, pixels.
    pub free: Rect,
    cursor: Pos2,
    /// A button went down on the picture and is still down.
    held: bool,
}

impl Orbit {
    /// A camera for a part of the window, in pixels.
    #[must_use]
    pub const fn new(camera: OrbitCamera3d, free: Rect) -> Self {
        Self { camera, free, cursor: Pos2::ZERO, held: false }
    }
}

/// Whether any button that moves the camera is down.
fn pressed(canvas: &Canvas) -> bool {
    [MouseButton::Button1, MouseButton::Button2, MouseButton::Button3]
        .into_iter()
        .any(|button| canvas.get_mouse_button(button) == Action::Press)
}

impl Camera3d for Orbit {
    fn handle_event(&mut self, canvas: &Canvas, event: &WindowEvent) {
        match *event {
            WindowEvent::CursorPos(x, y, _) => {
                self.cursor = Pos2::new(x as f32, y as f32);
                // Without a button the camera only takes note of the place.
                if self.held || !pressed(canvas) {
                    self.camera.handle_event(canvas, event);
                }
            }
            WindowEvent::MouseButton(_, Action::Press, _) => {
                self.held = self.held || self.free.contains(self.cursor);
            }
            WindowEvent::MouseButton(_, Action::Release, _) => self.held = self.held && pressed(canvas),
            WindowEvent::Scroll(..) if !self.free.contains(self.cursor) => {}
            _ => self.camera.handle_event(canvas, event),
        }
    }

    fn eye(&self) -> Vec3 {
        self.camera.eye()
    }

    fn view_transform(&self) -> Pose3 {
        self.camera.view_transform()
    }

    fn transformation(&self) -> Mat4 {
        self.camera.transformation()
    }

    fn inverse_transformation(&self) -> Mat4 {
        self.camera.inverse_transformation()
    }

    fn clip_planes(&self) -> (f32, f32) {
        self.camera.clip_planes()
    }

    fn update(&mut self, canvas: &Canvas) {
        self.camera.update(canvas);
    }

    fn view_transform_pair(&self, pass: usize) -> (Pose3, Mat4) {
        self.camera.view_transform_pair(pass)
    }
}
