//! The program as a person or another program meets it.
#![allow(dead_code, unreachable_pub, reason = "each test file uses a part")]

use assert_cmd::Command;
use std::{
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::{Path, PathBuf},
    process::{Child, Stdio},
};

pub fn matewell(data: &Path) -> Command {
    let mut command = Command::cargo_bin("matewell").unwrap();
    command.arg("--data").arg(data).env_remove("MATEWELL_PERSON").env_remove("MATEWELL_DATA");
    command
}

pub fn run(data: &Path, args: &[&str]) -> (i32, String, String) {
    let output = matewell(data).args(args).output().unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

/// A server of the demo lab on a free port.
pub struct Server {
    child: Child,
    pub address: String,
    pub data: PathBuf,
    folder: Option<tempfile::TempDir>,
}

impl Server {
    pub fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut server = Self::start_on(&folder.path().join("lab.db"), folder.path());
        server.folder = Some(folder);
        server
    }

    /// A server of some data, in a folder; of the demo lab if there is none.
    pub fn start_on(data: &Path, folder: &Path) -> Self {
        Self::start_with(data, folder, &["--demo"])
    }

    /// A server of some data, in a folder, with more arguments.
    pub fn start_with(data: &Path, folder: &Path, more: &[&str]) -> Self {
        let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin("matewell"))
            .current_dir(folder)
            .arg("--data")
            .arg(data)
            .args(["serve", "--port", "0"])
            .args(more)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().rsplit_once("://").unwrap().1.trim_end_matches('/').to_owned();
        Self { child, address, data: data.to_owned(), folder: None }
    }

    /// Status, headers in small letters, body.
    pub fn ask(&self, head: &str, extra: &str, body: &str) -> (u16, String, String) {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        write!(
            stream,
            "{head} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Type: application/json\r\n{extra}Content-Length: {}\r\n\r\n{body}",
            self.address,
            body.len()
        )
        .unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        let (headers, body) = answer.split_once("\r\n\r\n").unwrap();
        let status = headers.split(' ').nth(1).unwrap().parse().unwrap();
        (status, headers.to_lowercase(), body.to_owned())
    }

    pub fn get(&self, path: &str) -> (u16, String, String) {
        self.ask(&format!("GET {path}"), "", "")
    }

    pub fn post(&self, path: &str, key: &str, body: &str) -> (u16, String, String) {
        let key = if key.is_empty() { String::new() } else { format!("Idempotency-Key: {key}\r\n") };
        self.ask(&format!("POST {path}"), &key, body)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}
