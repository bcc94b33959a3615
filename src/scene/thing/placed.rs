//! Where a thing is, and the same thing elsewhere or on the other side of the car.

use super::Thing;
use crate::model::{Motion, Place, Point, Shape, Vector};
use crate::scene::mirror;

impl Thing {
    /// Where it is: the middle of a solid, the point of a thing that is one; none for what is nowhere.
    pub fn at(&self) -> Option<Point> {
        match self {
            Thing::Option(_)
            | Thing::Ram(_)
            | Thing::Rule(_)
            | Thing::Car(_)
            | Thing::Edge(_)
            | Thing::Unbolt(_) => None,
            Thing::Opening(opening) => Some(opening.place.at),
            Thing::Body(body) => Some(body.place.pose() * mirror::middle(&body.shape)?),
            Thing::Trim(trim) => mean(trim.faces.iter().flatten()),
            Thing::Mover(mover) => mirror::middle(mover.shapes.first()?),
            Thing::Drain(drain) => Some(drain.at),
            Thing::Leak(leak) => Some(leak.at),
            Thing::Anchor(anchor) => Some(anchor.at),
            Thing::Line(line) => Some(line.from.at),
            Thing::Viewpoint(viewpoint) => Some(viewpoint.at),
            Thing::Space(shape) => mirror::middle(shape),
        }
    }

    /// Moves it.
    pub fn shift(&mut self, by: &Vector) {
        match self {
            Thing::Option(_)
            | Thing::Ram(_)
            | Thing::Rule(_)
            | Thing::Car(_)
            | Thing::Edge(_)
            | Thing::Unbolt(_) => {}
            Thing::Opening(opening) => opening.place.at += by,
            Thing::Body(body) => match &mut body.shape {
                shape if body.place == Place::default() && !matches!(shape, Shape::Mesh { .. }) => {
                    mirror::shift(shape, by);
                }
                _ => body.place.at += by,
            },
            Thing::Trim(trim) => trim.faces.iter_mut().flatten().for_each(|corner| *corner += by),
            Thing::Mover(mover) => {
                mover.shapes.iter_mut().for_each(|shape| mirror::shift(shape, by));
                if let Motion::Swing { through, .. } = &mut mover.motion {
                    *through += by;
                }
            }
            Thing::Drain(drain) => drain.at += by,
            Thing::Leak(leak) => leak.at += by,
            Thing::Anchor(anchor) => anchor.at += by,
            Thing::Line(line) => line.from.at += by,
            Thing::Viewpoint(viewpoint) => viewpoint.at += by,
            Thing::Space(shape) => mirror::shift(shape, by),
        }
    }

    /// The same thing on the other side of the car's middle plane, its name with left and right
    /// exchanged. None when it can't be mirrored: a mesh has one side only.
    #[must_use]
    pub fn mirrored(&self) -> Option<Thing> {
        let mut thing = self.clone();
        match &mut thing {
            Thing::Option(_)
            | Thing::Ram(_)
            | Thing::Rule(_)
            | Thing::Car(_)
            | Thing::Edge(_)
            | Thing::Unbolt(_) => return None,
            Thing::Opening(opening) => mirror::opening(opening),
            Thing::Body(body) => {
                mirror::shape(&mut body.shape)?;
                mirror::place(&mut body.place);
            }
            Thing::Trim(trim) => {
                for face in &mut trim.faces {
                    face.iter_mut().for_each(mirror::point);
                    face.reverse();
                }
            }
            Thing::Mover(mover) => {
                for shape in &mut mover.shapes {
                    mirror::shape(shape)?;
                }
                mirror::motion(&mut mover.motion);
            }
            Thing::Drain(drain) => mirror::point(&mut drain.at),
            Thing::Leak(leak) => mirror::point(&mut leak.at),
            Thing::Anchor(anchor) => {
                mirror::point(&mut anchor.at);
                mirror::direction(&mut anchor.normal);
            }
            Thing::Line(line) => {
                mirror::point(&mut line.from.at);
                mirror::direction(&mut line.from.towards);
            }
            Thing::Viewpoint(viewpoint) => mirror::point(&mut viewpoint.at),
            Thing::Space(shape) => mirror::shape(shape)?,
        }
        if let Some(name) = thing.name_mut() {
            *name = mirror::words(name);
        }
        Some(thing)
    }
}

fn mean<'a>(points: impl Iterator<Item = &'a Point>) -> Option<Point> {
    let (mut sum, mut count) = (Vector::zeros(), 0.0);
    for point in points {
        sum += point.coords;
        count += 1.0;
    }
    (count > 0.0).then(|| Point::from(sum / count))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Layout;
    use crate::scene::thing::Kind;

    fn demo() -> Layout {
        crate::format::open_demo(None).expect("the demo is sound").layout
    }

    #[test]
    fn mirrored_twice_is_the_same_thing_but_for_its_name() {
        let layout = demo();
        for kind in Kind::ALL {
            for index in 0..kind.count(&layout) {
                let thing = Thing::get(&layout, kind, index).expect("it is listed");
                let Some(once) = thing.mirrored() else { continue };
                let twice = once.mirrored().expect("what can be mirrored can be again");
                let (a, b) = (thing.at(), twice.at());
                if let (Some(a), Some(b), Some(there)) = (a, b, once.at()) {
                    assert!((a - b).norm() < 1e-9, "{thing:?}");
                    assert!((a.y + there.y).abs() < 1e-9 && (a.x - there.x).abs() < 1e-9);
                }
                let mut changed = layout.clone();
                once.put_into(&mut changed, index);
                let sound = changed.problems();
                assert!(
                    sound.iter().all(|wrong| wrong.found.contains("second time")
                        || wrong.expected.contains("name")),
                    "{thing:?}: {sound:?}"
                );
            }
        }
    }
}
