//! Certificates made for a test: an authority of the plant, and whom it vouches for.

use std::fs;
use std::path::Path;

use broker::Connection;
use rcgen::{BasicConstraints, CertificateParams, DnType, IsCa, Issuer, KeyPair, date_time_ymd};
use tempfile::TempDir;

use super::Mosquitto;

/// A folder with `NAME.pem` and `NAME.key` of the authorities `plant` and `stranger`, and of a broker and a client of the
/// plant, each once as it should be and once ended in 2021.
pub(crate) struct Certificates(TempDir);

/// The host that the broker's certificates are made out to.
const HOST: &str = "localhost";

impl Certificates {
    pub(crate) fn make() -> Self {
        let made = Self(tempfile::tempdir().unwrap());
        let plant = made.authority("plant");
        made.authority("stranger");
        made.of_plant(&plant, "broker", HOST, 2090);
        made.of_plant(&plant, "ended-broker", HOST, 2021);
        made.of_plant(&plant, "client", "client", 2090);
        made.of_plant(&plant, "ended-client", "client", 2021);
        made
    }

    pub(crate) fn path(&self) -> &Path {
        self.0.path()
    }

    pub(crate) fn read(&self, file: &str) -> Option<Vec<u8>> {
        Some(fs::read(self.path().join(file)).unwrap())
    }

    /// A broker that shows this certificate and asks for one, with further settings.
    pub(crate) fn broker(&self, shown: &str, further: &str) -> Mosquitto {
        let folder = self.path().display();
        Mosquitto::start_with(&format!(
            "cafile {folder}/plant.pem\ncertfile {folder}/{shown}.pem\nkeyfile {folder}/{shown}.key\n\
             require_certificate true\n{further}"
        ))
    }

    /// A connection that has all it needs.
    pub(crate) fn connection(&self, port: u16) -> Connection {
        let mut connection = Connection::parse_url(&format!("mqtts://{HOST}:{port}"), "tls").unwrap();
        connection.ca_file = self.read("plant.pem");
        connection.cert_file = self.read("client.pem");
        connection.key_file = self.read("client.key");
        connection
    }

    fn authority(&self, name: &str) -> Issuer<'static, KeyPair> {
        let mut params = CertificateParams::new(Vec::new()).unwrap();
        params.distinguished_name.push(DnType::CommonName, name);
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        let key = KeyPair::generate().unwrap();
        self.write(name, &params.self_signed(&key).unwrap().pem(), &key);
        Issuer::new(params, key)
    }

    fn of_plant(&self, plant: &Issuer<KeyPair>, name: &str, host: &str, ends: i32) {
        let mut params = CertificateParams::new(vec![host.to_owned()]).unwrap();
        params.distinguished_name.push(DnType::CommonName, host);
        (params.not_before, params.not_after) = (date_time_ymd(2020, 1, 1), date_time_ymd(ends, 1, 1));
        let key = KeyPair::generate().unwrap();
        self.write(name, &params.signed_by(&key, plant).unwrap().pem(), &key);
    }

    fn write(&self, name: &str, certificate: &str, key: &KeyPair) {
        fs::write(self.path().join(format!("{name}.pem")), certificate).unwrap();
        fs::write(self.path().join(format!("{name}.key")), key.serialize_pem()).unwrap();
    }
}
