//! How the window is opened, and why there may be none.

use std::path::PathBuf;

use crate::format::FileError;

/// How the window is opened.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowSettings {
    /// Width and height, logical pixels.
    pub size: (u32, u32),
    /// Options taken as fitted.
    pub fitted: Vec<String>,
    /// The spot to begin with; the first one when none.
    pub spot: Option<String>,
    /// Where to write a picture of the window; the window closes when it is written.
    pub picture: Option<PathBuf>,
    /// Light on dark.
    pub dark: bool,
    /// Lengths in inches.
    pub inches: bool,
    /// Smooth edges even where there is no graphics card; slow there. A picture always has them.
    pub smooth: bool,
    /// Whether the event loop may run on a thread that isn't the main one; for tests.
    pub any_thread: bool,
}

impl Default for WindowSettings {
    fn default() -> Self {
        WindowSettings {
            size: (1280, 800),
            fitted: Vec::new(),
            spot: None,
            picture: None,
            dark: false,
            inches: false,
            smooth: false,
            any_thread: false,
        }
    }
}

/// Why there is no window.
#[derive(Debug, thiserror::Error)]
pub enum SceneError {
    /// The layout can't be made ready.
    #[error(transparent)]
    File(#[from] FileError),
    /// The layout has no spot of the name asked for.
    #[error("the layout has no spot `{wanted}`; it has {known}")]
    Spot {
        /// The name asked for.
        wanted: String,
        /// The names there are.
        known: String,
    },
    /// There is nowhere to open a window.
    #[error("no display: neither DISPLAY nor WAYLAND_DISPLAY is set")]
    NoDisplay,
    /// The window could not be opened or stopped by itself.
    #[error("the 3D window stopped: {0}")]
    Stopped(String),
    /// The picture could not be written.
    #[error("the picture `{path}` was not written: {why}")]
    Picture {
        /// Where it was to go.
        path: String,
        /// What went wrong.
        why: String,
    },
}
