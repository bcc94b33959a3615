//! What tests of the whole program share: running it within bounds, seeded damage, sheets.

pub(crate) mod damage;
pub(crate) mod run;
pub(crate) mod sheet;
