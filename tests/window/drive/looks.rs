//! Pictures of the window, held against references.

use std::fs;
use std::path::Path;
use std::sync::{Arc, Mutex};

use bevy::asset::RenderAssetUsages;
use bevy::ecs::observer::On;
use bevy::image::{CompressedImageFormats, Image, ImageSampler, ImageType};
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};

use super::{Progress, Script};

/// Width of the pictures that are held against each other: small enough that a letter drawn half a
/// point aside doesn't count.
const SMALL: usize = 320;

/// Mean difference of a colour, of 255, up to which two pictures are the same.
const MEAN: f64 = 4.0;

/// Share of the points that may differ by more than 48 of 255, such as figures that changed.
const SPOTS: f64 = 0.02;

/// A picture made small: the mean of every block, red, green, blue.
fn small(image: &Image) -> (usize, usize, Vec<u8>) {
    let (width, height) = (image.width() as usize, image.height() as usize);
    let picture = image.clone().try_into_dynamic().unwrap().to_rgb8();
    let bytes = picture.as_raw();
    let block = (width / SMALL).max(1);
    let (wide, high) = (width / block, height / block);
    let mut out = Vec::with_capacity(wide * high * 3);
    for row in 0..high {
        for column in 0..wide {
            for colour in 0..3 {
                let mut sum = 0_usize;
                for y in 0..block {
                    for x in 0..block {
                        let at = ((row * block + y) * width + column * block + x) * 3 + colour;
                        sum += usize::from(bytes[at]);
                    }
                }
                out.push((sum / (block * block)) as u8);
            }
        }
    }
    (wide, high, out)
}

/// A picture from a PNG file.
pub(crate) fn read(file: &Path) -> Image {
    let bytes = fs::read(file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
    Image::from_buffer(
        &bytes,
        ImageType::Extension("png"),
        CompressedImageFormats::NONE,
        true,
        ImageSampler::Default,
        RenderAssetUsages::default(),
    )
    .unwrap()
}

/// Holds a picture against its reference.
fn compare(name: &str, image: &Image) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/window/pictures");
    let file = folder.join(format!("{name}.png"));
    if let Some(keep) = std::env::var_os("DRYBERTH_KEEP_PICTURES") {
        fs::create_dir_all(&keep).unwrap();
        let whole = image.clone().try_into_dynamic().unwrap().to_rgb8();
        whole.save(Path::new(&keep).join(format!("{name}.png"))).unwrap();
    }
    let (wide, high, now) = small(image);
    if std::env::var("DRYBERTH_NEW_PICTURES").is_ok_and(|value| value == "1") {
        fs::create_dir_all(&folder).unwrap();
        let rgba: Vec<u8> = now.chunks(3).flat_map(|rgb| [rgb[0], rgb[1], rgb[2], 255]).collect();
        let small = Image::new(
            Extent3d { width: wide as u32, height: high as u32, depth_or_array_layers: 1 },
            TextureDimension::D2,
            rgba,
            TextureFormat::Rgba8UnormSrgb,
            RenderAssetUsages::default(),
        );
        small.try_into_dynamic().unwrap().to_rgb8().save(&file).unwrap();
        return;
    }
    let reference = read(&file);
    let reference = reference.try_into_dynamic().unwrap().to_rgb8();
    assert_eq!(reference.dimensions(), (wide as u32, high as u32), "{name}: another size");
    let differences: Vec<f64> =
        now.iter().zip(reference.as_raw()).map(|(a, b)| f64::from(a.abs_diff(*b))).collect();
    let mean = differences.iter().sum::<f64>() / differences.len() as f64;
    let far = differences.iter().filter(|by| **by > 48.0).count() as f64;
    let share = far / differences.len() as f64;
    println!("{name}: {mean:.2} of 255 on the mean, {:.2} % far off", share * 100.0);
    assert!(
        mean <= MEAN && share <= SPOTS,
        "{name}: {mean:.2} of 255 on the mean, {:.2} % far off; if that is meant to be, run with \
         DRYBERTH_NEW_PICTURES=1 and look at the new references",
        share * 100.0
    );
}

impl Script {
    /// Takes a picture of the window and holds it against the reference of that name; with
    /// `DRYBERTH_NEW_PICTURES=1` it becomes the reference.
    pub(crate) fn picture(&mut self, name: &'static str) {
        self.hide_widgets();
        self.pause(6);
        let taken: Arc<Mutex<Option<Image>>> = Arc::default();
        let to = Arc::clone(&taken);
        self.act(format!("taking the picture {name}"), move |world| {
            let to = Arc::clone(&to);
            world.spawn(Screenshot::primary_window()).observe(
                move |shot: On<ScreenshotCaptured>| {
                    *to.lock().unwrap() = Some(shot.image.clone());
                },
            );
        });
        self.step(format!("looking at the picture {name}"), move |_| {
            let Some(image) = taken.lock().unwrap().take() else { return Progress::Wait };
            compare(name, &image);
            Progress::Done
        });
        self.see_widgets();
        self.pause(2);
    }
}
