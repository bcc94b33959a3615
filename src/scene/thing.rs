//! One measured thing of any kind, taken out of the layout's lists and put back.

use std::collections::BTreeSet;

use super::mirror;
use crate::model::{
    Anchor, AnchorKind, Axis, Body, Car, Drain, Exit, Layout, Leak, Line, LineKind, Motion, Mover,
    MoverKind, Opening, OpeningOutline, OptionModule, Place, Point, Ram, Role, Shape, TapeEdge,
    Trim, TrimKind, Unbolt, Vector, Viewpoint,
};

/// The kinds of thing that a layout lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// What only some cars have.
    Option,
    /// A rigid thing.
    Body,
    /// A carpet or board.
    Trim,
    /// Something that moves.
    Mover,
    /// A way out for water.
    Drain,
    /// A way in for water.
    Leak,
    /// A place that can hold.
    Anchor,
    /// A hose, cable or cord.
    Line,
    /// A ram of the roof.
    Ram,
    /// An eye.
    Viewpoint,
    /// A solid of the luggage space.
    Space,
    /// What holds of every car's options.
    Rule,
    /// A car as the workshop meets it.
    Car,
    /// An opening that a closing panel is cut for.
    Opening,
    /// An edge that a tape is laid against.
    Edge,
    /// A body that can be unbolted and fitted again elsewhere.
    Unbolt,
}

impl Kind {
    /// All of them, in the order in which a boot is measured in.
    pub const ALL: [Kind; 16] = [
        Kind::Body,
        Kind::Mover,
        Kind::Trim,
        Kind::Option,
        Kind::Drain,
        Kind::Leak,
        Kind::Anchor,
        Kind::Line,
        Kind::Ram,
        Kind::Viewpoint,
        Kind::Space,
        Kind::Rule,
        Kind::Car,
        Kind::Opening,
        Kind::Edge,
        Kind::Unbolt,
    ];

    /// The list's heading.
    pub fn plural(self) -> &'static str {
        match self {
            Kind::Option => "Options",
            Kind::Body => "Bodies",
            Kind::Trim => "Carpet and boards",
            Kind::Mover => "Moving parts",
            Kind::Drain => "Drains",
            Kind::Leak => "Leak points",
            Kind::Anchor => "Anchors",
            Kind::Line => "Hoses and cables",
            Kind::Ram => "Rams",
            Kind::Viewpoint => "Viewpoints",
            Kind::Space => "Luggage space",
            Kind::Rule => "Rules over options",
            Kind::Car => "Cars",
            Kind::Opening => "Openings for a panel",
            Kind::Edge => "Edges for the tape",
            Kind::Unbolt => "What can be unbolted",
        }
    }

    /// One of them.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Option => "option",
            Kind::Body => "body",
            Kind::Trim => "carpet or board",
            Kind::Mover => "moving part",
            Kind::Drain => "drain",
            Kind::Leak => "leak point",
            Kind::Anchor => "anchor",
            Kind::Line => "hose or cable",
            Kind::Ram => "ram",
            Kind::Viewpoint => "viewpoint",
            Kind::Space => "luggage solid",
            Kind::Rule => "rule over options",
            Kind::Car => "car",
            Kind::Opening => "opening for a panel",
            Kind::Edge => "edge for the tape",
            Kind::Unbolt => "thing to unbolt",
        }
    }

    /// How many of them a layout lists.
    pub fn count(self, layout: &Layout) -> usize {
        match self {
            Kind::Option => layout.options.len(),
            Kind::Body => layout.bodies.len(),
            Kind::Trim => layout.trims.len(),
            Kind::Mover => layout.movers.len(),
            Kind::Drain => layout.drains.len(),
            Kind::Leak => layout.leaks.len(),
            Kind::Anchor => layout.anchors.len(),
            Kind::Line => layout.lines.len(),
            Kind::Ram => layout.rams.len(),
            Kind::Viewpoint => layout.viewpoints.len(),
            Kind::Space => layout.boot_space.len(),
            Kind::Rule => layout.option_rules.len(),
            Kind::Car => layout.cars.len(),
            Kind::Opening => layout.openings.len(),
            Kind::Edge => layout.handover.tape_edges.len(),
            Kind::Unbolt => layout.handover.unbolt.len(),
        }
    }

    /// Whether things of this kind lie somewhere in the boot.
    pub fn in_the_boot(self) -> bool {
        !matches!(
            self,
            Kind::Option | Kind::Ram | Kind::Rule | Kind::Car | Kind::Edge | Kind::Unbolt
        )
    }
}

/// What a new thing may need to know of the layout that it comes into.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// A port of the pump, for a line.
    pub port: String,
    /// A body, for one that can be unbolted.
    pub body: String,
    /// An option, for a rule.
    pub option: String,
}

impl Known {
    /// The first body that could be unbolted and the first option of a layout, with a port of the pump.
    pub fn of(layout: &Layout, port: &str) -> Known {
        let loose = |body: &&Body| {
            matches!(body.role, Role::Module | Role::Bracket | Role::Loom | Role::Other)
                && layout.handover.unbolt.iter().all(|known| known.body != body.name)
        };
        let body = layout.bodies.iter().find(loose).or(layout.bodies.first());
        Known {
            port: port.to_string(),
            body: body.map_or_else(String::new, |body| body.name.clone()),
            option: layout.options.first().map_or_else(String::new, |option| option.name.clone()),
        }
    }
}

/// One thing.
#[derive(Debug, Clone, PartialEq)]
pub enum Thing {
    /// What only some cars have.
    Option(OptionModule),
    /// A rigid thing.
    Body(Body),
    /// A carpet or board.
    Trim(Trim),
    /// Something that moves.
    Mover(Mover),
    /// A way out for water.
    Drain(Drain),
    /// A way in for water.
    Leak(Leak),
    /// A place that can hold.
    Anchor(Anchor),
    /// A hose, cable or cord.
    Line(Line),
    /// A ram of the roof.
    Ram(Ram),
    /// An eye.
    Viewpoint(Viewpoint),
    /// A solid of the luggage space.
    Space(Shape),
    /// What holds of every car's options.
    Rule(String),
    /// A car as the workshop meets it.
    Car(Car),
    /// An opening that a closing panel is cut for.
    Opening(Opening),
    /// An edge that a tape is laid against.
    Edge(TapeEdge),
    /// A body that can be unbolted and fitted again elsewhere.
    Unbolt(Unbolt),
}

impl Thing {
    /// The thing at a place of a list.
    pub fn get(layout: &Layout, kind: Kind, index: usize) -> Option<Thing> {
        Some(match kind {
            Kind::Option => Thing::Option(layout.options.get(index)?.clone()),
            Kind::Body => Thing::Body(layout.bodies.get(index)?.clone()),
            Kind::Trim => Thing::Trim(layout.trims.get(index)?.clone()),
            Kind::Mover => Thing::Mover(layout.movers.get(index)?.clone()),
            Kind::Drain => Thing::Drain(layout.drains.get(index)?.clone()),
            Kind::Leak => Thing::Leak(layout.leaks.get(index)?.clone()),
            Kind::Anchor => Thing::Anchor(layout.anchors.get(index)?.clone()),
            Kind::Line => Thing::Line(layout.lines.get(index)?.clone()),
            Kind::Ram => Thing::Ram(layout.rams.get(index)?.clone()),
            Kind::Viewpoint => Thing::Viewpoint(layout.viewpoints.get(index)?.clone()),
            Kind::Space => Thing::Space(layout.boot_space.get(index)?.clone()),
            Kind::Rule => Thing::Rule(layout.option_rules.get(index)?.clone()),
            Kind::Car => Thing::Car(layout.cars.get(index)?.clone()),
            Kind::Opening => Thing::Opening(layout.openings.get(index)?.clone()),
            Kind::Edge => Thing::Edge(layout.handover.tape_edges.get(index)?.clone()),
            Kind::Unbolt => Thing::Unbolt(layout.handover.unbolt.get(index)?.clone()),
        })
    }

    /// Its kind.
    pub fn kind(&self) -> Kind {
        match self {
            Thing::Option(_) => Kind::Option,
            Thing::Body(_) => Kind::Body,
            Thing::Trim(_) => Kind::Trim,
            Thing::Mover(_) => Kind::Mover,
            Thing::Drain(_) => Kind::Drain,
            Thing::Leak(_) => Kind::Leak,
            Thing::Anchor(_) => Kind::Anchor,
            Thing::Line(_) => Kind::Line,
            Thing::Ram(_) => Kind::Ram,
            Thing::Viewpoint(_) => Kind::Viewpoint,
            Thing::Space(_) => Kind::Space,
            Thing::Rule(_) => Kind::Rule,
            Thing::Car(_) => Kind::Car,
            Thing::Opening(_) => Kind::Opening,
            Thing::Edge(_) => Kind::Edge,
            Thing::Unbolt(_) => Kind::Unbolt,
        }
    }

    /// What it is called in a list: its name, what it says, or its number.
    pub fn title(&self, index: usize) -> String {
        match self {
            Thing::Rule(rule) => rule.clone(),
            Thing::Unbolt(unbolt) => unbolt.body.clone(),
            _ => self.name().map_or_else(|| format!("solid {}", index + 1), str::to_string),
        }
    }

    /// What the workshop calls it; solids of the luggage space, rules and what can be unbolted have no
    /// name of their own.
    pub fn name(&self) -> Option<&str> {
        match self {
            Thing::Option(thing) => Some(&thing.name),
            Thing::Body(thing) => Some(&thing.name),
            Thing::Trim(thing) => Some(&thing.name),
            Thing::Mover(thing) => Some(&thing.name),
            Thing::Drain(thing) => Some(&thing.name),
            Thing::Leak(thing) => Some(&thing.name),
            Thing::Anchor(thing) => Some(&thing.name),
            Thing::Line(thing) => Some(&thing.name),
            Thing::Ram(thing) => Some(&thing.name),
            Thing::Viewpoint(thing) => Some(&thing.name),
            Thing::Car(thing) => Some(&thing.name),
            Thing::Opening(thing) => Some(&thing.name),
            Thing::Edge(thing) => Some(&thing.name),
            Thing::Space(_) | Thing::Rule(_) | Thing::Unbolt(_) => None,
        }
    }

    /// Its name, to be changed.
    pub fn name_mut(&mut self) -> Option<&mut String> {
        match self {
            Thing::Option(thing) => Some(&mut thing.name),
            Thing::Body(thing) => Some(&mut thing.name),
            Thing::Trim(thing) => Some(&mut thing.name),
            Thing::Mover(thing) => Some(&mut thing.name),
            Thing::Drain(thing) => Some(&mut thing.name),
            Thing::Leak(thing) => Some(&mut thing.name),
            Thing::Anchor(thing) => Some(&mut thing.name),
            Thing::Line(thing) => Some(&mut thing.name),
            Thing::Ram(thing) => Some(&mut thing.name),
            Thing::Viewpoint(thing) => Some(&mut thing.name),
            Thing::Car(thing) => Some(&mut thing.name),
            Thing::Opening(thing) => Some(&mut thing.name),
            Thing::Edge(thing) => Some(&mut thing.name),
            Thing::Space(_) | Thing::Rule(_) | Thing::Unbolt(_) => None,
        }
    }

    /// Puts it at the end of its list and gives its index.
    pub fn add_to(self, layout: &mut Layout) -> usize {
        let index = self.kind().count(layout);
        match self {
            Thing::Option(thing) => layout.options.push(thing),
            Thing::Body(thing) => layout.bodies.push(thing),
            Thing::Trim(thing) => layout.trims.push(thing),
            Thing::Mover(thing) => layout.movers.push(thing),
            Thing::Drain(thing) => layout.drains.push(thing),
            Thing::Leak(thing) => layout.leaks.push(thing),
            Thing::Anchor(thing) => layout.anchors.push(thing),
            Thing::Line(thing) => layout.lines.push(thing),
            Thing::Ram(thing) => layout.rams.push(thing),
            Thing::Viewpoint(thing) => layout.viewpoints.push(thing),
            Thing::Space(thing) => layout.boot_space.push(thing),
            Thing::Rule(thing) => layout.option_rules.push(thing),
            Thing::Car(thing) => layout.cars.push(thing),
            Thing::Opening(thing) => layout.openings.push(thing),
            Thing::Edge(thing) => layout.handover.tape_edges.push(thing),
            Thing::Unbolt(thing) => layout.handover.unbolt.push(thing),
        }
        index
    }

    /// Puts it in the place of the thing at `index`; what names it by its old name follows.
    pub fn put_into(self, layout: &mut Layout, index: usize) {
        let old = Thing::get(layout, self.kind(), index);
        let old_name = old.as_ref().and_then(Thing::name).map(str::to_string);
        if let (Some(old), Some(new)) = (old_name, self.name().map(str::to_string))
            && old != new
        {
            follow_name(layout, self.kind(), &old, &new);
        }
        match self {
            Thing::Option(thing) => set(&mut layout.options, index, thing),
            Thing::Body(thing) => set(&mut layout.bodies, index, thing),
            Thing::Trim(thing) => set(&mut layout.trims, index, thing),
            Thing::Mover(thing) => set(&mut layout.movers, index, thing),
            Thing::Drain(thing) => set(&mut layout.drains, index, thing),
            Thing::Leak(thing) => set(&mut layout.leaks, index, thing),
            Thing::Anchor(thing) => set(&mut layout.anchors, index, thing),
            Thing::Line(thing) => set(&mut layout.lines, index, thing),
            Thing::Ram(thing) => set(&mut layout.rams, index, thing),
            Thing::Viewpoint(thing) => set(&mut layout.viewpoints, index, thing),
            Thing::Space(thing) => set(&mut layout.boot_space, index, thing),
            Thing::Rule(thing) => set(&mut layout.option_rules, index, thing),
            Thing::Car(thing) => set(&mut layout.cars, index, thing),
            Thing::Opening(thing) => set(&mut layout.openings, index, thing),
            Thing::Edge(thing) => set(&mut layout.handover.tape_edges, index, thing),
            Thing::Unbolt(thing) => set(&mut layout.handover.unbolt, index, thing),
        }
    }

    /// Takes the thing at `index` out; fixings that go to an anchor that is gone go with it, and what
    /// an option brought stays, on every car.
    pub fn take_out(layout: &mut Layout, kind: Kind, index: usize) {
        if index >= kind.count(layout) {
            return;
        }
        match kind {
            Kind::Option => {
                let gone = layout.options.remove(index).name;
                layout.cars.iter_mut().for_each(|car| car.options.retain(|name| *name != gone));
                options_mut(layout).for_each(|option| {
                    if option.as_ref() == Some(&gone) {
                        *option = None;
                    }
                });
            }
            Kind::Body => {
                let gone = layout.bodies.remove(index).name;
                layout.handover.unbolt.retain(|unbolt| unbolt.body != gone);
            }
            Kind::Trim => drop(layout.trims.remove(index)),
            Kind::Mover => {
                let gone = layout.movers.remove(index).name;
                for mover in &mut layout.movers {
                    if mover.driven.as_ref().is_some_and(|drive| drive.by == gone) {
                        mover.driven = None;
                    }
                }
            }
            Kind::Drain => drop(layout.drains.remove(index)),
            Kind::Leak => drop(layout.leaks.remove(index)),
            Kind::Anchor => {
                let gone = layout.anchors.remove(index).name;
                for spot in &mut layout.spots {
                    spot.fixings.retain(|fixing| fixing.anchor != gone);
                }
            }
            Kind::Line => drop(layout.lines.remove(index)),
            Kind::Ram => drop(layout.rams.remove(index)),
            Kind::Viewpoint => drop(layout.viewpoints.remove(index)),
            Kind::Space => drop(layout.boot_space.remove(index)),
            Kind::Rule => drop(layout.option_rules.remove(index)),
            Kind::Car => drop(layout.cars.remove(index)),
            Kind::Opening => drop(layout.openings.remove(index)),
            Kind::Edge => drop(layout.handover.tape_edges.remove(index)),
            Kind::Unbolt => drop(layout.handover.unbolt.remove(index)),
        }
    }

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

    /// Gives it a name that no other of its kind has.
    pub fn call_apart(&mut self, layout: &Layout) {
        let kind = self.kind();
        let taken: BTreeSet<String> = (0..kind.count(layout))
            .filter_map(|index| Thing::get(layout, kind, index)?.name().map(str::to_string))
            .collect();
        let Some(name) = self.name_mut() else { return };
        if !taken.contains(name) {
            return;
        }
        let stem = name.trim_end_matches(|letter: char| letter.is_ascii_digit()).trim_end();
        let stem = if stem.is_empty() { name.as_str() } else { stem };
        let free = (2_u32..).map(|number| format!("{stem} {number}"));
        if let Some(free) = free.into_iter().find(|free| !taken.contains(free)) {
            *name = free;
        }
    }

    /// A new thing of a kind, near a point, with figures of a usual size to be typed over. Sizes are
    /// common practice, no source.
    pub fn new(kind: Kind, near: Point, known: &Known) -> Thing {
        let round = |value: f64| (value / 10.0).round() * 10.0;
        let at = near.map(round);
        let cube = Shape::Box { from: at, to: at + Vector::new(100.0, 80.0, 60.0) };
        match kind {
            Kind::Option => {
                Thing::Option(OptionModule { fitted: true, ..OptionModule::called("new option") })
            }
            Kind::Body => Thing::Body(body("new body", Role::Other, cube)),
            Kind::Trim => Thing::Trim(Trim {
                name: "new board".into(),
                kind: TrimKind::Board,
                faces: vec![flat(at, 300.0, 200.0)],
                thickness_mm: 4.0,
                give_mm: 0.0,
                option: None,
            }),
            Kind::Mover => Thing::Mover(Mover {
                name: "new hinge arm".into(),
                kind: MoverKind::Hinge,
                shapes: vec![Shape::Box { from: at, to: at + Vector::new(200.0, 20.0, 25.0) }],
                motion: Motion::Swing {
                    through: at,
                    along: Vector::y(),
                    from_deg: 0.0,
                    to_deg: -80.0,
                },
                driven: None,
                option: None,
                tolerance_mm: None,
            }),
            Kind::Drain => Thing::Drain(Drain {
                name: "new drain".into(),
                at,
                diameter_mm: 14.0,
                blocked: false,
            }),
            Kind::Leak => Thing::Leak(Leak { name: "new leak point".into(), at, rate_l_min: None }),
            Kind::Anchor => Thing::Anchor(Anchor {
                name: "new stud".into(),
                kind: AnchorKind::Stud { thread_mm: 6.0 },
                at,
                normal: Vector::z(),
                strength_n: 500.0,
                free_mm: None,
                hot_c: None,
                option: None,
            }),
            Kind::Line => Thing::Line(Line {
                name: "new hose".into(),
                kind: LineKind::Hose,
                from: Exit { at, towards: Vector::z() },
                to: known.port.clone(),
                free_mm: 500.0,
                od_mm: 8.0,
                bore_mm: None,
                bend_mm: 40.0,
                bend_rule: crate::model::BendRule::Inside,
                lead_mm: None,
                option: None,
                bundle: None,
                clips: Vec::new(),
                pull: None,
                measured: None,
            }),
            Kind::Ram => Thing::Ram(Ram {
                name: "new ram".into(),
                bore_mm: None,
                rod_mm: 10.0,
                stroke_mm: 200.0,
                count: 2,
            }),
            Kind::Viewpoint => Thing::Viewpoint(Viewpoint {
                name: "standing behind the car".into(),
                at: Point::new(-600.0, 0.0, 1000.0),
            }),
            Kind::Space => {
                let to = at + Vector::new(500.0, 600.0, 300.0);
                Thing::Space(Shape::Box { from: at, to })
            }
            // Holds of every car until it is typed over.
            Kind::Rule => Thing::Rule(format!("{0} or not {0}", quoted(&known.option))),
            Kind::Car => Thing::Car(Car { name: "new car".into(), options: Vec::new() }),
            Kind::Opening => Thing::Opening(Opening {
                name: "new opening".into(),
                // Upright, its face to the rear.
                place: Place { at, turn_deg: (90.0, 0.0, -90.0) },
                outline: OpeningOutline::Measured(vec![
                    (0.0, 0.0),
                    (240.0, 0.0),
                    (240.0, 160.0),
                    (0.0, 160.0),
                ]),
                carpet_mm: 0.0,
                fit_mm: 0.0,
                notch: None,
                grain_deg: 0.0,
                relief_mm: 3.0,
            }),
            Kind::Edge => Thing::Edge(TapeEdge {
                name: "the rear sill's inner edge".into(),
                axis: Axis::X,
                at_mm: 0.0,
            }),
            Kind::Unbolt => Thing::Unbolt(Unbolt {
                body: known.body.clone(),
                how: "nuts and plugs, as found".into(),
                refit: None,
                refit_words: "outside the boot".into(),
            }),
        }
    }
}

/// A body as measured, on every car.
pub(crate) fn body(name: &str, role: Role, shape: Shape) -> Body {
    Body {
        name: name.into(),
        role,
        shape,
        place: Place::default(),
        option: None,
        skin: None,
        sharp: false,
        tolerance_mm: None,
        note: String::new(),
    }
}

/// A name as a rule takes it: in quotes when a word of it means something there.
fn quoted(name: &str) -> String {
    let meant = |word: &str| matches!(word, "and" | "or" | "not");
    if name.split_whitespace().any(meant) || name.contains(['(', ')']) {
        format!("'{name}'")
    } else {
        name.to_string()
    }
}

/// A level face, counter-clockwise as seen from above.
fn flat(at: Point, long_mm: f64, wide_mm: f64) -> Vec<Point> {
    [(0.0, 0.0), (long_mm, 0.0), (long_mm, wide_mm), (0.0, wide_mm)]
        .into_iter()
        .map(|(x, y)| at + Vector::new(x, y, 0.0))
        .collect()
}

fn mean<'a>(points: impl Iterator<Item = &'a Point>) -> Option<Point> {
    let (mut sum, mut count) = (Vector::zeros(), 0.0);
    for point in points {
        sum += point.coords;
        count += 1.0;
    }
    (count > 0.0).then(|| Point::from(sum / count))
}

fn set<T>(list: &mut [T], index: usize, thing: T) {
    if let Some(place) = list.get_mut(index) {
        *place = thing;
    }
}

fn options_mut(layout: &mut Layout) -> impl Iterator<Item = &mut Option<String>> {
    let bodies = layout.bodies.iter_mut().map(|thing| &mut thing.option);
    let trims = layout.trims.iter_mut().map(|thing| &mut thing.option);
    let movers = layout.movers.iter_mut().map(|thing| &mut thing.option);
    let anchors = layout.anchors.iter_mut().map(|thing| &mut thing.option);
    let lines = layout.lines.iter_mut().map(|thing| &mut thing.option);
    bodies.chain(trims).chain(movers).chain(anchors).chain(lines)
}

fn follow_name(layout: &mut Layout, kind: Kind, old: &str, new: &str) {
    match kind {
        Kind::Option => {
            for option in options_mut(layout).flatten() {
                *option = renamed_in_rule(option, old, new);
            }
            for rule in &mut layout.option_rules {
                *rule = renamed_in_rule(rule, old, new);
            }
            for name in layout.cars.iter_mut().flat_map(|car| &mut car.options) {
                if name == old {
                    *name = new.to_string();
                }
            }
        }
        Kind::Mover => {
            for drive in layout.movers.iter_mut().filter_map(|mover| mover.driven.as_mut()) {
                if drive.by == old {
                    drive.by = new.to_string();
                }
            }
        }
        Kind::Body => {
            for unbolt in &mut layout.handover.unbolt {
                if unbolt.body == old {
                    unbolt.body = new.to_string();
                }
            }
        }
        Kind::Anchor => {
            for fixing in layout.spots.iter_mut().flat_map(|spot| &mut spot.fixings) {
                if fixing.anchor == old {
                    fixing.anchor = new.to_string();
                }
            }
        }
        _ => {}
    }
}

/// A rule over options with one of them called something else: the whole rule, or where the name stands
/// as words of its own. A rule that then can't be read is refused with the layout, and that is said.
fn renamed_in_rule(rule: &str, old: &str, new: &str) -> String {
    if rule == old {
        return new.to_string();
    }
    let mut out = String::new();
    let mut rest = rule;
    while let Some(at) = rest.find(old) {
        let (before, after) = (&rest[..at], &rest[at + old.len()..]);
        let bound = |letter: Option<char>| letter.is_none_or(|letter| !letter.is_alphanumeric());
        out.push_str(before);
        let own = bound(before.chars().next_back()) && bound(after.chars().next());
        out.push_str(if own { new } else { old });
        rest = after;
    }
    out.push_str(rest);
    out
}

/// An axis in words.
pub(crate) fn axis_words(axis: Axis) -> &'static str {
    match axis {
        Axis::X => "forward (x)",
        Axis::Y => "left (y)",
        Axis::Z => "up (z)",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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

    #[test]
    fn what_names_a_thing_follows_its_new_name_and_its_end() {
        let mut layout = demo();
        let index = layout
            .anchors
            .iter()
            .position(|anchor| {
                layout.spots.iter().flat_map(|spot| &spot.fixings).any(|f| f.anchor == anchor.name)
            })
            .expect("a fixing goes to an anchor");
        let mut thing = Thing::get(&layout, Kind::Anchor, index).expect("it is listed");
        *thing.name_mut().expect("anchors have names") = "renamed".into();
        thing.put_into(&mut layout, index);
        assert!(layout.problems().is_empty());
        let goes = |layout: &Layout| {
            layout.spots.iter().flat_map(|spot| &spot.fixings).any(|f| f.anchor == "renamed")
        };
        assert!(goes(&layout));
        Thing::take_out(&mut layout, Kind::Anchor, index);
        assert!(layout.problems().is_empty() && !goes(&layout));
    }

    #[test]
    fn rules_follow_the_name_of_an_option() {
        assert_eq!(
            renamed_in_rule("amp and not amplifier", "amp", "tuner"),
            "tuner and not amplifier"
        );
        assert_eq!(renamed_in_rule("amp", "amp", "tuner"), "tuner");
        assert_eq!(renamed_in_rule("(amp)", "amp", "tuner"), "(tuner)");
    }

    #[test]
    fn every_new_thing_is_sound_and_called_apart() {
        let mut layout = demo();
        for kind in Kind::ALL {
            for _ in 0..2 {
                let known = Known::of(&layout, "port 1");
                let mut thing = Thing::new(kind, Point::new(201.0, 99.0, 12.0), &known);
                thing.call_apart(&layout);
                thing.add_to(&mut layout);
                assert!(layout.problems().is_empty(), "{kind:?}: {:?}", layout.problems());
            }
        }
    }
}
