//! The eye: turns round a point of the boot, comes nearer, glides to a named view.

use bevy::camera::Viewport;
use bevy::math::{EulerRot, Quat, UVec2, Vec3};
use bevy::prelude::{
    App, Camera, IntoScheduleConfigs, MessageWriter, Projection, Res, ResMut, Resource, Single,
    SystemSet, Time, Transform, Update, With,
};
use bevy::window::{PrimaryWindow, RequestRedraw, Window};
use bevy_egui::egui::{Pos2, Rect};

use super::convert::{scene_point, vehicle_direction, vehicle_point};
use super::eye::SceneEye;
use crate::geometry::Bounds;
use crate::model::{Point, Vector};

/// When the camera follows the orbit, once a frame, after the input.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct OrbitSystems;

/// Vertical opening of the eye, radians.
pub(crate) const OPENING: f32 = 0.70;

/// The eye stays this much above its target, radians: from below, the floor hides everything.
const LOWEST: f32 = 0.06;

/// How near the eye comes to its target, and how far it goes away, m.
const NEAREST_M: f32 = 0.15;
const FARTHEST_M: f32 = 8.0;

/// How far outside the boot the target may lie, m.
const STRAY_M: f32 = 0.3;

/// How long a glide to another view takes, s.
const GLIDE_S: f32 = 0.3;

/// A way of looking: at what, from which side, from how far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// The point in the middle of the picture, m, scene frame.
    pub target: Vec3,
    /// Turn about the vertical; 0 looks from behind the car, π/2 from its left. Radians.
    pub yaw: f32,
    /// Height of the eye over the target as an angle, radians.
    pub pitch: f32,
    /// Distance from the eye to the target, m.
    pub distance: f32,
}

impl Look {
    fn rotation(&self) -> Quat {
        // Yaw 0 looks along +Z (forward); the camera's own forward is −Z.
        Quat::from_euler(EulerRot::YXZ, std::f32::consts::PI - self.yaw, -self.pitch, 0.0)
    }

    fn position(&self) -> Vec3 {
        self.target - self.rotation() * Vec3::NEG_Z * self.distance
    }

    fn between(from: &Look, to: &Look, share: f32) -> Look {
        let turn = (to.yaw - from.yaw + std::f32::consts::PI).rem_euclid(std::f32::consts::TAU)
            - std::f32::consts::PI;
        Look {
            target: from.target.lerp(to.target, share),
            yaw: from.yaw + turn * share,
            pitch: from.pitch + (to.pitch - from.pitch) * share,
            distance: from.distance * (to.distance / from.distance).powf(share),
        }
    }
}

/// A named view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// From behind the car, over the sill.
    Behind,
    /// From straight above.
    Above,
    /// From the car's left.
    Left,
    /// From the car's right.
    Right,
    /// From the cabin, looking back.
    Cabin,
}

impl Side {
    /// All of them, in the order of their buttons.
    pub const ALL: [Side; 5] = [Side::Behind, Side::Above, Side::Left, Side::Right, Side::Cabin];

    /// The button's word.
    pub fn words(self) -> &'static str {
        match self {
            Side::Behind => "Behind",
            Side::Above => "Above",
            Side::Left => "Left",
            Side::Right => "Right",
            Side::Cabin => "Cabin",
        }
    }

    fn angles(self) -> (f32, f32) {
        use std::f32::consts::{FRAC_PI_2, PI};
        match self {
            Side::Behind => (0.0, 0.62),
            Side::Above => (0.0, 1.55),
            Side::Left => (FRAC_PI_2, 0.25),
            Side::Right => (-FRAC_PI_2, 0.25),
            Side::Cabin => (PI, 0.62),
        }
    }
}

/// Where the eye is and where it is going.
#[derive(Resource, Debug, Clone)]
pub struct Orbit {
    look: Look,
    glide: Option<(Look, Look, f32)>,
    /// The part of the window that shows the boot, egui points.
    pub rect: Rect,
    whole: Option<Bounds>,
    first: Option<Bounds>,
}

impl Orbit {
    /// An eye behind the car that sees all of `bounds`, turned towards its left or right side.
    pub(crate) fn seeing(bounds: Option<Bounds>, to_left: bool) -> Orbit {
        let yaw = if to_left { -0.42 } else { 0.42 };
        let target = bounds.map_or(Vec3::ZERO, |bounds| scene_point(&bounds.centre()));
        Orbit {
            look: Look { target, yaw, pitch: 0.72, distance: 2.5 },
            glide: None,
            rect: Rect::ZERO,
            whole: bounds,
            first: bounds,
        }
    }

    /// Takes the part of the window that shows the boot; the first time the boot, or what
    /// [`begin_with`](Self::begin_with) says, is fitted into it.
    pub(crate) fn set_rect(&mut self, rect: Rect) {
        self.rect = rect;
        if rect.width() > 50.0
            && rect.height() > 50.0
            && let Some(first) = self.first.take()
        {
            self.look = self.fitted(&first);
        }
    }

    /// Begins with a part of the boot in the picture.
    pub(crate) fn begin_with(&mut self, bounds: Bounds) {
        self.first = Some(bounds);
    }

    /// Turns the eye round its target by a pointer's way, points.
    pub(crate) fn turn(&mut self, across: f32, down: f32) {
        self.glide = None;
        self.look.yaw += across * 0.008;
        self.look.pitch = (self.look.pitch + down * 0.008).clamp(LOWEST, 1.55);
    }

    /// Moves the target across the picture by a pointer's way, points.
    pub(crate) fn pan(&mut self, across: f32, down: f32) {
        self.glide = None;
        let metres = 2.0 * self.look.distance * (OPENING / 2.0).tan() / self.rect.height().max(1.0);
        let turn = self.look.rotation();
        self.look.target += turn * Vec3::new(-across * metres, down * metres, 0.0);
        self.stay_near();
    }

    /// Keeps the target in or near the boot, so that it can't be lost and the eye stays above it.
    fn stay_near(&mut self) {
        let Some(whole) = self.whole else { return };
        let (a, b) = (scene_point(&whole.low), scene_point(&whole.high));
        let room = Vec3::new(STRAY_M, 0.0, STRAY_M);
        let (low, high) = (a.min(b) - room, a.max(b) + room + Vec3::Y * STRAY_M);
        self.look.target = self.look.target.clamp(low, high);
    }

    /// Comes nearer (below 1) or goes back (above 1), keeping what lies under `at` in place.
    pub(crate) fn zoom(&mut self, factor: f32, at: Pos2) {
        self.glide = None;
        let before = self.look.distance;
        self.look.distance = (before * factor).clamp(NEAREST_M, FARTHEST_M);
        let off = at - self.rect.center();
        let metres = 2.0 * (before - self.look.distance) * (OPENING / 2.0).tan()
            / self.rect.height().max(1.0);
        let turn = self.look.rotation();
        self.look.target += turn * Vec3::new(off.x * metres, -off.y * metres, 0.0);
        self.stay_near();
    }

    /// Glides to a named view, keeping target and distance.
    pub(crate) fn look_from(&mut self, side: Side) {
        let (yaw, pitch) = side.angles();
        self.glide_to(Look { yaw, pitch, ..self.goal() });
    }

    /// Glides to an eye that stands at a point and looks at another, both in the vehicle frame, mm.
    pub(crate) fn stand_at(&mut self, eye: &Point, target: &Point) {
        let way = scene_point(target) - scene_point(eye);
        let distance = way.length().clamp(NEAREST_M, FARTHEST_M);
        let yaw = (-way.x).atan2(way.z);
        let pitch = (-way.y / way.length().max(1e-6)).asin().clamp(LOWEST, 1.55);
        self.glide_to(Look { target: scene_point(target), yaw, pitch, distance });
    }

    /// Goes round the target by an angle, radians.
    pub(crate) fn spin(&mut self, by: f32) {
        if self.glide.is_none() {
            self.look.yaw += by;
        }
    }

    /// Glides until everything is in the picture.
    pub(crate) fn frame_all(&mut self) {
        if let Some(whole) = self.whole {
            self.frame(&whole);
        }
    }

    /// Glides until a box, vehicle frame, mm, fills the picture.
    pub(crate) fn frame(&mut self, bounds: &Bounds) {
        let look = self.fitted(bounds);
        self.glide_to(look);
    }

    /// Glides to a place, coming nearer when far.
    pub(crate) fn go_to(&mut self, at: &Point) {
        let goal = self.goal();
        self.glide_to(Look { target: scene_point(at), distance: goal.distance.min(0.9), ..goal });
    }

    /// Ends a glide at once.
    #[cfg(test)]
    pub(crate) fn jump(&mut self) {
        if let Some((_, to, _)) = self.glide.take() {
            self.look = to;
        }
    }

    /// The goal's way of looking, from so far that a box just fits.
    fn fitted(&self, bounds: &Bounds) -> Look {
        let goal = self.goal();
        let back = goal.rotation().inverse();
        let target = scene_point(&bounds.centre());
        let high = (OPENING / 2.0).tan() * 0.9;
        let wide = high * self.rect.width().max(1.0) / self.rect.height().max(1.0);
        let (low, top) = (bounds.low, bounds.high);
        let mut distance = 0.05_f32;
        for x in [low.x, top.x] {
            for y in [low.y, top.y] {
                for z in [low.z, top.z] {
                    let seen = back * (scene_point(&Point::new(x, y, z)) - target);
                    let needed = (seen.x.abs() / wide).max(seen.y.abs() / high) + seen.z;
                    distance = distance.max(needed);
                }
            }
        }
        Look { target, distance: distance.clamp(NEAREST_M, FARTHEST_M), ..goal }
    }

    fn goal(&self) -> Look {
        self.glide.map_or(self.look, |(_, to, _)| to)
    }

    fn glide_to(&mut self, to: Look) {
        self.glide = Some((self.look, to, 0.0));
    }

    /// Whether the eye is on its way.
    pub(crate) fn gliding(&self) -> bool {
        self.glide.is_some()
    }

    /// Where a point, vehicle frame, mm, is seen in the window; none when behind the eye.
    pub fn screen(&self, point: &Point) -> Option<Pos2> {
        let seen = self.look.rotation().inverse() * (scene_point(point) - self.look.position());
        if seen.z > -0.01 {
            return None;
        }
        let half = self.rect.height() / 2.0 / (OPENING / 2.0).tan();
        let middle = self.rect.center();
        Some(Pos2::new(middle.x + half * seen.x / -seen.z, middle.y - half * seen.y / -seen.z))
    }

    /// The ray from the eye through a place in the window: from where, mm, and which way.
    pub fn ray(&self, at: Pos2) -> (Point, Vector) {
        let half = self.rect.height().max(1.0) / 2.0 / (OPENING / 2.0).tan();
        let off = (at - self.rect.center()) / half;
        let way = self.look.rotation() * Vec3::new(off.x, -off.y, -1.0);
        (vehicle_point(self.look.position()), vehicle_direction(way.normalize()))
    }

    /// Radius of the yaw ring as drawn round a point, mm.
    pub fn ring_radius_mm(&self, at: &Point) -> f64 {
        self.mm_per_point(at) * super::grip::HANDLE * 0.8
    }

    /// Where the eye is, vehicle frame, mm.
    pub(crate) fn eye(&self) -> Point {
        vehicle_point(self.look.position())
    }

    /// How many mm of the boot one point of the window covers at a place.
    pub(crate) fn mm_per_point(&self, at: &Point) -> f64 {
        let away = self.look.rotation().inverse() * (scene_point(at) - self.look.position());
        let half = self.rect.height().max(1.0) / 2.0 / (OPENING / 2.0).tan();
        f64::from((-away.z).max(0.01) / half) * 1000.0
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, (glide, follow).chain().in_set(OrbitSystems));
}

fn glide(mut orbit: ResMut<Orbit>, time: Res<Time>, mut redraw: MessageWriter<RequestRedraw>) {
    let Some((from, to, gone)) = orbit.glide else { return };
    // A slow machine still takes a few steps, so that the eye sees which way it goes.
    let gone = (gone + time.delta_secs().min(0.08) / GLIDE_S).min(1.0);
    orbit.look = Look::between(&from, &to, gone * gone * (3.0 - 2.0 * gone));
    orbit.glide = (gone < 1.0).then_some((from, to, gone));
    redraw.write(RequestRedraw);
}

fn follow(
    orbit: Res<Orbit>,
    window: Single<&Window, With<PrimaryWindow>>,
    eye: Single<(&mut Transform, &mut Camera, &mut Projection), With<SceneEye>>,
) {
    let (mut transform, mut camera, mut projection) = eye.into_inner();
    let seen =
        Transform::from_translation(orbit.look.position()).with_rotation(orbit.look.rotation());
    if *transform != seen {
        *transform = seen;
    }
    if let Projection::Perspective(perspective) = &mut *projection {
        let near = (orbit.look.distance * 0.05).clamp(0.002, 0.05);
        if (perspective.near - near).abs() > f32::EPSILON {
            perspective.near = near;
        }
    }
    let scale = window.scale_factor();
    let most = UVec2::new(window.physical_width(), window.physical_height());
    let corner = UVec2::new(
        (orbit.rect.min.x.max(0.0) * scale).round() as u32,
        (orbit.rect.min.y.max(0.0) * scale).round() as u32,
    );
    let size = UVec2::new(
        (orbit.rect.width().max(0.0) * scale).round() as u32,
        (orbit.rect.height().max(0.0) * scale).round() as u32,
    );
    let shown =
        size.x >= 16 && size.y >= 16 && corner.x + size.x <= most.x && corner.y + size.y <= most.y;
    let viewport = shown.then(|| Viewport {
        physical_position: corner,
        physical_size: size,
        ..Viewport::default()
    });
    let same = match (&camera.viewport, &viewport) {
        (Some(a), Some(b)) => {
            a.physical_position == b.physical_position && a.physical_size == b.physical_size
        }
        (None, None) => true,
        _ => false,
    };
    if !same {
        camera.viewport = viewport;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ray_through_where_a_point_is_seen_meets_the_point() {
        let mut orbit = Orbit::seeing(None, true);
        orbit.rect = Rect::from_min_max(Pos2::new(240.0, 40.0), Pos2::new(940.0, 700.0));
        orbit.turn(60.0, -15.0);
        let point = Point::new(120.0, -80.0, 44.0);
        let seen = orbit.screen(&point).expect("it lies before the eye");
        let (from, way) = orbit.ray(seen);
        let off = (point - from) - way * way.dot(&(point - from));
        assert!(off.norm() < 0.05, "{off}");
    }

    #[test]
    fn an_eye_put_somewhere_stands_there() {
        let mut orbit = Orbit::seeing(None, true);
        orbit.rect = Rect::from_min_max(Pos2::ZERO, Pos2::new(400.0, 400.0));
        let (eye, target) = (Point::new(-500.0, 120.0, 1100.0), Point::new(300.0, -200.0, 50.0));
        orbit.stand_at(&eye, &target);
        orbit.jump();
        assert!((orbit.eye() - eye).norm() < 0.5, "{:?}", orbit.eye());
        let seen = orbit.screen(&target).expect("before the eye");
        assert!((seen - orbit.rect.center()).length() < 0.5);
    }

    #[test]
    fn from_behind_the_left_side_is_on_the_left() {
        let mut orbit = Orbit::seeing(None, true);
        orbit.rect = Rect::from_min_max(Pos2::ZERO, Pos2::new(400.0, 400.0));
        orbit.look_from(Side::Behind);
        orbit.jump();
        let left = orbit.screen(&Point::new(0.0, 200.0, 0.0)).expect("before the eye");
        let up = orbit.screen(&Point::new(0.0, 0.0, 200.0)).expect("before the eye");
        assert!(left.x < 200.0 && up.y < 200.0);
        // From the car's left, its front is on the left of the picture.
        orbit.look_from(Side::Left);
        orbit.jump();
        let front = orbit.screen(&Point::new(200.0, 0.0, 0.0)).expect("before the eye");
        assert!(front.x < 200.0);
    }
}
