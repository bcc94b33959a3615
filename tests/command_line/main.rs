//! The `dryberth` command as a person or another program runs it.

mod deciding;
mod json;
mod runs;
mod saving;
mod table;
