//! A gate before the broker that sees, and may refuse, what passes.

use std::future::pending;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::tcp::{OwnedReadHalf, OwnedWriteHalf};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::{JoinHandle, JoinSet};
use tokio::time::{sleep, timeout};

use super::SOON;

/// First bytes of packets.
const PUBACK: u8 = 0x40;
const PINGREQ: u8 = 0xc0;
const DISCONNECT: u8 = 0xe0;

/// What the gate does. Three refuse a client that asks for MQTT 5 (protocol level 5 in its CONNECT),
/// each as some broker does that has only 3.1.1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Policy {
    /// Lets it pass.
    Pass,
    /// Answers in the form of MQTT 5 that it does not support the version (reason 0x84).
    RefuseAsV5,
    /// Answers in the form of MQTT 3.1.1 that the version is not acceptable (return code 1).
    RefuseAsV311,
    /// Closes the connection.
    Close,
    /// Falls silent at the first ping, as a broken cable does: neither answer nor end.
    Mute,
}

/// What has passed from clients to the broker.
#[derive(Default)]
struct Seen {
    acknowledged: Vec<u16>,
    farewells: usize,
}

/// The gate; it closes when this is dropped.
pub(crate) struct Gate {
    pub(crate) port: u16,
    seen: Arc<Mutex<Seen>>,
    task: JoinHandle<()>,
}

impl Gate {
    pub(crate) async fn before(broker: u16, policy: Policy) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let port = listener.local_addr().unwrap().port();
        let seen = Arc::default();
        let passed = Arc::clone(&seen);
        let task = tokio::spawn(async move {
            let mut passing = JoinSet::new();
            loop {
                let (client, _) = listener.accept().await.unwrap();
                passing.spawn(pass(client, broker, policy, Arc::clone(&passed)));
            }
        });
        Self { port, seen, task }
    }

    /// Packet ids of the acknowledgements that clients have sent so far, in their order.
    pub(crate) fn acknowledged(&self) -> Vec<u16> {
        self.seen.lock().unwrap().acknowledged.clone()
    }

    /// How many clients have taken leave and waited for the broker to hear it. A socket that is closed
    /// at once may take the last acknowledgements with it.
    pub(crate) fn farewells(&self) -> usize {
        self.seen.lock().unwrap().farewells
    }

    /// Waits until clients have sent `count` acknowledgements.
    pub(crate) async fn has_acknowledged(&self, count: usize) {
        let all = async {
            while self.acknowledged().len() < count {
                sleep(Duration::from_millis(5)).await;
            }
        };
        assert!(timeout(SOON, all).await.is_ok(), "{} of {count} acknowledged", self.acknowledged().len());
    }
}

impl Drop for Gate {
    fn drop(&mut self) {
        self.task.abort();
    }
}

/// Passes packets on until either side ends.
async fn pass(client: TcpStream, broker: u16, policy: Policy, seen: Arc<Mutex<Seen>>) -> Option<()> {
    let (mut from_client, mut to_client) = client.into_split();
    let connect = packet(&mut from_client).await?;
    // Fixed header of 2 bytes (short packets), protocol name `MQTT` with its length, level.
    let asks_for_5 = connect.get(8) == Some(&5);
    match policy {
        Policy::RefuseAsV5 if asks_for_5 => return to_client.write_all(&[0x20, 3, 0, 0x84, 0]).await.ok(),
        Policy::RefuseAsV311 if asks_for_5 => return to_client.write_all(&[0x20, 2, 0, 1]).await.ok(),
        Policy::Close if asks_for_5 => return None,
        _ => {}
    }
    let (mut from_broker, mut to_broker) = TcpStream::connect(("127.0.0.1", broker)).await.ok()?.into_split();
    to_broker.write_all(&connect).await.ok()?;
    tokio::select! {
        _ = tokio::io::copy(&mut from_broker, &mut to_client) => if policy == Policy::Mute { pending().await },
        _ = watch(&mut from_client, &mut to_broker, policy, &seen) => {}
    }
    Some(())
}

async fn watch(from: &mut OwnedReadHalf, to: &mut OwnedWriteHalf, policy: Policy, seen: &Mutex<Seen>) -> Option<()> {
    loop {
        let packet = packet(from).await?;
        match packet[0] {
            PUBACK => seen.lock().unwrap().acknowledged.push(u16::from_be_bytes([packet[2], packet[3]])),
            DISCONNECT => {
                if timeout(Duration::from_millis(100), from.read_u8()).await.is_ok() {
                    return None;
                }
                seen.lock().unwrap().farewells += 1;
            }
            PINGREQ if policy == Policy::Mute => pending().await,
            _ => {}
        }
        to.write_all(&packet).await.ok()?;
    }
}

/// Reads one packet, as bytes.
async fn packet(from: &mut OwnedReadHalf) -> Option<Vec<u8>> {
    let mut bytes = vec![from.read_u8().await.ok()?];
    let mut length = 0;
    for position in 0..4 {
        let byte = from.read_u8().await.ok()?;
        bytes.push(byte);
        length |= usize::from(byte & 0x7f) << (7 * position);
        if byte & 0x80 == 0 {
            break;
        }
    }
    let header = bytes.len();
    bytes.resize(header + length, 0);
    from.read_exact(&mut bytes[header..]).await.ok()?;
    Some(bytes)
}
