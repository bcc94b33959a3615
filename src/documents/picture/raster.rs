//! Triangles into pixels: the nearest surface of each pixel, by a depth buffer.

use super::camera::Camera;
use crate::geometry::Triangles;
use crate::model::{Point, Vector};

/// Nothing is drawn nearer to the eye than this, mm.
const NEAR_MM: f64 = 20.0;

/// What stands in each pixel: nothing, or the nearest surface with its depth and normal.
pub(super) struct Layer {
    pub(super) width: usize,
    pub(super) height: usize,
    /// One over the distance ahead, 1/mm; 0 where there is nothing.
    pub(super) nearness: Vec<f32>,
    /// The surface's normal, towards the eye, right, up and back in the picture.
    pub(super) normal: Vec<[f32; 3]>,
    /// Which part it belongs to, from 1; 0 where there is nothing.
    pub(super) part: Vec<u16>,
}

/// A corner as the picture sees it.
#[derive(Clone, Copy)]
struct Corner {
    /// Right, up, ahead, mm.
    at: [f64; 3],
    normal: Vector,
}

impl Layer {
    pub(super) fn new(width: usize, height: usize) -> Layer {
        let count = width * height;
        Layer {
            width,
            height,
            nearness: vec![0.0; count],
            normal: vec![[0.0; 3]; count],
            part: vec![0; count],
        }
    }

    /// Every other pixel of every other row.
    pub(super) fn halved(&self) -> Layer {
        let (width, height) = (self.width / 2, self.height / 2);
        let mut half = Layer::new(width, height);
        for y in 0..height {
            for x in 0..width {
                let (from, to) = (2 * y * self.width + 2 * x, y * width + x);
                half.nearness[to] = self.nearness[from];
                half.normal[to] = self.normal[from];
                half.part[to] = self.part[from];
            }
        }
        half
    }

    /// Draws a surface as part `part`, with a normal for each corner of each triangle. With `behind`,
    /// only where it lies nearer than that layer.
    pub(super) fn draw(
        &mut self,
        camera: &Camera,
        surface: &Triangles,
        normals: &[[Vector; 3]],
        part: u16,
        behind: Option<&Layer>,
    ) {
        for (index, corners) in surface.each().enumerate() {
            let seen = [0, 1, 2].map(|corner| Corner {
                at: camera.seen(&corners[corner]),
                normal: in_picture(camera, &normals[index][corner]),
            });
            // The part of the triangle ahead of the near plane: three corners or four.
            let mut kept: [Option<Corner>; 4] = [None; 4];
            let mut count = 0;
            for side in 0..3 {
                let (a, b) = (seen[side], seen[(side + 1) % 3]);
                let (da, db) = (a.at[2] - NEAR_MM, b.at[2] - NEAR_MM);
                if da >= 0.0 {
                    kept[count] = Some(a);
                    count += 1;
                }
                if (da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0) {
                    kept[count] = Some(between(a, b, da / (da - db)));
                    count += 1;
                }
            }
            if let [Some(a), Some(b), Some(c), last] = kept {
                self.fill(camera, [a, b, c], part, behind);
                if let Some(d) = last {
                    self.fill(camera, [a, c, d], part, behind);
                }
            }
        }
    }

    fn fill(&mut self, camera: &Camera, corners: [Corner; 3], part: u16, behind: Option<&Layer>) {
        let (width, height) = (self.width as f64, self.height as f64);
        let flat = corners.map(|corner| {
            let [right, up, ahead] = corner.at;
            let scale = height / 2.0 / (camera.half_height * ahead);
            (width / 2.0 + right * scale, height / 2.0 - up * scale)
        });
        let nearness = corners.map(|corner| 1.0 / corner.at[2]);
        let turn = |a: (f64, f64), b: (f64, f64), p: (f64, f64)| {
            (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0)
        };
        let area = turn(flat[0], flat[1], flat[2]);
        if area.abs() < 1e-9 || !area.is_finite() {
            return;
        }
        let span = |of: &dyn Fn(&(f64, f64)) -> f64, most: usize| {
            let low = flat.iter().map(of).fold(f64::INFINITY, f64::min);
            let high = flat.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
            let low = (low - 0.5).ceil().clamp(0.0, most as f64) as usize;
            let high = (high - 0.5).floor().clamp(-1.0, most as f64 - 1.0);
            low..(high + 1.0).max(0.0) as usize
        };
        let columns = span(&|p| p.0, self.width);
        for y in span(&|p| p.1, self.height) {
            for x in columns.clone() {
                let at = (x as f64 + 0.5, y as f64 + 0.5);
                let share = [
                    turn(flat[1], flat[2], at) / area,
                    turn(flat[2], flat[0], at) / area,
                    turn(flat[0], flat[1], at) / area,
                ];
                if share.iter().any(|share| *share < 0.0) {
                    continue;
                }
                let near = (0..3).map(|i| share[i] * nearness[i]).sum::<f64>() as f32;
                let pixel = y * self.width + x;
                let hidden = behind.is_some_and(|other| other.nearness[pixel] > near);
                if near <= self.nearness[pixel] || hidden {
                    continue;
                }
                let normal = (0..3).fold(Vector::zeros(), |sum, i| {
                    sum + corners[i].normal * (share[i] * nearness[i])
                });
                let mut normal = normal.try_normalize(1e-30).unwrap_or_else(Vector::z);
                // Surfaces are seen from both sides.
                let eye = Vector::new(
                    -(at.0 - width / 2.0) / (height / 2.0) * camera.half_height,
                    (at.1 - height / 2.0) / (height / 2.0) * camera.half_height,
                    1.0,
                );
                if normal.dot(&eye) < 0.0 {
                    normal = -normal;
                }
                self.nearness[pixel] = near;
                self.normal[pixel] = [normal.x as f32, normal.y as f32, normal.z as f32];
                self.part[pixel] = part;
            }
        }
    }
}

fn in_picture(camera: &Camera, normal: &Vector) -> Vector {
    Vector::new(normal.dot(&camera.right), normal.dot(&camera.up), -normal.dot(&camera.ahead))
}

fn between(a: Corner, b: Corner, share: f64) -> Corner {
    let at = [0, 1, 2].map(|axis| a.at[axis] + (b.at[axis] - a.at[axis]) * share);
    Corner { at, normal: a.normal + (b.normal - a.normal) * share }
}

/// A normal for each corner of each triangle: rounded over folds of less than 32°, sharp beyond.
pub(in crate::documents) fn smooth_normals(surface: &Triangles) -> Vec<[Vector; 3]> {
    // Cosine of the fold beyond which an edge is sharp.
    const SHARP: f64 = 0.848;
    let flat: Vec<Vector> = surface
        .each()
        .map(|[a, b, c]| (b - a).cross(&(c - a)).try_normalize(1e-12).unwrap_or_else(Vector::z))
        .collect();
    let key = |point: &Point| point.coords.map(|value| (value * 1000.0).round() as i64);
    let mut around: std::collections::BTreeMap<[i64; 3], Vec<u32>> =
        std::collections::BTreeMap::new();
    for (index, corners) in surface.each().enumerate() {
        for corner in corners {
            around.entry(key(&corner).into()).or_default().push(index as u32);
        }
    }
    surface
        .each()
        .enumerate()
        .map(|(index, corners)| {
            corners.map(|corner| {
                let near = &around[&<[i64; 3]>::from(key(&corner))];
                let alike = near.iter().map(|&other| flat[other as usize]);
                let sum = alike
                    .filter(|normal| normal.dot(&flat[index]) > SHARP)
                    .fold(Vector::zeros(), |sum, normal| sum + normal);
                sum.try_normalize(1e-9).unwrap_or(flat[index])
            })
        })
        .collect()
}
