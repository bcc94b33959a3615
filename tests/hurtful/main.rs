//! Hurtful input: broken layouts, pumps and meshes, through the real program.
//!
//! Each is refused with exit status 2 and a message that names the file, the line and column where
//! there is one, what was found and what was expected; nothing panics, hangs, or takes memory out
//! of proportion. Input that is only odd gives findings.

mod drives;
mod files;
mod fuzz;
mod glb;
mod hostile;
mod layouts;
mod meshes;
mod pumps;
#[path = "../support/mod.rs"]
#[allow(dead_code, reason = "each suite uses a part of it")]
mod support;
mod workshop;
