//! The service itself, and the sheets of finished shifts: last, and small.

use crate::html::Element;
use crate::page::clock::Clock;
use crate::page::figure;
use crate::status::{BrokerStatus, PlantStatus, ShiftLink, StoreStatus};

/// The sheets and the state of the service.
pub(crate) fn summary(status: &PlantStatus, clock: &Clock) -> Element {
    Element::of("div", "service", "")
        .attribute("data-part", "service")
        .child(sheets(status))
        .child(section("Readings", broker(&status.broker, clock)))
        .child(section("Kept on disk", store(&status.store, clock)))
}

/// Where machines read the same.
pub(crate) fn footer(status: &PlantStatus) -> Element {
    let link = |href, text| Element::new("a").attribute("href", href).text(text);
    Element::new("footer")
        .child(
            Element::new("p").text(format_args!(
                "Ovenward {}. It listens and advises; it never commands the plant.",
                status.version
            )),
        )
        .child(
            Element::new("nav")
                .attribute("aria-label", "For machines")
                .child(link("/api/v1/status", "Status"))
                .child(link("/api/v1/alerts", "Alerts"))
                .child(link("/metrics", "Metrics")),
        )
}

fn section(heading: &'static str, facts: Vec<(String, String)>) -> Element {
    let facts = facts.into_iter().map(|(term, value)| {
        Element::new("div").child(Element::new("dt").text(term)).child(Element::new("dd").text(value))
    });
    Element::new("section").child(Element::new("h2").text(heading)).child(Element::new("dl").children(facts))
}

fn broker(broker: &BrokerStatus, clock: &Clock) -> Vec<(String, String)> {
    let fact = |term: &str, value| (term.to_owned(), value);
    let since = broker.since.as_deref().map_or_else(String::new, |since| format!(" since {}", clock.say(since)));
    let link = if broker.connected { format!("{}, connected", broker.protocol) } else { "not connected".to_owned() };
    let mut facts = vec![
        fact("Broker", format!("{link}{since}")),
        fact("Rate", format!("{:.0} a second", broker.readings_per_s)),
        fact("Taken", figure::count(broker.readings_total)),
        fact("Too late", figure::count(broker.late)),
    ];
    let rejected = broker.rejected.iter().filter(|rejected| rejected.count > 0);
    facts.extend(rejected.map(|rejected| (format!("Rejected, {}", rejected.reason), figure::count(rejected.count))));
    facts
}

fn store(store: &StoreStatus, clock: &Clock) -> Vec<(String, String)> {
    let fact = |term: &str, value| (term.to_owned(), value);
    let mut facts = vec![
        fact("Readings", figure::count(store.readings)),
        fact("Since", store.oldest.as_deref().map_or_else(|| "–".to_owned(), |oldest| clock.say(oldest))),
        fact("Sealed", format!("{} in {} files", figure::bytes(store.sealed_bytes), figure::count(store.segments))),
        fact("Not yet sealed", figure::bytes(store.hot_bytes)),
        fact("To be published", figure::count(store.outbox)),
    ];
    facts.extend(store.free_bytes.map(|free| fact("Free on disk", figure::bytes(free))));
    facts
}

/// The sheets, by date and shift, with a link for each line.
fn sheets(status: &PlantStatus) -> Element {
    let mut list = Element::new("dl");
    for shifts in status.shifts.chunk_by(|a, b| (&a.date, &a.shift) == (&b.date, &b.shift)) {
        let links = shifts.iter().map(|shift| sheet(shift, status));
        let when = shifts.first().map_or_else(String::new, |shift| format!("{} {}", shift.date, shift.shift));
        let row = Element::new("div").child(Element::new("dt").text(when));
        list = list.child(row.child(Element::new("dd").children(links)));
    }
    let nothing = status.shifts.is_empty().then(|| Element::new("p").text("No shift has ended yet."));
    Element::new("section").child(Element::new("h2").text("Shift sheets")).children(nothing).child(list)
}

fn sheet(shift: &ShiftLink, status: &PlantStatus) -> Element {
    let name = status.lines.iter().find(|line| line.id == shift.line).map_or(&shift.line, |line| &line.name);
    Element::new("a").attribute("href", &shift.href).text(name)
}
