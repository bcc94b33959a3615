//! The cautions that stand on every document.

/// What to mind before and while work is done.
pub const CAUTIONS: [&str; 8] = [
    "Support the roof: it can fall when the pressure goes or a line is opened.",
    "Let the pressure out before opening a line. Fluid under pressure goes through skin; a small wound \
     by it is an emergency.",
    "Disconnect the battery and wait as the car maker says before working near airbags or roll-over \
     protection.",
    "Keep fingers clear of moving roof parts, and nobody else near the switch.",
    "Fuse the feed close to its supply.",
    "Keep sparks away from the battery and don't block its vent.",
    "Don't drill where tank, lines or looms lie behind.",
    "Test the emergency release after the move, before the trim goes back.",
];

/// What the figures are.
pub const PLANNING_AID: &str = "The figures are planning aids. The car maker's instructions, local rules \
    and a licensed technician's judgement come first.";

/// The same cautions as they concern whoever drives the car.
pub const FOR_THE_OWNER: [&str; 7] = [
    "Keep fingers, hair and clothing clear of moving roof parts, and children away from the switch.",
    "Never lean in under a roof that isn't held: it can fall, above all while it is closed by hand.",
    "Don't open a line or the tank. The fluid can be under pressure and goes through skin; if it does, \
     see a doctor at once. Let a workshop let the pressure out.",
    "Leave hoses, wiring, airbags and roll-over protection to a licensed technician, with the battery \
     disconnected. If the pump's fuse by its supply blows again, have the cause found; no larger fuse.",
    "Keep sparks away from the battery and its vent free; load nothing against the pump or its hoses.",
    "Don't let anyone drill into the boot's sides or floor before they know what lies behind: tank, \
     lines, looms.",
    "Try the emergency release with us once, so that you know it.",
];
