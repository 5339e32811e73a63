//! The 3D window of tubewright, and pictures without one.
//!
//! ```text
//! work      the job that is being worked on: its text, its plan, the way back
//! view      what is looked at
//! panel     the list beside the picture
//! scene     what is shown, in mm and double precision; knows no graphics
//! camera    from where it is looked at
//! overlay   labels over the picture
//! orbit     the camera as the hand moves it
//! convert   millimetres to the window's units, the only place where that is done
//! input     what the hand does, as the panel takes it
//! matte     surfaces for the graphics card
//! render    a scene on the graphics card
//! picture   pictures and animations off-screen
//! clipboard copy and paste
//! window    the window itself
//! needs     what of the machine is missing
//! ```
//!
//! The window draws in single precision and in units of its own; everything before it is in millimetres and double
//! precision. The way from one to the other is [`convert`], and only there.

pub mod camera;
pub mod clipboard;
pub mod convert;
pub mod input;
pub mod matte;
pub mod needs;
pub mod orbit;
pub mod overlay;
pub mod panel;
pub mod picture;
pub mod render;
pub mod scene;
pub mod view;
pub mod window;
pub mod work;
