//! Where can the roof pump go? A relocation placement planner with 3D clearance checking for the
//! electric hydraulic roof pump of a convertible.
//!
//! A small, pure, deterministic library of geometry and rules, of which a command line, a 3D scene
//! and a set of documents merely ask questions. The questions:
//!
//! - [`checks::evaluate`]: what do the five headlines of a spot come to? The one door.
//! - [`geometry`]: how far apart, how deep, inside or not, what lies under, how much fits below.
//! - [`format`]: read a layout with its pump and meshes; save a spot without losing anything.
//!
//! # Conventions
//!
//! Vehicle frame of ISO 8855: x forward, y left, z up, right-handed. Lengths in mm, angles in
//! degrees, masses in kg; a scalar's name ends in its unit. A bad layout yields findings, a bad file
//! an error; only a bug panics. The same input gives the same bytes.
//!
//! ```
//! use dryberth::checks::{Boot, HeadlineId, evaluate};
//! let opened = dryberth::format::open_demo(None)?;
//! let boot = opened.boot(&Boot::usual_options(&opened.layout))?;
//! for spot in &opened.layout.spots {
//!     let card = evaluate(&boot, spot);
//!     let reach = card.headline(HeadlineId::Reach).expect("every headline was asked for");
//!     assert!(!reach.checks.is_empty());
//! }
//! # Ok::<(), dryberth::format::FileError>(())
//! ```

pub mod checks;
pub mod cli;
pub mod compare;
pub mod documents;
pub mod format;
pub mod frame;
pub mod geometry;
pub mod model;
#[cfg(feature = "scene")]
pub mod scene;
pub mod units;
