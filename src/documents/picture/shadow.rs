//! The soft shade of the car on the ground behind it.

use super::bands::{BAND, in_bands};
use super::raster::Layer;

/// How dark the ground is in each pixel, 0 to 1: the outline of what is drawn, moved down and blurred.
pub(super) fn ground_shadow(layer: &Layer) -> Vec<f32> {
    let (width, height) = (layer.width, layer.height);
    let down = height / 28;
    let mut shade = vec![0.0_f32; width * height];
    for (to, part) in shade[down * width..].iter_mut().zip(&layer.part) {
        if *part > 0 {
            *to = 1.0;
        }
    }
    let radius = (height / 36).max(2);
    let mut other = shade.clone();
    for _ in 0..3 {
        along(&shade, &mut other, width, radius);
        down_columns(&other, &mut shade, width, radius);
    }
    shade
}

/// A running mean along each row.
fn along(from: &[f32], to: &mut [f32], width: usize, radius: usize) {
    let whole = (2 * radius + 1) as f32;
    let rows = width * BAND;
    in_bands(from.chunks(rows).zip(to.chunks_mut(rows)), |_, (from, to)| {
        for (from, to) in from.chunks(width).zip(to.chunks_mut(width)) {
            let mut sum: f32 = from.iter().take(radius).sum();
            for index in 0..width {
                if index + radius < width {
                    sum += from[index + radius];
                }
                if index > radius {
                    sum -= from[index - radius - 1];
                }
                to[index] = sum / whole;
            }
        }
    });
}

/// A running mean down each column, row by row with a sum for each column.
fn down_columns(from: &[f32], to: &mut [f32], width: usize, radius: usize) {
    let whole = (2 * radius + 1) as f32;
    let height = from.len() / width;
    let mut sums = vec![0.0_f32; width];
    let row = |y: usize| &from[y * width..][..width];
    let add = |sums: &mut [f32], y: usize, sign: f32| {
        sums.iter_mut().zip(row(y)).for_each(|(sum, value)| *sum += sign * value);
    };
    (0..radius.min(height)).for_each(|y| add(&mut sums, y, 1.0));
    for (y, to) in to.chunks_mut(width).enumerate() {
        if y + radius < height {
            add(&mut sums, y + radius, 1.0);
        }
        if y > radius {
            add(&mut sums, y - radius - 1, -1.0);
        }
        to.iter_mut().zip(&sums).for_each(|(to, sum)| *to = sum / whole);
    }
}
