//! The broker inside the demo, so that it needs none on the machine.
//!
//! Good enough for a demo, and for nothing else: it keeps no session on disk.

use std::collections::HashMap;
use std::net::{SocketAddr, TcpStream};
use std::time::{Duration, Instant};

use anyhow::{Result, bail};
use rumqttd::{Broker, Config, ConnectionSettings, RouterConfig, ServerSettings};

/// It must answer within this time.
const PATIENCE: Duration = Duration::from_secs(5);

/// Starts the broker on a thread of its own, which ends with the program.
pub(super) fn start(listen: SocketAddr) -> Result<()> {
    let connections = ConnectionSettings {
        connection_timeout_ms: 5000,
        max_payload_size: 1 << 20,
        max_inflight_count: 500,
        auth: None,
        external_auth: None,
        dynamic_filters: true,
    };
    let server = ServerSettings { name: "demo".into(), listen, tls: None, next_connection_delay_ms: 1, connections };
    let router = RouterConfig {
        max_connections: 100,
        max_outgoing_packet_count: 200,
        max_segment_size: 10 << 20,
        max_segment_count: 10,
        ..RouterConfig::default()
    };
    let config = Config { router, v5: Some(HashMap::from([("demo".into(), server)])), ..Config::default() };
    std::thread::Builder::new().name("demo-broker".into()).spawn(move || {
        if let Err(error) = Broker::new(config).start() {
            tracing::error!("the demo's broker has ended: {error}");
        }
    })?;
    let began = Instant::now();
    while TcpStream::connect(listen).is_err() {
        if began.elapsed() > PATIENCE {
            bail!("the demo's broker does not answer on {listen}");
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    Ok(())
}
