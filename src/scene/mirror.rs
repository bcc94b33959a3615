//! Measured shapes moved, and mirrored on the car's middle plane (y becomes −y).

use crate::model::{Axis, Motion, Opening, OpeningOutline, Place, Point, Shape, Vector};

/// Mirrors a point.
pub(crate) fn point(point: &mut Point) {
    point.y = 0.0 - point.y;
}

/// Mirrors a direction.
pub(crate) fn direction(direction: &mut Vector) {
    direction.y = 0.0 - direction.y;
}

/// Mirrors where a thing stands, when its own shape is mirrored too: M · T · M is a turn again, with
/// roll and yaw the other way round.
pub(crate) fn place(place: &mut Place) {
    point(&mut place.at);
    place.turn_deg = (0.0 - place.turn_deg.0, place.turn_deg.1, 0.0 - place.turn_deg.2);
}

/// Mirrors a motion. A turn about a mirrored axis runs the other way, so the axis is turned round as
/// well and the angles stay.
pub(crate) fn motion(motion: &mut Motion) {
    match motion {
        Motion::Swing { through, along, .. } => {
            point(through);
            *along = Vector::new(0.0 - along.x, along.y, 0.0 - along.z);
        }
        Motion::Slide { along, .. } => direction(along),
    }
}

/// Mirrors a shape; none for a mesh, which would need another file.
pub(crate) fn shape(shape: &mut Shape) -> Option<()> {
    match shape {
        Shape::Box { from, to } => {
            (from.y, to.y) = (0.0 - to.y, 0.0 - from.y);
        }
        Shape::Cylinder { from, to, .. } => {
            point(from);
            point(to);
        }
        Shape::Prism { along, outline, from_mm, to_mm } => {
            match along {
                Axis::X => outline.iter_mut().for_each(|corner| corner.0 = 0.0 - corner.0),
                Axis::Y => (*from_mm, *to_mm) = (0.0 - *to_mm, 0.0 - *from_mm),
                Axis::Z => outline.iter_mut().for_each(|corner| corner.1 = 0.0 - corner.1),
            }
            if *along != Axis::Y {
                outline.reverse();
            }
        }
        Shape::Hull { points } => points.iter_mut().for_each(point),
        Shape::Mesh { .. } => return None,
    }
    Some(())
}

/// Mirrors an opening with its panel: what was to the right as one looks at the face is to the left, up
/// stays up.
pub(crate) fn opening(opening: &mut Opening) {
    place(&mut opening.place);
    // M · T · M turns its up downwards; half a turn about the face's normal sets it right.
    let half = Place { turn_deg: (0.0, 0.0, 180.0), ..Place::default() }.pose();
    let at = opening.place.at;
    let turned = Place::from_pose(&(opening.place.pose() * half)).turn_deg;
    // Square to the car as it was measured, without the last bits of a sine.
    let tidy = |deg: f64| (deg * 1e9).round() / 1e9 + 0.0;
    opening.place = Place { at, turn_deg: (tidy(turned.0), tidy(turned.1), tidy(turned.2)) };
    let across = |corner: &mut (f64, f64)| corner.0 = 0.0 - corner.0;
    match &mut opening.outline {
        OpeningOutline::Measured(outline) => {
            outline.iter_mut().for_each(across);
            outline.reverse();
        }
        OpeningOutline::Cut { around } => across(around),
    }
    if let Some(notch) = &mut opening.notch {
        across(&mut notch.near);
    }
    // Pile lies one way, so it is mirrored too; kept within a turn.
    opening.grain_deg = (180.0 - opening.grain_deg) % 360.0;
}

/// Moves a shape in its own frame; a mesh stays as its file has it.
pub(crate) fn shift(shape: &mut Shape, by: &Vector) {
    match shape {
        Shape::Box { from, to } | Shape::Cylinder { from, to, .. } => {
            *from += by;
            *to += by;
        }
        Shape::Prism { along, outline, from_mm, to_mm } => {
            let (first, second, out) = match along {
                Axis::X => (by.y, by.z, by.x),
                Axis::Y => (by.z, by.x, by.y),
                Axis::Z => (by.x, by.y, by.z),
            };
            for corner in outline {
                *corner = (corner.0 + first, corner.1 + second);
            }
            *from_mm += out;
            *to_mm += out;
        }
        Shape::Hull { points } => points.iter_mut().for_each(|corner| *corner += by),
        Shape::Mesh { .. } => {}
    }
}

/// The middle of a shape's corners, in its own frame; none for a mesh.
pub(crate) fn middle(shape: &Shape) -> Option<Point> {
    let centre = |a: &Point, b: &Point| Point::from((a.coords + b.coords) / 2.0);
    match shape {
        Shape::Box { from, to } | Shape::Cylinder { from, to, .. } => Some(centre(from, to)),
        Shape::Prism { along, outline, from_mm, to_mm } => {
            let low =
                outline.iter().fold((f64::MAX, f64::MAX), |a, b| (a.0.min(b.0), a.1.min(b.1)));
            let high =
                outline.iter().fold((f64::MIN, f64::MIN), |a, b| (a.0.max(b.0), a.1.max(b.1)));
            let (a, b) = ((low.0 + high.0) / 2.0, (low.1 + high.1) / 2.0);
            let out = (from_mm + to_mm) / 2.0;
            (!outline.is_empty()).then(|| match along {
                Axis::X => Point::new(out, a, b),
                Axis::Y => Point::new(b, out, a),
                Axis::Z => Point::new(a, b, out),
            })
        }
        Shape::Hull { points } => {
            let sum = points.iter().fold(Vector::zeros(), |sum, corner| sum + corner.coords);
            (!points.is_empty()).then(|| Point::from(sum / points.len() as f64))
        }
        Shape::Mesh { .. } => None,
    }
}

/// A name for the other side: left and right exchanged, else marked.
pub(crate) fn words(name: &str) -> String {
    let swapped: Vec<String> = name
        .split(' ')
        .map(|word| {
            let bare = word.trim_matches(|letter: char| !letter.is_alphabetic());
            let other = match bare {
                "left" => "right",
                "right" => "left",
                "Left" => "Right",
                "Right" => "Left",
                _ => return word.to_string(),
            };
            word.replacen(bare, other, 1)
        })
        .collect();
    let swapped = swapped.join(" ");
    if swapped == name { format!("{name}, other side") } else { swapped }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::pose_at;

    #[test]
    fn a_mirrored_opening_has_its_corners_on_the_other_side_and_up_stays_up() {
        let outline = vec![(0.0, 0.0), (240.0, 10.0), (200.0, 160.0), (-10.0, 150.0)];
        let panel = Opening {
            name: "pocket".into(),
            place: Place { at: Point::new(300.0, 420.0, 50.0), turn_deg: (90.0, 0.0, -70.0) },
            outline: OpeningOutline::Measured(outline),
            carpet_mm: 2.0,
            fit_mm: -1.0,
            notch: None,
            grain_deg: 30.0,
            relief_mm: 3.0,
        };
        let corners = |panel: &Opening| -> Vec<Point> {
            let OpeningOutline::Measured(outline) = &panel.outline else { return Vec::new() };
            let pose = panel.place.pose();
            outline.iter().map(|(right, up)| pose * Point::new(*right, *up, 0.0)).collect()
        };
        let mut other = panel.clone();
        opening(&mut other);
        let (here, there) = (corners(&panel), corners(&other));
        assert_eq!(here.len(), there.len());
        // The order is turned round, so that it runs the same way as one looks at the face.
        for (a, b) in here.iter().zip(there.iter().rev()) {
            assert!((Point::new(a.x, -a.y, a.z) - b).norm() < 1e-6, "{a} {b}");
        }
        let ([_, up, face], [_, other_up, other_face]) = (panel.axes(), other.axes());
        assert!((other_up - up).norm() < 1e-9, "upright here, upright there");
        assert!((other_face - Vector::new(face.x, -face.y, face.z)).norm() < 1e-9);
        opening(&mut other);
        for (a, b) in here.iter().zip(corners(&other)) {
            assert!((a - b).norm() < 1e-6, "{a} {b}");
        }
        assert!((other.grain_deg - panel.grain_deg).abs() < 1e-9);
    }

    #[test]
    fn a_mirrored_hinge_runs_the_mirrored_way() {
        let swing = Motion::Swing {
            through: Point::new(612.0, -563.0, 378.0),
            along: Vector::new(0.3, 1.0, -0.2),
            from_deg: 0.0,
            to_deg: -80.0,
        };
        let mut other = swing;
        motion(&mut other);
        let start = Point::new(500.0, -570.0, 420.0);
        let mut there = pose_at(&swing, -35.0) * start;
        point(&mut there);
        let mut mirrored_start = start;
        point(&mut mirrored_start);
        assert!((pose_at(&other, -35.0) * mirrored_start - there).norm() < 1e-9);
    }

    #[test]
    fn a_mirrored_turned_body_is_the_mirror_image() {
        let stands = Place { at: Point::new(10.0, 20.0, 30.0), turn_deg: (11.0, -24.0, 70.0) };
        let mut other = stands;
        place(&mut other);
        let corner = Point::new(5.0, -7.0, 9.0);
        let mut there = stands.pose() * corner;
        point(&mut there);
        let mut own = corner;
        point(&mut own);
        assert!((other.pose() * own - there).norm() < 1e-9);
    }

    #[test]
    fn names_change_sides() {
        assert_eq!(words("quarter panel, left"), "quarter panel, right");
        assert_eq!(words("rear sill"), "rear sill, other side");
    }

    #[test]
    fn a_prism_keeps_its_shape_when_moved() {
        let mut prism = Shape::Prism {
            along: Axis::Y,
            outline: vec![(0.0, 0.0), (0.0, 100.0), (50.0, 0.0)],
            from_mm: 10.0,
            to_mm: 20.0,
        };
        let before = middle(&prism).expect("it has corners");
        shift(&mut prism, &Vector::new(1.0, 2.0, 3.0));
        let after = middle(&prism).expect("it has corners");
        assert!((after - before - Vector::new(1.0, 2.0, 3.0)).norm() < 1e-9);
    }
}
