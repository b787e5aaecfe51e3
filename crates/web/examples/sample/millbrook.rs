//! Millbrook Bakery. All of it is invented.

use std::sync::Arc;

use serde_json::{Value, json};
use tokio::sync::watch;
use web::{
    BrokerStatus, LineStatus, PlantStatus, RejectedCount, ShiftLink, Sources, StoreStatus, SuppressionStatus,
    ZoneStatus,
};

use crate::examples::Examples;

/// Sources that show this status.
pub(crate) fn sources(status: watch::Receiver<Arc<PlantStatus>>) -> Sources {
    Sources {
        status,
        metrics: Arc::new(|| "# TYPE readings counter\nreadings_total 1284310\n# EOF\n".to_owned()),
        shift_sheet: Arc::new(|line, date, shift| {
            (line == "tunnel-1").then(|| format!("<!doctype html><title>{line} {date} {shift}</title><h1>Sheet</h1>"))
        }),
        users: None,
        certificate: None,
        answers: Arc::new(Examples::default()),
    }
}

/// One oven is overloaded, one is rising, one stands.
pub(crate) fn overloaded() -> PlantStatus {
    let mut status = calm();
    let first = &mut status.lines[0];
    first.load = "overloaded".into();
    first.load_since = Some("2026-10-06T13:09:00Z".into());
    first.band_speed_m_min = Some(1.41);
    first.zones = vec![
        zone(1, [41.8, 38.0, 36.1, 39.9], [232.0, 77.6, 35.0]),
        zone(2, [21.4, 17.3, 15.6, 19.0], [246.0, 61.8, 45.0]),
        zone(3, [6.2, 4.9, 4.1, 5.7], [228.0, 37.0, 60.0]),
    ];
    let second = &mut status.lines[1];
    second.load = "rising".into();
    second.load_since = Some("2026-10-06T13:27:00Z".into());
    second.band_speed_m_min = Some(1.08);
    status.alerts.insert(0, carryover());
    status
}

/// The overload is acknowledged and commented, sensor faults of another line are shelved, with one standing, and a
/// limit is out of service.
pub(crate) fn answered() -> PlantStatus {
    let mut status = overloaded();
    let alert = &mut status.alerts[0];
    alert["state"] = json!("acknowledged");
    alert["acknowledged_by"] = json!("Ann");
    alert["acknowledged_at"] = json!("2026-10-06T13:12:00Z");
    alert["comments"] = json!([{ "by": "Ann", "at": "2026-10-06T13:12:00Z", "text": "Opening the damper of zone 2." }]);
    status.alerts.push(stuck());
    status.suppressions = vec![
        SuppressionStatus {
            line: "tunnel-2".into(),
            kind: "sensor-fault".into(),
            since: "2026-10-06T12:40:00Z".into(),
            until: Some("2026-10-06T15:00:00Z".into()),
            reason: "The sensor of zone 4 is changed at three.".into(),
            by: "Ben".into(),
        },
        SuppressionStatus {
            line: "tunnel-3".into(),
            kind: "zone3-limit".into(),
            since: "2026-10-05T06:20:00Z".into(),
            until: None,
            reason: "The burner of zone 3 is rebuilt.".into(),
            by: "Ann".into(),
        },
    ];
    status
}

/// The overload is shelved: nothing calls.
pub(crate) fn shelved() -> PlantStatus {
    let mut status = answered();
    let shelf = SuppressionStatus {
        line: "tunnel-1".into(),
        kind: "unmatched-speed-rise".into(),
        ..status.suppressions[0].clone()
    };
    status.suppressions.insert(0, SuppressionStatus { reason: "Trial run at 1.41 m/min.".into(), ..shelf });
    status.alerts[0]["state"] = json!("shelved");
    status.lines[1].load = "normal".into();
    status
}

/// Nothing needs a person.
pub(crate) fn calm() -> PlantStatus {
    PlantStatus {
        site: "millbrook".into(),
        name: "Millbrook Bakery".into(),
        version: "0.1.0".into(),
        now: "2026-10-06T14:31:10+01:00".into(),
        ready: true,
        problems: Vec::new(),
        broker: BrokerStatus {
            connected: true,
            protocol: "MQTT 5".into(),
            since: Some("2026-10-06T04:58:12Z".into()),
            readings_per_s: 36.4,
            readings_total: 1_284_310,
            late: 12,
            rejected: vec![RejectedCount { reason: "not a number".into(), count: 3 }],
        },
        store: StoreStatus {
            readings: 214_806_112,
            oldest: Some("2026-03-02T06:00:00Z".into()),
            hot_bytes: 48_200_000,
            segments: 654,
            sealed_bytes: 137_400_000,
            free_bytes: Some(412_000_000_000),
            outbox: 0,
        },
        lines: lines(),
        alerts: vec![steam_short()],
        suppressions: Vec::new(),
        shifts: shifts(),
    }
}

/// The broker is away: what the ovens do is not known.
pub(crate) fn trouble() -> PlantStatus {
    let mut status = calm();
    status.ready = false;
    status.problems = vec!["No connection to the broker mqtt://127.0.0.1:1883 since 14:20: connection refused.".into()];
    status.broker.connected = false;
    status.broker.since = Some("2026-10-06T13:20:02Z".into());
    status.broker.readings_per_s = 0.0;
    for line in &mut status.lines {
        line.newest = Some("2026-10-06T13:20:01Z".into());
        line.load = "unknown".into();
    }
    status
}

fn lines() -> Vec<LineStatus> {
    let line = |id: &str, name: &str| LineStatus {
        id: id.into(),
        name: name.into(),
        newest: Some("2026-10-06T13:31:09Z".into()),
        load_since: Some("2026-10-06T12:04:00Z".into()),
        ..LineStatus::default()
    };
    vec![
        LineStatus {
            state: "baking".into(),
            load: "normal".into(),
            product: Some("T800".into()),
            band_speed_m_min: Some(1.24),
            normal: Some("tunnel-1/T800/3".into()),
            zones: vec![
                zone(1, [37.2, 37.4, 35.5, 39.3], [233.0, 75.1, 35.0]),
                zone(2, [16.4, 16.6, 14.9, 18.3], [247.0, 56.2, 45.0]),
                zone(3, [4.6, 4.7, 3.9, 5.5], [229.0, 31.5, 60.0]),
            ],
            ..line("tunnel-1", "Tunnel oven 1")
        },
        LineStatus {
            state: "baking".into(),
            load: "normal".into(),
            product: Some("ROLL-60".into()),
            band_speed_m_min: Some(1.02),
            normal: Some("tunnel-2/ROLL-60/1".into()),
            zones: vec![
                zone(1, [33.9, 33.1, 31.0, 35.2], [241.0, 72.9, 30.0]),
                zone(2, [14.8, 14.4, 12.7, 16.1], [252.0, 54.1, 50.0]),
                zone(3, [5.3, 5.0, 4.1, 5.9], [236.0, 34.1, 55.0]),
                zone(4, [3.2, 3.1, 2.5, 3.7], [214.0, 25.4, 70.0]),
            ],
            ..line("tunnel-2", "Tunnel oven 2")
        },
        LineStatus {
            state: "stopped".into(),
            load: "unknown".into(),
            band_speed_m_min: Some(0.0),
            zones: [(1, 2.3, 187.0), (2, 2.1, 196.0), (3, 1.9, 181.0)]
                .map(|(zone, moisture, air)| ZoneStatus {
                    zone,
                    moisture_pct: Some(moisture),
                    air_temperature_c: Some(air),
                    exhaust_damper_pct: Some(20.0),
                    ..ZoneStatus::default()
                })
                .to_vec(),
            ..line("tunnel-3", "Tunnel oven 3")
        },
    ]
}

fn zone(zone: usize, [moisture, expected, low, high]: [f64; 4], [air, dew_point, damper]: [f64; 3]) -> ZoneStatus {
    ZoneStatus {
        zone,
        moisture_pct: Some(moisture),
        expected_pct: Some(expected),
        low_pct: Some(low),
        high_pct: Some(high),
        air_temperature_c: Some(air),
        dew_point_c: Some(dew_point),
        exhaust_damper_pct: Some(damper),
    }
}

/// An alert that stands.
pub(crate) fn carryover() -> Value {
    json!({
        "id": "01K6X8Q0V3M4T7R2B5N9C1D6E8", "site": "millbrook", "line": "tunnel-1", "kind": "unmatched-speed-rise",
        "finding": "carryover", "priority": "high", "state": "unacknowledged", "product": "T800",
        "began": "2026-10-06T13:02:00Z", "raised": "2026-10-06T13:09:00Z", "ended": null,
        "speed": { "before": 1.24, "after": 1.41, "rise_pct": 13.7, "unit": "m/min" },
        "zones": [
            { "zone": 1, "before": 37.2, "observed": 41.8, "expected": 38.0, "low": 36.1, "high": 39.9, "unit": "% vol", "z": 3.9 },
            { "zone": 2, "before": 16.4, "observed": 21.4, "expected": 17.3, "low": 15.6, "high": 19.0, "unit": "% vol", "z": 4.7 },
            { "zone": 3, "before": 4.6, "observed": 6.2, "expected": 4.9, "low": 4.1, "high": 5.7, "unit": "% vol", "z": 3.2 }
        ],
        "confidence": 0.998, "normal": "tunnel-1/T800/3",
        "message": "Band up 13.7 % at 14:02; zone 3 holds 6.2 % vol, 1.3 above normal for this speed: moisture is being carried past zone 2.",
        "advice": [
            { "step": "check-steam-valve", "text": "Steam first: is the valve where it was, and the steam time as set?" },
            { "step": "open-exhaust", "zone": 2, "to_pct": 58, "text": "Open the exhaust of zone 2 from 45 to about 58 %." },
            { "step": "slow-band", "to_m_min": 1.27, "text": "If that is not enough, slow the band from 1.41 to about 1.27 m/min." }
        ],
        "caution": "Advice only: keep within the oven maker's limits, the plant's rules and local codes. Exhaust, burner and steam are set by the people licensed for them. Nothing here says that a product is safe to eat."
    })
}

fn stuck() -> Value {
    json!({
        "id": "01K6X9A1B2C3D4E5F6G7H8J9K0", "site": "millbrook", "line": "tunnel-2", "kind": "sensor-fault",
        "finding": "stuck", "priority": "medium", "state": "shelved", "product": "ROLL-60",
        "began": "2026-10-06T12:31:00Z", "raised": "2026-10-06T12:34:00Z", "ended": null,
        "message": "Dew point of zone 4: the same value again and again since 13:31. Alerts that need it are blind there.",
        "zones": [], "advice": [], "caution": "Advice only. Keep to the oven maker's limits."
    })
}

fn steam_short() -> Value {
    json!({
        "id": "01K6WZ3E7H2J5K8M1P4Q7R0S3T", "site": "millbrook", "line": "tunnel-2", "kind": "unmatched-speed-rise",
        "finding": "steam-short", "priority": "medium", "state": "returned-acknowledged", "product": "ROLL-60",
        "began": "2026-10-06T08:12:00Z", "raised": "2026-10-06T08:19:00Z", "ended": "2026-10-06T08:40:00Z",
        "message": "Band up 8.1 % at 09:12; zone 1 holds 27.5 % vol, 5.2 below normal for this speed: the steam did not keep up with the load.",
        "zones": [], "advice": [], "caution": "Advice only. Keep to the oven maker's limits.",
        "acknowledged_by": "Ben", "acknowledged_at": "2026-10-06T08:24:00Z"
    })
}

fn shifts() -> Vec<ShiftLink> {
    let shift = |line: &str, date: &str, shift: &str| ShiftLink {
        line: line.into(),
        date: date.into(),
        shift: shift.into(),
        href: format!("/shifts/{line}/{date}/{shift}"),
    };
    [("2026-10-06", "early"), ("2026-10-05", "night"), ("2026-10-05", "late"), ("2026-10-05", "early")]
        .iter()
        .flat_map(|(date, name)| ["tunnel-1", "tunnel-2", "tunnel-3"].map(|line| shift(line, date, name)))
        .collect()
}
