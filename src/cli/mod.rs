//! The command line: arguments as typed, then as validated, then the library; answers as text.

mod answer;
mod arguments;
mod compare;
mod hand_over;
mod library;
mod matrix;
mod table;
mod take_in;
mod template;
mod trial;

pub use arguments::run;
