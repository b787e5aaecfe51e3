//! Somebody at the console of the running program, signed in or not.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::process::Stdio;
use std::time::Duration;

use serde_json::{Value, json};

use crate::plant::{Plant, wait_for};
use crate::process::Running;

const PASSWORD: &str = "warm rolls at six";

/// What came back.
pub(crate) struct Answer {
    pub(crate) status: u16,
    head: String,
    pub(crate) body: String,
}

impl Answer {
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {} {}", self.status, self.body))
    }

    /// The detail of a problem of this status.
    pub(crate) fn problem(&self, status: u16) -> String {
        assert_eq!(self.status, status, "{}", self.body);
        self.json()["detail"].as_str().unwrap().to_owned()
    }
}

/// Somebody, or nobody yet.
pub(crate) struct Visitor {
    port: u16,
    cookie: String,
}

impl Visitor {
    /// Nobody.
    pub(crate) fn stranger(place: &Plant) -> Self {
        Self { port: place.page_port, cookie: String::new() }
    }

    /// A person of the file of users, signed in.
    pub(crate) fn signed_in(place: &Plant, name: &str) -> Self {
        let stranger = Self::stranger(place);
        let answer = stranger.post("/api/v1/session", &json!({ "name": name, "password": PASSWORD }));
        assert_eq!(answer.status, 200, "{name}: {}", answer.body);
        let cookie = answer.head.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
        Self { cookie: format!("Cookie: {}\r\n", cookie.split(';').next().unwrap()), ..stranger }
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, "application/json", "")
    }

    pub(crate) fn post(&self, path: &str, body: &Value) -> Answer {
        self.ask("POST", path, "application/json", &body.to_string())
    }

    pub(crate) fn ask(&self, method: &str, path: &str, kind: &str, body: &str) -> Answer {
        let mut stream = self.connect();
        let length = body.len();
        let headers = format!("Content-Type: {kind}\r\nContent-Length: {length}\r\nConnection: close");
        write!(stream, "{method} {path} HTTP/1.1\r\n{}{headers}\r\n\r\n{body}", self.headers()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        Answer { status, head: head.to_owned(), body: body.to_owned() }
    }

    /// Listens to the live events, from behind the one of this number on.
    pub(crate) fn listen(&self, after: Option<i64>) -> Events {
        let mut stream = self.connect();
        let after = after.map_or_else(String::new, |number| format!("Last-Event-ID: {number}\r\n"));
        write!(stream, "GET /api/v1/live HTTP/1.1\r\n{}{after}\r\n", self.headers()).unwrap();
        Events(BufReader::new(stream))
    }

    fn headers(&self) -> String {
        format!("Host: 127.0.0.1:{}\r\nSec-Fetch-Site: same-origin\r\n{}", self.port, self.cookie)
    }

    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        stream
    }
}

/// Live events, one after the other.
pub(crate) struct Events(BufReader<TcpStream>);

impl Events {
    /// The next of this name: its number and what it tells.
    pub(crate) fn next(&mut self, name: &str) -> (i64, Value) {
        let (mut found, mut number) = (false, 0);
        let mut line = String::new();
        loop {
            line.clear();
            assert!(self.0.read_line(&mut line).unwrap() > 0, "the events have ended");
            if let Some(event) = line.trim_end().strip_prefix("event: ") {
                found = event == name;
            } else if let Some(id) = line.trim_end().strip_prefix("id: ") {
                number = id.parse().unwrap();
            } else if let Some(data) = line.trim_end().strip_prefix("data: ").filter(|_| found) {
                return (number, serde_json::from_str(data).unwrap());
            }
        }
    }
}

/// Adds a person to the file of users.
pub(crate) fn add_user(place: &Plant, name: &str, role: &str) {
    let mut command = place.program(&["user", "add", name, "--role", role]);
    let mut adding = command.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    writeln!(adding.stdin.take().unwrap(), "{PASSWORD}").unwrap();
    assert!(adding.wait().unwrap().success(), "{name}");
}

/// Starts the service and waits until it does its whole work; what anybody may ask says so.
pub(crate) fn serve(place: &Plant) -> Running {
    let log = std::fs::File::create(place.path("serve.log")).unwrap();
    let serving = Running(place.program(&["serve"]).stdout(Stdio::null()).stderr(log).spawn().unwrap());
    wait_for("the service to be ready", || place.get("/readyz").as_deref() == Some("ready"));
    serving
}
