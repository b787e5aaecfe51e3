//! Who is told of alerts, as the config says it.

use alert::Priority;
use notice::{Channel, Quiet, Rule};
use reading::Span;

use super::*;

/// A config with these sections, read in a folder with these files.
fn read_with(files: &[(&str, &str)], sections: &str) -> Result<Settings, ConfigFaults> {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    parse(&format!("{SMALLEST}\n{sections}"), &folder.path().join("plant.toml"))
}

const MAIL: &str = "
[mail]
host = \"mail.plant\"
user = \"ovens\"
password_file = \"mail-password\"
from = \"Ovens <ovens@millbrook.example>\"
";
const PASSWORD: (&str, &str) = ("mail-password", "sourdough-7\n");
const SECRET: (&str, &str) = ("rota-secret", "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw\n");

#[test]
fn each_address_and_each_webhook_is_a_receiver_with_the_rule_of_its_section() {
    let sections = format!(
        "{MAIL}
[notify.leads]
to = [\"ann@millbrook.example\", \"Ben <ben@millbrook.example>\"]
lines = [\"tunnel-1\"]
lowest_priority = \"high\"
shifts = [\"day\"]
after_min = 2.5
quiet = {{ from = \"22:00\", to = \"06:00\" }}
[notify.rota]
url = \"http://127.0.0.1:9/ovens\"
secret_file = \"rota-secret\"
"
    );
    let receivers = read_with(&[PASSWORD, SECRET], &sections).unwrap().receivers;
    let names: Vec<&str> = receivers.iter().map(|receiver| receiver.name.as_str()).collect();
    assert_eq!(names, ["leads/ann@millbrook.example", "leads/ben@millbrook.example", "rota"]);
    let time = |text: &str| text.parse().unwrap();
    let expected = Rule {
        lines: vec!["tunnel-1".into()],
        lowest_priority: Priority::High,
        shifts: vec!["day".into()],
        after: Span::seconds(150),
        quiet: Some(Quiet::Hours { from: time("22:00:00"), to: time("06:00:00") }),
    };
    assert_eq!((&receivers[0].rule, &receivers[1].rule), (&expected, &expected));
    assert_eq!(receivers[2].rule, Rule::default());
    assert!(matches!(&receivers[2].channel, Channel::Webhook(webhook) if webhook.host() == "127.0.0.1"));
    let shown = format!("{receivers:?}");
    assert!(!shown.contains("sourdough") && !shown.contains("MfKQ9r8"), "secrets stay out of logs: {shown}");
}

#[test]
fn a_file_with_a_secret_is_read_with_the_config() {
    let rota = "[notify.rota]\nurl = \"http://127.0.0.1:9/ovens\"\nsecret_file = \"rota-secret\"\n";
    let faults = read_with(&[("rota-secret", "letmein")], rota).unwrap_err().to_string();
    assert!(faults.contains("the file holds no key of the form whsec_") && faults.contains("openssl rand"), "{faults}");
    let faults = read_with(&[SECRET], &rota.replace("http:", "mqtt:")).unwrap_err().to_string();
    assert!(faults.contains("url: it does not begin with http://"), "{faults}");
}

#[test]
fn a_password_goes_over_no_open_line() {
    let faults = read_with(&[PASSWORD], &format!("{MAIL}tls = \"none\"\n")).unwrap_err().to_string();
    assert!(faults.contains("tls: a password would be sent in the open"), "{faults}");
    assert!(read_with(&[PASSWORD], MAIL).unwrap().receivers.is_empty());
}
