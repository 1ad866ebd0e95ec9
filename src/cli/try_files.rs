//! What a trial asks of the file system: reading a file, and writing one whole or not at all.

use crate::trial::{Fulfilled, Over, Request};
use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

/// The most bytes one text may have, to be refused before it is read to the end.
const MOST_BYTES: u64 = 17 << 20;

/// Does what a trial asks for.
pub(super) fn fulfil(request: &Request) -> Fulfilled {
    match request {
        Request::Read { path } => match read(&home(path)) {
            Ok(bytes) => Fulfilled::Read(bytes),
            Err(error) => Fulfilled::Failed(error.to_string()),
        },
        Request::Write { path, text, over } => {
            let written = match over {
                Over::Refused => write_new(&home(path), text),
                Over::Allowed => write_over(&home(path), text),
            };
            match written {
                Ok(()) => Fulfilled::Written,
                Err(error) if *over == Over::Refused && error.kind() == ErrorKind::AlreadyExists => Fulfilled::Exists,
                Err(error) => Fulfilled::Failed(error.to_string()),
            }
        }
    }
}

/// A path as a shell would take it.
fn home(path: &str) -> PathBuf {
    match (path.strip_prefix("~/"), std::env::var_os("HOME")) {
        (Some(rest), Some(home)) => Path::new(&home).join(rest),
        _ => PathBuf::from(path),
    }
}

fn read(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    fs::File::open(path)?.take(MOST_BYTES).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn write_new(path: &Path, text: &str) -> std::io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).inspect_err(|_| {
        // Half a file is worse than none.
        let _ = fs::remove_file(path);
    })
}

/// The old file stays whole until the new one is.
fn write_over(path: &Path, text: &str) -> std::io::Result<()> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(".new");
    let beside = PathBuf::from(beside);
    write_new(&beside, text)?;
    fs::rename(&beside, path).inspect_err(|_| {
        let _ = fs::remove_file(&beside);
    })
}
