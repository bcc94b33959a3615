//! Triangles as a camera sees them: what lies ahead of it, flat in the picture.

use std::ops::Range;

use super::camera::Camera;
use crate::geometry::Triangles;
use crate::model::Vector;

/// Nothing is drawn nearer to the eye than this, mm.
const NEAR_MM: f64 = 20.0;

/// A corner as the picture sees it.
#[derive(Clone, Copy)]
struct Corner {
    /// Right, up, ahead, mm.
    at: [f64; 3],
    normal: Vector,
}

/// A triangle in the picture.
pub(super) struct Face {
    /// Its corners, pixels from the upper left corner.
    pub(super) flat: [(f64, f64); 3],
    /// One over how far each is ahead, 1/mm.
    pub(super) nearness: [f64; 3],
    /// Normals at the corners, right, up and back in the picture.
    pub(super) normals: [Vector; 3],
    /// Twice its area, positive when the corners run clockwise as seen, pixels².
    pub(super) area: f64,
    /// Which part it belongs to, from 1.
    pub(super) part: u16,
    /// The pixels whose middles its box holds.
    pub(super) columns: Range<usize>,
    pub(super) rows: Range<usize>,
}

/// A surface's triangles in a picture of this size, added in their order; each corner has its normal.
pub(super) fn add_faces(
    faces: &mut Vec<Face>,
    camera: &Camera,
    (width, height): (usize, usize),
    surface: &Triangles,
    normals: &[[Vector; 3]],
    part: u16,
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
            faces.extend(Face::of(camera, (width, height), [a, b, c], part));
            if let Some(d) = last {
                faces.extend(Face::of(camera, (width, height), [a, c, d], part));
            }
        }
    }
}

impl Face {
    /// None when it covers no pixel's middle.
    fn of(
        camera: &Camera,
        (width, height): (usize, usize),
        corners: [Corner; 3],
        part: u16,
    ) -> Option<Face> {
        let (wide, high) = (width as f64, height as f64);
        let flat = corners.map(|corner| {
            let [right, up, ahead] = corner.at;
            let scale = high / 2.0 / (camera.half_height * ahead);
            (wide / 2.0 + right * scale, high / 2.0 - up * scale)
        });
        let [a, b, c] = flat;
        let area = (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
        if area.abs() < 1e-9 || !area.is_finite() {
            return None;
        }
        let span = |of: &dyn Fn(&(f64, f64)) -> f64, most: usize| {
            let low = flat.iter().map(of).fold(f64::INFINITY, f64::min);
            let high = flat.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
            let low = (low - 0.5).ceil().clamp(0.0, most as f64) as usize;
            let high = (high - 0.5).floor().clamp(-1.0, most as f64 - 1.0);
            low..(high + 1.0).max(0.0) as usize
        };
        let (columns, rows) = (span(&|p| p.0, width), span(&|p| p.1, height));
        if columns.is_empty() || rows.is_empty() {
            return None;
        }
        let nearness = corners.map(|corner| 1.0 / corner.at[2]);
        let normals = corners.map(|corner| corner.normal);
        Some(Face { flat, nearness, normals, area, part, columns, rows })
    }

    /// What a row of pixels needs: the row's share of each corner's weight.
    pub(super) fn row(&self, y: usize) -> Row<'_> {
        let at_y = y as f64 + 0.5;
        let sides = [(1, 2), (2, 0), (0, 1)].map(|(from, to)| {
            let (a, b) = (self.flat[from], self.flat[to]);
            ((b.0 - a.0) * (at_y - a.1), b.1 - a.1, a.0)
        });
        Row { face: self, sides }
    }

    /// The normal in a pixel, towards the eye: surfaces are seen from both sides.
    pub(super) fn normal(
        &self,
        camera: &Camera,
        (width, height): (usize, usize),
        (x, y): (usize, usize),
    ) -> [f32; 3] {
        let (width, height) = (width as f64, height as f64);
        let share = self.row(y).share(x);
        let normal = (0..3)
            .fold(Vector::zeros(), |sum, i| sum + self.normals[i] * (share[i] * self.nearness[i]));
        let mut normal = normal.try_normalize(1e-30).unwrap_or_else(Vector::z);
        let (at_x, at_y) = (x as f64 + 0.5, y as f64 + 0.5);
        let eye = Vector::new(
            -(at_x - width / 2.0) / (height / 2.0) * camera.half_height,
            (at_y - height / 2.0) / (height / 2.0) * camera.half_height,
            1.0,
        );
        if normal.dot(&eye) < 0.0 {
            normal = -normal;
        }
        [normal.x as f32, normal.y as f32, normal.z as f32]
    }
}

/// A row of pixels across a face.
pub(super) struct Row<'a> {
    face: &'a Face,
    /// For the side across from each corner: what the row makes of it, how it falls along the row, and
    /// where it starts.
    sides: [(f64, f64, f64); 3],
}

impl Row<'_> {
    /// The weight of each corner in a pixel's middle; the middle is on the face when none is negative.
    #[inline]
    pub(super) fn share(&self, x: usize) -> [f64; 3] {
        let at_x = x as f64 + 0.5;
        self.sides.map(|(of_row, fall, from)| (of_row - fall * (at_x - from)) / self.face.area)
    }

    /// Columns outside of which no pixel is on the face; a pixel or two at the ends may not be either.
    pub(super) fn columns(&self) -> Range<usize> {
        let (mut low, mut high) = (self.face.columns.start as f64, self.face.columns.end as f64);
        for (of_row, fall, from) in self.sides {
            if fall != 0.0 {
                let ends = from + of_row / fall - 0.5;
                if (fall < 0.0) == (self.face.area > 0.0) {
                    low = low.max(ends.floor() - 1.0);
                } else {
                    high = high.min(ends.ceil() + 2.0);
                }
            }
        }
        low as usize..high.max(0.0) as usize
    }
}

fn in_picture(camera: &Camera, normal: &Vector) -> Vector {
    Vector::new(normal.dot(&camera.right), normal.dot(&camera.up), -normal.dot(&camera.ahead))
}

fn between(a: Corner, b: Corner, share: f64) -> Corner {
    let at = [0, 1, 2].map(|axis| a.at[axis] + (b.at[axis] - a.at[axis]) * share);
    Corner { at, normal: a.normal + (b.normal - a.normal) * share }
}
