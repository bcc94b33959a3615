//! The same input given to independent libraries. Their answers lie in `data/`, each beside the
//! script here that made it; nothing of them is needed to run these tests.

mod aligned;
mod basins;
mod blocks;
mod floods;
mod gaps;
mod inside;
mod lifts;
mod modes;
mod mounts;
mod outlines;
mod pairs;
mod planes;
mod seen;
mod shapes;
mod terrain;
mod turns;
mod volumes;
mod w3;
mod w4;
mod ways;
