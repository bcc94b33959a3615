//! Deciding between spots: side by side, over every car of the model, and against what the car said.
//!
//! Built on the one door to the checks; knows neither files nor screens.

mod cars;
mod changes;
mod matrix;
mod renamed;
mod side_by_side;
mod trials;
mod unbolting;
mod weights;

pub use cars::{CarOptions, CarsError, MOST_CARS, every_car, stated_cars};
pub use changes::{Change, changes};
pub use matrix::{Cell, Matrix, SpotRow, matrix};
pub use side_by_side::{Beaten, CheckRow, Comparison, Figure, Shown, side_by_side};
pub use trials::{Adjustment, adjusted, adjustments, predicted};
pub use unbolting::{Unbolted, Unbolting, what_to_unbolt};
pub use weights::{TurnsOver, named_weights, score_with, turns_over, weight_of};
