//! Pictures and animations without a display.
//!
//! Everything is drawn off-screen and read back; labels are painted by the same code as in the window. The same job gives the same picture on one
//! machine; another graphics driver may differ by a shade.

use std::path::Path;

use image::codecs::gif::{GifEncoder, Repeat};
use image::{Delay, Frame, ImageBuffer, Rgb, RgbaImage};
use kiss3d::egui::{Pos2, Rect, Vec2};
use kiss3d::window::{CanvasSetup, NumSamples, OffscreenSurface};

use crate::camera::{self, Side};
use crate::overlay;
use crate::render::{self, BACKGROUND, Materials, Ready};
use crate::scene::Scene;

/// A picture: red, green and blue for each place, from the upper left.
pub type Picture = ImageBuffer<Rgb<u8>, Vec<u8>>;

/// A place to draw on that needs no display.
pub struct Studio {
    surface: OffscreenSurface,
    materials: Materials,
    width: u32,
    height: u32,
}

impl Studio {
    /// For pictures of a size in pixels. An adapter must be there, see [`needs::adapter`](crate::needs::adapter).
    pub async fn new(width: u32, height: u32) -> Self {
        let setup = CanvasSetup { samples: NumSamples::Four, ..CanvasSetup::default() };
        let mut surface = OffscreenSurface::with_setup(width, height, setup).await;
        surface.set_background_color(BACKGROUND);
        surface.set_shadows_enabled(false);
        Self { surface, materials: Materials::new(), width, height }
    }

    /// The picture of a scene from one side, its subject filling it.
    pub async fn picture(&mut self, scene: &Scene, side: Side) -> Picture {
        let aspect = f64::from(self.width) / f64::from(self.height);
        let stand = camera::fitted(scene, side, aspect, 0.0);
        let mut camera = render::camera(scene, &stand);
        let mut ready = Ready::new(scene, &self.materials);
        let whole = Rect::from_min_size(Pos2::ZERO, Vec2::new(self.width as f32, self.height as f32));
        // Drawn twice: the camera learns the size of the picture with the first, and egui the size of its letters.
        for _ in 0..2 {
            ready.queue(self.surface.window_mut());
            let anchors = render::anchors(scene, &camera, whole);
            let letters = (self.height as f32 / 42.0).clamp(11.0, 28.0);
            self.surface.draw_ui(|context| {
                overlay::paint(context, &scene.tags, &anchors, whole.shrink(4.0), letters);
            });
            self.surface.render_3d(&mut ready.root, &mut camera).await;
        }
        self.surface.snap_image()
    }
}

/// An animation of pictures as GIF, each shown for some hundredths of a second, over and over.
///
/// # Errors
/// What the encoder says, in words.
pub fn gif(pictures: &[(Picture, u32)]) -> Result<Vec<u8>, String> {
    let mut file = Vec::new();
    {
        let mut encoder = GifEncoder::new_with_speed(&mut file, 10);
        encoder.set_repeat(Repeat::Infinite).map_err(|error| error.to_string())?;
        for (picture, hundredths) in pictures {
            let opaque = RgbaImage::from_fn(picture.width(), picture.height(), |x, y| {
                let Rgb([red, green, blue]) = *picture.get_pixel(x, y);
                image::Rgba([red, green, blue, 255])
            });
            let delay = Delay::from_numer_denom_ms(hundredths * 10, 1);
            encoder.encode_frame(Frame::from_parts(opaque, 0, 0, delay)).map_err(|error| error.to_string())?;
        }
    }
    Ok(file)
}

/// A picture as PNG.
///
/// # Errors
/// What the encoder says, in words.
pub fn png(picture: &Picture) -> Result<Vec<u8>, String> {
    let mut file = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut file, image::ImageFormat::Png).map_err(|error| error.to_string())?;
    Ok(file.into_inner())
}

/// The name of the picture of a step, as `TUBE-step-N.png`; what a file name cannot have is a line.
#[must_use]
pub fn step_name(tube: &str, step: usize) -> String {
    format!("{}-step-{step}.png", plain(tube))
}

/// The name of the picture of a finished tube.
#[must_use]
pub fn tube_name(tube: &str) -> String {
    format!("{}.png", plain(tube))
}

fn plain(name: &str) -> String {
    let fits = |letter: char| letter.is_alphanumeric() || matches!(letter, '-' | '_' | '.' | ' ');
    let name: String = name.chars().map(|letter| if fits(letter) { letter } else { '-' }).collect();
    // Never a hidden file, nor a way out of the folder.
    name.trim_start_matches('.').to_owned()
}

/// Whether a path looks like a GIF by its name.
#[must_use]
pub fn is_gif(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("gif"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_pictures_stay_in_their_folder() {
        assert_eq!(step_name("hoop", 2), "hoop-step-2.png");
        assert_eq!(tube_name("../up/left rail"), "-up-left rail.png");
        assert_eq!(tube_name("..hidden"), "hidden.png");
    }
}
