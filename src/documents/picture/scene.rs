//! One picture of the boot with the pump at a spot.

use tiny_skia::Pixmap;

use super::super::parts::{BootPart, PartKind, boot_parts};
use super::camera::{Camera, View};
use super::compose::composed;
use super::faces::{Face, add_faces};
use super::labels;
use super::names::names;
use super::normals::smooth_normals;
use super::raster::Layer;
use crate::checks::{Boot, Scorecard};
use crate::geometry::Triangles;
use crate::model::{MoverKind, Point, Spot, Vector};

/// How carpets and boards are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrimShown {
    /// As the customer sees the boot.
    In,
    /// Glassy, with what lies behind it.
    SeenThrough,
    /// Left out.
    Out,
}

/// What a picture is to be like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Picture {
    /// Width, pixels: 64 to 4096.
    pub width: u32,
    /// Height, pixels: 64 to 4096.
    pub height: u32,
    /// Where it is taken from.
    pub view: View,
    /// How carpets and boards are shown.
    pub trim: TrimShown,
    /// Whether names are written beside it.
    pub labels: bool,
    /// Height of the names as a share of the picture's; with large ones only what matters most is named.
    pub label_share: f64,
    /// Whether water that stands with the drains as found is shown.
    pub water: bool,
}

impl Default for Picture {
    fn default() -> Self {
        Picture {
            width: 1600,
            height: 1000,
            view: View::Behind,
            trim: TrimShown::SeenThrough,
            labels: true,
            label_share: 1.0 / 42.0,
            water: true,
        }
    }
}

/// Pixels along one of the picture's to begin with; four of them make one of the picture.
pub(super) const FINER: usize = 2;

/// A PNG file of the boot with the pump at a spot, as `card` scored it; none when the size is not
/// within 64 to 4096 pixels or there is nothing to show.
///
/// Method: the nearest surface of each of four parts of a pixel, by a depth buffer; two lights; shade
/// in corners within 70 mm; drawn edges. The same input gives the same bytes. The boot lid is left
/// out, for it hides the boot; with glassy trim and in the close view, what hides more than a tenth of
/// the pump is glassy too. Cost: grows with pixels and triangles.
pub fn picture(boot: &Boot, spot: &Spot, card: &Scorecard, wanted: &Picture) -> Option<Vec<u8>> {
    let sound = |side: u32| (64..=4096).contains(&side);
    if !sound(wanted.width) || !sound(wanted.height) {
        return None;
    }
    let pose = spot.place.pose();
    let parts: Vec<Drawn> = boot_parts(boot, spot, card)
        .into_iter()
        .filter(|part| part.kind != PartKind::Mover(MoverKind::Lid))
        .filter(|part| wanted.water || part.kind != PartKind::Water)
        .filter(|part| wanted.trim != TrimShown::Out || !matches!(part.kind, PartKind::Trim(_)))
        .map(|part| {
            let surface = part.in_boot(&pose);
            Drawn { normals: smooth_normals(&surface), surface, part }
        })
        .collect();
    let aspect = f64::from(wanted.width) / f64::from(wanted.height);
    let camera = camera(&parts, wanted.view, aspect, wanted.labels)?;
    let glassy = wanted.view == View::Close || wanted.trim == TrimShown::SeenThrough;
    let ghosts = if glassy { hiders(&parts, &camera) } else { Vec::new() };
    let (width, height) = (wanted.width as usize * FINER, wanted.height as usize * FINER);
    let depth_of = |index: usize, drawn: &Drawn| match drawn.part.kind {
        PartKind::Water => 1,
        PartKind::Trim(_) if wanted.trim == TrimShown::SeenThrough => 2,
        _ if ghosts.contains(&index) => 2,
        _ => 0,
    };
    let mut layers: Vec<Layer> = Vec::new();
    for wanted_depth in 0..3 {
        let shown = |index: usize, drawn: &Drawn| depth_of(index, drawn) == wanted_depth;
        let faces = faces(&parts, &camera, (width, height), shown);
        layers.push(Layer::of((width, height), &camera, &faces, layers.first()));
    }
    let mut map = composed(&parts, &layers, &camera)?;
    if wanted.labels {
        let size = f64::from(wanted.height) * wanted.label_share.clamp(0.01, 0.1);
        let labels = names(boot, spot, card, &camera, &layers[0], wanted);
        labels::write(&mut map, &labels, size as f32);
    }
    written(&map)
}

/// A picture as a PNG file without transparency, for nothing in it can be seen through.
fn written(map: &Pixmap) -> Option<Vec<u8>> {
    let pixels: Vec<u8> =
        map.pixels().iter().flat_map(|pixel| [pixel.red(), pixel.green(), pixel.blue()]).collect();
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, map.width(), map.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(&pixels).ok()?;
    writer.finish().ok()?;
    Some(file)
}

/// A part as it stands in the boot.
pub(super) struct Drawn {
    pub(super) part: BootPart,
    surface: Triangles,
    normals: Vec<[Vector; 3]>,
}

impl Drawn {
    fn of_pump(&self) -> bool {
        matches!(self.part.kind, PartKind::Pump(_))
    }
}

fn camera(parts: &[Drawn], view: View, aspect: f64, labels: bool) -> Option<Camera> {
    let margin = if labels { 0.16 } else { 0.06 };
    let points_of = |wanted: &dyn Fn(&Drawn) -> bool| -> Vec<Point> {
        let chosen = parts.iter().filter(|drawn| wanted(drawn));
        chosen.flat_map(|drawn| drawn.surface.vertices.iter().copied()).collect()
    };
    if view != View::Close {
        let shown = |drawn: &Drawn| !matches!(drawn.part.kind, PartKind::Mover(_));
        return Camera::holding(&points_of(&shown), &view.towards_eye(), aspect, margin);
    }
    let pump = points_of(&Drawn::of_pump);
    let middle = crate::geometry::Bounds::of(pump.iter())?.centre();
    // The pump with some of what is round it.
    let around: Vec<Point> = pump.iter().map(|point| middle + (point - middle) * 1.35).collect();
    let mut best: Option<(usize, Camera)> = None;
    for up in [0.75, 1.1, 0.45] {
        for turn in [0.0, 30.0, -30.0, 60.0, -60.0, 90.0, -90.0] {
            let angle = f64::to_radians(turn);
            let towards = Vector::new(-angle.cos(), angle.sin(), up);
            let camera = Camera::holding(&around, &towards, aspect, margin)?;
            let seen = pump_seen(parts, &camera);
            // Another direction must show clearly more to be taken.
            if best.as_ref().is_none_or(|(most, _)| seen > most + most / 8) {
                best = Some((seen, camera));
            }
        }
    }
    best.map(|(_, camera)| camera)
}

/// The faces of what is shown, each with its part's number from 1.
fn faces(
    parts: &[Drawn],
    camera: &Camera,
    size: (usize, usize),
    shown: impl Fn(usize, &Drawn) -> bool,
) -> Vec<Face> {
    let mut faces = Vec::new();
    for (index, drawn) in parts.iter().enumerate().filter(|(index, drawn)| shown(*index, drawn)) {
        let number = u16::try_from(index + 1).unwrap_or(u16::MAX);
        add_faces(&mut faces, camera, size, &drawn.surface, &drawn.normals, number);
    }
    faces
}

/// A small picture for counting: which part stands in each of its pixels.
fn thumbnail(parts: &[Drawn], camera: &Camera, shown: impl Fn(&Drawn) -> bool) -> Layer {
    const SIZE: (usize, usize) = (96, 60);
    let faces = faces(parts, camera, SIZE, |_, drawn| shown(drawn));
    Layer::of(SIZE, camera, &faces, None)
}

fn opaque(drawn: &Drawn) -> bool {
    !matches!(drawn.part.kind, PartKind::Trim(_) | PartKind::Water)
}

fn pump_seen(parts: &[Drawn], camera: &Camera) -> usize {
    let layer = thumbnail(parts, camera, opaque);
    let of_pump = |number: &&u16| **number > 0 && parts[usize::from(**number) - 1].of_pump();
    layer.part.iter().filter(of_pump).count()
}

/// The parts that hide more than a tenth of the pump.
fn hiders(parts: &[Drawn], camera: &Camera) -> Vec<usize> {
    let alone = thumbnail(parts, camera, Drawn::of_pump);
    let all = thumbnail(parts, camera, opaque);
    let whole = alone.part.iter().filter(|number| **number > 0).count();
    let mut hidden = vec![0_usize; parts.len() + 1];
    for (pump, number) in alone.part.iter().zip(&all.part) {
        if *pump > 0 && *number > 0 && !parts[usize::from(*number) - 1].of_pump() {
            hidden[usize::from(*number)] += 1;
        }
    }
    let line = |index: usize| matches!(parts[index].part.kind, PartKind::Line | PartKind::Fixing);
    (0..parts.len()).filter(|index| hidden[index + 1] * 10 > whole && !line(*index)).collect()
}
