//! The real window, driven by the events that a pointer and a keyboard make.
//!
//! Needs a display and a Vulkan driver; a software one under Xvfb will do. Without a display the
//! tests say so and pass, unless `DRYBERTH_NEED_WINDOW=1` is set. Each window runs in a process of its
//! own, one after the other.
#![cfg(feature = "scene")]
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a test")]

mod authoring;
mod drag;
mod drive;
mod pictures;
mod placing;
mod recovery;
mod scanned;
mod seeing;
mod typing;
