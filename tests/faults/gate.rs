//! A gate in the network between the program and its broker: it counts acknowledgements, and can be cut or fall silent.

use std::fs;
use std::io::{self, Read, Write};
use std::net::{Ipv4Addr, Shutdown, TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};

use crate::plant::Plant;

/// First byte of an acknowledgement (MQTT 5.0, 3.4.1).
const PUBACK: u8 = 0x40;

/// The gate; what passes it ends when the process does.
pub(crate) struct Gate {
    port: u16,
    shared: Arc<Shared>,
}

#[derive(Default)]
struct Shared {
    acknowledged: AtomicUsize,
    passing: Mutex<Vec<Passage>>,
}

/// One connection that passes the gate.
struct Passage {
    ends: [TcpStream; 2],
    /// Nothing passes any more, and neither end is told.
    silent: Arc<AtomicBool>,
}

impl Gate {
    fn before(broker: u16) -> Self {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let port = listener.local_addr().unwrap().port();
        let shared = Arc::<Shared>::default();
        let opened = shared.clone();
        std::thread::spawn(move || {
            for client in listener.incoming() {
                // A broker that is away closes the door: the client tries again.
                let _ = pass(client.unwrap(), broker, &opened);
            }
        });
        Self { port, shared }
    }

    /// A gate on the way of this plant's service.
    pub(crate) fn of(place: &Plant) -> Self {
        let gate = Self::before(place.broker_port);
        let config = fs::read_to_string(place.path("plant.toml")).unwrap();
        let moved = config.replace(&format!(":{}\"", place.broker_port), &format!(":{}\"", gate.port));
        assert_ne!(moved, config, "the config does not name the broker's port");
        fs::write(place.path("plant.toml"), moved).unwrap();
        gate
    }

    /// Acknowledgements that clients have sent so far.
    pub(crate) fn acknowledged(&self) -> usize {
        self.shared.acknowledged.load(Ordering::SeqCst)
    }

    /// Ends every connection at once, as a switch that restarts.
    pub(crate) fn cut(&self) {
        for passage in self.shared.passing.lock().unwrap().drain(..) {
            passage.ends.iter().for_each(|end| _ = end.shutdown(Shutdown::Both));
        }
    }

    /// Lets nothing more pass on any present connection, as a pulled cable: neither end is told.
    pub(crate) fn fall_silent(&self) {
        for passage in self.shared.passing.lock().unwrap().iter() {
            passage.silent.store(true, Ordering::SeqCst);
        }
    }
}

fn pass(client: TcpStream, broker: u16, shared: &Arc<Shared>) -> io::Result<()> {
    let broker = TcpStream::connect((Ipv4Addr::LOCALHOST, broker))?;
    let silent = Arc::<AtomicBool>::default();
    let passage = Passage { ends: [client.try_clone()?, broker.try_clone()?], silent: silent.clone() };
    shared.passing.lock().unwrap().push(passage);
    let (counted, down) = (shared.clone(), silent.clone());
    let (up_from, up_to) = (client.try_clone()?, broker.try_clone()?);
    let count = move |packet: &[u8]| {
        if packet[0] & 0xf0 == PUBACK {
            counted.acknowledged.fetch_add(1, Ordering::SeqCst);
        }
    };
    std::thread::spawn(move || carry(up_from, up_to, &silent, count));
    std::thread::spawn(move || carry(broker, client, &down, |_| {}));
    Ok(())
}

/// Carries packets until either side ends, then ends the other.
fn carry(from: TcpStream, mut to: TcpStream, silent: &AtomicBool, see: impl Fn(&[u8])) {
    let mut reader = io::BufReader::new(from);
    while let Ok(packet) = packet(&mut reader) {
        if silent.load(Ordering::SeqCst) {
            // Held open, and never read again.
            loop {
                std::thread::park();
            }
        }
        see(&packet);
        if to.write_all(&packet).is_err() {
            break;
        }
    }
    let _ = reader.get_ref().shutdown(Shutdown::Both);
    let _ = to.shutdown(Shutdown::Both);
}

/// Reads one packet, as bytes: a type, a length of up to four bytes, and so much (MQTT 5.0, 2.1).
fn packet(from: &mut impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = vec![0];
    from.read_exact(&mut bytes)?;
    let mut length = 0;
    for position in 0..4 {
        let mut byte = [0];
        from.read_exact(&mut byte)?;
        bytes.push(byte[0]);
        length |= usize::from(byte[0] & 0x7f) << (7 * position);
        if byte[0] & 0x80 == 0 {
            break;
        }
    }
    let header = bytes.len();
    bytes.resize(header + length, 0);
    from.read_exact(&mut bytes[header..])?;
    Ok(bytes)
}
