//! The `dryberth` command.

fn main() -> std::process::ExitCode {
    dryberth::cli::run()
}
