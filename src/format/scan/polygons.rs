//! Faces with more than three corners, cut into triangles.

use crate::geometry::Triangles;
use crate::model::Point;

/// Most corners of one face: cutting it takes time with their square.
pub(super) const MOST_SIDES: usize = 1_000;

/// Adds a face to a list of triangles; its corners are numbers of that list's vertices. A face that
/// is so crooked that cutting it along its outline loses corners becomes a fan.
pub(super) fn add_face(into: &mut Triangles, corners: &[u32]) {
    match *corners {
        [] | [_] | [_, _] => {}
        [a, b, c] => into.indices.push([a, b, c]),
        _ => {
            let points: Vec<Point> =
                corners.iter().map(|&corner| into.vertices[corner as usize]).collect();
            let cut = Triangles::polygon(&points);
            if cut.indices.len() == corners.len() - 2 {
                let number = |index: [u32; 3]| index.map(|corner| corners[corner as usize]);
                into.indices.extend(cut.indices.into_iter().map(number));
            } else {
                let fan = corners[1..].windows(2).map(|pair| [corners[0], pair[0], pair[1]]);
                into.indices.extend(fan);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_concave_face_is_cut_along_its_outline() {
        let outline = [[0.0, 0.0], [4.0, 0.0], [4.0, 1.0], [1.0, 1.0], [1.0, 4.0], [0.0, 4.0]];
        let mut into = Triangles {
            vertices: outline.map(|[x, y]| Point::new(x, 2.0, y)).to_vec(),
            indices: Vec::new(),
        };
        add_face(&mut into, &[0, 1, 2, 3, 4, 5]);
        let areas = into.each().map(|[a, b, c]| (b - a).cross(&(c - a)).y / 2.0);
        // x to z turns about −y: every piece faces that way, and together they have its area.
        let areas: Vec<f64> = areas.collect();
        assert_eq!(areas.len(), 4);
        assert!(areas.iter().all(|area| *area < 0.0));
        assert!((areas.iter().sum::<f64>() + 7.0).abs() < 1e-12);
    }

    #[test]
    fn a_face_without_area_still_has_its_triangles() {
        let mut into = Triangles { vertices: vec![Point::origin(); 5], indices: Vec::new() };
        add_face(&mut into, &[0, 1, 2, 3, 4]);
        add_face(&mut into, &[0, 1]);
        assert_eq!(into.indices, [[0, 1, 2], [0, 2, 3], [0, 3, 4]]);
    }
}
