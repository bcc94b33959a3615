//! Materials and the small meshes that markers are made of.

use bevy::asset::{Asset, Assets, Handle, uuid_handle};
use bevy::color::{Alpha, LinearRgba};
use bevy::math::Vec4;
use bevy::mesh::MeshVertexBufferLayoutRef;
use bevy::pbr::{Material, MaterialPipeline, MaterialPipelineKey, MaterialPlugin};
use bevy::prelude::{AlphaMode, App, Mesh, PostUpdate, Res, ResMut};
use bevy::reflect::TypePath;
use bevy::render::render_resource::{
    AsBindGroup, RenderPipelineDescriptor, SpecializedMeshPipelineError,
};
use bevy::shader::{Shader, ShaderRef};

use super::convert::{scene_mesh_of, scene_point};
use super::grip;
use super::theme::{Shade, scene_colour};
use super::view::View;
use crate::geometry::across;
use crate::model::{Point, Vector};

/// Sides of a tube.
const TUBE_SIDES: usize = 10;

/// The shader of [`Paint`], kept in the program.
const SHADER: Handle<Shader> = uuid_handle!("1b0a5f0e-6a3c-4c57-9b1f-5f4e1d9a7c22");

/// One colour times the shade that comes with the mesh: no light is worked out for a pixel, which
/// is what makes the window usable without a graphics card.
#[derive(Asset, TypePath, AsBindGroup, Debug, Clone)]
pub(crate) struct Paint {
    #[uniform(0)]
    colour: LinearRgba,
    /// The plane beyond which nothing is drawn: its normal in the scene and its distance, m.
    #[uniform(1)]
    cut: Vec4,
    see_through: bool,
    /// Drawn whole, whatever the plane.
    whole: bool,
}

/// No plane: nothing is farther than this along no direction.
const UNCUT: Vec4 = Vec4::new(0.0, 0.0, 0.0, 1e9);

impl Material for Paint {
    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }

    fn alpha_mode(&self) -> AlphaMode {
        if self.see_through { AlphaMode::Blend } else { AlphaMode::Opaque }
    }

    fn specialize(
        _pipeline: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        _layout: &MeshVertexBufferLayoutRef,
        _key: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        // Sheets such as trims have no thickness: both sides are seen.
        descriptor.primitive.cull_mode = None;
        Ok(())
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.add_plugins(MaterialPlugin::<Paint>::default()).add_systems(PostUpdate, cut);
    let shader = Shader::from_wgsl(include_str!("paint.wgsl"), "dryberth/paint.wgsl");
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    // Fails only for a handle made at run time; this one is a constant.
    let _ = shaders.insert(SHADER.id(), shader);
}

/// A paint; translucent below an alpha of 1.
pub(crate) fn paint(paints: &mut Assets<Paint>, shade: Shade) -> Handle<Paint> {
    let colour = scene_colour(shade.colour).with_alpha(shade.alpha).to_linear();
    paints.add(Paint { colour, cut: UNCUT, see_through: shade.alpha < 1.0, whole: false })
}

/// A paint of something that a section leaves whole.
pub(crate) fn whole_paint(paints: &mut Assets<Paint>, shade: Shade) -> Handle<Paint> {
    let colour = scene_colour(shade.colour).with_alpha(shade.alpha).to_linear();
    paints.add(Paint { colour, cut: UNCUT, see_through: shade.alpha < 1.0, whole: true })
}

/// Takes the plane of the section to every paint that doesn't have it yet.
fn cut(view: Res<View>, mut paints: ResMut<Assets<Paint>>) {
    let wanted = view.section.map_or(UNCUT, |section| {
        let side = if section.flipped { -1.0 } else { 1.0 };
        let normal = scene_point(&Point::from(grip::axis(section.axis) * 1000.0)) * side;
        normal.extend(section.at_mm as f32 / 1000.0 * side)
    });
    let other = |paint: &Paint| !paint.whole && paint.cut != wanted;
    let stale: Vec<_> = paints.iter().filter(|(_, paint)| other(paint)).map(|(id, _)| id).collect();
    for id in stale {
        if let Some(mut paint) = paints.get_mut(id) {
            paint.cut = wanted;
        }
    }
}

/// A tube of `radius_mm` along a path; with `dash_mm`, in dashes of that length. None for a path
/// without length.
pub(crate) fn tube(path: &[Point], radius_mm: f64, dash_mm: Option<f64>) -> Option<Mesh> {
    let parts = match dash_mm {
        Some(dash_mm) => dashes(path, dash_mm),
        None => vec![path.to_vec()],
    };
    let mut vertices = Vec::new();
    let mut normals = Vec::new();
    let mut indices = Vec::new();
    for part in parts {
        one_tube(&part, radius_mm, &mut vertices, &mut normals, &mut indices);
    }
    (!indices.is_empty()).then(|| scene_mesh_of(&vertices, &normals, indices))
}

fn one_tube(
    path: &[Point],
    radius_mm: f64,
    vertices: &mut Vec<Point>,
    normals: &mut Vec<Vector>,
    indices: &mut Vec<u32>,
) {
    let mut path = path.to_vec();
    path.dedup_by(|a, b| (*a - *b).norm() < 0.05);
    if path.len() < 2 {
        return;
    }
    let mut side: Option<Vector> = None;
    for (index, point) in path.iter().enumerate() {
        let before = path[index.saturating_sub(1)];
        let after = path[(index + 1).min(path.len() - 1)];
        let along = (after - before).try_normalize(1e-9).unwrap_or_else(Vector::z);
        // The ring is carried along without twist: last ring's side, squared up again.
        let u = side
            .and_then(|side| (side - along * along.dot(&side)).try_normalize(1e-6))
            .unwrap_or_else(|| across(&along).0);
        side = Some(u);
        let v = along.cross(&u);
        let first = vertices.len() as u32;
        for turn in 0..TUBE_SIDES {
            let angle = std::f64::consts::TAU * turn as f64 / TUBE_SIDES as f64;
            let out = u * angle.cos() + v * angle.sin();
            vertices.push(point + out * radius_mm);
            normals.push(out);
        }
        if index > 0 {
            let last = first - TUBE_SIDES as u32;
            for turn in 0..TUBE_SIDES as u32 {
                let next = (turn + 1) % TUBE_SIDES as u32;
                let (a, b) = (last + turn, last + next);
                let (c, d) = (first + next, first + turn);
                indices.extend([a, b, c, a, c, d]);
            }
        }
    }
}

/// A path cut into dashes with gaps as long as they are.
fn dashes(path: &[Point], dash_mm: f64) -> Vec<Vec<Point>> {
    let mut parts = Vec::new();
    let mut open: Vec<Point> = path.first().copied().into_iter().collect();
    let (mut drawing, mut left_mm) = (true, dash_mm);
    for pair in path.windows(2) {
        let (mut from, to) = (pair[0], pair[1]);
        loop {
            let rest_mm = (to - from).norm();
            if rest_mm < left_mm {
                left_mm -= rest_mm;
                if drawing {
                    open.push(to);
                }
                break;
            }
            from += (to - from) * (left_mm / rest_mm);
            if drawing {
                open.push(from);
                parts.push(std::mem::take(&mut open));
            } else {
                open = vec![from];
            }
            drawing = !drawing;
            left_mm = dash_mm;
        }
    }
    if drawing && open.len() > 1 {
        parts.push(open);
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_of_seven_dashes_has_four_strokes() {
        let path = [Point::origin(), Point::new(30.0, 0.0, 0.0), Point::new(30.0, 40.0, 0.0)];
        let parts = dashes(&path, 10.0);
        assert_eq!(parts.len(), 4);
        let drawn: f64 = parts
            .iter()
            .flat_map(|part| part.windows(2).map(|pair| (pair[1] - pair[0]).norm()))
            .sum();
        assert!((drawn - 40.0).abs() < 1e-9);
    }

    #[test]
    fn a_tube_along_a_bend_keeps_its_radius() {
        let path: Vec<Point> = (0..=12)
            .map(|step| {
                let angle = std::f64::consts::FRAC_PI_2 * f64::from(step) / 12.0;
                Point::new(100.0 * angle.cos(), 100.0 * angle.sin(), 0.0)
            })
            .collect();
        let (mut vertices, mut normals, mut indices) = (Vec::new(), Vec::new(), Vec::new());
        one_tube(&path, 6.0, &mut vertices, &mut normals, &mut indices);
        assert_eq!(vertices.len(), 13 * TUBE_SIDES);
        for (ring, middle) in vertices.chunks(TUBE_SIDES).zip(&path) {
            assert!(ring.iter().all(|corner| ((corner - middle).norm() - 6.0).abs() < 1e-9));
        }
    }
}
