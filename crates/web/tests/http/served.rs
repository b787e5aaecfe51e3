//! The service on a loopback port, and a plain client that shows what goes over the wire.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::Arc;
use std::time::Duration;

use tokio::net::TcpListener;
use tokio::runtime::Runtime;
use tokio::sync::{oneshot, watch};
use tokio::task::JoinHandle;
use web::{PlantStatus, Sources};

pub(crate) struct Served {
    pub(crate) address: SocketAddr,
    pub(crate) status: watch::Sender<Arc<PlantStatus>>,
    stop: oneshot::Sender<()>,
    serving: JoinHandle<std::io::Result<()>>,
    runtime: Runtime,
}

impl Served {
    /// Serves this status on a free port.
    pub(crate) fn new(status: PlantStatus, change: impl FnOnce(&mut Sources)) -> Self {
        let runtime = Runtime::new().unwrap();
        let (sender, receiver) = watch::channel(Arc::new(status));
        let mut sources = crate::millbrook::sources(receiver);
        change(&mut sources);
        let listener = runtime.block_on(TcpListener::bind("127.0.0.1:0")).unwrap();
        let address = listener.local_addr().unwrap();
        let (stop, stopped) = oneshot::channel();
        let serving = runtime.spawn(web::serve(listener, sources, async {
            let _ = stopped.await;
        }));
        Self { address, status: sender, stop, serving, runtime }
    }

    pub(crate) fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(5))).unwrap();
        stream
    }

    /// Sends a head as it stands and reads the answer to its end.
    pub(crate) fn send(&self, head: &str) -> Answer {
        let mut stream = self.connect();
        stream.write_all(head.as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        Answer::parse(&answer)
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        self.send(&format!("GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.address))
    }

    /// Opens the live stream and reads past its head.
    pub(crate) fn listen(&self) -> BufReader<TcpStream> {
        self.listen_with("")
    }

    /// The same with further headers.
    pub(crate) fn listen_with(&self, headers: &str) -> BufReader<TcpStream> {
        let mut stream = self.connect();
        write!(stream, "GET /api/v1/live HTTP/1.1\r\nHost: {}\r\n{headers}\r\n", self.address).unwrap();
        let mut reader = BufReader::new(stream);
        let mut line = String::new();
        while line != "\r\n" {
            line.clear();
            reader.read_line(&mut line).unwrap();
        }
        reader
    }

    /// Tells the service to stop and waits for its end.
    pub(crate) fn stop(self) -> std::io::Result<()> {
        self.stop.send(()).unwrap();
        self.runtime.block_on(self.serving).unwrap()
    }
}

pub(crate) struct Answer {
    pub(crate) status: u16,
    headers: Vec<(String, String)>,
    pub(crate) body: String,
}

impl Answer {
    fn parse(text: &str) -> Self {
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or_else(|| panic!("no head in {text:?}"));
        let mut lines = head.lines();
        let status = lines.next().unwrap().split(' ').nth(1).unwrap().parse().unwrap();
        let headers = lines.map(|line| line.split_once(": ").unwrap());
        let headers = headers.map(|(name, value)| (name.to_lowercase(), value.to_owned())).collect();
        Self { status, headers, body: body.to_owned() }
    }

    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.iter().find(|(header, _)| header == name).map_or("", |(_, value)| value)
    }

    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error} in {:?}", self.body))
    }

    /// The body, which must be problem details of this status (RFC 9457, section 3).
    pub(crate) fn problem(&self, status: u16) -> serde_json::Value {
        assert_eq!((self.status, self.header("content-type")), (status, "application/problem+json"), "{}", self.body);
        let problem = self.json();
        assert_eq!(problem["status"], status);
        assert!(problem["title"].is_string() && problem["detail"].is_string(), "{problem}");
        problem
    }
}
