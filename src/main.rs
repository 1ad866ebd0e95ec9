//! The command line of Whereas. Everything is in the library; this only hands over the arguments.

fn main() -> std::process::ExitCode {
    whereas::cli::run(std::env::args_os())
}
