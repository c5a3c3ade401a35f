//! Where results leave the program: in one piece, made safe to show; a closed pipe is success.

use super::error::CliError;
use super::terminal;
use emberpot::internal::report::{SCREEN_WIDTH, wrapped};
use emberpot::internal::visible::{visible, visible_lines};
use std::ffi::OsString;
use std::fs::{File, OpenOptions};
use std::io::{Error, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

/// Narrowest page that text is broken to.
const NARROWEST: usize = 40;

/// Writes `text` to the standard output as it is.
pub fn print(text: &str) -> Result<(), CliError> {
    let mut out = std::io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(CliError::Io {
            what: "standard output".to_owned(),
            error,
        }),
        _ => Ok(()),
    }
}

/// Tells the user something on the standard error, if it is open: as it is, or as wide as the
/// terminal, as a page is.
pub fn tell(text: &str) {
    let text = visible_lines(text);
    let _ = match terminal::error_columns() {
        Some(columns) => writeln!(std::io::stderr(), "{}", wrapped(&text, page_of(columns))),
        None => writeln!(std::io::stderr(), "{text}"),
    };
}

/// Columns of a page: those of the terminal, or as COLUMNS says where there is none; 80 at most.
pub fn page_width() -> usize {
    let stated = || std::env::var("COLUMNS").ok()?.parse().ok();
    let columns = terminal::columns().or_else(stated);
    columns.map_or(SCREEN_WIDTH, page_of)
}

/// Columns of a page on a terminal of so many.
fn page_of(columns: usize) -> usize {
    columns.clamp(NARROWEST, SCREEN_WIDTH)
}

/// Writes a file that must not exist yet.
pub fn write_new(path: &Path, text: &str) -> Result<(), CliError> {
    create(path, text).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => {
            let there = "is there already and stays as it is; name another file";
            io(path, Error::new(ErrorKind::AlreadyExists, there))
        }
        _ => io(path, error),
    })
}

/// Writes a file in one piece: into a new file beside it, which then takes its place and keeps
/// its permissions. A link is followed, a device or pipe is written as it is. `inputs` are the
/// files that the command reads, which are never written over.
pub fn write_over(path: &Path, text: &str, inputs: &[PathBuf]) -> Result<(), CliError> {
    keep_inputs(path, inputs)?;
    let target = follow_links(path).map_err(|error| io(path, error))?;
    replace(&target, text).map_err(|error| io(path, error))
}

/// Refuses a result's file that is one of the `inputs`.
pub fn keep_inputs(path: &Path, inputs: &[PathBuf]) -> Result<(), CliError> {
    let Ok(target) = path.canonicalize() else {
        return Ok(());
    };
    let is_read = |input: &PathBuf| input.canonicalize().is_ok_and(|input| input == target);
    if inputs.iter().any(is_read) {
        return Err(CliError::OverInput {
            file: path.display().to_string(),
        });
    }
    Ok(())
}

/// Replaces a file that was read as `old` by `new`, which holds all of it and more. A file that has
/// changed meanwhile is left alone.
#[cfg(not(target_family = "wasm"))]
pub fn write_grown(path: &Path, old: &str, new: &str) -> Result<(), CliError> {
    let target = follow_links(path).map_err(|error| io(path, error))?;
    let now = std::fs::read_to_string(&target).map_err(|error| io(path, error))?;
    if now != old {
        let changed = Error::other("the file was changed meanwhile; nothing was written");
        return Err(io(path, changed));
    }
    replace(&target, new).map_err(|error| io(path, error))
}

/// Reads a text file of at most as many bytes as a batch file may have.
pub fn read_text(path: &Path) -> Result<String, CliError> {
    let mut text = String::new();
    let most = emberpot::batch::LARGEST_FILE as u64;
    File::open(path)
        .and_then(|file| file.take(most + 1).read_to_string(&mut text))
        .map_err(|error| io(path, error))?;
    if text.len() as u64 > most {
        let long = Error::other(format!(
            "the file is too long: at most {most} bytes are read"
        ));
        return Err(io(path, long));
    }
    Ok(text)
}

fn io(path: &Path, error: Error) -> CliError {
    CliError::Io {
        what: visible(&path.display().to_string()).into_owned(),
        error,
    }
}

/// The file behind a chain of links, whether it exists or not.
fn follow_links(path: &Path) -> Result<PathBuf, Error> {
    let mut target = path.to_owned();
    // As many as Linux follows.
    for _ in 0..40 {
        match target.read_link() {
            Ok(next) => target = target.parent().unwrap_or(Path::new("")).join(next),
            Err(_) => return Ok(target),
        }
    }
    Err(Error::other("too many links, one to the next"))
}

fn replace(target: &Path, text: &str) -> Result<(), Error> {
    let old = target.metadata().ok();
    if old.as_ref().is_some_and(|old| !old.is_file()) {
        let mut open = OpenOptions::new().write(true).open(target)?;
        return match open.write_all(text.as_bytes()) {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
            written => written,
        };
    }
    if old.as_ref().is_some_and(|old| old.permissions().readonly()) {
        return Err(ErrorKind::PermissionDenied.into());
    }
    let name = target.file_name().ok_or(ErrorKind::InvalidInput)?;
    let mut part = OsString::from(".");
    part.push(name);
    part.push(format!(".{}.part", std::process::id()));
    let part = target.with_file_name(part);
    let _wait = signals::wait();
    create(&part, text)?;
    let permissions = old.map_or(Ok(()), |old| {
        std::fs::set_permissions(&part, old.permissions())
    });
    permissions
        .and_then(|()| std::fs::rename(&part, target))
        .inspect_err(|_| {
            // What is left of the attempt is of no use; the first error is the one to tell.
            let _ = std::fs::remove_file(&part);
        })
}

/// Writes a new file, all of it or nothing.
fn create(path: &Path, text: &str) -> Result<(), Error> {
    let mut file = File::create_new(path)?;
    file.write_all(text.as_bytes())
        .and_then(|()| file.sync_all())
        .inspect_err(|_| {
            let _ = std::fs::remove_file(path);
        })
}

/// Signals that end the program wait while a file takes the place of another.
#[cfg(unix)]
mod signals {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    use signal_hook::{flag, low_level};
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

    /// Ends the wait when it is dropped.
    pub struct Wait {
        over: Arc<AtomicBool>,
        came: Arc<AtomicUsize>,
    }

    pub fn wait() -> Wait {
        let wait = Wait {
            over: Arc::default(),
            came: Arc::default(),
        };
        for signal in [SIGHUP, SIGINT, SIGTERM] {
            // Where a signal cannot be held back it ends the program, as it would anyway.
            let _ = flag::register_conditional_default(signal, wait.over.clone());
            let _ = flag::register_usize(signal, wait.came.clone(), signal as usize);
        }
        wait
    }

    impl Drop for Wait {
        fn drop(&mut self) {
            self.over.store(true, Ordering::SeqCst);
            if let Ok(signal @ 1..) = i32::try_from(self.came.load(Ordering::SeqCst)) {
                let _ = low_level::emulate_default_handler(signal);
            }
        }
    }
}

#[cfg(not(unix))]
mod signals {
    pub fn wait() {}
}
