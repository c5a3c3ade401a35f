//! What goes wrong around the program: full disks, closed pipes, links, signals, odd files.
#![cfg(unix)]

use assert_cmd::Command;
use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::{Output, Stdio};
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_emberpot");

/// A folder of its own for one test, with an awkward name.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("faults Öl & {name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    fs::copy(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/zinc-aluminate.toml"),
        folder.join("Ansatz für Spinell.toml"),
    )
    .unwrap();
    folder
}

fn emberpot(folder: &Path) -> Command {
    let mut command = Command::new(PROGRAM);
    command.current_dir(folder);
    command
}

fn output(folder: &Path, arguments: &[&str]) -> Output {
    emberpot(folder).args(arguments).output().unwrap()
}

fn error_of(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    let text = String::from_utf8(output.stderr.clone()).unwrap();
    assert!(text.starts_with("error: "), "{text}");
    text
}

const BATCH: &str = "Ansatz für Spinell.toml";
/// Writes the small picture of a short sweep to the file that follows.
const SWEEP: [&str; 10] = [
    "vary",
    BATCH,
    "--over",
    "fuel-ratio",
    "--from",
    "0.9",
    "--to",
    "1.1",
    "--steps=3",
    "--svg",
];

fn sweep_to(target: &str) -> Vec<&str> {
    SWEEP.iter().copied().chain([target]).collect()
}

fn parts(folder: &Path) -> Vec<String> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name.contains(".part"))
        .collect()
}

#[test]
fn a_full_disk_is_an_error() {
    let folder = folder("full");
    let error = error_of(&output(&folder, &sweep_to("/dev/full")));
    assert!(error.contains("/dev/full"), "{error}");
    let full = fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let status = std::process::Command::new(PROGRAM)
        .arg("new")
        .stdout(full)
        .stderr(Stdio::null())
        .status()
        .unwrap();
    assert_eq!(status.code(), Some(2));
}

#[test]
fn a_result_goes_through_links_and_into_devices_and_keeps_the_mode() {
    let folder = folder("links");
    let found = output(&folder, &sweep_to("/dev/null"));
    assert_eq!(found.status.code(), Some(0), "{found:?}");
    fs::create_dir(folder.join("below")).unwrap();
    fs::write(folder.join("below/real.svg"), "old").unwrap();
    fs::set_permissions(
        folder.join("below/real.svg"),
        fs::Permissions::from_mode(0o640),
    )
    .unwrap();
    symlink("real.svg", folder.join("below/near.svg")).unwrap();
    symlink("below/near.svg", folder.join("far.svg")).unwrap();
    symlink("below/new.svg", folder.join("dangling.svg")).unwrap();
    for (link, file) in [
        ("far.svg", "below/real.svg"),
        ("dangling.svg", "below/new.svg"),
    ] {
        let found = output(&folder, &sweep_to(link));
        assert_eq!(found.status.code(), Some(0), "{found:?}");
        assert!(folder.join(link).is_symlink(), "{link} is no link any more");
        assert!(
            fs::read_to_string(folder.join(file))
                .unwrap()
                .contains("<svg")
        );
    }
    let mode = fs::metadata(folder.join("below/real.svg"))
        .unwrap()
        .permissions()
        .mode();
    assert_eq!(mode & 0o777, 0o640);
    symlink("loop.svg", folder.join("loop.svg")).unwrap();
    assert!(error_of(&output(&folder, &sweep_to("loop.svg"))).contains("links"));
    assert_eq!(parts(&folder), Vec::<String>::new());
}

#[test]
fn the_batch_file_is_not_written_over() {
    let folder = folder("input");
    symlink(BATCH, folder.join("link.svg")).unwrap();
    let before = fs::read(folder.join(BATCH)).unwrap();
    for target in [BATCH, "./Ansatz für Spinell.toml", "link.svg"] {
        let error = error_of(&output(&folder, &sweep_to(target)));
        assert!(error.contains("choose another name"), "{error}");
    }
    assert_eq!(fs::read(folder.join(BATCH)).unwrap(), before);
}

#[test]
fn a_result_in_a_file_is_what_would_be_printed() {
    let folder = folder("results");
    for arguments in [
        &["burn", BATCH][..],
        &["burn", BATCH, "--format", "json"],
        &["weigh", BATCH, "--format", "csv"],
        &["check", BATCH],
        &["compare", BATCH, BATCH],
        &["convert", "MgO", "--mass", "2 g"],
        &["substance", "urea"],
        &["completions", "zsh"],
        &["manual"],
        &["guide", "batch"],
        &["new"],
    ] {
        let printed = output(&folder, arguments);
        let _ = fs::remove_file(folder.join("found"));
        let kept = output(&folder, &[arguments, &["-o", "found"]].concat());
        assert_eq!(kept.status, printed.status, "{arguments:?}");
        assert!(kept.stdout.is_empty(), "{arguments:?}");
        assert_eq!(fs::read(folder.join("found")).unwrap(), printed.stdout);
    }
    // What is read is not written over, alone or in a folder.
    let before = fs::read(folder.join(BATCH)).unwrap();
    for arguments in [
        ["burn", BATCH, "-o", BATCH],
        ["next", ".", "-o", "./Ansatz für Spinell.toml"],
    ] {
        let error = error_of(&output(&folder, &arguments));
        assert!(error.contains("choose another name"), "{error}");
    }
    assert_eq!(fs::read(folder.join(BATCH)).unwrap(), before);
    assert_eq!(parts(&folder), Vec::<String>::new());
}

#[test]
fn a_target_that_cannot_be_written_is_an_error_and_nothing_is_left() {
    let folder = folder("target");
    fs::create_dir(folder.join("shut")).unwrap();
    fs::write(folder.join("kept.svg"), "old").unwrap();
    fs::set_permissions(folder.join("kept.svg"), fs::Permissions::from_mode(0o444)).unwrap();
    error_of(&output(&folder, &sweep_to("kept.svg")));
    assert_eq!(fs::read_to_string(folder.join("kept.svg")).unwrap(), "old");
    error_of(&output(&folder, &sweep_to("shut")));
    error_of(&output(&folder, &sweep_to("no/such/folder/a.svg")));
    fs::set_permissions(folder.join("shut"), fs::Permissions::from_mode(0o555)).unwrap();
    // The superuser may write anywhere.
    let may_write = fs::write(folder.join("shut/probe"), "").is_ok();
    let found = output(&folder, &sweep_to("shut/a.svg"));
    assert_eq!(found.status.code(), Some(if may_write { 0 } else { 2 }));
    assert_eq!(folder.join("shut/a.svg").exists(), may_write);
    fs::set_permissions(folder.join("shut"), fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(parts(&folder.join("shut")), Vec::<String>::new());
    assert_eq!(parts(&folder), Vec::<String>::new());
}

#[test]
fn a_signal_leaves_no_part_of_a_file() {
    let folder = folder("signal");
    let started = Instant::now();
    output(&folder, &["report", BATCH, "-o", "page.html"]);
    let whole = started.elapsed();
    let old = fs::read(folder.join("page.html")).unwrap();
    for step in 0..12 {
        let mut child = std::process::Command::new(PROGRAM)
            .args(["report", BATCH, "-o", "page.html"])
            .current_dir(&folder)
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(whole.mul_f64(0.85 + 0.02 * f64::from(step)));
        let signal = ["-TERM", "-INT", "-HUP"][step as usize % 3];
        let _ = std::process::Command::new("kill")
            .args([signal, &child.id().to_string()])
            .stderr(Stdio::null())
            .status();
        child.wait().unwrap();
        assert_eq!(parts(&folder), Vec::<String>::new());
        assert_eq!(fs::read(folder.join("page.html")).unwrap(), old);
    }
}

#[test]
fn closed_streams_are_no_panic() {
    let folder = folder("closed");
    let run = |text: &str| {
        std::process::Command::new("sh")
            .args(["-c", text, PROGRAM, BATCH])
            .current_dir(&folder)
            .stderr(Stdio::piped())
            .output()
            .unwrap()
    };
    let found = run("\"$0\" burn \"$1\" | true");
    assert!(found.stderr.is_empty(), "{found:?}");
    let found = run("\"$0\" burn nothing.toml 2>&-; echo $?");
    assert_eq!(found.stdout, b"2\n");
}

#[test]
fn locale_and_home_change_no_byte() {
    let folder = folder("locale");
    let usual = output(&folder, &["burn", BATCH]);
    let odd = emberpot(&folder)
        .args(["burn", BATCH])
        .env_clear()
        .env("LC_ALL", "tr_TR.ISO-8859-9")
        .env("LANG", "xx")
        .env("TERM", "dumb")
        .output()
        .unwrap();
    assert_eq!(usual.stdout, odd.stdout);
    assert_eq!(usual.status.code(), odd.status.code());
}

#[test]
fn line_endings_and_a_mark_at_the_front_change_no_byte() {
    let folder = folder("endings");
    let usual = output(&folder, &["burn", BATCH]);
    let text = fs::read_to_string(folder.join(BATCH)).unwrap();
    let crlf = text.replace('\n', "\r\n");
    for other in [
        crlf.clone(),
        format!("\u{feff}{text}"),
        format!("\u{feff}{crlf}"),
    ] {
        fs::write(folder.join(BATCH), other).unwrap();
        assert_eq!(output(&folder, &["burn", BATCH]).stdout, usual.stdout);
    }
    let wide: Vec<u8> = std::iter::once(0xfeff)
        .chain(text.encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    fs::write(folder.join("wide.toml"), wide).unwrap();
    let error = error_of(&output(&folder, &["burn", "wide.toml"]));
    assert!(
        error.contains("UTF-16") && error.contains("UTF-8"),
        "{error}"
    );
}

#[test]
fn endless_and_missing_inputs_are_errors() {
    let folder = folder("endless");
    assert!(error_of(&output(&folder, &["burn", "/dev/zero"])).contains("too long"));
    assert!(error_of(&output(&folder, &["burn", "."])).contains("cannot be read"));
    fs::write(folder.join("file"), "").unwrap();
    fs::create_dir_all(folder.join("own/species")).unwrap();
    symlink("/dev/zero", folder.join("own/species/endless.toml")).unwrap();
    for tables in ["no such folder", "file", "own"] {
        let found = output(&folder, &["substance", "urea", "--tables", tables]);
        let error = error_of(&found);
        assert!(error.contains(tables), "{error}");
    }
}

#[test]
fn a_megabyte_of_anything_is_answered_in_a_moment() {
    let folder = folder("large");
    let lines = |line: &str| line.repeat(990_000 / line.len());
    let texts = [
        (
            "unknown substances",
            lines("[[ingredient]]\nsubstance = \"ureaa\"\nmass = \"1 g\"\n"),
        ),
        (
            "known substances",
            lines("[[ingredient]]\nsubstance = \"urea\"\nmass = \"1 g\"\n"),
        ),
        (
            "unknown keys",
            (0..60_000).map(|i| format!("masss{i} = 1\n")).collect(),
        ),
        ("open quotes", lines("a = \"\r\n")),
        (
            "one long name",
            format!("[[ingredient]]\nsubstance = \"{}\"", "u".repeat(990_000)),
        ),
        ("one long key", format!("{} = 1", "m".repeat(990_000))),
        (
            "one long number",
            format!("[[ingredient]]\nmass = \"{} g\"", "1".repeat(990_000)),
        ),
        ("brackets", lines("[[")),
        ("one line of keys", lines("a=1,")),
        ("nested tables", lines("a.")),
        ("carriage returns", lines("a = \"\r")),
        ("escapes", lines("\u{1b}[2J\u{202e}")),
        (
            "a list",
            format!("[glassware]\npipettes = [{}]", lines("\"10 mL\",")),
        ),
    ];
    for (name, text) in texts {
        fs::write(folder.join("large.toml"), text).unwrap();
        let started = Instant::now();
        let error = error_of(&output(&folder, &["burn", "large.toml"]));
        // An unoptimised build on a loaded machine; optimised ones need a tenth.
        assert!(
            started.elapsed() < Duration::from_secs(10),
            "{name}: {:?}",
            started.elapsed()
        );
        assert!(error.contains("mistake"), "{name}: {error}");
        assert!(!error.contains(['\u{1b}', '\u{202e}', '\r']), "{name}");
        assert!(error.len() < 60_000, "{name}: {} bytes", error.len());
    }
}

#[test]
fn marks_in_a_name_are_shown_and_not_obeyed() {
    let folder = folder("marks");
    let text = fs::read_to_string(folder.join(BATCH)).unwrap();
    let line = text.lines().find(|line| line.starts_with("name")).unwrap();
    let odd = "name = \"=cmd \\u001b[2J\\u202e<b>\\nerror: none\"";
    fs::write(folder.join(BATCH), text.replace(line, odd)).unwrap();
    for arguments in [
        &["burn", BATCH][..],
        &["burn", BATCH, "--format", "json"],
        &["weigh", BATCH],
        &["ignite", BATCH],
        &["report", BATCH],
        &["report", BATCH, "--class"],
        &["compare", BATCH, BATCH, "--format", "csv"],
        &[
            "vary",
            BATCH,
            "--over",
            "fuel-ratio",
            "--from",
            "0.9",
            "--to",
            "1.1",
            "--steps=3",
        ],
    ] {
        let found = output(&folder, arguments);
        let text = String::from_utf8(found.stdout).unwrap();
        assert_ne!(found.status.code(), Some(2), "{arguments:?}");
        assert!(!text.contains(['\u{1b}', '\u{202e}']), "{arguments:?}");
        assert!(!text.contains("\nerror: none"), "{arguments:?}");
        assert!(
            arguments[0] != "report" || !text.contains("<b>␊"),
            "{arguments:?}"
        );
        assert!(!text.contains(",=cmd"), "{arguments:?}");
    }
}
