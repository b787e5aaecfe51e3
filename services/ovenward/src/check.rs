//! `ovenward check`: the config held against its rules, and what it comes to.

mod receivers;

use std::io::{self, Write};
use std::path::Path;

use broker::CertificateEnd;
use chrono::NaiveDate;
use reading::{Line, LineIndex, Plant, ShiftCalendar, ShiftInstance, Timestamp};
use web::Certificate;

use crate::certificates;
use crate::config::{self, Settings};
use crate::failure::Failure;
use crate::service::PlantClock;

/// Says every fault of the config at once, or what the config comes to.
///
/// # Errors
/// The faults, or a result that cannot be written.
pub fn run(path: &Path, out: &mut dyn Write) -> Result<(), Failure> {
    let settings = config::load(path).map_err(Failure::Config)?;
    writeln!(out, "{} is in order.\n", path.display())?;
    Ok(describe(&settings, out)?)
}

/// Site, shifts, ovens, and what goes where: enough to see that the config means what was meant.
fn describe(settings: &Settings, out: &mut dyn Write) -> io::Result<()> {
    let plant = &settings.plant;
    let (pressure, time_zone) = (plant.pressure.0 / 1000.0, plant.shifts.time_zone());
    writeln!(out, "{} ({}), {pressure:.2} kPa, {time_zone}", plant.name, plant.site)?;
    for shift in week_of(&plant.shifts) {
        writeln!(out, "  {shift}")?;
    }
    for (index, line) in plant.lines.iter().enumerate() {
        describe_line(plant, LineIndex(index), line, out)?;
    }
    describe_traffic(settings, out)?;
    receivers::describe(settings, out)
}

/// Every kind of shift in a week without a change of clocks: name, local time, length and days.
fn week_of(calendar: &ShiftCalendar) -> Vec<String> {
    let monday = NaiveDate::from_ymd_opt(2026, 1, 12).unwrap_or_default();
    let shifts: Vec<ShiftInstance> = monday.iter_days().take(7).flat_map(|date| calendar.on(date)).collect();
    let describe = |shift: &ShiftInstance| {
        let (starts, ends) = (calendar.wall_clock(shift.starts), calendar.wall_clock(shift.ends));
        format!("{} {starts} to {ends}, {} h", shift.name, (shift.ends - shift.starts).as_seconds() / 3600.0)
    };
    let mut kinds: Vec<(String, Vec<String>)> = Vec::new();
    for shift in &shifts {
        let (kind, day) = (describe(shift), shift.date.format("%a").to_string());
        match kinds.iter_mut().find(|(other, _)| *other == kind) {
            Some((_, days)) => days.push(day),
            None => kinds.push((kind, vec![day])),
        }
    }
    let on_days = |(kind, days): (String, Vec<String>)| match days.len() {
        7 => kind,
        _ => format!("{kind}, {}", days.join(" ")),
    };
    kinds.into_iter().map(on_days).collect()
}

fn describe_line(plant: &Plant, index: LineIndex, line: &Line, out: &mut dyn Write) -> io::Result<()> {
    let lengths: Vec<String> = line.zones.iter().map(|zone| zone.length.0.to_string()).collect();
    let (zones, signals) = (lengths.join(" + "), plant.signals.of_line(index).count());
    writeln!(out, "\n{} ({}): {} m in zones of {zones} m, {signals} signals", line.name, line.id, line.length().0)?;
    for product in &plant.products {
        let Some(minutes) = product.bake_time_min else { continue };
        let speed = line.speed_for_bake_time(minutes).0;
        writeln!(out, "  {} bakes {minutes} min at {speed:.2} m/min", product.code)?;
    }
    Ok(())
}

fn describe_traffic(settings: &Settings, out: &mut dyn Write) -> io::Result<()> {
    let Settings { plant, broker, publish, data_dir, console, .. } = settings;
    let topics = settings.topics_read();
    writeln!(out, "\nkeeps data in {}", data_dir.display())?;
    writeln!(out, "shows the console at {}", console.url())?;
    // The config was read: its certificate can be.
    let certificate = console.tls.clone().and_then(|files| Certificate::read(files).ok());
    let console = certificate.as_ref().map(certificates::of_console);
    if let Some(warning) = certificates::warning(&console, PlantClock::Machine.now()) {
        writeln!(out, "WARNING: {warning}: renew it, or browsers refuse the console.")?;
    }
    match &settings.sparkplug.host {
        None => writeln!(out, "writes {}/{}/... and nothing else", publish.root, plant.site)?,
        Some(id) => describe_host(settings, id, out)?,
    }
    if let Some(database) = &settings.sql {
        let how = if database.address.is_encrypted() { "encrypted" } else { "unencrypted" };
        writeln!(out, "writes into the database {}, {how}", database.address)?;
    }
    for certificate in broker.certificate_ends() {
        describe_certificate(&certificate, PlantClock::Machine.now(), out)?;
    }
    writeln!(out, "reads {} topics at {} as {}:", topics.len(), broker.address(), broker.client_id)?;
    topics.iter().try_for_each(|topic| writeln!(out, "  {topic}"))?;
    if settings.edge_nodes().names().next().is_some() {
        writeln!(out, "{WITHOUT_ACKNOWLEDGEMENT}")?;
    }
    Ok(())
}

/// When a certificate ends, and a warning while there is time.
pub(crate) fn describe_certificate(
    certificate: &CertificateEnd,
    now: Timestamp,
    out: &mut dyn Write,
) -> io::Result<()> {
    match certificates::warning([certificate], now) {
        Some(warning) => writeln!(out, "WARNING: {warning}: renew it, or nothing connects to the broker any more."),
        None => writeln!(out, "{} ends on {}", certificate.whose, certificates::date(Timestamp(certificate.ends_us))),
    }
}

/// What Sparkplug asks of edge nodes, and what it means.
const WITHOUT_ACKNOWLEDGEMENT: &str = "\
Edge nodes send their data without acknowledgement (QoS 0): what is on its way when a connection breaks, or when this
machine fails, is lost. A hole in the sequence numbers shows it, and is kept as a gap.";

/// A host application writes outside of its own tree.
fn describe_host(settings: &Settings, id: &str, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "writes {}/{}/...,", settings.publish.root, settings.plant.site)?;
    writeln!(out, "  {}, that it is there, as the host application {id},", sparkplug::host::state_topic(id))?;
    for node in settings.edge_nodes().names() {
        writeln!(out, "  {}, asking for the birth and never for anything else,", sparkplug::host::command_topic(node))?;
    }
    writeln!(out, "  and nothing else")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const CONFIG: &str = r#"
[site]
id = "millbrook"
name = "Millbrook Bakery"
time_zone = "Europe/London"
pressure_kpa = 100.2

[broker]
url = "mqtt://broker.plant"

[[shift]]
name = "night"
starts = "22:00"
days = ["mon", "tue", "wed", "thu", "fri"]

[[shift]]
name = "day"
starts = "06:00"
days = ["mon", "tue", "wed", "thu", "fri"]

[[product]]
code = "T800"
bake_time_min = 24

[[line]]
id = "tunnel-1"
firing = "direct"
zones = 2

[line.signals]
band_speed = "mill/{line}/band"

[defaults.zone]
length_m = 7.5

[defaults.zone.signals]
dew_point = "mill/{line}/z{zone}/dew"
"#;

    #[test]
    fn a_config_in_order_is_told_in_few_words() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plant.toml");
        std::fs::write(&path, CONFIG).unwrap();
        let mut out = Vec::new();
        run(&path, &mut out).unwrap();
        let told = String::from_utf8(out).unwrap().replace(&folder.path().display().to_string(), "FOLDER");
        let expected = "\
FOLDER/plant.toml is in order.

Millbrook Bakery (millbrook), 100.20 kPa, Europe/London
  day 06:00 to 22:00, 16 h, Mon Tue Wed Thu Fri
  night 22:00 to 06:00, 8 h, Mon Tue Wed Thu
  night 22:00 to 06:00, 56 h, Fri

tunnel-1 (tunnel-1): 15 m in zones of 7.5 + 7.5 m, 3 signals
  T800 bakes 24 min at 0.62 m/min

keeps data in FOLDER/data
shows the console at http://127.0.0.1:8080
writes ovenward/millbrook/... and nothing else
reads 3 topics at broker.plant:1883 as ovenward-millbrook:
  mill/tunnel-1/band
  mill/tunnel-1/z1/dew
  mill/tunnel-1/z2/dew
";
        assert_eq!(told, expected);
    }

    #[test]
    fn what_a_host_application_writes_and_what_qos_0_means_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plant.toml");
        let band = "{ topic = \"Millbrook/gateway-1/{line}\", metric = \"band\", payload = \"sparkplug\" }";
        let config = CONFIG.replace("\"mill/{line}/band\"", band);
        let told = |config: &str| {
            std::fs::write(&path, config).unwrap();
            let mut out = Vec::new();
            run(&path, &mut out).unwrap();
            String::from_utf8(out).unwrap()
        };
        let passive = told(&config);
        assert!(passive.contains("writes ovenward/millbrook/... and nothing else\nreads 8 topics"), "{passive}");
        assert!(passive.contains("\n  spBv1.0/Millbrook/DDATA/gateway-1/+\n"), "{passive}");
        assert!(passive.contains("without acknowledgement (QoS 0)"), "{passive}");
        let host = told(&format!("[sparkplug]\nmode = \"host\"\n{config}"));
        let writes = "\
writes ovenward/millbrook/...,
  spBv1.0/STATE/ovenward-millbrook, that it is there, as the host application ovenward-millbrook,
  spBv1.0/Millbrook/NCMD/gateway-1, asking for the birth and never for anything else,
  and nothing else
";
        assert!(host.contains(writes), "{host}");
        assert!(!told(CONFIG).contains("QoS 0"));
    }

    #[test]
    fn a_faulty_config_is_told_fault_by_fault() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plant.toml");
        std::fs::write(&path, CONFIG.replace("firing", "firng").replace("pressure_kpa = 100.2", "")).unwrap();
        let mut out = Vec::new();
        let failure = run(&path, &mut out).unwrap_err();
        assert_eq!((failure.status(), out.len()), (2, 0));
        assert_eq!(failure.to_string().matches("write: ").count(), 2, "{failure}");
    }
}
