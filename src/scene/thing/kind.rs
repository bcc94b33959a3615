//! The kinds of thing that a layout lists.

use crate::model::Layout;

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
