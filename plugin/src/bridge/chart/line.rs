//! The queue that brings planned charts to the audio thread, and the one that brings them back to
//! be freed. The worker, or whoever plans in its place, holds one end under the cell's lock; the
//! audio thread holds the other. `progress` and `cell` import it.

use crate::engine::planned::PlannedChart;
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::Arc;

/// The most charts in the queue. While it is full, the newest chart waits outside.
const QUEUE: usize = 8;

/// The most charts that the audio thread holds: the one that plays, and the one that waits for
/// its bar line.
const HELD: usize = 2;

/// The end that sends charts.
pub struct Line {
    charts: Producer<Arc<PlannedChart>>,
    done: Consumer<Arc<PlannedChart>>,
    /// The newest chart that found the queue full.
    waiting: Option<Arc<PlannedChart>>,
}

/// The audio thread's end.
pub struct PlannedReceiver {
    charts: Consumer<Arc<PlannedChart>>,
    done: Producer<Arc<PlannedChart>>,
    /// The edition of the chart that was taken last.
    edition: u64,
}

/// Both ends.
pub fn line() -> (Line, PlannedReceiver) {
    let (charts, charts_there) = RingBuffer::new(QUEUE);
    // Room for every chart under way and for those that the other end holds.
    let (done_there, done) = RingBuffer::new(QUEUE + HELD);
    let line = Line {
        charts,
        done,
        waiting: None,
    };
    let receiver = PlannedReceiver {
        charts: charts_there,
        done: done_there,
        edition: 0,
    };
    (line, receiver)
}

impl Line {
    /// Sends a chart to the audio thread.
    pub fn send(&mut self, chart: Arc<PlannedChart>) {
        self.waiting = Some(chart);
        self.flush();
    }

    /// Frees the charts that have come back, and sends the one that waits if there is room.
    pub fn flush(&mut self) {
        while self.done.pop().is_ok() {}
        if let Some(chart) = self.waiting.take()
            && let Err(rtrb::PushError::Full(chart)) = self.charts.push(chart)
        {
            self.waiting = Some(chart);
        }
    }
}

impl PlannedReceiver {
    /// The newest chart, if there is a new one. Those before it travel back, and so do those
    /// of an older text than the last one taken. Lock-free and without allocation.
    pub fn take(&mut self) -> Option<Arc<PlannedChart>> {
        if self.charts.is_empty() {
            return None;
        }
        let mut newest: Option<Arc<PlannedChart>> = None;
        // While there is no room to send old ones back, the new ones wait.
        while self.done.slots() > HELD {
            let Ok(chart) = self.charts.pop() else { break };
            let old = if chart.edition < self.edition {
                Some(chart)
            } else {
                self.edition = chart.edition;
                newest.replace(chart)
            };
            if let Some(old) = old {
                self.give_back(old);
            }
        }
        newest
    }

    /// Sends a chart back to be freed. Lock-free and without allocation.
    pub fn give_back(&mut self, chart: Arc<PlannedChart>) {
        // There is room: this is the only end that pushes, and `take` leaves some.
        let _sent = self.done.push(chart);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::settings::PlanFor;
    use guidehand_theory::chart;

    fn planned(text: &str, edition: u64) -> Arc<PlannedChart> {
        let chart = chart::parse(text).unwrap();
        Arc::new(PlannedChart::placed(&chart, PlanFor::default(), edition))
    }

    #[test]
    fn a_late_chart_travels_back() {
        let (mut line, mut receiver) = line();
        line.send(planned("| C6 |", 2));
        line.send(planned("| F6 |", 1));
        let taken = receiver.take().unwrap();
        assert_eq!(taken.edition, 2);
        line.send(planned("| F6 |", 1));
        assert!(receiver.take().is_none());
        line.send(planned("| G6 |", 2));
        assert!(receiver.take().is_some(), "planned anew");
    }

    #[test]
    fn the_audio_thread_is_never_the_last_to_hold_a_chart() {
        let (mut line, mut receiver) = line();
        let charts: Vec<_> = (1..=6).map(|edition| planned("| C6 |", edition)).collect();
        let weak: Vec<_> = charts.iter().map(Arc::downgrade).collect();
        charts.into_iter().for_each(|chart| line.send(chart));
        let newest = receiver.take().unwrap();
        assert!(weak.iter().all(|chart| chart.strong_count() == 1));
        line.flush();
        let living = weak.iter().filter(|chart| chart.strong_count() == 1);
        assert_eq!(living.count(), 1);
        receiver.give_back(newest);
        line.flush();
        assert!(weak.iter().all(|chart| chart.strong_count() == 0));
    }

    #[test]
    fn the_newest_chart_waits_for_room() {
        let (mut line, mut receiver) = line();
        (1..=50).for_each(|edition| line.send(planned("| C6 |", edition)));
        let first = receiver.take().unwrap();
        assert!(first.edition < 50);
        receiver.give_back(first);
        line.flush();
        assert_eq!(receiver.take().map(|chart| chart.edition), Some(50));
    }
}
