//! A PostgreSQL server of the test's own, in a folder of its own, with the roles that are shipped.

use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt, chown};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;
use tempfile::TempDir;

use crate::plant::Plant;
use crate::process::free_port;

/// The passwords of the superuser and of the service; a space, so that nothing takes it apart.
const PASSWORD: &str = "over the oven";
/// PostgreSQL refuses to run as root; this user is everywhere.
const NOBODY: u32 = 65534;

pub(crate) struct Server {
    folder: TempDir,
    pub(crate) port: u16,
}

impl Server {
    /// A server that is up, with a database `bakery` and the roles of `deploy/postgres/roles.sql`.
    pub(crate) fn new() -> Self {
        let server = Self { folder: tempfile::tempdir().unwrap(), port: free_port().unwrap() };
        server.hand_over(server.folder.path());
        server.write("superuser-password", PASSWORD);
        let (cluster, password) = (server.path("cluster"), server.path("superuser-password"));
        let mut initdb = server.program("initdb");
        initdb.args(["--no-sync", "--locale=C", "--encoding=UTF8", "--username=postgres", "--auth=scram-sha-256"]);
        succeeded(initdb.arg("--pwfile").arg(password).arg("--pgdata").arg(cluster));
        let settings =
            format!("port = {}\nlisten_addresses = '127.0.0.1'\nunix_socket_directories = ''\n", server.port);
        server.set(&settings);
        server.start();
        server.psql_in("postgres", "CREATE DATABASE bakery");
        let roles = concat!(env!("CARGO_MANIFEST_DIR"), "/../deploy/postgres/roles.sql");
        succeeded(server.client("bakery").args(["-f", roles]));
        server.psql(&format!("ALTER ROLE ovenward PASSWORD '{PASSWORD}'"));
        server
    }

    /// Appends settings, for the next start.
    pub(crate) fn set(&self, settings: &str) {
        let path = self.path("cluster/postgresql.conf");
        fs::write(&path, fs::read_to_string(&path).unwrap() + settings).unwrap();
    }

    /// Nothing is flushed: the server itself is never killed.
    pub(crate) fn start(&self) {
        let log = self.path("server.log");
        succeeded(self.control().args(["start", "--wait", "--options=-F", "--log"]).arg(log));
    }

    pub(crate) fn stop(&self) {
        succeeded(self.control().args(["stop", "--wait", "--mode=fast"]));
    }

    /// What a statement in the database `bakery` gives, as the superuser, through the server's own client.
    pub(crate) fn psql(&self, statement: &str) -> String {
        self.psql_in("bakery", statement)
    }

    pub(crate) fn psql_in(&self, database: &str, statement: &str) -> String {
        let output = succeeded(self.client(database).args(["-c", statement]));
        String::from_utf8(output.stdout).unwrap().trim_end().to_owned()
    }

    /// Whether a statement is refused to somebody else, and what is said.
    pub(crate) fn refused_to(&self, user: &str, statement: &str) -> String {
        let statement = format!("SET ROLE {user}; {statement}");
        let output = self.client("bakery").args(["-c", &statement]).output().unwrap();
        assert!(!output.status.success(), "{statement}");
        String::from_utf8(output.stderr).unwrap()
    }

    /// The rows of a table, as the server itself writes them as JSON.
    pub(crate) fn rows(&self, table: &str) -> Vec<Value> {
        let all = format!("SELECT coalesce(json_agg(t), '[]') FROM ovenward.{table} t");
        serde_json::from_str(&self.psql(&all)).unwrap()
    }

    pub(crate) fn count(&self, table: &str) -> i64 {
        self.psql(&format!("SELECT count(*) FROM {table}")).parse().unwrap()
    }

    /// Whether our tables are there.
    pub(crate) fn is_made(&self) -> bool {
        self.psql("SELECT to_regclass('ovenward.position') IS NOT NULL") == "t"
    }

    /// The URL for the service.
    pub(crate) fn url(&self) -> String {
        format!("postgres://ovenward@127.0.0.1:{}/bakery", self.port)
    }

    /// Writes `[sql]` into a plant's config: this server, and these further lines.
    pub(crate) fn write_into(&self, place: &Plant, url: &str, further: &str) {
        fs::write(place.path("database-password"), format!("{PASSWORD}\n")).unwrap();
        let config = fs::read_to_string(place.path("plant.toml")).unwrap();
        let before = config.split("\n[sql]").next().unwrap();
        let section = format!("\n[sql]\nurl = \"{url}\"\npassword_file = \"database-password\"\n{further}\n");
        fs::write(place.path("plant.toml"), before.to_owned() + &section).unwrap();
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file that belongs to the server alone.
    pub(crate) fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).unwrap();
        fs::set_permissions(self.path(name), fs::Permissions::from_mode(0o600)).unwrap();
        self.hand_over(&self.path(name));
    }

    fn client(&self, database: &str) -> Command {
        let mut client = Command::new(installed("psql"));
        client.env("PGPASSWORD", PASSWORD).args(["-X", "-A", "-t", "-q", "-v", "ON_ERROR_STOP=1"]);
        client.args(["-h", "127.0.0.1", "-p", &self.port.to_string(), "-U", "postgres", "-d", database]);
        client
    }

    fn control(&self) -> Command {
        let mut control = self.program("pg_ctl");
        control.arg("--pgdata").arg(self.path("cluster"));
        control
    }

    /// A program of the server, as a user whom it lets run it.
    fn program(&self, name: &str) -> Command {
        let mut command = if is_root(self.folder.path()) {
            let mut command = Command::new("runuser");
            command.args(["-u", "nobody", "--"]).arg(installed(name));
            command
        } else {
            Command::new(installed(name))
        };
        command.current_dir(self.folder.path());
        command
    }

    fn hand_over(&self, path: &Path) {
        if is_root(path) {
            chown(path, Some(NOBODY), Some(NOBODY)).unwrap();
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.control().args(["stop", "--mode=immediate"]).output();
    }
}

/// Whether what we make belongs to root.
fn is_root(ours: &Path) -> bool {
    let uid = fs::metadata(ours).unwrap().uid();
    uid == 0 || uid == NOBODY
}

/// Debian keeps each version in a folder of its own, where no PATH leads.
fn installed(program: &str) -> PathBuf {
    let versions =
        fs::read_dir("/usr/lib/postgresql").expect("PostgreSQL is not installed; install the package postgresql");
    let mut folders: Vec<PathBuf> = versions.map(|entry| entry.unwrap().path()).collect();
    folders.sort();
    folders.last().unwrap().join("bin").join(program)
}

fn succeeded(command: &mut Command) -> Output {
    let output = command.output().unwrap();
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    output
}
