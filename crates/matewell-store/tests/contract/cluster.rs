//! A private cluster of PostgreSQL in a temporary folder, one for each run of
//! a test program: reached by a socket in that folder only, and gone with the
//! program however it ends.
#![allow(dead_code, reason = "each test program uses a part")]

use std::{
    env, fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    sync::{
        OnceLock,
        atomic::{AtomicU32, Ordering},
    },
};

/// A running cluster.
pub(crate) struct Cluster {
    pub(crate) folder: PathBuf,
    programs: PathBuf,
    port: u16,
    /// Ends when this program does, then stops the server. Held, never read.
    _warden: Child,
}

static CLUSTER: OnceLock<Option<Cluster>> = OnceLock::new();
static COUNT: AtomicU32 = AtomicU32::new(0);

/// The cluster of this test program, or nothing where PostgreSQL is not
/// installed; then it is said aloud, and with the variable `CI` set it fails.
pub(crate) fn cluster() -> Option<&'static Cluster> {
    CLUSTER.get_or_init(start).as_ref()
}

fn start() -> Option<Cluster> {
    let Some(programs) = programs() else {
        assert!(env::var_os("CI").is_none(), "expected PostgreSQL (initdb, pg_ctl), found none");
        let mut err = std::io::stderr();
        writeln!(err, "\nSKIPPED: everything about PostgreSQL. initdb was not found.\n").unwrap();
        return None;
    };
    Some(Cluster::new(&programs, ""))
}

/// The folder with `initdb`, by the search path or where Debian keeps it.
pub(crate) fn programs() -> Option<PathBuf> {
    let mut folders: Vec<PathBuf> = fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .filter_map(|entry| Some(entry.ok()?.path().join("bin")))
        .collect();
    folders.sort();
    folders.reverse();
    folders.extend(env::var_os("PATH").iter().flat_map(env::split_paths));
    folders.into_iter().find(|folder| folder.join("initdb").is_file() && folder.join("postgres").is_file())
}

impl Cluster {
    /// Lays and starts a cluster. `settings` are more lines of `postgresql.conf`.
    pub(crate) fn new(programs: &Path, settings: &str) -> Self {
        Self::laid(programs, settings, |data| {
            run(as_owner(&programs.join("initdb"))
                .args(["-D", data.to_str().unwrap(), "-A", "trust", "-U", "postgres", "-N", "-E", "UTF8"])
                .arg("--locale=C"));
        })
    }

    /// Lays and starts a standby that follows this cluster.
    pub(crate) fn standby(&self) -> Self {
        Self::laid(&self.programs, "", |data| {
            run(as_owner(&self.programs.join("pg_basebackup"))
                .args([
                    "-D",
                    data.to_str().unwrap(),
                    "-U",
                    "postgres",
                    "-R",
                    "-X",
                    "stream",
                    "-c",
                    "fast",
                    "-h",
                ])
                .arg(&self.folder)
                .args(["-p", &self.port.to_string()]));
        })
    }

    fn laid(programs: &Path, settings: &str, lay: impl FnOnce(&Path)) -> Self {
        // Short: the path of a socket has at most 107 characters.
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let folder = PathBuf::from(format!("/tmp/matewell-{}-{count}", std::process::id()));
        fs::create_dir(&folder).unwrap();
        if is_root() {
            run(Command::new("chown").arg("postgres").arg(&folder));
        }
        let data = folder.join("data");
        lay(&data);
        let port = 5432;
        let lines = format!(
            "\nlisten_addresses = ''\nunix_socket_directories = '{}'\nport = {port}\nfsync = off\n\
             full_page_writes = off\nshared_buffers = 32MB\nmax_connections = 60\n{settings}\n",
            folder.display()
        );
        fs::OpenOptions::new()
            .append(true)
            .open(data.join("postgresql.conf"))
            .unwrap()
            .write_all(lines.as_bytes())
            .unwrap();
        let warden = warden(programs, &data, &folder);
        let cluster = Self { folder, programs: programs.to_owned(), port, _warden: warden };
        cluster.control(&["start"]);
        cluster
    }

    /// `pg_ctl` with some words, waiting for the end.
    pub(crate) fn control(&self, words: &[&str]) {
        let data = self.folder.join("data");
        run(as_owner(&self.programs.join("pg_ctl"))
            .args(["-w", "-s", "-D", data.to_str().unwrap(), "-l"])
            .arg(self.folder.join("log"))
            .args(words));
    }

    /// Kills the server at once, as a power cut would.
    pub(crate) fn kill(&self) {
        let lock = fs::read_to_string(self.folder.join("data/postmaster.pid")).unwrap();
        run(Command::new("kill").args(["-9", lock.lines().next().unwrap()]));
    }

    /// The URL of a database of this cluster.
    pub(crate) fn url(&self, database: &str) -> String {
        format!("postgresql:///{database}?host={}&port={}&user=postgres", self.folder.display(), self.port)
    }

    /// The URL of a new, empty database.
    pub(crate) fn new_database(&self) -> String {
        let name = format!("lab{}", COUNT.fetch_add(1, Ordering::Relaxed));
        self.ask("postgres", &format!("CREATE DATABASE {name}"));
        self.url(&name)
    }

    /// The URL of a new, empty schema in a database that several tests share:
    /// quicker than a database of its own.
    pub(crate) fn new_schema(&self) -> String {
        let name = format!("lab{}", COUNT.fetch_add(1, Ordering::Relaxed));
        self.ask("postgres", &format!("CREATE SCHEMA {name}"));
        format!("{}&options=-csearch_path%3D{name}", self.url("postgres"))
    }

    /// Runs some SQL in a database.
    pub(crate) fn ask(&self, database: &str, sql: &str) {
        let mut client = postgres::Client::connect(&self.url(database), postgres::NoTls).unwrap();
        client.batch_execute(sql).unwrap();
    }
}

/// Waits for the end of its standard input, which is the end of this program,
/// then stops the server and removes the folder.
fn warden(programs: &Path, data: &Path, folder: &Path) -> Child {
    let stop = "cat > /dev/null; \"$1\" -m immediate -s -D \"$2\" stop; rm -rf \"$3\"";
    let mut words = vec!["-c".to_owned(), stop.to_owned(), "sh".to_owned()];
    words.extend(
        [programs.join("pg_ctl"), data.to_owned(), folder.to_owned()].map(|p| p.display().to_string()),
    );
    as_owner(Path::new("sh"))
        .args(words)
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

pub(crate) fn is_root() -> bool {
    let output = Command::new("id").arg("-u").output().unwrap();
    output.stdout.starts_with(b"0\n")
}

/// PostgreSQL refuses to run as root, so root becomes its user.
fn as_owner(program: &Path) -> Command {
    let mut command;
    if is_root() {
        command = Command::new("runuser");
        command.args(["-u", "postgres", "--"]).arg(program);
    } else {
        command = Command::new(program);
    }
    command.current_dir("/");
    command
}

fn run(command: &mut Command) {
    let output = command.stdout(Stdio::null()).output().unwrap();
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
}
