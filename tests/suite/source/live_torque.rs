//! Readings made of live torque.

use clampbook::adapter::live::Live;
use clampbook::adapter::source::SourceEvent;
use clampbook::adapter::translate;
use clampbook::core::event::ReadingKey;
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;

#[test]
fn live_torque_becomes_readings_that_claim_no_more_than_they_can() {
    let mut live = Live::new(translate::live_only_info("LK-0001"));
    let mut events = Vec::new();
    for connection in [100.0, 200.0] {
        events.extend(live.connected(Stamp::from_seconds(connection)));
        for index in 0..120 {
            let at = Stamp::from_seconds(connection + 1.0 + f64::from(index) * 0.05);
            let nm = (60.0 - (f64::from(index % 60) - 20.0).abs() * 4.0).max(0.0);
            events.extend(live.sample(at, Torque::from_nm(nm)));
        }
        events.extend(live.disconnected(Stamp::from_seconds(connection + 9.0)));
    }
    let told: Vec<String> = events
        .iter()
        .filter_map(|event| match event {
            SourceEvent::Adapter { info, .. } => Some(format!("adapter {}", info.id)),
            SourceEvent::Reading {
                key: ReadingKey::Arrival { connection, arrival, .. },
                at,
                reading,
                ..
            } => Some(format!(
                "{}/{arrival}: {} of {} N·m at {:.2}",
                connection / 1_000_000,
                reading.seq,
                reading.peak.nm(),
                at.seconds()
            )),
            SourceEvent::Link { change, .. } => Some(format!("{:?}", change.state)),
            SourceEvent::Trouble { trouble, .. } => Some(trouble.message.clone()),
            SourceEvent::Live { .. } => None,
            other => Some(format!("{other:?}")),
        })
        .collect();
    assert_eq!(
        told,
        [
            "adapter LK-0001",
            "tells only its present torque: a pull that is not heard is lost, and nothing tells so",
            "Back",
            "100/1: 1 of 60 N·m at 102.00",
            "100/2: 2 of 60 N·m at 105.00",
            "Lost",
            "was out of reach: pulls made meanwhile are lost",
            "Back",
            "200/1: 3 of 60 N·m at 202.00",
            "200/2: 4 of 60 N·m at 205.00",
            "Lost",
        ]
    );
}
