//! What the window needs of the machine, asked for before anything is opened.
//!
//! The graphics library ends the program where it finds no display or no adapter. So both are looked for first, and what is missing is said
//! in one line with the way out.

use std::fmt;

/// What is missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Missing {
    /// No display to open a window on.
    Display,
    /// No graphics adapter, not even one in software.
    Adapter,
    /// The display that is named does not open a window.
    Window,
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Display => f.write_str(
                "no display: DISPLAY and WAYLAND_DISPLAY are not set; start it from a desktop, or write pictures with --picture, which needs none",
            ),
            Self::Adapter => f.write_str(
                "no graphics adapter: install a driver; on Debian, apt-get install libvulkan1 mesa-vulkan-drivers gives one in software",
            ),
            Self::Window => f.write_str(
                "the display does not open a window: look at what DISPLAY or WAYLAND_DISPLAY says, and on Debian at libx11-xcb1, libxcursor1, libxi6 and libxkbcommon-x11-0; or write pictures with --picture, which needs no display",
            ),
        }
    }
}

/// Whether there is a display to open a window on.
///
/// # Errors
/// [`Missing::Display`].
pub fn display() -> Result<(), Missing> {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    // Other systems have a desktop or none at all; there the window itself says.
    let unix = cfg!(all(unix, not(target_os = "macos")));
    if !unix || set("DISPLAY") || set("WAYLAND_DISPLAY") { Ok(()) } else { Err(Missing::Display) }
}

/// Whether there is an adapter to draw with.
///
/// # Errors
/// [`Missing::Adapter`].
pub async fn adapter() -> Result<(), Missing> {
    let instance = wgpu::Instance::new(wgpu::InstanceDescriptor::new_without_display_handle_from_env());
    let wanted = wgpu::RequestAdapterOptions::default();
    instance.request_adapter(&wanted).await.map(|_| ()).map_err(|_| Missing::Adapter)
}
