//! Pictures of the whole window, taken by the program itself.

use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use bevy::image::Image;

use crate::drive::{LONGEST, read, window_wanted};

/// Spread of the brightness in a part of a picture, and how many colours it holds.
fn spread(image: &Image, x: std::ops::Range<u32>, y: std::ops::Range<u32>) -> (f64, usize) {
    let mut values = Vec::new();
    let mut colours = std::collections::BTreeSet::new();
    for row in y.step_by(3) {
        for column in x.clone().step_by(3) {
            let pixel = image.pixel_bytes(bevy::math::UVec3::new(column, row, 0)).unwrap();
            let sum = f64::from(pixel[0]) + f64::from(pixel[1]) + f64::from(pixel[2]);
            values.push(sum / 3.0);
            colours.insert([pixel[0] / 8, pixel[1] / 8, pixel[2] / 8]);
        }
    }
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let square = values.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
    ((square / values.len() as f64).sqrt(), colours.len())
}

#[test]
fn pictures_of_both_sizes_show_boot_and_panels() {
    if !window_wanted("pictures") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for (width, height) in [(1280_u32, 800_u32), (1920, 1080)] {
        let file = folder.path().join(format!("{width}.png"));
        let mut child = Command::new(env!("CARGO_BIN_EXE_dryberth"))
            .args(["scene", "--size", &format!("{width}x{height}"), "--picture"])
            .arg(&file)
            .current_dir(folder.path())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let started = Instant::now();
        let status = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break status;
            }
            if started.elapsed() > LONGEST {
                let _ = child.kill();
                panic!("no picture of {width} × {height} after {LONGEST:?}");
            }
            thread::sleep(Duration::from_millis(50));
        };
        assert!(status.success(), "{width} × {height}: {status}");
        println!("{width} × {height} in {:?}", started.elapsed());
        let image = read(&file);
        assert_eq!((image.width(), image.height()), (width, height));
        let boot = spread(&image, 260..width - 360, 90..height - 300);
        assert!(boot.0 > 12.0 && boot.1 > 60, "the boot is drawn: {boot:?}");
        let left = spread(&image, 10..220, 50..height - 60);
        assert!(left.0 > 8.0 && left.1 > 12, "the left panel is drawn: {left:?}");
        let right = spread(&image, width - 310..width - 20, 50..height - 60);
        assert!(right.0 > 8.0 && right.1 > 12, "the right panel is drawn: {right:?}");
    }
}
