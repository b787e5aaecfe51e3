//! Builds the console (services/console) to be embedded, where Node is at hand. Without it the program is built all
//! the same and keeps to its plain status page: nobody has to install Node to work on an oven.
//!
//! `OVENWARD_CONSOLE=off` leaves the console out on purpose.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs, io};

const SOURCES: [&str; 7] =
    ["src", "public", "index.html", "vite.config.ts", "tsconfig.json", "package.json", "package-lock.json"];

fn main() -> io::Result<()> {
    let source = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default()).join("../../services/console");
    // As in `src/console.rs` and, by default, in Vite.
    let out = source.join("dist");
    for path in SOURCES {
        println!("cargo:rerun-if-changed={}", source.join(path).display());
    }
    println!("cargo:rerun-if-env-changed=OVENWARD_CONSOLE");

    // What an earlier build left must not be embedded again.
    if out.exists() {
        fs::remove_dir_all(&out)?;
    }
    fs::create_dir_all(&out)?;
    if env::var("OVENWARD_CONSOLE").is_ok_and(|wanted| wanted == "off") {
        return Ok(());
    }
    if let Err(why) = build(&source) {
        println!("cargo:warning=the console is left out: {why}");
        fs::remove_dir_all(&out)?;
        fs::create_dir_all(&out)?;
    }
    Ok(())
}

fn build(source: &Path) -> Result<(), String> {
    if !is_installed(source) {
        npm(source, &["ci", "--no-audit", "--no-fund"])?;
    }
    npm(source, &["run", "--silent", "build"])
}

/// npm leaves a copy of the lock file in what it installed; one older than ours tells of other packages.
fn is_installed(source: &Path) -> bool {
    let changed = |path: &str| fs::metadata(source.join(path)).and_then(|file| file.modified());
    match (changed("node_modules/.package-lock.json"), changed("package-lock.json")) {
        (Ok(installed), Ok(wanted)) => installed >= wanted,
        _ => false,
    }
}

fn npm(source: &Path, arguments: &[&str]) -> Result<(), String> {
    let command = format!("npm {}", arguments.join(" "));
    let ran = Command::new("npm")
        .args(arguments)
        .current_dir(source)
        .output()
        .map_err(|error| format!("npm cannot be run ({error}); install Node 20.19 or later and build again"))?;
    if ran.status.success() {
        return Ok(());
    }
    let said = String::from_utf8_lossy(&ran.stderr).into_owned() + &String::from_utf8_lossy(&ran.stdout);
    let telling: Vec<&str> = said.lines().map(str::trim).filter(|line| !line.is_empty()).take(3).collect();
    Err(format!("`{command}` in services/console failed: {}", telling.join(" | ")))
}
