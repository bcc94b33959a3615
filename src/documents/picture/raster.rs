//! Triangles into pixels: the nearest surface of each pixel, by a depth buffer.

use super::bands::{BAND, in_bands};
use super::camera::Camera;
use super::faces::Face;

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

/// Some rows of a layer.
struct Band<'a> {
    nearness: &'a mut [f32],
    normal: &'a mut [[f32; 3]],
    part: &'a mut [u16],
}

impl Layer {
    fn empty(width: usize, height: usize) -> Layer {
        let count = width * height;
        Layer {
            width,
            height,
            nearness: vec![0.0; count],
            normal: vec![[0.0; 3]; count],
            part: vec![0; count],
        }
    }

    /// The nearest of the faces in each pixel, of those equally near the first. With `over`, only where one
    /// lies nearer than that layer.
    pub(super) fn of(
        (width, height): (usize, usize),
        camera: &Camera,
        faces: &[Face],
        over: Option<&Layer>,
    ) -> Layer {
        let mut layer = Layer::empty(width, height);
        // The faces that each band has to look at, in their order.
        let mut listed: Vec<Vec<u32>> = vec![Vec::new(); height.div_ceil(BAND)];
        for (index, face) in faces.iter().enumerate() {
            for band in &mut listed[face.rows.start / BAND..=(face.rows.end - 1) / BAND] {
                band.push(index as u32);
            }
        }
        let rows = width * BAND;
        let slices = layer.nearness.chunks_mut(rows).zip(layer.normal.chunks_mut(rows));
        let bands = slices
            .zip(layer.part.chunks_mut(rows))
            .map(|((nearness, normal), part)| Band { nearness, normal, part });
        in_bands(bands, |number, mut band| {
            if listed[number].is_empty() {
                return;
            }
            let top = number * BAND;
            let behind = over.map(|over| &over.nearness[top * width..]);
            let won = band.nearest(top, width, faces, &listed[number], behind);
            for (pixel, winner) in won.into_iter().enumerate() {
                if let Some(face) = faces.get(winner as usize) {
                    let at = (pixel % width, top + pixel / width);
                    band.normal[pixel] = face.normal(camera, (width, height), at);
                    band.part[pixel] = face.part;
                }
            }
        });
        layer
    }

    /// Every other pixel of every other row.
    pub(super) fn halved(&self) -> Layer {
        let (width, height) = (self.width / 2, self.height / 2);
        let mut half = Layer::empty(width, height);
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
}

impl Band<'_> {
    /// Which face is the nearest in each pixel of the band whose first row is `top`; `u32::MAX` where none is.
    fn nearest(
        &mut self,
        top: usize,
        width: usize,
        faces: &[Face],
        listed: &[u32],
        behind: Option<&[f32]>,
    ) -> Vec<u32> {
        let mut won = vec![u32::MAX; self.nearness.len()];
        let bottom = top + self.nearness.len() / width;
        for &index in listed {
            let face = &faces[index as usize];
            for y in face.rows.start.max(top)..face.rows.end.min(bottom) {
                let row = face.row(y);
                for x in row.columns() {
                    let share = row.share(x);
                    if share.iter().any(|share| *share < 0.0) {
                        continue;
                    }
                    let near = (0..3).map(|i| share[i] * face.nearness[i]).sum::<f64>() as f32;
                    let pixel = (y - top) * width + x;
                    let hidden = behind.is_some_and(|other| other[pixel] > near);
                    if near > self.nearness[pixel] && !hidden {
                        self.nearness[pixel] = near;
                        won[pixel] = index;
                    }
                }
            }
        }
        won
    }
}
