//! A window no larger than the screen that it opens on.

use bevy::prelude::{App, Has, Local, Query, Single, Update, With};
use bevy::window::{Monitor, PrimaryMonitor, PrimaryWindow, Window};

/// What a title bar and a bar of the desktop take of the height, logical pixels. Common practice, no source.
const BARS: f32 = 60.0;

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, fit);
}

/// Makes the window smaller, once, where the screen is known and smaller than it.
fn fit(
    mut done: Local<bool>,
    monitors: Query<(&Monitor, Has<PrimaryMonitor>)>,
    window: Option<Single<&mut Window, With<PrimaryWindow>>>,
) {
    if *done {
        return;
    }
    let (Some(mut window), Some((monitor, _))) =
        (window, monitors.iter().max_by_key(|(_, primary)| *primary))
    else {
        return;
    };
    *done = true;
    let scale = monitor.scale_factor.max(0.1) as f32;
    let screen = (monitor.physical_width as f32 / scale, monitor.physical_height as f32 / scale);
    if let Some((wide, high)) = smaller((window.width(), window.height()), screen) {
        window.resolution.set(wide, high);
    }
}

/// The size of a window that goes on a screen, logical pixels; none when it does as it is, or the screen is
/// not known. Never smaller than the window may get.
fn smaller(window: (f32, f32), screen: (f32, f32)) -> Option<(f32, f32)> {
    if screen.0 < 1.0 || screen.1 < 1.0 {
        return None;
    }
    let wide = window.0.min(screen.0).max(super::SMALLEST.0);
    // A window that goes on the screen without the bars is left as it was asked for.
    let high = if window.1 <= screen.1 {
        window.1
    } else {
        (screen.1 - BARS).min(window.1).max(super::SMALLEST.1)
    };
    ((wide, high) != window).then_some((wide, high))
}

#[cfg(test)]
mod tests {
    use super::smaller;

    #[test]
    fn a_window_is_made_smaller_only_where_the_screen_is() {
        assert_eq!(smaller((1280.0, 800.0), (1920.0, 1080.0)), None);
        assert_eq!(smaller((1600.0, 1040.0), (1920.0, 1080.0)), None);
        assert_eq!(smaller((1280.0, 800.0), (1280.0, 720.0)), Some((1280.0, 660.0)));
        assert_eq!(smaller((1280.0, 800.0), (800.0, 600.0)), Some((1024.0, 640.0)));
        assert_eq!(smaller((1280.0, 800.0), (0.0, 0.0)), None);
    }
}
