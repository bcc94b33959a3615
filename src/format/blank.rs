//! The text that a new layout begins with.

/// A layout with nothing in it, with comments that say what goes where. It isn't sound by itself: a
/// layout needs a body.
pub(super) const TEXT: &str = r#"// Lengths in mm, x forward, y left, z up (ISO 8855), from the origin below.
(
    schema: 1,
    name: "",
    about: "",
    // A point of the boot that a tape can reach, in words.
    origin: "",
    pump: "",

    // What only some cars have.
    options: [],

    // Gaps that a pair of roles asks for instead of the usual one: (of: Motor, to: Module, gap_mm: 8).
    required_gaps: [],

    // Rigid things: floor, walls, brackets, modules, battery, looms.
    bodies: [],

    // Carpets and boards in their refitted place; corners counter-clockwise as seen from the boot.
    trims: [],

    // Hinge arms, lid, roof parts, tray: measured at one end of their travel.
    movers: [],

    // Ways out for water, and ways in.
    drains: [],
    leaks: [],

    // Places that can hold: studs, holes, slots, loops.
    anchors: [],

    // Hoses, cables and the release cord, from the last point where the car holds them.
    lines: [],

    // The roof's rams: their rods move the fluid's level.
    rams: [],

    // Where people look from.
    viewpoints: [],

    // The luggage space that customers use, inside the trim, with the lid shut.
    boot_space: [],

    // Candidate places for the pump.
    spots: [],
)
"#;
