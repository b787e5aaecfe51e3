//! Who is told of alerts, and whether there is a time at which nobody is.

use std::io::{self, Write};

use alert::Priority;
use notice::{Channel, Quiet, Receiver, Rule};
use reading::{Plant, Span};

use crate::config::Settings;

/// Everybody who is told, and a warning of each line and shift in which a high alert is told to nobody at once.
pub(super) fn describe(settings: &Settings, out: &mut dyn Write) -> io::Result<()> {
    let Settings { plant, receivers, .. } = settings;
    if receivers.is_empty() {
        return Ok(());
    }
    writeln!(out, "tells of alerts, beside MQTT and the console:")?;
    receivers.iter().try_for_each(|receiver| writeln!(out, "  {}", in_words(receiver)))?;
    untold(plant, receivers).iter().try_for_each(|place| {
        writeln!(out, "WARNING: nobody is told at once of a high alert {place}: let one receiver have no after_min and these shifts.")
    })
}

/// Such as "rota, by webhook to rota.plant: high alerts on tunnel-1, in early and late, unanswered for 10 min".
fn in_words(receiver: &Receiver) -> String {
    let Receiver { name, rule, channel } = receiver;
    let by = match channel {
        Channel::Webhook(webhook) => format!(", by webhook to {}", webhook.host()),
        Channel::Mail(_) => ", by mail".into(),
    };
    let Rule { lines, lowest_priority, shifts, after, quiet } = rule;
    let what = if *lowest_priority == Priority::High { "high alerts" } else { "alerts" };
    let of_lines = if lines.is_empty() { String::new() } else { format!(" on {}", lines.join(", ")) };
    let in_shifts = if shifts.is_empty() { String::new() } else { format!(", in the shifts {}", shifts.join(", ")) };
    let unanswered = match *after {
        Span(0) => String::new(),
        Span(micros) => format!(", unanswered for {} min", micros as f64 / 60e6),
    };
    let quietly = match quiet {
        None => String::new(),
        Some(Quiet::Hours { from, to }) => {
            format!("; only high ones from {} to {}", from.format("%H:%M"), to.format("%H:%M"))
        }
        Some(Quiet::Shifts(names)) => format!("; only high ones in the shifts {}", names.join(", ")),
    };
    format!("{name}{by}: {what}{of_lines}{in_shifts}{unanswered}{quietly}")
}

/// Lines and shifts for which no receiver is told of a high alert at once.
fn untold(plant: &Plant, receivers: &[Receiver]) -> Vec<String> {
    let mut untold = Vec::new();
    for line in &plant.lines {
        let of_line = |receiver: &&Receiver| receiver.rule.hears_of(&line.id);
        let told_in =
            |shift: &str| receivers.iter().filter(of_line).any(|receiver| receiver.rule.tells_at_once_in(shift));
        let shifts: Vec<&str> = plant.shifts.names().map(|name| &**name).filter(|shift| !told_in(shift)).collect();
        if !shifts.is_empty() {
            untold.push(format!("on {} in the shifts {}", line.id, shifts.join(", ")));
        }
    }
    untold
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::path::Path;

    use super::*;
    use crate::config;

    fn told(receivers: &str) -> String {
        let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../config/plant.toml");
        let text = std::fs::read_to_string(&example).unwrap();
        let mail = "[mail]\nhost = \"127.0.0.1\"\ntls = \"none\"\nfrom = \"ovens@millbrook.example\"\n";
        let settings = config::parse(&format!("{text}{mail}{receivers}"), &example).unwrap();
        let mut out = Vec::new();
        describe(&settings, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn who_is_told_of_what_and_when_is_told_in_a_line_each() {
        let receivers = "
            [notify.leads]
            to = [\"ann@millbrook.example\", \"Ben <ben@millbrook.example>\"]
            quiet = { from = \"22:00\", to = \"06:00\" }
            [notify.engineer]
            to = [\"eve@millbrook.example\"]
            lines = [\"tunnel-1\"]
            lowest_priority = \"high\"
            shifts = [\"early\", \"late\"]
            after_min = 10";
        let expected = "\
tells of alerts, beside MQTT and the console:
  leads/ann@millbrook.example, by mail: alerts; only high ones from 22:00 to 06:00
  leads/ben@millbrook.example, by mail: alerts; only high ones from 22:00 to 06:00
  engineer/eve@millbrook.example, by mail: high alerts on tunnel-1, in the shifts early, late, unanswered for 10 min
";
        assert_eq!(told(receivers), expected);
        assert_eq!(told(""), "", "a mail server alone tells nobody");
    }

    #[test]
    fn a_time_at_which_nobody_is_told_of_a_high_alert_is_warned_of() {
        let to = "to = [\"ann@millbrook.example\"]";
        let late = told(&format!("[notify.a]\n{to}\nshifts = [\"early\", \"late\"]\n[notify.b]\n{to}\nafter_min = 5"));
        assert!(late.contains("high alert on tunnel-1 in the shifts night: let"), "{late}");
        assert!(late.contains("high alert on tunnel-2 in the shifts night: let"), "{late}");
        let one = told(&format!("[notify.a]\n{to}\nlines = [\"tunnel-1\"]\nquiet = {{ shifts = [\"night\"] }}"));
        assert!(
            !one.contains("on tunnel-1 in") && one.contains("on tunnel-2 in the shifts early, late, night"),
            "{one}"
        );
    }
}
