//! `dryberth take-in`: scans of every format, placed, cut, simplified, written, read back and used;
//! broken ones refused.

mod broken;
mod cutting;
mod damage;
mod files;
mod formats;
mod memory;
mod outside;
mod placing;
#[path = "../support/mod.rs"]
#[allow(dead_code, reason = "each suite uses a part of it")]
mod support;
mod thinning;
mod used;
