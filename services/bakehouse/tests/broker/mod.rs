//! A broker that speaks just enough MQTT 5 to take publishes, and misbehaves on demand.
#![allow(clippy::unwrap_used)]

use std::sync::{Arc, Mutex};

use tokio::io::{AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinHandle;

/// When a broker cuts its connections.
#[derive(Clone, Copy)]
pub(crate) enum Manners {
    /// Never.
    Steady,
    /// After this many publishes on each connection, the last three of which it has taken in
    /// without acknowledging them.
    CutsAfter(usize),
    /// It takes everything in and acknowledges nothing.
    Mute,
}

pub(crate) struct Broker {
    pub(crate) port: u16,
    /// Topic and payload of every publish, in order of arrival, and whether it was acknowledged.
    pub(crate) taken: Arc<Mutex<Vec<(String, String, bool)>>>,
    serving: JoinHandle<()>,
}

impl Broker {
    pub(crate) async fn start(manners: Manners) -> Self {
        Self::start_on(0, manners).await
    }

    /// Starts on this port, or on a free one if it is 0.
    pub(crate) async fn start_on(port: u16, manners: Manners) -> Self {
        let listener = TcpListener::bind(("127.0.0.1", port)).await.unwrap();
        let port = listener.local_addr().unwrap().port();
        let taken = Arc::new(Mutex::new(vec![]));
        let log = taken.clone();
        let serving = tokio::spawn(async move {
            loop {
                let (stream, _) = listener.accept().await.unwrap();
                // A connection that ends in the middle is what these tests are about.
                let _ = serve(stream, manners, &log).await;
            }
        });
        Self { port, taken, serving }
    }

    pub(crate) fn address(&self) -> bakehouse::BrokerAddress {
        format!("mqtt://127.0.0.1:{}", self.port).parse().unwrap()
    }

    pub(crate) fn taken(&self) -> Vec<(String, String, bool)> {
        self.taken.lock().unwrap().clone()
    }
}

impl Drop for Broker {
    fn drop(&mut self) {
        self.serving.abort();
    }
}

async fn serve(stream: TcpStream, manners: Manners, taken: &Mutex<Vec<(String, String, bool)>>) -> std::io::Result<()> {
    let (read, mut write) = stream.into_split();
    let mut read = BufReader::new(read);
    let mut publishes = 0;
    loop {
        let kind = read.read_u8().await?;
        let mut body = vec![0; remaining_length(&mut read).await?];
        read.read_exact(&mut body).await?;
        match kind >> 4 {
            1 => write.write_all(&[0x20, 3, 0, 0, 0]).await?,
            3 => {
                publishes += 1;
                let acknowledges = match manners {
                    Manners::Steady => true,
                    Manners::CutsAfter(most) => publishes + 3 <= most,
                    Manners::Mute => false,
                };
                let (topic, id, payload) = publish(&body);
                taken.lock().unwrap().push((topic, payload, acknowledges));
                if acknowledges {
                    write.write_all(&[0x40, 2, id[0], id[1]]).await?;
                }
                if matches!(manners, Manners::CutsAfter(most) if publishes >= most) {
                    return Ok(());
                }
            }
            12 => write.write_all(&[0xd0, 0]).await?,
            _ => return Ok(()),
        }
    }
}

async fn remaining_length(read: &mut (impl AsyncReadExt + Unpin)) -> std::io::Result<usize> {
    let (mut length, mut shift) = (0, 0);
    loop {
        let byte = read.read_u8().await?;
        length |= usize::from(byte & 0x7f) << shift;
        if byte < 0x80 {
            return Ok(length);
        }
        shift += 7;
    }
}

/// Topic, packet id and payload of a QoS 1 publish without properties.
fn publish(body: &[u8]) -> (String, [u8; 2], String) {
    let topic_ends = 2 + usize::from(u16::from_be_bytes([body[0], body[1]]));
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let id = [body[topic_ends], body[topic_ends + 1]];
    assert_eq!(body[topic_ends + 2], 0, "no properties are expected");
    (text(&body[2..topic_ends]), id, text(&body[topic_ends + 3..]))
}
