//! Builds the page into `OUT_DIR` with Node, or takes a page built elsewhere.
//!
//! Nothing is written into the source tree except `web/node_modules`.

use std::{
    env, fs,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

/// What the page is made of; only a change of these builds it again.
const INPUTS: [&str; 8] = [
    "src",
    "public",
    "index.html",
    "package.json",
    "package-lock.json",
    "vite.config.ts",
    "svelte.config.js",
    "tsconfig.json",
];

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-env-changed=MATEWELL_WEB_DIST");
    let result = match env::var_os("MATEWELL_WEB_DIST") {
        Some(ready) => take(Path::new(&ready)),
        None => build(),
    };
    match result {
        // cargo does not see a change of an interpolated variable by itself;
        // a variable set here is part of the crate's fingerprint.
        Ok(folder) => println!("cargo::rustc-env=MATEWELL_WEB_FOLDER={}", folder.display()),
        Err(message) => {
            println!("cargo::error={message}");
            std::process::exit(1);
        }
    }
}

fn take(ready: &Path) -> Result<PathBuf, String> {
    let folder = ready.canonicalize().map_err(|e| format!("MATEWELL_WEB_DIST={}: {e}", ready.display()))?;
    if !folder.join("index.html").is_file() {
        return Err(format!(
            "MATEWELL_WEB_DIST={}: expected a built page, found no index.html",
            folder.display()
        ));
    }
    println!("cargo::rerun-if-changed={}", folder.display());
    Ok(folder)
}

fn build() -> Result<PathBuf, String> {
    let home = env::var("CARGO_MANIFEST_DIR").map_err(|e| format!("CARGO_MANIFEST_DIR: {e}"))?;
    let out = PathBuf::from(env::var("OUT_DIR").map_err(|e| format!("OUT_DIR: {e}"))?);
    let web = Path::new(&home).join("../../web");
    // rust-embed in debug builds gives nothing from a folder reached through a link.
    let web = web.canonicalize().map_err(|e| format!("{}: {e}", web.display()))?;
    let out = out.canonicalize().map_err(|e| format!("{}: {e}", out.display()))?;
    for input in INPUTS {
        println!("cargo::rerun-if-changed={}", web.join(input).display());
    }
    for tool in ["node", "npm"] {
        let found = Command::new(tool).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status();
        if !found.is_ok_and(|status| status.success()) {
            return Err(format!(
                "`{tool}` is missing: install Node 20 or later, or set MATEWELL_WEB_DIST to a built page"
            ));
        }
    }
    install(&web)?;
    let dist = out.join("page");
    let mut vite = Command::new("node");
    vite.arg("node_modules/vite/bin/vite.js").args(["build", "--logLevel", "warn"]);
    vite.env("MATEWELL_WEB_OUT", &dist).env("MATEWELL_WEB_CACHE", out.join("vite-cache"));
    run(vite.current_dir(&web), "the page's build (vite build)")?;
    Ok(dist)
}

/// Installs the page's packages, only when the lock file is not the one that
/// was installed last.
fn install(web: &Path) -> Result<(), String> {
    let lock = fs::read(web.join("package-lock.json")).map_err(|e| format!("web/package-lock.json: {e}"))?;
    let stamp = web.join("node_modules/.matewell-lock");
    if fs::read(&stamp).is_ok_and(|installed| installed == lock) {
        return Ok(());
    }
    // Packages that a person installed with npm are as good, if the lock file fits.
    let npm = web.join("node_modules/.package-lock.json");
    let is_newer = |a: &Path, b: &Path| {
        let time = |p: &Path| fs::metadata(p).and_then(|m| m.modified()).ok();
        time(a).zip(time(b)).is_some_and(|(a, b)| a >= b)
    };
    if !is_newer(&npm, &web.join("package-lock.json")) {
        let mut ci = Command::new("npm");
        ci.args(["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"]);
        run(ci.current_dir(web), "npm ci")?;
    }
    fs::write(&stamp, lock).map_err(|e| format!("{}: {e}", stamp.display()))
}

fn run(command: &mut Command, what: &str) -> Result<(), String> {
    let output = command.output().map_err(|e| format!("{what}: {e}"))?;
    if output.status.success() {
        return Ok(());
    }
    let said = [output.stdout, output.stderr].concat();
    let said = String::from_utf8_lossy(&said);
    for line in said.lines() {
        println!("cargo::warning={line}");
    }
    Err(format!("{what} failed ({}); its messages are above", output.status))
}
