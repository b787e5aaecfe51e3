//! A gate before the broker that sees, and may refuse, what passes.

use std::sync::{Arc, Mutex};
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::tcp::{OwnedReadHalf, OwnedWriteHalf};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::{JoinHandle, JoinSet};
use tokio::time::{sleep, timeout};

use super::SOON;

/// What the gate does with a client that asks for MQTT 5 (protocol level 5 in its CONNECT). Each is
/// the behaviour of some broker that has only 3.1.1.
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
}

/// The gate; it closes when this is dropped.
pub(crate) struct Gate {
    pub(crate) port: u16,
    acknowledged: Arc<Mutex<Vec<u16>>>,
    task: JoinHandle<()>,
}

impl Gate {
    pub(crate) async fn before(broker: u16, policy: Policy) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let port = listener.local_addr().unwrap().port();
        let acknowledged = Arc::default();
        let seen = Arc::clone(&acknowledged);
        let task = tokio::spawn(async move {
            let mut passing = JoinSet::new();
            loop {
                let (client, _) = listener.accept().await.unwrap();
                passing.spawn(pass(client, broker, policy, Arc::clone(&seen)));
            }
        });
        Self { port, acknowledged, task }
    }

    /// Packet ids of the acknowledgements that clients have sent so far, in their order.
    pub(crate) fn acknowledged(&self) -> Vec<u16> {
        self.acknowledged.lock().unwrap().clone()
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
async fn pass(client: TcpStream, broker: u16, policy: Policy, seen: Arc<Mutex<Vec<u16>>>) -> Option<()> {
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
        _ = tokio::io::copy(&mut from_broker, &mut to_client) => {}
        _ = watch(&mut from_client, &mut to_broker, &seen) => {}
    }
    Some(())
}

async fn watch(from: &mut OwnedReadHalf, to: &mut OwnedWriteHalf, seen: &Mutex<Vec<u16>>) -> Option<()> {
    loop {
        let packet = packet(from).await?;
        if packet[0] == 0x40 {
            seen.lock().unwrap().push(u16::from_be_bytes([packet[2], packet[3]]));
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
