//! `dryberth take-in`: scans of every format, placed, cut, simplified, written, read back and used;
//! broken ones refused.

mod broken;
mod cutting;
mod damage;
mod files;
mod formats;
mod memory;
mod placing;
mod thinning;
mod used;
