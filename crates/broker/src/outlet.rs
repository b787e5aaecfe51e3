//! What waits between the connection and a consumer that has no time just now.
//!
//! The connection must be served at every moment (keep-alive, acknowledgements), so nothing here
//! ever waits for the consumer *instead of* the network: [`Outlet::during`] hands out events while
//! something else is awaited.

use std::collections::VecDeque;
use std::pin::pin;

use tokio::sync::mpsc;

use crate::intake::{Delivery, IntakeEvent};

/// Messages in one [`IntakeEvent::Delivered`]: enough to spread the cost of a channel and of a
/// transaction, few enough to be soon on its way.
const LARGEST_BATCH: usize = 512;

/// Batches in the channel; what does not fit waits in the outlet.
const CHANNEL: usize = 8;

/// With this much waiting, in bytes, messages of QoS 0 are dropped: the broker sends them whether or
/// not there is room. Those of QoS 1 are not; there the broker itself stops at the receive maximum.
const LARGEST_BACKLOG: usize = 64 << 20;

pub(crate) struct Outlet {
    /// None once the consumer has been told that nothing follows.
    channel: Option<mpsc::Sender<IntakeEvent>>,
    queue: VecDeque<IntakeEvent>,
    /// What the queue holds, in bytes.
    backlog: usize,
    finishing: bool,
}

impl Outlet {
    pub(crate) fn new() -> (Self, mpsc::Receiver<IntakeEvent>) {
        let (channel, receiver) = mpsc::channel(CHANNEL);
        let outlet = Self { channel: Some(channel), queue: VecDeque::new(), backlog: 0, finishing: false };
        (outlet, receiver)
    }

    /// Queues an event.
    pub(crate) fn tell(&mut self, event: IntakeEvent) {
        if self.finishing {
            return;
        }
        match (self.queue.back_mut(), &event) {
            // A consumer that sleeps through an outage needs the last reason, not all of them.
            (Some(last @ IntakeEvent::Disconnected { .. }), IntakeEvent::Disconnected { .. }) => *last = event,
            _ => self.queue.push_back(event),
        }
    }

    /// Whether so much waits that a message which the broker does not keep has to be dropped.
    pub(crate) fn is_full(&self) -> bool {
        self.backlog >= LARGEST_BACKLOG
    }

    /// Whether nothing more is accepted.
    pub(crate) fn is_finishing(&self) -> bool {
        self.finishing
    }

    /// Whether nobody takes what is handed out.
    pub(crate) fn is_abandoned(&self) -> bool {
        self.channel.as_ref().is_some_and(mpsc::Sender::is_closed)
    }

    /// Queues a message.
    pub(crate) fn deliver(&mut self, delivery: Delivery) {
        if self.finishing {
            return;
        }
        self.backlog += bytes_of_one(&delivery);
        match self.queue.back_mut() {
            Some(IntakeEvent::Delivered(batch)) if batch.len() < LARGEST_BATCH => batch.push(delivery),
            _ => {
                // A full batch goes as soon as it can, however busy the connection is.
                self.send_ready();
                self.queue.push_back(IntakeEvent::Delivered(vec![delivery]));
            }
        }
    }

    /// Takes back the messages of a connection that has ended, unless they asked for no
    /// acknowledgement: the broker sends the others again.
    pub(crate) fn take_back(&mut self) {
        for event in &mut self.queue {
            if let IntakeEvent::Delivered(batch) = event {
                batch.retain(|delivery| delivery.token == crate::Token::NONE);
            }
        }
        self.queue.retain(|event| !matches!(event, IntakeEvent::Delivered(batch) if batch.is_empty()));
        self.backlog = self.queue.iter().map(bytes).sum();
    }

    /// Accepts nothing more; closes the channel behind the last event.
    pub(crate) fn finish(&mut self) {
        self.finishing = true;
        if self.queue.is_empty() {
            self.channel = None;
        }
    }

    /// Sends what the channel has room for, without waiting.
    fn send_ready(&mut self) {
        while !self.queue.is_empty() {
            let Some(channel) = &self.channel else { return };
            let Ok(permit) = channel.try_reserve() else { return };
            if let Some(event) = self.queue.pop_front() {
                self.backlog -= bytes(&event);
                permit.send(event);
            }
        }
    }

    /// Awaits `future` and meanwhile hands out what waits here. `future` goes first: while it is
    /// ready at once, messages gather into larger batches.
    pub(crate) async fn during<T>(&mut self, future: impl Future<Output = T>) -> T {
        let mut future = pin!(future);
        loop {
            tokio::select! {
                biased;
                value = &mut future => return value,
                () = self.send_next() => {}
            }
        }
    }

    /// Waits for room and sends one event; never returns if there is nothing to send.
    async fn send_next(&mut self) {
        let permit = match &self.channel {
            Some(channel) if !self.queue.is_empty() => channel.reserve().await.ok(),
            _ => std::future::pending().await,
        };
        match (permit, self.queue.pop_front()) {
            (Some(permit), Some(event)) => {
                self.backlog -= bytes(&event);
                permit.send(event);
            }
            // The consumer is gone: what is unacknowledged stays with the broker.
            _ => self.queue.clear(),
        }
        if self.finishing && self.queue.is_empty() {
            self.channel = None;
        }
    }
}

/// The memory that an event holds.
fn bytes(event: &IntakeEvent) -> usize {
    match event {
        IntakeEvent::Delivered(batch) => batch.iter().map(bytes_of_one).sum(),
        _ => 0,
    }
}

fn bytes_of_one(delivery: &Delivery) -> usize {
    size_of::<Delivery>() + delivery.topic.len() + delivery.payload.len()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use std::future::pending;
    use std::time::Duration;

    use tokio::time::timeout;

    use super::*;
    use crate::{Acknowledger, Token};

    fn message(payload: &[u8]) -> Delivery {
        Delivery {
            topic: "mill/a".to_owned(),
            payload: payload.to_vec(),
            retained: false,
            duplicate: false,
            received_us: 0,
            token: Token::NONE,
        }
    }

    fn disconnected(reason: &str) -> IntakeEvent {
        IntakeEvent::Disconnected { reason: reason.to_owned() }
    }

    #[test]
    fn of_several_failed_attempts_the_last_is_told() {
        let (mut outlet, mut events) = Outlet::new();
        outlet.tell(disconnected("first"));
        outlet.tell(disconnected("second"));
        outlet.send_ready();
        assert_eq!(events.try_recv(), Ok(disconnected("second")));
        assert!(events.try_recv().is_err());
    }

    #[test]
    fn what_the_broker_sends_again_is_taken_back_and_nothing_else() {
        let (mut outlet, mut events) = Outlet::new();
        let acknowledger = Acknowledger::new();
        let [_, token] = [1, 2].map(|packet_id| acknowledger.receive(packet_id));
        outlet.deliver(Delivery { token, ..message(b"again") });
        outlet.deliver(message(b"once"));
        outlet.tell(disconnected("why"));
        outlet.take_back();
        outlet.send_ready();
        assert_eq!(events.try_recv(), Ok(IntakeEvent::Delivered(vec![message(b"once")])));
        assert_eq!(events.try_recv(), Ok(disconnected("why")));
        assert!(events.try_recv().is_err());
        assert_eq!(outlet.backlog, 0);
    }

    #[test]
    fn it_is_full_by_the_memory_held_and_no_longer_when_that_is_taken() {
        let (mut outlet, mut events) = Outlet::new();
        let large = message(&vec![0; 1 << 20]);
        for _ in 0..64 {
            assert!(!outlet.is_full());
            outlet.deliver(large.clone());
        }
        assert!(outlet.is_full());
        outlet.send_ready();
        assert!(!outlet.is_full());
        assert!(events.try_recv().is_ok());
    }

    #[tokio::test]
    async fn batches_keep_the_order_and_their_size_while_the_consumer_is_slow() {
        let (mut outlet, mut events) = Outlet::new();
        let count = LARGEST_BATCH * (CHANNEL + 3) + 1;
        for number in 0..count {
            outlet.deliver(message(&number.to_ne_bytes()));
        }
        outlet.finish();
        let consumer = async {
            let mut taken = Vec::new();
            while let Some(IntakeEvent::Delivered(batch)) = events.recv().await {
                assert!(batch.len() <= LARGEST_BATCH);
                taken.extend(batch.into_iter().map(|delivery| delivery.payload));
            }
            taken
        };
        let taken = timeout(Duration::from_secs(5), async {
            tokio::select! { taken = consumer => taken, () = outlet.during(pending()) => Vec::new() }
        });
        assert_eq!(taken.await.unwrap(), (0..count).map(|number| number.to_ne_bytes().to_vec()).collect::<Vec<_>>());
    }
}
