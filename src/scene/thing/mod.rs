//! One measured thing of any kind, taken out of the layout's lists and put back.

mod differs;
mod fresh;
mod kind;
mod lists;
mod placed;
pub(crate) mod ports;

pub(crate) use differs::difference;
pub use fresh::Known;
pub(crate) use fresh::{body, usual_cable};
pub use kind::Kind;

use crate::model::{
    Anchor, Axis, Body, Car, Drain, Layout, Leak, Line, Mover, Opening, OptionModule, Ram, Shape,
    TapeEdge, Trim, Unbolt, Viewpoint,
};

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
}

/// An axis in words.
pub(crate) fn axis_words(axis: Axis) -> &'static str {
    match axis {
        Axis::X => "forward (x)",
        Axis::Y => "left (y)",
        Axis::Z => "up (z)",
    }
}
