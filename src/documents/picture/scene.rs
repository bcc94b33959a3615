//! One picture of the boot with the pump at a spot.

use tiny_skia::{Pixmap, PremultipliedColorU8};

use super::super::parts::{BootPart, PartKind, boot_parts};
use super::camera::{Camera, View};
use super::labels;
use super::names::names;
use super::raster::{Layer, smooth_normals};
use super::shade::{Light, edge, linear, lit, on_screen, openness};
use crate::checks::{Boot, Scorecard};
use crate::geometry::Triangles;
use crate::model::{MoverKind, Part, Point, Spot, Vector};

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
        let mut layer = Layer::new(width, height);
        for (index, drawn) in parts.iter().enumerate() {
            if depth_of(index, drawn) == wanted_depth {
                let number = u16::try_from(index + 1).unwrap_or(u16::MAX);
                let (surface, normals) = (&drawn.surface, &drawn.normals);
                layer.draw(&camera, surface, normals, number, layers.first());
            }
        }
        layers.push(layer);
    }
    let light = composed(&parts, &layers, &camera);
    let mut map = reduced(&light, wanted.width, wanted.height)?;
    if wanted.labels {
        let size = f64::from(wanted.height) * wanted.label_share.clamp(0.01, 0.1);
        let labels = names(boot, spot, card, &camera, &layers[0], wanted);
        labels::write(&mut map, &labels, size as f32);
    }
    map.encode_png().ok()
}

struct Drawn {
    part: BootPart,
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

/// A small picture for counting: which part stands in each of 80 × 50 pixels.
fn thumbnail(parts: &[Drawn], camera: &Camera, shown: impl Fn(&Drawn) -> bool) -> Layer {
    let mut layer = Layer::new(96, 60);
    for (index, drawn) in parts.iter().enumerate().filter(|(_, drawn)| shown(drawn)) {
        let number = u16::try_from(index + 1).unwrap_or(u16::MAX);
        layer.draw(camera, &drawn.surface, &drawn.normals, number, None);
    }
    layer
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

fn composed(parts: &[Drawn], layers: &[Layer], camera: &Camera) -> Vec<Light> {
    let [solid, water, glass] = layers else { return Vec::new() };
    // Soft shade needs no more than half the pixels each way.
    let half = solid.halved();
    let open = openness(&half, camera);
    let (width, height) = (solid.width, solid.height);
    let shadow = ground_shadow(solid);
    let colour = |number: u16| linear(parts[usize::from(number) - 1].part.colour);
    let gloss = |number: u16| match parts[usize::from(number) - 1].part.kind {
        PartKind::Pump(Part::Tank | Part::Motor | Part::Block) => 0.22,
        PartKind::Line => 0.12,
        PartKind::Trim(_) => 0.0,
        _ => 0.05,
    };
    let mut light = Vec::with_capacity(width * height);
    for y in 0..height {
        let down = y as f32 / height as f32;
        let sky = linear([0xFA, 0xFB, 0xFA]).map(|value| value * (1.0 - 0.20 * down));
        for x in 0..width {
            let pixel = y * width + x;
            let mut here = sky.map(|value| value * (1.0 - 0.42 * shadow[pixel]));
            if solid.part[pixel] > 0 {
                let number = solid.part[pixel];
                let open = openness_at(&half, &open, (x, y), solid.nearness[pixel]);
                here = lit(colour(number), solid.normal[pixel], open, gloss(number));
                here = here.map(|value| value * (1.0 - 0.72 * edge(solid, x, y)));
            }
            if water.part[pixel] > 0 {
                let over = lit(colour(water.part[pixel]), water.normal[pixel], 1.0, 0.5);
                here = mixed(here, over, 0.5);
            }
            if glass.part[pixel] > 0 {
                let number = glass.part[pixel];
                let over = lit(colour(number), glass.normal[pixel], 1.0, 0.0);
                let drawn = edge(glass, x, y);
                here = mixed(here, over, 0.36);
                here = mixed(here, over.map(|value| value * 0.35), 0.75 * drawn);
            }
            light.push(here);
        }
    }
    light
}

/// The openness of that of the four half-size pixels round a pixel which lies at the depth most like its
/// own.
fn openness_at(half: &Layer, open: &[f32], (x, y): (usize, usize), nearness: f32) -> f32 {
    let (right, down) = ((half.width - 1).min(x.div_ceil(2)), (half.height - 1).min(y.div_ceil(2)));
    let (left, up) = ((x / 2).min(half.width - 1), (y / 2).min(half.height - 1));
    [(left, up), (right, up), (left, down), (right, down)]
        .map(|(x, y)| y * half.width + x)
        .into_iter()
        .min_by(|a, b| {
            let off = |at: usize| (half.nearness[at] - nearness).abs();
            off(*a).total_cmp(&off(*b))
        })
        .map_or(1.0, |at| open[at])
}

fn mixed(under: Light, over: Light, share: f32) -> Light {
    [0, 1, 2].map(|i| under[i] + (over[i] - under[i]) * share)
}

/// The soft shade of the car on the ground behind it: its outline, moved down and blurred.
fn ground_shadow(layer: &Layer) -> Vec<f32> {
    let (width, height) = (layer.width, layer.height);
    let down = height / 28;
    let mut shade = vec![0.0_f32; width * height];
    for y in down..height {
        for x in 0..width {
            if layer.part[(y - down) * width + x] > 0 {
                shade[y * width + x] = 1.0;
            }
        }
    }
    let radius = (height / 36).max(2);
    for _ in 0..3 {
        shade = blurred(&shade, width, height, radius, 1, width);
        shade = blurred(&shade, height, width, radius, width, 1);
    }
    shade
}

/// A running mean along lines of `count` values `step` apart; `lines` lines, `next` apart.
fn blurred(
    from: &[f32],
    count: usize,
    lines: usize,
    radius: usize,
    step: usize,
    next: usize,
) -> Vec<f32> {
    let mut to = vec![0.0; from.len()];
    let whole = (2 * radius + 1) as f32;
    for line in 0..lines {
        let at = |index: usize| line * next + index * step;
        let mut sum: f32 = (0..radius.min(count)).map(|index| from[at(index)]).sum();
        for index in 0..count {
            if index + radius < count {
                sum += from[at(index + radius)];
            }
            if index > radius {
                sum -= from[at(index - radius - 1)];
            }
            to[at(index)] = sum / whole;
        }
    }
    to
}

/// The mean of each pixel's parts, as a screen shows it.
fn reduced(light: &[Light], width: u32, height: u32) -> Option<Pixmap> {
    let mut map = Pixmap::new(width, height)?;
    let row = width as usize * FINER;
    for (index, pixel) in map.pixels_mut().iter_mut().enumerate() {
        let (x, y) = (index % width as usize * FINER, index / width as usize * FINER);
        let mut sum = [0.0_f32; 3];
        for dy in 0..FINER {
            for dx in 0..FINER {
                let here = light.get((y + dy) * row + x + dx)?;
                (0..3).for_each(|i| sum[i] += here[i].clamp(0.0, 1.0));
            }
        }
        let [r, g, b] = on_screen(sum.map(|value| value / (FINER * FINER) as f32));
        *pixel = PremultipliedColorU8::from_rgba(r, g, b, 255)?;
    }
    Some(map)
}
