//! The whole file: section by section, then what must fit between them.

use chrono_tz::Tz;
use reading::{Plant, Quantity, ShiftCalendar, SignalMap};

use super::defaults::Defaults;
use super::line::LineRead;
use super::notify::Names;
use super::publish::PublishSettings;
use super::section::Section;
use super::signal::Placed;
use super::{
    Settings, broker, console, costs, detection, energy, lake, learning, line, mail, notify, product, publish, shelves,
    shift, signals, site, sparkplug, sql, store,
};

/// Reads every section; `None` if something is wrong without which there are no settings.
pub(super) fn read(root: &Section<'_>) -> Option<Settings> {
    let site_section = required(root, "site", "with id, time_zone and elevation_m");
    let broker_section = required(root, "broker", "with url");
    let site = site_section.and_then(|section| site::read(&section));
    let broker = broker_section.map(|section| broker::read(&section, site.as_ref().map_or("site", |site| &site.id)));
    let publish = publish::read(&root.section("publish"));
    let shift_sections = root.sections("shift");
    let shifts = shift::read_all(&shift_sections);
    let shifts_are_whole = shifts.len() == shift_sections.len();
    let product_sections = root.sections("product");
    let products = product::read_all(&product_sections);
    let defaults = Defaults::new(&root.section("defaults"));
    let payloads = broker.as_ref().map(|broker| broker.payloads.clone()).unwrap_or_default();
    let lines = line::read_all(root.sections("line"), &defaults, &payloads);
    let costs = costs::read(&root.section("costs"));
    let energy = energy::read(&root.section("energy"), costs.as_ref());
    let alerts = root.section("alerts");
    let shelves = shelves::read(&alerts);
    let detection = detection::read(&root.section("detection"), &alerts);
    alerts.finish();
    let learning = learning::read(&root.section("learning"), detection.window.width.as_seconds());
    let store = store::read(&root.section("store"));
    let console = console::read(&root.section("console"));
    let calendar = ShiftCalendar::new(site.as_ref().map_or(Tz::UTC, |site| site.time_zone), shifts);
    let mail_section = root.section("mail");
    let mail_server = mail::read(&mail_section);
    let notify_section = root.section("notify");
    let names = names(&lines, shifts_are_whole, &calendar);
    let receivers = notify::read_all(&notify_section, mail_server.as_ref(), &mail_section, &names);
    let lake = lake::read(&root.section("lake"));
    let sparkplug_section = root.section("sparkplug");
    let sparkplug = sparkplug::read(&sparkplug_section, site.as_ref().map_or("site", |site| &site.id));
    let sql = sql::read(&root.section("sql"));
    if lines.is_empty() {
        root.miss("line", "there is no [[line]]", "[[line]] with id, firing, [line.signals] and [[line.zone]]");
    }
    let misspelt = root.finish();

    if !misspelt.contains(&"product") {
        refuse_unnamed_product(root, &lines, product_sections.len());
    }
    let placed: Vec<Placed> = lines.iter().flat_map(|read| &read.signals.placed).cloned().collect();
    refuse_own_topics(root, &placed, &publish);
    let signals = SignalMap::new(signals::with_tags(placed, root.faults()));
    if lines.iter().all(|read| read.signals.placed.len() == read.signals.stated.len()) {
        sparkplug::refuse_idle_host(&sparkplug_section, &sparkplug, &signals);
    }

    let site = site?;
    let plant = Plant {
        site: site.id,
        name: site.name,
        pressure: site.pressure,
        shifts: calendar,
        lines: lines.into_iter().map(|read| read.line).collect::<Option<Vec<_>>>()?,
        products,
        signals,
    };
    let broker = broker?;
    let count_dropped = broker.count_dropped;
    let broker = broker.connection?;
    Some(Settings {
        plant,
        data_dir: site.data_dir,
        broker,
        count_dropped,
        publish,
        learning,
        detection,
        shelves,
        store,
        console,
        costs,
        energy,
        receivers,
        lake,
        sparkplug,
        sql,
    })
}

/// What receivers of alerts may name.
fn names<'a>(lines: &'a [LineRead], shifts_are_whole: bool, calendar: &'a ShiftCalendar) -> Names<'a> {
    Names {
        lines: lines.iter().map(|read| read.line.as_ref().map(|line| &*line.id)).collect(),
        shifts: shifts_are_whole.then(|| calendar.names().map(|name| &**name).collect()),
    }
}

fn required<'a>(root: &Section<'a>, name: &'static str, keys: &str) -> Option<Section<'a>> {
    let section = root.section(name);
    if !section.is_present() {
        root.miss(name, format!("there is no section [{name}]"), format!("[{name}] {keys}"));
        return None;
    }
    Some(section)
}

/// With several products, and with none, only the plant can say what is in the oven.
fn refuse_unnamed_product(root: &Section<'_>, lines: &[LineRead], products: usize) {
    if products == 1 {
        return;
    }
    for line in lines.iter().filter(|line| !line.signals.stated.contains(&Quantity::Product)) {
        let message = format!("nothing says which of {products} products the line bakes");
        let advice = "product = { topic = \"mill/{line}/product\" } below [line.signals], or exactly one [[product]]";
        root.faults().add(line.at, message, advice);
    }
}

/// A topic in the tree that the service writes would make it hear itself.
fn refuse_own_topics(root: &Section<'_>, placed: &[Placed], publish: &PublishSettings) {
    for Placed { signal, at } in placed.iter().filter(|placed| !placed.signal.payload.is_sparkplug()) {
        let below = signal.topic.strip_prefix(&publish.root);
        if below.is_some_and(|below| below.is_empty() || below.starts_with('/')) {
            let message = format!("topic {:?} lies in the tree that the service writes", signal.topic);
            let advice = "a topic of the plant, or another root in [publish]";
            root.faults().add(*at, message, advice);
        }
    }
}
