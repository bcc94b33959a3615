//! The command line: arguments as typed, then as validated, then the library; answers as text.

mod answer;
mod arguments;
mod table;
mod take_in;

pub use arguments::run;
