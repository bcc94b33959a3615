//! Light, soft shade in corners, drawn edges, and what is seen through.

use super::bands::in_bands;
use super::camera::Camera;
use super::raster::Layer;
use crate::model::Vector;

/// A colour in linear light.
pub(super) type Light = [f32; 3];

/// Where the main light comes from in the picture: right, up, towards the eye.
const KEY: [f64; 3] = [-0.42, 0.72, 0.56];
/// A weaker light from the other side.
const FILL: [f64; 3] = [0.75, 0.15, 0.62];

/// Corners within this distance darken each other, mm.
const CORNER_MM: f32 = 70.0;

/// From here on nothing darkens a corner, mm.
const FAR_MM: f32 = 1.8 * CORNER_MM;

/// Samples for the shade of corners.
const SAMPLES: usize = 20;

pub(super) fn linear([r, g, b]: [u8; 3]) -> Light {
    [r, g, b].map(|value| (f32::from(value) / 255.0).powf(2.2))
}

pub(super) fn on_screen(light: Light) -> [u8; 3] {
    light.map(|value| (value.clamp(0.0, 1.0).powf(1.0 / 2.2) * 255.0).round() as u8)
}

/// How much of the light from all round reaches each pixel, 0 to 1.
pub(super) fn openness(layer: &Layer, camera: &Camera) -> Vec<f32> {
    let (width, height) = (layer.width as i64, layer.height as i64);
    let pixels_at_1 = layer.height as f32 / 2.0 / camera.half_height as f32;
    let ahead: Vec<f32> = layer.nearness.iter().map(|nearness| 1.0 / nearness).collect();
    let place = |x: i64, y: i64, ahead: f32| {
        let scale = ahead / pixels_at_1;
        [
            (x as f32 + 0.5 - width as f32 / 2.0) * scale,
            (height as f32 / 2.0 - y as f32 - 0.5) * scale,
            -ahead,
        ]
    };
    // A spiral whose start turns from pixel to pixel in a fixed 4 × 4 pattern, smoothed out below.
    let spiral: Vec<(f32, f32)> = (0..SAMPLES)
        .map(|index| {
            let radius = ((index as f32 + 0.5) / SAMPLES as f32).sqrt();
            (radius, 2.399_963 * index as f32)
        })
        .collect();
    let turned: Vec<Vec<(f32, f32)>> = (0..16)
        .map(|turn| {
            let start = turn as f32 * std::f32::consts::FRAC_PI_8;
            let sample = |(radius, angle): &(f32, f32)| {
                let (sin, cos) = (angle + start).sin_cos();
                (cos * radius, sin * radius)
            };
            spiral.iter().map(sample).collect()
        })
        .collect();
    let row = |y: i64| -> Vec<f32> {
        (0..width)
            .map(|x| {
                let pixel = (y * width + x) as usize;
                let near = layer.nearness[pixel];
                if near <= 0.0 {
                    return 1.0;
                }
                let at = place(x, y, ahead[pixel]);
                let normal = layer.normal[pixel];
                let reach = (CORNER_MM * near * pixels_at_1).clamp(3.0, 240.0);
                let mut shade = 0.0;
                for (right, down) in &turned[((x % 4) * 4 + (y % 4)) as usize] {
                    let (sx, sy) = (x + (right * reach) as i64, y + (down * reach) as i64);
                    if sx < 0 || sy < 0 || sx >= width || sy >= height {
                        continue;
                    }
                    let other = (sy * width + sx) as usize;
                    if layer.nearness[other] <= 0.0 {
                        continue;
                    }
                    let there = place(sx, sy, ahead[other]);
                    let way = [there[0] - at[0], there[1] - at[1], there[2] - at[2]];
                    let length = (way[0] * way[0] + way[1] * way[1] + way[2] * way[2]).sqrt();
                    if length < 0.5 {
                        continue;
                    }
                    let rise =
                        (way[0] * normal[0] + way[1] * normal[1] + way[2] * normal[2]) / length;
                    let fade = (1.0 - length / FAR_MM).max(0.0);
                    shade += (rise - 0.08).max(0.0) * fade;
                }
                (1.0 - 1.7 * shade / SAMPLES as f32).clamp(0.0, 1.0)
            })
            .collect()
    };
    let raw = by_rows(layer.width, layer.height, row);
    // A 4 × 4 mean over pixels of about the same depth takes the pattern out.
    let smooth = |y: i64| -> Vec<f32> {
        (0..width)
            .map(|x| {
                let near = layer.nearness[(y * width + x) as usize];
                if near <= 0.0 {
                    return 1.0;
                }
                let (mut sum, mut count) = (0.0, 0.0);
                for dy in -2..2 {
                    for dx in -2..2 {
                        let (sx, sy) = (x + dx, y + dy);
                        if sx < 0 || sy < 0 || sx >= width || sy >= height {
                            continue;
                        }
                        let other = (sy * width + sx) as usize;
                        if (layer.nearness[other] - near).abs() < 0.02 * near {
                            sum += raw[other];
                            count += 1.0;
                        }
                    }
                }
                if count > 0.0 { sum / count } else { raw[(y * width + x) as usize] }
            })
            .collect()
    };
    by_rows(layer.width, layer.height, smooth)
}

/// Rows worked out on several threads; a row depends on nothing but itself.
fn by_rows(width: usize, height: usize, row: impl Fn(i64) -> Vec<f32> + Sync) -> Vec<f32> {
    let mut all = vec![1.0; width * height];
    in_bands(all.chunks_mut(width), |y, to| to.copy_from_slice(&row(y as i64)));
    all
}

/// The lights of a picture.
pub(super) struct Lamps {
    key: Vector,
    fill: Vector,
    /// Half way between the key light and the eye: where a surface shines.
    half: Vector,
}

impl Lamps {
    pub(super) fn new() -> Lamps {
        let key = Vector::from(KEY).normalize();
        let fill = Vector::from(FILL).normalize();
        Lamps { key, fill, half: (key + Vector::z()).normalize() }
    }

    /// The light that leaves a surface of a colour towards the eye.
    pub(super) fn lit(&self, colour: Light, normal: [f32; 3], openness: f32, gloss: f32) -> Light {
        let normal = Vector::new(f64::from(normal[0]), f64::from(normal[1]), f64::from(normal[2]));
        let falls = normal.dot(&self.key).max(0.0) as f32;
        let fill = normal.dot(&self.fill).max(0.0) as f32;
        let sky = 0.5 + 0.5 * normal.y as f32;
        let shine = normal.dot(&self.half).max(0.0).powi(40) as f32 * gloss;
        let all = (0.34 + 0.16 * sky) * openness
            + (0.62 * falls + 0.14 * fill) * (0.45 + 0.55 * openness);
        colour.map(|value| value * all * 1.04 + shine * openness)
    }
}

/// Whether an edge is drawn in a pixel: another part next to it, a fold, or a step in depth.
pub(super) fn edge(layer: &Layer, x: usize, y: usize) -> f32 {
    let (width, pixel) = (layer.width, y * layer.width + x);
    let near = layer.nearness[pixel];
    if near <= 0.0 {
        return 0.0;
    }
    let (part, a) = (layer.part[pixel], layer.normal[pixel]);
    let mut found: f32 = 0.0;
    let beside = [
        (x + 1 < width).then_some(pixel + 1),
        (y + 1 < layer.height).then_some(pixel + width),
        (x > 0).then(|| pixel - 1),
        (y > 0).then(|| pixel - width),
    ];
    for other in beside.into_iter().flatten() {
        let there = layer.nearness[other];
        // The nearer surface draws the edge, so it is one pixel wide.
        let step = near - there;
        if layer.part[other] != part && step >= 0.0 {
            found = found.max(0.85);
        } else if there > 0.0 {
            if step > 0.025 * near {
                found = found.max(0.8);
            }
            let b = layer.normal[other];
            if step >= 0.0 && a[0] * b[0] + a[1] * b[1] + a[2] * b[2] < 0.86 {
                found = found.max(0.5);
            }
        }
    }
    found
}
