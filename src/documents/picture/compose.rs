//! Layers into the picture: light on what is solid, water and glass over it, the ground behind.

use tiny_skia::{Pixmap, PremultipliedColorU8};

use super::super::parts::PartKind;
use super::bands::in_bands;
use super::camera::Camera;
use super::raster::Layer;
use super::scene::{Drawn, FINER};
use super::shade::{Lamps, Light, edge, linear, on_screen, openness};
use super::shadow::ground_shadow;
use crate::model::Part;

/// What is seen: solid things, water and glass as three layers of the same size, `FINER` times as fine as the
/// picture. None when there are not three.
pub(super) fn composed(parts: &[Drawn], layers: &[Layer], camera: &Camera) -> Option<Pixmap> {
    let [solid, water, glass] = layers else { return None };
    // Soft shade needs no more than half the pixels each way.
    let half = solid.halved();
    let open = openness(&half, camera);
    let shadow = ground_shadow(solid);
    let paint: Vec<(Light, f32)> =
        parts.iter().map(|drawn| (linear(drawn.part.colour), gloss(drawn.part.kind))).collect();
    let of_part = |number: u16| paint[usize::from(number) - 1];
    let lamps = Lamps::new();
    // Light on its way to the eye from one of the fine pixels.
    let light = |x: usize, y: usize, sky: Light| -> Light {
        let pixel = y * solid.width + x;
        let mut here = sky.map(|value| value * (1.0 - 0.42 * shadow[pixel]));
        if solid.part[pixel] > 0 {
            let (colour, gloss) = of_part(solid.part[pixel]);
            let open = openness_at(&half, &open, (x, y), solid.nearness[pixel]);
            here = lamps.lit(colour, solid.normal[pixel], open, gloss);
            here = here.map(|value| value * (1.0 - 0.72 * edge(solid, x, y)));
        }
        if water.part[pixel] > 0 {
            let (colour, _) = of_part(water.part[pixel]);
            let over = lamps.lit(colour, water.normal[pixel], 1.0, 0.5);
            here = mixed(here, over, 0.5);
        }
        if glass.part[pixel] > 0 {
            let (colour, _) = of_part(glass.part[pixel]);
            let over = lamps.lit(colour, glass.normal[pixel], 1.0, 0.0);
            let drawn = edge(glass, x, y);
            here = mixed(here, over, 0.36);
            here = mixed(here, over.map(|value| value * 0.35), 0.75 * drawn);
        }
        here
    };
    let (width, height) = (solid.width / FINER, solid.height / FINER);
    let mut map = Pixmap::new(width as u32, height as u32)?;
    in_bands(map.pixels_mut().chunks_mut(width), |row, pixels| {
        let fine: [(usize, Light); FINER] = [0, 1].map(|part| {
            let y = row * FINER + part;
            let down = y as f32 / solid.height as f32;
            (y, linear([0xFA, 0xFB, 0xFA]).map(|value| value * (1.0 - 0.20 * down)))
        });
        for (column, pixel) in pixels.iter_mut().enumerate() {
            // The mean of the fine pixels, as a screen shows it.
            let mut sum = [0.0_f32; 3];
            for (y, sky) in fine {
                for x in column * FINER..(column + 1) * FINER {
                    let here = light(x, y, sky);
                    (0..3).for_each(|i| sum[i] += here[i].clamp(0.0, 1.0));
                }
            }
            let [r, g, b] = on_screen(sum.map(|value| value / (FINER * FINER) as f32));
            if let Some(colour) = PremultipliedColorU8::from_rgba(r, g, b, 255) {
                *pixel = colour;
            }
        }
    });
    Some(map)
}

fn gloss(kind: PartKind) -> f32 {
    match kind {
        PartKind::Pump(Part::Tank | Part::Motor | Part::Block) => 0.22,
        PartKind::Line => 0.12,
        PartKind::Trim(_) => 0.0,
        _ => 0.05,
    }
}

/// The openness of that of the four half-size pixels round a pixel which lies at the depth most like its
/// own.
fn openness_at(half: &Layer, open: &[f32], (x, y): (usize, usize), nearness: f32) -> f32 {
    let (right, down) = ((half.width - 1).min(x.div_ceil(2)), (half.height - 1).min(y.div_ceil(2)));
    let (left, up) = ((x / 2).min(half.width - 1), (y / 2).min(half.height - 1));
    [(left, up), (right, up), (left, down), (right, down)]
        .map(|(x, y)| y * half.width + x)
        .into_iter()
        .min_by(|a, b| {
            let off = |at: usize| (half.nearness[at] - nearness).abs();
            off(*a).total_cmp(&off(*b))
        })
        .map_or(1.0, |at| open[at])
}

fn mixed(under: Light, over: Light, share: f32) -> Light {
    [0, 1, 2].map(|i| under[i] + (over[i] - under[i]) * share)
}
