//! What is in the boot, drawn: bodies, movers, trims, anchors, drains and leak points.

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, IntoScheduleConfigs, Local, Mesh, Mesh3d, Query, Res, ResMut,
    SystemSet, Transform, Update, Visibility, With,
};

use super::clear::{Fade, clear};
use super::convert::{scene_edges, scene_mesh, scene_pose};
use super::document::Document;
use super::paint::{Paint, paint};
use super::theme::{self, Palette, Shade};
use super::view::{Layers, View};
use crate::checks::Boot;
use crate::geometry::{Solid, Triangles};
use crate::model::Point;

/// When the entities of the boot are brought in line with the document.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct BodySystems;

/// What an entity stands for, so that it can be hidden.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Body,
    Trim,
    Mover,
    Anchor,
    Drain,
}

/// An entity that shows something of the boot.
#[derive(Component)]
pub(super) struct Shown {
    pub(super) name: String,
    kind: Kind,
}

/// How much is seen of what stands before the pump: of a solid, of a sheet.
const CLEAR: (f32, f32) = (0.08, 0.05);

/// How much is seen of a trim that the user has asked for.
const ASKED: f32 = 0.75;

/// What the entities were made from.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Made {
    boot_age: u64,
    dark: bool,
}

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, (rebuild, clear, show_and_move).chain().in_set(BodySystems));
}

/// Whether something called `name` is drawn.
pub(crate) fn drawn(view: &View, layer: impl Fn(&Layers) -> bool, name: &str) -> bool {
    layer(&view.layers) && !view.hidden.contains(name)
}

struct Brush<'a, 'w, 's> {
    commands: &'a mut Commands<'w, 's>,
    meshes: &'a mut Assets<Mesh>,
    materials: &'a mut Assets<Paint>,
    palette: Palette,
}

impl Brush<'_, '_, '_> {
    fn put(&mut self, name: &str, kind: Kind, triangles: &Triangles, shade: Shade) -> Entity {
        let material = paint(self.materials, shade);
        let mut entity = self.commands.spawn((
            Shown { name: name.to_string(), kind },
            Mesh3d(self.meshes.add(scene_mesh(triangles))),
            MeshMaterial3d(material),
            Transform::IDENTITY,
            Visibility::default(),
        ));
        if let Some(lines) = scene_edges(triangles) {
            let faint = if shade.alpha < 1.0 { 0.35 } else { 0.7 };
            let ink = paint(self.materials, Shade { colour: self.palette.edge, alpha: faint });
            let lines = Mesh3d(self.meshes.add(lines));
            entity.with_child((lines, MeshMaterial3d(ink)));
        }
        entity.id()
    }

    /// Puts something that fades when it stands before the pump.
    fn put_fading(&mut self, name: &str, kind: Kind, triangles: &Triangles, shade: Shade) {
        let entity = self.put(name, kind, triangles, shade);
        let clear = if kind == Kind::Trim { CLEAR.1 } else { CLEAR.0 };
        let fade = Fade {
            usual: paint(self.materials, shade),
            clear: paint(self.materials, Shade { alpha: clear, ..shade }),
            shown: paint(self.materials, Shade { alpha: ASKED, ..shade }),
            whole: (kind == Kind::Trim)
                .then(|| paint(self.materials, Shade { alpha: 1.0, ..shade })),
        };
        self.commands.entity(entity).insert(fade);
    }
}

fn rebuild(
    mut commands: Commands,
    document: Res<Document>,
    view: Res<View>,
    mut made: Local<Option<Made>>,
    old: Query<Entity, With<Shown>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let wanted = Made { boot_age: document.boot_age(), dark: view.dark };
    if *made == Some(wanted) {
        return;
    }
    *made = Some(wanted);
    for entity in &old {
        commands.entity(entity).despawn();
    }
    let mut brush = Brush {
        commands: &mut commands,
        meshes: &mut meshes,
        materials: &mut materials,
        palette: Palette::of(view.dark),
    };
    put_solids(&mut brush, document.boot());
    put_markers(&mut brush, document.boot());
}

fn put_solids(brush: &mut Brush, boot: &Boot) {
    for (body, solid) in boot.bodies() {
        let shade =
            Shade { colour: theme::body_colour(body.role, body.option.is_some()), alpha: 1.0 };
        brush.put_fading(&body.name, Kind::Body, solid.triangles(), shade);
    }
    for (mover, solids) in boot.movers() {
        let shade = Shade { colour: theme::mover_colour(mover.kind), alpha: 0.55 };
        for solid in solids {
            brush.put_fading(&mover.name, Kind::Mover, solid.triangles(), shade);
        }
    }
    for (trim, sheet) in boot.trims() {
        let shade = Shade { colour: theme::trim_colour(trim.kind), alpha: 0.30 };
        brush.put_fading(&trim.name, Kind::Trim, sheet, shade);
    }
}

fn put_markers(brush: &mut Brush, boot: &Boot) {
    for anchor in boot.anchors() {
        let normal = anchor.normal.try_normalize(1e-9).unwrap_or_else(crate::model::Vector::z);
        let stud = Triangles::cylinder(&anchor.at, &(anchor.at + normal * 14.0), 4.0);
        let mut marker = Triangles::cylinder(&anchor.at, &(anchor.at + normal * 2.0), 9.0);
        marker.append(&stud);
        let shade = Shade { colour: theme::ANCHOR, alpha: 1.0 };
        brush.put(&anchor.name, Kind::Anchor, &marker, shade);
    }
    for drain in &boot.layout().drains {
        let up = crate::model::Vector::z();
        let marker = Triangles::cylinder(
            &(drain.at + up * 0.5),
            &(drain.at + up * 3.0),
            drain.diameter_mm.max(12.0) / 2.0,
        );
        let colour = if drain.blocked { theme::DRAIN_BLOCKED } else { theme::DRAIN };
        brush.put(&drain.name, Kind::Drain, &marker, Shade { colour, alpha: 1.0 });
    }
    for leak in &boot.layout().leaks {
        let shade = Shade { colour: theme::LEAK, alpha: 1.0 };
        brush.put(&leak.name, Kind::Drain, &drop_shape(&leak.at), shade);
    }
}

/// A drop hanging from a point: eight sides, a tip above and a blunt end below, 26 mm long.
fn drop_shape(at: &Point) -> Triangles {
    let mut shape = Triangles { vertices: vec![*at], indices: Vec::new() };
    for side in 0..8_u32 {
        let angle = std::f64::consts::TAU * f64::from(side) / 8.0;
        let out = crate::model::Vector::new(8.0 * angle.cos(), 8.0 * angle.sin(), -18.0);
        shape.vertices.push(at + out);
    }
    shape.vertices.push(at + crate::model::Vector::new(0.0, 0.0, -26.0));
    for side in 0..8_u32 {
        let (a, b) = (1 + side, 1 + (side + 1) % 8);
        shape.indices.push([0, a, b]);
        shape.indices.push([9, b, a]);
    }
    shape
}

fn show_and_move(
    document: Res<Document>,
    view: Res<View>,
    mut shown: Query<(&Shown, &mut Visibility, &mut Transform)>,
) {
    for (shown, mut visibility, mut transform) in &mut shown {
        let seen = match shown.kind {
            Kind::Body | Kind::Mover => drawn(&view, |_| true, &shown.name),
            Kind::Trim => drawn(&view, |layers| layers.trims, &shown.name),
            Kind::Anchor => drawn(&view, |layers| layers.anchors, &shown.name),
            Kind::Drain => drawn(&view, |layers| layers.drains, &shown.name),
        };
        let wanted = if seen { Visibility::Inherited } else { Visibility::Hidden };
        if *visibility != wanted {
            *visibility = wanted;
        }
        if shown.kind == Kind::Mover {
            let pose = scene_pose(&view.mover_pose(document.boot(), &shown.name));
            if *transform != pose {
                *transform = pose;
            }
        }
    }
}

/// The solids that a drag slides over: the bodies that are drawn and not seen through.
pub(crate) fn surfaces<'a>(
    boot: &'a Boot,
    view: &'a View,
) -> impl Iterator<Item = (&'a str, &'a Solid)> {
    boot.bodies()
        .filter(|(body, _)| !view.hidden.contains(&body.name))
        .filter(|(body, _)| !view.cleared.contains(&body.name))
        .filter(|(body, _)| !view.faded.contains(&body.name))
        .map(|(body, solid)| (body.name.as_str(), solid))
}
